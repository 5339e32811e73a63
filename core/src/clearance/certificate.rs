//! What a decision rests on, for whoever would rather go over it than believe it.
//!
//! A step is clear because each place of the tube, at each die angle, lies in some leaf of the search whose bound says that the gap
//! is at least what must be kept. [`Machine::certificate`] hands out these leaves, and those for what the boxes around the
//! pieces left out from the start. Whoever checks them needs to know the motion of the bender (section "Frames" of the developers' page) and
//! the shapes, and nothing of how the search came by its bounds.
//!
//! ```text
//!    die angle ^
//!       target +--------+---------+        a part of the tube against one body: the leaves cover all places that are
//!              |        |  leaf   |        looked at, at every die angle
//!              |        +----+----+
//!              |  leaf  |leaf|leaf|
//!            0 +--------+----+----+-> place along the part
//! ```
//!
//! What need not be in a leaf, since another one says it:
//!
//! - Die angles after 0 of the first straight behind the tangent point, against what stands while it travels along x: none of its places is ever
//!   where none was at rest. Such leaves are at die angle 0 alone.
//! - The arc that is being wrapped, against what stands as its places do: each of them is where the lead part began at the die angle before. And
//!   against what turns with the die, as long as all that is drawn in is straight: each is, on the die, where the trailing part began
//!   ([`super::machine`] says why).
//! - What stands behind the end of what holds the tube, against that: clamp, die and follower.

use super::kernel::Form;
use super::limb::{Cut, Kind, Limb, Setting};
use super::machine::{LeadPart, Machine, Room, TrailPart, gather, gather_between, relative, slides};
use super::obstacle::{Body, Obstacle};
use super::search::{Node, Other, Search};
use crate::bender::Step;
use crate::motion::{Relative, Ride};
use crate::units::{Angle, Length};

/// A part of the tube during a bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Ahead of the tangent point: it turns with the die. Places are distances along the blank from the tangent point.
    Lead,
    /// Behind it: it travels along x. Places are distances along the blank from the tangent point at die angle 0. Where a leaf
    /// holds places that are drawn in at some of its die angles, its bound holds for the part as if it were not.
    Trail,
    /// The arc that is being wrapped, on its circle from the tangent point on. Places are lengths of blank from there, so that
    /// the circle stands still and is filled by as much as has been drawn in.
    Wrapped,
}

/// A stretch of the tube over a range of die angles, and what is proved of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaf {
    /// Which of the obstacle's bodies, from 0: more than 0 only where a die gives several shapes for one of its parts.
    pub body: usize,
    /// Which triangles of that body, where it is a mesh and not all of it is meant, by their places in the mesh (triangles that
    /// name points which are not there are not counted).
    pub triangles: Option<Vec<usize>>,
    /// Which part of the tube.
    pub part: Part,
    /// From and to which place of that part.
    pub along: [Length; 2],
    /// From and to which place of the trailing part, where the obstacle is the tube itself.
    pub other: Option<[Length; 2]>,
    /// From and to which die angle.
    pub die_angle: [Angle; 2],
    /// The gap less what must be kept is nowhere in it below this, but for 1e-6 mm of rounding.
    pub at_least: Length,
}

/// The leaves for one obstacle.
#[derive(Clone, Debug, PartialEq)]
pub struct Proof {
    /// A solid's own name, `floor`, `die`, `clamp`, `follower`, or `tube` for the tube against itself.
    pub obstacle: String,
    /// In the order in which they were found.
    pub leaves: Vec<Leaf>,
}

/// Why every gap of a step is at least what must be kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Certificate {
    /// One for every obstacle, in the order of a report.
    pub proofs: Vec<Proof>,
}

impl Machine {
    /// Why a step is clear: leaves that together cover every place and die angle that must be looked at, by the search that
    /// [`Machine::decide`] asks. `None` where some gap is too small, or where the budget runs out for some obstacle by itself.
    ///
    /// It says nothing that `decide` does not; it is for going over the answer. The hard limits are not looked at. That no part of the tube begins
    /// inside a mesh is for the checker to see: the leaves are about its surface.
    ///
    /// # Panics
    /// Where the step does not belong to the bender of this machine.
    #[must_use]
    pub fn certificate(&self, step: &Step<'_>) -> Option<Certificate> {
        let (lead, trail) = (LeadPart::new(step), TrailPart::new(step));
        let setting = &lead.setting;
        let mut proofs = Vec::new();
        for obstacle in self.obstacles(lead.die) {
            let mut leaves = Vec::new();
            let mut search = Search::new(setting);
            for limb in [Some(&lead.limb), Some(&trail.limb), trail.wrapped.as_ref()].into_iter().flatten() {
                if gather(&mut search, setting, limb, obstacle, limb.most_needed(setting)).is_some() {
                    return None;
                }
                left_out(&search, setting, limb, obstacle, &mut leaves);
            }
            let kept = search.is_kept_noting(|node| leaves.extend(leaf(&search, setting, obstacle, node)));
            if kept != Some(true) {
                return None;
            }
            proofs.push(Proof { obstacle: obstacle.name.clone(), leaves });
        }
        let mut search = Search::new(setting);
        gather_between(&mut search, setting, &lead.limb, &trail.limb, f64::INFINITY);
        let mut leaves = Vec::new();
        let kept = search.is_kept_noting(|node| leaves.extend(between(&search, setting, node)));
        proofs.push(Proof { obstacle: "tube".to_owned(), leaves });
        (kept == Some(true)).then_some(Certificate { proofs })
    }
}

const fn part(kind: Kind) -> Part {
    match kind {
        Kind::Lead => Part::Lead,
        Kind::Trail => Part::Trail,
        Kind::Wrap => Part::Wrapped,
    }
}

/// Which body of an obstacle a pair is about.
fn body_of(obstacle: &Obstacle, other: Other<'_>) -> Option<usize> {
    obstacle.bodies.iter().position(|body| match (other, &body.form) {
        (Other::Mesh(mesh), Form::Mesh(own)) => core::ptr::eq(mesh, &raw const **own),
        (Other::Form(form), own) => core::ptr::eq(form, own),
        _ => false,
    })
}

/// How a body moves as a part of the tube sees it.
fn motion(setting: &Setting, limb: &Limb, body: &Body) -> (Ride, Relative) {
    let ride = Ride::of(body.on, setting.motion, setting.follower);
    (ride, relative(setting, limb.kind, body, ride))
}

fn leaf(search: &Search<'_>, setting: &Setting, obstacle: &Obstacle, node: Node) -> Option<Leaf> {
    let node = search.spare(node)?;
    let pair = &search.pairs[node.pair];
    let piece = &pair.limb.pieces[pair.piece];
    let body = body_of(obstacle, pair.other)?;
    // What does not move is looked at once, for all die angles. What slides along itself does move.
    let still = node.a[0] >= node.a[1] && motion(setting, pair.limb, &obstacle.bodies[body]).1.is_still();
    let triangles = match pair.other {
        Other::Mesh(mesh) => Some(mesh.triangles(node.branch)),
        Other::Form(_) | Other::Tube { .. } => None,
    };
    Some(Leaf {
        body,
        triangles,
        part: part(pair.limb.kind),
        along: node.t.map(|share| Length::mm(piece.place(share))),
        other: None,
        die_angle: [node.a[0], if still { setting.target } else { node.a[1] }].map(Angle::rad),
        at_least: Length::mm(node.least),
    })
}

fn between(search: &Search<'_>, setting: &Setting, node: Node) -> Option<Leaf> {
    let node = search.spare(node)?;
    let pair = &search.pairs[node.pair];
    let Other::Tube { limb, piece } = pair.other else { return None };
    let place =
        |limb: &Limb, piece: usize, shares: [f64; 2]| shares.map(|share| Length::mm(limb.pieces[piece].place(share)));
    debug_assert!(node.a[1] <= setting.target, "no leaf is about more than the bend");
    Some(Leaf {
        body: 0,
        triangles: None,
        part: Part::Lead,
        along: place(pair.limb, pair.piece, node.t),
        other: Some(place(limb, piece, node.u)),
        die_angle: node.a.map(Angle::rad),
        at_least: Length::mm(node.least),
    })
}

/// Leaves for the pieces that no pair was made of, by the room that they and the body take over the whole motion.
fn left_out(search: &Search<'_>, setting: &Setting, limb: &Limb, obstacle: &Obstacle, leaves: &mut Vec<Leaf>) {
    let cut = if obstacle.holds { Cut::Held } else { Cut::None };
    let from = limb.cut(setting, cut, 0.0);
    if obstacle.holds && (limb.kind == Kind::Wrap || from >= limb.end - 1e-9) {
        return;
    }
    for (index, body) in obstacle.bodies.iter().enumerate() {
        let (ride, relative) = motion(setting, limb, body);
        let empty = matches!(&body.form, Form::Mesh(mesh) if mesh.is_empty());
        if empty || limb.is_as_near_elsewhere(setting, ride) {
            continue;
        }
        let room = Room::new(setting, body, &relative);
        for (number, (piece, (bounds, ring))) in limb.pieces.iter().zip(&limb.rooms).enumerate() {
            let taken = search.pairs.iter().any(|pair| {
                core::ptr::eq(pair.limb, limb) && pair.piece == number && body_of(obstacle, pair.other) == Some(index)
            });
            if taken || piece.far < from {
                continue;
            }
            let apart = room.apart_squared(bounds, ring).sqrt();
            let at_rest = slides(limb, number, cut, &relative) && !relative.is_still();
            leaves.push(Leaf {
                body: index,
                triangles: None,
                part: part(limb.kind),
                along: [piece.near, piece.far].map(Length::mm),
                other: None,
                die_angle: [Angle::ZERO, if at_rest { Angle::ZERO } else { Angle::rad(setting.target) }],
                at_least: Length::mm(apart - setting.radius - limb.most_needed(setting)),
            });
        }
    }
}
