//! A working life of frame notes: rolls of 36 from cans of four stocks, shot in three cameras, filed six rows a page,
//! every frame with its note. Drawn from a fixed seed, so that the same number gives the same store. One frame alone
//! has a heron on the weir.

use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::record::{
    Binder, BinderPage, Camera, CameraLoad, FrameNote, PageFormat, Strip,
};
use spoolwright_core::film::{Light, Pitch};
use spoolwright_core::quantity::Estimate;
use spoolwright_core::shelf::{
    Base, BinderId, BinderPageId, CameraId, CameraLoadId, Can, CanId, CanState, FrameNoteId,
    PageFormatId, Process, Roll, RollId, RollState, Stock, StockId, StripId,
};
use spoolwright_store::{Change, Error, Store};
use std::path::Path;

const FRAMES: u32 = 36;
const ROLLS_PER_CAN: u32 = 18;
const FRAMES_PER_ROW: u32 = 6;
const PAGES_PER_BINDER: u32 = 100;
/// A roll every so many days.
const DAYS_PER_ROLL: u32 = 3;

const SUBJECTS: [&str; 40] = [
    "street",
    "tram",
    "window",
    "door",
    "child",
    "dog",
    "market",
    "bridge",
    "river",
    "boat",
    "gull",
    "tree",
    "cloud",
    "hill",
    "church",
    "stair",
    "shadow",
    "bicycle",
    "station",
    "rain",
    "snow",
    "table",
    "cat",
    "portrait",
    "hands",
    "crowd",
    "wall",
    "lamp",
    "field",
    "horse",
    "train",
    "roof",
    "mirror",
    "café",
    "dancer",
    "smith",
    "baker",
    "kite",
    "lighthouse",
    "owl",
];
const HOW: [&str; 20] = [
    "quiet", "old", "wet", "morning", "evening", "waiting", "empty", "broken", "bright", "dark",
    "red", "distant", "running", "sleeping", "laughing", "fogged", "winter", "summer", "first",
    "last",
];
const PLACES: [&str; 24] = [
    "harbour",
    "old town",
    "mill lane",
    "north quay",
    "the common",
    "upper village",
    "east market",
    "ferry landing",
    "castle hill",
    "botanical garden",
    "railway yard",
    "long beach",
    "chapel street",
    "south bridge",
    "the allotments",
    "moor road",
    "grain store",
    "fish hall",
    "tram depot",
    "rose square",
    "canal lock",
    "west cliff",
    "cooper's yard",
    "home",
];
const LENSES: [&str; 4] = ["50 mm", "35 mm", "90 mm", "28 mm"];
const FILTERS: [&str; 4] = ["", "", "yellow", "orange"];

/// The frame with the heron is noted this far through.
const HERON: f64 = 0.4;

struct Draw(u64);

impl Draw {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % most
    }
    /// One of a list, the earlier the likelier.
    fn of<'a>(&mut self, list: &[&'a str]) -> &'a str {
        let most = 1 + self.below(list.len());
        list[self.below(most)]
    }
}

/// Makes the store with that many notes.
pub(crate) fn fill(path: &Path, notes: u32) -> Result<Store, Error> {
    let mut store = Store::open(path)?;
    let rolls = notes.div_ceil(FRAMES);
    let (mut stocks, mut cameras, mut format) = (Vec::new(), Vec::new(), PageFormatId(0));
    store.change::<_, Error>("1990-01-01T00:00:00Z", None, |c| {
        for name in ["Heath 100", "Moor 250", "Fell 400", "Night Tram 500"] {
            stocks.push(c.put(&stock(name))?);
        }
        for name in ["Black box", "Folding", "Half-frame"] {
            cameras.push(c.put(&camera(name))?);
        }
        format = c.put(&page_format())?;
        Ok(("bench.begun", "Began".to_owned(), ()))
    })?;
    let mut draw = Draw(7);
    let mut life = Life {
        stocks,
        cameras,
        format,
        notes,
        rolls,
        binder: BinderId(0),
    };
    for can in 0..rolls.div_ceil(ROLLS_PER_CAN) {
        store.change::<_, Error>(&at(can * ROLLS_PER_CAN), None, |c| {
            life.can(c, can, &mut draw)?;
            Ok(("bench.shot", format!("Shot can {can}"), ()))
        })?;
    }
    Ok(store)
}

struct Life {
    stocks: Vec<StockId>,
    cameras: Vec<CameraId>,
    format: PageFormatId,
    notes: u32,
    rolls: u32,
    binder: BinderId,
}

impl Life {
    fn can(&mut self, c: &mut Change<'_>, index: u32, draw: &mut Draw) -> Result<(), Error> {
        let letters = letters(index);
        let can = c.put(&can(self.stocks[draw.below(self.stocks.len())], &letters))?;
        for number in 1..=ROLLS_PER_CAN {
            let roll = index * ROLLS_PER_CAN + number - 1;
            if roll < self.rolls {
                let id = c.put(&self::roll(can, &letters, number, &at(roll)))?;
                self.shoot(c, roll, id, draw)?;
                self.file(c, roll, id)?;
            }
        }
        Ok(())
    }

    fn shoot(
        &self,
        c: &mut Change<'_>,
        index: u32,
        roll: RollId,
        draw: &mut Draw,
    ) -> Result<(), Error> {
        c.put(&CameraLoad {
            id: CameraLoadId(0),
            roll,
            camera: self.cameras[draw.below(self.cameras.len())],
            loaded_on: day(index),
            ei: None,
            first_frame: 1,
            out_frame: None,
            out_on: Some(day(index + 1)),
            note: String::new(),
        })?;
        let heron = (f64::from(self.notes) * HERON) as u32;
        for frame in 1..=FRAMES {
            let number = index * FRAMES + frame - 1;
            if number >= self.notes {
                break;
            }
            let (mut subject, mut place) = (
                format!("{} {}", draw.of(&HOW), draw.of(&SUBJECTS)),
                draw.of(&PLACES),
            );
            if number == heron {
                (subject, place) = ("heron on the weir".to_owned(), "Élan bridge");
            }
            c.put(&FrameNote {
                id: FrameNoteId(0),
                subject,
                place: place.to_owned(),
                taken_at: Some(format!(
                    "{}T{:02}:{:02}",
                    day(index),
                    6 + draw.below(14),
                    draw.below(60)
                )),
                aperture: Some([2.8, 4.0, 5.6, 8.0, 11.0][draw.below(5)]),
                shutter_s: Some([0.002, 0.004, 0.008, 1.0 / 60.0][draw.below(4)]),
                lens: draw.of(&LENSES).to_owned(),
                filter: draw.of(&FILTERS).to_owned(),
                key: format!("k{number}"),
                made_at: at(index),
                ..FrameNote::blank(roll, Frame::number(frame))
            })?;
        }
        Ok(())
    }

    /// One page a roll.
    fn file(&mut self, c: &mut Change<'_>, index: u32, roll: RollId) -> Result<(), Error> {
        let number = index % PAGES_PER_BINDER + 1;
        if number == 1 {
            self.binder = c.put(&Binder {
                id: BinderId(0),
                name: format!("Binder {}", index / PAGES_PER_BINDER + 1),
                format: self.format,
                note: String::new(),
                closed: false,
            })?;
        }
        let page = c.put(&BinderPage {
            id: BinderPageId(0),
            binder: self.binder,
            number,
        })?;
        let strips: Vec<Strip> = (0..FRAMES / FRAMES_PER_ROW)
            .map(|row| Strip {
                id: StripId(0),
                page,
                row,
                position: 0,
                roll,
                first: Frame::number(row * FRAMES_PER_ROW + 1),
                last: Frame::number((row + 1) * FRAMES_PER_ROW),
                frames: FRAMES_PER_ROW,
            })
            .collect();
        c.put_strips(page, &strips)
    }
}

/// The day of a roll: months of thirty days, which is even enough.
fn day(roll: u32) -> String {
    let days = roll * DAYS_PER_ROLL;
    format!(
        "{}-{:02}-{:02}",
        1990 + days / 360,
        days / 30 % 12 + 1,
        days % 30 % 28 + 1
    )
}

fn at(roll: u32) -> String {
    format!("{}T09:00:00Z", day(roll))
}

fn letters(index: u32) -> String {
    let letter = |n: u32| char::from(b'A' + (n % 26) as u8);
    [letter(index / 676), letter(index / 26), letter(index)]
        .into_iter()
        .collect()
}

fn stock(name: &str) -> Stock {
    Stock {
        id: StockId(0),
        name: name.into(),
        ei: None,
        process: Process::Negative,
        base: Base::Acetate,
        backing: Default::default(),
        pitch: Pitch::Long,
        thickness_mm: None,
        linear_mass_g_per_m: None,
        ready_wound_price: None,
        note: String::new(),
        closed: false,
    }
}

fn camera(name: &str) -> Camera {
    Camera {
        id: CameraId(0),
        name: name.into(),
        note: String::new(),
        closed: false,
    }
}

fn page_format() -> PageFormat {
    PageFormat {
        id: PageFormatId(0),
        name: "Clear, 6 × 6".into(),
        rows: FRAMES / FRAMES_PER_ROW,
        frames_per_row: FRAMES_PER_ROW,
        price_each: None,
        note: String::new(),
        closed: false,
    }
}

fn can(stock: StockId, letters: &str) -> Can {
    Can {
        id: CanId(0),
        stock,
        letters: letters.into(),
        length_m: Estimate::new(30.48, 0.15),
        package: String::new(),
        tare_g: None,
        core_mm: 50.8,
        loader: None,
        parent: None,
        price: None,
        bought_on: None,
        expires_on: None,
        kept_c: None,
        note: String::new(),
        state: CanState::Empty,
    }
}

fn roll(can: CanId, letters: &str, number: u32, wound_at: &str) -> Roll {
    Roll {
        id: RollId(0),
        can,
        number,
        label: Roll::label_of(letters, number),
        cassette: None,
        want: None,
        ticket: None,
        loader: None,
        frames: FRAMES,
        advance_perforations: 8,
        clicks: 42.0,
        leader_clicks: 4,
        tail_clicks: 2,
        light: Light::Room,
        ei: None,
        state: RollState::Filed,
        wound_at: wound_at.into(),
        note: String::new(),
    }
}
