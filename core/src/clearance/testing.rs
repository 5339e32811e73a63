//! A small bender and small tubes for the tests of this module.

use nalgebra::{Point3, Vector3};

use crate::bender::{
    BendMotion, BendPlane, Bender, Carrier, Die, DieShapes, Follower, Hand, Keep, Motions, Pointer, PointerSet,
    Seconds, Shape, Solid,
};
use crate::centreline::{Centreline, Row, Rows};
use crate::forming::{Blank, Law};
use crate::units::{Angle, Length};

/// CLR 100, clamp 60 ahead, follower 120 behind, for a tube of 40.
pub(crate) fn die() -> Die {
    let mm = Length::mm;
    Die {
        name: "test".into(),
        od: mm(40.0),
        clr: mm(100.0),
        max_angle: Angle::deg(185.0),
        clamp_length: mm(60.0),
        follower_length: mm(120.0),
        mark_offset: mm(0.0),
        fit: mm(0.3),
        runout: mm(0.0),
        grip_min: mm(60.0),
        tail_min: mm(120.0),
        follower: Follower::Stands,
        shapes: DieShapes::default(),
        materials: vec![],
    }
}

/// Anticlockwise, the die turns, 900 mm over the floor, no solids of its own.
pub(crate) fn bender() -> Bender {
    Bender {
        name: None,
        motion: BendMotion::DieTurns,
        hand: Hand::Anticlockwise,
        bend_plane: BendPlane::Horizontal,
        centre_height: Length::mm(900.0),
        pin: None,
        pointer: Pointer { set_to: Angle::ZERO, when: PointerSet::SlackOut, step: Angle::deg(0.5) },
        clearance: Keep { keep: Length::mm(5.0), comfortable: Length::mm(50.0) },
        accuracy: None,
        level: None,
        seconds: Seconds::default(),
        lift: crate::bender::USUAL_LIFT,
        motions: Motions::default(),
        dies: vec![die()],
        solids: vec![],
    }
}

pub(crate) fn solid(name: &str, shape: Shape) -> Solid {
    Solid { name: name.into(), on: Carrier::Frame, shape }
}

/// Rows of straight, rotation and bend angle, then the last straight, all bends at one formed radius.
pub(crate) fn centreline(bends: &[(f64, f64, f64)], last: f64, radius: f64) -> Centreline {
    let row = |&(length, rotation, angle): &(f64, f64, f64)| Row {
        length: Length::mm(length),
        rotation: Angle::deg(rotation),
        angle: Angle::deg(angle),
    };
    Centreline {
        rows: Rows { bends: bends.iter().map(row).collect(), last: Length::mm(last) },
        radii: vec![Length::mm(radius); bends.len()],
        nodes: vec![],
        bend_nodes: vec![],
        passed: vec![],
        start: Point3::origin(),
        direction: Vector3::x_axis(),
        normal: Vector3::z_axis(),
    }
}

/// The blank of such a tube in the first die, without springback.
pub(crate) fn blank(bends: &[(f64, f64, f64)], last: f64, radius: f64, od: f64) -> Blank {
    Blank::new(&centreline(bends, last, radius), Length::mm(od), Length::ZERO, Length::ZERO, &|_| {
        Law::new(0, Length::mm(radius), Length::ZERO, None)
    })
}
