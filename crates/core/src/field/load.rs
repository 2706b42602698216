//! Film into a camera and out of it: whether it may go in, where a roll stopped, and at which frame to go on.

use super::record::{Camera, CameraLoad};
use crate::bounds;
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::shelf::{Roll, RollState};

/// Frames wound on unexposed when a roll goes back into a camera, past the last one exposed, lest two pictures overlap:
/// a film never sits twice at the same place (common practice, no source).
pub const SPARE_FRAMES: u32 = 1;

/// Where a roll stopped that was taken out before its end, and how to go on with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Resume {
    /// The last frame exposed; 0 when none was.
    pub stopped_after: u32,
    /// Frames to wind on with the lens covered, at the fastest time and smallest aperture.
    pub wind_on: u32,
    /// The first frame to expose then.
    pub first_frame: u32,
}

impl Resume {
    /// How to go on after a frame.
    ///
    /// # Source
    /// Common practice, no source: past the last exposed frame by [`SPARE_FRAMES`].
    pub const fn after(frame: u32) -> Self {
        let wind_on = if frame == 0 {
            0
        } else {
            frame.saturating_add(SPARE_FRAMES)
        };
        Self {
            stopped_after: frame,
            wind_on,
            first_frame: wind_on.saturating_add(1),
        }
    }
}

/// Where a roll stopped, by its stays in cameras, oldest first; none when it was in none, is in one, or ran to its end.
pub fn stopped(loads: &[CameraLoad]) -> Option<Resume> {
    let newest = loads.last().filter(|l| !l.is_open())?;
    newest.out_frame?;
    let reached = loads.iter().filter_map(|l| l.out_frame);
    reached.max().map(Resume::after)
}

/// What is to be known before a roll goes into a camera.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loading {
    /// Where it stopped before, if it was in a camera before.
    pub resume: Option<Resume>,
    /// What speaks against it, without forbidding it.
    pub caveats: Vec<Caveat>,
}

/// Whether a roll may go into a camera, to be exposed from `first_frame` on (none for where it is to go on).
/// `loads` are the roll's stays in cameras, oldest first; `in_camera` is what is in the camera now.
///
/// # Errors
/// [`Kind::Conflict`]: the roll is not wound and unexposed in part or whole, is in a camera, or the camera holds
/// another; [`Kind::Inconsistent`]: the camera is closed; [`Kind::OutOfRange`]: the frame.
pub fn may_load(
    roll: &Roll,
    camera: &Camera,
    loads: &[CameraLoad],
    in_camera: Option<&CameraLoad>,
    first_frame: Option<u32>,
) -> Result<Loading, Error> {
    if camera.closed {
        return Err(Error::new(
            Kind::Inconsistent,
            "camera",
            format!("{}, which is no longer used", camera.name),
            "a camera in use",
            "Open it again in the list of cameras, or choose another.",
        ));
    }
    if let Some(other) = in_camera.filter(|l| l.is_open() && l.camera == camera.id) {
        let (given, remedy) = if other.roll == roll.id {
            ("the roll that is in it already", "Nothing to do.")
        } else {
            (
                "one with another roll in it",
                "Take that roll out first: at its end, or say after which frame.",
            )
        };
        return Err(Error::new(
            Kind::Conflict,
            "camera",
            format!("{}, {given}", camera.name),
            "an empty camera",
            remedy,
        ));
    }
    if loads.iter().any(CameraLoad::is_open) || roll.state == RollState::InCamera {
        return Err(not_loadable(
            roll,
            "it is in a camera",
            "Take it out first.",
        ));
    }
    if roll.state != RollState::Wound {
        return Err(not_loadable(
            roll,
            match roll.state {
                RollState::Exposed => "it is exposed to its end",
                RollState::Scrapped => "it is lost or scrapped",
                _ => "it is developed",
            },
            "Choose another roll; if this is wrong, undo what said so.",
        ));
    }
    let resume = stopped(loads);
    let first = first_frame.unwrap_or(resume.map_or(1, |r| r.first_frame));
    bounds::FRAMES.check_as("first frame", f64::from(first))?;
    let mut caveats = Vec::new();
    if let Some(r) = resume.filter(|r| first <= r.stopped_after) {
        caveats.push(Caveat::new(
            "exposed_twice",
            format!(
                "Frames {first} to {} were exposed before and would be exposed again.",
                r.stopped_after
            ),
        ));
    }
    if first > roll.frames {
        caveats.push(Caveat::new(
            "nothing_left",
            format!(
                "The roll should give {} frames, so nothing may be left at frame {first}.",
                roll.frames
            ),
        ));
    }
    Ok(Loading { resume, caveats })
}

fn not_loadable(roll: &Roll, why: &str, remedy: &str) -> Error {
    Error::new(
        Kind::Conflict,
        "roll",
        format!("{}: {why}", roll.label),
        "a roll that is wound and not exposed to its end",
        remedy,
    )
}

/// What a roll is when it is taken out after `out_frame`, or at its end (none): wound again, or exposed.
///
/// # Errors
/// [`Kind::Conflict`]: it is out already; [`Kind::OutOfRange`]: a frame before the first of this stay, or past what a
/// roll can hold.
pub fn taken_out(
    roll: &Roll,
    load: &CameraLoad,
    out_frame: Option<u32>,
) -> Result<RollState, Error> {
    if !load.is_open() {
        return Err(Error::new(
            Kind::Conflict,
            "roll",
            format!("{}, which was taken out before", roll.label),
            "a roll that is in a camera",
            "Nothing to do; if the frame was wrong, undo that and say it anew.",
        ));
    }
    let Some(frame) = out_frame else {
        return Ok(RollState::Exposed);
    };
    let least = load.first_frame.saturating_sub(1);
    if frame < least || f64::from(frame) > bounds::FRAMES.max {
        return Err(Error::new(
            Kind::OutOfRange,
            "last frame exposed",
            frame,
            format!(
                "{least} (none exposed in this camera) to {}",
                bounds::FRAMES.max
            ),
            "Read it off the camera's counter.",
        ));
    }
    Ok(if frame < roll.frames {
        RollState::Wound
    } else {
        RollState::Exposed
    })
}
