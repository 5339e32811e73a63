//! Legs taped on the outside of a bend: what the blank is cut to, and where its marks are.
#![expect(clippy::print_stdout, reason = "an example")]

use tubewright::centreline::{BendId, Centreline, Leg, ShapeMistake, Taken};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::round::People;
use tubewright::units::{Angle, Length};

fn main() -> Result<(), Vec<ShapeMistake>> {
    let od = Length::inch(1.5);
    let springback =
        Law { constant: Angle::deg(1.1), proportional: 0.02, ..Law::new(0, Length::inch(5.0), Length::ZERO, None) };
    let outside = |inches| Leg { length: Length::inch(inches), a: Taken::Outside, b: Taken::Outside };
    let legs = [outside(24.0), outside(40.0), outside(24.0)];
    let bends = [Angle::deg(90.0), Angle::deg(60.0)];
    let tube = Centreline::from_legs(&legs, od, &bends, &[Angle::deg(-30.0)], &|_| springback.formed_radius())?;
    let blank = Blank::new(&tube, od, Length::inch(0.5), Length::ZERO, &|_| springback);

    let people = People::inch();
    println!("cut {}", people.length_with_unit(blank.cut_length));
    for bend in (0..bends.len()).map(BendId) {
        let (mark, tail) = (blank.mark(bend, LeadEnd::A), blank.tail(bend, LeadEnd::A));
        println!(
            "mark {} at {} from end A, {} behind it; top line {} around; die angle {}",
            bend.number(),
            people.length_with_unit(mark),
            people.length_with_unit(tail),
            people.length_with_unit(blank.top_arc(bend, LeadEnd::A)),
            people.angle_with_unit(blank.bends[bend.0].die_angle),
        );
    }
    Ok(())
}
