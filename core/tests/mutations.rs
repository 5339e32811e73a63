//! Samples with something changed by chance, always the same chance: whatever comes out, nothing panics, and what is
//! refused says where and why.
//!
//! `TUBEWRIGHT_COUNT=full` runs fifty times as many.

#![expect(clippy::print_stdout, reason = "each input is shown where its test fails, and only there")]

#[path = "../fuzz/inputs.rs"]
#[allow(dead_code, reason = "shared with the fuzz targets")]
mod inputs;

use std::path::Path;

/// A linear congruential generator (Knuth, The Art of Computer Programming, volume 2, 3.3.4; the multiplier from memory):
/// the same on every system.
struct Chance(u64);

impl Chance {
    fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % bound.max(1)
    }
}

/// What figures and words are changed into: bounds, signs, other sorts, and things that other readers know.
const ODD: [&str; 44] = [
    "0",
    "-0",
    "-1",
    "1",
    "1e-9",
    "1e-300",
    "1e300",
    "1e999",
    "9999999",
    ".nan",
    "-.inf",
    "179.99999",
    "180",
    "359.99",
    "175.0000001",
    "0.04999",
    "0.05",
    "1/2",
    "3 5/4",
    "7' 13\"",
    "''",
    "\"\\u202e\"",
    "null",
    "~",
    "true",
    "yes",
    "[]",
    "{}",
    "[0, 0, 0]",
    "[[[[[[[[]]]]]]]]",
    "{ a: 1 }",
    "*x",
    "&x 1",
    "!t 1",
    "0x10",
    "1_000",
    "007",
    "-",
    ":",
    "#",
    "mild-steel",
    "floor",
    "die-stands",
    "clockwise",
];

/// One change: a figure or a word for another, a byte, a line left out, doubled or moved.
fn changed(text: &str, chance: &mut Chance) -> Vec<u8> {
    let mut words: Vec<&str> = text.split_inclusive([' ', '\n', ',', '[', ']', '{', '}', ':']).collect();
    let mut lines: Vec<&str> = text.split_inclusive('\n').collect();
    let line = chance.below(lines.len());
    match chance.below(8) {
        0..=3 => {
            let place = chance.below(words.len());
            let old = words[place];
            // The last word may end in a letter of several bytes: that of an earlier change that was no UTF-8.
            let end = old.char_indices().next_back().map_or("", |(at, _)| &old[at..]);
            let new = format!("{}{end}", ODD[chance.below(ODD.len())]);
            words[place] = &new;
            words.concat().into_bytes()
        }
        4 => {
            let mut bytes = text.as_bytes().to_vec();
            let place = chance.below(bytes.len());
            bytes[place] = chance.below(256) as u8;
            bytes
        }
        5 => {
            lines.remove(line);
            lines.concat().into_bytes()
        }
        6 => {
            lines.insert(line, lines[line]);
            lines.concat().into_bytes()
        }
        _ => {
            let other = chance.below(lines.len());
            lines.swap(line, other);
            lines.concat().into_bytes()
        }
    }
}

/// Runs one to three changes of each sample in a folder, so many times.
fn run(folder: &str, times: usize, seed: u64, of: fn(&[u8])) {
    let full = std::env::var_os("TUBEWRIGHT_COUNT").is_some_and(|count| count == "full");
    let times = if full { 50 * times } else { times };
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(folder);
    let entries = std::fs::read_dir(folder).expect("the folder is part of the source");
    let mut files: Vec<_> = entries.map(|entry| entry.expect("it can be listed").path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "yaml"));
    files.sort();
    assert!(!files.is_empty());
    let mut chance = Chance(seed);
    for file in files {
        let text = std::fs::read_to_string(&file).expect("samples are text");
        for _ in 0..times {
            let mut data = changed(&text, &mut chance);
            for _ in 0..chance.below(3) {
                data = changed(&String::from_utf8_lossy(&data), &mut chance);
            }
            println!("==== {}\n{}", file.display(), String::from_utf8_lossy(&data));
            of(&data);
        }
    }
}

#[test]
fn changed_jobs_are_read_or_refused() {
    run("samples/jobs", 150, 1, inputs::job);
}

#[test]
fn changed_benders_are_read_or_refused() {
    run("samples/benders", 150, 2, inputs::bender);
}

#[test]
fn changed_jobs_are_planned_or_refused() {
    run("samples/jobs", 25, 3, inputs::plan);
}

#[test]
fn changed_records_of_test_bends_are_read_or_refused() {
    run("samples/records", 400, 4, inputs::record);
}

#[test]
fn changed_surveys_are_read_or_refused() {
    run("samples/surveys", 60, 5, inputs::survey);
}
