//! The page server in process: every page on an empty and a filled store, forms kept when refused,
//! strangers turned away, and nothing inline in any page.

mod asking;
mod binder;
mod evening;
mod field;
mod keep_pages;
mod scans;
mod wedge_bench;
mod wedge_paper;
mod wedge_scan;
mod wet_bench;
mod wet_hands;
mod wet_paper;
mod wet_tools;

#[path = "../scan_picture/mod.rs"]
mod scan_picture;

use axum::body::{Body, to_bytes};
use axum::http::{Request, Response, StatusCode, header};
use jiff::Timestamp;
use spoolwright::service::draft::{CanDraft, CassetteDraft, LoaderDraft, StockDraft, WantDraft};
use spoolwright::service::settings::SettingsDraft;
use spoolwright::service::{Service, demo};
use spoolwright::web;
use spoolwright_store::Store;
use std::collections::BTreeSet;
use std::sync::Arc;
use tower::ServiceExt;

const PORT: u16 = 7435;
const HOST: &str = "127.0.0.1:7435";

struct Site {
    service: Arc<Service>,
}

struct Page {
    status: StatusCode,
    headers: axum::http::HeaderMap,
    text: String,
}

fn a_day() -> Timestamp {
    "2026-05-17T10:00:00Z".parse().unwrap()
}

impl Site {
    fn over(store: Store) -> Self {
        Self {
            service: Arc::new(Service::over(store, Box::new(a_day))),
        }
    }

    fn empty() -> Self {
        Self::over(Store::in_memory().unwrap())
    }

    fn demo() -> Self {
        Self::over(demo::fill(Store::in_memory().unwrap(), a_day()).unwrap())
    }

    async fn ask(&self, request: Request<Body>) -> Page {
        let pages = web::router(Arc::clone(&self.service), PORT);
        let response: Response<Body> = pages.oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, 20_000_000).await.unwrap();
        Page {
            status: parts.status,
            headers: parts.headers,
            text: String::from_utf8_lossy(&bytes).into_owned(),
        }
    }

    async fn get(&self, address: &str) -> Page {
        self.ask(
            Request::get(address)
                .header(header::HOST, HOST)
                .body(Body::empty())
                .unwrap(),
        )
        .await
    }

    async fn post(&self, address: &str, form: &str) -> Page {
        self.ask(own_post(address).body(Body::from(form.to_owned())).unwrap())
            .await
    }

    /// Posts a body that is said to be that long, and is empty.
    async fn post_long(&self, address: &str, length: u64) -> Page {
        let long = own_post(address).header(header::CONTENT_LENGTH, length);
        self.ask(long.body(Body::empty()).unwrap()).await
    }

    /// Posts a form and gives the page it leads to.
    async fn post_and_follow(&self, address: &str, form: &str) -> Page {
        let answer = self.post(address, form).await;
        assert_eq!(
            answer.status,
            StatusCode::SEE_OTHER,
            "{address} {form}: {}",
            refusal(&answer.text)
        );
        self.get(answer.header("location")).await
    }
}

impl Page {
    fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |v| v.to_str().unwrap())
    }

    #[track_caller]
    fn says(&self, words: &str) {
        assert!(
            self.text.contains(words),
            "{words:?} is not in:\n{}",
            self.text
        );
    }
}

fn own_post(address: &str) -> axum::http::request::Builder {
    Request::post(address)
        .header(header::HOST, HOST)
        .header(header::ORIGIN, format!("http://{HOST}"))
        .header("sec-fetch-site", "same-origin")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
}

/// The refusal on a page, for messages of failed tests.
fn refusal(text: &str) -> &str {
    text.find("class=\"refused\"")
        .map_or("", |at| &text[at..text.len().min(at + 600)])
}

/// Addresses of one's own pages that a page leads to.
fn links(text: &str) -> BTreeSet<String> {
    text.split("href=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .filter(|a| a.starts_with('/') && !a.starts_with("/static/"))
        .map(|a| a.split('#').next().unwrap_or(a).replace("&amp;", "&"))
        .collect()
}

/// Every page that can be reached from the first one, with its text.
async fn all_pages(site: &Site, most: usize) -> Vec<(String, Page)> {
    let mut seen = BTreeSet::new();
    let mut waiting = vec!["/".to_owned(), "/more".to_owned()];
    let mut pages = Vec::new();
    while let Some(address) = waiting.pop() {
        if !seen.insert(address.clone()) || pages.len() >= most {
            continue;
        }
        let page = site.get(&address).await;
        if page.header("content-type").starts_with("text/html") {
            waiting.extend(links(&page.text));
        }
        pages.push((address, page));
    }
    pages
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_answers_on_an_empty_store() {
    let site = Site::empty();
    let pages = all_pages(&site, 500).await;
    assert!(pages.len() >= 18, "only {} pages", pages.len());
    for (address, page) in &pages {
        assert_eq!(
            page.status,
            StatusCode::OK,
            "{address}: {}",
            refusal(&page.text)
        );
    }
    site.get("/").await.says("Which film do you wind?");
    site.get("/plan").await.says("Add a want");
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_answers_on_the_demo_store() {
    let site = Site::demo();
    let pages = all_pages(&site, 400).await;
    for (address, page) in &pages {
        assert_eq!(
            page.status,
            StatusCode::OK,
            "{address}: {}",
            refusal(&page.text)
        );
    }
    let reached = |start: &str| pages.iter().any(|(a, _)| a.starts_with(start));
    for start in [
        "/cans/",
        "/roll/",
        "/tickets/",
        "/plan",
        "/wants/",
        "/print/labels",
        "/history?",
        "/settings",
    ] {
        assert!(reached(start), "no page under {start} was reached");
    }
    site.get("/").await.says("What can be wound");
    site.get("/plan").await.says("Queue these");
}

/// What the content security policy would stop, no page carries.
#[tokio::test(flavor = "multi_thread")]
async fn nothing_is_inline_and_nothing_comes_from_elsewhere() {
    for site in [Site::empty(), Site::demo()] {
        for (address, page) in all_pages(&site, 120).await {
            let policy = page.header("content-security-policy");
            for part in [
                "default-src 'self'",
                "frame-ancestors 'none'",
                "form-action 'self'",
            ] {
                assert!(policy.contains(part), "{address}: {policy}");
            }
            assert!(!policy.contains("unsafe"), "{address}: {policy}");
            assert_eq!(page.header("x-content-type-options"), "nosniff");
            assert_eq!(page.header("referrer-policy"), "same-origin");
            if !page.header("content-type").starts_with("text/html") {
                continue;
            }
            assert!(
                !page.text.contains(" style="),
                "{address} has a style attribute"
            );
            assert!(
                !page.text.contains("<style"),
                "{address} has a style element"
            );
            for tag in page.text.split("<script").skip(1) {
                let (head, rest) = tag.split_once('>').unwrap();
                assert!(
                    head.contains("src=\"/static/"),
                    "{address}: a script not of our own"
                );
                assert!(rest.starts_with("</script>"), "{address}: an inline script");
            }
            for handler in [
                " onclick=",
                " onload=",
                " onchange=",
                " onsubmit=",
                "javascript:",
            ] {
                assert!(!page.text.contains(handler), "{address} has {handler}");
            }
            for source in ["src=\"http", "href=\"http", "action=\"http", "url(http"] {
                assert!(!page.text.contains(source), "{address} asks for {source}");
            }
        }
    }
}

/// Ids are unique and labels point at fields that are there.
#[tokio::test(flavor = "multi_thread")]
async fn ids_are_unique_and_labels_have_their_fields() {
    let site = Site::demo();
    for (address, page) in all_pages(&site, 120).await {
        let ids: Vec<&str> = page
            .text
            .split(" id=\"")
            .skip(1)
            .filter_map(|r| r.split('"').next())
            .collect();
        let unique: BTreeSet<_> = ids.iter().collect();
        assert_eq!(
            ids.len(),
            unique.len(),
            "{address}: an id is used twice: {ids:?}"
        );
        for attribute in [" for=\"", " aria-describedby=\"", " aria-labelledby=\""] {
            for target in page
                .text
                .split(attribute)
                .skip(1)
                .filter_map(|r| r.split('"').next())
            {
                for id in target.split(' ') {
                    assert!(
                        unique.contains(&id),
                        "{address}: {attribute}{id} points nowhere"
                    );
                }
            }
        }
    }
}

#[tokio::test]
async fn strangers_are_turned_away() {
    let site = Site::empty();
    for host in [
        "evil.example",
        "127.0.0.1",
        "127.0.0.1:80",
        "localhost:7436",
        "127.0.0.1:7435.evil.example",
    ] {
        let request = Request::get("/")
            .header(header::HOST, host)
            .body(Body::empty())
            .unwrap();
        let page = site.ask(request).await;
        assert_eq!(page.status, StatusCode::MISDIRECTED_REQUEST, "{host}");
        assert!(
            page.header("content-security-policy")
                .contains("frame-ancestors"),
            "{host}"
        );
    }
    let nameless = site
        .ask(Request::get("/").body(Body::empty()).unwrap())
        .await;
    assert_eq!(nameless.status, StatusCode::MISDIRECTED_REQUEST);
    let local = Request::get("/")
        .header(header::HOST, "localhost:7435")
        .body(Body::empty())
        .unwrap();
    assert_eq!(site.ask(local).await.status, StatusCode::OK);
}

#[tokio::test]
async fn forms_of_other_pages_change_nothing() {
    let site = Site::empty();
    for (name, value) in [
        ("origin", "http://evil.example"),
        ("origin", "null"),
        ("origin", "http://127.0.0.1:9999"),
        ("origin", "https://127.0.0.1:7435"),
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
    ] {
        let request = Request::post("/stocks")
            .header(header::HOST, HOST)
            .header(name, value)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from("name=Stranger"))
            .unwrap();
        let page = site.ask(request).await;
        assert_eq!(page.status, StatusCode::FORBIDDEN, "{name}: {value}");
        page.says("Given");
    }
    assert!(site.service.stocks().unwrap().is_empty());
}

/// A field that was refused is not hidden in a folded part of its form.
#[tokio::test]
async fn what_was_refused_is_unfolded() {
    let site = Site::demo();
    for (address, form) in [
        ("/stocks", "name=Fen&thickness_mm=9"),
        ("/loaders", "name=Bench&kind=crank&hub_mm=-1"),
    ] {
        let page = site.post(address, form).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{address}");
        page.says("<details open>");
    }
}

#[tokio::test]
async fn a_refused_form_says_why_and_keeps_what_was_typed() {
    let site = Site::demo();
    for (address, form, kept) in [
        ("/stocks", "name=&ei=fast", "value=\"fast\""),
        ("/loaders", "name=Bench&dial_zero=low", "value=\"low\""),
        (
            "/cans",
            "stock=1&length=1%2C000&letters=ZZ",
            "value=\"1,000\"",
        ),
        ("/cassettes", "label=&most_frames=many", "value=\"many\""),
        ("/wants", "what_for=Fair&frames=-5", "value=\"-5\""),
        ("/cans/1/weigh", "grams=heavy", "value=\"heavy\""),
        ("/cans/1/gauge", "outer_mm=1", "value=\"1\""),
        ("/cans/1/ran-out", "clicks=NaN", "value=\"NaN\""),
        (
            "/settings",
            "confidence=2&currency=%E2%82%AC",
            "value=\"2\"",
        ),
        ("/tickets", "can=nowhere&frames=0", "value=\"0\""),
    ] {
        let page = site.post(address, form).await;
        assert_eq!(
            page.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{address} {form}"
        );
        for part in [
            "class=\"refused\"",
            "<dt>Given</dt>",
            "<dt>Allowed</dt>",
            "<dt>To do</dt>",
            kept,
        ] {
            page.says(part);
        }
    }
}

#[tokio::test]
async fn what_is_not_there_is_said_so() {
    let site = Site::demo();
    for address in [
        "/cans/999",
        "/roll/XX-99",
        "/tickets/999",
        "/stocks/999",
        "/wants/999",
        "/nowhere",
        "/print/money",
        "/cans/1/dance",
    ] {
        let page = site.get(address).await;
        assert_eq!(page.status, StatusCode::NOT_FOUND, "{address}");
        page.says("To do");
    }
    for address in [
        "/cans/x",
        "/tickets/-",
        "/rolls?state=lost&before=x",
        "/history?can=x",
    ] {
        let status = site.get(address).await.status;
        assert!(
            status == StatusCode::OK || status.is_client_error(),
            "{address}: {status}"
        );
    }
}

#[tokio::test]
async fn too_much_is_refused() {
    let site = Site::empty();
    let long = "x".repeat(200_000);
    let page = site.post("/stocks", &format!("name={long}")).await;
    assert_eq!(page.status, StatusCode::PAYLOAD_TOO_LARGE);
    let many = "a=1&".repeat(5000);
    let page = site.post("/stocks", &many).await;
    assert_eq!(page.status, StatusCode::PAYLOAD_TOO_LARGE);
}

#[tokio::test]
async fn static_files_may_be_kept_for_ever_and_pages_never() {
    let site = Site::empty();
    let page = site.get("/").await;
    assert_eq!(page.header("cache-control"), "no-store");
    let sheet = page
        .text
        .split("href=\"")
        .find_map(|r| r.split('"').next().filter(|a| a.ends_with("app.css")))
        .unwrap();
    let css = site.get(sheet).await;
    assert_eq!(css.status, StatusCode::OK);
    assert!(css.header("cache-control").contains("immutable"));
    assert_eq!(css.header("content-type"), "text/css; charset=utf-8");
    let stale = site.get("/static/0000/app.css").await;
    assert_eq!(stale.header("cache-control"), "no-cache");
    assert_eq!(
        site.get("/static/0000/..%2Fsecret").await.status,
        StatusCode::NOT_FOUND
    );
    assert!(
        !css.text.contains("url(") && !css.text.contains("@import"),
        "the style sheet asks for something"
    );
}

/// From nothing to a labelled roll and back, as a person would click it.
#[tokio::test(flavor = "multi_thread")]
async fn the_main_job_from_an_empty_store() {
    let site = Site::empty();
    site.post_and_follow("/stocks", "then=bench&name=Harbour+Mist+250&ei=250")
        .await
        .says("What do you wind it with?");
    site.post_and_follow("/loaders", "then=bench&name=Grey+loader&dial_zero=-4")
        .await
        .says("Which can do you have?");
    let can = site
        .post_and_follow("/cans", "stock=1&length=&letters=HM&price=62&loader=1")
        .await;
    can.says("30.48 m");
    can.says("What would narrow it");
    site.post_and_follow("/cassettes", "label=1-3")
        .await
        .says("Added 3 cassettes");
    site.post_and_follow("/weigh", "can=1&grams=412,5")
        .await
        .says("Weighed can HM closed: 412.5 g.");
    site.post_and_follow("/wants", "what_for=Ferry&frames=50&stocks=1")
        .await
        .says("Queue these 2 rolls");

    let plan = site.get("/plan").await;
    let head = plan
        .text
        .split("name=\"head\" value=\"")
        .nth(1)
        .and_then(|r| r.split('"').next())
        .unwrap();
    let queue = site
        .post_and_follow("/plan/accept", &format!("head={head}&request=plan-1"))
        .await;
    queue.says("Accepted a plan: 2 rolls to wind");
    let ticket = site.get("/tickets/1").await;
    ticket.says("In total darkness");
    ticket.says("Where the dial stops");
    ticket.says("The wound roll, stretched out");

    let roll = site
        .post_and_follow("/tickets/1", "cassette=2&request=wind-1")
        .await;
    roll.says("HM-01");
    roll.says("Undo");
    // The same form sent twice winds one roll.
    site.post_and_follow("/tickets/1", "cassette=2&request=wind-1")
        .await;
    assert_eq!(site.service.recent_rolls(None).unwrap().len(), 1);

    let pdf = site.get("/print/labels/pdf?only=HM-01").await;
    assert_eq!(pdf.header("content-type"), "application/pdf");
    assert!(pdf.text.starts_with("%PDF-"));

    let undo = roll
        .text
        .split("action=\"/history/")
        .nth(1)
        .and_then(|r| r.split('"').next())
        .unwrap();
    let history = site
        .post_and_follow(&format!("/history/{undo}"), "request=undo-1")
        .await;
    history.says("Undid: Wound HM-01");
    assert!(site.service.recent_rolls(None).unwrap().is_empty());
    assert_eq!(site.service.queue().unwrap().len(), 2);
}

/// A form that leaves a field out would empty it when the thing is changed.
#[tokio::test]
async fn every_field_of_a_thing_is_on_its_form() {
    let site = Site::demo();
    let fields = |draft: serde_json::Value| -> Vec<String> {
        draft.as_object().unwrap().keys().cloned().collect()
    };
    for (address, draft) in [
        (
            "/stocks/1",
            serde_json::to_value(StockDraft::default()).unwrap(),
        ),
        (
            "/cans/1/edit",
            serde_json::to_value(CanDraft::default()).unwrap(),
        ),
        (
            "/loaders/1",
            serde_json::to_value(LoaderDraft::default()).unwrap(),
        ),
        (
            "/cassettes/1",
            serde_json::to_value(CassetteDraft::default()).unwrap(),
        ),
        (
            "/wants/1",
            serde_json::to_value(WantDraft::default()).unwrap(),
        ),
        (
            "/settings",
            serde_json::to_value(SettingsDraft::default()).unwrap(),
        ),
    ] {
        let page = site.get(address).await;
        for field in fields(draft) {
            page.says(&format!("name=\"{field}\""));
        }
    }
}

/// Changing nothing on a form changes nothing in the store.
#[tokio::test(flavor = "multi_thread")]
async fn a_form_sent_back_as_it_came_changes_nothing() {
    let site = Site::demo();
    // A frame size that the form's list does not have.
    let odd = WantDraft {
        what_for: "stitched view".into(),
        frames: "10".into(),
        advance_perforations: "15".into(),
        ..WantDraft::default()
    };
    let odd = site.service.save_want(None, &odd, None).unwrap();
    let odd = format!("/wants/{}", odd.value.unwrap());
    for (address, act) in [
        (&*odd, &*odd),
        ("/stocks/1", "/stocks/1"),
        ("/cans/3/edit", "/cans/3/edit"),
        ("/loaders/1", "/loaders/1"),
        ("/cassettes/4", "/cassettes/4"),
        ("/wants/1", "/wants/1"),
        ("/settings", "/settings"),
    ] {
        let page = site.get(address).await;
        let form = page
            .text
            .split("<form")
            .find(|f| f.contains(&format!("action=\"{act}\"")))
            .unwrap();
        let answer = site.post(act, &as_sent(form)).await;
        assert_eq!(
            answer.status,
            StatusCode::SEE_OTHER,
            "{address}: {}",
            refusal(&answer.text)
        );
        assert!(
            !answer.header("location").contains("done="),
            "{address} was changed by {}",
            as_sent(form)
        );
    }
}

/// What a browser would send of a form: inputs, chosen options, ticked boxes, texts.
fn as_sent(form: &str) -> String {
    let form = form.split("</form>").next().unwrap();
    let value_of = |tag: &str, name: &str| {
        tag.split(&format!(" {name}=\""))
            .nth(1)
            .and_then(|r| r.split('"').next())
            .map(|v| v.replace("&quot;", "\"").replace("&amp;", "&"))
    };
    let mut sent = Vec::new();
    for tag in form.split('<').skip(1) {
        let (head, text) = tag.split_once('>').unwrap();
        let Some(name) = value_of(head, "name") else {
            continue;
        };
        if head.starts_with("input") {
            let boxed = head.contains("type=\"checkbox\"") || head.contains("type=\"radio\"");
            if !boxed || head.contains(" checked") {
                sent.push((name, value_of(head, "value").unwrap_or_default()));
            }
        } else if head.starts_with("textarea") {
            sent.push((name, text.to_owned()));
        } else if head.starts_with("select") {
            let options = form
                .split(&format!("name=\"{name}\""))
                .nth(1)
                .unwrap()
                .split("</select>")
                .next()
                .unwrap();
            let mut options = options.split("<option").skip(1);
            let first = options.clone().next().unwrap();
            let chosen = options
                .find(|o| o.split('>').next().unwrap().contains(" selected"))
                .unwrap_or(first);
            sent.push((
                name,
                value_of(chosen.split('>').next().unwrap(), "value").unwrap_or_default(),
            ));
        }
    }
    let code = |s: &str| s.bytes().map(|b| format!("%{b:02X}")).collect::<String>();
    sent.iter()
        .map(|(n, v)| format!("{}={}", code(n), code(v)))
        .collect::<Vec<_>>()
        .join("&")
}

/// A plan made for a shelf that has changed since is not accepted unseen.
#[tokio::test(flavor = "multi_thread")]
async fn a_stale_plan_is_refused() {
    let site = Site::demo();
    let page = site.post("/plan/accept", "head=1").await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    page.says("Look at the plan and the queue");
}

#[tokio::test(flavor = "multi_thread")]
async fn stopped_short_and_ran_out_are_one_form() {
    let site = Site::demo();
    let ticket = site.service.queue().unwrap()[0].ticket.id;
    let roll = site
        .post_and_follow(
            &format!("/tickets/{ticket}"),
            "cassette=&clicks=14&ran_out=no",
        )
        .await;
    roll.says("8 frames, 14 clicks");
    let label = roll
        .text
        .split("<h1>")
        .nth(1)
        .and_then(|r| r.split('<').next())
        .unwrap()
        .to_owned();
    let page = site
        .post_and_follow(&format!("/roll/{label}/correct"), "clicks=12&ran_out=yes")
        .await;
    page.says("where the can ran out");
    let page = site
        .post_and_follow(&format!("/roll/{label}/move"), "state=in-camera")
        .await;
    page.says("in a camera");
    let page = site
        .post(&format!("/roll/{label}/move"), "state=scrapped&note=")
        .await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test(flavor = "multi_thread")]
async fn feet_and_other_money() {
    let site = Site::demo();
    site.post_and_follow("/settings", "feet=yes&currency=kr")
        .await
        .says("Changed settings");
    let shelf = site.get("/cans").await;
    shelf.says(" ft");
    site.get("/plan").await.says("kr ");
}
