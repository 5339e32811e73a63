//! The equations of a record: each measurement computed from the unknowns, less what was measured, over its standard deviation.

use nalgebra::{DMatrix, DVector};

use super::told::Told;
use super::{Fitted, NO_CHECK, Record, Standardised, TestBend};
use crate::centreline::Taken;
use crate::fit::Model;
use crate::forming::LeadEnd;
use crate::units::{Angle, Length};

/// No length and no angle counts as measured better than this, whatever the record claims: finer, rounding would be fitted. Far below any tape and any gauge.
const FINEST: (Length, Angle) = (Length::mm(1e-4), Angle::deg(1e-6));

/// Which measurements are fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Rows {
    pub(super) angles: bool,
    pub(super) lengths: bool,
}

impl Rows {
    pub(super) const ALL: Self = Self { angles: true, lengths: true };
    pub(super) const ANGLES: Self = Self { angles: true, lengths: false };
    pub(super) const LENGTHS: Self = Self { angles: false, lengths: true };
}

/// A number with its slopes by the unknowns that it hangs on.
#[derive(Clone, Debug, Default)]
struct Term {
    value: f64,
    by: Vec<(usize, f64)>,
}

impl Term {
    const fn fixed(value: f64) -> Self {
        Self { value, by: Vec::new() }
    }

    fn times(mut self, factor: f64) -> Self {
        self.value *= factor;
        self.by.iter_mut().for_each(|(_, slope)| *slope *= factor);
        self
    }

    fn plus(mut self, other: &Self) -> Self {
        self.value += other.value;
        self.by.extend_from_slice(&other.by);
        self
    }

    fn minus(self, other: &Self) -> Self {
        self.plus(&other.clone().times(-1.0))
    }

    fn by(&self, other: &Self) -> Self {
        let own = self.by.iter().map(|(place, slope)| (*place, slope * other.value));
        let others = other.by.iter().map(|(place, slope)| (*place, slope * self.value));
        Self { value: self.value * other.value, by: own.chain(others).collect() }
    }

    fn over(&self, other: &Self) -> Self {
        let inverse = Self {
            value: 1.0 / other.value,
            by: other.by.iter().map(|(place, slope)| (*place, -slope / (other.value * other.value))).collect(),
        };
        self.by(&inverse)
    }

    /// tan of half of it.
    fn half_tan(&self) -> Self {
        let tan = libm::tan(self.value / 2.0);
        let slope = (1.0 + tan * tan) / 2.0;
        Self { value: tan, by: self.by.iter().map(|(place, by)| (*place, by * slope)).collect() }
    }
}

/// What a row is computed from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Angle,
    Reading,
    /// Leg 1.
    Leg,
    Start,
    /// Leg 2 less the blank.
    Rest,
    Mark,
}

/// One row: of which bend, of what, and its standard deviation.
#[derive(Clone, Copy, Debug)]
pub(super) struct RowOf {
    bend: usize,
    kind: Kind,
    sd: f64,
}

/// A record with what does not change while it is fitted.
#[derive(Debug)]
pub(super) struct Setup<'r> {
    pub(super) record: &'r Record,
    /// Die angle at the end of each bend, radians.
    turned: Vec<Option<f64>>,
}

/// Places of the unknowns among all, and what is put in for those that are none.
#[derive(Debug)]
pub(super) struct Setting<'h> {
    pub(super) rows: Rows,
    pub(super) alpha: Option<usize>,
    pub(super) beta: Option<usize>,
    pub(super) formed: Option<usize>,
    pub(super) blank: Option<usize>,
    pub(super) offset: Option<usize>,
    /// True angle of each bend that does not follow from its reading.
    theta: Vec<Option<usize>>,
    /// Start of each bend that does not follow from its mark.
    start: Vec<Option<usize>>,
    count: usize,
    fixed: [f64; 5],
    /// True angles that are given.
    held: Option<&'h [Angle]>,
}

impl<'h> Setting<'h> {
    pub(super) fn new(setup: &Setup<'_>, rows: Rows, told: &Told, held: Option<&'h [Angle]>) -> Self {
        let record = setup.record;
        let mut count = 0;
        let mut next = |wanted: bool| {
            let place = wanted.then_some(count);
            count += usize::from(wanted);
            place
        };
        let read = record.bends.iter().any(|bend| bend.reading.is_some());
        let alpha = next(rows.angles && read);
        let beta = next(rows.angles && told.slope);
        let formed = next(rows.lengths && told.fitted[0]);
        let blank = next(rows.lengths && told.fitted[1]);
        let offset = next(rows.lengths && told.fitted[2]);
        let follows = record.accuracy.reading <= Angle::ZERO;
        let theta =
            record.bends.iter().map(|bend| next(held.is_none() && (bend.reading.is_none() || !follows))).collect();
        let start = record.bends.iter().map(|bend| next(rows.lengths && setup.start_unknown(bend))).collect();
        let clr = record.die().clr.to_mm();
        let fixed = [0.0, 1.0, clr, clr, record.die().mark_offset.to_mm()];
        Self { rows, alpha, beta, formed, blank, offset, theta, start, count, fixed, held }
    }

    /// alpha, beta, formed radius, blank radius and mark offset at a guess.
    pub(super) fn values(&self, at: &DVector<f64>) -> [f64; 5] {
        let places = [self.alpha, self.beta, self.formed, self.blank, self.offset];
        core::array::from_fn(|which| places[which].map_or(self.fixed[which], |place| at[place]))
    }

    /// The first guess: what the die says, and what was measured.
    pub(super) fn start(&self, setup: &Setup<'_>) -> DVector<f64> {
        let mut at = DVector::zeros(self.count);
        let places = [self.alpha, self.beta, self.formed, self.blank, self.offset];
        for (place, fixed) in places.into_iter().zip(self.fixed) {
            if let Some(place) = place {
                at[place] = fixed;
            }
        }
        for (number, bend) in setup.record.bends.iter().enumerate() {
            if let Some(place) = self.theta[number] {
                at[place] = bend.angle.to_rad();
            }
            if let Some(place) = self.start[number] {
                let setback = self.fixed[2] * libm::tan(bend.angle.to_rad() / 2.0);
                let leg = bend.legs.map(|legs| legs[0].to_mm() - setback);
                at[place] = bend.start.or(bend.mark).map(Length::to_mm).or(leg).unwrap_or_default();
            }
        }
        at
    }
}

/// A record that is fitted.
pub(super) struct Fitting<'s, 'r, 'h> {
    pub(super) setup: &'s Setup<'r>,
    pub(super) setting: &'s Setting<'h>,
}

impl Model for Fitting<'_, '_, '_> {
    fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        self.setup.rows(at, self.setting)
    }
}

impl<'r> Setup<'r> {
    pub(super) fn new(record: &'r Record) -> Self {
        // What the pointer reads at a die angle of 0 is what is to be taken off.
        let zero = record.bender.pointer.reading(Angle::ZERO);
        let turned = record.bends.iter().map(|bend| Some((bend.reading? - zero).to_rad())).collect();
        Self { record, turned }
    }

    /// Smallest and largest angle of the bends with a reading.
    pub(super) fn range(&self) -> Option<(Angle, Angle)> {
        let angles = || self.record.bends.iter().filter(|bend| bend.reading.is_some()).map(|bend| bend.angle);
        Some((angles().reduce(Angle::min)?, angles().reduce(Angle::max)?))
    }

    /// Whether the start of a bend's arc is an unknown of its own.
    fn start_unknown(&self, bend: &TestBend) -> bool {
        bend.tells_length() && !(bend.is_marked() && self.record.accuracy.mark <= Length::ZERO)
    }

    /// The true angles of a fit.
    pub(super) fn angles(&self, at: &DVector<f64>, setting: &Setting<'_>) -> Vec<Angle> {
        (0..self.record.bends.len()).map(|bend| Angle::rad(self.theta(at, setting, bend).value)).collect()
    }

    fn term(at: &DVector<f64>, place: Option<usize>, fixed: f64) -> Term {
        place.map_or(Term::fixed(fixed), |place| Term { value: at[place], by: vec![(place, 1.0)] })
    }

    /// The true angle of a bend.
    fn theta(&self, at: &DVector<f64>, setting: &Setting<'_>, bend: usize) -> Term {
        if let Some(held) = setting.held {
            return Term::fixed(held[bend].to_rad());
        }
        match (setting.theta[bend], self.turned[bend]) {
            (None, Some(turned)) => {
                let alpha = Self::term(at, setting.alpha, setting.fixed[0]);
                alpha.plus(&Self::term(at, setting.beta, setting.fixed[1]).times(turned))
            }
            (place, _) => Self::term(at, place, self.record.bends[bend].angle.to_rad()),
        }
    }

    /// All rows: residuals, and their slopes.
    pub(super) fn rows(&self, at: &DVector<f64>, setting: &Setting<'_>) -> (DVector<f64>, DMatrix<f64>) {
        let found = self.list(at, setting);
        let mut residuals = DVector::zeros(found.len());
        let mut slopes = DMatrix::zeros(found.len(), setting.count);
        for (row, (of, term)) in found.into_iter().enumerate() {
            residuals[row] = term.value / of.sd;
            for (place, slope) in term.by {
                slopes[(row, place)] += slope / of.sd;
            }
        }
        (residuals, slopes)
    }

    fn list(&self, at: &DVector<f64>, setting: &Setting<'_>) -> Vec<(RowOf, Term)> {
        let accuracy = &self.record.accuracy;
        let of_length = accuracy.length.map_or(1.0, |length| length.max(FINEST.0).to_mm());
        // Without a stated accuracy all count alike: a degree, a millimetre.
        let of_angle = accuracy.angle.map_or(Angle::deg(1.0), |angle| angle.max(FINEST.1)).to_rad();
        let alpha = Self::term(at, setting.alpha, setting.fixed[0]);
        let beta = Self::term(at, setting.beta, setting.fixed[1]);
        let formed = Self::term(at, setting.formed, setting.fixed[2]);
        let blank = Self::term(at, setting.blank, setting.fixed[3]);
        let offset = Self::term(at, setting.offset, setting.fixed[4]);
        let mut rows = Vec::new();
        for (number, bend) in self.record.bends.iter().enumerate() {
            let theta = self.theta(at, setting, number);
            let mut row = |kind: Kind, sd: f64, computed: Term, measured: f64| {
                rows.push((RowOf { bend: number, kind, sd }, computed.minus(&Term::fixed(measured))));
            };
            if setting.rows.angles {
                row(Kind::Angle, of_angle, theta.clone(), bend.angle.to_rad());
                if let Some(turned) = self.turned[number]
                    && accuracy.reading > Angle::ZERO
                {
                    let computed = theta.clone().minus(&alpha).over(&beta);
                    row(Kind::Reading, accuracy.reading.max(FINEST.1).to_rad(), computed, turned);
                }
            }
            if !setting.rows.lengths || !bend.tells_length() {
                continue;
            }
            let tan = theta.half_tan();
            let setback = formed.by(&tan);
            let arc = blank.by(&theta);
            let marked = bend.mark.filter(|_| bend.is_marked()).map(Length::to_mm);
            let lead = bend.lead.unwrap_or(LeadEnd::A);
            let start = match (setting.start[number], marked) {
                (None, Some(mark)) => match lead {
                    LeadEnd::A => Term::fixed(mark).plus(&offset),
                    LeadEnd::B => Term::fixed(mark).minus(&offset).minus(&arc),
                },
                (place, _) => Self::term(at, place, 0.0),
            };
            let heel = self.record.od.to_mm() / 2.0
                * match bend.measured {
                    Taken::Centre => 0.0,
                    Taken::Outside => 1.0,
                    Taken::Inside => -1.0,
                };
            let reads = setback.plus(&tan.times(heel));
            if let Some(legs) = bend.legs {
                row(Kind::Leg, of_length, start.clone().plus(&reads), legs[0].to_mm());
                if let Some(whole) = bend.blank {
                    let computed = reads.minus(&start).minus(&arc);
                    let sd = of_length * core::f64::consts::SQRT_2;
                    row(Kind::Rest, sd, computed, (legs[1] - whole).to_mm());
                }
            }
            if let Some(found) = bend.start {
                row(Kind::Start, of_length, start.clone(), found.to_mm());
            }
            if let (Some(mark), Some(_)) = (marked, setting.start[number]) {
                let computed = match lead {
                    LeadEnd::A => start.minus(&offset),
                    LeadEnd::B => start.plus(&arc).plus(&offset),
                };
                row(Kind::Mark, accuracy.mark.max(FINEST.0).to_mm(), computed, mark);
            }
        }
        rows
    }

    /// What is left over at each bend, in the equations of the angle, of the blank and of the mark, each over its own standard deviation after the
    /// fit: sum w v / sqrt(w' Q w) with Q = I - J (J' J)^-1 J'.
    pub(super) fn standardised(&self, fitted: &Fitted<'_>, angles: bool, lengths: bool) -> Vec<Standardised> {
        let fit = &fitted.fit;
        let rows = self.list(&fit.at, &fitted.setting);
        let of = |bend: usize, kind: Kind| {
            let place = rows.iter().position(|(row, _)| row.bend == bend && row.kind == kind)?;
            Some((place, rows[place].0.sd))
        };
        // A sum of rows, in their own units, that is computed less measured; told the other way round.
        let over = |weights: &[(Option<(usize, f64)>, f64)]| {
            let mut by = DVector::zeros(rows.len());
            for (row, weight) in weights {
                let (place, sd) = (*row)?;
                by[place] = -weight * sd;
            }
            let through = fit.jacobian.tr_mul(&by);
            let whole = by.norm_squared();
            let left = whole - (through.transpose() * &fit.covariance * &through)[0];
            (left > NO_CHECK * whole).then(|| by.dot(&fit.residuals) / left.sqrt())
        };
        let one = |(bend, test): (usize, &TestBend)| {
            let mark_row = |sign: f64| {
                let found = of(bend, Kind::Mark);
                if found.is_some() { vec![(found, sign)] } else { Vec::new() }
            };
            let of_mark = |leg: Kind, sign: f64, mark: f64| {
                let mut weights = vec![(of(bend, leg), sign)];
                weights.extend(mark_row(mark));
                over(&weights)
            };
            let mark = if !lengths || !test.is_marked() {
                None
            } else {
                let by_leg = match test.lead {
                    Some(LeadEnd::B) => of_mark(Kind::Rest, 1.0, 1.0),
                    _ => of_mark(Kind::Leg, -1.0, 1.0),
                };
                let by_start = of_mark(Kind::Start, -1.0, 1.0);
                match (by_leg, by_start) {
                    (Some(one), Some(other)) => Some(if other.abs() > one.abs() { other } else { one }),
                    (one, other) => one.or(other),
                }
            };
            Standardised {
                angle: if angles { over(&[(of(bend, Kind::Angle), 1.0)]) } else { None },
                blank: if lengths { over(&[(of(bend, Kind::Leg), -1.0), (of(bend, Kind::Rest), -1.0)]) } else { None },
                mark,
            }
        };
        self.record.bends.iter().enumerate().map(one).collect()
    }
}
