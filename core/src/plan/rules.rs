//! A tube held against the user's rules.
//!
//! A rule that is broken stops no plan: the tube can be bent all the same, and whether it may be is for whoever answers for it. It is said
//! before everything else, since the part is lost at its inspection.

use super::notes::{Note, note};
use crate::job::{Job, Rules, Tube};
use crate::round::People;

/// Codes of the notes on rules that are broken.
pub(super) const BROKEN: [&str; 3] = ["rule-clr-over-od", "rule-od-over-wall", "rule-wall-min"];

/// A note for every rule that the tube breaks; one for each die whose CLR is too small.
pub(super) fn broken(job: &Job, tube: &Tube, people: &People) -> Vec<Note> {
    let Some(rules) = &job.rules else { return Vec::new() };
    let mut all = clr(rules, job, tube, people);
    let od = tube.stock.od;
    let Some(wall) = tube.stock.wall else { return all };
    let name = &rules.name;
    if let Some(most) = rules.od_over_wall.filter(|_| !rules.allow_od_over_wall(od, wall)) {
        all.push(note(
            "rule-od-over-wall",
            format!(
                "a rule is broken, of {name}: OD {} over wall {} is {}, and at most {most} is allowed: it would take a wall of {}",
                people.figure(od),
                people.figure(wall),
                people.ratio_up(od / wall),
                people.missing(od / most)
            ),
        ));
    }
    if let Some(least) = rules.wall_min.filter(|_| !rules.allow_wall(wall)) {
        all.push(note(
            "rule-wall-min",
            format!(
                "a rule is broken, of {name}: the wall is {}, and {} is the least that is allowed",
                people.figure(wall),
                people.missing(least)
            ),
        ));
    }
    all
}

fn clr(rules: &Rules, job: &Job, tube: &Tube, people: &People) -> Vec<Note> {
    let (Some(ratio), od) = (rules.clr_over_od, tube.stock.od) else { return Vec::new() };
    let small = |die: &&usize| !rules.allow_clr(job.bender.dies[**die].clr, od);
    let mut dies: Vec<usize> = tube.dies.iter().filter(small).copied().collect();
    dies.sort_unstable();
    dies.dedup();
    let words = |die: usize| {
        let bends = (1..).zip(&tube.dies).filter(|(_, used)| **used == die);
        let bends: Vec<String> = bends.map(|(bend, _)| bend.to_string()).collect();
        let bends = match &bends[..] {
            [only] => format!("bend {only}"),
            [first @ .., last] => format!("bends {} and {last}", first.join(", ")),
            [] => String::new(),
        };
        let die = &job.bender.dies[die];
        note(
            "rule-clr-over-od",
            format!(
                "a rule is broken, of {}: at {bends} the CLR of die {}, {}, is {} x OD, and {ratio} x OD, {}, is the least that is allowed",
                rules.name,
                die.name,
                people.figure(die.clr),
                people.ratio_down(die.clr / od),
                people.missing(rules.least_clr(od))
            ),
        )
    };
    dies.into_iter().map(words).collect()
}

/// What the rules ask for and a plan cannot tell.
pub(super) fn untold(job: &Job, tube: &Tube) -> Vec<Note> {
    let Some(rules) = &job.rules else { return Vec::new() };
    let name = &rules.name;
    let mut all = Vec::new();
    let asked = match (rules.od_over_wall, rules.wall_min) {
        (Some(_), Some(_)) => Some("OD over wall and the least wall"),
        (Some(_), None) => Some("OD over wall"),
        (None, Some(_)) => Some("the least wall"),
        (None, None) => None,
    };
    if let Some(asked) = asked.filter(|_| tube.stock.wall.is_none()) {
        all.push(note("rule-not-checked", format!("of {name}, {asked} could not be checked: no wall is given")));
    }
    if let Some(ratio) = rules.minor_over_major.filter(|_| !tube.dies.is_empty()) {
        all.push(note(
            "rule-to-measure",
            format!(
                "of {name}, one rule is left to measure at every finished bend: smallest diameter over largest, at least {ratio}; no plan tells it"
            ),
        ));
    }
    all
}
