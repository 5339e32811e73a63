//! What the material and the die do to a bend: springback, formed radius, stretch, the blank and its marks.

mod bent_section;
mod blank;
mod seam;
pub mod theory;

pub use self::bent_section::{BentWall, Diameters};
pub use self::blank::Law;
pub use self::seam::Seam;
use crate::centreline::BendId;
use crate::units::{Angle, Length};

/// Springback: die angle = bend angle x (1 + proportional) + constant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Springback {
    /// Elastic give of the bender, the same at every angle.
    pub constant: Angle,
    /// The tube's own part, a fraction of the bend angle.
    pub proportional: f64,
}

/// How good a measured springback is: one standard deviation each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpringbackSd {
    /// Of the constant part.
    pub constant: Angle,
    /// Of the proportional part.
    pub proportional: f64,
    /// Correlation of the two, -1 to 1. One line is laid through the test bends, so it is mostly near -1. `None` where it is not known.
    pub correlation: Option<f64>,
}

/// What a record of test bends says of a die and a material.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// Day of the test bends, as written.
    pub date: Option<String>,
    /// Delivery of tube, as written.
    pub lot: Option<String>,
    /// Outside diameter of the tube that was bent.
    pub od: Option<Length>,
    /// Wall of the tube that was bent.
    pub wall: Option<Length>,
    /// File that holds the record.
    pub record: Option<String>,
    /// Smallest and largest bend angle of the test bends.
    pub angles: Option<(Angle, Angle)>,
    /// Diameters of those test bends that were measured across, as written; empty where none was.
    pub diameters: Vec<Diameters>,
    /// How good the springback is; `None` where either part's deviation is not known.
    pub sd: Option<SpringbackSd>,
}

impl Measured {
    /// Further than this beyond the angles of the test bends, springback is extrapolated (common practice, no source).
    pub const REACH: Angle = Angle::deg(20.0);
}

/// How one material behaves in one die.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Name, as jobs call it.
    pub name: String,
    /// `None` where nothing was given: 0 is then assumed, and said so.
    pub springback: Option<Springback>,
    /// An arc of finished length s takes s / (1 + stretch) of blank.
    pub stretch: f64,
    /// Whether the formed radius is CLR x (1 + proportional).
    pub radius_growth: bool,
    /// Where the figures come from.
    pub measured: Option<Measured>,
}

/// Which end of the tube is on the clamp's side of the die.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LeadEnd {
    /// End A leads.
    A,
    /// End B leads.
    B,
}

impl LeadEnd {
    /// The other end.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::A => Self::B,
            Self::B => Self::A,
        }
    }

    /// Its letter.
    #[must_use]
    pub const fn letter(self) -> &'static str {
        match self {
            Self::A => "A",
            Self::B => "B",
        }
    }
}

/// One bend on the blank. Places are measured along the straight, unbent blank from the cut end at A.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FormedBend {
    /// Which bend.
    pub bend: BendId,
    /// Place of the die in the bender's list.
    pub die: usize,
    /// The die's centreline radius.
    pub clr: Length,
    /// Radius of the finished arc.
    pub formed_radius: Length,
    /// Finished bend angle.
    pub angle: Angle,
    /// How far the die turns.
    pub die_angle: Angle,
    /// Rotation before this bend, in (-180, 180].
    pub rotation: Angle,
    /// Sum of the rotations up to this bend, in (-180, 180].
    pub psi: Angle,
    /// Length of the finished arc.
    pub arc: Length,
    /// Blank that the arc takes: arc / (1 + stretch).
    pub blank_arc: Length,
    /// Stretch of this material in this die.
    pub stretch: f64,
    /// Where the arc starts on the blank (toward A).
    pub start: Length,
    /// Where the arc ends on the blank (toward B).
    pub end: Length,
    /// From tangent point to the die's index, positive toward the lead end.
    pub mark_offset: Length,
}

impl FormedBend {
    /// The place on the blank that lies at the tangent point when the bend begins: the start of its arc with lead A, its end with lead B.
    #[must_use]
    pub const fn tangent(&self, lead: LeadEnd) -> Length {
        match lead {
            LeadEnd::A => self.start,
            LeadEnd::B => self.end,
        }
    }
}

/// The straight, unbent blank of one tube with its bends.
#[derive(Clone, Debug, PartialEq)]
pub struct Blank {
    /// Outside diameter of the tube.
    pub od: Length,
    /// Whole length, extras included.
    pub cut_length: Length,
    /// Straights plus finished arcs, without extras.
    pub developed: Length,
    /// From end A to end B.
    pub bends: Vec<FormedBend>,
}
