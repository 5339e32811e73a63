//! One part of the tube grown outward from the die, leg by leg, for every set of bends that may be made on its side.
//!
//! What a part comes to depends on the bends made on its own side only. Two sets of made bends whose nearest bends agree
//! share the stretch up to where they part, so that all sets are the leaves of a tree with a leg to each edge:
//!
//! ```text
//!   T --straight--+-- bend 3 not made --straight--+-- bend 2 not made ...
//!                 |                               +-- bend 2 made     ...
//!                 +-- bend 3 made ----straight----+-- ...
//! ```
//!
//! Each leg is asked about once. One that comes too near ends all that lies beyond it, and a body out of reach of what is
//! left of the tube is left out from there on. The smallest gap so far is carried along: a leg that is further away is settled
//! as soon as that is known. Where no body is within reach of what is left, all sets beyond have the gap so far, and no more legs are walked.

use super::kernel::{Bounds, Form};
use super::limb::{Cut, Kind, Limb, Setting};
use super::machine::{Machine, Room, gather, gather_between, relative};
use super::obstacle::{Body, Ring};
use super::search::{Other, Pair, SLACK, Search, Weighed};
use super::{Bar, LeadPart, Step, TrailPart};
use crate::body::{Curve, Piece, Route, Side, Stop, Walk};
use crate::centreline::BendId;
use crate::motion::{Relative, Ride};

/// Whether a part of the tube passes, and the smallest gap on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Passage {
    /// It passes, with so much room in mm; where all is comfortable, just that much.
    Free(f64),
    /// It does not.
    Blocked,
    /// The budget ran out.
    Unproven,
}

impl From<Weighed> for Passage {
    fn from(weighed: Weighed) -> Self {
        match weighed.passes {
            Some(true) => Self::Free(weighed.gap),
            Some(false) => Self::Blocked,
            None => Self::Unproven,
        }
    }
}

/// Which of two ways a tree of made bends is followed at a bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Branch {
    /// Made and not made.
    Both,
    /// Made only.
    Made,
    /// Not made only.
    Unmade,
}

/// Who is told what, on a walk through the sets of made bends of one side.
pub(crate) trait Explorer {
    /// Which ways to go at a bend, and whether it may be the nearest made one; `None` asks about the end of the tube.
    fn may_be_next(&mut self, bend: Option<usize>) -> bool;
    /// Which ways to go at a bend.
    fn branch(&self, _bend: usize) -> Branch {
        Branch::Both
    }
    /// Bends outward from the die up to which gaps are measured. Beyond them a leg is only held against the bar, so that what is told is
    /// a gap that is not below the true one.
    fn measured(&self) -> usize {
        usize::MAX
    }
    /// A set of made bends, as bits by their place on the blank, with what it comes to. Sets that share a blocked leg are not
    /// told one by one: what is never told as free is blocked.
    fn found(&mut self, set: u64, passage: Passage);
    /// The same of a set with any of some bends beyond it, each made or not as the ways go.
    fn found_with_any(&mut self, set: u64, beyond: &[Stop], passage: Passage) {
        let Some((next, beyond)) = beyond.split_first() else { return self.found(set, passage) };
        let branch = self.branch(next.bend);
        if branch != Branch::Made {
            self.found_with_any(set, beyond, passage);
        }
        if branch != Branch::Unmade {
            self.found_with_any(set | bit(next.bend), beyond, passage);
        }
    }
}

/// The bit of a bend in a set; none beyond 64.
fn bit(bend: usize) -> u64 {
    u32::try_from(bend).ok().and_then(|bend| 1_u64.checked_shl(bend)).unwrap_or(0)
}

/// A body as one part of the tube sees it.
struct Seen<'a> {
    body: &'a Body,
    holds: bool,
    relative: Relative,
    room: Room<'a>,
    /// As the straight stretch sees it that slides along itself; `None` where that is the same.
    sliding: Option<Room<'a>>,
}

const STILL: Relative = Relative { turn: 0.0, push: 0.0, back: 0.0 };

/// A part of the tube that grows and shrinks.
struct Growth<'a, 'e> {
    setting: Setting,
    bar: Bar,
    needed: f64,
    seen: Vec<Seen<'a>>,
    route: Route,
    limb: Limb,
    walk: Walk,
    measured: usize,
    explorer: &'e mut dyn Explorer,
}

/// Where a branch of the tree stands.
#[derive(Clone, Copy)]
struct Standing {
    /// Next bend of the route.
    at: usize,
    /// Rolled since the last made bend.
    roll: f64,
    set: u64,
    /// Whether a bend nearer to the die is made.
    bent: bool,
    /// Smallest gap so far.
    gap: f64,
}

impl Machine {
    /// Walks through the sets of made bends on one side of a step; which bends of the step itself are made does not matter.
    pub(crate) fn explore(&self, step: &Step<'_>, side: Side, bar: Bar, explorer: &mut dyn Explorer) {
        let mut setting = Setting::new(step);
        setting.samples = self.samples;
        let active = step.active();
        let route = Route::new(step.blank, active, step.lead, side);
        let kind = if side == Side::Lead { Kind::Lead } else { Kind::Trail };
        let mut gap = setting.comfortable;
        if side == Side::Trail
            && Ride::of(crate::bender::Carrier::Follower, setting.motion, setting.follower) == Ride::Travels
        {
            // The arc that is being wrapped: of a step within the limits it is the same whatever is made behind, and all of it is straight before.
            let limb = Limb::wrapped(&setting, route.end, route.end);
            let needed = setting.need(setting.mark);
            let mut search = Search::new(&setting);
            for obstacle in self.obstacles(active.die) {
                // Only a part that ends there can begin inside a mesh.
                gather(&mut search, &setting, &limb, obstacle, gap.max(needed));
            }
            match search.weigh(gap.max(needed), bar, needed).into() {
                Passage::Free(found) => gap = found,
                blocked => return explorer.found(0, blocked),
            }
        }
        let seen: Vec<Seen<'_>> = self
            .obstacles(active.die)
            .flat_map(|obstacle| obstacle.bodies.iter().map(|body| (body, obstacle.holds)))
            .filter(|(body, _)| !matches!(&body.form, Form::Mesh(mesh) if mesh.is_empty()))
            .map(|(body, holds)| {
                let relative = relative(&setting, kind, body, Ride::of(body.on, setting.motion, setting.follower));
                let slides = kind == Kind::Trail && !relative.turns() && !relative.is_still();
                let sliding = slides.then(|| Room::new(&setting, body, &STILL));
                Seen { body, holds, relative, room: Room::new(&setting, body, &relative), sliding }
            })
            .collect();
        let active_bodies: Vec<u32> = (0..u32::try_from(seen.len()).unwrap_or(u32::MAX)).collect();
        let walk = route.walk(step.bender.hand, active);
        let limb = Limb::empty(kind, route.end, 2 * route.stops.len() + 2);
        let needed = setting.need(setting.mark);
        let measured = explorer.measured();
        let mut growth = Growth { setting, bar, needed, seen, route, limb, walk, measured, explorer };
        growth.grow(Standing { at: 0, roll: 0.0, set: 0, bent: false, gap }, &active_bodies);
    }

    /// Whether the two parts of one step pass each other, and the smallest gap between them.
    pub(crate) fn between(&self, lead: &LeadPart, trail: &TrailPart, bar: Bar) -> Passage {
        let setting = &lead.setting;
        let needed = setting.need(2.0 * setting.mark);
        let limit = if setting.is_even() { setting.comfortable.max(needed) } else { f64::INFINITY };
        let mut search = Search::new(setting);
        gather_between(&mut search, setting, &lead.limb, &trail.limb, limit);
        search.weigh(setting.comfortable.max(needed), bar, needed).into()
    }

    /// Whether a bend passes, both its parts and one against the other, and its smallest gap.
    ///
    /// The figure is the same that the sets of made bends are told with: of pieces looked at from the die outward, each at most
    /// 0.05 mm under the truth. The hard limits are not looked at.
    pub(crate) fn passage(&self, step: &Step<'_>, bar: Bar) -> Passage {
        let mut least = f64::INFINITY;
        let mut worst = None;
        for side in [Side::Lead, Side::Trail] {
            let mut one = One { step, passage: Passage::Blocked };
            self.explore(step, side, bar, &mut one);
            match one.passage {
                Passage::Free(gap) => least = least.min(gap),
                Passage::Blocked => return Passage::Blocked,
                Passage::Unproven => worst = Some(Passage::Unproven),
            }
        }
        match self.between(&LeadPart::new(step), &TrailPart::new(step), bar) {
            Passage::Free(gap) => worst.unwrap_or(Passage::Free(least.min(gap))),
            other => other,
        }
    }
}

/// Follows the bends that a step says are made.
struct One<'a> {
    step: &'a Step<'a>,
    passage: Passage,
}

impl Explorer for One<'_> {
    fn may_be_next(&mut self, _bend: Option<usize>) -> bool {
        true
    }

    fn branch(&self, bend: usize) -> Branch {
        if self.step.is_made(BendId(bend)) { Branch::Made } else { Branch::Unmade }
    }

    fn found(&mut self, _set: u64, passage: Passage) {
        self.passage = passage;
    }
}

impl Growth<'_, '_> {
    fn grow(&mut self, mut here: Standing, bodies: &[u32]) {
        if bodies.is_empty() && here.bent {
            // What is left of the tube is out of reach of everything, whichever way it goes.
            let beyond = self.route.stops.get(here.at..).unwrap_or_default();
            return self.explorer.found_with_any(here.set, beyond, Passage::Free(here.gap));
        }
        let stop = self.route.stops.get(here.at).copied();
        if stop.is_none() && !here.bent && !self.explorer.may_be_next(None) {
            return;
        }
        let mark = self.walk.mark();
        let pieces = self.limb.pieces.len();
        // The straight up to the next bend, or to the end of the tube; the same whether that bend is made or not.
        self.walk.straight_to(stop.map_or(self.route.end, |stop| stop.near));
        let whole = match self.look(&mut here, bodies) {
            Some(blocked) => {
                self.explorer.found(here.set, blocked);
                false
            }
            None => true,
        };
        if whole {
            match stop {
                None if self.limb.pieces.is_empty() => self.point(here, bodies),
                None => self.explorer.found(here.set, Passage::Free(here.gap)),
                Some(stop) => {
                    let left = self.within_reach(bodies, stop.near, &here);
                    let roll = here.roll + stop.roll;
                    let branch = self.explorer.branch(stop.bend);
                    if branch != Branch::Made {
                        self.grow(Standing { at: here.at + 1, roll, ..here }, &left);
                    }
                    if branch != Branch::Unmade && (here.bent || self.explorer.may_be_next(Some(stop.bend))) {
                        self.bend(here, &stop, roll, &left);
                    }
                }
            }
        }
        self.walk.back_to(&mark);
        self.limb.cut_back(pieces);
    }

    /// A part of no length: a point, so that something stands at the end of the arc that is being wrapped.
    fn point(&mut self, mut here: Standing, bodies: &[u32]) {
        let at = self.walk.at;
        let curve = Curve::Straight;
        let piece = Piece { from: at, to: at, near: 0.0, far: 0.0, turn_near: 0.0, turn_far: 0.0, curve };
        self.limb.push(piece, &self.setting);
        here.gap = match Passage::from(self.weigh(&piece, &here, bodies)) {
            Passage::Free(gap) => here.gap.min(gap),
            blocked => return self.explorer.found(here.set, blocked),
        };
        self.explorer.found(here.set, Passage::Free(here.gap));
    }

    /// The branch on which a bend is made.
    fn bend(&mut self, mut here: Standing, stop: &Stop, roll: f64, bodies: &[u32]) {
        let mark = self.walk.mark();
        let pieces = self.limb.pieces.len();
        if !here.bent {
            self.limb.set_unbent(stop.near);
        }
        self.walk.roll(roll);
        self.walk.bend(stop.radius, stop.angle, stop.blank);
        let first = !core::mem::replace(&mut here.bent, true);
        here.set |= bit(stop.bend);
        match self.look(&mut here, bodies) {
            Some(blocked) => self.explorer.found(here.set, blocked),
            None => self.grow(Standing { at: here.at + 1, roll: 0.0, ..here }, bodies),
        }
        if first {
            self.limb.set_unbent(self.route.end);
        }
        self.walk.back_to(&mark);
        self.limb.cut_back(pieces);
    }

    /// Asks about the piece just walked. `None` where the way goes on, with the gap brought up to date.
    fn look(&mut self, here: &mut Standing, bodies: &[u32]) -> Option<Passage> {
        if self.walk.pieces.len() == self.limb.pieces.len() {
            return None;
        }
        let piece = self.walk.pieces.last().copied()?;
        self.limb.push(piece, &self.setting);
        let weighed = self.weigh(&piece, here, bodies);
        match Passage::from(weighed) {
            Passage::Free(gap) => {
                here.gap = here.gap.min(gap);
                None
            }
            blocked => Some(blocked),
        }
    }

    fn weigh(&self, piece: &Piece, here: &Standing, bodies: &[u32]) -> Weighed {
        let (setting, limb) = (&self.setting, &self.limb);
        let index = limb.pieces.len() - 1;
        let (bounds, ring) = &limb.rooms[index];
        let held = limb.cut(setting, Cut::Held, 0.0);
        let straight = matches!(piece.curve, Curve::Straight);
        let measured = here.at <= self.measured;
        let room = if measured { here.gap } else { 0.0 };
        let limit = if setting.is_even() { room.max(self.needed) } else { room.max(limb.most_needed(setting)) };
        let reach = limit + setting.radius + SLACK;
        let mut search = Search::new(setting);
        for body in bodies {
            let seen = &self.seen[*body as usize];
            // What the die, the clamp and the follower hold is unbent and within their reach.
            if seen.holds && (!here.bent || piece.far < held) {
                continue;
            }
            let slides = straight && !here.bent && seen.sliding.is_some();
            let room = if slides { seen.sliding.as_ref().unwrap_or(&seen.room) } else { &seen.room };
            if room.apart_squared(bounds, ring) > reach * reach {
                continue;
            }
            let relative = if slides { STILL } else { seen.relative };
            let other = match &seen.body.form {
                Form::Mesh(mesh) => {
                    // A part that starts outside comes inside through the surface only, one that begins inside has its end there.
                    if seen.body.form.holds(piece.to) {
                        return Weighed { gap: 0.0, passes: Some(false) };
                    }
                    Other::Mesh(mesh)
                }
                form => Other::Form(form),
            };
            let cut = if seen.holds { Cut::Held } else { Cut::None };
            let to = setting.target;
            search.pairs.push(Pair { limb, piece: index, cut, other, course: relative, from: 0.0, to });
        }
        if measured { search.weigh(limit, self.bar, self.needed) } else { search.hold(self.bar, self.needed) }
    }

    /// The bodies that what is left of the tube can reach.
    fn within_reach(&self, bodies: &[u32], place: f64, here: &Standing) -> Vec<u32> {
        let setting = &self.setting;
        let left = (self.route.end - place).max(0.0);
        if !setting.is_even() {
            // What must be kept grows along the way.
            return bodies.to_vec();
        }
        let at = self.walk.at;
        let bounds = Bounds::of(at, at).grown(left);
        let ring = Ring::of_line(at, at, left);
        let room = if here.at <= self.measured { here.gap } else { 0.0 };
        let reach = room.max(self.needed) + setting.radius + SLACK;
        let near = |body: &u32| self.seen[*body as usize].room.apart_squared(&bounds, &ring) <= reach * reach;
        bodies.iter().copied().filter(near).collect()
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::Point3;

    use super::*;
    use crate::bender::{Carrier, Follower, Shape};
    use crate::clearance::testing::{bender, blank, solid};
    use crate::forming::LeadEnd;

    #[test]
    fn bug_the_wrapped_arc_ran_out_of_budget_beside_a_solid_on_the_die_where_the_follower_travels() {
        // Level with the tangent point, so that the arc is as near to it at every die angle, just where it ends.
        let mut bender = bender();
        bender.dies[0].follower = Follower::Travels;
        let shape = Shape::Box { min: Point3::new(5.0, -85.0, 50.0), max: Point3::new(70.0, -30.0, 140.0) };
        bender.solids.push(crate::bender::Solid { on: Carrier::Die, ..solid("stop", shape) });
        let blank = blank(&[(400.0, 0.0, 89.0), (400.0, 0.0, 77.0)], 400.0, 100.0, 30.0);
        let machine = Machine::new(&bender);
        let step = Step { bender: &bender, blank: &blank, bend: BendId(1), lead: LeadEnd::B, made: &[false, false] };
        // From the tangent point to the nearest corner of the box, less half the tube.
        let least = libm::hypot(15.0, 50.0) - 15.0;
        for bar in [Bar::Keep, Bar::Touch] {
            let Passage::Free(gap) = machine.passage(&step, bar) else { panic!("{bar:?}: it passes") };
            assert!((gap - least).abs() < 0.06, "{gap} {least}");
        }
    }
}
