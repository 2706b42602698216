//! What a sleeve page or envelope may be made of, and what not, with where it is said [F4], [F5], [F6], [F7].
//!
//! Advice, not a promise: what a sleeve is made of stands on its pack, and passing a test says nothing of the next batch.

use crate::words::worded;

worded! {
    /// What touches the negatives.
    Material {
        /// Polyester, uncoated.
        #[default]
        Polyester = "polyester",
        /// Polypropylene, uncoated.
        Polypropylene = "polypropylene",
        /// Polyethylene without a slip agent.
        Polyethylene = "polyethylene",
        /// Low-density polyethylene with a slip agent.
        SlipPolyethylene = "slip-polyethylene",
        /// Polypropylene whose surface was treated.
        TreatedPolypropylene = "treated-polypropylene",
        /// Paper of alpha-cellulose, free of lignin, with an alkali reserve.
        BufferedPaper = "buffered-paper",
        /// The same without alkali reserve.
        NeutralPaper = "neutral-paper",
        /// Any other paper.
        OtherPaper = "other-paper",
        /// Glassine.
        Glassine = "glassine",
        /// Plasticised polyvinyl chloride, the soft clear plastic that smells.
        Pvc = "pvc",
        /// Cellulose nitrate.
        CelluloseNitrate = "cellulose-nitrate",
        /// Nobody knows.
        Unknown = "unknown",
    }
}

worded! {
    /// What to do with it.
    Verdict {
        /// Good for keeping.
        #[default]
        Good = "good",
        /// Good for some film only, or with care.
        WithCare = "with-care",
        /// Not for film that is to be kept.
        Avoid = "avoid",
    }
}

/// What is said of a material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Advice {
    /// In a word.
    pub verdict: Verdict,
    /// In a sentence.
    pub text: &'static str,
    /// Rows of the sources that it rests on.
    pub sources: &'static [&'static str],
}

/// What is said of a material for black-and-white or for colour film.
///
/// # Source
/// [F4] ISO 18902 (a copy of its text), [F5] a manufacturer's care sheet of 2002, [F7] The Permanence and Care of Color
/// Photographs.
pub const fn advice(material: Material, colour: bool) -> Advice {
    const fn said(
        verdict: Verdict,
        text: &'static str,
        sources: &'static [&'static str],
    ) -> Advice {
        Advice {
            verdict,
            text,
            sources,
        }
    }
    match material {
        Material::Polyester => said(
            Verdict::Good,
            "Uncoated polyester is good for keeping. Pockets that film slides in scratch when there is grit in them.",
            &["F5", "F7"],
        ),
        Material::Polypropylene | Material::Polyethylene => said(
            Verdict::Good,
            "Uncoated, it is good for keeping. Film that slides in a pocket is scratched by grit: keep pockets clean.",
            &["F5", "F7"],
        ),
        Material::SlipPolyethylene => said(
            Verdict::Avoid,
            "Polyethylene with a slip agent is named among what to avoid; take one without.",
            &["F7"],
        ),
        Material::TreatedPolypropylene => said(
            Verdict::Avoid,
            "Treated surfaces are named among what to avoid; take uncoated material.",
            &["F5", "F7"],
        ),
        Material::BufferedPaper => {
            if colour {
                said(
                    Verdict::WithCare,
                    "Alkaline paper (pH 7.5 to 9.5) is for black-and-white; for colour take paper near pH 7.",
                    &["F5"],
                )
            } else {
                said(
                    Verdict::Good,
                    "Good when it is more than 87 % alpha-cellulose, free of lignin, pH 7.5 to 9.5, alkali reserve 2 % or more.",
                    &["F5"],
                )
            }
        }
        Material::NeutralPaper => {
            if colour {
                said(
                    Verdict::Good,
                    "Good when it is more than 87 % alpha-cellulose, free of lignin, and near pH 7.",
                    &["F5"],
                )
            } else {
                said(
                    Verdict::WithCare,
                    "For black-and-white paper of pH 7.5 to 9.5 with an alkali reserve of 2 % or more is asked for.",
                    &["F5"],
                )
            }
        }
        Material::OtherPaper => said(
            Verdict::Avoid,
            "Paper that is not known to be alpha-cellulose free of lignin may be acid and abrade the film.",
            &["F4", "F5"],
        ),
        Material::Glassine => said(
            Verdict::Avoid,
            "Glassine is ruled out for film that is to be kept.",
            &["F4"],
        ),
        Material::Pvc => said(
            Verdict::Avoid,
            "PVC is ruled out for film that is to be kept.",
            &["F4"],
        ),
        Material::CelluloseNitrate => said(
            Verdict::Avoid,
            "Cellulose nitrate is ruled out; it decays and burns. Ask an archive before you move it.",
            &["F4", "N2", "N4"],
        ),
        Material::Unknown => said(
            Verdict::Avoid,
            "Without knowing what it is made of nothing good can be said; take a sleeve whose maker says so.",
            &["F4", "F5"],
        ),
    }
}

/// What holds of every enclosure.
pub const ALWAYS: [(&str, &[&str]); 4] = [
    (
        "An enclosure must itself be stable and must not abrade the film; keep what is to last apart from work copies.",
        &["F4"],
    ),
    ("No pressure-sensitive and no rubber adhesive.", &["F5"]),
    (
        "A passed photographic activity test (ISO 18916) speaks of chemical action only, not of sticking or scratching, and \
         only of the batch tested.",
        &["F6"],
    ),
    (
        "Film that slides against a pocket is scratched: move it as little as you can.",
        &["F7"],
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    /// What [F4] rules out and [F5], [F7] name is said so, and every sentence names a source.
    #[test]
    fn the_sources_are_followed() {
        for (material, verdict) in [
            (Material::Pvc, Verdict::Avoid),
            (Material::CelluloseNitrate, Verdict::Avoid),
            (Material::Glassine, Verdict::Avoid),
            (Material::SlipPolyethylene, Verdict::Avoid),
            (Material::TreatedPolypropylene, Verdict::Avoid),
            (Material::Polyester, Verdict::Good),
            (Material::Polypropylene, Verdict::Good),
            (Material::Polyethylene, Verdict::Good),
        ] {
            for colour in [false, true] {
                assert_eq!(advice(material, colour).verdict, verdict, "{material:?}");
            }
        }
        assert_eq!(
            advice(Material::BufferedPaper, false).verdict,
            Verdict::Good
        );
        assert_eq!(
            advice(Material::BufferedPaper, true).verdict,
            Verdict::WithCare
        );
        assert_eq!(advice(Material::NeutralPaper, true).verdict, Verdict::Good);
        for &material in Material::ALL {
            assert!(!advice(material, false).sources.is_empty());
        }
    }
}
