//! Text into the types above, with the place of every mistake.
//!
//! ```text
//! bytes --tree--> keys and values, each with its bytes
//!       --reader--> figures in our units; every mistake noted, none guessed over
//!       --job, bender, tube, solid, mesh--> Job, Bender
//!       --mistake--> words for people: place, what is wrong, the way out
//! ```
//!
//! [`load_job`] reads a job with its bender, the bender's meshes and its rules; [`open_job`] keeps the places of its figures.
//! [`load_test_bends`] reads a record of test bends, [`load_measured_part`] that of a bent part, [`load_survey`] a survey, [`load_bender_sizes`] the sizes of a bender, of which [`write_bender`] makes its file. [`edit`] changes a file and leaves the rest of it as it was written. [`read_shape`] and the writers are for shapes without a job. [`schema()`] gives the JSON Schemas.

mod bender;
mod bender_sizes;
mod beside;
mod calibrated;
mod diameters;
pub mod edit;
mod ends;
mod job;
mod keys;
mod load;
mod measured_part;
mod mesh;
pub mod mistake;
mod places;
mod reader;
mod rules;
mod schema;
mod shape;
mod sized;
mod solid;
mod source;
mod survey;
mod table;
mod test_bends;
pub mod tree;
mod tube;
mod write;

pub use self::bender_sizes::load_bender_sizes;
pub use self::calibrated::{NotWritten, Written, with_calibration};
pub use self::load::{OpenJob, load_bender, load_job, open_job, units_of};
pub use self::measured_part::load_measured_part;
pub use self::mesh::{Flaw, read_mesh};
pub use self::places::{NodePlace, Places, RowPlaces, ShapePlaces, TubePlaces};
pub use self::rules::load_rules;
pub use self::schema::{kinds, schema};
pub use self::shape::{ShapeFile, ShapeFormat, ShapeKind, read_shape};
pub use self::sized::write_bender;
pub use self::source::{Disk, Files, Held, ReadError};
pub use self::survey::load_survey;
pub use self::test_bends::{OpenRecord, load_test_bends};
pub use self::write::{NoCorner, write_nodes, write_rows};
