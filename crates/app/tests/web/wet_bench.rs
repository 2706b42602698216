//! The wet bench's pages: every one shows, saves, refuses with the fault at its field and nothing lost of what was
//! typed, takes back, and counts a form that was sent twice once.

use super::*;
use spoolwright::service::rolls::About;
use spoolwright_core::shelf::{RecipeId, RunId};
use spoolwright_core::wet::recipe::StepKind;

/// How many changes there were.
fn changes(site: &Site) -> usize {
    let all = site.service.history(About::Everything, None).unwrap();
    all.first().map_or(0, |e| e.id.0 as usize)
}

/// A form of the wet bench: what is well typed, what is not, and which field says so.
struct Case {
    address: &'static str,
    good: &'static str,
    bad: &'static str,
    /// Id of the field at fault.
    field: &'static str,
    /// What was typed there.
    typed: &'static str,
    /// Something else that was typed.
    besides: &'static str,
}

const CASES: &[Case] = &[
    Case {
        address: "/wet/reels",
        good: "name=Glass&count=2&longest=1.6+m&takes_two=no",
        bad: "name=Glass&count=several&longest=1.6+m&takes_two=no",
        field: "reel-count",
        typed: "several",
        besides: "1.6 m",
    },
    Case {
        address: "/wet/reels/1",
        good: "name=Wire&count=4&longest=1650+mm&takes_two=no",
        bad: "name=Wire&count=none&longest=1651+mm&takes_two=no",
        field: "reel-count",
        typed: "none",
        besides: "1651 mm",
    },
    Case {
        address: "/wet/tanks",
        good: "name=Mug&reel=1&volumes=300",
        bad: "name=Mug&reel=1&volumes=500+300",
        field: "tank-volumes",
        typed: "500 300",
        besides: "Mug",
    },
    Case {
        address: "/wet/tanks/1",
        good: "name=Short+tank&reel=1&volumes=270+510",
        bad: "name=Stubby+tank&reel=1&volumes=much",
        field: "tank-volumes",
        typed: "much",
        besides: "Stubby tank",
    },
    Case {
        address: "/wet/times",
        good: "stock=1&developer=house+brew&dilution=1%2B14&time=8:00&temperature=&ei=&source=own&note=",
        bad: "stock=1&developer=another+brew&dilution=1%2B14&time=soon&temperature=&ei=&source=own&note=",
        field: "time",
        typed: "soon",
        besides: "another brew",
    },
    Case {
        address: "/wet/times/1",
        good: "stock=1&developer=house+brew&dilution=1%2B14&time=7:45&temperature=20+C&ei=&source=own&note=",
        bad: "stock=1&developer=house+brew&dilution=1%2B14&time=7:45&temperature=90+C&ei=&source=own&note=hot",
        field: "temperature",
        typed: "90 C",
        besides: "hot",
    },
    Case {
        address: "/wet/baths",
        good: "name=Bleach&kind=bleach&usage=reused&volume=500&mixed_on=",
        bad: "name=Bleach&kind=bleach&usage=reused&volume=some&mixed_on=&keeps_days=55",
        field: "volume",
        typed: "some",
        besides: "55",
    },
    Case {
        address: "/wet/baths/4/change",
        good: "name=Fixer,+brown+bottle&kind=fixer&usage=reused&volume=900+ml&mixed_on=2026-02-11&dilution=1%2B4",
        bad: "name=Fixer&kind=fixer&usage=reused&volume=900+ml&mixed_on=2027-01-01&dilution=1%2B5",
        field: "mixed_on",
        typed: "2027-01-01",
        besides: "1+5",
    },
    Case {
        address: "/wet/baths/4/events",
        good: "what=clearing&value=55&temperature=21+C&day=&note=leader",
        bad: "what=clearing&value=long&temperature=21.5+C&day=&note=leader",
        field: "clearing-value",
        typed: "long",
        besides: "21.5 C",
    },
    Case {
        address: "/wet/baths/1/events",
        good: "what=run&value=1",
        bad: "what=run&value=few&note=from+a+friend",
        field: "run-value",
        typed: "few",
        besides: "from a friend",
    },
    Case {
        address: "/wet/runs",
        good: "recipe=1&tank=1&reels=HM2-09+HM2-10&time=&volume=&rehearsal=&note=",
        bad: "recipe=1&tank=1&reels=HM2-09+XX-77&time=8:10&volume=&rehearsal=&note=warm",
        field: "reels",
        typed: "HM2-09 XX-77",
        besides: "8:10",
    },
    Case {
        address: "/wet/runs/1/rolls/HM2-04",
        good: "usable=33&fogged_start=1&fogged_end=0&exposure=over&note=",
        bad: "usable=most&fogged_start=1&fogged_end=0&exposure=over&note=dense+sky",
        field: "HM2-04-usable",
        typed: "most",
        besides: "dense sky",
    },
];

#[tokio::test(flavor = "multi_thread")]
async fn every_form_refuses_saves_takes_back_and_counts_once() {
    let site = Site::demo();
    for c in CASES {
        let before = changes(&site);
        let page = site.post(c.address, c.bad).await;
        assert_eq!(
            page.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{}",
            c.address
        );
        page.says(&format!("id=\"{}-fault\"", c.field));
        page.says(&format!("value=\"{}\"", c.typed));
        page.says(c.besides);
        page.says("<dt>To do</dt>");
        assert_eq!(
            changes(&site),
            before,
            "{}: refused, yet changed",
            c.address
        );

        let form = format!("{}&request=once-{}", c.good, c.address.len());
        let page = site.post_and_follow(c.address, &form).await;
        assert_eq!(page.status, StatusCode::OK, "{}", c.address);
        page.says(">Undo<");
        assert_eq!(changes(&site), before + 1, "{}", c.address);
        site.post_and_follow(c.address, &form).await;
        assert_eq!(changes(&site), before + 1, "{}: sent twice", c.address);

        let undo = format!("/history/{}/undo", before + 1);
        let back = site.post_and_follow(&undo, "back=%2Fwet").await;
        assert_eq!(back.status, StatusCode::OK, "{}", c.address);
        back.says("Wet bench");
        assert_eq!(changes(&site), before + 2, "{}: undone", c.address);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_shows_and_what_is_not_there_is_said_so() {
    let site = Site::demo();
    for (address, words) in [
        ("/wet", "Make runs of these"),
        ("/wet/plan", "House brew, one-shot"),
        ("/wet/plan?roll=QG-07&dry_reels=yes", "Short tank"),
        ("/wet/runs", "HM2-04 + HM2-05"),
        ("/wet/runs/new", "Load it"),
        ("/wet/runs/new?recipe=2&reels=QG-07", "value=\"QG-07\""),
        ("/wet/runs/1", "What came out"),
        ("/wet/runs/4", "To the clock"),
        ("/wet/recipes", "Negative, stand"),
        ("/wet/recipes/new", "Steps, in order"),
        ("/wet/recipes/3", "Backing removal"),
        ("/wet/recipes/1/change", "Keep the changes"),
        ("/wet/times", "8:21"),
        ("/wet/times?stock=2", "details id=\"add\" open"),
        ("/wet/times/2", "10:00"),
        ("/wet/kit", "Ratchet"),
        ("/wet/reels/2", "Keep the changes"),
        ("/wet/tanks/2", "340 640 930"),
        ("/wet/baths", "mix new"),
        ("/wet/baths/new", "Write the card"),
        ("/wet/baths/4", "Fix for"),
        ("/wet/baths/4?films=30", "Mix new"),
        ("/wet/baths/1/change", "Two-bath developer"),
    ] {
        let page = site.get(address).await;
        assert_eq!(page.status, StatusCode::OK, "{address}");
        assert!(page.text.contains(words), "{address}: no {words}");
    }
    for address in [
        "/wet/runs/99",
        "/wet/recipes/99",
        "/wet/recipes/99/change",
        "/wet/times/99",
        "/wet/reels/99",
        "/wet/tanks/99",
        "/wet/baths/99",
        "/wet/baths/99/change",
    ] {
        assert_eq!(
            site.get(address).await.status,
            StatusCode::NOT_FOUND,
            "{address}"
        );
    }
    for (address, form) in [
        ("/wet/runs/99/rolls/HM2-04", "usable=1"),
        ("/wet/runs/1/rolls/QG-07", "usable=1"),
        ("/wet/runs/99/steps/1", "bath="),
        ("/wet/recipes/99/change", "name=x"),
        ("/wet/recipes/99/close", "closed=yes"),
        ("/wet/times/99", "time=8"),
        ("/wet/times/99/close", "closed=yes"),
        ("/wet/reels/99", "name=x"),
        ("/wet/reels/99/close", "closed=yes"),
        ("/wet/tanks/99", "name=x"),
        ("/wet/tanks/99/close", "closed=yes"),
        ("/wet/baths/99/change", "name=x"),
        ("/wet/baths/99/events", "what=run&value=1"),
        ("/wet/baths/99/close", "closed=yes"),
    ] {
        let page = site.post(address, form).await;
        assert_eq!(page.status, StatusCode::NOT_FOUND, "{address}");
    }
    let page = site.get("/wet/plan?roll=XX-77").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("XX-77");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_put_away_is_taken_out_again() {
    let site = Site::demo();
    for (address, list) in [
        ("/wet/reels/1/close", "/wet/kit"),
        ("/wet/tanks/2/close", "/wet/kit"),
        ("/wet/times/1/close", "/wet/times"),
        ("/wet/recipes/2/close", "/wet/recipes"),
        ("/wet/baths/4/close", "/wet/baths"),
    ] {
        let before = changes(&site);
        let page = site.post_and_follow(address, "closed=yes").await;
        assert!(
            page.text.to_lowercase().contains("put away") || page.text.contains("Poured out"),
            "{list}"
        );
        site.post_and_follow(address, "closed=no").await;
        assert_eq!(changes(&site), before + 2, "{address}");
    }
    let before = changes(&site);
    let begin = "name=Negative,+stand&request=one";
    site.post_and_follow("/wet/recipes/begin", begin).await;
    site.post_and_follow("/wet/recipes/begin", begin).await;
    assert_eq!(changes(&site), before + 1);
    let page = site.post("/wet/recipes/begin", "name=Nobody's").await;
    assert_eq!(page.status, StatusCode::NOT_FOUND);
}

/// A recipe of nine steps as typed; what was typed at each place is told apart by the time.
fn nine_steps() -> Vec<(String, String)> {
    let kinds = [
        "prewet",
        "developer",
        "stop",
        "fixer",
        "wash",
        "wash-aid",
        "wash",
        "final-rinse",
        "wash",
    ];
    let mut form: Vec<(String, String)> = vec![
        ("name".into(), "Long one".into()),
        ("process".into(), "negative".into()),
        ("developer".into(), "house brew".into()),
        ("dilution".into(), "1+14".into()),
    ];
    for (n, kind) in kinds.iter().enumerate() {
        for (field, value) in [
            ("kind", (*kind).to_owned()),
            ("time", format!("{}:3{n}", n + 1)),
            ("time_from", "recipe".to_owned()),
            ("temperature", format!("2{n} C")),
            ("first_s", "15".to_owned()),
            ("every_s", "60".to_owned()),
            ("for_s", "5".to_owned()),
            ("note", format!("mind {n}")),
            ("out", "no".to_owned()),
        ] {
            form.push((format!("step{n}.{field}"), value));
        }
    }
    form
}

fn sent(form: &[(String, String)]) -> String {
    let escape = |text: &str| text.replace('+', "%2B").replace(' ', "+");
    let pairs: Vec<String> = form
        .iter()
        .map(|(n, v)| format!("{n}={}", escape(v)))
        .collect();
    pairs.join("&")
}

#[tokio::test(flavor = "multi_thread")]
async fn a_long_recipe_loses_nothing_of_what_was_typed() {
    let site = Site::demo();
    let before = changes(&site);
    let mut form = nine_steps();
    let set = |form: &mut Vec<(String, String)>, name: &str, value: &str| {
        form.retain(|(n, _)| n != name);
        form.push((name.into(), value.into()));
    };
    set(&mut form, "step4.time", "");
    set(&mut form, "step7.every_s", "often");
    let page = site.post("/wet/recipes", &sent(&form)).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("id=\"step4.time-fault\"");
    page.says("id=\"step7.every_s-fault\"");
    for (name, value) in form
        .iter()
        .filter(|(n, v)| !n.ends_with("out") && !v.is_empty())
    {
        let field = page.text.split(&format!("id=\"{name}\"")).nth(1);
        let field = field.unwrap_or_else(|| panic!("no field {name}"));
        let field = field.split("</div>").next().unwrap();
        assert!(
            field.contains(value.as_str()),
            "{name} lost {value}:\n{field}"
        );
    }
    assert_eq!(changes(&site), before);

    set(&mut form, "step4.time", "5:34");
    set(&mut form, "step7.every_s", "60");
    form.push(("request".into(), "one".into()));
    let page = site.post_and_follow("/wet/recipes", &sent(&form)).await;
    page.says("Long one");
    site.post_and_follow("/wet/recipes", &sent(&form)).await;
    assert_eq!(changes(&site), before + 1);
    let saved = site.service.recipe_named("Long one").unwrap();
    assert_eq!(saved.steps.len(), 9);
    assert_eq!(saved.steps[6].note, "mind 6");
    assert_eq!(saved.steps[6].time_s, 7.0 * 60.0 + 36.0);

    // The last step goes before the second, the third is taken out; the rest keeps its order.
    let mut form = nine_steps();
    set(&mut form, "step8.place", "2");
    set(&mut form, "step2.out", "yes");
    let address = format!("/wet/recipes/{}/change", saved.recipe.id);
    site.post_and_follow(&address, &sent(&form)).await;
    let notes: Vec<String> = site
        .service
        .recipe(saved.recipe.id)
        .unwrap()
        .steps
        .into_iter()
        .map(|s| s.note)
        .collect();
    let expected = [0, 8, 1, 3, 4, 5, 6, 7].map(|n| format!("mind {n}"));
    assert_eq!(notes, expected);
    // A fault stands at the step it is about, also when that one was moved.
    set(&mut form, "step8.time", "never");
    let page = site.post(&address, &sent(&form)).await;
    page.says("id=\"step1.time-fault\"");
    page.says("value=\"never\"");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_recipe_changed_elsewhere_is_not_overwritten_unseen() {
    let site = Site::demo();
    let page = site.get("/wet/recipes/1/change").await;
    let act = "action=\"/wet/recipes/1/change\"";
    let form = as_sent(page.text.split("<form").find(|f| f.contains(act)).unwrap());
    let before = changes(&site);
    site.post_and_follow("/wet/recipes/1/change", &form).await;
    assert_eq!(changes(&site), before, "sent back as it came");
    let as_typed = |name: &str, value: &str| {
        let escaped =
            |text: &str| -> String { text.bytes().map(|b| format!("%{b:02X}")).collect() };
        format!("&{}={}", escaped(name), escaped(value))
    };
    let other = form.clone() + &as_typed("step0.time", "9:00");
    site.post_and_follow("/wet/recipes/1/change", &other).await;
    let mine = form + &as_typed("step1.time", "1:00");
    let page = site.post("/wet/recipes/1/change", &mine).await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    page.says("value=\"1:00\"");
    assert_eq!(
        site.service.recipe(RecipeId(1)).unwrap().steps[0].time_s,
        540.0
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn another_bottle_is_chosen_until_its_step_begins() {
    let site = Site::demo();
    let stop = |site: &Site| {
        let steps = site.service.run(RunId(4)).unwrap().steps;
        steps
            .into_iter()
            .find(|s| s.kind == StepKind::Stop)
            .unwrap()
    };
    assert_eq!(stop(&site).bath, None, "the stop bath there is, is too old");
    let address = "/wet/runs/4/steps/4";
    let page = site.post(address, "bath=2").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("id=\"step-4-bath-fault\"");
    page.says("It is 95 days old");
    for (bath, step) in [("4", 4), ("77", 4), ("", 70), ("4", 5)] {
        let page = site
            .post(
                &format!("/wet/runs/4/steps/{step}"),
                &format!("bath={bath}"),
            )
            .await;
        assert_ne!(page.status, StatusCode::SEE_OTHER, "{bath} for {step}");
    }
    let new = "name=Stop,+new&kind=stop&usage=reused&volume=500";
    site.post_and_follow("/wet/baths", new).await;
    let before = changes(&site);
    let page = site.post_and_follow(address, "bath=5&request=a").await;
    page.says("From <a href=\"/wet/baths/5\">Stop, new</a>");
    site.post_and_follow(address, "bath=5&request=a").await;
    assert_eq!(changes(&site), before + 1);
    site.post_and_follow(&format!("/history/{}/undo", before + 1), "back=%2Fwet")
        .await;
    assert_eq!(stop(&site).bath, None);
    site.post_and_follow("/wet/runs/4/clock", "kind=begin")
        .await;
    site.post_and_follow(address, "bath=5").await;
    assert!(stop(&site).bath.is_some(), "it has not begun");
    let page = site.post("/wet/runs/4/steps/1", "bath=").await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    page.says("What is poured is poured");
}

/// A bath that nobody knows is not called good, nor is one that looks doubtful, for now or for the next load.
#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_known_is_not_good() {
    let site = Site::demo();
    let new = "name=Bleach,+first&kind=bleach&usage=reused&volume=500";
    site.post_and_follow("/wet/baths", new).await;
    let address = "/wet/baths/5";
    site.get(address).await.says("<span class=\"value\">good");
    let page = site.get("/wet/baths/5?films=2").await;
    page.says("Not sure: test first");
    let run = format!("{address}/events");
    site.post_and_follow(&run, "what=run&value=1").await;
    let page = site.get(address).await;
    page.says("<span class=\"value\">not known");
    page.says("how much film it takes, and how its time grows");
    site.post_and_follow(&run, "what=looked&look=doubtful")
        .await;
    site.get(address)
        .await
        .says("<span class=\"value\">test first");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_first_screen_says_what_the_tank_wants() {
    let site = Site::demo();
    let page = site.get("/").await;
    page.says("4 rolls wait to be developed");
    page.says("href=\"/wet/runs/4\"");
    page.says("mix new");
    assert!(!page.text.contains("/clock"), "no clock goes");
    site.post_and_follow("/wet/runs/4/clock", "kind=begin")
        .await;
    let page = site.get("/").await;
    let clock = page.text.find("/wet/runs/4/clock").expect("the clock");
    assert!(clock < page.text.find("At the loader").unwrap());
    page.says("Prebath of NF-05");
    page.says("left");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_came_out_is_told_where_it_teaches() {
    let site = Site::demo();
    let page = site.get("/roll/HM2-07").await;
    page.says("href=\"/wet/runs/2\"");
    page.says("1 frame fogged at the end");
    site.get("/roll/QG-08").await.says("It is exposed");
    let page = site.get("/stocks/1").await;
    page.says("How its rolls came out");
    page.says("house brew 1+14 at EI 500");
    let page = site.get("/loaders/1").await;
    page.says("3 clicks would have saved every frame; now it is 2.");
    page.says("href=\"/loaders/1?tail=3#tail_clicks\"");
    let page = site.get("/loaders/1?tail=3").await;
    let field = page.text.split("id=\"tail_clicks\"").nth(1).unwrap();
    assert!(field.split('>').next().unwrap().contains("value=\"3\""));
    // Three of four thin: the stock's page says what to do.
    for (run, label) in [(1, "HM2-04"), (1, "HM2-05")] {
        let address = format!("/wet/runs/{run}/rolls/{label}");
        site.post_and_follow(&address, "usable=20&exposure=under")
            .await;
    }
    site.get("/stocks/1").await.says("Most came out thin");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_step_that_was_chosen_does_not_vanish_on_save() {
    let site = Site::demo();
    let head = "name=Short+one&process=negative&developer=house+brew&dilution=&least_stock=&tolerance=&note=";
    let developer = "&step0.kind=developer&step0.time=8:00";
    let page = site
        .post(
            "/wet/recipes",
            &format!("{head}{developer}&step1.kind=fixer&step1.time="),
        )
        .await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("id=\"step1.time-fault\"");
    // A line left as it was offered is no step.
    let spare = format!("&step1.kind={}&step1.time=", StepKind::ALL[0].word());
    let page = site
        .post_and_follow("/wet/recipes", &format!("{head}{developer}{spare}"))
        .await;
    assert_eq!(page.status, StatusCode::OK);
    let made = site.service.recipe_named("Short one").unwrap();
    assert_eq!(made.steps.len(), 1);
    // One that was a step goes only by being taken out.
    let address = format!("/wet/recipes/{}/change", made.recipe.id);
    let page = site.get(&address).await;
    page.says("name=\"step0.was\" value=\"yes\"");
    let emptied = format!("{head}&step0.kind=developer&step0.time=&step0.was=yes");
    let page = site.post(&address, &emptied).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("id=\"step0.time-fault\"");
    page.says("name=\"step0.was\" value=\"yes\"");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bath_that_nobody_knows_has_no_level() {
    let site = Site::demo();
    let bleach = "name=Bleach&kind=bleach&usage=reused&volume=500&mixed_on=";
    let page = site.post_and_follow("/wet/baths", bleach).await;
    page.says("What is left is not known.");
    assert!(!page.text.contains("per cent of its life"));
    // Only an age is watched: 50 films through it are no part of that.
    let keeps = "name=Other+bleach&kind=bleach&usage=reused&volume=500&mixed_on=&keeps_days=100";
    site.post_and_follow("/wet/baths", keeps).await;
    let newest = site.service.baths().unwrap()[0].card.id;
    let address = format!("/wet/baths/{newest}");
    let page = site
        .post_and_follow(&format!("{address}/events"), "what=run&value=50")
        .await;
    page.says("What is left is not known.");

    for wrong in ["two", "0", "2000000"] {
        let page = site.get(&format!("/wet/baths/4?films={wrong}")).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{wrong}");
        page.says("id=\"films-fault\"");
        page.says(&format!("value=\"{wrong}\""));
    }
    site.get("/wet/baths/4?films=2").await.says("for 2.0 films");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bath_poured_out_promises_nothing_more() {
    let site = Site::demo();
    let page = site.get("/wet/baths/4").await;
    page.says("It was poured out");
    page.says("For the next run");
    let page = site
        .post_and_follow("/wet/baths/4/close", "closed=yes")
        .await;
    page.says("was poured out.");
    let row = |text: &str| {
        let from = text.find("href=\"/wet/baths/4\"").unwrap();
        text[from..].split("</a>").next().unwrap().to_owned()
    };
    let told = row(&page.text);
    assert!(
        told.contains("poured out") && !told.contains("left"),
        "{told}"
    );
    let page = site.get("/wet/baths/4").await;
    page.says("Poured out.");
    page.says("It is still there");
    assert!(!page.text.contains("For the next run"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_runs_sheet_gives_one_time() {
    let site = Site::demo();
    for bath in site.service.baths().unwrap() {
        let address = format!("/wet/baths/{}/close", bath.card.id);
        site.post_and_follow(&address, "closed=yes").await;
    }
    let page = site
        .post_and_follow("/wet/runs", "recipe=1&tank=1&reels=HM2-09&time=&volume=")
        .await;
    page.says("Developing time");
    assert!(!page.text.contains("or the film's own time") && !page.text.contains("own time"));
    site.get("/wet/recipes/1").await.says("own time");
}
