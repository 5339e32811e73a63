//! The step card on paper: a [`Card`] laid out on A4 or Letter.
//!
//! Each tube has sheets of its own, so that the two of a mirrored pair are never on one. On its first page: whether it can be bent and what was assumed, the
//! caliper, the cut, the marks. Then one page for each step, with what is read at arm's length in three panels: END and MARK, UP or DOWN, STOP; under them
//! the picture and one row for each moment of the hands. On the last page what the finished tube is checked by, and the cautions.
//!
//! Everything stands on one grid: text from margin to margin, what a row is about in a column at its left. Black on white, lines and bold letters
//! instead of colours. Letters are at least 2.8 mm, and nothing is nearer than 12 mm to an edge of the paper.

mod end;
mod flow;
mod front;
mod parts;
pub(crate) mod setting;
mod step;
pub(crate) mod words;

use kurbo::{Rect, Shape as _};

use crate::card::{Card, TubeCard};
use crate::draw::{DRAWN, Drawing, Face, Ink, Label, Pen};
use crate::pdf::Paper;
use crate::words::Words;
use crate::{picture, strip};

use self::flow::Flow;
use self::parts::SMALL;

/// From the edge of the paper to the text at its sides, mm.
const SIDE: f64 = 14.0;

/// From the upper edge of the paper to the text under the header, and from the lower one to the text over the footer, mm.
const OVER: f64 = 24.0;
const UNDER: f64 = 22.0;

/// The pages of a card. `words` are those that the card was made from, one for each of its tubes, in the same order.
///
/// # Panics
/// Where there are not as many `words` as tubes.
#[must_use]
pub fn sheets(card: &Card, words: &[Words<'_>], paper: Paper) -> Vec<Drawing> {
    assert_eq!(card.tubes.len(), words.len(), "words for each tube of the card");
    let texts: Vec<(&TubeCard, Drawing)> = card
        .tubes
        .iter()
        .zip(words)
        .flat_map(|(tube, words)| text(card, tube, words, paper).into_iter().map(move |page| (tube, page)))
        .collect();
    let count = texts.len();
    texts.iter().enumerate().map(|(place, (tube, text))| page(card, tube, text, paper, place + 1, count)).collect()
}

/// What stands between header and footer, page by page.
fn text(card: &Card, tube: &TubeCard, words: &Words<'_>, paper: Paper) -> Vec<Drawing> {
    let (width, height) = (paper.width() - 2.0 * SIDE, paper.height() - OVER - UNDER);
    let mut flow = Flow::new(tube.name.as_str(), width, height);
    front::verdict(&mut flow, card, tube, width);
    if let Some(work) = &tube.work {
        let strips = strip::strip(words, paper);
        front::blank(&mut flow, card, tube, work, &|width| picture::blank(words, width), &strips, width);
        for step in &work.steps {
            let picture = |width: f64, height: f64| picture::step_within(words, step.step, width, height);
            flow.add(&step::block(card, step, &picture, width, height));
        }
        end::end(&mut flow, card, work, words.people, &|width| picture::finished(words, width), width, height);
    }
    flow.pages()
}

fn page(card: &Card, tube: &TubeCard, text: &Drawing, paper: Paper, number: usize, count: usize) -> Drawing {
    let (width, height) = (paper.width(), paper.height());
    let title = format!("{}, page {number} of {count}", tube.name);
    let mut page = Drawing::new(title, width, height);
    header(&mut page, tube);
    page.place(text, (SIDE, OVER));
    footer(&mut page, card, number, count);
    page
}

fn header(page: &mut Drawing, tube: &TubeCard) {
    let (left, right, base) = (SIDE, page.width - SIDE, 18.5);
    let hand = tube.hand.as_ref().map(|hand| setting::fitted(hand, 7.0, SMALL, (right - left) / 3.0));
    let long = hand.as_ref().map_or(0.0, |(size, hand)| Face::Bold.width(hand, *size) + 8.0);
    let (size, name) = setting::fitted(&tube.name, 6.0, SMALL, right - left - long);
    page.text(Label::new((left, base), name).size(size).bold());
    if let Some((size, hand)) = hand {
        // The hand goes along on every page: a sheet that is picked up alone still tells which part it is for.
        let badge = Rect::new(right - long + 4.0, 12.2, right, 21.0);
        page.fill(badge.to_path(DRAWN), Ink::BLACK);
        let middle = badge.center().y + 0.365 * size;
        page.text(Label::new((right - 2.0, middle), hand).size(size).bold().end().ink(Ink::WHITE));
    }
}

fn footer(page: &mut Drawing, card: &Card, number: usize, count: usize) {
    let (left, right, base) = (SIDE, page.width - SIDE, page.height - 13.5);
    page.line((left, base - 5.0), (right, base - 5.0), Pen::LINE.width(0.4));
    let pages = format!("page {number} of {count}");
    let long = Face::Bold.width(&pages, SMALL);
    page.text(Label::new((right, base), pages).size(SMALL).bold().end());
    let files = format!("files {}", card.fingerprint);
    let at = right - long - 8.0;
    page.text(Label::new((at, base), files.as_str()).size(SMALL).end());
    let mut room = at - Face::Book.width(&files, SMALL) - 8.0 - left;
    match &card.date {
        Some(date) => {
            let date = format!("date {date}");
            let (size, date) = cut_off(&date, room / 2.0);
            let at = left + room;
            room -= Face::Book.width(&date, size) + 8.0;
            page.text(Label::new((at, base), date).size(size).end());
        }
        None => {
            let (line, word) = (34.0, Face::Book.width("date ", SMALL));
            let at = left + room;
            page.text(Label::new((at - line, base), "date").size(SMALL).end());
            page.line((at - line + 1.5, base + 0.5), (at, base + 0.5), Pen::LINE);
            room -= line + word + 8.0;
        }
    }
    let (size, job) = cut_off(&format!("job {}", card.job), room);
    page.text(Label::new((left, base), job).size(size));
}

/// Small book letters, cut off with dots where they do not fit.
fn cut_off(words: &str, room: f64) -> (f64, String) {
    let mut short = words.to_owned();
    if Face::Book.width(words, SMALL) <= room {
        return (SMALL, short);
    }
    while !short.is_empty() && Face::Book.width(&format!("{short}…"), SMALL) > room {
        short.pop();
    }
    (SMALL, format!("{short}…"))
}
