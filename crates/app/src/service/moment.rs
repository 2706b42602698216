//! Moments as a person reads them: in the time zone of the machine. The store keeps UTC.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;

fn here(rfc3339: &str) -> Option<DateTime> {
    let at: Timestamp = rfc3339.parse().ok()?;
    Some(at.to_zoned_datetime(TimeZone::system()).datetime())
}

/// A stored moment: "12 May 2026, 14:05". What is no moment is shown as it stands.
pub fn moment(rfc3339: &str) -> String {
    here(rfc3339).map_or_else(
        || rfc3339.to_owned(),
        |at| at.strftime("%-d %b %Y, %H:%M").to_string(),
    )
}

/// The day of a stored moment, `YYYY-MM-DD`.
pub fn day_of(rfc3339: &str) -> String {
    here(rfc3339).map_or_else(|| rfc3339.to_owned(), |at| at.date().to_string())
}

/// The minute of a stored moment by the clock on the wall, `YYYY-MM-DDTHH:MM`.
pub fn minute_of(rfc3339: &str) -> String {
    here(rfc3339).map_or_else(String::new, |at| at.strftime("%Y-%m-%dT%H:%M").to_string())
}

/// A day, `YYYY-MM-DD`, in words: "12 May 2026". What is no day is shown as it stands.
pub fn day_in_words(date: &str) -> String {
    date.get(..10)
        .and_then(|d| d.parse::<jiff::civil::Date>().ok())
        .map_or_else(
            || date.to_owned(),
            |day| day.strftime("%-d %b %Y").to_string(),
        )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_moment_is_shown_as_it_stands() {
        assert_eq!(moment("long ago"), "long ago");
        assert_eq!(day_of(""), "");
        // Some day around it, wherever the test runs.
        assert!(day_of("2026-05-12T12:00:00Z").starts_with("2026-05-1"));
    }
}
