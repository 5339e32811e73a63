//! Templates of ends that land on other tubes: paper that is wrapped around the tube and shows where it is cut, at 1:1.
//!
//! ```text
//!          end A                                       end B
//!    +------------------------------+---+      +------------------------------+---+  . edge of the paper beyond the tube
//!    |  words          |      |     |   |      |- - - - - - - LONG POINT - - -|   |
//!    |               HEEL    TOE    |tab|      |    .-.               .-.     |   |
//!    |   .---.         |  .---.     |   |      | .-'   `-.         .-'   `-.  |tab|  the edge; on the tube's side of it what is kept
//!    |.-'     `-.      .-'     `-.  |   |      |'      |  `-.___.-'   |    ` |   |
//!    |- - - - - - `-.-' LONG POINT -|   |      |      TOE            HEEL     |   |
//!    +------------------------------+---+      +--- words -------------------+---+
//!     0           clockwise ->    girth         toward end A is down on both
//! ```
//!
//! As with the wrap strip, the printed side is out and the lower edge toward end A; then what lies clockwise, looking from end A, lies to the right. The left edge is the reference
//! line. Distances around are those of the tube's outside, distances along it are true. The inside edge is drawn at the same angles, so that both belong to one line of the tube.
//!
//! As a document ([`Ends::to_json`]) lengths are in mm and angles in degrees, whatever the file's units, not rounded.

mod page;
mod text;

use kurbo::{BezPath, Point};
use serde::Serialize;
use tubewright::forming::LeadEnd;
use tubewright::job::{Cut, Job};
use tubewright::plan::{EndDocument, EndPlan, Plan, TubePlan};
use tubewright::round::People;
use tubewright::units::{Angle, Length};

pub use self::page::{pages, sheet};
pub use self::text::text;
use crate::words::{Words, clockwise};

/// JSON Schema (draft 2020-12) of the document.
pub const JSON_SCHEMA: &str = include_str!("ends.schema.json");

/// Name and version of the format.
pub const SCHEMA: &str = "tubewright/ends/1";

/// How far an edge that is drawn as straight lines may lie off the true one.
const WITHIN: Length = Length::mm(1e-3);

/// Templates of a job.
#[derive(Clone, Debug, Serialize)]
pub struct Ends {
    /// Name and version of the format.
    pub schema: &'static str,
    /// Name of the job.
    pub job: String,
    /// Date, as written.
    pub date: Option<String>,
    /// First four hex digits of the hash over the files.
    pub fingerprint: String,
    /// The unit of printed lengths: `mm` or `in`.
    pub units: &'static str,
    /// One for each end that lands on another tube, in the order of the file.
    pub ends: Vec<Template>,
}

/// The template of one end.
#[derive(Clone, Debug, Serialize)]
pub struct Template {
    /// The tube.
    pub tube: String,
    /// Whether it can be bent as planned.
    pub feasible: bool,
    /// Outside diameter.
    pub od_mm: f64,
    /// Wall, where given.
    pub wall_mm: Option<f64>,
    /// Once around its outside.
    pub girth_mm: f64,
    /// Tube left beyond the long point, cut after.
    pub extra_mm: f64,
    /// Figures of the joint.
    #[serde(flatten)]
    pub figures: EndDocument,
    /// The outside edge of the cope: degrees clockwise from the toe looking from end A, 0 to 360; mm from the node into the tube, the gap included.
    pub outside: Vec<[f64; 2]>,
    /// The inside edge; `None` where no wall is given.
    pub inside: Option<Vec<[f64; 2]>>,
    /// The outside edge that two plane cuts leave.
    pub planes: Vec<[f64; 2]>,
    /// In words.
    pub words: Vec<String>,
    #[serde(skip)]
    plan: EndPlan,
    #[serde(skip)]
    stock: String,
    #[serde(skip)]
    table: Vec<Row>,
}

/// One line of the table: for whoever has no printer.
#[derive(Clone, Debug)]
struct Row {
    /// Clockwise from the toe.
    turn: Angle,
    /// Around from the reference line.
    around: Length,
    /// From the long point into the tube, along the line that is cut.
    cut: Length,
    /// The same of the inside edge.
    inside: Option<Length>,
}

impl Ends {
    /// The templates of a plan of this job. `name` is the job's name; `date` takes the place of the job's own.
    #[must_use]
    pub fn new(name: &str, job: &Job, plan: &Plan, people: &People, date: Option<&str>) -> Self {
        let of = |tube| {
            let words = Words { job, tube, people };
            tube.ends.iter().map(move |end| Template::new(&words, end)).collect::<Vec<_>>()
        };
        Self {
            schema: SCHEMA,
            job: name.to_owned(),
            date: date.map(str::to_owned).or_else(|| plan.date.clone()),
            fingerprint: plan.fingerprint.clone(),
            units: people.unit(),
            ends: plan.tubes.iter().flat_map(of).collect(),
        }
    }

    /// The templates as a document: JSON, two spaces a level, a line break at the end.
    ///
    /// # Panics
    /// Never: there is nothing in it that JSON cannot hold.
    #[must_use]
    pub fn to_json(&self) -> String {
        tubewright::json::pretty(self)
    }
}

impl Template {
    fn new(words: &Words<'_>, plan: &EndPlan) -> Self {
        let tube: &TubePlan = words.tube;
        let own = &plan.cut;
        let joint = &own.joint;
        let points = |edge: &dyn Fn(Angle) -> Length| -> Vec<[f64; 2]> {
            let points = joint.curve(edge, WITHIN);
            points.into_iter().map(|(t, s)| [t.to_deg() + 0.0, (s + own.gap).to_mm() + 0.0]).collect()
        };
        let edge = |t: Angle| match own.cut {
            Cut::Cope => joint.outside(t),
            Cut::TwoPlane => joint.planes.edge(t),
        };
        let from_long = |s: Length| s + own.gap - own.set_off();
        let row = |place: u8| {
            let turn = Angle::deg(15.0 * f64::from(place));
            let around = tube.stock.od * (clockwise(plan.toe + turn).to_rad() * 0.5);
            Row { turn, around, cut: from_long(edge(turn)), inside: joint.inside(turn).map(from_long) }
        };
        Self {
            tube: tube.name.clone(),
            feasible: tube.feasible,
            od_mm: tube.stock.od.to_mm(),
            wall_mm: tube.stock.wall.map(Length::to_mm),
            girth_mm: tube.stock.girth().to_mm(),
            extra_mm: if plan.end == LeadEnd::A { tube.extra_a } else { tube.extra_b }.to_mm(),
            figures: EndDocument::new(plan),
            outside: points(&|t| joint.outside(t)),
            inside: joint.bore().map(|_| points(&|t| joint.inside(t).unwrap_or_default())),
            planes: points(&|t| joint.planes.edge(t)),
            words: words.end(plan),
            table: (0..24).map(row).collect(),
            stock: words.stock(),
            plan: plan.clone(),
        }
    }

    /// Its name: the tube and the end.
    #[must_use]
    pub fn name(&self) -> String {
        format!("{}, end {}", self.tube, self.plan.end.letter())
    }

    /// From the cut end to the long point, as a tape shows it.
    fn extra_words(&self, people: &People) -> String {
        people.length_with_unit(Length::mm(self.extra_mm))
    }

    /// The edge that is cut along.
    fn cut(&self) -> &[[f64; 2]] {
        match self.plan.cut.cut {
            Cut::Cope => &self.outside,
            Cut::TwoPlane => &self.planes,
        }
    }

    /// Depth from the long point to the furthest place of any edge that is drawn, mm.
    fn deepest(&self) -> f64 {
        let edges = [Some(&self.outside), self.inside.as_ref(), Some(&self.planes)];
        let all = edges.into_iter().flatten().flatten().map(|point| point[1]);
        all.fold(f64::NEG_INFINITY, f64::max) - self.long()
    }

    /// The long point, mm from the node.
    fn long(&self) -> f64 {
        self.plan.cut.set_off().to_mm()
    }

    /// An edge on paper: x around from the reference line, in [0, girth], y toward end A from the long point; several pieces where it runs over the edge of the paper.
    fn drawn(&self, edge: &[[f64; 2]]) -> BezPath {
        let girth = self.girth_mm;
        let toe = self.plan.toe.to_deg();
        let up = self.up();
        let at = |point: [f64; 2]| Point::new((toe + point[0]) / 360.0 * girth, up * (point[1] - self.long()));
        let mut path = BezPath::new();
        for pair in edge.windows(2) {
            let (from, to) = (at(pair[0]), at(pair[1]));
            // Each stretch as it is, and once around further back: what lies outside of the paper is cut off.
            for turn in [0.0, girth] {
                let (a, b) = (Point::new(from.x - turn, from.y), Point::new(to.x - turn, to.y));
                if let Some((a, b)) = within(a, b, girth) {
                    if path.elements().last().and_then(kurbo::PathEl::end_point) != Some(a) {
                        path.move_to(a);
                    }
                    path.line_to(b);
                }
            }
        }
        path
    }

    /// Which way on paper leads into the tube from its end: toward end A is down, and y grows downward.
    fn up(&self) -> f64 {
        if self.plan.end == LeadEnd::A { -1.0 } else { 1.0 }
    }
}

/// The part of a stretch that lies between 0 and the girth.
fn within(a: Point, b: Point, girth: f64) -> Option<(Point, Point)> {
    if b.x <= 0.0 || a.x >= girth || b.x <= a.x {
        return None;
    }
    let at = |x: f64| Point::new(x, a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x));
    Some((if a.x < 0.0 { at(0.0) } else { a }, if b.x > girth { at(girth) } else { b }))
}
