//! Notes: what the record cannot tell and what is missing for it, what contradicts itself, and how far the figures reach.

use super::{Calibration, Figure, OUTLIER, Record, WELL_APART};
use crate::plan::Note;
use crate::round::People;
use crate::units::{Angle, Length};

/// An effective CLR that is off the die's by this part is seldom the die (common practice, no source).
const CLR_OFF: f64 = 0.15;

/// Diameters within this are one: a hundredth of what a caliper shows.
const SAME_OD: Length = Length::mm(1e-4);

impl Calibration {
    /// All notes of a record, most important first, with figures in the units asked for.
    #[must_use]
    pub fn notes(&self, record: &Record, people: &People) -> Vec<Note> {
        let words = Words { told: self, record, people };
        let mut all = Vec::new();
        all.extend(words.accuracy());
        all.extend(words.outliers());
        all.extend(words.scatter());
        all.extend(words.one_angle());
        all.extend(words.small_bend());
        all.extend(words.lengths_at());
        all.extend(words.not_measured());
        all.extend(words.formed_radius());
        all.extend(words.clr_off());
        all.extend(words.od_differs());
        all.extend(words.extrapolated());
        all
    }

    /// How far the sum of squares lies above what is expected of it: the size of a standard normal figure, by Wilson and Hilferty (Proc. Natl.
    /// Acad. Sci. 17 (1931) 684, from memory). `None` where nothing is checked, or no accuracy is known.
    #[must_use]
    pub fn excess(&self) -> Option<f64> {
        let squares = self.squares.filter(|_| self.freedom > 0)?;
        let freedom = self.freedom as f64;
        let spread = 2.0 / (9.0 * freedom);
        Some((libm::cbrt(squares / freedom) - (1.0 - spread)) / spread.sqrt())
    }
}

/// A sum of squares further above its expectation than one record in a thousand is.
const TOO_FAR: f64 = 3.09;

struct Words<'a> {
    told: &'a Calibration,
    record: &'a Record,
    people: &'a People,
}

fn note(code: &'static str, text: String) -> Note {
    Note { code, text }
}

impl Words<'_> {
    fn degrees(&self, figure: &Figure<Angle>) -> String {
        self.with(
            format!("{} degrees", self.people.fine_angle(figure.value)),
            figure.sd.map(|sd| self.people.fine_angle(sd)),
        )
    }

    fn length(&self, figure: &Figure<Length>) -> String {
        self.with(self.people.figure(figure.value), figure.sd.map(|sd| self.people.figure(sd)))
    }

    fn with(&self, value: String, sd: Option<String>) -> String {
        sd.map_or_else(|| value.clone(), |sd| format!("{value} (standard deviation {sd})"))
    }

    fn has_lengths(&self) -> bool {
        self.record.bends.iter().any(|bend| bend.tells_length())
    }

    fn accuracy(&self) -> Option<Note> {
        let accuracy = &self.record.accuracy;
        let lengths = self.has_lengths();
        let missing = match (accuracy.angle, accuracy.length) {
            (None, None) if lengths => "`angle` and `length` are",
            (None, _) => "`angle` is",
            (_, None) if lengths => "`length` is",
            _ => return None,
        };
        let what = match (accuracy.angle, lengths) {
            (None, true) => "no standard deviation can be told, no bend be called an outlier",
            (None, false) => "how good the springback is cannot be told, and no bend be called an outlier",
            _ => "how good the figures from lengths are cannot be told",
        };
        Some(note(
            "accuracy-unknown",
            format!("under `accuracy`, {missing} not given: {what}, and all bends count alike"),
        ))
    }

    fn outliers(&self) -> Vec<Note> {
        let first = self.told.furthest_off();
        let off = self.told.bends.iter().enumerate().filter(|(_, bend)| bend.is_outlier());
        let mut all: Vec<_> = off.collect();
        all.sort_by(|one, other| other.1.largest().total_cmp(&one.1.largest()));
        all.into_iter()
            .map(|(place, bend)| {
                let sorts = [("angle", bend.angle), ("blank", bend.blank), ("mark", bend.mark)];
                let off =
                    sorts.iter().filter_map(|(what, by)| Some((*what, (*by)?))).filter(|(_, by)| by.abs() > OUTLIER);
                let off: Vec<String> = off.map(|(what, by)| format!("{what} by {by:.1}")).collect();
                let way_out = if Some(place) == first {
                    ": measure it again first, or bend another; one wrong figure pulls at the others"
                } else {
                    ""
                };
                let number = place + 1;
                note("outlier", format!("bend {number} is off: {} standard deviations{way_out}", off.join(", ")))
            })
            .collect()
    }

    fn scatter(&self) -> Option<Note> {
        let excess = self.told.excess()?;
        let factor = (self.told.squares? / self.told.freedom as f64).sqrt();
        (excess > TOO_FAR).then(|| {
            note(
                "scatter",
                format!(
                    "the bends differ from each other {factor:.1} times as much as the stated accuracy explains: the standard deviations here \
                     are too small by as much, or a figure is wrong"
                ),
            )
        })
    }

    fn one_angle(&self) -> Option<Note> {
        let at = self.told.springback_at?;
        let (low, high) = self.told.good_for()?;
        Some(note(
            "one-angle",
            format!(
                "all bends with a reading are at one angle: {} of springback at {}, good from {} to {} degrees. How it grows with the angle is \
                 told by another test bend, {:.0} degrees or more away",
                self.degrees(&at.springback),
                self.people.angle(at.angle),
                self.people.near(low),
                self.people.near(high),
                WELL_APART.to_deg(),
            ),
        ))
    }

    fn small_bend(&self) -> Option<Note> {
        self.told.small_bends.then(|| {
            note(
                "small-bend",
                format!(
                    "legs were measured of bends under {:.0} degrees only: the effective CLR and the stretch cannot be told from them, since a \
                     little on the tape is much on the radius. Measure a bend of 90 degrees or more",
                    super::SMALL_BEND.to_deg()
                ),
            )
        })
    }

    fn lengths_at(&self) -> Option<Note> {
        let at = self.told.lengths_at.filter(|_| !self.told.small_bends)?;
        let angle = self.people.angle(at.angle);
        let mut parts = Vec::new();
        if let Some(gain) = at.gain {
            parts.push(format!("its legs add up to {} more than its blank", self.length(&gain)));
        }
        if let Some(reach) = at.mark_to_corner {
            parts.push(format!("its corner lies {} from its mark", self.length(&reach)));
        }
        let known = if parts.is_empty() {
            String::new()
        } else {
            format!(": for one of {angle} degrees {}", parts.join(", and "))
        };
        Some(note(
            "lengths-at-one-angle",
            format!(
                "lengths were measured of bends at one angle only{known}. CLR, stretch and mark offset are told apart by legs, blank and mark \
                 of another bend, {:.0} degrees or more away",
                WELL_APART.to_deg()
            ),
        ))
    }

    /// What is not told, and what it takes, where no other note has said so.
    fn not_measured(&self) -> Vec<Note> {
        let told = self.told;
        let mut all = Vec::new();
        if told.constant.is_none() && told.springback_at.is_none() {
            all.push("springback: no bend has a `reading` beside its `angle`".to_owned());
        }
        let explained = told.small_bends || told.lengths_at.is_some();
        if told.clr.is_none() && !explained && told.formed_radius.is_none() {
            all.push(
                "effective CLR: it takes `legs` and `blank` of two bends, one of them of 90 degrees or more".to_owned(),
            );
        }
        if told.stretch.is_none() && !explained {
            all.push("stretch: it takes `legs` and `blank` of two bends well apart".to_owned());
        }
        if told.mark_offset.is_none() && !explained {
            all.push(
                "mark offset: it takes `mark`, `lead` and `legs` of two bends well apart, or `start` of one".to_owned(),
            );
        }
        all.into_iter().map(|what| note("not-measured", format!("not measured: {what}"))).collect()
    }

    fn formed_radius(&self) -> Option<Note> {
        let radius = self.told.formed_radius.filter(|_| self.told.clr.is_none())?;
        Some(note(
            "formed-radius",
            format!(
                "the formed radius is {}; the effective CLR is that over 1 + the proportional part, which is not measured",
                self.length(&radius)
            ),
        ))
    }

    fn clr_off(&self) -> Option<Note> {
        let clr = self.told.clr?.value;
        let die = self.record.die();
        let off = clr / die.clr - 1.0;
        (off.abs() > CLR_OFF).then(|| {
            note(
                "clr-off",
                format!(
                    "the effective CLR is {:.0} % {} the die's {}: see whether the legs were taken on the centre or on the outside, and whether \
                     the bends are of this die",
                    (off * 100.0).abs(),
                    if off > 0.0 { "over" } else { "under" },
                    self.people.figure(die.clr)
                ),
            )
        })
    }

    fn od_differs(&self) -> Option<Note> {
        let (die, od) = (self.record.die(), self.record.od);
        ((od - die.od).abs() > die.fit.max(SAME_OD)).then(|| {
            note(
                "od-differs",
                format!(
                    "the OD of the tube, {}, is not that of die {}, {}: it does not seat as others do",
                    self.people.figure(od),
                    die.name,
                    self.people.figure(die.od)
                ),
            )
        })
    }

    fn extrapolated(&self) -> Option<Note> {
        self.told.constant?;
        let ((low, high), (least, most)) = (self.told.angles?, self.told.good_for()?);
        Some(note(
            "extrapolated",
            format!(
                "springback was measured from {} to {} degrees; below {} and above {} it is extrapolated",
                self.people.angle(low),
                self.people.angle(high),
                self.people.near(least),
                self.people.near(most)
            ),
        ))
    }
}
