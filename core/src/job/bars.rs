//! The stock that a job is cut from: bars and offcuts.

use crate::units::Length;

/// What the tubes of a job are cut from.
#[derive(Clone, Debug, PartialEq)]
pub struct Bars {
    /// Width of a cut, at least 0; `None` where it is not given.
    pub kerf: Option<Length>,
    /// Length at each end of every bar and offcut that is not used, at least 0. The cut that takes such an end off lies in it.
    pub end_waste: Length,
    /// Bars, in the order of the file.
    pub bars: Vec<Bar>,
    /// Offcuts, in the order of the file.
    pub offcuts: Vec<Bar>,
    /// What the job's own `tube` says: the size of what lies there and states none.
    pub usual: Size,
}

/// OD, wall and material, as far as they are stated.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Size {
    /// Outside diameter.
    pub od: Option<Length>,
    /// Wall.
    pub wall: Option<Length>,
    /// Name of the material.
    pub material: Option<String>,
}

/// Bars or offcuts of one length and size.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// Length, above 0.
    pub length: Length,
    /// How many there are, at least 1. Of bars `None` stands for as many as are bought, of offcuts for one.
    pub count: Option<u32>,
    /// What it is, as far as that is stated.
    pub size: Size,
}
