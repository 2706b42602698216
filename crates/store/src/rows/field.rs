//! The records of the field and the binder as rows.

use super::{Fields, count, get, int, number, option, real, text, word};
use crate::{Error, Record};
use rusqlite::Row;
use rusqlite::types::Value;
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::record::{
    Binder, BinderPage, Bought, Camera, CameraLoad, FrameNote, FrameShape, Keepable, Kept,
    PageFormat, PlaceKind, Purchase, ScanFile, StoragePlace, Strip,
};
use spoolwright_core::shelf::{
    BathId, BinderId, BinderPageId, CameraId, CameraLoadId, CanId, FrameNoteId, KeptId,
    PageFormatId, PurchaseId, RollId, ScanFileId, StoragePlaceId, StripId,
};

fn id<T>(row: &Row<'_>, column: &str, make: fn(i64) -> T) -> Result<Option<T>, Error> {
    Ok(get::<Option<i64>>(row, column)?.map(make))
}

fn frame(frame: Frame) -> Value {
    Value::Text(frame.to_string())
}

fn said(words: &Option<String>) -> Value {
    option(words.clone(), Value::Text)
}

impl Record for Camera {
    type Id = CameraId;
    const TABLE: &'static str = "camera";
    const SELECT: &'static str = "SELECT * FROM camera";
    fn id(&self) -> CameraId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("name", text(&self.name)),
            ("note", text(&self.note)),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: CameraId(get(row, "id")?),
            name: get(row, "name")?,
            note: get(row, "note")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for CameraLoad {
    type Id = CameraLoadId;
    const TABLE: &'static str = "camera_load";
    const SELECT: &'static str = "SELECT * FROM camera_load";
    fn id(&self) -> CameraLoadId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("roll", int(self.roll.0)),
            ("camera", int(self.camera.0)),
            ("loaded_on", text(&self.loaded_on)),
            ("ei", real(self.ei)),
            ("first_frame", int(self.first_frame)),
            ("out_frame", option(self.out_frame, int)),
            ("out_on", said(&self.out_on)),
            ("note", text(&self.note)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: CameraLoadId(get(row, "id")?),
            roll: RollId(get(row, "roll")?),
            camera: CameraId(get(row, "camera")?),
            loaded_on: get(row, "loaded_on")?,
            ei: get(row, "ei")?,
            first_frame: count(row, "first_frame")?,
            out_frame: get(row, "out_frame")?,
            out_on: get(row, "out_on")?,
            note: get(row, "note")?,
        })
    }
}

impl Record for FrameNote {
    type Id = FrameNoteId;
    const TABLE: &'static str = "frame_note";
    const SELECT: &'static str = "SELECT * FROM frame_note";
    fn id(&self) -> FrameNoteId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("roll", int(self.roll.0)),
            ("frame", frame(self.frame)),
            ("exposures", int(self.exposures)),
            ("shape", text(self.shape.word())),
            ("taken_at", said(&self.taken_at)),
            ("aperture", real(self.aperture)),
            ("shutter_s", real(self.shutter_s)),
            ("lens", text(&self.lens)),
            ("filter", text(&self.filter)),
            ("ei", real(self.ei)),
            ("subject", text(&self.subject)),
            ("place", text(&self.place)),
            ("meter_ev", real(self.meter_ev)),
            ("usable", option(self.usable, int)),
            ("note", text(&self.note)),
            ("key", text(&self.key)),
            ("beside", number(self.beside)),
            ("made_at", text(&self.made_at)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: FrameNoteId(get(row, "id")?),
            roll: RollId(get(row, "roll")?),
            frame: word(row, "frame", Frame::parse)?,
            exposures: count(row, "exposures")?,
            shape: word(row, "shape", FrameShape::from_word)?,
            taken_at: get(row, "taken_at")?,
            aperture: get(row, "aperture")?,
            shutter_s: get(row, "shutter_s")?,
            lens: get(row, "lens")?,
            filter: get(row, "filter")?,
            ei: get(row, "ei")?,
            subject: get(row, "subject")?,
            place: get(row, "place")?,
            meter_ev: get(row, "meter_ev")?,
            usable: get(row, "usable")?,
            note: get(row, "note")?,
            key: get(row, "key")?,
            beside: id(row, "beside", FrameNoteId)?,
            made_at: get(row, "made_at")?,
        })
    }
}

impl Record for PageFormat {
    type Id = PageFormatId;
    const TABLE: &'static str = "page_format";
    const SELECT: &'static str = "SELECT * FROM page_format";
    fn id(&self) -> PageFormatId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("name", text(&self.name)),
            ("rows", int(self.rows)),
            ("frames_per_row", int(self.frames_per_row)),
            ("price_each", real(self.price_each)),
            ("note", text(&self.note)),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: PageFormatId(get(row, "id")?),
            name: get(row, "name")?,
            rows: count(row, "rows")?,
            frames_per_row: count(row, "frames_per_row")?,
            price_each: get(row, "price_each")?,
            note: get(row, "note")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for Binder {
    type Id = BinderId;
    const TABLE: &'static str = "binder";
    const SELECT: &'static str = "SELECT * FROM binder";
    fn id(&self) -> BinderId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("name", text(&self.name)),
            ("format", int(self.format.0)),
            ("note", text(&self.note)),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: BinderId(get(row, "id")?),
            name: get(row, "name")?,
            format: PageFormatId(get(row, "format")?),
            note: get(row, "note")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for BinderPage {
    type Id = BinderPageId;
    const TABLE: &'static str = "binder_page";
    const SELECT: &'static str = "SELECT * FROM binder_page";
    fn id(&self) -> BinderPageId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![("binder", int(self.binder.0)), ("number", int(self.number))]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: BinderPageId(get(row, "id")?),
            binder: BinderId(get(row, "binder")?),
            number: count(row, "number")?,
        })
    }
}

impl Record for Strip {
    type Id = StripId;
    const TABLE: &'static str = "strip";
    const SELECT: &'static str = "SELECT * FROM strip";
    fn id(&self) -> StripId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("page", int(self.page.0)),
            ("row", int(self.row)),
            ("position", int(self.position)),
            ("roll", int(self.roll.0)),
            ("first", frame(self.first)),
            ("last", frame(self.last)),
            ("frames", int(self.frames)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: StripId(get(row, "id")?),
            page: BinderPageId(get(row, "page")?),
            row: count(row, "row")?,
            position: count(row, "position")?,
            roll: RollId(get(row, "roll")?),
            first: word(row, "first", Frame::parse)?,
            last: word(row, "last", Frame::parse)?,
            frames: count(row, "frames")?,
        })
    }
}

impl Record for ScanFile {
    type Id = ScanFileId;
    const TABLE: &'static str = "scan_file";
    const SELECT: &'static str = "SELECT * FROM scan_file";
    fn id(&self) -> ScanFileId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("roll", int(self.roll.0)),
            ("frame", frame(self.frame)),
            ("path", text(&self.path)),
            ("size", int(i64::try_from(self.size).unwrap_or(i64::MAX))),
            ("digest", said(&self.digest)),
            ("sidecar_digest", said(&self.sidecar_digest)),
            ("matched_on", text(&self.matched_on)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: ScanFileId(get(row, "id")?),
            roll: RollId(get(row, "roll")?),
            frame: word(row, "frame", Frame::parse)?,
            path: get(row, "path")?,
            size: u64::try_from(get::<i64>(row, "size")?)
                .map_err(|e| Error::Damaged(e.to_string()))?,
            digest: get(row, "digest")?,
            sidecar_digest: get(row, "sidecar_digest")?,
            matched_on: get(row, "matched_on")?,
        })
    }
}

impl Record for StoragePlace {
    type Id = StoragePlaceId;
    const TABLE: &'static str = "storage_place";
    const SELECT: &'static str = "SELECT * FROM storage_place";
    fn id(&self) -> StoragePlaceId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("name", text(&self.name)),
            ("kind", text(self.kind.word())),
            ("temperature_c", real(self.temperature_c)),
            ("rh_percent", real(self.rh_percent)),
            ("note", text(&self.note)),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: StoragePlaceId(get(row, "id")?),
            name: get(row, "name")?,
            kind: word(row, "kind", PlaceKind::from_word)?,
            temperature_c: get(row, "temperature_c")?,
            rh_percent: get(row, "rh_percent")?,
            note: get(row, "note")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for Kept {
    type Id = KeptId;
    const TABLE: &'static str = "kept";
    const SELECT: &'static str = "SELECT * FROM kept";
    fn id(&self) -> KeptId {
        self.id
    }
    fn fields(&self) -> Fields {
        let (can, roll, binder) = match self.thing {
            Keepable::Can(can) => (Some(can), None, None),
            Keepable::Roll(roll) => (None, Some(roll), None),
            Keepable::Binder(binder) => (None, None, Some(binder)),
        };
        vec![
            ("can", number(can)),
            ("roll", number(roll)),
            ("binder", number(binder)),
            ("place", int(self.place.0)),
            ("since", text(&self.since)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        let held = (
            id(row, "can", CanId)?,
            id(row, "roll", RollId)?,
            id(row, "binder", BinderId)?,
        );
        let thing = match held {
            (Some(can), None, None) => Keepable::Can(can),
            (None, Some(roll), None) => Keepable::Roll(roll),
            (None, None, Some(binder)) => Keepable::Binder(binder),
            other => return Err(Error::Damaged(format!("a place keeps {other:?}"))),
        };
        Ok(Self {
            id: KeptId(get(row, "id")?),
            thing,
            place: StoragePlaceId(get(row, "place")?),
            since: get(row, "since")?,
        })
    }
}

impl Record for Purchase {
    type Id = PurchaseId;
    const TABLE: &'static str = "purchase";
    const SELECT: &'static str = "SELECT * FROM purchase";
    fn id(&self) -> PurchaseId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("day", text(&self.day)),
            ("what", text(self.what.word())),
            ("price", Value::Real(self.price)),
            ("quantity", Value::Real(self.quantity)),
            ("uses_each", real(self.uses_each)),
            ("bath", number(self.bath)),
            ("format", number(self.format)),
            ("note", text(&self.note)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: PurchaseId(get(row, "id")?),
            day: get(row, "day")?,
            what: word(row, "what", Bought::from_word)?,
            price: get(row, "price")?,
            quantity: get(row, "quantity")?,
            uses_each: get(row, "uses_each")?,
            bath: id(row, "bath", BathId)?,
            format: id(row, "format", PageFormatId)?,
            note: get(row, "note")?,
        })
    }
}
