//! The step list for people: verdict and assumptions first, then the cut, the marks, and the steps in the order of the hands.

use tubewright::job::Job;
use tubewright::order::cost::Cost;
use tubewright::plan::{Plan, PlanStep, TubePlan};
use tubewright::round::People;
use tubewright::units::Length;
use tubewright_paper::page::{rule, table, title, wrapped};
use tubewright_paper::words::{self, Moment, Words};

/// Tubes that are named in the closing line.
const NAMED: usize = 12;

/// The whole text of a plan.
pub(crate) fn text(job: &Job, plan: &Plan, people: &People) -> String {
    let mut text = String::new();
    for tube in &plan.tubes {
        let words = Words { job, tube, people };
        TubeText { plan, tube, people, words, out: &mut text }.write();
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
    plan: &'a Plan,
    tube: &'a TubePlan,
    people: &'a People,
    words: Words<'a>,
    out: &'a mut String,
}

impl TubeText<'_> {
    fn write(&mut self) {
        self.verdict();
        self.rescue();
        self.notes();
        if !self.tube.feasible && self.tube.rescue.is_none() {
            let words = format!(
                "{} YET. Below is the order that gets furthest, up to the step that is blocked.",
                words::DO_NOT_CUT
            );
            self.line("          ", &words);
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
            self.line("Caution   ", words::CAUTIONS);
            self.out.push('\n');
        }
    }

    fn line(&mut self, lead: &str, words: &str) {
        wrapped(self.out, lead, words);
    }

    /// One moment of a step: what it is about stands at the margin.
    fn moment(&mut self, moment: &Moment) {
        wrapped(self.out, &format!("  {:<10}", moment.about), &moment.words);
    }

    fn verdict(&mut self) {
        let tube = self.tube;
        rule(self.out);
        self.line("", &format!("{}: {}", tube.name, self.words.verdict()));
        let mut about = Vec::new();
        if let Some(date) = &self.plan.date {
            about.push(format!("date {date}"));
        }
        about.extend(self.words.tools());
        about.push(format!("fingerprint of the files {}", self.plan.fingerprint));
        if let Some(pair) = &tube.pair {
            about.push(format!("MIRROR PART of {pair}, not the same part"));
        }
        self.line("", &about.join(", "));
        rule(self.out);
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

    fn rescue(&mut self) {
        let Some(rescue) = &self.tube.rescue else { return };
        for line in &rescue.text {
            self.line("Rescue    ", line);
        }
        if self.tube.notes.is_empty() && self.tube.why_not.is_empty() {
            self.out.push('\n');
        }
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
        let words = self.words;
        for (place, line) in words.cut().iter().enumerate() {
            self.line(if place == 0 { "Cut       " } else { "          " }, line);
        }
        if let Some(springback) = words.springback() {
            self.line("          ", &springback);
        }
        if let Some(accuracy) = words.accuracy().filter(|_| self.tube.feasible) {
            let (first, rest) = accuracy.split_at(1);
            self.line("          ", &format!("{}{rest}", first.to_uppercase()));
        }
        if let Some(wall) = words.bent_wall() {
            let (first, rest) = wall.split_at(1);
            self.line("Wall      ", &format!("{}{rest}", first.to_uppercase()));
        }
        let rules = words.job.rules.iter().map(|rules| rules.name.clone()).filter(|_| !words.limits().is_empty());
        for (place, line) in rules.chain(words.limits()).enumerate() {
            self.line(if place == 0 { "Rules     " } else { "          " }, &line);
        }
        if let Some(seam) = words.seam() {
            self.line("Seam      ", &seam);
        }
        for end in &self.tube.ends {
            for (place, line) in words.end(end).iter().enumerate() {
                let about = if place == 0 { format!("End {}", end.end.letter()) } else { String::new() };
                self.line(&format!("{about:<10}"), line);
            }
        }
        self.out.push('\n');
    }

    fn marks(&mut self) {
        if self.tube.steps.is_empty() {
            return;
        }
        let people = self.people;
        self.line("Marks     ", words::MARKING);
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
            [
                step.bend.number().to_string(),
                people.length(step.mark),
                people.angle(words::clockwise(step.top)),
                people.length(step.top_arc),
            ]
        });
        let rows: Vec<[String; 4]> = std::iter::once(heads).chain(rows).collect();
        table(self.out, &rows);
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
        let bend = step.bend.number();
        let words = self.words;
        let head = if tube.rescue.is_some() {
            format!("Step {number} of {} left: bend {bend}", tube.steps.len())
        } else {
            format!("Step {number} of {}: bend {bend}", tube.centreline.rows.bends.len())
        };
        title(self.out, &head);
        let blocked = step.blocked_by.iter().map(|why| Moment::new("BLOCKED", why.text.as_str()));
        let moments = blocked
            .chain(words.end_and_mark(number))
            .chain(words.put_in(step))
            .chain(words.turn(number))
            .chain([words.pointer(step), words.stop(step)])
            .chain(words.watch(step))
            .chain(words.take_out(step));
        for moment in moments {
            self.moment(&moment);
        }
        self.out.push('\n');
    }
}

/// A time as people say it: seconds up to two minutes, then minutes.
fn time(cost: Cost) -> String {
    let seconds = cost.to_seconds().round();
    if seconds <= 120.0 { format!("{seconds} s") } else { format!("{} min", (seconds / 60.0).round()) }
}
