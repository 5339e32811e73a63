//! How hard a tube's bends are on it, and how it stands against the user's rules.
//!
//! What the die and the tube tell is worked out by closed form: CLR over OD, OD over wall, the wall and the strain on the outside of each bend. What
//! only a caliper tells, how round a bend stays, is taken from test bends of such tube in the die, where their diameters were measured. Every limit of
//! the user's is held against its own measure, and "cannot tell" is an answer. None of it says that a structure is strong enough or allowed.

use super::walk::fits;
use crate::centreline::BendId;
use crate::forming::{BentWall, Diameters, Measured, Seam};
use crate::job::{Bound, Job, Rules, Tube};
use crate::round::People;
use crate::units::Length;

/// What is known of a tube's bends and of the rules that it is to keep.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitness {
    /// OD over wall; `None` where no wall is given.
    pub od_over_wall: Option<f64>,
    /// Each bend, from end A.
    pub bends: Vec<BendFitness>,
    /// The weld seam in its place; `None` where the job gives it none, or where nothing is bent.
    pub seam: Option<Seam>,
    /// Every limit of the user's rules that concerns this tube, one for each die where the die matters.
    pub limits: Vec<Limit>,
}

/// One bend.
#[derive(Clone, Debug, PartialEq)]
pub struct BendFitness {
    /// Which.
    pub bend: BendId,
    /// CLR of its die over the tube's OD.
    pub clr_over_od: f64,
    /// The wall by closed form, the bend being as tight as the die: as parts.
    pub wall: BentWall,
    /// The wall on the outside; `None` where no wall is given.
    pub outer_wall: Option<Length>,
    /// Diameters of test bends of such tube in this die; empty where none was measured across.
    pub diameters: Vec<Diameters>,
}

/// Whether a limit is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kept {
    /// By what is known it is.
    Pass,
    /// It is not.
    Fail,
    /// What it takes is not known.
    Unknown,
}

/// A figure that is held against a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Size {
    /// One size over another.
    Ratio(f64),
    /// A length.
    Length(Length),
}

impl Size {
    fn plain(self) -> f64 {
        match self {
            Self::Ratio(ratio) => ratio,
            Self::Length(length) => length.to_mm(),
        }
    }
}

/// One limit of the user's rules.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Its key in the rules file.
    pub key: &'static str,
    /// What is measured, in words.
    pub definition: &'static str,
    /// Which side of it is allowed.
    pub bound: Bound,
    /// The limit.
    pub asked: Size,
    /// What there is, the worst of it; `None` where it is not known.
    pub found: Option<Size>,
    /// The bends in question; empty for what is of the whole tube.
    pub bends: Vec<BendId>,
    /// Whether it is kept.
    pub kept: Kept,
    /// All of that in words, with figures in the units asked for.
    pub text: String,
    /// Where it is not kept, that in a sentence.
    pub(super) broken: String,
}

impl Fitness {
    /// What is known of a tube of this job.
    pub(super) fn new(job: &Job, tube: &Tube, people: &People) -> Self {
        let bends = tube.dies.iter().enumerate().map(|(place, die)| BendFitness::new(BendId(place), job, tube, *die));
        let bends: Vec<BendFitness> = bends.collect();
        let od_over_wall = tube.stock.wall.map(|wall| tube.stock.od / wall);
        let seam = tube.seam.and_then(|at| {
            let tops = tube.blank(&job.bender).bends.into_iter().map(|bend| bend.psi);
            Seam::new(at, &tops.zip(bends.iter().map(|bend| bend.wall.strain)).collect::<Vec<_>>())
        });
        let mut fitness = Self { od_over_wall, bends, seam, limits: Vec::new() };
        if let Some(rules) = &job.rules {
            fitness.limits = Asking { rules, job, tube, people, fitness: &fitness }.limits();
        }
        fitness
    }

    /// Limits that are not kept.
    pub fn broken(&self) -> impl Iterator<Item = &Limit> {
        self.limits.iter().filter(|limit| limit.kept == Kept::Fail)
    }
}

impl Limit {
    /// Whether this is the same limit with no more missing.
    pub(super) fn is_no_worse_than(&self, other: &Self) -> bool {
        let both = self.found.zip(other.found);
        self.key == other.key && both.is_some_and(|(own, others)| self.bound.holds(own.plain(), others.plain()))
    }
}

impl BendFitness {
    fn new(bend: BendId, job: &Job, tube: &Tube, die: usize) -> Self {
        let (clr, od) = (job.bender.dies[die].clr, tube.stock.od);
        let wall = BentWall::new(clr, od);
        let measured = record(job, tube, die);
        Self {
            bend,
            clr_over_od: clr / od,
            wall,
            outer_wall: tube.stock.wall.map(|before| before * wall.outside),
            diameters: measured.map_or_else(Vec::new, |measured| measured.diameters.clone()),
        }
    }
}

/// The record of test bends of such tube in a die.
fn record<'a>(job: &'a Job, tube: &Tube, die: usize) -> Option<&'a Measured> {
    let die = &job.bender.dies[die];
    tube.material_in(die)?.measured.as_ref().filter(|measured| fits(measured, tube, die))
}

/// A key of the rules file, what it measures, and which side of it is allowed.
type Measure = (&'static str, &'static str, Bound);

const CLR: Measure = ("clr_over_od", "CLR over OD", Bound::AtLeast);
const SLENDER: Measure = ("od_over_wall", "OD over wall", Bound::AtMost);
const WALL: Measure = ("wall_min", "wall before bending", Bound::AtLeast);
const OUTER_WALL: Measure = ("outer_wall_min", "wall left on the outside of a bend, by closed form", Bound::AtLeast);
const THINNING: Measure = ("thinning", "part of the wall lost on the outside of a bend, by closed form", Bound::AtMost);
const STRAIN: Measure = ("outer_strain", "strain on the outside of a bend, by closed form", Bound::AtMost);
const STRAIGHT: Measure = ("straight_min", "straight between two bends", Bound::AtLeast);
const RATIO: Measure = ("minor_over_major", "smallest diameter over largest", Bound::AtLeast);
const SPREAD: Measure =
    ("major_minus_minor_over_od", "largest diameter less smallest, over the OD before bending", Bound::AtMost);
const MINOR: Measure = ("minor_over_od", "smallest diameter over the OD before bending", Bound::AtLeast);

/// Keys of what only a caliper tells of a finished bend.
pub(super) const TO_MEASURE: [&str; 3] = [RATIO.0, SPREAD.0, MINOR.0];

/// Keys of what takes a wall.
pub(super) const OF_WALL: [&str; 3] = [SLENDER.0, WALL.0, OUTER_WALL.0];

/// A measure of how round a bend is.
type OfDiameters<'a> = &'a dyn Fn(&Diameters) -> f64;

struct Asking<'a> {
    rules: &'a Rules,
    job: &'a Job,
    tube: &'a Tube,
    people: &'a People,
    fitness: &'a Fitness,
}

impl Asking<'_> {
    fn limits(&self) -> Vec<Limit> {
        let (rules, stock) = (self.rules, &self.tube.stock);
        let ratio = |asked: Option<f64>| asked.map(Size::Ratio);
        let length = |asked: Option<Length>| asked.map(Size::Length);
        let no_wall = "no wall is given";
        let mut all = Vec::new();
        all.extend(self.by_die(CLR, ratio(rules.clr_over_od), &|bend| Some(Size::Ratio(bend.clr_over_od))));
        let slender = self.fitness.od_over_wall.map(Size::Ratio);
        all.extend(self.whole(SLENDER, ratio(rules.od_over_wall), slender, no_wall));
        all.extend(self.whole(WALL, length(rules.wall_min), stock.wall.map(Size::Length), no_wall));
        all.extend(self.by_die(OUTER_WALL, length(rules.outer_wall_min), &|bend| bend.outer_wall.map(Size::Length)));
        all.extend(self.by_die(THINNING, ratio(rules.thinning), &|bend| Some(Size::Ratio(bend.wall.thinning()))));
        all.extend(self.by_die(STRAIN, ratio(rules.outer_strain), &|bend| Some(Size::Ratio(bend.wall.strain))));
        all.extend(self.straight(length(rules.straight_min)));
        let od = stock.od;
        let round: [(Measure, Option<f64>, OfDiameters<'_>); 3] = [
            (RATIO, rules.minor_over_major, &Diameters::minor_over_major),
            (SPREAD, rules.major_minus_minor_over_od, &|of| of.major_minus_minor_over(od)),
            (MINOR, rules.minor_over_od, &|of| of.minor_over(od)),
        ];
        for (measure, asked, of) in round {
            let worst = |one: f64, other: f64| if measure.2.holds(one, other) { other } else { one };
            let found = |bend: &BendFitness| bend.diameters.iter().map(of).reduce(worst).map(Size::Ratio);
            all.extend(self.by_die(measure, ratio(asked), &found));
        }
        all
    }

    /// What is of the whole tube.
    fn whole(&self, measure: Measure, asked: Option<Size>, found: Option<Size>, why_not: &str) -> Option<Limit> {
        Some(self.limit(measure, asked?, found, Vec::new(), "", why_not))
    }

    /// What hangs on the die: one limit for each that the tube has.
    fn by_die(
        &self,
        measure: Measure,
        asked: Option<Size>,
        found: &dyn Fn(&BendFitness) -> Option<Size>,
    ) -> Vec<Limit> {
        let Some(asked) = asked else { return Vec::new() };
        let mut dies = self.tube.dies.clone();
        dies.sort_unstable();
        dies.dedup();
        let of_die = |die: usize| {
            let bends: Vec<BendId> = self
                .tube
                .dies
                .iter()
                .enumerate()
                .filter(|(_, used)| **used == die)
                .map(|(bend, _)| BendId(bend))
                .collect();
            let found = bends.first().and_then(|bend| found(&self.fitness.bends[bend.0]));
            let name = &self.job.bender.dies[die].name;
            let to_measure = TO_MEASURE.contains(&measure.0);
            let place = if to_measure { self.test_bends(die) } else { format!(" in die {name}") };
            let why_not = if to_measure {
                format!("no test bend of such tube in die {name} was measured across")
            } else {
                "no wall is given".to_owned()
            };
            self.limit(measure, asked, found, bends, &place, &why_not)
        };
        dies.into_iter().map(of_die).collect()
    }

    /// Which test bends a roundness is from.
    fn test_bends(&self, die: usize) -> String {
        let measured = record(self.job, self.tube, die);
        let of = |said: Option<&String>, before: &str| said.map_or_else(String::new, |said| format!("{before}{said}"));
        let (date, lot) = measured.map_or((None, None), |measured| (measured.date.as_ref(), measured.lot.as_ref()));
        let name = &self.job.bender.dies[die].name;
        format!(" by the test bends{} in die {name}{}", of(date, " of "), of(lot, ", lot "))
    }

    /// The shortest straight between two bends.
    fn straight(&self, asked: Option<Size>) -> Option<Limit> {
        let rows = &self.tube.centreline.rows.bends;
        let between = rows.iter().enumerate().skip(1);
        let (bend, row) = between.reduce(|least, next| if next.1.length < least.1.length { next } else { least })?;
        let bends = vec![BendId(bend - 1), BendId(bend)];
        Some(self.limit(STRAIGHT, asked?, Some(Size::Length(row.length)), bends, "", ""))
    }

    fn limit(
        &self,
        (key, definition, bound): Measure,
        asked: Size,
        found: Option<Size>,
        bends: Vec<BendId>,
        place: &str,
        why_not: &str,
    ) -> Limit {
        let kept = match found {
            None => Kept::Unknown,
            Some(found) if bound.holds(found.plain(), asked.plain()) => Kept::Pass,
            Some(_) => Kept::Fail,
        };
        let side = match bound {
            Bound::AtLeast => "at least",
            Bound::AtMost => "at most",
        };
        let least = self.asked(asked);
        let shown = found.map_or_else(String::new, |found| self.found(found, bound));
        let at = numbered(&bends);
        let at =
            if at.is_empty() || bends.len() == self.fitness.bends.len() { String::new() } else { format!(" at {at}") };
        let verdict = match kept {
            Kept::Pass => format!("pass, {shown}{at}{place}"),
            Kept::Fail => format!("FAIL, {shown}{at}{place}"),
            Kept::Unknown => format!("can't tell{at}: {why_not}"),
        };
        let text = format!("{definition}, {side} {least}: {verdict}");
        let broken = self.broken(key, &bends, found).unwrap_or_else(|| {
            let at = numbered(&bends);
            let at = if at.is_empty() { at } else { format!("at {at} ") };
            format!(
                "{at}the {definition} is {shown}{place}, and {least} is the {} that is allowed",
                match bound {
                    Bound::AtLeast => "least",
                    Bound::AtMost => "most",
                }
            )
        });
        Limit { key, definition, bound, asked, found, bends, kept, text, broken }
    }

    fn asked(&self, asked: Size) -> String {
        match asked {
            Size::Ratio(ratio) => ratio.to_string(),
            Size::Length(length) => self.people.missing(length),
        }
    }

    /// Rounded away from what is allowed.
    fn found(&self, found: Size, bound: Bound) -> String {
        match (found, bound) {
            (Size::Ratio(ratio), Bound::AtLeast) => self.people.ratio_down(ratio),
            (Size::Ratio(ratio), Bound::AtMost) => self.people.ratio_up(ratio),
            (Size::Length(length), Bound::AtLeast) => self.people.left(length),
            (Size::Length(length), Bound::AtMost) => self.people.missing(length),
        }
    }

    /// The words for rules of which more can be said than what is asked and what there is.
    fn broken(&self, key: &str, bends: &[BendId], found: Option<Size>) -> Option<String> {
        let (people, rules, stock) = (self.people, self.rules, &self.tube.stock);
        if key == CLR.0 {
            let ratio = rules.clr_over_od?;
            let die = &self.job.bender.dies[*self.tube.dies.get(bends.first()?.0)?];
            return Some(format!(
                "at {} the CLR of die {}, {}, is {} x OD, and {ratio} x OD, {}, is the least that is allowed",
                numbered(bends),
                die.name,
                people.figure(die.clr),
                self.found(found?, Bound::AtLeast),
                people.missing(rules.least_clr(stock.od))
            ));
        }
        if key == SLENDER.0 {
            let (most, wall) = (rules.od_over_wall?, stock.wall?);
            return Some(format!(
                "OD {} over wall {} is {}, and at most {most} is allowed: it would take a wall of {}",
                people.figure(stock.od),
                people.figure(wall),
                self.found(found?, Bound::AtMost),
                people.missing(stock.od / most)
            ));
        }
        None
    }
}

/// Bends by their numbers: `bend 2`, `bends 1 and 3`; nothing where there is none.
#[must_use]
pub fn numbered(bends: &[BendId]) -> String {
    let numbers: Vec<String> = bends.iter().map(|bend| bend.number().to_string()).collect();
    match &numbers[..] {
        [] => String::new(),
        [only] => format!("bend {only}"),
        [first @ .., last] => format!("bends {} and {last}", first.join(", ")),
    }
}
