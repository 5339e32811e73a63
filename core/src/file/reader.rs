//! The strict reader: walks the tree, gives values in our units, and notes every mistake on its way.
//!
//! A [`Page`] is one file being read. Its questions return `None` where the answer is a mistake that has been noted, so
//! the rest of the file can still be read; nothing is guessed and nothing is passed over. A [`Block`] is a map with a
//! fixed list of keys: what is not in the list is a mistake when the block is opened.

use core::cell::RefCell;
use core::ops::Range;
use std::collections::BTreeMap;

use nalgebra::Point3;

use super::mistake::{Mistake, Place, nearest, printable, quoted};
use super::tree::{Entry, Node, Value};
use crate::units::{self, Angle, Length, LengthUnit, Refusal};

/// Longest length that a file may ask for, mm: ten kilometres. More is a slip in the units, and squares of sums of such
/// lengths still keep a thousandth of a millimetre.
const LONGEST: f64 = 1e7;

/// Names that a message lists before it stops.
const LISTED: usize = 12;

/// Mistakes that are kept: more are not noted.
const NOTED: usize = 2000;

/// The mistakes noted so far, of all files.
#[derive(Debug, Default)]
pub(super) struct Log {
    list: RefCell<Vec<Mistake>>,
}

impl Log {
    pub(super) fn add(&self, mistake: Mistake) {
        let mut list = self.list.borrow_mut();
        if list.len() < NOTED {
            list.push(mistake);
        }
    }

    /// How many are noted.
    pub(super) fn count(&self) -> usize {
        self.list.borrow().len()
    }

    pub(super) fn take(self) -> Vec<Mistake> {
        self.list.into_inner()
    }
}

/// The numbers that a key may have, in the unit of the key.
#[derive(Clone, Copy, Debug)]
pub(super) struct Limits {
    least: f64,
    most: f64,
    /// The least itself is too little.
    above: bool,
    /// The most itself is too much.
    below: bool,
    /// What to think of where a number is outside.
    hint: &'static str,
}

impl Limits {
    pub(super) const ANY: Self = Self::from_to(f64::NEG_INFINITY, f64::INFINITY);
    pub(super) const ABOVE_0: Self = Self { above: true, ..Self::from_to(0.0, f64::INFINITY) };
    pub(super) const FROM_0: Self = Self::from_to(0.0, f64::INFINITY);

    pub(super) const fn from_to(least: f64, most: f64) -> Self {
        Self { least, most, above: false, below: false, hint: "see whether a sign, a point or a figure slipped" }
    }

    pub(super) const fn above(least: f64) -> Self {
        Self::above_to(least, f64::INFINITY)
    }

    pub(super) const fn above_to(least: f64, most: f64) -> Self {
        Self { above: true, ..Self::from_to(least, most) }
    }

    pub(super) const fn between(least: f64, most: f64) -> Self {
        Self { below: true, ..Self::above_to(least, most) }
    }

    /// With what to think of where a number is outside.
    pub(super) const fn hint(self, hint: &'static str) -> Self {
        Self { hint, ..self }
    }

    fn hold(self, value: f64) -> bool {
        let over = if self.above { value > self.least } else { value >= self.least };
        let under = if self.below { value < self.most } else { value <= self.most };
        over && under
    }

    /// In words that follow "it must be".
    fn words(self, unit: &str) -> String {
        let least = if self.above { "above" } else { "at least" };
        let most = if self.below { "below" } else { "at most" };
        match (self.least.is_finite(), self.most.is_finite()) {
            (true, true) if !self.above && !self.below => format!("from {} to {}{unit}", self.least, self.most),
            (true, true) => format!("{least} {} and {most} {}{unit}", self.least, self.most),
            (true, false) if self.least == 0.0 => format!("{least} 0"),
            (true, false) => format!("{least} {}{unit}", self.least),
            (false, _) => format!("{most} {}{unit}", self.most),
        }
    }
}

/// One file being read.
#[derive(Debug)]
pub(super) struct Page<'a> {
    pub(super) log: &'a Log,
    pub(super) file: usize,
    pub(super) text: &'a str,
    /// Unit of bare numbers.
    pub(super) unit: LengthUnit,
}

/// A name with its place and what stands under it.
#[derive(Clone, Debug)]
pub(super) struct Named<'p> {
    pub(super) name: &'p str,
    pub(super) at: Range<usize>,
    pub(super) node: &'p Node,
}

/// A map whose keys are fixed.
#[derive(Debug)]
pub(super) struct Block<'p> {
    page: &'p Page<'p>,
    /// What it is, as messages call it: "the die `five-inch`".
    pub(super) what: String,
    /// Where a missing key is shown.
    pub(super) at: Range<usize>,
    entries: &'p [Entry],
}

impl<'p> Block<'p> {
    /// The value of a key; `None` where it is absent, or where nothing stands after it, which is noted.
    pub(super) fn get(&self, key: &str) -> Option<&'p Node> {
        let entry = self.entry(key)?;
        if entry.value.value == Value::Nothing {
            let place = self.page.place(&entry.key.span);
            self.page.log.add(Mistake::new(
                "value-missing",
                place,
                format!("{} has no value", self.of(key)),
                "write one after the colon, or take the line out",
            ));
            return None;
        }
        Some(&entry.value)
    }

    /// The value of a key that must be there.
    pub(super) fn need(&self, key: &str, help: &str) -> Option<&'p Node> {
        if self.entry(key).is_none() {
            let place = self.page.place(&self.at);
            let message = format!("{} has no `{key}`", self.what);
            self.page
                .log
                .add(Mistake::new("key-missing", place, message, help).label(format!("`{key}` is missing here")));
        }
        self.get(key)
    }

    fn entry(&self, key: &str) -> Option<&'p Entry> {
        self.entries.iter().find(|entry| entry.key.written() == Some(key))
    }

    /// Whether the key is there, with a value or without.
    pub(super) fn has(&self, key: &str) -> bool {
        self.entry(key).is_some()
    }

    /// Whether the block under a key has a key of its own, or cannot be read at all.
    pub(super) fn block_says(&self, key: &str, own: &str) -> bool {
        self.entry(key).is_some_and(|entry| match &entry.value.value {
            Value::Map(entries) => entries.iter().any(|entry| entry.key.written() == Some(own)),
            _ => true,
        })
    }

    /// Place of a key, or of the block where the key is absent.
    pub(super) fn key_at(&self, key: &str) -> Range<usize> {
        self.entry(key).map_or_else(|| self.at.clone(), |entry| entry.key.span.clone())
    }

    /// Place of a key's value, or of the block where the key is absent.
    pub(super) fn value_at(&self, key: &str) -> Range<usize> {
        self.entry(key).map_or_else(|| self.at.clone(), |entry| entry.value.span.clone())
    }

    /// What a key is called in messages: "`clr` of the die `five-inch`".
    pub(super) fn of(&self, key: &str) -> String {
        format!("`{key}` of {}", self.what)
    }

    /// A length that may be left out.
    pub(super) fn length(&self, key: &str, limits: Limits) -> Option<Length> {
        self.page.length(self.get(key)?, &self.of(key), limits)
    }

    /// A length that must be there.
    pub(super) fn need_length(&self, key: &str, limits: Limits, help: &str) -> Option<Length> {
        self.page.length(self.need(key, help)?, &self.of(key), limits)
    }

    /// A plain number that may be left out.
    pub(super) fn number(&self, key: &str, limits: Limits) -> Option<f64> {
        self.page.number(self.get(key)?, &self.of(key), limits, "")
    }

    /// An angle in degrees that may be left out.
    pub(super) fn angle(&self, key: &str, limits: Limits) -> Option<Angle> {
        self.page.angle(self.get(key)?, &self.of(key), limits)
    }

    /// An angle in degrees that must be there.
    pub(super) fn need_angle(&self, key: &str, limits: Limits, help: &str) -> Option<Angle> {
        self.page.angle(self.need(key, help)?, &self.of(key), limits)
    }

    /// `true` or `false`, which may be left out.
    pub(super) fn truth(&self, key: &str) -> Option<bool> {
        self.page.truth(self.get(key)?, &self.of(key))
    }

    /// One line of text that may be left out.
    pub(super) fn line(&self, key: &str) -> Option<String> {
        self.page.name(self.get(key)?, &self.of(key)).map(str::to_owned)
    }

    /// One of several words, which may be left out.
    pub(super) fn word<T: Copy>(&self, key: &str, words: &[(&str, T)]) -> Option<T> {
        self.page.word(self.get(key)?, &self.of(key), words)
    }

    /// One of several words, which must be there.
    pub(super) fn need_word<T: Copy>(&self, key: &str, words: &[(&str, T)], help: &str) -> Option<T> {
        self.page.word(self.need(key, help)?, &self.of(key), words)
    }

    /// A point that must be there.
    pub(super) fn need_point(&self, key: &str, help: &str) -> Option<Point3<f64>> {
        self.page.point(self.need(key, help)?, &self.of(key))
    }

    /// The block under a key that may be left out.
    pub(super) fn block(&self, key: &str, keys: &[&str]) -> Option<Self> {
        self.page.block(self.get(key)?, self.of(key), &self.key_at(key), keys)
    }
}

impl<'a> Page<'a> {
    pub(super) fn place(&self, span: &Range<usize>) -> Place {
        Place::new(self.file, span)
    }

    /// Notes a mistake at a span.
    pub(super) fn mistake(
        &self,
        code: &'static str,
        span: &Range<usize>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.log.add(Mistake::new(code, self.place(span), message, help));
    }

    fn wrong_sort(&self, node: &Node, what: &str, wanted: &str, help: &str) {
        let (code, message) = if node.value == Value::Nothing {
            ("value-missing", format!("{what} has no value"))
        } else {
            ("type-wrong", format!("{what} must be {wanted}; found {}", node.sort()))
        };
        self.log.add(Mistake::new(code, self.place(&node.span), message, help).label(format!("not {wanted}")));
    }

    /// A map with fixed keys; unknown ones and such that stand twice are noted. `at` is where a missing key is shown.
    pub(super) fn block<'p>(
        &'p self,
        node: &'p Node,
        what: impl Into<String>,
        at: &Range<usize>,
        keys: &[&str],
    ) -> Option<Block<'p>> {
        let what = what.into();
        let Value::Map(entries) = &node.value else {
            let known =
                if keys.is_empty() { String::new() } else { format!("its keys are {}", all(keys.iter().copied())) };
            self.wrong_sort(node, &what, "a block of keys", &known);
            return None;
        };
        let mut first: BTreeMap<&str, &Range<usize>> = BTreeMap::new();
        for entry in entries {
            let Some(key) = entry.key.written() else {
                self.wrong_sort(&entry.key, &format!("a key of {what}"), "a word", "write `key: value`");
                continue;
            };
            if keys.contains(&key) {
                self.note_twice(&mut first, key, &entry.key.span, &what);
                continue;
            }
            let place = self.place(&entry.key.span);
            let mistake = Mistake::new(
                "key-unknown",
                place,
                format!("{what} has no key {}", quoted(key)),
                format!("its keys are {}", all(keys.iter().copied())),
            );
            self.log.add(match nearest(key, keys.iter().copied()) {
                Some(meant) => mistake.label(format!("did you mean `{meant}`?")).fix(meant),
                None => mistake.label("not known here"),
            });
        }
        Some(Block { page: self, what, at: at.clone(), entries })
    }

    fn note_twice<'s>(
        &self,
        first: &mut BTreeMap<&'s str, &'s Range<usize>>,
        key: &'s str,
        at: &'s Range<usize>,
        what: &str,
    ) {
        match first.get(key) {
            Some(before) => self.log.add(
                Mistake::new(
                    "key-twice",
                    self.place(at),
                    format!("{} stands twice in {what}", quoted(key)),
                    "keep one of the two, or give them different names",
                )
                .label("again here")
                .related(self.place(before), "first here"),
            ),
            None => {
                first.insert(key, at);
            }
        }
    }

    /// A map whose keys are names, in the order of the file; names that are none, and such that stand twice, are noted
    /// and left out.
    pub(super) fn named<'p>(&'p self, node: &'p Node, what: &str, help: &str) -> Option<Vec<Named<'p>>> {
        let Value::Map(entries) = &node.value else {
            self.wrong_sort(node, what, "names with a value each", help);
            return None;
        };
        let mut first: BTreeMap<&str, &Range<usize>> = BTreeMap::new();
        let mut found = Vec::with_capacity(entries.len());
        for entry in entries {
            let Some(name) = self.name(&entry.key, &format!("a name in {what}")) else { continue };
            if first.contains_key(name) {
                self.note_twice(&mut first, name, &entry.key.span, what);
                continue;
            }
            first.insert(name, &entry.key.span);
            found.push(Named { name, at: entry.key.span.clone(), node: &entry.value });
        }
        Some(found)
    }

    /// A list.
    pub(super) fn items<'p>(&self, node: &'p Node, what: &str, help: &str) -> Option<&'p [Node]> {
        match &node.value {
            Value::List(items) => Some(items),
            _ => {
                self.wrong_sort(node, what, "a list in square brackets", help);
                None
            }
        }
    }

    /// One line of plain text that shows as itself: a name. A number serves as one, as it was written.
    pub(super) fn name<'p>(&self, node: &'p Node, what: &str) -> Option<&'p str> {
        const HELP: &str = "a name is printable text on one line, with no blanks around it";
        let Some(text) = node.written() else {
            self.wrong_sort(node, what, "text", HELP);
            return None;
        };
        let fault = if text.trim().is_empty() {
            "is empty".to_owned()
        } else if let Some(bad) = text.chars().find(|letter| !printable(*letter)) {
            if bad == '\n' || bad == '\r' {
                "has a line break in it".to_owned()
            } else {
                format!("has a character in it that does not show: {}", bad.escape_unicode())
            }
        } else if text.trim().len() != text.len() {
            "starts or ends with a blank".to_owned()
        } else {
            return Some(text);
        };
        self.mistake("name-unfit", &node.span, format!("{what} {fault}"), HELP);
        None
    }

    /// `true` or `false`.
    pub(super) fn truth(&self, node: &Node, what: &str) -> Option<bool> {
        if let Value::Truth(truth, _) = node.value {
            return Some(truth);
        }
        self.wrong_sort(node, what, "`true` or `false`", "write `true` or `false`, without quotes");
        None
    }

    /// One of several words.
    pub(super) fn word<T: Copy>(&self, node: &Node, what: &str, words: &[(&str, T)]) -> Option<T> {
        let known = all(words.iter().map(|(word, _)| *word));
        let help = if words.len() == 1 { format!("it can only be {known}") } else { format!("it is one of {known}") };
        let Some(said) = node.written() else {
            self.wrong_sort(node, what, "a word", &help);
            return None;
        };
        let found = words.iter().find(|(word, _)| *word == said);
        if found.is_none() {
            let mistake = Mistake::new(
                "word-unknown",
                self.place(&node.span),
                format!("{what} cannot be {}", quoted(said)),
                help,
            );
            self.log.add(match nearest(said, words.iter().map(|(word, _)| *word)) {
                Some(meant) => mistake.label(format!("did you mean `{meant}`?")).fix(meant),
                None => mistake,
            });
        }
        found.map(|(_, value)| *value)
    }

    /// A plain number within limits.
    pub(super) fn number(&self, node: &Node, what: &str, limits: Limits, unit: &str) -> Option<f64> {
        let wanted = if unit.is_empty() { "a number" } else { "a number of degrees" };
        match &node.value {
            Value::Number(said) => match units::number(said) {
                Ok(value) if limits.hold(value) => Some(value),
                Ok(_) => {
                    self.out_of_range(node, what, &format!("{said}{unit}"), limits, unit);
                    None
                }
                Err(refusal) => {
                    self.refused(node, what, "number-unclear", wanted, &refusal);
                    None
                }
            },
            Value::Text(said) => {
                let mistake = Mistake::new(
                    "type-wrong",
                    self.place(&node.span),
                    format!("{what} must be {wanted}; found the text {}", quoted(said)),
                    if unit.is_empty() {
                        "write it as a bare number, without quotes"
                    } else {
                        "angles are degrees: write the bare number, without a unit and without quotes"
                    },
                );
                let figure = said.trim_end_matches(|c: char| !c.is_ascii_digit());
                self.log.add(match units::number(figure) {
                    Ok(_) => mistake.fix(figure),
                    Err(_) => mistake,
                });
                None
            }
            _ => {
                self.wrong_sort(node, what, wanted, "write a bare number");
                None
            }
        }
    }

    /// An angle within limits in degrees.
    pub(super) fn angle(&self, node: &Node, what: &str, limits: Limits) -> Option<Angle> {
        self.number(node, what, limits, " degrees").map(Angle::deg)
    }

    /// A length within limits in millimetres, which are meant to be 0 or infinite: other limits cannot be told in the
    /// units of the file.
    pub(super) fn length(&self, node: &Node, what: &str, limits: Limits) -> Option<Length> {
        let (Value::Number(said) | Value::Text(said)) = &node.value else {
            self.wrong_sort(node, what, "a length", LENGTH_HELP);
            return None;
        };
        let value = match units::length(said, self.unit) {
            Ok(value) => value,
            Err(refusal) => {
                self.refused(node, what, "length-unclear", "a length", &refusal);
                return None;
            }
        };
        if !limits.hold(value.to_mm()) {
            self.out_of_range(node, what, &self.shown(value), limits, " mm");
            return None;
        }
        if value.abs().to_mm() > LONGEST {
            self.log.add(Mistake::new(
                "out-of-range",
                self.place(&node.span),
                format!("{what} is {}, longer than the 10 km that are taken", self.shown(value)),
                format!("bare numbers are in {} in this file: is that the unit that was meant?", self.unit.name()),
            ));
            return None;
        }
        Some(value)
    }

    /// A length in the units of the file.
    pub(super) fn shown(&self, length: Length) -> String {
        shown(length, self.unit)
    }

    fn out_of_range(&self, node: &Node, what: &str, value: &str, limits: Limits, unit: &str) {
        let message = format!("{what} is {value}; it must be {}", limits.words(unit));
        self.mistake("out-of-range", &node.span, message, limits.hint);
    }

    /// A refusal of the scanner, at its place inside the scalar where the scalar stands in the file as it is.
    fn refused(&self, node: &Node, what: &str, code: &'static str, wanted: &str, refusal: &Refusal) {
        let said = node.written().unwrap_or_default();
        let source = self.text.get(node.span.clone()).unwrap_or_default();
        let span = match source.find(said) {
            Some(before) if !said.is_empty() => {
                let start = node.span.start + before;
                let at = start + refusal.at.start..start + refusal.at.end;
                if self.text.get(at.clone()).is_some() { at } else { node.span.clone() }
            }
            _ => node.span.clone(),
        };
        let reasons = ["not a number", "infinity", "too large", "too long"];
        let endless = reasons.iter().any(|reason| refusal.reason.contains(reason));
        let help = refusal.way_out.clone().unwrap_or_else(|| {
            if code == "length-unclear" { LENGTH_HELP } else { "write a bare number, as 22.5" }.to_owned()
        });
        self.log.add(
            Mistake::new(
                if endless { "not-finite" } else { code },
                self.place(&span),
                format!("{what} is not {wanted}: {}", quoted(said)),
                help,
            )
            .label(refusal.reason.clone()),
        );
    }

    /// Three lengths in square brackets, mm.
    pub(super) fn point(&self, node: &Node, what: &str) -> Option<Point3<f64>> {
        const HELP: &str = "a point is three lengths: [x, y, z]";
        let items = self.items(node, what, HELP)?;
        let [x, y, z] = items else {
            self.mistake(
                "count-wrong",
                &node.span,
                format!("{what} has {}; a point has 3", counted(items.len(), "figure")),
                HELP,
            );
            return None;
        };
        let read = |item, axis: &str| self.length(item, &format!("{axis} of {what}"), Limits::ANY).map(Length::to_mm);
        // All three are read before any is missed, so that all mistakes are noted.
        let (x, y, z) = (read(x, "x"), read(y, "y"), read(z, "z"));
        Some(Point3::new(x?, y?, z?))
    }
}

/// How lengths can be written.
const LENGTH_HELP: &str = "write a bare number in the units of the file, or one of 44 1/2, 44-1/2\", 3' 8 1/2\", 1130 mm, 113 cm, 1.13 m, 44.5 in";

/// A length in a unit, with four significant decimals at most and no needless zeros.
#[must_use]
pub(super) fn shown(length: Length, unit: LengthUnit) -> String {
    let decimals = if matches!(unit, LengthUnit::Mm | LengthUnit::Cm) { 2 } else { 4 };
    let text = format!("{:.decimals$}", length.to(unit));
    let text = text.trim_end_matches('0').trim_end_matches('.');
    let text = if text == "-0" { "0" } else { text };
    format!("{text} {}", unit.name())
}

/// "1 bend", "2 bends".
#[must_use]
pub(super) fn counted(count: usize, thing: &str) -> String {
    if count == 1 { format!("1 {thing}") } else { format!("{count} {thing}s") }
}

/// Words in backquotes with commas between.
#[must_use]
pub(super) fn all<'w>(words: impl IntoIterator<Item = &'w str>) -> String {
    words.into_iter().map(quoted).collect::<Vec<_>>().join(", ")
}

/// Words in backquotes with commas between; only the first dozen where there are more.
#[must_use]
pub(super) fn listed<'w>(words: impl IntoIterator<Item = &'w str>) -> String {
    let all: Vec<String> = words.into_iter().map(quoted).collect();
    if all.len() <= LISTED {
        return all.join(", ");
    }
    format!("{} and {} more", all[..LISTED].join(", "), all.len() - LISTED)
}

#[cfg(test)]
mod tests {
    use super::super::tree::parse;
    use super::*;

    /// Codes and places of the mistakes that reading a block of one length, one angle and a name finds.
    fn read(text: &str) -> Vec<(&'static str, String)> {
        let tree = parse(text).unwrap();
        let log = Log::default();
        let page = Page { log: &log, file: 0, text, unit: LengthUnit::Inch };
        if let Some(block) = page.block(&tree, "the test", &(0..0), &["length", "angle", "name", "point"]) {
            block.need_length("length", Limits::ABOVE_0, "a length");
            block.angle("angle", Limits::above_to(0.0, 360.0));
            block.line("name");
            block.get("point").and_then(|node| page.point(node, "the point"));
        }
        let list = log.take();
        list.iter().map(|mistake| (mistake.code, text[mistake.place.range()].to_owned())).collect()
    }

    #[test]
    fn what_is_right_leaves_no_mistake() {
        assert_eq!(read("length: 44-1/2\nangle: 90\nname: upper arm\npoint: [1, -3 1/2, 1.13 m]\n"), []);
        assert_eq!(read("length: '44 1/2\"'\nname: 7\n"), []);
    }

    #[test]
    fn each_mistake_has_a_code_and_stands_at_its_place() {
        let cases: [(&str, &[(&str, &str)]); 13] = [
            ("angle: 90", &[("key-missing", "")]),
            ("length: 1\nlenght: 2", &[("key-unknown", "lenght")]),
            ("length: 1\nlength: 2", &[("key-twice", "length")]),
            ("length: 0", &[("out-of-range", "0")]),
            ("length: [1]", &[("type-wrong", "[1")]),
            ("length: 3 5/4", &[("length-unclear", "5/4")]),
            ("length: '3 5/4'", &[("length-unclear", "5/4")]),
            ("length: .nan", &[("not-finite", ".nan")]),
            ("length: 1e400", &[("not-finite", "1e400")]),
            ("length:", &[("value-missing", "length")]),
            ("length: 2\nangle: 45 deg", &[("type-wrong", "45 deg")]),
            ("length: 2\nname: \"a\\nb\"", &[("name-unfit", "\"a\\nb\"")]),
            (
                "length: x\nangle: 400\npoint: [1, 2]",
                &[("length-unclear", "x"), ("out-of-range", "400"), ("count-wrong", "[1, 2")],
            ),
        ];
        for (text, wanted) in cases {
            let found = read(text);
            let found: Vec<(&str, &str)> = found.iter().map(|(code, at)| (*code, at.as_str())).collect();
            assert_eq!(found, wanted, "{text}");
        }
    }

    #[test]
    fn lengths_are_told_in_the_units_of_the_file() {
        assert_eq!(shown(Length::mm(38.1), LengthUnit::Inch), "1.5 in");
        assert_eq!(shown(Length::mm(-0.0001), LengthUnit::Mm), "0 mm");
        assert_eq!(shown(Length::mm(1200.0), LengthUnit::Mm), "1200 mm");
    }
}
