//! Each record of the shelf as a row, one `impl` a table. Column names stand here and nowhere else.

mod device;
mod field;
mod wedge;
mod wet;

use crate::{Change, Error, Record};
use rusqlite::Row;
use rusqlite::types::{FromSql, Value};
use spoolwright_core::film::{Light, Pitch};
use spoolwright_core::quantity::Estimate;
use spoolwright_core::shelf::{
    Backing, Base, Can, CanId, CanState, Cassette, CassetteId, Evidence, EvidenceId,
    EvidenceRecord, Loader, LoaderId, LoaderKind, Process, Roll, RollId, RollState, Stock, StockId,
    Ticket, TicketId, TicketState, Want, WantId,
};

pub use device::Device;

type Fields = Vec<(&'static str, Value)>;

fn get<T: FromSql>(row: &Row<'_>, column: &str) -> Result<T, Error> {
    Ok(row.get(column)?)
}

fn count(row: &Row<'_>, column: &str) -> Result<u32, Error> {
    get(row, column)
}

fn word<T>(
    row: &Row<'_>,
    column: &str,
    read: fn(&str) -> Result<T, spoolwright_core::Error>,
) -> Result<T, Error> {
    read(&get::<String>(row, column)?).map_err(|e| Error::Damaged(e.to_string()))
}

fn estimate(row: &Row<'_>, mean: &str, sd: &str) -> Result<Option<Estimate>, Error> {
    let mean: Option<f64> = get(row, mean)?;
    let sd: Option<f64> = get(row, sd)?;
    Ok(mean.map(|mean| Estimate::new(mean, sd.unwrap_or(0.0))))
}

fn text(s: &str) -> Value {
    Value::Text(s.to_owned())
}
fn option<T>(v: Option<T>, make: impl FnOnce(T) -> Value) -> Value {
    v.map_or(Value::Null, make)
}
fn real(v: Option<f64>) -> Value {
    option(v, Value::Real)
}
fn mean(v: Option<Estimate>) -> Value {
    real(v.map(|e| e.mean))
}
fn sd(v: Option<Estimate>) -> Value {
    real(v.map(|e| e.sd))
}
fn int(v: impl Into<i64>) -> Value {
    Value::Integer(v.into())
}
fn number<T: Into<crate::record::Number>>(v: Option<T>) -> Value {
    option(v, |id| Value::Integer(id.into().0))
}

/// One remembered choice of the user: units, currency, limits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Setting {
    /// Number in the store.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// Its value, as text.
    pub value: String,
}

impl Record for Setting {
    type Id = i64;
    const TABLE: &'static str = "setting";
    const SELECT: &'static str = "SELECT * FROM setting";
    fn id(&self) -> i64 {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![("name", text(&self.name)), ("value", text(&self.value))]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: get(row, "id")?,
            name: get(row, "name")?,
            value: get(row, "value")?,
        })
    }
}

impl Record for Stock {
    type Id = StockId;
    const TABLE: &'static str = "stock";
    const SELECT: &'static str = "SELECT * FROM stock";
    fn id(&self) -> StockId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("name", text(&self.name)),
            ("ei", real(self.ei)),
            ("process", text(self.process.word())),
            ("base", text(self.base.word())),
            ("backing", text(self.backing.word())),
            ("pitch", text(self.pitch.word())),
            ("thickness_mm", mean(self.thickness_mm)),
            ("thickness_sd_mm", sd(self.thickness_mm)),
            ("linear_mass_g_per_m", mean(self.linear_mass_g_per_m)),
            ("linear_mass_sd_g_per_m", sd(self.linear_mass_g_per_m)),
            ("ready_wound_price", real(self.ready_wound_price)),
            ("note", text(&self.note)),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: StockId(get(row, "id")?),
            name: get(row, "name")?,
            ei: get(row, "ei")?,
            process: word(row, "process", Process::from_word)?,
            base: word(row, "base", Base::from_word)?,
            backing: word(row, "backing", Backing::from_word)?,
            pitch: word(row, "pitch", Pitch::from_word)?,
            thickness_mm: estimate(row, "thickness_mm", "thickness_sd_mm")?,
            linear_mass_g_per_m: estimate(row, "linear_mass_g_per_m", "linear_mass_sd_g_per_m")?,
            ready_wound_price: get(row, "ready_wound_price")?,
            note: get(row, "note")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for Can {
    type Id = CanId;
    const TABLE: &'static str = "can";
    const SELECT: &'static str = "SELECT * FROM can";
    fn id(&self) -> CanId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("stock", int(self.stock.0)),
            ("letters", text(&self.letters)),
            ("length_m", Value::Real(self.length_m.mean)),
            ("length_sd_m", Value::Real(self.length_m.sd)),
            ("package", text(&self.package)),
            ("tare_g", mean(self.tare_g)),
            ("tare_sd_g", sd(self.tare_g)),
            ("core_mm", Value::Real(self.core_mm)),
            ("loader", number(self.loader)),
            ("parent", number(self.parent)),
            ("price", real(self.price)),
            ("bought_on", option(self.bought_on.clone(), Value::Text)),
            ("expires_on", option(self.expires_on.clone(), Value::Text)),
            ("kept_c", real(self.kept_c)),
            ("note", text(&self.note)),
            ("state", text(self.state.word())),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: CanId(get(row, "id")?),
            stock: StockId(get(row, "stock")?),
            letters: get(row, "letters")?,
            length_m: Estimate::new(get(row, "length_m")?, get(row, "length_sd_m")?),
            package: get(row, "package")?,
            tare_g: estimate(row, "tare_g", "tare_sd_g")?,
            core_mm: get(row, "core_mm")?,
            loader: get::<Option<i64>>(row, "loader")?.map(LoaderId),
            parent: get::<Option<i64>>(row, "parent")?.map(CanId),
            price: get(row, "price")?,
            bought_on: get(row, "bought_on")?,
            expires_on: get(row, "expires_on")?,
            kept_c: get(row, "kept_c")?,
            note: get(row, "note")?,
            state: word(row, "state", CanState::from_word)?,
        })
    }
}

impl Record for Loader {
    type Id = LoaderId;
    const TABLE: &'static str = "loader";
    const SELECT: &'static str = "SELECT * FROM loader";
    fn id(&self) -> LoaderId {
        self.id
    }
    fn fields(&self) -> Fields {
        let (kind, dial_zero, hub_mm) = match self.kind {
            LoaderKind::Counter { dial_zero } => ("counter", int(dial_zero), Value::Null),
            LoaderKind::Crank { hub_mm } => ("crank", Value::Null, Value::Real(hub_mm)),
        };
        vec![
            ("name", text(&self.name)),
            ("kind", text(kind)),
            ("dial_zero", dial_zero),
            ("hub_mm", hub_mm),
            ("leader_clicks", int(self.leader_clicks)),
            ("tail_clicks", int(self.tail_clicks)),
            ("click_scale", mean(self.click_scale)),
            ("click_scale_sd", sd(self.click_scale)),
            ("uncounted_mm", mean(self.uncounted_mm)),
            ("uncounted_sd_mm", sd(self.uncounted_mm)),
            ("note", text(&self.note)),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        let kind = match get::<String>(row, "kind")?.as_str() {
            "crank" => LoaderKind::Crank {
                hub_mm: get(row, "hub_mm")?,
            },
            _ => LoaderKind::Counter {
                dial_zero: get(row, "dial_zero")?,
            },
        };
        Ok(Self {
            id: LoaderId(get(row, "id")?),
            name: get(row, "name")?,
            kind,
            leader_clicks: count(row, "leader_clicks")?,
            tail_clicks: count(row, "tail_clicks")?,
            click_scale: estimate(row, "click_scale", "click_scale_sd")?,
            uncounted_mm: estimate(row, "uncounted_mm", "uncounted_sd_mm")?,
            note: get(row, "note")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for Cassette {
    type Id = CassetteId;
    const TABLE: &'static str = "cassette";
    const SELECT: &'static str = "SELECT * FROM cassette";
    fn id(&self) -> CassetteId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("label", text(&self.label)),
            ("most_frames", int(self.most_frames)),
            ("leaks", int(self.leaks)),
            ("retired", int(self.retired)),
            ("note", text(&self.note)),
            ("earlier_uses", int(self.earlier_uses)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: CassetteId(get(row, "id")?),
            label: get(row, "label")?,
            most_frames: count(row, "most_frames")?,
            leaks: get(row, "leaks")?,
            retired: get(row, "retired")?,
            note: get(row, "note")?,
            earlier_uses: count(row, "earlier_uses")?,
        })
    }
}

impl Record for Want {
    type Id = WantId;
    const TABLE: &'static str = "want";
    const SELECT: &'static str = "SELECT want.*, (SELECT group_concat(stock, ' ' ORDER BY id) FROM want_stock WHERE want_stock.want = want.id) AS stocks FROM want";
    fn id(&self) -> WantId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("what_for", text(&self.what_for)),
            ("by_when", option(self.by_when.clone(), Value::Text)),
            ("frames", int(self.frames)),
            ("priority", int(self.priority)),
            ("ei", real(self.ei)),
            ("camera", text(&self.camera)),
            ("advance_perforations", int(self.advance_perforations)),
            ("dropped", int(self.dropped)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        let stocks = get::<Option<String>>(row, "stocks")?.unwrap_or_default();
        Ok(Self {
            id: WantId(get(row, "id")?),
            what_for: get(row, "what_for")?,
            by_when: get(row, "by_when")?,
            frames: count(row, "frames")?,
            priority: count(row, "priority")?,
            stocks: stocks
                .split_whitespace()
                .filter_map(|s| s.parse().ok())
                .map(StockId)
                .collect(),
            ei: get(row, "ei")?,
            camera: get(row, "camera")?,
            advance_perforations: count(row, "advance_perforations")?,
            dropped: get(row, "dropped")?,
        })
    }
    fn put_links(&self, id: i64, change: &mut Change<'_>) -> Result<(), Error> {
        let held: Vec<(i64, i64)> = change
            .tx
            .prepare("SELECT id, stock FROM want_stock WHERE want = ?1")?
            .query_map([id], |r| Ok((r.get(0)?, r.get(1)?)))?
            .collect::<Result<_, _>>()?;
        for (row, stock) in &held {
            if !self.stocks.contains(&StockId(*stock)) {
                change.remove("want_stock", *row)?;
            }
        }
        for stock in &self.stocks {
            if !held.iter().any(|(_, s)| s == &stock.0) {
                change.insert("want_stock", &[("want", int(id)), ("stock", int(stock.0))])?;
            }
        }
        Ok(())
    }
}

impl Record for Ticket {
    type Id = TicketId;
    const TABLE: &'static str = "ticket";
    const SELECT: &'static str = "SELECT * FROM ticket";
    fn id(&self) -> TicketId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("can", int(self.can.0)),
            ("want", number(self.want)),
            ("loader", number(self.loader)),
            ("frames", int(self.frames)),
            ("advance_perforations", int(self.advance_perforations)),
            ("leader_clicks", int(self.leader_clicks)),
            ("tail_clicks", int(self.tail_clicks)),
            ("light", text(self.light.word())),
            ("ei", real(self.ei)),
            ("reason", text(&self.reason)),
            ("number", int(self.number)),
            ("state", text(self.state.word())),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: TicketId(get(row, "id")?),
            can: CanId(get(row, "can")?),
            want: get::<Option<i64>>(row, "want")?.map(WantId),
            loader: get::<Option<i64>>(row, "loader")?.map(LoaderId),
            frames: count(row, "frames")?,
            advance_perforations: count(row, "advance_perforations")?,
            leader_clicks: count(row, "leader_clicks")?,
            tail_clicks: count(row, "tail_clicks")?,
            light: word(row, "light", Light::from_word)?,
            ei: get(row, "ei")?,
            reason: get(row, "reason")?,
            number: count(row, "number")?,
            state: word(row, "state", TicketState::from_word)?,
        })
    }
}

impl Record for Roll {
    type Id = RollId;
    const TABLE: &'static str = "roll";
    const SELECT: &'static str = "SELECT * FROM roll";
    fn id(&self) -> RollId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("can", int(self.can.0)),
            ("number", int(self.number)),
            ("label", text(&self.label)),
            ("cassette", number(self.cassette)),
            ("want", number(self.want)),
            ("ticket", number(self.ticket)),
            ("loader", number(self.loader)),
            ("frames", int(self.frames)),
            ("advance_perforations", int(self.advance_perforations)),
            ("clicks", Value::Real(self.clicks)),
            ("leader_clicks", int(self.leader_clicks)),
            ("tail_clicks", int(self.tail_clicks)),
            ("light", text(self.light.word())),
            ("ei", real(self.ei)),
            ("state", text(self.state.word())),
            ("wound_at", text(&self.wound_at)),
            ("note", text(&self.note)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: RollId(get(row, "id")?),
            can: CanId(get(row, "can")?),
            number: count(row, "number")?,
            label: get(row, "label")?,
            cassette: get::<Option<i64>>(row, "cassette")?.map(CassetteId),
            want: get::<Option<i64>>(row, "want")?.map(WantId),
            ticket: get::<Option<i64>>(row, "ticket")?.map(TicketId),
            loader: get::<Option<i64>>(row, "loader")?.map(LoaderId),
            frames: count(row, "frames")?,
            advance_perforations: count(row, "advance_perforations")?,
            clicks: get(row, "clicks")?,
            leader_clicks: count(row, "leader_clicks")?,
            tail_clicks: count(row, "tail_clicks")?,
            light: word(row, "light", Light::from_word)?,
            ei: get(row, "ei")?,
            state: word(row, "state", RollState::from_word)?,
            wound_at: get(row, "wound_at")?,
            note: get(row, "note")?,
        })
    }
}

impl Record for EvidenceRecord {
    type Id = EvidenceId;
    const TABLE: &'static str = "evidence";
    const SELECT: &'static str = "SELECT * FROM evidence";
    fn id(&self) -> EvidenceId {
        self.id
    }
    fn fields(&self) -> Fields {
        let (kind, loader, value, core_mm) = match self.evidence {
            Evidence::Wound { loader, clicks } => {
                ("wound", loader, Estimate::new(clicks, 0.0), None)
            }
            Evidence::RanOut { loader, clicks } => {
                ("ran-out", loader, Estimate::new(clicks, 0.0), None)
            }
            Evidence::Taken { length_mm } => ("taken", None, length_mm, None),
            Evidence::Weighed { grams } => ("weighed", None, grams, None),
            Evidence::WeighedEmpty { grams } => ("weighed-empty", None, grams, None),
            Evidence::Gauged { outer_mm, core_mm } => ("gauged", None, outer_mm, Some(core_mm)),
            Evidence::Measured {
                loader, length_mm, ..
            } => ("measured", loader, length_mm, None),
        };
        vec![
            ("can", int(self.can.0)),
            ("roll", number(self.roll)),
            ("at", text(&self.at)),
            ("kind", text(kind)),
            ("loader", number(loader)),
            ("value", Value::Real(value.mean)),
            ("sd", Value::Real(value.sd)),
            ("core_mm", real(core_mm)),
            (
                "clicks",
                real(match self.evidence {
                    Evidence::Measured { clicks, .. } => Some(clicks),
                    _ => None,
                }),
            ),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        let loader = get::<Option<i64>>(row, "loader")?.map(LoaderId);
        let value = Estimate::new(get(row, "value")?, get(row, "sd")?);
        let kind: String = get(row, "kind")?;
        let evidence = match kind.as_str() {
            "wound" => Evidence::Wound {
                loader,
                clicks: value.mean,
            },
            "ran-out" => Evidence::RanOut {
                loader,
                clicks: value.mean,
            },
            "taken" => Evidence::Taken { length_mm: value },
            "weighed" => Evidence::Weighed { grams: value },
            "weighed-empty" => Evidence::WeighedEmpty { grams: value },
            "gauged" => Evidence::Gauged {
                outer_mm: value,
                core_mm: get(row, "core_mm")?,
            },
            "measured" => Evidence::Measured {
                loader,
                clicks: get(row, "clicks")?,
                length_mm: value,
            },
            other => return Err(Error::Damaged(format!("evidence of kind {other:?}"))),
        };
        Ok(Self {
            id: EvidenceId(get(row, "id")?),
            can: CanId(get(row, "can")?),
            roll: get::<Option<i64>>(row, "roll")?.map(RollId),
            at: get(row, "at")?,
            evidence,
        })
    }
}
