//! How near the tube comes: `decide` (is it far enough) and `report` (how far, where, when).

use nalgebra::Point3;

use crate::bender::Bender;
use crate::centreline::BendId;
use crate::forming::{Blank, LeadEnd};
use crate::units::{Angle, Length};

/// One bend about to be made: all that the questions of this module are asked about.
#[derive(Clone, Copy, Debug)]
pub struct Step<'a> {
    /// The bender.
    pub bender: &'a Bender,
    /// The blank with its bends.
    pub blank: &'a Blank,
    /// The bend to be made.
    pub bend: BendId,
    /// Which end leads.
    pub lead: LeadEnd,
    /// For each bend of the blank whether it is made already; the one to be made is not.
    pub made: &'a [bool],
}

/// What is known of a gap over a whole motion. Ordered from good to bad.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Proved: every gap is at least what must be kept.
    Clear,
    /// No contact, but some gap is under what must be kept.
    Tight,
    /// The budget ran out before anything was proved.
    Unproven,
    /// The tube touches.
    Contact,
}

/// The smallest gap of one obstacle over a motion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// Certified gap: at most 0.1 mm under the truth and never above it; 0 at a contact.
    pub gap: Length,
    /// The gap that must be kept there.
    pub keep: Length,
    /// Die angle at which it happens; the first one for a contact.
    pub die_angle: Angle,
    /// Place on the blank, from the cut end at A.
    pub blank: Length,
    /// That place on the centreline in the bender frame at that die angle, mm.
    pub point: Point3<f64>,
}

/// What was found for one obstacle over one motion.
#[derive(Clone, Debug, PartialEq)]
pub struct Clearance {
    /// A solid's own name, `floor`, `die`, `clamp`, `follower`, or `tube` for the tube against itself.
    pub obstacle: String,
    /// `None` where the tube stays further away than `comfortable`, or nothing of it is checked against that obstacle.
    pub nearest: Option<Nearest>,
    /// What is known.
    pub verdict: Verdict,
}

/// The room that the tube takes over a motion, of its surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swing {
    /// Largest distance from the die's axis.
    pub reach: Length,
    /// Largest height above the floor.
    pub high: Length,
    /// Smallest height above the floor.
    pub low: Length,
}

/// The full answer for one step.
#[derive(Clone, Debug, PartialEq)]
pub struct StepReport {
    /// One entry for every obstacle: the solids of the file in its order, then floor, die, clamp, follower, tube.
    pub clearances: Vec<Clearance>,
    /// The room taken.
    pub swing: Swing,
    /// The worst verdict of all obstacles.
    pub verdict: Verdict,
}
