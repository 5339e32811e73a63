//! One step on a page of its own: three panels that are read at arm's length, the picture, then one row for each moment of the hands.

use kurbo::{Rect, Shape as _};

use super::flow::Block;
use super::front::centred;
use super::parts::{BODY, LARGE, head, row, space, write_in};
use super::setting::{self, LEADING, Line, Weight, set};
use crate::card::{Add, Card, StepCard};
use crate::draw::{DRAWN, Drawing, Face, Ink, Label, Pen, lines};
use crate::words::Moment;

/// Letters of the words in a panel, mm.
const PANEL: f64 = 4.8;

/// Between a panel's frame and its words, mm.
const INSIDE: f64 = 3.0;

/// What each panel has of the width: the first holds two large words with the longest sentences.
const SHARES: [f64; 3] = [0.38, 0.34, 0.28];

/// Lines under a large word; sentences that need more go to a row of their own.
const UNDER: usize = 6;

/// Widths at which a picture is tried, as parts of the text's.
const WIDTHS: [f64; 9] = [1.0, 0.94, 0.88, 0.82, 0.76, 0.7, 0.64, 0.58, 0.52];

/// The least and the largest height of the picture, the one in mm, the other as a part of its width.
const LEAST: f64 = 61.0;
const HIGH: f64 = 0.62;

/// The page of a step. `picture` draws it at a width and with a largest height; `height` is that of a page's text, all in mm.
pub(super) fn block(
    card: &Card,
    step: &StepCard,
    picture: &dyn Fn(f64, f64) -> Drawing,
    width: f64,
    height: f64,
) -> Block {
    let mut block = Block::new(0.0).on_new_page();
    block.push(head(
        width,
        &format!("Step {} of {}: bend {}", step.step, step.of, step.bend),
        &format!("die {}", step.die),
    ));
    let (panels, rest) = panels(&step.says, width);
    block.push(panels);
    let mut rows = Vec::new();
    for moment in &rest {
        match moment.about.as_str() {
            "CHECK" => rows.push(check(width, moment, card.units)),
            "ADD" if !step.add.is_empty() => rows.push(adds(width, &step.add)),
            about => rows.extend(row(
                width,
                about,
                &moment.words,
                matches!(about, "WATCH" | "HOLD" | "STAND" | "OUT" | "IN"),
            )),
        }
    }
    let taken: f64 = block.height() + rows.iter().map(|row| row.height).sum::<f64>();
    let room = height - taken - 6.0;
    let high = |width: f64| room.clamp(LEAST, LEAST.max(HIGH * width));
    let picture = fitting(&|width| picture(width, high(width)), width, room);
    let pictured = [space(width, 3.0), centred(&picture, width), space(width, 3.0)];
    // What is said and written stays on one page, whatever becomes of the picture.
    if picture.height <= room {
        block.slices.extend(pictured.into_iter().chain(rows));
    } else {
        block.slices.extend(rows.into_iter().chain(pictured));
    }
    block
}

/// The largest picture that leaves the block on one page; the smallest where none does. One whose words lie on each other is passed over.
pub(super) fn fitting(picture: &dyn Fn(f64) -> Drawing, width: f64, room: f64) -> Drawing {
    // All of them in turn: a narrower picture may have its views beside each other, and so be much lower.
    let fits = |drawn: &Drawing| drawn.height <= room && drawn.overlap().is_none();
    let drawn = WIDTHS.iter().map(|part| picture(width * part)).find(fits);
    drawn.unwrap_or_else(|| picture(width * WIDTHS[WIDTHS.len() - 1]))
}

/// A large word with what stands under it.
struct Main {
    large: Vec<String>,
    under: Vec<Line>,
}

impl Main {
    fn height(&self) -> f64 {
        self.large.len() as f64 * 1.08 * LARGE + setting::height(self.under.len(), PANEL) + 3.2
    }
}

/// End and mark, up or down, stop: side by side, equally large. What does not fit under a large word comes back in its turn among the other moments.
fn panels(says: &[Moment], width: f64) -> (Drawing, Vec<Moment>) {
    const GAP: f64 = 3.0;
    let wide = SHARES.map(|share| share * (width - 2.0 * GAP));
    let mut panels: [Vec<Main>; 3] = Default::default();
    let mut rest = Vec::new();
    let mut place = 0;
    for moment in says {
        if !moment.main {
            rest.push(moment.clone());
            continue;
        }
        if moment.about.starts_with("STOP") {
            place = 2;
        }
        let room = wide[place] - 2.0 * INSIDE;
        let (under, more) = split(&moment.words, room);
        panels[place].push(Main { large: lines(&moment.about, Face::Bold, LARGE, room), under });
        if !more.is_empty() {
            rest.push(Moment::new(moment.about.as_str(), more));
        }
        if moment.about.starts_with("MARK") {
            place = 1;
        }
    }
    let inner = panels.iter().map(|mains| mains.iter().map(Main::height).sum::<f64>()).fold(0.0, f64::max);
    let high = inner + 2.0 * INSIDE - 2.0;
    let mut drawing = Drawing::new("", width, high + 3.0);
    let mut left = 0.0;
    for (wide, mains) in wide.into_iter().zip(&panels) {
        let frame = Rect::new(left + 0.4, 0.4, left + wide - 0.4, high - 0.4);
        drawing.stroke(frame.to_path(DRAWN), Pen::BOLD);
        let mut top = INSIDE;
        for main in mains {
            let mut down = top;
            for large in &main.large {
                drawing.text(Label::new((left + INSIDE, down + 0.8 * LARGE), large.as_str()).size(LARGE).bold());
                down += 1.08 * LARGE;
            }
            setting::draw_all(&mut drawing, &main.under, left + INSIDE, down, PANEL);
            top += main.height();
        }
        left += wide + GAP;
    }
    (drawing, rest)
}

/// As many sentences as fit under a large word, at least the first, and the others.
fn split(words: &str, room: f64) -> (Vec<Line>, String) {
    let sentences: Vec<&str> = words.split_inclusive(". ").collect();
    let mut count = sentences.len();
    loop {
        let lines = set(&sentences[..count].concat(), PANEL, room, Weight::Figures);
        if lines.len() <= UNDER || count <= 1 {
            return (lines, sentences[count..].concat());
        }
        count -= 1;
    }
}

/// A size to be taken, in a frame with a place to write what was got.
fn check(width: f64, moment: &Moment, unit: &str) -> Drawing {
    let write = 62.0;
    let left = 25.0;
    let lines = set(&moment.words, BODY, width - left - write - 6.0, Weight::Figures);
    let high = (setting::height(lines.len(), BODY) + 5.0).max(15.0);
    let mut drawing = Drawing::new("", width, high + 2.0);
    drawing.stroke(Rect::new(0.4, 1.5, width - 0.4, high + 1.5).to_path(DRAWN), Pen::LINE.width(0.5));
    let top = 1.5 + (high - setting::height(lines.len(), BODY)) / 2.0;
    drawing.text(Label::new((3.0, top + 0.8 * BODY), moment.about.as_str()).size(BODY).bold());
    setting::draw_all(&mut drawing, &lines, left, top, BODY);
    write_in(&mut drawing, "got", unit, width - write, width - 4.0, high - 2.5);
    drawing
}

/// What is added for what is missing of the bend angle.
fn adds(width: f64, add: &[Add]) -> Drawing {
    let left = 25.0;
    let pitch = LEADING * BODY + 1.0;
    let mut drawing = Drawing::new("", width, 2.0 * pitch + 3.6);
    drawing.line((0.0, 0.0), (width, 0.0), Pen::FINE.ink(Ink::PALE).width(0.25));
    let base = |line: usize| 1.5 + 0.8 * BODY + line as f64 * pitch;
    drawing.text(Label::new((0.0, base(0)), "ADD").size(BODY).bold());
    drawing.text(Label::new((left, base(0)), "short by, degrees").size(BODY));
    drawing.text(Label::new((left, base(1)), "add on the dial, still clamped").size(BODY));
    let first = left + Face::Book.width("add on the dial, still clamped", BODY) + 6.0;
    let wide = ((width - first) / add.len() as f64).min(20.0);
    for (place, row) in add.iter().enumerate() {
        let right = first + wide * (place + 1) as f64 - 4.0;
        let cell = Rect::new(right - wide + 4.0, 0.6, right + 4.0, 2.0 * pitch + 2.0);
        drawing.stroke(cell.to_path(DRAWN), Pen::FINE.ink(Ink::PALE).width(0.25));
        let short = format!("{:.0}", row.short.to_deg());
        drawing.text(Label::new((right, base(0)), short).size(BODY).end());
        drawing.text(Label::new((right, base(1)), row.printed.as_str()).size(BODY).bold().end());
    }
    drawing
}
