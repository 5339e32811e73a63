//! The layouts as pages at 1:1: for each an overview, then its tiles.

use kurbo::{Point, Rect, Shape as _, Vec2};
use tubewright::round::People;
use tubewright::units::Length;

use super::chalk::{Drawn, Layout};
use super::overview::overview;
use super::shape::{Piece, Shape, What};
use super::tags::{Tag, centres, contains, tags};
use super::tiles::{Grid, MOST, OVERLAP, Tile, window};
use crate::bars::{self, MEASURE, bars};
use crate::draw::{DRAWN, Drawing, Face, Ink, Label, Pen, lines as broken};
use crate::pdf::Paper;

/// What stays white along every edge of a page, mm.
pub(super) const MARGIN: f64 = 10.0;

/// Length of an arm of a cross, mm.
const ARM: f64 = 4.0;

/// A layout that nobody would put together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TooLarge {
    /// The tube.
    pub tube: String,
    /// Its layout.
    pub plane: String,
    /// Tiles that are drawn at most.
    pub most: usize,
}

/// All pages. A straight tube has none: there is nothing to lay it on.
///
/// # Errors
/// A layout that takes too many tiles.
pub fn pages(layout: &Layout, people: &People, paper: Paper) -> Result<Vec<Drawing>, TooLarge> {
    let mut pages = Vec::new();
    for drawn in layout.planes() {
        if drawn.plane.shape.straight() {
            continue;
        }
        let grid = Grid::new(&drawn.plane.shape, paper).ok_or_else(|| TooLarge {
            tube: drawn.tube.name.clone(),
            plane: drawn.plane.name.clone(),
            most: MOST,
        })?;
        let tags = tags(&drawn, people, &grid);
        let sheet = sheet(&drawn.plane.shape, &grid, &tags);
        pages.push(overview(&drawn, people, paper, &grid, &sheet));
        for tile in &grid.used {
            pages.push(page(&drawn, people, paper, &grid, *tile, &sheet, &tags));
        }
    }
    Ok(pages)
}

/// The whole layout without words, in the frame of its sheet.
pub(super) fn sheet(shape: &Shape, grid: &Grid, tags: &[Tag]) -> Drawing {
    let (columns, rows) = (grid.columns as f64, grid.rows as f64);
    let mut sheet = Drawing::new("", columns * grid.step.x + OVERLAP, rows * grid.step.y + OVERLAP);
    let to_sheet = grid.sheet_from_layout;
    let half = shape.od / 2.0;
    for (from, to) in shape.to_corners() {
        sheet.line(to_sheet * from, to_sheet * to, Pen::FINE.dashed(1.2, 1.2));
    }
    for offset in [half, -half] {
        sheet.stroke(to_sheet * shape.line(offset), Pen::LINE.width(0.5));
    }
    sheet.stroke(to_sheet * shape.line(0.0), Pen::LINE.width(0.25).dashed(9.0, 2.0));
    let across = |sheet: &mut Drawing, piece: &Piece, part: f64, reach: f64, pen: Pen| {
        let at = |offset: f64| to_sheet * piece.beside(offset).at(part);
        sheet.line(at(-reach), at(reach), pen);
    };
    for pair in shape.pieces.windows(2) {
        across(&mut sheet, &pair[1], 0.0, half + 4.0, Pen::LINE.width(0.25));
    }
    for piece in &shape.pieces {
        if matches!(piece, Piece::Arc { .. }) {
            across(&mut sheet, piece, 0.5, 2.0, Pen::LINE.width(0.25));
        }
    }
    for (_, centre) in centres(shape, grid) {
        plus(&mut sheet, to_sheet * centre, 2.0, Pen::LINE.width(0.25));
    }
    let ends = [(shape.pieces.first(), 0.0), (shape.pieces.last(), 1.0)];
    for (cut, (piece, part)) in shape.cut.into_iter().zip(ends) {
        let Some(piece) = piece else { continue };
        let (reach, pen) = if cut { (half, Pen::BOLD) } else { (half + 4.0, Pen::LINE.width(0.25)) };
        across(&mut sheet, piece, part, reach, pen);
    }
    for spot in &shape.spots {
        match spot.what {
            What::Trim(end) => {
                let piece = if end == 'A' { shape.pieces.first() } else { shape.pieces.last() };
                if let Some(Piece::Straight { along, .. }) = piece {
                    let side = Vec2::new(-along.y, along.x) * (half + 4.0);
                    let pen = Pen::LINE.dashed(3.0, 1.5);
                    sheet.line(to_sheet * (spot.at - side), to_sheet * (spot.at + side), pen);
                }
            }
            What::Corner(_) => plus(&mut sheet, to_sheet * spot.at, 2.5, Pen::LINE.width(0.25)),
            _ => {}
        }
    }
    for (from, to) in tags.iter().filter_map(|tag| tag.leader) {
        sheet.line(from, to, Pen::FINE);
    }
    sheet
}

fn plus(sheet: &mut Drawing, at: Point, arm: f64, pen: Pen) {
    sheet.line((at.x - arm, at.y), (at.x + arm, at.y), pen);
    sheet.line((at.x, at.y - arm), (at.x, at.y + arm), pen);
}

/// What every page of a layout has: its title at the top, the bars at the foot.
pub(super) fn furnished(drawn: &Drawn<'_>, paper: Paper, right: &str) -> Drawing {
    let what = format!("{}: {}", drawn.tube.name, drawn.plane.name);
    let mut page = Drawing::new(what.clone(), paper.width(), paper.height());
    let room = paper.width() - 2.0 * MARGIN;
    let big = Label::new((paper.width() - MARGIN, MARGIN + 8.5), right).bold().size(10.0).end();
    let left = room - big.length() - 4.0;
    page.text(big);
    let size = Face::Bold.fitting(&what, 5.0, left);
    page.text(Label::new((MARGIN, MARGIN + 4.5), what).bold().size(size));
    let verdict = if drawn.tube.feasible { "" } else { "  DO NOT CUT: cannot be bent as asked" };
    let about = format!("job {}, fingerprint of the files {}{verdict}", drawn.layout.job, drawn.layout.fingerprint);
    let size = Face::Book.fitting(&about, 3.2, left);
    let ink = if drawn.tube.feasible { Ink::GREY } else { Ink::WARN };
    page.text(Label::new((MARGIN, MARGIN + 9.4), about).size(size).ink(ink));
    let foot = paper.height() - MARGIN - bars::HEIGHT;
    bars(&mut page, (MARGIN + 0.5, foot));
    let x = MARGIN + bars::WIDTH + 4.0;
    for (row, line) in broken(MEASURE, Face::Bold, 3.6, page.width - MARGIN - x).iter().enumerate() {
        page.text(Label::new((x, foot + 5.0 + 4.8 * row as f64), line.as_str()).size(3.6).bold());
    }
    page
}

fn page(
    drawn: &Drawn<'_>,
    people: &People,
    paper: Paper,
    grid: &Grid,
    tile: Tile,
    sheet: &Drawing,
    tags: &[Tag],
) -> Drawing {
    let mut page = furnished(drawn, paper, &tile.name());
    let window = window(paper);
    let shown = grid.shown(tile);
    let by = window.origin() - shown.origin();
    page.place_in_window(sheet, by.to_point(), window);
    for tag in tags.iter().filter(|tag| contains(shown, tag.bounds)) {
        let at = tag.label.at + by;
        page.fill((tag.bounds + by).inflate(0.4, 0.2).to_path(DRAWN), Ink::WHITE);
        page.text(Label { at, ..tag.label.clone() });
    }
    page.stroke(window.to_path(DRAWN), Pen::FINE.ink(Ink::PALE));
    // Where a tile lies on its neighbour it is cut through the middle of the crosses.
    let cell = grid.cell(tile) + by;
    let taken = |columns, rows| grid.beside(tile, columns, rows).filter(|other| grid.used.contains(other));
    let cut = Pen::FINE.dashed(2.0, 2.0);
    if taken(-1, 0).is_some() {
        page.line((cell.x0, window.y0), (cell.x0, window.y1), cut);
    }
    if taken(0, -1).is_some() {
        page.line((window.x0, cell.y0), (window.x1, cell.y0), cut);
    }
    for cross in grid.crosses(tile) {
        plus(&mut page, cross + by, ARM, Pen::LINE.width(0.25));
    }
    neighbours(&mut page, grid, tile, window);
    coordinates(&mut page, people, grid, tile, window, by);
    page
}

/// The neighbours' names at the edges.
fn neighbours(page: &mut Drawing, grid: &Grid, tile: Tile, window: Rect) {
    let middle = window.center();
    for (columns, rows, arrow, at, turns) in [
        (0, -1, "\u{2191}", (middle.x, window.y0 - 1.2), 0),
        (0, 1, "\u{2193}", (middle.x, window.y1 + 4.0), 0),
        (-1, 0, "\u{2190}", (window.x0 - 1.2, middle.y * 1.25), 3),
        (1, 0, "\u{2192}", (window.x1 + 1.2, middle.y * 1.25), 1),
    ] {
        let words = match grid.beside(tile, columns, rows) {
            None => "edge of the layout".to_owned(),
            Some(other) if grid.used.contains(&other) => {
                if turns == 0 {
                    format!("{arrow} {}", other.name())
                } else {
                    format!("tile {}", other.name())
                }
            }
            Some(other) => format!("{} is empty: not printed", other.name()),
        };
        let bold = words.len() < 12;
        let label = Label::new(at, words).size(3.6).middle().quarter_turns(turns);
        page.text(if bold { label.bold() } else { label.ink(Ink::GREY).size(3.0) });
    }
}

/// How far the crosses lie from the first corner of the cells, at the edges.
fn coordinates(page: &mut Drawing, people: &People, grid: &Grid, tile: Tile, window: Rect, by: Vec2) {
    let first = OVERLAP / 2.0;
    let crosses = grid.crosses(tile);
    for (place, end) in [(0, false), (1, true)] {
        let x = crosses[place].x;
        let words = format!("x {}", people.length_with_unit(Length::mm(x - first)));
        let label = Label::new((x + by.x, window.y0 - 1.2), words).size(3.0).ink(Ink::GREY);
        page.text(if end { label.end() } else { label });
    }
    for (place, end) in [(0, true), (4, false)] {
        let y = crosses[place].y;
        let words = format!("y {}", people.length_with_unit(Length::mm(y - first)));
        let label = Label::new((window.x0 - 1.2, y + by.y), words).size(3.0).ink(Ink::GREY).quarter_turns(3);
        page.text(if end { label.end() } else { label });
    }
}
