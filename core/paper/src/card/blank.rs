//! The blank: caliper, cut length with its ledger, weight, marks.

use serde::Serialize;
use tubewright::forming::LeadEnd;
use tubewright::job::Stock;
use tubewright::plan::{PlanStep, TubePlan};
use tubewright::round::People;
use tubewright::units::{Angle, Length};

use super::{StepCard, unit};
use crate::words::{Words, clockwise};

/// What is measured before cutting, and what it should be.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Caliper {
    /// Outside diameter.
    #[serde(rename = "od_mm", serialize_with = "unit::mm")]
    pub od: Length,
    /// Wall, where given.
    #[serde(rename = "wall_mm", serialize_with = "unit::mm_or_null")]
    pub wall: Option<Length>,
    /// Material, where given.
    pub material: Option<String>,
    /// Dies, in the order of the steps, each once.
    pub dies: Vec<String>,
    /// In words.
    pub words: String,
}

impl Caliper {
    pub(super) fn new(words: &Words<'_>, steps: &[StepCard]) -> Self {
        let stock = &words.tube.stock;
        let mut dies: Vec<String> = Vec::new();
        for step in steps {
            if !dies.contains(&step.die) {
                dies.push(step.die.clone());
            }
        }
        let wall = if stock.wall.is_some() { "" } else { " The wall is not given: measure it, and write it down." };
        let record = words.springback().map_or_else(String::new, |from| format!(" {from}"));
        let text = format!("the tube has to measure {}; pipe is not tube.{wall}{record}", words.stock());
        Self { od: stock.od, wall: stock.wall, material: stock.material.clone(), dies, words: text }
    }
}

/// One line of the ledger, as printed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LedgerLine {
    /// What it is.
    pub what: &'static str,
    /// The figure, without unit, to 0.1 mm or 0.001 in. The lines add up to the last.
    pub printed: String,
}

/// What the cut length is made of: legs - gains - stretch - set-offs of ends that land on another tube + extra at A + extra at B = cut length.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ledger {
    /// Sum of the legs from corner to corner; `None` where a bend has no corner.
    #[serde(rename = "legs_mm", serialize_with = "unit::mm_or_null")]
    pub legs: Option<Length>,
    /// What the legs are longer than the centreline; `None` where a bend has no corner.
    #[serde(rename = "gains_mm", serialize_with = "unit::mm_or_null")]
    pub gains: Option<Length>,
    /// Straights and finished arcs: legs less gains.
    #[serde(rename = "developed_mm", serialize_with = "unit::mm")]
    pub developed: Length,
    /// What the arcs grow while they are bent.
    #[serde(rename = "stretch_mm", serialize_with = "unit::mm")]
    pub stretch: Length,
    /// Tube left beyond the finished end A.
    #[serde(rename = "extra_a_mm", serialize_with = "unit::mm")]
    pub extra_a: Length,
    /// Tube left beyond the finished end B.
    #[serde(rename = "extra_b_mm", serialize_with = "unit::mm")]
    pub extra_b: Length,
    /// What an end A that lands on another tube is shorter than its node; below 0 where it is longer.
    #[serde(rename = "set_off_a_mm", serialize_with = "unit::mm_or_null", skip_serializing_if = "Option::is_none")]
    pub set_off_a: Option<Length>,
    /// The same for end B.
    #[serde(rename = "set_off_b_mm", serialize_with = "unit::mm_or_null", skip_serializing_if = "Option::is_none")]
    pub set_off_b: Option<Length>,
    /// The length to cut.
    #[serde(rename = "cut_length_mm", serialize_with = "unit::mm")]
    pub cut_length: Length,
    /// The cut length as a tape shows it, with its unit.
    pub printed: String,
    /// The lines that are printed, the total last.
    pub lines: Vec<LedgerLine>,
}

impl Ledger {
    pub(super) fn new(tube: &TubePlan, people: &People) -> Self {
        let legs: Option<Length> = tube.centreline.legs().into_iter().sum();
        let developed = tube.blank.developed;
        let stretch: Length = tube.blank.bends.iter().map(|bend| bend.arc - bend.blank_arc).sum();
        let gains = legs.and(tube.centreline.gain());
        let mut parts: Vec<(&'static str, Length)> = match (legs, gains) {
            (Some(legs), Some(gains)) => vec![("legs, corner to corner", legs), ("less gains at the bends", -gains)],
            _ => vec![("straights and arcs", developed)],
        };
        if stretch.to_mm().abs() > 0.0 {
            parts.push(("less stretch in the bends", -stretch));
        }
        let [set_off_a, set_off_b] = [LeadEnd::A, LeadEnd::B].map(|end| tube.end(end).map(|end| end.cut.set_off()));
        for (what, set_off) in [("less set-off at end A", set_off_a), ("less set-off at end B", set_off_b)] {
            parts.extend(set_off.map(|set_off| (what, -set_off)));
        }
        for (what, extra) in [("extra at end A", tube.extra_a), ("extra at end B", tube.extra_b)] {
            if extra > Length::ZERO {
                parts.push((what, extra));
            }
        }
        let lengths: Vec<Length> = parts.iter().map(|(_, length)| *length).collect();
        let (printed, total) = people.sum(&lengths);
        let mut lines: Vec<LedgerLine> =
            parts.iter().zip(printed).map(|((what, _), printed)| LedgerLine { what, printed }).collect();
        lines.push(LedgerLine { what: "cut length", printed: total });
        Self {
            legs,
            gains,
            developed,
            stretch,
            extra_a: tube.extra_a,
            extra_b: tube.extra_b,
            set_off_a,
            set_off_b,
            cut_length: tube.blank.cut_length,
            printed: people.length_with_unit(tube.blank.cut_length),
            lines,
        }
    }
}

/// What the blank weighs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Weight {
    /// The whole blank, kg.
    pub kg: f64,
    /// A metre of it, kg.
    pub kg_per_m: f64,
    /// Whether it takes two to lift it.
    pub second_person: bool,
    /// In words.
    pub words: String,
}

impl Weight {
    pub(super) fn new(words: &Words<'_>) -> Option<Self> {
        let Words { job, tube, people } = *words;
        let (kg, kg_per_m) = (tube.stock.mass_kg(tube.blank.cut_length)?, tube.stock.kg_per_m()?);
        let second_person = kg > job.bender.lift;
        let more = if second_person { ": lift it with a second person." } else { "." };
        let words = format!("the blank weighs {}{more}", people.mass(kg));
        Some(Self { kg, kg_per_m, second_person, words })
    }
}

/// What is not told where the weight is not known.
pub(super) fn weight_unknown(stock: &Stock) -> Option<String> {
    let missing = match (stock.wall, stock.density) {
        (Some(_), Some(_)) => return None,
        (None, Some(_)) => "wall is",
        (Some(_), None) => "density is",
        (None, None) => "wall and no density are",
    };
    Some(format!("weight, stand and what drops are not told: no {missing} given."))
}

/// What is printed of a mark, without units.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MarkPrinted {
    /// The mark.
    pub mark: String,
    /// The tail.
    pub tail: String,
    /// The top line, degrees.
    pub top: String,
    /// The same around the tube.
    pub top_arc: String,
}

/// One mark on the straight blank, for the end that leads at its bend.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MarkLine {
    /// The bend's number.
    pub bend: usize,
    /// The end that leads.
    pub lead: &'static str,
    /// From end A.
    #[serde(rename = "mark_mm", serialize_with = "unit::mm")]
    pub mark: Length,
    /// From the mark to the trailing end.
    #[serde(rename = "tail_mm", serialize_with = "unit::mm")]
    pub tail: Length,
    /// The top line, clockwise from the reference line looking from end A, in [0, 360) degrees.
    #[serde(rename = "top_deg", serialize_with = "unit::deg")]
    pub top: Angle,
    /// The same around the OD.
    #[serde(rename = "top_arc_mm", serialize_with = "unit::mm")]
    pub top_arc: Length,
    /// What is printed of it.
    pub printed: MarkPrinted,
}

impl MarkLine {
    /// As a row of a table: bend, end that leads, mark, tail, top line in degrees and around the tube.
    #[must_use]
    pub fn row(&self) -> [String; 6] {
        let MarkPrinted { mark, tail, top, top_arc } = self.printed.clone();
        [self.bend.to_string(), self.lead.to_owned(), mark, tail, top, top_arc]
    }

    pub(super) fn all(tube: &TubePlan, people: &People) -> Vec<Self> {
        let mut steps: Vec<&PlanStep> = tube.steps.iter().collect();
        steps.sort_by_key(|step| step.bend);
        let line = |step: &PlanStep| {
            let top = clockwise(step.top);
            Self {
                bend: step.bend.number(),
                lead: step.lead.letter(),
                mark: step.mark,
                tail: step.tail,
                top,
                top_arc: step.top_arc,
                printed: MarkPrinted {
                    mark: people.length(step.mark),
                    tail: people.length(step.tail),
                    top: people.angle(top),
                    top_arc: people.length(step.top_arc),
                },
            }
        };
        steps.into_iter().map(line).collect()
    }
}
