//! `calc warmup`: how long cold film warms up in its package before it is opened.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::bounds::{Bounds, TEMPERATURE_C};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::shelf::Base;
use spoolwright_core::storage::air::{RH_PERCENT, ROOM_C};
use spoolwright_core::storage::nitrate;
use spoolwright_core::storage::package::Package;
use spoolwright_core::storage::warmup::{Chill, Said, warm_up};
use spoolwright_core::{Error, Kind};

use super::input::{self, Number, Whole};
use super::{answer, json};

/// Year that film was made, bought or expired.
pub(super) const YEAR: Bounds = Bounds::new("a year", "", 1889.0, 2200.0);

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    package: String,
    from_c: Number,
    to_c: Number,
    rh_percent: Option<Number>,
    base: Option<String>,
    year: Option<Whole>,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let i: Input = json::read(input, "")?;
    let chill = Chill {
        package: input::choice(&i.package, Package::ALL, Package::word, "package")?,
        from_c: i.from_c.check(TEMPERATURE_C, "from_c")?,
        to_c: i.to_c.check(ROOM_C, "to_c")?,
        rh_percent: i
            .rh_percent
            .map(|rh| rh.check(RH_PERCENT, "rh_percent"))
            .transpose()?,
    };
    let base = input::choice_or(
        i.base.as_deref(),
        Base::Unknown,
        Base::ALL,
        Base::word,
        "base",
    )?;
    let year = i.year.map(|y| y.check(YEAR, "year")).transpose()?;
    let nitrate = nitrate::caveat(base, year.map(|y| y as i32));
    if base == Base::Nitrate {
        return Err(refused(nitrate));
    }
    let found = warm_up(&chill).map_err(|mut e| {
        if e.kind == Kind::OutOfRange {
            e.what = format!("from_c, to_c: {}", e.what);
        }
        e
    })?;
    let mut said = json!({
        "hours": found.hours,
        "basis": found.basis.word(),
        "because": found.because,
        "rise_c": found.rise_c,
        "said": found.said.iter().map(by).collect::<Value>(),
    });
    if let Some(dew) = found.dew_point_c {
        said["dew_point_c"] = dew.into();
    }
    if let Some(settles) = found.water_settles {
        said["water_settles"] = settles.into();
    }
    let caveats: Vec<_> = nitrate.into_iter().chain(found.caveats).collect();
    said["caveats"] = answer::caveats(&caveats);
    Ok(said)
}

/// The refusal of anything asked about nitrate film, with the only words there are.
pub(super) fn refused(words: Option<Caveat>) -> Error {
    Error::new(
        Kind::Impossible,
        "base: nothing is told for nitrate film",
        Base::Nitrate.word(),
        "acetate, polyester, unknown",
        words.map_or_else(String::new, |c| c.text),
    )
}

fn by(said: &Said) -> Value {
    json!({
        "basis": said.basis.word(),
        "key": said.key,
        "hours": said.hours,
        "row": said.row,
        "continued": said.continued,
    })
}
