//! `spoolwright place`: where cans, rolls and binders are kept, and what follows from it.

use std::fmt::Write;

use serde_json::{Value, json};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::storage::ageing::Allowance;
use spoolwright_core::storage::keeping::GoingOff;
use spoolwright_core::storage::warmup::WarmUp;

use super::Failure;
use super::desk::{Desk, Table, listed, or_dash, over};
use crate::service::field::kept::{GoingView, KeepDraft, KeptView};
use crate::service::field::places::{PlaceDraft, PlaceView, WarmDraft, kind_word, number_of};
use crate::service::settings::Settings;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Add a place.
    Add(PlaceDraft),
    /// Change a place; a lone - empties a field.
    Change {
        /// Its name or number.
        place: String,
        #[command(flatten)]
        draft: PlaceDraft,
    },
    /// List the places with what lies in them.
    List {
        /// Those put away too.
        #[arg(long)]
        all: bool,
    },
    /// One place and what lies in it.
    Show {
        /// Its name or number.
        place: String,
    },
    /// Take a place out of use; what lies there stays.
    Close {
        /// Its name or number.
        place: String,
    },
    /// Use a place again.
    Reopen {
        /// Its name or number.
        place: String,
    },
    /// Put a can, a roll or a binder into a place.
    Keep {
        /// can, roll or binder.
        kind: String,
        /// Its letters, label or name.
        name: String,
        #[command(flatten)]
        draft: KeepDraft,
    },
    /// Where something is kept and what that does to it: warming up, sources, age.
    Of {
        /// can, roll or binder.
        kind: String,
        /// Its letters, label or name.
        name: String,
    },
    /// How long a closed package warms up before it is opened.
    Warmup(WarmDraft),
    /// Film that is about to go off, the most pressing first.
    Soon,
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        Verb::Add(draft) => {
            let made = desk.service.save_place(None, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::Change { place, draft } => {
            let old = desk.service.place_named(&place)?;
            let fahrenheit = desk.settings()?.fahrenheit;
            let draft = over(&PlaceDraft::of(&old, fahrenheit), &draft)?;
            let made = desk
                .service
                .save_place(Some(old.id), &draft, desk.request)?;
            desk.told(made)
        }
        Verb::List { all } => list(desk, all),
        Verb::Show { place } => {
            let id = desk.service.place_named(&place)?.id;
            let view = desk.service.place(id)?;
            let settings = desk.settings()?;
            desk.answer(place_text(&view, &settings), || of(&view))
        }
        Verb::Close { place } => close(desk, &place, true),
        Verb::Reopen { place } => close(desk, &place, false),
        Verb::Keep { kind, name, draft } => {
            let thing = desk.service.keepable(&kind, &name)?;
            let made = desk.service.keep(thing, &draft, desk.request)?;
            desk.told(made)
        }
        Verb::Of { kind, name } => {
            let thing = desk.service.keepable(&kind, &name)?;
            let view = desk.service.kept(thing)?;
            let settings = desk.settings()?;
            desk.answer(kept_text(&view, &settings), || kept_of(&view))
        }
        Verb::Warmup(draft) => {
            let (chill, told) = desk.service.warm_up(&draft)?;
            let settings = desk.settings()?;
            let text = format!(
                "{} from {} into {}: {}",
                chill.package.name(),
                settings.temperature(chill.from_c),
                settings.temperature(chill.to_c),
                warm_text(&told)
            );
            desk.answer(text, || {
                let mut said = warm_of(&told);
                said["package"] = chill.package.word().into();
                said["from_c"] = chill.from_c.into();
                said["to_c"] = chill.to_c.into();
                said["rh_percent"] = chill.rh_percent.into();
                said
            })
        }
        Verb::Soon => soon(desk),
    }
}

fn close(desk: &mut Desk<'_>, place: &str, closed: bool) -> Result<(), Failure> {
    let id = desk.service.place_named(place)?.id;
    let made = desk.service.close_place(id, closed, desk.request)?;
    desk.told(made)
}

fn list(desk: &mut Desk<'_>, all: bool) -> Result<(), Failure> {
    let settings = desk.settings()?;
    let mut places = desk.service.places()?;
    places.retain(|p| all || !p.place.closed);
    let mut table = Table::new(&["place", "kind", ">at", ">humidity", ">things", "state"]);
    for p in &places {
        table.row([
            p.place.name.clone(),
            p.place.kind.word().to_owned(),
            at(p, &settings),
            or_dash(p.place.rh_percent.map(|h| format!("{h:.0} %"))),
            p.things.len().to_string(),
            if p.place.closed { "put away" } else { "in use" }.to_owned(),
        ]);
    }
    let empty = "No place yet: `spoolwright place add --name NAME --kind freezer`.";
    desk.answer(listed(table, empty), || places.iter().map(of).collect())
}

fn at(p: &PlaceView, settings: &Settings) -> String {
    let usual = if p.measured { "" } else { ", usual" };
    format!("{}{usual}", settings.temperature(p.temperature_c))
}

fn place_text(p: &PlaceView, settings: &Settings) -> String {
    let mut text = format!(
        "{}: {}, {}\n",
        p.place.name,
        p.place.kind.word(),
        at(p, settings)
    );
    for t in &p.things {
        let stock = if t.stock.is_empty() { "" } else { ", " };
        let _ = writeln!(
            text,
            "  {} {}{stock}{} since {}",
            kind_word(t.thing),
            t.name,
            t.stock,
            t.since
        );
    }
    text
}

fn of(p: &PlaceView) -> Value {
    json!({
        "id": p.place.id.0, "name": p.place.name, "kind": p.place.kind.word(),
        "temperature_c": p.temperature_c, "measured": p.measured, "rh_percent": p.place.rh_percent,
        "note": p.place.note, "closed": p.place.closed,
        "things": p.things.iter().map(|t| json!({
            "kind": kind_word(t.thing), "id": number_of(t.thing), "name": t.name, "stock": t.stock, "since": t.since,
        })).collect::<Value>(),
    })
}

fn kept_text(v: &KeptView, settings: &Settings) -> String {
    let mut text = format!("{} {}", kind_word(v.thing), v.name);
    match v.stays.first() {
        Some((kept, place)) => {
            let _ = writeln!(text, ": in {} since {}", place.name, kept.since);
        }
        None => text += ": nobody has said where it lies\n",
    }
    if let Some((c, measured)) = v.at_c {
        let usual = if measured {
            ""
        } else {
            ", the usual of its kind"
        };
        let _ = writeln!(text, "at {}{usual}", settings.temperature(c));
    }
    if let Some(warm) = &v.warm_up {
        text += &format!("before opening: {}", warm_text(warm));
    }
    if let Some(going) = &v.going {
        let _ = writeln!(text, "{}: {}", going.going.word(), going.because);
    }
    for r in &v.remarks {
        let _ = writeln!(text, "{} [{}]", r.text, r.key);
    }
    if let Some(a) = &v.allowance {
        text += &allowance_text(a);
    }
    for c in &v.caveats {
        let _ = writeln!(text, "{}", c.text);
    }
    for (kept, place) in v.stays.iter().skip(1) {
        let _ = writeln!(text, "before: in {} since {}", place.name, kept.since);
    }
    text
}

fn warm_text(told: &WarmUp) -> String {
    let mut text = format!("{} h closed\n{}\n", told.hours, told.because);
    for c in &told.caveats {
        let _ = writeln!(text, "{}", c.text);
    }
    text
}

fn allowance_text(a: &Allowance) -> String {
    let since = if a.since_test {
        "since its test"
    } else {
        "of age"
    };
    let mut text = format!(
        "for {:.1} years {since} allow {}/3 stop ({:.1} to {:.1} stops), a {}\n",
        a.years,
        a.thirds,
        a.low_stops,
        a.high_stops,
        a.mark.word().replace('-', " ")
    );
    if let Some((_, listed)) = &a.ei {
        let _ = writeln!(text, "that is EI {}", listed.iso);
    }
    for c in &a.caveats {
        let _ = writeln!(text, "{}", c.text);
    }
    text
}

fn caveats(all: &[Caveat]) -> Value {
    all.iter()
        .map(|c| json!({ "code": c.code, "text": c.text }))
        .collect()
}

fn warm_of(w: &WarmUp) -> Value {
    json!({
        "hours": w.hours, "basis": w.basis.word(), "because": w.because, "rise_c": w.rise_c,
        "dew_point_c": w.dew_point_c, "water_settles": w.water_settles, "caveats": caveats(&w.caveats),
    })
}

fn going_of(g: &GoingOff) -> Value {
    json!({ "state": g.going.word(), "months_left": g.months_left, "because": g.because, "mark": "rule-of-thumb" })
}

fn kept_of(v: &KeptView) -> Value {
    json!({
        "kind": kind_word(v.thing), "id": number_of(v.thing), "name": v.name,
        "stock": v.stock.as_ref().map(|s| &s.name),
        "temperature_c": v.at_c.map(|a| a.0), "measured": v.at_c.map(|a| a.1),
        "stays": v.stays.iter().map(|(k, p)| json!({ "place": p.name, "since": k.since })).collect::<Value>(),
        "remarks": v.remarks.iter().map(|r| json!({
            "code": r.code, "key": r.key, "meets": r.meets, "text": r.text,
        })).collect::<Value>(),
        "going_off": v.going.as_ref().map(going_of),
        "warm_up": v.warm_up.as_ref().map(warm_of),
        "allowance": v.allowance.as_ref().map(|a| json!({
            "years": a.years, "low_stops": a.low_stops, "high_stops": a.high_stops, "thirds": a.thirds,
            "mark": a.mark.word(), "since_test": a.since_test, "ei": a.ei.as_ref().map(|(_, listed)| listed.iso),
            "caveats": caveats(&a.caveats),
        })),
        "caveats": caveats(&v.caveats),
    })
}

fn soon(desk: &mut Desk<'_>) -> Result<(), Failure> {
    let all = desk.service.about_to_go_off()?;
    let mut table = Table::new(&["kind", "which", "stock", ">months left", "because"]);
    for g in &all {
        table.row([
            kind_word(g.thing).to_owned(),
            g.name.clone(),
            g.stock.clone(),
            or_dash(g.going.months_left.map(|m| format!("{m:.0}"))),
            g.going.because.clone(),
        ]);
    }
    let row = |g: &GoingView| {
        let mut said = going_of(&g.going);
        said["kind"] = kind_word(g.thing).into();
        said["id"] = number_of(g.thing).into();
        said["name"] = g.name.as_str().into();
        said["stock"] = g.stock.as_str().into();
        said["expires_on"] = g.expires_on.clone().into();
        said
    };
    desk.answer(listed(table, "Nothing is about to go off."), || {
        all.iter().map(row).collect()
    })
}
