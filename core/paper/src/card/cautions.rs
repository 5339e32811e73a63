//! What is to be minded, in full, at the end of a card. Where one of them bites in a step, the step says it too.

use tubewright::job::Stock;

use super::StepCard;
use crate::words::Words;

const FIGURES: &str = "These are layout figures. They do not show that a structure is strong, safe or allowed: local codes and licensed \
                       practice come first. Where a rule book governs the part, read its current text yourself: none is looked up here.";
const EYES: &str = "Wear eye protection to cut, grind and bend: scale and burrs fly.";
const EDGES: &str = "Cut ends and copes are as sharp as blades: deburr them before the tube is handled.";
const PLATED: &str = "Plating, zinc above all, is stripped before any welding or heating: its fume is poisonous.";
const CLOSED: &str = "A closed or plugged tube bursts when it is heated: give it a vent hole before it is welded.";
const HANDS: &str = "Hands, sleeves and hair stay out of die, follower, clamp and linkage. Gloves are for carrying: off before the drive moves.";
const SWEEP: &str = "Nobody but the operator comes near while it bends, and the operator stays outside the room that the tube sweeps. A leg out \
                     of plane swings wide, and rises or drops when the tube is turned.";
const FIXED: &str = "The bender is fixed to the floor or the bench: a stand that tips over crushes.";
const LOADED: &str = "A loaded bender holds energy in tube, frame and oil. Let the pressure off slowly, standing out of line with ram and links.";
const PINS: &str = "A pin is moved with the pressure off, never pulled or hammered under load, and is pushed fully home: one that is half \
                    in shears.";
const OIL: &str = "Oil from a pinhole leak goes through skin. Never feel for a leak by hand; oil under the skin is an emergency however small \
                   the hole.";
const KINKED: &str = "A tube that kinks, cracks or slips can let go: stop, let the pressure off, take it out.";
const DROPS: &str = "A long or lopsided tube gets its stand or second person before it is let go; a tail that slips off its stand turns the tube \
                     and spoils the roll too.";
const OVERBENT: &str = "Tube of a safety structure that is bent too far is not straightened, cold or hot. Chromoly and cold-drawn tube are not \
                        bent with a flame.";
const GUARDS: &str = "Guards and two-hand or foot controls stay as they are. Drive off and pressure down before die, clamp or follower are \
                      changed.";

/// All of them, most important first.
const ALL: [&str; 15] =
    [FIGURES, HANDS, SWEEP, FIXED, LOADED, PINS, OIL, KINKED, DROPS, OVERBENT, GUARDS, EYES, EDGES, PLATED, CLOSED];

/// Those of a tube that is only cut.
const STRAIGHT: [&str; 5] = [FIGURES, EYES, EDGES, PLATED, CLOSED];

/// All that apply to a tube, most important first.
pub(super) fn cautions(words: &Words<'_>, steps: &[StepCard]) -> Vec<&'static str> {
    if steps.is_empty() {
        return STRAIGHT.to_vec();
    }
    let Stock { density, wall, .. } = words.tube.stock;
    // Where the weight is not known it may be long or heavy all the same.
    let unknown = density.is_none() || wall.is_none();
    let drops = unknown || steps.iter().any(|step| step.stand.is_some() || step.hold.is_some());
    let pins = words.job.bender.pin.is_some();
    let applies = |caution: &&str| (drops || *caution != DROPS) && (pins || *caution != PINS);
    ALL.into_iter().filter(applies).collect()
}

/// Those of several tubes, each once.
pub(super) fn of_all<'a>(tubes: impl Iterator<Item = &'a [&'static str]>) -> Vec<&'static str> {
    let tubes: Vec<_> = tubes.collect();
    ALL.into_iter().filter(|caution| tubes.iter().any(|tube| tube.contains(caution))).collect()
}
