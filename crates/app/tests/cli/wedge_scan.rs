//! A strip read from a scan at the terminal.

use serde_json::{Value, json};

use super::Bench;
use crate::scan_picture::{STEPS, STRIP, TURNED, WEDGE, density, png};

fn corners(places: &str) -> Value {
    let n: Vec<f64> = places.split(' ').map(|n| n.parse().unwrap()).collect();
    n.chunks(2).map(|p| json!([p[0], p[1]])).collect()
}

fn layout(strip: &str, patches: usize) -> String {
    let density: Vec<f64> = (0..12).map(|i| 0.05 + 0.15 * f64::from(i)).collect();
    json!({
        "strip": { "corners": corners(strip), "patches": patches },
        "reference": { "corners": corners(WEDGE), "density": density, "nominal": true },
    })
    .to_string()
}

fn begun() -> Bench {
    let bench = Bench::filled();
    let steps = STEPS.map(|s| s.to_string()).join(" ");
    let test = [
        "wedge",
        "begin",
        "--stock",
        "Slate 100",
        "--name",
        "grey one",
    ];
    bench.say(&[&test[..], &["--meter-ei", "100", "--steps", &steps]].concat());
    std::fs::write(bench.folder().join("wall.png"), png(false)).unwrap();
    bench
}

#[test]
fn a_strip_is_read_from_a_scan() {
    let bench = begun();
    let file = |name: &str| bench.folder().join(name).display().to_string();
    let (image, place) = (file("wall.png"), file("layout.json"));
    let args = |time: &'static str, blank: &'static str| {
        [
            "wedge", "scan", "grey one", "--in", &image, "--layout", &place, "--time", time,
            "--blank", blank,
        ]
        .map(str::to_owned)
    };
    let refused = |args: &[String]| {
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        bench.refused(&args).0
    };
    std::fs::write(&place, layout(TURNED, 10)).unwrap();
    let text = refused(&args("8", "first"));
    assert!(text.contains("read from its wrong end"), "{text}");
    std::fs::write(&place, layout(STRIP, 10)).unwrap();
    let text = refused(&args("8", "none"));
    assert!(text.contains("not as many as the test has steps"), "{text}");
    let text = refused(&args("soon", "first"));
    assert!(text.contains("developing time"), "{text}");
    let none = bench.ask(&["wedge", "show", "grey one"]);
    assert_eq!(none["strips"], json!([]));

    let first = args("8", "first");
    let first: Vec<&str> = first.iter().map(String::as_str).collect();
    let said = bench.say(&first);
    assert!(
        said.contains("base + fog") && said.contains("Read one strip of the test grey one."),
        "{said}"
    );
    assert!(
        said.contains("! The wedge's densities are nominal"),
        "{said}"
    );
    let again = args("8:30", "first");
    let again: Vec<&str> = again.iter().map(String::as_str).collect();
    let told = bench.ask(&again);
    assert_eq!(told["made"]["strips"], 1);
    let caveats = told["made"]["caveats"].as_array().unwrap();
    assert!(caveats.iter().any(|c| c["code"] == "reference_nominal"));
    let strip = told["made"]["layers"][0]["strip"].as_array().unwrap();
    assert_eq!(
        (strip.len(), &strip[0]["step"], &strip[1]["step"]),
        (10, &Value::Null, &json!(-6.0))
    );
    for (i, patch) in strip.iter().enumerate() {
        let read = patch["density"].as_f64().unwrap();
        assert!((read - density(i)).abs() < 0.01, "{patch}");
    }
    let strips = bench.ask(&["wedge", "show", "grey one"])["strips"].clone();
    assert_eq!(strips.as_array().unwrap().len(), 2);
    assert_eq!(strips[0]["source"], "scan wall.png");
}
