//! `tubewright-view`: see each bend before it is made.

#![expect(clippy::print_stderr, reason = "a program says what is wrong on standard error")]

mod args;
mod write;

use std::process::ExitCode;
use std::sync::atomic::AtomicBool;

use clap::Parser as _;
use tubewright::file::{Disk, load_job};
use tubewright::job::Job;
use tubewright::plan::{self, Options, Plan};
use tubewright::round::People;
use tubewright::units::{Angle, LengthUnit};
use tubewright_viewer::camera::Side;
use tubewright_viewer::needs;
use tubewright_viewer::picture::{self, Studio};
use tubewright_viewer::scene::bench::{Shown, bench};
use tubewright_viewer::scene::finished::finished;

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
    let job = load_job(&Disk, &args.job)
        .map_err(|mistakes| Ended { says: mistakes.render(false).trim_end().to_owned(), status: 2 })?;
    let people = people(args, job.units);
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people };
    let unknown = args.tubes.iter().find(|name| job.tubes.iter().all(|tube| tube.name != **name));
    if let Some(name) = unknown {
        let known: Vec<&str> = job.tubes.iter().map(|tube| tube.name.as_str()).collect();
        return Err(Ended::mistake(format_args!("there is no tube `{name}` in this job: it has {}", known.join(", "))));
    }
    if args.picture.is_none() && args.animation.is_none() {
        return Err(Ended::outside("the window is not part of this build; write pictures with --picture"));
    }
    needs::adapter().await.map_err(Ended::outside)?;
    let plan = plan::plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).map_err(Ended::mistake)?;
    let all = Making { args, job: &job, plan: &plan, people: &people };
    match (&args.picture, &args.animation) {
        (Some(what), _) => all.pictures(*what).await?,
        (None, Some(path)) => all.animation(path).await?,
        (None, None) => {}
    }
    Ok(ExitCode::from(if plan.feasible() { 0 } else { 1 }))
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

    /// The tubes asked for, by their places.
    fn tubes(&self) -> Vec<usize> {
        let wanted =
            |place: &usize| self.args.tubes.is_empty() || self.args.tubes.contains(&self.plan.tubes[*place].name);
        (0..self.plan.tubes.len()).filter(wanted).collect()
    }

    async fn pictures(&self, what: What) -> Result<(), Ended> {
        let Some(folder) = self.args.output.as_deref() else {
            return Err(Ended::mistake("--picture needs a folder: say --output DIR"));
        };
        // All names first, so that nothing is written where one of them is taken.
        let mut wanted = Vec::new();
        for tube in self.tubes() {
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
        write::check(&names, self.args.force).map_err(Ended::mistake)?;
        let mut studio = Studio::new(self.args.size.0, self.args.size.1).await;
        let mut made = Vec::new();
        for ((_, step, tube), path) in wanted.into_iter().zip(names) {
            let scene = match step {
                // In the middle of the bend: the way that it came and the way that it goes are both seen.
                Some((tube, step)) => {
                    let die_angle = self.plan.tubes[tube].steps[step].die_angle;
                    bench(&self.shown(tube, step), die_angle * 0.5)
                }
                None => self.finished(tube),
            };
            made.push((path, picture::png(&studio.picture(&scene, Side::Stand).await).map_err(Ended::outside)?));
        }
        std::fs::create_dir_all(folder)
            .map_err(|fault| Ended::outside(format_args!("cannot make {}: {fault}", folder.display())))?;
        for (path, file) in made {
            write::whole(&path, &file, self.args.force)
                .map_err(|fault| Ended::outside(format_args!("cannot write {}: {fault}", path.display())))?;
        }
        Ok(())
    }

    /// One finished tube, or with a place that is no tube's all of them.
    fn finished(&self, tube: usize) -> tubewright_viewer::scene::Scene {
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
        let tubes = self.tubes();
        let [tube] = tubes[..] else {
            return Err(Ended::mistake("an animation is of one tube: say which with one --tube"));
        };
        write::check(&[path.to_path_buf()], self.args.force).map_err(Ended::mistake)?;
        let mut studio = Studio::new(self.args.size.0, self.args.size.1).await;
        let mut frames = Vec::new();
        for (place, step) in self.plan.tubes[tube].steps.iter().enumerate() {
            if self.args.step.is_some_and(|only| usize::from(only) != place + 1) {
                continue;
            }
            let shown = self.shown(tube, place);
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
        write::whole(path, &file, self.args.force)
            .map_err(|fault| Ended::outside(format_args!("cannot write {}: {fault}", path.display())))
    }
}

/// The units that people read: those asked for, else those that go with the file's.
fn people(args: &Arguments, file: LengthUnit) -> People {
    match args.units {
        Some(ReadingUnits::In) => People::inch(),
        Some(ReadingUnits::Mm) => People::mm(),
        None => People::usual(file),
    }
}
