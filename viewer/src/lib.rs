//! What the 3D window of tubewright stands on.
//!
//! The window draws in single precision and in units of its own; everything before it is in millimetres and double
//! precision. The way from one to the other is [`convert`], and only there.

pub mod convert;
