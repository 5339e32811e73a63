//! Marks, top lines and readings of the next piece.

use core::sync::atomic::AtomicBool;

use super::{Deviation, Inspection, LEFT_ALONE, Part};
use crate::bender::Accuracy;
use crate::centreline::{BendId, Centreline};
use crate::forming::{Blank, LeadEnd};
use crate::plan::{Options, plan};
use crate::round::People;
use crate::units::{Angle, Length};

/// One bend of the next piece; what hangs on something that was not measured is `None`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Next {
    /// Which bend.
    pub bend: BendId,
    /// The end that leads, as before.
    pub lead: LeadEnd,
    /// Its place in the order, from 0.
    pub step: usize,
    /// What was used on this piece: mark, top line, reading.
    pub used: (Length, Angle, Angle),
    /// Mark on the blank, from end A.
    pub mark: Option<Length>,
    /// Roll of the top line from the reference line, in (-180, 180].
    pub top: Option<Angle>,
    /// Reading to stop at, not rounded.
    pub dial_target: Option<Angle>,
}

/// What scatters from one tube to the next in each sort of figure, as one standard deviation.
struct Scatter {
    length: Option<Length>,
    angle: Option<Angle>,
    rotation: Option<Angle>,
}

impl Scatter {
    /// The record's accuracy and the bender's, as root of the sum of squares; `None` where the record does not say how well it was measured.
    fn new(part: &Part, bender: Option<Accuracy>) -> Self {
        let length = |own: Length, of: fn(Accuracy) -> Length| {
            Length::mm(libm::hypot(own.to_mm(), bender.map(of).unwrap_or_default().to_mm()))
        };
        let angle = |own: Angle, of: fn(Accuracy) -> Angle| {
            Angle::rad(libm::hypot(own.to_rad(), bender.map(of).unwrap_or_default().to_rad()))
        };
        Self {
            length: part.accuracy.length.map(|own| length(own, |shop| shop.mark)),
            angle: part.accuracy.angle.map(|own| angle(own, |shop| shop.bend)),
            rotation: part.accuracy.angle.map(|own| angle(own, |shop| shop.rotation)),
        }
    }

    /// What is worth taking back of a deviation; 0 for what is not, and for what is not told.
    fn worth(&self, off: &Deviation) -> Deviation {
        let length = |by: Length| self.length.is_none_or(|sd| by.abs() > sd * LEFT_ALONE);
        let beyond = |by: Angle, sd: Option<Angle>| sd.is_none_or(|sd| by.abs() > sd * LEFT_ALONE);
        Deviation {
            length: off.length.filter(|by| length(*by)),
            rotation: off.rotation.filter(|by| beyond(*by, self.rotation)),
            angle: off.angle.filter(|by| beyond(*by, self.angle)),
        }
    }
}

/// Works out the next piece by the same order, where there is a job.
pub(super) fn correct(part: &Part, told: &mut Inspection) {
    let Some(wanted) = &part.wanted else { return };
    let (job, tube) = (&wanted.job, wanted.tube());
    let options = Options {
        tubes: vec![tube.name.clone()],
        order: part.bent.order.clone(),
        accept_tight: false,
        best: 1,
        people: People::mm(),
    };
    let planned = plan(job, &options, &AtomicBool::new(false), &mut |_| {});
    let Some(planned) = planned.ok().and_then(|mut plan| plan.tubes.pop()) else {
        told.no_order = true;
        return;
    };
    told.no_order = planned.steps.len() < planned.blank.bends.len();
    let mut off = told.deviations.clone();
    if told.wrong_hand {
        // Turned the other way, these are what is left of the errors.
        for ((off, row), wanted) in off.iter_mut().zip(&told.rows).zip(&tube.centreline.rows.bends).skip(1) {
            off.rotation = row.rotation.map(|found| (-found.value - wanted.rotation).wrapped());
        }
    }
    let scatter = Scatter::new(part, job.bender.accuracy);
    let worth: Vec<Deviation> = off.iter().map(|off| scatter.worth(off)).collect();
    let compared = off
        .iter()
        .enumerate()
        .any(|(place, off)| off.length.is_some() || off.angle.is_some() || (place > 0 && off.rotation.is_some()));
    let any = |off: &Deviation| {
        off.length.is_some_and(|by| by != Length::ZERO)
            || off.angle.is_some_and(|by| by != Angle::ZERO)
            || off.rotation.is_some_and(|by| by != Angle::ZERO)
    };
    told.worth_changing = compared.then(|| told.wrong_hand || worth.iter().any(any));
    let taken_back = taken_back(&tube.centreline, &worth);
    told.worth = worth;
    let [beyond_a, beyond_b] = tube.beyond();
    let blank =
        Blank::new(&taken_back, tube.stock.od, beyond_a, beyond_b, &|bend| tube.law(&job.bender, tube.dies[bend.0]));
    let known = |of: &dyn Fn(&Deviation) -> bool, upto: usize| off.iter().take(upto).all(of);
    for (step, made) in planned.steps.iter().enumerate() {
        let (place, lead) = (made.bend.0, made.lead);
        let bent = &part.bent;
        let number = made.bend.number();
        let used = (
            bent.marks.get(&number).copied().unwrap_or(made.mark),
            bent.tops.get(&number).copied().unwrap_or(made.top),
            bent.readings.get(&number).copied().unwrap_or(made.dial_target),
        );
        let arcs = place + usize::from(lead == LeadEnd::B);
        let placed = known(&|off| off.length.is_some(), place + 1) && known(&|off| off.angle.is_some(), arcs);
        let rolled = known(&|off| off.rotation.is_some(), place + 1);
        let formed = (&planned.blank.bends[place], &blank.bends[place]);
        told.next.push(Next {
            bend: made.bend,
            lead,
            step,
            used,
            mark: placed.then(|| used.0 + (blank.mark(made.bend, lead) - planned.blank.mark(made.bend, lead))),
            top: rolled.then(|| (used.1 + (formed.1.psi - formed.0.psi).wrapped()).wrapped()),
            dial_target: off[place].angle.map(|_| used.2 + (formed.1.die_angle - formed.0.die_angle)),
        });
    }
    told.next.sort_by_key(|next| next.bend);
    let all = off.len();
    let whole = known(&|off| off.length.is_some(), all) && known(&|off| off.angle.is_some(), all - 1);
    let cut = part.bent.cut.unwrap_or(planned.blank.cut_length);
    told.next_cut = whole.then(|| cut + (blank.cut_length - planned.blank.cut_length));
}

/// The wanted rows with deviations taken off.
fn taken_back(wanted: &Centreline, off: &[Deviation]) -> Centreline {
    let mut line = wanted.clone();
    for (row, off) in line.rows.bends.iter_mut().zip(off) {
        row.length -= off.length.unwrap_or_default();
        row.rotation = (row.rotation - off.rotation.unwrap_or_default()).wrapped();
        row.angle -= off.angle.unwrap_or_default();
    }
    line.rows.last -= off.last().and_then(|off| off.length).unwrap_or_default();
    line
}
