//! The record of a survey.

use core::ops::Range;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

use nalgebra::{DMatrix, Point3};
use sha2::{Digest, Sha256};

use super::job::{named_file, read_plane};
use super::keys::{self, Keys};
use super::load::{as_tree, fingerprint, finish, note_head, open_text, page, top_at};
use super::mistake::{Mistake, Mistakes, Place, Source, nearest, quoted};
use super::reader::{Block, Limits, Log, Page, counted, listed};
use super::source::Files;
use super::tree::{Node, Value};
use super::tube::TAKEN;
use crate::centreline::Taken;
use crate::job::Surveyed;
use crate::round::People;
use crate::survey::{Drop, Flush, Frame, Height, Record, Symmetry, Tape, survey};
use crate::units::Length;

/// Points that a survey may have: more than a chassis has corners, and every pair of them is looked at.
const MOST_POINTS: usize = 60;

/// Readings that it may have.
const MOST_READINGS: usize = 600;

/// A survey from its file.
///
/// # Errors
///
/// All mistakes of the file.
pub fn load_survey(files: &dyn Files, path: &Path) -> Result<Record, Mistakes> {
    let log = Log::default();
    let name = path.to_string_lossy();
    let (text, found) = open_survey(files, path, &log, 0, &mut Sha256::new(), (Place::new(0, &(0..0)), &name));
    finish(log, vec![Source { path: name.into_owned(), text }], found)
}

/// Reads a survey as the file number `file`; its text, and what it says. `named` is the place and the words that named it.
pub(super) fn open_survey(
    files: &dyn Files,
    path: &Path,
    log: &Log,
    file: usize,
    sum: &mut Sha256,
    named: (Place, &str),
) -> (Arc<str>, Option<Record>) {
    let text = match open_text(files, path, log, file, sum, named) {
        Ok(text) => text,
        Err(shown) => return (shown, None),
    };
    let found = as_tree(log, file, &text).and_then(|tree| {
        let page = page(log, file, &text, &tree, "survey")?;
        let top = page.block(&tree, "the survey", &top_at(&tree), keys::SURVEY)?;
        note_head(&top, "survey");
        Reading::new(&page, &top).record()
    });
    (text, found)
}

/// What a job has from its survey.
pub(super) struct OfJob {
    pub(super) surveyed: Surveyed,
    /// The points that it tells.
    pub(super) points: Vec<(String, Point3<f64>)>,
    /// Those that it does not.
    pub(super) untold: Vec<String>,
}

/// The survey that a job names, as the next of its `sources`, worked out; `None` where it names none, and where there is a mistake, which is noted.
pub(super) fn survey_of_job(
    files: &dyn Files,
    job: &Path,
    page: &Page<'_>,
    top: &Block<'_>,
    sources: &mut Vec<Source>,
) -> Option<OfJob> {
    let (named, place) = named_file(page, top, "survey", top.get("survey")?)?;
    let path = job.parent().unwrap_or(Path::new("")).join(named);
    // Where the nodes are hangs on it, and the job's fingerprint leaves it out: it has one of its own.
    let mut sum = Sha256::new();
    let (text, found) = open_survey(files, &path, page.log, sources.len(), &mut sum, (place, named));
    sources.push(Source { path: path.to_string_lossy().into_owned(), text });
    let record = found?;
    let told = match survey(&record) {
        Ok(told) => told,
        Err(fault) => {
            page.mistake(
                "survey-unsolved",
                &top.value_at("survey"),
                format!("the survey tells no points: {fault}"),
                "the frame takes three points that are joined by tapes and stand well off one line; see whether two tapes are swapped",
            );
            return None;
        }
    };
    let (mut points, mut untold, mut nodes) = (Vec::new(), Vec::new(), BTreeMap::new());
    for (place, (name, found)) in record.points.iter().zip(&told.points).enumerate() {
        match found.point() {
            Some(at) => {
                points.push((name.clone(), at));
                nodes.insert(name.clone(), place);
            }
            None => untold.push(name.clone()),
        }
    }
    let count = record.points.len();
    let mut covariance = DMatrix::zeros(3 * count, 3 * count);
    for one in 0..count {
        for other in 0..count {
            covariance.fixed_view_mut::<3, 3>(3 * one, 3 * other).copy_from(&told.covariance(one, other));
        }
    }
    let notes = told.notes(&record, &People::usual(page.unit));
    let doubt =
        notes.into_iter().find(|note| matches!(note.code, "misread" | "misread-unsure" | "disagrees" | "found-once"));
    let surveyed = Surveyed {
        file: named.to_owned(),
        fingerprint: fingerprint(sum),
        nodes,
        covariance,
        doubt: doubt.map(|note| note.text),
    };
    Some(OfJob { surveyed, points, untold })
}

/// Standard deviations that hold where a reading has none of its own.
#[derive(Clone, Copy, Default)]
struct Accuracy {
    length: Option<Length>,
    plumb: Option<Length>,
    height: Option<Length>,
    flush: Option<Length>,
    symmetric: Option<Length>,
}

/// A standard deviation within reason: what is a thousand times finer than a tape, or coarser than a chassis, is a slip.
fn deviation(page: &Page<'_>, block: &Block<'_>, key: &str) -> Option<Length> {
    const REASON: (Length, Length) = (Length::mm(1e-4), Length::mm(1e5));
    const HINT: &str =
        "one standard deviation: what two of three readings of the same thing lie within; nothing is measured exactly";
    let sd = block.length(key, Limits::ABOVE_0.hint(HINT))?;
    if (REASON.0..=REASON.1).contains(&sd) {
        return Some(sd);
    }
    page.mistake(
        "out-of-range",
        &block.value_at(key),
        format!(
            "{} is {}; no tape is that {}",
            block.of(key),
            page.shown(sd),
            if sd < REASON.0 { "good" } else { "bad" }
        ),
        HINT,
    );
    None
}

/// A survey being read.
struct Reading<'p> {
    page: &'p Page<'p>,
    top: &'p Block<'p>,
    accuracy: Accuracy,
    points: Vec<String>,
    known: BTreeMap<String, usize>,
    /// Points that some reading names.
    measured: BTreeSet<usize>,
    readings: usize,
}

const NAME_HELP: &str = "a point has a name of your own, the same wherever it is meant: `from: sill-left`";

impl<'p> Reading<'p> {
    fn new(page: &'p Page<'p>, top: &'p Block<'p>) -> Self {
        let accuracy = top.block("accuracy", keys::SURVEY_ACCURACY).map(|block| {
            let read = |key| deviation(page, &block, key);
            Accuracy {
                length: read("length"),
                plumb: read("plumb"),
                height: read("height"),
                flush: read("flush"),
                symmetric: read("symmetric"),
            }
        });
        let accuracy = accuracy.unwrap_or_default();
        Self { page, top, accuracy, points: Vec::new(), known: BTreeMap::new(), measured: BTreeSet::new(), readings: 0 }
    }

    fn record(mut self) -> Option<Record> {
        let (page, top) = (self.page, self.top);
        let frame = self.frame();
        self.measured.clear();
        let tape_sd = self.accuracy.length;
        if tape_sd.is_none() && !top.block_says("accuracy", "length") {
            page.mistake(
                "key-missing",
                &if top.has("accuracy") { top.value_at("accuracy") } else { top.at.clone() },
                "nothing says how good the tape is",
                "give one standard deviation of a taped distance: `accuracy: { length: 1 }`, what two of three readings lie within",
            );
        }
        let help = "a list of taped distances: `distances:`, then `- { from: p1, to: p2, length: 1200 }` for each";
        let node = top.need("distances", help);
        let items = node.and_then(|node| page.items(node, &top.of("distances"), help)).unwrap_or_default();
        if let Some(node) = node
            && items.is_empty()
            && matches!(node.value, Value::List(_))
        {
            page.mistake("value-missing", &node.span, format!("{} is empty", top.of("distances")), help);
        }
        let mut tapes = Vec::new();
        for (number, item) in items.iter().enumerate() {
            let what = format!("distance {}", number + 1);
            let Some(block) = page.block(item, what, &item.span, keys::DISTANCE) else { continue };
            tapes.extend(self.tape(&block));
            self.readings += 1;
        }
        let mut drops = Vec::new();
        self.each("drops", "drop", keys::DROP, &mut |reading, block| {
            drops.extend(reading.drop(block));
            reading.readings += 2;
        });
        let (mut heights, mut level_lines) = (Vec::new(), 0);
        self.each("levels", "level line", keys::LEVELS, &mut |reading, block| {
            let found = reading.heights(block, level_lines);
            reading.readings += found.len();
            heights.extend(found);
            level_lines += 1;
        });
        let mut lines = Vec::new();
        self.each("lines", "line", keys::FLUSH, &mut |reading, block| lines.extend(reading.flush(block, 3, "a line")));
        let mut planes = Vec::new();
        self.each("planes", "plane", keys::FLUSH, &mut |reading, block| {
            planes.extend(reading.flush(block, 4, "a plane"))
        });
        let mut symmetries = Vec::new();
        self.each("symmetric", "symmetry", keys::SYMMETRY, &mut |reading, block| {
            symmetries.extend(reading.symmetry(block))
        });
        let about = self.about();
        if frame.is_some_and(|frame| frame.up.is_none()) && !planes.is_empty() {
            page.mistake(
                "key-out-of-place",
                &top.key_at("planes"),
                "all points of a flat network lie in one plane",
                "take `planes` out, or name a point that stands off the plane under `up` instead of `flat: true`",
            );
        }
        self.note_alone();
        if self.points.len() > MOST_POINTS || self.readings > MOST_READINGS {
            page.mistake(
                "count-wrong",
                &top.key_at("distances"),
                format!(
                    "the survey has {} and {}; the most that are read are {MOST_POINTS} and {MOST_READINGS}",
                    counted(self.points.len(), "point"),
                    counted(self.readings, "reading")
                ),
                "survey one part after the other, with points that they share",
            );
            return None;
        }
        Some(Record {
            units: page.unit,
            date: top.line("date"),
            points: self.points,
            frame: frame?,
            tape_sd: tape_sd?,
            tapes,
            drops,
            level_lines,
            heights,
            lines,
            planes,
            symmetries,
            about,
        })
    }

    /// Goes through a list of blocks under a key that may be left out.
    fn each(&mut self, key: &str, thing: &str, keys: Keys, read: &mut dyn FnMut(&mut Self, &Block<'p>)) {
        let (page, top) = (self.page, self.top);
        let Some(node) = top.get(key) else { return };
        let help = format!(
            "a list: `{key}:`, then `- {{ ... }}` for each; the keys of one are {}",
            listed(keys.iter().copied())
        );
        for (number, item) in page.items(node, &top.of(key), &help).unwrap_or_default().iter().enumerate() {
            if let Some(block) = page.block(item, format!("{thing} {}", number + 1), &item.span, keys) {
                read(self, &block);
            }
        }
    }

    /// The point of a name, which a reading may be the first to name.
    fn point(&mut self, node: &Node, what: &str) -> Option<usize> {
        self.page.name(node, what).map(|name| self.point_named(name))
    }

    fn point_named(&mut self, name: &str) -> usize {
        let point = self.known.get(name).copied().unwrap_or(self.points.len());
        if point == self.points.len() {
            self.points.push(name.to_owned());
            self.known.insert(name.to_owned(), point);
        }
        self.measured.insert(point);
        point
    }

    fn named(&mut self, block: &Block<'p>, key: &str) -> Option<usize> {
        let node = block.need(key, NAME_HELP)?;
        self.point(node, &block.of(key))
    }

    /// Two points that a reading lies between.
    fn between(&mut self, block: &Block<'p>) -> Option<(usize, usize)> {
        let (from, to) = (self.named(block, "from"), self.named(block, "to"));
        let (from, to) = (from?, to?);
        if from == to {
            self.note_twice(block, "to", to);
            return None;
        }
        Some((from, to))
    }

    fn note_twice(&self, block: &Block<'p>, key: &str, point: usize) {
        self.page.mistake(
            "point-twice",
            &block.value_at(key),
            format!("{} names {} twice", block.what, quoted(&self.points[point])),
            "name another point",
        );
    }

    fn frame(&mut self) -> Option<Frame> {
        let help = "say which points make the axes: `frame: { origin: p1, x: p2, xy: p4, up: p5 }`, p1 at zero, p2 on +x, p4 in the plane z = 0 at y > 0, p5 at z > 0";
        let node = self.top.need("frame", help)?;
        let block = self.page.block(node, self.top.of("frame"), &self.top.key_at("frame"), keys::FRAME)?;
        let (origin, x, xy) = (self.named(&block, "origin"), self.named(&block, "x"), self.named(&block, "xy"));
        let flat = block.truth("flat");
        let up = match (block.has("up"), flat) {
            (true, Some(true)) => {
                self.page.mistake(
                    "key-out-of-place",
                    &block.key_at("up"),
                    format!("{} has both `up` and `flat: true`", block.what),
                    "nothing stands off the plane of a flat network: take one of the two out",
                );
                None
            }
            (false, Some(true)) => Some(None),
            (false, None) if block.has("flat") => None,
            (_, _) => {
                let help = "name a point at z > 0: `up: p5`, since no tape tells left from right; or say `flat: true` where all lies in one plane";
                let node = block.need("up", help);
                node.and_then(|node| self.point(node, &block.of("up"))).map(Some)
            }
        };
        let (origin, x, xy, up) = (origin?, x?, xy?, up?);
        let mut seen: Vec<usize> = Vec::new();
        for (key, point) in [("origin", Some(origin)), ("x", Some(x)), ("xy", Some(xy)), ("up", up)] {
            let Some(point) = point else { continue };
            if seen.contains(&point) {
                self.note_twice(&block, key, point);
                return None;
            }
            seen.push(point);
        }
        Some(Frame { origin, x, xy, up })
    }

    /// Notes points of the frame that nothing was measured to: most likely a name was mistyped.
    fn note_alone(&self) {
        if self.measured.is_empty() {
            return;
        }
        let Some(block) = self.top.get("frame").filter(|node| matches!(node.value, Value::Map(_))) else { return };
        let Value::Map(entries) = &block.value else { return };
        for entry in entries {
            let Some(name) =
                entry.value.written().filter(|_| matches!(entry.key.written(), Some("origin" | "x" | "xy" | "up")))
            else {
                continue;
            };
            let Some(point) = self.known.get(name) else { continue };
            if !self.measured.contains(point) {
                self.note_unknown(&entry.value.span, name, "the frame");
            }
        }
    }

    fn note_unknown(&self, at: &Range<usize>, name: &str, what: &str) {
        let measured: Vec<&str> = self.measured.iter().map(|point| self.points[*point].as_str()).collect();
        let mistake = Mistake::new(
            "point-unknown",
            self.page.place(at),
            format!("{what} names the point {}, which no reading names", quoted(name)),
            format!("the points are {}", listed(measured.iter().copied())),
        );
        self.page.log.add(match nearest(name, measured.iter().copied()) {
            Some(meant) => mistake.label(format!("did you mean {}?", quoted(meant))).fix(meant),
            None => mistake.label("no such point"),
        });
    }

    /// The standard deviation of a reading: its own, else that of its sort.
    fn sd(&self, block: &Block<'p>, key: &str, usual: Option<Length>) -> Option<Length> {
        let own = deviation(self.page, block, "accuracy");
        // A usual one that is there and cannot be read was noted where it stands.
        let spoilt = self.top.block_says("accuracy", key);
        if own.is_none() && usual.is_none() && !block.has("accuracy") && !spoilt {
            self.page.mistake(
                "key-missing",
                &block.at,
                format!("nothing says how good {} is", block.what),
                format!(
                    "give `{key}` under `accuracy` at the top of the file, or `accuracy` here: one standard deviation"
                ),
            );
        }
        own.or(usual.filter(|_| !block.has("accuracy")))
    }

    fn tape(&mut self, block: &Block<'p>) -> Option<Tape> {
        let between = self.between(block);
        let read = block.need_length("length", Limits::ABOVE_0, "what the tape read: `length: 1200`");
        // Where no tape has an accuracy that is said once for the file.
        let sd = if block.has("accuracy") { deviation(self.page, block, "accuracy") } else { self.accuracy.length };
        let usual = block.word("measured", &TAKEN).unwrap_or_default();
        let taken = ["a", "b"].map(|key| block.word(key, &TAKEN).unwrap_or(usual));
        let od = self.od(block)?;
        let over: Vec<usize> = (0..2).filter(|end| taken[*end] != Taken::Centre).collect();
        match od {
            None if !over.is_empty() && !block.has("od") => {
                self.page.mistake(
                    "key-missing",
                    &block.at,
                    format!("{} was taken at a face, and nothing says how thick the tube is", block.what),
                    "give its OD by caliper: `od: 38.1`, or `od: [38.1, 44.5]` where those of the two ends differ",
                );
                return None;
            }
            Some(_) if over.is_empty() && !["measured", "a", "b"].iter().any(|key| block.has(key)) => {
                self.page.mistake(
                    "key-missing",
                    &block.key_at("od"),
                    format!("{} has an `od`, and does not say at which face the tape was held", block.what),
                    "say `measured: outside` (far faces), `inside` (near faces) or `centre`, or `a` and `b` for the two ends",
                );
                return None;
            }
            _ => {}
        }
        let (from, to) = between?;
        let tape = Tape { from, to, read: read?, taken, od: od.unwrap_or_default(), sd: sd? };
        if tape.centres() <= Length::ZERO {
            self.page.mistake(
                "out-of-range",
                &block.value_at("length"),
                format!(
                    "{} is {}, which is nothing from centre to centre",
                    block.of("length"),
                    self.page.shown(tape.read)
                ),
                "a length taken over the far faces is longer than the two halves of the tubes: see whether `measured` or `od` is wrong",
            );
            return None;
        }
        Some(tape)
    }

    /// OD of the tube at either end; the inner `None` where none is given, the outer where it cannot be read.
    fn od(&self, block: &Block<'p>) -> Option<Option<[Length; 2]>> {
        let Some(node) = block.get("od") else { return (!block.has("od")).then_some(None) };
        let what = block.of("od");
        if let Value::List(items) = &node.value {
            let [first, second] = &items[..] else {
                self.page.mistake(
                    "count-wrong",
                    &node.span,
                    format!("{what} has {}; a distance has 2 ends", counted(items.len(), "length")),
                    "one length for both ends, `od: 38.1`, or two, `od: [38.1, 44.5]`",
                );
                return None;
            };
            let read = |item| self.page.length(item, &what, Limits::ABOVE_0);
            let (first, second) = (read(first), read(second));
            return Some(Some([first?, second?]));
        }
        let od = self.page.length(node, &what, Limits::ABOVE_0)?;
        Some(Some([od, od]))
    }

    fn drop(&mut self, block: &Block<'p>) -> Option<Drop> {
        let between = self.between(block);
        let help = "how far the lower point hangs below the upper one: `length: 640`";
        let length = block.need_length("length", Limits::ABOVE_0, help);
        let sd = self.sd(block, "length", self.accuracy.length);
        let plumb = if block.has("plumb") {
            deviation(self.page, block, "plumb")
        } else {
            if self.accuracy.plumb.is_none() && !self.top.block_says("accuracy", "plumb") {
                self.page.mistake(
                    "key-missing",
                    &block.at,
                    format!("nothing says how near the point of the plumb bob hangs over the lower point of {}", block.what),
                    "give `plumb` under `accuracy` at the top of the file, or here: one standard deviation, such as 2 mm",
                );
            }
            self.accuracy.plumb
        };
        let (from, to) = between?;
        Some(Drop { from, to, length: length?, sd: sd?, plumb: plumb? })
    }

    fn heights(&mut self, block: &Block<'p>, line: usize) -> Vec<Height> {
        let help = "how high each point lies over the line, below it with a minus: `heights: { p1: 120, p4: -35 }`";
        let sd = self.sd(block, "height", self.accuracy.height);
        let Some(node) = block.need("heights", help) else { return Vec::new() };
        let what = block.of("heights");
        let mut found = Vec::new();
        let named = self.page.named(node, &what, help).unwrap_or_default();
        if named.len() < 2 && matches!(node.value, Value::Map(_)) {
            self.page.mistake(
                "count-wrong",
                &node.span,
                format!("{what} has {}; one alone tells nothing", counted(named.len(), "height")),
                "measure several points from the same level line",
            );
        }
        for entry in named {
            let point = self.point_named(entry.name);
            let height = self.page.length(entry.node, &format!("the height of {}", quoted(entry.name)), Limits::ANY);
            if let (Some(height), Some(sd)) = (height, sd) {
                found.push(Height { point, line, height, sd });
            }
        }
        found
    }

    /// Points on a line or in a plane.
    fn flush(&mut self, block: &Block<'p>, least: usize, what: &str) -> Option<Flush> {
        let help = format!(
            "at least {least} points: `points: [p1, p2, p3, p4]`; {what} is told by its first ones, and the others are held against it"
        );
        let sd = self.sd(block, "flush", self.accuracy.flush);
        let node = block.need("points", &help)?;
        let names = block.of("points");
        let items = self.page.items(node, &names, &help)?;
        let mut points = Vec::new();
        for item in items {
            let point = self.point(item, &names)?;
            if points.contains(&point) {
                self.note_twice(block, "points", point);
                return None;
            }
            points.push(point);
        }
        if points.len() < least {
            self.page.mistake(
                "count-wrong",
                &node.span,
                format!("{names} has {}; {what} takes at least {least}", counted(points.len(), "point")),
                help,
            );
            return None;
        }
        self.readings += points.len() + 1 - least;
        Some(Flush { points, sd: sd? })
    }

    fn symmetry(&mut self, block: &Block<'p>) -> Option<Symmetry> {
        let help = "pairs that are each other's image: `pairs: [[sill-left, sill-right], [knee-left, knee-right]]`";
        let sd = self.sd(block, "symmetric", self.accuracy.symmetric);
        let plane = match block.get("plane") {
            Some(node) => Some(read_plane(self.page, block, node)?),
            None if block.has("plane") => return None,
            None => None,
        };
        let node = block.need("pairs", help)?;
        let what = block.of("pairs");
        let mut pairs: Vec<[usize; 2]> = Vec::new();
        for item in self.page.items(node, &what, help)? {
            let names = self.page.items(item, &format!("a pair of {}", block.what), help)?;
            let [one, other] = names else {
                self.page.mistake(
                    "count-wrong",
                    &item.span,
                    format!("a pair of {} has {}", block.what, counted(names.len(), "point")),
                    help,
                );
                return None;
            };
            let pair = [self.point(one, &what)?, self.point(other, &what)?];
            for point in pair {
                if pairs.iter().flatten().any(|known| *known == point) || pair[0] == pair[1] {
                    self.note_twice(block, "pairs", point);
                    return None;
                }
            }
            pairs.push(pair);
        }
        let least = if plane.is_some() { 1 } else { 2 };
        if pairs.len() < least {
            self.page.mistake(
                "count-wrong",
                &node.span,
                format!("{what} has {}; it takes at least {least}", counted(pairs.len(), "pair")),
                "one pair has a plane between it whatever it is: give more pairs, or say which plane, as `plane: y`",
            );
            return None;
        }
        self.readings += pairs.len();
        Some(Symmetry { plane, pairs, sd: sd? })
    }

    /// Where points lie by eye.
    fn about(&self) -> Vec<(usize, Point3<f64>)> {
        let help = "where a point lies by eye, in the frame: `about: { knee-left: [50, 460, 775] }`";
        let Some(node) = self.top.get("about") else { return Vec::new() };
        let mut found = Vec::new();
        for named in self.page.named(node, "`about`", help).unwrap_or_default() {
            let at = self.page.point(named.node, &format!("the place of {}", quoted(named.name)));
            match self.known.get(named.name) {
                Some(point) => found.extend(at.map(|at| (*point, at))),
                None => self.note_unknown(&named.at, named.name, "`about`"),
            }
        }
        found
    }
}
