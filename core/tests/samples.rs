//! Every sample is read without a mistake; every broken one with exactly the words that stand beside it.
//!
//! `TUBEWRIGHT_UPDATE=1 cargo test -p tubewright --test samples` writes the words anew: read the difference.

use std::path::{Path, PathBuf};

use tubewright::file::mistake::{CODES, Mistakes};
use tubewright::file::{
    Disk, Files, ReadError, ShapeFormat, load_bender, load_bender_sizes, load_job, load_measured_part, load_rules,
    load_survey, load_test_bends, read_shape,
};

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(name)
}

fn files(name: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder(name)).expect("the folder is part of the source");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("it can be listed").path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "yaml" || ending == "csv"));
    files.sort();
    files
}

/// Whether a file is of the sort that names beginning so are kept for.
fn is_of(path: &Path, sort: &str) -> bool {
    path.file_name().is_some_and(|name| name.to_string_lossy().starts_with(sort))
}

#[test]
fn every_job_of_the_samples_is_read() {
    for path in files("samples/jobs").into_iter().chain(files("tests/python/jobs")) {
        let job = load_job(&Disk, &path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
        assert!(!job.tubes.is_empty());
        assert_eq!(job.fingerprint.len(), 4);
    }
}

#[test]
fn every_bender_of_the_samples_is_read() {
    for path in files("samples/benders").into_iter().chain(files("tests/python/benders")) {
        load_bender(&Disk, &path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    }
}

#[test]
fn every_rule_set_of_the_samples_is_read() {
    let files = files("samples/rules");
    assert!(!files.is_empty());
    for path in files {
        load_rules(&Disk, &path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    }
}

#[test]
fn every_sheet_of_sizes_of_the_samples_is_read() {
    let files = files("samples/sizes");
    assert!(!files.is_empty());
    for path in files {
        load_bender_sizes(&Disk, &path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    }
}

#[test]
fn every_record_of_the_samples_is_read() {
    let (parts, bends): (Vec<PathBuf>, Vec<PathBuf>) =
        files("samples/records").into_iter().partition(|path| is_of(path, "part-"));
    assert!(!parts.is_empty() && !bends.is_empty());
    for path in bends {
        load_test_bends(&Disk, &path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    }
    for path in parts {
        load_measured_part(&Disk, &path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    }
}

#[test]
fn every_survey_of_the_samples_is_read() {
    let files = files("samples/surveys");
    assert!(!files.is_empty());
    for path in files {
        load_survey(&Disk, &path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    }
}

/// The disk as seen from the project's folder, so that messages show the paths that a person there would type.
struct Project;

impl Files for Project {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        Disk.read(&folder("").join(path))
    }
}

/// What is said of a broken sample: a file is a bender, its sizes, a rule set, a record of test bends or of a bent part, a survey or a shape where its name says so, else a job.
fn said(path: &Path) -> Mistakes {
    let name = path.file_name().expect("it is a file").to_string_lossy().into_owned();
    let shown = Path::new("samples/broken").join(&name);
    let mistakes = if name.starts_with("shape-") {
        let text = std::fs::read_to_string(path).expect("it can be read");
        let format = if name.ends_with("csv") { ShapeFormat::Csv } else { ShapeFormat::Yaml };
        // What says `clr` in its name is read without a radius from elsewhere, or with one too many.
        let clr = (format == ShapeFormat::Csv || name.contains("twice")).then_some("127");
        read_shape(&shown.to_string_lossy(), &text, format, clr).err()
    } else if name.starts_with("rules-") {
        load_rules(&Project, &shown).err()
    } else if name.starts_with("record-") {
        load_test_bends(&Project, &shown).err()
    } else if name.starts_with("part-") {
        load_measured_part(&Project, &shown).err()
    } else if name.starts_with("sizes-") {
        load_bender_sizes(&Project, &shown).err()
    } else if name.starts_with("survey-") {
        load_survey(&Project, &shown).err()
    } else if name.starts_with("bender-") {
        load_bender(&Project, &shown).err()
    } else {
        load_job(&Project, &shown).err()
    };
    mistakes.unwrap_or_else(|| panic!("{name} is read without a mistake"))
}

#[test]
fn every_broken_sample_is_refused_in_the_words_beside_it() {
    let update = std::env::var_os("TUBEWRIGHT_UPDATE").is_some();
    let mut wrong = Vec::new();
    for path in files("samples/broken") {
        let said = said(&path).render(false);
        let beside = path.with_extension("txt");
        if update {
            std::fs::write(&beside, &said).expect("the words can be written");
        } else if std::fs::read_to_string(&beside).unwrap_or_default() != said {
            wrong.push(format!("{}:\n{said}", path.display()));
        }
    }
    assert!(
        wrong.is_empty(),
        "these words changed; if they are better so, set TUBEWRIGHT_UPDATE=1\n\n{}",
        wrong.join("\n")
    );
}

#[test]
fn every_code_has_a_broken_sample_and_every_sample_a_known_code() {
    // What a small file cannot show: a large one, one that the system will not open, and what is caught before.
    const NOT_SHOWN: [&str; 4] = ["file-too-large", "file-unreadable", "number-unclear", "radius-not-positive"];
    let mut found: Vec<&str> = files("samples/broken")
        .iter()
        .flat_map(|path| said(path).list.into_iter().map(|mistake| mistake.code))
        .chain(NOT_SHOWN)
        .collect();
    found.sort_unstable();
    found.dedup();
    let mut known = CODES.to_vec();
    known.sort_unstable();
    assert_eq!(found, known);
}
