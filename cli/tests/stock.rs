//! `stock`: what it cuts from what, the four ways to write it, where it goes, and how it ends.

mod common;

use std::path::{Path, PathBuf};

use common::{top, tubewright};
use serde_json::Value;
use snapbox::str;

const BENDER: &str = "
kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
dies:
  d:
    od: 38.1
    clr: 127
    max_angle: 195
    clamp_length: 70
    follower_length: 150
    materials:
      given: { springback: { constant: 1, proportional: 0.02 } }
      measured: { springback: { constant: 1, proportional: 0.02 }, measured: { lot: rack 3, od: 38.1, wall: 2.4 } }
";

fn sample() -> PathBuf {
    top().join("samples/stock/buggy.yaml")
}

/// A job in a folder of its own, with its bender; `stock` and `tubes` as the file says them.
fn job(folder: &Path, stock: &str, tubes: &str) -> PathBuf {
    std::fs::write(folder.join("bender.yaml"), BENDER).expect("the bender can be written");
    let path = folder.join("job.yaml");
    let tube = "tube: { od: 38.1, wall: 2.4, die: d }";
    let text = format!("kind: job\nunits: mm\nbender: bender.yaml\n{tube}\n{stock}\ntubes:\n{tubes}");
    std::fs::write(&path, text).expect("the job can be written");
    path
}

fn json(job: &Path, more: &[&str], status: i32) -> Value {
    let run = tubewright().arg("stock").arg(job).args(["--format", "json"]).args(more).assert().code(status);
    serde_json::from_slice(&run.get_output().stdout).expect("the cut list is JSON")
}

/// What is cut from each bar: its kind, its length, the names of the pieces.
fn bars(list: &Value) -> Vec<(String, f64, Vec<String>)> {
    let bars =
        list["groups"].as_array().expect("groups").iter().flat_map(|group| group["bars"].as_array().expect("bars"));
    bars.map(|bar| {
        let names = bar["pieces"].as_array().expect("pieces").iter();
        let names = names.map(|piece| piece["tube"].as_str().unwrap_or("test bend").to_owned()).collect();
        (bar["kind"].as_str().expect("a kind").to_owned(), bar["length_mm"].as_f64().expect("a length"), names)
    })
    .collect()
}

#[test]
fn four_of_1497_fit_in_6000_and_four_of_1498_do_not() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    for (length, count) in [(1497, 1), (1498, 2)] {
        let tubes: String = (1..=4).map(|name| format!("  t{name}: {{ legs: [{length}] }}\n")).collect();
        let list = json(&job(folder.path(), "stock: { kerf: 3, bars: [6000] }", &tubes), &[], 0);
        let group = &list["groups"][0];
        assert_eq!(group["buy"][0]["count"], count, "{length}");
        assert_eq!(group["best"], true);
        assert_eq!(group["bought_kg"], Value::Null);
    }
}

#[test]
fn a_cut_length_is_that_of_the_plan_and_a_bent_tube_is_cut_like_a_straight_one() {
    let lists = json(&sample(), &["--no-test-bends"], 0);
    let run = tubewright().arg("plan").arg(sample()).args(["--format", "json"]).output().expect("the command starts");
    let plan: Value = serde_json::from_slice(&run.stdout).expect("the plan is JSON");
    let mut compared = 0;
    for group in lists["groups"].as_array().expect("groups") {
        for piece in
            group["bars"].as_array().expect("bars").iter().flat_map(|bar| bar["pieces"].as_array().expect("pieces"))
        {
            let tubes = plan["tubes"].as_array().expect("tubes");
            let tube = tubes.iter().find(|tube| tube["name"] == piece["tube"]).expect("the tube is planned");
            assert_eq!(tube["cut_length_mm"], piece["length_mm"]);
            compared += 1;
        }
    }
    assert_eq!(compared, plan["tubes"].as_array().map_or(0, Vec::len));
    assert_eq!(lists["fingerprint"], plan["tubes"][0]["fingerprint"]);
}

#[test]
fn sizes_are_cut_apart_and_what_says_no_size_is_the_jobs_own() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let tubes = "  thick: { legs: [900] }\n  thin: { tube: { od: 25.4, wall: 2 }, legs: [900] }\n";
    let list = json(&job(folder.path(), "stock: { kerf: 3, bars: [6000], offcuts: [1000] }", tubes), &[], 0);
    let of = |kind: &str, length: f64, name: &str| (kind.to_owned(), length, vec![name.to_owned()]);
    assert_eq!(bars(&list), [of("offcut", 1000.0, "thick"), of("bought", 6000.0, "thin")]);
    assert_eq!(list["notes"][0]["code"], "size-assumed");
    let stock = "stock: { kerf: 3, bars: [6000], offcuts: [{ length: 1000, od: 25.4, wall: 2 }] }";
    let list = json(&job(folder.path(), stock, tubes), &[], 0);
    assert_eq!(bars(&list), [of("bought", 6000.0, "thick"), of("offcut", 1000.0, "thin")]);
    assert_eq!(list["notes"].as_array().map(Vec::len), Some(0));

    // Without a size of the job's own, an offcut could be either.
    let text =
        std::fs::read_to_string(job(folder.path(), "stock: { kerf: 3, offcuts: [1000] }", tubes)).expect("it is there");
    let path = folder.path().join("unsaid.yaml");
    let text = text.replace("tube: { od: 38.1, wall: 2.4, die: d }\n", "");
    std::fs::write(&path, text.replace("thick: {", "thick: { tube: { od: 38.1 },")).expect("it can be written");
    tubewright().arg("stock").arg(&path).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: entry 1 of `offcuts`, 1000.0 mm, could be of several sizes that the job needs: OD 38.1 mm; OD 25.4 mm, wall 2.0 mm
help: say what it is: `{ length: 1850, od: 38.1, wall: 2.4, material: mild-steel }`

"#]]);
}

#[test]
fn test_bends_are_kept_where_nothing_was_measured_and_never_instead_of_a_tube() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let bent =
        |material: &str| format!("  bow: {{ tube: {{ material: {material} }}, legs: [800, 800], bends: [90] }}\n");
    let stock = "stock: { kerf: 3, bars: [6000] }";
    let codes = |list: &Value| -> Vec<String> {
        list["notes"]
            .as_array()
            .expect("notes")
            .iter()
            .map(|note| note["code"].as_str().unwrap_or("").to_owned())
            .collect()
    };
    let list = json(&job(folder.path(), stock, &bent("given")), &[], 0);
    assert_eq!(codes(&list), ["test-bends"]);
    // As `calibrate --suggest` says: marks at 150, arcs of 30, 75 and 120 degrees on 127, 150 for the follower, 76.2 to measure on.
    let pieces: Vec<f64> = list["groups"][0]["bars"][0]["pieces"]
        .as_array()
        .expect("pieces")
        .iter()
        .filter(|piece| piece["tube"].is_null())
        .map(|piece| piece["length_mm"].as_f64().expect("a length"))
        .collect();
    assert_eq!(pieces, [650.0, 550.0, 450.0]);
    let list = json(&job(folder.path(), stock, &bent("given")), &["--no-test-bends"], 0);
    assert_eq!(bars(&list)[0].2, ["bow"]);
    let list = json(&job(folder.path(), stock, &bent("measured")), &[], 0);
    assert_eq!((bars(&list)[0].2.len(), codes(&list)), (1, vec!["lot".to_owned()]));
    // One offcut, just long enough for the tube.
    let list = json(&job(folder.path(), "stock: { kerf: 3, offcuts: [1600] }", &bent("given")), &[], 0);
    assert_eq!((bars(&list)[0].2.join(" "), codes(&list)), ("bow".to_owned(), vec!["test-bends-short".to_owned()]));
}

#[test]
fn what_cannot_be_cut_is_said_with_status_1() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let tubes = "  boom: { legs: [7000] }\n  post: { legs: [900] }\n  mast: { legs: [5000] }\n";
    let path = job(folder.path(), "stock: { end_waste: 10, bars: [{ length: 6000, count: 1 }] }", tubes);
    let list = json(&path, &[], 1);
    assert_eq!(list["feasible"], false);
    assert_eq!(list["groups"][0]["uncut"][0]["tube"], "boom");
    assert_eq!(list["groups"][0]["uncut"][0]["longest_mm"], 5980.0);
    assert_eq!(list["notes"][0]["code"], "kerf-unknown");
    let run = tubewright().arg("stock").arg(&path).assert().code(1).stderr_eq("");
    let text = String::from_utf8(run.get_output().stdout.clone()).expect("text");
    assert!(text.contains("1 of 3 PIECES CANNOT BE CUT"), "{text}");
    assert!(text.contains("NOT CUT   boom, 7000 mm: the longest bar gives 5980 mm."), "{text}");
}

#[test]
fn a_job_without_stock_or_with_a_wrong_tube_is_a_mistake() {
    let run = tubewright().arg("stock").arg(top().join("samples/jobs/hoop.yaml")).assert().code(2).stdout_eq("");
    run.stderr_eq(str![[r#"
error: the job has no `stock`: nothing says what its tubes are cut from
help: add it to the job: `stock: { kerf: 3, bars: [6000], offcuts: [1850] }`; a number of bars that lie there is `{ length: 6000, count: 2 }`

"#]]);
    let run = tubewright().arg("stock").arg(sample()).args(["--tube", "nobody"]).assert().code(2).stdout_eq("");
    run.stderr_eq(str!["error: there is no tube `nobody` in this job: it has [..]\n"]);
}

#[test]
fn the_name_of_the_file_says_the_format_and_nothing_is_replaced_unasked() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    for (extension, begins) in [("pdf", "%PDF-"), ("html", "<!DOCTYPE html>"), ("txt", "===="), ("json", "{\n")] {
        let path = folder.path().join(format!("cut.{extension}"));
        let run = || {
            let mut run = tubewright();
            run = run.arg("stock").arg(sample()).arg("--output").arg(&path);
            run
        };
        run().assert().success().stdout_eq("").stderr_eq("");
        let first = std::fs::read(&path).expect("the list is there");
        assert!(first.starts_with(begins.as_bytes()), "{extension}");
        run().assert().code(2).stdout_eq("");
        assert_eq!(std::fs::read(&path).expect("it is still there"), first);
        run().arg("--force").assert().success();
        assert_eq!(std::fs::read(&path).expect("it is there again"), first, "the same job, the same bytes");
    }
    let strange = folder.path().join("cut.png");
    tubewright().arg("stock").arg(sample()).arg("--output").arg(&strange).assert().code(2).stdout_eq("");
    assert!(!strange.exists());
}

#[test]
fn the_document_is_as_its_schema_says() {
    let schema: Value = serde_json::from_str(tubewright::stock::document::JSON_SCHEMA).expect("a schema is JSON");
    let keys = |of: &Value| -> Vec<String> { of.as_object().expect("an object").keys().cloned().collect() };
    let list = json(&sample(), &[], 0);
    assert_eq!(keys(&list), keys(&schema["properties"]));
    let group = &list["groups"][0];
    assert_eq!(keys(group), keys(&schema["$defs"]["group"]["properties"]));
    assert_eq!(keys(&group["bars"][0]), keys(&schema["$defs"]["bar"]["properties"]));
    assert_eq!(keys(&group["bars"][0]["pieces"][0]), keys(&schema["$defs"]["piece"]["properties"]));
}
