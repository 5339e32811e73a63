//! In words: what was misread, what is not told and what it takes, and what checks nothing.

use super::{Checked, Record, Survey, What, Why};
use crate::plan::Note;
use crate::round::People;
use crate::units::{Angle, Length};

/// Readings and points that are named before the rest is counted.
const NAMED: usize = 8;

/// A frame that leans from the plumb line by less than this is called plumb: what a level on a short beam shows.
const LEANS: Angle = Angle::deg(0.1);

/// As does one that leans by less than so many of its standard deviations.
const LEANS_FOR_SURE: f64 = 3.0;

impl Checked {
    /// What was measured, in words.
    #[must_use]
    pub fn words(&self, record: &Record) -> String {
        let name = |point: usize| format!("`{}`", record.points[point]);
        let (from, to) = (name(self.from), self.to.map_or_else(String::new, name));
        match self.what {
            What::Distance => format!("{from} to {to}"),
            What::Drop => format!("the drop from {from} to {to}"),
            What::Plumb => format!("{to} under {from}"),
            What::Height => format!("the height of {from}"),
            What::Line => format!("{from} on its line"),
            What::Plane => format!("{from} in its plane"),
            What::Symmetric => format!("{to} as the image of {from}"),
        }
    }
}

impl Survey {
    /// All notes of a survey, most important first, with figures in the units asked for.
    #[must_use]
    pub fn notes(&self, record: &Record, people: &People) -> Vec<Note> {
        let words = Words { told: self, record, people };
        let mut all = Vec::new();
        all.extend(words.misread());
        all.extend(words.disagrees());
        all.extend(words.undetermined());
        all.extend(words.two_places());
        all.extend(words.hand_not_told());
        all.extend(words.found_once());
        all.extend(words.nothing_checked());
        all.extend(words.unchecked());
        all.extend(words.leans());
        all
    }

    /// What one more measurement is good for, in words, with figures in the units asked for; one for each of [`Survey::suggest`].
    #[must_use]
    pub fn suggestions(&self, record: &Record, people: &People) -> Vec<String> {
        let words = Words { told: self, record, people };
        self.suggest.iter().map(|suggestion| words.suggestion(suggestion)).collect()
    }
}

struct Words<'a> {
    told: &'a Survey,
    record: &'a Record,
    people: &'a People,
}

fn note(code: &'static str, text: String) -> Note {
    Note { code, text }
}

impl Words<'_> {
    fn name(&self, point: usize) -> String {
        format!("`{}`", self.record.points[point])
    }

    /// The first few of a list, and how many more there are.
    fn few(all: &[String]) -> String {
        let named = all.iter().take(NAMED).cloned().collect::<Vec<_>>().join(", ");
        let more = all.len().saturating_sub(NAMED);
        if more == 0 { named } else { format!("{named} and {more} more") }
    }

    /// "20.4 mm too long".
    fn off(&self, what: What, by: Length) -> String {
        let figure = self.people.figure(by.abs());
        match what {
            What::Distance | What::Drop if by > Length::ZERO => format!("{figure} too long"),
            What::Distance | What::Drop => format!("{figure} too short"),
            What::Height if by > Length::ZERO => format!("{figure} too high"),
            What::Height => format!("{figure} too low"),
            What::Plumb | What::Line | What::Plane | What::Symmetric => format!("{figure} off"),
        }
    }

    fn misread(&self) -> Option<Note> {
        let told = self.told;
        if let Some(sure) = told.sure() {
            let reading = &told.readings[sure.reading];
            return Some(note(
                "misread",
                format!(
                    "{} was misread: it is {} by what the others say, and no other single reading explains it. It is left out of the \
                     coordinates; take it again",
                    reading.words(self.record),
                    self.off(reading.what, sure.by)
                ),
            ));
        }
        let suspect = |misread: &super::Misread| {
            let reading = &told.readings[misread.reading];
            format!("{} ({})", reading.words(self.record), self.off(reading.what, misread.by))
        };
        let suspects: Vec<String> = told.misread.iter().map(suspect).collect();
        let why = match told.freedom {
            _ if suspects.is_empty() => return None,
            1 => {
                "there is one redundant reading only, and it shows that something is wrong, not what: one more diagonal would tell"
            }
            _ => "more than one of them explains it, or no single one does",
        };
        Some(note(
            "misread-unsure",
            format!(
                "the readings contradict each other, and it cannot be told which of these was misread: {}; {why}. All of them count in the \
                 coordinates; take them again",
                Self::few(&suspects)
            ),
        ))
    }

    fn disagrees(&self) -> Option<Note> {
        (!self.told.agrees() && self.told.misread.is_empty()).then(|| {
            note(
                "disagrees",
                "the readings differ from each other more than their accuracy explains, and none of them stands out: the tape is less accurate \
                 than stated, or something moved"
                    .to_owned(),
            )
        })
    }

    fn undetermined(&self) -> Option<Note> {
        let told = self.told;
        let twice = |point: &usize| told.two_places.iter().any(|(twice, _)| twice == point);
        let open: Vec<String> = told
            .undetermined
            .iter()
            .filter(|point| !twice(point))
            .map(|point| {
                let axes = ["x", "y", "z"];
                let missing = axes.iter().zip(told.points[*point].at).filter(|(_, at)| at.is_none());
                let missing: Vec<&str> = missing.map(|(axis, _)| *axis).collect();
                format!("{} ({})", self.name(*point), missing.join(", "))
            })
            .collect();
        if open.is_empty() || !told.hand_told {
            return None;
        }
        let help = if told.suggest.iter().any(|suggestion| suggestion.why == Why::Tells) {
            "more tapes are missing"
        } else if self.record.is_flat() {
            "tapes between points that lie on one line say nothing across it: it takes a tape to a point off the line"
        } else {
            "tapes between points that lie in one plane say nothing across it: it takes a tape to a point off the plane, a plumb drop, heights \
             over a level line, or `flat: true` where all of it lies in one plane"
        };
        Some(note("undetermined", format!("not told: {}; {help}", Self::few(&open))))
    }

    fn two_places(&self) -> Option<Note> {
        let told = self.told;
        let named: Vec<String> = told.two_places.iter().map(|(point, _)| self.name(*point)).collect();
        (!named.is_empty()).then(|| {
            note(
                "two-places",
                format!(
                    "two places fit as well for {}: on either side of what they are taped to. One more tape tells, or where they lie by eye, \
                     under `about`",
                    Self::few(&named)
                ),
            )
        })
    }

    fn hand_not_told(&self) -> Option<Note> {
        let up = self.record.frame.up.filter(|_| !self.told.hand_told)?;
        Some(note(
            "hand-not-told",
            format!(
                "{} lies in the plane of the frame as well as the tape can tell, so it does not fix the hand: no z is told. Name a point under \
                 `up` that stands well off that plane",
                self.name(up)
            ),
        ))
    }

    fn found_once(&self) -> Option<Note> {
        self.told.found_once.then(|| {
            note(
                "found-once",
                "of many guesses only one led to these places: they may not be the best. Say where some points lie by eye, under `about`"
                    .to_owned(),
            )
        })
    }

    fn nothing_checked(&self) -> Option<Note> {
        (self.told.freedom == 0).then(|| {
            note(
                "nothing-checked",
                "there are just as many readings as it takes: a misread one would not show. Tape one or two more diagonals".to_owned(),
            )
        })
    }

    fn unchecked(&self) -> Option<Note> {
        let told = self.told;
        let open = told.readings.iter().filter(|reading| reading.standardised.is_none());
        let named: Vec<String> = open.map(|reading| reading.words(self.record)).collect();
        (told.freedom > 0 && !named.is_empty()).then(|| {
            note(
                "unchecked",
                format!("nothing checks these, so that a misread one would not show: {}", Self::few(&named)),
            )
        })
    }

    fn leans(&self) -> Option<Note> {
        let up = self.told.up.filter(|_| !self.record.is_flat())?;
        let angle = Angle::rad(libm::atan2(libm::hypot(up.x, up.y), up.z));
        let by_chance = Angle::rad(LEANS_FOR_SURE * self.told.up_sd.map_or(0.0, Angle::to_rad));
        (angle > LEANS && angle > by_chance).then(|| {
            note(
                "leans",
                format!(
                    "z of the frame leans {} degrees from the plumb line: x, y and z are those of the frame",
                    self.people.angle(angle)
                ),
            )
        })
    }

    fn suggestion(&self, suggestion: &super::Suggestion) -> String {
        let (from, to) = (&self.record.points[suggestion.from], &self.record.points[suggestion.to]);
        match suggestion.why {
            Why::Tells => format!("one more tape: {from} to {to}: it tells some of what is not told now"),
            Why::Which(here, there) => format!(
                "one more tape: {from} to {to}: about {} says that the one place is right, about {} the other",
                self.people.length_with_unit(here),
                self.people.length_with_unit(there)
            ),
            Why::Again => format!("once more: {from} to {to}: it is one of those that may be misread"),
            Why::Sharpens(point, before, after) => format!(
                "one more diagonal: {from} to {to}: the point told worst, {}, lies within {} now 95 times in 100; with it no point is told worse than \
                 within {}",
                self.record.points[point],
                self.people.figure(before),
                self.people.figure(after)
            ),
        }
    }
}
