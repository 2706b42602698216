//! Which clock tells a run's seconds: the one that counts from the machine's start, which neither summer time nor a
//! time server moves; the one on the wall only when the machine itself was restarted in between.
//!
//! On Linux that clock goes on while the machine sleeps. Elsewhere this program's own start is counted from, by a clock
//! that some systems stop in sleep: a machine that slept with a bath in shows less than has passed.
//!
//! It does not know what a second means for the film: that is [`spoolwright_core::wet::timer`].

use jiff::Timestamp;
use spoolwright_core::wet::timer::{Mark, MarkKind, Moment};
use std::time::Instant;

/// A reading of the clock that counts from the machine's start.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Which start it counts from.
    pub boot: String,
    /// Seconds since then, sleep included where the system tells them.
    pub since_boot_s: f64,
}

/// Where ticks come from: the machine, or a test.
pub type Ticker = Box<dyn Fn() -> Tick + Send + Sync>;

/// The machine's own. Where the system does not tell, seconds count from the start of this program, and a program
/// started anew falls back to the clock on the wall.
pub fn machine() -> Ticker {
    let begun = Instant::now();
    let own = format!("{}-{}", std::process::id(), Timestamp::now());
    Box::new(move || {
        since_machine_start().unwrap_or_else(|| Tick {
            boot: own.clone(),
            since_boot_s: begun.elapsed().as_secs_f64(),
        })
    })
}

fn since_machine_start() -> Option<Tick> {
    let boot = std::fs::read_to_string("/proc/sys/kernel/random/boot_id").ok()?;
    let uptime = std::fs::read_to_string("/proc/uptime").ok()?;
    Some(Tick {
        boot: boot.trim().to_owned(),
        since_boot_s: uptime.split_whitespace().next()?.parse().ok()?,
    })
}

/// A second of a run, and how it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunSecond {
    /// Seconds after the run's first mark.
    pub at_s: f64,
    /// The machine was restarted since the step that goes on began: the clock on the wall had to be believed for it.
    pub by_the_wall: bool,
}

/// The second at which a run stands `now`: its last mark's, and what has passed since, `pace` times as fast as life.
pub fn second(marks: &[Mark], now: &Moment, pace: f64) -> RunSecond {
    let Some(last) = marks.last() else {
        return RunSecond {
            at_s: 0.0,
            by_the_wall: false,
        };
    };
    let then = &last.moment;
    let passed_s = if restarted(then, now) {
        wall_gap_s(&then.utc, &now.utc)
    } else {
        now.since_boot_s - then.since_boot_s
    };
    RunSecond {
        // A clock on the wall that was put back does not turn a bath back.
        at_s: last.at_s + passed_s.max(0.0) * pace,
        by_the_wall: restarted_in_step(marks, now),
    }
}

/// Whether the count of seconds began anew in between. A count that went back did, though the start has the same name:
/// that is how some containers restart.
fn restarted(then: &Moment, now: &Moment) -> bool {
    then.boot != now.boot || now.since_boot_s < then.since_boot_s
}

/// What the wall was believed for stays in the step's time, whatever is pressed after it.
fn restarted_in_step(marks: &[Mark], now: &Moment) -> bool {
    let begun = marks.iter().rposition(|m| m.kind == MarkKind::Begin);
    let moments: Vec<&Moment> = marks[begun.unwrap_or(0)..]
        .iter()
        .map(|m| &m.moment)
        .chain([now])
        .collect();
    moments.windows(2).any(|pair| restarted(pair[0], pair[1]))
}

/// When the step that goes on began, UTC.
pub fn step_began(marks: &[Mark]) -> Option<&str> {
    let begun = marks.iter().rfind(|m| m.kind == MarkKind::Begin)?;
    Some(&begun.moment.utc)
}

fn wall_gap_s(then: &str, now: &str) -> f64 {
    let read = |text: &str| text.parse::<Timestamp>().ok();
    match (read(then), read(now)) {
        (Some(then), Some(now)) => now.duration_since(then).as_secs_f64(),
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use spoolwright_core::shelf::{MarkId, RunId};
    use spoolwright_core::wet::timer::MarkKind;

    fn moment(boot: &str, since_boot_s: f64, utc: &str) -> Moment {
        Moment {
            boot: boot.into(),
            since_boot_s,
            utc: utc.into(),
        }
    }

    fn begun(moment: Moment) -> [Mark; 1] {
        [Mark {
            id: MarkId(1),
            run: RunId(1),
            at_s: 100.0,
            kind: MarkKind::Begin,
            step: Some(0),
            value: None,
            note: String::new(),
            moment,
        }]
    }

    #[test]
    fn a_wall_clock_that_jumps_does_not_move_a_bath() {
        let marks = begun(moment("a", 50.0, "2026-10-25T00:59:00Z"));
        for utc in ["2026-10-25T02:00:00Z", "2026-10-24T00:00:00Z", "rubbish"] {
            let now = second(&marks, &moment("a", 80.0, utc), 1.0);
            assert_eq!(
                now,
                RunSecond {
                    at_s: 130.0,
                    by_the_wall: false
                }
            );
        }
    }

    #[test]
    fn after_a_restart_of_the_machine_the_wall_is_believed_and_that_is_said() {
        let marks = begun(moment("a", 5000.0, "2026-11-25T10:00:00.5Z"));
        let now = second(&marks, &moment("b", 12.0, "2026-11-25T10:02:00.75Z"), 1.0);
        assert!(now.by_the_wall);
        assert!((now.at_s - 220.25).abs() < 1e-9, "{now:?}");
        let back = second(&marks, &moment("b", 12.0, "2026-11-25T09:00:00Z"), 1.0);
        assert_eq!(back.at_s, 100.0);
    }

    #[test]
    fn a_count_that_went_back_is_a_restart_though_it_has_the_same_name() {
        let marks = begun(moment("a", 5000.0, "2026-11-25T10:00:00Z"));
        let now = second(&marks, &moment("a", 12.0, "2026-11-25T10:02:00Z"), 1.0);
        assert!(now.by_the_wall);
        assert_eq!(now.at_s, 220.0);
    }

    #[test]
    fn a_step_the_wall_was_believed_for_says_so_to_its_end() {
        let mut marks = begun(moment("a", 5000.0, "2026-11-25T10:00:00Z")).to_vec();
        marks.push(Mark {
            kind: MarkKind::Reading,
            at_s: 220.0,
            value: Some(20.0),
            moment: moment("b", 12.0, "2026-11-25T10:02:00Z"),
            ..marks[0].clone()
        });
        let later = moment("b", 30.0, "2026-11-25T10:02:18Z");
        let now = second(&marks, &later, 1.0);
        assert!(now.by_the_wall && now.at_s == 238.0, "{now:?}");
        assert_eq!(step_began(&marks), Some("2026-11-25T10:00:00Z"));
        // The next step's own time is not touched by it.
        marks.push(Mark {
            at_s: 238.0,
            step: Some(1),
            moment: later,
            ..marks[0].clone()
        });
        assert!(!second(&marks, &moment("b", 31.0, ""), 1.0).by_the_wall);
    }

    #[test]
    fn a_rehearsal_goes_faster() {
        let marks = begun(moment("a", 0.0, ""));
        assert_eq!(second(&marks, &moment("a", 2.0, ""), 60.0).at_s, 220.0);
        assert_eq!(second(&[], &moment("a", 2.0, ""), 60.0).at_s, 0.0);
    }

    #[test]
    fn the_machines_clock_goes_forward() {
        let tick = machine();
        let (a, b) = (tick(), tick());
        assert_eq!(a.boot, b.boot);
        assert!(!a.boot.is_empty() && b.since_boot_s >= a.since_boot_s);
    }
}
