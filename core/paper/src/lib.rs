//! What goes to the bender on paper, and the words that the screen shares with it.
//!
//! [`words`] says each moment of a step in the order of the hands. [`card`] is the step card as data: every figure and every word of it.
//! [`text`] lays a card out as plain text, by [`page`], [`sheet`] on paper and [`html`] for a phone or a screen. [`draw`] holds drawings in mm, and [`pdf`] makes pages of them; [`plot`] draws what test bends tell, [`network`] a survey, [`stock`] words a cut list and draws its labels, [`sizes`] is the sheet for measuring a bender and the drawing of what was made of it, [`template`] draws ends that land on other tubes. [`export`] writes the finished tubes for other programs. All the rest is made from a [`Plan`](tubewright::plan::Plan), with figures rounded
//! by [`round`](tubewright::round) alone.

pub mod bars;
pub mod card;
mod chain;
pub mod draw;
mod dxf;
pub mod export;
pub mod html;
pub mod layout;
pub mod network;
pub mod page;
pub mod pdf;
pub mod picture;
pub mod plot;
pub mod sheet;
pub mod sizes;
pub mod stock;
pub mod strip;
pub mod template;
pub mod text;
pub mod words;
