use approx::assert_relative_eq;
use nalgebra::{Point3, point};

use super::*;
use crate::round::People;

fn radius(mm: f64) -> impl Fn(BendId) -> Length {
    move |_| Length::mm(mm)
}

fn from_nodes(nodes: &[[f64; 3]], mm: f64) -> Result<Centreline, Vec<ShapeMistake>> {
    let nodes: Vec<Point3<f64>> = nodes.iter().map(|node| Point3::from(*node)).collect();
    Centreline::from_nodes(&nodes, &radius(mm))
}

fn row(length: f64, rotation: f64, angle: f64) -> Row {
    Row { length: Length::mm(length), rotation: Angle::deg(rotation), angle: Angle::deg(angle) }
}

fn from_rows(bends: &[Row], last: f64, mm: f64) -> Result<Centreline, Vec<ShapeMistake>> {
    Centreline::from_rows(&Rows { bends: bends.to_vec(), last: Length::mm(last) }, &radius(mm))
}

fn codes(result: Result<Centreline, Vec<ShapeMistake>>) -> Vec<&'static str> {
    result.unwrap_err().iter().map(ShapeMistake::code).collect()
}

fn mm(points: impl IntoIterator<Item = Length>) -> Vec<f64> {
    points.into_iter().map(Length::to_mm).collect()
}

#[test]
fn a_turn_out_of_plane_has_the_sign_of_the_right_hand() {
    for sign in [1.0, -1.0] {
        let tube =
            from_nodes(&[[0.0; 3], [1000.0, 0.0, 0.0], [1000.0, 1000.0, 0.0], [1000.0, 1000.0, sign * 1000.0]], 100.0)
                .unwrap();
        assert_relative_eq!(tube.rows.bends[1].rotation.to_deg(), sign * 90.0, epsilon = 1e-12);
        assert_relative_eq!(tube.developed().to_mm(), 2600.0 + 100.0 * core::f64::consts::PI, epsilon = 1e-9);
        assert_relative_eq!(tube.gain().unwrap().to_mm(), 3000.0 - tube.developed().to_mm(), epsilon = 1e-9);
        assert_eq!(mm(tube.legs().into_iter().flatten()), [1000.0; 3]);
    }
}

#[test]
fn a_straight_tube_has_one_straight_and_no_bend() {
    let tube = from_nodes(&[[1.0, 2.0, 3.0], [1.0, 2.0, 103.0]], 50.0).unwrap();
    assert!(tube.rows.bends.is_empty());
    assert_relative_eq!(tube.rows.last.to_mm(), 100.0);
    assert_relative_eq!(tube.normal.dot(&tube.direction), 0.0);
    assert_relative_eq!(tube.end().0, point![1.0, 2.0, 103.0]);
    assert_eq!(tube.gain(), Some(Length::ZERO));
    let same = from_rows(&[], 100.0, 50.0).unwrap();
    assert_relative_eq!(same.end().0, point![100.0, 0.0, 0.0]);
    assert_eq!(same.nodes.len(), 2);
}

#[test]
fn the_pieces_join_and_run_through_the_last_node() {
    let nodes = [
        [0.0, 0.0, 0.0],
        [0.0, 0.0, 700.0],
        [250.0, 0.0, 1100.0],
        [1250.0, 100.0, 1150.0],
        [1600.0, 150.0, 600.0],
        [1650.0, 150.0, 0.0],
    ];
    let tube = from_nodes(&nodes, 152.4).unwrap();
    let segments = tube.segments();
    assert_eq!(segments.len(), 9);
    for pair in segments.windows(2) {
        assert_relative_eq!(pair[0].end(), pair[1].start(), epsilon = 1e-9);
        assert_relative_eq!(pair[0].at(pair[0].length()).1, pair[1].at(Length::ZERO).1, epsilon = 1e-12);
    }
    assert_relative_eq!(tube.end().0, point![1650.0, 150.0, 0.0], epsilon = 1e-9);
    assert_relative_eq!(
        segments.iter().map(Segment::length).sum::<Length>().to_mm(),
        tube.developed().to_mm(),
        epsilon = 1e-9
    );
}

#[test]
fn a_node_that_is_nearly_straight_is_passed_and_splits_no_leg() {
    // 1 in 2000 to either side: a bend of 0.0573 degree; 0.4 in 1000: 0.0458 degree.
    let bent = from_nodes(&[[0.0; 3], [1000.0, 0.0, 0.5], [2000.0, 0.0, 0.0], [2000.0, 500.0, 0.0]], 50.0).unwrap();
    assert_eq!((bent.rows.bends.len(), bent.passed.len()), (2, 0));
    let passed = from_nodes(&[[0.0; 3], [1000.0, 0.0, 0.4], [2000.0, 0.0, 0.0], [2000.0, 500.0, 0.0]], 50.0).unwrap();
    assert_eq!((passed.passed.as_slice(), passed.bend_nodes.as_slice()), (&[1][..], &[2][..]));
    assert_relative_eq!(passed.rows.bends[0].length.to_mm(), 1950.0, epsilon = 1e-9);
    assert_relative_eq!(passed.nodes[1].unwrap(), point![1000.0, 0.0, 0.4]);
    assert_eq!(passed.node_of(BendId(0)), Some(NodeId(2)));
    assert_eq!(passed.node_of(BendId(1)), None);
}

#[test]
fn a_slow_curve_of_many_nearly_straight_nodes_is_not_flattened() {
    // 0.04 degree at each of 200 nodes: 8 degrees in all.
    let node = |i: usize| {
        let (sin, cos) = libm::sincos((i as f64 * 0.04).to_radians());
        [1e5 * sin, 1e5 * (1.0 - cos), 0.0]
    };
    let nodes: Vec<[f64; 3]> = (0..202).map(node).collect();
    let tube = from_nodes(&nodes, 5.0).unwrap();
    let turned: f64 = tube.rows.bends.iter().map(|row| row.angle.to_deg()).sum();
    assert!(turned > 7.9 && !tube.passed.is_empty(), "{turned}");
    for place in &tube.passed {
        let node = tube.nodes[*place].unwrap();
        let off = tube.segments().iter().map(|piece| off(piece, &node)).fold(f64::INFINITY, f64::min);
        assert!(off < 0.06, "node {place} is {off} mm off");
    }
}

/// Distance of a point from a straight; of an arc, nothing.
fn off(piece: &Segment, point: &Point3<f64>) -> f64 {
    match piece {
        Segment::Straight { from, direction, .. } => {
            let along = (point - from).dot(direction).clamp(0.0, piece.length().to_mm());
            (point - from - direction.into_inner() * along).norm()
        }
        Segment::Arc { .. } => f64::INFINITY,
    }
}

#[test]
fn rows_lie_along_x_and_bend_toward_y() {
    let tube = from_rows(&[row(100.0, 0.0, 90.0), row(200.0, 90.0, 90.0)], 300.0, 50.0).unwrap();
    for (node, wanted) in tube.nodes.iter().zip([
        point![0.0, 0.0, 0.0],
        point![150.0, 0.0, 0.0],
        point![150.0, 300.0, 0.0],
        point![150.0, 300.0, 350.0],
    ]) {
        assert_relative_eq!(node.unwrap(), wanted, epsilon = 1e-9);
    }
}

#[test]
fn a_u_bend_has_no_corner_but_an_end() {
    let tube = from_rows(&[row(100.0, 0.0, 180.0)], 100.0, 50.0).unwrap();
    assert_eq!(tube.nodes[1], None);
    assert_eq!((tube.setback(BendId(0)), tube.gain(), tube.legs()), (None, None, vec![None, None]));
    assert_relative_eq!(tube.end().0, point![0.0, 100.0, 0.0], epsilon = 1e-12);
    assert_relative_eq!(tube.developed().to_mm(), 200.0 + 50.0 * core::f64::consts::PI);
    let corner = from_rows(&[row(100.0, 0.0, 175.0)], 100.0, 50.0).unwrap();
    assert!(corner.nodes[1].is_some());
    assert!(from_rows(&[row(100.0, 0.0, 359.0)], 100.0, 50.0).is_ok());
}

#[test]
fn a_row_that_is_nearly_straight_joins_its_neighbours_and_its_rotation_adds_up() {
    let tube = from_rows(&[row(100.0, 0.0, 45.0), row(50.0, 170.0, 0.04), row(70.0, 30.0, 30.0)], 80.0, 50.0).unwrap();
    assert_eq!((tube.passed.as_slice(), tube.bend_nodes.as_slice()), (&[2][..], &[1, 3][..]));
    assert_relative_eq!(tube.rows.bends[1].length.to_mm(), 120.0);
    assert_relative_eq!(tube.rows.bends[1].rotation.to_deg(), -160.0, epsilon = 1e-9);
    let start = tube.segments()[2].start();
    assert_relative_eq!((tube.nodes[2].unwrap() - start).norm(), 50.0, epsilon = 1e-9);
    // Before the first bend that is left, a rotation changes nothing.
    let first = from_rows(&[row(100.0, 0.0, 0.0), row(50.0, 170.0, 45.0)], 80.0, 50.0).unwrap();
    assert_eq!(first.rows.bends, [row(150.0, 0.0, 45.0)]);
}

#[test]
fn half_a_turn_has_one_name() {
    for rotation in [180.0, -180.0, 540.0] {
        let tube = from_rows(&[row(100.0, 0.0, 45.0), row(100.0, rotation, 45.0)], 100.0, 50.0).unwrap();
        assert_relative_eq!(tube.rows.bends[1].rotation.to_deg(), 180.0);
        assert_relative_eq!(tube.end().1, Vector3::x_axis(), epsilon = 1e-12);
    }
}

#[test]
fn legs_are_taken_to_the_centre() {
    let leg = |length, a, b| Leg { length: Length::mm(length), a, b };
    let (out, inside, centre) = (Taken::Outside, Taken::Inside, Taken::Centre);
    let tube = Centreline::from_legs(
        // A cut end has no outside: what is said of it shifts nothing.
        &[leg(520.0, inside, out), leg(340.0, out, inside), leg(480.0, inside, out)],
        Length::mm(40.0),
        &[Angle::deg(90.0), Angle::deg(90.0)],
        &[Angle::deg(90.0)],
        &radius(100.0),
    )
    .unwrap();
    for (leg, wanted) in tube.legs().into_iter().zip([500.0, 340.0, 500.0]) {
        assert_relative_eq!(leg.unwrap().to_mm(), wanted, epsilon = 1e-9);
    }
    assert_relative_eq!(tube.end().0, point![500.0, 340.0, 500.0], epsilon = 1e-9);
    let passing = Centreline::from_legs(
        &[leg(300.0, centre, out), leg(200.0, out, centre), leg(500.0, centre, centre)],
        Length::mm(40.0),
        &[Angle::deg(0.01), Angle::deg(90.0)],
        &[],
        &radius(100.0),
    )
    .unwrap();
    assert_eq!(passing.passed, [1]);
    assert_relative_eq!(passing.nodes[1].unwrap(), point![300.0, 0.0, 0.0], epsilon = 1e-9);
    assert_relative_eq!(passing.rows.bends[0].length.to_mm(), 400.0, epsilon = 1e-9);
    let between = Centreline::from_legs(
        &[leg(500.0, centre, centre), leg(300.0, centre, centre), leg(200.0, centre, centre)],
        Length::mm(40.0),
        &[Angle::deg(90.0), Angle::deg(0.01)],
        &[],
        &radius(100.0),
    )
    .unwrap();
    assert_relative_eq!(between.nodes[2].unwrap(), point![500.0, 300.0, 0.0], epsilon = 1e-9);
}

#[test]
fn a_leg_too_short_says_what_is_missing_and_what_takes_it() {
    let mistakes =
        from_nodes(&[[0.0; 3], [200.0, 0.0, 0.0], [200.0, 150.0, 0.0], [200.0, 150.0, 10.0]], 100.0).unwrap_err();
    assert_eq!(mistakes.len(), 2);
    assert_eq!(
        mistakes[0].to_string(),
        "leg 2 from node 2 to node 3 is too short by 50.0 mm: it is 150.0 mm long, \
         the 90° bend at node 2 with a formed radius of 100.0 mm takes 100.0 mm, \
         the 90° bend at node 3 with a formed radius of 100.0 mm takes 100.0 mm"
    );
    let names = |node: NodeId| ["foot", "knee", "shoulder", "tip"][node.0].to_owned();
    assert_eq!(
        mistakes[1].words(&People::inch(), &names),
        "leg 3 from shoulder to tip is too short by 3.544 in: it is 0.394 in long, \
         the 90° bend at shoulder with a formed radius of 3.937 in takes 3.937 in"
    );
    assert_eq!(
        mistakes[1].way_out(&People::mm(), &names).unwrap(),
        "make the leg 90.0 mm longer, the bend smaller, or take a smaller clr"
    );
}

#[test]
fn a_straight_of_nothing_is_a_straight() {
    // 200 long with two setbacks of 100, in a place where that is not exact.
    let tube = from_nodes(&[[0.3; 3], [200.3, 0.3, 0.3], [200.3, 200.3, 0.3], [0.3, 200.3, 0.3]], 100.0).unwrap();
    assert_relative_eq!(tube.rows.bends[1].length.to_mm(), 0.0, epsilon = 1e-12);
    assert!(tube.rows.bends[1].length >= Length::ZERO);
    let mut left = Vec::new();
    for tenths in 1..1000 {
        // A square of which two setbacks are the side, turned so that nothing is exact.
        let radius = f64::from(tenths) * 0.1;
        let (sin, cos) = libm::sincos(radius);
        let [x, y] = [2.0 * radius * cos, 2.0 * radius * sin];
        let side = |along: f64, across: f64| [along * x - across * y, along * y + across * x, 0.0];
        let tube = from_nodes(&[side(0.0, 0.0), side(2.0, 0.0), side(2.0, 1.0), side(0.0, 1.0)], radius).unwrap();
        left.push(tube.rows.bends[1].length);
    }
    assert!(left.iter().all(|straight| *straight >= Length::ZERO && straight.to_mm() < 1e-12));
    assert!(left.iter().any(|straight| *straight > Length::ZERO), "some are left by rounding");
    assert!(from_rows(&[row(-1e-11, 0.0, 45.0)], 100.0, 50.0).is_ok());
    assert_eq!(codes(from_rows(&[row(-1e-6, 0.0, 45.0)], 100.0, 50.0)), ["straight-below-zero"]);
}

#[test]
fn all_mistakes_of_a_path_come_at_once_and_in_its_order() {
    let nodes = [
        [0.0, 0.0, 0.0],
        [500.0, 0.0, 0.0],
        [500.005, 0.0, 0.0],
        [500.0, 50.0, 0.0],
        [900.0, 50.0, 0.0],
        [100.0, 55.0, 0.0],
        [100.0, 900.0, 0.0],
    ];
    let mistakes = from_nodes(&nodes, 100.0).unwrap_err();
    let found: Vec<_> = mistakes.iter().map(|mistake| (mistake.code(), mistake.node().unwrap().0)).collect();
    assert_eq!(found, [("leg-too-short", 1), ("nodes-coincide", 2), ("reversal", 4)]);
    assert_eq!(mistakes[2].to_string(), "the path turns back at node 5: 179.642°, and a corner can be at most 175°");
    assert_eq!(mistakes[1].to_string(), "node 2 and node 3 are 0.005 mm apart: less than 0.01 mm is no leg");
}

#[test]
fn figures_that_are_not_finite_are_named() {
    assert_eq!(
        codes(from_nodes(&[[0.0; 3], [f64::NAN, 0.0, 0.0], [1.0, f64::INFINITY, 1e300]], 5.0)),
        ["not-finite"; 2]
    );
    assert_eq!(codes(from_rows(&[row(1.0, f64::NAN, 45.0)], f64::NEG_INFINITY, 5.0)), ["not-finite"; 2]);
    assert_eq!(
        codes(from_nodes(&[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 100.0, 0.0]], f64::NAN)),
        ["radius-not-positive"]
    );
    assert_eq!(codes(from_nodes(&[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 100.0, 0.0]], 0.0)), ["radius-not-positive"]);
    let leg = Leg { length: Length::mm(f64::NAN), a: Taken::Centre, b: Taken::Centre };
    let legs = Centreline::from_legs(&[leg; 2], Length::mm(f64::NAN), &[Angle::deg(f64::NAN)], &[], &radius(5.0));
    assert_eq!(codes(legs), ["not-finite"; 4]);
}

#[test]
fn a_closed_path_says_where_to_split_it() {
    let square = [[0.0; 3], [500.0, 0.0, 0.0], [500.0, 400.0, 0.0], [0.0, 400.0, 0.0], [0.0; 3]];
    let mistake = from_nodes(&square, 50.0).unwrap_err().remove(0);
    assert_eq!(mistake.code(), "closed-path");
    assert_eq!(
        mistake.way_out(&People::mm(), &|node| node.to_string()).unwrap(),
        "split it in the middle of its longest leg, between node 1 and node 2 at (250.0 mm, 0.0 mm, 0.0 mm)"
    );
    let side = |length| row(length, 0.0, 90.0);
    let rows = from_rows(&[side(350.0), side(300.0), side(400.0)], 350.0, 50.0).unwrap();
    assert_eq!(rows.nodes.len(), 5);
    let closed = from_rows(&[side(300.0), side(350.0), side(300.0), side(350.0)], 0.0, 50.0).unwrap_err();
    // Of two that are equally long the first is named.
    let wanted = (NodeId(5), NodeId(1), NodeId(2));
    assert!(
        matches!(closed[..], [ShapeMistake::ClosedPath { last, from, to, .. }] if (last, from, to) == wanted),
        "{closed:?}"
    );
}

#[test]
fn rows_and_legs_that_cannot_be_are_refused() {
    assert_eq!(codes(from_nodes(&[], 5.0)), ["too-few-nodes"]);
    assert_eq!(codes(from_nodes(&[[0.0; 3]], 5.0)), ["too-few-nodes"]);
    assert_eq!(codes(from_nodes(&[[0.0; 3], [0.0; 3]], 5.0)), ["nodes-coincide"]);
    assert_eq!(codes(from_rows(&[], 0.0, 5.0)), ["nodes-coincide"]);
    assert_eq!(codes(from_rows(&[row(1.0, 5.0, 45.0)], 1.0, 5.0)), ["rotation-before-first-bend"]);
    assert_eq!(codes(from_rows(&[row(1.0, 0.0, -1.0), row(1.0, 0.0, 360.0)], 1.0, 5.0)), ["bend-out-of-range"; 2]);
    let leg = Leg { length: Length::mm(500.0), a: Taken::Centre, b: Taken::Centre };
    let legs = |legs: usize, bends: &[f64], rotations: usize| {
        let bends: Vec<Angle> = bends.iter().copied().map(Angle::deg).collect();
        Centreline::from_legs(&vec![leg; legs], Length::mm(40.0), &bends, &vec![Angle::ZERO; rotations], &radius(5.0))
    };
    assert_eq!(codes(legs(2, &[45.0, 45.0], 0)), ["legs-and-bends-differ"]);
    assert_eq!(codes(legs(3, &[45.0, 45.0], 2)), ["rotations-and-bends-differ"]);
    assert_eq!(codes(legs(0, &[], 1)), ["legs-and-bends-differ", "rotations-and-bends-differ"]);
    assert_eq!(codes(legs(3, &[-45.0, 176.0], 1)), ["bend-out-of-range", "reversal"]);
    assert!(legs(3, &[45.0, 175.0], 0).is_ok());
}

#[test]
fn a_reversed_tube_runs_the_other_way_through_the_same_points() {
    let tube = from_rows(
        &[row(100.0, 0.0, 45.0), row(50.0, 70.0, 190.0), row(70.0, -30.0, 0.01), row(90.0, 10.0, 30.0)],
        80.0,
        50.0,
    )
    .unwrap();
    let back = tube.reversed();
    assert_relative_eq!(back.start, tube.end().0, epsilon = 1e-9);
    assert_relative_eq!(back.end().0, tube.start, epsilon = 1e-9);
    for (row, wanted) in back.rows.bends.iter().zip([0.0, -20.0, 70.0]) {
        assert_relative_eq!(row.rotation.to_deg(), wanted, epsilon = 1e-12);
    }
    assert_eq!((back.passed.as_slice(), back.bend_nodes.as_slice()), (&[2][..], &[1, 3, 4][..]));
    let twice = back.reversed();
    assert_eq!(twice.rows, tube.rows);
    assert_relative_eq!(twice.normal, tube.normal, epsilon = 1e-12);
    let straight = from_rows(&[], 100.0, 5.0).unwrap();
    assert_relative_eq!(straight.reversed().end().0, straight.start, epsilon = 1e-12);
}

#[test]
fn a_mirrored_tube_lies_on_the_mirrored_points() {
    let tube = from_rows(&[row(100.0, 0.0, 45.0), row(50.0, 70.0, 190.0), row(90.0, 180.0, 30.0)], 80.0, 50.0).unwrap();
    let plane = Plane::square_to(Axis::Y, Length::mm(12.0));
    let image = tube.mirrored(&plane);
    assert_relative_eq!(image.end().0, plane.mirror(&tube.end().0), epsilon = 1e-9);
    let rotations: Vec<f64> = image.rows.bends.iter().map(|row| row.rotation.to_deg()).collect();
    for (found, wanted) in rotations.into_iter().zip([0.0, -70.0, 180.0]) {
        assert_relative_eq!(found, wanted, epsilon = 1e-12);
        assert!(found.is_sign_positive() || found < -1.0);
    }
    assert_relative_eq!(plane.mirror(&point![1.0, 2.0, 3.0]), point![1.0, 22.0, 3.0]);
}

#[test]
fn ends_are_cut_back_along_their_straights() {
    let points = [Point3::origin(), Point3::new(500.0, 0.0, 0.0), Point3::new(500.0, 400.0, 0.0)];
    let bent = Centreline::from_nodes(&points, &|_| Length::mm(100.0)).unwrap();
    let straight = Centreline::from_nodes(&points[..2], &|_| Length::mm(100.0)).unwrap();
    for whole in [bent, straight] {
        let cut = whole.cut_back([Length::mm(12.0), Length::mm(-5.0)]);
        assert!((whole.developed() - cut.developed() - Length::mm(7.0)).abs().to_mm() < 1e-9);
        assert!((cut.start - Point3::new(12.0, 0.0, 0.0)).norm() < 1e-9);
        let ((wanted, way), (found, _)) = (whole.end(), cut.end());
        assert!((wanted + way.into_inner() * 5.0 - found).norm() < 1e-9);
    }
}
