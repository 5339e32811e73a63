//! The step card as one page of HTML, for a phone at the bender, a screen beside it, or a printer without PDF.
//!
//! Everything that the page needs stands in it: letters, pictures and the way it looks. Nothing is fetched and no script runs, so it can be sent to a
//! phone and opened there without a network. On a narrow screen the three panels of a step stand under each other, tables fold, and each picture is one
//! that was drawn for that width, so that its words stay as large as they were meant.

mod tube;
mod words;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::card::Card;
use crate::draw::{Drawing, Face};
use crate::pdf::Paper;
use crate::words::Words;

/// How it looks.
const STYLE: &str = include_str!("style.css");

/// Widths for which a picture is drawn for a screen of usual width and for a phone, mm; further ones stand in where words would lie on each other.
const WIDE: [f64; 4] = [190.0, 182.0, 174.0, 166.0];
const NARROW: [f64; 4] = [94.0, 90.0, 98.0, 102.0];

/// The page of a card. `words` are those that the card was made from, one for each of its tubes, in the same order; `paper` is what it is printed on.
///
/// # Panics
/// Where there are not as many `words` as tubes.
#[must_use]
pub fn html(card: &Card, words: &[Words<'_>], paper: Paper) -> String {
    assert_eq!(card.tubes.len(), words.len(), "words for each tube of the card");
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Step card of " (card.job) }
                style { (PreEscaped(style(card, paper))) }
            }
            body {
                nav { (contents(card)) }
                @for (place, (tube, words)) in card.tubes.iter().zip(words).enumerate() {
                    (tube::article(card, tube, words, place + 1))
                }
                footer {
                    span { "job " (card.job) }
                    span { "date " @if let Some(date) = &card.date { (date) } @else { i {} } }
                    span { "files " (card.fingerprint) }
                }
            }
        }
    };
    page.into_string()
}

/// Where the tubes and their steps are.
fn contents(card: &Card) -> Markup {
    html! {
        ul {
            @for (place, tube) in card.tubes.iter().enumerate() {
                @let number = place + 1;
                li { a href=(format!("#tube{number}")) { b { (tube.name) } } }
                @for step in tube.work.iter().flat_map(|work| &work.steps) {
                    li { a href=(format!("#tube{number}step{}", step.step)) { "step " (step.step) } }
                }
            }
        }
    }
}

/// The letters, the page of the printer, and how it looks.
fn style(card: &Card, paper: Paper) -> String {
    // What would end the words or the style itself is left out: it is a line for the foot of a page.
    let plain =
        |words: &str| -> String { words.chars().filter(|letter| !matches!(letter, '"' | '\\' | '<' | '>')).collect() };
    let date = card.date.as_ref().map_or_else(|| "date ____________".to_owned(), |date| format!("date {date}"));
    let foot = plain(&format!("job {}, {date}, files {}", card.job, card.fingerprint));
    let page = format!(
        "@page {{ size: {}mm {}mm; margin: 14mm 14mm 21mm; @bottom-left {{ content: \"{foot}\"; vertical-align: top; padding-top: 3mm; font-size: 9.7pt; }} \
         @bottom-right {{ content: \"page \" counter(page) \" of \" counter(pages); vertical-align: top; padding-top: 3mm; font-size: 9.7pt; }} }}\n",
        paper.width(),
        paper.height()
    );
    format!("\n{}{page}{STYLE}", faces())
}

/// The letters of a page, which stand in it.
pub(crate) fn faces() -> String {
    let face = |(face, weight): (Face, &str)| {
        format!(
            "@font-face {{ font-family: 'DejaVu Sans Condensed'; font-weight: {weight}; src: url(data:font/woff2;base64,{}) format('woff2'); }}\n",
            STANDARD.encode(face.file_for_screen())
        )
    };
    [(Face::Book, "normal"), (Face::Bold, "bold")].map(face).concat()
}

/// A picture for each width of screen; only one of them is shown.
fn figure(picture: &dyn Fn(f64) -> Drawing) -> Markup {
    figures(picture, picture)
}

/// The same, drawn in another way for a phone.
fn figures(wide: &dyn Fn(f64) -> Drawing, narrow: &dyn Fn(f64) -> Drawing) -> Markup {
    let drawn = |picture: &dyn Fn(f64) -> Drawing, widths: [f64; 4]| {
        let clean = widths.iter().map(|width| picture(*width)).find(|drawn| drawn.overlap().is_none());
        let svg = clean.unwrap_or_else(|| picture(widths[0])).svg();
        // In a page of HTML the name of the language of a picture goes without saying.
        svg.replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1)
    };
    html! {
        figure.wide { (PreEscaped(drawn(wide, WIDE))) }
        figure.narrow { (PreEscaped(drawn(narrow, NARROW))) }
    }
}
