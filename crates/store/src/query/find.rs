//! Finding a frame again: by words, day, camera and stock, best first.
//!
//! The index of words is kept by the schema's own triggers, so that undo keeps it too. What a person types is never
//! read as a query: each word is quoted.

use super::one;
use crate::{Error, Store};
use rusqlite::types::Value;
use rusqlite::{Connection, params_from_iter};
use spoolwright_core::field::find::{Found, Hit, Sought};
use spoolwright_core::field::record::FrameNote;
use spoolwright_core::shelf::{Can, Roll, RollId};
use spoolwright_core::{Error as Refusal, Kind};

/// Words of one search, and letters of one word.
const MOST_WORDS: usize = 16;
const MOST_LETTERS: usize = 100;
/// From this many letters on, a word finds longer ones that begin with it.
const LETTERS_OF_A_STEM: usize = 3;
/// Hits on one page.
const MOST_HITS: u32 = 200;

impl Store {
    /// Frames and rolls that fit what is sought, `skip` of the best left out, at most `most` (200 at the most).
    ///
    /// With words, the best come first: those whose rare words stand in the subject, place or label. Without, the
    /// newest roll comes first, a roll with notes by its notes.
    ///
    /// A note is of its own day, and if that is unknown, of any day that its roll was in a camera; a roll likewise. A
    /// note is of the camera that its roll was in at that frame.
    ///
    /// # Errors
    /// More than 16 words, or one of more than 100 letters; trouble with the file.
    pub fn search(&self, sought: &Sought, skip: u32, most: u32) -> Result<Found, Error> {
        let most = most.min(MOST_HITS);
        let mut all = Vec::new();
        for (column, said) in [
            ("", &sought.words),
            ("subject : ", &sought.subject),
            ("place : ", &sought.place),
        ] {
            let words = quoted(said)?;
            if !words.is_empty() {
                all.push(format!("{column}({words})"));
            } else if !said.trim().is_empty() {
                return Ok(Found::default());
            }
        }
        let words = all.join(" AND ");
        let mut values = Vec::new();
        let filters = filters(sought, &mut values);
        let mut bind = |value: Value| {
            values.push(value);
            values.len()
        };
        let sql = if words.is_empty() {
            let (most, skip) = (bind((most + 1).into()), bind(skip.into()));
            format!(
                "SELECT coalesce(note.id * 2, roll.id * 2 + 1) AS doc
                 FROM roll JOIN can ON can.id = roll.can LEFT JOIN frame_note AS note ON note.roll = roll.id
                 WHERE {filters}
                 ORDER BY roll.id DESC, CAST(note.frame AS INTEGER), note.frame NOT LIKE '00%', note.frame, note.id
                 LIMIT ?{most} OFFSET ?{skip}"
            )
        } else {
            let words = bind(Value::Text(words));
            let (most, skip) = (bind((most + 1).into()), bind(skip.into()));
            // Without a filter the index alone is asked.
            let joins = if filters == ALL {
                ""
            } else {
                "LEFT JOIN frame_note AS note ON found.rowid % 2 = 0 AND note.id = found.rowid / 2
                 JOIN roll ON roll.id = coalesce(note.roll, found.rowid / 2) JOIN can ON can.id = roll.can"
            };
            format!(
                "SELECT found.rowid AS doc FROM found {joins} WHERE found MATCH ?{words} AND {filters}
                 ORDER BY found.rank, doc DESC LIMIT ?{most} OFFSET ?{skip}"
            )
        };
        let mut statement = self.db.prepare_cached(&sql)?;
        let docs = statement.query_map(params_from_iter(&values), |r| r.get::<_, i64>(0))?;
        let docs: Vec<i64> = docs.collect::<Result<_, _>>()?;
        let more = docs.len() > most as usize;
        let shown = docs.into_iter().take(most as usize);
        let hits = shown.map(|doc| hit(&self.db, doc));
        Ok(Found {
            hits: hits.collect::<Result<_, _>>()?,
            more,
        })
    }
}

/// A person's words as a query in which nothing is a command: each between quotation marks, all of them wanted.
fn quoted(words: &str) -> Result<String, Refusal> {
    let split = words.split(|c: char| c.is_whitespace() || c.is_control());
    let words: Vec<&str> = split
        .filter(|w| w.contains(char::is_alphanumeric))
        .collect();
    let letters = words.iter().map(|w| w.chars().count()).max().unwrap_or(0);
    if words.len() > MOST_WORDS || letters > MOST_LETTERS {
        return Err(Refusal::new(
            Kind::TooLarge,
            "words to find",
            format!("{} words, the longest of {letters} letters", words.len()),
            format!("up to {MOST_WORDS} words of up to {MOST_LETTERS} letters"),
            "Name a few words that stand in the note.",
        ));
    }
    let each = words.iter().map(|word| {
        let stem = word.chars().filter(|c| c.is_alphanumeric()).count() >= LETTERS_OF_A_STEM;
        let longer = if stem { "*" } else { "" };
        format!("\"{}\"{longer}", word.replace('"', "\"\""))
    });
    Ok(each.collect::<Vec<_>>().join(" AND "))
}

/// A condition that leaves nothing out.
const ALL: &str = "1";

/// The conditions besides words, over `note`, `roll` and `can`; their values are added.
fn filters(sought: &Sought, values: &mut Vec<Value>) -> String {
    let mut conditions = Vec::new();
    let mut bind = |value: Value| {
        values.push(value);
        values.len()
    };
    if sought.from.is_some() || sought.to.is_some() {
        let end = |day: &Option<String>, open: &str| {
            Value::Text(day.clone().unwrap_or_else(|| open.to_owned()))
        };
        let from = bind(end(&sought.from, "0000"));
        let to = bind(end(&sought.to, "9999"));
        conditions.push(format!(
            "CASE WHEN note.taken_at IS NOT NULL THEN substr(note.taken_at, 1, 10) BETWEEN ?{from} AND ?{to}
             ELSE EXISTS (SELECT 1 FROM camera_load AS load WHERE load.roll = roll.id
               AND loaded_on <= ?{to} AND coalesce(out_on, '9999') >= ?{from} AND {OF_THIS_STAY}) END"
        ));
    }
    if let Some(camera) = sought.camera {
        let camera = bind(Value::Integer(camera.0));
        conditions.push(format!(
            "EXISTS (SELECT 1 FROM camera_load AS load
               WHERE load.roll = roll.id AND load.camera = ?{camera} AND {OF_THIS_STAY})"
        ));
    }
    if let Some(stock) = sought.stock {
        let stock = bind(Value::Integer(stock.0));
        conditions.push(format!("can.stock = ?{stock}"));
    }
    if conditions.is_empty() {
        ALL.to_owned()
    } else {
        conditions.join(" AND ")
    }
}

/// Whether the note's frame was exposed in a roll's stay in a camera: frames 0 and 00 in the one that began with 1.
const OF_THIS_STAY: &str =
    "(note.frame IS NULL OR (max(CAST(note.frame AS INTEGER), 1) >= load.first_frame
   AND CAST(note.frame AS INTEGER) <= coalesce(load.out_frame, 9999)))";

fn hit(db: &Connection, doc: i64) -> Result<Hit, Error> {
    let missing = || Error::Damaged(format!("found {doc}, which is not there"));
    let note: Option<FrameNote> = if doc % 2 == 0 {
        Some(one(db, "WHERE id = ?1", [doc / 2])?.ok_or_else(missing)?)
    } else {
        None
    };
    let roll = note.as_ref().map_or(RollId(doc / 2), |n| n.roll);
    let roll: Roll = one(db, "WHERE id = ?1", [roll.0])?.ok_or_else(missing)?;
    let can: Can = one(db, "WHERE id = ?1", [roll.can.0])?.ok_or_else(missing)?;
    Ok(Hit {
        roll,
        stock: can.stock,
        note,
    })
}
