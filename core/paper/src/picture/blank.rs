//! The blank as a tape: marks from end A, and where each top line lies around it.
//!
//! Along the sheet the blank is to scale; across it is not. Below it the outside of the tube is rolled out, seen from outside with end A left: the
//! reference line is its upper edge, and clockwise, looking from end A, is down.
//!
//! ```text
//!   A       1        2         B        numbers, with the distance from end A below each
//!   0      670     1537       2400
//!   |________|________|__________|      the tape: rings, arcs shaded, what is cut off hatched
//!   +----------------------------+      rolled out: reference line
//!   |      ===      ===          |      top lines
//!   +----------------------------+
//!           0        59                 distance around from the reference line
//! ```

use kurbo::{BezPath, Circle, Point, Rect, Shape as _, Vec2};
use tubewright::forming::LeadEnd;
use tubewright::plan::PlanStep;
use tubewright::units::Length;

use super::pane::{LETTERS, SMALL, arrow};
use crate::draw::{DRAWN, Drawing, Face, Ink, Item, Label, Pen};
use crate::words::Words;

/// From the edge of the sheet to the blank, mm.
const EDGE: f64 = 7.0;

/// Height of the tape, mm.
const TAPE: f64 = 8.0;

/// Height of the rolled out outside, mm.
const AROUND: f64 = 22.0;

/// Radius of a circle about a number, mm.
const RADIUS: f64 = 2.4;

/// What lies between two entries, mm.
const APART: f64 = 1.2;

/// Room for lines from entries to their marks, mm.
const LINES: f64 = 6.0;

/// One entry of a row: what stands in its circle, and its figure.
struct Entry {
    /// Where on the blank, mm on the sheet.
    x: f64,
    number: String,
    figure: String,
    bold: bool,
}

/// The blank as a tape: end A left, each mark with its number and distance from end A, and below it the outside rolled out with the top lines.
///
/// `width` is that of the sheet in mm.
#[must_use]
pub fn blank(words: &Words<'_>, width: f64) -> Drawing {
    let (tube, people) = (words.tube, words.people);
    let cut = tube.blank.cut_length;
    let x = |place: Length| EDGE + (width - 2.0 * EDGE) * (place / cut);
    let mut steps: Vec<&PlanStep> = tube.steps.iter().collect();
    steps.sort_by_key(|step| step.bend);
    let entry = |step: &&PlanStep, figure: Length| Entry {
        x: x(step.mark),
        number: step.bend.number().to_string(),
        figure: people.length(figure),
        bold: false,
    };
    let end = |number: &str, place: Length, bold: bool| Entry {
        x: x(place),
        number: number.to_owned(),
        figure: people.length(place),
        bold,
    };
    let mut marks = vec![end("A", Length::ZERO, false)];
    marks.extend(steps.iter().map(|step| entry(step, step.mark)));
    marks.push(end("B", cut, true));
    let around: Vec<Entry> = steps.iter().map(|step| entry(step, step.top_arc)).collect();

    let mut sheet = Drawing::new(format!("{}, blank", tube.name), width, 0.0);
    let row = Row::new(&marks, width);
    let mut y = 4.4;
    let unit = people.unit();
    sheet.text(
        Label::new((0.3, 3.0), format!("marks, {unit} from end A; arrows to the end that leads; not to scale across"))
            .size(SMALL)
            .ink(Ink::GREY),
    );
    row.draw(&mut sheet, &marks, y, true);
    y += row.height();
    let top = y + LINES;
    row.leads(&mut sheet, &marks, y + 0.4, top - 0.6);
    tape(&mut sheet, words, &steps, &x, top);
    y = top + TAPE;
    if !around.is_empty() {
        let girth = Length::mm(tube.stock.od.to_mm() * core::f64::consts::PI);
        let said = format!(
            "top lines, {unit} around from the reference line, clockwise looking from end A; once around is {}",
            people.length_with_unit(girth)
        );
        for line in crate::draw::lines(&said, Face::Book, SMALL, width - 0.6) {
            y += 3.8;
            sheet.text(Label::new((0.3, y + 0.6), line).size(SMALL).ink(Ink::GREY));
        }
        let top = y + 2.6;
        rolled_out(&mut sheet, words, &steps, &x, top);
        let row = Row::new(&around, width);
        y = top + AROUND + LINES;
        row.leads(&mut sheet, &around, y - 0.4, top + AROUND);
        row.draw(&mut sheet, &around, y, false);
        y += row.height();
    }
    sheet.height = y + 0.6;
    sheet
}

fn tape(sheet: &mut Drawing, words: &Words<'_>, steps: &[&PlanStep], x: &dyn Fn(Length) -> f64, top: f64) {
    let tube = words.tube;
    let whole = Rect::new(x(Length::ZERO), top, x(tube.blank.cut_length), top + TAPE);
    let body = |room: Rect| room.to_path(DRAWN);
    sheet.fill(body(whole), Ink::TUBE);
    for bend in &tube.blank.bends {
        sheet.fill(body(Rect::new(x(bend.start), top, x(bend.end), top + TAPE)), Ink::SWEEP);
    }
    let cut = tube.blank.cut_length;
    for (from, to) in [(Length::ZERO, tube.extra_a), (cut - tube.extra_b, cut)] {
        if to - from > Length::ZERO {
            hatched(sheet, Rect::new(x(from), top, x(to), top + TAPE));
        }
    }
    sheet.stroke(body(whole), Pen::LINE);
    for step in steps {
        let at = x(step.mark);
        sheet.line((at, top - 0.6), (at, top + TAPE + 0.6), Pen::BOLD);
        let way = if step.lead == LeadEnd::A { -1.0 } else { 1.0 };
        let tip = Point::new(at + way * 3.4, top + TAPE / 2.0);
        sheet.items.push(arrow(tip, Vec2::new(way, 0.0), 3.4, Ink::BLACK));
    }
}

/// What is cut off again.
fn hatched(sheet: &mut Drawing, room: Rect) {
    sheet.fill(room.to_path(DRAWN), Ink::WHITE);
    let mut path = BezPath::new();
    let mut start = room.x0 - room.height();
    while start < room.x1 {
        // A line that rises to the right, as far as it lies in the room.
        let (from, to) = ((room.x0 - start).max(0.0), (room.x1 - start).min(room.height()));
        if to > from {
            path.move_to((start + from, room.y1 - from));
            path.line_to((start + to, room.y1 - to));
        }
        start += 1.6;
    }
    sheet.stroke(path, Pen::FINE);
    sheet.stroke(room.to_path(DRAWN), Pen::FINE);
}

fn rolled_out(sheet: &mut Drawing, words: &Words<'_>, steps: &[&PlanStep], x: &dyn Fn(Length) -> f64, top: f64) {
    let tube = words.tube;
    let (left, right) = (x(Length::ZERO), x(tube.blank.cut_length));
    let girth = tube.stock.od * core::f64::consts::PI;
    let y = |around: Length| top + AROUND * (around / girth);
    sheet.shape(Rect::new(left, top, right, top + AROUND).to_path(DRAWN), Ink::TUBE, Pen::FINE);
    sheet.line((left, top), (right, top), Pen::BOLD);
    sheet.line((left, top + AROUND), (right, top + AROUND), Pen::BOLD.dashed(3.0, 1.5).width(0.5));
    if let Some(seam) = tube.seam {
        let around = girth * (crate::words::clockwise(seam).to_deg() / 360.0);
        sheet.line((left, y(around)), (right, y(around)), Pen::FINE.dashed(6.0, 1.5));
        sheet.text(Label::new((left + 1.2, y(around) - 0.8), "seam").size(SMALL).ink(Ink::GREY));
    }
    for step in steps {
        let (at, line) = (x(step.mark), y(step.top_arc));
        sheet.line((at, top), (at, top + AROUND), Pen::FINE.ink(Ink::PALE));
        sheet.line(((at - 6.0).max(left), line), ((at + 6.0).min(right), line), Pen::BOLD.width(1.0));
        sheet.line((at, line), (at, top + AROUND), Pen::FINE);
        sheet.fill(Circle::new((at, line), 0.9).to_path(DRAWN), Ink::BLACK);
    }
}

/// How a row of entries is set so that none lies on another.
struct Row {
    /// The middle of each entry.
    places: Vec<f64>,
    /// Size of the figures.
    size: f64,
    /// Whether the figures read upward.
    upright: bool,
    /// Length of the longest figure.
    long: f64,
}

impl Row {
    fn new(entries: &[Entry], width: f64) -> Self {
        let long = |size: f64| entries.iter().map(|entry| face(entry).width(&entry.figure, size)).fold(0.0, f64::max);
        let lying: Vec<f64> =
            entries.iter().map(|entry| face(entry).width(&entry.figure, LETTERS).max(2.0 * RADIUS) + APART).collect();
        let room = width - 0.6;
        let set = |widths: &[f64], size: f64, upright: bool| {
            let wanted: Vec<f64> = entries.iter().map(|entry| entry.x).collect();
            Self { places: spread(&wanted, widths, 0.3, width - 0.3), size, upright, long: long(size) }
        };
        if lying.iter().sum::<f64>() <= room {
            return set(&lying, LETTERS, false);
        }
        // Figures that read upward; with very many of them all grows smaller.
        let each = (2.0 * RADIUS + 0.5).min(room / entries.len().max(1) as f64);
        set(&vec![each; entries.len()], LETTERS.min(each / 1.1), true)
    }

    fn height(&self) -> f64 {
        2.0 * RADIUS + 0.5 + if self.upright { self.long + 0.4 } else { 1.02 * self.size }
    }

    /// Entries below a height: circles first where `circles_first`, else figures first.
    fn draw(&self, sheet: &mut Drawing, entries: &[Entry], top: f64, circles_first: bool) {
        let figures = self.height() - 2.0 * RADIUS - 0.5;
        let (circles, figures_at) =
            if circles_first { (top + RADIUS, top + 2.0 * RADIUS + 0.5) } else { (top + figures + 0.5 + RADIUS, top) };
        // Where entries stand closer than a circle is wide, the circles shrink.
        let close = self.places.windows(2).map(|two| two[1] - two[0]).fold(f64::INFINITY, f64::min);
        let radius = RADIUS.min((close / 2.0 - 0.1).max(0.3));
        for (entry, x) in entries.iter().zip(&self.places) {
            let middle = Point::new(*x, circles);
            let path = Circle::new(middle, radius - 0.1).to_path(DRAWN);
            sheet.shape(path, Ink::WHITE, Pen::LINE.width(0.3));
            let size = Face::Bold.fitting(&entry.number, LETTERS, 1.5 * radius);
            sheet.text(Label::new(middle + Vec2::new(0.0, 0.365 * size), &entry.number).size(size).bold().middle());
            let label = if self.upright {
                // Turned by three quarters it reads upward, its letters to the left of its base line.
                Label::new((x + 0.29 * self.size, figures_at + self.long), &entry.figure).quarter_turns(3)
            } else {
                Label::new((*x, figures_at + 0.8 * self.size), &entry.figure).middle()
            };
            sheet.text(label.size(self.size).face(face(entry)));
        }
    }

    /// Lines from the entries to their marks, from one height to another.
    fn leads(&self, sheet: &mut Drawing, entries: &[Entry], entry_y: f64, mark_y: f64) {
        for (entry, x) in entries.iter().zip(&self.places) {
            let mut path = BezPath::new();
            let third = (mark_y - entry_y) / 3.0;
            path.move_to((*x, entry_y));
            path.line_to((*x, entry_y + third * 0.5));
            path.line_to((entry.x, mark_y - third));
            path.line_to((entry.x, mark_y));
            sheet.items.push(Item::Path { path, fill: None, pen: Some(Pen::FINE) });
        }
    }
}

fn face(entry: &Entry) -> Face {
    if entry.bold { Face::Bold } else { Face::Book }
}

/// Middles as near as can be to where they are wanted, in that order, so that none of the widths lies on another and all lie between two bounds.
///
/// Least squares: with the widths taken out, places must not go down; neighbours that would are pooled into their mean.
fn spread(wanted: &[f64], widths: &[f64], low: f64, high: f64) -> Vec<f64> {
    let mut before = 0.0;
    let offsets: Vec<f64> = widths
        .iter()
        .map(|width| {
            let middle = before + width / 2.0;
            before += width;
            middle
        })
        .collect();
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (wanted, offset) in wanted.iter().zip(&offsets) {
        let mut pool = (wanted - offset, 1);
        while let Some(last) = pools.last().copied().filter(|last| last.0 > pool.0) {
            pools.pop();
            let count = last.1 + pool.1;
            pool = ((last.0 * last.1 as f64 + pool.0 * pool.1 as f64) / count as f64, count);
        }
        pools.push(pool);
    }
    let most = (high - before).max(low);
    let starts = pools.iter().flat_map(|(start, count)| core::iter::repeat_n(start.clamp(low, most), *count));
    starts.zip(&offsets).map(|(start, offset)| start + offset).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entries_are_spread_no_more_than_they_have_to_be() {
        assert_eq!(spread(&[10.0, 50.0], &[8.0, 8.0], 0.0, 100.0), [10.0, 50.0]);
        assert_eq!(spread(&[10.0, 12.0], &[8.0, 8.0], 0.0, 100.0), [7.0, 15.0]);
        assert_eq!(spread(&[0.0, 100.0], &[8.0, 8.0], 0.0, 100.0), [4.0, 96.0]);
        let many = spread(&[99.0, 99.5, 100.0], &[8.0, 8.0, 8.0], 0.0, 100.0);
        assert_eq!(many, [80.0, 88.0, 96.0]);
    }
}
