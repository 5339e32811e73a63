//! Nodes that a survey told: how sure they are, and how their errors hang together.

use std::collections::BTreeMap;

use nalgebra::{DMatrix, Matrix3, Vector3};

use super::Mirror;

/// What a job has from its survey.
#[derive(Clone, Debug, PartialEq)]
pub struct Surveyed {
    /// The survey's file, as the job names it.
    pub file: String,
    /// The first four hex digits of the SHA-256 of that file.
    pub fingerprint: String,
    /// For each point its place in the covariance.
    pub nodes: BTreeMap<String, usize>,
    /// Covariance of all of them, mm2 in the job's axes: three rows and columns a point.
    pub covariance: DMatrix<f64>,
    /// Why its points may be wrong beyond that, where they may.
    pub doubt: Option<String>,
}

impl Surveyed {
    /// Whether a node is from the survey, or the mirror's image of one that is.
    #[must_use]
    pub fn tells(&self, name: Option<&String>, mirror: Option<&Mirror>) -> bool {
        name.is_some_and(|name| self.moves(name, mirror).is_some())
    }

    /// How a node moves with the points of the survey: with which, and turned how.
    fn moves(&self, name: &String, mirror: Option<&Mirror>) -> Option<(usize, Matrix3<f64>)> {
        if let Some(place) = self.nodes.get(name) {
            return Some((*place, Matrix3::identity()));
        }
        let mirror = mirror?;
        let place = self.nodes.get(mirror.images.get(name)?)?;
        let normal: Vector3<f64> = mirror.plane.normal.into_inner();
        Some((*place, Matrix3::identity() - normal * normal.transpose() * 2.0))
    }

    /// Covariance of the nodes of a path, mm2: three rows and columns a node, 0 for one that is not from the survey. A node that the mirror makes goes as its image
    /// does. `None` where none of them is from the survey.
    #[must_use]
    pub fn of_path(&self, names: &[Option<String>], mirror: Option<&Mirror>) -> Option<DMatrix<f64>> {
        let moves = |name: &Option<String>| self.moves(name.as_ref()?, mirror);
        let all: Vec<_> = names.iter().map(moves).collect();
        all.iter().any(Option::is_some).then(|| {
            let mut joint = DMatrix::zeros(3 * names.len(), 3 * names.len());
            for (row, one) in all.iter().enumerate() {
                for (column, other) in all.iter().enumerate() {
                    let (Some((from, turn)), Some((to, other_turn))) = (one, other) else { continue };
                    let own = self.covariance.fixed_view::<3, 3>(3 * from, 3 * to);
                    joint.fixed_view_mut::<3, 3>(3 * row, 3 * column).copy_from(&(turn * own * other_turn.transpose()));
                }
            }
            joint
        })
    }
}
