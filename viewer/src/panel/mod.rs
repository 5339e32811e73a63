//! The list beside the picture: everything of a job in the order of the work, each line opening where it stands.
//!
//! ```text
//! file: what it is, save, undo, what the plan has to do with it
//! nodes or rows -> legs -> marks -> order -> steps
//! ```
//!
//! There are no dialogs. A figure is typed as in the file; the plan follows by itself, and until it is there what is shown
//! is marked as old. Nothing is told by colour alone.

mod field;
mod head;
mod look;
mod shape;
mod status;
mod steps;

use std::collections::BTreeSet;

use kiss3d::egui::{Id, Key, KeyboardShortcut, Modifiers, ScrollArea, Ui};
use tubewright::file::edit::At;

pub use self::status::status;
use crate::view::{Eye, Picked, View};
use crate::work::{Kind, Work};

/// Seconds between two looks at the files on the disk.
const LOOK: f64 = 2.0;

/// What the panel itself has to remember from one picture to the next.
#[derive(Clone, Debug, Default)]
struct Desk {
    /// Lines that are open.
    open: BTreeSet<String>,
    /// The figure that is being typed in, as typed.
    typing: Option<(At, String)>,
    /// The name that is typed in for a new file; `None` where that is not open.
    save_as: Option<String>,
    /// What was done last, or why it was not.
    said: String,
    /// Paper that is there already, and may be replaced by asking again.
    replace: Option<Kind>,
    /// When the files were looked at last, seconds.
    looked: f64,
    /// The picked node that was last brought into view.
    picked: Option<Picked>,
    /// The order as it is being typed, with its tube.
    order: Option<(String, String)>,
}

impl Desk {
    fn say(&mut self, words: impl ToString) {
        self.said = words.to_string();
    }

    fn is_open(&self, line: &str) -> bool {
        self.open.contains(line)
    }

    fn open_or_close(&mut self, line: &str) {
        if !self.open.remove(line) {
            self.open.insert(line.to_owned());
        }
    }
}

/// The whole panel. It takes what the solving thread has found; playing goes on by [`View::advance`], which is the
/// caller's to call.
pub fn panel(ui: &mut Ui, work: &mut Work, view: &mut View) {
    look::set(ui);
    let id = Id::new("tubewright panel");
    let mut desk: Desk = ui.data(|data| data.get_temp(id)).unwrap_or_default();
    work.poll();
    let now = ui.input(|input| input.time);
    if now - desk.looked >= LOOK {
        desk.looked = now;
        work.look_outside();
    }
    if let Some(plan) = work.plan() {
        view.keep_within(plan);
    }
    keys(ui, &mut desk, work, view);
    look::sheet(ui, |ui| {
        head::head(ui, &mut desk, work, view);
        ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            shape::shape(ui, &mut desk, work, view);
            steps::marks(ui, &mut desk, work, view);
            steps::steps(ui, &mut desk, work, view);
            ui.add_space(12.0);
        });
    });
    if view.playing {
        ui.ctx().request_repaint();
    } else if work.is_old() {
        // The thread does not wake the window.
        ui.ctx().request_repaint_after(std::time::Duration::from_millis(100));
    } else {
        ui.ctx().request_repaint_after(std::time::Duration::from_secs_f64(LOOK));
    }
    ui.data_mut(|data| data.insert_temp(id, desk));
}

/// Place of the looked-at tube in the outline: by its name, since what is shown may be older than the file.
fn tube_line(work: &Work, view: &View) -> usize {
    let name = work.plan().and_then(|plan| plan.tubes.get(view.tube)).map(|tube| tube.name.as_str());
    let outline = work.outline();
    name.and_then(|name| outline.tubes.iter().position(|tube| tube.name == name)).unwrap_or(view.tube)
}

fn save(desk: &mut Desk, work: &mut Work) {
    desk.typing = None;
    match work.save() {
        Ok(()) if work.mistakes().is_empty() => desk.say(format!("{} is saved.", work.name())),
        Ok(()) => desk.say(format!("{} is saved, with mistakes in it.", work.name())),
        Err(why) => desk.say(format!("Not saved: {why}.")),
    }
}

fn undo(desk: &mut Desk, work: &mut Work) {
    desk.typing = None;
    desk.order = None;
    work.undo();
}

fn redo(desk: &mut Desk, work: &mut Work) {
    desk.typing = None;
    desk.order = None;
    work.redo();
}

fn keys(ui: &Ui, desk: &mut Desk, work: &mut Work, view: &mut View) {
    let pressed = |modifiers, key| ui.input_mut(|input| input.consume_shortcut(&KeyboardShortcut::new(modifiers, key)));
    // The longer one first: it holds the shorter.
    if pressed(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z) || pressed(Modifiers::COMMAND, Key::Y) {
        redo(desk, work);
    }
    if pressed(Modifiers::COMMAND, Key::Z) {
        undo(desk, work);
    }
    if pressed(Modifiers::COMMAND, Key::S) {
        save(desk, work);
    }
    if ui.ctx().text_edit_focused() {
        return;
    }
    let Some(plan) = work.plan() else { return };
    if pressed(Modifiers::NONE, Key::ArrowRight) || pressed(Modifiers::NONE, Key::ArrowDown) {
        view.forward(plan);
    }
    if pressed(Modifiers::NONE, Key::ArrowLeft) || pressed(Modifiers::NONE, Key::ArrowUp) {
        view.back(plan);
    }
    for (key, eye) in [(Key::F, Eye::Fit), (Key::O, Eye::Operator), (Key::T, Eye::Top)] {
        if pressed(Modifiers::NONE, key) {
            view.eye = Some(eye);
        }
    }
    // A button that was reached by the keyboard is pressed by the same key.
    if ui.memory(|memory| memory.focused()).is_none() && pressed(Modifiers::NONE, Key::Space) {
        view.play_or_hold(plan);
    }
}
