//! The pictures of a roll: given one by one, or counted from a first number.

use std::collections::HashSet;

use super::super::limits::GAP_PERFORATIONS;
use crate::bounds::FRAMES;
use crate::error::{Error, Kind};
use crate::field::frame::Frame;
use crate::field::record::FrameShape;

/// Perforations that a picture takes with its share of the gaps: 8 for a full frame [G4], 4 for a half frame, 16 for a
/// panorama, two pockets; a camera that winds less leaves the rest as gap (common practice, no source).
pub const fn perforations(shape: FrameShape) -> u32 {
    match shape {
        FrameShape::Full => 8,
        FrameShape::Half => 4,
        FrameShape::Panoramic => 16,
    }
}

/// A picture, or a blank frame, as it lies on the film.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Image {
    /// Its number, each once.
    pub frame: String,
    /// How much film it takes.
    pub shape: FrameShape,
    /// Whether it may be left out.
    pub blank: bool,
    /// Perforations of clear film between it and the one before ([`GAP_PERFORATIONS`]); below zero the two overlap, and
    /// no cut goes between them. Not counted before the first.
    pub gap_before: i32,
}

/// Pictures of one shape, one after the other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// Number of the first, as the film's edge counts.
    pub first: String,
    /// How many.
    pub frames: u32,
    /// Their shape.
    pub shape: FrameShape,
    /// Whether the film ended in the last one: half of a full frame, or one pocket of a panorama.
    pub last_cut_short: bool,
    /// Numbers of those that are blank.
    pub blank: Vec<String>,
}

/// Counts out the pictures of a run; the edge's numbers go on by the film each takes. `at` is the path that errors name
/// the run by.
///
/// # Errors
/// [`Kind::OutOfRange`] for a count outside [`FRAMES`]; [`Kind::Unknown`] for a first number no edge has, or a blank one
/// that the run has not; [`Kind::Impossible`] for half of a half frame.
pub fn images(run: &Run, at: &str) -> Result<Vec<Image>, Error> {
    let field = |name: &str| below(at, name);
    FRAMES.check_as(&field("frames: out of range"), f64::from(run.frames))?;
    let mut label = Frame::parse(&run.first).map_err(|_| {
        Error::new(
            Kind::Unknown,
            field("first: not a number of a film's edge"),
            format!("{:?}", run.first.chars().take(30).collect::<String>()),
            "00, 0, 0A, 1, 1A and so on",
            "Give the number beside the first picture.",
        )
    })?;
    let mut images = Vec::with_capacity(run.frames as usize);
    for _ in 0..run.frames {
        images.push(Image {
            frame: label.to_string(),
            shape: run.shape,
            blank: false,
            gap_before: 0,
        });
        label = label.after_halves(perforations(run.shape) / perforations(FrameShape::Half));
    }
    if let (true, Some(last)) = (run.last_cut_short, images.last_mut()) {
        last.shape = match run.shape {
            FrameShape::Full => FrameShape::Half,
            FrameShape::Panoramic => FrameShape::Full,
            FrameShape::Half => {
                return Err(Error::new(
                    Kind::Impossible,
                    field("last_cut_short: not for half frames"),
                    "half of a half frame",
                    "full or panoramic frames",
                    "Leave the last one out of the count.",
                ));
            }
        };
    }
    for (i, blank) in run.blank.iter().enumerate() {
        let wanted = Frame::parse(blank).ok().map(|label| label.to_string());
        let image = images
            .iter_mut()
            .find(|image| Some(&image.frame) == wanted.as_ref());
        image
            .ok_or_else(|| {
                Error::new(
                    Kind::Unknown,
                    field(&format!("blank[{i}]: no such frame")),
                    format!("{:?}", blank.chars().take(30).collect::<String>()),
                    format!("a number of the roll, which begins with {}", run.first),
                    "Name a frame of this roll.",
                )
            })?
            .blank = true;
    }
    Ok(images)
}

/// The frames of a roll by the camera's counter, each so many perforations after the one before: what a store knows of a
/// roll. A picture takes the largest shape that fits the advance; the rest is gap.
///
/// # Errors
/// [`Kind::OutOfRange`] for a count or a number outside [`FRAMES`], or an advance less than a half frame.
pub fn counted(
    first: Frame,
    frames: u32,
    advance_perforations: u32,
    blank: &[Frame],
) -> Result<Vec<Image>, Error> {
    FRAMES.check_as("frames: out of range", f64::from(frames))?;
    let shape = match advance_perforations {
        16.. => FrameShape::Panoramic,
        8.. => FrameShape::Full,
        _ => FrameShape::Half,
    };
    let gap = f64::from(advance_perforations) - f64::from(perforations(shape));
    GAP_PERFORATIONS.check_as("the gap between frames", gap)?;
    Ok((0..frames)
        .map(|i| {
            let frame = first.after(i);
            Image {
                frame: frame.to_string(),
                shape,
                blank: blank.contains(&frame),
                gap_before: gap as i32,
            }
        })
        .collect())
}

/// Refuses pictures that cannot be; `at` is the path of their roll.
pub(super) fn validate(images: &[Image], at: &str) -> Result<(), Error> {
    let field = |name: &str| below(at, name);
    super::count(&field("images"), images.len())?;
    let mut seen = HashSet::new();
    for (i, image) in images.iter().enumerate() {
        super::frame(&field(&format!("images[{i}].frame")), &image.frame)?;
        GAP_PERFORATIONS.check_as(
            &field(&format!("images[{i}].gap_perforations: out of range")),
            f64::from(image.gap_before),
        )?;
        if !seen.insert(&image.frame) {
            return Err(Error::new(
                Kind::Inconsistent,
                field(&format!("images[{i}].frame: given twice")),
                &image.frame,
                "each number once",
                "Number them as the film's edge does.",
            ));
        }
    }
    Ok(())
}

/// A field below a path.
fn below(at: &str, name: &str) -> String {
    if at.is_empty() {
        name.to_owned()
    } else {
        format!("{at}.{name}")
    }
}
