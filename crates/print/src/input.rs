//! What may be printed: bounds of texts and counts, and text made fit for one line.

use spoolwright_core::{Error, Kind};

/// Longest text of one field, in characters. Longer ones are refused, shorter ones are made to fit.
pub const LONGEST_TEXT: usize = 400;
/// Longest roll label or can letters, in characters.
pub const LONGEST_LABEL: usize = 40;
/// Longest address in a QR code, in bytes.
pub const LONGEST_ADDRESS: usize = 512;
/// Most labels or tickets of one call.
pub const MOST_LABELS: usize = 2000;

/// Refuses a text longer than `most` characters.
pub(crate) fn text(field: &str, text: &str, most: usize) -> Result<String, Error> {
    if text.chars().nth(most).is_some() {
        let given = text.chars().count();
        return Err(Error::new(
            Kind::TooLarge,
            field,
            format!("{given} characters"),
            format!("at most {most} characters"),
            "Shorten the text.",
        ));
    }
    Ok(clean(text))
}

/// Refuses an empty list and one longer than [`MOST_LABELS`].
pub(crate) fn count(what: &str, given: usize) -> Result<(), Error> {
    if given == 0 {
        return Err(Error::missing(
            what,
            format!("1 to {MOST_LABELS}"),
            "Choose at least one to print.",
        ));
    }
    if given > MOST_LABELS {
        return Err(Error::new(
            Kind::TooLarge,
            what,
            given,
            format!("1 to {MOST_LABELS}"),
            "Print them in several goes.",
        ));
    }
    Ok(())
}

/// Refuses an address that is too long for any code.
pub(crate) fn address(url: Option<&str>) -> Result<Option<&str>, Error> {
    match url.map(str::trim).filter(|u| !u.is_empty()) {
        Some(u) if u.len() > LONGEST_ADDRESS => Err(Error::new(
            Kind::TooLarge,
            "the address in the QR code",
            format!("{} bytes", u.len()),
            format!("at most {LONGEST_ADDRESS} bytes"),
            "Use a shorter address.",
        )),
        other => Ok(other),
    }
}

/// One line without control characters, direction marks or doubled spaces.
fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_whitespace() || c.is_control() {
            if !out.ends_with(' ') {
                out.push(' ');
            }
        } else if !is_mark(c) {
            out.push(c);
        }
    }
    out.trim().to_owned()
}

/// Characters that steer a text and show nothing.
const fn is_mark(c: char) -> bool {
    matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}'
        | '\u{FE00}'..='\u{FE0F}' | '\u{FFF9}'..='\u{FFFB}' | '\u{AD}')
}

/// A number without a trailing ".0", with a true minus sign.
pub(crate) fn number(value: f64) -> String {
    let text = if value.fract() == 0.0 {
        format!("{value:.0}")
    } else {
        format!("{value:.2}")
    };
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    text.replace('-', "\u{2212}")
}

/// A number with so many decimals and a true minus sign; never a minus zero.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let zero = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
    if zero {
        text.trim_start_matches('-').to_owned()
    } else {
        text.replace('-', "\u{2212}")
    }
}
