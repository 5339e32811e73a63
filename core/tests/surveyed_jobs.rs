//! What a plan says of nodes that come from a survey.

use std::path::Path;
use std::sync::atomic::AtomicBool;

use tubewright::file::{Held, load_job};
use tubewright::plan::{Options, plan};
use tubewright::round::People;

const BENDER: &str = "kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
dies:
  big: { od: 40, clr: 100, max_angle: 195, clamp_length: 70, follower_length: 150, materials: { steel: { springback: { proportional: 0.02 } } } }
";

/// A square of four points with both diagonals, and a fifth on one tape.
const SURVEY: &str = "kind: survey
units: mm
accuracy: { length: 1 }
frame: { origin: a, x: b, xy: c, flat: true }
distances:
  - { from: a, to: b, length: 900 }
  - { from: a, to: c, length: 1200 }
  - { from: b, to: c, length: 1500 }
  - { from: b, to: d, length: 1200 }
  - { from: c, to: d, length: 900 }
  - { from: a, to: d, length: 1500 }
  - { from: a, to: e, length: 300 }
";

fn files(survey: &str, more: &str, path: &str) -> Held {
    let job = format!(
        "kind: job\nunits: mm\nbender: b.yaml\nsurvey: s.yaml\n{more}tube: {{ od: 40, wall: 2, material: steel, die: big }}\n\
         tubes:\n  t: {{ path: [{path}], tolerance: 0.5 }}\n"
    );
    Held::default().with("b.yaml", BENDER).with("s.yaml", survey).with("j.yaml", job)
}

/// Codes and texts of the notes of the only tube.
fn notes(survey: &str, more: &str, path: &str) -> Vec<(&'static str, String)> {
    let job = load_job(&files(survey, more, path), Path::new("j.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people: People::mm() };
    let planned = plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).expect("it can be planned");
    planned.tubes[0].notes.iter().map(|note| (note.code, note.text.clone())).collect()
}

/// Those of the survey.
fn of_survey<'n>(notes: &'n [(&'static str, String)]) -> Vec<(&'static str, &'n str)> {
    notes.iter().filter(|(code, _)| code.starts_with("survey")).map(|(code, text)| (*code, text.as_str())).collect()
}

#[test]
fn the_accuracy_of_a_sound_survey_is_told_with_who_has_the_larger_part() {
    let found = notes(SURVEY, "", "b, a, c");
    let [("survey-accuracy", text)] = of_survey(&found)[..] else { panic!("{found:?}") };
    assert!(text.contains("fingerprint") && text.contains("survey it better"), "{text}");
    assert!(!text.contains("taken as exact"), "{text}");
    // A corner that was put down by hand is not from the survey.
    let found = notes(SURVEY, "nodes: { h: [300, 300, 200] }\n", "b, h, c");
    let [("survey-accuracy", text)] = of_survey(&found)[..] else { panic!("{found:?}") };
    assert!(text.contains("taken as exact"), "{text}");
}

#[test]
fn a_survey_that_contradicts_itself_tells_no_accuracy() {
    let found = notes(&SURVEY.replace("to: d, length: 1500", "to: d, length: 1540"), "", "b, a, c");
    let [("survey-doubt", text)] = of_survey(&found)[..] else { panic!("{found:?}") };
    assert!(text.contains("Cut nothing by it"), "{text}");
}

/// It would be taken from the job without a word as long as the survey does not tell it, and be refused once it does.
#[test]
fn a_node_that_the_survey_does_not_tell_is_not_written_either() {
    let files = files(SURVEY, "nodes: { e: [300, 0, 0] }\n", "b, a, c");
    let mistakes = load_job(&files, Path::new("j.yaml")).expect_err("e is in both");
    assert!(mistakes.list.iter().any(|mistake| mistake.code == "node-twice"), "{mistakes}");
}

/// What a job says of its nodes is the same with another survey; where they are is not.
#[test]
fn a_survey_has_a_fingerprint_of_its_own() {
    let of = |survey: &str| {
        load_job(&files(survey, "", "b, a, c"), Path::new("j.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"))
    };
    let (job, other) = (of(SURVEY), of(&SURVEY.replace("900", "901")));
    assert_eq!(job.fingerprint, other.fingerprint);
    let [one, another] = [job, other].map(|job| job.surveyed.expect("it is there").fingerprint);
    assert_eq!(one.len(), 4);
    assert_ne!(one, another);
}
