//! Networks whose true points are known, with tapes that are off by chance: how often the true point lies within its 95 % ellipsoid, how often a tape that was
//! misread by 20 mm is named, and how often a good tape is blamed.
//!
//! 2,000 networks where `TUBEWRIGHT_COUNT` is `full`, else 200. A part that is to be p is within three standard deviations of it, sqrt(p (1 - p) / networks), but for
//! one run in 370; the seed is fixed, so a run that passes passes.

#[expect(unreachable_pub, reason = "shared with other tests")]
mod random;

use nalgebra::{Point3, Vector3};
use random::Random;
use tubewright::centreline::Taken;
use tubewright::survey::{Frame, Record, Survey, Tape, survey};
use tubewright::units::{Length, LengthUnit};

/// 95 of 100 sums of three squares of normal figures are below this (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4: 7.815).
const OF_95: f64 = 7.814_728;

fn networks() -> u32 {
    if std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|value| value == "full") { 2_000 } else { 200 }
}

/// The axes of a network of points p0, p1, and so on.
const FRAME: Frame = Frame { origin: 0, x: 1, xy: 2, up: Some(3) };

/// Points of a chassis some 1.5 m across, well apart from each other, the first four well off one plane.
fn points(random: &mut Random, count: usize) -> Vec<Point3<f64>> {
    loop {
        let points: Vec<Point3<f64>> = (0..count)
            .map(|_| Point3::new(random.within(0.0, 1500.0), random.within(0.0, 1000.0), random.within(0.0, 1000.0)))
            .collect();
        let apart = (0..count).all(|one| (0..one).all(|other| (points[one] - points[other]).norm() > 250.0));
        let [x, xy, up] = [1, 2, 3].map(|point| points[point] - points[0]);
        let normal = x.cross(&xy);
        if apart && normal.norm() > 300.0 * x.norm() && normal.normalize().dot(&up).abs() > 300.0 {
            return points;
        }
    }
}

/// All pairs taped, each off by chance, all with one standard deviation.
fn record(random: &mut Random, points: &[Point3<f64>], sd: f64) -> Record {
    let mut tapes = Vec::new();
    for to in 0..points.len() {
        for from in 0..to {
            let read = (points[to] - points[from]).norm() + sd * random.normal();
            tapes.push(Tape {
                from,
                to,
                read: Length::mm(read),
                taken: [Taken::Centre; 2],
                od: [Length::ZERO; 2],
                sd: Length::mm(sd),
            });
        }
    }
    Record {
        units: LengthUnit::Mm,
        date: None,
        points: (0..points.len()).map(|point| format!("p{point}")).collect(),
        frame: FRAME,
        tape_sd: Length::mm(sd),
        tapes,
        drops: Vec::new(),
        level_lines: 0,
        heights: Vec::new(),
        lines: Vec::new(),
        planes: Vec::new(),
        symmetries: Vec::new(),
        about: Vec::new(),
    }
}

/// The points in the frame.
fn framed(points: &[Point3<f64>]) -> Vec<Vector3<f64>> {
    let x = (points[1] - points[0]).normalize();
    let beside = points[2] - points[0];
    let y = (beside - x * x.dot(&beside)).normalize();
    let z = x.cross(&y);
    let z = z * z.dot(&(points[3] - points[0])).signum();
    points
        .iter()
        .map(|point| {
            Vector3::new(x.dot(&(point - points[0])), y.dot(&(point - points[0])), z.dot(&(point - points[0])))
        })
        .collect()
}

/// Whether a point lies within its 95 % ellipsoid.
fn is_within(told: &Survey, point: usize, truth: &Vector3<f64>) -> bool {
    let off = told.points[point].point().expect("all is told").coords - truth;
    let covariance = told.covariance(point, point);
    let inverse = covariance.try_inverse().expect("a point that the frame leaves open has three variances");
    (off.transpose() * inverse * off)[0] <= OF_95
}

#[test]
fn true_points_lie_within_their_ellipsoids_95_times_in_100() {
    let mut random = Random(20_261_130);
    let (count, mut within, mut blamed) = (networks(), 0, 0);
    for _ in 0..count {
        let size = 5 + random.below(3) as usize;
        let points = points(&mut random, size);
        let sd = random.within(0.5, 2.0);
        let told = survey(&record(&mut random, &points, sd)).expect("a sound network");
        // One point a network, so that the networks are one independent draw each.
        let point = 4 + random.below(points.len() as u64 - 4) as usize;
        within += u32::from(is_within(&told, point, &framed(&points)[point]));
        blamed += u32::from(!told.misread.is_empty());
        assert!(told.two_places.is_empty() && told.undetermined.is_empty());
    }
    let part = f64::from(within) / f64::from(count);
    let band = if count == 2_000 { 0.015 } else { 3.0 * (0.95 * 0.05 / f64::from(count)).sqrt() };
    assert!((part - 0.95).abs() <= band, "{within} of {count}");
    // Of a sound network one tape is listed where the whole fails, which 1 in 20 does, and one of some 15 tapes is beyond 3.29, which 1 in 1,000 is.
    let odds = 0.015 + 3.0 * (0.015 / f64::from(count)).sqrt();
    assert!(f64::from(blamed) / f64::from(count) <= odds, "{blamed} of {count} sound networks");
}

/// By the rule itself 1 network in 20 does not agree at 5 % once the misread tape is out, so that no more than 95 in 100 can be sure; another tape that explains
/// nearly as much takes away from that, too.
#[test]
fn a_tape_misread_by_20_mm_is_named_first_and_no_good_one_is_left_out() {
    let mut random = Random(20_261_201);
    let (count, mut first, mut sure, mut wrong) = (networks(), 0, 0, 0);
    for _ in 0..count {
        let size = 7 + random.below(2) as usize;
        let points = points(&mut random, size);
        let mut record = record(&mut random, &points, 1.0);
        let sound = survey(&record).expect("a sound network");
        // Enough redundancy: a mistake of 20 mm shows as 10 standard deviations or more.
        let checked: Vec<usize> =
            (0..record.tapes.len()).filter(|tape| sound.readings[*tape].redundancy > 0.25).collect();
        let slip = checked[random.below(checked.len() as u64) as usize];
        let by = if random.chance(2) { 20.0 } else { -20.0 };
        record.tapes[slip].read += Length::mm(by);
        let told = survey(&record).expect("a sound network");
        assert!(told.misread.iter().any(|misread| misread.reading == slip), "{:?}", told.misread);
        first += u32::from(told.misread[0].reading == slip);
        if let Some(misread) = told.sure() {
            if misread.reading == slip {
                sure += 1;
                // Within five standard deviations of what the others know of that tape.
                let off = (misread.by.to_mm() - by).abs();
                assert!(off < 5.0 / sound.readings[slip].redundancy.sqrt(), "{misread:?} {by}");
            } else {
                wrong += 1;
            }
        }
    }
    let part = |of: u32| f64::from(of) / f64::from(count);
    assert!(part(first) >= 0.95, "{first} of {count} were named first");
    assert!(part(sure) >= 0.75, "{sure} of {count} were sure");
    assert!(part(wrong) <= 0.001, "{wrong} of {count} were blamed wrongly");
}
