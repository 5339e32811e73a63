//! What is looked at: which tube, which step, how far the die has turned, and what was picked.
//!
//! The panel and the window share one [`View`]. It holds no geometry: what stands where is worked out from the plan.

use tubewright::plan::{Plan, PlanStep};
use tubewright::units::Angle;

/// How fast a bend is played, degrees of die angle a second: a square bend takes about three.
const PLAY: f64 = 30.0;

/// What the picture shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Scene {
    /// The bender with the tube of one step in it.
    #[default]
    Bender,
    /// The finished tubes in the job's axes.
    Tubes,
}

/// A place to look from. A request: the window takes it and moves its camera.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Eye {
    /// From where the operator stands.
    Operator,
    /// Near enough that everything just fits.
    Fit,
    /// Along y.
    Front,
    /// From above.
    Top,
    /// Along x.
    Side,
}

/// A node that was picked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Picked {
    /// Place of its tube in the job.
    pub tube: usize,
    /// Place of the node on the tube's centreline.
    pub node: usize,
}

/// What is looked at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// What the picture shows.
    pub scene: Scene,
    /// Place of the tube in the job.
    pub tube: usize,
    /// The step, from 0.
    pub step: usize,
    /// How far the die has turned in it: from 0 to the step's die angle.
    pub die_angle: Angle,
    /// Whether the step's motion is being played.
    pub playing: bool,
    /// The node that was picked last, in the picture or in the list.
    pub picked: Option<Picked>,
    /// Where to look from next; taken by the window.
    pub eye: Option<Eye>,
}

impl View {
    /// The step that is looked at; `None` for a straight tube, and where the plan has no such tube.
    #[must_use]
    pub fn step_of<'p>(&self, plan: &'p Plan) -> Option<&'p PlanStep> {
        plan.tubes.get(self.tube)?.steps.get(self.step)
    }

    /// Brings the view back to what a plan has, after it changed.
    pub fn keep_within(&mut self, plan: &Plan) {
        self.tube = self.tube.min(plan.tubes.len().saturating_sub(1));
        let steps = plan.tubes.get(self.tube).map_or(0, |tube| tube.steps.len());
        self.step = self.step.min(steps.saturating_sub(1));
        let end = self.step_of(plan).map_or(Angle::ZERO, |step| step.die_angle);
        self.die_angle = self.die_angle.max(Angle::ZERO).min(end);
    }

    /// Looks at another tube, from its first step.
    pub fn look_at_tube(&mut self, tube: usize) {
        *self = Self { scene: self.scene, tube, eye: self.eye, ..Self::default() };
    }

    /// Looks at a step, with the tube laid in. A step that is not there is the last one.
    pub fn look_at_step(&mut self, step: usize, plan: &Plan) {
        self.step = step;
        self.die_angle = Angle::ZERO;
        self.playing = false;
        self.keep_within(plan);
    }

    /// One step on; at the last one nothing changes.
    pub fn forward(&mut self, plan: &Plan) {
        let steps = plan.tubes.get(self.tube).map_or(0, |tube| tube.steps.len());
        if self.step + 1 < steps {
            self.look_at_step(self.step + 1, plan);
        }
    }

    /// One step back; in the first one the tube is laid in again.
    pub fn back(&mut self, plan: &Plan) {
        self.look_at_step(self.step.saturating_sub(1), plan);
    }

    /// Starts the motion of the step, from its beginning where it is at its end; or holds it.
    pub fn play_or_hold(&mut self, plan: &Plan) {
        let Some(step) = self.step_of(plan) else { return };
        self.playing = !self.playing;
        if self.playing && self.die_angle >= step.die_angle {
            self.die_angle = Angle::ZERO;
        }
    }

    /// Plays on by so many seconds; at the end of the step's motion it stops. To be called once for each picture: it also keeps
    /// the view within the plan.
    pub fn advance(&mut self, seconds: f64, plan: &Plan) {
        self.keep_within(plan);
        if !self.playing {
            return;
        }
        let end = self.step_of(plan).map_or(Angle::ZERO, |step| step.die_angle);
        self.die_angle += Angle::deg(PLAY * seconds.max(0.0));
        if self.die_angle >= end {
            self.die_angle = end;
            self.playing = false;
        }
    }
}
