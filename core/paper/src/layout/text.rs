//! Chalk coordinates as plain text of 80 columns.

use super::chalk::{Arc, Layout, Plane, TubeLayout};
use crate::page::{BLANK, rule, table, title, wrapped};

/// The whole layout.
#[must_use]
pub fn text(layout: &Layout) -> String {
    let mut out = String::new();
    for tube in &layout.tubes {
        head(&mut out, layout, tube);
        for plane in &tube.layouts {
            self::plane(&mut out, layout, tube, plane);
        }
    }
    out
}

fn head(out: &mut String, layout: &Layout, tube: &TubeLayout) {
    rule(out);
    let date = layout.date.as_deref().unwrap_or(BLANK);
    wrapped(
        out,
        "",
        &format!("LAYOUT: job {}, date {date}, fingerprint of the files {}", layout.job, layout.fingerprint),
    );
    wrapped(out, "", &format!("{}: {}", tube.name, tube.verdict));
    if !tube.feasible {
        wrapped(out, "", "This is its shape only. DO NOT CUT: tubewright plan says why not.");
    }
    rule(out);
    wrapped(out, "", &format!("{} {}", tube.says, sentence(&tube.stock)));
    wrapped(
        out,
        "",
        &format!(
            "Snap the baseline and mark 0 at its left. Along: on the line from 0. Offset: square to it, away from you; minus: toward you. All \
             points are on the middle of the tube; its edges lie half an OD to either side. Lengths in {}.",
            if layout.units == "in" { "inches" } else { "mm" }
        ),
    );
    out.push('\n');
}

fn sentence(words: &str) -> String {
    format!("{words}.")
}

fn plane(out: &mut String, layout: &Layout, tube: &TubeLayout, plane: &Plane) {
    title(out, &format!("{}: {}", tube.name, plane.name));
    let line = match plane.baseline.as_str() {
        "end to end" => "from end to end.".to_owned(),
        leg => format!("the middle of {leg}."),
    };
    let sides = if plane.one_side { "" } else { " The tube lies on both sides of it." };
    wrapped(out, "Baseline  ", &format!("{line}{sides}"));
    let unit = layout.units;
    let mut rows = vec![["point".to_owned(), format!("along, {unit}"), format!("offset, {unit}")]];
    rows.extend(
        plane.points.iter().map(|spot| [spot.name.clone(), spot.printed.along.clone(), spot.printed.offset.clone()]),
    );
    table(out, &rows);
    for (place, arc) in plane.arcs.iter().enumerate() {
        wrapped(out, if place == 0 { "Arcs      " } else { "          " }, &self::arc(arc, unit));
    }
    for (place, check) in plane.diagonals.iter().enumerate() {
        let words = format!(
            "{} to {}: {} {unit}, within {} {unit}.",
            check.from, check.to, check.printed, check.printed_within
        );
        wrapped(out, if place == 0 { "Check     " } else { "          " }, &words);
    }
    out.push('\n');
}

fn arc(arc: &Arc, unit: &str) -> String {
    let [radius, inside, outside] = &arc.printed_radii;
    if !arc.struck {
        return format!(
            "bend {}: finished radius {radius} {unit}, too long to be struck: a thin lath through start, middle and end.",
            arc.bend
        );
    }
    format!(
        "bend {}: strike from along {}, offset {}: middle of the tube {radius} {unit}, inside edge {inside}, outside edge {outside}.",
        arc.bend, arc.printed.along, arc.printed.offset
    )
}
