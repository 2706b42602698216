//! All ways to serve one want from one stock whose price is close to the cheapest.

use super::bound::Serving;
use super::counts::{Counts, Exhausted, Fuel};
use super::model::{Model, Want};

/// One way to serve a want.
#[derive(Debug, Clone)]
pub(super) struct Serve {
    pub(super) rolls: Counts,
    /// Weighted unmet frames.
    pub(super) unmet: u64,
    /// Price above the best of this want.
    pub(super) extra: f64,
}

/// The ways to serve `want` whose price is at most `most`, none with a roll that could be left out.
///
/// Leaving out a roll that is not needed never costs more: the film it frees is at least one shortest roll,
/// so its can is charged for no short end.
pub(super) fn servings(
    model: &Model,
    want: &Want,
    serving: &Serving,
    base: f64,
    most: f64,
    fuel: &mut Fuel,
) -> Result<Vec<Serve>, Exhausted> {
    let mut out = Vec::new();
    let mut walk = Walk {
        model,
        want,
        serving,
        base,
        most,
        fuel,
        out: &mut out,
    };
    walk.go(0, want.frames, 0.0, Counts::NONE)?;
    out.sort_by(|a, b| a.extra.total_cmp(&b.extra).then(a.rolls.cmp(&b.rolls)));
    Ok(out)
}

struct Walk<'w> {
    model: &'w Model,
    want: &'w Want,
    serving: &'w Serving,
    base: f64,
    most: f64,
    fuel: &'w mut Fuel,
    out: &'w mut Vec<Serve>,
}

impl Walk<'_> {
    /// Rolls in falling order of length, so a cover is found when its last and shortest roll is added.
    fn go(&mut self, from: usize, left: u32, price: f64, rolls: Counts) -> Result<(), Exhausted> {
        self.fuel.burn(1)?;
        if left <= self.serving.may_lack {
            let price = price + self.serving.frame_unmet * f64::from(left);
            if price <= self.most {
                let unmet = u64::from(left) * self.want.weight;
                self.out.push(Serve {
                    rolls,
                    unmet,
                    extra: price - self.base,
                });
            }
        }
        if left == 0 {
            return Ok(());
        }
        for a in from..self.model.lengths.len() {
            let next = left.saturating_sub(self.model.lengths[a].frames);
            let price = price + self.serving.roll[a];
            if price + self.serving.best[next as usize] <= self.most {
                let mut rolls = rolls;
                rolls.0[a] = rolls.0[a].checked_add(1).ok_or(Exhausted)?;
                self.go(a, next, price, rolls)?;
            }
        }
        Ok(())
    }
}
