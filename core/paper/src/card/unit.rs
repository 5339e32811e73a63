//! How figures are written in the document: mm, degrees, never a negative zero.

use serde::{Serialize, Serializer};
use tubewright::units::{Angle, Length};

pub(super) fn mm<S: Serializer>(length: &Length, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_f64(length.to_mm() + 0.0)
}

pub(super) fn mm_or_null<S: Serializer>(length: &Option<Length>, to: S) -> Result<S::Ok, S::Error> {
    length.map(|length| length.to_mm() + 0.0).serialize(to)
}

pub(super) fn deg<S: Serializer>(angle: &Angle, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_f64(angle.to_deg() + 0.0)
}

pub(super) fn deg_or_null<S: Serializer>(angle: &Option<Angle>, to: S) -> Result<S::Ok, S::Error> {
    angle.map(|angle| angle.to_deg() + 0.0).serialize(to)
}

pub(super) fn all_deg<S: Serializer>(angles: &[Angle], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(angles.iter().map(|angle| angle.to_deg() + 0.0))
}
