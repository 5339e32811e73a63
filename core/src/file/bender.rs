//! The bender file: frame and hand, dial, gaps to keep, dies with their materials, solids.

use core::ops::Range;
use std::collections::BTreeMap;

use nalgebra::{Unit, Vector3};

use super::beside::Loading;
use super::diameters::diameters;
use super::keys;
use super::mistake::{Mistake, quoted};
use super::reader::{Block, Limits, Named, Page, counted, listed};
use super::solid::{bodies, solids};
use super::tree::{Node, Value};
use crate::bender::{
    Accuracy, BendMotion, BendPlane, Bender, Die, DieShapes, Follower, Hand, Keep, Level, Motions, Pin, Pointer,
    PointerSet, Seconds, TakeOut, TurnTube, USUAL_LIFT,
};
use crate::clearance::resting_contacts;
use crate::forming::{Diameters, Material, Measured, Springback, SpringbackSd};
use crate::units::{Angle, Length};

/// How far the length of `up` may be off 1: what three figures of two decimals leave.
const UP_LENGTH: f64 = 0.02;

/// How far `up` may lean out of the bend plane: what rounding leaves, 0.06 degree.
const UP_LEAN: f64 = 1e-3;

/// What to think of where a part of 1 is out of range.
const FRACTION: &str = "it is a fraction: 0.02 is 2 %";

/// A handling that takes more than a day is a slip.
const DAY: f64 = 86_400.0;

/// The bender of a file's top block. `None` where something that it cannot do without is missing or wrong.
pub(super) fn read_bender(page: &Page<'_>, top: &Block<'_>, loading: &mut Loading<'_>) -> Option<Bender> {
    let before = page.log.count();
    let motion = top.need_word(
        "motion",
        &[("die-turns", BendMotion::DieTurns), ("die-stands", BendMotion::DieStands)],
        "`motion: die-turns` where the die turns, `motion: die-stands` where the follower wipes around it",
    );
    let hand = top.need_word(
        "hand",
        &[("anticlockwise", Hand::Anticlockwise), ("clockwise", Hand::Clockwise)],
        "stand where +z points at you and see which way the clamped part is bent: `anticlockwise` or `clockwise`; \
         a wrong hand turns every rise into a fall",
    );
    let bend_plane = bend_plane(page, top);
    let centre_height = top.need_length(
        "centre_height",
        Limits::ABOVE_0,
        "measure from the floor to the middle of the tube in the die: without it nothing is known about the floor",
    );
    let pin = top.block("pin", keys::PIN).and_then(|block| {
        let first =
            block.need_angle("first", Limits::from_to(0.0, 720.0), "the first reading near which the pin is moved");
        let every =
            block.need_angle("every", Limits::above_to(0.0, 720.0), "degrees from one move of the pin to the next");
        Some(Pin { first: first?, every: every? })
    });
    let pointer = pointer(top);
    let clearance = clearance(page, top);
    let accuracy = top.block("accuracy", keys::ACCURACY).and_then(|block| {
        let help = "all three are needed: mark (a length), bend and rotation (degrees), one standard deviation each";
        let mark = block.need_length("mark", Limits::FROM_0, help);
        let bend = block.need_angle("bend", Limits::from_to(0.0, 45.0), help);
        let rotation = block.need_angle("rotation", Limits::from_to(0.0, 45.0), help);
        Some(Accuracy { mark: mark?, bend: bend?, rotation: rotation? })
    });
    let level = level(page, top, bend_plane.as_ref());
    let seconds = seconds(top);
    let lift = top
        .number("lift", Limits::ABOVE_0.hint("kilograms that one person lifts, whatever the file's units"))
        .unwrap_or(USUAL_LIFT);
    let motions = motions(page, top);
    let dies = dies(page, top, loading);
    let solids = top.get("solids").map_or_else(Vec::new, |node| solids(page, node, loading));
    let (solids, places): (Vec<_>, Vec<_>) = solids.into_iter().unzip();
    let bender = Bender {
        name: top.line("name"),
        motion: motion?,
        hand: hand?,
        bend_plane: bend_plane?,
        centre_height: centre_height?,
        pin,
        pointer,
        clearance,
        accuracy,
        level,
        seconds,
        lift,
        motions,
        dies: dies?,
        solids,
    };
    // What is wrong with a figure tells nothing about where a solid stands.
    if page.log.count() == before {
        note_in_the_way(page, &bender, &places);
    }
    Some(bender)
}

/// Notes solids that touch a straight tube lying in one of the dies at rest: they cannot be where the file says.
fn note_in_the_way(page: &Page<'_>, bender: &Bender, places: &[Range<usize>]) {
    let mut found: BTreeMap<usize, Vec<&Die>> = BTreeMap::new();
    for die in &bender.dies {
        for solid in resting_contacts(bender, die, die.od) {
            found.entry(solid).or_default().push(die);
        }
    }
    for (solid, dies) in found {
        let (Some(at), Some(solid), Some(die)) = (places.get(solid), bender.solids.get(solid), dies.first()) else {
            continue;
        };
        let y = die.clr * -bender.hand.sign();
        page.log.add(
            Mistake::new(
                "solid-in-the-way",
                page.place(at),
                format!(
                    "the solid {} touches a straight tube that lies in the die {} before the bend",
                    quoted(&solid.name),
                    listed(dies.iter().map(|die| die.name.as_str()))
                ),
                format!(
                    "that tube, {} thick, lies along y = {}, z = 0, from x = {} to x = {}: measure the solid again from \
                     the die's axis, at the height of the middle of the tube",
                    page.shown(die.od),
                    page.shown(y),
                    page.shown(-die.follower_length),
                    page.shown(die.clamp_length)
                ),
            )
            .label("no tube could lie in the die"),
        );
    }
}

fn bend_plane(page: &Page<'_>, top: &Block<'_>) -> Option<BendPlane> {
    let help = "`bend_plane: horizontal` where the tube is bent flat over the floor, else `vertical`, with `up`";
    let vertical = top.need_word("bend_plane", &[("horizontal", false), ("vertical", true)], help)?;
    if !vertical {
        if top.has("up") {
            page.mistake(
                "key-out-of-place",
                &top.key_at("up"),
                "a bender with `bend_plane: horizontal` has no `up`: up is +z",
                "take `up` out, or write `bend_plane: vertical`",
            );
        }
        return Some(BendPlane::Horizontal);
    }
    const UP: &str = "`up` is the upward direction in the bender's frame, three numbers, as `up: [0, 1, 0]`";
    let node = top.need("up", UP)?;
    let what = top.of("up");
    let items = page.items(node, &what, UP)?;
    if items.len() != 3 {
        page.mistake("count-wrong", &node.span, format!("{what} has {} numbers; a direction has 3", items.len()), UP);
        return None;
    }
    let read = |item| page.number(item, &what, Limits::from_to(-1.1, 1.1), "");
    let found: Vec<Option<f64>> = items.iter().map(read).collect();
    let up = Vector3::new(found[0]?, found[1]?, found[2]?);
    if (up.norm() - 1.0).abs() > UP_LENGTH {
        page.mistake(
            "out-of-range",
            &node.span,
            format!("{what} is {:.3} long; a direction is 1 long", up.norm()),
            "divide its numbers by its length",
        );
        return None;
    }
    if up.z.abs() > UP_LEAN {
        page.mistake(
            "out-of-range",
            &node.span,
            format!("{what} leans out of the bend plane: its z is {}", up.z),
            "with a vertical bend plane `up` lies in it: its third number is 0",
        );
        return None;
    }
    Some(BendPlane::Vertical { up: Unit::new_normalize(Vector3::new(up.x, up.y, 0.0)) })
}

fn pointer(top: &Block<'_>) -> Pointer {
    let usual = Pointer { set_to: Angle::ZERO, when: PointerSet::SlackOut, step: Angle::deg(0.5) };
    let Some(block) = top.block("pointer", keys::POINTER) else { return usual };
    let set_to = block.angle("set_to", Limits::from_to(-360.0, 360.0)).unwrap_or(usual.set_to);
    let words = [("slack-out", PointerSet::SlackOut), ("first-bite", PointerSet::FirstBite)];
    // With the pointer set to 0 both ways read the same.
    let when = if set_to == Angle::ZERO {
        block.word("when", &words)
    } else {
        block.need_word(
            "when",
            &words,
            "`slack-out`: the slack is taken out by hand and the pointer set before the drive goes on; \
             `first-bite`: it is set when the tube first resists",
        )
    };
    let step = block.angle("step", Limits::above_to(0.0, 45.0)).unwrap_or(usual.step);
    Pointer { set_to, when: when.unwrap_or(usual.when), step }
}

fn clearance(page: &Page<'_>, top: &Block<'_>) -> Keep {
    let usual = Keep { keep: Length::mm(5.0), comfortable: Length::mm(50.0) };
    let Some(block) = top.block("clearance", keys::CLEARANCE) else { return usual };
    let keep = block.length("keep", Limits::FROM_0).unwrap_or(usual.keep);
    let comfortable = block.length("comfortable", Limits::ABOVE_0).unwrap_or(usual.comfortable);
    if keep > comfortable {
        let usual = |key| if block.has(key) { "" } else { " (the usual value)" };
        page.mistake(
            "out-of-range",
            &block.value_at(if block.has("keep") { "keep" } else { "comfortable" }),
            format!(
                "`keep`, {}{}, is more than `comfortable`, {}{}",
                page.shown(keep),
                usual("keep"),
                page.shown(comfortable),
                usual("comfortable")
            ),
            "`keep` is the least gap that counts as clear, `comfortable` the gap from which nothing needs watching: \
             give both, the second the larger",
        );
    }
    Keep { keep, comfortable }
}

fn level(page: &Page<'_>, top: &Block<'_>, plane: Option<&BendPlane>) -> Option<Level> {
    let block = top.block("level", keys::LEVEL)?;
    let limits = Limits::between(-90.0, 90.0);
    let along = block.angle("along", limits);
    let across = block.angle("across", limits);
    if matches!(plane, Some(BendPlane::Vertical { .. })) && across.is_some_and(|across| across != Angle::ZERO) {
        page.mistake(
            "key-out-of-place",
            &block.key_at("across"),
            "`across` of `level` is read on a die that lies flat; this bender's bend plane is vertical",
            "take `across` out: with a vertical bend plane `along` says all",
        );
    }
    if along.is_none() && across.is_none() && !block.has("along") && !block.has("across") {
        page.mistake("value-missing", &block.at, "`level` says nothing", "give `along`, `across` or both, in degrees");
    }
    Some(Level { along: along.unwrap_or_default(), across: across.unwrap_or_default() })
}

fn seconds(top: &Block<'_>) -> Seconds {
    let usual = Seconds::default();
    let Some(block) = top.block("seconds", keys::SECONDS) else { return usual };
    let given = |key, usual| {
        block
            .number(key, Limits::from_to(0.0, DAY).hint("seconds of the operator's time, at most a day"))
            .unwrap_or(usual)
    };
    Seconds {
        step: given("step", usual.step),
        swap_ends: given("swap_ends", usual.swap_ends),
        change_die: given("change_die", usual.change_die),
        set_turn: given("set_turn", usual.set_turn),
        turn_per_degree: given("turn_per_degree", usual.turn_per_degree),
        pin_move: given("pin_move", usual.pin_move),
        near: given("near", usual.near),
    }
}

fn motions(page: &Page<'_>, top: &Block<'_>) -> Motions {
    const WAYS: [(&str, TakeOut); 4] = [
        ("up", TakeOut::Up),
        ("sideways", TakeOut::Sideways),
        ("along", TakeOut::Along),
        ("with-die", TakeOut::WithDie),
    ];
    let Some(block) = top.block("motions", keys::MOTIONS) else { return Motions::default() };
    let mut take_out = Vec::new();
    if let Some(node) = block.get("take_out") {
        let what = block.of("take_out");
        let ways = page.items(node, &what, "the ways to be tried, in their order: `take_out: [up, sideways]`");
        for item in ways.unwrap_or_default() {
            match page.word(item, &what, &WAYS) {
                Some(way) if take_out.contains(&way) => {
                    page.mistake("word-twice", &item.span, format!("{what} names one way twice"), "name each way once");
                }
                Some(way) => take_out.push(way),
                None => {}
            }
        }
    }
    Motions {
        recoil: block.truth("recoil").unwrap_or(false),
        back: block.truth("return").unwrap_or(false),
        put_in: block.truth("put_in").unwrap_or(false),
        take_out,
        turn: block.word("turn", &[("groove", TurnTube::Groove), ("lifted", TurnTube::Lifted)]),
    }
}

fn dies(page: &Page<'_>, top: &Block<'_>, loading: &mut Loading<'_>) -> Option<Vec<Die>> {
    let help = "a bender needs at least one die: `dies:`, then a name, then its figures";
    let node = top.need("dies", help)?;
    let named = page.named(node, "`dies`", help)?;
    if node.is_empty() {
        page.mistake("value-missing", &node.span, "`dies` is empty", help);
    }
    let count = named.len();
    let dies: Vec<Die> = named.iter().filter_map(|named| die(page, named, loading)).collect();
    (dies.len() == count && count > 0).then_some(dies)
}

fn die(page: &Page<'_>, named: &Named<'_>, loading: &mut Loading<'_>) -> Option<Die> {
    let block = page.block(named.node, format!("the die {}", quoted(named.name)), &named.at, keys::DIE)?;
    let od = block.need_length("od", Limits::ABOVE_0, "outside diameter of the tube that the groove is made for");
    let clr =
        block.need_length("clr", Limits::ABOVE_0, "centreline radius: from the die's axis to the middle of the tube");
    let max_angle = block.need_angle(
        "max_angle",
        Limits::above_to(0.0, 360.0),
        "how far the die can turn before its groove ends, in degrees",
    );
    let clamp_length = block.need_length(
        "clamp_length",
        Limits::ABOVE_0,
        "how much tube the clamp holds, from the start of bend forward",
    );
    let follower_length = block.need_length(
        "follower_length",
        Limits::ABOVE_0,
        "how much tube the follower covers, from the start of bend backward",
    );
    if let (Some(od), Some(clr)) = (od, clr)
        && clr <= od / 2.0
    {
        page.mistake(
            "out-of-range",
            &block.value_at("clr"),
            format!(
                "`clr` of {}, {}, is not above half of its `od`, {}: the tube would meet itself",
                block.what,
                page.shown(clr),
                page.shown(od)
            ),
            "`clr` is the radius to the middle of the tube, `od` the tube's diameter: see whether they are swapped",
        );
    }
    let mark_offset = block.length("mark_offset", Limits::ANY).unwrap_or_default();
    let fit = block.length("fit", Limits::FROM_0).unwrap_or(Length::mm(0.3));
    let runout = block.length("runout", Limits::FROM_0).unwrap_or_default();
    let grip_min = block.length("grip_min", Limits::FROM_0);
    let tail_min = block.length("tail_min", Limits::FROM_0);
    let follower = block.word("follower", &[("stands", Follower::Stands), ("travels", Follower::Travels)]);
    let shapes = shapes(page, &block, loading);
    let materials = match block.get("materials") {
        Some(node) => {
            let what = block.of("materials");
            let named = page.named(node, &what, "a name, then its figures: `mild-steel: { springback: { .. } }`");
            named.unwrap_or_default().iter().filter_map(|material| read_material(page, material, &block.what)).collect()
        }
        None => Vec::new(),
    };
    Some(Die {
        name: named.name.to_owned(),
        od: od?,
        clr: clr?,
        max_angle: max_angle?,
        clamp_length: clamp_length?,
        follower_length: follower_length?,
        mark_offset,
        fit,
        runout,
        grip_min: grip_min.or(clamp_length)?,
        tail_min: tail_min.or(follower_length)?,
        follower: follower.unwrap_or(Follower::Stands),
        shapes,
        materials,
    })
}

fn shapes(page: &Page<'_>, die: &Block<'_>, loading: &mut Loading<'_>) -> DieShapes {
    let Some(block) = die.block("shapes", keys::SHAPES) else { return DieShapes::default() };
    let mut read =
        |key| block.get(key).map_or_else(Vec::new, |node: &Node| bodies(page, node, &block.of(key), loading));
    DieShapes { die: read("die"), clamp: read("clamp"), follower: read("follower") }
}

fn read_material(page: &Page<'_>, named: &Named<'_>, die: &str) -> Option<Material> {
    let mut material =
        Material { name: named.name.to_owned(), springback: None, stretch: 0.0, radius_growth: true, measured: None };
    // A name alone says that the material is bent in this die and that nothing is known of it.
    if named.node.value == Value::Nothing {
        return Some(material);
    }
    let what = format!("the material {} of {die}", quoted(named.name));
    let block = page.block(named.node, what, &named.at, keys::MATERIAL)?;
    if let Some(springback) = block.block("springback", keys::SPRINGBACK) {
        let constant = springback.angle("constant", Limits::from_to(-10.0, 45.0));
        let proportional = springback.number("proportional", Limits::from_to(-0.1, 0.5).hint(FRACTION));
        if !springback.has("constant") && !springback.has("proportional") {
            page.mistake(
                "value-missing",
                &springback.at,
                format!("{} says nothing", springback.what),
                "give `constant` (degrees), `proportional` (a fraction: 0.02 is 2 %) or both, or take it out: \
                 the plan then says that springback is not known",
            );
        }
        material.springback =
            Some(Springback { constant: constant.unwrap_or_default(), proportional: proportional.unwrap_or_default() });
    }
    material.stretch = block.number("stretch", Limits::from_to(-0.1, 0.3).hint(FRACTION)).unwrap_or_default();
    material.radius_growth = block.truth("radius_growth").unwrap_or(true);
    material.measured = block.block("measured", keys::MEASURED).map(|block| {
        let sd = block.block("sd", keys::SD).and_then(|sd| {
            let [constant, proportional, _] =
                ["constant", "proportional", "stretch"].map(|key| sd.number(key, Limits::FROM_0));
            for key in ["clr", "mark_offset"] {
                sd.length(key, Limits::FROM_0);
            }
            let correlation = sd.number("correlation", Limits::from_to(-1.0, 1.0));
            Some(SpringbackSd { constant: Angle::deg(constant?), proportional: proportional?, correlation })
        });
        let od = block.length("od", Limits::ABOVE_0);
        Measured {
            date: block.line("date"),
            lot: block.line("lot"),
            od,
            wall: block.length("wall", Limits::ABOVE_0),
            record: block.line("record"),
            angles: angles(page, &block),
            diameters: across(page, &block, od),
            sd,
        }
    });
    Some(material)
}

/// Diameters of the test bends that were measured across.
fn across(page: &Page<'_>, measured: &Block<'_>, od: Option<Length>) -> Vec<Diameters> {
    let Some(node) = measured.get("diameters") else { return Vec::new() };
    let what = measured.of("diameters");
    let help =
        "a list with the largest and the smallest diameter of each bend: `diameters: [[46.1, 42.0], [45.9, 42.4]]`";
    let items = page.items(node, &what, help).unwrap_or_default();
    items.iter().filter_map(|item| diameters(page, item, &what, od)).collect()
}

/// Smallest and largest angle of the test bends.
fn angles(page: &Page<'_>, measured: &Block<'_>) -> Option<(Angle, Angle)> {
    let help = "the smallest and the largest bend angle of the test bends, in degrees: `angles: [30, 120]`";
    let node = measured.get("angles")?;
    let what = measured.of("angles");
    let items = page.items(node, &what, help)?;
    let [low, high] = items else {
        page.mistake(
            "count-wrong",
            &node.span,
            format!("{what} has {}; there are 2", counted(items.len(), "angle")),
            help,
        );
        return None;
    };
    let read = |item| page.angle(item, &what, Limits::from_to(0.0, 360.0));
    let (low, high) = (read(low), read(high));
    let (low, high) = (low?, high?);
    if low > high {
        page.mistake("out-of-range", &node.span, format!("{what} begin with the larger one"), help);
        return None;
    }
    Some((low, high))
}

/// The names of a bender's dies, for messages.
pub(super) fn die_names(bender: &Bender) -> String {
    listed(bender.dies.iter().map(|die| die.name.as_str()))
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::super::{Held, load_bender, mistake::Mistakes};
    use super::*;
    use crate::bender::{Carrier, Shape};

    /// The example of the file format.
    const FLOOR: &str = r"kind: bender
units: mm
name: Floor bender
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
pin: { first: 40, every: 45 }    # readings near which the drive pin is moved
pointer: { set_to: -1, when: slack-out }
clearance: { keep: 6, comfortable: 40 }
dies:
  five-inch:
    od: 38.1
    clr: 127
    max_angle: 195
    clamp_length: 70
    follower_length: 150
    mark_offset: 0
    grip_min: 45
    tail_min: 75
    materials:
      mild-steel: { springback: { constant: 1.1, proportional: 0.02 }, stretch: 0.0 }
solids:
  - { name: upper arm, on: frame, box: { min: [-420, -60, 30], max: [40, 60, 55] } }
  - { name: ram, on: frame, cylinder: { from: [-500, -60, -200], to: [-80, -60, -200], radius: 45 } }
  - { name: handle, on: die, capsule: { from: [0, 0, 80], to: [300, 0, 80], radius: 15 } }
";

    fn load(text: &str) -> Result<Bender, Mistakes> {
        load_bender(&Held::default().with("b.yaml", text), Path::new("b.yaml"))
    }

    fn codes(text: &str) -> Vec<&'static str> {
        match load(text) {
            Ok(_) => Vec::new(),
            Err(mistakes) => mistakes.list.iter().map(|mistake| mistake.code).collect(),
        }
    }

    #[test]
    fn the_example_is_read_as_written() {
        let bender = load(FLOOR).unwrap_or_else(|mistakes| panic!("{mistakes}"));
        assert_eq!(bender.name.as_deref(), Some("Floor bender"));
        assert_eq!(bender.hand, Hand::Anticlockwise);
        assert_eq!(bender.bend_plane, BendPlane::Horizontal);
        assert_eq!(bender.centre_height, Length::mm(860.0));
        assert_eq!(bender.pin, Some(Pin { first: Angle::deg(40.0), every: Angle::deg(45.0) }));
        assert_eq!(bender.pointer.step, Angle::deg(0.5));
        assert_eq!(bender.clearance, Keep { keep: Length::mm(6.0), comfortable: Length::mm(40.0) });
        let die = &bender.dies[0];
        assert_eq!((die.name.as_str(), die.od, die.clr), ("five-inch", Length::mm(38.1), Length::mm(127.0)));
        assert_eq!((die.grip_min, die.tail_min, die.fit), (Length::mm(45.0), Length::mm(75.0), Length::mm(0.3)));
        let springback = die.materials[0].springback.unwrap();
        assert_eq!((springback.constant, springback.proportional), (Angle::deg(1.1), 0.02));
        let solids: Vec<_> = bender.solids.iter().map(|solid| (solid.name.as_str(), solid.on)).collect();
        assert_eq!(solids, [("upper arm", Carrier::Frame), ("ram", Carrier::Frame), ("handle", Carrier::Die)]);
        assert!(matches!(&bender.solids[2].shape, Shape::Capsule { radius, .. } if *radius == Length::mm(15.0)));
    }

    #[test]
    fn what_is_left_out_has_its_stated_value() {
        let short = "kind: bender
units: in
motion: die-stands
hand: clockwise
bend_plane: vertical
up: [0.71, 0.71, 0]
centre_height: 64
dies:
  d: { od: 1-1/2, clr: 4-1/2, max_angle: 120, clamp_length: 3, follower_length: 6, materials: { bare: } }
";
        let bender = load(short).unwrap_or_else(|mistakes| panic!("{mistakes}"));
        let BendPlane::Vertical { up } = bender.bend_plane else { panic!() };
        assert!((up.norm() - 1.0).abs() < 1e-15);
        assert_eq!((bender.clearance.keep, bender.clearance.comfortable), (Length::mm(5.0), Length::mm(50.0)));
        assert_eq!((bender.seconds.step, bender.seconds.turn_per_degree), (60.0, 0.1));
        assert!((bender.lift - 20.0).abs() < f64::EPSILON);
        let die = &bender.dies[0];
        assert_eq!((die.grip_min, die.tail_min), (die.clamp_length, die.follower_length));
        assert_eq!((die.runout, die.mark_offset, die.follower), (Length::ZERO, Length::ZERO, Follower::Stands));
        assert_eq!(die.clr, Length::mm(114.3));
        assert_eq!((die.materials[0].springback, die.materials[0].radius_growth), (None, true));
        assert_eq!(bender.motions, Motions::default());
        assert_eq!((bender.accuracy, bender.level, bender.pin), (None, None, None));
    }

    #[test]
    fn every_change_for_the_worse_is_refused_with_its_code() {
        let cases: [(&str, &str, &[&str]); 34] = [
            (
                "units: mm
",
                "",
                &["key-missing"],
            ),
            ("units: mm", "units: yards", &["word-unknown"]),
            ("kind: bender", "kind: job", &["kind-wrong"]),
            (
                "motion: die-turns
",
                "",
                &["key-missing"],
            ),
            ("die-turns", "die_turns", &["word-unknown"]),
            (
                "hand: anticlockwise
",
                "",
                &["key-missing"],
            ),
            (
                "centre_height: 860
",
                "",
                &["key-missing"],
            ),
            ("centre_height: 860", "centre_height: -860", &["out-of-range"]),
            ("horizontal", "vertical", &["key-missing"]),
            (
                "horizontal",
                "vertical
up: [0, 0, 1]",
                &["out-of-range"],
            ),
            (
                "horizontal",
                "vertical
up: [0, 2, 0]",
                &["out-of-range"],
            ),
            (
                "horizontal",
                "vertical
up: [0, 0.5, 0]",
                &["out-of-range"],
            ),
            (
                "horizontal",
                "vertical
up: [0, 1]",
                &["count-wrong"],
            ),
            (
                "horizontal",
                "horizontal
up: [0, 1, 0]",
                &["key-out-of-place"],
            ),
            (
                "horizontal",
                "horizontal
level: {}",
                &["value-missing"],
            ),
            (
                "horizontal",
                "vertical
up: [0, 1, 0]
level: { across: 1 }",
                &["key-out-of-place"],
            ),
            ("every: 45", "every: 0", &["out-of-range"]),
            (", when: slack-out", "", &["key-missing"]),
            ("keep: 6", "keep: 60", &["out-of-range"]),
            ("{ keep: 6, comfortable: 40 }", "{ keep: 51 }", &["out-of-range"]),
            ("clr: 127", "clr: 19", &["out-of-range"]),
            ("max_angle: 195", "max_angle: 0", &["out-of-range"]),
            (
                "clamp_length: 70
    follower_length: 150",
                "clamp_length: 0",
                &["key-missing", "out-of-range"],
            ),
            ("proportional: 0.02", "proportional: 2", &["out-of-range"]),
            ("{ constant: 1.1, proportional: 0.02 }", "{}", &["value-missing"]),
            ("stretch: 0.0", "stretch: 0.0, streach: 1", &["key-unknown"]),
            ("name: ram", "name: upper arm", &["name-taken"]),
            ("name: ram", "name: floor", &["name-taken"]),
            ("name: ram", r#"name: "r\u0007m""#, &["name-unfit"]),
            ("max: [40, 60, 55]", "max: [40, -60, 55]", &["out-of-range"]),
            ("to: [-80, -60, -200]", "to: [-500, -60, -200]", &["out-of-range"]),
            ("capsule: {", "box: { min: [0, 0, 0], max: [1, 1, 1] }, capsule: {", &["count-wrong"]),
            ("box: { min: [-420, -60, 30], max: [40, 60, 55] }", "mesh: { file: no.stl }", &["key-missing"]),
            (
                "box: { min: [-420, -60, 30], max: [40, 60, 55] }",
                "mesh: { file: no.stl, units: mm }",
                &["file-missing"],
            ),
        ];
        for (from, to, wanted) in cases {
            let text = FLOOR.replacen(from, to, 1);
            assert_ne!(text, FLOOR, "{from}");
            let mut found = codes(&text);
            found.sort_unstable();
            assert_eq!(found, wanted, "{from} -> {to}: {}", load(&text).unwrap_err());
        }
    }
}
