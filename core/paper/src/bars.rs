//! Two bars by which a print is measured: 100 mm and 4 in.
//!
//! A program that prints pages may shrink them to fit, and nothing in a PDF file can forbid it. So every page that is used at full size has both bars.

use crate::draw::{Drawing, Label, Pen};

/// What is done with the bars.
pub const MEASURE: &str = "Print at 100 %. Measure a bar before use.";

/// Length of the longer bar, 4 in, in mm.
pub const FOUR_INCHES: f64 = 101.6;

/// Height of both bars with their names, mm.
pub const HEIGHT: f64 = 12.0;

/// Width of both bars with their names, mm.
pub const WIDTH: f64 = 116.0;

/// Draws both bars with their upper left corner at a point, mm. A bar is measured over its outermost ends.
pub fn bars(sheet: &mut Drawing, (x, y): (f64, f64)) {
    for (row, (length, ticks, name)) in [(100.0, 10, "100 mm"), (FOUR_INCHES, 4, "4 in")].into_iter().enumerate() {
        let base = y + 4.5 + 6.5 * row as f64;
        sheet.line((x, base), (x + length, base), Pen::LINE);
        for tick in 0..=ticks {
            let at = x + length * f64::from(tick) / f64::from(ticks);
            let high = if tick == 0 || tick == ticks { 3.5 } else { 1.8 };
            sheet.line((at, base - high), (at, base), Pen::LINE.width(0.2));
        }
        sheet.text(Label::new((x + FOUR_INCHES + 1.5, base), name).size(3.2).bold());
    }
}
