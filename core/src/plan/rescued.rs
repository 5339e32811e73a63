//! A half-bent tube in words: what came out, what can be saved and what cannot, and what to do on the tube that lies there.

use super::walk::Walked;
use super::{Options, PlanStep};
use crate::bender::Step;
use crate::centreline::BendId;
use crate::clearance::{Machine, Verdict};
use crate::forming::Blank;
use crate::job::{Job, Tube};
use crate::rescue::{Done, Limit, Saved};
use crate::round::{People, dial};
use crate::units::{Angle, Length};

/// A bend that came out short and may be pushed on while it is clamped.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Push {
    /// Which bend.
    pub bend: BendId,
    /// So much more on the dial.
    pub more: Angle,
    /// The reading to stop at where it was stopped at the plan's, not rounded.
    pub reading: Angle,
}

/// What is known of a tube that is half bent.
#[derive(Clone, Debug, PartialEq)]
pub struct Rescue {
    /// The bends that are made, in the order of making.
    pub done: Vec<Done>,
    /// Whether end B and the line of the last leg are held.
    pub held: bool,
    /// How far end B comes from its place, where the tube reaches so far.
    pub end_b_off: Length,
    /// How far the last leg is turned from its direction.
    pub last_leg_off: Angle,
    /// Tube that is left over beyond the place of end B; below 0 what is missing there.
    pub left_at_b: Length,
    /// The reference line by the bends as they are, clockwise looking from end A from the one that was drawn.
    pub reference: Angle,
    /// The last bend that was made, where it may be pushed on instead.
    pub push: Option<Push>,
    /// All of it in words.
    pub text: Vec<String>,
}

impl Rescue {
    /// Whether the tube does not reach the place of end B.
    #[must_use]
    pub fn is_short(&self) -> bool {
        self.left_at_b.to_mm() < -SHORT_MM
    }
}

/// Less than this is missing by rounding only: far below what a saw takes.
const SHORT_MM: f64 = 0.05;

/// An angle that is off by less is as planned: no protractor shows it.
const AS_PLANNED: Angle = Angle::deg(0.05);

/// What the words are made from: `tube` and `blank` as planned, `rest` with the bends as they are and are to be.
#[derive(Clone, Copy, Debug)]
pub(super) struct Told<'a> {
    pub(super) machine: &'a Machine,
    pub(super) job: &'a Job,
    pub(super) tube: &'a Tube,
    pub(super) blank: &'a Blank,
    pub(super) rest: &'a Blank,
    pub(super) done: &'a [Done],
    pub(super) saved: &'a Saved,
    pub(super) options: &'a Options,
}

impl Told<'_> {
    /// What is known of the tube, with the steps that are left.
    pub(super) fn rescue(&self, walked: &Walked) -> Rescue {
        let saved = self.saved;
        let push = self.push();
        let mut text = Vec::new();
        text.extend(self.came_out());
        text.extend(self.pushed(push));
        text.extend(self.not_pushed(push));
        text.push(self.shape(walked.steps.len()));
        text.extend(self.in_the_way());
        text.extend(self.end_b());
        text.extend(self.marks(&walked.steps));
        text.extend(self.springback(&walked.steps));
        Rescue {
            done: self.done.to_vec(),
            held: saved.held,
            end_b_off: saved.end_b_off,
            last_leg_off: saved.last_leg_off,
            left_at_b: saved.extra_b,
            reference: saved.reference,
            push,
            text,
        }
    }

    fn people(&self) -> &People {
        &self.options.people
    }

    fn degrees(&self, angle: Angle) -> String {
        let figure = self.people().angle(angle);
        let unit = if figure == "1" { "degree" } else { "degrees" };
        format!("{figure} {unit}")
    }

    /// How much more a bend was to have.
    fn missing(&self, done: &Done) -> Angle {
        self.blank.bends[done.turn.bend.0].angle - done.angle
    }

    fn is_short(&self, done: &Done) -> bool {
        self.missing(done) > AS_PLANNED
    }

    fn came_out(&self) -> Vec<String> {
        let people = self.people();
        let of = |done: &Done| {
            let (number, missing) = (done.turn.bend.number(), self.missing(done));
            let mut parts = Vec::new();
            if missing.abs() > AS_PLANNED {
                let way = if missing > Angle::ZERO { "short of" } else { "over" };
                let (got, off) = (self.degrees(done.angle), people.angle(missing.abs()));
                let planned = people.angle(self.blank.bends[done.turn.bend.0].angle);
                parts.push(format!("{got}, {off} {way} the {planned} of the plan"));
            }
            if done.slip != Length::ZERO {
                let end = if done.slip > Length::ZERO { 'B' } else { 'A' };
                parts.push(format!("{} toward end {end} from its place", people.figure(done.slip.abs())));
            }
            if done.roll != Angle::ZERO {
                let roll = self.degrees(done.roll.abs());
                parts.push(format!("rolled {roll} {}, looking from end A", clockwise(done.roll)));
            }
            (!parts.is_empty()).then(|| format!("Bend {number} came out {}.", parts.join("; ")))
        };
        let said: Vec<String> = self.done.iter().filter_map(of).collect();
        if said.is_empty() { vec!["What was made came out as planned.".to_owned()] } else { said }
    }

    fn shape(&self, left: usize) -> String {
        let (people, saved) = (self.people(), self.saved);
        if saved.held {
            let bends = if left == 0 { "No bend is left:" } else { "With the bends below" };
            let reach = if saved.extra_b.to_mm() < -SHORT_MM { ", as far as the tube reaches" } else { "" };
            return format!(
                "{bends} end B and the line of the last leg come to their places{reach}.{}",
                self.corners()
            );
        }
        // Less than a tape shows is its place.
        let end_b = if people.length(saved.end_b_off) == "0" {
            "to its place".to_owned()
        } else {
            format!("{} off", people.figure(saved.end_b_off))
        };
        let bends = match left {
            0 => "no bend is left to bring end B and the last leg to their places".to_owned(),
            1 => "the one bend that is left cannot bring end B and the last leg to their places".to_owned(),
            _ => format!("the {left} bends that are left cannot bring end B and the last leg to their places"),
        };
        format!(
            "Not saved whole: {bends}. As near as it goes, end B comes {end_b} and the last leg is {} degrees out of its direction.{}",
            people.fine_angle(saved.last_leg_off),
            self.corners()
        )
    }

    /// Corners that are off by what a tape shows.
    fn corners(&self) -> String {
        let (people, line) = (self.people(), &self.tube.centreline);
        let off = line.bend_nodes.iter().enumerate().filter_map(|(bend, node)| {
            let (planned, got) = (line.nodes[*node]?, self.saved.centreline.nodes[*node]?);
            let off = people.length(Length::mm((got - planned).norm()));
            let named = self.tube.node_names.get(*node).cloned().flatten();
            let name = named.unwrap_or_else(|| format!("the corner of bend {}", bend + 1));
            (off != "0").then(|| format!("{name} by {off} {}", people.unit()))
        });
        let off: Vec<String> = off.collect();
        if off.is_empty() { String::new() } else { format!(" Corners between are off: {}.", off.join(", ")) }
    }

    fn in_the_way(&self) -> Vec<String> {
        let people = self.people();
        let words = |limit: &Limit| match limit {
            Limit::Straight { leg, least } if *least > Length::ZERO => {
                format!(
                    "A better shape is stopped by the straight of leg {leg}: {} is the least that it needs.",
                    people.figure(*least)
                )
            }
            Limit::Straight { leg, .. } => {
                format!("A better shape is stopped by leg {leg}: no straight is left of it.")
            }
            Limit::DieArc { bend, most } => {
                format!(
                    "A better shape is stopped at bend {}: {} degrees are the most that can be made.",
                    bend.number(),
                    people.angle(*most)
                )
            }
            Limit::NoBend { bend } => {
                format!("A better shape would leave out bend {}, or bend it the other way.", bend.number())
            }
        };
        self.saved.met.iter().map(words).collect()
    }

    fn end_b(&self) -> Option<String> {
        let (people, left) = (self.people(), self.saved.extra_b);
        let cut = people.figure(self.blank.cut_length);
        if left.to_mm() < -SHORT_MM {
            return Some(format!(
                "The tube is cut at {cut}: at end B {} are MISSING, so much short of its place it ends.",
                people.missing(-left)
            ));
        }
        let planned = self.tube.extra_b;
        let was = if planned > Length::ZERO {
            format!(", where {} were planned", people.figure(planned))
        } else {
            String::new()
        };
        ((left - planned).to_mm().abs() > SHORT_MM).then(|| {
            format!(
                "The tube is cut at {cut}: at end B {} are left over to trim after bending{was}.",
                people.figure(left)
            )
        })
    }

    /// What becomes of the marks and of the reference line that are on the tube.
    fn marks(&self, steps: &[PlanStep]) -> Vec<String> {
        let (people, reference) = (self.people(), self.saved.reference);
        let mut all = Vec::new();
        let mut steps: Vec<&PlanStep> = steps.iter().collect();
        steps.sort_by_key(|step| step.bend);
        let mut moved = false;
        for step in &steps {
            let planned = &self.blank.bends[step.bend.0];
            let (angle, by) = (self.rest.bends[step.bend.0].angle, step.mark - self.blank.mark(step.bend, step.lead));
            let roll = (step.top + reference - self.blank.top(step.bend, step.lead)).wrapped();
            let mut parts = Vec::new();
            if people.angle(angle) != people.angle(planned.angle) {
                parts.push(format!("{} instead of {}", self.degrees(angle), people.angle(planned.angle)));
            }
            if people.length(by) != "0" {
                let end = if by > Length::ZERO { 'B' } else { 'A' };
                parts.push(format!("its mark {} nearer end {end}", people.length_with_unit(by.abs())));
            }
            if !people.is_none(roll) {
                parts.push(format!("its top line {} further {}", self.degrees(roll.abs()), clockwise(roll)));
            }
            moved |= people.length(by) != "0" || !people.is_none(roll);
            if !parts.is_empty() {
                let keeps = people.angle(angle) == people.angle(planned.angle);
                let head = if keeps { "keeps its angle:" } else { "is now" };
                all.push(format!("Bend {} {head} {}.", step.bend.number(), parts.join(", ")));
            }
        }
        if !people.is_none(reference) && !steps.is_empty() {
            let around = people.figure(self.blank.od * (reference.to_rad().abs() * 0.5));
            let way = clockwise(reference);
            all.push(format!(
                "The reference line on the tube is off by {}: draw it anew, {around} around the tube {way} of the old one, looking from end A. Top lines \
                 below count from the new one.",
                self.degrees(reference.abs())
            ));
            moved = true;
        }
        if moved {
            all.push(
                "The marks that are on the tube for the bends left are WRONG now: wipe them off and mark anew as below, from end A along the tube."
                    .to_owned(),
            );
        }
        all
    }

    /// What is missing of a bend, as the dial shows it.
    fn more(&self, done: &Done) -> Angle {
        let law = self.tube.law(&self.job.bender, self.blank.bends[done.turn.bend.0].die);
        self.missing(done) * (1.0 + law.proportional)
    }

    /// The reading at which a bend was stopped by the plan, and the one to push it on to, as the dial shows them.
    fn readings(&self, done: &Done) -> [String; 2] {
        let pointer = &self.job.bender.pointer;
        let stopped = dial(pointer.reading(self.blank.bends[done.turn.bend.0].die_angle), pointer.step);
        [stopped, stopped + self.more(done)].map(|reading| self.people().dial(reading, pointer.step))
    }

    /// The bend that may still be clamped, where it is short by what the dial shows.
    fn push(&self) -> Option<Push> {
        let last = self.done.last().filter(|done| self.is_short(done))?;
        let [stopped, further] = self.readings(last);
        let bender = &self.job.bender;
        let bend = last.turn.bend;
        let planned = &self.blank.bends[bend.0];
        let more = self.more(last);
        let die_angle = planned.die_angle + more;
        if stopped == further || die_angle > bender.dies[planned.die].max_angle {
            return None;
        }
        // The die goes further than planned: looked at like any bend.
        let mut pushed = self.rest.clone();
        let formed = &mut pushed.bends[bend.0];
        (formed.angle, formed.die_angle) = (planned.angle, die_angle);
        let mut made = vec![false; pushed.bends.len()];
        self.done.iter().for_each(|done| made[done.turn.bend.0] = done.turn.bend != bend);
        let report = self.machine.report(&Step { bender, blank: &pushed, bend, lead: last.turn.lead, made: &made });
        let clear = report.verdict == Verdict::Clear || (report.verdict == Verdict::Tight && self.options.accept_tight);
        clear.then(|| Push { bend, more, reading: bender.pointer.reading(planned.die_angle) + more })
    }

    fn pushed(&self, push: Option<Push>) -> Option<String> {
        let (push, last) = (push?, self.done.last()?);
        let number = push.bend.number();
        let [stopped, further] = self.readings(last);
        let planned = self.degrees(self.blank.bends[push.bend.0].angle);
        let alone = last.slip == Length::ZERO && last.roll == Angle::ZERO && self.done.len() == 1;
        let then = if alone {
            format!("If it has its {planned} then, the plan stands as it was; else ask again with what it has.")
        } else {
            "Then ask again with what it has.".to_owned()
        };
        Some(format!(
            "First of all, if bend {number} is still clamped as it was: PUSH IT AGAIN by {} on the dial, to reading {further} where it was stopped at {stopped}. \
             Leave the pointer as it is set: the slack is out. Let off and measure. {then}",
            self.degrees(push.more),
        ))
    }

    /// Bends that are off and cannot be mended themselves.
    fn not_pushed(&self, push: Option<Push>) -> Vec<String> {
        let last = self.done.len().wrapping_sub(1);
        let words = |(place, done): (usize, &Done)| {
            let number = done.turn.bend.number();
            if self.missing(done) < -AS_PLANNED {
                Some(format!("Bend {number} is too far: it is never bent back."))
            } else if !self.is_short(done) || push.is_some_and(|push| push.bend == done.turn.bend) {
                None
            } else if place == last {
                Some(format!(
                    "Bend {number} is not to be pushed again: the die or something in its way leaves no room for it."
                ))
            } else {
                Some(format!(
                    "Bend {number} is not to be pushed again: it is out of the clamp, other bends were made after it."
                ))
            }
        };
        self.done.iter().enumerate().filter_map(words).collect()
    }

    /// A bend that came out otherwise at its reading says something of those that are left.
    fn springback(&self, steps: &[PlanStep]) -> Option<String> {
        let off = |done: &&Done| {
            let die = self.blank.bends[done.turn.bend.0].die;
            self.missing(done).abs() > self.job.bender.pointer.step.max(AS_PLANNED)
                && steps.iter().any(|step| step.die == die)
        };
        let bends: Vec<String> = self.done.iter().filter(off).map(|done| done.turn.bend.number().to_string()).collect();
        (!bends.is_empty()).then(|| {
            format!(
                "If bend {} was stopped at the reading of the plan, the springback is not what the bender's file says, and the stops below do not know of it: \
                 stop short, let off, measure, go on by what is missing.",
                bends.join(", ")
            )
        })
    }
}

fn clockwise(angle: Angle) -> &'static str {
    if angle > Angle::ZERO { "clockwise" } else { "anticlockwise" }
}
