//! `spoolwright print`: sheets at true size, as PDF files.

use std::io::Write;
use std::path::PathBuf;

use serde_json::json;
use spoolwright_core::{Error, Kind};

use super::Failure;
use super::desk::Desk;
use crate::service::paper::PaperDraft;
use crate::service::wedge::TargetDraft;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Labels for cassettes: rolls named with --only, else every roll that sits in one.
    Labels(Sheet),
    /// Winding tickets: those named with --only, else the whole queue.
    Tickets(Sheet),
    /// Labels for cans: those named with --only, else every open one.
    CanLabel(Sheet),
    /// DX patterns for rolls, on a template measured from your own cassette.
    Dx(Sheet),
    /// The shot list of a wedge test in camera, as a pocket card.
    Shots {
        /// The test's name or number.
        test: String,
        #[command(flatten)]
        sheet: Sheet,
    },
    /// Cards to tape on the bottles of baths.
    Bath {
        /// Its number; several apart by commas.
        bath: String,
        #[command(flatten)]
        sheet: Sheet,
    },
    /// The sheet of a run: rolls, what to pour, steps with their starts, room to write.
    Run {
        /// Its number; several apart by commas.
        run: String,
        #[command(flatten)]
        sheet: Sheet,
    },
    /// A wedge test's result on one page: at the target named, else as its newest card has it.
    Wedge {
        /// The test's name or number.
        test: String,
        #[command(flatten)]
        target: TargetDraft,
        #[command(flatten)]
        sheet: Sheet,
    },
}

#[derive(clap::Args)]
pub(super) struct Sheet {
    /// The PDF file to write; `-` for standard output.
    file: PathBuf,
    /// Write over a file that is there already.
    #[arg(long)]
    force: bool,
    #[command(flatten)]
    draft: PaperDraft,
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let service = &desk.service;
    let (document, sheet) = match verb {
        Verb::Labels(sheet) => (service.print_labels(&sheet.draft)?, sheet),
        Verb::Tickets(sheet) => (service.print_tickets(&sheet.draft)?, sheet),
        Verb::CanLabel(sheet) => (service.print_can_labels(&sheet.draft)?, sheet),
        Verb::Dx(sheet) => (service.print_dx(&sheet.draft)?, sheet),
        Verb::Shots { test, sheet } => {
            let test = service.wedge_test_named(&test)?;
            (service.print_shots(test.id, &sheet.draft)?, sheet)
        }
        Verb::Bath { bath, mut sheet } => {
            sheet.draft.only = bath;
            (service.print_bath_cards(&sheet.draft)?, sheet)
        }
        Verb::Run { run, mut sheet } => {
            sheet.draft.only = run;
            (service.print_run_sheets(&sheet.draft)?, sheet)
        }
        Verb::Wedge {
            test,
            target,
            sheet,
        } => {
            let test = service.wedge_test_named(&test)?;
            (service.print_result(test.id, &target, &sheet.draft)?, sheet)
        }
    };
    let pdf = document.to_pdf()?;
    if sheet.file.as_os_str() == "-" {
        desk.out.write_all(&pdf.0)?;
        return Ok(());
    }
    write(&sheet, &pdf.0)?;
    let (file, pages) = (sheet.file.display().to_string(), document.sheets.len());
    let text = format!(
        "Wrote {file}, {pages} page(s). Print at 100 %: the bar on the sheet must be 50 mm long.\n"
    );
    desk.answer(text, || json!({ "file": file, "pages": pages }))
}

/// Writes the file, but over another one only when told to.
fn write(sheet: &Sheet, pdf: &[u8]) -> Result<(), Failure> {
    let mut how = std::fs::OpenOptions::new();
    how.write(true).truncate(true);
    if sheet.force {
        how.create(true)
    } else {
        how.create_new(true)
    };
    match how.open(&sheet.file) {
        Ok(mut file) => Ok(file.write_all(pdf)?),
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => Err(Error::new(
            Kind::Conflict,
            "the file is there already",
            sheet.file.display(),
            "a file that does not exist yet",
            "Choose another name, or give --force to write over it.",
        )
        .into()),
        Err(e) => {
            let named =
                anyhow::Error::from(e).context(format!("could not write {}", sheet.file.display()));
            Err(Failure::Other(named))
        }
    }
}
