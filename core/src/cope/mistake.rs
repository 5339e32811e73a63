//! Why an end does not fit the tube that it is said to meet, in words and figures.

use crate::forming::LeadEnd;
use crate::round::People;
use crate::units::{Angle, Length};

/// Why an end cannot be cut to fit the other tube, or why nothing can be told of it.
///
/// `Display` words it in millimetres; [`CopeMistake::words`] in the reader's units with the other tube's name.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{}", self.words(&People::mm(), "the other tube"))]
pub enum CopeMistake {
    /// The end's node is not at the other tube.
    NotNear {
        /// From the node to the other's centreline.
        away: Length,
    },
    /// The tube's axis passes the other tube.
    Missed {
        /// How far beside the other's surface, where it passes anything of it.
        by: Option<Length>,
    },
    /// The axes all but run side by side.
    TooFlat {
        /// The angle between them.
        angle: Angle,
    },
    /// A part of the tube's wall passes the other tube.
    TooWide {
        /// How far beside the other's surface, where it passes anything of it.
        by: Option<Length>,
        /// Where around the tube, from the toe.
        at: Angle,
    },
    /// The tube lands on more than there is of the other.
    PastEnd {
        /// The end of the other.
        end: LeadEnd,
        /// How far past it, along the other.
        by: Length,
    },
    /// The tube lands where the other is itself cut to fit a third, or this one.
    CutAway {
        /// The end of the other.
        end: LeadEnd,
        /// How far into its cut, along the other.
        by: Length,
    },
    /// The cut reaches beyond the tube's last straight, or the middle of a straight tube.
    NoStraight {
        /// How long a straight the cut needs, from the node; `None` where even its far end lies in the other tube.
        needed: Option<Length>,
        /// What there is.
        there: Length,
    },
    /// The other tube is met a long way before the node.
    Crossed {
        /// How far from the node.
        at: Length,
    },
    /// The edge of the cut is not one line: the tube lands on two places of the other.
    Torn {
        /// Where around the tube, from the toe.
        at: Angle,
        /// How far the two sides lie apart, along the tube.
        by: Length,
    },
}

impl CopeMistake {
    /// A short name that stays the same.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NotNear { .. } => "end-not-near",
            Self::Missed { .. } => "end-misses",
            Self::TooFlat { .. } => "cope-too-flat",
            Self::TooWide { .. } => "cope-too-wide",
            Self::PastEnd { .. } => "cope-past-end",
            Self::CutAway { .. } => "cope-on-cut",
            Self::NoStraight { .. } => "cope-no-straight",
            Self::Crossed { .. } => "end-crosses",
            Self::Torn { .. } => "cope-torn",
        }
    }

    /// What is wrong, after the name of the end and a colon; `other` is the name of the other tube.
    #[must_use]
    pub fn words(&self, people: &People, other: &str) -> String {
        let length = |length: Length| people.length_with_unit(length);
        let degrees = |angle: &Angle| people.angle(*angle);
        match self {
            Self::NotNear { away } => format!("its node is {} from the centreline of {other}", length(*away)),
            Self::Missed { by: Some(by) } => format!("its axis misses {other}, by {}", people.at_most(*by)),
            Self::Missed { by: None } => format!("its axis nowhere comes near {other}"),
            Self::TooFlat { angle } => {
                format!(
                    "it lies at {} degrees to {other}: flatter than 10 degrees nothing is worked out",
                    degrees(angle)
                )
            }
            Self::TooWide { by, at } => {
                let by = by.map_or_else(String::new, |by| format!(", by {}", people.at_most(by)));
                let at = degrees(at);
                format!("its cut does not close: {at} degrees around it from the toe its wall passes {other}{by}")
            }
            Self::PastEnd { end, by } => {
                format!("it lands on {other} up to {} beyond that tube's end {}", people.missing(*by), end.letter())
            }
            Self::CutAway { end, by } => {
                format!(
                    "it lands on {other} where that tube's end {} is itself cut, by {}",
                    end.letter(),
                    people.missing(*by)
                )
            }
            Self::NoStraight { needed: Some(needed), there } => format!(
                "its cut on {other} reaches {} from the node, and straight is only {}",
                people.missing(*needed),
                length(*there)
            ),
            Self::NoStraight { needed: None, there } => {
                format!("the straight of {} that it has from its node lies in {other} altogether", length(*there))
            }
            Self::Crossed { at } => format!("it meets {other} already {} before its node", length(*at)),
            Self::Torn { at, by } => format!(
                "its cut on {other} is no one line: {} degrees around it from the toe it goes on {} further along",
                degrees(at),
                length(*by)
            ),
        }
    }

    /// What to change.
    #[must_use]
    pub fn way_out(&self, people: &People) -> String {
        match self {
            Self::NotNear { .. } => {
                "end its path on the other's centreline or at one of its corners, or take `meets` out".to_owned()
            }
            Self::Missed { .. } | Self::TooWide { .. } => {
                "move its nodes so that its axis comes nearer to the other's, or let a wider tube run through; \
                 a tube wider than the other is fitted by hand: take `meets` out and leave `extra`"
                    .to_owned()
            }
            Self::TooFlat { .. } => {
                "let it come in more steeply, or take `meets` out, leave `extra`, and fit it by hand".to_owned()
            }
            Self::PastEnd { by, .. } => format!(
                "let the other reach at least {} further, move this end away from there, or take `meets` out, leave `extra`, and fit it by hand",
                people.missing(*by)
            ),
            Self::CutAway { .. } => {
                "where several tubes end at one node, let each of them meet the one that runs through; what is left is fitted by hand".to_owned()
            }
            Self::NoStraight { .. } => {
                "move its first bend further away (a straight tube: make it longer), or let it come in more steeply"
                    .to_owned()
            }
            Self::Crossed { .. } => "end its path where it first meets the other tube".to_owned(),
            Self::Torn { .. } => {
                "lead it to the other so that it touches nothing of it on the way, and lands further from a bend; or take `meets` out, leave `extra`, and fit it by hand"
                    .to_owned()
            }
        }
    }
}
