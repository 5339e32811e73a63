//! How far the rounding of what is printed may move end B.
//!
//! A mark is printed to the nearest step of a tape, a top line to the nearest 0.1 degree or, around the tube, to the nearest step of a tape; each may
//! be off by half a step. A target is rounded down, so it may be off by a whole step of the dial. A top line that is the reference line itself is not off.
//! End A, the first leg and the plane of bend 1 are laid on theirs; then every such error moves end B by no more than itself times its lever.
//!
//! The bends are gone through from end B to end A, so that each is turned while all before it is still in its place. What has moved
//! end B so far is added to every lever, and half the square of an angle covers what a turn by that angle is off a straight line: the bound
//! holds for the errors as they are, not to first order only.

use serde::Serialize;
use tubewright::job::Job;
use tubewright::plan::{PlanStep, TubePlan};
use tubewright::round::{Fraction, MmStep, People, Units};
use tubewright::units::{Angle, Length};

use super::{proportional, unit};
use crate::chain::Chain;

/// Half of the 0.1 degree to which a top line is printed.
const HALF_TOP: Angle = Angle::deg(0.05);

/// A bound on how far rounding may move end B.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rounding {
    /// With the top lines set by their degrees.
    #[serde(rename = "end_b_mm", serialize_with = "unit::mm")]
    pub end_b: Length,
    /// With the top lines taped around the tube.
    #[serde(rename = "end_b_taped_mm", serialize_with = "unit::mm")]
    pub end_b_taped: Length,
    /// In words.
    pub words: String,
}

impl Rounding {
    pub(super) fn new(job: &Job, tube: &TubePlan, people: &People) -> Self {
        let taped = Angle::rad(half_tape(people) / (tube.stock.od / 2.0));
        let end_b = bound(job, tube, people, HALF_TOP);
        let end_b_taped = bound(job, tube, people, taped);
        let (by_degrees, by_tape) = (people.missing(end_b), people.missing(end_b_taped));
        let words = if by_degrees == by_tape {
            format!("rounding on this card moves end B by less than {by_degrees}.")
        } else {
            format!(
                "rounding on this card moves end B by less than {by_degrees} where top lines are set by their degrees, by less than {by_tape} where \
                 they are taped around the tube."
            )
        };
        Self { end_b, end_b_taped, words }
    }
}

/// Half of the step to which lengths are printed.
fn half_tape(people: &People) -> Length {
    match people.units {
        Units::Mm(MmStep::Whole) => Length::mm(0.5),
        Units::Mm(MmStep::Half) => Length::mm(0.25),
        Units::Mm(MmStep::Tenth) => Length::mm(0.05),
        Units::Inch(fraction @ (Fraction::Sixteenths | Fraction::ThirtySeconds | Fraction::SixtyFourths)) => {
            Length::inch(0.5 / fraction.denominator() as f64)
        }
    }
}

fn bound(job: &Job, tube: &TubePlan, people: &People, half_top: Angle) -> Length {
    let chain = Chain::new(tube, &|_| true);
    let mark = half_tape(people).to_mm();
    // The cut at end B is taped too.
    let mut moved = mark;
    for (place, bent) in chain.bends.iter().enumerate().rev() {
        let step = tube.steps.iter().find(|step| step.bend == bent.bend);
        let die = tube.blank.bends[place].die;
        let target = job.bender.pointer.step.to_rad() / (1.0 + proportional(job, tube, die));
        let top = if step.is_some_and(on_reference_line) { 0.0 } else { half_top.to_rad() };

        let after = bent.by_turn_after(chain.end);
        // The plane of bend 1 is laid on its own, so its roll turns only what lies beyond it.
        let before = if place == 0 { nalgebra::Vector3::zeros() } else { bent.by_turn_before(chain.end) };
        // How far end B may be from its place when each of the three turns is made.
        let rolled = moved + mark;
        let bent_too = rolled + top * (after.norm() + rolled);
        let by_target = target * (bent.by_angle(chain.end).norm() + bent_too + bent.radius * target);
        let rolled_back = bent_too + by_target;
        let by_top = top * ((before - after).norm() + rolled + rolled_back)
            + 0.5 * top * top * (after.norm() + rolled + before.norm() + rolled_back);
        moved += mark * bent.by_mark().norm() + by_target + by_top;
    }
    Length::mm(moved)
}

fn on_reference_line(step: &PlanStep) -> bool {
    step.top.abs() < Angle::deg(1e-9)
}
