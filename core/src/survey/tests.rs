use std::path::Path;

use super::*;
use crate::file::{Held, load_survey};
use crate::round::People;

fn record(text: &str) -> Record {
    let files = Held::default().with("s.yaml", format!("kind: survey\nunits: mm\n{text}"));
    load_survey(&files, Path::new("s.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"))
}

fn of(text: &str) -> (Record, Survey) {
    let record = record(text);
    let told = survey(&record).unwrap();
    (record, told)
}

fn codes(record: &Record, told: &Survey) -> Vec<&'static str> {
    told.notes(record, &People::mm()).into_iter().map(|note| note.code).collect()
}

fn named(record: &Record, name: &str) -> usize {
    record.points.iter().position(|point| point == name).unwrap()
}

/// A box with a blunder of 20 mm on 2-8, worked out with another least-squares program, digits as printed there: pair, observed, v, r, w, all for
/// a standard deviation of 1 mm.
const BOX: [(usize, usize, f64, f64, f64, f64); 28] = [
    (1, 2, 1200.0, 2.9870, 0.4142, 4.641),
    (1, 3, 1442.0, -1.1611, 0.3988, -1.839),
    (1, 4, 800.0, -1.0114, 0.2647, -1.966),
    (1, 5, 599.0, -0.5657, 0.1643, -1.395),
    (1, 6, 1342.0, -1.5321, 0.3779, -2.492),
    (1, 7, 1561.0, -0.8372, 0.5619, -1.117),
    (1, 8, 1000.0, 2.6216, 0.3171, 4.656),
    (2, 3, 801.0, 2.0570, 0.2633, 4.009),
    (2, 4, 1442.0, 3.8843, 0.4003, 6.140),
    (2, 5, 1341.0, 2.9056, 0.3783, 4.724),
    (2, 6, 600.0, 1.8895, 0.1632, 4.677),
    (2, 7, 1000.0, 2.0755, 0.3166, 3.689),
    (2, 8, 1582.0, -11.5297, 0.5644, -15.347),
    (3, 4, 1199.0, -0.5940, 0.4156, -0.921),
    (3, 5, 1562.0, -1.3469, 0.5620, -1.797),
    (3, 6, 1001.0, -0.9004, 0.3167, -1.600),
    (3, 7, 599.0, -0.2487, 0.1642, -0.614),
    (3, 8, 1342.0, 2.9165, 0.3782, 4.743),
    (4, 5, 998.0, -0.3448, 0.3164, -0.613),
    (4, 6, 1561.0, -1.6891, 0.5617, -2.254),
    (4, 7, 1340.0, -1.4871, 0.3781, -2.419),
    (4, 8, 600.0, 1.5215, 0.1634, 3.764),
    (5, 6, 1199.0, -0.9089, 0.4158, -1.410),
    (5, 7, 1442.0, -0.7840, 0.4011, -1.238),
    (5, 8, 800.0, 1.4101, 0.2638, 2.746),
    (6, 7, 800.0, -0.7961, 0.2648, -1.547),
    (6, 8, 1439.0, 4.3139, 0.3985, 6.834),
    (7, 8, 1199.0, 2.6361, 0.4146, 4.094),
];

/// The same without 2-8: corners, mm.
const BOX_CORNERS: [[f64; 3]; 8] = [
    [0.0, 0.0, 0.0],
    [1200.0460, 0.0, 0.0],
    [1199.0034, 801.0912, -3.5913],
    [-0.3687, 799.6357, 0.0],
    [0.6582, 0.7397, 598.9191],
    [1199.7239, 2.9387, 600.3923],
    [1199.5149, 802.7791, 595.6429],
    [0.8376, 800.1755, 600.0579],
];

fn box_text(without: &[(usize, usize)]) -> String {
    let tapes = BOX.iter().filter(|tape| !without.contains(&(tape.0, tape.1)));
    let tapes = tapes.map(|(from, to, length, ..)| format!("  - {{ from: p{from}, to: p{to}, length: {length} }}\n"));
    let head = "accuracy: { length: 1 }\nframe: { origin: p1, x: p2, xy: p4, up: p5 }\ndistances:\n";
    format!("{head}{}", tapes.collect::<String>())
}

#[test]
fn the_misread_tape_of_a_box_is_named_and_left_out() {
    let (record, told) = of(&box_text(&[]));
    assert_eq!(told.readings.len(), 28);
    for (reading, (_, _, _, v, r, w)) in told.readings.iter().zip(BOX) {
        assert!((reading.residual.to_mm() - v).abs() <= 0.6e-4, "{reading:?} {v}");
        assert!((reading.redundancy - r).abs() <= 0.6e-4, "{reading:?} {r}");
        assert!((reading.standardised.unwrap() - w).abs() <= 0.6e-3, "{reading:?} {w}");
    }
    assert!((told.squares - 238.7722).abs() < 1e-4, "{}", told.squares);
    let sure: Vec<&Misread> = told.misread.iter().filter(|misread| misread.sure).collect();
    assert_eq!(sure.len(), 1);
    assert_eq!(sure[0].reading, 12);
    assert!((sure[0].by.to_mm() - (1582.0 - 1561.5540)).abs() < 1e-3, "{sure:?}");
    // Every reading beyond 3.29 is listed, the largest first; the others are pulled along.
    assert_eq!(told.misread.len(), BOX.iter().filter(|tape| tape.5.abs() > SUSPECT).count());
    assert_eq!(told.misread[0], *sure[0]);
    assert_eq!(told.freedom, 9);
    let left: f64 = told
        .without
        .iter()
        .enumerate()
        .filter(|(place, _)| *place != 12)
        .map(|(_, reading)| reading.residual.to_mm().powi(2))
        .sum();
    assert!((left - 3.227_545).abs() < 1e-5 && ((left / 9.0).sqrt() - 0.598_846).abs() < 1e-6, "{left}");
    let worst = told
        .without
        .iter()
        .enumerate()
        .filter(|(place, _)| *place != 12)
        .filter_map(|(_, reading)| reading.standardised);
    assert!((worst.fold(0.0, |most: f64, w| most.max(w.abs())) - 1.298).abs() <= 0.6e-3);
    for (corner, wanted) in BOX_CORNERS.iter().enumerate() {
        let found = told.points[named(&record, &format!("p{}", corner + 1))].point().unwrap();
        assert!((found.coords - Vector3::from(*wanted)).amax() <= 1e-3, "{corner}: {found} {wanted:?}");
    }
    assert!(told.undetermined.is_empty() && told.two_places.is_empty(), "{told:?}");
    assert_eq!(codes(&record, &told)[0], "misread");
}

#[test]
fn the_box_without_the_blunder_agrees_and_names_nothing() {
    let (record, told) = of(&box_text(&[(2, 8)]));
    let most =
        told.readings.iter().filter_map(|reading| reading.standardised).fold(0.0, |most: f64, w| most.max(w.abs()));
    assert!((most - 1.298).abs() < 6e-4, "{most}");
    assert!(told.misread.is_empty() && told.agrees() && told.is_sound());
    assert_eq!(codes(&record, &told), Vec::<&str>::new());
}

/// Redundancies of a braced rectangle are the squares of its sides over the sum of all six, and all |w| are equal: closed form.
#[test]
fn one_redundant_tape_shows_a_blunder_and_cannot_place_it() {
    let text = "accuracy: { length: 1 }
frame: { origin: a, x: b, xy: d, flat: true }
distances:
  - { from: a, to: b, length: 4000 }
  - { from: b, to: c, length: 3000 }
  - { from: c, to: d, length: 4000 }
  - { from: a, to: d, length: 3000 }
  - { from: a, to: c, length: 5010 }
  - { from: b, to: d, length: 5000 }
";
    let (record, told) = of(text);
    let wanted = [(2.0, 0.16), (1.5, 0.09), (2.0, 0.16), (1.5, 0.09), (-2.5, 0.25), (-2.5, 0.25)];
    for (reading, (v, r)) in told.readings.iter().zip(wanted) {
        // The closed form is linear; 10 mm in 5 m bend it by a hundredth of a millimetre.
        assert!((reading.residual.to_mm() - v).abs() < 0.01 && (reading.redundancy - r).abs() < 1e-3, "{reading:?}");
        assert!((reading.standardised.unwrap().abs() - 5.0).abs() < 0.01, "{reading:?}");
    }
    assert_eq!(told.misread.len(), 6);
    assert!(told.misread.iter().all(|misread| !misread.sure), "{:?}", told.misread);
    assert_eq!((told.freedom, codes(&record, &told)[0]), (1, "misread-unsure"));
    assert!(told.notes(&record, &People::mm())[0].text.contains("one redundant reading only"));
    assert_eq!(told.suggest[0].why, Why::Again);
}

/// Braced quadrilateral of a textbook on surveying, Example 3.3, page 53; equal-weight least squares on its printed distances, m.
#[test]
fn a_braced_quadrilateral_is_adjusted_to_the_printed_inputs() {
    let text = "accuracy: { length: 0.001 }
frame: { origin: A, x: B, xy: D, flat: true }
distances:
  - { from: A, to: B, length: 1525.456 }
  - { from: B, to: C, length: 2176.945 }
  - { from: C, to: D, length: 1697.435 }
  - { from: A, to: D, length: 2401.435 }
  - { from: A, to: C, length: 3073.845 }
  - { from: B, to: D, length: 2483.115 }
";
    let record =
        load_survey(&Held::default().with("s.yaml", format!("kind: survey\nunits: m\n{text}")), Path::new("s.yaml"))
            .unwrap();
    let told = survey(&record).unwrap();
    let wanted = [
        (0.08103, 0.09906),
        (0.11280, 0.19198),
        (0.06722, 0.06817),
        (0.09748, 0.14339),
        (-0.14222, 0.30521),
        (-0.11286, 0.19218),
    ];
    for (reading, (v, r)) in told.readings.iter().zip(wanted) {
        assert!((reading.residual.to_mm() / 1000.0 - v).abs() < 1e-4, "{reading:?} {v}");
        assert!((reading.redundancy - r).abs() < 1e-4, "{reading:?} {r}");
        assert!(((reading.residual.to_mm() / 1000.0).abs() / reading.redundancy.sqrt() - 0.25744).abs() < 1e-4);
    }
    for (name, x, y) in [("B", 1525.53703, 0.0), ("C", 2305.85400, 2032.40893), ("D", 632.34186, 2316.78701)] {
        let at = told.points[named(&record, name)].point().unwrap();
        assert!(
            (at.x / 1000.0 - x).abs() < 1e-4 && (at.y / 1000.0 - y).abs() < 1e-4 && at.z.abs() < 1e-12,
            "{name} {at}"
        );
    }
}

/// The point of a frame that is laid by three others, and its own coordinates there.
fn laid([o, x, xy]: [[f64; 2]; 3], point: [f64; 2]) -> [f64; 2] {
    let from = |at: [f64; 2]| Vector3::new(at[0] - o[0], at[1] - o[1], 0.0);
    let along = from(x).normalize();
    let across = Vector3::new(-along.y, along.x, 0.0);
    let across = across * across.dot(&from(xy)).signum();
    [along.dot(&from(point)), across.dot(&from(point))]
}

/// Tapes between points that are known, far better than any other.
fn known(points: &[(&str, [f64; 2])], sd: f64) -> String {
    let mut tapes = String::new();
    for (place, (from, a)) in points.iter().enumerate() {
        for (to, b) in &points[place + 1..] {
            let length = libm::hypot(a[0] - b[0], a[1] - b[1]);
            tapes += &format!("  - {{ from: {from}, to: {to}, length: {length:.9}, accuracy: {sd} }}\n");
        }
    }
    tapes
}

/// Ghilani, Adjustment Computations, chapter on trilateration: one unknown point, three known stations, ft. Data recalled, not read again; the solution by another
/// least-squares program. The stations are known by tapes that are a hundred thousand times better.
#[test]
fn a_point_by_three_stations_is_that_of_the_textbook() {
    let stations = [("A", [865.40, 4527.15]), ("B", [2432.55, 2047.25]), ("C", [2865.22, 27.15])];
    let text = format!(
        "kind: survey\nunits: ft\naccuracy: {{ length: 1 }}\nframe: {{ origin: A, x: B, xy: C, flat: true }}\ndistances:\n{}\
         \x20 - {{ from: A, to: P, length: 6049.00 }}\n  - {{ from: B, to: P, length: 4736.83 }}\n  - {{ from: C, to: P, length: 5446.49 }}\n",
        known(&stations, 1e-5)
    );
    let record = load_survey(&Held::default().with("s.yaml", text), Path::new("s.yaml")).unwrap();
    let told = survey(&record).unwrap();
    let readings = &told.readings[3..];
    for (reading, (v, r)) in readings.iter().zip([(-0.03737, 0.14645), (0.07679, 0.61832), (-0.04737, 0.23523)]) {
        assert!((reading.residual.to_inch() / 12.0 - v).abs() < 1e-5, "{reading:?} {v}");
        assert!((reading.redundancy - r).abs() < 1e-5, "{reading:?} {r}");
    }
    let at = told.points[named(&record, "P")].point().unwrap() / 304.8;
    let wanted = laid(stations.map(|(_, at)| at), [6861.31679, 3727.81857]);
    assert!((at.x - wanted[0]).abs() < 2e-5 && (at.y - wanted[1]).abs() < 2e-5, "{at} {wanted:?}");
    // S0 = 0.09766 with one redundant distance, and the deviations of x and y that follow, 0.0775 and 0.1542: their sum of squares knows no axes.
    assert!((told.squares.sqrt() - 0.09766).abs() < 1e-5, "{}", told.squares);
    let spread = (told.covariance(3, 3).trace() * told.squares).sqrt() / 304.8;
    assert!((spread - libm::hypot(0.0775, 0.1542)).abs() < 1e-4, "{spread}");
}

/// Constructed: four known points, P at the origin by distances 5, 13, 17, 29, the first 0.1 too long; digits as worked out elsewhere.
#[test]
fn two_distances_that_explain_each_other_are_both_named_and_neither_is_sure() {
    let known_points = [("a", [3.0, 4.0]), ("b", [-5.0, 12.0]), ("c", [-8.0, -15.0]), ("d", [20.0, -21.0])];
    let text = |first: f64| {
        format!(
            "kind: survey\nunits: m\naccuracy: {{ length: 0.01 }}\nframe: {{ origin: a, x: b, xy: c, flat: true }}\ndistances:\n{}\
             \x20 - {{ from: a, to: P, length: {first} }}\n  - {{ from: b, to: P, length: 13 }}\n\
             \x20 - {{ from: c, to: P, length: 17 }}\n  - {{ from: d, to: P, length: 29 }}\n",
            known(&known_points, 1e-6)
        )
    };
    let read = |first: f64| load_survey(&Held::default().with("s.yaml", text(first)), Path::new("s.yaml")).unwrap();
    let frame = [known_points[0].1, known_points[1].1, known_points[2].1];
    let record = read(5.0);
    let told = survey(&record).unwrap();
    let place = |record: &Record, told: &Survey| told.points[named(record, "P")].point().unwrap() / 1000.0;
    let (at, wanted) = (place(&record, &told), laid(frame, [0.0, 0.0]));
    assert!((at.x - wanted[0]).abs() < 1e-6 && (at.y - wanted[1]).abs() < 1e-6, "{at} {wanted:?}");
    assert!(told.is_sound() && told.squares < 1e-3);

    let record = read(5.1);
    let told = survey(&record).unwrap();
    let wanted = [
        (-0.048299, 0.48278, -6.951),
        (0.006935, 0.56437, 0.923),
        (-0.047570, 0.54900, -6.420),
        (0.013719, 0.40385, 2.159),
    ];
    for (reading, (v, r, w)) in told.readings[6..].iter().zip(wanted) {
        assert!((reading.residual.to_mm() / 1000.0 - v).abs() < 1e-6, "{reading:?} {v}");
        assert!((reading.redundancy - r).abs() < 1e-5, "{reading:?} {r}");
        assert!((reading.standardised.unwrap() - w).abs() < 1e-3, "{reading:?} {w}");
    }
    let (at, wanted) = (place(&record, &told), laid(frame, [-0.049012, -0.027804]));
    assert!((at.x - wanted[0]).abs() < 2e-6 && (at.y - wanted[1]).abs() < 2e-6, "{at} {wanted:?}");
    assert_eq!(
        told.misread.iter().map(|misread| (misread.reading, misread.sure)).collect::<Vec<_>>(),
        [(6, false), (8, false)]
    );
}

/// The corners of a box of 1200 by 800 by 600.
const CORNERS: [[f64; 3]; 8] = [
    [0.0, 0.0, 0.0],
    [1200.0, 0.0, 0.0],
    [1200.0, 800.0, 0.0],
    [0.0, 800.0, 0.0],
    [0.0, 0.0, 600.0],
    [1200.0, 0.0, 600.0],
    [1200.0, 800.0, 600.0],
    [0.0, 800.0, 600.0],
];

/// Exact tapes between corners of the box, numbered from 1.
fn exact(pairs: &[(usize, usize)]) -> String {
    let tape = |(from, to): &(usize, usize)| {
        let length = (Vector3::from(CORNERS[from - 1]) - Vector3::from(CORNERS[to - 1])).norm();
        format!("  - {{ from: p{from}, to: p{to}, length: {length:.9} }}\n")
    };
    pairs.iter().map(tape).collect()
}

const HEAD: &str = "accuracy: { length: 1, plumb: 2, height: 1, flush: 1, symmetric: 3 }\nframe: { origin: p1, x: p2, xy: p4, up: p5 }\ndistances:\n";
const TETRAHEDRON: [(usize, usize); 6] = [(1, 2), (1, 4), (2, 4), (1, 5), (2, 5), (4, 5)];

fn assert_at(told: &Survey, record: &Record, name: &str, wanted: [f64; 3], within: f64) {
    let found = told.points[named(record, name)].point().unwrap_or_else(|| panic!("{name} is not told"));
    assert!((found.coords - Vector3::from(wanted)).amax() < within, "{name} {found} {wanted:?}");
}

/// A node h above the line changes a length L by h2 / (2 L): 0.050 for 10 in 1000. So tapes within a plane say nothing across it.
#[test]
fn tapes_in_a_plane_say_nothing_across_it() {
    let (record, told) = of(&format!("{HEAD}{}", exact(&[&TETRAHEDRON[..], &[(1, 3), (2, 3), (3, 4)]].concat())));
    let third = &told.points[named(&record, "p3")];
    assert!(third.at[2].is_none() && third.sd[2].is_none(), "{third:?}");
    assert_eq!(told.undetermined, [named(&record, "p3")]);
    assert_eq!(codes(&record, &told)[0], "undetermined");
    assert!((libm::hypot(1000.0, 10.0) - 1000.05).abs() < 1e-3);
    // A tape to a point off the plane does, and where it goes is said when it can be.
    let (record, told) =
        of(&format!("{HEAD}{}", exact(&[&TETRAHEDRON[..], &[(1, 3), (2, 3), (3, 4), (3, 5)]].concat())));
    assert!(told.is_sound(), "{told:?}");
    assert_at(&told, &record, "p3", CORNERS[2], 1e-6);
}

#[test]
fn the_hand_is_that_of_the_point_that_is_said_to_be_up() {
    let pairs = [&TETRAHEDRON[..], &[(1, 3), (2, 3), (3, 4), (3, 5)]].concat();
    let (record, told) = of(&format!("{HEAD}{}", exact(&pairs)));
    assert_at(&told, &record, "p5", CORNERS[4], 1e-6);
    // The axes on the other side of the same box: the mirror image of it, as laid with the hand that is asked for.
    let head = HEAD.replace("x: p2, xy: p4", "x: p4, xy: p2");
    let (record, told) = of(&format!("{head}{}", exact(&pairs)));
    assert_at(&told, &record, "p3", [800.0, 1200.0, 0.0], 1e-6);
    assert_at(&told, &record, "p5", [0.0, 0.0, 600.0], 1e-6);
    // A point in the plane of the frame does not tell the hand.
    let head = HEAD.replace("up: p5", "up: p3");
    let (record, told) = of(&format!("{head}{}", exact(&pairs)));
    assert!(!told.hand_told && !told.undetermined.is_empty());
    assert!(codes(&record, &told).contains(&"hand-not-told"));
}

#[test]
fn a_point_that_swings_is_not_told_and_the_tape_that_holds_it_is_named() {
    let pairs = [&TETRAHEDRON[..], &[(1, 7), (2, 7)]].concat();
    let (record, told) = of(&format!("{HEAD}{}", exact(&pairs)));
    let seventh = named(&record, "p7");
    assert_eq!(told.undetermined, [seventh]);
    // It turns about the x axis: x is told all the same.
    let at = told.points[seventh].at;
    assert!((at[0].unwrap() - 1200.0).abs() < 1e-6 && at[1].is_none() && at[2].is_none(), "{at:?}");
    assert!(matches!(told.suggest[0].why, Why::Tells) && told.suggest[0].to == seventh, "{:?}", told.suggest);
    assert!(!told.is_sound());
}

#[test]
fn a_point_with_three_tapes_lies_in_two_places_until_something_tells() {
    let pairs = [&TETRAHEDRON[..], &[(1, 7), (2, 7), (4, 7)]].concat();
    let (record, told) = of(&format!("{HEAD}{}", exact(&pairs)));
    let seventh = named(&record, "p7");
    assert_eq!(told.undetermined, [seventh]);
    assert_eq!(told.two_places.len(), 1);
    let other = told.two_places[0].1;
    assert!((other.z.abs() - 600.0).abs() < 1e-3, "{other}");
    let which = told.suggest.iter().find(|suggestion| matches!(suggestion.why, Why::Which(..))).unwrap();
    assert_eq!((which.from, which.to), (named(&record, "p5"), seventh));
    assert!(codes(&record, &told).contains(&"two-places"));
    // By eye, either way.
    for z in [500.0, -500.0] {
        let (record, told) = of(&format!("{HEAD}{}about: {{ p7: [1000, 900, {z}] }}\n", exact(&pairs)));
        assert!(told.is_sound(), "{told:?}");
        assert_at(&told, &record, "p7", [1200.0, 800.0, 600.0_f64.copysign(z)], 1e-6);
    }
    // By one more tape.
    let (record, told) = of(&format!("{HEAD}{}", exact(&[&pairs[..], &[(5, 7)]].concat())));
    assert!(told.is_sound());
    assert_at(&told, &record, "p7", CORNERS[6], 1e-6);
}

#[test]
fn drops_heights_lines_planes_and_pairs_place_points() {
    // p5 hangs over a point on the floor; p3 lies level with p1, p2 and p4; the middle of the first edge is on a string; p6 mirrors p5.
    let text = format!(
        "{HEAD}{}  - {{ from: p1, to: m, length: 500 }}\n  - {{ from: p6, to: p2, length: 600 }}\n\
         drops:\n  - {{ from: p5, to: p1, length: 600 }}\n\
         levels:\n  - heights: {{ p1: 100, p2: 100, p4: 100, p3: 100 }}\n\
         lines:\n  - points: [p1, m, p2]\n\
         planes:\n  - points: [p1, p2, p5, p6]\n\
         symmetric:\n  - pairs: [[p1, p2], [p4, p3], [p5, p6]]\n    plane: {{ x: 600 }}\n",
        exact(&[&TETRAHEDRON[..], &[(2, 3), (3, 4)]].concat())
    );
    let (record, told) = of(&text);
    assert!(told.is_sound(), "{told:?}");
    assert_at(&told, &record, "p3", CORNERS[2], 1e-5);
    assert_at(&told, &record, "p6", CORNERS[5], 1e-5);
    assert_at(&told, &record, "m", [500.0, 0.0, 0.0], 1e-5);
    assert!((told.up.unwrap() - Vector3::z()).norm() < 1e-8);
    // The plane between pairs can be found instead, and a leaning frame is no matter.
    let (record, told) = of(&text
        .replace("    plane: { x: 600 }\n", "")
        .replace("p1: 100, p2: 100, p4: 100, p3: 100", "p1: 100, p2: 108, p4: 100, p3: 108"));
    assert!(told.undetermined.is_empty(), "{told:?}");
    assert_at(&told, &record, "p6", CORNERS[5], 3.0);
    assert!(codes(&record, &told).contains(&"leans"), "{:?} {:?}", told.up, told.up_sd);
}

#[test]
fn two_heights_tell_no_way_up() {
    let levels = "levels:\n  - heights: { p1: 0, p2: 100 }\n";
    let (record, told) = of(&format!("{HEAD}{}{levels}", exact(&TETRAHEDRON)));
    assert!(told.up.is_none() && told.up_sd.is_none(), "{:?} {:?}", told.up, told.up_sd);
    assert!(!codes(&record, &told).contains(&"leans"));
}

/// 1000 and 1000 do not reach along 2500: each is to blame as much as the others, and so is the longest.
#[test]
fn a_triangle_that_cannot_be_is_a_contradiction() {
    let (record, told) = of("accuracy: { length: 1 }\nframe: { origin: a, x: b, xy: c, flat: true }\ndistances:\n  \
         - { from: a, to: b, length: 1000 }\n  - { from: b, to: c, length: 1000 }\n  - { from: a, to: c, length: 2500 }\n");
    assert!(told.chance < 1e-9 && told.sure().is_none(), "{told:?}");
    assert_eq!(told.misread.len(), 3);
    assert!(codes(&record, &told).contains(&"misread-unsure"));
}

#[test]
fn every_slope_is_that_of_finite_differences() {
    for flat in [false, true] {
        let (head, planes) = if flat {
            (HEAD.replace("up: p5", "flat: true"), "")
        } else {
            (HEAD.to_owned(), "planes:\n  - points: [p1, p2, p5, p6]\n")
        };
        let text = format!(
            "{head}{}drops:\n  - {{ from: p5, to: p3, length: 610 }}\nlevels:\n  - heights: {{ p1: 0, p2: 3, p6: 40 }}\n\
             lines:\n  - points: [p1, p3, p4]\n{planes}\
             symmetric:\n  - pairs: [[p1, p2], [p4, p3]]\n  - {{ plane: y, pairs: [[p5, p6]] }}\n",
            exact(&[(1, 2), (1, 4), (1, 6), (5, 6)])
        );
        let record = record(&text);
        let points: Vec<Vector3<f64>> = record
            .points
            .iter()
            .enumerate()
            .map(|(point, _)| {
                let at = Vector3::new(
                    300.0 * point as f64,
                    170.0 * ((point * point) % 7) as f64,
                    90.0 * ((point * 3) % 5) as f64,
                );
                if flat { Vector3::new(at.x, at.y, 0.0) } else { at }
            })
            .collect();
        let network = Network::new(&record, &points);
        let mut at = network.guess.clone();
        for place in 0..at.len() {
            at[place] += 7.0 * libm::sin(place as f64);
        }
        let (left, slopes) = network.all_rows(&at);
        for place in 0..at.len() {
            let step = 1e-3;
            let moved = |by: f64| {
                let mut at = at.clone();
                at[place] += by;
                network.all_rows(&at).0
            };
            let found = (moved(step) - moved(-step)) / (2.0 * step);
            for reading in &network.readings {
                let rows = reading.rows.clone();
                // Of what has two sides only the sum of squares has slopes that are ours to give.
                if matches!(reading.what, What::Plumb | What::Line) {
                    let of =
                        |slopes: &dyn Fn(usize) -> f64| rows.clone().map(|row| left[row] * slopes(row)).sum::<f64>();
                    let (own, other) = (of(&|row| slopes[(row, place)]), of(&|row| found[row]));
                    assert!((own - other).abs() < 1e-5 * (1.0 + own.abs()), "{reading:?} {place} {own} {other}");
                } else {
                    for row in rows {
                        assert!((slopes[(row, place)] - found[row]).abs() < 1e-7, "{reading:?} {place}");
                    }
                }
            }
        }
    }
}

#[test]
fn a_tape_over_faces_is_half_an_od_off_at_each() {
    let text = format!(
        "{HEAD}{}  - {{ from: p1, to: p3, length: 1000, measured: outside, od: 38.1 }}\n\
         \x20 - {{ from: p2, to: p3, length: 1000, measured: inside, od: [38.1, 44.5] }}\n\
         \x20 - {{ from: p4, to: p3, length: 1000, a: outside, b: inside, od: [38.1, 44.5] }}\n",
        exact(&TETRAHEDRON)
    );
    let record = record(&text);
    let centres: Vec<f64> = record.tapes[6..].iter().map(|tape| tape.centres().to_mm()).collect();
    for (found, wanted) in centres.iter().zip([1000.0 - 38.1, 1000.0 + 41.3, 1000.0 - 19.05 + 22.25]) {
        assert!((found - wanted).abs() < 1e-12, "{centres:?}");
    }
}

#[test]
fn a_frame_on_one_line_tells_no_axes() {
    let head = HEAD.replace("xy: p4", "xy: m");
    let tapes = exact(&TETRAHEDRON);
    let record = record(&format!(
        "{head}{tapes}  - {{ from: p1, to: m, length: 500 }}\n  - {{ from: p2, to: m, length: 700 }}\n"
    ));
    assert!(matches!(survey(&record), Err(NoSurvey::FrameOnLine { .. })));
}

#[test]
fn the_document_is_of_its_schema() {
    let schema = serde_json::from_str(document::JSON_SCHEMA).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for text in [
        box_text(&[]),
        format!("{HEAD}{}", exact(&[&TETRAHEDRON[..], &[(1, 7), (2, 7)]].concat())),
        format!(
            "{HEAD}{}lines:\n  - points: [p1, p4, p2]\nlevels:\n  - heights: {{ p1: 0, p2: 0 }}\n",
            exact(&TETRAHEDRON)
        ),
    ] {
        let (record, told) = of(&text);
        let notes = told.notes(&record, &People::mm());
        let document = document::Document::new(&record, &told, &notes, &People::mm()).to_json();
        let json = serde_json::from_str(&document).unwrap();
        assert!(validator.is_valid(&json), "{document}");
    }
}
