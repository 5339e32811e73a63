//! Rules on how tight and how round a bend is, each by its own definition, through files and a plan.
//!
//! Sources: FIA Appendix J Art. 253, 8.3.3 (2009 wording, quoted second hand: CLR at least 3 x the tube's diameter, smallest over largest diameter at least
//! 0.9); US DoD guide specification, after ASME B31.1 (largest less smallest diameter at most 8 % of the mean OD before bending); FAA AC 43.13-1B (smallest
//! diameter in the bend at least 75 % of the OD). They stand here as figures to test against; the current texts are for their readers. The test lines
//! and conversions were computed from the definitions. Diameters in mm.

use std::path::Path;
use std::sync::atomic::AtomicBool;

use tubewright::file::{Held, load_job};
use tubewright::forming::Diameters;
use tubewright::plan::{Fitness, Kept, Options, Size, plan};
use tubewright::round::People;
use tubewright::units::Length;

/// A bend of tube of OD 45 on this CLR, whose test bend measured so across, against a rules file.
fn held(clr: f64, across: &str, rules: &str) -> Fitness {
    let bender = format!(
        "kind: bender\nunits: mm\nmotion: die-turns\nhand: anticlockwise\nbend_plane: horizontal\ncentre_height: 860\ndies:\n  d:\n    od: 45\n    \
         clr: {clr}\n    max_angle: 195\n    clamp_length: 70\n    follower_length: 150\n    materials:\n      steel: {{ springback: {{ proportional: 0.02 }}, \
         measured: {{ od: 45, wall: 2.5, diameters: [{across}] }} }}\n"
    );
    let job = "kind: job\nunits: mm\nbender: b.yaml\nrules: r.yaml\ntube: { od: 45, wall: 2.5, material: steel, die: d }\ntubes:\n  one: { legs: [600, 600], bends: [60] }\n";
    let rules = format!("kind: rules\nunits: mm\nname: figures of a table\n{rules}\n");
    let files = Held::default().with("j.yaml", job).with("b.yaml", bender).with("r.yaml", rules);
    let job = load_job(&files, Path::new("j.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people: People::mm() };
    let plan = plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).expect("all tubes are asked for");
    plan.tubes[0].fitness.clone()
}

/// The one limit of a rule set: whether it is kept, and what was found.
fn only(fitness: &Fitness) -> (Kept, f64) {
    let [limit] = &fitness.limits[..] else { panic!("{:?}", fitness.limits) };
    let Some(Size::Ratio(found)) = limit.found else { panic!("{limit:?}") };
    (limit.kept, found)
}

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found} is not {wanted}");
}

#[test]
fn a_clr_of_135_on_45_is_3_times_the_od_and_134_9_is_less() {
    let (kept, found) = only(&held(135.0, "", "clr_over_od: 3"));
    assert_eq!(kept, Kept::Pass);
    near(found, 3.000, 5e-4);
    assert_eq!(only(&held(134.9, "", "clr_over_od: 3")).0, Kept::Fail);
}

#[test]
fn one_bend_passes_by_one_definition_and_fails_by_another() {
    let across = "[46.1, 42.0]";
    let (kept, found) = only(&held(135.0, across, "minor_over_major: 0.9"));
    assert_eq!(kept, Kept::Pass);
    near(found, 0.91106, 5e-6);
    let (kept, found) = only(&held(135.0, across, "major_minus_minor_over_od: 0.08"));
    assert_eq!(kept, Kept::Fail);
    near(100.0 * found, 9.11, 5e-3);
    // 42 of 45: far from three quarters.
    assert_eq!(only(&held(135.0, across, "minor_over_od: 0.75")).0, Kept::Pass);
    assert_eq!(only(&held(135.0, "[50, 33.7]", "minor_over_od: 0.75")).0, Kept::Fail);
    assert_eq!(only(&held(135.0, "[50, 33.75]", "minor_over_od: 0.75")).0, Kept::Pass);
}

#[test]
fn what_is_at_the_limit_passes() {
    let (kept, found) = only(&held(135.0, "[47, 42.3]", "minor_over_major: 0.9"));
    assert_eq!(kept, Kept::Pass);
    near(found, 0.9000, 5e-5);
    assert_eq!(only(&held(135.0, "[47, 42.29]", "minor_over_major: 0.9")).0, Kept::Fail);
}

#[test]
fn of_several_test_bends_each_rule_takes_its_own_worst() {
    // Smallest over largest is worst in the first (0.9), largest less smallest in the second (4.9 of 45).
    let across = "[45, 40.5], [50, 45.1]";
    near(only(&held(135.0, across, "minor_over_major: 0.9")).1, 0.9, 1e-12);
    near(only(&held(135.0, across, "major_minus_minor_over_od: 0.1")).1, 4.9 / 45.0, 1e-12);
}

#[test]
fn definitions_convert_where_the_mean_diameter_stays() {
    // Diameters of this mean and this ratio.
    let of = |mean: f64, ratio: f64| Diameters {
        largest: Length::mm(2.0 * mean / (1.0 + ratio)),
        smallest: Length::mm(2.0 * mean * ratio / (1.0 + ratio)),
    };
    near(100.0 * of(45.0, 0.9).major_minus_minor_over(Length::mm(45.0)), 10.526, 5e-4);
    // 8 % that is symmetric: 4 % up, 4 % down.
    let flattened = Diameters { largest: Length::mm(1.04 * 45.0), smallest: Length::mm(0.96 * 45.0) };
    near(flattened.major_minus_minor_over(Length::mm(45.0)), 0.08, 1e-12);
    near(flattened.minor_over_major(), 0.92308, 5e-6);
    // Three quarters of the OD left, the largest at least the OD: a quarter of it or more.
    let pressed = Diameters { largest: Length::mm(45.0), smallest: Length::mm(0.75 * 45.0) };
    assert!(pressed.major_minus_minor_over(Length::mm(45.0)) >= 0.25 - 1e-12);
    near(pressed.minor_over(Length::mm(45.0)), 0.75, 1e-12);
}
