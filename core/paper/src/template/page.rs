//! Templates on paper and on one sheet.

use kurbo::{Affine, Point, Rect, Shape as _};
use tubewright::forming::LeadEnd;
use tubewright::job::Cut;
use tubewright::round::People;
use tubewright::units::Length;

use super::{Ends, Template};
use crate::bars::{self, MEASURE, bars};
use crate::draw::{DRAWN, Drawing, Face, Ink, Label, Pen, lines as broken};
use crate::pdf::Paper;

/// What stays white along every edge of a page, mm.
const MARGIN: f64 = 10.0;

/// Paper beyond the long point, mm: room for its name.
const BEYOND: f64 = 9.0;

/// Paper on the tube beyond the short point, mm: room for words, and to hold it by.
const HELD: f64 = 46.0;

/// What two neighbouring pages share, mm.
const OVERLAP: f64 = 10.0;

/// What is done with a template, in the order of the hands.
const HOW: [&str; 3] = [
    "Print at 100 %, one side. Measure a bar: 100 mm or 4 in, else print again.",
    "Cut out along the outline, the left edge exactly: it is the reference line.",
    "Stand at end A and look along the tube. Wrap the paper around it, print outside, lower edge toward end A, left edge on the reference line and onto the thick line at the right; \
     the tab goes under.",
];

/// What the curves of a cope are for.
const COPE: &str = "Thick curve: the outside edge, for a hole saw as wide as the other tube, or bevelled until it seats. Dashed curve: the inside edge; a wall that is cut square to the tube \
     touches there first.";

/// What the curves of two plane cuts are for.
const TWO_PLANE: &str = "Thick curve: the outside edge of two saw cuts, each of them straight across the tube and slanted; they meet near the tips, a quarter turn beside TOE and HEEL. Thin curve: \
     the outside edge of the cope in whose place they are. Dashed curve: its inside edge; grind the inside of the wall back toward it where it touches first.";

/// A template at 1:1 without words around it: x = 0 is the reference line, and its upper left corner the origin.
fn wrap(end: &Template, people: &People) -> Drawing {
    let girth = end.girth_mm;
    let tab = 12.0 + 0.04 * girth;
    let deepest = end.deepest();
    let height = BEYOND + deepest + HELD;
    let mut sheet = Drawing::new(format!("Template of {}", end.name()), girth + tab, height);
    let is_a = end.plan.end == LeadEnd::A;
    // y of the long point; into the tube is up for end A.
    let long = if is_a { height - BEYOND } else { BEYOND };
    let into = end.up();
    let outline = Rect::new(0.0, 0.0, sheet.width, height);
    let held = Rect::new(0.0, long + into * deepest, girth, long + into * (deepest + HELD)).abs();
    marks(&mut sheet, end, long, into);
    sheet.line((0.0, long), (girth, long), Pen::FINE.dashed(6.0, 1.5).ink(Ink::BLACK));
    let name = if end.extra_mm > 0.0 {
        format!("LONG POINT: {} from the cut end", end.extra_words(people))
    } else {
        "LONG POINT: at the cut end".to_owned()
    };
    let size = Face::Bold.fitting(&name, 3.2, (girth - 4.0).max(0.5 * girth));
    sheet.text(Label::new((girth / 2.0, long - into * 4.6 + 1.2), name).bold().size(size).middle());
    let moved = Affine::translate((0.0, long));
    if let Some(inside) = &end.inside {
        sheet.stroke(moved * end.drawn(inside), Pen::LINE.width(0.3).dashed(2.4, 1.2));
    }
    if end.plan.cut.cut == Cut::TwoPlane {
        sheet.stroke(moved * end.drawn(&end.outside), Pen::FINE);
    }
    sheet.stroke(moved * end.drawn(end.cut()), Pen::LINE.width(0.6));
    words(&mut sheet, end, people, held);
    sheet.line((girth, 0.0), (girth, height), Pen::BOLD);
    for (words, face, across) in [("LEFT EDGE HERE", Face::Bold, 4.2), ("tab, goes under", Face::Book, 8.4)] {
        let size = face.fitting(words, 3.0, height - 2.0);
        let at = (girth + across, height / 2.0);
        sheet.text(Label::new(at, words).face(face).size(size).middle().quarter_turns(3));
    }
    sheet.stroke(outline.to_path(DRAWN), Pen::LINE.width(0.2));
    sheet
}

/// Lines along the tube a quarter turn from each other, from the toe on.
fn marks(sheet: &mut Drawing, end: &Template, long: f64, into: f64) {
    let girth = end.girth_mm;
    let far = long + into * (end.deepest() + 7.0);
    for (quarter, name) in ["TOE", "90", "HEEL", "270"].into_iter().enumerate() {
        let turns = (end.plan.toe.to_deg() / 360.0 + 0.25 * quarter as f64).rem_euclid(1.0);
        let at = girth * turns;
        sheet.line((at, long - into * 2.0), (at, far), Pen::FINE.dashed(1.2, 0.8));
        // Around a thin tube a quarter has little room.
        let size = Face::Bold.fitting(name, 3.2, 0.14 * girth);
        let wide = Face::Bold.width(name, size);
        // Beside the line where it stands at an edge of the paper.
        let least = 0.5 * wide + 0.25 * size;
        let label = Label::new((at.max(least).min(girth - least), far + into * 2.6 + 1.2), name);
        sheet.text(label.bold().size(size).middle());
    }
}

/// What stands on the part that stays on the tube.
fn words(sheet: &mut Drawing, end: &Template, people: &People, held: Rect) {
    let is_a = end.plan.end == LeadEnd::A;
    let room = (end.girth_mm - 4.0).max(0.5 * end.girth_mm);
    let own = &end.plan.cut;
    let way = "\u{2193} TO END A     \u{2192} clockwise, looking from end A";
    let cut = match own.cut {
        Cut::Cope => "coped to",
        Cut::TwoPlane => "two plane cuts, to",
    };
    let lines = [
        (end.name(), Face::Bold, 4.6),
        (format!("{cut} {}", own.meets), Face::Bold, 3.4),
        (format!("{}, girth {}", end.stock, people.figure(Length::mm(end.girth_mm))), Face::Book, 3.0),
        (
            format!(
                "toe {} degrees, {} around; depth {}",
                people.angle(end.plan.toe),
                people.length_with_unit(end.plan.toe_arc),
                people.figure(own.depth())
            ),
            Face::Book,
            3.0,
        ),
        (way.to_owned(), Face::Bold, 3.2),
    ];
    let mut y = if is_a { held.y0 + 5.4 } else { held.y1 - 27.0 };
    for (words, face, size) in lines {
        let size = face.fitting(&words, size, room);
        sheet.text(Label::new((2.0, y), words).face(face).size(size));
        y += 5.6;
    }
}

/// All templates as pages at 1:1; none where no end lands on another tube.
#[must_use]
pub fn pages(ends: &Ends, people: &People, paper: Paper) -> Vec<Drawing> {
    let mut pages = Vec::new();
    for end in &ends.ends {
        let wrap = wrap(end, people);
        let mut first = Drawing::new(format!("Template of {}", end.name()), paper.width(), paper.height());
        let y = head(&mut first, ends, end) + 3.0;
        let foot = paper.height() - MARGIN - bars::HEIGHT - 3.0;
        let whole = Rect::new(MARGIN, y, paper.width() - MARGIN, foot);
        if wrap.width <= whole.width() && wrap.height <= whole.height() {
            first.place(&wrap, (MARGIN, y));
            pages.push(furnished(first));
            continue;
        }
        // Too large for what is left of the first page, which then says how it is done; the tiles follow.
        pages.push(furnished(first));
        let top = MARGIN + 16.0;
        let window = Rect::new(MARGIN, top, paper.width() - MARGIN, foot);
        pages.extend(tiles(&wrap, window, paper, end));
    }
    pages
}

/// A sheet larger than a page, in tiles that share [`OVERLAP`] with their neighbours and a cross in the middle of it.
fn tiles(wrap: &Drawing, window: Rect, paper: Paper, end: &Template) -> Vec<Drawing> {
    let count = |size: f64, room: f64| libm::ceil(((size - OVERLAP) / (room - OVERLAP)).max(1.0)) as usize;
    let (columns, rows) = (count(wrap.width, window.width()), count(wrap.height, window.height()));
    let step = (window.width() - OVERLAP, window.height() - OVERLAP);
    let mut pages = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let mut page = Drawing::new(format!("Template of {}", end.name()), paper.width(), paper.height());
            let (x, y) = (step.0 * column as f64, step.1 * row as f64);
            let by = Point::new(window.x0 - x, window.y0 - y);
            let name = format!("{}: piece {} of {columns} around, {} of {rows} along", end.name(), column + 1, row + 1);
            let size = Face::Bold.fitting(&name, 4.4, page.width - 2.0 * MARGIN);
            page.text(Label::new((MARGIN, MARGIN + 5.0), name).bold().size(size));
            let how = "Lay the crosses of neighbouring pieces on each other and glue them before cutting out.";
            page.text(Label::new((MARGIN, MARGIN + 11.0), how).size(3.2));
            let shown = Rect::new(
                window.x0,
                window.y0,
                (window.x0 + wrap.width - x).min(window.x1),
                (window.y0 + wrap.height - y).min(window.y1),
            );
            page.place_in_window(wrap, by, shown);
            for across in 0..=columns {
                for along in 0..=rows {
                    let edge = |place: usize, count: usize, step: f64, size: f64| match place {
                        0 => 4.0,
                        last if last == count => size - 4.0,
                        inner => step * inner as f64 + OVERLAP / 2.0,
                    };
                    let at =
                        Point::new(edge(across, columns, step.0, wrap.width), edge(along, rows, step.1, wrap.height))
                            + by.to_vec2();
                    let inner = (across > 0 && across < columns) || (along > 0 && along < rows);
                    if inner && window.inflate(0.1, 0.1).contains(at) {
                        page.line((at.x - 3.0, at.y), (at.x + 3.0, at.y), Pen::LINE.width(0.25));
                        page.line((at.x, at.y - 3.0), (at.x, at.y + 3.0), Pen::LINE.width(0.25));
                    }
                }
            }
            pages.push(furnished(page));
        }
    }
    pages
}

/// Both bars at the foot.
fn furnished(mut page: Drawing) -> Drawing {
    let foot = page.height - MARGIN - bars::HEIGHT;
    bars(&mut page, (MARGIN + 0.5, foot));
    let x = MARGIN + bars::WIDTH + 4.0;
    let room = page.width - MARGIN - x;
    for (row, line) in broken(MEASURE, Face::Bold, 3.6, room).iter().enumerate() {
        page.text(Label::new((x, foot + 5.0 + 4.8 * row as f64), line.as_str()).size(3.6).bold());
    }
    page
}

/// Title, figures and what is done; where the next thing can stand.
fn head(page: &mut Drawing, ends: &Ends, end: &Template) -> f64 {
    let room = page.width - 2.0 * MARGIN;
    let what = format!("END TEMPLATE  {}", end.name());
    let size = Face::Bold.fitting(&what, 7.0, room);
    page.text(Label::new((MARGIN, MARGIN + 6.5), what).bold().size(size));
    let date = ends.date.as_ref().map_or_else(String::new, |date| format!(", {date}"));
    let verdict = if end.feasible { "" } else { "  DO NOT CUT: cannot be bent as asked" };
    let about = format!("job {}{date}, fingerprint of the files {}{verdict}", ends.job, ends.fingerprint);
    let size = Face::Book.fitting(&about, 3.2, room);
    let ink = if end.feasible { Ink::GREY } else { Ink::WARN };
    page.text(Label::new((MARGIN, MARGIN + 12.0), about).size(size).ink(ink));
    let mut y = MARGIN + 18.0;
    for line in &end.words {
        for line in broken(line, Face::Book, 3.3, room) {
            page.text(Label::new((MARGIN, y), line).size(3.3));
            y += 4.4;
        }
        y += 0.8;
    }
    y += 1.0;
    let curves = match end.plan.cut.cut {
        Cut::Cope => COPE,
        Cut::TwoPlane => TWO_PLANE,
    };
    for (number, step) in HOW.into_iter().chain([curves]).enumerate() {
        page.text(Label::new((MARGIN, y), (number + 1).to_string()).bold().size(3.8));
        for line in broken(step, Face::Book, 3.3, room - 5.0) {
            page.text(Label::new((MARGIN + 5.0, y), line).size(3.3));
            y += 4.4;
        }
        y += 0.8;
    }
    y
}

/// All templates under each other on one sheet at 1:1, with both bars: for a drawing program, a cutter or a browser.
///
/// `None` where no end lands on another tube.
#[must_use]
pub fn sheet(ends: &Ends, people: &People) -> Option<Drawing> {
    let wraps: Vec<Drawing> = ends.ends.iter().map(|end| wrap(end, people)).collect();
    let widest = wraps.iter().map(|wrap| wrap.width).reduce(f64::max)?;
    let width = widest.max(bars::WIDTH) + 2.0 * MARGIN;
    let height = wraps.iter().map(|wrap| wrap.height + 8.0).sum::<f64>() + 2.0 * MARGIN + bars::HEIGHT;
    let mut sheet = Drawing::new(format!("Templates of {}", ends.job), width, height);
    bars(&mut sheet, (MARGIN + 0.5, MARGIN));
    let mut y = MARGIN + bars::HEIGHT + 8.0;
    for wrap in &wraps {
        sheet.place(wrap, (MARGIN, y));
        y += wrap.height + 8.0;
    }
    Some(sheet)
}
