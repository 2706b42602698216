//! Paper at true size: cassette labels, can labels, winding tickets, DX patterns.

use super::entry::{self, Reader};
use super::error::{at, unknown};
use super::moment::day_of;
use super::queue::TicketView;
use super::settings::Settings;
use super::shelf::{CanView, RollView};
use super::{Outcome, Service};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::dx::{Dx, Latitude};
use spoolwright_core::film::{PERFORATIONS_PER_CLICK, Pitch};
use spoolwright_core::shelf::{Base, LoaderKind, Process, RollState, TicketState};
use spoolwright_core::ticket::Stop;
use spoolwright_core::{Error, Kind};
pub use spoolwright_print::Document;
use spoolwright_print::{
    CanLabel, CassetteLabel, DxLabel, DxTemplate, LabelLayout, LabelSize, Paper, Target,
    WindingTicket, can_labels, cassette_labels, dx_pattern, winding_tickets,
};

const LABEL_MM: Bounds = Bounds {
    what: "a label's side",
    unit: "mm",
    min: 10.0,
    max: 120.0,
};
const PLACE: Bounds = Bounds {
    what: "a place on the sheet",
    unit: "",
    min: 1.0,
    max: 500.0,
};

/// What to print, as typed. Which fields count depends on the sheet.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct PaperDraft {
    /// Rolls, cans, tickets, baths or runs, separated by commas; all that fit the sheet's purpose when empty.
    #[arg(long, default_value = "")]
    pub only: String,
    /// a4 or letter; the usual when empty.
    #[arg(long, default_value = "")]
    pub paper: String,
    /// Label size: wrap, face, flag, tub, or width x height in mm such as 42x30; wrap when empty.
    #[arg(long, default_value = "")]
    pub size: String,
    /// First free place on a sheet used before, counted from 1 at the top left.
    #[arg(long, default_value = "")]
    pub start_at: String,
    /// For DX patterns: latitude +-0.5, +-1, +2/-1 or +3/-1; +3/-1 when empty.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub latitude: String,
    /// For DX patterns: your cassette's contacts in mm: width height gap-across gap-down left top label-width label-height.
    #[arg(long, default_value = "")]
    pub template: String,
}

impl PaperDraft {
    pub(super) fn paper(&self, r: &mut Reader, settings: &Settings) -> Paper {
        let usual = if settings.letter {
            Paper::Letter
        } else {
            Paper::A4
        };
        let word = self.paper.trim().to_lowercase();
        if word.is_empty() {
            return usual;
        }
        Paper::from_word(&word).unwrap_or_else(|| {
            r.fault(
                "paper",
                Error::new(
                    Kind::Unknown,
                    "paper",
                    &self.paper,
                    "a4, letter",
                    "Choose one of these.",
                ),
            );
            usual
        })
    }

    pub(super) fn start_at(&self, r: &mut Reader) -> usize {
        if self.start_at.trim().is_empty() {
            0
        } else {
            r.whole("start_at", &self.start_at, &PLACE)
                .saturating_sub(1) as usize
        }
    }

    fn size(&self, r: &mut Reader) -> LabelSize {
        let word = self.size.trim().to_lowercase();
        if word.is_empty() {
            return LabelSize::BARREL_WRAP;
        }
        if let Some(size) = LabelSize::from_word(&word) {
            return size;
        }
        if let Some((width, height)) = word.split_once(['x', '×']) {
            return LabelSize {
                width_mm: r.number("size", width, entry::MILLIMETRES, &LABEL_MM),
                height_mm: r.number("size", height, entry::MILLIMETRES, &LABEL_MM),
            };
        }
        let known = LabelSize::PRESETS.map(|p| p.0).join(", ");
        r.fault(
            "size",
            Error::new(
                Kind::Unknown,
                "a label size",
                &self.size,
                format!("{known}, or width x height in mm"),
                "Choose one of these, or measure your cassette.",
            ),
        );
        LabelSize::BARREL_WRAP
    }

    fn template(&self, r: &mut Reader) -> DxTemplate {
        let usual = DxTemplate::default();
        if self.template.trim().is_empty() {
            return usual;
        }
        let sides: Vec<f64> = self
            .template
            .split([' ', ';'])
            .filter(|s| !s.is_empty())
            .map(|s| {
                r.number(
                    "template",
                    s,
                    entry::MILLIMETRES,
                    &Bounds {
                        min: 0.0,
                        ..LABEL_MM
                    },
                )
            })
            .collect();
        let [
            contact_width_mm,
            contact_height_mm,
            gap_x_mm,
            gap_y_mm,
            from_left_mm,
            from_top_mm,
            label_width_mm,
            label_height_mm,
        ] = sides[..]
        else {
            r.fault("template", Error::new(Kind::Missing, "a DX template", format!("{} measures", sides.len()), "eight measures in mm", "Measure a cassette: contact width and height, gap across and down, left and top edge to the first contact, label width and height."));
            return usual;
        };
        DxTemplate {
            contact_width_mm,
            contact_height_mm,
            gap_x_mm,
            gap_y_mm,
            from_left_mm,
            from_top_mm,
            label_width_mm,
            label_height_mm,
            measured: true,
        }
    }

    /// The things named, or every one of `all` when none is.
    pub(super) fn chosen<T: Clone>(
        &self,
        all: Vec<T>,
        kind: &str,
        name: impl Fn(&T) -> String,
        find: impl Fn(&str) -> Outcome<T>,
    ) -> Outcome<Vec<T>> {
        let names: Vec<&str> = self
            .only
            .split(',')
            .map(str::trim)
            .filter(|s| !s.is_empty())
            .collect();
        let chosen = if names.is_empty() {
            all
        } else {
            names
                .into_iter()
                .map(|n| {
                    all.iter()
                        .find(|t| name(t).eq_ignore_ascii_case(n))
                        .cloned()
                        .map_or_else(|| find(n), Ok)
                })
                .collect::<Outcome<Vec<T>>>()?
        };
        if chosen.is_empty() {
            return Err(at(
                "only",
                Error::missing(
                    format!("a {kind} to print"),
                    format!("at least one {kind}"),
                    "There is none yet, or none was chosen.",
                ),
            ));
        }
        Ok(chosen)
    }
}

impl Service {
    /// Labels for cassettes: the rolls named, else every roll that still sits in one.
    ///
    /// # Errors
    /// Faults of the draft; no roll to label.
    pub fn print_labels(&self, draft: &PaperDraft) -> Outcome<Document> {
        let settings = self.settings()?;
        let mut r = Reader::new();
        let (paper, size, start_at) = (
            draft.paper(&mut r, &settings),
            draft.size(&mut r),
            draft.start_at(&mut r),
        );
        r.finish()?;
        let labels: Vec<CassetteLabel> = self
            .rolls_to_print(draft)?
            .iter()
            .map(|roll| cassette_label(roll, &settings))
            .collect();
        Ok(cassette_labels(
            &labels,
            LabelLayout::plain(size),
            paper,
            start_at,
        )?)
    }

    /// Labels for cans: the cans named, else every open one.
    ///
    /// # Errors
    /// Faults of the draft; no can to label.
    pub fn print_can_labels(&self, draft: &PaperDraft) -> Outcome<Document> {
        let shelf = self.shelf()?;
        let mut r = Reader::new();
        let (paper, start_at) = (draft.paper(&mut r, &shelf.settings), draft.start_at(&mut r));
        r.finish()?;
        let open: Vec<CanView> = shelf.open_cans().cloned().collect();
        let chosen = draft.chosen(
            open,
            "can",
            |c| c.can.letters.clone(),
            |name| self.can(self.can_named(name)?.id),
        )?;
        let labels: Vec<CanLabel> = chosen
            .iter()
            .map(|can| can_label(can, &shelf.settings))
            .collect();
        Ok(can_labels(&labels, paper, start_at)?)
    }

    /// Winding tickets: those named by number, else the whole queue.
    ///
    /// # Errors
    /// Faults of the draft; no ticket to print.
    pub fn print_tickets(&self, draft: &PaperDraft) -> Outcome<Document> {
        let settings = self.settings()?;
        let mut r = Reader::new();
        let (paper, start_at) = (draft.paper(&mut r, &settings), draft.start_at(&mut r));
        r.finish()?;
        let find = |name: &str| {
            let number = name
                .parse()
                .map_err(|_| unknown("ticket", format!("{name:?}")))?;
            self.ticket(spoolwright_core::shelf::TicketId(number))
        };
        let chosen = draft.chosen(self.queue()?, "ticket", |t| t.ticket.id.to_string(), find)?;
        if let Some(done) = chosen
            .iter()
            .find(|t| t.ticket.state == TicketState::Dropped)
        {
            return Err(at(
                "only",
                Error::new(
                    Kind::Conflict,
                    "ticket",
                    format!("{} was dropped", done.ticket.id),
                    "tickets in the queue or wound",
                    "Leave it out.",
                ),
            ));
        }
        let tickets: Vec<WindingTicket> = chosen
            .iter()
            .map(|t| winding_ticket(t, &settings))
            .collect();
        Ok(winding_tickets(&tickets, paper, start_at)?)
    }

    /// DX patterns for rolls, on the user's own measured template.
    ///
    /// # Errors
    /// Faults of the draft; no roll to code for.
    pub fn print_dx(&self, draft: &PaperDraft) -> Outcome<Document> {
        let settings = self.settings()?;
        let mut r = Reader::new();
        let (paper, template) = (draft.paper(&mut r, &settings), draft.template(&mut r));
        let latitude = match draft.latitude.trim() {
            "" => Latitude::ThreeOne,
            word => r.keep("latitude", Latitude::from_word(word), Latitude::ThreeOne),
        };
        r.finish()?;
        let labels: Vec<DxLabel> = self
            .rolls_to_print(draft)?
            .iter()
            .map(|roll| DxLabel {
                roll: roll.roll.label.clone(),
                dx: Dx {
                    iso: roll.ei,
                    exposures: Some(roll.roll.frames),
                    latitude: Some(latitude),
                },
            })
            .collect();
        Ok(dx_pattern(&labels, template, paper)?)
    }

    fn rolls_to_print(&self, draft: &PaperDraft) -> Outcome<Vec<RollView>> {
        let mut all = Vec::new();
        if draft.only.trim().is_empty() {
            for state in RollState::ALL.iter().filter(|s| s.holds_cassette()) {
                all.extend(self.rolls_in(*state)?);
            }
            all.sort_by_key(|r| r.roll.id);
        }
        draft.chosen(
            all,
            "roll",
            |r| r.roll.label.clone(),
            |name| self.roll(name),
        )
    }
}

/// A frame format's name, when it is not the full frame.
pub fn format_name(advance_perforations: u32) -> String {
    match advance_perforations {
        PERFORATIONS_PER_CLICK => String::new(),
        4 => "half".into(),
        6 => "square".into(),
        14..=16 => "panoramic".into(),
        n => format!("{n} perf"),
    }
}

fn cassette_label(roll: &RollView, settings: &Settings) -> CassetteLabel {
    CassetteLabel {
        roll: roll.roll.label.clone(),
        stock: roll.stock.name.clone(),
        ei: roll.ei,
        frames: roll.roll.frames,
        format: format_name(roll.roll.advance_perforations),
        wound_on: day_of(&roll.roll.wound_at),
        can: roll.can.clone(),
        note: roll.want.clone().unwrap_or_default(),
        url: Some(format!("{}/roll/{}", settings.address, roll.roll.label)),
    }
}

fn can_label(view: &CanView, settings: &Settings) -> CanLabel {
    let can = &view.can;
    let mut cautions = vec![spoolwright_print::can::DARKNESS.to_owned()];
    if view.stock.base == Base::Nitrate {
        cautions.insert(
            0,
            "NITRATE BASE: fire hazard. Keep cool, ventilated and apart; ask an archive.".into(),
        );
    }
    // Only what is out of the ordinary: the label is small.
    let mut details = Vec::new();
    if view.stock.pitch == Pitch::Short {
        details.push("short pitch".to_owned());
    }
    if view.stock.base != Base::Unknown {
        details.push(view.stock.base.word().to_owned());
    }
    if view.stock.process != Process::Negative {
        details.push(view.stock.process.word().replace('-', " "));
    }
    if let Some(kept) = view.kept_c() {
        details.push(format!("keep at {}", settings.temperature(kept)));
    }
    CanLabel {
        letters: can.letters.clone(),
        stock: view.stock.name.clone(),
        length: settings.length(can.length_m.mean),
        details: details.join(", "),
        // Nobody is asked when a can was opened: a line to fill in by hand.
        opened: String::new(),
        loader: view
            .loader
            .as_ref()
            .map(|l| l.name.clone())
            .unwrap_or_default(),
        tare: can
            .tare_g
            .map(|t| format!("{:.0} g", t.mean))
            .unwrap_or_default(),
        expires: can.expires_on.clone().unwrap_or_default(),
        cautions,
        url: Some(format!("{}/cans/{}", settings.address, can.id)),
    }
}

fn winding_ticket(view: &TicketView, settings: &Settings) -> WindingTicket {
    let dial_zero = match view.loader.as_ref().map(|l| l.loader.kind) {
        Some(LoaderKind::Counter { dial_zero }) => f64::from(dial_zero),
        _ => 0.0,
    };
    WindingTicket {
        roll: view.label.clone(),
        stock: view.stock.name.clone(),
        can: view.can.clone(),
        loader: view
            .loader
            .as_ref()
            .map(|l| l.loader.name.clone())
            .unwrap_or_default(),
        cassette: String::new(),
        wanted_for: view
            .want
            .clone()
            .unwrap_or_else(|| view.ticket.reason.clone()),
        ei: view.ei,
        frames: view.ticket.frames,
        format: format_name(view.ticket.advance_perforations),
        leader_clicks: view.sheet.leader_clicks,
        frame_clicks: view.sheet.frame_clicks,
        tail_clicks: view.sheet.tail_clicks,
        light: view.ticket.light,
        target: match view.sheet.stop {
            Stop::Dial { reading, .. } => Target::Dial {
                start: dial_zero,
                stop: f64::from(reading),
            },
            Stop::Crank { turns, .. } => Target::Turns(turns),
        },
        draws: settings.length(view.sheet.drawn_mm.mean / 1e3),
        steps: Vec::new(),
        url: Some(format!("{}/tickets/{}", settings.address, view.ticket.id)),
    }
}
