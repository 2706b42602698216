//! Laws of contrast against developing time, and their fit to strips by weighted least squares [S23].
//!
//! It does not choose among them.

/// One law with its numbers.
#[derive(Debug, Clone, Copy)]
pub(super) enum Law {
    /// Contrast at t = 1 and gain per unit of ln t.
    LogTime(f64, f64),
    /// G∞ and k.
    Growth(f64, f64),
    /// G∞, what is missing of it at t = 0, and k.
    Induction(f64, f64, f64),
}

impl Law {
    pub(super) fn at(self, t: f64) -> f64 {
        match self {
            Self::LogTime(a, m) => a + m * t.ln(),
            Self::Growth(g, k) => g * -(-k * t).exp_m1(),
            Self::Induction(g, lack, k) => g - lack * (-k * t).exp(),
        }
    }

    pub(super) fn rises(self) -> bool {
        match self {
            Self::LogTime(_, gain) => gain > 0.0,
            Self::Growth(limit, _) => limit > 0.0,
            Self::Induction(_, lack, _) => lack > 0.0,
        }
    }

    /// Time for a contrast; infinite where it is never reached, NaN where contrast does not rise.
    pub(super) fn time(self, contrast: f64) -> f64 {
        match self {
            Self::LogTime(_, m) if m <= 0.0 => f64::NAN,
            Self::LogTime(a, m) => ((contrast - a) / m).exp(),
            Self::Growth(g, _) if contrast >= g => f64::INFINITY,
            Self::Growth(g, k) => -(-contrast / g).ln_1p() / k,
            Self::Induction(_, lack, _) if lack <= 0.0 => f64::NAN,
            Self::Induction(g, ..) if contrast >= g => f64::INFINITY,
            Self::Induction(g, lack, k) => (lack / (g - contrast)).ln().max(0.0) / k,
        }
    }
}

/// Weighted squares of what a law misses the strips by.
pub(super) fn misfit(law: Law, times: &[f64], contrasts: &[f64], weights: &[f64]) -> f64 {
    let each = times.iter().zip(contrasts).zip(weights);
    each.map(|((&t, c), w)| w * (c - law.at(t)).powi(2)).sum()
}

/// Weighted straight line against ln t.
pub(super) fn log_time(times: &[f64], contrasts: &[f64], weights: &[f64]) -> Law {
    let (mut w1, mut wx, mut wy, mut wxx, mut wxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for ((t, c), w) in times.iter().zip(contrasts).zip(weights) {
        let x = t.ln();
        w1 += w;
        wx += w * x;
        wy += w * c;
        wxx += w * x * x;
        wxy += w * x * c;
    }
    let m = (w1 * wxy - wx * wy) / (w1 * wxx - wx * wx);
    Law::LogTime((wy - m * wx) / w1, m)
}

/// Weighted growth towards a limit: G∞ follows from k, and k from a search in one dimension.
pub(super) fn growth(times: &[f64], contrasts: &[f64], weights: &[f64]) -> Law {
    let level = |k: f64| {
        let (mut top, mut bottom) = (0.0, 0.0);
        for ((t, c), w) in times.iter().zip(contrasts).zip(weights) {
            let f = -(-k * t).exp_m1();
            top += w * c * f;
            bottom += w * f * f;
        }
        // The misfit, less what does not depend on k.
        (top / bottom, -top * top / bottom)
    };
    let k = best_rate(times, |k| level(k).1);
    Law::Growth(level(k).0, k)
}

/// Weighted growth that sets in late: limit and lack follow from k by weighted least squares.
pub(super) fn induction(times: &[f64], contrasts: &[f64], weights: &[f64]) -> Law {
    let line = |k: f64| {
        let (mut w1, mut wx, mut wy, mut wxx, mut wxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for ((t, c), w) in times.iter().zip(contrasts).zip(weights) {
            let x = (-k * t).exp();
            w1 += w;
            wx += w * x;
            wy += w * c;
            wxx += w * x * x;
            wxy += w * x * c;
        }
        let lack = -(w1 * wxy - wx * wy) / (w1 * wxx - wx * wx);
        Law::Induction((wy + lack * wx) / w1, lack, k)
    };
    line(best_rate(times, |k| {
        misfit(line(k), times, contrasts, weights)
    }))
}

/// Share of the shortest time that [`delayed`] growth waits: developer soaking in, by assumption.
const DELAY: f64 = 0.25;

/// Growth that begins a while after the strip went in: what two strips may follow besides the plain laws.
pub(super) fn delayed(times: &[f64], contrasts: &[f64], weights: &[f64]) -> Law {
    let wait = DELAY * times[0];
    let since: Vec<f64> = times.iter().map(|t| t - wait).collect();
    match growth(&since, contrasts, weights) {
        Law::Growth(limit, k) => Law::Induction(limit, limit * (k * wait).exp(), k),
        other => other,
    }
}

/// The rate that makes a misfit least, by golden section: growth curves of different rates cross the strips of one
/// family in order, so there is one minimum.
fn best_rate(times: &[f64], misfit: impl Fn(f64) -> f64) -> f64 {
    let (slow, fast) = (0.02 / times[times.len() - 1], 12.0 / times[0]);
    let (mut a, mut b) = (slow.ln(), fast.ln());
    let golden = 0.5 * (5f64.sqrt() - 1.0);
    let (mut x, mut y) = (b - golden * (b - a), a + golden * (b - a));
    let (mut at_x, mut at_y) = (misfit(x.exp()), misfit(y.exp()));
    while b - a > 1e-6 {
        if at_x < at_y {
            (b, y, at_y) = (y, x, at_x);
            x = b - golden * (b - a);
            at_x = misfit(x.exp());
        } else {
            (a, x, at_x) = (x, y, at_y);
            y = a + golden * (b - a);
            at_y = misfit(y.exp());
        }
    }
    f64::midpoint(a, b).exp()
}
