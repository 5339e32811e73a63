//! A tube held against the user's rules: each limit by its own definition, with a figure on either side of it.

use std::path::Path;
use std::sync::atomic::AtomicBool;

use tubewright::file::{Held, load_job};
use tubewright::plan::{Options, TubePlan, plan};
use tubewright::round::People;

const BENDER: &str = "kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
dies:
  big: { od: 40, clr: 120, max_angle: 195, clamp_length: 70, follower_length: 150 }
  small: { od: 40, clr: 100, max_angle: 195, clamp_length: 70, follower_length: 150 }
";

/// Three bends, the first and the last in the small die.
const BENT: &str =
    "{ dies: [small, big, small], legs: [600, 500, 500, 600], bends: [20, 20, 20], rotations: [180, 180] }";

/// The plan of one tube of OD 40, held against rules.
fn held(rules: &str, stock: &str, tube: &str, people: People) -> TubePlan {
    let job = format!(
        "kind: job\nunits: mm\nbender: b.yaml\nrules: r.yaml\ntube: {{ od: 40, {stock} }}\ntubes:\n  one: {tube}\n"
    );
    let rules = format!("kind: rules\nunits: mm\nname: Our rules\n{rules}\n");
    let files = Held::default().with("j.yaml", job).with("b.yaml", BENDER).with("r.yaml", rules);
    let job = load_job(&files, Path::new("j.yaml")).unwrap_or_else(|mistakes| panic!("{}", mistakes.render(false)));
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people };
    plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).expect("all tubes are asked for").tubes.remove(0)
}

/// Codes of the notes about rules.
fn codes(tube: &TubePlan) -> Vec<&str> {
    tube.notes.iter().map(|note| note.code).filter(|code| code.starts_with("rule-")).collect()
}

fn asked(rules: &str, stock: &str, tube: &str) -> Vec<String> {
    codes(&held(rules, stock, tube, People::mm())).into_iter().map(str::to_owned).collect()
}

#[test]
fn a_tube_that_keeps_every_rule_has_no_note_of_them() {
    let none: [&str; 0] = [];
    assert_eq!(asked("clr_over_od: 2.5\nod_over_wall: 20\nwall_min: 2", "wall: 2", BENT), none);
    assert_eq!(asked("notes: [no flame]", "wall: 2", BENT), none);
}

#[test]
fn each_limit_is_checked_by_its_own_definition() {
    // CLR 100 over OD 40 is 2.5, OD 40 over wall 2 is 20.
    assert_eq!(asked("clr_over_od: 2.501\nod_over_wall: 20\nwall_min: 2", "wall: 2", BENT), ["rule-clr-over-od"]);
    assert_eq!(asked("clr_over_od: 2.5\nod_over_wall: 19.99\nwall_min: 2", "wall: 2", BENT), ["rule-od-over-wall"]);
    assert_eq!(asked("clr_over_od: 2.5\nod_over_wall: 20\nwall_min: 2.01", "wall: 2", BENT), ["rule-wall-min"]);
    let all = "clr_over_od: 4\nod_over_wall: 10\nwall_min: 3";
    let both = ["rule-clr-over-od", "rule-clr-over-od", "rule-od-over-wall", "rule-wall-min"];
    assert_eq!(asked(all, "wall: 2", BENT), both);
    // What is only cut has no CLR, but a wall.
    assert_eq!(asked(all, "wall: 2", "{ legs: [500] }"), ["rule-od-over-wall", "rule-wall-min"]);
}

#[test]
fn a_broken_rule_comes_first_and_says_which_bends_what_is_asked_and_what_there_is() {
    let tube = held("clr_over_od: 2.75\nod_over_wall: 15", "wall: 2", BENT, People::mm());
    assert!(tube.feasible, "a rule is no limit of the bender");
    assert_eq!(tube.notes[0].code, "rule-clr-over-od");
    assert_eq!(
        tube.notes[0].text,
        "a rule is broken, of Our rules: at bends 1 and 3 the CLR of die small, 100.0 mm, is 2.5 x OD, and 2.75 x OD, 110.0 mm, is the least \
         that is allowed"
    );
    assert_eq!(
        tube.notes[1].text,
        "a rule is broken, of Our rules: OD 40.0 mm over wall 2.0 mm is 20, and at most 15 is allowed: it would take a wall of 2.7 mm"
    );
    // Rounded toward what is broken, in the units of the reader: 110 mm is 4.3307 in, 2.667 mm 0.10499 in.
    let tube = held("clr_over_od: 2.75\nod_over_wall: 15", "wall: 2", BENT, People::inch());
    assert!(tube.notes[0].text.contains("2.75 x OD, 4.331 in,"), "{}", tube.notes[0].text);
    assert!(tube.notes[1].text.ends_with("a wall of 0.105 in"), "{}", tube.notes[1].text);
}

#[test]
fn a_tube_that_cannot_be_bent_has_its_broken_rules_told_too() {
    let tube = held("clr_over_od: 2.75", "wall: 2", "{ dies: [small], legs: [110, 900], bends: [90] }", People::mm());
    assert!(!tube.feasible);
    assert_eq!(codes(&tube), ["rule-clr-over-od"]);
    assert!(tube.notes[0].text.contains("at bend 1 the CLR"), "{}", tube.notes[0].text);
}

#[test]
fn what_cannot_be_told_is_said_and_not_taken_as_kept() {
    let wall = held("od_over_wall: 15\nwall_min: 2", "die: small", BENT, People::mm());
    let wanted = "of Our rules, OD over wall and the least wall could not be checked: no wall is given";
    assert!(wall.notes.iter().any(|note| note.code == "rule-not-checked" && note.text == wanted), "{:?}", wall.notes);
    assert_eq!(asked("clr_over_od: 2", "die: small", BENT), [""; 0]);
    assert_eq!(asked("minor_over_major: 0.9", "wall: 2", BENT), ["rule-to-measure"]);
    assert_eq!(asked("minor_over_major: 0.9", "wall: 2", "{ legs: [500] }"), [""; 0]);
}
