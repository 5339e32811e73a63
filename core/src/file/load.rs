//! Opening files: the job, its bender, and the meshes of the bender.
//!
//! Each file is read once. A path in a file starts at that file's folder. What cannot be read is a mistake at the place
//! that named it; only the first file of all has no such place.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use sha2::{Digest, Sha256};

use super::bender::read_bender;
use super::beside::{Loading, unread};
use super::job::{bender_path, read_job};
use super::keys;
use super::mistake::{Mistake, Mistakes, Place, Source, quoted};
use super::places::Places;
use super::reader::{Block, Log, Page, listed};
use super::rules::rules_of_job;
use super::source::Files;
use super::survey::survey_of_job;
use super::tree::{self, Node, Unreadable, Value};
use crate::bender::Bender;
use crate::job::Job;
use crate::units::LengthUnit;

/// First four hex digits of a sum.
pub(super) fn fingerprint(sum: Sha256) -> String {
    sum.finalize().iter().take(2).map(|byte| format!("{byte:02x}")).collect()
}

/// A file's bytes as text, or the place up to which they are.
pub(super) fn as_text(bytes: Vec<u8>) -> Result<Arc<str>, (Arc<str>, Unreadable)> {
    match String::from_utf8(bytes) {
        Ok(text) => Ok(text.into()),
        Err(error) => {
            let good = error.utf8_error().valid_up_to();
            let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
            let unreadable = Unreadable {
                code: "file-not-text",
                span: good..good,
                message: "the file is not UTF-8 text: the character here cannot be read".to_owned(),
                help: "save it as UTF-8 from a text editor".to_owned(),
            };
            Err((text.into(), unreadable))
        }
    }
}

/// A file's tree, with the mistake noted where it is none.
pub(super) fn as_tree(log: &Log, file: usize, text: &str) -> Option<Node> {
    tree::parse(text).map_err(|unreadable| note_unreadable(log, file, unreadable)).ok()
}

pub(super) fn note_unreadable(log: &Log, file: usize, unreadable: Unreadable) {
    let Unreadable { code, span, message, help } = unreadable;
    log.add(Mistake::new(code, Place::new(file, &span), message, help));
}

/// The page of a file of one kind: its `kind` looked at, its `units` taken. `None` where it is another kind of file.
pub(super) fn page<'a>(log: &'a Log, file: usize, text: &'a str, tree: &Node, kind: &str) -> Option<Page<'a>> {
    let mut page = Page { log, file, text, unit: LengthUnit::Mm };
    let Value::Map(entries) = &tree.value else {
        page.mistake(
            "type-wrong",
            &tree.span,
            format!("the file must hold keys and values; found {}", tree.sort()),
            format!("a {kind} file starts with the lines `kind: {kind}` and `units: mm`"),
        );
        return None;
    };
    let value = |key: &str| entries.iter().find(|entry| entry.key.written() == Some(key)).map(|entry| &entry.value);
    if let Some(node) = value("kind")
        && let Some(found) = node.written()
        && found != kind
    {
        page.mistake(
            "kind-wrong",
            &node.span,
            format!("this is a file of the kind {}; a {kind} file is wanted here", quoted(found)),
            format!("name the {kind} file instead, or write `kind: {kind}` if that is what it is"),
        );
        return None;
    }
    if let Some(unit) = unit_said(entries) {
        page.unit = unit;
    }
    Some(page)
}

fn unit_said(entries: &[tree::Entry]) -> Option<LengthUnit> {
    let units = entries.iter().find(|entry| entry.key.written() == Some("units"))?;
    LengthUnit::from_name(units.value.written()?)
}

/// The units that a file says its bare numbers are in.
#[must_use]
pub fn units_of(text: &str) -> Option<LengthUnit> {
    match tree::parse(text).ok()?.value {
        Value::Map(entries) => unit_said(&entries),
        _ => None,
    }
}

/// Where a key is shown that is missing at the top of a file: its first key.
pub(super) fn top_at(tree: &Node) -> core::ops::Range<usize> {
    match &tree.value {
        Value::Map(entries) => entries.first().map_or(0..0, |entry| entry.key.span.clone()),
        _ => 0..0,
    }
}

/// Notes where `kind` or `units` is missing or no such word.
pub(super) fn note_head(top: &Block<'_>, kind: &str) {
    top.need_word("kind", &[(kind, ())], &format!("start the file with `kind: {kind}`"));
    let units = LengthUnit::ALL.map(|unit| (unit.name(), unit));
    let help = format!(
        "say what bare numbers are: `units: mm`; known are {}; there is no usual unit, since a wrong guess scraps a tube",
        listed(LengthUnit::ALL.map(LengthUnit::name))
    );
    top.need_word("units", &units, &help);
}

/// A record of what was measured from its file, of a kind with what messages call it, read by `read`, which adds the files that it names to the sources.
///
/// # Errors
///
/// All mistakes of the record and of what it names.
pub(super) fn open_record<T>(
    files: &dyn Files,
    path: &Path,
    (kind, said): (&str, &str),
    keys: &[&str],
    read: impl FnOnce(&Page<'_>, &Block<'_>, &mut Vec<Source>) -> Option<T>,
) -> Result<T, Mistakes> {
    let log = Log::default();
    let name = path.to_string_lossy().into_owned();
    // No figure of a step hangs on a record: it has no fingerprint.
    let opened = open_text(files, path, &log, 0, &mut Sha256::new(), (Place::new(0, &(0..0)), &name));
    let (Ok(text) | Err(text)) = opened.clone();
    let mut sources = vec![Source { path: name, text: Arc::clone(&text) }];
    let mut found = None;
    if opened.is_ok()
        && let Some(tree) = as_tree(&log, 0, &text)
        && let Some(page) = page(&log, 0, &text, &tree, kind)
        && let Some(top) = page.block(&tree, said, &top_at(&tree), keys)
    {
        note_head(&top, kind);
        found = read(&page, &top, &mut sources);
    }
    finish(log, sources, found)
}

/// A bender from its file.
///
/// # Errors
///
/// All mistakes of the file.
pub fn load_bender(files: &dyn Files, path: &Path) -> Result<Bender, Mistakes> {
    let log = Log::default();
    let name = path.to_string_lossy();
    let (text, found) = open_bender(files, path, &log, 0, &mut Sha256::new(), (Place::new(0, &(0..0)), &name));
    let sources = vec![Source { path: name.into_owned(), text }];
    finish(log, sources, found)
}

/// A job from its file, with its bender, the bender's meshes, its rules and its survey.
///
/// # Errors
///
/// All mistakes of the job, of the bender, of the rules and of the survey.
pub fn load_job(files: &dyn Files, path: &Path) -> Result<Job, Mistakes> {
    open_job(files, path).map(|opened| opened.job)
}

/// A job with all that is needed to change its file.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenJob {
    /// The job.
    pub job: Job,
    /// Where its figures stand in its file.
    pub places: Places,
    /// The job's file, then the bender's, then those of its rules and of its survey where it names them.
    pub files: Vec<Source>,
    /// Path of the bender's file.
    pub bender_path: PathBuf,
}

/// A job from its file, with the place of every figure of its tubes.
///
/// # Errors
///
/// All mistakes of the job, of the bender and of the rules.
pub fn open_job(files: &dyn Files, path: &Path) -> Result<OpenJob, Mistakes> {
    let log = Log::default();
    let name = path.to_string_lossy().into_owned();
    let mut sources = vec![Source { path: name.clone(), text: Arc::from("") }];
    let mut sum = Sha256::new();
    let text = match open_text(files, path, &log, 0, &mut sum, (Place::new(0, &(0..0)), &name)) {
        Ok(text) => text,
        Err(shown) => {
            sources[0].text = shown;
            return finish(log, sources, None);
        }
    };
    sources[0].text = Arc::clone(&text);
    let Some(tree) = as_tree(&log, 0, &text) else { return finish(log, sources, None) };
    let mut bender = None;
    let mut rules = None;
    let mut surveyed = None;
    let mut found = None;
    let mut units = LengthUnit::Mm;
    let mut bender_file = PathBuf::new();
    if let Some(page) = page(&log, 0, &text, &tree, "job")
        && let Some(top) = page.block(&tree, "the job", &top_at(&tree), keys::JOB)
    {
        units = page.unit;
        note_head(&top, "job");
        if let Some((named, place)) = bender_path(&page, &top) {
            bender_file = path.parent().unwrap_or(Path::new("")).join(named);
            let (text, read) = open_bender(files, &bender_file, &log, 1, &mut sum, (place, named));
            sources.push(Source { path: bender_file.to_string_lossy().into_owned(), text });
            bender = read;
        }
        rules = rules_of_job(files, path, &page, &top, &mut sources);
        let survey = survey_of_job(files, path, &page, &top, &mut sources);
        found = read_job(&page, &top, bender.as_ref(), survey.as_ref());
        surveyed = survey.map(|survey| survey.surveyed);
    }
    let opened = found.zip(bender).map(|(found, bender)| OpenJob {
        job: Job {
            units,
            date: found.date,
            bender,
            mirror: found.mirror,
            rules,
            bars: found.bars,
            surveyed,
            tubes: found.tubes,
            fingerprint: fingerprint(sum),
        },
        places: found.places,
        files: sources.clone(),
        bender_path: bender_file,
    });
    finish(log, sources, opened)
}

/// The text of a file, its bytes added to `sum`; what can be shown of it where it cannot be read, which is noted.
pub(super) fn open_text(
    files: &dyn Files,
    path: &Path,
    log: &Log,
    file: usize,
    sum: &mut Sha256,
    named: (Place, &str),
) -> Result<Arc<str>, Arc<str>> {
    let bytes = files.read(path).map_err(|error| {
        log.add(unread(named.0, named.1, path, &error));
        Arc::from("")
    })?;
    sum.update(&bytes);
    as_text(bytes).map_err(|(text, unreadable)| {
        note_unreadable(log, file, unreadable);
        text
    })
}

/// Reads a bender file as the file number `file`; its text, and what it says. `named` is the place and the words that
/// named it.
pub(super) fn open_bender(
    files: &dyn Files,
    path: &Path,
    log: &Log,
    file: usize,
    sum: &mut Sha256,
    named: (Place, &str),
) -> (Arc<str>, Option<Bender>) {
    let text = match open_text(files, path, log, file, sum, named) {
        Ok(text) => text,
        Err(shown) => return (shown, None),
    };
    let mut loading = Loading::beside(files, path);
    let found = as_tree(log, file, &text).and_then(|tree| {
        let page = page(log, file, &text, &tree, "bender")?;
        let top = page.block(&tree, "the bender", &top_at(&tree), keys::BENDER)?;
        note_head(&top, "bender");
        read_bender(&page, &top, &mut loading)
    });
    loading.sum_up(sum);
    (text, found)
}

/// What was read, or all mistakes.
pub(super) fn finish<T>(log: Log, sources: Vec<Source>, found: Option<T>) -> Result<T, Mistakes> {
    let list = log.take();
    match found {
        Some(found) if list.is_empty() => Ok(found),
        _ => Err(Mistakes::new(sources, list)),
    }
}
