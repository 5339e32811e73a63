//! What the whole search for the best order costs, beside a direct search without tables.
//!
//! `cargo bench -p tubewright --bench order` prints a table of medians over the tubes, in milliseconds. Plausible tubes and tubes of any shape on a floor bender
//! with 20 solids (all invented). *Sampled* is the same search with each leg looked at every half degree, with the same kernels, which proves nothing. The direct search goes from state to state by A* without tables (its guide is what the bends left cost at least),
//! judges each step once, with the same certified checks, and is stopped after a minute.

#[expect(unreachable_pub, reason = "shared with tests")]
#[path = "../tests/shop/mod.rs"]
mod shop;

use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap, HashMap};
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use tubewright::bender::{Bender, Motions, TakeOut, TurnTube, limits};
use tubewright::centreline::BendId;
use tubewright::clearance::{Decision, Machine, Step};
use tubewright::forming::{Blank, LeadEnd};
use tubewright::order::cost::{self, Cost};
use tubewright::order::{Solved, Task, Turn, Watch, solve};
use tubewright::units::{Angle, Length};

/// A name, and how a tube is made from a seed and its number of bends.
type Kind = (&'static str, fn(u64, usize) -> Blank);

const PATIENCE: Duration = Duration::from_secs(60);

#[expect(clippy::print_stdout, reason = "a benchmark is there to be read")]
fn main() {
    let bender = shop::bender();
    let mut moving = bender.clone();
    moving.motions = Motions {
        recoil: true,
        back: true,
        put_in: true,
        take_out: vec![TakeOut::Up, TakeOut::Sideways, TakeOut::Along],
        turn: Some(TurnTube::Groove),
    };
    println!(
        "| tubes | bends | possible | solve, ms | slowest | all motions, ms | sampled, ms | ratio | direct, ms | ratio | memory, MB |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    let kinds: [Kind; 2] = [("plausible", shop::plausible), ("any shape", shop::any)];
    for (kind, make) in kinds {
        for (bends, tubes) in [(8, 21), (12, 21), (16, 9), (20, 5)] {
            let blanks: Vec<Blank> = (0..tubes).map(|seed| make(seed, bends)).collect();
            let machine = Machine::new(&bender);
            let mut possible = 0;
            let mut times: Vec<f64> = blanks
                .iter()
                .map(|blank| {
                    let (time, solved) = timed(&bender, &machine, blank);
                    possible += usize::from(!solved.orders.is_empty());
                    time
                })
                .collect();
            let with_all = (bends <= 12).then(|| {
                let machine = Machine::new(&moving);
                let few = blanks.iter().take(5);
                median(few.map(|blank| timed(&moving, &machine, blank).0).collect())
            });
            let sampling = Machine::sampling(&bender, Angle::deg(0.5));
            let few = blanks.iter().take(if bends <= 12 { 5 } else { 1 });
            let sampled = median(few.map(|blank| timed(&bender, &sampling, blank).0).collect());
            let few = blanks.iter().take(if bends <= 12 { 5 } else { 1 });
            let direct: Option<Vec<f64>> = few.map(|blank| direct(&bender, &machine, blank)).collect();
            let solve = median(times.clone());
            times.sort_by(f64::total_cmp);
            let slowest = times.last().copied().unwrap_or(0.0);
            let with_all = with_all.map_or_else(|| "-".to_owned(), |time| format!("{time:.0}"));
            let (direct, ratio) = match direct.map(median) {
                Some(time) => (format!("{time:.0}"), format!("{:.0}", time / solve)),
                None => ("not finished in 60 s".to_owned(), "-".to_owned()),
            };
            let memory = peak();
            println!(
                "| {kind} | {bends} | {possible} of {tubes} | {solve:.2} | {slowest:.2} | {with_all} | {sampled:.0} | {:.0} | {direct} | {ratio} | {memory} |",
                sampled / solve
            );
        }
    }
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

/// The fastest of three, in milliseconds: what else the machine does comes on top.
fn timed(bender: &Bender, machine: &Machine, blank: &Blank) -> (f64, Solved) {
    let task = Task { bender, machine, blank, accept_tight: false, best: 1 };
    let once = || {
        let start = Instant::now();
        let solved = solve(&task, &mut Watch { stop: &AtomicBool::new(false), progress: &mut |_| {} });
        (start.elapsed().as_secs_f64() * 1000.0, solved)
    };
    let mut best = once();
    let rounds = if best.0 > 2000.0 { 0 } else { 2 };
    for _ in 0..rounds {
        let again = once();
        if again.0 < best.0 {
            best = again;
        }
    }
    best
}

/// Most memory that this process has held so far, MB; 0 where the system does not tell.
fn peak() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.trim().split(' ').next()?.parse::<u64>().ok()).unwrap_or(0) / 1024
}

/// Milliseconds of a direct search; `None` where it was stopped.
fn direct(bender: &Bender, machine: &Machine, blank: &Blank) -> Option<f64> {
    let start = Instant::now();
    let bends = blank.bends.len();
    let task = Task { bender, machine, blank, accept_tight: false, best: 1 };
    // Each bend left costs at least what it costs with the same end leading and no turn, in the same die.
    let least: Vec<u64> = (0..bends)
        .map(|bend| Turn { bend: BendId(bend), lead: LeadEnd::A })
        .map(|turn| task.handling(Some(turn), turn).to_milliseconds())
        .collect();
    let to_go = |set: u32| (0..bends).filter(|bend| set >> bend & 1 == 0).map(|bend| least[bend]).sum::<u64>();
    let mut judged: HashMap<(u32, Turn), Option<Cost>> = HashMap::new();
    let mut near = |set: u32, turn: Turn| {
        *judged.entry((set, turn)).or_insert_with(|| {
            let made: Vec<bool> = (0..bends).map(|bend| set >> bend & 1 == 1).collect();
            let step = Step { bender, blank, bend: turn.bend, lead: turn.lead, made: &made };
            if !limits::check(&step).is_empty() || machine.decide(&step) != Decision::Clear {
                return None;
            }
            let gaps = machine.report(&step).clearances.into_iter().filter_map(|clearance| clearance.nearest);
            let least = gaps.map(|nearest| nearest.gap).reduce(|one, other| if other < one { other } else { one });
            Some(cost::nearness(&bender.seconds, &bender.clearance, least.filter(|gap| *gap > Length::ZERO)))
        })
    };
    let mut open = BinaryHeap::from([Reverse((to_go(0), 0_u64, 0_u32, None::<Turn>))]);
    let mut done = BTreeSet::new();
    while let Some(Reverse((_, cost, set, last))) = open.pop() {
        if start.elapsed() > PATIENCE {
            return None;
        }
        if !done.insert((set, last)) {
            continue;
        }
        if set.count_ones() as usize == bends {
            break;
        }
        for bend in (0..bends).filter(|bend| set >> bend & 1 == 0) {
            for lead in [LeadEnd::A, LeadEnd::B] {
                let turn = Turn { bend: BendId(bend), lead };
                if let Some(near) = near(set, turn) {
                    let cost = cost + (task.handling(last, turn) + near).to_milliseconds();
                    let then = set | 1 << bend;
                    open.push(Reverse((cost + to_go(then), cost, then, Some(turn))));
                }
            }
        }
    }
    Some(start.elapsed().as_secs_f64() * 1000.0)
}
