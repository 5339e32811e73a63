//! One bend about to be made.

use super::{Bender, Die};
use crate::centreline::BendId;
use crate::forming::{Blank, FormedBend, LeadEnd};

/// One bend about to be made: all that the questions about its limits and its clearance are asked about.
#[derive(Clone, Copy, Debug)]
pub struct Step<'a> {
    /// The bender.
    pub bender: &'a Bender,
    /// The blank with its bends.
    pub blank: &'a Blank,
    /// The bend to be made.
    pub bend: BendId,
    /// Which end leads.
    pub lead: LeadEnd,
    /// For each bend of the blank whether it is made already; the one to be made is not.
    pub made: &'a [bool],
}

impl<'a> Step<'a> {
    /// The bend to be made on the blank.
    ///
    /// # Panics
    /// Where the blank has no such bend.
    #[must_use]
    pub fn active(&self) -> &'a FormedBend {
        &self.blank.bends[self.bend.0]
    }

    /// The die that makes it.
    ///
    /// # Panics
    /// Where the blank has no such bend or the bender no such die.
    #[must_use]
    pub fn die(&self) -> &'a Die {
        &self.bender.dies[self.active().die]
    }

    /// Whether a bend is made already; a bend that `made` does not mention is not.
    #[must_use]
    pub fn is_made(&self, bend: BendId) -> bool {
        self.made.get(bend.0) == Some(&true)
    }
}
