//! Ends that land on other tubes.

use serde::Serialize;
use tubewright::plan::EndDocument;

use crate::words::Words;

/// An end that lands on another tube, with what is printed of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CardEnd {
    /// Its figures.
    #[serde(flatten)]
    pub figures: EndDocument,
    /// In words.
    pub words: Vec<String>,
}

impl CardEnd {
    /// What its words stand under: `End A`.
    #[must_use]
    pub fn name(&self) -> String {
        format!("End {}", self.figures.letter())
    }

    pub(super) fn all(words: &Words<'_>) -> Vec<Self> {
        let ends = words.tube.ends.iter();
        ends.map(|end| Self { figures: EndDocument::new(end), words: words.end(end) }).collect()
    }
}
