//! Ends of tubes that land on other tubes: read with each tube, fitted once all tubes are known.

use core::ops::Range;

use super::keys;
use super::mistake::{Mistake, nearest, quoted};
use super::reader::{Block, Limits, Page, listed};
use crate::centreline::SAME_NODE;
use crate::cope::{CopeMistake, Joint};
use crate::forming::LeadEnd;
use crate::job::{Cut, End, Tube, When};
use crate::round::People;
use crate::units::Length;

/// Both ends of a tube, by their place in [`Tube::ends`].
const ENDS: [(LeadEnd, &str); 2] = [(LeadEnd::A, "a"), (LeadEnd::B, "b")];

/// What the file says of an end.
#[derive(Clone, Debug)]
pub(super) struct EndGiven {
    meets: String,
    /// Where the other tube is named.
    at: Range<usize>,
    gap: Length,
    cut: Cut,
    when: When,
}

/// The ends of one tube.
pub(super) fn read_ends(page: &Page<'_>, block: &Block<'_>) -> [Option<EndGiven>; 2] {
    const CUTS: [(&str, Cut); 2] = [("cope", Cut::Cope), ("two-plane", Cut::TwoPlane)];
    const TIMES: [(&str, When); 2] = [("before", When::Before), ("after", When::After)];
    let Some(ends) = block.block("ends", keys::ENDS) else { return [None, None] };
    ENDS.map(|(_, key)| {
        let end = ends.block(key, keys::END)?;
        let help = "name the tube that runs through: `meets: hoop`";
        let meets = end.need("meets", help).and_then(|node| page.name(node, &end.of("meets")));
        let gap = end.length("gap", Limits::FROM_0).unwrap_or_default();
        let cut = end.word("cut", &CUTS).unwrap_or_default();
        let when = end.word("when", &TIMES).unwrap_or_default();
        Some(EndGiven { meets: meets?.to_owned(), at: end.value_at("meets"), gap, cut, when })
    })
}

/// Fits all ends; what does not fit is noted where the other tube is named. False where anything was noted.
pub(super) fn fit_ends(page: &Page<'_>, tubes: &mut [Tube], given_of: &[[Option<EndGiven>; 2]]) -> bool {
    let noted = page.log.count();
    let all: Vec<(usize, usize)> = (0..tubes.len()).flat_map(|tube| [(tube, 0), (tube, 1)]).collect();
    let mut fitted = Vec::new();
    for (place, end) in all {
        let Some(given) = &given_of[place][end] else { continue };
        if let Some(through) = through(page, tubes, place, given)
            .filter(|through| !note_mutual(page, tubes, (place, end), given, (*through, &given_of[*through])))
        {
            fitted.extend(fit(page, tubes, place, end, given, through).map(|end_of| (place, end, through, end_of)));
        }
    }
    for (place, end, _, fits) in &fitted {
        tubes[*place].ends[*end] = Some(fits.clone());
    }
    for (place, end, through, fits) in &fitted {
        if let Some(given) = &given_of[*place][*end] {
            if let Some(mistake) = tubes[*place].cut_into_a_bend(ENDS[*end].0) {
                note(page, &tubes[*place], *end, given, &mistake);
            }
            note_cut_away(page, &tubes[*place], *end, given, &tubes[*through], &fits.joint);
        }
    }
    page.log.count() == noted
}

/// The tube that an end meets.
fn through(page: &Page<'_>, tubes: &[Tube], place: usize, given: &EndGiven) -> Option<usize> {
    let names = || tubes.iter().map(|tube| tube.name.as_str());
    let own = &tubes[place].name;
    if given.meets == *own {
        page.mistake(
            "end-meets-itself",
            &given.at,
            format!("the tube {} meets itself", quoted(own)),
            "name another tube, the one that runs through",
        );
        return None;
    }
    let found = names().position(|name| name == given.meets);
    if found.is_none() {
        let mistake = Mistake::new(
            "tube-unknown",
            page.place(&given.at),
            format!("there is no tube {} for the tube {} to meet", quoted(&given.meets), quoted(own)),
            format!("the tubes are {}", listed(names())),
        );
        page.log.add(match nearest(&given.meets, names()) {
            Some(meant) => mistake.label(format!("did you mean {}?", quoted(meant))).fix(meant),
            None => mistake.label("no such tube"),
        });
    }
    found
}

/// Notes where two ends at one place each say that the other tube runs through.
fn note_mutual(
    page: &Page<'_>,
    tubes: &[Tube],
    (place, end): (usize, usize),
    given: &EndGiven,
    (through, ends): (usize, &[Option<EndGiven>; 2]),
) -> bool {
    let node = |tube: &Tube, end: usize| if end == 0 { tube.centreline.start } else { tube.centreline.end().0 };
    let (tube, other) = (&tubes[place], &tubes[through]);
    let here = node(tube, end);
    let near = ((tube.stock.od + other.stock.od) / 2.0).to_mm();
    let back = ends.iter().enumerate().find_map(|(side, back)| {
        let back = back.as_ref().filter(|back| back.meets == tube.name)?;
        ((node(other, side) - here).norm() <= near).then_some((side, back))
    });
    let Some((side, back)) = back else { return false };
    // Said once, at the one that stands later in the file.
    if given.at.start > back.at.start {
        page.log.add(
            Mistake::new(
                "ends-mutual",
                page.place(&given.at),
                format!("{} and {} each meet the other: neither runs through", what(tube, end), what(other, side)),
                "take one of the two out: that tube runs through to its node",
            )
            .related(page.place(&back.at), "and here"),
        );
    }
    true
}

fn what(tube: &Tube, end: usize) -> String {
    format!("end {} of the tube {}", ENDS[end].0.letter(), quoted(&tube.name))
}

fn people(page: &Page<'_>) -> People {
    if page.unit.is_imperial() { People::inch() } else { People::mm() }
}

fn note(page: &Page<'_>, tube: &Tube, end: usize, given: &EndGiven, mistake: &CopeMistake) {
    let people = people(page);
    let message = format!("{}: {}", what(tube, end), mistake.words(&people, &quoted(&given.meets)));
    page.mistake(mistake.code(), &given.at, message, mistake.way_out(&people));
}

fn fit(page: &Page<'_>, tubes: &[Tube], place: usize, end: usize, given: &EndGiven, through: usize) -> Option<End> {
    let (tube, other) = (&tubes[place], &tubes[through]);
    match tube.joint(ENDS[end].0, other) {
        Ok(joint) => {
            let EndGiven { meets, gap, cut, when, .. } = given.clone();
            Some(End { meets, gap, cut, when, joint })
        }
        Err(mistake) => {
            note(page, tube, end, given, &mistake);
            None
        }
    }
}

/// Notes where an end lands on what the other tube's own cut takes away.
fn note_cut_away(page: &Page<'_>, tube: &Tube, end: usize, given: &EndGiven, other: &Tube, joint: &Joint) {
    let length = other.centreline.developed();
    let reach = [joint.along[0], length - joint.along[1]];
    for (side, reach) in reach.into_iter().enumerate() {
        let Some(cut) = &other.ends[side] else { continue };
        let by = cut.short_point() - reach;
        if by > SAME_NODE {
            note(page, tube, end, given, &CopeMistake::CutAway { end: ENDS[side].0, by });
        }
    }
}
