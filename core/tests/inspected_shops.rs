//! A shop whose bender is not quite as its file says: a part is bent by the plan, measured with errors, and the next one bent by what the inspection says. After one turn what
//! is left is what scatters by chance.
//!
//! The shop's own law (springback, mark offset, stretch, a top line that is read askew) is hidden from the program; every bend goes wrong on its own besides. Seeds are fixed.

#[expect(unreachable_pub, reason = "shared with other tests")]
mod random;

use std::path::Path;

use random::Random;
use tubewright::centreline::BendId;
use tubewright::file::{Held, load_measured_part};
use tubewright::forming::{Blank, LeadEnd};
use tubewright::inspect::{Inspection, Next, Part, inspect};
use tubewright::plan::{Options, plan};
use tubewright::round::People;
use tubewright::units::{Angle, Length};

const BENDER: &str = "kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
pointer: { set_to: -1.5, when: first-bite }
dies: { d: { od: 25, clr: 100, max_angle: 195, clamp_length: 40, follower_length: 60, materials: { steel: { springback: { constant: 1, proportional: 0.02 } } } } }
";
const JOB: &str = "kind: job
units: mm
bender: b.yaml
tube: { od: 25, wall: 2, material: steel, die: d }
tubes: { part: { rows: [{ length: 350, bend: 62 }, { length: 240, rotation: 75, bend: 88 }, { length: 310, rotation: -110, bend: 45 }, { length: 280 }] } }
";

/// Standard deviations of measuring and of bending: mm, degrees, degrees of rotation.
const MEASURED: [f64; 2] = [0.3, 0.1];
const BENT: [f64; 3] = [0.2, 0.1, 0.2];

/// What a bend is commanded: mark, top line, reading.
type Command = (f64, f64, f64);

/// The shop as it is.
struct Shop {
    constant: f64,
    proportional: f64,
    offset: f64,
    stretch: f64,
    askew: f64,
    radius: f64,
}

/// A part: straights, bend angles and rotations, in mm and degrees.
#[derive(Clone, Debug)]
struct Made {
    straights: Vec<f64>,
    angles: Vec<f64>,
    rotations: Vec<f64>,
}

impl Shop {
    fn new(random: &mut Random) -> Self {
        Self {
            constant: random.within(2.0, 3.5),
            proportional: random.within(0.03, 0.05),
            offset: random.within(-5.0, 5.0),
            stretch: random.within(0.0, 0.02),
            askew: random.within(-3.0, 3.0),
            radius: 102.0,
        }
    }

    /// Bends a tube with these commands, from end A, each bend off by chance.
    fn bend(&self, random: &mut Random, commands: &[Command], lead: LeadEnd, cut: f64) -> Made {
        let mut made = Made { straights: Vec::new(), angles: Vec::new(), rotations: Vec::new() };
        let (mut at, mut psi) = (0.0, 0.0);
        for (place, (mark, top, reading)) in commands.iter().enumerate() {
            let angle = (reading + 1.5 - self.constant) / (1.0 + self.proportional) + random.normal() * BENT[1];
            let arc = self.radius * angle.to_radians() / (1.0 + self.stretch);
            let mark = mark + random.normal() * BENT[0];
            let start = if lead == LeadEnd::A { mark + self.offset } else { mark - self.offset - arc };
            // The top line of every other bend is laid askew.
            let roll = top + if place % 2 == 1 { self.askew } else { 0.0 } + random.normal() * BENT[2];
            made.straights.push(start - at);
            made.angles.push(angle);
            made.rotations.push(Angle::deg(roll - psi).wrapped().to_deg());
            (at, psi) = (start + arc, roll);
        }
        made.straights.push(cut - at);
        made.rotations[0] = 0.0;
        made
    }
}

/// A part as it is measured: by its legs from corner to corner, its angles and its rotations, each with an error.
fn record(random: &mut Random, made: &Made, radius: f64, order: &str) -> Part {
    let count = made.angles.len();
    let setback = |bend: usize| radius * libm::tan(made.angles[bend].to_radians() / 2.0);
    let mut legs = Vec::new();
    for (leg, straight) in made.straights.iter().enumerate() {
        let before = if leg > 0 { setback(leg - 1) } else { 0.0 };
        let after = if leg < count { setback(leg) } else { 0.0 };
        legs.push(straight + before + after + random.normal() * MEASURED[0]);
    }
    let mut read =
        |values: &[f64]| values.iter().map(|value| value + random.normal() * MEASURED[1]).collect::<Vec<_>>();
    let (angles, rotations) = (read(&made.angles), read(&made.rotations[1..]));
    let text = format!(
        "kind: measured-part\nunits: mm\njob: j.yaml\ntube: part\norder: \"{order}\"\nlegs: {legs:?}\nbends: {angles:?}\nrotations: {rotations:?}\n\
         accuracy: {{ length: {}, angle: {} }}\n",
        MEASURED[0], MEASURED[1]
    );
    let files = Held::default().with("b.yaml", BENDER).with("j.yaml", JOB).with("r.yaml", text);
    load_measured_part(&files, Path::new("r.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"))
}

fn commands(next: &[Next]) -> Vec<Command> {
    let whole = "all of it was measured";
    next.iter()
        .map(|next| {
            let (mark, top, reading) =
                (next.mark.expect(whole), next.top.expect(whole), next.dial_target.expect(whole));
            (mark.to_mm(), top.to_deg(), reading.to_deg())
        })
        .collect()
}

/// Errors over what they may be by chance: of straights, angles and rotations.
fn errors(part: &Part, made: &Made) -> [Vec<f64>; 3] {
    let rows = &part.wanted.as_ref().expect("it has a job").tube().centreline.rows;
    let wanted = rows.bends.iter().map(|row| row.length).chain([rows.last]);
    let straights = made.straights.iter().zip(wanted).map(|(made, wanted)| made - wanted.to_mm()).collect();
    let angles = made.angles.iter().zip(&rows.bends).map(|(made, row)| made - row.angle.to_deg()).collect();
    let rotations = made.rotations.iter().zip(&rows.bends).skip(1);
    let rotations = rotations.map(|(made, row)| (Angle::deg(*made) - row.rotation).wrapped().to_deg()).collect();
    [straights, angles, rotations]
}

fn mean_square(errors: &[f64]) -> f64 {
    errors.iter().map(|error| error * error).sum::<f64>() / errors.len() as f64
}

/// The commands of the plan, from end A, and its cut length.
fn planned(part: &Part, order: &str) -> (Vec<Command>, f64) {
    let job = &part.wanted.as_ref().expect("it has a job").job;
    let options = Options {
        tubes: Vec::new(),
        order: Some(order.to_owned()),
        accept_tight: false,
        best: 1,
        people: People::mm(),
    };
    let plan = plan(job, &options, &std::sync::atomic::AtomicBool::new(false), &mut |_| {}).expect("it is planned");
    let blank: &Blank = &plan.tubes[0].blank;
    let steps = &plan.tubes[0].steps;
    let of = |bend: usize| steps.iter().find(|step| step.bend == BendId(bend)).expect("every bend is made");
    let commands = (0..blank.bends.len())
        .map(|bend| (of(bend).mark.to_mm(), of(bend).top.to_deg(), of(bend).dial_target.to_deg()));
    (commands.collect(), blank.cut_length.to_mm())
}

fn shop_by_shop(order: &str, lead: LeadEnd) {
    let mut random = Random(20_261_130);
    let (mut before, mut after): ([Vec<f64>; 3], [Vec<f64>; 3]) = Default::default();
    for _ in 0..60 {
        let shop = Shop::new(&mut random);
        let sample = record(
            &mut random,
            &Made {
                straights: vec![350.0, 240.0, 310.0, 280.0],
                angles: vec![62.0, 88.0, 45.0],
                rotations: vec![0.0, 75.0, -110.0],
            },
            102.0,
            order,
        );
        let (commands_of_plan, cut) = planned(&sample, order);
        let first = shop.bend(&mut random, &commands_of_plan, lead, cut);
        let part = record(&mut random, &first, shop.radius, order);
        let told: Inspection = inspect(&part).expect("it has a shape");
        let cut = told.next_cut.map(Length::to_mm).expect("all of it was measured");
        let second = shop.bend(&mut random, &commands(&told.next), lead, cut);
        for (all, one) in before.iter_mut().zip(errors(&part, &first)) {
            all.extend(one);
        }
        for (all, one) in after.iter_mut().zip(errors(&part, &second)) {
            all.extend(one);
        }
    }
    // What is left of a straight: its two ends on both tubes, what the angles beside it do to it, three measurements of the first. Of an angle and a rotation: both
    // tubes and the measurement, or twice the scatter where that was left alone.
    let (length, angle, turn) =
        (libm::hypot(MEASURED[0], BENT[0]), libm::hypot(MEASURED[1], BENT[1]), libm::hypot(MEASURED[1], BENT[2]));
    let beside = 102.0 * 2.0 * 0.15_f64.to_radians();
    for (what, before, after, floor) in [
        ("straights", &before[0], &after[0], 3.0 * (length * length + beside * beside)),
        ("angles", &before[1], &after[1], 3.0 * angle * angle),
        ("rotations", &before[2], &after[2], 4.0 * turn * turn),
    ] {
        let (before, after) = (mean_square(before), mean_square(after));
        assert!(after <= floor, "{what}: {after} of {floor}; it was {before}");
        assert!(before > 4.0 * after, "{what}: {before} before, {after} after: there was nothing to mend");
    }
}

#[test]
fn one_turn_of_measuring_and_mending_leaves_what_scatters_end_a_leading() {
    shop_by_shop("1A 2A 3A", LeadEnd::A);
}

#[test]
fn one_turn_of_measuring_and_mending_leaves_what_scatters_end_b_leading() {
    shop_by_shop("3B 2B 1B", LeadEnd::B);
}
