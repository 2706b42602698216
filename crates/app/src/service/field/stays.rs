//! A roll into a camera, out of it before its end, and back into one.

use super::super::draft::pick;
use super::super::entry::{self, Reader};
use super::super::error::at;
use super::super::shelf::RollView;
use super::super::wet::holds::must_not_leave_its_tank;
use super::super::{Failure, Made, Outcome, Request, Service, find_in};
use super::cameras::{CameraView, missing_camera};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::field::load::{Resume, may_load, stopped, taken_out};
use spoolwright_core::field::record::{Camera, CameraLoad};
use spoolwright_core::shelf::{
    CameraId, CameraLoadId, Can, Cassette, Roll, RollId, RollState, Want,
};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Subject};

/// A roll put in a camera, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct PutInDraft {
    /// The camera: its name or number; may be left out when only one is empty.
    #[arg(long, default_value = "")]
    pub camera: String,
    /// Instead: the name of a camera that is not in the list yet.
    #[arg(long, default_value = "")]
    pub new_camera: String,
    /// Day it was put in, YYYY-MM-DD; today when empty.
    #[arg(long, default_value = "")]
    pub loaded_on: String,
    /// EI the meter is set to; the roll's own when empty.
    #[arg(long, default_value = "")]
    pub ei: String,
    /// First frame to be exposed; 1, or where it is to go on, when empty.
    #[arg(long, default_value = "")]
    pub first_frame: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
    /// It is so, however unlikely: record it as typed.
    #[arg(long, default_value = "", num_args = 0..=1, require_equals = true, default_missing_value = "yes")]
    pub sure: String,
}

/// A roll taken out of its camera, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct TakeOutDraft {
    /// Last frame exposed, when it comes out before its end: the camera's counter. At its end when empty.
    #[arg(long, default_value = "")]
    pub frame: String,
    /// Day it was taken out, YYYY-MM-DD; today when empty.
    #[arg(long, default_value = "")]
    pub out_on: String,
}

/// A roll's stay in a camera with the camera.
#[derive(Debug, Clone, PartialEq)]
pub struct Stay {
    /// The stay.
    pub load: CameraLoad,
    /// The camera.
    pub camera: Camera,
}

impl Stay {
    /// Whether a frame was exposed in this stay. Frames 0 and 00 belong to the one that began with 1.
    pub fn holds(&self, frame: u32) -> bool {
        self.load.first_frame <= frame.max(1) && self.load.out_frame.is_none_or(|out| frame <= out)
    }
}

/// A roll in the field.
#[derive(Debug, Clone, PartialEq)]
pub struct RollField {
    /// Its stays in cameras, oldest first.
    pub stays: Vec<Stay>,
    /// Where it stopped and how to go on, if it was taken out before its end.
    pub resume: Option<Resume>,
    /// Cameras it may be put in, the likeliest first.
    pub ready: Vec<Camera>,
    /// EI to meter by: the one of its newest stay, else the roll's, else its stock's.
    pub ei: Option<f64>,
}

impl RollField {
    /// Where it is now.
    pub fn now_in(&self) -> Option<&Stay> {
        self.stays.last().filter(|s| s.load.is_open())
    }

    /// The camera a frame was exposed in.
    pub fn camera_of(&self, frame: u32) -> Option<&Stay> {
        self.stays.iter().rev().find(|s| s.holds(frame))
    }
}

/// The EI a roll was exposed at.
#[derive(Debug, Clone, PartialEq)]
pub struct ExposedAt {
    /// What the meter was set to in its newest stay in a camera, else what stands on its label.
    pub ei: Option<f64>,
    /// It was exposed at another one too.
    pub caveat: Option<Caveat>,
}

impl Service {
    /// The EI a roll was exposed at, which its developing time is for.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn exposed_at(&self, roll: &Roll) -> Outcome<ExposedAt> {
        let loads = self.store().loads_of_roll(roll.id)?;
        // A stay in which nothing was exposed tells nothing.
        let used = loads
            .iter()
            .filter(|l| l.out_frame.is_none_or(|out| out >= l.first_frame));
        let all: Vec<Option<f64>> = used.map(|l| l.ei.or(roll.ei)).collect();
        let ei = all.last().copied().unwrap_or(roll.ei);
        let others: Vec<String> = all
            .iter()
            .filter(|other| **other != ei)
            .map(|other| other.map_or_else(|| "its stock's".to_owned(), |ei| ei.to_string()))
            .collect();
        Ok(ExposedAt {
            ei,
            caveat: (!others.is_empty()).then(|| {
                let told = ei.map_or_else(|| "its stock's".to_owned(), |ei| ei.to_string());
                Caveat::new(
                    "two_eis",
                    format!(
                        "{} was exposed at EI {} first and at EI {told} last: the time is for the last.",
                        roll.label,
                        others.join(", ")
                    ),
                )
            }),
        })
    }

    /// A roll's stays in cameras, and where it can go next.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn roll_in_field(&self, view: &RollView) -> Outcome<RollField> {
        let roll = &view.roll;
        let loads = self.store().loads_of_roll(roll.id)?;
        let resume = if roll.state == RollState::Wound {
            stopped(&loads)
        } else {
            None
        };
        let ei = loads.last().and_then(|l| l.ei).or(view.ei);
        let stays = loads
            .into_iter()
            .map(|load| {
                let camera = self.find::<Camera>(load.camera)?;
                Ok(Stay { load, camera })
            })
            .collect::<Outcome<Vec<_>>>()?;
        let wanted = match roll.want {
            Some(want) => self.find::<Want>(want)?.camera,
            None => String::new(),
        };
        let all = self.cameras()?;
        let before = stays.last().map(|s| s.camera.id);
        Ok(RollField {
            ready: self.by_likelihood(all, before, &wanted)?,
            stays,
            resume,
            ei,
        })
    }

    /// Empty cameras: the one it was in before, the one it is meant for, then the one used last.
    fn by_likelihood(
        &self,
        all: Vec<CameraView>,
        before: Option<CameraId>,
        wanted: &str,
    ) -> Outcome<Vec<Camera>> {
        let mut ready = Vec::new();
        for view in all.into_iter().filter(CameraView::is_ready) {
            let camera = view.camera;
            let newest = self.store().loads_of_camera(camera.id, 1)?;
            let rank = (
                Some(camera.id) != before,
                !camera.name.eq_ignore_ascii_case(wanted.trim()),
                -newest.first().map_or(0, |l| l.id.0),
            );
            ready.push((rank, camera));
        }
        ready.sort_by_key(|(rank, camera)| (*rank, camera.id));
        Ok(ready.into_iter().map(|(_, camera)| camera).collect())
    }

    /// Puts a roll in a camera, to be exposed from its first frame or from where it stopped.
    ///
    /// # Errors
    /// Faults of the draft; the roll or the camera is not free for it; frames that would be exposed twice, unless sure.
    pub fn put_in_camera(
        &self,
        id: RollId,
        draft: &PutInDraft,
        request: Request<'_>,
    ) -> Outcome<Made<CameraLoadId>> {
        let today = self.today();
        self.change(request, |change| {
            let roll = find_in::<Roll>(change, id)?;
            let mut r = Reader::new();
            let day = r.date("loaded_on", &draft.loaded_on);
            let ei = r.optional("ei", &draft.ei, entry::SPEED, &bounds::SPEED_ISO);
            let first = match draft.first_frame.trim() {
                "" => None,
                text => Some(r.whole("first_frame", text, &bounds::FRAMES)),
            };
            let note = r.free("note", "a note", &draft.note, 400);
            let sure = r.yes("sure", &draft.sure);
            let camera = camera_for(change, &mut r, draft)?;
            r.finish()?;
            let camera = camera.ok_or_else(|| at("camera", missing_camera(&draft.camera)))?;
            let loads = change.loads_of_roll(id)?;
            let open = change.open_load_of_camera(camera.id)?;
            must_not_leave_its_tank(change, &roll, RollState::InCamera)?;
            // Said to be in a camera before anybody said in which: now it is said.
            let unsaid = roll.state == RollState::InCamera && loads.iter().all(|l| !l.is_open());
            let free = Roll {
                state: if unsaid { RollState::Wound } else { roll.state },
                ..roll.clone()
            };
            let loading = may_load(&free, &camera, &loads, open.as_ref(), first).map_err(|e| {
                let field = if e.what == "first frame" {
                    "first_frame"
                } else {
                    "camera"
                };
                at(field, e)
            })?;
            if let Some(c) = loading.caveats.first().filter(|_| !sure) {
                return Err(unlikely(c, first));
            }
            let first_frame = first.or(loading.resume.map(|r| r.first_frame)).unwrap_or(1);
            let put = change.put(&CameraLoad {
                id: CameraLoadId(0),
                roll: id,
                camera: camera.id,
                loaded_on: day.unwrap_or(today),
                ei,
                first_frame,
                out_frame: None,
                out_on: None,
                note,
            })?;
            change.put(&Roll {
                state: RollState::InCamera,
                ..roll.clone()
            })?;
            about(change, &roll, camera.id);
            let at_ei = ei.map(|ei| format!(", at EI {ei}")).unwrap_or_default();
            let on = if first_frame > 1 {
                format!(", to go on at frame {first_frame}")
            } else {
                String::new()
            };
            Ok((
                "roll.loaded",
                format!("Put {} in {}{at_ei}{on}.", roll.label, camera.name),
                put,
            ))
        })
    }

    /// Takes a roll out of its camera: before its end it is wound again, at its end exposed.
    ///
    /// # Errors
    /// Faults of the draft; the roll is in no camera.
    pub fn take_out_of_camera(
        &self,
        id: RollId,
        draft: &TakeOutDraft,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        let today = self.today();
        self.change(request, |change| {
            let roll = find_in::<Roll>(change, id)?;
            let mut r = Reader::new();
            let out_frame = match draft.frame.trim() {
                "" => None,
                text => Some(r.whole("frame", text, &LAST_FRAME)),
            };
            let day = r.date("out_on", &draft.out_on);
            r.finish()?;
            let Some(load) = change.open_load_of_roll(id)? else {
                return Err(not_in_a_camera(&roll));
            };
            let day = day.unwrap_or(today);
            if day < load.loaded_on {
                return Err(at(
                    "out_on",
                    Error::new(
                        Kind::Inconsistent,
                        "the day it was taken out",
                        day,
                        format!("{} or later, the day it was put in", load.loaded_on),
                        "Correct the day.",
                    ),
                ));
            }
            let state = taken_out(&roll, &load, out_frame).map_err(|e| at("frame", e))?;
            let camera = find_in::<Camera>(change, load.camera)?;
            change.put(&CameraLoad {
                out_frame,
                out_on: Some(day),
                ..load
            })?;
            change.put(&Roll {
                state,
                ..roll.clone()
            })?;
            about(change, &roll, camera.id);
            let how = match (out_frame, state) {
                (Some(0), RollState::Wound) => " before its first frame".to_owned(),
                (Some(n), RollState::Wound) => format!(" after frame {n}; the rest can be exposed"),
                (Some(n), _) => format!(" exposed, after frame {n}"),
                (None, _) => " exposed".to_owned(),
            };
            Ok((
                "roll.unloaded",
                format!("Took {} out of {}{how}.", roll.label, camera.name),
                (),
            ))
        })
    }
}

/// The last frame exposed, as a counter shows it.
const LAST_FRAME: bounds::Bounds = bounds::Bounds {
    what: "the last frame exposed",
    min: 0.0,
    ..bounds::FRAMES
};

/// The camera that is meant: a new one, the one named, or the only empty one. A fault is noted.
fn camera_for(
    change: &mut Change<'_>,
    r: &mut Reader,
    draft: &PutInDraft,
) -> Outcome<Option<Camera>> {
    let all = change.all::<Camera>()?;
    if !draft.new_camera.trim().is_empty() {
        let name = r.name_in("new_camera", "a camera's name", &draft.new_camera);
        let known = all.iter().find(|c| c.name.eq_ignore_ascii_case(&name));
        if let Some(known) = known {
            return Ok(Some(known.clone()));
        }
        let camera = Camera {
            id: CameraId(0),
            name,
            note: String::new(),
            closed: false,
        };
        let sound = !camera.name.is_empty() && camera.name.parse::<u64>().is_err();
        return Ok(match sound {
            true => Some(Camera {
                id: change.put(&camera)?,
                ..camera
            }),
            false => None,
        });
    }
    if !draft.camera.trim().is_empty() {
        let found = pick(&all, &draft.camera, "camera", |c| &c.name);
        return Ok(r.keep("camera", found.map(Option::<&Camera>::cloned), None));
    }
    let taken: Vec<CameraId> = change.open_loads()?.iter().map(|l| l.camera).collect();
    let mut empty = all
        .into_iter()
        .filter(|c| !c.closed && !taken.contains(&c.id));
    match (empty.next(), empty.next()) {
        (Some(only), None) => Ok(Some(only)),
        _ => Ok(None),
    }
}

fn unlikely(caveat: &Caveat, first: Option<u32>) -> Failure {
    entry::unsure(
        "the first frame to be exposed",
        first.map_or_else(|| caveat.text.clone(), |f| f.to_string()),
        caveat.text.clone(),
        "Read it off the camera's counter; or say that it is so.",
    )
}

fn not_in_a_camera(roll: &Roll) -> Failure {
    at(
        "frame",
        Error::new(
            Kind::Conflict,
            format!("roll {}", roll.label),
            "in no camera that is known",
            "a roll that was put in a camera",
            "Say first which camera it is in.",
        ),
    )
}

fn about(change: &mut Change<'_>, roll: &Roll, camera: CameraId) {
    change.about(Subject::of::<Camera>(camera));
    change.about(Subject::of::<Can>(roll.can));
    if let Some(cassette) = roll.cassette {
        change.about(Subject::of::<Cassette>(cassette));
    }
}

/// Ends a roll's stay in its camera where its new state says that it is out: back in the box it has no frame of this
/// stay, otherwise it ran to its end.
///
/// # Errors
/// Trouble with the store.
pub(in crate::service) fn end_stay(
    change: &mut Change<'_>,
    roll: RollId,
    state: RollState,
    today: &str,
) -> Outcome<()> {
    if state == RollState::InCamera {
        return Ok(());
    }
    if let Some(load) = change.open_load_of_roll(roll)? {
        let unexposed = state == RollState::Wound;
        change.about(Subject::of::<Camera>(load.camera));
        change.put(&CameraLoad {
            out_frame: unexposed.then(|| load.first_frame.saturating_sub(1)),
            out_on: Some(today.max(&load.loaded_on).to_owned()),
            ..load
        })?;
    }
    Ok(())
}
