//! The first page of a tube: whether it can be bent, what was assumed, what is measured, cut and marked.

use super::flow::{Block, Flow};
use super::parts::{BODY, Cell, Column, banner, head, paragraph, row, space, table, write_in};
use super::setting::{self, Weight, set};
use super::words::{capital, sentence};
use crate::bars;
use crate::card::{Card, CardNote, Ledger, RuleSet, TubeCard, Work};
use crate::draw::{Drawing, Face, Label, Pen};
use crate::words::{DO_NOT_CUT, LIMITS, MARKING, NOT_KEPT, RULES};

/// Letters of the verdict, of the hand of a pair, and of the cut length, mm.
const VERDICT: f64 = 14.0;
const HAND: f64 = 36.0;
const CUT: f64 = 16.0;

/// How the wrap strip is used.
const WRAP: &str = "Measure a bar: 100 mm or 4 in, else print again. Cut the strip out, its left edge exactly. Seen from end A along the tube: wrap it \
                    around, print outside, lower edge toward you, left edge on the reference line. Where it meets its own thick line, the thick lines \
                    are the top lines.";

/// The hand, the verdict, the reasons, the rules that it breaks, what was assumed, and the shop's own rules.
pub(super) fn verdict(flow: &mut Flow, card: &Card, tube: &TubeCard, width: f64) {
    let mut top = Block::new(2.0).on_new_page();
    if let Some(hand) = &tube.hand {
        top.push(banner(width, hand, HAND, true));
    }
    top.push(banner(width, tube.verdict, VERDICT, tube.work.is_none()));
    let mut about: Vec<String> = tube.tools.iter().map(|tools| capital(tools)).collect();
    about.extend(tube.mirror_of.as_ref().map(|pair| format!("Mirror part of {pair}: not the same part")));
    if !about.is_empty() {
        top.slices.extend(paragraph(width, &format!("{}.", about.join(". ")), BODY, Weight::Book));
    }
    if tube.work.is_none() {
        top.push(space(width, 3.0));
        top.push(banner(width, DO_NOT_CUT, 22.0, true));
    }
    flow.add(&top);
    let sentences = |words: &[String]| -> Vec<String> { words.iter().map(|words| sentence(words)).collect() };
    list(flow, width, "Why not", &sentences(&tube.why_not));
    list(flow, width, "What could help", &sentences(&tube.cures));
    let notes = |notes: &[CardNote]| -> Vec<String> { notes.iter().map(|note| sentence(&note.text)).collect() };
    list(flow, width, NOT_KEPT, &notes(&tube.not_kept));
    list(flow, width, "Assumed, not measured or not looked at", &notes(&tube.notes));
    let rules: Vec<String> = card.rules.iter().flat_map(RuleSet::lines).map(str::to_owned).collect();
    list(flow, width, RULES, &rules);
    if tube.work.is_none() {
        limits(flow, width, tube);
    }
}

/// How the tube stands against the shop's rules.
fn limits(flow: &mut Flow, width: f64, tube: &TubeCard) {
    let says: Vec<String> = tube.fitness.says.iter().map(|words| sentence(words)).collect();
    list(flow, width, LIMITS, &says);
}

fn list(flow: &mut Flow, width: f64, title: &str, items: &[String]) {
    if items.is_empty() {
        return;
    }
    const INDENT: f64 = 5.0;
    let mut block = Block::new(3.0);
    block.push(head(width, title, ""));
    for item in items {
        for (place, part) in paragraph(width - INDENT, item, BODY, Weight::Figures).into_iter().enumerate() {
            let mut slice = Drawing::new("", width, part.height);
            slice.place(&part, (INDENT, 0.0));
            if place == 0 {
                slice.line((0.4, 0.45 * BODY), (2.9, 0.45 * BODY), Pen::LINE.width(0.7));
            }
            block.push(slice);
        }
    }
    flow.add(&block);
}

/// Caliper, cut and marks. `picture` draws the blank with its marks at a width, mm; `strips` are what is wrapped around the tube, at 1:1.
pub(super) fn blank(
    flow: &mut Flow,
    card: &Card,
    tube: &TubeCard,
    work: &Work,
    picture: &dyn Fn(f64) -> Drawing,
    strips: &[Drawing],
    width: f64,
) {
    flow.add(&caliper(work, card, width));
    flow.add(&cut(work, card, width));
    let accuracy = work.accuracy.iter().map(|accuracy| ("Accuracy", &accuracy.words));
    for (about, words) in accuracy.chain(tube.fitness.words.iter().map(|words| ("Wall", words))) {
        // A block of its own: the cut stays on the first page even where this goes over.
        let mut block = Block::new(0.0);
        block.slices.extend(row(width, about, &sentence(words), false));
        flow.add(&block);
    }
    if !work.ends.is_empty() {
        let mut ends = Block::new(3.0);
        ends.push(head(width, "Ends on other tubes", "templates: layout --ends"));
        for end in &work.ends {
            ends.slices.extend(row(width, &end.name(), &end.words.join(" "), false));
        }
        flow.add(&ends);
    }
    limits(flow, width, tube);
    if work.steps.is_empty() {
        return;
    }
    let mut setup = Block::new(3.0);
    setup.push(head(width, "Set up", "before step 1"));
    for moment in &work.setup {
        setup.slices.extend(row(width, &moment.about, &capital(&moment.words), false));
    }
    flow.add(&setup);
    let mut marks = Block::new(3.0);
    marks.push(head(width, "Marks", &format!("lengths in {}", card.units)));
    marks.slices.extend(paragraph(width, &sentence(MARKING), BODY, Weight::Figures));
    marks.push(space(width, 1.5));
    let lines = mark_table(work, card, width);
    marks.slices.extend(lines.head);
    marks.slices.extend(lines.slices);
    marks.push(space(width, 3.0));
    marks.push(centred(&picture(width), width));
    flow.add(&marks);
    if strips.is_empty() {
        return;
    }
    let mut wrap = Block::new(3.0);
    wrap.push(head(width, "Wrap strip", "print at 100 %, never fitted to the page"));
    wrap.slices.extend(paragraph(width, WRAP, BODY, Weight::Figures));
    for strip in strips {
        wrap.push(space(width, 3.0));
        wrap.push(centred(strip, width));
    }
    wrap.push(space(width, 4.0));
    let mut bar = space(width, bars::HEIGHT);
    bars::bars(&mut bar, (0.5, 0.0));
    wrap.push(bar);
    flow.add(&wrap);
}

/// A drawing in the middle of the text.
pub(super) fn centred(picture: &Drawing, width: f64) -> Drawing {
    let mut slice = Drawing::new("", width, picture.height);
    slice.place(picture, ((width - picture.width) / 2.0, 0.0));
    slice
}

fn caliper(work: &Work, card: &Card, width: f64) -> Block {
    let mut block = Block::new(3.0);
    block.push(head(width, "Caliper", "before the saw"));
    let write = 56.0;
    let lines = set(&sentence(&work.caliper.words), BODY, width - write - 8.0, Weight::Figures);
    let mut slice = Drawing::new("", width, setting::height(lines.len(), BODY).max(21.0) + 1.0);
    setting::draw_all(&mut slice, &lines, 0.0, 0.0, BODY);
    write_in(&mut slice, "OD", card.units, width - write, width, 8.0);
    write_in(&mut slice, "wall", card.units, width - write, width, 19.0);
    block.push(slice);
    block
}

fn cut(work: &Work, card: &Card, width: f64) -> Block {
    let mut block = Block::new(3.0);
    block.push(head(width, "Cut", "from end A to end B, square, deburred"));
    let ledger = ledger(&work.ledger, card, 86.0);
    let left = width - 86.0 - 8.0;
    let (size, words) = setting::fitted(&work.ledger.printed, CUT, 6.0, left);
    let lines: Vec<setting::Line> = work.cut.iter().flat_map(|words| set(words, BODY, left, Weight::Figures)).collect();
    let under = 1.02 * size + 1.5;
    let high = (under + setting::height(lines.len(), BODY)).max(ledger.height);
    let mut slice = Drawing::new("", width, high + 2.0);
    slice.text(Label::new((0.0, 0.82 * size), words).size(size).bold());
    setting::draw_all(&mut slice, &lines, 0.0, under, BODY);
    slice.place(&ledger, (width - 86.0, 0.0));
    block.push(slice);
    let weight = work.weight.iter().map(|weight| &weight.words).chain(&work.weight_unknown);
    let weight = weight.map(|words| ("Weight", words));
    let rounding = work.rounding.iter().map(|rounding| ("Rounding", &rounding.words));
    for (about, words) in weight.chain(rounding) {
        block.slices.extend(row(width, about, &sentence(words), false));
    }
    block
}

/// Figures under each other, the total under a line.
fn ledger(ledger: &Ledger, card: &Card, width: f64) -> Drawing {
    let pitch = 1.5 * BODY;
    let last = ledger.lines.len().saturating_sub(1);
    let mut drawing = Drawing::new("", width, pitch * ledger.lines.len() as f64 + 3.0);
    for (place, line) in ledger.lines.iter().enumerate() {
        let total = place == last;
        let base = 0.85 * BODY + pitch * place as f64 + if total { 1.6 } else { 0.0 };
        let face = if total { Face::Bold } else { Face::Book };
        if total && place > 0 {
            let at = base - 1.1 * BODY;
            drawing.line((0.0, at), (width, at), Pen::LINE);
        }
        let figure = format!("{} {}", line.printed, card.units);
        drawing.text(Label::new((0.0, base), line.what).size(BODY).face(face));
        drawing.text(Label::new((width, base), figure).size(BODY).face(face).end());
    }
    drawing
}

fn mark_table(work: &Work, card: &Card, width: f64) -> Block {
    let unit = card.units;
    // Whole millimetres, so that what is left goes to the last column.
    let columns = [
        Column::figures("bend", 18.0).bold(),
        Column::figures("lead end", 24.0),
        Column::figures(format!("mark, {unit}"), 32.0).bold(),
        Column::figures(format!("tail, {unit}"), 32.0),
        Column::figures("top, degrees", 30.0),
        Column::figures(format!("around, {unit}"), 28.0),
        Column::figures("drawn", width - 164.0),
    ];
    let rows: Vec<Vec<Cell>> =
        work.marks.iter().map(|mark| mark.row().into_iter().map(Cell::Words).chain([Cell::Tick]).collect()).collect();
    table(&columns, &rows, 4.6, 8.2, 3.0)
}
