//! `spoolwright camera`: cameras, a roll into one and out of it.

use serde_json::{Value, json};
use spoolwright_core::field::record::Camera;

use super::Failure;
use super::desk::{Desk, Table, listed, or_dash, over};
use crate::service::field::cameras::{CameraDraft, CameraView};
use crate::service::field::stays::{PutInDraft, TakeOutDraft};

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Add a camera.
    Add(CameraDraft),
    /// Change what was entered; a lone - empties a field.
    Change {
        /// Its name or number.
        camera: String,
        #[command(flatten)]
        draft: CameraDraft,
    },
    /// List cameras and the roll in each.
    List {
        /// Those put away too.
        #[arg(long)]
        all: bool,
    },
    /// Show which rolls were in a camera, newest first.
    Show {
        /// Its name or number.
        camera: String,
    },
    /// Put a camera away, or take it out again.
    Close {
        /// Its name or number.
        camera: String,
        /// Take it out again.
        #[arg(long)]
        open: bool,
    },
    /// Put a roll in a camera.
    Load {
        /// The roll's label, such as HM-07.
        roll: String,
        #[command(flatten)]
        draft: PutInDraft,
    },
    /// Take a roll out of its camera: at its end, or before it with --frame.
    Unload {
        /// The roll's label, such as HM-07.
        roll: String,
        #[command(flatten)]
        draft: TakeOutDraft,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        Verb::Add(draft) => {
            let made = desk.service.save_camera(None, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::Change { camera, draft } => {
            let old = desk.service.camera_named(&camera)?;
            let draft = over(&CameraDraft::from(&old), &draft)?;
            let made = desk
                .service
                .save_camera(Some(old.id), &draft, desk.request)?;
            desk.told(made)
        }
        Verb::List { all } => list(desk, all),
        Verb::Show { camera } => {
            let camera = desk.service.camera_named(&camera)?;
            show(desk, &camera)
        }
        Verb::Close { camera, open } => {
            let camera = desk.service.camera_named(&camera)?;
            let made = desk.service.close_camera(camera.id, !open, desk.request)?;
            desk.told(made)
        }
        Verb::Load { roll, draft } => {
            let id = desk.service.roll(&roll)?.roll.id;
            let made = desk.service.put_in_camera(id, &draft, desk.request)?;
            desk.told(made)
        }
        Verb::Unload { roll, draft } => {
            let id = desk.service.roll(&roll)?.roll.id;
            let made = desk.service.take_out_of_camera(id, &draft, desk.request)?;
            desk.told(made)
        }
    }
}

fn list(desk: &mut Desk<'_>, all: bool) -> Result<(), Failure> {
    let mut cameras = desk.service.cameras()?;
    cameras.retain(|c| all || !c.camera.closed);
    let mut table = Table::new(&["camera", "roll", "since", ">from frame", "note"]);
    for c in &cameras {
        let holds = c.holds.as_ref();
        table.row([
            c.camera.name.clone(),
            or_dash(holds.map(|(_, roll)| &roll.label)),
            or_dash(holds.map(|(load, _)| &load.loaded_on)),
            or_dash(holds.map(|(load, _)| load.first_frame)),
            c.camera.note.clone(),
        ]);
    }
    desk.answer(
        listed(table, "No camera: `spoolwright camera add --name NAME`."),
        || cameras.iter().map(of).collect(),
    )
}

fn of(c: &CameraView) -> Value {
    json!({
        "id": c.camera.id.0, "name": c.camera.name, "note": c.camera.note, "closed": c.camera.closed,
        "holds": c.holds.as_ref().map(|(load, roll)| json!({
            "roll": roll.label, "loaded_on": load.loaded_on, "ei": load.ei, "first_frame": load.first_frame,
        })),
    })
}

fn show(desk: &mut Desk<'_>, camera: &Camera) -> Result<(), Failure> {
    let rolls = desk.service.rolls_of_camera(camera.id)?;
    let mut table = Table::new(&[
        "roll",
        "in",
        "out",
        ">from frame",
        ">to frame",
        ">EI",
        "now",
    ]);
    for (load, roll) in &rolls {
        table.row([
            roll.label.clone(),
            load.loaded_on.clone(),
            or_dash(load.out_on.as_ref()),
            load.first_frame.to_string(),
            or_dash(load.out_frame),
            or_dash(load.ei),
            roll.state.word().to_owned(),
        ]);
    }
    let text = listed(table, "No roll was in it.");
    desk.answer(format!("{}\n{text}", camera.name), || {
        json!({
            "id": camera.id.0, "name": camera.name, "note": camera.note, "closed": camera.closed,
            "rolls": rolls.iter().map(|(load, roll)| json!({
                "roll": roll.label, "state": roll.state.word(), "loaded_on": load.loaded_on, "out_on": load.out_on,
                "ei": load.ei, "first_frame": load.first_frame, "out_frame": load.out_frame, "note": load.note,
            })).collect::<Vec<_>>(),
        })
    })
}
