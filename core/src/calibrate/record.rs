//! A record of test bends as it was written down.

use crate::bender::{Bender, Die};
use crate::centreline::Taken;
use crate::forming::{Diameters, LeadEnd, Material};
use crate::units::{Angle, Length, LengthUnit};

/// Standard deviations of what was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RecordAccuracy {
    /// Of a blank, a leg or a start; `None` where it is not stated.
    pub length: Option<Length>,
    /// Of a bend angle; `None` where it is not stated.
    pub angle: Option<Angle>,
    /// Of a mark; 0 where it is exact.
    pub mark: Length,
    /// Of a reading; 0 where it is exact.
    pub reading: Angle,
}

/// One test bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TestBend {
    /// What the pointer read at the end.
    pub reading: Option<Angle>,
    /// Bend angle after release.
    pub angle: Angle,
    /// Length of the straight blank.
    pub blank: Option<Length>,
    /// The mark on the blank, from end A.
    pub mark: Option<Length>,
    /// Where the arc starts, from end A, as found by laying the bent piece on a layout.
    pub start: Option<Length>,
    /// The end that led.
    pub lead: Option<LeadEnd>,
    /// From end A to the corner, and from the corner to end B.
    pub legs: Option<[Length; 2]>,
    /// Where the legs were taken at the corner.
    pub measured: Taken,
    /// Its diameters where it is flattest.
    pub diameters: Option<Diameters>,
}

/// A record of test bends.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// Units of the file: what people read unless they ask otherwise.
    pub units: LengthUnit,
    /// The bender.
    pub bender: Bender,
    /// Place of the die in the bender's list.
    pub die: usize,
    /// Name of the material.
    pub material: String,
    /// Outside diameter of the tube.
    pub od: Length,
    /// Its wall, where given.
    pub wall: Option<Length>,
    /// Delivery of tube, as written.
    pub lot: Option<String>,
    /// Day, as written.
    pub date: Option<String>,
    /// Standard deviations of the measurements.
    pub accuracy: RecordAccuracy,
    /// Whether the formed radius is CLR x (1 + k), as the bender's file says of this material; so it is where that says nothing.
    pub radius_growth: bool,
    /// The bends, in the order of the file.
    pub bends: Vec<TestBend>,
}

impl Record {
    /// The die.
    ///
    /// # Panics
    /// Where the bender has no such die.
    #[must_use]
    pub fn die(&self) -> &Die {
        &self.bender.dies[self.die]
    }

    /// What the bender's file says of this material in this die.
    #[must_use]
    pub fn known(&self) -> Option<&Material> {
        self.die().materials.iter().find(|material| material.name == self.material)
    }
}

impl TestBend {
    /// Whether the place of the bend on the blank follows from a mark.
    pub(super) fn is_marked(&self) -> bool {
        self.mark.is_some() && self.lead.is_some()
    }

    /// Measurements of length: legs, and where the bend starts.
    fn lengths(&self) -> usize {
        let legs = usize::from(self.legs.is_some()) + usize::from(self.legs.is_some() && self.blank.is_some());
        legs + usize::from(self.start.is_some())
    }

    /// Whether its lengths tell anything: without a mark it takes one of them to find where the bend starts.
    #[must_use]
    pub fn tells_length(&self) -> bool {
        self.lengths() >= if self.is_marked() { 1 } else { 2 }
    }
}
