//! A bath and a run whose every figure was made up, for the card on the bottle and the sheet at the tank.

use spoolwright_core::wet::bath::BathKind;
use spoolwright_core::wet::cautions::cautions;
use spoolwright_print::{BathLabel, BathRule, LogRow, RunReel, RunSheet, RunStep};

/// What to mind with these baths, each once, as the core has it.
pub(crate) fn minded(kinds: &[BathKind]) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    for caution in kinds.iter().flat_map(|kind| cautions(*kind)) {
        if !told.iter().any(|t| t == caution.text) {
            told.push(caution.text.to_owned());
        }
    }
    told
}

fn rule(text: &str, basis: &str) -> BathRule {
    BathRule {
        text: text.to_owned(),
        basis: basis.to_owned(),
    }
}

pub(crate) fn went_through(day: &str, films: f64, time: &str) -> LogRow {
    LogRow {
        day: day.to_owned(),
        films: Some(films),
        time: time.to_owned(),
        ..LogRow::default()
    }
}

pub(crate) fn fixer() -> BathLabel {
    BathLabel {
        name: "Fixer A".to_owned(),
        kind: "FIXER · used again".to_owned(),
        mixed_from: "rapid fixer concentrate".to_owned(),
        dilution: "1+4".to_owned(),
        mixed_on: "25 Nov 2026".to_owned(),
        volume: "1000 ml".to_owned(),
        use_by: "24 May 2027 (180 days, sheet)".to_owned(),
        rules: vec![
            rule("Takes 20 films of 36 in all.", "default"),
            rule(
                "Fix for 2 × the time in which a scrap clears in white light.",
                "default",
            ),
            rule(
                "Dead when a scrap takes 60 s to clear: twice the 30 s it took fresh, at 20 °C.",
                "your test",
            ),
        ],
        fixes: true,
        log: vec![
            LogRow {
                day: "25 Nov 2026".to_owned(),
                test: "30".to_owned(),
                note: "at 20 °C".to_owned(),
                ..LogRow::default()
            },
            went_through("26 Nov 2026", 2.0, "1:00"),
        ],
        cautions: minded(&[BathKind::Fixer]),
        note: "Lid sticks: turn it with the cloth.".to_owned(),
        url: Some("http://192.168.178.20:7420/wet/baths/3".to_owned()),
    }
}

pub(crate) fn step(name: &str, time_s: f64, drain_s: f64) -> RunStep {
    RunStep {
        name: name.to_owned(),
        time_s,
        drain_s,
        ..RunStep::default()
    }
}

pub(crate) fn run() -> RunSheet {
    let warm = |step: RunStep, agitation: &str, bottle: &str| RunStep {
        temperature: "20.0 °C".to_owned(),
        agitation: agitation.to_owned(),
        bottle: bottle.to_owned(),
        ..step
    };
    RunSheet {
        name: "HM-07 + HM-08 + GU-01".to_owned(),
        state: String::new(),
        recipe: "Negative, one-shot".to_owned(),
        tank: "Short tank".to_owned(),
        made_on: "25 Nov 2026".to_owned(),
        volume: "590 ml".to_owned(),
        stock: "59 ml of house developer and 531 ml of water (1+9)".to_owned(),
        developing: "from the stock card: 10:00 at 20 °C, card of 3 Nov 2026".to_owned(),
        other_times: [("18.0 °C", "12:01"), ("19.0 °C", "10:58"), ("21.0 °C", "9:07")]
            .map(|(at, time)| (at.to_owned(), time.to_owned()))
            .to_vec(),
        other_times_from: "2.5 times as fast ten degrees warmer, a default".to_owned(),
        reels: vec![
            RunReel {
                reel: 1,
                rolls: "HM-07 Harbour Mist 100, EI 100, 36 frames".to_owned(),
            },
            RunReel {
                reel: 2,
                rolls: "HM-08 Harbour Mist 100, EI 100, 18 frames; then GU-01 Gull 50, EI 50, 12 frames"
                    .to_owned(),
            },
        ],
        steps: vec![
            warm(
                step("Developer", 600.0, 10.0),
                "30 s at first, then 5 s every 60 s",
                "",
            ),
            warm(step("Stop", 60.0, 10.0), "without pause", "Stop 2"),
            RunStep {
                note: "Twice the clearing time once a scrap is tested.".to_owned(),
                ..warm(step("Fixer", 300.0, 10.0), "15 s at first, then 5 s every 30 s", "Fixer A")
            },
            step("Wash", 600.0, 0.0),
            step("Final rinse", 60.0, 0.0),
        ],
        note: "The second reel is the plastic one.".to_owned(),
        cautions: minded(&[
            BathKind::Developer,
            BathKind::Stop,
            BathKind::Fixer,
            BathKind::Wetting,
        ]),
        url: Some("http://192.168.178.20:7420/wet/runs/7".to_owned()),
    }
}
