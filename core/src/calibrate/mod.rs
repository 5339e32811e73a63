//! From a record of test bends to springback, effective CLR, stretch and mark offset, each with its standard deviation.
//!
//! ```text
//!      leg 1                            theta   true bend angle
//!   A--------------o corner             d       die angle = reading, less `set_to` where the pointer is set at the first bite
//!            s   T/ \                   F       formed radius = CLR (1 + k)
//!                    \ leg 2            T       setback = F tan(theta / 2)
//!                     \                 G       F / (1 + stretch): an arc takes G theta of blank
//!                      B                s       start of the arc on the blank
//! ```
//!
//! What holds between true figures (the model of `forming`):
//!
//! - d = theta (1 + k) + c
//! - leg 1 = s + T, leg 2 = blank - s - G theta + T; each longer by OD / 2 tan(theta / 2) where it was taken on the outside
//! - lead A: s = mark + mark offset; lead B: s + G theta = mark - mark offset
//!
//! Every angle, length and start was measured with an error of its own, so every true angle is an unknown beside the figures that are looked
//! for: errors in all variables, weighted by their standard deviations. What is exact is put in for an unknown: with an exact reading
//! theta is (d - c) / (1 + k), with an exact mark the start follows from the mark offset. The unknowns are taken as theta = alpha + beta d, F, G and
//! the mark offset, in which all but tan is straight; k, c, CLR and stretch are worked out from them with their deviations.
//!
//! A record tells some figures and not others. A slope needs two angles, the radius apart from the stretch too: `told` finds out which
//! figures hang on nothing else, taking angles within [`ONE_ANGLE`] for one. What is not told is `None`, never 0.
//!
//! Where a standard deviation that the weights need is not given, none is made up: the angles are fitted by themselves, then the lengths with the
//! angles held, each with equal weights, and no deviation is claimed.
//!
//! Not for: wear, the drift of a shop over months, tube of another size. Those are what new test bends are for.

pub mod document;
mod model;
mod notes;
mod record;
mod suggest;
mod told;

use nalgebra::{DMatrix, DVector};

use self::model::{Rows, Setup};
pub use self::record::{Record, RecordAccuracy, TestBend};
pub use self::suggest::{Suggestion, suggest};
use crate::fit::{Fit, NoFit, solve};
use crate::forming::Measured;
use crate::units::{Angle, Length};

/// Bend angles as near as this count as one angle: what they say of a slope is less than what an angle gauge adds to it.
pub const ONE_ANGLE: Angle = Angle::deg(5.0);

/// Legs of bends below this say too little of the radius: at 45 degrees 1 mm on the tape is 23 mm of radius, at 60 it is 9.
pub const SMALL_BEND: Angle = Angle::deg(60.0);

/// Springback that was found at one angle only is good this far on either side of it (common practice, no source).
pub const GOOD_BESIDE: Angle = Angle::deg(15.0);

/// A residual beyond so many of its standard deviations is an outlier.
pub const OUTLIER: f64 = 3.0;

/// The angles behind a law that is written down lie at least so far apart.
pub const WELL_APART: Angle = Angle::deg(30.0);

/// A residual that keeps less than this part of its variance in the fit can show no mistake.
const NO_CHECK: f64 = 1e-6;

/// A figure with its standard deviation, where that is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure<T> {
    /// The figure.
    pub value: T,
    /// One standard deviation; `None` where the record does not state the accuracy that it follows from.
    pub sd: Option<T>,
}

/// What is left over at one bend, each over its standard deviation, measured less computed; `None` where it was not measured, nothing checks it, or its
/// accuracy is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Standardised {
    /// Of the angle, against the reading.
    pub angle: Option<f64>,
    /// Of the blank, against legs and arc.
    pub blank: Option<f64>,
    /// Of the mark, against where the bend starts.
    pub mark: Option<f64>,
}

impl Standardised {
    /// The largest of them without its sign.
    #[must_use]
    pub fn largest(&self) -> f64 {
        [self.angle, self.blank, self.mark].into_iter().flatten().fold(0.0, |most, one| most.max(one.abs()))
    }

    /// Whether one of them is beyond [`OUTLIER`].
    #[must_use]
    pub fn is_outlier(&self) -> bool {
        self.largest() > OUTLIER
    }
}

/// Springback at one angle, where nothing tells a slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpringbackAt {
    /// The bend angle: the mean of those measured.
    pub angle: Angle,
    /// Die angle less bend angle there.
    pub springback: Figure<Angle>,
}

/// What lengths at one angle tell, where they do not tell the radius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LengthsAt {
    /// The bend angle: the mean of those measured.
    pub angle: Angle,
    /// Legs less blank there.
    pub gain: Option<Figure<Length>>,
    /// From the mark to the corner, along the leg of the lead end.
    pub mark_to_corner: Option<Figure<Length>>,
}

/// What a record of test bends tells.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// Springback, constant part.
    pub constant: Option<Figure<Angle>>,
    /// Springback, part in proportion to the bend angle.
    pub proportional: Option<Figure<f64>>,
    /// Effective centreline radius of the die.
    pub clr: Option<Figure<Length>>,
    /// Stretch of an arc.
    pub stretch: Option<Figure<f64>>,
    /// From the tangent point to the index, positive toward the lead end.
    pub mark_offset: Option<Figure<Length>>,
    /// Radius of a finished arc, where it is told.
    pub formed_radius: Option<Figure<Length>>,
    /// Whether legs were measured, but only of bends below [`SMALL_BEND`].
    pub small_bends: bool,
    /// Springback where all bends with a reading are at one angle.
    pub springback_at: Option<SpringbackAt>,
    /// What lengths say where they do not tell the radius, all at one angle.
    pub lengths_at: Option<LengthsAt>,
    /// Covariance of constant (radians) and proportional part, where they are told with their deviations.
    pub covariance: Option<[[f64; 2]; 2]>,
    /// Smallest and largest bend angle of the bends with a reading.
    pub angles: Option<(Angle, Angle)>,
    /// What is left over at each bend.
    pub bends: Vec<Standardised>,
    /// Measurements less unknowns: how often the record checks itself.
    pub freedom: usize,
    /// Sum of the squares of the residuals over their standard deviations; `None` where those are not known.
    pub squares: Option<f64>,
}

/// What a record tells.
///
/// # Errors
/// [`NoFit`], where no figures agree with the record at all.
pub fn calibrate(record: &Record) -> Result<Calibration, NoFit> {
    let (angle, length) = (record.accuracy.angle, record.accuracy.length);
    let lengths = record.bends.iter().any(|bend| bend.tells_length());
    let setup = Setup::new(record);
    if let (Some(_), true, Some(_)) = (angle, lengths, length) {
        let fitted = Fitted::new(&setup, Rows::ALL, None)?;
        let bends = setup.standardised(&fitted, true, true);
        return Ok(fitted.told(&setup, true, true, bends));
    }
    let angles = Fitted::new(&setup, Rows::ANGLES, None)?;
    let bends = setup.standardised(&angles, angle.is_some(), false);
    if !lengths {
        return Ok(angles.told(&setup, angle.is_some(), false, bends));
    }
    // The angles stay as they are: nothing says how much a length would have to count against them.
    let held = setup.angles(&angles.fit.at, &angles.setting);
    let both = Fitted::new(&setup, Rows::LENGTHS, Some(&held))?;
    Ok(both.told(&setup, false, false, bends).with_angles_of(&angles.told(&setup, angle.is_some(), false, Vec::new())))
}

/// A fit with which figures it tells.
struct Fitted<'a> {
    fit: Fit,
    setting: model::Setting<'a>,
    told: told::Told,
}

impl<'a> Fitted<'a> {
    fn new(setup: &Setup<'_>, rows: Rows, held: Option<&'a [Angle]>) -> Result<Self, NoFit> {
        let told = told::Told::new(setup, rows);
        let setting = model::Setting::new(setup, rows, &told, held);
        let start = setting.start(setup);
        if start.is_empty() {
            let (residuals, jacobian) = setup.rows(&start, &setting);
            let fit = Fit { at: start, residuals, jacobian, covariance: DMatrix::zeros(0, 0) };
            return Ok(Self { fit, setting, told });
        }
        let fit = solve(&model::Fitting { setup, setting: &setting }, start)?;
        Ok(Self { fit, setting, told })
    }

    /// A figure that follows from the unknowns, with its slopes by them.
    fn figure(&self, value: f64, slopes: &[(Option<usize>, f64)], known: bool) -> (f64, Option<f64>) {
        let mut by = DVector::zeros(self.fit.at.len());
        for (place, slope) in slopes {
            if let Some(place) = place {
                by[*place] += slope;
            }
        }
        let sd = known.then(|| (by.transpose() * &self.fit.covariance * &by)[0].max(0.0).sqrt());
        (value, sd)
    }

    /// The figures in the terms of `forming`. `angle` and `length` say whether the accuracy behind each sort of figure is known.
    fn told(&self, setup: &Setup<'_>, angle: bool, length: bool, bends: Vec<Standardised>) -> Calibration {
        let record = setup.record;
        let known = angle && (length || !self.told.lengths);
        let setting = &self.setting;
        let at = &self.fit.at;
        let [alpha, beta, formed, blank, offset] = setting.values(at);
        let (a, b, f, g, m) = (setting.alpha, setting.beta, setting.formed, setting.blank, setting.offset);
        let as_angle = |(value, sd): (f64, Option<f64>)| Figure { value: Angle::rad(value), sd: sd.map(Angle::rad) };
        let as_part = |(value, sd): (f64, Option<f64>)| Figure { value, sd };
        let slope = self.told.slope;
        let by_constant = [(a, -1.0 / beta), (b, alpha / (beta * beta))];
        let by_proportional = [(b, -1.0 / (beta * beta))];
        let constant = slope.then(|| as_angle(self.figure(-alpha / beta, &by_constant, known)));
        let proportional = slope.then(|| as_part(self.figure(1.0 / beta - 1.0, &by_proportional, known)));
        let covariance = (slope && known).then(|| {
            let dense = |slopes: &[(Option<usize>, f64)]| {
                let mut by = DVector::zeros(at.len());
                slopes
                    .iter()
                    .filter_map(|(place, slope)| Some(((*place)?, slope)))
                    .for_each(|(place, slope)| by[place] += slope);
                by
            };
            let by = [dense(&by_constant), dense(&by_proportional)];
            let entry = |one: usize, other: usize| (by[one].transpose() * &self.fit.covariance * &by[other])[0];
            [[entry(0, 0), entry(0, 1)], [entry(1, 0), entry(1, 1)]]
        });
        let small_bends = record.bends.iter().any(|bend| bend.legs.is_some())
            && record.bends.iter().all(|bend| bend.legs.is_none() || bend.angle < SMALL_BEND);
        let radius = self.told.figures[0] && !small_bends;
        let formed_radius = radius.then(|| as_length(self.figure(formed, &[(f, 1.0)], known)));
        let clr = if !record.radius_growth {
            formed_radius
        } else if radius && slope {
            Some(as_length(self.figure(formed * beta, &[(f, beta), (b, formed)], known)))
        } else {
            None
        };
        let stretch = (radius && self.told.figures[1]).then(|| {
            as_part(self.figure(formed / blank - 1.0, &[(f, 1.0 / blank), (g, -formed / (blank * blank))], known))
        });
        let mark_offset = self.told.figures[2].then(|| as_length(self.figure(offset, &[(m, 1.0)], known)));
        let squares = known.then(|| self.fit.residuals.norm_squared());
        Calibration {
            constant,
            proportional,
            clr,
            stretch,
            mark_offset,
            formed_radius,
            small_bends,
            springback_at: self.springback_at(known),
            lengths_at: self.lengths_at(setup, known),
            covariance,
            angles: setup.range(),
            bends,
            freedom: self.fit.residuals.len().saturating_sub(at.len()),
            squares,
        }
    }

    /// Springback of bends that are all at one angle.
    fn springback_at(&self, known: bool) -> Option<SpringbackAt> {
        let angle = self.told.springback_at?;
        // theta = alpha + d, so what comes back is -alpha.
        let [alpha, ..] = self.setting.values(&self.fit.at);
        let (value, sd) = self.figure(-alpha, &[(self.setting.alpha, -1.0)], known);
        Some(SpringbackAt { angle, springback: Figure { value: Angle::rad(value), sd: sd.map(Angle::rad) } })
    }

    /// What the lengths of bends that are all at one angle say.
    fn lengths_at(&self, setup: &Setup<'_>, known: bool) -> Option<LengthsAt> {
        let angle = self.told.lengths_at.filter(|_| !self.told.figures[0])?;
        let setting = &self.setting;
        let [_, _, formed, blank, offset] = setting.values(&self.fit.at);
        let (tan, theta) = (libm::tan(angle.to_rad() / 2.0), angle.to_rad());
        let told = |has: &dyn Fn(&TestBend) -> bool, value: f64, slopes: &[(Option<usize>, f64)]| {
            setup.record.bends.iter().any(has).then(|| as_length(self.figure(value, slopes, known)))
        };
        let gain = told(
            &|bend| bend.legs.is_some() && bend.blank.is_some(),
            2.0 * formed * tan - blank * theta,
            &[(setting.formed, 2.0 * tan), (setting.blank, -theta)],
        );
        let mark_to_corner = told(
            &|bend| bend.legs.is_some() && bend.is_marked(),
            formed * tan + offset,
            &[(setting.formed, tan), (setting.offset, 1.0)],
        );
        Some(LengthsAt { angle, gain, mark_to_corner })
    }
}

fn as_length((value, sd): (f64, Option<f64>)) -> Figure<Length> {
    Figure { value: Length::mm(value), sd: sd.map(Length::mm) }
}

impl Calibration {
    /// Correlation of the constant and the proportional part; `None` where their deviations are not known, or nothing.
    #[must_use]
    pub fn correlation(&self) -> Option<f64> {
        let [[constant, both], [_, proportional]] = self.covariance?;
        let of = (constant * proportional).sqrt();
        (of > 0.0).then(|| (both / of).clamp(-1.0, 1.0))
    }

    /// With the figures of another fit, of the angles alone.
    fn with_angles_of(self, angles: &Self) -> Self {
        // The radius is divided by a slope that is held: its value stands, its deviation is not known anyway.
        let clr = self.clr.or_else(|| {
            let (formed, slope) = (self.formed_radius?, angles.proportional?);
            Some(Figure { value: formed.value / (1.0 + slope.value), sd: None })
        });
        Self {
            constant: angles.constant,
            proportional: angles.proportional,
            covariance: angles.covariance,
            angles: angles.angles,
            freedom: self.freedom + angles.freedom,
            clr,
            springback_at: angles.springback_at,
            ..self
        }
    }

    /// Angles beyond which springback is extrapolated; `None` without a bend that has a reading.
    #[must_use]
    pub fn good_for(&self) -> Option<(Angle, Angle)> {
        let (low, high) = self.angles?;
        let beyond = if self.constant.is_some() { Measured::REACH } else { GOOD_BESIDE };
        Some(((low - beyond).max(Angle::ZERO), high + beyond))
    }

    /// Whether the angles behind the law lie at least [`WELL_APART`].
    #[must_use]
    pub fn is_well_founded(&self) -> bool {
        self.constant.is_some() && self.angles.is_some_and(|(low, high)| high - low >= WELL_APART - Angle::deg(1e-9))
    }

    /// Place of the bend that is furthest off, where one is an outlier.
    #[must_use]
    pub fn furthest_off(&self) -> Option<usize> {
        let off = self.bends.iter().enumerate().filter(|(_, bend)| bend.is_outlier());
        off.max_by(|one, other| one.1.largest().total_cmp(&other.1.largest())).map(|(place, _)| place)
    }
}

#[cfg(test)]
mod tests;
