use std::path::Path;

use super::document::{Document, JSON_SCHEMA};
use super::*;
use crate::file::{Held, load_job};

const BENDER: &str =
    "{ kind: bender, units: mm, motion: die-turns, hand: clockwise, bend_plane: horizontal, centre_height: 800,
  dies: { d: { od: 38.1, clr: 127, max_angle: 195, clamp_length: 70, follower_length: 150 } } }";

fn list(stock: &str, tubes: &str) -> CutList {
    let job = format!(
        "{{ kind: job, units: mm, bender: b.yaml, tube: {{ od: 38.1, wall: 2.4, die: d, density: 7850 }}, stock: {stock}, tubes: {tubes} }}"
    );
    let files = Held::default().with("b.yaml", BENDER).with("job.yaml", job);
    let job = load_job(&files, Path::new("job.yaml")).expect("a sound job");
    cut_list(&job, &Asked { tubes: Vec::new(), test_bends: true, people: People::mm() }).expect("a sound stock")
}

fn near(wanted: f64, got: Length) {
    assert!((wanted - got.to_mm()).abs() < 1e-9, "{wanted} {got:?}");
}

#[test]
fn marks_run_from_the_end_with_a_kerf_between_and_rough_ends_left_out() {
    let list = list("{ kerf: 3, end_waste: 10, bars: [6000] }", "{ a: { legs: [1000.4] }, b: { legs: [2000.4] } }");
    let bar = &list.groups[0].bars[0];
    let [long, short] = &bar.pieces[..] else { panic!("two pieces") };
    near(10.0, long.from);
    near(2010.4, long.to);
    near(2013.4, short.from);
    near(3013.8, short.to);
    near(6000.0 - 3013.8 - 3.0, bar.left);
    // A metre of 38.1 x 2.4: pi (38.1 - 2.4) 2.4 mm2 x 7850 kg/m3.
    let kg_per_m = core::f64::consts::PI * 35.7 * 2.4e-6 * 7850.0;
    assert!((list.groups[0].tubes_kg().unwrap() - kg_per_m * 3.0008).abs() < 1e-9);
    assert!((list.groups[0].bought_kg().unwrap() - kg_per_m * 6.0).abs() < 1e-9);
}

/// Three thirds of a foot fill a foot, though none of them is a whole number of nanometres; and a rest under a kerf is none.
#[test]
fn what_arithmetic_leaves_refuses_nothing() {
    let whole = list("{ kerf: 0, offcuts: [1'] }", "{ a: { legs: [4 in] }, b: { legs: [4 in] }, c: { legs: [4 in] } }");
    assert!(whole.feasible());
    near(0.0, whole.groups[0].bars[0].left);
    let thirds = "{ legs: [101.600333] }";
    let third = list("{ kerf: 0, offcuts: [304.8] }", &format!("{{ a: {thirds}, b: {thirds}, c: {thirds} }}"));
    assert!(third.feasible(), "a thousandth of a millimetre in all");
    let over = "{ legs: [101.6004] }";
    let over = list("{ kerf: 0, offcuts: [304.8] }", &format!("{{ a: {over}, b: {over}, c: {over} }}"));
    assert!(!over.feasible());
}

#[test]
fn the_document_is_valid_by_its_schema() {
    let schema = serde_json::from_str(JSON_SCHEMA).unwrap();
    let schema = jsonschema::validator_for(&schema).unwrap();
    for (stock, tubes) in [
        ("{ kerf: 3, bars: [6000], offcuts: [900] }", "{ a: { legs: [800] }, bow: { legs: [800, 800], bends: [90] } }"),
        ("{ bars: [{ length: 900, count: 1 }] }", "{ a: { legs: [800] }, b: { legs: [800] }, c: { legs: [9000] } }"),
        ("{}", "{ a: { tube: { material: m, od: 20 }, legs: [800] } }"),
    ] {
        let document: serde_json::Value = serde_json::from_str(&Document::new(&list(stock, tubes)).to_json()).unwrap();
        let errors: Vec<String> = schema.iter_errors(&document).map(|error| error.to_string()).collect();
        assert!(errors.is_empty(), "{errors:?} {document}");
    }
}
