//! What is asked for: the tubes of a job, each with its centreline, its stock and its dies.

mod bars;
mod ends;
mod rules;
mod section;
mod surveyed;

use std::collections::BTreeMap;

pub use self::bars::{Bar, Bars, Size};
pub use self::ends::{Cut, End, When};
pub use self::rules::{Bound, Rules};
pub use self::surveyed::Surveyed;
use crate::bender::{Bender, Die};
use crate::centreline::{Centreline, Plane};
use crate::forming::theory::Bending;
use crate::forming::{Blank, Law, Material, Springback};
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

/// What a tube's shape was given by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GivenBy {
    /// Corner points by name.
    Nodes,
    /// Legs from corner to corner, with bend angles and rotations.
    Legs,
    /// Rows of straight, rotation and bend angle.
    Rows,
}

/// The mirror of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Mirror {
    /// The plane.
    pub plane: Plane,
    /// For each node that it makes the node that is written in the file.
    pub images: BTreeMap<String, String>,
    /// The two suffixes by which a name and its image differ, as written: `-left`, `-right`.
    pub suffixes: [String; 2],
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
    /// The one die that is named for the whole tube, where one is: a straight tube has no bend to tell it.
    pub die: Option<usize>,
    /// What its shape was given by.
    pub given: GivenBy,
    /// Finished shape, in the job's axes.
    pub centreline: Centreline,
    /// Name of each of the centreline's nodes; all `None` for tubes given by legs or rows.
    pub node_names: Vec<Option<String>>,
    /// Tube left beyond the finished end A (its node, or the long point of its cut), cut after.
    pub extra_a: Length,
    /// Tube left beyond the finished end B, cut after.
    pub extra_b: Length,
    /// End A and end B where they land on another tube.
    pub ends: [Option<End>; 2],
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
    /// Its mirror, where it has one.
    pub mirror: Option<Mirror>,
    /// The rules that its tubes are held against, where it names any.
    pub rules: Option<Rules>,
    /// What its tubes are cut from, where that is given.
    pub bars: Option<Bars>,
    /// What its nodes have from a survey, where it names one.
    pub surveyed: Option<Surveyed>,
    /// Tubes, in the order of the file.
    pub tubes: Vec<Tube>,
    /// First four hex digits of SHA-256 over the job's, the bender's, the survey's and the meshes' bytes.
    pub fingerprint: String,
}

impl Stock {
    /// What the bender's file says of this material in a die; `None` where the job names no material, or the die does not know it.
    #[must_use]
    pub fn material_in<'a>(&self, die: &'a Die) -> Option<&'a Material> {
        let name = self.material.as_deref()?;
        die.materials.iter().find(|material| material.name == name)
    }

    /// The springback that theory expects in a die; `None` without wall, yield strength and modulus, and where the bender's file gives one: what is given is
    /// not guessed.
    #[must_use]
    pub fn estimate(&self, die: &Die) -> Option<Springback> {
        if self.material_in(die).is_some_and(|material| material.springback.is_some()) {
            return None;
        }
        let (yield_strength, e_modulus) = (self.yield_strength?, self.e_modulus?);
        Bending { od: self.od, wall: self.wall?, clr: die.clr, yield_strength, e_modulus }.springback()
    }

    /// How this tube behaves in a die of the bender's list: by what its file says of the material, else by theory where the job gives what that takes, else as if
    /// nothing sprang back.
    #[must_use]
    pub fn law(&self, place: usize, die: &Die) -> Law {
        let law = Law::new(place, die.clr, die.mark_offset, self.material_in(die));
        self.estimate(die).map_or(law, |springback| law.with(springback))
    }
}

impl Tube {
    /// See [`Stock::material_in`].
    #[must_use]
    pub fn material_in<'a>(&self, die: &'a Die) -> Option<&'a Material> {
        self.stock.material_in(die)
    }

    /// How this tube behaves in a die of the bender's list: see [`Stock::law`].
    ///
    /// # Panics
    /// Where the bender has no such die.
    #[must_use]
    pub fn law(&self, bender: &Bender, die: usize) -> Law {
        self.stock.law(die, &bender.dies[die])
    }

    /// The straight, unbent blank of this tube.
    ///
    /// # Panics
    /// Where a die of the tube is not in the bender's list.
    #[must_use]
    pub fn blank(&self, bender: &Bender) -> Blank {
        let [beyond_a, beyond_b] = self.beyond();
        Blank::new(&self.centreline, self.stock.od, beyond_a, beyond_b, &|bend| self.law(bender, self.dies[bend.0]))
    }
}
