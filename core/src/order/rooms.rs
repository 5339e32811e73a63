//! What each part of the tube comes to for every set of made bends, as tables.
//!
//! For a bend with one end leading, the part toward end A depends on which bends before it are made and the part toward end
//! B on which after it. Each has a table with one entry for every such set: what its tightest gap costs at least, or that it is blocked. Near
//! the die, where it mostly lies, the gap is measured; further out a leg is only asked whether it passes, which is several times quicker.
//! With sets as bits by the place on the blank
//!
//! ```text
//!   set   b7 b6 b5 b4 b3 b2 b1 b0        bend 4:  toward A  set & 0b1111
//!                    ^ bend 4                     toward B  set >> 5
//! ```

use core::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;

use super::Turn;
use super::task::{Task, Watch, turns};
use crate::bender::limits::{self, Reason};
use crate::body::{Side, Stop};
use crate::clearance::reach::{Explorer, Passage};
use crate::forming::LeadEnd;

/// An entry, or a sum, that stands for "cannot be".
pub(super) const BLOCKED: u32 = u32::MAX;

/// From so many bends on the tables are filled by several threads. Each fills tables of its own: the outcome is the same.
const THREADS_FROM: usize = 11;

/// The tables of all bends and both leads.
#[derive(Debug)]
pub(super) struct Rooms {
    /// By bend, lead A then B, toward end A then toward end B. An empty table is blocked throughout.
    tables: Vec<[[Vec<u32>; 2]; 2]>,
    /// Whether some entry is blocked because the budget ran out.
    pub(super) unproven: bool,
}

/// One table to be filled.
#[derive(Clone, Copy, Debug)]
struct Part {
    turn: Turn,
    side: Side,
}

impl Part {
    /// 0 for the part toward end A.
    fn toward(self) -> usize {
        usize::from((self.turn.lead == LeadEnd::A) != (self.side == Side::Lead))
    }
}

pub(super) fn lead_index(lead: LeadEnd) -> usize {
    usize::from(lead == LeadEnd::B)
}

impl Rooms {
    /// Fills all tables, with gaps measured past so many bends. `None` where it was stopped. The share told goes from the one to the other.
    pub(super) fn new(task: &Task<'_>, watch: &mut Watch<'_>, share: [f64; 2], measured: usize) -> Option<Self> {
        let bends = task.bends();
        let parts: Vec<Part> = (0..bends)
            .flat_map(turns)
            .filter(|turn| fixed_limits_hold(task, *turn))
            .flat_map(|turn| [Side::Lead, Side::Trail].map(|side| Part { turn, side }))
            .collect();
        let mut rooms = Self { tables: (0..bends).map(|_| <[[Vec<u32>; 2]; 2]>::default()).collect(), unproven: false };
        let mut put = |part: Part, table: Table, done: usize, watch: &mut Watch<'_>| {
            rooms.unproven |= table.unproven;
            rooms.tables[part.turn.bend.0][lead_index(part.turn.lead)][part.toward()] = table.entries;
            watch.tell(share[0] + (share[1] - share[0]) * done as f64 / parts.len() as f64, 0);
        };
        let workers = if bends < THREADS_FROM {
            1
        } else {
            std::thread::available_parallelism().map_or(1, core::num::NonZero::get).min(parts.len())
        };
        if workers <= 1 {
            for (done, part) in parts.iter().enumerate() {
                if watch.stopped() {
                    return None;
                }
                let table = Table::new(task, *part, measured);
                put(*part, table, done + 1, watch);
            }
            return Some(rooms);
        }
        let next = AtomicUsize::new(0);
        let stop = watch.stop;
        std::thread::scope(|scope| {
            let (sender, receiver) = mpsc::channel();
            for _ in 0..workers {
                let (sender, next, parts) = (sender.clone(), &next, &parts);
                scope.spawn(move || {
                    while let Some(part) = parts.get(next.fetch_add(1, Ordering::Relaxed)) {
                        if stop.load(Ordering::Relaxed)
                            || sender.send((*part, Table::new(task, *part, measured))).is_err()
                        {
                            break;
                        }
                    }
                });
            }
            drop(sender);
            for (done, (part, table)) in receiver.into_iter().enumerate() {
                put(part, table, done + 1, watch);
            }
        });
        (!watch.stopped()).then_some(rooms)
    }

    /// What the tightest gap of a turn to the machine costs with a set of bends made, or [`BLOCKED`].
    #[inline]
    pub(super) fn near(&self, bend: usize, lead: usize, set: u64) -> u32 {
        let [toward_a, toward_b] = &self.tables[bend][lead];
        let entry = |table: &Vec<u32>, set: u64| table.get(set as usize).copied().unwrap_or(BLOCKED);
        let a = entry(toward_a, set & ((1 << bend) - 1));
        if a == BLOCKED { a } else { a.max(entry(toward_b, set >> (bend + 1))) }
    }
}

/// Limits that do not depend on what is made: the die's arc and the fit of the tube.
fn fixed_limits_hold(task: &Task<'_>, turn: Turn) -> bool {
    let broken = limits::check(&task.step(turn, &[]));
    broken.iter().all(|limit| matches!(limit.reason, Reason::Grip | Reason::Follower))
}

struct Table<'a> {
    task: &'a Task<'a>,
    part: Part,
    entries: Vec<u32>,
    shift: usize,
    measured: usize,
    unproven: bool,
}

impl<'a> Table<'a> {
    fn new(task: &'a Task<'a>, part: Part, measured: usize) -> Self {
        let bend = part.turn.bend.0;
        let (count, shift) = if part.toward() == 0 { (bend, 0) } else { (task.bends() - bend - 1, bend + 1) };
        let mut table = Self { task, part, entries: vec![BLOCKED; 1 << count], shift, measured, unproven: false };
        let step = task.step(part.turn, &[]);
        task.machine.explore(&step, part.side, task.bar(), &mut table);
        table
    }
}

impl Explorer for Table<'_> {
    fn may_be_next(&mut self, bend: Option<usize>) -> bool {
        let mut made = vec![false; bend.map_or(0, |bend| bend + 1)];
        if let Some(made) = made.last_mut() {
            *made = true;
        }
        let reason = if self.part.side == Side::Lead { Reason::Grip } else { Reason::Follower };
        limits::check(&self.task.step(self.part.turn, &made)).iter().all(|limit| limit.reason != reason)
    }

    fn measured(&self) -> usize {
        self.measured
    }

    fn found(&mut self, set: u64, passage: Passage) {
        self.found_with_any(set, &[], passage);
    }

    fn found_with_any(&mut self, set: u64, beyond: &[Stop], passage: Passage) {
        match passage {
            Passage::Free(gap) => {
                let cost = self.task.nearness(gap).to_milliseconds();
                // A sum that large is refused before any table is made.
                let cost = u32::try_from(cost).unwrap_or(BLOCKED);
                let all = beyond.iter().fold(0, |all, stop| all | 1_u64 << stop.bend);
                let mut any = all;
                loop {
                    self.entries[((set | any) >> self.shift) as usize] = cost;
                    if any == 0 {
                        break;
                    }
                    any = (any - 1) & all;
                }
            }
            Passage::Blocked => {}
            Passage::Unproven => self.unproven = true,
        }
    }
}
