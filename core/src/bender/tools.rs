//! Die, clamp and follower as solids: the file's own shapes, or what the die's figures say.

use std::borrow::Cow;

use nalgebra::Point3;

use super::{Bender, Carrier, Die, Shape};

/// What holds and guides the tube: a die, a clamp or a follower.
#[derive(Clone, Debug, PartialEq)]
pub struct Tool<'a> {
    /// `die`, `clamp` or `follower`.
    pub name: &'static str,
    /// What it moves with.
    pub on: Carrier,
    /// Its bodies, mm, in the bender frame at die angle 0.
    pub shapes: Cow<'a, [Shape]>,
}

impl Bender {
    /// The die, the clamp and the follower of a die, in this order.
    ///
    /// Where the file gives no shape, with D the die's OD: the die is a cylinder about z of radius CLR, 0.75 D to either side; clamp and
    /// follower are boxes 1.25 D thick outside the tube's centreline, as high as the die.
    #[must_use]
    pub fn tools<'a>(&self, die: &'a Die) -> [Tool<'a>; 3] {
        let sign = self.hand.sign();
        let (clr, od) = (die.clr.to_mm(), die.od.to_mm());
        let beside = |from: f64, to: f64| {
            let (near, far) = (-sign * clr, -sign * (clr + 1.25 * od));
            Shape::Box {
                min: Point3::new(from, near.min(far), -0.75 * od),
                max: Point3::new(to, near.max(far), 0.75 * od),
            }
        };
        let disc = Shape::Cylinder {
            from: Point3::new(0.0, 0.0, -0.75 * od),
            to: Point3::new(0.0, 0.0, 0.75 * od),
            radius: die.clr,
        };
        let tool = |name, given: &'a [Shape], derived: Shape, on| {
            let shapes = if given.is_empty() { Cow::Owned(vec![derived]) } else { Cow::Borrowed(given) };
            Tool { name, on, shapes }
        };
        [
            tool("die", &die.shapes.die, disc, Carrier::Die),
            tool("clamp", &die.shapes.clamp, beside(0.0, die.clamp_length.to_mm()), Carrier::Die),
            tool("follower", &die.shapes.follower, beside(-die.follower_length.to_mm(), 0.0), Carrier::Follower),
        ]
    }
}
