//! Characteristic curves: density against log exposure, as read and as fitted, with what is measured on them.

use super::plot::{Axis, Frame, apart};
use super::{n, svg};
use maud::{Markup, html};

/// log10 exposure of one stop.
const STOP: f64 = std::f64::consts::LOG10_2;

/// One step as read.
#[derive(Debug, Clone, Copy)]
pub struct Reading {
    /// log10 exposure.
    pub log_h: f64,
    /// Density.
    pub density: f64,
    /// Half the 95 % interval of the density.
    pub half_width: f64,
}

/// One curve.
#[derive(Debug, Clone)]
pub struct Characteristic {
    /// Its name at the end of the line, such as "8 min".
    pub name: String,
    /// The steps as read.
    pub readings: Vec<Reading>,
    /// The fitted line: log10 exposure, density, lower and upper end of its 95 % band.
    pub line: Vec<(f64, f64, f64, f64)>,
    /// Speed point: log10 exposure with its 95 % interval, and density.
    pub speed_point: Option<(f64, f64, f64, f64)>,
    /// Whether this is the curve that the eye should follow.
    pub chosen: bool,
}

/// What is drawn beside the curves.
#[derive(Debug, Clone, Default)]
pub struct Construction {
    /// Triangle of the standard: corner at the speed point, run in log10 exposure, rise in density.
    pub triangle: Option<Triangle>,
    /// Toe and shoulder: log10 exposure, density, name.
    pub marks: Vec<(f64, f64, &'static str)>,
}

/// A right triangle that stands on the speed point.
#[derive(Debug, Clone, Copy)]
pub struct Triangle {
    /// log10 exposure of its corner.
    pub log_h: f64,
    /// Density of its corner.
    pub density: f64,
    /// Along log10 exposure.
    pub run: f64,
    /// Up in density.
    pub rise: f64,
}

/// The family of curves; `stops` adds an axis in stops above, from log10 exposure 0.
pub fn characteristic(
    id: &str,
    curves: &[Characteristic],
    drawn: &Construction,
    x_name: &str,
    stops: bool,
) -> Markup {
    let xs = curves
        .iter()
        .flat_map(|c| c.readings.iter().map(|r| r.log_h));
    let ys = curves.iter().flat_map(|c| {
        c.readings
            .iter()
            .flat_map(|r| [r.density - r.half_width, r.density + r.half_width])
    });
    // The triangle stands in the picture whole, however flat the curves.
    let tip = drawn
        .triangle
        .map(|t| (t.log_h + t.run, t.density + t.rise));
    let x = Axis::over(xs.chain(tip.map(|t| t.0)), 7);
    let y = Axis::over(ys.chain([0.0]).chain(tip.map(|t| t.1)), 6);
    let (left, top, width) = (34.0, if stops { 40.0 } else { 22.0 }, 272.0);
    // One log exposure is as long as one density, so that slopes look what they are.
    let even = width * (y.high - y.low) / (x.high - x.low);
    let frame = Frame {
        x,
        y,
        left,
        top,
        width,
        height: even.clamp(170.0, 420.0),
    };
    let ends: Vec<f64> = curves
        .iter()
        .map(|c| {
            c.line
                .last()
                .map_or(frame.bottom(), |p| frame.py(p.1) + 4.5)
        })
        .collect();
    let ends = apart(&ends, 14.0, (frame.top + 8.0, frame.bottom()));
    let words: Vec<String> = curves.iter().map(in_words).collect();
    svg(
        id,
        "plot characteristic",
        (360.0, frame.bottom() + 40.0),
        "Density against log exposure",
        &format!("{}.", words.join("; ")),
        html! {
            (frame.grid(x_name, "density"))
            @if stops { (stop_axis(&frame)) }
            @for c in curves { path class="band" d=(frame.band(&c.line.iter().map(|p| (p.0, frame.y.kept(p.2), frame.y.kept(p.3))).collect::<Vec<_>>())) {} }
            @if let Some(t) = drawn.triangle { (triangle(&frame, t)) }
            @for (i, c) in curves.iter().enumerate() {
                g class={ "curve k" (i % 4) @if c.chosen { " chosen" } } {
                    path class="line" d=(frame.line(c.line.iter().map(|p| (p.0, frame.y.kept(p.1))))) {}
                    @for r in &c.readings { (reading(&frame, r)) }
                    text class="name" x=(n(frame.right() + 5.0)) y=(n(ends[i])) { (c.name) }
                }
            }
            @for c in curves { @if let Some(point) = c.speed_point { (speed_point(&frame, point, c.chosen)) } }
            @for (log_h, density, name) in &drawn.marks {
                path class="mark" d={ "M" (n(frame.px(*log_h))) " " (n(frame.py(*density) - 9.0)) "v18" } {}
                text class="mark-name" x=(n(frame.px(*log_h) - 5.0)) y=(n(frame.py(*density) - 10.0)) text-anchor="end" { (name) }
            }
        },
    )
}

fn in_words(c: &Characteristic) -> String {
    let read: Vec<String> = c
        .readings
        .iter()
        .map(|r| format!("{:.2} at {:.2}", r.density, r.log_h))
        .collect();
    let speed = c.speed_point.map_or(String::new(), |p| {
        format!(
            ", speed point at log H {:.2} ({:.2} to {:.2})",
            p.0, p.1, p.2
        )
    });
    format!("{}: density {}{speed}", c.name, read.join(", ")).replace('-', "−")
}

fn reading(frame: &Frame, r: &Reading) -> Markup {
    html! {
        g class="reading" {
            title { (format!("log H {:.2}: {:.3} ± {:.3}", r.log_h, r.density, r.half_width).replace('-', "−")) }
            path d=(frame.bar(r.log_h, r.density - r.half_width, r.density + r.half_width)) {}
            circle cx=(n(frame.px(r.log_h))) cy=(n(frame.py(r.density))) r="2.25" {}
        }
    }
}

/// A diamond; the one that the eye should follow is filled and has its interval.
fn speed_point(
    frame: &Frame,
    (log_h, low, high, density): (f64, f64, f64, f64),
    chosen: bool,
) -> Markup {
    let (x, y) = (frame.px(log_h), frame.py(density));
    html! {
        g class={ "speed-point" @if chosen { " chosen" } } {
            title { (format!("Speed point: log H {log_h:.2}, 95 % between {low:.2} and {high:.2}").replace('-', "−")) }
            @if chosen { path class="doubt" d=(frame.level_bar(density, frame.x.kept(low), frame.x.kept(high))) {} }
            path class="point" d={ "M" (n(x)) " " (n(y - 4.5)) "l4.5 4.5 -4.5 4.5 -4.5 -4.5Z" } {}
        }
    }
}

fn triangle(frame: &Frame, t: Triangle) -> Markup {
    let (x0, x1) = (frame.px(t.log_h), frame.px(t.log_h + t.run));
    let (y0, y1) = (frame.py(t.density), frame.py(t.density + t.rise));
    html! {
        g class="triangle" {
            path d={ "M" (n(x0)) " " (n(y0)) "H" (n(x1)) "V" (n(y1)) "Z" } {}
            text x=(n((x0 + x1) / 2.0)) y=(n(y0 + 13.0)) text-anchor="middle" { (format!("{:.2}", t.run)) }
            text x=(n(x1 + 3.0)) y=(n((y0 + y1) / 2.0 + 4.0)) { (format!("{:.2}", t.rise)) }
        }
    }
}

/// Stops above the plot; every second one is written.
fn stop_axis(frame: &Frame) -> Markup {
    let first = (frame.x.low / STOP).ceil() as i32;
    let last = (frame.x.high / STOP).floor() as i32;
    html! {
        g class="ticks" {
            @for s in (first..=last).filter(|s| s % 2 == 0) {
                @let x = frame.px(f64::from(s) * STOP);
                path class="tick" d={ "M" (n(x)) " " (n(frame.top - 4.0)) "v4" } {}
                text x=(n(x)) y=(n(frame.top - 8.0)) text-anchor="middle" {
                    @match s { 0 => "meter", s => (format!("{s:+}").replace('-', "−")) }
                }
            }
        }
        text class="small" x=(n(frame.right() + 40.0)) y=(n(frame.top - 8.0)) text-anchor="end" { "stops" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn straight(name: &str, slope: f64) -> Characteristic {
        let at = |x: f64| 0.2 + slope * (x + 3.0);
        Characteristic {
            name: name.into(),
            readings: [-3.0, -2.0, -1.0, 0.0]
                .map(|x| Reading {
                    log_h: x,
                    density: at(x),
                    half_width: 0.02,
                })
                .to_vec(),
            line: [-3.0, 0.0]
                .map(|x| (x, at(x), at(x) - 0.02, at(x) + 0.02))
                .to_vec(),
            speed_point: Some((-2.8, -2.85, -2.75, 0.3)),
            chosen: true,
        }
    }

    /// One log exposure is drawn as long as one density: a slope of 0.5 rises half as far as it runs.
    #[test]
    fn slopes_look_what_they_are() {
        let out = characteristic(
            "c",
            &[straight("8 min", 0.5)],
            &Construction::default(),
            "log H",
            false,
        )
        .into_string();
        let d = out.split("class=\"line\" d=\"M").nth(1).unwrap();
        let numbers: Vec<f64> = d
            .split('"')
            .next()
            .unwrap()
            .split(['L', ' '])
            .map(|w| w.parse().unwrap())
            .collect();
        let slope = (numbers[1] - numbers[3]) / (numbers[2] - numbers[0]);
        assert!((slope - 0.5).abs() < 1e-3, "{slope}");
    }

    /// The triangle rises further than flat strips do, and their intervals reach further than the readings.
    #[test]
    fn triangle_band_and_bar_stay_in_the_frame_over_flat_strips() {
        let mut flat = straight("4 min", 0.05);
        flat.line.iter_mut().for_each(|p| (p.2, p.3) = (-5.0, 9.0));
        flat.speed_point = Some((-2.8, -9.0, 9.0, 0.21));
        let drawn = Construction {
            triangle: Some(Triangle {
                log_h: -2.8,
                density: 0.21,
                run: 1.3,
                rise: 0.8,
            }),
            marks: Vec::new(),
        };
        let out = characteristic("c", &[flat], &drawn, "log H", false).into_string();
        let words = |class: &str| -> Vec<String> {
            let from = out.split(class).nth(1).unwrap();
            let d = from
                .split(" d=\"")
                .nth(1)
                .unwrap()
                .split('"')
                .next()
                .unwrap();
            let apart: String = d
                .chars()
                .map(|c| if c.is_ascii_uppercase() { ' ' } else { c })
                .collect();
            apart.split(' ').map(str::to_owned).collect()
        };
        let numbers = |class: &str| -> Vec<f64> {
            words(class).iter().filter_map(|w| w.parse().ok()).collect()
        };
        let triangle = numbers("class=\"triangle\"");
        // Corner, run, rise: the tip lies under the upper edge of the frame, at 22.
        assert!(triangle[3] >= 22.0 && triangle[3] < triangle[1], "{out}");
        let band = numbers("class=\"band\"");
        assert!(
            band.iter().skip(1).step_by(2).all(|y| *y >= 22.0),
            "{band:?}"
        );
        // From the left edge of the frame to its right one, 34 to 306.
        let bar = words("class=\"doubt\"");
        for end in ["34", "306"] {
            assert!(bar.iter().any(|w| w == end), "{bar:?}");
        }
    }

    #[test]
    fn the_triangle_stands_on_the_speed_point_and_all_is_told_in_words() {
        let drawn = Construction {
            triangle: Some(Triangle {
                log_h: -2.8,
                density: 0.3,
                run: 1.3,
                rise: 0.8,
            }),
            marks: vec![(-2.9, 0.25, "toe")],
        };
        let out =
            characteristic("c", &[straight("8 min", 0.5)], &drawn, "log H", true).into_string();
        for words in [
            "1.30",
            "0.80",
            "toe",
            "meter",
            "8 min: density 0.20 at −3.00",
            "speed point at log H −2.80",
        ] {
            assert!(out.contains(words), "{words}: {out}");
        }
        assert!(!out.contains("NaN") && !out.contains("style="));
    }
}
