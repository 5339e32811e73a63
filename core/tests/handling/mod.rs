//! The motions besides the bend of random steps, held against the naive judge.

use tubewright::bender::{Motions, Shape, TakeOut, TurnTube};
use tubewright::clearance::{Bar, Clearance, Decision, Machine, Motion, Others, Step, Verdict, Way};
use tubewright::forming::LeadEnd;
use tubewright::units::Length;

use super::sampler::handling::Going;
use super::sampler::{Found, Judge};
use super::{Random, die_parts, obstacles, with_step};

/// How many steps are tried: 40, or 2,000 where `TUBEWRIGHT_COUNT` is `full`.
fn count() -> u64 {
    if std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|value| value == "full") { 2_000 } else { 40 }
}

/// What the judge is allowed to be off by, mm.
const SAMPLED: f64 = 0.3;

/// Two places of a way as near as this, mm or as a part of it, are one.
const SOON: f64 = 0.02;

/// A random step with all motions switched on, and a step before it where one of the bends that are made can have been the last.
fn with_motions(seed: u64, check: impl FnOnce(&Step<'_>, Option<&Step<'_>>)) {
    with_step(seed, |step| {
        let mut random = Random(seed ^ 0x0077_1075);
        let mut bender = step.bender.clone();
        let mut ways = vec![TakeOut::Up, TakeOut::Sideways, TakeOut::Along, TakeOut::WithDie];
        ways.swap(0, random.below(4) as usize);
        ways.truncate(2);
        let turn = Some(if random.chance(8) { TurnTube::Lifted } else { TurnTube::Groove });
        bender.motions = Motions { recoil: true, back: true, put_in: true, take_out: ways, turn };
        let step = Step { bender: &bender, ..*step };
        let made: Vec<usize> = (0..step.made.len()).filter(|bend| step.made[*bend]).collect();
        if made.is_empty() {
            return check(&step, None);
        }
        let last = made[random.below(made.len() as u64) as usize];
        let mut earlier = step.made.to_vec();
        earlier[last] = false;
        let bend = tubewright::centreline::BendId(last);
        check(&step, Some(&Step { bend, made: &earlier, ..step }));
    });
}

/// One entry against the judge. How many gaps and contacts it showed.
fn hold(seed: u64, step: &Step<'_>, judge: &Judge<'_>, going: &Going<'_>, clearance: &Clearance) -> (usize, usize) {
    let comfortable = step.bender.clearance.comfortable.to_mm();
    let name = clearance.obstacle.as_str();
    let parts = die_parts(step);
    let said = || format!("seed {seed}, {} of {name}: {clearance:?}", clearance.motion.code());
    let shapes = &step.die().shapes;
    let derived = match name {
        "die" => shapes.die.is_empty(),
        "clamp" => shapes.clamp.is_empty(),
        _ => shapes.follower.is_empty(),
    };
    let end = going.ways.last().expect("a way has an end").1;
    let smallest = |end: f64, limit: f64, need: bool| -> (Option<Found>, f64) {
        if name == "tube" {
            let springs_back = clearance.motion == Motion::Recoil;
            return if springs_back { going.smallest_self(end, SAMPLED, limit) } else { (None, SAMPLED) };
        }
        let mut all: (Option<Found>, f64) = (None, SAMPLED);
        for obstacle in obstacles(step, name, &parts) {
            if going.looks_at(&obstacle, name, derived) {
                let (found, within) = going.smallest(&obstacle, end, SAMPLED, limit, need);
                all.1 = all.1.max(within);
                if all.0.is_none_or(|known| found.is_some_and(|found| found.gap < known.gap)) {
                    all.0 = found.or(all.0);
                }
            }
        }
        all
    };
    let (sampled, within) = smallest(end, comfortable, false);
    match (clearance.nearest, sampled) {
        (None, None) => {}
        (None, Some(found)) => assert!(found.gap > comfortable - 0.1, "missed a gap, {found:?}: {}", said()),
        (Some(nearest), None) => {
            assert!(nearest.gap.to_mm() > comfortable - within - 0.1, "no such gap was sampled: {}", said());
        }
        (Some(nearest), Some(found)) => {
            let truth = found.gap.max(0.0);
            assert!(nearest.gap.to_mm() <= truth + 0.1, "above the sample {found:?}: {}", said());
            assert!(nearest.gap.to_mm() >= truth - within - 0.1, "below the sample {found:?}: {}", said());
        }
    }
    if let Some(nearest) = clearance.nearest {
        // The witness is a place of the tube on its way.
        let s = judge.along(nearest.blank.to_mm());
        let (when, off) = going.when(s, nearest.point);
        assert!(off < 0.05, "the place is {off} off: {}", said());
        if name != "tube" {
            assert!((going.need(s) - nearest.keep.to_mm()).abs() < 0.1, "must keep {}: {}", going.need(s), said());
        }
        let shown = nearest.die_angle.to_rad();
        match clearance.motion {
            Motion::Recoil => assert!((shown - judge.target).abs() < 1e-9, "{}", said()),
            Motion::Return => assert!((-1e-9..=judge.target + 1e-9).contains(&shown), "{}", said()),
            _ => assert!(shown.abs() < 1e-12, "{}", said()),
        }
        if clearance.verdict == Verdict::Contact {
            assert!(nearest.gap == Length::ZERO, "{}", said());
            // Nothing touches before.
            let when = if clearance.motion == Motion::Return { -shown } else { when };
            let before = when - SOON * (1.0_f64).min((end - going.ways[0].0).abs());
            if before > going.ways[0].0
                && let (Some(found), within) = smallest(before, 0.0, false)
            {
                assert!(found.gap > -within, "touched before, {found:?}: {}", said());
            }
        }
    }
    if let Some(found) = sampled
        && found.gap < -0.01
    {
        assert_eq!(clearance.verdict, Verdict::Contact, "{found:?} {}", said());
    }
    if name != "tube" && clearance.verdict != Verdict::Contact {
        let (sampled, within) = smallest(end, 1.0, true);
        match sampled {
            Some(found) if found.gap < -0.15 => assert_eq!(clearance.verdict, Verdict::Tight, "{found:?} {}", said()),
            Some(found) if found.gap > within + 0.15 => {
                assert_eq!(clearance.verdict, Verdict::Clear, "{found:?} {}", said());
            }
            None => assert_eq!(clearance.verdict, Verdict::Clear, "{}", said()),
            Some(_) => assert!(clearance.verdict <= Verdict::Tight, "{}", said()),
        }
    }
    (usize::from(clearance.nearest.is_some()), usize::from(clearance.verdict == Verdict::Contact))
}

fn worst(clearances: &[Clearance], motion: Motion) -> Verdict {
    let verdicts = clearances.iter().filter(|one| one.motion == motion).map(|one| one.verdict);
    verdicts.max().expect("every motion has its entries")
}

fn passes(verdict: Verdict, bar: Bar) -> bool {
    match bar {
        Bar::Keep => verdict == Verdict::Clear,
        Bar::Touch => verdict < Verdict::Unproven,
    }
}

/// The questions of an order search say what the report says.
fn questions_agree(seed: u64, step: &Step<'_>, before: Option<&Step<'_>>, machine: &Machine, report: &[Clearance]) {
    for bar in [Bar::Keep, Bar::Touch] {
        let (lead, trail) = (machine.others_lead(step, bar), machine.others_trail(step, bar));
        let between = machine.recoil_between(step, bar) == Decision::Clear;
        let recoil = lead.recoil && trail.recoil && between;
        assert_eq!(recoil, passes(worst(report, Motion::Recoil), bar), "seed {seed}, recoil {bar:?}");
        assert_eq!(lead.back && trail.back, passes(worst(report, Motion::Return), bar), "seed {seed}, return {bar:?}");
        for (motion, open) in [(Motion::TakeOut, lead.out & trail.out), (Motion::PutIn, lead.put_in & trail.put_in)] {
            for tried in machine.tried(step, motion) {
                let said = format!("seed {seed}, {} {:?} {bar:?}", motion.code(), tried.way);
                assert_eq!(open.contains(tried.way), passes(tried.verdict, bar), "{said} {open:?} {tried:?}");
            }
            assert_eq!(!open.is_empty(), passes(worst(report, motion), bar), "seed {seed}, {} {bar:?}", motion.code());
        }
        if let Some(before) = before {
            let turns = machine.turn_between(before, step, bar) == Decision::Clear;
            assert_eq!(turns, passes(worst(report, Motion::Turn), bar), "seed {seed}, turn {bar:?}");
        }
    }
}

/// One seed: how many gaps and contacts it showed.
fn check(seed: u64) -> (usize, usize) {
    let mut seen = (0, 0);
    with_motions(seed, |step, before| {
        let machine = Machine::new(step.bender);
        let report = machine.report_others(step, before);
        questions_agree(seed, step, before, &machine, &report);
        let judge = Judge::new(*step);
        let parts = die_parts(step);
        let tools: Vec<&Shape> = parts.iter().map(|(_, shape, _)| shape).collect();
        let mut add = |going: &Going<'_>, clearances: &mut dyn Iterator<Item = &Clearance>| {
            for clearance in clearances {
                let (gaps, contacts) = hold(seed, step, &judge, going, clearance);
                seen = (seen.0 + gaps, seen.1 + contacts);
            }
        };
        let of = |motion: Motion| report.iter().filter(move |one| one.motion == motion);
        add(&Going::recoil(&judge), &mut of(Motion::Recoil));
        add(&Going::going_back(&judge), &mut of(Motion::Return));
        for motion in [Motion::TakeOut, Motion::PutIn] {
            for tried in machine.tried(step, motion) {
                let going = Going::straight(&judge, motion, tried.way, &tools);
                add(&going, &mut tried.clearances.iter());
            }
        }
        match before.filter(|_| step.bender.motions.turn == Some(TurnTube::Groove)) {
            Some(before) => {
                let turn = step.blank.turn(before.bend, step.bend, step.lead).to_rad();
                add(&Going::turn(&judge, before, turn), &mut of(Motion::Turn));
            }
            None => assert!(of(Motion::Turn).all(|one| one.nearest.is_none() && one.verdict == Verdict::Clear)),
        }
    });
    seen
}

#[test]
fn certified_gaps_of_the_other_motions_agree_with_single_points() {
    let Some((gaps, contacts)) = super::over_seeds(count(), check) else { return };
    assert!(gaps > 150 && contacts > 60, "too few to tell: {gaps} gaps, {contacts} contacts");
}

/// What is asked of one part depends on the bends of its own side only, and what is asked of both agrees with the report.
#[test]
fn the_other_motions_of_a_part_depend_on_its_own_side_only() {
    let mut seen = [0; 2];
    for seed in 0..10 * count() {
        with_motions(seed, |step, before| {
            let machine = Machine::new(step.bender);
            let report = machine.report_others(step, before);
            questions_agree(seed, step, before, &machine, &report);
            let side = |ahead: bool| -> Vec<bool> {
                let keeps = |place: usize| (place < step.bend.0) == (ahead == (step.lead == LeadEnd::A));
                step.made.iter().enumerate().map(|(place, made)| *made && keeps(place)).collect()
            };
            let same = |one: Others, other: Others| assert_eq!(one, other, "seed {seed}");
            let (ahead, behind) = (side(true), side(false));
            for bar in [Bar::Keep, Bar::Touch] {
                let lead = machine.others_lead(&Step { made: &ahead, ..*step }, bar);
                same(lead, machine.others_lead(step, bar));
                let trail = machine.others_trail(&Step { made: &behind, ..*step }, bar);
                same(trail, machine.others_trail(step, bar));
                let open = lead.out & trail.out;
                seen[usize::from(open.is_empty())] += 1;
                let up = open.contains(Way::Up);
                assert!(!(up && open.is_empty()));
            }
        });
    }
    assert!(seen.iter().all(|seen| *seen > 20), "too few to tell: {seen:?}");
}
