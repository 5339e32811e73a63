//! Walking an order step by step: limits, clearances and cost, each step judged as if those before it had been made.

use super::others::Others;
use super::{Options, PlanStep, Provenance, SpringbackFrom, WhyNot, gauge, why};
use crate::bender::{self, limits};
use crate::clearance::{Clearance, Machine, Motion, Step};
use crate::forming::Blank;
use crate::job::{Job, Tube};
use crate::motion;
use crate::order::cost::{self, Cost, Handling};
use crate::order::{Order, Turn};
use crate::units::{Angle, Length};

/// How far an order is walked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Extent {
    /// Up to and with the first step that is blocked.
    ToFirstBlocked,
    /// To its end, whatever happens on the way.
    Whole,
}

/// An order that was walked.
#[derive(Clone, Debug)]
pub(super) struct Walked {
    /// The steps, in the order of making.
    pub(super) steps: Vec<PlanStep>,
    /// Cost of the steps that are not blocked.
    pub(super) cost: Cost,
    /// The first step that is blocked.
    pub(super) blocked_at: Option<usize>,
    /// What blocks the order from the other end, where both were tried.
    pub(super) other_way: Vec<WhyNot>,
}

impl Walked {
    /// How many steps were made before the first blocked one.
    pub(super) fn made_clear(&self) -> usize {
        self.blocked_at.unwrap_or(self.steps.len())
    }

    /// What blocks this order: the reasons of its blocked steps.
    pub(super) fn blocked(&self) -> Vec<WhyNot> {
        self.steps.iter().flat_map(|step| step.blocked_by.iter().cloned()).collect()
    }

    /// What blocks this order, then the other one, each reason once.
    pub(super) fn why_not(&self) -> Vec<WhyNot> {
        let mut all = self.blocked();
        for reason in &self.other_way {
            if !all.contains(reason) {
                all.push(reason.clone());
            }
        }
        all
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

/// Walks an order.
pub(super) fn walk(
    machine: &Machine,
    job: &Job,
    tube: &Tube,
    blank: &Blank,
    order: &Order,
    options: &Options,
    extent: Extent,
) -> Walked {
    let bender = &job.bender;
    let mut made = vec![false; blank.bends.len()];
    let mut walked = Walked { steps: Vec::new(), cost: Cost::default(), blocked_at: None, other_way: Vec::new() };
    let mut before: Option<(Turn, usize)> = None;
    for turn in &order.0 {
        let bend = &blank.bends[turn.bend.0];
        let die = &bender.dies[bend.die];
        let step = Step { bender, blank, bend: turn.bend, lead: turn.lead, made: &made };
        let broken = limits::check(&step);
        let report = machine.report(&step);
        let others = Others::new(machine, &step, before.map(|(last, _)| last));
        let swap_ends = before.is_some_and(|(last, _)| last.lead != turn.lead);
        let roll = before
            .filter(|(last, _)| last.lead == turn.lead)
            .map(|(last, _)| blank.turn(last.bend, turn.bend, turn.lead));
        let dial_target = bender.pointer.reading(bend.die_angle);
        let pin_moves = bender.pin.map(|pin| pin.moves(dial_target)).unwrap_or_default();
        let handling = Handling {
            before: before.map(|(last, die)| (last.lead, die)),
            lead: turn.lead,
            die: bend.die,
            turn: roll.unwrap_or_default(),
            pin_moves: pin_moves.len(),
        };
        let gap = tightest(&report.clearances).and_then(|clearance| clearance.nearest).map(|nearest| nearest.gap);
        let cost = cost::handling(&bender.seconds, &handling) + cost::nearness(&bender.seconds, &bender.clearance, gap);
        let blocked_by = why::blocked_by(&step, &broken, &report, &others, options);
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
            swap_ends,
            dial_start: bender.pointer.set_to,
            dial_target,
            die_angle: bend.die_angle,
            pin_moves,
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
        if walked.blocked_at.is_some() && extent == Extent::ToFirstBlocked {
            break;
        }
        made[turn.bend.0] = true;
        before = Some((*turn, bend.die));
    }
    walked
}

/// Heights of both ends over the tube's line at the die, with the tube laid in.
fn ends_up(step: &Step<'_>) -> [Length; 2] {
    let up = step.bender.bend_plane.up();
    let line = motion::place(step, step.active().tangent(step.lead), Angle::ZERO);
    [Length::ZERO, step.blank.cut_length].map(|end| Length::mm((motion::place(step, end, Angle::ZERO) - line).dot(&up)))
}

/// How far the wall of a record of test bends may be off this tube's, as a part of it.
const WALL_FIT: f64 = 0.05;

/// Where the springback of this tube in this die is from.
fn provenance(tube: &Tube, die: &bender::Die) -> Provenance {
    let none = Provenance { from: SpringbackFrom::None, date: None, lot: None };
    let Some(material) = tube.material_in(die) else { return none };
    if material.springback.is_none() {
        return none;
    }
    let Some(measured) = &material.measured else { return Provenance { from: SpringbackFrom::Given, ..none } };
    let od_fits = measured.od.is_some_and(|od| (od - tube.stock.od).abs() <= die.fit);
    let wall_fits = match (measured.wall, tube.stock.wall) {
        (Some(measured), Some(wall)) => (measured - wall).abs() <= wall * WALL_FIT,
        _ => false,
    };
    let from = if od_fits && wall_fits { SpringbackFrom::Measured } else { SpringbackFrom::Borrowed };
    Provenance { from, date: measured.date.clone(), lot: measured.lot.clone() }
}
