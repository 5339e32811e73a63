//! From node coordinates to a checked list of bends.
//!
//! The parts stand in the order of the work, and each uses only those before it: [`units`], [`centreline`],
//! [`forming`], [`bender`], [`job`], [`body`], [`motion`], [`clearance`], [`order`], [`tolerance`],
//! [`plan`]; then [`mod@file`], which turns
//! text into the types above.

pub mod bender;
pub mod body;
pub mod centreline;
pub mod clearance;
pub mod file;
pub mod forming;
pub mod job;
pub mod motion;
pub mod order;
pub mod plan;
pub mod round;
pub mod tolerance;
pub mod units;
