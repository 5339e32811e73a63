//! Why a step cannot be made: broken limits and gaps, in words with their figures.

use super::Options;
use crate::bender::limits::{self, Broken, Figures};
use crate::centreline::BendId;
use crate::clearance::{Clearance, Step, StepReport, Verdict};
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

/// Everything that stops a step, limits first; empty where it can be made.
pub(super) fn blocked_by(step: &Step<'_>, broken: &[Broken], report: &StepReport, options: &Options) -> Vec<WhyNot> {
    let why = |reason, words: String| WhyNot {
        reason,
        bend: step.bend,
        text: format!("bend {} with end {} leading: {words}", step.bend.number(), step.lead.letter()),
    };
    let limits = broken.iter().map(|limit| {
        let reason = match limit.reason {
            limits::Reason::Grip => Reason::Grip,
            limits::Reason::Follower => Reason::Follower,
            limits::Reason::DieArc => Reason::DieArc,
            limits::Reason::Fit => Reason::Fit,
        };
        why(reason, limit_words(limit, options))
    });
    let gaps = report.clearances.iter().filter_map(|clearance| {
        let reason = match clearance.verdict {
            Verdict::Clear => return None,
            Verdict::Tight if options.accept_tight => return None,
            Verdict::Tight => Reason::Tight,
            Verdict::Contact => Reason::Contact,
            Verdict::Unproven => Reason::Unproven,
        };
        Some(why(reason, gap_words(clearance, options)))
    });
    limits.chain(gaps).collect()
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
            let use_of = if limit.reason == limits::Reason::Grip { "the clamp" } else { "the bend and the follower" };
            format!(
                "{place} there are {} of straight, {use_of} needs {}: {missing} missing",
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
