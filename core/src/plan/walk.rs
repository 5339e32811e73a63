//! Walking an order step by step: limits, clearances and cost, each step judged as if those before it had been made.

use super::others::Others;
use super::{Options, PlanStep, Provenance, SpringbackFrom, WhyNot, gauge, why};
use crate::bender::{self, limits};
use crate::centreline::BendId;
use crate::clearance::{Clearance, Machine, Motion, Step};
use crate::forming::{Blank, LeadEnd, Measured};
use crate::job::{Job, Tube};
use crate::motion;
use crate::order::blame::{Blamed, When};
use crate::order::cost::Cost;
use crate::order::{self, Order, Turn};
use crate::units::{Angle, Length};

/// An order that was walked.
#[derive(Clone, Debug)]
pub(super) struct Walked {
    /// The steps, in the order of making.
    pub(super) steps: Vec<PlanStep>,
    /// Cost of the steps that are not blocked.
    pub(super) cost: Cost,
    /// The first step that is blocked.
    pub(super) blocked_at: Option<usize>,
}

impl Walked {
    /// What blocks this order: the reasons of its blocked steps.
    pub(super) fn blocked(&self) -> Vec<WhyNot> {
        self.steps.iter().flat_map(|step| step.blocked_by.iter().cloned()).collect()
    }
}

/// The obstacle that comes nearest over the bend itself; of equals the first.
pub(super) fn tightest(clearances: &[Clearance]) -> Option<&Clearance> {
    let gap = |clearance: &Clearance| clearance.nearest.map_or(Length::mm(f64::INFINITY), |nearest| nearest.gap);
    clearances
        .iter()
        .filter(|clearance| clearance.motion == Motion::Bend && clearance.nearest.is_some())
        .reduce(|best, one| if gap(one) < gap(best) { one } else { best })
}

/// What is needed to walk orders of one tube.
#[derive(Clone, Copy, Debug)]
pub(super) struct Walk<'a> {
    pub(super) machine: &'a Machine,
    pub(super) job: &'a Job,
    pub(super) tube: &'a Tube,
    pub(super) blank: &'a Blank,
    pub(super) options: &'a Options,
    /// How many turns of every order are made already: they are no steps.
    pub(super) begun: usize,
}

impl Walk<'_> {
    /// Walks an order to its end, whatever happens on the way.
    pub(super) fn whole(&self, order: &Order) -> Walked {
        let mut walked = Walked { steps: Vec::new(), cost: Cost::default(), blocked_at: None };
        let mut made = vec![false; self.blank.bends.len()];
        let mut before = None;
        for (place, turn) in order.0.iter().enumerate() {
            if place >= self.begun {
                self.add(&mut walked, &made, before, *turn);
            }
            made[turn.bend.0] = true;
            before = Some(*turn);
        }
        walked
    }

    /// Walks an order that gets no further, and one step more: the one that is blocked by least, of equals the smallest bend number.
    pub(super) fn up_to_the_block(&self, order: &Order) -> Walked {
        let walked = self.whole(order);
        let before = order.0.last().copied();
        let mut made = vec![false; self.blank.bends.len()];
        order.0.iter().for_each(|turn| made[turn.bend.0] = true);
        let left = (0..made.len()).filter(|bend| !made[*bend]);
        let turns = left.flat_map(|bend| [LeadEnd::A, LeadEnd::B].map(|lead| Turn { bend: BendId(bend), lead }));
        let further = turns.map(|turn| {
            let mut further = Walked { steps: Vec::new(), ..walked.clone() };
            self.add(&mut further, &made, before, turn);
            further
        });
        let reasons = |further: &Walked| further.steps.iter().map(|step| step.blocked_by.len()).sum::<usize>();
        let Some(blocked) = further.filter(|further| reasons(further) > 0).min_by_key(reasons) else { return walked };
        let blocked_at = Some(walked.steps.len());
        Walked { steps: walked.steps.into_iter().chain(blocked.steps).collect(), blocked_at, ..blocked }
    }

    /// The reasons of steps that are stopped by fewest causes in all, each with when it applies.
    pub(super) fn reasons(&self, blamed: &[Blamed]) -> Vec<WhyNot> {
        let mut all = Vec::new();
        for one in blamed {
            let (bender, blank) = (&self.job.bender, self.blank);
            let step = Step { bender, blank, bend: one.turn.bend, lead: one.turn.lead, made: &one.made };
            let others = Others::new(self.machine, &step, one.before);
            let report = self.machine.report(&step);
            for (cause, mut why) in why::blocked_by(&step, &limits::check(&step), &report, &others, self.options) {
                if let Some((_, when)) = one.causes.iter().find(|(blamed, _)| *blamed == cause) {
                    why.text.push_str(&why::when_words(*when, one));
                    if let When::After(other) | When::LedAfter(other) = *when {
                        why.text.extend(self.then_stopped(one, other).map(|then| format!("; then {then}")));
                    }
                    all.push(why);
                }
            }
        }
        all
    }

    /// What stops another bend where it is made after the one that is blamed: of both ends the one that is stopped by less.
    fn then_stopped(&self, blamed: &Blamed, other: BendId) -> Option<String> {
        let mut made = blamed.made.clone();
        made[other.0] = false;
        made[blamed.turn.bend.0] = true;
        let stopped = [LeadEnd::A, LeadEnd::B].map(|lead| {
            let step = Step { bender: &self.job.bender, blank: self.blank, bend: other, lead, made: &made };
            let others = Others::new(self.machine, &step, None);
            why::blocked_by(&step, &limits::check(&step), &self.machine.report(&step), &others, self.options)
        });
        let least = stopped.into_iter().min_by_key(Vec::len)?;
        least.into_iter().next().map(|(_, why)| why.text)
    }

    fn add(&self, walked: &mut Walked, made: &[bool], before: Option<Turn>, turn: Turn) {
        let Self { machine, job, tube, blank, options, .. } = self;
        let bender = &job.bender;
        let bend = &blank.bends[turn.bend.0];
        let die = &bender.dies[bend.die];
        let step = Step { bender, blank, bend: turn.bend, lead: turn.lead, made };
        let broken = limits::check(&step);
        let report = machine.report(&step);
        let others = Others::new(machine, &step, before);
        let roll = before.filter(|last| last.lead == turn.lead).map(|last| blank.turn(last.bend, turn.bend, turn.lead));
        let dial_target = bender.pointer.reading(bend.die_angle);
        let stopped = why::blocked_by(&step, &broken, &report, &others, options);
        let blocked_by: Vec<WhyNot> = stopped.into_iter().map(|(_, why)| why).collect();
        let cost = order::handling(bender, blank, before, turn) + order::gap_cost(machine, &step);
        if blocked_by.is_empty() {
            walked.cost += cost;
        } else if walked.blocked_at.is_none() {
            walked.blocked_at = Some(walked.steps.len());
        }
        walked.steps.push(PlanStep {
            bend: turn.bend,
            lead: turn.lead,
            die: bend.die,
            die_name: die.name.clone(),
            springback: provenance(tube, die),
            mark: blank.mark(turn.bend, turn.lead),
            tail: blank.tail(turn.bend, turn.lead),
            top: blank.top(turn.bend, turn.lead),
            top_arc: blank.top_arc(turn.bend, turn.lead),
            turn: roll,
            swap_ends: before.is_some_and(|last| last.lead != turn.lead),
            dial_start: bender.pointer.set_to,
            dial_target,
            die_angle: bend.die_angle,
            pin_moves: bender.pin.map(|pin| pin.moves(dial_target)).unwrap_or_default(),
            gauge: gauge::gauge(&step),
            ends_up: ends_up(&step),
            take_out: others.only_way(Motion::TakeOut),
            put_in: others.only_way(Motion::PutIn),
            verdict: report.verdict.max(others.verdict()),
            clearances: report.clearances.into_iter().chain(others.clearances).collect(),
            swing: report.swing,
            blocked_by,
            cost,
        });
    }
}

/// Heights of both ends over the tube's line at the die, with the tube laid in.
fn ends_up(step: &Step<'_>) -> [Length; 2] {
    let up = step.bender.bend_plane.up();
    let line = motion::place(step, step.active().tangent(step.lead), Angle::ZERO);
    [Length::ZERO, step.blank.cut_length].map(|end| Length::mm((motion::place(step, end, Angle::ZERO) - line).dot(&up)))
}

/// How far the wall of a record of test bends may be off this tube's, as a part of it.
const WALL_FIT: f64 = 0.05;

/// Whether test bends in a die were made of such tube as this.
pub(super) fn fits(measured: &Measured, tube: &Tube, die: &bender::Die) -> bool {
    let od_fits = measured.od.is_some_and(|od| (od - tube.stock.od).abs() <= die.fit);
    let wall_fits = match (measured.wall, tube.stock.wall) {
        (Some(measured), Some(wall)) => (measured - wall).abs() <= wall * WALL_FIT,
        _ => false,
    };
    od_fits && wall_fits
}

/// Where the springback of this tube in this die is from.
pub(crate) fn provenance(tube: &Tube, die: &bender::Die) -> Provenance {
    let unknown = |from| Provenance { from, date: None, lot: None, od: None, wall: None };
    let Some(material) = tube.material_in(die).filter(|material| material.springback.is_some()) else {
        let guessed = tube.stock.estimate(die).is_some();
        return unknown(if guessed { SpringbackFrom::Estimated } else { SpringbackFrom::None });
    };
    let Some(measured) = &material.measured else { return unknown(SpringbackFrom::Given) };
    let from = if fits(measured, tube, die) { SpringbackFrom::Measured } else { SpringbackFrom::Borrowed };
    Provenance { from, date: measured.date.clone(), lot: measured.lot.clone(), od: measured.od, wall: measured.wall }
}
