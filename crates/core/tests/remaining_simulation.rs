//! Simulated photographers: is the 95 % interval honest, and what does one can teach the next?
//!
//! Truth is drawn from the priors; what the photographer writes down has reading noise and rounding (a scale shows
//! whole grams, a gauge tenths of a millimetre, a counter whole clicks). The generator is our own and seeded.
#![allow(clippy::print_stdout)]

use spoolwright_core::film::Pitch;
use spoolwright_core::quantity::{Estimate, Length};
use spoolwright_core::remaining::{
    CanInput, Evidence, LoaderPrior, PackagePrior, Shelf, StockPrior, defaults, estimate,
};
use spoolwright_core::spool;

/// A small generator (splitmix64), enough for drawing photographers.
struct Dice(u64);

impl Dice {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }
    fn normal(&mut self, e: Estimate) -> f64 {
        let (a, b) = (1.0 - self.unit(), self.unit());
        e.mean + e.sd * (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
    fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[(self.unit() * of.len() as f64) as usize]
    }
}

/// What is true of a loader, a stock and a kind of can.
struct World {
    k: f64,
    u_m: f64,
    g_per_m: f64,
    t: Length,
    kind_g: f64,
}

const PACKAGE: PackagePrior = PackagePrior {
    tare_g: Estimate::new(160.0, 20.0),
    spread_g: defaults::PACKAGE_SPREAD_G,
};

impl World {
    fn draw(dice: &mut Dice, loader: LoaderPrior, stock: StockPrior) -> Self {
        Self {
            k: dice.normal(loader.click_scale),
            u_m: dice.normal(loader.uncounted_mm) * 1e-3,
            g_per_m: dice.normal(stock.linear_mass_g_per_m),
            t: Length::mm(dice.normal(stock.thickness_mm)),
            kind_g: dice.normal(PACKAGE.tare_g),
        }
    }

    fn per_click(&self) -> f64 {
        self.k * Pitch::Long.click().to_m()
    }
}

/// One can as it is used, and the record of it.
struct Can {
    left_m: f64,
    tare_g: f64,
    record: CanInput,
}

impl Can {
    fn open(dice: &mut Dice, world: &World, length_m: Estimate) -> Self {
        Self {
            left_m: dice.normal(length_m),
            tare_g: dice.normal(Estimate::new(world.kind_g, PACKAGE.spread_g)),
            record: CanInput {
                stock: 0,
                package: Some(0),
                own_tare_g: None,
                pitch: Pitch::Long,
                length_m,
                evidence: Vec::new(),
            },
        }
    }

    fn note(&mut self, evidence: Evidence) {
        self.record.evidence.push(evidence);
    }

    /// Wind a roll; false when the film ends first. Then the counter has ticked only for whole clicks.
    fn wind(&mut self, world: &World, clicks: f64) -> bool {
        let want = clicks * world.per_click() + world.u_m;
        if want <= self.left_m {
            self.left_m -= want;
            self.note(Evidence::Wind { loader: 0, clicks });
            return true;
        }
        let counted = ((self.left_m - world.u_m) / world.per_click()).floor();
        if 0.0 <= counted {
            self.note(Evidence::RanOut {
                loader: 0,
                clicks: counted,
            });
        } else {
            self.note(Evidence::Empty);
        }
        self.left_m = 0.0;
        false
    }

    fn weigh(&mut self, dice: &mut Dice, world: &World) {
        let grams = dice
            .normal(Estimate::new(
                self.tare_g + world.g_per_m * self.left_m,
                1.0,
            ))
            .round();
        self.note(Evidence::Weigh {
            grams,
            sd_grams: 1.0,
        });
    }

    fn weigh_empty(&mut self, dice: &mut Dice) {
        let grams = dice.normal(Estimate::new(self.tare_g, 1.0)).round();
        self.note(Evidence::WeighEmpty {
            grams,
            sd_grams: 1.0,
        });
    }

    fn gauge(&mut self, dice: &mut Dice, world: &World) {
        let core = Length::mm(defaults::CORE_MM);
        let true_mm = spool::outer_diameter(Length::m(self.left_m), core, world.t)
            .unwrap()
            .to_mm();
        let read = (dice.normal(Estimate::new(true_mm, 0.5)) * 10.0).round() / 10.0;
        self.note(Evidence::Gauge {
            outer_mm: read.max(core.to_mm()),
            core_mm: core.to_mm(),
            sd_mm: 0.5,
        });
    }
}

/// 2,000 photographers with one to four cans each: of all cans that still hold film, the 95 % interval holds the truth
/// in 93–97 % (the goal), and so does each kind of photographer's within what so few can show.
///
/// A can whose film ended in the middle of a roll is reported as empty; it is not counted, but what it taught is used.
#[test]
fn the_interval_is_honest() {
    let mut dice = Dice(20_261_125);
    let (mut inside, mut low, mut high, mut all) = (0u32, 0u32, 0u32, 0u32);
    let mut by_habit = [(0u32, 0u32); 4];
    for photographer in 0..2_000 {
        let habit = photographer % 4; // 0 only winds; 1 weighs; 2 takes diameters; 3 does everything
        let shelf = shelf_of(&mut dice, habit);
        let posterior = estimate(&shelf.0).unwrap();
        for (i, truth) in shelf.1.iter().enumerate() {
            let Some(truth) = *truth else { continue };
            let left = posterior.remaining_m(i);
            assert!(left.lower95 <= left.mean && left.mean <= left.upper95);
            all += 1;
            low += u32::from(truth < left.lower95);
            high += u32::from(left.upper95 < truth);
            let hit = left.lower95 <= truth && truth <= left.upper95;
            inside += u32::from(hit);
            by_habit[habit].0 += u32::from(hit);
            by_habit[habit].1 += 1;
        }
    }
    let coverage = f64::from(inside) / f64::from(all);
    println!(
        "coverage {coverage:.4} of {all} cans; below {low}, above {high}; by habit {by_habit:?}"
    );
    assert!(
        (0.93..=0.97).contains(&coverage),
        "coverage {coverage} of {all}"
    );
    for (habit, (hit, of)) in by_habit.into_iter().enumerate() {
        let part = f64::from(hit) / f64::from(of);
        assert!(
            (0.92..=0.98).contains(&part),
            "habit {habit}: {part} of {of}"
        );
    }
}

/// A photographer's shelf, and for each can the truth if it still holds film.
fn shelf_of(dice: &mut Dice, habit: usize) -> (Shelf, Vec<Option<f64>>) {
    let (loader, stock) = (defaults::loader(), defaults::stock());
    let world = World::draw(dice, loader, stock);
    let (weighs, gauges) = (habit == 1 || habit == 3, habit >= 2);
    let cans = dice.pick(&[1, 1, 2, 3, 4]);
    let mut shelf = Shelf {
        loaders: vec![loader],
        stocks: vec![stock],
        packages: vec![PACKAGE],
        cans: Vec::new(),
    };
    let mut truth = Vec::new();
    for n in 0..cans {
        let length = dice.pick(&[
            Estimate::new(30.48, 0.1524),
            Estimate::new(30.48, 0.1524),
            Estimate::new(17.0, 1.0),
        ]);
        let mut can = Can::open(dice, &world, length);
        let last = n + 1 == cans;
        let until = if last { can.left_m * dice.unit() } else { 0.0 };
        if weighs {
            can.weigh(dice, &world);
        }
        let mut holds = true;
        while holds && until < can.left_m {
            let clicks = dice.pick(&[12.0, 18.0, 24.0, 30.0, 42.0, 42.0, 42.0]);
            holds = can.wind(&world, clicks);
            if holds && weighs && dice.unit() < 0.3 {
                can.weigh(dice, &world);
            }
            if holds && gauges && dice.unit() < 0.15 {
                can.gauge(dice, &world);
            }
        }
        if !holds && habit == 3 {
            can.weigh_empty(dice);
        }
        truth.push(holds.then_some(can.left_m));
        shelf.cans.push(can.record);
    }
    (shelf, truth)
}

/// What a photographer of the learning run does besides counting clicks.
#[derive(Clone, Copy, PartialEq)]
enum Scale {
    Never,
    /// Full, at half, and the parts when empty.
    Thrice,
    /// Before every roll, and the parts when empty.
    EveryRoll,
}

/// Five cans in a row on one loader, each wound to its end: the median half-width of the 95 % interval at half
/// length, in frames, for the first, second, … can. What one can teaches carries over to the next.
///
/// The figures are in tests/reference/remaining/README.md (regression values of our own code). What remains with
/// clicks only is the ± 0.5 % of a new can's label, 7.9 frames; only a scale gets below it.
#[test]
fn one_can_teaches_the_next() {
    let habits = [
        ("clicks only", Scale::Never, 0.65),
        ("weighed thrice", Scale::Thrice, 0.5),
        ("every roll", Scale::EveryRoll, 0.48),
    ];
    let mut thirds = Vec::new();
    for (name, scale, most) in habits {
        let frames = learning(scale);
        let text: Vec<_> = frames.iter().map(|f| format!("{f:.1}")).collect();
        println!(
            "{name}: ± frames at half length, can 1 to 5: {}",
            text.join(" ")
        );
        assert!(frames[2] < most * frames[0], "{name}: {frames:?}");
        assert!(frames.is_sorted_by(|a, b| a > b), "{name}: {frames:?}");
        thirds.push(frames[2]);
    }
    assert!(thirds.is_sorted_by(|a, b| a > b), "{thirds:?}");
}

fn learning(scale: Scale) -> [f64; 5] {
    let mut dice = Dice(7);
    let mut widths: [Vec<f64>; 5] = Default::default();
    for _ in 0..200 {
        let (loader, stock) = (defaults::loader(), defaults::stock());
        let world = World::draw(&mut dice, loader, stock);
        let mut shelf = Shelf {
            loaders: vec![loader],
            stocks: vec![stock],
            packages: vec![PACKAGE],
            cans: Vec::new(),
        };
        for widths in &mut widths {
            let mut can = Can::open(&mut dice, &world, defaults::new_can_length_m(30.48));
            if scale != Scale::Never {
                can.weigh(&mut dice, &world);
            }
            let mut rolls = 0;
            while can.wind(&world, 42.0) {
                rolls += 1;
                if scale == Scale::EveryRoll || (scale == Scale::Thrice && rolls == 9) {
                    can.weigh(&mut dice, &world);
                }
                if rolls == 9 {
                    shelf.cans.push(can.record.clone());
                    let left = estimate(&shelf).unwrap().remaining_m(shelf.cans.len() - 1);
                    widths.push(0.5 * (left.upper95 - left.lower95) / Pitch::Long.click().to_m());
                    shelf.cans.pop();
                }
            }
            if scale != Scale::Never {
                can.weigh_empty(&mut dice);
            }
            shelf.cans.push(can.record);
        }
    }
    widths.map(|mut w| {
        w.sort_by(f64::total_cmp);
        w[w.len() / 2]
    })
}
