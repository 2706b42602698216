//! The wedge bench's pages: what is refused and kept, what a form without scripts can do, what the address carries.
//!
//! The strips are straight lines over a toe, made up: 0.10 over base + fog lies at known stops.

use axum::http::StatusCode;
use spoolwright::service::draft::StockDraft;
use spoolwright::service::paper::PaperDraft;
use spoolwright::service::wedge::{ReadingsDraft, TestDraft};
use spoolwright_core::shelf::{StockCardId, WedgeTestId};

use super::Site;

const STEPS: [i32; 9] = [-6, -5, -4, -3, -2, -1, 0, 1, 2];

/// Two strips whose straight part starts at -4 stops, `shift` stops later for the second test.
fn table(shift: f64) -> String {
    let mut text = String::from("step;6;9\nbase+fog;0.20;0.21\n");
    for step in STEPS {
        let along = (f64::from(step) + 4.5 - shift).max(0.0) * std::f64::consts::LOG10_2;
        text.push_str(&format!(
            "{step};{:.3};{:.3}\n",
            0.20 + 0.5 * along,
            0.21 + 0.7 * along
        ));
    }
    text
}

/// A site with two tests of one stock; both read, the second half a stop slower.
fn site() -> Site {
    let site = Site::empty();
    let s = &site.service;
    let stock = StockDraft {
        name: "Grey".into(),
        ..StockDraft::default()
    };
    s.save_stock(None, &stock, None).unwrap();
    for (name, shift) in [("old", 0.0), ("new", 0.5)] {
        let test = TestDraft {
            name: name.into(),
            stock: "Grey".into(),
            steps: STEPS.map(|s| s.to_string()).join(" "),
            times: "6 9".into(),
            meter_ei: "100".into(),
            ..TestDraft::default()
        };
        let id = s.begin_test(&test, None).unwrap().value.unwrap();
        let readings = ReadingsDraft {
            table: table(shift),
            ..ReadingsDraft::default()
        };
        s.put_readings(id, &readings, None).unwrap();
    }
    site
}

/// A grid with a third strip of 12 min in its first free column.
fn grid(cell: &str) -> String {
    let mut form = String::from("t0=6&t1=9&t2=12&f2-visual=0,22");
    for (row, step) in STEPS.iter().enumerate() {
        let typed = if row == 3 {
            cell.into()
        } else {
            format!("{:.2}", 0.3 + 0.2 * f64::from(step + 6))
        };
        form.push_str(&format!("&d2-visual-{row}={}", typed.replace('.', ",")));
    }
    form
}

#[tokio::test]
async fn a_grid_names_the_cell_it_refuses_and_keeps_the_rest() {
    let site = site();
    let page = site.post("/wedge/1/type", &grid("0,9x")).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("12 min, \u{2212}3");
    page.says("value=\"0,9x\"");
    page.says("value=\"0,30\"");
    let kept = site.post_and_follow("/wedge/1/type", &grid("0,90")).await;
    kept.says("Read one strip of the test old.");
    kept.says("9 of 9 steps, typed, base + fog 0.22");
}

/// A grid sent back as it was shown reads nothing anew: the strips keep their source.
#[tokio::test]
async fn an_unchanged_grid_changes_nothing() {
    let site = site();
    let form = "t0=6&t1=9&t2=";
    let page = site.post_and_follow("/wedge/1/type", form).await;
    assert!(!page.text.contains("class=\"done\""));
    page.says("9 of 9 steps, typed");
}

/// What is typed anew gets the uncertainty typed with it; strips read before keep their source, their uncertainty,
/// and stay left out.
#[tokio::test]
async fn an_uncertainty_is_that_of_the_strips_typed_with_it() {
    let site = site();
    let test = WedgeTestId(1);
    let scanned = ReadingsDraft {
        table: table(0.0),
        density_sd: "0.02".into(),
        source: "scan wall.tif".into(),
    };
    site.service.put_readings(test, &scanned, None).unwrap();
    let first = site.service.wedge_test(test).unwrap().strips[0].id;
    site.service
        .leave_strip_out(test, first, true, None)
        .unwrap();
    let before = site.service.wedge_test(test).unwrap().strips;
    let shown = site.get("/wedge/1/type").await;
    assert!(!shown.text.contains("value=\"0.02\""));

    let whole = "t0=6&t1=9&t2=&density_sd=0.01";
    let refused = site.post("/wedge/1/type", whole).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.says("no strip typed or changed");
    assert_eq!(site.service.wedge_test(test).unwrap().strips, before);

    let third = grid("0,90") + "&density_sd=0,01";
    let kept = site.post_and_follow("/wedge/1/type", &third).await;
    kept.says("Read one strip of the test old.");
    let after = site.service.wedge_test(test).unwrap().strips;
    assert_eq!(after[..2], before[..]);
    assert_eq!(after[2].density_sd, Some(0.01));
}

/// A time in thirds of a minute is shown short, and the strip under it is known again.
#[tokio::test]
async fn a_time_in_seconds_is_shown_short_and_found_again() {
    let site = site();
    let test = WedgeTestId(2);
    let read = ReadingsDraft {
        table: table(0.0).replace(";6;", ";8:20;"),
        ..ReadingsDraft::default()
    };
    site.service.put_readings(test, &read, None).unwrap();
    for path in ["/wedge/2", "/wedge/2/type", "/wedge/2/table.csv"] {
        let page = site.get(path).await;
        assert!(!page.text.contains("8.3333"), "{path}");
    }
    site.get("/wedge/2/type").await.says("8:20 min");
    let mut form = String::from("t0=8%3A20&f0-visual=0,22");
    for row in 0..STEPS.len() {
        form.push_str(&format!("&d0-visual-{row}=0,{}", 30 + 5 * row));
    }
    site.post_and_follow("/wedge/2/type", &form).await;
    let strips = site.service.wedge_test(test).unwrap().strips;
    assert_eq!(strips.len(), 3);
    let known = strips.iter().find(|s| s.time_min == 25.0 / 3.0).unwrap();
    assert_eq!(known.base_fog, Some(0.22));
}

/// A grid sends the times of strips it has back as they are, whatever they are.
#[tokio::test]
async fn odd_times_of_strips_stay_what_they_are() {
    for (time, shown) in [("7.25", "7:15"), ("6.67", "6.670"), ("120", "120:00")] {
        let site = site();
        let test = WedgeTestId(2);
        let read = ReadingsDraft {
            table: table(0.0).replace(";6;", &format!(";{time};")),
            ..ReadingsDraft::default()
        };
        site.service.put_readings(test, &read, None).unwrap();
        let page = site.get("/wedge/2/type").await;
        page.says(&format!("{shown} min"));
        page.says(&format!("value=\"{shown}\""));
        let mut form = format!("t0={}&f0-visual=0,22", shown.replace(':', "%3A"));
        for row in 0..STEPS.len() {
            form.push_str(&format!("&d0-visual-{row}=0,{}", 30 + 5 * row));
        }
        site.post_and_follow("/wedge/2/type", &form).await;
        let strips = site.service.wedge_test(test).unwrap().strips;
        let want: f64 = time.parse().unwrap();
        let kept = strips.iter().find(|s| s.time_min == want).unwrap();
        assert_eq!((strips.len(), kept.base_fog), (3, Some(0.22)), "{time}");
    }
}

/// The list says what lengths count from, and how to measure it in the camera at hand.
#[tokio::test]
async fn cuts_say_where_frame_1_is_taken_to_begin() {
    let page = site().get("/wedge/1").await;
    page.says("Counted with frame 1 beginning");
    page.says("mark the camera’s window at frame 1, and add the difference to every cut.");
    page.says("shorter than 1 s");
}

#[tokio::test]
async fn before_a_can_is_opened_nothing_is_sealed_up() {
    let page = site().get("/wedge/new").await;
    page.says("do not seal it up");
    assert!(!page.text.contains("close the can"));
}

/// A number is given once, and begins at the clock, so that one from before the last start is none of them.
#[tokio::test]
async fn pictures_are_numbered_by_the_clock() {
    let site = site();
    let mut png = Vec::new();
    let mut encoder = png::Encoder::new(&mut png, 4, 4);
    encoder.set_color(png::ColorType::Grayscale);
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&[128; 16]).unwrap();
    writer.finish().unwrap();
    let hold = |bytes: &[u8]| site.service.hold_picture("wall.png", bytes.to_vec());
    let first = hold(&png).unwrap();
    assert!(first >= u64::try_from(super::a_day().as_millisecond()).unwrap());
    assert!(hold(b"no picture").is_err());
    // The refused one has taken the place of the first, and gave it to nobody.
    assert!(site.service.held_picture(first).is_err());
    let second = hold(&png).unwrap();
    assert!(second > first);
    assert!(site.service.held_picture(second).is_ok());
}

#[tokio::test]
async fn the_part_that_follows_a_slider_is_only_that_part() {
    let site = site();
    let part = site
        .get("/wedge/1/target?target=own&measure=gamma&contrast=0,6")
        .await;
    assert_eq!(part.status, StatusCode::OK);
    for part_of_page in ["answer", "ground"] {
        part.says(&format!("data-part=\"{part_of_page}\""));
    }
    assert!(!part.text.contains("<main"), "{}", part.text);
    part.says("/wedge/1/card?target=own&amp;measure=gamma&amp;contrast=0,6");
    let bad = site
        .get("/wedge/1/target?target=own&measure=gamma&contrast=steep")
        .await;
    bad.says("class=\"refused\"");
    let page = site.get("/wedge/1?target=own&measure=gamma").await;
    page.says("Develop for");
    let far = site
        .get("/wedge/1?target=own&measure=gamma&contrast=2.9")
        .await;
    assert_eq!(far.status, StatusCode::OK);
    far.says("class=\"refused\"");
    assert!(!far.text.contains("Make the stock card"));
}

/// Half a stop later on the same slopes is half a stop slower.
#[tokio::test]
async fn two_tests_are_compared() {
    let site = site();
    let page = site.get("/wedge/compare?first=1&second=2").await;
    assert_eq!(page.status, StatusCode::OK);
    page.says("At equal contrast");
    page.says("more than noise");
    page.says("\u{2212}0.5");
    // Two tests are there to start from, the older first, whichever page asks.
    let chosen = [
        "<option value=\"1\" selected>old",
        "<option value=\"2\" selected>new",
    ];
    in_order(&site.get("/wedge/compare").await, &chosen);
    in_order(&site.get("/wedge/compare?first=1").await, &chosen);
    let [old, new] = chosen;
    in_order(&site.get("/wedge/compare?first=2").await, &[new, old]);
    let none = site.get("/wedge/compare?first=1&second=9").await;
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn a_card_keeps_the_target_of_its_address() {
    let site = site();
    let form = "target=own&measure=gamma&contrast=0.6&ei=&note=wall&sure=yes";
    let card = site.post_and_follow("/wedge/1/card", form).await;
    card.says("in force");
    card.says("gamma");
    site.get("/stocks/1").await.says("/cards/1");
    let newer = site
        .post_and_follow(
            "/wedge/1/card",
            "target=own&measure=gamma&contrast=0.7&ei=80&sure=yes",
        )
        .await;
    newer.says("chosen, not found");
    let older = site.get("/cards/1").await;
    older.says("older card");
    // Each prints the sheet it came from, not that of the newest.
    for (card, target) in [(1, "gamma 0.60"), (2, "gamma 0.70")] {
        let address = format!("/cards/{card}/sheet.pdf");
        site.get(&format!("/cards/{card}")).await.says(&address);
        let pdf = site.get(&address).await;
        assert_eq!(pdf.header("content-type"), "application/pdf");
        let sheet = site
            .service
            .print_card(StockCardId(card), &PaperDraft::default())
            .unwrap();
        let svg = sheet.to_svg(0).unwrap();
        assert!(svg.contains(target), "{card}: {svg}");
    }
    let none = site.get("/cards/3/sheet.pdf").await;
    assert_eq!(none.status, StatusCode::NOT_FOUND);
}

/// All of these stand in the page, each after the one before.
fn in_order(page: &super::Page, words: &[&str]) {
    let mut rest = page.text.as_str();
    for word in words {
        let (_, after) = rest
            .split_once(word)
            .unwrap_or_else(|| panic!("no {word} there in {words:?}"));
        rest = after;
    }
}

/// The answer, then what moves it, then what it rests on; how the test was made comes last.
#[tokio::test]
async fn the_answer_of_a_test_stands_at_its_top() {
    let site = site();
    let page = site.get("/wedge/1").await;
    in_order(
        &page,
        &[
            "<h1>",
            "How long, at what speed",
            "Develop for",
            "95 %: ",
            "EI by your meter",
            "95 %: ",
            "Contrast to aim at",
            "Make the stock card",
            "id=\"time-contrast",
            "The curves",
            "id=\"curves",
            "Strips as read",
            "How it was made",
        ],
    );
    // A contrast that no time gives leaves dashes where the answer stands, and says why below the switch.
    let far = site
        .get("/wedge/1?target=own&measure=gamma&contrast=2.9")
        .await;
    in_order(
        &far,
        &["—", "Contrast to aim at", "class=\"refused\"", "The curves"],
    );
}

/// What a stock is rated at and where that comes from, before cards, cans and the form.
#[tokio::test]
async fn a_stock_begins_with_its_ei_and_where_it_comes_from() {
    let site = site();
    let page = site.get("/stocks/1").await;
    page.says("not known: a test finds it");
    site.post_and_follow("/stocks/1", "name=Grey&ei=64").await;
    let page = site.get("/stocks/1").await;
    page.says("as entered with the stock, not tested here");
    site.post_and_follow("/wedge/1/card", "ei=80&sure=yes")
        .await;
    site.post_and_follow("/wedge/1/card", "ei=50&sure=yes")
        .await;
    let page = site.get("/stocks/1").await;
    assert!(!page.text.contains("as entered with the stock"));
    site.get("/stocks").await.says("<b>50</b>EI");
    in_order(
        &page,
        &[
            "Rate it at",
            "50",
            "chosen, not found",
            "/cards/2",
            "Develop for",
            "The newest card",
            "Older cards",
            "/cards/1",
            "Cans of it",
            "Change it",
            "<form",
            "name=\"name\"",
        ],
    );
}

#[tokio::test]
async fn no_picture_is_no_scan() {
    let site = site();
    for (body, words) in [("", "empty"), ("GIF89a, say", "no picture")] {
        let page = site.post("/wedge/1/scan/picture?name=x", body).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{body}");
        page.says(words);
    }
    let gone = site.get("/wedge/1/scan?picture=7").await;
    assert_eq!(gone.status, StatusCode::NOT_FOUND);
    gone.says("Choose the file again");
}

/// The three layers of a colour film give one speed, said to be from memory, on the test and where its card is made.
#[tokio::test]
async fn a_colour_test_begins_with_the_speed_of_its_layers_together() {
    let site = Site::empty();
    site.post("/stocks", "name=Tint&process=colour-negative")
        .await;
    let begun = "name=tint&stock=Tint&way=absolute&log_h_at_zero_density=0.1&times=8\
                 &steps=0.05+0.35+0.65+0.95+1.25+1.55+1.85+2.15+2.45+2.75";
    site.post_and_follow("/wedge", begun).await;
    let mut table = String::from("step;8 red;8 green;8 blue\nbase+fog;0.20;0.55;0.80\n");
    for i in 0..10 {
        let step = 0.05 + 0.30 * f64::from(i);
        // A toe at density 2.0 of the wedge and a slope of 0.6, made up.
        let above = 0.6 / 4.0 * (4.0 * (2.0 - step)).exp().ln_1p();
        table.push_str(&format!(
            "{step:.2};{:.3};{:.3};{:.3}\n",
            0.20 + above,
            0.55 + above,
            0.80 + above
        ));
    }
    let table = table
        .replace('+', "%2B")
        .replace('\n', "%0A")
        .replace(' ', "+");
    site.post_and_follow("/wedge/1/table", &format!("table={table}"))
        .await;
    let page = site.get("/wedge/1").await;
    in_order(
        &page,
        &[
            "At what speed",
            "Speed",
            "95 %: ",
            "Developed for",
            "from memory",
            "Make a card with an EI of your own",
            "The curves",
        ],
    );
    site.get("/wedge/1/card").await.says("from memory");
}

/// The pages of a test and of its card say that the card is of a test that was changed since.
#[tokio::test]
async fn a_card_of_a_test_changed_since_says_so_on_both_pages() {
    const CHANGED: &str =
        "The test was changed after this card was saved (the meter’s EI): save a new card.";
    let site = site();
    site.post_and_follow("/wedge/1/card", "ei=80&sure=yes")
        .await;
    let before = site.get("/wedge/1").await;
    assert!(!before.text.contains("changed after this card"));
    let view = site.service.wedge_test(WedgeTestId(1)).unwrap();
    let settings = site.service.settings().unwrap();
    let draft = TestDraft {
        meter_ei: "64".into(),
        ..TestDraft::shown(&view.test, &view.stock, None, &settings)
    };
    site.service
        .change_test(WedgeTestId(1), &draft, None)
        .unwrap();
    site.get("/wedge/1").await.says(CHANGED);
    site.get("/cards/1").await.says(CHANGED);
}
