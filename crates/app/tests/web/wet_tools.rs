//! The wet bench's calculators by their addresses: a handbook value each, a bad input in each field, what they lead to.

use axum::http::StatusCode;
use spoolwright::service::settings::SettingsDraft;
use spoolwright::service::wet::baths::{BathDraft, BathEventDraft};

use super::{Page, Site};

/// A calculator's address with what is asked; values are encoded.
fn asking(path: &str, values: &[(&str, &str)]) -> String {
    let mut address = format!("{path}?ask=yes");
    for (name, value) in values {
        let value: String = value
            .bytes()
            .map(|b| match b {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' => (b as char).to_string(),
                other => format!("%{other:02X}"),
            })
            .collect();
        address.push_str(&format!("&{name}={value}"));
    }
    address
}

/// The words of the answer, without its markup.
fn words(page: &Page) -> String {
    let Some((_, rest)) = page.text.split_once("<div role=\"status\">") else {
        return String::new();
    };
    let answer = rest.split("<form").next().unwrap_or_default();
    let mut words = String::new();
    let mut inside = false;
    for c in answer.chars() {
        match c {
            '<' => {
                inside = true;
                words.push(' ');
            }
            '>' => inside = false,
            c if !inside => words.push(c),
            _ => {}
        }
    }
    let words = words.replace("&amp;", "&").replace("&gt;", ">");
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[track_caller]
fn tells(page: &Page, told: &[&str]) {
    assert_eq!(
        page.status,
        StatusCode::OK,
        "{}",
        super::refusal(&page.text)
    );
    let words = words(page);
    for part in told {
        assert!(words.contains(part), "{part:?} is not in: {words}");
    }
    let answer = page.text.find("role=\"status\"").unwrap();
    assert!(
        answer < page.text.find("<form").unwrap(),
        "the answer stands above the form"
    );
}

/// Each field with something wrong in it, the rest of the form being right, and then all of them at once.
async fn refuses(site: &Site, path: &str, right: &[(&str, &str)], wrong: &[(&str, &str)]) {
    let whole = site.get(&asking(path, right)).await;
    assert_eq!(
        whole.status,
        StatusCode::OK,
        "{}",
        super::refusal(&whole.text)
    );
    let typed = |bad: &[(&str, &str)]| {
        let kept = right
            .iter()
            .filter(|(n, _)| bad.iter().all(|(b, _)| b != n));
        let all: Vec<(&str, &str)> = kept.copied().chain(bad.to_vec()).collect();
        asking(path, &all)
    };
    for &(field, value) in wrong {
        let page = site.get(&typed(&[(field, value)])).await;
        assert_eq!(
            page.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{path} {field}={value}"
        );
        page.says(&format!("id=\"{field}-fault\""));
        assert_eq!(
            page.text.matches("class=\"refused\"").count(),
            1,
            "{path} {field}={value}"
        );
        assert!(
            !page.text.contains("role=\"status\""),
            "{path} {field}={value} is answered"
        );
        // What was typed stays.
        page.says("name=\"ask\"");
    }
    let mut once: Vec<(&str, &str)> = Vec::new();
    for &(field, value) in wrong {
        if once.iter().all(|(f, _)| *f != field) {
            once.push((field, value));
        }
    }
    let page = site.get(&asking(path, &once)).await;
    let told = page.text.matches("-fault\">").count();
    assert!(
        3.min(once.len()) <= told,
        "{path}: {told} faults of {} at once",
        once.len()
    );
}

/// Arithmetic; that 1:n is read both ways is common practice, no source.
#[tokio::test]
async fn a_dilution_with_a_plus_has_one_answer_and_with_a_colon_two() {
    let site = Site::empty();
    let path = "/wet/mix/dilution";
    let page = site
        .get(&asking(path, &[("dilution", "1+25"), ("total", "520 ml")]))
        .await;
    tells(
        &page,
        &[
            "Water first 500 ml Concentrate 20 ml",
            "520 ml in all",
            "plain arithmetic",
            "safety data sheet",
        ],
    );
    page.says("/wet/baths/new?dilution=1%2B25&amp;volume=520%20ml");
    // It may be an acid until somebody says that it is none; whatever it is, the water goes first.
    let acid = "Acid into water";
    tells(&page, &[acid, "the water first"]);
    for (kind, told) in [("stop", true), ("wetting", false)] {
        let typed = [("dilution", "1+19"), ("total", "600"), ("kind", kind)];
        let page = site.get(&asking(path, &typed)).await;
        assert_eq!(page.text.contains(acid), told, "{kind}");
        tells(&page, &["Measure the water first"]);
        page.says(&format!("/wet/baths/new?kind={kind}&amp;"));
    }

    let page = site
        .get(&asking(path, &[("dilution", "1:10"), ("total", "0,55 l")]))
        .await;
    tells(
        &page,
        &[
            "two ways",
            "Parts plus parts: 1+10",
            "Concentrate 50 ml",
            "Parts in the whole: 1+9",
            "Concentrate 55 ml",
            "choose",
        ],
    );
    assert!(
        !page.text.contains("/wet/baths/new"),
        "nothing is chosen for the user"
    );
    let chosen = super::links(&page.text)
        .into_iter()
        .find(|a| a.contains("reading=in"))
        .unwrap();
    let page = site.get(&chosen).await;
    tells(&page, &["Water first 495 ml Concentrate 55 ml"]);
    page.says("dilution=1%2B9&amp;");

    let page = site
        .get(&asking(
            path,
            &[("dilution", "1+1+100"), ("concentrate", "5")],
        ))
        .await;
    tells(
        &page,
        &["Water first 500 ml Concentrate 1 5 ml Concentrate 2 5 ml"],
    );

    // 6 ml for each of two films, of which 1+50 in 600 ml holds 11.8.
    let film = [
        ("dilution", "1+50"),
        ("total", "600"),
        ("least", "6"),
        ("films", "2"),
    ];
    tells(
        &site.get(&asking(path, &film)).await,
        &[
            "Too little for the film",
            "needs 12 ml",
            "finds 11.8 ml",
            "Use 612 ml",
        ],
    );
    let film = [
        ("dilution", "1+50"),
        ("total", "612"),
        ("least", "6"),
        ("films", "2"),
    ];
    tells(
        &site.get(&asking(path, &film)).await,
        &["Enough for the film"],
    );

    refuses(
        &site,
        path,
        &[
            ("dilution", "1:25"),
            ("total", "500"),
            ("least", "5"),
            ("films", "1"),
        ],
        &[
            ("dilution", "1 in 25"),
            ("dilution", ""),
            ("reading", "other"),
            ("total", "1,000"),
            ("total", ""),
            ("total", "a litre"),
            ("least", "-1"),
            ("least", ""),
            ("films", "many"),
            ("films", ""),
            ("kind", "soup"),
        ],
    )
    .await;
    refuses(
        &site,
        path,
        &[("dilution", "1+25"), ("concentrate", "20")],
        &[("concentrate", "0"), ("total", "500")],
    )
    .await;
}

/// Source: [D30]: 32 oz of 28 % from 99.5 %: 9.0 oz and 23 oz of water, as printed.
#[tokio::test]
async fn acetic_acid_as_the_handbook_has_it() {
    let site = Site::empty();
    let path = "/wet/mix/percent";
    let acid = [
        ("strong", "99.5"),
        ("wanted", "28 %"),
        ("total", "32 oz"),
        ("substance", "glacial-acetic-acid"),
    ];
    let page = site.get(&asking(path, &acid)).await;
    tells(
        &page,
        &["9.01 oz", "23 oz", "Acid into water", "Strong acid burns"],
    );
    let page = site
        .get(&asking(
            path,
            &[("strong", "60"), ("wanted", "6"), ("total", "1 l")],
        ))
        .await;
    tells(
        &page,
        &[
            "Water first 900 ml",
            "Strong solution 100 ml",
            "If it is an acid: acid into water, slowly",
            "Bleach and fixer never meet acid",
        ],
    );
    refuses(
        &site,
        path,
        &acid,
        &[
            ("strong", "101"),
            ("strong", ""),
            ("wanted", "0"),
            ("wanted", "99.9"),
            ("total", "-5"),
            ("substance", "sodium carbonate"),
            ("substance", "vinegar"),
        ],
    )
    .await;
}

/// Arithmetic: conservation of heat, in both degrees.
#[tokio::test]
async fn hot_and_cold_water() {
    let site = Site::empty();
    let path = "/wet/mix/water";
    let right = [
        ("hot", "60 C"),
        ("cold", "10"),
        ("wanted", "20"),
        ("total", "1 l"),
    ];
    tells(
        &site.get(&asking(path, &right)).await,
        &[
            "Hot 200 ml",
            "Cold 800 ml",
            "at 20 °C",
            "rule of thumb",
            "thermometer",
        ],
    );
    // Water hotter than any store of film.
    tells(
        &site
            .get(&asking(
                path,
                &[
                    ("hot", "100 C"),
                    ("cold", "20 C"),
                    ("wanted", "40"),
                    ("total", "400"),
                ],
            ))
            .await,
        &["Hot 100 ml"],
    );
    refuses(
        &site,
        path,
        &right,
        &[
            ("hot", "101"),
            ("hot", ""),
            ("cold", "ice"),
            ("wanted", "61"),
            ("wanted", "-40 F"),
            ("total", "none"),
        ],
    )
    .await;

    let choices = SettingsDraft {
        fahrenheit: "yes".into(),
        feet: "yes".into(),
        ..SettingsDraft::default()
    };
    site.service.save_settings(&choices, None).unwrap();
    let page = site
        .get(&asking(
            path,
            &[
                ("hot", "140"),
                ("cold", "50"),
                ("wanted", "68"),
                ("total", "1000"),
            ],
        ))
        .await;
    tells(&page, &["Hot 200 ml 6.76 oz", "at 68 °F"]);
    page.says("<span class=\"unit\">°F</span>");
    let page = site
        .get(&asking(
            path,
            &[
                ("hot", "300"),
                ("cold", "50"),
                ("wanted", "68"),
                ("total", "1000"),
            ],
        ))
        .await;
    page.says("32 to 212 °F (0 to 100 °C)");
}

/// Arithmetic: 600 ml from 500 and 350 ml, the older first.
#[tokio::test]
async fn a_bath_from_part_used_bottles() {
    let site = Site::empty();
    let path = "/wet/mix/bottles";
    let typed = [
        ("volume", "600 ml"),
        (
            "others",
            "new one, 500 ml, 10 days\nold one, 0,35 l, 40 days, 2 films",
        ),
    ];
    let page = site.get(&asking(path, &typed)).await;
    tells(
        &page,
        &[
            "new one 250 ml 250 ml",
            "old one 350 ml 0 ml",
            "40 days old",
            "has had at least 2 films",
            "same solution",
        ],
    );
    page.says("mixed_on=2026-04-07");
    // A stock that is diluted 1+4 is five working strengths: 100 ml of it and 400 ml of water.
    let stock = [
        ("volume", "500"),
        ("water", "yes"),
        ("others", "stock, 200 ml, 1+4"),
    ];
    tells(
        &site.get(&asking(path, &stock)).await,
        &["stock 100 ml 100 ml", "Water 400 ml"],
    );
    // What nobody said is not told as fresh, nor handed on to a card.
    let cellar = [("volume", "300"), ("others", "cellar, 350 ml")];
    let page = site.get(&asking(path, &cellar)).await;
    tells(
        &page,
        &[
            "How old it is nobody said",
            "what film it has had nobody said",
            "No age is given of cellar",
            "What film cellar has had is not given",
        ],
    );
    assert!(!page.text.contains("0 days old") && !page.text.contains("no film has been"));
    assert!(!page.text.contains("mixed_on="), "no day is made up");

    let bath = |name: &str, from: &str, volume: &str| BathDraft {
        name: name.into(),
        kind: "fixer".into(),
        mixed_from: from.into(),
        dilution: "1+4".into(),
        mixed_on: "2026-05-01".into(),
        volume: volume.into(),
        ..BathDraft::default()
    };
    let save = |d: &BathDraft| {
        site.service
            .save_bath(None, d, None)
            .unwrap()
            .value
            .unwrap()
    };
    let one = save(&bath("Fixer A", "house fixer", "500 ml"));
    let two = save(&bath("Fixer B", "House Fixer", "300 ml"));
    let other = save(&bath("Fixer C", "another", "300 ml"));
    let used = BathEventDraft {
        what: "run".into(),
        value: "4".into(),
        ..BathEventDraft::default()
    };
    site.service.note_bath(one, &used, None).unwrap();
    let page = site.get(path).await;
    for name in ["Fixer A", "Fixer B", "Fixer C"] {
        page.says(name);
    }
    let both = format!("{path}?ask=yes&volume=600&bath={one}&bath={two}");
    let page = site.get(&both).await;
    // Of one age the smaller first: 300 of B, 300 of A, which is 3/5 of A's four films.
    tells(
        &page,
        &[
            "Fixer A 300 ml 200 ml",
            "Fixer B 300 ml 0 ml",
            "has had 2.4 films",
            "silver",
        ],
    );
    page.says("kind=fixer&amp;mixed_from=house%20fixer&amp;dilution=1%2B4&amp;volume=600%20ml&amp;mixed_on=2026-05-01");
    let link = super::links(&page.text)
        .into_iter()
        .find(|a| a.starts_with("/wet/baths/new"))
        .unwrap();
    let card = site.get(&link).await;
    assert_eq!(card.status, StatusCode::OK);
    for kept in [
        "value=\"600 ml\"",
        "value=\"house fixer\"",
        "value=\"1+4\"",
        "value=\"2026-05-01\"",
        "300 ml of Fixer A",
    ] {
        card.says(kept);
    }
    // A spent one is not poured into another, though it would go first by its age.
    let spent = BathEventDraft {
        what: "looked".into(),
        look: "spent".into(),
        ..BathEventDraft::default()
    };
    let old = save(&bath("Fixer D", "house fixer", "500 ml"));
    site.service.note_bath(old, &spent, None).unwrap();
    let page = site
        .get(&format!("{path}?ask=yes&volume=600&bath={one}&bath={old}"))
        .await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("Fixer D, which is spent by its card");
    let mixed = format!("{path}?ask=yes&volume=600&bath={one}&bath={other}");
    let page = site.get(&mixed).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("Baths of different solutions");

    refuses(
        &site,
        path,
        &typed,
        &[
            ("volume", "0"),
            ("volume", "900"),
            ("volume", ""),
            ("strength", "strong"),
            ("bath", "99"),
            ("others", "a bottle"),
            ("others", ""),
            ("others", "350 ml, 40"),
        ],
    )
    .await;
}

/// Source: [D32] the formula, [D29] the water, [D35] borax of five waters for borax of ten.
#[tokio::test]
async fn a_published_formula_for_half_a_litre() {
    let site = Site::empty();
    let path = "/wet/mix/formula";
    let right = [("formula", "mq-borax"), ("volume", "500")];
    let page = site.get(&asking(path, &right)).await;
    tells(
        &page,
        &[
            "Start with 375 ml of water at 32 °C to 52 °C",
            "1 g metol",
            "50 g sodium sulfite anhydrous",
            "2.5 g hydroquinone",
            "1 g borax decahydrate",
            "Water to 500 ml",
            "from a sheet",
            "metol: It sensitises skin",
            "safety data sheet",
            "local sewer and waste code",
        ],
    );
    page.says("/wet/baths/new?kind=developer&amp;volume=500%20ml&amp;mixed_from=metol-hydroquinone%20borax%20developer");
    let shelf = [
        ("formula", "mq-borax"),
        ("volume", "1 l"),
        ("instead", "borax pentahydrate"),
        (
            "at_hand",
            "metol, 0,5 g\nsodium sulphite anhydrous 500 g\n10 g borax pentahydrate",
        ),
    ];
    let page = site.get(&asking(path, &shelf)).await;
    tells(
        &page,
        &[
            "1.53 g borax pentahydrate",
            "Shopping list 1.5 g metol, beside the 0.5 g at hand 5 g hydroquinone",
        ],
    );
    // A list of one's own, for a quart: acid, so water first.
    let own = [
        ("formula", "own"),
        ("parts", "glacial acetic acid, 48 ml\nfancy powder 1 g"),
        ("makes", "1 qt"),
        ("volume", "0.5 l"),
        ("kind", "stop"),
    ];
    let page = site.get(&asking(path, &own)).await;
    tells(
        &page,
        &[
            "25.4 ml glacial acetic acid",
            "0.53 g fancy powder",
            "not known here",
            "Acid into water",
            "plain arithmetic",
        ],
    );
    refuses(
        &site,
        path,
        &[
            ("formula", "own"),
            ("volume", "500"),
            ("parts", "metol, 2 g\nborax decahydrate, 2 g"),
        ],
        &[
            ("formula", "secret"),
            ("parts", "metol, some"),
            ("parts", ""),
            ("parts", "water, 2 l"),
            ("makes", "0"),
            ("kind", "soup"),
            ("volume", ""),
            ("volume", "1,000"),
            ("start", "99"),
            ("instead", "borax"),
            ("instead", "sodium carbonate monohydrate"),
            ("at_hand", "100 g"),
        ],
    )
    .await;
    refuses(&site, path, &right, &[("parts", "metol, 2 g")]).await;
}

/// Source: [D35]: carbonate of one water is 1.170 of the dry; [D31]: 437.5 grains are an ounce.
#[tokio::test]
async fn another_hydrate() {
    let site = Site::empty();
    let path = "/wet/mix/salt";
    let right = [
        ("amount", "100 g"),
        ("from", "sodium-carbonate-anhydrous"),
        ("to", "sodium carbonate monohydrate"),
    ];
    tells(
        &site.get(&asking(path, &right)).await,
        &["Weigh 117 g", "1.170 g", "from a sheet"],
    );
    let grains = [
        ("amount", "437.5 grains"),
        ("from", "sodium-thiosulfate-pentahydrate"),
        ("to", "sodium-thiosulfate-anhydrous"),
    ];
    // 28.35 g × 0.637.
    tells(
        &site.get(&asking(path, &grains)).await,
        &["Weigh 18.1 g", "0.637 g", "Keep fixer from acids"],
    );
    refuses(
        &site,
        path,
        &right,
        &[
            ("amount", "heavy"),
            ("amount", ""),
            ("from", "sodium carbonate"),
            ("from", ""),
            ("to", "salt"),
            ("to", "borax-decahydrate"),
        ],
    )
    .await;
}

/// Source: [D3]: 10 min at 20 °C with 2.5 are 6.93 min at 24 °C and 12.01 at 18 °C.
#[tokio::test]
async fn a_time_at_another_temperature() {
    let site = Site::empty();
    let path = "/wet/light/time";
    let right = [
        ("time", "10"),
        ("to", "24"),
        ("q10", "2.5"),
        ("mark", "sheet"),
    ];
    tells(
        &site.get(&asking(path, &right)).await,
        &[
            "Develop at 24 °C 6:56 min",
            "instead of 10:00 at 20 °C",
            "from a sheet",
        ],
    );
    let page = site
        .get(&asking(
            path,
            &[("time", "10:00"), ("at", "68 F"), ("to", "18 C")],
        ))
        .await;
    tells(&page, &["12:01 min", "rule of thumb", "a default"]);
    let learnt = [
        ("time", "10"),
        ("to", "22"),
        ("pairs", "12:01 at 18 C\n6 min 56 s at 24 C"),
    ];
    // [D3]: 8.33 min.
    tells(
        &site.get(&asking(path, &learnt)).await,
        &[
            "8:20 min",
            "measured",
            "2.50 times faster",
            "learnt from 2 times from 18 °C to 24 °C",
            "no check on the times",
        ],
    );
    refuses(
        &site,
        path,
        &right,
        &[
            ("time", "8:5"),
            ("time", ""),
            ("at", "warm"),
            ("to", ""),
            ("to", "80 C"),
            ("q10", "9"),
            ("mark", "sure"),
        ],
    )
    .await;
    refuses(
        &site,
        path,
        &learnt,
        &[
            ("pairs", "10"),
            ("pairs", "10 at 20 C\n10 at 20.5 C"),
            ("q10", "2.5"),
        ],
    )
    .await;
}

/// Source: [D27]: a push of one stop takes 1.3 to 1.5 times the time.
#[tokio::test]
async fn a_push_and_a_pull() {
    let site = Site::empty();
    let path = "/wet/light/push";
    let page = site
        .get(&asking(path, &[("time", "10"), ("stops", "1")]))
        .await;
    tells(
        &page,
        &[
            "Push by 1 stop",
            "13:00 to 15:00",
            "rule of thumb",
            "shadows stay empty",
        ],
    );
    page.says("/wet/light/time?time=13%3A58");
    let page = site
        .get(&asking(
            path,
            &[("time", "10"), ("speed", "400"), ("exposed_at", "1600")],
        ))
        .await;
    tells(&page, &["Push by 2 stops", "17:00 to 22:00"]);
    let page = site
        .get(&asking(
            path,
            &[
                ("time", "10"),
                ("stops", "-1"),
                ("factor", "0,75"),
                ("mark", "measured"),
            ],
        ))
        .await;
    tells(&page, &["Pull by 1 stop 7:30 min", "measured"]);
    refuses(
        &site,
        path,
        &[("time", "10"), ("stops", "1")],
        &[
            ("time", "soon"),
            ("stops", "1 2"),
            ("stops", "3"),
            ("stops", ""),
            ("factor", "x"),
            ("factor", "0.8"),
            ("mark", "sure"),
        ],
    )
    .await;
    refuses(
        &site,
        path,
        &[("time", "10"), ("speed", "400"), ("exposed_at", "800")],
        &[
            ("speed", "fast"),
            ("speed", ""),
            ("exposed_at", "0"),
            ("exposed_at", "12800"),
            ("stops", "1"),
        ],
    )
    .await;
}

/// Source: [E1] 10 s are 20.4 s and 30 s 86.1; [E3] 10 s are 17.05 s at most; [E4] 30 s are 143 s; [E2] 1.26: 18.2 s.
#[tokio::test]
async fn a_long_exposure_and_no_rule_picked() {
    let site = Site::empty();
    let path = "/wet/light/long";
    let page = site.get(&asking(path, &[("metered", "30")])).await;
    tells(
        &page,
        &[
            "1:26 min",
            "1:12 min",
            "2:23 min",
            "none is picked",
            "disagree by a factor of",
            "rule of thumb",
        ],
    );
    assert!(
        !page.text.contains("class=\"loud\""),
        "no rule is made the answer"
    );
    tells(
        &site
            .get(&asking(path, &[("metered", "10 s"), ("rule", "known-1")]))
            .await,
        &["Give 20.4 s", "rule of thumb"],
    );
    tells(
        &site
            .get(&asking(path, &[("metered", "10 s"), ("rule", "known-3")]))
            .await,
        &["Give 17 s"],
    );
    // [E3]: 12.88 s.
    let added = [("metered", "10"), ("rule", "added"), ("number", "0.069")];
    tells(&site.get(&asking(path, &added)).await, &["Give 12.9 s"]);
    let own = [
        ("metered", "10"),
        ("rule", "power"),
        ("number", "1.26"),
        ("mark", "measured"),
    ];
    tells(
        &site.get(&asking(path, &own)).await,
        &["Give 18.2 s", "measured"],
    );
    let table = [
        ("metered", "1:00"),
        ("rule", "table"),
        ("rows", "30 s, 72 s\n2 min; 6 min 40 s"),
    ];
    // Half way along the logarithm: √(72 · 400) s.
    tells(&site.get(&asking(path, &table)).await, &["Give 2:50 min"]);
    refuses(
        &site,
        path,
        &own,
        &[
            ("metered", "a while"),
            ("metered", ""),
            ("rule", "mine"),
            ("number", "3"),
            ("number", ""),
            ("rows", "1 2"),
            ("mark", "sure"),
        ],
    )
    .await;
    refuses(
        &site,
        path,
        &table,
        &[
            ("metered", "never"),
            ("metered", "1 h"),
            ("rows", "30 s"),
            ("rows", ""),
            ("rows", "60 s, 30 s\n70 s, 90 s"),
            ("number", "1.3"),
        ],
    )
    .await;
}

/// Source: [M1] −130.7 mired from 3200 to 5500 K, [M2] 80A, [M4] film of 500 with an 85 is set as 320.
#[tokio::test]
async fn filters_and_what_they_cost() {
    let site = Site::empty();
    let path = "/wet/light/filter";
    let right = [
        ("from", "3200 K"),
        ("to", "5500"),
        ("f_number", "f/8"),
        ("time", "1/60"),
    ];
    let page = site.get(&asking(path, &right)).await;
    tells(
        &page,
        &[
            "Filter 80A",
            "−131 mired",
            "Costs 2 stops",
            "f/8 at 1/15 s",
            "or f/ 4 at 1/60 s",
            "from a sheet",
            "nominal",
        ],
    );
    let page = site
        .get(&asking(path, &[("on_lens", "85"), ("speed", "500")]))
        .await;
    tells(&page, &["Costs 2/3 stops", "EI 320 (exactly 315)"]);
    let page = site
        .get(&asking(
            path,
            &[("shift", "21"), ("at_hand", "81A 85"), ("factors", "4x; 2")],
        ))
        .await;
    tells(&page, &["×4 + ×2", "Costs 3 stops", "factor 8", "81A"]);
    refuses(
        &site,
        path,
        &right,
        &[
            ("from", "warm"),
            ("from", ""),
            ("to", "500"),
            ("to", ""),
            ("shift", "20"),
            ("at_hand", "99"),
            ("on_lens", "85 85 85 85 85 85"),
            ("factors", "0.5"),
            ("speed", "-1"),
            ("f_number", ""),
            ("time", "1/0"),
        ],
    )
    .await;
    refuses(
        &site,
        path,
        &[("shift", "20")],
        &[("shift", "2000"), ("at_hand", "99")],
    )
    .await;
    let nothing = site.get(&asking(path, &[("speed", "400")])).await;
    nothing.says("id=\"from-fault\"");
}

/// Source: [X2]: f/16 at 1/125 s is EV 14.966, f/8 at 1/60 s 11.907; [X1]: a stop on the lens doubles the time.
#[tokio::test]
async fn the_same_exposure_at_other_f_numbers() {
    let site = Site::empty();
    let path = "/wet/light/exposure";
    tells(
        &site
            .get(&asking(path, &[("f_number", "f/16"), ("time", "1/125")]))
            .await,
        &["15.0", "exactly 14.966", "f/11 1/250 s", "f/22 1/62.5 s"],
    );
    let right = [("f_number", "8"), ("time", "1/60 s")];
    tells(
        &site.get(&asking(path, &right)).await,
        &[
            "exactly 11.907",
            "f/5.6 1/120 s",
            "plain arithmetic",
            "1/60 stands for 1/64",
        ],
    );
    tells(
        &site
            .get(&asking(path, &[("f_number", "1"), ("ev", "0")]))
            .await,
        &["Time 1 s at f/1"],
    );
    refuses(
        &site,
        path,
        &right,
        &[
            ("f_number", "f/0"),
            ("f_number", ""),
            ("time", "1:5"),
            ("time", ""),
            ("time", "3 days"),
        ],
    )
    .await;
    refuses(
        &site,
        path,
        &[("f_number", "8"), ("ev", "12")],
        &[("ev", "90"), ("ev", "-19"), ("time", "1")],
    )
    .await;
}

#[tokio::test]
async fn the_desk_leads_to_every_calculator() {
    let site = Site::empty();
    let desk = site.get("/wet").await;
    let mut found = 0;
    for list in ["/wet/mix", "/wet/light"] {
        assert!(super::links(&desk.text).contains(list), "{list}");
        let page = site.get(list).await;
        for address in super::links(&page.text) {
            if address.starts_with(&format!("{list}/")) {
                found += 1;
                let tool = site.get(&address).await;
                assert_eq!(tool.status, StatusCode::OK, "{address}");
                tool.says("spoolwright calc ");
                tool.says("method=\"get\"");
                assert!(
                    !tool.text.contains("role=\"status\""),
                    "{address} answers unasked"
                );
                assert!(!tool.text.contains("<script"), "{address} needs a script");
            }
        }
    }
    assert_eq!(found, 11);
}

/// What a stranger's link puts into a card's form is shown as text, and no hidden field with it.
#[tokio::test]
async fn a_cards_form_takes_its_own_fields_from_an_address_and_nothing_else() {
    let site = Site::empty();
    let page = site
        .get("/wet/baths/new?name=%3Cb%3E&volume=600%20ml&request=forged&seen=forged")
        .await;
    page.says("value=\"&lt;b&gt;\"");
    page.says("value=\"600 ml\"");
    assert!(!page.text.contains("forged"));
}
