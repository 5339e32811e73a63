//! Notes of a tube that is held against the user's rules, and of bends that are harder on it than is usual.
//!
//! A rule that is broken stops no plan: the tube can be bent all the same, and whether it may be is for whoever answers for it. It is said
//! before everything else, since the part is lost at its inspection.

use super::fitness::{BendFitness, Fitness, Kept, Limit, OF_WALL, TO_MEASURE, numbered};
use super::notes::{Note, note};
use crate::centreline::BendId;
use crate::job::{Job, Tube};
use crate::round::People;

/// Keys of the rules file with the code of the note on a rule that is broken.
const BROKEN: [(&str, &str); 10] = [
    ("clr_over_od", "rule-clr-over-od"),
    ("od_over_wall", "rule-od-over-wall"),
    ("wall_min", "rule-wall-min"),
    ("outer_wall_min", "rule-outer-wall-min"),
    ("thinning", "rule-thinning"),
    ("outer_strain", "rule-outer-strain"),
    ("straight_min", "rule-straight-min"),
    ("minor_over_major", "rule-minor-over-major"),
    ("major_minus_minor_over_od", "rule-major-minus-minor-over-od"),
    ("minor_over_od", "rule-minor-over-od"),
];

/// Whether a code is that of a rule that is broken.
pub(super) fn is_broken(code: &str) -> bool {
    BROKEN.iter().any(|(_, known)| *known == code)
}

/// A note for every rule that the tube breaks; one for each die where the die breaks it.
pub(super) fn broken(job: &Job, fitness: &Fitness) -> Vec<Note> {
    let Some(rules) = &job.rules else { return Vec::new() };
    let of = |limit: &Limit| {
        let (_, code) = BROKEN.iter().find(|(key, _)| *key == limit.key)?;
        Some(note(code, format!("a rule is broken, of {}: {}", rules.name, limit.broken)))
    };
    fitness.broken().filter_map(of).collect()
}

/// What the rules ask for and a plan cannot tell.
pub(super) fn untold(job: &Job, fitness: &Fitness) -> Vec<Note> {
    let Some(rules) = &job.rules else { return Vec::new() };
    let name = &rules.name;
    let mut all = Vec::new();
    let unknown = |key: &&str| fitness.limits.iter().any(|limit| limit.key == *key && limit.kept == Kept::Unknown);
    let words = ["OD over wall", "the least wall", "the wall on the outside of a bend"];
    let asked: Vec<&str> = OF_WALL.iter().zip(words).filter(|(key, _)| unknown(key)).map(|(_, words)| words).collect();
    if let Some((last, first)) = asked.split_last() {
        let asked = if first.is_empty() { (*last).to_owned() } else { format!("{} and {last}", first.join(", ")) };
        all.push(note("rule-not-checked", format!("of {name}, {asked} could not be checked: no wall is given")));
    }
    let mut left: Vec<&str> = Vec::new();
    for limit in fitness.limits.iter().filter(|limit| TO_MEASURE.contains(&limit.key)) {
        // One for each die stands there.
        let asked = limit.text.split(": ").next().unwrap_or_default();
        if !left.contains(&asked) {
            left.push(asked);
        }
    }
    let (how_many, them) = match left.len() {
        0 => return all,
        1 => ("one rule is".to_owned(), "it"),
        many => (format!("{many} rules are"), "them"),
    };
    let left = left.join("; ");
    all.push(note(
        "rule-to-measure",
        format!("of {name}, {how_many} left to measure at every finished bend: {left}; no plan tells {them}"),
    ));
    all
}

/// OD over wall, over CLR over OD: above this a bend without a mandrel tends to flatten or to wrinkle (trade rule from memory, no source).
const HARD: f64 = 8.0;

/// Bends that are harder on the tube than a draw bender without a mandrel usually manages.
pub(super) fn hard_bends(tube: &Tube, fitness: &Fitness, people: &People) -> Option<Note> {
    let of_wall = fitness.od_over_wall?;
    let factor = |bend: &BendFitness| of_wall / bend.clr_over_od;
    let hard: Vec<&BendFitness> = fitness.bends.iter().filter(|bend| factor(bend) > HARD).collect();
    let worst = hard.iter().map(|bend| factor(bend)).reduce(f64::max)?;
    let bends: Vec<BendId> = hard.iter().map(|bend| bend.bend).collect();
    Some(note(
        "hard-bend",
        format!(
            "{}: OD over wall, {}, over CLR over OD is {}; above about {HARD} tube of OD {} tends to flatten or to wrinkle without a mandrel (trade \
             rule, no source): bend a piece first",
            numbered(&bends),
            people.ratio_up(of_wall),
            people.ratio_up(worst),
            people.figure(tube.stock.od)
        ),
    ))
}
