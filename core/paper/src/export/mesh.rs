//! The closed surface of a tube as triangles, with a stated chord error.
//!
//! All corners lie on the true surface, in rings square to the centreline. The surface between two rings is made of flat pieces: both rings have their corners at
//! the same directions, so that the way from a corner to the same corner of the next ring runs along the same chord of the bend for all of them, and the four corners of a piece
//! lie in one plane. So how a piece is cut into two triangles does not matter, and how far it is off can be told exactly: between two corners of a
//! ring by r (1 - cos(half the angle between them)), and between two rings by at most (R + r) (1 - cos(half the angle between them)), R being the radius of the bend. Each is held to half of
//! the chord error; no point of the mesh is then further from the true surface, nor any point of that from the mesh.

use nalgebra::{Point3, Vector3};
use tubewright::centreline::Segment;
use tubewright::units::{Angle, Length};

use super::Part;

/// Fewest corners of a ring: with fewer it would not look round, whatever the chord error allows.
const AROUND: u32 = 12;

/// Rings along an arc are at most so far apart, for the same reason.
const APART: Angle = Angle::deg(30.0);

/// Steps of a chord error in a millimetre.
const STEPS_PER_MM: f64 = 1e4;

/// How far the flat pieces of a mesh may lie off the true surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chord(Length);

impl Chord {
    /// The finest: the files grow large, and single precision shows little more of a part of some metres.
    pub const FINEST: Length = Length::mm(0.01);
    /// The coarsest: most tubes are hardly round any more.
    pub const COARSEST: Length = Length::mm(10.0);

    /// A chord error from [`Chord::FINEST`] to [`Chord::COARSEST`]; `None` for any other. It is taken down to whole 0.0001 mm, so that a file can state just what was kept.
    #[must_use]
    pub fn try_new(error: Length) -> Option<Self> {
        // So that what arithmetic leaves a little below a whole step is that step.
        let steps = (error.to_mm() * STEPS_PER_MM + 1e-6).floor();
        (Self::FINEST..=Self::COARSEST).contains(&error).then(|| Self(Length::mm(steps / STEPS_PER_MM)))
    }

    /// The chord error.
    #[must_use]
    pub const fn error(self) -> Length {
        self.0
    }

    /// The widest angle whose chord lies within half of the chord error of a circle's arc, radians. The height of an arc of angle w is 2 r sin2(w / 4).
    fn widest(self, radius: f64) -> f64 {
        let share = (self.0.to_mm() / (4.0 * radius)).min(1.0);
        4.0 * libm::asin(share.sqrt())
    }

    /// Corners of the rings of a tube of this outer radius, mm.
    fn corners(self, radius: f64) -> u32 {
        ((core::f64::consts::TAU / self.widest(radius)).ceil() as u32).max(AROUND)
    }

    /// Pieces that a straight or an arc is cut into along the centreline.
    fn pieces(self, segment: &Segment, radius: f64) -> u32 {
        match segment {
            Segment::Straight { .. } => 1,
            Segment::Arc { radius: bend, angle, .. } => {
                let widest = self.widest(bend.to_mm() + radius).min(APART.to_rad());
                ((angle.to_rad() / widest).ceil() as u32).max(1)
            }
        }
    }
}

impl Default for Chord {
    /// 0.1 mm.
    fn default() -> Self {
        Self(Length::mm(0.1))
    }
}

/// A closed surface of triangles. Corners that lie on each other are one, every edge belongs to two triangles, and every triangle has its
/// corners anticlockwise seen from outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Mesh {
    /// Corners, mm, in the axes of the job.
    pub(super) points: Vec<Point3<f64>>,
    /// Three places in `points` each.
    pub(super) triangles: Vec<[u32; 3]>,
}

/// Triangles that the mesh of a tube has.
pub(super) fn triangles(part: &Part, chord: Chord) -> usize {
    let (outside, inside) = part.radii();
    let corners = chord.corners(outside) as usize;
    let pieces: usize = part.spans.iter().map(|span| chord.pieces(&span.segment, outside) as usize).sum();
    match inside {
        Some(_) => 4 * corners * (pieces + 1),
        None => 2 * corners * (pieces + 1),
    }
}

impl Mesh {
    /// The surface of a finished tube: hollow with flat rings at its ends where the wall is known, else its outside with flat discs.
    pub(super) fn of(part: &Part, chord: Chord) -> Self {
        let (outside, inside) = part.radii();
        let corners = chord.corners(outside);
        let mut mesh = Self::default();
        let rings = mesh.rings(part, chord, outside, corners);
        mesh.join(0, rings, corners, true);
        let last = (rings - 1) * corners;
        match inside {
            Some(inside) => {
                let from = mesh.points.len() as u32;
                mesh.rings(part, chord, inside, corners);
                mesh.join(from, rings, corners, false);
                mesh.between([from, 0], corners);
                mesh.between([last, from + last], corners);
            }
            None => {
                let ends =
                    [part.spans.first().map(|span| span.start().at), part.spans.last().map(|span| span.end().at)];
                let [start, end] = ends.map(|at| {
                    mesh.points.extend(at);
                    mesh.points.len() as u32 - 1
                });
                for corner in 0..corners {
                    let next = (corner + 1) % corners;
                    mesh.triangles.push([start, next, corner]);
                    mesh.triangles.push([end, last + corner, last + next]);
                }
            }
        }
        mesh
    }

    /// Rings of corners from end A to end B, as fine as the outside asks for; how many there are.
    fn rings(&mut self, part: &Part, chord: Chord, radius: f64, corners: u32) -> u32 {
        let (outside, _) = part.radii();
        let mut rings = 0;
        for (place, span) in part.spans.iter().enumerate() {
            let pieces = chord.pieces(&span.segment, outside);
            for piece in u32::from(place > 0)..=pieces {
                let frame = span.frame(span.segment.length() * (f64::from(piece) / f64::from(pieces)));
                let apart = core::f64::consts::TAU / f64::from(corners);
                self.points.extend((0..corners).map(|corner| frame.around(radius, apart * f64::from(corner))));
                rings += 1;
            }
        }
        rings
    }

    /// Joins each of the rings from a place on to the next.
    fn join(&mut self, from: u32, rings: u32, corners: u32, outward: bool) {
        for ring in 1..rings {
            let (near, far) = (from + (ring - 1) * corners, from + ring * corners);
            self.between(if outward { [near, far] } else { [far, near] }, corners);
        }
    }

    /// The band between two rings: seen from the side of its front, with the first ring below, corners count to the right.
    fn between(&mut self, [below, above]: [u32; 2], corners: u32) {
        for corner in 0..corners {
            let next = (corner + 1) % corners;
            self.triangles.push([below + corner, below + next, above + next]);
            self.triangles.push([below + corner, above + next, above + corner]);
        }
    }

    /// The corners of each triangle and the direction outward of it.
    pub(super) fn faces(&self) -> impl Iterator<Item = ([Point3<f64>; 3], Vector3<f64>)> {
        self.triangles.iter().map(|corners| {
            let [a, b, c] = corners.map(|corner| self.points[corner as usize]);
            ([a, b, c], (b - a).cross(&(c - a)).normalize())
        })
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use tubewright::centreline::{Centreline, Row, Rows};

    use super::super::course::spans;
    use super::*;

    fn part(wall: Option<f64>) -> Part {
        let row = |length, rotation, angle| Row {
            length: Length::mm(length),
            rotation: Angle::deg(rotation),
            angle: Angle::deg(angle),
        };
        let rows = Rows { bends: vec![row(100.0, 0.0, 90.0), row(50.0, 70.0, 170.0)], last: Length::mm(80.0) };
        let centreline = Centreline::from_rows(&rows, &|_| Length::mm(60.0)).expect("a sound tube");
        let (name, about) = (String::new(), String::new());
        Part { name, about, od: Length::mm(30.0), wall: wall.map(Length::mm), spans: spans(&centreline) }
    }

    #[test]
    fn a_mesh_is_closed_and_holds_the_volume_of_the_tube_but_for_its_chords() {
        for wall in [None, Some(2.0)] {
            let part = part(wall);
            for error in [0.01, 0.1, 2.0] {
                let chord = Chord::try_new(Length::mm(error)).expect("neither too fine nor too coarse");
                let mesh = Mesh::of(&part, chord);
                assert_eq!(mesh.triangles.len(), triangles(&part, chord));
                let mut edges: BTreeMap<(u32, u32), u32> = BTreeMap::new();
                for &[a, b, c] in &mesh.triangles {
                    for edge in [(a, b), (b, c), (c, a)] {
                        *edges.entry(edge).or_default() += 1;
                    }
                }
                assert!(edges.iter().all(|(&(a, b), &count)| count == 1 && edges.contains_key(&(b, a))));
                let volume: f64 =
                    mesh.faces().map(|([a, b, c], _)| a.coords.dot(&b.coords.cross(&c.coords)) / 6.0).sum();
                let length: f64 = part.spans.iter().map(|span| span.segment.length().to_mm()).sum();
                let (outside, inside) = part.radii();
                let round = |radius: f64| core::f64::consts::PI * radius * radius * length;
                let truth = round(outside) - inside.map_or(0.0, round);
                // A layer as thick as the chord error, over all of the surface.
                let layer = core::f64::consts::TAU * (outside + inside.unwrap_or(0.0)) * length * error;
                assert!((volume - truth).abs() <= layer, "{volume} of {truth}, {layer}");
                assert!(volume > 0.0);
            }
        }
    }

    #[test]
    fn the_chord_error_has_its_bounds() {
        let chord = |mm| Chord::try_new(Length::mm(mm));
        assert!(chord(0.01).is_some() && chord(10.0).is_some());
        assert!(
            chord(0.009_99).is_none() && chord(10.1).is_none() && chord(-1.0).is_none() && chord(f64::NAN).is_none()
        );
        let stated = |error: Length| Chord::try_new(error).map(|chord| chord.error().to_mm().to_string());
        assert_eq!(stated(Length::inch(0.005)).as_deref(), Some("0.127"));
        assert_eq!(stated(Length::inch(1.0 / 300.0)).as_deref(), Some("0.0846"));
    }
}
