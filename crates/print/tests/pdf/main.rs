//! The finished PDF, read by outside programs: poppler's tools rasterise and extract, rqrr decodes.
//!
//! These tests need `pdftoppm`, `pdftotext` and `pdffonts` (Debian: poppler-utils) and fail without them.

#[path = "../common/wedge.rs"]
mod common;
mod wedge;
mod wet;
#[path = "../common/wet.rs"]
mod wet_common;

use std::path::Path;
use std::process::{Command, Stdio};

use spoolwright_core::dx::{Dx, Latitude};
use spoolwright_core::film::Light;
use spoolwright_print::drawing::{Document, Rect};
use spoolwright_print::{
    CanLabel, CassetteLabel, DxLabel, DxTemplate, LabelLayout, LabelSize, Paper, Pdf, Target,
    WindingTicket, bath_cards, can_labels, cassette_labels, dx_pattern, result_sheet, run_sheets,
    shot_cards, winding_tickets,
};

const MM_PER_INCH: f64 = 25.4;
/// Every edge and the check bar must lie this close to where they should, in millimetres.
const TRUE_TO_MM: f64 = 0.1;

fn labels(n: usize) -> Vec<CassetteLabel> {
    (1..=n)
        .map(|i| CassetteLabel {
            roll: format!("HM-{i:02}"),
            stock: "Heron Mono 200".to_owned(),
            ei: Some(250.0),
            frames: 18,
            wound_on: "25 Nov 2026".to_owned(),
            can: "HM".to_owned(),
            note: "dog show".to_owned(),
            url: Some(format!("http://192.168.178.20:7420/roll/HM-{i:02}")),
            ..CassetteLabel::default()
        })
        .collect()
}

fn ticket() -> WindingTicket {
    WindingTicket {
        roll: "HM-07".to_owned(),
        stock: "Heron Mono 200".to_owned(),
        can: "HM".to_owned(),
        loader: "day loader".to_owned(),
        cassette: String::new(),
        wanted_for: String::new(),
        ei: Some(250.0),
        frames: 18,
        format: String::new(),
        leader_clicks: 4,
        frame_clicks: 18,
        tail_clicks: 2,
        light: Light::Room,
        target: Target::Dial {
            start: -4.0,
            stop: 20.0,
        },
        draws: "1.01 m".to_owned(),
        steps: vec![],
        url: Some("http://192.168.178.20:7420/roll/HM-07".to_owned()),
    }
}

fn can() -> CanLabel {
    CanLabel {
        letters: "HM".to_owned(),
        stock: "Heron Mono 200".to_owned(),
        length: "30.5 m".to_owned(),
        url: Some("http://192.168.178.20:7420/can/HM".to_owned()),
        ..CanLabel::default()
    }
}

fn dx() -> DxLabel {
    DxLabel {
        roll: "HM-07".to_owned(),
        dx: Dx {
            iso: Some(250.0),
            exposures: Some(36),
            latitude: Some(Latitude::One),
        },
    }
}

fn wrap(paper: Paper) -> Document {
    cassette_labels(
        &labels(3),
        LabelLayout::plain(LabelSize::BARREL_WRAP),
        paper,
        0,
    )
    .unwrap()
}

/// A file that goes when the test ends.
struct Saved(std::path::PathBuf);

impl Saved {
    fn new(pdf: &Pdf, name: &str) -> Self {
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.pdf"));
        std::fs::write(&path, &pdf.0).unwrap();
        Self(path)
    }
    fn path(&self) -> &str {
        self.0.to_str().unwrap()
    }
}

impl Drop for Saved {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

/// What one of poppler's programs prints.
fn poppler(program: &str, args: &[&str]) -> Vec<u8> {
    let output = Command::new(program)
        .args(args)
        .stdin(Stdio::null())
        .output()
        .unwrap_or_else(|e| {
            panic!(
                "{program} cannot be run ({e}): install poppler-utils; `cargo xtask test` does that"
            )
        });
    assert!(
        output.status.success(),
        "{program}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    output.stdout
}

/// A grey picture of a piece of a page.
struct Raster {
    dpi: f64,
    x0: i64,
    y0: i64,
    width: usize,
    height: usize,
    grey: Vec<u8>,
}

impl Raster {
    /// The piece of the first page under `area` (millimetres) with a rim of 1 mm.
    fn of(pdf: &Saved, area: Rect, dpi: f64) -> Self {
        let px = |mm: f64| (mm / MM_PER_INCH * dpi).floor() as i64;
        let (x0, y0) = (px(area.x - 1.0), px(area.y - 1.0));
        let (w, h) = (px(area.w + 2.0) + 1, px(area.h + 2.0) + 1);
        let numbers = [dpi as i64, x0, y0, w, h].map(|n| n.to_string());
        let [dpi_arg, x, y, w, h] = numbers.each_ref().map(String::as_str);
        let args = [
            "-r",
            dpi_arg,
            "-gray",
            "-singlefile",
            "-x",
            x,
            "-y",
            y,
            "-W",
            w,
            "-H",
            h,
            pdf.path(),
        ];
        let pgm = poppler("pdftoppm", &args);
        let (width, height, grey) = parse_pgm(&pgm);
        Self {
            dpi,
            x0,
            y0,
            width,
            height,
            grey,
        }
    }

    fn mm_per_px(&self) -> f64 {
        MM_PER_INCH / self.dpi
    }

    /// Darkness (0 to 1) at a pixel.
    fn ink(&self, x: usize, y: usize) -> f64 {
        1.0 - f64::from(self.grey[y * self.width + x]) / 255.0
    }

    /// Ink along a row (millimetres from the page's top), each pixel with its centre in millimetres.
    fn row(&self, y_mm: f64) -> Vec<(f64, f64)> {
        let y = (y_mm / self.mm_per_px()).floor() as i64 - self.y0;
        let at = |x: usize| ((x as i64 + self.x0) as f64 + 0.5) * self.mm_per_px();
        (0..self.width)
            .map(|x| (at(x), self.ink(x, y as usize)))
            .collect()
    }

    /// Ink along a column (millimetres from the page's left).
    fn column(&self, x_mm: f64) -> Vec<(f64, f64)> {
        let x = (x_mm / self.mm_per_px()).floor() as i64 - self.x0;
        let at = |y: usize| ((y as i64 + self.y0) as f64 + 0.5) * self.mm_per_px();
        (0..self.height)
            .map(|y| (at(y), self.ink(x as usize, y)))
            .collect()
    }
}

fn parse_pgm(bytes: &[u8]) -> (usize, usize, Vec<u8>) {
    let mut at = 0;
    let mut word = || {
        let start = at
            + bytes[at..]
                .iter()
                .position(|b| !b.is_ascii_whitespace())
                .unwrap();
        let end = start
            + bytes[start..]
                .iter()
                .position(u8::is_ascii_whitespace)
                .unwrap();
        at = end;
        std::str::from_utf8(&bytes[start..end]).unwrap().to_owned()
    };
    assert_eq!(word(), "P5");
    let (w, h): (usize, usize) = (word().parse().unwrap(), word().parse().unwrap());
    assert_eq!(word(), "255");
    let grey = bytes[at + 1..].to_vec();
    assert_eq!(grey.len(), w * h);
    (w, h, grey)
}

/// Centre of a hairline near `where_mm`: the ink's centre of mass within half a millimetre.
fn hairline(profile: &[(f64, f64)], where_mm: f64) -> f64 {
    let near = profile.iter().filter(|(at, _)| (at - where_mm).abs() < 0.5);
    let (mass, moment) = near.fold((0.0, 0.0), |(m, s), (at, ink)| (m + ink, s + ink * at));
    assert!(mass > 0.3, "no line near {where_mm} mm");
    moment / mass
}

/// First and last half-inked place along a profile, to a fraction of a pixel.
fn ends(profile: &[(f64, f64)], px: f64) -> (f64, f64) {
    let first = profile.iter().position(|p| p.1 > 0.02).expect("no ink");
    let last = profile.iter().rposition(|p| p.1 > 0.02).unwrap();
    // The end pixels are inked by as much as the edge covers them.
    (
        profile[first].0 + px / 2.0 - px * profile[first].1,
        profile[last].0 - px / 2.0 + px * profile[last].1,
    )
}

fn assert_true(what: &str, measured: f64, wanted: f64) {
    let off = measured - wanted;
    eprintln!("{what}: {measured:.4} mm, {off:+.4} mm off");
    assert!(
        off.abs() <= TRUE_TO_MM,
        "{what}: {measured:.3} mm instead of {wanted:.3} mm"
    );
}

#[test]
fn label_edges_are_true_on_both_papers() {
    for paper in Paper::ALL {
        let document = wrap(paper);
        let saved = Saved::new(
            &document.to_pdf().unwrap(),
            &format!("edges-{}", paper.word()),
        );
        for (i, cell) in document.sheets[0].cells.iter().enumerate() {
            let b = cell.bounds;
            let raster = Raster::of(&saved, b, 600.0);
            // A row and a column that cross nothing but the edges.
            let row = raster.row(b.y + 1.0);
            let column = raster.column(b.x + 1.0);
            let (left, right) = (hairline(&row, b.x), hairline(&row, b.right()));
            let (top, bottom) = (hairline(&column, b.y), hairline(&column, b.bottom()));
            let what = format!("{} label {i}", paper.word());
            assert_true(&format!("{what} left"), left, b.x);
            assert_true(&format!("{what} top"), top, b.y);
            assert_true(&format!("{what} width"), right - left, 42.0);
            assert_true(&format!("{what} height"), bottom - top, 66.0);
        }
    }
}

#[test]
fn the_check_bar_is_fifty_millimetres_on_every_sheet() {
    for paper in Paper::ALL {
        let documents = [
            ("labels", wrap(paper)),
            ("cans", can_labels(&[can()], paper, 0).unwrap()),
            ("tickets", winding_tickets(&[ticket()], paper, 0).unwrap()),
            (
                "dx",
                dx_pattern(&[dx()], DxTemplate::default(), paper).unwrap(),
            ),
            (
                "shots",
                shot_cards(&[common::usual_shots()], paper).unwrap(),
            ),
            ("wedge", result_sheet(&common::result(), paper).unwrap()),
            (
                "bath",
                bath_cards(&[wet_common::fixer()], paper, 0).unwrap(),
            ),
            ("run", run_sheets(&[wet_common::run()], paper).unwrap()),
        ];
        for (name, document) in documents {
            let bar = document.sheets[0].check_bar;
            let saved = Saved::new(
                &document.to_pdf().unwrap(),
                &format!("bar-{name}-{}", paper.word()),
            );
            let raster = Raster::of(&saved, bar, 600.0);
            let (left, right) = ends(&raster.row(bar.y + bar.h / 2.0), raster.mm_per_px());
            assert_true(&format!("{name} {} bar", paper.word()), right - left, 50.0);
            assert_true(
                &format!("{name} {} bar's left end", paper.word()),
                left,
                bar.x,
            );
        }
    }
}

#[test]
fn dx_contacts_are_true() {
    let template = DxTemplate {
        contact_width_mm: 5.2,
        gap_x_mm: 1.3,
        ..DxTemplate::default()
    };
    let document = dx_pattern(&[dx()], template, Paper::A4).unwrap();
    let saved = Saved::new(&document.to_pdf().unwrap(), "contacts");
    // ISO 250 is 11001: S3 and S4 are painted, the fourth and fifth contact of row 1.
    let cell = document.sheets[0].cells[0].bounds;
    let label = Rect::new(
        cell.x + 12.0,
        cell.y + 9.0,
        template.label_width_mm,
        template.label_height_mm,
    );
    let y = label.y + template.from_top_mm + template.contact_height_mm / 2.0;
    let raster = Raster::of(&saved, label, 600.0);
    for column in [3.0, 4.0] {
        let x = label.x + template.from_left_mm + column * 6.5;
        let near: Vec<_> = raster
            .row(y)
            .into_iter()
            .filter(|p| p.0 > x - 0.6 && p.0 < x + 5.8)
            .collect();
        let (left, right) = ends(&near, raster.mm_per_px());
        assert_true("contact's left edge", left, x);
        assert_true("contact's width", right - left, 5.2);
    }
}

/// The codes of a page, cropped one by one from 300 dpi and read by a decoder that shares no code with
/// the encoder.
#[test]
fn every_qr_code_reads_back_as_its_address() {
    let mut all = Vec::new();
    for (word, _, size) in LabelSize::PRESETS {
        if size.holds_qr() {
            let list = labels(6);
            let document = cassette_labels(&list, LabelLayout::plain(size), Paper::A4, 0).unwrap();
            all.push((
                word,
                document,
                list.into_iter().map(|l| l.url.unwrap()).collect::<Vec<_>>(),
            ));
        }
    }
    all.push((
        "can",
        can_labels(&[can()], Paper::Letter, 0).unwrap(),
        vec![can().url.unwrap()],
    ));
    all.push((
        "ticket",
        winding_tickets(&[ticket()], Paper::A4, 0).unwrap(),
        vec![ticket().url.unwrap()],
    ));
    all.push((
        "bath",
        bath_cards(&[wet_common::fixer()], Paper::A4, 1).unwrap(),
        vec![wet_common::fixer().url.unwrap()],
    ));
    all.push((
        "run",
        run_sheets(&[wet_common::run()], Paper::Letter).unwrap(),
        vec![wet_common::run().url.unwrap()],
    ));
    let mut read = 0;
    for (name, document, addresses) in all {
        let saved = Saved::new(&document.to_pdf().unwrap(), &format!("qr-{name}"));
        for (cell, address) in document.sheets[0].cells.iter().zip(&addresses) {
            let raster = Raster::of(&saved, cell.qr.expect("a QR code").inset(0.5), 300.0);
            let mut image =
                rqrr::PreparedImage::prepare_from_greyscale(raster.width, raster.height, |x, y| {
                    raster.grey[y * raster.width + x]
                });
            let grids = image.detect_grids();
            assert_eq!(grids.len(), 1, "{name} {}: codes found", cell.name);
            let (_, content) = grids[0].decode().unwrap();
            assert_eq!(&content, address, "{name}");
            read += 1;
        }
    }
    assert_eq!(read, 3 * 6 + 4);
}

#[test]
fn text_can_be_extracted_and_fonts_are_embedded() {
    let saved = Saved::new(&wrap(Paper::A4).to_pdf().unwrap(), "text");
    let text = String::from_utf8(poppler("pdftotext", &["-layout", saved.path(), "-"])).unwrap();
    for words in [
        "HM-01",
        "HM-03",
        "EI 250",
        "18 fr",
        "Heron Mono 200",
        "25 Nov 2026",
        "50 mm",
    ] {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
    let saved = Saved::new(
        &winding_tickets(&[ticket()], Paper::Letter, 0)
            .unwrap()
            .to_pdf()
            .unwrap(),
        "text2",
    );
    let text = String::from_utf8(poppler("pdftotext", &["-layout", saved.path(), "-"])).unwrap();
    for words in ["HM-07", "24", "clicks", "20", "Heron Mono 200"] {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
    let fonts = String::from_utf8(poppler("pdffonts", &[saved.path()])).unwrap();
    let rows: Vec<&str> = fonts.lines().skip(2).collect();
    assert!(rows.len() >= 3, "{fonts}");
    for row in rows {
        // Columns from the right: object and generation, then unicode, subset, embedded.
        let columns: Vec<&str> = row.split_whitespace().rev().collect();
        assert_eq!(columns[2..5], ["yes", "yes", "yes"], "{fonts}");
    }
    let info = String::from_utf8(poppler("pdfinfo", &[saved.path()])).unwrap();
    assert!(
        info.contains("Winding tickets") && info.contains("612 x 792 pts (letter)"),
        "{info}"
    );
    assert!(
        !info.contains("CreationDate") && !info.contains("ModDate"),
        "{info}"
    );
}

/// Text of scripts that no face has still prints, as boxes, and is still found.
#[test]
fn missing_glyphs_print_and_extract() {
    let mut list = labels(1);
    list[0].stock = "鳥 Ångström Бобр".to_owned();
    let document = cassette_labels(
        &list,
        LabelLayout::plain(LabelSize::LARGE_FLAG),
        Paper::A4,
        0,
    )
    .unwrap();
    let saved = Saved::new(&document.to_pdf().unwrap(), "boxes");
    let text = String::from_utf8(poppler("pdftotext", &[saved.path(), "-"])).unwrap();
    assert!(text.contains("Ångström") && text.contains("Бобр"), "{text}");
    let stock = document.sheets[0]
        .items
        .iter()
        .find_map(|i| match &i.shape {
            spoolwright_print::drawing::Shape::Text(t) if t.text.contains('鳥') => {
                Some(i.shape.extent())
            }
            _ => None,
        });
    let boxed = stock.unwrap();
    let raster = Raster::of(&saved, Rect { w: 2.0, ..boxed }, 300.0);
    assert!(
        raster
            .row(boxed.y + boxed.h / 2.0)
            .iter()
            .any(|p| p.1 > 0.5),
        "the box has no ink"
    );
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let make = |paper| {
        [
            wrap(paper),
            can_labels(&[can()], paper, 0).unwrap(),
            winding_tickets(&[ticket()], paper, 0).unwrap(),
            dx_pattern(&[dx()], DxTemplate::default(), paper).unwrap(),
            shot_cards(&[common::usual_shots()], paper).unwrap(),
            result_sheet(&common::result(), paper).unwrap(),
            bath_cards(&[wet_common::fixer()], paper, 0).unwrap(),
            run_sheets(&[wet_common::run()], paper).unwrap(),
        ]
        .map(|d| (d.to_pdf().unwrap().0, d.to_svg(0).unwrap()))
    };
    for paper in Paper::ALL {
        let (one, two) = (make(paper), make(paper));
        assert!(one == two, "{}: two runs differ", paper.word());
        for (pdf, _) in one {
            assert!(pdf.starts_with(b"%PDF-"));
            assert!(
                pdf.len() < 200_000,
                "{} bytes: are the fonts subset?",
                pdf.len()
            );
        }
    }
}
