//! What the finished tube is checked by, and what to change on the next where a size is off.

use nalgebra::Point3;
use serde::Serialize;
use tubewright::centreline::BendId;
use tubewright::forming::LeadEnd;
use tubewright::job::Cut;
use tubewright::plan::TubePlan;
use tubewright::round::{People, Units};
use tubewright::units::{Angle, Length};

use super::check::{self, Check};
use super::rules::Roundness;
use super::{proportional, unit};
use crate::chain::Chain;
use crate::words::{Moment, Words};

/// A tube that rises less over the plane of its first two legs than this is taken for flat: a tape over a bench tells no less.
const FLAT: Length = Length::mm(2.0);

/// A bend that moves the ends apart by less than this for a degree is no way to mend their distance.
const TELLS: Length = Length::mm(1.0);

/// Where the mirror part would show: laid flat on its first two legs, end A left, opening toward you.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HandCheck {
    /// The place that is looked at: `end B`, or a corner.
    pub place: String,
    /// How far its centreline stands over that of the first two legs; negative under it. The mirror part has the opposite.
    #[serde(rename = "up_mm", serialize_with = "unit::mm")]
    pub up: Length,
}

/// What one bend does to the distance of the ends.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tuning {
    /// The bend's number.
    pub bend: usize,
    /// How much further apart one degree more of bend angle brings the cut ends.
    #[serde(rename = "mm_per_deg", serialize_with = "unit::mm")]
    pub per_degree: Length,
    /// The ends are this much too far apart,
    #[serde(rename = "off_mm", serialize_with = "unit::mm")]
    pub off: Length,
    /// then this is added to the reading; negative where it is taken off. `None` where the bend hardly moves the ends toward each other.
    #[serde(rename = "add_deg", serialize_with = "unit::deg_or_null")]
    pub add: Option<Angle>,
}

/// The same share at every bend that tells.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Each {
    /// The bends, by number.
    pub bends: Vec<usize>,
    /// What is added to the reading of each where the ends are as much too far apart as in [`Tuning::off`]; negative where it is taken off.
    #[serde(rename = "add_deg", serialize_with = "unit::deg")]
    pub add: Angle,
}

/// What the finished tube is checked by.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finished {
    /// Sizes to be taken: end to end, then each leg over its outside; none to an end that has its cut before bending.
    pub checks: Vec<Check>,
    /// How round each bend has to be; `None` where no rule of the job asks for it.
    pub roundness: Option<Roundness>,
    /// `None` for a flat tube, which has no hand, and where the first bend is over 175 degrees.
    pub hand: Option<HandCheck>,
    /// For each bend from end A; empty where the distance of the ends cannot be taped.
    pub tuning: Vec<Tuning>,
    /// For all bends alike; `None` where fewer than two bends tell, or not the same way.
    pub each: Option<Each>,
    /// The hand, ends that no size is taped to, and the tuning in words.
    pub says: Vec<Moment>,
}

impl Finished {
    pub(super) fn new(words: &Words<'_>) -> Self {
        let Words { job, tube, people } = *words;
        let end_to_end = check::end_to_end(words, &|_| true);
        let tuning = if end_to_end.is_some() { tuning(words) } else { Vec::new() };
        let checks = end_to_end.into_iter().chain(check::legs(words)).collect();
        let hand = hand(tube);
        let mut says = Vec::new();
        if let Some(hand) = &hand {
            let (way, other) = if hand.up > Length::ZERO { ("UP", "DOWN") } else { ("DOWN", "UP") };
            let height = people.length_with_unit(hand.up.abs());
            says.push(Moment::main(
                "HAND",
                format!(
                    "Laid flat on its first two legs, end A left, opening toward you: {} stands {height} {way}, middle of the tube over the \
                     middle of those legs. If it stands as much {other}, it is the mirror part.",
                    hand.place
                ),
            ));
        }
        says.extend(not_taped(tube));
        let each = each(words, &tuning);
        says.extend(tuning_words(&tuning, each.as_ref(), people));
        let roundness = Roundness::new(job.rules.as_ref(), tube, people);
        Self { checks, roundness, hand, tuning, each, says }
    }
}

/// Why no size runs to an end that has its cut before bending.
fn not_taped(tube: &TubePlan) -> Option<Moment> {
    let how = |end: LeadEnd| {
        let how = match tube.cut_before(end)?.cut {
            Cut::Cope => "coped",
            Cut::TwoPlane => "cut in two planes",
        };
        Some(format!("end {} is {how}: no size is taped to it", end.letter()))
    };
    let ends: Vec<String> = [LeadEnd::A, LeadEnd::B].into_iter().filter_map(how).collect();
    (!ends.is_empty()).then(|| Moment::new("ENDS", format!("{}.", ends.join("; "))))
}

/// With end A left and the opening of bend 1 toward you, up is against its normal, whichever way round the tube is drawn.
fn hand(tube: &TubePlan) -> Option<HandCheck> {
    tube.centreline.setback(BendId(0))?;
    let chain = Chain::new(tube, &|_| true);
    let up = |point: Point3<f64>| Length::mm(-point.z + 0.0);
    let corners = chain.bends.iter().filter_map(|bent| {
        let setback = tube.centreline.setback(bent.bend)?.to_mm();
        Some((format!("corner {}", bent.bend.number()), up(bent.start + bent.before * setback)))
    });
    let highest = corners.max_by(|(_, one), (_, other)| one.abs().to_mm().total_cmp(&other.abs().to_mm()));
    let end = ("end B".to_owned(), up(chain.end));
    // The far end is what is looked at, unless it comes back down to the bench.
    let (place, up) = match highest {
        Some(corner) if corner.1.abs() > end.1.abs() * 4.0 => corner,
        _ => end,
    };
    (up.abs() >= FLAT).then_some(HandCheck { place, up })
}

/// A round figure that the ends may be off by.
fn example(people: &People) -> Length {
    match people.units {
        Units::Mm(_) => Length::mm(10.0),
        Units::Inch(_) => Length::inch(0.5),
    }
}

fn tuning(words: &Words<'_>) -> Vec<Tuning> {
    let Words { job, tube, people } = *words;
    let chain = Chain::new(tube, &|_| true);
    let Some(along) = chain.toward_end() else { return Vec::new() };
    let off = example(people);
    let row = |(bent, formed): (&crate::chain::Bent, &tubewright::forming::FormedBend)| {
        let per_degree = Length::mm(bent.by_angle(chain.end).dot(&along) * Angle::deg(1.0).to_rad());
        let reading = 1.0 + proportional(job, tube, formed.die);
        let add = (per_degree.abs() >= TELLS).then(|| Angle::deg(-(off / per_degree) * reading));
        Tuning { bend: bent.bend.number(), per_degree, off, add }
    };
    chain.bends.iter().zip(&tube.blank.bends).map(row).collect()
}

/// The share that every bend takes so that together they make up for it; each degree of reading is 1 / (1 + proportional part) of a bend.
fn each(words: &Words<'_>, tuning: &[Tuning]) -> Option<Each> {
    let Words { job, tube, .. } = *words;
    let telling: Vec<(&Tuning, f64)> = tuning
        .iter()
        .zip(&tube.blank.bends)
        .filter(|(row, _)| row.add.is_some())
        .map(|(row, formed)| (row, row.per_degree.to_mm() / (1.0 + proportional(job, tube, formed.die))))
        .collect();
    let same_way = telling.iter().all(|(_, one)| *one > 0.0) || telling.iter().all(|(_, one)| *one < 0.0);
    if telling.len() < 2 || !same_way {
        return None;
    }
    let by_all: f64 = telling.iter().map(|(_, by)| by).sum();
    let off = telling[0].0.off.to_mm();
    Some(Each { bends: telling.iter().map(|(row, _)| row.bend).collect(), add: Angle::deg(-off / by_all) })
}

fn more_or_less(add: Angle, unit: &str, people: &People) -> String {
    let way = if add > Angle::ZERO { "more" } else { "less" };
    format!("{}{unit} {way}", people.angle(add.abs()))
}

fn tuning_words(tuning: &[Tuning], each: Option<&Each>, people: &People) -> Option<Moment> {
    let alone = tuning.iter().filter_map(|row| Some((row.bend, row.add.filter(|add| !people.is_none(*add))?)));
    let alone: Vec<String> = alone
        .enumerate()
        .map(|(place, (bend, add))| {
            let unit = if place == 0 && each.is_none() { " degrees" } else { "" };
            format!("{} at bend {bend}", more_or_less(add, unit, people))
        })
        .collect();
    let off = people.length_with_unit(tuning.first()?.off);
    let ways = match each.filter(|each| !people.is_none(each.add)) {
        Some(each) => {
            let bends: Vec<String> = each.bends.iter().map(usize::to_string).collect();
            let add = more_or_less(each.add, " degrees", people);
            format!("{add} at each of bends {}; or at one alone, {}", bends.join(", "), alone.join(", "))
        }
        None => alone.join(", or "),
    };
    let words = format!(
        "ends {off} too far apart: on the dial {ways}. Too near: the other way round; other amounts in proportion. More can still be added \
         to this tube, less is for the next."
    );
    (!alone.is_empty()).then(|| Moment::new("TUNE", words))
}
