//! The program itself, without a display: pictures, an animation, and what it says where something is missing.

#![expect(clippy::unwrap_used, reason = "what fails here fails the test that calls it")]

mod common;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use image::AnimationDecoder as _;
use image::codecs::gif::GifDecoder;

fn sample(name: &str) -> PathBuf {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../samples/jobs")).join(format!("{name}.yaml"))
}

/// The program with an empty environment but for what is given.
fn view(job: &str, args: &[&str], with: &[(&str, &str)]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tubewright-view"));
    command.env_clear().envs(with.iter().copied()).arg(sample(job)).args(args).output().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[cfg(all(unix, not(target_os = "macos")))]
#[test]
fn without_a_display_one_line_says_so() {
    let output = view("hoop", &[], &[]);
    assert_eq!(output.status.code(), Some(3), "{}", said(&output));
    assert!(output.stdout.is_empty());
    assert_eq!(said(&output).lines().count(), 1, "{}", said(&output));
    assert!(said(&output).starts_with("error: no display") && said(&output).contains("--picture"), "{}", said(&output));
}

#[cfg(all(unix, not(target_os = "macos")))]
#[test]
fn a_display_that_is_not_there_is_no_panic() {
    for with in [("DISPLAY", ":4711"), ("WAYLAND_DISPLAY", "nowhere")] {
        let output = view("hoop", &[], &[with, ("XDG_RUNTIME_DIR", "/tmp")]);
        assert_eq!(output.status.code(), Some(3), "{}", said(&output));
        assert_eq!(said(&output).lines().count(), 1, "{}", said(&output));
        assert!(said(&output).starts_with("error: the display does not open"), "{}", said(&output));
    }
}

#[cfg(all(unix, not(target_os = "macos")))]
#[test]
fn without_an_adapter_one_line_says_what_to_install() {
    // No driver is found there, and no other way of drawing is tried.
    let none =
        [("VK_DRIVER_FILES", "/nowhere.json"), ("VK_ICD_FILENAMES", "/nowhere.json"), ("WGPU_BACKEND", "vulkan")];
    let folder = tempfile::tempdir().unwrap();
    let pictures = folder.path().join("pictures");
    let output = view("hoop", &["--picture", "all", "--output", pictures.to_str().unwrap()], &none);
    assert_eq!(output.status.code(), Some(3), "{}", said(&output));
    assert_eq!(said(&output).lines().count(), 1, "{}", said(&output));
    assert!(said(&output).contains("mesa-vulkan-drivers"), "{}", said(&output));
    assert!(!pictures.exists());
}

#[test]
fn pictures_have_their_names_and_their_size() {
    let folder = tempfile::tempdir().unwrap();
    let pictures = folder.path().join("pictures");
    let at = pictures.to_str().unwrap();
    let output = view("pair", &["--picture", "all", "--output", at, "--size", "300x200"], &[]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let wanted = [
        "arch-left-step-1.png",
        "arch-left-step-2.png",
        "arch-left.png",
        "arch-right-step-1.png",
        "arch-right-step-2.png",
        "arch-right.png",
        "job.png",
    ];
    assert_eq!(names(&pictures), wanted);
    for name in wanted {
        let picture = image::open(pictures.join(name)).unwrap().to_rgb8();
        assert_eq!(picture.dimensions(), (300, 200));
        // Something is drawn there.
        let first = picture.get_pixel(0, 0);
        assert!(picture.pixels().filter(|pixel| *pixel != first).count() > 2000, "{name}");
    }
    // What is there is not replaced unless asked, and then nothing at all is written.
    fs::remove_file(pictures.join("arch-left-step-1.png")).unwrap();
    let again = view("pair", &["--picture", "step", "--output", at, "--size", "300x200"], &[]);
    assert_eq!(again.status.code(), Some(2));
    assert!(said(&again).contains("--force"), "{}", said(&again));
    assert!(!pictures.join("arch-left-step-1.png").exists());
    let forced = view(
        "pair",
        &["--picture", "step", "--output", at, "--size", "300x200", "--tube", "arch-left", "--step", "1", "--force"],
        &[],
    );
    assert_eq!(forced.status.code(), Some(0), "{}", said(&forced));
    assert!(pictures.join("arch-left-step-1.png").exists());
}

#[test]
fn a_tube_that_cannot_be_bent_is_shown_and_ends_with_1() {
    let folder = tempfile::tempdir().unwrap();
    let output = view("impossible", &["--picture", "job", "--output", folder.path().to_str().unwrap()], &[]);
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    assert_eq!(names(folder.path()), ["job.png"]);
}

#[test]
fn an_animation_is_a_gif_of_all_steps() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("hoop.gif");
    let output = view("hoop", &["--animation", path.to_str().unwrap(), "--size", "160x100"], &[]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let file = std::io::BufReader::new(fs::File::open(&path).unwrap());
    let frames = GifDecoder::new(file).unwrap().into_frames().collect_frames().unwrap();
    // Two bends of 86 degrees, a picture every 4 degrees at most.
    assert!(frames.len() > 40, "{}", frames.len());
    assert_eq!(frames[0].buffer().dimensions(), (160, 100));
    assert!(frames[0].buffer() != frames[20].buffer());
}

#[test]
fn mistakes_are_said_as_on_the_command_line_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().to_str().unwrap();
    let no_tube = view("hoop", &["--picture", "all", "--output", at, "--tube", "loop"], &[]);
    assert_eq!(no_tube.status.code(), Some(2));
    assert!(said(&no_tube).contains("loop") && said(&no_tube).contains("hoop"), "{}", said(&no_tube));
    let no_step = view("hoop", &["--picture", "step", "--output", at, "--step", "7"], &[]);
    assert_eq!(no_step.status.code(), Some(2), "{}", said(&no_step));
    let no_gif = view("hoop", &["--animation", folder.path().join("hoop.png").to_str().unwrap()], &[]);
    assert_eq!(no_gif.status.code(), Some(2));
    let no_folder = view("hoop", &["--picture", "all"], &[]);
    assert_eq!(no_folder.status.code(), Some(2));
    let no_job = view("not-there", &["--picture", "all", "--output", at], &[]);
    assert_eq!(no_job.status.code(), Some(2));
    assert!(said(&no_job).contains("not-there.yaml"), "{}", said(&no_job));
    let no_such_job = view("not-there", &[], &[]);
    assert_eq!(no_such_job.status.code(), Some(2));
    assert!(names(folder.path()).is_empty());
}
