//! What is done: the blank with its marks, the order, and step by step the moments of the hands.

use kiss3d::egui::{Grid, RichText, Slider, Ui};
use tubewright::forming::LeadEnd;
use tubewright::order::{Order, Turn};
use tubewright::plan::{Plan, PlanStep, TubePlan};
use tubewright::round::People;
use tubewright::units::Angle;
use tubewright_paper::words::{self, Moment, Words};

use super::look::Sign;
use super::{Desk, field, look};
use crate::view::View;
use crate::work::Work;

/// What stands before everything that belongs to a plan that is not that of the figures above.
pub(super) fn old(work: &Work) -> &'static str {
    if work.is_old() { "OLD: " } else { "" }
}

/// The first thing that is said: can it be bent, and what is cut.
pub(super) fn verdict(ui: &mut Ui, work: &Work, view: &View) {
    let (Some((job, plan)), people) = (work.shown(), work.people()) else { return };
    let Some(tube) = plan.tubes.get(view.tube) else { return };
    let words = Words { job, tube, people: &people };
    let cut = if tube.feasible {
        format!("cut {}", people.length_with_unit(tube.blank.cut_length))
    } else {
        words::DO_NOT_CUT.to_owned()
    };
    ui.label(
        RichText::new(format!("{}{}: {}, {cut}", old(work), tube.name, words.verdict()))
            .size(look::WORDS + 4.0)
            .strong(),
    );
}

pub(super) fn marks(ui: &mut Ui, desk: &mut Desk, work: &Work, view: &View) {
    let (Some((job, plan)), people) = (work.shown(), work.people()) else {
        look::heading(ui, "The plan is being worked out");
        return;
    };
    let Some(tube) = plan.tubes.get(view.tube) else { return };
    let words = Words { job, tube, people: &people };
    look::heading(ui, &format!("{}Blank and marks", old(work)));
    for why in &tube.why_not {
        look::wrong(ui, &why.text, "");
    }
    for cure in &tube.cures {
        ui.label(format!("Could help: {}.", cure.text));
    }
    let cut = people.length_with_unit(tube.blank.cut_length);
    let figures = if tube.feasible { format!("cut {cut}") } else { words::DO_NOT_CUT.to_owned() };
    let line = format!("{}Cut, seam, marks", old(work));
    if look::line(ui, desk.is_open("marks"), &line, &figures, None, false).clicked() {
        desk.open_or_close("marks");
    }
    if !desk.is_open("marks") {
        return;
    }
    ui.indent("marks", |ui| {
        if tube.feasible {
            words.cut().iter().for_each(|line| drop(ui.label(line)));
        }
        words.seam().iter().for_each(|seam| drop(ui.label(format!("Seam {seam}"))));
        let mut steps: Vec<&PlanStep> = tube.steps.iter().collect();
        steps.sort_by_key(|step| step.bend);
        Grid::new("marks").spacing([18.0, 4.0]).show(ui, |ui| {
            let unit = people.unit();
            for head in
                ["bend".to_owned(), format!("mark, {unit}"), "top line, degrees".to_owned(), format!("around, {unit}")]
            {
                ui.label(RichText::new(head).strong());
            }
            ui.end_row();
            for step in steps {
                ui.label(step.bend.number().to_string());
                ui.label(people.length(step.mark));
                ui.label(people.angle(words::clockwise(step.top)));
                ui.label(people.length(step.top_arc));
                ui.end_row();
            }
        });
        ui.label(RichText::new(format!("Marks are {}", words::MARKING)).size(look::WORDS - 1.0));
    });
    for note in &tube.notes {
        ui.label(RichText::new(format!("Note: {}", note.text)).size(look::WORDS - 1.0));
    }
}

pub(super) fn steps(ui: &mut Ui, desk: &mut Desk, work: &mut Work, view: &mut View) {
    // Held, so that the list can change what it shows.
    let Some((job, plan)) = work.held() else { return };
    let people = work.people();
    let Some(tube) = plan.tubes.get(view.tube) else { return };
    if tube.steps.is_empty() {
        return;
    }
    order(ui, desk, work, tube);
    look::heading(ui, &format!("{}Steps", old(work)));
    let words = Words { job: &job, tube, people: &people };
    for (place, step) in tube.steps.iter().enumerate() {
        let open = view.step == place;
        let name = format!("{}Step {}, bend {}", old(work), place + 1, step.bend.number());
        let stop = people.dial(step.dial_target, job.bender.pointer.step);
        let figures = format!("END {}, STOP {stop}, {}", step.lead.letter(), Sign::of(step).words());
        if look::line(ui, open, &name, &figures, Some(Sign::of(step)), false).clicked() {
            view.look_at_step(place, &plan);
        }
        if view.step == place {
            ui.indent(place, |ui| {
                motion(ui, view, &plan, step, &people);
                moments(ui, &words, place + 1, step);
                rearrange(ui, work, tube, place);
            });
        }
    }
}

/// The slider through the motion of a step, with play.
fn motion(ui: &mut Ui, view: &mut View, plan: &Plan, step: &PlanStep, people: &People) {
    ui.horizontal_wrapped(|ui| {
        if ui.button(if view.playing { "Hold" } else { "Play" }).clicked() {
            view.play_or_hold(plan);
        }
        let end = step.die_angle.to_deg();
        let mut angle = view.die_angle.to_deg();
        let slider = ui.add(Slider::new(&mut angle, 0.0..=end).show_value(false));
        slider.widget_info(|| kiss3d::egui::WidgetInfo::slider(true, angle, "die angle"));
        if slider.changed() {
            view.die_angle = Angle::deg(angle);
            view.playing = false;
        }
        ui.label(format!("die angle {} of {}", people.angle(view.die_angle), people.angle(step.die_angle)));
    });
    ui.horizontal(|ui| {
        if ui.button("Step back").clicked() {
            view.back(plan);
        }
        if ui.button("Step on").clicked() {
            view.forward(plan);
        }
    });
}

fn moments(ui: &mut Ui, words: &Words<'_>, number: usize, step: &PlanStep) {
    look::stands(ui, Sign::of(step), look::WORDS + 2.0);
    for why in &step.blocked_by {
        look::wrong(ui, &format!("BLOCKED: {}", why.text), "");
    }
    let moments = (words.end_and_mark(number).into_iter())
        .chain(words.put_in(step))
        .chain(words.turn(number))
        .chain([words.pointer(step), words.stop(step)])
        .chain(words.watch(step))
        .chain(words.take_out(step));
    for Moment { about, words, main } in moments {
        ui.horizontal_wrapped(|ui| {
            let size = if main { look::LARGE } else { look::WORDS };
            ui.label(RichText::new(about).size(size).strong());
            ui.label(RichText::new(words).size(if main { look::WORDS + 2.0 } else { look::WORDS }));
        });
    }
}

/// The whole order of a tube: its steps, and what a blocked plan left out.
fn order_of(tube: &TubePlan) -> Vec<Turn> {
    let mut turns: Vec<Turn> = tube.steps.iter().map(|step| Turn { bend: step.bend, lead: step.lead }).collect();
    for bend in (0..tube.centreline.rows.bends.len()).map(tubewright::centreline::BendId) {
        if turns.iter().all(|turn| turn.bend != bend) {
            turns.push(Turn { bend, lead: LeadEnd::A });
        }
    }
    turns
}

fn order(ui: &mut Ui, desk: &mut Desk, work: &mut Work, tube: &TubePlan) {
    let now = Order(order_of(tube)).to_string();
    let fixed = work.order(&tube.name).map(str::to_owned);
    let figures = if fixed.is_some() { "fixed by hand" } else { "worked out" };
    if look::line(ui, desk.is_open("order"), &format!("{}Order {now}", old(work)), figures, None, false).clicked() {
        desk.open_or_close("order");
    }
    if !desk.is_open("order") {
        return;
    }
    ui.indent("order", |ui| {
        let typed = desk.order.as_ref().filter(|(name, _)| *name == tube.name).map(|(_, typed)| typed.clone());
        let mut text = typed.or_else(|| fixed.clone()).unwrap_or_else(|| now.clone());
        ui.horizontal_wrapped(|ui| {
            ui.label("bend and leading end");
            if field::words(ui, &mut text, "order", "order of the bends", "2A 1A", 180.0) {
                desk.order = Some((tube.name.clone(), text.clone()));
                if Order::parse(&text, tube.centreline.rows.bends.len()).is_ok() {
                    work.set_order(&tube.name, Some(text.trim()));
                }
            }
            if fixed.is_some() && ui.button("Let it be worked out").clicked() {
                desk.order = None;
                work.set_order(&tube.name, None);
            }
        });
        if let Err(mistake) = Order::parse(&text, tube.centreline.rows.bends.len()) {
            look::wrong(ui, &mistake.to_string(), "");
        }
        ui.label("An order is no part of the file; on the command line it is given by --order.");
    });
}

/// Another order, from where a step stands.
fn rearrange(ui: &mut Ui, work: &mut Work, tube: &TubePlan, place: usize) {
    let mut turns = order_of(tube);
    let before = turns.clone();
    ui.horizontal_wrapped(|ui| {
        if ui.button("Earlier").clicked() && place > 0 {
            turns.swap(place, place - 1);
        }
        if ui.button("Later").clicked() && place + 1 < turns.len() {
            turns.swap(place, place + 1);
        }
        if ui.button("Other end leads").clicked() {
            turns[place].lead = turns[place].lead.other();
        }
    });
    if turns != before {
        work.set_order(&tube.name, Some(&Order(turns).to_string()));
    }
}

/// How the worst of a tube's steps stands.
#[must_use]
pub(super) fn worst(tube: &TubePlan) -> Option<Sign> {
    tube.steps.iter().map(Sign::of).max()
}
