//! The rules file: a rule set of the user's own.

use std::path::Path;
use std::sync::Arc;

use sha2::{Digest, Sha256};

use super::job::named_file;
use super::keys;
use super::load::{as_tree, finish, note_head, open_text, page, top_at};
use super::mistake::{Mistakes, Place, Source};
use super::reader::{Block, Limits, Log, Page};
use super::source::Files;
use crate::job::Rules;

/// A rule set from its file.
///
/// # Errors
///
/// All mistakes of the file.
pub fn load_rules(files: &dyn Files, path: &Path) -> Result<Rules, Mistakes> {
    let log = Log::default();
    let name = path.to_string_lossy();
    let (text, found) = open_rules(files, path, &log, 0, (Place::new(0, &(0..0)), &name));
    let sources = vec![Source { path: name.into_owned(), text }];
    finish(log, sources, found)
}

/// The rules file that a job names, as the next of its `sources`; `None` where it names none, and where there is a mistake, which is noted.
pub(super) fn rules_of_job(
    files: &dyn Files,
    job: &Path,
    page: &Page<'_>,
    top: &Block<'_>,
    sources: &mut Vec<Source>,
) -> Option<Rules> {
    let (named, place) = named_file(page, top, "rules", top.get("rules")?)?;
    let path = job.parent().unwrap_or(Path::new("")).join(named);
    let (text, found) = open_rules(files, &path, page.log, sources.len(), (place, named));
    sources.push(Source { path: path.to_string_lossy().into_owned(), text });
    found
}

/// Reads a rules file as the file number `file`; its text, and what it says. `named` is the place and the words that named it.
fn open_rules(
    files: &dyn Files,
    path: &Path,
    log: &Log,
    file: usize,
    named: (Place, &str),
) -> (Arc<str>, Option<Rules>) {
    // No figure of a step hangs on a rule: the fingerprint leaves it out.
    let text = match open_text(files, path, log, file, &mut Sha256::new(), named) {
        Ok(text) => text,
        Err(shown) => return (shown, None),
    };
    let found = as_tree(log, file, &text).and_then(|tree| {
        let page = page(log, file, &text, &tree, "rules")?;
        let top = page.block(&tree, "the rule set", &top_at(&tree), keys::RULES)?;
        note_head(&top, "rules");
        read_rules(&page, &top)
    });
    (text, found)
}

fn read_rules(page: &Page<'_>, top: &Block<'_>) -> Option<Rules> {
    let help =
        "say what the rules are called: the name stands on the card, so that their reader knows which text is meant";
    let name = top.need("name", help).and_then(|node| page.name(node, &top.of("name")));
    let thick = "it is the greatest OD / wall, and that of a tube is always above 2: a wall is under half the OD";
    let round = "it is the smallest diameter of a bend over its largest: write 0.9 for nine tenths";
    let part = |key: &str, hint: &'static str| top.number(key, Limits::above_to(0.0, 1.0).hint(hint));
    let mut rules = Rules {
        name: String::new(),
        clr_over_od: top.number("clr_over_od", Limits::ABOVE_0),
        od_over_wall: top.number("od_over_wall", Limits::above(2.0).hint(thick)),
        wall_min: top.length("wall_min", Limits::ABOVE_0),
        outer_wall_min: top.length("outer_wall_min", Limits::ABOVE_0),
        thinning: part("thinning", "it is a part of the wall: write 0.125 for 12.5 %"),
        outer_strain: part("outer_strain", "it is a part of the length: write 0.15 for 15 %"),
        straight_min: top.length("straight_min", Limits::ABOVE_0),
        minor_over_major: part("minor_over_major", round),
        major_minus_minor_over_od: part(
            "major_minus_minor_over_od",
            "it is the largest diameter of a bend less its smallest, over the OD: write 0.08 for 8 %",
        ),
        minor_over_od: part(
            "minor_over_od",
            "it is the smallest diameter of a bend over the OD before bending: write 0.75 for three quarters",
        ),
        notes: Vec::new(),
    };
    if let Some(node) = top.get("notes") {
        let what = top.of("notes");
        let items = page.items(node, &what, "a list of lines: `notes: [\"ends square\", \"no flame\"]`");
        for (number, item) in items.unwrap_or_default().iter().enumerate() {
            rules.notes.extend(page.name(item, &format!("entry {} of {what}", number + 1)).map(str::to_owned));
        }
    }
    name?.clone_into(&mut rules.name);
    Some(rules)
}
