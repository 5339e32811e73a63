//! The tube as a chain of bends on one blank: those that are made stand still, those that are left move.
//!
//! An unknown for each bend that is left is where its arc starts on the blank, its bend angle, and its roll on the tube; one more is how far the
//! blank goes until end B is reached. The made bends hold their places on the blank and their rolls whatever the others do, so that all of this is free: no
//! equation is left for the material between them. What moves by how much is in `tolerance::slopes`; a roll that alone grows turns what lies beyond
//! its bend about the leg before it, and back about the leg after it.
//!
//! ```text
//!   end A held, leg 1 and the plane of bend 1 as drawn          end B, last leg: c(x) = 0
//!     o------(made)--------( left )------( left )-----------o
//!            place, roll    u1 a1 psi1    u2 a2 psi2        u
//! ```
//!
//! Angles count in hundredths of a radian, about a mm at a usual die, so that all unknowns are of a like size.

use nalgebra::{DMatrix, DVector, Point3, Vector3};

use super::least::Problem;
use crate::centreline::{Centreline, Row, Rows, setback};
use crate::forming::{Blank, LeadEnd};
use crate::tolerance::Shape;
use crate::tolerance::slopes::Corner;
use crate::units::{Angle, Length};

/// Radians in one unit of an unknown.
pub(super) const UNIT: f64 = 0.01;

/// What a radian of the last direction counts, mm.
const DIRECTION: f64 = 100.0;

/// What a mm of end B counts.
const END_B: f64 = 1000.0;

/// A bend on the blank: mm and radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Place {
    /// Where its arc starts.
    pub(super) start: f64,
    /// Its bend angle.
    pub(super) angle: f64,
    /// Its roll from the line that was drawn on the blank, not wrapped.
    pub(super) psi: f64,
}

/// The chain.
#[derive(Clone, Debug)]
pub(super) struct Chain<'a> {
    pub(super) planned: &'a Centreline,
    pub(super) blank: &'a Blank,
    /// Where the first node lies on the blank.
    pub(super) first_node: f64,
    /// Of each bend, whether made or left: as it is, or as planned.
    pub(super) places: Vec<Place>,
    /// The bends that are left.
    pub(super) left: Vec<usize>,
    /// Whether end B and the last direction are held; else they count with their weights.
    pub(super) hold: bool,
}

/// What a chain comes to.
struct Bent {
    centreline: Centreline,
    corners: Vec<Corner>,
    end: Point3<f64>,
    direction: Vector3<f64>,
}

impl Chain<'_> {
    /// Where the unknowns are as planned, with end B as far along the blank as it was to be.
    pub(super) fn start(&self) -> DVector<f64> {
        let mut all: Vec<f64> = self
            .left
            .iter()
            .flat_map(|bend| {
                let place = self.places[*bend];
                [place.start, place.angle / UNIT, place.psi / UNIT]
            })
            .collect();
        let last =
            self.places.len().checked_sub(1).map_or(self.first_node, |last| self.end_of(last, &self.places[last]));
        all.push(last + self.planned.rows.last.to_mm());
        DVector::from_vec(all)
    }

    /// Where the arc of a bend ends on the blank.
    pub(super) fn end_of(&self, bend: usize, place: &Place) -> f64 {
        place.start + self.blank_per_radian(bend) * place.angle
    }

    /// Blank that a radian of a bend takes, mm.
    pub(super) fn blank_per_radian(&self, bend: usize) -> f64 {
        let formed = &self.blank.bends[bend];
        formed.formed_radius.to_mm() / (1.0 + formed.stretch)
    }

    /// All bends, for these unknowns.
    pub(super) fn places(&self, at: &DVector<f64>) -> Vec<Place> {
        let mut places = self.places.clone();
        for (bend, of) in self.left.iter().zip(at.as_slice().chunks_exact(3)) {
            places[*bend] = Place { start: of[0], angle: of[1] * UNIT, psi: of[2] * UNIT };
        }
        places
    }

    /// The tube that these unknowns make; its nodes are not placed yet.
    pub(super) fn centreline(&self, at: &DVector<f64>) -> Centreline {
        let places = self.places(at);
        let mut end = self.first_node;
        let mut psi = None;
        let bends = places.iter().enumerate().map(|(bend, place)| {
            let row = Row {
                length: Length::mm(place.start - end),
                rotation: psi.map_or(Angle::ZERO, |before: f64| Angle::rad(place.psi - before).wrapped() + Angle::ZERO),
                angle: Angle::rad(place.angle),
            };
            (end, psi) = (self.end_of(bend, place), Some(place.psi));
            row
        });
        let bends = bends.collect();
        let last = Length::mm(at[at.len() - 1] - end);
        Centreline { rows: Rows { bends, last }, ..self.planned.clone() }
    }

    fn bent(&self, at: &DVector<f64>) -> Bent {
        let centreline = self.centreline(at);
        let corners = Shape::new(&centreline, self.blank, &|_| LeadEnd::A).corners;
        let (end, direction) = centreline.end();
        Bent { centreline, corners, end, direction: direction.into_inner() }
    }

    /// How a point moves that lies beyond `beyond` bends, and is the corner of bend `beyond` where `own`; a column for each unknown but the last.
    fn moves(&self, corners: &[Corner], point: Point3<f64>, beyond: usize, own: bool) -> Vec<[Vector3<f64>; 3]> {
        let of = |bend: &usize| {
            let corner = &corners[*bend];
            if *bend < beyond {
                let slopes = corner.beyond(point, *bend == 0);
                let roll = slopes.rotation - corner.after.cross(&(point - corner.end));
                [slopes.mark, slopes.angle * UNIT, roll * UNIT]
            } else if own && *bend == beyond {
                let slopes = corner.own();
                [slopes.mark, slopes.angle * UNIT, Vector3::zeros()]
            } else {
                [Vector3::zeros(); 3]
            }
        };
        self.left.iter().map(of).collect()
    }

    /// How the last direction turns.
    fn turns(&self, bent: &Bent) -> Vec<[Vector3<f64>; 3]> {
        let of = |bend: &usize| {
            let corner = &bent.corners[*bend];
            let before = if *bend == 0 { Vector3::zeros() } else { corner.before };
            let angle = corner.normal.cross(&bent.direction);
            [Vector3::zeros(), angle * UNIT, (before - corner.after).cross(&bent.direction) * UNIT]
        };
        self.left.iter().map(of).collect()
    }

    /// End B off its place, and how it moves.
    fn end_b(&self, bent: &Bent, wanted: &Wanted) -> Rowed {
        let moves = self.moves(&bent.corners, bent.end, self.places.len(), false);
        Rowed { value: bent.end - wanted.end, moves, last: bent.direction }
    }

    /// The corners off their nodes, where both have one.
    fn corners(&self, bent: &Bent) -> Vec<Rowed> {
        let of = |bend: usize| {
            let node = (*self.planned.nodes.get(*self.planned.bend_nodes.get(bend)?)?)?;
            let corner = corner_point(&bent.corners[bend])?;
            let moves = self.moves(&bent.corners, corner, bend, true);
            Some(Rowed { value: corner - node, moves, last: Vector3::zeros() })
        };
        (0..self.places.len()).filter_map(of).collect()
    }

    /// How far end B is off its place, mm, and the last direction off its own, radians.
    pub(super) fn off(&self, at: &DVector<f64>) -> (f64, f64) {
        let (bent, wanted) = (self.bent(at), Wanted::of(self.planned));
        ((bent.end - wanted.end).norm(), turn(&wanted.direction, &bent.direction).norm())
    }

    /// The finished tube: nodes at the corners, and where a node was passed straight through, the place of its leg that is nearest to it.
    pub(super) fn finished(&self, at: &DVector<f64>) -> Centreline {
        let mut bent = self.bent(at);
        let (nodes, line) = (&self.planned.nodes, &mut bent.centreline);
        let mut placed = vec![None; nodes.len()];
        for (corner, node) in bent.corners.iter().zip(&line.bend_nodes) {
            placed[*node] = corner_point(corner);
        }
        for node in &line.passed {
            let leg = line.bend_nodes.iter().filter(|bend| *bend < node).count();
            let (on, along) = match leg.checked_sub(1) {
                None => (line.start, line.direction.into_inner()),
                Some(before) => (bent.corners[before].end, bent.corners[before].after),
            };
            placed[*node] = nodes[*node].map(|point| on + along * along.dot(&(point - on)));
        }
        if let [first, .., last] = placed.as_mut_slice() {
            (*first, *last) = (Some(line.start), Some(bent.end));
        }
        line.nodes = placed;
        bent.centreline
    }
}

/// Where end B is to be, and the direction of the last leg.
struct Wanted {
    end: Point3<f64>,
    direction: Vector3<f64>,
}

impl Wanted {
    fn of(planned: &Centreline) -> Self {
        let (end, direction) = planned.end();
        Self { end, direction: direction.into_inner() }
    }
}

/// Three figures with their derivatives.
struct Rowed {
    value: Vector3<f64>,
    moves: Vec<[Vector3<f64>; 3]>,
    /// By the last unknown.
    last: Vector3<f64>,
}

/// Stacks figures, each with its weight.
fn stacked(all: &[(f64, Rowed)], unknowns: usize) -> (DVector<f64>, DMatrix<f64>) {
    let mut values = DVector::zeros(3 * all.len());
    let mut slopes = DMatrix::zeros(3 * all.len(), unknowns);
    for (place, (weight, one)) in all.iter().enumerate() {
        values.fixed_rows_mut::<3>(3 * place).copy_from(&(one.value * *weight));
        let columns = one.moves.iter().flatten().chain([&one.last]);
        for (column, by) in columns.enumerate() {
            slopes.fixed_view_mut::<3, 1>(3 * place, column).copy_from(&(by * *weight));
        }
    }
    (values, slopes)
}

fn corner_point(corner: &Corner) -> Option<Point3<f64>> {
    let ahead = setback(Length::mm(corner.radius), Angle::rad(corner.angle))?;
    Some(corner.start + corner.before * ahead.to_mm())
}

/// The turn from one direction to another, radians about its axis.
fn turn(from: &Vector3<f64>, to: &Vector3<f64>) -> Vector3<f64> {
    let axis = from.cross(to);
    axis * stretch_of(axis.norm(), from.dot(to)).0
}

/// For an angle of this sine and cosine: angle over sine, and how that changes by the angle, over the sine.
fn stretch_of(sine: f64, cosine: f64) -> (f64, f64) {
    // Below, the differences leave nothing; what is left out of the series is 1e-12 of it.
    const SMALL: f64 = 1e-3;
    if sine < SMALL && cosine > 0.0 {
        return (1.0 + sine * sine / 6.0, 1.0 / 3.0 + sine * sine * (2.0 / 15.0));
    }
    let angle = libm::atan2(sine, cosine);
    (angle / sine, (sine - angle * cosine) / (sine * sine * sine))
}

impl Problem for Chain<'_> {
    fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let (bent, wanted) = (self.bent(at), Wanted::of(self.planned));
        let mut all: Vec<(f64, Rowed)> = self.corners(&bent).into_iter().map(|corner| (1.0, corner)).collect();
        if !self.hold {
            all.push((END_B, self.end_b(&bent, &wanted)));
            let axis = wanted.direction.cross(&bent.direction);
            let (by, slope) = stretch_of(axis.norm(), wanted.direction.dot(&bent.direction));
            // The turn is by x axis; by changes with the angle, and the angle by axis / sine . change of the axis / cosine.
            let change = |turned: &Vector3<f64>| {
                let across = wanted.direction.cross(turned);
                let angle_by_sine = bent.direction.cross(turned).dot(&axis);
                across * by + axis * (slope * angle_by_sine)
            };
            let moves = self.turns(&bent).iter().map(|turned| turned.each_ref().map(&change)).collect();
            all.push((DIRECTION, Rowed { value: axis * by, moves, last: Vector3::zeros() }));
        }
        stacked(&all, at.len())
    }

    fn held(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        if !self.hold {
            return (DVector::zeros(0), DMatrix::zeros(0, at.len()));
        }
        let (bent, wanted) = (self.bent(at), Wanted::of(self.planned));
        let across = wanted.direction;
        let flat = |by: &Vector3<f64>| by - across * across.dot(by);
        // As an arm of 100 mm, so that a direction counts like a place.
        let moves = self.turns(&bent).iter().map(|turned| turned.each_ref().map(flat)).collect();
        let direction = Rowed { value: flat(&bent.direction), moves, last: Vector3::zeros() };
        stacked(&[(1.0, self.end_b(&bent, &wanted)), (DIRECTION, direction)], at.len())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clearance::testing;

    /// Derivatives against differences, for made and left bends mixed, with stretch, in both ways of asking.
    #[test]
    fn every_derivative_agrees_with_differences() {
        let rows = [(300.0, 0.0, 80.0), (250.0, 40.0, 60.0), (280.0, -100.0, 95.0), (260.0, 30.0, 40.0)];
        let rows_of = testing::centreline(&rows, 350.0, 100.0).rows;
        let centreline = Centreline::from_rows(&rows_of, &|_| Length::mm(100.0)).unwrap();
        let mut blank = testing::blank(&rows, 350.0, 100.0, 40.0);
        blank.bends.iter_mut().for_each(|bend| bend.stretch = 0.03);
        for (made, hold) in [(0, true), (0, false), (2, true), (2, false)] {
            let places = blank.bends.iter().enumerate().map(|(bend, formed)| Place {
                start: formed.start.to_mm() - 9.0 * bend as f64,
                angle: formed.angle.to_rad() + if bend == made { 0.04 } else { 0.0 },
                psi: formed.psi.to_rad(),
            });
            let left = (0..4).filter(|bend| *bend != made).collect();
            let chain =
                Chain { planned: &centreline, blank: &blank, first_node: 5.0, places: places.collect(), left, hold };
            let at = chain.start().map(|value| value + 0.7);
            for ask in [Chain::residuals, Chain::held] {
                let (values, slopes) = ask(&chain, &at);
                for column in 0..at.len() {
                    const BY: f64 = 1e-4;
                    let shifted = |by: f64| {
                        let mut at = at.clone();
                        at[column] += by;
                        ask(&chain, &at).0
                    };
                    let difference = (shifted(BY) - shifted(-BY)) / (2.0 * BY);
                    let off = (difference - slopes.column(column)).amax();
                    assert!(off < 1e-6 * (1.0 + values.amax()), "bend {made} made, {hold}, unknown {column}: {off}");
                }
            }
        }
    }
}
