//! What the strips say: curves, a table of figures with their intervals, which smooth and why.

use super::words;
use crate::service::wedge::Layer;
use crate::web::drawing::{Characteristic, Construction, Reading, Triangle, characteristic};
use crate::web::problem::four_parts;
use maud::{Markup, html};
use spoolwright_core::quantity::Z95;
use spoolwright_core::wedge::record::Channel;
use spoolwright_core::wedge::{
    Analysis, ISO_CONTRAST, Interval, Material, Smooth, SpeedKind, StripResult,
};

/// Run and rise of the standard's triangle, log H and density ([S2]).
const RUN: f64 = 1.30;
const RISE: f64 = ISO_CONTRAST * RUN;

/// The black-and-white family in one plot.
pub(super) fn family(analysis: &Analysis) -> Markup {
    let chosen = nearest_to_iso(&analysis.strips);
    let curves: Vec<Characteristic> = analysis
        .strips
        .iter()
        .enumerate()
        .map(|(i, s)| curve(s, words::label(s.time_min), chosen == Some(i)))
        .collect();
    let drawn = chosen.map_or_else(Construction::default, |i| construction(&analysis.strips[i]));
    html! {
        figure {
            (characteristic("curves", &curves, &drawn, words::log_h(analysis.speed_kind), analysis.speed_kind == SpeedKind::ExposureIndex))
            figcaption {
                "Points as read with their 95 % bars, lines as fitted with their 95 % bands; a diamond is a speed point"
                @if analysis.material == Material::Negative { ", 0.10 over base + fog" } ". "
                @if let Some(i) = chosen {
                    "The triangle is the standard's, 0.80 over 1.30, on the " (words::minutes(analysis.strips[i].time_min)) " strip: a curve that leaves it through its tip has normal contrast."
                }
            }
        }
    }
}

/// Three layers of a colour film, a plot for each developing time.
pub(super) fn layers(all: &[Layer]) -> Markup {
    let read: Vec<(Channel, &Analysis)> = all
        .iter()
        .filter_map(|l| Some((l.channel, l.analysis.as_ref().ok()?)))
        .collect();
    let mut times: Vec<f64> = read
        .iter()
        .flat_map(|(_, a)| a.strips.iter().map(|s| s.time_min))
        .collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    html! {
        @for (k, time) in times.iter().enumerate() {
            @let strips: Vec<_> = read.iter().filter_map(|(c, a)| Some((*c, a.speed_kind, a.strips.iter().find(|s| s.time_min == *time)?))).collect();
            @let curves: Vec<_> = strips.iter().map(|(c, _, s)| curve(s, words::channel(*c).to_owned(), false)).collect();
            @let kind = strips.first().map_or(SpeedKind::Relative, |s| s.1);
            figure {
                h3 { (words::minutes(*time)) }
                (characteristic(&format!("curves-{k}"), &curves, &Construction::default(), words::log_h(kind), kind == SpeedKind::ExposureIndex))
                figcaption { "The three layers, each read in its own light, with 95 % bars and bands." }
            }
        }
        p.soft { "A colour film is developed as its process says, so there is no contrast to aim at here." }
    }
}

fn curve(s: &StripResult, name: String, chosen: bool) -> Characteristic {
    Characteristic {
        name,
        readings: s
            .points
            .iter()
            .map(|p| Reading {
                log_h: p.log_h,
                density: p.density,
                half_width: Z95 * p.sd,
            })
            .collect(),
        line: s
            .curve
            .iter()
            .map(|p| (p.x, p.y.value, p.y.lower95, p.y.upper95))
            .collect(),
        speed_point: s
            .log_h_speed_point
            .and_then(|i| Some((i.value, i.lower95, i.upper95, s.on_curve(i.value)?))),
        chosen,
    }
}

/// The strip whose contrast is nearest to the standard's.
fn nearest_to_iso(strips: &[StripResult]) -> Option<usize> {
    let off = |s: &StripResult| Some((s.delta_d_over_1_30?.value - RISE).abs());
    strips
        .iter()
        .enumerate()
        .filter_map(|(i, s)| Some((i, off(s)?)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(i, _)| i)
}

fn construction(s: &StripResult) -> Construction {
    let speed = s.log_h_speed_point.map(|i| i.value);
    let mut marks = Vec::new();
    let mut mark = |log_h: f64, name| {
        if let Some(density) = s.on_curve(log_h) {
            marks.push((log_h, density, name));
        }
    };
    if let Some(toe) = s.log_h_fractional_gradient {
        mark(toe.value, "toe");
    }
    let last = s.points.iter().map(|p| p.log_h).fold(f64::MIN, f64::max);
    if let (Some(from), Some(range)) = (speed, s.useful_range)
        && from + range.value < last - 0.05
    {
        mark(from + range.value, "shoulder");
    }
    Construction {
        triangle: speed.and_then(|log_h| {
            Some(Triangle {
                log_h,
                density: s.on_curve(log_h)?,
                run: RUN,
                rise: RISE,
            })
        }),
        marks,
    }
}

/// Everything a strip says, a column a strip.
pub(super) fn table(analysis: &Analysis, of: &str) -> Markup {
    let strips = &analysis.strips;
    let row =
        |name: &str, unit: &str, take: &dyn Fn(&StripResult) -> Option<Interval>, digits: usize| {
            html! {
                @if strips.iter().any(|s| take(s).is_some()) {
                    tr {
                        th scope="row" { (name) @if !unit.is_empty() { span.interval { (unit) } } }
                        @for s in strips { td.right { (words::value_or_dash(take(s), digits)) } }
                    }
                }
            }
        };
    html! {
        div.scroll tabindex="0" role="region" aria-label={ "Figures of the strips " (of) } {
            table.figures {
                thead { tr {
                    th scope="col" { "With 95 % interval" }
                    @for s in strips { th.right scope="col" { (words::minutes(s.time_min)) } }
                } }
                tbody {
                    (row("Base + fog", "density", &|s| Some(s.base_fog), 2))
                    (row("Speed point", "log H", &|s| s.log_h_speed_point, 2))
                    (speeds(analysis))
                    (row("ΔD over 1.30", "density", &|s| s.delta_d_over_1_30, 2))
                    (row("Average gradient", "", &|s| s.average_gradient, 2))
                    (row("Contrast index", "", &|s| s.contrast_index, 2))
                    (row("Gamma", "", &|s| s.gamma, 2))
                    (row("Useful range", "log H", &|s| s.useful_range, 2))
                    (row("Highest density", "within the steps", &|s| Some(s.d_max), 2))
                }
            }
        }
    }
}

fn speeds(analysis: &Analysis) -> Markup {
    let strips = &analysis.strips;
    let whole = |i: Interval| words::value(i, words::speed_digits(i.value));
    html! {
        @match analysis.speed_kind {
            SpeedKind::Speed if strips.iter().any(|s| s.speed.is_some()) => tr {
                th scope="row" { "Speed" span.interval { "ISO only where ΔD is 0.80 ± 0.05" } }
                @for s in strips { td.right {
                    @if let Some(r) = s.speed_rounded { b { @if s.iso_condition_met == Some(true) { "ISO " } (words::standard(r)) } " " }
                    @match s.speed { Some(i) => span.interval { (whole(i)) }, None => "—" }
                } }
            },
            SpeedKind::ExposureIndex if strips.iter().any(|s| s.ei.is_some()) => tr {
                th scope="row" { "EI" span.interval { "for your meter and camera" } }
                @for s in strips { td.right {
                    @if let Some(r) = s.ei_rounded { b { (words::standard(r)) } " " }
                    @match s.ei { Some(i) => span.interval { (whole(i)) }, None => "—" }
                } }
            },
            SpeedKind::ExposureIndex if strips.iter().any(|s| s.ei_stops.is_some()) => tr {
                th scope="row" { "EI" span.interval { "from the meter's setting" } }
                @for s in strips { td.right {
                    @match s.ei_stops { Some(i) => { (words::stops(i.value)) span.interval.num { (words::ends(i, 1)) } }, None => "—" }
                } }
            },
            _ => {}
        }
    }
}

/// Which smooth was chosen and why, and what limits the figures.
pub(super) fn model(analysis: &Analysis) -> Markup {
    html! {
        p { (analysis.model.reason) }
        details {
            summary { "How the curves were fitted" }
            div.scroll tabindex="0" role="region" aria-label="Smooths tried" {
                table {
                    thead { tr { th scope="col" { "Smooth" } th.right scope="col" { "Error of prediction, density" } } }
                    tbody {
                        @for score in &analysis.model.scores {
                            tr.sum[score.smooth == analysis.model.smooth] {
                                td { (smooth(score.smooth)) } td.right { (words::number(score.prediction_error, 4)) }
                            }
                        }
                    }
                }
            }
            p.soft { "Error of prediction: each reading foretold from the others (cross-validation), root mean square. One reading scatters about the curve by "
                (words::number(analysis.model.noise_sd, 3)) " (standard deviation of density)." }
        }
        (words::caveats(&analysis.caveats))
        @for s in &analysis.strips {
            @if !s.caveats.is_empty() {
                div.note { @for c in &s.caveats { p { b { (words::minutes(s.time_min)) ": " } (c.text) } } }
            }
        }
    }
}

const fn smooth(s: Smooth) -> &'static str {
    match s {
        Smooth::ToeLine => "toe and straight line",
        Smooth::ToeShoulder => "toe, straight line and shoulder",
        _ => "free bends",
    }
}

/// Why a layer has no curves.
pub(super) fn refused(layer: &Layer) -> Markup {
    html! {
        @if let Err(error) = &layer.analysis {
            @if layer.channel != Channel::Visual { h3 { "Read in " (words::channel(layer.channel)) } }
            (four_parts(error))
        }
    }
}
