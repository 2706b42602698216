//! Cutting rolls: known cases by hand, all ways to cut by brute force on short rolls, laws on any.

use proptest::prelude::*;
use spoolwright_core::Kind;
use spoolwright_core::binder::cut::{Ends, Image, PageFormat, Run, Strip, cut, images, strips};
use spoolwright_core::film::Pitch;

use spoolwright_core::field::record::FrameShape as Shape;

#[path = "common/binder.rs"]
mod binder;

const PAGE: PageFormat = PageFormat {
    rows: 6,
    frames_per_row: 6,
};

fn run(first: &str, frames: u32, shape: Shape) -> Vec<Image> {
    images(
        &Run {
            first: first.to_owned(),
            frames,
            shape,
            last_cut_short: false,
            blank: Vec::new(),
        },
        "",
    )
    .unwrap()
}

fn image(frame: &str, shape: Shape) -> Image {
    Image {
        frame: frame.to_owned(),
        shape,
        blank: false,
        gap_before: 0,
    }
}

fn ends(strips: &[Strip]) -> Vec<(&str, &str)> {
    strips
        .iter()
        .map(|s| (s.first.as_str(), s.last.as_str()))
        .collect()
}

/// [F3]: 36 frames are 6 strips of 6, or 8 strips at 5 to a strip; [G5], [G6]: a cut each 228 mm, or 227.52 mm.
#[test]
fn thirty_six_frames() {
    let roll = run("1", 36, Shape::Full);
    for (pitch, mm) in [(Pitch::Long, 228.0), (Pitch::Short, 227.52)] {
        let cutting = cut(&roll, PAGE, pitch).unwrap();
        assert_eq!(
            ends(&cutting.strips),
            [
                ("1", "6"),
                ("7", "12"),
                ("13", "18"),
                ("19", "24"),
                ("25", "30"),
                ("31", "36")
            ]
        );
        for (i, c) in cutting.cuts.iter().enumerate() {
            let n = (i + 1) as f64;
            assert_eq!(c.perforations, 48.0 * n);
            assert!((c.mm - mm * n).abs() < 1e-9);
            assert_eq!(c.because, format!("{} no longer fits the row", c.before));
        }
        assert!(cutting.caveats.is_empty() && cutting.left_out.is_empty());
    }
    let by_five = PageFormat {
        rows: 7,
        frames_per_row: 5,
    };
    let cutting = cut(&roll, by_five, Pitch::Long).unwrap();
    let frames: Vec<usize> = cutting.strips.iter().map(Strip::frames).collect();
    assert_eq!(frames, [5, 5, 5, 5, 4, 4, 4, 4]);
    assert_eq!(cutting.caveats[0].code, "more_than_a_page");
}

/// 37 frames would leave one alone; seven strips are 6 + 6 + 5 + 5 + 5 + 5 + 5. By hand.
#[test]
fn no_frame_is_left_alone() {
    let cutting = cut(&run("0", 37, Shape::Full), PAGE, Pitch::Long).unwrap();
    let frames: Vec<usize> = cutting.strips.iter().map(Strip::frames).collect();
    assert_eq!(frames, [6, 6, 5, 5, 5, 5, 5]);
    assert_eq!(
        cutting.cuts[2].because,
        "cut early, so that no frame is left alone"
    );
    assert!(cutting.because[1].contains("would leave a strip of one frame"));
    // One frame, or one more than fits where a row holds one: it cannot be avoided, and it is said.
    for (frames, per_row) in [(1, 6), (3, 1)] {
        let page = PageFormat {
            rows: 6,
            frames_per_row: per_row,
        };
        let cutting = cut(&run("1", frames, Shape::Full), page, Pitch::Long).unwrap();
        assert!(cutting.caveats.iter().any(|c| c.code == "strip_of_one"));
        assert!(
            cutting.because[1].contains("cannot be avoided"),
            "{:?}",
            cutting.because
        );
    }
}

/// Numbers as the edge has them, half frames two to a pocket, panoramas whole, the end of the film in a frame. By hand.
#[test]
fn other_shapes() {
    let cutting = cut(&run("0A", 12, Shape::Full), PAGE, Pitch::Long).unwrap();
    assert_eq!(ends(&cutting.strips), [("0A", "5A"), ("6A", "11A")]);
    let cutting = cut(&run("1", 25, Shape::Half), PAGE, Pitch::Long).unwrap();
    assert_eq!(
        ends(&cutting.strips),
        [("1", "5"), ("5A", "9"), ("9A", "13")]
    );
    // Nine half frames take 36 perforations, eight 32: five pockets and four.
    let of: Vec<_> = cutting
        .strips
        .iter()
        .map(|s| (s.perforations, s.pockets()))
        .collect();
    assert_eq!(of, [(36, 5), (32, 4), (32, 4)]);
    // Seven panoramas of two pockets, three to a row: 3 + 2 + 2.
    let cutting = cut(&run("2", 7, Shape::Panoramic), PAGE, Pitch::Long).unwrap();
    assert_eq!(
        ends(&cutting.strips),
        [("2", "6"), ("8", "10"), ("12", "14")]
    );
    // 36 frames and a half: 48 + 5 × 40 + 44 perforations are more even than 2 × 48 + 4 × 40 + 36.
    let torn = Run {
        first: "1".to_owned(),
        frames: 37,
        shape: Shape::Full,
        last_cut_short: true,
        blank: Vec::new(),
    };
    let roll = images(&torn, "").unwrap();
    let cutting = cut(&roll, PAGE, Pitch::Long).unwrap();
    let last = cutting.strips.last().unwrap();
    assert_eq!((last.perforations, last.last.as_str()), (44, "37"));
}

/// A blank frame goes where it saves a strip, and stays where it does not. By hand.
#[test]
fn blank_frames() {
    for (frames, blank, left_out, strips) in [
        (37, "1", vec!["1"], 6),
        (37, "37", vec!["37"], 6),
        (36, "1", vec![], 6),
        (13, "7", vec!["7"], 2),
        (13, "4", vec![], 3),
    ] {
        let roll = images(
            &Run {
                first: "1".to_owned(),
                frames,
                shape: Shape::Full,
                last_cut_short: false,
                blank: vec![blank.to_owned()],
            },
            "",
        )
        .unwrap();
        let cutting = cut(&roll, PAGE, Pitch::Long).unwrap();
        assert_eq!(cutting.left_out, left_out, "{frames} frames, {blank} blank");
        assert_eq!(cutting.strips.len(), strips);
        binder::audit_strips(&roll, PAGE, &cutting.strips);
        if blank == "7" {
            let places: Vec<_> = cutting
                .cuts
                .iter()
                .map(|c| (c.perforations, c.because.as_str()))
                .collect();
            assert_eq!(
                places,
                [
                    (48.0, "blank 7 is left out"),
                    (56.0, "blank 7 was left out")
                ]
            );
        }
    }
    let all: Vec<Image> = run("1", 3, Shape::Full)
        .into_iter()
        .map(|i| Image { blank: true, ..i })
        .collect();
    let cutting = cut(&all, PAGE, Pitch::Long).unwrap();
    assert!(cutting.strips.is_empty());
    assert_eq!(cutting.left_out.len(), 3);
}

/// A cut lies in the middle of a gap; frames that overlap stay together. By hand.
#[test]
fn gaps_and_overlaps() {
    let mut roll = run("1", 8, Shape::Full);
    roll[6].gap_before = 5;
    let cutting = cut(&roll, PAGE, Pitch::Long).unwrap();
    // 1 to 4 and 5 to 8 are 32 and 37 perforations; 1 to 5 and 6 to 8 are 40 and 29.
    assert_eq!(ends(&cutting.strips), [("1", "4"), ("5", "8")]);
    roll[4].gap_before = -2;
    let cutting = cut(&roll, PAGE, Pitch::Long).unwrap();
    assert_eq!(ends(&cutting.strips), [("1", "5"), ("6", "8")]);
    assert_eq!(cutting.caveats[0].code, "overlap");
    roll[4].gap_before = 20;
    let cutting = cut(&roll, PAGE, Pitch::Long).unwrap();
    assert_eq!(cutting.cuts[0].perforations, 42.0);
    assert_eq!(cutting.cuts[0].mm, 199.5);
}

#[test]
fn what_cannot_be_is_refused() {
    let mut joined = run("1", 7, Shape::Full);
    for i in &mut joined[1..] {
        i.gap_before = -1;
    }
    let twice = [image("1", Shape::Full), image("1", Shape::Full)];
    let narrow = PageFormat {
        rows: 6,
        frames_per_row: 1,
    };
    for (roll, page, kind) in [
        (
            &joined[..],
            PageFormat {
                rows: 6,
                frames_per_row: 5,
            },
            Kind::Impossible,
        ),
        (
            &[image("1", Shape::Panoramic)][..],
            narrow,
            Kind::Impossible,
        ),
        (&twice[..], PAGE, Kind::Inconsistent),
        (&[][..], PAGE, Kind::Missing),
        (&[image(" ", Shape::Full)][..], PAGE, Kind::Missing),
        (
            &[image("123456789012345678901", Shape::Full)][..],
            PAGE,
            Kind::TooLarge,
        ),
        (
            &joined[..],
            PageFormat {
                rows: 0,
                frames_per_row: 6,
            },
            Kind::OutOfRange,
        ),
        (
            &joined[..],
            PageFormat {
                rows: 6,
                frames_per_row: 41,
            },
            Kind::OutOfRange,
        ),
    ] {
        assert_eq!(cut(roll, page, Pitch::Long).unwrap_err().kind, kind);
    }
    joined[3].gap_before = -4;
    assert_eq!(
        cut(&joined, PAGE, Pitch::Long).unwrap_err().kind,
        Kind::OutOfRange
    );
    let good = Run {
        first: "1".to_owned(),
        frames: 4,
        shape: Shape::Half,
        last_cut_short: false,
        blank: Vec::new(),
    };
    for (bad, kind) in [
        (
            Run {
                first: "S1".to_owned(),
                ..good.clone()
            },
            Kind::Unknown,
        ),
        (
            Run {
                frames: 0,
                ..good.clone()
            },
            Kind::OutOfRange,
        ),
        (
            Run {
                frames: 801,
                ..good.clone()
            },
            Kind::OutOfRange,
        ),
        (
            Run {
                last_cut_short: true,
                ..good.clone()
            },
            Kind::Impossible,
        ),
        (
            Run {
                blank: vec!["3".to_owned()],
                ..good.clone()
            },
            Kind::Unknown,
        ),
    ] {
        let error = images(&bad, "rolls[3]").unwrap_err();
        assert_eq!(error.kind, kind);
        assert!(error.what.starts_with("rolls[3]."), "{error}");
    }
}

/// The aims of a set of strips, worked out from the contract alone.
fn worth(images: &[Image], pieces: &[(usize, usize)], ends: Ends) -> [u64; 5] {
    let places = binder::starts(images);
    let lengths: Vec<u64> = pieces
        .iter()
        .map(|&(from, to)| (places[to - 1].1 - places[from].0) as u64)
        .collect();
    let kept: usize = pieces.iter().map(|(from, to)| to - from).sum();
    let end = match ends {
        Ends::Even => 0,
        Ends::ShortFirst => lengths.first().copied().unwrap_or(0),
        Ends::ShortLast => lengths.last().copied().unwrap_or(0),
    };
    [
        lengths.len() as u64,
        lengths.iter().filter(|l| **l <= 8).count() as u64,
        (images.len() - kept) as u64,
        end,
        lengths.iter().map(|l| l * l).sum(),
    ]
}

/// Every way to cut and to leave blanks out, tried one by one.
fn brute(images: &[Image], row: i64, ends: Ends) -> Option<[u64; 5]> {
    let places = binder::starts(images);
    let n = images.len();
    let mut best = None;
    // For each border: cut or not; for each picture: kept or not.
    for cuts in 0..1u32 << (n - 1) {
        let cut = |i: usize| i == 0 || i == n || cuts >> (i - 1) & 1 == 1;
        if (1..n).any(|i| cut(i) && images[i].gap_before < 0) {
            continue;
        }
        let borders: Vec<usize> = (0..=n).filter(|&i| cut(i)).collect();
        let pieces: Vec<(usize, usize)> = borders.windows(2).map(|w| (w[0], w[1])).collect();
        let blanks: Vec<usize> = (0..pieces.len())
            .filter(|&p| pieces[p].1 - pieces[p].0 == 1 && images[pieces[p].0].blank)
            .collect();
        for out in 0..1u32 << blanks.len() {
            let kept: Vec<(usize, usize)> = (0..pieces.len())
                .filter(|p| {
                    !blanks
                        .iter()
                        .enumerate()
                        .any(|(b, q)| q == p && out >> b & 1 == 1)
                })
                .map(|p| pieces[p])
                .collect();
            if kept
                .iter()
                .all(|&(from, to)| places[to - 1].1 - places[from].0 <= row)
            {
                let worth = worth(images, &kept, ends);
                if best.is_none_or(|b| worth < b) {
                    best = Some(worth);
                }
            }
        }
    }
    best
}

fn any_roll(most: usize) -> impl Strategy<Value = Vec<Image>> {
    let shape = prop_oneof![
        5 => Just(Shape::Full),
        2 => Just(Shape::Half),
        1 => Just(Shape::Panoramic),
    ];
    let gap = prop_oneof![8 => Just(0), 1 => -3i32..0, 1 => 1i32..30];
    let one = (shape, prop::bool::weighted(0.15), gap);
    prop::collection::vec(one, 1..=most).prop_map(|list| {
        let number = |(i, (shape, blank, gap_before)): (usize, (Shape, bool, i32))| Image {
            frame: i.to_string(),
            shape,
            blank,
            gap_before,
        };
        list.into_iter().enumerate().map(number).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// No cutting is better by the aims in their order; checked against all of them.
    #[test]
    fn no_way_to_cut_is_better(roll in any_roll(10), per_row in 2u32..7, which in 0usize..3) {
        let page = PageFormat { rows: 6, frames_per_row: per_row };
        let ends = [Ends::Even, Ends::ShortFirst, Ends::ShortLast][which];
        let best = brute(&roll, i64::from(page.row_perforations()), ends);
        match strips(&roll, page, ends, "") {
            Ok(found) => {
                binder::audit_strips(&roll, page, &found);
                let pieces: Vec<_> = found.iter().map(|s| (s.from, s.to)).collect();
                prop_assert_eq!(Some(worth(&roll, &pieces, ends)), best);
            }
            Err(e) => {
                prop_assert_eq!(e.kind, Kind::Impossible);
                prop_assert_eq!(best, None);
            }
        }
    }

    /// Nothing lost, nothing twice, nothing cut; each border between two strips has its cut.
    #[test]
    fn nothing_is_lost(roll in any_roll(120), per_row in 1u32..13) {
        let page = PageFormat { rows: 6, frames_per_row: per_row };
        if let Ok(cutting) = cut(&roll, page, Pitch::Long) {
            binder::audit_strips(&roll, page, &cutting.strips);
            let kept: usize = cutting.strips.iter().map(Strip::frames).sum();
            prop_assert_eq!(kept + cutting.left_out.len(), roll.len());
            let places = binder::starts(&roll);
            for c in &cutting.cuts {
                let at = |f: &str| f.parse::<usize>().unwrap();
                prop_assert_eq!(at(&c.after) + 1, at(&c.before));
                let (end, start) = (places[at(&c.after)].1, places[at(&c.before)].0);
                prop_assert!(end as f64 <= c.perforations && c.perforations <= start as f64);
                prop_assert!((c.mm - 4.75 * c.perforations).abs() < 1e-9);
            }
            for w in cutting.strips.windows(2) {
                prop_assert!(cutting.cuts.iter().any(|c| c.after == w[0].last));
                prop_assert!(cutting.cuts.iter().any(|c| c.before == w[1].first));
            }
            prop_assert!(!cutting.because.is_empty());
        }
    }
}
