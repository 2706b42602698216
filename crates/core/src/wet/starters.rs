//! Recipes to begin with, one for each kind of process. Starting points, never promises.
//!
//! A black-and-white developer is moved as [D7] has it and stands at 20 °C [D1]; stop and fixer are moved and timed as
//! [D7b], what follows a fixer as [D18]; pouring in and out [D8]; the remjet baths' temperatures [M8]. Movement of colour
//! baths, of a stand development and of all washes between, and every other time and temperature is common practice, no source: the chemistry's own sheet goes before it, and the
//! page says so as long as nobody has confirmed them.

use super::fixing;
use super::recipe::{Agitation, Owner, Recipe, Step, StepKind, TimeFrom};
use super::tank;
use crate::shelf::{Process, RecipeId};

/// What every built-in recipe says of itself.
pub const CAUTION: &str =
    "A starting point. The sheet that came with your chemistry goes before every figure here.";

const ALWAYS: Agitation = Agitation {
    first_s: 0.0,
    every_s: 30.0,
    for_s: 30.0,
};
const FIXER: Agitation = fixing::AGITATION[0];
/// Common practice, no source.
const COLOUR: Agitation = FIXER;
/// Common practice, no source.
const STAND: Agitation = Agitation {
    first_s: 60.0,
    every_s: 0.0,
    for_s: 0.0,
};
const NONE: Agitation = Agitation {
    first_s: 0.0,
    every_s: 0.0,
    for_s: 0.0,
};

/// One line of a built-in recipe: kind, seconds, °C, movement, note.
type Line = (StepKind, f64, Option<f64>, Agitation, &'static str);

struct Starter {
    name: &'static str,
    process: Process,
    developer: &'static str,
    dilution: &'static str,
    lines: &'static [Line],
}

const STOP: Line = (
    StepKind::Stop,
    45.0,
    Some(20.0),
    ALWAYS,
    "Add acid to water, never water to acid.",
);
const FIX: Line = (
    StepKind::Fixer,
    300.0,
    Some(20.0),
    FIXER,
    "One manual lets the light come on after two minutes; this bench would wait for the end of the step. Used fixer holds silver: keep it for collection, ask your local rules.",
);
const RINSE: Line = (StepKind::Wash, 30.0, Some(20.0), ALWAYS, "");
const AID: Line = (StepKind::WashAid, 120.0, Some(20.0), ALWAYS, "");
const WASH: Line = (
    StepKind::Wash,
    300.0,
    Some(20.0),
    NONE,
    "Running water, at about the temperature of the baths before.",
);
const LAST: Line = (StepKind::FinalRinse, 60.0, Some(20.0), NONE, "");
const PREBATH: Line = (
    StepKind::Prebath,
    60.0,
    Some(27.0),
    ALWAYS,
    "Softens the backing. It turns dark: that is the backing.",
);
const BACKING: Line = (
    StepKind::BackingRemoval,
    120.0,
    Some(27.0),
    ALWAYS,
    "Fill with water, shake hard, pour out, until the water stays clear. Keep the black off the emulsion.",
);

const STARTERS: &[Starter] = &[
    Starter {
        name: "Negative, one-shot",
        process: Process::Negative,
        developer: "House developer",
        dilution: "1+9",
        lines: &[
            (
                StepKind::Developer,
                480.0,
                Some(20.0),
                Agitation::ROLL_TANK,
                "",
            ),
            STOP,
            FIX,
            RINSE,
            AID,
            WASH,
            LAST,
        ],
    },
    Starter {
        name: "Negative, two-bath",
        process: Process::Negative,
        developer: "Two-bath developer",
        dilution: "stock",
        lines: &[
            (
                StepKind::Developer,
                240.0,
                Some(20.0),
                Agitation::ROLL_TANK,
                "Bath A: the film soaks it up. No pre-wet, no rinse before bath B.",
            ),
            (
                StepKind::SecondBath,
                240.0,
                Some(20.0),
                Agitation {
                    first_s: 5.0,
                    every_s: 60.0,
                    for_s: 5.0,
                },
                "Bath B. Never pour any of it back into A.",
            ),
            STOP,
            FIX,
            RINSE,
            AID,
            WASH,
            LAST,
        ],
    },
    Starter {
        name: "Negative, stand",
        process: Process::Negative,
        developer: "House developer, thin",
        dilution: "1+99",
        lines: &[
            (StepKind::Prewet, 120.0, Some(20.0), ALWAYS, ""),
            (
                StepKind::Developer,
                3600.0,
                Some(20.0),
                STAND,
                "Left alone after the first minute. Bromide may draw streaks; mind the least stock developer a film needs.",
            ),
            STOP,
            FIX,
            RINSE,
            AID,
            WASH,
            LAST,
        ],
    },
    Starter {
        name: "Reversal",
        process: Process::Reversal,
        developer: "Reversal first developer",
        dilution: "stock",
        lines: &[
            (
                StepKind::FirstDeveloper,
                720.0,
                Some(20.0),
                Agitation::ROLL_TANK,
                "",
            ),
            (StepKind::Wash, 120.0, Some(20.0), ALWAYS, ""),
            (
                StepKind::Bleach,
                300.0,
                Some(20.0),
                FIXER,
                "Goggles and gloves. Bleach never meets developer or fixer: wash between.",
            ),
            (StepKind::Wash, 120.0, Some(20.0), ALWAYS, ""),
            (StepKind::Clearing, 120.0, Some(20.0), ALWAYS, ""),
            (StepKind::Wash, 60.0, Some(20.0), ALWAYS, ""),
            (
                StepKind::Reexposure,
                120.0,
                None,
                NONE,
                "Dry hands before any lamp: water and mains never meet. Light on every turn of the film, from both sides.",
            ),
            (
                StepKind::SecondDeveloper,
                360.0,
                Some(20.0),
                Agitation::ROLL_TANK,
                "",
            ),
            STOP,
            FIX,
            RINSE,
            AID,
            WASH,
            LAST,
        ],
    },
    Starter {
        name: "Colour negative",
        process: Process::ColourNegative,
        developer: "Colour developer",
        dilution: "stock",
        lines: &[
            (StepKind::Prewet, 60.0, Some(38.0), ALWAYS, ""),
            (
                StepKind::ColourDeveloper,
                195.0,
                Some(37.8),
                COLOUR,
                "Gloves: colour developer can sensitise the skin for good. A quarter of a degree shows.",
            ),
            (
                StepKind::BleachFix,
                390.0,
                Some(38.0),
                COLOUR,
                "Let gas out of the tank after the first shakes.",
            ),
            (StepKind::Wash, 180.0, Some(38.0), ALWAYS, ""),
            (
                StepKind::FinalRinse,
                60.0,
                None,
                NONE,
                "Off the reel if it is a stabiliser. Some hold formaldehyde: air the room.",
            ),
        ],
    },
    Starter {
        name: "Colour reversal",
        process: Process::ColourReversal,
        developer: "Colour reversal first developer",
        dilution: "stock",
        lines: &[
            (StepKind::Prewet, 60.0, Some(38.0), ALWAYS, ""),
            (StepKind::FirstDeveloper, 390.0, Some(38.0), COLOUR, ""),
            (StepKind::Wash, 120.0, Some(38.0), ALWAYS, ""),
            (
                StepKind::ColourDeveloper,
                360.0,
                Some(38.0),
                COLOUR,
                "Gloves: colour developer can sensitise the skin for good.",
            ),
            (StepKind::Wash, 120.0, Some(38.0), ALWAYS, ""),
            (StepKind::BleachFix, 600.0, Some(38.0), COLOUR, ""),
            (StepKind::Wash, 240.0, Some(38.0), ALWAYS, ""),
            (
                StepKind::FinalRinse,
                60.0,
                None,
                NONE,
                "Off the reel if it is a stabiliser. Some hold formaldehyde: air the room.",
            ),
        ],
    },
    Starter {
        name: "Remjet, colour negative",
        process: Process::ColourNegative,
        developer: "Motion-picture colour developer",
        dilution: "stock",
        lines: &[
            PREBATH,
            BACKING,
            (
                StepKind::ColourDeveloper,
                180.0,
                Some(41.1),
                COLOUR,
                "Gloves: colour developer can sensitise the skin for good. Meant for a tenth of a degree.",
            ),
            (
                StepKind::Stop,
                30.0,
                Some(38.0),
                ALWAYS,
                "Add acid to water, never water to acid.",
            ),
            (StepKind::Wash, 30.0, Some(38.0), ALWAYS, ""),
            (StepKind::BleachFix, 390.0, Some(38.0), COLOUR, ""),
            (
                StepKind::Wash,
                180.0,
                Some(38.0),
                ALWAYS,
                "Wipe what is left of the backing off the back, wet, with a soft sponge.",
            ),
            (StepKind::FinalRinse, 60.0, None, NONE, ""),
        ],
    },
    Starter {
        name: "Remjet, black and white",
        process: Process::Negative,
        developer: "House developer",
        dilution: "1+9",
        lines: &[
            PREBATH,
            BACKING,
            (
                StepKind::Developer,
                480.0,
                Some(20.0),
                Agitation::ROLL_TANK,
                "A colour stock developed as black and white keeps its orange mask.",
            ),
            STOP,
            FIX,
            RINSE,
            AID,
            WASH,
            LAST,
        ],
    },
];

/// Every built-in recipe with its steps, new: their numbers are zero.
pub fn starters() -> Vec<(Recipe, Vec<Step>)> {
    STARTERS.iter().map(made).collect()
}

fn made(s: &Starter) -> (Recipe, Vec<Step>) {
    let recipe = Recipe {
        id: RecipeId(0),
        name: s.name.to_owned(),
        process: s.process,
        developer: s.developer.to_owned(),
        dilution: s.dilution.to_owned(),
        least_stock_ml: None,
        tolerance: tank::default_tolerance(s.process.word()) / 100.0,
        note: CAUTION.to_owned(),
        closed: false,
    };
    let steps = (0..)
        .zip(s.lines)
        .map(
            |(position, &(kind, time_s, temperature_c, agitation, note))| Step {
                time_from: match kind {
                    StepKind::Developer if s.process == Process::Negative => TimeFrom::Film,
                    StepKind::Fixer => TimeFrom::ClearingTest,
                    _ => TimeFrom::Recipe,
                },
                temperature_c,
                agitation,
                fill_s: if kind == StepKind::Reexposure {
                    0.0
                } else {
                    10.0
                },
                drain_s: if kind == StepKind::Reexposure {
                    0.0
                } else {
                    10.0
                },
                note: note.to_owned(),
                ..Step::plain(Owner::Recipe(RecipeId(0)), position, kind, time_s)
            },
        )
        .collect();
    (recipe, steps)
}
