//! What limits densities read from a picture, in words.

use super::density::{Border, Calibration, STRAY};
use super::layout::Layout;
use super::{Flag, Levels, PatchReading, Shape, StepReading};
use crate::caveat::Caveat;

pub(super) fn of(
    shape: &Shape,
    layout: &Layout,
    calibration: &Calibration,
    levels: &Levels,
    light_range: Option<f64>,
    strip: &[PatchReading],
    reference: &[StepReading],
) -> Vec<Caveat> {
    let mut all = Vec::new();
    let mut say = |code, text: String| all.push(Caveat::new(code, text));
    if shape.lossy {
        say(
            "jpeg",
            "The picture is an 8-bit JPEG: fine differences of density are lost, most of all in dense patches. A 16-bit TIFF or PNG holds them.".to_owned(),
        );
    } else if levels.eight_bits {
        say(
            "eight_bits",
            "The picture has 8 bits a value: steps of one value are coarse in dense patches."
                .to_owned(),
        );
    }
    if levels.cut_off {
        say(
            "cut_off",
            "The picture is cut off short of full white or black: patches at that value are taken as clipped. Change the exposure or the end points of the scan."
                .to_owned(),
        );
    }
    if layout.reference.is_none() {
        let zero = match calibration.border {
            Border::Used | Border::Extrapolated => "over the clear border",
            Border::None | Border::Unusable => "over the lightest patch, which therefore reads 0",
        };
        say(
            "linear_by_word",
            format!(
                "No reference wedge: the densities rest on your word that pixel values are proportional to light. They are {zero}, and stray light of {} % of clear is allowed for.",
                100.0 * STRAY
            ),
        );
    }
    match calibration.border {
        Border::None => say(
            "light_unchecked",
            "No clear border was given, so uneven light is not corrected; light that differs by some 5 % is allowed for.".to_owned(),
        ),
        Border::Unusable => say(
            "border_unusable",
            "Most of the clear border is clipped or unreadable, so uneven light is not corrected. Expose so that the border stays below full white.".to_owned(),
        ),
        Border::Extrapolated => say(
            "border_outside_reference",
            "The clear border is lighter than the lightest reference step, so what it says of the light is less sure.".to_owned(),
        ),
        Border::Used => {}
    }
    if calibration.border_patchy {
        say(
            "border_patchy",
            "Much of the clear border is not like the rest of it. Check that it lies on one even, clear density."
                .to_owned(),
        );
    }
    if let Some(range) = light_range.filter(|range| 0.1 < *range) {
        say(
            "light_uneven",
            format!(
                "The light differs by {:.0} % over strip and wedge. It was corrected; more even light gives better densities.",
                100.0 * (1.0 - 10f64.powf(-range))
            ),
        );
    }
    if !calibration.left_out.is_empty() {
        say(
            "reference_steps_left_out",
            format!(
                "Reference {} clipped or drowned in noise and not used.",
                are("step", &calibration.left_out)
            ),
        );
    }
    let flagged = |flags: &mut dyn Iterator<Item = &[Flag]>, flag| -> Vec<usize> {
        let marked = flags.enumerate().filter(|(_, f)| f.contains(&flag));
        marked.map(|(i, _)| i + 1).collect()
    };
    let uneven = flagged(
        &mut reference.iter().map(|s| s.flags.as_slice()),
        Flag::Uneven,
    );
    if !uneven.is_empty() {
        say(
            "reference_uneven",
            format!(
                "Reference {} not of one density. Check the wedge's corners and the number of its densities: all others rest on it.",
                are("step", &uneven)
            ),
        );
    }
    let together = calibration
        .curve
        .as_ref()
        .map_or_else(Vec::new, |curve| curve.drawn_together());
    if !together.is_empty() {
        say(
            "reference_steps_not_told_apart",
            format!(
                "Reference {} not told apart from a neighbour in this picture; densities there are as unsure as the steps are wide.",
                are("step", &together)
            ),
        );
    }
    for flag in Flag::ALL {
        let patches = flagged(&mut strip.iter().map(|p| p.flags.as_slice()), flag);
        if patches.is_empty() {
            continue;
        }
        let are = are("Patch", &patches);
        let (code, text) = match flag {
            Flag::Clipped => (
                "clipped",
                format!(
                    "{are} clipped: full white or black, or cut off there. Change the exposure of the scan."
                ),
            ),
            Flag::Dusty => (
                "dusty",
                format!("{are} dusty or scratched; what was seen of it was left out."),
            ),
            Flag::Uneven => (
                "uneven",
                format!("{are} not of one density. Check whether the corners lie on the strip's."),
            ),
            Flag::OutsideReference => (
                "outside_reference",
                format!("{are} lighter or darker than the reference steps that could be read."),
            ),
            Flag::TooDark => (
                "too_dark",
                format!("{are} too dark to be told from black in this picture."),
            ),
        };
        say(code, text);
    }
    all
}

/// "Patch 3 is", "Patches 3, 4 and 7 are".
fn are(what: &str, numbers: &[usize]) -> String {
    match numbers {
        [one] => format!("{what} {one} is"),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(usize::to_string).collect();
            let plural = if what == "Patch" { "Patches" } else { "steps" };
            format!("{plural} {} and {last} are", first.join(", "))
        }
        [] => String::new(),
    }
}
