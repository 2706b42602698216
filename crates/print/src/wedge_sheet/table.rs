//! The numbers of every strip with their 95 % intervals, those of a colour film's layers taken together, and those at
//! the target.

use spoolwright_core::wedge::{
    AtTarget, ColourStrip, Interval, SpeedKind, StandardSpeed, StripResult,
};

use super::{ResultSheet, speed_number};
use crate::drawing::{Anchor, Face, Ink, Pen, Rect};
use crate::fit::{self, pt};
use crate::input;
use crate::sheet;

/// Rows lower than this cannot be read.
const LOWEST: f64 = 3.4;
const HIGHEST: f64 = 7.4;
const HEAD: f64 = 8.4;

/// One cell: the value, and its interval in words.
type Cell = Option<(String, String)>;
/// A column: two lines of heading, a cell of a strip, and of the target.
type Column = (&'static str, &'static str, Vec<Cell>);

/// Draws the table into `area`, the last rows for the combined speed of a colour film or for the target; gives its lower edge.
pub(super) fn draw(pen: &mut Pen<'_>, r: &ResultSheet, area: Rect) -> f64 {
    let strips: Vec<(&str, &StripResult)> = r
        .layers
        .iter()
        .flat_map(|l| l.strips.iter().map(move |s| (l.name.as_str(), s)))
        .collect();
    let target = r.at_target.as_ref();
    let extra = r.combined.len() + usize::from(target.is_some());
    let room = area.h - HEAD;
    let most = ((room / LOWEST).floor() as usize).saturating_sub(extra + 1);
    let shown = &strips[..strips.len().min(most)];
    let pitch = (room / (shown.len() + extra) as f64).clamp(LOWEST, HIGHEST);
    let columns = columns(r.speed_kind, shown, &r.combined, target);
    let name_w = 24.0;
    let width = (area.w - name_w) / columns.len().max(1) as f64;
    let (size, small) = ((pitch * 0.46).min(pt(9.0)), (pitch * 0.36).min(pt(7.5)));
    let base = |row: usize| area.y + HEAD + pitch * (row as f64 + 0.46);
    for (c, (first, second, cells)) in columns.iter().enumerate() {
        let middle = name_w + width * (c as f64 + 0.5);
        for (text, face, y) in [(first, Face::Bold, 3.0), (second, Face::Text, 6.4)] {
            let (text, size) = fit::line(text, face, pt(8.0), pt(5.5), width - 1.0);
            pen.text(
                (middle, area.y + y),
                Anchor::Middle,
                &text,
                face,
                size,
                Ink::Black,
            );
        }
        for (row, cell) in cells.iter().enumerate() {
            // A strip that does not reach far enough has a dash; the target's row has what is asked of it.
            let dash = if row < shown.len() { "—" } else { "" };
            let (value, interval) = cell.clone().unwrap_or((dash.to_owned(), String::new()));
            let (value, size) = fit::line(&value, Face::MonoBold, size, pt(4.0), width - 1.0);
            let at = (middle, base(row));
            pen.text(at, Anchor::Middle, &value, Face::MonoBold, size, Ink::Black);
            let (interval, small) = fit::line(&interval, Face::Text, small, pt(3.5), width - 2.0);
            let at = (middle, base(row) + pitch * 0.40);
            pen.text(at, Anchor::Middle, &interval, Face::Text, small, Ink::Black);
        }
    }
    let mut rules = vec![[(0.0, area.y + HEAD - 0.9), (area.w, area.y + HEAD - 0.9)]];
    for (row, (layer, strip)) in shown.iter().enumerate() {
        let name = format!("{} {layer}", super::strip_time(strip.time_min));
        name_row(pen, base(row), name.trim_end(), size, name_w);
        let y = area.y + HEAD + pitch * (row as f64 + 1.0);
        rules.push([(0.0, y), (area.w, y)]);
    }
    let mut row = shown.len();
    for strip in &r.combined {
        let name = format!("{} together", super::strip_time(strip.time_min));
        name_row(pen, base(row), &name, size, name_w);
        row += 1;
        let y = area.y + HEAD + pitch * row as f64;
        rules.push([(0.0, y), (area.w, y)]);
    }
    if let Some(t) = target {
        let name = format!("target: {}", super::minutes(t.time_min.value));
        name_row(pen, base(row), &name, size, name_w);
    }
    pen.lines(rules, sheet::thin(Ink::Pale));
    let mut bottom = area.y + HEAD + pitch * (shown.len() + extra) as f64;
    if shown.len() < strips.len() {
        bottom += 3.2;
        let more = format!(
            "{} more strips on the test’s page.",
            strips.len() - shown.len()
        );
        pen.text(
            (0.0, bottom - 0.4),
            Anchor::Start,
            &more,
            Face::Italic,
            pt(7.5),
            Ink::Black,
        );
    }
    bottom
}

fn name_row(pen: &mut Pen<'_>, y: f64, name: &str, size: f64, width: f64) {
    let (name, size) = fit::line(name, Face::Bold, size, pt(4.0), width - 1.0);
    pen.text((0.0, y), Anchor::Start, &name, Face::Bold, size, Ink::Black);
}

/// The columns in which anything is known.
fn columns(
    kind: SpeedKind,
    strips: &[(&str, &StripResult)],
    combined: &[ColourStrip],
    target: Option<&AtTarget>,
) -> Vec<Column> {
    let two = |i: Option<Interval>| cell(i, |v| input::fixed(v, 2));
    let column_with = |of: &dyn Fn(&StripResult) -> Cell,
                       together: &dyn Fn(&ColourStrip) -> Cell,
                       at: Cell|
     -> Vec<Cell> {
        let mut cells: Vec<Cell> = strips.iter().map(|(_, s)| of(s)).collect();
        cells.extend(combined.iter().map(together));
        if target.is_some() {
            cells.push(at);
        }
        cells
    };
    let column = |of: &dyn Fn(&StripResult) -> Cell, at: Cell| column_with(of, &|_| None, at);
    let speed_together = |s: &ColourStrip| {
        spoken("", s.speed, s.speed_rounded)
            .or_else(|| spoken("", s.ei, s.ei_rounded))
            .or_else(|| cell(s.ei_stops, signed))
    };
    let speed = |s: &StripResult| {
        let iso = if s.iso_condition_met == Some(true) {
            "ISO "
        } else {
            ""
        };
        spoken(iso, s.speed, s.speed_rounded)
            .or_else(|| spoken("", s.ei, s.ei_rounded))
            .or_else(|| cell(s.ei_stops, signed))
    };
    let at_speed = target.and_then(|t| {
        spoken("", t.speed, t.speed_rounded)
            .or_else(|| spoken("", t.ei, t.ei_rounded))
            .or_else(|| cell(t.ei_stops, signed))
    });
    let stops = strips.iter().all(|(_, s)| s.ei.is_none());
    let (speed_name, speed_unit) = match kind {
        SpeedKind::Speed => ("speed", "0.8 / Hm"),
        SpeedKind::ExposureIndex if stops => ("EI", "stops over the meter’s"),
        SpeedKind::ExposureIndex => ("EI", "in this camera"),
        SpeedKind::Relative => ("", ""),
    };
    let all: Vec<Column> = vec![
        (
            "base + fog",
            "density",
            column(&|s| two(Some(s.base_fog)), two(target.map(|t| t.base_fog))),
        ),
        (
            "speed point",
            "log H",
            column_with(
                &|s| two(s.log_h_speed_point),
                &|s| two(s.log_h),
                two(target.and_then(|t| t.log_h_speed_point)),
            ),
        ),
        (
            speed_name,
            speed_unit,
            column_with(&speed, &speed_together, at_speed),
        ),
        (
            "ΔD",
            "over 1.30 log H",
            column(&|s| two(s.delta_d_over_1_30), None),
        ),
        (
            "average gradient",
            "over 1.5 log H",
            column(&|s| two(s.average_gradient), None),
        ),
        (
            "contrast index",
            "arcs 0.2 and 2.2",
            column(&|s| two(s.contrast_index), None),
        ),
        (
            "gamma",
            "steepest over 0.6",
            column(&|s| two(s.gamma), None),
        ),
        (
            "useful range",
            "log H",
            column(&|s| two(s.useful_range), None),
        ),
        (
            "Dmax",
            "within the steps",
            column(&|s| two(Some(s.d_max)), None),
        ),
    ];
    all.into_iter()
        .filter(|(_, _, cells)| cells.iter().any(Option::is_some))
        .collect()
}

fn cell(interval: Option<Interval>, say: impl Fn(f64) -> String) -> Cell {
    interval.map(|i| {
        let (low, high) = (say(i.lower95), say(i.upper95));
        (say(i.value), format!("{low} to {high}"))
    })
}

fn spoken(before: &str, interval: Option<Interval>, rounded: Option<StandardSpeed>) -> Cell {
    let (value, between) = cell(interval, speed_number)?;
    let value = match rounded {
        Some(r) => format!("{before}{r}"),
        None => value,
    };
    Some((value, between))
}

fn signed(stops: f64) -> String {
    let sign = if stops > 0.0 { "+" } else { "" };
    format!("{sign}{}", input::fixed(stops, 1))
}
