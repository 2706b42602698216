//! What a person states of strip and wedge, against what the picture shows: which way they lie, the wedge's scale, how
//! many times a value was rounded.

use spoolwright_core::Kind;
use spoolwright_core::wedge::scan::{Layout, Quad, read};

use super::refused::{refusal, with_reference};
use super::scene::{Drawn, Scene, W, codes, layout, read_scene};

fn turned(quad: Quad) -> Quad {
    let [a, b, c, d] = quad.0;
    Quad([b, a, d, c])
}

#[test]
fn a_strip_that_lies_the_wrong_way_round_is_refused_where_its_order_is_known() {
    let plain = Scene::plain();
    let mut known = layout();
    known.strip.expected = (0..16).map(f64::from).collect();
    assert_eq!(read_scene(&plain, &known), read_scene(&plain, &layout()));
    let mut upside_down = known.clone();
    upside_down.strip.corners = turned(known.strip.corners);
    let error = refusal(&plain, &upside_down);
    assert_eq!(error.kind, Kind::Inconsistent);
    assert!(error.what.contains("wrong end"), "{error}");
    assert!(error.remedy.contains("corners 1 with 2"), "{error}");
    // Exposed the other way round, that is how it must lie.
    upside_down.strip.expected = (0..16).map(|i| f64::from(-i)).collect();
    assert!(read(&mut plain.draw(), &upside_down).is_ok());
    known.strip.expected.truncate(3);
    assert_eq!(refusal(&plain, &known).kind, Kind::Inconsistent);
    known.strip.expected = vec![f64::NAN; 16];
    assert_eq!(refusal(&plain, &known).kind, Kind::Inconsistent);
}

/// In a positive that nobody said is one, a wedge given from its wrong end has levels that fall as its densities rise.
#[test]
fn a_positive_and_a_turned_wedge_do_not_cancel() {
    let mut positive = Scene::plain().draw();
    positive.values.iter_mut().for_each(|v| *v = 65535 - *v);
    let around = with_reference(|r| r.corners = turned(r.corners));
    let error = read(&mut positive, &around).expect_err("refused");
    assert!(error.what.starts_with("clear_border: darker"), "{error}");
    let mut known = Layout {
        clear_border: Vec::new(),
        ..around
    };
    known.strip.expected = (0..16).map(f64::from).collect();
    let error = read(&mut positive, &known).expect_err("refused");
    assert!(error.what.contains("wrong end"), "{error}");
}

/// The scale of the wedge in the drawing is known: what is stated is that times a factor.
#[test]
fn a_wrong_scale_is_said_where_no_usual_picture_has_such_a_tone_curve() {
    let doubted = |gamma: f64, factor: f64, linear: bool| {
        let scene = Scene {
            gamma,
            ..Scene::plain()
        };
        let stated = Layout {
            linear,
            ..with_reference(|r| r.density.iter_mut().for_each(|d| *d *= factor))
        };
        let codes = codes(&read_scene(&scene, &stated));
        assert!(codes.contains(&"reference_scale"));
        codes.contains(&"reference_scale_doubtful")
    };
    for gamma in [1.0, 1.8, 2.2, 2.4] {
        assert!(!doubted(gamma, 1.0, false), "{gamma}");
    }
    // 0.10 stated for steps of 0.15.
    assert!(doubted(1.0, 2.0 / 3.0, false) && doubted(2.2, 2.0 / 3.0, false));
    // Steps of 0.15 stated for 0.10.
    assert!(doubted(1.0, 1.5, false) && doubted(2.2, 1.5, false));
    // Nearly twice the truth makes light look like a picture coded for the eye, which nothing in it tells apart; a word does.
    assert!(!doubted(1.0, 1.9, false) && doubted(1.0, 1.9, true));
    assert!(!doubted(1.0, 1.0, true) && doubted(1.0, 0.9, true));
}

#[test]
fn nominal_densities_are_marked() {
    let scene = Scene::plain();
    let said = codes(&read_scene(&scene, &with_reference(|r| r.nominal = true)));
    assert!(said.contains(&"reference_nominal") && !said.contains(&"reference_scale"));
}

/// Grey of 8 bits is as coarse in a file of three equal channels as in a file of one.
#[test]
fn grey_stored_as_colour_is_rounded_once() {
    let quiet = Scene {
        sixteen: false,
        noise: (0.0, 0.0),
        ..Scene::plain()
    };
    let grey = read_scene(&quiet, &layout());
    let triple = |apart: u16| {
        let Drawn { values, .. } = quiet.draw();
        let values = values.iter().enumerate().flat_map(|(i, v)| {
            // One pixel in nine has a colour, as where another program sharpened it.
            let colour = if i % 9 == 0 { apart } else { 0 };
            [*v, *v + colour, *v]
        });
        Drawn {
            channels: 3,
            values: values.collect(),
            ..quiet.draw()
        }
    };
    for apart in [0, 1] {
        let colour = read(&mut triple(apart), &layout()).unwrap();
        for (a, b) in grey.strip.iter().zip(&colour.strip) {
            let (Some(a), Some(b)) = (a.density, b.density) else {
                continue;
            };
            assert!(0.9 * a.sd < b.sd, "{a:?} {b:?}");
        }
    }
    // Three channels that are rounded each for itself are surer than one.
    let mut each = triple(0);
    let width = 3 * W as usize;
    for (i, v) in each.values.iter_mut().enumerate() {
        let (x, channel) = (i % width / 3, i % 3);
        *v = (*v + u16::from(channel == x % 3)).min(254);
    }
    let each = read(&mut each, &layout()).unwrap();
    let (a, b) = (
        grey.strip[8].density.unwrap(),
        each.strip[8].density.unwrap(),
    );
    assert!(b.sd < 0.8 * a.sd, "{a:?} {b:?}");
}
