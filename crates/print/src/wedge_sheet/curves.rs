//! The two plots: density against log exposure, and contrast against developing time.

use spoolwright_core::wedge::{AtTarget, Interval, Measure, SpeedKind, StripResult, TimeContrast};

use super::ResultSheet;
use crate::drawing::{Anchor, Face, Ink, Pen, Rect, Stroke};
use crate::fit::{self, pt};
use crate::input;
use crate::plot::{self, Axis, Plot};

/// From the standard deviation of a reading to the half of its 95 % interval.
const NORMAL_95: f64 = 1.96;
/// The ISO triangle ([S2]).
const TRIANGLE: (f64, f64) = (1.30, 0.80);
/// Radii of the arcs of the contrast index ([S13]).
const ARCS: [f64; 2] = [0.2, 2.2];
/// One stop in log10 exposure.
const STOP: f64 = std::f64::consts::LOG10_2;

const fn stroke(ink: Ink, width: f64) -> Stroke {
    Stroke {
        ink,
        width,
        dash: None,
    }
}

pub(super) fn legend(r: &ResultSheet) -> Vec<&'static str> {
    let mut lines = vec![
        "Dots: readings with 95 % bars. Grey: 95 % band of each curve. Diamonds: speed points with their 95 %.",
    ];
    if index_strip(r).is_some() {
        lines.push(
            "Dashed: the arcs of the contrast index, of 0.2 and 2.2 about a point of the base + fog line, and the chord \
             between them, at the strip that comes nearest to the target. Both axes have one scale.",
        );
    } else if triangle_strip(r).is_some() {
        lines.push(
            "Dashed: the ISO triangle, from 0.10 over base + fog 1.30 log H across and 0.80 density up, at the strip \
             that comes nearest to it. Both axes have one scale.",
        );
    }
    lines
}

/// Density against log exposure, every strip.
pub(super) fn family(pen: &mut Pen<'_>, r: &ResultSheet, area: Rect) {
    let strips = || r.layers.iter().flat_map(|l| &l.strips);
    let points = || strips().flat_map(|s| &s.points);
    let curve = || strips().flat_map(|s| &s.curve);
    let speed_points = strips().filter_map(|s| s.log_h_speed_point.map(|i| i.value));
    let arcs = index_strip(r).and_then(Arcs::of);
    let corner = match arcs {
        Some(_) => None,
        None => triangle_strip(r).and_then(corner),
    };
    let xs = points()
        .map(|p| p.log_h)
        .chain(curve().map(|p| p.x))
        .chain(speed_points)
        .chain(corner.map(|c| c.0 + TRIANGLE.0))
        .chain(arcs.map(|a| a.centre.0));
    let ys = points()
        .map(|p| p.density)
        .chain(curve().map(|p| p.y.value))
        .chain([0.0])
        .chain(corner.map(|c| c.1 + TRIANGLE.1));
    let (Some(x), Some(y)) = (Axis::around(xs, 0.02), Axis::around(ys, 0.0)) else {
        return;
    };
    let y = Axis {
        max: y.max + 0.04 * y.span(),
        ..y
    };
    // No wider than the exposures need at one scale for both axes.
    let w = area.w.min(area.h / y.span() * x.span());
    let plot = Plot {
        area: Rect { w, ..area },
        x,
        y,
    }
    .with_equal_scales();
    let x_name = match r.speed_kind {
        SpeedKind::Speed => "log10 exposure, lux-seconds",
        SpeedKind::ExposureIndex => "log10 exposure from the meter reading",
        SpeedKind::Relative => "log10 exposure, relative",
    };
    for strip in strips() {
        let band = plot.band(strip.curve.iter().map(|p| (p.x, p.y.lower95, p.y.upper95)));
        pen.polygon(&band, Some(Ink::Wash), None);
    }
    plot::grid(pen, &plot, x_name, "density");
    if r.speed_kind == SpeedKind::ExposureIndex {
        stops(pen, &plot);
    }
    if let Some(corner) = corner {
        triangle(pen, &plot, corner);
    }
    if let Some(arcs) = arcs {
        arcs.draw(pen, &plot);
    }
    for (n, layer) in r.layers.iter().enumerate() {
        for strip in &layer.strips {
            one_strip(pen, &plot, strip, [None, Some(1.6), Some(0.7)][n.min(2)]);
        }
    }
    names(pen, &plot, r);
}

fn one_strip(pen: &mut Pen<'_>, plot: &Plot, strip: &StripResult, dash: Option<f64>) {
    let line: Vec<_> = strip
        .curve
        .iter()
        .filter(|p| plot.holds(p.x, p.y.value))
        .map(|p| plot.at(p.x, p.y.value))
        .collect();
    if line.len() > 1 {
        pen.line(
            &line,
            Stroke {
                dash,
                ..stroke(Ink::Black, 0.3)
            },
        );
    }
    let bars = strip.points.iter().map(|p| {
        let half = NORMAL_95 * p.sd;
        [
            plot.kept(p.log_h, p.density - half),
            plot.kept(p.log_h, p.density + half),
        ]
    });
    pen.lines(bars.collect(), stroke(Ink::Black, 0.15));
    for p in strip
        .points
        .iter()
        .filter(|p| plot.holds(p.log_h, p.density))
    {
        reading(pen, plot.at(p.log_h, p.density));
    }
    if let Some(m) = strip.log_h_speed_point {
        let density = strip.on_curve(m.value);
        if let Some(density) = density.filter(|d| plot.holds(m.value, *d)) {
            let (from, to) = (plot.kept(m.lower95, density), plot.kept(m.upper95, density));
            pen.line(&[from, to], stroke(Ink::Accent, 0.4));
            found_at(pen, plot.at(m.value, density));
        }
    }
}

/// A reading: a dot, as on the page.
fn reading(pen: &mut Pen<'_>, at: (f64, f64)) {
    pen.circle(at, 0.6, Some(Ink::Black), None);
}

/// What was found on a curve: an open diamond, as on the page.
fn found_at(pen: &mut Pen<'_>, (x, y): (f64, f64)) {
    let r = 1.15;
    pen.polygon(
        &[(x - r, y), (x, y - r), (x + r, y), (x, y + r)],
        Some(Ink::Paper),
        Some(stroke(Ink::Accent, 0.35)),
    );
}

/// Whole stops from the meter reading along the upper edge.
fn stops(pen: &mut Pen<'_>, plot: &Plot) {
    let axis = Axis {
        min: plot.x.min / STOP,
        max: plot.x.max / STOP,
    };
    for stop in axis.ticks((plot.area.w / 7.0) as usize).values {
        if stop.fract() != 0.0 {
            continue;
        }
        let (x, y) = plot.at(stop * STOP, plot.y.max);
        pen.line(&[(x, y), (x, y + 1.2)], stroke(Ink::Black, 0.2));
        let sign = if stop > 0.0 { "+" } else { "" };
        pen.text(
            (x, y - 1.2),
            Anchor::Middle,
            &format!("{sign}{}", input::fixed(stop, 0)),
            Face::Mono,
            pt(6.5),
            Ink::Black,
        );
    }
    pen.text(
        (plot.area.right(), plot.area.y - 4.8),
        Anchor::End,
        "stops from the meter reading",
        Face::Italic,
        pt(8.0),
        Ink::Black,
    );
}

/// The strip whose contrast is nearest to the ISO triangle's.
fn triangle_strip(r: &ResultSheet) -> Option<&StripResult> {
    let [layer] = r.layers.as_slice() else {
        return None;
    };
    let off = |s: &StripResult| s.delta_d_over_1_30.map(|d| (d.value - TRIANGLE.1).abs());
    layer
        .strips
        .iter()
        .filter(|s| corner(s).is_some() && off(s).is_some())
        .min_by(|a, b| {
            off(a)
                .unwrap_or(f64::MAX)
                .total_cmp(&off(b).unwrap_or(f64::MAX))
        })
}

/// Where the triangle stands: the speed point on the curve.
fn corner(strip: &StripResult) -> Option<(f64, f64)> {
    let x = strip.log_h_speed_point?.value;
    Some((x, strip.on_curve(x)?))
}

fn triangle(pen: &mut Pen<'_>, plot: &Plot, (x, y): (f64, f64)) {
    let (right, top) = (x + TRIANGLE.0, y + TRIANGLE.1);
    let dashed = Stroke {
        dash: Some(1.2),
        ..stroke(Ink::Accent, 0.3)
    };
    let (m, corner, n) = (plot.at(x, y), plot.at(right, y), plot.at(right, top));
    pen.line(&[m, corner, n], dashed);
    let size = pt(7.5);
    let under = ((m.0 + corner.0) / 2.0, corner.1 + 3.0);
    pen.text(
        under,
        Anchor::Middle,
        "1.30",
        Face::MonoBold,
        size,
        Ink::Accent,
    );
    let beside = (corner.0 + 1.0, (corner.1 + n.1) / 2.0 + 0.9);
    pen.text(
        beside,
        Anchor::Start,
        "0.80",
        Face::MonoBold,
        size,
        Ink::Accent,
    );
}

/// The strip whose contrast index is nearest to the target's, where that is the measure aimed in.
fn index_strip(r: &ResultSheet) -> Option<&StripResult> {
    let (Some(law), [layer]) = (&r.time_contrast, r.layers.as_slice()) else {
        return None;
    };
    if law.measure != Measure::ContrastIndex {
        return None;
    }
    let wanted = r.at_target.as_ref().map_or(0.0, |a| a.target.value);
    let off = |s: &StripResult| {
        s.contrast_index
            .map_or(f64::MAX, |c| (c.value - wanted).abs())
    };
    let drawn = layer.strips.iter().filter(|s| Arcs::of(s).is_some());
    drawn.min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// The construction of a contrast index: its centre on the base + fog line, and the angle of its chord.
#[derive(Clone, Copy)]
struct Arcs {
    centre: (f64, f64),
    angle: f64,
}

impl Arcs {
    fn of(strip: &StripResult) -> Option<Self> {
        Some(Self {
            centre: (strip.contrast_index_centre?, strip.base_fog.value),
            angle: strip.contrast_index?.value.atan(),
        })
    }

    fn at(&self, radius: f64, angle: f64) -> (f64, f64) {
        (
            self.centre.0 + radius * angle.cos(),
            self.centre.1 + radius * angle.sin(),
        )
    }

    fn draw(&self, pen: &mut Pen<'_>, plot: &Plot) {
        let dashed = Stroke {
            dash: Some(1.2),
            ..stroke(Ink::Accent, 0.3)
        };
        let size = pt(7.5);
        for radius in ARCS {
            // From the base + fog line to a little beyond the chord.
            let reach = (self.angle + 0.12).min(std::f64::consts::FRAC_PI_2);
            let arc: Vec<_> = (0..=40)
                .map(|i| self.at(radius, reach * f64::from(i) / 40.0))
                .filter(|p| plot.holds(p.0, p.1))
                .map(|p| plot.at(p.0, p.1))
                .collect();
            if arc.len() > 1 {
                pen.line(&arc, dashed);
            }
            let foot = self.at(radius, 0.0);
            if plot.holds(foot.0, foot.1) {
                let (x, y) = plot.at(foot.0, foot.1);
                let name = input::fixed(radius, 1);
                let at = (x, y + 3.0);
                pen.text(at, Anchor::Middle, &name, Face::MonoBold, size, Ink::Accent);
            }
        }
        let [inner, outer] = ARCS.map(|radius| self.at(radius, self.angle));
        let chord = [plot.kept(inner.0, inner.1), plot.kept(outer.0, outer.1)];
        pen.line(&chord, dashed);
        let (x, y) = plot.kept(self.centre.0, self.centre.1);
        let arm = 0.9;
        pen.line(&[(x - arm, y), (x + arm, y)], stroke(Ink::Accent, 0.3));
        pen.line(&[(x, y - arm), (x, y + arm)], stroke(Ink::Accent, 0.3));
    }
}

/// Developing times beside the ends of the curves, kept apart.
fn names(pen: &mut Pen<'_>, plot: &Plot, r: &ResultSheet) {
    let area = plot.area;
    let ends: Vec<(String, f64, f64)> = r
        .layers
        .iter()
        .flat_map(|l| l.strips.iter().map(move |s| (l.name.as_str(), s)))
        .filter_map(|(layer, s)| {
            // A colour's first letter tells the layer; nothing in black and white.
            let letter: String = layer.chars().take(1).flat_map(char::to_uppercase).collect();
            let name = format!("{} {letter}", super::strip_time(s.time_min));
            let last = s.curve.last()?;
            let (x, y) = plot.kept(last.x, last.y.value);
            Some((name.trim_end().to_owned(), x, y))
        })
        .collect();
    let wanted: Vec<f64> = ends.iter().map(|e| e.2).collect();
    let placed = plot::apart(&wanted, 3.0, area.y + 1.0, area.bottom());
    let crowded = ends.len() > 24;
    for ((name, x, y), at) in ends.iter().zip(placed) {
        let edge = area.right() + 2.5;
        pen.line(&[(*x, *y), (edge - 0.5, at)], stroke(Ink::Pale, 0.1));
        if crowded {
            continue;
        }
        let (name, size) = fit::line(name, Face::Mono, pt(7.0), pt(5.0), 13.5);
        pen.text(
            (edge, at + 0.8),
            Anchor::Start,
            &name,
            Face::Mono,
            size,
            Ink::Black,
        );
    }
}

/// What a measure of contrast is called.
pub(super) const fn measure_name(measure: Measure) -> &'static str {
    match measure {
        Measure::IsoTriangle => "slope of the ISO triangle, ΔD / 1.30",
        Measure::AverageGradient => "average gradient over 1.5",
        Measure::ContrastIndex => "contrast index",
        Measure::Gamma => "gamma",
    }
}

/// Contrast against developing time, with the target and the time that meets it.
pub(super) fn against_time(
    pen: &mut Pen<'_>,
    law: &TimeContrast,
    at_target: Option<&AtTarget>,
    area: Rect,
) {
    let wanted = at_target.filter(|a| a.target.measure == law.measure);
    let found = wanted.map(|a| (a.time_min, a.target.value));
    let ends = |i: Interval| [i.lower95, i.upper95];
    let xs = law
        .points
        .iter()
        .chain(&law.curve)
        .map(|p| p.x)
        .chain(found.map(|f| f.0.value));
    let ys = law
        .points
        .iter()
        .flat_map(|p| ends(p.y))
        .chain(law.curve.iter().map(|p| p.y.value))
        .chain(found.map(|f| f.1));
    let (Some(x), Some(y)) = (Axis::around(xs, 0.06), Axis::around(ys, 0.08)) else {
        return;
    };
    let plot = Plot { area, x, y };
    let band = plot.band(law.curve.iter().map(|p| (p.x, p.y.lower95, p.y.upper95)));
    pen.polygon(&band, Some(Ink::Wash), None);
    plot::grid(
        pen,
        &plot,
        "developing time, min",
        measure_name(law.measure),
    );
    let line: Vec<_> = law
        .curve
        .iter()
        .map(|p| plot.kept(p.x, p.y.value))
        .collect();
    if line.len() > 1 {
        pen.line(&line, stroke(Ink::Black, 0.3));
    }
    for p in &law.points {
        let bar = [plot.kept(p.x, p.y.lower95), plot.kept(p.x, p.y.upper95)];
        pen.line(&bar, stroke(Ink::Black, 0.15));
        reading(pen, plot.at(p.x, p.y.value));
    }
    let Some((time, contrast)) = found else {
        return;
    };
    let at = plot.at(time.value, contrast);
    let foot = (at.0, area.bottom());
    let dashed = Stroke {
        dash: Some(1.2),
        ..stroke(Ink::Accent, 0.3)
    };
    pen.line(&[(area.x, at.1), at, foot], dashed);
    let (from, to) = (
        plot.kept(time.lower95, contrast),
        plot.kept(time.upper95, contrast),
    );
    pen.line(&[from, to], stroke(Ink::Accent, 0.4));
    found_at(pen, at);
    let size = pt(7.5);
    // The curve rises to the right: below the ring on its right, or above the line on its left, is room.
    let target = format!("target {}", input::fixed(contrast, 2));
    let target_at = if at.0 > area.x + area.w * 0.6 {
        (area.x + 1.0, at.1 - 1.0)
    } else {
        (at.0 + 2.5, (at.1 + 3.6).min(area.bottom() - 5.0))
    };
    pen.text(
        target_at,
        Anchor::Start,
        &target,
        Face::MonoBold,
        size,
        Ink::Accent,
    );
    let time = super::minutes(time.value);
    let (x, anchor) = if at.0 > area.x + area.w * 0.7 {
        (at.0 - 1.0, Anchor::End)
    } else {
        (at.0 + 1.0, Anchor::Start)
    };
    pen.text(
        (x, area.bottom() - 1.2),
        anchor,
        &time,
        Face::MonoBold,
        size,
        Ink::Accent,
    );
}
