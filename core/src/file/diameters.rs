//! The two diameters of a bend, in a record of test bends and in what a bender's file keeps of it.

use super::reader::{Limits, Page, counted};
use super::tree::Node;
use crate::forming::Diameters;
use crate::units::Length;

const HELP: &str = "the largest, then the smallest, across the bend where it is flattest: `diameters: [46.1, 42.0]`";

/// The largest diameter of a bend lies within these parts of the OD: less or more is another unit, or another tube.
const OF_OD: (f64, f64) = (0.9, 1.5);

/// Two diameters of a bend of tube of this OD, the larger first.
pub(super) fn diameters(page: &Page<'_>, node: &Node, what: &str, od: Option<Length>) -> Option<Diameters> {
    let items = page.items(node, what, HELP)?;
    let [largest, smallest] = items else {
        let count = counted(items.len(), "length");
        page.mistake("count-wrong", &node.span, format!("{what} has {count}; there are 2"), HELP);
        return None;
    };
    let read = |item| page.length(item, what, Limits::ABOVE_0);
    let (largest, smallest) = (read(largest), read(smallest));
    let (largest, smallest) = (largest?, smallest?);
    if smallest > largest {
        page.mistake("out-of-range", &node.span, format!("{what} begins with the smaller one"), HELP);
        return None;
    }
    if let Some(od) = od
        && !(od * OF_OD.0..=od * OF_OD.1).contains(&largest)
    {
        let (largest, od) = (page.shown(largest), page.shown(od));
        page.mistake(
            "out-of-range",
            &node.span,
            format!("{what} says {largest}, and no bend of a tube with an OD of {od} measures that across"),
            format!("see whether bare numbers are in {}, as this file says", page.unit.name()),
        );
        return None;
    }
    Some(Diameters { largest, smallest })
}
