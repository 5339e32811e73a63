//! The card on paper: every sample on both papers, page by page.

mod common;

use std::path::Path;
use std::sync::LazyLock;

use common::{job_of, jobs, planned};
use tubewright::job::Job;
use tubewright::plan::Plan;
use tubewright::round::{Fraction, People, Units};
use tubewright_paper::card::{Card, StepCard, TubeCard};
use tubewright_paper::draw::Drawing;
use tubewright_paper::pdf::{Paper, pdf};
use tubewright_paper::sheet::sheets;
use tubewright_paper::words::Words;

const PAPERS: [Paper; 2] = [Paper::A4, Paper::Letter];

/// Nothing is nearer to an edge than this: what a printer does not reach, mm.
const EDGE: f64 = 10.0;

/// A job with its plan and its card.
struct Made {
    job: Job,
    plan: Plan,
    people: People,
    card: Card,
}

impl Made {
    fn new(name: &str, job: Job, people: People, date: Option<&str>) -> Self {
        let plan = planned(&job, people);
        let card = Card::new(name, &job, &plan, &people, date);
        Self { job, plan, people, card }
    }

    fn sample(path: &Path, people: People) -> Self {
        let job = job_of(path);
        Self::new(&path.file_stem().expect("a name").to_string_lossy(), job, people, None)
    }

    fn written(job: &str) -> Self {
        Self::new("job", common::written(BENDER, job), People::mm(), Some("2026-11-26"))
    }

    fn words(&self) -> Vec<Words<'_>> {
        let words = |tube| Words { job: &self.job, tube, people: &self.people };
        self.plan.tubes.iter().map(words).collect()
    }

    fn pages(&self, paper: Paper) -> Vec<Drawing> {
        sheets(&self.card, &self.words(), paper)
    }
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
    grip_min: 40
    tail_min: 40
";

fn many_bends(bends: usize, name: &str) -> String {
    let rows = "{ length: 420, bend: 20 }, ".repeat(bends);
    format!(
        "kind: job\nunits: mm\nbender: bender.yaml\ntube: {{ od: 38.1, wall: 2.4, density: 7850, die: five-inch }}\n\
         tubes:\n  \"{name}\": {{ rows: [{rows}{{ length: 420 }}] }}\n"
    )
}

fn inch(under: u64) -> People {
    People { units: Units::Inch(Fraction::from_denominator(under).expect("a fraction of a tape")) }
}

/// A job with the pages of its card on each of the papers.
struct Printed {
    made: Made,
    pages: [Vec<Drawing>; 2],
}

/// Everything that is looked at, drawn once for all tests.
fn everything() -> &'static [Printed] {
    static PRINTED: LazyLock<Vec<Printed>> = LazyLock::new(|| {
        let print = |made: Made| Printed { pages: PAPERS.map(|paper| made.pages(paper)), made };
        all().into_iter().map(print).collect()
    });
    &PRINTED
}

fn all() -> Vec<Made> {
    let mut made = Vec::new();
    for path in jobs() {
        made.push(Made::sample(&path, People::mm()));
        made.push(Made::sample(&path, inch(64)));
    }
    made.push(Made::written(&many_bends(12, "ladder rail")));
    made.push(Made::written(&many_bends(1, "a name that nobody can read to its end ".repeat(6).trim())));
    let straight = "legs: [600], bends: []";
    made.push(Made::written(&many_bends(0, "bar").replace("rows: [{ length: 420 }]", straight)));
    made
}

/// What is printed on a page, in the order in which it is drawn. Labels that go on where the one before ended are one.
fn printed(page: &Drawing) -> String {
    let mut words = String::new();
    let mut end = None;
    for (label, bounds) in page.labels() {
        let goes_on =
            end.is_some_and(|(x, y): (f64, f64)| (x - bounds.x0).abs() < 1e-6 && (y - label.at.y).abs() < 1e-6);
        if !goes_on {
            words.push(' ');
        }
        words.push_str(&label.words);
        end = Some((bounds.x1, label.at.y));
    }
    words.split_whitespace().collect::<Vec<&str>>().join(" ")
}

fn check_page(name: &str, page: &Drawing, paper: Paper) {
    assert!((page.width - paper.width()).abs() < 1e-9 && (page.height - paper.height()).abs() < 1e-9);
    assert!(page.overlap().is_none(), "{name}, {}: {:?}", page.title, page.overlap());
    let between = |bounds: &kurbo::Rect| bounds.y0 > 25.0 && bounds.y1 < page.height - 25.0;
    let words = page.labels().iter().filter(|(_, bounds)| between(bounds)).count();
    assert!(words > 2, "{name}, {}: an empty page", page.title);
    for (label, bounds) in page.labels() {
        let free = [bounds.x0, bounds.y0, page.width - bounds.x1, page.height - bounds.y1];
        assert!(free.iter().all(|free| *free >= EDGE), "{name}, {}: {:?} {free:?}", page.title, label.words);
        // The rulings of the wrap strip are as close as they are, and are read with the strip in the hand.
        let least = if label.words.ends_with(" %") || label.words == "nominal" { 2.2 } else { 2.8 };
        assert!(label.size >= least - 1e-9, "{name}, {}: {:?} {}", page.title, label.words, label.size);
    }
}

#[test]
fn no_word_lies_on_another_or_near_an_edge_or_is_too_small_to_read() {
    for Printed { made, pages } in everything() {
        for (paper, pages) in PAPERS.into_iter().zip(pages) {
            for (place, page) in pages.iter().enumerate() {
                check_page(&made.card.job, page, paper);
                let words = printed(page);
                assert!(words.ends_with(&format!("job {}", made.card.job)), "{words}");
                assert!(words.contains(&format!("page {} of {}", place + 1, pages.len())), "{words}");
                assert!(words.contains(&format!("files {}", made.card.fingerprint)), "{words}");
                let date = made.card.date.as_ref().map_or("date".to_owned(), |date| format!("date {date}"));
                assert!(words.contains(&date), "{words}");
            }
        }
    }
}

/// The pages of a tube.
fn of<'a>(pages: &'a [Drawing], tube: &TubeCard) -> Vec<&'a Drawing> {
    pages.iter().filter(|page| page.title.starts_with(&format!("{}, page", tube.name))).collect()
}

fn in_order(words: &str, wanted: &[String]) {
    let mut rest = words;
    for one in wanted {
        let Some(at) = rest.find(one.as_str()) else { panic!("{one:?} of {wanted:?} is not in its place: {words}") };
        rest = &rest[at + one.len()..];
    }
}

#[test]
fn every_step_has_a_page_with_all_its_figures_the_large_ones_first() {
    for Printed { made, pages } in everything() {
        for pages in pages {
            for tube in &made.card.tubes {
                let Some(work) = &tube.work else { continue };
                let pages = of(pages, tube);
                for step in &work.steps {
                    let title = format!("Step {} of {}: bend {}", step.step, step.of, step.bend);
                    let with: Vec<String> =
                        pages.iter().map(|page| printed(page)).filter(|words| words.contains(&title)).collect();
                    assert_eq!(with.len(), 1, "{title}");
                    let words = &with[0];
                    check_step(words, step);
                    assert!(!words.contains(&format!("Step {} of", step.step + 1)), "{words}");
                }
            }
        }
    }
}

fn check_step(words: &str, step: &StepCard) {
    // All words of all moments are there.
    for moment in step.says.iter().filter(|moment| moment.about != "ADD") {
        for sentence in moment.words.split_inclusive(". ") {
            assert!(words.contains(sentence.trim()), "{sentence:?} is not in {words}");
        }
    }
    for row in &step.add {
        assert!(words.contains(&format!("{:.0} {}", row.short.to_deg(), row.printed)), "{row:?}: {words}");
    }
    let mut large: Vec<String> =
        step.says.iter().filter(|moment| moment.main).map(|moment| moment.about.clone()).collect();
    assert_eq!(large[0], format!("END {}", step.lead));
    assert_eq!(large[1], format!("MARK {}", step.bend));
    large.insert(2, format!("{} ", step.printed.mark));
    large.insert(3, format!("{} ", step.printed.tail));
    let stop = step.printed.look.as_ref().unwrap_or(&step.printed.stop);
    assert_eq!(large[large.len() - 1], format!("STOP {stop}"));
    large.extend(step.check.iter().map(|check| check.printed.clone()));
    in_order(words, &large);
}

#[test]
fn what_is_read_at_arms_length_is_equally_large() {
    for page in everything().iter().flat_map(|printed| printed.pages.iter().flatten()) {
        if printed(page).contains("Step 1 of") {
            let labels = page.labels();
            let size = |about: &str| {
                let found = labels.iter().filter(|(label, _)| label.words.split(' ').next() == Some(about));
                found.map(|(label, _)| label.size).fold(0.0, f64::max)
            };
            // 0.73 of the size is the height of a capital.
            assert!(size("END") * 0.73 >= 9.0);
            assert!((size("END") - size("STOP")).abs() < 1e-12 && (size("END") - size("MARK")).abs() < 1e-12);
            let roll = ["UP", "DOWN", "LEVEL", "TURN"].map(size).into_iter().fold(0.0, f64::max);
            assert!((size("END") - roll).abs() < 1e-12);
        }
    }
}

#[test]
fn the_first_page_says_what_is_cut_and_the_last_what_is_checked() {
    for Printed { made, pages } in everything() {
        for pages in pages {
            for tube in &made.card.tubes {
                let pages = of(pages, tube);
                let first = printed(pages[0]);
                assert!(first.contains(tube.verdict), "{first}");
                let all = pages.iter().map(|page| printed(page)).collect::<Vec<String>>().join(" ");
                for note in tube.not_kept.iter().chain(&tube.notes) {
                    assert!(all.contains(&note.text[1..]), "{}: {all}", note.text);
                }
                let Some(work) = &tube.work else {
                    assert!(first.contains("DO NOT CUT") && !all.contains("Cut ") && !all.contains("Caliper"));
                    for why in tube.why_not.iter().chain(&tube.cures) {
                        assert!(all.contains(&why[1..]), "{why}: {all}");
                    }
                    continue;
                };
                assert!(!all.contains("DO NOT CUT"));
                assert!(first.contains(&work.ledger.printed) && all.contains(&work.caliper.words[1..]), "{first}");
                for line in &work.ledger.lines {
                    assert!(first.contains(&format!("{} {}", line.what, line.printed)), "{first}");
                }
                for end in &work.ends {
                    assert!(all.contains(&end.words.join(" ")), "{:?}: {all}", end.words);
                }
                for mark in &work.marks {
                    let printed = &mark.printed;
                    let row = format!(
                        "{} {} {} {} {} {}",
                        mark.bend, mark.lead, printed.mark, printed.tail, printed.top, printed.top_arc
                    );
                    assert!(all.contains(&row), "{row}: {all}");
                }
                let last = printed(pages[pages.len() - 1]);
                for caution in &work.cautions {
                    assert!(last.contains(caution), "{last}");
                }
                for check in work.finished.iter().flat_map(|finished| &finished.checks) {
                    assert!(all.contains(&format!("{} {}", check.faces, check.printed)), "{check:?}: {all}");
                }
            }
        }
    }
}

#[test]
fn the_two_of_a_pair_have_sheets_of_their_own_with_their_hand_on_each() {
    let pair = jobs().into_iter().find(|path| path.ends_with("pair.yaml")).expect("the pair");
    let made = Made::sample(&pair, People::mm());
    for paper in PAPERS {
        let pages = made.pages(paper);
        let mut count = 0;
        for (tube, other) in [("LEFT", "RIGHT"), ("RIGHT", "LEFT")] {
            let head = |hand: &str| format!("arch-{} {hand}", hand.to_lowercase());
            let own: Vec<&Drawing> = pages.iter().filter(|page| printed(page).starts_with(&head(tube))).collect();
            assert!(own.len() >= 4, "{}", own.len());
            count += own.len();
            let wrong = |page: &&Drawing| page.labels().iter().any(|(label, _)| label.words == other);
            assert!(!own.iter().any(wrong));
            let largest = own[0].labels().iter().map(|(label, _)| label.size).fold(0.0, f64::max);
            assert!(own[0].labels().iter().any(|(label, _)| label.words == tube && label.size >= largest));
            assert!(largest * 0.73 > 25.0, "{largest}");
        }
        assert_eq!(count, pages.len());
    }
}

#[test]
fn the_same_card_gives_the_same_bytes_and_a_long_one_is_small() {
    let made = Made::written(&many_bends(12, "ladder rail"));
    let file = |paper| pdf("Step card of job", &made.pages(paper));
    let a4 = file(Paper::A4);
    assert_eq!(made.card.tubes[0].work.as_ref().map(|work| work.steps.len()), Some(12));
    assert!(a4 == file(Paper::A4) && a4 != file(Paper::Letter));
    assert!(a4.len() < 2_000_000, "{}", a4.len());
}
