//! Changes that people think of as one: a corner more, a bend less, another die. Each is a list of edits of the file.

use tubewright::file::edit::{At, Edit, New};
use tubewright::job::Job;
use tubewright::units::{Length, LengthUnit, length};

use super::outline::{Field, Outline, RowLine, ShapeLines, TubeLine};

/// A length as it is written into a file: in its unit, to a thousandth of a millimetre or finer.
#[must_use]
pub fn written(value: Length, unit: LengthUnit) -> String {
    let decimals = match unit {
        LengthUnit::Mm => 3,
        LengthUnit::Cm | LengthUnit::Inch => 4,
        LengthUnit::M | LengthUnit::Foot => 6,
    };
    let text = format!("{:.decimals$}", value.to(unit));
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn set(field: &Field, said: String) -> Edit {
    Edit::Set { at: field.at.clone(), said }
}

fn item(of: At, place: usize, said: impl Into<String>) -> Edit {
    Edit::Item { of, place, new: New::said(said) }
}

/// Another die for a tube: its own, so that no other tube changes.
#[must_use]
pub fn die(tube: &TubeLine, die: &str) -> Vec<Edit> {
    if let Some(own) = &tube.die {
        return vec![set(own, die.to_owned())];
    }
    let (of, key, new) = if tube.has_stock {
        (tube.at.key("tube"), "die", New::said(die))
    } else {
        (tube.at.clone(), "tube", New::Map(vec![("die".to_owned(), New::said(die))]))
    };
    vec![Edit::Key { of, place: 0, key: key.to_owned(), new }]
}

/// A name for a node that no node has yet.
fn new_name(outline: &Outline, job: &Job) -> String {
    let images = job.mirror.as_ref().map(|mirror| &mirror.images);
    let taken = |name: &str| outline.node(name).is_some() || images.is_some_and(|images| images.contains_key(name));
    // There are fewer nodes than numbers.
    (1..).map(|number| format!("corner-{number}")).find(|name| !taken(name)).unwrap_or_default()
}

/// One corner more in a path, half way between a node and the next: on the straight line, so that nothing changes before
/// it is moved. `None` after the last node.
#[must_use]
pub fn node_after(outline: &Outline, job: &Job, tube: usize, node: usize) -> Option<Vec<Edit>> {
    let line = outline.tubes.get(tube)?;
    let ShapeLines::Path(path) = &line.shape else { return None };
    let centreline = &job.tubes.iter().find(|one| one.name == line.name)?.centreline;
    let (here, next) = ((*centreline.nodes.get(node)?)?, (*centreline.nodes.get(node + 1)?)?);
    path.get(node + 1)?;
    let middle = nalgebra::center(&here, &next);
    let figures = middle.iter().map(|mm| New::said(written(Length::mm(*mm), job.units))).collect();
    let name = new_name(outline, job);
    // In the file it stands behind the node that it follows, where that one is written there.
    let place =
        outline.nodes.iter().position(|one| one.name == path[node].said).map_or(outline.nodes.len(), |at| at + 1);
    Some(vec![
        Edit::Key { of: At::top().key("nodes"), place, key: name.clone(), new: New::List(figures) },
        item(line.at.key("path"), node + 1, name),
    ])
}

/// A node is taken out of a path; in the file it stays, other tubes may use it.
#[must_use]
pub fn node_out(tube: &TubeLine, node: usize) -> Option<Vec<Edit>> {
    let ShapeLines::Path(path) = &tube.shape else { return None };
    (path.len() > 2).then(|| path.get(node).map(|field| vec![Edit::Remove { at: field.at.clone() }])).flatten()
}

fn half(field: &Field, unit: LengthUnit) -> Option<String> {
    Some(written(length(&field.said, unit).ok()? / 2.0, unit))
}

fn sum(one: &Field, other: &Field, unit: LengthUnit) -> Option<String> {
    Some(written(length(&one.said, unit).ok()? + length(&other.said, unit).ok()?, unit))
}

/// One bend more in the middle of a leg or of a row's straight, of 0 degrees: nothing changes before it is given an angle.
/// `None` where the leg is not there or its length cannot be read.
#[must_use]
pub fn bend_in(tube: &TubeLine, leg: usize, unit: LengthUnit) -> Option<Vec<Edit>> {
    match &tube.shape {
        ShapeLines::Legs { legs, bends, rotations } => {
            let field = legs.get(leg)?;
            let half = half(field, unit)?;
            let mut edits = vec![set(field, half.clone()), item(tube.at.key("legs"), leg + 1, half)];
            if bends.is_empty() {
                let place = 1;
                let new = New::List(vec![New::said("0")]);
                edits.push(Edit::Key { of: tube.at.clone(), place, key: "bends".to_owned(), new });
            } else {
                edits.push(item(tube.at.key("bends"), leg, "0"));
            }
            if !rotations.is_empty() {
                // A rotation stands before each bend but the first.
                edits.push(item(tube.at.key("rotations"), leg.saturating_sub(1).min(rotations.len()), "0"));
            }
            Some(edits)
        }
        ShapeLines::Rows(rows) => {
            let row = rows.get(leg)?;
            let field = row.length.as_ref()?;
            let half = half(field, unit)?;
            let said = |key: &str, said: &str| (key.to_owned(), New::said(said));
            let new = New::Map(vec![said("length", &half), said("bend", "0")]);
            // The rotation of the row turns everything behind it, so it may stay where it is.
            Some(vec![set(field, half.clone()), Edit::Item { of: tube.at.key("rows"), place: leg, new }])
        }
        ShapeLines::Path(_) | ShapeLines::Unknown => None,
    }
}

/// A bend is taken out; the legs or straights beside it become one of their joint length.
#[must_use]
pub fn bend_out(tube: &TubeLine, bend: usize, unit: LengthUnit) -> Option<Vec<Edit>> {
    match &tube.shape {
        ShapeLines::Legs { legs, bends, rotations } => {
            let (before, after) = (legs.get(bend)?, legs.get(bend + 1)?);
            bends.get(bend)?;
            let mut edits = vec![
                set(before, sum(before, after, unit)?),
                Edit::Remove { at: tube.at.key("legs").item(bend + 1) },
                Edit::Remove { at: tube.at.key("bends").item(bend) },
            ];
            if !rotations.is_empty() {
                let place = bend.saturating_sub(1).min(rotations.len() - 1);
                edits.push(Edit::Remove { at: tube.at.key("rotations").item(place) });
            }
            Some(edits)
        }
        ShapeLines::Rows(rows) => {
            let (row, next): (&RowLine, &RowLine) = (rows.get(bend)?, rows.get(bend + 1)?);
            row.bend.as_ref()?;
            let (here, there) = (row.length.as_ref()?, next.length.as_ref()?);
            let mut edits = vec![set(there, sum(here, there, unit)?)];
            // No rotation stands before the first bend.
            if bend == 0
                && let Some(rotation) = &next.rotation
            {
                edits.push(Edit::Remove { at: rotation.at.clone() });
            }
            edits.push(Edit::Remove { at: row.at.clone() });
            Some(edits)
        }
        ShapeLines::Path(_) | ShapeLines::Unknown => None,
    }
}
