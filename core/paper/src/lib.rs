//! What goes to the bender on paper, and the words that the screen shares with it.
//!
//! [`words`] says each moment of a step in the order of the hands. [`page`] lays words out on a page of plain text. All of it is made from a
//! [`Plan`](tubewright::plan::Plan), with figures rounded by [`round`](tubewright::round) alone.

pub mod page;
pub mod words;
