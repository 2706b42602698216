//! The scan page: nothing measured is supposed, what lies the wrong way round is not kept, doubts are loud.

use axum::http::StatusCode;
use spoolwright::service::draft::StockDraft;
use spoolwright::service::wedge::TestDraft;
use spoolwright_core::shelf::WedgeTestId;

use super::Site;
use crate::scan_picture::{STEPS, STRIP, TURNED, WEDGE, density, png};

/// A test in camera and one through a wedge of nine measured steps, of a negative.
fn site() -> Site {
    let site = Site::empty();
    let stock = StockDraft {
        name: "Grey".into(),
        ..StockDraft::default()
    };
    site.service.save_stock(None, &stock, None).unwrap();
    let camera = TestDraft {
        stock: "Grey".into(),
        steps: STEPS.map(|s| s.to_string()).join(" "),
        times: "6 9".into(),
        meter_ei: "100".into(),
        ..TestDraft::default()
    };
    // The first step is the densest, so that exposure rises along the strip.
    let wedge = TestDraft {
        way: "relative".into(),
        meter_ei: String::new(),
        steps: "1.31 1.15 0.99 0.84 0.66 0.52 0.37 0.21 0.06".into(),
        ..camera.clone()
    };
    for (name, test) in [("camera", camera), ("wedge", wedge)] {
        let test = TestDraft {
            name: name.into(),
            ..test
        };
        site.service.begin_test(&test, None).unwrap();
    }
    site
}

fn hold(site: &Site, uneven: bool) -> u64 {
    site.service.hold_picture("wall.png", png(uneven)).unwrap()
}

const NOMINAL: &str = "wedge_is=nominal&nominal=0.05 0.15 12";

/// What the page's form sends.
fn sent(picture: u64, strip: &str, more: &str) -> String {
    let form = format!("picture={picture}&time=6&blank=first&strip={strip}&wedge={WEDGE}&{more}");
    form.replace(' ', "+")
}

fn stated() -> String {
    let all: Vec<String> = (0..12)
        .map(|i| format!("{:.2}", 0.05 + 0.15 * f64::from(i)))
        .collect();
    format!("wedge_is=stated&densities={}", all.join(" "))
}

#[tokio::test]
async fn no_density_is_there_that_nobody_stated() {
    let site = site();
    let number = hold(&site, false);
    for test in [1, 2] {
        let page = site
            .get(&format!("/wedge/{test}/scan?picture={number}"))
            .await;
        assert_eq!(page.status, StatusCode::OK);
        page.says("name=\"densities\" type=\"text\" value=\"\"");
        page.says("name=\"nominal\" type=\"text\" value=\"\"");
        page.says("S1 to S4");
        page.says("W1 to W4");
        // The wedge that a test was exposed through is known, if it was exposed through one.
        assert_eq!(page.text.contains("value=\"test\""), test == 2);
    }
    let none = sent(number, STRIP, "wedge_is=&densities=");
    let refused = site.get(&format!("/wedge/1/scan?{none}")).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.says("Densities of the wedge in the picture");
    let other = sent(number, STRIP, "wedge_is=test");
    let refused = site.get(&format!("/wedge/1/scan?{other}")).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn a_nominal_wedge_is_marked_and_a_stated_one_is_not() {
    let site = site();
    let number = hold(&site, false);
    for (said, nominal) in [(NOMINAL.to_owned(), true), (stated(), false)] {
        let form = sent(number, STRIP, &said);
        let page = site.get(&format!("/wedge/1/scan?{form}")).await;
        page.says("What was read");
        assert_eq!(
            page.text.contains("densities are nominal"),
            nominal,
            "{said}"
        );
        page.says("goes straight into every density");
        assert!(!page.text.contains("class=\"refused\""));
    }
}

#[tokio::test]
async fn a_strip_from_its_wrong_end_is_not_kept() {
    let site = site();
    let number = hold(&site, false);
    let strips = |test: i64| site.service.wedge_test(WedgeTestId(test)).unwrap().strips;
    // In camera the exposures rise; through the wedge as given they do too.
    for test in [1, 2] {
        let form = sent(number, TURNED, NOMINAL);
        let path = format!("/wedge/{test}/scan");
        let shown = site.get(&format!("{path}?{form}")).await;
        let kept = site.post(&path, &form).await;
        for page in [shown, kept] {
            assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
            page.says("it seems to be read from its wrong end");
            page.says("Exchange the ends of the strip");
        }
        let off = sent(number, STRIP, NOMINAL).replace("blank=first", "blank=last");
        let kept = site.post(&path, &off).await;
        assert_eq!(kept.status, StatusCode::UNPROCESSABLE_ENTITY);
        kept.says("said to be unexposed, is denser");
        assert!(strips(test).is_empty());
        site.post_and_follow(&path, &sent(number, STRIP, NOMINAL))
            .await;
        let read = &strips(test)[0];
        assert!((read.base_fog.unwrap() - density(0)).abs() < 0.01);
        for (i, d) in read.density.iter().enumerate() {
            assert!((d.unwrap() - density(i + 1)).abs() < 0.01, "{i}");
        }
    }
}

#[tokio::test]
async fn doubts_about_the_whole_wedge_are_loud() {
    let site = site();
    for (uneven, wedge, words) in [
        (true, NOMINAL, "The wedge was not read as it should be"),
        // Steps of 0.15 said to be 0.10.
        (
            false,
            "wedge_is=nominal&nominal=0.05 0.10 12",
            "The wedge&#39;s densities may be wrong by a factor",
        ),
    ] {
        let form = sent(hold(&site, uneven), STRIP, wedge);
        let page = site.get(&format!("/wedge/1/scan?{form}")).await;
        page.says("What was read");
        let loud = page.text.find("<section class=\"refused\"").unwrap();
        assert!(page.text[loud..].starts_with(&format!(
            "<section class=\"refused\" role=\"alert\"><h3>{}",
            words.replace("&#39;", "'")
        )));
    }
}

/// A file that is too large is refused by what its length is said to be.
#[tokio::test]
async fn a_file_too_large_is_refused_with_the_limit() {
    let site = site();
    let long = vec![0_u8; 16];
    assert!(site.service.hold_picture("x", long).is_err());
    let page = site
        .post_long("/wedge/1/scan/picture?name=x", 500 * 1024 * 1024)
        .await;
    assert_eq!(page.status, StatusCode::PAYLOAD_TOO_LARGE);
    page.says("at most 400 MB");
    // And the next is taken in.
    let page = site.post("/wedge/1/scan/picture?name=x", "GIF89a").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
}
