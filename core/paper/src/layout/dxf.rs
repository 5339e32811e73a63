//! The layouts as a DXF file of release 12 (AC1009): plain text that every drawing program reads.
//!
//! Release 12 has no variable for the unit of lengths; a comment in its head (group 999) and a line of text in the drawing say it. An arc is a piece of a
//! polyline whose bulge is the tangent of a quarter of its angle, positive to the left, so it is exact. All layouts stand side by side on one line, in
//! the frame of their chalk coordinates: y is the offset from the baseline.
//!
//! | layer | holds |
//! | --- | --- |
//! | CENTRELINE | one polyline for each layout, from the end toward A, extras included |
//! | EDGES | two polylines half an OD to either side, and the cuts |
//! | POINTS | the named points, centres of arcs, and the lines from tangent points to corners |
//! | TEXT | names of layouts and points, the unit |
//!
//! Source of the group codes: the drawing interchange format as published for release 12, from memory; every file is audited by a reader of others' making.

use std::fmt::Write as _;

use kurbo::{Point, Rect, Vec2};
use tubewright::units::{Angle, LengthUnit};

use super::chalk::{Drawn, Layout};
use super::shape::{Piece, Shape};

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
    let (unit, name) =
        if layout.units == "in" { (LengthUnit::Inch, "inches") } else { (LengthUnit::Mm, "millimetres") };
    let mut body = File { out: String::new(), scale: 1.0 / unit.mm_per(), bounds: None };
    let mut from = 0.0;
    for drawn in layout.planes() {
        let room = reach(&drawn.plane.shape);
        let by = Vec2::new(from - room.x0, 0.0);
        body.plane(&drawn, by, room + by, name);
        from += room.width() + BETWEEN;
    }
    let bounds = body.bounds.unwrap_or(Rect::ZERO);
    let mut file = File { out: String::new(), scale: 1.0, bounds: None };
    file.pair(999, &format!("lengths in {name}"));
    file.head(bounds);
    file.tables();
    file.section("BLOCKS");
    file.pair(0, "ENDSEC");
    file.section("ENTITIES");
    file.out.push_str(&body.out);
    file.pair(0, "ENDSEC");
    file.pair(0, "EOF");
    file.out
}

/// What the tube and its points take up, mm.
fn reach(shape: &Shape) -> Rect {
    use kurbo::Shape as _;
    let half = shape.od / 2.0;
    let lines = shape.line(half).bounding_box().union(shape.line(-half).bounding_box());
    shape.spots.iter().fold(lines, |all, spot| all.union_pt(spot.at))
}

struct File {
    out: String,
    scale: f64,
    bounds: Option<Rect>,
}

impl File {
    fn pair(&mut self, code: u16, value: &str) {
        let _ = write!(self.out, "{code:>3}\r\n{value}\r\n");
    }

    fn figure(&mut self, code: u16, value: f64) {
        // No zero with a sign, and always a point: a reader may take a bare integer for one.
        self.pair(code, &format!("{:?}", value + 0.0));
    }

    fn section(&mut self, name: &str) {
        self.pair(0, "SECTION");
        self.pair(2, name);
    }

    fn head(&mut self, bounds: Rect) {
        self.section("HEADER");
        self.pair(9, "$ACADVER");
        self.pair(1, "AC1009");
        for (name, at) in [("$EXTMIN", (bounds.x0, bounds.y0)), ("$EXTMAX", (bounds.x1, bounds.y1))] {
            self.pair(9, name);
            self.figure(10, at.0);
            self.figure(20, at.1);
            self.figure(30, 0.0);
        }
        self.pair(0, "ENDSEC");
    }

    fn tables(&mut self) {
        self.section("TABLES");
        let table = |file: &mut Self, name: &str, entries: usize| {
            file.pair(0, "TABLE");
            file.pair(2, name);
            file.pair(70, &entries.to_string());
        };
        table(self, "LTYPE", 1);
        self.pair(0, "LTYPE");
        self.pair(2, "CONTINUOUS");
        self.pair(70, "0");
        self.pair(3, "Solid line");
        self.pair(72, "65");
        self.pair(73, "0");
        self.figure(40, 0.0);
        self.pair(0, "ENDTAB");
        let layers = [("0", "7"), (CENTRELINE, "1"), (EDGES, "7"), (POINTS, "3"), (TEXT, "5")];
        table(self, "LAYER", layers.len());
        for (name, colour) in layers {
            self.pair(0, "LAYER");
            self.pair(2, name);
            self.pair(70, "0");
            self.pair(62, colour);
            self.pair(6, "CONTINUOUS");
        }
        self.pair(0, "ENDTAB");
        table(self, "STYLE", 1);
        self.pair(0, "STYLE");
        self.pair(2, "STANDARD");
        self.pair(70, "0");
        self.figure(40, 0.0);
        self.figure(41, 1.0);
        self.figure(50, 0.0);
        self.pair(71, "0");
        self.figure(42, 1.0);
        self.pair(3, "txt");
        self.pair(4, "");
        self.pair(0, "ENDTAB");
        self.pair(0, "ENDSEC");
    }

    fn entity(&mut self, kind: &str, layer: &str) {
        self.pair(0, kind);
        self.pair(8, layer);
    }

    fn point(&mut self, code: u16, at: Point) {
        let at = at.to_vec2() * self.scale;
        let at = Point::new(at.x, at.y);
        self.figure(code, at.x);
        self.figure(code + 10, at.y);
        self.figure(code + 20, 0.0);
        let here = Rect::from_points(at, at);
        self.bounds = Some(self.bounds.map_or(here, |bounds| bounds.union(here)));
    }

    fn line(&mut self, layer: &str, from: Point, to: Point) {
        self.entity("LINE", layer);
        self.point(10, from);
        self.point(11, to);
    }

    fn words(&mut self, at: Point, height: f64, words: &str) {
        self.entity("TEXT", TEXT);
        self.point(10, at);
        self.figure(40, height * self.scale);
        self.pair(1, &encoded(words));
    }

    /// A line so far to the left of the centreline.
    fn along(&mut self, layer: &str, shape: &Shape, offset: f64, by: Vec2) {
        self.entity("POLYLINE", layer);
        self.pair(66, "1");
        self.figure(10, 0.0);
        self.figure(20, 0.0);
        self.figure(30, 0.0);
        let pieces: Vec<Piece> = shape.pieces.iter().map(|piece| piece.beside(offset)).collect();
        for piece in &pieces {
            let bulge = match piece {
                Piece::Straight { .. } => 0.0,
                Piece::Arc { sweep, .. } => libm::tan(sweep.to_rad() / 4.0),
            };
            self.vertex(layer, piece.at(0.0) + by, bulge);
        }
        if let Some(last) = pieces.last() {
            self.vertex(layer, last.at(1.0) + by, 0.0);
        }
        self.entity("SEQEND", layer);
    }

    fn vertex(&mut self, layer: &str, at: Point, bulge: f64) {
        self.entity("VERTEX", layer);
        self.point(10, at);
        if bulge.abs() > Angle::ZERO.to_rad() {
            self.figure(42, bulge);
        }
    }

    fn plane(&mut self, drawn: &Drawn<'_>, by: Vec2, room: Rect, unit: &str) {
        let shape = &drawn.plane.shape;
        let half = shape.od / 2.0;
        self.along(CENTRELINE, shape, 0.0, by);
        for offset in [half, -half] {
            self.along(EDGES, shape, offset, by);
        }
        let ends = [(shape.pieces.first(), 0.0), (shape.pieces.last(), 1.0)];
        for (cut, (piece, part)) in shape.cut.into_iter().zip(ends) {
            if let Some(piece) = piece.filter(|_| cut) {
                self.line(EDGES, piece.beside(half).at(part) + by, piece.beside(-half).at(part) + by);
            }
        }
        for spot in &shape.spots {
            self.entity("POINT", POINTS);
            self.point(10, spot.at + by);
            self.words(spot.at + by + Vec2::new(2.0, 2.0), LETTERS / 2.0, &spot.what.name());
        }
        for piece in &shape.pieces {
            if let Piece::Arc { bend, centre, .. } = piece {
                self.entity("POINT", POINTS);
                self.point(10, *centre + by);
                self.words(*centre + by + Vec2::new(2.0, 2.0), LETTERS / 2.0, &format!("centre {}", bend.number()));
            }
        }
        for (from, to) in shape.to_corners() {
            self.line(POINTS, from + by, to + by);
        }
        let about = format!("{}: {}, {}, lengths in {unit}", drawn.tube.name, drawn.plane.name, drawn.tube.stock);
        let files = format!("job {}, fingerprint {}", drawn.layout.job, drawn.layout.fingerprint);
        let below = room.y0 - 3.0 * LETTERS;
        self.words(Point::new(room.x0, below), LETTERS, &about);
        self.words(Point::new(room.x0, below - 2.0 * LETTERS), LETTERS, &files);
        if !drawn.tube.feasible {
            let verdict = format!("{}: this is its shape only", drawn.tube.verdict);
            self.words(Point::new(room.x0, below - 4.0 * LETTERS), LETTERS, &verdict);
        }
    }
}

/// Words as release 12 writes them: plain ASCII, all other letters by their numbers, and no letter that begins a code.
fn encoded(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    let mut percents = 0;
    for letter in words.chars() {
        match letter {
            // Two in a row begin a code, and three are one: so each of a row is written as three, the first one too.
            '%' if percents == 1 => out.push_str("%%%%%"),
            '%' if percents > 1 => out.push_str("%%%"),
            '^' => out.push_str("^ "),
            ' '..='~' => out.push(letter),
            _ => {
                let mut units = [0; 2];
                for unit in letter.encode_utf16(&mut units) {
                    let _ = write!(out, "\\U+{unit:04X}");
                }
            }
        }
        percents = if letter == '%' { percents + 1 } else { 0 };
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_plain_ascii() {
        assert_eq!(encoded("hoop 1/2"), "hoop 1/2");
        assert_eq!(encoded("Bügel ½"), "B\\U+00FCgel \\U+00BD");
        assert_eq!(encoded("a^b"), "a^ b");
        assert_eq!(encoded("5 %"), "5 %");
        assert_eq!(encoded("5%%d"), "5%%%%%%d");
    }
}
