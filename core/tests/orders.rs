//! The order search, held against trying every order and against a search without tables.

#[expect(unreachable_pub, reason = "shared with the benchmarks")]
mod shop;

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};
use std::sync::atomic::{AtomicBool, Ordering};

use nalgebra::Point3;
use tubewright::bender::{
    Accuracy, BendMotion, Bender, Carrier, Follower, Hand, Motions, Shape, Solid, TakeOut, TurnTube, limits,
};
use tubewright::centreline::BendId;
use tubewright::clearance::{Machine, Motion, Step, Verdict};
use tubewright::forming::{Blank, LeadEnd};
use tubewright::order::cost::{self, Cost, Handling};
use tubewright::order::{Order, Solved, Task, Turn, Watch, solve};
use tubewright::units::{Angle, Length};

/// Few in the short count, many where `TUBEWRIGHT_COUNT` is `full`.
fn count(few: u64, many: u64) -> u64 {
    if std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|value| value == "full") { many } else { few }
}

/// Seconds that costs may differ by: a gap is compared to 0.06 mm, and a gap of nothing costs 60 s more than one of 40 mm.
fn allowed(bends: usize) -> f64 {
    0.09 * bends as f64
}

/// The floor bender, each seed with another hand, motion, gap to be kept or accuracy, and some with fewer solids.
fn bender(seed: u64) -> Bender {
    let mut bender = shop::bender();
    if seed % 3 == 1 {
        bender.hand = Hand::Clockwise;
    }
    if seed % 5 == 2 {
        bender.motion = BendMotion::DieStands;
    }
    if seed % 7 == 3 {
        let accuracy = Accuracy { mark: Length::mm(0.5), bend: Angle::deg(0.2), rotation: Angle::deg(0.3) };
        bender.accuracy = Some(accuracy);
    }
    if seed % 3 == 2 {
        bender.dies[0].follower = Follower::Travels;
    }
    if seed.is_multiple_of(2) {
        bender.solids.retain(|solid| !solid.name.contains("arm"));
    }
    if seed % 5 == 1 {
        bender.motions = Motions {
            recoil: true,
            back: true,
            put_in: true,
            take_out: vec![TakeOut::Up, TakeOut::Sideways, TakeOut::Along],
            turn: Some(if seed.is_multiple_of(2) { TurnTube::Groove } else { TurnTube::Lifted }),
        };
        // Under the arms nothing could be lifted out.
        bender.solids.retain(|solid| solid.name != "upper arm");
    }
    if seed % 4 == 1 {
        let smaller = tubewright::bender::Die { name: "second".into(), ..bender.dies[0].clone() };
        bender.dies.push(smaller);
    }
    bender
}

fn tube(seed: u64, size: usize, bender: &Bender) -> Blank {
    let mut blank = if seed.is_multiple_of(2) { shop::plausible(seed, size) } else { shop::any(seed, size) };
    if bender.dies.len() > 1 {
        blank.bends.iter_mut().skip(1).step_by(2).for_each(|bend| bend.die = 1);
    }
    blank
}

fn solved(bender: &Bender, blank: &Blank, accept_tight: bool, best: usize) -> Solved {
    let machine = Machine::new(bender);
    let task = Task { bender, machine: &machine, blank, accept_tight, best };
    solve(&task, &mut Watch { stop: &AtomicBool::new(false), progress: &mut |_| {} })
}

fn passes(verdict: Verdict, accept_tight: bool) -> bool {
    match verdict {
        Verdict::Clear => true,
        Verdict::Tight => accept_tight,
        Verdict::Contact | Verdict::Unproven => false,
    }
}

/// Steps judged by the full report, each once.
struct Steps<'a> {
    machine: Machine,
    bender: &'a Bender,
    blank: &'a Blank,
    accept_tight: bool,
    known: BTreeMap<(u32, usize, usize), Option<Cost>>,
    turned: BTreeMap<(u32, Turn, Turn), bool>,
}

impl<'a> Steps<'a> {
    fn new(bender: &'a Bender, blank: &'a Blank, accept_tight: bool) -> Self {
        Self {
            machine: Machine::new(bender),
            bender,
            blank,
            accept_tight,
            known: BTreeMap::new(),
            turned: BTreeMap::new(),
        }
    }

    /// What the gap of a step costs; `None` where it cannot be made.
    fn near(&mut self, set: u32, turn: Turn) -> Option<Cost> {
        let key = (set, turn.bend.0, usize::from(turn.lead == LeadEnd::B));
        if let Some(known) = self.known.get(&key) {
            return *known;
        }
        let made: Vec<bool> = (0..self.blank.bends.len()).map(|bend| set >> bend & 1 == 1).collect();
        let step = Step { bender: self.bender, blank: self.blank, bend: turn.bend, lead: turn.lead, made: &made };
        let judged = limits::check(&step).is_empty().then(|| self.machine.report(&step)).and_then(|report| {
            let others = self.machine.report_others(&step, None);
            let worst = others.iter().map(|clearance| clearance.verdict).fold(report.verdict, Verdict::max);
            let passes = passes(worst, self.accept_tight);
            let gaps = report.clearances.iter().filter_map(|clearance| clearance.nearest).map(|nearest| nearest.gap);
            let least = gaps.reduce(|one, other| if other < one { other } else { one });
            passes.then(|| cost::nearness(&self.bender.seconds, &self.bender.clearance, least))
        });
        self.known.insert(key, judged);
        judged
    }

    fn handling(&self, before: Option<Turn>, turn: Turn) -> Cost {
        let bend = &self.blank.bends[turn.bend.0];
        let rolled = before.filter(|before| before.lead == turn.lead);
        let this = Handling {
            before: before.map(|before| (before.lead, self.blank.bends[before.bend.0].die)),
            lead: turn.lead,
            die: bend.die,
            turn: rolled.map_or(Angle::ZERO, |before| self.blank.turn(before.bend, turn.bend, turn.lead)),
            pin_moves: self.bender.pin.map_or(0, |pin| pin.moves(self.bender.pointer.reading(bend.die_angle)).len()),
        };
        cost::handling(&self.bender.seconds, &this)
    }

    /// Whether the tube can be turned from the step before to this one.
    fn room_to_turn(&mut self, set: u32, before: Option<Turn>, turn: Turn) -> bool {
        let Some(before) = before.filter(|before| self.bender.motions.turn.is_some() && before.lead == turn.lead)
        else {
            return true;
        };
        let key = (set, before, turn);
        if let Some(known) = self.turned.get(&key) {
            return *known;
        }
        let made = |set: u32| -> Vec<bool> { (0..self.blank.bends.len()).map(|bend| set >> bend & 1 == 1).collect() };
        let (now, then) = (made(set), made(set & !(1 << before.bend.0)));
        let (bender, blank) = (self.bender, self.blank);
        let step = Step { bender, blank, bend: turn.bend, lead: turn.lead, made: &now };
        let earlier = Step { bender, blank, bend: before.bend, lead: before.lead, made: &then };
        let found = self.machine.report_others(&step, Some(&earlier));
        let mut turning = found.iter().filter(|clearance| clearance.motion == Motion::Turn);
        let room = turning.all(|clearance| passes(clearance.verdict, self.accept_tight));
        self.turned.insert(key, room);
        room
    }

    fn turns(&self, set: u32) -> Vec<Turn> {
        let left = (0..self.blank.bends.len()).filter(|bend| set >> bend & 1 == 0);
        left.flat_map(|bend| [LeadEnd::A, LeadEnd::B].map(|lead| Turn { bend: BendId(bend), lead })).collect()
    }

    /// Every order in turn: the least cost and the most bends made.
    fn brute(&mut self, set: u32, before: Option<Turn>, so_far: Cost, best: &mut Option<Cost>, most: &mut u32) {
        *most = (*most).max(set.count_ones());
        if set.count_ones() as usize == self.blank.bends.len() {
            *best = Some(best.map_or(so_far, |best| best.min(so_far)));
        }
        for turn in self.turns(set) {
            if let Some(near) = self.near(set, turn)
                && self.room_to_turn(set, before, turn)
            {
                let cost = so_far + self.handling(before, turn) + near;
                self.brute(set | 1 << turn.bend.0, Some(turn), cost, best, most);
            }
        }
    }

    fn cost(&mut self, order: &Order) -> Option<Cost> {
        let mut cost = Cost::default();
        let (mut set, mut before) = (0, None);
        for turn in &order.0 {
            cost += self.handling(before, *turn) + self.near(set, *turn)?;
            if !self.room_to_turn(set, before, *turn) {
                return None;
            }
            set |= 1 << turn.bend.0;
            before = Some(*turn);
        }
        Some(cost)
    }

    /// The least cost by a search from state to state without any guide.
    fn direct(&mut self) -> Option<Cost> {
        let mut open = BinaryHeap::from([Reverse((0_u64, 0_u32, None::<Turn>))]);
        let mut done = std::collections::BTreeSet::new();
        while let Some(Reverse((cost, set, last))) = open.pop() {
            if !done.insert((set, last)) {
                continue;
            }
            if set.count_ones() as usize == self.blank.bends.len() {
                return Some(Cost::milliseconds(cost));
            }
            for turn in self.turns(set) {
                if let Some(near) = self.near(set, turn)
                    && self.room_to_turn(set, last, turn)
                {
                    let step = self.handling(last, turn) + near;
                    open.push(Reverse((cost + step.to_milliseconds(), set | 1 << turn.bend.0, Some(turn))));
                }
            }
        }
        None
    }
}

fn agree(seed: u64, wanted: Option<Cost>, solved: &Solved, steps: &mut Steps<'_>) {
    let bends = steps.blank.bends.len();
    assert!(solved.proved && !solved.bounded && !solved.stopped, "seed {seed}: not proved");
    match (wanted, solved.orders.first()) {
        (None, None) => {}
        (Some(wanted), Some(found)) => {
            let off = (wanted.to_seconds() - found.cost.to_seconds()).abs();
            assert!(off <= allowed(bends), "seed {seed}: {wanted:?} and {found:?}");
            let again = steps.cost(&found.order).expect("an order that was found can be made");
            let off = (again.to_seconds() - found.cost.to_seconds()).abs();
            assert!(off <= allowed(bends), "seed {seed}: {again:?} and {found:?}");
        }
        other => panic!("seed {seed}: {other:?}"),
    }
}

#[test]
fn every_order_tried_in_turn_gives_the_same_cost_and_the_same_verdict() {
    let mut possible = 0;
    let tubes = count(40, 300);
    for seed in 0..tubes {
        let bender = bender(seed);
        let blank = tube(seed, 1 + (seed % 7) as usize, &bender);
        let accept_tight = seed % 6 == 5;
        let mut steps = Steps::new(&bender, &blank, accept_tight);
        let (mut best, mut most) = (None, 0);
        steps.brute(0, None, Cost::default(), &mut best, &mut most);
        let solved = solved(&bender, &blank, accept_tight, 1);
        agree(seed, best, &solved, &mut steps);
        possible += u64::from(best.is_some());
        if best.is_none() {
            assert_eq!(solved.furthest.0.len(), most as usize, "seed {seed}: it gets as far");
            assert!(steps.cost(&solved.furthest).is_some(), "seed {seed}: so far it can be made");
        }
    }
    assert!(possible * 5 > tubes && possible < tubes, "both kinds are tried: {possible} of {tubes}");
}

#[test]
fn a_direct_search_without_tables_agrees() {
    let mut possible = 0;
    for seed in 1000..1000 + count(4, 60) {
        let mut bender = bender(seed);
        // The bend alone: without tables every other motion of every step would be asked about.
        bender.motions = Motions::default();
        let blank = tube(2 * seed, 8 + (seed % 5) as usize, &bender);
        let mut steps = Steps::new(&bender, &blank, false);
        let wanted = steps.direct();
        possible += u64::from(wanted.is_some());
        agree(seed, wanted, &solved(&bender, &blank, false, 1), &mut steps);
    }
    assert!(possible > 0);
}

/// All complete orders' costs, cheapest first.
fn all_costs(steps: &mut Steps<'_>, set: u32, before: Option<Turn>, so_far: Cost, costs: &mut Vec<Cost>) {
    if set.count_ones() as usize == steps.blank.bends.len() {
        costs.push(so_far);
    }
    for turn in steps.turns(set) {
        if let Some(near) = steps.near(set, turn)
            && steps.room_to_turn(set, before, turn)
        {
            let cost = so_far + steps.handling(before, turn) + near;
            all_costs(steps, set | 1 << turn.bend.0, Some(turn), cost, costs);
        }
    }
}

#[test]
fn the_next_best_orders_are_those_of_trying_all() {
    let mut several = 0;
    for seed in 2000..2000 + count(10, 60) {
        let bender = bender(seed);
        let blank = tube(2 * seed, 3 + (seed % 3) as usize, &bender);
        let mut steps = Steps::new(&bender, &blank, false);
        let mut costs = Vec::new();
        all_costs(&mut steps, 0, None, Cost::default(), &mut costs);
        costs.sort();
        let solved = solved(&bender, &blank, false, 5);
        assert_eq!(solved.orders.len(), costs.len().min(5), "seed {seed}");
        several += u64::from(costs.len() > 4);
        for (place, (found, wanted)) in solved.orders.iter().zip(&costs).enumerate() {
            let off = (found.cost.to_seconds() - wanted.to_seconds()).abs();
            assert!(off <= allowed(blank.bends.len()), "seed {seed}: {place}: {found:?} {wanted:?}");
            assert!(
                solved.orders[..place].iter().all(|other| other.order != found.order),
                "seed {seed}: no order twice"
            );
        }
    }
    assert!(several > 2);
}

#[test]
fn a_stopped_search_hands_over_what_is_at_hand() {
    let bender = bender(0);
    let machine = Machine::new(&bender);
    let mut stopped_with_an_order = 0;
    for seed in [2000, 2004, 2006, 2010] {
        let blank = tube(seed, 8, &bender);
        let task = Task { bender: &bender, machine: &machine, blank: &blank, accept_tight: false, best: 1 };
        let whole = solve(&task, &mut Watch { stop: &AtomicBool::new(false), progress: &mut |_| {} });
        for calls in [0, 3, 20, 35, 36, 37] {
            let stop = AtomicBool::new(calls == 0);
            let (mut told, mut share, mut expanded) = (0, 0.0, 0);
            let mut progress = |at: tubewright::order::Progress| {
                told += 1;
                assert!(at.share >= share && at.share <= 1.0 && at.expanded >= expanded, "it never falls");
                (share, expanded) = (at.share, at.expanded);
                if told >= calls {
                    stop.store(true, Ordering::Relaxed);
                }
            };
            let solved = solve(&task, &mut Watch { stop: &stop, progress: &mut progress });
            if !solved.stopped {
                assert_eq!(solved.orders, whole.orders);
                continue;
            }
            assert!(!solved.proved);
            if let Some(found) = solved.orders.first() {
                stopped_with_an_order += 1;
                let mut steps = Steps::new(&bender, &blank, false);
                let cost = steps.cost(&found.order).expect("it can be made");
                assert!((cost.to_seconds() - found.cost.to_seconds()).abs() <= allowed(8));
                assert!(found.cost >= whole.orders[0].cost);
            }
        }
    }
    assert!(stopped_with_an_order > 5, "{stopped_with_an_order}");
}

#[test]
fn stopping_after_so_many_states_leaves_nothing_proved() {
    let bender = bender(0);
    let machine = Machine::new(&bender);
    let blank = tube(2000, 9, &bender);
    let task = Task { bender: &bender, machine: &machine, blank: &blank, accept_tight: false, best: 1 };
    for most in [1, 2, 4] {
        let stop = AtomicBool::new(false);
        let mut progress = |at: tubewright::order::Progress| {
            if at.expanded >= most {
                stop.store(true, Ordering::Relaxed);
            }
        };
        let solved = solve(&task, &mut Watch { stop: &stop, progress: &mut progress });
        assert!(solved.stopped && !solved.proved && !solved.bounded, "{most}");
    }
}

#[test]
fn more_bends_than_the_tables_hold_are_searched_and_said_to_be_bounded() {
    let mut bender = shop::bender();
    bender.solids.clear();
    let bends = (0..24).map(|place| (330.0, if place % 2 == 0 { 0.0 } else { 180.0 }, 12.0)).collect();
    let blank = shop::blank(bends, 300.0, [0.0, 150.0]);
    let solved = solved(&bender, &blank, false, 1);
    assert!(solved.bounded && !solved.proved && !solved.stopped);
    let order = &solved.orders[0].order;
    let cost = Steps::new(&bender, &blank, false).cost(order).expect("every step of it can be made");
    assert!((cost.to_seconds() - solved.orders[0].cost.to_seconds()).abs() <= allowed(24));
}

#[test]
fn the_same_tube_gives_the_same_answer() {
    for seed in 0..6 {
        let bender = bender(seed);
        let blank = tube(seed, 11, &bender);
        let [one, other] = [(); 2].map(|()| solved(&bender, &blank, false, 3));
        assert_eq!(one.orders, other.orders);
        assert_eq!(one.furthest, other.furthest);
    }
}

fn mirrored(bender: &Bender) -> Bender {
    let flip = |p: Point3<f64>| Point3::new(p.x, -p.y, p.z);
    let shape = |shape: &Shape| match shape {
        Shape::Box { min, max } => {
            Shape::Box { min: Point3::new(min.x, -max.y, min.z), max: Point3::new(max.x, -min.y, max.z) }
        }
        Shape::Cylinder { from, to, radius } => Shape::Cylinder { from: flip(*from), to: flip(*to), radius: *radius },
        Shape::Capsule { from, to, radius } => Shape::Capsule { from: flip(*from), to: flip(*to), radius: *radius },
        Shape::Mesh(_) => unreachable!("this bender has no meshes"),
    };
    let hand = if bender.hand == Hand::Clockwise { Hand::Anticlockwise } else { Hand::Clockwise };
    let solids = bender.solids.iter().map(|solid| Solid { shape: shape(&solid.shape), ..solid.clone() }).collect();
    Bender { hand, solids, ..bender.clone() }
}

fn costs(solved: &Solved) -> Option<f64> {
    solved.orders.first().map(|found| found.cost.to_seconds())
}

#[test]
fn mirrored_and_reversed_tubes_cost_the_same_and_less_room_never_helps() {
    let near = |one: Option<f64>, other: Option<f64>, bends: usize| match (one, other) {
        (Some(one), Some(other)) => (one - other).abs() <= allowed(bends),
        (one, other) => one.is_none() && other.is_none(),
    };
    let no_better = |one: Option<f64>, other: Option<f64>, bends: usize| match (one, other) {
        (Some(one), Some(other)) => other >= one - allowed(bends),
        (None, Some(_)) => false,
        _ => true,
    };
    let mut possible = 0;
    for seed in 3000..3000 + count(20, 200) {
        let size = 3 + (seed % 5) as usize;
        let mut bender = bender(seed);
        bender.dies.truncate(1);
        // Half a turn is made one way round by convention: mirrored it is not.
        bender.motions.turn = None;
        let blank = tube(seed, size, &bender);
        let cost = costs(&solved(&bender, &blank, false, 1));
        possible += u64::from(cost.is_some());

        let mut mirror = blank.clone();
        for bend in &mut mirror.bends {
            (bend.rotation, bend.psi) = (-bend.rotation, -bend.psi);
        }
        assert!(near(cost, costs(&solved(&mirrored(&bender), &mirror, false, 1)), size), "seed {seed}: mirrored");

        let turned = reversed(&blank);
        assert!(near(cost, costs(&solved(&bender, &turned, false, 1)), size), "seed {seed}: reversed");

        let mut fuller = bender.clone();
        let at = Point3::new(300.0 - 10.0 * (seed % 60) as f64, 420.0, -120.0);
        let shape = Shape::Capsule { from: at, to: at, radius: Length::mm(60.0) };
        fuller.solids.push(Solid { name: "one more".into(), on: Carrier::Frame, shape });
        assert!(no_better(cost, costs(&solved(&fuller, &blank, false, 1)), size), "seed {seed}: one more solid");

        bender.dies[0].fit = Length::mm(20.0);
        let mut thicker = blank.clone();
        thicker.od += Length::mm(4.0);
        assert!(no_better(cost, costs(&solved(&bender, &thicker, false, 1)), size), "seed {seed}: a thicker tube");
    }
    assert!(possible > 3, "{possible}");
}

/// The same tube with end B called A.
fn reversed(blank: &Blank) -> Blank {
    let count = blank.bends.len();
    let mut bends: Vec<_> = blank.bends.iter().rev().cloned().collect();
    let mut psi = Angle::ZERO;
    for (place, bend) in bends.iter_mut().enumerate() {
        (bend.start, bend.end) = (blank.cut_length - bend.end, blank.cut_length - bend.start);
        bend.bend = BendId(place);
        bend.rotation = if place == 0 { Angle::ZERO } else { blank.bends[count - place].rotation };
        psi = (psi + bend.rotation).wrapped();
        bend.psi = psi;
    }
    Blank { bends, ..blank.clone() }
}
