//! The panel of a job, clicked and typed into without a display.

#![allow(dead_code, unreachable_pub, reason = "each test uses some of it")]

use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use kiss3d::egui::{Event, Key, Modifiers};
use tubewright_viewer::panel::panel;
use tubewright_viewer::view::View;
use tubewright_viewer::work::Work;

use crate::common::Shop;

/// What a panel works on.
pub struct Desk {
    pub work: Work,
    pub view: View,
}

impl Desk {
    /// The panel of a shop's job, with its plan.
    pub fn of(shop: &Shop) -> Harness<'static, Self> {
        let desk = Self { work: shop.work(), view: View::default() };
        Harness::builder()
            .with_size([620.0, 3000.0])
            .build_ui_state(|ui, desk: &mut Self| panel(ui, &mut desk.work, &mut desk.view), desk)
    }
}

/// Clicks what has a name that starts like this.
pub fn click(harness: &mut Harness<'_, Desk>, label: &str) {
    let all: Vec<_> = harness.query_all_by_label_contains(label).collect();
    let starts =
        |node: &&egui_kittest::Node<'_>| node.accesskit_node().label().is_some_and(|found| found.starts_with(label));
    let found = all.iter().find(starts).unwrap_or_else(|| panic!("nothing is called {label}"));
    found.click();
    harness.run_steps(3);
}

/// Whether some words are shown.
pub fn says(harness: &Harness<'_, Desk>, words: &str) -> bool {
    harness.query_all_by_label_contains(words).next().is_some()
}

/// Types into a field in the place of what stands there, letter by letter.
pub fn type_into(harness: &mut Harness<'_, Desk>, field: &str, text: &str) {
    harness.get_by_label(field).focus();
    harness.run_steps(3);
    harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    harness.run_steps(3);
    for letter in text.chars() {
        harness.event(Event::Text(letter.to_string()));
        harness.step();
    }
    harness.run_steps(3);
}

/// Waits for the plan and shows it.
pub fn settle(harness: &mut Harness<'_, Desk>) {
    harness.state_mut().work.wait();
    harness.run_steps(3);
}
