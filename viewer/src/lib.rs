//! What the 3D window of tubewright stands on.
//!
//! ```text
//! work      the job that is being worked on: its text, its plan, the way back
//! view      what is looked at
//! convert   millimetres to the window's units, the only place where that is done
//! ```
//!
//! The window draws in single precision and in units of its own; everything before it is in millimetres and double
//! precision. The way from one to the other is [`convert`], and only there.

pub mod convert;
pub mod view;
pub mod work;
