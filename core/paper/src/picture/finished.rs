//! The finished tube: laid on its first two legs, seen from above, from the front and from the right, and aslant.
//!
//! End A is left and bend 1 opens toward whoever reads, as the words of the check for the hand have it: in the tube's own frame +x is right, -y is away and
//! -z is up. A flat tube is shown from above and aslant alone.

use kurbo::{BezPath, Point, Rect, Vec2};
use nalgebra::{Point3, Vector3};

use super::HIGH;
use super::course::Course;
use super::pane::{LETTERS, Pane, SMALL};
use super::tube::{Tube, bounds};
use super::view::View;
use crate::chain::{Bent, Chain};
use crate::draw::{Drawing, Ink, Item, Label, Pen};
use crate::words::Words;

/// A tube that rises less than this over the plane of its first two legs is flat, mm, as in the check for the hand.
const FLAT: f64 = 2.0;

/// Room for words about a view, mm.
const ROOM: f64 = 11.0;

/// Height of the line of words over a view, mm.
const TITLE: f64 = 4.6;

/// The lines to a corner are drawn where its bend is seen nearly square: the cosine of 25 degrees.
const FACING: f64 = 0.906;

/// The largest scale: a short tube is not blown up.
const LARGEST: f64 = 0.5;

/// The finished tube in views, with its legs from corner to corner and its bend angles. `width` is that of the sheet in mm; its height is at most 0.62
/// of it.
///
/// All views have one scale. What is cut off after bending is left white.
#[must_use]
pub fn finished(words: &Words<'_>, width: f64) -> Drawing {
    let whole = Whole::new(words);
    let mut sheet = Drawing::new(format!("{}, finished", words.tube.name), width, width * HIGH);
    let views = whole.layout(&mut sheet);
    let mut panes: Vec<(&str, Pane)> =
        views.into_iter().map(|(name, view, window)| (name, Pane::new(view, window))).collect();
    for (name, pane) in &mut panes {
        whole.tube(pane, *name == ASLANT);
    }
    whole.sizes(words, &mut panes);
    for (name, pane) in panes {
        let window = pane.window;
        pane.draw(&mut sheet);
        sheet.text(Label::new((window.x0, window.y0 - 1.3), name).size(SMALL).ink(Ink::GREY));
    }
    sheet
}

const ASLANT: &str = "aslant";

/// The finished tube in its own frame.
pub(super) struct Whole {
    pub(super) tube: Tube,
    /// What is cut off at either end.
    extras: Vec<Tube>,
    bends: Vec<Bent>,
    /// The corner of each bend, where it has one.
    pub(super) corners: Vec<Option<Point3<f64>>>,
}

impl Whole {
    pub(super) fn new(words: &Words<'_>) -> Self {
        let tube = words.tube;
        let chain = Chain::new(tube, &|_| true);
        let od = tube.stock.od.to_mm();
        let of = |courses: Vec<Course>| Tube { courses, od, wall: tube.stock.wall.map(|wall| wall.to_mm()) };
        let first = Point3::origin() + Vector3::x() * tube.extra_a.to_mm();
        let after = chain.bends.last().map_or_else(Vector3::x, |bent| bent.after);
        let last = chain.end - after * tube.extra_b.to_mm();
        let mut courses = Vec::new();
        let mut at = first;
        for bent in &chain.bends {
            courses.push(Course::Straight { from: at, to: bent.start });
            courses.push(Course::of_bend(bent));
            at = bent.end;
        }
        courses.push(Course::Straight { from: at, to: last });
        courses.retain(|course| course.length() > 1e-9);
        let extras = [(Point3::origin(), first), (last, chain.end)]
            .into_iter()
            .filter(|(from, to)| (to - from).norm() > 1e-9)
            .map(|(from, to)| of(vec![Course::Straight { from, to }]))
            .collect();
        let corners = chain
            .bends
            .iter()
            .map(|bent| Some(bent.start + bent.before * tube.centreline.setback(bent.bend)?.to_mm()))
            .collect();
        Self { tube: of(courses), extras, bends: chain.bends, corners }
    }

    fn points(&self) -> impl Iterator<Item = Point3<f64>> {
        let corners = self.corners.iter().copied().flatten();
        let extras = self.extras.iter().flat_map(|extra| extra.ends().map(|(end, _)| end));
        self.tube.points(self.tube.od).into_iter().chain(corners).chain(extras)
    }

    fn seen(&self, view: &View) -> Rect {
        let room = self.tube.od / 2.0;
        bounds(self.points().map(|point| view.point(point))).unwrap_or(Rect::ZERO).inflate(room, room)
    }

    /// Of some directions from the front and above, the one in which the legs are seen longest.
    fn aslant(&self) -> View {
        let up = -Vector3::z();
        let directions = [(35.0, 35.0), (-35.0, 35.0), (55.0, 30.0), (-55.0, 30.0), (15.0, 40.0), (-15.0, 40.0)];
        let view = |(turn, rise): (f64, f64)| {
            let ((sin, cos), (high, flat)) = (libm::sincos(turn.to_radians()), libm::sincos(rise.to_radians()));
            let toward = Vector3::new(sin * flat, cos * flat, -high);
            let right = up.cross(&toward).normalize();
            View::new(right, toward.cross(&right))
        };
        let least = |view: &View| {
            let straights = self.tube.courses.iter().filter(|course| matches!(course, Course::Straight { .. }));
            straights.map(|course| view.direction(course.direction(0.0)).hypot()).fold(f64::INFINITY, f64::min)
        };
        let first = view(directions[0]);
        directions
            .into_iter()
            .map(view)
            .fold(first, |best, one| if least(&one) > least(&best) + 1e-9 { one } else { best })
    }

    /// Each view with its name and its window, at one scale.
    fn layout(&self, sheet: &mut Drawing) -> Vec<(&'static str, View, Rect)> {
        let (x, y, z) = (Vector3::x(), Vector3::y(), Vector3::z());
        let (above, front, side) = (View::new(x, -y), View::new(x, -z), View::new(-y, -z));
        let aslant = self.aslant();
        let flat = self.points().all(|point| point.z.abs() < FLAT);
        let boxes = [above, front, side, aslant].map(|view| self.seen(&view));
        let gap = 3.0;
        let edge = 0.3;
        let columns = [boxes[0].width(), if flat { boxes[3].width() } else { boxes[2].width().max(boxes[3].width()) }];
        let rows = [boxes[0].height().max(boxes[3].height()), if flat { 0.0 } else { boxes[1].height() }];
        let lines = if flat { 1.0 } else { 2.0 };
        let wide = sheet.width - gap - 2.0 * edge - 4.0 * ROOM;
        let high = sheet.height - lines * (TITLE + 2.0 * ROOM) - edge;
        let scale = (wide / (columns[0] + columns[1])).min(high / (rows[0] + rows[1])).min(LARGEST);
        let idle = (wide - scale * (columns[0] + columns[1])) / 2.0;
        let split = edge + columns[0] * scale + 2.0 * ROOM + idle;
        let first = TITLE + rows[0] * scale + 2.0 * ROOM;
        let second = first + TITLE + rows[1] * scale + 2.0 * ROOM;
        let (right, left) = (sheet.width - edge, split + gap);
        sheet.height = if flat { first } else { second } + edge;
        let put = |name: &'static str, view: View, seen: Rect, window: Rect| {
            let at = window.center().to_vec2() - seen.center().to_vec2() * scale;
            (name, view.placed(scale, at), window)
        };
        let mut views = vec![
            put("from above, laid on its first two legs", above, boxes[0], Rect::new(edge, TITLE, split, first)),
            put(ASLANT, aslant, boxes[3], Rect::new(left, TITLE, right, first)),
        ];
        if !flat {
            let top = first + TITLE;
            views.push(put("from the front", front, boxes[1], Rect::new(edge, top, split, second)));
            views.push(put("from the right", side, boxes[2], Rect::new(left, top, right, second)));
        }
        views
    }

    fn tube(&self, pane: &mut Pane, aslant: bool) {
        let view = pane.view;
        for extra in &self.extras {
            pane.layers(extra.layers(&view, Ink::WHITE));
        }
        let layers = self.tube.layers(&view, Ink::TUBE);
        pane.layers(layers);
        pane.keep_off(self.tube.points(1.5 / view.scale), self.tube.od);
        if !aslant {
            for (bent, corner) in self.bends.iter().zip(&self.corners) {
                // Within the tube the corner would be no more than a scratch.
                let shown = |corner: &Point3<f64>| {
                    let middle = Course::of_bend(bent).at(0.5);
                    bent.normal.dot(&view.toward).abs() > FACING && (corner - middle).norm() > 0.7 * self.tube.od
                };
                let Some(corner) = corner.filter(shown) else {
                    continue;
                };
                let mut path = BezPath::new();
                path.move_to(view.point(bent.start));
                path.line_to(view.point(corner));
                path.line_to(view.point(bent.end));
                pane.over(Item::Path { path, fill: None, pen: Some(Pen::FINE) });
            }
        }
        for (letter, (end, outward)) in ["A", "B"].into_iter().zip(self.tube.ends()) {
            let seen = view.direction(outward);
            let extra = self.extras.iter().find(|extra| extra.ends().iter().any(|(one, _)| (one - end).norm() < 1e-6));
            let beyond = extra.map_or(0.0, Tube::length) * view.scale * seen.hypot();
            let off = 0.8 + beyond + self.tube.od / 2.0 * view.scale * (1.0 - seen.hypot());
            pane.letter(view.point(end), letter, off, seen);
        }
    }

    /// Each leg and each bend angle once, in the view that shows it least foreshortened.
    fn sizes(&self, words: &Words<'_>, panes: &mut [(&str, Pane)]) {
        let people = words.people;
        let half = |pane: &Pane| self.tube.od / 2.0 * pane.view.scale;
        let best = |panes: &[(&str, Pane)], shown: &dyn Fn(&View) -> f64| {
            let plain = panes.iter().enumerate().filter(|(_, (name, _))| *name != ASLANT);
            let mut best = (0, 0.0);
            for (place, (_, pane)) in plain {
                // Another view has to be clearly better than one before it.
                if shown(&pane.view) > best.1 + 0.02 {
                    best = (place, shown(&pane.view));
                }
            }
            best.0
        };
        for (bent, corner) in self.bends.iter().zip(&self.corners) {
            let place = best(panes, &|view| bent.normal.dot(&view.toward).abs());
            let angle = words.tube.centreline.rows.bends[bent.bend.0].angle;
            let text = format!("{}: {}", bent.bend.number(), people.angle_with_unit(angle));
            let middle = Course::of_bend(bent).at(0.5);
            let outward = bent.before - bent.after;
            for (number, (name, pane)) in panes.iter_mut().enumerate() {
                let words = match (number == place, *name == ASLANT) {
                    (true, _) => text.clone(),
                    (_, true) => bent.bend.number().to_string(),
                    _ => continue,
                };
                let at = if *name == ASLANT { middle } else { corner.unwrap_or(middle) };
                let off = if *name == ASLANT || corner.is_none() { half(pane) + 0.8 } else { 1.2 };
                let label = Label::new((0.0, 0.0), words).size(LETTERS).bold();
                pane.note(pane.view.point(at), label, off, pane.view.direction(outward));
            }
        }
        let ends = self.tube.ends().map(|(end, _)| end);
        for (leg, length) in words.tube.centreline.legs().into_iter().enumerate() {
            let corner = |bend: Option<usize>, end: Point3<f64>| bend.map_or(Some(end), |bend| self.corners[bend]);
            let from = corner(leg.checked_sub(1), ends[0]);
            let to = corner((leg < self.bends.len()).then_some(leg), ends[1]);
            let (Some(length), Some(from), Some(to)) = (length, from, to) else { continue };
            let Some(along) = (to - from).try_normalize(1e-9) else { continue };
            let place = best(panes, &|view| view.direction(along).hypot());
            let (_, pane) = &mut panes[place];
            let (one, other) = (pane.view.point(from), pane.view.point(to));
            let label = Label::new((0.0, 0.0), people.length_with_unit(length)).size(LETTERS);
            let seen = other - one;
            let side = beside(seen, one, other, pane.window);
            pane.note(one + seen * 0.5, label, half(pane) + 0.8, side);
        }
    }
}

/// The side of a leg that is further from the middle of its window: words stand outside.
fn beside(seen: Vec2, one: Point, other: Point, window: Rect) -> Vec2 {
    let square = Vec2::new(-seen.y, seen.x);
    let out = one.midpoint(other) - window.center();
    if square.dot(out) >= 0.0 { square } else { -square }
}
