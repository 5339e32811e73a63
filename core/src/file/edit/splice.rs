//! Other bytes in the place of some, and nothing else touched.
//!
//! The tree gives the bytes of every scalar. A list or a block gives its first byte only, and a value that is used by
//! `*name` the bytes of where it was defined: what stands around those is looked for in the text, or not changed in place.

use core::ops::Range;

use super::{At, Edit, place_of};
use crate::file::tree::{Node, Value};

/// The text with one change in place; `None` where the place for it is not plain to see. It still has to be read back.
pub(super) fn splice(text: &str, tree: &Node, edit: &Edit, words: &str) -> Option<String> {
    let page = Page { text, tree };
    let (range, words) = match edit {
        Edit::Set { at, .. } | Edit::Fill { at, .. } => page.set(at, words)?,
        Edit::Item { of, place, .. } | Edit::Key { of, place, .. } => page.insert(of, *place, words)?,
        Edit::Remove { at } => (page.remove(at)?, String::new()),
    };
    let (before, after) = (text.get(..range.start)?, text.get(range.end..)?);
    Some(format!("{before}{words}{after}"))
}

struct Page<'t> {
    text: &'t str,
    tree: &'t Node,
}

/// A child of a list or a block: what stands from its first byte to its last.
struct Piece {
    range: Range<usize>,
}

impl<'t> Page<'t> {
    fn set(&self, at: &At, words: &str) -> Option<(Range<usize>, String)> {
        let node = at.of(self.tree)?;
        if node.aliased {
            return None;
        }
        if node.value != Value::Nothing {
            return Some((node.span.clone(), words.to_owned()));
        }
        // Nothing has no bytes: the value goes behind the colon of its key.
        let (holder, part) = at.holder()?;
        let holder = holder.of(self.tree)?;
        let Value::Map(entries) = &holder.value else { return None };
        let key = entries.get(place_of(holder, part)?)?.key.span.end;
        let colon = key + self.text.get(key..)?.find(':')? + 1;
        // Where `null` is written out there is something to be replaced.
        let said = if node.span.start >= colon { self.text.get(node.span.clone())?.trim() } else { "" };
        Some(if said.is_empty() { (colon..colon, format!(" {words}")) } else { (node.span.clone(), words.to_owned()) })
    }

    fn insert(&self, of: &At, place: usize, words: &str) -> Option<(Range<usize>, String)> {
        let holder = of.of(self.tree)?;
        if holder.aliased {
            return None;
        }
        let pieces = self.pieces(holder)?;
        if self.is_flow(holder) {
            let Some(last) = pieces.last() else {
                let inside = holder.span.start + 1;
                let words = if matches!(holder.value, Value::Map(_)) { format!(" {words} ") } else { words.to_owned() };
                return Some((inside..inside, words));
            };
            return Some(match pieces.get(place) {
                Some(next) => (next.range.start..next.range.start, format!("{words}, ")),
                None => (last.range.end..last.range.end, format!(", {words}")),
            });
        }
        let first = pieces.first()?;
        let end_of_line = if self.text.contains("\r\n") { "\r\n" } else { "\n" };
        let lead = self.lead(holder, first)?;
        let Some(before) = place.checked_sub(1) else {
            let start = first.range.start;
            if lead.shares_line {
                return Some((start..start, format!("{words}{end_of_line}{}", lead.blanks)));
            }
            let at = self.above_comments(self.line_start(start));
            return Some((at..at, format!("{}{words}{end_of_line}", lead.blanks)));
        };
        let at = self.next_line(pieces.get(before)?.range.end);
        // The last line of a file may lack its end.
        let open = at == self.text.len() && !self.text.ends_with('\n');
        Some((
            at..at,
            if open {
                format!("{end_of_line}{}{words}", lead.blanks)
            } else {
                format!("{}{words}{end_of_line}", lead.blanks)
            },
        ))
    }

    fn remove(&self, at: &At) -> Option<Range<usize>> {
        let (holder, part) = at.holder()?;
        let holder = holder.of(self.tree)?;
        if holder.aliased {
            return None;
        }
        let place = place_of(holder, part)?;
        let pieces = self.pieces(holder)?;
        let own = &pieces.get(place)?.range;
        let next = pieces.get(place + 1);
        if self.is_flow(holder) {
            return Some(match (next, place.checked_sub(1)) {
                (Some(next), _) => own.start..next.range.start,
                (None, Some(before)) => pieces[before].range.end..own.end,
                (None, None) => own.clone(),
            });
        }
        let lead = self.lead(holder, pieces.first()?)?;
        match next {
            Some(next) if place == 0 && lead.shares_line => Some(own.start..next.range.start),
            // A block without anything in it is no block.
            None if place == 0 => None,
            _ => Some(self.line_start(own.start)..self.next_line(own.end)),
        }
    }

    /// The children of a list or a block; `None` where one of them stands elsewhere.
    fn pieces(&self, holder: &Node) -> Option<Vec<Piece>> {
        match &holder.value {
            Value::List(items) => items.iter().map(|item| self.piece(item, None)).collect(),
            Value::Map(entries) => entries.iter().map(|entry| self.piece(&entry.key, Some(&entry.value))).collect(),
            _ => None,
        }
    }

    fn piece(&self, first: &Node, value: Option<&Node>) -> Option<Piece> {
        let start = self.with_anchor(first.span.start);
        let first_end = self.end(first)?;
        let end = value.map_or(Some(first_end), |value| match value.value {
            Value::Nothing if !value.aliased => Some(first_end),
            _ => self.end(value),
        })?;
        Some(Piece { range: start..end.max(first_end) })
    }

    /// Where a value ends; `None` where it stands elsewhere.
    fn end(&self, node: &Node) -> Option<usize> {
        if node.aliased {
            return None;
        }
        let last = match &node.value {
            Value::List(items) => items.last().map(|item| self.end(item)),
            Value::Map(entries) => entries.last().map(|entry| {
                let key = self.end(&entry.key)?;
                Some(if entry.value.value == Value::Nothing { key } else { self.end(&entry.value)?.max(key) })
            }),
            _ => return Some(node.span.end),
        };
        if !self.is_flow(node) {
            return last?;
        }
        let mut at = last.unwrap_or(Some(node.span.start + 1))?;
        // Only blanks, commas, colons of empty values and remarks stand before the closing bracket.
        loop {
            let rest = self.text.get(at..)?;
            match rest.chars().next()? {
                ']' | '}' => return Some(at + 1),
                '#' => at += rest.find('\n')?,
                ',' | ':' => at += 1,
                blank if blank.is_whitespace() => at += blank.len_utf8(),
                _ => return None,
            }
        }
    }

    fn is_flow(&self, node: &Node) -> bool {
        self.text.get(node.span.start..).is_some_and(|rest| rest.starts_with(['[', '{']))
    }

    /// A place, or the place of the `&name` that stands before it.
    fn with_anchor(&self, at: usize) -> usize {
        let before = self.text[..at].trim_end_matches(' ');
        let word = before.rfind([' ', '\n', '[', '{', ',']).map_or(0, |at| at + 1);
        if before.len() < at && before[word..].starts_with('&') { word } else { at }
    }

    fn line_start(&self, at: usize) -> usize {
        self.text[..at].rfind('\n').map_or(0, |at| at + 1)
    }

    fn next_line(&self, at: usize) -> usize {
        self.text[at..].find('\n').map_or(self.text.len(), |end| at + end + 1)
    }

    /// The start of a line, or of the remarks that stand right above it: they speak of it.
    fn above_comments(&self, line: usize) -> usize {
        let mut top = line;
        while top > 0 {
            let above = self.line_start(top - 1);
            if !self.text[above..top].trim_start().starts_with('#') {
                break;
            }
            top = above;
        }
        top
    }

    /// What stands before a child on its line; `None` where that is more than blanks and a dash.
    fn lead(&self, holder: &Node, first: &Piece) -> Option<Lead> {
        let before = &self.text[self.line_start(first.range.start)..first.range.start];
        let before = before.trim_start_matches('\u{feff}');
        if matches!(holder.value, Value::List(_)) {
            let dash = before.rfind('-')?;
            let plain = before[..dash].trim_start_matches(' ').is_empty() && before[dash + 1..].trim().is_empty();
            return plain.then(|| Lead { blanks: before.to_owned(), shares_line: false });
        }
        let shares_line = before.trim_start_matches(' ').starts_with('-');
        let plain = before.chars().all(|letter| letter == ' ' || letter == '-');
        plain.then(|| Lead { blanks: before.replace('-', " "), shares_line })
    }
}

/// What a line of a block starts with.
struct Lead {
    /// Before a new child: blanks, and for a list its dash.
    blanks: String,
    /// The first child stands behind the dash of the list that holds its block.
    shares_line: bool,
}
