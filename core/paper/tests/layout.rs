//! Layouts of every sample and of random tubes: lengths against the rows, tiles against the layout, DXF and chalk figures against the shape.

mod common;

use common::{job_of, jobs, planned, written};
use kurbo::{Point, Rect, Vec2};
use serde_json::Value;
use tubewright::job::Job;
use tubewright::plan::{Plan, TubePlan};
use tubewright::round::People;
use tubewright::units::{Length, LengthUnit, length};
use tubewright_paper::draw::Drawing;
use tubewright_paper::layout::shape::{Piece, Shape, What};
use tubewright_paper::layout::tiles::{Grid, OVERLAP, Tile, window};
use tubewright_paper::layout::{JSON_SCHEMA, Layout, dxf, pages, text};
use tubewright_paper::pdf::Paper;

const PAPERS: [Paper; 2] = [Paper::A4, Paper::Letter];

fn samples(people: People) -> Vec<(Job, Plan, Layout)> {
    jobs()
        .iter()
        .map(|path| {
            let job = job_of(path);
            let plan = planned(&job, people);
            let layout = Layout::new("a job", &job, &plan, &people, None);
            (job, plan, layout)
        })
        .collect()
}

fn shapes() -> Vec<(TubePlan, Shape)> {
    let mut all = Vec::new();
    for (_, plan, layout) in samples(People::mm()) {
        for (tube, drawn) in plan.tubes.iter().zip(&layout.tubes) {
            all.extend(drawn.layouts.iter().map(|plane| (tube.clone(), plane.shape.clone())));
        }
    }
    assert!(all.len() > 15);
    all
}

#[test]
fn a_layout_is_as_long_as_the_legs_and_arcs_that_it_shows() {
    for (tube, shape) in shapes() {
        let straights: Vec<f64> = tube.centreline.straights().map(Length::to_mm).collect();
        let arcs: Vec<f64> = tube.centreline.arcs().map(Length::to_mm).collect();
        let mut wanted: f64 = shape.legs.iter().map(|leg| straights[leg - 1]).sum();
        wanted += shape.bends.iter().map(|bend| arcs[bend.0]).sum::<f64>();
        wanted += if shape.cut[0] { tube.beyond()[0].to_mm() } else { 0.0 };
        wanted += if shape.cut[1] { tube.beyond()[1].to_mm() } else { 0.0 };
        assert!((shape.length() - wanted).abs() < 1e-9, "{} {}", tube.name, shape.name);
    }
}

/// Distances between named points are those of the finished tube in space.
#[test]
fn points_are_as_far_apart_as_on_the_finished_tube() {
    for (tube, shape) in shapes() {
        let nodes: Vec<_> = tube.centreline.bend_nodes.iter().map(|node| tube.node(*node)).collect();
        let corners: Vec<_> = shape
            .spots
            .iter()
            .filter_map(|spot| {
                let What::Corner(bend) = spot.what else { return None };
                Some((spot.at, nodes[bend.0]?))
            })
            .collect();
        for (one, in_space) in &corners {
            for (other, other_in_space) in &corners {
                let (flat, space) = ((*one - *other).hypot(), (in_space - other_in_space).norm());
                let slack = if shape.rises > Length::mm(1e-6) { 0.05 } else { 1e-6 };
                assert!((flat - space).abs() < slack, "{} {}: {flat} {space}", tube.name, shape.name);
            }
        }
    }
}

/// Bends turn as on the part laid flat: the first one to the right, the next to the other side after half a turn.
#[test]
fn a_tube_bent_to_and_fro_is_laid_to_and_fro() {
    let bender = "kind: bender\nunits: mm\nmotion: die-turns\nhand: anticlockwise\nbend_plane: horizontal\ncentre_height: 900\ndies:\n  five: { od: 38.1, clr: 127, max_angle: 195, clamp_length: 70, follower_length: 150 }\n";
    let job = "kind: job\nunits: mm\nbender: bender.yaml\ntube: { od: 38.1, wall: 2, die: five }\ntubes:\n  zed:\n    legs: [600, 700, 800]\n    bends: [90, 60]\n    rotations: [180]\n    extra: { a: 20, b: 30 }\n";
    let plan = planned(&written(bender, job), People::mm());
    let shapes = Shape::all(&plan.tubes[0]);
    assert_eq!(shapes.len(), 1);
    let at = |what: What| shapes[0].spots.iter().find(|spot| spot.what == what).map(|spot| spot.at);
    let near = |what: What, x: f64, y: f64| {
        let at = at(what).unwrap_or_else(|| panic!("{what:?}"));
        assert!((at - Point::new(x, y)).hypot() < 1e-9, "{what:?} {at:?}");
    };
    use tubewright::centreline::BendId;
    near(What::End('A'), 0.0, 0.0);
    near(What::Trim('A'), 20.0, 0.0);
    near(What::Corner(BendId(0)), 620.0, 0.0);
    near(What::Corner(BendId(1)), 620.0, -700.0);
    let (sin, cos) = libm::sincos(core::f64::consts::FRAC_PI_3);
    near(What::Trim('B'), 620.0 + 800.0 * sin, -700.0 - 800.0 * cos);
    near(What::End('B'), 620.0 + 830.0 * sin, -700.0 - 830.0 * cos);
}

#[test]
fn every_part_of_a_layout_is_on_a_tile_and_no_tile_is_empty() {
    for paper in PAPERS {
        for (tube, shape) in shapes() {
            let grid = Grid::new(&shape, paper).expect("samples are no larger than a shop");
            let mut touched = std::collections::BTreeSet::new();
            for offset in [0.0, shape.od / 2.0, -shape.od / 2.0] {
                for piece in shape.pieces.iter().map(|piece| piece.beside(offset)) {
                    let parts = (piece.length() / 0.5) as usize + 1;
                    for part in 0..=parts {
                        let at = grid.sheet_from_layout * piece.at(part as f64 / parts as f64);
                        let on = grid.used.iter().find(|tile| grid.cell(**tile).inflate(1e-9, 1e-9).contains(at));
                        let on = on.unwrap_or_else(|| panic!("{} {}: {at:?}", tube.name, shape.name));
                        touched.insert(*on);
                    }
                }
            }
            for spot in &shape.spots {
                let at = grid.sheet_from_layout * spot.at;
                let on = grid.used.iter().filter(|tile| grid.cell(**tile).inflate(1e-9, 1e-9).contains(at)).count();
                assert!(on >= 1, "{} {}: {}", tube.name, shape.name, spot.what.name());
            }
            // What is used without the tube holds a line to a corner.
            let without = grid.used.len() - touched.len();
            assert!(without <= shape.to_corners().len(), "{} {}: {without}", tube.name, shape.name);
        }
    }
}

#[test]
fn neighbours_overlap_by_ten_millimetres_and_share_their_crosses() {
    for paper in PAPERS {
        let window = window(paper);
        for (tube, shape) in shapes() {
            let grid = Grid::new(&shape, paper).expect("samples are no larger than a shop");
            for tile in &grid.used {
                let shown = grid.shown(*tile);
                assert!(
                    (shown.width() - window.width()).abs() < 1e-9 && (shown.height() - window.height()).abs() < 1e-9
                );
                for (columns, rows) in [(1, 0), (0, 1)] {
                    let Some(other) = grid.beside(*tile, columns, rows) else { continue };
                    let common = shown.intersect(grid.shown(other));
                    let across = if columns == 1 { common.width() } else { common.height() };
                    assert!((across - OVERLAP).abs() < 1e-9, "{} {tile:?}", tube.name);
                    let crosses = grid.crosses(*tile);
                    let shared = grid
                        .crosses(other)
                        .iter()
                        .filter(|other| crosses.iter().any(|cross| (*cross - **other).hypot() < 1e-9))
                        .count();
                    assert_eq!(shared, if columns == 1 { 3 } else { 2 });
                }
                for cross in grid.crosses(*tile) {
                    assert!(shown.inset(-4.9).contains(cross), "{cross:?}");
                }
            }
        }
    }
}

fn neat(page: &Drawing) {
    if let Some((one, other)) = page.overlap() {
        panic!("{}: `{}` and `{}` lie on each other", page.title, one.words, other.words);
    }
    if let Some(label) = page.clipped() {
        panic!("{}: `{}` reaches over the edge", page.title, label.words);
    }
    let inside = Rect::new(9.9, 9.9, page.width - 9.9, page.height - 9.9);
    for (label, bounds) in page.labels() {
        assert!(inside.contains_rect(bounds), "{}: `{}` at {bounds:?}", page.title, label.words);
    }
}

#[test]
fn words_on_pages_keep_clear_of_each_other_and_none_is_lost() {
    for people in [People::mm(), People::inch()] {
        for (_, plan, layout) in samples(people) {
            for paper in PAPERS {
                let pages = pages(&layout, &people, paper).expect("samples are no larger than a shop");
                pages.iter().for_each(neat);
                let words: Vec<&str> =
                    pages.iter().flat_map(|page| page.labels()).map(|(label, _)| label.words.as_str()).collect();
                for tube in plan.tubes.iter().filter(|tube| !tube.steps.is_empty()) {
                    for bend in &tube.blank.bends {
                        let number = bend.bend.number();
                        for wanted in
                            [format!("BEND {number}"), format!("bend {number} start"), format!("corner {number}")]
                        {
                            let corner = tube.centreline.setback(bend.bend).is_some();
                            assert!(words.contains(&wanted.as_str()) || !corner, "{} {wanted}", tube.name);
                        }
                    }
                    assert!(words.contains(&"END A") && words.contains(&"END B"));
                }
            }
        }
    }
}

#[test]
fn a_tube_that_cannot_be_bent_has_a_layout_that_says_so_first() {
    let people = People::mm();
    let all = samples(people);
    let (_, plan, layout) = all.iter().find(|(_, plan, _)| !plan.feasible()).expect("one of the samples");
    let printed = text(layout);
    assert_eq!(printed.matches("DO NOT CUT").count(), plan.tubes.len());
    let first = &pages(layout, &people, Paper::A4).expect("samples are no larger than a shop")[0];
    let said = first.labels().iter().position(|(label, _)| label.words.contains("DO NOT CUT"));
    assert!(said.is_some_and(|place| place < 3), "{said:?}");
}

#[test]
fn what_takes_too_many_pages_is_refused() {
    let bender = "kind: bender\nunits: mm\nmotion: die-turns\nhand: anticlockwise\nbend_plane: horizontal\ncentre_height: 900\ndies:\n  five: { od: 38.1, clr: 127, max_angle: 195, clamp_length: 70, follower_length: 150 }\n";
    for (leg, refused) in [(6_000.0, false), (60_000.0, true), (9e6, true)] {
        let job = format!(
            "kind: job\nunits: mm\nbender: bender.yaml\ntube: {{ od: 38.1, wall: 2, die: five }}\ntubes:\n  long:\n    legs: [{leg:?}, 700]\n    bends: [45]\n"
        );
        let job = written(bender, &job);
        let people = People::mm();
        let layout = Layout::new("a job", &job, &planned(&job, people), &people, None);
        assert_eq!(pages(&layout, &people, Paper::A4).is_err(), refused, "{leg}");
    }
}

#[test]
fn the_document_keeps_to_its_schema_and_to_the_text() {
    let schema: Value = serde_json::from_str(JSON_SCHEMA).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for people in [People::mm(), People::inch()] {
        for (_, _, layout) in samples(people) {
            let document: Value = serde_json::from_str(&layout.to_json()).unwrap();
            let wrong: Vec<String> = validator.iter_errors(&document).map(|error| error.to_string()).collect();
            assert!(wrong.is_empty(), "{wrong:?}");
            let text = text(&layout);
            assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
            for plane in layout.planes() {
                for spot in &plane.plane.points {
                    let line = text.lines().find(|line| {
                        line.trim_start().starts_with(&spot.name)
                            && line.contains(&spot.printed.along)
                            && line.trim_end().ends_with(&spot.printed.offset)
                    });
                    assert!(line.is_some(), "{spot:?}");
                }
            }
        }
    }
}

/// Whoever marks out by the rounded figures finds the distances of the finished tube within what the layout allows.
#[test]
fn points_marked_out_by_rounded_figures_are_as_far_apart_as_said() {
    for people in [People::mm(), People::inch()] {
        let (unit, step) = match people.unit() {
            "mm" => (LengthUnit::Mm, 1.0),
            _ => (LengthUnit::Inch, 25.4 / 16.0),
        };
        let read = |text: &str| length(text, unit).unwrap_or_else(|_| panic!("{text}")).to_mm();
        for (_, _, layout) in samples(people) {
            for drawn in layout.planes() {
                let plane = drawn.plane;
                let marked = |name: &str| {
                    let spot = plane.points.iter().find(|spot| spot.name == name).expect("a point of this layout");
                    Point::new(read(&spot.printed.along), read(&spot.printed.offset))
                };
                for spot in &plane.points {
                    let off = marked(&spot.name) - Point::new(spot.along_mm, spot.offset_mm);
                    assert!(off.x.abs() <= step * 0.500_01 && off.y.abs() <= step * 0.500_01, "{spot:?}");
                    assert!(spot.along_mm > -1e-6, "{spot:?}");
                    assert!(!plane.one_side || spot.offset_mm > -1e-5, "{spot:?}");
                }
                for check in &plane.diagonals {
                    let distance = (marked(&check.from) - marked(&check.to)).hypot();
                    let said = read(&check.printed);
                    assert!((distance - said).abs() <= read(&check.printed_within), "{check:?} {distance}");
                    assert!((said - check.distance_mm).abs() <= step * 0.500_01);
                }
                for arc in plane.arcs.iter().filter(|arc| arc.struck) {
                    let centre = Point::new(read(&arc.printed.along), read(&arc.printed.offset));
                    let radius = read(&arc.printed_radii[0]);
                    for end in ["start", "middle", "end"] {
                        let distance = (marked(&format!("bend {} {end}", arc.bend)) - centre).hypot();
                        assert!((distance - radius).abs() <= 2.0 * step, "{arc:?} {distance}");
                    }
                }
            }
        }
    }
}

/// Reads the polylines of a layer back: lengths of those that were written, in file units.
fn lengths(dxf: &str, layer: &str) -> Vec<f64> {
    let lines: Vec<&str> = dxf.split("\r\n").collect();
    let pairs: Vec<(&str, &str)> = lines.chunks_exact(2).map(|pair| (pair[0].trim(), pair[1])).collect();
    let mut found = Vec::new();
    let mut vertices: Vec<(Point, f64)> = Vec::new();
    let mut place = 0;
    while place < pairs.len() {
        let own: Vec<(&str, &str)> = pairs[place + 1..].iter().take_while(|pair| pair.0 != "0").copied().collect();
        let value = |code: &str| own.iter().find(|pair| pair.0 == code).map(|pair| pair.1);
        let figure = |code: &str| value(code).map_or(0.0, |text| text.parse::<f64>().expect("a figure"));
        match pairs[place] {
            ("0", "VERTEX") if value("8") == Some(layer) => {
                vertices.push((Point::new(figure("10"), figure("20")), figure("42")));
            }
            ("0", "SEQEND") if value("8") == Some(layer) => {
                let length = |pair: &[(Point, f64)]| {
                    let chord = (pair[1].0 - pair[0].0).hypot();
                    let angle = 4.0 * libm::atan(pair[0].1.abs());
                    if angle < 1e-12 { chord } else { chord / (2.0 * libm::sin(angle / 2.0)) * angle }
                };
                found.push(vertices.windows(2).map(length).sum());
                vertices.clear();
            }
            _ => {}
        }
        place += 1 + own.len();
    }
    found
}

#[test]
fn a_dxf_file_has_every_centreline_at_its_length() {
    for people in [People::mm(), People::inch()] {
        let per = if people.unit() == "mm" { 1.0 } else { 25.4 };
        for (_, _, layout) in samples(people) {
            let file = dxf(&layout);
            assert!(file.is_ascii());
            assert!(file.starts_with("999\r\nlengths in "), "{}", &file[..40]);
            let found = lengths(&file, "CENTRELINE");
            let wanted: Vec<f64> = layout.planes().map(|drawn| drawn.plane.length_mm / per).collect();
            assert_eq!(found.len(), wanted.len());
            for (found, wanted) in found.iter().zip(&wanted) {
                assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
            }
            let edges = lengths(&file, "EDGES");
            for (drawn, edges) in layout.planes().zip(edges.chunks_exact(2)) {
                // Parallels to the left and to the right are as much longer as shorter.
                let mean = (edges[0] + edges[1]) / 2.0;
                assert!((mean - drawn.plane.length_mm / per).abs() < 1e-9, "{}", drawn.plane.name);
            }
        }
    }
}

/// The turn of the sheet is a motion and a flip of y: nothing is scaled or skewed.
#[test]
fn a_sheet_keeps_every_length() {
    for (_, shape) in shapes() {
        let grid = Grid::new(&shape, Paper::A4).expect("samples are no larger than a shop");
        let [a, b, c, d, ..] = grid.sheet_from_layout.as_coeffs();
        let (x, y) = (Vec2::new(a, b), Vec2::new(c, d));
        assert!((x.hypot() - 1.0).abs() < 1e-12 && (y.hypot() - 1.0).abs() < 1e-12 && x.dot(y).abs() < 1e-12);
        assert!(a * d - b * c < 0.0);
        assert!(grid.used.iter().all(|tile: &Tile| tile.row < grid.rows && tile.column < grid.columns));
        assert!(shape.pieces.iter().filter(|piece| matches!(piece, Piece::Arc { .. })).count() == shape.bends.len());
    }
}
