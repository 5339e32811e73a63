//! Corner points to rows, and back; and what is said of a path that cannot be.
#![expect(clippy::print_stdout, reason = "an example")]

use nalgebra::point;
use tubewright::centreline::{Centreline, ShapeMistake};
use tubewright::round::People;
use tubewright::units::Length;

fn main() {
    let path =
        [point![0.0, 0.0, 0.0], point![1000.0, 0.0, 0.0], point![1000.0, 1000.0, 0.0], point![1000.0, 1000.0, 600.0]];
    for radius in [100.0, 700.0] {
        match Centreline::from_nodes(&path, &|_| Length::mm(radius)) {
            Ok(tube) => show(&tube),
            Err(mistakes) => tell(&mistakes),
        }
    }
}

fn show(tube: &Centreline) {
    let people = People::mm();
    for row in &tube.rows.bends {
        let (rotation, angle) = (people.angle_with_unit(row.rotation), people.angle_with_unit(row.angle));
        println!("straight {:>5}  rotation {rotation:>4}  bend {angle}", people.length(row.length));
    }
    println!("straight {:>5}  in all {} mm", people.length(tube.rows.last), people.length(tube.developed()));
    if let Ok(same) = Centreline::from_rows(&tube.rows, &|bend| tube.radii[bend.0]) {
        println!("laid along x, its last node is at {:.3}", same.end().0);
    }
}

fn tell(mistakes: &[ShapeMistake]) {
    for mistake in mistakes {
        println!("{}: {mistake}", mistake.code());
        if let Some(way_out) = mistake.way_out(&People::mm(), &|node| node.to_string()) {
            println!("    {way_out}");
        }
    }
}
