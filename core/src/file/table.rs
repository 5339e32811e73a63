//! Comma-separated tables: cells with their places.
//!
//! A cell may stand in double quotes, in which a doubled quote is one (RFC 4180). Blank lines are passed over, blanks
//! around a cell do not count, lines end as any system ends them.

use core::ops::Range;

/// One cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    /// What it says, without quotes.
    pub(super) text: String,
    /// Where, quotes included.
    pub(super) span: Range<usize>,
}

/// A quote that is not closed, or text beside quotes, with its place.
pub(super) type Unclosed = Range<usize>;

/// The lines of a table that are not blank.
pub(super) fn lines(text: &str) -> Result<Vec<Vec<Cell>>, Unclosed> {
    let mut scan = Scan { text, at: if text.starts_with('\u{feff}') { 3 } else { 0 } };
    let mut lines = Vec::new();
    while scan.at < text.len() {
        let mut line = Vec::new();
        loop {
            line.push(scan.cell()?);
            if !scan.eat(",") {
                break;
            }
        }
        let _ = scan.eat("\r\n") || scan.eat("\n") || scan.eat("\r");
        if line.len() > 1 || line.iter().any(|cell| !cell.span.is_empty()) {
            lines.push(line);
        }
    }
    Ok(lines)
}

struct Scan<'a> {
    text: &'a str,
    at: usize,
}

impl Scan<'_> {
    fn rest(&self) -> &str {
        &self.text[self.at..]
    }

    fn eat(&mut self, wanted: &str) -> bool {
        let found = self.rest().starts_with(wanted);
        if found {
            self.at += wanted.len();
        }
        found
    }

    fn blanks(&mut self) {
        self.at = self.text.len() - self.rest().trim_start_matches([' ', '\t']).len();
    }

    fn cell(&mut self) -> Result<Cell, Unclosed> {
        self.blanks();
        let start = self.at;
        if !self.eat("\"") {
            let length = self.rest().find([',', '\n', '\r']).unwrap_or(self.rest().len());
            let text = self.rest()[..length].trim_end().to_owned();
            self.at += length;
            return Ok(Cell { span: start..start + text.len(), text });
        }
        let mut text = String::new();
        loop {
            let Some(length) = self.rest().find('"') else { return Err(start..start + 1) };
            text.push_str(&self.rest()[..length]);
            self.at += length + 1;
            if !self.eat("\"") {
                break;
            }
            text.push('"');
        }
        let end = self.at;
        self.blanks();
        match self.rest().chars().next() {
            None | Some(',' | '\n' | '\r') => Ok(Cell { text, span: start..end }),
            Some(letter) => Err(self.at..self.at + letter.len_utf8()),
        }
    }
}

/// A cell as it is written: in quotes where it must be.
pub(super) fn written(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) || text.trim() != text {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_have_their_text_and_their_place() {
        let text = "node, x_mm ,y_mm\r\n\n\"a, \"\"b\"\"\",44 1/2\",\n";
        let lines = lines(text).unwrap();
        let said: Vec<Vec<&str>> =
            lines.iter().map(|line| line.iter().map(|cell| cell.text.as_str()).collect()).collect();
        assert_eq!(said, [vec!["node", "x_mm", "y_mm"], vec!["a, \"b\"", "44 1/2\"", ""]]);
        assert_eq!(&text[lines[0][1].span.clone()], "x_mm");
        assert_eq!(&text[lines[1][0].span.clone()], "\"a, \"\"b\"\"\"");
    }

    #[test]
    fn quotes_that_do_not_fit_are_refused_at_their_place() {
        assert_eq!(lines("a,\"b\n"), Err(2..3));
        assert_eq!(lines("\"a\"b,c\n"), Err(3..4));
    }

    #[test]
    fn what_is_written_is_read_back() {
        for text in ["plain", " blank", "a,b", "say \"ah\"", "two\nlines", ""] {
            let line = format!("{},end\n", written(text));
            assert_eq!(lines(&line).unwrap()[0][0].text, text);
        }
    }
}
