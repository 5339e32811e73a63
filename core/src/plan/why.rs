//! Why a step cannot be made: broken limits and gaps, in words with their figures.

use super::Options;
use super::others::Others;
use crate::bender::BendMotion;
use crate::bender::limits::{self, Broken, Figures};
use crate::centreline::BendId;
use crate::clearance::{Clearance, Motion, Step, StepReport, Tried, Verdict};
use crate::order::blame::{Blamed, Cause, When};
use crate::units::{Angle, Length};

/// What stops a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reason {
    /// Too little straight ahead of the tangent point.
    Grip,
    /// Too little straight behind it.
    Follower,
    /// The die's arc ends before the die angle.
    DieArc,
    /// The tube does not fit the die.
    Fit,
    /// The tube touches something.
    Contact,
    /// A gap is under what must be kept.
    Tight,
    /// The lead part has no room to spring back.
    Recoil,
    /// The bender has no room to go back.
    Return,
    /// No way leads out of the bender.
    TakeOut,
    /// No way leads into it.
    PutIn,
    /// There is no room to turn the tube.
    Turn,
    /// The check ran out of its budget.
    Unproven,
}

impl Reason {
    /// The word for it in the output for machines.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Grip => "grip",
            Self::Follower => "follower",
            Self::DieArc => "die-arc",
            Self::Fit => "fit",
            Self::Contact => "contact",
            Self::Tight => "tight",
            Self::Recoil => Motion::Recoil.code(),
            Self::Return => Motion::Return.code(),
            Self::TakeOut => Motion::TakeOut.code(),
            Self::PutIn => Motion::PutIn.code(),
            Self::Turn => Motion::Turn.code(),
            Self::Unproven => "unproven",
        }
    }
}

/// One reason why a tube cannot be bent as asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WhyNot {
    /// What kind of reason.
    pub reason: Reason,
    /// The bend that it stops.
    pub bend: BendId,
    /// In words, with figures in the units asked for.
    pub text: String,
}

/// Everything that stops a step, limits first, each with its cause; empty where it can be made.
pub(super) fn blocked_by(
    step: &Step<'_>,
    broken: &[Broken],
    report: &StepReport,
    others: &Others,
    options: &Options,
) -> Vec<(Cause, WhyNot)> {
    let why = |cause, reason, words: String| {
        let text = format!("bend {} with end {} leading: {words}", step.bend.number(), step.lead.letter());
        (cause, WhyNot { reason, bend: step.bend, text })
    };
    let limits = broken.iter().map(|limit| {
        let reason = match limit.reason {
            limits::Reason::Grip => Reason::Grip,
            limits::Reason::Follower => Reason::Follower,
            limits::Reason::DieArc => Reason::DieArc,
            limits::Reason::Fit => Reason::Fit,
        };
        why(Cause::Limit(limit.reason), reason, limit_words(limit, options))
    });
    let gaps = report.clearances.iter().filter_map(|clearance| {
        let reason = match clearance.verdict {
            Verdict::Clear => return None,
            Verdict::Tight if options.accept_tight => return None,
            Verdict::Tight => Reason::Tight,
            Verdict::Contact => Reason::Contact,
            Verdict::Unproven => Reason::Unproven,
        };
        Some(why(Cause::Obstacle(clearance.obstacle.clone()), reason, gap_words(clearance, options)))
    });
    let along =
        others.clearances.iter().filter(|clearance| blocks(clearance.verdict, options)).filter_map(|clearance| {
            let (reason, while_it) = match clearance.motion {
                Motion::Recoil => (Reason::Recoil, "as it springs back"),
                Motion::Return if step.bender.motion == BendMotion::DieTurns => {
                    (Reason::Return, "as the die goes back")
                }
                Motion::Return => (Reason::Return, "as the follower goes back"),
                Motion::Turn => (Reason::Turn, "turned in the groove after the step before"),
                // Said way by way, below.
                Motion::TakeOut | Motion::PutIn | Motion::Bend => return None,
            };
            let cause = match reason {
                Reason::Recoil => Cause::Recoil,
                Reason::Return => Cause::Return,
                _ => Cause::Turn,
            };
            Some(why(cause, reason, format!("{while_it}, the tube {}", met_words(clearance, options))))
        });
    let ways = [(Reason::TakeOut, "out", &others.out), (Reason::PutIn, "in", &others.put_in)];
    let ways = ways.into_iter().filter_map(|(reason, way, tried)| {
        let none = !tried.is_empty() && tried.iter().all(|tried| blocks(tried.verdict, options));
        let cause = if reason == Reason::TakeOut { Cause::TakeOut } else { Cause::PutIn };
        none.then(|| why(cause, reason, format!("no way {way}: {}", ways_words(tried, way, options))))
    });
    limits.chain(gaps).chain(along).chain(ways).collect()
}

/// When a cause stops its bend, in words that go on after what it is.
pub(super) fn when_words(when: When, blamed: &Blamed) -> String {
    let end = blamed.turn.lead.letter();
    match when {
        When::Always => "; so it is with either end leading, whatever is made before".to_owned(),
        When::After(bend) => {
            format!("; so it is with either end leading, unless bend {} is made after it", bend.number())
        }
        When::Led => format!("; so it is with end {end} leading, whatever is made before"),
        When::LedAfter(bend) => {
            format!("; so it is with end {end} leading, unless bend {} is made after it", bend.number())
        }
        When::Here => {
            let made = blamed.made.iter().enumerate().filter(|(_, made)| **made);
            let numbers: Vec<String> = made.map(|(bend, _)| BendId(bend).number().to_string()).collect();
            match numbers.as_slice() {
                [] => "; as the first bend".to_owned(),
                [one] => format!("; with bend {one} made before it"),
                [many @ .., last] => format!("; with bends {} and {last} made before it", many.join(", ")),
            }
        }
    }
}

const fn blocks(verdict: Verdict, options: &Options) -> bool {
    match verdict {
        Verdict::Clear => false,
        Verdict::Tight => !options.accept_tight,
        Verdict::Contact | Verdict::Unproven => true,
    }
}

/// What stops the tube on each way, by the worst of each.
fn ways_words(tried: &[Tried], way: &str, options: &Options) -> String {
    let words = tried.iter().filter_map(|tried| {
        let gap = |clearance: &Clearance| clearance.nearest.map_or(f64::INFINITY, |nearest| nearest.gap.to_mm());
        let worst = tried.clearances.iter().reduce(|worst, one| {
            let worse = one.verdict > worst.verdict || (one.verdict == worst.verdict && gap(one) < gap(worst));
            if worse { one } else { worst }
        })?;
        let words = if way == "in" { tried.way.words_in() } else { tried.way.words() };
        Some(format!("{words} it {}", met_words(worst, options)))
    });
    words.collect::<Vec<_>>().join("; ")
}

/// What the tube does to an obstacle on a way of its own.
fn met_words(clearance: &Clearance, options: &Options) -> String {
    let people = &options.people;
    let what = obstacle(&clearance.obstacle);
    let Some(nearest) = clearance.nearest else { return format!("has a gap to {what} that is not proved") };
    let place = format!("{} from end A", people.length_with_unit(nearest.blank));
    match clearance.verdict {
        Verdict::Contact => format!("touches {what}, {place}"),
        Verdict::Unproven => format!("has a gap to {what} that could not be proved within the budget ({place})"),
        Verdict::Clear | Verdict::Tight => format!(
            "comes within {} of {what}, {place}; {} must be kept",
            people.gap(nearest.gap),
            people.gap(nearest.keep),
        ),
    }
}

fn limit_words(limit: &Broken, options: &Options) -> String {
    let people = &options.people;
    match limit.figures {
        Figures::Straight { needed, there, next } => {
            let missing = people.missing((needed - there).max(Length::ZERO));
            let place = match (limit.reason, next) {
                (limits::Reason::Grip, Some(bend)) => {
                    format!("ahead, before bend {} that is made already,", bend.number())
                }
                (limits::Reason::Grip, None) => "ahead to the lead end".to_owned(),
                (_, Some(bend)) => format!("behind, before bend {} that is made already,", bend.number()),
                (_, None) => "behind to the trailing end".to_owned(),
            };
            let use_of =
                if limit.reason == limits::Reason::Grip { "the clamp needs" } else { "the bend and the follower need" };
            format!(
                "{place} there are {} of straight, {use_of} {}: {missing} missing",
                people.figure(there),
                people.figure(needed),
            )
        }
        Figures::DieAngle { needed, there } => {
            format!("the die must turn {} degrees and its arc ends at {}", people.angle(needed), people.angle(there))
        }
        Figures::Fit { tube, die, fit } => format!(
            "the tube's OD {} and the die's {} differ by more than {}",
            people.figure(tube),
            people.figure(die),
            people.figure(fit)
        ),
    }
}

fn gap_words(clearance: &Clearance, options: &Options) -> String {
    let people = &options.people;
    let what = obstacle(&clearance.obstacle);
    let Some(nearest) = clearance.nearest else { return format!("the gap to {what} is not proved") };
    let place = format!("{} from end A", people.length_with_unit(nearest.blank));
    let near = people.angle(nearest.die_angle);
    match clearance.verdict {
        Verdict::Contact if nearest.die_angle <= LAID_IN => {
            format!("the tube touches {what} already as it is laid in, {place}")
        }
        Verdict::Contact => format!("the tube touches {what} at {near} degrees, {place}"),
        Verdict::Unproven => format!("the gap to {what} could not be proved within the budget ({place})"),
        Verdict::Clear | Verdict::Tight => format!(
            "the tube comes within {} of {what} near {near} degrees, {place}; {} must be kept",
            people.gap(nearest.gap),
            people.gap(nearest.keep),
        ),
    }
}

/// A contact before this die angle is there before the bend begins: what rounds to no angle at all.
const LAID_IN: Angle = Angle::deg(0.05);

/// An obstacle in words.
pub(super) fn obstacle(name: &str) -> String {
    match name {
        "tube" => "the tube itself".to_owned(),
        "floor" | "die" | "clamp" | "follower" => format!("the {name}"),
        own => format!("\u{201c}{own}\u{201d}"),
    }
}
