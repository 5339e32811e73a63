//! The motions besides the bend, as a plan tells them.

use crate::bender::Step;
use crate::clearance::{Clearance, Machine, Motion, Tried, Verdict, Way};
use crate::order::Turn;

/// What was found of the motions besides the bend in one step.
#[derive(Clone, Debug)]
pub(super) struct Others {
    /// Of every motion that is switched on, one entry for every obstacle.
    pub(super) clearances: Vec<Clearance>,
    /// Ways out that were tried, in the order of the file.
    pub(super) out: Vec<Tried>,
    /// Ways in that were tried.
    pub(super) put_in: Vec<Tried>,
}

impl Others {
    /// Of a step, with the one before it, if there is one.
    pub(super) fn new(machine: &Machine, step: &Step<'_>, before: Option<Turn>) -> Self {
        let mut made = step.made.to_vec();
        if let Some(made) = before.and_then(|before| made.get_mut(before.bend.0)) {
            *made = false;
        }
        let before = before.map(|before| Step { bend: before.bend, lead: before.lead, made: &made, ..*step });
        Self {
            clearances: machine.report_others(step, before.as_ref()),
            out: machine.tried(step, Motion::TakeOut),
            put_in: machine.tried(step, Motion::PutIn),
        }
    }

    /// The worst verdict.
    pub(super) fn verdict(&self) -> Verdict {
        self.clearances.iter().map(|clearance| clearance.verdict).max().unwrap_or(Verdict::Clear)
    }

    /// The way that was taken for a motion, where some way asked for is not clear.
    pub(super) fn only_way(&self, motion: Motion) -> Option<Way> {
        let tried = if motion == Motion::TakeOut { &self.out } else { &self.put_in };
        let taken = self.clearances.iter().find(|clearance| clearance.motion == motion)?.way?;
        tried.iter().any(|tried| tried.verdict != Verdict::Clear).then_some(taken)
    }
}
