//! A page of plain text: wrapped lines and tables.

use std::fmt::Write as _;

/// A place to write on.
pub const BLANK: &str = "____________";

/// Columns of a plain terminal or printer.
pub const WIDTH: usize = 80;

/// Adds words behind a lead-in, wrapped to the page with the following lines indented under the first.
///
/// A word that is longer than a line has a line of its own and runs over.
pub fn wrapped(out: &mut String, lead: &str, words: &str) {
    let indent = lead.chars().count();
    out.push_str(lead);
    let mut column = indent;
    for word in words.split(' ').filter(|word| !word.is_empty()) {
        let width = word.chars().count();
        if column > indent && column + 1 + width > WIDTH {
            out.push('\n');
            out.extend(std::iter::repeat_n(' ', indent));
            column = indent;
        }
        if column > indent {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += width;
    }
    out.push('\n');
}

/// Adds a table under an indent of ten columns: cells to the right, three blanks between columns, none at the end of a line.
pub fn table<const N: usize>(out: &mut String, rows: &[[String; N]]) {
    for row in rows {
        out.push_str("          ");
        for (column, cell) in row.iter().enumerate() {
            let width = rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
            let _ = write!(out, "{cell:>width$}   ");
        }
        out.truncate(out.trim_end().len());
        out.push('\n');
    }
}

/// Adds a title with a line to the edge of the page.
pub fn title(out: &mut String, words: &str) {
    let words = format!("-- {words} ");
    let _ = writeln!(out, "{words}{}", "-".repeat(WIDTH.saturating_sub(words.chars().count())));
}

/// Adds a line across the page.
pub fn rule(out: &mut String) {
    let _ = writeln!(out, "{}", "=".repeat(WIDTH));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_wrapped_under_the_first_and_none_is_lost() {
        let mut page = String::new();
        wrapped(&mut page, "Lead  ", &"word ".repeat(40));
        assert!(page.lines().all(|line| line.chars().count() <= WIDTH), "{page}");
        assert!(page.lines().skip(1).all(|line| line.starts_with("      word")), "{page}");
        assert_eq!(page.matches("word").count(), 40);
    }

    #[test]
    fn a_table_has_its_figures_under_each_other() {
        let mut page = String::new();
        table(&mut page, &[["bend".to_owned(), "mark".to_owned()], ["1".to_owned(), "1294".to_owned()]]);
        assert_eq!(page, "          bend   mark\n             1   1294\n");
    }
}
