//! The shelf: every can at one scale, with what it can still wind.

use crate::service::settings::Settings;
use crate::service::shelf::{CanView, RollView, Shelf};
use crate::web::drawing;
use maud::{Markup, html};
use spoolwright_core::shelf::{Base, CanState};

/// The chance from which a roll counts as safe to wind.
pub(crate) const SURE: f64 = 0.95;

/// Closed cans listed at most.
const CLOSED_SHOWN: usize = 40;

pub(super) fn page(shelf: &Shelf, recent: &[RollView]) -> Markup {
    let open = by_use(shelf, recent);
    let closed: Vec<_> = shelf
        .cans
        .iter()
        .filter(|c| c.can.state != CanState::Open)
        .collect();
    let widest = widest(open.iter().copied());
    html! {
        h1 { "Shelf" }
        @if open.is_empty() {
            p { "No can is open. Add one: which film is in it, and how long it was." }
        } @else {
            p.soft { "Drawn at one scale. The ring is the doubt: the 95 % interval." }
        }
        ul.rows { @for c in &open { li { (row(c, &shelf.settings, widest)) } } }
        div.thumb { a.btn.main href="/cans/new" { "Add a can" } }
        @if !closed.is_empty() {
            h2 { "Closed" }
            ul.rows {
                @for c in closed.iter().rev().take(CLOSED_SHOWN) {
                    li {
                        a.row href={ "/cans/" (c.can.id) } {
                            span.what { span.name { (c.can.letters) " " (c.stock.name) } span.more { (c.can.state.word()) } }
                        }
                    }
                }
            }
            @if closed.len() > CLOSED_SHOWN { p.soft { "The newest " (CLOSED_SHOWN) " of " (closed.len()) "." } }
        }
    }
}

/// Open cans: those wound from last first, then those not wound from lately, the fullest first.
pub(crate) fn by_use<'a>(shelf: &'a Shelf, recent: &[RollView]) -> Vec<&'a CanView> {
    let mut open: Vec<_> = shelf
        .open_cans()
        .map(|c| {
            let since = recent.iter().position(|r| r.roll.can == c.can.id);
            (since.unwrap_or(usize::MAX), c)
        })
        .collect();
    open.sort_by(|(a, x), (b, y)| {
        a.cmp(b)
            .then(y.remaining.mean.total_cmp(&x.remaining.mean))
            .then(x.can.id.cmp(&y.can.id))
    });
    open.into_iter().map(|(_, c)| c).collect()
}

/// The widest full can, for a common scale.
pub(crate) fn widest<'a>(cans: impl Iterator<Item = &'a CanView>) -> f64 {
    cans.map(|c| c.diameters.full.max(c.diameters.now.2))
        .fold(1.0, f64::max)
}

/// One can in a list: drawn at the list's scale, its surest roll, what is left.
pub(crate) fn row(c: &CanView, settings: &Settings, widest: f64) -> Markup {
    html! {
        a.row href={ "/cans/" (c.can.id) } {
            (drawing::can_small(&format!("can-{}", c.can.id), &c.can.letters, to_draw(c), widest))
            span.what {
                span.name { (c.can.letters) " " (c.stock.name) }
                span.more { (surest(c)) }
            }
            span.much {
                b { (settings.length(c.remaining.mean)) }
                "± " (settings.length((c.remaining.upper95 - c.remaining.lower95) / 2.0))
            }
        }
    }
}

/// "a 24 is sure, a 36 perhaps".
pub(crate) fn surest(c: &CanView) -> String {
    if c.stock.base == Base::Nitrate {
        return "nitrate base: do not wind".to_owned();
    }
    let sure = c.chances.iter().find(|x| SURE <= x.probability);
    let perhaps = c.chances.iter().find(|x| 0.4 <= x.probability);
    match (sure, perhaps) {
        (Some(s), Some(p)) if s.frames < p.frames => {
            format!("{} is sure, {} perhaps", a_roll(s.frames), a_roll(p.frames))
        }
        (Some(s), _) => format!("{} is sure", a_roll(s.frames)),
        (None, Some(p)) => format!("perhaps {}", a_roll(p.frames)),
        (None, None) => "hardly a roll left".to_owned(),
    }
}

fn a_roll(frames: u32) -> String {
    let article = if matches!(frames, 8 | 11 | 18 | 80..=89) {
        "an"
    } else {
        "a"
    };
    format!("{article} {frames}")
}

/// The can's diameters for its drawing.
pub(crate) fn to_draw(c: &CanView) -> drawing::Can {
    let d = c.diameters;
    drawing::Can {
        core_mm: d.core,
        full_mm: d.full,
        mean_mm: d.now.0,
        low_mm: d.now.1,
        high_mm: d.now.2,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn articles_as_spoken() {
        assert_eq!(a_roll(18), "an 18");
        assert_eq!(a_roll(24), "a 24");
    }
}
