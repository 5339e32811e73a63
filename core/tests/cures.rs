//! Every cure that is offered does what it says: applied to the files by hand, or to a job in memory, the tube can be bent, and for what
//! the cure said that it costs.

#[expect(dead_code, unreachable_pub, reason = "shared with the benchmarks")]
mod shop;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

use nalgebra::{DMatrix, Point3, Vector3};
use tubewright::bender::{Bender, Carrier, Die, Shape, Solid};
use tubewright::centreline::{BendId, Centreline, Row, Rows};
use tubewright::clearance::{Verdict, self_meeting};
use tubewright::file::{Held, load_job};
use tubewright::forming::{Material, Springback};
use tubewright::job::{GivenBy, Job, Rules, Stock, Surveyed, Tube};
use tubewright::plan::document::{Document, JSON_SCHEMA};
use tubewright::plan::{Change, Cure, Options, TubePlan, plan};
use tubewright::round::People;
use tubewright::units::{Angle, Length, LengthUnit};

/// Seconds a step by which a cost may differ: a gap is known to 0.02 mm.
const A_STEP: f64 = 0.2;

fn count(few: u64, many: u64) -> u64 {
    if std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|value| value == "full") { many } else { few }
}

fn options(accept_tight: bool) -> Options {
    Options { tubes: Vec::new(), order: None, accept_tight, best: 1, people: People::mm() }
}

fn planned(job: &Job, options: &Options) -> Vec<TubePlan> {
    plan(job, options, &AtomicBool::new(false), &mut |_| {}).expect("nothing is asked for that is not there").tubes
}

fn read(job: &str, bender: &str) -> Job {
    let files = Held::default().with("shop/jobs/j.yaml", job).with("shop/jobs/../benders/floor-bender.yaml", bender);
    load_job(&files, Path::new("shop/jobs/j.yaml"))
        .unwrap_or_else(|mistakes| panic!("{}\n{job}", mistakes.render(false)))
}

fn sample(name: &str) -> String {
    let path: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("../samples").join(name);
    std::fs::read_to_string(path).expect("the sample is there")
}

/// Whether plans of the changed tube, or of its two halves, hold what a cure promises.
fn assert_kept(cure: &Cure, tubes: &[&TubePlan], about: &str) {
    let accept_tight = cure.change == Change::AcceptTight;
    let steps = || tubes.iter().flat_map(|tube| &tube.steps);
    assert!(tubes.iter().all(|tube| tube.feasible), "{about}: {cure:?}");
    let worst = if accept_tight { Verdict::Tight } else { Verdict::Clear };
    assert!(steps().all(|step| step.verdict <= worst && step.blocked_by.is_empty()), "{about}: {cure:?}");
    let found: f64 = tubes.iter().map(|tube| tube.cost.expect("it is feasible").to_seconds()).sum();
    let said = cure.cost.to_seconds();
    assert!((found - said).abs() <= A_STEP * steps().count() as f64, "{about}: {cure:?}, {found}");
    let gaps = steps().filter_map(|step| step.tightest()?.nearest).map(|nearest| nearest.gap.to_mm());
    let least = gaps.reduce(f64::min);
    let close = match (least, cure.tightest) {
        (None, None) => true,
        (Some(found), Some(said)) => (found - said.to_mm()).abs() < 0.05,
        _ => false,
    };
    assert!(close, "{about}: {cure:?}, {least:?}");
    assert!(!cure.text.is_empty() && !cure.text.ends_with('.'), "{}", cure.text);
}

/// The text with what stands between a key and the end of its line replaced, from the line on that starts with `after`.
fn with_line(text: &str, after: &str, line: usize, change: impl Fn(&str) -> String) -> String {
    let mut seen = None;
    let lines = text.lines().map(|written| {
        if seen.is_none() && written.starts_with(after) {
            seen = Some(0);
        } else if let Some(count) = &mut seen {
            *count += 1;
        }
        if seen == Some(line) { change(written) } else { written.to_owned() }
    });
    let changed = lines.collect::<Vec<_>>().join("\n") + "\n";
    assert_ne!(changed, text, "{after}");
    changed
}

/// A line with the number behind a key, or in a list, changed.
fn add(line: &str, before: &str, by: f64) -> String {
    let (head, rest) = line.split_once(before).unwrap_or_else(|| panic!("{before} in {line}"));
    let end = rest.find([',', ' ', ']', '}']).unwrap_or(rest.len());
    let number: f64 = rest[..end].parse().unwrap_or_else(|_| panic!("a number in {line}"));
    format!("{head}{before}{}{}", number + by, &rest[end..])
}

/// A line that ends in a list of numbers, with something added to each.
fn add_to_list(line: &str, by: &[f64]) -> String {
    let (head, list) = line.split_once('[').expect("a list");
    let parts: Vec<f64> =
        list.trim_end_matches(']').split(',').map(|part| part.trim().parse().expect("a number")).collect();
    assert_eq!(parts.len(), by.len(), "{line}");
    let sums: Vec<String> = parts.iter().zip(by).map(|(part, by)| (part + by).to_string()).collect();
    format!("{head}[{}]", sums.join(", "))
}

/// The job's and the bender's text with a cure typed in; a split makes two tubes of the rows that were planned.
fn typed(job: &str, bender: &str, tube: &TubePlan, cure: &Cure) -> (String, String) {
    let name = format!("  {}:", tube.name);
    let below = |more: String| with_line(job, &name, 0, |line| format!("{line}\n    {more}"));
    let job = match &cure.change {
        Change::AcceptTight => job.to_owned(),
        Change::Tail { extra_a, extra_b } => {
            let [a, b] = [extra_a, extra_b].map(|extra| extra.unwrap_or_default().to_mm());
            below(format!("extra: {{ a: {a}, b: {b} }}"))
        }
        Change::Node { node, by } => {
            with_line(job, &format!("  {node}: ["), 0, |line| add_to_list(line, &[by.x, by.y, by.z]))
        }
        Change::Leg { leg, by } if job.contains("    legs: [") => {
            let by: Vec<f64> =
                (1..=tube.blank.bends.len() + 1).map(|one| if one == *leg { by.to_mm() } else { 0.0 }).collect();
            with_line(job, &name, 1, |line| add_to_list(line, &by))
        }
        // The name, `rows:`, then a line a row.
        Change::Leg { leg, by } => with_line(job, &name, leg + 1, |line| add(line, "length: ", by.to_mm())),
        Change::Die { bends, die } => {
            let dies = (0..tube.blank.bends.len())
                .map(|bend| if bends.contains(&BendId(bend)) { die.as_str() } else { "five-inch" });
            below(format!("dies: [{}]", dies.collect::<Vec<_>>().join(", ")))
        }
        Change::Split { leg, .. } => {
            let rows = &tube.centreline.rows;
            let line = |(place, row): (usize, &Row)| {
                let cut = place == leg - 1;
                let length = if cut { row.length / 2.0 } else { row.length };
                let rotation = if cut || place == 0 { 0.0 } else { row.rotation.to_deg() };
                format!(
                    "      - {{ length: {}, rotation: {rotation}, bend: {} }}\n",
                    length.to_mm(),
                    row.angle.to_deg()
                )
            };
            let lines: Vec<String> = rows.bends.iter().enumerate().map(line).collect();
            let half = rows.bends.get(leg - 1).map_or(rows.last, |row| row.length) / 2.0;
            let last = if *leg > rows.bends.len() { half } else { rows.last };
            let (first, second) = lines.split_at(leg - 1);
            format!(
                "{job}  one-half:\n    rows:\n{}      - {{ length: {} }}\n  other-half:\n    rows:\n{}      - {{ length: {} }}\n",
                first.concat(),
                half.to_mm(),
                second.concat(),
                last.to_mm()
            )
        }
        Change::Higher { .. } => job.to_owned(),
    };
    let bender = match &cure.change {
        Change::Higher { centre_height } => {
            with_line(bender, "centre_height:", 0, |line| add(line, "centre_height: ", centre_height.to_mm() - 860.0))
        }
        _ => bender.to_owned(),
    };
    (job, bender)
}

/// Plans a job anew for each cure of each of its tubes, with the cure typed into its files; the kinds that there were.
fn assert_typed(job: &str, bender: &str) -> BTreeSet<&'static str> {
    let mut kinds = BTreeSet::new();
    for tube in planned(&read(job, bender), &options(false)) {
        for cure in &tube.cures {
            kinds.insert(cure.change.kind());
            let (job, bender) = typed(job, bender, &tube, cure);
            let plans = planned(&read(&job, &bender), &options(cure.change == Change::AcceptTight));
            let halves = ["one-half".to_owned(), "other-half".to_owned()];
            let split = matches!(cure.change, Change::Split { .. });
            let own =
                plans.iter().filter(|plan| if split { halves.contains(&plan.name) } else { plan.name == tube.name });
            assert_kept(cure, &own.collect::<Vec<_>>(), &tube.name);
        }
    }
    kinds
}

#[test]
fn every_cure_of_the_sample_helps_once_it_is_typed_into_the_files() {
    let kinds = assert_typed(&sample("jobs/impossible.yaml"), &sample("benders/floor-bender.yaml"));
    assert_eq!(kinds.len(), 7, "{kinds:?}");
}

#[test]
fn cures_come_in_the_order_of_their_effort() {
    const KINDS: [&str; 7] = ["tail", "accept-tight", "node", "leg", "die", "split", "higher"];
    let job = read(&sample("jobs/impossible.yaml"), &sample("benders/floor-bender.yaml"));
    let rank = |cure: &Cure| (KINDS.iter().position(|kind| *kind == cure.change.kind()), cure.cost, cure.text.clone());
    for tube in planned(&job, &options(false)) {
        let ranks: Vec<_> = tube.cures.iter().map(rank).collect();
        assert!(ranks.is_sorted(), "{ranks:?}");
        let different: BTreeSet<_> = ranks.iter().map(|rank| rank.0).collect();
        assert!(tube.name != "hook" || different.len() >= 5, "{different:?}");
    }
}

#[test]
fn the_same_job_has_the_same_cures_in_the_same_words() {
    let job = read(&sample("jobs/impossible.yaml"), &sample("benders/floor-bender.yaml"));
    let inches = Options { people: People::inch(), ..options(false) };
    for options in [options(false), inches] {
        assert_eq!(planned(&job, &options), planned(&job, &options));
    }
}

#[test]
fn a_tube_in_one_piece_is_never_split() {
    let text = sample("jobs/impossible.yaml");
    let kinds = |text: &str| -> Vec<&str> {
        let job = read(text, &sample("benders/floor-bender.yaml"));
        planned(&job, &options(false)).iter().flat_map(|tube| &tube.cures).map(|cure| cure.change.kind()).collect()
    };
    let before = kinds(&text);
    assert!(before.contains(&"split"));
    let whole = text
        .replace("    rows:\n", "    one_piece: true\n    rows:\n")
        .replace("    path:", "    one_piece: true\n    path:");
    let rest: Vec<&str> = before.into_iter().filter(|kind| *kind != "split").collect();
    assert_eq!(kinds(&whole), rest);
}

/// The sample's smaller die is just at 3 x OD, 114.3 / 38.1; beside it stands one at 2.67.
#[test]
fn a_die_that_breaks_a_rule_of_the_job_is_never_offered() {
    let mut job = read(&sample("jobs/impossible.yaml"), &sample("benders/floor-bender.yaml"));
    let die = job.bender.dies.iter().find(|die| die.name == "four-and-a-half-inch").expect("it is in the sample");
    let smaller = Die { name: "four-inch".into(), clr: Length::mm(101.6), ..die.clone() };
    job.bender.dies.push(smaller);
    let mut cures = |clr_over_od: Option<f64>| -> (BTreeSet<String>, usize) {
        job.rules = clr_over_od.map(|ratio| Rules { clr_over_od: Some(ratio), ..Rules::default() });
        let tubes = planned(&job, &options(false));
        let (dies, rest): (Vec<_>, Vec<_>) = tubes
            .iter()
            .flat_map(|tube| &tube.cures)
            .map(|cure| if let Change::Die { die, .. } = &cure.change { Some(die.clone()) } else { None })
            .partition(Option::is_some);
        (dies.into_iter().flatten().collect(), rest.len())
    };
    let (all, rest) = cures(None);
    assert!(all.len() == 2 && rest > 0, "{all:?}");
    assert_eq!(cures(Some(2.6)), (all, rest));
    assert_eq!(cures(Some(3.0)), (BTreeSet::from(["four-and-a-half-inch".to_owned()]), rest));
    assert_eq!(cures(Some(3.001)), (BTreeSet::new(), rest));
}

/// The strain outside is half of OD over CLR: 1 / 6 in the smaller die of the sample.
#[test]
fn a_cure_that_breaks_any_rule_or_a_broken_one_more_is_never_offered() {
    let mut job = read(&sample("jobs/impossible.yaml"), &sample("benders/floor-bender.yaml"));
    let mut dies = |outer_strain: f64| -> usize {
        job.rules = Some(Rules { outer_strain: Some(outer_strain), ..Rules::default() });
        let tubes = planned(&job, &options(false));
        tubes.iter().flat_map(|tube| &tube.cures).filter(|cure| matches!(cure.change, Change::Die { .. })).count()
    };
    assert!(dies(0.1667) > 0);
    assert_eq!(dies(0.1666), 0);
    assert_eq!(dies(0.01), 0);
}

#[test]
fn nothing_is_offered_for_an_order_of_ones_own_or_where_there_is_an_order() {
    let job = read(&sample("jobs/impossible.yaml"), &sample("benders/floor-bender.yaml"));
    let own = Options { tubes: vec!["boom".into()], order: Some("1A 2A".into()), ..options(false) };
    assert!(!planned(&job, &own)[0].feasible);
    assert!(planned(&job, &own)[0].cures.is_empty());
    let hook = Options { tubes: vec!["hook".into()], ..options(true) };
    assert!(planned(&job, &hook)[0].feasible);
    assert!(planned(&job, &hook)[0].cures.is_empty());
}

#[test]
fn a_search_for_cures_that_is_stopped_says_so_and_keeps_what_it_has() {
    let job = read(&sample("jobs/impossible.yaml"), &sample("benders/floor-bender.yaml"));
    let hook = Options { tubes: vec!["hook".into()], ..options(false) };
    let all = planned(&job, &hook)[0].cures.len();
    let stop = AtomicBool::new(false);
    let mut tried = 0;
    let mut some = plan(&job, &hook, &stop, &mut |at| {
        tried += u32::from(at.share >= 1.0);
        stop.store(tried > 3, Ordering::Relaxed);
    })
    .expect("the tube is there")
    .tubes;
    let hook = some.remove(0);
    assert!(!hook.cures.is_empty() && hook.cures.len() < all, "{:?}", hook.cures);
    assert!(
        hook.notes.iter().any(|note| note.code == "stopped" && note.text.contains("could help")),
        "{:?}",
        hook.notes
    );
    assert!(hook.proved_optimal);
}

#[test]
fn legs_that_were_taped_outside_stay_so_taped() {
    const STUB: &str = "kind: job
units: mm
bender: ../benders/floor-bender.yaml
tube: { od: 38.1, wall: 2.4, material: mild-steel, die: five-inch }
tubes:
  stub:
    legs: [121.89, 510.89, 317]
    measured: outside
    bends: [45, 120]
    rotations: [45]
";
    let kinds = assert_typed(STUB, &sample("benders/floor-bender.yaml"));
    assert!(kinds.contains("leg") && kinds.contains("die"), "{kinds:?}");
}

#[test]
fn the_document_of_every_kind_of_change_keeps_to_its_schema() {
    let job = read(&sample("jobs/impossible.yaml"), &sample("benders/floor-bender.yaml"));
    let plan = plan(&job, &options(false), &AtomicBool::new(false), &mut |_| {}).expect("all tubes are asked for");
    let document: serde_json::Value = serde_json::from_str(&Document::new(&plan).to_json()).expect("it is JSON");
    let schema: serde_json::Value = serde_json::from_str(JSON_SCHEMA).expect("it is JSON");
    let validator = jsonschema::validator_for(&schema).expect("it is a schema");
    let wrong: Vec<String> = validator.iter_errors(&document).map(|error| error.to_string()).collect();
    assert!(wrong.is_empty(), "{wrong:?}");
    let mut other = document;
    let change = &mut other["tubes"][0]["cures"][0]["change"];
    assert_eq!(*change, serde_json::json!({ "leg": 2, "by_mm": 30.0 }));
    change["die"] = "five-inch".into();
    assert!(!validator.is_valid(&other), "two changes at once");
}

#[test]
fn a_tube_of_many_bends_gets_the_short_list() {
    let bends = |count: usize| {
        let rows: String = (1..count).map(|_| "      - { length: 200, rotation: 180, bend: 20 }\n").collect();
        let job = format!(
            "kind: job\nunits: mm\nbender: ../benders/floor-bender.yaml\n\
             tube: {{ od: 38.1, wall: 2.4, material: mild-steel, die: five-inch }}\n\
             tubes:\n  wave:\n    rows:\n      - {{ length: 20, bend: 20 }}\n{rows}      - {{ length: 300 }}\n"
        );
        let bender = sample("benders/floor-bender.yaml");
        assert_typed(&job, &bender);
        let wave = planned(&read(&job, &bender), &options(false)).remove(0);
        wave.cures.into_iter().map(|cure| cure.change).collect::<Vec<_>>()
    };
    let tail = |more: f64| Change::Tail { extra_a: Some(Length::mm(more)), extra_b: None };
    assert_eq!(bends(15), [tail(100.0)]);
    // The clamp holds on 45 mm at least: 20 and 25.
    assert_eq!(bends(4)[0], tail(25.0));
    assert_eq!(bends(23), []);
}

/// Mirrored: a hoop whose knees are so near to each other that nothing holds between the bends.
const HOOP: &str = "kind: job
units: mm
bender: ../benders/floor-bender.yaml
tube: { od: 38.1, wall: 2.4, material: mild-steel, die: five-inch }
nodes:
  foot-left: [0, 420, -100]
  knee-left: [0, 110, 500]
mirror: { plane: y, suffix: { from: -left, to: -right } }
tubes:
  hoop:
    path: [foot-left, knee-left, knee-right, foot-right]
  stay:
    path: [foot-left, knee-left]
";

#[test]
fn a_node_is_moved_with_its_image_and_by_the_name_that_is_written() {
    let bender = sample("benders/floor-bender.yaml");
    let kinds = assert_typed(HOOP, &bender);
    assert!(kinds.contains("node"), "{kinds:?}");
    let job = read(HOOP, &bender);
    for people in [People::mm(), People::inch()] {
        let hoop = planned(&job, &Options { people, ..options(false) }).remove(0);
        let moved: Vec<&Cure> = hoop.cures.iter().filter(|cure| cure.change.kind() == "node").collect();
        assert!(!moved.is_empty() && moved.len() <= 2, "{:?}", hoop.cures);
        for cure in moved {
            assert!(matches!(&cure.change, Change::Node { node, .. } if node == "knee-left"), "{cure:?}");
            assert!(cure.text.contains("its image knee-right moves with it"), "{}", cure.text);
            assert!(cure.text.ends_with("it changes stay too"), "{}", cure.text);
            assert!(cure.text.contains(&format!(" {}", people.unit())), "{}", cure.text);
        }
    }
}

#[test]
fn a_node_that_was_surveyed_is_not_moved() {
    let mut job = read(HOOP, &sample("benders/floor-bender.yaml"));
    let nodes = [("knee-left".to_owned(), 0)].into_iter().collect();
    let covariance = DMatrix::identity(3, 3);
    job.surveyed = Some(Surveyed {
        file: "chassis.yaml".to_owned(),
        fingerprint: "4af2".to_owned(),
        nodes,
        covariance,
        doubt: None,
    });
    let hoop = planned(&job, &options(false)).remove(0);
    assert!(!hoop.cures.is_empty() && hoop.cures.iter().all(|cure| cure.change.kind() != "node"), "{:?}", hoop.cures);
}

/// A second, smaller die, steel for both, and a floor that some tubes reach.
fn bender(seed: u64) -> Bender {
    let mut bender = shop::bender();
    if seed.is_multiple_of(3) {
        bender.solids.retain(|solid| !solid.name.contains("arm"));
    }
    if seed % 4 == 1 {
        bender.centre_height = Length::mm(320.0);
        bender.solids.retain(|solid| {
            !matches!(&solid.shape, Shape::Box { min, .. } if min.z < -310.0)
                && !matches!(&solid.shape, Shape::Cylinder { from, .. } if from.z < -310.0)
        });
    }
    if seed % 7 == 3 {
        bender.clearance.keep = Length::mm(25.0);
    }
    if seed % 5 == 2 {
        let shape = Shape::Box { min: Point3::new(350.0, -700.0, -300.0), max: Point3::new(600.0, -300.0, 300.0) };
        bender.solids.push(Solid { name: "locker".into(), on: Carrier::Frame, shape });
    }
    let steel = Material {
        name: "steel".into(),
        springback: Some(Springback { constant: Angle::deg(1.1), proportional: 0.02 }),
        stretch: 0.0,
        radius_growth: true,
        measured: None,
    };
    bender.dies[0].materials.push(steel);
    let smaller = Die { name: "four-inch".into(), clr: Length::mm(101.6), ..bender.dies[0].clone() };
    bender.dies.push(smaller);
    bender
}

/// A tube of the shop's kind with short ends, or short between its bends, by nodes or by rows; `None` where its shape cannot be.
fn tube(seed: u64, bender: &Bender) -> Option<Tube> {
    let mut random = shop::Random(seed.wrapping_mul(0xc0ff_ee00_1234_5677));
    let bends = 2 + (random.next() % 3) as usize;
    let mut row = |place: usize| Row {
        length: Length::mm(random.within(if place == 0 { 20.0 } else { 90.0 }, 420.0)),
        rotation: if place == 0 { Angle::ZERO } else { Angle::deg(random.within(-180.0, 180.0)) },
        angle: Angle::deg(random.within(15.0, 110.0)),
    };
    let rows = Rows { bends: (0..bends).map(&mut row).collect(), last: Length::mm(row(0).length.to_mm()) };
    let mut tube = Tube {
        name: "trial".into(),
        stock: Stock {
            od: Length::mm(shop::OD),
            wall: None,
            material: Some("steel".into()),
            density: None,
            yield_strength: None,
            e_modulus: None,
        },
        dies: vec![0; bends],
        die: Some(0),
        given: GivenBy::Rows,
        centreline: Centreline::from_rows(&rows, &|_| Length::mm(127.0 * 1.02)).ok()?,
        node_names: vec![None; bends + 2],
        extra_a: Length::ZERO,
        extra_b: Length::mm(if seed.is_multiple_of(2) { 0.0 } else { 12.0 }),
        ends: [None, None],
        seam: None,
        one_piece: false,
        tolerance: None,
        pair: None,
    };
    assert_eq!(tube.blank(bender).bends[0].formed_radius, Length::mm(127.0 * 1.02));
    if seed.is_multiple_of(2) {
        tube.given = GivenBy::Nodes;
        tube.node_names = (0..bends + 2).map(|node| Some(format!("n{node}"))).collect();
        tube.centreline = by_nodes(&tube, bender, "", &Vector3::zeros())?;
    }
    self_meeting(&tube.centreline, tube.stock.od).is_none().then_some(tube)
}

fn radius(tube: &Tube, bender: &Bender) -> impl Fn(BendId) -> Length {
    let radii: Vec<Length> = tube.dies.iter().map(|die| tube.law(bender, *die).formed_radius()).collect();
    move |bend| radii[bend.0]
}

fn by_nodes(tube: &Tube, bender: &Bender, moved: &str, by: &Vector3<f64>) -> Option<Centreline> {
    let at = |(point, name): (&Option<Point3<f64>>, &Option<String>)| {
        (*point).map(|point| if name.as_deref() == Some(moved) { point + by } else { point })
    };
    let points: Vec<Point3<f64>> = tube.centreline.nodes.iter().zip(&tube.node_names).map(at).collect::<Option<_>>()?;
    Centreline::from_nodes(&points, &radius(tube, bender)).ok()
}

/// The job with a cure applied: its tubes are those that are then to be bent.
fn changed(job: &Job, cure: &Cure) -> Job {
    let mut job = job.clone();
    let Job { bender, tubes, .. } = &mut job;
    let tube = &mut tubes[0];
    let rows = tube.centreline.rows.clone();
    let built = |tube: &Tube, rows: &Rows, bender: &Bender| {
        Centreline::from_rows(rows, &radius(tube, bender)).expect("a cure has a shape that can be made")
    };
    match &cure.change {
        Change::AcceptTight => {}
        Change::Tail { extra_a, extra_b } => {
            tube.extra_a = extra_a.unwrap_or(tube.extra_a);
            tube.extra_b = extra_b.unwrap_or(tube.extra_b);
        }
        Change::Node { node, by } => tube.centreline = by_nodes(tube, bender, node, by).expect("it can be made"),
        Change::Leg { leg, by } => {
            let mut rows = rows;
            let last = &mut rows.last;
            *rows.bends.get_mut(leg - 1).map_or(last, |row| &mut row.length) += *by;
            tube.centreline = built(tube, &rows, bender);
        }
        Change::Die { bends, die } => {
            let place = bender.dies.iter().position(|known| known.name == *die).expect("one of the bender's");
            bends.iter().for_each(|bend| tube.dies[bend.0] = place);
            tube.centreline = match tube.given {
                GivenBy::Nodes => by_nodes(tube, bender, "", &Vector3::zeros()).expect("it can be made"),
                _ => built(tube, &rows, bender),
            };
        }
        Change::Split { leg, at } => {
            let cut = leg - 1;
            let half = rows.bends.get(cut).map_or(rows.last, |row| row.length) / 2.0;
            let before: f64 = rows.bends[..cut]
                .iter()
                .zip(&tube.centreline.radii)
                .map(|(row, radius)| row.length.to_mm() + radius.to_mm() * row.angle.to_rad())
                .sum();
            assert!((before + half.to_mm() - at.to_mm()).abs() < 1e-6, "{cure:?}");
            let mut behind = rows.bends[cut..].to_vec();
            behind.iter_mut().take(1).for_each(|row| *row = Row { length: half, rotation: Angle::ZERO, ..*row });
            let last = if behind.is_empty() { half } else { rows.last };
            let mut one = Tube { name: "one".into(), extra_b: Length::ZERO, ..tube.clone() };
            let mut other = Tube { name: "other".into(), extra_a: Length::ZERO, ..tube.clone() };
            (one.dies, other.dies) = (tube.dies[..cut].to_vec(), tube.dies[cut..].to_vec());
            one.centreline = built(&one, &Rows { bends: rows.bends[..cut].to_vec(), last: half }, bender);
            other.centreline = built(&other, &Rows { bends: behind, last }, bender);
            *tubes = vec![one, other];
        }
        Change::Higher { centre_height } => bender.centre_height = *centre_height,
    }
    job
}

#[test]
fn every_cure_of_a_random_tube_that_cannot_be_bent_helps() {
    let mut kinds = BTreeSet::new();
    let mut impossible = 0;
    for seed in 0..count(400, 4000) {
        let bender = bender(seed);
        let Some(tube) = tube(seed, &bender) else { continue };
        let job = Job {
            units: LengthUnit::Mm,
            date: None,
            bender,
            mirror: None,
            surveyed: None,
            rules: None,
            bars: None,
            tubes: vec![tube],
            fingerprint: "0000".into(),
        };
        let plan = planned(&job, &options(false)).remove(0);
        if plan.feasible {
            assert!(plan.cures.is_empty());
            continue;
        }
        impossible += 1;
        for cure in &plan.cures {
            kinds.insert(cure.change.kind());
            let tight = cure.change == Change::AcceptTight;
            let plans = planned(&changed(&job, cure), &options(tight));
            assert_kept(cure, &plans.iter().collect::<Vec<_>>(), &format!("seed {seed}"));
            assert!(!tight || plans[0].notes.iter().any(|note| note.code == "tight-accepted"), "seed {seed}");
        }
    }
    assert!(impossible >= 20, "{impossible}");
    assert_eq!(kinds.len(), 7, "{kinds:?}");
}

#[test]
fn a_smaller_step_of_the_same_ladder_does_not_help() {
    let job = read(&sample("jobs/impossible.yaml"), &sample("benders/floor-bender.yaml"));
    let plan = |job: &Job, name: &str| planned(job, &Options { tubes: vec![name.into()], ..options(false) }).remove(0);
    let mut lower = job.clone();
    let jib = plan(&job, "jib");
    let height = jib.cures.iter().find_map(|cure| match cure.change {
        Change::Higher { centre_height } => Some(centre_height),
        _ => None,
    });
    assert_eq!(height, Some(Length::mm(960.0)));
    lower.bender.centre_height = Length::mm(910.0);
    assert!(!plan(&lower, "jib").feasible);
}
