//! `tubewright-view`: see each bend before it is made.

#![expect(clippy::print_stderr, reason = "a program says what is wrong on standard error")]

mod args;

use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::atomic::AtomicBool;

use clap::Parser as _;
use tubewright::clearance::{Motion, Verdict};
use tubewright::file::{Disk, load_job};
use tubewright::job::Job;
use tubewright::plan::{self, Options, Plan, PlanStep};
use tubewright::round::People;
use tubewright::units::{Angle, LengthUnit};
use tubewright_viewer::camera::Side;
use tubewright_viewer::picture::{self, Studio};
use tubewright_viewer::scene::Scene;
use tubewright_viewer::scene::bench::{Shown, bench};
use tubewright_viewer::scene::finished::finished;
use tubewright_viewer::view::View;
use tubewright_viewer::work::{Asked, Work, write_whole};
use tubewright_viewer::{needs, window};

use crate::args::{Arguments, ReadingUnits, What};

/// How the program ends where it does not end well: what is said, and the status.
struct Ended {
    says: String,
    status: u8,
}

impl Ended {
    fn mistake(says: impl std::fmt::Display) -> Self {
        Self { says: format!("error: {says}"), status: 2 }
    }

    fn outside(says: impl std::fmt::Display) -> Self {
        Self { says: format!("error: {says}"), status: 3 }
    }

    fn read(mistakes: &tubewright::file::mistake::Mistakes) -> Self {
        Self { says: mistakes.render(false).trim_end().to_owned(), status: 2 }
    }
}

/// Degrees from one picture of an animation to the next.
const FRAME: f64 = 4.0;

fn main() -> ExitCode {
    let args = Arguments::parse();
    match kiss3d::pollster::block_on(run(&args)) {
        Ok(code) => code,
        Err(Ended { says, status }) => {
            eprintln!("{says}");
            ExitCode::from(status)
        }
    }
}

async fn run(args: &Arguments) -> Result<ExitCode, Ended> {
    if args.picture.is_none() && args.animation.is_none() {
        return open(args).await;
    }
    let job = load_job(&Disk, &args.job).map_err(|mistakes| Ended::read(&mistakes))?;
    let people = people(args, job.units);
    let options = Options {
        tubes: args.tubes.clone(),
        order: args.order.clone(),
        accept_tight: args.accept_tight,
        best: 1,
        people,
    };
    let plan = plan::plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).map_err(Ended::mistake)?;
    let all = Making { args, job: &job, plan: &plan, people: &people };
    match (&args.picture, &args.animation) {
        (Some(what), _) => all.pictures(*what).await?,
        (None, Some(path)) => all.animation(path).await?,
        (None, None) => {}
    }
    Ok(ExitCode::from(if plan.feasible() { 0 } else { 1 }))
}

/// Opens the window and comes back when it is closed. A job with mistakes in its figures is opened all the same, to be put right there.
async fn open(args: &Arguments) -> Result<ExitCode, Ended> {
    if let [_, other, ..] = &args.tubes[..] {
        return Err(Ended::mistake(format_args!("the window shows one tube first: leave out --tube {other}")));
    }
    let mut asked = Asked { accept_tight: args.accept_tight, ..Asked::default() };
    if args.units.is_some() || args.fraction.is_some() {
        let file = load_job(&Disk, &args.job).map_or(LengthUnit::Mm, |job| job.units);
        asked.people = Some(people(args, file));
    }
    let mut work = Work::open(&args.job, asked).map_err(|mistakes| Ended::read(&mistakes))?;
    let outline = work.outline();
    let mut view = View { step: args.step.map_or(0, |step| usize::from(step) - 1), ..View::default() };
    if let Some(name) = args.tubes.first() {
        let known: Vec<&str> = outline.tubes.iter().map(|tube| tube.name.as_str()).collect();
        view.tube = known.iter().position(|known| known == name).ok_or_else(|| {
            Ended::mistake(format_args!("there is no tube `{name}` in this job: it has {}", known.join(", ")))
        })?;
    }
    if let Some(order) = &args.order {
        let tube = match (&args.tubes[..], &outline.tubes[..]) {
            ([name], _) => name,
            ([], [only]) => &only.name,
            _ => return Err(Ended::mistake("an order is for one tube: say which with --tube")),
        };
        work.set_order(tube, Some(order));
    }
    needs::display().map_err(Ended::outside)?;
    needs::adapter().await.map_err(Ended::outside)?;
    window::open(work, view).map_err(Ended::outside)?;
    Ok(ExitCode::SUCCESS)
}

/// Whether all of these may be written: none is there already, unless it may be replaced.
fn free(paths: &[PathBuf], replace: bool) -> Result<(), Ended> {
    for path in paths {
        if path.is_dir() {
            return Err(Ended::mistake(format_args!("cannot write {}: it is a folder", path.display())));
        }
        if path.exists() && !replace {
            return Err(Ended::mistake(format_args!(
                "{} is there already and was left as it is: replace it with --force",
                path.display()
            )));
        }
    }
    Ok(())
}

/// The die angle at which a picture of a step tells most: where it comes nearest to what is in the way; else in the middle of the bend, from where
/// the way that it came and the way that it goes are both seen.
fn telling(step: &PlanStep) -> Angle {
    let in_the_way = step.clearances.iter().filter(|clearance| {
        clearance.motion == Motion::Bend && matches!(clearance.verdict, Verdict::Contact | Verdict::Tight)
    });
    let places = in_the_way.filter_map(|clearance| clearance.nearest);
    let nearest = places.min_by(|one, other| one.gap.to_mm().total_cmp(&other.gap.to_mm()));
    nearest.map_or(step.die_angle * 0.5, |nearest| nearest.die_angle)
}

/// What pictures are made from.
struct Making<'a> {
    args: &'a Arguments,
    job: &'a Job,
    plan: &'a Plan,
    people: &'a People,
}

impl Making<'_> {
    fn shown(&self, tube: usize, step: usize) -> Shown<'_> {
        Shown { job: self.job, tube: &self.plan.tubes[tube], step, people: self.people }
    }

    async fn pictures(&self, what: What) -> Result<(), Ended> {
        let Some(folder) = self.args.output.as_deref() else {
            return Err(Ended::mistake("--picture needs a folder: say --output DIR"));
        };
        if let Some(step) = self.args.step.map(usize::from)
            && self.plan.tubes.iter().all(|tube| tube.steps.len() < step)
        {
            return Err(Ended::mistake(format_args!("there is no step {step} to make a picture of")));
        }
        // All names first, so that nothing is written where one of them is taken.
        let mut wanted = Vec::new();
        for tube in 0..self.plan.tubes.len() {
            let name = &self.plan.tubes[tube].name;
            if what != What::Job {
                for step in 0..self.plan.tubes[tube].steps.len() {
                    if self.args.step.is_none_or(|only| usize::from(only) == step + 1) {
                        wanted.push((picture::step_name(name, step + 1), Some((tube, step)), tube));
                    }
                }
            }
            if what == What::All {
                wanted.push((picture::tube_name(name), None, tube));
            }
        }
        if matches!(what, What::All | What::Job) {
            wanted.push(("job.png".to_owned(), None, usize::MAX));
        }
        let names: Vec<_> = wanted.iter().map(|(name, ..)| folder.join(name)).collect();
        free(&names, self.args.force)?;
        needs::adapter().await.map_err(Ended::outside)?;
        let mut studio = Studio::new(self.args.size.0, self.args.size.1).await;
        let mut made = Vec::new();
        for ((_, step, tube), path) in wanted.into_iter().zip(names) {
            let scene = match step {
                Some((tube, step)) => bench(&self.shown(tube, step), telling(&self.plan.tubes[tube].steps[step])),
                None => self.finished(tube),
            };
            made.push((path, picture::png(&studio.picture(&scene, Side::Stand).await).map_err(Ended::outside)?));
        }
        std::fs::create_dir_all(folder)
            .map_err(|fault| Ended::outside(format_args!("cannot make {}: {fault}", folder.display())))?;
        for (path, file) in made {
            self.write(&path, &file)?;
        }
        Ok(())
    }

    /// One finished tube, or with a place that is no tube's all of them.
    fn finished(&self, tube: usize) -> Scene {
        let Some(planned) = self.plan.tubes.get(tube) else { return finished(self.job, self.plan, usize::MAX) };
        let tubes = self.job.tubes.iter().filter(|other| other.name == planned.name).cloned().collect();
        finished(&Job { tubes, ..self.job.clone() }, self.plan, 0)
    }

    async fn animation(&self, path: &std::path::Path) -> Result<(), Ended> {
        if !picture::is_gif(path) {
            return Err(Ended::mistake(format_args!(
                "an animation is a GIF: let the name {} end in .gif",
                path.display()
            )));
        }
        let [tube] = &self.plan.tubes[..] else {
            return Err(Ended::mistake("an animation is of one tube: say which with one --tube"));
        };
        free(&[path.to_path_buf()], self.args.force)?;
        needs::adapter().await.map_err(Ended::outside)?;
        let mut studio = Studio::new(self.args.size.0, self.args.size.1).await;
        let mut frames = Vec::new();
        for (place, step) in tube.steps.iter().enumerate() {
            if self.args.step.is_some_and(|only| usize::from(only) != place + 1) {
                continue;
            }
            let shown = self.shown(0, place);
            let parts = (step.die_angle.to_deg() / FRAME).ceil().max(1.0) as usize;
            for part in 0..=parts {
                let die_angle = Angle::deg(step.die_angle.to_deg() * part as f64 / parts as f64);
                // It stands still at both ends of a bend.
                let hundredths = if part == 0 || part == parts { 90 } else { 8 };
                frames.push((studio.picture(&bench(&shown, die_angle), Side::Stand).await, hundredths));
            }
        }
        if frames.is_empty() {
            return Err(Ended::mistake("there is no such step to show"));
        }
        let file = picture::gif(&frames).map_err(Ended::outside)?;
        self.write(path, &file)
    }

    fn write(&self, path: &std::path::Path, file: &[u8]) -> Result<(), Ended> {
        write_whole(path, self.args.force && path.exists(), file).map_err(Ended::outside)
    }
}

/// The units that people read: those asked for, else those that go with the file's.
fn people(args: &Arguments, file: LengthUnit) -> People {
    let people = match args.units {
        Some(ReadingUnits::In) => People::inch(),
        Some(ReadingUnits::Mm) => People::mm(),
        None => People::usual(file),
    };
    args.fraction.map_or(people, |fraction| people.with_fraction(fraction))
}
