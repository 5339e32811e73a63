//! Shapes without a job: nodes or rows in YAML or CSV, for going from one to the other.
//!
//! ```text
//! kind: nodes                       node,x_mm,y_mm,z_mm
//! units: mm                         sill,0,-500,0
//! clr: 127                          knee,50,-460,775
//! nodes: { sill: [0, -500, 0] }
//!
//! kind: rows                        length_in,rotation_deg,bend_deg
//! units: in                         10,,45
//! clr: 5                            6-1/2,90,30
//! rows: [{ length: 10, bend: 45 }]  12,,
//! ```

use core::cell::Cell as Seen;
use core::ops::Range;
use std::collections::BTreeMap;
use std::sync::Arc;

use nalgebra::Point3;

use super::keys;
use super::load::{as_tree, finish, note_head, page, top_at};
use super::mistake::{Mistake, Mistakes, Source, nearest, quoted};
use super::places::{RowPlaces, ShapePlaces, TubePlaces};
use super::reader::{Limits, Log, Page, all};
use super::table::{self, Cell};
use super::tree::{Node, Value};
use super::tube::{Told, note_shape, read_rows};
use crate::centreline::{Centreline, Row, Rows};
use crate::units::{self, Length, LengthUnit};

/// How a shape is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShapeFormat {
    /// Keys and values.
    Yaml,
    /// A table with commas.
    Csv,
}

/// What a file gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShapeKind {
    /// Corner points.
    Nodes,
    /// Length, rotation, bend angle.
    Rows,
}

/// A shape that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct ShapeFile {
    /// How it was given.
    pub kind: ShapeKind,
    /// Units of the file.
    pub units: LengthUnit,
    /// Formed radius of all bends; `None` where there are none and the file does not say.
    pub clr: Option<Length>,
    /// The finished shape.
    pub centreline: Centreline,
    /// Name of each of the centreline's nodes: the file's, or n0, n1, ...
    pub names: Vec<String>,
}

/// A shape from the text of a file. `path` is what messages call the file; `clr` is the formed radius where it comes from
/// elsewhere, as text, a bare number being in the file's units.
///
/// # Errors
///
/// All mistakes of the file. A `clr` that is wrong is a mistake in a source of its own, called `--clr`.
pub fn read_shape(path: &str, text: &str, format: ShapeFormat, clr: Option<&str>) -> Result<ShapeFile, Mistakes> {
    let log = Log::default();
    let mut sources = vec![Source { path: path.to_owned(), text: Arc::from(text) }];
    sources.extend(clr.map(|clr| Source { path: "--clr".to_owned(), text: Arc::from(clr) }));
    let found = match format {
        ShapeFormat::Yaml => from_yaml(&log, text, clr),
        ShapeFormat::Csv => from_csv(&log, text, clr),
    };
    finish(log, sources, found)
}

/// Where a shape comes from, before it is built.
struct Given {
    units: LengthUnit,
    clr: Option<Length>,
    /// The radius was given and is wrong, which has been noted.
    clr_spoilt: bool,
    kind: ShapeKind,
    names: Vec<String>,
    points: Vec<Point3<f64>>,
    rows: Option<Rows>,
    places: ShapePlaces,
}

fn from_yaml(log: &Log, text: &str, clr: Option<&str>) -> Option<ShapeFile> {
    let tree = as_tree(log, 0, text)?;
    let kind = match &tree.value {
        Value::Map(entries) => entries
            .iter()
            .find(|entry| entry.key.written() == Some("kind"))
            .and_then(|entry| entry.value.written())
            .map_or(ShapeKind::Nodes, |kind| if kind == "rows" { ShapeKind::Rows } else { ShapeKind::Nodes }),
        _ => ShapeKind::Nodes,
    };
    let (word, keys) = match kind {
        ShapeKind::Nodes => ("nodes", keys::NODES),
        ShapeKind::Rows => ("rows", keys::ROWS),
    };
    let page = page(log, 0, text, &tree, word)?;
    let top = page.block(&tree, "the file", &top_at(&tree), keys)?;
    note_head(&top, word);
    let own = top.length("clr", Limits::ABOVE_0);
    if let (true, Some(clr)) = (top.has("clr"), clr) {
        page.log.add(
            Mistake::new(
                "clr-twice",
                page.place(&top.key_at("clr")),
                format!("the file says `clr`, and `--clr {clr}` says it too"),
                "leave one of the two out",
            )
            .label("given here"),
        );
    }
    let outside = clr.and_then(|clr| read_clr(log, clr, page.unit));
    let mut given = Given {
        units: page.unit,
        clr: own.or(outside),
        clr_spoilt: top.has("clr") || clr.is_some(),
        kind,
        names: Vec::new(),
        points: Vec::new(),
        rows: None,
        places: ShapePlaces::Rows(Vec::new()),
    };
    match kind {
        ShapeKind::Nodes => {
            let help = "corner points in their order, end A first: `nodes: { a: [0, 0, 0], b: [500, 0, 0] }`";
            let node = top.need("nodes", help)?;
            let named = page.named(node, "`nodes`", help)?;
            let mut places = Vec::new();
            for named in named {
                places.push(page.place(&named.at));
                given.names.push(named.name.to_owned());
                given.points.extend(page.point(named.node, &format!("the node {}", quoted(named.name))));
            }
            given.places = ShapePlaces::Path(places);
        }
        ShapeKind::Rows => {
            let node = top.need("rows", "rows, end A first: `- { length: 10, bend: 45 }`")?;
            let (rows, places) = read_rows(&page, node, "`rows`", "the file")?;
            given.rows = Some(rows);
            given.places = ShapePlaces::Rows(places);
        }
    }
    build(&page, given, &|key| top.key_at(key))
}

/// The formed radius of the command line.
fn read_clr(log: &Log, clr: &str, unit: LengthUnit) -> Option<Length> {
    let page = Page { log, file: 1, text: clr, unit };
    let node = Node { value: Value::Text(clr.to_owned()), span: 0..clr.len(), aliased: false };
    page.length(&node, "`--clr`", Limits::ABOVE_0)
}

fn build(page: &Page<'_>, given: Given, key_at: &dyn Fn(&str) -> Range<usize>) -> Option<ShapeFile> {
    /// See the same bound of a job's tubes.
    const MOST: usize = 100_000;
    let path = given.kind == ShapeKind::Nodes;
    if path && given.points.len() != given.names.len() {
        return None;
    }
    let corners = given.rows.as_ref().map_or(given.points.len(), |rows| rows.bends.len());
    if corners > MOST {
        let message = format!("the file has {corners} corners; the most that are read is {MOST}");
        page.mistake("count-wrong", &key_at("rows"), message, "split it into several files");
        return None;
    }
    let asked = Seen::new(false);
    let radius = |_| {
        asked.set(true);
        given.clr.unwrap_or(Length::mm(1e-3))
    };
    let built = match &given.rows {
        Some(rows) => Centreline::from_rows(rows, &radius),
        None => Centreline::from_nodes(&given.points, &radius),
    };
    let guessed = asked.get() && given.clr.is_none();
    if guessed && !given.clr_spoilt {
        page.log.add(
            Mistake::new(
                "key-missing",
                page.place(&key_at("clr")),
                "nothing says the formed radius of the bends",
                "give `clr` in a YAML file, or `--clr` on the command line; a bare number is in the units of the file",
            )
            .label("no `clr`"),
        );
    }
    let places = TubePlaces { name: page.place(&key_at("nodes")), shape: given.places, bend_nodes: Vec::new() };
    match built {
        Ok(centreline) if !guessed => {
            let names =
                if path { given.names } else { (0..centreline.nodes.len()).map(|node| format!("n{node}")).collect() };
            Some(ShapeFile { kind: given.kind, units: given.units, clr: given.clr, centreline, names })
        }
        Ok(_) => None,
        Err(mistakes) => {
            let told = Told {
                what: "the shape",
                names: path.then_some(&given.names),
                last: if path { corners.saturating_sub(1) } else { corners + 1 },
                places: &places,
                key_at: &|key| key_at(if key == "path" { "nodes" } else { key }),
            };
            mistakes.iter().for_each(|mistake| note_shape(page, &told, mistake));
            None
        }
    }
}

const HEADERS: &str =
    "the first line names the columns with their units: `node,x_mm,y_mm,z_mm` or `length_mm,rotation_deg,bend_deg`";

fn from_csv(log: &Log, text: &str, clr: Option<&str>) -> Option<ShapeFile> {
    let mut page = Page { log, file: 0, text, unit: LengthUnit::Mm };
    if text.len() > super::tree::LARGEST_FILE {
        page.mistake("file-too-large", &(0..0), "the file is larger than 4 MiB", "split it into several files");
        return None;
    }
    let lines = match table::lines(text) {
        Ok(lines) => lines,
        Err(at) => {
            page.mistake("quote-open", &at, "a quote does not fit here", "a cell in quotes ends with a quote, and then a comma or the end of the line; a quote inside it is written twice");
            return None;
        }
    };
    let Some((header, body)) = lines.split_first() else {
        page.mistake("file-empty", &(0..0), "the file says nothing", HEADERS);
        return None;
    };
    let columns = Columns::read(&page, header)?;
    page.unit = columns.unit;
    let clr_length = clr.and_then(|clr| read_clr(log, clr, page.unit));
    let given = Given {
        units: page.unit,
        clr: clr_length,
        clr_spoilt: clr.is_some(),
        kind: columns.kind,
        names: Vec::new(),
        points: Vec::new(),
        rows: None,
        places: ShapePlaces::Rows(Vec::new()),
    };
    let start = header.first().map_or(0..0, |cell| cell.span.clone());
    let fits = |line: &&Vec<Cell>| {
        let good = line.len() == header.len();
        if !good {
            let at = line.first().map_or(0..0, |cell| cell.span.start..line[line.len() - 1].span.end);
            let message = format!("this line has {} cells; the first line names {}", line.len(), header.len());
            page.mistake(
                "count-wrong",
                &at,
                message,
                "leave a cell empty by two commas in a row; a comma inside a cell needs quotes around the cell",
            );
        }
        good
    };
    let whole: Vec<&Vec<Cell>> = body.iter().filter(fits).collect();
    if whole.len() != body.len() {
        return None;
    }
    let given = match columns.kind {
        ShapeKind::Nodes => csv_nodes(&page, &columns, &whole, given),
        ShapeKind::Rows => csv_rows(&page, &columns, &whole, given, &start),
    }?;
    build(&page, given, &|_| start.clone())
}

/// The columns of a table: what it is, in which units, and which column is which.
struct Columns {
    kind: ShapeKind,
    unit: LengthUnit,
    /// Places of node, x, y, z, or of length, rotation, bend.
    at: Vec<usize>,
}

impl Columns {
    fn read(page: &Page<'_>, header: &[Cell]) -> Option<Self> {
        const NODES: [&str; 4] = ["node", "x", "y", "z"];
        const ROWS: [&str; 3] = ["length", "rotation_deg", "bend_deg"];
        let stem = |cell: &Cell| cell.text.rsplit_once('_').map_or(cell.text.clone(), |(stem, _)| stem.to_owned());
        let is_rows = header.iter().any(|cell| stem(cell) == "length" || ROWS.contains(&cell.text.as_str()));
        let (kind, wanted) = if is_rows { (ShapeKind::Rows, &ROWS[..]) } else { (ShapeKind::Nodes, &NODES[..]) };
        let mut unit: Option<(LengthUnit, &Cell)> = None;
        let mut found: BTreeMap<&str, usize> = BTreeMap::new();
        let mut good = true;
        for (place, cell) in header.iter().enumerate() {
            let plain = wanted.iter().find(|word| **word == cell.text && !is_length(word));
            let length = || {
                let (stem, name) = cell.text.rsplit_once('_')?;
                let word = wanted.iter().find(|word| **word == stem && is_length(word))?;
                Some((word, LengthUnit::from_name(name)?))
            };
            let word = match (plain, length()) {
                (Some(word), _) => Some(*word),
                (None, Some((word, named))) => {
                    if let Some((other, first)) = unit
                        && other != named
                    {
                        page.log.add(
                            Mistake::new(
                                "units-differ",
                                page.place(&cell.span),
                                "the columns are in different units",
                                "put all lengths of a table into one unit",
                            )
                            .related(page.place(&first.span), "and these"),
                        );
                        good = false;
                    }
                    unit = unit.or(Some((named, cell)));
                    Some(*word)
                }
                (None, None) => None,
            };
            let Some(word) = word else {
                let mistake = Mistake::new(
                    "key-unknown",
                    page.place(&cell.span),
                    format!("there is no column {}", quoted(&cell.text)),
                    HEADERS,
                );
                let known =
                    wanted.iter().map(|word| if is_length(word) { format!("{word}_mm") } else { (*word).to_owned() });
                let known: Vec<String> = known.collect();
                let unit_missing = known.iter().find(|known| known.strip_suffix("_mm") == Some(&cell.text));
                let near = || nearest(&cell.text, known.iter().map(String::as_str));
                page.log.add(match unit_missing.map(String::as_str).or_else(near) {
                    Some(meant) => mistake.label(format!("did you mean {}?", quoted(meant))),
                    None => mistake,
                });
                good = false;
                continue;
            };
            if found.insert(word, place).is_some() {
                page.mistake(
                    "key-twice",
                    &cell.span,
                    format!("the column {} stands twice", quoted(&cell.text)),
                    HEADERS,
                );
                good = false;
            }
        }
        let missing: Vec<&str> = wanted.iter().copied().filter(|word| !found.contains_key(word)).collect();
        if good && !missing.is_empty() {
            let at = header.first().map_or(0..0, |cell| cell.span.clone());
            page.mistake(
                "key-missing",
                &at,
                format!("the table has no column {}", all(missing.iter().copied())),
                HEADERS,
            );
            good = false;
        }
        let at = wanted.iter().map(|word| found.get(word).copied()).collect::<Option<Vec<usize>>>()?;
        good.then_some(Self { kind, unit: unit?.0, at })
    }
}

/// Whether a column's name is followed by a unit of length.
fn is_length(word: &str) -> bool {
    matches!(word, "x" | "y" | "z" | "length")
}

fn as_node(cell: &Cell, number: bool) -> Node {
    let text = cell.text.clone();
    let value = if number { Value::Number(text) } else { Value::Text(text) };
    Node { value, span: cell.span.clone(), aliased: false }
}

fn csv_nodes(page: &Page<'_>, columns: &Columns, lines: &[&Vec<Cell>], mut given: Given) -> Option<Given> {
    let mut places = Vec::new();
    let mut first: BTreeMap<String, Range<usize>> = BTreeMap::new();
    for line in lines {
        let cell = |column: usize| &line[columns.at[column]];
        let name = page.name(&as_node(cell(0), false), "the name of a node").map(str::to_owned);
        let called = name.as_ref().map_or_else(|| "a node".to_owned(), |name| format!("the node {}", quoted(name)));
        let length = |column: usize, axis: &str| {
            page.length(&as_node(cell(column), false), &format!("{axis} of {called}"), Limits::ANY).map(Length::to_mm)
        };
        let (x, y, z) = (length(1, "x"), length(2, "y"), length(3, "z"));
        let Some(name) = name else { continue };
        if let Some(before) = first.get(&name) {
            page.log.add(
                Mistake::new(
                    "key-twice",
                    page.place(&cell(0).span),
                    format!("the node {} stands twice", quoted(&name)),
                    "give each node a name of its own",
                )
                .related(page.place(before), "first here"),
            );
            continue;
        }
        first.insert(name.clone(), cell(0).span.clone());
        places.push(page.place(&cell(0).span));
        given.names.push(name);
        if let (Some(x), Some(y), Some(z)) = (x, y, z) {
            given.points.push(Point3::new(x, y, z));
        }
    }
    given.places = ShapePlaces::Path(places);
    (given.names.len() == lines.len() && given.points.len() == lines.len()).then_some(given)
}

fn csv_rows(
    page: &Page<'_>,
    columns: &Columns,
    lines: &[&Vec<Cell>],
    mut given: Given,
    start: &Range<usize>,
) -> Option<Given> {
    const LAST: &str = "the last line is the straight after the last bend, its other cells empty";
    if lines.is_empty() {
        page.mistake("count-wrong", start, "the table has no rows", LAST);
        return None;
    }
    let mut rows: Vec<Option<Row>> = Vec::new();
    let mut places = Vec::new();
    for (number, line) in lines.iter().enumerate() {
        let [length_cell, turn_cell, bend_cell] = [0, 1, 2].map(|column| &line[columns.at[column]]);
        let last = number + 1 == lines.len();
        let what = |thing: &str| format!("the {thing} of row {}", number + 1);
        let length = page.length(&as_node(length_cell, false), &what("length"), Limits::ANY);
        let angle = |cell: &Cell, thing: &str, limits| page.angle(&as_node(cell, true), &what(thing), limits);
        let turn = if turn_cell.text.is_empty() {
            Some(units::Angle::ZERO)
        } else {
            angle(turn_cell, "rotation", Limits::from_to(-360.0, 360.0))
        };
        let bend = match (last, bend_cell.text.is_empty()) {
            (true, true) => Some(units::Angle::ZERO),
            (false, false) => angle(bend_cell, "bend angle", Limits::ANY),
            (true, false) => {
                page.mistake(
                    "last-row",
                    &bend_cell.span,
                    format!("row {} is the last one and has a bend", number + 1),
                    "add a line for the straight after it: `0,,`",
                );
                None
            }
            (false, true) => {
                let at = length_cell.span.clone();
                page.mistake(
                    "key-missing",
                    &at,
                    format!("row {} has no bend, and other rows follow it", number + 1),
                    LAST,
                );
                None
            }
        };
        if last && bend_cell.text.is_empty() && turn_cell.text.parse().is_ok_and(|turn: f64| turn != 0.0) {
            page.mistake(
                "last-row",
                &turn_cell.span,
                format!("row {} is the last one and has a rotation", number + 1),
                LAST,
            );
        }
        let place = |cell: &Cell| (!cell.text.is_empty()).then(|| page.place(&cell.span));
        places.push(RowPlaces {
            row: page.place(&(length_cell.span.start..length_cell.span.end)),
            length: page.place(&length_cell.span),
            rotation: place(turn_cell),
            bend: place(bend_cell),
        });
        rows.push(match (length, turn, bend) {
            (Some(length), Some(turn), Some(angle)) => {
                Some(Row { length, rotation: if number == 0 { turn } else { turn.wrapped() }, angle })
            }
            _ => None,
        });
    }
    let mut bends = rows.into_iter().collect::<Option<Vec<Row>>>()?;
    let last = bends.pop()?.length;
    given.rows = Some(Rows { bends, last });
    given.places = ShapePlaces::Rows(places);
    Some(given)
}

#[cfg(test)]
mod tests {
    use super::super::write::{write_nodes, write_rows};
    use super::*;

    const NODES: &str = "kind: nodes\nunits: in\nclr: 5\nnodes:\n  a: [0, 0, 0]\n  \"7\": [30-1/2, 0, 0]\n  \"c, \\\"d\\\"\": [30.1, 20, 3]\n  e: [0.1, 45, 3.3]\n";

    fn read(text: &str, format: ShapeFormat, clr: Option<&str>) -> ShapeFile {
        read_shape("f", text, format, clr).unwrap_or_else(|mistakes| panic!("{mistakes}"))
    }

    fn codes(text: &str, format: ShapeFormat, clr: Option<&str>) -> Vec<&'static str> {
        let mistakes = read_shape("f", text, format, clr).expect_err(text);
        assert!(!mistakes.render(false).is_empty());
        mistakes.list.iter().map(|mistake| mistake.code).collect()
    }

    #[test]
    fn nodes_are_read_back_as_they_were_written_in_every_format() {
        let first = read(NODES, ShapeFormat::Yaml, None);
        assert_eq!(first.names, ["a", "7", "c, \"d\"", "e"]);
        for unit in LengthUnit::ALL {
            let yaml = write_nodes(&first, ShapeFormat::Yaml, unit).unwrap();
            let again = read(&yaml, ShapeFormat::Yaml, None);
            assert_eq!(
                (again.centreline, again.names, again.clr),
                (first.centreline.clone(), first.names.clone(), first.clr)
            );
            let csv = write_nodes(&first, ShapeFormat::Csv, unit).unwrap();
            let again = read(&csv, ShapeFormat::Csv, Some("5 in"));
            assert_eq!((again.centreline, again.names), (first.centreline.clone(), first.names.clone()));
        }
    }

    #[test]
    fn rows_are_read_back_as_they_were_written_in_every_format() {
        let first = read(NODES, ShapeFormat::Yaml, None);
        for format in [ShapeFormat::Yaml, ShapeFormat::Csv] {
            let text = write_rows(&first, format, LengthUnit::Inch);
            let again = read(&text, format, (format == ShapeFormat::Csv).then_some("5"));
            assert_eq!(again.kind, ShapeKind::Rows);
            assert_eq!(again.names, ["n0", "n1", "n2", "n3"]);
            let (was, is) = (&first.centreline.rows, &again.centreline.rows);
            assert_eq!(was.last, is.last);
            for (was, is) in was.bends.iter().zip(&is.bends) {
                assert_eq!(was.length, is.length);
                assert!((was.rotation.to_rad() - is.rotation.to_rad()).abs() < 1e-15);
                assert!((was.angle.to_rad() - is.angle.to_rad()).abs() < 1e-15);
            }
        }
    }

    #[test]
    fn the_example_tables_are_read() {
        let rows = read("length_in,rotation_deg,bend_deg\n10,,45\n6-1/2,90,30\n12,,\n", ShapeFormat::Csv, Some("5"));
        assert_eq!(rows.clr, Some(Length::mm(127.0)));
        assert_eq!(rows.centreline.rows.bends[1].rotation, units::Angle::deg(90.0));
        let nodes = read("\u{feff}node,x_mm,y_mm,z_mm\r\na,0,0,0\r\nb,100,0,0\r\n", ShapeFormat::Csv, None);
        assert_eq!((nodes.clr, nodes.centreline.rows.last), (None, Length::mm(100.0)));
    }

    #[test]
    fn a_bend_without_a_corner_cannot_be_written_as_a_node() {
        let rows = read("length_mm,rotation_deg,bend_deg\n100,0,180\n100,,\n", ShapeFormat::Csv, Some("50"));
        assert_eq!(write_nodes(&rows, ShapeFormat::Csv, LengthUnit::Mm).unwrap_err().0, crate::centreline::NodeId(1));
        assert!(write_rows(&rows, ShapeFormat::Yaml, LengthUnit::Mm).contains("bend: 180"));
    }

    #[test]
    fn mistakes_in_shapes_have_their_codes() {
        use ShapeFormat::{Csv, Yaml};
        let nodes = "node,x_mm,y_mm,z_mm\n";
        let rows = "length_mm,rotation_deg,bend_deg\n";
        let cases: [(String, ShapeFormat, Option<&str>, &[&str]); 19] = [
            (String::new(), Csv, None, &["file-empty"]),
            ("a,b\n".to_owned(), Csv, None, &["key-unknown", "key-unknown"]),
            ("node,x_mm,y_in,z_mm\n".to_owned(), Csv, None, &["units-differ"]),
            ("node,x_mm,y_mm\n".to_owned(), Csv, None, &["key-missing"]),
            ("node,x,y,z\n".to_owned(), Csv, None, &["key-unknown", "key-unknown", "key-unknown"]),
            (format!("{nodes}a,0,0\n"), Csv, None, &["count-wrong"]),
            (format!("{nodes}a,0,0,0\na,1,0,0\n"), Csv, None, &["key-twice"]),
            (format!("{nodes}a,0,0,zero\n"), Csv, None, &["length-unclear"]),
            (format!("{nodes}a,0,0,0\n"), Csv, None, &["too-few-nodes"]),
            (format!("{nodes}a,0,0,0\n,1,0,0\n"), Csv, None, &["name-unfit"]),
            (format!("{nodes}a,0,0,0\nb,100,0,0\nc,100,100,0\n"), Csv, None, &["key-missing"]),
            (format!("{nodes}a,0,0,0\nb,100,0,0\nc,100,100,0\n"), Csv, Some("x"), &["length-unclear"]),
            (
                format!("{nodes}a,0,0,0\nb,100,0,0\nc,100,100,0\n"),
                Csv,
                Some("200"),
                &["leg-too-short", "leg-too-short"],
            ),
            (format!("{rows}10,0,45\n"), Csv, Some("5"), &["last-row"]),
            (format!("{rows}10,0,45\n10,,\n10,,\n"), Csv, Some("5"), &["key-missing"]),
            (format!("{rows}10,20,45\n10,,\n"), Csv, Some("5"), &["rotation-before-first-bend"]),
            (format!("{rows}10,\"20,45\n10,,\n"), Csv, Some("5"), &["quote-open"]),
            ("kind: job\nunits: mm\n".to_owned(), Yaml, None, &["kind-wrong"]),
            (NODES.to_owned(), Yaml, Some("5"), &["clr-twice"]),
        ];
        for (text, format, clr, wanted) in cases {
            assert_eq!(codes(&text, format, clr), wanted, "{text}");
        }
    }
}
