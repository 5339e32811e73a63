//! The head of the panel: the file, what can be done with it, and what the plan has to do with it.

use kiss3d::egui::{Button, RichText, Ui};

use super::{Desk, field, look, redo, save, steps, tube_line, undo};
use crate::view::{Eye, Scene, View};
use crate::work::outline::Outline;
use crate::work::{Kind, NotWritten, State, Work};

/// Mistakes that are listed: more than anybody puts right before looking again.
const SHOWN: usize = 8;

pub(super) fn head(ui: &mut Ui, desk: &mut Desk, work: &mut Work, view: &mut View) {
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(work.name()).size(look::LARGE).strong());
        if work.is_changed() {
            ui.label("changed, not saved");
        }
    });
    ui.horizontal_wrapped(|ui| {
        let button = |ui: &mut Ui, on: bool, words: &str| ui.add_enabled(on, Button::new(words)).clicked();
        if button(ui, work.can_undo(), "Undo") {
            undo(desk, work);
        }
        if button(ui, work.can_redo(), "Redo") {
            redo(desk, work);
        }
        if button(ui, work.is_changed() && !work.is_anew(), "Save") {
            save(desk, work);
        }
        if look::choice(ui, desk.save_as.is_some(), "Save as") {
            desk.save_as = if desk.save_as.is_some() { None } else { Some(String::new()) };
        }
        if button(ui, true, "Reload") {
            reload(desk, work);
        }
    });
    paper(ui, desk, work);
    if let Some(mut name) = desk.save_as.take() {
        let mut keep = true;
        ui.horizontal_wrapped(|ui| {
            ui.label("Name");
            field::words(ui, &mut name, "save as", "name of the new file", "another-name.yaml", 200.0);
            if ui.add_enabled(!name.trim().is_empty(), Button::new("Write it")).clicked() {
                match work.save_as(&name) {
                    Ok(()) => {
                        desk.say(format!("{} is written; it is the one that is worked on now.", work.name()));
                        desk.replace = None;
                        keep = false;
                    }
                    Err(why) => desk.say(format!("Not written: {why}.")),
                }
            }
        });
        if keep {
            desk.save_as = Some(name);
        }
    }
    // Its line is there from the start, so that nothing below it moves under the hand.
    ui.label(if desk.said.is_empty() { " ".to_owned() } else { desk.said.clone() });
    outside(ui, desk, work);
    state(ui, work);
    eyes(ui, view);
    tubes(ui, desk, work, view);
    steps::verdict(ui, work, view);
    ui.separator();
}

fn reload(desk: &mut Desk, work: &mut Work) {
    desk.typing = None;
    match work.reload() {
        Ok(()) => desk.say(format!("{} is read again.", work.name())),
        Err(why) => desk.say(format!("Not read again: {why}.")),
    }
}

/// Card and layout, written beside the job. What is there already takes asking twice.
fn paper(ui: &mut Ui, desk: &mut Desk, work: &Work) {
    ui.horizontal_wrapped(|ui| {
        for kind in Kind::ALL {
            let replace = desk.replace == Some(kind);
            let words = if replace { format!("Replace {}", kind.name()) } else { kind.name().to_owned() };
            if !ui.add_enabled(work.can_print(), Button::new(words)).clicked() {
                continue;
            }
            desk.replace = None;
            match work.write_paper(kind, replace) {
                Ok(path) => desk.say(format!("Written: {}.", path.display())),
                Err(NotWritten::IsThere(name)) => {
                    desk.replace = Some(kind);
                    desk.say(format!("{name} is there already. Ask once more to replace it."));
                }
                Err(why) => desk.say(format!("Not written: {why}.")),
            }
        }
    });
}

fn outside(ui: &mut Ui, desk: &mut Desk, work: &mut Work) {
    let Some(path) = work.outside() else { return };
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    look::box_of(ui, |ui| {
        ui.label(RichText::new(format!("{name} was changed by someone else.")).strong());
        ui.horizontal_wrapped(|ui| {
            if ui.button("Read it again").clicked() {
                reload(desk, work);
            }
            ui.label("What you typed comes back with Undo; or save it under another name.");
        });
    });
}

fn state(ui: &mut Ui, work: &Work) {
    let old = work.plan().map_or("", |_| "OLD. What is shown is the plan from before. ");
    match work.state() {
        State::Solved => {}
        State::Solving => {
            let (done, of) = work.progress();
            let so_far = if of > 1 { format!(": {done} of {of} tubes") } else { String::new() };
            look::box_of(ui, |ui| {
                ui.label(RichText::new(format!("{old}The new plan is being worked out{so_far}.")).strong());
            });
        }
        State::Stale(why) => look::box_of(ui, |ui| {
            let mistakes = work.mistakes();
            let why = if mistakes.is_empty() { format!(": {why}") } else { ".".to_owned() };
            ui.label(RichText::new(format!("{old}There is no plan of what stands below{why}")).strong());
            if mistakes.len() > 1 {
                ui.label(format!("{} mistakes in all:", mistakes.len()));
            }
            for mistake in mistakes.iter().take(SHOWN) {
                ui.label(RichText::new(work.where_is(mistake)).size(look::WORDS - 2.0));
                look::wrong(ui, &mistake.message, &mistake.help);
            }
        }),
    }
    if work.is_anew() {
        look::box_of(ui, |ui| {
            ui.label(
                RichText::new("The last change could not be made in place. The file was written anew without its remarks: undo it, or save it under another name.")
                    .strong(),
            );
        });
    }
}

fn eyes(ui: &mut Ui, view: &mut View) {
    ui.horizontal_wrapped(|ui| {
        for (words, scene) in [("In the bender", Scene::Bender), ("Finished", Scene::Tubes)] {
            if look::choice(ui, view.scene == scene, words) {
                view.scene = scene;
            }
        }
        ui.label("seen from");
        for (words, eye) in [
            ("Operator", Eye::Operator),
            ("Front", Eye::Front),
            ("Top", Eye::Top),
            ("Side", Eye::Side),
            ("Fit", Eye::Fit),
        ] {
            if ui.button(words).clicked() {
                view.eye = Some(eye);
            }
        }
    });
}

fn tubes(ui: &mut Ui, desk: &mut Desk, work: &Work, view: &mut View) {
    let outline = work.outline();
    if outline.tubes.len() < 2 {
        return;
    }
    let now = tube_line(work, view);
    ui.horizontal_wrapped(|ui| {
        ui.label("Tube");
        for (place, tube) in outline.tubes.iter().enumerate() {
            if look::choice(ui, place == now, &tube.name) && place != now {
                view.look_at_tube(shown_place(work, &outline, place));
                desk.open.clear();
                desk.order = None;
            }
        }
    });
}

/// The place of a tube of the file in the plan that is shown.
fn shown_place(work: &Work, outline: &Outline, place: usize) -> usize {
    let by_name = |name: &str| work.plan().and_then(|plan| plan.tubes.iter().position(|tube| tube.name == name));
    outline.tubes.get(place).and_then(|tube| by_name(&tube.name)).unwrap_or(place)
}
