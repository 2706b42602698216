//! The wedge bench's records as rows. A row of numbers is one text: decimals apart by a space, `-` for none.

use super::{Fields, get, int, number, option, real, text, word};
use crate::{Error, Record};
use rusqlite::Row;
use rusqlite::types::Value;
use spoolwright_core::shelf::{CanId, StockCardId, StockId, TicketId, WedgeStripId, WedgeTestId};
use spoolwright_core::wedge::record::{Channel, SpeedKind, StockCard, Way, WedgeStrip, WedgeTest};
use spoolwright_core::wedge::{Interval, Measure};

const UNREAD: &str = "-";

pub(super) fn list(values: impl IntoIterator<Item = Option<f64>>) -> Value {
    let words: Vec<String> = values
        .into_iter()
        .map(|v| v.map_or_else(|| UNREAD.to_owned(), |v| v.to_string()))
        .collect();
    Value::Text(words.join(" "))
}

fn read_list(row: &Row<'_>, column: &str) -> Result<Vec<Option<f64>>, Error> {
    get::<String>(row, column)?
        .split_whitespace()
        .map(|w| match w {
            UNREAD => Ok(None),
            w => w
                .parse()
                .map(Some)
                .map_err(|_| Error::Damaged(format!("{column} holds {w:?}"))),
        })
        .collect()
}

pub(super) fn numbers(row: &Row<'_>, column: &str) -> Result<Vec<f64>, Error> {
    read_list(row, column)?
        .into_iter()
        .map(|v| v.ok_or_else(|| Error::Damaged(format!("{column} holds a gap"))))
        .collect()
}

fn interval(row: &Row<'_>, [value, lower, upper]: [&str; 3]) -> Result<Option<Interval>, Error> {
    let value: Option<f64> = get(row, value)?;
    let lower: Option<f64> = get(row, lower)?;
    let upper: Option<f64> = get(row, upper)?;
    Ok(value.map(|value| Interval {
        value,
        lower95: lower.unwrap_or(value),
        upper95: upper.unwrap_or(value),
    }))
}

impl Record for WedgeTest {
    type Id = WedgeTestId;
    const TABLE: &'static str = "wedge_test";
    const SELECT: &'static str = "SELECT * FROM wedge_test";
    fn id(&self) -> WedgeTestId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("name", text(&self.name)),
            ("stock", int(self.stock.0)),
            ("can", number(self.can)),
            ("way", text(self.way.word())),
            ("steps", list(self.steps.iter().copied().map(Some))),
            ("log_h_at_zero_density", real(self.log_h_at_zero_density)),
            ("meter_ei", real(self.meter_ei)),
            ("developer", text(&self.developer)),
            ("dilution", text(&self.dilution)),
            ("temperature_c", real(self.temperature_c)),
            ("agitation", text(&self.agitation)),
            (
                "planned_min",
                list(self.planned_min.iter().copied().map(Some)),
            ),
            ("ticket", number(self.ticket)),
            ("begun_on", text(&self.begun_on)),
            ("note", text(&self.note)),
            ("closed", int(self.closed)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: WedgeTestId(get(row, "id")?),
            name: get(row, "name")?,
            stock: StockId(get(row, "stock")?),
            can: get::<Option<i64>>(row, "can")?.map(CanId),
            way: word(row, "way", Way::from_word)?,
            steps: numbers(row, "steps")?,
            log_h_at_zero_density: get(row, "log_h_at_zero_density")?,
            meter_ei: get(row, "meter_ei")?,
            developer: get(row, "developer")?,
            dilution: get(row, "dilution")?,
            temperature_c: get(row, "temperature_c")?,
            agitation: get(row, "agitation")?,
            planned_min: numbers(row, "planned_min")?,
            ticket: get::<Option<i64>>(row, "ticket")?.map(TicketId),
            begun_on: get(row, "begun_on")?,
            note: get(row, "note")?,
            closed: get(row, "closed")?,
        })
    }
}

impl Record for WedgeStrip {
    type Id = WedgeStripId;
    const TABLE: &'static str = "wedge_strip";
    const SELECT: &'static str = "SELECT * FROM wedge_strip";
    fn id(&self) -> WedgeStripId {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("test", int(self.test.0)),
            ("time_min", Value::Real(self.time_min)),
            ("channel", text(self.channel.word())),
            ("density", list(self.density.iter().copied())),
            ("density_sd", real(self.density_sd)),
            ("base_fog", real(self.base_fog)),
            ("source", text(&self.source)),
            ("left_out", int(self.left_out)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: WedgeStripId(get(row, "id")?),
            test: WedgeTestId(get(row, "test")?),
            time_min: get(row, "time_min")?,
            channel: word(row, "channel", Channel::from_word)?,
            density: read_list(row, "density")?,
            density_sd: get(row, "density_sd")?,
            base_fog: get(row, "base_fog")?,
            source: get(row, "source")?,
            left_out: get(row, "left_out")?,
        })
    }
}

impl Record for StockCard {
    type Id = StockCardId;
    const TABLE: &'static str = "stock_card";
    const SELECT: &'static str = "SELECT * FROM stock_card";
    fn id(&self) -> StockCardId {
        self.id
    }
    fn fields(&self) -> Fields {
        let at = |i: Option<Interval>, end: fn(Interval) -> f64| real(i.map(end));
        vec![
            ("stock", int(self.stock.0)),
            ("test", number(self.test)),
            ("can", number(self.can)),
            ("made_on", text(&self.made_on)),
            ("ei", at(self.ei, |i| i.value)),
            ("ei_lower95", at(self.ei, |i| i.lower95)),
            ("ei_upper95", at(self.ei, |i| i.upper95)),
            ("speed_kind", text(self.speed_kind.word())),
            ("time_min", at(self.time_min, |i| i.value)),
            ("time_lower95_min", at(self.time_min, |i| i.lower95)),
            ("time_upper95_min", at(self.time_min, |i| i.upper95)),
            ("measure", option(self.target, |(m, _)| text(m.word()))),
            ("contrast", real(self.target.map(|(_, value)| value))),
            ("developer", text(&self.developer)),
            ("dilution", text(&self.dilution)),
            ("temperature_c", real(self.temperature_c)),
            ("agitation", text(&self.agitation)),
            ("limits", text(&self.limits)),
            ("note", text(&self.note)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        let measure = get::<Option<String>>(row, "measure")?
            .map(|w| Measure::from_word(&w))
            .transpose()
            .map_err(|e| Error::Damaged(e.to_string()))?;
        let contrast: Option<f64> = get(row, "contrast")?;
        Ok(Self {
            id: StockCardId(get(row, "id")?),
            stock: StockId(get(row, "stock")?),
            test: get::<Option<i64>>(row, "test")?.map(WedgeTestId),
            can: get::<Option<i64>>(row, "can")?.map(CanId),
            made_on: get(row, "made_on")?,
            ei: interval(row, ["ei", "ei_lower95", "ei_upper95"])?,
            speed_kind: word(row, "speed_kind", SpeedKind::from_word)?,
            time_min: interval(row, ["time_min", "time_lower95_min", "time_upper95_min"])?,
            target: measure.zip(contrast),
            developer: get(row, "developer")?,
            dilution: get(row, "dilution")?,
            temperature_c: get(row, "temperature_c")?,
            agitation: get(row, "agitation")?,
            limits: get(row, "limits")?,
            note: get(row, "note")?,
        })
    }
}
