//! The motions besides the bend: the recoil, the return, and the tube in the hands.
//!
//! Poses, in the bender frame. Where the die stands, all of those after the bend are turned back by the die angle.
//!
//! - *End of the bend.* The lead part is turned by the die angle, the trailing part drawn in along +x.
//! - *After the recoil.* The trailing part stays. The arc has its formed radius and its bend angle and begins at the tangent point T. What
//!   was drawn in beyond the finished arc is straight again, just ahead of the arc's far end, and the lead part goes on from there.
//!
//! Motions:
//!
//! - *Recoil:* the lead part goes from the one pose to the other by a turn about the one point of the plane that stays in its place.
//!   The bender stays at the die angle. Against each solid, and against the trailing part, as in the bend.
//! - *Return:* the tube lies as after the recoil. What is on the die goes back from the die angle to 0 and a follower that travels goes
//!   back along x; where the die stands, what is on the follower swings back. What does not move is not looked at.
//! - *Take-out:* from its pose after the recoil, with the bender back at die angle 0, the tube goes straight one [`Way`]. One
//!   of the ways asked for has to be open. Sideways and along are square to and along the trailing straight.
//! - *Put-in:* the same ways backwards, with the tube as it is before the bend.
//! - *Turn* in the groove: the tube as it is before the next bend, its line along x through T. First it is moved along x from where the
//!   arc of the bend before ended at T, then turned about that line by the turn between the two steps. Only between two steps with the
//!   same lead end and the same die: between others the tube is lifted out, and so it is everywhere where the file says so.
//!
//! For take-out, put-in and turn the clamp and the follower are open, and it is not known where they are then: they are left out, and
//! the derived die too, since it has no groove. With the die, what is on the die is left out. A tube is out where all of it has
//! left, along the way, the box around die, clamp and follower. What must be kept is what must be kept at the end of the bend,
//! for put-in and turn what must be kept at its start.

use core::cell::Cell;

use glam::DVec3;

use super::kernel::{Bounds, Form};
use super::limb::{Cut, Kind, Limb, Setting};
use super::machine::{Machine, SQUARE, against, decision};
use super::obstacle::{Body, Obstacle};
use super::search::{Other, Pair, Place, SLACK, Search, Value};
use super::ways::{Way, Ways};
use super::{CONTACT, Clearance, Decision, Motion, Step, Verdict};
use crate::bender::{BendMotion, Carrier, Follower, Motions, TakeOut, TurnTube};
use crate::body::{Curve, Piece, Side};
use crate::forming::LeadEnd;
use crate::motion::{Course, Placing, Screw};
use crate::units::Length;

/// Against what a gap is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Bar {
    /// What must be kept.
    Keep,
    /// Only that nothing touches.
    Touch,
}

/// What the motions besides the bend allow, for one part of the tube. A motion that is not switched on is allowed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Others {
    /// The recoil is proved clear.
    pub recoil: bool,
    /// The return is proved clear.
    pub back: bool,
    /// Ways that are proved clear to take it out. A step needs one that is open to both parts together.
    pub out: Ways,
    /// The same for laying it in.
    pub put_in: Ways,
    /// The budget ran out over one of them, so that more may be allowed than is said.
    pub unproven: bool,
}

/// One way of taking the tube out, or of laying it in, and what was found on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    /// The way.
    pub way: Way,
    /// One entry for every obstacle, in the order of a report.
    pub clearances: Vec<Clearance>,
    /// The worst of them.
    pub verdict: Verdict,
}

/// The way along which a tube gets out is found to this, mm, on the safe side.
const ALONG_THE_WAY: f64 = 1e-4;

/// The same for a bearing that hardly differs: two poses as near to a pure shift as this, radians, are one.
const NO_TURN: f64 = 1e-9;

/// Where everything is once the bend is made, in the bender frame.
struct Poses {
    setting: Setting,
    /// Everything turned back, where the die stands.
    back: Placing,
    /// The lead part at the end of the bend.
    end: Placing,
    /// The trailing part and the arc, at its end and after it.
    trail: Placing,
    arc: Placing,
    /// The lead part after the recoil.
    lead: Placing,
}

impl Poses {
    fn new(step: &Step<'_>, setting: Setting) -> Self {
        let bend = step.active();
        let Setting { sign, target, tangent, .. } = setting;
        let stands = setting.motion == BendMotion::DieStands;
        let back = if stands { Placing::turned_about_z(-sign * target) } else { Placing::REST };
        let drawn = setting.feed * target;
        let (radius, angle) = (bend.formed_radius.to_mm(), bend.angle.to_rad());
        let (sin, cos) = libm::sincos(angle);
        let ahead = DVec3::new(cos, sign * sin, 0.0);
        let centre = tangent + DVec3::new(0.0, sign * radius, 0.0);
        let arc_end = centre + radius * DVec3::new(sin, -sign * cos, 0.0);
        let starts = arc_end + (drawn - bend.blank_arc.to_mm()) * ahead;
        let lead = Placing::shifted(-tangent)
            .then(&Placing::turned_about_z(sign * angle))
            .then(&Placing::shifted(starts))
            .then(&back);
        Self {
            setting,
            back,
            end: Placing::turned_about_z(sign * target).then(&back),
            trail: Placing::shifted(drawn * DVec3::X).then(&back),
            arc: back,
            lead,
        }
    }

    /// Where a part of the tube lies after the recoil.
    const fn after(&self, kind: Kind) -> &Placing {
        match kind {
            Kind::Lead => &self.lead,
            Kind::Trail => &self.trail,
            Kind::Wrap => &self.arc,
        }
    }

    /// The recoil of the lead part, its way running from 0 to 1.
    fn recoil(&self, step: &Step<'_>) -> Screw {
        let Setting { sign, target, tangent, .. } = self.setting;
        let (from, to) = (self.end.point(tangent), self.lead.point(tangent));
        let turn = sign * (step.active().angle.to_rad() - target);
        if turn.abs() < NO_TURN {
            return Screw::sliding(self.end, to - from, target);
        }
        // The pole sees both places under the angle of the turn.
        let way = to - from;
        let aside = DVec3::new(-way.y, way.x, 0.0);
        let pole = 0.5 * (from + to) + 0.5 / libm::tan(0.5 * turn) * aside;
        Screw::turning(self.end, pole, DVec3::Z, turn, target)
    }

    /// Where a body lies at a die angle, against where the file gives it.
    fn body(&self, on: Carrier, angle: f64) -> Placing {
        let Setting { sign, feed, motion, follower, .. } = self.setting;
        match (on, motion, follower) {
            (Carrier::Die, BendMotion::DieTurns, _) => Placing::turned_about_z(sign * angle),
            (Carrier::Follower, BendMotion::DieStands, _) => Placing::turned_about_z(-sign * angle),
            (Carrier::Follower, BendMotion::DieTurns, Follower::Travels) => Placing::shifted(feed * angle * DVec3::X),
            _ => Placing::REST,
        }
    }

    /// A part of the tube that lies as after the recoil, as a body sees it that goes back to die angle 0; its way is the die angle below
    /// 0. `None` where the body does not move.
    fn going_back(&self, on: Carrier, kind: Kind) -> Option<Screw> {
        let Setting { sign, feed, target, motion, follower, .. } = self.setting;
        let base = *self.after(kind);
        match (on, motion, follower) {
            (Carrier::Die, BendMotion::DieTurns, _) => Some(Screw::turning(base, DVec3::ZERO, DVec3::Z, sign, target)),
            (Carrier::Follower, BendMotion::DieStands, _) => {
                Some(Screw::turning(base, DVec3::ZERO, DVec3::Z, -sign, target))
            }
            (Carrier::Follower, BendMotion::DieTurns, Follower::Travels) => {
                Some(Screw::sliding(base, feed * DVec3::X, target))
            }
            _ => None,
        }
    }
}

/// What a body sees of one part of the tube.
#[derive(Debug)]
struct View {
    seen: Screw,
    /// The same in the bender frame.
    world: Screw,
    from: f64,
    to: f64,
    rooms: Vec<Bounds>,
    bounds: Bounds,
}

impl View {
    fn new(limb: &Limb, seen: Screw, world: Screw, [from, to]: [f64; 2]) -> Self {
        let rooms: Vec<Bounds> = limb
            .pieces
            .iter()
            .map(|piece| {
                let [min, max] = seen.swept([piece.from, piece.to], piece.whole_sag(), [from, to]);
                Bounds { min, max }
            })
            .collect();
        let bounds = rooms.iter().fold(Bounds::EMPTY, |all, room| all.with(*room));
        Self { seen, world, from, to, rooms, bounds }
    }
}

impl Course for &View {
    const BENDS: bool = false;
    type Pose = <Screw as Course>::Pose;

    #[inline]
    fn at(&self, way: f64) -> Self::Pose {
        self.seen.at(way)
    }

    #[inline]
    fn point(pose: &Self::Pose, p: DVec3) -> DVec3 {
        Screw::point(pose, p)
    }

    #[inline]
    fn speed(&self, pose: &Self::Pose, now: DVec3) -> DVec3 {
        self.seen.speed(pose, now)
    }

    #[inline]
    fn bend(&self, pose: &Self::Pose, now: DVec3, half: f64) -> f64 {
        self.seen.bend(pose, now, half)
    }

    #[inline]
    fn dive(&self, pose: &Self::Pose, now: DVec3, half: f64, normal: DVec3) -> f64 {
        self.seen.dive(pose, now, half, normal)
    }

    #[inline]
    fn is_still(&self) -> bool {
        self.seen.is_still()
    }

    #[inline]
    fn die_angle(&self, way: f64) -> f64 {
        self.seen.die_angle(way)
    }
}

/// One part of the tube on its way.
struct Leg<'a> {
    limb: &'a Limb,
    views: Vec<View>,
    /// Which of the views a body on the frame, the die, the follower has; `None` where nothing moves.
    by: [Option<usize>; 3],
}

const CARRIERS: [Carrier; 3] = [Carrier::Frame, Carrier::Die, Carrier::Follower];

impl<'a> Leg<'a> {
    /// All bodies stand where the file gives them.
    fn among_standing(limb: &'a Limb, world: Screw, way: [f64; 2]) -> Self {
        Self { limb, views: vec![View::new(limb, world, world, way)], by: [Some(0); 3] }
    }

    fn of_recoil(limb: &'a Limb, step: &Step<'_>, poses: &Poses) -> Self {
        let world = poses.recoil(step);
        let view = |on| View::new(limb, world.seen_from(&poses.body(on, poses.setting.target)), world, [0.0, 1.0]);
        Self { limb, views: CARRIERS.map(view).into(), by: [Some(0), Some(1), Some(2)] }
    }

    fn of_return(limb: &'a Limb, poses: &Poses) -> Self {
        let world = Screw::still(*poses.after(limb.kind), poses.setting.target);
        let mut leg = Self { limb, views: Vec::new(), by: [None; 3] };
        for (on, by) in CARRIERS.into_iter().zip(&mut leg.by) {
            if let Some(seen) = poses.going_back(on, limb.kind) {
                *by = Some(leg.views.len());
                leg.views.push(View::new(limb, seen, world, [-poses.setting.target, 0.0]));
            }
        }
        leg
    }

    fn view(&self, on: Carrier) -> Option<&View> {
        let place = match on {
            Carrier::Frame => 0,
            Carrier::Die => 1,
            Carrier::Follower => 2,
        };
        self.views.get(self.by[place]?)
    }

    /// The least of its places along a direction, mm, as it lies with all of its base and none of its screw; nothing where none of it is
    /// there.
    fn least_along(&self, setting: &Setting, direction: DVec3) -> Option<f64> {
        let world = &self.views.first()?.world;
        let direction_before = world.base.undone().direction(direction);
        let shifted = direction.dot(world.base.point(DVec3::ZERO));
        let from = self.limb.cut(setting, Cut::None, world.die);
        self.limb
            .pieces
            .iter()
            .filter(|piece| piece.fraction(from) <= 1.0)
            .map(|piece| shifted + least_along(piece, piece.fraction(from), direction_before))
            .reduce(f64::min)
    }
}

/// The least of a piece's places along a direction, from a fraction on.
fn least_along(piece: &Piece, from: f64, direction: DVec3) -> f64 {
    let ends = direction.dot(piece.at(from)).min(direction.dot(piece.at(1.0)));
    let Curve::Arc { centre, across, along, radius, angle } = piece.curve else { return ends };
    let (by_across, by_along) = (direction.dot(across), direction.dot(along));
    let least = libm::atan2(-by_along, -by_across);
    let least = if least < from * angle { least + core::f64::consts::TAU } else { least };
    if least < angle { ends.min(direction.dot(centre) - radius * libm::hypot(by_across, by_along)) } else { ends }
}

/// Which obstacles count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Counts {
    /// All of them, as in the bend.
    All,
    /// All but the clamp, the follower and a derived die.
    Open,
    /// As before, without what is on the die.
    OpenWithDie,
}

impl Counts {
    const fn on_way(way: Way) -> Self {
        if matches!(way, Way::WithDie) { Self::OpenWithDie } else { Self::Open }
    }
}

impl Machine {
    /// What the motions besides the bend of the part ahead allow. It depends on the bends made on the lead end's side only.
    ///
    /// # Panics
    /// Where the step does not belong to the bender of this machine.
    #[must_use]
    pub fn others_lead(&self, step: &Step<'_>, bar: Bar) -> Others {
        let setting = Setting::new(step);
        self.others(step, &Poses::new(step, setting), &[&Limb::new(step, &setting, Side::Lead)], bar)
    }

    /// What the motions besides the bend of the part behind and of the arc allow. It depends on the bends made on the other end's side only.
    ///
    /// # Panics
    /// Where the step does not belong to the bender of this machine.
    #[must_use]
    pub fn others_trail(&self, step: &Step<'_>, bar: Bar) -> Others {
        let setting = Setting::new(step);
        let limb = Limb::new(step, &setting, Side::Trail);
        let arc = Limb::relaxed(&setting, step.active(), limb.end);
        self.others(step, &Poses::new(step, setting), &[&limb, &arc], bar)
    }

    fn others(&self, step: &Step<'_>, poses: &Poses, limbs: &[&Limb], bar: Bar) -> Others {
        let motions = &step.bender.motions;
        let unproven = Cell::new(false);
        let told = |(ways, lasted): (Ways, bool)| {
            unproven.set(unproven.get() || !lasted);
            ways
        };
        let clear = |legs: &[Leg<'_>]| {
            let obstacles = self.counted(step, Counts::All);
            let decision = self.decide_legs(&poses.setting, legs, &obstacles, bar);
            unproven.set(unproven.get() || decision == Decision::Unproven);
            decision == Decision::Clear
        };
        let recoils = limbs.iter().filter(|limb| limb.kind == Kind::Lead);
        let before = limbs.iter().filter(|limb| limb.kind != Kind::Wrap);
        let mut others = Others {
            recoil: !motions.recoil
                || clear(&recoils.map(|limb| Leg::of_recoil(limb, step, poses)).collect::<Vec<_>>()),
            back: !motions.back || clear(&limbs.iter().map(|limb| Leg::of_return(limb, poses)).collect::<Vec<_>>()),
            out: if motions.take_out.is_empty() {
                Ways::ALL
            } else {
                told(self.open_ways(step, poses, limbs, &ways_out(step), Motion::TakeOut, bar))
            },
            put_in: if motions.put_in {
                let limbs: Vec<&Limb> = before.copied().collect();
                told(self.open_ways(step, poses, &limbs, &ways_in(step), Motion::PutIn, bar))
            } else {
                Ways::ALL
            },
            unproven: false,
        };
        others.unproven = unproven.get();
        others
    }

    /// Whether the two parts of the tube keep their distance from each other as the lead part springs back.
    ///
    /// # Panics
    /// Where the step does not belong to the bender of this machine.
    #[must_use]
    pub fn recoil_between(&self, step: &Step<'_>, bar: Bar) -> Decision {
        if !step.bender.motions.recoil {
            return Decision::Clear;
        }
        let setting = Setting::new(step);
        let (lead, trail) = (Limb::new(step, &setting, Side::Lead), Limb::new(step, &setting, Side::Trail));
        let view = view_of_trail(step, &lead, &Poses::new(step, setting));
        let mut search = Search::new(&setting);
        let limit = match bar {
            Bar::Keep if setting.is_even() => setting.need(2.0 * setting.mark),
            Bar::Keep => f64::INFINITY,
            Bar::Touch => CONTACT,
        };
        gather_between(&mut search, &setting, &lead, &trail, &view, limit);
        kept(&search, bar)
    }

    /// Whether there is room to turn the tube in the groove between two steps; clear where it is lifted out for it, and where turning is
    /// not looked at.
    ///
    /// # Panics
    /// Where a step does not belong to the bender of this machine.
    #[must_use]
    pub fn turn_between(&self, before: &Step<'_>, next: &Step<'_>, bar: Bar) -> Decision {
        let Some(screws) = turn_screws(before, next) else { return Decision::Clear };
        let setting = Setting::new(next);
        let limbs = [Limb::new(next, &setting, Side::Lead), Limb::new(next, &setting, Side::Trail)];
        let legs = turn_legs(&limbs, &screws);
        self.decide_legs(&setting, &legs, &self.counted(next, Counts::Open), bar)
    }

    /// The full answer for the motions that are switched on: for each, in the order recoil, return, take-out, put-in, turn, one
    /// entry for every obstacle in the order of [`Self::report`]. `before` is the step before this one, if there is one.
    ///
    /// For taking out and laying in they are those of the best way: the first clear one in the order of the file, or else the one
    /// that comes to the best verdict with the largest smallest gap. [`Self::tried`] gives all ways.
    ///
    /// # Panics
    /// Where a step does not belong to the bender of this machine.
    #[must_use]
    pub fn report_others(&self, step: &Step<'_>, before: Option<&Step<'_>>) -> Vec<Clearance> {
        let motions = &step.bender.motions;
        if *motions == Motions::default() {
            return Vec::new();
        }
        let setting = Setting::new(step);
        let poses = Poses::new(step, setting);
        let lead = Limb::new(step, &setting, Side::Lead);
        let trail = Limb::new(step, &setting, Side::Trail);
        let arc = Limb::relaxed(&setting, step.active(), trail.end);
        let target = setting.target;
        let mut all = Vec::new();
        if motions.recoil {
            let legs = [Leg::of_recoil(&lead, step, &poses)];
            let obstacles = self.counted(step, Counts::All);
            all.extend(self.report_legs(&setting, &legs, &obstacles, (Motion::Recoil, None), &|_| target));
            let view = view_of_trail(step, &lead, &poses);
            let mut between = Search::new(&setting);
            gather_between(&mut between, &setting, &lead, &trail, &view, f64::INFINITY);
            all.pop();
            all.push(against("tube", (Motion::Recoil, None), &setting, &between, None, &|pair, place| {
                told(pair, place, target)
            }));
        }
        if motions.back {
            let legs = [&lead, &trail, &arc].map(|limb| Leg::of_return(limb, &poses));
            let obstacles = self.counted(step, Counts::All);
            all.extend(self.report_legs(&setting, &legs, &obstacles, (Motion::Return, None), &|way| -way));
        }
        for motion in [Motion::TakeOut, Motion::PutIn] {
            all.extend(best(self.tried(step, motion)));
        }
        if motions.turn.is_some() {
            let screws = before.and_then(|before| turn_screws(before, step));
            let limbs = [lead, trail];
            let legs = screws.map_or_else(Vec::new, |screws| turn_legs(&limbs, &screws));
            let obstacles = self.counted(step, Counts::Open);
            all.extend(self.report_legs(&setting, &legs, &obstacles, (Motion::Turn, None), &|_| 0.0));
        }
        all
    }

    /// All ways that are asked for of taking the tube out, or of laying it in, in the order of the file; none for another motion, or where
    /// that motion is not switched on.
    ///
    /// # Panics
    /// Where the step does not belong to the bender of this machine.
    #[must_use]
    pub fn tried(&self, step: &Step<'_>, motion: Motion) -> Vec<Tried> {
        let ways = match motion {
            Motion::TakeOut => ways_out(step),
            Motion::PutIn if step.bender.motions.put_in => ways_in(step),
            _ => Vec::new(),
        };
        if ways.is_empty() {
            return Vec::new();
        }
        let setting = Setting::new(step);
        let poses = Poses::new(step, setting);
        let trail = Limb::new(step, &setting, Side::Trail);
        let mut limbs = vec![Limb::new(step, &setting, Side::Lead)];
        if motion == Motion::TakeOut {
            limbs.push(Limb::relaxed(&setting, step.active(), trail.end));
        }
        limbs.push(trail);
        let try_one = |way: Way| {
            let room = self.room(step);
            let outward = |limb: &Limb| on_way(&poses, limb, way, motion);
            let needed = limbs
                .iter()
                .map(|limb| Leg::among_standing(limb, outward(limb), [0.0, 0.0]))
                .map(|leg| needed(&setting, &leg, &room))
                .fold(0.0, f64::max);
            let legs: Vec<Leg<'_>> = limbs
                .iter()
                .map(|limb| {
                    let screw = outward(limb);
                    if motion == Motion::TakeOut {
                        Leg::among_standing(limb, screw, [0.0, needed])
                    } else {
                        let inward = Screw { shift: -screw.shift, ..screw };
                        Leg::among_standing(limb, inward, [-needed, 0.0])
                    }
                })
                .collect();
            let obstacles = self.counted(step, Counts::on_way(way));
            let clearances = self.report_legs(&setting, &legs, &obstacles, (motion, Some(way)), &|_| 0.0);
            let verdict = clearances.iter().map(|clearance| clearance.verdict).max().unwrap_or(Verdict::Clear);
            Tried { way, clearances, verdict }
        };
        ways.into_iter().map(try_one).collect()
    }

    /// The box around die, clamp and follower, as they are at die angle 0.
    fn room(&self, step: &Step<'_>) -> Bounds {
        let tools = self.tools.get(step.active().die).into_iter().flatten();
        tools.flat_map(|tool| &tool.bodies).fold(Bounds::EMPTY, |all, body| all.with(body.bounds))
    }

    /// How far one part of the tube has to go each way, and how far it gets; and whether the budget lasted.
    fn open_ways(
        &self,
        step: &Step<'_>,
        poses: &Poses,
        limbs: &[&Limb],
        ways: &[Way],
        motion: Motion,
        bar: Bar,
    ) -> (Ways, bool) {
        let setting = &poses.setting;
        let room = self.room(step);
        let (mut open, mut all_lasted) = (Ways::NONE, true);
        for &way in ways {
            // No tube that is folded in any way has to go further than this.
            let screw = on_way(poses, limbs[0], way, motion);
            let whole = step.blank.cut_length.to_mm() + 2.0 * setting.radius;
            let most = support(&room, screw.shift) - screw.shift.dot(poses.back.point(setting.tangent)) + whole;
            let leg = |limb| Leg::among_standing(limb, on_way(poses, limb, way, motion), [0.0, most]);
            let legs: Vec<Leg<'_>> = limbs.iter().copied().map(leg).collect();
            let obstacles = self.counted(step, Counts::on_way(way));
            let mut search = Search::new(setting);
            let inside = gather_legs(&mut search, setting, &legs, &obstacles, bar);
            let (value, within) = (if bar == Bar::Keep { Value::Spare } else { Value::Gap }, ALONG_THE_WAY);
            let (proved, lasted) = if inside { (f64::NEG_INFINITY, true) } else { search.kept_until(value, within) };
            all_lasted &= lasted;
            let needed = legs.iter().map(|leg| needed(setting, leg, &room)).fold(f64::NEG_INFINITY, f64::max);
            open.set(way, needed, proved);
        }
        (open, all_lasted)
    }

    /// The obstacles in the order of a report, each with whether it counts; the tube itself is not among them.
    fn counted(&self, step: &Step<'_>, counts: Counts) -> Vec<(&Obstacle, bool)> {
        let with_die = counts == Counts::OpenWithDie;
        let on_die = |obstacle: &Obstacle| obstacle.bodies.iter().any(|body| body.on == Carrier::Die);
        let own = self.own.iter().map(|obstacle| (obstacle, !(with_die && on_die(obstacle))));
        let die_given = !step.die().shapes.die.is_empty();
        let holds = [counts == Counts::All || (die_given && !with_die), counts == Counts::All, counts == Counts::All];
        let tools = self.tools.get(step.active().die).into_iter().flatten().zip(holds);
        own.chain(tools).collect()
    }

    fn decide_legs(&self, setting: &Setting, legs: &[Leg<'_>], obstacles: &[(&Obstacle, bool)], bar: Bar) -> Decision {
        let mut search = Search::new(setting);
        if gather_legs(&mut search, setting, legs, obstacles, bar) {
            return Decision::NotClear;
        }
        kept(&search, bar)
    }

    /// An entry for every obstacle, and one for the tube itself, against which nothing is held here.
    fn report_legs(
        &self,
        setting: &Setting,
        legs: &[Leg<'_>],
        obstacles: &[(&Obstacle, bool)],
        on: (Motion, Option<Way>),
        die_angle: &dyn Fn(f64) -> f64,
    ) -> Vec<Clearance> {
        let mut all: Vec<Clearance> = obstacles
            .iter()
            .map(|(obstacle, counts)| {
                let mut search = Search::new(setting);
                let mut inside = None;
                for leg in legs.iter().filter(|_| *counts) {
                    let limit = setting.comfortable.max(leg.limb.most_needed(setting));
                    inside = inside.or(gather(&mut search, setting, leg, obstacle, limit));
                }
                against(&obstacle.name, on, setting, &search, inside, &|pair, place| {
                    told(pair, place, die_angle(place.angle))
                })
            })
            .collect();
        all.push(Clearance {
            obstacle: "tube".to_owned(),
            motion: on.0,
            way: on.1,
            nearest: None,
            verdict: Verdict::Clear,
        });
        all
    }
}

fn ways_out(step: &Step<'_>) -> Vec<Way> {
    Way::of(&step.bender.motions.take_out)
}

fn ways_in(step: &Step<'_>) -> Vec<Way> {
    let asked = &step.bender.motions.take_out;
    Way::of(if asked.is_empty() { &[TakeOut::Up, TakeOut::Sideways, TakeOut::Along] } else { asked })
}

/// Where a part of the tube goes on its way out of the bender, mm by mm.
fn on_way(poses: &Poses, limb: &Limb, way: Way, motion: Motion) -> Screw {
    let setting = &poses.setting;
    let direction = match way {
        Way::Up | Way::WithDie => DVec3::Z,
        Way::Sideways => -setting.sign * DVec3::Y,
        Way::AlongBack => DVec3::NEG_X,
        Way::AlongAhead => DVec3::X,
    };
    if motion == Motion::TakeOut {
        Screw::sliding(*poses.after(limb.kind), poses.back.direction(direction), setting.target)
    } else {
        Screw::sliding(Placing::REST, direction, 0.0)
    }
}

/// The furthest place of a box along a direction.
fn support(room: &Bounds, direction: DVec3) -> f64 {
    (direction * room.min).max(direction * room.max).element_sum()
}

/// How far a part has to go along its screw's shift, a unit vector, until all of it has left the room of the tools.
fn needed(setting: &Setting, leg: &Leg<'_>, room: &Bounds) -> f64 {
    let direction = leg.views[0].world.shift;
    let behind = leg.least_along(setting, direction);
    behind.map_or(f64::NEG_INFINITY, |least| support(room, direction) - least + setting.radius)
}

/// The best of the ways that were tried.
fn best(tried: Vec<Tried>) -> Vec<Clearance> {
    let smallest = |tried: &Tried| {
        let gaps = tried.clearances.iter().filter_map(|clearance| clearance.nearest);
        gaps.map(|nearest| nearest.gap).fold(Length::mm(f64::INFINITY), Length::min)
    };
    let better = |one: &Tried, other: &Tried| {
        other.verdict < one.verdict
            || (other.verdict == one.verdict && one.verdict != Verdict::Clear && smallest(other) > smallest(one))
    };
    let best = tried.into_iter().reduce(|best, next| if better(&best, &next) { next } else { best });
    best.map_or_else(Vec::new, |tried| tried.clearances)
}

/// How the tube moves in the groove between two steps: along x, then about its own axis. `None` where it does not.
fn turn_screws(before: &Step<'_>, next: &Step<'_>) -> Option<[(Screw, [f64; 2]); 2]> {
    let in_groove = next.bender.motions.turn == Some(TurnTube::Groove);
    let (last, bend) = (before.active(), next.active());
    if !in_groove || before.lead != next.lead || last.die != bend.die {
        return None;
    }
    let tangent = Setting::new(next).tangent;
    let turn = next.blank.turn(before.bend, next.bend, next.lead).to_rad();
    // How far ahead of its mark the tube lies with the end of the arc before at the tangent point.
    let moved = (last.tangent(before.lead.other()) - bend.tangent(next.lead)).to_mm();
    let along = if next.lead == LeadEnd::A { moved } else { -moved };
    // One after the other on one way: the turn is at an end where its way is 2.
    let back = |parts: f64| Placing::turned(tangent, DVec3::X, -parts * turn);
    let slides = Screw::sliding(back(1.0).then(&Placing::shifted(along * DVec3::X)), -along * DVec3::X, 0.0);
    let turns = Screw::turning(back(2.0), tangent, DVec3::X, turn, 0.0);
    Some([(slides, [0.0, 1.0]), (turns, [1.0, 2.0])])
}

fn turn_legs<'a>(limbs: &'a [Limb; 2], screws: &[(Screw, [f64; 2]); 2]) -> Vec<Leg<'a>> {
    screws
        .iter()
        .flat_map(|&(screw, way)| limbs.iter().map(move |limb| Leg::among_standing(limb, screw, way)))
        .collect()
}

/// The lead part springing back, as the trailing part sees it.
fn view_of_trail(step: &Step<'_>, lead: &Limb, poses: &Poses) -> View {
    let world = poses.recoil(step);
    View::new(lead, world.seen_from(&poses.trail), world, [0.0, 1.0])
}

/// The pairs of pieces of the two parts that are held against each other at the end of the bend.
fn gather_between<'a>(
    search: &mut Search<'a, &'a View>,
    setting: &Setting,
    lead: &'a Limb,
    trail: &'a Limb,
    view: &'a View,
    limit: f64,
) {
    let reach = limit + 2.0 * setting.radius + SLACK;
    for (index, piece) in lead.pieces.iter().enumerate().filter(|(_, piece)| piece.far >= setting.clamp) {
        for (other, behind) in trail.pieces.iter().enumerate() {
            let square = piece.turn_far + behind.turn_far + setting.target >= SQUARE;
            if !square || behind.far < setting.follower_end(setting.target) {
                continue;
            }
            if view.rooms[index].apart_squared(&trail.rooms[other].0) <= reach * reach {
                let other = Other::Tube { limb: trail, piece: other };
                let (from, to) = (view.from, view.to);
                search.pairs.push(Pair { limb: lead, piece: index, cut: Cut::Own, other, course: view, from, to });
            }
        }
    }
}

fn kept(search: &Search<'_, &View>, bar: Bar) -> Decision {
    decision(match bar {
        Bar::Keep => search.is_kept(),
        Bar::Touch => search.is_apart(),
    })
}

/// The pairs of all parts and all obstacles that count. Whether some part lies inside a closed surface from the start.
fn gather_legs<'a>(
    search: &mut Search<'a, &'a View>,
    setting: &Setting,
    legs: &'a [Leg<'a>],
    obstacles: &[(&'a Obstacle, bool)],
    bar: Bar,
) -> bool {
    legs.iter().any(|leg| {
        let limit = if bar == Bar::Keep { leg.limb.most_needed(setting) } else { CONTACT };
        obstacles
            .iter()
            .filter(|(_, counts)| *counts)
            .any(|(obstacle, _)| gather(search, setting, leg, obstacle, limit).is_some())
    })
}

/// The pairs of one part of the tube and one obstacle that may come nearer than a limit. A place where the tube lies inside a
/// closed surface at the start is handed back.
fn gather<'a>(
    search: &mut Search<'a, &'a View>,
    setting: &Setting,
    leg: &'a Leg<'a>,
    obstacle: &'a Obstacle,
    limit: f64,
) -> Option<Place> {
    let limb = leg.limb;
    let cut = if obstacle.holds { Cut::Held } else { Cut::None };
    let reach = limit + setting.radius + SLACK;
    for body in &obstacle.bodies {
        let Some(view) = leg.view(body.on) else { continue };
        let starts = limb.cut(setting, cut, view.seen.die);
        // Rounding of places along the blank: what is held up to its end is held whole.
        if obstacle.holds && (limb.kind == Kind::Wrap || starts >= limb.end - 1e-9) {
            return None;
        }
        if view.bounds.apart_squared(&body.bounds) > reach * reach {
            continue;
        }
        let other = match &body.form {
            Form::Mesh(mesh) if mesh.is_empty() => continue,
            Form::Mesh(mesh) => Other::Mesh(mesh),
            form => Other::Form(form),
        };
        // A body that looks the same all the way is looked at once.
        let from = view.from;
        let to = if is_alike(body, &view.seen) { from } else { view.to };
        let pair = |piece| Pair { limb, piece, cut, other, course: view, from, to };
        if let Other::Mesh(_) = other
            && let Some(last) = limb.pieces.last()
            && limb.kind != Kind::Wrap
            && body.form.holds(Screw::point(&view.seen.at(from), last.to))
        {
            // A part that starts outside comes inside through the surface only.
            let piece = limb.pieces.len() - 1;
            search.pairs.push(pair(piece));
            let pair = search.pairs.len() - 1;
            return Some(Place { value: 0.0, pair, fraction: 1.0, other: 0.0, angle: from });
        }
        for (index, room) in view.rooms.iter().enumerate() {
            if room.apart_squared(&body.bounds) <= reach * reach && limb.pieces[index].far >= starts {
                search.pairs.push(pair(index));
            }
        }
    }
    None
}

/// Whether a screw shows a body the same face all the way: a body round about z that only turns about it.
fn is_alike(body: &Body, seen: &Screw) -> bool {
    body.round
        && seen.shift.length_squared() <= 0.0
        && seen.pole.length_squared() <= 0.0
        && seen.axis.x.abs().max(seen.axis.y.abs()) <= 0.0
}

/// Where a place lies in the bender frame.
fn told(pair: &Pair<'_, &View>, place: &Place, die_angle: f64) -> (DVec3, f64) {
    let pose = pair.course.world.at(place.angle);
    (Screw::point(&pose, pair.limb.pieces[pair.piece].at(place.fraction)), die_angle)
}

#[cfg(test)]
mod tests;
