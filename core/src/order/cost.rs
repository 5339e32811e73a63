//! What a step costs the operator: whole milliseconds, each term rounded before adding.

use crate::bender::{Keep, Seconds};
use crate::forming::LeadEnd;
use crate::units::{Angle, Length};

/// A time in whole milliseconds. Sums are exact.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cost(u64);

impl Cost {
    /// In seconds.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "milliseconds of a day's work are far below 2^53")]
    pub const fn to_seconds(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// In milliseconds.
    #[must_use]
    pub const fn to_milliseconds(self) -> u64 {
        self.0
    }

    /// So many milliseconds.
    #[must_use]
    pub const fn milliseconds(value: u64) -> Self {
        Self(value)
    }

    /// So many seconds, to the nearest millisecond; what is below nothing is nothing.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a float cast saturates, and negative times are cut to 0 first"
    )]
    pub fn seconds(value: f64) -> Self {
        Self((value.max(0.0) * 1000.0).round() as u64)
    }
}

impl core::ops::Add for Cost {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl core::ops::AddAssign for Cost {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

/// What the operator does between the step before and this one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Handling {
    /// Lead end and die of the step before; `None` for the first step.
    pub before: Option<(LeadEnd, usize)>,
    /// Lead end of this step.
    pub lead: LeadEnd,
    /// Die of this step.
    pub die: usize,
    /// Turn from the step before, with the same lead end.
    pub turn: Angle,
    /// How often the drive pin is moved.
    pub pin_moves: usize,
}

/// A turn under a billionth of a degree is no turn: what is left of rotations that cancel.
const NO_TURN: Angle = Angle::deg(1e-9);

/// Cost of one step apart from its gaps.
#[must_use]
pub fn handling(seconds: &Seconds, this: &Handling) -> Cost {
    let mut cost = Cost::seconds(seconds.step);
    match this.before {
        None => cost += Cost::seconds(seconds.set_turn),
        Some((lead, _)) if lead != this.lead => {
            cost += Cost::seconds(seconds.swap_ends);
            cost += Cost::seconds(seconds.set_turn);
        }
        Some(_) if this.turn.abs() > NO_TURN => {
            cost += Cost::seconds(seconds.set_turn);
            cost += Cost::seconds(seconds.turn_per_degree * this.turn.abs().to_deg());
        }
        Some(_) => {}
    }
    if this.before.is_some_and(|(_, die)| die != this.die) {
        cost += Cost::seconds(seconds.change_die);
    }
    for _ in 0..this.pin_moves {
        cost += Cost::seconds(seconds.pin_move);
    }
    cost
}

/// What a tight place costs: in proportion to what its gap lacks to be comfortable. `None` is a gap beyond comfortable.
#[must_use]
pub fn nearness(seconds: &Seconds, clearance: &Keep, tightest: Option<Length>) -> Cost {
    match tightest {
        Some(gap) if gap < clearance.comfortable => Cost::seconds(seconds.near * (1.0 - gap / clearance.comfortable)),
        _ => Cost::default(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECONDS: Seconds = Seconds {
        step: 60.0,
        swap_ends: 45.0,
        change_die: 240.0,
        set_turn: 20.0,
        turn_per_degree: 0.1,
        pin_move: 20.0,
        near: 60.0,
    };

    fn step(before: Option<(LeadEnd, usize)>, turn: f64, pin_moves: usize) -> f64 {
        let this = Handling { before, lead: LeadEnd::A, die: 0, turn: Angle::deg(turn), pin_moves };
        handling(&SECONDS, &this).to_seconds()
    }

    #[test]
    fn each_handling_costs_what_the_format_says() {
        let near = |wanted: f64, got: f64| assert!((wanted - got).abs() < 1e-12, "{wanted} {got}");
        near(step(None, 0.0, 2), 60.0 + 20.0 + 40.0);
        near(step(Some((LeadEnd::A, 0)), 0.0, 0), 60.0);
        near(step(Some((LeadEnd::A, 0)), -35.0, 0), 60.0 + 20.0 + 3.5);
        near(step(Some((LeadEnd::B, 0)), 35.0, 0), 60.0 + 45.0 + 20.0);
        near(step(Some((LeadEnd::A, 1)), 1e-12, 0), 60.0 + 240.0);
    }

    #[test]
    fn a_gap_costs_in_proportion_to_what_it_lacks() {
        let keep = Keep { keep: Length::mm(5.0), comfortable: Length::mm(50.0) };
        assert_eq!(nearness(&SECONDS, &keep, Some(Length::mm(20.0))), Cost::seconds(36.0));
        assert_eq!(nearness(&SECONDS, &keep, Some(Length::ZERO)), Cost::seconds(60.0));
        assert_eq!(nearness(&SECONDS, &keep, Some(Length::mm(50.0))), Cost::default());
        assert_eq!(nearness(&SECONDS, &keep, None), Cost::default());
    }

    #[test]
    fn terms_are_rounded_to_whole_milliseconds() {
        assert_eq!(Cost::seconds(0.000_49).to_milliseconds(), 0);
        assert_eq!(Cost::seconds(1.000_5).to_milliseconds(), 1001);
        assert_eq!(Cost::seconds(-3.0).to_milliseconds(), 0);
        assert_eq!((Cost::seconds(f64::MAX) + Cost::seconds(1.0)).to_milliseconds(), u64::MAX);
    }
}
