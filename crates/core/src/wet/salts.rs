//! Photographic substances by name, and how much of one hydrate does the work of another.
//!
//! A molar mass is the sum of the atoms in a formula, water of crystallisation included. What is converted is one
//! salt with more or less water in it; one salt for another (potassium for sodium) is not a matter of weight alone
//! and is refused. What a substance does to people stands in [`super::cautions`].

use crate::bounds::Bounds;
use crate::error::{Error, Kind};
use crate::words::worded;

/// An amount of a substance, in grams or millilitres.
pub const AMOUNT: Bounds = Bounds {
    what: "an amount",
    unit: "g or ml",
    min: 0.0,
    max: 100_000.0,
};

/// A weight in an old formula.
pub const GRAINS: Bounds = Bounds {
    what: "a weight in grains",
    unit: "grains",
    min: 0.0,
    max: 1_000_000.0,
};
/// Grains in an ounce avoirdupois.
///
/// # Source
/// [D31].
pub const GRAINS_PER_OUNCE: f64 = 437.5;
/// An ounce avoirdupois, g: a sixteenth of the international pound.
const OUNCE_G: f64 = 453.592_37 / 16.0;

/// Abridged standard atomic weights, g/mol.
///
/// # Source
/// [AW1].
mod atom {
    pub(super) const H: f64 = 1.008;
    pub(super) const B: f64 = 10.81;
    pub(super) const C: f64 = 12.011;
    pub(super) const O: f64 = 15.999;
    pub(super) const NA: f64 = 22.990;
    pub(super) const P: f64 = 30.974;
    pub(super) const S: f64 = 32.06;
    pub(super) const K: f64 = 39.098;
}

worded! {
    /// A substance that the trade weighs or measures out; salts with water of crystallisation name their hydrate.
    Substance {
        /// Developing agent.
        #[default]
        Metol = "metol",
        /// Developing agent.
        Hydroquinone = "hydroquinone",
        /// Developing agent.
        PhenylPyrazolidone = "phenyl-pyrazolidone",
        /// Developing agent.
        Pyrogallol = "pyrogallol",
        /// Developing agent.
        Catechol = "catechol",
        /// Developing agent.
        AscorbicAcid = "ascorbic-acid",
        /// Developing agents of colour processes, derivatives of p-phenylenediamine.
        ColourDevelopingAgent = "colour-developing-agent",
        /// Na₂SO₃.
        SodiumSulfiteAnhydrous = "sodium-sulfite-anhydrous",
        /// Na₂SO₃·7H₂O.
        SodiumSulfiteHeptahydrate = "sodium-sulfite-heptahydrate",
        /// Preservative, acid.
        SodiumBisulfite = "sodium-bisulfite",
        /// Preservative, acid.
        SodiumMetabisulfite = "sodium-metabisulfite",
        /// Preservative, acid.
        PotassiumMetabisulfite = "potassium-metabisulfite",
        /// Na₂CO₃.
        SodiumCarbonateAnhydrous = "sodium-carbonate-anhydrous",
        /// Na₂CO₃·H₂O.
        SodiumCarbonateMonohydrate = "sodium-carbonate-monohydrate",
        /// Na₂CO₃·10H₂O.
        SodiumCarbonateDecahydrate = "sodium-carbonate-decahydrate",
        /// K₂CO₃.
        PotassiumCarbonateAnhydrous = "potassium-carbonate-anhydrous",
        /// K₂CO₃·1½H₂O.
        PotassiumCarbonateSesquihydrate = "potassium-carbonate-sesquihydrate",
        /// Na₂B₄O₇.
        BoraxAnhydrous = "borax-anhydrous",
        /// Na₂B₄O₇·5H₂O.
        BoraxPentahydrate = "borax-pentahydrate",
        /// Na₂B₄O₇·10H₂O.
        BoraxDecahydrate = "borax-decahydrate",
        /// H₃BO₃.
        BoricAcid = "boric-acid",
        /// NaBO₂.
        SodiumMetaborateAnhydrous = "sodium-metaborate-anhydrous",
        /// NaBO₂·2H₂O.
        SodiumMetaborateDihydrate = "sodium-metaborate-dihydrate",
        /// NaBO₂·4H₂O.
        SodiumMetaborateTetrahydrate = "sodium-metaborate-tetrahydrate",
        /// Na₃PO₄.
        TrisodiumPhosphateAnhydrous = "trisodium-phosphate-anhydrous",
        /// Na₃PO₄·12H₂O.
        TrisodiumPhosphateDodecahydrate = "trisodium-phosphate-dodecahydrate",
        /// Strong alkali.
        SodiumHydroxide = "sodium-hydroxide",
        /// Strong alkali.
        PotassiumHydroxide = "potassium-hydroxide",
        /// Restrainer.
        PotassiumBromide = "potassium-bromide",
        /// Restrainer; also the test of a fixer [D14].
        PotassiumIodide = "potassium-iodide",
        /// Restrainer.
        Benzotriazole = "benzotriazole",
        /// Na₂S₂O₃.
        SodiumThiosulfateAnhydrous = "sodium-thiosulfate-anhydrous",
        /// Na₂S₂O₃·5H₂O, the hypo of old formulas.
        SodiumThiosulfatePentahydrate = "sodium-thiosulfate-pentahydrate",
        /// Rapid fixing agent.
        AmmoniumThiosulfate = "ammonium-thiosulfate",
        /// Acetic acid of 99 % and more.
        GlacialAceticAcid = "glacial-acetic-acid",
        /// Acetic acid already diluted.
        DiluteAceticAcid = "dilute-acetic-acid",
        /// Acid of some stop baths.
        CitricAcid = "citric-acid",
        /// NaCH₃COO.
        SodiumAcetateAnhydrous = "sodium-acetate-anhydrous",
        /// NaCH₃COO·3H₂O.
        SodiumAcetateTrihydrate = "sodium-acetate-trihydrate",
        /// Na₂SO₄.
        SodiumSulfateAnhydrous = "sodium-sulfate-anhydrous",
        /// Na₂SO₄·10H₂O.
        SodiumSulfateDecahydrate = "sodium-sulfate-decahydrate",
        /// Hardener.
        PotassiumAlum = "potassium-alum",
        /// Bleaching agent.
        PotassiumFerricyanide = "potassium-ferricyanide",
        /// Bleaching agent.
        PotassiumPermanganate = "potassium-permanganate",
        /// Bleaching agent.
        PotassiumDichromate = "potassium-dichromate",
        /// Acid of reversal bleaches.
        SulfuricAcid = "sulfuric-acid",
        /// Old stabiliser and hardener.
        Formaldehyde = "formaldehyde",
        /// Test for thiosulfate left in film.
        SilverNitrate = "silver-nitrate",
        /// Test for silver left in film.
        SodiumSulfide = "sodium-sulfide",
        /// Water.
        Water = "water",
    }
}

/// A salt without its water: molar mass and name.
struct Salt {
    name: &'static str,
    mass: f64,
}

use atom::{B, C, H, K, NA, O, P, S};

const SULFITE: Salt = Salt {
    name: "sodium sulfite",
    mass: 2.0 * NA + S + 3.0 * O,
};
const SODA: Salt = Salt {
    name: "sodium carbonate",
    mass: 2.0 * NA + C + 3.0 * O,
};
const POTASH: Salt = Salt {
    name: "potassium carbonate",
    mass: 2.0 * K + C + 3.0 * O,
};
const BORAX: Salt = Salt {
    name: "borax",
    mass: 2.0 * NA + 4.0 * B + 7.0 * O,
};
const METABORATE: Salt = Salt {
    name: "sodium metaborate",
    mass: NA + B + 2.0 * O,
};
const PHOSPHATE: Salt = Salt {
    name: "trisodium phosphate",
    mass: 3.0 * NA + P + 4.0 * O,
};
const HYPO: Salt = Salt {
    name: "sodium thiosulfate",
    mass: 2.0 * NA + 2.0 * S + 3.0 * O,
};
const ACETATE: Salt = Salt {
    name: "sodium acetate",
    mass: NA + 2.0 * C + 3.0 * H + 2.0 * O,
};
const SULFATE: Salt = Salt {
    name: "sodium sulfate",
    mass: 2.0 * NA + S + 4.0 * O,
};

impl Substance {
    /// The salt and the molecules of water that go with one of it; none for what has no hydrates here.
    fn hydrate(self) -> Option<(Salt, f64)> {
        Some(match self {
            Self::SodiumSulfiteAnhydrous => (SULFITE, 0.0),
            Self::SodiumSulfiteHeptahydrate => (SULFITE, 7.0),
            Self::SodiumCarbonateAnhydrous => (SODA, 0.0),
            Self::SodiumCarbonateMonohydrate => (SODA, 1.0),
            Self::SodiumCarbonateDecahydrate => (SODA, 10.0),
            Self::PotassiumCarbonateAnhydrous => (POTASH, 0.0),
            Self::PotassiumCarbonateSesquihydrate => (POTASH, 1.5),
            Self::BoraxAnhydrous => (BORAX, 0.0),
            Self::BoraxPentahydrate => (BORAX, 5.0),
            Self::BoraxDecahydrate => (BORAX, 10.0),
            Self::SodiumMetaborateAnhydrous => (METABORATE, 0.0),
            Self::SodiumMetaborateDihydrate => (METABORATE, 2.0),
            Self::SodiumMetaborateTetrahydrate => (METABORATE, 4.0),
            Self::TrisodiumPhosphateAnhydrous => (PHOSPHATE, 0.0),
            Self::TrisodiumPhosphateDodecahydrate => (PHOSPHATE, 12.0),
            Self::SodiumThiosulfateAnhydrous => (HYPO, 0.0),
            Self::SodiumThiosulfatePentahydrate => (HYPO, 5.0),
            Self::SodiumAcetateAnhydrous => (ACETATE, 0.0),
            Self::SodiumAcetateTrihydrate => (ACETATE, 3.0),
            Self::SodiumSulfateAnhydrous => (SULFATE, 0.0),
            Self::SodiumSulfateDecahydrate => (SULFATE, 10.0),
            _ => return None,
        })
    }

    /// Molar mass of a salt that has hydrates here, its water included, g/mol; none for other substances.
    ///
    /// # Source
    /// Own derivation from [AW1].
    pub fn molar_mass(self) -> Option<f64> {
        let (salt, waters) = self.hydrate()?;
        Some(salt.mass + waters * (2.0 * H + O))
    }

    /// The name as a person says it: "sodium carbonate monohydrate".
    pub fn name(self) -> String {
        self.word().replace('-', " ")
    }

    /// The substance that a person's words name, if they name one here; a salt whose hydrate is left open is none.
    pub fn named(text: &str) -> Option<Self> {
        let word = plain(text);
        Self::ALL.iter().copied().find(|s| s.word() == word)
    }

    /// The hydrates among which the words leave it open: "sodium carbonate" may be three powders.
    pub fn left_open(text: &str) -> Vec<Self> {
        let word = plain(text);
        let mut open: Vec<Self> = Self::ALL.to_vec();
        open.retain(|s| {
            s.hydrate()
                .is_some_and(|(salt, _)| plain(salt.name) == word)
        });
        open
    }

    /// Whether both are one salt, with more or less water.
    pub fn same_salt(self, other: Self) -> bool {
        match (self.hydrate(), other.hydrate()) {
            (Some((a, _)), Some((b, _))) => a.name == b.name,
            _ => self == other,
        }
    }
}

/// Words without case, commas, brackets and doubled spaces, joined by hyphens; sulphite is sulfite.
fn plain(text: &str) -> String {
    let lower = text.to_lowercase().replace("sulph", "sulf");
    let words = lower.split(|c: char| !c.is_alphanumeric());
    words
        .filter(|w| !w.is_empty())
        .collect::<Vec<_>>()
        .join("-")
}

/// Grams of `to` that hold as much of the salt as one gram of `from`: the ratio of the molar masses.
///
/// # Units
/// g of `to` per g of `from`.
/// # Domain
/// Two hydrates of one salt; a substance for itself gives 1.
/// # Errors
/// [`Kind::Impossible`] for two different salts.
/// # Source
/// Own derivation from [AW1]; [D35] prints three of the ratios.
/// # Example
/// ```
/// use spoolwright_core::wet::salts::{Substance, factor};
/// // Borax of five waters for borax of ten: 0.764.
/// let f = factor(Substance::BoraxDecahydrate, Substance::BoraxPentahydrate).unwrap();
/// assert!((f - 0.764).abs() < 1e-3);
/// ```
pub fn factor(from: Substance, to: Substance) -> Result<f64, Error> {
    if from == to {
        return Ok(1.0);
    }
    match (from.molar_mass(), to.molar_mass()) {
        (Some(a), Some(b)) if from.same_salt(to) => Ok(b / a),
        _ => Err(Error::new(
            Kind::Impossible,
            "one substance cannot be reckoned as the other by weight",
            format!("{} for {}", to.name(), from.name()),
            "two hydrates of one salt",
            "Take the salt that the formula names, with any water of crystallisation; another salt needs another formula.",
        )),
    }
}

/// Grams of a weight in grains.
///
/// # Units
/// grains; g.
/// # Domain
/// `grains` within [`GRAINS`].
/// # Errors
/// Out of range.
/// # Source
/// [D31].
pub fn grams(grains: f64) -> Result<f64, Error> {
    Ok(GRAINS.check(grains)? / GRAINS_PER_OUNCE * OUNCE_G)
}

/// Grams of `to` for `grams` of `from`.
///
/// # Units
/// g.
/// # Domain
/// `grams` within [`AMOUNT`].
/// # Errors
/// Out of range; as [`factor`].
/// # Source
/// As [`factor`]: [D35].
pub fn convert(grams: f64, from: Substance, to: Substance) -> Result<f64, Error> {
    Ok(AMOUNT.check(grams)? * factor(from, to)?)
}
