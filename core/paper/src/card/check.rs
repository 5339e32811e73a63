//! A size that a tape can take, and how far it may be off.

use serde::Serialize;
use tubewright::centreline::BendId;
use tubewright::forming::LeadEnd;
use tubewright::round::{People, dial};
use tubewright::units::{Angle, Length};

use super::{proportional, tape, unit};
use crate::chain::{Bent, Chain};
use crate::words::Words;

/// What a tolerance is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Within {
    /// Two of the shop's own standard deviations.
    Accuracy,
    /// What a tape tells: the shop's accuracy is not given, or finer.
    Tape,
}

/// One size to be taken.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Check {
    /// From where to where.
    pub faces: String,
    /// What it should be.
    #[serde(rename = "size_mm", serialize_with = "unit::mm")]
    pub size: Length,
    /// How far it may be off: what `within_from` says, and what the targets lose that are rounded down to the dial.
    #[serde(rename = "within_mm", serialize_with = "unit::mm")]
    pub within: Length,
    /// What that is from.
    pub within_from: Within,
    /// The size as printed, with its unit.
    pub printed: String,
    /// In words.
    pub words: String,
}

impl Check {
    fn new(faces: String, size: Length, deviation: Option<Length>, dial: Length, people: &People) -> Self {
        let finest = tape(people);
        let (own, within_from) = match deviation.map(|deviation| deviation * 2.0) {
            Some(own) if own > finest => (own, Within::Accuracy),
            _ => (finest, Within::Tape),
        };
        let within = own + dial;
        let printed = people.length_with_unit(size);
        let words = format!("{faces}: {printed}, within {}.", people.length_with_unit(within));
        Self { faces, size, within, within_from, printed, words }
    }
}

/// From the middle of one cut end to that of the other, after those bends for which `made` is true: whatever shape the tube has, that is one
/// straight tape, and every bend so far tells on it. `None` where an end has its cut before bending: there is no metal in its middle.
pub(super) fn end_to_end(words: &Words<'_>, made: &dyn Fn(BendId) -> bool) -> Option<Check> {
    let Words { job, tube, people } = *words;
    if [LeadEnd::A, LeadEnd::B].into_iter().any(|end| tube.cut_before(end).is_some()) {
        return None;
    }
    let accuracy = job.bender.accuracy.as_ref();
    let chain = Chain::new(tube, made);
    let along = chain.toward_end();
    let deviation = accuracy.zip(along).map(|(accuracy, along)| {
        let part = |(place, bent): (usize, &Bent)| {
            let mark = bent.by_mark().dot(&along) * accuracy.mark.to_mm();
            let angle = bent.by_angle(chain.end).dot(&along) * accuracy.bend.to_rad();
            // The roll of the first bend that is made turns the tube as a whole.
            let turn = if place == 0 { 0.0 } else { bent.by_turn_before(chain.end).dot(&along) };
            let turn = turn * accuracy.rotation.to_rad();
            mark * mark + angle * angle + turn * turn
        };
        Length::mm(chain.bends.iter().enumerate().map(part).sum::<f64>().sqrt())
    });
    let dial: f64 = along.map_or(0.0, |along| {
        chain.bends.iter().map(|bent| (bent.by_angle(chain.end).dot(&along) * lost(words, bent)).abs()).sum()
    });
    let faces = "cut end A to cut end B, straight across, middle to middle".to_owned();
    Some(Check::new(faces, Length::mm(chain.span()), deviation, Length::mm(dial), people))
}

/// The bend angle that is lost where a target is rounded down to the dial, radians.
fn lost(words: &Words<'_>, bent: &Bent) -> f64 {
    let Words { job, tube, .. } = *words;
    let Some(step) = tube.steps.iter().find(|step| step.bend == bent.bend) else { return 0.0 };
    let short = step.dial_target - dial(step.dial_target, job.bender.pointer.step);
    short.to_rad() / (1.0 + proportional(job, tube, step.die))
}

/// Each leg over its outside: from the cut end, or from where the outer edges of two legs would meet.
///
/// A leg at a bend without a corner is left out, and one with an end that has its cut before bending: it runs to the long point, where no tape is held.
pub(super) fn legs(words: &Words<'_>) -> Vec<Check> {
    let Words { job, tube, people } = *words;
    let accuracy = job.bender.accuracy.as_ref();
    let centreline = &tube.centreline;
    let bends = centreline.rows.bends.len();
    let chain = Chain::new(tube, &|_| true);
    let [beyond_a, beyond_b] = tube.beyond();
    let half_od = tube.stock.od / 2.0;
    let heel = |place: usize| {
        let angle = centreline.rows.bends[place].angle;
        half_od * libm::tan(angle.to_rad() / 2.0)
    };
    let mut checks = Vec::new();
    for (place, leg) in centreline.legs().into_iter().enumerate() {
        let Some(mut size) = leg else { continue };
        let has = |at: bool, end| at && tube.cut_before(end).is_some();
        if has(place == 0, LeadEnd::A) || has(place == bends, LeadEnd::B) {
            continue;
        }
        let mut variance = accuracy.map(|_| 0.0);
        let mut dial = 0.0;
        let mut face = |corner: Option<usize>, end: &str, extra: Length| match corner {
            None => {
                size += extra;
                format!("cut end {end}")
            }
            Some(corner) => {
                size += heel(corner);
                let bent = &chain.bends[corner];
                let grows = grows(bent, half_od, centreline.rows.bends[corner].angle, corner < place);
                dial += (grows * lost(words, bent)).abs();
                if let (Some(variance), Some(accuracy)) = (variance.as_mut(), accuracy) {
                    let angle = grows * accuracy.bend.to_rad();
                    *variance += accuracy.mark.to_mm().powi(2) + angle * angle;
                }
                format!("outside of corner {}", BendId(corner).number())
            }
        };
        let from = face(place.checked_sub(1), "A", beyond_a);
        let to = face((place < bends).then_some(place), "B", beyond_b);
        let deviation = variance.map(|variance: f64| Length::mm(variance.sqrt()));
        checks.push(Check::new(
            format!("leg {}, {from} to {to}", place + 1),
            size,
            deviation,
            Length::mm(dial),
            people,
        ));
    }
    checks
}

/// How much a leg over its outside grows for one radian more at the bend at one of its ends, mm: the setback and the heel grow by
/// (R + OD / 2) / (2 cos2(angle / 2)); on the side that the mark does not hold, the arc takes R / (1 + e) from the straight.
fn grows(bent: &Bent, half_od: Length, angle: Angle, beyond: bool) -> f64 {
    let cos = libm::cos(angle.to_rad() / 2.0);
    let corner = (bent.radius + half_od.to_mm()) / (2.0 * cos * cos);
    let held = (bent.lead == LeadEnd::A) != beyond;
    if held { corner } else { corner - bent.radius / (1.0 + bent.stretch) }
}
