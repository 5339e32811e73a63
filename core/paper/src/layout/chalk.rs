//! Chalk coordinates as data: what is marked out on a floor with a tape, a square and a beam compass.
//!
//! As a document lengths are in mm and angles in degrees, not rounded; what stands under `printed` is in the units that people asked for.

use kurbo::Point;
use serde::Serialize;
use tubewright::job::Job;
use tubewright::plan::{Plan, TubePlan};
use tubewright::round::People;
use tubewright::units::{Angle, Length};

use super::SCHEMA;
use super::baseline::{Baseline, laid};
use super::shape::{Piece, Shape, What};
use crate::words::Words;

/// The longest radius that a beam compass or a string strikes on a floor.
const STRUCK: Length = Length::mm(2000.0);

/// Distances that are checked at most in one layout.
const DIAGONALS: usize = 6;

/// The layout of a job.
#[derive(Clone, Debug, Serialize)]
pub struct Layout {
    /// Name and version of the format.
    pub schema: &'static str,
    /// Name of the job.
    pub job: String,
    /// Date, as written; `None` leaves a line to write it on.
    pub date: Option<String>,
    /// First four hex digits of the hash over the files.
    pub fingerprint: String,
    /// The unit of printed lengths: `mm` or `in`.
    pub units: &'static str,
    /// Tubes, in the order of the file.
    pub tubes: Vec<TubeLayout>,
}

/// The layouts of one tube.
#[derive(Clone, Debug, Serialize)]
pub struct TubeLayout {
    /// Name.
    pub name: String,
    /// Whether it can be bent as planned.
    pub feasible: bool,
    /// The same in words.
    pub verdict: &'static str,
    /// OD, wall and material, in words.
    pub stock: String,
    /// Outside diameter, mm.
    pub od_mm: f64,
    /// Whether it lies flat: then it has one layout; else one for each bend.
    pub flat: bool,
    /// The same in words.
    pub says: String,
    /// Its layouts, from end A.
    pub layouts: Vec<Plane>,
}

/// What is printed of a place or an arc, without units.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Printed {
    /// Along the baseline.
    pub along: String,
    /// To its left; to its right where negative.
    pub offset: String,
}

/// A named point.
#[derive(Clone, Debug, Serialize)]
pub struct Spot {
    /// `end A`, `bend 2 start`, `corner 2`.
    pub name: String,
    /// `end`, `trim`, `tangent`, `middle`, `corner`.
    pub kind: &'static str,
    /// The number of its bend.
    pub bend: Option<usize>,
    /// Along the baseline.
    pub along_mm: f64,
    /// To its left.
    pub offset_mm: f64,
    /// What is printed.
    pub printed: Printed,
}

/// How the arc of a bend is drawn.
#[derive(Clone, Debug, Serialize)]
pub struct Arc {
    /// The bend's number.
    pub bend: usize,
    /// Its bend angle.
    pub bend_deg: f64,
    /// Which way it turns, seen from above, going from end A: `left` or `right`.
    pub turns: &'static str,
    /// Formed radius of the centreline.
    pub radius_mm: f64,
    /// The centre, along the baseline.
    pub along_mm: f64,
    /// The centre, to the left of it.
    pub offset_mm: f64,
    /// Whether it can be struck from its centre on a floor; else it is drawn through start, middle and end.
    pub struck: bool,
    /// What is printed of the centre.
    pub printed: Printed,
    /// What is printed of the radius: centreline, inside edge, outside edge.
    pub printed_radii: [String; 3],
}

/// A distance that tells whether the points are where they should be.
#[derive(Clone, Debug, Serialize)]
pub struct Diagonal {
    /// From this point,
    pub from: String,
    /// to this one.
    pub to: String,
    /// The distance.
    pub distance_mm: f64,
    /// How far a tape may be off it: two steps of the tape, since both points and the distance are rounded to its steps.
    pub within_mm: f64,
    /// What is printed of it.
    pub printed: String,
    /// What is printed of how far it may be off.
    pub printed_within: String,
}

/// One plane of a tube.
#[derive(Clone, Debug, Serialize)]
pub struct Plane {
    /// What it shows.
    pub name: String,
    /// Numbers of its bends.
    pub bends: Vec<usize>,
    /// Numbers of its legs.
    pub legs: Vec<usize>,
    /// Length of the centreline in it, extras included.
    pub length_mm: f64,
    /// What the baseline lies along.
    pub baseline: String,
    /// Whether all points lie on one side of it.
    pub one_side: bool,
    /// Points, from the end toward A.
    pub points: Vec<Spot>,
    /// Arcs, from the end toward A.
    pub arcs: Vec<Arc>,
    /// Distances to check, the longest first.
    pub diagonals: Vec<Diagonal>,
    /// The shape itself, in the frame of the baseline.
    #[serde(skip)]
    pub shape: Shape,
}

/// What is drawn of a tube: its plan beside its layouts.
#[derive(Clone, Copy, Debug)]
pub struct Drawn<'a> {
    /// The whole layout.
    pub layout: &'a Layout,
    /// The tube.
    pub tube: &'a TubeLayout,
    /// One of its planes.
    pub plane: &'a Plane,
}

impl Layout {
    /// The layout of a plan of this job. `name` is the job's name; `date` takes the place of the job's own.
    #[must_use]
    pub fn new(name: &str, job: &Job, plan: &Plan, people: &People, date: Option<&str>) -> Self {
        Self {
            schema: SCHEMA,
            job: name.to_owned(),
            date: date.map(str::to_owned).or_else(|| plan.date.clone()),
            fingerprint: plan.fingerprint.clone(),
            units: people.unit(),
            tubes: plan.tubes.iter().map(|tube| TubeLayout::new(&Words { job, tube, people })).collect(),
        }
    }

    /// The layout as a document: JSON, two spaces a level, a line break at the end.
    ///
    /// # Panics
    /// Never: there is nothing in it that JSON cannot hold.
    #[must_use]
    pub fn to_json(&self) -> String {
        tubewright::json::pretty(self)
    }

    /// Every plane of every tube.
    pub fn planes(&self) -> impl Iterator<Item = Drawn<'_>> {
        self.tubes
            .iter()
            .flat_map(move |tube| tube.layouts.iter().map(move |plane| Drawn { layout: self, tube, plane }))
    }
}

impl TubeLayout {
    fn new(words: &Words<'_>) -> Self {
        let Words { tube, people, .. } = *words;
        let shapes = Shape::all(tube);
        let flat = shapes.len() == 1;
        Self {
            name: tube.name.clone(),
            feasible: tube.feasible,
            verdict: words.verdict(),
            stock: words.stock(),
            od_mm: tube.stock.od.to_mm(),
            flat,
            says: says(tube, &shapes, people),
            layouts: shapes.iter().map(|shape| Plane::new(shape, people)).collect(),
        }
    }
}

fn says(tube: &TubePlan, shapes: &[Shape], people: &People) -> String {
    if tube.centreline.rows.bends.is_empty() {
        return "A straight tube.".to_owned();
    }
    match shapes {
        [one] if one.rises > Length::mm(0.05) => {
            format!("Flat but for {}: laid as if it were flat.", people.figure(one.rises))
        }
        [_] => "Lies flat: one layout.".to_owned(),
        _ => "Does not lie flat: each bend has a layout of its own, with the leg before it and the leg after it."
            .to_owned(),
    }
}

impl Plane {
    fn new(shape: &Shape, people: &People) -> Self {
        let (shape, Baseline { along, one_side }) = laid(shape);
        let printed = |point: Point| Printed {
            along: people.length(Length::mm(point.x)),
            offset: people.length(Length::mm(point.y)),
        };
        let points = shape.spots.iter().map(|spot| Spot {
            name: spot.what.name(),
            kind: spot.what.kind(),
            bend: spot.what.bend().map(|bend| bend.number()),
            along_mm: spot.at.x + 0.0,
            offset_mm: spot.at.y + 0.0,
            printed: printed(spot.at),
        });
        let arcs = shape.pieces.iter().filter_map(|piece| {
            let Piece::Arc { bend, centre, spoke, sweep } = *piece else { return None };
            let (radius, half) = (spoke.hypot(), shape.od / 2.0);
            Some(Arc {
                bend: bend.number(),
                bend_deg: sweep.abs().to_deg(),
                turns: if sweep > Angle::ZERO { "left" } else { "right" },
                radius_mm: radius,
                along_mm: centre.x + 0.0,
                offset_mm: centre.y + 0.0,
                struck: Length::mm(radius) <= STRUCK,
                printed: printed(centre),
                printed_radii: [radius, radius - half, radius + half].map(|radius| people.length(Length::mm(radius))),
            })
        });
        Self {
            name: shape.name.clone(),
            bends: shape.bends.iter().map(|bend| bend.number()).collect(),
            legs: shape.legs.clone(),
            length_mm: shape.length(),
            baseline: along,
            one_side,
            points: points.collect(),
            arcs: arcs.collect(),
            diagonals: diagonals(&shape, people),
            shape,
        }
    }
}

/// Between ends and corners, the longest first: those that are not on one leg, and not both on the baseline. Where there are none, from the outermost
/// points to the middles of the arcs.
fn diagonals(shape: &Shape, people: &People) -> Vec<Diagonal> {
    let within = people.tape_step() * 2.0;
    let chosen = |wanted: &dyn Fn(What) -> bool, apart: usize| {
        let spots: Vec<_> = shape.spots.iter().filter(|spot| wanted(spot.what)).collect();
        let mut found = Vec::new();
        for (i, from) in spots.iter().enumerate() {
            for to in spots.iter().skip(i + apart) {
                let distance = (to.at - from.at).hypot();
                // What is nearly on the line is measured along it.
                let on_line = from.at.y.abs() < shape.od && to.at.y.abs() < shape.od;
                if !on_line && distance > 2.0 * shape.od {
                    found.push((distance, from.what.name(), to.what.name()));
                }
            }
        }
        found
    };
    let outer = |what: What| matches!(what, What::End(_) | What::Corner(_));
    let any = |what: What| !matches!(what, What::Trim(_) | What::Corner(_));
    let mut found = chosen(&outer, 2);
    if found.is_empty() {
        found = chosen(&any, 2);
    }
    found.sort_by(|one, other| other.0.total_cmp(&one.0));
    found.truncate(DIAGONALS);
    found
        .into_iter()
        .map(|(distance, from, to)| Diagonal {
            from,
            to,
            distance_mm: distance,
            within_mm: within.to_mm(),
            printed: people.length(Length::mm(distance)),
            printed_within: people.length(within),
        })
        .collect()
}
