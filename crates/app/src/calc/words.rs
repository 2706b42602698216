//! Refusing a word that is not known, with the nearest known one.

use spoolwright_core::{Error, Kind};

/// The refusal of `given`, which is none of `known`.
pub fn unknown<'a>(
    what: &str,
    given: &str,
    known: impl IntoIterator<Item = &'a str>,
    remedy: &str,
) -> Error {
    let known: Vec<&str> = known.into_iter().collect();
    let remedy = match nearest(given, &known) {
        Some(word) => format!("Did you mean `{word}`? {remedy}"),
        None => remedy.to_owned(),
    };
    Error::new(
        Kind::Unknown,
        format!("{}: not known", shorten(what)),
        shorten(given),
        known.join(", "),
        remedy.trim_end(),
    )
}

/// The one of `known` that `given` was probably meant to be.
pub fn nearest<'a>(given: &str, known: &[&'a str]) -> Option<&'a str> {
    let given = given.to_lowercase();
    if 64 < given.len() {
        return None;
    }
    known
        .iter()
        .map(|word| (edits(&given, word), *word))
        .filter(|(edits, word)| *edits <= 1 + word.chars().count() / 4)
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, word)| word)
}

/// A text as an error can show it: one line, not endless, never nothing at all.
pub fn shorten(text: &str) -> String {
    const MOST: usize = 80;
    if text.is_empty() {
        return "\"\"".to_owned();
    }
    let mut short: String = text
        .chars()
        .take(MOST)
        .flat_map(char::escape_debug)
        .collect();
    if text.chars().nth(MOST).is_some() {
        short.push('…');
    }
    short.replace("\\\"", "\"").replace("\\'", "'")
}

/// Single-letter changes that make `a` into `b` (Levenshtein's distance).
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let change = diagonal + usize::from(x != *y);
            diagonal = row[j + 1];
            row[j + 1] = change.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Textbook distances.
    #[test]
    fn distances() {
        assert_eq!(edits("kitten", "sitting"), 3);
        assert_eq!(edits("", "abc"), 3);
        assert_eq!(edits("flaw", "lawn"), 2);
    }

    #[test]
    fn only_near_words_are_offered() {
        let known = ["frames", "pitch", "leader_clicks"];
        assert_eq!(nearest("framez", &known), Some("frames"));
        assert_eq!(nearest("leaderclicks", &known), Some("leader_clicks"));
        assert_eq!(nearest("colour", &known), None);
    }
}
