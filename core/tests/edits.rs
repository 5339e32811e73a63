//! Changes in files: all that is not changed keeps its bytes, and what is read back is what was asked for.
//!
//! `TUBEWRIGHT_COUNT=full` makes twenty times as many.

#[expect(unreachable_pub, reason = "shared with other tests")]
mod random;

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use random::Random;
use tubewright::file::edit::{At, Edit, New, Refused, apply, same, whole};
use tubewright::file::tree::{Node, Value, parse};
use tubewright::file::{Disk, Files, ReadError, load_job};
use tubewright::plan::{Options, document::Document, plan};
use tubewright::round::People;

fn samples() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../samples"))
}

/// All YAML samples that are trees, sound and broken ones, with their names.
fn trees() -> Vec<(String, String)> {
    let mut found = Vec::new();
    for folder in ["jobs", "benders", "broken"] {
        for entry in std::fs::read_dir(samples().join(folder)).expect("a folder of samples") {
            let path = entry.expect("a sample").path();
            let Ok(text) = std::fs::read_to_string(&path) else { continue };
            if path.extension().is_some_and(|extension| extension == "yaml") && parse(&text).is_ok() {
                found.push((path.file_name().expect("a name").to_string_lossy().into_owned(), text));
            }
        }
    }
    found.sort();
    assert!(found.len() > 50, "{}", found.len());
    found
}

/// Every place of a tree, in its order, with what stands there where that is a scalar.
fn places(tree: &Node) -> Vec<(At, Option<String>)> {
    fn walk(node: &Node, at: &At, out: &mut Vec<(At, Option<String>)>) {
        match &node.value {
            Value::List(items) => {
                out.push((at.clone(), None));
                items.iter().enumerate().for_each(|(place, item)| walk(item, &at.item(place), out));
            }
            Value::Map(entries) => {
                out.push((at.clone(), None));
                for entry in entries {
                    let Some(key) = entry.key.written() else { continue };
                    walk(&entry.value, &at.key(key), out);
                }
            }
            _ => out.push((at.clone(), Some(node.written().unwrap_or("nothing").to_owned()))),
        }
    }
    let mut out = Vec::new();
    walk(tree, &At::top(), &mut out);
    out
}

/// What figures and words are changed into: as people type them, and what needs quotes.
const SAID: [&str; 18] = [
    "44 1/2",
    "44 1/2\"",
    "7' 1\"",
    "1130 mm",
    "44-1/2",
    "-3 1/2",
    "0.50",
    "hoop",
    "a: b",
    "a # b",
    "[1",
    "it's",
    "\"both\" 'kinds'",
    "",
    "null",
    "true",
    "*x",
    "é\u{1F527}",
];

fn common(one: &str, other: &str) -> (usize, usize) {
    let (one, other) = (one.as_bytes(), other.as_bytes());
    let start = one.iter().zip(other).take_while(|(one, other)| one == other).count();
    let rest = one.len().min(other.len()) - start;
    let end = one.iter().rev().zip(other.iter().rev()).take(rest).take_while(|(one, other)| one == other).count();
    (start, end)
}

fn remarks(text: &str) -> Vec<&str> {
    text.lines().filter(|line| line.trim_start().starts_with('#')).collect()
}

#[test]
fn a_changed_figure_leaves_every_other_byte_as_it_was() {
    let mut random = Random(1);
    let rounds = if std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|count| count == "full") { 400 } else { 20 };
    for (name, text) in trees() {
        let tree = parse(&text).unwrap();
        let all = places(&tree);
        let scalars: Vec<_> = all.iter().filter(|(_, said)| said.is_some()).collect();
        for _ in 0..rounds {
            let (at, _) = scalars[random.below(scalars.len() as u64) as usize];
            let said = SAID[random.below(SAID.len() as u64) as usize];
            let edited = apply(&text, &[Edit::Set { at: at.clone(), said: said.to_owned() }]);
            let edited = edited.unwrap_or_else(|refused| panic!("{name}: {at}: {refused}"));
            let node = at.of(&tree).unwrap();
            let keys_twice = name == "key-twice.yaml";
            assert!(edited.in_place || node.aliased || keys_twice, "{name}: {at} as {said:?}\n{}", edited.text);
            if edited.in_place && node.value != Value::Nothing {
                let (before, after) = (&text[..node.span.start], &text[node.span.end..]);
                assert!(edited.text.starts_with(before) && edited.text.ends_with(after), "{name}: {at} as {said:?}");
            }
            let found = places(&parse(&edited.text).unwrap());
            for ((was_at, was), (is_at, is)) in all.iter().zip(&found) {
                let wanted = if was_at == at { Some(said.to_owned()) } else { was.clone() };
                assert!(keys_twice || (was_at == is_at && *is == wanted), "{name}: {at} as {said:?}: {is_at} {is:?}");
            }
            assert_eq!(all.len(), found.len(), "{name}: {at} as {said:?}");
        }
    }
}

#[test]
fn what_is_put_in_and_taken_out_again_leaves_no_trace() {
    let mut random = Random(2);
    let rounds = if std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|count| count == "full") { 400 } else { 20 };
    let (mut in_place, mut anew) = (0, 0);
    for (name, text) in trees().into_iter().filter(|(name, _)| name != "key-twice.yaml") {
        let tree = parse(&text).unwrap();
        let holders: Vec<At> = places(&tree).into_iter().filter(|(_, said)| said.is_none()).map(|(at, _)| at).collect();
        for _ in 0..rounds {
            let of = holders[random.below(holders.len() as u64) as usize].clone();
            let new = match random.below(3) {
                0 => New::said(SAID[random.below(SAID.len() as u64) as usize]),
                1 => New::List(vec![New::said("0"), New::said("30-1/2"), New::said("7' 1\"")]),
                _ => New::Map(vec![("length".to_owned(), New::said("10")), ("bend".to_owned(), New::said("45"))]),
            };
            let (edit, added) = match &of.of(&tree).unwrap().value {
                Value::List(items) => {
                    let place = random.below(items.len() as u64 + 1) as usize;
                    (Edit::Item { of: of.clone(), place, new }, of.item(place))
                }
                Value::Map(entries) => {
                    let place = random.below(entries.len() as u64 + 1) as usize;
                    let key = "a new one".to_owned();
                    (Edit::Key { of: of.clone(), place, key: key.clone(), new }, of.key(key))
                }
                _ => continue,
            };
            let more = apply(&text, &[edit]).unwrap_or_else(|refused| panic!("{name}: {of}: {refused}"));
            let found = parse(&more.text).unwrap();
            assert!(added.of(&found).is_some(), "{name}: {added}");
            let less = apply(&more.text, &[Edit::Remove { at: added.clone() }]).unwrap();
            assert!(same(&parse(&less.text).unwrap(), &tree), "{name}: {added}\n{}", less.text);
            if !more.in_place {
                anew += 1;
                continue;
            }
            in_place += 1;
            let (start, end) = common(&text, &more.text);
            assert_eq!(start + end, text.len(), "{name}: {added}\n{}", more.text);
            if less.in_place {
                let (start, end) = common(&less.text, &text);
                // At most the blanks within empty brackets, or the end of the last line, are not what they were.
                assert!(start + end + 2 >= text.len().max(less.text.len()), "{name}: {added}\n{}", less.text);
                assert_eq!(remarks(&text), remarks(&less.text), "{name}: {added}");
            }
        }
    }
    assert!(in_place > 50 * anew, "{in_place} {anew}");
}

#[test]
fn what_is_taken_out_takes_its_lines_and_no_other_remark() {
    let mut random = Random(3);
    for (name, text) in trees().into_iter().filter(|(name, _)| name != "key-twice.yaml") {
        let tree = parse(&text).unwrap();
        let all: Vec<At> = places(&tree).into_iter().map(|(at, _)| at).filter(|at| !at.parts().is_empty()).collect();
        for _ in 0..20 {
            let at = &all[random.below(all.len() as u64) as usize];
            let Ok(less) = apply(&text, &[Edit::Remove { at: at.clone() }]) else { panic!("{name}: {at}") };
            // A file without anything in it is no tree.
            let Ok(found) = parse(&less.text) else { continue };
            let left = places(&tree).into_iter().filter(|(place, _)| !place.parts().starts_with(at.parts())).count();
            assert_eq!(places(&found).len(), left, "{name}: {at}\n{}", less.text);
            if less.in_place {
                let (start, end) = common(&text, &less.text);
                assert_eq!(start + end, less.text.len(), "{name}: {at}");
            }
        }
    }
}

#[test]
fn a_file_written_anew_says_the_same() {
    for (name, text) in trees() {
        let tree = parse(&text).unwrap();
        let anew = whole(&tree);
        let read = parse(&anew).unwrap_or_else(|error| panic!("{name}: {error:?}\n{anew}"));
        assert!(same(&read, &tree), "{name}\n{anew}");
    }
}

fn set(at: At, said: &str) -> Edit {
    Edit::Set { at, said: said.to_owned() }
}

#[test]
fn quotes_remarks_and_line_ends_stay() {
    let text = "\u{feff}a: \"1 1/2\"  # one\r\nb: '2''3'\r\nc: [ 4 , 5 ] # list\r\nd:\r\n  - x # first\r\n  - y";
    let cases: [(Edit, &str); 8] = [
        (set(At::top().key("a"), "7' 1\""), "a: \"7' 1\\\"\"  # one"),
        (set(At::top().key("b"), "it's"), "b: 'it''s'"),
        (set(At::top().key("c").item(0), " 44 1/2 "), "c: [ 44 1/2 , 5 ] # list"),
        (Edit::Item { of: At::top().key("c"), place: 2, new: New::said("6") }, "c: [ 4 , 5, 6 ] # list"),
        (Edit::Item { of: At::top().key("d"), place: 1, new: New::said("z") }, "- x # first\r\n  - z\r\n  - y"),
        (Edit::Item { of: At::top().key("d"), place: 2, new: New::said("z") }, "- y\r\n  - z"),
        (Edit::Remove { at: At::top().key("d").item(0) }, "d:\r\n  - y"),
        (
            Edit::Key { of: At::top(), place: 2, key: "n".to_owned(), new: New::List(vec![New::said("1")]) },
            "'2''3'\r\nn: [1]\r\nc:",
        ),
    ];
    for (edit, wanted) in cases {
        let edited = apply(text, std::slice::from_ref(&edit)).unwrap();
        assert!(edited.in_place && edited.text.contains(wanted), "{edit:?}\n{}", edited.text);
    }
}

#[test]
fn a_remark_above_a_line_stays_with_it() {
    let text = "nodes:\n  # the foot\n  foot: [0, 0, 0]\n  # the knee\n  knee: [1, 0, 0]   # bent\n";
    let new = || New::List(vec![New::said("9"), New::said("9"), New::said("9")]);
    let put = |place| Edit::Key { of: At::top().key("nodes"), place, key: "n".to_owned(), new: new() };
    assert_eq!(apply(text, &[put(0)]).unwrap().text, text.replace("  # the foot", "  n: [9, 9, 9]\n  # the foot"));
    assert_eq!(apply(text, &[put(1)]).unwrap().text, text.replace("  # the knee", "  n: [9, 9, 9]\n  # the knee"));
    assert_eq!(apply(text, &[put(2)]).unwrap().text, format!("{text}  n: [9, 9, 9]\n"));
}

#[test]
fn a_value_used_twice_is_not_changed_in_place() {
    let text = "# used twice\na: &x 3 1/2\nb: *x\nc: 1\n";
    for key in ["a", "b"] {
        let edited = apply(text, &[set(At::top().key(key), "4")]).unwrap();
        assert!(!edited.in_place);
        let tree = parse(&edited.text).unwrap();
        let said = |key| At::top().key(key).of(&tree).and_then(Node::written).unwrap().to_owned();
        assert_eq!([said("a"), said("b")].into_iter().filter(|said| said == "4").count(), 1, "{}", edited.text);
    }
    assert_eq!(apply(text, &[set(At::top().key("c"), "2")]).unwrap().text, text.replace("c: 1", "c: 2"));
}

#[test]
fn what_is_not_there_is_refused() {
    let text = "a: 1\nb: [1]\n";
    let at = At::top().key("z");
    assert_eq!(apply(text, &[set(at.clone(), "4")]), Err(Refused::NoSuchPlace(at)));
    let at = At::top().key("b");
    assert_eq!(apply(text, &[set(at.clone(), "4")]), Err(Refused::NoSuchPlace(at)));
    let twice = Edit::Key { of: At::top(), place: 0, key: "a".to_owned(), new: New::said("1") };
    assert_eq!(apply(text, &[twice]), Err(Refused::KeyTwice(At::top().key("a"))));
    assert!(matches!(apply("a: [", &[]).map(|_| ()), Ok(())));
    assert!(matches!(apply("a: [", &[Edit::Remove { at: At::top().key("a") }]), Err(Refused::Unreadable(_))));
}

/// The disk with other text in one file.
struct Instead<'t>(&'t Path, &'t str);

impl Files for Instead<'_> {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        if path == self.0 { Ok(self.1.as_bytes().to_vec()) } else { Disk.read(path) }
    }
}

fn plan_of(path: &Path, text: &str) -> String {
    let job = load_job(&Instead(path, text), path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people: People::mm() };
    Document::new(&plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).expect("all tubes")).to_json()
}

#[test]
fn changes_give_the_same_plan_as_the_same_changes_by_hand() {
    let top = At::top;
    let cases: [(&str, Vec<Edit>, &str, &str); 5] = [
        ("hoop.yaml", vec![set(top().key("nodes").key("knee-left").item(2), "31 1/4")], "30-1/2]", "31 1/4]"),
        ("handle.yaml", vec![set(top().key("tubes").key("handle").key("legs").item(1), "1' 3\"")], "14,", "1' 3\","),
        (
            "rack.yaml",
            vec![set(top().key("tubes").key("hanger").key("rows").item(1).key("rotation"), "90")],
            "rotation: 180,",
            "rotation: 90,",
        ),
        (
            "rail.yaml",
            vec![
                Edit::Remove { at: top().key("nodes").key("footwell") },
                Edit::Remove { at: top().key("tubes").key("rail").key("path").item(4) },
            ],
            "  footwell: [640, 430, 150]\n",
            "",
        ),
        (
            "grab-handle.yaml",
            vec![Edit::Key {
                of: top().key("tubes").key("grab-handle"),
                place: 1,
                key: "tube".to_owned(),
                new: New::Map(vec![("die".to_owned(), New::said("four-and-a-half-inch"))]),
            }],
            "      - { length: 60 }\n",
            "      - { length: 60 }\n    tube: { die: four-and-a-half-inch }\n",
        ),
    ];
    for (name, edits, was, is) in cases {
        let path = samples().join("jobs").join(name);
        let text = std::fs::read_to_string(&path).unwrap();
        assert_eq!(text.matches(was).count(), 1, "{name}");
        let by_hand = text.replace(was, is).replace("sill, footwell,", "sill,");
        let edited = apply(&text, &edits).unwrap();
        assert!(edited.in_place, "{name}");
        assert_eq!(edited.text, if name == "rail.yaml" { by_hand.clone() } else { text.replace(was, is) }, "{name}");
        assert_eq!(plan_of(&path, &edited.text), plan_of(&path, &by_hand), "{name}");
    }
}
