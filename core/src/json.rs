//! What all documents for machines share: figures without a negative zero, and how they are laid out.

use serde::Serialize;

use crate::units::{Angle, Length};

/// A number: never a negative zero.
pub(crate) fn plain(value: f64) -> f64 {
    value + 0.0
}

/// A length in mm.
pub(crate) fn mm(length: Length) -> f64 {
    plain(length.to_mm())
}

/// An angle in degrees.
pub(crate) fn deg(angle: Angle) -> f64 {
    plain(angle.to_deg())
}

/// A document as text: JSON, two spaces a level, a line break at the end.
///
/// # Panics
/// Where there is something in it that JSON cannot hold: a map whose keys are no text.
#[must_use]
pub fn pretty(document: &impl Serialize) -> String {
    let mut text = serde_json::to_string_pretty(document).expect("plain structures of text and finite numbers");
    text.push('\n');
    text
}
