//! `convert`: nodes to rows and back.

mod common;

use std::fs;
use std::path::Path;

use common::tubewright;
use snapbox::str;

/// A square corner of CLR 127 between legs of 508 and 635, then a node on the way, then a bend of 45 degrees out of plane.
const NODES: &str = "node,x_mm,y_mm,z_mm\nfoot,0,0,0\nknee,508,0,0\nrest,508,300,0\nhip,508,635,0\ntip,508,935,300\n";

fn folder_with(name: &str, text: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder for the test");
    fs::write(folder.path().join(name), text).expect("the file can be written");
    folder
}

fn convert(folder: &Path, more: &[&str]) -> snapbox::cmd::Command {
    tubewright().current_dir(folder).arg("convert").args(more)
}

#[test]
fn a_table_of_nodes_becomes_a_table_of_rows() {
    let folder = folder_with("nodes.csv", NODES);
    // Straights by hand: 508 - 127; 635 - 127 - 127 tan 22.5; 300 sqrt 2 - 127 tan 22.5.
    let expected = str![[r#"
length_mm,rotation_deg,bend_deg
381,,90
455.394877[..],90,45
371.658946[..],,

"#]];
    convert(folder.path(), &["nodes.csv", "--clr", "127"]).assert().success().stdout_eq(expected).stderr_eq(str![[
        r#"
note: node rest is passed straight through and has no row
note: a table holds no radius: to read it back give its formed radius with --clr "127 mm"

"#
    ]]);
}

#[test]
fn the_format_follows_the_output_and_the_radius_goes_along_in_yaml() {
    let folder = folder_with("nodes.csv", NODES);
    convert(folder.path(), &["nodes.csv", "--clr", "5 in", "--output", "rows.yaml", "--units", "in", "--quiet"])
        .assert()
        .success()
        .stdout_eq("")
        .stderr_eq("");
    let written = fs::read_to_string(folder.path().join("rows.yaml")).expect("the file is there");
    snapbox::assert_data_eq!(
        written,
        str![[r#"
kind: rows
units: in
clr: 5
rows:
  - { length: 15, bend: 90 }
  - { length: 17.92893[..], rotation: 90, bend: 45 }
  - { length: 14.63224[..] }

"#]]
    );
}

#[test]
fn there_and_back_gives_the_same_shape() {
    let folder = folder_with("nodes.csv", NODES);
    convert(folder.path(), &["nodes.csv", "--clr", "127", "--output", "rows.yaml"]).assert().success();
    let back = convert(folder.path(), &["rows.yaml", "--format", "csv"]).assert().success().get_output().stdout.clone();
    let back = String::from_utf8(back).expect("a table is text");
    let places: Vec<Vec<f64>> = back
        .lines()
        .skip(1)
        .map(|line| line.split(',').skip(1).map(|cell| cell.parse().expect("a number")).collect())
        .collect();
    // The node on the way is gone; end A is at the origin, the first leg along x, the first bend toward y: as it was given.
    let wanted = [[0.0, 0.0, 0.0], [508.0, 0.0, 0.0], [508.0, 635.0, 0.0], [508.0, 935.0, 300.0]];
    assert_eq!(places.len(), wanted.len());
    for (place, wanted) in places.iter().zip(wanted) {
        for (found, wanted) in place.iter().zip(wanted) {
            assert!((found - wanted).abs() < 1e-9, "{back}");
        }
    }
    assert!(back.starts_with("node,x_mm,y_mm,z_mm\nn0,"));
}

#[test]
fn a_half_turn_has_no_corner_and_says_so() {
    let folder =
        folder_with("u.yaml", "kind: rows\nunits: mm\nclr: 90\nrows: [{ length: 300, bend: 180 }, { length: 300 }]\n");
    convert(folder.path(), &["u.yaml"]).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: [..] more than 175 degrees, which has no corner point: such a shape can be given by rows only

"#]]);
}

#[test]
fn nodes_with_bends_need_a_radius() {
    let folder = folder_with("nodes.csv", NODES);
    convert(folder.path(), &["nodes.csv"]).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error[key-missing]: nothing says the formed radius of the bends
...
"#]]);
}

#[test]
fn a_name_that_does_not_say_how_to_write_needs_a_format() {
    let folder = folder_with("nodes.csv", NODES);
    let rows = ["nodes.csv", "--clr", "127", "--output", "rows.txt", "--quiet"];
    convert(folder.path(), &rows).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: the name rows.txt does not say how to write it
help: let it end in .csv or .yaml, or say --format csv or --format yaml

"#]]);
    assert!(!folder.path().join("rows.txt").exists());
    convert(folder.path(), &rows).args(["--format", "csv"]).assert().success();
    assert!(folder.path().join("rows.txt").is_file());
}

#[test]
fn the_file_that_was_read_and_files_that_are_there_stay_as_they_are() {
    let folder = folder_with("nodes.csv", NODES);
    fs::write(folder.path().join("rows.csv"), "mine").expect("the file can be written");
    for output in ["nodes.csv", "rows.csv"] {
        convert(folder.path(), &["nodes.csv", "--clr", "127", "--output", output]).assert().code(2).stdout_eq("");
    }
    convert(folder.path(), &["nodes.csv", "--clr", "127", "--force", "--output", "nodes.csv"]).assert().code(2);
    assert_eq!(fs::read_to_string(folder.path().join("nodes.csv")).expect("it is there"), NODES);
    assert_eq!(fs::read_to_string(folder.path().join("rows.csv")).expect("it is there"), "mine");
}

#[test]
fn what_is_no_text_is_refused_with_its_line() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    fs::write(folder.path().join("nodes.csv"), b"node,x_mm,y_mm,z_mm\na,0,0,\xff\n").expect("the file can be written");
    convert(folder.path(), &["nodes.csv"]).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: cannot read nodes.csv: line 2 is not text in UTF-8
help: save the file as plain text in UTF-8

"#]]);
    convert(folder.path(), &["none.csv"]).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: cannot read none.csv: there is no such file

"#]]);
}
