//! The card of a bath, to tape on its bottle: what it is, when it is spent, what to mind, and a log to write on.
//!
//! Nothing on it goes stale: it has the rules by which a bath is judged and no verdict. What befell the bath so far is
//! printed, and the rows after it are for wet hands. It works nothing out.

use spoolwright_core::Error;

use crate::drawing::{Anchor, Document, Face, Ink, Pen, Rect, Stroke};
use crate::fit::Fitted;
use crate::input::{self, LONGEST_TEXT};
use crate::put::{self, Style};
use crate::qr::Qr;
use crate::sheet::{self, Grid, Paper};

/// What one card says. Days, volumes and temperatures arrive as text with their units.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BathLabel {
    /// The photographer's name for it, as it stands on the bottle.
    pub name: String,
    /// What it does and how it is used, such as `fixer, first of two · used again`.
    pub kind: String,
    /// What it was mixed from; empty when not said.
    pub mixed_from: String,
    /// Its dilution; empty when not said.
    pub dilution: String,
    /// Day it was mixed.
    pub mixed_on: String,
    /// Volume.
    pub volume: String,
    /// Last day it may be used, and by whose word; empty when its shelf life is not known.
    pub use_by: String,
    /// Rules by which it is judged.
    pub rules: Vec<BathRule>,
    /// It fixes: the log has a column for clearing times.
    pub fixes: bool,
    /// What befell it so far, oldest first.
    pub log: Vec<LogRow>,
    /// What to mind; the safety sheet first.
    pub cautions: Vec<String>,
    /// The photographer's note.
    pub note: String,
    /// Address for the QR code.
    pub url: Option<String>,
}

/// A rule, and where its figure comes from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BathRule {
    /// The rule in one sentence.
    pub text: String,
    /// `sheet`, `default` or the like; empty for what is not a figure.
    pub basis: String,
}

/// One row of the log.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LogRow {
    /// Day.
    pub day: String,
    /// Films of 36 that went through; none where nothing did.
    pub films: Option<f64>,
    /// Time used.
    pub time: String,
    /// Clearing time in seconds for a bath that fixes, the look of it for another.
    pub test: String,
    /// Anything else.
    pub note: String,
}

/// Both halves, folded in the middle or laid round the bottle.
const WIDTH: f64 = 190.0;
const HEIGHT: f64 = 110.0;
const HALF: f64 = WIDTH / 2.0;
const PAD: f64 = 4.5;
const INNER: f64 = HALF - 2.0 * PAD;
/// Rows of the log, printed and empty ones; a row is high enough to write in with a wet hand.
pub const LOG_ROWS: usize = 12;
const ROW: f64 = 7.4;
/// Rows that stay empty, however much befell the bath.
const EMPTY: usize = 6;
/// Columns of the log: width in millimetres and two lines of heading.
const COLUMNS: [(f64, &str, &str); 5] = [
    (19.0, "day", ""),
    (13.0, "films", "of 36"),
    (16.0, "time used", "min:s"),
    (15.0, "clears in", "seconds"),
    (INNER - 63.0, "note", ""),
];
/// Height at the foot of the front that cautions may always take, and never more than.
const CAUTIONS: (f64, f64) = (38.0, 48.0);
/// Baseline of the first rule.
const RULES: f64 = 48.4;

const SMALL: Style = Style::new(Face::Italic, 8.5, 6.0);
const FACT: Style = Style::new(Face::Bold, 11.0, 6.0);
const RULE: Style = Style::new(Face::Text, 8.5, 6.5);
const CAUTION: Style = Style::new(Face::Text, 8.0, 5.5);
const CELL: Style = Style::new(Face::Text, 9.5, 4.5);
const LOG_NOTE: Style = Style::new(Face::Text, 8.0, 6.0);

/// Sheets of bath cards, 190 × 110 mm, leaving the first `skip` places of the first sheet empty.
///
/// # Errors
/// No card, texts that are too long, an address too long for the QR code, or a first place that is not on the sheet.
pub fn bath_cards(cards: &[BathLabel], paper: Paper, skip: usize) -> Result<Document, Error> {
    input::count("bath cards", cards.len())?;
    let cards = cards.iter().map(checked).collect::<Result<Vec<_>, _>>()?;
    let grid = Grid::tight(WIDTH, HEIGHT);
    sheet::fill("Bath card", paper, grid, skip, &cards, |c| &c.name, draw)
}

fn checked(c: &BathLabel) -> Result<BathLabel, Error> {
    let text = |field: &str, value: &str| input::text(field, value, LONGEST_TEXT);
    let name = text("name of a bath", &c.name)?;
    if name.is_empty() {
        return Err(Error::missing(
            "name of a bath",
            format!("1 to {LONGEST_TEXT} characters"),
            "Give the bath the name that stands on its bottle.",
        ));
    }
    let rules = c.rules.iter().map(|r| {
        Ok::<_, Error>(BathRule {
            text: text("a rule", &r.text)?,
            basis: text("where a rule comes from", &r.basis)?,
        })
    });
    let log = c.log.iter().map(|r| {
        Ok::<_, Error>(LogRow {
            day: text("a day", &r.day)?,
            films: r.films,
            time: text("time used", &r.time)?,
            test: text("a test", &r.test)?,
            note: text("a note", &r.note)?,
        })
    });
    Ok(BathLabel {
        name,
        kind: text("kind of bath", &c.kind)?,
        mixed_from: text("what it was mixed from", &c.mixed_from)?,
        dilution: text("dilution", &c.dilution)?,
        mixed_on: text("day it was mixed", &c.mixed_on)?,
        volume: text("volume", &c.volume)?,
        use_by: text("day it keeps to", &c.use_by)?,
        rules: rules.collect::<Result<_, _>>()?,
        fixes: c.fixes,
        log: log.collect::<Result<_, _>>()?,
        cautions: c
            .cautions
            .iter()
            .map(|caution| text("caution", caution))
            .collect::<Result<_, _>>()?,
        note: text("note", &c.note)?,
        url: input::address(c.url.as_deref())?.map(str::to_owned),
    })
}

fn draw(pen: &mut Pen<'_>, c: &BathLabel) -> Result<(), Error> {
    heading(pen, c)?;
    facts(pen, c);
    let rules = rules(c);
    let fitted = rules.iter().map(|(t, s)| put::fitted(t, *s, INNER, 2));
    let used = RULES - 2.0 + fitted.map(|f| step(&f)).sum::<f64>();
    let top = cautions(pen, c, HEIGHT - PAD - used);
    rules_down_to(pen, &rules, top);
    let fold = Stroke {
        dash: Some(1.5),
        ..sheet::thin(Ink::Pale)
    };
    pen.line(&[(HALF, 0.0), (HALF, HEIGHT)], fold);
    log(pen, c);
    Ok(())
}

/// Kind, name and code.
fn heading(pen: &mut Pen<'_>, c: &BathLabel) -> Result<(), Error> {
    let side = 22.0;
    let mut inner = INNER;
    if let Some(url) = &c.url {
        pen.qr(&Qr::new(url, side)?, (HALF - side - 2.0, 2.0), side);
        inner = HALF - side - 3.0 - PAD;
    }
    let kind = Style::new(Face::MonoBold, 8.0, 5.0);
    put::line(pen, (PAD, 7.0), &c.kind, kind, inner);
    // As large as one line allows; a longer name takes two smaller ones.
    let one = Style::new(Face::Bold, 25.0, 17.0);
    let whole = put::fitted(&c.name, one, inner, 1);
    if whole.lines.concat() == c.name {
        put::block(pen, (PAD, 18.0), &c.name, one, inner, 1);
    } else {
        let two = Style::new(Face::Bold, 19.0, 7.0);
        put::block(pen, (PAD, 15.0), &c.name, two, inner, 2);
    }
    pen.line(&[(PAD, 27.0), (HALF - PAD, 27.0)], sheet::thin(Ink::Black));
    Ok(())
}

/// What it is made of, how much, and how old it may grow.
fn facts(pen: &mut Pen<'_>, c: &BathLabel) {
    let mut fact = |x: f64, y: f64, name: &str, value: &str, width: f64| {
        let named = 17.0;
        put::line(pen, (x, y), name, SMALL, named);
        put::line(pen, (x + named, y), value, FACT, width - named);
    };
    let from = match (c.mixed_from.as_str(), c.dilution.as_str()) {
        ("", "") => "not said".to_owned(),
        (from, "") => from.to_owned(),
        ("", dilution) => dilution.to_owned(),
        (from, dilution) => format!("{from}, {dilution}"),
    };
    fact(PAD, 32.0, "mixed from", &from, INNER);
    fact(PAD, 37.4, "mixed on", &c.mixed_on, INNER * 0.56);
    fact(PAD + INNER * 0.58, 37.4, "volume", &c.volume, INNER * 0.42);
    if c.use_by.is_empty() {
        fact(PAD, 42.8, "keeps", "not known", INNER);
    } else {
        fact(PAD, 42.8, "use by", &c.use_by, INNER);
    }
}

/// Cautions at the foot of the front, the safety sheet's above the others, in the `room` there is; gives the upper edge.
fn cautions(pen: &mut Pen<'_>, c: &BathLabel, room: f64) -> f64 {
    let Some((first, others)) = c.cautions.split_first() else {
        return HEIGHT - PAD;
    };
    let bold = Style {
        face: Face::Bold,
        ..CAUTION
    };
    let first = put::fitted(first, bold, INNER, 2);
    let room = room.clamp(CAUTIONS.0, CAUTIONS.1);
    let most = ((room / first.pitch()).floor() as usize).saturating_sub(first.lines.len());
    let rest = put::fitted(&others.join(" "), CAUTION, INNER, most);
    let height = first.pitch() * first.lines.len() as f64 + rest.pitch() * rest.lines.len() as f64;
    let top = HEIGHT - PAD - height;
    let rule = [(PAD, top - 0.6), (HALF - PAD, top - 0.6)];
    pen.line(&rule, sheet::thin(Ink::Black));
    let mut y = top;
    for (fitted, face) in [(&first, Face::Bold), (&rest, Face::Text)] {
        for line in &fitted.lines {
            y += fitted.pitch();
            let at = (PAD, y - 0.22 * fitted.size);
            pen.text(at, Anchor::Start, line, face, fitted.size, Ink::Black);
        }
    }
    top - 0.6
}

/// The rules, and the note after them.
fn rules(c: &BathLabel) -> Vec<(String, Style)> {
    let mut lines: Vec<(String, Style)> = c
        .rules
        .iter()
        .map(|r| match r.basis.as_str() {
            "" => (format!("– {}", r.text), RULE),
            basis => (format!("– {} [{basis}]", r.text), RULE),
        })
        .collect();
    if !c.note.is_empty() {
        let italic = Style {
            face: Face::Italic,
            ..RULE
        };
        lines.push((c.note.clone(), italic));
    }
    lines
}

/// From one rule's first baseline to the next rule's.
fn step(fitted: &Fitted) -> f64 {
    fitted.pitch() * fitted.lines.len().saturating_sub(1) as f64 + 4.0
}

/// The rules down to `bottom`; what does not fit is said to stand on the bath's page.
fn rules_down_to(pen: &mut Pen<'_>, lines: &[(String, Style)], bottom: f64) {
    let mut left = lines.len();
    let mut y = RULES;
    for (text, style) in lines {
        let tall = step(&put::fitted(text, *style, INNER, 2));
        let reserve = if left > 1 { 3.8 } else { 0.0 };
        if y + tall - 4.0 > bottom - 1.2 - reserve {
            break;
        }
        put::block(pen, (PAD, y), text, *style, INNER, 2);
        y += tall;
        left -= 1;
    }
    if left > 0 {
        let more = format!("And {left} more on the bath’s page.");
        put::line(pen, (PAD, y), &more, SMALL, INNER);
    }
}

/// The second half: what befell the bath, and rows to write on.
fn log(pen: &mut Pen<'_>, c: &BathLabel) {
    let left = HALF + PAD;
    let right = WIDTH - PAD;
    put::line(
        pen,
        (left, 7.4),
        "LOG",
        Style::new(Face::MonoBold, 8.0, 8.0),
        9.0,
    );
    let style = Style::new(Face::Bold, 12.0, 6.0);
    put::line(pen, (left + 10.0, 7.4), &c.name, style, INNER - 10.0);
    let top = HEIGHT - PAD - ROW * LOG_ROWS as f64;
    let head = Style::new(Face::Italic, 7.5, 5.0);
    let mut rules = vec![[(left, top), (right, top)]];
    for row in 1..=LOG_ROWS {
        let y = top + ROW * row as f64;
        rules.push([(left, y), (right, y)]);
    }
    let rows = shown(&c.log);
    let mut x = left;
    for (i, (width, first, second)) in COLUMNS.into_iter().enumerate() {
        let (first, second) = match (i, c.fixes) {
            (3, false) => ("looks", ""),
            _ => (first, second),
        };
        if i > 0 {
            rules.push([(x, top - 7.6), (x, HEIGHT - PAD)]);
        }
        put::line(pen, (x + 0.8, top - 4.6), first, head, width - 1.4);
        put::line(pen, (x + 0.8, top - 1.6), second, head, width - 1.4);
        for (n, row) in rows.iter().enumerate() {
            let films = row.films.map(|n| input::fixed(n, 1)).unwrap_or_default();
            let text = [&row.day, &films, &row.time, &row.test, &row.note][i];
            let y = top + ROW * (n as f64 + 0.5);
            if i + 1 == COLUMNS.len() {
                let two = put::fitted(text, LOG_NOTE, width - 1.4, 2).lines.len() > 1;
                let at = (x + 0.8, if two { y - 0.5 } else { y + 1.1 });
                put::block(pen, at, text, LOG_NOTE, width - 1.4, 2);
            } else {
                put::line(pen, (x + 0.8, y + 1.1), text, CELL, width - 1.4);
            }
        }
        x += width;
    }
    pen.lines(rules, sheet::thin(Ink::Pale));
    pen.frame(
        Rect::new(left, top - 7.6, INNER, ROW * LOG_ROWS as f64 + 7.6),
        Ink::Black,
        0.2,
    );
}

/// The rows to print: the newest, and the older ones told of in one.
fn shown(log: &[LogRow]) -> Vec<LogRow> {
    let room = LOG_ROWS - EMPTY;
    if log.len() <= room {
        return log.to_vec();
    }
    let older = log.len() - (room - 1);
    let first = LogRow {
        day: "before".to_owned(),
        films: log[..older]
            .iter()
            .filter_map(|r| r.films)
            .reduce(|a, b| a + b),
        note: format!("{older} entries on its page"),
        ..LogRow::default()
    };
    let mut rows = vec![first];
    rows.extend_from_slice(&log[older..]);
    rows
}
