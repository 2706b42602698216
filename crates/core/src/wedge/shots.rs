//! The shot list of an in-camera test: which frame gets how many stops, which stay blank, where the roll is cut.
//!
//! Every strip is one developing time and holds the same frames: one blank under the lens cap for base + fog, then
//! the even target from least light to most. A spare blank closes every strip but the last, so that two blanks lie
//! side by side wherever scissors go in the dark: a cut may miss its place by half a frame either way, for half of the
//! blank is enough to read.

use crate::bounds::{self, Bounds};
use crate::error::{Error, Kind};
use crate::film::{PERFORATIONS_PER_CLICK, Pitch};

/// Stops from the meter reading that a test uses unless told otherwise: two under the Zone I exposure, close
/// together above it where the speed point lies, wider on the straight part, and up to three over the meter.
///
/// Own derivation from [S1], [S2] and [S13]. At a true EI the 0.10 point lies four stops under, and the outer arc of
/// the contrast index ends some 2.0 log H above it, between two and three stops over the meter. Ten exposures, so that
/// three strips fit a roll of 36.
pub const USUAL_OFFSETS: [f64; 10] = [-6.0, -5.0, -4.0, -3.5, -3.0, -2.0, -1.0, 0.0, 1.5, 3.0];

/// Strips one roll may be cut into.
pub const STRIPS: Bounds = Bounds {
    what: "strips",
    unit: "strips",
    min: 1.0,
    max: 8.0,
};

/// Stops from the meter reading that one frame may get.
pub const OFFSET_STOPS: Bounds = Bounds {
    what: "an exposure",
    unit: "stops from the meter reading",
    min: -12.0,
    max: 12.0,
};

/// What one frame gets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Exposed {
    /// Lens cap on: base + fog.
    Blank,
    /// Lens cap on: room for the scissors.
    Spare,
    /// The even target, so many stops from what the meter asks for; negative is less light.
    Stops(f64),
}

/// One frame of the roll.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shot {
    /// Frame number in the camera, from 1.
    pub frame: u32,
    /// The strip it belongs to, from 0.
    pub strip: usize,
    /// What it gets.
    pub exposed: Exposed,
}

/// Where the roll is cut, in the dark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Between this frame and the next.
    pub after_frame: u32,
    /// From the beginning of the leader, mm.
    pub from_leader_mm: f64,
    /// How far it may miss and still leave either strip half a blank to read, mm.
    pub margin_mm: f64,
}

/// The frames and cuts of one roll.
#[derive(Debug, Clone, PartialEq)]
pub struct ShotList {
    /// The frames in the order they are exposed.
    pub shots: Vec<Shot>,
    /// The cuts from the leader on.
    pub cuts: Vec<Cut>,
    /// Where frame 1 is taken to begin, mm from the beginning of the leader; a camera may differ by a frame or more.
    pub first_frame_mm: f64,
}

impl ShotList {
    /// Frames the roll must give.
    pub fn frames(&self) -> u32 {
        self.shots.len() as u32
    }
}

/// The shot list for `strips` developing times over `offset_stops`.
///
/// # Units
/// Stops from the meter reading; `advance_perforations` perforations a frame; clicks of the leader; lengths in mm.
/// # Domain
/// `strips` within [`STRIPS`]; five or more different offsets within [`OFFSET_STOPS`], sorted for the list.
/// # Errors
/// Out of range, fewer than five different offsets.
/// # Source
/// Own derivation from [G4].
pub fn shot_list(
    strips: usize,
    offset_stops: &[f64],
    pitch: Pitch,
    leader_clicks: u32,
    advance_perforations: u32,
) -> Result<ShotList, Error> {
    STRIPS.check(strips as f64)?;
    bounds::ADVANCE_PERFORATIONS.check(f64::from(advance_perforations))?;
    bounds::ALLOWANCE_CLICKS.check(f64::from(leader_clicks))?;
    for &stops in offset_stops {
        OFFSET_STOPS.check(stops)?;
    }
    let mut stops = offset_stops.to_vec();
    stops.sort_by(f64::total_cmp);
    stops.dedup();
    if stops.len() < 5 || stops.len() != offset_stops.len() {
        return Err(Error::new(
            Kind::Inconsistent,
            "exposures of a strip",
            format!("{} different of {}", stops.len(), offset_stops.len()),
            "five or more exposures, each once",
            "Add exposures, or take out those that stand twice.",
        ));
    }
    let advance_mm = pitch.length().to_mm() * f64::from(advance_perforations);
    let leader_mm = pitch.length().to_mm() * f64::from(leader_clicks * PERFORATIONS_PER_CLICK);
    let mut list = ShotList {
        shots: Vec::new(),
        cuts: Vec::new(),
        first_frame_mm: leader_mm,
    };
    for strip in 0..strips {
        let spare = (strip + 1 < strips).then_some(Exposed::Spare);
        let exposures = std::iter::once(Exposed::Blank)
            .chain(stops.iter().map(|&s| Exposed::Stops(s)))
            .chain(spare);
        for exposed in exposures {
            list.shots.push(Shot {
                frame: list.frames() + 1,
                strip,
                exposed,
            });
        }
        if spare.is_some() {
            list.cuts.push(Cut {
                after_frame: list.frames(),
                from_leader_mm: leader_mm + f64::from(list.frames()) * advance_mm,
                margin_mm: 0.5 * advance_mm,
            });
        }
    }
    Ok(list)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// [G4], [G5]: 38 mm a frame; three strips of ten exposures, a blank each and two spares are 35 frames.
    #[test]
    fn three_usual_strips_fit_a_roll_of_36() {
        let list = shot_list(3, &USUAL_OFFSETS, Pitch::Long, 4, 8).unwrap();
        assert_eq!(list.frames(), 35);
        let cuts: Vec<u32> = list.cuts.iter().map(|c| c.after_frame).collect();
        assert_eq!(cuts, [12, 24]);
        assert!((list.cuts[0].from_leader_mm - 16.0 * 38.0).abs() < 1e-9);
    }

    #[test]
    fn scissors_fall_between_two_blanks() {
        let list = shot_list(4, &USUAL_OFFSETS, Pitch::Short, 4, 8).unwrap();
        for cut in &list.cuts {
            let before = list.shots[cut.after_frame as usize - 1];
            let after = list.shots[cut.after_frame as usize];
            assert_eq!(before.exposed, Exposed::Spare);
            assert_eq!(after.exposed, Exposed::Blank);
            assert_eq!(before.strip + 1, after.strip);
        }
    }

    #[test]
    fn exposures_come_from_little_light_to_much_whatever_the_order_given() {
        let list = shot_list(1, &[2.0, 0.0, -4.0, -2.0, -6.0], Pitch::Long, 4, 8).unwrap();
        let stops: Vec<f64> = list
            .shots
            .iter()
            .filter_map(|s| match s.exposed {
                Exposed::Stops(s) => Some(s),
                _ => None,
            })
            .collect();
        assert_eq!(stops, [-6.0, -4.0, -2.0, 0.0, 2.0]);
    }

    #[test]
    fn too_few_or_doubled_exposures_are_refused() {
        for bad in [
            &[0.0, 1.0, 2.0, 3.0][..],
            &[0.0, 1.0, 2.0, 3.0, 4.0, 4.0],
            &[f64::NAN; 5],
        ] {
            assert!(shot_list(2, bad, Pitch::Long, 4, 8).is_err());
        }
        assert!(shot_list(0, &USUAL_OFFSETS, Pitch::Long, 4, 8).is_err());
        assert!(shot_list(9, &USUAL_OFFSETS, Pitch::Long, 4, 8).is_err());
    }
}
