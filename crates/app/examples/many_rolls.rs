//! Fills a new store with many rolls, for `cargo xtask bench`: `many_rolls STORE ROLLS`.
//!
//! A working life: every can is wound to its end but the last four, every roll but the last fifteen
//! is filed. Written through the store, one change a can, since no person typed it in.

use anyhow::{Context, Result, bail};
use jiff::Timestamp;
use spoolwright_core::film::{Light, Pitch};
use spoolwright_core::quantity::Estimate;
use spoolwright_core::shelf::{
    Base, Can, CanId, CanState, Cassette, CassetteId, Evidence, EvidenceId, EvidenceRecord, Loader,
    LoaderId, LoaderKind, Process, Roll, RollId, RollState, Stock, StockId,
};
use spoolwright_store::{Change, Error, Store};

/// Full-length rolls that a can of 30.48 m gives.
const ROLLS_PER_CAN: u32 = 18;
/// Cans still open at the end, and cassettes still full.
const OPEN_CANS: u32 = 4;
const CASSETTES: u32 = 15;
/// Rolls wound in a week.
const SECONDS_PER_ROLL: i64 = 7 * 86_400 / 4;

fn main() -> Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [path, rolls] = args.as_slice() else {
        bail!("many_rolls STORE ROLLS");
    };
    let rolls: u32 = rolls.parse().context("ROLLS is a number")?;
    let mut store = Store::open(path.as_ref())?;
    let (mut stocks, mut loaders, mut cassettes) = (Vec::new(), Vec::new(), Vec::new());
    store.change::<_, Error>(&at(0), None, |change| {
        for name in ["Heath", "Moor", "Fell", "Dale"] {
            stocks.push(change.put(&stock(name))?);
        }
        for name in ["grey", "black"] {
            loaders.push(change.put(&loader(name))?);
        }
        for number in 1..=CASSETTES {
            cassettes.push(change.put(&cassette(number))?);
        }
        Ok(("bench.begun", "Began.".to_owned(), ()))
    })?;
    let cans = rolls.div_ceil(ROLLS_PER_CAN);
    let mut made = 0;
    for can in 0..cans {
        let open = cans - can <= OPEN_CANS;
        let here = ROLLS_PER_CAN.min(rolls - made);
        store.change::<_, Error>(&at(made), None, |change| {
            let stock = stocks[(can % 4) as usize];
            let loader = loaders[(can % 2) as usize];
            let wound = Wound {
                can: change.put(&a_can(can, stock, loader, open))?,
                letters: letters(can),
                loader,
            };
            for number in 1..=here {
                let index = made + number;
                let full = (rolls - index) < CASSETTES;
                let cassette = full.then(|| cassettes[(rolls - index) as usize]);
                wound.put(change, number, index, cassette)?;
            }
            if !open {
                let ran_out = Evidence::RanOut {
                    loader: Some(loader),
                    clicks: 7.0,
                };
                change.put(&evidence(wound.can, None, made + here, ran_out))?;
            }
            Ok(("bench.wound", format!("Wound {here} rolls."), ()))
        })?;
        made += here;
    }
    Ok(())
}

/// The can that rolls are being wound from.
struct Wound {
    can: CanId,
    letters: String,
    loader: LoaderId,
}

impl Wound {
    fn put(
        &self,
        change: &mut Change<'_>,
        number: u32,
        index: u32,
        cassette: Option<CassetteId>,
    ) -> Result<(), Error> {
        let roll = change.put(&Roll {
            id: RollId(0),
            can: self.can,
            number,
            label: Roll::label_of(&self.letters, number),
            cassette,
            want: None,
            ticket: None,
            loader: Some(self.loader),
            frames: 36,
            advance_perforations: 8,
            clicks: 42.0,
            leader_clicks: 4,
            tail_clicks: 2,
            light: Light::Room,
            ei: None,
            state: match cassette {
                Some(_) => RollState::Wound,
                None => RollState::Filed,
            },
            wound_at: at(index),
            note: String::new(),
        })?;
        let wound = Evidence::Wound {
            loader: Some(self.loader),
            clicks: 42.0,
        };
        change.put(&evidence(self.can, Some(roll), index, wound))?;
        Ok(())
    }
}

fn evidence(can: CanId, roll: Option<RollId>, index: u32, what: Evidence) -> EvidenceRecord {
    EvidenceRecord {
        id: EvidenceId(0),
        can,
        roll,
        at: at(index),
        evidence: what,
    }
}

/// The moment of a roll: four a week from the year 2000 on.
fn at(index: u32) -> String {
    let second = 946_684_800 + i64::from(index) * SECONDS_PER_ROLL;
    Timestamp::from_second(second).map_or_else(|_| String::new(), |moment| moment.to_string())
}

/// Three letters that no two of the first 17,576 cans share.
fn letters(can: u32) -> String {
    let letter = |digit: u32| char::from_u32(u32::from('A') + digit % 26).unwrap_or('A');
    [letter(can / 676), letter(can / 26), letter(can)]
        .iter()
        .collect()
}

fn stock(name: &str) -> Stock {
    Stock {
        id: StockId(0),
        name: name.to_owned(),
        ei: Some(200.0),
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

fn loader(name: &str) -> Loader {
    Loader {
        id: LoaderId(0),
        name: name.to_owned(),
        kind: LoaderKind::Counter { dial_zero: 0 },
        leader_clicks: 4,
        tail_clicks: 2,
        click_scale: None,
        uncounted_mm: None,
        note: String::new(),
        closed: false,
    }
}

fn cassette(number: u32) -> Cassette {
    Cassette {
        id: CassetteId(0),
        label: number.to_string(),
        most_frames: 38,
        leaks: false,
        retired: false,
        note: String::new(),
        earlier_uses: 0,
    }
}

fn a_can(can: u32, stock: StockId, loader: LoaderId, open: bool) -> Can {
    Can {
        id: CanId(0),
        stock,
        letters: letters(can),
        length_m: Estimate::new(if open { 60.96 } else { 30.48 }, 0.15),
        package: "tin".to_owned(),
        tare_g: None,
        core_mm: 31.75,
        loader: Some(loader),
        parent: None,
        price: Some(60.0),
        bought_on: None,
        expires_on: None,
        kept_c: None,
        note: String::new(),
        state: if open {
            CanState::Open
        } else {
            CanState::Empty
        },
    }
}
