//! What is known of a measured part, as a document for machines: schema `tubewright/inspection/1`.
//!
//! Lengths in mm, angles in degrees, whatever the file's units. Nothing is rounded. What the record cannot tell is `null`. For a part without a job there is nothing
//! wanted: its rows and nodes are the measured ones.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use super::{Deviation, Inspection, MeasuredRow, Part};
use crate::calibrate::document::Quantity;
use crate::json::{deg, mm, plain, pretty};
use crate::plan::document::NoteDocument;
use crate::round::People;
use crate::units::Angle;

/// JSON Schema (draft 2020-12) of the document.
pub const JSON_SCHEMA: &str = include_str!("inspection.schema.json");

/// Name and version of the format.
pub const SCHEMA: &str = "tubewright/inspection/1";

/// The whole document.
#[derive(Clone, Debug, Serialize)]
pub struct Document {
    schema: &'static str,
    tube: Option<String>,
    rms_mm: Option<f64>,
    within_tolerance: Option<bool>,
    wrong_hand: bool,
    nodes: Vec<NodeDocument>,
    rows: Vec<RowDocument>,
    legs: Vec<LegDocument>,
    next: Vec<NextDocument>,
    next_cut_length_mm: Option<f64>,
    slips: Vec<SlipDocument>,
    notes: Vec<NoteDocument>,
}

#[derive(Clone, Debug, Serialize)]
struct NodeDocument {
    node: String,
    off_mm: Option<[f64; 3]>,
    at_mm: Option<[f64; 3]>,
}

#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
enum RowDocument {
    Bend {
        bend: usize,
        length_mm: Option<f64>,
        rotation_deg: Option<f64>,
        bend_deg: Option<f64>,
        measured: RowMeasured,
    },
    Last {
        length_mm: Option<f64>,
        measured: LastMeasured,
    },
}

#[derive(Clone, Debug, Serialize)]
struct RowMeasured {
    length_mm: Option<Quantity>,
    rotation_deg: Option<Quantity>,
    bend_deg: Option<Quantity>,
}

#[derive(Clone, Debug, Serialize)]
struct LastMeasured {
    length_mm: Option<Quantity>,
}

#[derive(Clone, Debug, Serialize)]
struct LegDocument {
    leg: usize,
    off_mm: Option<f64>,
    measured_mm: Option<Quantity>,
}

#[derive(Clone, Debug, Serialize)]
struct NextDocument {
    bend: usize,
    step: usize,
    lead: &'static str,
    mark_mm: Option<f64>,
    top_deg: Option<f64>,
    dial_target_deg: Option<f64>,
}

#[derive(Clone, Debug, Serialize)]
struct SlipDocument {
    what: &'static str,
    text: String,
}

impl Document {
    /// The document of a part, with its slips and notes worded in these units.
    #[must_use]
    pub fn new(part: &Part, told: &Inspection, people: &People) -> Self {
        let vector = |vector: Vector3<f64>| [plain(vector.x), plain(vector.y), plain(vector.z)];
        let point = |point: Point3<f64>| vector(point.coords);
        let nodes = part.nodes.iter().zip(&told.nodes).zip(&told.off).map(|((name, at), off)| NodeDocument {
            node: name.clone(),
            off_mm: off.map(vector),
            at_mm: at.map(point),
        });
        Self {
            schema: SCHEMA,
            tube: part.wanted.as_ref().map(|wanted| wanted.tube().name.clone()),
            rms_mm: told.rms.map(mm),
            within_tolerance: told.within_tolerance,
            wrong_hand: told.wrong_hand,
            nodes: nodes.collect(),
            rows: rows(told),
            legs: told
                .legs
                .iter()
                .zip(&told.leg_deviations)
                .enumerate()
                .map(|(leg, (found, off))| LegDocument {
                    leg: leg + 1,
                    off_mm: off.map(mm),
                    measured_mm: found.map(Quantity::length),
                })
                .collect(),
            next: told
                .next
                .iter()
                .map(|next| NextDocument {
                    bend: next.bend.number(),
                    step: next.step + 1,
                    lead: next.lead.letter(),
                    mark_mm: next.mark.map(mm),
                    top_deg: next.top.map(deg),
                    dial_target_deg: next.dial_target.map(deg),
                })
                .collect(),
            next_cut_length_mm: told.next_cut.map(mm),
            slips: told.slip_words(part, people).into_iter().map(|(what, text)| SlipDocument { what, text }).collect(),
            notes: told.notes(part, people).iter().map(NoteDocument::new).collect(),
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

/// Measured less wanted; where nothing was wanted, as measured.
fn rows(told: &Inspection) -> Vec<RowDocument> {
    let own = |row: &MeasuredRow| Deviation {
        length: row.length.map(|length| length.value),
        rotation: row.rotation.map(|rotation| rotation.value),
        angle: row.angle.map(|angle| angle.value),
    };
    let off = |place: usize| told.deviations.get(place).copied();
    let mut rows: Vec<RowDocument> = told
        .rows
        .iter()
        .enumerate()
        .map(|(place, row)| {
            let by = off(place).unwrap_or_else(|| own(row));
            // Whatever the first rotation is, it is no part of the shape.
            let rotation = if place == 0 { Some(Angle::ZERO) } else { by.rotation };
            RowDocument::Bend {
                bend: place + 1,
                length_mm: by.length.map(mm),
                rotation_deg: rotation.map(deg),
                bend_deg: by.angle.map(deg),
                measured: RowMeasured {
                    length_mm: row.length.map(Quantity::length),
                    rotation_deg: row.rotation.map(Quantity::angle),
                    bend_deg: row.angle.map(Quantity::angle),
                },
            }
        })
        .collect();
    let last = off(told.rows.len()).map_or(told.last.map(|last| last.value), |off| off.length);
    rows.push(RowDocument::Last {
        length_mm: last.map(mm),
        measured: LastMeasured { length_mm: told.last.map(Quantity::length) },
    });
    rows
}
