//! `card`: where it goes, its date, and how it ends.

mod common;

use std::path::PathBuf;

use common::{top, tubewright};
use serde_json::Value;
use snapbox::str;

fn sample(name: &str) -> PathBuf {
    top().join(format!("samples/jobs/{name}.yaml"))
}

fn document(bytes: &[u8]) -> Value {
    serde_json::from_slice(bytes).expect("the card is JSON")
}

#[test]
fn the_date_is_the_one_asked_for_else_the_jobs_else_a_line_to_write_on() {
    let card = |name: &str, more: &[&str]| {
        let run = tubewright().arg("card").arg(sample(name)).args(more).assert().success().stderr_eq("");
        String::from_utf8(run.get_output().stdout.clone()).expect("a card is text")
    };
    assert!(card("rail", &[]).contains("job rail, date 2026-11-20, fingerprint"));
    assert!(card("rail", &["--date", "26 November"]).contains("date 26 November, fingerprint"));
    assert!(card("pair", &[]).contains("job pair, date ____________, fingerprint"));
    let json = card("pair", &["--format", "json"]);
    assert!(document(json.as_bytes())["date"].is_null());
    tubewright().arg("card").arg(sample("rail")).args(["--date", " "]).assert().code(2).stdout_eq("");
}

#[test]
fn the_name_of_the_file_says_the_format() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let (json, text) = (folder.path().join("rail.json"), folder.path().join("rail.txt"));
    let html = folder.path().join("rail.html");
    for path in [&json, &text, &html] {
        tubewright().arg("card").arg(sample("rail")).arg("--output").arg(path).assert().success().stdout_eq("");
    }
    let card = document(&std::fs::read(&json).expect("the card is there"));
    assert_eq!(card["schema"], "tubewright/card/1");
    assert_eq!(card["job"], "rail");
    assert!(std::fs::read(&html).expect("the card is there").starts_with(b"<!DOCTYPE html>"));
    let before = std::fs::read(&text).expect("the card is there");
    assert!(before.starts_with(b"===="));
    tubewright().arg("card").arg(sample("pair")).arg("--output").arg(&text).assert().code(2);
    assert_eq!(std::fs::read(&text).expect("the card is still there"), before);
    tubewright().arg("card").arg(sample("pair")).arg("--force").arg("--output").arg(&text).assert().success();
    assert_ne!(std::fs::read(&text).expect("the card is there"), before);
    let strange = folder.path().join("rail.card");
    let run = tubewright().arg("card").arg(sample("rail")).arg("--output").arg(&strange).assert().code(2);
    run.stderr_eq(str![[r#"
error: the name [..] does not say how to write it
help: let it end in .pdf, .html, .txt or .json, or say --format pdf, html, text or json

"#]]);
    assert!(!strange.exists());
}

#[test]
fn a_tube_that_cannot_be_bent_has_a_card_that_says_so_and_status_1() {
    let run = tubewright().arg("card").arg(sample("impossible")).assert().code(1).stderr_eq("");
    let text = String::from_utf8(run.get_output().stdout.clone()).expect("a card is text");
    assert_eq!(text.matches("D O   N O T   C U T").count(), text.matches("CANNOT BE BENT").count());
    assert!(!text.contains("Caliper"));
}

#[test]
fn the_card_and_the_plan_have_the_same_figures() {
    for name in ["hoop", "pair", "rail", "grab-handle"] {
        let of = |command: &str| {
            let run = tubewright().arg(command).arg(sample(name)).args(["--format", "json"]).assert().success();
            document(&run.get_output().stdout)
        };
        let (plan, card) = (of("plan"), of("card"));
        let tubes = plan["tubes"].as_array().expect("tubes").iter().zip(card["tubes"].as_array().expect("tubes"));
        for (plan, card) in tubes {
            let work = &card["work"];
            assert_eq!(plan["cut_length_mm"], work["ledger"]["cut_length_mm"]);
            assert_eq!(plan["gain_mm"], work["ledger"]["gains_mm"]);
            assert_eq!(plan["notes"], card["notes"]);
            assert_eq!(plan["accuracy"]["end_b_mm"], work["accuracy"]["end_b_mm"]);
            let steps = plan["steps"].as_array().expect("steps").iter().zip(work["steps"].as_array().expect("steps"));
            for (plan, card) in steps {
                for key in [
                    "step",
                    "bend",
                    "lead",
                    "die",
                    "mark_mm",
                    "tail_mm",
                    "turn_deg",
                    "swap_ends",
                    "gauge",
                    "springback",
                ] {
                    assert_eq!(plan[key], card[key], "{name} {key}");
                }
                assert_eq!(plan["dial_target_deg"], card["dial_target_deg"], "{name}");
                assert_eq!(plan["pin_moves"], card["pin_moves_deg"], "{name}");
            }
        }
    }
}

#[test]
fn units_order_and_tube_are_as_in_a_plan() {
    let card = |more: &[&str]| {
        let run = tubewright().arg("card").arg(sample("pair")).args(["--format", "json"]).args(more).assert().success();
        document(&run.get_output().stdout)
    };
    let inches = card(&["--units", "in", "--fraction", "32", "--tube", "arch-right"]);
    assert_eq!(inches["units"], "in");
    assert_eq!(inches["tubes"].as_array().map(Vec::len), Some(1));
    assert_eq!(inches["tubes"][0]["hand"], "RIGHT");
    tubewright().arg("card").arg(sample("pair")).args(["--order", "1A 2A"]).assert().code(2).stdout_eq("");
    let ordered = card(&["--tube", "arch-left", "--order", "1A 2A"]);
    assert_eq!(ordered["tubes"][0]["work"]["steps"][0]["bend"], 1);
}

#[test]
fn pages_are_of_the_paper_asked_for_else_of_that_of_the_jobs_units() {
    let pages = |name: &str, more: &[&str]| {
        let run = tubewright().arg("card").arg(sample(name)).args(["--format", "pdf"]).args(more).assert().success();
        let file = run.stderr_eq("").get_output().stdout.clone();
        assert!(file.starts_with(b"%PDF-"));
        file
    };
    assert!(pages("rail", &[]) == pages("rail", &["--paper", "a4"]));
    assert!(pages("rail", &[]) != pages("rail", &["--paper", "letter"]));
    assert!(pages("hoop", &[]) == pages("hoop", &["--paper", "letter"]));
    tubewright().arg("card").arg(sample("rail")).args(["--paper", "a3"]).assert().code(2).stdout_eq("");

    let folder = tempfile::tempdir().expect("a folder for the test");
    let path = folder.path().join("rail.pdf");
    tubewright().arg("card").arg(sample("rail")).arg("--output").arg(&path).assert().success().stdout_eq("");
    assert!(std::fs::read(&path).expect("the card is there") == pages("rail", &[]));
}
