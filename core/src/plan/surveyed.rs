//! What a plan says of nodes that come from a survey: how much their accuracy adds to what the tube may be off by.

use nalgebra::Point3;

use super::notes::{Note, note};
use crate::job::{Job, Tube};
use crate::round::People;
use crate::tolerance::{Scatter, end_b_of_nodes, within};

/// The notes of a tube that goes through surveyed nodes; none for any other.
pub(super) fn notes(job: &Job, tube: &Tube, scatter: Option<&Scatter>, people: &People) -> Vec<Note> {
    let Some(surveyed) = &job.surveyed else { return Vec::new() };
    let nodes: Option<Vec<Point3<f64>>> = tube.centreline.nodes.iter().copied().collect();
    let Some((nodes, joint)) = nodes.zip(surveyed.of_path(&tube.node_names, job.mirror.as_ref())) else {
        return Vec::new();
    };
    if let Some(doubt) = &surveyed.doubt {
        // A deviation of figures that contradict each other is none.
        return vec![note(
            "survey-doubt",
            format!(
                "the survey {}, fingerprint {}, is in doubt: {doubt}. Cut nothing by it before that is cleared: how far off this tube may come out cannot be told",
                surveyed.file, surveyed.fingerprint
            ),
        )];
    }
    let bend = tube.centreline.bend_nodes.first().copied();
    let covariance = end_b_of_nodes(&nodes, bend, &joint);
    let alone = within(&covariance);
    // Both are counted in the same frame, and one knows nothing of the other.
    let whole = scatter.and_then(|scatter| *scatter.nodes.last()?).map(|shop| within(&(shop + covariance)));
    let how = match (bend, whole) {
        (None, _) => "end A and the line of the tube laid on theirs".to_owned(),
        (Some(_), None) => "end A, the first leg and the plane of bend 1 laid on theirs".to_owned(),
        (Some(_), Some(whole)) => format!(
            "end A, the first leg and the plane of bend 1 laid on theirs; with what the bender adds, within {}",
            people.figure(whole)
        ),
    };
    let over = match tube.tolerance {
        Some(tolerance) if whole.unwrap_or(alone) > tolerance => {
            // Where the bender has the larger part, a better survey changes little.
            let better = if whole.is_some_and(|whole| 2.0 * alone.to_mm().powi(2) < whole.to_mm().powi(2)) {
                "most of it is the bender's own, so a better survey helps little: tack before welding"
            } else {
                "survey it better, or tack before welding"
            };
            format!(". The tube may be off by {}: {better}", people.figure(tolerance))
        }
        _ => String::new(),
    };
    let by_hand = tube.node_names.iter().any(|name| !surveyed.tells(name.as_ref(), job.mirror.as_ref()));
    let exact = if by_hand { ", its nodes that are not from the survey taken as exact" } else { "" };
    vec![note(
        "survey-accuracy",
        format!(
            "the survey {}, fingerprint {}, leaves the place for end B open: a tube bent exactly as planned meets it within {} 95 times in 100, {how}{exact}{over}",
            surveyed.file,
            surveyed.fingerprint,
            people.figure(alone)
        ),
    )]
}
