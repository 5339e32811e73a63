//! Words as sentences of their own.

/// Words that begin with a capital, as a sentence of its own does.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A sentence of its own: a capital first, a full stop last.
pub(crate) fn sentence(words: &str) -> String {
    let stop = if words.ends_with(['.', '!', '?', ':']) { "" } else { "." };
    format!("{}{stop}", capital(words))
}
