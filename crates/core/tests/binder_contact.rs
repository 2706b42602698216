//! Contact sheets against [F1], [F2] and [F3].

use spoolwright_core::binder::contact::{Paper, STRIP_MM, Sheet, plan, usual_papers};
use spoolwright_core::binder::cut::PageFormat;
use spoolwright_core::film::Pitch;

fn sheet(rows: u32, frames_per_row: u32, frames: Option<u32>) -> Sheet {
    Sheet {
        page: PageFormat {
            rows,
            frames_per_row,
        },
        frames,
        pitch: Pitch::Long,
        row_step_mm: STRIP_MM,
        margin_mm: 0.0,
        papers: usual_papers(),
    }
}

fn fits(sheet: &Sheet, paper: &str) -> bool {
    let plan = plan(sheet).unwrap();
    plan.papers.iter().find(|p| p.name == paper).unwrap().fits
}

/// [F3]: 7 × 5 is 245 × 190 mm and fits 8 × 10 in [F1]; 6 × 6 is 210 × 228 mm, not on 8 × 10, on 8.5 × 11; 7 × 6 is
/// 245 × 228 mm, on neither, on 10 × 12.
#[test]
fn which_paper_holds_what() {
    for (rows, per_row, across, along, small, letter, large) in [
        (7, 5, 245.0, 190.0, true, true, true),
        (6, 6, 210.0, 228.0, false, true, true),
        (7, 6, 245.0, 228.0, false, false, true),
    ] {
        let asked = sheet(rows, per_row, None);
        let found = plan(&asked).unwrap();
        assert_eq!((found.across_mm, found.along_mm), (across, along));
        let said = ["8 × 10 in", "8.5 × 11 in", "10 × 12 in"].map(|p| fits(&asked, p));
        assert_eq!(said, [small, letter, large], "{rows} × {per_row}");
    }
}

/// [F1], [F3]: 7 × 5 holds 35, so 36 frames are 8 strips and one frame over; 6 × 6 holds 36 in 6 strips, 37 overflow.
#[test]
fn frames_over() {
    for (rows, per_row, frames, holds, strips, over, sheets) in [
        (7, 5, 36, 35, 8, 1, 2),
        (7, 5, 35, 35, 7, 0, 1),
        (6, 6, 36, 36, 6, 0, 1),
        (6, 6, 37, 36, 7, 1, 2),
        (6, 6, 38, 36, 7, 2, 2),
    ] {
        let found = plan(&sheet(rows, per_row, Some(frames))).unwrap();
        assert_eq!(
            (found.holds, found.strips, found.over, found.sheets),
            (holds, Some(strips), Some(over), Some(sheets))
        );
        assert_eq!(
            found.caveats.iter().any(|c| c.code == "frames_over"),
            over > 0
        );
    }
}

/// Margins, wider steps and turned paper count. By hand: 228 + 2 × 5 = 238, 35 + 5 × 40 = 235 + 10 = 245.
#[test]
fn margins_and_steps() {
    let mut asked = sheet(6, 6, None);
    asked.row_step_mm = 40.0;
    asked.margin_mm = 5.0;
    let paper = |width_mm, height_mm| Paper {
        name: "p".to_owned(),
        width_mm,
        height_mm,
    };
    for (w, h, fits) in [
        (238.0, 245.0, true),
        (245.0, 238.0, true),
        (237.9, 245.0, false),
        (238.0, 244.9, false),
    ] {
        asked.papers = vec![paper(w, h)];
        let found = plan(&asked).unwrap();
        assert_eq!(found.papers[0].fits, fits, "{w} × {h}");
        assert_eq!(found.smallest.is_some(), fits);
        let spare = found.papers[0]
            .spare_along_mm
            .min(found.papers[0].spare_across_mm);
        assert_eq!(spare < -1e-9, !fits);
        let code = if fits { "tight" } else { "no_paper" };
        assert_eq!(found.caveats[0].code, code);
    }
    asked.papers.clear();
    assert!(plan(&asked).is_err());
}
