//! One step, in the order of the hands.

use serde::Serialize;
use tubewright::bender::Step;
use tubewright::plan::document::springback_from;
use tubewright::plan::{PlanStep, Side, SpringbackFrom};
use tubewright::units::{Angle, Length};

use super::bar::Bar;
use super::check::{self, Check};
use super::hold::Hold;
use super::stand::Stand;
use super::{proportional, unit};
use crate::words::{Moment, Words, clockwise};

/// What a bend may be short by, in the table of what to add.
const SHORT: [f64; 3] = [1.0, 2.0, 3.0];

/// What is printed of a step, without units.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StepPrinted {
    /// The mark.
    pub mark: String,
    /// The tail.
    pub tail: String,
    /// The target on the dial.
    pub stop: String,
    /// Where to stop first and look; `None` where the springback is known.
    pub look: Option<String>,
    /// The top line, clockwise around the tube from the reference line, looking from end A.
    pub top_arc: String,
}

/// A leg that shows the roll on a level.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Level {
    /// The leg, counted from end A.
    pub leg: usize,
    /// Its slope, positive where it rises away from the die.
    #[serde(rename = "rise_deg", serialize_with = "unit::deg")]
    pub rise: Angle,
    /// `die` or `away`.
    pub side: &'static str,
}

/// Where the springback of a bend is from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Springback {
    /// `measured`, `given`, `borrowed`, `estimated` or `none`.
    pub from: &'static str,
    /// Date of the record.
    pub date: Option<String>,
    /// Delivery of tube in the record.
    pub lot: Option<String>,
}

/// What is added to the reading for what is missing of the bend angle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Add {
    /// Short by this.
    #[serde(rename = "short_deg", serialize_with = "unit::deg")]
    pub short: Angle,
    /// Add this.
    #[serde(rename = "add_deg", serialize_with = "unit::deg")]
    pub add: Angle,
    /// The same as printed: down to what the dial shows.
    pub printed: String,
}

/// One step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StepCard {
    /// Its number.
    pub step: usize,
    /// How many there are.
    pub of: usize,
    /// The bend's number.
    pub bend: usize,
    /// The end in the clamp.
    pub lead: &'static str,
    /// Whether the other end led in the step before.
    pub swap_ends: bool,
    /// The die.
    pub die: String,
    /// The mark, from end A.
    #[serde(rename = "mark_mm", serialize_with = "unit::mm")]
    pub mark: Length,
    /// Tube behind the index.
    #[serde(rename = "tail_mm", serialize_with = "unit::mm")]
    pub tail: Length,
    /// The top line, clockwise from the reference line looking from end A, in [0, 360) degrees.
    #[serde(rename = "top_deg", serialize_with = "unit::deg")]
    pub top: Angle,
    /// The same around the OD.
    #[serde(rename = "top_arc_mm", serialize_with = "unit::mm")]
    pub top_arc: Length,
    /// A leg that shows the roll; `None` where none shows it.
    pub gauge: Option<Level>,
    /// What a bar across the tube reads that was level in the step before; `None` for the first step.
    pub bar: Option<Bar>,
    /// Where a stand is needed; `None` where none is, and where the weight is not known.
    pub stand: Option<Stand>,
    /// Height of end A over the tube's line at the die.
    #[serde(rename = "end_a_up_mm", serialize_with = "unit::mm")]
    pub end_a_up: Length,
    /// Height of end B.
    #[serde(rename = "end_b_up_mm", serialize_with = "unit::mm")]
    pub end_b_up: Length,
    /// Turn from the step before, clockwise seen from the trailing end; `None` for the first step and after the ends are swapped.
    #[serde(rename = "turn_deg", serialize_with = "unit::deg_or_null")]
    pub turn: Option<Angle>,
    /// What the pointer is set to.
    #[serde(rename = "dial_start_deg", serialize_with = "unit::deg")]
    pub dial_start: Angle,
    /// Reading to stop at, not rounded.
    #[serde(rename = "dial_target_deg", serialize_with = "unit::deg")]
    pub dial_target: Angle,
    /// Reading to stop at first and look: there the die has turned by the bend angle, so that no springback can make it too far. `None` where the springback
    /// is known.
    #[serde(rename = "look_deg", serialize_with = "unit::deg_or_null")]
    pub look: Option<Angle>,
    /// Readings near which the pin is moved.
    #[serde(rename = "pin_moves_deg", serialize_with = "unit::all_deg")]
    pub pin_moves: Vec<Angle>,
    /// Where the springback is from.
    pub springback: Springback,
    /// What to add for what is missing; empty where the springback is known.
    pub add: Vec<Add>,
    /// What has to be held before the clamp is opened; `None` where it is not known, or nothing.
    pub hold: Option<Hold>,
    /// The way to lay it in, where not every way is clear.
    pub put_in: Option<&'static str>,
    /// The way to take it out, where not every way is clear.
    pub take_out: Option<&'static str>,
    /// A size to be taken after the bend; absent where an end has its cut before bending, so that none can be taped.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub check: Option<Check>,
    /// What is printed of the figures.
    pub printed: StepPrinted,
    /// The moments of the step, in the order of the hands.
    pub says: Vec<Moment>,
}

impl StepCard {
    pub(super) fn new(words: &Words<'_>, number: usize) -> Self {
        let Words { job, tube, people } = *words;
        let step = &tube.steps[number - 1];
        let made = tube.made_before(number);
        let at =
            Step { bender: &job.bender, blank: &tube.blank, bend: step.bend, lead: step.lead, made: made.as_slice() };
        let hold = Hold::new(&at, &tube.stock);
        let check = check::end_to_end(words, &|bend| at.is_made(bend) || bend == step.bend);
        let add = adds(words, step);
        let stand = Stand::new(&at, &tube.stock);
        let before = number.checked_sub(2).map(|before| &tube.steps[before]);
        let bar = before.map(|before| Bar::new(&job.bender, before, step));

        let mut says = Vec::from(words.end_and_mark(number));
        says.extend(stand.map(|stand| stand.words(people)));
        says.extend(words.put_in(step));
        says.extend(words.turn(number));
        says.extend(bar.filter(|bar| bar.is_told(step)).map(|bar| bar.words(people)));
        says.extend([words.pointer(step), words.stop(step)]);
        says.extend(adds_words(&add));
        says.extend(words.watch(step));
        if let Some(next) = tube.steps.get(number)
            && Bar::new(&job.bender, step, next).is_told(next)
        {
            says.push(Bar::set(number + 1));
        }
        says.extend(hold.map(|hold| hold.words(people)));
        says.extend(words.take_out(step));
        says.extend(check.as_ref().map(|check| Moment::new("CHECK", check.words.as_str())));
        Self {
            step: number,
            of: tube.steps.len(),
            bend: step.bend.number(),
            lead: step.lead.letter(),
            swap_ends: step.swap_ends,
            die: step.die_name.clone(),
            mark: step.mark,
            tail: step.tail,
            top: clockwise(step.top),
            top_arc: step.top_arc,
            bar,
            stand,
            gauge: step.gauge.map(|gauge| Level {
                leg: gauge.leg,
                rise: gauge.rise,
                side: match gauge.side {
                    Side::Die => "die",
                    Side::Away => "away",
                },
            }),
            end_a_up: step.ends_up[0],
            end_b_up: step.ends_up[1],
            turn: step.turn,
            dial_start: step.dial_start,
            dial_target: step.dial_target,
            look: words.look(step),
            pin_moves: step.pin_moves.clone(),
            springback: Springback {
                from: springback_from(step.springback.from),
                date: step.springback.date.clone(),
                lot: step.springback.lot.clone(),
            },
            add,
            hold,
            put_in: step.put_in.map(tubewright::clearance::Way::words_in),
            take_out: step.take_out.map(tubewright::clearance::Way::words),
            check,
            printed: StepPrinted {
                mark: people.length(step.mark),
                tail: people.length(step.tail),
                stop: people.dial(step.dial_target, job.bender.pointer.step),
                look: words.look(step).map(|look| people.dial(look, job.bender.pointer.step)),
                top_arc: people.length(step.top_arc),
            },
            says,
        }
    }
}

/// Where springback is not measured for this tube, what is missing of the bend angle times (1 + proportional part).
fn adds(words: &Words<'_>, step: &PlanStep) -> Vec<Add> {
    if matches!(step.springback.from, SpringbackFrom::Measured | SpringbackFrom::Given) {
        return Vec::new();
    }
    let reading = 1.0 + proportional(words.job, words.tube, step.die);
    let row = |short: f64| {
        let add = Angle::deg(short * reading);
        Add { short: Angle::deg(short), add, printed: words.people.dial(add, words.job.bender.pointer.step) }
    };
    SHORT.into_iter().map(row).collect()
}

fn adds_words(add: &[Add]) -> Option<Moment> {
    let rows: Vec<String> =
        add.iter().map(|row| format!("short by {:.0}, add {}", row.short.to_deg(), row.printed)).collect();
    (!rows.is_empty()).then(|| Moment::new("ADD", format!("to the reading, still clamped: {}.", rows.join("; "))))
}
