//! Which figures a record tells: those on which something that was measured hangs, and which nothing else can make up for.
//!
//! Formed radius, blank radius and mark offset enter all lengths in proportion (see `model`), so what a record tells of them is plain from its
//! design: the slopes of all rows, with angles within [`ONE_ANGLE`] of each other set to their mean. A direction in which the
//! unknowns can move together without any row taking notice is a null vector of it; what has a part in such a vector is not told.

use nalgebra::{DVector, SymmetricEigen};

use super::model::{Rows, Setting, Setup};
use super::{ONE_ANGLE, TestBend};
use crate::units::Angle;

/// An eigenvalue of the design, its columns scaled to 1, below which it is 0. Two angles 5 degrees apart leave 1e-6 where they are
/// smallest; rounding leaves 1e-15.
const NULL: f64 = 1e-10;

/// A part in a null vector below which there is none.
const NO_PART: f64 = 1e-4;

/// What a record tells.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Told {
    /// Constant and proportional part.
    pub(super) slope: bool,
    /// Mean angle of the bends with a reading, where they are all at one.
    pub(super) springback_at: Option<Angle>,
    /// Any length at all.
    pub(super) lengths: bool,
    /// Mean angle of the bends with lengths, where they are all at one.
    pub(super) lengths_at: Option<Angle>,
    /// Formed radius, blank radius and mark offset: which are told.
    pub(super) figures: [bool; 3],
    /// Which of them are unknowns of the fit: as many as there are independent ones.
    pub(super) fitted: [bool; 3],
}

impl Told {
    pub(super) fn new(setup: &Setup<'_>, rows: Rows) -> Self {
        let record = setup.record;
        let means = |counts: &dyn Fn(&TestBend) -> bool| {
            let angles: Vec<Angle> = record.bends.iter().filter(|bend| counts(bend)).map(|bend| bend.angle).collect();
            groups(angles)
        };
        let read = if rows.angles { means(&|bend| bend.reading.is_some()) } else { Vec::new() };
        let long = if rows.lengths { means(&|bend| bend.tells_length()) } else { Vec::new() };
        let one = |groups: &[Group]| match groups {
            [only] => Some(only.mean),
            _ => None,
        };
        let mut told = Self {
            slope: read.len() >= 2,
            springback_at: one(&read),
            lengths: !long.is_empty(),
            lengths_at: one(&long),
            figures: [false; 3],
            fitted: [!long.is_empty(); 3],
        };
        if told.lengths {
            let near = |bend: &TestBend| {
                let mean = long.iter().find(|group| group.holds(bend.angle)).map(|group| group.mean);
                mean.unwrap_or(bend.angle)
            };
            let angles: Vec<Angle> = record.bends.iter().map(near).collect();
            told.look(setup, &angles);
        }
        told
    }

    /// Finds which figures are told, and fits no more of them than there are independent ones.
    fn look(&mut self, setup: &Setup<'_>, angles: &[Angle]) {
        let untold = |told: &Self| -> [bool; 3] {
            let setting = Setting::new(setup, Rows::LENGTHS, told, Some(angles));
            let nulls = nulls(setup, &setting);
            let places = [setting.formed, setting.blank, setting.offset];
            places.map(|place| place.is_some_and(|place| nulls.iter().any(|null| null[place].abs() > NO_PART)))
        };
        let first = untold(self);
        self.figures = first.map(|untold| !untold);
        // The last of them is held at what the bender's file says; what is told does not hang on it.
        let mut left = first;
        while let Some(last) = left.iter().rposition(|untold| *untold) {
            self.fitted[last] = false;
            left = untold(self);
        }
    }
}

/// Directions of the unknowns of which no row takes notice.
fn nulls(setup: &Setup<'_>, setting: &Setting<'_>) -> Vec<DVector<f64>> {
    let (_, mut design) = setup.rows(&setting.start(setup), setting);
    for mut column in design.column_iter_mut() {
        let norm = column.norm();
        if norm > 0.0 {
            column.unscale_mut(norm);
        }
    }
    if design.is_empty() {
        return Vec::new();
    }
    let SymmetricEigen { eigenvectors, eigenvalues } = SymmetricEigen::new(design.tr_mul(&design));
    let null = eigenvalues.iter().enumerate().filter(|(_, value)| **value < NULL);
    null.map(|(place, _)| eigenvectors.column(place).into_owned()).collect()
}

/// Angles that count as one.
struct Group {
    low: Angle,
    high: Angle,
    mean: Angle,
}

impl Group {
    fn holds(&self, angle: Angle) -> bool {
        self.low <= angle && angle <= self.high
    }
}

/// Angles in groups of those within [`ONE_ANGLE`] of the smallest of the group.
fn groups(mut angles: Vec<Angle>) -> Vec<Group> {
    angles.sort_by(|one, other| one.to_rad().total_cmp(&other.to_rad()));
    let mut rest = &angles[..];
    let mut groups = Vec::new();
    while let Some(low) = rest.first().copied() {
        let count = rest.iter().take_while(|angle| **angle - low <= ONE_ANGLE).count();
        let (group, after) = rest.split_at(count);
        let mean = group.iter().copied().sum::<Angle>() / count as f64;
        groups.push(Group { low, high: group[count - 1], mean });
        rest = after;
    }
    groups
}
