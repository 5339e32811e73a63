//! How far a finished tube may be off, against tubes built anew with every error: by finite differences, and by many drawn at random.
//!
//! 20,000 tubes of each shape, 200,000 where `TUBEWRIGHT_COUNT` is `full`. The variance of so many normal figures is off by sqrt(2 / draws) of itself, one
//! standard deviation; the seed is fixed, so a run that passes passes.

#[expect(unreachable_pub, reason = "shared with other tests")]
mod random;

use nalgebra::{Matrix3, Point3, Vector3};
use random::Random;
use tubewright::bender::Accuracy;
use tubewright::centreline::{BendId, Centreline, Row, Rows};
use tubewright::forming::{Blank, Law, LeadEnd, Springback, SpringbackSd};
use tubewright::tolerance::{Doubt, Scatter, Shape};
use tubewright::units::{Angle, Length};

fn draws() -> u32 {
    if std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|value| value == "full") { 200_000 } else { 20_000 }
}

/// A tube and the shop that bends it: one springback law for each of two dies, bends in turn on the one and the other.
struct Job {
    rows: Rows,
    leads: Vec<LeadEnd>,
    dies: Vec<usize>,
    laws: [Law; 2],
    radius_growth: bool,
}

/// What goes wrong: mm and radians, each bend's; and constant (radians) and proportional part of each die.
#[derive(Clone, Default)]
struct Errors {
    marks: Vec<f64>,
    angles: Vec<f64>,
    rotations: Vec<f64>,
    springback: [[f64; 2]; 2],
}

impl Job {
    /// Bends of 20 to 110 degrees on 100 to 140 mm, with stretch, straights of 150 to 600 mm, any rotation, either lead end.
    fn random(random: &mut Random, bends: usize) -> Self {
        let radius_growth = random.chance(2);
        let laws = [0, 1].map(|die| Law {
            radius_growth,
            stretch: random.within(-0.02, 0.06),
            ..Law::new(die, Length::mm(random.within(100.0, 140.0)), Length::ZERO, None).with(Springback {
                constant: Angle::deg(random.within(0.5, 2.0)),
                proportional: random.within(0.01, 0.05),
            })
        });
        let row = |place: usize, random: &mut Random| Row {
            length: Length::mm(random.within(150.0, 600.0)),
            rotation: if place == 0 { Angle::ZERO } else { Angle::deg(random.within(-180.0, 180.0)) },
            angle: Angle::deg(random.within(20.0, 110.0)),
        };
        let rows = Rows {
            bends: (0..bends).map(|place| row(place, random)).collect(),
            last: Length::mm(random.within(150.0, 600.0)),
        };
        let leads = (0..bends).map(|_| if random.chance(2) { LeadEnd::A } else { LeadEnd::B }).collect();
        let dies = (0..bends).map(|_| usize::from(random.chance(3))).collect();
        Self { rows, leads, dies, laws, radius_growth }
    }

    fn law(&self, bend: BendId) -> Law {
        self.laws[self.dies[bend.0]]
    }

    fn centreline(&self) -> Centreline {
        Centreline::from_rows(&self.rows, &|bend| self.law(bend).formed_radius()).expect("there is room")
    }

    fn blank(&self) -> Blank {
        Blank::new(&self.centreline(), Length::mm(38.1), Length::ZERO, Length::ZERO, &|bend| self.law(bend))
    }

    fn none(&self) -> Errors {
        let none = vec![0.0; self.leads.len()];
        Errors { marks: none.clone(), angles: none.clone(), rotations: none, springback: [[0.0; 2]; 2] }
    }

    /// The tube that comes out: the die turns as planned, the springback is another, the marks are off, and the blank has its length.
    fn bent(&self, blank: &Blank, errors: &Errors) -> Centreline {
        let mut at = 0.0;
        let mut radii = Vec::new();
        let mut bends = Vec::new();
        for (place, formed) in blank.bends.iter().enumerate() {
            let law = self.law(BendId(place));
            let [constant, proportional] = errors.springback[self.dies[place]];
            let back = 1.0 + law.proportional + proportional;
            let angle = (formed.die_angle.to_rad() - law.constant.to_rad() - constant) / back + errors.angles[place];
            let radius = if self.radius_growth { law.clr.to_mm() * back } else { law.clr.to_mm() };
            let arc = radius * angle / (1.0 + law.stretch);
            let start = match self.leads[place] {
                LeadEnd::A => formed.start.to_mm() + errors.marks[place],
                LeadEnd::B => formed.end.to_mm() + errors.marks[place] - arc,
            };
            bends.push(Row {
                length: Length::mm(start - at),
                rotation: formed.rotation + Angle::rad(errors.rotations[place]),
                angle: Angle::rad(angle),
            });
            radii.push(Length::mm(radius));
            at = start + arc;
        }
        let rows = Rows { bends, last: blank.cut_length - Length::mm(at) };
        Centreline::from_rows(&rows, &|bend| radii[bend.0]).expect("nearly the same tube")
    }

    fn doubts(&self, sd: SpringbackSd) -> Vec<Option<Doubt>> {
        let doubt = |die: &usize| {
            let Law { proportional, radius_growth, .. } = self.laws[*die];
            Some(Doubt { die: *die, proportional, radius_growth, sd })
        };
        self.dies.iter().map(doubt).collect()
    }

    fn scatter(&self, accuracy: &Accuracy, doubts: &[Option<Doubt>]) -> Scatter {
        Scatter::new(&Shape::new(&self.centreline(), &self.blank(), &|bend| self.leads[bend.0]), accuracy, doubts)
    }
}

fn nodes(line: &Centreline) -> Vec<Point3<f64>> {
    line.nodes.iter().map(|node| node.expect("no bend here is near half a turn")).collect()
}

const NONE: Accuracy = Accuracy { mark: Length::ZERO, bend: Angle::ZERO, rotation: Angle::ZERO };

/// Every covariance from central differences of a tube that is built anew: all nodes, each error on its own, the springback's correlated. A node's
/// covariance is a sum of squares of slopes, so it is compared to a millionth of its largest.
#[test]
fn covariances_are_those_of_tubes_built_anew() {
    let mut random = Random(11);
    for bends in [1, 2, 3, 5, 8] {
        let job = Job::random(&mut random, bends);
        let blank = job.blank();
        let slope = |set: &dyn Fn(&mut Errors, f64), step: f64| -> Vec<Vector3<f64>> {
            let at = |by: f64| {
                let mut errors = job.none();
                set(&mut errors, by);
                nodes(&job.bent(&blank, &errors))
            };
            at(step).iter().zip(at(-step)).map(|(plus, minus)| (plus - minus) / (2.0 * step)).collect()
        };
        let accuracy = Accuracy { mark: Length::mm(0.8), bend: Angle::deg(0.4), rotation: Angle::deg(0.7) };
        let correlation = random.within(-1.0, 1.0);
        let sd = SpringbackSd { constant: Angle::deg(0.3), proportional: 0.004, correlation: Some(correlation) };
        let mut wanted = vec![Matrix3::<f64>::zeros(); bends + 2];
        let mut add = |slopes: &[Vector3<f64>], sd: f64| {
            wanted.iter_mut().zip(slopes).for_each(|(sum, by)| *sum += by * by.transpose() * (sd * sd));
        };
        for place in 0..bends {
            add(&slope(&|errors, by| errors.marks[place] = by, 1e-2), 0.8);
            add(&slope(&|errors, by| errors.angles[place] = by, 1e-5), Angle::deg(0.4).to_rad());
            if place > 0 {
                add(&slope(&|errors, by| errors.rotations[place] = by, 1e-5), Angle::deg(0.7).to_rad());
            }
        }
        for die in 0..2 {
            let constant = slope(&|errors, by| errors.springback[die][0] = by, 1e-5);
            let proportional = slope(&|errors, by| errors.springback[die][1] = by, 1e-5);
            for ((sum, one), other) in wanted.iter_mut().zip(constant).zip(proportional) {
                let (one, other) = (one * sd.constant.to_rad(), other * sd.proportional);
                let both = one * other.transpose() * correlation;
                *sum += one * one.transpose() + other * other.transpose() + both + both.transpose();
            }
        }
        let found = job.scatter(&accuracy, &job.doubts(sd));
        for (node, (found, wanted)) in found.nodes.iter().zip(&wanted).enumerate() {
            let off = (found.expect("a corner") - wanted).amax();
            assert!(off <= 1e-6 * wanted.amax() + 1e-9, "{bends} bends, node {node}: {found:?} is not {wanted}");
        }
        // One degree more at each bend, by a change of that angle alone.
        for part in &found.by {
            let by = slope(&|errors, by| errors.angles[part.bend.0] = by, 1e-5)[bends + 1] * Angle::deg(1.0).to_rad();
            assert!((by - part.per_degree).amax() < 1e-5, "{by} {}", part.per_degree);
        }
    }
}

/// Tubes drawn at random, with the whole geometry and not its slopes: 95 of 100 have end B within what is said, every node scatters as said, and 39 of 40
/// reach along the last leg.
#[test]
fn tubes_drawn_at_random_scatter_as_told() {
    let mut random = Random(23);
    let accuracy = Accuracy { mark: Length::mm(0.3), bend: Angle::deg(0.1), rotation: Angle::deg(0.15) };
    for (bends, correlation) in [(2, -0.95), (4, -0.8), (6, 0.3)] {
        let job = Job::random(&mut random, bends);
        let blank = job.blank();
        let sd = SpringbackSd { constant: Angle::deg(0.15), proportional: 0.002, correlation: Some(correlation) };
        let found = job.scatter(&accuracy, &job.doubts(sd));
        let at = nodes(&job.centreline());
        let leg = (at[bends + 1] - at[bends]).normalize();
        let within = found.springback.expect("it is known").within.to_mm();
        let (mut inside, mut reach) = (0, 0);
        let mut sums = vec![Matrix3::<f64>::zeros(); bends + 2];
        for _ in 0..draws() {
            let mut drawn = |sd: f64| (0..bends).map(|_| sd * random.normal()).collect::<Vec<f64>>();
            let mut errors = Errors {
                marks: drawn(accuracy.mark.to_mm()),
                angles: drawn(accuracy.bend.to_rad()),
                rotations: drawn(accuracy.rotation.to_rad()),
                springback: [[0.0; 2]; 2],
            };
            errors.rotations[0] = 0.0;
            for of_die in &mut errors.springback {
                let (one, other) = (random.normal(), random.normal());
                let mixed = correlation * one + (1.0 - correlation * correlation).sqrt() * other;
                *of_die = [sd.constant.to_rad() * one, sd.proportional * mixed];
            }
            let bent = nodes(&job.bent(&blank, &errors));
            for ((sum, bent), at) in sums.iter_mut().zip(&bent).zip(&at) {
                let off = bent - at;
                *sum += off * off.transpose();
            }
            let off = bent[bends + 1] - at[bends + 1];
            inside += u32::from(off.norm() <= within);
            reach += u32::from(off.dot(&leg) >= -found.extra[1].to_mm());
        }
        let draws = f64::from(draws());
        let four = |part: f64| 4.0 * (part * (1.0 - part) / draws).sqrt();
        assert!((f64::from(inside) / draws - 0.95).abs() < four(0.95) + 1e-3, "{bends}: {inside} within {within}");
        assert!((f64::from(reach) / draws - 0.975).abs() < four(0.975) + 1e-3, "{bends}: {reach} reach");
        for (node, (sum, found)) in sums.iter().zip(&found.nodes).enumerate() {
            let found = found.expect("a corner");
            let off = (sum / draws - found).amax();
            let bound = (4.0 * (2.0 / draws).sqrt() + 5e-3) * found.trace();
            assert!(off <= bound + 1e-9, "{bends}, node {node}: {} is not {found}", sum / draws);
        }
    }
}

/// Seen from the other end the same tube: what end A needs is what end B of the reversed tube needs.
#[test]
fn the_extra_of_end_a_is_that_of_end_b_of_the_reversed_tube() {
    let mut random = Random(5);
    let accuracy = Accuracy { mark: Length::mm(0.5), bend: Angle::deg(0.3), rotation: Angle::deg(0.5) };
    let sd = SpringbackSd { constant: Angle::deg(0.2), proportional: 0.003, correlation: Some(-0.9) };
    for bends in [1, 3, 6] {
        let job = Job::random(&mut random, bends);
        let row = |place: usize| {
            let old = bends - 1 - place;
            Row {
                length: if place == 0 { job.rows.last } else { job.rows.bends[old + 1].length },
                rotation: if place == 0 { Angle::ZERO } else { job.rows.bends[old + 1].rotation },
                angle: job.rows.bends[old].angle,
            }
        };
        let reversed = Job {
            rows: Rows { bends: (0..bends).map(row).collect(), last: job.rows.bends[0].length },
            leads: job.leads.iter().rev().map(|lead| lead.other()).collect(),
            dies: job.dies.iter().rev().copied().collect(),
            ..job
        };
        let [one, other] = [&job, &reversed].map(|job| job.scatter(&accuracy, &job.doubts(sd)).extra);
        assert!((one[0] - other[1]).abs().to_mm() < 1e-9 && (one[1] - other[0]).abs().to_mm() < 1e-9);
        assert!(one[0] > Length::ZERO);
    }
}

/// Two square bends: a constant that is off alike turns the last leg of a U twice, and that of a Z not at all.
#[test]
fn a_springback_that_is_off_alike_is_one_error() {
    let rows = |rotation: f64| Rows {
        bends: [0.0, rotation]
            .map(|rotation| Row { length: Length::mm(500.0), rotation: Angle::deg(rotation), angle: Angle::deg(90.0) })
            .to_vec(),
        last: Length::mm(2000.0),
    };
    let law = Law::new(0, Length::mm(100.0), Length::ZERO, None);
    let sd = SpringbackSd { constant: Angle::deg(1.0), proportional: 0.0, correlation: None };
    let end = |rotation: f64| {
        let job = Job {
            rows: rows(rotation),
            leads: vec![LeadEnd::A; 2],
            dies: vec![0; 2],
            laws: [law; 2],
            radius_growth: true,
        };
        let found = job.scatter(&NONE, &job.doubts(sd));
        assert!((found.springback.expect("it is known").share - 1.0).abs() < 1e-12);
        assert_eq!(found.within, Length::ZERO);
        found.nodes[3].expect("an end")[(1, 1)].sqrt()
    };
    let degree = Angle::deg(1.0).to_rad();
    let u = end(0.0);
    // Each bend turns what lies beyond about the end of its arc: 2100 mm along x from the first, 2000 mm from the second.
    assert!((u - (2000.0 + 100.0 + 2000.0) * degree).abs() < 1e-9, "{}", u / degree);
    let z = end(180.0);
    assert!((z - (2000.0 + 100.0 - 2000.0) * degree).abs() < 1e-9, "{}", z / degree);
}

#[test]
fn a_correlation_that_is_not_known_is_taken_at_its_worse() {
    let mut random = Random(3);
    let job = Job::random(&mut random, 4);
    let of = |correlation: Option<f64>| {
        let sd = SpringbackSd { constant: Angle::deg(0.2), proportional: 0.003, correlation };
        let doubts: Vec<_> =
            job.doubts(sd).into_iter().map(|doubt| doubt.map(|doubt| Doubt { die: 0, ..doubt })).collect();
        job.scatter(&NONE, &doubts).nodes[5].expect("an end").trace()
    };
    let known = [-1.0, -0.5, 0.0, 0.5, 1.0].map(|correlation| of(Some(correlation)));
    let worst = known.iter().fold(0.0_f64, |worst, one| worst.max(*one));
    assert!((of(None) / worst - 1.0).abs() < 1e-12);
    assert!(known[0] < 0.5 * worst, "it matters");
}

#[test]
fn what_is_not_known_is_said() {
    let mut random = Random(4);
    let job = Job::random(&mut random, 3);
    let accuracy = Accuracy { mark: Length::mm(0.5), bend: Angle::deg(0.3), rotation: Angle::deg(0.5) };
    let sd = SpringbackSd { constant: Angle::deg(0.2), proportional: 0.003, correlation: None };
    let none = job.scatter(&accuracy, &[None, None, None]);
    assert_eq!((none.springback, none.unknown.len(), none.whole()), (None, 3, none.within));
    let mut doubts = job.doubts(sd);
    doubts[1] = None;
    let some = job.scatter(&accuracy, &doubts);
    assert_eq!(some.unknown, [BendId(1)]);
    assert!(some.whole() > some.within);
    assert_eq!((some.within, &some.by), (none.within, &none.by));
}

/// Three legs of 1000 mm along x, y and z: a degree of rotation before the second bend moves the end by 1000 mm times a degree, 17.453 mm.
#[test]
fn one_degree_over_a_metre_is_seventeen_and_a_half_millimetres() {
    let radius = 100.0;
    let square =
        |length, rotation| Row { length: Length::mm(length), rotation: Angle::deg(rotation), angle: Angle::deg(90.0) };
    let rows = Rows {
        bends: vec![square(1000.0 - radius, 0.0), square(1000.0 - 2.0 * radius, 90.0)],
        last: Length::mm(1000.0 - radius),
    };
    let centreline = Centreline::from_rows(&rows, &|_| Length::mm(radius)).expect("there is room");
    let law = Law::new(0, Length::mm(radius), Length::ZERO, None);
    let blank = Blank::new(&centreline, Length::mm(38.1), Length::ZERO, Length::ZERO, &|_| law);
    let shape = Shape::new(&centreline, &blank, &|_| LeadEnd::A);
    let accuracy = Accuracy { mark: Length::ZERO, bend: Angle::ZERO, rotation: Angle::deg(1.0) };
    let found = Scatter::new(&shape, &accuracy, &[None, None]);
    // Only the rotation before bend 2 counts, in one direction: 1.96 times 17.453 mm.
    assert!((found.within.to_mm() / 1.959_96 - 17.453).abs() < 1e-3, "{}", found.within.to_mm());
    assert!((found.by[1].share - 1.0).abs() < 1e-9);
}
