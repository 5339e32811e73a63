//! The wrap strip: a strip of paper that is wrapped around the tube and shows where each top line lies.
//!
//! ```text
//!      toward end B
//!    +---------------------------------------+-------+
//!    | ruled lines, slanted lines            /       |    stretch band: for a girth that is not the nominal one
//!    |---------------------------------------+-------|
//!    |            |             |            |       |
//!    | BEND 1     | BEND 3      | BEND 2     |  tab  |    a line for each top line, from the reference line at the left edge
//!    |            |             |            |       |
//!    +---------------------------------------+-------+
//!      toward end A
//!    0            clockwise -->             girth
//! ```
//!
//! Looking from end A along the tube, what lies clockwise on its upper side lies to the right. So the strip, its printed side out and its lower edge
//! toward end A, has distances that grow to the right: `t x r`, with the travel t from A to B and r out of the tube, is to the right where t is up.
//!
//! Paper has a thickness and a tube an OD of its own. Where the left edge does not meet the line of the girth, it meets the slanted line of the stretch band
//! on another of the ruled lines; on that line every slanted line is at its place for the girth that there is, since all of them are stretched alike.

mod page;

use kurbo::{BezPath, Rect, Shape};
use tubewright::plan::PlanStep;
use tubewright::round::Units;
use tubewright::units::{Angle, Length};

pub use self::page::pages;
use crate::draw::{DRAWN, Drawing, Face, Ink, Label, Pen};
use crate::pdf::Paper;
use crate::words::{Words, clockwise};

/// What stays white along every edge of a page, mm: many printers reach no further.
pub const MARGIN: f64 = 10.0;

/// Height of the stretch band, and where its ruled line for the nominal girth is, mm from the upper edge.
const BAND: f64 = 19.0;
const NOMINAL: f64 = 9.5;

/// The ruled lines of the stretch band stand so far from each other, mm, each for one percent of girth more.
const PERCENT: f64 = 3.6;

/// How many of them there are on either side of the nominal one.
const PERCENTS: i8 = 2;

/// Height of a row of labels, and of what stands under them, mm.
const ROW: f64 = 11.0;
const FOOT: f64 = 14.0;

/// Room between a line and its label, mm.
const GAP: f64 = 2.2;

/// What a strip shows at one place around the tube.
#[derive(Clone, Debug, PartialEq)]
pub struct StripLine {
    /// Distance around the tube, clockwise from the reference line looking from end A, in [0, girth).
    pub around: Length,
    /// The same as an angle, in [0, 360) degrees.
    pub turn: Angle,
    /// What it is: `BEND 2`, `BENDS 1, 3`, `SEAM`.
    pub name: String,
    /// Its distance and its degrees, as printed.
    pub figures: String,
    /// Whether it is a top line; else the seam.
    pub top: bool,
}

/// What a strip shows, from the reference line on. Empty where no strip is needed: for a tube that is not to be bent or not to be cut, and where every
/// top line is the reference line itself.
#[must_use]
pub fn lines(words: &Words<'_>) -> Vec<StripLine> {
    let Words { tube, people, .. } = *words;
    if !tube.feasible {
        return Vec::new();
    }
    let mut steps: Vec<&PlanStep> = tube.steps.iter().collect();
    steps.sort_by(|one, other| {
        one.top_arc.to_mm().total_cmp(&other.top_arc.to_mm()).then_with(|| one.bend.cmp(&other.bend))
    });
    if steps.iter().all(|step| people.is_none(clockwise(step.top))) {
        return Vec::new();
    }
    let mut groups: Vec<Vec<&PlanStep>> = Vec::new();
    for step in steps {
        // What arithmetic alone sets apart is one line.
        match groups.last_mut() {
            Some(group) if (step.top_arc - group[0].top_arc).to_mm() < 1e-6 => group.push(step),
            _ => groups.push(vec![step]),
        }
    }
    let figures = |around: Length, angle| {
        let around = people.length_with_unit(around);
        format!("{around}, {}", people.angle_with_unit(angle))
    };
    let mut lines: Vec<StripLine> = groups
        .into_iter()
        .map(|group| {
            let numbers: Vec<String> = group.iter().map(|step| step.bend.number().to_string()).collect();
            let many = if numbers.len() > 1 { "S" } else { "" };
            StripLine {
                around: group[0].top_arc,
                turn: clockwise(group[0].top),
                name: format!("BEND{many} {}", numbers.join(", ")),
                figures: figures(group[0].top_arc, clockwise(group[0].top)),
                top: true,
            }
        })
        .collect();
    if let Some(seam) = tube.seam {
        let seam = clockwise(seam);
        let around = tube.stock.od * (seam.to_rad() * 0.5);
        lines.push(StripLine {
            around,
            turn: seam,
            name: "SEAM".to_owned(),
            figures: figures(around, seam),
            top: false,
        });
        lines.sort_by(|one, other| one.around.to_mm().total_cmp(&other.around.to_mm()));
    }
    lines
}

/// The wrap strip of a tube at 1:1, in pieces no longer than a page is wide inside its margins; none where none is needed ([`lines`]).
///
/// In each drawing x = 0 is the left edge of the piece, to be cut exactly. The places of its lines are exact.
#[must_use]
pub fn strip(words: &Words<'_>, paper: Paper) -> Vec<Drawing> {
    let lines = lines(words);
    if lines.is_empty() {
        return Vec::new();
    }
    let girth = words.tube.stock.girth().to_mm();
    let tab = 12.0 + 0.04 * girth;
    let room = paper.width() - 2.0 * MARGIN - tab;
    let pieces = libm::ceil(girth / room).max(1.0) as usize;
    let length = girth / pieces as f64;
    (0..pieces).map(|piece| Piece { words, lines: &lines, girth, tab, piece, pieces, length }.draw()).collect()
}

struct Piece<'a> {
    words: &'a Words<'a>,
    lines: &'a [StripLine],
    girth: f64,
    tab: f64,
    piece: usize,
    pieces: usize,
    length: f64,
}

/// A label of a line: where it stands, and in which row.
struct Tag<'a> {
    line: &'a StripLine,
    at: f64,
    block: Rect,
    row: usize,
    left: bool,
    scale: f64,
}

impl Piece<'_> {
    fn start(&self) -> f64 {
        self.length * self.piece as f64
    }

    fn last(&self) -> bool {
        self.piece + 1 == self.pieces
    }

    fn draw(&self) -> Drawing {
        let tags = self.tags();
        let rows = tags.iter().map(|tag| tag.row + 1).max().unwrap_or(1);
        let height = BAND + 2.0 + ROW * rows as f64 + FOOT;
        let title = format!("Wrap strip of {}", self.words.tube.name);
        let mut sheet = Drawing::new(title, self.length + self.tab, height);
        self.stretch_band(&mut sheet);
        let within = |line: &&StripLine| {
            let at = line.around.to_mm() - self.start();
            (0.0..=self.length).contains(&at)
        };
        for line in self.lines.iter().filter(within) {
            let at = line.around.to_mm() - self.start();
            sheet.line((at, BAND), (at, height), pen(line));
        }
        self.foot(&mut sheet, height);
        for tag in &tags {
            self.tag(&mut sheet, tag);
        }
        // The girth, or the place where the next piece goes on.
        sheet.line((self.length, BAND), (self.length, height), Pen::BOLD);
        let (word, under) =
            if self.last() { ("LEFT EDGE HERE", "tab, goes under") } else { ("NEXT PIECE HERE", "tab, glue under") };
        let mid = (BAND + height) / 2.0;
        let room = height - BAND - 2.0;
        for (words, face, across) in [(word, Face::Bold, 4.2), (under, Face::Book, 8.4)] {
            let size = face.fitting(words, 3.0, room);
            let at = (self.length + across, mid);
            sheet.text(Label::new(at, words).face(face).size(size).middle().quarter_turns(3));
        }
        sheet.stroke(Rect::new(0.0, 0.0, sheet.width, height).to_path(DRAWN), Pen::LINE.width(0.2));
        sheet
    }

    /// Labels right of their lines, or left where there is no room; one row further down where another is in the way.
    fn tags(&self) -> Vec<Tag<'_>> {
        let mut tags: Vec<Tag<'_>> = Vec::new();
        let half = self.length / 2.0 - GAP - 0.5;
        for line in self.lines {
            let at = line.around.to_mm() - self.start();
            if !(0.0..self.length).contains(&at) {
                continue;
            }
            let wide = Face::Bold.width(&line.name, 5.0).max(Face::Book.width(&line.figures, 3.2));
            let scale = (half / wide).min(1.0);
            let wide = wide * scale;
            let left = at + GAP + wide > self.length - 0.5;
            let from = if left { at - GAP - wide } else { at + GAP };
            let free = |row: &usize| {
                tags.iter().all(|tag| tag.row != *row || tag.block.x0 - 3.5 > from + wide || tag.block.x1 + 3.5 < from)
            };
            let row = (0..).find(free).unwrap_or_default();
            let top = BAND + 1.5 + ROW * row as f64;
            let block = Rect::new(from, top, from + wide, top + 9.6);
            tags.push(Tag { line, at, block, row, left, scale });
        }
        tags
    }

    fn tag(&self, sheet: &mut Drawing, tag: &Tag<'_>) {
        let Tag { line, at, block, left, scale, .. } = *tag;
        sheet.fill(block.inflate(0.4, 0.0).to_path(DRAWN), Ink::WHITE);
        let (tip, foot) = if left { (at, block.x1 + 0.3) } else { (at, block.x0 - 0.3) };
        let mid = block.y0 + 3.2;
        let mut arrow = BezPath::new();
        arrow.move_to((tip, mid));
        arrow.line_to((foot, mid - 1.3));
        arrow.line_to((foot, mid + 1.3));
        arrow.close_path();
        sheet.fill(arrow, Ink::BLACK);
        let x = if left { block.x1 } else { block.x0 };
        for (label, y) in [
            (Label::new((x, block.y0 + 4.8), line.name.as_str()).size(5.0 * scale).bold(), 0.0),
            (Label::new((x, block.y0 + 8.8), line.figures.as_str()).size(3.2 * scale), 0.0),
        ] {
            let label = if left { label.end() } else { label };
            sheet.text(Label { at: label.at + kurbo::Vec2::new(0.0, y), ..label });
        }
    }

    /// Lines that spread with the girth, on ruled lines of one percent each.
    fn stretch_band(&self, sheet: &mut Drawing) {
        for percent in -PERCENTS..=PERCENTS {
            let y = NOMINAL - PERCENT * f64::from(percent);
            let pen = if percent == 0 { Pen::FINE.width(0.35) } else { Pen::FINE };
            sheet.line((0.0, y), (self.length + self.tab, y), pen);
            if self.last() {
                let words = if percent == 0 { "nominal".to_owned() } else { format!("{percent:+} %") };
                let label = Label::new((self.length + self.tab - 0.8, y + 1.05), words).size(3.0).end();
                sheet.fill(label.bounds().inflate(0.3, -0.2).to_path(DRAWN), Ink::WHITE);
                sheet.text(label);
            }
        }
        let end = if self.last() { self.length + self.tab } else { self.length };
        let girth = StripLine {
            around: Length::mm(self.girth),
            turn: Angle::deg(360.0),
            name: String::new(),
            figures: String::new(),
            top: true,
        };
        for line in self.lines.iter().chain([&girth]) {
            let around = line.around.to_mm();
            let at = |y: f64| around * (1.0 + (NOMINAL - y) / PERCENT * 0.01) - self.start();
            // y where the slanted line leaves this piece.
            let slope = around * 0.01 / PERCENT;
            let y_at = |x: f64| NOMINAL - (x + self.start() - around) / slope;
            let (mut y0, mut y1) = (0.0_f64, BAND);
            if around > 0.0 {
                y0 = y0.max(y_at(end));
                y1 = y1.min(y_at(0.0));
            } else if self.piece > 0 {
                continue;
            }
            if y0 < y1 {
                sheet.line((at(y0), y0), (at(y1), y1), pen(line));
            }
        }
        sheet.line((0.0, BAND), (self.length + self.tab, BAND), Pen::LINE);
    }

    fn foot(&self, sheet: &mut Drawing, height: f64) {
        let people = self.words.people;
        let tube = self.words.tube;
        let piece =
            if self.pieces > 1 { format!(", piece {} of {}", self.piece + 1, self.pieces) } else { String::new() };
        let what = format!(
            "{}{piece}: OD {}, girth {}",
            tube.name,
            people.figure(tube.stock.od),
            people.figure(tube.stock.girth())
        );
        let room = self.length - 4.0;
        let way = "\u{2193} TO END A     \u{2192} clockwise, looking from end A";
        let labels =
            [(height - 9.2, way, Face::Bold), (height - 4.6, what.as_str(), Face::Book)].map(|(y, words, face)| {
                let size = face.fitting(words, 3.4, room);
                Label::new((2.0, y), words).face(face).size(size)
            });
        // One box under both, so that no line stands between the words.
        let [way, what] = &labels;
        let both = way.bounds().union(what.bounds()).inflate(0.5, 0.3);
        sheet.fill(Rect::new(both.x0, both.y0, both.x1, both.y1.min(height - 3.0)).to_path(DRAWN), Ink::WHITE);
        labels.into_iter().for_each(|label| sheet.text(label));
        // A scale along the edge toward end A.
        let (step, long) = match people.units {
            Units::Mm(_) => (5.0, 2),
            Units::Inch(_) => (25.4 / 8.0, 4),
        };
        for tick in 1..=(libm::floor(self.length / step) as usize) {
            let at = step * tick as f64;
            let high = if tick % long == 0 { 2.6 } else { 1.4 };
            sheet.line((at, height - high), (at, height), Pen::FINE);
        }
    }
}

fn pen(line: &StripLine) -> Pen {
    if line.top { Pen::BOLD.width(0.5) } else { Pen::LINE.dashed(2.0, 1.4) }
}
