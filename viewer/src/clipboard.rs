//! Copy, cut and paste between the fields and other programs: the window itself brings none of it.

use kiss3d::egui::{Context, Event, Key, OutputCommand};

/// The clipboard of the desktop, opened when it is first asked for. Without one, nothing is copied and nothing pasted.
#[derive(Default)]
pub struct Clipboard {
    desktop: Option<arboard::Clipboard>,
}

impl Clipboard {
    /// Turns the keys of copy, cut and paste into what the fields understand. Before anything is drawn.
    pub fn ask(&mut self, context: &Context) {
        let mut wanted = context.input(|input| {
            let pressed = |wanted| {
                let is = |event: &Event| matches!(event, Event::Key { key, pressed: true, modifiers, .. } if *key == wanted && modifiers.command);
                input.events.iter().any(is)
            };
            let mut events = Vec::new();
            if pressed(Key::C) {
                events.push(Event::Copy);
            }
            if pressed(Key::X) {
                events.push(Event::Cut);
            }
            if pressed(Key::V) {
                events.push(Event::Paste(String::new()));
            }
            events
        });
        for event in &mut wanted {
            if let Event::Paste(text) = event {
                *text = self.text();
            }
        }
        // An empty paste would still take away what is selected.
        wanted.retain(|event| !matches!(event, Event::Paste(text) if text.is_empty()));
        if !wanted.is_empty() {
            context.input_mut(|input| input.events.extend(wanted));
        }
    }

    /// Takes what the fields have copied. After all is drawn.
    pub fn take(&mut self, context: &Context) {
        let commands = context.output_mut(|output| std::mem::take(&mut output.commands));
        for command in commands {
            if let OutputCommand::CopyText(text) = command
                && let Some(desktop) = self.open()
            {
                // A clipboard that refuses leaves the text where it is, selected.
                let _ = desktop.set_text(text);
            }
        }
    }

    fn text(&mut self) -> String {
        let text = self.open().and_then(|desktop| desktop.get_text().ok()).unwrap_or_default();
        // Fields have one line.
        text.split(['\r', '\n']).next().unwrap_or_default().to_owned()
    }

    fn open(&mut self) -> Option<&mut arboard::Clipboard> {
        if self.desktop.is_none() {
            self.desktop = arboard::Clipboard::new().ok();
        }
        self.desktop.as_mut()
    }
}
