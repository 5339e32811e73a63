//! What every page is put together from: heads, rows, tables, places to write.

use kurbo::{Rect, Shape as _};

use super::flow::Block;
use super::setting::{self, LEADING, Weight, set};
use crate::draw::{DRAWN, Drawing, Face, Ink, Label, Pen};

/// Letters that are read in a row or a table, mm.
pub(super) const BODY: f64 = 4.1;

/// Letters over a column, in a header and in a footer, mm.
pub(super) const SMALL: f64 = 3.4;

/// Letters of what has to be read at arm's length, mm: a capital or a figure is 9.5 mm high.
pub(super) const LARGE: f64 = 13.0;

/// What a row is about stands in a column of this width, mm.
const ABOUT: f64 = 25.0;

/// From the top of a row to its letters, mm.
const ABOVE: f64 = 1.5;

/// Lines of a row that stay together.
const TOGETHER: usize = 6;

/// An empty slice.
pub(super) fn space(width: f64, height: f64) -> Drawing {
    Drawing::new("", width, height)
}

/// A head: a heavy line across, and bold words under it; more at its right end.
pub(super) fn head(width: f64, words: &str, right: &str) -> Drawing {
    let size = 5.2;
    let mut head = Drawing::new("", width, 11.0);
    let room = width - if right.is_empty() { 0.0 } else { Face::Book.width(right, SMALL) + 6.0 };
    let (size, words) = setting::fitted(words, size, SMALL, room);
    head.line((0.0, 0.5), (width, 0.5), Pen::LINE.width(1.0));
    head.text(Label::new((0.0, 7.2), words).size(size).bold());
    if !right.is_empty() {
        head.text(Label::new((width, 7.2), right).size(SMALL).end());
    }
    head
}

/// Words under each other, as slices that hold a few lines each.
pub(super) fn paragraph(width: f64, words: &str, size: f64, weight: Weight) -> Vec<Drawing> {
    slices(width, 0.0, &set(words, size, width, weight), size)
}

fn slices(width: f64, left: f64, lines: &[setting::Line], size: f64) -> Vec<Drawing> {
    let mut slices = Vec::new();
    let chunks = lines.chunks(TOGETHER);
    let last = chunks.len();
    for (place, chunk) in chunks.enumerate() {
        let below = if place + 1 == last { 0.3 * size } else { (LEADING - 1.02) * size };
        let mut slice = Drawing::new("", width, setting::height(chunk.len(), size) + below);
        setting::draw_all(&mut slice, chunk, left, 0.0, size);
        slices.push(slice);
    }
    slices
}

/// A row: what it is about, bold, then its words; a fine line over it.
pub(super) fn row(width: f64, about: &str, words: &str, minded: bool) -> Vec<Drawing> {
    let lines = set(words, BODY, width - ABOUT, Weight::Figures);
    let about = set(about, BODY, ABOUT - 4.0, Weight::Bold);
    let mut rows = Vec::new();
    let parts = lines.len().max(about.len()).max(1).div_ceil(TOGETHER);
    for part in 0..parts {
        let of = |lines: &[setting::Line]| {
            lines.iter().skip(part * TOGETHER).take(TOGETHER).cloned().collect::<Vec<setting::Line>>()
        };
        let (words, about) = (of(&lines), of(&about));
        let high = setting::height(words.len().max(about.len()), BODY);
        let (above, below) = (if part == 0 { ABOVE } else { 0.0 }, if part + 1 == parts { 1.0 } else { 0.34 * BODY });
        let mut slice = Drawing::new("", width, high + above + below);
        if part == 0 {
            slice.line((0.0, 0.0), (width, 0.0), Pen::FINE.ink(Ink::PALE).width(0.25));
        }
        if minded {
            // A bar beside what is to be minded: seen on any printer.
            slice.fill(Rect::new(0.0, above, 1.4, high + above).to_path(DRAWN), Ink::BLACK);
        }
        let left = if minded { 3.0 } else { 0.0 };
        setting::draw_all(&mut slice, &about, left, above, BODY);
        setting::draw_all(&mut slice, &words, ABOUT, above, BODY);
        rows.push(slice);
    }
    rows
}

/// A place to write: what for, a line, and the unit behind it. Its height leaves room for a pencil.
pub(super) fn write_in(on: &mut Drawing, what: &str, unit: &str, left: f64, right: f64, base: f64) {
    let before = if what.is_empty() { 0.0 } else { Face::Bold.width(what, BODY) + 2.0 };
    let behind = if unit.is_empty() { 0.0 } else { Face::Book.width(unit, BODY) + 1.5 };
    if !what.is_empty() {
        on.text(Label::new((left, base), what).size(BODY).bold());
    }
    on.line((left + before, base + 0.6), (right - behind, base + 0.6), Pen::LINE);
    if !unit.is_empty() {
        on.text(Label::new((right, base), unit).size(BODY).end());
    }
}

/// A box with words in it: black on white in a heavy frame, or white on black.
pub(super) fn banner(width: f64, words: &str, most: f64, black: bool) -> Drawing {
    let room = width - 10.0;
    let mut size = Face::Bold.fitting(words, most, room);
    let mut lines = vec![words.to_owned()];
    if size < most * 0.6 {
        // Long words are read better on two lines than small.
        size = most * 0.6;
        lines = crate::draw::lines(words, Face::Bold, size, room);
    }
    let pitch = 1.15 * size;
    let height = 0.75 * size + (lines.len() - 1) as f64 * pitch + 0.62 * size;
    let mut banner = Drawing::new("", width, height + 3.0);
    let (fill, ink) = if black { (Ink::BLACK, Ink::WHITE) } else { (Ink::WHITE, Ink::BLACK) };
    let frame = Rect::new(0.6, 0.6, width - 0.6, height - 0.6);
    banner.shape(frame.to_path(DRAWN), fill, Pen::LINE.width(1.2));
    for (place, line) in lines.iter().enumerate() {
        let base = 1.04 * size + place as f64 * pitch;
        banner.text(Label::new((width / 2.0, base), line.as_str()).size(size).bold().middle().ink(ink));
    }
    banner
}

/// A column of a table.
pub(super) struct Column {
    /// What stands over it.
    pub(super) head: String,
    /// Its width, mm.
    pub(super) width: f64,
    /// Whether its words end at its right edge.
    pub(super) end: bool,
    /// Whether its words are bold.
    pub(super) bold: bool,
}

impl Column {
    /// A column of words.
    pub(super) fn words(head: impl Into<String>, width: f64) -> Self {
        Self { head: head.into(), width, end: false, bold: false }
    }

    /// A column of figures.
    pub(super) fn figures(head: impl Into<String>, width: f64) -> Self {
        Self { head: head.into(), width, end: true, bold: false }
    }

    /// In bold.
    pub(super) fn bold(self) -> Self {
        Self { bold: true, ..self }
    }
}

/// What stands in a table.
pub(super) enum Cell {
    /// Words.
    Words(String),
    /// A box to be ticked.
    Tick,
    /// A line to write on, and the unit behind it.
    Write(String),
}

/// What a column leaves free at its right, mm.
const GUTTER: f64 = 4.0;

/// A table with letters of a size; rows at least so high, mm.
pub(super) fn table(columns: &[Column], rows: &[Vec<Cell>], size: f64, least: f64, after: f64) -> Block {
    let width: f64 = columns.iter().map(|column| column.width).sum();
    let mut block = Block::new(after);
    if columns.iter().any(|column| !column.head.is_empty()) {
        let high = setting::height(1, SMALL);
        let mut head = Drawing::new("", width, high + 1.2);
        let mut left = 0.0;
        for column in columns {
            let room = column.width - GUTTER;
            let (size, words) = fitting(&column.head, SMALL, room);
            let (at, base) = (if column.end { left + room } else { left }, 0.8 * SMALL);
            let label = Label::new((at, base), words).size(size).ink(Ink::GREY);
            head.text(if column.end { label.end() } else { label });
            left += column.width;
        }
        head.line((0.0, high + 0.6), (width, high + 0.6), Pen::LINE.width(0.4));
        block.head = Some(head);
    }
    block.slices = rows.iter().map(|cells| table_row(width, columns, cells, size, least)).collect();
    block
}

/// Book letters as large as fit, never under 2.8 mm.
fn fitting(words: &str, most: f64, room: f64) -> (f64, String) {
    (Face::Book.fitting(words, most, room).max(2.8), words.to_owned())
}

fn table_row(width: f64, columns: &[Column], cells: &[Cell], size: f64, least: f64) -> Drawing {
    let weight = |column: &Column| if column.bold { Weight::Bold } else { Weight::Book };
    let set = |column: &Column, words: &str| set(words, size, column.width - GUTTER, weight(column));
    let lines = columns.iter().zip(cells).map(|(column, cell)| match cell {
        Cell::Words(words) => set(column, words).len(),
        Cell::Tick | Cell::Write(_) => 1,
    });
    let high = (setting::height(lines.max().unwrap_or(1), size) + 2.4).max(least);
    let mut row = Drawing::new("", width, high);
    let mut left = 0.0;
    for (column, cell) in columns.iter().zip(cells) {
        let room = column.width - GUTTER;
        match cell {
            Cell::Words(words) => {
                let lines = set(column, words);
                let top = (high - setting::height(lines.len(), size)) / 2.0;
                for (place, line) in lines.iter().enumerate() {
                    let at = if column.end { left + room - line.length(size) } else { left };
                    setting::draw(&mut row, line, at, top + place as f64 * LEADING * size, size);
                }
            }
            Cell::Tick => {
                let half = (least.min(high) / 2.0 - 1.4).min(2.6);
                let (x, y) = (left + room / 2.0, high / 2.0);
                row.stroke(Rect::new(x - half, y - half, x + half, y + half).to_path(DRAWN), Pen::LINE);
            }
            Cell::Write(unit) => write_in(&mut row, "", unit, left, left + room + GUTTER, high - 2.4),
        }
        left += column.width;
    }
    row.line((0.0, high), (width, high), Pen::FINE.ink(Ink::PALE).width(0.25));
    row
}
