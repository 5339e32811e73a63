//! Every sample job, planned as a user would, against the text, the document, the card and the layout that are kept in `samples/expected`; every record
//! of test bends and of a bent part against its report and its document, every survey against both, every job with stock against its cut list.
//!
//! `TUBEWRIGHT_UPDATE=1 cargo test -p tubewright-cli --test samples` writes them anew: read the difference.

mod common;

use std::fs;
use std::path::{Path, PathBuf};

use common::{top, tubewright};

/// The only sample that cannot be bent.
const IMPOSSIBLE: &str = "impossible";

fn jobs() -> Vec<(String, PathBuf)> {
    let jobs = files("jobs");
    assert!(jobs.len() >= 7, "{jobs:?}");
    jobs
}

/// Records of test bends.
fn records() -> Vec<(String, PathBuf)> {
    let records: Vec<_> = files("records").into_iter().filter(|(name, _)| !is_part(name)).collect();
    assert!(records.len() >= 2, "{records:?}");
    records
}

/// Records of bent parts.
fn parts() -> Vec<(String, PathBuf)> {
    let parts: Vec<_> = files("records").into_iter().filter(|(name, _)| is_part(name)).collect();
    assert!(parts.len() >= 2, "{parts:?}");
    parts
}

fn is_part(name: &str) -> bool {
    name.starts_with("part-")
}

/// The only sample that is out of its tolerance.
const OFF: &str = "part-hoop";

fn stocks() -> Vec<(String, PathBuf)> {
    let stocks = files("stock");
    let with_ends = ends().into_iter().filter(|(_, job)| fs::read_to_string(job).expect("a job").contains("\nstock:"));
    let all: Vec<_> = with_ends.chain(stocks).collect();
    assert!(all.len() >= 2);
    all
}

fn surveys() -> Vec<(String, PathBuf)> {
    let surveys = files("surveys");
    assert!(surveys.len() >= 3, "{surveys:?}");
    surveys
}

/// The surveys in which something is not told or misread.
fn survey_status(name: &str) -> i32 {
    i32::from(name == "misread" || name == "trailer-bed")
}

/// Jobs with ends that land on other tubes.
fn ends() -> Vec<(String, PathBuf)> {
    let ends = files("ends");
    assert!(!ends.is_empty());
    ends
}

fn files(folder: &str) -> Vec<(String, PathBuf)> {
    let mut files: Vec<(String, PathBuf)> = fs::read_dir(top().join("samples").join(folder))
        .expect("the samples are there")
        .map(|entry| entry.expect("the folder can be read").path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "yaml"))
        .map(|path| (path.file_stem().expect("a name before the dot").to_string_lossy().into_owned(), path))
        .collect();
    files.sort();
    files
}

fn planned(job: &Path, more: &[&str], status: i32) -> String {
    printed("plan", job, more, status)
}

fn printed(command: &str, job: &Path, more: &[&str], status: i32) -> String {
    let run = tubewright().arg(command).arg(job).args(more).output().expect("the command starts");
    let errors = String::from_utf8_lossy(&run.stderr);
    assert_eq!(run.status.code(), Some(status), "{}: {errors}", job.display());
    assert_eq!(errors, "", "{}", job.display());
    String::from_utf8(run.stdout).expect("what is printed is UTF-8")
}

fn compare(name: &str, extension: &str, found: &str) {
    let path = top().join(format!("samples/expected/{name}.{extension}"));
    if std::env::var_os("TUBEWRIGHT_UPDATE").is_some() {
        fs::write(&path, found).expect("the expected file can be written");
    }
    let expected = snapbox::Data::read_from(&path, None).raw();
    snapbox::Assert::new().eq(snapbox::Data::text(found).raw(), expected);
}

fn status(name: &str) -> i32 {
    i32::from(name == IMPOSSIBLE)
}

#[test]
fn every_sample_has_the_text_that_is_kept() {
    for (name, job) in jobs() {
        compare(&name, "txt", &planned(&job, &[], status(&name)));
    }
}

#[test]
fn every_sample_has_the_document_that_is_kept() {
    for (name, job) in jobs() {
        compare(&name, "json", &planned(&job, &["--format", "json"], status(&name)));
    }
}

#[test]
fn every_sample_has_the_card_that_is_kept() {
    for (name, job) in jobs() {
        compare(&name, "card.txt", &printed("card", &job, &[], status(&name)));
        compare(&name, "card.json", &printed("card", &job, &["--format", "json"], status(&name)));
    }
}

#[test]
fn every_sample_has_the_chalk_coordinates_that_are_kept() {
    for (name, job) in jobs() {
        compare(&name, "layout.txt", &printed("layout", &job, &[], status(&name)));
        compare(&name, "layout.json", &printed("layout", &job, &["--format", "json"], status(&name)));
    }
}

#[test]
fn every_record_has_the_report_and_the_document_that_are_kept() {
    for (name, record) in records() {
        compare(&name, "calibration.txt", &printed("calibrate", &record, &[], 0));
        compare(&name, "calibration.json", &printed("calibrate", &record, &["--format", "json"], 0));
    }
}

#[test]
fn every_sheet_of_sizes_has_the_bender_that_is_kept() {
    let sheets = files("sizes");
    assert!(!sheets.is_empty());
    let folder = tempfile::tempdir().expect("a folder for the test");
    for (name, sizes) in sheets {
        let made = folder.path().join(format!("{name}.yaml"));
        let run = tubewright().args(["new", "--bender", "--quiet", "--from"]).arg(&sizes).arg("--output").arg(&made);
        run.assert().success();
        compare(&name, "bender.yaml", &fs::read_to_string(&made).expect("the bender file is written"));
    }
}

#[test]
fn every_bent_part_has_the_report_and_the_document_that_are_kept() {
    for (name, part) in parts() {
        let status = i32::from(name == OFF);
        compare(&name, "inspection.txt", &printed("inspect", &part, &[], status));
        compare(&name, "inspection.json", &printed("inspect", &part, &["--format", "json"], status));
    }
}

#[test]
fn every_stock_has_the_cut_list_that_is_kept() {
    for (name, job) in stocks() {
        compare(&name, "stock.txt", &printed("stock", &job, &[], 0));
        compare(&name, "stock.json", &printed("stock", &job, &["--format", "json"], 0));
    }
}

#[test]
fn every_survey_has_the_report_and_the_document_that_are_kept() {
    for (name, survey) in surveys() {
        let status = survey_status(&name);
        compare(&name, "survey.txt", &printed("survey", &survey, &[], status));
        compare(&name, "survey.json", &printed("survey", &survey, &["--format", "json"], status));
    }
}

#[test]
fn every_job_with_ends_on_other_tubes_has_what_is_kept() {
    for (name, job) in ends() {
        compare(&name, "txt", &planned(&job, &[], 0));
        compare(&name, "json", &planned(&job, &["--format", "json"], 0));
        compare(&name, "card.txt", &printed("card", &job, &[], 0));
        compare(&name, "card.json", &printed("card", &job, &["--format", "json"], 0));
        compare(&name, "layout.txt", &printed("layout", &job, &[], 0));
        compare(&name, "ends.txt", &printed("layout", &job, &["--ends"], 0));
    }
}

#[test]
fn the_impossible_tubes_are_impossible_for_the_stated_reasons() {
    let document = planned(&top().join("samples/jobs/impossible.yaml"), &["--format", "json"], 1);
    let document: serde_json::Value = serde_json::from_str(&document).expect("the document is JSON");
    let reasons = |tube: usize| -> Vec<String> {
        let why_not = document["tubes"][tube]["why_not"].as_array().expect("a list of reasons");
        why_not.iter().map(|entry| entry["reason"].as_str().expect("a reason").to_owned()).collect()
    };
    assert_eq!(document["tubes"][0]["name"], "step");
    assert!(reasons(0).contains(&"grip".to_owned()), "{:?}", reasons(0));
    assert_eq!(document["tubes"][1]["name"], "boom");
    assert!(reasons(1).iter().all(|reason| reason == "contact" || reason == "follower"), "{:?}", reasons(1));
    assert!(!reasons(1).is_empty());
}

#[test]
fn some_tubes_are_possible_only_in_an_order_that_nobody_tries_first() {
    let feasible = |name: &str, more: &[&str]| {
        let arguments = [&["--format", "json"], more].concat();
        let exit = if more.is_empty() { 0 } else { 1 };
        let document = planned(&top().join("samples/jobs").join(name), &arguments, exit);
        let document: serde_json::Value = serde_json::from_str(&document).expect("the document is JSON");
        document["tubes"][0].clone()
    };
    for natural in ["1A 2A", "2B 1B"] {
        assert_eq!(feasible("mast.yaml", &["--order", natural])["why_not"][0]["reason"], "contact");
        assert_eq!(feasible("grab-handle.yaml", &["--order", natural])["why_not"][0]["reason"], "follower");
    }
    assert_eq!(feasible("mast.yaml", &[])["proved_optimal"], true);
    assert_eq!(feasible("grab-handle.yaml", &[])["steps"][1]["swap_ends"], true);
}

#[test]
fn no_text_holds_a_control_character_or_a_line_too_long_for_a_terminal() {
    for (name, job) in jobs() {
        for (command, columns) in [("plan", 120), ("card", 80), ("layout", 80)] {
            for line in printed(command, &job, &[], status(&name)).lines() {
                assert!(!line.chars().any(char::is_control), "{name}: {line:?}");
                assert!(line.chars().count() <= columns, "{name}: {line}");
            }
        }
    }
    for (name, job) in ends() {
        for (command, more, columns) in [("plan", &[][..], 120), ("card", &[], 80), ("layout", &["--ends"], 80)] {
            for line in printed(command, &job, more, 0).lines() {
                assert!(!line.chars().any(char::is_control) && line.chars().count() <= columns, "{name}: {line:?}");
            }
        }
    }
    for (name, job) in stocks() {
        for line in printed("stock", &job, &[], 0).lines() {
            assert!(!line.chars().any(char::is_control) && line.chars().count() <= 80, "{name}: {line:?}");
        }
    }
    let records = records().into_iter().map(|(name, record)| (printed("calibrate", &record, &[], 0), name));
    let parts = parts().into_iter().map(|(name, part)| (printed("inspect", &part, &[], i32::from(name == OFF)), name));
    for (text, name) in records.chain(parts) {
        for line in text.lines() {
            assert!(!line.chars().any(char::is_control) && line.chars().count() <= 80, "{name}: {line:?}");
        }
    }
    for (name, survey) in surveys() {
        for line in printed("survey", &survey, &[], survey_status(&name)).lines() {
            assert!(!line.chars().any(char::is_control) && line.chars().count() <= 80, "{name}: {line:?}");
        }
    }
}

#[test]
fn the_starter_pair_plans_without_a_change_in_either_units() {
    for units in ["mm", "in"] {
        let folder = tempfile::tempdir().expect("a folder for the test");
        tubewright().args(["new", "--units", units]).arg(folder.path()).assert().success();
        planned(&folder.path().join("job.yaml"), &[], 0);
    }
}

#[test]
fn what_the_starter_job_shows_in_comments_plans_too() {
    for units in ["mm", "in"] {
        let folder = tempfile::tempdir().expect("a folder for the test");
        tubewright().args(["new", "--units", units]).arg(folder.path()).assert().success();
        let job = folder.path().join("job.yaml");
        let text = fs::read_to_string(&job).expect("the starter job is there");
        let text =
            text.replace("  # stub:", "  stub:").replace("  #   rows:", "    rows:").replace("  #     -", "      -");
        assert!(text.contains("\n  stub:") && text.contains("\n      - { length: "), "{text}");
        fs::write(&job, text).expect("the job can be changed");
        planned(&job, &["--tube", "stub"], 0);
    }
}

/// The first bend of the hoop came out short: what the operator reads then.
#[test]
fn a_half_bent_hoop() {
    let (_, hoop) = jobs().into_iter().find(|(name, _)| name == "hoop").expect("the hoop is a sample");
    let done = ["--done", "1A angle=84.5"];
    compare("hoop-done", "txt", &planned(&hoop, &done, 0));
    compare("hoop-done", "json", &planned(&hoop, &[&done[..], &["--format", "json"]].concat(), 0));
}
