//! What a card costs, from the finished plan to the bytes of a file: a tube of twelve bends in several planes.
//!
//! `cargo bench -p tubewright-paper --bench card`. The plan is made once, before anything is timed; `card` makes the figures and words, `pages` and
//! `page_for_a_phone` the whole file with all pictures.

use std::path::Path;
use std::sync::atomic::AtomicBool;

use divan::Bencher;
use tubewright::file::{Held, load_job};
use tubewright::job::Job;
use tubewright::plan::{Options, Plan, plan};
use tubewright::round::People;
use tubewright_paper::card::Card;
use tubewright_paper::html::html;
use tubewright_paper::pdf::{Paper, pdf};
use tubewright_paper::sheet::sheets;
use tubewright_paper::words::Words;

const BENDER: &str = "
kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 3000
dies:
  five-inch: { od: 38.1, clr: 127, max_angle: 195, clamp_length: 70, follower_length: 150 }
solids:
  - { name: ram, on: frame, cylinder: { from: [-500, -60, -200], to: [-80, -60, -200], radius: 45 } }
";

fn main() {
    divan::main();
}

fn planned(people: People) -> (Job, Plan) {
    let row = |bend: usize| match bend {
        0 => "{ length: 420, bend: 20 }".to_owned(),
        _ => format!("{{ length: 420, rotation: {}, bend: 20 }}", [30, -40, 25][bend % 3]),
    };
    let rows: Vec<String> = (0..12).map(row).collect();
    let job = format!(
        "kind: job\nunits: mm\nbender: bender.yaml\ntube: {{ od: 38.1, wall: 2.4, density: 7850, die: five-inch }}\n\
         tubes:\n  rail: {{ rows: [{}, {{ length: 420 }}] }}\n",
        rows.join(", ")
    );
    let files = Held::default().with("bender.yaml", BENDER).with("job.yaml", job.as_str());
    let job = load_job(&files, Path::new("job.yaml")).unwrap_or_else(|mistakes| panic!("{}", mistakes.render(false)));
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people };
    let plan = plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).expect("the one tube is asked for");
    assert!(plan.feasible(), "{:?}", plan.tubes[0].why_not);
    (job, plan)
}

#[divan::bench]
fn card(bencher: Bencher<'_, '_>) {
    let people = People::mm();
    let (job, plan) = planned(people);
    bencher.bench_local(|| Card::new("rail", &job, &plan, &people, None));
}

#[divan::bench(sample_count = 20)]
fn pages(bencher: Bencher<'_, '_>) {
    let people = People::mm();
    let (job, plan) = planned(people);
    let card = Card::new("rail", &job, &plan, &people, None);
    let words: Vec<Words<'_>> = plan.tubes.iter().map(|tube| Words { job: &job, tube, people: &people }).collect();
    bencher.bench_local(|| pdf("rail", &sheets(&card, &words, Paper::A4)));
}

#[divan::bench(sample_count = 20)]
fn page_for_a_phone(bencher: Bencher<'_, '_>) {
    let people = People::mm();
    let (job, plan) = planned(people);
    let card = Card::new("rail", &job, &plan, &people, None);
    let words: Vec<Words<'_>> = plan.tubes.iter().map(|tube| Words { job: &job, tube, people: &people }).collect();
    bencher.bench_local(|| html(&card, &words, Paper::A4));
}
