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

#[cfg(test)]
mod tests {
    use tubewright::stock::For;

    use super::*;

    #[test]
    fn what_is_trimmed_is_said_with_when() {
        let words = |extra: [f64; 2], taken_by| {
            let piece = Piece {
                name: "stay".to_owned(),
                is: For::Tube,
                length: Length::mm(900.0),
                extra: extra.map(Length::mm),
                taken_by,
                pair: None,
                mass_kg: None,
            };
            trim_words(&piece, &People::mm())
        };
        assert_eq!(words([0.0, 0.0], [Some(Cut::Cope), None]), None);
        assert_eq!(words([12.0, 5.0], [None, None]).as_deref(), Some("trim A 12 mm, B 5 mm after bending"));
        let both = "trim A 10 mm with the cope, B 5 mm after bending";
        assert_eq!(words([10.0, 5.0], [Some(Cut::Cope), None]).as_deref(), Some(both));
        assert_eq!(words([0.0, 5.0], [None, Some(Cut::TwoPlane)]).as_deref(), Some("trim B 5 mm with the two cuts"));
    }
}
