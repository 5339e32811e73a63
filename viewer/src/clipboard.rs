//! Copy, cut and paste between the fields and other programs: the window itself brings none of it.

use kiss3d::egui::{Context, Event, Key, OutputCommand};

/// The clipboard of the desktop, opened when it is first asked for. Without one, nothing is copied and nothing pasted.
#[derive(Default)]
pub struct Clipboard {
    desktop: Option<arboard::Clipboard>,
}

impl Clipboard {
    /// Turns the keys of copy, cut and paste into what the fields understand, each in its place. Before anything is drawn.
    pub fn ask(&mut self, context: &Context) {
        let wanted = |event: &Event| match event {
            Event::Key { key: Key::C, pressed: true, modifiers, .. } if modifiers.command => Some(Event::Copy),
            Event::Key { key: Key::X, pressed: true, modifiers, .. } if modifiers.command => Some(Event::Cut),
            Event::Key { key: Key::V, pressed: true, modifiers, .. } if modifiers.command => {
                Some(Event::Paste(String::new()))
            }
            _ => None,
        };
        let events = context.input(|input| input.events.clone());
        if !events.iter().any(|event| wanted(event).is_some()) {
            return;
        }
        let mut all = Vec::new();
        for event in events {
            let more = wanted(&event);
            all.push(event);
            match more {
                // An empty paste would still take away what is selected.
                Some(Event::Paste(_)) => {
                    all.extend(Some(self.text()).filter(|text| !text.is_empty()).map(Event::Paste));
                }
                more => all.extend(more),
            }
        }
        context.input_mut(|input| input.events = all);
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
