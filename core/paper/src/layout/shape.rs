//! The finished tube laid flat: straights and arcs in one plane, at true size.
//!
//! A tube whose bends lie in one plane is one shape. For any other, each bend has a plane of its own: the leg before it, the bend, the leg after it. The
//! frame has y up and is seen from the side from which the first bend of the shape turns right: with the end toward A on the left, it opens toward you.
//!
//! ```text
//!    end A o-----------+ . . . . . + corner          + tangent points: where the straight ends
//!                       ` .        .
//!                           `      .
//!                             `    .
//!                               `  +
//!                                  |
//!                                  o end B
//! ```

use kurbo::{BezPath, Point, Shape as _, Vec2};
use tubewright::centreline::{BendId, setback};
use tubewright::forming::LeadEnd;
use tubewright::job::Cut;
use tubewright::plan::TubePlan;
use tubewright::units::{Angle, Length};

use crate::chain::Chain;
use crate::draw::DRAWN;

/// A tube that rises less than this over the plane of its first two legs is laid as if it were flat: a tape over a bench tells no less.
pub const FLAT: Length = Length::mm(2.0);

/// A piece of a centreline in its plane, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Piece {
    /// A straight.
    Straight {
        /// Its end toward A.
        from: Point,
        /// Its direction toward B, of length 1.
        along: Vec2,
        /// Its length.
        length: f64,
    },
    /// The arc of a bend.
    Arc {
        /// Which bend.
        bend: BendId,
        /// Its centre.
        centre: Point,
        /// From the centre to its start: as long as the formed radius.
        spoke: Vec2,
        /// How far it turns: positive to the left, negative to the right.
        sweep: Angle,
    },
}

/// A vector turned to the left.
#[must_use]
pub fn turned(vector: Vec2, by: Angle) -> Vec2 {
    let (sin, cos) = libm::sincos(by.to_rad());
    Vec2::new(vector.x * cos - vector.y * sin, vector.x * sin + vector.y * cos)
}

impl Piece {
    /// Its length along the centreline, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        match self {
            Self::Straight { length, .. } => *length,
            Self::Arc { spoke, sweep, .. } => spoke.hypot() * sweep.abs().to_rad(),
        }
    }

    /// Its point at a part of its length, from 0 toward A to 1 toward B.
    #[must_use]
    pub fn at(&self, part: f64) -> Point {
        match self {
            Self::Straight { from, along, length } => *from + *along * (length * part),
            Self::Arc { centre, spoke, sweep, .. } => *centre + turned(*spoke, *sweep * part),
        }
    }

    /// Its direction of travel there, of length 1.
    #[must_use]
    pub fn along(&self, part: f64) -> Vec2 {
        match self {
            Self::Straight { along, .. } => *along,
            Self::Arc { spoke, sweep, .. } => {
                let out = turned(*spoke, *sweep * part) / spoke.hypot();
                left(out) * if *sweep < Angle::ZERO { -1.0 } else { 1.0 }
            }
        }
    }

    /// The same piece so far to the left of it, mm. An arc ends at its own centre.
    #[must_use]
    pub fn beside(&self, offset: f64) -> Self {
        match *self {
            Self::Straight { from, along, length } => {
                Self::Straight { from: from + left(along) * offset, along, length }
            }
            Self::Arc { bend, centre, spoke, sweep } => {
                let radius = spoke.hypot();
                let to_centre = if sweep < Angle::ZERO { -offset } else { offset };
                Self::Arc { bend, centre, spoke: spoke * ((radius - to_centre).max(0.0) / radius), sweep }
            }
        }
    }

    /// Moved and turned: `turn` is the direction in which x comes to lie, of length 1.
    fn moved(&self, by: &dyn Fn(Point) -> Point, turn: Vec2) -> Self {
        let swung = |v: Vec2| Vec2::new(v.x * turn.x - v.y * turn.y, v.x * turn.y + v.y * turn.x);
        match *self {
            Self::Straight { from, along, length } => Self::Straight { from: by(from), along: swung(along), length },
            Self::Arc { bend, centre, spoke, sweep } => {
                Self::Arc { bend, centre: by(centre), spoke: swung(spoke), sweep }
            }
        }
    }
}

/// To the left of a direction.
fn left(along: Vec2) -> Vec2 {
    Vec2::new(-along.y, along.x)
}

/// What a named point of a layout is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// The cut end at A or B, with any extra.
    End(char),
    /// Where the extra at A or B is cut off after bending.
    Trim(char),
    /// Where the arc of a bend starts, toward A.
    Start(BendId),
    /// Its middle.
    Middle(BendId),
    /// Where it ends, toward B.
    Stop(BendId),
    /// The corner of a bend.
    Corner(BendId),
}

impl What {
    /// Its name: `end A`, `bend 2 start`, `corner 2`.
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Self::End(end) => format!("end {end}"),
            Self::Trim(end) => format!("trim {end}"),
            Self::Start(bend) => format!("bend {} start", bend.number()),
            Self::Middle(bend) => format!("bend {} middle", bend.number()),
            Self::Stop(bend) => format!("bend {} end", bend.number()),
            Self::Corner(bend) => format!("corner {}", bend.number()),
        }
    }

    /// What kind of point it is, for machines.
    #[must_use]
    pub const fn kind(self) -> &'static str {
        match self {
            Self::End(_) => "end",
            Self::Trim(_) => "trim",
            Self::Start(_) | Self::Stop(_) => "tangent",
            Self::Middle(_) => "middle",
            Self::Corner(_) => "corner",
        }
    }

    /// The bend that it belongs to.
    #[must_use]
    pub const fn bend(self) -> Option<BendId> {
        match self {
            Self::End(_) | Self::Trim(_) => None,
            Self::Start(bend) | Self::Middle(bend) | Self::Stop(bend) | Self::Corner(bend) => Some(bend),
        }
    }
}

/// A named point of a layout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// What it is.
    pub what: What,
    /// Where it is, mm.
    pub at: Point,
}

/// One plane of a tube: all of a flat one, or a bend with its two legs.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// What it shows: `lies flat, bends 1 to 2`, `bend 2: legs 2 and 3`.
    pub name: String,
    /// Its bends, from end A.
    pub bends: Vec<BendId>,
    /// Its legs, counted from 1.
    pub legs: Vec<usize>,
    /// The centreline, from the end toward A; extras belong to the first and the last straight.
    pub pieces: Vec<Piece>,
    /// Named points, from the end toward A.
    pub spots: Vec<Spot>,
    /// Where the tube itself is cut, toward A and toward B; elsewhere it goes on out of the plane.
    pub cut: [bool; 2],
    /// The cut to another tube that takes off what is left on at A and at B before bending, or without; `None` where that is cut off after bending.
    pub taken_by: [Option<Cut>; 2],
    /// Outside diameter, mm.
    pub od: f64,
    /// How far the tube rises over the plane; less than [`FLAT`].
    pub rises: Length,
}

impl Shape {
    /// All shapes of a tube: one where it is flat or straight, else one for each bend.
    #[must_use]
    pub fn all(tube: &TubePlan) -> Vec<Self> {
        let bends = tube.centreline.rows.bends.len();
        let rises = rises(tube);
        if bends < 2 || rises < FLAT {
            return vec![Self::new(tube, 0, bends, rises)];
        }
        (0..bends).map(|bend| Self::new(tube, bend, bend + 1, Length::ZERO)).collect()
    }

    /// The shape of the bends from one to before another.
    fn new(tube: &TubePlan, first: usize, beyond: usize, rises: Length) -> Self {
        let rows = &tube.centreline.rows;
        let all = rows.bends.len();
        let (extra_a, extra_b) = (tube.extra_a.to_mm(), tube.extra_b.to_mm());
        let [beyond_a, beyond_b] = tube.beyond().map(Length::to_mm);
        let cut = [first == 0, beyond == all];
        let mut shape = Self {
            name: name(first, beyond, all),
            bends: (first..beyond).map(BendId).collect(),
            legs: (first + 1..=beyond + 1).collect(),
            pieces: Vec::new(),
            spots: Vec::new(),
            cut,
            taken_by: [LeadEnd::A, LeadEnd::B].map(|end| tube.cut_before(end).map(|own| own.cut)),
            od: tube.stock.od.to_mm(),
            rises,
        };
        let (mut at, mut along, mut right) = (Point::ORIGIN, Vec2::new(1.0, 0.0), true);
        let back = |bend: usize| {
            let row = rows.bends.get(bend)?;
            setback(tube.centreline.radii[bend], row.angle).map(Length::to_mm)
        };
        if cut[0] {
            shape.spot(What::End('A'), at);
            if extra_a > 0.0 {
                shape.spot(What::Trim('A'), at + along * extra_a);
            }
        } else {
            let before = first - 1;
            if let Some(back) = back(before) {
                shape.spot(What::Corner(BendId(before)), at - along * back);
            }
            shape.spot(What::Stop(BendId(before)), at);
        }
        for (bend, straight) in tube.centreline.straights().enumerate().take(beyond + 1).skip(first) {
            let before = if bend == 0 { beyond_a } else { 0.0 };
            let after = if bend == all { beyond_b } else { 0.0 };
            let length = before + straight.to_mm() + after;
            shape.pieces.push(Piece::Straight { from: at, along, length });
            at += along * length;
            if bend == beyond {
                break;
            }
            let (row, radius) = (&rows.bends[bend], tube.centreline.radii[bend].to_mm());
            // In one plane a rotation is none or half a turn, which bends the other way.
            if bend > first && row.rotation.abs() > Angle::deg(90.0) {
                right = !right;
            }
            let sweep = if right { -row.angle } else { row.angle };
            let side = left(along) * if right { 1.0 } else { -1.0 };
            let arc = Piece::Arc { bend: BendId(bend), centre: at - side * radius, spoke: side * radius, sweep };
            shape.spot(What::Start(BendId(bend)), at);
            shape.spot(What::Middle(BendId(bend)), arc.at(0.5));
            if let Some(back) = back(bend) {
                shape.spot(What::Corner(BendId(bend)), at + along * back);
            }
            at = arc.at(1.0);
            along = arc.along(1.0);
            shape.spot(What::Stop(BendId(bend)), at);
            shape.pieces.push(arc);
        }
        if cut[1] {
            if extra_b > 0.0 {
                shape.spot(What::Trim('B'), at - along * extra_b);
            }
            shape.spot(What::End('B'), at);
        } else {
            shape.spot(What::Start(BendId(beyond)), at);
            if let Some(back) = back(beyond) {
                shape.spot(What::Corner(BendId(beyond)), at + along * back);
            }
        }
        shape
    }

    fn spot(&mut self, what: What, at: Point) {
        self.spots.push(Spot { what, at });
    }

    /// Length of the centreline with its extras, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.pieces.iter().map(Piece::length).sum()
    }

    /// The end toward A, or toward B.
    #[must_use]
    pub fn end(&self, b: bool) -> Point {
        if b { self.pieces.last().map_or(Point::ORIGIN, |piece| piece.at(1.0)) } else { self.pieces[0].at(0.0) }
    }

    /// Whether there is no bend in it.
    #[must_use]
    pub fn straight(&self) -> bool {
        self.bends.is_empty()
    }

    /// The lines of the legs beyond the tangent points: from where a straight ends to its corner.
    #[must_use]
    pub fn to_corners(&self) -> Vec<(Point, Point)> {
        let find = |what: What| self.spots.iter().find(|spot| spot.what == what).map(|spot| spot.at);
        let mut lines = Vec::new();
        for spot in &self.spots {
            let What::Corner(bend) = spot.what else { continue };
            for tangent in [What::Start(bend), What::Stop(bend)] {
                lines.extend(find(tangent).map(|at| (at, spot.at)));
            }
        }
        lines
    }

    /// The same in a frame whose origin is at a point and whose x runs along a direction of length 1.
    #[must_use]
    pub fn seen_from(&self, origin: Point, along: Vec2) -> Self {
        let by = |point: Point| {
            let v = point - origin;
            Point::new(v.dot(along), v.dot(left(along)))
        };
        let turn = Vec2::new(along.x, -along.y);
        Self {
            pieces: self.pieces.iter().map(|piece| piece.moved(&by, turn)).collect(),
            spots: self.spots.iter().map(|spot| Spot { at: by(spot.at), ..*spot }).collect(),
            ..self.clone()
        }
    }

    /// The line so far to the left of the centreline, drawn from the end toward A, in this frame.
    #[must_use]
    pub fn line(&self, offset: f64) -> BezPath {
        let mut path = BezPath::new();
        for piece in self.pieces.iter().map(|piece| piece.beside(offset)) {
            if path.is_empty() {
                path.move_to(piece.at(0.0));
            }
            match piece {
                Piece::Straight { .. } => path.line_to(piece.at(1.0)),
                Piece::Arc { centre, spoke, sweep, .. } => {
                    let (radius, start) = (spoke.hypot(), libm::atan2(spoke.y, spoke.x));
                    let arc = kurbo::Arc::new(centre, (radius, radius), start, sweep.to_rad(), 0.0);
                    path.extend(arc.to_path(DRAWN).elements().iter().copied().skip(1));
                }
            }
        }
        path
    }
}

fn name(first: usize, beyond: usize, all: usize) -> String {
    match (all, beyond - first) {
        (0, _) => "straight".to_owned(),
        (1, _) => "lies flat, bend 1".to_owned(),
        (_, 1) => format!("bend {beyond}: legs {beyond} and {}", beyond + 1),
        _ => format!("lies flat, bends {} to {beyond}", first + 1),
    }
}

/// How far the tube rises over the plane of its first two legs, at most.
fn rises(tube: &TubePlan) -> Length {
    let chain = Chain::new(tube, &|_| true);
    let heights = chain.bends.iter().flat_map(|bent| [bent.start.z, bent.end.z]).chain([chain.end.z]);
    Length::mm(heights.map(f64::abs).fold(0.0, f64::max))
}
