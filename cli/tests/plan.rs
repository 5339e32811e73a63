//! `plan`: exit statuses, where the document goes, and what is said beside it.

mod common;

use std::fs;
use std::io::Read as _;
use std::path::PathBuf;
use std::process::Stdio;

use common::{top, tubewright};
use snapbox::str;

fn sample(name: &str) -> PathBuf {
    top().join("samples/jobs").join(name)
}

/// A pair of files that plans, in a folder of its own.
fn pair() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder for the test");
    tubewright().args(["new", "--quiet"]).arg(folder.path()).assert().success();
    folder
}

#[test]
fn a_job_that_is_not_there_is_a_mistake() {
    tubewright().args(["plan", "no-such-job.yaml"]).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error[file-missing]: the file `no-such-job.yaml` cannot be read: there is no such file
...
"#]]);
}

#[test]
fn mistakes_in_a_file_print_nothing_on_standard_output() {
    let folder = pair();
    let job = folder.path().join("job.yaml");
    let text = fs::read_to_string(&job).unwrap();
    fs::write(&job, text.replace("od: 38.1", "odd: 38.1").replace("units: mm", "units: m")).unwrap();
    for format in ["text", "json"] {
        let run = tubewright().arg("plan").arg(&job).args(["--format", format]).output().unwrap();
        assert_eq!(run.status.code(), Some(2));
        assert!(run.stdout.is_empty());
        assert!(String::from_utf8_lossy(&run.stderr).contains("odd"), "{run:?}");
    }
}

#[test]
fn a_tube_that_is_not_in_the_job_is_a_mistake_that_names_those_that_are() {
    let run = tubewright().arg("plan").arg(sample("rack.yaml")).args(["--tube", "lop"]).output().unwrap();
    assert_eq!(run.status.code(), Some(2));
    assert!(run.stdout.is_empty());
    let said = String::from_utf8_lossy(&run.stderr);
    assert!(said.contains("lop") && said.contains("loop") && said.contains("crossbar"), "{said}");
}

#[test]
fn an_order_needs_one_tube_and_all_its_bends() {
    for (more, part) in [
        (&["--order", "1A 2A"][..], "--tube"),
        (&["--tube", "loop", "--order", "1A 1B"], "bend 1"),
        (&["--tube", "loop", "--order", "1A"], "2"),
        (&["--tube", "loop", "--order", "1A 2A 3A"], "3"),
        (&["--tube", "loop", "--order", "1C 2A"], "1C"),
    ] {
        let run = tubewright().arg("plan").arg(sample("rack.yaml")).args(more).output().unwrap();
        let said = String::from_utf8_lossy(&run.stderr);
        assert_eq!(run.status.code(), Some(2), "{more:?}: {said}");
        assert!(run.stdout.is_empty(), "{more:?}");
        assert!(said.contains(part), "{more:?}: {said}");
    }
    tubewright().arg("plan").arg(sample("rack.yaml")).args(["--tube", "loop", "--order", "2B 1B"]).assert().success();
}

#[test]
fn the_document_goes_whole_into_the_file_that_is_named() {
    let folder = pair();
    let (job, file) = (folder.path().join("job.yaml"), folder.path().join("plan.json"));
    let print = || tubewright().arg("plan").arg(&job).args(["--format", "json"]);
    let printed = print().output().unwrap().stdout;
    print().arg("--output").arg(&file).assert().success().stdout_eq("").stderr_eq("");
    assert_eq!(fs::read(&file).unwrap(), printed);
}

#[test]
fn an_existing_file_is_replaced_only_with_force() {
    let folder = pair();
    let (job, file) = (folder.path().join("job.yaml"), folder.path().join("plan.txt"));
    fs::write(&file, "mine").unwrap();
    let plan = || tubewright().current_dir(folder.path()).args(["plan", "job.yaml", "--output", "plan.txt"]);
    plan().assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: plan.txt is there already and was left as it is
help: replace it with --force, or name another file with --output

"#]]);
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    plan().arg("--force").assert().success().stdout_eq("");
    assert!(fs::read_to_string(&file).unwrap().contains("hoop"));
    assert!(job.is_file());
}

#[test]
fn no_file_that_was_read_is_ever_replaced() {
    let folder = pair();
    for name in ["job.yaml", "bender.yaml"] {
        let before = fs::read(folder.path().join(name)).unwrap();
        let run = tubewright()
            .current_dir(folder.path())
            .args(["plan", "job.yaml", "--force", "--output", name])
            .output()
            .unwrap();
        assert_eq!(run.status.code(), Some(2), "{name}");
        assert!(String::from_utf8_lossy(&run.stderr).contains("made from"), "{name}: {run:?}");
        assert_eq!(fs::read(folder.path().join(name)).unwrap(), before, "{name}");
    }
}

#[test]
fn what_cannot_be_bent_is_written_all_the_same() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let file = folder.path().join("plan.txt");
    tubewright().arg("plan").arg(sample("impossible.yaml")).arg("--output").arg(&file).assert().code(1).stdout_eq("");
    assert!(fs::read_to_string(&file).unwrap().contains("missing"));
}

#[test]
fn a_reader_that_goes_away_ends_the_writing_quietly() {
    let mut run = std::process::Command::new(snapbox::cmd::cargo_bin!("tubewright"))
        .arg("plan")
        .arg(sample("rail.yaml"))
        .args(["--format", "json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(run.stdout.take());
    let mut said = String::new();
    run.stderr.take().expect("standard error is a pipe").read_to_string(&mut said).unwrap();
    assert_eq!(run.wait().unwrap().code(), Some(0));
    assert_eq!(said, "");
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_something_outside() {
    let full = fs::File::options().write(true).open("/dev/full").unwrap();
    let run = std::process::Command::new(snapbox::cmd::cargo_bin!("tubewright"))
        .arg("plan")
        .arg(sample("hoop.yaml"))
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(run.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&run.stderr).contains("cannot write standard output"));
    tubewright().arg("plan").arg(sample("hoop.yaml")).args(["--output", "/dev/full"]).assert().code(3).stdout_eq("");
}

#[test]
fn text_is_in_the_units_asked_for_and_the_document_always_in_mm() {
    let plan = |more: &[&str]| {
        let run = tubewright().arg("plan").arg(sample("hoop.yaml")).args(more).output().unwrap();
        assert_eq!(run.status.code(), Some(0), "{more:?}: {run:?}");
        String::from_utf8(run.stdout).unwrap()
    };
    assert!(plan(&[]).contains("94 1/2 in of tube"));
    assert!(
        plan(&["--units", "mm"]).contains("2400 mm of tube") || plan(&["--units", "mm"]).contains("2401 mm of tube")
    );
    assert_ne!(plan(&["--fraction", "64"]), plan(&[]));
    assert_eq!(plan(&["--format", "json", "--units", "mm"]), plan(&["--format", "json", "--units", "in"]));
}

#[test]
fn the_same_job_gives_the_same_bytes() {
    let plan = || tubewright().arg("plan").arg(sample("rail.yaml")).args(["--format", "json"]).output().unwrap().stdout;
    assert_eq!(plan(), plan());
}

/// A flat U of legs 500, 400, 500, invented, with 30 mm left on at end B.
fn half_bent(done: &str) -> serde_json::Value {
    let folder = pair();
    let job = "kind: job\nunits: mm\nbender: bender.yaml\ntube: { od: 38.1, wall: 2.4, die: five-inch }\n\
               tubes:\n  u: { legs: [500, 400, 500], bends: [90, 90], extra: { b: 30 } }\n  v: { legs: [500, 400], bends: [90] }\n";
    fs::write(folder.path().join("u.yaml"), job).expect("the job can be written");
    let run = tubewright()
        .current_dir(folder.path())
        .args(["plan", "u.yaml", "--tube", "u", "--order", "1A 2A", "--format", "json", "--done", done])
        .output()
        .expect("the command starts");
    assert_eq!(run.status.code(), Some(0), "{run:?}");
    let schema = tubewright().args(["schema", "plan"]).output().expect("the command starts").stdout;
    let schema = serde_json::from_slice(&schema).expect("a schema is JSON");
    let document = serde_json::from_slice(&run.stdout).expect("a document is JSON");
    jsonschema::validate(&schema, &document).expect("the document is as its schema says");
    document["tubes"][0].clone()
}

/// Leg 2 = 400 / sin 88, leg 3 = 500 + 400 / tan 88, bend 2 of 92 degrees: exact, by plane trigonometry. The slip is what the corner of a smaller bend of CLR 127
/// lies nearer.
#[test]
fn what_is_left_of_a_u_makes_up_for_its_first_bend() {
    let slip = 127.0 * (1.0 - tangent(44.0));
    let tube = half_bent(&format!("1A angle=88 slip={slip}"));
    let node = |place: usize| -> Vec<f64> {
        tube["nodes_mm"][place].as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
    };
    let leg = |from: usize| node(from).iter().zip(node(from + 1)).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt();
    for (place, wanted) in [500.0, 400.243_818, 513.968_308].into_iter().enumerate() {
        assert!((leg(place) - wanted).abs() < 1e-6, "leg {}: {}", place + 1, leg(place));
    }
    assert!((tube["rows"][1]["bend_deg"].as_f64().unwrap() - 92.0).abs() < 1e-9);
    assert_eq!(tube["rescue"]["held"], true);
    let steps = tube["steps"].as_array().unwrap();
    assert_eq!(steps.len(), 1);
    assert_eq!(steps[0]["bend"], 2);
    // 30 mm were left on: the longer shape takes of them.
    let left = tube["rescue"]["left_at_b_mm"].as_f64().unwrap();
    assert!(left > 0.0 && left < 30.0, "{left}");
}

/// Of an angle in degrees.
fn tangent(degrees: f64) -> f64 {
    tubewright::centreline::setback(tubewright::units::Length::mm(1.0), tubewright::units::Angle::deg(2.0 * degrees))
        .expect("a small bend has a corner")
        .to_mm()
}

#[test]
fn a_short_bend_may_be_pushed_again_while_it_is_clamped_and_one_too_far_is_never_bent_back() {
    let said = |done: &str| half_bent(done)["rescue"]["text"].to_string();
    let short = half_bent("1A angle=88");
    assert_eq!(short["rescue"]["push"]["bend"], 1);
    assert!(said("1A angle=88").contains("PUSH IT AGAIN"));
    let far = half_bent("1A angle=93");
    assert!(far["rescue"]["push"].is_null());
    assert!(said("1A angle=93").contains("never bent back") && !said("1A angle=93").contains("PUSH"));
    assert!(said("1A angle=88, 2A").contains("out of the clamp"));
    assert!(said("1A").contains("as planned"));
}

#[test]
fn what_was_done_is_refused_where_it_is_not_clear() {
    let loop_of = |done: &str| {
        tubewright()
            .arg("plan")
            .arg(sample("rack.yaml"))
            .args(["--tube", "loop", "--order", "1A 2A", "--done", done])
            .output()
            .unwrap()
    };
    assert_eq!(loop_of("1A").status.code(), Some(0));
    for (done, part) in [
        ("", "no bend is named"),
        ("3A", "entry 1: there is no bend 3"),
        ("1A, 1A", "entry 2: bend 1 is named twice"),
        ("2A", "`2A` is not what the order begins with, `1A 2A`"),
        ("1B", "`1B` is not what the order begins with"),
        ("1A angle=", "`angle=`"),
        ("1A angle=88in", "`angle=88in`"),
        ("1A angle=-88", "above 0"),
        ("1A slip=two", "`slip=two`"),
        ("1A twist=3", "`twist=3`"),
        ("1A 88", "`88`"),
        ("1A slip=-9000", "over the end of the tube"),
    ] {
        let run = loop_of(done);
        let said = String::from_utf8_lossy(&run.stderr);
        assert_eq!(run.status.code(), Some(2), "{done}: {said}");
        assert!(run.stdout.is_empty(), "{done}");
        assert!(said.contains(part), "{done}: {said}");
    }
    let several = tubewright().arg("plan").arg(sample("rack.yaml")).args(["--done", "1A"]).output().unwrap();
    assert_eq!(several.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&several.stderr).contains("--tube"), "{several:?}");
}
