//! The shelf put as the sum that `core` solves: priors, what each can went through, who shares what.

use spoolwright_core::remaining::{self, CanInput, LoaderPrior, StockPrior, defaults};
use spoolwright_core::shelf::{
    Can, CanId, Evidence, EvidenceRecord, Loader, LoaderId, LoaderKind, Stock,
};
use spoolwright_core::ticket::CRANK_SCALE;
use std::collections::HashMap;

pub(super) fn package_key(package: &str) -> Option<String> {
    let key = package.trim().to_lowercase();
    (!key.is_empty()).then_some(key)
}

/// The shelf put as the sum that `core` solves.
pub(super) struct Problem {
    pub(super) shelf: remaining::Shelf,
    pub(super) loader_index: HashMap<LoaderId, usize>,
    pub(super) package_index: HashMap<String, usize>,
}

impl Problem {
    pub(super) fn new(
        stocks: &[Stock],
        loaders: &[Loader],
        cans: &[Can],
        evidence: &[EvidenceRecord],
    ) -> Self {
        let loader_index: HashMap<_, _> =
            loaders.iter().enumerate().map(|(i, l)| (l.id, i)).collect();
        let stock_index: HashMap<_, _> =
            stocks.iter().enumerate().map(|(i, s)| (s.id, i)).collect();
        let mut package_index = HashMap::new();
        for can in cans {
            if let Some(key) = package_key(&can.package) {
                let next = package_index.len();
                package_index.entry(key).or_insert(next);
            }
        }
        let mut of_can: HashMap<CanId, Vec<&EvidenceRecord>> = HashMap::new();
        for record in evidence {
            of_can.entry(record.can).or_default().push(record);
        }
        let usual = defaults::stock();
        let shelf = remaining::Shelf {
            loaders: loaders
                .iter()
                .map(|l| LoaderPrior {
                    // A crank's error is the same on every roll, so it is one unknown of the loader.
                    click_scale: l.click_scale.unwrap_or(match l.kind {
                        LoaderKind::Counter { .. } => defaults::CLICK_SCALE,
                        LoaderKind::Crank { .. } => CRANK_SCALE,
                    }),
                    uncounted_mm: l.uncounted_mm.unwrap_or(defaults::UNCOUNTED_MM),
                })
                // One more, for windings whose loader nobody noted.
                .chain(std::iter::once(defaults::loader()))
                .collect(),
            stocks: stocks
                .iter()
                .map(|s| StockPrior {
                    linear_mass_g_per_m: s.linear_mass_g_per_m.unwrap_or(usual.linear_mass_g_per_m),
                    thickness_mm: s.thickness_mm.unwrap_or(usual.thickness_mm),
                })
                .collect(),
            packages: vec![defaults::package(); package_index.len()],
            cans: cans
                .iter()
                .map(|can| {
                    let stock = stock_index.get(&can.stock).copied().unwrap_or(0);
                    CanInput {
                        stock,
                        package: package_key(&can.package)
                            .and_then(|k| package_index.get(&k).copied()),
                        own_tare_g: can.tare_g,
                        pitch: stocks[stock].pitch,
                        length_m: can.length_m,
                        evidence: of_can
                            .get(&can.id)
                            .into_iter()
                            .flatten()
                            .map(|r| heard(r.evidence, loaders.len(), &loader_index))
                            .collect(),
                    }
                })
                .collect(),
        };
        Self {
            shelf,
            loader_index,
            package_index,
        }
    }
}

/// One piece of evidence as the sum takes it.
fn heard(
    evidence: Evidence,
    unnamed: usize,
    index: &HashMap<LoaderId, usize>,
) -> remaining::Evidence {
    use remaining::Evidence as E;
    let number = |loader: Option<LoaderId>| {
        loader
            .and_then(|id| index.get(&id).copied())
            .unwrap_or(unnamed)
    };
    match evidence {
        Evidence::Wound { loader, clicks } => E::Wind {
            loader: number(loader),
            clicks,
        },
        Evidence::RanOut { loader, clicks } => E::RanOut {
            loader: number(loader),
            clicks,
        },
        Evidence::Taken { length_mm } => E::WindLength { mm: length_mm },
        Evidence::Weighed { grams } => E::Weigh {
            grams: grams.mean,
            sd_grams: grams.sd,
        },
        Evidence::WeighedEmpty { grams } => E::WeighEmpty {
            grams: grams.mean,
            sd_grams: grams.sd,
        },
        Evidence::Measured {
            loader,
            clicks,
            length_mm,
        } => E::Measured {
            loader: number(loader),
            clicks,
            length_mm: length_mm.mean,
            sd_mm: length_mm.sd,
        },
        Evidence::Gauged { outer_mm, core_mm } => E::Gauge {
            outer_mm: outer_mm.mean,
            core_mm,
            sd_mm: outer_mm.sd,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use spoolwright_core::film::Pitch;
    use spoolwright_core::quantity::Estimate;
    use spoolwright_core::shelf::{Base, CanState, EvidenceId, Process, StockId};

    /// Ten rolls on a crank whose hub is 3 % off are all off the same way: the error adds up and does not average out.
    #[test]
    fn a_cranks_error_is_the_same_on_every_roll() {
        let stock = Stock {
            id: StockId(1),
            name: "Slate".into(),
            ei: None,
            process: Process::Negative,
            base: Base::Acetate,
            backing: Default::default(),
            pitch: Pitch::Long,
            thickness_mm: None,
            linear_mass_g_per_m: None,
            ready_wound_price: None,
            note: String::new(),
            closed: false,
        };
        let loader = Loader {
            id: LoaderId(1),
            name: "Crank".into(),
            kind: LoaderKind::Crank { hub_mm: 11.0 },
            leader_clicks: 4,
            tail_clicks: 2,
            click_scale: None,
            uncounted_mm: Some(Estimate::new(95.0, 0.0)),
            note: String::new(),
            closed: false,
        };
        let can = Can {
            id: CanId(1),
            stock: stock.id,
            letters: "SL".into(),
            length_m: Estimate::new(30.48, 0.0),
            package: String::new(),
            tare_g: None,
            core_mm: 31.75,
            loader: Some(loader.id),
            parent: None,
            price: None,
            bought_on: None,
            expires_on: None,
            kept_c: None,
            note: String::new(),
            state: CanState::Open,
        };
        let evidence: Vec<_> = (1..=10)
            .map(|n| EvidenceRecord {
                id: EvidenceId(n),
                can: can.id,
                roll: None,
                at: String::new(),
                evidence: Evidence::Wound {
                    loader: Some(loader.id),
                    clicks: 42.0,
                },
            })
            .collect();
        let problem = Problem::new(&[stock], &[loader], &[can], &evidence);
        let left = remaining::estimate(&problem.shelf).unwrap().uncut_m(0);
        let counted = 10.0 * 42.0 * 0.038;
        assert!((left.mean - (30.48 - counted - 0.95)).abs() < 1e-9);
        assert!((left.sd - 0.03 * counted).abs() < 1e-9, "{left:?}");
    }
}
