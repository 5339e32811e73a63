//! Text into the types above, with the place of every mistake.

mod bender;
mod job;
mod keys;
mod load;
mod mesh;
pub mod mistake;
mod places;
mod reader;
mod schema;
mod shape;
mod solid;
mod source;
mod table;
pub mod tree;
mod tube;
mod write;

pub use self::load::{OpenJob, load_bender, load_job, open_job};
pub use self::mesh::{Flaw, read_mesh};
pub use self::places::{NodePlace, Places, RowPlaces, ShapePlaces, TubePlaces};
pub use self::schema::{kinds, schema};
pub use self::shape::{ShapeFile, ShapeFormat, ShapeKind, read_shape};
pub use self::source::{Disk, Files, Held, ReadError};
pub use self::write::{NoCorner, write_nodes, write_rows};
