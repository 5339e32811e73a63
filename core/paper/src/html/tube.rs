//! One tube: whether it can be bent, cut and marks, its steps, and what it is checked by.

use maud::{Markup, html};

use super::words::{rich, write_in};
use super::{figure, figures};
use crate::card::{Add, Card, CardNote, Finished, Roundness, RuleSet, StepCard, TubeCard, Work};
use crate::picture;
use crate::sheet::words::{capital, sentence};
use crate::words::{DO_NOT_CUT, MARKING, Moment, NOT_KEPT, RULES, Words};

/// The tube of this number, counted from 1.
pub(super) fn article(card: &Card, tube: &TubeCard, words: &Words<'_>, number: usize) -> Markup {
    let mut about: Vec<String> = tube.tools.iter().map(|tools| capital(tools)).collect();
    about.extend(tube.mirror_of.as_ref().map(|pair| format!("Mirror part of {pair}: not the same part")));
    let sentences = |words: &[String]| -> Vec<String> { words.iter().map(|words| sentence(words)).collect() };
    let notes = |notes: &[CardNote]| -> Vec<String> { notes.iter().map(|note| sentence(&note.text)).collect() };
    let says = tube.fitness.says.iter().map(|words| sentence(words));
    let rules = card.rules.iter().flat_map(RuleSet::lines).map(str::to_owned).chain(says).collect::<Vec<_>>();
    html! {
        article id=(format!("tube{number}")) {
            h1 { (tube.name) }
            @if let Some(hand) = &tube.hand { p.hand { (hand) } }
            p.verdict.cannot[tube.work.is_none()] { (tube.verdict) }
            @if !about.is_empty() { p.tools { (about.join(". ")) "." } }
            @if tube.work.is_none() { p.verdict.cannot { (DO_NOT_CUT) } }
            (list("Why not", &sentences(&tube.why_not)))
            (list("What could help", &sentences(&tube.cures)))
            (list(NOT_KEPT, &notes(&tube.not_kept)))
            (list("Assumed, not measured or not looked at", &notes(&tube.notes)))
            (list(RULES, &rules))
            @if let Some(work) = &tube.work {
                (blank(card, tube, work, words))
                @for step in &work.steps { (self::step(card, step, words, number)) }
                (end(card, work, words))
            }
        }
    }
}

fn list(title: &str, items: &[String]) -> Markup {
    html! {
        @if !items.is_empty() {
            section {
                h2 { (title) }
                ul.list { @for item in items { li { (rich(item)) } } }
            }
        }
    }
}

fn blank(card: &Card, tube: &TubeCard, work: &Work, words: &Words<'_>) -> Markup {
    let unit = card.units;
    let weight = work.weight.iter().map(|weight| &weight.words).chain(&work.weight_unknown);
    let rounding = work.rounding.iter().map(|rounding| &rounding.words);
    let accuracy = work.accuracy.iter().map(|accuracy| &accuracy.words);
    html! {
        section {
            h2 { "Caliper" }
            div.beside {
                p { (rich(&sentence(&work.caliper.words))) }
                div { (write_in("OD", unit)) (write_in("wall", unit)) }
            }
        }
        section {
            h2 { "Cut" }
            div.beside {
                div {
                    p.cut { (work.ledger.printed) }
                    @for line in &work.cut { p { (rich(line)) } }
                }
                table.ledger {
                    @for line in &work.ledger.lines { tr { td.words { (line.what) } td { (line.printed) " " (unit) } } }
                }
            }
            @for words in weight.chain(rounding).chain(accuracy).chain(&tube.fitness.words) { p { (rich(&sentence(words))) } }
        }
        @if !work.ends.is_empty() {
            section {
                h2 { "Ends on other tubes" }
                dl.moments {
                    @for end in &work.ends { div { dt { (end.name()) } dd { (rich(&end.words.join(" "))) } } }
                }
            }
        }
        @if !work.steps.is_empty() {
            section {
                h2 { "Set up" }
                dl.moments {
                    @for moment in &work.setup { div { dt { (moment.about) } dd { (rich(&sentence(&moment.words))) } } }
                }
            }
            section {
                h2 { "Marks" }
                p { (rich(&sentence(MARKING))) }
                (marks(work, unit))
                (figure(&|width| picture::blank(words, width)))
            }
        }
    }
}

fn marks(work: &Work, unit: &str) -> Markup {
    let heads = ["bend", "lead end", "mark", "tail", "top, degrees", "around", "drawn"].map(|head| match head {
        "mark" | "tail" | "around" => format!("{head}, {unit}"),
        _ => head.to_owned(),
    });
    html! {
        table.stack {
            thead { tr { @for head in &heads { th { (head) } } } }
            tbody {
                @for mark in &work.marks {
                    @let [bend, lead, at, tail, top, around] = mark.row();
                    tr {
                        td data-head=(heads[0]) { b { (bend) } }
                        td data-head=(heads[1]) { (lead) }
                        td data-head=(heads[2]) { b { (at) } }
                        td data-head=(heads[3]) { (tail) }
                        td data-head=(heads[4]) { (top) }
                        td data-head=(heads[5]) { (around) }
                        td data-head=(heads[6]) { input type="checkbox" aria-label=(format!("mark {} is drawn", mark.bend)); }
                    }
                }
            }
        }
    }
}

/// What each panel says that is read at arm's length: end and mark, up or down, stop.
fn panels(says: &[Moment]) -> [Vec<&Moment>; 3] {
    let mut panels: [Vec<&Moment>; 3] = Default::default();
    let mut place = 0;
    for moment in says.iter().filter(|moment| moment.main) {
        if moment.about.starts_with("STOP") {
            place = 2;
        }
        panels[place].push(moment);
        if moment.about.starts_with("MARK") {
            place = 1;
        }
    }
    panels
}

fn step(card: &Card, step: &StepCard, words: &Words<'_>, tube: usize) -> Markup {
    let rest = step.says.iter().filter(|moment| !moment.main && moment.about != "CHECK");
    let check = step.says.iter().filter(|moment| moment.about == "CHECK");
    html! {
        section.step id=(format!("tube{tube}step{}", step.step)) {
            h2 { "Step " (step.step) " of " (step.of) ": bend " (step.bend) }
            div.panels {
                @for panel in panels(&step.says) {
                    div.panel {
                        @for moment in panel { p.large { (moment.about) } p { (rich(&moment.words)) } }
                    }
                }
            }
            // A phone is as high as one likes: the views stand under each other, each as wide as the screen.
            (figures(
                &|width| picture::step(words, step.step, width),
                &|width| picture::step_within(words, step.step, width, 1.3 * width),
            ))
            dl.moments {
                @for moment in rest {
                    div.mind[matches!(moment.about.as_str(), "WATCH" | "HOLD" | "STAND" | "OUT" | "IN")] {
                        dt { (moment.about) }
                        @if moment.about == "ADD" && !step.add.is_empty() { dd { (adds(&step.add)) } }
                        @else { dd { (rich(&moment.words)) } }
                    }
                }
            }
            @for moment in check {
                div.check { p { b { (moment.about) } " " (rich(&moment.words)) } (write_in("got", card.units)) }
            }
        }
    }
}

fn adds(add: &[Add]) -> Markup {
    html! {
        table.adds {
            tr { th.words { "short by, degrees" } @for row in add { td { (format!("{:.0}", row.short.to_deg())) } } }
            tr { th.words { "add on the dial, still clamped" } @for row in add { td { b { (row.printed) } } } }
        }
    }
}

fn end(card: &Card, work: &Work, words: &Words<'_>) -> Markup {
    html! {
        @if let Some(finished) = &work.finished {
            section.last {
                h2 { "Finished" }
                @if !finished.checks.is_empty() { (checks(finished, words, card.units)) }
                @if let Some(round) = &finished.roundness { (roundness(round, card.units)) }
                @for moment in &finished.says {
                    @if moment.main { div.big { p.large { (moment.about) } p { (rich(&moment.words)) } } }
                    @else { dl.moments { div { dt { (moment.about) } dd { (rich(&moment.words)) } } } }
                }
                (figure(&|width| picture::finished(words, width)))
            }
        }
        @if !work.cautions.is_empty() {
            section {
                h2 { "Cautions" }
                ol { @for caution in &work.cautions { li { (caution) } } }
            }
        }
    }
}

fn checks(finished: &Finished, words: &Words<'_>, unit: &str) -> Markup {
    html! {
        table.stack.checks {
            thead { tr { th.words { "from where to where" } th { "size" } th { "within" } th.words { "got" } } }
            tbody {
                @for check in &finished.checks {
                    tr {
                        td.words.all data-head="from where to where" { (check.faces) }
                        td data-head="size" { b { (check.printed) } }
                        td data-head="within" { (words.people.length_with_unit(check.within)) }
                        td.words.all data-head="got" { (write_in("", unit)) }
                    }
                }
            }
        }
    }
}

/// How round each bend has to be, with places to write its two diameters.
fn roundness(round: &Roundness, unit: &str) -> Markup {
    html! {
        dl.moments { div { dt { "ROUND" } dd { (rich(&round.words)) } } }
        table.stack.checks {
            thead { tr { th.words { "where it is flattest" } th { "smallest, at least" } th.words { "smallest, got" } th.words { "largest, got" } } }
            tbody {
                @for bend in &round.bends {
                    tr {
                        td.words data-head="where it is flattest" { "bend " (bend) }
                        td data-head="smallest, at least" { b { (round.printed) } }
                        td.words.all data-head="smallest, got" { (write_in("", unit)) }
                        td.words.all data-head="largest, got" { (write_in("", unit)) }
                    }
                }
            }
        }
    }
}
