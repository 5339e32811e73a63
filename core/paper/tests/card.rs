//! The card of every sample, held against what can be worked out another way.

mod common;

use std::path::Path;
use std::sync::atomic::AtomicBool;

use common::{job_of, jobs, planned};
use nalgebra::{Point3, Vector3};
use serde_json::Value;
use tubewright::centreline::{BendId, Centreline, Rows, Segment};
use tubewright::file::{Held, load_job};
use tubewright::forming::LeadEnd;
use tubewright::job::Job;
use tubewright::plan::{Options, Plan, TubePlan, plan};
use tubewright::round::{Fraction, People, Units, dial};
use tubewright::units::{Angle, Length};
use tubewright_paper::card::{BarEnd, Card, Falls, JSON_SCHEMA, Tips, Way, Work};
use tubewright_paper::text::text;

fn sample(path: &Path, people: People) -> (Job, Plan, Card) {
    let job = job_of(path);
    let plan = planned(&job, people);
    let name = path.file_stem().expect("a name").to_string_lossy();
    let card = Card::new(&name, &job, &plan, &people, None);
    (job, plan, card)
}

fn named(name: &str) -> (Job, Plan, Card) {
    let path = jobs()
        .into_iter()
        .find(|path| path.file_stem().is_some_and(|stem| stem == name))
        .expect("a sample of this name");
    sample(&path, People::mm())
}

/// A card of a job in a bender, both as text.
fn written(bender: &str, job: &str) -> Card {
    let job = common::written(bender, job);
    let plan = planned(&job, People::mm());
    Card::new("job", &job, &plan, &People::mm(), Some("2026-11-26"))
}

const BENDER: &str = "
kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
dies:
  five-inch:
    od: 38.1
    clr: 127
    max_angle: 195
    clamp_length: 70
    follower_length: 150
";

fn bent(tube: &str, shape: &str) -> String {
    format!(
        "kind: job\nunits: mm\nbender: bender.yaml\ntube: {{ od: 38.1, die: five-inch, {tube} }}\ntubes:\n  one: {{ {shape} }}\n"
    )
}

fn work(card: &Card, tube: usize) -> &Work {
    card.tubes[tube].work.as_ref().expect("it can be bent")
}

fn all_people() -> [People; 3] {
    let inch = |under| People { units: Units::Inch(Fraction::from_denominator(under).expect("a fraction of a tape")) };
    [People::mm(), inch(16), inch(64)]
}

#[test]
fn every_card_is_a_document_of_the_schema() {
    let schema: Value = serde_json::from_str(JSON_SCHEMA).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let mut cards: Vec<Card> = jobs().iter().map(|path| sample(path, People::mm()).2).collect();
    cards.push(written(BENDER, &bent("wall: 2.4, density: 7850", "legs: [600, 900], bends: [90]")));
    cards.push(written(BENDER, &bent("wall: 2.4", "rows: [{ length: 600, bend: 180 }, { length: 600 }]")));
    cards.push(written(BENDER, &bent("wall: 2.4", "legs: [600], bends: []")));
    for card in &cards {
        let document: Value = serde_json::from_str(&card.to_json()).unwrap();
        let errors: Vec<String> = validator.iter_errors(&document).map(|error| error.to_string()).collect();
        assert!(errors.is_empty(), "{}: {errors:?}", card.job);
        for place in ["/tubes/0", "/tubes/0/work/ledger", "/tubes/0/work/steps/0", "/tubes/0/work/finished"] {
            let mut more = document.clone();
            if let Some(Value::Object(block)) = more.pointer_mut(place) {
                block.insert("surprise".to_owned(), Value::Null);
                assert!(!validator.is_valid(&more), "{} takes a key too many at {place}", card.job);
            }
        }
    }
    assert_eq!(schema["$id"], cards[0].schema);
}

#[test]
fn the_ledger_adds_up_as_figures_and_as_printed() {
    let (mut seen, mut corners) = (0, 0);
    for people in all_people() {
        for path in jobs() {
            let (_, _, card) = sample(&path, people);
            for tube in card.tubes.iter().filter_map(|tube| tube.work.as_ref()) {
                let ledger = &tube.ledger;
                // A bend without a corner leaves legs and gains unknown; straights and arcs are what they make.
                let bent = ledger.legs.zip(ledger.gains).map_or(ledger.developed, |(legs, gains)| legs - gains);
                assert!((bent - ledger.developed).abs().to_mm() < 1e-9, "{}", card.job);
                let set_offs = ledger.set_off_a.unwrap_or_default() + ledger.set_off_b.unwrap_or_default();
                let sum = bent - ledger.stretch - set_offs + ledger.extra_a + ledger.extra_b;
                corners += usize::from(ledger.legs.is_some());
                assert!((sum - ledger.cut_length).abs().to_mm() < 1e-9, "{}", card.job);
                let thousandths = |text: &str| libm::round(text.parse::<f64>().unwrap() * 1000.0) as i64;
                let (total, parts) = ledger.lines.split_last().unwrap();
                let parts: i64 = parts.iter().map(|line| thousandths(&line.printed)).sum();
                assert_eq!(parts, thousandths(&total.printed), "{}: {:?}", card.job, ledger.lines);
                assert_eq!(ledger.printed, people.length_with_unit(ledger.cut_length));
                let place = if card.units == "mm" { Length::mm(0.05) } else { Length::inch(0.0005) };
                let total: f64 = total.printed.parse().unwrap();
                let total = if card.units == "mm" { Length::mm(total) } else { Length::inch(total) };
                assert!((total - ledger.cut_length).abs() <= place * 1.001, "{}", card.job);
                seen += 1;
            }
        }
    }
    assert!(corners >= 20 && corners < seen, "{corners} of {seen}");
}

/// The figure between two pieces of text, and the rest.
fn between<'a>(from: &'a str, before: &str, after: &str) -> Option<(&'a str, &'a str)> {
    let (_, rest) = from.split_once(before)?;
    rest.split_once(after)
}

#[test]
fn the_text_says_what_the_document_says() {
    for people in all_people() {
        for path in jobs() {
            let (_, _, card) = sample(&path, people);
            let document: Value = serde_json::from_str(&card.to_json()).unwrap();
            let page = text(&card);
            let mut sheets = page.split("STEP CARD: ");
            sheets.next();
            for tube in document["tubes"].as_array().unwrap() {
                let sheet = sheets.next().unwrap();
                // Lines that were wrapped are one again.
                let flat = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
                assert!(flat.contains(tube["verdict"].as_str().unwrap()), "{flat}");
                if tube["work"].is_null() {
                    assert!(sheet.contains("D O   N O T   C U T"), "{sheet}");
                    assert!(!flat.contains("Caliper") && !flat.contains("STOP") && !flat.contains("MARK "), "{flat}");
                    continue;
                }
                let length = |figure: &Value| people.length(Length::mm(figure.as_f64().unwrap()));
                let work = &tube["work"];
                let cut = length(&work["ledger"]["cut_length_mm"]);
                assert!(flat.contains(&format!("Cut {cut} {} of tube", people.unit())), "{cut}: {flat}");

                let table = sheet.lines().skip_while(|line| !line.trim_start().starts_with("bend   lead")).skip(1);
                let rows: Vec<Vec<&str>> = table
                    .take_while(|line| !line.is_empty())
                    .map(|line| line.split("   ").map(str::trim).filter(|cell| !cell.is_empty()).collect())
                    .collect();
                let marks: Vec<Vec<String>> = work["marks"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|mark| {
                        let top = Angle::deg(mark["top_deg"].as_f64().unwrap());
                        vec![
                            mark["bend"].to_string(),
                            mark["lead"].as_str().unwrap().to_owned(),
                            length(&mark["mark_mm"]),
                            length(&mark["tail_mm"]),
                            people.angle(top),
                            length(&mark["top_arc_mm"]),
                        ]
                    })
                    .collect();
                assert_eq!(rows, marks, "{sheet}");

                let mut rest = flat.as_str();
                for step in work["steps"].as_array().unwrap() {
                    let lead = step["lead"].as_str().unwrap();
                    let end;
                    (end, rest) = between(rest, ">> END ", " ").unwrap();
                    assert_eq!(end, lead);
                    let (bend, mark, tail);
                    (bend, rest) = between(rest, ">> MARK ", " at ").unwrap();
                    (mark, rest) = rest.split_once(" from end A, to the index: ").unwrap();
                    (tail, rest) = rest.split_once(" of tube then lie").unwrap();
                    assert_eq!(bend, step["bend"].to_string());
                    assert_eq!(mark, format!("{} {}", length(&step["mark_mm"]), people.unit()));
                    assert_eq!(tail, format!("{} {}", length(&step["tail_mm"]), people.unit()));
                    let (stop, size);
                    (stop, rest) = between(rest, ">> STOP ", " on the dial").unwrap();
                    // Where the springback is not known one stops first and looks.
                    let first = step["look_deg"].as_f64().or(step["dial_target_deg"].as_f64()).unwrap();
                    assert_eq!(stop, people.dial(Angle::deg(first), card.dial_step));
                    if step["check"].is_null() {
                        continue;
                    }
                    (size, rest) = between(rest, "middle to middle: ", ", within").unwrap();
                    assert_eq!(size, format!("{} {}", length(&step["check"]["size_mm"]), people.unit()));
                }
                assert!(!rest.contains(">> STOP"), "{rest}");
            }
            assert!(sheets.next().is_none());
            assert!(page.lines().all(|line| line.chars().count() <= 80), "{}", card.job);
        }
    }
}

/// With the figures of the document alone: which way is up with end A left and the opening toward whoever looks, by trying both.
#[test]
fn the_mirror_check_is_that_of_the_nodes() {
    let mut hands = Vec::new();
    for path in jobs() {
        let (_, plan, card) = sample(&path, People::mm());
        for (tube, planned) in card.tubes.iter().zip(&plan.tubes) {
            let Some(finished) = tube.work.as_ref().and_then(|work| work.finished.as_ref()) else { continue };
            let nodes: Vec<Point3<f64>> = planned.centreline.nodes.iter().flatten().copied().collect();
            let corner = nodes[planned.centreline.bend_nodes[0]];
            let (end_a, after) = (nodes[0], nodes[planned.centreline.bend_nodes[0] + 1]);
            let (to_a, on) = ((end_a - corner).normalize(), (after - corner).normalize());
            let square = to_a.cross(&on).normalize();
            let toward_me = to_a + on;
            let up = [square, -square].into_iter().find(|up| {
                let ahead: Vector3<f64> = -toward_me;
                let right = ahead.cross(up);
                to_a.dot(&right) < 0.0 && on.dot(&right) > 0.0
            });
            let up = up.unwrap();
            let height = |point: Point3<f64>| (point - corner).dot(&up);
            let end = nodes[nodes.len() - 1];
            let last = (end - nodes[nodes.len() - 2]).normalize();
            let end_b = height(end + last * planned.beyond()[1].to_mm());
            match &finished.hand {
                Some(hand) if hand.place == "end B" => {
                    assert!((hand.up.to_mm() - end_b).abs() < 1e-6, "{}: {hand:?} {end_b}", tube.name);
                    hands.push((tube.name.clone(), end_b));
                }
                Some(hand) => {
                    let bend: usize = hand.place.strip_prefix("corner ").unwrap().parse().unwrap();
                    let corner = height(nodes[planned.centreline.bend_nodes[bend - 1]]);
                    assert!((hand.up.to_mm() - corner).abs() < 1e-6, "{}: {hand:?} {corner}", tube.name);
                    hands.push((tube.name.clone(), corner));
                }
                None => assert!(nodes.iter().all(|node| height(*node).abs() < 2.0), "{}", tube.name),
            }
        }
    }
    let of = |name: &str| hands.iter().find(|(tube, _)| tube == name).unwrap().1;
    assert!((of("arch-left") + of("arch-right")).abs() < 1e-6);
    assert!(hands.len() >= 4, "{hands:?}");
}

/// The tube with errors: what its straights, rotations and bend angles become, and where end B then is. It lies with the cut end A at the origin, the
/// first leg along +x and bend 1 toward +y.
struct Errors<'a> {
    tube: &'a TubePlan,
    /// Of each mark, mm toward end B.
    mark: Vec<f64>,
    /// Of each top line, degrees clockwise.
    top: Vec<f64>,
    /// Of each bend angle, degrees.
    angle: Vec<f64>,
    /// Of the cut, mm.
    cut: f64,
}

impl<'a> Errors<'a> {
    fn none(tube: &'a TubePlan) -> Self {
        let none = vec![0.0; tube.blank.bends.len()];
        Self { tube, mark: none.clone(), top: none.clone(), angle: none, cut: 0.0 }
    }

    fn end(&self) -> Point3<f64> {
        let tube = self.tube;
        let mut rows: Rows = tube.centreline.rows.clone();
        let count = rows.bends.len();
        let mut straights: Vec<f64> =
            rows.bends.iter().map(|row| row.length.to_mm()).chain([rows.last.to_mm()]).collect();
        straights[0] += tube.beyond()[0].to_mm();
        straights[count] += tube.beyond()[1].to_mm() + self.cut;
        for (place, formed) in tube.blank.bends.iter().enumerate() {
            straights[place] += self.mark[place];
            straights[place + 1] -= self.mark[place];
            let more = Angle::deg(self.angle[place]);
            rows.bends[place].angle += more;
            let taken = (formed.formed_radius * more.to_rad() / (1.0 + formed.stretch)).to_mm();
            let lead = tube.steps.iter().find(|step| step.bend == formed.bend).expect("every bend has a step").lead;
            straights[if lead == LeadEnd::A { place + 1 } else { place }] -= taken;
            if place > 0 {
                rows.bends[place].rotation += Angle::deg(self.top[place] - self.top[place - 1]);
            }
        }
        for (row, straight) in rows.bends.iter_mut().zip(&straights) {
            row.length = Length::mm(*straight);
        }
        rows.last = Length::mm(straights[count]);
        let radius = |bend: BendId| tube.blank.bends[bend.0].formed_radius;
        Centreline::from_rows(&rows, &radius).expect("small errors leave a tube").end().0
    }
}

#[test]
fn what_a_degree_does_to_the_ends_is_the_difference_of_two_tubes() {
    let (mut stretched, mut most, mut untaped) = (0, 0.0_f64, 0);
    for path in jobs() {
        let (job, plan, card) = sample(&path, People::mm());
        for (tube, planned) in card.tubes.iter().zip(&plan.tubes) {
            let Some(finished) = tube.work.as_ref().and_then(|work| work.finished.as_ref()) else { continue };
            let last = tube.work.as_ref().unwrap().steps.last().unwrap();
            let Some(check) = &last.check else {
                // An end has its cut before bending: nothing is taped to it.
                let coped: Vec<LeadEnd> =
                    [LeadEnd::A, LeadEnd::B].into_iter().filter(|end| planned.cut_before(*end).is_some()).collect();
                assert!(!coped.is_empty(), "{}", tube.name);
                assert!(finished.tuning.is_empty() && finished.each.is_none(), "{}", tube.name);
                for end in coped {
                    let end = format!("cut end {}", end.letter());
                    assert!(finished.checks.iter().all(|check| !check.faces.contains(&end)), "{}", tube.name);
                }
                untaped += 1;
                continue;
            };
            assert_eq!(finished.tuning.len(), planned.blank.bends.len());
            for (place, row) in finished.tuning.iter().enumerate() {
                let span = |degrees: f64| {
                    let mut errors = Errors::none(planned);
                    errors.angle[place] = degrees;
                    errors.end().coords.norm()
                };
                let step = 1e-3;
                let slope = (span(step) - span(-step)) / (2.0 * step);
                assert!((row.per_degree.to_mm() - slope).abs() < 1e-5, "{} {row:?} {slope}", tube.name);
                stretched += usize::from(planned.blank.bends[place].stretch > 0.0);
                if let Some(add) = row.add {
                    // What is added makes up for the ends being too far apart, to first order.
                    let law = planned.blank.bends[place];
                    let reading = (law.die_angle / law.angle).max(1.0);
                    let closer = add.to_deg() * row.per_degree.to_mm();
                    assert!(closer < 0.0 && -closer >= row.off.to_mm() * 0.999, "{} {row:?}", tube.name);
                    assert!(-closer <= row.off.to_mm() * reading * 1.001, "{} {row:?}", tube.name);
                }
            }
            // The check of the last step is that of the finished tube.
            // What the dial loses of the targets is within what the check allows.
            let mut dialled = Errors::none(planned);
            for step in &planned.steps {
                let law = job.tubes.iter().find(|one| one.name == tube.name).unwrap().law(&job.bender, step.die);
                let lost = step.dial_target - dial(step.dial_target, job.bender.pointer.step);
                dialled.angle[step.bend.0] = -lost.to_deg() / (1.0 + law.proportional);
            }
            let off = (dialled.end().coords.norm() - check.size.to_mm()).abs();
            assert!(off <= check.within.to_mm(), "{}: {off}", tube.name);
            most = most.max(off);
            assert_eq!(check, &finished.checks[0]);
            assert!((check.size.to_mm() - Errors::none(planned).end().coords.norm()).abs() < 1e-6);
        }
    }
    // Some sample's ends move by more than a tape tells.
    assert!(stretched > 0 && most > 1.6 && untaped > 0, "{stretched} {most} {untaped}");
}

/// Every corner of the box of roundings: marks and cut half a millimetre, top lines half of their step, targets a whole step of the dial short.
#[test]
fn rounding_never_moves_the_end_further_than_the_card_says() {
    for (name, place) in [("pair", 0), ("pair", 1), ("grab-handle", 0), ("brace", 0)] {
        let (job, plan, card) = named(name);
        let tube = &plan.tubes[place];
        let bound = work(&card, place).rounding.as_ref().unwrap();
        let right = Errors::none(tube).end();
        let bends = tube.blank.bends.len();
        assert!(bends <= 4, "{name} has too many corners to try");
        let taped = 0.5 / (tube.stock.od.to_mm() / 2.0) * (180.0 / core::f64::consts::PI);
        for (half_top, bound) in [(0.05, bound.end_b), (taped, bound.end_b_taped)] {
            let mut worst: f64 = 0.0;
            for corner in 0_u32..1 << (3 * bends + 1) {
                let sign = |bit: usize| if corner >> bit & 1 == 1 { 1.0 } else { -1.0 };
                let mut errors = Errors::none(tube);
                errors.cut = 0.5 * sign(3 * bends);
                for (bend, formed) in tube.blank.bends.iter().enumerate() {
                    let step = tube.steps.iter().find(|step| step.bend == formed.bend).unwrap();
                    errors.mark[bend] = 0.5 * sign(3 * bend);
                    if step.top.abs() > Angle::deg(1e-9) {
                        errors.top[bend] = half_top * sign(3 * bend + 1);
                    }
                    let short = if sign(3 * bend + 2) > 0.0 { job.bender.pointer.step.to_deg() } else { 0.0 };
                    let law = job.tubes[place].law(&job.bender, formed.die);
                    errors.angle[bend] = -short / (1.0 + law.proportional);
                }
                worst = worst.max((errors.end() - right).norm());
            }
            assert!(worst <= bound.to_mm(), "{name}: {worst} over {bound:?}");
            // Not so far above that it says nothing.
            assert!(bound.to_mm() < 1.7 * worst, "{name}: {worst} far under {bound:?}");
        }
    }
}

#[test]
fn a_square_bend_wants_to_drop_with_the_moment_of_its_leg() {
    let card = written(BENDER, &bent("wall: 2.4, density: 7850", "legs: [600, 900], bends: [90]"));
    let work = work(&card, 0);
    let area = core::f64::consts::PI / 4.0 * (38.1_f64.powi(2) - 33.3_f64.powi(2));
    let kg_per_mm = area * 7850e-9;
    // Lead A: the arc, then 473 mm of straight, measured from the line of the other leg.
    let (radius, leg) = (127.0, 600.0 - 127.0);
    let lever = radius * radius * (core::f64::consts::FRAC_PI_2 - 1.0) + radius * leg + leg * leg / 2.0;
    let lead = work.steps[0].lead;
    assert_eq!(lead, "A");
    let hold = work.steps[0].hold.unwrap();
    assert!((hold.moment_nm - kg_per_mm * lever * 1e-3 * 9.80665).abs() < 1e-9, "{hold:?}");
    assert_eq!(hold.falls, Falls::DieSide);
    let weight = work.weight.as_ref().unwrap();
    assert!((weight.kg - kg_per_mm * work.ledger.cut_length.to_mm()).abs() < 1e-9);
    assert!(!weight.second_person);
    let page = text(&card);
    assert!(page.contains("HOLD ") && page.contains("2026-11-26"), "{page}");

    let heavy = written(BENDER, &bent("wall: 2.4, density: 7850", "legs: [6000, 5000], bends: [90]"));
    assert!(heavy.tubes[0].work.as_ref().unwrap().weight.as_ref().unwrap().second_person);
    assert!(text(&heavy).contains("second person"));

    let unknown = written(BENDER, &bent("wall: 2.4", "legs: [600, 900], bends: [90]"));
    assert!(unknown.tubes[0].work.as_ref().unwrap().weight.is_none());
    assert!(!text(&unknown).contains("HOLD") && !text(&unknown).contains("kg"));
}

/// A leg out of the plane too: every bit of the finished tube times how far it lies from the line of the last leg, toward the middle of the last arc. Nothing
/// of it depends on which way the bender turns, nor on what of it turns.
#[test]
fn what_is_bent_before_counts_whatever_the_bender() {
    let shape = "rows: [{ length: 400, bend: 60 }, { length: 400, rotation: 70, bend: 50 }, { length: 500 }]";
    let job = bent("wall: 2.4, density: 7850", shape);
    for (hand, motion) in [
        ("anticlockwise", "die-turns"),
        ("clockwise", "die-turns"),
        ("anticlockwise", "die-stands"),
        ("clockwise", "die-stands"),
    ] {
        let bender = BENDER.replace("anticlockwise", hand).replace("die-turns", motion);
        let job = common::written(&bender, &job);
        let people = People::mm();
        let order = Some("1A 2A".to_owned());
        let options = Options { tubes: Vec::new(), order, accept_tight: false, best: 1, people };
        let plan = plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).unwrap();
        let card = Card::new("job", &job, &plan, &people, None);
        let hold = work(&card, 0).steps[1].hold.unwrap();

        let segments = plan.tubes[0].centreline.segments();
        let last = segments[segments.len() - 2];
        let Segment::Arc { centre, .. } = last else { panic!("the last arc") };
        let toward = (centre - last.end()).normalize();
        let bits = 2000;
        let lever: f64 = segments
            .iter()
            .flat_map(|segment| {
                let bit = segment.length() / f64::from(bits);
                (0..bits).map(move |count| {
                    let point = segment.at(bit * (f64::from(count) + 0.5)).0;
                    (point - last.end()).dot(&toward) * bit.to_mm()
                })
            })
            .sum();
        let kg_per_mm = job.tubes[0].stock.kg_per_m().unwrap() * 1e-3;
        let moment = lever * kg_per_mm * 1e-3 * 9.80665;
        assert!((hold.moment_nm - moment.abs()).abs() < 1e-5 * hold.moment_nm, "{hand} {motion}: {hold:?} {moment}");
        assert_eq!(hold.falls, if moment > 0.0 { Falls::DieSide } else { Falls::AwayFromDie }, "{hand} {motion}");
    }
}

#[test]
fn in_a_vertical_bend_plane_a_leg_in_the_plane_has_no_moment_about_the_tube() {
    let bender = BENDER.replace("bend_plane: horizontal", "bend_plane: vertical\nup: [0, 1, 0]");
    let card = written(&bender, &bent("wall: 2.4, density: 7850", "legs: [600, 900], bends: [90]"));
    assert_eq!(work(&card, 0).steps[0].hold, None);
}

#[test]
fn where_springback_is_not_known_the_card_says_what_to_add() {
    let card = written(BENDER, &bent("wall: 2.4", "legs: [600, 900], bends: [90]"));
    let step = &work(&card, 0).steps[0];
    let printed: Vec<&str> = step.add.iter().map(|row| row.printed.as_str()).collect();
    assert_eq!(printed, ["1", "2", "3"]);
    assert!(text(&card).contains("short by 3, add 3"));
    let (_, _, known) = named("pair");
    assert!(work(&known, 0).steps.iter().all(|step| step.add.is_empty()));
}

#[test]
fn a_straight_tube_is_cut_and_nothing_else() {
    let card = written(BENDER, &bent("wall: 2.4", "legs: [600], bends: []"));
    let work = work(&card, 0);
    assert!(work.steps.is_empty() && work.marks.is_empty() && work.finished.is_none() && work.rounding.is_none());
    let page = text(&card);
    assert!(page.contains("600 mm of tube") && !page.contains("Marks"), "{page}");
}

#[test]
fn the_two_of_a_pair_have_their_hand_and_other_tubes_have_none() {
    let (_, _, pair) = named("pair");
    let hands: Vec<Option<&str>> = pair.tubes.iter().map(|tube| tube.hand.as_deref()).collect();
    assert_eq!(hands, [Some("LEFT"), Some("RIGHT")]);
    let page = text(&pair);
    assert!(page.contains("L E F T") && page.contains("R I G H T"));
    let (_, _, hoop) = named("hoop");
    assert!(hoop.tubes.iter().all(|tube| tube.hand.is_none()));
}

/// The rows of a tube whose marks, top lines, targets and cut are the printed ones.
#[test]
fn the_tube_of_the_printed_figures_lies_off_by_what_the_card_says() {
    let mut off = Vec::new();
    for people in all_people() {
        for path in jobs() {
            let (job, plan, card) = sample(&path, people);
            for (tube, planned) in card.tubes.iter().zip(&plan.tubes) {
                let Some(work) = &tube.work else { continue };
                let Some(rounding) = &work.rounding else { continue };
                let read = |text: &str| -> f64 {
                    let parts = text.split(' ').map(|part| match part.split_once('/') {
                        Some((over, under)) => over.parse::<f64>().unwrap() / under.parse::<f64>().unwrap(),
                        None => part.parse().unwrap(),
                    });
                    parts.sum::<f64>() * if card.units == "mm" { 1.0 } else { 25.4 }
                };
                for taped in [false, true] {
                    let mut errors = Errors::none(planned);
                    let cut = work.ledger.printed.rsplit_once(' ').unwrap().0;
                    errors.cut = read(cut) - planned.blank.cut_length.to_mm();
                    for mark in &work.marks {
                        let place = mark.bend - 1;
                        errors.mark[place] = read(&mark.printed.mark) - mark.mark.to_mm();
                        errors.top[place] = if taped {
                            let arc = read(&mark.printed.top_arc) - mark.top_arc.to_mm();
                            (arc / (planned.stock.od.to_mm() / 2.0)).to_degrees()
                        } else {
                            mark.printed.top.parse::<f64>().unwrap() - mark.top.to_deg()
                        };
                    }
                    for step in &work.steps {
                        let formed = planned.blank.bends[step.bend - 1];
                        let law =
                            job.tubes.iter().find(|one| one.name == tube.name).unwrap().law(&job.bender, formed.die);
                        let lost = step.dial_target.to_deg() - step.printed.stop.parse::<f64>().unwrap();
                        errors.angle[step.bend - 1] = -lost / (1.0 + law.proportional);
                    }
                    let wanted = (errors.end() - Errors::none(planned).end()).norm();
                    let (found, most) = if taped {
                        (rounding.as_printed_taped, rounding.end_b_taped)
                    } else {
                        (rounding.as_printed, rounding.end_b)
                    };
                    assert!((found.to_mm() - wanted).abs() < 1e-6, "{} {found:?} {wanted}", tube.name);
                    assert!(found <= most, "{} {rounding:?}", tube.name);
                    off.push(wanted);
                }
            }
        }
    }
    assert!(off.iter().any(|off| *off > 3.0), "{off:?}");
}

#[test]
fn a_long_tail_has_a_stand_under_the_middle_of_what_hangs_over() {
    let shape = "legs: [400, 2600], bends: [90]";
    let card = written(BENDER, &bent("wall: 2.4, density: 7850", shape));
    let work = work(&card, 0);
    let step = &work.steps[0];
    let stand = step.stand.unwrap();
    let kg = work.weight.as_ref().unwrap().kg;
    let (cut, mark) = (work.ledger.cut_length.to_mm(), step.mark.to_mm());
    // Straight tube, the index at the mark, the follower's far end 150 mm behind it.
    let (lead, tail) = if step.lead == "A" { (mark, cut - mark) } else { (cut - mark, mark) };
    assert!(tail > lead, "{lead} {tail}");
    let tips = kg * 9.80665 * ((tail - lead) / 2.0 - 150.0) * 1e-3;
    assert!((stand.tips_nm - tips).abs() < 1e-9, "{stand:?} {tips}");
    assert_eq!((stand.tips, stand.ahead, stand.swings), (Tips::LaidIn, false, false));
    assert_ne!(stand.end, step.lead);
    let place = stand.from_index.unwrap().to_mm();
    assert!((place - (150.0 + tail) / 2.0).abs() < 1e-9, "{place}");
    let page = text(&card);
    assert!(page.contains(&format!("STAND     {place:.0} mm behind the index")), "{page}");
    assert!((stand.carries_kg.unwrap() * 9.80665 * (place - 150.0) * 1e-3 - tips).abs() < 1e-9, "{stand:?}");

    // A wiper swings the tail, so that a stand has to go along.
    let wiped = written(&BENDER.replace("die-turns", "die-stands"), &bent("wall: 2.4, density: 7850", shape));
    assert!(wiped.tubes[0].work.as_ref().unwrap().steps[0].stand.unwrap().swings);
    // An index ahead of the start of bend lies that much further from the stand.
    let index = BENDER.replace("follower_length: 150", "follower_length: 150\n    mark_offset: 12");
    let moved = written(&index, &bent("wall: 2.4, density: 7850", shape));
    let moved = moved.tubes[0].work.as_ref().unwrap().steps[0].stand.unwrap().from_index.unwrap();
    assert!((moved.to_mm() - place - 12.0).abs() < 1e-9, "{moved:?}");
    // A short one is kept down by hand; one without a density may be anything.
    let short = written(BENDER, &bent("wall: 2.4, density: 7850", "legs: [400, 800], bends: [90]"));
    assert_eq!(short.tubes[0].work.as_ref().unwrap().steps[0].stand, None);
    let unknown = written(BENDER, &bent("wall: 2.4", shape));
    let unknown_work = unknown.tubes[0].work.as_ref().unwrap();
    assert!(unknown_work.steps[0].stand.is_none() && unknown_work.weight.is_none());
    assert!(text(&unknown).contains("no density is given"), "{}", text(&unknown));
}

#[test]
fn what_one_person_lifts_is_the_shops_to_say() {
    let job = bent("wall: 2.4, density: 7850", "legs: [1500, 1900], bends: [90]");
    let weight = |bender: &str| work(&written(bender, &job), 0).weight.clone().unwrap();
    let usual = weight(BENDER);
    assert!(usual.kg < 20.0 && !usual.second_person, "{usual:?}");
    let weak = weight(&BENDER.replace("dies:", "lift: 5\ndies:"));
    assert!(weak.second_person && weak.words.contains("second person"), "{weak:?}");
}

/// Up to a quarter turn the bar reads the turn; beyond, what is left of half a turn, on its other end.
#[test]
fn a_bar_across_the_tube_reads_the_turn() {
    for (rotation, reads) in [(30.0, 30.0), (-70.0, 70.0), (100.0, 80.0), (-150.0, 30.0), (180.0, 0.0)] {
        let shape = format!("legs: [500, 600, 500], bends: [40, 40], rotations: [{rotation}]");
        for plane in ["horizontal", "vertical\nup: [0, 1, 0]"] {
            let bender = BENDER.replace("horizontal", plane).replace("860", "2000");
            let card = written(&bender, &bent("wall: 2.4", &shape));
            let steps = &work(&card, 0).steps;
            assert_eq!(steps[0].bar, None);
            let bar = steps[1].bar.unwrap();
            assert!((bar.rise.to_deg().abs() - reads).abs() < 1e-9, "{rotation} {bar:?}");
            assert_eq!(bar.end, if plane == "horizontal" { BarEnd::DieSide } else { BarEnd::TowardYou });
            if let Some(turn) = steps[1].turn.filter(|turn| turn.to_deg().abs() < 90.0) {
                // Clockwise seen from behind, on an anticlockwise bender the die lies to the left, and the left side rises.
                let way = if plane == "horizontal" { 1.0 } else { -1.0 };
                assert!((bar.rise.to_deg() - way * turn.to_deg()).abs() < 1e-9, "{rotation} {bar:?} {turn:?}");
            }
        }
    }
}

#[test]
fn with_springback_of_other_tube_one_stops_where_no_springback_can_make_it_too_far() {
    let spring =
        "springback: { constant: 1.5, proportional: 0.03 }, measured: { date: 2026-11-02, od: 38.1, wall: 1.6 }";
    let materials = format!("follower_length: 150\n    materials: {{ steel: {{ {spring} }} }}");
    let bender = BENDER.replace("follower_length: 150", &materials);
    let bender = bender.replace("dies:", "pointer: { set_to: -2, when: first-bite }\ndies:");
    let card = written(&bender, &bent("wall: 2.4, material: steel", "legs: [600, 900], bends: [90]"));
    let step = &work(&card, 0).steps[0];
    assert_eq!(step.springback.from, "borrowed");
    let words = &work(&card, 0).caliper.words;
    assert!(
        words.ends_with("Springback by test bends of other tube of 2026-11-02, OD 38.1 mm, wall 1.6 mm."),
        "{words}"
    );
    let look = step.look.unwrap();
    assert!((look.to_deg() - 88.0).abs() < 1e-9, "{look:?}");
    assert!((step.dial_target.to_deg() - (90.0 * 1.03 + 1.5 - 2.0)).abs() < 1e-9);
    // die angle = angle (1 + k) + c: what a smaller angle would have needed, and the rest of the way.
    for row in &step.add {
        let short = row.short.to_deg();
        let needed = |angle: f64| angle * 1.03 + 1.5;
        assert!((row.add.to_deg() - (needed(90.0) - needed(90.0 - short))).abs() < 1e-9, "{row:?}");
        assert!(row.printed.parse::<f64>().unwrap() <= row.add.to_deg());
    }
    assert_eq!(step.add.len(), 3);
    let page = text(&card).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains(">> STOP 88 on the dial") && page.contains("to 92 if it holds"), "{page}");
}

#[test]
fn no_point_of_the_tube_leaves_the_room_that_is_kept_free() {
    for path in jobs() {
        let (job, plan, card) = sample(&path, People::mm());
        for (tube, planned) in card.tubes.iter().zip(&plan.tubes) {
            let Some(room) = tube.work.as_ref().and_then(|work| work.room.as_ref()) else { continue };
            let up = job.bender.bend_plane.up();
            let mut most = [f64::MIN; 4];
            let mut made = vec![false; planned.blank.bends.len()];
            for step in &planned.steps {
                let (bender, blank) = (&job.bender, &planned.blank);
                let at = tubewright::bender::Step { bender, blank, bend: step.bend, lead: step.lead, made: &made };
                for part in 0..=97 {
                    for piece in tubewright::body::pieces_at(&at, step.die_angle * (f64::from(part) / 97.0)) {
                        for point in [piece.from, piece.to] {
                            for (reach, most) in room.floor.iter().zip(&mut most) {
                                let across = if up.z > 0.5 { Vector3::y() * bender.hand.sign() } else { Vector3::z() };
                                let way = match reach.way {
                                    Way::Ahead => Vector3::x(),
                                    Way::Behind => -Vector3::x(),
                                    Way::DieSide | Way::TowardYou => across,
                                    Way::AwayFromDie | Way::AwayFromYou => -across,
                                };
                                *most = most.max(point.coords.dot(&way));
                            }
                        }
                    }
                }
                made[step.bend.0] = true;
            }
            for (reach, most) in room.floor.iter().zip(most) {
                let spare = reach.far.to_mm() - most - planned.stock.od.to_mm() / 2.0;
                // Besides the tube's own half, no more than a tape tells; the outside of an arc may reach further than its ends.
                assert!(spare >= 0.0, "{} {reach:?} {most}", tube.name);
                assert!(spare < 60.0, "{} {reach:?} {most}", tube.name);
            }
            assert!(room.floor.iter().all(|reach| reach.far <= room.reach + Length::mm(1.0)), "{room:?}");
        }
    }
}

#[test]
fn the_same_at_each_bend_makes_up_for_it() {
    let (job, plan, card) = named("hoop");
    let finished = work(&card, 0).finished.as_ref().unwrap();
    let each = finished.each.as_ref().unwrap();
    assert_eq!(each.bends, [1, 2]);
    let law = job.tubes[0].law(&job.bender, plan.tubes[0].blank.bends[0].die);
    let closer: f64 = finished.tuning.iter().map(|row| row.per_degree.to_mm()).sum::<f64>() * each.add.to_deg();
    let off = finished.tuning[0].off.to_mm();
    assert!((closer / (1.0 + law.proportional) + off).abs() < 1e-9, "{closer} {off}");
    let page = text(&card).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("at each of bends 1, 2"), "{page}");
}

#[test]
fn cautions_are_numbered_in_full_and_are_those_that_apply() {
    let pinned = BENDER.replace("dies:", "pin: { first: 40, every: 45 }\ndies:");
    let job = bent("wall: 2.4, density: 7850", "legs: [600, 900], bends: [90]");
    let (with, without) = (written(&pinned, &job), written(BENDER, &job));
    let count = |card: &Card| work(card, 0).cautions.len();
    assert_eq!(count(&with), count(&without) + 1);
    let page = text(&with);
    for number in 1..=count(&with) {
        assert!(page.contains(&format!("   {number:>2}  ")), "{page}");
    }
    assert!(page.contains("local codes") && page.contains("licensed practice"), "{page}");
    let straight = written(BENDER, &bent("wall: 2.4", "legs: [600], bends: []"));
    assert!(work(&straight, 0).cautions.len() < 6 && !text(&straight).contains("follower"), "{}", text(&straight));
}

#[test]
fn the_shops_own_rules_stand_on_the_card_as_written_with_what_is_left_to_measure() {
    let job = bent("wall: 2.4", "legs: [600, 900, 600], bends: [60, 60]").replace("tube:", "rules: rules.yaml\ntube:");
    let rules = "kind: rules\nunits: mm\nname: our rules\nminor_over_major: 0.92\nnotes: [\"ends deburred, <both> & clean\", No flame]\n";
    let files = Held::default().with("bender.yaml", BENDER).with("job.yaml", job.as_str()).with("rules.yaml", rules);
    let job = load_job(&files, Path::new("job.yaml")).unwrap_or_else(|mistakes| panic!("{}", mistakes.render(false)));
    // 38.1 x 0.92 is 35.052 mm or 1.38 in: rounded up, never less than is asked.
    for (people, printed) in [(People::mm(), "35.1 mm"), (People::inch(), "1.380 in")] {
        let card = Card::new("job", &job, &planned(&job, people), &people, None);
        let set = card.rules.as_ref().expect("the job names rules");
        assert_eq!((set.name.as_str(), set.notes.len()), ("our rules", 2));
        let round =
            work(&card, 0).finished.as_ref().and_then(|finished| finished.roundness.as_ref()).expect("a rule asks");
        assert_eq!((round.bends.as_slice(), round.printed.as_str()), (&[1, 2][..], printed));
        assert!((round.smallest.to_mm() - 35.052).abs() < 1e-9 && round.largest == Length::mm(38.1));
        let schema: Value = serde_json::from_str(JSON_SCHEMA).unwrap();
        let document: Value = serde_json::from_str(&card.to_json()).unwrap();
        let errors: Vec<String> =
            jsonschema::validator_for(&schema).unwrap().iter_errors(&document).map(|error| error.to_string()).collect();
        assert!(errors.is_empty(), "{errors:?}");
        let printed_card = text(&card);
        for line in [
            "Rules     our rules\n",
            "          ends deburred, <both> & clean\n",
            "          No flame\n",
            "          current text yourself.\n",
        ] {
            assert!(printed_card.contains(line), "{line}: {printed_card}");
        }
        for bend in 1..=2 {
            assert!(
                printed_card
                    .contains(&format!("bend {bend}: smallest ____________ largest ____________ {}", people.unit()))
            );
        }
        assert!(printed_card.contains(printed), "{printed_card}");
    }
    // Nothing of it where no rules are named.
    let card = written(BENDER, &bent("wall: 2.4", "legs: [600, 900, 600], bends: [60, 60]"));
    assert!(card.rules.is_none() && !text(&card).contains("Rules "));
    assert!(work(&card, 0).finished.as_ref().is_some_and(|finished| finished.roundness.is_none()));
}

#[test]
fn a_rule_that_is_broken_stands_under_a_heading_of_its_own() {
    let job = bent("wall: 2.4", "legs: [600, 900, 600], bends: [60, 60]").replace("tube:", "rules: rules.yaml\ntube:");
    let people = People::mm();
    for (least, broken) in [("2.4", false), ("2.5", true)] {
        let rules = format!("kind: rules\nunits: mm\nname: our rules\nwall_min: {least}\n");
        let files = Held::default()
            .with("bender.yaml", BENDER)
            .with("job.yaml", job.as_str())
            .with("rules.yaml", rules.as_str());
        let job =
            load_job(&files, Path::new("job.yaml")).unwrap_or_else(|mistakes| panic!("{}", mistakes.render(false)));
        let card = Card::new("job", &job, &planned(&job, people), &people, None);
        let tube = &card.tubes[0];
        let codes: Vec<&str> = tube.not_kept.iter().map(|note| note.code).collect();
        assert_eq!(codes, if broken { vec!["rule-wall-min"] } else { Vec::new() });
        assert!(tube.notes.iter().all(|note| !note.code.starts_with("rule-wall")), "{:?}", tube.notes);
        assert_eq!(text(&card).contains("\nNot kept  a rule is broken"), broken, "{}", text(&card));
    }
}

#[test]
fn cautions_stand_once_at_the_end_of_all_tubes() {
    let job = bent("wall: 2.4, density: 7850", "legs: [600, 900], bends: [90]");
    let tubes =
        format!("{job}\n  other:\n    legs: [600]\n    bends: []\n  third:\n    legs: [500, 700]\n    bends: [45]\n");
    let card = written(BENDER, &tubes);
    assert_eq!(card.tubes.len(), 3);
    let page = text(&card);
    assert_eq!(page.matches("Cautions").count(), 1, "{page}");
    let last = page.rfind("local codes").expect("the caution stands there");
    assert!(
        page.find("local codes") == Some(last) && page.rfind("STEP CARD").is_some_and(|head| head < last),
        "{page}"
    );
    for tube in &card.tubes {
        let own = &tube.work.as_ref().expect("it can be bent").cautions;
        assert!(own.iter().all(|caution| card.cautions().contains(caution)));
    }
    assert_eq!(card.cautions().len(), work(&card, 0).cautions.len());
}

/// A tube with a bend that lands square on a post of its own size, with something left on at that end.
fn coped(end: &str) -> Card {
    written(
        BENDER,
        &format!(
            "kind: job\nunits: mm\nbender: bender.yaml\ntube: {{ od: 38.1, wall: 2.4, die: five-inch }}\n\
             nodes: {{ a: [0, 0, -900], b: [0, 0, 900], c: [0, 0, 0], d: [600, 0, 0], e: [600, 600, 0] }}\n\
             tubes:\n  post: {{ path: [a, b] }}\n  stay: {{ path: [c, d, e], extra: {{ a: 10 }}, ends: {{ a: {{ meets: post, {end} }} }} }}\n"
        ),
    )
}

#[test]
fn no_size_is_taped_to_an_end_that_is_coped_before_bending() {
    let faces = |card: &Card| -> Vec<String> {
        let finished = work(card, 1).finished.as_ref().expect("it has a bend");
        finished.checks.iter().map(|check| check.faces.clone()).collect()
    };
    let says = |card: &Card, words: &str| {
        let text = text(card).split_whitespace().collect::<Vec<_>>().join(" ");
        text.contains(words)
    };
    let before = coped("gap: 1.5, when: before");
    assert_eq!(work(&before, 1).steps[0].check, None);
    assert_eq!(faces(&before), ["leg 2, outside of corner 1 to cut end B"]);
    assert!(says(&before, "end A is coped: no size is taped to it."), "{}", text(&before));
    assert!(says(&before, "10 mm extra at end A, which the cope takes off."), "{}", text(&before));
    let planes = coped("gap: 1.5, when: before, cut: two-plane");
    assert!(says(&planes, "end A is cut in two planes: no size is taped to it."), "{}", text(&planes));
    assert!(says(&planes, "10 mm extra at end A, which the two cuts take off."), "{}", text(&planes));
    // Cut after bending the end is still square when it is taped.
    let after = coped("gap: 1.5");
    assert!(work(&after, 1).steps[0].check.is_some());
    assert_eq!(faces(&after).len(), 3);
    assert!(!says(&after, "no size is taped") && says(&after, "10 mm extra at end A, to be cut off after bending."));
}

#[test]
fn a_gap_that_no_weld_bridges_has_a_note() {
    for (gap, wide) in [("1.5", false), ("5", false), ("5.1", true), ("150", true)] {
        let card = coped(&format!("gap: {gap}"));
        assert_eq!(card.tubes[1].notes.iter().any(|note| note.code == "gap-wide"), wide, "{gap}");
    }
}
