//! The winding ticket: what to do at the loader for one roll, and what the roll will be.
//!
//! Counts clicks, says where the dial or the crank stops, draws the roll's anatomy from the spool
//! outward and refuses a roll that fits no cassette or reel. It does not know cans: what is left in
//! one is [`crate::remaining`]'s business.
//!
//! Invariant: the shot order is the reverse of the winding order, so the tail costs the last frames.

use crate::bounds;
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::film::{self, Light, PERFORATIONS_PER_CLICK, Pitch};
use crate::quantity::{Estimate, Length};
use crate::remaining::defaults::{CLICK_SCALE, UNCOUNTED_MM};
use crate::spool;

/// Clicks allowed for the leader (common practice, no source).
pub const LEADER_CLICKS: u32 = 4;
/// What a loader with a crank draws, as a multiple of the spiral's length: half a millimetre more or less on the hub is about 3 % of the roll.
pub const CRANK_SCALE: Estimate = Estimate::new(1.0, 0.03);
/// Hub of a cassette's spool (common practice, no source: measure it).
pub const HUB: Length = Length::mm(11.0);
/// Longest film a tank reel takes when the user's own reels are not known (common practice, no source).
pub const REEL: Length = Length::mm(1650.0);
/// Part of a turn to which a crank is counted.
const TURN_STEP: f64 = 0.25;

/// Where a loader's counter stands, and whether it starts again from zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Dial {
    /// What the dial shows before the first click: -4 stands four below zero and swallows the leader.
    pub zero_offset: i32,
    /// After this many clicks the dial shows the same figure again; `None` for one that counts on.
    pub wraps_at: Option<u32>,
}

/// How a loader tells how much film has been wound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Counter {
    /// A sprocket wheel that clicks once per eight perforations and turns a dial.
    Clicks(Dial),
    /// A crank on the cassette's spool and nothing else: turns are counted by hand.
    Crank {
        /// Diameter of the cassette spool's hub.
        hub: Length,
        /// Total thickness of the film.
        thickness: Length,
    },
}

impl Default for Counter {
    fn default() -> Self {
        Self::Clicks(Dial::default())
    }
}

/// What a cassette and a reel can hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// More full frames than this earn a caveat.
    pub warn_above_frames: u32,
    /// More full frames than this are refused.
    pub stop_above_frames: u32,
    /// The longest film the user's reels take; `None` when no reel is to be considered.
    pub reel: Option<Length>,
}

impl Limits {
    /// Film on a usual base: a caveat above 38 frames, a refusal above 41 (common practice, no source).
    pub const USUAL_BASE: Self = Self {
        warn_above_frames: 38,
        stop_above_frames: 41,
        reel: Some(REEL),
    };
    /// Film on a thin base: about 45 frames fit ([G20]), so more than 41 earn a caveat; 72, the
    /// longest length that a cassette's contacts can name, is the end.
    pub const THIN_BASE: Self = Self {
        warn_above_frames: 41,
        stop_above_frames: 72,
        reel: Some(REEL),
    };
}

impl Default for Limits {
    fn default() -> Self {
        Self::USUAL_BASE
    }
}

/// One roll to be wound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// Frames wanted, in the camera's own format.
    pub frames: u32,
    /// Perforations the camera moves the film per frame: 8 for full frames, 4 for half frames.
    pub advance_perforations: u32,
    /// The film's pitch.
    pub pitch: Pitch,
    /// Light while the cassette is wound shut.
    pub light: Light,
    /// Clicks for the leader.
    pub leader_clicks: u32,
    /// Clicks for the tail; `None` takes [`Light::tail_clicks`].
    pub tail_clicks: Option<u32>,
    /// How this loader counts.
    pub counter: Counter,
    /// What this loader really draws per click; `None` takes [`CLICK_SCALE`] or [`CRANK_SCALE`].
    pub click_scale: Option<Estimate>,
    /// Uncounted film of one roll in mm.
    pub uncounted_mm: Estimate,
    /// What cassette and reel hold.
    pub limits: Limits,
}

impl Request {
    /// A roll of `frames` full frames on long pitch, wound in room light on a clicking loader.
    pub fn full_frames(frames: u32) -> Self {
        Self {
            frames,
            advance_perforations: PERFORATIONS_PER_CLICK,
            pitch: Pitch::Long,
            light: Light::Room,
            leader_clicks: LEADER_CLICKS,
            tail_clicks: None,
            counter: Counter::default(),
            click_scale: None,
            uncounted_mm: UNCOUNTED_MM,
            limits: Limits::default(),
        }
    }
}

/// A part of a wound roll.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The uncounted end that is taped to the spool; it always sees light.
    TapedEnd,
    /// The allowance behind the last frame, struck by light when the loader is opened.
    Tail,
    /// The frames, last shot first.
    Frames,
    /// The allowance in front of the first frame, for threading.
    Leader,
}

impl Part {
    /// The word used in files and contracts.
    pub const fn word(self) -> &'static str {
        match self {
            Self::TapedEnd => "taped_end",
            Self::Tail => "tail",
            Self::Frames => "frames",
            Self::Leader => "leader",
        }
    }
}

/// Where a part lies, measured from the spool outward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// Which part.
    pub part: Part,
    /// Its end nearer to the spool.
    pub start: Length,
    /// Its end nearer to the cassette's lip.
    pub end: Length,
}

/// Where to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stop {
    /// At this reading of the dial.
    Dial {
        /// What the dial shows at the stop.
        reading: i32,
        /// How often the dial has passed its highest figure on the way; 0 for a dial that counts on.
        rounds: u32,
    },
    /// After so many turns of the crank.
    Crank {
        /// Turns to make: `exact` rounded up to the quarter, so that no frame is lost.
        turns: f64,
        /// Turns by the spiral, not rounded.
        exact: f64,
    },
}

/// What to do at the loader, and what comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Ticket {
    /// Clicks to count, or what they would be on a loader with a crank.
    pub clicks: u32,
    /// Clicks that hold the frames.
    pub frame_clicks: u32,
    /// Clicks for the leader.
    pub leader_clicks: u32,
    /// Clicks for the tail.
    pub tail_clicks: u32,
    /// Where to stop.
    pub stop: Stop,
    /// Film drawn from the can in mm, uncounted film included.
    pub drawn_mm: Estimate,
    /// Expected length of film inside the cassette, taped end included.
    pub in_cassette: Length,
    /// Expected length that goes on a reel: everything but the taped end.
    pub on_reel: Length,
    /// Frames of the camera's format that the light-struck tail would have held.
    pub light_struck_frames: u32,
    /// The roll from the spool outward.
    pub anatomy: Vec<Segment>,
    /// What to mind.
    pub caveats: Vec<Caveat>,
}

/// Film that a roll of `clicks` draws from its can, in mm.
///
/// # Units
/// clicks; `click_scale` without unit; `uncounted_mm` and the result in mm.
/// # Domain
/// `clicks` within [`bounds::CLICKS`], means within [`bounds::CLICK_SCALE`] and [`bounds::UNCOUNTED_MM`].
/// # Errors
/// Out of range.
/// # Source
/// Own derivation from [G4]: mean = clicks · 8 · pitch · k + u, the two uncertainties independent.
pub fn drawn_mm(
    clicks: u32,
    pitch: Pitch,
    click_scale: Estimate,
    uncounted_mm: Estimate,
) -> Result<Estimate, Error> {
    bounds::CLICKS.check(f64::from(clicks))?;
    check_estimate(bounds::CLICK_SCALE, "click_scale", click_scale)?;
    check_estimate(bounds::UNCOUNTED_MM, "uncounted_mm", uncounted_mm)?;
    let counted = pitch.click().to_mm() * f64::from(clicks);
    Ok(Estimate::new(
        counted * click_scale.mean + uncounted_mm.mean,
        (counted * click_scale.sd).hypot(uncounted_mm.sd),
    ))
}

/// Whole clicks that a length still allows once the uncounted film is taken off; 0 when there are none.
///
/// # Units
/// `length` as a length; `uncounted_mm` in mm; result in clicks.
/// # Domain
/// `length` finite; means as in [`drawn_mm`].
/// # Errors
/// Out of range.
/// # Source
/// Own derivation: the inverse of [`drawn_mm`], rounded down.
pub fn clicks_within(
    length: Length,
    pitch: Pitch,
    click_scale: f64,
    uncounted_mm: f64,
) -> Result<u32, Error> {
    bounds::CLICK_SCALE.check(click_scale)?;
    bounds::UNCOUNTED_MM.check(uncounted_mm)?;
    if !length.to_mm().is_finite() {
        return Err(bounds::CAN_LENGTH_M
            .check(length.to_m())
            .expect_err("not finite"));
    }
    let clicks = (length.to_mm() - uncounted_mm) / (pitch.click().to_mm() * click_scale);
    // A length cut to whole clicks must give them back in spite of rounding.
    Ok((clicks + 1e-9).floor().clamp(0.0, f64::from(u32::MAX)) as u32)
}

/// The winding ticket of one roll.
///
/// # Units
/// As named by the fields of [`Request`] and [`Ticket`].
/// # Domain
/// Every number within the bound of its name in [`bounds`].
/// # Errors
/// Out of range; impossible when the roll fits no cassette or no reel.
/// # Source
/// Own derivation from [G4], [G5]; turns of a crank by the ideal spiral ([R1]); allowances and
/// limits are common practice without a source, and each can be changed.
pub fn ticket(request: &Request) -> Result<Ticket, Error> {
    let r = request;
    let frame_clicks = film::clicks_for_frames(r.frames, r.advance_perforations)?;
    let tail_clicks = r.tail_clicks.unwrap_or(r.light.tail_clicks());
    bounds::ALLOWANCE_CLICKS.check_as("leader clicks", f64::from(r.leader_clicks))?;
    bounds::ALLOWANCE_CLICKS.check_as("tail clicks", f64::from(tail_clicks))?;
    let clicks = frame_clicks + r.leader_clicks + tail_clicks;
    let scale = r.click_scale.unwrap_or(match r.counter {
        Counter::Clicks(_) => CLICK_SCALE,
        Counter::Crank { .. } => CRANK_SCALE,
    });
    let drawn_mm = drawn_mm(clicks, r.pitch, scale, r.uncounted_mm)?;
    let click = r.pitch.click() * scale.mean;
    let on_reel = click * f64::from(clicks);

    let mut caveats = Vec::new();
    check_cassette(frame_clicks, r, &mut caveats)?;
    check_reel(on_reel, r.limits.reel)?;
    if r.light == Light::Room && tail_clicks < Light::Room.tail_clicks() {
        caveats.push(Caveat::new(
            "short_tail",
            format!(
                "Opening the loader in room light usually strikes {} clicks; this tail has {tail_clicks}, so the \
                 last frames may be lost.",
                Light::Room.tail_clicks()
            ),
        ));
    }
    Ok(Ticket {
        clicks,
        frame_clicks,
        leader_clicks: r.leader_clicks,
        tail_clicks,
        stop: stop(r, clicks, &mut caveats)?,
        drawn_mm,
        in_cassette: Length::mm(drawn_mm.mean),
        on_reel,
        light_struck_frames: match r.light {
            Light::Room => (tail_clicks * PERFORATIONS_PER_CLICK).div_ceil(r.advance_perforations),
            Light::Dark => 0,
        },
        anatomy: anatomy(
            Length::mm(r.uncounted_mm.mean),
            click,
            tail_clicks,
            frame_clicks,
            r.leader_clicks,
        ),
        caveats,
    })
}

fn anatomy(taped: Length, click: Length, tail: u32, frames: u32, leader: u32) -> Vec<Segment> {
    let parts = [
        (Part::TapedEnd, taped),
        (Part::Tail, click * f64::from(tail)),
        (Part::Frames, click * f64::from(frames)),
        (Part::Leader, click * f64::from(leader)),
    ];
    let mut start = Length::mm(0.0);
    let mut segments = Vec::new();
    for (part, length) in parts {
        let end = start + length;
        if length.to_mm() > 0.0 {
            segments.push(Segment { part, start, end });
        }
        start = end;
    }
    segments
}

fn stop(r: &Request, clicks: u32, caveats: &mut Vec<Caveat>) -> Result<Stop, Error> {
    match r.counter {
        Counter::Clicks(dial) => {
            bounds::DIAL_OFFSET.check(f64::from(dial.zero_offset))?;
            let sum = dial.zero_offset + clicks as i32;
            let Some(wrap) = dial.wraps_at else {
                return Ok(Stop::Dial {
                    reading: sum,
                    rounds: 0,
                });
            };
            bounds::DIAL_WRAP.check(f64::from(wrap))?;
            let wrap = wrap as i32;
            let rounds = sum.div_euclid(wrap) - dial.zero_offset.div_euclid(wrap);
            if rounds > 0 {
                caveats.push(Caveat::new(
                    "dial_wraps",
                    format!("The dial passes its highest figure {rounds} time(s) before the stop: count the clicks."),
                ));
            }
            Ok(Stop::Dial {
                reading: sum.rem_euclid(wrap),
                rounds: rounds as u32,
            })
        }
        Counter::Crank { hub, thickness } => {
            bounds::CORE_MM.check_as("the hub's diameter", hub.to_mm())?;
            let exact = spool::turns(r.pitch.click() * f64::from(clicks), hub, thickness)?;
            caveats.push(Caveat::new(
                "crank_turns",
                "Turns depend on the hub's diameter and the film's thickness: measure both on your own cassettes.",
            ));
            Ok(Stop::Crank {
                turns: ((exact - 1e-9) / TURN_STEP).ceil() * TURN_STEP,
                exact,
            })
        }
    }
}

fn check_cassette(full_frames: u32, r: &Request, caveats: &mut Vec<Caveat>) -> Result<(), Error> {
    let Limits {
        warn_above_frames: warn,
        stop_above_frames: stop,
        ..
    } = r.limits;
    if stop < full_frames {
        return Err(Error::new(
            Kind::Impossible,
            "frames: the roll does not fit a cassette",
            format!("{} frames, as long as {full_frames} full frames", r.frames),
            format!("up to the length of {stop} full frames"),
            "Wind two shorter rolls, or say that the stock has a thin base if it has.",
        ));
    }
    if warn < full_frames {
        caveats.push(Caveat::new(
            "tight_cassette",
            format!(
                "A roll as long as {full_frames} full frames is tight in a cassette: it may scratch or jam near the \
                 end. Up to {warn} wind freely."
            ),
        ));
    }
    Ok(())
}

fn check_reel(on_reel: Length, reel: Option<Length>) -> Result<(), Error> {
    let Some(reel) = reel else { return Ok(()) };
    bounds::REEL_MM.check(reel.to_mm())?;
    if on_reel.to_mm() <= reel.to_mm() + 1e-6 {
        return Ok(());
    }
    Err(Error::new(
        Kind::Impossible,
        "frames: the roll does not fit the reel",
        format!("{:.0} mm with leader and tail", on_reel.to_mm()),
        format!("up to {:.0} mm on this reel", reel.to_mm()),
        "Wind fewer frames, shorten leader or tail, or give your reel's own limit.",
    ))
}

fn check_estimate(bound: bounds::Bounds, name: &str, e: Estimate) -> Result<(), Error> {
    bound.check_as(name, e.mean)?;
    let sd = bounds::Bounds {
        what: "a standard deviation",
        unit: bound.unit,
        min: 0.0,
        max: bound.max - bound.min,
    };
    sd.check_as(&format!("{name}, standard deviation"), e.sd)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn request() -> Request {
        Request::full_frames(18)
    }

    fn crank(frames: u32, hub: f64, thickness: f64) -> Request {
        let counter = Counter::Crank {
            hub: Length::mm(hub),
            thickness: Length::mm(thickness),
        };
        Request {
            counter,
            ..Request::full_frames(frames)
        }
    }

    /// The worked case of the contract: 18 + 4 + 2 = 24 clicks; a dial that starts at -4 shows 20.
    #[test]
    fn eighteen_frames_in_room_light() {
        let dial = Dial {
            zero_offset: -4,
            wraps_at: None,
        };
        let t = ticket(&Request {
            counter: Counter::Clicks(dial),
            ..request()
        })
        .unwrap();
        assert_eq!(
            (t.clicks, t.frame_clicks, t.leader_clicks, t.tail_clicks),
            (24, 18, 4, 2)
        );
        assert_eq!(
            t.stop,
            Stop::Dial {
                reading: 20,
                rounds: 0
            }
        );
        assert_eq!(t.light_struck_frames, 2);
        assert!((t.drawn_mm.mean - (24.0 * 38.0 + 95.0)).abs() < 1e-9);
        assert!((t.drawn_mm.sd - (24.0f64 * 38.0 * 0.003).hypot(25.0)).abs() < 1e-9);
        assert_eq!(t.caveats, []);
    }

    #[test]
    fn darkness_needs_no_tail() {
        let t = ticket(&Request {
            light: Light::Dark,
            ..request()
        })
        .unwrap();
        assert_eq!((t.clicks, t.light_struck_frames), (22, 0));
        let own = ticket(&Request {
            light: Light::Dark,
            tail_clicks: Some(1),
            ..request()
        })
        .unwrap();
        assert_eq!((own.clicks, own.light_struck_frames), (23, 0));
    }

    #[test]
    fn a_tail_shorter_than_the_light_earns_a_caveat() {
        let t = ticket(&Request {
            tail_clicks: Some(0),
            ..request()
        })
        .unwrap();
        assert_eq!(t.caveats[0].code, "short_tail");
    }

    /// Common practice, no source: a 30.48 m can gives about 18 rolls of 36 ([G19]); 40 clicks draw 1.615 m.
    #[test]
    fn a_hundred_feet_give_eighteen_rolls_and_a_short_one() {
        let drawn = drawn_mm(40, Pitch::Long, CLICK_SCALE, UNCOUNTED_MM)
            .unwrap()
            .mean;
        assert!((drawn - 1615.0).abs() < 1e-9);
        let can = Length::ft(100.0).to_mm();
        assert_eq!((can / drawn).floor(), 18.0);
        let end = Length::mm(can - 18.0 * drawn);
        let short = clicks_within(end, Pitch::Long, 1.0, UNCOUNTED_MM.mean).unwrap();
        assert_eq!(short, 34);
    }

    /// Half frames share clicks; panoramic frames of 14 perforations take more than one each.
    #[test]
    fn other_formats_round_up_to_clicks() {
        let half = ticket(&Request {
            advance_perforations: 4,
            ..Request::full_frames(37)
        })
        .unwrap();
        assert_eq!(
            (half.frame_clicks, half.clicks, half.light_struck_frames),
            (19, 25, 4)
        );
        let wide = ticket(&Request {
            advance_perforations: 14,
            ..Request::full_frames(10)
        })
        .unwrap();
        assert_eq!((wide.frame_clicks, wide.light_struck_frames), (18, 2));
    }

    #[test]
    fn a_dial_that_wraps_says_how_often() {
        let counter = Counter::Clicks(Dial {
            zero_offset: 0,
            wraps_at: Some(20),
        });
        let t = ticket(&Request {
            counter,
            ..request()
        })
        .unwrap();
        assert_eq!(
            t.stop,
            Stop::Dial {
                reading: 4,
                rounds: 1
            }
        );
        assert_eq!(t.caveats[0].code, "dial_wraps");
        let counter = Counter::Clicks(Dial {
            zero_offset: -4,
            wraps_at: Some(40),
        });
        let t = ticket(&Request {
            counter,
            ..request()
        })
        .unwrap();
        assert_eq!(
            t.stop,
            Stop::Dial {
                reading: 20,
                rounds: 1
            }
        );
    }

    /// Independent sum: the length is added turn by turn, each at the middle of its layer.
    #[test]
    fn crank_turns_agree_with_layers_added_up() {
        let (hub, thickness) = (11.0, 0.135);
        let t = ticket(&crank(18, hub, thickness)).unwrap();
        let Stop::Crank { turns, exact } = t.stop else {
            panic!("a crank")
        };
        let steps = 100_000;
        let length: f64 = (0..steps)
            .map(|i| {
                let turn = exact * (f64::from(i) + 0.5) / f64::from(steps);
                std::f64::consts::PI * (hub + 2.0 * thickness * turn) * exact / f64::from(steps)
            })
            .sum();
        assert!((length - 24.0 * 38.0).abs() < 0.01, "{length}");
        assert!(exact <= turns && turns < exact + 0.25 && (turns * 4.0).fract() == 0.0);
        assert!(t.drawn_mm.sd > 30.0, "turns are less certain than clicks");
    }

    #[test]
    fn cassette_and_reel_limits() {
        let dark = |frames, limits| {
            ticket(&Request {
                light: Light::Dark,
                limits,
                ..Request::full_frames(frames)
            })
        };
        let no_reel = |limits| Limits {
            reel: None,
            ..limits
        };
        assert!(dark(38, Limits::USUAL_BASE).unwrap().caveats.is_empty());
        assert_eq!(
            dark(39, Limits::USUAL_BASE).unwrap().caveats[0].code,
            "tight_cassette"
        );
        assert!(dark(41, no_reel(Limits::USUAL_BASE)).is_ok());
        assert_eq!(
            dark(42, no_reel(Limits::USUAL_BASE)).unwrap_err().kind,
            Kind::Impossible
        );
        assert_eq!(
            dark(45, no_reel(Limits::THIN_BASE)).unwrap().caveats[0].code,
            "tight_cassette"
        );
        let e = dark(45, Limits::THIN_BASE).unwrap_err();
        assert!(
            e.what.contains("reel") && e.given.contains("1862 mm"),
            "{e}"
        );
    }

    #[test]
    fn the_usual_longest_roll_fits_the_default_reel() {
        let t = ticket(&Request::full_frames(36)).unwrap();
        assert!((t.on_reel.to_mm() - 1596.0).abs() < 1e-9);
    }

    #[test]
    fn hostile_numbers_are_refused() {
        for bad in [f64::NAN, f64::INFINITY, -1.0, 0.0, 1e300] {
            assert!(ticket(&crank(18, bad, 0.135)).is_err());
            assert!(ticket(&crank(18, 11.0, bad)).is_err());
            assert!(
                ticket(&Request {
                    click_scale: Some(Estimate::new(bad, 0.0)),
                    ..request()
                })
                .is_err()
            );
            assert!(
                ticket(&Request {
                    limits: Limits {
                        reel: Some(Length::mm(bad)),
                        ..Limits::default()
                    },
                    ..request()
                })
                .is_err()
            );
        }
        for bad in [f64::NAN, f64::INFINITY, -1.0, 1e300] {
            assert!(
                ticket(&Request {
                    uncounted_mm: Estimate::new(bad, 1.0),
                    ..request()
                })
                .is_err()
            );
            assert!(
                ticket(&Request {
                    uncounted_mm: Estimate::new(95.0, bad),
                    ..request()
                })
                .is_err()
            );
            assert!(clicks_within(Length::m(1.0), Pitch::Long, 1.0, bad).is_err());
        }
        assert!(clicks_within(Length::mm(f64::NAN), Pitch::Long, 1.0, 95.0).is_err());
        assert_eq!(
            clicks_within(Length::m(-5.0), Pitch::Long, 1.0, 95.0),
            Ok(0)
        );
        assert!(ticket(&Request::full_frames(0)).is_err());
        assert!(ticket(&Request::full_frames(u32::MAX)).is_err());
        assert!(
            ticket(&Request {
                leader_clicks: 31,
                ..request()
            })
            .is_err()
        );
        for wraps_at in [0, 9, u32::MAX] {
            let counter = Counter::Clicks(Dial {
                zero_offset: 0,
                wraps_at: Some(wraps_at),
            });
            assert!(
                ticket(&Request {
                    counter,
                    ..request()
                })
                .is_err()
            );
        }
        for zero_offset in [i32::MIN, i32::MAX] {
            let counter = Counter::Clicks(Dial {
                zero_offset,
                wraps_at: None,
            });
            assert!(
                ticket(&Request {
                    counter,
                    ..request()
                })
                .is_err()
            );
        }
    }

    proptest! {
        /// The anatomy has no gap, ends at the roll's length, and clicks that fit a length draw no more than it.
        #[test]
        fn laws(frames in 1u32..41, perforations in 1u32..9, leader in 0u32..10, tail in 0u32..5, k in 0.98..1.02f64) {
            let limits = Limits { reel: None, ..Limits::default() };
            let t = ticket(&Request {
                advance_perforations: perforations, leader_clicks: leader, tail_clicks: Some(tail),
                click_scale: Some(Estimate::new(k, 0.0)), limits, ..Request::full_frames(frames)
            }).unwrap();
            let mut at = 0.0;
            for s in &t.anatomy {
                prop_assert!((s.start.to_mm() - at).abs() < 1e-9);
                at = s.end.to_mm();
            }
            prop_assert!((at - t.in_cassette.to_mm()).abs() < 1e-6);
            prop_assert!(frames * perforations <= t.frame_clicks * 8);
            prop_assert!(t.frame_clicks * 8 < frames * perforations + 8);
            let back = clicks_within(Length::mm(t.drawn_mm.mean), Pitch::Long, k, UNCOUNTED_MM.mean).unwrap();
            prop_assert_eq!(back, t.clicks);
        }
    }
}
