//! The file of sizes: a bender measured with a tape.

use core::ops::Range;
use std::path::Path;

use super::keys;
use super::load::open_record;
use super::mistake::{Mistake, Mistakes, quoted};
use super::reader::{Block, Limits, Page};
use super::source::Files;
use super::tree::Value;
use crate::bender::sizes::{
    Block as Solid, Face, Holder, Measure, Part, PartKind, Sizes, Stance, Taped, TapedDie, TubeLine, Way,
};
use crate::bender::{BendMotion, Hand};
use crate::clearance::resting_contacts;

/// What sums of figures may be off by, mm.
const SLACK: f64 = 1e-6;

/// The sizes of a bender from their file.
///
/// # Errors
///
/// All mistakes of the file; sizes that cannot both be right are among them, such as those of a part that a straight tube in the die would touch.
pub fn load_bender_sizes(files: &dyn Files, path: &Path) -> Result<Sizes, Mistakes> {
    open_record(files, path, ("bender-sizes", "the file of sizes"), keys::BENDER_SIZES, |page, top, _| {
        let before = page.log.count();
        let sizes = read_sizes(page, top)?;
        // What is wrong with one figure tells nothing about another.
        if page.log.count() == before {
            disagreements(page, top, &sizes);
        }
        Some(sizes)
    })
}

fn read_sizes(page: &Page<'_>, top: &Block<'_>) -> Option<Sizes> {
    let motion = top.need_word(
        "motion",
        &[("die-turns", BendMotion::DieTurns), ("die-stands", BendMotion::DieStands)],
        "`motion: die-turns` where the die turns, `motion: die-stands` where the follower wipes around it",
    );
    let hand = top.need_word(
        "hand",
        &[("anticlockwise", Hand::Anticlockwise), ("clockwise", Hand::Clockwise)],
        "look at the die from above, or from where the operator stands if the bend plane is upright: which way does the clamped end go? \
         A wrong hand turns every rise into a fall",
    );
    let up = up(page, top);
    let stance = stance(page, top, up);
    let die = die(page, top);
    let parts = up.map(|up| parts(page, top, up));
    Some(Sizes {
        units: page.unit,
        name: top.line("name"),
        motion: motion?,
        hand: hand?,
        stance: stance?,
        die: die?,
        parts: parts??,
    })
}

/// Notes keys that have no place with the bend plane as it lies.
fn note_out_of_place(page: &Page<'_>, block: &Block<'_>, keys: &[&str], help: &str) {
    for key in keys.iter().filter(|key| block.has(key)) {
        let message = format!("{} has no place with this bend plane", block.of(key));
        page.mistake("key-out-of-place", &block.key_at(key), message, help);
    }
}

fn need_block<'p>(page: &'p Page<'p>, top: &Block<'p>, key: &str, keys: &[&str], help: &str) -> Option<Block<'p>> {
    page.block(top.need(key, help)?, top.of(key), &top.key_at(key), keys)
}

/// Which way is up.
fn up(page: &Page<'_>, top: &Block<'_>) -> Option<Way> {
    let help = "`bend_plane: horizontal` where the tube is bent flat over the floor, else `vertical`, with `up`";
    if top.need_word("bend_plane", &[("horizontal", false), ("vertical", true)], help)? {
        let words = [Way::Ahead, Way::Behind, Way::TubeSide, Way::FarSide].map(|way| (way.key(), way));
        return top.need_word(
            "up",
            &words,
            "which way from the die's axis points up: `far_side` where the tube lies level under the axis, `tube_side` where it lies over it, \
             `ahead` or `behind` where it stands upright",
        );
    }
    note_out_of_place(page, top, &["up"], "take it out, or write `bend_plane: vertical`");
    Some(Way::Over)
}

fn stance(page: &Page<'_>, top: &Block<'_>, up: Option<Way>) -> Option<Stance> {
    let help = "`floor: { tube: 841, measured: underside }`; with an upright bend plane `floor: { axis: 950 }`: \
                without it nothing is known about the floor";
    let floor = need_block(page, top, "floor", keys::SIZES_FLOOR, help);
    let (up, floor) = (up?, floor?);
    if up != Way::Over {
        let help = "with an upright bend plane the height is taken to the die's axis: `axis`";
        note_out_of_place(page, &floor, &["tube", "measured"], help);
        let axis = floor.need_length("axis", Limits::ABOVE_0, "measure from the floor to the middle of the die's pin");
        return Some(Stance::Upright { axis: axis?, up });
    }
    let help = "with a bend plane that lies flat the height is taken to the tube: `tube`, and `measured`";
    note_out_of_place(page, &floor, &["axis"], help);
    let help = "measure from the floor to the tube in the die, beside the clamp";
    let tube = floor.need_length("tube", Limits::ABOVE_0, help);
    let words = [("top", TubeLine::Top), ("centre", TubeLine::Centre), ("underside", TubeLine::Underside)];
    let measured = floor.need_word(
        "measured",
        &words,
        "say where on the tube the tape was: `measured: underside`, `top` or `centre`; half an OD hangs on it",
    );
    Some(Stance::Flat { tube: tube?, measured: measured? })
}

fn die(page: &Page<'_>, top: &Block<'_>) -> Option<TapedDie> {
    let help = "the die that is in the bender: `die: { name: five-inch, od: 38.1, clr: 127, max_angle: 190 }`";
    let block = need_block(page, top, "die", keys::SIZES_DIE, help);
    let clamp = holder(
        page,
        top,
        "clamp",
        "how much tube the clamp holds, from the start of bend forward: `clamp: { length: 70 }`",
    );
    let follower = holder(
        page,
        top,
        "follower",
        "how much tube the follower covers, from the start of bend backward: `follower: { length: 150 }`",
    );
    let block = block?;
    let name = block.need("name", "name it as jobs will: `name: five-inch`");
    let name = name.and_then(|node| page.name(node, &block.of("name")));
    let od = block.need_length("od", Limits::ABOVE_0, "the outside diameter of the tube in the groove, by caliper");
    let clr = block.need_length(
        "clr",
        Limits::ABOVE_0,
        "the radius of the tube's middle in the die; it is stamped on most dies",
    );
    let max_angle = block.need_angle(
        "max_angle",
        Limits::above_to(0.0, 360.0),
        "how far the die can turn before its groove ends, in degrees",
    );
    if let (Some(od), Some(clr)) = (od, clr)
        && clr <= od / 2.0
    {
        page.mistake(
            "out-of-range",
            &block.value_at("clr"),
            format!("{}, {}, is not above half of `od`, {}", block.of("clr"), page.shown(clr), page.shown(od)),
            "`clr` is the radius to the middle of the tube, `od` the tube's diameter: see whether they are swapped",
        );
    }
    let material = block.line("material");
    let [over, under] = ["over", "under"].map(|key| block.length(key, Limits::ABOVE_0));
    Some(TapedDie {
        name: name?.to_owned(),
        od: od?,
        clr: clr?,
        max_angle: max_angle?,
        material,
        over,
        under,
        clamp: clamp?,
        follower: follower?,
    })
}

fn holder(page: &Page<'_>, top: &Block<'_>, key: &str, help: &str) -> Option<Holder> {
    let block = need_block(page, top, key, keys::SIZES_HOLDER, help)?;
    let length = block.need_length("length", Limits::ABOVE_0, help);
    let [out, over, under] = ["out", "over", "under"].map(|key| block.length(key, Limits::ABOVE_0));
    Some(Holder { length: length?, out, over, under })
}

/// The parts that are given, in the order of the sheet. `None` where one of them has a mistake.
fn parts(page: &Page<'_>, top: &Block<'_>, up: Way) -> Option<Vec<Part>> {
    let mut all = Vec::new();
    let mut sound = true;
    for kind in PartKind::ALL {
        let Some(block) = top.block(kind.key(), part_keys(kind)) else {
            sound &= !top.has(kind.key());
            continue;
        };
        match part(page, &block, kind, up) {
            Some(taped) => all.extend(taped.into_iter().map(|taped| Part { kind, taped })),
            None => sound = false,
        }
    }
    sound.then_some(all)
}

const fn part_keys(kind: PartKind) -> keys::Keys {
    match kind {
        PartKind::ArmOver | PartKind::ArmUnder | PartKind::Ram => keys::SIZES_BESIDE,
        PartKind::Post | PartKind::Base | PartKind::Pump | PartKind::Bench | PartKind::Operator => keys::SIZES_STANDING,
        PartKind::Plate => keys::SIZES_PLATE,
        PartKind::Handle => keys::SIZES_HANDLE,
        PartKind::Room => keys::SIZES_ROOM,
    }
}

fn part(page: &Page<'_>, block: &Block<'_>, kind: PartKind, up: Way) -> Option<Vec<Taped>> {
    let gap =
        |limits| block.need_length("gap", limits, "from the surface of the tube to the face that is nearer to it");
    let thick = || block.need_length("thick", Limits::ABOVE_0, "from that face to the one opposite");
    match kind {
        PartKind::ArmOver | PartKind::ArmUnder | PartKind::Ram => {
            let side = if kind == PartKind::ArmOver { Way::Over } else { Way::Under };
            // A ram may lie beside the tube's height, on the far side.
            let gap = gap(if kind == PartKind::Ram { Limits::ANY } else { Limits::ABOVE_0 });
            let thick = thick();
            let faces = faces(block, &[Way::Ahead, Way::Behind, Way::TubeSide, Way::FarSide]);
            Some(vec![Taped::Block(Solid::Beside { side, gap: gap?, thick: thick?, faces: faces? })])
        }
        PartKind::Post | PartKind::Base | PartKind::Pump | PartKind::Bench | PartKind::Operator => {
            let height = block.need_length("height", Limits::ABOVE_0, "from the floor to its top");
            let level: Vec<Way> = up.across().collect();
            note_other_faces(page, block, &level);
            let faces = faces(block, &level);
            Some(vec![Taped::Block(Solid::Standing { height: height?, faces: faces? })])
        }
        PartKind::Plate | PartKind::Handle => {
            let (gap, thick) = (gap(Limits::ABOVE_0), thick());
            let reach = block.need_length("reach", Limits::ABOVE_0, "how far from the die's axis any of it reaches");
            if kind == PartKind::Plate {
                return Some(vec![Taped::Disc { gap: gap?, thick: thick?, reach: reach? }]);
            }
            let words = [Way::Ahead, Way::Behind, Way::TubeSide, Way::FarSide].map(|way| (way.key(), way));
            let points = block.need_word(
                "points",
                &words,
                "which way it points before the bend, from the die's axis: `points: far_side`",
            );
            let (gap, thick, reach, points) = (gap?, thick?, reach?, points?);
            if reach < thick / 2.0 {
                let message = format!(
                    "{}, {}, is less than half of its `thick`, {}",
                    block.of("reach"),
                    page.shown(reach),
                    page.shown(thick)
                );
                page.mistake(
                    "out-of-range",
                    &block.value_at("reach"),
                    message,
                    "`reach` is how long it is, from the die's axis to its end",
                );
                return None;
            }
            Some(vec![Taped::Rod { gap, thick, reach, points }])
        }
        PartKind::Room => {
            let level: Vec<Way> = up.across().collect();
            note_other_faces(page, block, &level);
            let mut found = Vec::new();
            let mut sound = true;
            for way in level {
                match block.length(way.key(), Limits::ABOVE_0) {
                    Some(length) => found.push(Taped::Block(Solid::Wall((way, length)))),
                    None => sound &= !block.has(way.key()),
                }
            }
            match block.length("ceiling", Limits::ABOVE_0) {
                Some(height) => found.push(Taped::Block(Solid::Ceiling(height))),
                None => sound &= !block.has("ceiling"),
            }
            sound.then_some(found)
        }
    }
}

/// Notes faces that cannot be taken along the floor with the bend plane as it lies.
fn note_other_faces(page: &Page<'_>, block: &Block<'_>, level: &[Way]) {
    let others: Vec<&str> = Way::ALL.into_iter().filter(|way| !level.contains(way)).map(Way::key).collect();
    let known: Vec<String> = level.iter().map(|way| quoted(way.key())).collect();
    note_out_of_place(page, block, &others, &format!("what stands on the floor here has {}", known.join(", ")));
}

/// The four faces of a block, two pairs of opposites.
fn faces(block: &Block<'_>, ways: &[Way]) -> Option<[Face; 4]> {
    let read = |way: &Way| {
        let help = match way {
            Way::Over | Way::Under => {
                format!(
                    "from the surface of the tube to its face on the {} side; with a minus where that is the other way",
                    way.key()
                )
            }
            _ => format!(
                "from the die's axis to its face {}; with a minus where that face lies on the other side of the axis",
                words(*way)
            ),
        };
        Some((*way, block.need_length(way.key(), Limits::ANY, &help)?))
    };
    // All are read before any is missed, so that all mistakes are noted.
    let found: Vec<Option<Face>> = ways.iter().map(read).collect();
    let found: Vec<Face> = found.into_iter().collect::<Option<_>>()?;
    found.try_into().ok()
}

/// A way in words that follow "its face".
const fn words(way: Way) -> &'static str {
    match way {
        Way::Ahead => "ahead",
        Way::Behind => "behind",
        Way::TubeSide => "on the tube's side",
        Way::FarSide => "on the far side",
        Way::Over => "in front",
        Way::Under => "at the back",
    }
}

/// Two sizes that cannot both be right.
struct Pair {
    /// The key of a part with that of one of its sizes.
    one: (&'static str, &'static str),
    /// The same.
    other: (&'static str, &'static str),
}

/// Notes sizes that contradict each other: a block with nothing in it, what a straight tube in the die would touch, and what would lie below the floor.
fn disagreements(page: &Page<'_>, top: &Block<'_>, sizes: &Sizes) {
    let floor = sizes.centre_height().to_mm();
    let down = sizes.stance.up().opposite();
    let of_floor = ("floor", if down == Way::Under { "tube" } else { "axis" });
    let lowest = match down {
        Way::Under => 0.5 * sizes.die.od.to_mm(),
        Way::TubeSide => sizes.die.clr.to_mm() + 0.5 * sizes.die.od.to_mm(),
        _ => 0.0,
    };
    if lowest >= floor {
        let other = ("die", if down == Way::Under { "od" } else { "clr" });
        note(page, top, sizes, "the tube would lie on the floor or below it", &Pair { one: of_floor, other });
        return;
    }
    let before = page.log.count();
    for part in &sizes.parts {
        let Taped::Block(block) = part.taped else { continue };
        for pair in sizes.block(&block).chunks(2) {
            // A height is above the floor and a thickness above 0: only faces with keys of their own come here.
            if let [(way, place), (facing, opposite)] = pair
                && place + opposite <= SLACK
            {
                let said = format!("the {} would be inside out", part.name());
                let key = part.kind.key();
                note(page, top, sizes, &said, &Pair { one: (key, way.key()), other: (key, facing.key()) });
            }
        }
    }
    if page.log.count() > before {
        return;
    }
    let bender = sizes.bender();
    let touching = bender.dies.first().map(|die| resting_contacts(&bender, die, die.od)).unwrap_or_default();
    for (place, part) in sizes.parts.iter().enumerate() {
        let key = part.kind.key();
        if touching.contains(&place) {
            let said = format!("the {} would touch the straight tube that lies in the die", part.name());
            note(page, top, sizes, &said, &touch(part, of_floor));
        } else if let Taped::Block(block @ Solid::Beside { .. }) = part.taped
            && let Some((_, lowest)) = sizes.block(&block).into_iter().find(|face| face.0 == down)
            && lowest > floor + SLACK
        {
            let said = format!("the {} would reach below the floor", part.name());
            let one = (key, if down == Way::Under { "thick" } else { down.key() });
            note(page, top, sizes, &said, &Pair { one, other: of_floor });
        }
    }
}

/// Which two sizes put a part where the tube lies.
fn touch(part: &Part, of_floor: (&'static str, &'static str)) -> Pair {
    let key = part.kind.key();
    let clr = ("die", "clr");
    match part.taped {
        Taped::Block(Solid::Standing { .. }) => Pair { one: (key, "height"), other: of_floor },
        Taped::Block(Solid::Ceiling(_)) => Pair { one: (key, "ceiling"), other: of_floor },
        Taped::Block(Solid::Wall((way, _))) => {
            let other = match way {
                Way::Ahead => ("clamp", "length"),
                Way::Behind => ("follower", "length"),
                _ => clr,
            };
            Pair { one: (key, way.key()), other }
        }
        // With a gap above 0 it lies off the tube: only a ram comes here.
        _ => Pair { one: (key, "gap"), other: clr },
    }
}

fn note(page: &Page<'_>, top: &Block<'_>, sizes: &Sizes, said: &str, pair: &Pair) {
    let measures = sizes.measures();
    let of = |(part, key): (&str, &str)| measures.iter().find(|found| found.part == part && found.key == key);
    let shown = |found: &Measure| format!("{} of `{}`, {}", quoted(found.key), found.part, page.shown(found.length));
    let (Some(one), Some(other)) = (of(pair.one), of(pair.other)) else { return };
    let place = |(part, key)| page.place(&value_at(top, part, key));
    page.log.add(
        Mistake::new(
            "sizes-disagree",
            place(pair.one),
            format!("{said}: {} and {} cannot both be right", shown(one), shown(other)),
            "measure these two again",
        )
        .label("this one")
        .related(place(pair.other), "or this one"),
    );
}

/// Where a size stands: the value of a key in the block of a part.
fn value_at(top: &Block<'_>, part: &str, key: &str) -> Range<usize> {
    let found = top.get(part).and_then(|node| match &node.value {
        Value::Map(entries) => entries.iter().find(|entry| entry.key.written() == Some(key)),
        _ => None,
    });
    found.map_or_else(|| top.key_at(part), |entry| entry.value.span.clone())
}
