//! A roll's scans on the page: a folder looked at, recorded, written beside, thumbnails; nothing of it over the network.

use super::*;
use spoolwright::service::queue::TicketDraft;
use spoolwright::service::winding::WindDraft;
use std::fs;
use tempfile::TempDir;

/// One roll of 24 frames, HM-01, and a folder with three scans.
async fn scanned() -> (Site, TempDir) {
    let site = Site::empty();
    for (address, form) in [
        ("/stocks", "name=Harbour+Mist+250&ei=250"),
        ("/loaders", "name=Bench"),
        ("/cans", "stock=1&letters=HM&loader=1&length=30.48+m"),
    ] {
        let answer = site.post(address, form).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{address}");
    }
    let ticket = TicketDraft {
        can: "HM".into(),
        frames: "24".into(),
        ..TicketDraft::default()
    };
    let id = site.service.add_ticket(&ticket, None).unwrap().value;
    let wound = WindDraft::default();
    site.service.wind(id.unwrap(), &wound, None).unwrap();
    let folder = tempfile::tempdir().unwrap();
    for name in ["b2.png", "b10.png", "b1.png"] {
        fs::write(folder.path().join(name), scan_picture::png(false)).unwrap();
    }
    (site, folder)
}

fn typed(folder: &TempDir, more: &str) -> String {
    let path = folder.path().to_str().unwrap().replace('/', "%2F");
    format!("folder={path}&{more}")
}

/// The hidden value of a field on a page.
fn hidden(text: &str, name: &str) -> String {
    let mark = format!("name=\"{name}\" value=\"");
    let at = text.rfind(&mark).expect("the field") + mark.len();
    text[at..].split('"').next().unwrap_or_default().to_owned()
}

#[tokio::test]
async fn a_folder_is_looked_at_and_then_recorded() {
    let (site, folder) = scanned().await;
    site.get("/roll/HM-01")
        .await
        .says("href=\"/roll/HM-01/scans\"");
    let page = site.get("/roll/HM-01/scans").await;
    page.says("Look at it");
    let page = site
        .post(
            "/roll/HM-01/scans/look",
            &typed(&folder, "by=order&first=30"),
        )
        .await;
    assert_eq!(page.status, StatusCode::OK);
    page.says("Nothing is recorded yet. <strong>3</strong> of 3 files");
    page.says("3 of them lie past the 24 frames");
    assert!(
        site.service
            .history(spoolwright::service::rolls::About::Everything, None)
            .unwrap()
            .iter()
            .all(|e| e.verb != "scan.matched")
    );
    let page = site
        .post("/roll/HM-01/scans/look", &typed(&folder, "by=order"))
        .await;
    page.says("Match 3");
    let record = typed(
        &folder,
        &format!("by=order&shown={}&request=one", hidden(&page.text, "shown")),
    );
    let page = site.post_and_follow("/roll/HM-01/scans", &record).await;
    page.says("to frames 1 to 3 of HM-01.");
    page.says("src=\"/scans/1/thumbnail\" alt=\"Frame 1\"");
    page.says("3 without a sidecar");
    let thumb = site.get("/scans/1/thumbnail").await;
    assert_eq!(thumb.status, StatusCode::OK);

    let page = site
        .post_and_follow("/roll/HM-01/scans/write", "request=two")
        .await;
    page.says("Wrote 3 sidecars for HM-01.");
    page.says("3 with a sidecar that says what is known.");
    assert!(folder.path().join("b10.xmp").is_file());
    let note = "request=n&frame=2&subject=heron+%3Con%3E+the+weir";
    site.post("/roll/HM-01/note", note).await;
    let page = site.get("/roll/HM-01/scans").await;
    page.says("alt=\"Frame 2: heron &lt;on&gt; the weir\"");
    page.says("sidecar behind the notes");
    let page = site
        .post_and_follow("/scans/3/remove", "request=three")
        .await;
    page.says("b10.png is no longer the scan of frame 3 of HM-01; the file stays.");
    assert!(folder.path().join("b10.png").is_file());

    // A page opened anew at the address of what was looked at leads on to the form.
    let answer = site.get("/roll/HM-01/scans/look").await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn refusals_keep_what_was_typed() {
    let (site, folder) = scanned().await;
    let page = site
        .post(
            "/roll/HM-01/scans/look",
            "folder=my+scans&by=pattern&pattern=x",
        )
        .await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    page.says("value=\"my scans\"");
    page.says("value=\"x\"");
    page.says("Type the path from its very beginning");
    // The folder was changed between looking and recording.
    let page = site
        .post("/roll/HM-01/scans", &typed(&folder, "by=order&shown=other"))
        .await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    page.says("Look at it again");
    let page = site.post("/roll/HM-01/scans/write", "").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    for (address, status) in [
        ("/roll/HM-99/scans", StatusCode::NOT_FOUND),
        ("/scans/9/thumbnail", StatusCode::NOT_FOUND),
    ] {
        assert_eq!(site.get(address).await.status, status, "{address}");
    }
}
