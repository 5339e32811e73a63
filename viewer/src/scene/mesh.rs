//! Triangles: the surface of a tube, of the bender's solids, and of the bands that mark a place on a tube. All in mm, double precision.

use nalgebra::{Isometry3, Point3, Unit, UnitQuaternion, Vector3};
use tubewright::bender::Shape;
use tubewright::body::{Bow, Placed};
use tubewright::units::{Angle, Length};

/// Corners on the girth of a round body. The flat between two of them lies 0.3 % of the radius inside.
const AROUND: u32 = 40;

/// An arc is cut into pieces of at most so much, degrees: a chord then lies 0.04 % of the radius off.
const PIECE: f64 = 3.0;

/// A surface of triangles. Every triangle has its corners anticlockwise seen from outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Corners, mm.
    pub points: Vec<Point3<f64>>,
    /// The direction outward at each corner, a unit vector.
    pub normals: Vec<Vector3<f64>>,
    /// Three places in `points` each.
    pub triangles: Vec<[u32; 3]>,
}

/// A place on a centreline.
#[derive(Clone, Copy, Debug)]
pub struct Station {
    /// The point, mm.
    pub at: Point3<f64>,
    /// Travel from end A to end B.
    pub ahead: Unit<Vector3<f64>>,
    /// Place on the blank, from the cut end at A, mm.
    pub blank: f64,
}

impl Mesh {
    /// With another mesh added.
    pub fn add(&mut self, other: &Self) {
        let from = self.points.len() as u32;
        self.points.extend_from_slice(&other.points);
        self.normals.extend_from_slice(&other.normals);
        self.triangles.extend(other.triangles.iter().map(|corners| corners.map(|corner| corner + from)));
    }

    /// Moved as a whole.
    #[must_use]
    pub fn moved(mut self, by: &Isometry3<f64>) -> Self {
        for point in &mut self.points {
            *point = by * *point;
        }
        for normal in &mut self.normals {
            *normal = by * *normal;
        }
        self
    }

    /// Flat triangles: each has corners of its own, so that edges stay sharp.
    fn flat(points: &[Point3<f64>], triangles: &[[u32; 3]]) -> Self {
        let mut mesh = Self::default();
        for corners in triangles {
            let [a, b, c] = corners.map(|corner| points[corner as usize]);
            let Some(normal) = (b - a).cross(&(c - a)).try_normalize(0.0) else { continue };
            let from = mesh.points.len() as u32;
            mesh.points.extend([a, b, c]);
            mesh.normals.extend([normal; 3]);
            mesh.triangles.push([from, from + 1, from + 2]);
        }
        mesh
    }

    /// The surface of a solid of the bender.
    #[must_use]
    pub fn of_shape(shape: &Shape) -> Self {
        match shape {
            Shape::Box { min, max } => {
                let points: Vec<Point3<f64>> = (0..8)
                    .map(|corner: usize| {
                        let pick = |bit: usize, low: f64, high: f64| if corner >> bit & 1 == 1 { high } else { low };
                        Point3::new(pick(0, min.x, max.x), pick(1, min.y, max.y), pick(2, min.z, max.z))
                    })
                    .collect();
                let sides = [[0, 4, 6, 2], [1, 3, 7, 5], [0, 1, 5, 4], [2, 6, 7, 3], [0, 2, 3, 1], [4, 5, 7, 6]];
                let triangles: Vec<[u32; 3]> = sides.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect();
                Self::flat(&points, &triangles)
            }
            Shape::Cylinder { from, to, radius } => round(from, to, radius.to_mm(), &[]),
            Shape::Capsule { from, to, radius } => {
                let rings: Vec<f64> = (1..8).map(|ring| f64::from(ring) / 8.0).collect();
                round(from, to, radius.to_mm(), &rings)
            }
            Shape::Mesh(mesh) => Self::flat(&mesh.points, &mesh.triangles),
        }
    }

    /// The surface of a tube along some stations, closed by flat ends.
    ///
    /// Every corner lies half the OD from its station, square to the tube; the frame is carried along without turning about the tube.
    #[must_use]
    pub fn of_tube(stations: &[Station], od: Length) -> Self {
        let radius = od.to_mm() / 2.0;
        let (Some(first), Some(last)) = (stations.first(), stations.last()) else { return Self::default() };
        let mut mesh = Self::default();
        let mut out = square_to(&first.ahead);
        let mut before = first.ahead;
        for station in stations {
            let carry = UnitQuaternion::rotation_between_axis(&before, &station.ahead);
            out = carry.map_or(out, |carry| carry * out);
            before = station.ahead;
            ring(&mut mesh, station.at, &station.ahead, out, radius, 0.0);
        }
        join(&mut mesh, stations.len() as u32);
        cap(&mut mesh, first.at, -first.ahead.into_inner(), radius);
        cap(&mut mesh, last.at, last.ahead.into_inner(), radius);
        mesh
    }
}

/// Places along a placed centreline, from end A: at the ends of every piece, and along arcs no further apart than [`PIECE`].
#[must_use]
pub fn stations(pieces: &[Placed]) -> Vec<Station> {
    let mut found: Vec<Station> = Vec::new();
    for piece in pieces {
        let count = match piece.bow {
            Bow::Straight => 1,
            Bow::Arc { angle, .. } => (angle.to_deg() / PIECE).ceil().max(1.0) as usize,
        };
        let first = usize::from(!found.is_empty());
        found.extend((first..=count).filter_map(|part| along(piece, part as f64 / count as f64)));
    }
    found
}

/// The place at a fraction of a piece; `None` on a straight of no length.
#[must_use]
pub fn along(piece: &Placed, fraction: f64) -> Option<Station> {
    let blank = piece.blank_from.to_mm() + fraction * (piece.blank_to - piece.blank_from).to_mm();
    match piece.bow {
        Bow::Straight => {
            let way = piece.to - piece.from;
            let ahead = Unit::try_new(way, 1e-9)?;
            Some(Station { at: piece.from + way * fraction, ahead, blank })
        }
        Bow::Arc { centre, axis, angle, .. } => {
            let turn = UnitQuaternion::from_axis_angle(&axis, angle.to_rad() * fraction);
            let out = turn * (piece.from - centre);
            Some(Station { at: centre + out, ahead: Unit::new_normalize(axis.cross(&out)), blank })
        }
    }
}

/// The place at so much of the blank; the nearest end where that lies outside.
#[must_use]
pub fn at_blank(pieces: &[Placed], blank: f64) -> Option<Station> {
    let holds = |piece: &&Placed| blank <= piece.blank_to.to_mm();
    let piece = pieces.iter().find(holds).or(pieces.last())?;
    let length = (piece.blank_to - piece.blank_from).to_mm();
    let fraction = if length > 0.0 { (blank - piece.blank_from.to_mm()) / length } else { 0.0 };
    along(piece, fraction.clamp(0.0, 1.0))
}

/// The stations between two places of the blank, both included.
#[must_use]
pub fn between(pieces: &[Placed], from: f64, to: f64) -> Vec<Station> {
    let inside = stations(pieces).into_iter().filter(|station| station.blank > from && station.blank < to);
    let mut found: Vec<Station> = at_blank(pieces, from).into_iter().collect();
    found.extend(inside);
    found.extend(at_blank(pieces, to));
    found
}

/// Some direction square to another, the same for the same one.
pub(crate) fn square_to(ahead: &Unit<Vector3<f64>>) -> Vector3<f64> {
    let axis = if ahead.z.abs() < 0.9 { Vector3::z() } else { Vector3::x() };
    ahead.cross(&axis).normalize()
}

/// Adds a ring of corners; `lean` is the part of the normal that points ahead.
fn ring(mesh: &mut Mesh, at: Point3<f64>, ahead: &Unit<Vector3<f64>>, out: Vector3<f64>, radius: f64, lean: f64) {
    let side = ahead.cross(&out);
    let level = (1.0 - lean * lean).max(0.0).sqrt();
    for corner in 0..AROUND {
        let angle = Angle::deg(360.0 * f64::from(corner) / f64::from(AROUND));
        let (sin, cos) = libm::sincos(angle.to_rad());
        let outward = out * cos + side * sin;
        mesh.points.push(at + outward * radius);
        mesh.normals.push(outward * level + ahead.into_inner() * lean);
    }
}

/// Joins rings, each to the next, from the first corner of the mesh.
fn join(mesh: &mut Mesh, rings: u32) {
    for ring in 1..rings {
        let (near, far) = ((ring - 1) * AROUND, ring * AROUND);
        for corner in 0..AROUND {
            let next = (corner + 1) % AROUND;
            mesh.triangles.push([near + corner, near + next, far + next]);
            mesh.triangles.push([near + corner, far + next, far + corner]);
        }
    }
}

/// Adds a flat round end.
fn cap(mesh: &mut Mesh, at: Point3<f64>, outward: Vector3<f64>, radius: f64) {
    let ahead = Unit::new_normalize(outward);
    let from = mesh.points.len() as u32;
    ring(mesh, at, &ahead, square_to(&ahead), radius, 1.0);
    mesh.points.push(at);
    mesh.normals.push(outward);
    for corner in 0..AROUND {
        mesh.triangles.push([from + AROUND, from + corner, from + (corner + 1) % AROUND]);
    }
}

/// A cylinder, or with rings for its rounded ends a capsule.
fn round(from: &Point3<f64>, to: &Point3<f64>, radius: f64, rounded: &[f64]) -> Mesh {
    let ahead = Unit::try_new(to - from, 1e-12).unwrap_or_else(Vector3::z_axis);
    let out = square_to(&ahead);
    let mut mesh = Mesh::default();
    let mut rings = 0;
    let mut put = |mesh: &mut Mesh, at: &Point3<f64>, angle: f64| {
        let (sin, cos) = libm::sincos(angle);
        ring(mesh, at + ahead.into_inner() * (radius * sin), &ahead, out, radius * cos, sin);
        rings += 1;
    };
    if rounded.is_empty() {
        put(&mut mesh, from, 0.0);
        put(&mut mesh, to, 0.0);
        join(&mut mesh, 2);
        cap(&mut mesh, *from, -ahead.into_inner(), radius);
        cap(&mut mesh, *to, ahead.into_inner(), radius);
        return mesh;
    }
    // From pole to pole; the poles themselves are rings of no size.
    let quarter = core::f64::consts::FRAC_PI_2;
    put(&mut mesh, from, -quarter);
    rounded.iter().for_each(|share| put(&mut mesh, from, -quarter * (1.0 - share)));
    put(&mut mesh, from, 0.0);
    put(&mut mesh, to, 0.0);
    rounded.iter().for_each(|share| put(&mut mesh, to, quarter * share));
    put(&mut mesh, to, quarter);
    join(&mut mesh, rings);
    mesh
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Signed volume of a closed surface, mm3: right only where every triangle looks outward.
    fn volume(mesh: &Mesh) -> f64 {
        let corner = |place: u32| mesh.points[place as usize].coords;
        mesh.triangles.iter().map(|&[a, b, c]| corner(a).dot(&corner(b).cross(&corner(c))) / 6.0).sum()
    }

    #[test]
    fn surfaces_are_closed_and_look_outward() {
        let (a, b, radius) = (Point3::new(1.0, 2.0, 3.0), Point3::new(31.0, 2.0, 43.0), Length::mm(10.0));
        let block = Mesh::of_shape(&Shape::Box { min: a, max: b + Vector3::y() * 7.0 });
        assert!((volume(&block) - 30.0 * 7.0 * 40.0).abs() < 1e-6);
        let flat = 0.5 * f64::from(AROUND) * libm::sin(2.0 * core::f64::consts::PI / f64::from(AROUND));
        let post = Mesh::of_shape(&Shape::Cylinder { from: a, to: b, radius });
        assert!((volume(&post) - 100.0 * flat * 50.0).abs() < 1e-6);
        let bar = volume(&Mesh::of_shape(&Shape::Capsule { from: a, to: b, radius }));
        let truth = core::f64::consts::PI * (100.0 * 50.0 + 4.0 / 3.0 * 1000.0);
        assert!(bar < truth && bar > 0.98 * truth, "{bar} of {truth}");
    }

    #[test]
    fn a_tube_has_its_corners_half_an_od_from_its_line() {
        let centre = Point3::new(0.0, 100.0, 0.0);
        let arc = Placed {
            role: tubewright::body::Role::Lead,
            from: Point3::origin(),
            to: Point3::new(100.0, 100.0, 0.0),
            bow: Bow::Arc { centre, axis: Vector3::z_axis(), radius: Length::mm(100.0), angle: Angle::deg(90.0) },
            blank_from: Length::ZERO,
            blank_to: Length::mm(157.0),
            bend: None,
        };
        let stations = stations(&[arc]);
        assert_eq!(stations.len(), 31);
        assert!((stations[30].at - arc.to).norm() < 1e-9);
        let mesh = Mesh::of_tube(&stations, Length::mm(20.0));
        for point in &mesh.points {
            let out = libm::hypot(point.x - centre.x, point.y - centre.y) - 100.0;
            let off = libm::hypot(out, point.z);
            let (on_surface, at_middle) = ((off - 10.0).abs() < 1e-9, off < 1e-9);
            assert!(on_surface || at_middle, "{off}");
        }
        // Pappus: the area of the section times the way of its middle, a little less for chords.
        let truth = core::f64::consts::PI * 100.0 * 157.079_632_7;
        let found = volume(&mesh);
        assert!(found < truth && found > 0.99 * truth, "{found} of {truth}");
    }
}
