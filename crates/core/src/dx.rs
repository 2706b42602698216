//! The DX contact pattern of a 35 mm cassette: speed, length and latitude as bare and painted fields.
//!
//! Encodes and decodes; it knows nothing of where the contacts sit in millimetres (not published where
//! we could read it). Invariant: the speed, length and latitude codes hold no guess, so a pattern
//! without an assigned speed decodes to no speed.

use std::fmt;

use crate::bounds;
use crate::caveat::Caveat;
use crate::error::{Error, Kind};

/// Speeds a pattern can hold, third of a stop by third of a stop, with their speed in degrees.
///
/// # Source
/// [DX2]; degrees by [S4].
pub const SPEEDS: [Speed; 24] = {
    let iso = [
        25, 32, 40, 50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600,
        2000, 2500, 3200, 4000, 5000,
    ];
    let mut speeds = [Speed { iso: 0, degrees: 0 }; 24];
    let mut k = 0;
    while k < 24 {
        speeds[k] = Speed {
            iso: iso[k],
            degrees: FIRST_DEGREES + k as u32,
        };
        k += 1;
    }
    speeds
};

/// Degrees of the slowest speed a pattern can hold, ISO 25/15°.
const FIRST_DEGREES: u32 = 15;

/// Roll lengths with a code of their own, by code number 1 to 7; code 0 is any other length [DX3].
pub const EXPOSURES: [u32; 7] = [12, 20, 24, 36, 48, 60, 72];

/// A film speed on the standard scale of thirds of a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Speed {
    /// Arithmetic speed.
    pub iso: u32,
    /// Logarithmic speed, in degrees.
    pub degrees: u32,
}

impl fmt::Display for Speed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "ISO {}/{}°", self.iso, self.degrees)
    }
}

/// Exposure latitude, in stops over and under.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Latitude {
    /// Half a stop either way.
    Half,
    /// One stop either way.
    One,
    /// Two stops over, one under.
    TwoOne,
    /// Three stops over, one under.
    ThreeOne,
}

impl Latitude {
    /// All four, by code number.
    ///
    /// # Source
    /// [DX4].
    pub const ALL: [Self; 4] = [Self::Half, Self::One, Self::TwoOne, Self::ThreeOne];

    /// The word used in files and contracts.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Half => "+0.5/-0.5",
            Self::One => "+1/-1",
            Self::TwoOne => "+2/-1",
            Self::ThreeOne => "+3/-1",
        }
    }

    /// The latitude of that word; `±1`, `+-1` and `+1/-1` are the same.
    ///
    /// # Errors
    /// [`Kind::Unknown`].
    pub fn from_word(word: &str) -> Result<Self, Error> {
        match word.trim().replace('\u{2212}', "-").as_str() {
            "+0.5/-0.5" | "±0.5" | "+-0.5" => Ok(Self::Half),
            "+1/-1" | "±1" | "+-1" => Ok(Self::One),
            "+2/-1" => Ok(Self::TwoOne),
            "+3/-1" => Ok(Self::ThreeOne),
            _ => Err(Error::new(
                Kind::Unknown,
                "latitude",
                quoted(word),
                Self::ALL.map(Self::word).join(", "),
                "Use one of the four ranges a pattern can hold.",
            )),
        }
    }

    fn code(self) -> usize {
        Self::ALL.iter().position(|l| *l == self).unwrap_or(0)
    }
}

/// The twelve contacts, in two rows of six, the end with the spool's post to the left.
/// True is bare metal, which conducts; false is painted.
///
/// # Source
/// [DX1].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Contacts {
    /// Common contact and S1 to S5.
    pub row1: [bool; 6],
    /// Common contact, L1 to L3, T1 and T2.
    pub row2: [bool; 6],
}

impl Contacts {
    /// Names of the contacts, as the rows hold them.
    pub const NAMES: [[&'static str; 6]; 2] = [
        ["G", "S1", "S2", "S3", "S4", "S5"],
        ["G", "L1", "L2", "L3", "T1", "T2"],
    ];

    /// The first row as ones (bare) and noughts (painted).
    pub fn row1_text(&self) -> String {
        row_text(self.row1)
    }

    /// The second row as ones (bare) and noughts (painted).
    pub fn row2_text(&self) -> String {
        row_text(self.row2)
    }

    /// Contacts from two rows of six characters, `1` for bare and `0` for painted.
    ///
    /// # Errors
    /// Rows of another length, with other characters, or with a painted common contact.
    pub fn from_text(row1: &str, row2: &str) -> Result<Self, Error> {
        Ok(Self {
            row1: parse_row("row1", row1)?,
            row2: parse_row("row2", row2)?,
        })
    }
}

/// What a pattern should say. What is absent is coded as the field's emptiest code.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Dx {
    /// Film speed or exposure index.
    pub iso: Option<f64>,
    /// Frames of the roll.
    pub exposures: Option<u32>,
    /// Exposure latitude.
    pub latitude: Option<Latitude>,
}

/// A pattern, and what it really says.
#[derive(Debug, Clone, PartialEq)]
pub struct Encoded {
    /// Which contacts stay bare.
    pub contacts: Contacts,
    /// The speed that was coded, none when none was asked for.
    pub speed: Option<Speed>,
    /// The length that was coded; none is the code for any other length.
    pub exposures: Option<u32>,
    /// The latitude that was coded.
    pub latitude: Latitude,
    /// How the pattern differs from what was asked.
    pub caveats: Vec<Caveat>,
}

/// What a pattern says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Decoded {
    /// The speed; none for the eight codes that have no speed assigned.
    pub speed: Option<Speed>,
    /// The length in exposures; none is the code for any other length.
    pub exposures: Option<u32>,
    /// Exposure latitude.
    pub latitude: Latitude,
}

/// The pattern that says `dx`, with a speed between two steps coded as the nearest third of a stop.
///
/// # Units
/// `iso`: arithmetic speed; `exposures`: frames.
/// # Domain
/// `iso` from 25 to 5000, up to half a step outside; `exposures` within [`bounds::FRAMES`].
/// # Errors
/// A speed or length that is absurd, or a speed that no code can hold.
/// # Source
/// [DX1] layout, [DX2] speeds, [DX3] lengths, [DX4] latitudes, [S4] rounding to degrees.
/// # Example
/// ```
/// use spoolwright_core::dx::{Dx, Latitude, encode};
/// let dx = Dx { iso: Some(400.0), exposures: Some(36), latitude: Some(Latitude::ThreeOne) };
/// let encoded = encode(dx)?;
/// assert_eq!(encoded.contacts.row1_text(), "100110");
/// assert_eq!(encoded.contacts.row2_text(), "100111");
/// # Ok::<(), spoolwright_core::Error>(())
/// ```
pub fn encode(dx: Dx) -> Result<Encoded, Error> {
    let mut caveats = Vec::new();
    let speed = dx
        .iso
        .map(|iso| nearest_speed(iso, &mut caveats))
        .transpose()?;
    if speed.is_none() {
        // That some cameras take ISO 100 is from memory, no source.
        caveats.push(Caveat::new(
            "dx_no_speed",
            "No speed is coded: set the EI on the camera; some cameras then take ISO 100.",
        ));
    }
    let exposures = match dx.exposures {
        Some(n) => {
            bounds::FRAMES.check_as("exposures", f64::from(n))?;
            let coded = EXPOSURES.contains(&n).then_some(n);
            if coded.is_none() {
                caveats.push(Caveat::new(
                    "dx_other_length",
                    format!(
                        "A roll of {n} has no code of its own (those are {}): coded as \"other\", \
                         so the camera cannot know when the roll ends.",
                        EXPOSURES.map(|e| e.to_string()).join(", ")
                    ),
                ));
            }
            coded
        }
        None => None,
    };
    let latitude = dx.latitude.unwrap_or_else(|| {
        caveats.push(Caveat::new(
            "dx_latitude_assumed",
            "No latitude was given: coded as the narrowest, half a stop either way.",
        ));
        Latitude::Half
    });

    let s = speed.map_or([false; 5], speed_bits);
    let length_code = exposures
        .and_then(|n| EXPOSURES.iter().position(|e| *e == n))
        .map_or(0, |i| i + 1);
    let [l1, l2, l3] = bits(length_code);
    let [t1, t2] = bits(latitude.code());
    Ok(Encoded {
        contacts: Contacts {
            row1: [true, s[0], s[1], s[2], s[3], s[4]],
            row2: [true, l1, l2, l3, t1, t2],
        },
        speed,
        exposures,
        latitude,
        caveats,
    })
}

/// What two rows of `1` (bare) and `0` (painted) say.
///
/// # Errors
/// Rows of another length, with other characters, or with a painted common contact.
/// # Source
/// As [`encode`].
/// # Example
/// ```
/// let said = spoolwright_core::dx::decode("110110", "100111")?;
/// assert_eq!(said.speed.map(|s| s.iso), Some(800));
/// # Ok::<(), spoolwright_core::Error>(())
/// ```
pub fn decode(row1: &str, row2: &str) -> Result<Decoded, Error> {
    let Contacts { row1, row2 } = Contacts::from_text(row1, row2)?;
    let within_trio = match (row1[4], row1[5]) {
        (false, false) => None,
        (true, false) => Some(0),
        (false, true) => Some(1),
        (true, true) => Some(2),
    };
    let speed = within_trio.map(|step| SPEEDS[3 * number(&row1[1..4]) + step]);
    let exposures = number(&row2[1..4]).checked_sub(1).map(|i| EXPOSURES[i]);
    Ok(Decoded {
        speed,
        exposures,
        latitude: Latitude::ALL[number(&row2[4..6])],
    })
}

/// The assigned speed nearest to `iso`, in thirds of a stop by degrees, with a caveat if it differs.
fn nearest_speed(iso: f64, caveats: &mut Vec<Caveat>) -> Result<Speed, Error> {
    bounds::SPEED_ISO.check_as("iso", iso)?;
    let steps = (1.0 + 10.0 * iso.log10()).round() - f64::from(FIRST_DEGREES);
    if !(0.0..SPEEDS.len() as f64).contains(&steps) {
        return Err(Error::new(
            Kind::Impossible,
            "iso: no DX code holds it",
            iso,
            "25 to 5000, the speeds a DX pattern can hold",
            "Set the EI on the camera by hand, or code a speed within the range and correct for the difference.",
        ));
    }
    let k = steps as usize;
    let coded = SPEEDS[k];
    let stops = (f64::from(coded.iso) / iso).log2();
    if f64::from(coded.iso) != iso {
        let between = if f64::from(coded.iso) < iso {
            SPEEDS.get(k + 1)
        } else {
            k.checked_sub(1).map(|k| &SPEEDS[k])
        };
        let place = match between {
            Some(other) => format!(
                "EI {iso} lies between ISO {} and ISO {}",
                coded.iso.min(other.iso),
                coded.iso.max(other.iso)
            ),
            None => format!("EI {iso} lies outside the scale of 25 to 5000"),
        };
        caveats.push(Caveat::new(
            "dx_speed_rounded",
            format!(
                "{place}: coded as the nearest third, {coded}, {:.2} stop {}.",
                stops.abs(),
                if stops > 0.0 { "faster" } else { "slower" }
            ),
        ));
    }
    Ok(coded)
}

/// S1 to S5: the trio in S1 to S3, least significant first, the step within it in S4 and S5.
fn speed_bits(speed: Speed) -> [bool; 5] {
    let k = (speed.degrees - FIRST_DEGREES) as usize;
    let [s1, s2, s3] = bits(k / 3);
    let (s4, s5) = [(true, false), (false, true), (true, true)][k % 3];
    [s1, s2, s3, s4, s5]
}

/// A number as bits, least significant first.
fn bits<const N: usize>(value: usize) -> [bool; N] {
    std::array::from_fn(|i| value >> i & 1 == 1)
}

/// The number of bits, least significant first.
fn number(bits: &[bool]) -> usize {
    bits.iter()
        .rev()
        .fold(0, |n, bit| 2 * n + usize::from(*bit))
}

fn row_text(row: [bool; 6]) -> String {
    row.iter()
        .map(|bare| if *bare { '1' } else { '0' })
        .collect()
}

fn parse_row(field: &str, text: &str) -> Result<[bool; 6], Error> {
    let wrong = |remedy: &str| {
        Error::new(
            Kind::OutOfRange,
            field,
            quoted(text),
            "six characters, each 0 or 1, the first one 1",
            remedy,
        )
    };
    let bytes: &[u8; 6] = text
        .as_bytes()
        .try_into()
        .map_err(|_| wrong("Read all six contacts of the row, post to the left."))?;
    let mut row = [false; 6];
    for (bit, byte) in row.iter_mut().zip(bytes) {
        *bit = match byte {
            b'0' => false,
            b'1' => true,
            _ => return Err(wrong("Write 1 for bare metal and 0 for paint.")),
        };
    }
    if row[0] {
        Ok(row)
    } else {
        Err(wrong(
            "The first contact of a row is the common one and is always bare: is the cassette turned round?",
        ))
    }
}

/// Hostile text, short enough for an error message.
fn quoted(text: &str) -> String {
    const LONGEST: usize = 24;
    let mut short: String = text.chars().take(LONGEST).collect();
    if text.chars().nth(LONGEST).is_some() {
        short.push('…');
    }
    format!("{short:?}")
}

#[cfg(test)]
mod tests;
