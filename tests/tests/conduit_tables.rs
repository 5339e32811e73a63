//! Offsets as conduit benders lay them out.
//!
//! Sources: multipliers 10 to 60 degrees and shrink per inch of offset: common practice, no source. Cosecant, tangent and cotangent and the
//! layouts with a radius: closed forms computed independently (to 1e-6 and 1e-5). The trade's shrinks are low at 22.5 degrees and above, so
//! they are held against ours with 0.08 and never computed with. Lengths in the unit of the offset.

#![expect(clippy::approx_constant, reason = "figures as printed")]

use nalgebra::point;
use tubewright::centreline::{BendId, Centreline};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::units::{Angle, Length, LengthUnit, length};

/// Bend angle, multiplier exact and of the trade, tan(a/2), shrink of the trade, cotangent.
const MULTIPLIERS: [[f64; 6]; 6] = [
    [10.0, 5.758770, 6.0, 0.087489, 0.0625, 5.671282],
    [15.0, 3.863703, 3.9, 0.131652, 0.1250, 3.732051],
    [22.5, 2.613126, 2.6, 0.198912, 0.1875, 2.414214],
    [30.0, 2.000000, 2.0, 0.267949, 0.2500, 1.732051],
    [45.0, 1.414214, 1.4, 0.414214, 0.3750, 1.000000],
    [60.0, 1.154701, 1.2, 0.577350, 0.5000, 0.577350],
];

/// Offset, bend angle, radius; between corners, start to start, straight between, added length against the run.
const LAYOUTS: [[f64; 7]; 6] = [
    [6.0, 30.0, 4.0, 12.00000, 11.95080, 9.85641, 1.50930],
    [6.0, 45.0, 4.0, 8.48528, 8.31317, 5.17157, 2.14105],
    [10.0, 30.0, 6.0, 20.00000, 19.92620, 16.78461, 2.53190],
    [4.0, 30.0, 4.5, 8.00000, 7.94465, 5.58846, 0.96110],
    [60.0, 90.0, 20.0, 60.00000, 51.41593, 20.00000, 42.83185],
    [150.0, 45.0, 114.3, 212.13203, 207.21382, 117.44281, 52.29561],
];

/// An offset of a height over a run, with lead-ins of ten heights.
fn offset(height: f64, run: f64, radius: f64) -> Centreline {
    let lead = 10.0 * height;
    let path = [
        point![0.0, 0.0, 0.0],
        point![lead, 0.0, 0.0],
        point![lead + run, height, 0.0],
        point![2.0 * lead + run, height, 0.0],
    ];
    Centreline::from_nodes(&path, &|_| Length::mm(radius)).expect("an offset that can be bent")
}

fn near(found: f64, wanted: f64, tolerance: f64) {
    assert!((found - wanted).abs() <= tolerance, "{found} is not {wanted}");
}

#[test]
fn travel_and_shrink_of_a_sharp_offset_are_as_printed() {
    for [degrees, multiplier, trade, shrink, trade_shrink, cotangent] in MULTIPLIERS {
        let height = 100.0;
        let tube = offset(height, height * cotangent, 1.0);
        near(tube.rows.bends[0].angle.to_deg(), degrees, 5e-5);
        near(tube.rows.bends[1].angle.to_deg(), degrees, 5e-5);
        near(tube.rows.bends[1].rotation.to_deg(), 180.0, 1e-9);
        let travel = tube.legs()[1].expect("corners").to_mm();
        near(travel / height, multiplier, 1.1e-6);
        near(travel / height, trade, if degrees < 12.0 { 0.25 } else { 0.05 });
        let shrunk = (travel - height * cotangent) / height;
        near(shrunk, shrink, 1.1e-6);
        near(shrunk, trade_shrink, 0.08);
    }
}

#[test]
fn marks_of_an_offset_with_a_radius_are_as_computed() {
    for [height, degrees, radius, corners, starts, straight, added] in LAYOUTS {
        let run = height / libm::tan(Angle::deg(degrees).to_rad());
        let tube = offset(height, run, radius);
        let law = |_| Law::new(0, Length::mm(radius), Length::ZERO, None);
        let blank = Blank::new(&tube, Length::mm(1.0), Length::ZERO, Length::ZERO, &law);
        near(tube.legs()[1].expect("corners").to_mm(), corners, 5.1e-6);
        let apart = blank.mark(BendId(1), LeadEnd::A) - blank.mark(BendId(0), LeadEnd::A);
        near(apart.to_mm(), starts, 5.1e-6);
        near(tube.rows.bends[1].length.to_mm(), straight, 5.1e-6);
        near(blank.cut_length.to_mm() - 20.0 * height - run, added, 5.1e-6);
    }
}

#[test]
fn an_offset_of_15_at_25_degrees_travels_35_1_2() {
    // 2.37 x 15 = 35.55 by the trade's multiplier; 2.366202 is the exact one.
    let height = length("15", LengthUnit::Inch).expect("a length");
    let run = height * 2.144507;
    let tube = offset(height.to_mm(), run.to_mm(), 50.0);
    near(tube.rows.bends[0].angle.to_deg(), 25.0, 1e-4);
    let travel = tube.legs()[1].expect("corners");
    near(travel.to_inch(), 35.4930, 6e-5);
    assert_eq!(tubewright::round::People::inch().length(travel), "35 1/2");
}

#[test]
fn a_saddle_of_45_in_the_middle_is_2_61_heights_from_its_outer_bends() {
    // Outer bends of 22.5; shrink 0.19891 heights by the exact figures, 3/16 by the trade.
    let height = 100.0;
    let run = height * 2.414214;
    let path = [
        point![0.0, 0.0, 0.0],
        point![1000.0, 0.0, 0.0],
        point![1000.0 + run, height, 0.0],
        point![1000.0 + 2.0 * run, 0.0, 0.0],
        point![2000.0 + 2.0 * run, 0.0, 0.0],
    ];
    let tube = Centreline::from_nodes(&path, &|_| Length::mm(20.0)).expect("a saddle");
    let angles: Vec<f64> = tube.rows.bends.iter().map(|row| row.angle.to_deg()).collect();
    for (found, wanted) in angles.into_iter().zip([22.5, 45.0, 22.5]) {
        near(found, wanted, 1e-4);
    }
    let spacing = tube.legs()[1].expect("corners").to_mm();
    near(spacing / height, 2.6131, 5.1e-5);
    near((spacing - run) / height, 0.19891, 5.1e-6);
}
