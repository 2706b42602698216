//! `calc cutstrips`, `calc pages` and `calc contact`: what they answer, and every bad input they must refuse.

use serde_json::{Value, json};

use super::{answer, refusal};

fn page() -> Value {
    json!({"rows": 6, "frames_per_row": 6})
}

fn two_rolls() -> Value {
    json!({
        "rolls": [{"id": "HM-07", "frames": 18}, {"id": "GU-01", "images": [{"frame": "0A"}, {"frame": "1A"}]}],
        "page": page(),
        "order": "any",
    })
}

/// An input with one place changed.
fn with(input: &Value, place: &str, value: Value) -> Value {
    let mut input = input.clone();
    let (parent, name) = place.rsplit_once('/').expect("a place");
    match input.pointer_mut(parent).expect("it is there") {
        Value::Object(fields) => drop(fields.insert(name.to_owned(), value)),
        Value::Array(items) => items[name.parse::<usize>().expect("an index")] = value,
        other => panic!("{other} holds nothing"),
    }
    input
}

fn refused(name: &str, input: &Value, kind: &str, what: &str) {
    let said = refusal(name, input.to_string().as_bytes());
    let told = (said["kind"].as_str(), said["what"].as_str());
    assert_eq!(told, (Some(kind), Some(what)), "{said}");
}

/// The issue's own example: what is asked with fewest words.
#[test]
fn the_shortest_question() {
    let said = answer(
        "pages",
        &json!({"rolls": [{"id": "HM-07", "frames": 18}], "page": page(), "order": "given"}),
    );
    let rows = said["pages"][0]["rows"].as_array().unwrap();
    let strips: Vec<_> = rows
        .iter()
        .map(|r| {
            (
                r["row"].as_u64(),
                &r["strips"][0]["first"],
                &r["strips"][0]["last"],
            )
        })
        .collect();
    assert_eq!(
        strips,
        [
            (Some(1), &json!("1"), &json!("6")),
            (Some(2), &json!("7"), &json!("12")),
            (Some(3), &json!("13"), &json!("18"))
        ]
    );
    assert_eq!(
        said["pages"][0]["free"][0],
        json!({"row": 4, "position": 0, "pockets": 6})
    );
    assert_eq!(
        (&said["new_pages"], &said["proven"]),
        (&json!(1), &json!(true))
    );
}

#[test]
fn bad_rolls_to_cut_are_refused() {
    let one = json!({"frames": 12, "page": page()});
    for (place, value, kind, what) in [
        ("/frames", json!(0), "out_of_range", "frames: out of range"),
        (
            "/frames",
            json!(12.5),
            "unknown",
            "frames: not a whole number",
        ),
        (
            "/first",
            json!("S1"),
            "unknown",
            "first: not a number of a film's edge",
        ),
        ("/shape", json!("square"), "unknown", "shape: not known"),
        (
            "/blank",
            json!(["13"]),
            "unknown",
            "blank[0]: no such frame",
        ),
        ("/blank", json!("13"), "unknown", "blank: not a list"),
        (
            "/images",
            json!([{"frame": "1"}]),
            "inconsistent",
            "frames: not beside images",
        ),
        (
            "/page/rows",
            json!(0),
            "out_of_range",
            "page.rows: out of range",
        ),
        (
            "/page/frames_per_row",
            json!(41),
            "out_of_range",
            "page.frames_per_row: out of range",
        ),
        (
            "/page/columns",
            json!(6),
            "unknown",
            "page.columns: not known",
        ),
        ("/pitch", json!("lang"), "unknown", "pitch: not known"),
        ("/rolls", json!([]), "unknown", "rolls: not known"),
    ] {
        refused("cutstrips", &with(&one, place, value), kind, what);
    }
    let half = json!({"frames": 12, "shape": "half", "last_cut_short": true, "page": page()});
    refused(
        "cutstrips",
        &half,
        "impossible",
        "last_cut_short: not for half frames",
    );
    refused(
        "cutstrips",
        &json!({"page": page()}),
        "missing",
        "frames: missing",
    );
    refused(
        "cutstrips",
        &json!({"frames": 12}),
        "missing",
        "page: missing",
    );
    let listed = json!({"images": [{"frame": "1"}, {"frame": "2"}], "page": page()});
    for (place, value, kind, what) in [
        ("/images", json!([]), "missing", "images: the list is empty"),
        (
            "/images/1/frame",
            json!("1"),
            "inconsistent",
            "images[1].frame: given twice",
        ),
        (
            "/images/1/frame",
            json!(""),
            "missing",
            "images[1].frame: empty",
        ),
        (
            "/images/1/frame",
            json!(2),
            "unknown",
            "images[1].frame: not a string",
        ),
        (
            "/images/1/shape",
            json!("Full"),
            "unknown",
            "images[1].shape: not known",
        ),
        (
            "/images/1/gap_perforations",
            json!(-4),
            "out_of_range",
            "images[1].gap_perforations: out of range",
        ),
        (
            "/first",
            json!("1"),
            "inconsistent",
            "first: not beside images",
        ),
    ] {
        refused("cutstrips", &with(&listed, place, value), kind, what);
    }
    let wide = json!({"images": [{"frame": "1", "shape": "panoramic"}], "page": {"rows": 6, "frames_per_row": 1}});
    refused(
        "cutstrips",
        &wide,
        "impossible",
        "a row is shorter than one picture",
    );
}

#[test]
fn bad_filings_are_refused() {
    let good = two_rolls();
    let many: Vec<Value> = (0..501)
        .map(|i| json!({"id": format!("r{i}"), "frames": 6}))
        .collect();
    for (place, value, kind, what) in [
        ("/rolls", json!([]), "missing", "rolls: the list is empty"),
        ("/rolls", json!(many), "too_large", "rolls: too many"),
        (
            "/rolls/1/id",
            json!("HM-07"),
            "inconsistent",
            "rolls[1].id: given twice",
        ),
        (
            "/rolls/0/frames",
            json!(801),
            "out_of_range",
            "rolls[0].frames: out of range",
        ),
        (
            "/rolls/0/first",
            json!("?"),
            "unknown",
            "rolls[0].first: not a number of a film's edge",
        ),
        (
            "/rolls/0/shape",
            json!("wide"),
            "unknown",
            "rolls[0].shape: not known",
        ),
        (
            "/rolls/1/blank",
            json!([]),
            "inconsistent",
            "rolls[1].blank: not beside images",
        ),
        (
            "/rolls/1/images/0/frame",
            json!("1A"),
            "inconsistent",
            "rolls[1].images[1].frame: given twice",
        ),
        (
            "/rolls/1/images/1/gap_perforations",
            json!(401),
            "out_of_range",
            "rolls[1].images[1].gap_perforations: out of range",
        ),
        (
            "/rolls/1",
            json!({"id": "GU-01"}),
            "missing",
            "rolls[1].frames: missing",
        ),
        ("/order", json!("none"), "unknown", "order: not known"),
        (
            "/order",
            json!("date"),
            "missing",
            "rolls[0].date: missing, and rolls lie by date",
        ),
        (
            "/by_stock",
            json!(true),
            "missing",
            "rolls[0].stock: missing, and pages are kept by stock",
        ),
        (
            "/by_stock",
            json!("yes"),
            "unknown",
            "by_stock: not a boolean",
        ),
        (
            "/rolls/0/date",
            json!("2026-02-30"),
            "unknown",
            "rolls[0].date: not a day",
        ),
        (
            "/started",
            json!({"used_rows": 41}),
            "out_of_range",
            "started.used_rows: out of range",
        ),
        (
            "/started",
            json!({"used_rows": 7}),
            "inconsistent",
            "started.used_rows: more than the page has",
        ),
        (
            "/started",
            json!({}),
            "missing",
            "started.used_rows: missing",
        ),
        (
            "/page",
            json!({"rows": 6}),
            "missing",
            "page.frames_per_row: missing",
        ),
    ] {
        refused("pages", &with(&good, place, value), kind, what);
    }
}

/// [F3]: 36 frames on a sheet of 7 × 5 leave one over; 6 × 6 is not for 8 × 10 in.
#[test]
fn a_contact_sheet() {
    let said = answer(
        "contact",
        &json!({"page": {"rows": 7, "frames_per_row": 5}, "frames": 36}),
    );
    assert_eq!((&said["over"], &said["strips"]), (&json!(1), &json!(8)));
    assert_eq!(said["smallest"], "8 × 10 in");
    let said = answer("contact", &json!({"page": page()}));
    assert_eq!(
        said["papers"][0],
        json!({"name": "8 × 10 in", "fits": false, "spare_along_mm": 26.0, "spare_across_mm": -6.8})
    );
    assert_eq!(said["smallest"], "8.5 × 11 in");
    assert!(said.get("over").is_none());
    let good =
        json!({"page": page(), "papers": [{"name": "p", "width_mm": 100, "height_mm": 100}]});
    assert!(answer("contact", &good).get("smallest").is_none());
    for (place, value, kind, what) in [
        ("/papers", json!([]), "missing", "papers: the list is empty"),
        (
            "/papers/0/width_mm",
            json!(49),
            "out_of_range",
            "papers[0].width_mm: out of range",
        ),
        (
            "/papers/0/name",
            json!(" "),
            "missing",
            "papers[0].name: empty",
        ),
        (
            "/margin_mm",
            json!(-1),
            "out_of_range",
            "margin_mm: out of range",
        ),
        (
            "/row_step_mm",
            json!(34),
            "out_of_range",
            "row_step_mm: out of range",
        ),
        ("/frames", json!(0), "out_of_range", "frames: out of range"),
        (
            "/papers",
            json!(vec![good["papers"][0].clone(); 41]),
            "too_large",
            "papers: too many",
        ),
    ] {
        refused("contact", &with(&good, place, value), kind, what);
    }
}
