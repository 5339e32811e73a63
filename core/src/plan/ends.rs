//! Ends that land on other tubes: where each cut lies around the tube, and what is worth knowing of it.

use super::PlanStep;
use serde::Serialize;

use super::notes::{Note, note};
use super::walk::Walk;
use crate::bender::Die;
use crate::centreline::SAME_NODE;
use crate::forming::{Blank, FormedBend, LeadEnd};
use crate::job::{Cut, End, Job, Tube, When};
use crate::json::{deg, mm};
use crate::round::People;
use crate::units::{Angle, Length};

/// An end that lands on another tube.
#[derive(Clone, Debug, PartialEq)]
pub struct EndPlan {
    /// Which end.
    pub end: LeadEnd,
    /// What it meets and how it fits.
    pub cut: End,
    /// Where the toe lies around the tube, clockwise from the reference line looking from end A along the tube, in [0, 360) degrees.
    pub toe: Angle,
    /// The same around the OD, in [0, girth).
    pub toe_arc: Length,
    /// Whether the tube has no bend, so that the toe of its first such end is its reference line.
    pub is_reference: bool,
}

impl EndPlan {
    /// All of a tube, end A first.
    pub(super) fn all(job: &Job, tube: &Tube) -> Vec<Self> {
        let one = |end| {
            let cut = tube.end(end)?.clone();
            let toe = clockwise(tube.toe(job.bender.hand, end)?);
            let first = tube.end(LeadEnd::A).is_none() || end == LeadEnd::A;
            let is_reference = first && tube.centreline.rows.bends.is_empty();
            let toe_arc = tube.stock.od * (toe.to_rad() * 0.5);
            Some(Self { end, cut, toe, toe_arc, is_reference })
        };
        [LeadEnd::A, LeadEnd::B].into_iter().filter_map(one).collect()
    }
}

/// The same turn in [0, 360) degrees.
fn clockwise(turn: Angle) -> Angle {
    // A billionth of a degree short of a whole turn is none at all: rounding.
    const NONE: f64 = 1e-9;
    let degrees = turn.to_deg();
    if degrees < -NONE { turn + Angle::deg(360.0) } else { turn.max(Angle::ZERO) }
}

/// What is to be known of the ends of a tube that land on others.
pub(super) fn notes(walk: &Walk<'_>, steps: &[PlanStep]) -> Vec<Note> {
    let Walk { job, tube, blank, options, .. } = *walk;
    let people = &options.people;
    let mut all = Vec::new();
    for side in [LeadEnd::A, LeadEnd::B] {
        let Some(end) = tube.end(side) else { continue };
        all.extend(wide_gap(end, side, tube.stock.wall, people));
        all.extend(beside(end, side, people));
        all.extend(neighbours(job, tube, end, side));
        if end.when == When::Before {
            all.extend(
                steps
                    .iter()
                    .enumerate()
                    .filter_map(|(place, step)| held(job, tube, blank, (end, side), step, &steps[..place], people)),
            );
        }
    }
    all
}

/// A gap that is wider than a weld bridges: more than 5 mm, and than twice the wall (common practice, no source).
fn wide_gap(end: &End, side: LeadEnd, wall: Option<Length>, people: &People) -> Option<Note> {
    const BRIDGED: Length = Length::mm(5.0);
    let bridged = BRIDGED.max(wall.unwrap_or_default() * 2.0);
    (end.gap > bridged).then(|| {
        note(
            "gap-wide",
            format!(
                "end {}: the gap to {} is {}, more than a weld bridges ({}; common practice, no source): is {} meant?",
                side.letter(),
                end.meets,
                people.figure(end.gap),
                people.figure(bridged),
                people.figure(end.gap)
            ),
        )
    })
}

/// A tube that is a little wider than what it lands on.
fn beside(end: &End, side: LeadEnd, people: &People) -> Option<Note> {
    (end.joint.beside > Length::ZERO).then(|| {
        note(
            "cope-beside",
            format!(
                "end {}: up to {} of its wall passes beside {}; the cut ends where it comes nearest there, and the weld has to fill it",
                side.letter(),
                people.figure(end.joint.beside),
                end.meets
            ),
        )
    })
}

/// Other ends at the same place: each is cut as if it were alone.
fn neighbours(job: &Job, tube: &Tube, end: &End, side: LeadEnd) -> Option<Note> {
    let node = |tube: &Tube, end| if end == LeadEnd::A { tube.centreline.start } else { tube.centreline.end().0 };
    let here = node(tube, side);
    let there = |other: &Tube| {
        let near = |end: &LeadEnd| (node(other, *end) - here).norm() <= SAME_NODE.to_mm();
        let ends: Vec<LeadEnd> = [LeadEnd::A, LeadEnd::B].into_iter().filter(near).collect();
        ends.into_iter().map(|end| format!("end {} of {}", end.letter(), other.name)).collect::<Vec<_>>()
    };
    let others = job.tubes.iter().filter(|other| other.name != tube.name && other.name != end.meets);
    let others: Vec<String> = others.flat_map(there).collect();
    (!others.is_empty()).then(|| {
        note(
            "ends-at-one-node",
            format!(
                "end {} lies at one node with {}: each is cut to the tube that it meets as if it were alone; where they touch each other, fit them by hand",
                side.letter(),
                others.join(", ")
            ),
        )
    })
}

/// A cut that is made before bending and leaves less whole tube in clamp or follower than an end of a tube needs there.
fn held(
    job: &Job,
    tube: &Tube,
    blank: &Blank,
    (end, side): (&End, LeadEnd),
    step: &PlanStep,
    before: &[PlanStep],
    people: &People,
) -> Option<Note> {
    let bend = &blank.bends[step.bend.0];
    let beyond = |other: &PlanStep| if side == LeadEnd::A { other.bend < step.bend } else { other.bend > step.bend };
    // A bend that is made holds the tube there.
    if before.iter().any(beyond) {
        return None;
    }
    let tangent = bend.tangent(step.lead);
    let to_end = if side == LeadEnd::A { tangent } else { blank.cut_length - tangent };
    let extra = if side == LeadEnd::A { tube.extra_a } else { tube.extra_b };
    let whole = to_end - extra - end.depth();
    let (part, needed) = wanted(&job.bender.dies[step.die], bend, side == step.lead);
    (whole < needed).then(|| {
        let cut = match end.cut {
            Cut::Cope => "cope",
            Cut::TwoPlane => "cut",
        };
        note(
            "cope-held",
            format!(
                "bend {}: the {cut} of end {} is made before bending and leaves {} of whole tube {part}, and an end needs {} there: cut it after bending",
                step.bend.number(),
                side.letter(),
                people.figure(whole.max(Length::ZERO)),
                people.figure(needed)
            ),
        )
    })
}

/// Where an end is held, and how much whole tube it needs there, counted from the tangent point.
fn wanted(die: &Die, bend: &FormedBend, leads: bool) -> (&'static str, Length) {
    if leads {
        ("in the clamp", die.ahead(false))
    } else {
        ("in the follower, the arc included,", die.behind(bend.blank_arc, false))
    }
}

/// An end in the documents for machines: lengths in mm, angles in degrees, keys end in their unit. Places along the tube are counted from its node into
/// the tube, the gap included; angles around it from the toe, clockwise looking from end A.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EndDocument {
    end: &'static str,
    meets: String,
    cut: &'static str,
    when: &'static str,
    gap_mm: f64,
    angle_deg: f64,
    offset_mm: f64,
    foot_mm: f64,
    set_off_mm: f64,
    short_point_mm: f64,
    depth_mm: f64,
    long_at_deg: f64,
    short_at_deg: f64,
    toe_deg: f64,
    toe_arc_mm: f64,
    beside_mm: f64,
    two_plane: PlanesDocument,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct PlanesDocument {
    mitre_deg: [f64; 2],
    deepest_deg: [f64; 2],
    set_off_mm: f64,
    short_point_mm: f64,
    back_mm: f64,
    gap_mm: f64,
    gap_at_deg: f64,
}

impl EndDocument {
    /// Which end: `A` or `B`.
    #[must_use]
    pub fn letter(&self) -> &'static str {
        self.end
    }

    /// The document of an end.
    #[must_use]
    pub fn new(plan: &EndPlan) -> Self {
        let End { meets, gap, cut, when, joint } = &plan.cut;
        let around = |angle: Angle| deg(clockwise(angle.wrapped()));
        let planes = &joint.planes;
        Self {
            end: plan.end.letter(),
            meets: meets.clone(),
            cut: match cut {
                Cut::Cope => "cope",
                Cut::TwoPlane => "two-plane",
            },
            when: match when {
                When::Before => "before",
                When::After => "after",
            },
            gap_mm: mm(*gap),
            angle_deg: deg(joint.angle),
            offset_mm: mm(joint.offset),
            foot_mm: mm(joint.foot),
            set_off_mm: mm(plan.cut.set_off()),
            short_point_mm: mm(plan.cut.short_point()),
            depth_mm: mm(plan.cut.depth()),
            long_at_deg: around(joint.long_at),
            short_at_deg: around(joint.short_at),
            toe_deg: deg(plan.toe),
            toe_arc_mm: mm(plan.toe_arc),
            beside_mm: mm(joint.beside),
            two_plane: PlanesDocument {
                mitre_deg: planes.mitre.map(deg),
                deepest_deg: planes.deepest_at.map(around),
                set_off_mm: mm(*gap + planes.long),
                short_point_mm: mm(*gap + planes.short),
                back_mm: mm(planes.back),
                gap_mm: mm(planes.gap),
                gap_at_deg: around(planes.gap_at),
            },
        }
    }
}
