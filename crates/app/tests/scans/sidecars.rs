//! Sidecars written, read back by outside readers, and never over somebody else's.

use super::{contents, desk};
use roxmltree::{Document, Node};
use serde_json::{Value, json};
use spoolwright::service::field::note::NoteDraft;
use spoolwright::service::field::scans::sidecar::Standing;
use spoolwright_core::Kind;
use std::fs;
use std::path::Path;
use std::process::Command;

const DC: &str = "http://purl.org/dc/elements/1.1/";
const EXIF: &str = "http://ns.adobe.com/exif/1.0/";
const EXIF_EX: &str = "http://cipa.jp/exif/1.0/";
const TIFF: &str = "http://ns.adobe.com/tiff/1.0/";
const XMP: &str = "http://ns.adobe.com/xap/1.0/";
const PHOTOSHOP: &str = "http://ns.adobe.com/photoshop/1.0/";
const IPTC_CORE: &str = "http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/";
const IPTC_EXT: &str = "http://iptc.org/std/Iptc4xmpExt/2008-02-29/";
const RDF: &str = "http://www.w3.org/1999/02/22-rdf-syntax-ns#";

/// What exiftool reads of a file, groups before names.
fn exiftool(path: &Path) -> Value {
    let out = Command::new("exiftool")
        .args(["-json", "-G1", "-struct", "-n"])
        .arg(path)
        .output()
        .expect(
            "exiftool cannot be run: install libimage-exiftool-perl; `cargo xtask test` does that",
        );
    let read: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    assert!(read[0].get("ExifTool:Warning").is_none(), "{read}");
    read[0].clone()
}

fn property<'a>(doc: &'a Document<'_>, ns: &str, name: &str) -> Option<Node<'a, 'a>> {
    let mut found = doc.descendants().filter(|n| n.has_tag_name((ns, name)));
    let first = found.next();
    assert!(found.next().is_none(), "{name} once");
    first
}

/// Its text, or the texts of its items.
fn texts(node: Node<'_, '_>) -> Vec<String> {
    let items: Vec<String> = node
        .descendants()
        .filter(|n| n.has_tag_name((RDF, "li")))
        .map(|n| n.text().unwrap_or_default().to_owned())
        .collect();
    match items.is_empty() {
        true => vec![node.text().unwrap_or_default().to_owned()],
        false => items,
    }
}

#[test]
fn outside_readers_find_what_was_noted() {
    let d = desk();
    d.heron();
    d.scan("012.png");
    d.scan("13.png");
    d.s.match_scans(d.rolls[0], &d.draft("number"), None)
        .unwrap();
    let made = d.s.write_sidecars(d.rolls[0], None).unwrap();
    assert_eq!(made.story, "Wrote 2 sidecars for HM-01.");

    let read = exiftool(&d.path("012.xmp"));
    for (tag, value) in [
        ("XMP-dc:Title", json!("HM-01 frame 12")),
        (
            "XMP-dc:Description",
            json!(
                "heron on the weir, at \"dawn\", Mühle <old> & new. Roll HM-01, frame 12: Harbour & Mist <250> at EI \
                 200. Double exposure. Filter: yellow 2×."
            ),
        ),
        (
            "XMP-dc:Subject",
            json!(["HM-01", "Harbour & Mist <250>", "Mühle <old> & new"]),
        ),
        ("XMP-dc:Source", json!("HM-01/12")),
        (
            "XMP-photoshop:Headline",
            json!("heron on the weir, at \"dawn\""),
        ),
        ("XMP-iptcCore:Location", json!("Mühle <old> & new")),
        (
            "XMP-iptcExt:DigitalSourceType",
            json!("http://cv.iptc.org/newscodes/digitalsourcetype/negativeFilm"),
        ),
        ("XMP-exif:DateTimeOriginal", json!("2026:05:17 05:40")),
        ("XMP-photoshop:DateCreated", json!("2026:05:17 05:40")),
        ("XMP-tiff:Model", json!("Walking camera")),
        ("XMP-exifEX:LensModel", json!("50 mm, the old one")),
        ("XMP-exif:FNumber", json!(5.6)),
        ("XMP-exif:ExposureTime", json!(0.008)),
        ("XMP-exif:ExposureIndex", json!(200)),
        ("XMP-exif:ISO", json!([200])),
        ("XMP-exifEX:PhotographicSensitivity", json!(200)),
        ("XMP-exif:UserComment", json!("moved at the last moment")),
        ("XMP-xmp:Rating", json!(-1)),
    ] {
        assert_eq!(read[tag], value, "{tag}");
    }
    let blank = exiftool(&d.path("13.xmp"));
    assert_eq!(
        blank["XMP-dc:Description"],
        "Roll HM-01, frame 13: Harbour & Mist <250> at EI 200."
    );
    for tag in [
        "XMP-exif:FNumber",
        "XMP-photoshop:Headline",
        "XMP-xmp:Rating",
        "XMP-exif:DateTimeOriginal",
    ] {
        assert!(blank.get(tag).is_none(), "{tag} was never noted");
    }
}

#[test]
fn a_general_parser_finds_every_term_under_the_standards_names() {
    let d = desk();
    d.heron();
    d.scan("12.png");
    d.s.match_scans(d.rolls[0], &d.draft("number"), None)
        .unwrap();
    d.s.write_sidecars(d.rolls[0], None).unwrap();
    let text = fs::read_to_string(d.path("12.xmp")).unwrap();
    let doc = Document::parse(&text).unwrap();
    assert!(
        doc.root_element()
            .has_tag_name(("adobe:ns:meta/", "xmpmeta"))
    );
    let about = property(&doc, RDF, "Description").unwrap();
    assert_eq!(about.attribute((RDF, "about")), Some(""));
    for (ns, name, wanted) in [
        (DC, "title", &["HM-01 frame 12"][..]),
        (
            DC,
            "subject",
            &["HM-01", "Harbour & Mist <250>", "Mühle <old> & new"],
        ),
        (DC, "source", &["HM-01/12"]),
        (PHOTOSHOP, "Headline", &["heron on the weir, at \"dawn\""]),
        (PHOTOSHOP, "DateCreated", &["2026-05-17T05:40"]),
        (IPTC_CORE, "Location", &["Mühle <old> & new"]),
        (
            IPTC_EXT,
            "DigitalSourceType",
            &["http://cv.iptc.org/newscodes/digitalsourcetype/negativeFilm"],
        ),
        (EXIF, "DateTimeOriginal", &["2026-05-17T05:40"]),
        (EXIF, "FNumber", &["56/10"]),
        (EXIF, "ExposureTime", &["1/125"]),
        (EXIF, "ExposureIndex", &["200/1"]),
        (EXIF, "ISOSpeedRatings", &["200"]),
        (EXIF, "UserComment", &["moved at the last moment"]),
        (EXIF_EX, "PhotographicSensitivity", &["200"]),
        (EXIF_EX, "LensModel", &["50 mm, the old one"]),
        (TIFF, "Model", &["Walking camera"]),
        (XMP, "Rating", &["-1"]),
    ] {
        let node = property(&doc, ns, name).unwrap_or_else(|| panic!("no {name}"));
        assert_eq!(texts(node), wanted, "{name}");
    }
    // Kinds of containers as the standard has them.
    for (ns, name, kind) in [
        (DC, "title", "Alt"),
        (DC, "description", "Alt"),
        (DC, "subject", "Bag"),
        (EXIF, "ISOSpeedRatings", "Seq"),
        (EXIF, "UserComment", "Alt"),
    ] {
        let node = property(&doc, ns, name).unwrap();
        assert!(
            node.first_element_child()
                .unwrap()
                .has_tag_name((RDF, kind)),
            "{name}"
        );
    }
}

/// Images keep their bytes; what is written twice is the same and changes nothing; a note that changes is written anew.
#[test]
fn writing_again_changes_nothing_until_more_is_known() {
    let d = desk();
    for name in ["1.png", "2.png", "2.tif"] {
        d.scan(name);
    }
    let images = contents(d.folder.path());
    d.s.match_scans(d.rolls[0], &d.draft("number"), None)
        .unwrap();
    let made = d.s.write_sidecars(d.rolls[0], None).unwrap();
    assert_eq!(made.value.clone().unwrap().written, 2, "one for each name");
    let first = contents(d.folder.path());
    assert_eq!(first.len(), images.len() + 2);
    let again = d.s.write_sidecars(d.rolls[0], None).unwrap();
    assert_eq!(again.entry, None);
    assert_eq!(
        again.story,
        "Every sidecar of HM-01 says what is known already."
    );
    assert_eq!(contents(d.folder.path()), first);

    d.note(NoteDraft {
        frame: "2".into(),
        subject: "gate".into(),
        ..NoteDraft::default()
    });
    let states = |n: usize| d.s.scans_of(d.rolls[0]).unwrap()[n].sidecar.clone();
    assert_eq!(
        [states(0), states(1)],
        [Standing::Current, Standing::Outdated]
    );
    let made = d.s.write_sidecars(d.rolls[0], None).unwrap();
    assert_eq!(made.story, "Wrote 1 sidecar for HM-01.");
    let after = contents(d.folder.path());
    for (name, bytes) in &images {
        assert!(
            after.contains(&(name.clone(), bytes.clone())),
            "{name} untouched"
        );
    }
    // Undoing the record leaves the file one of ours: it is still written anew.
    d.s.undo(made.entry.unwrap(), None).unwrap();
    d.note(NoteDraft {
        frame: "1".into(),
        subject: "barn".into(),
        ..NoteDraft::default()
    });
    assert_eq!(
        [states(0), states(1)],
        [Standing::Outdated, Standing::Current]
    );
    fs::remove_file(d.path("1.xmp")).unwrap();
    assert_eq!(states(0), Standing::Missing);
    d.s.write_sidecars(d.rolls[0], None).unwrap();
    assert!(
        fs::read_to_string(d.path("1.xmp"))
            .unwrap()
            .contains("barn")
    );
}

#[test]
fn what_somebody_else_wrote_stays() {
    let d = desk();
    for name in ["1.png", "2.png"] {
        d.scan(name);
    }
    d.s.match_scans(d.rolls[0], &d.draft("number"), None)
        .unwrap();
    fs::write(d.path("1.xmp"), "<x:xmpmeta xmlns:x='adobe:ns:meta/'/>").unwrap();
    let made = d.s.write_sidecars(d.rolls[0], None).unwrap();
    assert_eq!(
        made.story,
        "Wrote 1 sidecar for HM-01. Left alone: 1.xmp (another program wrote or changed it)."
    );
    // Ours, and then changed by another program.
    let mut ours = fs::read_to_string(d.path("2.xmp")).unwrap();
    ours = ours.replace("HM-01/2", "HM-01/3");
    fs::write(d.path("2.xmp"), &ours).unwrap();
    let refused = d.s.write_sidecars(d.rolls[0], None).unwrap_err();
    assert_eq!(refused.faults()[0].error.kind, Kind::Conflict);
    assert!(refused.to_string().contains("1.xmp") && refused.to_string().contains("2.xmp"));
    assert_eq!(fs::read_to_string(d.path("2.xmp")).unwrap(), ours);
    assert_eq!(
        fs::read(d.path("1.xmp")).unwrap(),
        b"<x:xmpmeta xmlns:x='adobe:ns:meta/'/>"
    );
    fs::remove_file(d.path("1.xmp")).unwrap();
    fs::create_dir(d.path("1.xmp")).unwrap();
    let refused = d.s.write_sidecars(d.rolls[0], None).unwrap_err();
    assert!(
        refused.to_string().contains("its sidecar is no file"),
        "{refused}"
    );
}

#[test]
fn a_roll_without_scans_and_files_that_went() {
    let d = desk();
    let refused = d.s.write_sidecars(d.rolls[0], None).unwrap_err();
    assert_eq!(refused.faults()[0].error.kind, Kind::Missing);
    let path = d.scan("1.png");
    d.s.match_scans(d.rolls[0], &d.draft("number"), None)
        .unwrap();
    fs::remove_file(path).unwrap();
    assert!(matches!(
        d.s.scans_of(d.rolls[0]).unwrap()[0].sidecar,
        Standing::Barred(_)
    ));
    assert!(d.s.write_sidecars(d.rolls[0], None).is_err());
    assert!(!d.path("1.xmp").exists());
}
