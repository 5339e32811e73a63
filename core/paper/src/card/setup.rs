//! What is got ready before the first bend.

use tubewright::bender::Bender;

use super::Room;
use crate::words::{Moment, Words};

/// The moments of setting up, in their order; empty for a tube without bends.
pub(super) fn setup(words: &Words<'_>, dies: &[String], room: Option<&Room>) -> Vec<Moment> {
    let Some(room) = room else { return Vec::new() };
    let Words { job, tube, people } = *words;
    let die = match dies {
        [die] => format!("{die}, with its clamp and follower,"),
        _ => "as each step says, with its clamp and follower,".to_owned(),
    };
    let od = people.figure(tube.stock.od);
    let mut moments = vec![
        Moment::new("DIE", format!("{die} for OD {od}. Groove dry and clean, follower greased.")),
        Moment::new("BENDER", bender(&job.bender, tube.notes.iter().any(|note| note.code == "level-first"))),
        Moment::new(
            "TUBE",
            "End A marked so that it cannot be rubbed off. Reference line along the whole tube in an angle iron, with ink or soapstone, \
             never scratched.",
        ),
    ];
    moments.extend(words.seam().map(|seam| Moment::new("SEAM", seam)));
    moments.push(Moment::new("FLOOR", room.words.as_str()));
    moments
}

fn bender(bender: &Bender, planes: bool) -> String {
    let level = match (planes, bender.level) {
        (false, _) => "Fixed, so that it cannot tip.",
        (true, Some(_)) => "Fixed and steady; its tilt is reckoned in, so do not level it anew.",
        (true, None) => "Fixed, steady and level, along the tube and across: the turn is set with a level.",
    };
    level.to_owned()
}
