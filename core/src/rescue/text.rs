//! What was got, as it is written: `1A angle=88 slip=2 roll=1, 2A`.
//!
//! ```text
//! done  = entry { "," entry }
//! entry = bend lead { key "=" value }     key: angle, slip, roll; each once
//! ```
//!
//! What is not given came out as planned.

use super::Done;
use crate::centreline::STRAIGHT_THROUGH;
use crate::order::{Order, OrderMistake, Turn};
use crate::units::{self, Angle, Length, LengthUnit};

/// Why a text of what was done cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DoneMistake {
    /// No bend at all.
    #[error("no bend is named: write for example `1A angle=88`")]
    Nothing,
    /// An entry that is empty, or does not begin with a bend.
    #[error("entry {entry}: {mistake}")]
    Bend {
        /// Which entry, from 1.
        entry: usize,
        /// What is wrong with its bend.
        mistake: OrderMistake,
    },
    /// A bend that is not the next of the order.
    #[error(
        "entry {entry}: `{found}` is not what the order begins with, `{order}`: bends are named in the order in which they were made; \
             where another was followed, give it whole with --order"
    )]
    NotNext {
        /// Which entry, from 1.
        entry: usize,
        /// What is there.
        found: Turn,
        /// The whole order.
        order: Order,
    },
    /// A word that is no figure.
    #[error(
        "entry {entry}, `{word}`: after the bend come `angle=`, `slip=` and `roll=`, each at most once and with its figure"
    )]
    Word {
        /// Which entry, from 1.
        entry: usize,
        /// The word.
        word: String,
    },
    /// A figure that cannot be read.
    #[error("entry {entry}, `{key}={value}`: {reason}")]
    Figure {
        /// Which entry, from 1.
        entry: usize,
        /// What it is of.
        key: &'static str,
        /// As written.
        value: String,
        /// What is wrong.
        reason: String,
    },
}

/// What may be said of a bend.
const KEYS: [&str; 3] = ["angle", "slip", "roll"];

/// Reads what was done: the turns are the first of `order`. `planned` gives the bend angle of a bend, for those that came out as planned.
pub(super) fn parse(
    text: &str,
    order: &Order,
    bends: usize,
    unit: LengthUnit,
    planned: &dyn Fn(Turn) -> Angle,
) -> Result<Vec<Done>, DoneMistake> {
    if text.trim().is_empty() {
        return Err(DoneMistake::Nothing);
    }
    let mut all: Vec<Done> = Vec::new();
    for (place, entry) in text.split(',').enumerate() {
        let number = place + 1;
        let mut words = entry.split_whitespace();
        let bend = |mistake| DoneMistake::Bend { entry: number, mistake };
        let turn = Order::turn(words.next().unwrap_or_default(), bends).map_err(bend)?;
        if all.iter().any(|done| done.turn.bend == turn.bend) {
            return Err(bend(OrderMistake::Twice { number: turn.bend.number() }));
        }
        if order.0.get(place) != Some(&turn) {
            return Err(DoneMistake::NotNext { entry: number, found: turn, order: order.clone() });
        }
        let mut figures: Vec<(&'static str, String)> = Vec::new();
        for word in words {
            let split = word.split_once('=');
            let key = split.and_then(|(key, _)| KEYS.into_iter().find(|known| *known == key));
            match (split, key) {
                (Some((_, value)), Some(key)) if figures.iter().all(|(other, _)| *other != key) => {
                    figures.push((key, value.to_owned()));
                }
                // A length may go on after a space: `slip=1 1/2`, `slip=2 mm`.
                (None, _) if !figures.is_empty() => {
                    figures.iter_mut().next_back().into_iter().for_each(|(_, value)| {
                        value.push(' ');
                        value.push_str(word);
                    })
                }
                _ => return Err(DoneMistake::Word { entry: number, word: word.to_owned() }),
            }
        }
        let mut done = Done { turn, angle: planned(turn), slip: Length::ZERO, roll: Angle::ZERO };
        for (key, value) in figures {
            let refuse = |reason: String| DoneMistake::Figure { entry: number, key, value: value.clone(), reason };
            match key {
                "slip" => done.slip = units::length(&value, unit).map_err(|refusal| refuse(refusal.to_string()))?,
                _ => {
                    let degrees = Angle::deg(
                        units::number(&value)
                            .map_err(|refusal| refuse(format!("{refusal}; degrees, without a unit")))?,
                    );
                    if key == "roll" {
                        if degrees.abs() > Angle::deg(180.0) {
                            return Err(refuse("a roll is at most half a turn either way".to_owned()));
                        }
                        done.roll = degrees;
                    } else if degrees < STRAIGHT_THROUGH || degrees >= Angle::deg(360.0) {
                        let reason = "a bend angle after release lies above 0 and below 360 degrees; leave out a bend that is not made yet";
                        return Err(refuse(reason.to_owned()));
                    } else {
                        done.angle = degrees;
                    }
                }
            }
        }
        all.push(done);
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Vec<Done>, DoneMistake> {
        let order = Order::parse("1A 2A 3B", 3).unwrap();
        parse(text, &order, 3, LengthUnit::Inch, &|_| Angle::deg(90.0))
    }

    #[test]
    fn figures_are_read_and_what_is_not_given_came_out_as_planned() {
        let done = read("1A angle=88 slip=1 1/2 roll=-1,2a slip=2 mm").unwrap();
        assert_eq!(done.len(), 2);
        assert!((done[0].angle.to_deg() - 88.0).abs() < 1e-12 && (done[0].roll.to_deg() + 1.0).abs() < 1e-12);
        assert!((done[0].slip.to_mm() - 38.1).abs() < 1e-12 && (done[1].slip.to_mm() - 2.0).abs() < 1e-12);
        assert!((done[1].angle.to_deg() - 90.0).abs() < 1e-12);
    }

    #[test]
    fn every_refusal_names_the_entry_and_what_is_wrong() {
        for (text, parts) in [
            ("", &["no bend"][..]),
            ("1A,,2A", &["entry 2", "``"]),
            ("4A", &["entry 1", "no bend 4"]),
            ("1A, 1A", &["entry 2", "twice"]),
            ("2A", &["entry 1", "`2A`", "1A 2A 3B"]),
            ("1B", &["`1B`", "1A 2A 3B"]),
            ("1A, 2A, 3A", &["entry 3", "`3A`"]),
            ("angle=88", &["entry 1", "angle=88"]),
            ("1A angle=", &["entry 1", "angle="]),
            ("1A angle=88mm", &["angle=88mm"]),
            ("1A angle=-3", &["angle=-3", "above 0"]),
            ("1A angle=0", &["angle=0"]),
            ("1A angle=nan", &["angle=nan"]),
            ("1A angle=400", &["below 360"]),
            ("1A roll=270", &["roll=270", "half a turn"]),
            ("1A twist=3", &["twist=3", "`angle=`"]),
            ("1A 88", &["`88`"]),
            ("1A angle=88 angle=89", &["angle=89"]),
            ("1A slip=two", &["slip=two"]),
            ("1A slip=1/0", &["slip=1/0"]),
        ] {
            let said = read(text).unwrap_err().to_string();
            assert!(parts.iter().all(|part| said.contains(part)), "{text}: {said}");
        }
    }
}
