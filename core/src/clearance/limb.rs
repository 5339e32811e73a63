//! One part of the tube with all that is asked of it again and again: the room of each piece, and what must be kept.

use glam::DVec3;

use super::kernel::Bounds;
use super::obstacle::Ring;
use crate::bender::{BendMotion, Follower, Step};
use crate::body::{Curve, Part, Piece, Side, tangent_point};
use crate::forming::{FormedBend, LeadEnd};
use crate::motion::{Relative, Ride};

/// The figures of a step that do not depend on which bends are made.
#[derive(Clone, Copy, Debug)]
pub(super) struct Setting {
    /// +1 where the die turns anticlockwise.
    pub(super) sign: f64,
    /// Blank drawn in, mm for each radian.
    pub(super) feed: f64,
    /// Die angle at the end, radians.
    pub(super) target: f64,
    /// Half the tube's OD.
    pub(super) radius: f64,
    pub(super) motion: BendMotion,
    pub(super) follower: Follower,
    follower_length: f64,
    pub(super) clamp: f64,
    die_od: f64,
    pub(super) tangent: DVec3,
    pub(super) lead: LeadEnd,
    /// Place of the tangent point on the blank at die angle 0.
    origin: f64,
    pub(super) keep: f64,
    pub(super) comfortable: f64,
    /// Variance of a mark, mm2.
    pub(super) mark: f64,
    /// Variance that each bend adds for each mm2 of distance.
    pub(super) each: f64,
    /// Look at die angles so far apart only, radians: for benchmarks.
    pub(super) samples: Option<f64>,
}

impl Setting {
    pub(super) fn new(step: &Step<'_>) -> Self {
        let (bend, die, bender) = (step.active(), step.die(), step.bender);
        let square = |sd: f64| sd * sd;
        let (mark, each) = bender.accuracy.map_or((0.0, 0.0), |accuracy| {
            (square(accuracy.mark.to_mm()), square(accuracy.bend.to_rad()) + square(accuracy.rotation.to_rad()))
        });
        Self {
            sign: bender.hand.sign(),
            feed: bend.clr.to_mm() / (1.0 + bend.stretch),
            target: bend.die_angle.to_rad().max(0.0),
            radius: 0.5 * step.blank.od.to_mm(),
            motion: bender.motion,
            follower: die.follower,
            follower_length: die.follower_length.to_mm(),
            clamp: die.clamp_length.to_mm(),
            die_od: die.od.to_mm(),
            tangent: tangent_point(bender.hand, bend.clr.to_mm()),
            lead: step.lead,
            origin: bend.tangent(step.lead).to_mm(),
            keep: bender.clearance.keep.to_mm(),
            comfortable: bender.clearance.comfortable.to_mm(),
            mark,
            each,
            samples: None,
        }
    }

    /// Place along the blank, from the tangent point at die angle 0, of the follower's far end. Never falls.
    #[inline]
    pub(super) fn follower_end(&self, angle: f64) -> f64 {
        let drawn = self.feed * angle;
        match self.follower {
            Follower::Stands => drawn + self.follower_length,
            Follower::Travels => drawn.max(self.follower_length),
        }
    }

    /// The gap that must be kept where the variance is so much.
    #[inline]
    pub(super) fn need(&self, variance: f64) -> f64 {
        self.keep + 2.0 * variance.sqrt()
    }

    /// Whether the gap to be kept is the same everywhere.
    #[inline]
    pub(super) fn is_even(&self) -> bool {
        self.each <= 0.0
    }

    /// Where a point of the frame in which the die turns lies in the bender frame.
    pub(super) fn in_bender(&self, point: DVec3, angle: f64) -> DVec3 {
        if self.motion == BendMotion::DieTurns {
            return point;
        }
        Relative { turn: -self.sign, push: 0.0, back: 0.0 }.at(angle).point(point)
    }
}

/// Which set of points is walked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Lead,
    Trail,
    /// The arc that is being wrapped: it stands on its circle from T on, as far as the die has turned. Or the arc as it is
    /// after the bend.
    Wrap,
}

/// Which places of a limb are looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cut {
    /// All that there is.
    None,
    /// Beyond what holds the tube.
    Held,
    /// Beyond the clamp or the follower, against the other part.
    Own,
}

/// The tangent points of the made bends between the die and a piece, summed up.
#[derive(Clone, Copy, Debug, Default)]
struct Anchors {
    count: f64,
    sum: DVec3,
    squares: f64,
}

/// A part of the tube at die angle 0.
#[derive(Clone, Debug)]
pub(super) struct Limb {
    pub(super) kind: Kind,
    pub(super) pieces: Vec<Piece>,
    pub(super) rooms: Vec<(Bounds, Ring)>,
    anchors: Vec<Anchors>,
    pub(super) bounds: Bounds,
    pub(super) ring: Ring,
    /// Up to the next made bend, or the end; of the arc that is being wrapped, behind it at die angle 0.
    pub(super) unbent: f64,
    pub(super) end: f64,
}

impl Limb {
    pub(super) fn new(step: &Step<'_>, setting: &Setting, side: Side) -> Self {
        let part = Part::new(step.blank, step.bender.hand, step.active(), step.lead, side, step.made);
        let kind = if side == Side::Lead { Kind::Lead } else { Kind::Trail };
        let unbent = part.next_made.unwrap_or(part.end);
        Self::of(kind, part.pieces, unbent, part.end, setting)
    }

    /// The arc that is being wrapped, as a limb of its own. At die angle 0 the tube ends so far behind the tangent point, and the nearest bend
    /// made there begins at `unbent`, or it is the end.
    pub(super) fn wrapped(setting: &Setting, unbent: f64, trail_end: f64) -> Self {
        let across = DVec3::new(0.0, -setting.sign, 0.0);
        let radius = setting.tangent.length();
        let curve = Curve::Arc { centre: DVec3::ZERO, across, along: DVec3::X, radius, angle: setting.target };
        let far = setting.feed * setting.target;
        let mut piece =
            Piece { from: setting.tangent, to: DVec3::ZERO, near: 0.0, far, turn_near: 0.0, turn_far: 0.0, curve };
        piece.to = piece.at(1.0);
        Self::of(Kind::Wrap, vec![piece], unbent, trail_end, setting)
    }

    /// Whether a body that rides so is, at some die angle, as near to another part of the tube as it ever is to the arc that is being wrapped. See
    /// the notes of `clearance::machine`.
    pub(super) fn is_as_near_elsewhere(&self, setting: &Setting, ride: Ride) -> bool {
        self.kind == Kind::Wrap
            && match ride {
                Ride::Stands => true,
                Ride::Turns => self.unbent >= self.end.min(setting.feed * setting.target),
                Ride::Travels => false,
            }
    }

    /// The arc after its springback, from the tangent point on as a limb of its own: the finished arc, and ahead of it what was drawn
    /// in beyond it, straight again. Both lie as they do where the trailing part begins at the tangent point.
    pub(super) fn relaxed(setting: &Setting, bend: &FormedBend, trail_end: f64) -> Self {
        let across = DVec3::new(0.0, -setting.sign, 0.0);
        let (radius, angle) = (bend.formed_radius.to_mm(), bend.angle.to_rad());
        let far = bend.blank_arc.to_mm();
        let centre = setting.tangent - radius * across;
        let curve = Curve::Arc { centre, across, along: DVec3::X, radius, angle };
        let at_rest = |from: DVec3, to: DVec3, near: f64, far: f64, curve: Curve| Piece {
            from,
            to,
            near,
            far,
            turn_near: 0.0,
            turn_far: 0.0,
            curve,
        };
        let mut arc = at_rest(setting.tangent, DVec3::ZERO, 0.0, far, curve);
        arc.to = arc.at(1.0);
        let mut pieces = vec![arc];
        let drawn = setting.feed * setting.target;
        if drawn > far {
            let (sin, cos) = libm::sincos(angle);
            let ahead = DVec3::new(cos, setting.sign * sin, 0.0);
            pieces.push(at_rest(arc.to, arc.to + (drawn - far) * ahead, far, drawn, Curve::Straight));
        }
        Self::of(Kind::Wrap, pieces, drawn, trail_end, setting)
    }

    fn of(kind: Kind, pieces: Vec<Piece>, unbent: f64, end: f64, setting: &Setting) -> Self {
        let mut limb = Self::empty(kind, end, pieces.len());
        limb.unbent = unbent;
        for piece in pieces {
            limb.push(piece, setting);
        }
        limb
    }

    /// A limb to be grown; all of it is taken for unbent.
    pub(super) fn empty(kind: Kind, end: f64, room: usize) -> Self {
        Self {
            kind,
            pieces: Vec::with_capacity(room),
            rooms: Vec::with_capacity(room),
            anchors: Vec::new(),
            bounds: Bounds::EMPTY,
            ring: Ring::EMPTY,
            unbent: end,
            end,
        }
    }

    /// Adds a piece at the far end.
    pub(super) fn push(&mut self, piece: Piece, setting: &Setting) {
        let (sag, is_arc) = match piece.curve {
            Curve::Straight => (0.0, false),
            Curve::Arc { .. } => (piece.whole_sag(), true),
        };
        let room = (Bounds::of(piece.from, piece.to).grown(sag), Ring::of_line(piece.from, piece.to, sag));
        self.bounds = self.bounds.with(room.0);
        self.ring = self.ring.with(room.1);
        self.rooms.push(room);
        if !setting.is_even() {
            let mut passed = self.anchors.last().copied().unwrap_or_default();
            if is_arc && self.kind != Kind::Wrap {
                passed.count += 1.0;
                passed.sum += piece.from;
                passed.squares += piece.from.length_squared();
            }
            self.anchors.push(passed);
        }
        self.pieces.push(piece);
    }

    /// Takes pieces off the far end again. The room of the whole stays as large as it was.
    pub(super) fn cut_back(&mut self, pieces: usize) {
        self.pieces.truncate(pieces);
        self.rooms.truncate(pieces);
        self.anchors.truncate(pieces);
    }

    /// Says where the straight stretch that begins at the tangent point ends.
    pub(super) fn set_unbent(&mut self, unbent: f64) {
        self.unbent = unbent;
    }

    /// The gap that must be kept where it is most, over the whole motion; of the tube against itself for this part alone.
    pub(super) fn most_needed(&self, setting: &Setting) -> f64 {
        if setting.is_even() {
            return setting.need(setting.mark);
        }
        let ends = |piece: usize| {
            let Piece { from, to, .. } = self.pieces[piece];
            let room = self.variance_slope(setting, piece) * self.pieces[piece].whole_sag();
            [(from, 0.0), (to, 0.0), (from, setting.target), (to, setting.target)]
                .map(|(point, angle)| self.variance(setting, piece, point, angle).sqrt() + room)
        };
        let most = (0..self.pieces.len()).flat_map(ends).fold(setting.mark.sqrt(), f64::max);
        setting.need(most * most)
    }

    pub(super) const fn ride(&self) -> Ride {
        match self.kind {
            Kind::Lead => Ride::Turns,
            Kind::Trail => Ride::Travels,
            Kind::Wrap => Ride::Stands,
        }
    }

    /// The place from which on the limb is looked at, at a die angle: it never falls as the angle grows.
    #[inline]
    pub(super) fn cut(&self, setting: &Setting, cut: Cut, angle: f64) -> f64 {
        match (self.kind, cut) {
            (Kind::Lead, Cut::None) => 0.0,
            // What is behind the end of the tube is not there.
            (Kind::Wrap, _) => setting.feed * angle - self.end,
            (Kind::Trail, Cut::None) => setting.feed * angle,
            (Kind::Lead, Cut::Held) => self.unbent.max(setting.clamp + setting.die_od),
            (Kind::Trail, Cut::Held) => self.unbent.max(setting.follower_end(angle) + setting.die_od),
            (Kind::Lead, Cut::Own) => setting.clamp,
            (Kind::Trail, Cut::Own) => setting.follower_end(angle),
        }
    }

    /// What the shop's accuracy moves a point by: its variance, mm2. `point` lies at die angle 0; the blank has been drawn in
    /// by the die angle.
    #[inline]
    pub(super) fn variance(&self, setting: &Setting, piece: usize, point: DVec3, angle: f64) -> f64 {
        if setting.is_even() || self.kind == Kind::Wrap {
            return setting.mark;
        }
        let drawn = if self.kind == Kind::Trail { setting.feed * angle } else { 0.0 };
        let own = (point - setting.tangent + drawn * DVec3::X).length_squared();
        let Anchors { count, sum, squares } = self.anchors[piece];
        let bends = (count * point.length_squared() - 2.0 * point.dot(sum) + squares).max(0.0);
        setting.mark + setting.each * (own + bends)
    }

    /// Whether what must be kept at a piece can grow as the die turns, though the piece stays where it is as an obstacle sees
    /// it. What trails is drawn in toward the die and, beyond that, away from it: a piece that lies back over the die. The first
    /// straight does not come so far.
    pub(super) fn need_grows(&self, setting: &Setting, piece: usize) -> bool {
        let first = piece == 0 && matches!(self.pieces[piece].curve, Curve::Straight);
        !setting.is_even() && self.kind == Kind::Trail && !first
    }

    /// How much the root of the variance can grow for each mm that a point is off.
    pub(super) fn variance_slope(&self, setting: &Setting, piece: usize) -> f64 {
        if setting.is_even() || self.kind == Kind::Wrap {
            return 0.0;
        }
        (setting.each * (1.0 + self.anchors[piece].count)).sqrt()
    }

    /// The place on the blank, from the cut end at A.
    pub(super) fn on_blank(&self, setting: &Setting, piece: usize, fraction: f64, angle: f64) -> f64 {
        let place = self.pieces[piece].place(fraction);
        let behind = match self.kind {
            Kind::Lead => -place,
            Kind::Trail => place,
            Kind::Wrap => setting.feed * angle - place,
        };
        if setting.lead == LeadEnd::A { setting.origin + behind } else { setting.origin - behind }
    }

    /// Where a point of a piece lies in the bender frame at a die angle.
    pub(super) fn in_bender(&self, setting: &Setting, piece: usize, fraction: f64, angle: f64) -> DVec3 {
        let moved = Relative::new(self.ride(), Ride::Stands, setting.sign, setting.feed).at(angle);
        setting.in_bender(moved.point(self.pieces[piece].at(fraction)), angle)
    }
}
