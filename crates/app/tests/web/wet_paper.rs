//! Bath cards and run sheets by their addresses: a look, and the PDF.

use axum::http::StatusCode;
use spoolwright::service::wet::baths::BathDraft;
use spoolwright::service::wet::make::RunDraft;

use super::Site;

#[tokio::test]
async fn a_bottles_card_and_a_runs_sheet_can_be_looked_at_and_printed() {
    let site = Site::empty();
    for kind in ["baths", "runs"] {
        let none = site.get(&format!("/print/{kind}")).await;
        assert_eq!(none.status, StatusCode::OK);
        assert!(none.text.contains("Print") && !none.text.contains("Open the PDF"));
    }
    let bath = BathDraft {
        name: "Stop <2>".into(),
        kind: "stop".into(),
        volume: "1 l".into(),
        ..BathDraft::default()
    };
    let bath = site.service.save_bath(None, &bath, None).unwrap().value;
    let bath = bath.unwrap();
    site.service
        .begin_recipe("Negative, one-shot", None)
        .unwrap();
    let run = RunDraft {
        recipe: "Negative, one-shot".into(),
        volume: "300".into(),
        rehearsal: "60".into(),
        ..RunDraft::default()
    };
    let run = site.service.make_run(&run, None).unwrap().value.unwrap();
    // The bath's and the run's own pages lead there.
    for (page, way, kind, number) in [
        (
            format!("/wet/baths/{bath}"),
            format!("/print/bath/{bath}"),
            "/print/baths".to_owned(),
            bath.0,
        ),
        (
            format!("/wet/runs/{run}"),
            format!("/print/run/{run}"),
            "/print/runs".to_owned(),
            run.0,
        ),
    ] {
        assert!(
            site.get(&page).await.text.contains(&way),
            "{page}: no {way}"
        );
        let look = site.get(&way).await;
        assert_eq!(look.status, StatusCode::OK, "{way}: {}", look.text);
        assert!(look.text.contains("Open the PDF"));
        let (kind, query) = (kind.as_str(), format!("only={number}"));
        assert!(look.text.contains(&format!("{kind}/svg/0?{query}")));
        let svg = site.get(&format!("{kind}/svg/0?{query}")).await;
        assert_eq!(svg.header("content-type"), "image/svg+xml");
        assert!(!svg.text.contains("<2>"), "a name is escaped");
        for paper in ["a4", "letter"] {
            let address = format!("{kind}/pdf?{query}&paper={paper}");
            let (one, two) = (site.get(&address).await, site.get(&address).await);
            assert_eq!(one.status, StatusCode::OK, "{address}: {}", one.text);
            assert_eq!(one.header("content-type"), "application/pdf");
            assert!(one.text.starts_with("%PDF-"));
            assert!(one.text == two.text, "{address}: two runs differ");
        }
        let refused = site.get(&format!("{kind}?{query}&paper=a3")).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    }
    let named = site.get("/print/baths").await;
    assert!(named.text.contains("Stop &lt;2&gt;"));
    site.service.close_bath(bath, true, None).unwrap();
    let gone = site.get(&format!("/wet/baths/{bath}")).await;
    assert!(
        !gone.text.contains("/print/bath/"),
        "no card for an empty bottle"
    );
    let refused = site.get(&format!("/print/baths?only={bath}")).await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    assert!(refused.text.contains("poured out"), "{}", refused.text);
    for address in ["/print/bath/99", "/print/run/99"] {
        assert_eq!(
            site.get(address).await.status,
            StatusCode::NOT_FOUND,
            "{address}"
        );
    }
}
