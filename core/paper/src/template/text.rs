//! Templates as plain text of 80 columns: for whoever has no printer, a table of places around the tube.

use super::{Ends, Template};
use crate::page::{BLANK, rule, table, title, wrapped};
use tubewright::round::People;

/// All templates.
#[must_use]
pub fn text(ends: &Ends, people: &People) -> String {
    let mut out = String::new();
    for end in &ends.ends {
        rule(&mut out);
        let date = ends.date.as_deref().unwrap_or(BLANK);
        let head =
            format!("END TEMPLATE: job {}, date {date}, fingerprint of the files {}", ends.job, ends.fingerprint);
        wrapped(&mut out, "", &head);
        wrapped(&mut out, "", &end.name());
        if !end.feasible {
            wrapped(&mut out, "", "DO NOT CUT: this tube cannot be bent as asked; tubewright plan says why not.");
        }
        rule(&mut out);
        for line in &end.words {
            wrapped(&mut out, "", line);
        }
        if end.extra_mm > 0.0 {
            wrapped(&mut out, "", &format!("The long point lies {} from the cut end.", end.extra_words(people)));
        }
        out.push('\n');
        self::end(&mut out, end, people);
    }
    out
}

fn end(out: &mut String, end: &Template, people: &People) {
    title(out, "From the long point into the tube");
    let unit = people.unit();
    let heads = [
        "from the toe, degrees".to_owned(),
        format!("around, {unit}"),
        format!("cut, {unit}"),
        format!("inside edge, {unit}"),
    ];
    let row = |row: &super::Row| {
        [
            people.angle(row.turn),
            people.length(row.around),
            people.column(row.cut),
            row.inside.map_or_else(|| "not known".to_owned(), |inside| people.column(inside)),
        ]
    };
    let rows: Vec<[String; 4]> = std::iter::once(heads).chain(end.table.iter().map(row)).collect();
    table(out, &rows);
    out.push('\n');
    let around = "Around: clockwise from the reference line looking from end A, on the outside. Both columns of places are counted from the long point, along the \
                  tube's axis; the inside edge stands at the same angles.";
    wrapped(out, "", around);
    out.push('\n');
}
