//! What a tape, a drawing or a spreadsheet calls a length, and how lengths are printed for people.
#![expect(clippy::print_stdout, reason = "an example")]

use tubewright::round::{Fraction, People, Units};
use tubewright::units::{Length, LengthUnit, length};

fn main() {
    let people = People { units: Units::Inch(Fraction::ThirtySeconds) };
    for text in ["44 1/2", "3' 8 1/2\"", "113 cm", "-3 1/2", "3 5/4\"", "44,5", "7' 13\""] {
        match length(text, LengthUnit::Inch) {
            Ok(length) => println!("{text:>12}  is {} mm, {}", length.to_mm(), people.length_with_unit(length)),
            Err(refusal) => {
                println!("{text:>12}  is refused at {:?}: {}", &text[refusal.at], refusal.reason);
                if let Some(way_out) = refusal.way_out {
                    println!("{:>12}  {way_out}", "");
                }
            }
        }
    }
    // Rounded once, from the sum: five times 3 1/32.
    let sum: Length = [Length::inch(3.03125); 5].into_iter().sum();
    println!("{:>12}  {}", "in all", people.length_with_unit(sum));
}
