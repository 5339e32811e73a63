//! What the window shows, as surfaces, lines and labels in mm and double precision. Nothing here knows of a graphics card.
//!
//! [`bench`] is the tube in the bender in the middle of a step; [`finished`] are the finished tubes of a job together. Figures on labels are
//! rounded by [`People`] as everywhere else.
//!
//! What must be told apart is told by shape and words first: a place that touches has close, crossing bands and the word TOUCHES, one that is
//! tight has wide bands and its gap; colour comes on top of that.

pub mod bench;
pub mod finished;
pub mod mesh;

use nalgebra::{Point3, Unit, Vector3};

pub use self::mesh::Mesh;

/// What a surface is, and so how it looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Look {
    /// The tube.
    Tube,
    /// Another tube of the job.
    OtherTube,
    /// Where the tube came from, seen through.
    Was,
    /// Where the tube goes next, seen through.
    Next,
    /// The die.
    Die,
    /// Clamp and follower.
    Tool,
    /// A solid of the bender's own: beam, ram, wall.
    Solid,
    /// A band around a tight place.
    Tight,
    /// A band around a place that touches.
    Contact,
    /// The ring of a mark.
    Mark,
}

/// A surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// What it is called.
    pub name: String,
    /// Its triangles.
    pub mesh: Mesh,
    /// How it looks.
    pub look: Look,
}

/// What a line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trace {
    /// The grid on the floor.
    Floor,
    /// The reference line along the tube.
    Reference,
    /// A top line.
    Top,
    /// The line of a dimension.
    Dimension,
    /// The outline of a place where the tube is not now.
    Outline,
    /// From node to node.
    Legs,
    /// The edge of something that is not drawn whole.
    Edge,
    /// Where somebody stands.
    Place,
}

/// A line through points.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Its points, mm.
    pub points: Vec<Point3<f64>>,
    /// What it is.
    pub trace: Trace,
}

/// Words at a point.
#[derive(Clone, Debug, PartialEq)]
pub struct Tag {
    /// The point, mm.
    pub at: Point3<f64>,
    /// What it says.
    pub words: String,
    /// What has to give way where two would lie on each other: the larger number goes.
    pub rank: u8,
    /// The node that it names, of which tube; a click there opens it.
    pub node: Option<(usize, usize)>,
}

/// All that is shown at once.
#[derive(Clone, Debug)]
pub struct Scene {
    /// Surfaces.
    pub bodies: Vec<Body>,
    /// Lines.
    pub lines: Vec<Line>,
    /// Labels, in order of their rank.
    pub tags: Vec<Tag>,
    /// Upward.
    pub up: Unit<Vector3<f64>>,
    /// From where it is looked at first.
    pub stand: Stand,
}

/// Where somebody stands and looks to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stand {
    /// The eye, mm.
    pub eye: Point3<f64>,
    /// What is looked at, mm.
    pub at: Point3<f64>,
}

impl Scene {
    fn new(up: Unit<Vector3<f64>>) -> Self {
        let stand = Stand { eye: Point3::new(-1000.0, -1000.0, 800.0), at: Point3::origin() };
        Self { bodies: Vec::new(), lines: Vec::new(), tags: Vec::new(), up, stand }
    }

    fn body(&mut self, name: impl Into<String>, mesh: Mesh, look: Look) {
        self.bodies.push(Body { name: name.into(), mesh, look });
    }

    fn line(&mut self, points: Vec<Point3<f64>>, trace: Trace) {
        self.lines.push(Line { points, trace });
    }

    fn tag(&mut self, at: Point3<f64>, words: impl Into<String>, rank: u8) {
        self.tags.push(Tag { at, words: words.into(), rank, node: None });
    }

    /// The corners of a box along the axes that holds every surface that `wanted` takes; `None` where there is none.
    #[must_use]
    pub fn bounds(&self, wanted: &dyn Fn(Look) -> bool) -> Option<[Point3<f64>; 2]> {
        let mut points = self.bodies.iter().filter(|body| wanted(body.look)).flat_map(|body| &body.mesh.points);
        let first = *points.next()?;
        Some(points.fold([first, first], |[low, high], point| [low.inf(point), high.sup(point)]))
    }

    /// The whole of the tube and where it goes, and the tools around it.
    #[must_use]
    pub fn subject(&self) -> [Point3<f64>; 2] {
        self.bounds(&|look| look != Look::Solid).unwrap_or([Point3::origin(); 2])
    }

    fn sorted(mut self) -> Self {
        self.tags.sort_by_key(|tag| tag.rank);
        self
    }
}
