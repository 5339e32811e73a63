//! What a record tells, as a document for machines: schema `tubewright/calibration/1`.
//!
//! Lengths in mm, angles in degrees, whatever the file's units. Nothing is rounded. What the record cannot tell is `null`.

use serde::Serialize;

use super::{Calibration, Figure, Record};
use crate::json::{deg, mm, plain, pretty};
use crate::plan::Note;
use crate::plan::document::NoteDocument;
use crate::units::{Angle, Length};

/// JSON Schema (draft 2020-12) of the document.
pub const JSON_SCHEMA: &str = include_str!("calibration.schema.json");

/// Name and version of the format.
pub const SCHEMA: &str = "tubewright/calibration/1";

/// The whole document.
#[derive(Clone, Debug, Serialize)]
pub struct Document {
    schema: &'static str,
    die: String,
    material: String,
    constant_deg: Option<Quantity>,
    proportional: Option<Quantity>,
    clr_mm: Option<Quantity>,
    stretch: Option<Quantity>,
    mark_offset_mm: Option<Quantity>,
    bends: Vec<BendDocument>,
    notes: Vec<NoteDocument>,
}

/// A figure with its standard deviation.
#[derive(Clone, Copy, Debug, Serialize)]
pub(crate) struct Quantity {
    value: f64,
    sd: Option<f64>,
}

impl Quantity {
    /// In mm.
    pub(crate) fn length(figure: Figure<Length>) -> Self {
        Self { value: mm(figure.value), sd: figure.sd.map(mm) }
    }

    /// In degrees.
    pub(crate) fn angle(figure: Figure<Angle>) -> Self {
        Self { value: deg(figure.value), sd: figure.sd.map(deg) }
    }

    fn part(figure: Figure<f64>) -> Self {
        Self { value: plain(figure.value), sd: figure.sd }
    }
}

#[derive(Clone, Copy, Debug, Serialize)]
struct BendDocument {
    bend: usize,
    standardised: StandardisedDocument,
    outlier: bool,
}

#[derive(Clone, Copy, Debug, Serialize)]
struct StandardisedDocument {
    angle: Option<f64>,
    blank: Option<f64>,
    mark: Option<f64>,
}

impl Document {
    /// The document of what a record tells, with its notes.
    #[must_use]
    pub fn new(record: &Record, told: &Calibration, notes: &[Note]) -> Self {
        let bends = told.bends.iter().enumerate().map(|(place, bend)| BendDocument {
            bend: place + 1,
            standardised: StandardisedDocument { angle: bend.angle, blank: bend.blank, mark: bend.mark },
            outlier: bend.is_outlier(),
        });
        Self {
            schema: SCHEMA,
            die: record.die().name.clone(),
            material: record.material.clone(),
            constant_deg: told.constant.map(Quantity::angle),
            proportional: told.proportional.map(Quantity::part),
            clr_mm: told.clr.map(Quantity::length),
            stretch: told.stretch.map(Quantity::part),
            mark_offset_mm: told.mark_offset.map(Quantity::length),
            bends: bends.collect(),
            notes: notes.iter().map(NoteDocument::new).collect(),
        }
    }

    /// The document as text: JSON, two spaces a level, a line break at the end.
    ///
    /// # Panics
    /// Never: there is nothing in it that JSON cannot hold.
    #[must_use]
    pub fn to_json(&self) -> String {
        pretty(self)
    }
}
