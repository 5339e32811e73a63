//! What a survey tells, as a document for machines: schema `tubewright/survey/1`.
//!
//! Lengths in mm, whatever the file's units. Nothing is rounded. What is not told is `null`.

use serde::Serialize;

use super::{Checked, Record, Survey, What};
use crate::json::{mm, plain, pretty};
use crate::plan::Note;
use crate::plan::document::NoteDocument;
use crate::round::People;

/// JSON Schema (draft 2020-12) of the document.
pub const JSON_SCHEMA: &str = include_str!("survey.schema.json");

/// Name and version of the format.
pub const SCHEMA: &str = "tubewright/survey/1";

/// The whole document.
#[derive(Clone, Debug, Serialize)]
pub struct Document {
    schema: &'static str,
    points: Vec<PointDocument>,
    distances: Vec<DistanceDocument>,
    others: Vec<OtherDocument>,
    misread: Vec<MisreadDocument>,
    undetermined: Vec<String>,
    suggest: Vec<SuggestDocument>,
    notes: Vec<NoteDocument>,
}

#[derive(Clone, Debug, Serialize)]
struct PointDocument {
    name: String,
    at_mm: [Option<f64>; 3],
    sd_mm: [Option<f64>; 3],
}

#[derive(Clone, Debug, Serialize)]
struct DistanceDocument {
    from: String,
    to: Option<String>,
    residual_mm: f64,
    redundancy: f64,
    standardised: Option<f64>,
}

#[derive(Clone, Debug, Serialize)]
struct OtherDocument {
    what: &'static str,
    #[serde(flatten)]
    checked: DistanceDocument,
}

#[derive(Clone, Debug, Serialize)]
struct MisreadDocument {
    what: &'static str,
    from: String,
    to: Option<String>,
    by_mm: f64,
    sure: bool,
}

#[derive(Clone, Debug, Serialize)]
struct SuggestDocument {
    from: String,
    to: String,
    text: String,
}

impl Document {
    /// The document of what a survey tells, with its notes; words in the units asked for.
    #[must_use]
    pub fn new(record: &Record, told: &Survey, notes: &[Note], people: &People) -> Self {
        let name = |point: usize| record.points[point].clone();
        let checked = |reading: &Checked| DistanceDocument {
            from: name(reading.from),
            to: reading.to.map(name),
            residual_mm: mm(reading.residual),
            redundancy: reading.redundancy,
            standardised: reading.standardised.map(plain),
        };
        let (distances, others): (Vec<&Checked>, Vec<&Checked>) =
            told.readings.iter().partition(|reading| reading.what == What::Distance);
        let misread = told.misread.iter().map(|misread| {
            let reading = &told.readings[misread.reading];
            MisreadDocument {
                what: reading.what.word(),
                from: name(reading.from),
                to: reading.to.map(name),
                by_mm: mm(misread.by),
                sure: misread.sure,
            }
        });
        let texts = told.suggestions(record, people);
        let suggest = told.suggest.iter().zip(texts);
        Self {
            schema: SCHEMA,
            points: told
                .points
                .iter()
                .enumerate()
                .map(|(point, found)| PointDocument {
                    name: name(point),
                    at_mm: found.at.map(|at| at.map(plain)),
                    sd_mm: found.sd,
                })
                .collect(),
            distances: distances.into_iter().map(checked).collect(),
            others: others
                .into_iter()
                .map(|reading| OtherDocument { what: reading.what.word(), checked: checked(reading) })
                .collect(),
            misread: misread.collect(),
            undetermined: told.undetermined.iter().copied().map(name).collect(),
            suggest: suggest
                .map(|(suggestion, text)| SuggestDocument {
                    from: name(suggestion.from),
                    to: name(suggestion.to),
                    text,
                })
                .collect(),
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
