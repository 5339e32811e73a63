//! Tables of tube: area, second moment, mass, girth.
//!
//! Sources: standard handbook values [memory]: steel 7850 kg/m3 (0.2836 lb/in3), aluminium 2700 (0.098), steel in lb/ft = 10.69 (D - t) t and
//! in kg/m = 0.0246615 (D - t) t; the tables computed from these independently. Tolerance half the last printed digit.

#![expect(clippy::approx_constant, reason = "figures as printed")]

use core::f64::consts::PI;

use tubewright::job::Stock;
use tubewright::units::{Length, LengthUnit};

/// Inches: OD, wall; area, second moment, lb/ft by 10.69, lb/ft of steel, lb/ft of aluminium, girth, girth a degree.
const INCH: [[f64; 9]; 13] = [
    [1.000, 0.065, 0.19093, 0.020965, 0.6497, 0.6498, 0.2245, 3.1416, 0.008727],
    [1.250, 0.065, 0.24198, 0.042602, 0.8234, 0.8235, 0.2846, 3.9270, 0.010908],
    [1.250, 0.095, 0.34471, 0.057871, 1.1730, 1.1731, 0.4054, 3.9270, 0.010908],
    [1.500, 0.065, 0.29303, 0.075582, 0.9971, 0.9972, 0.3446, 4.7124, 0.013090],
    [1.500, 0.095, 0.41932, 0.103943, 1.4268, 1.4270, 0.4931, 4.7124, 0.013090],
    [1.500, 0.120, 0.52025, 0.124781, 1.7703, 1.7705, 0.6118, 4.7124, 0.013090],
    [1.625, 0.083, 0.40208, 0.119853, 1.3682, 1.3684, 0.4728, 5.1051, 0.014181],
    [1.625, 0.120, 0.56737, 0.161660, 1.9306, 1.9309, 0.6672, 5.1051, 0.014181],
    [1.750, 0.095, 0.49394, 0.169670, 1.6807, 1.6810, 0.5809, 5.4978, 0.015272],
    [1.750, 0.120, 0.61450, 0.205188, 2.0910, 2.0913, 0.7226, 5.4978, 0.015272],
    [1.750, 0.134, 0.68029, 0.223596, 2.3149, 2.3152, 0.8000, 5.4978, 0.015272],
    [2.000, 0.095, 0.56855, 0.258552, 1.9346, 1.9349, 0.6686, 6.2832, 0.017453],
    [2.000, 0.120, 0.70874, 0.314399, 2.4117, 2.4120, 0.8335, 6.2832, 0.017453],
];

/// Millimetres: OD, wall; area, second moment, kg/m of steel, kg/m of aluminium, girth, girth a degree.
const MM: [[f64; 8]; 11] = [
    [25.0, 1.5, 110.741, 7675.7, 0.8693, 0.2990, 78.540, 0.21817],
    [25.0, 2.0, 144.513, 9628.2, 1.1344, 0.3902, 78.540, 0.21817],
    [30.0, 2.0, 175.929, 17329.0, 1.3810, 0.4750, 94.248, 0.26180],
    [32.0, 2.0, 188.496, 21300.0, 1.4797, 0.5089, 100.531, 0.27925],
    [38.0, 2.5, 278.816, 44140.1, 2.1887, 0.7528, 119.381, 0.33161],
    [40.0, 2.0, 238.761, 43215.7, 1.8743, 0.6447, 125.664, 0.34907],
    [42.4, 2.6, 325.092, 64644.5, 2.5520, 0.8777, 133.204, 0.37001],
    [45.0, 2.5, 333.794, 75625.3, 2.6203, 0.9012, 141.372, 0.39270],
    [48.3, 2.6, 373.284, 97765.4, 2.9303, 1.0079, 151.739, 0.42150],
    [50.0, 2.0, 301.593, 87009.6, 2.3675, 0.8143, 157.080, 0.43633],
    [60.3, 3.0, 540.040, 222245.9, 4.2393, 1.4581, 189.438, 0.52622],
];

const KG_PER_LB: f64 = 0.453_592_37;
const MM_PER_INCH: f64 = 25.4;

fn stock(od: f64, wall: f64, unit: LengthUnit, density: f64) -> Stock {
    Stock {
        od: Length::of(od, unit),
        wall: Some(Length::of(wall, unit)),
        material: None,
        density: Some(density),
        yield_strength: None,
        e_modulus: None,
    }
}

fn near(od: f64, wall: f64, found: f64, wanted: f64, digits: i32) {
    let half = 0.51 * 10_f64.powi(-digits);
    assert!((found - wanted).abs() <= half, "{od} x {wall}: {found} is not {wanted}");
}

#[test]
fn inch_tubes_are_as_printed() {
    let per_cubic_inch = KG_PER_LB / MM_PER_INCH.powi(3) * 1e9;
    for [od, wall, area, second, by_rule, steel, aluminium, girth, degree] in INCH {
        let tube = |density: f64| stock(od, wall, LengthUnit::Inch, density * per_cubic_inch);
        let pounds = |density| tube(density).kg_per_m().expect("all is known") / KG_PER_LB * 0.3048;
        let known = tube(0.2836);
        near(od, wall, known.area_mm2().expect("a wall") / MM_PER_INCH.powi(2), area, 5);
        near(od, wall, known.second_moment_mm4().expect("a wall") / MM_PER_INCH.powi(4), second, 6);
        near(od, wall, pounds(0.2836), steel, 4);
        near(od, wall, pounds(0.098), aluminium, 4);
        near(od, wall, known.girth().to_inch(), girth, 4);
        near(od, wall, known.girth().to_inch() / 360.0, degree, 6);
        // The rule's constant is rounded to four digits.
        assert!((pounds(0.2836) / by_rule - 1.0).abs() < 3e-4, "{od} x {wall}");
    }
}

#[test]
fn millimetre_tubes_are_as_printed() {
    for [od, wall, area, second, steel, aluminium, girth, degree] in MM {
        let tube = |density| stock(od, wall, LengthUnit::Mm, density);
        let known = tube(7850.0);
        near(od, wall, known.area_mm2().expect("a wall"), area, 3);
        near(od, wall, known.second_moment_mm4().expect("a wall"), second, 1);
        near(od, wall, known.kg_per_m().expect("all is known"), steel, 4);
        near(od, wall, tube(2700.0).kg_per_m().expect("all is known"), aluminium, 4);
        near(od, wall, known.girth().to_mm(), girth, 3);
        near(od, wall, known.girth().to_mm() / 360.0, degree, 5);
        let by_rule = 0.0246615 * (od - wall) * wall;
        assert!((known.kg_per_m().expect("all is known") / by_rule - 1.0).abs() < 1e-6, "{od} x {wall}");
        assert!((known.mass_kg(Length::mm(6000.0)).expect("all is known") / (6.0 * by_rule) - 1.0).abs() < 1e-6);
    }
    assert!((stock(1.0, 0.1, LengthUnit::M, 1.0).girth().to_mm() - 1000.0 * PI).abs() < 1e-9);
}
