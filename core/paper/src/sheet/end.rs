//! The last page of a tube: what the finished part is checked by, how the next is mended, and what is to be minded.

use kurbo::{Rect, Shape as _};
use tubewright::round::People;

use super::flow::{Block, Flow};
use super::front::centred;
use super::parts::{BODY, Cell, Column, LARGE, SMALL, head, paragraph, row, space, table};
use super::setting::{self, Weight};
use super::step::fitting;
use super::words::capital;
use crate::card::{Card, Finished, Roundness, Work};
use crate::draw::{DRAWN, Drawing, Face, Label, Pen};

/// The least width of a picture of the finished tube, as a part of the text's.
const SHOWS: f64 = 0.7;

/// Final sizes, hand, tuning and cautions.
pub(super) fn end(
    flow: &mut Flow,
    card: &Card,
    work: &Work,
    people: &People,
    picture: &dyn Fn(f64) -> Drawing,
    width: f64,
    height: f64,
) {
    let cautions = cautions(&work.cautions, width);
    if let Some(finished) = &work.finished {
        let mut block = Block::new(3.0).on_new_page();
        block.push(head(width, "Finished", &format!("sizes in {}", card.units)));
        if !finished.checks.is_empty() {
            let checks = checks(finished, people, width);
            block.slices.extend(checks.head);
            block.slices.extend(checks.slices);
            block.push(space(width, 2.0));
        }
        if let Some(round) = &finished.roundness {
            block.slices.extend(row(width, "ROUND", &capital(&round.words), false));
            let rows = roundness(round, card.units, width);
            block.slices.extend(rows.head);
            block.slices.extend(rows.slices);
            block.push(space(width, 2.0));
        }
        for (place, moment) in finished.says.iter().enumerate() {
            if moment.main {
                block.push(space(width, 2.0));
                block.push(large(&moment.about, &moment.words, width));
            } else {
                block.push(space(width, if place > 0 { 2.0 } else { 0.0 }));
                block.slices.extend(row(width, &moment.about, &moment.words, false));
            }
        }
        let room = height - block.height() - block.after - 3.0;
        let beside = fitting(picture, width, room - cautions.height());
        // Where the cautions leave no room for a picture that shows anything, they have a page of their own.
        let picture = if beside.width < SHOWS * width { fitting(picture, width, room) } else { beside };
        block.push(space(width, 3.0));
        block.push(centred(&picture, width));
        flow.add(&block);
    }
    if !work.cautions.is_empty() {
        flow.add(&cautions);
    }
}

/// What decides whether the part is the right one: a large word, and what it means beside it.
fn large(about: &str, words: &str, width: f64) -> Drawing {
    const WORDS: f64 = 4.6;
    const INSIDE: f64 = 3.0;
    let (size, about) = setting::fitted(about, LARGE, SMALL, width / 3.0);
    let left = Face::Bold.width(&about, size) + 2.5 * INSIDE;
    let lines = setting::set(words, WORDS, width - left - INSIDE, Weight::Figures);
    let high = setting::height(lines.len(), WORDS).max(1.02 * size) + 2.0 * INSIDE;
    let mut drawing = Drawing::new("", width, high + 2.0);
    drawing.stroke(Rect::new(0.4, 0.4, width - 0.4, high - 0.4).to_path(DRAWN), Pen::BOLD);
    drawing.text(Label::new((INSIDE, high / 2.0 + 0.365 * size), about).size(size).bold());
    let top = (high - setting::height(lines.len(), WORDS)) / 2.0;
    setting::draw_all(&mut drawing, &lines, left, top, WORDS);
    drawing
}

fn cautions(cautions: &[&str], width: f64) -> Block {
    let mut block = Block::new(0.0);
    block.push(head(width, "Cautions", ""));
    const INDENT: f64 = 9.0;
    for (place, caution) in cautions.iter().enumerate() {
        for (line, part) in paragraph(width - INDENT, caution, BODY, Weight::Book).into_iter().enumerate() {
            let mut slice = Drawing::new("", width, part.height);
            slice.place(&part, (INDENT, 0.0));
            if line == 0 {
                let number = format!("{}", place + 1);
                slice.text(Label::new((INDENT - 3.0, 0.8 * BODY), number).size(BODY).bold().end());
            }
            block.push(slice);
        }
        block.push(space(width, 0.8));
    }
    block
}

fn checks(finished: &Finished, people: &People, width: f64) -> Block {
    let columns = [
        Column::words("from where to where", width - 94.0),
        Column::figures("size", 30.0).bold(),
        Column::figures("within", 22.0),
        Column::words("got", 42.0),
    ];
    let rows: Vec<Vec<Cell>> = finished
        .checks
        .iter()
        .map(|check| {
            vec![
                Cell::Words(check.faces.clone()),
                Cell::Words(check.printed.clone()),
                Cell::Words(people.length_with_unit(check.within)),
                Cell::Write(people.unit().to_owned()),
            ]
        })
        .collect();
    table(&columns, &rows, BODY, 10.5, 3.0)
}

/// Places to write the two diameters of each bend.
fn roundness(round: &Roundness, unit: &str, width: f64) -> Block {
    let columns = [
        Column::words("where it is flattest", width - 126.0),
        Column::words("smallest, got", 47.0),
        Column::figures("smallest, at least", 32.0).bold(),
        Column::words("largest, got", 47.0),
    ];
    let rows: Vec<Vec<Cell>> = round
        .bends
        .iter()
        .map(|bend| {
            vec![
                Cell::Words(format!("bend {bend}")),
                Cell::Write(unit.to_owned()),
                Cell::Words(round.printed.clone()),
                Cell::Write(unit.to_owned()),
            ]
        })
        .collect();
    table(&columns, &rows, BODY, 9.0, 3.0)
}
