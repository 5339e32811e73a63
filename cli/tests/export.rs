//! `export`: the ways to write it, where it goes, and what is refused.

mod common;

use std::fs;
use std::path::PathBuf;

use common::{top, tubewright};
use snapbox::cmd::Command;
use snapbox::str;

fn sample(name: &str) -> PathBuf {
    top().join(format!("samples/jobs/{name}.yaml"))
}

fn export(name: &str) -> Command {
    tubewright().arg("export").arg(sample(name))
}

#[test]
fn the_name_of_the_file_says_the_format_and_an_existing_file_stays() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let begins = [
        ("step", "ISO-10303-21;"),
        ("stp", "ISO-10303-21;"),
        ("gltf", "{\n  \"asset\": {\n    \"version\": \"2.0\""),
        ("glb", "glTF\u{2}\0\0\0"),
        ("stl", "tubewright "),
        ("dxf", "999\r\nlengths in inches"),
        ("STEP", "ISO-10303-21;"),
    ];
    for (extension, begins) in begins {
        let path = folder.path().join(format!("hoop.{extension}"));
        let run = || export("hoop").arg("--output").arg(&path);
        run().assert().success().stdout_eq("").stderr_eq("");
        let first = fs::read(&path).expect("the file is there");
        assert!(first.starts_with(begins.as_bytes()), "{extension}");
        run().assert().code(2).stdout_eq("");
        assert_eq!(fs::read(&path).expect("it is still there"), first);
        run().arg("--force").assert().success();
        assert_eq!(fs::read(&path).expect("it is there again"), first, "the same job, the same bytes");
    }
}

#[test]
fn without_a_name_the_format_is_said_and_it_goes_to_standard_output() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    for format in ["step", "gltf", "glb", "stl", "dxf"] {
        let path = folder.path().join(format!("pair.{format}"));
        export("pair").arg("--output").arg(&path).assert().success();
        let run = export("pair").args(["--format", format]).assert().success().stderr_eq("");
        assert_eq!(run.get_output().stdout, fs::read(&path).expect("the file is there"), "{format}");
    }
}

#[test]
fn what_does_not_say_how_to_write_it_is_refused() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let strange = folder.path().join("hoop.iges");
    let run = export("hoop").arg("--output").arg(&strange).assert().code(2);
    run.stdout_eq("").stderr_eq(str![[r#"
error: the name [..] does not say how to write it
help: let it end in .step, .stp, .gltf, .glb, .stl or .dxf, or say --format step, gltf, glb, stl or dxf

"#]]);
    assert!(!strange.exists());
    export("hoop").assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: nothing says how to write it
help: name a file with --output, such as --output tubes.step, or say --format step, gltf, glb, stl or dxf

"#]]);
    export("hoop").args(["--format", "step", "--tube", "nobody"]).assert().code(2).stdout_eq("");
}

#[test]
fn the_chord_error_has_bounds_and_is_for_meshes() {
    export("hoop").args(["--format", "stl", "--chord", "1"]).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: --chord 1: 25.4 mm is not from 0.01 to 10 mm
help: a bare number is in the units of the job; name the unit, such as --chord "0.1 mm"

"#]]);
    export("hoop").args(["--format", "stl", "--chord", "fine"]).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: --chord fine: [..]
help: write a length, such as --chord "0.1 mm"

"#]]);
    export("hoop").args(["--format", "step", "--chord", "0.1 mm"]).assert().code(2).stdout_eq("").stderr_eq(str![[
        r#"
error: --chord is for meshes: STEP and DXF are exact
help: leave it out, or write glTF or STL

"#
    ]]);
    let size = |chord: &str| {
        let run = export("hoop").args(["--format", "stl", "--chord", chord]).assert().success();
        run.get_output().stdout.len()
    };
    assert!(size("0.02 mm") > 3 * size("0.2 mm"));
}

#[test]
fn a_tube_that_cannot_be_bent_has_its_shape_and_status_1() {
    let run = export("impossible").args(["--format", "step"]).assert().code(1).stderr_eq(str![[r#"
note: tube `[..]`: CANNOT BE BENT as asked; what is written is its shape only, and `tubewright plan` says why
note: tube `boom`: CANNOT BE BENT as asked; what is written is its shape only, and `tubewright plan` says why
note: tube `hook`: CANNOT BE BENT as asked; what is written is its shape only, and `tubewright plan` says why
note: tube `jib`: CANNOT BE BENT as asked; what is written is its shape only, and `tubewright plan` says why

"#]]);
    let text = String::from_utf8(run.get_output().stdout.clone()).expect("STEP is text");
    assert!(text.contains("CANNOT BE BENT as asked: this is its shape only"), "{text}");
}

#[test]
fn a_tube_without_a_wall_is_its_outside_and_says_so() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let job = fs::read_to_string(sample("handle")).expect("the sample is there");
    let bender = top().join("samples/benders");
    let job = job.replace("wall: 0.083, ", "").replace("../benders", &bender.to_string_lossy());
    assert!(!job.contains("wall"), "{job}");
    let path = folder.path().join("handle.yaml");
    fs::write(&path, job).expect("the job can be written");
    let run = tubewright().arg("export").arg(&path).args(["--format", "step"]).assert().success();
    let run = run.stderr_eq(str![[r#"
note: tube `handle` has no `wall`: what is written is its outside, as if it were a bar

"#]]);
    let text = String::from_utf8(run.get_output().stdout.clone()).expect("STEP is text");
    assert!(text.contains("ends square, WALL NOT GIVEN: only its outside is known"), "{text}");
}

#[test]
fn the_head_of_the_file_says_what_it_is() {
    let run = export("hoop").args(["--format", "step"]).assert().success();
    let text = String::from_utf8(run.get_output().stdout.clone()).expect("STEP is text");
    let (head, _) = text.split_once("DATA;\n").expect("a head comes before the data");
    let path = top().join("samples/expected/hoop.step.txt");
    if std::env::var_os("TUBEWRIGHT_UPDATE").is_some() {
        fs::write(&path, head).expect("the expected file can be written");
    }
    snapbox::Assert::new().eq(snapbox::Data::text(head).raw(), snapbox::Data::read_from(&path, None).raw());
}
