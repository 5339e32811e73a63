//! How far the rounding of what is printed moves end B: of this very tube, and at most.
//!
//! A tube that is bent exactly to the printed figures has its end B where the walk from end A says: each arc at its printed mark, each roll from
//! one printed top line to the next, each bend angle short by what its target lost, the blank as long as its printed length.
//!
//! How the rounding falls is luck, so there is a bound as well.
//! A mark is printed to the nearest step of a tape, a top line to the nearest 0.1 degree or, around the tube, to the nearest step of a tape; each may
//! be off by half a step. A target is rounded down, so it may be off by a whole step of the dial. A top line that is the reference line itself is not off.
//! End A, the first leg and the plane of bend 1 are laid on theirs; then every such error moves end B by no more than itself times its lever.
//!
//! The bends are gone through from end B to end A, so that each is turned while all before it is still in its place. What has moved
//! end B so far is added to every lever, and half the square of an angle covers what a turn by that angle is off a straight line: the bound
//! holds for the errors as they are, not to first order only.

use nalgebra::{Point3, Vector3};
use serde::Serialize;
use tubewright::forming::LeadEnd;
use tubewright::job::Job;
use tubewright::plan::{PlanStep, TubePlan};
use tubewright::round::{People, dial};
use tubewright::units::{Angle, Length};

use super::{proportional, unit};
use crate::chain::Chain;
use crate::words::clockwise;

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
    /// How far end B lies off of a tube that is bent exactly to the printed figures, top lines set by their degrees.
    #[serde(rename = "as_printed_mm", serialize_with = "unit::mm")]
    pub as_printed: Length,
    /// The same with the top lines taped around the tube.
    #[serde(rename = "as_printed_taped_mm", serialize_with = "unit::mm")]
    pub as_printed_taped: Length,
    /// In words.
    pub words: String,
}

/// How top lines are set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Tops {
    /// By their degrees.
    Degrees,
    /// By tape around the tube.
    Taped,
}

impl Rounding {
    pub(super) fn new(job: &Job, tube: &TubePlan, people: &People) -> Self {
        let taped = Angle::rad(people.tape_step() / 2.0 / (tube.stock.od / 2.0));
        let end_b = bound(job, tube, people, HALF_TOP);
        let end_b_taped = bound(job, tube, people, taped);
        let as_printed = off_as_printed(job, tube, people, Tops::Degrees);
        let as_printed_taped = off_as_printed(job, tube, people, Tops::Taped);
        let more = |by_degrees: Length, by_tape: Length| {
            let (by_degrees, by_tape) = (people.at_most(by_degrees), people.at_most(by_tape));
            if by_degrees == by_tape { String::new() } else { format!(" ({by_tape} with top lines taped)") }
        };
        let words = format!(
            "bent exactly to these rounded figures, end B lies {} off{}; however rounding falls, by less than {}{}.",
            people.at_most(as_printed),
            more(as_printed, as_printed_taped),
            people.at_most(end_b),
            more(end_b, end_b_taped)
        );
        Self { end_b, end_b_taped, as_printed, as_printed_taped, words }
    }
}

/// How far end B is off, of the tube that the printed figures make.
fn off_as_printed(job: &Job, tube: &TubePlan, people: &People, tops: Tops) -> Length {
    let (mut at, mut travel, mut normal) = (Point3::origin(), Vector3::x(), Vector3::z());
    let (mut along, mut rolled) = (Length::ZERO, Angle::ZERO);
    for (place, formed) in tube.blank.bends.iter().enumerate() {
        let Some(step) = tube.steps.iter().find(|step| step.bend == formed.bend) else { continue };
        let moved = people.on_tape(step.mark) - step.mark;
        let short = step.dial_target - dial(step.dial_target, job.bender.pointer.step);
        let angle = formed.angle - short / (1.0 + proportional(job, tube, formed.die));
        let arc = formed.formed_radius * angle.to_rad() / (1.0 + formed.stretch);
        let start = match step.lead {
            LeadEnd::A => formed.start + moved,
            LeadEnd::B => formed.end + moved - arc,
        };
        let top = match tops {
            Tops::Degrees => people.to_tenth(clockwise(step.top)) - clockwise(step.top),
            Tops::Taped => Angle::rad((people.on_tape(step.top_arc) - step.top_arc) / (tube.stock.od / 2.0)),
        };
        // The plane of bend 1 is laid on its own.
        let roll = if place == 0 { Angle::ZERO } else { formed.rotation + top - rolled };
        let (sin, cos) = libm::sincos(roll.to_rad());
        normal = (normal * cos + travel.cross(&normal) * sin).normalize();
        at += travel * (start - along).to_mm();
        let outward = travel.cross(&normal);
        let (sin, cos) = libm::sincos(angle.to_rad());
        at += (outward * (cos - 1.0) + travel * sin) * formed.formed_radius.to_mm();
        travel = (travel * cos - outward * sin).normalize();
        (along, rolled) = (start + arc, top);
    }
    at += travel * (people.on_tape(tube.blank.cut_length) - along).to_mm();
    Length::mm((at - Chain::new(tube, &|_| true).end).norm())
}

fn bound(job: &Job, tube: &TubePlan, people: &People, half_top: Angle) -> Length {
    let chain = Chain::new(tube, &|_| true);
    let mark = people.tape_step().to_mm() / 2.0;
    // The cut at end B is taped too.
    let mut moved = mark;
    for (place, bent) in chain.bends.iter().enumerate().rev() {
        let step = tube.steps.iter().find(|step| step.bend == bent.bend);
        let die = tube.blank.bends[place].die;
        let target = job.bender.pointer.step.to_rad() / (1.0 + proportional(job, tube, die));
        let top = if step.is_some_and(on_reference_line) { 0.0 } else { half_top.to_rad() };

        let after = bent.by_turn_after(chain.end);
        // The plane of bend 1 is laid on its own, so its roll turns only what lies beyond it.
        let before = if place == 0 { Vector3::zeros() } else { bent.by_turn_before(chain.end) };
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
