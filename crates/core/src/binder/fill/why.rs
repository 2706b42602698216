//! What was aimed for and reached, and what limits it.

use super::{Filing, Filled, Order};
use crate::caveat::Caveat;

/// What the sentences are about.
struct Filed {
    /// Rows in use.
    rows: u32,
    /// Rolls longer than a page.
    longer: usize,
    /// Whether the started page is used.
    started: bool,
}

pub(super) fn tell(filing: &Filing, filled: &mut Filled) {
    let told = Filed::of(filing, filled);
    filled.because = told.because(filing, filled);
    filled.caveats = told.caveats(filing, filled);
}

impl Filed {
    fn of(filing: &Filing, filled: &Filled) -> Self {
        let rows: u32 = filled.pages.iter().map(|page| page.rows.len() as u32).sum();
        let longer = filled
            .rows
            .iter()
            .filter(|&&rows| rows > filing.page.rows)
            .count();
        let started = filled.pages.iter().any(|page| page.started);
        Self {
            rows,
            longer,
            started,
        }
    }

    fn because(&self, filing: &Filing, filled: &Filled) -> Vec<String> {
        let mut said = Vec::new();
        if filled.pages.is_empty() {
            said.push(
                "Every frame is blank and may be left out: there is nothing to file.".to_owned(),
            );
            return said;
        }
        let free = filing
            .started
            .as_ref()
            .map_or(0, |s| filing.page.rows - s.used_rows);
        let plain = self.rows.saturating_sub(free).div_ceil(filing.page.rows);
        let counted = format!(
            "{} on {}",
            things(self.rows, "row"),
            things(filled.new_pages, "new page"),
        );
        let started = if self.started {
            " and the page that was begun"
        } else {
            ""
        };
        said.push(if !filled.proven && filled.least.pages < filled.new_pages {
            format!(
                "{counted}{started}: the effort was spent before it was sure that there are not fewer; fewer than {} there cannot be.",
                things(filled.least.pages, "new page"),
            )
        } else if plain == filled.new_pages && !filing.share_rows {
            format!("{counted}{started}: the rows alone need as many pages.")
        } else if filing.order == Order::Any {
            format!("{counted}{started}: every choice of rolls for a page was weighed, and none needs fewer pages.")
        } else {
            format!("{counted}{started}: in this order every place to begin a page was weighed, and none needs fewer pages.")
        });
        if filled.shared_rows > 0 {
            let sure = if filled.proven {
                "with fewer shared it would be more pages".to_owned()
            } else {
                format!(
                    "{} at least, as far as is sure",
                    things(filled.least.shared_rows, "row")
                )
            };
            said.push(format!(
                "{} by two rolls: {sure}.",
                shared(filled.shared_rows)
            ));
        }
        let mixed = filled
            .pages
            .iter()
            .filter(|page| page.rolls.len() > 1)
            .count();
        if mixed > 0 {
            said.push(format!(
                "{} several rolls.",
                if mixed == 1 {
                    "1 page holds".to_owned()
                } else {
                    format!("{mixed} pages hold")
                },
            ));
        }
        said
    }

    fn caveats(&self, filing: &Filing, filled: &Filled) -> Vec<Caveat> {
        let mut caveats = Vec::new();
        if !filled.proven {
            caveats.push(Caveat::new(
                "not_proven",
                "The search ended before all was weighed: file these pages, or fewer rolls at a time.",
            ));
        }
        if self.longer > 0 {
            caveats.push(Caveat::new(
                "longer_than_a_page",
                format!(
                    "{} longer than a page and goes on on another.",
                    if self.longer == 1 {
                        "1 roll is"
                    } else {
                        "Some rolls are"
                    }
                ),
            ));
        }
        if filing.started.is_some() && !self.started {
            caveats.push(Caveat::new(
                "started_not_used",
                "Nothing goes on the page that was begun: no roll that may lie there fits what is free.",
            ));
        }
        if !filled.empty.is_empty() {
            caveats.push(Caveat::new(
                "nothing_to_file",
                format!(
                    "{} of blank frames only: nothing of it is filed.",
                    things(filled.empty.len() as u32, "roll")
                ),
            ));
        }
        let single = |strip: &super::Placed| strip.strip.perforations <= 8;
        if filled
            .pages
            .iter()
            .flat_map(|p| &p.rows)
            .flat_map(|r| &r.strips)
            .any(single)
        {
            caveats.push(Caveat::new(
                "strip_of_one",
                "A strip of a single frame curls and slips out of its pocket: take care where it is filed.",
            ));
        }
        caveats
    }
}

fn things(count: u32, thing: &str) -> String {
    format!("{count} {thing}{}", if count == 1 { "" } else { "s" })
}

fn shared(rows: u32) -> String {
    if rows == 1 {
        "1 row is shared".to_owned()
    } else {
        format!("{rows} rows are shared")
    }
}
