//! The shop's own rule set on the card: what it is called, its notes, and what is left to measure.

use serde::Serialize;
use tubewright::job::Rules;
use tubewright::plan::TubePlan;
use tubewright::round::People;
use tubewright::units::Length;

use super::unit;

/// What a list of figures does not take off the reader.
const READ: &str = "These are the shop's own notes of the rules, not the rules: read the current text yourself.";

/// The rule set that a job names.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RuleSet {
    /// What the user calls it.
    pub name: String,
    /// The user's notes, as written.
    pub notes: Vec<String>,
    /// What is left to the reader, in words.
    pub words: &'static str,
}

impl RuleSet {
    pub(super) fn new(rules: &Rules) -> Self {
        Self { name: rules.name.clone(), notes: rules.notes.clone(), words: READ }
    }

    /// All of it, line by line.
    pub(crate) fn lines(&self) -> impl Iterator<Item = &str> {
        [self.name.as_str()].into_iter().chain(self.notes.iter().map(String::as_str)).chain([self.words])
    }
}

/// How round every finished bend has to be.
///
/// Each rule is a measure of the two diameters of one cross section. The one size that can be said beforehand, for a bend whose largest diameter is still
/// the OD, is the least that the smallest may be; a bend that has spread may need more.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Roundness {
    /// The bends, by number.
    pub bends: Vec<usize>,
    /// Smallest diameter over largest, at least; `None` where that is not asked for.
    pub minor_over_major: Option<f64>,
    /// Largest diameter less smallest, over the OD, at most.
    pub major_minus_minor_over_od: Option<f64>,
    /// Smallest diameter over the OD, at least.
    pub minor_over_od: Option<f64>,
    /// The OD of the tube.
    #[serde(rename = "largest_mm", serialize_with = "unit::mm")]
    pub largest: Length,
    /// The least smallest diameter where the largest is the OD.
    #[serde(rename = "smallest_mm", serialize_with = "unit::mm")]
    pub smallest: Length,
    /// The same as printed, with its unit: rounded up.
    pub printed: String,
    /// In words.
    pub words: String,
}

impl Roundness {
    pub(super) fn new(rules: Option<&Rules>, tube: &TubePlan, people: &People) -> Option<Self> {
        let rules = rules?;
        let largest = tube.stock.od;
        let smallest = rules.least_diameter(largest)?;
        let (minor_over_major, major_minus_minor_over_od) = (rules.minor_over_major, rules.major_minus_minor_over_od);
        let printed = people.missing(smallest);
        let asked: Vec<String> = [
            minor_over_major.map(|least| format!("smallest diameter over largest at least {least}")),
            major_minus_minor_over_od.map(|most| format!("largest diameter less smallest at most {most} of the OD")),
            rules.minor_over_od.map(|least| format!("smallest diameter at least {least} of the OD")),
        ]
        .into_iter()
        .flatten()
        .collect();
        let words = format!(
            "each bend with a caliper where it is flattest: {}. Where the largest is still the OD, {}, the smallest is {printed} or more; where it \
             has spread, more than that.",
            asked.join(", "),
            people.figure(largest)
        );
        Some(Self {
            bends: (1..=tube.blank.bends.len()).collect(),
            minor_over_major,
            major_minus_minor_over_od,
            minor_over_od: rules.minor_over_od,
            largest,
            smallest,
            printed,
            words,
        })
    }
}
