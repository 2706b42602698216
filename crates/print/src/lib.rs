//! Sheets at true size: labels, tickets, DX patterns, shot lists, wedge results, bath cards and run sheets, as PDF or SVG.
//!
//! A view model goes in, a drawing list in millimetres comes out ([`drawing::Document`]), and two back
//! ends draw it. Pure and deterministic: no clock, no files, the same bytes for the same input. Dates
//! arrive as text. It knows nothing of stores or pages.
//!
//! Invariant: text is measured before it is placed; what does not fit shrinks, wraps or ends in an
//! ellipsis, and never leaves its label.

pub mod bath;
pub mod can;
pub mod cassette;
pub mod drawing;
pub mod dx;
mod face;
mod fit;
mod input;
mod pdf;
pub mod plot;
mod put;
mod qr;
pub mod run_sheet;
pub mod sheet;
pub mod shots;
mod svg;
pub mod ticket;
pub mod wedge_sheet;

pub use bath::{BathLabel, BathRule, LOG_ROWS, LogRow, bath_cards};
pub use can::{CanLabel, can_labels};
pub use cassette::{CassetteLabel, LabelLayout, LabelSize, cassette_labels};
pub use drawing::Document;
pub use dx::{DxLabel, DxTemplate, dx_pattern};
pub use input::{LONGEST_ADDRESS, LONGEST_LABEL, LONGEST_TEXT, MOST_LABELS};
pub use pdf::Pdf;
pub use run_sheet::{RunReel, RunSheet, RunStep, run_sheets};
pub use sheet::Paper;
pub use shots::{ShotCard, shot_cards};
pub use ticket::{Target, WindingTicket, winding_tickets};
pub use wedge_sheet::{Figures, ResultSheet, SheetLayer, result_sheet};
