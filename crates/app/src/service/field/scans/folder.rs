//! Folders of scans as they lie on this machine: which images are in one, and whether a file is still what it was.
//!
//! Images are opened to be read and never written. No link is followed out of a folder.

use crate::calc::words::shorten;
use spoolwright_core::{Error, Kind};
use std::fs::{self, Metadata};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// Most things in a folder that are looked at.
const MOST_ENTRIES: usize = 20_000;
/// Most images in a folder.
pub const MOST_IMAGES: usize = 1000;
/// Characters of a folder's path.
const LONGEST_PATH: usize = 1000;
/// Endings of files that are taken for scans. Thumbnails are made of the first five.
const ENDINGS: [&str; 9] = [
    "tif", "tiff", "png", "jpg", "jpeg", "dng", "webp", "jp2", "jxl",
];
const SHOWN: usize = 5;

/// An image in a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Image {
    /// Its name.
    pub(super) name: String,
    /// Its whole path.
    pub(super) path: String,
    /// Bytes.
    pub(super) size: u64,
}

/// What is in a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Folder {
    /// Its path without links in it.
    pub(super) path: PathBuf,
    /// Images in it, in no order.
    pub(super) images: Vec<Image>,
    /// What looks like an image and is left out, and why.
    pub(super) left_out: Vec<(String, &'static str)>,
}

/// Where an ending stands in the list of those taken for scans.
fn ending(path: &Path) -> Option<usize> {
    let ending = path.extension()?.to_str()?.to_lowercase();
    ENDINGS.iter().position(|e| *e == ending)
}

/// Whether a thumbnail can be made of a file of that name.
pub fn is_shown(path: &str) -> bool {
    ending(Path::new(path)).is_some_and(|at| at < SHOWN)
}

/// Reads a folder that a person typed, and nothing below it.
///
/// # Errors
/// No whole path, no folder, one that cannot be read or holds too much.
pub(super) fn read(typed: &str) -> Result<Folder, Error> {
    let typed = typed.trim();
    let allowed = "the whole path of a folder on this machine";
    let refuse = |kind, given: String, remedy: &str| {
        Error::new(kind, "the folder of scans", given, allowed, remedy)
    };
    if typed.is_empty() {
        return Err(Error::missing(
            "the folder of scans",
            allowed,
            "Type it, such as /photos/scans/HM-07.",
        ));
    }
    if typed.chars().count() > LONGEST_PATH
        || typed.contains('\0')
        || !Path::new(typed).is_absolute()
    {
        return Err(refuse(
            Kind::OutOfRange,
            shorten(typed),
            "Type the path from its very beginning, such as /photos/scans/HM-07.",
        ));
    }
    let cannot = |e: std::io::Error| {
        let given = format!("{}: {e}", shorten(typed));
        let remedy = match e.kind() {
            ErrorKind::NotFound => "Check how it is written.",
            _ => "Check that it is a folder and may be read.",
        };
        refuse(Kind::Missing, given, remedy)
    };
    let path = fs::canonicalize(typed).map_err(cannot)?;
    let mut folder = Folder {
        images: Vec::new(),
        left_out: Vec::new(),
        path,
    };
    let mut seen = 0_usize;
    for entry in fs::read_dir(&folder.path).map_err(cannot)? {
        let entry = entry.map_err(cannot)?;
        seen += 1;
        if seen > MOST_ENTRIES || folder.images.len() > MOST_IMAGES {
            return Err(Error::new(
                Kind::TooLarge,
                "the folder of scans",
                if seen > MOST_ENTRIES {
                    format!("more than {MOST_ENTRIES} files")
                } else {
                    format!("more than {MOST_IMAGES} images")
                },
                format!("up to {MOST_IMAGES} images and {MOST_ENTRIES} files in all"),
                "Give the folder of one roll, or put its scans in one of their own.",
            ));
        }
        let path = entry.path();
        if ending(&path).is_none() {
            continue;
        }
        let told = entry.file_name().to_string_lossy().into_owned();
        let (Some(whole), Some(name)) = (path.to_str(), path.file_name().and_then(|n| n.to_str()))
        else {
            folder.left_out.push((told, "its name cannot be read"));
            continue;
        };
        // What a link itself is, not what it leads to.
        let Ok(facts) = fs::symlink_metadata(&path) else {
            folder.left_out.push((told, "it cannot be read"));
            continue;
        };
        if facts.is_symlink() {
            folder
                .left_out
                .push((told, "it is a link to another place"));
        } else if facts.is_file() {
            folder.images.push(Image {
                name: name.to_owned(),
                path: whole.to_owned(),
                size: facts.len(),
            });
        }
    }
    Ok(folder)
}

/// The facts of a file that was matched before, if it is one still: no link, and in the same folder.
///
/// # Errors
/// It is gone, or a link leads elsewhere by now.
pub(super) fn still_there(path: &str) -> Result<Metadata, Error> {
    let refuse = |given: String| {
        Error::new(
            Kind::Missing,
            "the scan's file",
            given,
            "the file that was matched, in its place",
            "Put it back, or match the folder that it lies in now.",
        )
    };
    let whole = Path::new(path);
    let facts =
        fs::symlink_metadata(whole).map_err(|e| refuse(format!("{}: {e}", shorten(path))))?;
    let parent = whole.parent();
    let moved = parent.is_none_or(|p| fs::canonicalize(p).is_ok_and(|now| now != p));
    if facts.is_symlink() || !facts.is_file() || moved {
        return Err(refuse(format!("{}: a link or a folder now", shorten(path))));
    }
    Ok(facts)
}

/// The name of a path's file.
pub fn name_of(path: &str) -> &str {
    Path::new(path)
        .file_name()
        .and_then(|n| n.to_str())
        .unwrap_or(path)
}

/// A path without its ending.
pub(super) fn without_ending(path: &str) -> &str {
    let name = name_of(path);
    let kept = spoolwright_core::field::scan::stem(name).len();
    &path[..path.len() - (name.len() - kept)]
}

/// Where the sidecar of an image lies.
pub fn sidecar_of(path: &str) -> PathBuf {
    PathBuf::from(format!("{}.xmp", without_ending(path)))
}
