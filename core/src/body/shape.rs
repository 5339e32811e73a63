//! The whole tube at one die angle, for drawing it and for judging what the search says.

use glam::DVec3;
use nalgebra::{Point3, Unit, Vector3};

use super::{Curve, Part, Piece, Side, tangent_point};
use crate::bender::{BendMotion, Step};
use crate::centreline::BendId;
use crate::forming::LeadEnd;
use crate::units::{Angle, Length};

/// Which part of the tube a piece belongs to during a bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Ahead of the die, turning with the clamp.
    Lead,
    /// On the die.
    Wrapped,
    /// Behind the die.
    Trail,
}

/// The course of a piece from one end to the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bow {
    /// A straight line.
    Straight,
    /// An arc.
    Arc {
        /// Centre, mm, in the bender frame.
        centre: Point3<f64>,
        /// The arc turns right-handed about this direction on the way from `from` to `to`.
        axis: Unit<Vector3<f64>>,
        /// Radius of the centreline.
        radius: Length,
        /// How far it turns, above 0.
        angle: Angle,
    },
}

/// A straight or an arc of the centreline, placed in the bender frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// The part that it belongs to.
    pub role: Role,
    /// Its end toward A, mm.
    pub from: Point3<f64>,
    /// Its end toward B, mm.
    pub to: Point3<f64>,
    /// Its course.
    pub bow: Bow,
    /// Place of `from` on the blank, from the cut end at A.
    pub blank_from: Length,
    /// Place of `to` on the blank.
    pub blank_to: Length,
    /// The bend of an arc; `None` for a straight.
    pub bend: Option<BendId>,
}

/// The centreline of the whole tube at a die angle, from end A to end B, in the bender frame.
///
/// Straights run through bends that are not made. The part of the blank that lies on the die is one arc at the CLR. At die
/// angle 0 there is none; pieces of no length are left out. A negative die angle is taken for 0. Exact up to rounding: a
/// millionth of a millimetre over tens of metres.
///
/// # Panics
/// Where the blank has no such bend.
#[must_use]
pub fn pieces_at(step: &Step<'_>, die_angle: Angle) -> Vec<Placed> {
    let active = step.active();
    let hand = step.bender.hand;
    let angle = die_angle.to_rad().max(0.0);
    let clr = active.clr.to_mm();
    let feed = clr / (1.0 + active.stretch) * angle;
    let part = |side| Part::new(step.blank, hand, active, step.lead, side, step.made);
    let (lead, trail) = (part(Side::Lead), part(Side::Trail));
    // In the frame in which the die turns; all of it is turned back where the die stands.
    let turn = hand.sign() * angle;
    let back = if step.bender.motion == BendMotion::DieStands { -turn } else { 0.0 };
    let view = View { lead: step.lead, origin: active.tangent(step.lead).to_mm() };

    let mut placed = Vec::with_capacity(lead.pieces.len() + trail.pieces.len() + 1);
    for piece in lead.pieces.iter().filter(|piece| piece.far > piece.near) {
        placed.push(view.place(Role::Lead, &piece.moved(turn + back, DVec3::ZERO), -1.0, step));
    }
    let shift = feed * DVec3::X;
    let wrapped = feed.min(trail.end);
    if wrapped > 0.0 {
        // From where the blank first bit to the tangent point, walked toward the trailing end.
        let sense = hand.sign();
        let tangent = tangent_point(hand, clr);
        let share = angle * wrapped / feed;
        let across = DVec3::new(0.0, -sense, 0.0);
        let arc = Piece {
            from: clr * across,
            to: turned(tangent, -sense * share),
            near: 0.0,
            far: wrapped,
            turn_near: 0.0,
            turn_far: share,
            curve: Curve::Arc { centre: DVec3::ZERO, across, along: DVec3::NEG_X, radius: clr, angle: share },
        };
        let mut arc = view.place(Role::Wrapped, &arc.moved(turn + back, DVec3::ZERO), 1.0, step);
        arc.bend = Some(step.bend);
        placed.push(arc);
    }
    for piece in trail.pieces.iter().filter(|piece| piece.far > piece.near) {
        let mut piece = *piece;
        if matches!(piece.curve, Curve::Straight) && piece.near < feed && piece.near <= 0.0 {
            if piece.far <= feed {
                continue;
            }
            piece.from = piece.at(piece.fraction(feed));
            piece.near = feed;
        }
        placed.push(view.place(Role::Trail, &piece.moved(back, shift), 1.0, step));
    }
    placed.sort_by(|one, other| one.blank_from.to_mm().total_cmp(&other.blank_from.to_mm()));
    placed
}

fn turned(point: DVec3, angle: f64) -> DVec3 {
    let (sin, cos) = libm::sincos(angle);
    DVec3::new(cos * point.x - sin * point.y, sin * point.x + cos * point.y, point.z)
}

impl Piece {
    /// Shifted, then turned about z.
    fn moved(&self, angle: f64, shift: DVec3) -> Self {
        let point = |p: DVec3| turned(p + shift, angle);
        let curve = match self.curve {
            Curve::Straight => Curve::Straight,
            Curve::Arc { centre, across, along, radius, angle: sweep } => Curve::Arc {
                centre: point(centre),
                across: turned(across, angle),
                along: turned(along, angle),
                radius,
                angle: sweep,
            },
        };
        Self { from: point(self.from), to: point(self.to), curve, ..*self }
    }
}

struct View {
    lead: LeadEnd,
    /// The place on the blank that lies at the tangent point at die angle 0.
    origin: f64,
}

impl View {
    /// `outward` is +1 where the walk goes toward the trailing end.
    fn place(&self, role: Role, piece: &Piece, outward: f64, step: &Step<'_>) -> Placed {
        let toward_b = if self.lead == LeadEnd::A { outward } else { -outward };
        let on_blank = |place: f64| Length::mm(self.origin + toward_b * place);
        let (from, to) = (Point3::from(piece.from), Point3::from(piece.to));
        let (near, far) = (on_blank(piece.near), on_blank(piece.far));
        let forward = toward_b > 0.0;
        let (bow, bend) = match piece.curve {
            Curve::Straight => (Bow::Straight, None),
            Curve::Arc { centre, across, along, radius, angle } => {
                let axis = across.cross(along);
                let axis = if forward { axis } else { -axis };
                let middle = 0.5 * (near + far).to_mm();
                let bend = step.blank.bends.iter().find(|b| b.start.to_mm() <= middle && middle <= b.end.to_mm());
                let axis = Unit::new_normalize(Vector3::new(axis.x, axis.y, axis.z));
                let (radius, angle) = (Length::mm(radius), Angle::rad(angle));
                (Bow::Arc { centre: Point3::from(centre), axis, radius, angle }, bend.map(|b| b.bend))
            }
        };
        if forward {
            Placed { role, from, to, bow, blank_from: near, blank_to: far, bend }
        } else {
            Placed { role, from: to, to: from, bow, blank_from: far, blank_to: near, bend }
        }
    }
}
