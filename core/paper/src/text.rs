//! The card as plain text of 80 columns, for a terminal or a plain printer.
//!
//! Verdict, rules that are broken and assumptions first, then caliper, cut and marks, then the steps in the order of the hands, then the checks, of one
//! tube after another; the cautions of all of them once, at the end. What is read at arm's
//! length has `>>` at the margin: END and MARK, UP or DOWN, STOP, in this order.

use crate::card::{Card, Check, Finished, MarkLine, RuleSet, StepCard, TubeCard, Work};
use crate::page::{BLANK, WIDTH, rule, table, title, wrapped};
use crate::words::{DO_NOT_CUT, MARKING, Moment};

/// The whole card.
#[must_use]
pub fn text(card: &Card) -> String {
    let mut out = String::new();
    for tube in &card.tubes {
        head(&mut out, card, tube);
        match &tube.work {
            Some(work) => self::work(&mut out, card, tube, work),
            None => {
                framed(&mut out, DO_NOT_CUT);
                out.push('\n');
            }
        }
    }
    let cautions = card.cautions();
    if !cautions.is_empty() {
        title(&mut out, "Cautions");
        for (place, caution) in cautions.iter().enumerate() {
            wrapped(&mut out, &format!("   {:>2}  ", place + 1), caution);
        }
        out.push('\n');
    }
    out
}

fn head(out: &mut String, card: &Card, tube: &TubeCard) {
    rule(out);
    let date = card.date.as_deref().unwrap_or(BLANK);
    wrapped(
        out,
        "",
        &format!("STEP CARD: job {}, date {date}, fingerprint of the files {}", card.job, card.fingerprint),
    );
    if let Some(hand) = &tube.hand {
        framed(out, hand);
    }
    wrapped(out, "", &format!("{}: {}", tube.name, tube.verdict));
    let mut about: Vec<String> = tube.tools.iter().cloned().collect();
    about.extend(tube.mirror_of.as_ref().map(|pair| format!("MIRROR PART of {pair}, not the same part")));
    if !about.is_empty() {
        wrapped(out, "", &about.join(", "));
    }
    rule(out);
    for why in &tube.why_not {
        wrapped(out, "Why not   ", why);
    }
    for cure in &tube.cures {
        wrapped(out, "Could help: ", &format!("{cure}."));
    }
    for (place, note) in tube.not_kept.iter().enumerate() {
        wrapped(out, if place == 0 { "Not kept  " } else { "          " }, &note.text);
    }
    for note in &tube.notes {
        wrapped(out, "Note      ", &note.text);
    }
    let says = tube.fitness.says.iter().map(String::as_str);
    for (place, line) in card.rules.iter().flat_map(RuleSet::lines).chain(says).enumerate() {
        wrapped(out, if place == 0 { "Rules     " } else { "          " }, line);
    }
    if !(tube.why_not.is_empty() && tube.not_kept.is_empty() && tube.notes.is_empty() && card.rules.is_none()) {
        out.push('\n');
    }
}

/// A word that is read from across the shop: spaced letters in a frame.
fn framed(out: &mut String, word: &str) {
    let edge = format!("+{}+\n", "-".repeat(WIDTH - 2));
    let inside = format!("|{}|\n", " ".repeat(WIDTH - 2));
    let letters: Vec<String> = word.chars().map(String::from).collect();
    let spaced = letters.join(" ");
    let word = if spaced.chars().count() <= WIDTH - 2 { spaced.as_str() } else { word };
    out.push_str(&edge);
    out.push_str(&inside);
    let width = WIDTH - 2;
    out.push_str(&format!("|{word:^width$}|\n"));
    out.push_str(&inside);
    out.push_str(&edge);
}

fn work(out: &mut String, card: &Card, tube: &TubeCard, work: &Work) {
    wrapped(out, "Caliper   ", &work.caliper.words);
    wrapped(out, "          ", &format!("Measured: OD {BLANK} wall {BLANK}"));
    out.push('\n');
    for (place, line) in work.cut.iter().enumerate() {
        wrapped(out, if place == 0 { "Cut       " } else { "          " }, line);
    }
    let wide = work.ledger.lines.iter().map(|line| line.printed.chars().count()).max().unwrap_or(0);
    for line in &work.ledger.lines {
        out.push_str(&format!("          {:<26}{:>wide$} {}\n", line.what, line.printed, card.units));
    }
    let weight = work.weight.iter().map(|weight| &weight.words);
    let rounding = work.rounding.iter().map(|bound| &bound.words);
    let accuracy = work.accuracy.iter().map(|accuracy| &accuracy.words);
    for words in weight.chain(&work.weight_unknown).chain(rounding).chain(accuracy).chain(&tube.fitness.words) {
        let (first, rest) = words.split_at(1);
        wrapped(out, "          ", &format!("{}{rest}", first.to_uppercase()));
    }
    for end in &work.ends {
        for (place, line) in end.words.iter().enumerate() {
            let about = if place == 0 { end.name() } else { String::new() };
            wrapped(out, &format!("{about:<10}"), line);
        }
    }
    out.push('\n');
    if !work.steps.is_empty() {
        title(out, "Set up");
        for one in &work.setup {
            moment(out, one);
        }
        out.push('\n');
        marks(out, card, work);
    }
    for step in &work.steps {
        self::step(out, card, step);
    }
    if let Some(finished) = &work.finished {
        let taken = work.steps.last().and_then(|step| step.check.as_ref());
        self::finished(out, card, finished, taken);
    }
}

fn marks(out: &mut String, card: &Card, work: &Work) {
    wrapped(out, "Marks     ", MARKING);
    let unit = card.units;
    let heads = [
        "bend".to_owned(),
        "lead".to_owned(),
        format!("mark, {unit}"),
        format!("tail, {unit}"),
        "top, degrees".to_owned(),
        format!("around, {unit}"),
    ];
    let rows: Vec<[String; 6]> = std::iter::once(heads).chain(work.marks.iter().map(MarkLine::row)).collect();
    table(out, &rows);
    out.push('\n');
}

fn moment(out: &mut String, moment: &Moment) {
    let margin = if moment.main { ">> " } else { "   " };
    wrapped(out, &format!("{margin}{:<10}", moment.about), &moment.words);
}

/// A size to be taken, with a place to write what was got.
fn check(out: &mut String, words: &str, unit: &str) {
    moment(out, &Moment::new("CHECK", words));
    moment(out, &Moment::new("GOT", format!("{BLANK} {unit}")));
}

fn step(out: &mut String, card: &Card, step: &StepCard) {
    title(out, &format!("Step {} of {}: bend {}", step.step, step.of, step.bend));
    for one in step.says.iter().filter(|one| one.about != "CHECK") {
        moment(out, one);
    }
    if let Some(one) = &step.check {
        check(out, &one.words, card.units);
    }
    out.push('\n');
}

fn finished(out: &mut String, card: &Card, finished: &Finished, taken: Option<&Check>) {
    title(out, "Finished");
    for one in finished.says.iter().filter(|one| one.main) {
        moment(out, one);
    }
    // That of the last step has just been taken.
    for one in finished.checks.iter().filter(|one| Some(*one) != taken) {
        check(out, &one.words, card.units);
    }
    if let Some(round) = &finished.roundness {
        moment(out, &Moment::new("ROUND", round.words.as_str()));
        for bend in &round.bends {
            let got = format!("bend {bend}: smallest {BLANK} largest {BLANK} {}", card.units);
            moment(out, &Moment::new("GOT", got));
        }
    }
    for one in finished.says.iter().filter(|one| !one.main) {
        moment(out, one);
    }
    out.push('\n');
}
