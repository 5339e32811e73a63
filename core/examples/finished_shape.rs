//! A U-bend given by rows, as straights and arcs for drawing; from its other end, and in a mirror.
#![expect(clippy::print_stdout, reason = "an example")]

use tubewright::centreline::{Axis, Centreline, Plane, Row, Rows, Segment, ShapeMistake};
use tubewright::units::{Angle, Length};

fn main() -> Result<(), Vec<ShapeMistake>> {
    let row = |length, rotation, angle| Row {
        length: Length::mm(length),
        rotation: Angle::deg(rotation),
        angle: Angle::deg(angle),
    };
    let rows = Rows { bends: vec![row(300.0, 0.0, 180.0), row(150.0, 90.0, 30.0)], last: Length::mm(200.0) };
    let tube = Centreline::from_rows(&rows, &|_| Length::mm(80.0))?;
    for segment in tube.segments() {
        match segment {
            Segment::Straight { from, to, .. } => println!("straight from {from:.1} to {to:.1}"),
            Segment::Arc { bend, centre, angle, .. } => {
                println!("arc {} about {centre:.1} by {:.1} degrees", bend.number(), angle.to_deg());
            }
        }
    }
    // A bend of more than 175 degrees has no corner, so no leg ends there and no gain is known.
    println!("corners {:.1?}, gain {:?}", tube.nodes[1], tube.gain());
    let image = tube.mirrored(&Plane::square_to(Axis::Z, Length::ZERO)).reversed();
    println!("mirrored and from its other end: rotation {:.1}", image.rows.bends[1].rotation.to_deg());
    Ok(())
}
