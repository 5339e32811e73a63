//! Paths whose rows are known in closed form: edges of the cube, the tetrahedron and the octahedron, steps of a helix, and flat ones.
//!
//! Source: closed forms with an independent rebuilding of the corners from the rows (agreement 1e-12, hand checked), to six decimals.
//! Millimetres and degrees, the hoop in inches (read here as millimetres). Tolerance: the last printed digit, for some of the printed
//! figures were made from others.

use core::f64::consts::SQRT_2;

use nalgebra::{Point3, Rotation3, Vector3, point, vector};
use tubewright::centreline::{Axis, BendId, Centreline, Plane};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::units::Length;

struct Known {
    name: &'static str,
    path: Vec<Point3<f64>>,
    radius: f64,
    legs: Vec<f64>,
    angles: Vec<f64>,
    /// Between one bend and the next.
    rotations: Vec<f64>,
    setbacks: Vec<f64>,
    straights: Vec<f64>,
    arcs: Vec<f64>,
    marks: Vec<f64>,
    cut: f64,
}

fn points<const N: usize>(all: [[f64; 3]; N]) -> Vec<Point3<f64>> {
    all.into_iter().map(Point3::from).collect()
}

fn scaled<const N: usize>(all: [[f64; 3]; N], by: f64) -> Vec<Point3<f64>> {
    points(all).into_iter().map(|point| point * by).collect()
}

/// Corners of a helix, from its closed form.
fn helix(radius: f64, rise: f64, step: f64) -> Vec<Point3<f64>> {
    let corner = |k: i32| {
        let (sin, cos) = libm::sincos((step * f64::from(k)).to_radians());
        point![radius * cos, radius * sin, rise * f64::from(k)]
    };
    (0..=5).map(corner).collect()
}

fn skew_rail() -> Vec<Point3<f64>> {
    points([
        [0.0, 0.0, 0.0],
        [0.0, 0.0, 700.0],
        [250.0, 0.0, 1100.0],
        [1250.0, 100.0, 1150.0],
        [1600.0, 150.0, 600.0],
        [1650.0, 150.0, 0.0],
    ])
}

fn known() -> Vec<Known> {
    let cube_hook = |name, z: f64| Known {
        name,
        path: points([[0.0; 3], [1000.0, 0.0, 0.0], [1000.0, 1000.0, 0.0], [1000.0, 1000.0, z]]),
        radius: 100.0,
        legs: vec![1000.0; 3],
        angles: vec![90.0; 2],
        rotations: vec![if z > 0.0 { 90.0 } else { -90.0 }],
        setbacks: vec![100.0; 2],
        straights: vec![900.0, 800.0, 900.0],
        arcs: vec![157.079633; 2],
        marks: vec![900.0, 1857.079633],
        cut: 2914.159265,
    };
    vec![
        cube_hook("three edges of a cube, up", 1000.0),
        cube_hook("three edges of a cube, down", -1000.0),
        Known {
            name: "round trip of a cube's corners",
            path: scaled(
                [
                    [0.0, 0.0, 0.0],
                    [1.0, 0.0, 0.0],
                    [1.0, 1.0, 0.0],
                    [0.0, 1.0, 0.0],
                    [0.0, 1.0, 1.0],
                    [0.0, 0.0, 1.0],
                    [1.0, 0.0, 1.0],
                    [1.0, 1.0, 1.0],
                ],
                1000.0,
            ),
            radius: 100.0,
            legs: vec![1000.0; 7],
            angles: vec![90.0; 6],
            rotations: vec![0.0, 90.0, -90.0, 90.0, 0.0],
            setbacks: vec![100.0; 6],
            straights: vec![900.0, 800.0, 800.0, 800.0, 800.0, 800.0, 900.0],
            arcs: vec![157.079633; 6],
            marks: vec![900.0, 1857.079633, 2814.159265, 3771.238898, 4728.318531, 5685.398163],
            cut: 6742.477796,
        },
        Known {
            name: "three edges of a regular tetrahedron",
            path: scaled([[1.0, 1.0, 1.0], [1.0, -1.0, -1.0], [-1.0, 1.0, -1.0], [-1.0, -1.0, 1.0]], 500.0),
            radius: 100.0,
            legs: vec![1000.0 * SQRT_2; 3],
            angles: vec![120.0; 2],
            rotations: vec![-70.528779],
            setbacks: vec![173.205081; 2],
            straights: vec![1241.008482, 1067.803401, 1241.008482],
            arcs: vec![209.439510; 2],
            marks: vec![1241.008482, 2518.251393],
            cut: 3968.699385,
        },
        Known {
            name: "four edges of a regular octahedron",
            path: scaled(
                [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [-1.0, 0.0, 0.0], [0.0, -1.0, 0.0]],
                1000.0,
            ),
            radius: 100.0,
            legs: vec![1000.0 * SQRT_2; 4],
            angles: vec![120.0; 3],
            rotations: vec![-109.471221, 109.471221],
            setbacks: vec![173.205081; 3],
            straights: vec![1241.008482, 1067.803401, 1067.803401, 1241.008482],
            arcs: vec![209.439510; 3],
            marks: vec![1241.008482, 2518.251393, 3795.494304],
            cut: 5245.942296,
        },
        Known {
            name: "helix of square steps, rise as large as its radius",
            path: helix(300.0, 300.0, 90.0),
            radius: 60.0,
            legs: vec![519.615242; 5],
            angles: vec![70.528779; 4],
            rotations: vec![60.0; 3],
            setbacks: vec![42.426407; 4],
            straights: vec![477.188835, 434.762429, 434.762429, 434.762429, 477.188835],
            arcs: vec![73.857565; 4],
            marks: vec![477.188835, 985.808829, 1494.428823, 2003.048816],
            cut: 2554.095217,
        },
        Known {
            name: "helix of steps of 60 degrees",
            path: helix(400.0, 150.0, 60.0),
            radius: 100.0,
            legs: vec![427.200187; 5],
            angles: vec![55.830444; 4],
            rotations: vec![22.919542; 3],
            setbacks: vec![52.981294; 4],
            straights: vec![374.218893, 321.237599, 321.237599, 321.237599, 374.218893],
            arcs: vec![97.442506; 4],
            marks: vec![374.218893, 792.898998, 1211.579103, 1630.259209],
            cut: 2101.920608,
        },
        Known {
            name: "flat Z",
            path: points([[0.0; 3], [500.0, 0.0, 0.0], [500.0, 400.0, 0.0], [900.0, 400.0, 0.0]]),
            radius: 80.0,
            legs: vec![500.0, 400.0, 400.0],
            angles: vec![90.0; 2],
            rotations: vec![180.0],
            setbacks: vec![80.0; 2],
            straights: vec![420.0, 240.0, 320.0],
            arcs: vec![125.663706; 2],
            marks: vec![420.0, 785.663706],
            cut: 1231.327412,
        },
        Known {
            name: "flat U",
            path: points([[0.0; 3], [500.0, 0.0, 0.0], [500.0, 400.0, 0.0], [0.0, 400.0, 0.0]]),
            radius: 80.0,
            legs: vec![500.0, 400.0, 500.0],
            angles: vec![90.0; 2],
            rotations: vec![0.0],
            setbacks: vec![80.0; 2],
            straights: vec![420.0, 240.0, 420.0],
            arcs: vec![125.663706; 2],
            marks: vec![420.0, 785.663706],
            cut: 1331.327412,
        },
        Known {
            name: "rolling offset",
            path: points([[0.0; 3], [500.0, 0.0, 0.0], [1000.0, 300.0, 400.0], [1500.0, 300.0, 400.0]]),
            radius: 100.0,
            legs: vec![500.0, 500.0 * SQRT_2, 500.0],
            angles: vec![45.0; 2],
            rotations: vec![180.0],
            setbacks: vec![41.421356; 2],
            straights: vec![458.578644, 624.264069, 458.578644],
            arcs: vec![78.539816; 2],
            marks: vec![458.578644, 1161.382529],
            cut: 1698.500989,
        },
        Known {
            name: "three square bends in two planes",
            path: points([
                [0.0; 3],
                [300.0, 0.0, 0.0],
                [300.0, 400.0, 0.0],
                [600.0, 400.0, 400.0],
                [600.0, 900.0, 400.0],
            ]),
            radius: 75.0,
            legs: vec![300.0, 400.0, 500.0, 500.0],
            angles: vec![90.0; 3],
            rotations: vec![126.869898, 180.0],
            setbacks: vec![75.0; 3],
            straights: vec![225.0, 250.0, 350.0, 425.0],
            arcs: vec![117.809725; 3],
            marks: vec![225.0, 592.809725, 1060.619449],
            cut: 1603.429174,
        },
        Known {
            name: "hoop",
            path: points([
                [-26.0, 0.0, 0.0],
                [-24.0, 20.0, 0.0],
                [-18.0, 40.0, 0.0],
                [18.0, 40.0, 0.0],
                [24.0, 20.0, 0.0],
                [26.0, 0.0, 0.0],
            ]),
            radius: 6.0,
            legs: vec![20.099751, 20.880613, 36.0, 20.880613, 20.099751],
            angles: vec![10.988651, 73.300756, 73.300756, 10.988651],
            rotations: vec![0.0; 3],
            setbacks: vec![0.577135, 4.464184, 4.464184, 0.577135],
            straights: vec![19.522617, 15.839295, 27.071632, 15.839295, 19.522617],
            arcs: vec![1.150729, 7.676037, 7.676037, 1.150729],
            marks: vec![19.522617, 36.512640, 71.260309, 94.775641],
            cut: 115.448987,
        },
        Known {
            name: "skew rail",
            path: skew_rail(),
            radius: 152.4,
            legs: vec![700.0, 471.699057, 1006.230590, 653.834842, 602.079729],
            angles: vec![32.005383, 55.329611, 60.146138, 28.025340],
            rotations: vec![6.940400, -2.168248, -4.218816],
            setbacks: vec![43.707745, 79.892411, 88.247512, 38.033386],
            straights: vec![656.292255, 348.098901, 838.090667, 527.553943, 564.046343],
            arcs: vec![85.130536, 147.170224, 159.981617, 74.544092],
            marks: vec![656.292255, 1089.521692, 2074.782583, 2762.318143],
            cut: 3400.908579,
        },
        Known {
            name: "skew rail from its other end",
            path: skew_rail().into_iter().rev().collect(),
            radius: 152.4,
            legs: vec![602.079729, 653.834842, 1006.230590, 471.699057, 700.0],
            angles: vec![28.025340, 60.146138, 55.329611, 32.005383],
            rotations: vec![-4.218816, -2.168248, 6.940400],
            setbacks: vec![38.033386, 88.247512, 79.892411, 43.707745],
            straights: vec![564.046343, 527.553943, 838.090667, 348.098901, 656.292255],
            arcs: vec![74.544092, 159.981617, 147.170224, 85.130536],
            marks: vec![564.046343, 1166.144379, 2164.216663, 2659.485788],
            cut: 3400.908579,
        },
    ]
}

fn built(known: &Known) -> (Centreline, Blank) {
    let radius = Length::mm(known.radius);
    let tube = Centreline::from_nodes(&known.path, &|_| radius).expect("a tube that can be");
    let blank = blank_of(&tube, radius);
    (tube, blank)
}

fn blank_of(tube: &Centreline, radius: Length) -> Blank {
    Blank::new(tube, Length::mm(10.0), Length::ZERO, Length::ZERO, &|_| Law::new(0, radius, Length::ZERO, None))
}

fn same(name: &str, what: &str, found: impl IntoIterator<Item = f64>, wanted: &[f64]) {
    let found: Vec<f64> = found.into_iter().collect();
    assert_eq!(found.len(), wanted.len(), "{name}: {what}");
    for (found, wanted) in found.into_iter().zip(wanted) {
        assert!((found - wanted).abs() <= 1.01e-6, "{name}: {what}: {found} is not {wanted}");
    }
}

fn rotations(tube: &Centreline) -> Vec<f64> {
    tube.rows.bends.iter().skip(1).map(|row| row.rotation.to_deg()).collect()
}

#[test]
fn every_known_path_gives_its_rows_marks_and_cut_length() {
    for known in known() {
        let (tube, blank) = built(&known);
        let name = known.name;
        let bends = || (0..known.angles.len()).map(BendId);
        same(name, "legs", tube.legs().into_iter().map(|leg| leg.expect("corners").to_mm()), &known.legs);
        same(name, "bend angles", tube.rows.bends.iter().map(|row| row.angle.to_deg()), &known.angles);
        same(name, "rotations", rotations(&tube), &known.rotations);
        same(name, "setbacks", bends().map(|bend| tube.setback(bend).expect("a corner").to_mm()), &known.setbacks);
        same(name, "straights", tube.straights().map(Length::to_mm), &known.straights);
        same(name, "arcs", tube.arcs().map(Length::to_mm), &known.arcs);
        same(name, "marks", bends().map(|bend| blank.mark(bend, LeadEnd::A).to_mm()), &known.marks);
        same(name, "cut length", [blank.cut_length.to_mm()], &[known.cut]);
        let gain: f64 = known.legs.iter().sum::<f64>() - known.cut;
        assert!((tube.gain().expect("corners").to_mm() - gain).abs() < 1e-5, "{name}: gain");
    }
}

#[test]
fn rows_of_every_known_path_lead_back_to_its_corners() {
    for known in known() {
        let (tube, _) = built(&known);
        let back = Centreline::from_rows(&tube.rows, &|_| Length::mm(known.radius)).expect("the same tube");
        // The rebuilt tube lies at home: carry it to where the path lies, by the frame at end A.
        let frame = |tube: &Centreline| {
            let (direction, normal) = (tube.direction.into_inner(), tube.normal.into_inner());
            nalgebra::Matrix3::from_columns(&[direction, normal.cross(&direction), normal])
        };
        let turn = frame(&tube) * frame(&back).transpose();
        for (node, wanted) in back.nodes.iter().zip(&known.path) {
            let node = tube.start + turn * (node.expect("a corner") - back.start);
            assert!((node - wanted).norm() < 1e-9 * known.cut, "{}: {node} is not {wanted}", known.name);
        }
    }
}

#[test]
fn marks_from_the_other_end_are_the_cut_length_less_the_arcs_end() {
    for known in known() {
        let (tube, blank) = built(&known);
        let back = blank_of(&tube.reversed(), Length::mm(known.radius));
        let count = known.angles.len();
        for bend in 0..count {
            let wanted = known.cut - known.marks[bend] - known.arcs[bend];
            let found = back.mark(BendId(count - 1 - bend), LeadEnd::A).to_mm();
            assert!((found - wanted).abs() < 3e-6, "{}: {found} is not {wanted}", known.name);
            assert!((blank.mark(BendId(bend), LeadEnd::B).to_mm() - (known.cut - wanted)).abs() < 3e-6);
        }
    }
}

#[test]
fn running_a_path_backwards_reverses_its_rotations_and_keeps_their_signs() {
    for known in known() {
        let backwards: Vec<Point3<f64>> = known.path.iter().rev().copied().collect();
        let tube = Centreline::from_nodes(&backwards, &|_| Length::mm(known.radius)).expect("the same tube");
        let wanted: Vec<f64> = known.rotations.iter().rev().copied().collect();
        same(known.name, "rotations from the other end", rotations(&tube), &wanted);
        let (forwards, _) = built(&known);
        same(known.name, "rotations of the reversed tube", rotations(&forwards.reversed()), &wanted);
    }
}

#[test]
fn mirroring_a_path_changes_the_signs_of_its_rotations_only() {
    let plane = Plane::square_to(Axis::X, Length::mm(17.0));
    for known in known() {
        let image: Vec<Point3<f64>> = known.path.iter().map(|point| plane.mirror(point)).collect();
        let tube = Centreline::from_nodes(&image, &|_| Length::mm(known.radius)).expect("the mirrored tube");
        let turned = |rotation: &f64| if *rotation > 179.9 { 180.0 } else { -rotation };
        let wanted: Vec<f64> = known.rotations.iter().map(turned).collect();
        same(known.name, "rotations", rotations(&tube), &wanted);
        same(known.name, "bend angles", tube.rows.bends.iter().map(|row| row.angle.to_deg()), &known.angles);
        same(known.name, "straights", tube.straights().map(Length::to_mm), &known.straights);
    }
}

#[test]
fn moving_a_path_changes_no_row() {
    let turn =
        Rotation3::from_axis_angle(&Vector3::y_axis(), 1.1) * Rotation3::from_axis_angle(&Vector3::x_axis(), 0.4);
    for known in known() {
        let path: Vec<Point3<f64>> =
            known.path.iter().map(|point| turn * point + vector![300.0, -200.0, 1000.0]).collect();
        let tube = Centreline::from_nodes(&path, &|_| Length::mm(known.radius)).expect("the same tube");
        same(known.name, "rotations", rotations(&tube), &known.rotations);
        same(known.name, "straights", tube.straights().map(Length::to_mm), &known.straights);
    }
}

#[test]
fn legs_too_short_for_the_radius_are_refused_and_not_clipped() {
    // The helix of square steps on a radius of 400: 519.615 less twice 282.843.
    let mistakes = Centreline::from_nodes(&helix(300.0, 300.0, 90.0), &|_| Length::mm(400.0)).expect_err("no room");
    assert_eq!(mistakes.len(), 3);
    for mistake in mistakes {
        assert_eq!(mistake.code(), "leg-too-short");
        let words = mistake.to_string();
        assert!(words.contains("519.6 mm") && words.contains("282.8 mm") && words.contains("46.1 mm"), "{words}");
    }
}

#[test]
fn end_b_moves_as_far_as_one_degree_moves_it() {
    // Three edges of a cube: 17.453 mm for a rotation, 15.804 mm for the first bend with its straights held, 5.000 mm for a straight.
    let (tube, _) = built(&known().remove(0));
    let end = |change: &dyn Fn(&mut tubewright::centreline::Rows)| {
        let mut rows = tube.rows.clone();
        change(&mut rows);
        Centreline::from_rows(&rows, &|_| Length::mm(100.0)).expect("nearly the same tube").end().0
    };
    let at = end(&|_| {});
    let degree = tubewright::units::Angle::deg(1.0);
    for (moved, wanted) in [
        (end(&|rows| rows.bends[1].rotation += degree), 17.453),
        (end(&|rows| rows.bends[0].angle += degree), 15.804),
        (end(&|rows| rows.bends[1].length += Length::mm(5.0)), 5.000),
    ] {
        let by = (moved - at).norm();
        assert!((by - wanted).abs() < 2e-3, "{by} is not {wanted}");
    }
}
