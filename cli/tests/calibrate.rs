//! `calibrate`: the record that is filled in, the bender's file that is written, the picture, and how it ends.

mod common;

use std::fs;
use std::path::{Path, PathBuf};

use common::{top, tubewright};
use serde_json::Value;
use snapbox::str;

const ANGLES: &str = "  - { reading: 32.0, angle: 29.9 }\n  - { reading: 93.5, angle: 90.0 }\n";

/// A folder with the bender of the samples and a record of these bends.
fn shop(bends: &str) -> (tempfile::TempDir, PathBuf, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder for the test");
    fs::create_dir(folder.path().join("benders")).expect("a folder in it");
    fs::create_dir(folder.path().join("records")).expect("a folder in it");
    let bender = folder.path().join("benders/bender.yaml");
    let record = folder.path().join("records/rack 4.yaml");
    fs::copy(top().join("samples/benders/floor-bender.yaml"), &bender).expect("the sample is there");
    let head = "kind: test-bends\nunits: mm\nbender: ../benders/bender.yaml\ndie: five-inch\nmaterial: mild-steel\n\
                tube: { od: 38.1, wall: 2.41 }\nlot: rack 4\ndate: 2026-11-20\naccuracy: { length: 0.5, angle: 0.2 }\nbends:\n";
    fs::write(&record, format!("{head}{bends}")).expect("the record can be written");
    (folder, bender, record)
}

fn text(path: &Path) -> String {
    fs::read_to_string(path).expect("it is there")
}

fn json(run: snapbox::cmd::Command) -> Value {
    let done = run.assert().success().stderr_eq("");
    serde_json::from_slice(&done.get_output().stdout).expect("the document is JSON")
}

#[test]
fn what_is_written_is_planned_with_and_named_with_its_day_and_its_lot() {
    let (folder, bender, record) = shop(ANGLES);
    let before = text(&bender);
    let run = tubewright().arg("calibrate").arg(&record).args(["--write", "--quiet"]).assert().success();
    run.stderr_eq("");
    let after = text(&bender);
    assert!(after.contains("springback: { constant: 1.4035, proportional: 0.023295 }"), "{after}");
    let of_record = "measured: { date: 2026-11-20, lot: rack 4, od: 38.1, wall: 2.41, record: ../records/rack 4.yaml, \
                     angles: [29.9, 90], sd: { constant: 0.";
    assert!(after.contains(of_record), "{after}");
    // All other lines stand as they stood.
    let kept = before.lines().filter(|line| after.lines().any(|now| now == *line)).count();
    assert_eq!(kept + 2, before.lines().count());
    let job = "kind: job\nunits: mm\nbender: benders/bender.yaml\ntube: { od: 38.1, wall: 2.4, material: mild-steel, die: five-inch }\n\
               tubes:\n  a: { legs: [600, 700, 600], bends: [90, 130] }\n";
    let job_path = folder.path().join("job.yaml");
    fs::write(&job_path, job).expect("the job can be written");
    let mut plan = tubewright();
    plan = plan.arg("plan").arg(&job_path).args(["--format", "json"]);
    let plan = json(plan);
    let steps = plan["tubes"][0]["steps"].as_array().expect("steps");
    assert_eq!(steps[0]["springback"]["from"], "measured");
    assert_eq!(
        (steps[0]["springback"]["date"].as_str(), steps[0]["springback"]["lot"].as_str()),
        (Some("2026-11-20"), Some("rack 4"))
    );
    let square = steps.iter().find(|step| step["bend"] == 1).expect("a step of bend 1");
    assert!((square["die_angle_deg"].as_f64().unwrap() - (90.0 * 1.023295 + 1.4035)).abs() < 1e-9, "{square}");
    let codes = |plan: &Value| -> Vec<String> {
        let notes = plan["tubes"][0]["notes"].as_array().expect("notes");
        notes.iter().map(|note| note["code"].as_str().expect("a code").to_owned()).collect()
    };
    // 130 degrees lie more than 20 beyond the 90 that were measured.
    assert!(codes(&plan).contains(&"extrapolated".to_owned()), "{plan}");
    // Written again it says nothing new, and what it says is said.
    let again = tubewright().arg("calibrate").arg(&record).arg("--write").assert().success();
    again.stderr_eq(str![[r#"
note: [..]bender.yaml says all of it already

"#]]);
    assert_eq!(text(&bender), after);
}

#[test]
fn each_change_of_the_benders_file_is_told() {
    let (_folder, _, record) = shop(ANGLES);
    let run = tubewright().arg("calibrate").arg(&record).arg("--write").assert().success();
    let told = String::from_utf8(run.get_output().stderr.clone()).expect("messages are text");
    assert!(
        told.contains("dies / five-inch / materials / mild-steel / springback / constant: 1.1 -> 1.4035"),
        "{told}"
    );
    assert!(told.lines().all(|line| line.starts_with("note: ")), "{told}");
}

#[test]
fn bends_at_one_angle_are_reported_and_not_written() {
    let (_folder, bender, record) = shop("  - { reading: 93.5, angle: 90.0 }\n  - { reading: 94, angle: 90.7 }\n");
    let before = text(&bender);
    let mut report = tubewright();
    report = report.arg("calibrate").arg(&record).args(["--format", "json"]);
    let report = json(report);
    assert_eq!((&report["constant_deg"], &report["notes"][0]["code"]), (&Value::Null, &Value::from("one-angle")));
    let run = tubewright().arg("calibrate").arg(&record).arg("--write").assert().code(2).stdout_eq("");
    run.stderr_eq(str![[r#"
error: [..]bender.yaml was left as it is: a law that is kept takes test bends at two angles at least 30 degrees apart
help: the bends with a reading go from 90 to 90.7 degrees: bend another

"#]]);
    assert_eq!(text(&bender), before);
}

#[test]
fn a_record_with_a_mistake_ends_with_status_2_and_nothing_is_written() {
    for bends in [
        "  - { reading: 123.5, angle: 60 }\n",
        "  - { reading: 93.5 }\n",
        "  - { reading: 93.5, angle: 90, mark: 4 }\n",
        "",
    ] {
        let (folder, bender, record) = shop(bends);
        let before = text(&bender);
        let plot = folder.path().join("fit.svg");
        let output = folder.path().join("out.json");
        let run = tubewright().arg("calibrate").arg(&record).arg("--write").arg("--plot").arg(&plot);
        run.args(["--format", "json", "--output"]).arg(&output).assert().code(2).stdout_eq("");
        assert!(!plot.exists() && !output.exists());
        assert_eq!(text(&bender), before);
    }
}

#[test]
fn the_report_goes_into_a_file_and_never_over_what_was_read() {
    let (folder, bender, record) = shop(ANGLES);
    let output = folder.path().join("report.txt");
    let run = |path: &Path, more: &[&str]| {
        tubewright().arg("calibrate").arg(&record).arg("--output").arg(path).args(more).assert()
    };
    run(&output, &[]).success().stdout_eq("");
    assert!(text(&output).contains("what the test bends say"));
    run(&output, &[]).code(2);
    run(&output, &["--force", "--units", "in"]).success();
    assert!(text(&output).contains("OD 1.500 in"));
    for read in [&record, &bender] {
        let before = text(read);
        run(read, &["--force"]).code(2).stdout_eq("");
        assert_eq!(text(read), before);
    }
}

#[test]
fn the_fit_is_drawn_as_a_picture() {
    let (folder, _, record) = shop(ANGLES);
    let plot = folder.path().join("fit.svg");
    let draw = |path: &Path| tubewright().arg("calibrate").arg(&record).arg("--plot").arg(path).assert();
    draw(&plot).success();
    assert!(text(&plot).starts_with("<svg") && text(&plot).contains("bend angle, degrees"));
    draw(&plot).code(2);
    draw(&folder.path().join("fit.png")).code(2).stdout_eq("").stderr_eq(str![[r#"
error: the name [..]fit.png does not say how to draw it
help: a picture of the fit is an SVG file: let it end in .svg

"#]]);
}

/// What is missing is said at its place; once it is filled in, the record tells all figures.
#[test]
fn a_record_to_be_filled_in_is_suggested() {
    for (units, legs) in [
        ("mm", ["185.5, 266.5", "248, 329.5", "362.5, 445"]),
        ("in", ["7-3/8, 10-11/16", "9-7/8, 12-3/4", "14-3/8, 17-5/16"]),
    ] {
        let (folder, bender, _) = shop(ANGLES);
        let path = folder.path().join("test.yaml");
        let suggest = tubewright().args(["calibrate", "--die", "five-inch", "--material", "mild-steel", "--suggest"]);
        suggest
            .arg(&bender)
            .args(["--units", units, "--output"])
            .arg(&path)
            .assert()
            .success()
            .stdout_eq("")
            .stderr_eq("");
        let record = text(&path);
        assert!(record.contains("bender: benders/bender.yaml\ndie: five-inch\nmaterial: mild-steel\n"), "{record}");
        let run = tubewright().arg("calibrate").arg(&path).assert().code(2).stdout_eq("");
        let told = String::from_utf8(run.get_output().stderr.clone()).expect("messages are text");
        assert!(told.contains("error[value-missing]: `angle` of bend 1 has no value"), "{told}");
        let accuracy = if units == "mm" { "1" } else { "1/32" };
        let mut filled = record
            .replace("  wall:  ", "  wall: 0.1 in")
            .replace("lot:  ", "lot: 1")
            .replace("date:\n", "date: today\n")
            .replace("  length:\n", &format!("  length: {accuracy}\n"))
            .replace("  angle:             # degrees", "  angle: 0.3");
        for (angle, legs) in ["28.1", "72.3", "116.4"].into_iter().zip(legs) {
            filled = filled.replacen("    angle:\n", &format!("    angle: {angle}\n"), 1);
            filled = filled.replacen("    legs:  ", &format!("    legs: [{legs}]"), 1);
        }
        fs::write(&path, &filled).expect("it can be filled in");
        let mut report = tubewright();
        report = report.arg("calibrate").arg(&path).args(["--format", "json"]);
        let report = json(report);
        for key in ["constant_deg", "proportional", "clr_mm", "stretch", "mark_offset_mm"] {
            assert!(report[key]["sd"].is_number(), "{key}: {report}\n{filled}");
        }
    }
}

#[test]
fn a_suggestion_needs_a_die_that_is_there() {
    let (_folder, bender, _) = shop(ANGLES);
    let suggest = |die: &str| {
        tubewright().args(["calibrate", "--material", "alloy", "--die", die, "--suggest"]).arg(&bender).assert()
    };
    suggest("ten-inch").code(2).stdout_eq("").stderr_eq(str![[r#"
error: the bender has no die `ten-inch`
help: its dies are: five-inch, four-and-a-half-inch, six-inch, three-and-a-half-inch

"#]]);
    suggest("six-inch").success();
    tubewright().args(["calibrate", "--suggest"]).arg(&bender).assert().code(2).stdout_eq("");
    tubewright().arg("calibrate").assert().code(2).stdout_eq("");
}
