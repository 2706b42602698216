//! Scans through the service: a folder matched to frames, and sidecars that outside readers understand.
//!
//! Sidecars are read back by exiftool (Debian: libimage-exiftool-perl; the tests fail without it) and by a general XML
//! parser against the namespace names of the standards [XMP1] to [XMP4].

mod folders;
mod sidecars;

use jiff::Timestamp;
use spoolwright::service::Service;
use spoolwright::service::draft::{CanDraft, LoaderDraft, StockDraft};
use spoolwright::service::field::cameras::CameraDraft;
use spoolwright::service::field::note::{NoteDraft, NoteSent};
use spoolwright::service::field::scans::matching::{Fate, MatchDraft, MatchView};
use spoolwright::service::field::stays::PutInDraft;
use spoolwright::service::queue::TicketDraft;
use spoolwright::service::winding::WindDraft;
use spoolwright_core::shelf::RollId;
use spoolwright_store::Store;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

fn a_day() -> Timestamp {
    "2026-05-17T10:00:00Z".parse().unwrap()
}

/// A service with two rolls, HM-01 of 36 frames in a camera at EI 200 and HM-02, and a folder for scans.
struct Desk {
    s: Service,
    rolls: [RollId; 2],
    folder: TempDir,
}

fn desk() -> Desk {
    let s = Service::over(Store::in_memory().unwrap(), Box::new(a_day));
    let stock = StockDraft {
        name: "Harbour & Mist <250>".into(),
        ei: "250".into(),
        ..StockDraft::default()
    };
    s.save_stock(None, &stock, None).unwrap();
    let loader = LoaderDraft {
        name: "Bench".into(),
        ..LoaderDraft::default()
    };
    s.save_loader(None, &loader, None).unwrap();
    let can = CanDraft {
        stock: "1".into(),
        letters: "HM".into(),
        loader: "Bench".into(),
        ..CanDraft::default()
    };
    s.save_can(None, &can, None).unwrap();
    let wind = |frames: &str| {
        let ticket = TicketDraft {
            can: "HM".into(),
            frames: frames.into(),
            ..TicketDraft::default()
        };
        let id = s.add_ticket(&ticket, None).unwrap().value.unwrap();
        let wound = s.wind(id, &WindDraft::default(), None).unwrap();
        wound.value.unwrap().roll.unwrap().0
    };
    let rolls = [wind("36"), wind("24")];
    let camera = CameraDraft {
        name: "Walking camera".into(),
        ..CameraDraft::default()
    };
    s.save_camera(None, &camera, None).unwrap();
    let put = PutInDraft {
        camera: "Walking camera".into(),
        ei: "200".into(),
        ..PutInDraft::default()
    };
    s.put_in_camera(rolls[0], &put, None).unwrap();
    Desk {
        s,
        rolls,
        folder: tempfile::tempdir().unwrap(),
    }
}

impl Desk {
    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A small grey picture of that name.
    fn scan(&self, name: &str) -> PathBuf {
        let path = self.path(name);
        fs::write(&path, picture(40, 27)).unwrap();
        path
    }

    fn draft(&self, by: &str) -> MatchDraft {
        MatchDraft {
            folder: self.folder.path().to_str().unwrap().into(),
            by: by.into(),
            ..MatchDraft::default()
        }
    }

    fn note(&self, draft: NoteDraft) {
        let sent = NoteSent {
            draft,
            ..NoteSent::default()
        };
        self.s.save_note(self.rolls[0], &sent, None).unwrap();
    }

    /// The heron, noted in full.
    fn heron(&self) {
        self.note(NoteDraft {
            frame: "12".into(),
            subject: "heron on the weir, at \"dawn\"".into(),
            place: "Mühle <old> & new".into(),
            aperture: "5.6".into(),
            shutter: "1/125".into(),
            lens: "50 mm, the old one".into(),
            filter: "yellow 2×".into(),
            taken_at: "2026-05-17 05:40".into(),
            exposures: "2".into(),
            usable: "no".into(),
            note: "moved at the last moment".into(),
            ..NoteDraft::default()
        });
    }
}

fn picture(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Grayscale);
    let mut writer = encoder.write_header().unwrap();
    let pixels: Vec<u8> = (0..width * height).map(|i| (i % 251) as u8).collect();
    writer.write_image_data(&pixels).unwrap();
    writer.finish().unwrap();
    bytes
}

/// Names and the frames they are taken for; a dash where a file is left out.
fn told(view: &MatchView) -> String {
    let row = |r: &spoolwright::service::field::scans::matching::MatchRow| match (&r.fate, r.frame)
    {
        (Fate::LeftOut(_), _) | (_, None) => format!("{} -", r.name),
        (_, Some(frame)) => format!("{} {frame}", r.name),
    };
    view.rows.iter().map(row).collect::<Vec<_>>().join(", ")
}

/// Every file of a folder with its bytes.
fn contents(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut all: Vec<(String, Vec<u8>)> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.is_file())
        .map(|p| {
            let name = p.file_name().unwrap().to_str().unwrap().to_owned();
            (name, fs::read(p).unwrap())
        })
        .collect();
    all.sort();
    all
}
