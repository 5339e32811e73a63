//! How a layout larger than a page is spread over pages.
//!
//! The sheet is the whole layout turned so that few pages are needed; x to the right, y down, mm. Cells cover it, each as large as a page shows without its
//! overlap; a tile is what a page shows: its cell and half the overlap all around, so that neighbours share [`OVERLAP`].
//!
//! ```text
//!    corner (i, j) of the cells:  x = 5 + i step_x,  y = 5 + j step_y
//!    tile (row, column) shows     x from column step_x to column step_x + window,  y from row step_y on
//! ```
//!
//! Crosses stand at the corners of the cells and in the middle of their upright sides: each is on two tiles or on four. A cell that nothing of the layout
//! touches is left out.

use std::collections::BTreeSet;

use kurbo::{Affine, Point, Rect, Vec2};

use super::shape::{Piece, Shape};
use crate::pdf::Paper;

/// What two neighbouring tiles share, mm.
pub const OVERLAP: f64 = 10.0;

/// Tiles that anybody would put together at most.
pub const MOST: usize = 200;

/// A longer centreline, mm, is not even tried: each tile shows at most its diagonal.
const LONGEST: f64 = 100_000.0;

/// White around the layout, mm.
const AROUND: f64 = 6.0;

/// The window of a page, mm from its upper left corner.
#[must_use]
pub fn window(paper: Paper) -> Rect {
    // Steps in whole centimetres, or in whole halves of an inch.
    let (step_x, step_y) = match paper {
        Paper::A4 => (170.0, 230.0),
        Paper::Letter => (7.0 * 25.4, 8.5 * 25.4),
    };
    let (wide, high) = (step_x + OVERLAP, step_y + OVERLAP);
    let x = (paper.width() - wide) / 2.0;
    Rect::new(x, 26.5, x + wide, 26.5 + high)
}

/// A tile by its row and its column, from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Tile {
    /// Row from the top.
    pub row: usize,
    /// Column from the left.
    pub column: usize,
}

impl Tile {
    /// Its name: a letter for the row, a number for the column, `B3`. After Z comes AA.
    #[must_use]
    pub fn name(self) -> String {
        let mut letters = String::new();
        let mut row = self.row + 1;
        while row > 0 {
            row -= 1;
            letters.insert(0, char::from(b'A' + (row % 26) as u8));
            row /= 26;
        }
        format!("{letters}{}", self.column + 1)
    }
}

/// Tiles over a layout.
#[derive(Clone, Debug)]
pub struct Grid {
    /// From the frame of the layout, y up, to the sheet, y down. A turn, a flip and a shift: nothing is scaled.
    pub sheet_from_layout: Affine,
    /// Columns and rows.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// Size of a cell, mm.
    pub step: Vec2,
    /// Tiles on which something is.
    pub used: BTreeSet<Tile>,
}

impl Grid {
    /// The tiling with the fewest tiles, of a fixed list of turns and shifts; `None` where it takes more than [`MOST`].
    #[must_use]
    pub fn new(shape: &Shape, paper: Paper) -> Option<Self> {
        if shape.length() > LONGEST {
            return None;
        }
        let window = window(paper);
        let step = Vec2::new(window.width() - OVERLAP, window.height() - OVERLAP);
        let strokes = strokes(shape);
        let mut best: Option<((usize, usize), Self)> = None;
        for turn in turns(shape) {
            for shift in 0..9 {
                let parts = (f64::from(shift % 3) / 2.0, f64::from(shift / 3) / 2.0);
                let grid = Self::turned(&strokes, step, turn, parts);
                let score = (grid.used.len(), grid.columns * grid.rows);
                if best.as_ref().is_none_or(|(least, _)| score < *least) {
                    best = Some((score, grid));
                }
            }
        }
        best.map(|(_, grid)| grid).filter(|grid| grid.used.len() <= MOST)
    }

    fn turned(strokes: &[Stroke], step: Vec2, turn: Vec2, parts: (f64, f64)) -> Self {
        // x of the layout comes to lie along `turn` on the sheet seen with y up, then y is turned over.
        let flat = Affine::new([turn.x, -turn.y, -turn.y, -turn.x, 0.0, 0.0]);
        let reach = strokes.iter().fold(None, |all: Option<Rect>, stroke| {
            let stroke = stroke.moved(flat);
            let here = Rect::from_points(stroke.from, stroke.to).inflate(stroke.half, stroke.half);
            Some(all.map_or(here, |all| all.union(here)))
        });
        let reach = reach.unwrap_or(Rect::ZERO).inflate(AROUND, AROUND);
        let cells = |size: f64, step: f64| libm::ceil(size / step).max(1.0) as usize;
        let (columns, rows) = (cells(reach.width(), step.x), cells(reach.height(), step.y));
        let slack = Vec2::new(columns as f64 * step.x - reach.width(), rows as f64 * step.y - reach.height());
        let half = OVERLAP / 2.0;
        let corner = Vec2::new(half + slack.x * parts.0, half + slack.y * parts.1);
        let sheet_from_layout = Affine::translate(corner - reach.origin().to_vec2()) * flat;
        let mut grid = Self { sheet_from_layout, columns, rows, step, used: BTreeSet::new() };
        for stroke in strokes {
            grid.touch(stroke.moved(sheet_from_layout));
        }
        grid.without_empty_borders()
    }

    /// The same without rows and columns at its borders in which nothing is: the white around the layout may have taken one.
    fn without_empty_borders(self) -> Self {
        let used = |of: fn(&Tile) -> usize| {
            let (first, last) = (self.used.iter().map(of).min(), self.used.iter().map(of).max());
            (first.unwrap_or_default(), last.unwrap_or_default())
        };
        let ((top, bottom), (left, right)) = (used(|tile| tile.row), used(|tile| tile.column));
        let by = Vec2::new(left as f64 * self.step.x, top as f64 * self.step.y);
        let moved = |tile: &Tile| Tile { row: tile.row - top, column: tile.column - left };
        Self {
            sheet_from_layout: Affine::translate(-by) * self.sheet_from_layout,
            columns: right - left + 1,
            rows: bottom - top + 1,
            step: self.step,
            used: self.used.iter().map(moved).collect(),
        }
    }

    /// Notes the cells that a stroke touches.
    fn touch(&mut self, stroke: Stroke) {
        let around = Rect::from_points(stroke.from, stroke.to).inflate(stroke.half, stroke.half);
        let index = |at: f64, step: f64, count: usize| {
            let cell = libm::floor((at - OVERLAP / 2.0) / step).max(0.0) as usize;
            cell.min(count - 1)
        };
        for row in index(around.y0, self.step.y, self.rows)..=index(around.y1, self.step.y, self.rows) {
            for column in index(around.x0, self.step.x, self.columns)..=index(around.x1, self.step.x, self.columns) {
                let tile = Tile { row, column };
                if apart(self.cell(tile), stroke.from, stroke.to) <= stroke.half {
                    self.used.insert(tile);
                }
            }
        }
    }

    /// What only this tile has to show, in the frame of the sheet.
    #[must_use]
    pub fn cell(&self, tile: Tile) -> Rect {
        let half = OVERLAP / 2.0;
        self.shown(tile).inset(-half)
    }

    /// What a tile shows, in the frame of the sheet.
    #[must_use]
    pub fn shown(&self, tile: Tile) -> Rect {
        let (x, y) = (tile.column as f64 * self.step.x, tile.row as f64 * self.step.y);
        Rect::new(x, y, x + self.step.x + OVERLAP, y + self.step.y + OVERLAP)
    }

    /// A tile so many columns and rows on, where there is one, used or not.
    #[must_use]
    pub fn beside(&self, tile: Tile, columns: i32, rows: i32) -> Option<Tile> {
        let row = tile.row.checked_add_signed(rows as isize)?;
        let column = tile.column.checked_add_signed(columns as isize)?;
        (row < self.rows && column < self.columns).then_some(Tile { row, column })
    }

    /// The crosses on a tile: each with its place on the sheet, mm, and what it is called: its distance from the first corner of the cells.
    #[must_use]
    pub fn crosses(&self, tile: Tile) -> Vec<Point> {
        let cell = self.cell(tile);
        let middle = (cell.y0 + cell.y1) / 2.0;
        [cell.y0, middle, cell.y1].into_iter().flat_map(|y| [Point::new(cell.x0, y), Point::new(cell.x1, y)]).collect()
    }
}

/// A line of the layout with half its thickness, mm.
#[derive(Clone, Copy, Debug)]
struct Stroke {
    from: Point,
    to: Point,
    half: f64,
}

impl Stroke {
    fn moved(self, by: Affine) -> Self {
        Self { from: by * self.from, to: by * self.to, half: self.half }
    }
}

/// Everything of a layout that has to be on a tile: the tube, in pieces short enough to tell one cell from the next, and the lines to the corners.
fn strokes(shape: &Shape) -> Vec<Stroke> {
    let mut strokes = Vec::new();
    for piece in &shape.pieces {
        // A chord lies inside its arc by r a^2 / 8: with 5 degrees a thousandth of the radius, which is allowed for.
        let (parts, sag) = match piece {
            Piece::Straight { length, .. } => ((length / 100.0).max(1.0), 0.0),
            Piece::Arc { sweep, spoke, .. } => ((sweep.abs().to_deg() / 5.0).max(1.0), spoke.hypot() * 1e-3),
        };
        let parts = libm::ceil(parts) as usize;
        for part in 0..parts {
            let at = |part: usize| piece.at(part as f64 / parts as f64);
            strokes.push(Stroke { from: at(part), to: at(part + 1), half: shape.od / 2.0 + 0.5 + sag });
        }
    }
    for (from, to) in shape.to_corners() {
        let parts = libm::ceil((to - from).hypot() / 100.0).max(1.0) as usize;
        let at = |part: usize| from.lerp(to, part as f64 / parts as f64);
        strokes.extend((0..parts).map(|part| Stroke { from: at(part), to: at(part + 1), half: 2.0 }));
    }
    strokes
}

/// Directions that are tried: each straight upright and level, the baseline, then every five degrees.
fn turns(shape: &Shape) -> Vec<Vec2> {
    let mut turns = vec![Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0)];
    for piece in &shape.pieces {
        if let Piece::Straight { along, .. } = piece {
            // The direction of x that brings this straight level: turned back by it; then a quarter further.
            turns.push(Vec2::new(along.x, -along.y));
            turns.push(Vec2::new(along.y, along.x));
        }
    }
    for step in 1..36 {
        let (sin, cos) = libm::sincos(f64::from(step) * core::f64::consts::PI / 36.0);
        turns.push(Vec2::new(cos, sin));
    }
    turns
}

/// The distance of a line from a box; 0 where they meet.
#[must_use]
pub(super) fn apart(area: Rect, from: Point, to: Point) -> f64 {
    if crosses(area, from, to) {
        return 0.0;
    }
    let corners = [(area.x0, area.y0), (area.x1, area.y0), (area.x0, area.y1), (area.x1, area.y1)];
    let to_line = corners.into_iter().map(|(x, y)| {
        let (corner, along) = (Point::new(x, y), to - from);
        let part = ((corner - from).dot(along) / along.hypot2().max(1e-12)).clamp(0.0, 1.0);
        (corner - from.lerp(to, part)).hypot()
    });
    let to_ends = [from, to].into_iter().map(|end| {
        let near = Point::new(end.x.clamp(area.x0, area.x1), end.y.clamp(area.y0, area.y1));
        (end - near).hypot()
    });
    to_line.chain(to_ends).fold(f64::INFINITY, f64::min)
}

/// Whether a line meets a box: what is left of it after cutting at each side.
fn crosses(area: Rect, from: Point, to: Point) -> bool {
    let (mut first, mut last) = (0.0_f64, 1.0_f64);
    for (start, by, low, high) in [(from.x, to.x - from.x, area.x0, area.x1), (from.y, to.y - from.y, area.y0, area.y1)]
    {
        if by.abs() < 1e-12 {
            if start < low || start > high {
                return false;
            }
            continue;
        }
        let (one, other) = ((low - start) / by, (high - start) / by);
        first = first.max(one.min(other));
        last = last.min(one.max(other));
    }
    first <= last
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_have_letters_and_columns_numbers() {
        let name = |row, column| Tile { row, column }.name();
        assert_eq!(
            [name(0, 0), name(1, 2), name(25, 0), name(26, 9), name(51, 0), name(54, 0)],
            ["A1", "B3", "Z1", "AA10", "AZ1", "BC1"]
        );
    }

    #[test]
    fn a_line_is_so_far_from_a_box() {
        let area = Rect::new(0.0, 0.0, 10.0, 10.0);
        let apart = |a: (f64, f64), b: (f64, f64)| apart(area, Point::new(a.0, a.1), Point::new(b.0, b.1));
        assert!(apart((-5.0, 5.0), (15.0, 5.0)).abs() < 1e-12);
        assert!((apart((13.0, 14.0), (20.0, 20.0)) - 5.0).abs() < 1e-12);
        assert!((apart((12.0, -5.0), (12.0, 15.0)) - 2.0).abs() < 1e-12);
        // Past the corner: the line x + y = 24 is 4 / sqrt 2 from (10, 10).
        assert!((apart((4.0, 20.0), (20.0, 4.0)) - 4.0 / core::f64::consts::SQRT_2).abs() < 1e-12);
    }

    #[test]
    fn windows_leave_a_margin_and_room_for_words() {
        for paper in [Paper::A4, Paper::Letter] {
            let window = window(paper);
            assert!(window.x0 >= 14.0 && window.y1 <= paper.height() - 26.0, "{window:?}");
            assert!((window.x0 - (paper.width() - window.x1)).abs() < 1e-9);
        }
    }
}
