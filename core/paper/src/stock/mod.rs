//! A cut list for people: as plain text for the saw, and as labels for the pieces.

mod labels;
mod text;

pub use self::labels::{html, labels};
pub use self::text::text;

use tubewright::cutting::Kind;
use tubewright::job::Cut;
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

/// What is cut off later: `trim A 12 mm, B 5 mm after bending`, `trim A 10 mm with the cope, B 5 mm after bending`; `None` where nothing is.
fn trim_words(piece: &Piece, people: &People) -> Option<String> {
    let ends = ["A", "B"].into_iter().zip(piece.extra).zip(piece.taken_by.map(taken));
    let mut ends = ends.filter(|((_, extra), _)| *extra > Length::ZERO).peekable();
    let mut words: Vec<String> = Vec::new();
    while let Some(((end, extra), when)) = ends.next() {
        // Said once for both ends where it is the same.
        let same = ends.peek().is_some_and(|(_, next)| *next == when);
        let when = if same { String::new() } else { format!(" {when}") };
        words.push(format!("{end} {}{when}", people.length_with_unit(extra)));
    }
    (!words.is_empty()).then(|| format!("trim {}", words.join(", ")))
}

/// When what is left on an end is cut off.
fn taken(by: Option<Cut>) -> &'static str {
    match by {
        None => "after bending",
        Some(Cut::Cope) => "with the cope",
        Some(Cut::TwoPlane) => "with the two cuts",
    }
}
