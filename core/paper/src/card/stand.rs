//! A stand under a tube that would tip out of the bender while the clamp is open.
//!
//! With clamp and follower open the tube rests between the follower's far end and the clamp's. Where its middle of mass lies beyond one of them it
//! tips over that edge, with its weight times how far:
//!
//! ```text
//!        middle of mass
//!              v
//!  ============o======[ follower ]( die )[clamp]====
//!       ^             ^ tips over this edge
//!     stand
//! ```
//!
//! That is asked when the tube is laid in, and about the trailing end once more at the end of the bend, before the clamp is opened: the lead
//! part has turned, the trailing part has come nearer. The stand goes under the middle of what lies beyond the edge, so that the bender carries
//! none of it; it stands under straight tube that does not run out from over it while the bend is made.

use nalgebra::{Point3, Vector3};
use serde::Serialize;
use tubewright::bender::{BendMotion, Follower, Step};
use tubewright::body::{Bow, Placed, pieces_at};
use tubewright::forming::{FormedBend, LeadEnd};
use tubewright::job::Stock;
use tubewright::round::{GRAVITY, People};
use tubewright::units::{Angle, Length};

use super::hold::{mass, middle, trail_line};
use super::unit;
use crate::words::Moment;

/// What one hand keeps up while the other closes the clamp, N m: 6.8 kg at 300 mm (common practice, no source).
const ONE_HAND: f64 = 20.0;

/// A line steeper than this has no edge to tip over: its level part is too short.
const LEVEL_PART: f64 = 0.1;

/// When it would tip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tips {
    /// As soon as it is laid in.
    LaidIn,
    /// Once it is bent and the clamp is opened.
    Bent,
}

/// Where a stand is needed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Stand {
    /// The end that would drop.
    pub end: &'static str,
    /// The moment about the edge of the follower or the clamp, N m.
    pub tips_nm: f64,
    /// When.
    pub tips: Tips,
    /// What the stand carries, kg; `None` with `from_index`.
    pub carries_kg: Option<f64>,
    /// Along the tube from the die's index to the stand; `None` where no straight tube is long enough there: then it is a second person.
    #[serde(rename = "from_index_mm", serialize_with = "unit::mm_or_null")]
    pub from_index: Option<Length>,
    /// Whether the place is ahead of the index; else behind it.
    pub ahead: bool,
    /// Whether that end swings while the bend is made, so that the stand has to go along.
    pub swings: bool,
}

/// What lies beyond one edge.
#[derive(Clone, Copy, Debug)]
struct Beyond {
    /// Weight times how far the middle of mass lies beyond the edge, N m; negative where it lies short of it.
    tips: f64,
    /// How far the middle of mass lies from the tangent point along the line, mm.
    middle: f64,
    /// The same of the tube beyond the edge alone, mm; `None` where there is none.
    over: Option<f64>,
}

impl Stand {
    /// `None` without a density or a wall, and where one hand keeps it down.
    pub(super) fn new(step: &Step<'_>, stock: &Stock) -> Option<Self> {
        let kg_per_mm = stock.kg_per_m()? * 1e-3;
        let (die, active) = (step.die(), step.active());
        let drawn = active.clr.to_mm() * active.die_angle.to_rad() / (1.0 + active.stretch);
        let moved = if die.follower == Follower::Travels { drawn } else { 0.0 };
        let (follower, clamp) = (die.follower_length.to_mm(), die.clamp_length.to_mm());
        let laid_in = beyond(step, Angle::ZERO, -1.0, follower, kg_per_mm)?;
        // A trailing part that has swung up or down steeply does not tip over an edge.
        let bent = beyond(step, active.die_angle, -1.0, follower - moved, kg_per_mm);
        let bent = bent.unwrap_or(Beyond { tips: 0.0, ..laid_in });
        let ahead = beyond(step, Angle::ZERO, 1.0, clamp, kg_per_mm)?;

        let tangent = active.tangent(step.lead).to_mm();
        let straight = |toward: LeadEnd| {
            let made = |bend: &&FormedBend| step.is_made(bend.bend);
            let (before, after) = (&step.blank.bends[..step.bend.0], &step.blank.bends[step.bend.0 + 1..]);
            match toward {
                LeadEnd::A => tangent - before.iter().rev().find(made).map_or(0.0, |bend| bend.end.to_mm()),
                LeadEnd::B => {
                    let cut = step.blank.cut_length;
                    after.iter().find(made).map_or(cut, |bend| bend.start).to_mm() - tangent
                }
            }
        };
        let od = step.blank.od.to_mm();
        let swings = step.bender.motion == BendMotion::DieStands;
        let offset = active.mark_offset.to_mm();
        if laid_in.tips.max(bent.tips) >= ONE_HAND {
            let tips = if laid_in.tips >= ONE_HAND { Tips::LaidIn } else { Tips::Bent };
            let far = straight(step.lead.other()) - drawn - od;
            let place = laid_in.over.or(bent.over).map(|over| over.min(far));
            // Short of the middle of mass it would only be another edge to tip over.
            let place = place.filter(|place| *place > laid_in.middle.max(bent.middle) && *place > follower + od);
            return Some(Self {
                end: step.lead.other().letter(),
                tips_nm: laid_in.tips.max(bent.tips),
                tips,
                carries_kg: place.map(|place| carries(laid_in.tips.max(bent.tips), place - follower)),
                from_index: place.map(|place| Length::mm(place + offset)),
                ahead: false,
                swings,
            });
        }
        (ahead.tips >= ONE_HAND).then(|| {
            let far = straight(step.lead) - od;
            let place = ahead.over.map(|over| over.min(far));
            let place = place.filter(|place| *place > ahead.middle && *place > clamp + od);
            Self {
                end: step.lead.letter(),
                tips_nm: ahead.tips,
                tips: Tips::LaidIn,
                carries_kg: place.map(|place| carries(ahead.tips, place - clamp)),
                from_index: place.map(|place| Length::mm(place - offset)),
                ahead: true,
                swings: !swings,
            }
        })
    }

    pub(super) fn words(&self, people: &People) -> Moment {
        let when = match self.tips {
            Tips::LaidIn => "laid in",
            Tips::Bent => "once bent, the clamp open,",
        };
        let end = self.end;
        let (Some(place), Some(kg)) = (self.from_index, self.carries_kg) else {
            return Moment::new(
                "STAND",
                format!(
                    "none has straight tube to stand under: a second person holds end {end}, which tips down {when}."
                ),
            );
        };
        let way = if self.ahead { "ahead of" } else { "behind" };
        let swings = match (self.swings, self.ahead) {
            (false, _) => "",
            (true, true) => " Take it away once the clamp is closed: that end swings.",
            (true, false) => " That end swings with the follower: the stand goes along, or a second person holds it.",
        };
        let (place, mass) = (people.length_with_unit(place), people.mass(kg));
        Moment::new(
            "STAND",
            format!("{place} {way} the index, under {mass}: {when} the tube tips down at end {end}.{swings}"),
        )
    }
}

/// What a stand carries that takes the whole moment, so far beyond the edge, kg.
fn carries(tips_nm: f64, beyond_mm: f64) -> f64 {
    tips_nm / GRAVITY / (beyond_mm * 1e-3)
}

/// What lies beyond the edge at `edge` mm from the tangent point: ahead of it along the line for `way` 1, behind it for -1. `None` where the tube's
/// line is too steep to tip.
fn beyond(step: &Step<'_>, angle: Angle, way: f64, edge: f64, kg_per_mm: f64) -> Option<Beyond> {
    let (on_line, line) = trail_line(step, angle);
    let out: Vector3<f64> = line * way;
    let up = step.bender.bend_plane.up();
    let level = out - up.into_inner() * out.dot(&up);
    let share = level.norm();
    if share < LEVEL_PART {
        return None;
    }
    let pieces = pieces_at(step, angle);
    let edge_point = on_line + out * edge;
    let kg: f64 = pieces.iter().map(|piece| mass(piece, kg_per_mm)).sum();
    let lever = |from: Point3<f64>, along: Vector3<f64>| -> f64 {
        pieces.iter().map(|piece| (middle(piece) - from).dot(&along) * mass(piece, kg_per_mm)).sum()
    };
    let tips = lever(edge_point, level / share) * 1e-3 * GRAVITY;
    let (mut over, mut over_kg) = (0.0, 0.0);
    for piece in &pieces {
        let (lever, kg) = part_beyond(piece, edge_point, out, kg_per_mm);
        over += lever;
        over_kg += kg;
    }
    Some(Beyond { tips, middle: lever(on_line, out) / kg, over: (over_kg > 0.0).then(|| edge + over / over_kg) })
}

/// Mass times distance beyond a point, and the mass, of the part of a piece that lies further out than it: exact for a straight, the whole arc counted
/// where its middle lies further out.
fn part_beyond(piece: &Placed, from: Point3<f64>, out: Vector3<f64>, kg_per_mm: f64) -> (f64, f64) {
    let at = |point: Point3<f64>| (point - from).dot(&out);
    let whole = mass(piece, kg_per_mm);
    if let Bow::Straight = piece.bow {
        let (near, far) = (at(piece.from).min(at(piece.to)), at(piece.from).max(at(piece.to)));
        if near < 0.0 && far > 0.0 {
            let kg = whole * far / (far - near);
            return (far / 2.0 * kg, kg);
        }
    }
    let distance = at(middle(piece));
    if distance > 0.0 { (distance * whole, whole) } else { (0.0, 0.0) }
}
