//! What cannot be right is refused.

use spoolwright_core::wedge::scan::{Channel, Layout, Point, Quad, Reference, read};
use spoolwright_core::{Error, Kind};

use super::scene::{CLEAR, Scene, W, codes, layout, read_scene, rectangle};

pub(crate) fn refusal(scene: &Scene, layout: &Layout) -> Error {
    read(&mut scene.draw(), layout).expect_err("refused")
}

pub(crate) fn with_reference(change: impl Fn(&mut Reference)) -> Layout {
    let mut changed = layout();
    change(changed.reference.as_mut().unwrap());
    changed
}

#[test]
fn a_wedge_that_cannot_be_right_is_refused() {
    let plain = Scene::plain();
    let around = |r: &mut Reference| {
        let [a, b, c, d] = r.corners.0;
        r.corners = Quad([b, a, d, c]);
    };
    let error = refusal(&plain, &with_reference(around));
    assert_eq!(error.kind, Kind::Inconsistent);
    assert!(
        error.what.contains("gets lighter where the densities rise"),
        "{error}"
    );
    let error = refusal(
        &plain,
        &Layout {
            inverted: true,
            ..layout()
        },
    );
    assert_eq!(error.kind, Kind::Inconsistent);
    // Its own strip as the wedge, with the strip's densities: that is right. With two steps exchanged it is not.
    let mut exchanged = plain.draw();
    for y in 170..240u32 {
        for x in 0..37u32 {
            let at = |x: u32| (y * W + x) as usize;
            exchanged.values.swap(at(246 + x), at(320 + x));
        }
    }
    let error = read(&mut exchanged, &layout()).expect_err("refused");
    assert!(error.what.contains("wrong order"), "{error}");
    let kinds = [
        (Kind::Missing, with_reference(|r| r.density.truncate(4))),
        (Kind::Inconsistent, with_reference(|r| r.density.swap(3, 4))),
        (
            Kind::Inconsistent,
            with_reference(|r| r.density[3] = r.density[4]),
        ),
        (Kind::OutOfRange, with_reference(|r| r.density[20] = 9.0)),
        (
            Kind::OutOfRange,
            with_reference(|r| r.density[20] = f64::NAN),
        ),
        (Kind::OutOfRange, with_reference(|r| r.density_sd = -1.0)),
        (Kind::OutOfRange, with_reference(|r| r.inset = 0.5)),
    ];
    for (kind, layout) in kinds {
        assert_eq!(refusal(&plain, &layout).kind, kind);
    }
    let mut blank = plain.draw();
    blank.values.iter_mut().for_each(|v| *v = 30_000);
    let error = read(&mut blank, &layout()).expect_err("refused");
    assert!(error.what.contains("too few steps"), "{error}");
    blank.values.iter_mut().for_each(|v| *v = 0);
    let error = read(&mut blank, &layout()).expect_err("refused");
    assert!(error.what.contains("too few steps"), "{error}");
    assert_eq!(error.given, "0 of 21");
}

#[test]
fn without_a_wedge_only_linear_sixteen_bits_are_read() {
    let bare = Layout {
        reference: None,
        ..layout()
    };
    let linear = Layout {
        linear: true,
        ..bare.clone()
    };
    let eight = Scene {
        sixteen: false,
        ..Scene::plain()
    };
    assert_eq!(refusal(&Scene::plain(), &bare).kind, Kind::Missing);
    assert_eq!(refusal(&eight, &bare).kind, Kind::Missing);
    assert_eq!(refusal(&eight, &linear).kind, Kind::Missing);
    let scene = Scene {
        corner_light: 0.8,
        ..Scene::plain()
    };
    let reading = read_scene(&scene, &linear);
    assert!(codes(&reading).contains(&"linear_by_word"));
    for (patch, truth) in reading.strip.iter().zip(Scene::strip()) {
        let read = patch.density.unwrap();
        // Over the clear film of the border.
        let off = (read.mean - (truth - CLEAR)).abs();
        assert!(
            off < 0.02 && off < 0.002 + 3.0 * read.sd,
            "{truth}: {read:?}"
        );
        // Stray light is allowed for: dense patches are not sure.
        assert!(truth < 2.2 || 0.02 < read.sd, "{truth}: {read:?}");
    }
    let no_border = Layout {
        clear_border: Vec::new(),
        ..linear
    };
    let reading = read_scene(&Scene::plain(), &no_border);
    let zero = reading.strip[0].density.unwrap();
    assert!(
        zero.mean == 0.0 && 0.005 <= zero.sd,
        "nothing is known exactly: {zero:?}"
    );
    assert!((reading.strip[5].density.unwrap().mean - 5.0 * 0.155).abs() < 0.01);
}

#[test]
fn corners_that_make_no_patches_are_refused() {
    let plain = Scene::plain();
    let with = |corners: Quad| {
        let mut changed = layout();
        changed.strip.corners = corners;
        refusal(&plain, &changed)
    };
    let p = |x, y| Point { x, y };
    let crossed = Quad([
        p(60.0, 60.0),
        p(840.0, 130.0),
        p(840.0, 60.0),
        p(60.0, 130.0),
    ]);
    assert_eq!(with(crossed).kind, Kind::Inconsistent);
    assert_eq!(with(Quad([p(5.0, 5.0); 4])).kind, Kind::Inconsistent);
    assert_eq!(
        with(rectangle((60.0, 901.0), (60.0, 130.0))).kind,
        Kind::OutOfRange
    );
    assert_eq!(
        with(rectangle((60.0, f64::NAN), (60.0, 130.0))).kind,
        Kind::OutOfRange
    );
    assert_eq!(
        with(rectangle((60.0, 100.0), (60.0, 66.0))).kind,
        Kind::Impossible
    );
    let red = Layout {
        channel: Channel::Red,
        ..layout()
    };
    assert_eq!(refusal(&plain, &red).kind, Kind::Inconsistent);
    let borders = Layout {
        clear_border: vec![layout().strip.corners; 9],
        ..layout()
    };
    assert_eq!(refusal(&plain, &borders).kind, Kind::TooLarge);
}
