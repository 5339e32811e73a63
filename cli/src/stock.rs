//! `stock JOB`: the cut list as text or JSON, or labels for the pieces as pages of a PDF or as HTML.

use tubewright::file::load_job;
use tubewright::stock::document::Document;
use tubewright::stock::{Asked, StockMistake, cut_list};
use tubewright_paper::pdf::pdf;
use tubewright_paper::stock::{html, labels, text};
use tubewright_paper::words::job_name;

use crate::args::{self, CardFormat};
use crate::card::{format, paper};
use crate::exit::Exit;
use crate::output::Output;
use crate::plan::{Remembering, people};
use crate::say;

/// Cuts the tubes of a job from its stock and writes the list or the labels.
pub(crate) fn run(args: &args::Stock) -> Exit {
    match write(args) {
        Ok(exit) | Err(exit) => exit,
    }
}

fn write(args: &args::Stock) -> Result<Exit, Exit> {
    let path = args.output.path.as_deref();
    let format = format(args.format, path, "labels.pdf")?;
    let output = Output::to(path, args.output.force, &[&args.job])?;
    let disk = Remembering::default();
    let job = load_job(&disk, &args.job).map_err(|mistakes| {
        say::plain(mistakes.render(say::colour()).trim_end());
        Exit::Mistake
    })?;
    output.spare(&disk.read.take())?;
    let people = people(args.units, args.fraction, job.units);
    let asked = Asked { tubes: args.tubes.clone(), test_bends: !args.no_test_bends, people };
    let list = cut_list(&job, &asked).map_err(|mistake| refused(&mistake))?;
    let name = job_name(&args.job);
    let paper = paper(args.paper, job.units);
    let document = match format {
        CardFormat::Text => text(&name, &list, &people).into_bytes(),
        CardFormat::Json => Document::new(&list).to_json().into_bytes(),
        CardFormat::Html => html(&name, &list, &people, paper).into_bytes(),
        CardFormat::Pdf => {
            let pages = labels(&name, &list, &people, paper);
            if pages.is_empty() {
                say::error("there is no label to print: nothing can be cut from this stock");
                say::help("see why with --format text");
                return Err(Exit::NotAsAsked);
            }
            pdf(&format!("Labels of {name}"), &pages)
        }
    };
    output.write(&document)?;
    Ok(if list.feasible() { Exit::Done } else { Exit::NotAsAsked })
}

fn refused(mistake: &StockMistake) -> Exit {
    say::error(mistake);
    match mistake {
        StockMistake::Ask(_) => {}
        StockMistake::NoStock => say::help(
            "add it to the job: `stock: { kerf: 3, bars: [6000], offcuts: [1850] }`; a number of bars that lie there is `{ length: 6000, count: 2 }`",
        ),
        StockMistake::SizeUnsaid { .. } => {
            say::help("say what it is: `{ length: 1850, od: 38.1, wall: 2.4, material: mild-steel }`");
        }
    }
    Exit::Mistake
}
