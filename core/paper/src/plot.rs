//! What test bends tell of springback, drawn: the bends with their accuracy, the law, and where it lies 95 times in 100.

use kurbo::{BezPath, Circle, Point, Rect, Shape};
use tubewright::calibrate::{Calibration, Record, Standardised};
use tubewright::round::People;
use tubewright::units::Angle;

use crate::draw::{DRAWN, Drawing, Ink, Label, Pen};

/// The sheet, mm.
const SHEET: (f64, f64) = (170.0, 115.0);

/// The field inside the axes, mm.
const FIELD: Rect = Rect::new(20.0, 20.0, 164.0, 98.0);

/// A normal figure lies within so many standard deviations 95 times in 100.
const OF_95: f64 = 1.96;

/// Places along the law at which its band is worked out.
const STEPS: u32 = 60;

/// From figures to the sheet: bend angle to the right, springback up, in degrees.
struct Axes {
    right: f64,
    low: f64,
    high: f64,
}

impl Axes {
    fn at(&self, angle: f64, springback: f64) -> Point {
        Point::new(
            FIELD.x0 + FIELD.width() * angle / self.right,
            FIELD.y1 - FIELD.height() * (springback - self.low) / (self.high - self.low),
        )
    }
}

/// Springback against bend angle, of all bends with a reading: a sheet of 170 by 115 mm.
///
/// Each bend is a dot with a bar of one standard deviation of its angle to either side, a cross where it is an outlier. The law is a line through what was measured,
/// in dashes where it is extrapolated and absent beyond; the shade around it is where the law lies 95 times in 100. Where there is no law, nothing but the bends.
#[must_use]
pub fn springback(record: &Record, told: &Calibration, people: &People) -> Drawing {
    let title = format!("Springback of {} in die {}", record.material, record.die().name);
    let mut sheet = Drawing::new(title.clone(), SHEET.0, SHEET.1);
    sheet.fill(Rect::new(0.0, 0.0, SHEET.0, SHEET.1).to_path(DRAWN), Ink::WHITE);
    sheet.text(Label::new((FIELD.x0, 8.0), title).size(4.0).bold());
    let zero = record.bender.pointer.reading(Angle::ZERO);
    let bends: Vec<(f64, f64, bool)> = record
        .bends
        .iter()
        .zip(told.bends.iter().map(Standardised::is_outlier).chain(core::iter::repeat(false)))
        .filter_map(|(bend, off)| {
            let lost = bend.reading? - zero - bend.angle;
            Some((bend.angle.to_deg(), lost.to_deg(), off))
        })
        .collect();
    let bar = record.accuracy.angle.map_or(0.0, Angle::to_deg);
    let band = band(told);
    let axes = axes(&bends, &band, bar);
    grid(&mut sheet, &axes, people);
    law(&mut sheet, &axes, told, &band);
    for (angle, lost, off) in &bends {
        let at = axes.at(*angle, *lost);
        if bar > 0.0 {
            sheet.line(axes.at(*angle, lost - bar), axes.at(*angle, lost + bar), Pen::LINE);
        }
        if *off {
            let pen = Pen::BOLD.ink(Ink::WARN);
            sheet.line((at.x - 1.6, at.y - 1.6), (at.x + 1.6, at.y + 1.6), pen);
            sheet.line((at.x - 1.6, at.y + 1.6), (at.x + 1.6, at.y - 1.6), pen);
        } else {
            sheet.fill(Circle::new(at, 1.1).to_path(DRAWN), Ink::BLACK);
        }
    }
    sheet.text(Label::new((FIELD.x0, 14.0), legend(told, bar, &bends)).size(2.7).ink(Ink::GREY));
    sheet
}

/// What the parts of the picture are.
fn legend(told: &Calibration, bar: f64, bends: &[(f64, f64, bool)]) -> String {
    let mut parts = vec!["dots: the test bends".to_owned()];
    if bar > 0.0 {
        parts.push("bars: one standard deviation of the angle".to_owned());
    }
    if bends.iter().any(|(.., off)| *off) {
        parts.push("crosses: off by more than three".to_owned());
    }
    if told.covariance.is_some() {
        parts.push("shade: the law, 95 of 100".to_owned());
    }
    parts.join("; ")
}

/// Springback by the law along the angles that it is good for: angle, springback, half the width of its 95 % band.
fn band(told: &Calibration) -> Vec<(f64, f64, f64)> {
    let (Some(constant), Some(proportional), Some((low, high))) = (told.constant, told.proportional, told.good_for())
    else {
        return Vec::new();
    };
    (0..=STEPS)
        .map(|step| {
            let angle = low + (high - low) * (f64::from(step) / f64::from(STEPS));
            let lost = angle * proportional.value + constant.value;
            let half = told.covariance.map_or(0.0, |[[cc, ck], [_, kk]]| {
                let theta = angle.to_rad();
                Angle::rad(OF_95 * (cc + 2.0 * theta * ck + theta * theta * kk).max(0.0).sqrt()).to_deg()
            });
            (angle.to_deg(), lost.to_deg(), half)
        })
        .collect()
}

fn axes(bends: &[(f64, f64, bool)], band: &[(f64, f64, f64)], bar: f64) -> Axes {
    let angles = bends.iter().map(|bend| bend.0).chain(band.iter().map(|point| point.0));
    let right = angles.fold(30.0_f64, f64::max);
    let ends = bends.iter().flat_map(|bend| [bend.1 - bar, bend.1 + bar]);
    let ends = ends.chain(band.iter().flat_map(|(_, lost, half)| [lost - half, lost + half]));
    let (low, high) = ends.fold((0.0_f64, 1.0_f64), |(low, high), end| (low.min(end), high.max(end)));
    let step = step((high - low) / 6.0);
    Axes { right: (right / 30.0).ceil() * 30.0, low: (low / step).floor() * step, high: (high / step).ceil() * step }
}

/// The nearest of 1, 2, 5 and their tens at or above a figure.
fn step(least: f64) -> f64 {
    let steps = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0];
    steps.into_iter().find(|step| *step >= least).unwrap_or(50.0)
}

fn grid(sheet: &mut Drawing, axes: &Axes, people: &People) {
    let mut angle = 0.0;
    while angle <= axes.right + 1e-9 {
        let at = axes.at(angle, axes.low);
        sheet.line((at.x, FIELD.y0), (at.x, FIELD.y1), Pen::FINE.ink(Ink::PALE));
        sheet.text(Label::new((at.x, FIELD.y1 + 4.5), people.near(Angle::deg(angle))).middle());
        angle += 30.0;
    }
    let step = step((axes.high - axes.low) / 6.0);
    let count = ((axes.high - axes.low) / step).round() as u32;
    for place in 0..=count {
        let springback = axes.low + step * f64::from(place);
        let at = axes.at(0.0, springback);
        sheet.line((FIELD.x0, at.y), (FIELD.x1, at.y), Pen::FINE.ink(Ink::PALE));
        sheet.text(Label::new((FIELD.x0 - 1.5, at.y + 1.0), people.angle(Angle::deg(springback))).end());
    }
    sheet.stroke(FIELD.to_path(DRAWN), Pen::LINE);
    let middle = FIELD.center();
    sheet.text(Label::new((middle.x, SHEET.1 - 4.0), "bend angle, degrees").middle());
    let words = "springback: die angle less bend angle, degrees";
    sheet.text(Label::new((6.0, middle.y), words).middle().quarter_turns(3));
}

fn law(sheet: &mut Drawing, axes: &Axes, told: &Calibration, band: &[(f64, f64, f64)]) {
    let Some((low, high)) = told.angles.filter(|_| !band.is_empty()) else { return };
    let mut area = BezPath::new();
    let upper = band.iter().map(|(angle, lost, half)| axes.at(*angle, lost + half));
    let lower = band.iter().rev().map(|(angle, lost, half)| axes.at(*angle, lost - half));
    for (place, point) in upper.chain(lower).enumerate() {
        if place == 0 { area.move_to(point) } else { area.line_to(point) }
    }
    area.close_path();
    sheet.fill(area, Ink::TUBE);
    let (Some(first), Some(last)) = (band.first(), band.last()) else { return };
    let slope = (last.1 - first.1) / (last.0 - first.0);
    let on = |angle: f64| axes.at(angle, first.1 + slope * (angle - first.0));
    let (low, high) = (low.to_deg(), high.to_deg());
    sheet.line(on(first.0), on(low), Pen::NEXT);
    sheet.line(on(low), on(high), Pen::LINE.width(0.5));
    sheet.line(on(high), on(last.0), Pen::NEXT);
}
