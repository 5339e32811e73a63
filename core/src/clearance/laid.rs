//! One step laid out: its two sides, the arc being wrapped, how they move, what of them is looked at, and what must be kept.

use nalgebra::Vector3;

use super::Step;
use crate::bender::{Die, Follower};
use crate::body::{MadeBend, Piece, Side, Which, wrapped};
use crate::motion::{BendKinematics, Carriage};

/// One of the three parts of the tube during a bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Part {
    Lead,
    Trail,
    Wrap,
}

/// A step, laid out.
#[derive(Clone, Debug)]
pub(super) struct Laid<'a> {
    pub(super) step: &'a Step<'a>,
    pub(super) die: &'a Die,
    pub(super) kinematics: BendKinematics,
    /// Die angle at the end, radians.
    pub(super) target: f64,
    /// Half the tube's OD.
    pub(super) half: f64,
    pub(super) lead: Side,
    pub(super) trail: Side,
    pub(super) wrap: [Piece; 1],
    need: Need,
}

/// The gap that must be kept: constant, or growing with the distance from the die by the shop's own accuracy.
#[derive(Clone, Copy, Debug)]
struct Need {
    keep: f64,
    /// Variance of a mark, mm2.
    mark: f64,
    /// Variance that each bend adds for each mm2 of distance.
    each: f64,
}

impl<'a> Laid<'a> {
    pub(super) fn new(step: &'a Step<'a>) -> Self {
        let bend = &step.blank.bends[step.bend.0];
        let die = &step.bender.dies[bend.die];
        let feed = bend.clr.to_mm() / (1.0 + bend.stretch);
        let kinematics = BendKinematics::new(step.bender, die, feed);
        let target = bend.die_angle.to_rad();
        let keep = step.bender.clearance.keep.to_mm();
        let need = step.bender.accuracy.map_or(Need { keep, mark: 0.0, each: 0.0 }, |accuracy| Need {
            keep,
            mark: accuracy.mark.to_mm() * accuracy.mark.to_mm(),
            each: accuracy.bend.to_rad() * accuracy.bend.to_rad()
                + accuracy.rotation.to_rad() * accuracy.rotation.to_rad(),
        });
        Self {
            step,
            die,
            kinematics,
            target,
            half: 0.5 * step.blank.od.to_mm(),
            lead: Side::new(step, Which::Lead),
            trail: Side::new(step, Which::Trail),
            wrap: [wrapped(step, kinematics.sign, feed, target)],
            need,
        }
    }

    pub(super) fn pieces(&self, part: Part) -> &[Piece] {
        match part {
            Part::Lead => &self.lead.pieces,
            Part::Trail => &self.trail.pieces,
            Part::Wrap => &self.wrap,
        }
    }

    pub(super) fn carriage(&self, part: Part) -> Carriage {
        match part {
            Part::Lead => self.kinematics.lead(),
            Part::Trail => self.kinematics.trail(),
            Part::Wrap => self.kinematics.behind(),
        }
    }

    /// Where the follower's far end stands along the blank.
    pub(super) fn follower_end(&self, a: f64) -> f64 {
        let (fed, length) = (self.kinematics.feed * a, self.die.follower_length.to_mm());
        match self.die.follower {
            Follower::Stands => fed + length,
            Follower::Travels => fed.max(length),
        }
    }

    /// The place from which on a part is looked at, at a die angle: never falls as the angle grows. `holds`: against what holds the tube.
    pub(super) fn from(&self, part: Part, holds: bool, a: f64) -> f64 {
        let od = self.die.od.to_mm();
        match (part, holds) {
            (Part::Lead, false) | (Part::Wrap, false) => 0.0,
            (Part::Trail, false) => self.kinematics.feed * a,
            (Part::Lead, true) => self.lead.unbent.max(self.die.clamp_length.to_mm() + od),
            (Part::Trail, true) => self.trail.unbent.max(self.follower_end(a) + od),
            (Part::Wrap, true) => f64::INFINITY,
        }
    }

    /// What the shop's accuracy adds to the variance of a place, mm2.
    pub(super) fn variance(&self, part: Part, s: f64, a: f64) -> f64 {
        let Need { mark, each, .. } = self.need;
        if each <= 0.0 {
            return mark;
        }
        // The tangent point is where the arc being made ends on either side.
        let tangent = self.wrap[0].point(0.0);
        let (side, fed) = match part {
            Part::Wrap => return mark,
            Part::Lead => (&self.lead, 0.0),
            Part::Trail => (&self.trail, self.kinematics.feed * a),
        };
        let p = side.point(s);
        let own = (p + Vector3::x() * fed - tangent).norm_squared();
        let bends: f64 = side
            .bends
            .iter()
            .take_while(|bend| bend.near < s)
            .map(|bend: &MadeBend| (p - bend.point).norm_squared())
            .sum();
        mark + each * (own + bends)
    }

    /// The gap that must be kept at a place: two standard deviations more than `keep`.
    pub(super) fn need(&self, part: Part, s: f64, a: f64) -> f64 {
        self.need.keep + 2.0 * self.variance(part, s, a).sqrt()
    }

    /// Whether the gap to be kept is the same everywhere.
    pub(super) fn need_is_constant(&self) -> bool {
        self.need.each <= 0.0
    }

    /// `keep` with what the accuracy of the marks adds: the least that must be kept anywhere.
    pub(super) fn least_need(&self) -> f64 {
        self.need.keep + 2.0 * self.need.mark.sqrt()
    }

    /// `keep` alone.
    pub(super) fn keep(&self) -> f64 {
        self.need.keep
    }

    /// How fast the gap to be kept can grow along a part, for each mm.
    pub(super) fn need_slope(&self, part: Part) -> f64 {
        let bends = match part {
            Part::Wrap => return 0.0,
            Part::Lead => self.lead.bends.len(),
            Part::Trail => self.trail.bends.len(),
        };
        // The root of a sum of squares of distances is as steep as the root of their number at most.
        2.0 * (self.need.each * (bends as f64 + 1.0)).sqrt()
    }

    /// The place on the blank, from the cut end at A. For the wrapped arc `s` is the place on its circle.
    pub(super) fn blank(&self, part: Part, s: f64, a: f64) -> f64 {
        use crate::forming::LeadEnd;
        let bend = &self.step.blank.bends[self.step.bend.0];
        let toward_lead = match part {
            Part::Lead => s,
            Part::Trail => -s,
            Part::Wrap => s - self.kinematics.feed * a,
        };
        match self.step.lead {
            LeadEnd::A => bend.start.to_mm() - toward_lead,
            LeadEnd::B => bend.end.to_mm() + toward_lead,
        }
    }
}
