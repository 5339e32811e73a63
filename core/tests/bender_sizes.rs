//! Benders made from sizes taken with a tape: each size moves the face that it names, by so much, whichever hand and however the bend plane lies; and what
//! is written is read back as what was made.

use std::path::Path;

use nalgebra::{Point3, Vector3};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use tubewright::bender::sizes::{Measure, Sizes};
use tubewright::bender::{BendPlane, Bender, Carrier, Hand, Shape};
use tubewright::file::mistake::Mistakes;
use tubewright::file::{Disk, Held, load_bender, load_bender_sizes, write_bender};
use tubewright::units::Length;

/// A block of the file: its key, its sizes by their keys, and what else stands in it.
type Rows = Vec<(&'static str, Vec<(&'static str, f64)>, &'static str)>;

fn die() -> Rows {
    vec![
        (
            "die",
            vec![("od", 38.0), ("clr", 127.0), ("over", 10.0), ("under", 9.0)],
            "name: five-inch, max_angle: 190, material: mild-steel",
        ),
        ("clamp", vec![("length", 70.0), ("out", 40.0), ("over", 12.0), ("under", 13.0)], ""),
        ("follower", vec![("length", 150.0), ("out", 41.0), ("over", 14.0), ("under", 15.0)], ""),
    ]
}

const ALONG: [&str; 4] = ["ahead", "behind", "tube_side", "far_side"];

/// A block's sizes: the two of its height or thickness, and those of its faces.
fn sized(own: &[(&'static str, f64)], faces: [&'static str; 4], at: [f64; 4]) -> Vec<(&'static str, f64)> {
    own.iter().copied().chain(faces.into_iter().zip(at)).collect()
}

fn beside() -> Rows {
    vec![
        ("arm_over", sized(&[("gap", 43.0), ("thick", 12.0)], ALONG, [45.0, 190.0, 225.0, 46.0]), ""),
        ("arm_under", sized(&[("gap", 44.0), ("thick", 11.0)], ALONG, [47.0, 191.0, 226.0, 48.0]), ""),
        ("ram", sized(&[("gap", 61.0), ("thick", 85.0)], ALONG, [-40.0, 620.0, 70.0, 150.0]), ""),
        ("plate", vec![("gap", 56.0), ("thick", 26.0), ("reach", 95.0)], ""),
        ("handle", vec![("gap", 90.0), ("thick", 24.0), ("reach", 300.0)], "points: tube_side"),
    ]
}

fn standing(faces: [&'static str; 4]) -> Rows {
    vec![
        ("post", sized(&[("height", 430.0)], faces, [-25.0, 125.0, 140.0, -40.0]), ""),
        ("base", sized(&[("height", 70.0)], faces, [260.0, 650.0, 330.0, 200.0]), ""),
        ("pump", sized(&[("height", 400.0)], faces, [-600.0, 1100.0, 300.0, 100.0]), ""),
        ("bench", sized(&[("height", 920.0)], faces, [3100.0, -1500.0, 1700.0, -1000.0]), ""),
        ("operator", sized(&[("height", 1760.0)], faces, [-310.0, 810.0, 930.0, -430.0]), ""),
        ("room", sized(&[("ceiling", 2600.0)], faces, [3000.0, 3100.0, 3200.0, 2100.0]), ""),
    ]
}

/// Ways for a bender to stand: the lines that say so, and the faces of what stands on the floor.
const STANCES: [(&str, [&str; 4]); 5] = [
    ("bend_plane: horizontal\n", ALONG),
    ("bend_plane: vertical\nup: far_side\n", ["ahead", "behind", "front", "back"]),
    ("bend_plane: vertical\nup: tube_side\n", ["ahead", "behind", "front", "back"]),
    ("bend_plane: vertical\nup: ahead\n", ["tube_side", "far_side", "front", "back"]),
    ("bend_plane: vertical\nup: behind\n", ["tube_side", "far_side", "front", "back"]),
];

fn rows(stance: usize) -> Rows {
    let floor = if stance == 0 { ("tube", 841.0, "measured: underside") } else { ("axis", 950.0, "") };
    let mut all = vec![("floor", vec![(floor.0, floor.1)], floor.2)];
    all.extend(die());
    all.extend(beside());
    all.extend(standing(STANCES[stance].1));
    all
}

fn text(hand: &str, stance: usize, units: &str, rows: &Rows) -> String {
    let mut text =
        format!("kind: bender-sizes\nunits: {units}\nmotion: die-turns\nhand: {hand}\n{}", STANCES[stance].0);
    for (part, sizes, more) in rows {
        let mut said: Vec<String> = sizes.iter().map(|(key, size)| format!("{key}: {size}")).collect();
        said.extend((!more.is_empty()).then(|| (*more).to_owned()));
        text.push_str(&format!("{part}: {{ {} }}\n", said.join(", ")));
    }
    text
}

fn load(text: &str) -> Result<Sizes, Mistakes> {
    load_bender_sizes(&Held::default().with("sizes.yaml", text), Path::new("sizes.yaml"))
}

fn sound(text: &str) -> Sizes {
    load(text).unwrap_or_else(|mistakes| panic!("{mistakes}\n{text}"))
}

fn codes(text: &str) -> Vec<&'static str> {
    load(text).err().map(|mistakes| mistakes.list.iter().map(|mistake| mistake.code).collect()).unwrap_or_default()
}

/// Figures that say where a body lies, and its radius.
fn figures(shape: &Shape) -> Vec<f64> {
    let points = |one: &Point3<f64>, other: &Point3<f64>| one.iter().chain(other.iter()).copied().collect::<Vec<f64>>();
    match shape {
        Shape::Box { min, max } => points(min, max),
        Shape::Cylinder { from, to, radius } | Shape::Capsule { from, to, radius } => {
            let mut all = points(from, to);
            all.push(radius.to_mm());
            all
        }
        Shape::Mesh(_) => panic!("no size gives a mesh"),
    }
}

/// All bodies of a bender by name, with their figures.
fn bodies(bender: &Bender) -> Vec<(String, Vec<f64>)> {
    let shapes = &bender.dies[0].shapes;
    let own = [("die", &shapes.die), ("clamp", &shapes.clamp), ("follower", &shapes.follower)];
    let own = own.into_iter().flat_map(|(name, list)| list.iter().map(move |shape| (name.to_owned(), figures(shape))));
    own.chain(bender.solids.iter().map(|solid| (solid.name.clone(), figures(&solid.shape)))).collect()
}

/// Whether a point lies on the face of a body that looks along `way`.
fn on_face(shape: &Shape, point: Point3<f64>, way: Vector3<f64>) -> bool {
    let near = |one: f64, other: f64| (one - other).abs() < 1e-9;
    let axis = way.iamax();
    match shape {
        Shape::Box { min, max } => near(point[axis], max[axis]) || near(point[axis], min[axis]),
        Shape::Cylinder { from, to, radius } => {
            if axis == 2 {
                near(point.z, from.z) || near(point.z, to.z)
            } else {
                near((point - Point3::new(0.0, 0.0, point.z)).norm(), radius.to_mm())
            }
        }
        Shape::Capsule { from, to, radius } => {
            if axis == 2 {
                near((point.z - from.z).abs(), radius.to_mm())
            } else {
                near((point - to).norm(), radius.to_mm())
            }
        }
        Shape::Mesh(_) => false,
    }
}

fn solid_of<'b>(bender: &'b Bender, sizes: &Sizes, measure: &Measure) -> Option<&'b Shape> {
    let shapes = &bender.dies[0].shapes;
    match measure.part {
        "floor" => None,
        "die" => shapes.die.first(),
        "clamp" => shapes.clamp.first(),
        "follower" => shapes.follower.first(),
        part => {
            // The room has several solids, one for each of its sizes, in the order of its sizes.
            let first = sizes.parts.iter().position(|found| found.kind.key() == part)?;
            let own: Vec<&str> =
                sizes.measures().iter().filter(|found| found.part == part).map(|found| found.key).collect();
            let of_room = own.iter().position(|key| *key == measure.key)?;
            Some(&bender.solids[if part == "room" { first + of_room } else { first }].shape)
        }
    }
}

#[test]
fn every_size_moves_the_face_that_it_names_by_so_much_and_no_other() {
    const BY: f64 = 7.0;
    let mut moved = 0;
    for hand in ["anticlockwise", "clockwise"] {
        for stance in 0..STANCES.len() {
            let rows = rows(stance);
            let before = sound(&text(hand, stance, "mm", &rows));
            let (made, measures) = (before.bender(), before.measures());
            let taken: usize = rows.iter().map(|row| row.1.len()).sum();
            assert_eq!(measures.len(), taken, "each size is measured once");
            for (place, row) in rows.iter().enumerate() {
                for (size, (key, _)) in row.1.iter().enumerate() {
                    let mut changed = rows.clone();
                    changed[place].1[size].1 += BY;
                    let after = sound(&text(hand, stance, "mm", &changed));
                    let this =
                        |of: &[Measure]| *of.iter().find(|found| found.part == row.0 && found.key == *key).unwrap();
                    let (old, new) = (this(&measures), this(&after.measures()));
                    let way = (old.to - old.from).normalize();
                    let what = format!("{hand} {stance} {} {key}", row.0);
                    // A size below 0 is taken the other way.
                    let way = if old.length.to_mm() < 0.0 { -way } else { way };
                    if matches!((row.0, *key), ("floor", _) | ("die", "od" | "clr")) {
                        continue;
                    }
                    let step = (new.to - old.to).dot(&way);
                    assert!((step - BY).abs() < 1e-9, "{what}: {step}");
                    let made_after = after.bender();
                    let shape = solid_of(&made, &before, &old).unwrap();
                    let shape_after = solid_of(&made_after, &after, &new).unwrap();
                    assert!(on_face(shape, old.to, way), "{what}: {old:?} {shape:?}");
                    assert!(on_face(shape_after, new.to, way), "{what}");
                    // Every other body stays, and of this one nothing but that face; behind a gap the far face moves along.
                    let (all, all_after) = (bodies(&made), bodies(&made_after));
                    let others = all.iter().zip(&all_after).filter(|(one, other)| one != other).count();
                    assert_eq!(others, 1, "{what}");
                    let changed = |one: &Shape, other: &Shape| {
                        figures(one)
                            .iter()
                            .zip(figures(other))
                            .filter(|(one, other)| (*one - other).abs() > 1e-9)
                            .count()
                    };
                    let wanted = match (shape, *key) {
                        (_, "gap") => 2,
                        // A wall goes with its near face.
                        _ if row.0 == "room" => 2,
                        // A thicker rod keeps its near side and its end: axis, end and radius change.
                        (Shape::Capsule { .. }, "thick") => 4,
                        _ => 1,
                    };
                    assert_eq!(changed(shape, shape_after), wanted, "{what}: {shape:?} {shape_after:?}");
                    moved += 1;
                }
            }
        }
    }
    assert!(moved > 500, "{moved}");
}

#[test]
fn what_stands_in_the_frame_is_where_it_was_measured() {
    let shape = |bender: &Bender, name: &str| {
        let solid = bender.solids.iter().find(|solid| solid.name == name).unwrap();
        (solid.on, figures(&solid.shape))
    };
    // The tube is 38 thick, 127 from the axis, and its underside 841 over the floor.
    let flat = sound(&text("anticlockwise", 0, "mm", &rows(0))).bender();
    assert_eq!(flat.centre_height, Length::mm(860.0));
    assert_eq!(shape(&flat, "arm over the tube"), (Carrier::Frame, vec![-190.0, -225.0, 62.0, 45.0, 46.0, 74.0]));
    assert_eq!(shape(&flat, "ram"), (Carrier::Frame, vec![-620.0, -70.0, -165.0, -40.0, 150.0, -80.0]));
    assert_eq!(shape(&flat, "post"), (Carrier::Frame, vec![-125.0, -140.0, -860.0, -25.0, -40.0, -430.0]));
    assert_eq!(shape(&flat, "handle"), (Carrier::Die, vec![0.0, 0.0, 121.0, 0.0, -288.0, 121.0, 12.0]));
    assert_eq!(shape(&flat, "wall on the far side").1, [-10_000.0, 2100.0, -860.0, 10_000.0, 2200.0, 3140.0]);
    // The mirror image in y.
    let clockwise = sound(&text("clockwise", 0, "mm", &rows(0))).bender();
    assert_eq!(shape(&clockwise, "arm over the tube").1, [-190.0, -46.0, 62.0, 45.0, 225.0, 74.0]);
    assert_eq!(shape(&clockwise, "handle").1, [0.0, 0.0, 121.0, 0.0, 288.0, 121.0, 12.0]);
    // Upright, the tube level under the axis: the far side is up, and the floor lies 950 toward the tube's side.
    let upright = sound(&text("anticlockwise", 1, "mm", &rows(1))).bender();
    assert!(matches!(upright.bend_plane, BendPlane::Vertical { up } if up.into_inner() == Vector3::y()));
    assert_eq!(shape(&upright, "post").1, [-125.0, -950.0, -(19.0 - 40.0), -25.0, -520.0, 19.0 + 140.0]);
    assert_eq!(shape(&upright, "ceiling").1, [-10_000.0, 1650.0, -10_000.0, 10_000.0, 1750.0, 10_000.0]);
    let clockwise = sound(&text("clockwise", 1, "mm", &rows(1))).bender();
    assert!(matches!(clockwise.bend_plane, BendPlane::Vertical { up } if up.into_inner() == -Vector3::y()));
    assert_eq!((clockwise.hand, shape(&clockwise, "post").1[1]), (Hand::Clockwise, 520.0));
    // Where the follower wipes around the die, arms and handle go with it.
    let wiped = text("anticlockwise", 0, "mm", &rows(0)).replace("die-turns", "die-stands");
    let wiped = sound(&wiped).bender();
    let on: Vec<Carrier> =
        ["arm over the tube", "handle", "plate over the die", "ram"].map(|name| shape(&wiped, name).0).into();
    assert_eq!(on, [Carrier::Follower, Carrier::Follower, Carrier::Die, Carrier::Frame]);
}

#[test]
fn the_height_of_the_tube_and_its_od_move_what_is_taken_from_them() {
    let mut of = rows(0);
    let bender = |of: &Rows| sound(&text("anticlockwise", 0, "mm", of)).bender();
    let base = |bender: &Bender| figures(&bender.solids.iter().find(|solid| solid.name == "base").unwrap().shape);
    let arm = |bender: &Bender| figures(&bender.solids[0].shape);
    let before = bender(&of);
    of[0].1[0].1 += 7.0;
    let higher = bender(&of);
    assert_eq!(higher.centre_height, Length::mm(867.0));
    // The floor goes down by as much, and what stands on it; what was taken from the tube stays.
    assert_eq!(vec![base(&higher)[2], base(&higher)[5]], vec![base(&before)[2] - 7.0, base(&before)[5] - 7.0]);
    assert_eq!(arm(&higher), arm(&before));
    of[0].1[0].1 -= 7.0;
    // A thicker tube has its middle higher over its underside, and its surface further from its middle.
    of[1].1[0].1 += 2.0;
    let thicker = bender(&of);
    assert_eq!(thicker.centre_height, Length::mm(861.0));
    assert_eq!(vec![arm(&thicker)[2], arm(&thicker)[5]], vec![arm(&before)[2] + 1.0, arm(&before)[5] + 1.0]);
    for (measured, height) in [("top", 822.0), ("centre", 841.0), ("underside", 860.0)] {
        let flat = text("anticlockwise", 0, "mm", &rows(0));
        let sizes = sound(&flat.replace("measured: underside", &format!("measured: {measured}")));
        assert_eq!(sizes.bender().centre_height, Length::mm(height));
    }
}

#[test]
fn sizes_that_cannot_both_be_right_are_named() {
    let sizes = text("anticlockwise", 0, "mm", &rows(0));
    assert!(codes(&sizes).is_empty());
    let cases = [
        // The post ends half a millimetre below the tube, then at it.
        ("height: 430", "height: 840.5", None),
        ("height: 430", "height: 841", Some("`height` of `post`, 841 mm and `tube` of `floor`, 841 mm")),
        (
            "tube: 841, measured: underside",
            "tube: 19, measured: centre",
            Some("`tube` of `floor`, 19 mm and `od` of `die`, 38 mm"),
        ),
        ("gap: 61, thick: 85", "gap: 61, thick: 800", Some("`thick` of `ram`, 800 mm and `tube` of `floor`, 841 mm")),
        // On the far side a ram may be as high as the tube, but not where the tube lies.
        (
            "gap: 61, thick: 85, ahead: -40, behind: 620, tube_side: 70",
            "gap: -30, thick: 85, ahead: -40, behind: 620, tube_side: 70",
            None,
        ),
        (
            "gap: 61, thick: 85, ahead: -40, behind: 620, tube_side: 70",
            "gap: -30, thick: 85, ahead: -40, behind: 620, tube_side: 110",
            Some("`gap` of `ram`, -30 mm and `clr` of `die`, 127 mm"),
        ),
        ("tube_side: 3200", "tube_side: 140", Some("`tube_side` of `room`, 140 mm and `clr` of `die`, 127 mm")),
        ("ahead: 3000", "ahead: 60", Some("`ahead` of `room`, 60 mm and `length` of `clamp`, 70 mm")),
        ("behind: 3100", "behind: 149", Some("`behind` of `room`, 149 mm and `length` of `follower`, 150 mm")),
        ("ceiling: 2600", "ceiling: 870", Some("`ceiling` of `room`, 870 mm and `tube` of `floor`, 841 mm")),
        (
            "ahead: -25, behind: 125",
            "ahead: 25, behind: -125",
            Some("`ahead` of `post`, 25 mm and `behind` of `post`, -125 mm"),
        ),
    ];
    for (from, to, wanted) in cases {
        let changed = sizes.replacen(from, to, 1);
        assert_ne!(changed, sizes, "{from}");
        match (load(&changed), wanted) {
            (Ok(_), None) => {}
            (Err(mistakes), Some(words)) => {
                assert!(mistakes.list.iter().all(|mistake| mistake.code == "sizes-disagree"), "{mistakes}");
                assert!(mistakes.list.iter().any(|mistake| mistake.message.contains(words)), "{words}: {mistakes}");
            }
            (Ok(_), Some(words)) => panic!("{to} is read, against {words}"),
            (Err(mistakes), None) => panic!("{to}: {mistakes}"),
        }
    }
    // Upright, with the tube under the axis.
    let upright = text("anticlockwise", 1, "mm", &rows(1)).replace("axis: 950", "axis: 140");
    assert!(codes(&upright).contains(&"sizes-disagree"));
}

#[test]
fn keys_that_have_no_place_with_the_bend_plane_are_refused() {
    for (stance, from, to) in [
        (0, "measured: underside", "measured: underside, axis: 3"),
        (0, "units: mm", "units: mm\nup: ahead"),
        (0, "height: 70,", "height: 70, front: 3,"),
        (1, "axis: 950", "axis: 950, tube: 3"),
        (1, "height: 70,", "height: 70, tube_side: 3,"),
        (3, "height: 70,", "height: 70, ahead: 3,"),
        (1, "ceiling: 2600,", "ceiling: 2600, far_side: 3,"),
    ] {
        let sizes = text("clockwise", stance, "mm", &rows(stance));
        let changed = sizes.replacen(from, to, 1);
        assert_ne!(changed, sizes, "{from}");
        assert_eq!(codes(&changed), ["key-out-of-place"], "{to}");
    }
}

/// What was made is what is read from what was written.
fn read_back(sizes: &Sizes) {
    let written = write_bender(sizes, "sizes.yaml");
    let files = Held::default().with("bender.yaml", written.as_str());
    let read = load_bender(&files, Path::new("bender.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}\n{written}"));
    let made = sizes.bender();
    let (found, wanted) = (bodies(&read), bodies(&made));
    assert_eq!(found.len(), wanted.len(), "{written}");
    for ((name, figures), (wanted_name, wanted)) in found.iter().zip(&wanted) {
        assert_eq!(name, wanted_name);
        assert!(
            figures.iter().zip(wanted).all(|(one, other)| (one - other).abs() < 1e-6),
            "{name}: {figures:?} {wanted:?}"
        );
    }
    assert!((read.centre_height - made.centre_height).abs().to_mm() < 1e-6);
    // All the rest is the same to the last bit.
    let bare = |mut bender: Bender| {
        bender.centre_height = made.centre_height;
        bender.dies[0].shapes = made.dies[0].shapes.clone();
        for (solid, of) in bender.solids.iter_mut().zip(&made.solids) {
            solid.shape = of.shape.clone();
        }
        bender
    };
    assert_eq!(bare(read), made, "{written}");
}

#[test]
fn the_sample_is_read_back() {
    let path = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../samples/sizes/floor-bender.yaml"));
    let sizes = load_bender_sizes(&Disk, path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    assert!(sizes.parts.len() >= 10);
    read_back(&sizes);
}

/// The same cases in every run.
fn config() -> ProptestConfig {
    ProptestConfig { rng_seed: RngSeed::Fixed(5), failure_persistence: None, ..ProptestConfig::with_cases(300) }
}

proptest! {
    #![proptest_config(config())]

    /// Plausible sizes, with any of the parts left out, in whole steps of the tape.
    #[test]
    fn whatever_is_plausible_is_made_and_read_back(
        clockwise in any::<bool>(),
        stands in any::<bool>(),
        inch in any::<bool>(),
        stance in 0..STANCES.len(),
        given in prop::collection::vec(any::<bool>(), 20),
        scale in prop::collection::vec(0.85..1.25_f64, 120),
    ) {
        let mut scales = scales_of(&scale);
        let mut all = rows(stance);
        for row in &mut all {
            for size in &mut row.1 {
                size.1 = (size.1 * scales()).round();
                if inch {
                    size.1 = (size.1 / 25.4 * 16.0).round().abs().max(1.0).copysign(size.1) / 16.0;
                }
            }
        }
        let mut place = 0;
        all.retain(|row| {
            place += 1;
            matches!(row.0, "floor" | "die" | "clamp" | "follower") || given[place]
        });
        let hand = if clockwise { "clockwise" } else { "anticlockwise" };
        let said = text(hand, stance, if inch { "in" } else { "mm" }, &all);
        let said = if stands { said.replace("die-turns", "die-stands") } else { said };
        read_back(&sound(&said));
    }
}

fn scales_of(scale: &[f64]) -> impl FnMut() -> f64 {
    let mut next = scale.iter().copied().cycle();
    move || next.next().unwrap_or(1.0)
}
