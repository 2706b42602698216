//! Records as forms to change them: every field as a person would have typed it.

use super::form::Form;
use super::say;
use spoolwright_core::quantity::Estimate;
use spoolwright_core::shelf::{Can, Cassette, Loader, LoaderKind, Stock, Want};

fn number(x: Option<f64>) -> String {
    x.map(say::speed).unwrap_or_default()
}

fn mean(e: Option<Estimate>) -> String {
    number(e.map(|e| e.mean))
}

fn sd(e: Option<Estimate>) -> String {
    number(e.map(|e| e.sd))
}

fn text(s: &Option<String>) -> String {
    s.clone().unwrap_or_default()
}

/// A stock's form.
pub(crate) fn stock(s: &Stock) -> Form {
    Form::fresh([
        ("name", s.name.clone()),
        ("ei", number(s.ei)),
        ("process", s.process.word().to_owned()),
        ("base", s.base.word().to_owned()),
        ("pitch", s.pitch.word().to_owned()),
        ("thickness_mm", mean(s.thickness_mm)),
        ("thickness_sd_mm", sd(s.thickness_mm)),
        ("linear_mass_g_per_m", mean(s.linear_mass_g_per_m)),
        ("linear_mass_sd_g_per_m", sd(s.linear_mass_g_per_m)),
        ("ready_wound_price", number(s.ready_wound_price)),
        ("note", s.note.clone()),
    ])
}

/// A can's form.
pub(crate) fn can(c: &Can) -> Form {
    Form::fresh([
        ("stock", c.stock.to_string()),
        ("letters", c.letters.clone()),
        ("length", format!("{} m", c.length_m.mean)),
        ("length_sd", format!("{} m", c.length_m.sd)),
        ("package", c.package.clone()),
        ("tare_g", mean(c.tare_g)),
        ("core_mm", say::speed(c.core_mm)),
        (
            "loader",
            c.loader.map(|l| l.to_string()).unwrap_or_default(),
        ),
        ("price", number(c.price)),
        ("bought_on", text(&c.bought_on)),
        ("expires_on", text(&c.expires_on)),
        ("note", c.note.clone()),
    ])
}

/// A loader's form.
pub(crate) fn loader(l: &Loader) -> Form {
    let (kind, zero, hub) = match l.kind {
        LoaderKind::Counter { dial_zero } => ("counter", dial_zero.to_string(), String::new()),
        LoaderKind::Crank { hub_mm } => ("crank", String::new(), say::speed(hub_mm)),
    };
    Form::fresh([
        ("name", l.name.clone()),
        ("kind", kind.to_owned()),
        ("dial_zero", zero),
        ("hub_mm", hub),
        ("leader_clicks", l.leader_clicks.to_string()),
        ("tail_clicks", l.tail_clicks.to_string()),
        ("click_scale", mean(l.click_scale)),
        ("uncounted_mm", mean(l.uncounted_mm)),
        ("note", l.note.clone()),
    ])
}

/// A cassette's form.
pub(crate) fn cassette(c: &Cassette) -> Form {
    let yes = |on: bool| if on { "yes" } else { "no" }.to_owned();
    Form::fresh([
        ("label", c.label.clone()),
        ("most_frames", c.most_frames.to_string()),
        ("earlier_uses", c.earlier_uses.to_string()),
        ("leaks", yes(c.leaks)),
        ("retired", yes(c.retired)),
        ("note", c.note.clone()),
    ])
}

/// A want's form.
pub(crate) fn want(w: &Want) -> Form {
    Form::fresh([
        ("what_for", w.what_for.clone()),
        ("frames", w.frames.to_string()),
        (
            "stocks",
            w.stocks
                .iter()
                .map(ToString::to_string)
                .collect::<Vec<_>>()
                .join(","),
        ),
        ("by_when", text(&w.by_when)),
        ("priority", w.priority.to_string()),
        ("ei", number(w.ei)),
        ("camera", w.camera.clone()),
        ("advance_perforations", w.advance_perforations.to_string()),
    ])
}
