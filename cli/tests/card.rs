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
    let mut steps_seen = 0;
    let samples = std::fs::read_dir(top().join("samples/jobs")).expect("the samples are there");
    for path in samples.map(|entry| entry.expect("the folder can be read").path()) {
        let name = path.display();
        let of = |command: &str| {
            let run = tubewright().arg(command).arg(&path).args(["--format", "json"]).output().expect("it starts");
            document(&run.stdout)
        };
        let (plan, card) = (of("plan"), of("card"));
        let (tubes, cards) = (plan["tubes"].as_array().expect("tubes"), card["tubes"].as_array().expect("tubes"));
        assert_eq!(tubes.len(), cards.len(), "{name}");
        for (plan, sheet) in tubes.iter().zip(cards) {
            for key in ["name", "feasible"] {
                assert_eq!(plan[key], sheet[key], "{name} {key}");
            }
            let notes = ["not_kept", "notes"].map(|key| sheet[key].as_array().expect("a list").as_slice()).concat();
            assert_eq!(plan["notes"], Value::from(notes), "{name}");
            assert_eq!(plan["fingerprint"], card["fingerprint"], "{name}");
            let texts = |list: &Value| -> Vec<Value> {
                list.as_array().expect("a list").iter().map(|entry| entry["text"].clone()).collect()
            };
            assert_eq!(Value::from(texts(&plan["why_not"])), sheet["why_not"], "{name}");
            assert_eq!(Value::from(texts(&plan["cures"])), sheet["cures"], "{name}");
            let work = &sheet["work"];
            assert_eq!(work.is_null(), plan["feasible"] == false, "{name}");
            if work.is_null() {
                continue;
            }
            let caliper = &work["caliper"];
            for key in ["od_mm", "wall_mm", "material"] {
                assert_eq!(plan[key], caliper[key], "{name} {key}");
            }
            let ledger = &work["ledger"];
            assert_eq!(plan["cut_length_mm"], ledger["cut_length_mm"], "{name}");
            assert_eq!(plan["developed_mm"], ledger["developed_mm"], "{name}");
            assert_eq!(plan["gain_mm"], ledger["gains_mm"], "{name}");
            for key in ["end_b_mm", "extra_a_mm", "extra_b_mm"] {
                assert_eq!(plan["accuracy"][key], work["accuracy"][key], "{name} {key}");
            }
            let (steps, cards) = (plan["steps"].as_array().expect("steps"), work["steps"].as_array().expect("steps"));
            assert_eq!(steps.len(), cards.len(), "{name}");
            for (plan, card) in steps.iter().zip(cards) {
                for key in [
                    "step",
                    "bend",
                    "lead",
                    "die",
                    "mark_mm",
                    "tail_mm",
                    "top_arc_mm",
                    "turn_deg",
                    "swap_ends",
                    "gauge",
                    "springback",
                    "dial_start_deg",
                    "dial_target_deg",
                ] {
                    assert_eq!(plan[key], card[key], "{name} {key}");
                }
                assert_eq!(plan["pin_moves"], card["pin_moves_deg"], "{name}");
                let angle = |value: &Value| value.as_f64().expect("an angle");
                let more = (angle(&card["top_deg"]) - angle(&plan["top_deg"])) / 360.0;
                assert!((more - more.round()).abs() < 1e-12, "{name}");
                let marks = work["marks"].as_array().expect("marks");
                let mark = marks.iter().find(|mark| mark["bend"] == card["bend"]).expect("every bend has a mark");
                for key in ["lead", "mark_mm", "tail_mm", "top_deg", "top_arc_mm"] {
                    assert_eq!(mark[key], card[key], "{name} {key}");
                }
                steps_seen += 1;
            }
            let swing = |key: &str| -> Vec<f64> {
                steps.iter().map(|step| step["swing"][key].as_f64().expect("a length")).collect()
            };
            if !steps.is_empty() {
                let room = &work["room"];
                let most = |key: &str| swing(key).into_iter().fold(f64::MIN, f64::max);
                assert_eq!(room["reach_mm"], most("reach_mm"), "{name}");
                assert_eq!(room["high_mm"], most("high_mm"), "{name}");
                assert_eq!(room["low_mm"], swing("low_mm").into_iter().fold(f64::MAX, f64::min), "{name}");
            }
        }
    }
    assert!(steps_seen >= 20, "{steps_seen}");
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

/// The sample pair with `accuracy`, bent on springback that test bends have told: plan, card and both documents say what that adds.
#[test]
fn a_measured_springback_that_is_off_alike_at_all_bends_is_said() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    for part in ["benders", "jobs"] {
        std::fs::create_dir(folder.path().join(part)).expect("a folder for the copy");
    }
    std::fs::copy(top().join("samples/benders/gusset.stl"), folder.path().join("benders/gusset.stl"))
        .expect("the mesh");
    let bender = std::fs::read_to_string(top().join("samples/benders/left-hand-bender.yaml")).expect("the bender");
    let law = "springback: { constant: 1.0, proportional: 0.024 }";
    assert!(bender.contains(law));
    let job = folder.path().join("jobs/pair.yaml");
    std::fs::copy(sample("pair"), &job).expect("the job");
    let run = |sd: &str, command: &str, format: &str| {
        let measured = format!("{law}, measured: {{ od: 25.4, wall: 2.0, sd: {{ {sd} }} }}");
        let path = folder.path().join("benders/left-hand-bender.yaml");
        std::fs::write(path, bender.replace(law, &measured)).expect("the copy is written");
        let run = tubewright().arg(command).arg(&job).args(["--format", format]).assert().success();
        String::from_utf8(run.get_output().stdout.clone()).expect("text")
    };
    let accuracy = |sd: &str| document(run(sd, "plan", "json").as_bytes())["tubes"][0]["accuracy"].clone();
    let known = accuracy("constant: 0.3, proportional: 0.005, correlation: -0.95");
    let [alone, with] = [&known, &known["springback"]].map(|of| of["end_b_mm"].as_f64().expect("a figure"));
    assert!(alone < with && with < 2.0 * alone, "{alone} {with}");
    assert_eq!(known["left_out"][0], "clr");
    let unknown = accuracy("constant: 0.3, proportional: 0.005");
    assert!(unknown["springback"]["end_b_mm"].as_f64() > Some(with), "the worse is taken");
    let half = accuracy("constant: 0.3");
    assert!(
        half["springback"].is_null() && half["left_out"][0] == "springback" && half["end_b_mm"] == known["end_b_mm"]
    );
    let sd = "constant: 0.3, proportional: 0.005, correlation: -0.95";
    for command in ["plan", "card"] {
        let text = run(sd, command, "text").split_whitespace().collect::<Vec<_>>().join(" ");
        for words in
            ["is off alike at every bend: with it 95 % lie within", "1 degree more there moves end B", "Left out: CLR"]
        {
            assert!(text.contains(words), "{command}: {words}\n{text}");
        }
    }
    let card = document(run(sd, "card", "json").as_bytes());
    let of_card = &card["tubes"][0]["work"]["accuracy"];
    assert_eq!(of_card["end_b_with_springback_mm"].as_f64(), Some(with));
    let worst = of_card["worst_bend"].as_u64().expect("a bend");
    let by = known["by"].as_array().expect("a list").iter().find(|by| by["bend"] == worst).expect("that bend");
    assert_eq!(by["moves_mm_per_deg"], of_card["moves_mm_per_deg"]);
}
