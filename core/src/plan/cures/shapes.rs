//! A tube with one thing about its shape changed, built anew as its file would build it.

use nalgebra::{Point3, Vector3};

use crate::bender::Bender;
use crate::centreline::{BendId, Centreline, Leg, Rows, Taken};
use crate::clearance::self_meeting;
use crate::forming::LeadEnd;
use crate::job::{GivenBy, Job, Tube};
use crate::units::{Angle, Length};

/// The tube with another shape, where that shape can be made at all: with as many bends as before, and clear of itself.
fn with_shape(tube: &Tube, centreline: Option<Centreline>) -> Option<Tube> {
    let centreline = centreline?;
    let as_many = centreline.rows.bends.len() == tube.dies.len();
    (as_many && self_meeting(&centreline, tube.stock.od).is_none()).then(|| {
        // Rows and legs know no corner that is passed straight through once they are built.
        let node_names =
            if tube.given == GivenBy::Nodes { tube.node_names.clone() } else { vec![None; centreline.nodes.len()] };
        Tube { centreline, node_names, ..tube.clone() }
    })
}

/// The formed radius of each bend in the dies of a tube.
fn radius<'a>(tube: &'a Tube, bender: &'a Bender) -> impl Fn(BendId) -> Length + 'a {
    // A shape that has more bends than there are dies is refused afterwards, whatever its radii.
    move |bend| tube.dies.get(bend.0).map_or(tube.stock.od, |die| tube.law(bender, *die).formed_radius())
}

/// The corner points of a tube that was given by nodes.
fn points(tube: &Tube) -> Option<Vec<Point3<f64>>> {
    if tube.given == GivenBy::Nodes { tube.centreline.nodes.iter().copied().collect() } else { None }
}

fn from_rows(tube: &Tube, bender: &Bender, rows: &Rows) -> Option<Tube> {
    with_shape(tube, Centreline::from_rows(rows, &radius(tube, bender)).ok())
}

/// The tube with other dies: nodes and legs keep their corners, rows their straights.
pub(super) fn with_dies(tube: &Tube, bender: &Bender, dies: Vec<usize>) -> Option<Tube> {
    let one = dies.first().copied().filter(|first| dies.iter().all(|die| die == first));
    let tube = Tube { dies, die: one, ..tube.clone() };
    let rows = &tube.centreline.rows;
    match tube.given {
        GivenBy::Nodes => with_shape(&tube, Centreline::from_nodes(&points(&tube)?, &radius(&tube, bender)).ok()),
        GivenBy::Rows => from_rows(&tube, bender, rows),
        GivenBy::Legs => {
            let leg = |length: Option<Length>| Some(Leg { length: length?, a: Taken::Centre, b: Taken::Centre });
            let legs: Vec<Leg> = tube.centreline.legs().into_iter().map(leg).collect::<Option<_>>()?;
            let bends: Vec<Angle> = rows.bends.iter().map(|row| row.angle).collect();
            let turns: Vec<Angle> = rows.bends.iter().skip(1).map(|row| row.rotation).collect();
            let built = Centreline::from_legs(&legs, tube.stock.od, &bends, &turns, &radius(&tube, bender));
            with_shape(&tube, built.ok())
        }
    }
}

/// The tube with one leg, counted from 0, longer by so much, or shorter where that is below 0.
pub(super) fn with_leg(tube: &Tube, bender: &Bender, leg: usize, by: Length) -> Option<Tube> {
    let mut rows = tube.centreline.rows.clone();
    match rows.bends.get_mut(leg) {
        Some(row) => row.length += by,
        None => rows.last += by,
    }
    from_rows(tube, bender, &rows)
}

/// The tube with a node of the file moved, and the node's image with it.
pub(super) fn with_node(tube: &Tube, job: &Job, node: &str, by: &Vector3<f64>) -> Option<Tube> {
    let mut points = points(tube)?;
    for (point, name) in points.iter_mut().zip(&tube.node_names) {
        let Some(name) = name else { continue };
        if name == node {
            *point += by;
        } else if written(job, name) == node {
            *point += image(job, by);
        }
    }
    with_shape(tube, Centreline::from_nodes(&points, &radius(tube, &job.bender)).ok())
}

/// The first of some changed tubes, its ends fitted anew; `None` where an end of the job would not fit any more.
pub(super) fn fitted(job: &Job, changed: &[Tube]) -> Option<Tube> {
    let now = |name: &str| changed.iter().chain(&job.tubes).find(|tube| tube.name == name);
    let is_changed = |name: &str| changed.iter().any(|tube| tube.name == name);
    let mut first = changed.first()?.clone();
    for tube in job.tubes.iter().filter_map(|tube| now(&tube.name)) {
        let mut tube = tube.clone();
        for end in [LeadEnd::A, LeadEnd::B] {
            let Some(through) = tube.end(end).and_then(|end| now(&end.meets)) else { continue };
            if is_changed(&tube.name) || is_changed(&through.name) {
                tube = tube.fitted(end, through).ok()?;
            }
        }
        if tube.name == first.name {
            first = tube;
        }
    }
    Some(first)
}

/// The node of the file that a node comes from: itself, or the one that it is the image of.
pub(super) fn written<'a>(job: &'a Job, node: &'a str) -> &'a str {
    job.mirror.as_ref().and_then(|mirror| mirror.images.get(node)).map_or(node, String::as_str)
}

/// How an image moves where its node is moved by so much; with the same answer the other way round.
pub(super) fn image(job: &Job, by: &Vector3<f64>) -> Vector3<f64> {
    let Some(mirror) = &job.mirror else { return *by };
    let normal = mirror.plane.normal.into_inner();
    by - normal * (2.0 * normal.dot(by))
}

/// The two tubes that a cut in the middle of a leg leaves, counted from 0, and where the cut lies along the centreline.
///
/// What is left on at the ends stays there, and so do their cuts; the new cut gets nothing.
pub(super) fn halves(tube: &Tube, bender: &Bender, leg: usize) -> Option<([Tube; 2], Length)> {
    let rows = &tube.centreline.rows;
    let whole = tube.centreline.straights().nth(leg)?;
    let half = whole / 2.0;
    let before: Length = tube.centreline.straights().zip(tube.centreline.arcs()).take(leg).map(|(a, b)| a + b).sum();
    let mut behind = rows.bends[leg..].to_vec();
    let mut last = rows.last;
    match behind.first_mut() {
        Some(row) => {
            row.length = half;
            row.rotation = Angle::ZERO;
        }
        None => last = half,
    }
    let (dies_a, dies_b) = tube.dies.split_at(leg);
    let [end_a, end_b] = tube.ends.clone();
    let part = |dies: &[usize], rows: Rows, extra_a, extra_b, ends| {
        let part = Tube { dies: dies.to_vec(), given: GivenBy::Rows, extra_a, extra_b, ends, ..tube.clone() };
        from_rows(&part, bender, &rows)
    };
    let a = part(
        dies_a,
        Rows { bends: rows.bends[..leg].to_vec(), last: half },
        tube.extra_a,
        Length::ZERO,
        [end_a, None],
    )?;
    let b = part(dies_b, Rows { bends: behind, last }, Length::ZERO, tube.extra_b, [None, end_b])?;
    Some(([a, b], before + half))
}
