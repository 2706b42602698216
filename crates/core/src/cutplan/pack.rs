//! Packing a given set of rolls of one stock into its cans at least cost.
//!
//! The rolls are interchangeable between wants, so only their number per length matters.

use super::counts::{Counts, Exhausted, FastMap, Fuel};
use super::model::{FILM_SLACK_M, Model, Roll};

/// What is known of one set of rolls.
#[derive(Debug, Clone)]
struct Known {
    /// Cheapest packing found, counts per can in the packer's order.
    best: Option<(f64, Vec<Counts>)>,
    /// Nothing cheaper than this exists, other than `best`.
    searched: f64,
}

/// Packs rolls into the cans of one stock.
#[derive(Debug)]
pub(super) struct Packer<'a> {
    model: &'a Model,
    /// Cheapest first.
    cans: &'a [usize],
    room_after: Vec<f64>,
    known: FastMap<Counts, Known>,
}

struct Task<'t> {
    best: f64,
    filling: Vec<Counts>,
    found: Option<Vec<Counts>>,
    fuel: &'t mut Fuel,
}

impl<'a> Packer<'a> {
    /// A packer for `cans`, cheapest first.
    pub(super) fn new(model: &'a Model, cans: &'a [usize]) -> Self {
        let mut room_after = vec![0.0; cans.len() + 1];
        for j in (0..cans.len()).rev() {
            room_after[j] = room_after[j + 1] + model.cans[cans[j]].budget_m + FILM_SLACK_M;
        }
        Self {
            model,
            cans,
            room_after,
            known: FastMap::default(),
        }
    }

    /// Film in all the cans.
    pub(super) fn room_m(&self) -> f64 {
        self.room_after[0]
    }

    /// Film these rolls draw.
    pub(super) fn draw_m(&self, rolls: &Counts) -> f64 {
        rolls.dot(self.model.lengths.iter().map(|l| l.draw_m))
    }

    /// Cost of the cheapest packing that costs no more than `allowance`.
    pub(super) fn pack(
        &mut self,
        rolls: &Counts,
        allowance: f64,
        fuel: &mut Fuel,
    ) -> Result<Option<f64>, Exhausted> {
        if let Some(known) = self.known.get(rolls) {
            if let Some((cost, _)) = known.best {
                return Ok((cost <= allowance).then_some(cost));
            }
            if allowance <= known.searched {
                return Ok(None);
            }
        }
        let draw = self.draw_m(rolls);
        if allowance < self.at_least(0, draw) {
            return Ok(None);
        }
        let mut task = Task {
            best: allowance + 1e-12 * allowance.abs(),
            filling: vec![Counts::NONE; self.cans.len()],
            found: None,
            fuel,
        };
        self.place(0, rolls, draw, 0.0, &mut task)?;
        let best = task.found.map(|f| (task.best, f));
        let cost = best.as_ref().map(|b| b.0);
        self.known.insert(
            *rolls,
            Known {
                best,
                searched: allowance,
            },
        );
        Ok(cost.filter(|c| *c <= allowance))
    }

    /// The packing found before for these rolls: counts per can.
    pub(super) fn found(&self, rolls: &Counts) -> Option<&[Counts]> {
        self.known.get(rolls)?.best.as_ref().map(|b| b.1.as_slice())
    }

    /// Least cost of drawing `draw` metres from can `j` and those after it.
    fn at_least(&self, j: usize, mut draw: f64) -> f64 {
        if self.room_after[j] < draw {
            return f64::INFINITY;
        }
        let mut cost = 0.0;
        for &i in &self.cans[j..] {
            let can = &self.model.cans[i];
            let part = draw.min(can.budget_m);
            cost += part * can.price_per_m;
            draw -= part;
            if draw <= 0.0 {
                break;
            }
        }
        cost
    }

    fn cost(&self, j: usize, drawn: f64) -> f64 {
        self.model.can_cost(self.cans[j], drawn)
    }

    fn place(
        &self,
        j: usize,
        left: &Counts,
        draw: f64,
        cost: f64,
        task: &mut Task,
    ) -> Result<(), Exhausted> {
        task.fuel.burn(1)?;
        if draw <= FILM_SLACK_M {
            if cost < task.best {
                task.best = cost;
                task.found = Some(task.filling.clone());
            }
            return Ok(());
        }
        if j == self.cans.len() {
            return Ok(());
        }
        let room = self.model.cans[self.cans[j]].budget_m + FILM_SLACK_M;
        if j + 1 == self.cans.len() {
            let total = cost + self.cost(j, draw);
            if draw <= room && total < task.best {
                task.best = total;
                task.filling[j] = *left;
                task.found = Some(task.filling.clone());
                task.filling[j] = Counts::NONE;
            }
            return Ok(());
        }
        self.fill(j, 0, left, draw, draw, 0.0, cost, task)?;
        task.filling[j] = Counts::NONE;
        Ok(())
    }

    /// Choose how many of length `a` and the shorter ones go into can `j`: `used` is in it already,
    /// `ahead` is the film of the rolls still to be decided.
    #[allow(clippy::too_many_arguments)]
    fn fill(
        &self,
        j: usize,
        a: usize,
        left: &Counts,
        draw: f64,
        ahead: f64,
        used: f64,
        cost: f64,
        task: &mut Task,
    ) -> Result<(), Exhausted> {
        task.fuel.burn(1)?;
        let room = self.model.cans[self.cans[j]].budget_m + FILM_SLACK_M;
        let most = room.min(used + ahead);
        let film = most * self.model.cans[self.cans[j]].price_per_m;
        if task.best <= cost + film + self.at_least(j + 1, (draw - most - FILM_SLACK_M).max(0.0)) {
            return Ok(());
        }
        let Some(length) = self.model.lengths.get(a) else {
            let rest = draw - used;
            let total = cost + self.cost(j, used);
            if total + self.at_least(j + 1, (rest - FILM_SLACK_M).max(0.0)) < task.best {
                return self.place(j + 1, left, rest, total, task);
            }
            return Ok(());
        };
        let n = left.0[a];
        if n == 0 {
            return self.fill(j, a + 1, left, draw, ahead, used, cost, task);
        }
        let fit = ((room - used) / length.draw_m)
            .floor()
            .clamp(0.0, f64::from(n)) as u8;
        let ahead = ahead - f64::from(n) * length.draw_m;
        for take in (0..=fit).rev() {
            let mut rest = *left;
            rest.0[a] = n - take;
            task.filling[j].0[a] = take;
            self.fill(
                j,
                a + 1,
                &rest,
                draw,
                ahead,
                used + f64::from(take) * length.draw_m,
                cost,
                task,
            )?;
        }
        task.filling[j].0[a] = 0;
        Ok(())
    }
}

/// Rolls of one stock: those of one length go from the cans to the wants in their order; a surplus on either
/// side is left out.
pub(super) fn match_rolls(
    lengths: usize,
    demand: &[(usize, Counts)],
    supply: &[(usize, Counts)],
) -> Vec<Roll> {
    let mut rolls = Vec::new();
    for length in 0..lengths {
        let each = |&(name, counts): &(usize, Counts)| {
            std::iter::repeat_n(name, usize::from(counts.0[length]))
        };
        let wants = demand.iter().flat_map(each);
        let cans = supply.iter().flat_map(each);
        rolls.extend(
            wants
                .zip(cans)
                .map(|(want, can)| Roll { want, can, length }),
        );
    }
    rolls
}
