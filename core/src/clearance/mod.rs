//! How near the tube comes: [`Machine::decide`] (is it far enough) and [`Machine::report`] (how far, where, when).
//!
//! For gaps the tube is every point within half its OD of its centreline, so that its ends count as half balls: on the safe side. Both questions are answered by bounds
//! over whole motions, never by samples alone.
//!
//! ```text
//! kernel    how near a line comes to a solid
//! obstacle  the bodies of a bender                limb     a part of the tube, and what must be kept
//! search    the smallest gap over the motion      machine  the bender made ready, and the questions
//! certificate   what a decision rests on, to be gone over by others
//! reach     one part of the tube leg by leg, for all sets of made bends
//! swing     the room that the tube takes          at_rest, resting, meeting   what stands still
//! handling  the motions besides the bend          ways     which ways lead out of the bender, and in
//! ```

mod at_rest;
mod certificate;
mod handling;
mod kernel;
mod limb;
mod machine;
mod meeting;
mod obstacle;
pub(crate) mod reach;
mod resting;
mod search;
mod swing;
#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
mod tests;
mod ways;

use nalgebra::Point3;

pub use self::at_rest::{nearest_on, obstacle_point, static_gap};
pub use self::certificate::{Certificate, Leaf, Part, Proof};
pub use self::handling::{Bar, Others, Tried};
pub(crate) use self::machine::PartOf;
pub use self::machine::{LeadPart, Machine, TrailPart};
pub use self::meeting::{Meeting, self_meeting};
pub use self::resting::resting_contacts;
pub use self::ways::{Way, Ways};
pub use crate::bender::Step;
pub use crate::motion::Motion;
use crate::units::{Angle, Length};

/// Surfaces nearer than this touch, mm: far above the rounding of a few metres in f64 (1e-12), far below what anybody can
/// measure.
pub(crate) const CONTACT: f64 = 1e-6;

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
    /// Die angle at which it happens; the first one for a contact. It is that of the bender: while the lead part springs back, the
    /// angle reached, and 0 while the tube is laid in, taken out or turned.
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
    /// Over which motion.
    pub motion: Motion,
    /// The way that the tube is taken out, or laid in.
    pub way: Option<Way>,
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

/// Whether every gap of a step is at least what must be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decision {
    /// Proved.
    Clear,
    /// Some gap is too small.
    NotClear,
    /// The budget ran out.
    Unproven,
}

/// The full answer for one step; see [`Machine::report`], which saves making the bender ready for each step.
#[must_use]
pub fn report(step: &Step<'_>) -> StepReport {
    Machine::new(step.bender).report(step)
}

/// Whether every gap of one step is kept; see [`Machine::decide`].
#[must_use]
pub fn decide(step: &Step<'_>) -> Decision {
    Machine::new(step.bender).decide(step)
}
