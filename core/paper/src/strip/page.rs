//! A page with the wrap strip, how it is used, and what the tube looks like from end A.

use kurbo::{Circle, Rect, Shape, Vec2};
use tubewright::units::Angle;

use super::{MARGIN, StripLine, lines, strip};
use crate::bars::{self, MEASURE, bars};
use crate::draw::{DRAWN, Drawing, Face, Ink, Label, Pen, lines as broken};
use crate::pdf::Paper;
use crate::words::Words;

/// Radius of the tube in the view from end A, mm.
const SEEN: f64 = 17.0;

/// Width of that view with its words, mm.
const VIEW: f64 = 74.0;

/// What is done with a strip, in the order of the hands.
const HOW: [&str; 5] = [
    "Print at 100 %, one side. Measure a bar: 100 mm or 4 in, else print again.",
    "Cut out along the outline. The left edge is cut exactly: it is the reference line.",
    "Stand at end A and look along the tube. Wrap the strip around it, print outside, lower edge toward you, left edge on the reference line. \
     The tab goes under, the left edge onto the thick line.",
    "If it meets that line, the thick lines are the top lines. If not, the tube is not of the nominal OD: see on which ruled line of the \
     upper band the left edge meets the slanted line, and take every bend where its slanted line crosses that ruled line.",
    "At the mark of a bend, draw its line along the tube in an angle iron: past clamp and follower, with the bend's number. Ink or \
     soapstone, no scratch.",
];

/// Whole pages with the wrap strip of a tube; none where none is needed. `job` is the job's name.
#[must_use]
pub fn pages(words: &Words<'_>, paper: Paper, job: &str) -> Vec<Drawing> {
    let pieces = strip(words, paper);
    if pieces.is_empty() {
        return Vec::new();
    }
    let name = &words.tube.name;
    let (width, height) = (paper.width(), paper.height());
    let foot = height - MARGIN - bars::HEIGHT;
    let mut pages = Vec::new();
    let mut page = Drawing::new(format!("Wrap strip of {name}"), width, height);
    let mut y = head(&mut page, words, job) + 4.0;
    for piece in &pieces {
        if y + piece.height > foot - 6.0 {
            pages.push(finished(page, foot));
            page = Drawing::new(format!("Wrap strip of {name}"), width, height);
            y = title(&mut page, words, job) + 4.0;
        }
        page.place(piece, (MARGIN, y));
        y += piece.height + 8.0;
    }
    pages.push(finished(page, foot));
    pages
}

fn finished(mut page: Drawing, foot: f64) -> Drawing {
    bars(&mut page, (MARGIN + 0.5, foot));
    let x = MARGIN + bars::WIDTH + 4.0;
    let room = page.width - MARGIN - x;
    for (row, line) in broken(MEASURE, Face::Bold, 3.6, room).iter().enumerate() {
        page.text(Label::new((x, foot + 5.0 + 4.8 * row as f64), line.as_str()).size(3.6).bold());
    }
    page
}

fn title(page: &mut Drawing, words: &Words<'_>, job: &str) -> f64 {
    let room = page.width - 2.0 * MARGIN;
    let what = format!("WRAP STRIP  {}", words.tube.name);
    let size = Face::Bold.fitting(&what, 7.0, room);
    page.text(Label::new((MARGIN, MARGIN + 6.5), what).bold().size(size));
    let about = format!("job {job}, fingerprint of the files {}, {}", words.job.fingerprint, words.stock());
    let size = Face::Book.fitting(&about, 3.2, room);
    page.text(Label::new((MARGIN, MARGIN + 12.0), about).size(size).ink(Ink::GREY));
    MARGIN + 14.0
}

fn head(page: &mut Drawing, words: &Words<'_>, job: &str) -> f64 {
    let top = title(page, words, job);
    let room = page.width - 2.0 * MARGIN - VIEW - 10.0;
    let mut y = top + 6.0;
    for (number, step) in HOW.iter().enumerate() {
        page.text(Label::new((MARGIN, y), (number + 1).to_string()).bold().size(4.4));
        for line in broken(step, Face::Book, 3.5, room) {
            page.text(Label::new((MARGIN + 6.0, y), line).size(3.5));
            y += 4.6;
        }
        y += 1.8;
    }
    let centre = (page.width - MARGIN - VIEW / 2.0, top + 12.0 + SEEN + 14.0);
    view(page, &lines(words), centre);
    y.max(centre.1 + SEEN + 20.0)
}

/// The tube from end A, the reference line uppermost.
fn view(page: &mut Drawing, lines: &[StripLine], (x, y): (f64, f64)) {
    page.shape(Circle::new((x, y), SEEN).to_path(DRAWN), Ink::TUBE, Pen::BOLD);
    page.text(Label::new((x, y - 0.6), "seen from").size(3.4).middle());
    page.text(Label::new((x, y + 3.9), "END A").size(4.2).bold().middle());
    page.line((x, y - SEEN), (x, y - SEEN - 4.0), Pen::BOLD);
    page.text(Label::new((x, y - SEEN - 12.5), "0, reference line, on top").size(3.2).middle());
    for line in lines {
        let (sin, cos) = libm::sincos(line.turn.to_rad());
        let at = |radius: f64| (x + sin * radius, y - cos * radius);
        page.line(at(SEEN - 2.5), at(SEEN + 2.5), if line.top { Pen::BOLD } else { Pen::NEXT });
        if let Some((label, reach)) = beside(page, line, (x, y)) {
            // A line to its words, where others have pushed them away.
            if reach > 0.0 {
                let bounds = label.bounds();
                let from = at(SEEN + 2.5);
                let near = (from.0.clamp(bounds.x0, bounds.x1), from.1.clamp(bounds.y0, bounds.y1));
                page.line(from, near, Pen::FINE);
            }
            page.text(label);
        }
    }
}

/// Words beside a line of the view: at its own place or as little off it as nobody is in the way.
fn beside(page: &Drawing, line: &StripLine, (x, y): (f64, f64)) -> Option<(Label, f64)> {
    let words = line.name.to_lowercase();
    let taken: Vec<Rect> = page.labels().into_iter().map(|(_, bounds)| bounds).collect();
    let inside = Rect::new(MARGIN, MARGIN, page.width - MARGIN, page.height - MARGIN);
    for off in 0..40_i32 {
        // Half the way round at most, to either side in turn.
        let by = Angle::deg(f64::from(off.div_euclid(2) + off.rem_euclid(2)) * if off % 2 == 0 { 4.0 } else { -4.0 });
        let (sin, cos) = libm::sincos((line.turn + by).to_rad());
        for out in [5.5, 10.0, 14.5] {
            let (px, py) = (x + sin * (SEEN + out), y - cos * (SEEN + out));
            let label = Label::new((px, py + 1.4), words.as_str()).size(3.6).bold();
            let label = if sin > 0.3 {
                Label { at: label.at - Vec2::new(2.0, 0.0), ..label }
            } else if sin < -0.3 {
                Label { at: label.at + Vec2::new(2.0, 0.0), ..label }.end()
            } else {
                label.middle()
            };
            let bounds = label.bounds();
            let free = taken.iter().all(|other| !other.overlaps(bounds.inflate(0.4, 0.2)));
            if free && inside.union(bounds) == inside {
                return Some((label, if off > 0 || out > 6.0 { 1.0 } else { 0.0 }));
            }
        }
    }
    None
}
