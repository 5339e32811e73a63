//! `layout`: the four ways to write it, where it goes, and how it ends.

mod common;

use std::path::PathBuf;

use common::{top, tubewright};
use serde_json::Value;
use snapbox::str;

fn sample(name: &str) -> PathBuf {
    top().join(format!("samples/jobs/{name}.yaml"))
}

#[test]
fn the_name_of_the_file_says_the_format() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    for (extension, begins) in [("pdf", "%PDF-"), ("dxf", "999\r\nlengths in inches"), ("txt", "===="), ("json", "{\n")]
    {
        let path = folder.path().join(format!("hoop.{extension}"));
        let run = || {
            let mut run = tubewright();
            run = run.arg("layout").arg(sample("hoop")).arg("--output").arg(&path);
            run
        };
        run().assert().success().stdout_eq("").stderr_eq("");
        let first = std::fs::read(&path).expect("the layout is there");
        assert!(first.starts_with(begins.as_bytes()), "{extension}");
        run().assert().code(2).stdout_eq("");
        assert_eq!(std::fs::read(&path).expect("it is still there"), first);
        run().arg("--force").assert().success();
        assert_eq!(std::fs::read(&path).expect("it is there again"), first, "the same job, the same bytes");
    }
    let strange = folder.path().join("hoop.png");
    let run = tubewright().arg("layout").arg(sample("hoop")).arg("--output").arg(&strange).assert().code(2);
    run.stdout_eq("").stderr_eq(str![[r#"
error: the name [..] does not say how to write it
help: let it end in .pdf, .dxf, .txt or .json, or say --format text or --format json

"#]]);
    assert!(!strange.exists());
}

#[test]
fn a_tube_that_cannot_be_bent_has_a_layout_that_says_so_and_status_1() {
    let run = tubewright().arg("layout").arg(sample("impossible")).assert().code(1).stderr_eq("");
    let text = String::from_utf8(run.get_output().stdout.clone()).expect("chalk coordinates are text");
    let (verdict, points) = (text.find("CANNOT BE BENT"), text.find("end A"));
    assert!(verdict.is_some() && verdict < points, "{text}");
}

#[test]
fn a_tube_without_a_bend_has_figures_and_no_pages() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let path = folder.path().join("bar.pdf");
    let only = |more: &[&str]| tubewright().arg("layout").arg(sample("rack")).args(["--tube", "crossbar"]).args(more);
    only(&[]).assert().success();
    let run = only(&["--output"]).arg(&path).assert().code(2).stdout_eq("");
    run.stderr_eq(str![[r#"
error: there is nothing to draw: no bend in what was asked for
help: a straight tube is cut to its length; its figures are in the text and in the DXF file

"#]]);
    assert!(!path.exists());
}

#[test]
fn units_date_tubes_and_paper_are_as_asked_for() {
    let json = |more: &[&str]| -> Value {
        let run =
            tubewright().arg("layout").arg(sample("pair")).args(["--format", "json"]).args(more).assert().success();
        serde_json::from_slice(&run.get_output().stdout).expect("the layout is JSON")
    };
    assert_eq!(json(&[])["tubes"].as_array().map(Vec::len), Some(2));
    let one = json(&["--tube", "arch-left", "--units", "in", "--date", "26 November"]);
    assert_eq!(one["tubes"].as_array().map(Vec::len), Some(1));
    assert_eq!((one["units"].as_str(), one["date"].as_str()), (Some("in"), Some("26 November")));
    assert_eq!(
        json(&[])["tubes"][0]["layouts"][0]["points"],
        json(&["--tube", "arch-left"])["tubes"][0]["layouts"][0]["points"]
    );
    let folder = tempfile::tempdir().expect("a folder for the test");
    let bytes = |paper: &str| {
        let path = folder.path().join(format!("{paper}.pdf"));
        tubewright()
            .arg("layout")
            .arg(sample("pair"))
            .args(["--paper", paper, "--output"])
            .arg(&path)
            .assert()
            .success();
        std::fs::read(&path).expect("the layout is there")
    };
    assert_ne!(bytes("a4"), bytes("letter"));
    tubewright().arg("layout").arg(sample("pair")).args(["--paper", "a3"]).assert().code(2).stdout_eq("");
    tubewright().arg("layout").arg(sample("pair")).args(["--tube", "nobody"]).assert().code(2).stdout_eq("");
}
