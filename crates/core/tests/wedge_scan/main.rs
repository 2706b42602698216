//! Densities read from pictures whose truth is known, since they are drawn here: what the reading must find, what it
//! must be unsure of, and what it must refuse. The pictures of tests/reference/wedgescan come from outside.

mod refused;
mod scene;
mod stated;

use refused::{refusal, with_reference};
use scene::{Drawn, Scene, W, codes, layout, read_scene, rectangle, worst};
use spoolwright_core::Kind;
use spoolwright_core::wedge::scan::{Channel, Flag, Layout, Point, Quad, Reference, Strip, read};

#[test]
fn densities_come_out_whatever_the_tone_curve() {
    for gamma in [1.0, 1.8, 2.2] {
        for corner_light in [1.0, 0.8] {
            let scene = Scene {
                gamma,
                corner_light,
                ..Scene::plain()
            };
            let reading = read_scene(&scene, &layout());
            assert!(worst(&reading, 2.5) < 0.02, "{}", worst(&reading, 2.5));
        }
    }
}

/// How often the truth lies inside the stated 95 % interval, and how large the interval is: over many pictures, for
/// all patches and for those that noise limits.
fn coverage(scene: &Scene, pictures: u64) -> (f64, f64, usize) {
    let (mut all, mut inside, mut noisy, mut noisy_inside) = (0.0, 0.0, 0, 0.0);
    for seed in 0..pictures {
        let scene = Scene {
            seed: 1000 + seed,
            ..scene.clone()
        };
        let reading = read_scene(&scene, &layout());
        for (patch, truth) in reading.strip.iter().zip(Scene::strip()) {
            let Some(read) = patch.density else { continue };
            let hit = f64::from(u8::from((read.mean - truth).abs() <= 1.96 * read.sd));
            all += 1.0;
            inside += hit;
            if 0.01 < read.sd {
                noisy += 1;
                noisy_inside += hit;
            }
        }
    }
    (
        inside / all,
        noisy_inside / f64::from(noisy),
        noisy as usize,
    )
}

#[test]
fn the_stated_interval_holds_the_truth() {
    let noisy = Scene {
        noise: (0.05, 0.01),
        white: 0.75,
        ..Scene::plain()
    };
    let scenes = [
        ("quiet", Scene::plain()),
        ("noisy", noisy.clone()),
        (
            "noisy, uneven light",
            Scene {
                corner_light: 0.8,
                ..noisy.clone()
            },
        ),
        (
            "noisy, gamma",
            Scene {
                gamma: 2.2,
                noise: (0.05, 0.02),
                white: 0.75,
                ..Scene::plain()
            },
        ),
        (
            "8 bits, gamma",
            Scene {
                sixteen: false,
                gamma: 2.2,
                ..Scene::plain()
            },
        ),
        (
            "8 bits, linear",
            Scene {
                sixteen: false,
                ..Scene::plain()
            },
        ),
    ];
    for (name, scene) in scenes {
        let (all, limited, count) = coverage(&scene, 40);
        let said = format!("{name}: {all:.3} of all, {limited:.3} of {count} that noise limits");
        assert!(0.93 < all, "{said}");
        if name.starts_with("noisy") {
            // Neither too sure nor too careful.
            assert!(
                all < 0.995 && 60 < count && 0.9 < limited && limited < 0.995,
                "{said}"
            );
        }
    }
}

fn has(patch: &spoolwright_core::wedge::scan::PatchReading, flag: Flag) -> bool {
    patch.flags.contains(&flag)
}

#[test]
fn a_clipped_patch_gets_no_density_and_the_others_stay_true() {
    let scene = Scene {
        white: 1.5,
        ..Scene::plain()
    };
    let reading = read_scene(&scene, &layout());
    assert!(has(&reading.strip[0], Flag::Clipped) && reading.strip[0].density.is_none());
    let lost = reading.reference.iter().take_while(|s| !s.used).count();
    assert_eq!(lost, 2, "steps of 0.05 and 0.20 are full white");
    for code in ["clipped", "reference_steps_left_out", "border_unusable"] {
        assert!(codes(&reading).contains(&code), "{code}");
    }
    for (patch, truth) in reading.strip.iter().zip(Scene::strip()).skip(2) {
        let read = patch.density.unwrap();
        assert!(
            (read.mean - truth).abs() < 0.02 + 2.0 * read.sd && read.sd < 0.05,
            "{truth}: {read:?}"
        );
    }
}

/// Signal below noise: no density, or one that owns up.
#[test]
fn a_patch_that_noise_drowns_owns_up() {
    let scene = Scene {
        noise: (0.05, 0.05),
        white: 0.75,
        ..Scene::plain()
    };
    let reading = read_scene(&scene, &layout());
    for (patch, truth) in reading.strip.iter().zip(Scene::strip()) {
        match patch.density {
            Some(read) => {
                assert!(
                    (read.mean - truth).abs() < 3.5 * read.sd,
                    "{truth}: {read:?}"
                );
                assert!(truth < 1.8 || 0.03 < read.sd, "{truth}: {read:?}");
            }
            None => assert!(1.0 < truth && !patch.flags.is_empty(), "{truth}"),
        }
    }
}

/// A wedge that ends at 1.40 cannot tell of 2.4.
#[test]
fn beyond_the_reference_the_doubt_grows_and_then_there_is_nothing() {
    let mut short = layout();
    short.reference = Some(Reference {
        nominal: false,
        corners: rectangle((60.0, 60.0 + 780.0 / 21.0 * 10.0), (170.0, 240.0)),
        density: Scene::wedge()[..10].to_vec(),
        density_sd: 0.0,
        inset: 0.2,
    });
    let reading = read_scene(&Scene::plain(), &short);
    for (patch, truth) in reading.strip.iter().zip(Scene::strip()) {
        let beyond = truth - 1.40;
        assert_eq!(has(patch, Flag::OutsideReference), 0.02 < beyond, "{truth}");
        match patch.density {
            Some(read) => {
                assert!(beyond < 0.3, "{truth}: {read:?}");
                assert!(0.45 * beyond <= read.sd, "{truth}: {read:?}");
                assert!(
                    (read.mean - truth).abs() < 0.01 + 2.0 * read.sd,
                    "{truth}: {read:?}"
                );
            }
            None => assert!(0.25 < beyond, "{truth}"),
        }
    }
    assert!(codes(&reading).contains(&"outside_reference"));
}

#[test]
fn corners_that_are_off_are_seen() {
    let mut off = layout();
    off.strip.corners = rectangle((84.0, 864.0), (60.0, 130.0));
    let reading = read_scene(&Scene::plain(), &off);
    let uneven = reading
        .strip
        .iter()
        .filter(|p| has(p, Flag::Uneven))
        .count();
    assert!(14 <= uneven, "{uneven}");
    let mut miscounted = layout();
    if let Some(reference) = &mut miscounted.reference {
        reference.density.pop();
    }
    let error = refusal(&Scene::plain(), &miscounted);
    assert_eq!(error.kind, Kind::Inconsistent);
    assert!(error.what.contains("not of one density"), "{error}");
}

/// A wedge of 14 steps said to have 21 densities, and the other way round.
#[test]
fn a_wrong_number_of_wedge_densities_is_refused() {
    for count in [14, 15, 18, 20, 22, 24, 28] {
        let densities = with_reference(|r| {
            r.density = (0..count).map(|i| 0.05 + 0.1 * f64::from(i)).collect();
        });
        let error = refusal(&Scene::plain(), &densities);
        assert!(
            error.what.contains("not of one density"),
            "{count}: {error}"
        );
    }
}

/// A scratch of another density through one step: it is less sure, and so is what is read beside it.
#[test]
fn an_uneven_wedge_step_makes_its_neighbours_less_sure() {
    let mut picture = Scene::plain().draw();
    let even = read(&mut picture, &layout()).unwrap();
    // The darker half of step 6 (0.80) has the level of step 7 (0.95).
    for y in 170..240u32 {
        for x in 264..283u32 {
            let at = |x: u32| (y * W + x) as usize;
            picture.values[at(x)] = picture.values[at(x + 22)];
        }
    }
    let uneven = read(&mut picture, &layout()).unwrap();
    assert!(codes(&uneven).contains(&"reference_uneven"));
    // Patch 5 has 0.740, patch 6 0.895.
    for (i, truth) in [(4, 0.740), (5, 0.895)] {
        let (before, after) = (
            even.strip[i].density.unwrap(),
            uneven.strip[i].density.unwrap(),
        );
        assert!(3.0 * before.sd < after.sd, "{before:?} {after:?}");
        assert!((after.mean - truth).abs() < 2.0 * after.sd, "{after:?}");
    }
}

/// A picture cut off at those values of full.
fn cut(scene: &Scene, floor: u16, ceiling: u16) -> Drawn {
    let mut picture = scene.draw();
    for v in &mut picture.values {
        *v = (*v).clamp(floor, ceiling);
    }
    picture
}

#[test]
fn a_picture_cut_off_short_of_white_is_seen() {
    let over = Scene {
        white: 1.3,
        ..Scene::plain()
    };
    let eight = Scene {
        sixteen: false,
        ..over.clone()
    };
    let gamma = Scene {
        gamma: 2.2,
        ..eight.clone()
    };
    // Twelve bits padded to sixteen, a top of no round number, eight bits.
    let pictures = [
        (cut(&over, 0, 65520), "65520"),
        (cut(&over, 0, 64250), "64250"),
        (cut(&eight, 0, 250), "250"),
        (cut(&gamma, 0, 250), "250, gamma"),
    ];
    for (mut picture, name) in pictures {
        let reading = read(&mut picture, &layout()).unwrap();
        assert!(codes(&reading).contains(&"cut_off"), "{name}");
        assert!(has(&reading.strip[0], Flag::Clipped), "{name}");
        assert!(!reading.reference[0].used, "{name}");
        for (patch, truth) in reading.strip.iter().zip(Scene::strip()) {
            let Some(read) = patch.density else { continue };
            assert!(
                (read.mean - truth).abs() < 0.003 + 3.0 * read.sd,
                "{name}, {truth}: {read:?}"
            );
        }
    }
}

#[test]
fn a_picture_cut_off_short_of_black_is_seen() {
    let mut picture = cut(&Scene::plain(), 400, 65535);
    let linear = Layout {
        reference: None,
        linear: true,
        ..layout()
    };
    for layout in [linear, layout()] {
        let reading = read(&mut picture, &layout).unwrap();
        assert!(codes(&reading).contains(&"cut_off"));
        let last = &reading.strip[15];
        assert!(has(last, Flag::Clipped) && last.density.is_none());
    }
    // The same the other way round.
    picture.values.iter_mut().for_each(|v| *v = 65535 - *v);
    let inverted = Layout {
        inverted: true,
        ..layout()
    };
    let reading = read(&mut picture, &inverted).unwrap();
    assert!(has(&reading.strip[15], Flag::Clipped));
}

/// Quiet pictures, in which whole patches hardly differ, are not taken for cut off.
#[test]
fn a_quiet_picture_is_not_taken_for_cut_off() {
    for sixteen in [true, false] {
        for (gamma, noise) in [
            (1.0, (0.0, 0.0)),
            (2.2, (0.001, 0.003)),
            (2.2, (0.0, 0.01)),
            (1.0, (0.003, 0.0005)),
            (1.0, (0.01, 0.0005)),
            (1.8, (0.05, 0.01)),
        ] {
            let scene = Scene {
                sixteen,
                gamma,
                noise,
                white: 0.75,
                ..Scene::plain()
            };
            let reading = read_scene(&scene, &layout());
            assert!(!codes(&reading).contains(&"cut_off"), "{gamma} {noise:?}");
            assert!(!has(&reading.strip[0], Flag::Clipped), "{gamma} {noise:?}");
        }
    }
}

/// Eight bits stored as sixteen, by 257 or by 256, as they are or turned round.
#[test]
fn eight_bits_in_a_file_of_sixteen_are_not_believed() {
    let eight = Scene {
        sixteen: false,
        ..Scene::plain()
    };
    let linear = Layout {
        reference: None,
        linear: true,
        ..layout()
    };
    for (by, inverted) in [(257, false), (256, false), (257, true), (256, true)] {
        let mut picture = eight.draw();
        picture.sixteen = true;
        for v in &mut picture.values {
            *v *= by;
            if inverted {
                *v = 65535 - *v;
            }
        }
        let with = |layout: Layout| Layout { inverted, ..layout };
        let error = read(&mut picture, &with(linear.clone())).expect_err("refused");
        assert_eq!(error.kind, Kind::Missing);
        assert!(error.given.contains("8 bits"), "{error}");
        let reading = read(&mut picture, &with(layout())).unwrap();
        assert!(codes(&reading).contains(&"eight_bits"));
        for (patch, truth) in reading.strip.iter().zip(Scene::strip()) {
            let Some(read) = patch.density else { continue };
            assert!(
                (read.mean - truth).abs() < 0.002 + 3.0 * read.sd,
                "{by} {inverted}, {truth}: {read:?}"
            );
        }
    }
    assert!(!codes(&read_scene(&Scene::plain(), &layout())).contains(&"eight_bits"));
}

#[test]
fn a_border_laid_on_something_else_is_refused() {
    let with = |clear_border: Vec<Quad>| Layout {
        clear_border,
        ..layout()
    };
    let bare = |layout: Layout| Layout {
        reference: None,
        linear: true,
        ..layout
    };
    let on_strip = with(vec![layout().strip.corners]);
    for layout in [on_strip.clone(), bare(on_strip)] {
        let error = refusal(&Scene::plain(), &layout);
        assert_eq!(error.kind, Kind::Inconsistent);
        assert!(error.what.contains("clear_border: not one even"), "{error}");
    }
    // Two of five, or two of four, over parts of strip and wedge: what does not agree is said.
    let mut patchy = layout();
    let half = |y| rectangle((500.0, 840.0), y);
    patchy
        .clear_border
        .extend([half((62.0, 128.0)), half((172.0, 238.0))]);
    let reading = read_scene(&Scene::plain(), &patchy);
    assert!(codes(&reading).contains(&"border_patchy"));
    for (patch, truth) in reading.strip.iter().zip(Scene::strip()) {
        let read = patch.density.unwrap();
        assert!(
            (read.mean - truth).abs() < 3.0 * read.sd,
            "{truth}: {read:?}"
        );
    }
    patchy.clear_border.remove(1);
    let reading = read_scene(&Scene::plain(), &patchy);
    assert!(codes(&reading).contains(&"border_patchy"));
    assert!(!codes(&read_scene(&Scene::plain(), &layout())).contains(&"border_patchy"));
}

/// Stray light is a part of clear, whatever part of full white clear is.
#[test]
fn stray_light_counts_alike_at_any_exposure() {
    let linear = Layout {
        reference: None,
        linear: true,
        ..layout()
    };
    for white in [0.9, 0.1] {
        let scene = Scene {
            white,
            noise: (0.01, 0.0),
            ..Scene::plain()
        };
        let last = read_scene(&scene, &linear).strip[15].density.unwrap();
        // Density 2.395 over clear: 0.0005 of clear is 0.434 × 0.0005 × 10^2.395 = 0.054 of density.
        assert!((last.sd - 0.054).abs() < 0.006, "{white}: {last:?}");
    }
}

#[test]
fn an_inverted_scan_reads_the_same() {
    let mut picture = Scene::plain().draw();
    let straight = read(&mut picture, &layout()).unwrap();
    picture.values.iter_mut().for_each(|v| *v = 65535 - *v);
    let turned = read(
        &mut picture,
        &Layout {
            inverted: true,
            ..layout()
        },
    )
    .unwrap();
    for (a, b) in straight.strip.iter().zip(&turned.strip) {
        let (a, b) = (a.density.unwrap(), b.density.unwrap());
        // The upper of two middle values becomes the lower one.
        assert!((a.mean - b.mean).abs() < 0.5 * a.sd, "{a:?} {b:?}");
    }
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config { cases: 300, failure_persistence: None, ..Default::default() })]

    /// Whatever the picture and the corners: a refusal, or finite numbers.
    #[test]
    fn any_picture_and_any_corners(
        values in proptest::collection::vec(0u16..=65535, 40 * 30),
        quiet in proptest::bool::ANY,
        xs in proptest::collection::vec((0.0f64..40.0, 0.0f64..30.0), 12),
        patches in 1usize..6,
        linear in proptest::bool::ANY,
        inverted in proptest::bool::ANY,
        eight in proptest::bool::ANY,
    ) {
        let base: [(f64, f64); 4] = [(4.0, 4.0), (36.0, 4.0), (36.0, 26.0), (4.0, 26.0)];
        let quad = |i: usize| Quad([0, 1, 2, 3].map(|k: usize| Point {
            x: base[k].0 + (xs[i + k].0 - 20.0) / 5.0,
            y: base[k].1 + (xs[i + k].1 - 15.0) / 3.75,
        }));
        let keep = if eight { 255 } else { 65535 };
        let values = values.iter().enumerate().map(|(i, v)| {
            if quiet { (60_000 - (i as u32 % 40) * 1400) as u16 % keep } else { *v % keep }
        });
        let mut picture = Drawn { width: 40, height: 30, channels: 1, sixteen: !eight, values: values.collect() };
        let layout = Layout {
            strip: Strip { corners: quad(0), patches, inset: 0.1, expected: Vec::new() },
            reference: (!linear).then(|| Reference { nominal: false,
                corners: if quiet { rectangle((0.0, 40.0), (5.0, 25.0)) } else { quad(4) },
                density: vec![0.1, 0.3, 0.6, 0.9, 1.2],
                density_sd: 0.01,
                inset: 0.1,
            }),
            clear_border: vec![quad(8)],
            channel: Channel::Grey,
            linear,
            inverted,
        };
        if let Ok(reading) = read(&mut picture, &layout) {
            for patch in reading.strip {
                proptest::prop_assert!(patch.level.is_finite());
                if let Some(d) = patch.density {
                    proptest::prop_assert!(d.mean.is_finite() && d.sd.is_finite() && 0.0 <= d.sd);
                }
            }
            proptest::prop_assert!(reading.light_range.is_none_or(f64::is_finite));
        }
    }
}
