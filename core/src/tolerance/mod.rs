//! How far a finished tube may be off: every node and end B, from the shop's own accuracy and from what test bends leave open of the springback.
//!
//! End A, the first leg and the plane of bend 1 are laid on theirs. Two sorts of error, both to first order (see `slopes`):
//!
//! - each bend goes wrong on its own in its mark, its bend angle and its rotation, by the shop's standard deviations;
//! - a springback that was measured is off alike at all bends of one die. With the dial stopped where the plan says, `c` more of it takes
//!   `c / (1 + k)` from each bend angle, and a proportional part that is `dk` more takes `angle dk / (1 + k)` and makes the radius
//!   `radius dk / (1 + k)` larger, so that the arc keeps its length. Both are one record's errors: their correlation counts, and where it is
//!   not known the worse is taken.
//!
//! The sum is a normal distribution in space, whose 95 % ball is found by quadrature (see `ball`).
//!
//! What is left out: how far CLR, stretch, mark offset and cut length are off, a blank that is not straight, and a springback of which no record says how
//! good it is.

mod ball;
pub(crate) mod slopes;
mod surveyed;

use std::collections::BTreeMap;

use nalgebra::{Matrix3, Point3, Vector3};

use self::ball::ball;
use self::slopes::{Corner, Slopes};
pub use self::surveyed::{end_b_of_nodes, within};
use crate::bender::Accuracy;
use crate::centreline::{BendId, Centreline, Segment};
use crate::forming::{Blank, LeadEnd, SpringbackSd};
use crate::units::{Angle, Length};

/// 95 of 100 figures of a normal distribution lie within so many standard deviations.
const OF_95: f64 = 1.959_964;

/// A finished tube, mm in the job's axes.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    pub(crate) corners: Vec<Corner>,
    /// The node of each bend.
    bend_nodes: Vec<usize>,
    /// Corner points, the ends included; `None` where a bend has none.
    nodes: Vec<Option<Point3<f64>>>,
    start: Point3<f64>,
    end: Point3<f64>,
    /// Travel along the first and the last leg.
    legs: [Vector3<f64>; 2],
}

impl Shape {
    /// The tube that a blank becomes. `lead` says which end leads when a bend is made.
    #[must_use]
    pub fn new(centreline: &Centreline, blank: &Blank, lead: &dyn Fn(BendId) -> LeadEnd) -> Self {
        let corner = |segment| match segment {
            Segment::Straight { .. } => None,
            Segment::Arc { bend, direction, normal, radius, angle, .. } => {
                let (end, after) = segment.at(segment.length());
                Some(Corner {
                    before: direction.into_inner(),
                    after: after.into_inner(),
                    start: segment.start(),
                    end,
                    normal: normal.into_inner(),
                    radius: radius.to_mm(),
                    angle: angle.to_rad(),
                    stretch: blank.bends.get(bend.0).map_or(0.0, |formed| formed.stretch),
                    lead: lead(bend),
                })
            }
        };
        let (end, last) = centreline.end();
        Self {
            corners: centreline.segments().into_iter().filter_map(corner).collect(),
            bend_nodes: centreline.bend_nodes.clone(),
            nodes: centreline.nodes.clone(),
            start: centreline.start,
            end,
            legs: [centreline.direction.into_inner(), last.into_inner()],
        }
    }

    /// How a node moves for each bend; a node passed straight through is a place on the blank. `None` where a bend has no corner.
    fn node(&self, node: usize) -> Option<Vec<Slopes>> {
        let point = (*self.nodes.get(node)?)?;
        let of = |(place, (corner, at)): (usize, (&Corner, &usize))| match node.cmp(at) {
            core::cmp::Ordering::Less => Slopes::default(),
            core::cmp::Ordering::Equal => corner.own(),
            core::cmp::Ordering::Greater => corner.beyond(point, place == 0),
        };
        Some(self.corners.iter().zip(&self.bend_nodes).enumerate().map(of).collect())
    }

    fn end_b(&self) -> Vec<Slopes> {
        let of = |(place, corner): (usize, &Corner)| corner.beyond(self.end, place == 0);
        self.corners.iter().enumerate().map(of).collect()
    }

    /// How end A moves with end B, the last leg and the plane of the last bend held, from end A.
    fn end_a(&self) -> Vec<Slopes> {
        let last = self.corners.len().saturating_sub(1);
        let of = |(place, corner): (usize, &Corner)| corner.reversed().beyond(self.start, place == last);
        self.corners.iter().enumerate().map(of).collect()
    }
}

/// How far the springback of a bend may be off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubt {
    /// Place of its die in the bender's list: bends of one die share one error.
    pub die: usize,
    /// The proportional part itself.
    pub proportional: f64,
    /// Whether the formed radius grows with it.
    pub radius_growth: bool,
    /// What the record leaves open.
    pub sd: SpringbackSd,
}

/// What one bend adds to the error of end B by the shop's accuracy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Which bend.
    pub bend: BendId,
    /// Its part of the variance, 0 to 1.
    pub share: f64,
    /// How one degree more at this bend moves end B, mm in the job's axes.
    pub per_degree: Vector3<f64>,
}

/// What the doubt about a measured springback adds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OfSpringback {
    /// With it too end B is within this of its place, 95 times in 100.
    pub within: Length,
    /// Its part of the whole variance, 0 to 1.
    pub share: f64,
}

/// How far a finished tube may be off.
#[derive(Clone, Debug, PartialEq)]
pub struct Scatter {
    /// By the shop's accuracy alone 95 of 100 parts have end B within this of its place.
    pub within: Length,
    /// What each bend adds to that, from end A.
    pub by: Vec<Part>,
    /// With the springback; `None` where nothing is known of how good it is.
    pub springback: Option<OfSpringback>,
    /// Bends of which it is not known how good their springback is: it is left out.
    pub unknown: Vec<BendId>,
    /// Covariance of each node, mm2 in the job's axes, with that of the springback where it is known; `None` where a bend has no corner.
    pub nodes: Vec<Option<Matrix3<f64>>>,
    /// What has to be left on end A, and on end B, for 39 of 40 to be long enough to be cut to their place once the rest is in its.
    pub extra: [Length; 2],
}

impl Scatter {
    /// How far a tube of this shape may be off, with what is known of the springback of each bend, from end A.
    ///
    /// First order in the errors: good while they are small against a radian. The 95 % ball is right to 0.1 %.
    #[must_use]
    pub fn new(shape: &Shape, accuracy: &Accuracy, springback: &[Option<Doubt>]) -> Self {
        let own = |slopes: &Slopes| {
            let by = [
                slopes.mark * accuracy.mark.to_mm(),
                slopes.angle * accuracy.bend.to_rad(),
                slopes.rotation * accuracy.rotation.to_rad(),
            ];
            by.iter().map(|by| by * by.transpose()).sum::<Matrix3<f64>>()
        };
        let common = |slopes: &[Slopes]| of_springback(&shape.corners, slopes, springback);
        let whole = |slopes: &[Slopes]| slopes.iter().map(own).sum::<Matrix3<f64>>() + common(slopes);
        let along =
            |slopes: &[Slopes], leg: Vector3<f64>| Length::mm(OF_95 * leg.dot(&(whole(slopes) * leg)).max(0.0).sqrt());

        let slopes = shape.end_b();
        let each: Vec<Matrix3<f64>> = slopes.iter().map(own).collect();
        let covariance: Matrix3<f64> = each.iter().sum();
        let part = |one: f64, of: f64| if of > 0.0 { one / of } else { 0.0 };
        let by = each.iter().zip(&slopes).enumerate().map(|(place, (own, slopes))| Part {
            bend: BendId(place),
            share: part(own.trace(), covariance.trace()),
            per_degree: slopes.angle * Angle::deg(1.0).to_rad(),
        });
        let known = springback.iter().any(Option::is_some);
        let unknown = (0..shape.corners.len()).filter(|place| springback.get(*place).is_none_or(Option::is_none));
        Self {
            within: ball(&covariance, 0.95),
            by: by.collect(),
            springback: known.then(|| {
                let (added, whole) = (common(&slopes), whole(&slopes));
                OfSpringback { within: ball(&whole, 0.95), share: part(added.trace(), whole.trace()) }
            }),
            unknown: unknown.map(BendId).collect(),
            nodes: (0..shape.nodes.len()).map(|node| shape.node(node).map(|slopes| whole(&slopes))).collect(),
            extra: [along(&shape.end_a(), shape.legs[0]), along(&slopes, shape.legs[1])],
        }
    }

    /// How far end B may be off by all that is known.
    #[must_use]
    pub fn whole(&self) -> Length {
        self.springback.map_or(self.within, |springback| springback.within)
    }

    /// The bend that matters most by the shop's accuracy; of equal ones the first.
    #[must_use]
    pub fn worst(&self) -> Option<&Part> {
        self.by.iter().reduce(|worst, part| if part.share > worst.share { part } else { worst })
    }
}

/// What the springback adds to the covariance of a point that moves so for each bend.
fn of_springback(corners: &[Corner], slopes: &[Slopes], springback: &[Option<Doubt>]) -> Matrix3<f64> {
    let mut dies: BTreeMap<usize, (Vector3<f64>, Vector3<f64>, SpringbackSd)> = BTreeMap::new();
    for ((corner, slopes), doubt) in corners.iter().zip(slopes).zip(springback) {
        let Some(doubt) = doubt else { continue };
        let back = 1.0 / (1.0 + doubt.proportional);
        let grown = if doubt.radius_growth { slopes.radius * corner.radius } else { Vector3::zeros() };
        let (constant, proportional, _) =
            dies.entry(doubt.die).or_insert_with(|| (Vector3::zeros(), Vector3::zeros(), doubt.sd));
        *constant -= slopes.angle * back;
        *proportional += (grown - slopes.angle * corner.angle) * back;
    }
    let one = |(constant, proportional, sd): (Vector3<f64>, Vector3<f64>, SpringbackSd)| {
        let (constant, proportional) = (constant * sd.constant.to_rad(), proportional * sd.proportional);
        let correlation = sd.correlation.unwrap_or_else(|| constant.dot(&proportional).signum());
        let both = constant * proportional.transpose();
        constant * constant.transpose()
            + proportional * proportional.transpose()
            + (both + both.transpose()) * correlation
    };
    dies.into_values().map(one).sum()
}
