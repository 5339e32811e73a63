//! Words with their figures bold, and never parted from what belongs to them.

use maud::{Markup, html};

use crate::draw::Face;
use crate::sheet::setting::{Weight, groups};

/// A blank at which no line is broken.
const TIE: &str = "\u{a0}";

/// Words as they are set on paper: figures bold, with their fraction and their unit on one line.
pub(super) fn rich(words: &str) -> Markup {
    let groups = groups(words);
    html! {
        @for (place, group) in groups.iter().enumerate() {
            @if place > 0 { " " }
            @for (at, word) in group.iter().enumerate() {
                @if at > 0 { (TIE) }
                @for (face, part) in Weight::Figures.parts(word).into_iter().filter(|(_, part)| !part.is_empty()) {
                    @if face == Face::Bold { b { (part) } } @else { (part) }
                }
            }
        }
    }
}

/// A line to write on, with what for before it and the unit behind it.
pub(super) fn write_in(what: &str, unit: &str) -> Markup {
    html! { div.write { @if !what.is_empty() { b { (what) } } i {} span { (unit) } } }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_bold_and_tied_to_their_units_and_marks_of_the_language_are_escaped() {
        let found = rich("at 26 3/8 in, <b> & so").into_string();
        assert_eq!(found, "at <b>26</b>\u{a0}<b>3/8</b>\u{a0}in, &lt;b&gt; &amp; so");
        assert_eq!(rich("short by 1, stop.").into_string(), "short by <b>1</b>, stop.");
    }
}
