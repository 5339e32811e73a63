//! A tree as a new text: what is left where a change cannot be made in place.

use super::New;
use crate::file::tree::{self, Node, Value};

/// Letters of a list or a block that stands on one line.
const LINE: usize = 90;

/// A whole file that says what a tree says. Remarks are not in a tree, and values that were used by `*name` are written out.
#[must_use]
pub fn whole(tree: &Node) -> String {
    let mut out = String::new();
    match &tree.value {
        Value::Map(_) | Value::List(_) if !tree.is_empty() => block(&mut out, tree, 0),
        _ => {
            out.push_str(&on_one_line(tree));
            out.push('\n');
        }
    }
    out
}

fn block(out: &mut String, node: &Node, indent: usize) {
    let mut line = |lead: String, value: &Node| {
        let flow = on_one_line(value);
        out.push_str(&" ".repeat(indent));
        out.push_str(&lead);
        // A block of blocks is spread over lines even where it is short: that is how people look for a tube in it.
        let spread = match &value.value {
            Value::Map(entries) => {
                entries.iter().any(|entry| matches!(entry.value.value, Value::Map(_) | Value::List(_)))
            }
            _ => false,
        };
        if value.is_empty() || !matches!(value.value, Value::Map(_) | Value::List(_)) || (!spread && flow.len() <= LINE)
        {
            out.push(' ');
            out.push_str(&flow);
            out.push('\n');
        } else {
            out.push('\n');
            block(out, value, indent + 2);
        }
    };
    match &node.value {
        Value::Map(entries) => {
            for entry in entries {
                line(format!("{}:", on_one_line(&entry.key)), &entry.value);
            }
        }
        Value::List(items) => {
            for item in items {
                line("-".to_owned(), item);
            }
        }
        _ => {}
    }
}

fn on_one_line(node: &Node) -> String {
    match &node.value {
        Value::Nothing => "null".to_owned(),
        Value::Truth(_, said) | Value::Number(said) => said.clone(),
        Value::Text(said) => text(said),
        Value::List(items) => format!("[{}]", items.iter().map(on_one_line).collect::<Vec<_>>().join(", ")),
        Value::Map(entries) if entries.is_empty() => "{}".to_owned(),
        Value::Map(entries) => {
            let entry = |entry: &tree::Entry| format!("{}: {}", on_one_line(&entry.key), on_one_line(&entry.value));
            format!("{{ {} }}", entries.iter().map(entry).collect::<Vec<_>>().join(", "))
        }
    }
}

/// What is put in, on one line, and the value that it is read as.
pub(super) fn flow(new: &New) -> (String, Value) {
    let node = |value| Node { value, span: 0..0, aliased: false };
    match new {
        New::Said(said) => {
            let said = said.trim();
            plain(said).map_or_else(|| (quoted(said), Value::Text(said.to_owned())), |value| (said.to_owned(), value))
        }
        New::List(items) => {
            let (words, values): (Vec<_>, Vec<_>) = items.iter().map(flow).unzip();
            (format!("[{}]", words.join(", ")), Value::List(values.into_iter().map(node).collect()))
        }
        New::Map(entries) => {
            let entry = |(key, value): &(String, New)| {
                let (key, name) = flow(&New::Said(key.clone()));
                let (words, value) = flow(value);
                (format!("{key}: {words}"), tree::Entry { key: node(name), value: node(value) })
            };
            let (words, values): (Vec<_>, Vec<_>) = entries.iter().map(entry).unzip();
            (format!("{{ {} }}", words.join(", ")), Value::Map(values))
        }
    }
}

/// The ways to write a value where `before` stands, its own quotes first, each with the value that it is read as.
pub(super) fn scalars(said: &str, before: &str) -> Vec<(String, Value)> {
    let text = || Value::Text(said.to_owned());
    let bare = plain(said).map(|value| (said.to_owned(), value));
    let single = (!said.contains(char::is_control)).then(|| (format!("'{}'", said.replace('\'', "''")), text()));
    let double = Some((quoted(said), text()));
    let order = match before.chars().next() {
        Some('"') => [double, bare, single],
        Some('\'') => [single, double, bare],
        _ => [bare, single, double],
    };
    order.into_iter().flatten().collect()
}

/// The value of a scalar without quotes, where it needs none wherever it stands.
fn plain(said: &str) -> Option<Value> {
    let odd =
        |letter: char| letter.is_control() || matches!(letter, '{' | '}' | '[' | ']' | ',' | '#' | ':' | '\u{feff}');
    if said.is_empty()
        || said.contains(odd)
        || said.starts_with(['-', '?']) && !said.contains(|c: char| c.is_ascii_digit())
    {
        return None;
    }
    let Value::List(items) = tree::parse(&format!("[{said}]")).ok()?.value else { return None };
    let [item] = &items[..] else { return None };
    (item.written() == Some(said)).then(|| item.value.clone())
}

/// Text as it can stand in a list: bare where it is read as text like that, else in quotes.
fn text(said: &str) -> String {
    match plain(said) {
        Some(Value::Text(_)) => said.to_owned(),
        _ => quoted(said),
    }
}

/// In double quotes, which can hold everything.
fn quoted(said: &str) -> String {
    let mut out = String::from("\"");
    for letter in said.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            letter if super::super::mistake::printable(letter) => out.push(letter),
            letter => out.push_str(&format!("\\U{:08X}", u32::from(letter))),
        }
    }
    out.push('"');
    out
}
