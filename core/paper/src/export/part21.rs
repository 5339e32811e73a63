//! Text of the kind that ISO 10303-21 describes: a head, then numbered entities that name each other.

use std::fmt::{self, Display, Write as _};

use nalgebra::Vector3;

/// The number of an entity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Id(usize);

impl Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{}", self.0)
    }
}

/// The entities of a file, put down one after the other.
#[derive(Debug, Default)]
pub(super) struct Data {
    text: String,
    count: usize,
}

impl Data {
    /// Puts down an entity as written.
    pub(super) fn put(&mut self, entity: impl Display) -> Id {
        self.count += 1;
        let id = Id(self.count);
        let _ = writeln!(self.text, "{id}={entity};");
        id
    }

    /// The whole file: what it holds in words, its name, its date, who wrote it, its schema, and the entities.
    pub(super) fn whole(self, says: &[String], name: &str, date: &str, writer: &str, schema: &str) -> String {
        let says: Vec<String> = says.iter().map(|line| words(line)).collect();
        let (name, date, writer, schema) = (words(name), words(date), words(writer), words(schema));
        format!(
            "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION(({}),'2;1');\nFILE_NAME({name},{date},(''),(''),{writer},{writer},'');\n\
             FILE_SCHEMA(({schema}));\nENDSEC;\nDATA;\n{}ENDSEC;\nEND-ISO-10303-21;\n",
            says.join(","),
            self.text
        )
    }
}

/// A list of entities: `(#1,#2)`.
pub(super) fn list(ids: &[Id]) -> String {
    let ids: Vec<String> = ids.iter().map(Id::to_string).collect();
    format!("({})", ids.join(","))
}

/// A number with all its digits: the shortest that reads back as the same. A point is always there, and an exponent has a capital E.
pub(super) fn real(value: f64) -> String {
    // No zero with a sign.
    let text = format!("{:?}", value + 0.0);
    match text.split_once('e') {
        None => text,
        Some((figure, power)) if figure.contains('.') => format!("{figure}E{power}"),
        Some((figure, power)) => format!("{figure}.E{power}"),
    }
}

/// Three numbers.
pub(super) fn triple(of: &Vector3<f64>) -> String {
    format!("({},{},{})", real(of.x), real(of.y), real(of.z))
}

/// Words in quotes: plain ASCII, all other letters by the numbers that UTF-16 gives them, or by their own where that takes two.
pub(super) fn words(text: &str) -> String {
    let mut out = String::from("'");
    for letter in text.chars() {
        match letter {
            '\'' => out.push_str("''"),
            '\\' => out.push_str("\\\\"),
            ' '..='~' => out.push(letter),
            '\0'..='\u{ffff}' => {
                let _ = write!(out, "\\X2\\{:04X}\\X0\\", u32::from(letter));
            }
            _ => {
                let _ = write!(out, "\\X4\\{:08X}\\X0\\", u32::from(letter));
            }
        }
    }
    out.push('\'');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_a_point_and_all_their_digits() {
        for (value, text) in
            [(0.0, "0.0"), (-0.0, "0.0"), (38.1, "38.1"), (1e-7, "1.E-7"), (-1.5e-9, "-1.5E-9"), (1e20, "1.E20")]
        {
            assert_eq!(real(value), text);
        }
        let third = 100.0 / 3.0;
        assert_eq!(real(third).parse::<f64>().map(f64::to_bits), Ok(third.to_bits()));
    }

    #[test]
    fn words_are_plain_ascii_in_quotes() {
        assert_eq!(words("the fox's \\ 1/2"), "'the fox''s \\\\ 1/2'");
        assert_eq!(words("Bügel"), "'B\\X2\\00FC\\X0\\gel'");
        assert_eq!(words("\u{1d6fc}"), "'\\X4\\0001D6FC\\X0\\'");
    }
}
