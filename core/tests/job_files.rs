//! What a job's file means, figure by figure, and what its fingerprint holds.

use std::path::Path;

use tubewright::bender::Follower;
use tubewright::file::mistake::Mistakes;
use tubewright::file::{Held, ShapePlaces, load_job, load_rules, open_job};
use tubewright::job::{Job, Rules};
use tubewright::units::{Angle, Length, LengthUnit};

const BENDER: &str = "kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
dies:
  big: { od: 40, clr: 100, max_angle: 195, clamp_length: 70, follower_length: 150, follower: travels,
    materials: { steel: { springback: { proportional: 0.02 } }, plain: { springback: { proportional: 0.02 }, radius_growth: false }, soft: } }
  small: { od: 40, clr: 80, max_angle: 195, clamp_length: 70, follower_length: 150, materials: { steel: } }
";

const HEAD: &str = "kind: job
units: mm
bender: b.yaml
tube: { od: 40, wall: 2, material: steel, die: big }
";

fn files(job: &str) -> Held {
    Held::default().with("shop/j.yaml", job).with("shop/b.yaml", BENDER)
}

fn read(job: &str) -> Job {
    load_job(&files(job), Path::new("shop/j.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"))
}

fn refused(job: &str) -> Mistakes {
    load_job(&files(job), Path::new("shop/j.yaml")).expect_err("it is wrong")
}

fn near(wanted: f64, found: f64) {
    assert!((wanted - found).abs() < 1e-9, "{wanted} {found}");
}

#[test]
fn the_formed_radius_comes_from_the_die_and_the_material() {
    let job = read(&format!(
        "{HEAD}tubes:
  grown: {{ rows: [{{ length: 300, bend: 90 }}, {{ length: 300 }}] }}
  plain: {{ tube: {{ material: plain }}, rows: [{{ length: 300, bend: 90 }}, {{ length: 300 }}] }}
  soft: {{ tube: {{ material: soft }}, rows: [{{ length: 300, bend: 90 }}, {{ length: 300 }}] }}
  each: {{ dies: [big, small], rows: [{{ length: 300, bend: 90 }}, {{ length: 300, bend: 90 }}, {{ length: 300 }}] }}
"
    ));
    let radii = |tube: usize| job.tubes[tube].centreline.radii.iter().map(|radius| radius.to_mm()).collect::<Vec<_>>();
    near(102.0, radii(0)[0]);
    near(100.0, radii(1)[0]);
    near(100.0, radii(2)[0]);
    near(102.0, radii(3)[0]);
    near(80.0, radii(3)[1]);
    assert_eq!(job.tubes[3].dies, [0, 1]);
    assert_eq!(job.bender.dies[0].follower, Follower::Travels);
}

#[test]
fn a_tube_says_what_differs_from_the_job() {
    let job = read(&format!(
        "{HEAD}date: 2026-11-20
tubes:
  own:
    tube: {{ wall: 3, die: small, density: 7850, yield: 350, e_modulus: 210000 }}
    extra: {{ a: 12, b: 1/2 in }}
    seam: 90
    one_piece: true
    tolerance: 3
    legs: [500, 400]
    bends: [{{ included: 120 }}]
  usual: {{ legs: [500] }}
"
    ));
    let [own, usual] = &job.tubes[..] else { panic!() };
    assert_eq!((own.stock.od, own.stock.wall), (Length::mm(40.0), Some(Length::mm(3.0))));
    assert_eq!(
        (own.stock.density, own.stock.yield_strength, own.stock.e_modulus),
        (Some(7850.0), Some(350.0), Some(210_000.0))
    );
    assert_eq!((own.extra_a, own.extra_b), (Length::mm(12.0), Length::mm(12.7)));
    assert_eq!((own.seam, own.one_piece, own.tolerance), (Some(Angle::deg(90.0)), true, Some(Length::mm(3.0))));
    assert_eq!(own.dies, [1]);
    near(60.0, own.centreline.rows.bends[0].angle.to_deg());
    assert_eq!(
        (usual.stock.wall, usual.extra_a, usual.seam, usual.one_piece),
        (Some(Length::mm(2.0)), Length::ZERO, None, false)
    );
    assert!(usual.dies.is_empty());
    assert_eq!((job.units, job.date.as_deref()), (LengthUnit::Mm, Some("2026-11-20")));
}

/// Outside of a square corner a leg reads half an OD more for each corner: 40 / 2 x tan 45.
#[test]
fn legs_are_taken_to_the_centre_at_each_end_that_has_a_bend() {
    let job = read(&format!(
        "{HEAD}tubes:
  outside: {{ measured: outside, legs: [520, 440, 520], bends: [90, 90] }}
  mixed: {{ legs: [500, {{ length: 420, a: outside, b: centre }}, {{ length: 480, a: inside }}], bends: [90, 90], rotations: [90] }}
  centre: {{ legs: [500, 400, 500], bends: [90, 90] }}
"
    ));
    for tube in &job.tubes {
        let legs: Vec<f64> = tube.centreline.legs().into_iter().map(|leg| leg.expect("corners").to_mm()).collect();
        near(500.0, legs[0]);
        near(400.0, legs[1]);
        near(500.0, legs[2]);
    }
    near(90.0, job.tubes[1].centreline.rows.bends[1].rotation.to_deg());
    near(0.0, job.tubes[2].centreline.rows.bends[1].rotation.to_deg());
}

const MIRRORED: &str = "nodes:
  foot-left: [0, 500, 0]
  knee-left: [60, 460, 700]
  mast: [300, 12, 900]
  top: [700, 12, 900]
  off: [700, 13, 900]
mirror: { plane: { y: 12 }, suffix: { from: -left, to: -right } }
tubes:
  left: { path: [foot-left, knee-left, mast] }
  back: { path: [mast, knee-right, foot-right] }
  hoop: { path: [foot-left, knee-left, knee-right, foot-right] }
  odd: { path: [foot-left, knee-left, off] }
";

#[test]
fn the_mirror_makes_nodes_and_finds_pairs() {
    let job = read(&format!("{HEAD}{MIRRORED}"));
    let pair = |tube: usize| job.tubes[tube].pair.as_deref();
    assert_eq!((pair(0), pair(1)), (Some("back"), Some("left")));
    // Its own image, and one with a node that lies beside the plane.
    assert_eq!((pair(2), pair(3)), (None, None));
    let node = job.tubes[1].centreline.nodes[2].expect("corners");
    near(-476.0, node.y);
    assert_eq!(job.tubes[1].node_names[1].as_deref(), Some("knee-right"));
}

#[test]
fn every_node_and_leg_has_its_place() {
    let text = format!("{HEAD}{MIRRORED}  rack:\n    legs: [500, {{ length: 400, a: centre }}]\n    bends: [90]\n");
    let opened = open_job(&files(&text), Path::new("shop/j.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    let said = |place: &tubewright::file::mistake::Place| &text[place.range()];
    let left = &opened.places.tubes[0];
    assert_eq!(said(left.bend(tubewright::centreline::BendId(0))), "knee-left");
    assert_eq!(said(&left.name), "left");
    let knee = opened.places.nodes.iter().find(|node| node.name == "knee-left").expect("it is in the file");
    assert_eq!(knee.at.each_ref().map(said), ["60", "460", "700"]);
    let ShapePlaces::Legs { legs, bends, .. } = &opened.places.tubes[4].shape else { panic!() };
    assert_eq!(legs.iter().map(said).collect::<Vec<_>>(), ["500", "400"]);
    assert_eq!(said(&bends[0]), "90");
    assert_eq!(opened.files.len(), 2);
}

/// The first two bytes of SHA-256 over the files one after the other: worked out with coreutils' sha256sum.
#[test]
fn the_fingerprint_holds_every_byte_of_the_job_and_its_bender() {
    let text = format!("{HEAD}tubes:\n  a: {{ legs: [500] }}\n");
    let print = read(&text).fingerprint;
    assert_eq!(print.len(), 4);
    assert!(print.bytes().all(|letter| letter.is_ascii_hexdigit() && !letter.is_ascii_uppercase()));
    assert_ne!(print, read(&format!("{text}# a remark\n")).fingerprint);
    let other = files(&text).with("shop/b.yaml", format!("{BENDER}# a remark\n"));
    let other = load_job(&other, Path::new("shop/j.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    assert_ne!(print, other.fingerprint);
    assert_eq!(print, FINGERPRINT);
}

const FINGERPRINT: &str = "2833";

#[test]
fn mistakes_of_the_job_and_of_its_bender_are_told_together() {
    let job = format!("{HEAD}tubes:\n  a: {{ legs: [500], colour: red }}\n");
    let held = files(&job).with("shop/b.yaml", BENDER.replace("hand: anticlockwise", "hand: left"));
    let mistakes = load_job(&held, Path::new("shop/j.yaml")).expect_err("it is wrong");
    let told: Vec<(usize, &str)> = mistakes.list.iter().map(|mistake| (mistake.place.file, mistake.code)).collect();
    assert_eq!(told, [(0, "key-unknown"), (1, "word-unknown")]);
    assert!(mistakes.render(false).contains("shop/b.yaml:4:7"), "{mistakes}");
}

const RULES: &str = "kind: rules
units: in
name: Our rules
clr_over_od: 3
od_over_wall: 15.5
minor_over_major: 0.9
wall_min: 0.095
notes: [Ends deburred., no flame]
";

/// A job in one folder, its rules in another.
fn with_rules(rules: &str) -> Held {
    let job = format!("{HEAD}rules: ../rules/r.yaml\ntubes:\n  a: {{ legs: [500] }}\n");
    files(&job).with("shop/../rules/r.yaml", rules)
}

fn open_with(rules: &str) -> Result<tubewright::file::OpenJob, Mistakes> {
    open_job(&with_rules(rules), Path::new("shop/j.yaml"))
}

#[test]
fn a_rule_set_is_read_in_its_own_units_from_a_path_from_the_job() {
    let opened = open_with(RULES).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    let wanted = Rules {
        name: "Our rules".into(),
        clr_over_od: Some(3.0),
        od_over_wall: Some(15.5),
        minor_over_major: Some(0.9),
        wall_min: Some(Length::inch(0.095)),
        notes: vec!["Ends deburred.".into(), "no flame".into()],
        ..Rules::default()
    };
    assert_eq!(opened.job.rules, Some(wanted.clone()));
    assert_eq!(load_rules(&with_rules(RULES), Path::new("shop/../rules/r.yaml")).ok(), Some(wanted));
    let paths: Vec<&str> = opened.files.iter().map(|file| file.path.as_str()).collect();
    assert_eq!(paths, ["shop/j.yaml", "shop/b.yaml", "shop/../rules/r.yaml"]);
    let named = open_with("kind: rules\nunits: mm\nname: n\n").unwrap_or_else(|mistakes| panic!("{mistakes}"));
    assert_eq!(named.job.rules, Some(Rules { name: "n".into(), ..Rules::default() }));
    // No figure of a step hangs on them.
    assert_eq!(named.job.fingerprint, opened.job.fingerprint);
    assert_eq!(read(&format!("{HEAD}tubes:\n  a: {{ legs: [500] }}\n")).rules, None);
}

#[test]
fn every_mistake_of_a_rule_set_stands_at_its_place_in_its_own_file() {
    let told = |rules: &str| -> Vec<(usize, &str, String)> {
        let list = open_with(rules).expect_err("it is wrong").list;
        let at = |place: &tubewright::file::mistake::Place| {
            if place.file == 2 { rules[place.range()].to_owned() } else { String::new() }
        };
        list.iter().map(|mistake| (mistake.place.file, mistake.code, at(&mistake.place))).collect()
    };
    let cases: [(&str, &str, &str, &str); 13] = [
        ("name: Our rules\n", "", "key-missing", "kind"),
        ("units: in\n", "", "key-missing", "kind"),
        ("kind: rules", "kind: bender", "kind-wrong", "bender"),
        ("clr_over_od: 3", "clr_over_od: 0", "out-of-range", "0"),
        ("clr_over_od: 3", "clr_over_od: '3'", "type-wrong", "'3'"),
        ("clr_over_od: 3", "clr_over_odd: 3", "key-unknown", "clr_over_odd"),
        ("clr_over_od: 3", "clr_over_od: .inf", "not-finite", ".inf"),
        ("od_over_wall: 15.5", "od_over_wall: 2", "out-of-range", "2"),
        ("minor_over_major: 0.9", "minor_over_major: 90", "out-of-range", "90"),
        ("minor_over_major: 0.9", "minor_over_major: 0", "out-of-range", "0"),
        ("wall_min: 0.095", "wall_min: 0", "out-of-range", "0"),
        ("no flame]", "[no flame]]", "type-wrong", "[no flame"),
        ("[Ends deburred., no flame]", "no flame", "type-wrong", "no flame"),
    ];
    for (from, to, code, at) in cases {
        let rules = RULES.replace(from, to);
        assert_ne!(rules, RULES);
        assert_eq!(told(&rules), [(2, code, at.to_owned())], "{to}");
    }
    let two = RULES.replace("0.9\n", "1.1\n").replace("od_over_wall: 15.5", "od_over_wall:");
    assert_eq!(told(&two).len(), 2, "{:?}", told(&two));
    // A file that is not there is a mistake of the job.
    let job = format!("{HEAD}rules: none.yaml\ntubes:\n  a: {{ legs: [500] }}\n");
    let missing = refused(&job);
    assert_eq!((missing.list[0].code, missing.list[0].place.file), ("file-missing", 0));
    assert_eq!(&job[missing.list[0].place.range()], "none.yaml");
}

#[test]
fn a_rotation_of_half_a_turn_either_way_is_the_same() {
    let rows = |turn: &str| {
        let job = read(&format!(
            "{HEAD}tubes:\n  s: {{ rows: [{{ length: 300, bend: 40 }}, {{ length: 300, rotation: {turn}, bend: 40 }}, {{ length: 300 }}] }}\n"
        ));
        job.tubes[0].centreline.rows.bends[1].rotation
    };
    assert_eq!(rows("180"), rows("-180"));
    assert_eq!(rows("270"), rows("-90"));
}

#[test]
fn what_would_be_refused_again_after_each_cure_is_told_at_once() {
    let mistakes =
        refused(&format!("{HEAD}nodes:\n  a: [0, 0]\n  b: [x, y, z]\ntubes:\n  t: {{ path: [a, b, c] }}\n  u: {{}}\n"));
    let codes: Vec<&str> = mistakes.list.iter().map(|mistake| mistake.code).collect();
    assert_eq!(
        codes,
        ["count-wrong", "length-unclear", "length-unclear", "length-unclear", "node-unknown", "shape-missing"]
    );
}

#[test]
fn files_that_are_too_large_or_no_text_are_refused() {
    let held =
        Held::default().with("large.yaml", vec![b'#'; 4 * 1024 * 1024 + 1]).with("bytes.yaml", [0xff, 0xfe, 0x00]);
    let code = |name: &str| load_job(&held, Path::new(name)).expect_err("it is wrong").list[0].code;
    assert_eq!(
        (code("large.yaml"), code("bytes.yaml"), code("none.yaml")),
        ("file-too-large", "file-not-text", "file-missing")
    );
}

#[test]
fn a_large_job_is_read_whole() {
    let mut text = format!("{HEAD}nodes:\n");
    let mut tubes = String::from("tubes:\n");
    for tube in 0..500 {
        tubes.push_str(&format!("  t{tube}: {{ path: ["));
        for node in 0..20 {
            let (x, y, z) = (node * 600, (node % 2) * 300, (node % 3) * 250 + tube);
            text.push_str(&format!("  n{tube}-{node}: [{x}, {y}, {z}]\n"));
            tubes.push_str(&format!("{}n{tube}-{node}", if node == 0 { "" } else { ", " }));
        }
        tubes.push_str("] }\n");
    }
    assert_eq!(read(&(text + &tubes)).tubes.len(), 500);
}
