//! The card as a page of HTML: it asks for nothing from outside, and holds every word of the card.

mod common;

use std::path::Path;

use common::{job_of, planned};
use tubewright::round::People;
use tubewright_paper::card::Card;
use tubewright_paper::html::html;
use tubewright_paper::pdf::Paper;
use tubewright_paper::words::Words;

/// The card of a sample and its page.
fn sample(name: &str, date: Option<&str>, paper: Paper) -> (Card, String) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../samples/jobs").join(name);
    let job = job_of(&path);
    let people = People::mm();
    let plan = planned(&job, people);
    let card = Card::new(name, &job, &plan, &people, date);
    let words: Vec<Words<'_>> = plan.tubes.iter().map(|tube| Words { job: &job, tube, people: &people }).collect();
    let page = html(&card, &words, paper);
    (card, page)
}

/// The words of a page, without its marks and its style.
fn plain(page: &str) -> String {
    let body = &page[page.find("<body>").expect("a body")..];
    let mut words = String::new();
    for part in body.split('<').skip(1) {
        let (mark, text) = part.split_once('>').expect("a mark ends");
        // Bold figures stand in the middle of their sentence; every other mark parts words.
        if !matches!(mark, "b" | "/b") {
            words.push(' ');
        }
        words.push_str(text);
    }
    let words = words.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&");
    words.split_whitespace().collect::<Vec<&str>>().join(" ")
}

#[test]
fn nothing_is_asked_for_from_outside_and_nothing_runs() {
    for name in ["pair.yaml", "impossible.yaml", "hoop.yaml"] {
        let (_, page) = sample(name, None, Paper::A4);
        // The letters' own bytes are written as letters too, and spell whatever comes.
        let (before, after) =
            (page.find("base64,").expect("letters"), page.rfind(") format('woff2')").expect("letters"));
        assert_eq!(page.matches("base64,").count(), 2);
        assert!(page[before..after].matches(';').count() < 8, "{}", &page[after..after + 200]);
        let small = format!("{}{}", &page[..before], &page[after..]).to_lowercase();
        for outside in ["http", "src=", "<script", "<link", "@import", "javascript:", "<iframe", "<object"] {
            assert!(!small.contains(outside), "{name}: {outside}");
        }
        assert_eq!(page.matches("url(").count(), page.matches("url(data:font/woff2;base64,").count());
        assert!(page.contains("name=\"viewport\""));
        assert!(page.len() < 2_000_000, "{}", page.len());
    }
}

#[test]
fn every_word_of_the_card_is_on_the_page_in_its_order() {
    for name in ["pair.yaml", "impossible.yaml", "brace.yaml", "mast.yaml", "rail.yaml"] {
        let (card, page) = sample(name, None, Paper::A4);
        let words = plain(&page);
        for tube in &card.tubes {
            for note in tube.not_kept.iter().chain(&tube.notes) {
                assert!(words.contains(&note.text[1..]), "{}", note.text);
            }
            for why in tube.why_not.iter().chain(&tube.cures) {
                assert!(words.contains(&why[1..]), "{why}");
            }
            let Some(work) = &tube.work else {
                assert!(words.contains("DO NOT CUT"));
                continue;
            };
            for step in &work.steps {
                let from = words.find(&format!("Step {} of {}: bend {}", step.step, step.of, step.bend));
                let mut rest = &words[from.expect("the step")..];
                for moment in step.says.iter().filter(|moment| moment.main) {
                    let both = format!("{} {}", moment.about, moment.words);
                    let at = rest.find(&both).unwrap_or_else(|| panic!("{both}: {rest}"));
                    rest = &rest[at + both.len()..];
                }
                for moment in step.says.iter().filter(|moment| !moment.main && moment.about != "ADD") {
                    assert!(rest.contains(&format!("{} {}", moment.about, moment.words)), "{moment:?}: {rest}");
                }
            }
            for check in work.finished.iter().flat_map(|finished| &finished.checks) {
                assert!(words.contains(&format!("{} {}", check.faces, check.printed)), "{check:?}");
            }
        }
    }
}

#[test]
fn words_of_the_user_do_not_become_marks_or_end_the_style() {
    let date = "</style><script>\"; } \\";
    let (_, page) = sample("pair.yaml", Some(date), Paper::Letter);
    assert!(!page.contains("<script") && page.contains("&lt;script&gt;"));
    assert_eq!(page.matches("</style>").count(), 1);
    assert!(page.contains("size: 215.9mm 279.4mm"));
}

#[test]
fn the_same_card_gives_the_same_page() {
    let page = || sample("pair.yaml", None, Paper::A4).1;
    assert!(page() == page());
}
