//! A drawing: lines, areas and words on a sheet, in mm from its upper left corner, x to the right and y down.
//!
//! Everything that is seen on paper goes through here, so that it is drawn once: [`Drawing::svg`] writes a drawing for a screen, [`pdf`](crate::pdf) one for
//! each page of a file. What is put in later covers what was there before. A drawing is made at the size at which it is printed; it is never
//! scaled, so a line or a letter has the same thickness everywhere.
//!
//! ```
//! use tubewright_paper::draw::{Drawing, Label, Pen};
//! use kurbo::{Circle, Shape};
//!
//! let mut sheet = Drawing::new("A ring", 40.0, 20.0);
//! sheet.stroke(Circle::new((20.0, 10.0), 8.0).to_path(1e-4), Pen::LINE);
//! sheet.text(Label::new((20.0, 11.0), "16 mm").middle());
//! assert!(sheet.svg().contains("16 mm"));
//! ```

mod face;
mod svg;

use kurbo::{Affine, BezPath, Point, Rect, Shape, Vec2};

pub use self::face::{Face, lines};

/// How far a curve that is drawn may lie off the true one, mm.
pub const DRAWN: f64 = 1e-4;

/// A colour: red, green and blue. Chosen so that a black and white printer tells them apart as well.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ink(pub u8, pub u8, pub u8);

impl Ink {
    /// Words and outlines.
    pub const BLACK: Self = Self(0, 0, 0);
    /// The sheet.
    pub const WHITE: Self = Self(255, 255, 255);
    /// Dimension lines and what is said by the way.
    pub const GREY: Self = Self(90, 90, 90);
    /// Lines of a table and of what is far off.
    pub const PALE: Self = Self(185, 185, 185);
    /// The body of a tube.
    pub const TUBE: Self = Self(226, 232, 236);
    /// The bender.
    pub const IRON: Self = Self(205, 200, 190);
    /// Where nobody stands.
    pub const SWEEP: Self = Self(255, 226, 170);
    /// What is to be minded.
    pub const WARN: Self = Self(190, 40, 20);
}

/// How a line is drawn. Lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// Its colour.
    pub ink: Ink,
    /// Its thickness.
    pub width: f64,
    /// Length of a dash and of the gap after it; drawn through where it is `None`.
    pub dash: Option<(f64, f64)>,
    /// Whether its ends are round; else they are cut square.
    pub round: bool,
}

impl Pen {
    /// An outline.
    pub const LINE: Self = Self { ink: Ink::BLACK, width: 0.35, dash: None, round: false };
    /// A dimension line.
    pub const FINE: Self = Self { ink: Ink::GREY, width: 0.2, dash: None, round: false };
    /// A heavy line.
    pub const BOLD: Self = Self { ink: Ink::BLACK, width: 0.8, dash: None, round: false };
    /// What is not there yet.
    pub const NEXT: Self = Self { ink: Ink::BLACK, width: 0.25, dash: Some((1.6, 1.0)), round: false };

    /// In another colour.
    #[must_use]
    pub const fn ink(self, ink: Ink) -> Self {
        Self { ink, ..self }
    }

    /// With another thickness, mm.
    #[must_use]
    pub const fn width(self, width: f64) -> Self {
        Self { width, ..self }
    }

    /// In dashes, mm.
    #[must_use]
    pub const fn dashed(self, dash: f64, gap: f64) -> Self {
        Self { dash: Some((dash, gap)), ..self }
    }

    /// With round ends and corners.
    #[must_use]
    pub const fn round(self) -> Self {
        Self { round: true, ..self }
    }
}

/// Where a label stands to its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// It begins there.
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// One line of words. Lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// The point on its base line.
    pub at: Point,
    /// What it says, on one line.
    pub words: String,
    /// Size of the letters: an em. A figure is 0.73 of it high.
    pub size: f64,
    /// Book or bold.
    pub face: Face,
    /// Where it stands to its point.
    pub anchor: Anchor,
    /// Its colour.
    pub ink: Ink,
    /// Turned about its point by so many quarter turns clockwise.
    pub quarter_turns: u8,
}

impl Label {
    /// Black words of 3 mm that begin at a point.
    pub fn new(at: impl Into<Point>, words: impl Into<String>) -> Self {
        Self {
            at: at.into(),
            words: words.into(),
            size: 3.0,
            face: Face::Book,
            anchor: Anchor::Start,
            ink: Ink::BLACK,
            quarter_turns: 0,
        }
    }

    /// With letters of another size, mm.
    #[must_use]
    pub fn size(self, size: f64) -> Self {
        Self { size, ..self }
    }

    /// Bold.
    #[must_use]
    pub fn bold(self) -> Self {
        Self { face: Face::Bold, ..self }
    }

    /// Book or bold.
    #[must_use]
    pub fn face(self, face: Face) -> Self {
        Self { face, ..self }
    }

    /// With its middle at its point.
    #[must_use]
    pub fn middle(self) -> Self {
        Self { anchor: Anchor::Middle, ..self }
    }

    /// With its end at its point.
    #[must_use]
    pub fn end(self) -> Self {
        Self { anchor: Anchor::End, ..self }
    }

    /// In another colour.
    #[must_use]
    pub fn ink(self, ink: Ink) -> Self {
        Self { ink, ..self }
    }

    /// Turned about its point by so many quarter turns clockwise.
    #[must_use]
    pub fn quarter_turns(self, quarter_turns: u8) -> Self {
        Self { quarter_turns: quarter_turns % 4, ..self }
    }

    /// Its length along the base line, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.face.width(&self.words, self.size)
    }

    /// The box that its letters fill: from the top of a capital with an accent to the foot of a g.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        let lying = Rect::new(self.start(), -0.8 * self.size, self.start() + self.length(), 0.22 * self.size);
        (self.place() * lying.to_path(DRAWN)).bounding_box()
    }

    /// Where along the base line it begins.
    pub(crate) fn start(&self) -> f64 {
        match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -self.length() / 2.0,
            Anchor::End => -self.length(),
        }
    }

    /// From its own frame, base line along x and its point at the origin, to the drawing's. Exact: the turns are whole quarters.
    pub(crate) fn place(&self) -> Affine {
        let turned = match self.quarter_turns {
            0 => [1.0, 0.0, 0.0, 1.0],
            1 => [0.0, 1.0, -1.0, 0.0],
            2 => [-1.0, 0.0, 0.0, -1.0],
            _ => [0.0, -1.0, 1.0, 0.0],
        };
        let [a, b, c, d] = turned;
        Affine::new([a, b, c, d, self.at.x, self.at.y])
    }
}

/// One thing that is drawn.
#[derive(Clone, Debug)]
pub enum Item {
    /// A path with an area, a line, or both.
    Path {
        /// Its shape.
        path: BezPath,
        /// The colour of its area.
        fill: Option<Ink>,
        /// Its line.
        pen: Option<Pen>,
    },
    /// A line of words.
    Text(Label),
    /// Another drawing, of which only what lies in a window is seen.
    Window {
        /// What is seen, in the frame of the drawing that this item is part of.
        window: Rect,
        /// How far the other drawing's origin is moved.
        by: Vec2,
        /// What is drawn, in the other drawing's frame.
        items: Vec<Item>,
    },
}

/// Lines, areas and words on a sheet.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// What it shows, for somebody who cannot see it.
    pub title: String,
    /// Its width, mm.
    pub width: f64,
    /// Its height, mm.
    pub height: f64,
    /// What is drawn, the first one first.
    pub items: Vec<Item>,
}

impl Drawing {
    /// An empty sheet, lengths in mm.
    pub fn new(title: impl Into<String>, width: f64, height: f64) -> Self {
        Self { title: title.into(), width, height, items: Vec::new() }
    }

    /// Adds an area.
    pub fn fill(&mut self, path: BezPath, ink: Ink) {
        self.items.push(Item::Path { path, fill: Some(ink), pen: None });
    }

    /// Adds a line.
    pub fn stroke(&mut self, path: BezPath, pen: Pen) {
        self.items.push(Item::Path { path, fill: None, pen: Some(pen) });
    }

    /// Adds an area with its outline.
    pub fn shape(&mut self, path: BezPath, ink: Ink, pen: Pen) {
        self.items.push(Item::Path { path, fill: Some(ink), pen: Some(pen) });
    }

    /// Adds a straight line.
    pub fn line(&mut self, from: impl Into<Point>, to: impl Into<Point>, pen: Pen) {
        self.stroke(kurbo::Line::new(from, to).to_path(DRAWN), pen);
    }

    /// Adds a line of words.
    pub fn text(&mut self, label: Label) {
        self.items.push(Item::Text(label));
    }

    /// Puts another drawing with its upper left corner at a point.
    pub fn place(&mut self, other: &Self, at: impl Into<Point>) {
        let by = at.into().to_vec2();
        self.items.extend(other.items.iter().map(|item| moved(item, by)));
    }

    /// Puts another drawing with its upper left corner at a point, and shows only what lies in a window of this one.
    pub fn place_in_window(&mut self, other: &Self, at: impl Into<Point>, window: Rect) {
        self.items.push(Item::Window { window, by: at.into().to_vec2(), items: other.items.clone() });
    }

    /// Its labels, each with the box that its letters fill. What a window hides is left out.
    #[must_use]
    pub fn labels(&self) -> Vec<(&Label, Rect)> {
        let mut found = Vec::new();
        labels(&self.items, Vec2::ZERO, None, &mut found);
        found
    }

    /// The first two labels that lie on each other, if any do.
    #[must_use]
    pub fn overlap(&self) -> Option<(&Label, &Label)> {
        let labels = self.labels();
        labels.iter().enumerate().find_map(|(place, (one, bounds))| {
            let other = labels[..place].iter().find(|(_, other)| bounds.intersect(*other).area() > 1e-6)?;
            Some((other.0, *one))
        })
    }

    /// The first label that reaches over the edge of the sheet, if one does.
    #[must_use]
    pub fn clipped(&self) -> Option<&Label> {
        let sheet = Rect::new(0.0, 0.0, self.width, self.height);
        self.labels().into_iter().find(|(_, bounds)| !sheet.contains_rect(*bounds)).map(|(label, _)| label)
    }
}

fn moved(item: &Item, by: Vec2) -> Item {
    match item {
        Item::Path { path, fill, pen } => Item::Path { path: Affine::translate(by) * path, fill: *fill, pen: *pen },
        Item::Text(label) => Item::Text(Label { at: label.at + by, ..label.clone() }),
        Item::Window { window, by: inner, items } => {
            Item::Window { window: *window + by, by: *inner + by, items: items.clone() }
        }
    }
}

fn labels<'a>(items: &'a [Item], by: Vec2, seen: Option<Rect>, found: &mut Vec<(&'a Label, Rect)>) {
    for item in items {
        match item {
            Item::Path { .. } => {}
            Item::Text(label) => {
                let bounds = label.bounds() + by;
                if seen.is_none_or(|seen| bounds.overlaps(seen)) {
                    found.push((label, bounds));
                }
            }
            Item::Window { window, by: inner, items } => {
                let window = *window + by;
                let seen = seen.map_or(window, |seen| seen.intersect(window));
                labels(items, by + *inner, Some(seen), found);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_turned_by_a_quarter_reads_downward() {
        let label = Label::new((10.0, 20.0), "12").size(4.0).quarter_turns(1);
        let bounds = label.bounds();
        assert!((bounds.y0 - 20.0).abs() < 1e-12 && (bounds.y1 - 20.0 - label.length()).abs() < 1e-12);
        assert!((bounds.x1 - 13.2).abs() < 1e-12, "{bounds:?}");
    }

    #[test]
    fn labels_on_each_other_and_over_the_edge_are_found() {
        let mut sheet = Drawing::new("", 40.0, 20.0);
        sheet.text(Label::new((5.0, 10.0), "one"));
        assert!(sheet.overlap().is_none() && sheet.clipped().is_none());
        sheet.text(Label::new((8.0, 11.0), "other"));
        assert!(sheet.overlap().is_some());
        sheet.text(Label::new((39.0, 18.0), "beyond"));
        assert_eq!(sheet.clipped().map(|label| label.words.as_str()), Some("beyond"));
    }

    #[test]
    fn a_window_hides_what_lies_outside() {
        let mut inner = Drawing::new("", 100.0, 100.0);
        inner.text(Label::new((5.0, 10.0), "seen"));
        inner.text(Label::new((80.0, 90.0), "hidden"));
        let mut sheet = Drawing::new("", 40.0, 20.0);
        sheet.place_in_window(&inner, (1.0, 2.0), Rect::new(0.0, 0.0, 40.0, 20.0));
        let labels = sheet.labels();
        assert_eq!(labels.len(), 1);
        assert!((labels[0].1.x0 - 6.0).abs() < 1e-12);
    }
}
