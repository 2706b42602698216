//! Writes sample sheets into the folder given as the first argument, for looking at.

#[path = "../tests/common/wet.rs"]
mod wet;

use std::path::PathBuf;

use spoolwright_core::dx::{Dx, Latitude};
use spoolwright_core::film::Light;
use spoolwright_print::{
    CanLabel, CassetteLabel, DxLabel, DxTemplate, LabelLayout, LabelSize, Paper, Target,
    WindingTicket, bath_cards, can_labels, cassette_labels, dx_pattern, run_sheets,
    winding_tickets,
};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = PathBuf::from(std::env::args().nth(1).ok_or("give a folder to write to")?);
    std::fs::create_dir_all(&folder)?;
    let rolls = [
        "HM-07",
        "HM-08",
        "LK-01",
        "LK-12",
        "Q-103",
        "WINTER-2026",
        "B-1",
    ];
    let labels: Vec<CassetteLabel> = rolls
        .iter()
        .enumerate()
        .map(|(i, roll)| CassetteLabel {
            roll: (*roll).to_owned(),
            stock: [
                "Heron Mono 200",
                "Lark Duplicating Fine-Grain Positive",
                "鳥 Ångström Ω",
            ][i % 3]
                .to_owned(),
            ei: [Some(250.0), Some(6.0), Some(1600.0), None][i % 4],
            frames: [18, 36, 8, 72][i % 4],
            format: if i % 4 == 3 {
                "half".to_owned()
            } else {
                String::new()
            },
            wound_on: "25 Nov 2026".to_owned(),
            can: roll.split('-').next().unwrap_or_default().to_owned(),
            note: [
                "",
                "dog show, hall light, pushed one stop",
                "loaded in the bag",
            ][i % 3]
                .to_owned(),
            url: Some(format!("http://127.0.0.1:7420/roll/{roll}")),
        })
        .collect();
    let cans = vec![
        CanLabel {
            letters: "HM".to_owned(),
            stock: "Heron Mono 200".to_owned(),
            length: "30.5 m (100 ft)".to_owned(),
            details: "short pitch, polyester".to_owned(),
            opened: "3 Oct 2026".to_owned(),
            loader: "day loader".to_owned(),
            tare: "118 g".to_owned(),
            expires: "2027-06".to_owned(),
            cautions: vec![],
            url: Some("http://127.0.0.1:7420/can/HM".to_owned()),
        },
        CanLabel {
            letters: "LK".to_owned(),
            stock: "Lark Duplicating Fine-Grain Positive, last of the cutting-room store"
                .to_owned(),
            length: "122 m (400 ft)".to_owned(),
            url: Some("http://127.0.0.1:7420/can/LK".to_owned()),
            ..CanLabel::default()
        },
    ];
    let ticket = WindingTicket {
        roll: "HM-07".to_owned(),
        stock: "Heron Mono 200".to_owned(),
        can: "HM".to_owned(),
        loader: "day loader".to_owned(),
        cassette: "C5".to_owned(),
        wanted_for: "dog show".to_owned(),
        ei: Some(250.0),
        frames: 18,
        format: String::new(),
        leader_clicks: 4,
        frame_clicks: 18,
        tail_clicks: 2,
        light: Light::Room,
        target: Target::Dial {
            start: -4.0,
            stop: 20.0,
        },
        draws: "1.01 m".to_owned(),
        steps: vec![],
        url: Some("http://127.0.0.1:7420/roll/HM-07".to_owned()),
    };
    let tickets = vec![
        ticket.clone(),
        WindingTicket {
            roll: "LK-12".to_owned(),
            frames: 36,
            frame_clicks: 36,
            light: Light::Dark,
            tail_clicks: 0,
            target: Target::Turns(12.76),
            ..ticket.clone()
        },
        WindingTicket {
            roll: "Q-103".to_owned(),
            frames: 72,
            frame_clicks: 36,
            format: "half".to_owned(),
            target: Target::Clicks,
            ..ticket.clone()
        },
        WindingTicket {
            roll: "WINTER-2026-LONG".to_owned(),
            stock: "Lark Duplicating Fine-Grain Positive, last of the cutting-room store"
                .to_owned(),
            frames: 6,
            frame_clicks: 6,
            target: Target::Dial {
                start: 0.0,
                stop: 12.0,
            },
            ..ticket
        },
    ];
    let dx = vec![
        DxLabel {
            roll: "HM-07".to_owned(),
            dx: Dx {
                iso: Some(260.0),
                exposures: Some(18),
                latitude: Some(Latitude::One),
            },
        },
        DxLabel {
            roll: "LK-12".to_owned(),
            dx: Dx {
                iso: Some(400.0),
                exposures: Some(36),
                latitude: Some(Latitude::ThreeOne),
            },
        },
    ];
    for paper in Paper::ALL {
        for (word, _, size) in LabelSize::PRESETS {
            let sheets = cassette_labels(&labels, LabelLayout::plain(size), paper, 0)?;
            save(&folder, &format!("labels-{word}-{}", paper.word()), &sheets)?;
        }
        save(
            &folder,
            &format!("cans-{}", paper.word()),
            &can_labels(&cans, paper, 0)?,
        )?;
        save(
            &folder,
            &format!("tickets-{}", paper.word()),
            &winding_tickets(&tickets, paper, 0)?,
        )?;
        save(
            &folder,
            &format!("dx-{}", paper.word()),
            &dx_pattern(&dx, DxTemplate::default(), paper)?,
        )?;
        save(
            &folder,
            &format!("baths-{}", paper.word()),
            &bath_cards(&[wet::fixer(), wet::fixer()], paper, 0)?,
        )?;
        save(
            &folder,
            &format!("run-{}", paper.word()),
            &run_sheets(&[wet::run()], paper)?,
        )?;
    }
    Ok(())
}

fn save(
    folder: &std::path::Path,
    name: &str,
    sheets: &spoolwright_print::Document,
) -> Result<(), Box<dyn std::error::Error>> {
    std::fs::write(folder.join(format!("{name}.pdf")), sheets.to_pdf()?.0)?;
    std::fs::write(
        folder.join(format!("{name}.svg")),
        sheets.to_svg(0).unwrap_or_default(),
    )?;
    Ok(())
}
