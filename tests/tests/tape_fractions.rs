//! Decimals to the fractions of a tape.
//!
//! Source: rounding to the nearest fraction with ties up (common practice, no source), worked out by hand. Inches.

use tubewright::round::{Fraction, People, Units};
use tubewright::units::{Length, LengthUnit, length};

const TABLE: [(&str, [&str; 3]); 12] = [
    ("19.522617", ["19 1/2", "19 17/32", "19 33/64"]),
    ("36.512640", ["36 1/2", "36 1/2", "36 33/64"]),
    ("71.260309", ["71 1/4", "71 1/4", "71 17/64"]),
    ("94.775641", ["94 3/4", "94 25/32", "94 25/32"]),
    ("115.448987", ["115 7/16", "115 7/16", "115 29/64"]),
    ("51.415927", ["51 7/16", "51 13/32", "51 27/64"]),
    ("49.970617", ["50", "49 31/32", "49 31/32"]),
    ("35.334562", ["35 5/16", "35 11/32", "35 21/64"]),
    ("112.274334", ["112 1/4", "112 9/32", "112 9/32"]),
    ("3.03125", ["3 1/16", "3 1/32", "3 1/32"]),
    ("5.96875", ["6", "5 31/32", "5 31/32"]),
    ("5.984375", ["6", "6", "5 63/64"]),
];

const FRACTIONS: [Fraction; 3] = [Fraction::Sixteenths, Fraction::ThirtySeconds, Fraction::SixtyFourths];

fn people(fraction: Fraction) -> People {
    People { units: Units::Inch(fraction) }
}

fn inches(text: &str) -> Length {
    length(text, LengthUnit::Inch).expect("a length")
}

#[test]
fn every_decimal_is_printed_as_the_table_has_it() {
    for (decimal, wanted) in TABLE {
        for (fraction, wanted) in FRACTIONS.into_iter().zip(wanted) {
            assert_eq!(people(fraction).length(inches(decimal)), wanted, "{decimal}");
        }
    }
}

#[test]
fn what_is_printed_is_read_back_as_that_fraction() {
    for (_, texts) in TABLE {
        for (fraction, text) in FRACTIONS.into_iter().zip(texts) {
            assert_eq!(people(fraction).length(inches(text)), text);
            assert_eq!(people(fraction).length(inches(&text.replace(' ', "-"))), text);
        }
    }
}

#[test]
fn a_sum_is_rounded_and_never_the_sum_of_rounded_parts() {
    // Five times 3 1/32 is 15 5/32; five times 3 1/16, each rounded first, would be 15 5/16.
    let part = inches("3.03125");
    let sum: Length = [part; 5].into_iter().sum();
    assert_eq!(people(Fraction::ThirtySeconds).length(sum), "15 5/32");
    assert_eq!(people(Fraction::Sixteenths).length(sum), "15 3/16");
}
