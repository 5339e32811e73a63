//! The exact search: a shortest path over (bends made, last bend, lead end).
//!
//! 1. [`Rooms`]: what each part of the tube comes to against the machine, for every set of made bends.
//! 2. A backward pass over all sets gives, for every state, the least cost from there to the end, as far as the machine alone says.
//!    A state from which no way leads on drops out, and with it all that leads to such states only: where the start drops out, no
//!    order exists, which is thereby proved.
//! 3. A search from the start, guided by that least cost (A*). What couples the two parts of the tube, one against the other, is asked
//!    about only for steps on the way; it can only add to the cost, so that the guide never says too much and the first order that
//!    comes out is the best.
//!
//! The cost of a step depends on the step before (turn, swapped ends, die), so that the last bend is part of the state. With V(S, b) the cost
//! of making b with S made and of all that follows, handling aside, and G(S, l) the least cost to go with l made last,
//!
//! ```text
//!   G(S, l) = min over b not in S of handling(l, b) + V(S, b)        V(S, b) = near(S, b) + G(S + b, b)
//! ```
//!
//! Ties go to the order that is smaller as a list of bend numbers, lead A before lead B.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};

use super::rooms::{BLOCKED, Rooms, lead_index};
use super::task::{Priced, Task, Watch, together, turns};
use super::{Order, Turn};
use crate::body::Side;
use crate::centreline::BendId;
use crate::clearance::reach::Passage;
use crate::clearance::{Decision, Others, Step};
use crate::forming::LeadEnd;
use crate::order::cost::Cost;

/// Tubes with more bends are not searched exactly: the tables of 22 bends take up to 460 MB, each bend more doubles that.
pub(crate) const MOST_BENDS: usize = 22;

/// States that are gone on from before the search is given up.
const EXPANSIONS: u64 = 2_000_000;

/// Bends outward from the die up to which the tables hold measured gaps, at first.
const MEASURED: usize = 1;

/// States that are gone on from before the tables are filled anew with every gap measured: their guide was too poor.
const POOR: u64 = 4_000;

/// How a search ended.
#[derive(Clone, Debug)]
pub(super) struct Ended {
    /// The best orders, best first, as many as were asked for where there are so many.
    pub(super) orders: Vec<Priced>,
    /// Whether nothing was left open.
    pub(super) complete: bool,
}

/// The search with all that it keeps.
pub(super) struct Exact<'a> {
    task: &'a Task<'a>,
    rooms: Rooms,
    /// Handling of a turn after another with nothing to do in between, by bend and lead.
    base: Vec<[u32; 2]>,
    /// What comes on top for the same lead: by lead, last bend, bend.
    turn: [Vec<u32>; 2],
    /// What comes on top where the ends are swapped: by last bend, bend.
    swap: Vec<u32>,
    /// What comes on top for the first step.
    first: u32,
    /// Bends outward from the die up to which the tables hold gaps that were measured.
    measured: usize,
    /// Steps that were judged: by set, bend and lead.
    judged: HashMap<(u64, u8, u8), Option<u32>>,
    /// What the motions besides the bend allow each part of the tube: by side, bend, lead and the bends made on that side.
    others: HashMap<(Side, u8, u8, u64), Others>,
    /// Whether some step was left out because the budget ran out.
    unproven: bool,
    expanded: u64,
}

/// Least cost to go by set, last bend and lead.
struct ToGo {
    /// Where the cells of a set begin.
    row: Vec<u32>,
    cells: Vec<u32>,
}

const NOTHING: u32 = u32::MAX;
const GOAL: u32 = u32::MAX - 1;

impl ToGo {
    #[inline]
    fn get(&self, set: u64, last: usize, lead: usize) -> u32 {
        match self.row[set as usize] {
            NOTHING => BLOCKED,
            GOAL => 0,
            row => {
                let rank = (set & ((1 << last) - 1)).count_ones() as usize;
                self.cells[row as usize + 2 * rank + lead]
            }
        }
    }
}

/// Whether the sum of all times fits the tables.
pub(super) fn fits(task: &Task<'_>) -> bool {
    let seconds = &task.bender.seconds;
    let most = |turn: Turn| {
        let alone = task.handling(None, turn).to_milliseconds();
        let extra =
            [seconds.swap_ends, seconds.set_turn, seconds.change_die, 180.0 * seconds.turn_per_degree, seconds.near];
        extra.iter().fold(alone, |sum, seconds| sum.saturating_add(Cost::seconds(*seconds).to_milliseconds()))
    };
    let sum = (0..task.bends()).flat_map(turns).fold(0_u64, |sum, turn| sum.saturating_add(most(turn)));
    sum < u64::from(GOAL)
}

impl<'a> Exact<'a> {
    /// Fills the tables. `None` where it was stopped.
    pub(super) fn new(task: &'a Task<'a>, watch: &mut Watch<'_>) -> Option<Self> {
        let bends = task.bends();
        let measured = MEASURED.min(bends);
        let rooms = Rooms::new(task, watch, [0.0, 0.6], measured)?;
        let ms = |before: Option<Turn>, turn: Turn| {
            // The sum of all is known to fit.
            u32::try_from(task.handling(before, turn).to_milliseconds()).unwrap_or(GOAL)
        };
        // The same bend before itself: the same lead and die, and no turn.
        let base: Vec<[u32; 2]> = (0..bends).map(|bend| turns(bend).map(|turn| ms(Some(turn), turn))).collect();
        let over = |before: Turn, turn: Turn| ms(Some(before), turn) - base[turn.bend.0][lead_index(turn.lead)];
        let pairs = || (0..bends).flat_map(|last| (0..bends).map(move |bend| (BendId(last), BendId(bend))));
        let with = |before: LeadEnd, lead: LeadEnd| -> Vec<u32> {
            pairs().map(|(last, bend)| over(Turn { bend: last, lead: before }, Turn { bend, lead })).collect()
        };
        let turn = [with(LeadEnd::A, LeadEnd::A), with(LeadEnd::B, LeadEnd::B)];
        let swap = with(LeadEnd::A, LeadEnd::B);
        let first = if bends > 0 { ms(None, turns(0)[0]) - base[0][0] } else { 0 };
        let unproven = rooms.unproven;
        Some(Self {
            task,
            rooms,
            base,
            turn,
            swap,
            first,
            measured,
            judged: HashMap::new(),
            others: HashMap::new(),
            unproven,
            expanded: 0,
        })
    }

    /// Most bends that can be made as far as the machine alone says.
    pub(super) fn furthest(&self) -> usize {
        let bends = self.task.bends();
        let mut reached = vec![false; 1 << bends];
        reached[0] = true;
        let mut most = 0;
        for set in 0..1_u64 << bends {
            if !reached[set as usize] {
                continue;
            }
            most = most.max(set.count_ones() as usize);
            for bend in (0..bends).filter(|bend| set >> bend & 1 == 0) {
                if (0..2).any(|lead| self.rooms.near(bend, lead, set) != BLOCKED) {
                    reached[(set | 1 << bend) as usize] = true;
                }
            }
        }
        most
    }

    /// The backward pass for orders that end with so many bends made. `None` where it was stopped.
    fn to_go(&self, goal: usize, watch: &mut Watch<'_>, from: f64) -> Option<ToGo> {
        let bends = self.task.bends();
        let sets = 1_u64 << bends;
        let mut to_go = ToGo { row: vec![NOTHING; sets as usize], cells: Vec::new() };
        let one_die = self.task.blank.bends.windows(2).all(|pair| pair[0].die == pair[1].die);
        let mut open: [Vec<(usize, u32)>; 2] = [Vec::new(), Vec::new()];
        for set in (0..sets).rev() {
            if set & 0xffff == 0 {
                if watch.stopped() {
                    return None;
                }
                watch.tell(from + (0.9 - from) * (1.0 - set as f64 / sets as f64), 0);
            }
            let made = set.count_ones() as usize;
            if made >= goal {
                if made == goal {
                    to_go.row[set as usize] = GOAL;
                }
                continue;
            }
            open.iter_mut().for_each(Vec::clear);
            let mut left = !set & (sets - 1);
            while left != 0 {
                let bend = left.trailing_zeros() as usize;
                left &= left - 1;
                let then = set | 1 << bend;
                if to_go.row[then as usize] == NOTHING {
                    continue;
                }
                for (lead, open) in open.iter_mut().enumerate() {
                    let rest = to_go.get(then, bend, lead);
                    if rest == BLOCKED {
                        continue;
                    }
                    let near = self.rooms.near(bend, lead, set);
                    if near != BLOCKED {
                        open.push((bend, near + self.base[bend][lead] + rest));
                    }
                }
            }
            if open.iter().all(Vec::is_empty) {
                continue;
            }
            // Cells never outgrow 32 bits: 22 bends have 2^22 x 22 of them.
            to_go.row[set as usize] = u32::try_from(to_go.cells.len()).unwrap_or(NOTHING);
            let least = [0, 1].map(|lead: usize| open[lead].iter().map(|(_, cost)| *cost).min());
            if set == 0 {
                let least = least.iter().flatten().min().map_or(BLOCKED, |cost| cost + self.first);
                to_go.cells.push(least);
                continue;
            }
            let mut lasts = set;
            while lasts != 0 {
                let last = lasts.trailing_zeros() as usize;
                lasts &= lasts - 1;
                for lead in 0..2 {
                    let turn = &self.turn[lead][last * bends..(last + 1) * bends];
                    let same = open[lead].iter().map(|(bend, cost)| cost + turn[*bend]).min();
                    let swap = &self.swap[last * bends..(last + 1) * bends];
                    let other = if one_die {
                        least[1 - lead].map(|cost| cost + swap[last])
                    } else {
                        open[1 - lead].iter().map(|(bend, cost)| cost + swap[*bend]).min()
                    };
                    to_go.cells.push(same.into_iter().chain(other).min().unwrap_or(BLOCKED));
                }
            }
        }
        Some(to_go)
    }

    /// The best orders that make so many bends, whichever those are.
    ///
    /// Partial orders come out where `goal` is less than all bends.
    pub(super) fn best(&mut self, goal: usize, watch: &mut Watch<'_>) -> Ended {
        let none = Ended { orders: Vec::new(), complete: false };
        if self.measured < self.task.bends() && self.expanded > POOR {
            self.measured = self.task.bends();
            let Some(rooms) = Rooms::new(self.task, watch, [0.9; 2], self.measured) else { return none };
            self.rooms = rooms;
        }
        let Some(to_go) = self.to_go(goal, watch, 0.6) else { return none };
        let most = if self.measured < self.task.bends() { self.expanded + POOR } else { EXPANSIONS };
        let mut found = Vec::new();
        let start = to_go.row[0];
        if goal > 0 && start != NOTHING {
            let mut paths = Paths::default();
            let least = to_go.cells[start as usize];
            paths.push(
                least,
                Path { set: 0, turn: None, cost: 0, near: 0, parent: NO_PARENT, judged: true, list: List::default() },
            );
            let mut seen: HashMap<(u64, u8, u8), usize> = HashMap::new();
            while let Some((total, place)) = paths.pop() {
                if watch.stopped() || self.expanded >= EXPANSIONS {
                    return Ended { orders: found, complete: false };
                }
                if self.expanded > most {
                    return self.best(goal, watch);
                }
                let path = paths.all[place];
                if let Some(turn) = path.turn.filter(|_| !path.judged) {
                    // The step itself is looked at only now that it stands on the best way.
                    let before = path.set & !(1 << turn.bend.0);
                    let Some(near) = self.judge(before, turn) else { continue };
                    if !self.turns(paths.all.get(path.parent as usize).and_then(|path| path.turn), turn, before) {
                        continue;
                    }
                    let judged = Path { cost: path.cost - path.near + near, near, judged: true, ..path };
                    paths.push(total - path.near + near, judged);
                    continue;
                }
                let count = seen.entry(path.state()).or_insert(0);
                *count += 1;
                if *count > self.task.best {
                    continue;
                }
                if path.set.count_ones() as usize == goal {
                    found.push(Priced { order: paths.order(place), cost: Cost::milliseconds(u64::from(path.cost)) });
                    if found.len() >= self.task.best {
                        return Ended { orders: found, complete: true };
                    }
                    continue;
                }
                self.expanded += 1;
                watch.tell(0.9, self.expanded);
                self.expand(&mut paths, place, &to_go);
            }
        }
        Ended { orders: found, complete: true }
    }

    /// Whether some step was left out because the budget of its check ran out.
    pub(super) fn unproven(&self) -> bool {
        self.unproven
    }

    fn expand(&self, paths: &mut Paths, place: usize, to_go: &ToGo) {
        let path = paths.all[place];
        let bends = self.task.bends();
        for turn in (0..bends).filter(|bend| path.set >> bend & 1 == 0).flat_map(turns) {
            let (bend, lead) = (turn.bend.0, lead_index(turn.lead));
            let set = path.set | 1 << bend;
            let rest = to_go.get(set, bend, lead);
            let near = if rest == BLOCKED { BLOCKED } else { self.rooms.near(bend, lead, path.set) };
            if near == BLOCKED {
                continue;
            }
            let over = match path.turn {
                None => self.first,
                Some(last) if last.lead == turn.lead => self.turn[lead][last.bend.0 * bends + bend],
                Some(last) => self.swap[last.bend.0 * bends + bend],
            };
            let cost = path.cost + self.base[bend][lead] + over + near;
            let list = path.list.with(path.set.count_ones() as usize, turn);
            let next = Path { set, turn: Some(turn), cost, near, parent: place as u32, judged: false, list };
            paths.push(cost + rest, next);
        }
    }

    /// What the tightest gap of a step costs, of the tube against itself too; `None` where it cannot be made.
    fn judge(&mut self, set: u64, turn: Turn) -> Option<u32> {
        let (bend, lead) = (turn.bend.0, lead_index(turn.lead));
        let key = (set, bend as u8, lead as u8);
        if let Some(known) = self.judged.get(&key) {
            return *known;
        }
        let task = self.task;
        let made = self.made(set);
        let step = task.step(turn, &made);
        let mut judged = match task.machine.passage(&step, task.bar()) {
            // No sum outgrows 32 bits: that was looked at first.
            Passage::Free(gap) => Some(u32::try_from(task.nearness(gap).to_milliseconds()).unwrap_or(GOAL)),
            Passage::Blocked => None,
            Passage::Unproven => {
                self.unproven = true;
                None
            }
        };
        if judged.is_some() && task.looks_further() && !self.further(set, turn, &step) {
            judged = None;
        }
        self.judged.insert(key, judged);
        judged
    }

    fn made(&self, set: u64) -> Vec<bool> {
        (0..self.task.bends()).map(|bend| set >> bend & 1 == 1).collect()
    }

    /// Whether a step passes the motions besides the bend, but for the turn before it.
    fn further(&mut self, set: u64, turn: Turn, step: &Step<'_>) -> bool {
        let (machine, bar) = (self.task.machine, self.task.bar());
        let (bend, lead) = (turn.bend.0, lead_index(turn.lead));
        let (low, high) = (set & ((1 << bend) - 1), set >> (bend + 1));
        let (ahead, behind) = if turn.lead == LeadEnd::A { (low, high) } else { (high, low) };
        let mut part = |side, set, ask: &dyn Fn() -> Others| {
            *self.others.entry((side, bend as u8, lead as u8, set)).or_insert_with(ask)
        };
        let parts = [
            part(Side::Lead, ahead, &|| machine.others_lead(step, bar)),
            part(Side::Trail, behind, &|| machine.others_trail(step, bar)),
        ];
        let recoil = machine.recoil_between(step, bar);
        self.unproven |= recoil == Decision::Unproven || parts.iter().any(|part| part.unproven);
        together(&parts) && recoil == Decision::Clear
    }

    fn turns(&mut self, before: Option<Turn>, turn: Turn, set: u64) -> bool {
        let answer = self.task.turns(before, turn, &self.made(set));
        self.unproven |= answer == Decision::Unproven;
        answer == Decision::Clear
    }
}

const NO_PARENT: u32 = u32::MAX;

/// An order, or the beginning of one, as a list that sorts by bend number, lead A before lead B.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
struct List([u8; MOST_BENDS]);

impl List {
    fn with(mut self, place: usize, turn: Turn) -> Self {
        self.0[place] = 1 + 2 * turn.bend.0 as u8 + lead_index(turn.lead) as u8;
        self
    }
}

/// A way from the start to a state.
#[derive(Clone, Copy, Debug)]
struct Path {
    set: u64,
    turn: Option<Turn>,
    cost: u32,
    /// What the gap of the last step costs, in `cost`.
    near: u32,
    parent: u32,
    /// Whether the last step was looked at in full.
    judged: bool,
    list: List,
}

impl Path {
    fn state(&self) -> (u64, u8, u8) {
        self.turn.map_or((0, 0, 0), |turn| (self.set, turn.bend.0 as u8, lead_index(turn.lead) as u8))
    }
}

/// All ways so far, and those that are open.
#[derive(Default)]
struct Paths {
    all: Vec<Path>,
    open: BinaryHeap<Reverse<(u32, List, u32)>>,
}

impl Paths {
    fn push(&mut self, total: u32, path: Path) {
        self.open.push(Reverse((total, path.list, self.all.len() as u32)));
        self.all.push(path);
    }

    fn pop(&mut self) -> Option<(u32, usize)> {
        self.open.pop().map(|Reverse((total, _, place))| (total, place as usize))
    }

    fn order(&self, mut place: usize) -> Order {
        let mut turns = Vec::new();
        while let Some(turn) = self.all[place].turn {
            turns.push(turn);
            place = self.all[place].parent as usize;
        }
        turns.reverse();
        Order(turns)
    }
}
