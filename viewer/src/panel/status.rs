//! One line under the picture: what is seen, and whether it is of now.

use kiss3d::egui::{RichText, Ui};

use super::look::Sign;
use super::{look, steps};
use crate::view::{Scene, View};
use crate::work::{State, Work};

/// The line under the picture.
pub fn status(ui: &mut Ui, work: &Work, view: &View) {
    look::set(ui);
    look::strip(ui, |ui| line(ui, work, view));
}

fn line(ui: &mut Ui, work: &Work, view: &View) {
    let people = work.people();
    ui.horizontal_wrapped(|ui| {
        if let State::Stale(_) | State::Solving = work.state()
            && work.plan().is_some()
        {
            ui.label(RichText::new("OLD").size(look::LARGE).strong());
        }
        let Some((job, plan)) = work.shown() else {
            ui.label("The plan is being worked out.");
            return;
        };
        let Some(tube) = plan.tubes.get(view.tube) else { return };
        ui.label(RichText::new(&tube.name).strong());
        match (view.scene, view.step_of(plan)) {
            (Scene::Bender, Some(step)) => {
                let stop = people.dial(step.dial_target, job.bender.pointer.step);
                let reading = people.near(job.bender.pointer.reading(view.die_angle));
                ui.label(format!(
                    "step {} of {}, bend {}, END {} leads, dial near {reading}, STOP {stop}",
                    view.step + 1,
                    tube.steps.len(),
                    step.bend.number(),
                    step.lead.letter(),
                ));
                look::stands(ui, Sign::of(step), look::WORDS);
            }
            _ => {
                ui.label("finished");
                if let Some(worst) = steps::worst(tube) {
                    look::stands(ui, worst, look::WORDS);
                }
            }
        }
        if work.is_changed() {
            ui.label("changed, not saved");
        }
    });
}
