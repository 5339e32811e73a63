//! The step card as data: all that goes to the bender with one job, every figure unrounded and beside it what is printed.
//!
//! As a document ([`Card::to_json`], schema `tubewright/card/1`) lengths are in mm and angles in degrees, whatever the file's units; keys end in
//! their unit, and what is not known is `null`. What stands under `printed`, `words` or `says` is in the units that people asked for. The text card
//! is laid out from this alone.
//!
//! A tube that cannot be bent has its verdict and the reasons, and no [`Work`]: nothing to cut by.

mod bar;
mod blank;
mod cautions;
mod check;
mod ends;
mod finished;
mod fitness;
mod hold;
mod room;
mod rounding;
mod rules;
mod setup;
mod stand;
mod step;
mod unit;

use serde::Serialize;
use tubewright::job::Job;
use tubewright::plan::{Note, Plan, TubePlan};
use tubewright::round::People;
use tubewright::units::{Angle, Length};

pub use self::bar::{Bar, BarEnd};
pub use self::blank::{Caliper, Ledger, LedgerLine, MarkLine, MarkPrinted, Weight};
pub use self::check::{Check, Within};
pub use self::ends::CardEnd;
pub use self::finished::{Each, Finished, HandCheck, Tuning};
pub use self::fitness::Fitness;
pub use self::hold::{Falls, Hold};
pub use self::room::{Reach, Room, Way};
pub use self::rounding::Rounding;
pub use self::rules::{Roundness, RuleSet};
pub use self::stand::{Stand, Tips};
pub use self::step::{Add, Level, Springback, StepCard, StepPrinted};
use crate::words::{Moment, Words};

/// JSON Schema (draft 2020-12) of the document.
pub const JSON_SCHEMA: &str = include_str!("card.schema.json");

/// Name and version of the format.
pub const SCHEMA: &str = "tubewright/card/1";

/// The card of a job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Card {
    /// Name and version of the format.
    pub schema: &'static str,
    /// Name of the job.
    pub job: String,
    /// Date, as written; `None` leaves a line to write it on.
    pub date: Option<String>,
    /// First four hex digits of the hash over the files.
    pub fingerprint: String,
    /// The bender's name.
    pub bender: Option<String>,
    /// The unit of printed lengths: `mm` or `in`.
    pub units: &'static str,
    /// Targets are printed rounded down to a whole multiple of this.
    #[serde(rename = "dial_step_deg", serialize_with = "unit::deg")]
    pub dial_step: Angle,
    /// The rule set that the job names.
    pub rules: Option<RuleSet>,
    /// Tubes, in the order of the file.
    pub tubes: Vec<TubeCard>,
}

/// A note: a stable code and its words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct CardNote {
    /// What kind of note.
    pub code: &'static str,
    /// In words.
    pub text: String,
}

/// The card of one tube.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TubeCard {
    /// Name.
    pub name: String,
    /// Which of a mirrored pair it is, in words: the suffix of its name, in capitals.
    pub hand: Option<String>,
    /// The other of a mirrored pair.
    pub mirror_of: Option<String>,
    /// Whether it can be bent as planned.
    pub feasible: bool,
    /// The same in words.
    pub verdict: &'static str,
    /// Bender and die, in words; `None` for a tube that is only cut.
    pub tools: Option<String>,
    /// Why it cannot be bent.
    pub why_not: Vec<String>,
    /// Changes with which it could be.
    pub cures: Vec<String>,
    /// The user's rules that it breaks.
    pub not_kept: Vec<CardNote>,
    /// What was assumed, not measured or not looked at; most important first.
    pub notes: Vec<CardNote>,
    /// How hard its bends are on it, and how it stands against the rules.
    pub fitness: Fitness,
    /// What is done; `None` for a tube that cannot be bent, which is not to be cut.
    pub work: Option<Work>,
}

/// What the shop's own accuracy does, where the bender's file states it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ShopAccuracy {
    /// By it alone 95 of 100 parts have end B within this of its place.
    #[serde(rename = "end_b_mm", serialize_with = "unit::mm")]
    pub end_b: Length,
    /// With what the test bends leave open of the springback; `None` where that is not known.
    #[serde(rename = "end_b_with_springback_mm", serialize_with = "unit::mm_or_null")]
    pub end_b_with_springback: Option<Length>,
    /// The bend that matters most, counted from 1.
    pub worst_bend: usize,
    /// How one degree more there moves end B, mm in the job's axes.
    pub moves_mm_per_deg: [f64; 3],
    /// What an end A that is cut after bending needs.
    #[serde(rename = "extra_a_mm", serialize_with = "unit::mm")]
    pub extra_a: Length,
    /// The same for end B.
    #[serde(rename = "extra_b_mm", serialize_with = "unit::mm")]
    pub extra_b: Length,
    /// In words.
    pub words: String,
}

impl ShopAccuracy {
    fn new(words: &Words<'_>) -> Option<Self> {
        let scatter = words.tube.scatter.as_ref()?;
        let worst = scatter.worst()?;
        let [extra_a, extra_b] = scatter.extra;
        Some(Self {
            end_b: scatter.within,
            end_b_with_springback: scatter.springback.map(|of| of.within),
            worst_bend: worst.bend.number(),
            moves_mm_per_deg: worst.per_degree.map(|mm| mm + 0.0).into(),
            extra_a,
            extra_b,
            words: words.accuracy()?,
        })
    }
}

/// What is done with a tube that can be bent.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Work {
    /// What is measured before cutting.
    pub caliper: Caliper,
    /// The cut length and what it is made of.
    pub ledger: Ledger,
    /// What the blank weighs; `None` where no density or no wall is given.
    pub weight: Option<Weight>,
    /// What cannot be told without it, in words; `None` where it is known.
    pub weight_unknown: Option<String>,
    /// Where the seam goes, clockwise from the reference line looking from end A.
    #[serde(rename = "seam_deg", serialize_with = "unit::deg_or_null")]
    pub seam: Option<Angle>,
    /// What is cut and how the seam lies, in words.
    pub cut: Vec<String>,
    /// Ends that land on another tube, end A first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ends: Vec<CardEnd>,
    /// Marks from end A on, each for the end that leads at its bend.
    pub marks: Vec<MarkLine>,
    /// How far rounding may move end B; `None` for a tube without bends.
    pub rounding: Option<Rounding>,
    /// What the shop's accuracy does; `None` where it is not stated, and for a tube without bends.
    pub accuracy: Option<ShopAccuracy>,
    /// The room that is kept free; `None` for a tube without bends.
    pub room: Option<Room>,
    /// What is got ready before step 1; empty for a tube without bends.
    pub setup: Vec<Moment>,
    /// Steps, in the order of making.
    pub steps: Vec<StepCard>,
    /// What the finished tube is checked by; `None` for a tube without bends.
    pub finished: Option<Finished>,
    /// What is to be minded, each a caution of its own, most important first.
    pub cautions: Vec<&'static str>,
}

impl Card {
    /// The card of a plan of this job. `name` is the job's name; `date` takes the place of the job's own.
    #[must_use]
    pub fn new(name: &str, job: &Job, plan: &Plan, people: &People, date: Option<&str>) -> Self {
        Self {
            schema: SCHEMA,
            job: name.to_owned(),
            date: date.map(str::to_owned).or_else(|| plan.date.clone()),
            fingerprint: plan.fingerprint.clone(),
            bender: plan.bender.clone(),
            units: people.unit(),
            dial_step: job.bender.pointer.step,
            rules: job.rules.as_ref().map(RuleSet::new),
            tubes: plan.tubes.iter().map(|tube| TubeCard::new(&Words { job, tube, people })).collect(),
        }
    }

    /// The cautions of all its tubes, each once, most important first.
    #[must_use]
    pub fn cautions(&self) -> Vec<&'static str> {
        cautions::of_all(self.tubes.iter().filter_map(|tube| tube.work.as_ref()).map(|work| work.cautions.as_slice()))
    }

    /// The card as a document: JSON, two spaces a level, a line break at the end.
    ///
    /// # Panics
    /// Never: there is nothing in it that JSON cannot hold.
    #[must_use]
    pub fn to_json(&self) -> String {
        tubewright::json::pretty(self)
    }
}

impl TubeCard {
    fn new(words: &Words<'_>) -> Self {
        let tube = words.tube;
        let (not_kept, notes): (Vec<&Note>, Vec<&Note>) = tube.notes.iter().partition(|note| note.breaks_a_rule());
        let copied = |notes: Vec<&Note>| -> Vec<CardNote> {
            notes.into_iter().map(|note| CardNote { code: note.code, text: note.text.clone() }).collect()
        };
        Self {
            name: tube.name.clone(),
            hand: hand(words.job, tube),
            mirror_of: tube.pair.clone(),
            feasible: tube.feasible,
            verdict: words.verdict(),
            tools: words.tools(),
            why_not: tube.why_not.iter().map(|why| why.text.clone()).collect(),
            cures: tube.cures.iter().map(|cure| cure.text.clone()).collect(),
            not_kept: copied(not_kept),
            notes: copied(notes),
            fitness: Fitness::new(words),
            work: tube.feasible.then(|| Work::new(words)),
        }
    }
}

impl Work {
    fn new(words: &Words<'_>) -> Self {
        let Words { job, tube, people } = *words;
        let bent = !tube.steps.is_empty();
        let mut cut = words.cut();
        // Where a tube is bent the seam is placed when it is marked.
        cut.extend(words.seam().filter(|_| !bent).map(|seam| format!("Seam {seam}")));
        let steps: Vec<StepCard> = (1..=tube.steps.len()).map(|number| StepCard::new(words, number)).collect();
        let caliper = Caliper::new(words, &steps);
        let room = Room::new(&job.bender, tube, people);
        Self {
            setup: setup::setup(words, &caliper.dies, room.as_ref()),
            caliper,
            ledger: Ledger::new(tube, people),
            weight: Weight::new(words),
            weight_unknown: blank::weight_unknown(&tube.stock),
            seam: tube.seam,
            cut,
            ends: CardEnd::all(words),
            marks: MarkLine::all(tube, people),
            rounding: bent.then(|| Rounding::new(job, tube, people)),
            accuracy: ShopAccuracy::new(words),
            room,
            cautions: cautions::cautions(words, &steps),
            steps,
            finished: bent.then(|| Finished::new(words)),
        }
    }
}

/// Which of a pair a tube is: what the suffix of its name says, in capitals.
fn hand(job: &Job, tube: &TubePlan) -> Option<String> {
    tube.pair.as_ref()?;
    let suffixes = &job.mirror.as_ref()?.suffixes;
    let own =
        suffixes.iter().filter(|suffix| tube.name.ends_with(suffix.as_str())).max_by_key(|suffix| suffix.len())?;
    let word = own.trim_matches(|letter: char| !letter.is_alphanumeric()).to_uppercase();
    (!word.is_empty()).then_some(word)
}

/// The part of the springback that grows with the bend angle, of the bend that is made in a step.
fn proportional(job: &Job, tube: &TubePlan, die: usize) -> f64 {
    let found = job.tubes.iter().find(|one| one.name == tube.name);
    found.map_or(0.0, |one| one.law(&job.bender, die).proportional)
}

/// The finest that a tape tells: 1 mm, or 1/16 in.
fn tape(people: &People) -> Length {
    match people.units {
        tubewright::round::Units::Mm(_) => Length::mm(1.0),
        tubewright::round::Units::Inch(_) => Length::inch(1.0 / 16.0),
    }
}
