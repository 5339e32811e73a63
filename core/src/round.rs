//! The one place where figures are rounded for people.
//!
//! Every figure is rounded by itself from the exact value; rounded parts are never added up, and where a person adds up the
//! parts of a sum, the running totals are rounded and the parts are their differences. Halves go up, away from zero
//! for negative figures, so that a figure and its opposite round alike. A figure that arithmetic leaves within a millionth
//! of a rounding step of a half counts as the half, and within a millionth of a whole step as whole when it is
//! rounded down: 93.4999999999 degrees is what 93.5 becomes on its way through radians. Zero bears no sign.
//!
//! | figure | rounded |
//! | --- | --- |
//! | length on a tape | to the nearest step: 1, 0.5 or 0.1 mm, or 1/16, 1/32, 1/64 in |
//! | angle | to the nearest 0.1 degree |
//! | figure of a law | degrees to the nearest 0.01, fractions to the nearest 0.0001 |
//! | dial target | down to a whole multiple of the dial's step: short can be pushed again, over cannot |
//! | gap | down to whole millimetres |
//! | figure in a message | to the nearest 0.1 mm or 0.001 in, finer where that would say 0 |
//! | part of a sum | so that the parts add up to the total, to 0.1 mm or 0.001 in; within one such step |
//! | mass, moment | to the nearest 0.1 kg or lb |
//!
//! What is not finite is printed as `?`: such figures are refused where text is read.

use crate::units::{Angle, Length, LengthUnit};

/// The part of a rounding step that counts as arithmetic's own error. Sums of a hundred figures of 1e5 mm are off by 1e-9
/// mm; a tape is read to 0.5 mm.
const SLACK: f64 = 1e-6;

/// The avoirdupois pound, kg (exact by definition).
const KG_PER_LB: f64 = 0.453_592_37;

/// Acceleration of free fall, m/s2 (standard value, exact by definition).
pub const GRAVITY: f64 = 9.80665;

/// The step of lengths in millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum MmStep {
    /// 1 mm, as on a tape.
    #[default]
    Whole,
    /// 0.5 mm.
    Half,
    /// 0.1 mm.
    Tenth,
}

/// The smallest fraction of an inch that is printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Fraction {
    /// 1/16 in, as on a tape.
    #[default]
    Sixteenths,
    /// 1/32 in.
    ThirtySeconds,
    /// 1/64 in.
    SixtyFourths,
}

impl Fraction {
    /// The fraction with 16, 32 or 64 below the line; `None` for any other figure.
    #[must_use]
    pub const fn from_denominator(under: u64) -> Option<Self> {
        match under {
            16 => Some(Self::Sixteenths),
            32 => Some(Self::ThirtySeconds),
            64 => Some(Self::SixtyFourths),
            _ => None,
        }
    }

    /// The figure below the line.
    #[must_use]
    pub const fn denominator(self) -> u64 {
        match self {
            Self::Sixteenths => 16,
            Self::ThirtySeconds => 32,
            Self::SixtyFourths => 64,
        }
    }
}

/// The units that people read lengths in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Units {
    /// Millimetres.
    Mm(MmStep),
    /// Inches and a fraction.
    Inch(Fraction),
}

/// How figures are printed for the people who read them. Everything but a degree sign is ASCII.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct People {
    /// Units of lengths.
    pub units: Units,
}

/// A figure in whole steps, without sign.
struct Steps {
    count: u64,
    negative: bool,
}

/// To the nearest whole number, halves away from zero; `None` for what is not finite.
fn nearest(value: f64) -> Option<Steps> {
    let count = (value.abs() + 0.5 + SLACK).floor();
    value.is_finite().then_some(Steps { count: count as u64, negative: value < 0.0 && count >= 1.0 })
}

/// Up to a whole number, away from zero.
fn outward(value: f64) -> Option<Steps> {
    let count = (value.abs() - SLACK).ceil().max(0.0);
    value.is_finite().then_some(Steps { count: count as u64, negative: value < 0.0 && count >= 1.0 })
}

/// Down to a whole number, toward minus infinity.
fn down(value: f64) -> f64 {
    (value + SLACK).floor() + 0.0
}

impl Steps {
    fn signed(&self) -> f64 {
        let count = self.count as f64;
        if self.negative { -count } else { count }
    }

    fn sign(&self) -> &'static str {
        if self.negative { "-" } else { "" }
    }

    /// As a decimal, the steps being a tenth, a hundredth and so on; zeros at its end left out, but for `least` places.
    fn decimal(&self, places: usize, least: usize) -> String {
        let one = 10_u64.pow(places as u32);
        let mut part = format!("{:0places$}", self.count % one);
        while part.len() > least && part.ends_with('0') {
            part.pop();
        }
        let point = if part.is_empty() || places == 0 { "" } else { "." };
        let part = if places == 0 { "" } else { &part };
        format!("{}{}{point}{part}", self.sign(), self.count / one)
    }

    fn fraction(&self, under: u64) -> String {
        let (whole, over) = (self.count / under, self.count % under);
        let sign = self.sign();
        if over == 0 {
            return format!("{sign}{whole}");
        }
        let common = 1 << over.trailing_zeros().min(under.trailing_zeros());
        let (over, under) = (over / common, under / common);
        if whole == 0 { format!("{sign}{over}/{under}") } else { format!("{sign}{whole} {over}/{under}") }
    }
}

/// A figure as printed, with a + unless it is below 0, nothing, or not known.
fn signed(text: String) -> String {
    let nothing = !text.contains(|letter| matches!(letter, '1'..='9'));
    if nothing || text.starts_with('-') { text } else { format!("+{text}") }
}

fn or_unknown(text: Option<String>) -> String {
    text.unwrap_or_else(|| "?".to_owned())
}

impl Default for People {
    fn default() -> Self {
        Self::mm()
    }
}

impl People {
    /// Whole millimetres.
    #[must_use]
    pub const fn mm() -> Self {
        Self { units: Units::Mm(MmStep::Whole) }
    }

    /// Inches in sixteenths.
    #[must_use]
    pub const fn inch() -> Self {
        Self { units: Units::Inch(Fraction::Sixteenths) }
    }

    /// What people read who write their files in this unit: inches in sixteenths for inches and feet, whole millimetres for any other.
    #[must_use]
    pub const fn usual(unit: LengthUnit) -> Self {
        if unit.is_imperial() { Self::inch() } else { Self::mm() }
    }

    /// The same with this finest fraction where lengths are read in inches.
    #[must_use]
    pub const fn with_fraction(self, fraction: Fraction) -> Self {
        match self.units {
            Units::Inch(_) => Self { units: Units::Inch(fraction) },
            Units::Mm(_) => self,
        }
    }

    /// The name of the unit of lengths: `mm` or `in`.
    #[must_use]
    pub const fn unit(&self) -> &'static str {
        match self.units {
            Units::Mm(_) => "mm",
            Units::Inch(_) => "in",
        }
    }

    /// A length as a tape shows it, without unit: `1130`, `44 1/2`, `-3/8`.
    ///
    /// ```
    /// use tubewright::{round::People, units::Length};
    /// assert_eq!(People::inch().length(Length::inch(19.522617)), "19 1/2");
    /// assert_eq!(People::mm().length(Length::mm(1130.3)), "1130");
    /// ```
    #[must_use]
    pub fn length(&self, length: Length) -> String {
        let mm = length.to_mm();
        or_unknown(match self.units {
            Units::Mm(MmStep::Whole) => nearest(mm).map(|steps| steps.decimal(0, 0)),
            Units::Mm(MmStep::Half) => nearest(mm * 2.0).map(|steps| {
                let tenths = Steps { count: steps.count.saturating_mul(5), negative: steps.negative };
                tenths.decimal(1, 0)
            }),
            Units::Mm(MmStep::Tenth) => nearest(mm * 10.0).map(|steps| steps.decimal(1, 0)),
            Units::Inch(fraction) => {
                let under = fraction.denominator();
                nearest(length.to_inch() * under as f64).map(|steps| steps.fraction(under))
            }
        })
    }

    /// A length as a tape shows it, with its unit: `1130 mm`, `44 1/2 in`.
    #[must_use]
    pub fn length_with_unit(&self, length: Length) -> String {
        format!("{} {}", self.length(length), self.unit())
    }

    /// A length in a message, with its unit, to the nearest 0.1 mm or 0.001 in; finer where that would say 0.
    #[must_use]
    pub fn figure(&self, length: Length) -> String {
        self.decimal(length, nearest)
    }

    /// A deviation with its sign and its unit: as [`People::figure`], with a + where it is above 0.
    ///
    /// ```
    /// use tubewright::{round::People, units::Length};
    /// assert_eq!(People::mm().signed_figure(Length::mm(1.64)), "+1.6 mm");
    /// assert_eq!(People::mm().signed_figure(Length::mm(-1.64)), "-1.6 mm");
    /// ```
    #[must_use]
    pub fn signed_figure(&self, length: Length) -> String {
        signed(self.figure(length))
    }

    /// A length in 0.1 mm or 0.001 in, without unit: what stands in a column of measured figures.
    ///
    /// ```
    /// use tubewright::{round::People, units::Length};
    /// assert_eq!(People::mm().column(Length::mm(774.0)), "774.0");
    /// assert_eq!(People::inch().column(Length::inch(0.0625)), "0.063");
    /// ```
    #[must_use]
    pub fn column(&self, length: Length) -> String {
        self.sum(&[length]).1
    }

    /// A deviation in such a column, with its sign.
    #[must_use]
    pub fn signed_column(&self, length: Length) -> String {
        signed(self.column(length))
    }

    /// What is missing, with its unit: as [`People::figure`], but rounded up, since adding just the figure must do.
    #[must_use]
    pub fn missing(&self, length: Length) -> String {
        self.decimal(length, outward)
    }

    /// A length of which so much is left, with its unit: to 0.01 mm or 0.001 in, rounded down, so that it does not read as enough.
    ///
    /// ```
    /// use tubewright::{round::People, units::Length};
    /// assert_eq!(People::mm().left(Length::mm(2.087)), "2.08 mm");
    /// assert_eq!(People::inch().left(Length::inch(0.0829)), "0.082 in");
    /// ```
    #[must_use]
    pub fn left(&self, length: Length) -> String {
        let (value, places) = match self.units {
            Units::Mm(_) => (length.to_mm(), 2),
            Units::Inch(_) => (length.to_inch(), 3),
        };
        let steps = nearest(down(value * 10_f64.powi(places)));
        format!("{} {}", or_unknown(steps.map(|steps| steps.decimal(places as usize, 1))), self.unit())
    }

    /// The parts of a sum and their total, without unit, in 0.1 mm or 0.001 in: as printed they add up exactly.
    ///
    /// The running totals are rounded to the nearest, and a part is the difference of two of them: less than one step from the exact
    /// part, and nothing for a part that is nothing.
    ///
    /// ```
    /// use tubewright::{round::People, units::Length};
    /// let (parts, total) = People::mm().sum(&[Length::mm(0.04), Length::mm(0.04), Length::mm(-0.5)]);
    /// assert_eq!(parts, ["0.0", "0.1", "-0.5"]);
    /// assert_eq!(total, "-0.4");
    /// ```
    #[must_use]
    pub fn sum(&self, parts: &[Length]) -> (Vec<String>, String) {
        let places = match self.units {
            Units::Mm(_) => 1,
            Units::Inch(_) => 3,
        };
        let mut running = Length::ZERO;
        let mut before = Some(0_i128);
        let mut printed = Vec::with_capacity(parts.len());
        let text = |count: Option<i128>| {
            let steps = count.and_then(|count| {
                Some(Steps { count: u64::try_from(count.unsigned_abs()).ok()?, negative: count < 0 })
            });
            or_unknown(steps.map(|steps| steps.decimal(places, places)))
        };
        for part in parts {
            running += *part;
            let value = match self.units {
                Units::Mm(_) => running.to_mm(),
                Units::Inch(_) => running.to_inch(),
            };
            let total = nearest(value * 10_f64.powi(places as i32)).map(|steps| {
                let count = i128::from(steps.count);
                if steps.negative { -count } else { count }
            });
            printed.push(text(total.zip(before).map(|(total, before)| total - before)));
            before = total;
        }
        (printed, text(before))
    }

    /// A mass with its unit, to the nearest 0.1: kg, or lb beside inches.
    ///
    /// ```
    /// use tubewright::round::People;
    /// assert_eq!(People::mm().mass(13.04), "13.0 kg");
    /// assert_eq!(People::inch().mass(13.04), "28.7 lb");
    /// ```
    #[must_use]
    pub fn mass(&self, kg: f64) -> String {
        let (value, unit) = match self.units {
            Units::Mm(_) => (kg, "kg"),
            Units::Inch(_) => (kg / KG_PER_LB, "lb"),
        };
        format!("{} {unit}", or_unknown(nearest(value * 10.0).map(|steps| steps.decimal(1, 1))))
    }

    /// A moment as the mass that pulls as much at the end of an arm as long as a forearm: `1.6 kg at 300 mm`, `3.5 lb at 12 in`.
    ///
    /// ```
    /// use tubewright::round::People;
    /// assert_eq!(People::mm().pull(2.94), "1.0 kg at 300 mm");
    /// assert_eq!(People::inch().pull(1.3558), "1.0 lb at 12 in");
    /// ```
    #[must_use]
    pub fn pull(&self, newton_metres: f64) -> String {
        let arm = match self.units {
            Units::Mm(_) => Length::mm(300.0),
            Units::Inch(_) => Length::inch(12.0),
        };
        let kg = newton_metres / GRAVITY / (arm.to_mm() * 1e-3);
        format!("{} at {}", self.mass(kg), self.length_with_unit(arm))
    }

    /// The length that a tape shows for this one: what [`People::length`] prints, as a figure.
    ///
    /// ```
    /// use tubewright::{round::People, units::Length};
    /// assert!((People::inch().on_tape(Length::inch(19.522617)) - Length::inch(19.5)).abs() < Length::mm(1e-9));
    /// ```
    #[must_use]
    pub fn on_tape(&self, length: Length) -> Length {
        let step = self.tape_step();
        nearest(length / step).map_or(length, |steps| step * steps.signed())
    }

    /// The angle that [`People::angle`] prints, as a figure.
    #[must_use]
    pub fn to_tenth(&self, angle: Angle) -> Angle {
        nearest(angle.to_deg() * 10.0).map_or(angle, |steps| Angle::deg(steps.signed() / 10.0))
    }

    /// The step to which lengths are printed: what a tape shows.
    #[must_use]
    pub fn tape_step(&self) -> Length {
        match self.units {
            Units::Mm(MmStep::Whole) => Length::mm(1.0),
            Units::Mm(MmStep::Half) => Length::mm(0.5),
            Units::Mm(MmStep::Tenth) => Length::mm(0.1),
            Units::Inch(fraction) => Length::inch(1.0 / fraction.denominator() as f64),
        }
    }

    /// A length that is not exceeded, with its unit: as [`People::length_with_unit`], but rounded up, and never nothing.
    ///
    /// ```
    /// use tubewright::{round::People, units::Length};
    /// assert_eq!(People::inch().at_most(Length::inch(0.736)), "3/4 in");
    /// assert_eq!(People::mm().at_most(Length::mm(0.2)), "1 mm");
    /// ```
    #[must_use]
    pub fn at_most(&self, length: Length) -> String {
        let step = self.tape_step();
        let up = outward(length / step).map_or(length, |steps| step * steps.signed().max(1.0));
        self.length_with_unit(up)
    }

    fn decimal(&self, length: Length, round: fn(f64) -> Option<Steps>) -> String {
        let (value, usual) = match self.units {
            Units::Mm(_) => (length.to_mm(), 1),
            Units::Inch(_) => (length.to_inch(), 3),
        };
        let finest = 9;
        let size = value.abs();
        let places = (usual..finest).find(|places| size * 10_f64.powi(*places) >= 1.0).unwrap_or(finest);
        let places = if size > 0.0 { places } else { usual };
        let text = round(value * 10_f64.powi(places)).map(|steps| steps.decimal(places as usize, usual as usize));
        format!("{} {}", or_unknown(text), self.unit())
    }

    /// A ratio that falls short, without unit: to a thousandth, rounded down, so that it does not read as enough.
    ///
    /// ```
    /// use tubewright::round::People;
    /// assert_eq!(People::mm().ratio_down(2.9999), "2.999");
    /// assert_eq!(People::mm().ratio_down(2.0), "2");
    /// ```
    #[must_use]
    pub fn ratio_down(&self, ratio: f64) -> String {
        or_unknown(nearest(down(ratio * 1000.0)).map(|steps| steps.decimal(3, 0)))
    }

    /// A ratio that is too great, without unit: to a thousandth, rounded up, so that it does not read as allowed.
    ///
    /// ```
    /// use tubewright::round::People;
    /// assert_eq!(People::mm().ratio_up(15.0001), "15.001");
    /// ```
    #[must_use]
    pub fn ratio_up(&self, ratio: f64) -> String {
        or_unknown(outward(ratio * 1000.0).map(|steps| steps.decimal(3, 0)))
    }

    /// A gap, with its unit, in whole millimetres rounded down whatever units people read else: a bender is drawn to
    /// some millimetres, and a fraction of an inch would claim more.
    #[must_use]
    pub fn gap(&self, gap: Length) -> String {
        let mm = down(gap.to_mm());
        if mm.is_finite() { format!("{mm:.0} mm") } else { "? mm".to_owned() }
    }

    /// Room that the tube takes, with its unit, in whole millimetres or whole inches rounded up: never less than there is.
    #[must_use]
    pub fn room(&self, length: Length) -> String {
        let (value, unit) = match self.units {
            Units::Mm(_) => (length.to_mm(), "mm"),
            Units::Inch(_) => (length.to_inch(), "in"),
        };
        format!("{} {unit}", or_unknown(outward(value).map(|steps| steps.decimal(0, 0))))
    }

    /// A height above the floor that the tube comes down to, with its unit, in whole millimetres or whole inches rounded down.
    #[must_use]
    pub fn height(&self, length: Length) -> String {
        let (value, unit) = match self.units {
            Units::Mm(_) => (down(length.to_mm()), "mm"),
            Units::Inch(_) => (down(length.to_inch()), "in"),
        };
        if value.is_finite() { format!("{value:.0} {unit}") } else { format!("? {unit}") }
    }

    /// A reading that is only watched for, in whole degrees.
    #[must_use]
    pub fn near(&self, reading: Angle) -> String {
        or_unknown(nearest(reading.to_deg()).map(|steps| steps.decimal(0, 0)))
    }

    /// Whether a turn or a slope rounds to none.
    #[must_use]
    pub fn is_none(&self, turn: Angle) -> bool {
        nearest(turn.to_deg() * 10.0).is_some_and(|steps| steps.count == 0)
    }

    /// Whether a turn rounds to half a turn, for which neither way round is the shorter.
    #[must_use]
    pub fn is_half_turn(&self, turn: Angle) -> bool {
        nearest(turn.to_deg() * 10.0).is_some_and(|steps| steps.count == 1800)
    }

    /// An angle in degrees to the nearest 0.1, without unit: `90`, `22.5`.
    #[must_use]
    pub fn angle(&self, angle: Angle) -> String {
        or_unknown(nearest(angle.to_deg() * 10.0).map(|steps| steps.decimal(1, 0)))
    }

    /// An angle that something is off by, with its sign: as [`People::angle`], with a + where it is above 0.
    #[must_use]
    pub fn signed_angle(&self, angle: Angle) -> String {
        signed(self.angle(angle))
    }

    /// An angle in degrees to the nearest 0.1, with the degree sign: `22.5°`.
    #[must_use]
    pub fn angle_with_unit(&self, angle: Angle) -> String {
        format!("{}\u{b0}", self.angle(angle))
    }

    /// An angle that a law is made of, in degrees to the nearest 0.01, without unit: `1.12`.
    #[must_use]
    pub fn fine_angle(&self, angle: Angle) -> String {
        or_unknown(nearest(angle.to_deg() * 100.0).map(|steps| steps.decimal(2, 2)))
    }

    /// A fraction that a law is made of, to the nearest 0.0001: `0.0201`.
    #[must_use]
    pub fn fraction(&self, part: f64) -> String {
        or_unknown(nearest(part * 1e4).map(|steps| steps.decimal(4, 4)))
    }

    /// A reading of the dial in degrees, without unit: [`dial`] of it, `93.5`.
    #[must_use]
    pub fn dial(&self, reading: Angle, step: Angle) -> String {
        let reading = dial(reading, step).to_deg();
        or_unknown(nearest(reading * 1000.0).map(|steps| steps.decimal(3, 0)))
    }
}

/// A dial reading rounded down to a whole multiple of the dial's step, never up: a short bend that is still clamped can
/// be pushed again, an overbent one is not taken back. A step that is not above 0 leaves the reading as it is.
///
/// ```
/// use tubewright::{round::dial, units::Angle};
/// assert!((dial(Angle::deg(93.99), Angle::deg(0.5)).to_deg() - 93.5).abs() < 1e-12);
/// ```
#[must_use]
pub fn dial(reading: Angle, step: Angle) -> Angle {
    let steps = down(reading / step);
    if step > Angle::ZERO && steps.is_finite() { Angle::deg(steps * step.to_deg()) } else { reading }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use proptest::test_runner::RngSeed;

    use super::*;

    fn inch(fraction: Fraction) -> People {
        People { units: Units::Inch(fraction) }
    }

    #[test]
    fn fractions_are_cancelled_and_carried() {
        let people = People::inch();
        for (value, text) in [
            (44.5, "44 1/2"),
            (5.968_75, "6"),
            (5.984_375, "6"),
            (3.031_25, "3 1/16"),
            (0.375, "3/8"),
            (0.03, "0"),
            (0.0, "0"),
            (-0.03, "0"),
            (-0.031_25, "-1/16"),
            (-3.5, "-3 1/2"),
            (115.999, "116"),
        ] {
            assert_eq!(people.length(Length::inch(value)), text, "{value}");
        }
        assert_eq!(inch(Fraction::SixtyFourths).length(Length::inch(5.984_375)), "5 63/64");
        assert_eq!(people.length_with_unit(Length::inch(44.5)), "44 1/2 in");
    }

    #[test]
    fn millimetres_go_to_the_chosen_step_with_halves_up() {
        let whole = People::mm();
        let half = People { units: Units::Mm(MmStep::Half) };
        let tenth = People { units: Units::Mm(MmStep::Tenth) };
        for (value, texts) in [
            (1130.3, ["1130", "1130.5", "1130.3"]),
            (0.25, ["0", "0.5", "0.3"]),
            (0.5, ["1", "0.5", "0.5"]),
            (-0.5, ["-1", "-0.5", "-0.5"]),
            (-0.04, ["0", "0", "0"]),
            (99.96, ["100", "100", "100"]),
            (19.5 * 25.4 / 25.4, ["20", "19.5", "19.5"]),
        ] {
            assert_eq!([whole, half, tenth].map(|people| people.length(Length::mm(value))), texts, "{value}");
        }
    }

    #[test]
    fn a_half_that_arithmetic_left_just_short_goes_up() {
        // 3.03125 in is 76.99375 mm, which no f64 holds exactly.
        assert_eq!(People::inch().length(Length::mm(76.993_75)), "3 1/16");
        assert_eq!(People::inch().length(Length::mm(76.993_749_999_999)), "3 1/16");
        assert_eq!(People::inch().length(Length::mm(76.993)), "3");
    }

    #[test]
    fn a_dial_target_goes_down_but_not_for_want_of_a_last_bit() {
        let half = Angle::deg(0.5);
        let people = People::mm();
        for (target, text) in [
            (93.5, "93.5"),
            (93.499_999_999_9, "93.5"),
            (93.499, "93"),
            (93.99, "93.5"),
            (47.0, "47"),
            (0.0, "0"),
            (-1.5, "-1.5"),
            (-1.2, "-1.5"),
            (-0.000_000_1, "0"),
        ] {
            assert_eq!(people.dial(Angle::deg(target), half), text, "{target}");
        }
        assert_eq!(people.dial(Angle::deg(93.99), Angle::deg(0.25)), "93.75");
        assert_eq!(people.dial(Angle::deg(93.99), Angle::deg(1.0)), "93");
        assert_eq!(people.dial(Angle::deg(93.99), Angle::ZERO), "93.99");
    }

    #[test]
    fn gaps_go_down_to_whole_millimetres() {
        let people = People::inch();
        for (gap, text) in [(38.99, "38 mm"), (6.0, "6 mm"), (5.999_999_99, "6 mm"), (0.4, "0 mm"), (-0.0, "0 mm")] {
            assert_eq!(people.gap(Length::mm(gap)), text, "{gap}");
        }
    }

    #[test]
    fn angles_go_to_a_tenth() {
        let people = People::mm();
        for (angle, text) in [(90.0, "90"), (22.5, "22.5"), (-70.528_779, "-70.5"), (0.05, "0.1"), (-0.04, "0")] {
            assert_eq!(people.angle(Angle::deg(angle)), text, "{angle}");
        }
        assert_eq!(people.angle_with_unit(Angle::deg(45.0)), "45\u{b0}");
    }

    #[test]
    fn a_figure_in_a_message_never_says_0_of_something() {
        let (mm, inch) = (People::mm(), People::inch());
        for (value, in_mm, in_inch) in [
            (38.0, "38.0 mm", "1.496 in"),
            (25.4, "25.4 mm", "1.000 in"),
            (0.004, "0.004 mm", "0.0002 in"),
            (0.0, "0.0 mm", "0.000 in"),
            (-46.07, "-46.1 mm", "-1.814 in"),
        ] {
            assert_eq!([mm.figure(Length::mm(value)), inch.figure(Length::mm(value))], [in_mm, in_inch], "{value}");
        }
        assert_eq!(mm.missing(Length::mm(46.01)), "46.1 mm");
        assert_eq!(mm.missing(Length::mm(46.0)), "46.0 mm");
    }

    #[test]
    fn printed_parts_add_up_to_the_printed_total() {
        let parts = [1251.26, -65.649, 0.0, -0.349, 12.0].map(Length::mm);
        let (printed, total) = People::mm().sum(&parts);
        assert_eq!(printed, ["1251.3", "-65.7", "0.0", "-0.3", "12.0"]);
        assert_eq!(total, "1197.3");
        let (printed, total) = People::inch().sum(&parts);
        let tenths = |text: &String| libm::round(text.parse::<f64>().unwrap() * 1000.0) as i64;
        assert_eq!(printed.iter().map(tenths).sum::<i64>(), tenths(&total));
        let bad = People::mm().sum(&[Length::mm(f64::NAN), Length::mm(1.0)]);
        assert_eq!(bad, (vec!["?".to_owned(), "?".to_owned()], "?".to_owned()));
        assert_eq!(People::mm().mass(3.25), "3.3 kg");
        assert_eq!(People::mm().mass(20.0), "20.0 kg");
        assert_eq!(People::inch().mass(20.0), "44.1 lb");
        assert_eq!(People::mm().at_most(Length::mm(3.0)), "3 mm");
        assert_eq!(People::mm().at_most(Length::ZERO), "1 mm");
    }

    #[test]
    fn what_is_not_finite_is_not_printed_as_a_figure() {
        let people = People::inch();
        let bad = Length::mm(f64::NAN);
        assert_eq!(people.length(bad), "?");
        assert_eq!(people.figure(Length::mm(f64::INFINITY)), "? in");
        assert_eq!(people.gap(bad), "? mm");
        assert_eq!(people.angle(Angle::deg(f64::NEG_INFINITY)), "?");
        assert_eq!(people.dial(Angle::deg(f64::NAN), Angle::deg(0.5)), "?");
        assert!(!people.length(Length::mm(1e300)).is_empty());
    }

    /// The same cases in every run.
    fn config() -> ProptestConfig {
        ProptestConfig { rng_seed: RngSeed::Fixed(4), failure_persistence: None, ..ProptestConfig::with_cases(1000) }
    }

    proptest! {
        #![proptest_config(config())]

        #[test]
        fn a_printed_fraction_is_within_half_a_step(value in -1e4..1e4_f64) {
            for fraction in [Fraction::Sixteenths, Fraction::ThirtySeconds, Fraction::SixtyFourths] {
                let text = inch(fraction).length(Length::inch(value));
                let read = crate::units::length(&text, LengthUnit::Inch);
                let off = (read.map_err(|refusal| TestCaseError::fail(refusal.reason))? - Length::inch(value)).abs();
                prop_assert!(off.to_inch() <= (0.5 + 2.0 * SLACK) / fraction.denominator() as f64, "{text}");
            }
        }

        #[test]
        fn a_rounded_reading_is_never_above_and_never_a_step_below(reading in -10.0..250.0_f64, step in 0.1..2.0_f64) {
            let rounded = dial(Angle::deg(reading), Angle::deg(step)).to_deg();
            prop_assert!(rounded <= reading + step * 2.0 * SLACK);
            prop_assert!(rounded > reading - step);
        }
    }
}
