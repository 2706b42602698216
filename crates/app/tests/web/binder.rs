//! The binder's pages: formats and binders, a developed roll filed with its cuts, corrected, moved, taken out.

use super::*;
use spoolwright::service::queue::TicketDraft;
use spoolwright::service::rolls::About;
use spoolwright::service::winding::WindDraft;

/// A developed roll HM-01 of 36 frames, and HM-02 of 18.
async fn bench() -> Site {
    let site = Site::empty();
    for (address, form) in [
        ("/stocks", "name=Harbour+Mist+250&ei=250"),
        ("/loaders", "name=Bench"),
        ("/cans", "stock=1&letters=HM&loader=1&length=30.48+m"),
    ] {
        site.post(address, form).await;
    }
    for frames in ["36", "18"] {
        let ticket = TicketDraft {
            can: "HM".into(),
            frames: frames.into(),
            ..TicketDraft::default()
        };
        let id = site.service.add_ticket(&ticket, None).unwrap().value;
        let wound = WindDraft::default();
        site.service.wind(id.unwrap(), &wound, None).unwrap();
    }
    for label in ["HM-01", "HM-02"] {
        site.post(&format!("/roll/{label}/move"), "state=developed")
            .await;
    }
    site
}

fn changes(site: &Site) -> i64 {
    let all = site.service.history(About::Everything, None).unwrap();
    all.first().map_or(0, |e| e.id.0)
}

#[tokio::test]
async fn a_developed_roll_is_cut_and_filed() {
    let site = bench().await;
    site.get("/roll/HM-01").await.says("File it in a binder");
    // Without a binder the page says what comes first.
    site.get("/roll/HM-01/file")
        .await
        .says("Add a binder first");
    site.get("/binders").await.says("Add a page format first");
    site.get("/binders/formats")
        .await
        .says("What a sleeve should be made of");
    let page = site
        .post(
            "/binders/formats",
            "name=Six+by+six&rows=0&frames_per_row=6",
        )
        .await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("value=\"Six by six\"");
    site.post_and_follow(
        "/binders/formats",
        "name=Six+by+six&rows=6&frames_per_row=6",
    )
    .await
    .says("Added the page format Six by six.");
    site.post_and_follow("/binders", "name=Weir&format=1")
        .await
        .says("Added the binder Weir.");
    site.get("/binders").await.says("Developed, not filed");

    // 36 frames in rows of six: six strips, five cuts (arithmetic).
    let page = site.get("/roll/HM-01/file").await;
    page.says("Where to cut");
    page.says("1-6, 7-12, 13-18, 19-24, 25-30, 31-36");
    assert_eq!(page.text.matches("class=\"cut\"").count(), 5);
    let form = "request=one&page=&row=&strips=";
    let page = site.post_and_follow("/roll/HM-01/file", form).await;
    page.says("Filed HM-01 in Weir, page 1, rows 1 to 6.");
    page.says("frames 13 to 18");
    let before = changes(&site);
    site.post("/roll/HM-01/file", form).await;
    assert_eq!(changes(&site), before);
    site.get("/binders/1/pages/1")
        .await
        .says("row 3 HM-01 frames 13 to 18");
    site.get("/binders/1").await.says("HM-01");
}

#[tokio::test]
async fn strips_are_corrected_moved_and_taken_out() {
    let site = bench().await;
    site.post(
        "/binders/formats",
        "name=Six+by+six&rows=6&frames_per_row=6",
    )
    .await;
    site.post("/binders", "name=Weir").await;
    // The second roll was cut otherwise than proposed.
    let page = site
        .get("/roll/HM-02/file?strips=1-4,5-10,11-16,17-18&row=2")
        .await;
    page.says("frames 5 to 10 on page 1, row 3");
    let page = site.get("/roll/HM-02/file?strips=1-7").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("6 rows of 6 places");
    let page = site.post("/roll/HM-02/file", "strips=7-1").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("value=\"7-1\"");
    site.post_and_follow("/roll/HM-02/file", "strips=1-4,5-10,11-16,17-18&row=2")
        .await
        .says("Filed HM-02 in Weir, page 1, rows 2 to 5.");
    // Only one row is left below: six strips begin a new page.
    site.post_and_follow("/roll/HM-01/file", "")
        .await
        .says("Filed HM-01 in Weir, page 2, rows 1 to 6.");

    let strip = site.service.strip_with("HM-02", "17").unwrap();
    let address = format!("/binders/1/pages/1/strips/{strip}");
    let page = site.post(&address, "page=1&row=2&position=4").await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    page.says("HM-02 lies on page 1, row 2, places 1 to 4");
    site.post_and_follow(&address, "page=1&row=2&position=5")
        .await
        .says("Moved frames 17 to 18 of HM-02 to page 1, row 2, place 5 of Weir.");
    let page = site.post_and_follow("/roll/HM-02/unfile", "").await;
    page.says("Took HM-02 out of its binder.");
    page.says("File it in a binder");
    site.get("/binders/1/pages/1")
        .await
        .says("Nothing lies on it.");
    let page = site
        .post(
            "/binders/formats/1",
            "name=Six+by+six&rows=7&frames_per_row=6",
        )
        .await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    page.says("strips lie in Weir");
}

#[tokio::test]
async fn pages_are_filled_as_they_were_shown() {
    let site = bench().await;
    site.post(
        "/binders/formats",
        "name=Six+by+six&rows=6&frames_per_row=6",
    )
    .await;
    site.post("/binders", "name=Weir").await;
    let page = site.get("/binders/fill").await;
    // 36 and 18 frames are six and three rows: two pages.
    page.says("2 rolls into");
    page.says("2 new pages");
    page.says("row 3 HM-02 frames 13 to 18");
    let page = site.post("/binders/fill", "as_shown=0").await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    page.says("Look at it again");
    site.get("/binders/fill?order=any&share_rows=yes&only=HM-02")
        .await
        .says("1 roll into");
    let form = "request=two&only=HM-01&only=HM-02";
    site.post_and_follow("/binders/fill", form)
        .await
        .says("Filed HM-01, HM-02 in Weir, pages 1, 2.");
    let before = changes(&site);
    site.post("/binders/fill", form).await;
    assert_eq!(changes(&site), before);
    let page = site.get("/binders/fill").await;
    assert_eq!(page.status, StatusCode::OK);
    page.says("1 to 500 developed rolls");
}
