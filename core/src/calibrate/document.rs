//! What a record tells, as a document for machines: schema `tubewright/calibration/1`.
//!
//! Lengths in mm, angles in degrees, whatever the file's units. Nothing is rounded. What the record cannot tell is `null`.

use serde::Serialize;

use super::{Calibration, Figure, Record};
use crate::plan::Note;
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

#[derive(Clone, Copy, Debug, Serialize)]
struct Quantity {
    value: f64,
    sd: Option<f64>,
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

#[derive(Clone, Debug, Serialize)]
struct NoteDocument {
    code: &'static str,
    text: String,
}

impl Document {
    /// The document of what a record tells, with its notes.
    #[must_use]
    pub fn new(record: &Record, told: &Calibration, notes: &[Note]) -> Self {
        let part = |figure: Figure<f64>| Quantity { value: figure.value, sd: figure.sd };
        let degrees =
            |figure: Figure<Angle>| Quantity { value: figure.value.to_deg(), sd: figure.sd.map(Angle::to_deg) };
        let mm = |figure: Figure<Length>| Quantity { value: figure.value.to_mm(), sd: figure.sd.map(Length::to_mm) };
        let bends = told.bends.iter().enumerate().map(|(place, bend)| BendDocument {
            bend: place + 1,
            standardised: StandardisedDocument { angle: bend.angle, blank: bend.blank, mark: bend.mark },
            outlier: bend.is_outlier(),
        });
        Self {
            schema: SCHEMA,
            die: record.die().name.clone(),
            material: record.material.clone(),
            constant_deg: told.constant.map(degrees),
            proportional: told.proportional.map(part),
            clr_mm: told.clr.map(mm),
            stretch: told.stretch.map(part),
            mark_offset_mm: told.mark_offset.map(mm),
            bends: bends.collect(),
            notes: notes.iter().map(|note| NoteDocument { code: note.code, text: note.text.clone() }).collect(),
        }
    }

    /// The document as text: JSON, two spaces a level, a line break at the end.
    ///
    /// # Panics
    /// Never: there is nothing in it that JSON cannot hold.
    #[must_use]
    pub fn to_json(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).expect("plain structures of text and finite numbers");
        text.push('\n');
        text
    }
}
