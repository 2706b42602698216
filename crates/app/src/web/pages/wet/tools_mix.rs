//! The calculators of mixing: dilution, formula, bottles, per cent, water, hydrates.

use super::tools::{
    BOTTLES, DILUTION, FORMULA, Figure, Known, PERCENT, SALT, WATER, address, cautions, figures,
    model, work,
};
use crate::service::Service;
use crate::service::wet::tools::bottles::BottlesView;
use crate::service::wet::tools::formula::{self, FormulaView, OWN, amount};
use crate::service::wet::tools::mix::{DilutionView, PercentView, Poured, SaltView, WaterView};
use crate::service::wet::tools::{Telling, figure, trimmed};
use crate::web::app::{Answer, App};
use crate::web::form::Form;
use crate::web::say;
use axum::Router;
use axum::extract::{RawQuery, State};
use axum::routing::get;
use maud::{Markup, html};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wet::bath::{BathKind, ROLL_OF_36_M2};
use spoolwright_core::wet::cautions as minded;
use spoolwright_core::wet::formula::Minded;
use spoolwright_core::wet::mark::Mark;
use spoolwright_core::wet::mix::Reading;
use spoolwright_core::wet::salts::Substance;
use spoolwright_core::wet::shopping::Needed;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/wet/mix/dilution", get(dilution))
        .route("/wet/mix/formula", get(a_formula))
        .route("/wet/mix/bottles", get(bottles))
        .route("/wet/mix/percent", get(percent))
        .route("/wet/mix/water", get(water))
        .route("/wet/mix/salt", get(salt))
}

async fn dilution(State(app): State<App>, RawQuery(q): RawQuery) -> Answer {
    work(
        &app,
        q,
        &DILUTION,
        Service::tool_dilution,
        diluted,
        dilution_form,
    )
    .await
}

async fn a_formula(State(app): State<App>, RawQuery(q): RawQuery) -> Answer {
    work(
        &app,
        q,
        &FORMULA,
        Service::tool_formula,
        scaled,
        formula_form,
    )
    .await
}

async fn bottles(State(app): State<App>, RawQuery(q): RawQuery) -> Answer {
    work(
        &app,
        q,
        &BOTTLES,
        Service::tool_bottles,
        poured,
        bottles_form,
    )
    .await
}

async fn percent(State(app): State<App>, RawQuery(q): RawQuery) -> Answer {
    work(
        &app,
        q,
        &PERCENT,
        Service::tool_percent,
        weakened,
        percent_form,
    )
    .await
}

async fn water(State(app): State<App>, RawQuery(q): RawQuery) -> Answer {
    work(&app, q, &WATER, Service::tool_water, warmed, water_form).await
}

async fn salt(State(app): State<App>, RawQuery(q): RawQuery) -> Answer {
    work(&app, q, &SALT, Service::tool_salt, converted, salt_form).await
}

fn kinds() -> Vec<(&'static str, String)> {
    BathKind::ALL
        .iter()
        .map(|k| (k.word(), k.word().replace('-', " ")))
        .collect()
}

/// The same, with a way to say nothing.
fn of_kinds() -> Vec<(&'static str, String)> {
    [("", "not said".to_owned())]
        .into_iter()
        .chain(kinds())
        .collect()
}

/// To a bath's card that begins with what was just mixed.
fn card_link(values: &[(&str, &str)]) -> Markup {
    html! { div.acts { a.btn href=(address("/wet/baths/new", values)) { "Write a bath card for it" } } }
}

fn diluted(v: &DilutionView, form: &Form) -> Markup {
    let t = v.telling;
    html! {
        @if let [one] = &v.readings[..] {
            (measures(one, t))
        } @else {
            p { strong { "It can be meant two ways. Nothing is chosen for you." } }
            @for one in &v.readings {
                h3 { (meaning(one)) }
                (measures(one, t))
                div.acts {
                    a.btn href=(address(DILUTION.path, &again(form, one.measures.reading))) { "It means this" }
                }
            }
        }
        (model(None, "Parts by volume. The dilution is your sheet's or your own.", &v.caveats))
        @if let [one] = &v.readings[..] {
            (card_link(&[
                ("kind", v.kind.map_or("", BathKind::word)),
                ("dilution", &one.plain),
                ("volume", &format!("{} ml", trimmed(one.measures.total_ml, 1))),
            ]))
        }
        (cautions(&minded::thinning(v.kind)))
    }
}

fn meaning(p: &Poured) -> String {
    match p.measures.reading {
        Reading::Plus => format!("Parts plus parts: {}", p.plain),
        Reading::In => format!("Parts in the whole: {}", p.plain),
    }
}

/// The same asking, with the reading chosen.
fn again(form: &Form, reading: Reading) -> Vec<(&str, &str)> {
    let kept = [
        "ask",
        "dilution",
        "total",
        "concentrate",
        "least",
        "films",
        "kind",
    ];
    let mut all: Vec<(&str, &str)> = kept.map(|name| (name, form.text(name))).to_vec();
    all.push(("reading", reading.word()));
    all
}

fn measures(p: &Poured, t: Telling) -> Markup {
    let m = &p.measures;
    let several = 1 < m.concentrates_ml.len();
    let mut all: Vec<Figure> = m
        .concentrates_ml
        .iter()
        .enumerate()
        .map(|(i, ml)| {
            let name = if several {
                format!("Concentrate {}", i + 1)
            } else {
                "Concentrate".to_owned()
            };
            Figure::volume(name, *ml, t)
        })
        .collect();
    all.insert(0, Figure::volume("Water first", m.water_ml, t));
    html! {
        (figures(&all))
        p { (t.volume(m.total_ml)) " in all." }
        @if let Some(s) = &p.stock {
            @if s.is_enough() {
                p { "Enough for the film: it needs " (t.volume(s.needed_ml)) " of concentrate and finds " (t.volume(s.held_ml)) "." }
            } @else {
                div.note {
                    p { strong { "Too little for the film: " } "it needs " (t.volume(s.needed_ml)) " of concentrate and finds " (t.volume(s.held_ml)) ", enough for " (figure(s.enough_for_m2 / ROLL_OF_36_M2)) " films." }
                    p { "Use " (t.volume(s.working_ml)) " of this dilution, a stronger one, or less film." }
                }
            }
        }
    }
}

fn dilution_form(f: &Form, _: &Known, told: Option<&DilutionView>) -> Markup {
    let open = told.is_some_and(|v| 1 < v.readings.len());
    html! {
        (f.field("dilution", "Dilution").hint("As the sheet has it: 1+25, 1+1+100, or 1:25.").needed().text())
        @if open || (f.text("dilution").contains(':') && !f.text("reading").is_empty()) {
            (f.field("reading", "With a colon it means").radios(&[
                ("plus", "parts plus parts", "one of concentrate and so many of water"),
                ("in", "parts in the whole", "one of concentrate in so many in all"),
            ]))
        }
        div.pair {
            (f.field("total", "How much you want").hint("ml, l or US fluid oz.").unit("ml").text())
            (f.field("concentrate", "or concentrate you have").hint("Fill in one of the two.").unit("ml").text())
        }
        (f.field("kind", "What it is").select(&of_kinds()))
        details open[f.is_faulty() || !f.text("least").is_empty()] {
            summary { "Is it enough for the film?" }
            p.hint { "A weak dilution may fill the tank and yet hold too little developer. The sheet tells the least." }
            div.pair {
                (f.field("least", "Least concentrate for a film of 36").unit("ml").text())
                (f.field("films", "Films of 36").number())
            }
        }
    }
}

fn weakened(v: &PercentView, _: &Form) -> Markup {
    let t = v.telling;
    let limits = [Caveat::new(
        "volumes_add",
        "Volumes are taken to add up; strong acids and alcohol shrink by a few per cent: the water first, the strong solution into it, slowly; once mixed and cool, make up to the mark.",
    )];
    let name = v
        .substance
        .map_or_else(|| "Strong solution".to_owned(), |s| s.name());
    html! {
        (figures(&[
            Figure::volume("Water first", v.water_ml, t),
            Figure::volume(name, v.strong_ml, t),
        ]))
        (model(None, "Wanted volume times wanted per cent over strong per cent.", &limits))
        @match v.substance {
            Some(s) => { (cautions(minded::cautions(s))) }
            None => {
                details open {
                    summary { "Mind" }
                    ul {
                        li { "If it is an acid: acid into water, slowly, never water into acid. Glacial acid burns: goggles, gloves, open window." }
                        li { "Bleach and fixer never meet acid." }
                        li { "Read the supplier's safety data sheet first. Say in the form what it is, and its cautions stand here." }
                        li { "Ask the local sewer and waste code where used solution may go." }
                    }
                }
            }
        }
    }
}

fn percent_form(f: &Form, _: &Known, _: Option<&PercentView>) -> Markup {
    let mut substances: Vec<(&str, String)> = vec![("", "not said".to_owned())];
    substances.extend(
        Substance::ALL
            .iter()
            .filter(|s| **s != Substance::Water)
            .map(|s| (s.word(), s.name())),
    );
    html! {
        div.pair {
            (f.field("strong", "You have").unit("%").needed().number())
            (f.field("wanted", "You want").unit("%").needed().number())
        }
        (f.field("total", "How much of it").hint("ml, l or US fluid oz.").unit("ml").needed().text())
        (f.field("substance", "What it is").hint("For its cautions.").select(&substances))
    }
}

fn warmed(v: &WaterView, _: &Form) -> Markup {
    let t = v.telling;
    let limits = [Caveat::new(
        "vessel_left_out",
        "The vessel takes some warmth, too: go by the thermometer at the end.",
    )];
    html! {
        (figures(&[
            Figure::volume("Hot", v.hot_ml, t),
            Figure::volume("Cold", v.cold_ml, t),
        ]))
        p { "They make " (t.volume(v.hot_ml + v.cold_ml)) " at " (t.temperature(v.wanted_c)) "." }
        (model(Some(Mark::RuleOfThumb), "Conservation of heat, nothing lost to the vessel.", &limits))
        (cautions(&[minded::Caution { code: "hot_water", text: "Water from the kettle scalds: cold first, then hot into it." }]))
    }
}

fn water_form(f: &Form, k: &Known, _: Option<&WaterView>) -> Markup {
    html! {
        div.pair {
            (f.field("hot", "Hot water").unit(k.degrees()).needed().text())
            (f.field("cold", "Cold water").unit(k.degrees()).needed().text())
        }
        div.pair {
            (f.field("wanted", "You want").hint(k.example("Such as 20 C.", "Such as 68 F.")).unit(k.degrees()).needed().text())
            (f.field("total", "How much").hint("ml, l or US fluid oz.").unit("ml").needed().text())
        }
    }
}

fn converted(v: &SaltView, _: &Form) -> Markup {
    html! {
        (figures(&[Figure::new("Weigh", figure(v.grams), "g", v.to.name())]))
        p { "for " (figure(v.from_g)) " g of " (v.from.name()) ": " (format!("{:.3}", v.factor)) " g of the one does the work of a gram of the other." }
        (model(Some(Mark::Sheet), "Ratio of the molar masses, from the standard atomic weights.", &[Caveat::new(
            "jar_keeps",
            "It holds for what the label says: a jar left open gains or loses water.",
        )]))
        (cautions(minded::cautions(v.to)))
    }
}

fn salt_form(f: &Form, _: &Known, _: Option<&SaltView>) -> Markup {
    let salts: Vec<(&str, String)> = Substance::ALL
        .iter()
        .filter(|s| s.molar_mass().is_some())
        .map(|s| (s.word(), s.name()))
        .collect();
    html! {
        (f.field("amount", "The formula says").hint("g, oz by weight, or grains.").unit("g").needed().text())
        (f.field("from", "of").select(&salts))
        (f.field("to", "The jar holds").select(&salts))
    }
}

fn poured(v: &BottlesView, _: &Form) -> Markup {
    let t = v.telling;
    let rows = v
        .bottles
        .iter()
        .zip(v.pour.take_ml.iter().zip(&v.pour.left_ml));
    html! {
        div.scroll tabindex="0" role="region" aria-label="What to pour" {
            table {
                thead { tr { th scope="col" { "From" } th.right scope="col" { "Pour" } th.right scope="col" { "Stays" } } }
                tbody {
                    @for (b, (take, left)) in rows {
                        tr { th scope="row" { (b.name) } td.right.num { b { (t.volume(*take)) } } td.right.num { (t.volume(*left)) } }
                    }
                    @if 0.05 <= v.pour.water_ml { tr { th scope="row" { "Water" } td.right.num { b { (t.volume(v.pour.water_ml)) } } td.right.num {} } }
                    tr.sum { td { "In all" } td.right.num { (t.volume(v.want.volume_ml)) } td.right.num {} }
                }
            }
        }
        p {
            @if v.age_said { "Its oldest part is " (say::count(v.pour.age_days.round() as u64, "day", "days")) " old; " } @else { "How old it is nobody said; " }
            @if v.use_said && v.films() == 0.0 { "no film has been through it." }
            @else if v.films() == 0.0 { "what film it has had nobody said." }
            @else { "it has had " @if !v.use_said { "at least " } (figure(v.films())) " films of 36." }
        }
        (model(None, "Volume and what is dissolved are both kept; the oldest bottle is used first.", &v.caveats))
        (card_link(&[
            ("kind", v.card.kind.map_or("", BathKind::word)),
            ("mixed_from", &v.card.mixed_from),
            ("dilution", &v.card.dilution),
            ("volume", &format!("{} ml", trimmed(v.want.volume_ml, 1))),
            ("mixed_on", &v.card.mixed_on),
            ("note", &v.card.note),
        ]))
        @if !v.age_said { p.hint { "Write on that card the day on which its oldest part was mixed, as well as you know it: left empty, it is taken as today." } }
        @if 0.0 < v.films() { p.hint { "Then write down on that card that " (figure(v.films())) " films went through, and the new volume on those of the bottles." } }
        (cautions(minded::cautions(v.card.kind.unwrap_or_default())))
    }
}

fn bottles_form(f: &Form, k: &Known, _: Option<&BottlesView>) -> Markup {
    let baths: Vec<(String, String, String)> = k
        .baths
        .iter()
        .map(|b| {
            let of = format!("{} {}", b.card.mixed_from, b.card.dilution);
            let volume = Telling {
                ounces: k.settings.feet,
                fahrenheit: false,
            }
            .volume(b.card.volume_ml);
            (
                b.card.id.to_string(),
                b.card.name.clone(),
                format!("{} {volume}", of.trim()).trim().to_owned(),
            )
        })
        .collect();
    let offered: Vec<(&str, &str, &str)> = baths
        .iter()
        .map(|(id, name, more)| (id.as_str(), name.as_str(), more.as_str()))
        .collect();
    let f = &f.clone().with_default("water", "yes");
    html! {
        (f.field("volume", "How much you want").hint("Such as 600 ml.").unit("ml").needed().text())
        @if !offered.is_empty() {
            (f.field("bath", "From these baths").hint("Cards of one solution, taken as working strength.").boxes(&offered))
        }
        (f.field("others", if offered.is_empty() { "Bottles" } else { "Other bottles" })
            .hint("One a line: name, volume, days old, films it has had; 1+4 for a stock that is diluted 1+4. Such as: brown bottle, 350 ml, 40 days, 3 films").lines())
        details open[f.is_faulty() || !f.text("strength").is_empty()] {
            summary { "Strength and water" }
            (f.field("strength", "Strength you want").hint("Working solution when empty; 1+4 for a stock that is diluted 1+4.").text())
            (f.field("water", "Water may be added").hint("Only stronger bottles need it.").tick())
        }
    }
}

fn scaled(v: &FormulaView, _: &Form) -> Markup {
    let t = v.telling;
    let b = &v.batch;
    let words = match v.mark {
        Some(_) => format!("Published composition of a {}, in proportion.", v.name),
        None => "Your own list, in proportion. How well it is known, you know.".to_owned(),
    };
    html! {
        p { strong { (t.volume(b.volume_ml)) } " of " (v.name) ". Each is dissolved before the next goes in." }
        ol.formula {
            li {
                "Start with " strong { (t.volume(b.start_ml)) } " of water"
                @if let Some((from, to)) = b.start_c { " at " (t.temperature(from)) " to " (t.temperature(to)) }
                "."
            }
            @for m in &b.measures {
                li { strong { (amount(m.amount, m.unit, t)) } " " (m.substance) @if let Some(note) = &m.note { span.hint { " (" (note) ")" } } }
            }
            li { "Water to " strong { (t.volume(b.volume_ml)) } "." }
        }
        @if let Some(list) = &v.shopping { (shopping(list, t)) }
        (model(v.mark, &words, &b.caveats))
        (card_link(&[
            ("kind", v.kind.word()),
            ("volume", &format!("{} ml", trimmed(b.volume_ml, 1))),
            ("mixed_from", if v.mark.is_some() { &v.name } else { "" }),
        ]))
        (by_substance(&b.cautions))
    }
}

fn shopping(list: &[Needed], t: Telling) -> Markup {
    let lacking: Vec<&Needed> = list.iter().filter(|n| 0.0 < n.lacking).collect();
    html! {
        h3 { "Shopping list" }
        @if lacking.is_empty() { p { "All of it is at hand." } }
        @else {
            ul { @for n in &lacking { li { strong { (amount(n.lacking, n.unit, t)) } " " (n.substance) @if 0.0 < n.at_hand { ", beside the " (amount(n.at_hand, n.unit, t)) " at hand" } } } }
        }
        @for n in list {
            @for (name, weight) in &n.instead {
                p { "For " (n.substance) " weigh " strong { (amount(*weight, n.unit, t)) } " " (name) "." }
            }
        }
    }
}

fn by_substance(all: &[Minded]) -> Markup {
    html! {
        details open {
            summary { "Mind" }
            ul {
                @for m in all {
                    li { @if !m.about.is_empty() { strong { (m.about.join(", ")) ": " } } (m.caution.text) }
                }
            }
        }
    }
}

fn formula_form(f: &Form, _: &Known, _: Option<&FormulaView>) -> Markup {
    let mut offered: Vec<(&str, &str)> = formula::published();
    offered.push((OWN, "your own list"));
    html! {
        (f.field("formula", "Formula").select(&offered))
        (f.field("volume", "How much you want").hint("ml, l or US fluid oz.").unit("ml").needed().text())
        details open[f.is_faulty() || !f.text("parts").is_empty()] {
            summary { "Your own list" }
            (f.field("parts", "What goes in, in mixing order").hint("One a line, g or ml: sodium carbonate monohydrate, 50 g").lines())
            div.pair {
                (f.field("makes", "The list makes").hint("A litre when empty.").unit("ml").text())
                (f.field("kind", "What it makes").select(&kinds()))
            }
        }
        details open[f.is_faulty() || !f.text("at_hand").is_empty() || !f.text("instead").is_empty()] {
            summary { "What you have" }
            (f.field("at_hand", "On your shelf").hint("One a line: metol, 25 g. What is lacking becomes the shopping list; another hydrate of a salt counts by what it is worth.").lines())
            (f.field("instead", "Weigh these hydrates instead").hint("As the jar says, such as borax pentahydrate; several apart by ;").text())
            (f.field("start", "Water to start from").hint("75 % of the whole when empty.").unit("%").number())
        }
    }
}
