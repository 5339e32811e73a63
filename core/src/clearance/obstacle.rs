//! Bodies that the tube may meet, ready for questions.

use glam::DVec3;

use super::kernel::{Bounds, Form};
use crate::bender::{Bender, Carrier, Die};

/// The ring about the z axis in which a body or a piece of tube lies, however it is turned.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ring {
    pub(super) inner: f64,
    pub(super) outer: f64,
    pub(super) low: f64,
    pub(super) high: f64,
}

impl Ring {
    /// Of all points within `room` of a line.
    pub(super) fn of_line(from: DVec3, to: DVec3, room: f64) -> Self {
        let out = |p: DVec3| (p.x * p.x + p.y * p.y).sqrt();
        let along = to - from;
        let size = along.x * along.x + along.y * along.y;
        let at = if size > 0.0 { (-(from.x * along.x + from.y * along.y) / size).clamp(0.0, 1.0) } else { 0.0 };
        Self {
            inner: (out(from + at * along) - room).max(0.0),
            outer: out(from).max(out(to)) + room,
            low: from.z.min(to.z) - room,
            high: from.z.max(to.z) + room,
        }
    }

    pub(super) fn with(self, other: Self) -> Self {
        Self {
            inner: self.inner.min(other.inner),
            outer: self.outer.max(other.outer),
            low: self.low.min(other.low),
            high: self.high.max(other.high),
        }
    }

    /// Of no point at all.
    pub(super) const EMPTY: Self =
        Self { inner: f64::INFINITY, outer: f64::NEG_INFINITY, low: f64::INFINITY, high: f64::NEG_INFINITY };

    /// Square of the least distance, however the two are turned about z and moved across it by up to `sway` in all.
    #[inline]
    pub(super) fn apart_squared(&self, other: &Self, sway: f64) -> f64 {
        let across = ((self.inner - other.outer).max(other.inner - self.outer) - sway).max(0.0);
        let along = (self.low - other.high).max(other.low - self.high).max(0.0);
        across * across + along * along
    }

    fn of(form: &Form) -> Self {
        match form {
            Form::Capsule { from, along, radius } => Self::of_line(*from, *from + *along, *radius),
            Form::Cylinder { middle, axis, half, radius } if axis.x.abs().max(axis.y.abs()) <= 0.0 => {
                let line = Self::of_line(*middle, *middle, *radius);
                Self { low: middle.z - half, high: middle.z + half, ..line }
            }
            Form::Below { up, level } if up.z >= 1.0 => {
                Self { inner: 0.0, outer: f64::INFINITY, low: f64::NEG_INFINITY, high: *level }
            }
            other => {
                let Bounds { min, max } = other.bounds();
                let near = |low: f64, high: f64| low.max(-high).max(0.0);
                let far = |low: f64, high: f64| low.abs().max(high.abs());
                let out = |x: f64, y: f64| (x * x + y * y).sqrt();
                Self {
                    inner: out(near(min.x, max.x), near(min.y, max.y)),
                    outer: out(far(min.x, max.x), far(min.y, max.y)),
                    low: min.z,
                    high: max.z,
                }
            }
        }
    }
}

/// One solid body, as it lies at die angle 0.
#[derive(Debug)]
pub(super) struct Body {
    pub(super) form: Form,
    pub(super) bounds: Bounds,
    pub(super) ring: Ring,
    pub(super) on: Carrier,
    /// It looks the same however it is turned about z, so that it may be taken for standing or turning alike.
    pub(super) round: bool,
}

impl Body {
    fn new(form: Form, on: Carrier) -> Self {
        let round = match &form {
            Form::Cylinder { middle, axis, .. } => {
                [middle.x, middle.y, axis.x, axis.y].into_iter().all(|part| part.abs() <= 0.0)
            }
            Form::Below { up, .. } => up.z >= 1.0,
            _ => false,
        };
        Self { bounds: form.bounds(), ring: Ring::of(&form), form, on, round }
    }
}

/// A named obstacle: one body, or the several that stand for a die, a clamp or a follower.
#[derive(Debug)]
pub(super) struct Obstacle {
    pub(super) name: String,
    /// It holds the tube: what lies in its grip is not held against it.
    pub(super) holds: bool,
    pub(super) bodies: Vec<Body>,
}

/// The solids of the file's own in its order, then the floor.
pub(super) fn own(bender: &Bender) -> Vec<Obstacle> {
    let solids = bender.solids.iter().map(|solid| Obstacle {
        name: solid.name.clone(),
        holds: false,
        bodies: vec![Body::new(Form::new(&solid.shape), solid.on)],
    });
    let up = bender.bend_plane.up().into_inner();
    let floor = Form::Below { up: DVec3::new(up.x, up.y, up.z), level: -bender.centre_height.to_mm() };
    let floor = Obstacle { name: "floor".to_owned(), holds: false, bodies: vec![Body::new(floor, Carrier::Frame)] };
    solids.chain([floor]).collect()
}

/// Die, clamp and follower of a die.
pub(super) fn tools(bender: &Bender, die: &Die) -> [Obstacle; 3] {
    bender.tools(die).map(|tool| {
        let bodies = tool.shapes.iter().map(|shape| Body::new(Form::new(shape), tool.on)).collect();
        Obstacle { name: tool.name.to_owned(), holds: true, bodies }
    })
}
