//! What must not change a plan, and what must change it in one known way.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use nalgebra::{Point3, Rotation3, Vector3};
use tubewright::file::{Files, ReadError, load_job};
use tubewright::plan::{Options, Plan, plan};
use tubewright::round::People;

/// Files held in memory.
struct Shelf(BTreeMap<PathBuf, String>);

impl Files for Shelf {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        self.0.get(path).map(|text| text.clone().into_bytes()).ok_or(ReadError::Missing)
    }
}

fn bender(units: &str, scale: f64, hand: &str, mirrored: bool) -> String {
    let length = |mm: f64| format!("{}", mm / scale);
    let y = if mirrored { -1.0 } else { 1.0 };
    let (low, high) = if mirrored { (-90.0, -40.0) } else { (40.0, 90.0) };
    format!(
        "kind: bender\nunits: {units}\nname: Trial bender\nmotion: die-turns\nhand: {hand}\nbend_plane: horizontal\ncentre_height: {}\n\
         pin: {{ first: 40, every: 45 }}\npointer: {{ set_to: -1, when: slack-out }}\nclearance: {{ keep: {}, comfortable: {} }}\n\
         dies:\n  five:\n    od: {}\n    clr: {}\n    max_angle: 195\n    clamp_length: {}\n    follower_length: {}\n    mark_offset: {}\n    grip_min: {}\n    tail_min: {}\n    \
         materials:\n      steel: {{ springback: {{ constant: 1.1, proportional: 0.02 }}, stretch: 0.01 }}\n\
         solids:\n  - {{ name: ram, on: frame, box: {{ min: [{}, {}, {}], max: [{}, {}, {}] }} }}\n  - {{ name: post, on: frame, cylinder: {{ from: [{}, {}, {}], to: [{}, {}, {}], radius: {} }} }}\n",
        length(860.0),
        length(6.0),
        length(60.0),
        length(38.1),
        length(127.0),
        length(50.0),
        length(90.0),
        length(3.0),
        length(40.0),
        length(40.0),
        length(-500.0),
        length(low),
        length(-200.0),
        length(-80.0),
        length(high),
        length(-60.0),
        length(420.0),
        length(y * 350.0),
        length(-860.0),
        length(420.0),
        length(y * 350.0),
        length(60.0),
        length(30.0),
    )
}

fn job(units: &str, scale: f64, nodes: &[Point3<f64>]) -> String {
    let mut text = format!(
        "kind: job\nunits: {units}\nbender: bender.yaml\ntube: {{ od: {}, wall: {}, material: steel, die: five }}\nnodes:\n",
        38.1 / scale,
        2.4 / scale
    );
    for (place, node) in nodes.iter().enumerate() {
        text.push_str(&format!("  n{place}: [{}, {}, {}]\n", node.x / scale, node.y / scale, node.z / scale));
    }
    let path: Vec<String> = (0..nodes.len()).map(|place| format!("n{place}")).collect();
    text.push_str(&format!("tubes:\n  rail:\n    path: [{}]\n", path.join(", ")));
    text
}

fn planned(bender: String, job: String, order: Option<&str>) -> Plan {
    let files = Shelf(BTreeMap::from([(PathBuf::from("bender.yaml"), bender), (PathBuf::from("job.yaml"), job)]));
    let job = load_job(&files, Path::new("job.yaml")).unwrap_or_else(|mistakes| panic!("{}", mistakes.render(false)));
    let options = Options {
        tubes: Vec::new(),
        order: order.map(ToOwned::to_owned),
        accept_tight: false,
        best: 1,
        people: People::mm(),
    };
    plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).expect("the order names every bend")
}

/// Corner points of a rail with bends in three planes, mm.
fn rail() -> Vec<Point3<f64>> {
    [
        [0.0, 0.0, 0.0],
        [420.0, 0.0, 0.0],
        [760.0, 260.0, 0.0],
        [1100.0, 300.0, 240.0],
        [1500.0, 180.0, 300.0],
        [1800.0, 420.0, 310.0],
    ]
    .map(Point3::from)
    .to_vec()
}

const ORDER: &str = "2A 1A 3B 4B";

/// Every figure of the steps, with the sign of what a mirror turns round taken out by `hand`.
fn figures(plan: &Plan, hand: f64) -> Vec<(String, f64)> {
    let mut all = Vec::new();
    let tube = &plan.tubes[0];
    all.push(("cut".to_owned(), tube.blank.cut_length.to_mm()));
    for bend in &tube.blank.bends {
        let number = bend.bend.number();
        all.push((format!("rotation {number}"), hand * bend.rotation.to_deg()));
        all.push((format!("angle {number}"), bend.angle.to_deg()));
        all.push((format!("start {number}"), bend.start.to_mm()));
    }
    for (number, step) in tube.steps.iter().enumerate() {
        let mut push = |what: &str, value: f64| all.push((format!("step {number} {what}"), value));
        push("mark", step.mark.to_mm());
        push("tail", step.tail.to_mm());
        push("target", step.dial_target.to_deg());
        push("turn", hand * step.turn.map_or(0.0, |turn| turn.to_deg()));
        push("reach", step.swing.reach.to_mm());
        push("high", step.swing.high.to_mm());
        push("low", step.swing.low.to_mm());
        for clearance in &step.clearances {
            push(&clearance.obstacle, clearance.nearest.map_or(1e9, |nearest| nearest.gap.to_mm()));
        }
    }
    all
}

fn alike(wanted: &[(String, f64)], got: &[(String, f64)], tolerance: f64) {
    assert_eq!(wanted.len(), got.len());
    for ((name, wanted), (other, got)) in wanted.iter().zip(got) {
        assert_eq!(name, other);
        assert!((wanted - got).abs() <= tolerance, "{name}: {wanted} and {got}");
    }
}

fn in_mm(nodes: &[Point3<f64>]) -> Plan {
    planned(bender("mm", 1.0, "anticlockwise", false), job("mm", 1.0, nodes), Some(ORDER))
}

#[test]
fn a_job_in_inches_gives_the_plan_of_the_same_job_in_millimetres() {
    let inches = planned(bender("in", 25.4, "anticlockwise", false), job("in", 25.4, &rail()), Some(ORDER));
    alike(&figures(&in_mm(&rail()), 1.0), &figures(&inches, 1.0), 1e-6);
}

#[test]
fn moving_and_turning_the_job_changes_no_step() {
    let turn = Rotation3::from_euler_angles(0.7, -1.1, 2.3);
    let moved: Vec<_> = rail().iter().map(|node| turn * node + Vector3::new(310.0, -25.5, 940.0)).collect();
    alike(&figures(&in_mm(&rail()), 1.0), &figures(&in_mm(&moved), 1.0), 1e-6);
}

#[test]
fn the_mirror_part_on_the_bender_of_the_other_hand_has_the_same_gaps() {
    let mirrored: Vec<_> = rail().iter().map(|node| Point3::new(node.x, -node.y, node.z)).collect();
    let other = planned(bender("mm", 1.0, "clockwise", true), job("mm", 1.0, &mirrored), Some(ORDER));
    alike(&figures(&in_mm(&rail()), 1.0), &figures(&other, -1.0), 1e-6);
}

#[test]
fn swapping_the_ends_reverses_rows_and_keeps_the_signs_of_rotations() {
    let reversed: Vec<_> = rail().into_iter().rev().collect();
    let (there, back) = (in_mm(&rail()), in_mm(&reversed));
    let rows = |plan: &Plan| plan.tubes[0].centreline.rows.clone();
    let (there, back) = (rows(&there), rows(&back));
    let count = there.bends.len();
    for place in 0..count {
        let mirror = &back.bends[count - 1 - place];
        assert!((there.bends[place].angle - mirror.angle).abs().to_deg() < 1e-9);
        if place > 0 {
            let rotation = back.bends[count - place].rotation;
            assert!((there.bends[place].rotation - rotation).abs().to_deg() < 1e-9);
            assert!((there.bends[place].length - back.bends[count - place].length).abs().to_mm() < 1e-9);
        }
    }
    assert!((there.last - back.bends[0].length).abs().to_mm() < 1e-9);
}

#[test]
fn the_same_job_gives_the_same_bytes() {
    let text = || tubewright::plan::document::Document::new(&in_mm(&rail())).to_json();
    assert_eq!(text(), text());
}

/// Whatever is fixed by hand, the steps come in that order and none is left out.
#[test]
fn an_order_fixed_by_hand_is_walked_to_its_end() {
    let plan = in_mm(&rail());
    let order: Vec<String> = plan.tubes[0]
        .steps
        .iter()
        .map(|step| tubewright::order::Turn { bend: step.bend, lead: step.lead }.to_string())
        .collect();
    assert_eq!(order.join(" "), ORDER);
    assert!(!plan.tubes[0].proved_optimal);
}
