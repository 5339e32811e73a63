//! The plan as a document for machines: schema `tubewright/plan/1`.
//!
//! Lengths in mm, angles in degrees, times in seconds, whatever the file's units; keys end in their unit. Nothing is rounded. What is
//! not known is `null`. The order of keys and entries is fixed, so the same job gives the same bytes.

use nalgebra::{Matrix3, Point3};
use serde::Serialize;

use super::{
    Alternative, Change, Cure, EndDocument, Fitness, Kept, Limit, Note, Plan, PlanStep, Push, Rescue, Side, Size,
    SpringbackFrom, TubePlan, WhyNot,
};
use crate::clearance::{Clearance, Verdict};
use crate::forming::BentWall;
use crate::job::Bound;
use crate::json::{deg, mm, plain, pretty};
use crate::rescue::Done;
use crate::tolerance::{Part, Scatter};

/// JSON Schema (draft 2020-12) of the document.
pub const JSON_SCHEMA: &str = include_str!("plan.schema.json");

/// Name and version of the format.
pub const SCHEMA: &str = "tubewright/plan/1";

/// The whole document.
#[derive(Clone, Debug, Serialize)]
pub struct Document {
    schema: &'static str,
    tubes: Vec<TubeDocument>,
}

#[derive(Clone, Debug, Serialize)]
struct TubeDocument {
    name: String,
    od_mm: f64,
    wall_mm: Option<f64>,
    die: Option<String>,
    material: Option<String>,
    nodes_mm: Vec<Option<[f64; 3]>>,
    rows: Vec<RowDocument>,
    developed_mm: f64,
    cut_length_mm: f64,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    ends: Vec<EndDocument>,
    gain_mm: Option<f64>,
    feasible: bool,
    cost_s: Option<f64>,
    proved_optimal: bool,
    fingerprint: String,
    accuracy: Option<AccuracyDocument>,
    fitness: FitnessDocument,
    steps: Vec<StepDocument>,
    alternatives: Vec<AlternativeDocument>,
    why_not: Vec<WhyNotDocument>,
    cures: Vec<CureDocument>,
    notes: Vec<NoteDocument>,
    #[serde(skip_serializing_if = "Option::is_none")]
    done: Option<Vec<DoneDocument>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rescue: Option<RescueDocument>,
}

#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
enum RowDocument {
    Bend {
        bend: usize,
        node: Option<String>,
        length_mm: f64,
        rotation_deg: f64,
        bend_deg: f64,
        formed_radius_mm: f64,
        setback_mm: Option<f64>,
        arc_mm: f64,
    },
    Last {
        length_mm: f64,
    },
}

#[derive(Clone, Debug, Serialize)]
struct StepDocument {
    step: usize,
    bend: usize,
    lead: &'static str,
    die: String,
    springback: SpringbackDocument,
    mark_mm: f64,
    tail_mm: f64,
    top_deg: f64,
    top_arc_mm: f64,
    turn_deg: Option<f64>,
    swap_ends: bool,
    dial_start_deg: f64,
    dial_target_deg: f64,
    die_angle_deg: f64,
    pin_moves: Vec<f64>,
    gauge: Option<GaugeDocument>,
    clearances: Vec<ClearanceDocument>,
    swing: SwingDocument,
    verdict: &'static str,
}

#[derive(Clone, Debug, Serialize)]
struct SpringbackDocument {
    from: &'static str,
    date: Option<String>,
    lot: Option<String>,
}

#[derive(Clone, Debug, Serialize)]
struct GaugeDocument {
    leg: usize,
    rise_deg: f64,
    side: &'static str,
}

#[derive(Clone, Debug, Serialize)]
struct ClearanceDocument {
    obstacle: String,
    motion: &'static str,
    gap_mm: Option<f64>,
    keep_mm: Option<f64>,
    die_angle_deg: Option<f64>,
    blank_mm: Option<f64>,
    point_mm: Option<[f64; 3]>,
}

#[derive(Clone, Debug, Serialize)]
struct SwingDocument {
    reach_mm: f64,
    high_mm: f64,
    low_mm: f64,
}

#[derive(Clone, Debug, Serialize)]
struct AccuracyDocument {
    end_b_mm: f64,
    by: Vec<PartDocument>,
    springback: Option<OfSpringbackDocument>,
    nodes: Vec<NodeDocument>,
    extra_a_mm: f64,
    extra_b_mm: f64,
    left_out: Vec<&'static str>,
}

/// How hard a tube's bends are on it, and how it stands against the user's rules.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitnessDocument {
    od_over_wall: Option<f64>,
    bends: Vec<BendFitnessDocument>,
    #[serde(skip_serializing_if = "Option::is_none")]
    seam: Option<SeamDocument>,
    source: &'static str,
    limits: Vec<LimitDocument>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct BendFitnessDocument {
    bend: usize,
    clr_over_od: f64,
    outer_wall_mm: Option<f64>,
    thinning: f64,
    outer_strain: f64,
    diameters_mm: Vec<[f64; 2]>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct SeamDocument {
    at_deg: f64,
    strain: f64,
    bends: Vec<usize>,
    least_strain: f64,
    least_at_deg: Vec<f64>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct LimitDocument {
    limit: &'static str,
    definition: &'static str,
    bound: &'static str,
    #[serde(flatten)]
    size: SizeDocument,
    bends: Vec<usize>,
    verdict: &'static str,
    text: String,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
enum SizeDocument {
    Ratio { asked: f64, found: Option<f64> },
    Length { asked_mm: f64, found_mm: Option<f64> },
}

#[derive(Clone, Debug, Serialize)]
struct OfSpringbackDocument {
    end_b_mm: f64,
    share: f64,
}

#[derive(Clone, Debug, Serialize)]
struct NodeDocument {
    node: Option<String>,
    covariance_mm2: Option<[[f64; 3]; 3]>,
}

#[derive(Clone, Debug, Serialize)]
struct PartDocument {
    bend: usize,
    share: f64,
    mm_per_deg: f64,
    moves_mm_per_deg: [f64; 3],
}

#[derive(Clone, Debug, Serialize)]
struct AlternativeDocument {
    cost_s: f64,
    tightest_gap_mm: Option<f64>,
    swaps: usize,
    steps: Vec<TurnDocument>,
}

#[derive(Clone, Debug, Serialize)]
struct TurnDocument {
    bend: usize,
    lead: &'static str,
    die: String,
}

#[derive(Clone, Debug, Serialize)]
struct CureDocument {
    kind: &'static str,
    text: String,
    change: ChangeDocument,
    cost_s: f64,
    tightest_gap_mm: Option<f64>,
}

#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
enum ChangeDocument {
    Tail {
        #[serde(skip_serializing_if = "Option::is_none")]
        extra_a_mm: Option<f64>,
        #[serde(skip_serializing_if = "Option::is_none")]
        extra_b_mm: Option<f64>,
    },
    AcceptTight {
        accept_tight: bool,
    },
    Node {
        node: String,
        by_mm: [f64; 3],
    },
    Leg {
        leg: usize,
        by_mm: f64,
    },
    Die {
        bends: Vec<usize>,
        die: String,
    },
    Split {
        split_leg: usize,
        at_mm: f64,
    },
    Higher {
        centre_height_mm: f64,
    },
}

#[derive(Clone, Debug, Serialize)]
struct WhyNotDocument {
    reason: &'static str,
    bend: usize,
    text: String,
}

/// A note.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct NoteDocument {
    code: &'static str,
    text: String,
}

#[derive(Clone, Debug, Serialize)]
struct DoneDocument {
    bend: usize,
    lead: &'static str,
    angle_deg: f64,
    slip_mm: f64,
    roll_deg: f64,
}

#[derive(Clone, Debug, Serialize)]
struct RescueDocument {
    held: bool,
    end_b_off_mm: f64,
    last_leg_off_deg: f64,
    left_at_b_mm: f64,
    reference_deg: f64,
    push: Option<PushDocument>,
    text: Vec<String>,
}

#[derive(Clone, Debug, Serialize)]
struct PushDocument {
    bend: usize,
    more_deg: f64,
    reading_deg: f64,
}

fn point(point: Point3<f64>) -> [f64; 3] {
    [plain(point.x), plain(point.y), plain(point.z)]
}

/// The word for a verdict in the document.
#[must_use]
pub const fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Clear => "clear",
        Verdict::Tight => "tight",
        Verdict::Contact => "contact",
        Verdict::Unproven => "unproven",
    }
}

/// The word for where springback is from.
#[must_use]
pub const fn springback_from(from: SpringbackFrom) -> &'static str {
    match from {
        SpringbackFrom::Measured => "measured",
        SpringbackFrom::Given => "given",
        SpringbackFrom::Borrowed => "borrowed",
        SpringbackFrom::Estimated => "estimated",
        SpringbackFrom::None => "none",
    }
}

impl Document {
    /// The document of a plan.
    #[must_use]
    pub fn new(plan: &Plan) -> Self {
        Self { schema: SCHEMA, tubes: plan.tubes.iter().map(|tube| TubeDocument::new(plan, tube)).collect() }
    }

    /// The document as text: JSON, two spaces a level, a line break at the end.
    ///
    /// # Panics
    /// Never: there is nothing in it that JSON cannot hold.
    #[must_use]
    pub fn to_json(&self) -> String {
        pretty(self)
    }
}

impl TubeDocument {
    fn new(plan: &Plan, tube: &TubePlan) -> Self {
        Self {
            name: tube.name.clone(),
            od_mm: mm(tube.stock.od),
            wall_mm: tube.stock.wall.map(mm),
            die: tube.die.clone(),
            material: tube.stock.material.clone(),
            nodes_mm: tube.centreline.nodes.iter().map(|node| node.map(point)).collect(),
            rows: rows(tube),
            developed_mm: mm(tube.blank.developed),
            cut_length_mm: mm(tube.blank.cut_length),
            ends: tube.ends.iter().map(EndDocument::new).collect(),
            gain_mm: tube.centreline.gain().map(mm),
            feasible: tube.feasible,
            cost_s: tube.cost.map(|cost| cost.to_seconds()),
            proved_optimal: tube.proved_optimal,
            fingerprint: plan.fingerprint.clone(),
            accuracy: tube.scatter.as_ref().map(|scatter| AccuracyDocument::new(scatter, &tube.node_names)),
            fitness: FitnessDocument::new(&tube.fitness),
            alternatives: tube.alternatives.iter().map(AlternativeDocument::new).collect(),
            cures: tube.cures.iter().map(CureDocument::new).collect(),
            steps: tube.steps.iter().enumerate().map(|(place, step)| StepDocument::new(place + 1, step)).collect(),
            why_not: tube.why_not.iter().map(WhyNotDocument::new).collect(),
            notes: tube.notes.iter().map(NoteDocument::new).collect(),
            done: tube.rescue.as_ref().map(|rescue| rescue.done.iter().map(DoneDocument::new).collect()),
            rescue: tube.rescue.as_ref().map(RescueDocument::new),
        }
    }
}

fn rows(tube: &TubePlan) -> Vec<RowDocument> {
    let centreline = &tube.centreline;
    let bends = centreline.rows.bends.iter().zip(&tube.blank.bends).zip(&centreline.bend_nodes);
    let mut rows: Vec<RowDocument> = bends
        .map(|((row, formed), node)| RowDocument::Bend {
            bend: formed.bend.number(),
            node: tube.node_names.get(*node).cloned().flatten(),
            length_mm: mm(row.length),
            rotation_deg: deg(row.rotation),
            bend_deg: deg(row.angle),
            formed_radius_mm: mm(formed.formed_radius),
            setback_mm: centreline.setback(formed.bend).map(mm),
            arc_mm: mm(formed.arc),
        })
        .collect();
    rows.push(RowDocument::Last { length_mm: mm(centreline.rows.last) });
    rows
}

impl StepDocument {
    fn new(number: usize, step: &PlanStep) -> Self {
        Self {
            step: number,
            bend: step.bend.number(),
            lead: step.lead.letter(),
            die: step.die_name.clone(),
            springback: SpringbackDocument {
                from: springback_from(step.springback.from),
                date: step.springback.date.clone(),
                lot: step.springback.lot.clone(),
            },
            mark_mm: mm(step.mark),
            tail_mm: mm(step.tail),
            top_deg: deg(step.top),
            top_arc_mm: mm(step.top_arc),
            turn_deg: step.turn.map(deg),
            swap_ends: step.swap_ends,
            dial_start_deg: deg(step.dial_start),
            dial_target_deg: deg(step.dial_target),
            die_angle_deg: deg(step.die_angle),
            pin_moves: step.pin_moves.iter().copied().map(deg).collect(),
            gauge: step.gauge.map(|gauge| GaugeDocument {
                leg: gauge.leg,
                rise_deg: deg(gauge.rise),
                side: match gauge.side {
                    Side::Die => "die",
                    Side::Away => "away",
                },
            }),
            clearances: step.clearances.iter().map(ClearanceDocument::new).collect(),
            swing: SwingDocument {
                reach_mm: mm(step.swing.reach),
                high_mm: mm(step.swing.high),
                low_mm: mm(step.swing.low),
            },
            verdict: verdict(step.verdict),
        }
    }
}

impl ClearanceDocument {
    fn new(clearance: &Clearance) -> Self {
        Self {
            obstacle: clearance.obstacle.clone(),
            motion: clearance.motion.code(),
            gap_mm: clearance.nearest.map(|nearest| mm(nearest.gap)),
            keep_mm: clearance.nearest.map(|nearest| mm(nearest.keep)),
            die_angle_deg: clearance.nearest.map(|nearest| deg(nearest.die_angle)),
            blank_mm: clearance.nearest.map(|nearest| mm(nearest.blank)),
            point_mm: clearance.nearest.map(|nearest| point(nearest.point)),
        }
    }
}

impl AccuracyDocument {
    fn new(scatter: &Scatter, names: &[Option<String>]) -> Self {
        let part = |part: &Part| PartDocument {
            bend: part.bend.number(),
            share: plain(part.share),
            mm_per_deg: plain(part.per_degree.norm()),
            moves_mm_per_deg: part.per_degree.map(plain).into(),
        };
        let node = |(place, covariance): (usize, &Option<Matrix3<f64>>)| NodeDocument {
            node: names.get(place).cloned().flatten(),
            covariance_mm2: covariance.map(|covariance| covariance.map(plain).into()),
        };
        let springback = (!scatter.unknown.is_empty()).then_some("springback");
        Self {
            end_b_mm: mm(scatter.within),
            by: scatter.by.iter().map(part).collect(),
            springback: scatter
                .springback
                .map(|of| OfSpringbackDocument { end_b_mm: mm(of.within), share: plain(of.share) }),
            nodes: scatter.nodes.iter().enumerate().map(node).collect(),
            extra_a_mm: mm(scatter.extra[0]),
            extra_b_mm: mm(scatter.extra[1]),
            left_out: springback.into_iter().chain(["clr", "stretch", "mark-offset", "cut-length"]).collect(),
        }
    }
}

impl FitnessDocument {
    /// The document of what is known of a tube's bends and rules.
    #[must_use]
    pub fn new(fitness: &Fitness) -> Self {
        let bends = fitness.bends.iter().map(|bend| BendFitnessDocument {
            bend: bend.bend.number(),
            clr_over_od: plain(bend.clr_over_od),
            outer_wall_mm: bend.outer_wall.map(mm),
            thinning: plain(bend.wall.thinning()),
            outer_strain: plain(bend.wall.strain),
            diameters_mm: bend.diameters.iter().map(|of| [mm(of.largest), mm(of.smallest)]).collect(),
        });
        Self {
            od_over_wall: fitness.od_over_wall,
            bends: bends.collect(),
            seam: fitness.seam.as_ref().map(|seam| SeamDocument {
                at_deg: deg(seam.at),
                strain: plain(seam.strain),
                bends: seam.bends.iter().map(|bend| bend.number()).collect(),
                least_strain: plain(seam.least),
                least_at_deg: seam.least_at.iter().map(|at| deg(*at)).collect(),
            }),
            source: BentWall::SOURCE,
            limits: fitness.limits.iter().map(LimitDocument::new).collect(),
        }
    }
}

impl LimitDocument {
    fn new(limit: &Limit) -> Self {
        let ratio = |size| match size {
            Size::Ratio(ratio) => Some(ratio),
            Size::Length(_) => None,
        };
        let length = |size| match size {
            Size::Length(length) => Some(mm(length)),
            Size::Ratio(_) => None,
        };
        Self {
            limit: limit.key,
            definition: limit.definition,
            bound: match limit.bound {
                Bound::AtLeast => "at-least",
                Bound::AtMost => "at-most",
            },
            size: match limit.asked {
                Size::Ratio(asked) => SizeDocument::Ratio { asked, found: limit.found.and_then(ratio) },
                Size::Length(asked) => {
                    SizeDocument::Length { asked_mm: mm(asked), found_mm: limit.found.and_then(length) }
                }
            },
            bends: limit.bends.iter().map(|bend| bend.number()).collect(),
            verdict: match limit.kept {
                Kept::Pass => "pass",
                Kept::Fail => "fail",
                Kept::Unknown => "unknown",
            },
            text: limit.text.clone(),
        }
    }
}

impl AlternativeDocument {
    fn new(alternative: &Alternative) -> Self {
        let turns = alternative.order.0.iter().zip(&alternative.dies);
        Self {
            cost_s: alternative.cost.to_seconds(),
            tightest_gap_mm: alternative.tightest.map(mm),
            swaps: alternative.swaps,
            steps: turns
                .map(|(turn, die)| TurnDocument {
                    bend: turn.bend.number(),
                    lead: turn.lead.letter(),
                    die: die.clone(),
                })
                .collect(),
        }
    }
}

impl WhyNotDocument {
    fn new(why: &WhyNot) -> Self {
        Self { reason: why.reason.code(), bend: why.bend.number(), text: why.text.clone() }
    }
}

impl CureDocument {
    fn new(cure: &Cure) -> Self {
        Self {
            kind: cure.change.kind(),
            text: cure.text.clone(),
            change: ChangeDocument::new(&cure.change),
            cost_s: cure.cost.to_seconds(),
            tightest_gap_mm: cure.tightest.map(mm),
        }
    }
}

impl ChangeDocument {
    fn new(change: &Change) -> Self {
        match change {
            Change::Tail { extra_a, extra_b } => {
                Self::Tail { extra_a_mm: extra_a.map(mm), extra_b_mm: extra_b.map(mm) }
            }
            Change::AcceptTight => Self::AcceptTight { accept_tight: true },
            Change::Node { node, by } => {
                Self::Node { node: node.clone(), by_mm: [plain(by.x), plain(by.y), plain(by.z)] }
            }
            Change::Leg { leg, by } => Self::Leg { leg: *leg, by_mm: mm(*by) },
            Change::Die { bends, die } => {
                Self::Die { bends: bends.iter().map(|bend| bend.number()).collect(), die: die.clone() }
            }
            Change::Split { leg, at } => Self::Split { split_leg: *leg, at_mm: mm(*at) },
            Change::Higher { centre_height } => Self::Higher { centre_height_mm: mm(*centre_height) },
        }
    }
}

impl DoneDocument {
    fn new(done: &Done) -> Self {
        Self {
            bend: done.turn.bend.number(),
            lead: done.turn.lead.letter(),
            angle_deg: deg(done.angle),
            slip_mm: mm(done.slip),
            roll_deg: deg(done.roll),
        }
    }
}

impl RescueDocument {
    fn new(rescue: &Rescue) -> Self {
        let push = |push: Push| PushDocument {
            bend: push.bend.number(),
            more_deg: deg(push.more),
            reading_deg: deg(push.reading),
        };
        Self {
            held: rescue.held,
            end_b_off_mm: mm(rescue.end_b_off),
            last_leg_off_deg: deg(rescue.last_leg_off),
            left_at_b_mm: mm(rescue.left_at_b),
            reference_deg: deg(rescue.reference),
            push: rescue.push.map(push),
            text: rescue.text.clone(),
        }
    }
}

impl NoteDocument {
    pub(crate) fn new(note: &Note) -> Self {
        Self { code: note.code, text: note.text.clone() }
    }
}
