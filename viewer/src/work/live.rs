//! Figures of a shape that need no plan: the straights that are left, beside the leg that is being changed.

use tubewright::job::Job;
use tubewright::round::People;
use tubewright::units::Length;

/// One straight of a tube, between tangent points or ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Straight {
    /// What is left of the leg.
    pub left: Length,
    /// The leg from corner to corner; `None` where a corner is missing.
    pub leg: Option<Length>,
    /// What the clamp or the follower has to have at the very least, whatever the order: less than this cannot be bent.
    pub least: Length,
}

/// The straights of a tube, from end A.
///
/// Between two bends the one that is made second needs straight for the clamp on one side, or for its arc and the follower
/// on the other: the lesser of the two, of either bend, is the least. At an end it is what the clamp grips or the follower
/// keeps there, extra counted in. 0 for a straight tube.
#[must_use]
pub fn straights(job: &Job, tube: usize) -> Vec<Straight> {
    let Some(tube) = job.tubes.get(tube) else { return Vec::new() };
    let blank = tube.blank(&job.bender);
    let last = tube.dies.len();
    // For a bend: what it needs beside it toward a made bend, and toward a free end.
    let needs = |bend: usize| {
        let die = job.bender.dies.get(*tube.dies.get(bend)?)?;
        let arc = blank.bends.get(bend)?.blank_arc;
        let behind = |length: Length| match die.follower {
            tubewright::bender::Follower::Stands => arc + length,
            tubewright::bender::Follower::Travels => arc.max(length),
        };
        let inner = die.clamp_length.min(behind(die.follower_length)) + die.runout;
        Some([inner, die.grip_min.min(behind(die.tail_min))])
    };
    let least = |place: usize| {
        let before = place.checked_sub(1).and_then(needs);
        let after = needs(place);
        match (before, after) {
            (Some([before, _]), Some([after, _])) => before.min(after),
            (None, Some([_, free])) => free - tube.beyond()[0],
            (Some([_, free]), None) => free - tube.beyond()[1],
            (None, None) => Length::ZERO,
        }
    };
    let legs = tube.centreline.legs();
    let straights = tube.centreline.straights().take(last + 1).enumerate();
    straights
        .map(|(place, left)| Straight {
            left,
            leg: legs.get(place).copied().flatten(),
            least: least(place).max(Length::ZERO),
        })
        .collect()
}

impl Straight {
    /// What is missing for the clamp or the follower; `None` where there is enough.
    #[must_use]
    pub fn missing(&self) -> Option<Length> {
        // A thousandth of a millimetre is rounding, not missing tube.
        (self.least - self.left > Length::mm(1e-3)).then(|| self.least - self.left)
    }

    /// The straight in words.
    #[must_use]
    pub fn words(&self, people: &People) -> String {
        let left = people.length_with_unit(self.left);
        match self.missing() {
            Some(missing) => format!("straight {left}: {} missing for clamp or follower", people.missing(missing)),
            None => format!("straight {left} left"),
        }
    }
}
