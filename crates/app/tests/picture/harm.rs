//! Files of every kind that is read, and files that must be refused: cut short, spoilt, made to do harm, or of a kind
//! that is not read. A refusal has four parts and comes before memory is taken.

use std::io::{self, Cursor, Read, Seek, SeekFrom};

use proptest::prelude::*;
use serde_json::Value;
use spoolwright::calc::wedgescan::layout;
use spoolwright::picture::{MAX_FILE_BYTES, open, preview, read_strip};
use spoolwright_core::wedge::scan::{Layout, Reading, Source};
use spoolwright_core::{Error, Kind};

use super::reference;

fn formats() -> (Layout, Vec<(String, Vec<u8>)>) {
    let text = std::fs::read_to_string(reference("formats.json")).expect("formats.json");
    let json: Value = serde_json::from_str(&text).expect("JSON");
    let files = json["files"].as_array().expect("files").iter().map(|name| {
        let name = name.as_str().expect("a name").to_owned();
        let bytes = std::fs::read(reference("formats").join(&name)).expect("a picture");
        (name, bytes)
    });
    let layout = layout(json["layout"].to_string().as_bytes()).expect("a layout");
    (layout, files.collect())
}

fn scene(name: &str) -> Vec<u8> {
    std::fs::read(reference("pictures").join(name)).expect("a picture")
}

/// Whatever is refused is refused in four parts that a person can read.
fn judge(error: &Error) {
    for part in [&error.what, &error.given, &error.allowed, &error.remedy] {
        assert!(!part.is_empty() && part.chars().count() < 500, "{error:?}");
        assert!(!part.chars().any(char::is_control), "{error:?}");
    }
}

fn refusal(bytes: &[u8]) -> Error {
    let (layout, _) = formats();
    let error = read_strip(Cursor::new(bytes), &layout).expect_err("refused");
    judge(&error);
    error
}

#[test]
fn one_picture_in_ten_kinds_of_file_has_the_same_densities() {
    let (layout, files) = formats();
    assert_eq!(files.len(), 10);
    let read =
        |bytes: &[u8]| -> Reading { read_strip(Cursor::new(bytes), &layout).expect("read").1 };
    let plain = files
        .iter()
        .find(|(name, _)| name == "plain.tif")
        .expect("there");
    let plain = read(&plain.1);
    assert!(
        plain
            .strip
            .iter()
            .all(|p| p.density.is_some_and(|d| d.sd < 0.05))
    );
    for (name, bytes) in &files {
        assert_eq!(read(bytes), plain, "{name}");
    }
}

#[test]
fn a_preview_is_small_and_true_to_the_picture() {
    let (_, files) = formats();
    for (name, bytes) in files {
        let small = preview(Cursor::new(&bytes), 64).expect("a preview");
        assert_eq!((small.width, small.height), (58, 24), "{name}");
        assert_eq!(
            (small.of.shape.width, small.of.shape.height),
            (230, 95),
            "{name}"
        );
        let again = open(Cursor::new(&small.png)).expect("a PNG");
        assert_eq!(
            (again.shape().width, again.shape().sixteen),
            (58, false),
            "{name}"
        );
    }
    let photo = preview(Cursor::new(scene("jpeg.jpg")), 4096).expect("a preview");
    assert_eq!((photo.width, photo.height), (600, 240));
    assert_eq!(
        preview(Cursor::new(scene("jpeg.jpg")), 5)
            .expect_err("refused")
            .kind,
        Kind::OutOfRange
    );
}

#[test]
fn what_is_cut_short_is_refused() {
    let (_, mut files) = formats();
    files.push(("jpeg.jpg".to_owned(), scene("jpeg.jpg")));
    for (name, bytes) in files {
        for part in [0.05, 0.3, 0.6] {
            let cut = &bytes[..(bytes.len() as f64 * part) as usize];
            let error = refusal(cut);
            assert_eq!(error.kind, Kind::Unknown, "{name}: {error}");
        }
    }
}

#[test]
fn what_is_no_picture_is_refused() {
    assert_eq!(refusal(b"").kind, Kind::Missing);
    for junk in [
        &b"GIF89a..."[..],
        b"%PDF-1.7",
        b"{}",
        b"II",
        &[0; 40],
        &[0xff; 40],
    ] {
        assert_eq!(refusal(junk).kind, Kind::Unknown);
    }
}

/// A file that is larger than memory may hold, without its bytes.
struct Vast(u64);

impl Read for Vast {
    fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
        panic!("nothing of it may be read")
    }
}

impl Seek for Vast {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        assert_eq!(to, SeekFrom::End(0));
        Ok(self.0)
    }
}

#[test]
fn a_file_of_two_gigabytes_is_refused_unread() {
    let error = open(Vast(2_000_000_000)).expect_err("refused");
    assert_eq!(error.kind, Kind::TooLarge);
    assert!(
        error.given.contains("2000 MB")
            && error
                .allowed
                .contains(&(MAX_FILE_BYTES / 1_000_000).to_string())
    );
    judge(&error);
}

/// A JPEG's first bytes and a length; only a little of it may be read.
struct LongJpeg {
    length: u64,
    read: usize,
}

impl Read for LongJpeg {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        self.read += into.len();
        assert!(self.read <= 1 << 17, "more than its start was read");
        into.fill(0);
        into[..3].copy_from_slice(&[0xff, 0xd8, 0xff]);
        Ok(into.len())
    }
}

impl Seek for LongJpeg {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        Ok(if to == SeekFrom::End(0) {
            self.length
        } else {
            0
        })
    }
}

#[test]
fn a_jpeg_too_long_for_any_picture_is_refused_unread() {
    let error = open(LongJpeg {
        length: 900_000_000,
        read: 0,
    })
    .expect_err("refused");
    assert_eq!(error.kind, Kind::TooLarge);
    assert_eq!(
        (error.given.as_str(), error.allowed.as_str()),
        ("900 MB", "up to 360 MB")
    );
    judge(&error);
}

/// Little-endian TIFF of one strip with these tags: number, type (3 short, 4 long), value.
fn tiff(tags: &[(u16, u16, u32)]) -> Vec<u8> {
    let mut bytes = b"II\x2a\0\x08\0\0\0".to_vec();
    bytes.extend((tags.len() as u16).to_le_bytes());
    for (tag, kind, value) in tags {
        bytes.extend(tag.to_le_bytes());
        bytes.extend(kind.to_le_bytes());
        bytes.extend(1u32.to_le_bytes());
        bytes.extend(value.to_le_bytes());
    }
    bytes.extend([0; 64]);
    bytes
}

fn grey_tiff(width: u32, height: u32, bits: u32, compression: u32, format: u32) -> Vec<u8> {
    tiff(&[
        (256, 4, width),
        (257, 4, height),
        (258, 3, bits),
        (259, 3, compression),
        (262, 3, 1),
        (273, 4, 100),
        (277, 3, 1),
        (278, 4, height),
        (279, 4, 20),
        (339, 3, format),
    ])
}

fn png_header(width: u32, height: u32, depth: u8, colour: u8) -> Vec<u8> {
    let mut header = b"IHDR".to_vec();
    header.extend(width.to_be_bytes());
    header.extend(height.to_be_bytes());
    header.extend([depth, colour, 0, 0, 0]);
    let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\x0d".to_vec();
    bytes.extend(&header);
    bytes.extend(crc(&header).to_be_bytes());
    bytes
}

/// The checksum of the PNG specification, annex D.
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0u32, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| {
            if c & 1 == 1 {
                0xedb8_8320 ^ (c >> 1)
            } else {
                c >> 1
            }
        })
    })
}

/// Small files that claim to hold huge pictures.
#[test]
fn bombs_are_refused_by_their_headers() {
    let mut jpeg = scene("jpeg.jpg");
    let frame = jpeg
        .windows(2)
        .position(|w| w == [0xff, 0xc0])
        .expect("a frame header");
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0xff, 0xff, 0xff, 0xff]);
    let mut tall = scene("jpeg.jpg");
    tall[frame + 5..frame + 9].copy_from_slice(&[0x2a, 0x00, 0x2a, 0x00]);
    let bombs = [
        (
            "TIFF of 4 billion pixels a side",
            grey_tiff(u32::MAX, u32::MAX, 16, 1, 1),
        ),
        ("TIFF of 2 GB", grey_tiff(32_000, 31_250, 16, 1, 1)),
        (
            "TIFF of 200 MB in 200 bytes",
            grey_tiff(10_000, 10_000, 16, 8, 1),
        ),
        ("PNG of 2 GB", png_header(32_000, 31_250, 16, 0)),
        (
            "PNG of the largest size",
            png_header(0x7fff_ffff, 0x7fff_ffff, 16, 6),
        ),
        (
            "PNG of 200 MB in 33 bytes",
            png_header(10_000, 10_000, 16, 0),
        ),
        ("JPEG of the largest size", jpeg),
        ("JPEG of 115 MP in 15 kB", tall),
    ];
    for (name, bytes) in bombs {
        let error = refusal(&bytes);
        let early = error.kind == Kind::TooLarge || name.starts_with("JPEG of the largest");
        assert!(early, "{name}: {error}");
    }
}

#[test]
fn kinds_of_pixel_that_are_not_read_are_named() {
    for (bytes, said) in [
        (png_header(300, 200, 8, 3), "a palette"),
        (png_header(300, 200, 4, 0), "4"),
        (grey_tiff(10, 10, 32, 1, 3), "32"),
        (grey_tiff(4, 5, 16, 1, 2), "signed or floating-point values"),
        (
            tiff(&[
                (256, 4, 4),
                (257, 4, 5),
                (258, 3, 16),
                (259, 3, 1),
                (262, 3, 1),
                (266, 3, 2),
                (273, 4, 100),
                (277, 3, 1),
                (278, 4, 5),
                (279, 4, 40),
            ]),
            "the lowest bit first (FillOrder 2)",
        ),
    ] {
        let error = refusal(&bytes);
        assert_eq!(
            (error.kind, error.given.as_str()),
            (Kind::Unknown, said),
            "{error}"
        );
    }
}

/// Reads and previews; whatever happens, no panic and no endless words.
fn survives(bytes: &[u8]) {
    let (layout, _) = formats();
    let (read, seen) = (
        read_strip(Cursor::new(bytes), &layout),
        preview(Cursor::new(bytes), 256),
    );
    read.err().iter().chain(&seen.err()).for_each(judge);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn junk_behind_a_good_beginning(which in 0usize..4, junk in prop::collection::vec(any::<u8>(), 0..400)) {
        let begin: [&[u8]; 4] = [b"II\x2a\0\x08\0\0\0", b"MM\0\x2a\0\0\0\x08", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff\xe0"];
        survives(&[begin[which], &junk].concat());
    }

    #[test]
    fn good_files_spoilt_in_some_bytes(which in any::<prop::sample::Index>(), spoils in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>(), any::<bool>()), 1..6)) {
        let (_, mut files) = formats();
        files.push((String::new(), scene("jpeg.jpg")));
        let mut bytes = which.get::<(String, Vec<u8>)>(&files).1.clone();
        for (at, byte, early) in spoils {
            // Headers lie at the beginning or, in TIFF, anywhere: half of the spoils go to the first 300 bytes.
            let within = if early { bytes.len().min(300) } else { bytes.len() };
            let at = at.index(within);
            bytes[at] = byte;
        }
        survives(&bytes);
    }

    #[test]
    fn good_files_cut_anywhere(which in any::<prop::sample::Index>(), at in any::<prop::sample::Index>()) {
        let (_, files) = formats();
        let bytes = &which.get::<(String, Vec<u8>)>(&files).1;
        survives(&bytes[..at.index(bytes.len())]);
    }
}
