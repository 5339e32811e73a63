//! The bender: frame and hand, dies, solids.
//!
//! Bender frame: origin on the die's axis at the height of the tube's centreline, +z along the die's axis, the tube along
//! x, the lead part toward +x. The tangent point is at y = -CLR for an anticlockwise hand, +CLR for a clockwise one.

mod dial;
pub mod limits;
pub mod sizes;
mod solid;
mod step;
mod tools;

use nalgebra::{Unit, Vector3};

pub use self::solid::{Carrier, Shape, Solid, TriangleMesh};
pub use self::step::Step;
pub use self::tools::Tool;
use crate::forming::Material;
use crate::units::{Angle, Length};

/// What moves while a bend is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BendMotion {
    /// Rotary draw: the lead part turns with the die.
    DieTurns,
    /// The follower wipes around a fixed die: the trailing part swings.
    DieStands,
}

/// Which way the lead part is bent against the trailing part, seen from +z.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    /// Lead part bent anticlockwise.
    Anticlockwise,
    /// Lead part bent clockwise.
    Clockwise,
}

impl Hand {
    /// +1 for anticlockwise, -1 for clockwise: the sign of the die's turn about +z.
    #[must_use]
    pub const fn sign(self) -> f64 {
        match self {
            Self::Anticlockwise => 1.0,
            Self::Clockwise => -1.0,
        }
    }
}

/// How the bend plane lies in the shop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BendPlane {
    /// +z is up.
    Horizontal,
    /// `up` lies in the xy plane of the bender frame; +z points toward the operator.
    Vertical {
        /// The upward direction, square to z.
        up: Unit<Vector3<f64>>,
    },
}

impl BendPlane {
    /// The upward direction in the bender frame.
    #[must_use]
    pub fn up(&self) -> Unit<Vector3<f64>> {
        match self {
            Self::Horizontal => Vector3::z_axis(),
            Self::Vertical { up } => *up,
        }
    }
}

/// Readings near which the drive pin is moved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pin {
    /// The first such reading.
    pub first: Angle,
    /// From one to the next.
    pub every: Angle,
}

/// When the pointer of the dial is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PointerSet {
    /// After the slack is taken out by hand: the reading is the die angle.
    SlackOut,
    /// When the tube first resists: the reading is `set_to` plus the die angle.
    FirstBite,
}

/// How the dial is set and read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pointer {
    /// What the pointer is set to.
    pub set_to: Angle,
    /// When it is set.
    pub when: PointerSet,
    /// Targets for people are rounded down to a whole multiple of this.
    pub step: Angle,
}

/// Gaps to keep.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Keep {
    /// The smallest gap that counts as clear.
    pub keep: Length,
    /// Obstacles further than this may be reported as beyond it.
    pub comfortable: Length,
}

/// The shop's own standard deviations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Accuracy {
    /// Of a mark along the tube.
    pub mark: Length,
    /// Of a bend angle.
    pub bend: Angle,
    /// Of a rotation.
    pub rotation: Angle,
}

/// How far the bender is out of level.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Level {
    /// On a straight tube in the groove, positive where the lead side is higher.
    pub along: Angle,
    /// On the die's face square to the tube, positive where the die's side is higher.
    pub across: Angle,
}

/// What each handling costs, in seconds of the operator's time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seconds {
    /// Each step.
    pub step: f64,
    /// Swapping the ends.
    pub swap_ends: f64,
    /// Changing the die.
    pub change_die: f64,
    /// Setting a turn.
    pub set_turn: f64,
    /// Each degree of turn.
    pub turn_per_degree: f64,
    /// Each move of the drive pin.
    pub pin_move: f64,
    /// A gap of 0; less in proportion up to `comfortable`.
    pub near: f64,
}

/// What one person lifts where the bender's file does not say, kg (common practice, no source).
pub const USUAL_LIFT: f64 = 20.0;

/// What a bender's file means that does not say.
impl Default for Seconds {
    fn default() -> Self {
        Self {
            step: 60.0,
            swap_ends: 45.0,
            change_die: 240.0,
            set_turn: 20.0,
            turn_per_degree: 0.1,
            pin_move: 20.0,
            near: 60.0,
        }
    }
}

/// How a tube may be taken out of the bender.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TakeOut {
    /// Along the die's axis.
    Up,
    /// Away from the die.
    Sideways,
    /// Along itself.
    Along,
    /// Together with the die off its pin.
    WithDie,
}

/// How a tube is turned between two bends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TurnTube {
    /// In the groove.
    Groove,
    /// Lifted out.
    Lifted,
}

/// Motions besides the bend that are to be looked at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Motions {
    /// The lead part turning back from die angle to bend angle.
    pub recoil: bool,
    /// The arm's way back.
    pub back: bool,
    /// Laying the tube in.
    pub put_in: bool,
    /// Ways to take the tube out, in the order to be tried; empty: not looked at.
    pub take_out: Vec<TakeOut>,
    /// Turning the tube; `None`: not looked at.
    pub turn: Option<TurnTube>,
}

/// What the follower does while a bend is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Follower {
    /// It stands; the tube slides in it.
    Stands,
    /// It moves along with the tube.
    Travels,
}

/// A die's own solids, each list empty where the file gives none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DieShapes {
    /// The die.
    pub die: Vec<Shape>,
    /// The clamp, moving with the die.
    pub clamp: Vec<Shape>,
    /// The follower.
    pub follower: Vec<Shape>,
}

/// One die with its clamp and follower.
#[derive(Clone, Debug, PartialEq)]
pub struct Die {
    /// Name, as jobs call it.
    pub name: String,
    /// Outside diameter of the tube that it is made for.
    pub od: Length,
    /// Centreline radius.
    pub clr: Length,
    /// Largest die angle.
    pub max_angle: Angle,
    /// Length of the clamp ahead of the tangent point.
    pub clamp_length: Length,
    /// Length of the follower behind the tangent point.
    pub follower_length: Length,
    /// From the tangent point to the index, positive toward the lead end.
    pub mark_offset: Length,
    /// How far the tube's OD may be off the die's.
    pub fit: Length,
    /// What a finished bend leaves out of round beside it.
    pub runout: Length,
    /// Straight that must lie ahead where no bend is made there.
    pub grip_min: Length,
    /// Straight that must be left behind where no bend is made there.
    pub tail_min: Length,
    /// What the follower does.
    pub follower: Follower,
    /// Solids that the file gives; where a list is empty they are derived.
    pub shapes: DieShapes,
    /// Materials known for this die.
    pub materials: Vec<Material>,
}

/// A bender.
#[derive(Clone, Debug, PartialEq)]
pub struct Bender {
    /// Name, if it has one.
    pub name: Option<String>,
    /// What moves during a bend.
    pub motion: BendMotion,
    /// Which way it bends.
    pub hand: Hand,
    /// How the bend plane lies.
    pub bend_plane: BendPlane,
    /// Height of the tube's centreline at the die above the floor.
    pub centre_height: Length,
    /// Drive pin, where there is one.
    pub pin: Option<Pin>,
    /// The dial.
    pub pointer: Pointer,
    /// Gaps to keep.
    pub clearance: Keep,
    /// The shop's own accuracy, where known.
    pub accuracy: Option<Accuracy>,
    /// How far it is out of level, where known.
    pub level: Option<Level>,
    /// Cost of each handling.
    pub seconds: Seconds,
    /// What one person lifts, kg.
    pub lift: f64,
    /// Motions looked at besides the bend.
    pub motions: Motions,
    /// Dies, in the order of the file.
    pub dies: Vec<Die>,
    /// Solids of the file's own, in its order.
    pub solids: Vec<Solid>,
}
