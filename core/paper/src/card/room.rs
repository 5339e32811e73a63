//! The floor that a tube sweeps, over all its steps.

use nalgebra::Vector3;
use serde::Serialize;
use tubewright::bender::{BendPlane, Bender, Step};
use tubewright::body::{Bow, pieces_at};
use tubewright::plan::TubePlan;
use tubewright::round::People;
use tubewright::units::{Angle, Length};

use super::unit;

/// Die angles that are looked at lie no further apart than this.
const APART: Angle = Angle::deg(1.0);

/// Parts in which an arc is looked at.
const PARTS: usize = 16;

/// A way over the floor, from the die's axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// To where the clamped end points before the bend.
    Ahead,
    /// To where the trailing end points.
    Behind,
    /// Across the tube's line, over the die.
    DieSide,
    /// Across the tube's line, away from the die.
    AwayFromDie,
    /// Toward the operator: the bend plane is vertical.
    TowardYou,
    /// Away from the operator.
    AwayFromYou,
}

impl Way {
    const fn words(self) -> &'static str {
        match self {
            Self::Ahead => "ahead, where the clamped end points",
            Self::Behind => "behind",
            Self::DieSide => "to the die's side",
            Self::AwayFromDie => "to the other side",
            Self::TowardYou => "toward you",
            Self::AwayFromYou => "away from you",
        }
    }
}

/// How far the tube comes one way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Reach {
    /// Which way.
    pub way: Way,
    /// From the die's axis, over the floor.
    #[serde(rename = "mm", serialize_with = "unit::mm")]
    pub far: Length,
}

/// The room that is kept free.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Room {
    /// Largest distance of any point of the tube from the die's axis.
    #[serde(rename = "reach_mm", serialize_with = "unit::mm")]
    pub reach: Length,
    /// Greatest height above the floor.
    #[serde(rename = "high_mm", serialize_with = "unit::mm")]
    pub high: Length,
    /// Least height above the floor.
    #[serde(rename = "low_mm", serialize_with = "unit::mm")]
    pub low: Length,
    /// Four ways over the floor; no point of the tube comes further while a bend is made.
    pub floor: [Reach; 4],
    /// In words.
    pub words: String,
}

impl Room {
    /// Over the bends of all steps; `None` for a tube without bends.
    pub(super) fn new(bender: &Bender, tube: &TubePlan, people: &People) -> Option<Self> {
        let swings = || tube.steps.iter().map(|step| step.swing);
        let first = swings().next()?;
        let reach = swings().fold(first.reach, |most, swing| most.max(swing.reach));
        let high = swings().fold(first.high, |most, swing| most.max(swing.high));
        let low = swings().fold(first.low, |least, swing| least.min(swing.low));
        let ways = ways(bender);
        let mut most = [0.0_f64; 4];
        for (place, step) in tube.steps.iter().enumerate() {
            let made = tube.made_before(place + 1);
            let at = Step { bender, blank: &tube.blank, bend: step.bend, lead: step.lead, made: &made };
            // Between two angles a point leaves the chord between its places by no more than this.
            let parts = (step.die_angle / APART).ceil().max(1.0);
            let bulge = reach.to_mm() * (1.0 - libm::cos((step.die_angle / parts).to_rad() / 2.0));
            let around = tube.stock.od.to_mm() / 2.0 + bulge;
            let mut part = 0.0;
            while part <= parts {
                for piece in pieces_at(&at, step.die_angle * (part / parts)) {
                    let (points, sag) = points(&piece);
                    for ((_, way), most) in ways.iter().zip(&mut most) {
                        for point in &points {
                            *most = most.max(point.dot(way) + around + sag);
                        }
                    }
                }
                part += 1.0;
            }
        }
        let mut floor = [Reach { way: Way::Ahead, far: Length::ZERO }; 4];
        for ((slot, (way, _)), far) in floor.iter_mut().zip(ways).zip(most) {
            *slot = Reach { way, far: Length::mm(far) };
        }
        let words = words(people, &floor, low, high);
        Some(Self { reach, high, low, floor, words })
    }
}

fn words(people: &People, floor: &[Reach; 4], low: Length, high: Length) -> String {
    let ways: Vec<String> = floor.iter().map(|one| format!("{} {}", people.room(one.far), one.way.words())).collect();
    format!(
        "keep the floor free, from the die's axis: {}; the tube comes down to {} and up to {} above the floor. Nobody near it; you too stand \
         outside it, with reach to the lever.",
        ways.join(", "),
        people.height(low),
        people.room(high)
    )
}

/// The four ways with their level directions in the bender frame.
fn ways(bender: &Bender) -> [(Way, Vector3<f64>); 4] {
    let up = bender.bend_plane.up();
    let level = |way: Vector3<f64>| (way - up.into_inner() * way.dot(&up)).try_normalize(1e-9).unwrap_or_default();
    let ahead = level(Vector3::x());
    let (across, names) = match bender.bend_plane {
        BendPlane::Horizontal => (Vector3::y() * bender.hand.sign(), [Way::DieSide, Way::AwayFromDie]),
        BendPlane::Vertical { .. } => (Vector3::z(), [Way::TowardYou, Way::AwayFromYou]),
    };
    [(Way::Ahead, ahead), (Way::Behind, -ahead), (names[0], across), (names[1], -across)]
}

/// Points of a piece, and how far it bulges out from between them, mm.
fn points(piece: &tubewright::body::Placed) -> (Vec<Vector3<f64>>, f64) {
    let Bow::Arc { centre, axis, radius, angle } = piece.bow else {
        return (vec![piece.from.coords, piece.to.coords], 0.0);
    };
    #[expect(clippy::cast_precision_loss, reason = "a handful of parts")]
    let share = |part: usize| part as f64 / PARTS as f64;
    let at = |part: usize| {
        let turn = nalgebra::Rotation3::from_axis_angle(&axis, angle.to_rad() * share(part));
        centre.coords + turn * (piece.from - centre)
    };
    let sag = radius.to_mm() * (1.0 - libm::cos(angle.to_rad() * share(1) / 2.0));
    ((0..=PARTS).map(at).collect(), sag)
}
