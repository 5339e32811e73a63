//! The tube as pieces: straights and arcs, placed in the bender at a step and a die angle.
//!
//! ```text
//!                         lead part: turns with the die
//!                        /
//!   trailing part   ,---'     wrapped arc: on the die, from the tangent point T to where the lead part begins
//!   ---------------T
//!       --> +x     slides along +x by w(a) = CLR a / (1 + e)
//! ```
//!
//! At die angle 0 both parts start at the tangent point, the lead part toward +x, the trailing part toward -x. Bends that
//! are made have their formed radius and finished angle; bends that are not are still straight blank. Each part is a walk
//! outward from the tangent point (`Part`), and its places are counted along the blank from there.
//!
//! The normal of the bend being made is -z with lead A and +z with lead B for an anticlockwise hand, the reverse for a
//! clockwise one. A rotation turns the normal of one bend into that of the next about the direction from A to B; a walk
//! toward A meets the rotations backwards and with the other sign, and its bends turn it about the opposite normal.

mod piece;
mod shape;

use glam::DVec3;

pub(crate) use self::piece::{Chord, Curve, Piece, Walk};
pub use self::shape::{Bow, Placed, Role, pieces_at};
use crate::bender::Hand;
use crate::centreline::Centreline;
use crate::forming::{Blank, FormedBend, LeadEnd};
use crate::units::Angle;

/// One part of the tube at die angle 0, walked outward from the tangent point.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    pub(crate) pieces: Vec<Piece>,
    /// Where the nearest made bend begins; `None` where none is made.
    pub(crate) next_made: Option<f64>,
    /// Where the part ends.
    pub(crate) end: f64,
}

/// Which part of the tube.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Side {
    Lead,
    Trail,
}

/// The tangent point.
pub(crate) fn tangent_point(hand: Hand, clr: f64) -> DVec3 {
    DVec3::new(0.0, -hand.sign() * clr, 0.0)
}

/// A bend as a walk outward from the die comes to it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stop {
    /// Its place on the blank's list.
    pub(crate) bend: usize,
    /// Where its arc begins for the walk.
    pub(crate) near: f64,
    /// How far the tube rolls, right-handed, between the bend passed before and this one.
    pub(crate) roll: f64,
    /// Formed radius.
    pub(crate) radius: f64,
    /// Bend angle.
    pub(crate) angle: f64,
    /// Blank that its arc takes.
    pub(crate) blank: f64,
}

/// The bends of one side of a bend, nearest first, whether they are made or not.
#[derive(Clone, Debug)]
pub(crate) struct Route {
    side: Side,
    lead: LeadEnd,
    toward_b: bool,
    pub(crate) stops: Vec<Stop>,
    /// Where the tube ends.
    pub(crate) end: f64,
}

impl Route {
    pub(crate) fn new(blank: &Blank, active: &FormedBend, lead: LeadEnd, side: Side) -> Self {
        let toward_b = (lead == LeadEnd::B) == (side == Side::Lead);
        let from = active.tangent(lead).to_mm();
        let stop = |bend: &FormedBend, roll: Angle| Stop {
            bend: bend.bend.0,
            near: if toward_b { bend.start.to_mm() - from } else { from - bend.end.to_mm() },
            roll: roll.to_rad(),
            radius: bend.formed_radius.to_mm(),
            angle: bend.angle.to_rad(),
            blank: bend.blank_arc.to_mm(),
        };
        // About the direction from A to B the rotation counts right-handed; a walk toward A undoes it about the opposite
        // direction, which is the same sense again.
        let (stops, end) = if toward_b {
            let after = blank.bends.iter().skip(active.bend.0 + 1);
            (after.map(|bend| stop(bend, bend.rotation)).collect(), blank.cut_length.to_mm() - from)
        } else {
            let mut roll = active.rotation;
            let before = blank.bends.iter().take(active.bend.0).rev();
            (before.map(|bend| stop(bend, core::mem::replace(&mut roll, bend.rotation))).collect(), from)
        };
        Self { side, lead, toward_b, stops, end }
    }

    /// A walk that stands at the tangent point and looks outward.
    pub(crate) fn walk(&self, hand: Hand, active: &FormedBend) -> Walk {
        let ahead = if self.side == Side::Lead { DVec3::X } else { DVec3::NEG_X };
        let normal = if self.lead == LeadEnd::A { -hand.sign() } else { hand.sign() } * DVec3::Z;
        // A walk toward A goes through a bend the other way round.
        let sense = if self.toward_b { normal } else { -normal };
        Walk::new(tangent_point(hand, active.clr.to_mm()), ahead, sense, 2 * self.stops.len() + 1)
    }
}

impl Part {
    /// The lead or the trailing part of a blank for one bend.
    ///
    /// It depends on what is made on its own side only. A bend that would begin behind the place reached (overlapping
    /// bends, which no blank of ours has) follows at once.
    pub(crate) fn new(
        blank: &Blank,
        hand: Hand,
        active: &FormedBend,
        lead: LeadEnd,
        side: Side,
        made: &[bool],
    ) -> Self {
        let route = Route::new(blank, active, lead, side);
        let mut walk = route.walk(hand, active);
        let mut part = Self { pieces: Vec::new(), next_made: None, end: route.end };
        let mut roll = 0.0;
        for stop in &route.stops {
            roll += stop.roll;
            if made.get(stop.bend) == Some(&true) {
                part.next_made.get_or_insert(stop.near);
                walk.straight_to(stop.near);
                walk.roll(core::mem::take(&mut roll));
                walk.bend(stop.radius, stop.angle, stop.blank);
            }
        }
        walk.straight_to(part.end);
        part.pieces = walk.pieces;
        if part.pieces.is_empty() {
            // A point, so that something stands at the end of the arc that is being wrapped.
            let straight = Curve::Straight;
            part.pieces.push(Piece {
                from: walk.at,
                to: walk.at,
                near: 0.0,
                far: 0.0,
                turn_near: 0.0,
                turn_far: 0.0,
                curve: straight,
            });
        }
        part
    }
}

/// The finished centreline as pieces, walked from end A, places along the finished tube.
pub(crate) fn finished(centreline: &Centreline) -> Vec<Piece> {
    let vector = |v: &nalgebra::Vector3<f64>| DVec3::new(v.x, v.y, v.z);
    let start = DVec3::new(centreline.start.x, centreline.start.y, centreline.start.z);
    let rows = &centreline.rows;
    let mut walk =
        Walk::new(start, vector(&centreline.direction), vector(&centreline.normal), 2 * rows.bends.len() + 1);
    let mut place = 0.0;
    for (number, (row, radius)) in rows.bends.iter().zip(&centreline.radii).enumerate() {
        place += row.length.to_mm();
        walk.straight_to(place);
        if number > 0 {
            walk.roll(row.rotation.to_rad());
        }
        let arc = radius.to_mm() * row.angle.to_rad();
        walk.bend(radius.to_mm(), row.angle.to_rad(), arc);
        place += arc;
    }
    walk.straight_to(place + rows.last.to_mm());
    walk.pieces
}
