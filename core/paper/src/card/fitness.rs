//! How hard a tube's bends are on it, and how it stands against the user's rules.

use serde::Serialize;
use tubewright::plan::document::FitnessDocument;

use crate::words::Words;

/// The figures as a plan has them, and their words.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fitness {
    /// The figures.
    #[serde(flatten)]
    pub figures: FitnessDocument,
    /// What the bends do to the wall, in words; `None` for a tube without bends.
    pub words: Option<String>,
    /// Each limit with its verdict, and what that does not say.
    pub says: Vec<String>,
}

impl Fitness {
    pub(super) fn new(words: &Words<'_>) -> Self {
        Self { figures: FitnessDocument::new(&words.tube.fitness), words: words.bent_wall(), says: words.limits() }
    }
}
