//! From a shelf to a model: unknowns in units of their prior sd, windings summed between measurements.
//!
//! Every unknown is `mean + sd · z` with z standard normal before the evidence, so an sd of zero simply means known.
//! Between two measurements only the sums of clicks and rolls per loader matter; they are all that is kept, and a can
//! with 500 windings costs no more than one with five.

use super::{CanInput, Evidence, Shelf, defaults};
use crate::film::Pitch;
use crate::quantity::Estimate;
use std::f64::consts::PI;

/// Position of an unknown among the shared ones.
#[derive(Clone, Copy)]
pub(super) struct Layout {
    pub(super) loaders: usize,
    pub(super) stocks: usize,
    pub(super) packages: usize,
}

impl Layout {
    pub(super) fn click_scale(self, loader: usize) -> usize {
        2 * loader
    }
    pub(super) fn uncounted(self, loader: usize) -> usize {
        2 * loader + 1
    }
    pub(super) fn linear_mass(self, stock: usize) -> usize {
        2 * (self.loaders + stock)
    }
    pub(super) fn thickness(self, stock: usize) -> usize {
        2 * (self.loaders + stock) + 1
    }
    pub(super) fn package(self, package: usize) -> usize {
        2 * (self.loaders + self.stocks) + package
    }
    pub(super) fn len(self) -> usize {
        2 * (self.loaders + self.stocks) + self.packages
    }
}

/// All that the solver needs, and the priors that give its unknowns their units.
pub(super) struct Model {
    pub(super) layout: Layout,
    /// Priors of the shared unknowns: k; u in m; linear mass in g/m; thickness in m; mean tare in g.
    pub(super) shared: Vec<Estimate>,
    /// Can-to-can sd of the tare within each kind, in g.
    pub(super) spreads_g: Vec<f64>,
    pub(super) cans: Vec<Can>,
}

/// Local unknowns of a can come in this order: starting length, tare, then measured draws.
pub(super) const LENGTH: usize = 0;
pub(super) const TARE: usize = 1;
pub(super) const DRAWS: usize = 2;

/// One can: its unknowns, the shared unknowns that it touches, its measurements.
pub(super) struct Can {
    pub(super) pitch: Pitch,
    pub(super) stock: usize,
    pub(super) package: Option<usize>,
    /// Priors of the local unknowns; the tare's mean is relative to its kind's when it has one.
    pub(super) local: Vec<Estimate>,
    /// Shared unknowns used: linear mass, thickness, mean tare (if any), then k and u of each loader.
    pub(super) slots: Vec<usize>,
    /// Position in `slots` of the first loader's k.
    pub(super) first_loader: usize,
    pub(super) loaders: Vec<usize>,
    pub(super) observations: Vec<Observation>,
    /// Drawn by now.
    pub(super) now: Drawn,
    /// The last word on this can is that it is empty.
    pub(super) ended: bool,
    /// Film was wound after the can had been called empty.
    pub(super) wound_after_end: bool,
}

/// What has left a can up to some moment.
#[derive(Clone, Default)]
pub(super) struct Drawn {
    /// Known part of the measured draws, in m.
    pub(super) fixed_m: f64,
    /// How many of the can's unknown measured draws have happened.
    pub(super) draws: usize,
    /// Per loader of the can: length by clicks in m, and rolls.
    pub(super) by_loader: Vec<(f64, f64)>,
}

/// One measurement.
pub(super) struct Observation {
    pub(super) what: What,
    pub(super) value: f64,
    pub(super) sd: f64,
    /// Which of its can's evidence it was; none for the user's own word on the tare.
    pub(super) evidence: Option<usize>,
}

pub(super) enum What {
    /// Closed can, g.
    Weight(Drawn),
    /// Can, bag and core, g.
    Tare,
    /// Outer diameter, m, on this core, m.
    Diameter(Drawn, f64),
    /// Film left, m: zero.
    End(Drawn),
    /// A roll measured end to end, m: loader's place in the can, length by clicks in m.
    Roll(usize, f64),
}

impl Model {
    pub(super) fn new(shelf: &Shelf) -> Self {
        let layout = Layout {
            loaders: shelf.loaders.len(),
            stocks: shelf.stocks.len(),
            packages: shelf.packages.len(),
        };
        let mut shared = Vec::with_capacity(layout.len());
        for loader in &shelf.loaders {
            shared.extend([loader.click_scale, scaled(loader.uncounted_mm, 1e-3)]);
        }
        for stock in &shelf.stocks {
            shared.extend([stock.linear_mass_g_per_m, scaled(stock.thickness_mm, 1e-3)]);
        }
        shared.extend(shelf.packages.iter().map(|package| package.tare_g));
        let cans = shelf
            .cans
            .iter()
            .map(|can| Can::new(shelf, layout, can))
            .collect();
        let spreads_g = shelf
            .packages
            .iter()
            .map(|package| package.spread_g)
            .collect();
        Self {
            layout,
            shared,
            spreads_g,
            cans,
        }
    }
}

fn scaled(e: Estimate, factor: f64) -> Estimate {
    Estimate::new(e.mean * factor, e.sd * factor)
}

impl Can {
    fn new(shelf: &Shelf, layout: Layout, input: &CanInput) -> Self {
        let mut slots = vec![
            layout.linear_mass(input.stock),
            layout.thickness(input.stock),
        ];
        slots.extend(input.package.map(|package| layout.package(package)));
        let tare = match (input.package, input.own_tare_g) {
            (Some(package), _) => Estimate::new(0.0, shelf.packages[package].spread_g),
            (None, Some(own)) => own,
            (None, None) => defaults::TARE_G,
        };
        let mut can = Self {
            pitch: input.pitch,
            stock: input.stock,
            package: input.package,
            local: vec![input.length_m, tare],
            first_loader: slots.len(),
            slots,
            loaders: Vec::new(),
            observations: Vec::new(),
            now: Drawn::default(),
            ended: false,
            wound_after_end: false,
        };
        if let (Some(_), Some(own)) = (input.package, input.own_tare_g) {
            // Both the kind and the user speak: the user's word is one more measurement of the tare.
            can.observe(What::Tare, own.mean, own.sd.max(MIN_OWN_TARE_SD_G), None);
        }
        let click_m = input.pitch.click().to_m();
        let mut pending = Pending::default();
        for (n, evidence) in input.evidence.iter().enumerate() {
            if !matches!(
                evidence,
                Evidence::Wind { .. } | Evidence::WindLength { .. }
            ) {
                can.settle(&mut pending);
            }
            match *evidence {
                Evidence::Wind { loader, clicks } => can.draw(layout, loader, clicks * click_m),
                Evidence::WindLength { mm } => {
                    can.reopen();
                    pending.sum_m += mm.mean * 1e-3;
                    pending.variance_m2 += (mm.sd * 1e-3).powi(2);
                }
                Evidence::Weigh { grams, sd_grams } => {
                    can.observe(What::Weight(can.now.clone()), grams, sd_grams, Some(n));
                }
                Evidence::WeighEmpty { grams, sd_grams } => {
                    can.observe(What::Tare, grams, sd_grams, Some(n))
                }
                Evidence::Gauge {
                    outer_mm,
                    core_mm,
                    sd_mm,
                } => {
                    let what = What::Diameter(can.now.clone(), core_mm * 1e-3);
                    can.observe(what, outer_mm * 1e-3, sd_mm * 1e-3, Some(n));
                }
                Evidence::RanOut { loader, clicks } => {
                    can.draw(layout, loader, clicks * click_m);
                    can.end(defaults::ran_out_sd_m(input.pitch), n);
                }
                Evidence::Empty => can.end(defaults::EMPTY_SD_M, n),
                Evidence::Measured {
                    loader,
                    clicks,
                    length_mm,
                    sd_mm,
                } => {
                    let place = can.place(layout, loader);
                    let what = What::Roll(place, clicks * click_m);
                    can.observe(what, length_mm * 1e-3, sd_mm * 1e-3, Some(n));
                }
            }
        }
        can.settle(&mut pending);
        can
    }

    fn observe(&mut self, what: What, value: f64, sd: f64, evidence: Option<usize>) {
        self.observations.push(Observation {
            what,
            value,
            sd,
            evidence,
        });
    }

    fn end(&mut self, sd_m: f64, n: usize) {
        self.ended = true;
        self.observe(What::End(self.now.clone()), 0.0, sd_m, Some(n));
    }

    fn reopen(&mut self) {
        self.wound_after_end |= self.ended;
        self.ended = false;
    }

    /// Place of a loader in this can, made when it is new.
    fn place(&mut self, layout: Layout, loader: usize) -> usize {
        self.loaders
            .iter()
            .position(|&l| l == loader)
            .unwrap_or_else(|| {
                self.loaders.push(loader);
                self.slots
                    .extend([layout.click_scale(loader), layout.uncounted(loader)]);
                self.loaders.len() - 1
            })
    }

    fn draw(&mut self, layout: Layout, loader: usize, by_clicks_m: f64) {
        self.reopen();
        let place = self.place(layout, loader);
        let by_loader = &mut self.now.by_loader;
        by_loader.resize(by_loader.len().max(place + 1), (0.0, 0.0));
        by_loader[place].0 += by_clicks_m;
        by_loader[place].1 += 1.0;
    }

    /// Turn the measured draws that have piled up into one unknown.
    fn settle(&mut self, pending: &mut Pending) {
        let Pending { sum_m, variance_m2 } = std::mem::take(pending);
        self.now.fixed_m += sum_m;
        if 0.0 < variance_m2 {
            self.local.push(Estimate::new(0.0, variance_m2.sqrt()));
            self.now.draws += 1;
        }
    }

    pub(super) fn columns(&self) -> usize {
        self.local.len() + self.slots.len()
    }
}

/// Film measured off since the last reading, not yet an unknown of the can.
#[derive(Default)]
struct Pending {
    sum_m: f64,
    variance_m2: f64,
}

/// The user's own word on a tare is never trusted beyond this, so that a stated "exactly" cannot break the sums.
const MIN_OWN_TARE_SD_G: f64 = 0.05;

/// The unknowns of one can, in their own units, at one point; gradients are with respect to z.
pub(super) struct View<'a> {
    can: &'a Can,
    shared: &'a [Estimate],
    local: &'a [f64],
    all: &'a [f64],
}

impl<'a> View<'a> {
    /// `local` are this can's z, `all` the z of every shared unknown.
    pub(super) fn new(model: &'a Model, can: &'a Can, local: &'a [f64], all: &'a [f64]) -> Self {
        Self {
            can,
            shared: &model.shared,
            local,
            all,
        }
    }

    fn slot(&self, slot: usize) -> f64 {
        let index = self.can.slots[slot];
        self.shared[index].mean + self.shared[index].sd * self.all[index]
    }

    fn slot_sd(&self, slot: usize) -> f64 {
        self.shared[self.can.slots[slot]].sd
    }

    /// Film left in m, and its gradient added to `row` times `factor`.
    fn left(&self, drawn: &Drawn, factor: f64, row: &mut [f64]) -> f64 {
        let can = self.can;
        let mut left =
            can.local[LENGTH].mean + can.local[LENGTH].sd * self.local[LENGTH] - drawn.fixed_m;
        row[LENGTH] += factor * can.local[LENGTH].sd;
        let draws = DRAWS..DRAWS + drawn.draws;
        for (i, slope) in draws.clone().zip(&mut row[draws]) {
            left -= can.local[i].sd * self.local[i];
            *slope -= factor * can.local[i].sd;
        }
        for (place, &(by_clicks, rolls)) in drawn.by_loader.iter().enumerate() {
            left -= self.roll(place, by_clicks, rolls, -factor, row);
        }
        left
    }

    /// Film that clicks and rolls of one loader draw, and its gradient added to `row` times `factor`.
    fn roll(&self, place: usize, by_clicks: f64, rolls: f64, factor: f64, row: &mut [f64]) -> f64 {
        let (k, u) = (
            self.can.first_loader + 2 * place,
            self.can.first_loader + 2 * place + 1,
        );
        let n = self.can.local.len();
        row[n + k] += factor * by_clicks * self.slot_sd(k);
        row[n + u] += factor * rolls * self.slot_sd(u);
        by_clicks * self.slot(k) + rolls * self.slot(u)
    }

    fn tare(&self, row: &mut [f64]) -> f64 {
        let own = self.can.local[TARE];
        row[TARE] += own.sd;
        let mut tare = own.mean + own.sd * self.local[TARE];
        if self.can.package.is_some() {
            tare += self.slot(2);
            row[self.can.local.len() + 2] += self.slot_sd(2);
        }
        tare
    }

    /// What a measurement should read, and its gradient written to `row`.
    pub(super) fn predict(&self, what: &What, row: &mut [f64]) -> f64 {
        row.fill(0.0);
        let n = self.can.local.len();
        match what {
            What::Tare => self.tare(row),
            What::Weight(drawn) => {
                let linear_mass = self.slot(0);
                let left = self.left(drawn, linear_mass, row);
                row[n] += left * self.slot_sd(0);
                self.tare(row) + linear_mass * left
            }
            What::Diameter(drawn, core) => {
                // D² = d² + 4Lt/π; far below zero film (a contradiction) the diameter stops shrinking.
                let thickness = self.slot(1);
                let left = self.left(drawn, 1.0, row);
                let square = (core * core + 4.0 * left * thickness / PI).max(0.25 * core * core);
                let diameter = square.sqrt();
                let per_product = 2.0 / (PI * diameter);
                row.iter_mut().for_each(|g| *g *= per_product * thickness);
                row[n + 1] += per_product * left * self.slot_sd(1);
                diameter
            }
            What::End(drawn) => self.left(drawn, 1.0, row),
            What::Roll(place, by_clicks) => self.roll(*place, *by_clicks, 1.0, 1.0, row),
        }
    }
}
