//! A bend of radius 1: setback, arc, gain, chord, external distance and middle ordinate.
//!
//! Source: closed forms of the circular curve, computed independently to nine decimals (T = tan(a/2), A = a, G = 2T - A,
//! chord = 2 sin(a/2), external = sec(a/2) - 1, middle ordinate = 1 - cos(a/2)). Degrees; lengths in radii.
//! Tolerance: half the last printed digit, or 1e-9 of the figure.

#![expect(clippy::approx_constant, reason = "figures as printed, to nine decimals")]

use nalgebra::{Point3, center};
use tubewright::centreline::{BendId, Centreline, Row, Rows, Segment, setback};
use tubewright::units::{Angle, Length};

/// Bend angle; setback, arc, gain, chord, external, middle ordinate.
const TABLE: [(f64, [f64; 6]); 27] = [
    (1.0, [0.008726868, 0.017453293, 0.000000443, 0.017453071, 0.000038078, 0.000038077]),
    (5.0, [0.043660943, 0.087266463, 0.000055423, 0.087238775, 0.000952685, 0.000951778]),
    (10.0, [0.087488664, 0.174532925, 0.000444402, 0.174311485, 0.003819838, 0.003805302]),
    (15.0, [0.131652498, 0.261799388, 0.001505607, 0.261052384, 0.008628961, 0.008555139]),
    (20.0, [0.176326981, 0.349065850, 0.003588111, 0.347296355, 0.015426612, 0.015192247]),
    (22.5, [0.198912367, 0.392699082, 0.005125653, 0.390180644, 0.019591158, 0.019214720]),
    (25.0, [0.221694663, 0.436332313, 0.007057012, 0.432879228, 0.024279514, 0.023703993]),
    (30.0, [0.267949192, 0.523598776, 0.012299609, 0.517638090, 0.035276180, 0.034074174]),
    (35.0, [0.315298789, 0.610865238, 0.019732340, 0.601411599, 0.048529125, 0.046283049]),
    (40.0, [0.363970234, 0.698131701, 0.029808768, 0.684040287, 0.064177772, 0.060307379]),
    (45.0, [0.414213562, 0.785398163, 0.043028961, 0.765366865, 0.082392200, 0.076120467]),
    (50.0, [0.466307658, 0.872664626, 0.059950690, 0.845236523, 0.103377919, 0.093692213]),
    (60.0, [0.577350269, 1.047197551, 0.107502987, 1.000000000, 0.154700538, 0.133974596]),
    (70.0, [0.700207538, 1.221730476, 0.178684600, 1.147152873, 0.220774589, 0.180847956]),
    (75.0, [0.767326988, 1.308996939, 0.225657037, 1.217522858, 0.260472414, 0.206646660]),
    (80.0, [0.839099631, 1.396263402, 0.281935861, 1.285575219, 0.305407289, 0.233955557]),
    (90.0, [1.000000000, 1.570796327, 0.429203673, 1.414213562, 0.414213562, 0.292893219]),
    (100.0, [1.191753593, 1.745329252, 0.638177933, 1.532088886, 0.555723827, 0.357212390]),
    (105.0, [1.303225373, 1.832595715, 0.773855031, 1.586706681, 0.642679632, 0.391238571]),
    (110.0, [1.428148007, 1.919862177, 0.936433836, 1.638304089, 0.743446796, 0.426423564]),
    (120.0, [1.732050808, 2.094395102, 1.369706513, 1.732050808, 1.000000000, 0.500000000]),
    (135.0, [2.414213562, 2.356194490, 2.472232635, 1.847759065, 1.613125930, 0.617316568]),
    (150.0, [3.732050808, 2.617993878, 4.846107737, 1.931851653, 2.863703305, 0.741180955]),
    (165.0, [7.595754113, 2.879793266, 12.311714960, 1.982889723, 6.661297576, 0.869473808]),
    (170.0, [11.430052303, 2.967059728, 19.893044877, 1.992389396, 10.473713246, 0.912844257]),
    (175.0, [22.903765548, 3.054326191, 42.753204906, 1.998096443, 21.925585626, 0.956380613]),
    // No corner: setback, gain and external distance are infinite.
    (180.0, [f64::INFINITY, 3.141592654, f64::INFINITY, 2.000000000, f64::INFINITY, 1.000000000]),
];

const RADIUS: f64 = 250.0;

/// One bend between two straights, in radii.
fn measured(degrees: f64) -> [f64; 6] {
    let row = Row { length: Length::mm(100.0), rotation: Angle::ZERO, angle: Angle::deg(degrees) };
    let rows = Rows { bends: vec![row], last: Length::mm(100.0) };
    let tube = Centreline::from_rows(&rows, &|_| Length::mm(RADIUS)).expect("a bend that can be");
    let arc = tube.segments()[1];
    let Segment::Arc { .. } = arc else { panic!("the second piece is the bend's arc") };
    let (start, end) = (arc.start(), arc.end());
    let top = arc.at(arc.length() / 2.0).0;
    let distance = |one: &Point3<f64>, other: &Point3<f64>| (one - other).norm();
    let known = |length: Option<Length>| length.map_or(f64::INFINITY, Length::to_mm);
    [
        known(tube.setback(BendId(0))),
        arc.length().to_mm(),
        known(tube.gain()),
        distance(&start, &end),
        tube.nodes[1].map_or(f64::INFINITY, |corner| distance(&corner, &top)),
        distance(&center(&start, &end), &top),
    ]
    .map(|mm| mm / RADIUS)
}

#[test]
fn every_bend_of_the_table_is_as_printed() {
    for (degrees, wanted) in TABLE {
        for (column, (found, wanted)) in measured(degrees).into_iter().zip(wanted).enumerate() {
            let off = if wanted.is_finite() { (found - wanted).abs() } else { f64::from(u8::from(found.is_finite())) };
            let close = 5.1e-10 + 1e-9 * if wanted.is_finite() { wanted } else { 0.0 };
            assert!(off <= close, "{degrees} degrees, column {column}: {found} is not {wanted}");
        }
    }
}

#[test]
fn a_square_turned_right_around_has_no_corner() {
    assert_eq!(setback(Length::mm(1.0), Angle::deg(180.0)), None);
    let path = [Point3::origin(), Point3::new(500.0, 0.0, 0.0), Point3::new(10.0, 0.0, 0.0)];
    let mistakes = Centreline::from_nodes(&path, &|_| Length::mm(RADIUS)).expect_err("it turns back");
    assert_eq!(mistakes[0].code(), "reversal");
}
