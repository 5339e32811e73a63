//! One tube of a job: its shape by nodes, legs or rows, and what it has of its own.

use core::cell::Cell;
use core::ops::Range;
use std::collections::BTreeMap;

use nalgebra::Point3;

use super::bender::die_names;
use super::ends::{EndGiven, read_ends};
use super::keys;
use super::mistake::{Mistake, Place, nearest, quoted};
use super::places::{RowPlaces, ShapePlaces, TubePlaces};
use super::reader::{Block, Limits, Named, Page, counted, listed};
use super::tree::{Node, Value};
use crate::bender::{Bender, Die};
use crate::centreline::{self, BendId, Centreline, Leg, NodeId, Row, Rows, ShapeMistake, Taken};
use crate::clearance::self_meeting;
use crate::job::{GivenBy, Size, Stock, Tube};
use crate::round::People;
use crate::units::{Angle, Length};

/// Corners of one tube: far above what anybody bends, and below where looking for a tube that meets itself takes long.
const MOST_CORNERS: usize = 1000;

/// A value with its place; the value is `None` where it is there but wrong, which has been noted.
#[derive(Clone, Debug)]
struct Given<T> {
    value: Option<T>,
    at: Range<usize>,
}

/// What a `tube` block says: the job's, or a tube's own.
#[derive(Clone, Debug, Default)]
pub(super) struct StockGiven {
    od: Option<Given<Length>>,
    wall: Option<Given<Length>>,
    material: Option<Given<String>>,
    die: Option<Given<String>>,
    density: Option<f64>,
    yield_strength: Option<f64>,
    e_modulus: Option<f64>,
}

impl StockGiven {
    pub(super) fn read(block: &Block<'_>) -> Self {
        fn given<T>(block: &Block<'_>, key: &str, value: Option<T>) -> Option<Given<T>> {
            block.has(key).then(|| Given { value, at: block.value_at(key) })
        }
        Self {
            od: given(block, "od", block.length("od", Limits::ABOVE_0)),
            wall: given(block, "wall", block.length("wall", Limits::ABOVE_0)),
            material: given(block, "material", block.line("material")),
            die: given(block, "die", block.line("die")),
            density: block.number("density", Limits::ABOVE_0),
            yield_strength: block.number("yield", Limits::ABOVE_0),
            e_modulus: block.number("e_modulus", Limits::ABOVE_0),
        }
    }

    /// What a tube says, and what the job says where the tube is silent.
    fn over(self, job: &Self) -> Self {
        Self {
            od: self.od.or_else(|| job.od.clone()),
            wall: self.wall.or_else(|| job.wall.clone()),
            material: self.material.or_else(|| job.material.clone()),
            die: self.die.or_else(|| job.die.clone()),
            density: self.density.or(job.density),
            yield_strength: self.yield_strength.or(job.yield_strength),
            e_modulus: self.e_modulus.or(job.e_modulus),
        }
    }

    /// The size, as far as it is stated.
    pub(super) fn size(&self) -> Size {
        fn of<T: Clone>(given: Option<&Given<T>>) -> Option<T> {
            given.and_then(|given| given.value.clone())
        }
        Size { od: of(self.od.as_ref()), wall: of(self.wall.as_ref()), material: of(self.material.as_ref()) }
    }

    /// Notes where the named die is not one of the bender's.
    pub(super) fn note_die(&self, page: &Page<'_>, bender: &Bender) {
        if let Some(Given { value: Some(name), at }) = &self.die {
            find_die(page, bender, name, at);
        }
    }
}

/// What all tubes of a job share.
pub(super) struct Shared<'s> {
    pub(super) page: &'s Page<'s>,
    pub(super) nodes: &'s BTreeMap<String, Point3<f64>>,
    /// Names of the nodes that could not be read, so that nobody is told that they are missing.
    pub(super) spoilt: &'s [String],
    /// Points that the survey has and does not tell.
    pub(super) untold: &'s [String],
    /// There is a survey that could not be read: what it tells is not known.
    pub(super) lost: bool,
    pub(super) stock: &'s StockGiven,
    pub(super) bender: Option<&'s Bender>,
}

/// A shape as the file gives it.
enum Shape {
    Path { points: Vec<Point3<f64>>, names: Vec<String> },
    Legs { legs: Vec<Leg>, bends: Vec<Angle>, rotations: Vec<Angle> },
    Rows(Rows),
}

/// A tube with what is said of its ends, which are not fitted yet, and its places. `None` where something that it cannot do without is missing or wrong.
pub(super) fn read_tube(shared: &Shared<'_>, named: &Named<'_>) -> Option<(Tube, [Option<EndGiven>; 2], TubePlaces)> {
    let page = shared.page;
    let what = format!("the tube {}", quoted(named.name));
    let block = page.block(named.node, what, &named.at, keys::TUBE)?;
    let own = block.block("tube", keys::STOCK).map(|block| StockGiven::read(&block)).unwrap_or_default();
    if let Some(bender) = shared.bender {
        own.note_die(page, bender);
    }
    let stock = own.over(shared.stock);
    if stock.od.is_none() {
        page.log.add(
            Mistake::new(
                "key-missing",
                page.place(&named.at),
                format!("nothing says the `od` of {}", block.what),
                "give the outside diameter in the job's `tube: { od: .. }`, or in a `tube` of its own",
            )
            .label("no `od` for this tube"),
        );
    }
    let od = stock.od.as_ref().and_then(|od| od.value);
    let wall = stock.wall.as_ref().and_then(|wall| wall.value);
    if let (Some(od), Some(wall), Some(given)) = (od, wall, &stock.wall)
        && wall >= od / 2.0
    {
        page.mistake(
            "out-of-range",
            &given.at,
            format!("the wall, {}, is not below half of the `od`, {}", page.shown(wall), page.shown(od)),
            "the wall is the thickness of the metal",
        );
    }
    let extra = block.block("extra", keys::EXTRA);
    let extra_of = |key| extra.as_ref().and_then(|extra| extra.length(key, Limits::FROM_0)).unwrap_or_default();
    let (extra_a, extra_b) = (extra_of("a"), extra_of("b"));
    let seam = block.angle("seam", Limits::from_to(-360.0, 360.0));
    let one_piece = block.truth("one_piece").unwrap_or(false);
    let tolerance = block.length("tolerance", Limits::ABOVE_0);
    let ends = read_ends(page, &block);
    let dies = Dies::read(shared, &block, &stock);
    let (shape, places) = shape(shared, &block)?;
    let mut places = TubePlaces { name: page.place(&named.at), shape: places, bend_nodes: Vec::new() };
    let od = od?;
    let of_file = Stock {
        od,
        wall,
        material: stock.material.as_ref().and_then(|material| material.value.clone()),
        density: stock.density,
        yield_strength: stock.yield_strength,
        e_modulus: stock.e_modulus,
    };
    let centreline = build(shared, &block, &dies, &stock, &of_file, &shape, &places)?;
    let bends = centreline.rows.bends.len();
    let die = dies.one();
    let dies = (0..bends).map(|bend| dies.of(BendId(bend))).collect::<Option<Vec<usize>>>()?;
    places.bend_nodes.clone_from(&centreline.bend_nodes);
    let given = match shape {
        Shape::Path { .. } => GivenBy::Nodes,
        Shape::Legs { .. } => GivenBy::Legs,
        Shape::Rows(_) => GivenBy::Rows,
    };
    let node_names = match shape {
        Shape::Path { names, .. } => names.into_iter().map(Some).collect(),
        _ => vec![None; centreline.nodes.len()],
    };
    let tube = Tube {
        name: named.name.to_owned(),
        stock: of_file,
        dies,
        die,
        given,
        centreline,
        node_names,
        extra_a,
        extra_b,
        ends: [None, None],
        seam,
        one_piece,
        tolerance,
        pair: None,
    };
    Some((tube, ends, places))
}

/// Which die makes which bend.
enum Dies {
    /// One for all.
    One(Option<usize>),
    /// One a bend, with the place of the list.
    Each(Vec<Option<usize>>, Range<usize>),
    /// None is named anywhere.
    Unsaid,
}

impl Dies {
    fn read(shared: &Shared<'_>, block: &Block<'_>, stock: &StockGiven) -> Self {
        let page = shared.page;
        if let Some(node) = block.get("dies") {
            let what = block.of("dies");
            let help = "one die a bend, from end A: `dies: [five-inch, three-inch]`";
            let Some(items) = page.items(node, &what, help) else { return Self::One(None) };
            let found = items.iter().map(|item| {
                let name = page.name(item, &format!("a die in {what}"))?;
                find_die(page, shared.bender?, name, &item.span)
            });
            return Self::Each(found.collect(), node.span.clone());
        }
        match &stock.die {
            Some(Given { value: Some(name), at }) => {
                Self::One(shared.bender.and_then(|bender| find_die(page, bender, name, at)))
            }
            Some(_) => Self::One(None),
            None => Self::Unsaid,
        }
    }

    /// The die of the whole tube, where one is named.
    fn one(&self) -> Option<usize> {
        match self {
            Self::One(die) => *die,
            Self::Each(..) | Self::Unsaid => None,
        }
    }

    fn of(&self, bend: BendId) -> Option<usize> {
        match self {
            Self::One(die) => *die,
            Self::Each(dies, _) => dies.get(bend.0).copied().flatten(),
            Self::Unsaid => None,
        }
    }
}

/// The place of a die in the bender's list; noted where there is none of that name.
fn find_die(page: &Page<'_>, bender: &Bender, name: &str, at: &Range<usize>) -> Option<usize> {
    let found = bender.dies.iter().position(|die| die.name == name);
    if found.is_none() {
        let mistake = Mistake::new(
            "die-unknown",
            page.place(at),
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

/// Notes where the tube's material is not one that the die lists.
fn note_material(page: &Page<'_>, stock: &StockGiven, die: &Die) {
    let Some(Given { value: Some(name), at }) = &stock.material else { return };
    if die.materials.iter().any(|material| material.name == *name) {
        return;
    }
    let known = || die.materials.iter().map(|material| material.name.as_str());
    let help = if die.materials.is_empty() {
        "it lists none: add it under `materials` of the die, with figures from test bends; or take `material` out here, \
         and the plan says that springback is not known"
            .to_owned()
    } else {
        format!("it lists {}; add another under `materials` of the die", listed(known()))
    };
    let mistake = Mistake::new(
        "material-unknown",
        page.place(at),
        format!("the die {} lists no material {}", quoted(&die.name), quoted(name)),
        help,
    );
    page.log.add(match nearest(name, known()) {
        Some(meant) => mistake.label(format!("did you mean {}?", quoted(meant))).fix(meant),
        None => mistake.label("not listed for this die"),
    });
}

/// The tube's centreline; what is wrong with it is noted at its place.
fn build(
    shared: &Shared<'_>,
    block: &Block<'_>,
    dies: &Dies,
    stock: &StockGiven,
    of_file: &Stock,
    shape: &Shape,
    places: &TubePlaces,
) -> Option<Centreline> {
    let page = shared.page;
    let od = of_file.od;
    let law = |bend: BendId| {
        let place = dies.of(bend)?;
        Some(of_file.law(place, shared.bender?.dies.get(place)?))
    };
    let corners = match shape {
        Shape::Path { points, .. } => points.len(),
        Shape::Legs { bends, .. } => bends.len(),
        Shape::Rows(rows) => rows.bends.len(),
    };
    if corners > MOST_CORNERS {
        page.mistake(
            "count-wrong",
            &block.at,
            format!("{} has {corners} corners; the most that are read is {MOST_CORNERS}", block.what),
            "split it into several tubes",
        );
        return None;
    }
    let asked = Cell::new(0);
    let guessed = Cell::new(false);
    let radius = |bend: BendId| {
        asked.set(asked.get().max(bend.number()));
        law(bend).map_or_else(
            || {
                // Any radius: what is found with it is only told where no radius matters.
                guessed.set(true);
                od
            },
            |law| law.formed_radius(),
        )
    };
    let built = match shape {
        Shape::Path { points, .. } => Centreline::from_nodes(points, &radius),
        Shape::Legs { legs, bends, rotations } => Centreline::from_legs(legs, od, bends, rotations, &radius),
        Shape::Rows(rows) => Centreline::from_rows(rows, &radius),
    };
    let asked = asked.get();
    if asked > 0 {
        note_dies(shared, block, dies, asked);
        if let Some(bender) = shared.bender {
            let used = (0..asked).filter_map(|bend| bender.dies.get(dies.of(BendId(bend))?));
            used.for_each(|die| note_material(page, stock, die));
        }
    }
    let told = Told {
        what: &block.what,
        names: match shape {
            Shape::Path { names, .. } => Some(names),
            _ => None,
        },
        last: match shape {
            Shape::Path { .. } => corners.saturating_sub(1),
            _ => corners + 1,
        },
        places,
        key_at: &|key| block.key_at(key),
    };
    match built {
        Ok(centreline) => {
            if guessed.get() {
                return None;
            }
            let bent = note_die_angles(page, block, &centreline, places, &law);
            let clear = note_meeting(page, block, &centreline, od, places);
            (bent && clear).then_some(centreline)
        }
        Err(mistakes) => {
            let by_radius = |mistake: &ShapeMistake| {
                matches!(mistake, ShapeMistake::LegTooShort { .. } | ShapeMistake::RadiusNotPositive { .. })
            };
            for mistake in mistakes.iter().filter(|mistake| !(guessed.get() && by_radius(mistake))) {
                note_shape(page, &told, mistake);
            }
            None
        }
    }
}

/// Notes where the number of dies is not that of the bends, or none is named at all.
fn note_dies(shared: &Shared<'_>, block: &Block<'_>, dies: &Dies, bends: usize) {
    let page = shared.page;
    match dies {
        Dies::Each(each, at) if each.len() != bends => page.mistake(
            "count-wrong",
            at,
            format!("{} has {} and `dies` names {}", block.what, counted(bends, "bend"), each.len()),
            "name one die a bend, from end A; a node that is passed straight through has none",
        ),
        Dies::Unsaid => {
            let known =
                shared.bender.map_or_else(String::new, |bender| format!("; the bender has {}", die_names(bender)));
            page.log.add(
                Mistake::new(
                    "key-missing",
                    page.place(&block.at),
                    format!("nothing says with which die {} is bent", block.what),
                    format!("give `die` in the job's `tube`, or in a `tube` of its own{known}"),
                )
                .label("no `die` for this tube"),
            );
        }
        _ => {}
    }
}

/// Notes bends that the springback's constant part takes away altogether.
fn note_die_angles(
    page: &Page<'_>,
    block: &Block<'_>,
    centreline: &Centreline,
    places: &TubePlaces,
    law: &dyn Fn(BendId) -> Option<crate::forming::Law>,
) -> bool {
    let mut good = true;
    for (bend, row) in centreline.rows.bends.iter().enumerate() {
        let bend = BendId(bend);
        let Some(die_angle) = law(bend).map(|law| law.die_angle(row.angle)) else { continue };
        if die_angle <= Angle::ZERO {
            good = false;
            let at = centreline.bend_nodes.get(bend.0).map_or(&places.name, |node| places.node(NodeId(*node)));
            page.log.add(Mistake::new(
                "die-angle-below-zero",
                at.clone(),
                format!(
                    "{}: bend {} is {:.2} degrees, and the springback of its die makes that a die angle of {:.2}",
                    block.what,
                    bend.number(),
                    row.angle.to_deg(),
                    die_angle.to_deg()
                ),
                "springback `constant` below 0 is larger than the bend: measure it again by test bends",
            ));
        }
    }
    good
}

/// Notes where the finished tube runs into itself.
fn note_meeting(page: &Page<'_>, block: &Block<'_>, centreline: &Centreline, od: Length, places: &TubePlaces) -> bool {
    let Some(meeting) = self_meeting(centreline, od) else { return true };
    let (first, second) = (part_at(centreline, meeting.a, places), part_at(centreline, meeting.b, places));
    let shown = |length| page.shown(length);
    let mut told = Mistake::new(
        "meets-itself",
        second.1,
        format!(
            "{} runs into itself: {}, {} from end A, and {}, {} from end A, are nearer than its `od` of {}",
            block.what,
            first.0,
            shown(meeting.a),
            second.0,
            shown(meeting.b),
            shown(od)
        ),
        "move a corner so that the two places pass each other, or make it of two tubes",
    )
    .label(format!("{} ..", second.0));
    if first.1 != told.place {
        told = told.related(first.1, format!(".. meets {}", first.0));
    }
    page.log.add(told);
    false
}

/// What lies so far along the centreline from end A, by name and by place.
fn part_at(centreline: &Centreline, along: Length, places: &TubePlaces) -> (String, Place) {
    let mut left = along;
    let corner = |bend: usize| NodeId(centreline.bend_nodes.get(bend).copied().unwrap_or_default());
    let arcs = centreline.arcs().map(Some).chain([None]);
    for (leg, (straight, arc)) in centreline.straights().zip(arcs).enumerate() {
        left -= straight;
        if left <= Length::ZERO || arc.is_none() {
            let from = leg.checked_sub(1).map_or(NodeId(0), corner);
            return (format!("leg {}", leg + 1), places.leg_from(from).clone());
        }
        left -= arc.unwrap_or_default();
        if left <= Length::ZERO {
            return (format!("bend {}", leg + 1), places.node(corner(leg)).clone());
        }
    }
    ("the end".to_owned(), places.name.clone())
}

/// A shape whose mistakes are told with the names and places of a file.
pub(super) struct Told<'t> {
    /// What it is, as messages call it.
    pub(super) what: &'t str,
    /// Names of the nodes of a path; `None` for legs and rows.
    pub(super) names: Option<&'t [String]>,
    /// The last node.
    pub(super) last: usize,
    pub(super) places: &'t TubePlaces,
    /// Place of one of the keys that give the shape.
    pub(super) key_at: &'t dyn Fn(&str) -> Range<usize>,
}

/// A mistake in a shape, at its place and with the names of the file.
pub(super) fn note_shape(page: &Page<'_>, told: &Told<'_>, mistake: &ShapeMistake) {
    let people = if page.unit.is_imperial() { People::inch() } else { People::mm() };
    let Told { places, key_at, .. } = told;
    let name = |node: NodeId| match told.names {
        Some(names) => names.get(node.0).map_or_else(|| node.to_string(), |name| quoted(name)),
        None if node.0 == 0 => "end A".to_owned(),
        None if node.0 == told.last => "end B".to_owned(),
        None => format!("corner {}", node.0),
    };
    let mut related: Option<(Place, String)> = None;
    let (place, label) = match mistake {
        ShapeMistake::LegTooShort { from, to, .. } => match &places.shape {
            ShapePlaces::Path(_) => {
                related = Some((places.node(*from).clone(), "from here".to_owned()));
                (places.node(*to).clone(), "to here".to_owned())
            }
            _ => (places.leg_from(*from).clone(), "this leg".to_owned()),
        },
        ShapeMistake::NodesCoincide { first, second, .. } => match &places.shape {
            ShapePlaces::Path(_) => {
                related = Some((places.node(*first).clone(), "from here".to_owned()));
                (places.node(*second).clone(), "to here".to_owned())
            }
            _ => (places.leg_from(*first).clone(), "too short".to_owned()),
        },
        ShapeMistake::StraightBelowZero { row, .. } => (places.leg_from(NodeId(*row)).clone(), "below 0".to_owned()),
        ShapeMistake::BendOutOfRange { bend, .. } => (places.node(NodeId(bend + 1)).clone(), String::new()),
        ShapeMistake::RotationBeforeFirstBend { .. } => {
            let place = match &places.shape {
                ShapePlaces::Rows(rows) => rows.first().and_then(|row| row.rotation.clone()),
                _ => None,
            };
            (place.unwrap_or_else(|| places.name.clone()), String::new())
        }
        ShapeMistake::ClosedPath { last, .. } => {
            related = Some((places.node(NodeId(0)).clone(), "it starts here".to_owned()));
            (places.node(*last).clone(), "and comes back here".to_owned())
        }
        ShapeMistake::NotFinite { place } => (figure_at(*place, places).clone(), String::new()),
        ShapeMistake::LegsAndBendsDiffer { .. } => (page.place(&key_at("legs")), String::new()),
        ShapeMistake::RotationsAndBendsDiffer { .. } => (page.place(&key_at("rotations")), String::new()),
        ShapeMistake::Reversal { node, .. } | ShapeMistake::RadiusNotPositive { node, .. } => {
            (places.node(*node).clone(), String::new())
        }
        ShapeMistake::TooFewNodes { .. } => (page.place(&key_at("path")), String::new()),
    };
    let help = mistake.way_out(&people, &name).unwrap_or_else(|| usual_way_out(mistake).to_owned());
    let message = format!("{}: {}", told.what, mistake.words(&people, &name));
    let mut told = Mistake::new(mistake.code(), place, message, help).label(label);
    if let Some((place, words)) = related.filter(|(place, _)| *place != told.place) {
        told = told.related(place, words);
    }
    page.log.add(told);
}

fn figure_at(place: centreline::Place, places: &TubePlaces) -> &Place {
    match place {
        centreline::Place::Node(node) => places.node(node),
        centreline::Place::Leg(leg) | centreline::Place::Row(leg) => places.leg_from(NodeId(leg)),
        centreline::Place::Bend(bend) => places.node(NodeId(bend + 1)),
        centreline::Place::Rotation(rotation) => match &places.shape {
            ShapePlaces::Legs { rotations, .. } => rotations.get(rotation).unwrap_or(&places.name),
            _ => &places.name,
        },
        centreline::Place::Od => &places.name,
    }
}

/// What to change, for mistakes that say nothing about it themselves.
const fn usual_way_out(mistake: &ShapeMistake) -> &'static str {
    match mistake {
        ShapeMistake::TooFewNodes { .. } => "name the corner points in their order, end A first: `path: [a, b]`",
        ShapeMistake::NotFinite { .. } => "write a plain figure",
        ShapeMistake::StraightBelowZero { .. } => "make the straight longer, or a bend beside it smaller",
        ShapeMistake::BendOutOfRange { .. } => {
            "turn the tube the other way by `rotation: 180`, with the bend angle above 0"
        }
        ShapeMistake::LegsAndBendsDiffer { .. } => "n bends lie between n + 1 legs: write them all, end A first",
        ShapeMistake::RotationsAndBendsDiffer { .. } => {
            "the first rotation is the one before the second bend; leave `rotations` out where the tube is flat and all bends turn one way"
        }
        _ => "see the figures of the die and its springback",
    }
}

/// The one shape that a tube must have.
fn shape(shared: &Shared<'_>, block: &Block<'_>) -> Option<(Shape, ShapePlaces)> {
    const WAYS: [&str; 3] = ["path", "legs", "rows"];
    let page = shared.page;
    let given: Vec<&str> = WAYS.into_iter().filter(|key| block.has(key)).collect();
    if !given.contains(&"legs") {
        for key in ["measured", "bends", "rotations"].into_iter().filter(|key| block.has(key)) {
            page.mistake(
                "key-out-of-place",
                &block.key_at(key),
                format!("`{key}` belongs to `legs`, and {} has none", block.what),
                "take it out, or give the tube by `legs`",
            );
        }
    }
    let [way] = given[..] else {
        let help = "give a tube by one of `path` (nodes by name), `legs` (with `bends` and `rotations`) or `rows`";
        if given.is_empty() {
            page.mistake("shape-missing", &block.at, format!("{} has no shape", block.what), help);
        } else {
            let ways = listed(given.iter().copied());
            page.log.add(
                Mistake::new(
                    "shape-twice",
                    page.place(&block.key_at(given[1])),
                    format!("{} has more than one shape: {ways}", block.what),
                    help,
                )
                .related(page.place(&block.key_at(given[0])), "one here"),
            );
        }
        return None;
    };
    let node = block.get(way)?;
    match way {
        "path" => path(shared, block, node),
        "legs" => legs(page, block, node),
        _ => rows(page, block, node),
    }
}

fn path(shared: &Shared<'_>, block: &Block<'_>, node: &Node) -> Option<(Shape, ShapePlaces)> {
    let page = shared.page;
    let what = block.of("path");
    let items = page.items(node, &what, "names of nodes, end A first: `path: [a, b]`")?;
    let mut names = Vec::with_capacity(items.len());
    let mut points = Vec::with_capacity(items.len());
    for item in items {
        let Some(name) = page.name(item, &format!("a node in {what}")) else { continue };
        if let Some(point) = shared.nodes.get(name) {
            names.push(name.to_owned());
            points.push(*point);
        } else if shared.untold.iter().any(|untold| untold == name) {
            page.mistake(
                "node-untold",
                &item.span,
                format!("{}: the survey does not tell where {} is", block.what, quoted(name)),
                "`tubewright survey` on its file says what is missing, and which tape would tell",
            );
        } else if !shared.lost && !shared.spoilt.iter().any(|spoilt| spoilt == name) {
            let known = || shared.nodes.keys().map(String::as_str);
            let help = if shared.nodes.is_empty() {
                "the job has no `nodes`: give each as `name: [x, y, z]`".to_owned()
            } else {
                format!("the nodes are {}", listed(known()))
            };
            let mistake = Mistake::new(
                "node-unknown",
                page.place(&item.span),
                format!("{}: there is no node {}", block.what, quoted(name)),
                help,
            );
            page.log.add(match nearest(name, known()) {
                Some(meant) => mistake.label(format!("did you mean {}?", quoted(meant))).fix(meant),
                None => mistake.label("no such node"),
            });
        }
    }
    let places = items.iter().map(|item| page.place(&item.span)).collect();
    (points.len() == items.len()).then_some((Shape::Path { points, names }, ShapePlaces::Path(places)))
}

/// Where an end of a leg may have been taken.
pub(super) const TAKEN: [(&str, Taken); 3] =
    [("centre", Taken::Centre), ("outside", Taken::Outside), ("inside", Taken::Inside)];

fn legs(page: &Page<'_>, block: &Block<'_>, node: &Node) -> Option<(Shape, ShapePlaces)> {
    let what = block.of("legs");
    let usual = block.word("measured", &TAKEN).unwrap_or_default();
    let items = page.items(node, &what, "lengths from corner to corner, end A first: `legs: [40, 12]`")?;
    if items.is_empty() {
        page.mistake(
            "count-wrong",
            &node.span,
            format!("{what} is empty"),
            "a straight tube has one leg: `legs: [40]`",
        );
        return None;
    }
    let read = |(number, item): (usize, &Node)| {
        let what = format!("leg {} of {}", number + 1, block.what);
        if !matches!(item.value, Value::Map(_)) {
            let length = page.length(item, &what, Limits::ABOVE_0)?;
            return Some((Leg { length, a: usual, b: usual }, page.place(&item.span)));
        }
        let leg = page.block(item, what, &item.span, keys::LEG)?;
        let length = leg.need_length("length", Limits::ABOVE_0, "how long the leg was found: `length: 40`");
        let (a, b) = (leg.word("a", &TAKEN).unwrap_or(usual), leg.word("b", &TAKEN).unwrap_or(usual));
        Some((Leg { length: length?, a, b }, page.place(&leg.value_at("length"))))
    };
    let found: Vec<_> = items.iter().enumerate().map(read).collect();
    let list = |key: &str, help: &str| match block.get(key) {
        Some(node) => page.items(node, &block.of(key), help),
        None if block.has(key) => None,
        None => Some(&[][..]),
    };
    let bend_items = list("bends", "bend angles, or `{ included: 120 }` for the angle between two legs");
    let turn_items = list("rotations", "degrees, the first before the second bend: `rotations: [90]`");
    let bend = |(number, item): (usize, &Node)| {
        let what = format!("bend {} of {}", number + 1, block.what);
        let Value::Map(_) = item.value else { return page.angle(item, &what, Limits::ANY) };
        let bend = page.block(item, what, &item.span, keys::INCLUDED)?;
        let limits = Limits::above_to(0.0, 180.0).hint(
            "it is the angle between the two legs, 180 straight on; a bend angle is written as a bare number: `bends: [60]`",
        );
        let included = bend.need_angle("included", limits, "the angle between the two legs: 180 is straight on")?;
        Some(Angle::deg(180.0 - included.to_deg()))
    };
    let turn = |(number, item): (usize, &Node)| {
        let what = format!("the rotation before bend {} of {}", number + 2, block.what);
        page.angle(item, &what, Limits::from_to(-360.0, 360.0)).map(Angle::wrapped)
    };
    let bends: Option<Vec<Option<Angle>>> = bend_items.map(|items| items.iter().enumerate().map(bend).collect());
    let turns: Option<Vec<Option<Angle>>> = turn_items.map(|items| items.iter().enumerate().map(turn).collect());
    let places = |items: Option<&[Node]>| items.unwrap_or_default().iter().map(|item| page.place(&item.span)).collect();
    let (legs, leg_places): (Vec<Leg>, Vec<Place>) = found.into_iter().collect::<Option<Vec<_>>>()?.into_iter().unzip();
    let bends: Vec<Angle> = bends?.into_iter().collect::<Option<_>>()?;
    let rotations: Vec<Angle> = turns?.into_iter().collect::<Option<_>>()?;
    // Rotations that are all left out say that the tube is flat; an empty list for many bends is not that.
    if rotations.is_empty() && block.has("rotations") && bends.len() > 1 {
        page.mistake(
            "rotations-and-bends-differ",
            &block.key_at("rotations"),
            format!("{} has {} and `rotations` is empty", block.what, counted(bends.len(), "bend")),
            "give one rotation fewer than bends, or leave `rotations` out where the tube is flat and all bends turn one way",
        );
        return None;
    }
    let places = ShapePlaces::Legs { legs: leg_places, bends: places(bend_items), rotations: places(turn_items) };
    Some((Shape::Legs { legs, bends, rotations }, places))
}

fn rows(page: &Page<'_>, block: &Block<'_>, node: &Node) -> Option<(Shape, ShapePlaces)> {
    let (rows, places) = read_rows(page, node, &block.of("rows"), &block.what)?;
    Some((Shape::Rows(rows), ShapePlaces::Rows(places)))
}

/// Rows as in a job: each but the last has a bend, the last is the last straight.
pub(super) fn read_rows(page: &Page<'_>, node: &Node, what: &str, of: &str) -> Option<(Rows, Vec<RowPlaces>)> {
    const LAST: &str = "the last row is the straight after the last bend, with a length alone: `- { length: 12 }`";
    let items = page.items(node, what, "rows, end A first: `- { length: 10, bend: 45 }`")?;
    if items.is_empty() {
        page.mistake("count-wrong", &node.span, format!("{what} is empty"), LAST);
        return None;
    }
    let mut rows: Vec<Option<Row>> = Vec::with_capacity(items.len());
    let mut places = Vec::with_capacity(items.len());
    for (number, item) in items.iter().enumerate() {
        let last = number + 1 == items.len();
        let name = format!("row {} of {of}", number + 1);
        let Some(row) = page.block(item, name, &item.span, keys::ROW) else {
            rows.push(None);
            continue;
        };
        let length = row.need_length("length", Limits::ANY, "the straight before the bend; 0 where there is none");
        let rotation = row.angle("rotation", Limits::from_to(-360.0, 360.0));
        let angle = if last {
            // A row that should have another after it is one mistake, not two.
            if let Some(key) = ["bend", "rotation"].into_iter().find(|key| row.has(key)) {
                let message = format!("{} is the last one and has a `{key}`", row.what);
                let help = if key == "bend" { "add a row for the straight after it: `- { length: 0 }`" } else { LAST };
                page.mistake("last-row", &row.key_at(key), message, help);
            }
            Some(Angle::ZERO)
        } else if row.has("bend") {
            row.angle("bend", Limits::ANY)
        } else {
            let message = format!("{} has no `bend`, and other rows follow it", row.what);
            page.log
                .add(Mistake::new("key-missing", page.place(&row.at), message, LAST).label("`bend` is missing here"));
            None
        };
        let place = |key| row.has(key).then(|| page.place(&row.value_at(key)));
        places.push(RowPlaces {
            row: page.place(&item.span),
            length: page.place(&row.value_at("length")),
            rotation: place("rotation"),
            bend: place("bend"),
        });
        let bad_turn = row.has("rotation") && rotation.is_none();
        // The first rotation stays as written: it must be 0, and not only a whole turn.
        let turn = if number == 0 { rotation } else { rotation.map(Angle::wrapped) };
        rows.push(match (length, angle) {
            (Some(length), Some(angle)) if !bad_turn => Some(Row { length, rotation: turn.unwrap_or_default(), angle }),
            _ => None,
        });
    }
    let mut bends = rows.into_iter().collect::<Option<Vec<Row>>>()?;
    let last = bends.pop()?;
    Some((Rows { bends, last: last.length }, places))
}
