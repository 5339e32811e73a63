//! The layout of a job: its tubes at full size, to be laid on and compared.
//!
//! [`shape`] lays a tube flat, or each of its bends with its two legs where it does not lie in one plane; [`baseline`] finds the line from which it is
//! marked out, and with it the frame that all outputs share: x along the line, y to its left. From there on
//!
//! - [`text`] and [`Layout::to_json`] give the chalk coordinates: distance along and offset of each named point, how arcs are struck, what to check;
//! - [`pages()`] draws it on pages at 1:1, to be put together;
//! - [`dxf`] writes it for a drawing program.
//!
//! A tube that cannot be bent has a shape all the same; whoever reads it is told first.

pub mod baseline;
mod chalk;
mod dxf;
mod overview;
mod pages;
pub mod shape;
mod tags;
mod text;
pub mod tiles;

pub use self::chalk::{Arc, Diagonal, Drawn, Layout, Plane, Printed, Spot, TubeLayout};
pub use self::dxf::dxf;
pub use self::pages::{TooLarge, pages};
pub use self::text::text;

/// JSON Schema (draft 2020-12) of the document.
pub const JSON_SCHEMA: &str = include_str!("layout.schema.json");

/// Name and version of the format.
pub const SCHEMA: &str = "tubewright/layout/1";
