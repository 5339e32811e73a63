//! Text into a tree in which every key and every value knows its place.
//!
//! The YAML parser (serde-saphyr) finds the structure and the byte ranges; what a scalar says is cut from the text by
//! its range, so that a decimal stays as it was written. Nothing is interpreted here beyond "a number", "yes or no",
//! "text": meaning is the strict reader's business, which can then report every mistake and not only the first.
//!
//! Strict where leniency would guess: `yes` and `on` are text, `007` and `1_000` are text, merge keys, unknown tags and
//! a second document are refused. Keys that stand twice are kept, for the reader to name both places.

use core::fmt;
use core::ops::Range;

use serde::Deserialize;
use serde::de::{Deserializer, MapAccess, SeqAccess, Visitor};
use serde_yaml::options::{DuplicateKeyPolicy, MergeKeyPolicy, NonFiniteFloatPolicy};
use serde_yaml::{Error, Location, MessageFormatter, Spanned, UserMessageFormatter};

/// Bytes above which a file is refused: a table of 10,000 nodes has about 0.4 MB.
pub const LARGEST_FILE: usize = 4 * 1024 * 1024;

/// Deepest nesting: the formats need eight; the parser's own stack grows with it.
const DEEPEST: usize = 48;

/// One value of a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// What it says.
    pub value: Value,
    /// Where it says so, in bytes; for a value that is used by `*name` the place where it was defined with `&name`.
    pub span: Range<usize>,
    /// It is used by `*name`: an edit in place would change every use.
    pub aliased: bool,
}

/// What a value says.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Nothing after the colon or the dash, or `null`, or `~`.
    Nothing,
    /// `true` or `false`, with its spelling.
    Truth(bool, String),
    /// A number, as written.
    Number(String),
    /// Text, without its quotes.
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// Keys with values, in the order of the file; a key may stand twice.
    Map(Vec<Entry>),
}

/// One key with its value.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The key.
    pub key: Node,
    /// Its value.
    pub value: Node,
}

impl Node {
    /// What a scalar says, as text: a number or a truth as it was written. `None` for nothing, a list or a map.
    #[must_use]
    pub fn written(&self) -> Option<&str> {
        match &self.value {
            Value::Truth(_, text) | Value::Number(text) | Value::Text(text) => Some(text),
            Value::Nothing | Value::List(_) | Value::Map(_) => None,
        }
    }

    /// Whether it is a list or a map without anything in it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        match &self.value {
            Value::List(items) => items.is_empty(),
            Value::Map(entries) => entries.is_empty(),
            _ => false,
        }
    }

    /// The sort of value, in words that follow "found".
    #[must_use]
    pub const fn sort(&self) -> &'static str {
        match self.value {
            Value::Nothing => "nothing",
            Value::Truth(..) => "yes or no",
            Value::Number(_) => "a number",
            Value::Text(_) => "text",
            Value::List(_) => "a list",
            Value::Map(_) => "a block of keys",
        }
    }
}

/// Why a text is no tree. Syntax comes one mistake at a time.
#[derive(Clone, Debug, PartialEq)]
pub struct Unreadable {
    /// Stable code.
    pub code: &'static str,
    /// Where, in bytes.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// The way out.
    pub help: String,
}

/// The tree of a YAML text of one document.
///
/// # Errors
///
/// The first thing that the parser cannot read, a text without content, a second document, nesting or size beyond the
/// limits, a tag or a merge key.
pub fn parse(text: &str) -> Result<Node, Unreadable> {
    if text.len() > LARGEST_FILE {
        return Err(Unreadable {
            code: "file-too-large",
            span: 0..0,
            message: format!("the file has {} bytes; the most that is read is {LARGEST_FILE} (4 MiB)", text.len()),
            help: "split the job into several files".to_owned(),
        });
    }
    let options = serde_yaml::options! {
        budget: serde_yaml::budget! { max_depth: DEEPEST, max_nodes: LARGEST_FILE, max_events: 2 * LARGEST_FILE },
        alias_limits: serde_yaml::alias_limits! { max_total_replayed_events: 200_000 },
        duplicate_keys: DuplicateKeyPolicy::PassThrough,
        merge_keys: MergeKeyPolicy::Error,
        strict_booleans: true,
        leading_zero_numbers_as_strings: true,
        underscored_numbers_as_strings: true,
        reject_unsupported_tags: true,
        non_finite_float_policy: NonFiniteFloatPolicy::AsString,
        with_snippet: false,
    };
    let raw: Spanned<Raw> =
        serde_yaml::from_str_with_options(text, options).map_err(|error| unreadable(text, &error))?;
    let node = placed(text, raw);
    if node.value == Value::Nothing {
        return Err(empty());
    }
    Ok(node)
}

fn empty() -> Unreadable {
    Unreadable {
        code: "file-empty",
        span: 0..0,
        message: "the file says nothing".to_owned(),
        help: "start from a sample: `tubewright new` writes a job and a bender".to_owned(),
    }
}

/// What the parser hands over, before the text is cut.
enum Raw {
    Nothing,
    Truth(bool),
    Number,
    Text(String),
    List(Vec<Spanned<Self>>),
    Map(Vec<(Spanned<Self>, Spanned<Self>)>),
}

impl<'de> Deserialize<'de> for Raw {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(RawVisitor)
    }
}

struct RawVisitor;

impl<'de> Visitor<'de> for RawVisitor {
    type Value = Raw;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("a value")
    }

    fn visit_bool<E>(self, value: bool) -> Result<Raw, E> {
        Ok(Raw::Truth(value))
    }

    fn visit_i64<E>(self, _: i64) -> Result<Raw, E> {
        Ok(Raw::Number)
    }

    fn visit_i128<E>(self, _: i128) -> Result<Raw, E> {
        Ok(Raw::Number)
    }

    fn visit_u64<E>(self, _: u64) -> Result<Raw, E> {
        Ok(Raw::Number)
    }

    fn visit_u128<E>(self, _: u128) -> Result<Raw, E> {
        Ok(Raw::Number)
    }

    fn visit_f64<E>(self, _: f64) -> Result<Raw, E> {
        Ok(Raw::Number)
    }

    fn visit_str<E>(self, value: &str) -> Result<Raw, E> {
        Ok(Raw::Text(value.to_owned()))
    }

    fn visit_string<E>(self, value: String) -> Result<Raw, E> {
        Ok(Raw::Text(value))
    }

    fn visit_unit<E>(self) -> Result<Raw, E> {
        Ok(Raw::Nothing)
    }

    fn visit_none<E>(self) -> Result<Raw, E> {
        Ok(Raw::Nothing)
    }

    fn visit_some<D: Deserializer<'de>>(self, deserializer: D) -> Result<Raw, D::Error> {
        deserializer.deserialize_any(self)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Raw, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = access.next_element()? {
            list.push(item);
        }
        Ok(Raw::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Raw, A::Error> {
        let mut entries = Vec::new();
        while let Some(entry) = access.next_entry()? {
            entries.push(entry);
        }
        Ok(Raw::Map(entries))
    }
}

/// The raw tree with text and places in bytes.
fn placed(text: &str, raw: Spanned<Raw>) -> Node {
    let aliased = raw.referenced != raw.defined;
    let mut span = bytes(text, &raw.defined);
    let cut = || text.get(span.clone()).unwrap_or_default().trim().to_owned();
    let value = match raw.value {
        Raw::Nothing => Value::Nothing,
        Raw::Truth(truth) => Value::Truth(truth, cut()),
        Raw::Number => Value::Number(cut()),
        // `.inf`, `.nan` and what overflows arrive as text, to be refused with its own spelling.
        Raw::Text(said) => match said.as_str() {
            ".inf" | "-.inf" | ".nan" if !cut().starts_with(['"', '\'']) => Value::Number(cut()),
            _ => Value::Text(said),
        },
        Raw::List(items) => Value::List(items.into_iter().map(|item| placed(text, item)).collect()),
        Raw::Map(entries) => Value::Map(
            entries
                .into_iter()
                .map(|(key, value)| Entry { key: placed(text, key), value: placed(text, value) })
                .collect(),
        ),
    };
    // The parser's span of a list or a map is its first byte: let it reach to its last scalar, on the same line.
    let last = match &value {
        Value::List(items) => items.last().map(|item| item.span.end),
        Value::Map(entries) => entries.last().map(|entry| entry.value.span.end),
        _ => None,
    };
    if let Some(last) = last {
        span.end = span.end.max(last);
    }
    Node { value, span, aliased }
}

/// A place of the parser's in bytes of the text, always on the border of characters.
fn bytes(text: &str, location: &Location) -> Range<usize> {
    let span = location.span();
    let (start, length) = match (span.byte_offset(), span.byte_len()) {
        (Some(start), Some(length)) => (start as usize, length as usize),
        _ => (place_of(text, location.line() as usize, location.column() as usize), 0),
    };
    let start = border(text, start);
    let end = border(text, start.saturating_add(length)).max(start);
    start..end
}

/// The nearest border of characters at or before a place.
fn border(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Bytes before a line and a column, both counted from 1, the column in characters.
fn place_of(text: &str, line: usize, column: usize) -> usize {
    let mut start = 0;
    for (number, content) in text.split_inclusive('\n').enumerate() {
        if number + 1 == line {
            let inside: usize = content.chars().take(column.saturating_sub(1)).map(char::len_utf8).sum();
            return start + inside;
        }
        start += content.len();
    }
    text.len()
}

/// What the parser says, in our words where a usual slip has a usual cause.
fn unreadable(text: &str, error: &Error) -> Unreadable {
    let error = error.without_snippet();
    let span = error.location().map_or(0..0, |location| bytes(text, &location));
    let (code, message, help) = match error {
        Error::Eof { .. } => return empty(),
        Error::MultipleDocuments { .. } => (
            "second-document",
            "a second document starts here; a file holds one".to_owned(),
            "take out the line `---` and what follows it, or keep it in a file of its own",
        ),
        Error::MergeKeyNotAllowed { .. } => (
            "merge-key",
            "`<<` is not read".to_owned(),
            "write the keys out, or use the whole value again with `&name` and `*name`",
        ),
        Error::UnsupportedTag { .. } => {
            ("tag", "a tag (a word after `!`) is not read".to_owned(), "take it out, or put the text in quotes")
        }
        Error::UnknownAnchor { .. } => (
            "alias-unknown",
            "this `*name` has no `&name` before it".to_owned(),
            "define it with `&name` above, or put the text in quotes if a star is meant",
        ),
        Error::Budget { .. } => (
            "file-too-deep",
            format!("the file is nested deeper than {DEEPEST} levels, or repeats itself without end"),
            "no job and no bender needs more than eight levels: look for an open bracket",
        ),
        other => (
            "not-yaml",
            format!("this cannot be read: {}", UserMessageFormatter.format_message(other)),
            "look here and on the line above for a bracket or a quote left open, a missing colon, a tab, or a line moved in by mistake",
        ),
    };
    Unreadable { code, span, message, help: help.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry<'a>(node: &'a Node, key: &str) -> &'a Node {
        let Value::Map(entries) = &node.value else { panic!("no map") };
        let found = entries.iter().find(|entry| entry.key.written() == Some(key));
        &found.unwrap_or_else(|| panic!("no {key}")).value
    }

    #[test]
    fn numbers_keep_their_spelling_and_their_place() {
        let text = "# é\nod: 38.10\nlist: [1e3, -0.50, 30-1/2, 44 1/2\"]\n";
        let tree = parse(text).unwrap();
        let od = entry(&tree, "od");
        assert_eq!(od.value, Value::Number("38.10".to_owned()));
        assert_eq!(&text[od.span.clone()], "38.10");
        let Value::List(items) = &entry(&tree, "list").value else { panic!() };
        let said: Vec<_> = items.iter().map(|item| item.written().unwrap()).collect();
        assert_eq!(said, ["1e3", "-0.50", "30-1/2", "44 1/2\""]);
        assert!(matches!(items[2].value, Value::Text(_)));
    }

    #[test]
    fn words_that_other_readers_take_for_truths_or_numbers_stay_text() {
        let tree = parse("on: yes\na: 007\nb: 1_000\nc: true\nd: .inf\ne: 1e999\nf: '.nan'\n").unwrap();
        assert_eq!(entry(&tree, "on").value, Value::Text("yes".to_owned()));
        assert_eq!(entry(&tree, "a").value, Value::Text("007".to_owned()));
        assert_eq!(entry(&tree, "b").value, Value::Text("1_000".to_owned()));
        assert_eq!(entry(&tree, "c").value, Value::Truth(true, "true".to_owned()));
        assert_eq!(entry(&tree, "d").value, Value::Number(".inf".to_owned()));
        assert_eq!(entry(&tree, "e").value, Value::Number("1e999".to_owned()));
        assert_eq!(entry(&tree, "f").value, Value::Text(".nan".to_owned()));
    }

    #[test]
    fn a_key_that_stands_twice_is_kept_twice() {
        let Value::Map(entries) = parse("a: 1\nb: 2\na: 3\n").unwrap().value else { panic!() };
        assert_eq!(entries.len(), 3);
        assert_eq!(entries[2].key.span, 10..11);
    }

    #[test]
    fn an_alias_points_to_where_its_value_was_written() {
        let text = "a: &x 3 1/2\nb: *x\n";
        let tree = parse(text).unwrap();
        let used = entry(&tree, "b");
        assert!(used.aliased);
        assert_eq!(&text[used.span.clone()], "3 1/2");
        assert!(!entry(&tree, "a").aliased);
        let text = "a: &x { b: [1, 2] }\nc: *x\n";
        let tree = parse(text).unwrap();
        let Value::List(items) = &entry(entry(&tree, "c"), "b").value else { panic!() };
        assert!(items[1].aliased);
        assert_eq!(&text[items[1].span.clone()], "2");
    }

    #[test]
    fn a_byte_order_mark_moves_no_place() {
        let text = "\u{feff}kind: job\n";
        let tree = parse(text).unwrap();
        assert_eq!(&text[entry(&tree, "kind").span.clone()], "job");
    }

    #[test]
    fn what_is_no_tree_has_a_code_and_a_place() {
        let cases = [
            ("", "file-empty"),
            ("# only a remark\n", "file-empty"),
            ("a: 1\n---\nb: 2\n", "second-document"),
            ("a: &x {b: 1}\nc:\n  <<: *x\n", "merge-key"),
            ("a: !metres 3\n", "tag"),
            ("a: *nobody\n", "alias-unknown"),
            ("a: [1, 2\nb: 3\n", "not-yaml"),
            ("a: 'open\n", "not-yaml"),
            ("a: 1\n\tb: 2\n", "not-yaml"),
        ];
        for (text, code) in cases {
            let refused = parse(text).expect_err(text);
            assert_eq!(refused.code, code, "{text:?}: {refused:?}");
            assert!(refused.span.end <= text.len());
        }
        let deep = format!("a: {}{}", "[".repeat(60), "]".repeat(60));
        assert_eq!(parse(&deep).unwrap_err().code, "file-too-deep");
        assert_eq!(parse(&"#\n".repeat(LARGEST_FILE)).unwrap_err().code, "file-too-large");
    }

    #[test]
    fn a_file_of_aliases_of_aliases_is_refused() {
        let mut text = "a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n".to_owned();
        for level in 1..9 {
            let below = format!("*a{}", level - 1);
            text.push_str(&format!("a{level}: &a{level} [{}]\n", [below.as_str(); 10].join(", ")));
        }
        assert!(parse(&text).is_err());
    }
}
