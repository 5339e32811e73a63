//! The finished tubes of a job together, in the axes in which its nodes are drawn.

use nalgebra::{Point3, Unit, Vector3};
use tubewright::centreline::Segment;
use tubewright::job::{Job, Tube};
use tubewright::plan::Plan;
use tubewright::units::Length;

use super::mesh::{Mesh, Station};
use super::{Look, Scene, Stand, Trace};

/// An arc is cut into pieces of at most so much, degrees.
const PIECE: f64 = 3.0;

/// The tubes of a job as they are when they are bent, the one of the given place in another look; +z is taken for up.
///
/// A tube that cannot be bent as planned is shown too, with the words CANNOT BE BENT.
#[must_use]
pub fn finished(job: &Job, plan: &Plan, chosen: usize) -> Scene {
    let mut scene = Scene::new(Vector3::z_axis());
    for (place, tube) in job.tubes.iter().enumerate() {
        let look = if place == chosen { Look::Tube } else { Look::OtherTube };
        let stations = stations(tube);
        scene.body(tube.name.clone(), Mesh::of_tube(&stations, tube.stock.od), look);
        let centreline = &tube.centreline;
        let corners: Vec<Point3<f64>> = centreline.nodes.iter().copied().flatten().collect();
        scene.line(corners, Trace::Legs);
        for (node, point) in centreline.nodes.iter().enumerate() {
            let Some(point) = *point else { continue };
            let own = (node + 1).to_string();
            let words = tube.node_names.get(node).cloned().flatten().unwrap_or(own);
            scene.tags.push(super::Tag { at: point, words, rank: 2, node: Some((place, node)) });
        }
        let ends = stations.first().zip(stations.last());
        if let (Some((first, last)), true) = (ends, place == chosen) {
            let off = tube.stock.od.to_mm();
            scene.tag(first.at - first.ahead.into_inner() * off, "A", 0);
            scene.tag(last.at + last.ahead.into_inner() * off, "B", 0);
        }
        let planned = plan.tubes.iter().find(|planned| planned.name == tube.name);
        if planned.is_some_and(|planned| !planned.feasible)
            && let Some(middle) = stations.get(stations.len() / 2)
        {
            scene.tag(middle.at, format!("{}: CANNOT BE BENT as asked", tube.name), 0);
        }
    }
    scene.stand = stand(&scene);
    scene.sorted()
}

/// From a little to the left, in front and above, far enough to see it all.
fn stand(scene: &Scene) -> Stand {
    let [low, high] = scene.subject();
    let at = nalgebra::center(&low, &high);
    let far = (high - low).norm().max(200.0);
    Stand { eye: at + Unit::new_normalize(Vector3::new(0.55, -1.0, 0.5)).into_inner() * (1.4 * far), at }
}

/// Places along a finished tube with what is left beyond its nodes, from cut end to cut end; `blank` counts along the finished tube.
#[must_use]
pub fn stations(tube: &Tube) -> Vec<Station> {
    let mut segments = tube.centreline.segments();
    let [beyond_a, beyond_b] = tube.beyond();
    if let Some(Segment::Straight { from, direction, .. }) = segments.first_mut() {
        *from -= direction.into_inner() * beyond_a.to_mm();
    }
    if let Some(Segment::Straight { to, direction, .. }) = segments.last_mut() {
        *to += direction.into_inner() * beyond_b.to_mm();
    }
    let mut found: Vec<Station> = Vec::new();
    let mut place = Length::ZERO;
    for segment in segments {
        let length = segment.length();
        let parts = match segment {
            Segment::Straight { .. } => 1,
            Segment::Arc { angle, .. } => (angle.to_deg() / PIECE).ceil().max(1.0) as usize,
        };
        for part in usize::from(!found.is_empty())..=parts {
            let along = length * (part as f64 / parts as f64);
            let (at, ahead) = segment.at(along);
            found.push(Station { at, ahead, blank: (place + along).to_mm() });
        }
        place += length;
    }
    found
}
