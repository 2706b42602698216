//! The cuts of a cutting, where they lie, and why there.

use super::weigh::Film;
use super::{Cut, Cutting, Image, PageFormat, Strip};
use crate::caveat::Caveat;
use crate::film::{PERFORATIONS_PER_CLICK, Pitch};

pub(super) fn explained(
    images: &[Image],
    page: PageFormat,
    pitch: Pitch,
    strips: Vec<Strip>,
) -> Cutting {
    let film = Film::new(images);
    let plain = filled_up(&film, page.row_perforations());
    let mut inside = vec![false; images.len()];
    for strip in &strips {
        inside[strip.from..strip.to].fill(true);
    }
    let left_out: Vec<String> = images
        .iter()
        .zip(&inside)
        .filter(|(_, inside)| !**inside)
        .map(|(image, _)| image.frame.clone())
        .collect();
    let all = Told {
        images,
        film: &film,
        page,
        strips: &strips,
        plain: &plain,
    };
    let cuts = (1..images.len())
        .filter_map(|at| {
            let because = all.reason(at, &inside)?;
            let perforations = film.cut_before(at);
            Some(Cut {
                after: images[at - 1].frame.clone(),
                before: images[at].frame.clone(),
                perforations,
                mm: perforations * pitch.length().to_mm(),
                because,
            })
        })
        .collect();
    Cutting {
        cuts,
        because: all.aims(&left_out),
        caveats: all.caveats(),
        left_out,
        strips,
    }
}

/// What is told of.
struct Told<'a> {
    images: &'a [Image],
    film: &'a Film,
    page: PageFormat,
    strips: &'a [Strip],
    plain: &'a [(usize, usize)],
}

/// Each row filled as far as it goes, blanks and all: what a person does without thinking.
fn filled_up(film: &Film, row: u32) -> Vec<(usize, usize)> {
    let (mut pieces, mut from) = (Vec::new(), 0);
    while from < film.count() {
        let to = (from + 1..=film.count())
            .rev()
            .find(|&to| film.may_cut_before(to) && film.length(from, to) <= row);
        let Some(to) = to else { break };
        pieces.push((from, to));
        from = to;
    }
    pieces
}

fn is_single(perforations: u32) -> bool {
    perforations <= PERFORATIONS_PER_CLICK
}

impl Told<'_> {
    fn plain_singles(&self) -> usize {
        let single = |&&(from, to): &&(usize, usize)| is_single(self.film.length(from, to));
        self.plain.iter().filter(single).count()
    }

    fn singles(&self) -> usize {
        self.strips
            .iter()
            .filter(|s| is_single(s.perforations))
            .count()
    }

    /// Why a cut lies before the picture `at`; `None` when there is none.
    fn reason(&self, at: usize, inside: &[bool]) -> Option<String> {
        let frame = |i: usize| &self.images[i].frame;
        match (inside[at - 1], inside[at]) {
            (false, false) => return None,
            (true, false) => return Some(format!("blank {} is left out", frame(at))),
            (false, true) => return Some(format!("blank {} was left out", frame(at - 1))),
            (true, true) => {}
        }
        let strip = self.strips.iter().find(|s| s.to == at)?;
        let next = (at + 1..=self.film.count()).find(|&to| self.film.may_cut_before(to))?;
        let row = self.page.row_perforations();
        let longer = self.film.length(strip.from, next);
        if longer > row {
            return Some(if next == at + 1 {
                format!("{} no longer fits the row", frame(at))
            } else {
                format!(
                    "{} to {} overlap and no longer fit the row",
                    frame(at),
                    frame(next - 1)
                )
            });
        }
        Some(if self.singles() < self.plain_singles() {
            "cut early, so that no frame is left alone".to_owned()
        } else {
            "cut early, so that the strips are as even as can be".to_owned()
        })
    }

    fn aims(&self, left_out: &[String]) -> Vec<String> {
        let row = self.page.row_perforations();
        if self.strips.is_empty() {
            return vec![
                "Every frame is blank and may be left out: there is nothing to file.".to_owned(),
            ];
        }
        let mut said = vec![format!(
            "{}: every way to cut was weighed, and none with fewer fits rows of {row} perforations.",
            counted(self.strips.len(), "strip"),
        )];
        match (self.singles(), self.plain_singles()) {
            (0, 0) => {}
            (0, _) => said.push(
                "Filling one row after the other would leave a strip of one frame; these cuts leave none.".to_owned(),
            ),
            (singles, _) => said.push(format!(
                "{} no longer than one full frame cannot be avoided with as few strips.",
                counted(singles, "strip"),
            )),
        }
        if !left_out.is_empty() {
            said.push(format!(
                "Blank {} left out: with more of the blank frames kept it would be more strips, or one of a single frame.",
                if left_out.len() == 1 {
                    format!("{} is", left_out[0])
                } else {
                    format!("{} are", left_out.join(", "))
                },
            ));
        }
        let lengths: Vec<String> = self.strips.iter().map(|s| s.frames().to_string()).collect();
        if lengths.len() > 1 {
            said.push(format!(
                "Among these the strips are as even as can be: {} frames.",
                lengths.join(" + "),
            ));
        }
        said
    }

    fn caveats(&self) -> Vec<Caveat> {
        let mut caveats = Vec::new();
        let rows = self.page.rows as usize;
        if rows < self.strips.len() {
            caveats.push(Caveat::new(
                "more_than_a_page",
                format!(
                    "A page has {}, the roll needs {}: it goes on on the next page.",
                    counted(rows, "row"),
                    self.strips.len(),
                ),
            ));
        }
        if self.singles() > 0 {
            caveats.push(Caveat::new(
                "strip_of_one",
                "A strip of a single frame curls and slips out of its pocket: take care where it is filed.",
            ));
        }
        if self.images.iter().skip(1).any(|image| image.gap_before < 0) {
            caveats.push(Caveat::new(
                "overlap",
                "Frames that overlap are kept together: no cut goes between them.",
            ));
        }
        if self.images.iter().any(|image| image.blank) {
            caveats.push(Caveat::new(
                "blank",
                "Look at a frame against the light before you throw it away: a thin negative may print.",
            ));
        }
        caveats
    }
}

fn counted(count: usize, thing: &str) -> String {
    format!("{count} {thing}{}", if count == 1 { "" } else { "s" })
}
