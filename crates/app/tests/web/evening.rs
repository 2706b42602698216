//! What a newcomer stumbled over in an evening with the pages.

use super::*;

/// "Stopped there" without saying where would be taken for "as planned".
#[tokio::test(flavor = "multi_thread")]
async fn it_stopped_there_needs_the_click() {
    let site = Site::demo();
    let queue = site.service.queue().unwrap();
    let ticket = format!("/tickets/{}", queue[0].ticket.id);
    for ran_out in ["no", "yes"] {
        let page = site
            .post(
                &ticket,
                &format!("cassette=&clicks=&ran_out={ran_out}&note=so"),
            )
            .await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{ran_out}");
        for part in [
            "<dt>Given</dt><dd>nothing</dd>",
            "<dt>Allowed</dt>",
            "<dt>To do</dt>",
            "id=\"clicks-fault\"",
            "value=\"so\"",
        ] {
            page.says(part);
        }
    }
    assert_eq!(site.service.queue().unwrap().len(), queue.len());
    let roll = format!("/roll/{}", some_roll(&site));
    let page = site
        .post(&format!("{roll}/correct"), "clicks=&ran_out=yes")
        .await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("id=\"clicks-fault\"");
}

/// The newest roll's label.
fn some_roll(site: &Site) -> String {
    site.service.recent_rolls(None).unwrap()[0]
        .roll
        .label
        .clone()
}

/// A length in metres on a page, such as "0.86 m" or "30.48 m".
fn a_length_in_metres(text: &str) -> Option<&str> {
    text.match_indices(" m").find_map(|(at, _)| {
        let ends = text[at + 2..]
            .chars()
            .next()
            .is_none_or(|c| !c.is_alphanumeric());
        let digits = text[..at].ends_with(|c: char| c.is_ascii_digit());
        (ends && digits).then(|| &text[at.saturating_sub(30)..at + 2])
    })
}

#[tokio::test(flavor = "multi_thread")]
async fn whoever_measures_in_feet_sees_no_metres() {
    let site = Site::demo();
    site.post_and_follow("/settings", "feet=yes").await;
    let ticket = site.service.queue().unwrap()[0].ticket.id;
    for address in [
        "/".to_owned(),
        "/cans".to_owned(),
        "/cans/1".to_owned(),
        "/cans/1/take".to_owned(),
        "/cans/3/break".to_owned(),
        "/plan".to_owned(),
        format!("/tickets/{ticket}"),
        format!("/roll/{}", some_roll(&site)),
    ] {
        let page = site.get(&address).await;
        assert_eq!(page.status, StatusCode::OK, "{address}");
        // What was done stays told as it was told then.
        let told = page.text.find("Its story").unwrap_or(page.text.len());
        assert_eq!(a_length_in_metres(&page.text[..told]), None, "{address}");
    }
    site.get("/cans/3/break").await.says("100 100");
    // A length entered in metres is shown in feet: 30.48 m are 100 ft.
    let edit = site.get("/cans/1/edit").await;
    let field = edit.text.split("id=\"length\"").nth(1).unwrap();
    let field = field.split("</div>").next().unwrap();
    assert!(field.contains("value=\"100 ft\""), "{field}");
    assert_eq!(a_length_in_metres(field), None);
    site.get("/cans/new").await.says("part roll: 10 ft");
}

/// A refusal on the way does not lead off the way.
#[tokio::test(flavor = "multi_thread")]
async fn the_first_steps_stay_on_their_path() {
    let site = Site::empty();
    let on_the_way = |page: &Page| {
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        page.says("Welcome to the bench");
        page.says("name=\"then\" value=\"bench\"");
        page.says("<dt>To do</dt>");
    };
    let page = site.post("/stocks", "then=bench&name=&ei=fast").await;
    on_the_way(&page);
    page.says("value=\"fast\"");
    site.post_and_follow("/stocks", "then=bench&name=Harbour+Mist")
        .await
        .says("What do you wind it with?");
    on_the_way(
        &site
            .post("/loaders", "then=bench&name=Grey&dial_zero=low")
            .await,
    );
    site.post_and_follow("/loaders", "then=bench&name=Grey")
        .await
        .says("Which can do you have?");
    on_the_way(&site.post("/cans", "then=bench&stock=1&length=long").await);
    let page = site
        .post_and_follow("/cans", "then=bench&stock=1&loader=1")
        .await;
    page.says("Which cassettes do you have?");
    page.says("href=\"/\">Skip this");
    on_the_way(&site.post("/cassettes", "then=bench&label=").await);
    site.post_and_follow("/cassettes", "then=bench&label=1-15")
        .await
        .says("On the bench");
    assert_eq!(site.service.shelf().unwrap().cassettes.len(), 15);
    // Off the path the same forms lead to their lists.
    site.post_and_follow("/stocks", "name=Slate")
        .await
        .says("<h1>Stocks</h1>");
}

#[tokio::test(flavor = "multi_thread")]
async fn with_no_open_can_the_bench_offers_to_add_one() {
    let site = Site::demo();
    let cans: Vec<_> = site
        .service
        .shelf()
        .unwrap()
        .open_cans()
        .map(|c| c.can.id)
        .collect();
    site.get("/").await.says("href=\"#weigh\"");
    for can in cans {
        site.post_and_follow(&format!("/cans/{can}/ran-out"), "clicks=0&sure=yes")
            .await;
    }
    let page = site.get("/").await;
    page.says("<a class=\"btn main\" href=\"/cans/new\">Add a can</a>");
    assert!(!page.text.contains("#weigh") && !page.text.contains("ake the plan"));
}

/// The can one winds from is the one offered to be weighed.
#[tokio::test(flavor = "multi_thread")]
async fn the_can_wound_from_last_comes_first() {
    let site = Site::demo();
    let queue = site.service.queue().unwrap();
    let ticket = queue.last().unwrap();
    let (id, can) = (ticket.ticket.id, ticket.ticket.can);
    site.post_and_follow(&format!("/tickets/{id}"), "cassette=")
        .await;
    for address in ["/", "/cans"] {
        let page = site.get(address).await;
        let rows = "class=\"row\" href=\"/cans/";
        let first = page.text.split(rows).nth(1).unwrap();
        assert!(first.starts_with(&format!("{can}\"")), "{address}");
    }
    let page = site.get("/").await;
    let list = page.text.split("<select id=\"can\"").nth(1).unwrap();
    let first = list.split("value=\"").nth(1).unwrap();
    assert!(first.starts_with(&format!("{can}\"")));
}

#[tokio::test(flavor = "multi_thread")]
async fn words_of_the_trade_and_links() {
    let site = Site::demo();
    for (address, page) in all_pages(&site, 200).await {
        assert!(
            !page
                .text
                .split(|c: char| !c.is_alphabetic())
                .any(|w| w == "gate"),
            "{address}"
        );
    }
    let ticket = site.service.queue().unwrap()[0].ticket.id;
    site.get(&format!("/tickets/{ticket}"))
        .await
        .says("light trap");
    site.get("/plan").await.says("After, queued rolls included");
    site.get("/settings")
        .await
        .says("opens only on this machine");
    site.get("/print/labels")
        .await
        .says("opens only on this machine");
    site.get("/loaders/new").await.says("such as -4");
    site.get("/cans/new").await.says("50.8 mm for a longer one");
    let roll = site
        .service
        .recent_rolls(None)
        .unwrap()
        .into_iter()
        .find(|r| r.roll.cassette.is_some())
        .unwrap();
    site.get(&format!("/roll/{}", roll.roll.label))
        .await
        .says(&format!(
            "<a href=\"/cassettes/{}\">Cassette {}</a>",
            roll.roll.cassette.unwrap(),
            roll.cassette.unwrap()
        ));
}

/// An undo leads back to where it was pressed, if that is still there and one of our own pages.
#[tokio::test(flavor = "multi_thread")]
async fn an_undo_leads_back() {
    let site = Site::demo();
    let undo_on = |page: &Page| {
        let form = page
            .text
            .split("<form")
            .find(|f| f.contains("/undo\""))
            .unwrap();
        let act = form.split("action=\"").nth(1).unwrap();
        (act.split('"').next().unwrap().to_owned(), as_sent(form))
    };
    let leads_to = async |address: &str, form: &str| {
        let answer = site.post(address, form).await;
        assert_eq!(
            answer.status,
            StatusCode::SEE_OTHER,
            "{}",
            refusal(&answer.text)
        );
        let location = answer.header("location").to_owned();
        assert_eq!(site.get(&location).await.status, StatusCode::OK);
        location.split(['?', '&']).next().unwrap().to_owned()
    };
    let page = site
        .post_and_follow("/cans/1/weigh", "grams=300&sure=yes")
        .await;
    let (act, form) = undo_on(&page);
    assert_eq!(leads_to(&act, &form).await, "/cans/1");

    let history = site.get("/history?can=1").await;
    let (act, form) = undo_on(&history);
    let answer = site.post(&act, &form).await;
    assert!(
        answer
            .header("location")
            .starts_with("/history?can=1&done=")
    );

    // What was undone was the making of the page.
    let page = site.post_and_follow("/cans", "stock=1&length=17+m").await;
    page.says("17.00 m");
    let (act, form) = undo_on(&page);
    assert_eq!(leads_to(&act, &form).await, "/history");

    for back in [
        "%2F%2Fevil.example",
        "http%3A%2F%2Fevil.example",
        "%2F%5Cevil.example",
    ] {
        let page = site
            .post_and_follow("/cassettes", &format!("label=x{}", back.len()))
            .await;
        let (act, _) = undo_on(&page);
        assert_eq!(leads_to(&act, &format!("back={back}")).await, "/history");
    }
}

/// With one loader on the shelf a new can starts with it, but one that was left undecided stays so.
#[tokio::test]
async fn a_can_without_a_loader_keeps_none() {
    let site = Site::empty();
    site.post("/stocks", "name=Grey").await;
    site.post("/cans", "stock=1&letters=GR&length=30").await;
    site.post("/loaders", "name=Bench&kind=counter").await;
    let fresh = site.get("/cans/new").await.text;
    let edit = site.get("/cans/1/edit").await.text;
    let list = |page: &str| -> String {
        let from = page.split("<select id=\"loader\"").nth(1).unwrap();
        from.split("</select>").next().unwrap().to_owned()
    };
    assert!(!list(&fresh).contains("not decided"), "{}", list(&fresh));
    assert!(
        list(&edit).contains("value=\"\" selected"),
        "{}",
        list(&edit)
    );
}
