//! Pictures: the tube in the bender for each step, the blank as a tape, the finished tube in views.
//!
//! All are parallel projections at one scale, in mm of the sheet. Every size printed on them is rounded by `People`; what is drawn is not
//! rounded at all.
//!
//! ```text
//! view     a direction to look from           course   a straight or an arc, and how it is seen
//! tube     a round tube, from back to front   solid    outlines of the bender
//! pane     one view with its words            bent     the tube in the bender at a step
//! step     a step, set on its sheet by layout broken   a long straight, part of it left out
//! blank    the tape                           finished the finished tube
//! taped    a bender with its sizes
//! ```

mod bent;
mod blank;
mod broken;
mod course;
mod finished;
mod layout;
mod pane;
mod solid;
mod step;
mod taped;
#[cfg(test)]
mod tests;
mod tube;
mod view;

pub use self::blank::blank;
pub use self::finished::finished;
pub use self::step::{step, step_within};
pub(crate) use self::taped::{Scene, taped};

/// The largest height of a picture of a step as a part of its width.
const HIGH: f64 = 0.62;
