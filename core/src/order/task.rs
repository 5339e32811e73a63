//! What is asked of a search over orders, and how one step is judged.

use core::sync::atomic::{AtomicBool, Ordering};

use super::cost::{self, Cost, Handling};
use super::{Order, Turn};
use crate::bender::{Bender, Motions, limits};
use crate::clearance::reach::Passage;
use crate::clearance::{Bar, Decision, Machine, Others, Step, Ways};
use crate::forming::{Blank, LeadEnd};
use crate::units::{Angle, Length};

/// A tube whose order is looked for.
#[derive(Clone, Copy, Debug)]
pub struct Task<'a> {
    /// The bender.
    pub bender: &'a Bender,
    /// The same made ready for questions.
    pub machine: &'a Machine,
    /// The blank with its bends.
    pub blank: &'a Blank,
    /// Whether steps count whose gaps are under what must be kept, as long as nothing touches.
    pub accept_tight: bool,
    /// How many orders are wanted: the best, and so many less one behind it.
    pub best: usize,
}

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// The part of the work that is done, as far as it can be told, from 0 to 1. It never falls while one tube is solved.
    pub share: f64,
    /// States of the search that were gone on from.
    pub expanded: u64,
}

/// Who watches a search: it may be told to stop, and says how far it has come.
pub struct Watch<'a> {
    /// Once this is true the search ends as soon as it can, with the best that it has.
    pub stop: &'a AtomicBool,
    /// Called now and then.
    pub progress: &'a mut dyn FnMut(Progress),
}

impl core::fmt::Debug for Watch<'_> {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.debug_struct("Watch").field("stop", self.stop).finish_non_exhaustive()
    }
}

impl Watch<'_> {
    pub(super) fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    pub(super) fn tell(&mut self, share: f64, expanded: u64) {
        (self.progress)(Progress { share, expanded });
    }
}

/// An order with what it costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Priced {
    /// The order.
    pub order: Order,
    /// Sum of its steps.
    pub cost: Cost,
}

impl Task<'_> {
    pub(super) fn bends(&self) -> usize {
        self.blank.bends.len()
    }

    pub(super) const fn bar(&self) -> Bar {
        if self.accept_tight { Bar::Touch } else { Bar::Keep }
    }

    /// Step of a turn with these bends made.
    pub(super) fn step<'b>(&'b self, turn: Turn, made: &'b [bool]) -> Step<'b> {
        Step { bender: self.bender, blank: self.blank, bend: turn.bend, lead: turn.lead, made }
    }

    /// What the operator does for a step, apart from its gaps.
    pub fn handling(&self, before: Option<Turn>, turn: Turn) -> Cost {
        handling(self.bender, self.blank, before, turn)
    }

    /// What a step costs for its tightest gap, or that it cannot be made; the turn from the step before is not looked at.
    pub(super) fn near(&self, turn: Turn, made: &[bool]) -> Judged {
        let step = self.step(turn, made);
        if !limits::check(&step).is_empty() {
            return Judged::Blocked;
        }
        let gap = match self.machine.passage(&step, self.bar()) {
            Passage::Free(gap) => gap,
            Passage::Blocked => return Judged::Blocked,
            Passage::Unproven => return Judged::Unproven,
        };
        if self.looks_further() {
            let bar = self.bar();
            let parts = [self.machine.others_lead(&step, bar), self.machine.others_trail(&step, bar)];
            if !together(&parts) {
                return Judged::Blocked;
            }
            match self.machine.recoil_between(&step, bar) {
                Decision::Clear => {}
                Decision::NotClear => return Judged::Blocked,
                Decision::Unproven => return Judged::Unproven,
            }
        }
        Judged::Free(self.nearness(gap))
    }

    /// Whether motions besides the bend are looked at.
    pub(super) fn looks_further(&self) -> bool {
        self.bender.motions != Motions::default()
    }

    /// Whether the tube can be turned from the step before to this one; `made` holds the bends made before this one.
    pub(super) fn turns(&self, before: Option<Turn>, turn: Turn, made: &[bool]) -> Decision {
        let Some(before) = before.filter(|_| self.bender.motions.turn.is_some()) else { return Decision::Clear };
        let mut earlier = made.to_vec();
        earlier[before.bend.0] = false;
        self.machine.turn_between(&self.step(before, &earlier), &self.step(turn, made), self.bar())
    }

    pub(super) fn nearness(&self, gap: f64) -> Cost {
        cost::nearness(&self.bender.seconds, &self.bender.clearance, Some(Length::mm(gap)))
    }
}

/// Whether both parts of the tube get through the motions besides the bend, each alone and by the same way out and in.
pub(super) fn together([lead, trail]: &[Others; 2]) -> bool {
    let ways = |one: Ways, other: Ways| !(one & other).is_empty();
    [lead.recoil, lead.back, trail.recoil, trail.back].iter().all(|clear| *clear)
        && ways(lead.out, trail.out)
        && ways(lead.put_in, trail.put_in)
}

/// What the operator does for a step after another, apart from its gaps.
pub(crate) fn handling(bender: &Bender, blank: &Blank, before: Option<Turn>, turn: Turn) -> Cost {
    let bend = &blank.bends[turn.bend.0];
    let same_lead = before.filter(|before| before.lead == turn.lead);
    let pin_moves = bender.pin.map_or(0, |pin| pin.moves(bender.pointer.reading(bend.die_angle)).len());
    let this = Handling {
        before: before.map(|before| (before.lead, blank.bends[before.bend.0].die)),
        lead: turn.lead,
        die: bend.die,
        turn: same_lead.map_or(Angle::ZERO, |before| blank.turn(before.bend, turn.bend, turn.lead)),
        pin_moves,
    };
    cost::handling(&bender.seconds, &this)
}

/// The cost of a step's tightest gap by the figure that orders are compared by; of a step that touches, that of no gap at all.
pub(crate) fn gap_cost(machine: &Machine, step: &Step<'_>) -> Cost {
    let gap = match machine.passage(step, Bar::Touch) {
        Passage::Free(gap) => gap,
        Passage::Blocked | Passage::Unproven => 0.0,
    };
    cost::nearness(&step.bender.seconds, &step.bender.clearance, Some(Length::mm(gap)))
}

/// Whether a step can be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Judged {
    /// It can, and its tightest gap costs so much.
    Free(Cost),
    /// It cannot.
    Blocked,
    /// It could not be told.
    Unproven,
}

/// All turns of a bend number: end A leading, then end B.
pub(super) fn turns(bend: usize) -> [Turn; 2] {
    [LeadEnd::A, LeadEnd::B].map(|lead| Turn { bend: crate::centreline::BendId(bend), lead })
}
