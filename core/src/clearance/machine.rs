//! A bender made ready for questions, and the questions.
//!
//! The lead part against the machine, the trailing part against the machine, and one against the other are three
//! questions: the first depends only on which bends ahead are made, the second only on which bends behind are. A search
//! over orders asks each of them once ([`LeadPart`], [`TrailPart`]).
//!
//! # The arc that is being wrapped
//!
//! Seen with the die turning, the place of the blank that passes the tangent point T at die angle b lies from then on, at a >= b, at
//! R(a - b) T, R the turn of the die. The lead part is all that was ahead of T at die angle 0 and so begins at R(a) T; the trailing part is all that
//! has not passed T yet and so begins, if it comes straight to T, at T.
//!
//! ```text
//!   die angle a ^        /|  a = target: the finished arc        at (b, a) the place is at R(a - b) T
//!               |       / |
//!               |      /..|  constant a - b: to what stands      on the left edge b = 0: where the lead part begins
//!               |     /  :|
//!               |    /   :|  constant b: to what turns           on the slope a = b: where the trailing part begins
//!               |   /    :|
//!             0 +--+------+-> b
//! ```
//!
//! Its gap to a body depends on how that rides:
//!
//! - On what stands (`on: frame` and the floor with `die-turns`, `on: follower` where the follower stands or the die does): on a - b alone, so that it
//!   is what the lead part has at its beginning at die angle a - b.
//! - On what turns (`on: die`; `on: frame` and the floor with `die-stands`): on b alone, so that it is what the trailing part has at its beginning at
//!   die angle b. That part comes straight to T until its nearest made bend does: where that is drawn in before the target, as the hard limits forbid,
//!   the arc is looked at itself. Where the tube ends before, there is no more of either.
//! - On what travels (`on: follower` with `die-turns` and `follower: travels`): on both. The arc is looked at itself.
//!
//! What must be kept at T is the same for all three, since no bend and no distance lies between the mark and T. And against die, clamp and follower all
//! of the arc is left out.
//!
//! Looking at the arc where it need not be is not only slower. A gap that depends on b alone is least along a whole line of the triangle, of
//! which all must be followed at the fineness of the answer; where the line is the slope a = b, at which the arc ends and the gap still falls,
//! the budget does not last.

use glam::DVec3;
use nalgebra::Point3;

use super::kernel::{Bounds, Form};
use super::limb::{Cut, Kind, Limb, Setting};
use super::obstacle::{Body, Obstacle, Ring, own, tools};
use super::search::{Other, Pair, Place, SLACK, Search, Smallest};
use super::{Bar, CONTACT, Clearance, Decision, Motion, Nearest, StepReport, Verdict, Way, swing};
use crate::bender::{Bender, Carrier, Step};
use crate::body::{Curve, Side};
use crate::motion::{Course, Relative, Ride};
use crate::units::{Angle, Length};

/// The tube turns by so much at least between two pieces that can meet.
pub(super) const SQUARE: f64 = core::f64::consts::FRAC_PI_2;

/// A bender made ready for questions; make it once and ask it for every step.
#[derive(Debug)]
pub struct Machine {
    /// The solids of the file's own, then the floor.
    pub(super) own: Vec<Obstacle>,
    /// For each die: die, clamp, follower.
    pub(super) tools: Vec<[Obstacle; 3]>,
    /// Die angles so far apart are looked at only, radians; `None`, as always but in benchmarks: all of them, by bounds.
    pub(super) samples: Option<f64>,
}

/// The part of the tube ahead of the die, for one bend and the bends made ahead of it.
#[derive(Clone, Debug)]
pub struct LeadPart {
    pub(super) setting: Setting,
    pub(super) die: usize,
    pub(super) limb: Limb,
}

/// The part of the tube behind the die, for one bend and the bends made behind it, with the arc that is being wrapped.
#[derive(Clone, Debug)]
pub struct TrailPart {
    setting: Setting,
    die: usize,
    pub(super) limb: Limb,
    /// Left out where it can be nearer to no body than the two parts are.
    pub(super) wrapped: Option<Limb>,
}

/// Either part of the tube.
#[derive(Clone, Copy, Debug)]
pub(crate) enum PartOf<'a> {
    Lead(&'a LeadPart),
    Trail(&'a TrailPart),
}

impl LeadPart {
    /// Of a step; only the bends on the lead end's side of `made` count.
    ///
    /// # Panics
    /// Where the blank has no such bend or the bender no such die.
    #[must_use]
    pub fn new(step: &Step<'_>) -> Self {
        Self::with(step, Setting::new(step))
    }

    fn with(step: &Step<'_>, setting: Setting) -> Self {
        Self { setting, die: step.active().die, limb: Limb::new(step, &setting, Side::Lead) }
    }
}

impl TrailPart {
    /// Of a step; only the bends on the other end's side of `made` count.
    ///
    /// # Panics
    /// Where the blank has no such bend or the bender no such die.
    #[must_use]
    pub fn new(step: &Step<'_>) -> Self {
        Self::with(step, Setting::new(step))
    }

    fn with(step: &Step<'_>, setting: Setting) -> Self {
        let limb = Limb::new(step, &setting, Side::Trail);
        let wrapped = Limb::wrapped(&setting, limb.unbent, limb.end);
        let counts = [Carrier::Frame, Carrier::Die, Carrier::Follower]
            .map(|on| Ride::of(on, setting.motion, setting.follower))
            .iter()
            .any(|ride| !wrapped.is_as_near_elsewhere(&setting, *ride));
        let wrapped = counts.then_some(wrapped);
        Self { setting, die: step.active().die, limb, wrapped }
    }
}

impl Machine {
    /// The bender with all its solids, and with the die, clamp and follower of each of its dies.
    #[must_use]
    pub fn new(bender: &Bender) -> Self {
        let tools = bender.dies.iter().map(|die| tools(bender, die)).collect();
        Self { own: own(bender), tools, samples: None }
    }

    /// A machine that decides, and searches over orders, by looking at die angles so far apart only, which proves nothing: to see in benchmarks what
    /// a proof costs.
    #[doc(hidden)]
    #[must_use]
    pub fn sampling(bender: &Bender, every: Angle) -> Self {
        Self { samples: Some(every.to_rad()), ..Self::new(bender) }
    }

    /// In the order of a report: the file's own, the floor, die, clamp, follower.
    pub(super) fn obstacles(&self, die: usize) -> impl Iterator<Item = &Obstacle> {
        self.own.iter().chain(self.tools.get(die).into_iter().flatten())
    }

    /// Whether every gap of one step is at least what must be kept.
    ///
    /// What falls short by less than 1e-6 mm is rounding. The budget is counted in places looked at, so that the answer is
    /// the same on every machine. The hard limits are not looked at.
    ///
    /// # Panics
    /// Where the step does not belong to the bender of this machine.
    #[must_use]
    pub fn decide(&self, step: &Step<'_>) -> Decision {
        let mut setting = Setting::new(step);
        setting.samples = self.samples;
        let (lead, trail) = (LeadPart::with(step, setting), TrailPart::with(step, setting));
        let mut worst = Decision::Clear;
        for question in 0..3 {
            let answer = match question {
                0 => self.decide_lead(&lead),
                1 => self.decide_trail(&trail),
                _ => self.decide_between(&lead, &trail),
            };
            match answer {
                Decision::Clear => {}
                Decision::NotClear => return answer,
                Decision::Unproven => worst = answer,
            }
        }
        worst
    }

    /// Whether the part ahead keeps its distance from all solids, the floor and what holds the tube.
    #[must_use]
    pub fn decide_lead(&self, part: &LeadPart) -> Decision {
        self.decide_limbs(&part.setting, part.die, &part.limb, None)
    }

    /// Whether the part behind, and the arc that is being wrapped, keep their distance from all solids, the floor and what
    /// holds the tube.
    #[must_use]
    pub fn decide_trail(&self, part: &TrailPart) -> Decision {
        self.decide_limbs(&part.setting, part.die, &part.limb, part.wrapped.as_ref())
    }

    /// Whether the two parts of one step keep their distance from each other.
    #[must_use]
    pub fn decide_between(&self, lead: &LeadPart, trail: &TrailPart) -> Decision {
        let setting = &lead.setting;
        let mut search = Search::new(setting);
        let limit = if setting.is_even() { setting.need(2.0 * setting.mark) } else { f64::INFINITY };
        gather_between(&mut search, setting, &lead.limb, &trail.limb, limit);
        decision(search.hold(Bar::Keep, setting.need(2.0 * setting.mark)).passes)
    }

    /// Which obstacles a part comes too near to, as bits in the order of a report without the tube itself; what lies beyond 128 counts as the last.
    pub(crate) fn blockers(&self, part: PartOf<'_>, bar: Bar) -> u128 {
        let (setting, die, limb, wrapped) = match part {
            PartOf::Lead(part) => (&part.setting, part.die, &part.limb, None),
            PartOf::Trail(part) => (&part.setting, part.die, &part.limb, part.wrapped.as_ref()),
        };
        let mut bits = 0;
        for (place, obstacle) in self.obstacles(die).enumerate() {
            let mut search = Search::new(setting);
            let limbs = core::iter::once(limb).chain(wrapped);
            let inside = limbs
                .filter_map(|limb| gather(&mut search, setting, limb, obstacle, limb.most_needed(setting)))
                .next()
                .is_some();
            let kept = || match bar {
                Bar::Keep => search.is_kept(),
                Bar::Touch => search.is_apart(),
            };
            if inside || kept() != Some(true) {
                bits |= 1 << place.min(127);
            }
        }
        bits
    }

    /// Names of the obstacles in the order of a report, without the tube itself.
    pub(crate) fn names(&self, die: usize) -> impl Iterator<Item = &str> {
        self.obstacles(die).map(|obstacle| obstacle.name.as_str())
    }

    fn decide_limbs(&self, setting: &Setting, die: usize, limb: &Limb, wrapped: Option<&Limb>) -> Decision {
        let mut search = Search::new(setting);
        for limb in core::iter::once(limb).chain(wrapped) {
            let limit = limb.most_needed(setting);
            for obstacle in self.obstacles(die) {
                if gather(&mut search, setting, limb, obstacle, limit).is_some() {
                    return Decision::NotClear;
                }
            }
        }
        decision(search.hold(Bar::Keep, setting.need(setting.mark)).passes)
    }

    /// The full answer for one step: every gap with its witness.
    ///
    /// Gaps are certified: at most 0.01 mm under the truth and not above it, but for rounding; 0 at a contact, with the first
    /// die angle at which it happens to 0.001 degree. The gap that must be kept is looked at at every place, so that with the shop's
    /// accuracy a step can be tight at another place than that of the smallest gap.
    ///
    /// # Panics
    /// Where the step does not belong to the bender of this machine.
    #[must_use]
    pub fn report(&self, step: &Step<'_>) -> StepReport {
        let setting = Setting::new(step);
        let (lead, trail) = (LeadPart::with(step, setting), TrailPart::with(step, setting));
        let setting = &setting;
        let limbs = [Some(&lead.limb), Some(&trail.limb), trail.wrapped.as_ref()];
        let place = |pair: &Pair<'_>, place: &Place| {
            (pair.limb.in_bender(setting, pair.piece, place.fraction, place.angle), place.angle)
        };
        let mut clearances: Vec<Clearance> = self
            .obstacles(lead.die)
            .map(|obstacle| {
                let mut search = Search::new(setting);
                let mut inside = None;
                for limb in limbs.into_iter().flatten() {
                    let limit = setting.comfortable.max(limb.most_needed(setting));
                    inside = inside.or(gather(&mut search, setting, limb, obstacle, limit));
                }
                against(&obstacle.name, BEND, setting, &search, inside, &place)
            })
            .collect();
        let mut between = Search::new(setting);
        gather_between(&mut between, setting, &lead.limb, &trail.limb, f64::INFINITY);
        clearances.push(against("tube", BEND, setting, &between, None, &place));
        let verdict = clearances.iter().map(|clearance| clearance.verdict).max().unwrap_or(Verdict::Clear);
        let swing = swing::swing(step, setting, &lead.limb, &trail.limb);
        StepReport { clearances, swing, verdict }
    }
}

pub(super) const fn decision(kept: Option<bool>) -> Decision {
    match kept {
        Some(true) => Decision::Clear,
        Some(false) => Decision::NotClear,
        None => Decision::Unproven,
    }
}

/// The pairs of one part of the tube and one obstacle that may come nearer than a limit. A place where the tube lies inside a
/// closed surface at die angle 0 is handed back instead.
pub(super) fn gather<'a>(
    search: &mut Search<'a>,
    setting: &Setting,
    limb: &'a Limb,
    obstacle: &'a Obstacle,
    limit: f64,
) -> Option<Place> {
    let cut = if obstacle.holds { Cut::Held } else { Cut::None };
    let from = limb.cut(setting, cut, 0.0);
    // Rounding of places along the blank: what is held up to its end is held whole.
    if obstacle.holds && (limb.kind == Kind::Wrap || from >= limb.end - 1e-9) {
        return None;
    }
    let reach = limit + setting.radius + SLACK;
    for body in &obstacle.bodies {
        let ride = Ride::of(body.on, setting.motion, setting.follower);
        if limb.is_as_near_elsewhere(setting, ride) {
            continue;
        }
        let relative = relative(setting, limb.kind, body, ride);
        let room = Room::new(setting, body, &relative);
        if room.apart_squared(&limb.bounds, &limb.ring) > reach * reach {
            continue;
        }
        let other = match &body.form {
            Form::Mesh(mesh) if mesh.is_empty() => continue,
            Form::Mesh(mesh) => Other::Mesh(mesh),
            form => Other::Form(form),
        };
        if let Other::Mesh(_) = other
            && let Some(last) = limb.pieces.last()
            && limb.kind != Kind::Wrap
            && body.form.holds(last.to)
        {
            // The end of the tube is held against everything that any place of its part is. A part that starts outside comes inside
            // through the surface only.
            let piece = limb.pieces.len() - 1;
            search.pairs.push(Pair { limb, piece, cut, other, course: relative, from: 0.0, to: setting.target });
            let pair = search.pairs.len() - 1;
            return Some(Place { value: 0.0, pair, fraction: 1.0, other: 0.0, angle: 0.0 });
        }
        for (index, (bounds, ring)) in limb.rooms.iter().enumerate() {
            if room.apart_squared(bounds, ring) > reach * reach || limb.pieces[index].far < from {
                continue;
            }
            let course = if slides(limb, index, cut, &relative) {
                Relative { turn: 0.0, push: 0.0, back: 0.0 }
            } else {
                relative
            };
            search.pairs.push(Pair { limb, piece: index, cut, other, course, from: 0.0, to: setting.target });
        }
    }
    None
}

/// Whether a piece slides along itself, as the first straight of the trailing part does: no place of it is ever where none was
/// at rest.
pub(super) fn slides(limb: &Limb, piece: usize, cut: Cut, relative: &Relative) -> bool {
    piece == 0
        && limb.kind == Kind::Trail
        && matches!(limb.pieces[piece].curve, Curve::Straight)
        && !relative.turns()
        && cut == Cut::None
}

pub(super) fn relative(setting: &Setting, kind: Kind, body: &Body, ride: Ride) -> Relative {
    let tube = match kind {
        Kind::Lead => Ride::Turns,
        Kind::Trail => Ride::Travels,
        Kind::Wrap => Ride::Stands,
    };
    let ride = match (body.round && ride != Ride::Travels, kind) {
        // A floor square to the axis does not care about anything that a bend does; a disc about the axis may be taken to stand or
        // to turn as suits the tube.
        (true, _) if matches!(body.form, Form::Below { .. }) => tube,
        (true, Kind::Lead) => Ride::Turns,
        (true, Kind::Trail) => Ride::Stands,
        _ => ride,
    };
    Relative::new(tube, ride, setting.sign, setting.feed)
}

/// A body with all the room that it takes, over the whole motion, as a part of the tube sees it.
pub(super) struct Room<'a> {
    ring: &'a Ring,
    /// The way that either moves across z besides turning.
    sway: f64,
    bounds: Bounds,
    turns: bool,
    still: bool,
}

impl<'a> Room<'a> {
    pub(super) fn new(setting: &Setting, body: &'a Body, relative: &Relative) -> Self {
        // The tube goes this way along x; the body is drawn out against it.
        let way = (relative.push - relative.back) * setting.target * DVec3::X;
        let Bounds { min, max } = body.bounds;
        Self {
            ring: &body.ring,
            sway: (relative.push.abs() + relative.back.abs()) * setting.target,
            bounds: body.bounds.with(Bounds { min: min - way, max: max - way }),
            turns: relative.turns(),
            still: relative.is_still(),
        }
    }

    /// Lower bound on the square of the distance to a piece of tube in its room.
    #[inline]
    pub(super) fn apart_squared(&self, bounds: &Bounds, ring: &Ring) -> f64 {
        if self.turns {
            return ring.apart_squared(self.ring, self.sway);
        }
        let by_box = bounds.apart_squared(&self.bounds);
        if self.still { by_box.max(ring.apart_squared(self.ring, 0.0)) } else { by_box }
    }
}

/// The pairs of pieces of the two parts between whose far ends the tube turns by a right angle or more at some die angle.
pub(super) fn gather_between<'a>(
    search: &mut Search<'a>,
    setting: &Setting,
    lead: &'a Limb,
    trail: &'a Limb,
    limit: f64,
) {
    let course = Relative::new(Ride::Turns, Ride::Travels, setting.sign, setting.feed);
    let reach = limit + 2.0 * setting.radius + SLACK;
    let drawn = setting.feed * setting.target;
    for (index, piece) in lead.pieces.iter().enumerate().filter(|(_, piece)| piece.far >= setting.clamp) {
        for (other, behind) in trail.pieces.iter().enumerate() {
            let from = (SQUARE - piece.turn_far - behind.turn_far).max(0.0);
            if from > setting.target || behind.far < setting.follower_end(from) {
                continue;
            }
            if lead.rooms[index].1.apart_squared(&trail.rooms[other].1, drawn) <= reach * reach {
                let other = Other::Tube { limb: trail, piece: other };
                let to = setting.target;
                search.pairs.push(Pair { limb: lead, piece: index, cut: Cut::Own, other, course, from, to });
            }
        }
    }
}

/// The motion of a report's own entries.
const BEND: (Motion, Option<Way>) = (Motion::Bend, None);

/// Where a place lies in the bender frame, mm, and the die angle of the bender then, radians.
pub(super) type Told<'f, C> = dyn Fn(&Pair<'_, C>, &Place) -> (DVec3, f64) + 'f;

/// What is known of one obstacle. `told` says where in the bender frame a place lies, and at which die angle of the bender.
pub(super) fn against<C: Course>(
    name: &str,
    (motion, way): (Motion, Option<Way>),
    setting: &Setting,
    search: &Search<'_, C>,
    inside: Option<Place>,
    told: &Told<'_, C>,
) -> Clearance {
    let nearest = |gap: f64, place: &Place| {
        let pair = &search.pairs[place.pair];
        let (point, die_angle) = told(pair, place);
        let drawn = pair.course.die_angle(place.angle);
        Nearest {
            gap: Length::mm(gap.max(0.0)),
            keep: Length::mm(search.need_at(place)),
            die_angle: Angle::rad(die_angle),
            blank: Length::mm(pair.limb.on_blank(setting, pair.piece, place.fraction, drawn)),
            point: Point3::new(point.x, point.y, point.z),
        }
    };
    let kept = || match search.is_kept() {
        Some(true) => Verdict::Clear,
        Some(false) => Verdict::Tight,
        None => Verdict::Unproven,
    };
    let (nearest, verdict) = match inside.map_or_else(|| search.smallest(setting.comfortable), touching) {
        Smallest::Beyond => (None, kept()),
        Smallest::Found { place, .. } if place.value <= CONTACT => {
            (Some(nearest(0.0, &search.first_contact(place))), Verdict::Contact)
        }
        Smallest::Found { certified, place } => {
            let need = search.need_at(&place);
            let verdict = if place.value < need - SLACK {
                Verdict::Tight
            } else if setting.is_even() && certified >= need - SLACK {
                Verdict::Clear
            } else {
                kept()
            };
            (Some(nearest(certified, &place)), verdict)
        }
        Smallest::Unproven { certified, place } => (place.map(|place| nearest(certified, &place)), Verdict::Unproven),
    };
    Clearance { obstacle: name.to_owned(), motion, way, nearest, verdict }
}

const fn touching(place: Place) -> Smallest {
    Smallest::Found { certified: 0.0, place }
}
