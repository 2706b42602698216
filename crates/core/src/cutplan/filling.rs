//! The best filling of a can at given prices per roll: an integer knapsack in clicks and number of rolls.
//!
//! A set of n rolls with k clicks draws k × click + n × uncounted, so one table over (n, k) serves all the
//! cans of a stock, whatever their price and length.

use super::model::{FILM_SLACK_M, Model};

/// Cells a table may have; longer cans get the fractional knapsack instead, which is still a bound.
const CELLS: usize = 400_000;

/// The table of one stock.
#[derive(Debug, Clone)]
pub(super) struct Filling {
    /// Largest common divisor of the lengths' clicks.
    grain: usize,
    steps: Vec<usize>,
    rolls: usize,
    clicks: usize,
    value: Vec<f64>,
    choice: Vec<u8>,
}

fn gcd(a: usize, b: usize) -> usize {
    if b == 0 { a } else { gcd(b, a % b) }
}

impl Filling {
    /// An empty table for these cans and at most `rolls` rolls in one can.
    pub(super) fn new(model: &Model, cans: &[usize], rolls: u32) -> Self {
        let grain = model
            .lengths
            .iter()
            .fold(0, |g, l| gcd(l.clicks as usize, g))
            .max(1);
        let steps = model
            .lengths
            .iter()
            .map(|l| l.clicks as usize / grain)
            .collect();
        let longest = cans
            .iter()
            .map(|&i| model.cans[i].budget_m)
            .fold(0.0, f64::max);
        let shortest = model.lengths.last().map_or(1.0, |l| l.draw_m);
        let rolls = ((longest / shortest) as usize + 1).min(rolls as usize);
        let most = model
            .lengths
            .first()
            .map_or(0, |l| l.clicks as usize / grain * rolls);
        let clicks = ((longest / (model.click_m * grain as f64)) as usize + 1).min(most);
        let cells = if (rolls + 1) * (clicks + 1) <= CELLS {
            (rolls + 1) * (clicks + 1)
        } else {
            0
        };
        Self {
            grain,
            steps,
            rolls,
            clicks,
            value: vec![f64::NEG_INFINITY; cells],
            choice: vec![0; cells],
        }
    }

    /// Steps it takes to fill the table.
    pub(super) fn work(&self) -> u64 {
        (self.value.len() * (self.steps.len() + 2)) as u64
    }

    /// Fill the table: the dearest set of n rolls with k clicks.
    pub(super) fn fill(&mut self, price: &[f64]) {
        if self.value.is_empty() {
            return;
        }
        let width = self.clicks + 1;
        self.value.fill(f64::NEG_INFINITY);
        self.value[0] = 0.0;
        for n in 1..=self.rolls {
            let (before, now) = self.value.split_at_mut(n * width);
            let before = &before[(n - 1) * width..];
            let choice = &mut self.choice[n * width..(n + 1) * width];
            for (a, &step) in self.steps.iter().enumerate() {
                let Some(reach) = width.checked_sub(step) else {
                    continue;
                };
                let gain = price[a];
                for ((v, c), b) in now[step..width]
                    .iter_mut()
                    .zip(&mut choice[step..])
                    .zip(&before[..reach])
                {
                    let candidate = b + gain;
                    if *v < candidate {
                        *v = candidate;
                        *c = a as u8;
                    }
                }
            }
        }
    }

    /// The lowest cost less prices of a filling of `can` (0 for leaving it alone), its counts and its draw.
    pub(super) fn best(
        &self,
        model: &Model,
        can: usize,
        price: &[f64],
        money: f64,
    ) -> (f64, Vec<f64>, f64) {
        let c = &model.cans[can];
        let per_m = money * c.price_per_m;
        let mut counts = vec![0.0; self.steps.len()];
        if self.value.is_empty() {
            let mut best = (0.0, usize::MAX);
            for (a, l) in model.lengths.iter().enumerate() {
                let v = (per_m * l.draw_m - price[a]) * c.budget_m / l.draw_m;
                if v < best.0 {
                    best = (v, a);
                }
            }
            if best.1 == usize::MAX {
                return (0.0, counts, 0.0);
            }
            counts[best.1] = c.budget_m / model.lengths[best.1].draw_m;
            return (best.0, counts, c.budget_m);
        }
        let charge = model.short_end_price_per_m;
        let grain_m = model.click_m * self.grain as f64;
        let width = self.clicks + 1;
        let mut best = (0.0, 0, 0);
        for n in 1..=self.rolls {
            let uncounted = n as f64 * model.uncounted_m;
            let room = c.budget_m + FILM_SLACK_M - uncounted;
            if room <= 0.0 {
                break;
            }
            let reach = ((room / grain_m) as usize).min(self.clicks);
            let row = &self.value[n * width..n * width + reach + 1];
            for (k, &g) in row.iter().enumerate() {
                let drawn = k as f64 * grain_m + uncounted;
                let mut v = per_m * drawn - g;
                if v < best.0 && charge > 0.0 {
                    v += money * model.short_end(can, drawn);
                }
                if v < best.0 {
                    best = (v, n, k);
                }
            }
        }
        let (v, n, mut k) = best;
        let drawn = k as f64 * grain_m + n as f64 * model.uncounted_m;
        for row in (1..=n).rev() {
            let a = usize::from(self.choice[row * width + k]);
            counts[a] += 1.0;
            k -= self.steps[a];
        }
        (v, counts, drawn)
    }
}
