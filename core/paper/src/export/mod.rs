//! The finished tubes of a plan for other programs.
//!
//! A part is the nominal tube as it is wanted: round, of its OD, hollow where the wall is known, its arcs at their formed radius, from the end node at A to the
//! end node at B, or to the long point where an end lands on another tube, both ends cut square. A cope is not part of it, and its words say so. What is left on beyond the nodes to be cut off later is not part of it. All parts lie in the axes of the job, so the two
//! of a mirrored pair are two different parts. Of a tube without a wall only the outside is known: it is written as if it were a bar, and says so.
//!
//! | writer | makes | lengths | axes |
//! | --- | --- | --- | --- |
//! | [`step()`] | one solid a tube of exact cylinders, tori and planes, and their assembly | mm | the job's |
//! | [`gltf`], [`glb`] | one closed mesh a tube, with its name | m | y up: the job's +z is taken for up |
//! | [`stl`] | closed meshes, all in one | mm | the job's |
//! | [`dxf`] | centrelines as lines and arcs in space, a layer a tube | mm or in | the job's |
//!
//! `course` is what they share: the pieces of a centreline, each with a direction that is carried along the tube without turning about it.

mod course;
mod dxf;
mod gltf;
mod mesh;
mod part21;
mod step;
mod stl;

use tubewright::job::Job;
use tubewright::plan::Plan;
use tubewright::round::People;
use tubewright::units::Length;

use self::course::{Span, spans};
pub use self::dxf::dxf;
pub use self::gltf::{glb, gltf};
pub use self::mesh::Chord;
pub use self::step::step;
pub use self::stl::stl;
use crate::words::Words;

/// The finished tubes of a job.
#[derive(Clone, Debug)]
pub struct Parts {
    /// Name of the job.
    pub job: String,
    /// Date of the job, as written.
    pub date: Option<String>,
    /// First four hex digits of the hash over the files.
    pub fingerprint: String,
    /// The unit that people read: `mm` or `in`.
    pub units: &'static str,
    /// The tubes, in the order of the file.
    pub parts: Vec<Part>,
}

/// A finished tube.
#[derive(Clone, Debug)]
pub struct Part {
    /// Name.
    pub name: String,
    /// What it is, in words: stock, ends, what of it is not known.
    pub about: String,
    /// Outside diameter.
    pub od: Length,
    /// Wall, where given.
    pub wall: Option<Length>,
    /// Straights and arcs from end A to end B, none of them without length.
    spans: Vec<Span>,
}

impl Parts {
    /// The tubes of a plan of this job. `name` is the job's name.
    #[must_use]
    pub fn new(name: &str, job: &Job, plan: &Plan, people: &People) -> Self {
        Self {
            job: name.to_owned(),
            date: plan.date.clone(),
            fingerprint: plan.fingerprint.clone(),
            units: people.unit(),
            parts: plan.tubes.iter().map(|tube| Part::new(&Words { job, tube, people })).collect(),
        }
    }

    /// Triangles that the meshes of all tubes have together.
    #[must_use]
    pub fn triangles(&self, chord: Chord) -> usize {
        self.parts.iter().map(|part| mesh::triangles(part, chord)).sum()
    }

    /// What is the same for all tubes, in sentences.
    fn says(&self) -> Vec<String> {
        vec![
            format!("Job {}, fingerprint of its files {}.", self.job, self.fingerprint),
            "Finished tubes, nominal, to the end nodes, or to the long point where an end lands on another tube; ends cut square.".to_owned(),
            "Tube that is left on beyond the nodes is not part of it.".to_owned(),
        ]
    }
}

impl Part {
    fn new(words: &Words<'_>) -> Self {
        let tube = words.tube;
        let mut about = format!("{}, ends square", words.stock());
        if tube.stock.wall.is_none() {
            about.push_str(", WALL NOT GIVEN: only its outside is known");
        }
        for end in &tube.ends {
            about.push_str(&format!(", end {} at its long point, NOT COPED to {}", end.end.letter(), end.cut.meets));
        }
        if !tube.feasible {
            about = format!("{about}; {}: this is its shape only", words.verdict());
        }
        Self {
            name: tube.name.clone(),
            about,
            od: tube.stock.od,
            wall: tube.stock.wall,
            spans: spans(&tube.centreline.cut_back(tube.set_offs())),
        }
    }

    /// Radii of its surfaces, mm: the outside, and the inside where the wall is known.
    fn radii(&self) -> (f64, Option<f64>) {
        let outside = self.od.to_mm() / 2.0;
        (outside, self.wall.map(|wall| outside - wall.to_mm()))
    }
}

/// Who wrote a file.
const WRITER: &str = concat!("tubewright ", env!("CARGO_PKG_VERSION"));
