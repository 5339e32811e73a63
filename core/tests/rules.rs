//! A tube held against the user's rules: each limit by its own definition, with a figure on either side of it.

use std::path::Path;
use std::sync::atomic::AtomicBool;

use tubewright::file::{Held, load_job};
use tubewright::plan::{Kept, Options, TubePlan, plan};
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

/// CLR 100 on OD 40: 100 / 120 of the wall are left outside, 1.666.. of 2, a sixth is lost, the strain is 20 / 100. Straights of 500 less
/// 120 tan 10 and 100 tan 10 between them, 461.2 and 461.2, the last like the first.
#[test]
fn limits_of_the_closed_form_and_of_straights_have_a_figure_on_either_side() {
    for (kept, broken, code) in [
        ("outer_wall_min: 1.6666", "outer_wall_min: 1.6667", "rule-outer-wall-min"),
        ("thinning: 0.16667", "thinning: 0.16666", "rule-thinning"),
        ("outer_strain: 0.2", "outer_strain: 0.19999", "rule-outer-strain"),
        ("straight_min: 461.2", "straight_min: 461.3", "rule-straight-min"),
    ] {
        assert_eq!(asked(kept, "wall: 2", BENT), [""; 0], "{kept}");
        assert_eq!(asked(broken, "wall: 2", BENT), [code], "{broken}");
    }
    // Ends are no straights between bends.
    assert_eq!(asked("straight_min: 5000", "wall: 2", "{ dies: [small], legs: [600, 500], bends: [20] }"), [""; 0]);
    let tube = held("thinning: 0.15", "wall: 2", BENT, People::mm());
    assert_eq!(
        tube.notes[0].text,
        "a rule is broken, of Our rules: at bends 1 and 3 the part of the wall lost on the outside of a bend, by closed form is 0.167 in die small, \
         and 0.15 is the most that is allowed"
    );
}

#[test]
fn every_limit_says_whether_it_is_kept_and_by_which_figure() {
    let rules = "clr_over_od: 2.75\nod_over_wall: 20\nouter_wall_min: 1.5\nminor_over_major: 0.9";
    let texts = |tube: &TubePlan| tube.fitness.limits.iter().map(|limit| limit.text.clone()).collect::<Vec<_>>();
    let wanted = [
        "CLR over OD, at least 2.75: pass, 3 at bend 2 in die big",
        "CLR over OD, at least 2.75: FAIL, 2.5 at bends 1 and 3 in die small",
        "OD over wall, at most 20: pass, 20",
        "wall left on the outside of a bend, by closed form, at least 1.5 mm: pass, 1.71 mm at bend 2 in die big",
        "wall left on the outside of a bend, by closed form, at least 1.5 mm: pass, 1.66 mm at bends 1 and 3 in die small",
        "smallest diameter over largest, at least 0.9: can't tell at bend 2: no test bend of such tube in die big was measured across",
        "smallest diameter over largest, at least 0.9: can't tell at bends 1 and 3: no test bend of such tube in die small was measured across",
    ];
    assert_eq!(texts(&held(rules, "wall: 2", BENT, People::mm())), wanted);
    let unknown = texts(&held("od_over_wall: 20", "die: big", "{ legs: [500, 500], bends: [20] }", People::mm()));
    assert_eq!(unknown, ["OD over wall, at most 20: can't tell: no wall is given"]);
    assert!(texts(&held("notes: [n]", "wall: 2", BENT, People::mm())).is_empty());
}

#[test]
fn diameters_of_test_bends_count_for_such_tube_only() {
    let of = |measured: &str| {
        let bender =
            BENDER.replace("big: {", &format!("big: {{ materials: {{ steel: {{ measured: {{ {measured} }} }} }},"));
        let job = "kind: job\nunits: mm\nbender: b.yaml\nrules: r.yaml\ntube: { od: 40, wall: 2, material: steel, die: big }\ntubes:\n  one: { legs: [500, 500], bends: [20] }\n";
        let rules = "kind: rules\nunits: mm\nname: Our rules\nminor_over_major: 0.9\n";
        let files = Held::default().with("j.yaml", job).with("b.yaml", bender).with("r.yaml", rules);
        let job = load_job(&files, Path::new("j.yaml")).unwrap_or_else(|mistakes| panic!("{}", mistakes.render(false)));
        let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people: People::mm() };
        let tube =
            plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).expect("all are asked for").tubes.remove(0);
        (tube.fitness.limits[0].kept, tube.notes)
    };
    let (kept, notes) = of("date: 2026-10-02, od: 40, wall: 2, diameters: [[41, 36]]");
    assert_eq!(kept, Kept::Fail);
    assert_eq!(notes[0].code, "rule-minor-over-major");
    assert_eq!(
        notes[0].text,
        "a rule is broken, of Our rules: at bend 1 the smallest diameter over largest is 0.878 by the test bends of 2026-10-02 in die big, and 0.9 is \
         the least that is allowed"
    );
    let (kept, notes) = of("od: 40, wall: 2, diameters: [[41, 38]]");
    assert_eq!(kept, Kept::Pass);
    assert!(notes.iter().any(|note| note.code == "rule-to-measure"), "a test bend is not the part");
    // Thinner tube flattens otherwise.
    for other in
        ["od: 40, wall: 2.5, diameters: [[41, 36]]", "od: 39, wall: 2, diameters: [[40, 36]]", "od: 40, wall: 2"]
    {
        assert_eq!(of(other).0, Kept::Unknown, "{other}");
    }
}

#[test]
fn a_bend_that_is_hard_on_thin_tube_has_a_note_without_any_rules() {
    // CLR 100 on OD 40 is 2.5: OD over wall of 20 is just at 8 times that.
    let hard = |wall: &str| {
        let tube = held("notes: [n]", wall, BENT, People::mm());
        tube.notes.iter().find(|note| note.code == "hard-bend").map(|note| note.text.clone())
    };
    assert_eq!(hard("wall: 2"), None);
    assert_eq!(hard("die: big"), None, "no wall, no answer");
    let text = hard("wall: 1.9").expect("21.05 over 2.5 is 8.42");
    assert!(
        text.starts_with("bends 1 and 3: OD over wall, 21.053, over CLR over OD is 8.422; above about 8"),
        "{text}"
    );
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
