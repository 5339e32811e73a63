//! What the hand does, as the panel takes it: keys, letters, the pointer.
//!
//! The graphics library would hand these on only with the next picture, which on a machine that draws in software is too late by one picture.
//! It also knows letters by their place on the keyboard, and ctrl by whether it is down when a picture is begun: ctrl+Z would be ctrl+Y on
//! some keyboards, and a quick hand would type a letter in place of a command. So events are taken here in their order, letters as they are
//! written, and given to the panel with the picture that is about to be drawn.

use std::sync::{Arc, Mutex};

use kiss3d::egui::{self, Context, Modifiers, Pos2};
use kiss3d::event::{Action, Key, MouseButton, WindowEvent};

/// Events that the panel has not seen yet, and what is held.
#[derive(Debug, Default)]
pub struct Input {
    waiting: Waiting,
    held: Modifiers,
    /// Where the pointer was last, points.
    pointer: Pos2,
}

type Waiting = Arc<Mutex<Vec<egui::Event>>>;

/// Gives the panel what waits, when it asks.
struct Giver(Waiting);

impl egui::Plugin for Giver {
    fn debug_name(&self) -> &'static str {
        "events of the window"
    }

    fn input_hook(&mut self, _: &Context, input: &mut egui::RawInput) {
        if let Ok(mut waiting) = self.0.lock() {
            input.events.append(&mut waiting);
        }
    }
}

impl Input {
    /// Events for the panel of a window.
    #[must_use]
    pub fn new(context: &Context) -> Self {
        let input = Self::default();
        context.add_plugin(Giver(Arc::clone(&input.waiting)));
        input
    }

    /// Takes an event in its order. Whether the panel gets it from here, so that nobody else should give it.
    pub fn take(&mut self, event: &WindowEvent, scale: f64) -> bool {
        let Ok(mut waiting) = self.waiting.lock() else { return false };
        match *event {
            WindowEvent::CursorPos(x, y, _) => {
                self.pointer = Pos2::new((x / scale) as f32, (y / scale) as f32);
                waiting.push(egui::Event::PointerMoved(self.pointer));
            }
            WindowEvent::MouseButton(button, action, _) => {
                let button = match button {
                    MouseButton::Button1 => egui::PointerButton::Primary,
                    MouseButton::Button2 => egui::PointerButton::Secondary,
                    MouseButton::Button3 => egui::PointerButton::Middle,
                    _ => return false,
                };
                let (pos, pressed, modifiers) = (self.pointer, action == Action::Press, self.held);
                waiting.push(egui::Event::PointerButton { pos, button, pressed, modifiers });
            }
            WindowEvent::Scroll(x, y, _) => waiting.push(egui::Event::MouseWheel {
                // The library has made ten points of each notch.
                unit: egui::MouseWheelUnit::Point,
                delta: egui::vec2(x as f32, y as f32),
                phase: egui::TouchPhase::Move,
                modifiers: self.held,
            }),
            WindowEvent::Key(key, action, _) => {
                let pressed = action == Action::Press;
                hold(&mut self.held, key, pressed);
                if let Some(key) = name(key) {
                    let modifiers = self.held;
                    waiting.push(egui::Event::Key { key, physical_key: None, pressed, repeat: false, modifiers });
                }
            }
            // What a command would write goes no further than telling which command it is.
            WindowEvent::Char(written) if self.held.command => {
                let last = waiting.iter_mut().rev().find_map(|event| match event {
                    egui::Event::Key { key, pressed: true, .. } => Some(key),
                    _ => None,
                });
                if let (Some(key), Some(command)) = (last, command(written)) {
                    *key = command;
                }
            }
            WindowEvent::Char(written) => {
                if !written.is_control() {
                    waiting.push(egui::Event::Text(written.to_string()));
                }
            }
            WindowEvent::Focus(false) => {
                // What is let go while another window has the keyboard is not heard of.
                self.held = Modifiers::NONE;
                return false;
            }
            _ => return false,
        }
        true
    }
}

/// Notes a key that changes what others do.
fn hold(held: &mut Modifiers, key: Key, pressed: bool) {
    match key {
        Key::LShift | Key::RShift => held.shift = pressed,
        Key::LAlt | Key::RAlt => held.alt = pressed,
        // On the other systems the command key is ctrl.
        Key::LControl | Key::RControl => {
            held.ctrl = pressed;
            if !cfg!(target_os = "macos") {
                held.command = pressed;
            }
        }
        Key::LWin | Key::RWin if cfg!(target_os = "macos") => {
            held.mac_cmd = pressed;
            held.command = pressed;
        }
        _ => {}
    }
}

/// A key as the panel names it; `None` for one that does nothing there.
fn name(key: Key) -> Option<egui::Key> {
    Some(match key {
        Key::Escape => egui::Key::Escape,
        Key::Tab => egui::Key::Tab,
        Key::Back => egui::Key::Backspace,
        Key::Return | Key::NumpadEnter => egui::Key::Enter,
        Key::Space => egui::Key::Space,
        Key::Insert => egui::Key::Insert,
        Key::Delete => egui::Key::Delete,
        Key::Home => egui::Key::Home,
        Key::End => egui::Key::End,
        Key::PageUp => egui::Key::PageUp,
        Key::PageDown => egui::Key::PageDown,
        Key::Left => egui::Key::ArrowLeft,
        Key::Up => egui::Key::ArrowUp,
        Key::Right => egui::Key::ArrowRight,
        Key::Down => egui::Key::ArrowDown,
        // Both name letters by the letter.
        letter if (Key::A..=Key::Z).contains(&letter) => egui::Key::from_name(&format!("{letter:?}"))?,
        _ => return None,
    })
}

/// The letter of a command: as written, or as the control character that some systems make of it.
fn command(letter: char) -> Option<egui::Key> {
    let letter = match u32::from(letter) {
        place @ 1..=26 => char::from_u32(u32::from('A') + place - 1)?,
        _ => letter.to_ascii_uppercase(),
    };
    letter.is_ascii_uppercase().then(|| egui::Key::from_name(&letter.to_string())).flatten()
}

#[cfg(test)]
mod tests {
    use kiss3d::event::Modifiers as Held;

    use super::*;

    #[test]
    fn letters_are_taken_as_written_or_as_control_characters() {
        assert_eq!(command('z'), Some(egui::Key::Z));
        assert_eq!(command('Z'), Some(egui::Key::Z));
        assert_eq!(command('\u{1a}'), Some(egui::Key::Z));
        assert_eq!(command('\u{1}'), Some(egui::Key::A));
        assert_eq!(command('1'), None);
        assert_eq!(command('\u{e4}'), None);
    }

    /// The events that a panel gets with its next picture.
    fn given(context: &Context) -> Vec<egui::Event> {
        context.begin_pass(egui::RawInput::default());
        let events = context.input(|input| input.events.clone());
        // Nothing is drawn: the letters' picture is not wanted.
        context.end_pass().textures_delta.clear();
        events
    }

    #[test]
    fn what_the_hand_did_comes_with_the_next_picture_and_once() {
        let context = Context::default();
        let mut input = Input::new(&context);
        assert!(input.take(&WindowEvent::CursorPos(200.0, 100.0, Held::empty()), 2.0));
        assert!(input.take(&WindowEvent::MouseButton(MouseButton::Button1, Action::Press, Held::empty()), 2.0));
        assert!(input.take(&WindowEvent::Key(Key::Key4, Action::Press, Held::empty()), 2.0));
        assert!(input.take(&WindowEvent::Char('4'), 2.0));
        assert!(!input.take(&WindowEvent::FramebufferSize(10, 10), 2.0), "not for the panel");
        let pos = Pos2::new(100.0, 50.0);
        let (button, modifiers) = (egui::PointerButton::Primary, Modifiers::NONE);
        assert_eq!(
            given(&context),
            [
                egui::Event::PointerMoved(pos),
                egui::Event::PointerButton { pos, button, pressed: true, modifiers },
                egui::Event::Text("4".into()),
            ]
        );
        assert_eq!(given(&context), []);
    }

    #[test]
    fn a_command_is_the_letter_as_it_is_written_and_writes_nothing() {
        let context = Context::default();
        let mut input = Input::new(&context);
        // On a keyboard that has Z where others have Y.
        input.take(&WindowEvent::Key(Key::LControl, Action::Press, Held::empty()), 1.0);
        input.take(&WindowEvent::Key(Key::Y, Action::Press, Held::empty()), 1.0);
        input.take(&WindowEvent::Char('z'), 1.0);
        let modifiers = Modifiers { ctrl: true, command: !cfg!(target_os = "macos"), ..Modifiers::NONE };
        let key = |key, pressed| egui::Event::Key { key, physical_key: None, pressed, repeat: false, modifiers };
        if !cfg!(target_os = "macos") {
            assert_eq!(given(&context), [key(egui::Key::Z, true)]);
        }
        // Let go while another window had the keyboard.
        input.take(&WindowEvent::Focus(false), 1.0);
        input.take(&WindowEvent::Char('z'), 1.0);
        assert_eq!(given(&context).last(), Some(&egui::Event::Text("z".into())));
    }
}
