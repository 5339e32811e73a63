//! Templates of ends that land on other tubes: edges at their places on paper, words that can be read, tiles that belong together.

mod common;

use common::{job_of, jobs, planned, written};
use kurbo::{PathEl, Point};
use serde_json::Value;
use tubewright::job::Job;
use tubewright::round::People;
use tubewright_paper::draw::{Drawing, Item};
use tubewright_paper::pdf::Paper;
use tubewright_paper::template::{Ends, JSON_SCHEMA, pages, sheet, text};

const BENDER: &str = "
kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
dies:
  big: { od: 60, clr: 180, max_angle: 195, clamp_length: 70, follower_length: 150 }
";

fn ends(job: &Job, people: People) -> Ends {
    Ends::new("job", job, &planned(job, people), &people, None)
}

fn frame() -> Job {
    let path = jobs().into_iter().find(|path| path.ends_with("ends/coped-frame.yaml")).expect("the sample is there");
    job_of(&path)
}

/// A tube of OD 60 at a flat angle on one of 80: a template wider and higher than any page.
fn large() -> Job {
    written(
        BENDER,
        "kind: job\nunits: mm\nbender: bender.yaml\nnodes: { a: [0, 0, -900], b: [0, 0, 900], c: [0, 0, 0], d: [400, 0, 1400] }\n\
         tubes:\n  post: { path: [a, b], tube: { od: 80 } }\n  stay: { path: [c, d], tube: { od: 60, wall: 3 }, ends: { a: { meets: post, cut: two-plane } } }\n",
    )
}

/// Tubes of OD 3 and 1: their templates are narrower than most words.
fn thin() -> Job {
    written(
        BENDER,
        "kind: job\nunits: mm\nbender: bender.yaml\nnodes: { a: [0, 0, -900], b: [0, 0, 900], c: [0, 0, 0], d: [400, 0, 300], e: [-400, 0, 300] }\n\
         tubes:\n  post: { path: [a, b], tube: { od: 10 } }\n  stay: { path: [c, d], tube: { od: 3, wall: 0.5 }, ends: { a: { meets: post } } }\n  \
         wire: { path: [c, e], tube: { od: 1 }, ends: { a: { meets: post } } }\n",
    )
}

fn neat(drawing: &Drawing) {
    if let Some((one, other)) = drawing.overlap() {
        panic!("{}: `{}` and `{}` lie on each other", drawing.title, one.words, other.words);
    }
    if let Some(label) = drawing.clipped() {
        panic!("{}: `{}` reaches over the edge", drawing.title, label.words);
    }
}

/// The points of the thick line, piece by piece.
fn thick(items: &[Item]) -> Vec<Vec<Point>> {
    let mut found: Vec<Vec<Point>> = Vec::new();
    for item in items {
        match item {
            Item::Path { path, pen: Some(pen), .. } if (pen.width - 0.6).abs() < 1e-12 => {
                for element in path.elements() {
                    match element {
                        PathEl::MoveTo(at) => found.push(vec![*at]),
                        PathEl::LineTo(at) => found.last_mut().expect("it starts somewhere").push(*at),
                        other => panic!("an edge is drawn as straight lines: {other:?}"),
                    }
                }
            }
            _ => {}
        }
    }
    found
}

#[test]
fn every_document_is_of_the_schema() {
    let schema: Value = serde_json::from_str(JSON_SCHEMA).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for job in [frame(), large()] {
        let document: Value = serde_json::from_str(&ends(&job, People::mm()).to_json()).unwrap();
        let errors: Vec<String> = validator.iter_errors(&document).map(|error| error.to_string()).collect();
        assert!(errors.is_empty(), "{errors:?}");
        let mut more = document.clone();
        more["ends"][0]["surprise"] = Value::Null;
        assert!(!validator.is_valid(&more));
    }
}

/// The thick line of a sheet against the joint itself: around by the toe and the girth, along from the long point.
#[test]
fn the_thick_line_is_the_edge_that_is_cut() {
    let mut looked_at = 0;
    for job in [frame(), large(), thin()] {
        let plan = planned(&job, People::mm());
        for tube in &plan.tubes {
            for end in &tube.ends {
                let mut one = plan.clone();
                one.tubes.retain(|other| other.name == tube.name);
                one.tubes[0].ends.retain(|other| other.end == end.end);
                let ends = Ends::new("job", &job, &one, &People::mm(), None);
                let sheet = sheet(&ends, &People::mm()).expect("it has an end");
                neat(&sheet);
                let parts = thick(&sheet.items);
                let girth = tube.stock.girth().to_mm();
                let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
                // x = 0 of a template lies at the margin of 10 mm; the long point is the edge's place nearest to the other tube.
                let into = if end.end.letter() == "A" { -1.0 } else { 1.0 };
                let all = || parts.iter().flatten();
                let long = all().map(|at| at.y * into).fold(f64::INFINITY, f64::min);
                for at in all() {
                    let x = at.x - 10.0;
                    (left, right) = (left.min(x), right.max(x));
                    let t = tubewright::units::Angle::deg(x / girth * 360.0) - end.toe;
                    let own = &end.cut;
                    let edge = if own.cut == tubewright::job::Cut::Cope {
                        own.joint.outside(t)
                    } else {
                        own.joint.planes.edge(t)
                    };
                    let wanted = (edge + own.gap - own.set_off()).to_mm();
                    assert!(
                        (at.y * into - long - wanted).abs() < 5e-3,
                        "{} {wanted} {}",
                        tube.name,
                        at.y * into - long
                    );
                    looked_at += 1;
                }
                assert!(left.abs() < 1e-9 && (right - girth).abs() < 1e-9, "{left} {right} {girth}");
            }
        }
    }
    assert!(looked_at > 500, "{looked_at}");
}

#[test]
fn every_page_is_neat_on_both_papers() {
    for people in [People::mm(), People::inch()] {
        for paper in [Paper::A4, Paper::Letter] {
            let ends = ends(&frame(), people);
            let pages = pages(&ends, &people, paper);
            assert_eq!(pages.len(), ends.ends.len(), "each on a page of its own");
            pages.iter().for_each(neat);
        }
    }
}

#[test]
fn a_large_template_comes_in_tiles_that_show_all_of_it() {
    for paper in [Paper::A4, Paper::Letter] {
        let ends = ends(&large(), People::mm());
        let pages = pages(&ends, &People::mm(), paper);
        let windows: Vec<_> = pages
            .iter()
            .filter_map(|page| {
                page.items.iter().find_map(|item| match item {
                    Item::Window { window, by, .. } => Some((*window - *by, *by)),
                    _ => None,
                })
            })
            .collect();
        assert!(windows.len() >= 4 && windows.len() + 1 == pages.len(), "{}", windows.len());
        let whole = sheet(&ends, &People::mm()).expect("one sheet");
        // The template on the sheet: a margin around it, bars above.
        let width = whole.width - 20.0;
        let shown = windows.iter().map(|(window, _)| *window).reduce(|all, one| all.union(one)).expect("windows");
        assert!(shown.x0.abs() < 1e-9 && (shown.x1 - width).abs() < 1e-9 && shown.y0.abs() < 1e-9, "{shown:?} {width}");
        // Neighbours share a strip of 10 mm.
        let area: f64 = windows.iter().map(|(window, _)| window.area()).sum();
        assert!(area > shown.area() + 10.0 * shown.height().min(shown.width()), "{area} {}", shown.area());
        for page in &pages {
            assert!(page.clipped().is_none() || page.items.iter().any(|item| matches!(item, Item::Window { .. })));
        }
    }
}

#[test]
fn whoever_has_no_printer_has_a_table() {
    let ends = ends(&frame(), People::mm());
    let text = text(&ends, &People::mm());
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert_eq!(text.matches("END TEMPLATE").count(), ends.ends.len());
    // The long point is 0 in the column of some line.
    assert!(text.contains(" 0.0"), "{text}");
}
