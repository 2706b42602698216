//! A folder's files matched to a roll's frames: looked at first, then recorded.

use super::super::super::entry::Reader;
use super::super::super::error::at;
use super::super::super::{Made, Outcome, Request, Service, find_in};
use super::folder::{self, Folder, name_of, without_ending};
use crate::xmp::digest_of;
use serde::{Deserialize, Serialize};
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::record::ScanFile;
use spoolwright_core::field::scan::{
    MatchBy as By, Pattern, in_order, listed, natural, numbered, stem,
};
use spoolwright_core::shelf::{Roll, RollId, ScanFileId};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Store, Subject};
use std::collections::{BTreeMap, BTreeSet};

/// Frames past those a roll should give that nobody wonders at.
const FEW_MORE: u32 = 3;

/// A folder and how its files' frames are told, as typed.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct MatchDraft {
    /// The folder of scans.
    #[arg(default_value = "")]
    pub folder: String,
    /// order (of the names), number (the last one in each name) or pattern; order when empty.
    #[arg(long, default_value = "")]
    pub by: String,
    /// By order: the frame of the first file; 1 when empty.
    #[arg(long, default_value = "")]
    pub first: String,
    /// By order: frames that were not scanned, such as 3, 7-9.
    #[arg(long, default_value = "")]
    pub missed: String,
    /// By order: the first file is the roll's last frame.
    #[arg(long, default_value = "", num_args = 0..=1, require_equals = true, default_missing_value = "yes")]
    pub backwards: String,
    /// By pattern: a name without its ending, {frame} where the number stands, * for anything: HM-07_{frame}*.
    #[arg(long, default_value = "")]
    pub pattern: String,
    /// What was shown when it was looked at; nothing is recorded when it would be something else by now.
    #[arg(skip)]
    pub shown: String,
}

/// What becomes of a file.
#[derive(Debug, Clone, PartialEq)]
pub enum Fate {
    /// It is matched for the first time.
    New,
    /// It is that frame's already.
    Same,
    /// It was another frame's of the roll.
    Moves(Frame),
    /// It stays as it is, for this reason.
    LeftOut(String),
}

/// A file and the frame it is taken for.
#[derive(Debug, Clone, PartialEq)]
pub struct MatchRow {
    /// Its name.
    pub name: String,
    /// Bytes.
    pub size: u64,
    /// Its frame.
    pub frame: Option<Frame>,
    /// What becomes of it.
    pub fate: Fate,
    /// The frame lies past those the roll should give.
    pub beyond: bool,
}

/// A folder as it would be matched.
#[derive(Debug, Clone, PartialEq)]
pub struct MatchView {
    /// The folder, without links in its path.
    pub folder: String,
    /// Its images in the order of their names.
    pub rows: Vec<MatchRow>,
    /// What is shown, in one word, to be sent back.
    pub shown: String,
}

impl MatchView {
    /// Files that are matched to a frame.
    pub fn matched(&self) -> impl Iterator<Item = (&MatchRow, Frame)> {
        let taken = |r: &&MatchRow| !matches!(r.fate, Fate::LeftOut(_));
        self.rows
            .iter()
            .filter(taken)
            .filter_map(|r| Some((r, r.frame?)))
    }
}

/// What a plan has to ask of the store, or of a change that is being made.
trait Known {
    fn at_path(&self, path: &str) -> Outcome<Option<ScanFile>>;
    fn of_stem(&self, stem: &str) -> Outcome<Vec<ScanFile>>;
    fn label(&self, roll: RollId) -> Outcome<String>;
}

macro_rules! known {
    ($($type:ty),+) => { $(
        impl Known for $type {
            fn at_path(&self, path: &str) -> Outcome<Option<ScanFile>> {
                Ok(self.scan_of_path(path)?)
            }
            fn of_stem(&self, stem: &str) -> Outcome<Vec<ScanFile>> {
                Ok(self.scans_of_stem(stem)?)
            }
            fn label(&self, roll: RollId) -> Outcome<String> {
                Ok(self.get::<Roll>(roll)?.map_or_else(String::new, |r| r.label))
            }
        }
    )+ };
}
known!(Store, Change<'_>);

/// How frames are told, as read.
struct Way {
    by: By,
    first: Frame,
    missed: BTreeSet<Frame>,
    backwards: bool,
    pattern: Option<Pattern>,
}

impl MatchDraft {
    fn read(&self) -> Outcome<(Folder, Way)> {
        let mut r = Reader::new();
        let folder = folder::read(&self.folder).map(Some);
        let folder = r.keep("folder", folder, None);
        let by = r.word("by", &self.by, By::from_word);
        let mut way = Way {
            by,
            first: Frame::FIRST,
            missed: BTreeSet::new(),
            backwards: r.yes("backwards", &self.backwards),
            pattern: None,
        };
        match by {
            By::Order => {
                if !self.first.trim().is_empty() {
                    way.first = r.keep("first", Frame::parse(&self.first), Frame::FIRST);
                }
                way.missed = r.keep("missed", listed(&self.missed), BTreeSet::new());
            }
            By::Number => {}
            By::Pattern => {
                let pattern = Pattern::parse(&self.pattern).map(Some);
                way.pattern = r.keep("pattern", pattern, None);
            }
        }
        r.finish()?;
        let folder = folder.ok_or_else(|| Error::missing("the folder", "a folder", "Type it."))?;
        Ok((folder, way))
    }
}

/// The frame of each name without its ending.
fn frames_of(folder: &Folder, way: &Way) -> BTreeMap<String, Frame> {
    let mut stems: Vec<&str> = folder.images.iter().map(|i| stem(&i.name)).collect();
    stems.sort_by(|a, b| natural(a, b));
    // Two files of one name are the same picture twice.
    stems.dedup();
    if way.backwards {
        stems.reverse();
    }
    let frames: Vec<Option<Frame>> = match way.by {
        By::Order => in_order(stems.len(), way.first, &way.missed)
            .into_iter()
            .map(Some)
            .collect(),
        By::Number => stems.iter().map(|s| numbered(s)).collect(),
        By::Pattern => {
            let pattern = way.pattern.as_ref();
            let frame = |s: &&str| pattern.and_then(|p| p.frame(s));
            stems.iter().map(frame).collect()
        }
    };
    let told = stems.into_iter().zip(frames);
    told.filter_map(|(s, f)| Some((s.to_owned(), f?))).collect()
}

fn plan(roll: &Roll, folder: &Folder, way: &Way, known: &impl Known) -> Outcome<MatchView> {
    let frames = frames_of(folder, way);
    let mut images: Vec<_> = folder.images.iter().collect();
    images.sort_by(|a, b| natural(&a.name, &b.name));
    let mut rows = Vec::new();
    for image in images {
        let frame = frames.get(stem(&image.name)).copied();
        let fate = match frame {
            None => Fate::LeftOut(match way.by {
                By::Number => "no frame's number in its name".to_owned(),
                _ => "the pattern does not fit it".to_owned(),
            }),
            Some(frame) => fate(roll, &image.path, frame, known)?,
        };
        rows.push(MatchRow {
            name: image.name.clone(),
            size: image.size,
            beyond: frame.is_some_and(|f| f.n() > roll.frames.saturating_add(FEW_MORE)),
            frame,
            fate,
        });
    }
    for (name, why) in &folder.left_out {
        rows.push(MatchRow {
            name: name.clone(),
            size: 0,
            frame: None,
            fate: Fate::LeftOut((*why).to_owned()),
            beyond: false,
        });
    }
    let told = format!("{} {:?} {rows:?}", roll.id, folder.path);
    Ok(MatchView {
        folder: folder.path.display().to_string(),
        rows,
        shown: digest_of(told.as_bytes()),
    })
}

fn fate(roll: &Roll, path: &str, frame: Frame, known: &impl Known) -> Outcome<Fate> {
    if Frame::parse(&frame.to_string()).is_err() {
        return Ok(Fate::LeftOut("no roll has so many frames".to_owned()));
    }
    let stem = without_ending(path);
    // One sidecar lies beside all files of one name: they must be one frame's.
    for other in known.of_stem(stem)? {
        let is_other = other.path != path && without_ending(&other.path) == stem;
        let lies_here = folder::still_there(&other.path).is_ok();
        if is_other && (other.roll != roll.id || (!lies_here && other.frame != frame)) {
            let label = known.label(other.roll)?;
            return Ok(Fate::LeftOut(format!(
                "{} is the scan of frame {} of {label}, and both would have one sidecar",
                name_of(&other.path),
                other.frame
            )));
        }
    }
    Ok(match known.at_path(path)? {
        None => Fate::New,
        Some(s) if s.roll != roll.id => {
            let label = known.label(s.roll)?;
            Fate::LeftOut(format!("it is the scan of frame {} of {label}", s.frame))
        }
        Some(s) if s.frame == frame => Fate::Same,
        Some(s) => Fate::Moves(s.frame),
    })
}

impl Service {
    /// How a folder would be matched to a roll's frames; nothing is recorded.
    ///
    /// # Errors
    /// Every fault of the draft; a folder that cannot be read.
    pub fn look_at_scans(&self, roll: RollId, draft: &MatchDraft) -> Outcome<MatchView> {
        let (folder, way) = draft.read()?;
        let roll = self.find::<Roll>(roll)?;
        let view = plan(&roll, &folder, &way, &*self.store())?;
        something(&view)?;
        Ok(view)
    }

    /// Records which files of a folder are the scans of which frames, and how many they are. No file is touched.
    ///
    /// # Errors
    /// As for looking; the folder has changed since it was looked at.
    pub fn match_scans(
        &self,
        roll: RollId,
        draft: &MatchDraft,
        request: Request<'_>,
    ) -> Outcome<Made<usize>> {
        let (folder, way) = draft.read()?;
        let today = self.today();
        self.change(request, |change| {
            let roll = find_in::<Roll>(change, roll)?;
            let view = plan(&roll, &folder, &way, &*change)?;
            something(&view)?;
            if !draft.shown.is_empty() && draft.shown != view.shown {
                return Err(Error::new(
                    Kind::Conflict,
                    "the folder of scans",
                    "other files or frames than were shown",
                    "what was shown when it was looked at",
                    "Look at it again, and record then.",
                )
                .into());
            }
            let mut frames = BTreeSet::new();
            for (row, frame) in view.matched() {
                let path = format!("{}{}", prefix(&folder), row.name);
                let old = change.scan_of_path(&path)?;
                let scan = ScanFile {
                    id: old.as_ref().map_or(ScanFileId(0), |o| o.id),
                    roll: roll.id,
                    frame,
                    path,
                    size: row.size,
                    digest: None,
                    sidecar_digest: old.as_ref().and_then(|o| o.sidecar_digest.clone()),
                    matched_on: match &old {
                        Some(old) if old.frame == frame => old.matched_on.clone(),
                        _ => today.clone(),
                    },
                };
                change.put(&scan)?;
                frames.insert(frame);
            }
            change.about(Subject::of::<Roll>(roll.id));
            let count = view.matched().count();
            let story = format!(
                "Matched {count} {} in {} to {} of {}.",
                if count == 1 { "scan" } else { "scans" },
                view.folder,
                spans(&frames),
                roll.label
            );
            Ok(("scan.matched", story, count))
        })
    }
}

/// The folder's path with what stands between it and a name.
fn prefix(folder: &Folder) -> String {
    let joined = folder.path.join("x");
    let text = joined.to_string_lossy();
    text[..text.len() - 1].to_owned()
}

fn something(view: &MatchView) -> Outcome<()> {
    if view.matched().next().is_some() {
        return Ok(());
    }
    let reason = view.rows.iter().find_map(|r| match &r.fate {
        Fate::LeftOut(why) => Some(format!("{}: {why}", r.name)),
        _ => None,
    });
    Err(at(
        "folder",
        Error::new(
            Kind::Missing,
            "scans to be matched",
            reason.unwrap_or_else(|| format!("{}, with no image in it", view.folder)),
            "images whose frames can be told: TIFF, PNG, JPEG, DNG, WebP, JPEG 2000 or JPEG XL by their names' endings",
            "Check the folder, or choose another way to tell the frames.",
        ),
    ))
}

/// Frames as a person says them: `frames 1 to 12, 14`.
fn spans(frames: &BTreeSet<Frame>) -> String {
    let mut spans: Vec<(Frame, Frame)> = Vec::new();
    for &frame in frames {
        match spans.last_mut() {
            Some((_, last)) if last.after(1) == frame => *last = frame,
            _ => spans.push((frame, frame)),
        }
    }
    let told: Vec<String> = spans
        .iter()
        .map(|(from, to)| match from == to {
            true => from.to_string(),
            false => format!("{from} to {to}"),
        })
        .collect();
    let noun = if frames.len() == 1 { "frame" } else { "frames" };
    format!("{noun} {}", told.join(", "))
}
