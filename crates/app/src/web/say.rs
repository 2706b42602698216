//! Numbers, days and states in words, with the unit the user chose.

pub(crate) use crate::service::moment::{day_in_words as day, moment};
use crate::service::settings::Settings;
use spoolwright_core::quantity::{Estimate, Z95};
use spoolwright_core::shelf::{JournalEntry, RollState};

/// Days from one day to another; negative when the other is past.
pub(crate) fn days_between(today: &str, date: &str) -> Option<i32> {
    let day = |s: &str| s.get(..10)?.parse::<jiff::civil::Date>().ok();
    Some((day(date)? - day(today)?).get_days())
}

/// "11.8 to 16.6 m".
pub(crate) fn interval(settings: &Settings, low_m: f64, high_m: f64) -> String {
    let high = settings.length(high_m.max(0.0));
    let low = settings.length(low_m.max(0.0));
    let number = low.split(' ').next().unwrap_or(&low);
    format!("{number} to {high}")
}

/// A mean with half its 95 % interval: "7.52 ± 0.12 g".
pub(crate) fn estimate(e: Estimate, digits: usize, unit: &str) -> String {
    format!("{:.digits$} ± {:.digits$}{unit}", e.mean, Z95 * e.sd)
}

/// A length of film with half its 95 % interval: "30.00 ± 0.90 m".
pub(crate) fn length(settings: &Settings, e: Estimate) -> String {
    let mean = settings.length(e.mean);
    let number = mean.split(' ').next().unwrap_or(&mean);
    format!("{number} ± {}", settings.length(Z95 * e.sd))
}

/// The unit a length of film is typed in.
pub(crate) fn length_unit(settings: &Settings) -> &'static str {
    if settings.feet { "ft" } else { "m" }
}

/// An example of a length, in the unit the user chose.
pub(crate) fn example(settings: &Settings, metres: &str, feet: &str) -> String {
    let number = if settings.feet { feet } else { metres };
    format!("{number} {}", length_unit(settings))
}

/// A speed without needless decimals.
pub(crate) fn speed(ei: f64) -> String {
    if ei.fract() == 0.0 {
        format!("{ei:.0}")
    } else {
        format!("{ei}")
    }
}

/// "1 frame", "24 frames".
pub(crate) fn count(n: impl Into<u64>, one: &str, many: &str) -> String {
    let n = n.into();
    format!("{n} {}", if n == 1 { one } else { many })
}

/// Where a roll stands, in words.
pub(crate) fn roll_state(state: RollState) -> &'static str {
    match state {
        RollState::Wound => "wound",
        RollState::InCamera => "in a camera",
        RollState::Exposed => "exposed",
        RollState::Developed => "developed",
        RollState::Filed => "filed",
        RollState::Scrapped => "lost or scrapped",
    }
}

/// Whether an entry is itself an undoing.
pub(crate) fn is_undo(entry: &JournalEntry) -> bool {
    entry.undoes.is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_and_counts() {
        assert_eq!(day("2026-05-03"), "3 May 2026");
        assert_eq!(day("soon"), "soon");
        assert_eq!(count(1_u32, "frame", "frames"), "1 frame");
        assert_eq!(speed(12.5), "12.5");
        assert_eq!(days_between("2026-02-27", "2026-03-01"), Some(2));
        assert_eq!(days_between("2026-02-27", "2026-02-20"), Some(-7));
    }

    #[test]
    fn intervals_never_go_below_nothing() {
        assert_eq!(interval(&Settings::default(), -1.0, 2.5), "0.00 to 2.50 m");
    }
}
