//! Where the strip, the reference wedge and the clear border lie in a picture, and the patches that follow from it.
//!
//! A place is in pixels from the picture's outer left top corner: the centre of the first pixel is (0.5, 0.5). Four
//! corners and a count make patches by a projective map, so that a strip that lies turned or was photographed from
//! the side is divided as it really is. It finds no strip by itself.

use crate::bounds::Bounds;
pub use crate::bounds::{DENSITY, DENSITY_SD};
use crate::error::{Error, Kind};

/// Patches of a strip.
pub const PATCHES: Bounds = Bounds {
    what: "patches",
    unit: "patches",
    min: 1.0,
    max: 200.0,
};
/// Part of a patch left out along each of its edges.
pub const INSET: Bounds = Bounds {
    what: "the part left out along each edge of a patch",
    unit: "",
    min: 0.0,
    max: 0.45,
};
/// The inset when none is given: the middle three fifths of a patch are read.
pub const DEFAULT_INSET: f64 = 0.2;
/// The standard deviation of a reference density when none is given. Common practice, no source.
pub const DEFAULT_DENSITY_SD: f64 = 0.01;
/// The same of a wedge whose densities are its maker's round figures. An assumption, no source.
pub const NOMINAL_DENSITY_SD: f64 = 0.02;
/// Fewest reference steps that make a tone curve.
pub const FEWEST_STEPS: usize = 5;
/// Fewest pixels that the part of a patch that is read may have.
const FEWEST_PIXELS: f64 = 16.0;
/// Most clear borders.
pub const MOST_BORDERS: usize = 8;

/// A place in a picture, in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Pixels from the left edge.
    pub x: f64,
    /// Pixels from the upper edge.
    pub y: f64,
}

/// Four corners in order around a convex shape; patches run from the side of corners 1 and 4 to that of 2 and 3.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quad(pub [Point; 4]);

/// A row of equal patches.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Its corners: the first patch lies between corners 1 and 4, the last between 2 and 3.
    pub corners: Quad,
    /// How many patches it has.
    pub patches: usize,
    /// Part of a patch left out along each of its edges.
    pub inset: f64,
    /// Rises with the density that each patch must have, as its exposure says, infinite where it had none; only the
    /// order counts. Empty where that is not known.
    pub expected: Vec<f64>,
}

/// A wedge of known densities in the same picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    /// Its corners: the step of the first density lies between corners 1 and 4.
    pub corners: Quad,
    /// Density of each step, from first to last.
    pub density: Vec<f64>,
    /// Standard deviation of one of them.
    pub density_sd: f64,
    /// The densities are round figures of its kind, and were never measured on this one.
    pub nominal: bool,
    /// Part of a step left out along each of its edges.
    pub inset: f64,
}

/// Which of a picture's values are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Channel {
    /// The mean of all channels, for silver images.
    #[default]
    Grey,
    /// Red alone.
    Red,
    /// Green alone.
    Green,
    /// Blue alone.
    Blue,
}

impl Channel {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Grey, Self::Red, Self::Green, Self::Blue];

    /// Its stable word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Grey => "grey",
            Self::Red => "red",
            Self::Green => "green",
            Self::Blue => "blue",
        }
    }
}

/// Everything a person says about a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// The strip to read.
    pub strip: Strip,
    /// The wedge of known densities beside it; without one only linear 16-bit pictures are read.
    pub reference: Option<Reference>,
    /// Places of one even, clear density beside strip and wedge, to learn how evenly they are lit.
    pub clear_border: Vec<Quad>,
    /// Which of the picture's values are read.
    pub channel: Channel,
    /// The person says that pixel values are proportional to light.
    pub linear: bool,
    /// The picture was turned into a positive: dark film is light in it.
    pub inverted: bool,
}

impl Quad {
    /// The corner positions of the part `[u0, u1] × [v0, v1]`, u along the patches and v across.
    pub fn part(&self, u: (f64, f64), v: (f64, f64)) -> Quad {
        let map = Projection::onto(self);
        Quad([
            map.at(u.0, v.0),
            map.at(u.1, v.0),
            map.at(u.1, v.1),
            map.at(u.0, v.1),
        ])
    }

    /// Patch `i` of `n` equal ones, `inset` left out along each of its edges.
    pub fn patch(&self, i: usize, n: usize, inset: f64) -> Quad {
        let along = |part: f64| (i as f64 + part) / n as f64;
        self.part((along(inset), along(1.0 - inset)), (inset, 1.0 - inset))
    }

    /// Area in pixels.
    ///
    /// # Source
    /// Own derivation (the shoelace sum).
    pub fn area(&self) -> f64 {
        let c = &self.0;
        let twice: f64 = (0..4)
            .map(|i| c[i].x * c[(i + 1) % 4].y - c[(i + 1) % 4].x * c[i].y)
            .sum();
        twice.abs() / 2.0
    }

    /// Whether its first side is longer than its second.
    pub(super) fn is_wide(&self) -> bool {
        let c = &self.0;
        let side = |a: Point, b: Point| (a.x - b.x).hypot(a.y - b.y);
        side(c[1], c[2]) + side(c[3], c[0]) <= side(c[0], c[1]) + side(c[2], c[3])
    }

    fn check(&self, field: &str, (width, height): (u32, u32)) -> Result<(), Error> {
        let (width, height) = (f64::from(width), f64::from(height));
        for (i, p) in self.0.iter().enumerate() {
            let inside = 0.0 <= p.x && p.x <= width && 0.0 <= p.y && p.y <= height;
            if !inside {
                return Err(Error::new(
                    Kind::OutOfRange,
                    format!("{field}: corner {} lies outside the picture", i + 1),
                    format!("({}, {})", p.x, p.y),
                    format!("0 to {width} across, 0 to {height} down"),
                    "Move the corner into the picture.",
                ));
            }
        }
        let c = &self.0;
        let turn = |i: usize| {
            let (a, b, d) = (c[i], c[(i + 1) % 4], c[(i + 2) % 4]);
            (b.x - a.x) * (d.y - b.y) - (b.y - a.y) * (d.x - b.x)
        };
        let turns = [turn(0), turn(1), turn(2), turn(3)];
        if !(turns.iter().all(|t| 1.0 < *t) || turns.iter().all(|t| *t < -1.0)) {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("{field}: the corners do not go around a shape without dents"),
                show(self),
                "four corners in order around it, no two in one place, none in line",
                "Give them in order: start of one long side, its end, end of the other, its start.",
            ));
        }
        Ok(())
    }
}

fn show(quad: &Quad) -> String {
    let corners = quad.0.map(|p| format!("({}, {})", p.x, p.y));
    corners.join(", ")
}

/// The projective map of the unit square onto a quadrilateral.
///
/// # Source
/// Own derivation: the eight equations of the four corners, solved in closed form.
struct Projection {
    x: [f64; 3],
    y: [f64; 3],
    w: [f64; 2],
}

impl Projection {
    fn onto(quad: &Quad) -> Self {
        let [a, b, c, d] = quad.0;
        // Corners (0,0), (1,0), (1,1), (0,1). How far the quadrilateral is from a parallelogram:
        let (sx, sy) = (a.x - b.x + c.x - d.x, a.y - b.y + c.y - d.y);
        let (ex, ey, fx, fy) = (b.x - c.x, b.y - c.y, d.x - c.x, d.y - c.y);
        let det = ex * fy - fx * ey;
        let g = (sx * fy - fx * sy) / det;
        let h = (ex * sy - sx * ey) / det;
        Self {
            x: [b.x - a.x + g * b.x, d.x - a.x + h * d.x, a.x],
            y: [b.y - a.y + g * b.y, d.y - a.y + h * d.y, a.y],
            w: [g, h],
        }
    }

    fn at(&self, u: f64, v: f64) -> Point {
        let w = self.w[0] * u + self.w[1] * v + 1.0;
        Point {
            x: (self.x[0] * u + self.x[1] * v + self.x[2]) / w,
            y: (self.y[0] * u + self.y[1] * v + self.y[2]) / w,
        }
    }
}

impl Layout {
    /// The patches that will be read of strip and reference wedge, in order.
    pub fn outlines(&self) -> (Vec<Quad>, Vec<Quad>) {
        let row = |corners: &Quad, n: usize, inset: f64| {
            (0..n).map(|i| corners.patch(i, n, inset)).collect()
        };
        let strip = row(&self.strip.corners, self.strip.patches, self.strip.inset);
        let reference = self.reference.as_ref();
        let reference =
            reference.map_or_else(Vec::new, |r| row(&r.corners, r.density.len(), r.inset));
        (strip, reference)
    }

    /// That everything lies in a picture of that width and height and is fit to be read.
    ///
    /// # Errors
    /// [`Kind::OutOfRange`], [`Kind::Inconsistent`], [`Kind::Missing`], [`Kind::TooLarge`], naming the field.
    pub fn check(&self, size: (u32, u32)) -> Result<(), Error> {
        self.strip.corners.check("strip.corners", size)?;
        PATCHES.check_as("strip.patches: out of range", self.strip.patches as f64)?;
        INSET.check_as("strip.inset: out of range", self.strip.inset)?;
        self.strip.check_expected()?;
        if let Some(reference) = &self.reference {
            reference.corners.check("reference.corners", size)?;
            INSET.check_as("reference.inset: out of range", reference.inset)?;
            DENSITY_SD.check_as("reference.density_sd: out of range", reference.density_sd)?;
            reference.check_densities()?;
        }
        if MOST_BORDERS < self.clear_border.len() {
            return Err(Error::new(
                Kind::TooLarge,
                "clear_border: too many",
                self.clear_border.len(),
                format!("up to {MOST_BORDERS}"),
                "Give the longest ones.",
            ));
        }
        for (i, border) in self.clear_border.iter().enumerate() {
            border.check(&format!("clear_border[{i}]"), size)?;
        }
        let (strip, reference) = self.outlines();
        for (field, patches) in [("strip", strip), ("reference", reference)] {
            if let Some(small) = patches.iter().position(|p| p.area() < FEWEST_PIXELS) {
                return Err(Error::new(
                    Kind::Impossible,
                    format!("{field}: patch {} is too small to be read", small + 1),
                    format!("{:.1} pixels", patches[small].area()),
                    format!("at least {FEWEST_PIXELS} pixels inside each patch"),
                    "Check the corners and the count, or scan at a higher resolution.",
                ));
            }
        }
        Ok(())
    }
}

impl Strip {
    fn check_expected(&self) -> Result<(), Error> {
        let expected = &self.expected;
        let fits = expected.is_empty() || expected.len() == self.patches;
        if fits && !expected.iter().any(|e| e.is_nan()) {
            return Ok(());
        }
        Err(Error::new(
            Kind::Inconsistent,
            "strip.expected: not an order of its patches",
            format!("{} numbers", expected.len()),
            format!("{} numbers, or none", self.patches),
            "Give one number for each patch, or leave them out.",
        ))
    }
}

impl Reference {
    fn check_densities(&self) -> Result<(), Error> {
        for (i, density) in self.density.iter().enumerate() {
            DENSITY.check_as(&format!("reference.density[{i}]: out of range"), *density)?;
        }
        PATCHES.check_as(
            "reference.density: too many steps",
            self.density.len().max(1) as f64,
        )?;
        if self.density.len() < FEWEST_STEPS {
            return Err(Error::new(
                Kind::Missing,
                "reference.density: too few steps",
                self.density.len(),
                format!("{FEWEST_STEPS} steps or more"),
                "Give the density of every step of the reference wedge.",
            ));
        }
        let rises = |d: &[f64]| d[0] < d[1];
        let order = rises(&self.density);
        let fault = self
            .density
            .windows(2)
            .position(|d| d[0] == d[1] || rises(d) != order);
        if let Some(i) = fault {
            return Err(Error::new(
                Kind::Inconsistent,
                format!(
                    "reference.density: steps {} and {} are out of order",
                    i + 1,
                    i + 2
                ),
                format!("{}, {}", self.density[i], self.density[i + 1]),
                "densities that rise from step to step, or fall from step to step",
                "Give them in the order in which the steps lie, from corners 1 and 4 to corners 2 and 3.",
            ));
        }
        Ok(())
    }
}
