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
            "iso",
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
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// [DX2], the table of speeds, typed in from the source.
    const TABLE: [(u32, u32, &str); 24] = [
        (25, 15, "00010"),
        (32, 16, "00001"),
        (40, 17, "00011"),
        (50, 18, "10010"),
        (64, 19, "10001"),
        (80, 20, "10011"),
        (100, 21, "01010"),
        (125, 22, "01001"),
        (160, 23, "01011"),
        (200, 24, "11010"),
        (250, 25, "11001"),
        (320, 26, "11011"),
        (400, 27, "00110"),
        (500, 28, "00101"),
        (640, 29, "00111"),
        (800, 30, "10110"),
        (1000, 31, "10101"),
        (1250, 32, "10111"),
        (1600, 33, "01110"),
        (2000, 34, "01101"),
        (2500, 35, "01111"),
        (3200, 36, "11110"),
        (4000, 37, "11101"),
        (5000, 38, "11111"),
    ];

    fn dx(iso: f64, exposures: u32, latitude: Latitude) -> Dx {
        Dx {
            iso: Some(iso),
            exposures: Some(exposures),
            latitude: Some(latitude),
        }
    }

    fn codes(encoded: &Encoded) -> Vec<&'static str> {
        encoded.caveats.iter().map(|c| c.code).collect()
    }

    #[test]
    fn speeds_by_the_table() {
        for (iso, degrees, code) in TABLE {
            let encoded = encode(dx(f64::from(iso), 36, Latitude::One)).unwrap();
            assert_eq!(
                encoded.contacts.row1_text(),
                format!("1{code}"),
                "ISO {iso}"
            );
            assert_eq!(encoded.speed, Some(Speed { iso, degrees }));
            assert!(
                encoded.caveats.is_empty(),
                "ISO {iso}: {:?}",
                encoded.caveats
            );
            let said = decode(&format!("1{code}"), "100110").unwrap();
            assert_eq!(said.speed, Some(Speed { iso, degrees }));
        }
    }

    /// The rule stated with [DX2], written out apart from the code under test.
    #[test]
    fn speeds_by_the_rule() {
        for (k, (_, _, code)) in TABLE.iter().enumerate() {
            let trio = k / 3;
            let thirds = ["10", "01", "11"][k % 3];
            let by_rule = format!("{}{}{}{thirds}", trio % 2, trio / 2 % 2, trio / 4);
            assert_eq!(*code, by_rule, "step {k}");
        }
        // 100, 200, 400 and 800 are told apart by S1 and S2 alone.
        let two: std::collections::BTreeSet<_> = [6, 9, 12, 15]
            .iter()
            .map(|k: &usize| &TABLE[*k].2[..2])
            .collect();
        assert_eq!(two.len(), 4);
    }

    #[test]
    fn the_eight_unassigned_codes_hold_no_speed() {
        let mut without = 0;
        for code in 0..32 {
            let row1 = format!("1{code:05b}");
            let said = decode(&row1, "100000").unwrap();
            let listed = TABLE.iter().find(|(_, _, c)| *c == &row1[1..]);
            assert_eq!(
                said.speed.map(|s| s.iso),
                listed.map(|(iso, _, _)| *iso),
                "{row1}"
            );
            without += usize::from(said.speed.is_none());
        }
        assert_eq!(without, 8);
    }

    /// [DX3] and [DX4].
    #[test]
    fn lengths_and_latitudes_by_the_table() {
        let lengths = [
            (18, "000"),
            (12, "100"),
            (20, "010"),
            (24, "110"),
            (36, "001"),
            (48, "101"),
            (60, "011"),
            (72, "111"),
        ];
        let latitudes = [
            ("+0.5/-0.5", "00"),
            ("+1/-1", "10"),
            ("+2/-1", "01"),
            ("+3/-1", "11"),
        ];
        for (n, length) in lengths {
            for (word, range) in latitudes {
                let latitude = Latitude::from_word(word).unwrap();
                let encoded = encode(dx(100.0, n, latitude)).unwrap();
                let row2 = format!("1{length}{range}");
                assert_eq!(encoded.contacts.row2_text(), row2);
                let said = decode("101010", &row2).unwrap();
                assert_eq!(
                    (said.exposures, said.latitude),
                    ((n != 18).then_some(n), latitude)
                );
                let expected: &[&str] = if n == 18 { &["dx_other_length"] } else { &[] };
                assert_eq!(codes(&encoded), expected);
            }
        }
    }

    /// [DX5]: patterns read from real cans.
    #[test]
    fn whole_cans() {
        let cans = [
            ("100110", "100111", 400, 36, Latitude::ThreeOne),
            ("101010", "100100", 100, 36, Latitude::Half),
            ("110110", "100111", 800, 36, Latitude::ThreeOne),
            ("101010", "100110", 100, 36, Latitude::One),
        ];
        for (row1, row2, iso, n, latitude) in cans {
            let encoded = encode(dx(f64::from(iso), n, latitude)).unwrap();
            assert_eq!(
                (
                    encoded.contacts.row1_text().as_str(),
                    encoded.contacts.row2_text().as_str()
                ),
                (row1, row2)
            );
            let said = decode(row1, row2).unwrap();
            assert_eq!(
                (said.speed.map(|s| s.iso), said.exposures, said.latitude),
                (Some(iso), Some(n), latitude)
            );
        }
    }

    #[test]
    fn between_the_steps_the_nearest_third_is_named() {
        for (ei, iso) in [
            (180.0, 200),
            (90.0, 100),
            (300.0, 320),
            (26.0, 25),
            (5500.0, 5000),
            (23.0, 25),
        ] {
            let encoded = encode(dx(ei, 36, Latitude::One)).unwrap();
            // Outside check: the nearest on the nominal scale by ratio.
            let nearest = TABLE.iter().map(|t| t.0).min_by(|a, b| {
                (f64::from(*a) / ei)
                    .ln()
                    .abs()
                    .total_cmp(&(f64::from(*b) / ei).ln().abs())
            });
            assert_eq!(encoded.speed.map(|s| s.iso), nearest, "EI {ei}");
            assert_eq!(encoded.speed.map(|s| s.iso), Some(iso), "EI {ei}");
            assert_eq!(codes(&encoded), ["dx_speed_rounded"]);
            assert!(
                encoded.caveats[0].text.contains(&format!("ISO {iso}/")),
                "{}",
                encoded.caveats[0].text
            );
        }
    }

    #[test]
    fn what_is_absent_is_said() {
        let encoded = encode(Dx::default()).unwrap();
        assert_eq!(
            (
                encoded.contacts.row1_text().as_str(),
                encoded.contacts.row2_text().as_str()
            ),
            ("100000", "100000")
        );
        assert_eq!(codes(&encoded), ["dx_no_speed", "dx_latitude_assumed"]);
        assert_eq!(decode("100000", "100000").unwrap().speed, None);
    }

    #[test]
    fn hostile_input_is_refused() {
        for iso in [
            f64::NAN,
            f64::INFINITY,
            -100.0,
            0.0,
            12.0,
            6400.0,
            1e300,
            5e-324,
        ] {
            assert!(
                encode(Dx {
                    iso: Some(iso),
                    ..Dx::default()
                })
                .is_err(),
                "{iso}"
            );
        }
        for exposures in [0, 801, u32::MAX] {
            assert!(
                encode(Dx {
                    exposures: Some(exposures),
                    ..Dx::default()
                })
                .is_err()
            );
        }
        let long = "1".repeat(10_000_000);
        for row in [
            "", "1", "10011", "1001100", "10o110", "1001²", "１０", " 00110", "000110", "10011\0",
            &long,
        ] {
            let error = decode(row, "100111").unwrap_err();
            assert_eq!(error.what, "row1");
            assert!(error.to_string().len() < 300);
            assert!(decode("100111", row).is_err());
        }
        for word in ["", "+1", "3", "+4/-1", "\u{1F39E}", &long] {
            assert!(Latitude::from_word(word).is_err());
        }
        assert_eq!(Latitude::from_word("±0.5").unwrap(), Latitude::Half);
        assert_eq!(
            Latitude::from_word("+3/\u{2212}1").unwrap(),
            Latitude::ThreeOne
        );
    }

    proptest! {
        /// What was coded is read back, and the speed is never more than half a third of a stop away
        /// (the nominal scale itself is rounded by up to 0.03 stop).
        #[test]
        fn round_trip(iso in 25.0_f64..5000.0, n in 1_u32..=800, latitude in 0_usize..4) {
            let latitude = Latitude::ALL[latitude];
            let encoded = encode(dx(iso, n, latitude)).unwrap();
            let said = decode(&encoded.contacts.row1_text(), &encoded.contacts.row2_text()).unwrap();
            prop_assert_eq!(said.speed, encoded.speed);
            prop_assert_eq!(said.exposures, encoded.exposures);
            prop_assert_eq!(said.latitude, latitude);
            let off = (f64::from(encoded.speed.unwrap().iso) / iso).log2().abs();
            prop_assert!(off < 1.0 / 6.0 + 0.03, "{} stop", off);
        }
    }
}
