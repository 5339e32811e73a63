//! The words of a tube and of its steps, one moment after the other in the order of the hands.
//!
//! Three moments of a step are equally large and stand in this order: which END and MARK, which leg goes UP or DOWN, where to STOP. A short
//! bend can be pushed again; a wrong end or a wrong roll cannot be mended.

use std::fmt::Write as _;
use std::path::Path;

use nalgebra::Vector3;
use serde::Serialize;
use tubewright::bender::{BendPlane, Bender, PointerSet};
use tubewright::clearance::Verdict;
use tubewright::forming::{BentWall, LeadEnd};
use tubewright::job::{Cut, Job, When};
use tubewright::plan::{BendFitness, EndPlan, PlanStep, Side, SpringbackFrom, TubePlan, numbered};
use tubewright::round::People;
use tubewright::units::{Angle, Length};

/// The order of a tube that cannot be bent as planned.
pub const DO_NOT_CUT: &str = "DO NOT CUT";

/// What rules that the tube breaks stand under.
pub const NOT_KEPT: &str = "Rules not kept";

/// What the shop's own rule set stands under.
pub const RULES: &str = "The shop's own rules";

/// What limits that are kept do not say.
const FIGURES_ONLY: &str = "These are figures: that a limit is kept does not show that a part or a structure is strong or allowed. Local rules \
                            and licensed practice come first.";

/// What the limits of that rule set stand under, where they do not follow it.
pub const LIMITS: &str = "Rules, limit by limit";

/// How marks and top lines are put on.
pub const MARKING: &str = "all taped from end A on the straight blank; each a full ring with its number. The top line of a bend is drawn \
                           so far clockwise from the reference line, looking from end A.";

/// What is to be minded at every bender, and what the figures do not say.
pub const CAUTIONS: &str = "Hands, sleeves and hair out of the die, follower and ram; nobody in the room that the tube sweeps. Let the \
                            pressure off before a pin is touched. Stop if the tube kinks, cracks or slips. These are layout figures: they \
                            do not show that a structure is strong or allowed; local codes and licensed practice come first.";

/// One moment of a step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Moment {
    /// What it is about, a word or two.
    pub about: String,
    /// What is done or looked at.
    pub words: String,
    /// Whether it is one of those that are read at arm's length: end and mark, up or down, stop.
    pub main: bool,
}

impl Moment {
    /// A moment that is read in its turn.
    pub fn new(about: impl Into<String>, words: impl Into<String>) -> Self {
        Self { about: about.into(), words: words.into(), main: false }
    }

    /// A moment that is read at arm's length.
    pub fn main(about: impl Into<String>, words: impl Into<String>) -> Self {
        Self { main: true, ..Self::new(about, words) }
    }
}

/// What words are made from.
#[derive(Clone, Copy, Debug)]
pub struct Words<'a> {
    /// The job, for its bender.
    pub job: &'a Job,
    /// The tube.
    pub tube: &'a TubePlan,
    /// How figures are printed.
    pub people: &'a People,
}

/// A roll as an angle clockwise from the reference line, in [0, 360) degrees.
#[must_use]
pub fn clockwise(roll: Angle) -> Angle {
    Angle::deg(roll.to_deg().rem_euclid(360.0))
}

/// What two plane cuts need besides: they fit at the outside edge, and through the wall they stay planes.
const GRIND: &str = "Inside, the wall is left too long: grind the inside of the wall back where it touches first.";

impl Words<'_> {
    fn bender(&self) -> &Bender {
        &self.job.bender
    }

    /// Whether the tube can be bent.
    #[must_use]
    pub fn verdict(&self) -> &'static str {
        let tube = self.tube;
        let tight = tube.steps.iter().any(|step| step.verdict == Verdict::Tight);
        if let Some(rescue) = &tube.rescue {
            return match (tube.feasible, rescue.held, rescue.is_short()) {
                (false, ..) => "CANNOT BE BENT ON as asked",
                (true, true, false) if tube.steps.is_empty() => "ALL BENDS ARE MADE",
                (true, true, false) if tight => "CAN BE SAVED, while watching",
                (true, true, false) => "CAN BE SAVED",
                (true, true, true) => "CAN BE SAVED but for its end B, which comes short",
                (true, false, _) => "CANNOT BE SAVED WHOLE: see what it comes to",
            };
        }
        match (tube.feasible, tube.steps.is_empty(), tight) {
            // A search that was cut short proves nothing.
            (false, ..) if tube.notes.iter().any(|note| matches!(note.code, "stopped" | "bounded")) => {
                "NO ORDER FOUND, and none is ruled out"
            }
            (false, ..) => "CANNOT BE BENT as asked",
            (true, true, _) => "STRAIGHT, to be cut, no bend to make",
            (true, false, true) => "CAN BE BENT, while watching",
            (true, false, false) => "CAN BE BENT",
        }
    }

    /// Bender and die, for a tube that is bent at all.
    #[must_use]
    pub fn tools(&self) -> Option<String> {
        let bender = self.bender().name.as_deref().unwrap_or("without a name");
        let die = self.tube.die.as_ref().map_or_else(|| "several dies".to_owned(), |die| format!("die {die}"));
        (!self.tube.steps.is_empty()).then(|| format!("bender {bender}, {die}"))
    }

    /// OD, wall and material, as far as they are given.
    #[must_use]
    pub fn stock(&self) -> String {
        self.tube.stock.words(self.people)
    }

    /// Where the springback of each bend is from, in a sentence; `None` without a step.
    #[must_use]
    pub fn springback(&self) -> Option<String> {
        let mut groups: Vec<(String, Vec<usize>)> = Vec::new();
        for step in &self.tube.steps {
            let from = self.springback_of(step);
            match groups.iter_mut().find(|(words, _)| *words == from) {
                Some((_, bends)) => bends.push(step.bend.number()),
                None => groups.push((from, vec![step.bend.number()])),
            }
        }
        if let [(from, _)] = &groups[..] {
            return Some(format!("Springback {from}."));
        }
        let parts = groups.iter_mut().map(|(from, bends)| {
            bends.sort_unstable();
            let numbers: Vec<String> = bends.iter().map(ToString::to_string).collect();
            format!("of bend {} {from}", numbers.join(", "))
        });
        let parts: Vec<String> = parts.collect();
        (!parts.is_empty()).then(|| format!("Springback {}.", parts.join("; ")))
    }

    /// The same of one step, in words that follow "springback".
    fn springback_of(&self, step: &PlanStep) -> String {
        let from = &step.springback;
        let people = self.people;
        let record: Vec<String> = [
            from.date.as_ref().map(|date| format!("of {date}")),
            from.lot.as_ref().map(|lot| format!("lot {lot}")),
            from.od.map(|od| format!("OD {}", people.figure(od))),
            from.wall.map(|wall| format!("wall {}", people.figure(wall))),
        ]
        .into_iter()
        .flatten()
        .collect();
        let record = if record.is_empty() { String::new() } else { format!(" {}", record.join(", ")) };
        match from.from {
            SpringbackFrom::Measured => format!("by the test bends{record}"),
            SpringbackFrom::Borrowed => format!("by test bends of other tube{record}"),
            SpringbackFrom::Given => "as the bender's file gives it, without test bends".to_owned(),
            SpringbackFrom::Estimated => "by theory, not measured".to_owned(),
            SpringbackFrom::None => "not known, taken as 0".to_owned(),
        }
    }

    /// How far end B may be off by the shop's own accuracy, which bend matters most, what that means for an end that is cut afterwards, and what is
    /// left out; `None` where the accuracy is not stated, and for a tube without bends.
    #[must_use]
    pub fn accuracy(&self) -> Option<String> {
        let people = self.people;
        let scatter = self.tube.scatter.as_ref()?;
        let worst = scatter.worst()?;
        let within = people.at_most(scatter.within);
        let mut said = vec![format!(
            "by the shop's own accuracy 95 of 100 such tubes have end B within {within} of its place; the gaps that are kept allow for it."
        )];
        if let Some(springback) = scatter.springback {
            said.push(format!(
                "What the test bends leave open of the springback is off alike at every bend: with it 95 % lie within {}.",
                people.at_most(springback.within)
            ));
        }
        if worst.share > 0.0 {
            let (bend, share) = (worst.bend.number(), 100.0 * worst.share);
            let moved = people.length_with_unit(Length::mm(worst.per_degree.norm()));
            said.push(format!(
                "Bend {bend} matters most ({share:.0} %): 1 degree more there moves end B {moved}{}.",
                self.that_way(worst.per_degree)
            ));
            // What a cut before bending takes off is no longer there to be trimmed.
            let left = [(LeadEnd::A, self.tube.extra_a), (LeadEnd::B, self.tube.extra_b)]
                .map(|(end, extra)| if self.tube.cut_before(end).is_some() { Length::ZERO } else { extra });
            let short = ["A", "B"].into_iter().zip(left).zip(scatter.extra);
            let short = short.filter(|((_, left), needed)| *left > Length::ZERO && left < needed);
            let short: Vec<String> = short
                .map(|((end, left), _)| format!("; the {} left on end {end} is less", people.length_with_unit(left)))
                .collect();
            let [a, b] = scatter.extra.map(|extra| people.at_most(extra));
            said.push(format!(
                "An end that is cut to length after bending needs an extra of {a} at A, {b} at B{}.",
                short.concat()
            ));
        }
        let unknown: Vec<String> = scatter.unknown.iter().map(|bend| bend.number().to_string()).collect();
        let springback = match unknown.len() {
            0 => String::new(),
            all if all == scatter.by.len() => "the springback, whose error is not known, ".to_owned(),
            _ => format!("the springback of bend {}, whose error is not known, ", unknown.join(", ")),
        };
        said.push(format!("Left out: {springback}CLR, stretch, mark offset and the cut length."));
        Some(said.join(" "))
    }

    /// How hard its bends are on it, and by what that is known; `None` for a tube without bends.
    #[must_use]
    pub fn bent_wall(&self) -> Option<String> {
        let (people, fitness) = (self.people, &self.tube.fitness);
        let mut dies: Vec<(&str, &BendFitness)> = Vec::new();
        for (bend, formed) in fitness.bends.iter().zip(&self.tube.blank.bends) {
            let name = self.bender().dies[formed.die].name.as_str();
            if dies.iter().all(|(known, _)| *known != name) {
                dies.push((name, bend));
            }
        }
        let several = dies.len() > 1;
        let words = |(name, bend): &(&str, &BendFitness)| {
            let which = if several { format!("in die {name} ") } else { String::new() };
            let left = bend.outer_wall.map_or_else(
                || format!("{} of the wall", percent(bend.wall.outside)),
                |left| format!("a wall of {}", people.left(left)),
            );
            format!(
                "{which}the CLR is {} x OD; the outside of a bend keeps {left}, {} thinner, and is stretched by {}",
                people.ratio_down(bend.clr_over_od),
                percent(bend.wall.thinning()),
                percent(bend.wall.strain)
            )
        };
        let of_wall = fitness.od_over_wall.map_or_else(
            || "OD over wall: can't tell, no wall is given".to_owned(),
            |ratio| format!("the OD is {} x wall", people.ratio_up(ratio)),
        );
        let dies_words: Vec<String> = dies.iter().map(words).collect();
        (!dies.is_empty())
            .then(|| format!("{}; {of_wall}. Not measured ({}).", dies_words.join("; "), BentWall::SOURCE))
    }

    /// How the tube stands against each limit of the rules that the job names, and what that does not say; empty where no rule asks for a figure.
    #[must_use]
    pub fn limits(&self) -> Vec<String> {
        let limits = &self.tube.fitness.limits;
        let last = (!limits.is_empty()).then(|| FIGURES_ONLY.to_owned());
        limits.iter().map(|limit| limit.text.clone()).chain(last).collect()
    }

    /// A way in the job's axes, in words that follow a distance; nothing where no part of it is worth a line on a tape.
    fn that_way(&self, by: Vector3<f64>) -> String {
        let people = self.people;
        let parts = ["x", "y", "z"].into_iter().zip(by.iter()).filter_map(|(axis, mm)| {
            let size = people.length(Length::mm(mm.abs()));
            let sign = if *mm < 0.0 { "-" } else { "+" };
            (size != "0").then(|| format!("{axis} {sign}{size}"))
        });
        let parts: Vec<String> = parts.collect();
        if parts.is_empty() {
            return String::new();
        }
        // A tube from rows or legs has axes of its own.
        let named = self.tube.node_names.iter().any(Option::is_some);
        let axes = if named { "" } else { " (the first leg along +x, bend 1 toward +y)" };
        format!(": {}{axes}", parts.join(", "))
    }

    /// What is cut, and what of it is cut off again.
    #[must_use]
    pub fn cut(&self) -> Vec<String> {
        let people = self.people;
        let length = people.length_with_unit(self.tube.blank.cut_length);
        let after =
            if self.tube.rescue.is_some() { "It is cut: tape it again." } else { "Cut square, deburr, tape it again." };
        let mut lines = vec![format!("{length} of tube, {}. {after}", self.stock())];
        for (end, extra) in [(LeadEnd::A, self.tube.extra_a), (LeadEnd::B, self.tube.extra_b)] {
            if extra > Length::ZERO {
                let extra = people.length_with_unit(extra);
                let off = match self.tube.cut_before(end).map(|own| own.cut) {
                    None => "to be cut off after bending",
                    Some(Cut::Cope) => "which the cope takes off",
                    Some(Cut::TwoPlane) => "which the two cuts take off",
                };
                lines.push(format!("It has {extra} extra at end {}, {off}.", end.letter()));
            }
        }
        lines.extend(self.counted_from());
        lines
    }

    /// How an end that lands on another tube is cut: where it lands, where its cut lies, what two plane cuts in its place come to.
    #[must_use]
    pub fn end(&self, plan: &EndPlan) -> Vec<String> {
        let people = self.people;
        let EndPlan { cut: own, toe, toe_arc, is_reference, .. } = plan;
        let joint = &own.joint;
        let beside = if joint.offset.abs().to_mm() < 0.05 {
            "the axes meet".to_owned()
        } else {
            format!("the axes pass each other by {}", people.figure(joint.offset.abs()))
        };
        let set_off = own.set_off();
        let long = if set_off.abs().to_mm() < 0.05 {
            "at its node".to_owned()
        } else if set_off < Length::ZERO {
            format!("{} beyond its node", people.figure(-set_off))
        } else {
            format!("{} short of its node", people.figure(set_off))
        };
        let gap = if own.gap > Length::ZERO {
            format!(", a gap of {} for the weld included", people.figure(own.gap))
        } else {
            ", no gap for the weld".to_owned()
        };
        let lands = format!(
            "Lands on {} at {} degrees, {beside}. Its long point lies {long}{gap}; from there to the short point it is {}.",
            own.meets,
            people.angle(joint.angle),
            people.figure(own.depth())
        );
        let clocked = if *is_reference {
            "its toe is the reference line".to_owned()
        } else {
            format!(
                "its toe lies {} degrees clockwise from the reference line, looking from end A: {} around",
                people.angle(*toe),
                people.length_with_unit(*toe_arc)
            )
        };
        let when = match own.when {
            _ if self.tube.blank.bends.is_empty() => "",
            When::Before => " before bending",
            When::After => " after bending",
        };
        let planes = &joint.planes;
        let [toe_cut, heel_cut] = planes.mitre.map(|mitre| people.angle(mitre));
        let left = if planes.gap.to_mm() < 0.05 {
            "their outside edge fits as the cope's does".to_owned()
        } else {
            format!(
                "their outside edge leaves up to {} open, {} degrees around from the toe",
                people.figure(planes.gap),
                people.angle(clockwise(planes.gap_at))
            )
        };
        let two =
            format!("{toe_cut} degrees from square at the toe and {heel_cut} at the heel, opposite: {left}. {GRIND}");
        let cut = match own.cut {
            Cut::Cope => [
                format!("Cope it{when} by its template at 1:1 (layout --ends); {clocked}."),
                format!("Two plane cuts in place of that cope (`cut: two-plane`): {two}"),
            ],
            Cut::TwoPlane => [
                format!("Cut it{when} in two planes, lines on its template at 1:1 (layout --ends); {clocked}."),
                format!("The two plane cuts: {two}"),
            ],
        };
        std::iter::once(lands).chain(cut).collect()
    }

    /// What the figures of a tube are counted from whose ends land on others; `None` for any other tube.
    fn counted_from(&self) -> Option<String> {
        if self.tube.ends.is_empty() {
            return None;
        }
        let point = |end: LeadEnd, extra: Length| match (self.tube.end(end), extra > Length::ZERO) {
            (Some(_), false) => format!("the long point of end {}", end.letter()),
            (Some(_), true) => {
                format!("the cut end {} ({} beyond the long point)", end.letter(), self.people.length_with_unit(extra))
            }
            (None, _) => format!("the cut end {}", end.letter()),
        };
        let (a, b) = (point(LeadEnd::A, self.tube.extra_a), point(LeadEnd::B, self.tube.extra_b));
        Some(format!("The cut length runs from {a} to {b}; marks are taped from {a}."))
    }

    /// Where the seam goes, where the job says so, how far bends strain it there, and where that would be least.
    #[must_use]
    pub fn seam(&self) -> Option<String> {
        let people = self.people;
        let at = people.angle(self.tube.seam?);
        let place = format!("{at} degrees clockwise from the reference line, looking from end A.");
        let Some(seam) = &self.tube.fitness.seam else { return Some(place) };
        let [strain, least] = [seam.strain, seam.least].map(percent);
        if strain == percent(0.0) {
            return Some(format!("{place} No bend strains it there (neutral axis on the centreline, not measured)."));
        }
        let least = if strain == least {
            "nowhere is it less".to_owned()
        } else {
            let places: Vec<String> = seam.least_at.iter().map(|at| people.angle(*at)).collect();
            let (last, first) = places.split_last()?;
            format!("at {} or {last} degrees it would be {least} at most", first.join(", "))
        };
        Some(format!(
            "{place} It is strained by {strain} there, in {}; {least} (neutral axis on the centreline, not measured).",
            numbered(&seam.bends)
        ))
    }

    /// Which end goes into the clamp, and which mark to the index.
    ///
    /// # Panics
    /// Where the tube has no step of this number, counted from 1.
    #[must_use]
    pub fn end_and_mark(&self, number: usize) -> [Moment; 2] {
        let people = self.people;
        let step = &self.tube.steps[number - 1];
        let (end, trails) = (step.lead.letter(), step.lead.other().letter());
        let swap = if step.swap_ends { "SWAP THE ENDS. " } else { "" };
        let die = if self.tube.die.is_none() { format!(" Die {}.", step.die_name) } else { String::new() };
        let mark = people.length_with_unit(step.mark);
        let tail = people.length_with_unit(step.tail);
        [
            Moment::main(
                format!("END {end}"),
                format!("{swap}End {end} in the clamp, end {trails} behind the follower.{die}"),
            ),
            Moment::main(
                format!("MARK {}", step.bend.number()),
                format!("at {mark} from end A, to the index: {tail} of tube then lie behind the index."),
            ),
        ]
    }

    /// How it is laid in, where not every way is clear.
    #[must_use]
    pub fn put_in(&self, step: &PlanStep) -> Option<Moment> {
        let way = step.put_in?;
        Some(Moment::new("IN", format!("Lay it in {}: not every way is clear.", way.words_in())))
    }

    /// How it comes out, where not every way is clear.
    #[must_use]
    pub fn take_out(&self, step: &PlanStep) -> Option<Moment> {
        let way = step.take_out?;
        Some(Moment::new("OUT", format!("Take it out {}: not every way is clear.", way.words())))
    }

    /// What goes up or down, then the top line and the turn from the step before.
    ///
    /// # Panics
    /// Where the tube has no step of this number, counted from 1.
    #[must_use]
    pub fn turn(&self, number: usize) -> Vec<Moment> {
        let people = self.people;
        let step = &self.tube.steps[number - 1];
        let mut moments = Vec::new();
        if let Some(gauge) = &step.gauge {
            let side = match gauge.side {
                Side::Die => "on the die's side",
                Side::Away => "on the side away from the die",
            };
            if people.is_none(gauge.rise) {
                moments.push(Moment::main("LEVEL", format!("leg {} lies level, {side}.", gauge.leg)));
            } else {
                let way = up_or_down(gauge.rise > Angle::ZERO);
                let rise = people.angle(gauge.rise.abs());
                moments.push(Moment::main(way, format!("leg {} by {rise} degrees to level, {side}.", gauge.leg)));
            }
        }
        for (end, up) in ['A', 'B'].into_iter().zip(step.ends_up) {
            // Less than the tube is thick is no height that anybody sees.
            if up.abs() > self.tube.stock.od {
                let height = people.length_with_unit(up.abs());
                let words = format!("end {end}, {height} from the tube's line at the die.");
                moments.push(Moment::main(up_or_down(up > Length::ZERO), words));
            }
        }
        let where_to = match self.bender().bend_plane {
            BendPlane::Horizontal => "uppermost",
            BendPlane::Vertical { .. } => "toward you",
        };
        let around = self.around(step);
        let mut words = format!("Top line {} {where_to}: {around}.", step.bend.number());
        if number > 1 && step.gauge.is_none() {
            words.push_str(" No leg shows the roll on a level.");
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
        // With nothing that sticks out the line alone tells the roll.
        moments.push(Moment { main: moments.is_empty(), ..Moment::new("TURN", words) });
        moments
    }

    /// Where a step's top line lies around the tube, always counted one way.
    #[must_use]
    pub fn around(&self, step: &PlanStep) -> String {
        if self.people.is_none(step.top) {
            return "the reference line itself".to_owned();
        }
        format!("{} around the tube, clockwise from the reference line", self.people.length_with_unit(step.top_arc))
    }

    /// Where to stop first and look: the reading at which the die has turned by the bend angle, so that no springback can make it too far. `None`
    /// where the springback is known.
    #[must_use]
    pub fn look(&self, step: &PlanStep) -> Option<Angle> {
        match step.springback.from {
            SpringbackFrom::Given | SpringbackFrom::Measured => None,
            SpringbackFrom::None | SpringbackFrom::Borrowed | SpringbackFrom::Estimated => {
                let formed = self.tube.blank.bends.get(step.bend.0)?;
                Some(self.bender().pointer.reading(formed.angle).min(step.dial_target))
            }
        }
    }

    /// How the pointer is set.
    #[must_use]
    pub fn pointer(&self, step: &PlanStep) -> Moment {
        let set_to = self.people.angle(step.dial_start);
        let words = match self.bender().pointer.when {
            PointerSet::SlackOut => format!("Clamp, take the slack out by hand, pointer to {set_to}."),
            PointerSet::FirstBite => format!("Clamp; pointer to {set_to} when the tube first resists."),
        };
        let off = if step.gauge.is_some() { "level and gloves off" } else { "gloves off" };
        Moment::new("SET", format!("{words} First bite, then look at mark and roll again; {off}."))
    }

    /// Where to stop, where the pin is moved, and what to do where springback is not measured.
    #[must_use]
    pub fn stop(&self, step: &PlanStep) -> Moment {
        let finest = self.bender().pointer.step;
        let target = self.people.dial(step.dial_target, finest);
        let look = self.look(step).map(|look| self.people.dial(look, finest));
        let mut words = match (&look, step.springback.from) {
            (None, _) => "on the dial, not past it: too far is not bent back.".to_owned(),
            (Some(_), SpringbackFrom::None) => {
                "on the dial: no springback is in it. Let off, read the angle, go on by what is missing.".to_owned()
            }
            (Some(_), SpringbackFrom::Estimated) => format!(
                "on the dial, for the springback is only estimated. Let off, read the angle, go on by what is missing: to {target} if it holds."
            ),
            (Some(_), _) => format!(
                "on the dial, for the springback was measured on other tube. Let off, read the angle, go on by what is missing: to {target} if it \
                 holds."
            ),
        };
        if !step.pin_moves.is_empty() {
            let readings: Vec<String> = step.pin_moves.iter().map(|reading| self.people.angle(*reading)).collect();
            let _ = write!(words, " Pin moved near {}, pressure off first.", readings.join(", "));
            if step.starts_one_hole_along() {
                words.push_str(" The last move comes just before the stop: start one hole along.");
            }
        }
        let stop = look.unwrap_or(target);
        Moment::main(format!("STOP {stop}"), words)
    }

    /// What comes nearest, where anything comes nearer than is comfortable, then the room that the tube takes.
    #[must_use]
    pub fn watch(&self, step: &PlanStep) -> Vec<Moment> {
        let people = self.people;
        let mut moments = Vec::new();
        if let Some(clearance) = step.tightest()
            && let Some(nearest) = clearance.nearest
        {
            let reading = self.bender().pointer.reading(nearest.die_angle);
            let what = obstacle(&clearance.obstacle);
            let gap = if clearance.verdict == Verdict::Contact {
                format!("The tube touches {what}")
            } else {
                format!("{} from {what}", people.gap(nearest.gap))
            };
            moments.push(Moment::new(
                "WATCH",
                format!(
                    "{gap} near {} on the dial, {} from end A, if the bender is as drawn.",
                    people.near(reading),
                    people.length_with_unit(nearest.blank)
                ),
            ));
        }
        let words = format!(
            "it sweeps out to {} from the die's axis, {} to {} above the floor: stand outside it.",
            people.room(step.swing.reach),
            people.height(step.swing.low),
            people.room(step.swing.high)
        );
        moments.push(Moment::new("ROOM", words));
        moments
    }
}

/// The name of a job: that of its file without the ending, and without letters that could move a terminal's cursor.
#[must_use]
pub fn job_name(file: &Path) -> String {
    file.file_stem().unwrap_or_default().to_string_lossy().chars().filter(|letter| !letter.is_control()).collect()
}

/// An obstacle in words: `the floor`, `the tube itself`, a solid by the name that it has in the bender's file.
#[must_use]
pub fn obstacle(name: &str) -> String {
    match name {
        "tube" => "the tube itself".to_owned(),
        "floor" | "die" | "clamp" | "follower" => format!("the {name}"),
        own => own.to_owned(),
    }
}

/// A part of a whole, to the nearest 0.1 %.
fn percent(part: f64) -> String {
    format!("{:.1} %", 100.0 * part)
}

fn up_or_down(up: bool) -> &'static str {
    if up { "UP" } else { "DOWN" }
}
