//! Sidecars beside scans: what should stand there, what does, and writing what may be written.
//!
//! A sidecar is written where there is none, and over one of this program's own that nobody has changed since. Any
//! other stays, and is told by its name.

use super::super::super::wet::times::{bath_name, told};
use super::super::super::{Made, Outcome, Request, Service};
use super::folder::{name_of, sidecar_of, still_there};
use crate::calc::words::shorten;
use crate::service::wet::runs::RunView;
use crate::xmp::{Card, Original, digest_of, is_untouched};
use spoolwright_core::field::record::{FrameNote, FrameShape, ScanFile};
use spoolwright_core::shelf::{Process, Roll, RollId};
use spoolwright_core::wet::record::{BathCard, Run, RunState};
use spoolwright_core::{Error, Kind};
use spoolwright_store::Subject;
use std::fs;
use std::io::{ErrorKind, Read as _, Write as _};
use std::path::{Path, PathBuf};

/// Largest sidecar that is looked into.
const MOST_BYTES: u64 = 1_000_000;
/// Names told in a story, at most.
const MOST_NAMES: usize = 8;

/// How a scan's sidecar stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// There is none.
    Missing,
    /// It says what is known.
    Current,
    /// It is of this program and unchanged, but more, less or other is known by now.
    Outdated,
    /// It is another's, or was changed since: it is left alone.
    Foreign,
    /// It cannot be written, for this reason.
    Barred(String),
}

impl Standing {
    /// Its stable word.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Missing => "missing",
            Self::Current => "current",
            Self::Outdated => "outdated",
            Self::Foreign => "foreign",
            Self::Barred(_) => "barred",
        }
    }

    /// Whether writing would write it.
    pub const fn is_due(&self) -> bool {
        matches!(self, Self::Missing | Self::Outdated)
    }
}

/// What writing came to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Written {
    /// Sidecars written.
    pub written: usize,
    /// Sidecars that said all of it already.
    pub unchanged: usize,
    /// Those left alone, by name, and why.
    pub left: Vec<(String, String)>,
}

/// A scan and the sidecar that it should have.
#[derive(Debug, Clone)]
pub(super) struct Wanted {
    pub(super) scan: ScanFile,
    pub(super) path: PathBuf,
    pub(super) bytes: Vec<u8>,
    /// Another frame has a file of the same name.
    shared: bool,
}

impl Wanted {
    pub(super) fn standing(&self) -> Standing {
        if let Err(e) = still_there(&self.scan.path) {
            return Standing::Barred(e.given.clone());
        }
        if self.shared {
            return Standing::Barred("a file of the same name is another frame's scan".into());
        }
        match present(&self.path) {
            Present::Nothing => Standing::Missing,
            Present::Other(why) => Standing::Barred(why),
            Present::Bytes(bytes) if bytes == self.bytes => Standing::Current,
            Present::Bytes(bytes) if self.is_ours(&bytes) => Standing::Outdated,
            Present::Bytes(_) => Standing::Foreign,
        }
    }

    /// Written by this program and unchanged since: as the store or as the file itself tells it.
    fn is_ours(&self, bytes: &[u8]) -> bool {
        self.scan.sidecar_digest.as_deref() == Some(digest_of(bytes).as_str())
            || is_untouched(bytes)
    }

    /// Writes the sidecar: all of it or nothing, and nothing over what came meanwhile.
    fn write(&self, standing: &Standing) -> Result<(), Error> {
        let cannot = |e: &dyn std::fmt::Display| {
            Error::new(
                Kind::Conflict,
                "a sidecar",
                shorten(&format!("{}: {e}", self.path.display())),
                "a folder that may be written to, with room on its disk",
                "Mend that and write again: what is written already stays as it is.",
            )
        };
        let folder = self.path.parent().unwrap_or(Path::new("."));
        let mut builder = tempfile::Builder::new();
        builder.prefix(".spoolwright-").suffix(".part");
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        let mut file = builder.tempfile_in(folder).map_err(|e| cannot(&e))?;
        file.write_all(&self.bytes)
            .and_then(|()| file.as_file().sync_all())
            .map_err(|e| cannot(&e))?;
        if *standing == Standing::Missing {
            file.persist_noclobber(&self.path)
                .map_err(|e| cannot(&e.error))?;
        } else if self.standing() == Standing::Outdated {
            file.persist(&self.path).map_err(|e| cannot(&e.error))?;
        } else {
            return Err(cannot(&"it was changed just now"));
        }
        Ok(())
    }
}

enum Present {
    Nothing,
    Bytes(Vec<u8>),
    Other(String),
}

fn present(path: &Path) -> Present {
    match fs::symlink_metadata(path) {
        Err(e) if e.kind() == ErrorKind::NotFound => Present::Nothing,
        Err(e) => Present::Other(format!("its sidecar cannot be read: {e}")),
        Ok(facts) if facts.is_symlink() => Present::Other("its sidecar is a link".into()),
        Ok(facts) if !facts.is_file() => Present::Other("its sidecar is no file".into()),
        Ok(facts) if facts.len() > MOST_BYTES => Present::Bytes(Vec::new()),
        Ok(_) => {
            let mut bytes = Vec::new();
            let read =
                fs::File::open(path).and_then(|file| file.take(MOST_BYTES).read_to_end(&mut bytes));
            match read {
                Ok(_) => Present::Bytes(bytes),
                Err(e) => Present::Other(format!("its sidecar cannot be read: {e}")),
            }
        }
    }
}

impl Service {
    /// Scans of a roll with the sidecars that they should have.
    pub(super) fn wanted_sidecars(&self, roll: RollId) -> Outcome<Vec<Wanted>> {
        let scans = self.store().scans_of_roll(roll)?;
        if scans.is_empty() {
            return Ok(Vec::new());
        }
        let notes = self.store().notes_of_roll(roll)?;
        let shelf = self.shelf()?;
        let view = shelf.roll_view(self.find::<Roll>(roll)?)?;
        let field = self.roll_in_field(&view)?;
        let developing = self.developing_of(roll)?;
        let mut wanted: Vec<Wanted> = Vec::new();
        for scan in scans {
            let note = notes
                .iter()
                .find(|n| n.frame == scan.frame && n.beside.is_none())
                .cloned()
                .unwrap_or_else(|| FrameNote::blank(roll, scan.frame));
            let stay = field.camera_of(scan.frame.n());
            let shape = match note.shape {
                FrameShape::Full if view.roll.advance_perforations == 4 => FrameShape::Half,
                shape => shape,
            };
            let card = Card {
                roll: view.roll.label.clone(),
                frame: scan.frame.to_string(),
                stock: view.stock.name.clone(),
                original: match view.stock.process {
                    Process::Negative | Process::ColourNegative => Original::Negative,
                    Process::Reversal | Process::ColourReversal => Original::Positive,
                },
                ei: note.ei.or(stay.and_then(|s| s.load.ei)).or(view.ei),
                developing: developing.clone(),
                camera: stay.map(|s| s.camera.name.clone()).unwrap_or_default(),
                lens: note.lens,
                aperture: note.aperture,
                shutter_s: note.shutter_s,
                filter: note.filter,
                exposures: note.exposures,
                shape,
                subject: note.subject,
                place: note.place,
                taken_at: note.taken_at,
                usable: note.usable,
                note: note.note,
            };
            let path = sidecar_of(&scan.path);
            let clashes = |w: &&mut Wanted| w.path == path && w.scan.frame != scan.frame;
            let mut shared = false;
            for other in wanted.iter_mut().filter(clashes) {
                other.shared = true;
                shared = true;
            }
            wanted.push(Wanted {
                path,
                bytes: card.sidecar(),
                shared,
                scan,
            });
        }
        Ok(wanted)
    }

    /// How a roll was developed, in words; empty where no run says it.
    fn developing_of(&self, roll: RollId) -> Outcome<String> {
        let runs = self.store().runs_of_roll(roll)?;
        for on in runs {
            let run = self.find::<Run>(on.run)?;
            if run.state == RunState::Done && run.rehearsal.is_none() {
                return self.told_of(self.run(run.id)?);
            }
        }
        Ok(String::new())
    }

    fn told_of(&self, view: RunView) -> Outcome<String> {
        let Some(step) = view.steps.iter().find(|s| s.kind.develops()) else {
            return Ok(String::new());
        };
        let bottle = step.bath.map(|b| self.find::<BathCard>(b)).transpose()?;
        let name = match (&bottle, view.run.recipe) {
            (Some(b), _) if !b.mixed_from.is_empty() => bath_name(&b.mixed_from, &b.dilution),
            (Some(b), _) => bath_name(&b.name, &b.dilution),
            (None, Some(recipe)) => {
                let recipe = self.recipe(recipe)?.recipe;
                bath_name(&recipe.developer, &recipe.dilution)
            }
            (None, None) => String::new(),
        };
        let name = if name.is_empty() {
            step.kind.spoken().to_lowercase()
        } else {
            name
        };
        let warm = step.temperature_c.map(|c| format!(" at {c} °C"));
        Ok(format!(
            "{name} for {} min{} on {}",
            told(step.time_s / 60.0),
            warm.unwrap_or_default(),
            view.run.made_on
        ))
    }

    /// Writes the sidecars of a roll's scans that are missing or no longer say what is known. No image is touched.
    ///
    /// # Errors
    /// The roll has no scans; none of its sidecars may be written; a folder cannot be written to.
    pub fn write_sidecars(&self, roll: RollId, request: Request<'_>) -> Outcome<Made<Written>> {
        let label = self.find::<Roll>(roll)?.label;
        let wanted = self.wanted_sidecars(roll)?;
        if wanted.is_empty() {
            return Err(Error::new(
                Kind::Missing,
                "scans",
                format!("{label}, with no scan"),
                "a roll whose scans are matched to its frames",
                "Match a folder of scans to it first.",
            )
            .into());
        }
        let mut written = Written::default();
        let mut done: Vec<&Wanted> = Vec::new();
        for w in &wanted {
            let standing = w.standing();
            match &standing {
                Standing::Current => written.unchanged += 1,
                Standing::Foreign => {
                    let why = "another program wrote or changed it".to_owned();
                    written.left.push((told_name(&w.path), why));
                    continue;
                }
                Standing::Barred(why) => {
                    written
                        .left
                        .push((name_of(&w.scan.path).to_owned(), why.clone()));
                    continue;
                }
                Standing::Missing | Standing::Outdated => {
                    w.write(&standing)?;
                    written.written += 1;
                }
            }
            done.push(w);
        }
        written.left.dedup();
        if done.is_empty() {
            return Err(Error::new(
                Kind::Conflict,
                "sidecars",
                told_left(&written.left),
                "no sidecar, or one of this program that nobody has changed",
                "Move or rename those that stand there, or put the images back, then write again.",
            )
            .into());
        }
        let mut story = match written.written {
            0 => format!("Every sidecar of {label} says what is known already."),
            1 => format!("Wrote 1 sidecar for {label}."),
            n => format!("Wrote {n} sidecars for {label}."),
        };
        if !written.left.is_empty() {
            story += &format!(" Left alone: {}.", told_left(&written.left));
        }
        let came = written.clone();
        let mut made = self.change(request, |change| {
            for w in &done {
                let digest = Some(digest_of(&w.bytes));
                let now = change.get::<ScanFile>(w.scan.id)?;
                if let Some(now) = now.filter(|s| s.sidecar_digest != digest) {
                    change.put(&ScanFile {
                        sidecar_digest: digest,
                        ..now
                    })?;
                }
            }
            change.about(Subject::of::<Roll>(roll));
            Ok(("scan.sidecars", story.clone(), came))
        })?;
        if made.value.is_some() {
            // Files may have been written though the store knew all of them.
            made.story = story;
        }
        Ok(made)
    }
}

fn told_name(path: &Path) -> String {
    name_of(&path.to_string_lossy()).to_owned()
}

/// Names and reasons, the first few.
fn told_left(left: &[(String, String)]) -> String {
    let told: Vec<String> = left
        .iter()
        .take(MOST_NAMES)
        .map(|(name, why)| format!("{name} ({why})"))
        .collect();
    let more = left.len().saturating_sub(MOST_NAMES);
    let more = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    told.join(", ") + &more
}
