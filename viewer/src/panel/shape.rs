//! What the tube is: its die, its nodes or rows, its legs.

use kiss3d::egui::{Align, RichText, Ui};
use tubewright::bender::Die;
use tubewright::round::People;
use tubewright::units::LengthUnit;

use super::field::{field, mistakes};
use super::{Desk, look, tube_line};
use crate::view::{Picked, View};
use crate::work::live::{Straight, straights};
use crate::work::outline::{BendLine, Field, NodeLine, Outline, RowLine, ShapeLines, TubeLine};
use crate::work::{Work, changes};

pub(super) fn shape(ui: &mut Ui, desk: &mut Desk, work: &mut Work, view: &mut View) {
    let outline = work.outline();
    let place = tube_line(work, view);
    let Some(tube) = outline.tubes.get(place) else { return };
    let straights = work.job().map(|job| straights(job, place)).unwrap_or_default();
    let mut part = Part { outline: &outline, tube, place, straights: &straights, people: work.people() };
    look::heading(ui, &format!("Tube {}", tube.name));
    mistakes_of_the_tube(ui, work, tube);
    part.die(ui, desk, work);
    match &tube.shape {
        ShapeLines::Path(path) => part.path(ui, desk, work, view, path),
        ShapeLines::Legs { legs, bends, rotations } => part.legs(ui, desk, work, view, (legs, bends, rotations)),
        ShapeLines::Rows(rows) => part.rows(ui, desk, work, view, rows),
        ShapeLines::Unknown => {
            ui.label("The file gives this tube no shape: write `path`, `legs` or `rows` under it.");
        }
    }
}

/// What is wrong with the tube as a whole stands at its name in the file.
fn mistakes_of_the_tube(ui: &mut Ui, work: &Work, tube: &TubeLine) {
    for mistake in work.mistakes().iter().filter(|mistake| mistake.message.contains(&format!("`{}`", tube.name))) {
        look::wrong(ui, &mistake.message, &mistake.help);
    }
}

struct Part<'p> {
    outline: &'p Outline,
    tube: &'p TubeLine,
    place: usize,
    straights: &'p [Straight],
    people: People,
}

/// Applies changes; a refusal is said.
fn apply(desk: &mut Desk, work: &mut Work, edits: &[tubewright::file::edit::Edit]) {
    desk.typing = None;
    if let Err(refused) = work.edit(edits) {
        desk.say(refused);
    }
}

fn unit_of(work: &Work) -> LengthUnit {
    let job = work.job().or_else(|| work.shown().map(|(job, _)| job));
    job.map_or(LengthUnit::Mm, |job| job.units)
}

impl Part<'_> {
    fn die(&mut self, ui: &mut Ui, desk: &mut Desk, work: &mut Work) {
        if !self.tube.dies.is_empty() {
            for (bend, die) in self.tube.dies.iter().enumerate() {
                let name = format!("die of bend {}", bend + 1);
                field(ui, desk, work, die, &format!("Die of bend {}", bend + 1), &name);
            }
            return;
        }
        let own = self.tube.die.as_ref().or(self.outline.die.as_ref());
        let said = own.map_or("none named", |die| die.said.as_str());
        let wrong = own.is_some_and(|die| !work.mistakes_at(&die.at).is_empty());
        if look::line(ui, desk.is_open("die"), "Die", said, None, wrong).clicked() {
            desk.open_or_close("die");
        }
        if let Some(die) = own {
            mistakes(ui, work, &die.at);
        }
        if !desk.is_open("die") {
            return;
        }
        let dies = work.job().or_else(|| work.shown().map(|(job, _)| job)).map(|job| job.bender.dies.as_slice());
        let words =
            |die: &Die| format!("{}: OD {}, CLR {}", die.name, self.people.figure(die.od), self.people.figure(die.clr));
        let dies: Vec<_> = dies.unwrap_or_default().iter().map(|die| (die.name.clone(), words(die))).collect();
        for (name, words) in dies {
            if ui.radio(name == said, words).clicked() && name != said {
                apply(desk, work, &changes::die(self.tube, &name));
            }
        }
    }

    fn straight(&self, ui: &mut Ui, leg: usize) {
        if let Some(straight) = self.straights.get(leg) {
            ui.label(straight.words(&self.people));
        }
    }

    /// A line for a node that was picked opens and comes into view.
    fn picked(&self, desk: &mut Desk, view: &View, node: usize, line: &str) -> bool {
        let this = Picked { tube: view.tube, node };
        if view.picked != Some(this) || desk.picked == Some(this) {
            return false;
        }
        desk.picked = Some(this);
        desk.open.insert(line.to_owned());
        true
    }

    fn path(&mut self, ui: &mut Ui, desk: &mut Desk, work: &mut Work, view: &mut View, path: &[Field]) {
        look::heading(ui, "Nodes, end A first");
        for (place, name) in path.iter().enumerate() {
            let line = format!("node {place}");
            let scroll = self.picked(desk, view, place, &line);
            let given = self.node(work, &name.said);
            let figures = match given {
                Some((node, true)) => format!("mirror of {}", node.name),
                Some((node, false)) => said(&node.figures),
                None => String::new(),
            };
            let wrong = !work.mistakes_at(&name.at).is_empty()
                || given.is_some_and(|(node, _)| {
                    node.figures.iter().any(|figure| !work.mistakes_at(&figure.at).is_empty())
                });
            let response = look::line(ui, desk.is_open(&line), &name.said, &figures, None, wrong);
            if scroll {
                response.scroll_to_me(Some(Align::Center));
            }
            if response.clicked() {
                desk.open_or_close(&line);
                view.picked = Some(Picked { tube: view.tube, node: place });
                desk.picked = view.picked;
            }
            mistakes(ui, work, &name.at);
            if desk.is_open(&line) {
                ui.indent(&line, |ui| self.open_node(ui, desk, work, place, &name.said));
            }
        }
        let unused: Vec<&NodeLine> =
            self.outline.nodes.iter().filter(|node| path.iter().all(|name| name.said != node.name)).collect();
        let images: Vec<&NodeLine> =
            path.iter().filter_map(|name| self.node(work, &name.said)).map(|(node, _)| node).collect();
        for node in unused.into_iter().filter(|node| !images.iter().any(|image| image.name == node.name)) {
            let line = format!("other node {}", node.name);
            let words = format!("{} (not in this tube)", node.name);
            let wrong = node.figures.iter().any(|figure| !work.mistakes_at(&figure.at).is_empty());
            if look::line(ui, desk.is_open(&line), &words, &said(&node.figures), None, wrong).clicked() {
                desk.open_or_close(&line);
            }
            if desk.is_open(&line) || wrong {
                ui.indent(&line, |ui| coordinates(ui, desk, work, node));
            }
        }
        look::heading(ui, "Legs");
        for (leg, straight) in self.straights.iter().enumerate() {
            let length = straight.leg.map_or_else(String::new, |leg| self.people.length_with_unit(leg));
            ui.label(format!("Leg {}: {length}, {}", leg + 1, straight.words(&self.people)));
        }
        if self.straights.is_empty() {
            ui.label("The legs are worked out once all figures are right.");
        }
    }

    /// The node that is written in the file for a name; whether the name is that of its mirror image.
    fn node(&self, work: &Work, name: &str) -> Option<(&NodeLine, bool)> {
        if let Some(node) = self.outline.node(name) {
            return Some((node, false));
        }
        let job = work.job().or_else(|| work.shown().map(|(job, _)| job))?;
        let of = job.mirror.as_ref()?.images.get(name)?;
        self.outline.node(of).map(|node| (node, true))
    }

    fn open_node(&self, ui: &mut Ui, desk: &mut Desk, work: &mut Work, place: usize, name: &str) {
        let Some((node, image)) = self.node(work, name) else {
            ui.label("No node of that name is written in the file.");
            return;
        };
        if image {
            ui.label(format!("The mirror makes it from {}: a change moves both.", node.name));
        }
        coordinates(ui, desk, work, node);
        for leg in [place.checked_sub(1), Some(place)].into_iter().flatten() {
            if self.straights.get(leg).is_some() {
                ui.horizontal_wrapped(|ui| {
                    ui.label(format!("Leg {}:", leg + 1));
                    self.straight(ui, leg);
                });
            }
        }
        ui.horizontal_wrapped(|ui| {
            if ui.button("A corner more after it").clicked() {
                let edits = work.job().and_then(|job| changes::node_after(self.outline, job, self.place, place));
                match edits {
                    Some(edits) => apply(desk, work, &edits),
                    None => desk.say("A corner goes between two nodes of a tube without mistakes."),
                }
            }
            if ui.button("Take it out of the tube").clicked() {
                match changes::node_out(self.tube, place) {
                    Some(edits) => apply(desk, work, &edits),
                    None => desk.say("A tube has at least two nodes."),
                }
            }
        });
    }

    fn legs(
        &mut self,
        ui: &mut Ui,
        desk: &mut Desk,
        work: &mut Work,
        view: &mut View,
        (legs, bends, rotations): (&[Field], &[BendLine], &[Field]),
    ) {
        look::heading(ui, "Legs and bends, end A first");
        for (place, leg) in legs.iter().enumerate() {
            let line = format!("leg {place}");
            let name = format!("Leg {}", place + 1);
            if self.opens(ui, desk, work, view, (&line, &name, &leg.said, None), &[leg]) {
                ui.indent(&line, |ui| {
                    field(ui, desk, work, leg, "length", &format!("length of leg {}", place + 1));
                    self.straight(ui, place);
                    self.one_bend_more(ui, desk, work, place);
                });
            }
            let Some(bend) = bends.get(place) else { continue };
            let rotation = place.checked_sub(1).and_then(|before| rotations.get(before));
            let line = format!("bend {place}");
            let name = format!("Bend {}", place + 1);
            let turn = rotation.map_or_else(String::new, |turn| format!("turned by {}, ", turn.said));
            let kind = if bend.included { "between the legs" } else { "degrees" };
            let figures = format!("{turn}{} {kind}", bend.field.said);
            let fields: Vec<&Field> = rotation.into_iter().chain([&bend.field]).collect();
            if self.opens(ui, desk, work, view, (&line, &name, &figures, Some(place + 1)), &fields) {
                ui.indent(&line, |ui| {
                    if let Some(turn) = rotation {
                        let name = format!("rotation before bend {}", place + 1);
                        field(ui, desk, work, turn, "rotation", &name);
                    }
                    let short = if bend.included { "angle between the legs" } else { "bend angle" };
                    field(ui, desk, work, &bend.field, short, &format!("{short} of bend {}", place + 1));
                    self.one_bend_less(ui, desk, work, place);
                });
            }
        }
    }

    fn rows(&mut self, ui: &mut Ui, desk: &mut Desk, work: &mut Work, view: &mut View, rows: &[RowLine]) {
        look::heading(ui, "Rows, end A first");
        for (place, row) in rows.iter().enumerate() {
            let line = format!("row {place}");
            let number = place + 1;
            let says = |field: &Option<Field>| field.as_ref().map_or("", |field| field.said.as_str()).to_owned();
            let mut figures = format!("straight {}", says(&row.length));
            if row.rotation.is_some() {
                figures.push_str(&format!(", turned by {}", says(&row.rotation)));
            }
            let node = row.bend.is_some().then_some(number);
            let name = if row.bend.is_some() { format!("Bend {number}") } else { "To end B".to_owned() };
            if row.bend.is_some() {
                figures.push_str(&format!(", {} degrees", says(&row.bend)));
            }
            let fields: Vec<&Field> = [&row.length, &row.rotation, &row.bend].into_iter().flatten().collect();
            if self.opens(ui, desk, work, view, (&line, &name, &figures, node), &fields) {
                ui.indent(&line, |ui| {
                    for (given, short) in
                        [(&row.length, "straight"), (&row.rotation, "rotation"), (&row.bend, "bend angle")]
                    {
                        if let Some(given) = given {
                            field(ui, desk, work, given, short, &format!("{short} of row {number}"));
                        }
                    }
                    self.straight(ui, place);
                    ui.horizontal_wrapped(|ui| {
                        self.one_bend_more(ui, desk, work, place);
                        if row.bend.is_some() {
                            self.one_bend_less(ui, desk, work, place);
                        }
                    });
                });
            }
        }
    }

    /// A line of the list; whether it is open.
    fn opens(
        &self,
        ui: &mut Ui,
        desk: &mut Desk,
        work: &Work,
        view: &mut View,
        (line, name, figures, node): (&str, &str, &str, Option<usize>),
        fields: &[&Field],
    ) -> bool {
        let scroll = node.is_some_and(|node| self.picked(desk, view, node, line));
        let wrong = fields.iter().any(|field| !work.mistakes_at(&field.at).is_empty());
        let response = look::line(ui, desk.is_open(line), name, figures, None, wrong);
        if scroll {
            response.scroll_to_me(Some(Align::Center));
        }
        if response.clicked() {
            desk.open_or_close(line);
            if let Some(node) = node {
                view.picked = Some(Picked { tube: view.tube, node });
                desk.picked = view.picked;
            }
        }
        // A line with a mistake shows it, open or not.
        if wrong && !desk.is_open(line) {
            for field in fields {
                mistakes(ui, work, &field.at);
            }
        }
        desk.is_open(line)
    }

    fn one_bend_more(&self, ui: &mut Ui, desk: &mut Desk, work: &mut Work, leg: usize) {
        if ui.button("A bend more in its middle").clicked() {
            match changes::bend_in(self.tube, leg, unit_of(work)) {
                Some(edits) => apply(desk, work, &edits),
                None => desk.say("Its length has to be right first."),
            }
        }
    }

    fn one_bend_less(&self, ui: &mut Ui, desk: &mut Desk, work: &mut Work, bend: usize) {
        if ui.button("Take the bend out").clicked() {
            match changes::bend_out(self.tube, bend, unit_of(work)) {
                Some(edits) => apply(desk, work, &edits),
                None => desk.say("The lengths beside it have to be right first."),
            }
        }
    }
}

fn said(figures: &[Field]) -> String {
    figures.iter().map(|figure| figure.said.as_str()).collect::<Vec<_>>().join(",  ")
}

fn coordinates(ui: &mut Ui, desk: &mut Desk, work: &mut Work, node: &NodeLine) {
    for (figure, axis) in node.figures.iter().zip(["x", "y", "z"]) {
        field(ui, desk, work, figure, axis, &format!("{axis} of {}", node.name));
    }
    if node.figures.len() != 3 {
        ui.label(RichText::new("A node has three figures: [x, y, z].").strong());
    }
}
