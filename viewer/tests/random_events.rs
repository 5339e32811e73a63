//! Keys and mouse by chance, always the same chance: nothing panics, and no text is lost.
//!
//! `TUBEWRIGHT_COUNT=full` makes ten times as many events.

mod common;
mod desk;
#[expect(unreachable_pub, reason = "shared with other tests")]
#[path = "../../core/tests/random/mod.rs"]
mod random;

use common::Shop;
use desk::Desk;
use kiss3d::egui::{Event, Key, Modifiers, MouseWheelUnit, PointerButton, TouchPhase, Vec2, pos2, vec2};
use random::Random;
use tubewright::file::tree;

/// What is typed: figures and their signs, and what means something to the file.
const LETTERS: &str = "0123456789 /'\"-.,:#[]{}&*mAB";

fn events(random: &mut Random, at: &mut [f32; 2]) -> Vec<Event> {
    let key = |key, modifiers| {
        [true, false].map(|pressed| Event::Key { key, physical_key: None, pressed, repeat: false, modifiers }).to_vec()
    };
    let pick = |random: &mut Random, keys: &[Key]| keys[random.below(keys.len() as u64) as usize];
    match random.below(12) {
        0..=3 => {
            *at = [random.within(0.0, 620.0) as f32, random.within(0.0, 900.0) as f32];
            let pos = pos2(at[0], at[1]);
            let button = |pressed| Event::PointerButton {
                pos,
                button: PointerButton::Primary,
                pressed,
                modifiers: Modifiers::NONE,
            };
            vec![Event::PointerMoved(pos), button(true), button(false)]
        }
        4..=7 => {
            let letters: Vec<char> = LETTERS.chars().collect();
            vec![Event::Text(letters[random.below(letters.len() as u64) as usize].to_string())]
        }
        8 => {
            let keys = [Key::Tab, Key::Enter, Key::Escape, Key::Backspace, Key::Delete, Key::Home, Key::End];
            key(pick(random, &keys), Modifiers::NONE)
        }
        9 => {
            let keys = [Key::ArrowLeft, Key::ArrowRight, Key::ArrowUp, Key::ArrowDown, Key::Space];
            key(pick(random, &keys), Modifiers::NONE)
        }
        10 => {
            let modifiers = if random.chance(3) { Modifiers::COMMAND | Modifiers::SHIFT } else { Modifiers::COMMAND };
            key(pick(random, &[Key::Z, Key::Z, Key::S, Key::A, Key::Y]), modifiers)
        }
        _ => {
            let delta = vec2(0.0, random.within(-300.0, 300.0) as f32);
            let (unit, phase, modifiers) = (MouseWheelUnit::Point, TouchPhase::Move, Modifiers::NONE);
            vec![Event::MouseWheel { unit, delta, phase, modifiers }]
        }
    }
}

#[test]
fn events_by_chance_leave_no_panic_and_lose_no_text() {
    let count = if std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|count| count == "full") { 20_000 } else { 2_000 };
    let mut changes = 0;
    let samples = ["hoop", "handle", "rack", "grab-handle"];
    for (seed, sample) in samples.into_iter().enumerate() {
        let shop = Shop::new(sample);
        let original = shop.text();
        let mut harness = Desk::of(&shop);
        harness.set_size(Vec2::new(620.0, 900.0));
        let mut random = Random(seed as u64);
        let mut at = [0.0, 0.0];
        let mut texts = 0;
        let mut before = original.clone();
        for _ in 0..count / samples.len() {
            for event in events(&mut random, &mut at) {
                harness.event(event);
            }
            harness.step();
            // Waited for, so that the next event finds the same panel however fast the machine is.
            let desk = harness.state_mut();
            desk.work.wait();
            if let Some(plan) = desk.work.plan() {
                desk.view.advance(0.25, plan);
                assert!(desk.view.step_of(plan).is_none_or(|step| desk.view.die_angle <= step.die_angle));
            }
            if desk.work.text() != before {
                texts += 1;
                before = desk.work.text().to_owned();
                assert!(tree::parse(&before).is_ok(), "{sample}: {before}");
            }
        }
        changes += texts;
        // Every text that there was lies on the way back.
        let work = &mut harness.state_mut().work;
        let last = work.text().to_owned();
        let mut back = 0;
        while work.can_undo() {
            work.undo();
            back += 1;
        }
        assert_eq!(work.text(), original, "{sample}");
        for _ in 0..back {
            work.redo();
        }
        assert_eq!(work.text(), last, "{sample}");
    }
    assert!(changes > count / 50, "{changes} changes are none to speak of");
}
