//! Mistakes in files: each with its place, what is wrong, and the way out.
//!
//! ```text
//! error[key-unknown]: the tube `hoop` has no key `toleranc`
//!  --> buggy.yaml:14:5
//!   |
//! 14 |     toleranc: 1/8
//!   |     ^^^^^^^^ did you mean `tolerance`?
//!   |
//!   = help: ...
//! ```
//!
//! All mistakes of a stage are shown at once, in the order of the files and of the places in them. Nothing is said by
//! colour alone.

use core::fmt;
use core::ops::Range;
use std::sync::Arc;

use annotate_snippets::{AnnotationKind, Group, Level, Patch, Renderer, Snippet};

/// Every code that a mistake can have. `samples/broken` holds a file for each that a small file can show.
pub const CODES: &[&str] = &[
    // Of the text itself.
    "file-missing",
    "file-is-folder",
    "file-too-large",
    "file-unreadable",
    "file-not-text",
    "file-empty",
    "file-too-deep",
    "not-yaml",
    "second-document",
    "merge-key",
    "tag",
    "alias-unknown",
    "quote-open",
    // Of keys, sorts and words.
    "kind-wrong",
    "key-missing",
    "key-unknown",
    "key-twice",
    "key-out-of-place",
    "value-missing",
    "type-wrong",
    "word-unknown",
    "word-twice",
    "count-wrong",
    // Of figures and names.
    "length-unclear",
    "number-unclear",
    "not-finite",
    "out-of-range",
    "name-unfit",
    "name-taken",
    "units-differ",
    "clr-twice",
    // Of what is named.
    "node-unknown",
    "node-twice",
    "node-untold",
    "die-unknown",
    "material-unknown",
    "mirror-empty",
    // Of the shape of a tube.
    "shape-missing",
    "shape-twice",
    "last-row",
    "too-few-nodes",
    "nodes-coincide",
    "reversal",
    "leg-too-short",
    "straight-below-zero",
    "bend-out-of-range",
    "rotation-before-first-bend",
    "legs-and-bends-differ",
    "rotations-and-bends-differ",
    "radius-not-positive",
    "closed-path",
    "meets-itself",
    "die-angle-below-zero",
    // Of ends that land on another tube.
    "end-meets-itself",
    "ends-mutual",
    "end-not-near",
    "end-misses",
    "end-crosses",
    "cope-too-flat",
    "cope-too-wide",
    "cope-past-end",
    "cope-on-cut",
    "cope-no-straight",
    "cope-torn",
    // Of test bends.
    "bend-contradicts",
    "od-unfit",
    // Of a measured part.
    "tube-unknown",
    "bend-unknown",
    "order-unclear",
    "measure-unfit",
    // Of a bender's sizes.
    "sizes-disagree",
    // Of a survey.
    "point-twice",
    "point-unknown",
    "survey-unsolved",
    // Of solids.
    "mesh-format",
    "mesh-unreadable",
    "mesh-open",
    "solid-in-the-way",
];

/// How many mistakes are written out: more than anybody works through before trying again.
const SHOWN: usize = 60;

/// A file that was read, by the name that people know it by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// Path, as it was asked for.
    pub path: String,
    /// What it says. Empty for a mesh, and for a file that could not be read as text.
    pub text: Arc<str>,
}

/// A place in one of the files.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// Place of the file in the list of sources.
    pub file: usize,
    /// Bytes in its text: start and end.
    pub span: (usize, usize),
}

impl Place {
    /// So many bytes of a file.
    #[must_use]
    pub const fn new(file: usize, span: &Range<usize>) -> Self {
        Self { file, span: (span.start, span.end) }
    }

    /// The bytes.
    #[must_use]
    pub const fn range(&self) -> Range<usize> {
        self.span.0..self.span.1
    }
}

/// One mistake.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// Stable code in kebab case.
    pub code: &'static str,
    /// Where.
    pub place: Place,
    /// What is wrong, in one sentence with figures and units.
    pub message: String,
    /// What stands beside the place; may be empty.
    pub label: String,
    /// The way out.
    pub help: String,
    /// Other places that belong to it, each with its words.
    pub related: Vec<(Place, String)>,
    /// Text that would put it right, where one is likely.
    pub fix: Option<Fix>,
}

/// Text to put in the place of a span of the mistake's file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fix {
    /// Bytes to replace.
    pub span: (usize, usize),
    /// What to write there.
    pub text: String,
}

impl Mistake {
    /// A mistake with nothing beside its place.
    #[must_use]
    pub fn new(code: &'static str, place: Place, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            code,
            place,
            message: message.into(),
            label: String::new(),
            help: help.into(),
            related: Vec::new(),
            fix: None,
        }
    }

    /// With words beside the place.
    #[must_use]
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// With another place that belongs to it.
    #[must_use]
    pub fn related(mut self, place: Place, words: impl Into<String>) -> Self {
        self.related.push((place, words.into()));
        self
    }

    /// With text that would put it right.
    #[must_use]
    pub fn fix(mut self, text: impl Into<String>) -> Self {
        self.fix = Some(Fix { span: self.place.span, text: text.into() });
        self
    }
}

/// All mistakes of a stage, sorted by file and place, never empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistakes {
    /// The files that they stand in.
    pub files: Vec<Source>,
    /// The mistakes.
    pub list: Vec<Mistake>,
}

impl Mistakes {
    /// The mistakes in the order of files and places; the same said twice of one place is said once.
    #[must_use]
    pub fn new(files: Vec<Source>, mut list: Vec<Mistake>) -> Self {
        list.sort_by(|a, b| (&a.place, a.code, &a.message).cmp(&(&b.place, b.code, &b.message)));
        list.dedup_by(|a, b| a.place == b.place && a.code == b.code && a.message == b.message);
        Self { files, list }
    }

    /// Line and column of a place, both from 1, the column in characters.
    #[must_use]
    pub fn line_column(&self, place: &Place) -> (usize, usize) {
        let text = self.files.get(place.file).map_or("", |source| &*source.text);
        let before = text.get(..place.span.0).unwrap_or(text);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
    }

    /// All of it as text for people, with a line break at the end.
    ///
    /// Colour adds nothing that the words do not say. At most 60 mistakes are written out, then their number.
    #[must_use]
    pub fn render(&self, colour: bool) -> String {
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() }.term_width(110);
        let mut out = String::new();
        for mistake in self.list.iter().take(SHOWN) {
            out.push_str(&renderer.render(&self.report(mistake)));
            out.push_str("\n\n");
        }
        let more = self.list.len().saturating_sub(SHOWN);
        if more > 0 {
            out.push_str(&format!("and {more} more\n"));
        } else {
            out.pop();
        }
        out
    }

    /// The groups that make up one mistake: itself with its places, then the fix.
    fn report<'a>(&'a self, mistake: &'a Mistake) -> Vec<Group<'a>> {
        let title = Level::ERROR.primary_title(mistake.message.as_str()).id(mistake.code);
        let mut group = Group::with_title(title);
        let mut places = vec![(&mistake.place, mistake.label.as_str(), AnnotationKind::Primary)];
        places.extend(mistake.related.iter().map(|(place, words)| (place, words.as_str(), AnnotationKind::Context)));
        // Places in one file share a picture; the mistake's own file comes first.
        let mut files: Vec<usize> = Vec::new();
        for (place, ..) in &places {
            if !files.contains(&place.file) {
                files.push(place.file);
            }
        }
        for file in files {
            let Some(source) = self.files.get(file) else {
                continue;
            };
            let here = || places.iter().filter(|(place, ..)| place.file == file);
            let window = Window::around(&source.text, here().map(|(place, ..)| place.range()));
            let marks = here().map(|(place, words, kind)| {
                let mark = kind.span(window.inside(&source.text, &place.range()));
                if words.is_empty() { mark } else { mark.label(*words) }
            });
            group = group.element(
                Snippet::source(window.text)
                    .path(source.path.as_str())
                    .line_start(window.line)
                    .annotations(marks.collect::<Vec<_>>()),
            );
        }
        if !mistake.help.is_empty() {
            group = group.element(Level::HELP.message(mistake.help.as_str()));
        }
        let mut groups = vec![group];
        if let (Some(fix), Some(source)) = (&mistake.fix, self.files.get(mistake.place.file)) {
            let range = fix.span.0..fix.span.1;
            let window = Window::around(&source.text, core::iter::once(range.clone()));
            let patch = Patch::new(window.inside(&source.text, &range), fix.text.as_str());
            groups.push(
                Level::HELP
                    .secondary_title("perhaps this is meant")
                    .element(Snippet::source(window.text).line_start(window.line).patch(patch)),
            );
        }
        groups
    }
}

impl fmt::Display for Mistakes {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.render(false))
    }
}

impl core::error::Error for Mistakes {}

/// Bytes of a line that are looked at after the last place in it.
const BESIDE: usize = 500;

/// The lines of a text that are shown. Only these are given to the renderer, which else would look through the whole
/// file once for each mistake.
struct Window<'a> {
    text: &'a str,
    start: usize,
    line: usize,
}

impl<'a> Window<'a> {
    fn around(text: &'a str, spans: impl Iterator<Item = Range<usize>>) -> Self {
        let (first, last) = spans.fold((text.len(), 0), |(first, last), span| {
            let start = text.floor_char_boundary(span.start);
            (first.min(start), last.max(start))
        });
        let first = first.min(last);
        let start = text[..first].rfind('\n').map_or(0, |at| at + 1);
        // Of a line without end only what can be shown beside the place.
        let most = text.ceil_char_boundary(last.saturating_add(BESIDE));
        let end = text[last..most].find('\n').map_or(most, |at| last + at);
        let line = text[..start].matches('\n').count() + 1;
        Self { text: &text[start..end], start, line }
    }

    /// A span inside the window, on borders of characters, cut to its first line and at least one character wide where
    /// there is one.
    fn inside(&self, text: &str, span: &Range<usize>) -> Range<usize> {
        let start = text.floor_char_boundary(span.start);
        let line_end = text.get(start..).and_then(|rest| rest.find(['\n', '\r']));
        let line_end = line_end.map_or(text.len(), |at| start + at);
        let mut end = text.ceil_char_boundary(span.end).min(line_end).max(start);
        if end == start
            && end < line_end
            && let Some(next) = text.get(end..).and_then(|rest| rest.chars().next())
        {
            end += next.len_utf8();
        }
        let inside = |at: usize| at.saturating_sub(self.start).min(self.text.len());
        inside(start)..inside(end)
    }
}

/// A text from a file as it may stand in a message: in backquotes, on one line, of bounded length.
#[must_use]
pub fn quoted(text: &str) -> String {
    const LONGEST: usize = 60;
    let mut out = String::from("`");
    for (count, letter) in text.chars().enumerate() {
        if count == LONGEST {
            out.push_str("...");
            break;
        }
        if printable(letter) { out.push(letter) } else { out.extend(letter.escape_unicode()) }
    }
    out.push('`');
    out
}

/// Whether a character shows as itself: no control character, no line break, none that turns the direction of the
/// text around it or takes no room.
#[must_use]
pub fn printable(letter: char) -> bool {
    !(letter.is_control()
        || matches!(
            letter,
            '\u{00ad}' | '\u{061c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
                | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}'
        ))
}

/// The nearest of several words, where one is near enough to be a slip of the hand.
///
/// Near enough: one letter changed, left out, added or swapped for a word of up to four letters, two up to eight,
/// three beyond; letters that differ only in case, and `_` for `-`, are free.
#[must_use]
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| -> Vec<char> { text.to_lowercase().replace('-', "_").chars().take(80).collect() };
    let word = plain(word);
    let allowed = match word.len() {
        0..=4 => 1,
        5..=8 => 2,
        _ => 3,
    };
    known
        .into_iter()
        .map(|candidate| (edits(&word, &plain(candidate)), candidate))
        .filter(|(count, candidate)| *count <= allowed && *count < candidate.chars().count())
        .min_by_key(|(count, _)| *count)
        .map(|(_, candidate)| candidate)
}

/// Letters changed, left out, added, or swapped with their neighbour, to make one word of the other
/// (optimal string alignment).
fn edits(from: &[char], to: &[char]) -> usize {
    let mut rows = vec![vec![0; to.len() + 1]; from.len() + 1];
    for (i, row) in rows.iter_mut().enumerate() {
        row[0] = i;
    }
    for (j, cell) in rows[0].iter_mut().enumerate() {
        *cell = j;
    }
    for i in 1..=from.len() {
        for j in 1..=to.len() {
            let change = usize::from(from[i - 1] != to[j - 1]);
            let mut least = (rows[i - 1][j] + 1).min(rows[i][j - 1] + 1).min(rows[i - 1][j - 1] + change);
            if i > 1 && j > 1 && from[i - 1] == to[j - 2] && from[i - 2] == to[j - 1] {
                least = least.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = least;
        }
    }
    rows[from.len()][to.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Mistakes {
        let text = "kind: job\nunits: mm\ntubes:\n  hoop:\n    toleranc: 3\n    path: [a, b]\n".to_owned();
        let at = text.find("toleranc").unwrap();
        let wrong = Mistake::new("key-unknown", Place::new(0, &(at..at + 8)), "unknown", "take it out")
            .label("not a key")
            .related(Place::new(0, &(22..27)), "of these")
            .fix("tolerance");
        let first = Mistake::new("kind-wrong", Place::new(0, &(6..9)), "wrong kind", "write another");
        Mistakes::new(vec![Source { path: "buggy.yaml".to_owned(), text: text.into() }], vec![wrong, first])
    }

    #[test]
    fn a_mistake_names_its_file_line_and_column() {
        let shown = sample().render(false);
        assert!(shown.contains("--> buggy.yaml:5:5"), "{shown}");
        assert!(shown.contains("error[key-unknown]: unknown"), "{shown}");
        assert!(shown.contains("help: take it out"), "{shown}");
        assert!(shown.contains("+     tolerance: 3") || shown.contains("tolerance"), "{shown}");
        assert!(shown.find("kind-wrong") < shown.find("key-unknown"), "{shown}");
    }

    #[test]
    fn without_colour_there_is_no_escape_and_with_colour_the_same_words() {
        let plain = sample().render(false);
        assert!(!plain.contains('\u{1b}'));
        assert!(sample().render(true).contains('\u{1b}'));
    }

    #[test]
    fn any_place_can_be_shown() {
        let text = "a: é\r\nb: \u{202e}x\u{7}\n\n".to_owned();
        for start in 0..=text.len() + 2 {
            for end in start..=text.len() + 3 {
                let mistake =
                    Mistake::new("x", Place::new(0, &(start..end)), "m", "h").related(Place::new(0, &(0..1)), "r");
                let source = Source { path: "f".to_owned(), text: text.as_str().into() };
                assert!(Mistakes::new(vec![source], vec![mistake]).render(false).contains("error[x]"));
            }
        }
    }

    #[test]
    fn slips_of_the_hand_are_recognised_and_other_words_are_not() {
        let keys = ["tolerance", "path", "legs", "rows", "one_piece"];
        assert_eq!(nearest("toleranc", keys), Some("tolerance"));
        assert_eq!(nearest("one-piece", keys), Some("one_piece"));
        assert_eq!(nearest("Path", keys), Some("path"));
        assert_eq!(nearest("lges", keys), Some("legs"));
        assert_eq!(nearest("colour", keys), None);
        assert_eq!(nearest("", keys), None);
    }

    #[test]
    fn a_name_in_a_message_cannot_turn_the_text_around() {
        assert_eq!(quoted("a\u{202e}b\n"), "`a\\u{202e}b\\u{a}`");
        assert!(quoted(&"x".repeat(100)).len() < 70);
    }
}
