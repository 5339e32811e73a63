//! What may be said on the command line of `tubewright-view`.

use std::path::PathBuf;

use clap::{Parser, ValueEnum};
use tubewright::round::Fraction;

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "tubewright-view",
    version,
    about = "See each bend before it is made: a window, or pictures without one",
    after_help = "Exit status: 0 done; 1 some tube cannot be bent as asked; 2 the input or the command line is wrong; \
                  3 something outside is missing or full, such as a display.",
    max_term_width = 100
)]
pub(crate) struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub(crate) job: PathBuf,

    /// Tube to show first, or to make pictures of; may be given several times for pictures
    #[arg(long = "tube", value_name = "NAME")]
    pub(crate) tubes: Vec<String>,

    /// Step to show first, or to make the picture of, from 1
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    pub(crate) step: Option<u16>,

    /// Write pictures instead of opening a window: of each step, of all (steps, finished tubes and the job), or of the job
    #[arg(long, value_enum, value_name = "WHAT", requires = "output")]
    pub(crate) picture: Option<What>,

    /// Write the steps of one tube as an animation instead of opening a window
    #[arg(long, value_name = "FILE.gif", conflicts_with = "picture")]
    pub(crate) animation: Option<PathBuf>,

    /// Folder for the pictures; made if it is not there
    #[arg(long, value_name = "DIR")]
    pub(crate) output: Option<PathBuf>,

    /// Size of pictures in pixels
    #[arg(long, value_name = "WIDTHxHEIGHT", default_value = "1280x800", value_parser = size)]
    pub(crate) size: (u32, u32),

    /// Write over files that are there
    #[arg(long)]
    pub(crate) force: bool,

    /// Units that people read; without it those of the job
    #[arg(long, value_enum, value_name = "UNITS")]
    pub(crate) units: Option<ReadingUnits>,

    /// Print inches as fractions down to 1/16, 1/32 or 1/64
    #[arg(long, value_name = "PARTS", value_parser = fraction)]
    pub(crate) fraction: Option<Fraction>,

    /// Bend in this order instead of looking for one: bend number and the end that leads, such as "2A 1A 3B"; for one tube
    #[arg(long, value_name = "ORDER")]
    pub(crate) order: Option<String>,

    /// Let steps count that come nearer than the gap to keep, as long as nothing touches
    #[arg(long)]
    pub(crate) accept_tight: bool,

    /// No messages but errors
    #[arg(long)]
    pub(crate) quiet: bool,
}

/// What pictures are made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum What {
    /// Each step of each tube
    Step,
    /// Each step, each finished tube, and the job
    All,
    /// The finished tubes of the job together
    Job,
}

/// Units that people read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ReadingUnits {
    /// Millimetres
    Mm,
    /// Inches and fractions
    In,
}

fn fraction(text: &str) -> Result<Fraction, &'static str> {
    text.parse().ok().and_then(Fraction::from_denominator).ok_or("give 16, 32 or 64")
}

fn size(text: &str) -> Result<(u32, u32), String> {
    let wrong = || "give width and height in pixels from 64 to 8192, such as 1280x800".to_owned();
    let (width, height) = text.split_once(['x', 'X']).ok_or_else(wrong)?;
    let side = |text: &str| text.parse::<u32>().ok().filter(|side| (64..=8192).contains(side)).ok_or_else(wrong);
    Ok((side(width)?, side(height)?))
}
