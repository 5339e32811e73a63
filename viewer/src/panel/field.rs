//! A figure as a field that is typed in as the file would have it, with its mistakes under it.

use kiss3d::egui::{Id, RichText, TextEdit, Ui, WidgetInfo};
use tubewright::file::edit::At;

use super::{Desk, look};
use crate::work::Work;
use crate::work::outline::Field;

/// The field of one figure. `name` is what it is called to whoever cannot see it; `short` stands before it.
pub(super) fn field(ui: &mut Ui, desk: &mut Desk, work: &mut Work, field: &Field, short: &str, name: &str) {
    // By the line that it stands in: a node and its mirror image have the same figures.
    let id = ui.make_persistent_id(("field", &field.at));
    ui.horizontal(|ui| {
        ui.label(short);
        // What is being typed is kept as it is typed: a blank at its end is on its way to a fraction.
        let typed = desk.typing.as_ref().filter(|(at, _)| *at == field.at).map(|(_, typed)| typed.clone());
        let mut text = typed.unwrap_or_else(|| field.said.clone());
        let response = ui.add(TextEdit::singleline(&mut text).id(id).desired_width(130.0));
        let enabled = ui.is_enabled();
        response.widget_info(|| {
            let mut info = WidgetInfo::text_edit(enabled, &text, &text, "");
            info.label = Some(name.to_owned());
            info
        });
        if response.changed() {
            desk.typing = Some((field.at.clone(), text.clone()));
            if let Err(refused) = work.set(&field.at, &text) {
                desk.say(refused);
            }
        }
        if response.lost_focus() {
            desk.typing = None;
            work.pause();
        }
    });
    mistakes(ui, work, &field.at);
}

/// The mistakes that stand at a figure.
pub(super) fn mistakes(ui: &mut Ui, work: &Work, at: &At) {
    for mistake in work.mistakes_at(at) {
        let label = if mistake.label.is_empty() { String::new() } else { format!(" ({})", mistake.label) };
        look::wrong(ui, &format!("{}{label}", mistake.message), &mistake.help);
    }
}

/// A field for words that are no part of the file; whether they were changed.
pub(super) fn words(ui: &mut Ui, text: &mut String, id: &str, name: &str, hint: &str, width: f32) -> bool {
    let hint = RichText::new(hint);
    let response = ui.add(TextEdit::singleline(text).id(Id::new(id)).hint_text(hint).desired_width(width));
    let enabled = ui.is_enabled();
    response.widget_info(|| {
        let mut info = WidgetInfo::text_edit(enabled, &*text, &*text, "");
        info.label = Some(name.to_owned());
        info
    });
    response.changed()
}
