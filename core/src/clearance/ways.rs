//! The ways by which a tube may leave the bender, and come into it.

use core::ops::BitAnd;

use crate::bender::TakeOut;

/// One way, straight on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// Along the die's axis, +z.
    Up,
    /// Away from the die, square to the trailing straight.
    Sideways,
    /// Along the trailing straight, toward the trailing end.
    AlongBack,
    /// Along the trailing straight, toward the lead end.
    AlongAhead,
    /// Up, together with the die and what is on it.
    WithDie,
}

impl Way {
    const COUNT: usize = 5;

    /// In words, for laying the tube in: where it comes from.
    #[must_use]
    pub const fn words_in(self) -> &'static str {
        match self {
            Self::Up => "from above",
            Self::Sideways => "from the side away from the die",
            Self::AlongBack => "along itself, from the trailing side",
            Self::AlongAhead => "along itself, from the lead side",
            Self::WithDie => "from above, together with the die",
        }
    }

    /// In words, for taking the tube out.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Up => "up",
            Self::Sideways => "sideways, away from the die",
            Self::AlongBack => "along itself, toward the trailing end",
            Self::AlongAhead => "along itself, toward the lead end",
            Self::WithDie => "up, together with the die",
        }
    }

    /// The ways that are meant by a list, in its order; along itself is either way.
    #[must_use]
    pub fn of(list: &[TakeOut]) -> Vec<Self> {
        list.iter()
            .flat_map(|one| -> &[Self] {
                match one {
                    TakeOut::Up => &[Self::Up],
                    TakeOut::Sideways => &[Self::Sideways],
                    TakeOut::Along => &[Self::AlongBack, Self::AlongAhead],
                    TakeOut::WithDie => &[Self::WithDie],
                }
            })
            .copied()
            .collect()
    }
}

/// How far a part of the tube goes one way.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Reach {
    /// How far it has to go to be out, mm.
    needed: f64,
    /// How far it is proved to get, mm.
    proved: f64,
}

impl Reach {
    /// A tube that is out already and gets nowhere, since it stands too near to something, is not enough.
    fn is_enough(self) -> bool {
        self.needed.max(0.0) < self.proved
    }
}

/// Which ways are open, for one part of the tube or for several together (`&`).
///
/// The tube is rigid, so that both parts go as far as the one that has further to go. What is known of one part is therefore
/// how far it has to go and how far it gets, for each way; a way is open where the other is more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ways([Option<Reach>; Way::COUNT]);

impl Ways {
    /// Every way, as far as one likes: what is not looked at is allowed.
    pub(super) const ALL: Self = Self([Some(Reach { needed: f64::NEG_INFINITY, proved: f64::INFINITY }); Way::COUNT]);

    /// No way at all.
    pub(super) const NONE: Self = Self([None; Way::COUNT]);

    pub(super) fn set(&mut self, way: Way, needed: f64, proved: f64) {
        self.0[way as usize] = Some(Reach { needed, proved });
    }

    /// Whether one way is open.
    #[must_use]
    pub fn contains(&self, way: Way) -> bool {
        self.0[way as usize].is_some_and(Reach::is_enough)
    }

    /// Whether no way is open.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        !self.0.iter().flatten().copied().any(Reach::is_enough)
    }
}

/// The ways that are open to two parts of the tube together.
impl BitAnd for Ways {
    type Output = Self;

    fn bitand(self, other: Self) -> Self {
        let both = |one: Option<Reach>, other: Option<Reach>| {
            let (one, other) = (one?, other?);
            Some(Reach { needed: one.needed.max(other.needed), proved: one.proved.min(other.proved) })
        };
        Self(core::array::from_fn(|way| both(self.0[way], other.0[way])))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_parts_go_as_far_as_the_one_that_has_further_to_go() {
        let (mut one, mut other) = (Ways::NONE, Ways::NONE);
        one.set(Way::Up, 30.0, 200.0);
        other.set(Way::Up, 150.0, f64::INFINITY);
        assert!((one & other).contains(Way::Up));
        other.set(Way::Up, 250.0, f64::INFINITY);
        // Each part alone gets out; the one that is blocked at 200 cannot follow the other to 250.
        assert!(one.contains(Way::Up) && other.contains(Way::Up) && (one & other).is_empty());
        one.set(Way::WithDie, 30.0, 400.0);
        assert!((one & other).is_empty(), "only one of them knows the way");
        assert!((one & Ways::ALL).contains(Way::WithDie) && (Ways::ALL & Ways::NONE).is_empty());
    }
}
