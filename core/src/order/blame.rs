//! Why there is no order: the fewest causes without which there would be one.
//!
//! A cause is one limit, one obstacle or one motion that stops one bend. Each step of an order is stopped by so many of them, and since each
//! bend is made once, no cause is counted twice along an order. The order that is stopped by fewest causes in all is a shortest path, and
//! its causes are what is looked for: without them that order could be made, and without any proper part of them none could, or a
//! shorter path would have been found.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap, HashMap};

use super::Turn;
use super::task::{Task, turns};
use crate::bender::TurnTube;
use crate::bender::limits::{self, Reason};
use crate::body::Side;
use crate::centreline::BendId;
use crate::clearance::{Decision, LeadPart, Others, PartOf, TrailPart};
use crate::forming::LeadEnd;

/// Tubes with more bends are not asked about: all sets of made bends are gone through.
pub(crate) const MOST_BENDS: usize = 14;

/// Tubes with more bends are not told when a cause applies.
const MOST_SCOPED: usize = 10;

/// What stops a bend.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Cause {
    /// A hard limit.
    Limit(Reason),
    /// An obstacle that the bend comes too near to, by name.
    Obstacle(String),
    /// The recoil.
    Recoil,
    /// The way back of the bender.
    Return,
    /// No way out.
    TakeOut,
    /// No way in.
    PutIn,
    /// The turn from the step before.
    Turn,
}

/// When a cause stops its bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum When {
    /// Whatever is made before, with either end leading.
    Always,
    /// With either end leading, just where this bend is made before.
    After(BendId),
    /// With this end leading, whatever is made before.
    Led,
    /// With this end leading, just where this bend is made before.
    LedAfter(BendId),
    /// With the bends made before that are made in the order that is told.
    Here,
}

/// A step that is stopped, in an order that is stopped by fewest causes in all.
#[derive(Clone, Debug)]
pub(crate) struct Blamed {
    pub(crate) turn: Turn,
    pub(crate) before: Option<Turn>,
    pub(crate) made: Vec<bool>,
    pub(crate) causes: Vec<(Cause, When)>,
}

/// Places of the causes in the bits of a step; those of the obstacles stand behind them.
const GRIP: u32 = 0;
const FOLLOWER: u32 = 1;
const DIE_ARC: u32 = 2;
const FIT: u32 = 3;
const RECOIL: u32 = 4;
const RETURN: u32 = 5;
const TAKE_OUT: u32 = 6;
const PUT_IN: u32 = 7;
const TURN: u32 = 8;
const TUBE: u32 = 9;
const OBSTACLES: u32 = 10;

/// A state: bends made, and the last turn where that matters.
type State = (u64, Option<Turn>);

/// For each state the fewest causes on the way to it, and the step before.
type Best = BTreeMap<State, (u32, Option<(State, Turn)>)>;

struct Blame<'a> {
    task: &'a Task<'a>,
    /// By turn, side, and the bends made on that side.
    parts: HashMap<(Turn, Side, u64), (u128, Others)>,
}

/// The stopped steps of an order that is stopped by fewest causes; empty where some order is stopped by none. `None` where the tube has too many bends, or it was stopped.
pub(crate) fn blame(task: &Task<'_>, stopped: &dyn Fn() -> bool) -> Option<Vec<Blamed>> {
    let bends = task.bends();
    if bends > MOST_BENDS {
        return None;
    }
    let mut blame = Blame { task, parts: HashMap::new() };
    let groove = task.bender.motions.turn == Some(TurnTube::Groove);
    let full = (1_u64 << bends) - 1;
    let mut open = BinaryHeap::from([Reverse((0_u32, (0_u64, None)))]);
    let mut best: Best = BTreeMap::from([((0, None), (0, None))]);
    while let Some(Reverse((count, state))) = open.pop() {
        if stopped() {
            return None;
        }
        if best.get(&state).is_some_and(|(known, _)| *known < count) {
            continue;
        }
        let (set, last) = state;
        if set == full {
            return Some(blame.told(&best, state));
        }
        for turn in (0..bends).filter(|bend| set >> bend & 1 == 0).flat_map(turns) {
            let more = count + blame.causes(set, last, turn).count_ones();
            let then = (set | 1 << turn.bend.0, groove.then_some(turn));
            if best.get(&then).is_none_or(|(known, _)| more < *known) {
                best.insert(then, (more, Some((state, turn))));
                open.push(Reverse((more, then)));
            }
        }
    }
    None
}

impl Blame<'_> {
    fn made(&self, set: u64) -> Vec<bool> {
        (0..self.task.bends()).map(|bend| set >> bend & 1 == 1).collect()
    }

    /// The causes that stop a step, as bits.
    fn causes(&mut self, set: u64, last: Option<Turn>, turn: Turn) -> u128 {
        let made = self.made(set);
        let task = self.task;
        let mut bits = 0;
        for broken in limits::check(&task.step(turn, &made)) {
            bits |= 1
                << match broken.reason {
                    Reason::Grip => GRIP,
                    Reason::Follower => FOLLOWER,
                    Reason::DieArc => DIE_ARC,
                    Reason::Fit => FIT,
                };
        }
        bits |= self.machine(set, turn);
        let step = task.step(turn, &made);
        let bar = task.bar();
        let pass = |decision: Decision| decision == Decision::Clear;
        if !pass(self.between(&step)) {
            bits |= 1 << TUBE;
        }
        if !pass(task.machine.recoil_between(&step, bar)) {
            bits |= 1 << RECOIL;
        }
        if last.is_some() && !pass(task.turns(last, turn, &made)) {
            bits |= 1 << TURN;
        }
        bits
    }

    fn between(&self, step: &crate::bender::Step<'_>) -> Decision {
        use crate::clearance::reach::Passage;
        match self.task.machine.between(&LeadPart::new(step), &TrailPart::new(step), self.task.bar()) {
            Passage::Free(_) => Decision::Clear,
            Passage::Blocked => Decision::NotClear,
            Passage::Unproven => Decision::Unproven,
        }
    }

    /// What both parts by themselves are stopped by.
    fn machine(&mut self, set: u64, turn: Turn) -> u128 {
        let bend = turn.bend.0;
        let (low, high) = (set & ((1 << bend) - 1), set & !((2 << bend) - 1));
        let (ahead, behind) = if turn.lead == LeadEnd::A { (low, high) } else { (high, low) };
        let lead = self.part(turn, Side::Lead, ahead);
        let trail = self.part(turn, Side::Trail, behind);
        let ways = |one: crate::clearance::Ways, other| (one & other).is_empty();
        let mut bits = (lead.0 | trail.0) << OBSTACLES;
        bits |= u128::from(!(lead.1.recoil && trail.1.recoil)) << RECOIL;
        bits |= u128::from(!(lead.1.back && trail.1.back)) << RETURN;
        bits |= u128::from(ways(lead.1.out, trail.1.out)) << TAKE_OUT;
        bits | u128::from(ways(lead.1.put_in, trail.1.put_in)) << PUT_IN
    }

    fn part(&mut self, turn: Turn, side: Side, set: u64) -> (u128, Others) {
        if let Some(known) = self.parts.get(&(turn, side, set)) {
            return *known;
        }
        let made = self.made(set);
        let step = self.task.step(turn, &made);
        let (machine, bar) = (self.task.machine, self.task.bar());
        let (blockers, others) = if side == Side::Lead {
            (machine.blockers(PartOf::Lead(&LeadPart::new(&step)), bar), machine.others_lead(&step, bar))
        } else {
            (machine.blockers(PartOf::Trail(&TrailPart::new(&step)), bar), machine.others_trail(&step, bar))
        };
        // More obstacles than bits count as one.
        let most = u128::BITS - OBSTACLES - 1;
        let over = u128::from(blockers >> most != 0) << most;
        let found = ((blockers & ((1 << most) - 1)) | over, others);
        self.parts.insert((turn, side, set), found);
        found
    }

    fn told(&mut self, best: &Best, mut state: State) -> Vec<Blamed> {
        let mut all = Vec::new();
        while let Some((_, Some((before, turn)))) = best.get(&state) {
            let bits = self.causes(before.0, before.1, *turn);
            if bits != 0 {
                all.push((*before, *turn, bits));
            }
            state = *before;
        }
        all.reverse();
        all.into_iter()
            .map(|((set, before), turn, bits)| Blamed {
                turn,
                before,
                made: self.made(set),
                causes: self.named(turn, bits),
            })
            .collect()
    }

    fn named(&mut self, turn: Turn, bits: u128) -> Vec<(Cause, When)> {
        let die = self.task.blank.bends[turn.bend.0].die;
        let names: Vec<String> = self.task.machine.names(die).map(ToOwned::to_owned).collect();
        let cause = |place: u32| match place {
            GRIP => Cause::Limit(Reason::Grip),
            FOLLOWER => Cause::Limit(Reason::Follower),
            DIE_ARC => Cause::Limit(Reason::DieArc),
            FIT => Cause::Limit(Reason::Fit),
            RECOIL => Cause::Recoil,
            RETURN => Cause::Return,
            TAKE_OUT => Cause::TakeOut,
            PUT_IN => Cause::PutIn,
            TURN => Cause::Turn,
            TUBE => Cause::Obstacle("tube".to_owned()),
            place => Cause::Obstacle(names[((place - OBSTACLES) as usize).min(names.len() - 1)].clone()),
        };
        let places: Vec<u32> = (0..u128::BITS).filter(|place| bits >> place & 1 == 1).collect();
        places.into_iter().map(|place| (cause(place), self.when(turn, place))).collect()
    }

    /// When a cause stops a bend, held against every set of bends made before.
    fn when(&mut self, turn: Turn, place: u32) -> When {
        let bends = self.task.bends();
        if bends > MOST_SCOPED || place == TURN {
            return When::Here;
        }
        let mut scope = |turn: Turn| {
            let (mut every, mut just) = (true, !(1_u64 << turn.bend.0) & ((1 << bends) - 1));
            for set in (0..1_u64 << bends).filter(|set| set >> turn.bend.0 & 1 == 0) {
                let stopped = self.causes(set, None, turn) >> place & 1 == 1;
                every &= stopped;
                // A bend stays in question as long as it is made just in the sets that are stopped.
                just &= if stopped { set } else { !set };
            }
            (every, just)
        };
        let [this, other] = [turn.lead, turn.lead.other()].map(|lead| scope(Turn { lead, ..turn }));
        let bend = |just: u64| (just != 0).then(|| BendId(just.trailing_zeros() as usize));
        match (this, other) {
            ((true, _), (true, _)) => When::Always,
            ((true, _), _) => When::Led,
            ((_, just), (_, also)) => {
                bend(just & also).map(When::After).or_else(|| bend(just).map(When::LedAfter)).unwrap_or(When::Here)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use nalgebra::Point3;

    use super::*;
    use crate::bender::{Bender, Shape};
    use crate::clearance::testing::{bender, blank, solid};
    use crate::clearance::{Machine, Verdict};
    use crate::forming::Blank;
    use crate::units::Length;

    /// Low over the floor, with a beam over the tube and a wall beside it.
    fn cramped() -> Bender {
        let mut cramped = bender();
        cramped.centre_height = Length::mm(320.0);
        let block = |min: [f64; 3], max: [f64; 3]| Shape::Box { min: Point3::from(min), max: Point3::from(max) };
        cramped.solids.push(solid("beam", block([-600.0, -40.0, 60.0], [-100.0, 40.0, 110.0])));
        cramped.solids.push(solid("wall", block([-900.0, 420.0, -300.0], [900.0, 460.0, 700.0])));
        cramped
    }

    fn tube(seed: u32) -> Blank {
        let mut state = seed.wrapping_mul(2_654_435_761).wrapping_add(12345);
        let mut within = |low: f64, high: f64| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            low + (high - low) * f64::from(state >> 8) / f64::from(1_u32 << 24)
        };
        let count = 2 + seed % 3;
        let bends: Vec<_> = (0..count)
            .map(|place| {
                let roll = if place == 0 { 0.0 } else { within(-180.0, 180.0) };
                (within(40.0, 420.0), roll, within(20.0, 110.0))
            })
            .collect();
        blank(&bends, within(40.0, 420.0), 100.0, 40.0)
    }

    /// What stops a step, by the full report.
    fn stopped_by(task: &Task<'_>, turn: Turn, made: &[bool]) -> BTreeSet<Cause> {
        let step = task.step(turn, made);
        let report = task.machine.report(&step);
        let near = report.clearances.iter().filter(|clearance| clearance.verdict != Verdict::Clear);
        let near = near.map(|clearance| Cause::Obstacle(clearance.obstacle.clone()));
        limits::check(&step).iter().map(|broken| Cause::Limit(broken.reason)).chain(near).collect()
    }

    /// The causes of every order in turn: the fewest, and whether some order has no other causes than those allowed.
    fn brute(
        task: &Task<'_>,
        made: &mut Vec<bool>,
        so_far: &mut Vec<(BendId, Cause)>,
        allowed: &BTreeSet<(BendId, Cause)>,
        found: &mut (usize, bool),
    ) {
        if made.iter().all(|made| *made) {
            found.0 = found.0.min(so_far.len());
            found.1 |= so_far.iter().all(|cause| allowed.contains(cause));
            return;
        }
        for bend in (0..made.len()).filter(|bend| !made[*bend]).collect::<Vec<_>>() {
            for turn in turns(bend) {
                let before = so_far.len();
                so_far.extend(stopped_by(task, turn, made).into_iter().map(|cause| (turn.bend, cause)));
                made[bend] = true;
                brute(task, made, so_far, allowed, found);
                made[bend] = false;
                so_far.truncate(before);
            }
        }
    }

    #[test]
    fn the_causes_are_the_fewest_without_which_there_is_an_order() {
        let bender = cramped();
        let machine = Machine::new(&bender);
        let mut impossible = 0;
        for seed in 0..60 {
            let blank = tube(seed);
            let task = Task { bender: &bender, machine: &machine, blank: &blank, accept_tight: false, best: 1 };
            let blamed = blame(&task, &|| false).expect("few bends");
            let allowed: BTreeSet<(BendId, Cause)> = blamed
                .iter()
                .flat_map(|one| one.causes.iter().map(|(cause, _)| (one.turn.bend, cause.clone())))
                .collect();
            let mut found = (usize::MAX, false);
            brute(&task, &mut vec![false; blank.bends.len()], &mut Vec::new(), &allowed, &mut found);
            assert_eq!(allowed.len(), found.0, "seed {seed}: the fewest");
            assert!(found.1, "seed {seed}: without them there is an order");
            impossible += u32::from(!allowed.is_empty());
            for one in &blamed {
                for (cause, when) in &one.causes {
                    hold(&task, one, cause, *when);
                }
            }
        }
        assert!(impossible > 10 && impossible < 60, "{impossible}");
    }

    /// What is said of when a cause applies holds for every set of bends.
    fn hold(task: &Task<'_>, blamed: &Blamed, cause: &Cause, when: When) {
        let bends = task.bends();
        for set in (0..1_u64 << bends).filter(|set| set >> blamed.turn.bend.0 & 1 == 0) {
            let made: Vec<bool> = (0..bends).map(|bend| set >> bend & 1 == 1).collect();
            for turn in turns(blamed.turn.bend.0) {
                let wanted = match when {
                    When::Always => true,
                    When::After(bend) => made[bend.0],
                    When::Led if turn.lead == blamed.turn.lead => true,
                    When::LedAfter(bend) if turn.lead == blamed.turn.lead => made[bend.0],
                    _ => continue,
                };
                assert_eq!(stopped_by(task, turn, &made).contains(cause), wanted, "{cause:?} {when:?} {turn} {made:?}");
            }
        }
    }

    #[test]
    fn nothing_is_blamed_where_there_is_an_order_and_a_stop_is_heeded() {
        let bender = bender();
        let machine = Machine::new(&bender);
        let blank = blank(&[(400.0, 0.0, 30.0), (400.0, 0.0, 30.0)], 400.0, 100.0, 40.0);
        let task = Task { bender: &bender, machine: &machine, blank: &blank, accept_tight: false, best: 1 };
        assert!(blame(&task, &|| false).expect("few bends").is_empty());
        assert!(blame(&task, &|| true).is_none());
    }
}
