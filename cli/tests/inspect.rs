//! `inspect`: how it ends, what it says and does not say, and that nothing is written for a bad record.

mod common;

use std::fs;
use std::path::PathBuf;

use common::{top, tubewright};
use serde_json::Value;
use snapbox::str;

/// A record beside the samples' jobs, in a folder of its own.
fn record(text: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder for the test");
    for part in ["jobs", "benders"] {
        fs::create_dir(folder.path().join(part)).expect("a folder in it");
        for entry in fs::read_dir(top().join("samples").join(part)).expect("the samples are there") {
            let path = entry.expect("it can be listed").path();
            fs::copy(&path, folder.path().join(part).join(path.file_name().expect("a file")))
                .expect("it can be copied");
        }
    }
    let path = folder.path().join("part.yaml");
    fs::write(&path, text).expect("the record can be written");
    (folder, path)
}

const HOOP: &str = "kind: measured-part\nunits: in\njob: jobs/hoop.yaml\ntube: hoop\n";

fn json(text: &str, status: i32) -> Value {
    let (_folder, path) = record(text);
    let run = tubewright().arg("inspect").arg(&path).args(["--format", "json"]).assert().code(status).stderr_eq("");
    serde_json::from_slice(&run.get_output().stdout).expect("the document is JSON")
}

fn codes(document: &Value) -> Vec<&str> {
    document["notes"].as_array().expect("notes").iter().map(|note| note["code"].as_str().expect("a code")).collect()
}

#[test]
fn the_status_says_whether_it_is_within_tolerance() {
    let nodes = |knee: &str| {
        format!(
            "{HOOP}accuracy: {{ length: 1/32, angle: 0.2 }}\nnodes: {{ sill-left: [0, -20, 0], knee-left: [2, -18, {knee}], knee-right: [2, 18, 30-1/2], \
             sill-right: [0, 20, 0] }}\n"
        )
    };
    let good = json(&nodes("30.52"), 0);
    assert_eq!(good["within_tolerance"], true);
    assert!(codes(&good).contains(&"change-nothing"), "{good}");
    let schema: Value = serde_json::from_str(tubewright::file::schema("inspection").expect("a kind")).expect("JSON");
    assert!(schema["properties"].as_object().expect("keys").keys().all(|key| good.get(key).is_some()), "{good}");
    let bad = json(&nodes("31"), 1);
    assert_eq!(bad["within_tolerance"], false);
    assert!(!codes(&bad).contains(&"change-nothing"), "{bad}");
}

#[test]
fn what_was_not_measured_is_null_and_said() {
    let told = json(&format!("{HOOP}bends: {{ 1: 84 }}\n"), 0);
    assert_eq!(told["within_tolerance"], Value::Null);
    assert!((told["rows"][0]["bend_deg"].as_f64().expect("it was measured") + 2.256_288).abs() < 1e-6);
    for unknown in [
        &told["rms_mm"],
        &told["rows"][1]["bend_deg"],
        &told["rows"][1]["rotation_deg"],
        &told["rows"][2]["length_mm"],
        &told["next"][0]["mark_mm"],
        &told["next"][1]["dial_target_deg"],
        &told["next_cut_length_mm"],
    ] {
        assert!(unknown.is_null(), "{told}");
    }
    let codes = codes(&told);
    assert!(["not-measured", "not-laid", "accuracy-unknown"].iter().all(|code| codes.contains(code)), "{codes:?}");
}

#[test]
fn readings_go_on_from_those_that_it_was_bent_to() {
    let told = |more: &str| json(&format!("{HOOP}bends: [84, 86.256288]\nrotations: [0]\n{more}"), 0);
    let next = |told: &Value, bend: usize, key: &str| told["next"][bend][key].as_f64().expect("it was measured");
    let plain = told("");
    let given = told("readings: { 1: 88.5 }\n");
    let by = next(&given, 0, "dial_target_deg") - 88.5;
    assert!((by - 2.256_288 * 1.02).abs() < 1e-5, "{by}");
    assert!(next(&plain, 0, "dial_target_deg") > next(&given, 0, "dial_target_deg"));
    let turned = told("tops: { 2: 3 }\n");
    assert!((next(&turned, 1, "top_deg") - 3.0).abs() < 1e-9);
    let lines = given["notes"].as_array().expect("notes").iter().find(|note| note["code"] == "test-bends");
    let lines = lines.expect("new evidence")["text"].as_str().expect("text");
    assert!(lines.contains("\n- { reading: 88.50, angle: 84.00 }\n"), "{lines}");
}

#[test]
fn a_part_without_a_job_gives_rows_and_nodes() {
    let copy =
        "kind: measured-part\nunits: mm\nod: 25\nclr: 100\nlegs: [400, 300, 350]\nbends: [90, 90]\nrotations: [90]\n";
    let told = json(copy, 0);
    assert!(told["tube"].is_null() && told["next"].as_array().is_some_and(Vec::is_empty), "{told}");
    let length = |row: usize| told["rows"][row]["length_mm"].as_f64().expect("it was measured");
    assert!((length(0) - 300.0).abs() < 1e-6 && (length(1) - 100.0).abs() < 1e-6 && (length(2) - 250.0).abs() < 1e-6);
    let end: Vec<f64> =
        told["nodes"][3]["at_mm"].as_array().expect("a place").iter().filter_map(Value::as_f64).collect();
    assert!((end[0] - 400.0).abs() < 1e-6 && (end[1] - 300.0).abs() < 1e-6 && (end[2] - 350.0).abs() < 1e-6, "{end:?}");
    let (_folder, path) = record(copy);
    let text = tubewright().arg("inspect").arg(&path).assert().success().get_output().stdout.clone();
    let text = String::from_utf8(text).expect("text");
    assert!(text.contains("      - { length: 100.0, rotation: 90.00, bend: 90.00 }\n"), "{text}");
}

#[test]
fn a_bad_record_writes_nothing() {
    let (folder, path) = record(&format!("{HOOP}bends: [84]\n"));
    let output = folder.path().join("report.txt");
    tubewright().arg("inspect").arg(&path).arg("--output").arg(&output).assert().code(2).stdout_eq("").stderr_eq(str![
        [r#"
error[count-wrong]: `bends` of the record has 1 figure; the tube has 2 bends
 --> [..]part.yaml:5:8
  |
5 | bends: [84]
  |        ^^^
  |
  = help: give all of them from end A on, or some by number: `bends: { 1: ... }`

"#]
    ]);
    assert!(!output.exists());
    // Neither the record nor the job is ever written over.
    for read in [&path, &folder.path().join("jobs/hoop.yaml")] {
        let before = fs::read_to_string(read).expect("it is there");
        fs::write(&path, format!("{HOOP}bends: [84, 86]\n")).expect("the record can be changed");
        tubewright().arg("inspect").arg(&path).arg("--force").arg("--output").arg(read).assert().code(2).stdout_eq("");
        if *read != path {
            assert_eq!(fs::read_to_string(read).expect("it is there"), before);
        }
    }
}

/// A taped distance that is off by 6 mm is seen against the nodes; the bends stay bends and the hand the right one.
#[test]
fn a_distance_that_is_off_makes_no_mirror_part() {
    let told = json(
        "kind: measured-part\nunits: mm\njob: jobs/rail.yaml\naccuracy: { length: 1, angle: 0.3 }\nnodes: { nose: [0, 150, 330], bumper: [330, 260, 300], \
         footwell: [640, 430, 150], sill: [1130, 450, 130], seat-back: [1470, 390, 430], shelf: [1830, 220, 500], tail: [2200, 200, 480] }\n\
         distances: [{ from: tail, to: nose, length: 2250, measured: outside }, { from: shelf, to: sill, length: 825.5 }]\n",
        0,
    );
    assert_eq!(told["wrong_hand"], false);
    for row in &told["rows"].as_array().expect("rows")[..5] {
        assert!(row["measured"]["bend_deg"]["value"].as_f64().expect("it was measured") > 0.0, "{row}");
        assert!(row["length_mm"].as_f64().expect("it was measured").abs() < 3.0, "{row}");
    }
}

/// A bend of the mirror part that came out short is not pushed on: that makes no right part of it.
#[test]
fn the_mirror_part_is_not_bent_further() {
    let (_folder, path) = record(
        "kind: measured-part\nunits: mm\njob: jobs/rail.yaml\nnodes: { nose: [0, -150, 330], bumper: [330, -250, 305], footwell: [640, -430, 150], \
         sill: [1130, -450, 130], seat-back: [1470, -390, 430], shelf: [1830, -220, 500], tail: [2200, -200, 480] }\n",
    );
    let run = tubewright().arg("inspect").arg(&path).assert().code(0).stderr_eq("");
    let text = String::from_utf8(run.get_output().stdout.clone()).expect("it is text");
    assert!(text.contains("The mirror part: good only where its mirror image is wanted."), "{text}");
    assert!(!text.contains("pushed again"), "{text}");
}
