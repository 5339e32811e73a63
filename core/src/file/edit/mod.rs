//! Changes in a job's file that leave the rest of it as it was written: its comments, its order, its spelling.
//!
//! ```text
//! text --parse--> tree --change--> the tree that is wanted
//!   \--splice--> new text --parse--> the tree that is found       both must be the same
//! ```
//!
//! A figure is changed by putting other bytes in the place of its own; keys and items are put in and taken out by whole
//! lines, or between the commas of a list in brackets. Every change is read back. Where what is found is not what is
//! wanted (a value that is used by `*name`, a list of such), nothing is guessed: the file is written anew from the
//! wanted tree, and [`Edited::in_place`] says that its comments are gone, so that it is only offered under another name.
//!
//! The reader makes a job of the tree alone, so the same tree is the same job. A library that edits YAML was tried: it
//! drops the quotes of what it replaces. The tree knows the bytes of every value, which is all that is needed here.

mod splice;
mod whole;

use core::fmt;

use self::splice::splice;
pub use self::whole::whole;
use super::tree::{self, Entry, Node, Unreadable, Value};

/// A step on the way from the top of a file to one of its values.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// Under a key; the first where it stands twice.
    Key(String),
    /// In a list, from 0.
    Item(usize),
}

/// The way from the top of a file to one of its values.
///
/// ```
/// use tubewright::file::edit::At;
/// assert_eq!(At::top().key("nodes").key("knee").item(2).to_string(), "nodes / knee / 3");
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct At(Vec<Part>);

impl At {
    /// The file as a whole.
    #[must_use]
    pub const fn top() -> Self {
        Self(Vec::new())
    }

    /// On to a key.
    #[must_use]
    pub fn key(&self, key: impl Into<String>) -> Self {
        self.and(Part::Key(key.into()))
    }

    /// On to an item of a list, from 0.
    #[must_use]
    pub fn item(&self, item: usize) -> Self {
        self.and(Part::Item(item))
    }

    fn and(&self, part: Part) -> Self {
        Self(self.0.iter().cloned().chain([part]).collect())
    }

    /// Its steps.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.0
    }

    /// The value there; `None` where there is none.
    #[must_use]
    pub fn of<'t>(&self, tree: &'t Node) -> Option<&'t Node> {
        self.0.iter().try_fold(tree, |node, part| Some(child(node, place_of(node, part)?)))
    }

    fn of_mut<'t>(&self, tree: &'t mut Node) -> Option<&'t mut Node> {
        self.0.iter().try_fold(tree, |node, part| {
            let place = place_of(node, part)?;
            match &mut node.value {
                Value::List(items) => items.get_mut(place),
                Value::Map(entries) => entries.get_mut(place).map(|entry| &mut entry.value),
                _ => None,
            }
        })
    }

    /// The way to what holds it, and its place in there.
    fn holder(&self) -> Option<(Self, &Part)> {
        let (last, before) = self.0.split_last()?;
        Some((Self(before.to_vec()), last))
    }
}

impl fmt::Display for At {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, part) in self.0.iter().enumerate() {
            let between = if place == 0 { "" } else { " / " };
            match part {
                Part::Key(key) => write!(out, "{between}{key}")?,
                Part::Item(item) => write!(out, "{between}{}", item + 1)?,
            }
        }
        Ok(())
    }
}

/// Place of a part among the children of a value.
fn place_of(node: &Node, part: &Part) -> Option<usize> {
    match (&node.value, part) {
        (Value::Map(entries), Part::Key(key)) => entries.iter().position(|entry| entry.key.written() == Some(key)),
        (Value::List(items), Part::Item(item)) => (*item < items.len()).then_some(*item),
        _ => None,
    }
}

/// The child at a place that is known to be there.
fn child(node: &Node, place: usize) -> &Node {
    match &node.value {
        Value::Map(entries) => &entries[place].value,
        Value::List(items) => &items[place],
        _ => node,
    }
}

/// Something that is put into a file: what is said is written as it was typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum New {
    /// One value.
    Said(String),
    /// A list.
    List(Vec<Self>),
    /// Keys with values.
    Map(Vec<(String, Self)>),
}

impl New {
    /// One value.
    pub fn said(said: impl Into<String>) -> Self {
        Self::Said(said.into())
    }
}

/// One change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Edit {
    /// Something else is said by a value that is neither a list nor a block of keys. Blanks around it are dropped.
    Set {
        /// The value.
        at: At,
        /// What it is to say, as typed: `44 1/2`, `1130 mm`.
        said: String,
    },
    /// Something stands after a key that had nothing.
    Fill {
        /// The value that is nothing so far.
        at: At,
        /// What is put there.
        new: New,
    },
    /// One more item in a list.
    Item {
        /// The list.
        of: At,
        /// The place that it takes, from 0; the number of items puts it last.
        place: usize,
        /// What is put in.
        new: New,
    },
    /// One more key in a block.
    Key {
        /// The block.
        of: At,
        /// The place that it takes, from 0; the number of keys puts it last.
        place: usize,
        /// The key; one that is there already is refused.
        key: String,
        /// Its value.
        new: New,
    },
    /// An item or a key with its value is taken out, with the lines that it stands on.
    Remove {
        /// What is taken out.
        at: At,
    },
}

/// A file with changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edited {
    /// What it says now.
    pub text: String,
    /// Whether all else stands as it did. If not the file was written anew, without its comments.
    pub in_place: bool,
}

/// Why a change cannot be made at all.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Refused {
    /// The text is no tree.
    #[error("{}", .0.message)]
    Unreadable(Unreadable),
    /// There is no such value, or it is of another sort.
    #[error("there is nothing at `{0}` that could be changed like this")]
    NoSuchPlace(At),
    /// A key that is there already.
    #[error("`{0}` is there already")]
    KeyTwice(At),
}

/// Changes made one after the other, each read back.
///
/// # Errors
/// A text that cannot be read, and a change to what is not there. What cannot be done in place is no error:
/// see [`Edited::in_place`].
///
/// ```
/// use tubewright::file::edit::{At, Edit, apply};
/// let text = "legs: [40, 12]   # taped\nod: '1 1/2'\n";
/// let change = Edit::Set { at: At::top().key("legs").item(1), said: "12 1/4\"".to_owned() };
/// let edited = apply(text, &[change]).expect("there is such a leg");
/// assert_eq!(edited.text, "legs: [40, 12 1/4\"]   # taped\nod: '1 1/2'\n");
/// ```
pub fn apply(text: &str, edits: &[Edit]) -> Result<Edited, Refused> {
    let mut text = text.to_owned();
    let mut in_place = true;
    for edit in edits {
        let tree = tree::parse(&text).map_err(Refused::Unreadable)?;
        let spellings = spellings(&text, &tree, edit);
        let mut anew = None;
        let mut found = None;
        for (words, value) in spellings {
            let wanted = changed(&tree, edit, value)?;
            found = splice(&text, &tree, edit, &words).filter(|new| reads_as(new, &wanted));
            anew = Some(wanted);
            if found.is_some() {
                break;
            }
        }
        match (found, anew) {
            (Some(new), _) => text = new,
            (None, Some(wanted)) => {
                text = whole(&wanted);
                in_place = false;
            }
            (None, None) => return Err(Refused::NoSuchPlace(edit.at().clone())),
        }
    }
    Ok(Edited { text, in_place })
}

fn reads_as(text: &str, wanted: &Node) -> bool {
    tree::parse(text).is_ok_and(|found| same(&found, wanted))
}

/// Whether two trees say the same, wherever they say it.
#[must_use]
pub fn same(one: &Node, other: &Node) -> bool {
    match (&one.value, &other.value) {
        (Value::List(one), Value::List(other)) => {
            one.len() == other.len() && one.iter().zip(other).all(|(one, other)| same(one, other))
        }
        (Value::Map(one), Value::Map(other)) => {
            let entry = |(one, other): (&Entry, &Entry)| same(&one.key, &other.key) && same(&one.value, &other.value);
            one.len() == other.len() && one.iter().zip(other).all(entry)
        }
        (one, other) => one == other,
    }
}

impl Edit {
    /// What it is about, for refusals.
    fn at(&self) -> &At {
        match self {
            Self::Set { at, .. } | Self::Fill { at, .. } | Self::Remove { at } => at,
            Self::Item { of, .. } | Self::Key { of, .. } => of,
        }
    }
}

/// The ways to write what a change says, the one that comes nearest to what is there first, each with its value.
fn spellings(text: &str, tree: &Node, edit: &Edit) -> Vec<(String, Value)> {
    match edit {
        Edit::Set { at, said } => {
            let before = at.of(tree).and_then(|node| text.get(node.span.clone())).unwrap_or_default();
            whole::scalars(said.trim(), before)
        }
        Edit::Fill { new, .. } | Edit::Item { new, .. } => vec![whole::flow(new)],
        Edit::Key { key, new, .. } => {
            let (words, value) = whole::flow(new);
            let (key, _) = whole::flow(&New::Said(key.clone()));
            vec![(format!("{key}: {words}"), value)]
        }
        Edit::Remove { .. } => vec![(String::new(), Value::Nothing)],
    }
}

/// The tree with one change.
fn changed(tree: &Node, edit: &Edit, value: Value) -> Result<Node, Refused> {
    let mut tree = tree.clone();
    let missing = || Refused::NoSuchPlace(edit.at().clone());
    let new = |value| Node { value, span: 0..0, aliased: false };
    match edit {
        Edit::Set { at, .. } => {
            let node = at.of_mut(&mut tree).ok_or_else(missing)?;
            if matches!(node.value, Value::List(_) | Value::Map(_)) {
                return Err(missing());
            }
            node.value = value;
        }
        Edit::Fill { at, .. } => {
            let node = at.of_mut(&mut tree).ok_or_else(missing)?;
            if node.value != Value::Nothing {
                return Err(missing());
            }
            node.value = value;
        }
        Edit::Item { of, place, .. } => match &mut of.of_mut(&mut tree).ok_or_else(missing)?.value {
            Value::List(items) if *place <= items.len() => items.insert(*place, new(value)),
            _ => return Err(missing()),
        },
        Edit::Key { of, place, key, .. } => match &mut of.of_mut(&mut tree).ok_or_else(missing)?.value {
            Value::Map(entries) if *place <= entries.len() => {
                if entries.iter().any(|entry| entry.key.written() == Some(key)) {
                    return Err(Refused::KeyTwice(of.key(key)));
                }
                let (_, name) = whole::flow(&New::Said(key.clone()));
                entries.insert(*place, Entry { key: new(name), value: new(value) });
            }
            _ => return Err(missing()),
        },
        Edit::Remove { at } => {
            let (holder, part) = at.holder().ok_or_else(missing)?;
            let holder = holder.of_mut(&mut tree).ok_or_else(missing)?;
            let place = place_of(holder, part).ok_or_else(missing)?;
            match &mut holder.value {
                Value::List(items) => drop(items.remove(place)),
                Value::Map(entries) => drop(entries.remove(place)),
                _ => return Err(missing()),
            }
        }
    }
    Ok(tree)
}
