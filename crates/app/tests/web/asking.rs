//! Forms sent twice, gone back to, overtaken by another change, or saying what is hardly credible.

use super::*;

/// A stock, a loader whose dial starts at -4, a can, and a ticket for 12 frames.
async fn bench() -> Site {
    let site = Site::empty();
    for (address, form) in [
        ("/stocks", "name=Harbour+Mist"),
        ("/loaders", "name=Grey&dial_zero=-4"),
        ("/cans", "stock=1&loader=1&letters=HM"),
        ("/tickets", "can=1&frames=12&light=room"),
    ] {
        site.post_and_follow(address, form).await;
    }
    site
}

/// The form on a page that is sent to an address, as a browser would send it.
fn form_to(page: &Page, address: &str) -> String {
    let act = format!("action=\"{address}\"");
    as_sent(page.text.split("<form").find(|f| f.contains(&act)).unwrap())
}

/// How often a can's or stock's story says something.
fn told(site: &Site, words: &str) -> usize {
    let about = spoolwright::service::rolls::About::Everything;
    let all = site.service.history(about, None).unwrap();
    all.iter()
        .filter(|e| e.story.contains(words) && !e.undone && e.undoes.is_none())
        .count()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_dial_that_starts_below_zero_may_be_read() {
    let site = bench().await;
    let ticket = site.get("/tickets/1").await;
    ticket.says("The dial shows");
    ticket.says("It starts at −4.");
    // Dial start, clicks of leader and tail, perforations of a frame and of a click.
    ticket.says("data-frames=\"-4 6 8 8\"");
    // From -4 to 8 the dial clicks 12 times; leader and tail take 6 of them.
    let roll = site
        .post_and_follow("/tickets/1", "dial=8&clicks=&ran_out=no")
        .await;
    roll.says("6 frames, 12 clicks");
    roll.says("The dial shows");
    let page = site
        .post_and_follow("/roll/HM-01/correct", "dial=9&ran_out=no")
        .await;
    page.says("13 clicks");
    let page = site
        .post("/roll/HM-01/correct", "dial=low&ran_out=no")
        .await;
    page.says("id=\"dial-fault\"");
    page.says("value=\"low\"");
}

/// What is hardly credible is asked about once, with everything kept, and then believed.
#[tokio::test(flavor = "multi_thread")]
async fn what_is_hardly_credible_is_asked_about() {
    for (address, form, kept) in [
        ("/cans/1/weigh", "grams=12", "value=\"12\""),
        ("/weigh", "can=1&grams=13", "value=\"13\""),
        ("/cans/1/ran-out", "clicks=3", "value=\"3\""),
        ("/tickets/1", "clicks=90&ran_out=no&note=so", "value=\"90\""),
        (
            "/tickets/1",
            "clicks=11&ran_out=yes&note=so",
            "value=\"so\"",
        ),
    ] {
        let site = bench().await;
        let before = site.get("/cans/1").await;
        assert!(!before.text.contains("It is so"));
        let page = site.post(address, form).await;
        assert_eq!(
            page.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{address} {form}"
        );
        for part in [
            "It is so",
            "name=\"sure\" value=\"yes\"",
            "<dt>To do</dt>",
            kept,
        ] {
            page.says(part);
        }
        site.post_and_follow(address, &format!("{form}&sure=no&sure=yes"))
            .await;
    }
}

/// Two windows on the same record: the later one is told, and may insist.
#[tokio::test(flavor = "multi_thread")]
async fn a_change_made_elsewhere_is_not_overwritten_unseen() {
    let site = Site::demo();
    for (shown, sent_to, field) in [
        ("/stocks/1", "/stocks/1", "note"),
        ("/cans/1/edit", "/cans/1/edit", "note"),
        ("/loaders/1", "/loaders/1", "note"),
        ("/cassettes/4", "/cassettes/4", "note"),
        ("/wants/1", "/wants/1", "camera"),
    ] {
        let (one, other) = (site.get(shown).await, site.get(shown).await);
        let mine = format!("{}&{field}=mine", form_to(&one, sent_to));
        let theirs = format!("{}&{field}=theirs", form_to(&other, sent_to));
        site.post_and_follow(sent_to, &theirs).await;
        // A double click is no conflict.
        let twice = site.post(sent_to, &theirs).await;
        assert_eq!(twice.status, StatusCode::SEE_OTHER, "{sent_to}");

        let page = site.post(sent_to, &mine).await;
        assert_eq!(page.status, StatusCode::CONFLICT, "{sent_to}");
        page.says("it was changed elsewhere meanwhile");
        page.says("mine");
        site.get(shown).await.says("theirs");

        site.post_and_follow(sent_to, &form_to(&page, sent_to))
            .await;
        let now = site.get(shown).await;
        now.says("mine");
        assert!(!now.text.contains("theirs"), "{sent_to}");
    }
}

/// A double click counts once.
#[tokio::test(flavor = "multi_thread")]
async fn a_form_sent_twice_counts_once() {
    let site = bench().await;
    for _ in 0..3 {
        site.post_and_follow("/cans/1/weigh", "grams=402&request=r1")
            .await;
    }
    assert_eq!(told(&site, "402 g"), 1);
    // Without a name it was meant twice.
    for _ in 0..2 {
        site.post_and_follow("/cans/1/weigh", "grams=403").await;
    }
    assert_eq!(told(&site, "403 g"), 2);
}

/// Back in the browser, another number, sent again: the form's name is the same, the asking is not.
#[tokio::test(flavor = "multi_thread")]
async fn a_form_gone_back_to_and_changed_is_recorded() {
    let site = bench().await;
    site.post_and_follow("/cans/1/weigh", "grams=402&request=r1")
        .await;
    site.post_and_follow("/cans/1/weigh", "grams=398&request=r1")
        .await
        .says("398 g");
    assert_eq!((told(&site, "402 g"), told(&site, "398 g")), (1, 1));
}

/// Taken back, gone back to and sent again, it is meant again.
#[tokio::test(flavor = "multi_thread")]
async fn what_was_undone_may_be_sent_again() {
    let site = bench().await;
    let page = site
        .post_and_follow("/cans/1/weigh", "grams=402&request=r1")
        .await;
    let act = page
        .text
        .split("action=\"/history/")
        .nth(1)
        .and_then(|r| r.split('"').next())
        .unwrap();
    site.post_and_follow(&format!("/history/{act}"), "request=u1&back=%2Fcans%2F1")
        .await
        .says("Undid");
    assert_eq!(told(&site, "402 g"), 0);
    site.post_and_follow("/cans/1/weigh", "grams=402&request=r1")
        .await
        .says("402 g");
    assert_eq!(told(&site, "402 g"), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_demo_says_that_nothing_is_kept() {
    let line = "Demo: nothing here is kept.";
    let store = demo::fill(Store::in_memory().unwrap(), a_day()).unwrap();
    let site = Site {
        service: Arc::new(Service::over(store, Box::new(a_day)).as_demo()),
    };
    for (address, page) in all_pages(&site, 60).await {
        if page.header("content-type").starts_with("text/html") {
            assert!(page.text.contains(line), "{address}");
        }
    }
    site.get("/nowhere").await.says(line);
    site.post("/stocks", "name=").await.says(line);
    assert!(!Site::demo().get("/").await.text.contains(line));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_roll_in_a_leaking_cassette_is_warned_of() {
    let site = bench().await;
    site.post_and_follow("/cassettes", "label=7").await;
    let roll = site.post_and_follow("/tickets/1", "cassette=7").await;
    let warning = "Its cassette leaks light: this roll may be fogged.";
    assert!(!roll.text.contains(warning));
    site.post_and_follow("/cassettes/1/mark", "leaks=yes").await;
    site.get("/roll/HM-01").await.says(warning);
}
