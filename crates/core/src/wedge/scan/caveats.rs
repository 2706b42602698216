//! What limits densities read from a picture, in words.

use super::density::{Border, Calibration, STRAY};
use super::layout::Layout;
use super::{Flag, Levels, PatchReading, Shape, StepReading};
use crate::caveat::Caveat;

/// Falls of log10 level for each unit of density that pictures have: proportional to light (stray light makes it less),
/// and coded for the eye (exponents of 1/1.8 to 1/2.4, with or without a straight toe). From memory; the margins are
/// assumptions.
const USUAL_FALLS: [(f64, f64); 2] = [(0.88, 1.06), (0.40, 0.62)];
/// The same where values are said to be proportional to light.
const LINEAR_FALL: (f64, f64) = (0.90, 1.06);

const SCALE: &str = "All densities rest on the wedge's densities as stated: an error in their scale, such as 0.10 stated for steps of 0.15, goes straight into every density, and a picture shows it only sometimes.";
const NOMINAL: &str = "The wedge's densities are nominal, round figures of its kind and not measured on this one. Real wedges differ from them, mostly by a common factor: that goes straight into every density, slope and contrast, and is in no standard deviation here. A calibrated wedge avoids it.";

/// What the picture's own tone curve says against the wedge's densities.
fn doubtful_scale(layout: &Layout, calibration: &Calibration) -> Option<String> {
    let fall = calibration.curve.as_ref()?.fall()?;
    let within = |(least, most): &(f64, f64)| (*least..=*most).contains(&fall);
    let advice =
        "Check the wedge's densities: an error in their scale goes straight into every density.";
    if layout.linear && !within(&LINEAR_FALL) {
        return Some(format!(
            "Values said to be proportional to light would fall by 1.00 (log10) for each unit of density; by the wedge's densities they fall by {fall:.2}. Either they are not proportional, or the wedge's densities are wrong by a factor of some {:.2}. {advice}",
            fall.recip()
        ));
    }
    (!layout.linear && !USUAL_FALLS.iter().any(within)).then(|| {
        format!(
            "By the wedge's densities this picture's values fall by {fall:.2} (log10) for each unit of density. Values proportional to light fall by 1.00, and those coded for the eye by 0.42 to 0.56: either the picture has an unusual tone curve, as cameras give theirs, or the wedge's densities are wrong by a common factor. {advice}"
        )
    })
}

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
    if let Some(reference) = &layout.reference {
        let (code, text) = if reference.nominal {
            ("reference_nominal", NOMINAL)
        } else {
            ("reference_scale", SCALE)
        };
        say(code, text.to_owned());
    }
    if let Some(text) = doubtful_scale(layout, calibration) {
        say("reference_scale_doubtful", text);
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
