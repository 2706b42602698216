//! Cameras: listed with what is in them, added, changed, put away.

use super::super::draft::{differences, pick};
use super::super::entry::Reader;
use super::super::error::at;
use super::super::things::{saved, shut};
use super::super::{Made, Outcome, Request, Service, find_in};
use serde::{Deserialize, Serialize};
use spoolwright_core::field::record::{Camera, CameraLoad};
use spoolwright_core::shelf::{CameraId, Roll};
use spoolwright_core::{Error, Kind};

/// Rolls that were in a camera, shown at once.
const PAST_SHOWN: u32 = 60;

/// A camera as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct CameraDraft {
    /// What you call it.
    #[arg(long, default_value = "")]
    pub name: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl CameraDraft {
    fn read(&self, id: CameraId, closed: bool) -> Outcome<Camera> {
        let mut r = Reader::new();
        let camera = Camera {
            id,
            name: r.name("a camera's name", &self.name),
            note: r.free("note", "a note", &self.note, 400),
            closed,
        };
        r.finish()?;
        Ok(camera)
    }
}

impl From<&Camera> for CameraDraft {
    fn from(c: &Camera) -> Self {
        Self {
            name: c.name.clone(),
            note: c.note.clone(),
        }
    }
}

/// A camera and the roll in it.
#[derive(Debug, Clone, PartialEq)]
pub struct CameraView {
    /// As entered.
    pub camera: Camera,
    /// What is in it now.
    pub holds: Option<(CameraLoad, Roll)>,
}

impl CameraView {
    /// Whether a roll may be put in.
    pub fn is_ready(&self) -> bool {
        self.holds.is_none() && !self.camera.closed
    }
}

impl Service {
    /// Every camera with what is in it, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn cameras(&self) -> Outcome<Vec<CameraView>> {
        let store = self.store();
        let loads = store.open_loads()?;
        let cameras = store.all::<Camera>()?;
        drop(store);
        cameras
            .into_iter()
            .map(|camera| {
                let load = loads.iter().find(|l| l.camera == camera.id);
                let holds = load
                    .map(|l| Ok::<_, super::super::Failure>((l.clone(), self.find(l.roll)?)))
                    .transpose()?;
                Ok(CameraView { camera, holds })
            })
            .collect()
    }

    /// One camera.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn camera(&self, id: CameraId) -> Outcome<Camera> {
        self.find(id)
    }

    /// The camera that a name or number means.
    ///
    /// # Errors
    /// There is none of that name or number.
    pub fn camera_named(&self, text: &str) -> Outcome<Camera> {
        let all = self.all::<Camera>()?;
        let found = pick(&all, text, "camera", |c| &c.name)?;
        Ok(found.cloned().ok_or_else(|| missing_camera(text))?)
    }

    /// The newest rolls that were in a camera, newest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn rolls_of_camera(&self, id: CameraId) -> Outcome<Vec<(CameraLoad, Roll)>> {
        let loads = self.store().loads_of_camera(id, PAST_SHOWN)?;
        loads
            .into_iter()
            .map(|load| {
                let roll = self.find(load.roll)?;
                Ok((load, roll))
            })
            .collect()
    }

    /// Adds a camera (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft, or its name is taken.
    pub fn save_camera(
        &self,
        id: Option<CameraId>,
        draft: &CameraDraft,
        request: Request<'_>,
    ) -> Outcome<Made<CameraId>> {
        self.change(request, |change| {
            let old = id.map(|id| find_in::<Camera>(change, id)).transpose()?;
            let closed = old.as_ref().is_some_and(|o| o.closed);
            let camera = draft.read(id.unwrap_or(CameraId(0)), closed)?;
            let put = change.put(&camera)?;
            let changed = old
                .as_ref()
                .map(|o| differences(&CameraDraft::from(o), &CameraDraft::from(&camera)));
            Ok((
                "camera.saved",
                saved(&format!("the camera {}", camera.name), changed),
                put,
            ))
        })
    }

    /// Takes a camera out of use, or brings it back.
    ///
    /// # Errors
    /// There is none of that number, or a roll is in it.
    pub fn close_camera(
        &self,
        id: CameraId,
        closed: bool,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let camera = Camera {
                closed,
                ..find_in::<Camera>(change, id)?
            };
            if closed && let Some(load) = change.open_load_of_camera(id)? {
                let roll = find_in::<Roll>(change, load.roll)?;
                return Err(at(
                    "closed",
                    Error::new(
                        Kind::Conflict,
                        camera.name,
                        format!("{} is in it", roll.label),
                        "an empty camera",
                        "Take the roll out first.",
                    ),
                ));
            }
            change.put(&camera)?;
            Ok((
                "camera.closed",
                format!("{} the camera {}.", shut(closed), camera.name),
                (),
            ))
        })
    }
}

pub(super) fn missing_camera(text: &str) -> Error {
    Error::new(
        Kind::Missing,
        "a camera",
        format!("{text:?}"),
        "one of the cameras in use",
        "Choose one, or add it first.",
    )
}
