//! Commands of the keyboard: a letter with ctrl held.
//!
//! The graphics library knows letters by their place on the keyboard, and ctrl by whether it is down when a picture is begun. So ctrl+Z would
//! be ctrl+Y on some keyboards, and a quick hand would type a letter in place of a command. Here events are taken in their order, and letters as
//! they are written.

use kiss3d::egui::{self, Context};
use kiss3d::event::{Action, Event, Key, WindowEvent};

/// What is held, and the letters that were pressed and let go.
#[derive(Clone, Debug, Default)]
pub struct Keyboard {
    command: bool,
    shift: bool,
    /// Of the events of this picture.
    letters: Vec<Letter>,
    /// Of the events of the picture before, which the fields get with this one.
    before: Vec<Letter>,
}

/// A letter that was pressed or let go.
#[derive(Clone, Copy, Debug)]
struct Letter {
    pressed: bool,
    command: bool,
    shift: bool,
    /// The letter as it is written, where a command tells it.
    written: Option<egui::Key>,
}

impl Keyboard {
    /// Takes an event in its order. What a command would write goes no further.
    pub fn take(&mut self, event: &mut Event<'_>) {
        match event.value {
            WindowEvent::Key(key, action, _) if is_command(key) => self.command = action == Action::Press,
            WindowEvent::Key(Key::LShift | Key::RShift, action, _) => self.shift = action == Action::Press,
            WindowEvent::Key(key, action, _) if (Key::A..=Key::Z).contains(&key) => {
                let (pressed, command, shift) = (action == Action::Press, self.command, self.shift);
                self.letters.push(Letter { pressed, command, shift, written: None });
            }
            WindowEvent::Char(letter) if self.command => {
                event.inhibited = true;
                if let Some(last) = self.letters.iter_mut().rev().find(|letter| letter.pressed) {
                    last.written = command(letter);
                }
            }
            // What is let go while another window has the keyboard is not heard of.
            WindowEvent::Focus(false) => (self.command, self.shift) = (false, false),
            _ => {}
        }
    }

    /// Puts the letters right that the fields are about to get. Once for each picture, before anything is drawn.
    pub fn put_right(&mut self, context: &Context) {
        let before = std::mem::replace(&mut self.before, std::mem::take(&mut self.letters));
        if before.is_empty() {
            return;
        }
        let mut letters = before.into_iter();
        context.input_mut(|input| {
            for event in &mut input.events {
                // Every letter comes here, and in its order: the others in between do not matter.
                if let egui::Event::Key { key, modifiers, .. } = event
                    && (egui::Key::A..=egui::Key::Z).contains(key)
                    && let Some(letter) = letters.next()
                {
                    modifiers.command = letter.command;
                    modifiers.shift = letter.shift;
                    // On the other systems the command key is ctrl.
                    modifiers.ctrl = letter.command && !cfg!(target_os = "macos");
                    *key = letter.written.unwrap_or(*key);
                }
            }
        });
    }
}

const fn is_command(key: Key) -> bool {
    if cfg!(target_os = "macos") {
        matches!(key, Key::LWin | Key::RWin)
    } else {
        matches!(key, Key::LControl | Key::RControl)
    }
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
}
