//! The record of test bends.

use std::path::{Path, PathBuf};

use sha2::Sha256;

use super::bender::die_names;
use super::diameters::diameters;
use super::job::bender_path;
use super::keys;
use super::load::{open_bender, open_record};
use super::mistake::{Mistake, Mistakes, Source, nearest, quoted};
use super::reader::{Block, Limits, Page, counted};
use super::source::Files;
use super::tree::Node;
use super::tube::TAKEN;
use crate::bender::{Bender, Die};
use crate::calibrate::{Record, RecordAccuracy, TestBend};
use crate::forming::LeadEnd;
use crate::units::{Angle, Length};

/// Bends that a record may hold: more than a shop makes in a year, and all of them are weighed against each other.
const MOST_BENDS: usize = 100;

/// The tube's OD may be off the die's by this part of it: more is another die, or other units.
const OD_OFF: f64 = 0.1;

/// What a bend can lose between the pointer and the gauge, the range that a bender's file takes for a constant part.
const LOST: (Angle, Angle) = (Angle::deg(-10.0), Angle::deg(45.0));

/// How far a die may be turned over what its file says: a reading that is off.
const OVER: Angle = Angle::deg(5.0);

/// The largest bend angle that still has a corner to measure legs to, as in a job.
const CORNER: Angle = Angle::deg(175.0);

/// Legs and blank that fit a radius this many times the die's were not measured on one piece.
const RADIUS_OFF: f64 = 4.0;

/// From this angle on legs tell a radius at all.
const TELLING: Angle = Angle::deg(45.0);

/// A record with the files that it was read from.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenRecord {
    /// The record.
    pub record: Record,
    /// The record's file, then the bender's.
    pub files: Vec<Source>,
    /// Path of the bender's file.
    pub bender_path: PathBuf,
}

/// A record of test bends from its file, with its bender.
///
/// # Errors
///
/// All mistakes of the record and of the bender.
pub fn load_test_bends(files: &dyn Files, path: &Path) -> Result<OpenRecord, Mistakes> {
    open_record(files, path, ("test-bends", "the record"), keys::TEST_BENDS, |page, top, sources| {
        let mut bender = None;
        let mut bender_file = PathBuf::new();
        if let Some((named, place)) = bender_path(page, top) {
            bender_file = path.parent().unwrap_or(Path::new("")).join(named);
            let (text, read) = open_bender(files, &bender_file, page.log, 1, &mut Sha256::default(), (place, named));
            sources.push(Source { path: bender_file.to_string_lossy().into_owned(), text });
            bender = read;
        }
        let record = read_record(page, top, bender)?;
        Some(OpenRecord { record, files: sources.clone(), bender_path: bender_file })
    })
}

fn read_record(page: &Page<'_>, top: &Block<'_>, bender: Option<Bender>) -> Option<Record> {
    let die = top.need("die", "say in which die of the bender: `die: five-inch`").and_then(|node| {
        let name = page.name(node, &top.of("die"))?;
        die_of(page, node, name, bender.as_ref()?)
    });
    let help = "say of what material: `material: mild-steel`, as jobs call it; the bender's file need not know it yet";
    let material = top.need("material", help).and_then(|node| page.name(node, &top.of("material")));
    let help = "say what tube was bent: `tube: { od: 38.1, wall: 2.4 }`, measured with a caliper";
    let tube =
        top.need("tube", help).and_then(|node| page.block(node, top.of("tube"), &top.key_at("tube"), keys::TEST_TUBE));
    let of_die = bender.as_ref().zip(die).map(|(bender, die)| &bender.dies[die]);
    let (od, wall) = tube.as_ref().map_or((None, None), |tube| section(page, tube, of_die));
    let accuracy = accuracy(page, top)?;
    let help = "a list of test bends: `bends:`, then `- { reading: 93.5, angle: 90.2 }` for each";
    let node = top.need("bends", help)?;
    let items = page.items(node, &top.of("bends"), help)?;
    if items.is_empty() {
        page.mistake("value-missing", &node.span, format!("{} is empty", top.of("bends")), help);
    }
    if items.len() > MOST_BENDS {
        page.mistake(
            "count-wrong",
            &node.span,
            format!("{} has {}; the most that are read is {MOST_BENDS}", top.of("bends"), counted(items.len(), "bend")),
            "split the record: bends of one day and one delivery of tube belong together",
        );
        return None;
    }
    let sound = |(number, item): (usize, &Node)| {
        let what = format!("bend {}", number + 1);
        let block = page.block(item, what, &item.span, keys::TEST_BEND)?;
        let bend = bend(page, &block, od)?;
        check(page, &block, &bend, &accuracy, od.unwrap_or_default(), bender.as_ref(), of_die);
        Some(bend)
    };
    let bends: Vec<TestBend> = items.iter().enumerate().filter_map(sound).collect();
    let mut record = Record {
        units: page.unit,
        die: die?,
        bender: bender?,
        material: material?.to_owned(),
        od: od?,
        wall,
        lot: top.line("lot"),
        date: top.line("date"),
        accuracy,
        radius_growth: true,
        bends,
    };
    record.radius_growth = record.known().is_none_or(|material| material.radius_growth);
    Some(record)
}

fn die_of(page: &Page<'_>, node: &Node, name: &str, bender: &Bender) -> Option<usize> {
    let found = bender.dies.iter().position(|die| die.name == name);
    if found.is_none() {
        let mistake = Mistake::new(
            "die-unknown",
            page.place(&node.span),
            format!("the bender has no die {}", quoted(name)),
            format!("its dies are {}", die_names(bender)),
        );
        page.log.add(match nearest(name, bender.dies.iter().map(|die| die.name.as_str())) {
            Some(meant) => mistake.label(format!("did you mean {}?", quoted(meant))).fix(meant),
            None => mistake.label("no such die"),
        });
    }
    found
}

/// OD and wall of the tube that was bent.
fn section(page: &Page<'_>, tube: &Block<'_>, die: Option<&Die>) -> (Option<Length>, Option<Length>) {
    let od = tube.need_length("od", Limits::ABOVE_0, "measure the outside diameter with a caliper");
    let wall = tube.length("wall", Limits::ABOVE_0);
    if let (Some(od), Some(wall)) = (od, wall)
        && wall >= od / 2.0
    {
        page.mistake(
            "out-of-range",
            &tube.value_at("wall"),
            format!("`wall`, {}, is not under half of `od`, {}", page.shown(wall), page.shown(od)),
            "see whether the two are swapped, or a point slipped",
        );
    }
    if let (Some(od), Some(die)) = (od, die)
        && (od - die.od).abs() > die.od * OD_OFF
    {
        page.mistake(
            "od-unfit",
            &tube.value_at("od"),
            format!(
                "a tube with an OD of {} was not bent in the die {}, which is made for {}",
                page.shown(od),
                quoted(&die.name),
                page.shown(die.od)
            ),
            format!(
                "see whether it is the die, and whether bare numbers are in {} as this file says",
                page.unit.name()
            ),
        );
    }
    (od, wall)
}

/// Standard deviations; `None` where two of them cannot be weighed against each other, which is noted.
fn accuracy(page: &Page<'_>, top: &Block<'_>) -> Option<RecordAccuracy> {
    let none = RecordAccuracy { length: None, angle: None, mark: Length::ZERO, reading: Angle::ZERO };
    let Some(block) = top.block("accuracy", keys::TEST_ACCURACY) else {
        return (!top.has("accuracy")).then_some(none);
    };
    let hint =
        "one standard deviation: what two of three readings of the same thing lie within; nothing is measured exactly";
    let angles = Limits::above_to(0.0, 45.0).hint(hint);
    let given = RecordAccuracy {
        length: block.length("length", Limits::ABOVE_0.hint(hint)),
        angle: block.angle("angle", angles),
        mark: block.length("mark", Limits::FROM_0).unwrap_or_default(),
        reading: block.angle("reading", Limits::from_to(0.0, 45.0)).unwrap_or_default(),
    };
    for (key, needs, lacks) in [
        ("mark", "length", given.mark > Length::ZERO && !block.has("length")),
        ("reading", "angle", given.reading > Angle::ZERO && !block.has("angle")),
    ] {
        if lacks {
            page.mistake(
                "key-missing",
                &block.key_at(key),
                format!("{} is given, and `{needs}` is not", block.of(key)),
                format!("give `{needs}` too: the two are weighed against each other"),
            );
        }
    }
    Some(given)
}

fn bend(page: &Page<'_>, block: &Block<'_>, od: Option<Length>) -> Option<TestBend> {
    let angle = block.need_angle(
        "angle",
        Limits::above_to(0.0, 360.0),
        "the bend angle after release, in degrees: how far the tube turns, 90 for a square corner",
    );
    let reading = block.angle("reading", Limits::from_to(-360.0, 720.0));
    let blank = block.length("blank", Limits::ABOVE_0);
    let mark = block.length("mark", Limits::FROM_0);
    let start = block.length("start", Limits::FROM_0);
    let ends = [("A", LeadEnd::A), ("B", LeadEnd::B)];
    let lead = if block.has("mark") {
        block.need_word("lead", &ends, "say which end led, `lead: A` or `lead: B`: the mark offset points to it")
    } else {
        block.word("lead", &ends)
    };
    let help = "two lengths: end A to the corner, and the corner to end B, as `legs: [498.6, 470.1]`";
    let legs = block.get("legs").and_then(|node| {
        let what = block.of("legs");
        let items = page.items(node, &what, help)?;
        let [first, second] = items else {
            page.mistake(
                "count-wrong",
                &node.span,
                format!("{what} has {}; there are 2", counted(items.len(), "length")),
                help,
            );
            return None;
        };
        let leg = |item, number: usize| page.length(item, &format!("leg {number} of {}", block.what), Limits::ABOVE_0);
        let (first, second) = (leg(first, 1), leg(second, 2));
        Some([first?, second?])
    });
    let measured = block.word("measured", &TAKEN);
    let across = block.get("diameters").and_then(|node| diameters(page, node, &block.of("diameters"), od));
    let spoilt = [
        ("reading", reading.is_none()),
        ("blank", blank.is_none()),
        ("mark", mark.is_none()),
        ("start", start.is_none()),
        ("lead", lead.is_none()),
        ("legs", legs.is_none()),
        ("measured", measured.is_none()),
        ("diameters", across.is_none()),
    ];
    if spoilt.into_iter().any(|(key, missing)| missing && block.has(key)) || block.has("mark") && lead.is_none() {
        return None;
    }
    Some(TestBend {
        reading,
        angle: angle?,
        blank,
        mark,
        start,
        lead,
        legs,
        measured: measured.unwrap_or_default(),
        diameters: across,
    })
}

/// Notes where the figures of one bend cannot be of one piece of tube.
fn check(
    page: &Page<'_>,
    block: &Block<'_>,
    bend: &TestBend,
    accuracy: &RecordAccuracy,
    od: Length,
    bender: Option<&Bender>,
    die: Option<&Die>,
) {
    let contradiction = |key: &str, message: String, help: &str| {
        page.mistake("bend-contradicts", &block.value_at(key), format!("{}: {message}", block.what), help);
    };
    if bend.reading.is_none() && !bend.tells_length() {
        page.mistake(
            "value-missing",
            &block.at,
            format!("{} tells nothing: an angle with nothing to hold against it", block.what),
            "give the `reading` that it was bent to, or `legs` with `blank` or with `mark` and `lead`, or `start` with `mark` and `lead`",
        );
    }
    if let (Some(bender), Some(die), Some(reading)) = (bender, die, bend.reading) {
        let turned = reading - bender.pointer.reading(Angle::ZERO);
        let lost = turned - bend.angle;
        if lost < LOST.0 || lost > LOST.1 {
            contradiction(
                "reading",
                format!(
                    "a reading of {:.1} is a die angle of {:.1}, and the bend angle is {:.1}: no tube springs back by {:.1} degrees",
                    reading.to_deg(),
                    turned.to_deg(),
                    bend.angle.to_deg(),
                    lost.to_deg()
                ),
                "see whether the included angle was written for the bend angle, or two figures are swapped",
            );
        } else if turned > die.max_angle + OVER {
            contradiction(
                "reading",
                format!(
                    "the die {} turns {:.1} degrees at most, and the reading says {:.1}",
                    quoted(&die.name),
                    die.max_angle.to_deg(),
                    turned.to_deg()
                ),
                "see whether it is the die, and whether its `max_angle` is right",
            );
        }
    }
    for key in ["mark", "start"] {
        let at = if key == "mark" { bend.mark } else { bend.start };
        if let (Some(at), Some(blank)) = (at, bend.blank)
            && at > blank
        {
            contradiction(
                key,
                format!("`{key}`, {}, lies beyond the end of the blank, {}", page.shown(at), page.shown(blank)),
                "all places are measured from end A along the straight blank",
            );
        }
    }
    let Some(legs) = bend.legs else { return };
    if bend.angle > CORNER {
        contradiction(
            "angle",
            format!("a bend of {:.1} degrees has no corner to measure legs to", bend.angle.to_deg()),
            "leave `legs` out: its reading and angle still tell the springback",
        );
        return;
    }
    let (Some(blank), Some(die)) = (bend.blank, die) else { return };
    let longer = bend.measured.reads_longer(od, bend.angle);
    let gain = legs[0] + legs[1] - longer * 2.0 - blank;
    // What the tape may be off in three lengths, or the tenth of an OD where that is not known.
    let off = accuracy.length.map_or(od * 0.1, |sd| sd * (5.0 * 3_f64.sqrt()));
    let half = bend.angle.to_rad() / 2.0;
    let radius = (gain - off) / (2.0 * (libm::tan(half) - half));
    if gain < -off {
        contradiction(
            "legs",
            format!(
                "the legs add up to {}, less than the blank of {}: round a corner they are longer",
                page.shown(legs[0] + legs[1] - longer * 2.0),
                page.shown(blank)
            ),
            "legs run to the corner that the two straights would meet in, not to the start of the arc",
        );
    } else if bend.angle >= TELLING && radius > die.clr * RADIUS_OFF {
        contradiction(
            "legs",
            format!(
                "the legs are {} longer than the blank: that is a radius of about {}, and the die's is {}",
                page.shown(gain),
                page.shown(radius),
                page.shown(die.clr)
            ),
            "see whether all three were measured on one piece, and on the centre or outside as `measured` says",
        );
    }
}
