//! The motions besides the bend as a plan tells them: entries, reasons, notes and ways.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use tubewright::clearance::{Motion, Verdict, Way};
use tubewright::file::{Files, ReadError, load_job};
use tubewright::plan::document::Document;
use tubewright::plan::{Options, Reason, TubePlan, plan};
use tubewright::round::People;

/// Files held in memory.
struct Shelf(BTreeMap<PathBuf, String>);

impl Files for Shelf {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        self.0.get(path).map(|text| text.clone().into_bytes()).ok_or(ReadError::Missing)
    }
}

/// A handle of one bend of 90 degrees, or of two of 60 in one plane; CLR 127, die OD 38.1, tools 28.575 high.
fn planned(motions: &str, solids: &str, tube: &str, accept_tight: bool) -> (TubePlan, String) {
    let bender = format!(
        "kind: bender\nunits: mm\nname: Trial bender\nmotion: die-turns\nhand: anticlockwise\nbend_plane: horizontal\ncentre_height: 860\n\
         clearance: {{ keep: 6, comfortable: 60 }}\nmotions: {motions}\n\
         dies:\n  five: {{ od: 38.1, clr: 127, max_angle: 195, clamp_length: 50, follower_length: 90, materials: {{ steel: {{ springback: {{ constant: 2, proportional: 0.02 }} }} }} }}\n\
         solids: [{solids}]\n"
    );
    let job = format!(
        "kind: job\nunits: mm\nbender: bender.yaml\ntube: {{ od: 38.1, wall: 2.4, material: steel, die: five }}\ntubes:\n  handle: {tube}\n"
    );
    let files = Shelf(BTreeMap::from([(PathBuf::from("bender.yaml"), bender), (PathBuf::from("job.yaml"), job)]));
    let job = load_job(&files, Path::new("job.yaml")).unwrap_or_else(|mistakes| panic!("{}", mistakes.render(false)));
    let options = Options { tubes: Vec::new(), order: None, accept_tight, best: 1, people: People::mm() };
    let plan =
        plan(&job, &options, &std::sync::atomic::AtomicBool::new(false), &mut |_| {}).expect("all tubes are asked for");
    let json = Document::new(&plan).to_json();
    (plan.tubes[0].clone(), json)
}

const HANDLE: &str = "{ legs: [600, 900], bends: [90] }";
/// Over the tail, out of the way of the lead part: the tube, lifted by 47.625, comes to 66.675 over its line.
const PLATE: &str = "{ name: upper plate, on: frame, box: { min: [-500, -160, LOW], max: [-400, -90, 120] } }";

fn plate(low: f64) -> String {
    PLATE.replace("LOW", &low.to_string())
}

fn code<'a>(tube: &'a TubePlan, code: &str) -> Option<&'a str> {
    tube.notes.iter().find(|note| note.code == code).map(|note| note.text.as_str())
}

#[test]
fn every_motion_that_is_on_has_an_entry_for_every_obstacle() {
    let all = "{ recoil: true, return: true, put_in: true, take_out: [up, along], turn: groove }";
    let (tube, json) = planned(all, &plate(100.0), "{ legs: [600, 500, 700], bends: [60, 45] }", false);
    assert!(tube.feasible, "{:?}", tube.why_not);
    let order = ["upper plate", "floor", "die", "clamp", "follower", "tube"];
    let motions = [Motion::Bend, Motion::Recoil, Motion::Return, Motion::TakeOut, Motion::PutIn, Motion::Turn];
    for step in &tube.steps {
        let seen: Vec<(Motion, &str)> = step.clearances.iter().map(|one| (one.motion, one.obstacle.as_str())).collect();
        let wanted: Vec<(Motion, &str)> =
            motions.iter().flat_map(|motion| order.map(|obstacle| (*motion, obstacle))).collect();
        assert_eq!(seen, wanted);
    }
    for motion in motions {
        assert!(json.contains(&format!("\"motion\": \"{}\"", motion.code())));
    }
    assert_eq!(code(&tube, "not-looked-at"), None);
    let open = code(&tube, "open-tools").unwrap();
    assert!(
        open.contains("the clamp and the follower are taken to be open") && open.contains("the die is left out too")
    );
}

#[test]
fn what_is_switched_on_is_no_longer_said_to_be_left_out() {
    let (tube, _) = planned("{ recoil: true, take_out: [up] }", &plate(100.0), HANDLE, false);
    assert_eq!(
        code(&tube, "not-looked-at"),
        Some(
            "besides the bend not everything was looked at: not the return of the arm, putting it in or turning it between bends"
        )
    );
    let (tube, _) = planned("{ recoil: true }", &plate(100.0), HANDLE, false);
    assert_eq!(code(&tube, "open-tools"), None);
    assert!(code(&tube, "not-looked-at").unwrap().contains("taking the tube out"));
}

#[test]
fn no_way_out_is_a_reason_with_every_way_and_its_figures() {
    let (tube, _) = planned("{ take_out: [up] }", &plate(70.0), HANDLE, false);
    assert!(!tube.feasible);
    assert_eq!(tube.why_not[0].reason, Reason::TakeOut);
    let text = &tube.why_not[0].text;
    assert!(
        text.contains("bend 1 with end A leading: no way out: up it comes within 3 mm of \u{201c}upper plate\u{201d}"),
        "{text}"
    );
    assert!(text.contains("6 mm must be kept"), "{text}");
    assert_eq!(tube.steps[0].verdict, Verdict::Tight);
    let (tube, _) = planned("{ take_out: [up] }", &plate(70.0), HANDLE, true);
    assert!(tube.feasible);
    assert!(
        code(&tube, "tight-accepted").unwrap().starts_with("watch as the tube is taken out after bend 1, up: 3 mm")
    );
    let (tube, _) = planned("{ take_out: [up] }", &plate(60.0), HANDLE, true);
    assert!(!tube.feasible);
    assert!(tube.why_not[0].text.contains("up it touches \u{201c}upper plate\u{201d}"), "{}", tube.why_not[0].text);
}

#[test]
fn the_way_that_is_left_is_told_and_costs_nothing() {
    let (with, _) = planned("{ take_out: [up, sideways], put_in: true }", &plate(60.0), HANDLE, false);
    let (without, _) = planned("{}", &plate(60.0), HANDLE, false);
    assert!(with.feasible, "{:?}", with.why_not);
    assert_eq!((with.steps[0].take_out, with.steps[0].put_in), (Some(Way::Sideways), Some(Way::Sideways)));
    assert_eq!((without.steps[0].take_out, without.steps[0].put_in), (None, None));
    assert_eq!(with.cost, without.cost);
    let (tube, _) = planned("{ take_out: [up, sideways], put_in: true }", &plate(100.0), HANDLE, false);
    assert_eq!((tube.steps[0].take_out, tube.steps[0].put_in), (None, None), "every way is clear");
}
