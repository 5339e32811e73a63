//! Labels of a cut list: one for each piece, whole on the page, no word on another.

mod common;

use std::path::Path;

use common::job_of;
use kurbo::Shape as _;
use tubewright::round::People;
use tubewright::stock::{Asked, CutList, cut_list};
use tubewright_paper::draw::Item;
use tubewright_paper::pdf::Paper;
use tubewright_paper::stock::{html, labels};

fn sample(people: People) -> CutList {
    let job = job_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../samples/stock/buggy.yaml"));
    cut_list(&job, &Asked { tubes: Vec::new(), test_bends: true, people }).expect("the sample has stock")
}

#[test]
fn every_piece_has_a_label_of_its_own_and_words_keep_apart() {
    for (paper, people) in [(Paper::A4, People::mm()), (Paper::Letter, People::inch())] {
        let list = sample(people);
        let all = list.groups.iter().flat_map(|group| &group.pieces);
        let pieces: Vec<&str> =
            all.map(|piece| piece.name.split_once(", die ").map_or(piece.name.as_str(), |(name, _)| name)).collect();
        let pages = labels("buggy", &list, &people, paper);
        assert!(pages.len() > 1 && pieces.len() > 10, "{}", pieces.len());
        let mut named = Vec::new();
        let mut outlines = 0;
        for page in &pages {
            if let Some((one, other)) = page.overlap() {
                panic!("`{}` and `{}` lie on each other", one.words, other.words);
            }
            assert!(page.clipped().is_none());
            let cells: Vec<_> = page
                .items
                .iter()
                .filter_map(|item| match item {
                    Item::Path { path, .. } => Some(path.bounding_box()),
                    _ => None,
                })
                .collect();
            outlines += cells.len();
            for (label, bounds) in page.labels() {
                let held = cells.iter().filter(|cell| cell.contains_rect(bounds)).count();
                assert_eq!(held, 1, "`{}` is not within one label", label.words);
                if pieces.contains(&label.words.as_str()) {
                    named.push(label.words.clone());
                    // Letters of a name that fits are 10 mm: read at two arm's lengths.
                    assert!(label.size > 6.0, "{} {}", label.words, label.size);
                }
            }
        }
        let mut wanted: Vec<&str> = pieces.clone();
        wanted.sort_unstable();
        named.sort();
        assert_eq!(named, wanted);
        assert_eq!(outlines, pieces.len());
    }
}

#[test]
fn the_page_of_labels_holds_all_that_it_needs() {
    let people = People::mm();
    let page = html("buggy", &sample(people), &people, Paper::A4);
    assert!(page.starts_with("<!DOCTYPE html>") && page.contains(">hoop</text>"));
    assert!(!page.contains("http") && !page.contains("<script"), "nothing is fetched");
}
