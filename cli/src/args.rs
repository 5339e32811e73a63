//! What may be said on the command line.

use std::path::PathBuf;
use std::str::FromStr;

use clap::{Args, Parser, Subcommand, ValueEnum};
use tubewright::centreline::BendId;
use tubewright::forming::LeadEnd;

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "tubewright",
    version,
    about = "From the corner points of a bent tube to a checked step list for the bender",
    after_help = "Exit status: 0 done; 1 some tube cannot be bent as asked; 2 the input or the command line is wrong; \
                  3 something outside is missing or full.",
    max_term_width = 100,
    disable_help_subcommand = true
)]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write a commented starter job and bender file
    New(New),

    /// Plan the bends of a job: cut length, marks, and the steps in order, each checked against the bender
    Plan(Plan),
}

/// Arguments of `new`.
#[derive(Debug, Args)]
pub(crate) struct New {
    /// Folder for job.yaml and bender.yaml; made if it is not there. Without it: this one
    #[arg(value_name = "DIR")]
    pub(crate) folder: Option<PathBuf>,

    /// Write only the bender file
    #[arg(long)]
    pub(crate) bender: bool,

    /// Units that the files are written in
    #[arg(long, value_enum, value_name = "UNITS", default_value_t = ReadingUnits::Mm)]
    pub(crate) units: ReadingUnits,

    /// No messages but errors
    #[arg(long)]
    pub(crate) quiet: bool,
}

/// Arguments of `plan`.
#[derive(Debug, Args)]
pub(crate) struct Plan {
    /// The job file (YAML)
    #[arg(value_name = "JOB")]
    pub(crate) job: PathBuf,

    /// Plan only this tube of the job; may be given several times
    #[arg(long = "tube", value_name = "NAME")]
    pub(crate) tubes: Vec<String>,

    /// Text for people, or JSON for machines (always in mm and degrees)
    #[arg(long, value_enum, value_name = "FORMAT", default_value_t = PlanFormat::Text)]
    pub(crate) format: PlanFormat,

    #[command(flatten)]
    pub(crate) output: OutputArgs,

    /// Units of lengths in the text; without it those of the job file
    #[arg(long, value_enum, value_name = "UNITS")]
    pub(crate) units: Option<ReadingUnits>,

    /// Print inches as fractions down to 1/16, 1/32 or 1/64
    #[arg(long, value_enum, value_name = "PARTS")]
    pub(crate) fraction: Option<Fraction>,

    /// Bend in this order instead of looking for one: bend number and the end that leads, such as "2A 1A 3B"
    #[arg(long, value_name = "ORDER")]
    pub(crate) order: Option<Order>,

    /// Let steps count that come nearer than the gap to keep, as long as nothing touches
    #[arg(long)]
    pub(crate) accept_tight: bool,

    /// No progress on standard error
    #[arg(long)]
    pub(crate) quiet: bool,
}

/// Where the document goes.
#[derive(Debug, Args)]
pub(crate) struct OutputArgs {
    /// Write to this file instead of standard output
    #[arg(long = "output", short = 'o', value_name = "FILE")]
    pub(crate) path: Option<PathBuf>,

    /// Replace the output file if it is there already
    #[arg(long)]
    pub(crate) force: bool,
}

/// For whom a plan is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PlanFormat {
    // For people.
    Text,
    // For machines.
    Json,
}

/// The units that people read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ReadingUnits {
    // Millimetres.
    Mm,
    // Inches.
    In,
}

/// The finest fraction of an inch that is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Fraction {
    // 1/16 in.
    #[value(name = "16")]
    Sixteenth,
    // 1/32 in.
    #[value(name = "32")]
    ThirtySecond,
    // 1/64 in.
    #[value(name = "64")]
    SixtyFourth,
}

impl Fraction {
    /// Parts to the inch: 16, 32 or 64.
    pub(crate) const fn parts(self) -> u32 {
        match self {
            Self::Sixteenth => 16,
            Self::ThirtySecond => 32,
            Self::SixtyFourth => 64,
        }
    }
}

/// An order of bends, each with the end of the tube that leads. No bend stands twice in it and it is not empty; whether the
/// tube has all of them is for the planner to say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Order(pub(crate) Vec<(BendId, LeadEnd)>);

impl FromStr for Order {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let mut steps = Vec::new();
        for word in text.split_whitespace() {
            let unclear =
                || format!("`{word}` is not a bend: write its number and the end that leads, such as 2A or 1B");
            let (number, lead) = match word.char_indices().next_back() {
                Some((at, 'A' | 'a')) => (&word[..at], LeadEnd::A),
                Some((at, 'B' | 'b')) => (&word[..at], LeadEnd::B),
                _ => return Err(unclear()),
            };
            if number.is_empty() || !number.bytes().all(|digit| digit.is_ascii_digit()) {
                return Err(unclear());
            }
            let number: usize = number.parse().map_err(|_| format!("`{word}`: no tube has that many bends"))?;
            let Some(index) = number.checked_sub(1) else {
                return Err(format!("`{word}`: bends are counted from 1"));
            };
            let bend = BendId(index);
            if steps.iter().any(|(made, _)| *made == bend) {
                return Err(format!("bend {number} stands twice in the order"));
            }
            steps.push((bend, lead));
        }
        if steps.is_empty() {
            return Err("the order is empty: write it like \"2A 1A 3B\"".to_owned());
        }
        Ok(Self(steps))
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory as _;

    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn an_order_is_bend_numbers_with_lead_ends() {
        let order: Order = "2A 1b  13B".parse().unwrap();
        assert_eq!(order.0, [(BendId(1), LeadEnd::A), (BendId(0), LeadEnd::B), (BendId(12), LeadEnd::B)]);
    }

    #[test]
    fn what_is_not_an_order_is_refused_with_its_reason() {
        for (text, part) in [
            ("", "empty"),
            ("2", "`2` is not a bend"),
            ("A", "`A` is not a bend"),
            ("2C", "`2C` is not a bend"),
            ("+2A", "`+2A` is not a bend"),
            ("2ä", "`2ä` is not a bend"),
            ("0A", "counted from 1"),
            ("1A 1B", "bend 1 stands twice"),
            ("99999999999999999999999A", "no tube has that many"),
        ] {
            let refused = text.parse::<Order>().unwrap_err();
            assert!(refused.contains(part), "{text:?}: {refused}");
        }
    }
}
