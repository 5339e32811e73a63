//! A bender measured with a tape, on paper: the sheet to be filled in at the bender, and the drawing of what was made of it, for a yes or no.
//!
//! Both are drawn by the same code. A letter names a part, a number the size of it, in the drawing and in the table alike.

mod words;

use tubewright::bender::sizes::{Measure, Sizes, Stance, Taped, TubeLine, Way};
use tubewright::bender::{BendMotion, Hand};
use tubewright::round::{Fraction, MmStep, People, Units};

use self::words::{CAUTION, HOW, ROWS, Row};
use crate::draw::{Drawing, Face, Ink, Label, Pen, lines};
use crate::pdf::Paper;
use crate::picture::{Scene, taped};

/// Free edge of a page, mm.
const EDGE: f64 = 12.0;

/// Height of a row of the table, mm.
const HIGH: f64 = 14.2;

/// Size of the words of the table, mm.
const SMALL: f64 = 2.8;

/// The sheet to be filled in: what to measure and how, with sketches of a bender whose sizes are an example, then the table.
#[must_use]
pub fn sheet(example: &Sizes, paper: Paper) -> Vec<Drawing> {
    let letters = |measure: &Measure| measure.id();
    let mut first = Page::new("SIZES OF A BENDER", "to be taken with a tape; the sketch is an example", paper);
    first.says(CAUTION, true);
    for how in HOW {
        first.says(how, false);
    }
    let room = first.left();
    first.view(example, Scene::Main, 0.55 * room, &letters);
    let room = first.left();
    first.view(example, Scene::Side, room, &letters);
    let mut second = Page::new(
        "SIZES OF A BENDER",
        "write in mm or inches, one of them throughout; then into the file of the same name",
        paper,
    );
    second.says("Bender: ____________________   Date: ____________   Units:  [ ] mm  [ ] in", false);
    second.says("Hand, seen from above:  [ ] anticlockwise  [ ] clockwise      Motion:  [ ] the die turns  [ ] the follower goes around it", false);
    second.says("Die's name: ____________________      Bend plane:  [ ] flat over the floor  [ ] upright", false);
    second.says("Upright, then up is the  [ ] far side  [ ] tube side  [ ] ahead  [ ] behind", false);
    second.table(&|_, _| Some(String::new()), &|_| false);
    let mut third = Page::new("SIZES OF A BENDER", "what stands around it; the sketch is an example", paper);
    let room = third.left();
    third.view(example, Scene::Around, room, &letters);
    vec![first.drawing, second.drawing, third.drawing]
}

/// The drawing of a bender as its sizes say, with all of them; `source` is the name of the file that they stand in.
#[must_use]
pub fn made(sizes: &Sizes, source: &str, paper: Paper) -> Vec<Drawing> {
    let people = people(sizes);
    let figures = |measure: &Measure| format!("{} {}", measure.id(), figure(measure, &people));
    let name = sizes.name.as_deref().unwrap_or("A bender");
    let about = format!("{name}, as the sizes in {source} say");
    let unit = if sizes.units.is_imperial() { "inches" } else { "mm" };
    let mut first = Page::new("IS THIS YOUR BENDER?", &about, paper);
    first.says(CAUTION, true);
    first.says(
        &format!(
            "Go through every letter with the tape. [ ] Yes: plan with it.   [ ] No: change {source} and make it again."
        ),
        false,
    );
    first.says(&format!("{} Sizes in {unit}, rounded to what a tape shows.", hand(sizes)), false);
    let room = first.left();
    first.view(sizes, Scene::Main, 0.58 * room, &figures);
    let room = first.left();
    first.view(sizes, Scene::Side, room, &figures);
    let mut second = Page::new("IS THIS YOUR BENDER?", &about, paper);
    let measures = sizes.measures();
    let given = |row: &Row, key: &str| {
        let found = measures.iter().find(|measure| measure.part == row.key && measure.key == key);
        found.map(|measure| figure(measure, &people)).or_else(|| said(sizes, row.key, key))
    };
    let is_given = |row: &Row| measures.iter().any(|measure| measure.part == row.key);
    second.table(&given, &|row| !is_given(row));
    let mut pages = vec![first.drawing, second.drawing];
    if sizes.parts.iter().any(|part| part.kind.is_around()) {
        let mut third = Page::new("IS THIS YOUR BENDER?", &format!("{about}: what stands around it"), paper);
        let room = third.left();
        third.view(sizes, Scene::Around, room, &figures);
        pages.push(third.drawing);
    }
    pages
}

/// How the sizes are printed: as finely as a tape shows them.
fn people(sizes: &Sizes) -> People {
    let inch = sizes.units.is_imperial();
    People { units: if inch { Units::Inch(Fraction::SixtyFourths) } else { Units::Mm(MmStep::Tenth) } }
}

/// A size without its unit; diameters and radii of tubes are not whole fractions of an inch.
fn figure(measure: &Measure, people: &People) -> String {
    match (measure.key, people.units) {
        ("od" | "clr", Units::Inch(_)) => people.figure(measure.length).trim_end_matches(" in").to_owned(),
        _ => people.length(measure.length),
    }
}

/// What is no length.
fn said(sizes: &Sizes, part: &str, key: &str) -> Option<String> {
    match (part, key, sizes.stance) {
        ("floor", "measured", Stance::Flat { measured, .. }) => Some(
            match measured {
                TubeLine::Top => "top",
                TubeLine::Centre => "centre",
                TubeLine::Underside => "underside",
            }
            .to_owned(),
        ),
        ("die", "max_angle", _) => Some(People::mm().angle_with_unit(sizes.die.max_angle)),
        ("handle", "points", _) => sizes.parts.iter().find_map(|part| match part.taped {
            Taped::Rod { points, .. } => Some(points.key().to_owned()),
            _ => None,
        }),
        _ => None,
    }
}

/// Which way it bends, as the arrow shows.
fn hand(sizes: &Sizes) -> String {
    let hand = match sizes.hand {
        Hand::Anticlockwise => "anticlockwise",
        Hand::Clockwise => "clockwise",
    };
    let from = match sizes.stance {
        Stance::Flat { .. } => "from above",
        Stance::Upright { .. } => "from the operator's side",
    };
    let moves = match sizes.motion {
        BendMotion::DieTurns => "the die turns",
        BendMotion::DieStands => "the follower goes around the die",
    };
    format!("Seen {from} the clamped end goes {hand}, as the arrow in the die shows; {moves}.")
}

/// A way as a caption says it.
const fn way(way: Way) -> &'static str {
    match way {
        Way::Ahead => "ahead",
        Way::Behind => "behind",
        Way::TubeSide => "the tube's side",
        Way::FarSide => "the far side",
        Way::Over => "over the tube",
        Way::Under => "under the tube",
    }
}

/// A page that is filled from the top.
struct Page {
    drawing: Drawing,
    down: f64,
}

impl Page {
    fn new(title: &str, about: &str, paper: Paper) -> Self {
        let mut drawing = Drawing::new(title, paper.width(), paper.height());
        let room = paper.width() - 2.0 * EDGE;
        drawing.text(Label::new((EDGE, EDGE + 5.0), title).bold().size(7.0));
        let size = Face::Book.fitting(about, 3.4, room);
        drawing.text(Label::new((EDGE, EDGE + 10.5), about).size(size).ink(Ink::GREY));
        Self { drawing, down: EDGE + 13.0 }
    }

    /// What is left of the page, mm.
    fn left(&self) -> f64 {
        self.drawing.height - EDGE - self.down
    }

    fn says(&mut self, words: &str, warns: bool) {
        let (face, size, ink) = if warns { (Face::Bold, 3.8, Ink::WARN) } else { (Face::Book, 3.2, Ink::BLACK) };
        for line in lines(words, face, size, self.drawing.width - 2.0 * EDGE) {
            self.down += 1.32 * size;
            self.drawing.text(Label::new((EDGE, self.down), line).face(face).size(size).ink(ink));
        }
        self.down += 0.8;
    }

    /// A view with its caption, at most so high, mm.
    fn view(&mut self, sizes: &Sizes, scene: Scene, most: f64, words: &dyn Fn(&Measure) -> String) {
        let room = self.drawing.width - 2.0 * EDGE;
        let caption = 7.0;
        let seen = taped(sizes, scene, (room, most - caption), words);
        let (right, up) = seen.ways;
        let upright = matches!(sizes.stance, Stance::Upright { .. });
        let from = match scene {
            Scene::Main if upright => "From the operator's side",
            Scene::Main | Scene::Around => "From above",
            Scene::Side if upright => "Along the bend plane",
            Scene::Side => "From the side",
        };
        let caption =
            format!("{from}, 1 : {}. To the right: {}. Up on the sheet: {}.", seen.scale, way(right), way(up));
        self.down += 5.0;
        self.drawing.text(Label::new((EDGE, self.down), caption).bold().size(3.2));
        self.down += 2.0;
        self.drawing.place(&seen.drawing, (EDGE, self.down));
        self.down += seen.drawing.height;
    }

    /// A row for each part: what stands in a cell is what `figure` gives for it, nothing where that is `None`.
    fn table(&mut self, figure: &dyn Fn(&Row, &str) -> Option<String>, absent: &dyn Fn(&Row) -> bool) {
        let room = self.drawing.width - 2.0 * EDGE;
        for row in &ROWS {
            let top = self.down;
            self.drawing.line((EDGE, top), (EDGE + room, top), Pen::FINE.ink(Ink::PALE));
            let (down, size) = if absent(row) { (5.0, 4.5) } else { (9.0, 6.0) };
            let letter = Label::new((EDGE + 3.0, top + down), row.letter.to_string()).bold().size(size).middle();
            self.drawing.text(letter);
            let left = EDGE + 9.0;
            let name = Label::new((left, top + 4.3), row.key).bold().size(3.4);
            let says_at = left + name.length() + 2.0;
            self.drawing.text(name);
            if absent(row) {
                self.drawing
                    .text(Label::new((says_at, top + 4.3), "not given: not there for a plan").size(3.2).ink(Ink::WARN));
                self.down += 0.5 * HIGH;
                continue;
            }
            let size = Face::Book.fitting(row.says, SMALL, EDGE + room - says_at);
            self.drawing.text(Label::new((says_at, top + 4.3), row.says).size(size).ink(Ink::GREY));
            let wide = (EDGE + room - left) / 7.0;
            for (place, (number, key)) in row.sizes.iter().enumerate() {
                let Some(figure) = figure(row, key) else { continue };
                let at = left + wide * place as f64;
                let id = format!("{}{number} {}", row.letter, key.replace('_', " "));
                let size = Face::Book.fitting(&id, SMALL, wide - 2.0);
                self.drawing.text(Label::new((at, top + 8.1), id).size(size));
                if figure.is_empty() {
                    self.drawing.line((at, top + 13.0), (at + wide - 3.0, top + 13.0), Pen::FINE);
                } else {
                    self.drawing.text(Label::new((at, top + 12.6), figure).bold().size(3.6));
                }
            }
            self.down += HIGH;
        }
        self.drawing.line((EDGE, self.down), (EDGE + room, self.down), Pen::FINE.ink(Ink::PALE));
    }
}
