//! The cut list as plain text of 80 columns: one block for each bar, in the order of the saw.

use tubewright::round::People;
use tubewright::stock::{CutBar, CutList, Group};
use tubewright::units::Length;

use super::{bar_words, trim_words};
use crate::page::{rule, title, wrapped};

/// How a bar is marked and cut.
const HOW: &str = "all marks of a bar are taped from the same end of it; the blade goes beyond the mark. Tape each piece before the \
                   next is cut, and put its name and END A on it.";

/// The cut list; `job` is the job's name.
#[must_use]
pub fn text(job: &str, list: &CutList, people: &People) -> String {
    let mut out = String::new();
    rule(&mut out);
    wrapped(&mut out, "", &format!("{job}: {}", verdict(list, people)));
    let date = list.date.as_ref().map(|date| format!("date {date}, ")).unwrap_or_default();
    wrapped(&mut out, "", &format!("{date}fingerprint of the files {}", list.fingerprint));
    rule(&mut out);
    for note in &list.notes {
        wrapped(&mut out, "Note      ", &note.text);
    }
    wrapped(
        &mut out,
        "Note      ",
        "cut lengths only: whether a tube can be bent says `tubewright plan`. Cut after that.",
    );
    let waste = if list.end_waste > Length::ZERO {
        format!(
            " {} at each end of a bar is not used: the first cut is there, and there alone the blade goes before the mark, toward the end that comes off.",
            people.length_with_unit(list.end_waste)
        )
    } else {
        String::new()
    };
    wrapped(&mut out, "Cutting   ", &format!("{HOW} Kerf {}.{waste}", people.figure(list.kerf)));
    out.push('\n');
    for group in &list.groups {
        of_group(&mut out, list, group, people);
    }
    out
}

fn verdict(list: &CutList, people: &People) -> String {
    let uncut: usize = list.groups.iter().map(|group| group.uncut.len()).sum();
    if uncut > 0 {
        let all: usize = list.groups.iter().map(|group| group.pieces.len()).sum();
        return format!("{uncut} of {all} PIECES CANNOT BE CUT from this stock");
    }
    let bought: Length = list.groups.iter().map(|group| group.bought).sum();
    if bought > Length::ZERO {
        let count: usize = list.groups.iter().flat_map(|group| &group.buy).map(|buy| buy.count).sum();
        format!("all can be cut; {} to buy, {} in all", bars(count), people.length_with_unit(bought))
    } else {
        "all can be cut from what is there".to_owned()
    }
}

fn bars(count: usize) -> String {
    if count == 1 { "1 bar".to_owned() } else { format!("{count} bars") }
}

fn of_group(out: &mut String, list: &CutList, group: &Group, people: &People) {
    title(out, &group.stock.words(people));
    for uncut in &group.uncut {
        let piece = &group.pieces[uncut.piece];
        let length = people.length_with_unit(piece.length);
        let why = match uncut.longest {
            None => "no bar of this size is listed".to_owned(),
            Some(longest) if longest < piece.length => {
                format!("the longest bar gives {}", people.length_with_unit(longest))
            }
            Some(_) => "no bar is left that is long enough".to_owned(),
        };
        wrapped(out, "NOT CUT   ", &format!("{}, {length}: {why}.", piece.name));
    }
    wrapped(out, "Buy       ", &to_buy(group, people));
    let weight = match group.tubes_kg() {
        Some(kg) => format!("{}, all blanks of the tubes together.", people.mass(kg)),
        None => "not known: it takes `wall` and `density`.".to_owned(),
    };
    wrapped(out, "Weight    ", &weight);
    out.push('\n');
    let of = group.bars.len();
    for (place, bar) in group.bars.iter().enumerate() {
        of_bar(out, list, group, (place + 1, of), bar, people);
    }
}

fn to_buy(group: &Group, people: &People) -> String {
    let proof = if group.best && group.uncut.is_empty() {
        "no cutting buys less"
    } else if group.best {
        "no cutting leaves less uncut and buys less"
    } else {
        "that nothing less would do is not proved"
    };
    if group.buy.is_empty() {
        return "nothing.".to_owned();
    }
    let of_length =
        group.buy.iter().map(|buy| format!("{} of {}", bars(buy.count), people.length_with_unit(buy.length)));
    let list: Vec<String> = of_length.collect();
    let mass = group.bought_kg().map(|kg| format!(", {}", people.mass(kg))).unwrap_or_default();
    let gap = if group.best {
        String::new()
    } else {
        format!(", at least {} have to be bought", people.length_with_unit(group.at_least))
    };
    format!("{}{mass}; {proof}{gap}.", list.join(", "))
}

fn of_bar(
    out: &mut String,
    list: &CutList,
    group: &Group,
    (number, of): (usize, usize),
    bar: &CutBar,
    people: &People,
) {
    wrapped(out, &format!("{:<10}", format!("{number} of {of}")), &bar_words(bar, people));
    line(out, &format!("mark, {}", people.unit()), &format!("piece, {}", people.unit()), "");
    if list.end_waste > Length::ZERO {
        line(out, &people.length(list.end_waste), "", "the end comes off");
    }
    for placed in &bar.pieces {
        let piece = &group.pieces[placed.piece];
        let trim = trim_words(piece, people).map(|trim| format!(", {trim}")).unwrap_or_default();
        let pair = piece.pair.as_ref().map(|pair| format!(", mirror part of {pair}")).unwrap_or_default();
        line(out, &people.length(placed.to), &people.length(piece.length), &format!("{}{trim}{pair}", piece.name));
    }
    let left = if bar.left > Length::ZERO {
        format!("{} left", people.length_with_unit(bar.left))
    } else {
        "nothing left".to_owned()
    };
    line(out, "", "", &left);
    out.push('\n');
}

/// A row of the table: the mark, the length, and words that are wrapped under each other.
fn line(out: &mut String, mark: &str, length: &str, words: &str) {
    let lead = format!("{mark:>19}{length:>14}   ");
    if words.is_empty() {
        out.push_str(lead.trim_end());
        out.push('\n');
    } else {
        wrapped(out, &lead, words);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_has_its_figures_under_each_other() {
        let mut out = String::new();
        line(&mut out, "mark, mm", "piece, mm", "");
        line(&mut out, "1497", "1497", "hoop");
        assert_eq!(out, "           mark, mm     piece, mm\n               1497          1497   hoop\n");
    }
}
