//! The geometry of a plot: which numbers an axis covers, where its ticks stand, and where a value lies on the paper.
//!
//! Plain sums over plain numbers, for any plot; what is plotted is the caller's affair. `grid` draws the axes.

use crate::drawing::{Anchor, Face, Ink, Pen, Point, Rect, Stroke};
use crate::fit::pt;
use crate::input;

/// The numbers that an axis covers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    /// Number at the left or lower end.
    pub min: f64,
    /// Number at the right or upper end; above `min`.
    pub max: f64,
}

/// Round numbers along an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Ticks {
    /// The numbers, rising.
    pub values: Vec<f64>,
    /// Decimals they need.
    pub decimals: usize,
}

impl Axis {
    /// An axis over all finite `values` with `margin` of their span left free at either end; none without a value.
    pub fn around(values: impl IntoIterator<Item = f64>, margin: f64) -> Option<Self> {
        let (min, max) = values
            .into_iter()
            .filter(|v| v.is_finite())
            .fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)));
        if min > max {
            return None;
        }
        // A single value still needs a span to stand in.
        let span = (max - min).max(1e-3 * max.abs()).max(1e-6);
        let extra = (span - (max - min)) / 2.0 + margin * span;
        Some(Self {
            min: min - extra,
            max: max + extra,
        })
    }

    /// Length in its own numbers.
    pub fn span(&self) -> f64 {
        self.max - self.min
    }

    /// Where a number lies: 0 at the lower end, 1 at the upper.
    pub fn share(&self, value: f64) -> f64 {
        (value - self.min) / self.span()
    }

    /// The same axis about its middle, as long as this.
    fn widened(self, span: f64) -> Self {
        let extra = (span - self.span()) / 2.0;
        Self {
            min: self.min - extra,
            max: self.max + extra,
        }
    }

    /// At most `most` ticks at 1, 2 or 5 times a power of ten.
    pub fn ticks(&self, most: usize) -> Ticks {
        let rough = self.span() / most.max(1) as f64;
        let power = rough.log10().floor();
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|s| s * 10f64.powf(power))
            .find(|s| *s >= rough * (1.0 - 1e-9))
            .unwrap_or(rough);
        let decimals = (-(step * (1.0 + 1e-9)).log10().floor()).max(0.0) as usize;
        let first = (self.min / step - 1e-9).ceil();
        let count = ((self.max / step + 1e-9).floor() - first).max(-1.0) as usize + 1;
        Ticks {
            values: (0..count.min(most + 1))
                .map(|i| (first + i as f64) * step)
                .collect(),
            decimals,
        }
    }
}

/// Two axes on a piece of paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plot {
    /// Where it stands.
    pub area: Rect,
    /// From left to right.
    pub x: Axis,
    /// From bottom to top.
    pub y: Axis,
}

impl Plot {
    /// The same plot with one length for one unit on both axes: a slope of 1 is drawn at 45°. The axis with too much
    /// room covers more numbers: x at both ends, y at its upper end.
    #[must_use]
    pub fn with_equal_scales(mut self) -> Self {
        let unit = (self.area.w / self.x.span()).min(self.area.h / self.y.span());
        self.x = self.x.widened(self.area.w / unit);
        self.y.max = self.y.min + self.area.h / unit;
        self
    }

    /// Where a pair of numbers lies on the paper.
    pub fn at(&self, x: f64, y: f64) -> Point {
        (
            self.area.x + self.x.share(x) * self.area.w,
            self.area.bottom() - self.y.share(y) * self.area.h,
        )
    }

    /// Where a pair of numbers lies, or the nearest place on the plot's edge.
    pub fn kept(&self, x: f64, y: f64) -> Point {
        let (x, y) = self.at(x, y);
        (
            x.clamp(self.area.x, self.area.right()),
            y.clamp(self.area.y, self.area.bottom()),
        )
    }

    /// Whether a pair of numbers lies on the plot.
    pub fn holds(&self, x: f64, y: f64) -> bool {
        (-1e-9..=1.0 + 1e-9).contains(&self.x.share(x))
            && (-1e-9..=1.0 + 1e-9).contains(&self.y.share(y))
    }

    /// The outline between an upper and a lower curve through the same x.
    pub fn band(&self, points: impl IntoIterator<Item = (f64, f64, f64)>) -> Vec<Point> {
        let points: Vec<(f64, f64, f64)> = points.into_iter().collect();
        let upper = points.iter().map(|&(x, _, upper)| self.kept(x, upper));
        let lower = points
            .iter()
            .rev()
            .map(|&(x, lower, _)| self.kept(x, lower));
        upper.chain(lower).collect()
    }
}

/// Puts labels that want these heights, given in any order, at least `pitch` apart within `from..=to`.
pub fn apart(wanted: &[f64], pitch: f64, from: f64, to: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|&a, &b| wanted[a].total_cmp(&wanted[b]));
    let pitch = pitch.min((to - from) / wanted.len().saturating_sub(1).max(1) as f64);
    let mut placed = vec![0.0; wanted.len()];
    let mut least = from;
    for &i in &order {
        placed[i] = wanted[i].max(least);
        least = placed[i] + pitch;
    }
    let mut most = to;
    for &i in order.iter().rev() {
        placed[i] = placed[i].min(most);
        most = placed[i] - pitch;
    }
    placed
}

/// Draws the grid, the frame and the numbers; `x_name` stands under the x axis, `y_name` above the y axis.
pub(crate) fn grid(pen: &mut Pen<'_>, plot: &Plot, x_name: &str, y_name: &str) {
    let area = plot.area;
    let (xs, ys) = (
        plot.x.ticks((area.w / 13.0) as usize),
        plot.y.ticks((area.h / 11.0) as usize),
    );
    let hair = Stroke {
        ink: Ink::Pale,
        width: 0.1,
        dash: None,
    };
    let across = ys.values.iter().map(|&v| {
        let y = plot.at(plot.x.min, v).1;
        [(area.x, y), (area.right(), y)]
    });
    let up = xs.values.iter().map(|&v| {
        let x = plot.at(v, plot.y.min).0;
        [(x, area.y), (x, area.bottom())]
    });
    pen.lines(across.chain(up).collect(), hair);
    pen.frame(area, Ink::Black, 0.2);
    let size = pt(7.0);
    for &v in &xs.values {
        let at = (plot.at(v, plot.y.min).0, area.bottom() + 3.3);
        let text = input::fixed(v, xs.decimals);
        pen.text(at, Anchor::Middle, &text, Face::Mono, size, Ink::Black);
    }
    for &v in &ys.values {
        let at = (area.x - 1.2, plot.at(plot.x.min, v).1 + 0.9);
        let text = input::fixed(v, ys.decimals);
        pen.text(at, Anchor::End, &text, Face::Mono, size, Ink::Black);
    }
    let name = pt(8.0);
    pen.text(
        (area.x + area.w / 2.0, area.bottom() + 7.0),
        Anchor::Middle,
        x_name,
        Face::Italic,
        name,
        Ink::Black,
    );
    pen.text(
        (area.x - 6.0, area.y - 4.8),
        Anchor::Start,
        y_name,
        Face::Italic,
        name,
        Ink::Black,
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_lie_within() {
        let axis = Axis {
            min: -2.95,
            max: 0.05,
        };
        let ticks = axis.ticks(7);
        assert_eq!(ticks.values, [-2.5, -2.0, -1.5, -1.0, -0.5, 0.0]);
        assert_eq!(ticks.decimals, 1);
        for (min, max) in [
            (0.0, 1.0),
            (3.2, 3.3),
            (-1e6, 2e6),
            (4.99, 12.01),
            (7.0, 7.001),
        ] {
            for most in 1..12 {
                let ticks = Axis { min, max }.ticks(most);
                assert!(ticks.values.len() <= most + 1, "{min} {max} {most}");
                assert!(
                    ticks
                        .values
                        .iter()
                        .all(|v| (min - 1e-6..=max + 1e-6).contains(v))
                );
            }
        }
    }

    #[test]
    fn equal_scales_draw_a_slope_of_one_at_45_degrees() {
        let plot = Plot {
            area: Rect::new(10.0, 20.0, 120.0, 80.0),
            x: Axis {
                min: -3.0,
                max: 0.0,
            },
            y: Axis { min: 0.0, max: 2.2 },
        }
        .with_equal_scales();
        let (a, b) = (plot.at(-2.0, 0.5), plot.at(-1.0, 1.5));
        assert!((b.0 - a.0 - (a.1 - b.1)).abs() < 1e-9);
        assert!(plot.holds(-3.0, 0.0) && plot.holds(0.0, 2.2));
        assert!((plot.at(plot.x.max, plot.y.max).0 - 130.0).abs() < 1e-9);
    }

    #[test]
    fn an_axis_over_one_value_or_none() {
        assert!(Axis::around([f64::NAN], 0.1).is_none());
        let axis = Axis::around([8.0], 0.1).unwrap();
        assert!(axis.min < 8.0 && 8.0 < axis.max);
    }

    #[test]
    fn labels_keep_apart_and_within() {
        let placed = apart(&[10.0, 10.1, 9.9, 50.0], 3.0, 5.0, 50.0);
        let mut sorted = placed.clone();
        sorted.sort_by(f64::total_cmp);
        assert!(sorted.windows(2).all(|w| w[1] - w[0] >= 3.0 - 1e-9));
        assert!(placed.iter().all(|p| (5.0..=50.0).contains(p)));
        assert!(placed[2] < placed[0] && placed[0] < placed[1]);
    }
}
