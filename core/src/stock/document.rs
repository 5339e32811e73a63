//! A cut list as a document for machines: schema `tubewright/stock/1`.
//!
//! Lengths in mm and masses in kg, whatever the file's units. Nothing is rounded.

use serde::Serialize;

use super::{CutList, For, Group, Piece};
use crate::cutting::Kind;
use crate::json::pretty;
use crate::plan::document::NoteDocument;
use crate::units::Length;

/// JSON Schema (draft 2020-12) of the document.
pub const JSON_SCHEMA: &str = include_str!("stock.schema.json");

/// Name and version of the format.
pub const SCHEMA: &str = "tubewright/stock/1";

/// The whole document.
#[derive(Clone, Debug, Serialize)]
pub struct Document {
    schema: &'static str,
    fingerprint: String,
    feasible: bool,
    kerf_mm: f64,
    end_waste_mm: f64,
    groups: Vec<GroupDocument>,
    notes: Vec<NoteDocument>,
}

#[derive(Clone, Debug, Serialize)]
struct GroupDocument {
    od_mm: f64,
    wall_mm: Option<f64>,
    material: Option<String>,
    buy: Vec<BuyDocument>,
    bought_mm: f64,
    at_least_mm: f64,
    best: bool,
    bought_kg: Option<f64>,
    tubes_kg: Option<f64>,
    bars: Vec<BarDocument>,
    uncut: Vec<UncutDocument>,
}

#[derive(Clone, Copy, Debug, Serialize)]
struct BuyDocument {
    length_mm: f64,
    count: usize,
}

#[derive(Clone, Debug, Serialize)]
struct BarDocument {
    kind: &'static str,
    length_mm: f64,
    pieces: Vec<PieceDocument>,
    left_mm: f64,
}

#[derive(Clone, Debug, Serialize)]
struct NameDocument {
    tube: Option<String>,
    test_bend: Option<TestBendDocument>,
    length_mm: f64,
}

#[derive(Clone, Debug, Serialize)]
struct TestBendDocument {
    die: String,
    number: usize,
}

#[derive(Clone, Debug, Serialize)]
struct PieceDocument {
    #[serde(flatten)]
    is: NameDocument,
    from_mm: f64,
    to_mm: f64,
}

#[derive(Clone, Debug, Serialize)]
struct UncutDocument {
    #[serde(flatten)]
    is: NameDocument,
    longest_mm: Option<f64>,
}

impl Document {
    /// The document of a cut list.
    #[must_use]
    pub fn new(list: &CutList) -> Self {
        Self {
            schema: SCHEMA,
            fingerprint: list.fingerprint.clone(),
            feasible: list.feasible(),
            kerf_mm: list.kerf.to_mm(),
            end_waste_mm: list.end_waste.to_mm(),
            groups: list.groups.iter().map(group).collect(),
            notes: list.notes.iter().map(NoteDocument::new).collect(),
        }
    }

    /// The document as JSON, with a line break at the end.
    ///
    /// # Panics
    /// Never: the document is made of text and finite numbers.
    #[must_use]
    pub fn to_json(&self) -> String {
        pretty(self)
    }
}

fn group(group: &Group) -> GroupDocument {
    GroupDocument {
        od_mm: group.stock.od.to_mm(),
        wall_mm: group.stock.wall.map(Length::to_mm),
        material: group.stock.material.clone(),
        buy: group.buy.iter().map(|buy| BuyDocument { length_mm: buy.length.to_mm(), count: buy.count }).collect(),
        bought_mm: group.bought.to_mm(),
        at_least_mm: group.at_least.to_mm(),
        best: group.best,
        bought_kg: group.bought_kg(),
        tubes_kg: group.tubes_kg(),
        bars: group
            .bars
            .iter()
            .map(|bar| BarDocument {
                kind: match bar.kind {
                    Kind::Offcut => "offcut",
                    Kind::AtHand => "at-hand",
                    Kind::Bought => "bought",
                },
                length_mm: bar.length.to_mm(),
                pieces: bar
                    .pieces
                    .iter()
                    .map(|placed| PieceDocument {
                        is: name(&group.pieces[placed.piece]),
                        from_mm: placed.from.to_mm(),
                        to_mm: placed.to.to_mm(),
                    })
                    .collect(),
                left_mm: bar.left.to_mm(),
            })
            .collect(),
        uncut: group
            .uncut
            .iter()
            .map(|uncut| UncutDocument {
                is: name(&group.pieces[uncut.piece]),
                longest_mm: uncut.longest.map(Length::to_mm),
            })
            .collect(),
    }
}

fn name(piece: &Piece) -> NameDocument {
    let (tube, test_bend) = match &piece.is {
        For::Tube => (Some(piece.name.clone()), None),
        For::TestBend { die, number } => (None, Some(TestBendDocument { die: die.clone(), number: *number })),
    };
    NameDocument { tube, test_bend, length_mm: piece.length.to_mm() }
}
