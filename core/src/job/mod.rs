//! What is asked for: the tubes of a job, each with its centreline, its stock and its dies.

use crate::bender::Bender;
use crate::centreline::Centreline;
use crate::units::{Angle, Length, LengthUnit};

/// The tube that is bent.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// Outside diameter.
    pub od: Length,
    /// Wall, where given.
    pub wall: Option<Length>,
    /// Name of the material, where given.
    pub material: Option<String>,
    /// kg/m3, where given.
    pub density: Option<f64>,
    /// Yield strength, MPa, where given.
    pub yield_strength: Option<f64>,
    /// Modulus of elasticity, MPa, where given.
    pub e_modulus: Option<f64>,
}

/// One tube of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Tube {
    /// Name, as the file calls it.
    pub name: String,
    /// What it is made of.
    pub stock: Stock,
    /// For each bend the place of its die in the bender's list.
    pub dies: Vec<usize>,
    /// Finished shape, in the job's axes.
    pub centreline: Centreline,
    /// Name of each of the centreline's nodes; all `None` for tubes given by legs or rows.
    pub node_names: Vec<Option<String>>,
    /// Tube left beyond the first node, cut after.
    pub extra_a: Length,
    /// Tube left beyond the last node, cut after.
    pub extra_b: Length,
    /// Where the seam lies, clockwise from the reference line, looking from end A.
    pub seam: Option<Angle>,
    /// A cure never splits it.
    pub one_piece: bool,
    /// How far a node may be off.
    pub tolerance: Option<Length>,
    /// The other tube of a mirrored pair, by name.
    pub pair: Option<String>,
}

/// A job: its tubes and the bender that bends them.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Units of the file: what people read unless they ask otherwise.
    pub units: LengthUnit,
    /// Date, as written.
    pub date: Option<String>,
    /// The bender.
    pub bender: Bender,
    /// Tubes, in the order of the file.
    pub tubes: Vec<Tube>,
    /// First four hex digits of SHA-256 over the job's, the bender's and the meshes' bytes.
    pub fingerprint: String,
}
