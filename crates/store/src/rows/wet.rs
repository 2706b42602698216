//! The wet bench's records as rows.

use super::wedge::{list, numbers};
use super::{Fields, count, get, int, number, option, real, text, word};
use crate::{Error, Record};
use rusqlite::Row;
use rusqlite::types::Value;
use spoolwright_core::shelf::{
    BathEventId, BathId, MarkId, Process, RecipeId, ReelId, RollId, RunId, RunRollId, SheetTimeId,
    StepId, StockId, TankId,
};
use spoolwright_core::wet::bath::{
    BathKind, BathUse, Correction, FixerPlace, FixerSort, Look, What,
};
use spoolwright_core::wet::recipe::{Agitation, Owner, Recipe, Step, StepKind, TimeFrom};
use spoolwright_core::wet::record::{
    BathCard, BathEvent, Exposure, Reel, Run, RunRoll, RunState, SheetTime, Tank, TimeSource,
};
use spoolwright_core::wet::timer::{Mark, MarkKind, Moment};

const NO_CORRECTION: &str = "none";
const PER_RUN: &str = "per-run";
const PER_ROLL: &str = "per-roll-per-litre";

fn id<T>(row: &Row<'_>, column: &str, make: fn(i64) -> T) -> Result<Option<T>, Error> {
    Ok(get::<Option<i64>>(row, column)?.map(make))
}

impl Record for Reel {
    type Id = ReelId;
    const TABLE: &'static str = "reel";
    const SELECT: &'static str = "SELECT * FROM reel";
    fn id(&self) -> ReelId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("name", text(&self.name)),
            ("count", int(self.count)),
            ("longest_mm", Value::Real(self.longest_mm)),
            ("takes_two", int(self.takes_two)),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: ReelId(get(row, "id")?),
            name: get(row, "name")?,
            count: count(row, "count")?,
            longest_mm: get(row, "longest_mm")?,
            takes_two: get(row, "takes_two")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for Tank {
    type Id = TankId;
    const TABLE: &'static str = "tank";
    const SELECT: &'static str = "SELECT * FROM tank";
    fn id(&self) -> TankId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("name", text(&self.name)),
            ("reel", int(self.reel.0)),
            ("volume_ml", list(self.volume_ml.iter().copied().map(Some))),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: TankId(get(row, "id")?),
            name: get(row, "name")?,
            reel: ReelId(get(row, "reel")?),
            volume_ml: numbers(row, "volume_ml")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for Recipe {
    type Id = RecipeId;
    const TABLE: &'static str = "recipe";
    const SELECT: &'static str = "SELECT * FROM recipe";
    fn id(&self) -> RecipeId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("name", text(&self.name)),
            ("process", text(self.process.word())),
            ("developer", text(&self.developer)),
            ("dilution", text(&self.dilution)),
            ("least_stock_ml", real(self.least_stock_ml)),
            ("tolerance", Value::Real(self.tolerance)),
            ("note", text(&self.note)),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: RecipeId(get(row, "id")?),
            name: get(row, "name")?,
            process: word(row, "process", Process::from_word)?,
            developer: get(row, "developer")?,
            dilution: get(row, "dilution")?,
            least_stock_ml: get(row, "least_stock_ml")?,
            tolerance: get(row, "tolerance")?,
            note: get(row, "note")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for Step {
    type Id = StepId;
    const TABLE: &'static str = "step";
    const SELECT: &'static str = "SELECT * FROM step";
    fn id(&self) -> StepId {
        self.id
    }
    fn fields(&self) -> Fields {
        let (recipe, run) = match self.owner {
            Owner::Recipe(id) => (int(id.0), Value::Null),
            Owner::Run(id) => (Value::Null, int(id.0)),
        };
        vec![
            ("recipe", recipe),
            ("run", run),
            ("position", int(self.position)),
            ("kind", text(self.kind.word())),
            ("time_s", Value::Real(self.time_s)),
            ("time_from", text(self.time_from.word())),
            ("temperature_c", real(self.temperature_c)),
            ("q10", real(self.q10)),
            ("first_s", Value::Real(self.agitation.first_s)),
            ("every_s", Value::Real(self.agitation.every_s)),
            ("for_s", Value::Real(self.agitation.for_s)),
            ("fill_s", Value::Real(self.fill_s)),
            ("drain_s", Value::Real(self.drain_s)),
            ("bath", number(self.bath)),
            ("plain_s", real(self.plain_s)),
            ("because", text(&self.because)),
            ("note", text(&self.note)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        let owner = match (id(row, "recipe", RecipeId)?, id(row, "run", RunId)?) {
            (Some(recipe), None) => Owner::Recipe(recipe),
            (None, Some(run)) => Owner::Run(run),
            _ => return Err(Error::Damaged("a step of nothing".into())),
        };
        Ok(Self {
            id: StepId(get(row, "id")?),
            owner,
            position: count(row, "position")?,
            kind: word(row, "kind", StepKind::from_word)?,
            time_s: get(row, "time_s")?,
            time_from: word(row, "time_from", TimeFrom::from_word)?,
            temperature_c: get(row, "temperature_c")?,
            q10: get(row, "q10")?,
            agitation: Agitation {
                first_s: get(row, "first_s")?,
                every_s: get(row, "every_s")?,
                for_s: get(row, "for_s")?,
            },
            fill_s: get(row, "fill_s")?,
            drain_s: get(row, "drain_s")?,
            bath: id(row, "bath", BathId)?,
            plain_s: get(row, "plain_s")?,
            because: get(row, "because")?,
            note: get(row, "note")?,
        })
    }
}

impl Record for SheetTime {
    type Id = SheetTimeId;
    const TABLE: &'static str = "sheet_time";
    const SELECT: &'static str = "SELECT * FROM sheet_time";
    fn id(&self) -> SheetTimeId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("stock", int(self.stock.0)),
            ("developer", text(&self.developer)),
            ("dilution", text(&self.dilution)),
            ("ei", real(self.ei)),
            ("time_min", Value::Real(self.time_min)),
            ("temperature_c", Value::Real(self.temperature_c)),
            ("source", text(self.source.word())),
            ("note", text(&self.note)),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: SheetTimeId(get(row, "id")?),
            stock: StockId(get(row, "stock")?),
            developer: get(row, "developer")?,
            dilution: get(row, "dilution")?,
            ei: get(row, "ei")?,
            time_min: get(row, "time_min")?,
            temperature_c: get(row, "temperature_c")?,
            source: word(row, "source", TimeSource::from_word)?,
            note: get(row, "note")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for Run {
    type Id = RunId;
    const TABLE: &'static str = "run";
    const SELECT: &'static str = "SELECT * FROM run";
    fn id(&self) -> RunId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("recipe", number(self.recipe)),
            ("tank", number(self.tank)),
            ("made_on", text(&self.made_on)),
            ("volume_ml", Value::Real(self.volume_ml)),
            ("time_source", text(self.time_source.word())),
            ("time_because", text(&self.time_because)),
            ("rehearsal", real(self.rehearsal)),
            ("state", text(self.state.word())),
            ("note", text(&self.note)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: RunId(get(row, "id")?),
            recipe: id(row, "recipe", RecipeId)?,
            tank: id(row, "tank", TankId)?,
            made_on: get(row, "made_on")?,
            volume_ml: get(row, "volume_ml")?,
            time_source: word(row, "time_source", TimeSource::from_word)?,
            time_because: get(row, "time_because")?,
            rehearsal: get(row, "rehearsal")?,
            state: word(row, "state", RunState::from_word)?,
            note: get(row, "note")?,
        })
    }
}

impl Record for RunRoll {
    type Id = RunRollId;
    const TABLE: &'static str = "run_roll";
    const SELECT: &'static str = "SELECT * FROM run_roll";
    fn id(&self) -> RunRollId {
        self.id
    }
    fn fields(&self) -> Fields {
        let frames = |n: Option<u32>| option(n, int);
        vec![
            ("run", int(self.run.0)),
            ("roll", int(self.roll.0)),
            ("reel", int(self.reel)),
            ("usable", frames(self.usable)),
            ("fogged_start", frames(self.fogged_start)),
            ("fogged_end", frames(self.fogged_end)),
            ("exposure", text(self.exposure.word())),
            ("note", text(&self.note)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: RunRollId(get(row, "id")?),
            run: RunId(get(row, "run")?),
            roll: RollId(get(row, "roll")?),
            reel: count(row, "reel")?,
            usable: get(row, "usable")?,
            fogged_start: get(row, "fogged_start")?,
            fogged_end: get(row, "fogged_end")?,
            exposure: word(row, "exposure", Exposure::from_word)?,
            note: get(row, "note")?,
        })
    }
}

impl Record for Mark {
    type Id = MarkId;
    const TABLE: &'static str = "run_mark";
    const SELECT: &'static str = "SELECT * FROM run_mark";
    fn id(&self) -> MarkId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("run", int(self.run.0)),
            ("at_s", Value::Real(self.at_s)),
            ("kind", text(self.kind.word())),
            ("step", option(self.step, int)),
            ("value", real(self.value)),
            ("note", text(&self.note)),
            ("boot", text(&self.moment.boot)),
            ("since_boot_s", Value::Real(self.moment.since_boot_s)),
            ("utc", text(&self.moment.utc)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: MarkId(get(row, "id")?),
            run: RunId(get(row, "run")?),
            at_s: get(row, "at_s")?,
            kind: word(row, "kind", MarkKind::from_word)?,
            step: get(row, "step")?,
            value: get(row, "value")?,
            note: get(row, "note")?,
            moment: Moment {
                boot: get(row, "boot")?,
                since_boot_s: get(row, "since_boot_s")?,
                utc: get(row, "utc")?,
            },
        })
    }
}

impl Record for BathCard {
    type Id = BathId;
    const TABLE: &'static str = "bath";
    const SELECT: &'static str = "SELECT * FROM bath";
    fn id(&self) -> BathId {
        self.id
    }
    fn fields(&self) -> Fields {
        let (correction, percent) = match self.correction {
            None => (None, None),
            Some(Correction::None) => (Some(NO_CORRECTION), None),
            Some(Correction::PerRun(percent)) => (Some(PER_RUN), Some(percent)),
            Some(Correction::PerRollPerLitre(percent)) => (Some(PER_ROLL), Some(percent)),
        };
        vec![
            ("name", text(&self.name)),
            ("kind", text(self.kind.word())),
            ("usage", text(self.usage.word())),
            ("mixed_from", text(&self.mixed_from)),
            ("dilution", text(&self.dilution)),
            ("mixed_on", text(&self.mixed_on)),
            ("volume_ml", Value::Real(self.volume_ml)),
            ("capacity_m2_per_l", real(self.capacity_m2_per_l)),
            ("correction", option(correction, text)),
            ("correction_percent", real(percent)),
            ("shelf_life_days", real(self.shelf_life_days)),
            ("rate_ml_per_m2", real(self.rate_ml_per_m2)),
            ("fixer", text(self.fixer.word())),
            ("place", text(self.place.word())),
            ("high_iodide", int(self.high_iodide)),
            ("note", text(&self.note)),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        let percent: Option<f64> = get(row, "correction_percent")?;
        let correction = match (
            get::<Option<String>>(row, "correction")?.as_deref(),
            percent,
        ) {
            (None, None) => None,
            (Some(NO_CORRECTION), None) => Some(Correction::None),
            (Some(PER_RUN), Some(percent)) => Some(Correction::PerRun(percent)),
            (Some(PER_ROLL), Some(percent)) => Some(Correction::PerRollPerLitre(percent)),
            other => return Err(Error::Damaged(format!("correction holds {other:?}"))),
        };
        Ok(Self {
            id: BathId(get(row, "id")?),
            name: get(row, "name")?,
            kind: word(row, "kind", BathKind::from_word)?,
            usage: word(row, "usage", BathUse::from_word)?,
            mixed_from: get(row, "mixed_from")?,
            dilution: get(row, "dilution")?,
            mixed_on: get(row, "mixed_on")?,
            volume_ml: get(row, "volume_ml")?,
            capacity_m2_per_l: get(row, "capacity_m2_per_l")?,
            correction,
            shelf_life_days: get(row, "shelf_life_days")?,
            rate_ml_per_m2: get(row, "rate_ml_per_m2")?,
            fixer: word(row, "fixer", FixerSort::from_word)?,
            place: word(row, "place", FixerPlace::from_word)?,
            high_iodide: get(row, "high_iodide")?,
            note: get(row, "note")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for BathEvent {
    type Id = BathEventId;
    const TABLE: &'static str = "bath_event";
    const SELECT: &'static str = "SELECT * FROM bath_event";
    fn id(&self) -> BathEventId {
        self.id
    }
    fn fields(&self) -> Fields {
        let (what, value, at_c, look) = match self.what {
            What::Run { area_m2 } => ("run", Some(area_m2), None, None),
            What::Clearing { seconds, at_c } => ("clearing", Some(seconds), Some(at_c), None),
            What::Looked(look) => ("looked", None, None, Some(look.word())),
            What::Replenished { ml } => ("replenished", Some(ml), None, None),
            What::ToppedUp { ml } => ("topped-up", Some(ml), None, None),
        };
        vec![
            ("bath", int(self.bath.0)),
            ("day", text(&self.day)),
            ("run", number(self.run)),
            ("what", text(what)),
            ("value", real(value)),
            ("at_c", real(at_c)),
            ("look", option(look, text)),
            ("note", text(&self.note)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        let what: String = get(row, "what")?;
        let needed =
            |v: Option<f64>| v.ok_or_else(|| Error::Damaged(format!("{what} holds nothing")));
        let value = needed(get(row, "value")?);
        let what = match what.as_str() {
            "run" => What::Run { area_m2: value? },
            "clearing" => What::Clearing {
                seconds: value?,
                at_c: needed(get(row, "at_c")?)?,
            },
            "looked" => What::Looked(word(row, "look", Look::from_word)?),
            "replenished" => What::Replenished { ml: value? },
            "topped-up" => What::ToppedUp { ml: value? },
            other => return Err(Error::Damaged(format!("a bath met {other:?}"))),
        };
        Ok(Self {
            id: BathEventId(get(row, "id")?),
            bath: BathId(get(row, "bath")?),
            day: get(row, "day")?,
            run: id(row, "run", RunId)?,
            what,
            note: get(row, "note")?,
        })
    }
}
