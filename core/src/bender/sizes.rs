//! A bender by sizes that a tape can take, so that nobody has to write boxes in the die's frame.
//!
//! A tape is held to three things that a person can reach: the die's axis, the floor, and the tube that lies in the groove. Which way a size goes is
//! said as somebody says it who stands there, never by x, y or z, so that a clockwise bender is measured with the same words as its mirror image:
//!
//! ```text
//!                  far side
//!                 .--------.
//!   behind      /     o      \       ahead          o  the die's axis: ahead, behind, tube side and far side are taken from it
//!   (follower)  \            /       (clamp)        T  where the tube touches the die
//!   ==============[T]===================            over and under are taken from the tube's surface
//!                 tube side
//! ```
//!
//! Over the tube is the side of the bend plane that one looks at: above it where the bend plane lies flat, toward the operator where it is upright; under is
//! the other. A size with a minus goes the other way: a ram whose near face lies behind the axis has an `ahead` below 0.
//!
//! A part is a plain block, all that it sweeps included: what is left off by that is on the safe side. What was not measured is not there.

use nalgebra::{Point3, Unit, Vector3};

use super::{
    BendMotion, BendPlane, Bender, Carrier, Die, DieShapes, Follower, Hand, Keep, Motions, Pointer, PointerSet,
    Seconds, Shape, Solid, USUAL_LIFT,
};
use crate::forming::Material;
use crate::units::{Angle, Length, LengthUnit};

/// How far a wall and a ceiling reach to either side of the die's axis: longer than any bar.
pub const WALL_REACH: Length = Length::mm(10_000.0);

/// How high above the floor a wall reaches.
pub const WALL_HEIGHT: Length = Length::mm(4_000.0);

/// How thick a wall and a ceiling are: no tube comes to their far face.
pub const WALL_THICK: Length = Length::mm(100.0);

/// A direction, as somebody says it who stands at the bender.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Way {
    /// Along the tube to the end that is clamped and swings.
    Ahead,
    /// Along the tube to the follower.
    Behind,
    /// Square to the tube, from the die's axis to the tube and beyond it.
    TubeSide,
    /// Square to the tube, from the die's axis away from the tube.
    FarSide,
    /// Square to the bend plane, to the side that one looks at: up where the bend plane lies flat, toward the operator where it is upright.
    Over,
    /// The opposite of over.
    Under,
}

impl Way {
    /// All of them, each followed by its opposite.
    pub const ALL: [Self; 6] = [Self::Ahead, Self::Behind, Self::TubeSide, Self::FarSide, Self::Over, Self::Under];

    /// The other way.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::Ahead => Self::Behind,
            Self::Behind => Self::Ahead,
            Self::TubeSide => Self::FarSide,
            Self::FarSide => Self::TubeSide,
            Self::Over => Self::Under,
            Self::Under => Self::Over,
        }
    }

    /// The four ways square to it, each pair of opposites together.
    pub fn across(self) -> impl Iterator<Item = Self> {
        Self::ALL.into_iter().filter(move |way| *way != self && *way != self.opposite())
    }

    /// The direction in the bender frame.
    #[must_use]
    pub fn direction(self, hand: Hand) -> Vector3<f64> {
        match self {
            Self::Ahead => Vector3::x(),
            Self::Behind => -Vector3::x(),
            Self::TubeSide => Vector3::y() * -hand.sign(),
            Self::FarSide => Vector3::y() * hand.sign(),
            Self::Over => Vector3::z(),
            Self::Under => -Vector3::z(),
        }
    }

    /// The key that a face on this side has.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Ahead => "ahead",
            Self::Behind => "behind",
            Self::TubeSide => "tube_side",
            Self::FarSide => "far_side",
            Self::Over => "front",
            Self::Under => "back",
        }
    }

    /// The number by which a sheet names the face on this side: the same for every part.
    #[must_use]
    pub const fn number(self) -> u8 {
        match self {
            Self::Ahead => 3,
            Self::Behind => 4,
            Self::TubeSide => 5,
            Self::FarSide => 6,
            Self::Over => 7,
            Self::Under => 8,
        }
    }
}

/// Which line of the tube a tape from the floor was taken to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TubeLine {
    /// Its top.
    Top,
    /// Its middle.
    Centre,
    /// Its underside.
    Underside,
}

/// How the bend plane lies, and how high.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stance {
    /// Flat over the floor.
    Flat {
        /// From the floor to the tube.
        tube: Length,
        /// To which line of it.
        measured: TubeLine,
    },
    /// Upright.
    Upright {
        /// From the floor to the die's axis.
        axis: Length,
        /// Which way points up: along the tube or square to it, in the bend plane.
        up: Way,
    },
}

impl Stance {
    /// Which way is up.
    #[must_use]
    pub const fn up(&self) -> Way {
        match self {
            Self::Flat { .. } => Way::Over,
            Self::Upright { up, .. } => *up,
        }
    }

    /// The four ways along the floor, each pair of opposites together.
    pub fn level(&self) -> impl Iterator<Item = Way> + use<> {
        self.up().across()
    }
}

/// Clamp or follower.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Holder {
    /// How much tube it holds, from the start of bend.
    pub length: Length,
    /// From the tube's surface away from the die to the face beyond it.
    pub out: Option<Length>,
    /// From the tube's surface to the face over it.
    pub over: Option<Length>,
    /// From the tube's surface to the face under it.
    pub under: Option<Length>,
}

/// The die that was in the bender when it was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct TapedDie {
    /// Name, as jobs call it.
    pub name: String,
    /// Outside diameter of the tube in its groove.
    pub od: Length,
    /// Centreline radius.
    pub clr: Length,
    /// How far it can turn before its groove ends.
    pub max_angle: Angle,
    /// A material that is bent in it, of which nothing else is known yet.
    pub material: Option<String>,
    /// From the tube's surface to the die's face over it.
    pub over: Option<Length>,
    /// From the tube's surface to the die's face under it.
    pub under: Option<Length>,
    /// The clamp.
    pub clamp: Holder,
    /// The follower.
    pub follower: Holder,
}

/// A part of a bender, or of the shop around it, that a bent tube can meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PartKind {
    /// The arm or plate over the tube that holds the die's pin and the follower.
    ArmOver,
    /// The one under the tube.
    ArmUnder,
    /// The ram with its mounting, as the block that it sweeps.
    Ram,
    /// The post that carries the bender.
    Post,
    /// The foot on the floor.
    Base,
    /// What stands over the die and turns with it: a pin plate, a hub, a nut.
    Plate,
    /// A lever or pointer over the die that turns with what drives it.
    Handle,
    /// The pump, or a pump's handle with all that it sweeps.
    Pump,
    /// A bench or a machine beside the bender.
    Bench,
    /// Where the operator stands.
    Operator,
    /// Walls and ceiling.
    Room,
}

impl PartKind {
    /// All of them, in the order of the sheet.
    pub const ALL: [Self; 11] = [
        Self::ArmOver,
        Self::ArmUnder,
        Self::Ram,
        Self::Post,
        Self::Base,
        Self::Plate,
        Self::Handle,
        Self::Pump,
        Self::Bench,
        Self::Operator,
        Self::Room,
    ];

    /// Its key in the file of sizes.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::ArmOver => "arm_over",
            Self::ArmUnder => "arm_under",
            Self::Ram => "ram",
            Self::Post => "post",
            Self::Base => "base",
            Self::Plate => "plate",
            Self::Handle => "handle",
            Self::Pump => "pump",
            Self::Bench => "bench",
            Self::Operator => "operator",
            Self::Room => "room",
        }
    }

    /// The name of its solid; walls have names of their own.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::ArmOver => "arm over the tube",
            Self::ArmUnder => "arm under the tube",
            Self::Ram => "ram",
            Self::Post => "post",
            Self::Base => "base",
            Self::Plate => "plate over the die",
            Self::Handle => "handle",
            Self::Pump => "pump",
            Self::Bench => "bench",
            Self::Operator => "operator's place",
            Self::Room => "walls and ceiling",
        }
    }

    /// The letter by which a sheet names it. `A` to `D` are floor, die, clamp and follower.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::ArmOver => 'E',
            Self::ArmUnder => 'F',
            Self::Ram => 'G',
            Self::Post => 'H',
            Self::Base => 'J',
            Self::Plate => 'K',
            Self::Handle => 'L',
            Self::Pump => 'M',
            Self::Bench => 'N',
            Self::Operator => 'P',
            Self::Room => 'R',
        }
    }

    /// Whether it is part of the shop around the bender rather than of the bender.
    #[must_use]
    pub const fn is_around(self) -> bool {
        matches!(self, Self::Pump | Self::Bench | Self::Operator | Self::Room)
    }
}

/// A face of a block: on which side, and how far from the die's axis; over and under, how far from the tube's surface.
pub type Face = (Way, Length);

/// The sizes of a block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Block {
    /// Over or under the tube.
    Beside {
        /// Over or under.
        side: Way,
        /// From the tube's surface to the near face.
        gap: Length,
        /// From that face to the far one.
        thick: Length,
        /// The other four.
        faces: [Face; 4],
    },
    /// Standing on the floor.
    Standing {
        /// From the floor to its top.
        height: Length,
        /// The four upright faces.
        faces: [Face; 4],
    },
    /// A wall.
    Wall(Face),
    /// A ceiling, so far from the floor.
    Ceiling(Length),
}

/// The sizes of a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Taped {
    /// A block.
    Block(Block),
    /// A disc about the die's axis, over the tube.
    Disc {
        /// From the tube's surface to its near face.
        gap: Length,
        /// How thick it is.
        thick: Length,
        /// How far from the die's axis any of it reaches.
        reach: Length,
    },
    /// A rod from the die's axis outward, over the tube, before the bend.
    Rod {
        /// From the tube's surface to its near side.
        gap: Length,
        /// How thick it is.
        thick: Length,
        /// How far from the die's axis it reaches.
        reach: Length,
        /// Which way.
        points: Way,
    },
}

/// A part with its sizes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// What it is.
    pub kind: PartKind,
    /// What was measured.
    pub taped: Taped,
}

impl Part {
    /// The name of its solid.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self.taped {
            Taped::Block(Block::Wall((Way::Ahead, _))) => "wall ahead",
            Taped::Block(Block::Wall((Way::Behind, _))) => "wall behind",
            Taped::Block(Block::Wall((Way::TubeSide, _))) => "wall on the tube's side",
            Taped::Block(Block::Wall((Way::FarSide, _))) => "wall on the far side",
            Taped::Block(Block::Wall((Way::Over, _))) => "wall in front",
            Taped::Block(Block::Wall((Way::Under, _))) => "wall at the back",
            Taped::Block(Block::Ceiling(_)) => "ceiling",
            _ => self.kind.name(),
        }
    }
}

/// All sizes of a bender.
#[derive(Clone, Debug, PartialEq)]
pub struct Sizes {
    /// The units that they were given in.
    pub units: LengthUnit,
    /// Name of the bender, if it has one.
    pub name: Option<String>,
    /// What moves during a bend.
    pub motion: BendMotion,
    /// Which way it bends, seen from the side over the tube.
    pub hand: Hand,
    /// How the bend plane lies, and how high.
    pub stance: Stance,
    /// The die with clamp and follower.
    pub die: TapedDie,
    /// The parts that were measured, in the order of the sheet.
    pub parts: Vec<Part>,
}

/// One size, as it was taken: where the tape was held, in the bender frame at die angle 0, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measure {
    /// The part: `A` floor, `B` die, `C` clamp, `D` follower, else [`PartKind::letter`].
    pub letter: char,
    /// The size of it, by which a sheet names it.
    pub number: u8,
    /// The key of the part.
    pub part: &'static str,
    /// The key of the size.
    pub key: &'static str,
    /// The size.
    pub length: Length,
    /// Where the tape begins.
    pub from: Point3<f64>,
    /// Where it ends: on the face that this size places.
    pub to: Point3<f64>,
}

impl Measure {
    /// What a sheet calls it: `E3`.
    #[must_use]
    pub fn id(&self) -> String {
        format!("{}{}", self.letter, self.number)
    }
}

impl Sizes {
    /// Half the tube's OD, mm: from its centreline to its surface.
    fn half(&self) -> f64 {
        0.5 * self.die.od.to_mm()
    }

    /// Height above the floor of the origin of the bender frame: of the tube's centreline where the bend plane lies flat, else of the die's axis.
    #[must_use]
    pub fn centre_height(&self) -> Length {
        match self.stance {
            Stance::Flat { tube, measured } => match measured {
                TubeLine::Top => tube - self.die.od / 2.0,
                TubeLine::Centre => tube,
                TubeLine::Underside => tube + self.die.od / 2.0,
            },
            Stance::Upright { axis, .. } => axis,
        }
    }

    /// How far a face lies from the origin of the bender frame, mm, along its own way.
    #[must_use]
    pub fn place(&self, (way, length): Face) -> f64 {
        match way {
            Way::Over | Way::Under => self.half() + length.to_mm(),
            _ => length.to_mm(),
        }
    }

    /// How far the six faces of a block lie from the origin, mm, each along its own way; in the order of [`Way::ALL`].
    ///
    /// # Panics
    ///
    /// Where the four faces of a block are not on the four sides that its own two leave.
    #[must_use]
    pub fn block(&self, block: &Block) -> [(Way, f64); 6] {
        let up = self.stance.up();
        let down = (up.opposite(), self.centre_height().to_mm());
        let above_floor = |height: Length| height.to_mm() - down.1;
        let level = |length: Length| self.stance.level().map(move |way| (way, length.to_mm()));
        let mut faces: Vec<(Way, f64)> = match block {
            Block::Beside { side, gap, thick, faces } => {
                let near = self.place((*side, *gap));
                let own = [(*side, near + thick.to_mm()), (side.opposite(), -near)];
                own.into_iter().chain(faces.map(|face| (face.0, self.place(face)))).collect()
            }
            Block::Standing { height, faces } => {
                let own = [(up, above_floor(*height)), down];
                own.into_iter().chain(faces.map(|face| (face.0, self.place(face)))).collect()
            }
            Block::Wall(face) => {
                let near = self.place(*face);
                let own = [
                    (face.0, near + WALL_THICK.to_mm()),
                    (face.0.opposite(), -near),
                    (up, above_floor(WALL_HEIGHT)),
                    down,
                ];
                let along = level(WALL_REACH).filter(|other| other.0 != face.0 && other.0 != face.0.opposite());
                own.into_iter().chain(along).collect()
            }
            Block::Ceiling(height) => {
                let near = above_floor(*height);
                let own = [(up, near + WALL_THICK.to_mm()), (up.opposite(), -near)];
                own.into_iter().chain(level(WALL_REACH)).collect()
            }
        };
        faces.sort_by_key(|face| face.0);
        faces.try_into().expect("each block has one face on each of the six sides")
    }

    fn shape(&self, taped: &Taped) -> Shape {
        let on_axis = |z: f64| Point3::new(0.0, 0.0, z);
        match *taped {
            Taped::Block(block) => self.cuboid(&self.block(&block)),
            Taped::Disc { gap, thick, reach } => {
                let near = self.place((Way::Over, gap));
                Shape::Cylinder { from: on_axis(near), to: on_axis(near + thick.to_mm()), radius: reach }
            }
            Taped::Rod { gap, thick, reach, points } => {
                let radius = thick / 2.0;
                let from = on_axis(self.place((Way::Over, gap)) + radius.to_mm());
                let to = from + points.direction(self.hand) * (reach - radius).to_mm();
                Shape::Capsule { from, to, radius }
            }
        }
    }

    fn cuboid(&self, faces: &[(Way, f64); 6]) -> Shape {
        let (mut min, mut max) = (Point3::origin(), Point3::origin());
        for (way, place) in faces {
            let at = way.direction(self.hand) * *place;
            let axis = way.direction(self.hand).iamax();
            if way.direction(self.hand)[axis] > 0.0 {
                max[axis] = at[axis];
            } else {
                min[axis] = at[axis];
            }
        }
        Shape::Box { min, max }
    }

    /// What a part moves with. Where the follower wipes around the die, the arms and the handle go with it.
    #[must_use]
    pub const fn carrier(&self, kind: PartKind) -> Carrier {
        match (kind, self.motion) {
            (PartKind::ArmOver | PartKind::ArmUnder | PartKind::Handle, BendMotion::DieStands) => Carrier::Follower,
            (PartKind::Plate | PartKind::Handle, _) => Carrier::Die,
            _ => Carrier::Frame,
        }
    }

    fn shapes(&self) -> DieShapes {
        let die = &self.die;
        let (half, od, clr) = (self.half(), die.od.to_mm(), die.clr.to_mm());
        // What is not given is as of a bender that gives no shape.
        let face = |given: Option<Length>| given.map_or(0.75 * od, |given| half + given.to_mm());
        let disc = Shape::Cylinder {
            from: Point3::new(0.0, 0.0, -face(die.under)),
            to: Point3::new(0.0, 0.0, face(die.over)),
            radius: die.clr,
        };
        let holder = |holder: &Holder, way: Way| {
            let out = clr + holder.out.map_or(1.25 * od, |out| half + out.to_mm());
            let faces = [
                (way, holder.length.to_mm()),
                (way.opposite(), 0.0),
                (Way::TubeSide, out),
                (Way::FarSide, -clr),
                (Way::Over, face(holder.over)),
                (Way::Under, face(holder.under)),
            ];
            let given = [holder.out, holder.over, holder.under].iter().any(Option::is_some);
            if given { vec![self.cuboid(&faces)] } else { Vec::new() }
        };
        DieShapes {
            die: if die.over.is_some() || die.under.is_some() { vec![disc] } else { Vec::new() },
            clamp: holder(&die.clamp, Way::Ahead),
            follower: holder(&die.follower, Way::Behind),
        }
    }

    /// The bender: its one die, and a solid for each part in the order of [`parts`](Self::parts). What no tape tells, such as dial, springback and gaps to
    /// keep, is as in a bender's file that does not say it.
    #[must_use]
    pub fn bender(&self) -> Bender {
        let die = &self.die;
        let material = |name: &String| Material {
            name: name.clone(),
            springback: None,
            stretch: 0.0,
            radius_growth: true,
            measured: None,
        };
        let solid = |part: &Part| Solid {
            name: part.name().to_owned(),
            on: self.carrier(part.kind),
            shape: self.shape(&part.taped),
        };
        Bender {
            name: self.name.clone(),
            motion: self.motion,
            hand: self.hand,
            bend_plane: match self.stance {
                Stance::Flat { .. } => BendPlane::Horizontal,
                Stance::Upright { up, .. } => BendPlane::Vertical { up: Unit::new_normalize(up.direction(self.hand)) },
            },
            centre_height: self.centre_height(),
            pin: None,
            pointer: Pointer { set_to: Angle::ZERO, when: PointerSet::SlackOut, step: Angle::deg(0.5) },
            clearance: Keep { keep: Length::mm(5.0), comfortable: Length::mm(50.0) },
            accuracy: None,
            level: None,
            seconds: Seconds::default(),
            lift: USUAL_LIFT,
            motions: Motions::default(),
            dies: vec![Die {
                name: die.name.clone(),
                od: die.od,
                clr: die.clr,
                max_angle: die.max_angle,
                clamp_length: die.clamp.length,
                follower_length: die.follower.length,
                mark_offset: Length::ZERO,
                fit: Length::mm(0.3),
                runout: Length::ZERO,
                grip_min: die.clamp.length,
                tail_min: die.follower.length,
                follower: Follower::Stands,
                shapes: self.shapes(),
                materials: die.material.iter().map(material).collect(),
            }],
            solids: self.parts.iter().map(solid).collect(),
        }
    }

    /// Every size with the place of the tape: floor, die, clamp, follower, then the parts in their order. The tape lies along the way that the size is
    /// taken in, from the die's axis, the floor or the tube to the face that the size places.
    #[must_use]
    pub fn measures(&self) -> Vec<Measure> {
        let mut all = Vec::new();
        self.measure_die(&mut all);
        for part in &self.parts {
            self.measure_part(part, &mut all);
        }
        all
    }

    /// The point that lies so far along each of three ways from the origin.
    fn at(&self, places: [(Way, f64); 3]) -> Point3<f64> {
        let sum = places.into_iter().map(|(way, place)| way.direction(self.hand) * place).sum::<Vector3<f64>>();
        Point3::from(sum)
    }

    fn measure_die(&self, all: &mut Vec<Measure>) {
        use Way::{Ahead, Over, TubeSide, Under};
        let die = &self.die;
        let (half, clr, floor) = (self.half(), die.clr.to_mm(), self.centre_height().to_mm());
        let (ahead, behind) = (die.clamp.length.to_mm(), -die.follower.length.to_mm());
        let tube = |along: f64, across: f64, over: f64| self.at([(Ahead, along), (TubeSide, across), (Over, over)]);
        let mut add = |(letter, part), number, key, length, from, to| {
            all.push(Measure { letter, number, part, key, length, from, to });
        };
        match self.stance {
            Stance::Flat { tube: height, .. } => {
                let at = |over: f64| tube(ahead, clr, over);
                add(('A', "floor"), 1, "tube", height, at(-floor), at(height.to_mm() - floor));
            }
            Stance::Upright { axis, up } => {
                let down = Point3::from(up.direction(self.hand) * -floor);
                add(('A', "floor"), 1, "axis", axis, down, Point3::origin());
            }
        }
        let of_die = ('B', "die");
        add(of_die, 1, "od", die.od, tube(ahead, clr - half, 0.0), tube(ahead, clr + half, 0.0));
        add(of_die, 2, "clr", die.clr, Point3::origin(), tube(0.0, clr, 0.0));
        let none = Holder { length: Length::ZERO, out: None, over: die.over, under: die.under };
        for (part, holder, along) in
            [(of_die, &none, 0.0), (('C', "clamp"), &die.clamp, ahead), (('D', "follower"), &die.follower, behind)]
        {
            if holder.length > Length::ZERO {
                add(part, 1, "length", holder.length, tube(0.0, clr, 0.0), tube(along, clr, 0.0));
            }
            if let Some(out) = holder.out {
                let from = clr + half;
                add(part, 5, "out", out, tube(along, from, 0.0), tube(along, from + out.to_mm(), 0.0));
            }
            for (way, number, key, length) in [(Over, 7, "over", holder.over), (Under, 8, "under", holder.under)] {
                if let Some(length) = length {
                    let at = |place: f64| self.at([(Ahead, along), (TubeSide, clr), (way, place)]);
                    add(part, number, key, length, at(half), at(half + length.to_mm()));
                }
            }
        }
    }

    fn measure_part(&self, part: &Part, all: &mut Vec<Measure>) {
        let mut add = |number, key, length, from, to| {
            let (letter, part) = (part.kind.letter(), part.kind.key());
            all.push(Measure { letter, number, part, key, length, from, to });
        };
        let (half, floor) = (self.half(), self.centre_height().to_mm());
        let up = self.stance.up();
        match part.taped {
            Taped::Block(Block::Beside { side, gap, thick, faces }) => {
                let near = half + gap.to_mm();
                let behind = faces.iter().find(|face| face.0 == Way::Behind).map_or(0.0, |face| self.place(*face));
                let at = |place: f64| self.at([(Way::Behind, behind), (Way::TubeSide, 0.0), (side, place)]);
                add(1, "gap", gap, at(half), at(near));
                add(2, "thick", thick, at(near), at(near + thick.to_mm()));
                self.measure_faces(&faces, (side, near + 0.5 * thick.to_mm()), &mut add);
            }
            Taped::Block(Block::Standing { height, faces }) => {
                let side = faces[0].0.direction(self.hand) * self.place(faces[0]);
                let at = |above: f64| Point3::from(side + up.direction(self.hand) * (above - floor));
                add(1, "height", height, at(0.0), at(height.to_mm()));
                self.measure_faces(&faces, (up, height.to_mm() - floor), &mut add);
            }
            Taped::Block(Block::Wall(face)) => {
                let (way, length) = face;
                let at = |place: f64| Point3::from(way.direction(self.hand) * place);
                let place = self.place(face);
                add(way.number(), way.key(), length, at(place - length.to_mm()), at(place));
            }
            Taped::Block(Block::Ceiling(height)) => {
                let at = |above: f64| Point3::from(up.direction(self.hand) * (above - floor));
                add(1, "ceiling", height, at(0.0), at(height.to_mm()));
            }
            Taped::Disc { gap, thick, reach } | Taped::Rod { gap, thick, reach, .. } => {
                let points = if let Taped::Rod { points, .. } = part.taped { points } else { Way::FarSide };
                let out = points.direction(self.hand) * reach.to_mm();
                let near = half + gap.to_mm();
                let at = |place: f64| Point3::from(out + Vector3::z() * place);
                add(1, "gap", gap, at(half), at(near));
                add(2, "thick", thick, at(near), at(near + thick.to_mm()));
                let middle = Vector3::z() * (near + 0.5 * thick.to_mm());
                add(9, "reach", reach, Point3::from(middle), Point3::from(middle + out));
            }
        }
    }

    /// The faces of a block, each taken along an edge of it that can be reached; `level` is how high the edges lie.
    fn measure_faces(
        &self,
        faces: &[Face; 4],
        level: (Way, f64),
        add: &mut impl FnMut(u8, &'static str, Length, Point3<f64>, Point3<f64>),
    ) {
        for face in faces {
            let (way, length) = *face;
            // The first face of the other pair is the edge along which the tape lies.
            let edge = faces.iter().find(|other| other.0 != way && other.0 != way.opposite());
            let edge = edge.map_or(Vector3::zeros(), |edge| edge.0.direction(self.hand) * self.place(*edge));
            let base = edge + level.0.direction(self.hand) * level.1;
            let place = self.place(*face);
            let at = |place: f64| Point3::from(base + way.direction(self.hand) * place);
            add(way.number(), way.key(), length, at(place - length.to_mm()), at(place));
        }
    }
}
