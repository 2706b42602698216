//! The scenario's field: three cameras, what is in them today, and what was noted of frames then and now.

use super::Scene;
use crate::service::Outcome;
use crate::service::field::cameras::CameraDraft;
use crate::service::field::note::{NoteDraft, NoteSent};
use crate::service::field::stays::{PutInDraft, TakeOutDraft};
use spoolwright_core::shelf::RollId;

/// Frame, subject, place, aperture, shutter, lens, filter.
type Noted<'a> = (
    &'a str,
    &'a str,
    &'a str,
    &'a str,
    &'a str,
    &'a str,
    &'a str,
);

/// What was noted of rolls that have long been filed.
const THEN: [(&str, &[Noted<'static>]); 2] = [
    (
        "HM-07",
        &[
            (
                "3",
                "fog over the meadows",
                "mill lane",
                "8",
                "1/60",
                "short one",
                "",
            ),
            (
                "11",
                "heron, waiting",
                "the weir",
                "5.6",
                "1/250",
                "long one",
                "",
            ),
            (
                "12",
                "heron on the weir",
                "the weir",
                "5.6",
                "1/500",
                "long one",
                "yellow",
            ),
            (
                "13",
                "heron, gone",
                "the weir",
                "5.6",
                "1/500",
                "long one",
                "yellow",
            ),
            (
                "20",
                "lock keeper's cat",
                "the lock",
                "4",
                "1/125",
                "short one",
                "",
            ),
        ],
    ),
    (
        "HM-09",
        &[
            (
                "1",
                "market, first light",
                "the square",
                "2.8",
                "1/60",
                "short one",
                "",
            ),
            (
                "8",
                "baker's window",
                "bridge street",
                "4",
                "1/30",
                "short one",
                "",
            ),
        ],
    ),
];

/// What was noted of the rolls of the last weeks.
const NOW: [Noted<'static>; 4] = [
    (
        "1",
        "quarry face, morning",
        "north quarry",
        "11",
        "1/60",
        "short one",
        "yellow",
    ),
    (
        "2",
        "quarry face, closer",
        "north quarry",
        "11",
        "1/60",
        "long one",
        "yellow",
    ),
    (
        "4",
        "rusted crane",
        "north quarry",
        "8",
        "1/125",
        "long one",
        "orange",
    ),
    ("5", "", "", "", "", "", ""),
];

impl Scene {
    /// The cameras, on the day the shelf was set up.
    pub(super) fn bring_cameras(&self) -> Outcome<()> {
        for (name, note) in [
            ("Walking camera", "counts from S over 0"),
            ("The old rangefinder", "its slow times drag in the cold"),
            ("Copying stand", ""),
        ] {
            let draft = CameraDraft {
                name: name.into(),
                note: note.into(),
            };
            self.service.save_camera(None, &draft, None)?;
        }
        Ok(())
    }

    /// A roll goes into a camera.
    pub(super) fn load_camera(&self, roll: RollId, camera: &str, ei: &str) -> Outcome<()> {
        let draft = PutInDraft {
            camera: camera.into(),
            ei: ei.into(),
            ..PutInDraft::default()
        };
        self.service.put_in_camera(roll, &draft, None)?;
        Ok(())
    }

    /// A roll comes out of its camera: after that frame, or at its end.
    pub(super) fn out_of_camera(&self, roll: RollId, frame: &str) -> Outcome<()> {
        let draft = TakeOutDraft {
            frame: frame.into(),
            ..TakeOutDraft::default()
        };
        self.service.take_out_of_camera(roll, &draft, None)?;
        Ok(())
    }

    /// Notes of the roll that is in a camera today; one frame was noted twice, on the phone and at home.
    pub(super) fn note_frames(&self, roll: RollId) -> Outcome<()> {
        for noted in &NOW {
            self.note(roll, noted, &self.service.today())?;
        }
        for subject in ["wagon by the crusher", "ore wagon"] {
            let sent = NoteSent {
                draft: NoteDraft {
                    frame: "6".into(),
                    subject: subject.into(),
                    place: "north quarry".into(),
                    ..NoteDraft::default()
                },
                ..NoteSent::default()
            };
            self.service.save_note(roll, &sent, None)?;
        }
        Ok(())
    }

    /// Notes of rolls wound long ago, copied from a notebook.
    pub(super) fn copy_the_notebook(&self) -> Outcome<()> {
        for (label, notes) in THEN {
            let roll = self.service.roll(label)?.roll;
            let day = roll.wound_at.get(..10).unwrap_or_default().to_owned();
            for noted in notes {
                self.note(roll.id, noted, &day)?;
            }
        }
        Ok(())
    }

    fn note(&self, roll: RollId, noted: &Noted<'_>, day: &str) -> Outcome<()> {
        let &(frame, subject, place, aperture, shutter, lens, filter) = noted;
        let draft = NoteDraft {
            frame: frame.into(),
            subject: subject.into(),
            place: place.into(),
            aperture: aperture.into(),
            shutter: shutter.into(),
            lens: lens.into(),
            filter: filter.into(),
            taken_at: day.into(),
            ..NoteDraft::default()
        };
        let sent = NoteSent {
            draft,
            ..NoteSent::default()
        };
        self.service.save_note(roll, &sent, None)?;
        Ok(())
    }
}
