//! Slopes against differences, what is told and what is not, and the figures of a part that was measured and corrected elsewhere.

use std::path::Path;

use nalgebra::{DVector, Vector3};

use super::model::equations;
use super::shape::Slots;
use super::start;
use super::*;
use crate::file::{Held as Files, load_measured_part};

const BENDER: &str = "kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
dies: { d: { od: 25, clr: 100, max_angle: 195, clamp_length: 40, follower_length: 60, materials: { steel: { springback: { constant: 0, proportional: 0.036683 }, radius_growth: false } } } }
";
const JOB: &str = "kind: job
units: mm
bender: b.yaml
tube: { od: 25, wall: 2, material: steel, die: d }
nodes: { a: [0, 0, 0], b: [400, 0, 0], c: [400, 300, 0], d: [400, 300, 350] }
tubes: { part: { path: [a, b, c, d], tolerance: 5 } }
";

fn part_of(job: &str, record: &str) -> Part {
    let files = Files::default()
        .with("b.yaml", BENDER)
        .with("j.yaml", job)
        .with("r.yaml", format!("kind: measured-part\nunits: mm\njob: j.yaml\ntube: part\norder: \"1A 2A\"\n{record}"));
    load_measured_part(&files, Path::new("r.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"))
}

fn part(record: &str) -> Part {
    part_of(JOB, record)
}

fn copied(record: &str) -> Part {
    let files = Files::default().with("r.yaml", format!("kind: measured-part\nunits: mm\nod: 25\nclr: 100\n{record}"));
    load_measured_part(&files, Path::new("r.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"))
}

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found} is not {wanted} within {within}");
}

const ALL: &str = "nodes: { a: [3, 1, 2], c: [380, 310, 12], d: [410, 290, 340] }
legs: [401, 299, 352]
measured: outside
bends: [88, 91]
rotations: [93]
distances: [{ from: a, to: d, length: 612, measured: inside }, { from: b, to: d, length: 455 }]
touched: [{ leg: 1, at: [100, 12, 3] }, { leg: 3, at: [404, 305, 200] }, { leg: 2, at: [395, 150, -11] }]
lying: { flat: [1, 2], up: { d: 40, a: 3 } }
";

/// Every slope of every sort of equation, at a shape in no special place.
#[test]
fn slopes_are_those_of_differences() {
    // Both bends in one plane, so that they may lie flat together; measured somewhere else.
    let flat = JOB.replace("d: [400, 300, 350]", "d: [50, 320, 2]");
    let part = part_of(&flat, ALL);
    let slots = Slots::new(&part);
    let start = start::starts(&part, &slots).swap_remove(0);
    let shaken = [0.3, -0.2, 0.1, 0.05, -0.04, 0.06, 0.9, -0.8, 0.7, 0.1, -0.2, 0.3];
    let at = DVector::from_fn(slots.count, |place, _| start.at[place] + shaken[place % shaken.len()]);
    let whole = equations(&part, &slots, &at, &start.turn);
    assert_eq!(whole.residuals.len(), 9 + 3 + 2 + 1 + 2 + 3 + 2);
    for place in 0..slots.count {
        let step = 1e-5;
        let moved = |by: f64| {
            let mut at = at.clone();
            at[place] += by;
            equations(&part, &slots, &at, &start.turn).residuals
        };
        let difference = (moved(step) - moved(-step)) / (2.0 * step);
        let off = (difference - whole.slopes.column(place)).amax();
        assert!(off < 1e-5, "unknown {place}: {off}");
    }
}

/// Corners of a part bent to 88.4 and 91.2 degrees with a rotation of 92.5, rounded to a tenth of a millimetre, and the correction through a slope of 1.036683.
#[test]
fn a_part_of_two_square_bends_is_corrected() {
    let told =
        inspect(&part("nodes: { a: [0, 0, 0], b: [397.8, 0, 0], c: [406.2, 298.3, 0], d: [421.3, 290.6, 351.2] }\n"))
            .unwrap();
    let value = |figure: Option<Figure<Angle>>| figure.unwrap().value.to_deg();
    near(value(told.rows[0].angle), 88.3870, 5e-5);
    near(value(told.rows[1].angle), 91.1851, 5e-5);
    near(value(told.rows[1].rotation), 92.4963, 5e-5);
    near(told.rows[0].length.unwrap().value.to_mm(), 300.5763, 5e-5);
    near(told.rows[1].length.unwrap().value.to_mm(), 99.1045, 5e-5);
    near(told.last.unwrap().value.to_mm(), 249.5188, 5e-5);
    // The same without the rounding.
    let told =
        inspect(&part("legs: [397.8458, 298.4624, 351.6155]\nbends: [88.4, 91.2]\nrotations: [92.5]\n")).unwrap();
    let exact = 100.0 * libm::tan(44.2_f64.to_radians()) + 300.6;
    near(exact, 397.8458, 5e-5);
    let next = |bend: usize| told.next[bend];
    near(next(0).dial_target.unwrap().to_deg() - 90.0 * 1.036683, 1.6587, 5e-5);
    near(next(1).dial_target.unwrap().to_deg() - 90.0 * 1.036683, -1.2440, 5e-5);
    near(told.deviations[0].angle.unwrap().to_deg(), -1.6, 1e-9);
    near(next(1).top.unwrap().to_deg(), 90.0 - 2.5, 1e-9);
    near((next(0).mark.unwrap() - next(0).used.0).to_mm(), -0.6, 1e-3);
    // The straight between the bends 0.9 longer, and the first bend takes 1.6 degrees more of the blank.
    let arc = 100.0 * 1.6_f64.to_radians();
    near((next(1).mark.unwrap() - next(1).used.0).to_mm(), -0.6 + 0.9 + arc, 2e-3);
}

#[test]
fn a_mirror_part_is_told_by_its_rotations() {
    let mirror = inspect(&part("legs: [400, 300, 350]\nbends: [90, 90]\nrotations: [-88.5]\n")).unwrap();
    assert!(mirror.wrong_hand);
    // The next is turned the other way: 88.5 came out for 90.
    near(mirror.next[1].top.unwrap().to_deg(), 91.5, 1e-9);
    let nodes = "nodes: { a: [0, 0, 0], b: [-400, 0, 0], c: [-400, 300, 0], d: [-400, 300, 350] }\n";
    let mirror = inspect(&part(nodes)).unwrap();
    assert!(mirror.wrong_hand && mirror.within_tolerance == Some(false));
    assert!(mirror.deviations.iter().all(|off| off.length.unwrap().abs() < Length::mm(1e-6)));
    let right =
        inspect(&part("nodes: { a: [0, 0, 0], b: [0, 400, 0], c: [-300, 400, 0], d: [-300, 400, 350] }\n")).unwrap();
    assert!(!right.wrong_hand && right.within_tolerance == Some(true));
    assert!(right.rms.unwrap() < Length::mm(1e-9));
    // A flat tube has no hand.
    let flat = JOB.replace("d: [400, 300, 350]", "d: [0, 300, 0]");
    assert!(!inspect(&part_of(&flat, "rotations: [-2]\n")).unwrap().wrong_hand);
}

#[test]
fn no_taped_distance_tells_the_hand_and_a_height_does() {
    let taped = "accuracy: { length: 1, angle: 0.3 }\nlegs: [400, 300, 350]\nbends: [90, 90]\n";
    let end_to_end = f64::sqrt(400.0 * 400.0 + 300.0 * 300.0 + 350.0 * 350.0);
    let far = format!("{taped}distances: [{{ from: a, to: d, length: {end_to_end} }}]\n");
    let told = inspect(&part(&far)).unwrap();
    assert!(told.hand_unknown && !told.wrong_hand);
    near(told.rows[1].rotation.unwrap().value.to_deg(), 90.0, 1e-6);
    for (up, wrong) in [(-350.0, false), (350.0, true)] {
        let told = inspect(&part(&format!("{taped}lying: {{ flat: 1, up: {{ d: {up} }} }}\n"))).unwrap();
        assert_eq!((told.wrong_hand, told.hand_unknown), (wrong, false), "{up}");
    }
}

#[test]
fn what_is_not_told_is_not_taken_for_nothing() {
    let told = inspect(&part("legs: [400, 300, 350]\n")).unwrap();
    assert!(
        told.legs.iter().all(Option::is_some)
            && told.rows.iter().all(|row| row.angle.is_none() && row.length.is_none())
    );
    assert!(told.next.iter().all(|next| next.mark.is_none() && next.dial_target.is_none()));
    // The first bend's top line is the reference line itself.
    assert!(told.next[0].top.is_some() && told.next[1].top.is_none());
    assert_eq!((told.within_tolerance, told.rms), (None, None));
    let told = inspect(&part("bends: { 2: 92 }\n")).unwrap();
    near(told.deviations[1].angle.unwrap().to_deg(), 2.0, 1e-9);
    assert!(told.rows[0].angle.is_none() && told.next[0].dial_target.is_none());
    near(told.next[1].dial_target.unwrap().to_deg(), 88.0 * 1.036683, 1e-9);
    // Three of four corners lie fixed to each other; the last leg is not known.
    let told = inspect(&part("legs: { 1: 401, 2: 300 }\nbends: [89, 90]\nrotations: [90]\n")).unwrap();
    assert!(told.nodes[3].is_none() && told.off[..3].iter().all(Option::is_some));
    assert_eq!((told.within_tolerance, told.last), (None, None));
}

/// Points all around each straight, on lines that the job does not know: a part to be copied.
#[test]
fn lines_touched_at_half_the_od_meet_at_the_corners() {
    let corners = [[0.0, 0.0, 0.0], [397.8, 0.0, 0.0], [406.2, 298.3, 0.0], [421.3, 290.6, 351.2]].map(Vector3::from);
    let mut touched = String::new();
    for leg in 0..3 {
        let travel = (corners[leg + 1] - corners[leg]).normalize();
        let side = travel.cross(&Vector3::new(0.3, 0.5, 0.7)).normalize();
        for (count, along) in [0.3, 0.4, 0.5, 0.6, 0.7, 0.55].into_iter().enumerate() {
            let turn = count as f64 * 0.6;
            let out = side * libm::cos(turn) + travel.cross(&side) * libm::sin(turn);
            let at = corners[leg] + (corners[leg + 1] - corners[leg]) * along + out * 12.5;
            touched += &format!("  - {{ leg: {}, at: [{}, {}, {}] }}\n", leg + 1, at.x, at.y, at.z);
        }
    }
    for record in [copied(&format!("touched:\n{touched}")), part(&format!("touched:\n{touched}"))] {
        let told = inspect(&record).unwrap();
        let value = |figure: Option<Figure<Angle>>| figure.unwrap().value.to_deg();
        near(value(told.rows[0].angle), 88.3870, 1e-3);
        near(value(told.rows[1].angle), 91.1851, 1e-3);
        near(value(told.rows[1].rotation), 92.4963, 1e-3);
        near(told.legs[1].unwrap().value.to_mm(), 298.4182, 1e-3);
        // Where the ends are, no point on the side tells.
        assert!(told.rows[0].length.is_none() && told.last.is_none() && told.nodes[0].is_none());
    }
}

#[test]
fn a_slip_of_the_tape_is_found_where_something_checks_it() {
    let good = "accuracy: { length: 1, angle: 0.3 }\nnodes: { a: [0, 0, 0], b: [400, 0, 0], c: [400, 300, 0], d: [400, 300, 350] }\n";
    let bad = format!("{good}legs: [400, 325, 350]\nbends: [90, 90]\nrotations: [90]\n");
    let bad = part(&bad);
    let told = inspect(&bad).unwrap();
    let sorts: Vec<&str> = told.slips.iter().map(|slip| bad.measured[slip.measurement].sort()).collect();
    assert_eq!(sorts.first(), Some(&"leg"), "{:?}", told.slips);
    near(told.slips[0].by, 25.0, 0.05);
    // The bend angles and the other legs are checked by the corners.
    assert!(told.unchecked.is_empty());
    let told = inspect(&part(good)).unwrap();
    assert_eq!((told.slips.len(), told.unchecked.len()), (0, 4));
}

#[test]
fn what_only_scatters_is_left_alone() {
    let accuracy = "accuracy: { length: 1, angle: 0.3 }\n";
    let noise =
        inspect(&part(&format!("{accuracy}legs: [400.5, 299.6, 350]\nbends: [90.2, 89.9]\nrotations: [90.4]\n")))
            .unwrap();
    assert_eq!(noise.worth_changing, Some(false));
    for next in &noise.next {
        assert_eq!((next.mark, next.top, next.dial_target), (Some(next.used.0), Some(next.used.1), Some(next.used.2)));
    }
    let told = inspect(&part(&format!("{accuracy}legs: [398.6, 299.6, 350]\nbends: [88, 89.9]\nrotations: [90.4]\n")))
        .unwrap();
    assert_eq!(told.worth_changing, Some(true));
    assert_eq!(told.next[1].dial_target, Some(told.next[1].used.2));
    near(told.next[0].dial_target.unwrap().to_deg(), 92.0 * 1.036683, 1e-9);
}

/// With end A held, the whole of an error at the last corner stands there; laid as well as it goes, it is spread.
#[test]
fn one_end_may_be_held() {
    let bad = "nodes: { a: [0, 0, 0], b: [400, 0, 0], c: [400, 300, 0], d: [400, 300, 358] }\n";
    let spread = inspect(&part(bad)).unwrap();
    let held = inspect(&part(&format!("{bad}fit: {{ hold: A, weights: {{ d: 0 }} }}\n"))).unwrap();
    assert!(held.off[0].unwrap().norm() < 1e-9);
    near(held.off[3].unwrap().norm(), 8.0, 1e-9);
    assert!(spread.off[3].unwrap().norm() < 7.0 && spread.off[0].unwrap().norm() > 0.1);
}

/// A bend to the other side with both rotations beside it half a turn further is the same corners: it must not pass for the mirror part.
#[test]
fn a_bend_below_nothing_is_the_same_corners_bent_forward() {
    let part = part("nodes: { a: [0, 0, 0], b: [400, 0, 0], c: [400, 300, 0], d: [400, 300, 350] }\n");
    let slots = Slots::new(&part);
    let start = start::starts(&part, &slots).swap_remove(0);
    let corners = |at: &DVector<f64>, turn: &Matrix3<f64>| -> Vec<Vector3<f64>> {
        let laid = Laid::new(&part, &slots, at, turn);
        (0..4).map(|node| laid.node(node).unwrap().at).collect()
    };
    let wanted = corners(&start.at, &start.turn);
    for bend in 0..2 {
        // Made to bend below nothing by the way back.
        let mut at = start.at.clone();
        let angle = at[slots.angle(bend)];
        at[slots.angle(bend)] = -angle;
        let twice = 200.0 * libm::tan(angle / 2.0);
        at[slots.straight(bend)] += twice;
        at[slots.straight(bend + 1)] += twice;
        at[slots.rotation(1).unwrap()] += core::f64::consts::PI;
        let turn =
            if bend == 0 { start.turn * Matrix3::from_diagonal(&Vector3::new(1.0, -1.0, -1.0)) } else { start.turn };
        for (found, wanted) in corners(&at, &turn).iter().zip(&wanted) {
            assert!((found - wanted).norm() < 1e-9, "{found} {wanted}");
        }
        let back = start::bent_forward(&part, &slots, at, turn);
        assert!(back.at[slots.angle(bend)] > 0.0);
        for (found, wanted) in corners(&back.at, &back.turn).iter().zip(&wanted) {
            assert!((found - wanted).norm() < 1e-9, "{found} {wanted}");
        }
    }
}
