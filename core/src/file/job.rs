//! The job file: nodes, their mirror images, and the tubes that run through them.

use std::collections::BTreeMap;

use nalgebra::Point3;

use super::ends::fit_ends;
use super::keys;
use super::mistake::{Mistake, Place, quoted};
use super::places::{NodePlace, Places};
use super::reader::{Block, Limits, Page, listed};
use super::survey::OfJob;
use super::tree::{Node, Value};
use super::tube::{Shared, StockGiven, read_tube};
use crate::bender::Bender;
use crate::centreline::{Axis, Plane, SAME_NODE};
use crate::job::{self, Bar, Bars, Size, Tube};
use crate::units::Length;

/// What a job's file says, all but the bender.
pub(super) struct ReadJob {
    pub(super) date: Option<String>,
    pub(super) mirror: Option<job::Mirror>,
    pub(super) bars: Option<Bars>,
    pub(super) tubes: Vec<Tube>,
    pub(super) places: Places,
}

/// The mirror of a job.
struct Mirror {
    plane: Plane,
    from: String,
    to: String,
}

impl Mirror {
    /// The name of a node's image; `None` for a node without either suffix.
    fn image(&self, name: &str) -> Option<String> {
        let swap = |from: &str, to: &str| name.strip_suffix(from).map(|stem| format!("{stem}{to}"));
        swap(&self.from, &self.to).or_else(|| swap(&self.to, &self.from))
    }
}

/// The job of a file's top block; what depends on the bender is only looked at where there is one.
pub(super) fn read_job(
    page: &Page<'_>,
    top: &Block<'_>,
    bender: Option<&Bender>,
    survey: Option<&OfJob>,
) -> Option<ReadJob> {
    let date = top.line("date");
    let mut places = Places::default();
    let (mut nodes, mut spoilt) = top.get("nodes").map(|node| read_nodes(page, node, &mut places)).unwrap_or_default();
    // A survey that could not be read leaves names that nobody should be told are missing.
    let lost = top.has("survey") && survey.is_none();
    if let Some(survey) = survey {
        add_surveyed(page, survey, &mut nodes, &places);
    }
    let mirror = top.block("mirror", keys::MIRROR).and_then(|block| mirror(page, &block));
    let images = mirror.as_ref().map(|mirror| add_images(page, top, mirror, &mut nodes, &mut spoilt, &places, survey));
    let stock = top.block("tube", keys::STOCK).map(|block| StockGiven::read(&block)).unwrap_or_default();
    if let Some(bender) = bender {
        stock.note_die(page, bender);
    }
    let bars = top.block("stock", keys::BARS).and_then(|bars| read_bars(page, &bars, stock.size()));
    let help = "name the tubes: `tubes:`, then a name, then its `path`, `legs` or `rows`";
    let tubes_node = top.need("tubes", help)?;
    let named = page.named(tubes_node, "`tubes`", help)?;
    if tubes_node.is_empty() {
        page.mistake("value-missing", &tubes_node.span, "`tubes` is empty", help);
    }
    let untold = survey.map(|survey| survey.untold.as_slice()).unwrap_or_default();
    let shared = Shared { page, nodes: &nodes, spoilt: &spoilt, untold, lost, stock: &stock, bender };
    let count = named.len();
    let mut tubes: Vec<Tube> = Vec::with_capacity(count);
    let mut ends = Vec::with_capacity(count);
    for (tube, ends_of, places_of) in named.iter().filter_map(|named| read_tube(&shared, named)) {
        tubes.push(tube);
        ends.push(ends_of);
        places.tubes.push(places_of);
    }
    if tubes.len() != count || !fit_ends(page, &mut tubes, &ends) {
        return None;
    }
    if let Some(mirror) = &mirror {
        pair_up(&mut tubes, mirror, &nodes);
    }
    let mirror = mirror.zip(images).map(|(mirror, images)| {
        let Mirror { plane, from, to } = mirror;
        job::Mirror { plane, images, suffixes: [from, to] }
    });
    Some(ReadJob { date, mirror, bars, tubes, places })
}

/// Adds the points of a survey to the nodes of the file.
fn add_surveyed(page: &Page<'_>, survey: &OfJob, nodes: &mut BTreeMap<String, Point3<f64>>, places: &Places) {
    let told = survey.points.iter().map(|(name, point)| (name, Some(*point)));
    for (name, point) in told.chain(survey.untold.iter().map(|name| (name, None))) {
        let Some(twice) = places.nodes.iter().find(|node| node.name == *name) else {
            nodes.extend(point.map(|point| (name.clone(), point)));
            continue;
        };
        page.log.add(Mistake::new(
            "node-twice",
            twice.name_at.clone(),
            format!("the node {} is written here, and the survey has a point of that name", quoted(name)),
            "take it out here, or give it a name that the survey does not use",
        ));
    }
}

/// The nodes of the file by name, and the names of those that could not be read.
fn read_nodes(page: &Page<'_>, node: &Node, places: &mut Places) -> (BTreeMap<String, Point3<f64>>, Vec<String>) {
    let mut nodes = BTreeMap::new();
    let mut spoilt = Vec::new();
    for named in page.named(node, "`nodes`", "each node is `name: [x, y, z]`").unwrap_or_default() {
        let Some(point) = page.point(named.node, &format!("the node {}", quoted(named.name))) else {
            spoilt.push(named.name.to_owned());
            continue;
        };
        nodes.insert(named.name.to_owned(), point);
        if let Value::List(items) = &named.node.value
            && let [x, y, z] = &items[..]
        {
            places.nodes.push(NodePlace {
                name: named.name.to_owned(),
                name_at: page.place(&named.at),
                at: [x, y, z].map(|item| page.place(&item.span)),
                aliased: named.node.aliased || items.iter().any(|item| item.aliased),
            });
        }
    }
    (nodes, spoilt)
}

/// How a plane is written.
const PLANE_HELP: &str = "`plane: y` is the plane y = 0; `plane: { y: 12 }` is the one at y = 12";

/// The plane that stands under `plane` of a block.
pub(super) fn read_plane(page: &Page<'_>, block: &Block<'_>, node: &Node) -> Option<Plane> {
    const AXES: [(&str, Axis); 3] = [("x", Axis::X), ("y", Axis::Y), ("z", Axis::Z)];
    match &node.value {
        Value::Map(_) => {
            let plane = page.block(node, block.of("plane"), &node.span, keys::PLANE)?;
            let given: Vec<_> = AXES.into_iter().filter(|(key, _)| plane.has(key)).collect();
            let [(key, axis)] = given[..] else {
                page.mistake(
                    "count-wrong",
                    &node.span,
                    format!("{} names {} axes", plane.what, given.len()),
                    PLANE_HELP,
                );
                return None;
            };
            Some(Plane::square_to(axis, plane.length(key, Limits::ANY)?))
        }
        _ => page.word(node, &block.of("plane"), &AXES).map(|axis| Plane::square_to(axis, Length::ZERO)),
    }
}

fn mirror(page: &Page<'_>, block: &Block<'_>) -> Option<Mirror> {
    let plane = block.need("plane", PLANE_HELP).and_then(|node| read_plane(page, block, node));
    let help = "what the names of a node and of its image end in: `suffix: { from: -left, to: -right }`";
    let suffix = block.need("suffix", help);
    let suffix = suffix
        .and_then(|node| page.block(node, block.of("suffix"), &block.key_at("suffix"), keys::SUFFIX))
        .and_then(|suffix| {
            let word = |key| suffix.need(key, help).and_then(|node| page.name(node, &suffix.of(key)));
            let (from, to) = (word("from"), word("to"));
            let (from, to) = (from?, to?);
            if from == to {
                page.mistake(
                    "out-of-range",
                    &suffix.value_at("to"),
                    format!("`from` and `to` of {} are the same", suffix.what),
                    "a node and its image need different names",
                );
                return None;
            }
            Some((from.to_owned(), to.to_owned()))
        });
    let (plane, (from, to)) = (plane?, suffix?);
    Some(Mirror { plane, from, to })
}

/// Adds the images of all nodes that end in the mirror's `from`; for each image that was added, the node that it is of.
fn add_images(
    page: &Page<'_>,
    top: &Block<'_>,
    mirror: &Mirror,
    nodes: &mut BTreeMap<String, Point3<f64>>,
    spoilt: &mut Vec<String>,
    places: &Places,
    survey: Option<&OfJob>,
) -> BTreeMap<String, String> {
    let image_of = |name: &str| name.strip_suffix(&mirror.from).map(|stem| format!("{stem}{}", mirror.to));
    let images: Vec<(String, String, Point3<f64>)> = nodes
        .iter()
        .filter_map(|(name, point)| Some((name.clone(), image_of(name)?, mirror.plane.mirror(point))))
        .collect();
    let spoilt_images: Vec<String> = spoilt.iter().filter_map(|name| image_of(name)).collect();
    if images.is_empty() && spoilt_images.is_empty() {
        page.mistake(
            "mirror-empty",
            &top.key_at("mirror"),
            format!("the mirror makes nothing: no node's name ends in {}", quoted(&mirror.from)),
            format!("the nodes are {}", listed(nodes.keys().map(String::as_str))),
        );
    }
    let written: BTreeMap<&str, &NodePlace> = places.nodes.iter().map(|node| (node.name.as_str(), node)).collect();
    let mut added = BTreeMap::new();
    for (name, image, point) in images {
        if survey.is_some_and(|survey| survey.surveyed.nodes.contains_key(&image)) {
            page.mistake(
                "node-twice",
                &top.key_at("mirror"),
                format!("the survey tells where {} is, and the mirror makes it from {}", quoted(&image), quoted(&name)),
                "take the mirror out: what was measured on both sides needs none; or survey one side",
            );
            continue;
        }
        let Some(twice) = written.get(image.as_str()) else {
            nodes.insert(image.clone(), point);
            added.insert(image, name);
            continue;
        };
        let mut mistake = Mistake::new(
            "node-twice",
            twice.name_at.clone(),
            format!("the node {} is written here, and the mirror makes it from {}", quoted(&image), quoted(&name)),
            "take one of the two out, or give this one a name that the mirror does not use",
        );
        if let Some(first) = written.get(name.as_str()) {
            mistake = mistake.related(first.name_at.clone(), "its image has that name");
        }
        page.log.add(mistake);
    }
    spoilt.extend(spoilt_images);
    added
}

/// Tubes whose paths map onto each other, in either direction, are each other's pair.
fn pair_up(tubes: &mut [Tube], mirror: &Mirror, nodes: &BTreeMap<String, Point3<f64>>) {
    // A node without a suffix is its own image where it lies in the plane.
    let image = |name: &Option<String>| -> Option<String> {
        let name = name.as_ref()?;
        mirror.image(name).filter(|image| nodes.contains_key(image)).or_else(|| {
            let point = nodes.get(name)?;
            let off = (mirror.plane.mirror(point) - point).norm();
            (off < SAME_NODE.to_mm()).then(|| name.clone())
        })
    };
    // Either direction of a path is the same tube: of both the one that sorts first stands for it.
    fn canonical(mut path: Vec<String>) -> Vec<String> {
        if path.iter().rev().lt(path.iter()) {
            path.reverse();
        }
        path
    }
    let path_of = |tube: &Tube| tube.node_names.iter().cloned().collect::<Option<Vec<String>>>().map(canonical);
    // For each path the tubes that have no pair yet, the last of the file first.
    let mut free: BTreeMap<Vec<String>, Vec<usize>> = BTreeMap::new();
    for (place, tube) in tubes.iter().enumerate().rev() {
        if let Some(path) = path_of(tube) {
            free.entry(path).or_default().push(place);
        }
    }
    for one in 0..tubes.len() {
        if tubes[one].pair.is_some() {
            continue;
        }
        let images: Option<Vec<String>> = tubes[one].node_names.iter().map(image).collect();
        let (Some(images), Some(own)) = (images.map(canonical), path_of(&tubes[one])) else { continue };
        // A hoop that is its own image has no pair, and no other can be its image without being the same tube.
        if images == own {
            continue;
        }
        let Some(other) = free.get_mut(&images).and_then(Vec::pop) else { continue };
        free.entry(own).or_default().retain(|place| *place != one);
        tubes[one].pair = Some(tubes[other].name.clone());
        tubes[other].pair = Some(tubes[one].name.clone());
    }
}

/// The bars and offcuts that the tubes are cut from; `usual` is what the job's `tube` says. `None` where something is wrong, which is noted.
fn read_bars(page: &Page<'_>, block: &Block<'_>, usual: Size) -> Option<Bars> {
    let noted = page.log.count();
    let kerf = block.length("kerf", Limits::FROM_0);
    let end_waste = block.length("end_waste", Limits::FROM_0).unwrap_or_default();
    let [bars, offcuts] = ["bars", "offcuts"].map(|key| {
        let what = block.of(key);
        let items = block.get(key).and_then(|node| page.items(node, &what, BAR_HELP)).unwrap_or_default();
        let read = |(number, item)| read_bar(page, item, format!("entry {} of {what}", number + 1));
        items.iter().enumerate().filter_map(read).collect()
    });
    (page.log.count() == noted).then_some(Bars { kerf, end_waste, bars, offcuts, usual })
}

const BAR_HELP: &str = "lengths, or `{ length: 6000, count: 4 }` for several of one length";

fn read_bar(page: &Page<'_>, item: &Node, what: String) -> Option<Bar> {
    if !matches!(item.value, Value::Map(_)) {
        return Some(Bar { length: page.length(item, &what, Limits::ABOVE_0)?, count: None, size: Size::default() });
    }
    let bar = page.block(item, what, &item.span, keys::BAR)?;
    let length = bar.need_length("length", Limits::ABOVE_0, BAR_HELP);
    let count = bar.number("count", Limits::from_to(1.0, 10_000.0));
    if count.is_some_and(|count| count.fract() != 0.0) {
        page.mistake(
            "out-of-range",
            &bar.value_at("count"),
            format!("{} is no whole number", bar.of("count")),
            "write how many",
        );
    }
    let size = Size {
        od: bar.length("od", Limits::ABOVE_0),
        wall: bar.length("wall", Limits::ABOVE_0),
        material: bar.line("material"),
    };
    Some(Bar { length: length?, count: count.map(|count| count as u32), size })
}

/// The path of the bender file with its place, noted where it is missing.
pub(super) fn bender_path<'p>(page: &Page<'p>, top: &Block<'p>) -> Option<(&'p str, Place)> {
    let node =
        top.need("bender", "name the bender's file: `bender: floor-bender.yaml`, from the folder of this file")?;
    named_file(page, top, "bender", node)
}

/// The path that stands under a key, with its place.
pub(super) fn named_file<'p>(page: &Page<'p>, top: &Block<'p>, key: &str, node: &'p Node) -> Option<(&'p str, Place)> {
    Some((page.name(node, &top.of(key))?, page.place(&node.span)))
}
