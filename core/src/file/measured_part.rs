//! The record of a bent part.

use std::collections::BTreeMap;
use std::path::Path;

use nalgebra::Point3;

use super::beside::unread;
use super::job::named_file;
use super::keys;
use super::load::{open_job, open_record};
use super::mistake::{Mistake, Mistakes, Source, nearest, quoted};
use super::reader::{Block, Limits, Page, counted, listed};
use super::source::Files;
use super::tree::{Node, Value};
use super::tube::TAKEN;
use crate::centreline::{BendId, Taken};
use crate::forming::LeadEnd;
use crate::inspect::{AsBent, Measurement, Part, PartAccuracy, Passed, Wanted};
use crate::job::Job;
use crate::order::Order;
use crate::units::{Angle, Length};

/// Measurements that a record may hold: far more than anybody takes of one part, and all of them are weighed against each other.
const MOST: usize = 500;

/// A length that is this many times the wanted one, or this part of it, is in other units: 10 from mm to cm is the least of such steps.
const OTHER_UNITS: f64 = 4.0;

/// Bends that lie flat together have their normals within this of each other.
const ONE_PLANE: Angle = Angle::deg(5.0);

/// The record of a bent part from its file, with its job and the job's bender.
///
/// # Errors
///
/// All mistakes of the record; where it has a job, those of the job and of what that names.
pub fn load_measured_part(files: &dyn Files, path: &Path) -> Result<Part, Mistakes> {
    open_record(files, path, ("measured-part", "the record"), keys::MEASURED_PART, |page, top, sources| {
        if top.has("job") {
            job_of(files, path, page, top, sources).and_then(|job| of_job(page, top, job))
        } else {
            to_be_copied(page, top)
        }
    })
}

/// The job that a record names; its mistakes are noted in its own files.
fn job_of(
    files: &dyn Files,
    record: &Path,
    page: &Page<'_>,
    top: &Block<'_>,
    sources: &mut Vec<Source>,
) -> Option<Job> {
    let (named, place) = named_file(page, top, "job", top.get("job")?)?;
    let path = record.parent().unwrap_or(Path::new("")).join(named);
    if let Err(error) = files.read(&path) {
        page.log.add(unread(place, named, &path, &error));
        return None;
    }
    match open_job(files, &path) {
        Ok(opened) => {
            sources.extend(opened.files);
            Some(opened.job)
        }
        Err(mistakes) => {
            let before = sources.len();
            sources.extend(mistakes.files);
            for mut mistake in mistakes.list {
                mistake.place.file += before;
                mistake.related.iter_mut().for_each(|(place, _)| place.file += before);
                page.log.add(mistake);
            }
            None
        }
    }
}

/// What the measurements are of: the nodes by name, the bends, and what was wanted.
struct Tube<'j> {
    nodes: Vec<String>,
    corners: Vec<usize>,
    bends: usize,
    wanted: Option<&'j crate::job::Tube>,
}

fn of_job(page: &Page<'_>, top: &Block<'_>, job: Job) -> Option<Part> {
    for key in ["od", "clr"] {
        if top.has(key) {
            page.mistake(
                "key-out-of-place",
                &top.key_at(key),
                format!("{} stands beside `job`, which says it already", top.of(key)),
                "take it out; `od` and `clr` are for a part without a job",
            );
        }
    }
    let place = tube_of(page, top, &job)?;
    let wanted = &job.tubes[place];
    let line = &wanted.centreline;
    let named = |(place, name): (usize, &Option<String>)| name.clone().unwrap_or_else(|| format!("n{place}"));
    let tube = Tube {
        nodes: wanted.node_names.iter().enumerate().map(named).collect(),
        corners: line.bend_nodes.clone(),
        bends: line.rows.bends.len(),
        wanted: Some(wanted),
    };
    let read = read(page, top, &tube)?;
    let passed = line
        .passed
        .iter()
        .filter_map(|node| {
            let leg = line.bend_nodes.iter().filter(|corner| *corner < node).count();
            let from = leg.checked_sub(1).map_or(0, |bend| line.bend_nodes[bend]);
            let to = line.bend_nodes.get(leg).copied().unwrap_or(line.nodes.len() - 1);
            let at = |node: usize| line.nodes[node];
            let (from, to, here) = (at(from)?, at(to)?, at(*node)?);
            Some(Passed { node: *node, leg, share: (here - from).norm() / (to - from).norm() })
        })
        .collect();
    let (radii, od) = (line.radii.clone(), wanted.stock.od);
    let (nodes, corners) = (tube.nodes, tube.corners);
    Some(read.part(page, od, radii, nodes, corners, passed, Some(Wanted { job, tube: place })))
}

fn tube_of(page: &Page<'_>, top: &Block<'_>, job: &Job) -> Option<usize> {
    let names = || job.tubes.iter().map(|tube| tube.name.as_str());
    let help = format!("say which tube of the job: it has {}", listed(names()));
    if !top.has("tube") && job.tubes.len() == 1 {
        return Some(0);
    }
    let node = top.need("tube", &help)?;
    let name = page.name(node, &top.of("tube"))?;
    let found = job.tubes.iter().position(|tube| tube.name == name);
    if found.is_none() {
        let mistake =
            Mistake::new("tube-unknown", page.place(&node.span), format!("the job has no tube {}", quoted(name)), help);
        page.log.add(match nearest(name, names()) {
            Some(meant) => mistake.label(format!("did you mean {}?", quoted(meant))).fix(meant),
            None => mistake.label("no such tube"),
        });
    }
    found
}

/// A part without a job: how many bends it has is told by what was measured.
fn to_be_copied(page: &Page<'_>, top: &Block<'_>) -> Option<Part> {
    for key in ["tube", "order", "readings", "marks", "tops", "cut", "fit"] {
        if top.has(key) {
            page.mistake(
                "key-out-of-place",
                &top.key_at(key),
                format!("{} is for a part that has a job", top.of(key)),
                "name the job, `job: buggy.yaml`, or take the line out",
            );
        }
    }
    let help = "a part without a `job` needs its outside diameter: measure it with a caliper";
    let od = top.need_length("od", Limits::ABOVE_0, help);
    let help = "a part without a `job` needs the centreline radius of its bends: half of what a caliper or a chalk circle shows of the arc's inside and outside together";
    let clr = top.need_length("clr", Limits::ABOVE_0, help);
    if let (Some(od), Some(clr)) = (od, clr)
        && clr <= od / 2.0
    {
        page.mistake(
            "out-of-range",
            &top.value_at("clr"),
            format!("`clr`, {}, is not over half of `od`, {}", page.shown(clr), page.shown(od)),
            "see whether the two are swapped, or in which units they are",
        );
    }
    let list = |key: &str| match top.get(key).map(|node| &node.value) {
        Some(Value::List(items)) => Some(items.len()),
        _ => None,
    };
    let names: Vec<String> = top
        .get("nodes")
        .and_then(|node| page.named(node, &top.of("nodes"), NODES_HELP))
        .unwrap_or_default()
        .iter()
        .map(|named| named.name.to_owned())
        .collect();
    let by_nodes = top.has("nodes").then(|| names.len().saturating_sub(2));
    let by_legs = list("legs").map(|legs| legs.saturating_sub(1));
    let by_touch = || {
        let items = top.get("touched").and_then(|node| page.items(node, &top.of("touched"), TOUCHED_HELP))?;
        let leg = |item: &Node| match &item.value {
            Value::Map(entries) => {
                let leg = entries.iter().find(|entry| entry.key.written() == Some("leg"))?;
                leg.value.written()?.parse::<usize>().ok().filter(|leg| (1..=MOST).contains(leg))
            }
            _ => None,
        };
        items.iter().filter_map(leg).max().map(|leg| leg - 1)
    };
    let by_rotations = || list("rotations").map(|rotations| rotations + 1);
    let Some(bends) = by_nodes.or(by_legs).or_else(|| list("bends")).or_else(by_rotations).or_else(by_touch) else {
        page.mistake(
            "value-missing",
            &top.at,
            "nothing says how many bends the part has",
            "give `nodes`, or `legs` and `bends` of all of it, or points `touched` on each leg",
        );
        return None;
    };
    if top.has("nodes") && names.len() < 2 {
        page.mistake(
            "too-few-nodes",
            &top.value_at("nodes"),
            format!("{} has {}; a part has at least its two ends", top.of("nodes"), counted(names.len(), "node")),
            NODES_HELP,
        );
        return None;
    }
    let nodes = if by_nodes.is_some() { names } else { (0..bends + 2).map(|node| format!("n{node}")).collect() };
    let tube = Tube { nodes, corners: (1..=bends).collect(), bends, wanted: None };
    let read = read(page, top, &tube)?;
    let (nodes, corners) = (tube.nodes, tube.corners);
    Some(read.part(page, od?, vec![clr?; bends], nodes, corners, Vec::new(), None))
}

/// What a record says besides what it is of.
struct Read {
    accuracy: PartAccuracy,
    measured: Vec<Measurement>,
    hold: Option<LeadEnd>,
    weights: Vec<f64>,
    bent: AsBent,
}

impl Read {
    #[expect(clippy::too_many_arguments, reason = "a part put together from what two files say")]
    fn part(
        self,
        page: &Page<'_>,
        od: Length,
        radii: Vec<Length>,
        nodes: Vec<String>,
        corners: Vec<usize>,
        passed: Vec<Passed>,
        wanted: Option<Wanted>,
    ) -> Part {
        let Self { accuracy, measured, hold, weights, bent } = self;
        Part { units: page.unit, wanted, od, radii, nodes, corners, passed, accuracy, measured, hold, weights, bent }
    }
}

const NODES_HELP: &str = "each node is `name: [x, y, z]`, from end A to end B";
const TOUCHED_HELP: &str = "points on the tube's surface: `- { leg: 1, at: [12, 19.4, 260] }` for each";

fn read(page: &Page<'_>, top: &Block<'_>, tube: &Tube<'_>) -> Option<Read> {
    let before = page.log.count();
    let reading = Reading { page, top, tube };
    let accuracy = reading.accuracy();
    let mut measured = Vec::new();
    reading.nodes(&mut measured);
    reading.legs(&mut measured);
    reading.angles(&mut measured);
    reading.distances(&mut measured);
    reading.touched(&mut measured);
    reading.lying(&mut measured);
    let (hold, weights) = reading.fit();
    let bent = reading.bent();
    if page.log.count() > before {
        return None;
    }
    if measured.is_empty() {
        page.mistake(
            "value-missing",
            &top.at,
            "the record says nothing of the part: nothing in it was measured",
            "give one or more of `nodes`, `legs`, `bends`, `rotations`, `distances`, `touched`, `lying`",
        );
        return None;
    }
    if measured.len() > MOST {
        page.mistake(
            "count-wrong",
            &top.at,
            format!("the record has {}; the most that are read is {MOST}", counted(measured.len(), "measurement")),
            "leave out points that lie close beside each other",
        );
        return None;
    }
    Some(Read { accuracy, measured, hold, weights, bent })
}

struct Reading<'r, 'p> {
    page: &'r Page<'r>,
    top: &'r Block<'r>,
    tube: &'r Tube<'p>,
}

impl<'r> Reading<'r, '_> {
    fn accuracy(&self) -> PartAccuracy {
        let Some(block) = self.top.block("accuracy", keys::PART_ACCURACY) else { return PartAccuracy::default() };
        let hint = "one standard deviation: what two of three readings of the same thing lie within; nothing is measured exactly";
        PartAccuracy {
            length: block.length("length", Limits::ABOVE_0.hint(hint)),
            angle: block.angle("angle", Limits::above_to(0.0, 45.0).hint(hint)),
        }
    }

    /// Place of a node by name, noted where there is none.
    fn node(&self, name: &str, at: &core::ops::Range<usize>) -> Option<usize> {
        let names = || self.tube.nodes.iter().map(String::as_str);
        let found = self.tube.nodes.iter().position(|node| node == name);
        if found.is_none() {
            let mistake = Mistake::new(
                "node-unknown",
                self.page.place(at),
                format!("the tube has no node {}", quoted(name)),
                format!("its nodes are {}", listed(names())),
            );
            self.page.log.add(match nearest(name, names()) {
                Some(meant) => mistake.label(format!("did you mean {}?", quoted(meant))).fix(meant),
                None => mistake.label("no such node"),
            });
        }
        let corner = self.tube.wanted.zip(found).is_none_or(|(wanted, node)| wanted.centreline.nodes[node].is_some());
        if !corner {
            self.page.mistake(
                "measure-unfit",
                at,
                format!("the node {} is a bend of more than 175 degrees: it has no corner point", quoted(name)),
                "measure to an end, or to another corner",
            );
            return None;
        }
        found
    }

    fn name_of_node(&self, block: &Block<'_>, key: &str) -> Option<usize> {
        let node = block.need(key, "name a node")?;
        let name = self.page.name(node, &block.of(key))?;
        self.node(name, &node.span)
    }

    /// A bend, a leg by its number, from 1.
    fn number(
        &self,
        written: Option<&str>,
        at: &core::ops::Range<usize>,
        thing: &str,
        range: (usize, usize),
    ) -> Option<usize> {
        let said = written.unwrap_or_default();
        let (least, most) = range;
        match said.parse::<usize>() {
            Ok(number) if (least..=most).contains(&number) => Some(number),
            _ => {
                let there = match most {
                    _ if most < least => format!("the tube has no {thing} that this could be of"),
                    1 => format!("the tube has 1 {thing}"),
                    _ => format!("the tube has {}, counted from end A", counted(most, thing)),
                };
                let there = if least > 1 && most >= least {
                    format!("{there}; it is one from {least} to {most}")
                } else {
                    there
                };
                self.page.mistake("bend-unknown", at, format!("there is no {thing} {}", quoted(said)), there);
                None
            }
        }
    }

    /// Values by number: a list of all of them, or a map from number to value.
    fn by_number<T>(
        &self,
        key: &str,
        thing: &str,
        range: (usize, usize),
        value: &dyn Fn(&Node, &str) -> Option<T>,
    ) -> BTreeMap<usize, T> {
        let (page, top) = (self.page, self.top);
        let Some(node) = top.get(key) else { return BTreeMap::new() };
        let (least, most) = range;
        let count = (most + 1).saturating_sub(least);
        if let Value::List(items) = &node.value {
            if items.len() != count {
                page.mistake(
                    "count-wrong",
                    &node.span,
                    format!(
                        "{} has {}; the tube has {}",
                        top.of(key),
                        counted(items.len(), "figure"),
                        counted(count, thing)
                    ),
                    format!("give all of them from end A on, or some by number: `{key}: {{ {least}: ... }}`"),
                );
                return BTreeMap::new();
            }
            let read = |(place, item): (usize, &Node)| {
                Some((least + place, value(item, &format!("{thing} {}", least + place))?))
            };
            return items.iter().enumerate().filter_map(read).collect();
        }
        let help = format!("a list in square brackets from end A on, or `{{ {least}: ... }}` by number");
        let named = page.named(node, &top.of(key), &help).unwrap_or_default();
        named
            .iter()
            .filter_map(|named| {
                let number = self.number(Some(named.name), &named.at, thing, range)?;
                Some((number, value(named.node, &format!("{thing} {number}"))?))
            })
            .collect()
    }

    fn nodes(&self, measured: &mut Vec<Measurement>) {
        let Some(node) = self.top.get("nodes") else { return };
        let mut found: Vec<(usize, Point3<f64>, core::ops::Range<usize>)> = Vec::new();
        for named in self.page.named(node, &self.top.of("nodes"), NODES_HELP).unwrap_or_default() {
            let place = self.node(named.name, &named.at);
            let point = self.page.point(named.node, &format!("the node {}", quoted(named.name)));
            if let Some((place, point)) = place.zip(point) {
                found.push((place, point, named.at));
            }
        }
        if let Some(wanted) = self.tube.wanted {
            let nodes = &wanted.centreline.nodes;
            for pair in found.windows(2) {
                let [(one, from, _), (other, to, at)] = pair else { continue };
                if let Some((one, other)) = nodes[*one].zip(nodes[*other]) {
                    let what = format!(
                        "the distance between {} and {}",
                        quoted(&self.tube.nodes[pair[0].0]),
                        quoted(&self.tube.nodes[pair[1].0])
                    );
                    self.units(at, &what, Length::mm((to - from).norm()), Length::mm((other - one).norm()));
                }
            }
        }
        measured.extend(found.into_iter().map(|(node, at, _)| Measurement::Node { node, at }));
    }

    /// Notes a length that is in other units than the job's.
    fn units(&self, at: &core::ops::Range<usize>, what: &str, read: Length, wanted: Length) {
        let (small, large) = (read.min(wanted).abs(), read.max(wanted).abs());
        // Two of an OD apart may be anything.
        if large > small * OTHER_UNITS && large > Length::mm(50.0) {
            self.page.mistake(
                "measure-unfit",
                at,
                format!("{what} is {}, and the job wants {}", self.page.shown(read), self.page.shown(wanted)),
                format!(
                    "bare numbers are in {} in this file: see whether that was meant, and whether it is this tube",
                    quoted(self.page.unit.name())
                ),
            );
        }
    }

    fn legs(&self, measured: &mut Vec<Measurement>) {
        let taken = self.top.word("measured", &TAKEN).unwrap_or_default();
        if self.top.has("measured") && !self.top.has("legs") {
            self.page.mistake(
                "key-out-of-place",
                &self.top.key_at("measured"),
                format!("{} says how `legs` were taken, and there are none", self.top.of("measured")),
                "give `legs`, or take it out; a distance has a `measured` of its own",
            );
        }
        let value = |node: &Node, what: &str| Some((self.page.length(node, what, Limits::ABOVE_0)?, node.span.clone()));
        let legs = self.by_number("legs", "leg", (1, self.tube.bends + 1), &value);
        let wanted = self.tube.wanted.map(|wanted| wanted.centreline.legs());
        for (number, (length, at)) in legs {
            let leg = number - 1;
            match wanted.as_ref().map(|wanted| wanted[leg]) {
                Some(None) => self.page.mistake(
                    "measure-unfit",
                    &at,
                    format!("leg {number} ends at a bend of more than 175 degrees: it has no corner to be taped to"),
                    "leave it out, and tape from end to end: `distances`",
                ),
                Some(Some(wanted)) => self.units(&at, &format!("leg {number}"), length, wanted),
                None => {}
            }
            measured.push(Measurement::Leg { leg, length, taken });
        }
    }

    fn angles(&self, measured: &mut Vec<Measurement>) {
        let bend = |node: &Node, what: &str| self.page.angle(node, what, Limits::from_to(0.0, 360.0));
        let turn = |node: &Node, what: &str| self.page.angle(node, what, Limits::from_to(-360.0, 360.0));
        let bends = self.by_number("bends", "bend", (1, self.tube.bends), &bend);
        measured.extend(bends.into_iter().map(|(number, angle)| Measurement::Bend { bend: BendId(number - 1), angle }));
        let rotations = self.by_number("rotations", "rotation", (2, self.tube.bends), &turn);
        measured.extend(
            rotations
                .into_iter()
                .map(|(number, angle)| Measurement::Rotation { bend: BendId(number - 1), angle: angle.wrapped() }),
        );
    }

    fn distances(&self, measured: &mut Vec<Measurement>) {
        const HELP: &str = "straight distances: `- { from: NODE, to: NODE, length: 1004, measured: outside }` for each";
        let Some(node) = self.top.get("distances") else { return };
        let items = self.page.items(node, &self.top.of("distances"), HELP).unwrap_or_default();
        for (number, item) in items.iter().enumerate() {
            let what = format!("distance {}", number + 1);
            let Some(block) = self.page.block(item, what.clone(), &item.span, keys::PART_DISTANCE) else { continue };
            let (from, to) = (self.name_of_node(&block, "from"), self.name_of_node(&block, "to"));
            let length = block.need_length("length", Limits::ABOVE_0, "what the tape says");
            let taken: Taken = block.word("measured", &TAKEN).unwrap_or_default();
            let (Some(from), Some(to), Some(length)) = (from, to, length) else { continue };
            if from == to {
                self.page.mistake(
                    "node-twice",
                    &block.value_at("to"),
                    format!("{what} goes from a node to itself"),
                    HELP,
                );
                continue;
            }
            let nodes = self.tube.wanted.map(|wanted| &wanted.centreline.nodes);
            if let Some((one, other)) = nodes.and_then(|nodes| nodes[from].zip(nodes[to])) {
                self.units(&block.value_at("length"), &what, length, Length::mm((other - one).norm()));
            }
            measured.push(Measurement::Distance { from, to, length, taken });
        }
    }

    fn touched(&self, measured: &mut Vec<Measurement>) {
        let Some(node) = self.top.get("touched") else { return };
        let items = self.page.items(node, &self.top.of("touched"), TOUCHED_HELP).unwrap_or_default();
        for (number, item) in items.iter().enumerate() {
            let what = format!("touched point {}", number + 1);
            let Some(block) = self.page.block(item, what, &item.span, keys::PART_TOUCHED) else { continue };
            let leg = block.need("leg", "say on which leg: leg 1 begins at end A");
            let leg = leg.and_then(|node| self.number(node.written(), &node.span, "leg", (1, self.tube.bends + 1)));
            let at = block.need_point("at", "where it was touched: `at: [x, y, z]`");
            if let Some((leg, at)) = leg.zip(at) {
                measured.push(Measurement::Touched { leg: leg - 1, at });
            }
        }
    }

    fn lying(&self, measured: &mut Vec<Measurement>) {
        let Some(block) = self.top.block("lying", keys::PART_LYING) else { return };
        let Some(flat) = self.flat(&block) else { return };
        let help = "which nodes stand how high over the bends that lie flat: `up: { sill-right: 214 }`, negative below";
        let Some(up) = block.need("up", help) else { return };
        for named in self.page.named(up, &block.of("up"), help).unwrap_or_default() {
            let height = self.page.length(named.node, &format!("the height of {}", quoted(named.name)), Limits::ANY);
            if let Some((node, up)) = self.node(named.name, &named.at).zip(height) {
                measured.push(Measurement::Lying { flat: flat.clone(), node, up });
            }
        }
    }

    fn flat(&self, block: &Block<'_>) -> Option<Vec<BendId>> {
        let help = "with which bend flat on the bench: `flat: 1`, or several that lie in one plane: `flat: [1, 2]`";
        let node = block.need("flat", help)?;
        let items = match &node.value {
            Value::List(items) => items.iter().collect(),
            _ => vec![node],
        };
        if items.is_empty() {
            self.page.mistake("value-missing", &node.span, format!("{} is empty", block.of("flat")), help);
        }
        let read = |item: &&Node| self.number(item.written(), &item.span, "bend", (1, self.tube.bends));
        let numbers: Vec<usize> = items.iter().map(read).collect::<Option<_>>()?;
        let flat: Vec<BendId> = numbers.iter().map(|number| BendId(number - 1)).collect();
        if let Some(wanted) = self.tube.wanted {
            let normal = |bend: &BendId| {
                wanted.centreline.segments().into_iter().find_map(|segment| match segment {
                    crate::centreline::Segment::Arc { bend: of, normal, .. } if of == *bend => {
                        Some(normal.into_inner())
                    }
                    _ => None,
                })
            };
            let normals: Vec<_> = flat.iter().filter_map(normal).collect();
            let apart =
                normals.iter().position(|normal| normal.cross(&normals[0]).norm() > libm::sin(ONE_PLANE.to_rad()));
            if let Some(apart) = apart {
                self.page.mistake(
                    "measure-unfit",
                    &items[apart].span,
                    format!(
                        "bends {} and {} do not lie in one plane: they cannot both lie flat",
                        numbers[0], numbers[apart]
                    ),
                    help,
                );
                return None;
            }
        }
        if flat.is_empty() { None } else { Some(flat) }
    }

    fn fit(&self) -> (Option<LeadEnd>, Vec<f64>) {
        let mut weights = vec![1.0; self.tube.nodes.len()];
        let Some(block) = self.top.block("fit", keys::PART_FIT) else { return (None, weights) };
        let hold = block.word("hold", &[("A", LeadEnd::A), ("B", LeadEnd::B)]);
        if let Some(node) = block.get("weights") {
            let help = "what a node counts beside the others, each of them 1: `weights: { sill-left: 10 }`";
            for named in self.page.named(node, &block.of("weights"), help).unwrap_or_default() {
                let weight = self.page.number(
                    named.node,
                    &format!("the weight of {}", quoted(named.name)),
                    Limits::from_to(0.0, 1e6),
                    "",
                );
                if let Some((node, weight)) = self.node(named.name, &named.at).zip(weight) {
                    weights[node] = weight;
                }
            }
        }
        (hold, weights)
    }

    fn bent(&self) -> AsBent {
        let (page, top) = (self.page, self.top);
        let order = top.get("order").and_then(|node| {
            let text = page.name(node, &top.of("order"))?;
            if let Err(mistake) = Order::parse(text, self.tube.bends) {
                page.mistake(
                    "order-unclear",
                    &node.span,
                    format!("{} cannot be followed: {mistake}", top.of("order")),
                    "each bend's number with the end that led, in the order of making: `order: \"2A 1A\"`",
                );
            }
            Some(text.to_owned())
        });
        let bends = (1, self.tube.bends);
        AsBent {
            order,
            readings: self.by_number("readings", "bend", bends, &|node, what| {
                page.angle(node, &format!("the reading of {what}"), Limits::from_to(-360.0, 720.0))
            }),
            marks: self.by_number("marks", "bend", bends, &|node, what| {
                page.length(node, &format!("the mark of {what}"), Limits::ANY)
            }),
            tops: self.by_number("tops", "bend", bends, &|node, what| {
                page.angle(node, &format!("the top line of {what}"), Limits::from_to(-360.0, 360.0))
            }),
            cut: top.length("cut", Limits::ABOVE_0),
        }
    }
}
