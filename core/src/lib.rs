//! From node coordinates to a checked list of bends.
//!
//! The parts stand in the order of the work, and each uses only those before it: [`units`], [`centreline`],
//! [`forming`], [`cope`], [`bender`], [`job`], [`body`], [`motion`], [`clearance`], [`order`], [`tolerance`], [`rescue`],
//! [`plan`], [`fit`], [`calibrate`], [`inspect`],
//! [`cutting`], [`stock`], [`mod@survey`]; then [`mod@file`], which turns
//! text into the types above. [`json`] lays out what the documents of `plan`, `calibrate`, `inspect`, `stock` and `survey` say.
//!
//! ```
//! use std::path::Path;
//! use std::sync::atomic::AtomicBool;
//! use tubewright::file::{Held, load_job};
//! use tubewright::plan::{Options, document::Document, plan};
//! use tubewright::round::People;
//!
//! let bender = "
//! kind: bender
//! units: mm
//! motion: die-turns
//! hand: anticlockwise
//! bend_plane: horizontal
//! centre_height: 860
//! dies:
//!   five-inch: { od: 38.1, clr: 127, max_angle: 195, clamp_length: 70, follower_length: 150 }
//! ";
//! let job = "
//! kind: job
//! units: mm
//! bender: bender.yaml
//! tube: { od: 38.1, wall: 2.4, die: five-inch }
//! tubes:
//!   handle: { legs: [600, 900], bends: [90] }
//! ";
//! let files = Held::default().with("bender.yaml", bender).with("job.yaml", job);
//! let job = load_job(&files, Path::new("job.yaml")).expect("a sound job");
//! let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people: People::mm() };
//! let stop = AtomicBool::new(false);
//! let plan = plan(&job, &options, &stop, &mut |_| {}).expect("all of its tubes are asked for");
//!
//! let handle = &plan.tubes[0];
//! assert!(handle.feasible);
//! // Legs less two setbacks of 127, and the arc of a square corner.
//! let cut = 600.0 + 900.0 - 2.0 * 127.0 + 127.0 * std::f64::consts::FRAC_PI_2;
//! assert!((handle.blank.cut_length.to_mm() - cut).abs() < 1e-9);
//! assert!((handle.steps[0].mark.to_mm() - 473.0).abs() < 1e-9);
//! assert!(Document::new(&plan).to_json().starts_with("{\n  \"schema\": \"tubewright/plan/1\""));
//! ```

pub mod bender;
pub mod body;
pub mod calibrate;
pub mod centreline;
pub mod clearance;
pub mod cope;
pub mod cutting;
pub mod file;
pub mod fit;
pub mod forming;
pub mod inspect;
pub mod job;
pub mod json;
pub mod motion;
pub mod order;
pub mod plan;
pub mod rescue;
pub mod round;
pub mod stock;
pub mod survey;
pub mod tolerance;
pub mod units;
