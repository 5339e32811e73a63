//! Text into the types above, with the place of every mistake.

pub mod mistake;
pub mod tree;
