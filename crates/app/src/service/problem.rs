//! The shelf put as the sum that `core` solves: priors, what each can went through, who shares what.

use spoolwright_core::quantity::{Estimate, Length};
use spoolwright_core::remaining::{self, CanInput, LoaderPrior, StockPrior, defaults};
use spoolwright_core::shelf::{
    Can, CanId, Evidence, EvidenceRecord, Loader, LoaderId, LoaderKind, Stock,
};
use std::collections::HashMap;

/// How far a length wound by crank may be off, as a part of it: hub and thickness are rarely measured.
const CRANK_SHARE: f64 = 0.03;

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
                    click_scale: l.click_scale.unwrap_or(defaults::CLICK_SCALE),
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
                            .map(|r| {
                                heard(
                                    r.evidence,
                                    loaders,
                                    &loader_index,
                                    stocks[stock].pitch.click(),
                                )
                            })
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
    loaders: &[Loader],
    index: &HashMap<LoaderId, usize>,
    click: Length,
) -> remaining::Evidence {
    use remaining::Evidence as E;
    let number = |loader: Option<LoaderId>| {
        loader
            .and_then(|id| index.get(&id).copied())
            .unwrap_or(loaders.len())
    };
    match evidence {
        Evidence::Wound { loader, clicks } => {
            let i = number(loader);
            match loaders.get(i).map(|l| l.kind) {
                Some(LoaderKind::Crank { .. }) => {
                    let wound = (click * clicks).to_mm();
                    let u = defaults::UNCOUNTED_MM;
                    E::WindLength {
                        mm: Estimate::new(wound + u.mean, (wound * CRANK_SHARE).hypot(u.sd)),
                    }
                }
                _ => E::Wind { loader: i, clicks },
            }
        }
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
