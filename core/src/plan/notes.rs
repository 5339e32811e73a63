//! Notes: what was assumed, what was not looked at, and what is worth knowing, most important first.

use super::fitness::Fitness;
use super::walk::Walk;
use super::{Options, PlanStep, SpringbackFrom, ends, rules};
use crate::bender::{Bender, TurnTube};
use crate::clearance::{Motion, Verdict, Way};
use crate::forming::theory::THEORY_OFF;
use crate::forming::{Blank, LeadEnd, Measured};
use crate::job::{Job, Tube};
use crate::order::Solved;
use crate::round::People;
use crate::units::Angle;

/// One note: a stable code and its words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// What kind of note.
    pub code: &'static str,
    /// In words, with figures in the units asked for.
    pub text: String,
}

impl Note {
    /// Whether it says that the tube breaks one of the user's rules; else it is of what was assumed, not measured or not looked at.
    #[must_use]
    pub fn breaks_a_rule(&self) -> bool {
        rules::is_broken(self.code)
    }
}

pub(super) fn note(code: &'static str, text: impl Into<String>) -> Note {
    Note { code, text: text.into() }
}

/// A pin move this close below the target makes a last stroke too short to feel (common practice, no source).
pub(super) const PIN_NEAR: Angle = Angle::deg(8.0);

/// Bends whose normals lie within this of one line are taken for one plane: a tenth of what a level shows.
const ONE_PLANE: Angle = Angle::deg(0.02);

/// All notes of one tube, in the order of their importance.
pub(super) fn notes(
    walk: &Walk<'_>,
    steps: &[PlanStep],
    solved: &Solved,
    fitness: &Fitness,
    cures_stopped: bool,
) -> Vec<Note> {
    let Walk { job, tube, blank, options, .. } = *walk;
    let mut all = rules::broken(job, fitness);
    if !steps.is_empty() {
        all.extend(not_described(&job.bender, tube));
        all.extend(not_looked_at(&job.bender));
        all.extend(open_tools(&job.bender, tube));
        all.extend(springback(job, tube, steps, &options.people));
        all.extend(search_cut_short(solved, walk.begun + steps.len() == blank.bends.len()));
        if cures_stopped {
            all.push(note(
                "stopped",
                "the search for changes that could help was stopped before its end: others may do",
            ));
        }
        all.extend(tight_accepted(steps, options));
        all.extend(od_differs(job, tube, options));
        all.extend(rules::hard_bends(tube, fitness, &options.people));
        all.extend(steps.iter().filter_map(|step| extrapolated(job, tube, blank, step, &options.people)));
        all.extend(level_first(&job.bender, blank));
    }
    all.extend(ends::notes(walk, steps));
    all.extend(rules::untold(job, fitness));
    all.extend(straight_through(tube));
    all.extend(shared_nodes(job, tube));
    all.extend(steps.iter().filter_map(|step| pin_near_target(step, &options.people)));
    all
}

fn not_described(bender: &Bender, tube: &Tube) -> Option<Note> {
    if !bender.solids.is_empty() {
        return None;
    }
    let given = tube.dies.iter().all(|die| {
        let shapes = &bender.dies[*die].shapes;
        !(shapes.die.is_empty() || shapes.clamp.is_empty() || shapes.follower.is_empty())
    });
    let assumed = if given { "the die, clamp and follower" } else { "the assumed die, clamp and follower" };
    Some(note(
        "no-solids",
        format!(
            "the bender file names no solids: only the floor and {assumed} were looked at, not the bender's frame, arm or ram, \
             a wall or the operator"
        ),
    ))
}

/// What is moved besides the bend, and nobody looked whether there is room.
fn not_looked_at(bender: &Bender) -> Option<Note> {
    let motions = &bender.motions;
    let all = [
        (motions.recoil, "the recoil after it"),
        (motions.back, "the return of the arm"),
        (!motions.take_out.is_empty(), "taking the tube out"),
        (motions.put_in, "putting it in"),
        (motions.turn.is_some(), "turning it between bends"),
    ];
    let left: Vec<&str> = all.into_iter().filter_map(|(looked_at, words)| (!looked_at).then_some(words)).collect();
    let seen = left.len() < all.len();
    let words = match *left {
        [] => return None,
        [only] => only.to_owned(),
        [ref first @ .., last] if seen => format!("{} or {last}", first.join(", ")),
        [ref first @ .., last] => format!("{}, or {last}", first.join(", ")),
    };
    Some(note(
        "not-looked-at",
        if seen {
            format!("besides the bend not everything was looked at: not {words}")
        } else {
            format!("only the bend itself was looked at: not {words}")
        },
    ))
}

/// What is taken to be out of the way while the tube is in the hands.
fn open_tools(bender: &Bender, tube: &Tube) -> Option<Note> {
    let motions = &bender.motions;
    let asked: Vec<&str> = [
        (!motions.take_out.is_empty(), "taking the tube out"),
        (motions.put_in, "laying it in"),
        (motions.turn == Some(TurnTube::Groove), "turning it in the groove"),
    ]
    .into_iter()
    .filter_map(|(asked, words)| asked.then_some(words))
    .collect();
    let (last, first) = asked.split_last()?;
    let asked = if first.is_empty() { (*last).to_owned() } else { format!("{} and {last}", first.join(", ")) };
    let derived = tube.dies.iter().any(|die| bender.dies[*die].shapes.die.is_empty());
    let die = if derived { "; the die is left out too, since its groove is not described" } else { "" };
    Some(note(
        "open-tools",
        format!("for {asked} the clamp and the follower are taken to be open and out of the way{die}"),
    ))
}

fn springback(job: &Job, tube: &Tube, steps: &[PlanStep], people: &People) -> Vec<Note> {
    let look = "stop a few degrees short, let off, read the angle, and go on by what is missing";
    let mut said: Vec<(SpringbackFrom, usize)> = Vec::new();
    let mut all = Vec::new();
    for step in steps {
        if said.contains(&(step.springback.from, step.die)) {
            continue;
        }
        said.push((step.springback.from, step.die));
        let die = &step.die_name;
        let material = tube.stock.material.as_deref();
        let of = material.map_or_else(|| "this tube".to_owned(), ToOwned::to_owned);
        match step.springback.from {
            SpringbackFrom::None => all.push(note(
                "springback-none",
                match material {
                    None => format!("the job names no material: springback is taken as 0 in die {die}; {look}"),
                    Some(name) => format!("no springback is given for {name} in die {die}: it is taken as 0; {look}"),
                },
            )),
            SpringbackFrom::Estimated => all.push(note(
                "springback-estimated",
                format!(
                    "springback of {of} in die {die} is estimated from theory, not measured: {} degrees at 90, and theory was {:.0} to {:.0} % off in \
                     published tests; the give of the bender is not in it; {look}",
                    people.angle(Angle::deg(90.0) * tube.law(&job.bender, step.die).proportional),
                    THEORY_OFF.0 * 100.0,
                    THEORY_OFF.1 * 100.0
                ),
            )),
            SpringbackFrom::Borrowed => all.push(note(
                "springback-borrowed",
                format!("springback of {of} in die {die} was measured on tube of another size, or its size is not known; {look}"),
            )),
            SpringbackFrom::Given | SpringbackFrom::Measured => {}
        }
    }
    all.sort_by_key(|note| note.code != "springback-none");
    all
}

/// What a search that did not come to its end leaves open.
fn search_cut_short(solved: &Solved, found: bool) -> Vec<Note> {
    let open = if found {
        "an order of less handling may exist"
    } else {
        "an order may exist all the same: try one of your own with --order"
    };
    let mut all = Vec::new();
    if solved.bounded {
        all.push(note("bounded", format!("too many orders to look at all of them: {open}")));
    }
    if solved.stopped {
        all.push(note("stopped", format!("the search was stopped before its end: {open}")));
    }
    all
}

fn tight_accepted(steps: &[PlanStep], options: &Options) -> Vec<Note> {
    if !options.accept_tight {
        return Vec::new();
    }
    tight(steps, options).into_iter().map(|what| note("tight-accepted", format!("watch {what}"))).collect()
}

/// What is to be watched where gaps are under what should be kept, each with its gap and its place.
pub(super) fn tight(steps: &[PlanStep], options: &Options) -> Vec<String> {
    let people = &options.people;
    let tight = |step: &PlanStep| {
        step.clearances
            .iter()
            .filter(|clearance| clearance.verdict == Verdict::Tight)
            .filter_map(|clearance| Some((clearance, clearance.nearest?)))
            .map(|(clearance, nearest)| {
                let bend = step.bend.number();
                let out = clearance.way.map_or("", Way::words);
                let from = clearance.way.map_or("", Way::words_in);
                let watched = match clearance.motion {
                    Motion::Bend => format!("while bend {bend} is made"),
                    Motion::Recoil => format!("as the tube springs back after bend {bend}"),
                    Motion::Return => format!("as the bender goes back after bend {bend}"),
                    Motion::TakeOut => format!("as the tube is taken out after bend {bend}, {out}"),
                    Motion::PutIn => format!("as the tube is laid in for bend {bend}, {from}"),
                    Motion::Turn => format!("as the tube is turned for bend {bend}"),
                };
                let near = match clearance.motion {
                    Motion::Bend | Motion::Return => format!(" near {} degrees", people.angle(nearest.die_angle)),
                    _ => String::new(),
                };
                format!(
                    "{watched}: {} from {}{near}, {} from end A",
                    people.gap(nearest.gap),
                    super::why::obstacle(&clearance.obstacle),
                    people.length_with_unit(nearest.blank),
                )
            })
            .collect::<Vec<_>>()
    };
    steps.iter().flat_map(tight).collect()
}

/// Below this two diameters are the same: a hundredth of what a caliper shows.
const SAME_OD_MM: f64 = 1e-4;

fn od_differs(job: &Job, tube: &Tube, options: &Options) -> Vec<Note> {
    let mut seen = Vec::new();
    for die in &tube.dies {
        if !seen.contains(die) {
            seen.push(*die);
        }
    }
    seen.into_iter()
        .map(|die| &job.bender.dies[die])
        .filter(|die| (die.od - tube.stock.od).abs().to_mm() > SAME_OD_MM)
        .map(|die| {
            note(
                "od-differs",
                format!(
                    "the tube's OD {} is not that of die {}, {}: check that it seats",
                    options.people.figure(tube.stock.od),
                    die.name,
                    options.people.figure(die.od),
                ),
            )
        })
        .collect()
}

/// A bend that lies well beyond those that its springback was found by.
fn extrapolated(job: &Job, tube: &Tube, blank: &Blank, step: &PlanStep, people: &People) -> Option<Note> {
    let die = &job.bender.dies[step.die];
    let (low, high) = tube.material_in(die)?.measured.as_ref()?.angles?;
    let angle = blank.bends[step.bend.0].angle;
    (angle < low - Measured::REACH || angle > high + Measured::REACH).then(|| {
        note(
            "extrapolated",
            format!(
                "bend {}: {} degrees lie beyond the test bends in die {}, {} to {}: its springback is extrapolated",
                step.bend.number(),
                people.angle(angle),
                die.name,
                people.angle(low),
                people.angle(high)
            ),
        )
    })
}

fn level_first(bender: &Bender, blank: &Blank) -> Option<Note> {
    let flat = blank.bends.iter().all(|bend| {
        let roll = bend.rotation.abs();
        roll <= ONE_PLANE || (Angle::deg(180.0) - roll).abs() <= ONE_PLANE
    });
    if flat {
        return None;
    }
    Some(note(
        "level-first",
        if bender.level.is_some() {
            "bends in more than one plane: steady the bender; its own tilt as measured is taken into every slope"
        } else {
            "bends in more than one plane: level and steady the bender first, since the turn is set with a level"
        },
    ))
}

fn straight_through(tube: &Tube) -> Vec<Note> {
    tube.centreline
        .passed
        .iter()
        .map(|place| {
            let name = tube.node_names.get(*place).and_then(Option::as_deref);
            let node = name.map_or_else(|| format!("corner {place}"), |name| format!("node {name}"));
            note(
                "straight-through",
                format!("{node} turns the tube by less than 0.05 degree: passed straight through, no bend there"),
            )
        })
        .collect()
}

/// Ends of this tube at a node that another tube uses too: nothing is taken off for it.
fn shared_nodes(job: &Job, tube: &Tube) -> Vec<Note> {
    let ends = [tube.node_names.first(), tube.node_names.last()];
    ends.into_iter()
        .zip([LeadEnd::A, LeadEnd::B])
        // What is done where an end lands on another tube is said by the job.
        .filter(|(_, end)| tube.end(*end).is_none())
        .filter_map(|(name, end)| Some((name?.as_ref()?, end.letter())))
        .filter_map(|(name, end)| {
            let others: Vec<&str> = job
                .tubes
                .iter()
                .filter(|other| other.name != tube.name && other.node_names.iter().flatten().any(|node| node == name))
                .filter(|other| !other.ends.iter().flatten().any(|end| end.meets == tube.name))
                .map(|other| other.name.as_str())
                .collect();
            (!others.is_empty()).then(|| {
                note(
                    "shared-node",
                    format!(
                        "end {end} lies at node {name}, shared with {}: both are cut to the node, nothing is taken off where they meet",
                        others.join(", ")
                    ),
                )
            })
        })
        .collect()
}

fn pin_near_target(step: &PlanStep, people: &People) -> Option<Note> {
    let last = *step.pin_moves.last()?;
    let left = step.dial_target - last;
    (left <= PIN_NEAR).then(|| {
        note(
            "pin-near-target",
            format!(
                "bend {}: the pin would be moved near {} with only {} degrees to go: start one hole along",
                step.bend.number(),
                people.angle(last),
                people.angle(left)
            ),
        )
    })
}
