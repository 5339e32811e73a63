//! The wrap strip of every sample: lines exactly at their places, words that can be read, and no strip where none is needed.

mod common;

use common::{job_of, jobs, planned, written};
use kurbo::{PathEl, Rect};
use tubewright::round::People;
use tubewright_paper::draw::{Drawing, Item, Pen};
use tubewright_paper::pdf::Paper;
use tubewright_paper::strip::{lines, pages, strip};
use tubewright_paper::words::Words;

const PAPERS: [Paper; 2] = [Paper::A4, Paper::Letter];

/// Where upright lines drawn with a pen of this thickness stand, below the stretch band.
fn upright(drawing: &Drawing, width: f64) -> Vec<f64> {
    let mut found = Vec::new();
    for item in &drawing.items {
        let Item::Path { path, pen: Some(Pen { width: own, .. }), .. } = item else { continue };
        let [PathEl::MoveTo(from), PathEl::LineTo(to)] = path.elements() else { continue };
        if (own - width).abs() < 1e-12 && (from.x - to.x).abs() < 1e-12 && from.y > 10.0 {
            found.push(from.x);
        }
    }
    found
}

fn neat(drawing: &Drawing) {
    if let Some((one, other)) = drawing.overlap() {
        panic!("{}: `{}` and `{}` lie on each other", drawing.title, one.words, other.words);
    }
    if let Some(label) = drawing.clipped() {
        panic!("{}: `{}` reaches over the edge", drawing.title, label.words);
    }
}

#[test]
fn every_line_stands_exactly_at_its_place_around_the_tube() {
    let mut looked_at = 0;
    for path in jobs() {
        let job = job_of(&path);
        for people in [People::mm(), People::inch()] {
            let plan = planned(&job, people);
            for tube in &plan.tubes {
                let words = Words { job: &job, tube, people: &people };
                for paper in PAPERS {
                    let pieces = strip(&words, paper);
                    let girth = tube.stock.girth().to_mm();
                    let mut found = Vec::new();
                    for (place, piece) in pieces.iter().enumerate() {
                        neat(piece);
                        assert!(piece.width <= paper.width() - 20.0 + 1e-9, "{}", tube.name);
                        let start = girth / pieces.len() as f64 * place as f64;
                        found.extend(upright(piece, 0.5).into_iter().map(|x| x + start));
                        // The girth, or the edge of the next piece.
                        let end = girth / pieces.len() as f64 * (place + 1) as f64;
                        assert!(upright(piece, 0.8).iter().all(|x| (x + start - end).abs() < 1e-9));
                    }
                    if pieces.is_empty() {
                        continue;
                    }
                    for step in &tube.steps {
                        let wanted = step.top_arc.to_mm();
                        assert!(found.iter().any(|x| (x - wanted).abs() < 1e-9), "{} {found:?}", tube.name);
                        looked_at += 1;
                    }
                    for page in pages(&words, paper, "a job") {
                        neat(&page);
                        let inside = Rect::new(9.9, 9.9, page.width - 9.9, page.height - 9.9);
                        for (label, bounds) in page.labels() {
                            assert!(inside.contains_rect(bounds), "{}: {}", page.title, label.words);
                        }
                    }
                }
            }
        }
    }
    assert!(looked_at > 40, "{looked_at}");
}

/// A tube whose top lines lie so far clockwise, in degrees, with an OD in mm.
fn turned(od: f64, tops: &[f64]) -> (tubewright::job::Job, tubewright::plan::Plan) {
    let mut rows = String::new();
    let mut before = 0.0;
    for (place, top) in tops.iter().enumerate() {
        let rotation = if place == 0 { String::new() } else { format!("rotation: {}, ", top - before) };
        before = *top;
        rows.push_str(&format!("      - {{ length: 900, {rotation}bend: 20 }}\n"));
    }
    let job = format!(
        "kind: job\nunits: mm\nbender: bender.yaml\ntube: {{ od: {od}, wall: 2, die: wide }}\ntubes:\n  zigzag:\n    rows:\n{rows}      - {{ length: 900 }}\n"
    );
    let bender = format!(
        "kind: bender\nunits: mm\nmotion: die-turns\nhand: anticlockwise\nbend_plane: horizontal\ncentre_height: 9000\ndies:\n  wide: {{ od: {od}, clr: 400, max_angle: 195, clamp_length: 70, follower_length: 150 }}\n"
    );
    let job = written(&bender, &job);
    let plan = planned(&job, People::mm());
    (job, plan)
}

#[test]
fn top_lines_at_nearly_the_same_place_have_labels_of_their_own() {
    let (job, plan) = turned(38.1, &[0.0, 1.0, 2.0, 90.0, 91.0, 170.0, -1.0, -2.0]);
    let people = People::mm();
    assert!(plan.tubes[0].feasible);
    let words = Words { job: &job, tube: &plan.tubes[0], people: &people };
    let found = lines(&words);
    assert_eq!(found.len(), 8, "{found:?}");
    for paper in PAPERS {
        let pieces = strip(&words, paper);
        assert_eq!(pieces.len(), 1);
        neat(&pieces[0]);
        for line in &found {
            let shown = pieces[0].labels().iter().filter(|(label, _)| label.words == line.name).count();
            assert_eq!(shown, 1, "{line:?}");
        }
        pages(&words, paper, "a job").iter().for_each(neat);
    }
}

#[test]
fn a_girth_longer_than_a_page_comes_in_pieces_that_meet() {
    let (job, plan) = turned(168.3, &[0.0, 90.0, 179.0, 181.0, -10.0]);
    let people = People::mm();
    let words = Words { job: &job, tube: &plan.tubes[0], people: &people };
    for paper in PAPERS {
        let pieces = strip(&words, paper);
        assert_eq!(pieces.len(), 4, "528.7 mm in pieces of at most 170 or so");
        let found = lines(&words);
        for line in &found {
            let shown: usize = pieces
                .iter()
                .map(|piece| piece.labels().iter().filter(|(label, _)| label.words == line.name).count())
                .sum();
            assert_eq!(shown, 1, "{line:?}");
        }
        let whole = pages(&words, paper, "a job");
        whole.iter().for_each(neat);
        assert!(whole.len() >= 2);
    }
}

#[test]
fn no_strip_where_every_top_line_is_the_reference_line_or_nothing_is_bent() {
    let people = People::mm();
    let (job, plan) = turned(38.1, &[0.0]);
    assert!(strip(&Words { job: &job, tube: &plan.tubes[0], people: &people }, Paper::A4).is_empty());
    for path in jobs() {
        let job = job_of(&path);
        let plan = planned(&job, people);
        for tube in &plan.tubes {
            let words = Words { job: &job, tube, people: &people };
            // A turn counts from the tenth of a degree that is printed of it.
            let turned = |turn: f64| turn.min(360.0 - turn) >= 0.05;
            let needed = tube.feasible && tube.steps.iter().any(|step| turned(step.top.to_deg().rem_euclid(360.0)));
            assert_eq!(!strip(&words, Paper::A4).is_empty(), needed, "{}", tube.name);
            assert_eq!(!pages(&words, Paper::A4, "").is_empty(), needed, "{}", tube.name);
        }
    }
}

/// On the ruled line for two percent more girth, every slanted line is at its place for that girth.
#[test]
fn the_stretch_band_spreads_every_line_alike() {
    let (job, plan) = turned(50.0, &[0.0, 120.0, -60.0]);
    let people = People::mm();
    let words = Words { job: &job, tube: &plan.tubes[0], people: &people };
    let piece = &strip(&words, Paper::A4)[0];
    let girth = 50.0 * core::f64::consts::PI;
    let at = |y: f64| {
        let mut found = Vec::new();
        for item in &piece.items {
            let Item::Path { path, pen: Some(pen), .. } = item else { continue };
            let [PathEl::MoveTo(from), PathEl::LineTo(to)] = path.elements() else { continue };
            if (pen.width - 0.5).abs() < 1e-12 && from.y < 1.0 && to.y > 10.0 {
                found.push(from.x + (to.x - from.x) * (y - from.y) / (to.y - from.y));
            }
        }
        found
    };
    for (y, girth) in [(9.5, girth), (2.3, girth * 1.02), (16.7, girth * 0.98)] {
        let found = at(y);
        for part in [0.0, 1.0 / 3.0, 5.0 / 6.0, 1.0] {
            assert!(found.iter().any(|x| (x - girth * part).abs() < 1e-9), "{y} {part} {found:?}");
        }
    }
}
