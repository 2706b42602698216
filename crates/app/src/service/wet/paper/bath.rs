//! A bath's card in words: its rules with their basis, and what befell it.

use super::super::baths::BathView;
use super::super::runs::RunView;
use super::super::times::told;
use super::{minded, multiple};
use crate::service::moment::day_in_words;
use crate::service::settings::Settings;
use crate::service::{Outcome, Service};
use jiff::ToSpan;
use jiff::civil::Date;
use spoolwright_core::shelf::RunId;
use spoolwright_core::wet::bath::{
    BathKind, BathUse, Correction, FixerPlace, PERCENT_PER_ROLL_PER_L, ROLL_OF_36_M2, What,
};
use spoolwright_core::wet::fixing::DEAD_AT;
use spoolwright_core::wet::record::{BathCard, BathEvent};
use spoolwright_core::wet::verdict::{Basis, Reason};
use spoolwright_print::{BathLabel, BathRule, LOG_ROWS, LogRow};

impl Service {
    pub(super) fn bath_label(&self, view: &BathView, settings: &Settings) -> Outcome<BathLabel> {
        let card = &view.card;
        let mut events: Vec<&BathEvent> = view.events.iter().collect();
        events.sort_by(|a, b| a.day.cmp(&b.day));
        // Older rows are summed up on the card: their runs need not be looked at.
        let older = events.len().saturating_sub(LOG_ROWS);
        let log = events.iter().enumerate().map(|(i, event)| {
            let run = event.run.filter(|_| older <= i);
            self.log_row(card, event, run, settings)
        });
        Ok(BathLabel {
            name: card.name.clone(),
            kind: kind(card),
            mixed_from: card.mixed_from.clone(),
            dilution: card.dilution.clone(),
            mixed_on: day_in_words(&card.mixed_on),
            volume: format!("{:.0} ml", card.volume_ml),
            use_by: use_by(card),
            rules: rules(view, settings),
            fixes: fixes(card),
            log: log.collect::<Outcome<_>>()?,
            cautions: minded([card.kind]),
            note: card.note.clone(),
            url: Some(format!("{}/wet/baths/{}", settings.address, card.id)),
        })
    }

    fn log_row(
        &self,
        card: &BathCard,
        event: &BathEvent,
        run: Option<RunId>,
        settings: &Settings,
    ) -> Outcome<LogRow> {
        let mut row = LogRow {
            day: day_in_words(&event.day),
            ..LogRow::default()
        };
        let mut notes = Vec::new();
        match event.what {
            What::Run { area_m2 } => {
                row.films = Some(area_m2 / ROLL_OF_36_M2);
                if let Some(id) = run {
                    let clock = self.run_clock(id)?;
                    let given_s = given_s(card, &clock.view, &clock.timer.done);
                    if given_s > 0.0 {
                        row.time = told(given_s / 60.0);
                    }
                    notes.push(clock.view.name());
                }
            }
            What::Clearing { seconds, at_c } => {
                row.test = format!("{seconds:.0}");
                notes.push(format!("at {}", settings.temperature(at_c)));
            }
            What::Looked(look) if fixes(card) => notes.push(format!("looked {}", look.word())),
            What::Looked(look) => row.test = look.word().to_owned(),
            What::Replenished { ml } => notes.push(format!("+ {ml:.0} ml replenisher")),
            What::ToppedUp { ml } => notes.push(format!("+ {ml:.0} ml fresh")),
        }
        if !event.note.is_empty() {
            notes.push(event.note.clone());
        }
        row.note = notes.join(": ");
        Ok(row)
    }
}

/// How long a run's film lay in this bath, seconds.
fn given_s(
    card: &BathCard,
    run: &RunView,
    done: &[spoolwright_core::wet::timer::StepState],
) -> f64 {
    done.iter()
        .filter(|state| {
            let step = run.steps.get(state.step as usize);
            step.is_some_and(|s| s.bath == Some(card.id))
        })
        .map(|state| state.elapsed_s)
        .sum()
}

fn fixes(card: &BathCard) -> bool {
    matches!(card.kind, BathKind::Fixer | BathKind::Blix)
}

fn kind(card: &BathCard) -> String {
    let place = match (fixes(card), card.place) {
        (true, FixerPlace::First) => ", first of two",
        (true, FixerPlace::Second) => ", second of two",
        _ => "",
    };
    let usage = match card.usage {
        BathUse::OneShot => "for one load",
        BathUse::Reused => "used again",
        BathUse::Replenished => "replenished",
    };
    let kind = card.kind.word().replace('-', " ").to_uppercase();
    format!("{kind}{place} · {usage}")
}

/// The last day by the sheet, in words; empty where no shelf life is known.
fn use_by(card: &BathCard) -> String {
    let Some(keeps) = card.shelf_life_days else {
        return String::new();
    };
    let last = card
        .mixed_on
        .get(..10)
        .and_then(|day| day.parse::<Date>().ok())
        .and_then(|day| day.checked_add((keeps.floor() as i64).days()).ok());
    match last {
        Some(day) => format!(
            "{} ({keeps:.0} days, sheet)",
            day_in_words(&day.to_string())
        ),
        None => format!("{keeps:.0} days after mixing (sheet)"),
    }
}

/// The rules by which it is judged, most important first.
fn rules(view: &BathView, settings: &Settings) -> Vec<BathRule> {
    let card = &view.card;
    let rule = |text: String, basis: &str| BathRule {
        text,
        basis: basis.to_owned(),
    };
    let mut rules = Vec::new();
    if fixes(card) {
        rules.extend(clearing(view, settings));
    }
    let area = view.life.limits.iter().find(|l| l.limit == Reason::Area);
    rules.push(match area {
        _ if card.usage == BathUse::OneShot => {
            rule("For one load only: then it is spent.".to_owned(), "")
        }
        Some(limit) => {
            let films = count(limit.allowed / ROLL_OF_36_M2);
            let text = match card.usage {
                BathUse::Replenished => format!("Takes {films} films of 36 between replenishings."),
                _ => format!("Takes {films} films of 36 in all."),
            };
            rule(text, basis(limit.basis))
        }
        None => rule(
            "How much film it takes is not known: see its sheet.".to_owned(),
            "",
        ),
    });
    rules.extend(growth(card).map(|(text, basis)| rule(text, basis)));
    if let Some(rate) = card.rate_ml_per_m2 {
        let ml = count(rate * ROLL_OF_36_M2);
        rules.push(rule(
            format!("Replenish {ml} ml for each film of 36."),
            "sheet",
        ));
    }
    rules
}

/// How a fixer is tested and when it is dead.
fn clearing(view: &BathView, settings: &Settings) -> [BathRule; 2] {
    let dead = match &view.life.clearing {
        Some(tested) => {
            let first = if view
                .life
                .caveats
                .iter()
                .any(|c| c.code == "no_fresh_test")
            {
                "at the first test"
            } else {
                "fresh"
            };
            BathRule {
                text: format!(
                    "Dead when a scrap takes {:.0} s to clear: twice the {:.0} s it took {first}, at {}.",
                    tested.fresh_s * DEAD_AT,
                    tested.fresh_s,
                    settings.temperature(tested.fresh_at_c)
                ),
                basis: "your test".to_owned(),
            }
        }
        None => BathRule {
            text: "Time a scrap before the first film and write it down. Dead when a scrap takes twice as long to clear."
                .to_owned(),
            basis: "default".to_owned(),
        },
    };
    let times = multiple(view.card.high_iodide);
    let fix = BathRule {
        text: format!("Fix for {times} × the time in which a scrap clears in white light."),
        basis: "default".to_owned(),
    };
    [dead, fix]
}

/// How the time grows with use; none where it does not, or is not asked about.
fn growth(card: &BathCard) -> Option<(String, &'static str)> {
    if card.usage == BathUse::OneShot {
        return None;
    }
    let each_film = |p: f64| {
        format!(
            "{} % more time for each film of 36 that a litre has had.",
            count(p)
        )
    };
    match card.correction {
        Some(Correction::None) => Some(("Its time stays the same.".to_owned(), "sheet")),
        Some(Correction::PerRun(p)) => Some((
            format!("{} % more time for each run before.", count(p)),
            "sheet",
        )),
        Some(Correction::PerRollPerLitre(p)) => Some((each_film(p), "sheet")),
        None if card.usage != BathUse::Reused => None,
        None => match card.kind {
            BathKind::Developer => Some((each_film(PERCENT_PER_ROLL_PER_L), "default")),
            BathKind::SecondBath
            | BathKind::FirstDeveloper
            | BathKind::SecondDeveloper
            | BathKind::ColourDeveloper
            | BathKind::Bleach
            | BathKind::Blix => Some((
                "How its time grows with use is not known: see its sheet.".to_owned(),
                "",
            )),
            _ => None,
        },
    }
}

fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Given => "sheet",
        Basis::Default => "default",
    }
}

/// A count with a decimal only where it has one.
fn count(value: f64) -> String {
    let tenths = (value * 10.0).round() / 10.0;
    format!("{tenths}")
}
