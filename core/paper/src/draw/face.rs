//! The letters: their widths, and how words are broken into lines.
//!
//! Two faces of one open font travel with the program, cut down to Latin, Greek and Cyrillic letters. Words are set without kerning, so the width
//! of a line is the sum of the widths of its letters, on paper and on a screen.

use std::sync::OnceLock;

use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, GlyphId, MetadataProvider};

/// Book or bold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Face {
    /// For reading.
    Book,
    /// For what is read at arm's length.
    Bold,
}

/// What a face is asked for: which letter has which glyph, and how wide it is.
struct Letters {
    charmap: Charmap<'static>,
    metrics: GlyphMetrics<'static>,
    em: f64,
}

impl Face {
    /// The font file.
    #[must_use]
    pub fn file(self) -> &'static [u8] {
        match self {
            Self::Book => include_bytes!("../../fonts/DejaVuSansCondensed.ttf"),
            Self::Bold => include_bytes!("../../fonts/DejaVuSansCondensed-Bold.ttf"),
        }
    }

    /// The font file, pressed for a page on a screen.
    #[must_use]
    pub fn file_for_screen(self) -> &'static [u8] {
        match self {
            Self::Book => include_bytes!("../../fonts/DejaVuSansCondensed.woff2"),
            Self::Bold => include_bytes!("../../fonts/DejaVuSansCondensed-Bold.woff2"),
        }
    }

    fn letters(self) -> &'static Letters {
        static BOOK: OnceLock<Letters> = OnceLock::new();
        static BOLD: OnceLock<Letters> = OnceLock::new();
        let cell = match self {
            Self::Book => &BOOK,
            Self::Bold => &BOLD,
        };
        cell.get_or_init(|| {
            let font = FontRef::new(self.file()).expect("the font files are part of the program");
            let metrics = font.glyph_metrics(Size::unscaled(), LocationRef::default());
            let em = f64::from(font.metrics(Size::unscaled(), LocationRef::default()).units_per_em);
            Letters { charmap: font.charmap(), metrics, em }
        })
    }

    /// The glyph of a letter and its width as a part of an em. A letter that the font lacks has the empty box.
    #[must_use]
    pub(crate) fn glyph(self, letter: char) -> (u32, f64) {
        let letters = self.letters();
        let glyph = letters.charmap.map(letter).unwrap_or(GlyphId::NOTDEF);
        let width = letters.metrics.advance_width(glyph).map_or(0.0, f64::from);
        (glyph.to_u32(), width / letters.em)
    }

    /// The length of a line of words with letters of a size, both in mm.
    #[must_use]
    pub fn width(self, words: &str, size: f64) -> f64 {
        words.chars().map(|letter| self.glyph(letter).1).sum::<f64>() * size
    }

    /// The largest size, at most `most`, at which a line of words is no longer than `room`. All in mm.
    #[must_use]
    pub fn fitting(self, words: &str, most: f64, room: f64) -> f64 {
        let width = self.width(words, 1.0);
        if width * most <= room { most } else { room / width }
    }
}

/// Words broken into lines no longer than `room`, with letters of a size, both in mm. A word that is longer than that is broken.
#[must_use]
pub fn lines(words: &str, face: Face, size: f64, room: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in words.split_whitespace() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if face.width(&longer, size) <= room {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for letter in word.chars() {
            if !line.is_empty() && face.width(&line, size) + face.glyph(letter).1 * size > room {
                lines.push(std::mem::take(&mut line));
            }
            line.push(letter);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_all_as_wide_as_each_other() {
        for face in [Face::Book, Face::Bold] {
            let widths: Vec<f64> = "0123456789".chars().map(|letter| face.glyph(letter).1).collect();
            assert!(widths.iter().all(|width| (width - widths[0]).abs() < 1e-12 && *width > 0.3), "{widths:?}");
        }
    }

    #[test]
    fn every_letter_that_a_page_uses_is_there() {
        for letter in "abcXYZ0189°±×½¼¾⅛→←↑↓↶↷▲▼−≤äøЖ⚠".chars() {
            assert_ne!(Face::Book.glyph(letter).0, 0, "{letter}");
        }
        assert_eq!(Face::Book.glyph('\u{1F600}').0, 0);
    }

    #[test]
    fn lines_keep_every_word_and_fit_the_room() {
        let words = "Clamp, take the slack out by hand, pointer to -1. Averyveryverylongwordthatfitsnoline after it.";
        let broken = lines(words, Face::Book, 3.0, 30.0);
        assert!(broken.iter().all(|line| Face::Book.width(line, 3.0) <= 30.0 + 1e-9), "{broken:?}");
        assert_eq!(broken.concat().replace(' ', ""), words.replace(' ', ""));
        assert!(lines("", Face::Book, 3.0, 30.0).is_empty());
    }

    #[test]
    fn words_that_do_not_fit_are_set_smaller() {
        let size = Face::Bold.fitting("MARK 12", 12.0, 20.0);
        assert!(size < 12.0 && (Face::Bold.width("MARK 12", size) - 20.0).abs() < 1e-9);
        assert!((Face::Bold.fitting("M", 4.0, 20.0) - 4.0).abs() < 1e-12);
    }
}
