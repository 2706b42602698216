//! What must not go into one bath together, and acid before its sulfite: the known pairs of a formula.
//!
//! A short list from memory. That it finds nothing says nothing: what else may not meet stands in the safety sheets.

use crate::caveat::Caveat;
use crate::error::{Error, Kind};

use super::formula::Measure;
use super::salts::Substance;

use Substance as S;

const ACIDS: &[S] = &[
    S::SulfuricAcid,
    S::GlacialAceticAcid,
    S::DiluteAceticAcid,
    S::CitricAcid,
];
/// Salts that are acid enough to free a gas.
const ACID_SALTS: &[S] = &[
    S::SodiumBisulfite,
    S::SodiumMetabisulfite,
    S::PotassiumMetabisulfite,
    S::PotassiumAlum,
];
const SULFITES: &[S] = &[
    S::SodiumSulfiteAnhydrous,
    S::SodiumSulfiteHeptahydrate,
    S::SodiumBisulfite,
    S::SodiumMetabisulfite,
    S::PotassiumMetabisulfite,
];
const THIOSULFATES: &[S] = &[
    S::SodiumThiosulfateAnhydrous,
    S::SodiumThiosulfatePentahydrate,
    S::AmmoniumThiosulfate,
];

/// One of the first with one of the second, and what comes of it.
type Pair = (&'static [S], &'static [S], &'static str);

/// Refused outright.
const DEADLY: &[Pair] = &[
    (
        &[S::PotassiumFerricyanide],
        &[S::SulfuricAcid],
        "hydrogen cyanide, a deadly gas",
    ),
    (&[S::SodiumSulfide], ACIDS, "hydrogen sulfide, a deadly gas"),
    (
        &[S::SodiumSulfide],
        ACID_SALTS,
        "hydrogen sulfide, a deadly gas",
    ),
];

/// Told, and left to whoever has the sheet.
const BAD: &[Pair] = &[
    (
        &[S::PotassiumFerricyanide],
        &[S::GlacialAceticAcid, S::DiluteAceticAcid, S::CitricAcid],
        "hydrogen cyanide, a deadly gas, when it is strong or hot",
    ),
    (
        &[S::AmmoniumThiosulfate],
        &[S::SodiumHydroxide, S::PotassiumHydroxide],
        "ammonia",
    ),
];

fn first<'m>(measures: &'m [Measure], of: &[S]) -> Option<(usize, &'m str)> {
    measures
        .iter()
        .enumerate()
        .find(|(_, m)| m.nearest().is_some_and(|s| of.contains(&s)))
        .map(|(at, m)| (at, m.substance.as_str()))
}

fn met<'m>(
    measures: &'m [Measure],
    pairs: &'static [Pair],
) -> impl Iterator<Item = (&'m str, &'m str, &'static str)> {
    pairs.iter().filter_map(move |(one, other, gas)| {
        let ((_, one), (_, other)) = (first(measures, one)?, first(measures, other)?);
        Some((one, other, *gas))
    })
}

/// Refuses a deadly pair.
pub(super) fn refuse(measures: &[Measure]) -> Result<(), Error> {
    match met(measures, DEADLY).next() {
        None => Ok(()),
        Some((one, other, gas)) => Err(Error::new(
            Kind::Impossible,
            "parts: two that must never meet",
            format!("{one} and {other}, which give off {gas}"),
            "one of them without the other",
            "Look at the formula again, and never mix these two.",
        )),
    }
}

/// What to say of the others.
pub(super) fn caveats(measures: &[Measure]) -> Vec<Caveat> {
    let mut said: Vec<Caveat> = met(measures, BAD)
        .map(|(one, other, gas)| {
            Caveat::new(
                "do_not_mix",
                format!("{one} and {other} together may give off {gas}: look at the formula again, and at both safety sheets."),
            )
        })
        .collect();
    let acids = [ACIDS, &[S::PotassiumAlum]].concat();
    if let (Some(_), Some((acid_at, acid))) =
        (first(measures, THIOSULFATES), first(measures, &acids))
        && first(measures, SULFITES).is_none_or(|(sulfite_at, _)| acid_at < sulfite_at)
    {
        said.push(Caveat::new(
            "acid_before_sulfite",
            format!("{acid} before any sulfite breaks up the thiosulfate: sulfur falls out and sulfur dioxide comes off. Sulfite first, dissolved, then the acid."),
        ));
    }
    said
}
