//! What one more tape would do.

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

use super::network::Network;
use super::settle::Settled;
use super::{Survey, What};
use crate::units::Length;

/// Tapes that are asked for at once so that all points are told.
const MOST: usize = 6;

/// A null direction that a tape changes by less than this part of what it could is not told by it.
const NO_PART: f64 = 1e-3;

/// One more measurement that helps.
#[derive(Clone, Debug, PartialEq)]
pub struct Suggestion {
    /// Tape from this point.
    pub from: usize,
    /// To this one.
    pub to: usize,
    /// What for.
    pub why: Why,
}

/// What a measurement is good for.
#[derive(Clone, Debug, PartialEq)]
pub enum Why {
    /// It tells what is not told.
    Tells,
    /// It tells which of two places the first point is in: the tape reads the one or the other.
    Which(Length, Length),
    /// It is one of several readings that may be misread.
    Again,
    /// It makes the largest 95 % ellipsoid smaller: of this point, its largest half axis from the one to the other for the largest that is left.
    Sharpens(usize, Length, Length),
}

/// What to measure next, the most useful first.
pub(super) fn suggest(network: &Network<'_>, kept: &Settled, survey: &Survey) -> Vec<Suggestion> {
    let points = network.points(&kept.whole);
    let pairs = open_pairs(network);
    let mut all = tells(network, kept, &points, &pairs);
    all.extend(which(survey, &points, &pairs));
    all.extend(again(survey));
    if survey.undetermined.is_empty() {
        all.extend(sharpens(network, kept, &points, &pairs));
    }
    all
}

/// Pairs that no tape joins.
fn open_pairs(network: &Network<'_>) -> Vec<(usize, usize)> {
    let record = network.record;
    let joined = |one: usize, other: usize| {
        let same = |from: usize, to: usize| (from, to) == (one, other) || (to, from) == (one, other);
        record.tapes.iter().any(|tape| same(tape.from, tape.to))
            || record.drops.iter().any(|drop| same(drop.from, drop.to))
    };
    let count = record.points.len();
    let pairs = (0..count).flat_map(|one| (one + 1..count).map(move |other| (one, other)));
    pairs.filter(|(one, other)| !joined(*one, *other)).collect()
}

/// Tapes that between them take away the null directions, the one that tells most first.
fn tells(network: &Network<'_>, kept: &Settled, points: &[Vector3<f64>], pairs: &[(usize, usize)]) -> Vec<Suggestion> {
    let mut nulls = kept.nulls.clone();
    let mut all = Vec::new();
    while nulls.ncols() > 0 && all.len() < MOST {
        let seen = |(from, to): &(usize, usize)| {
            let row = network.tape_row(points, *from, *to, 1.0)?;
            Some(nulls.tr_mul(&row))
        };
        let best = pairs.iter().filter_map(|pair| Some((*pair, seen(pair)?)));
        let best = best.reduce(|best, other| if other.1.norm() > best.1.norm() * 1.000_001 { other } else { best });
        let Some(((from, to), seen)) = best.filter(|(_, seen)| seen.norm() > NO_PART) else { break };
        all.push(Suggestion { from, to, why: Why::Tells });
        nulls = without(&nulls, &seen);
    }
    all
}

/// The directions that stay when the combination `seen` of them is told.
fn without(nulls: &DMatrix<f64>, seen: &DVector<f64>) -> DMatrix<f64> {
    let count = nulls.ncols();
    let unit = seen.normalize();
    let left = DMatrix::identity(count, count) - &unit * unit.transpose();
    let eigen = left.symmetric_eigen();
    let places: Vec<usize> = (0..count).filter(|place| eigen.eigenvalues[*place] > 0.5).collect();
    nulls * eigen.eigenvectors.select_columns(&places)
}

/// The tape that tells the two places of a point apart best, for the first point that has two.
fn which(survey: &Survey, points: &[Vector3<f64>], pairs: &[(usize, usize)]) -> Option<Suggestion> {
    let twice =
        |point: usize| survey.two_places.iter().find(|(twice, _)| *twice == point).map(|(_, other)| other.coords);
    let differs = |(from, to): &(usize, usize)| {
        let here = (points[*to] - points[*from]).norm();
        let there = (twice(*to).unwrap_or(points[*to]) - twice(*from).unwrap_or(points[*from])).norm();
        (*from, *to, here, there)
    };
    let mut best = pairs.iter().filter(|(from, to)| twice(*from).is_some() || twice(*to).is_some()).map(differs);
    let first = best.next()?;
    let by = |(_, _, here, there): (usize, usize, f64, f64)| (here - there).abs();
    let (from, to, here, there) = best.fold(first, |best, other| if by(other) > by(best) { other } else { best });
    // What lies on the plane that the two places are mirrored in tells nothing.
    (by((from, to, here, there)) > 1.0).then_some(Suggestion {
        from,
        to,
        why: Why::Which(Length::mm(here), Length::mm(there)),
    })
}

/// The tape with the largest |w| of several that may be misread.
fn again(survey: &Survey) -> Option<Suggestion> {
    if survey.sure().is_some() {
        return None;
    }
    let suspects = survey.misread.iter().map(|misread| &survey.readings[misread.reading]);
    let mut tapes = suspects.filter(|reading| matches!(reading.what, What::Distance | What::Drop));
    let reading = tapes.next()?;
    Some(Suggestion { from: reading.from, to: reading.to?, why: Why::Again })
}

/// The tape that makes the largest ellipsoid smallest.
fn sharpens(
    network: &Network<'_>,
    kept: &Settled,
    points: &[Vector3<f64>],
    pairs: &[(usize, usize)],
) -> Option<Suggestion> {
    let sd = network.record.tape_sd.to_mm();
    let axis = |covariance: &DMatrix<f64>, point: usize| {
        let places = network.places[point];
        let own = Matrix3::from_fn(|row, column| match (places[row], places[column]) {
            (Some(row), Some(column)) => covariance[(row, column)],
            _ => 0.0,
        });
        own.symmetric_eigenvalues().max().max(0.0)
    };
    let largest = |covariance: &DMatrix<f64>| {
        let axes = (0..points.len()).map(|point| (point, axis(covariance, point)));
        axes.fold((0, 0.0), |most, one| if one.1 > most.1 { one } else { most })
    };
    let (point, before) = largest(&kept.covariance);
    let after = |(from, to): &(usize, usize)| {
        let row = network.tape_row(points, *from, *to, sd)?;
        let moved = &kept.covariance * &row;
        let covariance = &kept.covariance - &moved * moved.transpose() / (1.0 + row.dot(&moved));
        Some(((*from, *to), largest(&covariance).1))
    };
    let best = pairs.iter().filter_map(after).reduce(|best, other| if other.1 < best.1 { other } else { best });
    let ((from, to), after) = best.filter(|(_, after)| *after < before * (1.0 - 1e-6))?;
    let half_axis = |variance: f64| Length::mm(super::chance::within_95(network.dims) * variance.sqrt());
    Some(Suggestion { from, to, why: Why::Sharpens(point, half_axis(before), half_axis(after)) })
}
