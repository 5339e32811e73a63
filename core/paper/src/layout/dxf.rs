//! The layouts as a DXF file.
//!
//! An arc is a piece of a polyline whose bulge is the tangent of a quarter of its angle, positive to the left, so it is exact. All layouts stand side by side on one line, in
//! the frame of their chalk coordinates: y is the offset from the baseline.
//!
//! | layer | holds |
//! | --- | --- |
//! | CENTRELINE | one polyline for each layout, from the end toward A, extras included |
//! | EDGES | two polylines half an OD to either side, and the cuts |
//! | POINTS | the named points, centres of arcs, and the lines from tangent points to corners |
//! | TEXT | names of layouts and points, the unit |

use kurbo::{Point, Rect, Vec2};
use nalgebra::Point3;
use tubewright::units::Angle;

use super::chalk::{Drawn, Layout};
use super::shape::{Piece, Shape};
use crate::dxf::File;

/// Room between two layouts, mm.
const BETWEEN: f64 = 200.0;

/// Height of letters, mm.
const LETTERS: f64 = 8.0;

const CENTRELINE: &str = "CENTRELINE";
const EDGES: &str = "EDGES";
const POINTS: &str = "POINTS";
const TEXT: &str = "TEXT";

/// The DXF file.
#[must_use]
pub fn dxf(layout: &Layout) -> String {
    let mut file = File::new(layout.units);
    let mut from = 0.0;
    for drawn in layout.planes() {
        let room = reach(&drawn.plane.shape);
        let by = Vec2::new(from - room.x0, 0.0);
        plane(&mut file, &drawn, by, room + by);
        from += room.width() + BETWEEN;
    }
    file.whole(&[(CENTRELINE, 1), (EDGES, 7), (POINTS, 3), (TEXT, 5)])
}

/// What the tube and its points take up, mm.
fn reach(shape: &Shape) -> Rect {
    use kurbo::Shape as _;
    let half = shape.od / 2.0;
    let lines = shape.line(half).bounding_box().union(shape.line(-half).bounding_box());
    shape.spots.iter().fold(lines, |all, spot| all.union_pt(spot.at))
}

/// A point of the plane in space.
fn flat(at: Point) -> Point3<f64> {
    Point3::new(at.x, at.y, 0.0)
}

/// A line so far to the left of the centreline.
fn along(file: &mut File, layer: &str, shape: &Shape, offset: f64, by: Vec2) {
    file.entity("POLYLINE", layer);
    file.pair(66, "1");
    file.figure(10, 0.0);
    file.figure(20, 0.0);
    file.figure(30, 0.0);
    let pieces: Vec<Piece> = shape.pieces.iter().map(|piece| piece.beside(offset)).collect();
    for piece in &pieces {
        let bulge = match piece {
            Piece::Straight { .. } => 0.0,
            Piece::Arc { sweep, .. } => libm::tan(sweep.to_rad() / 4.0),
        };
        vertex(file, layer, piece.at(0.0) + by, bulge);
    }
    if let Some(last) = pieces.last() {
        vertex(file, layer, last.at(1.0) + by, 0.0);
    }
    file.entity("SEQEND", layer);
}

fn vertex(file: &mut File, layer: &str, at: Point, bulge: f64) {
    file.entity("VERTEX", layer);
    file.point(10, &flat(at));
    if bulge.abs() > Angle::ZERO.to_rad() {
        file.figure(42, bulge);
    }
}

/// A point and its name beside it.
fn spot(file: &mut File, at: Point, name: &str) {
    file.entity("POINT", POINTS);
    file.point(10, &flat(at));
    file.words(TEXT, &flat(at + Vec2::new(2.0, 2.0)), LETTERS / 2.0, name);
}

fn plane(file: &mut File, drawn: &Drawn<'_>, by: Vec2, room: Rect) {
    let shape = &drawn.plane.shape;
    let half = shape.od / 2.0;
    along(file, CENTRELINE, shape, 0.0, by);
    for offset in [half, -half] {
        along(file, EDGES, shape, offset, by);
    }
    let ends = [(shape.pieces.first(), 0.0), (shape.pieces.last(), 1.0)];
    for (cut, (piece, part)) in shape.cut.into_iter().zip(ends) {
        if let Some(piece) = piece.filter(|_| cut) {
            let [from, to] = [half, -half].map(|offset| flat(piece.beside(offset).at(part) + by));
            file.line(EDGES, &from, &to);
        }
    }
    for one in &shape.spots {
        spot(file, one.at + by, &one.what.name());
    }
    for piece in &shape.pieces {
        if let Piece::Arc { bend, centre, .. } = piece {
            spot(file, *centre + by, &format!("centre {}", bend.number()));
        }
    }
    for (from, to) in shape.to_corners() {
        file.line(POINTS, &flat(from + by), &flat(to + by));
    }
    let about = format!("{}: {}, {}, lengths in {}", drawn.tube.name, drawn.plane.name, drawn.tube.stock, file.unit());
    let files = format!("job {}, fingerprint {}", drawn.layout.job, drawn.layout.fingerprint);
    let below = room.y0 - 3.0 * LETTERS;
    let mut words = |lines: f64, words: &str| {
        file.words(TEXT, &Point3::new(room.x0, below - lines * LETTERS, 0.0), LETTERS, words);
    };
    words(0.0, &about);
    words(2.0, &files);
    if !drawn.tube.feasible {
        words(4.0, &format!("{}: this is its shape only", drawn.tube.verdict));
    }
}
