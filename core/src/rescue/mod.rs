//! A tube that is half bent and not as planned: what the bends that are left have to be so that it is saved.
//!
//! End A, the first leg and the plane of bend 1 lie as drawn. The bends that are made stay as they came out: their places on the blank, their angles, their
//! rolls. The others are found anew: first end B and the line of the last leg are held, and among the shapes that hold them the one is taken whose nodes
//! between are off by the least sum of squares. Where they cannot be held, it is the least sum of squares of all: of what end B is off in mm, 1000 times; of what the last
//! leg turns, 100 mm for a radian; and of what each node between is off in mm, once.
//!
//! ```text
//!         planned        bend 1 came out 88 degrees: leg 2 leans out, and bend 2 makes up for it
//!      o-----------)            o---------------)     400 / sin 88 = 400.244 of leg 2,
//!                  |                           /      500 + 400 / tan 88 = 513.968 of leg 3,
//!      o-----------)            o-------------)       92 degrees at bend 2
//! ```
//!
//! The limits that need no bender in motion are kept: the straights that the clamp and the follower need in the order that is followed, the die's arc. The tube is cut, so
//! that a longer last leg is missing at end B and a shorter one is left over there.

mod chain;
mod least;
mod text;

use nalgebra::{DMatrix, DVector};

use self::chain::{Chain, Place, UNIT};
use self::least::{Found, Limits};
pub use self::text::DoneMistake;
use crate::bender::Bender;
use crate::centreline::{BendId, Centreline, SHARPEST_CORNER, STRAIGHT_THROUGH};
use crate::forming::{Blank, LeadEnd};
use crate::job::Tube;
use crate::order::{Order, Turn};
use crate::round::People;
use crate::units::{Angle, Length, LengthUnit};

/// A bend that is made, and what was got.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Done {
    /// Which bend, and which end led.
    pub turn: Turn,
    /// Its bend angle after release.
    pub angle: Angle,
    /// How far the tube had slipped: the bend lies so much further toward end B.
    pub slip: Length,
    /// How far its plane is rolled, clockwise looking from end A.
    pub roll: Angle,
}

impl Done {
    /// Reads `1A angle=88 slip=2 roll=1, 2A`: bends in the order in which they were made, each with what came out otherwise than planned.
    ///
    /// Angles in degrees; a bare slip is in `unit`.
    ///
    /// # Errors
    /// Whatever is not clearly that, and bends that `order` does not begin with.
    pub fn parse(text: &str, order: &Order, blank: &Blank, unit: LengthUnit) -> Result<Vec<Self>, DoneMistake> {
        let planned = |turn: Turn| blank.bends[turn.bend.0].angle;
        text::parse(text, order, blank.bends.len(), unit, &planned)
    }
}

/// A limit that the bends that are left have to keep.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Limit {
    /// The straight of a leg, counted from 1.
    Straight {
        /// The leg.
        leg: usize,
        /// What the clamp, the follower or the end that is held needs.
        least: Length,
    },
    /// The die's arc at a bend.
    DieArc {
        /// The bend.
        bend: BendId,
        /// The greatest bend angle.
        most: Angle,
    },
    /// A bend that would be none, or bent the other way.
    NoBend {
        /// The bend.
        bend: BendId,
    },
}

/// What the bends that are left have to be.
#[derive(Clone, Debug, PartialEq)]
pub struct Saved {
    /// Whether end B and the line of the last leg are in their places.
    pub held: bool,
    /// The finished shape; end A, the first leg and the plane of bend 1 as drawn.
    pub centreline: Centreline,
    /// Tube that is left over beyond the finished end B; below 0 what is missing.
    pub extra_b: Length,
    /// How far end B is off its place.
    pub end_b_off: Length,
    /// How far the last leg is turned from its direction.
    pub last_leg_off: Angle,
    /// Where the reference line lies by the bends as they are, clockwise looking from end A from the one that was drawn on the blank.
    pub reference: Angle,
    /// Limits that stand in the way of a better shape.
    pub met: Vec<Limit>,
}

/// Why there is no such shape at all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NoShape {
    /// A made bend lies over the made bend before it, or over an end of the tube.
    Overlap {
        /// The bend.
        bend: BendId,
        /// The made bend before it; `None` for an end of the tube.
        before: Option<BendId>,
        /// By how much.
        by: Length,
    },
    /// The made bends leave no room for one that is left.
    NoRoom {
        /// The leg, from 1.
        leg: usize,
    },
}

impl NoShape {
    /// What is wrong, in the reader's units.
    #[must_use]
    pub fn words(&self, people: &People) -> String {
        match self {
            Self::Overlap { bend, before, by } => {
                let over =
                    before.map_or_else(|| "the end of the tube".to_owned(), |bend| format!("bend {}", bend.number()));
                format!(
                    "bend {} as it came out would lie {} over {over}: look at its angle and slip again",
                    bend.number(),
                    people.figure(*by)
                )
            }
            Self::NoRoom { leg } => {
                format!("the bends that are made leave no straight on leg {leg}: look at their angles and slips again")
            }
        }
    }
}

/// End B counts as held within this, mm, and the last direction within the other, radians: both far below anything that is measured, and far above
/// rounding.
const HELD: (f64, f64) = (1e-7, 1e-10);

/// A limit is kept where it is broken by no more, mm.
const KEPT: f64 = 1e-6;

/// What the bends that are left have to be, with these made; `order` is the whole order that is followed, as far as it is known.
///
/// # Errors
/// Where what was got cannot be, or leaves no room for the bends that are left.
///
/// # Panics
/// Where `done` names a bend that the tube has not.
pub fn rescue(bender: &Bender, tube: &Tube, blank: &Blank, order: &Order, done: &[Done]) -> Result<Saved, NoShape> {
    let bends = blank.bends.len();
    let mut places: Vec<Place> = Vec::with_capacity(bends);
    let mut before: Option<f64> = None;
    for formed in &blank.bends {
        // Without wrapping from one to the next, so that a rotation of half a turn and a little more stays a small change.
        let psi = before.map_or(0.0, |psi| psi + formed.rotation.to_rad());
        before = Some(psi);
        places.push(Place { start: formed.start.to_mm(), angle: formed.angle.to_rad(), psi });
    }
    let left = (0..bends).filter(|bend| done.iter().all(|done| done.turn.bend.0 != *bend)).collect();
    let beyond = tube.beyond();
    let first_node = beyond[0].to_mm();
    let mut chain = Chain { planned: &tube.centreline, blank, first_node, places, left, hold: true };
    for one in done {
        let bend = one.turn.bend.0;
        let planned = chain.places[bend];
        let angle = one.angle.to_rad();
        let shorter = chain.blank_per_radian(bend) * (planned.angle - angle);
        let start = planned.start + one.slip.to_mm() + if one.turn.lead == LeadEnd::A { 0.0 } else { shorter };
        chain.places[bend] = Place { start, angle, psi: planned.psi + one.roll.to_rad() };
    }
    overlaps(&chain, done)?;

    let (limits, named) = limits(&chain, bender, tube, order);
    let held = least::solve(&chain, &limits, chain.start());
    let off = chain.off(&held.at);
    let is_held = held.rests && off.0 <= HELD.0 && off.1 <= HELD.1 && kept(&limits, &held);
    let found = if is_held {
        held
    } else {
        let met = held.met;
        chain.hold = false;
        let mut found = least::solve(&chain, &limits, chain.start());
        // What the holding ran against is in the way too.
        found.met.extend(met);
        found
    };
    let centreline = chain.finished(&found.at);
    if let Some(leg) = centreline.straights().position(|straight| straight.to_mm() < -KEPT) {
        return Err(NoShape::NoRoom { leg: leg + 1 });
    }
    let off = chain.off(&found.at);
    let mut met: Vec<usize> = found.met;
    met.sort_unstable();
    met.dedup();
    let all = chain.places(&found.at);
    let reference = all.first().map_or(0.0, |first| first.psi);
    Ok(Saved {
        held: is_held,
        extra_b: blank.cut_length - Length::mm(found.at[found.at.len() - 1]) + tube.extra_b - beyond[1],
        centreline: tidy(centreline),
        end_b_off: Length::mm(off.0),
        last_leg_off: Angle::rad(off.1),
        reference: Angle::rad(reference).wrapped() + Angle::ZERO,
        met: met.into_iter().map(|limit| named[limit]).collect(),
    })
}

/// Straights below 0 by rounding are 0.
fn tidy(mut line: Centreline) -> Centreline {
    line.rows.bends.iter_mut().for_each(|row| row.length = row.length.max(Length::ZERO));
    line.rows.last = line.rows.last.max(Length::ZERO);
    line
}

fn kept(limits: &Limits, found: &Found) -> bool {
    (&limits.slopes * &found.at - &limits.least).iter().all(|room| *room >= -KEPT)
}

/// Made bends that lie over each other, or over an end.
fn overlaps(chain: &Chain<'_>, done: &[Done]) -> Result<(), NoShape> {
    let mut made: Vec<usize> = done.iter().map(|done| done.turn.bend.0).collect();
    made.sort_unstable();
    let mut before = (0.0, None);
    for bend in &made {
        let place = &chain.places[*bend];
        let by = before.0 - place.start;
        if by > KEPT {
            return Err(NoShape::Overlap { bend: BendId(*bend), before: before.1, by: Length::mm(by) });
        }
        before = (chain.end_of(*bend, place), Some(BendId(*bend)));
    }
    let by = before.0 - chain.blank.cut_length.to_mm();
    match before.1.filter(|_| by > KEPT) {
        Some(bend) => Err(NoShape::Overlap { bend, before: None, by: Length::mm(by) }),
        None => Ok(()),
    }
}

/// The limits of the bends that are left, as rows over the unknowns, and what each is.
fn limits(chain: &Chain<'_>, bender: &Bender, tube: &Tube, order: &Order) -> (Limits, Vec<Limit>) {
    let (bends, unknowns) = (chain.places.len(), 3 * chain.left.len() + 1);
    let place_of = |bend: usize| chain.left.iter().position(|left| *left == bend);
    let mut rows: Vec<(DVector<f64>, f64, Limit)> = Vec::new();
    // A place on the blank as a row and what stands beside it: the start of a bend's arc, or its end.
    let start = |bend: usize| {
        let mut row = DVector::zeros(unknowns);
        match place_of(bend) {
            Some(place) => {
                row[3 * place] = 1.0;
                (row, 0.0)
            }
            None => (row, chain.places[bend].start),
        }
    };
    let end = |bend: usize| {
        let (mut row, at) = start(bend);
        let arc = chain.blank_per_radian(bend);
        match place_of(bend) {
            Some(place) => row[3 * place + 1] = arc * UNIT,
            None => return (row, at + arc * chain.places[bend].angle),
        }
        (row, at)
    };
    let needs = Needs { bender, tube, blank: chain.blank, order };
    for leg in 0..=bends {
        let beside = [leg.checked_sub(1), (leg < bends).then_some(leg)];
        if beside.into_iter().flatten().all(|bend| place_of(bend).is_none()) {
            continue;
        }
        let planned = chain.planned.straights().nth(leg).unwrap_or(Length::ZERO);
        let (from, to, there) = match beside {
            [None, Some(bend)] => ((DVector::zeros(unknowns), 0.0), start(bend), planned + tube.beyond()[0]),
            [Some(bend), None] => {
                ((end(bend)), (DVector::zeros(unknowns), chain.blank.cut_length.to_mm()), planned + tube.beyond()[1])
            }
            [Some(before), Some(after)] => (end(before), start(after), planned),
            [None, None] => continue,
        };
        // Where the plan itself has less, it has to do.
        let least = needs.straight(beside).min(there);
        rows.push((to.0 - from.0, least.to_mm() - to.1 + from.1, Limit::Straight { leg: leg + 1, least }));
        if leg == 0 {
            let (row, at) = start(0);
            rows.push((row, chain.first_node - at, Limit::Straight { leg: 1, least: Length::ZERO }));
        }
    }
    if let Some(last) = bends.checked_sub(1) {
        let (row, at) = end(last);
        let mut row = -row;
        row[unknowns - 1] = 1.0;
        rows.push((row, at, Limit::Straight { leg: bends + 1, least: Length::ZERO }));
    }
    for (place, bend) in chain.left.iter().enumerate() {
        let planned = Angle::rad(chain.places[*bend].angle);
        let law = tube.law(bender, tube.dies[*bend]);
        let die = (bender.dies[tube.dies[*bend]].max_angle - law.constant) / (1.0 + law.proportional);
        let corner = if planned <= SHARPEST_CORNER { SHARPEST_CORNER } else { Angle::deg(359.0) };
        let most = die.min(corner).max(planned);
        let mut row = DVector::zeros(unknowns);
        row[3 * place + 1] = 1.0;
        rows.push((row.clone(), STRAIGHT_THROUGH.to_rad() / UNIT, Limit::NoBend { bend: BendId(*bend) }));
        rows.push((-row, -most.to_rad() / UNIT, Limit::DieArc { bend: BendId(*bend), most }));
    }
    let slopes = DMatrix::from_fn(rows.len(), unknowns, |row, column| rows[row].0[column]);
    let least = DVector::from_iterator(rows.len(), rows.iter().map(|(_, least, _)| *least));
    (Limits { slopes, least }, rows.into_iter().map(|(_, _, limit)| limit).collect())
}

/// What clamp and follower need in an order.
struct Needs<'a> {
    bender: &'a Bender,
    tube: &'a Tube,
    blank: &'a Blank,
    order: &'a Order,
}

impl Needs<'_> {
    /// The straight between two bends, or between a bend and an end.
    fn straight(&self, beside: [Option<usize>; 2]) -> Length {
        let made = |bend: &usize| self.order.0.iter().position(|turn| turn.bend.0 == *bend);
        // Of two bends the one that is made after the other needs it; one that the order does not come to is made last.
        let second = match beside {
            [Some(before), Some(after)] => {
                let later = made(&after).map_or(usize::MAX, |at| at) >= made(&before).map_or(usize::MAX, |at| at);
                if later { after } else { before }
            }
            [Some(only), None] | [None, Some(only)] => only,
            [None, None] => return Length::ZERO,
        };
        let toward = if beside[1] == Some(second) { LeadEnd::A } else { LeadEnd::B };
        let to_an_end = beside.contains(&None);
        let die = &self.bender.dies[self.tube.dies[second]];
        let arc = self.blank.bends[second].blank_arc;
        let of = |lead: LeadEnd| {
            if lead == toward { die.ahead(!to_an_end) } else { die.behind(arc, !to_an_end) - arc }
        };
        match made(&second) {
            Some(at) => of(self.order.0[at].lead),
            None => of(LeadEnd::A).min(of(LeadEnd::B)),
        }
    }
}

#[cfg(test)]
mod tests;
