//! The plan: everything that is known of how a job is bent.
//!
//! One [`Plan`] is the only source of what a person or a machine is shown. [`plan()`] makes it from a [`Job`]; nothing in it
//! is rounded. [`document`] turns it into the output for machines.
//!
//! ```text
//! Job -> Blank (what the die and the material make of the shape)
//!     -> solve (which bend first, which end leads)
//!     -> walk  (limits, clearances and cost of each step)
//!     -> Plan  (with the reasons where it cannot be done, and notes of what was assumed)
//! ```

mod cures;
pub mod document;
mod ends;
mod fitness;
mod gauge;
mod notes;
mod others;
mod rescued;
mod rules;
mod surveyed;
mod walk;
mod why;

use core::sync::atomic::{AtomicBool, Ordering};

use nalgebra::Point3;

use self::cures::Cures;
pub use self::cures::{Change, Cure};
pub use self::ends::{EndDocument, EndPlan};
pub use self::fitness::{BendFitness, Fitness, Kept, Limit, Size, numbered};
pub use self::gauge::{Gauge, Side, upward};
pub use self::notes::Note;
pub use self::rescued::{Push, Rescue};
use self::walk::Walk;
pub(crate) use self::walk::provenance;
pub use self::why::{Reason, WhyNot};
use crate::centreline::{BendId, Centreline};
use crate::clearance::{Clearance, Machine, Swing, Verdict, Way};
use crate::forming::{Blank, LeadEnd};
use crate::job::{End, Job, Stock, Tube};
use crate::order::cost::Cost;
use crate::order::{self, Order, OrderMistake, Priced, Solved, Task, Turn, Watch};
use crate::rescue::{self, Done, DoneMistake};
use crate::round::People;
use crate::tolerance::{Doubt, Scatter, Shape};
use crate::units::{Angle, Length, LengthUnit};

/// What is asked of [`plan()`].
#[derive(Clone, Debug)]
pub struct Options {
    /// Names of the tubes to be planned; empty for all.
    pub tubes: Vec<String>,
    /// An order fixed by hand, as `2A 1A 3B`; for one tube only.
    pub order: Option<String>,
    /// Whether tight steps count as feasible too.
    pub accept_tight: bool,
    /// How many orders are wanted: the best, and the next best as alternatives. 0 counts as 1.
    pub best: usize,
    /// How lengths are worded in notes and reasons.
    pub people: People,
}

/// Why a job cannot be planned as asked.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AskMistake {
    /// A tube that the job has not.
    #[error("there is no tube `{name}` in this job: it has {known}")]
    NoSuchTube {
        /// The name asked for.
        name: String,
        /// The names that there are.
        known: String,
    },
    /// An order for several tubes at once.
    #[error("an order is for one tube: say which with one --tube (this job has {known})")]
    OrderForSeveral {
        /// The names that there are.
        known: String,
    },
    /// An order that cannot be read.
    #[error("order for tube `{tube}`: {mistake}")]
    Order {
        /// The tube.
        tube: String,
        /// What is wrong.
        mistake: OrderMistake,
    },
    /// What was done, for several tubes at once.
    #[error("what was done is of one tube: say which with one --tube (this job has {known})")]
    DoneForSeveral {
        /// The names that there are.
        known: String,
    },
    /// What was done cannot be read, or is not of this tube.
    #[error("done of tube `{tube}`: {mistake}")]
    Done {
        /// The tube.
        tube: String,
        /// What is wrong.
        mistake: DoneMistake,
    },
    /// What was done cannot be.
    #[error("done of tube `{tube}`: {why}")]
    NoShape {
        /// The tube.
        tube: String,
        /// Why, in words.
        why: String,
    },
}

/// Where the springback of a step comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpringbackFrom {
    /// A record of test bends whose material, OD and wall fit this tube.
    Measured,
    /// Figures without a record.
    Given,
    /// A record of test bends of another OD or wall.
    Borrowed,
    /// Theory.
    Estimated,
    /// Nothing was given: 0 is assumed.
    None,
}

/// Springback of a step: where it is from, and of which record.
#[derive(Clone, Debug, PartialEq)]
pub struct Provenance {
    /// Where the figures are from.
    pub from: SpringbackFrom,
    /// Date of the record.
    pub date: Option<String>,
    /// Delivery of tube in the record.
    pub lot: Option<String>,
    /// Outside diameter of the tube in the record.
    pub od: Option<Length>,
    /// Wall of the tube in the record.
    pub wall: Option<Length>,
}

/// One step: one bend, in the order of making.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanStep {
    /// Which bend.
    pub bend: BendId,
    /// Which end leads.
    pub lead: LeadEnd,
    /// Place of the die in the bender's list.
    pub die: usize,
    /// Its name.
    pub die_name: String,
    /// Where the springback is from.
    pub springback: Provenance,
    /// Mark for this lead end, from end A.
    pub mark: Length,
    /// From the mark to the trailing end.
    pub tail: Length,
    /// Roll of the top line from the reference line, clockwise looking from end A, in (-180, 180].
    pub top: Angle,
    /// The same around the OD, in [0, girth).
    pub top_arc: Length,
    /// Turn from the step before, clockwise seen from the trailing end looking to the die; `None` for the first step and after the ends
    /// are swapped.
    pub turn: Option<Angle>,
    /// Whether the other end led in the step before.
    pub swap_ends: bool,
    /// What the pointer is set to.
    pub dial_start: Angle,
    /// Reading to stop at, not rounded.
    pub dial_target: Angle,
    /// How far the die turns.
    pub die_angle: Angle,
    /// Readings near which the drive pin is moved.
    pub pin_moves: Vec<Angle>,
    /// A leg that shows the roll on a level.
    pub gauge: Option<Gauge>,
    /// Height of end A and of end B over the tube's line at the die, with the tube laid in at die angle 0; negative below it.
    pub ends_up: [Length; 2],
    /// One entry for every obstacle over the bend, then one for every obstacle over each other motion that is switched on.
    pub clearances: Vec<Clearance>,
    /// The room that the tube takes.
    pub swing: Swing,
    /// The way to take the tube out, where not every way asked for is clear.
    pub take_out: Option<Way>,
    /// The same for laying it in.
    pub put_in: Option<Way>,
    /// About gaps alone, over the bend and all other motions that are switched on.
    pub verdict: Verdict,
    /// Broken limits and gaps that stop this step.
    pub blocked_by: Vec<WhyNot>,
    /// What the step costs.
    pub cost: Cost,
}

impl PlanStep {
    /// Whether the last move of the pin comes so close before the target that one starts one hole along.
    #[must_use]
    pub fn starts_one_hole_along(&self) -> bool {
        self.pin_moves.last().is_some_and(|last| self.dial_target - *last <= notes::PIN_NEAR)
    }

    /// The obstacle that comes nearest over the bend itself, if any comes nearer than comfortable.
    #[must_use]
    pub fn tightest(&self) -> Option<&Clearance> {
        walk::tightest(&self.clearances)
    }
}

/// Another order that would do.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternative {
    /// The order.
    pub order: Order,
    /// Dies of its steps.
    pub dies: Vec<String>,
    /// What it costs.
    pub cost: Cost,
    /// Smallest gap of all its bends; `None` where all are comfortable.
    pub tightest: Option<Length>,
    /// How often the ends are swapped.
    pub swaps: usize,
}

/// What is known of one tube.
#[derive(Clone, Debug, PartialEq)]
pub struct TubePlan {
    /// Name.
    pub name: String,
    /// What it is made of.
    pub stock: Stock,
    /// Name of its die; `None` where it has several, or none.
    pub die: Option<String>,
    /// Finished shape.
    pub centreline: Centreline,
    /// Names of the centreline's nodes.
    pub node_names: Vec<Option<String>>,
    /// The straight blank with its bends.
    pub blank: Blank,
    /// Tube left beyond the finished end A: its node, or the long point of its cut.
    pub extra_a: Length,
    /// Tube left beyond the finished end B.
    pub extra_b: Length,
    /// Ends that land on another tube, end A first.
    pub ends: Vec<EndPlan>,
    /// Where the seam lies, clockwise from the reference line looking from end A.
    pub seam: Option<Angle>,
    /// The other tube of a mirrored pair.
    pub pair: Option<String>,
    /// Whether it can be bent as planned.
    pub feasible: bool,
    /// What it costs; `None` where it is not feasible.
    pub cost: Option<Cost>,
    /// Whether it is proved that no order costs less, or that there is none.
    pub proved_optimal: bool,
    /// How far the finished tube may be off, where the shop's accuracy is given.
    pub scatter: Option<Scatter>,
    /// How hard its bends are on it, and how it stands against the user's rules.
    pub fitness: Fitness,
    /// Steps in the order of making.
    pub steps: Vec<PlanStep>,
    /// The next best orders, where more than one was asked for.
    pub alternatives: Vec<Alternative>,
    /// Why it is not feasible.
    pub why_not: Vec<WhyNot>,
    /// Changes with which it can be bent, where no order was found: least effort first.
    pub cures: Vec<Cure>,
    /// What was assumed, not looked at, or is worth knowing; most important first.
    pub notes: Vec<Note>,
    /// For a tube that is half bent what came out and what becomes of it; all else is then of the bends that are left.
    pub rescue: Option<Rescue>,
}

impl TubePlan {
    /// An end that lands on another tube, where it does.
    #[must_use]
    pub fn end(&self, end: LeadEnd) -> Option<&EndPlan> {
        self.ends.iter().find(|one| one.end == end)
    }

    /// An end that has its cut before the tube is bent, or without being bent, where it has one: it is square no more, and what is left on it is gone.
    #[must_use]
    pub fn cut_before(&self, end: LeadEnd) -> Option<&End> {
        let bent = !self.blank.bends.is_empty();
        self.end(end).map(|own| &own.cut).filter(|own| own.is_before(bent))
    }

    /// What each end that lands on another tube is shorter than its node; 0 for any other.
    #[must_use]
    pub fn set_offs(&self) -> [Length; 2] {
        [LeadEnd::A, LeadEnd::B].map(|end| self.end(end).map_or(Length::ZERO, |own| own.cut.set_off()))
    }

    /// Blank beyond the first and the last node: what is left on there less the set-off of an end that lands on another tube.
    #[must_use]
    pub fn beyond(&self) -> [Length; 2] {
        let [a, b] = self.set_offs();
        [self.extra_a - a, self.extra_b - b]
    }

    /// For each bend of the blank whether it is made before a step, counted from 1; past the last step all that the plan makes are.
    #[must_use]
    pub fn made_before(&self, number: usize) -> Vec<bool> {
        let mut made = vec![false; self.blank.bends.len()];
        self.rescue.iter().flat_map(|rescue| &rescue.done).for_each(|done| made[done.turn.bend.0] = true);
        for earlier in self.steps.iter().take(number.saturating_sub(1)) {
            made[earlier.bend.0] = true;
        }
        made
    }

    /// The finished place of a node in the job's axes, mm.
    #[must_use]
    pub fn node(&self, place: usize) -> Option<Point3<f64>> {
        self.centreline.nodes.get(place).copied().flatten()
    }
}

/// The plan of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Units of the job's file.
    pub units: LengthUnit,
    /// Date of the job, as written.
    pub date: Option<String>,
    /// First four hex digits of the hash over the files.
    pub fingerprint: String,
    /// The bender's name.
    pub bender: Option<String>,
    /// Tubes, in the order of the file.
    pub tubes: Vec<TubePlan>,
}

impl Plan {
    /// Whether every tube can be bent as planned.
    #[must_use]
    pub fn feasible(&self) -> bool {
        self.tubes.iter().all(|tube| tube.feasible)
    }
}

/// How far the planning of a job has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress<'a> {
    /// Tubes planned.
    pub done: usize,
    /// Tubes in all.
    pub of: usize,
    /// The tube that is being planned; empty once all are.
    pub tube: &'a str,
    /// The part of that tube's work that is done, as far as it can be told, from 0 to 1.
    pub share: f64,
    /// States of its search that were gone on from.
    pub expanded: u64,
}

/// The plan of a job: every tube that is asked for, in the order of the file.
///
/// For each tube the order that costs least of all that are clear (or the one fixed by hand). Where none is clear, the steps are
/// those of the order that gets furthest, ending with the blocked one. `progress` is called now and then, and after each tube. Once `stop` is true,
/// what is left is planned with the best order that is at hand without searching; the answer is the same on every machine otherwise.
///
/// # Errors
/// A tube that is not there, an order that cannot be read, or one for several tubes.
pub fn plan(
    job: &Job,
    options: &Options,
    stop: &AtomicBool,
    progress: &mut dyn FnMut(Progress<'_>),
) -> Result<Plan, AskMistake> {
    let tubes = chosen(job, options)?;
    planned(job, tubes, stop, progress, &mut |machine, tube, watch| plan_tube(machine, job, tube, options, watch))
}

/// The plan of what is left of one tube that is half bent: `done` is what was got, as [`Done::parse`] reads it.
///
/// The bends that are left are found anew by [`rescue::rescue`], in the order of the tube's own plan or the one fixed by hand where that can be, else in
/// the one of least cost that can.
///
/// # Errors
/// As [`plan()`]; more than one tube; what was done cannot be read or is not how the order begins, or cannot be.
pub fn plan_rest(
    job: &Job,
    options: &Options,
    done: &str,
    stop: &AtomicBool,
    progress: &mut dyn FnMut(Progress<'_>),
) -> Result<Plan, AskMistake> {
    let tubes = chosen(job, options)?;
    if tubes.len() != 1 {
        return Err(AskMistake::DoneForSeveral { known: known(job) });
    }
    planned(job, tubes, stop, progress, &mut |machine, tube, watch| {
        rest_of_tube(machine, job, tube, options, done, watch)
    })
}

fn planned(
    job: &Job,
    tubes: Vec<&Tube>,
    stop: &AtomicBool,
    progress: &mut dyn FnMut(Progress<'_>),
    one: &mut dyn FnMut(&Machine, &Tube, &mut Watch<'_>) -> Result<TubePlan, AskMistake>,
) -> Result<Plan, AskMistake> {
    let of = tubes.len();
    let machine = Machine::new(&job.bender);
    let mut planned = Vec::with_capacity(of);
    for (done, tube) in tubes.into_iter().enumerate() {
        let mut told = |at: order::Progress| {
            progress(Progress { done, of, tube: &tube.name, share: at.share, expanded: at.expanded });
        };
        planned.push(one(&machine, tube, &mut Watch { stop, progress: &mut told })?);
        progress(Progress { done: done + 1, of, tube: "", share: 0.0, expanded: 0 });
    }
    Ok(Plan {
        units: job.units,
        date: job.date.clone(),
        fingerprint: job.fingerprint.clone(),
        bender: job.bender.name.clone(),
        tubes: planned,
    })
}

fn chosen<'a>(job: &'a Job, options: &Options) -> Result<Vec<&'a Tube>, AskMistake> {
    let tubes = named(job, &options.tubes)?;
    if options.order.is_some() && tubes.len() != 1 {
        return Err(AskMistake::OrderForSeveral { known: known(job) });
    }
    Ok(tubes)
}

/// The tubes of these names, in the order of the file; all of them where no name is given.
pub(crate) fn named<'a>(job: &'a Job, names: &[String]) -> Result<Vec<&'a Tube>, AskMistake> {
    if let Some(name) = names.iter().find(|name| job.tubes.iter().all(|tube| tube.name != **name)) {
        return Err(AskMistake::NoSuchTube { name: name.clone(), known: known(job) });
    }
    Ok(job.tubes.iter().filter(|tube| names.is_empty() || names.contains(&tube.name)).collect())
}

fn known(job: &Job) -> String {
    job.tubes.iter().map(|tube| format!("`{}`", tube.name)).collect::<Vec<_>>().join(", ")
}

fn plan_tube(
    machine: &Machine,
    job: &Job,
    tube: &Tube,
    options: &Options,
    watch: &mut Watch<'_>,
) -> Result<TubePlan, AskMistake> {
    let blank = tube.blank(&job.bender);
    let bends = blank.bends.len();
    let walk = Walk { machine, job, tube, blank: &blank, options, begun: 0 };
    let (walked, solved) = match &options.order {
        Some(text) => {
            let order = by_hand(tube, text)?;
            (walk.whole(&order), Solved { proved: bends == 0, ..Solved::default() })
        }
        None => {
            let accept_tight = options.accept_tight;
            let best = options.best.max(1);
            let task = Task { bender: &job.bender, machine, blank: &blank, accept_tight, best };
            let solved = order::solve(&task, watch);
            let walked = match solved.orders.first() {
                Some(best) => walk.whole(&best.order),
                None => walk.up_to_the_block(&solved.furthest),
            };
            (walked, solved)
        }
    };
    let feasible = walked.blocked_at.is_none() && (options.order.is_some() || !solved.orders.is_empty());
    let alternatives = solved.orders.iter().skip(1).map(|priced| alternative(&walk, priced)).collect();
    let why_not = if feasible { Vec::new() } else { why_not(&walk, &walked, watch) };
    let searched_to_the_end = options.order.is_none() && !solved.stopped;
    let cures = if feasible || !searched_to_the_end {
        Cures::default()
    } else {
        cures::cures(machine, job, tube, options, &cures::bends_named(&why_not), watch)
    };
    let scatter = job.bender.accuracy.filter(|_| bends > 0).map(|accuracy| {
        let step = |bend| walked.steps.iter().find(|step| step.bend == bend);
        let lead = |bend| step(bend).map_or(LeadEnd::A, |step| step.lead);
        let doubts: Vec<_> =
            (0..bends).map(|bend| step(BendId(bend)).and_then(|step| doubt(job, tube, step))).collect();
        Scatter::new(&Shape::new(&tube.centreline, &blank, &lead), &accuracy, &doubts)
    });
    let fitness = Fitness::new(job, tube, &options.people);
    let mut notes = notes::notes(&walk, &walked.steps, &solved, &fitness, cures.stopped);
    notes.extend(surveyed::notes(job, tube, scatter.as_ref(), &options.people));
    let known =
        Known { feasible, proved: solved.proved, alternatives, why_not, cures: cures.found, scatter, fitness, notes };
    Ok(told(job, tube, blank, walked, known))
}

/// The order fixed by hand.
fn by_hand(tube: &Tube, text: &str) -> Result<Order, AskMistake> {
    Order::parse(text, tube.dies.len()).map_err(|mistake| AskMistake::Order { tube: tube.name.clone(), mistake })
}

/// What is known of a tube beside its shape and its steps.
struct Known {
    feasible: bool,
    proved: bool,
    alternatives: Vec<Alternative>,
    why_not: Vec<WhyNot>,
    cures: Vec<Cure>,
    scatter: Option<Scatter>,
    fitness: Fitness,
    notes: Vec<Note>,
}

fn told(job: &Job, tube: &Tube, blank: Blank, walked: walk::Walked, known: Known) -> TubePlan {
    TubePlan {
        name: tube.name.clone(),
        stock: tube.stock.clone(),
        die: one_die(job, tube),
        centreline: tube.centreline.clone(),
        node_names: tube.node_names.clone(),
        blank,
        extra_a: tube.extra_a,
        extra_b: tube.extra_b,
        ends: EndPlan::all(job, tube),
        seam: tube.seam,
        pair: tube.pair.clone(),
        feasible: known.feasible,
        cost: known.feasible.then_some(walked.cost),
        proved_optimal: known.proved,
        scatter: known.scatter,
        fitness: known.fitness,
        steps: walked.steps,
        alternatives: known.alternatives,
        why_not: known.why_not,
        cures: known.cures,
        notes: known.notes,
        rescue: None,
    }
}

/// The plan of what is left of a tube.
fn rest_of_tube(
    machine: &Machine,
    job: &Job,
    tube: &Tube,
    options: &Options,
    done: &str,
    watch: &mut Watch<'_>,
) -> Result<TubePlan, AskMistake> {
    let (bender, accept_tight) = (&job.bender, options.accept_tight);
    let blank = tube.blank(bender);
    let order = match &options.order {
        Some(text) => by_hand(tube, text)?,
        None => {
            let solved = order::solve(&Task { bender, machine, blank: &blank, accept_tight, best: 1 }, watch);
            solved.orders.into_iter().next().map_or(solved.furthest, |best| best.order)
        }
    };
    let done = Done::parse(done, &order, &blank, job.units)
        .map_err(|mistake| AskMistake::Done { tube: tube.name.clone(), mistake })?;
    let saved = rescue::rescue(bender, tube, &blank, &order, &done)
        .map_err(|why| AskMistake::NoShape { tube: tube.name.clone(), why: why.words(&options.people) })?;
    let now = Tube { centreline: saved.centreline.clone(), extra_b: saved.extra_b, ..tube.clone() };
    let rest = now.blank(bender);
    let begun: Vec<Turn> = done.iter().map(|done| done.turn).collect();
    let walk = Walk { machine, job, tube: &now, blank: &rest, options, begun: begun.len() };
    let solved = if options.order.is_some() {
        Solved { proved: begun.len() == order.0.len(), ..Solved::default() }
    } else {
        order::solve_rest(&Task { bender, machine, blank: &rest, accept_tight, best: 1 }, &begun, watch)
    };
    let walked = match (&options.order, solved.orders.first()) {
        (Some(_), _) => walk.whole(&order),
        (None, Some(best)) => walk.whole(&best.order),
        (None, None) => walk.up_to_the_block(&solved.furthest),
    };
    let feasible = walked.blocked_at.is_none() && (options.order.is_some() || !solved.orders.is_empty());
    // The seam is in its place already, and its reference line is that of the tube as it was wanted.
    let fitness = Fitness { seam: None, ..Fitness::new(job, &now, &options.people) };
    let notes = notes::notes(&walk, &walked.steps, &solved, &fitness, false);
    let known = Known {
        feasible,
        proved: solved.proved,
        alternatives: Vec::new(),
        why_not: if feasible { Vec::new() } else { blocked(&walked) },
        cures: Vec::new(),
        // The shop's accuracy is of bends that nobody has measured yet.
        scatter: None,
        fitness,
        notes,
    };
    let told_by = rescued::Told { machine, job, tube, blank: &blank, rest: &rest, done: &done, saved: &saved, options };
    let rescue = told_by.rescue(&walked);
    Ok(TubePlan { rescue: Some(rescue), ..told(job, &now, rest, walked, known) })
}

/// How far the springback of a step may be off, where it was measured for such tube and the record says how good it is.
fn doubt(job: &Job, tube: &Tube, step: &PlanStep) -> Option<Doubt> {
    if step.springback.from != SpringbackFrom::Measured {
        return None;
    }
    let material = tube.material_in(&job.bender.dies[step.die])?;
    Some(Doubt {
        die: step.die,
        proportional: material.springback?.proportional,
        radius_growth: material.radius_growth,
        sd: material.measured.as_ref()?.sd?,
    })
}

fn one_die(job: &Job, tube: &Tube) -> Option<String> {
    let first = tube.dies.first().copied().or(tube.die)?;
    tube.dies.iter().all(|die| *die == first).then(|| job.bender.dies[first].name.clone())
}

/// Reasons that are told at most.
const REASONS: usize = 5;

/// With a fixed order, all that stops it. Else the fewest reasons without which there would be an order; where that cannot be told, what
/// stops the order that gets furthest.
fn why_not(walk: &Walk<'_>, walked: &walk::Walked, watch: &Watch<'_>) -> Vec<WhyNot> {
    let options = walk.options;
    if options.order.is_some() {
        return walked.blocked();
    }
    let (bender, machine, accept_tight) = (&walk.job.bender, walk.machine, options.accept_tight);
    let task = Task { bender, machine, blank: walk.blank, accept_tight, best: 1 };
    let stop = watch.stop;
    let blamed = order::blame::blame(&task, &|| stop.load(Ordering::Relaxed));
    let mut reasons = blamed.map(|blamed| walk.reasons(&blamed)).unwrap_or_default();
    if reasons.is_empty() {
        reasons = blocked(walked);
    }
    reasons.truncate(REASONS);
    reasons
}

/// What stops an order that gets furthest.
fn blocked(walked: &walk::Walked) -> Vec<WhyNot> {
    let mut reasons = walked.blocked();
    if reasons.is_empty() {
        let text = "no order could be proved clear, and what stops them not either".to_owned();
        reasons.push(WhyNot { reason: Reason::Unproven, bend: BendId(0), text });
    }
    reasons
}

fn alternative(walk: &Walk<'_>, priced: &Priced) -> Alternative {
    let steps = walk.whole(&priced.order).steps;
    Alternative {
        order: priced.order.clone(),
        dies: steps.iter().map(|step| step.die_name.clone()).collect(),
        cost: priced.cost,
        tightest: tightest(&steps),
        swaps: steps.iter().filter(|step| step.swap_ends).count(),
    }
}

/// Smallest gap of all bends; `None` where all are comfortable.
pub(crate) fn tightest(steps: &[PlanStep]) -> Option<Length> {
    let gaps = steps.iter().filter_map(PlanStep::tightest).filter_map(|clearance| clearance.nearest);
    gaps.map(|nearest| nearest.gap).reduce(|one, other| if other < one { other } else { one })
}
