//! Text to length: what a tape measure, a drawing or a spreadsheet calls a length.
//!
//! Figures stay exact until the very end: decimals as strings of digits with a power of ten, fractions as a ratio of two
//! whole numbers. Only the finished millimetre value is rounded, once, to the nearest `f64`; so `1 3/4` in inches is
//! 44.45 mm and not 44.449999999999996. Whatever is not clearly one length is refused, with the place and the reason:
//! a guess here scraps a tube.
//!
//! ```text
//! length  = [sign] ( feet "'" [ ["-"] inches '"' ] | figure [unit] )
//! figure  = decimal | fraction | whole (" " | "-") fraction
//! unit    = mm | cm | m | in | ft | " | '
//! ```

use core::fmt;
use core::ops::Range;

use super::{Length, LengthUnit};

/// Longest length that is taken, mm: a million kilometres, far above any job and far below where squares overflow.
const LONGEST_MM: f64 = 1e12;

/// Whole numbers up to here are exact in an `f64`, so one division of two of them is rounded once.
const EXACT: i128 = 1 << 53;

/// Why a text is not a length or a number.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{reason}")]
pub struct Refusal {
    /// The bytes of the text that are at fault; empty at the end of the text where something is missing there.
    pub at: Range<usize>,
    /// What is wrong, as a clause without a full stop.
    pub reason: String,
    /// What to write instead, where that can be known.
    pub way_out: Option<String>,
}

/// The length that a text says, in the units that it names or, bare, in `bare`.
///
/// Takes `44 1/2`, `44-1/2`, `44 1/2"`, `3' 8 1/2"`, `1130 mm`, `113 cm`, `1.13 m`, `44.5 in`, `3 ft`, and plain decimals
/// with or without an exponent; a sign stands first and holds for the whole (`-3 1/2` is -3.5). The result is the `f64`
/// nearest to the exact value in millimetres.
///
/// # Errors
///
/// A [`Refusal`] for everything else: a fraction of 1 or more after a whole number, 12 inches or more after feet, a zero
/// denominator, two units, a decimal comma, NaN and infinities, numbers that start with a needless 0 (some programs
/// read them as octal), lengths over 1e12 mm, and anything left over.
///
/// ```
/// use tubewright::units::{LengthUnit, length};
/// assert_eq!(length("1 3/4", LengthUnit::Inch)?.to_mm(), 44.45);
/// assert_eq!(length("3' 8 1/2\"", LengthUnit::Mm)?.to_mm(), 1130.3);
/// assert_eq!(length("3 5/4", LengthUnit::Inch).unwrap_err().at, 2..5);
/// # Ok::<(), tubewright::units::Refusal>(())
/// ```
pub fn length(text: &str, bare: LengthUnit) -> Result<Length, Refusal> {
    let mut scan = Scan::of(text)?;
    let negative = scan.sign()?;
    let first_at = scan.at;
    let first = scan.figure()?;
    let first_end = scan.at;
    scan.spaces();
    let value = match scan.unit()? {
        Some(Mark { unit: LengthUnit::Foot, tick: true }) => match scan.inches()? {
            None => first.in_mm(LengthUnit::Foot),
            Some(inches) => {
                if !first.is_whole() {
                    return Err(refuse(first_at..first_end, "feet before inches must be a whole number"));
                }
                first.feet_and(&inches)
            }
        },
        mark => first.in_mm(mark.map_or(bare, |mark| mark.unit)),
    };
    scan.end()?;
    let all = scan.covered();
    let mm = value.ok_or_else(|| refuse(all.clone(), "more digits than a fraction of a length can have"))?;
    if mm > LONGEST_MM {
        return Err(refuse(all, "too long: more than 1000000000000 mm"));
    }
    Ok(Length::mm(signed(mm, negative)))
}

/// The number that a text says: a decimal with or without an exponent, to the nearest `f64`. For angles, which are in
/// degrees and bear no unit, and for plain figures.
///
/// # Errors
///
/// A [`Refusal`] for everything else, and for numbers too large for an `f64`.
///
/// ```
/// assert_eq!(tubewright::units::number("-22.5"), Ok(-22.5));
/// ```
pub fn number(text: &str) -> Result<f64, Refusal> {
    let mut scan = Scan::of(text)?;
    let negative = scan.sign()?;
    let value = scan.decimal()?;
    scan.end()?;
    let value = value.times_ten_to(0).filter(|value| value.is_finite());
    value.map(|value| signed(value, negative)).ok_or_else(|| refuse(scan.covered(), "too large a number"))
}

/// Zero bears no sign: -0 would show in print.
fn signed(value: f64, negative: bool) -> f64 {
    if negative && value > 0.0 { -value } else { value }
}

fn refuse(at: Range<usize>, reason: impl Into<String>) -> Refusal {
    Refusal { at, reason: reason.into(), way_out: None }
}

impl Refusal {
    fn or(mut self, way_out: impl Into<String>) -> Self {
        self.way_out = Some(way_out.into());
        self
    }
}

/// A decimal without sign: its digits, without point, times a power of ten.
#[derive(Clone)]
struct Decimal {
    digits: Vec<u8>,
    ten_to: i64,
}

impl Decimal {
    /// Exactly `by` times as much.
    fn times(&self, by: u32) -> Self {
        let mut digits = Vec::with_capacity(self.digits.len() + 5);
        let mut carry = 0;
        for digit in self.digits.iter().rev() {
            carry += u32::from(*digit) * by;
            digits.push((carry % 10) as u8);
            carry /= 10;
        }
        while carry > 0 {
            digits.push((carry % 10) as u8);
            carry /= 10;
        }
        digits.reverse();
        Self { digits, ten_to: self.ten_to }
    }

    /// The nearest `f64` to this times a power of ten; infinite where it is too large.
    fn times_ten_to(&self, power: i64) -> Option<f64> {
        format!("{self}e{}", self.ten_to.saturating_add(power)).parse().ok()
    }

    /// As a whole number over a whole power of ten; `None` where that does not fit.
    fn ratio(&self) -> Option<(i128, i128)> {
        let whole = self.to_string().parse::<i128>().ok()?;
        let power = 10_i128.checked_pow(u32::try_from(self.ten_to.unsigned_abs()).ok()?)?;
        if self.ten_to < 0 { Some((whole, power)) } else { Some((whole.checked_mul(power)?, 1)) }
    }
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.digits.iter().try_for_each(|digit| write!(f, "{digit}"))
    }
}

/// A figure without sign and unit.
enum Figure {
    Decimal(Decimal),
    Ratio(i128, i128),
}

impl Figure {
    /// In millimetres, rounded once; `None` where the digits are too many.
    fn in_mm(&self, unit: LengthUnit) -> Option<f64> {
        let tenths = unit.tenths_of_mm();
        match self {
            Self::Decimal(decimal) => decimal.times(tenths).times_ten_to(-1),
            Self::Ratio(over, under) => divide(over.checked_mul(tenths.into())?, under.checked_mul(10)?),
        }
    }

    fn ratio(&self) -> Option<(i128, i128)> {
        match self {
            Self::Decimal(decimal) => decimal.ratio(),
            Self::Ratio(over, under) => Some((*over, *under)),
        }
    }

    fn is_whole(&self) -> bool {
        matches!(self, Self::Decimal(decimal) if decimal.ten_to == 0)
    }

    /// This many feet and so many inches, in millimetres.
    fn feet_and(&self, inches: &Self) -> Option<f64> {
        let (feet, one) = self.ratio()?;
        let (over, under) = inches.ratio()?;
        let all = feet.checked_mul(12)?.checked_mul(under)?.checked_add(over.checked_mul(one)?)?;
        divide(all.checked_mul(254)?, under.checked_mul(10)?)
    }
}

/// The quotient to the nearest `f64`; `None` where either is too long for that after cancelling.
fn divide(over: i128, under: i128) -> Option<f64> {
    let (mut a, mut b) = (over, under);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    let (over, under) = (over.checked_div(a)?, under.checked_div(a)?);
    (over <= EXACT && under <= EXACT).then(|| over as f64 / under as f64)
}

/// A unit as written: `tick` for `'` and `"`.
struct Mark {
    unit: LengthUnit,
    tick: bool,
}

/// A place in a text.
struct Scan<'a> {
    text: &'a str,
    at: usize,
    start: usize,
}

impl<'a> Scan<'a> {
    /// At the first character that is not a space.
    fn of(text: &'a str) -> Result<Self, Refusal> {
        let mut scan = Self { text, at: 0, start: 0 };
        scan.spaces();
        scan.start = scan.at;
        if scan.peek().is_none() { Err(refuse(scan.at..scan.at, "empty: a figure is missing")) } else { Ok(scan) }
    }

    fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn spaces(&mut self) {
        self.at = self.text.len() - self.rest().trim_start_matches([' ', '\t']).len();
    }

    fn eat(&mut self, wanted: char) -> bool {
        let found = self.peek() == Some(wanted);
        if found {
            self.at += wanted.len_utf8();
        }
        found
    }

    fn digits(&mut self) -> &'a str {
        let rest = self.rest();
        let digits = &rest[..rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len()];
        self.at += digits.len();
        digits
    }

    /// From the first character to here, without spaces at the end.
    fn covered(&self) -> Range<usize> {
        self.start..self.start + self.text[self.start..self.at].trim_end().len()
    }

    /// The character here, or the end.
    fn here(&self) -> Range<usize> {
        self.at..self.at + self.peek().map_or(0, char::len_utf8)
    }

    /// The word here: letters, digits and points.
    fn word(&self) -> Range<usize> {
        let rest = self.rest();
        let word = rest.len() - rest.trim_start_matches(|c: char| c.is_alphanumeric() || c == '.').len();
        if word == 0 { self.here() } else { self.at..self.at + word }
    }

    fn sign(&mut self) -> Result<bool, Refusal> {
        let at = self.here();
        let negative = self.eat('-');
        if negative || self.eat('+') {
            match self.peek() {
                Some(' ' | '\t') => {
                    return Err(refuse(at, "a sign stands right before its figure"));
                }
                Some('-' | '+') => return Err(refuse(self.here(), "two signs")),
                _ => {}
            }
        }
        Ok(negative)
    }

    /// A whole number of a fraction; small enough to stay exact.
    fn whole(&self, digits: &str, at: usize) -> Result<i128, Refusal> {
        let range = at..at + digits.len();
        if digits.len() > 12 {
            return Err(refuse(range, "too many digits for a fraction"));
        }
        digits.parse().map_err(|_| self.no_figure())
    }

    /// Nothing here is a figure: says so in the way that helps most.
    fn no_figure(&self) -> Refusal {
        let at = self.word();
        let word = self.text[at.clone()].to_ascii_lowercase();
        let bare = word.trim_start_matches('.');
        match self.peek() {
            None => refuse(at, "a figure is missing"),
            Some(',') => comma(at),
            Some(c) if fraction_sign(c).is_some() => not_plain(c, at),
            _ if bare == "nan" => refuse(at, "not a number"),
            _ if bare == "inf" || bare == "infinity" => refuse(at, "infinity is not a figure"),
            _ => refuse(at, "a figure was expected here"),
        }
    }

    /// A decimal without sign.
    fn decimal(&mut self) -> Result<Decimal, Refusal> {
        let start = self.at;
        let whole = self.digits();
        let part = if self.eat('.') { self.digits() } else { "" };
        if whole.is_empty() && part.is_empty() {
            self.at = start;
            return Err(self.no_figure());
        }
        if whole.len() > 1 && whole.starts_with('0') {
            let rest = whole.trim_start_matches('0');
            let rest = if rest.is_empty() { "0" } else { rest };
            let reason = "a number that starts with a needless 0 is octal to some programs";
            return Err(refuse(start..start + whole.len(), reason).or(format!("write {rest}")));
        }
        if self.peek() == Some('_') {
            return Err(refuse(self.here(), "an underscore inside a number").or("write the digits without it"));
        }
        if whole == "0" && part.is_empty() && matches!(self.peek(), Some('x' | 'X' | 'o' | 'O' | 'b' | 'B')) {
            return Err(refuse(start..self.word().end, "only decimal numbers are taken"));
        }
        let mut ten_to = -i64::try_from(part.len()).unwrap_or(i64::MAX);
        let mark = self.at;
        if self.eat('e') || self.eat('E') {
            let negative = self.eat('-');
            if !negative {
                self.eat('+');
            }
            let power = self.digits();
            if power.is_empty() {
                return Err(refuse(mark..self.at, "an exponent without digits"));
            }
            // 9 digits are far beyond any `f64`, and their sum with the length of a text cannot overflow.
            let power: i64 = if power.trim_start_matches('0').len() > 9 {
                999_999_999
            } else {
                power.parse().unwrap_or(999_999_999)
            };
            ten_to += if negative { -power } else { power };
        }
        let digits: Vec<u8> = whole.bytes().chain(part.bytes()).map(|digit| digit - b'0').collect();
        Ok(Decimal { digits, ten_to })
    }

    /// A decimal, a fraction, or a whole number and a fraction.
    fn figure(&mut self) -> Result<Figure, Refusal> {
        let start = self.at;
        let first = self.decimal()?;
        let first_text = &self.text[start..self.at];
        let plain = first_text.bytes().all(|byte| byte.is_ascii_digit());
        if self.peek() == Some('/') {
            if !plain {
                return Err(refuse(start..self.at, "the two figures of a fraction are whole numbers"));
            }
            let over = self.whole(first_text, start)?;
            return Ok(Figure::Ratio(over, self.denominator()?));
        }
        let after = self.at;
        let dash = self.eat('-');
        if !dash {
            self.spaces();
        }
        let fraction = self.at;
        let over_text = self.digits();
        if over_text.is_empty() || self.peek() != Some('/') {
            if dash {
                return Err(refuse(after..self.at, "a dash joins a whole number to a fraction only")
                    .or("write a fraction after it, as in 44-1/2"));
            }
            if !over_text.is_empty() {
                return Err(
                    refuse(fraction..self.at, "a second figure").or("join a whole number and a fraction: 44 1/2")
                );
            }
            self.at = after;
            return Ok(Figure::Decimal(first));
        }
        let over = self.whole(over_text, fraction)?;
        if over_text.len() > 1 && over_text.starts_with('0') {
            return Err(refuse(
                fraction..fraction + over_text.len(),
                "a figure of a fraction starts with a needless 0",
            ));
        }
        let under = self.denominator()?;
        if !plain {
            return Err(refuse(fraction..self.at, "a fraction after a figure that is not whole"));
        }
        if over >= under {
            return Err(refuse(fraction..self.at, "a fraction after a whole number must be below 1"));
        }
        let whole = self.whole(first_text, start)?;
        Ok(Figure::Ratio(whole * under + over, under))
    }

    /// The slash here and the figure below it.
    fn denominator(&mut self) -> Result<i128, Refusal> {
        self.eat('/');
        let at = self.at;
        let digits = self.digits();
        if digits.is_empty() {
            return Err(refuse(self.here(), "a fraction without a figure below the line"));
        }
        let under = self.whole(digits, at)?;
        if under == 0 {
            return Err(refuse(at..self.at, "a fraction with 0 below the line"));
        }
        if digits.starts_with('0') {
            return Err(refuse(at..self.at, "a figure of a fraction starts with a needless 0"));
        }
        if let Some('.' | '/') = self.peek() {
            return Err(refuse(self.here(), "the two figures of a fraction are whole numbers"));
        }
        Ok(under)
    }

    /// The unit here, if one is.
    fn unit(&mut self) -> Result<Option<Mark>, Refusal> {
        if self.eat('"') {
            return Ok(Some(Mark { unit: LengthUnit::Inch, tick: true }));
        }
        if self.eat('\'') {
            if self.peek() == Some('\'') {
                return Err(refuse(self.at - 1..self.at + 1, "two marks for feet").or("write \" or in for inches"));
            }
            return Ok(Some(Mark { unit: LengthUnit::Foot, tick: true }));
        }
        if !self.peek().is_some_and(char::is_alphabetic) {
            return Ok(None);
        }
        let rest = self.rest();
        let word = &rest[..rest.len() - rest.trim_start_matches(char::is_alphabetic).len()];
        let at = self.at..self.at + word.len();
        let Some(unit) = LengthUnit::from_name(word) else {
            let way_out = match word.to_lowercase().as_str() {
                "inch" | "inches" | "ins" | "in" => "write in",
                "foot" | "feet" | "fts" | "ft" => "write ft",
                "millimetre" | "millimetres" | "millimeter" | "millimeters" | "mms" | "mm" => "write mm",
                "centimetre" | "centimetres" | "centimeter" | "centimeters" | "cms" | "cm" => "write cm",
                "metre" | "metres" | "meter" | "meters" | "m" => "write m",
                _ => "the units are mm, cm, m, in and ft",
            };
            return Err(refuse(at, format!("{word:?} is not a unit of length")).or(way_out));
        };
        self.at = at.end;
        Ok(Some(Mark { unit, tick: false }))
    }

    /// Inches after feet, with their mark; `None` at the end.
    fn inches(&mut self) -> Result<Option<Figure>, Refusal> {
        if !self.eat('-') {
            self.spaces();
        } else if self.peek().is_none_or(|next| !next.is_ascii_digit()) {
            return Err(self.no_figure());
        }
        let at = self.at;
        if !self.peek().is_some_and(|next| next.is_ascii_digit() || next == '.') {
            return Ok(None);
        }
        let inches = self.figure()?;
        let figure = at..self.at;
        self.spaces();
        if !self.eat('"') {
            return Err(refuse(self.here(), "inches after feet need their mark").or("close them with \""));
        }
        match inches.ratio() {
            None => Err(refuse(figure, "more digits than inches after feet can have")),
            Some((over, under)) if over / under >= 12 => Err(refuse(figure, "inches after feet must be below 12")),
            Some(_) => Ok(Some(inches)),
        }
    }

    /// Nothing may be left.
    fn end(&mut self) -> Result<(), Refusal> {
        let all = self.at;
        self.spaces();
        let word = self.word();
        match self.peek() {
            None => {
                self.at = all;
                Ok(())
            }
            Some(',') => Err(comma(self.here())),
            Some('°') => Err(refuse(self.here(), "angles bear no sign").or("write the degrees as a plain number")),
            Some(c) if not_ascii_tick(c) || fraction_sign(c).is_some() => Err(not_plain(c, self.here())),
            Some('\'' | '"') => Err(refuse(self.here(), "a second unit")),
            Some('+' | '-') => Err(refuse(self.here(), "a sign in the middle")),
            Some(_) if LengthUnit::from_name(&self.text[word.clone()]).is_some() => Err(refuse(word, "a second unit")),
            Some(c) if c.is_ascii_digit() => {
                Err(refuse(word, "a second figure").or("feet and inches are written 3' 8\""))
            }
            Some(_) => Err(refuse(word, "not part of a figure")),
        }
    }
}

fn comma(at: Range<usize>) -> Refusal {
    refuse(at, "a comma inside a number").or("write a point for decimals, and thousands without a mark")
}

fn not_ascii_tick(c: char) -> bool {
    matches!(c, '′' | '″' | '’' | '”' | '‘' | '“' | '´' | '`')
}

fn fraction_sign(c: char) -> Option<&'static str> {
    Some(match c {
        '½' => "1/2",
        '¼' => "1/4",
        '¾' => "3/4",
        '⅛' => "1/8",
        '⅜' => "3/8",
        '⅝' => "5/8",
        '⅞' => "7/8",
        '⅓' => "1/3",
        '⅔' => "2/3",
        '⁄' | '∕' => "/",
        _ => return None,
    })
}

/// For signs that look like what is meant but are other characters.
fn not_plain(c: char, at: Range<usize>) -> Refusal {
    let plain = fraction_sign(c).unwrap_or(if matches!(c, '″' | '”' | '“') { "\"" } else { "'" });
    refuse(at, format!("the sign {c} is not taken, for it is easily misread")).or(format!("write {plain}"))
}
