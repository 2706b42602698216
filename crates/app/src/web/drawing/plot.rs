//! Axes of a plot: even ticks, the frame to draw in, words along its edges.

use super::n;
use maud::{Markup, html};

/// One axis, from its first tick to its last.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Axis {
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) step: f64,
}

impl Axis {
    /// The axis over these values, with at most so many steps of 1, 2 or 5 times a power of ten.
    pub(super) fn over(values: impl IntoIterator<Item = f64>, most: u32) -> Self {
        let (low, high) = values
            .into_iter()
            .filter(|v| v.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
                (l.min(v), h.max(v))
            });
        let (low, high) = if low <= high { (low, high) } else { (0.0, 1.0) };
        let least = ((high - low) / f64::from(most)).max(1e-6);
        let power = 10_f64.powf(least.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0, 20.0]
            .into_iter()
            .map(|s| s * power)
            .find(|s| (high / s).ceil() - (low / s).floor() <= f64::from(most))
            .unwrap_or(50.0 * power);
        let from = (low / step + 1e-9).floor();
        let to = (high / step - 1e-9).ceil().max(from + 1.0);
        Self {
            low: from * step,
            high: to * step,
            step,
        }
    }

    /// The nearest number that lies on the axis.
    pub(super) fn kept(&self, value: f64) -> f64 {
        value.max(self.low).min(self.high)
    }

    fn ticks(&self) -> impl Iterator<Item = f64> + use<> {
        let (low, step) = (self.low, self.step);
        let count = ((self.high - low) / step).round() as u32;
        (0..=count).map(move |i| low + f64::from(i) * step)
    }

    /// A tick in words, with a true minus sign.
    fn words(&self, value: f64) -> String {
        let digits = (-self.step.log10().floor()).clamp(0.0, 4.0) as usize;
        let zero = value.abs() < self.step / 1e3;
        format!("{:.digits$}", if zero { 0.0 } else { value }).replace('-', "−")
    }
}

/// Two axes and where they lie in the drawing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    pub(super) x: Axis,
    pub(super) y: Axis,
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) width: f64,
    pub(super) height: f64,
}

impl Frame {
    pub(super) fn px(&self, x: f64) -> f64 {
        self.left + (x - self.x.low) / (self.x.high - self.x.low) * self.width
    }

    pub(super) fn py(&self, y: f64) -> f64 {
        self.top + (self.y.high - y) / (self.y.high - self.y.low) * self.height
    }

    pub(super) fn bottom(&self) -> f64 {
        self.top + self.height
    }

    pub(super) fn right(&self) -> f64 {
        self.left + self.width
    }

    /// Grid, ticks and what each axis counts.
    pub(super) fn grid(&self, x_name: &str, y_name: &str) -> Markup {
        html! {
            g class="grid" {
                @for x in self.x.ticks() { path d={ "M" (n(self.px(x))) " " (n(self.top)) "v" (n(self.height)) } {} }
                @for y in self.y.ticks() { path d={ "M" (n(self.left)) " " (n(self.py(y))) "h" (n(self.width)) } {} }
            }
            path class="frame" d={ "M" (n(self.left)) " " (n(self.top)) "v" (n(self.height)) "h" (n(self.width)) } {}
            g class="ticks" {
                @for x in self.x.ticks() {
                    text x=(n(self.px(x))) y=(n(self.bottom() + 16.0)) text-anchor="middle" { (self.x.words(x)) }
                }
                @for y in self.y.ticks() {
                    text x=(n(self.left - 6.0)) y=(n(self.py(y) + 4.5)) text-anchor="end" { (self.y.words(y)) }
                }
            }
            text class="small" x=(n(self.right())) y=(n(self.bottom() + 33.0)) text-anchor="end" { (x_name) }
            text class="small" x="2" y="12" { (y_name) }
        }
    }

    /// A line through points, those that are no numbers left out.
    pub(super) fn line(&self, points: impl IntoIterator<Item = (f64, f64)>) -> String {
        let mut d = String::new();
        for (x, y) in points {
            if x.is_finite() && y.is_finite() {
                d.push(if d.is_empty() { 'M' } else { 'L' });
                d.push_str(&format!("{} {}", n(self.px(x)), n(self.py(y))));
            }
        }
        d
    }

    /// The area between two lines, given as (x, lower, upper).
    pub(super) fn band(&self, points: &[(f64, f64, f64)]) -> String {
        let over = points.iter().map(|p| (p.0, p.2));
        let under = points.iter().rev().map(|p| (p.0, p.1));
        let mut d = self.line(over.chain(under));
        if !d.is_empty() {
            d.push('Z');
        }
        d
    }

    /// An upright error bar with its ends.
    pub(super) fn bar(&self, x: f64, low: f64, high: f64) -> String {
        let (x, top, foot) = (self.px(x), self.py(high), self.py(low));
        let (left, cap) = (n(x - 3.0), "h6");
        format!(
            "M{left} {t}{cap}M{x} {t}V{f}M{left} {f}{cap}",
            t = n(top),
            f = n(foot),
            x = n(x)
        )
    }

    /// A level error bar with its ends.
    pub(super) fn level_bar(&self, y: f64, low: f64, high: f64) -> String {
        let (y, from, to) = (self.py(y), self.px(low), self.px(high));
        let top = n(y - 4.0);
        format!(
            "M{f} {top}v8M{f} {y}H{t}M{t} {top}v8",
            f = n(from),
            t = n(to),
            y = n(y)
        )
    }
}

/// Heights for labels at a line's end: as near to where they want to be as their size allows.
pub(super) fn apart(wanted: &[f64], size: f64, (top, foot): (f64, f64)) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|&a, &b| wanted[a].total_cmp(&wanted[b]));
    let mut at = vec![0.0; wanted.len()];
    let mut free = top;
    for &i in &order {
        at[i] = wanted[i].max(free);
        free = at[i] + size;
    }
    let mut free = foot;
    for &i in order.iter().rev() {
        at[i] = f64::min(at[i], free);
        free = at[i] - size;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_even_and_hold_every_value() {
        for (values, most, want) in [
            (vec![0.2, 1.746], 5, (0.0, 2.0, 0.5)),
            (vec![-2.95, 0.05], 7, (-3.0, 0.5, 0.5)),
            (vec![5.0, 12.0], 5, (4.0, 12.0, 2.0)),
            (vec![f64::NAN], 4, (0.0, 1.0, 0.5)),
        ] {
            let axis = Axis::over(values, most);
            let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
            assert!(
                near(axis.low, want.0) && near(axis.high, want.1) && near(axis.step, want.2),
                "{axis:?}"
            );
        }
    }

    #[test]
    fn ticks_in_words() {
        let axis = Axis::over([-3.0, 0.0], 7);
        let words: Vec<String> = axis.ticks().map(|t| axis.words(t)).collect();
        assert_eq!(
            words,
            ["−3.0", "−2.5", "−2.0", "−1.5", "−1.0", "−0.5", "0.0"]
        );
    }

    #[test]
    fn labels_keep_their_distance_and_stay_inside() {
        let at = apart(&[50.0, 52.0, 99.0, 98.0], 14.0, (10.0, 100.0));
        let mut sorted = at.clone();
        sorted.sort_by(f64::total_cmp);
        assert!(sorted.windows(2).all(|w| w[1] - w[0] >= 14.0 - 1e-9));
        assert!(sorted[0] >= 10.0 && sorted[3] <= 100.0);
        assert!(at[0] < at[1] && at[3] < at[2]);
    }
}
