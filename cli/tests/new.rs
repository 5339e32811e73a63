//! `new`: the starter pair, and a bender from a tape.

mod common;

use std::fs;

use common::{top, tubewright};
use tubewright::file::tree::{Node, Value, parse};
use tubewright::file::{Disk, load_bender};

#[test]
fn both_files_are_written_and_named() {
    let folder = tempfile::tempdir().unwrap();
    tubewright()
        .current_dir(folder.path())
        .args(["new", "buggy"])
        .assert()
        .success()
        .stdout_eq("")
        .stderr_eq("note: wrote buggy/bender.yaml and buggy/job.yaml\nnote: next: tubewright plan buggy/job.yaml\n");
    assert!(folder.path().join("buggy/job.yaml").is_file());
    assert!(folder.path().join("buggy/bender.yaml").is_file());
}

#[test]
fn with_bender_only_the_bender_file_is_written() {
    let folder = tempfile::tempdir().unwrap();
    tubewright().current_dir(folder.path()).args(["new", "--bender", "--quiet"]).assert().success().stderr_eq("");
    let names: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names, ["bender.yaml"]);
}

#[test]
fn what_is_there_already_stays_and_nothing_is_written_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("job.yaml"), "mine").unwrap();
    tubewright().current_dir(folder.path()).arg("new").assert().code(2).stdout_eq("").stderr_eq(
        "error: ./job.yaml is there already and was left as it is; nothing was written\n\
         help: name another folder: tubewright new FOLDER\n",
    );
    assert_eq!(fs::read_to_string(folder.path().join("job.yaml")).unwrap(), "mine");
    assert!(!folder.path().join("bender.yaml").exists());
}

#[test]
fn a_file_in_the_place_of_the_folder_is_a_mistake() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("buggy"), "a file").unwrap();
    tubewright()
        .current_dir(folder.path())
        .args(["new", "buggy"])
        .assert()
        .code(2)
        .stderr_eq("error: buggy is not a folder\n");
}

/// Every line of the sheet that waits for a figure gets the one that the sample has there, and is taken out where it has none.
fn filled_in(sheet: &str) -> String {
    let sample = fs::read_to_string(top().join("samples/sizes/floor-bender.yaml")).expect("the sample is there");
    let sample = parse(&sample).unwrap_or_else(|fault| panic!("{}", fault.message));
    let of = |node: &Node, key: &str| match &node.value {
        Value::Map(entries) => {
            entries.iter().find(|entry| entry.key.written() == Some(key)).map(|entry| entry.value.clone())
        }
        _ => None,
    };
    let mut part = String::new();
    let mut out = String::new();
    for line in sheet.lines() {
        let bare = line.split('#').next().unwrap_or_default().trim_end();
        let Some(key) = bare.trim_start().strip_suffix(':') else {
            out.push_str(&format!("{line}\n"));
            continue;
        };
        let found = if bare.starts_with(' ') {
            of(&sample, &part).and_then(|block| of(&block, key))
        } else {
            part = key.to_owned();
            of(&sample, key)
        };
        if let Some(found) = found {
            out.push_str(&format!("{bare} {}\n", found.written().unwrap_or_default()));
        }
    }
    out
}

#[test]
fn a_sheet_is_filled_in_and_made_into_a_bender() {
    let folder = tempfile::tempdir().unwrap();
    tubewright()
        .current_dir(folder.path())
        .args(["new", "shop", "--bender", "--sheet"])
        .assert()
        .success()
        .stdout_eq("")
        .stderr_eq(
            "note: wrote shop/bender-sizes.yaml and shop/bender-sizes.pdf\n\
             note: next: print the PDF, go to the bender with a tape, and write the figures into the YAML\n",
        );
    let shop = folder.path().join("shop");
    let sheet = shop.join("bender-sizes.yaml");
    assert!(fs::read(shop.join("bender-sizes.pdf")).unwrap().starts_with(b"%PDF-"));
    let made = |more: &[&str]| {
        let run = tubewright().current_dir(&shop).args(["new", "--bender", "--from", "bender-sizes.yaml"]).args(more);
        run.assert().stdout_eq("")
    };
    // As it is, every line without a figure is named, and nothing is written.
    let refused = made(&[]).code(2).get_output().stderr.clone();
    let refused = String::from_utf8(refused).unwrap();
    assert!(
        ["floor", "clamp", "ram", "bench"]
            .iter()
            .all(|part| refused.contains(&format!("of `{part}` of the file of sizes has no value"))),
        "{refused}"
    );
    assert!(!shop.join("bender.yaml").exists() && !shop.join("bender.pdf").exists());
    fs::write(&sheet, filled_in(&fs::read_to_string(&sheet).unwrap())).unwrap();
    made(&[]).success().stderr_eq(
        "note: wrote bender.pdf and bender.yaml\n\
         note: next: look at bender.pdf: is that your bender? Only then plan with it\n",
    );
    let bender = shop.join("bender.yaml");
    let loaded = load_bender(&Disk, &bender).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    assert_eq!((loaded.dies[0].name.as_str(), loaded.solids.len()), ("five-inch", 10));
    // What is there stays without --force, byte for byte.
    fs::write(&bender, "mine").unwrap();
    made(&[]).code(2);
    assert_eq!(fs::read_to_string(&bender).unwrap(), "mine");
    made(&["--force", "--quiet"]).success().stderr_eq("");
    assert!(fs::read_to_string(&bender).unwrap().contains("kind: bender"));
    made(&["--output", "bender-sizes.yaml", "--force"]).code(2);
    made(&["--output", "drawing.pdf"]).code(2);
    assert!(!shop.join("drawing.pdf").exists());
    // A folder that is not there is made.
    let run =
        tubewright().current_dir(&shop).args(["new", "yard/bay", "--bender", "--from", "bender-sizes.yaml"]).assert();
    run.success();
    assert!(shop.join("yard/bay/bender.yaml").is_file() && shop.join("yard/bay/bender.pdf").is_file());
}

#[cfg(target_os = "linux")]
#[test]
fn a_drawing_is_put_back_where_its_bender_cannot_be_written() {
    let folder = tempfile::tempdir().unwrap();
    let sizes = top().join("samples/sizes/floor-bender.yaml");
    fs::write(folder.path().join("bender.pdf"), "of an older bender").unwrap();
    std::os::unix::fs::symlink("/dev/full", folder.path().join("bender.yaml")).unwrap();
    let run =
        || tubewright().current_dir(folder.path()).args(["new", "--bender", "--force", "--from"]).arg(&sizes).assert();
    run().code(3);
    assert_eq!(fs::read(folder.path().join("bender.pdf")).unwrap(), b"of an older bender");
    fs::remove_file(folder.path().join("bender.pdf")).unwrap();
    run().code(3);
    assert!(!folder.path().join("bender.pdf").exists());
}

#[test]
fn a_sheet_can_be_in_inches_and_is_never_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let run = |more: &[&str]| tubewright().current_dir(folder.path()).args(["new", "--bender"]).args(more).assert();
    run(&["--sheet", "--units", "in", "--quiet"]).success();
    let text = fs::read_to_string(folder.path().join("bender-sizes.yaml")).unwrap();
    assert!(text.lines().any(|line| line.starts_with("units: in ")), "{text}");
    run(&["--sheet"]).code(2);
    run(&["--sheet", "--from", "bender-sizes.yaml"]).code(2);
    run(&["--force"]).code(2);
}
