//! A bender made ready for questions: its bodies as kernels, its meshes with their trees.

use nalgebra::{Point3, Vector3};

use super::itself::{FoundPair, Itself};
use super::kernel::{Extent, Kernel};
use super::laid::{Laid, Part};
use super::sweep::{Body, Found, Place, SLACK, Sweep, TOLERANCE};
use super::{Clearance, Decision, Nearest, Step, StepReport, Verdict, swing};
use crate::bender::{Bender, Carrier, Die, Shape};
use crate::motion::Relative;
use crate::units::{Angle, Length};

/// One named obstacle.
#[derive(Clone, Debug)]
struct Obstacle {
    name: String,
    holds: bool,
    bodies: Vec<Solid>,
}

#[derive(Clone, Debug)]
struct Solid {
    kernel: Kernel,
    extent: Option<Extent>,
    on: Carrier,
}

impl Solid {
    fn new(kernel: Kernel, on: Carrier) -> Self {
        Self { extent: kernel.extent(), kernel, on }
    }
}

/// A bender made ready for questions; make it once and ask it for every step.
#[derive(Clone, Debug)]
pub struct Machine {
    /// The solids of the file's own, then the floor.
    own: Vec<Obstacle>,
    /// For each die: die, clamp, follower.
    dies: Vec<[Obstacle; 3]>,
}

impl Machine {
    /// The bender with all its solids.
    #[must_use]
    pub fn new(bender: &Bender) -> Self {
        let mut own: Vec<Obstacle> = bender
            .solids
            .iter()
            .map(|solid| Obstacle {
                name: solid.name.clone(),
                holds: false,
                bodies: vec![Solid::new(Kernel::new(&solid.shape), solid.on)],
            })
            .collect();
        let up = bender.bend_plane.up().into_inner();
        let floor = Kernel::HalfSpace { normal: up, height: bender.centre_height.to_mm() };
        own.push(Obstacle { name: "floor".to_owned(), holds: false, bodies: vec![Solid::new(floor, Carrier::Frame)] });
        let dies = bender.dies.iter().map(|die| die_parts(bender, die)).collect();
        Self { own, dies }
    }

    fn obstacles(&self, die: usize) -> impl Iterator<Item = &Obstacle> {
        self.own.iter().chain(&self.dies[die])
    }

    /// The full answer for one step: every gap with its witness.
    ///
    /// Gaps are certified: at most 0.02 mm under the truth for what moves past the bodies of the file's format, and never above it; 0 at a contact, with the first die
    /// angle at which it happens to 0.01 degree.
    ///
    /// # Panics
    /// Where the step does not belong to the bender of this machine.
    #[must_use]
    pub fn report(&self, step: &Step<'_>) -> StepReport {
        let laid = Laid::new(step);
        let comfortable = step.bender.clearance.comfortable.to_mm();
        let die = step.blank.bends[step.bend.0].die;
        let mut clearances: Vec<Clearance> = self
            .obstacles(die)
            .map(|obstacle| {
                let bodies = placed(obstacle, &laid);
                against(&laid, &obstacle.name, &Sweep::new(&laid, &bodies), comfortable)
            })
            .collect();
        clearances.push(against_itself(&laid, comfortable));
        let verdict = clearances.iter().map(|clearance| clearance.verdict).max().unwrap_or(Verdict::Clear);
        StepReport { clearances, swing: swing::swing(&laid), verdict }
    }

    /// Whether every gap of one step is at least what must be kept.
    ///
    /// # Panics
    /// Where the step does not belong to the bender of this machine.
    #[must_use]
    pub fn decide(&self, step: &Step<'_>) -> Decision {
        let laid = Laid::new(step);
        let die = step.blank.bends[step.bend.0].die;
        let mut unproven = false;
        for obstacle in self.obstacles(die) {
            let bodies = placed(obstacle, &laid);
            match Sweep::new(&laid, &bodies).is_kept() {
                Some(true) => {}
                Some(false) => return Decision::NotClear,
                None => unproven = true,
            }
        }
        match Itself::new(&laid).is_kept() {
            Some(true) if unproven => Decision::Unproven,
            Some(true) => Decision::Clear,
            Some(false) => Decision::NotClear,
            None => Decision::Unproven,
        }
    }
}

fn placed<'a>(obstacle: &'a Obstacle, laid: &Laid<'_>) -> Vec<Body<'a>> {
    obstacle
        .bodies
        .iter()
        .map(|solid| Body {
            kernel: &solid.kernel,
            extent: solid.extent,
            carriage: laid.kinematics.solid(solid.on),
            holds: obstacle.holds,
        })
        .collect()
}

/// Die, clamp and follower of a die: the file's own shapes, or what its figures say.
fn die_parts(bender: &Bender, die: &Die) -> [Obstacle; 3] {
    let sign = bender.hand.sign();
    let (clr, od) = (die.clr.to_mm(), die.od.to_mm());
    let beside = |from: f64, to: f64| {
        let (near, far) = (-sign * clr, -sign * (clr + 1.25 * od));
        Shape::Box { min: Point3::new(from, near.min(far), -0.75 * od), max: Point3::new(to, near.max(far), 0.75 * od) }
    };
    let disc = Shape::Cylinder {
        from: Point3::new(0.0, 0.0, -0.75 * od),
        to: Point3::new(0.0, 0.0, 0.75 * od),
        radius: die.clr,
    };
    let part = |name: &str, given: &[Shape], derived: Shape, on: Carrier| Obstacle {
        name: name.to_owned(),
        holds: true,
        bodies: if given.is_empty() {
            vec![Solid::new(Kernel::new(&derived), on)]
        } else {
            given.iter().map(|shape| Solid::new(Kernel::new(shape), on)).collect()
        },
    };
    [
        part("die", &die.shapes.die, disc, Carrier::Die),
        part("clamp", &die.shapes.clamp, beside(0.0, die.clamp_length.to_mm()), Carrier::Die),
        part("follower", &die.shapes.follower, beside(-die.follower_length.to_mm(), 0.0), Carrier::Follower),
    ]
}

/// The verdict from a certified gap and a seen one, or `None` where it takes a closer look.
fn settled(laid: &Laid<'_>, certified: f64, seen: f64) -> Option<Verdict> {
    if !laid.need_is_constant() {
        return None;
    }
    let need = laid.least_need();
    if certified >= need - SLACK {
        Some(Verdict::Clear)
    } else if seen < need - SLACK {
        Some(Verdict::Tight)
    } else {
        None
    }
}

const fn verdict_of(kept: Option<bool>) -> Verdict {
    match kept {
        Some(true) => Verdict::Clear,
        Some(false) => Verdict::Tight,
        None => Verdict::Unproven,
    }
}

fn against(laid: &Laid<'_>, name: &str, sweep: &Sweep<'_>, comfortable: f64) -> Clearance {
    let nearest = |gap: f64, place: Place| {
        let Place { part, s, a } = place;
        let piece = laid
            .pieces(part)
            .iter()
            .find(|piece| s <= piece.end)
            .or_else(|| laid.pieces(part).last())
            .map_or_else(Vector3::zeros, |piece| piece.point(s));
        Nearest {
            gap: Length::mm(gap.max(0.0)),
            keep: Length::mm(laid.need(part, s, a)),
            die_angle: Angle::rad(a),
            blank: Length::mm(laid.blank(part, s, a)),
            point: Point3::from(Relative::of(laid.carriage(part)).at(a).point(piece)),
        }
    };
    let clearance =
        |nearest: Option<Nearest>, verdict: Verdict| Clearance { obstacle: name.to_owned(), nearest, verdict };
    match sweep.smallest(comfortable, TOLERANCE, true) {
        Found::Beyond => {
            let verdict = settled(laid, comfortable, f64::INFINITY).unwrap_or_else(|| verdict_of(sweep.is_kept()));
            clearance(None, verdict)
        }
        Found::Smallest { value, place, .. } if value <= SLACK => {
            let first = sweep.first_contact(place);
            clearance(Some(nearest(0.0, first)), Verdict::Contact)
        }
        Found::Smallest { certified, value, place } => {
            let verdict = settled(laid, certified, value).unwrap_or_else(|| verdict_of(sweep.is_kept()));
            clearance(Some(nearest(certified, place)), verdict)
        }
        Found::Unproven { certified, place } => {
            let nearest = place.map(|(_, place)| nearest(certified, place));
            clearance(nearest, Verdict::Unproven)
        }
    }
}

fn against_itself(laid: &Laid<'_>, comfortable: f64) -> Clearance {
    let itself = Itself::new(laid);
    let nearest = |gap: f64, s: f64, t: f64, a: f64| {
        let piece = laid.lead.point(s);
        Nearest {
            gap: Length::mm(gap.max(0.0)),
            keep: Length::mm(itself.need(s, t, a)),
            die_angle: Angle::rad(a),
            blank: Length::mm(laid.blank(Part::Lead, s, a)),
            point: Point3::from(Relative::of(laid.carriage(Part::Lead)).at(a).point(piece)),
        }
    };
    let clearance =
        |nearest: Option<Nearest>, verdict: Verdict| Clearance { obstacle: "tube".to_owned(), nearest, verdict };
    match itself.smallest(comfortable) {
        FoundPair::Beyond => clearance(None, verdict_of(itself.is_kept())),
        FoundPair::Smallest { value, s, t, a, .. } if value <= SLACK => {
            let (s, t, a) = itself.first_contact(s, t, a);
            clearance(Some(nearest(0.0, s, t, a)), Verdict::Contact)
        }
        FoundPair::Smallest { certified, s, t, a, .. } => {
            clearance(Some(nearest(certified, s, t, a)), verdict_of(itself.is_kept()))
        }
        FoundPair::Unproven { certified, pair } => {
            clearance(pair.map(|(_, s, t, a)| nearest(certified, s, t, a)), Verdict::Unproven)
        }
    }
}
