//! XMP sidecars: what is known of a frame in the terms of Dublin Core, EXIF, IPTC and XMP itself, as a packet beside
//! an image.
//!
//! The same card always gives the same bytes. Nothing of the image is read or written here, and no clock. A line at the
//! end holds a digest of the rest, so that a sidecar which somebody changed is told from one that was only written.
//!
//! # Source
//! Names and kinds of values: XMP [XMP1], its EXIF and Photoshop properties [XMP2], Exif for XMP [XMP3], IPTC [XMP4].

use quick_xml::Writer;
use quick_xml::events::{BytesEnd, BytesPI, BytesStart, BytesText, Event};
use ring::digest::{SHA256, digest};
use spoolwright_core::field::record::FrameShape;

/// Prefixes and the names that they stand for.
const NAMES: [(&str, &str); 8] = [
    ("dc", "http://purl.org/dc/elements/1.1/"),
    ("exif", "http://ns.adobe.com/exif/1.0/"),
    ("exifEX", "http://cipa.jp/exif/1.0/"),
    ("tiff", "http://ns.adobe.com/tiff/1.0/"),
    ("xmp", "http://ns.adobe.com/xap/1.0/"),
    ("photoshop", "http://ns.adobe.com/photoshop/1.0/"),
    (
        "Iptc4xmpCore",
        "http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/",
    ),
    ("Iptc4xmpExt", "http://iptc.org/std/Iptc4xmpExt/2008-02-29/"),
];
const RDF: &str = "http://www.w3.org/1999/02/22-rdf-syntax-ns#";
/// What the last line begins with.
const MARK: &str = "<!-- Written by Spoolwright. While this holds, it may write it anew: sha256 ";

/// What a frame was taken on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Original {
    /// A negative.
    #[default]
    Negative,
    /// A slide.
    Positive,
}

/// What is known of a frame; an empty text is nothing said.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Card {
    /// The roll's label.
    pub roll: String,
    /// The frame.
    pub frame: String,
    /// The stock's name.
    pub stock: String,
    /// Negative or slide.
    pub original: Original,
    /// EI it was exposed at.
    pub ei: Option<f64>,
    /// How it was developed, in words.
    pub developing: String,
    /// The camera, as the photographer calls it.
    pub camera: String,
    /// The lens.
    pub lens: String,
    /// f-number.
    pub aperture: Option<f64>,
    /// Shutter time, seconds.
    pub shutter_s: Option<f64>,
    /// The filter.
    pub filter: String,
    /// Exposures on it.
    pub exposures: u32,
    /// Full, half or panoramic.
    pub shape: FrameShape,
    /// What is on it.
    pub subject: String,
    /// Where it was taken.
    pub place: String,
    /// When, by the clock on the spot.
    pub taken_at: Option<String>,
    /// Whether it can be used.
    pub usable: Option<bool>,
    /// Free text.
    pub note: String,
}

impl Card {
    /// How it came about, in one paragraph: what has no term of its own in the standards.
    fn told(&self) -> String {
        let ei = self.ei.map(|ei| format!(" at EI {}", trimmed(ei)));
        let mut told = vec![format!(
            "Roll {}, frame {}: {}{}",
            self.roll,
            self.frame,
            self.stock,
            ei.unwrap_or_default()
        )];
        let shape = match self.shape {
            FrameShape::Full => "",
            FrameShape::Half => "Half frame",
            FrameShape::Panoramic => "Panoramic frame",
        };
        told.push(shape.to_owned());
        told.push(match self.exposures {
            0 | 1 => String::new(),
            2 => "Double exposure".to_owned(),
            many => format!("{many} exposures on it"),
        });
        if !self.filter.is_empty() {
            told.push(format!("Filter: {}", self.filter));
        }
        if !self.developing.is_empty() {
            told.push(format!("Developed in {}", self.developing));
        }
        told.retain(|t| !t.is_empty());
        told.join(". ") + "."
    }

    /// The sidecar.
    pub fn sidecar(&self) -> Vec<u8> {
        let mut p = Packet(Writer::new_with_indent(Vec::new(), b' ', 1));
        p.put(Event::PI(BytesPI::new(
            "xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"",
        )));
        p.open("x:xmpmeta", &[("xmlns:x", "adobe:ns:meta/")]);
        p.open("rdf:RDF", &[("xmlns:rdf", RDF)]);
        let names: Vec<(String, &str)> = NAMES
            .iter()
            .map(|(prefix, name)| (format!("xmlns:{prefix}"), *name))
            .collect();
        let mut attributes = vec![("rdf:about", "")];
        attributes.extend(names.iter().map(|(key, name)| (key.as_str(), *name)));
        p.open("rdf:Description", &attributes);
        self.put_properties(&mut p);
        for end in ["rdf:Description", "rdf:RDF", "x:xmpmeta"] {
            p.put(Event::End(BytesEnd::new(end)));
        }
        p.put(Event::PI(BytesPI::new("xpacket end=\"w\"")));
        marked(p.0.into_inner())
    }

    fn put_properties(&self, p: &mut Packet) {
        let name = format!("{} frame {}", self.roll, self.frame);
        p.in_words("dc:title", &name);
        let subject = match (self.subject.as_str(), self.place.as_str()) {
            ("", place) => place.to_owned(),
            (subject, "") => subject.to_owned(),
            (subject, place) => format!("{subject}, {place}"),
        };
        let stop = if subject.is_empty() { "" } else { ". " };
        p.in_words("dc:description", &format!("{subject}{stop}{}", self.told()));
        p.list(
            "dc:subject",
            "rdf:Bag",
            &[&self.roll, &self.stock, &self.place],
        );
        p.text("dc:source", &format!("{}/{}", self.roll, self.frame));
        p.text("photoshop:Headline", &self.subject);
        p.text("Iptc4xmpCore:Location", &self.place);
        let original = match self.original {
            Original::Negative => "negativeFilm",
            Original::Positive => "positiveFilm",
        };
        p.text(
            "Iptc4xmpExt:DigitalSourceType",
            &format!("http://cv.iptc.org/newscodes/digitalsourcetype/{original}"),
        );
        if let Some(at) = &self.taken_at {
            p.text("exif:DateTimeOriginal", at);
            p.text("photoshop:DateCreated", at);
        }
        p.text("tiff:Model", &self.camera);
        p.text("exifEX:LensModel", &self.lens);
        if let Some(n) = self.aperture {
            p.text("exif:FNumber", &fraction(n));
        }
        if let Some(t) = self.shutter_s {
            p.text("exif:ExposureTime", &fraction(t));
        }
        if let Some(ei) = self.ei {
            p.text("exif:ExposureIndex", &fraction(ei));
            // A short integer there: a speed that is none is told by the index alone.
            if ei.fract() == 0.0 && (1.0..=65535.0).contains(&ei) {
                p.list("exif:ISOSpeedRatings", "rdf:Seq", &[&trimmed(ei)]);
                p.text("exifEX:PhotographicSensitivity", &trimmed(ei));
            }
        }
        p.in_words("exif:UserComment", &self.note);
        if self.usable == Some(false) {
            p.text("xmp:Rating", "-1");
        }
    }
}

/// Whether a sidecar is one of ours that nobody has changed since.
pub fn is_untouched(bytes: &[u8]) -> bool {
    let mark = MARK.as_bytes();
    let at = bytes.windows(mark.len()).rposition(|w| w == mark);
    at.is_some_and(|at| marked(bytes[..at].trim_ascii_end().to_vec()) == bytes)
}

/// A digest in hexadecimal digits.
pub fn digest_of(bytes: &[u8]) -> String {
    let digest = digest(&SHA256, bytes);
    digest.as_ref().iter().map(|b| format!("{b:02x}")).collect()
}

/// The packet with its last line.
fn marked(mut packet: Vec<u8>) -> Vec<u8> {
    let line = format!("\n{MARK}{} -->\n", digest_of(&packet));
    packet.extend_from_slice(line.as_bytes());
    packet
}

/// A number without needless decimals.
fn trimmed(x: f64) -> String {
    format!("{x}")
}

/// A rational as EXIF has it: `1/125` for a time as dials say it, `56/10`, `30/1`.
fn fraction(x: f64) -> String {
    let inverse = (1.0 / x).round();
    if x < 1.0 && 1.0 <= inverse && (1.0 / inverse - x).abs() <= 1e-6 * x {
        return format!("1/{inverse}");
    }
    for of in [1.0, 10.0, 100.0, 1000.0] {
        if ((x * of).round() / of - x).abs() <= 1e-9 * x {
            return format!("{}/{of}", (x * of).round());
        }
    }
    format!("{}/1000000", (x * 1e6).round())
}

struct Packet(Writer<Vec<u8>>);

impl Packet {
    fn put(&mut self, event: Event<'_>) {
        // A vector takes whatever is written to it.
        let _ = self.0.write_event(event);
    }

    fn open(&mut self, name: &str, attributes: &[(&str, &str)]) {
        let start = BytesStart::new(name).with_attributes(attributes.iter().copied());
        self.put(Event::Start(start));
    }

    fn leaf(&mut self, name: &str, attributes: &[(&str, &str)], text: &str) {
        self.open(name, attributes);
        let text: String = text.chars().filter(|c| is_of_xml(*c)).collect();
        self.put(Event::Text(BytesText::new(&text)));
        self.put(Event::End(BytesEnd::new(name)));
    }

    fn text(&mut self, name: &str, text: &str) {
        if !text.is_empty() {
            self.leaf(name, &[], text);
        }
    }

    /// A text that may stand there in several languages: in one that is not said.
    fn in_words(&mut self, name: &str, text: &str) {
        if !text.is_empty() {
            self.open(name, &[]);
            self.open("rdf:Alt", &[]);
            self.leaf("rdf:li", &[("xml:lang", "x-default")], text);
            self.put(Event::End(BytesEnd::new("rdf:Alt")));
            self.put(Event::End(BytesEnd::new(name)));
        }
    }

    fn list(&mut self, name: &str, kind: &str, items: &[&str]) {
        self.open(name, &[]);
        self.open(kind, &[]);
        for item in items.iter().filter(|i| !i.is_empty()) {
            self.leaf("rdf:li", &[], item);
        }
        self.put(Event::End(BytesEnd::new(kind)));
        self.put(Event::End(BytesEnd::new(name)));
    }
}

/// Whether a character may stand in XML 1.0 at all.
const fn is_of_xml(c: char) -> bool {
    matches!(c, '\t' | '\n' | '\r' | ' '..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_as_exif_has_them() {
        for (x, told) in [
            (0.008, "1/125"),
            (1.0 / 3.0, "1/3"),
            (0.3, "3/10"),
            (5.6, "56/10"),
            (8.0, "8/1"),
            (90.0, "90/1"),
            (1.0, "1/1"),
            (0.000_125, "1/8000"),
            (std::f64::consts::PI, "3141593/1000000"),
        ] {
            assert_eq!(fraction(x), told);
        }
    }

    /// One byte more, less or other anywhere, and the mark no longer holds.
    #[test]
    fn the_mark_tells_what_was_changed() {
        let card = Card {
            roll: "HM-07".into(),
            frame: "12".into(),
            note: "-- > & \u{1} \u{fffe} <x>".into(),
            ..Card::default()
        };
        let sidecar = card.sidecar();
        assert_eq!(sidecar, card.sidecar());
        assert!(is_untouched(&sidecar));
        assert!(!is_untouched(b"") && !is_untouched(b"<x:xmpmeta/>"));
        for at in 0..sidecar.len() {
            let mut other = sidecar.clone();
            other[at] ^= 1;
            assert!(!is_untouched(&other), "byte {at}");
            assert!(!is_untouched(&sidecar[..at]), "cut at {at}");
        }
        assert!(!is_untouched(&[&sidecar[..], b"\n"].concat()));
    }
}
