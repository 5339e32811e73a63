//! What a job's file holds, figure by figure, with the way to each: what the panel lists.
//!
//! It is taken from the tree alone, so it is there too while a figure is wrong and there is no job.

use tubewright::file::edit::At;
use tubewright::file::tree::{Node, Value};

/// A figure or a word of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Field {
    /// The way to it.
    pub at: At,
    /// What it says, as written.
    pub said: String,
}

/// A node of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NodeLine {
    /// Its name.
    pub name: String,
    /// The way to it.
    pub at: At,
    /// Its x, y and z; fewer or more where the file has something else there.
    pub figures: Vec<Field>,
}

/// One bend angle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BendLine {
    /// The figure.
    pub field: Field,
    /// It is the angle between the two legs.
    pub included: bool,
}

/// One row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowLine {
    /// The way to the row.
    pub at: At,
    /// The straight.
    pub length: Option<Field>,
    /// The rotation before the bend.
    pub rotation: Option<Field>,
    /// The bend angle.
    pub bend: Option<Field>,
}

/// How a tube is given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ShapeLines {
    /// By the names of its nodes.
    Path(Vec<Field>),
    /// By legs, bends and rotations.
    Legs {
        /// From end A.
        legs: Vec<Field>,
        /// From end A.
        bends: Vec<BendLine>,
        /// The first is the one before the second bend.
        rotations: Vec<Field>,
    },
    /// By rows.
    Rows(Vec<RowLine>),
    /// By nothing that is known.
    Unknown,
}

/// A tube of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TubeLine {
    /// Its name.
    pub name: String,
    /// The way to it.
    pub at: At,
    /// Its shape.
    pub shape: ShapeLines,
    /// Its own die, where it names one.
    pub die: Option<Field>,
    /// A die for each bend, where it names several.
    pub dies: Vec<Field>,
    /// Whether it has a `tube` block of its own.
    pub has_stock: bool,
}

/// What a job's file holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Outline {
    /// Nodes, in the order of the file.
    pub nodes: Vec<NodeLine>,
    /// Tubes, in the order of the file.
    pub tubes: Vec<TubeLine>,
    /// The job's die.
    pub die: Option<Field>,
}

impl Outline {
    /// The outline of a file.
    #[must_use]
    pub fn of(tree: &Node) -> Self {
        let top = At::top();
        let nodes = entries(tree, &top.key("nodes")).into_iter().map(|(name, at)| NodeLine {
            figures: items(tree, &at).into_iter().filter_map(|at| field(tree, at)).collect(),
            name,
            at,
        });
        let tubes = entries(tree, &top.key("tubes")).into_iter().map(|(name, at)| TubeLine {
            shape: shape(tree, &at),
            die: field(tree, at.key("tube").key("die")),
            dies: items(tree, &at.key("dies")).into_iter().filter_map(|at| field(tree, at)).collect(),
            has_stock: matches!(at.key("tube").of(tree).map(|node| &node.value), Some(Value::Map(_))),
            name,
            at,
        });
        Self { nodes: nodes.collect(), tubes: tubes.collect(), die: field(tree, top.key("tube").key("die")) }
    }

    /// A node by name.
    #[must_use]
    pub fn node(&self, name: &str) -> Option<&NodeLine> {
        self.nodes.iter().find(|node| node.name == name)
    }
}

fn entries(tree: &Node, at: &At) -> Vec<(String, At)> {
    let Some(Value::Map(entries)) = at.of(tree).map(|node| &node.value) else { return Vec::new() };
    entries.iter().filter_map(|entry| entry.key.written()).map(|key| (key.to_owned(), at.key(key))).collect()
}

fn items(tree: &Node, at: &At) -> Vec<At> {
    let Some(Value::List(items)) = at.of(tree).map(|node| &node.value) else { return Vec::new() };
    (0..items.len()).map(|item| at.item(item)).collect()
}

fn field(tree: &Node, at: At) -> Option<Field> {
    let node = at.of(tree)?;
    let said = match &node.value {
        Value::List(_) | Value::Map(_) => return None,
        _ => node.written().unwrap_or_default().to_owned(),
    };
    Some(Field { at, said })
}

fn shape(tree: &Node, at: &At) -> ShapeLines {
    let plain = |key: &str| items(tree, &at.key(key)).into_iter().filter_map(|at| field(tree, at)).collect::<Vec<_>>();
    if at.key("path").of(tree).is_some() {
        return ShapeLines::Path(plain("path"));
    }
    if at.key("legs").of(tree).is_some() {
        let legs = items(tree, &at.key("legs")).into_iter();
        let bends = items(tree, &at.key("bends")).into_iter().filter_map(|at| {
            let own = field(tree, at.key("included")).map(|field| BendLine { field, included: true });
            own.or_else(|| field(tree, at).map(|field| BendLine { field, included: false }))
        });
        return ShapeLines::Legs {
            legs: legs.filter_map(|at| field(tree, at.key("length")).or_else(|| field(tree, at))).collect(),
            bends: bends.collect(),
            rotations: plain("rotations"),
        };
    }
    if at.key("rows").of(tree).is_some() {
        let row = |at: At| RowLine {
            length: field(tree, at.key("length")),
            rotation: field(tree, at.key("rotation")),
            bend: field(tree, at.key("bend")),
            at,
        };
        return ShapeLines::Rows(items(tree, &at.key("rows")).into_iter().map(row).collect());
    }
    ShapeLines::Unknown
}
