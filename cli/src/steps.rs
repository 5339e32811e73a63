//! The step list for people: verdict and assumptions first, then the cut, the marks, and the steps in the order of the hands.
//!
//! Three things of a step are equally large and stand in this order: which END and MARK, which leg goes UP or DOWN, where to STOP. A short
//! bend can be pushed again; a wrong end or a wrong roll cannot be mended.

use std::fmt::Write as _;

use tubewright::bender::{BendPlane, Bender, PointerSet};
use tubewright::clearance::Verdict;
use tubewright::job::Job;
use tubewright::order::cost::Cost;
use tubewright::plan::{Plan, PlanStep, Side, SpringbackFrom, TubePlan};
use tubewright::round::People;
use tubewright::units::{Angle, Length};

/// Tubes that are named in the closing line.
const NAMED: usize = 12;

/// Columns of a plain terminal or printer.
const WIDTH: usize = 80;

/// The whole text of a plan.
pub(crate) fn text(job: &Job, plan: &Plan, people: &People) -> String {
    let mut text = String::new();
    for tube in &plan.tubes {
        TubeText { job, plan, tube, people, out: &mut text }.write();
    }
    if plan.tubes.len() > 1 {
        let not: Vec<&str> = plan.tubes.iter().filter(|tube| !tube.feasible).map(|tube| tube.name.as_str()).collect();
        let of = plan.tubes.len();
        let line = if not.is_empty() {
            format!("All {of} tubes can be bent as planned.")
        } else {
            // More names than a person reads are counted.
            let more = if not.len() > NAMED { format!(" and {} more", not.len() - NAMED) } else { String::new() };
            let named = not[..not.len().min(NAMED)].join(", ");
            format!("{} of {of} tubes cannot be bent as asked: {named}{more}.", not.len())
        };
        wrapped(&mut text, "", &line);
    }
    text
}

struct TubeText<'a> {
    job: &'a Job,
    plan: &'a Plan,
    tube: &'a TubePlan,
    people: &'a People,
    out: &'a mut String,
}

impl TubeText<'_> {
    fn write(&mut self) {
        self.verdict();
        self.notes();
        if !self.tube.feasible {
            self.line(
                "          ",
                "DO NOT CUT YET. Below is the order that gets furthest, up to the step that is blocked.",
            );
            self.out.push('\n');
        }
        self.cut();
        self.marks();
        self.order();
        for number in 1..=self.tube.steps.len() {
            self.step(number);
        }
        self.alternatives();
        if !self.tube.steps.is_empty() {
            self.cautions();
        }
    }

    fn bender(&self) -> &Bender {
        &self.job.bender
    }

    fn line(&mut self, lead: &str, words: &str) {
        wrapped(self.out, lead, words);
    }

    /// One moment of a step: what it is about stands at the margin.
    fn moment(&mut self, about: &str, words: &str) {
        wrapped(self.out, &format!("  {about:<10}"), words);
    }

    fn verdict(&mut self) {
        let tube = self.tube;
        let tight = tube.steps.iter().any(|step| step.verdict == Verdict::Tight);
        let verdict = match (tube.feasible, tube.steps.is_empty(), tight) {
            // A search that was cut short proves nothing.
            (false, ..) if tube.notes.iter().any(|note| matches!(note.code, "stopped" | "bounded")) => {
                "NO ORDER FOUND, and none is ruled out"
            }
            (false, ..) => "CANNOT BE BENT as asked",
            (true, true, _) => "STRAIGHT, to be cut, no bend to make",
            (true, false, true) => "CAN BE BENT, while watching",
            (true, false, false) => "CAN BE BENT",
        };
        let _ = writeln!(self.out, "{}", "=".repeat(WIDTH));
        self.line("", &format!("{}: {verdict}", tube.name));
        let mut about = Vec::new();
        if let Some(date) = &self.plan.date {
            about.push(format!("date {date}"));
        }
        if !tube.steps.is_empty() {
            about.push(format!("bender {}", self.plan.bender.as_deref().unwrap_or("without a name")));
            about.push(tube.die.as_ref().map_or_else(|| "several dies".to_owned(), |die| format!("die {die}")));
        }
        about.push(format!("fingerprint of the files {}", self.plan.fingerprint));
        if let Some(pair) = &tube.pair {
            about.push(format!("MIRROR PART of {pair}, not the same part"));
        }
        self.line("", &about.join(", "));
        let _ = writeln!(self.out, "{}", "=".repeat(WIDTH));
        for why in &tube.why_not {
            self.line("Why not   ", &why.text);
        }
        for cure in &tube.cures {
            let words = format!(
                "{}. That takes about {} of handling, {}.",
                cure.text,
                time(cure.cost),
                self.tightest(cure.tightest)
            );
            self.line("Could help: ", &words);
        }
    }

    fn tightest(&self, gap: Option<Length>) -> String {
        gap.map_or_else(|| "all gaps comfortable".to_owned(), |gap| format!("tightest gap {}", self.people.gap(gap)))
    }

    fn notes(&mut self) {
        for note in &self.tube.notes {
            self.line("Note      ", &note.text);
        }
        if !(self.tube.notes.is_empty() && self.tube.why_not.is_empty()) {
            self.out.push('\n');
        }
    }

    fn cut(&mut self) {
        let people = self.people;
        let tube = self.tube;
        let mut stock = format!("OD {}", people.figure(tube.stock.od));
        if let Some(wall) = tube.stock.wall {
            let _ = write!(stock, ", wall {}", people.figure(wall));
        }
        if let Some(material) = &tube.stock.material {
            let _ = write!(stock, ", {material}");
        }
        let length = people.length_with_unit(tube.blank.cut_length);
        self.line("Cut       ", &format!("{length} of tube, {stock}. Cut square, deburr, tape it again."));
        for (end, extra) in [('A', tube.extra_a), ('B', tube.extra_b)] {
            if extra > Length::ZERO {
                let extra = people.length_with_unit(extra);
                self.line("          ", &format!("It has {extra} extra at end {end}, to be cut off after bending."));
            }
        }
        if let Some(seam) = tube.seam {
            let seam = people.angle(seam);
            self.line("Seam      ", &format!("{seam} degrees clockwise from the reference line, looking from end A."));
        }
        self.out.push('\n');
    }

    fn marks(&mut self) {
        if self.tube.steps.is_empty() {
            return;
        }
        let people = self.people;
        self.line(
            "Marks     ",
            "all taped from end A on the straight blank; each a full ring with its number. The top line of a bend is drawn \
             so far clockwise from the reference line, looking from end A.",
        );
        let mut steps: Vec<&PlanStep> = self.tube.steps.iter().collect();
        steps.sort_by_key(|step| step.bend);
        let unit = people.unit();
        let heads = [
            "bend".to_owned(),
            format!("mark, {unit}"),
            "top line, degrees".to_owned(),
            format!("around the tube, {unit}"),
        ];
        let rows = steps.iter().map(|step| {
            let clockwise = Angle::deg(step.top.to_deg().rem_euclid(360.0));
            [
                step.bend.number().to_string(),
                people.length(step.mark),
                people.angle(clockwise),
                people.length(step.top_arc),
            ]
        });
        let table: Vec<[String; 4]> = std::iter::once(heads).chain(rows).collect();
        for row in &table {
            self.out.push_str("          ");
            for (column, cell) in row.iter().enumerate() {
                let width = table.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
                let _ = write!(self.out, "{cell:>width$}   ");
            }
            self.out.truncate(self.out.trim_end().len());
            self.out.push('\n');
        }
        self.out.push('\n');
    }

    /// The order in one line: what a person compares with the one in mind.
    fn order(&mut self) {
        let Some(cost) = self.tube.cost.filter(|_| self.tube.steps.len() > 1) else { return };
        let order: Vec<String> =
            self.tube.steps.iter().map(|step| format!("{}{}", step.bend.number(), step.lead.letter())).collect();
        let proof = if self.tube.proved_optimal { ", and no order takes less" } else { "" };
        let words = format!("{} (bend and leading end), about {} of handling{proof}.", order.join(" "), time(cost));
        self.line("Order     ", &words);
        self.out.push('\n');
    }

    fn alternatives(&mut self) {
        let Some(best) = self.tube.cost else { return };
        for other in &self.tube.alternatives {
            let more = time(Cost::milliseconds(other.cost.to_milliseconds().saturating_sub(best.to_milliseconds())));
            let gap = self.tightest(other.tightest);
            let swaps = match other.swaps {
                0 => "ends not swapped".to_owned(),
                1 => "ends swapped once".to_owned(),
                times => format!("ends swapped {times} times"),
            };
            let words = format!("{}: {more} more of handling, {gap}, {swaps}.", other.order);
            self.line("Or        ", &words);
        }
        if !self.tube.alternatives.is_empty() {
            self.out.push('\n');
        }
    }

    fn step(&mut self, number: usize) {
        let tube = self.tube;
        let step = &tube.steps[number - 1];
        let of = tube.centreline.rows.bends.len();
        let title = format!("-- Step {number} of {of}: bend {} ", step.bend.number());
        let _ = writeln!(self.out, "{title}{}", "-".repeat(WIDTH.saturating_sub(title.chars().count())));
        for why in &step.blocked_by {
            self.moment("BLOCKED", &why.text);
        }
        self.end_and_mark(number);
        if let Some(way) = step.put_in {
            self.moment("IN", &format!("Lay it in {}: not every way is clear.", way.words_in()));
        }
        self.turn(number);
        self.pointer(number);
        self.stop(step);
        self.watch(step);
        if let Some(way) = step.take_out {
            self.moment("OUT", &format!("Take it out {}: not every way is clear.", way.words()));
        }
        self.out.push('\n');
    }

    fn end_and_mark(&mut self, number: usize) {
        let people = self.people;
        let step = &self.tube.steps[number - 1];
        let (end, trails) = (step.lead.letter(), step.lead.other().letter());
        let swap = if step.swap_ends { "SWAP THE ENDS. " } else { "" };
        let die = if self.tube.die.is_none() { format!(" Die {}.", step.die_name) } else { String::new() };
        self.moment(
            &format!("END {end}"),
            &format!("{swap}End {end} in the clamp, end {trails} behind the follower.{die}"),
        );
        let mark = people.length_with_unit(step.mark);
        let tail = people.length_with_unit(step.tail);
        self.moment(
            &format!("MARK {}", step.bend.number()),
            &format!("at {mark} from end A, to the index: {tail} of tube then lie behind the index."),
        );
    }

    fn turn(&mut self, number: usize) {
        let people = self.people;
        let step = &self.tube.steps[number - 1];
        if let Some(gauge) = &step.gauge {
            let side = match gauge.side {
                Side::Die => "on the die's side",
                Side::Away => "on the side away from the die",
            };
            if people.is_none(gauge.rise) {
                self.moment("LEVEL", &format!("leg {} lies level, {side}.", gauge.leg));
            } else {
                let way = if gauge.rise > Angle::ZERO { "UP" } else { "DOWN" };
                let rise = people.angle(gauge.rise.abs());
                self.moment(way, &format!("leg {} by {rise} degrees to level, {side}.", gauge.leg));
            }
        }
        for (end, up) in ['A', 'B'].into_iter().zip(step.ends_up) {
            // Less than the tube is thick is no height that anybody sees.
            if up.abs() > self.tube.stock.od {
                let way = if up > Length::ZERO { "UP" } else { "DOWN" };
                let height = people.length_with_unit(up.abs());
                self.moment(way, &format!("end {end}, {height} from the tube's line at the die."));
            }
        }
        let mut words = match self.bender().bend_plane {
            BendPlane::Horizontal => format!("Top line {} uppermost.", step.bend.number()),
            BendPlane::Vertical { .. } => format!("Top line {} toward you.", step.bend.number()),
        };
        if number > 1 && step.gauge.is_none() {
            words.push_str(" No leg shows the roll well on a level: the line sets it.");
        }
        match step.turn {
            None => {}
            Some(turn) if people.is_none(turn) => words.push_str(" The roll is that of the step before."),
            Some(turn) if people.is_half_turn(turn) => words.push_str(" Half a turn from the step before."),
            Some(turn) => {
                let way = if turn > Angle::ZERO { "clockwise" } else { "anticlockwise" };
                let _ = write!(
                    words,
                    " {} degrees {way} from the step before, seen from end {} looking to the die.",
                    people.angle(turn.abs()),
                    step.lead.other().letter()
                );
            }
        }
        self.moment("TURN", &words);
    }

    fn pointer(&mut self, number: usize) {
        let step = &self.tube.steps[number - 1];
        let set_to = self.people.angle(step.dial_start);
        let words = match self.bender().pointer.when {
            PointerSet::SlackOut => format!("Clamp, take the slack out by hand, pointer to {set_to}."),
            PointerSet::FirstBite => format!("Clamp; pointer to {set_to} when the tube first resists."),
        };
        self.moment("SET", &format!("{words} After the first bite look at mark and roll again."));
    }

    fn stop(&mut self, step: &PlanStep) {
        let target = self.people.dial(step.dial_target, self.bender().pointer.step);
        let mut words = "on the dial.".to_owned();
        if !step.pin_moves.is_empty() {
            let readings: Vec<String> = step.pin_moves.iter().map(|reading| self.people.angle(*reading)).collect();
            let _ = write!(words, " Pin moved near {}, pressure let off first.", readings.join(", "));
            if step.starts_one_hole_along() {
                words.push_str(" The last move comes just before the stop: start one hole along.");
            }
        }
        match step.springback.from {
            SpringbackFrom::None => {
                words.push_str(" No springback is in it: let off there, read the angle, go on by what is missing.");
            }
            SpringbackFrom::Borrowed | SpringbackFrom::Estimated => words.push_str(
                " Springback is not measured for this tube: stop a few degrees short, let off, read the angle, go on by what is missing.",
            ),
            SpringbackFrom::Given | SpringbackFrom::Measured => {}
        }
        self.moment(&format!("STOP {target}"), &words);
    }

    fn watch(&mut self, step: &PlanStep) {
        let people = self.people;
        if let Some(clearance) = step.tightest()
            && let Some(nearest) = clearance.nearest
        {
            let reading = self.bender().pointer.reading(nearest.die_angle);
            let what = match clearance.obstacle.as_str() {
                "tube" => "the tube itself".to_owned(),
                "floor" | "die" | "clamp" | "follower" => format!("the {}", clearance.obstacle),
                own => own.to_owned(),
            };
            let gap = if clearance.verdict == Verdict::Contact {
                format!("The tube touches {what}")
            } else {
                format!("{} from {what}", people.gap(nearest.gap))
            };
            self.moment(
                "WATCH",
                &format!(
                    "{gap} near {} on the dial, {} from end A, if the bender is as drawn.",
                    people.near(reading),
                    people.length_with_unit(nearest.blank)
                ),
            );
        }
        self.moment(
            "ROOM",
            &format!(
                "The tube sweeps out to {} from the die's axis, and from {} to {} above the floor.",
                people.room(step.swing.reach),
                people.height(step.swing.low),
                people.room(step.swing.high)
            ),
        );
    }

    fn cautions(&mut self) {
        self.line(
            "Caution   ",
            "Hands, sleeves and hair out of the die, follower and ram; nobody in the room that the tube sweeps. Let the pressure off \
             before a pin is touched. Stop if the tube kinks, cracks or slips. These are layout figures: they do not show that a \
             structure is strong or allowed; local codes and licensed practice come first.",
        );
        self.out.push('\n');
    }
}

/// A time as people say it: seconds up to two minutes, then minutes.
fn time(cost: Cost) -> String {
    let seconds = cost.to_seconds().round();
    if seconds <= 120.0 { format!("{seconds} s") } else { format!("{} min", (seconds / 60.0).round()) }
}

/// Adds words behind a lead-in, wrapped to the page with the following lines indented under the first.
fn wrapped(out: &mut String, lead: &str, words: &str) {
    let indent = lead.chars().count();
    out.push_str(lead);
    let mut column = indent;
    for word in words.split(' ').filter(|word| !word.is_empty()) {
        let width = word.chars().count();
        if column > indent && column + 1 + width > WIDTH {
            out.push('\n');
            out.extend(std::iter::repeat_n(' ', indent));
            column = indent;
        }
        if column > indent {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += width;
    }
    out.push('\n');
}
