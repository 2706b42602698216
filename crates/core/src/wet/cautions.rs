//! What to mind with a bath or a substance: one list for pages, cards and print.
//!
//! Short reminders. They take nobody's place: not the supplier's safety data sheet's, not the local code's. Nothing
//! here says that anything is harmless or allowed.

use super::bath::BathKind;
use super::salts::Substance;

/// One reminder, in a stable word for programs and a sentence for people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Caution {
    /// A stable, lower-case word with underscores.
    pub code: &'static str,
    /// One sentence.
    pub text: &'static str,
}

macro_rules! cautions {
    ($($name:ident = $code:literal, $text:literal;)+) => {
        $(const $name: Caution = Caution { code: $code, text: $text };)+
    };
}

cautions! {
    SHEET = "safety_sheet",
        "Read the supplier's safety data sheet first; where the two differ, it is right.";
    GLOVES = "gloves",
        "Gloves, goggles and an apron; wash splashes off at once.";
    AIR = "ventilation",
        "Work where air moves; do not breathe powder or vapour, and do not go by the smell.";
    FOOD = "apart_from_food",
        "Keep it labelled, out of reach of children, and apart from food and from what food is made in.";
    WASTE = "local_waste_code",
        "Ask the local sewer and waste code where used solution may go; never into a septic tank.";
    SILVER = "silver",
        "Used fixer, blix and the first wash carry silver: collect them, for recovery or a collection point.";
    ACID = "acid_into_water",
        "Acid into water, slowly, never water into acid.";
    WATER_FIRST = "water_first",
        "Measure the water first; then let the strong solution run into it slowly, stirring.";
    GLACIAL = "corrosive_acid",
        "Strong acid burns skin and eyes and its vapour the lungs: goggles, gloves, open window.";
    ALKALI = "corrosive_alkali",
        "Strong alkali burns skin and eyes and heats the water: a little at a time into cold water, goggles on.";
    ALKALI_BATH = "corrosive_alkali",
        "If strong alkali goes into it: that burns skin and eyes and heats the water, so a little at a time into cold water, goggles on.";
    STRONG_SALT = "alkaline_salt",
        "A strongly alkaline salt: it burns skin and eyes, so goggles on, and no dust.";
    FIXER_APART = "fixer_apart",
        "Keep fixer from acids (sulfur dioxide), from alkali (ammonia) and from bleach.";
    BLEACH_APART = "bleach_apart",
        "Keep bleach from fixer and developer, and the film washed between; household bleach, which with acid or ammonia gives poisonous gas, never near either.";
    BLIX_APART = "blix_apart",
        "Keep blix from acids (sulfur dioxide), from alkali (ammonia) and from household bleach (poisonous gas).";
    METOL = "sensitiser",
        "It sensitises skin: an allergy once begun does not leave.";
    IRRITANT = "irritant",
        "It irritates skin and eyes: do not touch the powder or raise its dust.";
    IRRITANT_BATH = "irritant",
        "It irritates skin and eyes; where it is mixed from powder, do not touch that or raise its dust.";
    COLOUR_AGENT = "colour_developer_skin",
        "Colour developer causes dermatitis and allergy: no bare hand in it, wash at once.";
    PYRO = "poisonous_agent",
        "Poisonous through skin and lungs: mix it out of doors or under a hood, gloves always.";
    SULFITE = "sulfur_dioxide",
        "With acid it gives off sulfur dioxide, which is dangerous in asthma.";
    FORMALDEHYDE = "carcinogen",
        "Its vapour causes cancer and allergy: use it under a hood only, or take a stabiliser without it.";
    FORMALDEHYDE_BATH = "carcinogen",
        "If it holds formaldehyde, its vapour causes cancer and allergy: use it under a hood only, or take one without it.";
    DICHROMATE = "carcinogen_oxidiser",
        "Dichromate causes cancer and allergy, and feeds fire: use another bleach where you can; it is special waste.";
    PERMANGANATE = "oxidiser",
        "Permanganate is a strong oxidiser: it stains, feeds fire, and must not meet concentrated acid.";
    FERRICYANIDE = "ferricyanide_acid",
        "With strong acid or heat ferricyanide gives off hydrogen cyanide: keep it from both.";
    BORATE = "borate",
        "Borates are held to harm fertility: no dust, no bare hands.";
    SILVER_NITRATE = "silver_nitrate",
        "It stains skin black and harms eyes; poisonous.";
    SULFIDE = "hydrogen_sulfide",
        "With acid it gives off hydrogen sulfide, a deadly gas; the vapour also fogs film.";
}

/// What cautions can be about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Subject {
    /// A bath of a kind, ready to use.
    Bath(BathKind),
    /// A substance as it is weighed out.
    Substance(Substance),
}

impl From<BathKind> for Subject {
    fn from(kind: BathKind) -> Self {
        Self::Bath(kind)
    }
}

impl From<Substance> for Subject {
    fn from(substance: Substance) -> Self {
        Self::Substance(substance)
    }
}

/// What to mind with a bath or a substance, the safety sheet first.
///
/// # Source
/// [H2], [H3], [H4], [H5], [H7], [H8]; which bath must not meet which, bleaches by kind, ferricyanide, borates,
/// sulfide and silver nitrate from memory.
pub fn cautions(about: impl Into<Subject>) -> &'static [Caution] {
    match about.into() {
        Subject::Bath(kind) => bath(kind),
        Subject::Substance(substance) => of_substance(substance),
    }
}

/// What to mind when a strong solution is thinned of which nobody has said what it is: it may be an acid.
///
/// # Source
/// [H2], [H3].
pub fn unnamed() -> &'static [Caution] {
    &[SHEET, GLOVES, AIR, FOOD, WATER_FIRST, ACID, WASTE]
}

/// What to mind when a concentrate of a bath is thinned, none where nobody has said of which: water goes first whatever
/// it is.
///
/// # Source
/// As [`cautions`] and [`unnamed`].
pub fn thinning(kind: Option<BathKind>) -> Vec<Caution> {
    let Some(kind) = kind else {
        return unnamed().to_vec();
    };
    let mut all = bath(kind).to_vec();
    all.insert(1, WATER_FIRST);
    all
}

fn bath(kind: BathKind) -> &'static [Caution] {
    use BathKind as B;
    match kind {
        B::Developer | B::SecondBath | B::FirstDeveloper | B::SecondDeveloper => {
            &[SHEET, GLOVES, AIR, FOOD, IRRITANT_BATH, WASTE]
        }
        B::ColourDeveloper => &[SHEET, GLOVES, AIR, FOOD, COLOUR_AGENT, WASTE],
        B::Stop => &[SHEET, GLOVES, AIR, FOOD, ACID, WASTE],
        // Which bleach it is the card does not say: each kind has its own danger.
        B::Bleach => &[
            SHEET,
            GLOVES,
            AIR,
            FOOD,
            BLEACH_APART,
            FERRICYANIDE,
            DICHROMATE,
            PERMANGANATE,
            WASTE,
        ],
        B::Fixer => &[SHEET, GLOVES, AIR, FOOD, FIXER_APART, SILVER, WASTE],
        B::Blix => &[SHEET, GLOVES, AIR, FOOD, BLIX_APART, SILVER, WASTE],
        B::Clearing => &[SHEET, GLOVES, AIR, FOOD, SULFITE, WASTE],
        B::Stabiliser => &[SHEET, GLOVES, AIR, FOOD, FORMALDEHYDE_BATH, WASTE],
        B::Reversal => &[SHEET, GLOVES, AIR, FOOD, IRRITANT_BATH, WASTE],
        B::Prebath => &[SHEET, GLOVES, AIR, FOOD, ALKALI_BATH, WASTE],
        B::Wetting => &[SHEET, FOOD, WASTE],
    }
}

fn of_substance(substance: Substance) -> &'static [Caution] {
    use Substance as S;
    match substance {
        S::Metol => &[SHEET, GLOVES, AIR, FOOD, METOL, IRRITANT, WASTE],
        S::Hydroquinone | S::PhenylPyrazolidone | S::Benzotriazole | S::PotassiumAlum => {
            &[SHEET, GLOVES, AIR, FOOD, IRRITANT, WASTE]
        }
        S::Pyrogallol | S::Catechol => &[SHEET, GLOVES, AIR, FOOD, PYRO, WASTE],
        S::ColourDevelopingAgent => &[SHEET, GLOVES, AIR, FOOD, COLOUR_AGENT, METOL, WASTE],
        S::SodiumSulfiteAnhydrous
        | S::SodiumSulfiteHeptahydrate
        | S::SodiumBisulfite
        | S::SodiumMetabisulfite
        | S::PotassiumMetabisulfite => &[SHEET, GLOVES, AIR, FOOD, SULFITE, WASTE],
        S::SodiumCarbonateAnhydrous
        | S::SodiumCarbonateMonohydrate
        | S::SodiumCarbonateDecahydrate
        | S::PotassiumCarbonateAnhydrous
        | S::PotassiumCarbonateSesquihydrate => &[SHEET, GLOVES, AIR, FOOD, IRRITANT, WASTE],
        S::TrisodiumPhosphateAnhydrous | S::TrisodiumPhosphateDodecahydrate => {
            &[SHEET, GLOVES, AIR, FOOD, STRONG_SALT, WASTE]
        }
        S::SodiumHydroxide | S::PotassiumHydroxide => &[SHEET, GLOVES, AIR, FOOD, ALKALI, WASTE],
        S::BoraxAnhydrous
        | S::BoraxPentahydrate
        | S::BoraxDecahydrate
        | S::BoricAcid
        | S::SodiumMetaborateAnhydrous
        | S::SodiumMetaborateDihydrate
        | S::SodiumMetaborateTetrahydrate => &[SHEET, GLOVES, AIR, FOOD, BORATE, WASTE],
        S::SodiumThiosulfateAnhydrous
        | S::SodiumThiosulfatePentahydrate
        | S::AmmoniumThiosulfate => &[SHEET, GLOVES, AIR, FOOD, FIXER_APART, WASTE],
        S::GlacialAceticAcid | S::SulfuricAcid => &[SHEET, GLOVES, AIR, FOOD, GLACIAL, ACID, WASTE],
        S::DiluteAceticAcid | S::CitricAcid => &[SHEET, GLOVES, AIR, FOOD, ACID, WASTE],
        S::PotassiumFerricyanide => &[SHEET, GLOVES, AIR, FOOD, FERRICYANIDE, BLEACH_APART, WASTE],
        S::PotassiumPermanganate => &[SHEET, GLOVES, AIR, FOOD, PERMANGANATE, BLEACH_APART, WASTE],
        S::PotassiumDichromate => &[SHEET, GLOVES, AIR, FOOD, DICHROMATE, BLEACH_APART, WASTE],
        S::Formaldehyde => &[SHEET, GLOVES, AIR, FOOD, FORMALDEHYDE, WASTE],
        S::SilverNitrate => &[SHEET, GLOVES, AIR, FOOD, SILVER_NITRATE, WASTE],
        S::SodiumSulfide => &[SHEET, GLOVES, AIR, FOOD, SULFIDE, WASTE],
        S::AscorbicAcid
        | S::PotassiumBromide
        | S::PotassiumIodide
        | S::SodiumAcetateAnhydrous
        | S::SodiumAcetateTrihydrate
        | S::SodiumSulfateAnhydrous
        | S::SodiumSulfateDecahydrate => &[SHEET, GLOVES, AIR, FOOD, WASTE],
        S::Water => &[],
    }
}
