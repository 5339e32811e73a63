//! A cut list for people: as plain text for the saw, and as labels for the pieces.

mod labels;
mod text;

pub use self::labels::{html, labels};
pub use self::text::text;

use tubewright::cutting::Kind;
use tubewright::round::People;
use tubewright::stock::{CutBar, Piece};
use tubewright::units::Length;

/// Where a bar comes from, with its length: `bar of 6000 mm, to be bought`.
fn bar_words(bar: &CutBar, people: &People) -> String {
    let length = people.length_with_unit(bar.length);
    match bar.kind {
        Kind::Offcut => format!("offcut of {length}"),
        Kind::AtHand => format!("bar of {length}, at hand"),
        Kind::Bought => format!("bar of {length}, to be bought"),
    }
}

/// What is cut off after bending: `trim A 12 mm, B 5 mm`; `None` where nothing is.
fn trim_words(piece: &Piece, people: &People) -> Option<String> {
    let ends = ["A", "B"].into_iter().zip(piece.extra).filter(|(_, extra)| *extra > Length::ZERO);
    let ends: Vec<String> = ends.map(|(end, extra)| format!("{end} {}", people.length_with_unit(extra))).collect();
    (!ends.is_empty()).then(|| format!("trim {}", ends.join(", ")))
}
