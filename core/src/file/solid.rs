//! Solids: boxes, cylinders, capsules and meshes, of the bender's own list and of a die's shapes.

use std::path::Path;

use nalgebra::Point3;

use super::beside::{Loading, unread};
use super::keys;
use super::mesh::read_mesh;
use super::mistake::{Mistake, quoted};
use super::reader::{Block, Limits, Page, listed};
use super::tree::Node;
use crate::bender::{Carrier, Shape, Solid};
use crate::units::{Length, LengthUnit};

/// Names that the output gives to other obstacles.
const TAKEN: [&str; 5] = ["floor", "die", "clamp", "follower", "tube"];

/// Shortest that a cylinder may be, mm: below that its axis has no direction worth the name.
const SHORTEST: f64 = 0.01;

/// The solids of a bender's list with the place of each name.
pub(super) fn solids(page: &Page<'_>, node: &Node, loading: &mut Loading<'_>) -> Vec<(Solid, core::ops::Range<usize>)> {
    let help = "each solid is { name: .., on: frame, box: { .. } }";
    let Some(items) = page.items(node, "`solids`", help) else { return Vec::new() };
    let mut found: Vec<(Solid, core::ops::Range<usize>)> = Vec::new();
    let mut names: Vec<(String, core::ops::Range<usize>)> = Vec::new();
    for (number, item) in items.iter().enumerate() {
        let what = format!("solid {}", number + 1);
        let Some(block) = page.block(item, what, &item.span, keys::SOLID) else { continue };
        let name_node = block.need("name", "name it as the shop does: `name: upper arm`");
        let name = name_node.and_then(|node| page.name(node, &block.of("name")));
        let at = block.value_at("name");
        if let Some(name) = name {
            note_taken(page, name, &at, &names);
            names.push((name.to_owned(), at.clone()));
        }
        let words = [("frame", Carrier::Frame), ("die", Carrier::Die), ("follower", Carrier::Follower)];
        let on = block.need_word("on", &words, "say what it is fixed to: `on: frame`, `on: die` or `on: follower`");
        let shape = body(page, &block, loading);
        if let (Some(name), Some(on), Some(shape)) = (name, on, shape) {
            found.push((Solid { name: name.to_owned(), on, shape }, at));
        }
    }
    found
}

fn note_taken(page: &Page<'_>, name: &str, at: &core::ops::Range<usize>, before: &[(String, core::ops::Range<usize>)]) {
    if TAKEN.contains(&name) {
        page.mistake(
            "name-taken",
            at,
            format!("a solid cannot be called {}: plans use that name themselves", quoted(name)),
            format!("give it another name; taken are {}", listed(TAKEN)),
        );
    } else if let Some((_, first)) = before.iter().find(|(other, _)| other == name) {
        page.log.add(
            Mistake::new(
                "name-taken",
                page.place(at),
                format!("two solids are called {}", quoted(name)),
                "give each a name of its own, so that a plan can say which one is near",
            )
            .label("again here")
            .related(page.place(first), "first here"),
        );
    }
}

/// A list of unnamed solids under a die's `shapes`.
pub(super) fn bodies(page: &Page<'_>, node: &Node, what: &str, loading: &mut Loading<'_>) -> Vec<Shape> {
    let items = page.items(node, what, "each is a solid without a name: { box: { .. } }").unwrap_or_default();
    let read = |(number, item): (usize, &Node)| {
        let block = page.block(item, format!("solid {} of {what}", number + 1), &item.span, keys::BODY)?;
        body(page, &block, loading)
    };
    items.iter().enumerate().filter_map(read).collect()
}

/// The one body that a block must hold.
fn body(page: &Page<'_>, block: &Block<'_>, loading: &mut Loading<'_>) -> Option<Shape> {
    let given: Vec<&str> = keys::BODY.iter().copied().filter(|key| block.has(key)).collect();
    let [key] = given[..] else {
        let help = format!("give one of {}", listed(keys::BODY.iter().copied()));
        if given.is_empty() {
            page.mistake("key-missing", &block.at, format!("{} has no body", block.what), help);
        } else {
            let message = format!("{} has more than one body: {}", block.what, listed(given.iter().copied()));
            page.mistake("count-wrong", &block.key_at(given[1]), message, help);
        }
        return None;
    };
    match key {
        "box" => cuboid(page, &block.block(key, keys::BOX)?),
        "mesh" => mesh(page, &block.block(key, keys::MESH)?, loading),
        _ => round(page, &block.block(key, keys::ROUND)?, key == "capsule"),
    }
}

fn cuboid(page: &Page<'_>, block: &Block<'_>) -> Option<Shape> {
    let min = block.need_point("min", "`min` is the corner with the smallest x, y and z");
    let max = block.need_point("max", "`max` is the corner with the largest x, y and z");
    let (min, max) = (min?, max?);
    let wrong = ["x", "y", "z"].into_iter().zip(min.iter().zip(max.iter())).find(|(_, (min, max))| *min >= *max);
    if let Some((axis, (least, most))) = wrong {
        page.mistake(
            "out-of-range",
            &block.value_at("max"),
            format!(
                "{}: {axis} of `min`, {}, is not below {axis} of `max`, {}",
                block.what,
                page.shown(Length::mm(*least)),
                page.shown(Length::mm(*most))
            ),
            "`min` holds the smaller of each pair, `max` the larger",
        );
        return None;
    }
    Some(Shape::Box { min, max })
}

fn round(page: &Page<'_>, block: &Block<'_>, capsule: bool) -> Option<Shape> {
    let from = block.need_point("from", "`from` is the middle of one end");
    let to = block.need_point("to", "`to` is the middle of the other end");
    let radius = block.need_length("radius", Limits::ABOVE_0, "half of its diameter: `radius: 45`");
    let (from, to, radius) = (from?, to?, radius?);
    if capsule {
        return Some(Shape::Capsule { from, to, radius });
    }
    if (to - from).norm() < SHORTEST {
        page.mistake(
            "out-of-range",
            &block.value_at("to"),
            format!("{} has no length: `from` and `to` are the same point", block.what),
            "give the middles of both end faces, or use a capsule for a ball",
        );
        return None;
    }
    Some(Shape::Cylinder { from, to, radius })
}

fn mesh(page: &Page<'_>, block: &Block<'_>, loading: &mut Loading<'_>) -> Option<Shape> {
    let file = block.need("file", "the name of an STL or OBJ file, from the folder of this file");
    let name = file.and_then(|node| page.name(node, &block.of("file")));
    let units = LengthUnit::ALL.map(|unit| (unit.name(), unit));
    let unit = block.need_word("units", &units, "the file itself carries none: `units: mm`");
    let at = match block.get("at") {
        Some(node) => page.point(node, &block.of("at")),
        None => Some(Point3::origin()),
    };
    let (name, unit, at) = (name?, unit?, at?);
    let span = block.value_at("file");
    let bytes = match loading.mesh(name, span.start) {
        Ok(bytes) => bytes,
        Err(error) => {
            page.log.add(unread(page.place(&span), name, &loading.path(name), &error));
            return None;
        }
    };
    match read_mesh(Path::new(name), bytes, unit.mm_per(), at.coords) {
        Ok(mesh) => Some(Shape::Mesh(mesh)),
        Err(flaw) => {
            page.mistake(flaw.code, &span, format!("the mesh {} {}", quoted(name), flaw.reason), flaw.help);
            None
        }
    }
}
