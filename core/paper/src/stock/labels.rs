//! Labels for the pieces: one for each tube, to be cut out and tied or glued on at end A.
//!
//! Two columns on a page, with lines to cut along. The name stands as large as it fits; what is read at the saw, the length, stands largest below it.

use kurbo::{Rect, Shape as _};
use maud::{DOCTYPE, PreEscaped, html as markup};
use tubewright::round::People;
use tubewright::stock::{CutList, For, Group, Piece};

use super::trim_words;
use crate::draw::{DRAWN, Drawing, Face, Ink, Label, Pen};
use crate::html::faces;
use crate::pdf::Paper;

/// Free edge of a page, mm: what a printer may leave out.
const EDGE: f64 = 12.0;

/// Height of a label, mm; five stand under each other on either paper.
const HIGH: f64 = 50.0;

/// From the cutting line to the words, mm.
const INSIDE: f64 = 4.0;

const COLUMNS: usize = 2;

/// Whole pages of labels: for each piece of the list one, in the order of cutting, those that cannot be cut left out. `job` is the job's name. Empty where
/// nothing is cut.
#[must_use]
pub fn labels(job: &str, list: &CutList, people: &People, paper: Paper) -> Vec<Drawing> {
    let mut all = Vec::new();
    for group in &list.groups {
        for placed in group.bars.iter().flat_map(|bar| &bar.pieces) {
            all.push((group, &group.pieces[placed.piece]));
        }
    }
    let rows = ((paper.height() - 2.0 * EDGE) / HIGH).floor() as usize;
    let wide = (paper.width() - 2.0 * EDGE) / COLUMNS as f64;
    let mut pages = Vec::new();
    for of_page in all.chunks(rows * COLUMNS) {
        let mut page = Drawing::new(format!("Labels of {job}"), paper.width(), paper.height());
        for (place, (group, piece)) in of_page.iter().enumerate() {
            let (column, row) = ((place % COLUMNS) as f64, (place / COLUMNS) as f64);
            let corner = (EDGE + column * wide, EDGE + row * HIGH);
            let cell = Rect::new(corner.0, corner.1, corner.0 + wide, corner.1 + HIGH);
            page.stroke(cell.to_path(DRAWN), Pen::FINE.dashed(2.0, 1.2));
            label(&mut page, cell.inset(-INSIDE), group, piece, &(job, list, people));
        }
        pages.push(page);
    }
    pages
}

fn label(
    page: &mut Drawing,
    cell: Rect,
    group: &Group,
    piece: &Piece,
    (job, list, people): &(&str, &CutList, &People),
) {
    let mut line = |y: f64, words: &str, face: Face, most: f64, ink: Ink| {
        let size = face.fitting(words, most, cell.width());
        page.text(Label::new((cell.x0, cell.y0 + y), words).face(face).size(size).ink(ink));
    };
    // The die's name would make that of a test bend too long to be read from afar.
    let (name, die) = match &piece.is {
        For::Tube => (piece.name.clone(), None),
        For::TestBend { die, number } => (format!("test bend {number}"), Some(format!("die {die}"))),
    };
    line(9.0, &name, Face::Bold, 10.0, Ink::BLACK);
    line(22.0, &people.length_with_unit(piece.length), Face::Bold, 12.0, Ink::BLACK);
    line(28.5, &group.stock.words(people), Face::Book, 4.6, Ink::BLACK);
    let more: Vec<String> = trim_words(piece, people)
        .into_iter()
        .chain(die)
        .chain(piece.pair.as_ref().map(|pair| format!("MIRROR PART of {pair}")))
        .collect();
    if !more.is_empty() {
        line(34.0, &more.join("; "), Face::Bold, 4.2, Ink::BLACK);
    }
    line(
        cell.height() - 0.6,
        &format!("END A at this label; job {job}, files {}", list.fingerprint),
        Face::Book,
        3.6,
        Ink::GREY,
    );
}

/// The same labels as one page for a browser, from which they can be printed.
#[must_use]
pub fn html(job: &str, list: &CutList, people: &People, paper: Paper) -> String {
    let page = format!(
        "@page {{ size: {}mm {}mm; margin: 0; }}\nbody {{ margin: 0; }}\nsvg {{ display: block; break-after: page; }}\n",
        paper.width(),
        paper.height()
    );
    let style = format!("\n{}{page}", faces());
    let pages = labels(job, list, people, paper);
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Labels of " (job) }
                style { (PreEscaped(style)) }
            }
            body {
                @for page in &pages { (PreEscaped(page.svg().replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1))) }
            }
        }
    };
    page.into_string()
}
