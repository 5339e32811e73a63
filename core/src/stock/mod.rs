//! The cut list of a job: all its tubes, straight ones too, on the bars and offcuts that its file lists.
//!
//! ```text
//! Job -> sizes  (OD, wall and material: a bar is cut into tubes of one size)
//!     -> pieces (the cut length of every blank, and test bends where nothing was measured)
//!     -> cut    (which piece from which bar, see `cutting`)
//!     -> CutList
//! ```
//!
//! A cut length is known without any clearance, so nothing is said here of whether a tube can be bent. Lengths are compared in whole nanometres; a bar counts as a
//! thousandth of a millimetre longer than it is, so that nothing is refused for what arithmetic leaves.

pub mod document;
mod notes;
mod sizes;
#[cfg(test)]
mod tests;

use self::sizes::{same, sizes, supplies};
use crate::calibrate::suggest;
use crate::cutting::{Cutting, Kind, cut};
use crate::forming::LeadEnd;
use crate::job::{Cut, Job, Stock, Tube};
use crate::plan::{self, AskMistake, Note, SpringbackFrom};
use crate::round::People;
use crate::units::{Length, LengthUnit};

/// How much longer a bar counts than it is: far below what a saw can do, far above what arithmetic leaves of lengths in inches.
const SLACK: Length = Length::mm(0.001);

/// What is asked of [`cut_list`].
#[derive(Clone, Debug)]
pub struct Asked {
    /// Names of the tubes to be cut; empty for all.
    pub tubes: Vec<String>,
    /// Whether pieces for test bends are cut where no springback was measured.
    pub test_bends: bool,
    /// How lengths are worded in notes, and in whose steps test bends are cut.
    pub people: People,
}

/// Why there is no cut list.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum StockMistake {
    /// A tube that the job has not.
    #[error(transparent)]
    Ask(#[from] AskMistake),
    /// Nothing to cut from.
    #[error("the job has no `stock`: nothing says what its tubes are cut from")]
    NoStock,
    /// Stock that could be of several of the job's sizes.
    #[error("{entry} could be of several sizes that the job needs: {could_be}")]
    SizeUnsaid {
        /// Which entry.
        entry: String,
        /// The sizes that it could be.
        could_be: String,
    },
}

/// What a piece is for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum For {
    /// A tube of the job.
    Tube,
    /// One of three test bends.
    TestBend {
        /// Name of the die.
        die: String,
        /// Which of the three, from 1.
        number: usize,
    },
}

/// A piece to be cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// The tube's name, or words for a test bend.
    pub name: String,
    /// What it is for.
    pub is: For,
    /// Its length.
    pub length: Length,
    /// What is cut off later, at end A and at end B.
    pub extra: [Length; 2],
    /// The cut to another tube that takes it off before bending, or without; `None` where it is cut off after bending.
    pub taken_by: [Option<Cut>; 2],
    /// The other tube of a mirrored pair.
    pub pair: Option<String>,
    /// Mass, kg; `None` where wall or density are not known.
    pub mass_kg: Option<f64>,
}

/// A piece in its place on a bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Its place in the group's list of pieces.
    pub piece: usize,
    /// Where it begins, from the end of the bar.
    pub from: Length,
    /// Where it ends, from the same end: the mark for the cut, the blade beyond it.
    pub to: Length,
}

/// A bar or an offcut that is cut into.
#[derive(Clone, Debug, PartialEq)]
pub struct CutBar {
    /// Where it comes from.
    pub kind: Kind,
    /// Its whole length.
    pub length: Length,
    /// Pieces in the order of cutting.
    pub pieces: Vec<Placed>,
    /// What is left of it in one piece, the end that is not used among it; at least 0.
    pub left: Length,
}

/// A piece that cannot be cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncut {
    /// Its place in the group's list of pieces.
    pub piece: usize,
    /// The longest piece that any bar or offcut of this size gives; `None` where none is listed.
    pub longest: Option<Length>,
}

/// Bars of one length to be bought.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Buy {
    /// Their length.
    pub length: Length,
    /// How many.
    pub count: usize,
}

/// Everything of one OD, wall and material.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// What it is, as the first of its tubes says.
    pub stock: Stock,
    /// Tubes in the order of the file, then test bends.
    pub pieces: Vec<Piece>,
    /// Offcuts, bars at hand, bars to be bought.
    pub bars: Vec<CutBar>,
    /// What is bought, the longest first.
    pub buy: Vec<Buy>,
    /// Pieces that cannot be cut.
    pub uncut: Vec<Uncut>,
    /// Length that is bought.
    pub bought: Length,
    /// Length that has to be bought at least.
    pub at_least: Length,
    /// Whether it is proved that no cutting leaves less uncut, and none of those buys less.
    pub best: bool,
}

impl Group {
    /// Mass of what is bought, kg; `None` where wall or density are not known.
    #[must_use]
    pub fn bought_kg(&self) -> Option<f64> {
        self.stock.mass_kg(self.bought)
    }

    /// Mass of the blanks of its tubes, kg; `None` where wall or density of one are not known.
    #[must_use]
    pub fn tubes_kg(&self) -> Option<f64> {
        self.pieces.iter().filter(|piece| piece.is == For::Tube).map(|piece| piece.mass_kg).sum()
    }
}

/// The cut list of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct CutList {
    /// Units of the job's file.
    pub units: LengthUnit,
    /// Date of the job, as written.
    pub date: Option<String>,
    /// First four hex digits of the hash over the files.
    pub fingerprint: String,
    /// Width of a cut.
    pub kerf: Length,
    /// Length at each end of a bar that is not used.
    pub end_waste: Length,
    /// One for each size, in the order of the file.
    pub groups: Vec<Group>,
    /// What was assumed or is worth knowing, most important first.
    pub notes: Vec<Note>,
}

impl CutList {
    /// Whether every piece can be cut.
    #[must_use]
    pub fn feasible(&self) -> bool {
        self.groups.iter().all(|group| group.uncut.is_empty())
    }
}

/// The cut list of the tubes that are asked for.
///
/// Offcuts and bars at hand are used where that saves buying; see [`cutting`](crate::cutting) for what is minimised. Where no springback was measured for a
/// die and a size, three pieces for test bends are cut too, as `calibrate --suggest` says them; they never take the place of a tube.
///
/// # Errors
/// A tube that is not there, a job without stock, an offcut or counted bar that could be of several sizes.
pub fn cut_list(job: &Job, asked: &Asked) -> Result<CutList, StockMistake> {
    let tubes = plan::named(job, &asked.tubes)?;
    let bars = job.bars.as_ref().ok_or(StockMistake::NoStock)?;
    let kerf = bars.kerf.unwrap_or_default();
    let of_size = sizes(job);
    let all_supplies = supplies(bars, &of_size, &asked.people)?;
    let mut list = CutList {
        units: job.units,
        date: job.date.clone(),
        fingerprint: job.fingerprint.clone(),
        kerf,
        end_waste: bars.end_waste,
        groups: Vec::new(),
        notes: notes::of_stock(bars, &of_size, &asked.people),
    };
    for (size, stock) in of_size.iter().zip(&all_supplies) {
        let of_size: Vec<&Tube> = tubes.iter().copied().filter(|tube| same(size, &tube.stock)).collect();
        let Some(first) = of_size.first() else { continue };
        let mut pieces: Vec<Piece> = of_size.iter().map(|tube| piece(job, tube)).collect();
        let cutting = |pieces: &[Piece]| {
            let lengths: Vec<i64> = pieces.iter().map(|piece| nanometres(piece.length)).collect();
            cut(nanometres(kerf), stock, &lengths)
        };
        let mut found = cutting(&pieces);
        let untried = untested(job, &of_size);
        list.notes.extend(notes::of_lots(job, &of_size));
        if asked.test_bends && !untried.is_empty() {
            let mut with = pieces.clone();
            with.extend(untried.iter().flat_map(|(die, _)| test_bends(job, *die, first, asked)));
            let tried = cutting(&with);
            let short = !tried.uncut.is_empty();
            let more = millimetres(tried.bought - found.bought);
            list.notes.push(notes::of_test_bends(
                job,
                &untried,
                &with[pieces.len()..],
                kerf,
                (short, more),
                &asked.people,
            ));
            if !short {
                (pieces, found) = (with, tried);
            }
        }
        list.groups.push(group(bars.end_waste, kerf, stock, first, pieces, found));
    }
    Ok(list)
}

/// Dies of some tubes for which no springback was measured, each with where its springback is from instead.
fn untested(job: &Job, tubes: &[&Tube]) -> Vec<(usize, SpringbackFrom)> {
    let mut dies: Vec<(usize, SpringbackFrom)> = Vec::new();
    for tube in tubes {
        for die in &tube.dies {
            let from = plan::provenance(tube, &job.bender.dies[*die]).from;
            if from != SpringbackFrom::Measured && dies.iter().all(|(known, _)| known != die) {
                dies.push((*die, from));
            }
        }
    }
    dies
}

fn piece(job: &Job, tube: &Tube) -> Piece {
    let length = tube.blank(&job.bender).cut_length;
    Piece {
        name: tube.name.clone(),
        is: For::Tube,
        length,
        extra: [tube.extra_a, tube.extra_b],
        taken_by: [LeadEnd::A, LeadEnd::B].map(|end| tube.cut_before(end).map(|own| own.cut)),
        pair: tube.pair.clone(),
        mass_kg: tube.stock.mass_kg(length),
    }
}

fn test_bends(job: &Job, die: usize, tube: &Tube, asked: &Asked) -> [Piece; 3] {
    let unit = if asked.people.unit() == "in" { LengthUnit::Inch } else { LengthUnit::Mm };
    let name = &job.bender.dies[die].name;
    let mut number = 0;
    suggest(&job.bender, die, unit).map(|suggestion| {
        number += 1;
        Piece {
            name: format!("test bend {number}, die {name}"),
            is: For::TestBend { die: name.clone(), number },
            length: suggestion.blank,
            extra: [Length::ZERO; 2],
            taken_by: [None; 2],
            pair: None,
            mass_kg: tube.stock.mass_kg(suggestion.blank),
        }
    })
}

fn group(
    end_waste: Length,
    kerf: Length,
    stock: &[crate::cutting::Supply],
    first: &Tube,
    pieces: Vec<Piece>,
    found: Cutting,
) -> Group {
    let best = found.best();
    let mut buy: Vec<Buy> = Vec::new();
    let mut bars = Vec::with_capacity(found.cuts.len());
    for cut in &found.cuts {
        let length = millimetres(stock[cut.supply].length);
        let kind = stock[cut.supply].kind;
        if kind == Kind::Bought {
            match buy.last_mut().filter(|buy| nanometres(buy.length) == stock[cut.supply].length) {
                Some(buy) => buy.count += 1,
                None => buy.push(Buy { length, count: 1 }),
            }
        }
        let mut at = end_waste;
        let mut placed = Vec::with_capacity(cut.pieces.len());
        for piece in &cut.pieces {
            let to = at + pieces[*piece].length;
            placed.push(Placed { piece: *piece, from: at, to });
            at = to + kerf;
        }
        bars.push(CutBar { kind, length, pieces: placed, left: (length - at).max(Length::ZERO) });
    }
    let usable = stock.iter().map(|supply| supply.usable).max();
    let longest = usable.map(|usable| (millimetres(usable) - SLACK).max(Length::ZERO));
    let uncut = found.uncut.iter().map(|piece| Uncut { piece: *piece, longest }).collect();
    Group {
        stock: first.stock.clone(),
        pieces,
        bars,
        buy,
        uncut,
        bought: millimetres(found.bought),
        at_least: millimetres(found.at_least),
        best,
    }
}

/// A length in whole nanometres, to the nearest: exact for lengths in mm with six decimals, and for every 1/64 in.
fn nanometres(length: Length) -> i64 {
    libm::round(length.to_mm() * 1e6) as i64
}

/// The length of so many nanometres, exact to a unit in the last place.
fn millimetres(nanometres: i64) -> Length {
    Length::mm(nanometres as f64 / 1e6)
}
