//! Notes: what was assumed, what was not looked at, and what is worth knowing, most important first.

use super::{Options, PlanStep, SpringbackFrom};
use crate::bender::Bender;
use crate::clearance::Verdict;
use crate::forming::Blank;
use crate::job::{Job, Tube};
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

fn note(code: &'static str, text: impl Into<String>) -> Note {
    Note { code, text: text.into() }
}

/// A pin move this close below the target makes a last stroke too short to feel (common practice, no source).
pub(super) const PIN_NEAR: Angle = Angle::deg(8.0);

/// Bends whose normals lie within this of one line are taken for one plane: a tenth of what a level shows.
const ONE_PLANE: Angle = Angle::deg(0.02);

/// All notes of one tube, in the order of their importance.
pub(super) fn notes(job: &Job, tube: &Tube, blank: &Blank, steps: &[PlanStep], options: &Options) -> Vec<Note> {
    let mut all = Vec::new();
    if !steps.is_empty() {
        all.extend(not_described(&job.bender, tube));
        all.extend(not_looked_at(&job.bender));
        all.extend(springback(tube, steps));
        all.extend(tight_accepted(steps, options));
        all.extend(od_differs(job, tube, options));
        all.extend(level_first(&job.bender, blank));
    }
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
    let asked: Vec<&str> = [
        (motions.recoil, "recoil"),
        (motions.back, "return"),
        (!motions.take_out.is_empty(), "take-out"),
        (motions.put_in, "put-in"),
        (motions.turn.is_some(), "turn"),
    ]
    .into_iter()
    .filter_map(|(asked, name)| asked.then_some(name))
    .collect();
    let mut text = "only the bend itself was looked at: not the recoil after it, the return of the arm, taking the tube out, putting it in, \
                    or turning it between bends"
        .to_owned();
    if !asked.is_empty() {
        text.push_str(&format!(" (the bender file asks for {}; these checks are not built yet)", asked.join(", ")));
    }
    Some(note("not-looked-at", text))
}

fn springback(tube: &Tube, steps: &[PlanStep]) -> Vec<Note> {
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
                format!("springback of {of} in die {die} is estimated from theory, not measured; {look}"),
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

fn tight_accepted(steps: &[PlanStep], options: &Options) -> Vec<Note> {
    if !options.accept_tight {
        return Vec::new();
    }
    let people = &options.people;
    let tight = |step: &PlanStep| {
        step.clearances
            .iter()
            .filter(|clearance| clearance.verdict == Verdict::Tight)
            .filter_map(|clearance| Some((clearance.obstacle.clone(), clearance.nearest?)))
            .map(|(obstacle, nearest)| {
                note(
                    "tight-accepted",
                    format!(
                        "watch while bend {} is made: {} from {} near {} degrees, {} from end A",
                        step.bend.number(),
                        people.gap(nearest.gap),
                        super::why::obstacle(&obstacle),
                        people.angle(nearest.die_angle),
                        people.length_with_unit(nearest.blank),
                    ),
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
        .zip(['A', 'B'])
        .filter_map(|(name, end)| Some((name?.as_ref()?, end)))
        .filter_map(|(name, end)| {
            let others: Vec<&str> = job
                .tubes
                .iter()
                .filter(|other| other.name != tube.name && other.node_names.iter().flatten().any(|node| node == name))
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
