//! The sheet for measuring a bender and the drawing of what was made: no words on others, none over the edge, every size told once and to scale.

use std::path::Path;

use kurbo::Shape as _;
use tubewright::bender::sizes::Sizes;
use tubewright::file::{Disk, Held, load_bender_sizes};
use tubewright_paper::draw::{Drawing, Item};
use tubewright_paper::pdf::Paper;
use tubewright_paper::sizes::{made, sheet};

const SAMPLE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../samples/sizes/floor-bender.yaml");

fn sample() -> Sizes {
    load_bender_sizes(&Disk, Path::new(SAMPLE)).unwrap_or_else(|mistakes| panic!("{mistakes}"))
}

fn load(text: &str) -> Sizes {
    let files = Held::default().with("sizes.yaml", text);
    load_bender_sizes(&files, Path::new("sizes.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"))
}

/// Benders of all sorts: both hands, upright, small and in inches, and one of which nothing but the die was measured.
fn benders() -> Vec<Sizes> {
    let text = std::fs::read_to_string(SAMPLE).expect("the sample is there");
    let bare = "motion: die-stands\nhand: clockwise\nfloor: { axis: 48-1/2 }\nkind: bender-sizes\nunits: in\nbend_plane: vertical\n\
                die: { name: d, od: 1.66, clr: 5, max_angle: 190 }\nclamp: { length: 2-3/4 }\nfollower: { length: 6 }\n";
    let upright = format!(
        "{bare}up: far_side\narm_over: {{ gap: 1-11/16, thick: 1/2, ahead: 1-3/4, behind: 7, tube_side: 8-3/4, far_side: 1-3/4 }}\n\
         post: {{ height: 40, ahead: 2, behind: 6, front: -3, back: 9 }}\nroom: {{ ceiling: 100, back: 30 }}\n"
    );
    vec![
        sample(),
        load(&text.replace("hand: anticlockwise", "hand: clockwise")),
        load(&upright),
        load(&upright.replace("up: far_side", "up: tube_side").replace("height: 40", "height: 30")),
        load(&format!("{bare}up: ahead\n")),
    ]
}

fn words(page: &Drawing) -> Vec<String> {
    page.labels().into_iter().map(|(label, _)| label.words.clone()).collect()
}

fn neat(pages: &[Drawing]) {
    for page in pages {
        assert!(page.overlap().is_none(), "{:?}", page.overlap());
        assert!(page.clipped().is_none(), "{:?}", page.clipped());
        let least = page.labels().iter().map(|(label, _)| label.size).fold(f64::INFINITY, f64::min);
        assert!(least >= 2.0, "{least}");
    }
}

#[test]
fn every_size_stands_in_one_view_with_its_figure() {
    for sizes in benders() {
        for paper in [Paper::A4, Paper::Letter] {
            let pages = made(&sizes, "sizes.yaml", paper);
            neat(&pages);
            let said: Vec<String> = pages.iter().flat_map(words).collect();
            for measure in sizes.measures() {
                let id = format!("{} ", measure.id());
                let told = said.iter().filter(|words| words.starts_with(&id)).collect::<Vec<_>>();
                // Once in the table, and once in a view; heights of what stands around it stand in the table alone.
                let height = measure.number == 1 && "MNPR".contains(measure.letter);
                assert_eq!(told.len(), if height { 1 } else { 2 }, "{id}: {told:?}");
            }
        }
    }
    let said: Vec<String> = made(&sample(), "sizes.yaml", Paper::A4).iter().flat_map(words).collect();
    for figure in ["E1 43", "G3 -40", "B1 38.1", "A1 841", "H6 -40", "R6 2100"] {
        assert!(said.iter().any(|words| words == figure), "{figure}: {said:?}");
    }
    assert!(said.iter().any(|words| words.contains("measure twice")));
}

#[test]
fn the_sheet_names_every_size_and_has_a_line_for_each() {
    for paper in [Paper::A4, Paper::Letter] {
        let pages = sheet(&sample(), paper);
        neat(&pages);
        let table = words(&pages[1]);
        for measure in sample().measures() {
            let id = format!("{} {}", measure.id(), measure.key.replace('_', " "));
            assert!(table.contains(&id), "{id}: {table:?}");
            // Where a letter is shown, no figure of the example stands beside it.
            assert!(
                !pages
                    .iter()
                    .flat_map(words)
                    .any(|words| words == format!("{} {}", measure.id(), measure.length.to_mm()))
            );
        }
    }
}

#[test]
fn a_block_is_drawn_to_the_scale_that_the_caption_says() {
    let page = &made(&sample(), "sizes.yaml", Paper::A4)[0];
    let caption = words(page).into_iter().find(|words| words.starts_with("From above, 1 : ")).unwrap();
    let scale: f64 = caption["From above, 1 : ".len()..].split('.').next().unwrap().parse().unwrap();
    let window = page.items.iter().find_map(|item| match item {
        Item::Window { items, .. } => Some(items),
        _ => None,
    });
    // The base is 260 + 650 by 330 + 200.
    let found = window.unwrap().iter().any(|item| match item {
        Item::Path { path, .. } => {
            let bounds = path.bounding_box();
            (bounds.width() * scale - 910.0).abs() < 1e-6 && (bounds.height() * scale - 530.0).abs() < 1e-6
        }
        _ => false,
    });
    assert!(found, "{caption}");
}
