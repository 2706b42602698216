//! The field's pages: a roll's next act by its state, a camera and back, notes and their versions, and a frame found.

use super::*;
use spoolwright::service::queue::TicketDraft;
use spoolwright::service::rolls::About;
use spoolwright::service::winding::WindDraft;

/// Two wound rolls, HM-01 and HM-02, and no camera yet.
async fn field() -> Site {
    let site = Site::empty();
    for (address, form) in [
        ("/stocks", "name=Harbour+Mist+250&ei=250"),
        ("/loaders", "name=Bench"),
        ("/cans", "stock=1&letters=HM&loader=1&length=30.48+m"),
    ] {
        let answer = site.post(address, form).await;
        let said = refusal(&answer.text);
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{address}: {said}");
    }
    for frames in ["36", "24"] {
        let ticket = TicketDraft {
            can: "HM".into(),
            frames: frames.into(),
            ..TicketDraft::default()
        };
        let id = site.service.add_ticket(&ticket, None).unwrap().value;
        let wound = WindDraft::default();
        site.service.wind(id.unwrap(), &wound, None).unwrap();
    }
    site
}

fn changes(site: &Site) -> i64 {
    let all = site.service.history(About::Everything, None).unwrap();
    all.first().map_or(0, |e| e.id.0)
}

#[tokio::test]
async fn a_rolls_page_offers_its_next_act() {
    let site = field().await;
    let page = site.get("/roll/HM-01").await;
    page.says("Put in camera");
    page.says("No camera in the list is empty: name one.");
    // The camera is named and filled at once; a second tap changes nothing.
    let form = "request=one&new_camera=Walking+camera&ei=200";
    let page = site.post_and_follow("/roll/HM-01/load", form).await;
    page.says("Put HM-01 in Walking camera, at EI 200.");
    page.says("Note a frame");
    page.says("In <a href=\"/cameras/1\">Walking camera</a> since");
    let before = changes(&site);
    site.post("/roll/HM-01/load", form).await;
    assert_eq!(changes(&site), before);

    let page = site.post("/roll/HM-01/unload", "frame=twelve").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("value=\"twelve\"");
    let page = site.post_and_follow("/roll/HM-01/unload", "frame=12").await;
    page.says("Stopped after frame <strong>12</strong>");
    page.says("wind on 13 frames");
    page.says("value=\"Walking camera\" checked");
    let page = site
        .post("/roll/HM-01/load", "camera=Walking+camera&first_frame=3")
        .await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("would be exposed again");
    page.says("It is so");
    site.post_and_follow("/roll/HM-01/load", "camera=Walking+camera")
        .await;
    let page = site.post_and_follow("/roll/HM-01/unload", "").await;
    page.says("Took HM-01 out of Walking camera exposed.");
    page.says("It is developed");
    let page = site.get("/cameras/1").await;
    page.says("to frame 12");
    site.get("/cameras").await.says("empty");
}

#[tokio::test]
async fn frames_are_noted_changed_and_taken_away() {
    let site = field().await;
    site.post("/roll/HM-01/load", "new_camera=Box").await;
    let page = site.get("/roll/HM-01/note").await;
    page.says("name=\"frame\" type=\"text\"");
    page.says("value=\"1\"");
    page.says("type=\"datetime-local\"");
    let form = "request=a&frame=1&subject=heron&place=weir&aperture=5.6&shutter=1%2F250&lens=long+one&taken_at=2026-05-17T11:30";
    let page = site.post_and_follow("/roll/HM-01/note", form).await;
    page.says("Noted frame 1 of HM-01: heron.");
    page.says("1/250 s at f/5.6, long one, weir, 17 May 2026");
    let page = site.get("/roll/HM-01/note").await;
    page.says("Same as frame 1");
    page.says("<datalist id=\"lens-offers\"><option value=\"long one\">");
    let page = site
        .post_and_follow(
            "/roll/HM-01/note",
            "request=b&frame=2&same=yes&then=next&shape=&exposures=",
        )
        .await;
    page.says("Noted frame 2 of HM-01: heron.");
    page.says("value=\"3\"");

    // A refusal keeps everything that was typed.
    let page = site
        .post(
            "/roll/HM-01/note",
            "request=c&frame=3&shutter=slow&subject=ferry&base=&key=",
        )
        .await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("value=\"slow\"");
    page.says("value=\"ferry\"");

    let page = site.get("/roll/HM-01/note/1").await;
    page.says("value=\"1/250\"");
    let base = "%7B%22frame%22%3A%221%22%2C%22subject%22%3A%22heron%22%7D";
    let page = site
        .post_and_follow(
            "/roll/HM-01/note/1",
            &format!("frame=1&subject=grey+heron&place=weir&base={base}"),
        )
        .await;
    page.says("subject grey heron");
    let page = site.post_and_follow("/roll/HM-01/note/2/remove", "").await;
    page.says("Took away the note of frame 2 of HM-01");
    assert_eq!(
        site.get("/roll/HM-01/note/2").await.status,
        StatusCode::NOT_FOUND
    );
    assert_eq!(
        site.get("/roll/HM-02/note/1").await.status,
        StatusCode::NOT_FOUND
    );
}

/// What a script sends from the phone: the answer is JSON, kept once, and refused in words.
#[tokio::test]
async fn a_note_from_the_phone_is_kept_once() {
    let site = field().await;
    let form = "request=k1-a&key=k1&answer=json&frame=4&subject=weir&shape=&usable=";
    for _ in 0..2 {
        let page = site.post("/roll/HM-01/note", form).await;
        assert_eq!(
            (page.status, page.header("content-type")),
            (StatusCode::OK, "application/json")
        );
        page.says("\"kept\":true");
    }
    let other_name = form.replace("request=k1-a", "request=k1-b");
    site.post("/roll/HM-01/note", &other_name)
        .await
        .says("\"kept\":true");
    let page = site.get("/roll/HM-01").await;
    assert_eq!(
        page.text
            .matches("<span class=\"name\">weir</span>")
            .count(),
        1
    );
    let page = site
        .post(
            "/roll/HM-01/note",
            "key=k2&answer=json&frame=4&aperture=wide",
        )
        .await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("\"kept\":false");
    page.says("an f-number");
    let page = site.post("/roll/ZZ-99/note", form).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("a roll that is on the shelf");
}

#[tokio::test]
async fn two_versions_are_settled_on_a_page() {
    let site = field().await;
    site.post(
        "/roll/HM-01/note",
        "request=a&frame=4&subject=weir&aperture=8",
    )
    .await;
    site.post(
        "/roll/HM-01/note",
        "request=b&key=k2&answer=json&frame=4&subject=mill&aperture=8&lens=long",
    )
    .await
    .says("another version of it stands beside it");
    site.get("/").await.says("written twice, to be settled");
    site.get("/roll/HM-01").await.says("two versions");
    site.get("/notes").await.says("/roll/HM-01/note/1/settle");
    // Both are found, and lead to the one note.
    let page = site.get("/find?words=mill").await;
    page.says("/roll/HM-01/note/1");
    let page = site.get("/roll/HM-01/note/1/settle").await;
    page.says("mill");
    page.says("as written elsewhere");
    assert!(
        !page.text.contains("<legend>Aperture"),
        "both say the same there"
    );
    let page = site.post("/roll/HM-01/note/1/settle", "").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("Choose one.");
    let page = site
        .post_and_follow("/roll/HM-01/note/1/settle", "subject=2")
        .await;
    page.says("Settled the note of frame 4 of HM-01: mill");
    let page = site.get("/roll/HM-01/note/1/settle").await;
    assert_eq!(page.header("location"), "/roll/HM-01/note/1");
    site.get("/notes").await.says("None waits to be settled.");
}

#[tokio::test]
async fn help_stands_beside_the_note_and_keeps_what_was_typed() {
    let site = field().await;
    let page = site
        .get("/roll/HM-01/note?help=yes&frame=9&subject=heron&aperture=8&shutter=1%2F125&factor=x2&ei=400")
        .await;
    page.says("value=\"heron\"");
    page.says("Exposure value <strong>13.0</strong>");
    page.says("The filter takes <strong>1 stop</strong>");
    page.says("set to EI <strong>200</strong>");
    let page = site
        .get("/roll/HM-01/note?help=yes&frame=9&factor=dark")
        .await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("factor-fault");
}

#[tokio::test]
async fn a_frame_is_found_again() {
    let site = field().await;
    site.post("/roll/HM-01/load", "new_camera=Box").await;
    site.post(
        "/roll/HM-01/note",
        "frame=12&subject=heron&place=the+weir&taken_at=2026-05-16",
    )
    .await;
    for n in 13..38 {
        site.post("/roll/HM-01/note", &format!("frame={n}&subject=ferry+{n}"))
            .await;
    }
    let page = site.get("/find").await;
    assert!(!page.text.contains("id=\"found\""));
    let page = site.get("/find?words=heron+weir").await;
    page.says("/roll/HM-01/note/1");
    page.says("Not filed in a binder yet.");
    page.says("Box");
    let page = site.get("/find?words=ferry").await;
    assert_eq!(page.text.matches("class=\"row\"").count(), 20);
    page.says("name=\"page\" value=\"2\"");
    let page = site.get("/find?words=ferry&page=2").await;
    assert_eq!(page.text.matches("class=\"row\"").count(), 5);
    let page = site.get("/find?from=2026-05-17&to=2026-05-01").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("to-fault");
    site.get("/find?words=kingfisher")
        .await
        .says("Nothing that fits all of this.");
}

/// Only the script that looks after a roll's pages may, and only after those.
#[tokio::test]
async fn the_worker_looks_after_rolls_alone() {
    let site = field().await;
    let page = site.get("/roll/HM-01").await;
    let notes = page
        .text
        .split("src=\"")
        .find(|p| p.contains("notes.js"))
        .unwrap();
    let notes = notes.split('"').next().unwrap();
    assert_eq!(site.get(notes).await.header("service-worker-allowed"), "");
    let worker = notes.replace("notes.js", "notes-worker.js");
    assert_eq!(
        site.get(&worker).await.header("service-worker-allowed"),
        "/roll/"
    );
}
