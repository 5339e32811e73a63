//! Hard limits of a bend: straight ahead for the clamp, straight behind for the follower, the die's arc, the fit of the tube.
//!
//! Distances are counted along the blank from the tangent point of the bend on its lead side: the start of its arc with lead A, its end
//! with lead B. They depend only on which neighbours are made already, and need no geometry.
//!
//! ```text
//!  trailing end ...====(made)----------|==arc being made==|--------(made)====... lead end
//!                          behind: w + follower + runout   ahead: clamp + runout
//! ```

use super::{Die, Follower, Step};
use crate::centreline::BendId;

use crate::forming::LeadEnd;
use crate::units::{Angle, Length};

/// Which limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reason {
    /// Straight ahead of the tangent point.
    Grip,
    /// Straight behind it.
    Follower,
    /// The die's arc.
    DieArc,
    /// OD of tube and die.
    Fit,
}

/// What is needed and what there is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Figures {
    /// Straight along the blank.
    Straight {
        /// What is needed.
        needed: Length,
        /// What there is.
        there: Length,
        /// The made bend that ends it; `None` where the tube ends.
        next: Option<BendId>,
    },
    /// Turn of the die.
    DieAngle {
        /// What is needed.
        needed: Angle,
        /// Where the die's arc ends.
        there: Angle,
    },
    /// Diameters.
    Fit {
        /// The tube's OD.
        tube: Length,
        /// The die's.
        die: Length,
        /// How far they may differ.
        fit: Length,
    },
}

/// A limit that is broken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Broken {
    /// Which.
    pub reason: Reason,
    /// By what figures.
    pub figures: Figures,
}

/// What rounding may take from a length or an angle that just suffices: far below what can be cut or read, far above the rounding of sums
/// along a blank.
const JUST_ENOUGH_MM: f64 = 1e-6;
const JUST_ENOUGH: Angle = Angle::deg(1e-9);

/// All limits that a step breaks, in the order of [`Reason`]; empty where it breaks none.
///
/// # Panics
/// Where the step's bend is not on its blank.
#[must_use]
pub fn check(step: &Step<'_>) -> Vec<Broken> {
    let (bend, die) = (step.active(), step.die());
    let mut broken = Vec::new();
    let mut straight = |reason, needed: Length, (there, next): (Length, Option<BendId>)| {
        if (needed - there).to_mm() > JUST_ENOUGH_MM {
            broken.push(Broken { reason, figures: Figures::Straight { needed, there, next } });
        }
    };

    let ahead = straight_to(step, step.lead);
    straight(Reason::Grip, die.ahead(ahead.1.is_some()), ahead);

    let behind = straight_to(step, step.lead.other());
    straight(Reason::Follower, die.behind(bend.blank_arc, behind.1.is_some()), behind);

    if bend.die_angle - die.max_angle > JUST_ENOUGH {
        let figures = Figures::DieAngle { needed: bend.die_angle, there: die.max_angle };
        broken.push(Broken { reason: Reason::DieArc, figures });
    }
    let (tube, fit) = (step.blank.od, die.fit);
    if ((tube - die.od).abs() - fit).to_mm() > JUST_ENOUGH_MM {
        broken.push(Broken { reason: Reason::Fit, figures: Figures::Fit { tube, die: die.od, fit } });
    }
    broken
}

impl Die {
    /// Straight that the clamp needs ahead of the tangent point: up to a made bend, or to the end of the tube.
    pub(crate) fn ahead(&self, to_a_bend: bool) -> Length {
        if to_a_bend { self.clamp_length + self.runout } else { self.grip_min }
    }

    /// Blank that the follower needs behind the tangent point, the arc included: up to a made bend, or to the end of the tube.
    pub(crate) fn behind(&self, blank_arc: Length, to_a_bend: bool) -> Length {
        let (held, more) = if to_a_bend { (self.follower_length, self.runout) } else { (self.tail_min, Length::ZERO) };
        let with_arc = match self.follower {
            Follower::Stands => blank_arc + held,
            Follower::Travels => blank_arc.max(held),
        };
        with_arc + more
    }
}

/// Blank from the tangent point toward an end, up to the next made bend or the end itself.
fn straight_to(step: &Step<'_>, end: LeadEnd) -> (Length, Option<BendId>) {
    let bends = &step.blank.bends;
    let here = step.bend.0;
    let tangent = step.active().tangent(step.lead);
    match end {
        LeadEnd::A => (0..here)
            .rev()
            .find(|place| step.is_made(BendId(*place)))
            .map_or((tangent, None), |place| (tangent - bends[place].end, Some(BendId(place)))),
        LeadEnd::B => (here + 1..bends.len())
            .find(|place| step.is_made(BendId(*place)))
            .map_or((step.blank.cut_length - tangent, None), |place| {
                (bends[place].start - tangent, Some(BendId(place)))
            }),
    }
}
