//! The pictures of every sample, held against what can be worked out another way.

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use kurbo::{ParamCurveNearest as _, PathEl, Point, Shape as _};
use nalgebra::{Point3, Vector3};
use tubewright::bender::{BendMotion, Hand};
use tubewright::file::{Disk, Held, load_job};
use tubewright::forming::LeadEnd;
use tubewright::job::Job;
use tubewright::motion;
use tubewright::plan::{Options, Plan, plan};
use tubewright::round::People;
use tubewright::units::{Angle, Length};

use super::bent::Bent;
use super::course::Course;
use super::finished::Whole;
use super::step::Scene;
use super::tube::{EDGE, Tube};
use super::view::View;
use super::{blank, finished, step};
use crate::draw::{Drawing, Ink, Item};
use crate::words::Words;

/// What a point on the sheet may be off, mm.
const NEAR: f64 = 1e-3;

fn planned(job: Job) -> (Job, Plan) {
    let people = People::mm();
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people };
    let plan = plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).unwrap();
    (job, plan)
}

fn samples() -> Vec<(Job, Plan)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../samples/jobs");
    let mut files: Vec<PathBuf> = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files.push(folder.join("../ends/coped-frame.yaml"));
    assert!(files.len() >= 7, "{files:?}");
    files.iter().map(|file| planned(load_job(&Disk, file).unwrap_or_else(|_| panic!("{}", file.display())))).collect()
}

/// A tube of many short bends, in both hands, and lying or standing.
fn many(hand: &str, plane: &str, motion: &str) -> (Job, Plan) {
    let bender = format!(
        "kind: bender\nunits: mm\nmotion: {motion}\nhand: {hand}\n{plane}\ncentre_height: 1900\ndies:\n  small: {{ od: 20, clr: 60, \
         max_angle: 190, clamp_length: 40, follower_length: 60 }}\n"
    );
    let mut job = "kind: job\nunits: mm\nbender: bender.yaml\ntube: { od: 20, wall: 2, die: small }\ntubes:\n  snake:\n    rows:\n".to_owned();
    for bend in 0..12 {
        let (rotation, angle) = ([0, 90, -35, 180, 20, -100][bend % 6], [30, 55, 20, 40][bend % 4]);
        let rotation = if bend == 0 { 0 } else { rotation };
        job.push_str(&format!(
            "      - {{ length: {}, rotation: {rotation}, bend: {angle} }}\n",
            150 + 17 * (bend % 5)
        ));
    }
    job.push_str("      - { length: 300 }\n");
    let files = Held::default().with("bender.yaml", bender.as_str()).with("job.yaml", job.as_str());
    planned(load_job(&files, Path::new("job.yaml")).unwrap_or_else(|mistakes| panic!("{}", mistakes.render(false))))
}

const LYING: &str = "bend_plane: horizontal";
const STANDING: &str = "bend_plane: vertical\nup: [0, 1, 0]";

fn all() -> Vec<(Job, Plan)> {
    let mut all = samples();
    all.push(many("anticlockwise", LYING, "die-turns"));
    all.push(many("clockwise", LYING, "die-stands"));
    all.push(many("clockwise", STANDING, "die-turns"));
    all
}

fn each_step(look: &mut dyn FnMut(&Words<'_>, usize)) {
    let people = People::mm();
    let mut steps = 0;
    for (job, plan) in &all() {
        for tube in &plan.tubes {
            for number in 1..=tube.steps.len() {
                look(&Words { job, tube, people: &people }, number);
                steps += 1;
            }
        }
    }
    assert!(steps > 40, "{steps}");
}

/// The ends of all lines and curves that are drawn.
fn corners(items: &[Item], found: &mut Vec<Point>) {
    for item in items {
        match item {
            Item::Path { path, .. } => found.extend(path.elements().iter().filter_map(|element| match *element {
                PathEl::MoveTo(to) | PathEl::LineTo(to) | PathEl::CurveTo(_, _, to) | PathEl::QuadTo(_, to) => Some(to),
                PathEl::ClosePath => None,
            })),
            Item::Window { items, .. } => corners(items, found),
            Item::Text(_) => {}
        }
    }
}

fn drawn(drawing: &Drawing) -> Vec<Point> {
    let mut found = Vec::new();
    corners(&drawing.items, &mut found);
    found
}

fn assert_drawn(drawn: &[Point], at: Point, what: &dyn std::fmt::Display) {
    let off = drawn.iter().map(|point| (*point - at).hypot()).fold(f64::INFINITY, f64::min);
    assert!(off < NEAR, "{what}: {off} mm off");
}

#[test]
fn no_words_lie_on_others_or_over_the_edge() {
    for (job, plan) in &all() {
        for people in [People::mm(), People::inch()] {
            for tube in &plan.tubes {
                let words = Words { job, tube, people: &people };
                for width in [186.0, 196.0, 340.0] {
                    let mut pictures = vec![blank(&words, width), finished(&words, width)];
                    pictures.extend((1..=tube.steps.len()).map(|number| step(&words, number, width)));
                    for picture in pictures {
                        let title = &picture.title;
                        assert!(picture.overlap().is_none(), "{title}, {width}: {:?}", picture.overlap());
                        assert!(picture.clipped().is_none(), "{title}, {width}: {:?}", picture.clipped());
                        assert!(picture.height <= 0.63 * width, "{title}: {}", picture.height);
                        assert!((picture.width - width).abs() < 1e-12);
                        let small = picture.labels().iter().map(|(label, _)| label.size).fold(f64::INFINITY, f64::min);
                        assert!(small >= 2.8 - 1e-9, "{title}, {width}: letters of {small} mm");
                    }
                }
            }
        }
    }
}

/// Where the motion of the blank says that its ends and tangent points are, something is drawn: before the bend, and of what swings after it.
#[test]
fn ends_and_tangent_points_are_where_the_motion_has_them() {
    each_step(&mut |words, number| {
        let made = words.tube.made_before(number);
        let bent = Bent::new(words, number, &made);
        let scene = Scene::new(words, bent, (186.0, 186.0 * super::HIGH));
        let drawn = drawn(&scene.draw(number));
        let blank = &words.tube.blank;
        let mut places = vec![Length::ZERO, blank.cut_length];
        places.extend(blank.bends.iter().filter(|bend| made[bend.bend.0]).flat_map(|bend| [bend.start, bend.end]));
        let tangent = bent.step.active().tangent(bent.step.lead);
        let swings_to_a = (bent.step.lead == LeadEnd::A) == (bent.step.bender.motion == BendMotion::DieTurns);
        for view in &scene.views {
            for place in &places {
                let title = format!("{}, step {number}, {} mm", words.tube.name, place.to_mm());
                let before = motion::place(&bent.step, *place, Angle::ZERO);
                assert_drawn(&drawn, view.point(before), &title);
                if (*place < tangent) == swings_to_a && (*place - tangent).abs().to_mm() > 1e-6 {
                    let wrapped = (*place - tangent).abs() < bent.step.active().blank_arc * 1.2;
                    let after = motion::place(&bent.step, *place, bent.plan.die_angle);
                    if !wrapped {
                        assert_drawn(&drawn, view.point(after), &format!("{title}, after"));
                    }
                }
            }
        }
    });
}

/// What is left out of a picture is straight tube along x and nothing else, at every die angle: by the motion of the blank, place by place.
#[test]
fn a_break_hides_nothing_but_straight_tube() {
    let mut broken_steps = Vec::new();
    let sheets = [(186.0, 186.0 * super::HIGH), (186.0, 63.0), (94.0, 122.0)];
    for sheet in sheets {
        each_step(&mut |words, number| {
            let made = words.tube.made_before(number);
            let bent = Bent::new(words, number, &made);
            let scene = Scene::new(words, bent, sheet);
            let title = format!("{} step {number}", words.tube.name);
            let Some(broken) = scene.views[0].broken else { return };
            let (from, to) = (broken.from, broken.to);
            assert!(from < to && (to < 0.0 || from > 0.0), "{title}");
            assert_eq!(scene.views[1].broken, Some(broken), "{title}");
            let inside = |point: Point3<f64>| point.x > from && point.x < to;
            let blank = &words.tube.blank;
            let (od, cut) = (words.tube.stock.od.to_mm(), blank.cut_length.to_mm());
            let mut told = 0;
            for part in 0..=90 {
                let angle = bent.plan.die_angle * (f64::from(part) / 90.0);
                let at = |place: f64| motion::place(&bent.step, Length::mm(place), angle);
                let places = (cut / 4.0).ceil();
                for step in 1..places as usize {
                    let (one, here, other) = (
                        at((step as f64 - 1.0) * cut / places),
                        at(step as f64 * cut / places),
                        at((step as f64 + 1.0) * cut / places),
                    );
                    if inside(here) {
                        let off = (other - one).cross(&Vector3::x()).norm();
                        assert!(
                            off < 1e-6,
                            "{title}: {step} at {} degrees is no straight along x: {off}",
                            angle.to_deg()
                        );
                        told += 1;
                    }
                }
                let mut places = vec![Length::ZERO, blank.cut_length];
                places.extend(
                    blank
                        .bends
                        .iter()
                        .filter(|bend| made[bend.bend.0] || bend.bend == bent.plan.bend)
                        .flat_map(|bend| [bend.start, bend.end]),
                );
                for place in places {
                    let at = motion::place(&bent.step, place, angle);
                    assert!(
                        at.x < from - od || at.x > to + od,
                        "{title}: the place {} is too near to the break",
                        place.to_mm()
                    );
                }
            }
            assert!(told > 500, "{title}: {told}");
            assert!(!inside(bent.index()), "{title}");
            if let Some(near) = scene.nearest() {
                for point in [Some(near.point), near.other].into_iter().flatten() {
                    assert!(!inside(point), "{title}: what comes nearest");
                }
            }
            // What the view along the die's axis shows of the bender has its ends outside; only a box may run right through.
            let window = scene.windows[0];
            for solid in &words.job.bender.solids {
                for corner in super::bent::corners(&solid.shape) {
                    let seen = scene.views[0].point(corner).y;
                    assert!(!inside(corner) || seen < window.y0 || seen > window.y1, "{title}: {}", solid.name);
                }
            }
            // Both sides keep their sizes.
            for (one, other) in [(from - 500.0, from), (to, to + 500.0)] {
                let [one, other] = [one, other].map(|x| scene.views[0].point(Point3::new(x, 7.0, 0.0)));
                assert!(((other - one).hypot() - 500.0 * scene.views[0].scale).abs() < 1e-9, "{title}");
            }
            let drawing = scene.draw(number);
            let texts: Vec<&str> = drawing.labels().iter().map(|(label, _)| label.words.as_str()).collect();
            // The true length stands there, from the mark to the next place beyond the break.
            let mut places = vec![Length::ZERO, blank.cut_length];
            places.extend(blank.bends.iter().filter(|bend| made[bend.bend.0]).flat_map(|bend| [bend.start, bend.end]));
            let beyond = |x: f64| if to < 0.0 { x < from } else { x > to };
            let along = places.into_iter().map(|place| motion::place(&bent.step, place, Angle::ZERO).x);
            let far = along.filter(|x| beyond(*x)).map(|x| (x - bent.index().x).abs()).fold(f64::INFINITY, f64::min);
            let printed = words.people.length_with_unit(Length::mm(far));
            assert!(texts.iter().any(|text| text.starts_with(&printed)), "{title}: {printed}, {texts:?}");
            broken_steps.push(title);
        });
    }
    // The ladder's rail has them in both steps, on a page with little room.
    for step in ["rail step 1", "rail step 2"] {
        assert!(broken_steps.iter().any(|one| one == step), "{step}: {broken_steps:?}");
    }
}

/// Closed form: a straight blank, its lead end turned about the die's axis by the die angle.
#[test]
fn the_lead_end_of_a_first_bend_turns_about_the_die() {
    let mut seen = 0;
    each_step(&mut |words, number| {
        let bender = &words.job.bender;
        if number > 1 || bender.motion != BendMotion::DieTurns {
            return;
        }
        let made = words.tube.made_before(number);
        let bent = Bent::new(words, number, &made);
        let scene = Scene::new(words, bent, (196.0, 196.0 * super::HIGH));
        let active = bent.step.active();
        let ahead = match bent.step.lead {
            LeadEnd::A => active.start,
            LeadEnd::B => words.tube.blank.cut_length - active.end,
        }
        .to_mm();
        let sign = if bender.hand == Hand::Anticlockwise { 1.0 } else { -1.0 };
        let turn = nalgebra::Rotation3::from_axis_angle(&Vector3::z_axis(), sign * bent.plan.die_angle.to_rad());
        let end = turn * Point3::new(ahead, -sign * active.clr.to_mm(), 0.0);
        assert_drawn(&drawn(&scene.draw(number)), scene.views[0].point(end), &words.tube.name);
        seen += 1;
    });
    assert!(seen > 8, "{seen}");
}

/// What the words say of an end that sticks out is printed at it; an operator sees the tube at the bottom, before the die.
#[test]
fn heights_are_those_of_the_words() {
    let mut told = 0;
    each_step(&mut |words, number| {
        let drawing = step(words, number, 186.0);
        let texts: Vec<String> = drawing.labels().iter().map(|(label, _)| label.words.clone()).collect();
        for (way, sign) in [("UP", 1.0), ("DOWN", -1.0)] {
            let made = words.tube.made_before(number);
            let tube = Bent::new(words, number, &made).tube(Angle::ZERO);
            let up = words.job.bender.bend_plane.up();
            let bent = Bent::new(words, number, &made);
            let line = bent.tangent().coords.dot(&up);
            let most = tube.points(0.5).iter().map(|point| sign * (point.coords.dot(&up) - line)).fold(0.0, f64::max);
            let printed = texts.iter().any(|text| text.contains(&format!("{way} ")));
            assert_eq!(printed, most > tube.od, "{} step {number} {way}: {most}, {texts:?}", words.tube.name);
            let ends = words.tube.steps[number - 1].ends_up;
            if let Some(end) = ends.iter().find(|end| (end.to_mm() * sign - most).abs() < 1e-6 && most > tube.od) {
                let figure = words.people.length_with_unit(end.abs());
                assert!(texts.iter().any(|text| text.ends_with(&format!("{way} {figure}"))), "{texts:?}");
                told += 1;
            }
        }
    });
    assert!(told > 5, "{told}");
}

/// Corners and ends of the finished tube against the nodes of the job, turned into the frame of its first two legs.
#[test]
fn a_finished_tube_has_its_corners_where_the_nodes_are() {
    let people = People::mm();
    let mut seen = 0;
    for (job, plan) in &samples() {
        for tube in &plan.tubes {
            let words = Words { job, tube, people: &people };
            let whole = Whole::new(&words);
            let line = &tube.centreline;
            let (x, z) = (line.direction.into_inner(), line.normal.into_inner());
            let y = z.cross(&x);
            let own = |point: Point3<f64>| {
                let from = point - line.start;
                Point3::new(from.dot(&x) + tube.beyond()[0].to_mm(), from.dot(&y), from.dot(&z))
            };
            for (corner, node) in whole.corners.iter().zip(&line.bend_nodes) {
                let (Some(corner), Some(node)) = (corner, line.nodes[*node]) else { continue };
                assert!((own(node) - corner).norm() < 1e-6, "{}: {corner} {}", tube.name, own(node));
                seen += 1;
            }
            let set_off = |end| tube.end(end).map_or(0.0, |end| end.cut.set_off().to_mm());
            let (last, way) = line.end();
            let last = last - way.into_inner() * set_off(LeadEnd::B);
            let first = line.start + line.direction.into_inner() * set_off(LeadEnd::A);
            assert!((whole.tube.ends()[1].0 - own(last)).norm() < 1e-6, "{}", tube.name);
            assert!((whole.tube.ends()[0].0 - own(first)).norm() < 1e-6, "{}", tube.name);
        }
    }
    assert!(seen > 20, "{seen}");
}

#[test]
fn a_tube_is_seen_as_wide_as_its_od() {
    let straight = Course::Straight { from: Point3::origin(), to: Point3::new(300.0, 40.0, 90.0) };
    let tube = Tube { courses: vec![straight], od: 38.1, wall: None };
    let view = View::new(Vector3::x(), Vector3::z()).placed(0.2, kurbo::Vec2::ZERO);
    let layers = tube.layers(&view, Ink::TUBE);
    let pens: Vec<_> = layers
        .iter()
        .flat_map(|layer| &layer.items)
        .filter_map(|item| match item {
            Item::Path { fill: None, pen: Some(pen), .. } => Some(*pen),
            _ => None,
        })
        .collect();
    let (black, light) = (pens[0].width, pens[1].width);
    // The middle of the edge is the silhouette.
    assert!((0.5 * (black + light) - 38.1 * 0.2).abs() < 1e-12 && (black - light - 2.0 * EDGE).abs() < 1e-12);
    assert!(pens.len() >= 2 * layers.len());
}

/// Two straights that cross on the sheet: at the crossing all of the upper one is drawn after all of the lower one.
#[test]
fn what_lies_under_is_covered_edges_and_all() {
    let od = 30.0;
    for (slope, apart) in [(0.0, 31.0), (2.0, 70.0), (-4.0, 130.0)] {
        let lower = Course::Straight { from: Point3::new(-300.0, 0.0, 0.0), to: Point3::new(300.0, 0.0, 0.0) };
        let upper = Course::Straight {
            from: Point3::new(0.0, -200.0, apart - 200.0 * slope),
            to: Point3::new(0.0, 200.0, apart + 200.0 * slope),
        };
        let view = View::new(Vector3::x(), Vector3::y());
        for courses in [[lower, upper], [upper, lower]] {
            let tubes = courses.map(|course| Tube { courses: vec![course], od, wall: None });
            let mut layers: Vec<_> = tubes.iter().flat_map(|tube| tube.layers(&view, Ink::TUBE)).collect();
            layers.sort_by(|one, other| one.depth.total_cmp(&other.depth));
            let mut last_lower = None;
            let mut first_upper = None;
            for (place, item) in layers.iter().flat_map(|layer| &layer.items).enumerate() {
                let Item::Path { path, pen: Some(pen), .. } = item else { continue };
                let Some(segment) = path.segments().next() else { continue };
                let touches = segment.nearest(Point::ORIGIN, 1e-6).distance_sq.sqrt() < pen.width / 2.0;
                let across = path.bounding_box().width() > path.bounding_box().height();
                if touches && across {
                    last_lower = Some(place);
                } else if touches {
                    first_upper.get_or_insert(place);
                }
            }
            assert!(first_upper.unwrap() > last_lower.unwrap(), "{slope}: {first_upper:?} {last_lower:?}");
        }
    }
}

/// Wherever a place of the tube that swings comes, the sheet is shaded.
#[test]
fn all_that_is_swept_is_shaded() {
    each_step(&mut |words, number| {
        let made = words.tube.made_before(number);
        let bent = Bent::new(words, number, &made);
        let scene = Scene::new(words, bent, (186.0, 186.0 * super::HIGH));
        let view = scene.views[0];
        let strips = bent.swept(&view);
        let room = words.tube.stock.od.to_mm() / 2.0 * view.scale;
        let cut = words.tube.blank.cut_length;
        let tangent = bent.step.active().tangent(bent.step.lead);
        let swings_to_a = (bent.step.lead == LeadEnd::A) == (bent.step.bender.motion == BendMotion::DieTurns);
        for place in 0..=30 {
            let place = cut * (f64::from(place) / 30.0);
            if (place < tangent) != swings_to_a {
                continue;
            }
            for part in 0..=9 {
                let angle = bent.plan.die_angle * (f64::from(part) / 9.0);
                let arc = bent.step.active().blank_arc * 1.2;
                if bent.step.bender.motion == BendMotion::DieStands && (place - tangent).abs() < arc {
                    continue;
                }
                let at = view.point(motion::place(&bent.step, place, angle));
                let shaded = strips.iter().any(|strip| {
                    strip.winding(at) != 0
                        || strip.segments().any(|segment| segment.nearest(at, 1e-3).distance_sq.sqrt() < room)
                });
                assert!(shaded, "{} step {number}: {} at {}", words.tube.name, place.to_mm(), angle.to_deg());
            }
        }
    });
}

/// The line that a gap is printed at is as long as the gap, to what a gap is certified to: the samples again, with gaps told from much further off.
#[test]
fn the_gap_is_drawn_as_long_as_it_is() {
    let people = People::mm();
    let mut seen = 0;
    for (mut job, _) in samples() {
        job.bender.clearance.comfortable = Length::mm(400.0);
        let (job, plan) = planned(job);
        let steps = plan.tubes.iter().flat_map(|tube| (1..=tube.steps.len()).map(move |number| (tube, number)));
        for (tube, number) in steps {
            let words = Words { job: &job, tube, people: &people };
            let made = words.tube.made_before(number);
            let bent = Bent::new(&words, number, &made);
            let Some(near) = Scene::new(&words, bent, (186.0, 186.0 * super::HIGH)).nearest() else { continue };
            let Some(other) = near.other.filter(|_| !near.touches) else { continue };
            let gap = bent.plan.tightest().unwrap().nearest.unwrap().gap;
            let drawn = (other - near.point).norm() - tube.stock.od.to_mm() / 2.0;
            assert!((drawn - gap.to_mm()).abs() < 0.11, "{} step {number}: {drawn} {}", tube.name, gap.to_mm());
            let drawing = step(&words, number, 186.0);
            let text = people.gap(gap);
            let told = drawing.labels().iter().any(|(label, _)| label.words.starts_with(&text));
            assert!(told && drawing.overlap().is_none() && drawing.clipped().is_none(), "{} step {number}", tube.name);
            seen += 1;
        }
    }
    assert!(seen > 15, "{seen}");
}
