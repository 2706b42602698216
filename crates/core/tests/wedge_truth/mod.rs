//! Film of known truth for the tests of the wedge bench: curves in closed form, and their numbers by plain bisection.
//!
//! Nothing here uses the crate's own curves or measures.
#![allow(dead_code, missing_docs, unreachable_pub)]

use spoolwright_core::wedge::{Exposure, Material, Strip, Test};

/// The first exposure of the wedges here: log10 lux-seconds behind nothing.
pub const ZERO: f64 = 0.10;

/// Twenty-one steps of half a stop.
pub fn wedge() -> Vec<f64> {
    (0..21).map(|k| 0.05 + 0.15 * f64::from(k)).collect()
}

/// A shape of film: density over base as a share, by log H.
#[derive(Debug, Clone, Copy)]
pub enum Shape {
    /// Softplus toe of sharpness K, then straight.
    Toe { k: f64 },
    /// Softplus toe and shoulder: K of each and the length of the straight part.
    ToeShoulder { k: f64, k2: f64, length: f64 },
    /// Normal distribution function of this standard deviation, its middle this far above the foot.
    Probit { sd: f64 },
    /// Logistic function of this scale.
    Logistic { scale: f64 },
    /// Two toes of different sharpness, as of two emulsions of different speed.
    TwoToes {
        k: f64,
        k2: f64,
        apart: f64,
        share: f64,
    },
    /// Gompertz curve: a quick toe and a slow shoulder.
    Gompertz { rate: f64 },
}

/// One film: base + fog, gamma (or the slope scale), foot of the toe, shape.
#[derive(Debug, Clone, Copy)]
pub struct Film {
    pub base: f64,
    pub gamma: f64,
    pub foot: f64,
    pub shape: Shape,
}

fn softplus(x: f64) -> f64 {
    if x > 30.0 { x } else { x.exp().ln_1p() }
}

impl Film {
    pub fn density(&self, x: f64) -> f64 {
        let u = x - self.foot;
        let g = self.gamma;
        let rise = match self.shape {
            Shape::Toe { k } => g / k * softplus(k * u),
            Shape::ToeShoulder { k, k2, length } => {
                // Slope g σ(ku) − g σ(k₂(u − length)), which stays positive for k near k₂ and lengths used here.
                g / k * softplus(k * u) - g / k2 * softplus(k2 * (u - length))
            }
            Shape::Probit { sd } => {
                // Steepest slope g at its middle, 2 sd above the foot.
                let top = g * sd * (2.0 * std::f64::consts::PI).sqrt();
                top * 0.5 * statrs::function::erf::erfc(-(u - 2.0 * sd) / (sd * 2f64.sqrt()))
            }
            Shape::Logistic { scale } => {
                4.0 * g * scale / (1.0 + (-(u - 3.0 * scale) / scale).exp())
            }
            Shape::TwoToes {
                k,
                k2,
                apart,
                share,
            } => {
                g * (share / k * softplus(k * u) + (1.0 - share) / k2 * softplus(k2 * (u - apart)))
            }
            Shape::Gompertz { rate } => {
                g * std::f64::consts::E / rate * (-(-(rate * u - 1.0)).exp()).exp()
            }
        };
        self.base + rise
    }

    /// log H of a density, by bisection.
    pub fn reaches(&self, density: f64) -> f64 {
        let (mut low, mut high) = (-8.0, 4.0);
        for _ in 0..80 {
            let m = f64::midpoint(low, high);
            if self.density(m) < density {
                low = m;
            } else {
                high = m;
            }
        }
        f64::midpoint(low, high)
    }

    pub fn speed_point(&self) -> f64 {
        self.reaches(self.base + 0.10)
    }

    pub fn gain(&self, reach: f64) -> f64 {
        let m = self.speed_point();
        self.density(m + reach) - self.density(m)
    }

    /// Steepest mean slope over 0.60 log H between two ends.
    pub fn gamma_within(&self, low: f64, high: f64) -> f64 {
        let steps = 6000;
        (0..=steps)
            .map(|k| low + (high - 0.6 - low) * f64::from(k) / f64::from(steps))
            .map(|x| (self.density(x + 0.6) - self.density(x)) / 0.6)
            .fold(0.0, f64::max)
    }

    /// From the speed point to where the slope beyond the steepest window has fallen to a quarter of its mean there, or
    /// to the upper end.
    pub fn useful_range(&self, low: f64, high: f64) -> f64 {
        let gamma = self.gamma_within(low, high);
        let rise = |x: f64| (self.density(x + 0.6) - self.density(x)) / 0.6;
        let steps = 6000;
        let windows =
            (0..=steps).map(|k| low + (high - 0.6 - low) * f64::from(k) / f64::from(steps));
        let steepest = windows
            .max_by(|a, b| rise(*a).total_cmp(&rise(*b)))
            .unwrap();
        let slope = |x: f64| (self.density(x + 1e-5) - self.density(x - 1e-5)) / 2e-5;
        let mut end = steepest + 0.3;
        while end < high && slope(end) > 0.25 * gamma {
            end += 0.001;
        }
        end.min(high) - self.speed_point()
    }

    /// Contrast index: the centre slides until both arcs' points and it lie on one line.
    pub fn contrast_index(&self) -> f64 {
        // For a centre, where the curve crosses each arc.
        let cross = |c: f64, r: f64| {
            let (mut low, mut high) = (c, c + r);
            for _ in 0..60 {
                let m = f64::midpoint(low, high);
                if (m - c).hypot(self.density(m) - self.base) < r {
                    low = m;
                } else {
                    high = m;
                }
            }
            let x = f64::midpoint(low, high);
            (x, self.density(x) - self.base)
        };
        let bend = |c: f64| {
            let (a, b) = (cross(c, 0.2), cross(c, 2.2));
            a.1 / (a.0 - c) - b.1 / (b.0 - c)
        };
        // With the centre far to the right the inner point is too steep, far to the left too flat.
        let (mut low, mut high) = (self.foot - 0.8, self.foot + 1.0);
        for _ in 0..60 {
            let m = f64::midpoint(low, high);
            if bend(m) < 0.0 {
                low = m;
            } else {
                high = m;
            }
        }
        let c = f64::midpoint(low, high);
        let (a, b) = (cross(c, 0.2), cross(c, 2.2));
        (b.1 - a.1) / (b.0 - a.0)
    }

    /// Where the slope is 0.3 of the mean slope over the next 1.5 log H.
    pub fn fractional(&self) -> f64 {
        let excess = |x: f64| {
            let slope = (self.density(x + 1e-5) - self.density(x - 1e-5)) / 2e-5;
            slope - 0.3 * (self.density(x + 1.5) - self.density(x)) / 1.5
        };
        let mut high = self.speed_point() + 0.3;
        while excess(high) > 0.0 {
            high -= 0.01;
        }
        let (mut low, mut high) = (high, high + 0.01);
        for _ in 0..50 {
            let m = f64::midpoint(low, high);
            if excess(m) < 0.0 {
                low = m;
            } else {
                high = m;
            }
        }
        f64::midpoint(low, high)
    }
}

/// A small source of chance of the tests' own (a linear congruence, summed to near-normal numbers by Box and Muller).
#[derive(Debug)]
pub struct Dice(pub u64);

impl Dice {
    pub fn uniform(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let mut z = self.0 ^ (self.0 >> 33);
        z = z.wrapping_mul(0xff51_afd7_ed55_8ccd);
        z ^= z >> 33;
        ((z >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    pub fn normal(&mut self) -> f64 {
        let (u, v) = (self.uniform(), self.uniform());
        (-2.0 * u.ln()).sqrt() * (2.0 * std::f64::consts::PI * v).cos()
    }

    /// A film of one of the kinds: even kinds inside the parametric smooths, the others outside.
    pub fn film(&mut self, kind: usize) -> Film {
        let shape = match kind % 6 {
            0 => Shape::Toe {
                k: self.between(3.5, 7.0),
            },
            1 => {
                let k = self.between(3.5, 6.0);
                Shape::ToeShoulder {
                    k,
                    k2: k * self.between(0.9, 1.0),
                    length: self.between(1.8, 2.5),
                }
            }
            2 => Shape::Probit {
                sd: self.between(0.6, 0.8),
            },
            3 => Shape::Logistic {
                scale: self.between(0.32, 0.42),
            },
            4 => Shape::TwoToes {
                k: self.between(5.0, 8.0),
                k2: self.between(2.5, 4.0),
                apart: self.between(0.3, 0.6),
                share: self.between(0.4, 0.6),
            },
            _ => Shape::Gompertz {
                rate: self.between(1.0, 1.4),
            },
        };
        Film {
            base: self.between(0.15, 0.35),
            gamma: self.between(0.55, 0.85),
            foot: self.between(-2.3, -2.0),
            shape,
        }
    }

    /// What a densitometer reads.
    pub fn strip(&mut self, film: &Film, time_min: f64, sd: f64, base: bool) -> Strip {
        let density = wedge()
            .iter()
            .map(|d| Some(film.density(ZERO - d) + sd * self.normal()))
            .collect();
        Strip {
            time_min,
            density,
            density_sd: Some(sd),
            base_fog: base.then(|| film.base + sd * self.normal()),
        }
    }
}

/// A test of these strips through the wedge.
pub fn test_of(strips: Vec<Strip>) -> Test {
    Test {
        exposure: Exposure::Absolute {
            log_h_at_zero_density: ZERO,
            wedge_density: wedge(),
        },
        strips,
        base_fog: None,
        material: Material::Negative,
        target: None,
    }
}
