//! A line against a closed surface of triangles.
//!
//! The triangles stand in a tree of boxes, halved at the middle of the longest side. Boxes and triangles are convex, so that a
//! search over a motion can take the branches one by one. Whether a point lies inside is told by the solid angle of the whole
//! surface seen from it (A. van Oosterom and J. Strackee, "The solid angle of a plane triangle", IEEE Trans. Biomed.
//! Eng. 30, 1983, 125-126, equation 8, from memory), which does not mind which way the triangles are wound as long as
//! all are wound alike.

use glam::DVec3;

use super::triangle::near_triangle;
use super::{Bounds, Form, Near, dvec};
use crate::bender::TriangleMesh;

/// A surface with its tree.
#[derive(Debug)]
pub(crate) struct Mesh {
    corners: Vec<[DVec3; 3]>,
    tree: Vec<Branch>,
}

/// A box with the triangles in it.
#[derive(Clone, Copy, Debug)]
struct Branch {
    bounds: Bounds,
    kind: Kind,
}

#[derive(Clone, Copy, Debug)]
enum Kind {
    Triangle(usize),
    /// The first half is the next branch; this is the second.
    Halves(usize),
}

impl Mesh {
    /// Triangles that name a point which is not there are left out.
    pub(super) fn new(mesh: &TriangleMesh) -> Self {
        let point = |place: u32| mesh.points.get(place as usize).map(dvec);
        let corners: Vec<[DVec3; 3]> =
            mesh.triangles.iter().filter_map(|&[a, b, c]| Some([point(a)?, point(b)?, point(c)?])).collect();
        let mut order: Vec<usize> = (0..corners.len()).collect();
        let mut tree = Vec::with_capacity(2 * corners.len());
        grow(&corners, &mut order, &mut tree);
        Self { corners, tree }
    }

    pub(super) fn bounds(&self) -> Bounds {
        self.tree.first().map_or(Bounds::EMPTY, |root| root.bounds)
    }

    /// How near the line comes to the box of a branch, or to the triangle that it is.
    pub(crate) fn near_branch(&self, branch: usize, start: DVec3, along: DVec3) -> Near {
        let Branch { bounds, kind } = self.tree[branch];
        match kind {
            Kind::Triangle(place) => near_triangle(start, along, &self.corners[place]),
            Kind::Halves(_) => Form::Box { min: bounds.min, max: bounds.max }.near(start, along),
        }
    }

    /// The halves of a branch; `None` for a triangle.
    pub(crate) fn halves(&self, branch: usize) -> Option<[usize; 2]> {
        match self.tree[branch].kind {
            Kind::Triangle(_) => None,
            Kind::Halves(second) => Some([branch + 1, second]),
        }
    }

    /// The triangles of a branch, by their places among those that name points which are there.
    pub(crate) fn triangles(&self, branch: usize) -> Vec<usize> {
        match self.tree[branch].kind {
            Kind::Triangle(place) => vec![place],
            Kind::Halves(second) => [self.triangles(branch + 1), self.triangles(second)].concat(),
        }
    }

    /// How much further what is in the box of a branch can be than the box: 0 for a triangle.
    pub(crate) fn slack(&self, branch: usize) -> f64 {
        let Branch { bounds, kind } = self.tree[branch];
        match kind {
            Kind::Triangle(_) => 0.0,
            Kind::Halves(_) => (bounds.max - bounds.min).length(),
        }
    }

    /// Whether there is no triangle.
    pub(crate) fn is_empty(&self) -> bool {
        self.tree.is_empty()
    }

    pub(super) fn near(&self, start: DVec3, along: DVec3) -> Near {
        let mut best = Near { gap: f64::INFINITY, at: 0.0, normal: DVec3::ZERO };
        let mut open = Vec::with_capacity(64);
        if !self.tree.is_empty() {
            open.push((0, self.near_branch(0, start, along)));
        }
        while let Some((branch, near)) = open.pop() {
            if near.gap >= best.gap {
                continue;
            }
            match self.halves(branch) {
                None => best = near,
                Some(halves) => {
                    let [first, second] = halves.map(|half| (half, self.near_branch(half, start, along)));
                    let (near, far) = if first.1.gap <= second.1.gap { (first, second) } else { (second, first) };
                    open.push(far);
                    open.push(near);
                }
            }
        }
        best
    }

    /// Whether a point lies inside: the surface fills more than half of all directions around it.
    pub(super) fn holds(&self, point: DVec3) -> bool {
        if self.bounds().apart_squared(&Bounds::of(point, point)) > 0.0 {
            return false;
        }
        let half: f64 = self
            .corners
            .iter()
            .map(|corners| {
                let [a, b, c] = corners.map(|corner| corner - point);
                let (x, y, z) = (a.length(), b.length(), c.length());
                let volume = a.dot(b.cross(c));
                libm::atan2(volume, x * y * z + a.dot(b) * z + b.dot(c) * x + c.dot(a) * y)
            })
            .sum();
        // The sum is half the solid angle: 2 pi inside, 0 outside.
        half.abs() > core::f64::consts::PI
    }
}

fn grow(corners: &[[DVec3; 3]], order: &mut [usize], tree: &mut Vec<Branch>) {
    let bounds = order.iter().fold(Bounds::EMPTY, |all, &place| {
        let [a, b, c] = corners[place];
        all.with(Bounds::of(a, b)).with(Bounds::of(c, c))
    });
    match *order {
        [] => {}
        [only] => tree.push(Branch { bounds, kind: Kind::Triangle(only) }),
        _ => {
            let axis = (bounds.max - bounds.min).max_position();
            // By the middle of the triangle, ties by its place, so that the tree is the same on every run.
            let middle = |place: usize| corners[place].iter().map(|corner| corner[axis]).sum::<f64>();
            let half = order.len() / 2;
            order.select_nth_unstable_by(half, |&a, &b| middle(a).total_cmp(&middle(b)).then(a.cmp(&b)));
            let here = tree.len();
            tree.push(Branch { bounds, kind: Kind::Halves(0) });
            let (first, second) = order.split_at_mut(half);
            // The halves as sets do not depend on how the selection went about it; their order is fixed again below them.
            grow(corners, first, tree);
            tree[here].kind = Kind::Halves(tree.len());
            grow(corners, second, tree);
        }
    }
}
