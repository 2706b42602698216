//! What a step that goes on leaves in doubt whatever the sum of its temperature says.
//!
//! Sentences for the clock; it moves no end.

use super::drift::Reading;
use super::recipe::{Step, StepKind};
use crate::caveat::Caveat;
use crate::quantity::degrees;

/// So far off its meant temperature, °C, a developer of a colour process is told of at once: own rule, a quarter of a
/// degree shows and a thermometer may be off by as much.
const COLOUR_OFF_C: f64 = 0.3;
/// So far below its meant temperature, °C, any other bath is told of at once: own rule, the thermometer's 95 % and more.
const COLD_C: f64 = 2.0;

/// The doubts of a step with its readings so far. `stood_out`: the bath was out of the tank meanwhile.
pub(super) fn doubts(
    step: &Step,
    colour: bool,
    stood_out: bool,
    readings: &[Reading],
) -> Vec<Caveat> {
    let mut found = Vec::new();
    let develops = step.kind.develops();
    if develops && stood_out {
        found.push(Caveat::new(
            "stood_out",
            "While the bath is out the wet film goes on developing: that is not counted.",
        ));
    }
    let Some(at_c) = step.temperature_c else {
        return found;
    };
    let held = develops && colour && step.q10.is_none();
    match readings.last() {
        None if develops => found.push(Caveat::new(
            "not_read",
            format!(
                "No thermometer reading yet: the bath is taken to be at {}.",
                degrees(at_c)
            ),
        )),
        Some(last) if held && (last.c - at_c).abs() > COLOUR_OFF_C => found.push(Caveat::new(
            "off_temperature",
            format!(
                "This developer is at {} and is meant for {}: its end is not moved, and the colours will shift. Bring the tank back to its temperature.",
                degrees(last.c),
                degrees(at_c)
            ),
        )),
        Some(last) if slows(step.kind) && at_c - last.c > COLD_C => found.push(Caveat::new(
            "off_temperature",
            format!(
                "This bath is at {} and is meant for {}: cold it works slower, and no sum moves its end. Give it longer.",
                degrees(last.c),
                degrees(at_c)
            ),
        )),
        _ => {}
    }
    if held {
        found.push(Caveat::new(
            "colour_not_moved",
            format!(
                "How this developer of a colour process answers to warmth is not known, so no reading moves its end: hold it at {}.",
                degrees(at_c)
            ),
        ));
    }
    found
}

/// Whether a cold bath of that kind may leave its work half done, though nothing develops in it.
const fn slows(kind: StepKind) -> bool {
    matches!(
        kind,
        StepKind::SecondBath
            | StepKind::SecondDeveloper
            | StepKind::Bleach
            | StepKind::Clearing
            | StepKind::Fixer
            | StepKind::BleachFix
            | StepKind::WashAid
            | StepKind::Wash
    )
}
