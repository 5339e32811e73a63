//! From corner points to a centreline.

use std::collections::BTreeSet;

use nalgebra::{Point3, Unit, Vector3};

use super::build::{Mistakes, Span, is_figure, is_reversal, radius_at, square_to, tangent};
use super::{BendId, Centreline, NodeId, Place, Row, Rows, SAME_NODE, ShapeMistake, passes_straight};
use crate::units::{Angle, Length};

/// The angle between two directions of any length, in [0, 180] degrees.
pub(crate) fn angle_between(one: &Vector3<f64>, other: &Vector3<f64>) -> Angle {
    Angle::rad(libm::atan2(one.cross(other).norm(), one.dot(other)))
}

/// The signed angle that turns `from` into `to` about `axis`, right-handed, in (-180, 180] degrees.
pub(crate) fn angle_about(axis: &Unit<Vector3<f64>>, from: &Vector3<f64>, to: &Vector3<f64>) -> Angle {
    Angle::rad(libm::atan2(from.cross(to).dot(axis), from.dot(to))).wrapped() + Angle::ZERO
}

/// The path with nodes taken out one by one: at each step the straightest of those under 0.05 degree, with the angles beside
/// it looked at anew. So a run of nodes along a slow curve is not flattened as a whole because each of them is nearly
/// straight.
struct Thinning<'a> {
    nodes: &'a [Point3<f64>],
    before: Vec<usize>,
    after: Vec<usize>,
    /// Angle (as bits, which order like the angle itself) and place of each node under 0.05 degree.
    straight: BTreeSet<(u64, usize)>,
    angles: Vec<Angle>,
}

impl<'a> Thinning<'a> {
    fn new(nodes: &'a [Point3<f64>], kept: &[usize]) -> Self {
        let mut before: Vec<usize> = (0..nodes.len()).collect();
        let mut after = before.clone();
        for pair in kept.windows(2) {
            after[pair[0]] = pair[1];
            before[pair[1]] = pair[0];
        }
        let angles = vec![Angle::ZERO; nodes.len()];
        let mut thinning = Self { nodes, before, after, straight: BTreeSet::new(), angles };
        for node in kept.iter().skip(1).rev().skip(1) {
            thinning.measure(*node);
        }
        thinning
    }

    fn measure(&mut self, node: usize) {
        let (before, after) = (self.before[node], self.after[node]);
        if before == node || after == node {
            return;
        }
        let at = self.nodes[node];
        self.straight.remove(&(self.angles[node].to_rad().to_bits(), node));
        self.angles[node] = angle_between(&(at - self.nodes[before]), &(self.nodes[after] - at)).abs();
        if passes_straight(self.angles[node]) {
            self.straight.insert((self.angles[node].to_rad().to_bits(), node));
        }
    }

    /// The nodes taken out, in the path's order, and those left.
    fn run(mut self, kept: &[usize]) -> (Vec<usize>, Vec<usize>) {
        let mut passed = BTreeSet::new();
        while let Some((_, node)) = self.straight.pop_first() {
            passed.insert(node);
            let (before, after) = (self.before[node], self.after[node]);
            self.after[before] = after;
            self.before[after] = before;
            self.measure(before);
            self.measure(after);
        }
        let left = kept.iter().copied().filter(|node| !passed.contains(node)).collect();
        (passed.into_iter().collect(), left)
    }
}

/// Places of the nodes that are far enough from the one before.
fn apart(nodes: &[Point3<f64>], mistakes: &mut Mistakes) -> Vec<usize> {
    let mut kept = vec![0];
    let mut last = 0;
    for (i, node) in nodes.iter().enumerate().skip(1) {
        let apart = Length::mm((node - nodes[last]).norm());
        if apart < SAME_NODE {
            mistakes.add(ShapeMistake::NodesCoincide { first: NodeId(last), second: NodeId(i), apart });
        } else {
            kept.push(i);
            last = i;
        }
    }
    kept
}

/// A path that comes back to its first node: split it in the middle of its longest leg.
fn closed(nodes: &[Point3<f64>], kept: &[usize]) -> Option<ShapeMistake> {
    let (first, last) = (*kept.first()?, *kept.last()?);
    let meets = kept.len() > 2 && (nodes[last] - nodes[first]).norm() < SAME_NODE.to_mm();
    let length = |pair: &[usize]| (nodes[pair[1]] - nodes[pair[0]]).norm();
    let longest = kept.windows(2).reduce(|best, one| if length(one) > length(best) { one } else { best })?;
    let (from, to) = (longest[0], longest[1]);
    meets.then(|| ShapeMistake::ClosedPath {
        last: NodeId(last),
        from: NodeId(from),
        to: NodeId(to),
        middle: nalgebra::center(&nodes[from], &nodes[to]),
    })
}

impl Centreline {
    /// The centreline through corner points from end A to end B, in mm, in any right-handed axes.
    ///
    /// `radius` gives the formed radius of each bend; bends are counted after nodes under 0.05 degree are passed straight
    /// through. Bend angles and rotations come by `atan2`, exact to about 1e-15 times coordinate over leg, a rotation to that over
    /// the sine of the bend angles beside it. Two nodes are a straight tube. Straights below 0 by rounding only are 0.
    ///
    /// # Errors
    ///
    /// All mistakes of the path, from end A on: fewer than two nodes, a coordinate that is not finite, two nodes in a row closer
    /// than 0.01 mm, a corner over 175 degrees, a leg too short for its bends, a radius not above 0, a path that comes
    /// back to its first node.
    ///
    /// ```
    /// use nalgebra::point;
    /// use tubewright::centreline::Centreline;
    /// use tubewright::units::Length;
    /// let path = [point![0.0, 0.0, 0.0], point![1000.0, 0.0, 0.0], point![1000.0, 1000.0, 0.0]];
    /// let hook = Centreline::from_nodes(&path, &|_| Length::mm(100.0))?;
    /// assert!((hook.rows.bends[0].length.to_mm() - 900.0).abs() < 1e-9);
    /// assert!((hook.rows.bends[0].angle.to_deg() - 90.0).abs() < 1e-9);
    /// # Ok::<(), Vec<tubewright::centreline::ShapeMistake>>(())
    /// ```
    pub fn from_nodes(nodes: &[Point3<f64>], radius: &dyn Fn(BendId) -> Length) -> Result<Self, Vec<ShapeMistake>> {
        let mut mistakes = Mistakes::default();
        for (i, node) in nodes.iter().enumerate() {
            if !node.iter().copied().all(is_figure) {
                mistakes.add(ShapeMistake::NotFinite { place: Place::Node(NodeId(i)) });
            }
        }
        if nodes.len() < 2 {
            mistakes.add(ShapeMistake::TooFewNodes { count: nodes.len() });
        }
        if mistakes.any() {
            return Err(mistakes.told());
        }
        let kept = apart(nodes, &mut mistakes);
        if let Some(mistake) = closed(nodes, &kept) {
            mistakes.add(mistake);
        }
        let (passed, corners) = Thinning::new(nodes, &kept).run(&kept);
        if corners.len() < 2 {
            return Err(mistakes.told());
        }

        let legs: Vec<Vector3<f64>> = corners.windows(2).map(|pair| nodes[pair[1]] - nodes[pair[0]]).collect();
        let directions: Vec<_> = legs.iter().map(|leg| Unit::new_normalize(*leg)).collect();
        let angles: Vec<Angle> = directions.windows(2).map(|pair| angle_between(&pair[0], &pair[1])).collect();
        let normals: Vec<Vector3<f64>> = directions.windows(2).map(|pair| pair[0].cross(&pair[1])).collect();

        let mut radii = Vec::with_capacity(angles.len());
        let mut tangents = Vec::with_capacity(angles.len());
        for (i, angle) in angles.iter().enumerate() {
            let (bend, node) = (BendId(i), NodeId(corners[i + 1]));
            if is_reversal(*angle) {
                mistakes.add(ShapeMistake::Reversal { node, angle: *angle });
            }
            let radius = radius_at(bend, node, radius, &mut mistakes);
            tangents.push(radius.and_then(|radius| tangent(bend, node, radius, *angle)));
            radii.extend(radius);
        }
        let straights: Vec<Length> = (legs.iter().enumerate())
            .map(|(leg, vector)| {
                let (from, to) = (NodeId(corners[leg]), NodeId(corners[leg + 1]));
                let span = Span { leg, from, to, length: Length::mm(vector.norm()) };
                let before = leg.checked_sub(1).and_then(|bend| tangents[bend]);
                let after = tangents.get(leg).copied().flatten();
                span.straight(before, after, &mut mistakes)
            })
            .collect();
        if mistakes.any() {
            return Err(mistakes.told());
        }

        let rotation = |i: usize| match i.checked_sub(1) {
            None => Angle::ZERO,
            Some(before) => angle_about(&directions[i], &normals[before], &normals[i]),
        };
        let bends = (angles.iter().enumerate())
            .map(|(i, angle)| Row { length: straights[i], rotation: rotation(i), angle: *angle })
            .collect();
        let normal = normals.first().map_or_else(|| square_to(directions[0]), |normal| Unit::new_normalize(*normal));
        Ok(Self {
            rows: Rows { bends, last: straights[angles.len()] },
            radii,
            nodes: nodes.iter().copied().map(Some).collect(),
            bend_nodes: corners[1..corners.len() - 1].to_vec(),
            passed,
            start: nodes[corners[0]],
            direction: directions[0],
            normal,
        })
    }
}
