//! Lengths and angles: the only doors for inches, degrees and numbers from outside.
//!
//! A [`Length`] is held in millimetres and an [`Angle`] in radians, both `f64`. Points and vectors are plain
//! nalgebra types in millimetres. Neither type repairs a NaN or an infinity: those are refused where text is read.

mod scan;

use core::iter::Sum;
use core::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

pub use self::scan::{Refusal, length, number};

/// Millimetres in an inch, exact by definition (International yard and pound agreement, 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// A length, in millimetres inside.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Length(f64);

/// An angle, in radians inside; not reduced to any range.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Angle(f64);

impl Length {
    /// No length at all.
    pub const ZERO: Self = Self(0.0);

    /// So many millimetres.
    #[must_use]
    pub const fn mm(value: f64) -> Self {
        Self(value)
    }

    /// So many inches, times 25.4.
    #[must_use]
    pub const fn inch(value: f64) -> Self {
        Self(value * MM_PER_INCH)
    }

    /// In millimetres.
    #[must_use]
    pub const fn to_mm(self) -> f64 {
        self.0
    }

    /// In inches.
    #[must_use]
    pub const fn to_inch(self) -> f64 {
        self.0 / MM_PER_INCH
    }

    /// Without its sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// The larger of two.
    #[must_use]
    pub const fn max(self, other: Self) -> Self {
        Self(self.0.max(other.0))
    }

    /// The smaller of two.
    #[must_use]
    pub const fn min(self, other: Self) -> Self {
        Self(self.0.min(other.0))
    }
}

impl Angle {
    /// No turn at all.
    pub const ZERO: Self = Self(0.0);

    /// So many degrees.
    #[must_use]
    pub const fn deg(value: f64) -> Self {
        Self(value.to_radians())
    }

    /// So many radians.
    #[must_use]
    pub const fn rad(value: f64) -> Self {
        Self(value)
    }

    /// In degrees.
    #[must_use]
    pub const fn to_deg(self) -> f64 {
        self.0.to_degrees()
    }

    /// In radians.
    #[must_use]
    pub const fn to_rad(self) -> f64 {
        self.0
    }

    /// Without its sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// The same turn in (-180, 180] degrees.
    ///
    /// What rounding leaves within 1e-9 degree of -180 is taken for 180, so that a half turn has one name.
    #[must_use]
    pub fn wrapped(self) -> Self {
        const HALF: f64 = core::f64::consts::PI;
        let turn = self.0 - 2.0 * HALF * ((self.0 / (2.0 * HALF)).round());
        // 1e-9 degree: far below what any figure is printed to, far above the rounding of a sum of rotations.
        // Exactly 180, or the last bit of the sum could lie above the range.
        if turn <= -HALF + 1.7e-11 { Self(HALF) } else { Self(turn.min(HALF)) }
    }

    /// The larger of two.
    #[must_use]
    pub const fn max(self, other: Self) -> Self {
        Self(self.0.max(other.0))
    }

    /// The smaller of two.
    #[must_use]
    pub const fn min(self, other: Self) -> Self {
        Self(self.0.min(other.0))
    }
}

macro_rules! quantity {
    ($name:ident) => {
        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }
        impl AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }
        impl SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                self.0 -= other.0;
            }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, by: f64) -> Self {
                Self(self.0 * by)
            }
        }
        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, by: f64) -> Self {
                Self(self.0 / by)
            }
        }
        impl Div for $name {
            type Output = f64;
            fn div(self, by: Self) -> f64 {
                self.0 / by.0
            }
        }
        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
                Self(all.map(|one| one.0).sum())
            }
        }
    };
}
quantity!(Length);
quantity!(Angle);

/// The units that a file or a person may use for lengths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LengthUnit {
    /// Millimetre.
    Mm,
    /// Centimetre, 10 mm.
    Cm,
    /// Metre, 1000 mm.
    M,
    /// Inch, 25.4 mm.
    Inch,
    /// Foot, 304.8 mm.
    Foot,
}

impl LengthUnit {
    /// All units, smallest first of each system.
    pub const ALL: [Self; 5] = [Self::Mm, Self::Cm, Self::M, Self::Inch, Self::Foot];

    /// The unit that files call `mm`, `cm`, `m`, `in` or `ft`; `None` for any other name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|unit| unit.name() == name)
    }

    /// The name that files use: `mm`, `cm`, `m`, `in` or `ft`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::M => "m",
            Self::Inch => "in",
            Self::Foot => "ft",
        }
    }

    /// Tenths of a millimetre in this unit, exact.
    #[must_use]
    pub const fn tenths_of_mm(self) -> u32 {
        match self {
            Self::Mm => 10,
            Self::Cm => 100,
            Self::M => 10_000,
            Self::Inch => 254,
            Self::Foot => 3_048,
        }
    }

    /// Millimetres in this unit.
    #[must_use]
    pub const fn mm_per(self) -> f64 {
        self.tenths_of_mm() as f64 / 10.0
    }

    /// Whether it is the inch or the foot.
    #[must_use]
    pub const fn is_imperial(self) -> bool {
        matches!(self, Self::Inch | Self::Foot)
    }
}

impl Length {
    /// So many of a unit.
    #[must_use]
    pub const fn of(value: f64, unit: LengthUnit) -> Self {
        Self(value * unit.mm_per())
    }

    /// In a unit.
    #[must_use]
    pub const fn to(self, unit: LengthUnit) -> f64 {
        self.0 / unit.mm_per()
    }
}

#[cfg(test)]
mod tests;
