//! Notes and slips in words: what was not measured and what would tell it, what contradicts itself, what was assumed, what to keep for the calibration.

use core::fmt::Write as _;

use super::{Inspection, Measurement, OUTLIER, Part, Slip};
use crate::plan::Note;
use crate::round::{People, dial};
use crate::units::{Angle, Length};

/// A sum of squares further above its expectation than one record in a thousand is.
const TOO_FAR: f64 = 3.09;

/// An angle that is off by more than this, and is nearly what is missing to half a turn, is an included angle.
const INCLUDED: (Angle, Angle) = (Angle::deg(20.0), Angle::deg(10.0));

/// A reading that the dial's step rounds by less than this is the plan's own, whoever reads it.
const ROUNDED: Angle = Angle::deg(0.05);

impl Measurement {
    /// What sort of measurement it is, in a word of the record.
    #[must_use]
    pub const fn sort(&self) -> &'static str {
        match self {
            Self::Node { .. } => "node",
            Self::Leg { .. } => "leg",
            Self::Bend { .. } => "bend",
            Self::Rotation { .. } => "rotation",
            Self::Distance { .. } => "distance",
            Self::Touched { .. } => "touched",
            Self::Lying { .. } => "lying",
        }
    }
}

impl Part {
    /// What a measurement is called.
    #[must_use]
    pub fn words(&self, measurement: &Measurement) -> String {
        match measurement {
            Measurement::Node { node, .. } => format!("node {}", self.nodes[*node]),
            Measurement::Leg { leg, .. } => format!("leg {}", leg + 1),
            Measurement::Bend { bend, .. } => format!("bend {}", bend.number()),
            Measurement::Rotation { bend, .. } => format!("the rotation before bend {}", bend.number()),
            Measurement::Distance { from, to, .. } => {
                format!("the distance from {} to {}", self.nodes[*from], self.nodes[*to])
            }
            Measurement::Touched { leg, .. } => {
                let of_leg = |other: &&Measurement| matches!(other, Measurement::Touched { leg: on, .. } if on == leg);
                let place = self.measured.iter().filter(of_leg).position(|other| other == measurement);
                format!("point {} touched on leg {}", place.unwrap_or_default() + 1, leg + 1)
            }
            Measurement::Lying { node, .. } => format!("the height of {}", self.nodes[*node]),
        }
    }

    /// The bend before a leg and the one after it.
    fn beside(&self, leg: usize) -> impl Iterator<Item = usize> {
        [leg.checked_sub(1), (leg < self.bends()).then_some(leg)].into_iter().flatten()
    }
}

fn note(code: &'static str, text: String) -> Note {
    Note { code, text }
}

/// Things with commas between, and an `and` before the last.
fn listed(things: &[String]) -> String {
    match things {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

impl Inspection {
    /// The slips in words, the surest first.
    #[must_use]
    pub fn slip_words(&self, part: &Part, people: &People) -> Vec<(&'static str, String)> {
        let words = |(place, slip): (usize, &Slip)| {
            let measurement = &part.measured[slip.measurement];
            let by = match measurement {
                Measurement::Bend { .. } | Measurement::Rotation { .. } => {
                    format!("{} degrees", people.signed_angle(Angle::rad(slip.by)))
                }
                Measurement::Node { .. } => people.figure(Length::mm(slip.by)),
                _ => people.signed_figure(Length::mm(slip.by)),
            };
            let what = part.words(measurement);
            let way_out = match (place, self.slips.len()) {
                (0, 1) => "; measure it again",
                (0, _) => "; measure it again first: one wrong figure pulls at the others",
                _ => "; look at it when those before are put right",
            };
            let text = format!(
                "{what} is {by} off what the rest makes of it, {:.1} standard deviations{way_out}",
                slip.standardised
            );
            (measurement.sort(), text)
        };
        self.slips.iter().enumerate().map(words).collect()
    }

    /// All notes, most important first, with figures in the units asked for.
    #[must_use]
    pub fn notes(&self, part: &Part, people: &People) -> Vec<Note> {
        let words = Words { told: self, part, people };
        let mut all = Vec::new();
        all.extend(words.wrong_hand());
        all.extend(words.included());
        all.extend(words.not_measured());
        all.extend(words.not_laid());
        all.extend(words.hand_unknown());
        all.extend(words.accuracy());
        all.extend(words.scatter());
        all.extend(words.unchecked());
        all.extend(words.no_room());
        all.extend(words.no_tolerance());
        all.extend(words.no_order());
        all.extend(words.change_nothing());
        all.extend(words.readings());
        all.extend(words.test_bends());
        all
    }
}

struct Words<'a> {
    told: &'a Inspection,
    part: &'a Part,
    people: &'a People,
}

impl Words<'_> {
    fn wrong_hand(&self) -> Option<Note> {
        self.told.wrong_hand.then(|| {
            note(
                "wrong-hand",
                "it is the mirror part: the rotations go the other way round. Turning it over or end for end does not mend that; the next piece is \
                 turned the other way"
                    .to_owned(),
            )
        })
    }

    /// Angles that look like the included ones.
    fn included(&self) -> Vec<Note> {
        let Some(wanted) = &self.part.wanted else { return Vec::new() };
        let rows = &wanted.tube().centreline.rows.bends;
        let looks = |(place, row): (usize, &crate::centreline::Row)| {
            let found = self.part.measured.iter().find_map(|measurement| match measurement {
                Measurement::Bend { bend, angle } if bend.0 == place => Some(*angle),
                _ => None,
            })?;
            let included = Angle::deg(180.0) - row.angle;
            ((found - row.angle).abs() > INCLUDED.0 && (found - included).abs() < INCLUDED.1).then(|| {
                note(
                    "included-angle",
                    format!(
                        "bend {}: {} degrees look like the included angle; the bend angle, how far the tube turns, is 180 less that",
                        place + 1,
                        self.people.angle(found)
                    ),
                )
            })
        };
        rows.iter().enumerate().filter_map(looks).collect()
    }

    /// What is not told, and which measurement would tell it.
    fn not_measured(&self) -> Vec<Note> {
        let (told, part) = (self.told, self.part);
        let mut all = Vec::new();
        let missing = |what: &dyn Fn(usize) -> bool| -> Vec<String> {
            (0..part.bends()).filter(|bend| what(*bend)).map(|bend| (bend + 1).to_string()).collect()
        };
        let angles = missing(&|bend| told.rows[bend].angle.is_none());
        let several = |what: &[String]| if what.len() == 1 { "" } else { "s" };
        if !angles.is_empty() {
            all.push(note(
                "not-measured",
                format!(
                    "not measured: the angle of bend{} {}; an angle gauge on the straights beside it tells (`bends`)",
                    several(&angles),
                    listed(&angles)
                ),
            ));
        }
        let rotations = missing(&|bend| bend > 0 && told.rows[bend].rotation.is_none());
        if !rotations.is_empty() {
            all.push(note(
                "not-measured",
                format!(
                    "not measured: the rotation before bend{} {}; lay the part flat on a bench on the bend before and measure how high the next corner or \
                     end stands (`lying`), or give `rotations`",
                    several(&rotations),
                    listed(&rotations)
                ),
            ));
        }
        // A straight follows from its leg and the angles beside it.
        let straights = (0..=part.bends()).filter(|leg| {
            let straight = if *leg < part.bends() { told.rows[*leg].length } else { told.last };
            straight.is_none()
        });
        let (legs, by_angle): (Vec<usize>, Vec<usize>) = straights.partition(|leg| told.legs[*leg].is_none());
        let number = |leg: &usize| (leg + 1).to_string();
        let by_angle: Vec<String> = by_angle
            .iter()
            .filter(|leg| part.beside(**leg).all(|bend| told.rows[bend].angle.is_some()))
            .map(number)
            .collect();
        let legs: Vec<String> = legs.iter().map(number).collect();
        if !legs.is_empty() {
            all.push(note(
                "not-measured",
                format!(
                    "not measured: the length of leg{} {}; tape from corner to corner, or to the end, over the outside (`legs`, `measured: outside`)",
                    several(&legs),
                    listed(&legs)
                ),
            ));
        }
        if !by_angle.is_empty() {
            all.push(note(
                "not-measured",
                format!("not measured: the straight of leg{} {}", several(&by_angle), listed(&by_angle)),
            ));
        }
        let wanted = part.wanted.as_ref().map(|wanted| &wanted.tube().centreline.nodes);
        let nodes = (0..part.nodes.len())
            .filter(|node| told.nodes[*node].is_none() && wanted.is_none_or(|wanted| wanted[*node].is_some()));
        let nodes: Vec<String> = nodes.map(|node| part.nodes[node].clone()).collect();
        if !nodes.is_empty() && nodes.len() < part.nodes.len() && self.part.wanted.is_some() {
            all.push(note(
                "node-unknown",
                format!(
                    "the place of {} against the rest is not known without that, and is left out of the comparison",
                    listed(&nodes)
                ),
            ));
        }
        all
    }

    fn not_laid(&self) -> Option<Note> {
        let wanted = self.part.wanted.as_ref()?;
        if self.told.rms.is_some() {
            return None;
        }
        let text = if wanted.tube().centreline.rows.bends.is_empty() {
            "a straight tube fits its place at any roll: its nodes are not compared, its length is"
        } else {
            "fewer than three nodes, not in one line, are known to each other: the part cannot be laid on the wanted shape, and no node be called off its place"
        };
        Some(note("not-laid", text.to_owned()))
    }

    fn hand_unknown(&self) -> Option<Note> {
        (self.told.hand_unknown && self.part.wanted.is_some()).then(|| {
            note(
                "hand-unknown",
                "the measurements fit the mirror part as well: no taped distance tells the hand, and it is taken for the right one. Lay it flat on bend 1, end A \
                 left, opening toward you, and give how high end B stands (`lying`)"
                    .to_owned(),
            )
        })
    }

    fn accuracy(&self) -> Option<Note> {
        let accuracy = self.part.accuracy;
        let missing = match (accuracy.length, accuracy.angle) {
            (None, None) => "`length` and `angle` are",
            (None, _) => "`length` is",
            (_, None) => "`angle` is",
            _ => return None,
        };
        Some(note(
            "accuracy-unknown",
            format!(
                "under `accuracy`, {missing} not given: 1 mm and 1 degree count alike, no measurement is called a slip, and what only scatters is not told from what to \
                 change"
            ),
        ))
    }

    /// Squares that are too large by Wilson and Hilferty's figure (Proc. Natl. Acad. Sci. 17 (1931) 684, from memory), with no single slip to blame.
    fn scatter(&self) -> Option<Note> {
        let (squares, freedom) = self.told.squares;
        let known = self.part.accuracy.length.is_some() && self.part.accuracy.angle.is_some();
        if freedom == 0 || !known || !self.told.slips.is_empty() {
            return None;
        }
        let count = freedom as f64;
        let spread = 2.0 / (9.0 * count);
        let excess = (libm::cbrt(squares / count) - (1.0 - spread)) / spread.sqrt();
        (excess > TOO_FAR).then(|| {
            note(
                "scatter",
                format!(
                    "the measurements differ from each other {:.1} times as much as the stated accuracy explains: a figure is wrong, or `accuracy` is too good",
                    (squares / count).sqrt()
                ),
            )
        })
    }

    fn unchecked(&self) -> Option<Note> {
        let (all, unchecked) = (self.part.measured.len(), self.told.unchecked.len());
        let text = if unchecked == all {
            "nothing was measured twice over: a slip of the tape would not show. One more distance across the part, end to end, checks".to_owned()
        } else if unchecked > 0 {
            let which: Vec<String> =
                self.told.unchecked.iter().take(6).map(|place| self.part.words(&self.part.measured[*place])).collect();
            let more = if unchecked > 6 { format!(" and {} more", unchecked - 6) } else { String::new() };
            let which = if more.is_empty() { listed(&which) } else { which.join(", ") };
            format!("nothing checks {which}{more}: a slip there would not show")
        } else {
            return None;
        };
        Some(note("unchecked", text))
    }

    /// Straights that are below nothing: another radius, or a slip.
    fn no_room(&self) -> Vec<Note> {
        let straights = self.told.rows.iter().map(|row| row.length).chain([self.told.last]);
        straights
            .enumerate()
            .filter_map(|(leg, length)| {
                let length = length?.value;
                let most = self.part.accuracy.length.unwrap_or_default() * OUTLIER;
                (length < -most - Length::mm(1e-6)).then(|| {
                    note(
                        "straight-below-zero",
                        format!(
                            "leg {}: the straight between its bends comes out {} long: the bends are tighter than they are taken for, or a measurement is wrong",
                            leg + 1,
                            self.people.figure(length)
                        ),
                    )
                })
            })
            .collect()
    }

    fn no_tolerance(&self) -> Option<Note> {
        let wanted = self.part.wanted.as_ref()?;
        wanted.tube().tolerance.is_none().then(|| {
            note(
                "no-tolerance",
                "the job gives this tube no `tolerance`: whether it is good enough is yours to say".to_owned(),
            )
        })
    }

    fn no_order(&self) -> Option<Note> {
        self.told.no_order.then(|| {
            note(
                "no-order",
                "the plan finds no order for this tube: write how it was bent, `order: \"1A 2A\"`, for the next piece"
                    .to_owned(),
            )
        })
    }

    fn change_nothing(&self) -> Option<Note> {
        (self.told.worth_changing == Some(false)).then(|| {
            note(
                "change-nothing",
                "change nothing: every deviation that was measured is within twice what scatters from one tube to the next, and taking it back would only add to that"
                    .to_owned(),
            )
        })
    }

    /// Readings taken for the plan's own, which a card shows rounded down.
    fn readings(&self) -> Option<Note> {
        let pointer = self.part.wanted.as_ref()?.job.bender.pointer;
        let assumed: Vec<String> = self
            .told
            .next
            .iter()
            .filter(|next| next.dial_target.is_some() && !self.part.bent.readings.contains_key(&next.bend.number()))
            .filter(|next| next.used.2 - dial(next.used.2, pointer.step) > ROUNDED)
            .map(|next| format!("{}: {}", next.bend.number(), self.people.dial(next.used.2, pointer.step)))
            .collect();
        (!assumed.is_empty()).then(|| {
            note(
                "readings-assumed",
                format!(
                    "it is taken for bent to the plan's readings to the hundredth of a degree; if it was stopped where the card says, write `readings: {{ {} }}`",
                    assumed.join(", ")
                ),
            )
        })
    }

    /// Lines for the record of test bends, one note for each die.
    fn test_bends(&self) -> Vec<Note> {
        let Some(wanted) = &self.part.wanted else { return Vec::new() };
        let tube = wanted.tube();
        let mut dies: Vec<(usize, String)> = Vec::new();
        for next in &self.told.next {
            let Some(angle) = self.told.bend(next.bend) else { continue };
            let die = tube.dies[next.bend.0];
            let line = format!("- {{ reading: {:.2}, angle: {:.2} }}", next.used.2.to_deg(), angle.to_deg());
            match dies.iter_mut().find(|(of, _)| *of == die) {
                Some((_, lines)) => {
                    let _ = write!(lines, "\n{line}");
                }
                None => dies.push((die, line)),
            }
        }
        let material = tube.stock.material.as_deref().unwrap_or("of this material");
        dies.into_iter()
            .map(|(die, lines)| {
                note(
                    "test-bends",
                    format!(
                        "for the record of test bends of {material} in die {}, where the readings are those it was bent to:\n{lines}",
                        wanted.job.bender.dies[die].name
                    ),
                )
            })
            .collect()
    }
}
