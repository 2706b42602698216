//! What every sheet must hold to.

use spoolwright_print::Document;
use spoolwright_print::drawing::{Rect, Shape, Sheet};

/// Everything of a label inside its edges, everything on the paper, and no text over another text or
/// over a QR code.
pub(crate) fn assert_tidy(document: &Document, what: &str) {
    for sheet in &document.sheets {
        let paper = Rect::new(0.0, 0.0, sheet.width, sheet.height);
        for item in &sheet.items {
            let extent = item.shape.extent();
            let edges = item.cell.map_or(paper, |c| sheet.cells[c].bounds);
            assert!(
                edges.holds(&extent, 1e-6),
                "{what}: {:?} leaves {edges:?}",
                item.shape
            );
            assert!(extent.w.is_finite() && extent.h.is_finite());
        }
        for (c, cell) in sheet.cells.iter().enumerate() {
            assert!(
                paper.inset(5.0).holds(&cell.bounds, 1e-6),
                "{what}: {:?}",
                cell.bounds
            );
            assert!(
                cell.bounds.bottom() < sheet.check_bar.y - 3.0,
                "{what}: a label over the check bar"
            );
            let texts: Vec<(&Shape, Rect)> = sheet
                .items
                .iter()
                .filter(|i| i.cell == Some(c) && matches!(i.shape, Shape::Text(_)))
                .map(|i| (&i.shape, i.shape.extent()))
                .collect();
            for (n, (a, box_a)) in texts.iter().enumerate() {
                for (b, box_b) in &texts[n + 1..] {
                    assert!(!overlap(*box_a, *box_b), "{what}: {a:?}\nover {b:?}");
                }
                if let Some(qr) = cell.qr {
                    assert!(
                        !overlap(*box_a, qr),
                        "{what}: {a:?}\nover the QR code at {qr:?}"
                    );
                }
            }
        }
        assert_footed(sheet);
    }
}

/// More than a hair of common ground.
fn overlap(a: Rect, b: Rect) -> bool {
    let hair = 0.1;
    a.x + hair < b.right()
        && b.x + hair < a.right()
        && a.y + hair < b.bottom()
        && b.y + hair < a.bottom()
}

fn assert_footed(sheet: &Sheet) {
    assert!((sheet.check_bar.w - 50.0).abs() < 1e-9);
    let said: String = sheet
        .texts()
        .map(|t| t.text.as_str())
        .collect::<Vec<_>>()
        .join(" ");
    for words in ["50 mm", "If it is not 50 mm long", "100 %"] {
        assert!(said.contains(words), "{words:?} is missing from {said:?}");
    }
}

/// Every text of a document, line by line.
pub(crate) fn text_of(document: &Document) -> String {
    document
        .sheets
        .iter()
        .flat_map(Sheet::texts)
        .map(|t| t.text.clone())
        .collect::<Vec<_>>()
        .join("\n")
}
