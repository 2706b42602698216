//! The bench's PDFs by their addresses.

use axum::http::StatusCode;
use spoolwright::service::draft::StockDraft;
use spoolwright::service::wedge::{ReadingsDraft, TestDraft};

use super::Site;

/// Straight lines of slopes 0.5 and 0.7 over a toe of two steps: made up, for the addresses only.
const TABLE: &str = "step,6,9\n-6,0.2,0.21\n-5,0.21,0.22\n-4,0.32,0.38\n-3,0.47,0.59\n-2,0.62,0.8\n-1,0.77,1.01\n\
                     0,0.92,1.22\n1,1.07,1.43\n2,1.22,1.64\nbase+fog,0.2,0.21\n";

#[tokio::test]
async fn the_shot_list_and_the_result_of_a_test_are_pdfs() {
    let site = Site::empty();
    let stock = StockDraft {
        name: "Grey".into(),
        ..StockDraft::default()
    };
    site.service.save_stock(None, &stock, None).unwrap();
    let test = TestDraft {
        stock: "Grey".into(),
        steps: "-6 -5 -4 -3 -2 -1 0 1 2".into(),
        times: "6 9".into(),
        ..TestDraft::default()
    };
    let id = site.service.begin_test(&test, None).unwrap().value.unwrap();
    let empty = site.get(&format!("/wedge/{id}/sheet.pdf")).await;
    assert_eq!(empty.status, StatusCode::UNPROCESSABLE_ENTITY);
    let readings = ReadingsDraft {
        table: TABLE.into(),
        ..ReadingsDraft::default()
    };
    site.service.put_readings(id, &readings, None).unwrap();
    for address in [
        format!("/wedge/{id}/shots.pdf"),
        format!("/wedge/{id}/shots.pdf?paper=letter"),
        format!("/wedge/{id}/sheet.pdf"),
        format!("/wedge/{id}/sheet.pdf?target=n_plus_1&paper=letter"),
        format!("/wedge/{id}/sheet.pdf?measure=contrast_index&contrast=0.5"),
    ] {
        let (one, two) = (site.get(&address).await, site.get(&address).await);
        assert_eq!(one.status, StatusCode::OK, "{address}: {}", one.text);
        assert_eq!(one.header("content-type"), "application/pdf");
        assert!(one.text.starts_with("%PDF-"));
        assert!(one.text == two.text, "{address}: two runs differ");
    }
    for (address, status) in [
        ("/wedge/99/shots.pdf", StatusCode::NOT_FOUND),
        ("/wedge/99/sheet.pdf", StatusCode::NOT_FOUND),
        ("/wedge/1/sheet.pdf?target=odd", StatusCode::NOT_FOUND),
        ("/wedge/1/sheet.pdf?paper=a3", StatusCode::NOT_FOUND),
    ] {
        assert_eq!(site.get(address).await.status, status, "{address}");
    }
}
