//! A DXF file of release 12 (AC1009): plain text that every drawing program reads.
//!
//! Release 12 has no variable for the unit of lengths, so a comment at the head of the file (group 999) says it, and whoever draws says it again in a line of
//! text. Lengths come in millimetres and are written in the unit of the file.
//!
//! Source of the group codes: the drawing interchange format as published for release 12, from memory; every file is audited by a reader of others' making.

use std::fmt::Write as _;

use nalgebra::Point3;
use tubewright::units::{Length, LengthUnit};

/// A layer: its name and the number of its colour.
pub(crate) type Layer<'a> = (&'a str, u8);

/// The entities of a drawing, put down one after the other.
pub(crate) struct File {
    out: String,
    unit: LengthUnit,
    bounds: Option<[Point3<f64>; 2]>,
}

impl File {
    /// An empty drawing for people who read this unit, `mm` or `in`.
    pub(crate) fn new(unit: &str) -> Self {
        let unit = if unit == "in" { LengthUnit::Inch } else { LengthUnit::Mm };
        Self { out: String::new(), unit, bounds: None }
    }

    /// The unit of its lengths, in full.
    pub(crate) const fn unit(&self) -> &'static str {
        if self.unit.is_imperial() { "inches" } else { "millimetres" }
    }

    /// A group: its code and what it says.
    pub(crate) fn pair(&mut self, code: u16, value: &str) {
        let _ = write!(self.out, "{code:>3}\r\n{value}\r\n");
    }

    /// A group that holds a figure.
    pub(crate) fn figure(&mut self, code: u16, value: f64) {
        // No zero with a sign, and always a point: a reader may take a bare integer for one.
        self.pair(code, &format!("{:?}", value + 0.0));
    }

    /// A group that holds a length, mm.
    pub(crate) fn length(&mut self, code: u16, mm: f64) {
        self.figure(code, Length::mm(mm).to(self.unit));
    }

    /// The beginning of an entity.
    pub(crate) fn entity(&mut self, kind: &str, layer: &str) {
        self.pair(0, kind);
        self.pair(8, layer);
    }

    /// A point, mm.
    pub(crate) fn point(&mut self, code: u16, at: &Point3<f64>) {
        self.length(code, at.x);
        self.length(code + 10, at.y);
        self.length(code + 20, at.z);
        self.reach(at);
    }

    /// Lets the drawing's bounds reach a point, mm.
    pub(crate) fn reach(&mut self, at: &Point3<f64>) {
        let [low, high] = self.bounds.unwrap_or([*at; 2]);
        self.bounds = Some([low.inf(at), high.sup(at)]);
    }

    pub(crate) fn line(&mut self, layer: &str, from: &Point3<f64>, to: &Point3<f64>) {
        self.entity("LINE", layer);
        self.point(10, from);
        self.point(11, to);
    }

    /// A line of text in letters of a height, mm, from its lower left corner.
    pub(crate) fn words(&mut self, layer: &str, at: &Point3<f64>, height: f64, words: &str) {
        self.entity("TEXT", layer);
        self.point(10, at);
        self.length(40, height);
        self.pair(1, &encoded(words));
    }

    /// The whole file: head, tables with these layers, and the entities put down so far.
    pub(crate) fn whole(self, layers: &[Layer<'_>]) -> String {
        let mut file = Self { out: String::new(), unit: self.unit, bounds: None };
        file.pair(999, &format!("lengths in {}", self.unit()));
        file.head(self.bounds.unwrap_or([Point3::origin(); 2]));
        file.tables(layers);
        file.section("BLOCKS");
        file.pair(0, "ENDSEC");
        file.section("ENTITIES");
        file.out.push_str(&self.out);
        file.pair(0, "ENDSEC");
        file.pair(0, "EOF");
        file.out
    }

    fn section(&mut self, name: &str) {
        self.pair(0, "SECTION");
        self.pair(2, name);
    }

    fn head(&mut self, bounds: [Point3<f64>; 2]) {
        self.section("HEADER");
        self.pair(9, "$ACADVER");
        self.pair(1, "AC1009");
        for (name, at) in [("$EXTMIN", bounds[0]), ("$EXTMAX", bounds[1])] {
            self.pair(9, name);
            self.point(10, &at);
        }
        self.pair(0, "ENDSEC");
    }

    fn tables(&mut self, layers: &[Layer<'_>]) {
        self.section("TABLES");
        let table = |file: &mut Self, name: &str, entries: usize| {
            file.pair(0, "TABLE");
            file.pair(2, name);
            file.pair(70, &entries.to_string());
        };
        table(self, "LTYPE", 1);
        self.pair(0, "LTYPE");
        self.pair(2, "CONTINUOUS");
        self.pair(70, "0");
        self.pair(3, "Solid line");
        self.pair(72, "65");
        self.pair(73, "0");
        self.figure(40, 0.0);
        self.pair(0, "ENDTAB");
        table(self, "LAYER", layers.len() + 1);
        for (name, colour) in std::iter::once(&("0", 7)).chain(layers) {
            self.pair(0, "LAYER");
            self.pair(2, name);
            self.pair(70, "0");
            self.pair(62, &colour.to_string());
            self.pair(6, "CONTINUOUS");
        }
        self.pair(0, "ENDTAB");
        table(self, "STYLE", 1);
        self.pair(0, "STYLE");
        self.pair(2, "STANDARD");
        self.pair(70, "0");
        self.figure(40, 0.0);
        self.figure(41, 1.0);
        self.figure(50, 0.0);
        self.pair(71, "0");
        self.figure(42, 1.0);
        self.pair(3, "txt");
        self.pair(4, "");
        self.pair(0, "ENDTAB");
        self.pair(0, "ENDSEC");
    }
}

/// Words as release 12 writes them: plain ASCII, all other letters by their numbers, and no letter that begins a code.
fn encoded(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    let mut percents = 0;
    for letter in words.chars() {
        match letter {
            // Two in a row begin a code, and three are one: so each of a row is written as three, the first one too.
            '%' if percents == 1 => out.push_str("%%%%%"),
            '%' if percents > 1 => out.push_str("%%%"),
            '^' => out.push_str("^ "),
            ' '..='~' => out.push(letter),
            _ => {
                let mut units = [0; 2];
                for unit in letter.encode_utf16(&mut units) {
                    let _ = write!(out, "\\U+{unit:04X}");
                }
            }
        }
        percents = if letter == '%' { percents + 1 } else { 0 };
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_plain_ascii() {
        assert_eq!(encoded("hoop 1/2"), "hoop 1/2");
        assert_eq!(encoded("Bügel ½"), "B\\U+00FCgel \\U+00BD");
        assert_eq!(encoded("a^b"), "a^ b");
        assert_eq!(encoded("5 %"), "5 %");
        assert_eq!(encoded("5%%d"), "5%%%%%%d");
    }
}
