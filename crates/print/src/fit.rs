//! Making text fit: shrink first, then wrap, then an ellipsis. All by measured glyph advances.

use crate::drawing::Face;
use crate::face::{cap_height_em, width_em};

/// Line pitch of wrapped text in ems.
const LEADING_EM: f64 = 1.18;

/// Millimetres of a type size in points.
pub(crate) const fn pt(points: f64) -> f64 {
    points * 25.4 / 72.0
}

/// A text and the size at which it fits.
#[derive(Debug, Clone)]
pub(crate) struct Fitted {
    pub(crate) lines: Vec<String>,
    pub(crate) size: f64,
}

impl Fitted {
    /// Distance between baselines.
    pub(crate) fn pitch(&self) -> f64 {
        self.size * LEADING_EM
    }
    /// From the top of the first line's capitals to the last baseline.
    pub(crate) fn height(&self, face: Face) -> f64 {
        cap_height_em(face) * self.size + self.pitch() * self.lines.len().saturating_sub(1) as f64
    }
}

/// The text in one line no wider than `width`: between `smallest` and `largest`, then cut.
pub(crate) fn line(
    text: &str,
    face: Face,
    largest: f64,
    smallest: f64,
    width: f64,
) -> (String, f64) {
    let wanted = width / width_em(text, face).max(1e-9);
    if wanted >= smallest {
        return (text.to_owned(), wanted.min(largest));
    }
    (ellipsis(text, face, smallest, width), smallest)
}

/// The text in at most `most` lines no wider than `width`, at the largest size at which nothing is lost;
/// at `smallest` the last line is cut.
pub(crate) fn block(
    text: &str,
    face: Face,
    largest: f64,
    smallest: f64,
    width: f64,
    most: usize,
) -> Fitted {
    let mut size = largest;
    loop {
        let (lines, whole) = wrap(text, face, size, width, most);
        if whole || size <= smallest {
            return Fitted { lines, size };
        }
        size = (size * 0.94).max(smallest);
    }
}

/// Greedy lines, and whether the whole text is in them.
fn wrap(text: &str, face: Face, size: f64, width: f64, most: usize) -> (Vec<String>, bool) {
    let fits = |s: &str| width_em(s, face) * size <= width + 1e-9;
    let mut lines: Vec<String> = Vec::new();
    let mut words = text.split(' ').filter(|w| !w.is_empty()).peekable();
    let mut current = String::new();
    while let Some(word) = words.peek() {
        let joined = if current.is_empty() {
            (*word).to_owned()
        } else {
            format!("{current} {word}")
        };
        if fits(&joined) {
            current = joined;
            words.next();
        } else if current.is_empty() || lines.len() + 1 == most {
            // A word wider than the line, or the last line: cut what is left.
            let rest: Vec<&str> = words.collect();
            let rest = if current.is_empty() {
                rest.join(" ")
            } else {
                format!("{current} {}", rest.join(" "))
            };
            lines.push(ellipsis(&rest, face, size, width));
            return (lines, false);
        } else {
            // A separator belongs between two things, not at the end of a line.
            lines.push(current.trim_end_matches(" ·").to_owned());
            current.clear();
        }
    }
    if !current.is_empty() {
        lines.push(current);
    }
    (lines, true)
}

/// As much of the text as fits with an ellipsis behind it; the whole text if that fits.
fn ellipsis(text: &str, face: Face, size: f64, width: f64) -> String {
    if width_em(text, face) * size <= width + 1e-9 {
        return text.to_owned();
    }
    let mut kept = String::new();
    let mut used = width_em("…", face);
    for c in text.chars() {
        used += width_em(c.encode_utf8(&mut [0; 4]), face);
        if used * size > width {
            break;
        }
        kept.push(c);
    }
    format!("{}…", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_text_takes_the_largest_size_and_long_text_is_cut() {
        assert_eq!(
            line("HM-07", Face::MonoBold, 5.0, 2.0, 100.0),
            ("HM-07".to_owned(), 5.0)
        );
        let (text, size) = line(&"stock ".repeat(30), Face::Text, 5.0, 2.0, 30.0);
        assert!(text.ends_with('…') && size == 2.0);
        assert!(width_em(&text, Face::Text) * size <= 30.0);
    }

    #[test]
    fn a_block_wraps_at_spaces_and_cuts_only_at_its_smallest() {
        let fitted = block("one two three four", Face::Text, 4.0, 2.0, 20.0, 2);
        assert_eq!(fitted.lines.concat().replace(' ', ""), "onetwothreefour");
        assert!(fitted.lines.len() <= 2);
        let cut = block(&"x".repeat(300), Face::Text, 4.0, 2.0, 20.0, 3);
        assert!(cut.lines.len() <= 3 && cut.lines.last().unwrap().ends_with('…'));
        for l in &cut.lines {
            assert!(width_em(l, Face::Text) * cut.size <= 20.0 + 1e-6);
        }
    }
}
