//! What the shelf keeps of the field and the binder: cameras and what is in them, frame notes, pages and strips, scans,
//! places to keep film in, and what was bought.
//!
//! Plain records with units in their names. Where a roll stopped, where a frame lies and what a frame cost are worked
//! out anew whenever they are looked at.

use super::frame::Frame;
use crate::film::PERFORATIONS_PER_CLICK;
use crate::shelf::{
    BathId, BinderId, BinderPageId, CameraId, CameraLoadId, CanId, FrameNoteId, KeptId,
    PageFormatId, PurchaseId, RollId, ScanFileId, StoragePlaceId, StripId,
};
use crate::words::worded;

/// A camera.
#[derive(Debug, Clone, PartialEq)]
pub struct Camera {
    /// Number in the store.
    pub id: CameraId,
    /// The photographer's name for it.
    pub name: String,
    /// Free text.
    pub note: String,
    /// No longer offered in forms.
    pub closed: bool,
}

/// A roll's stay in a camera. A roll changed mid-roll has several.
#[derive(Debug, Clone, PartialEq)]
pub struct CameraLoad {
    /// Number in the store; also its order in time.
    pub id: CameraLoadId,
    /// The roll.
    pub roll: RollId,
    /// The camera.
    pub camera: CameraId,
    /// Day it was put in, `YYYY-MM-DD`.
    pub loaded_on: String,
    /// EI the meter was set to; none for the roll's own.
    pub ei: Option<f64>,
    /// First frame exposed in this stay: 1, or further on where the roll had been in a camera before.
    pub first_frame: u32,
    /// Last frame exposed when it was taken out before its end; none while it is in, and when it ran to its end.
    pub out_frame: Option<u32>,
    /// Day it was taken out, `YYYY-MM-DD`; none while it is in.
    pub out_on: Option<String>,
    /// Free text.
    pub note: String,
}

impl CameraLoad {
    /// Whether the roll is in the camera still.
    pub const fn is_open(&self) -> bool {
        self.out_on.is_none()
    }
}

worded! {
    /// How much of the film one exposure takes.
    FrameShape {
        /// 24 × 36 mm, eight perforations.
        #[default]
        Full = "full",
        /// Half a frame, four perforations.
        Half = "half",
        /// A panorama, longer than a full frame.
        Panoramic = "panoramic",
    }
}

/// What a photographer noted of one frame. Nothing but roll and frame is obligatory; an empty text is nothing said.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameNote {
    /// Number in the store.
    pub id: FrameNoteId,
    /// The roll.
    pub roll: RollId,
    /// The frame.
    pub frame: Frame,
    /// Exposures on that frame: more than one for a double exposure.
    pub exposures: u32,
    /// Full, half or panoramic.
    pub shape: FrameShape,
    /// When it was taken, by the clock on the spot: `YYYY-MM-DD` or `YYYY-MM-DDTHH:MM`.
    pub taken_at: Option<String>,
    /// f-number.
    pub aperture: Option<f64>,
    /// Shutter time, seconds.
    pub shutter_s: Option<f64>,
    /// Lens, in words.
    pub lens: String,
    /// Filter, in words.
    pub filter: String,
    /// EI, where it differs from the roll's.
    pub ei: Option<f64>,
    /// What is on it.
    pub subject: String,
    /// Where it was taken.
    pub place: String,
    /// Meter reading as an exposure value at the EI used.
    pub meter_ev: Option<f64>,
    /// Whether the frame can be used; none until somebody has looked.
    pub usable: Option<bool>,
    /// Free text.
    pub note: String,
    /// A random word that the page made with the note, so that the same note sent twice is one; empty when it came
    /// otherwise.
    pub key: String,
    /// The note that this is another version of, written elsewhere and not settled yet.
    pub beside: Option<FrameNoteId>,
    /// When it was first written down, UTC, RFC 3339.
    pub made_at: String,
}

impl FrameNote {
    /// A note that says nothing yet of a frame.
    pub fn blank(roll: RollId, frame: Frame) -> Self {
        Self {
            id: FrameNoteId(0),
            roll,
            frame,
            exposures: 1,
            shape: FrameShape::Full,
            taken_at: None,
            aperture: None,
            shutter_s: None,
            lens: String::new(),
            filter: String::new(),
            ei: None,
            subject: String::new(),
            place: String::new(),
            meter_ev: None,
            usable: None,
            note: String::new(),
            key: String::new(),
            beside: None,
            made_at: String::new(),
        }
    }
}

/// A kind of sleeve page.
#[derive(Debug, Clone, PartialEq)]
pub struct PageFormat {
    /// Number in the store.
    pub id: PageFormatId,
    /// The photographer's name for it.
    pub name: String,
    /// Rows of pockets.
    pub rows: u32,
    /// Full frames a row takes.
    pub frames_per_row: u32,
    /// What one page costs.
    pub price_each: Option<f64>,
    /// Free text.
    pub note: String,
    /// No longer offered in forms.
    pub closed: bool,
}

/// A binder.
#[derive(Debug, Clone, PartialEq)]
pub struct Binder {
    /// Number in the store.
    pub id: BinderId,
    /// What stands on its back.
    pub name: String,
    /// The pages it takes.
    pub format: PageFormatId,
    /// Free text.
    pub note: String,
    /// Full, or no longer filled.
    pub closed: bool,
}

/// A page of a binder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BinderPage {
    /// Number in the store.
    pub id: BinderPageId,
    /// The binder.
    pub binder: BinderId,
    /// Page number within it, from one.
    pub number: u32,
}

/// A strip of negatives in its row of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strip {
    /// Number in the store.
    pub id: StripId,
    /// The page.
    pub page: BinderPageId,
    /// Row of the page, from zero.
    pub row: u32,
    /// The place in that row, counted in full frames from zero, where the strip begins.
    pub position: u32,
    /// The roll.
    pub roll: RollId,
    /// First frame on it.
    pub first: Frame,
    /// Last frame on it.
    pub last: Frame,
    /// Frames on it, blank ones too.
    pub frames: u32,
}

impl Strip {
    /// Places of a full frame that it takes, where each of its frames lies `advance_perforations` after the one before.
    ///
    /// # Source
    /// Own derivation from a full frame's eight perforations [G4].
    pub fn places(&self, advance_perforations: u32) -> u32 {
        let perforations = u64::from(self.frames) * u64::from(advance_perforations);
        let places = perforations.div_ceil(u64::from(PERFORATIONS_PER_CLICK));
        u32::try_from(places).unwrap_or(u32::MAX)
    }

    /// The place of a frame in this strip's row, counted in full frames from zero; none when the frame is not on it.
    /// `advance_perforations` are those of one frame of the roll.
    ///
    /// # Source
    /// Own derivation from a full frame's eight perforations [G4].
    pub fn position_of(&self, frame: Frame, advance_perforations: u32) -> Option<u32> {
        let index = frame.since(self.first).filter(|i| *i < self.frames)?;
        let perforations = u64::from(index) * u64::from(advance_perforations);
        let along = u32::try_from(perforations / u64::from(PERFORATIONS_PER_CLICK)).ok()?;
        self.position.checked_add(along)
    }
}

/// Where a frame lies: enough to walk to it.
#[derive(Debug, Clone, PartialEq)]
pub struct FramePlace {
    /// The binder.
    pub binder: Binder,
    /// Its pages' format.
    pub format: PageFormat,
    /// The page.
    pub page: BinderPage,
    /// The strip; its row is the frame's.
    pub strip: Strip,
    /// The frame's place in that row, counted in full frames from zero.
    pub position: u32,
}

/// An image file of a frame. The file itself is never touched.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScanFile {
    /// Number in the store.
    pub id: ScanFileId,
    /// The roll.
    pub roll: RollId,
    /// The frame.
    pub frame: Frame,
    /// Its path, as it was given.
    pub path: String,
    /// Its size in bytes when it was matched.
    pub size: u64,
    /// A digest of its content, if one was taken.
    pub digest: Option<String>,
    /// A digest of the sidecar as this program last wrote it.
    pub sidecar_digest: Option<String>,
    /// Day it was matched, `YYYY-MM-DD`.
    pub matched_on: String,
}

worded! {
    /// What kind of place film is kept in.
    PlaceKind {
        /// A room.
        #[default]
        Room = "room",
        /// A cool room or cellar.
        Cool = "cool",
        /// A refrigerator.
        Refrigerator = "refrigerator",
        /// A freezer.
        Freezer = "freezer",
    }
}

/// A place that film is kept in.
#[derive(Debug, Clone, PartialEq)]
pub struct StoragePlace {
    /// Number in the store.
    pub id: StoragePlaceId,
    /// The photographer's name for it.
    pub name: String,
    /// What kind of place it is.
    pub kind: PlaceKind,
    /// Its temperature, °C, if known.
    pub temperature_c: Option<f64>,
    /// Its relative humidity, %, if known.
    pub rh_percent: Option<f64>,
    /// Free text.
    pub note: String,
    /// No longer offered in forms.
    pub closed: bool,
}

/// What may be kept in a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Keepable {
    /// A can.
    Can(CanId),
    /// A roll.
    Roll(RollId),
    /// A binder.
    Binder(BinderId),
}

/// Where something is kept since a day: the newest holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// Number in the store.
    pub id: KeptId,
    /// What is kept.
    pub thing: Keepable,
    /// The place.
    pub place: StoragePlaceId,
    /// Since which day, `YYYY-MM-DD`.
    pub since: String,
}

worded! {
    /// What was bought. Film is not among it: its price is the can's.
    Bought {
        /// Reloadable cassettes.
        #[default]
        Cassettes = "cassettes",
        /// Developer, fixer and the like.
        Chemistry = "chemistry",
        /// Sleeve pages.
        Pages = "pages",
        /// Anything else that frames are to bear.
        Other = "other",
    }
}

/// Something bought, film apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Purchase {
    /// Number in the store.
    pub id: PurchaseId,
    /// Day, `YYYY-MM-DD`.
    pub day: String,
    /// What.
    pub what: Bought,
    /// What was paid for all of it, in the user's currency.
    pub price: f64,
    /// How many, or how much, that was.
    pub quantity: f64,
    /// How often one of them serves: fillings of a cassette, rolls of a bottle.
    pub uses_each: Option<f64>,
    /// The bath it went into.
    pub bath: Option<BathId>,
    /// The page format, of pages.
    pub format: Option<PageFormatId>,
    /// Free text.
    pub note: String,
}
