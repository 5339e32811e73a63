//! What was assumed in a cut list, and what is worth knowing.

use super::sizes::assumed;
use super::{Piece, SpringbackFrom};
use crate::job::{Bars, Job, Stock, Tube};
use crate::plan::{Note, provenance};
use crate::round::People;
use crate::units::Length;

fn note(code: &'static str, text: String) -> Note {
    Note { code, text }
}

/// About the stock: a kerf that is not given, sizes that are not stated.
pub(super) fn of_stock(bars: &Bars, sizes: &[&Stock], people: &People) -> Vec<Note> {
    let mut notes = Vec::new();
    if bars.kerf.is_none() {
        let text = "the job gives no `kerf`, so no width is taken off for a cut: with a saw the last piece of a bar comes out short";
        notes.push(note("kerf-unknown", text.to_owned()));
    }
    if assumed(bars, sizes) {
        let usual = &bars.usual;
        let size: Vec<String> = [
            usual.od.map(|od| format!("OD {}", people.figure(od))),
            usual.wall.map(|wall| format!("wall {}", people.figure(wall))),
            usual.material.clone(),
        ]
        .into_iter()
        .flatten()
        .collect();
        let text = format!(
            "offcuts and counted bars that do not say what they are were taken to be what the job's `tube` says: {}",
            size.join(", ")
        );
        notes.push(note("size-assumed", text));
    }
    notes
}

/// Of which delivery of tube the springback was measured: another one may spring back otherwise.
pub(super) fn of_lots(job: &Job, tubes: &[&Tube]) -> Vec<Note> {
    let mut notes: Vec<Note> = Vec::new();
    for tube in tubes {
        for die in &tube.dies {
            let die = &job.bender.dies[*die];
            let from = provenance(tube, die);
            let Some(lot) = from.lot.filter(|_| from.from == SpringbackFrom::Measured) else { continue };
            let text = format!(
                "the springback in the die {} was measured on the lot {lot}: of tube from another one keep an offcut for test bends, see `tubewright calibrate --suggest`",
                die.name
            );
            if notes.iter().all(|note| note.text != text) {
                notes.push(note("lot", text));
            }
        }
    }
    notes
}

/// What test bends are cut, and what they cost: whether no stock is left for them, and how much more is bought.
pub(super) fn of_test_bends(
    job: &Job,
    untested: &[(usize, SpringbackFrom)],
    pieces: &[Piece],
    kerf: Length,
    (short, more): (bool, Length),
    people: &People,
) -> Note {
    let dies: Vec<String> = untested
        .iter()
        .map(|(die, from)| {
            let why = match from {
                SpringbackFrom::Borrowed => "measured on other tube",
                SpringbackFrom::Estimated => "estimated by theory",
                SpringbackFrom::None => "not known",
                SpringbackFrom::Given | SpringbackFrom::Measured => "given without a record",
            };
            format!("{} ({why})", job.bender.dies[*die].name)
        })
        .collect();
    let dies = format!("{} {}", if dies.len() == 1 { "the die" } else { "the dies" }, dies.join(", "));
    let lengths: Vec<String> = pieces.iter().map(|piece| people.length(piece.length)).collect();
    let of = format!("{} {}", lengths.join(", "), people.unit());
    let in_one = pieces.iter().map(|piece| piece.length).sum::<Length>() + kerf * (pieces.len() as f64 - 1.0);
    let advice = "`tubewright calibrate --suggest` says how they are made";
    if short {
        let text = format!(
            "no springback was measured for {dies}, and no stock is left for its test bends: they take pieces of {of}, or {} in one; {advice}",
            people.length_with_unit(in_one)
        );
        return note("test-bends-short", text);
    }
    let cost = if more > Length::ZERO {
        format!("they make {} more to be bought (--no-test-bends leaves them out)", people.length_with_unit(more))
    } else {
        "they cost no bar more".to_owned()
    };
    note(
        "test-bends",
        format!("no springback was measured for {dies}: pieces of {of} are kept for test bends; {cost}; {advice}"),
    )
}
