//! Words set into lines: figures bold, and never parted from what belongs to them.
//!
//! A figure is what is looked for on a card, so it stands out of its sentence. `44 1/2 in` on two lines would be read as 44, so a figure keeps its
//! fraction and its unit on its line, and `end A` its letter.

use kurbo::Point;

use crate::draw::{Drawing, Face, Label};

/// From one base line to the next, as a part of the size of the letters.
pub(crate) const LEADING: f64 = 1.36;

/// A box of letters reaches so far over and under the base line, as parts of their size.
const ASCENT: f64 = 0.8;
const DESCENT: f64 = 0.22;

/// How words are set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Weight {
    /// All bold.
    Bold,
    /// Figures and words in capitals bold, all else book.
    Figures,
    /// All book.
    Book,
}

impl Weight {
    /// The parts of a word with their faces: what stands behind a figure is no part of it.
    pub(crate) fn parts(self, word: &str) -> [(Face, &str); 2] {
        match self {
            Self::Bold => [(Face::Bold, word), (Face::Bold, "")],
            Self::Figures if word.chars().any(|letter| letter.is_ascii_digit()) => {
                let figure = word.trim_end_matches(['.', ',', ';', ':', ')']);
                [(Face::Bold, figure), (Face::Book, &word[figure.len()..])]
            }
            Self::Figures if shouted(word) => [(Face::Bold, word), (Face::Bold, "")],
            Self::Figures | Self::Book => [(Face::Book, word), (Face::Book, "")],
        }
    }
}

/// Whether a word is written in capitals to stand out: UP, SWAP.
fn shouted(word: &str) -> bool {
    word.chars().filter(|letter| letter.is_uppercase()).count() >= 2 && !word.chars().any(char::is_lowercase)
}

/// Words of one face on a line, with the blank before them where there is one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Run {
    pub(crate) face: Face,
    pub(crate) words: String,
}

/// One line.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Line(pub(crate) Vec<Run>);

impl Line {
    fn add(&mut self, face: Face, words: &str) {
        if words.is_empty() {
            return;
        }
        match self.0.last_mut() {
            Some(run) if run.face == face => run.words.push_str(words),
            _ => self.0.push(Run { face, words: words.to_owned() }),
        }
    }

    /// Its length with letters of a size, both in mm.
    pub(crate) fn length(&self, size: f64) -> f64 {
        self.0.iter().map(|run| run.face.width(&run.words, size)).sum()
    }
}

/// Whether a word is kept on the line of the one before it.
fn glued(before: &str, word: &str) -> bool {
    const UNITS: [&str; 8] = ["mm", "in", "degrees", "degree", "kg", "N", "ft", "m"];
    const NUMBERED: [&str; 9] = ["end", "leg", "bend", "corner", "mark", "line", "step", "line", "node"];
    let plain = word.trim_end_matches(|letter: char| !letter.is_alphanumeric());
    if before.ends_with(|letter: char| letter.is_ascii_digit()) {
        let fraction = plain.split_once('/').is_some_and(|(over, under)| {
            [over, under].iter().all(|part| !part.is_empty() && part.chars().all(|letter| letter.is_ascii_digit()))
        });
        return fraction || UNITS.contains(&plain);
    }
    let short = plain.chars().count() <= 2
        && plain.chars().all(|letter| letter.is_ascii_digit() || letter.is_ascii_uppercase());
    (before == "N" && plain == "m")
        || (!plain.is_empty() && short && NUMBERED.contains(&before.to_lowercase().as_str()))
}

/// Words in groups that stay on one line.
pub(crate) fn groups(words: &str) -> Vec<Vec<&str>> {
    let mut groups: Vec<Vec<&str>> = Vec::new();
    for word in words.split_whitespace() {
        match groups.last_mut() {
            Some(group) if group.last().is_some_and(|before| glued(before, word)) => group.push(word),
            _ => groups.push(vec![word]),
        }
    }
    groups
}

/// Words in lines no longer than `room`, with letters of a size, both in mm. What is longer than a line is broken between its words, then in them.
pub(crate) fn set(words: &str, size: f64, room: f64, weight: Weight) -> Vec<Line> {
    let mut lines = vec![Line::default()];
    for group in groups(words) {
        if put(&mut lines, &group, size, room, weight) {
            continue;
        }
        for word in group {
            if put(&mut lines, &[word], size, room, weight) {
                continue;
            }
            if lines.last().is_some_and(|line| !line.0.is_empty()) {
                lines.push(Line::default());
            }
            for letter in word.chars() {
                let face = weight.parts(word)[0].0;
                let line = lines.last().map_or(0.0, |line| line.length(size));
                if line > 0.0 && line + face.width(letter.encode_utf8(&mut [0; 4]), size) > room {
                    lines.push(Line::default());
                }
                if let Some(line) = lines.last_mut() {
                    line.add(face, letter.encode_utf8(&mut [0; 4]));
                }
            }
        }
    }
    lines.retain(|line| !line.0.is_empty());
    lines
}

/// Puts a group behind the last line or on a new one; false where it is longer than a line.
fn put(lines: &mut Vec<Line>, group: &[&str], size: f64, room: f64, weight: Weight) -> bool {
    let mut alone = Line::default();
    for (place, word) in group.iter().enumerate() {
        let [(face, figure), (other, behind)] = weight.parts(word);
        alone.add(face, &format!("{}{figure}", if place == 0 { "" } else { " " }));
        alone.add(other, behind);
    }
    if alone.length(size) > room {
        return false;
    }
    if let Some(line) = lines.last_mut() {
        let mut longer = line.clone();
        for (place, run) in alone.0.iter().enumerate() {
            let blank = if place == 0 && !line.0.is_empty() { " " } else { "" };
            longer.add(run.face, &format!("{blank}{}", run.words));
        }
        if longer.length(size) <= room {
            *line = longer;
            return true;
        }
    }
    if lines.last().is_some_and(|line| line.0.is_empty()) {
        lines.pop();
    }
    lines.push(alone);
    true
}

/// Draws a line with its letters' box under `top`.
pub(crate) fn draw(on: &mut Drawing, line: &Line, left: f64, top: f64, size: f64) {
    let mut at = Point::new(left, top + ASCENT * size);
    for run in &line.0 {
        let label = Label::new(at, run.words.as_str()).size(size).face(run.face);
        at.x += label.length();
        on.text(label);
    }
}

/// How high lines are: from the top of the first letters' box to the foot of the last.
pub(crate) fn height(lines: usize, size: f64) -> f64 {
    if lines == 0 { 0.0 } else { ((lines - 1) as f64 * LEADING + ASCENT + DESCENT) * size }
}

/// Draws lines under each other and returns where they end.
pub(crate) fn draw_all(on: &mut Drawing, lines: &[Line], left: f64, top: f64, size: f64) -> f64 {
    for (place, line) in lines.iter().enumerate() {
        draw(on, line, left, top + place as f64 * LEADING * size, size);
    }
    top + height(lines.len(), size)
}

/// One line of bold words as large as fits, at most `most`, at least `least`; what still does not fit is cut off with dots. Returns its size and the words.
pub(crate) fn fitted(words: &str, most: f64, least: f64, room: f64) -> (f64, String) {
    let size = Face::Bold.fitting(words, most, room).max(least);
    if Face::Bold.width(words, size) <= room {
        return (size, words.to_owned());
    }
    let mut short = words.to_owned();
    while !short.is_empty() && Face::Bold.width(&format!("{short}…"), size) > room {
        short.pop();
    }
    (size, format!("{short}…"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(lines: &[Line]) -> Vec<String> {
        lines.iter().map(|line| line.0.iter().map(|run| run.words.as_str()).collect()).collect()
    }

    #[test]
    fn a_figure_keeps_its_fraction_and_its_unit() {
        for room in 8..60 {
            let lines =
                plain(&set("at 26 3/8 in from end A, to the index: 12.5 N m.", 3.0, f64::from(room), Weight::Figures));
            let whole = lines.join("|");
            let joined = whole.replace(['|', ' '], "");
            assert_eq!(joined, "at263/8infromendA,totheindex:12.5Nm.");
            assert!(room < 18 || whole.replace('|', " ") == "at 26 3/8 in from end A, to the index: 12.5 N m.");
            for kept in ["26 3/8 in", "end A,", "12.5 N m."] {
                assert!(room < 18 || whole.contains(kept), "{room}: {whole}");
            }
        }
    }

    #[test]
    fn figures_and_words_in_capitals_stand_out() {
        let lines = set("SWAP it: leg 1, by 30.6 degrees at end A", 3.0, 200.0, Weight::Figures);
        let bold: Vec<&str> =
            lines[0].0.iter().filter(|run| run.face == Face::Bold).map(|run| run.words.trim()).collect();
        assert_eq!(bold, ["SWAP", "1", "30.6"]);
    }

    #[test]
    fn lines_fit_their_room_whatever_the_words() {
        let words = "Averyveryverylongnameofatube at 1234567890 mm and 1 1/2 in, or so.";
        for room in [4.0, 7.0, 11.0, 23.0, 50.0] {
            let lines = set(words, 3.0, room, Weight::Figures);
            assert!(lines.iter().all(|line| line.length(3.0) <= room + 1e-9), "{room}: {lines:?}");
            assert_eq!(plain(&lines).concat().replace(' ', ""), words.replace(' ', ""));
        }
        assert!(set(" ", 3.0, 20.0, Weight::Book).is_empty());
    }

    #[test]
    fn what_does_not_fit_at_the_least_size_is_cut_with_dots() {
        let (size, words) = fitted(&"name ".repeat(40), 8.0, 3.0, 60.0);
        assert!((size - 3.0).abs() < 1e-12 && words.ends_with('…') && Face::Bold.width(&words, size) <= 60.0);
        assert_eq!(fitted("hoop", 8.0, 3.0, 60.0), (8.0, "hoop".to_owned()));
    }
}
