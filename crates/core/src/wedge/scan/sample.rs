//! Collects the pixels of every patch while a picture passes by, row after row.
//!
//! A patch is a grid of small cells, each a convex shape; a row crosses a cell in one run of pixels. Only these are
//! kept, and of a large cell only every second, third … row and column, so that memory does not grow with the picture.

use super::layout::{Channel, Point, Quad};
use super::robust::{median, spread};
use super::{Samples, Shape};

/// About as many pixels as are kept of one cell.
const ENOUGH: f64 = 8192.0;
/// Cells along one side of a patch, at most.
const MOST_CELLS: usize = 6;
/// Pixels that the side of a cell should have: more than a block of JPEG or a clump of grain.
const CELL_SIDE: f64 = 9.0;

/// The pixels of one small part of a patch.
pub(super) struct Cell {
    corners: [Point; 4],
    rows: (u32, u32),
    stride: usize,
    /// What was collected, in units of the channel's scale.
    pub(super) values: Vec<u16>,
    /// How many of them have a colour.
    coloured: usize,
}

/// A patch as a square grid of cells.
pub(super) struct Patch {
    /// Cells along one side.
    pub(super) side: usize,
    /// Row by row; u runs fastest.
    pub(super) cells: Vec<Cell>,
}

impl Patch {
    /// A patch with as many cells as its size allows.
    pub(super) fn of(quad: &Quad) -> Self {
        let side = ((quad.area().sqrt() / CELL_SIDE) as usize).clamp(2, MOST_CELLS);
        let part = |i: usize| (i as f64 / side as f64, (i + 1) as f64 / side as f64);
        let cells = (0..side * side)
            .map(|i| Cell::new(&quad.part(part(i % side), part(i / side))))
            .collect();
        Self { side, cells }
    }

    /// The rows that it touches.
    pub(super) fn rows(&self) -> (u32, u32) {
        let from = self.cells.iter().map(|c| c.rows.0).min().unwrap_or(0);
        let to = self.cells.iter().map(|c| c.rows.1).max().unwrap_or(0);
        (from, to)
    }
}

impl Cell {
    fn new(quad: &Quad) -> Self {
        let ys = quad.0.map(|p| p.y);
        let top = ys.iter().copied().fold(f64::INFINITY, f64::min);
        let bottom = ys.iter().copied().fold(0.0, f64::max);
        Self {
            corners: quad.0,
            rows: (top.floor().max(0.0) as u32, bottom.ceil().max(0.0) as u32),
            stride: (quad.area() / ENOUGH).sqrt().ceil().max(1.0) as usize,
            values: Vec::new(),
            coloured: 0,
        }
    }

    /// The pixels of row `y` whose centres lie inside, as a half-open run.
    fn run(&self, y: u32, width: usize) -> Option<(usize, usize)> {
        let at = f64::from(y) + 0.5;
        let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
        for i in 0..4 {
            let (a, b) = (self.corners[i], self.corners[(i + 1) % 4]);
            if (a.y <= at) != (b.y <= at) {
                let x = a.x + (at - a.y) * (b.x - a.x) / (b.y - a.y);
                from = from.min(x);
                to = to.max(x);
            }
        }
        let from = (from - 0.5).ceil().max(0.0) as usize;
        let to = ((to - 0.5).ceil().max(0.0) as usize).min(width);
        (from < to).then_some((from, to))
    }

    fn take(&mut self, y: u32, row: Samples<'_>, scale: Scale) {
        if y < self.rows.0 || self.rows.1 < y || !(y as usize).is_multiple_of(self.stride) {
            return;
        }
        if let Some((from, to)) = self.run(y, row.len() / scale.channels) {
            let picked = (from..to).step_by(self.stride);
            match row {
                Samples::Eight(row) => {
                    let coloured = |x: &usize| scale.has_colour(row, *x);
                    self.coloured += picked.clone().filter(coloured).count();
                    self.values.extend(picked.map(|x| scale.eight(row, x)));
                }
                Samples::Sixteen(row) => self.values.extend(picked.map(|x| scale.sixteen(row, x))),
            }
        }
    }
}

/// How a pixel becomes one number.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    channels: usize,
    /// The one channel that is read; none for the mean of three.
    one: Option<usize>,
    /// The number of full white.
    pub(super) full: u16,
    /// What one step of the picture's own numbers is worth, as a single error.
    pub(super) step: f64,
    /// The lightest number, where the picture is cut off.
    pub(super) ceiling: u16,
    /// The darkest number, where the picture is cut off.
    pub(super) floor: u16,
}

impl Scale {
    pub(super) fn new(shape: &Shape, channel: Channel) -> Self {
        let one = match channel {
            _ if shape.channels == 1 => Some(0),
            Channel::Grey => None,
            Channel::Red => Some(0),
            Channel::Green => Some(1),
            Channel::Blue => Some(2),
        };
        // Three channels of 8 bits are summed, so that no step is lost; of 16 bits the mean is enough.
        let (full, step) = match (shape.sixteen, one) {
            (true, _) => (u16::MAX, 1.0),
            (false, Some(_)) => (255, 1.0),
            (false, None) => (765, 3.0_f64.sqrt()),
        };
        Self {
            channels: usize::from(shape.channels),
            one,
            full,
            step,
            ceiling: full,
            floor: 0,
        }
    }

    /// Whether three channels that are read together differ.
    fn has_colour(self, row: &[u8], x: usize) -> bool {
        self.one.is_none() && {
            let p = &row[x * 3..x * 3 + 3];
            p[0] != p[1] || p[1] != p[2]
        }
    }

    /// A pixel counts as clipped when any of its channels is.
    fn eight(self, row: &[u8], x: usize) -> u16 {
        if let Some(one) = self.one {
            return u16::from(row[x * self.channels + one]);
        }
        let p = &row[x * 3..x * 3 + 3];
        if p.contains(&u8::MAX) {
            self.full
        } else if p.contains(&0) {
            0
        } else {
            p.iter().map(|v| u16::from(*v)).sum()
        }
    }

    fn sixteen(self, row: &[u16], x: usize) -> u16 {
        if let Some(one) = self.one {
            return row[x * self.channels + one];
        }
        let p = &row[x * 3..x * 3 + 3];
        if p.contains(&u16::MAX) {
            u16::MAX
        } else if p.contains(&0) {
            0
        } else {
            ((p.iter().map(|v| u32::from(*v)).sum::<u32>() + 1) / 3) as u16
        }
    }
}

/// The worth of one step where eight bits of three channels are read together: they are rounded each for itself, but
/// grey that was stored as colour was rounded once, and its three equal errors add up.
pub(super) fn eight_bit_step(patches: &[Patch], scale: Scale) -> f64 {
    let cells = || patches.iter().flat_map(|p| &p.cells);
    let coloured: usize = cells().map(|c| c.coloured).sum();
    let all: usize = cells().map(|c| c.values.len()).sum();
    if scale.one.is_none() && 2 * coloured < all {
        3.0
    } else {
        scale.step
    }
}

/// By what number all values of a picture differ: more than 1 where fewer bits were stretched.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Grid {
    first: Option<u16>,
    by: u16,
}

impl Grid {
    /// Looks at a row; once values differ by 1 there is nothing more to learn.
    pub(super) fn see(&mut self, row: Samples<'_>) {
        let Samples::Sixteen(row) = row else { return };
        for value in row {
            if self.by == 1 {
                return;
            }
            let first = *self.first.get_or_insert(*value);
            let (mut a, mut b) = (self.by, value.abs_diff(first));
            while b != 0 {
                (a, b) = (b, a % b);
            }
            self.by = a;
        }
    }

    /// The greatest common divisor of all differences.
    pub(super) fn step(self) -> u16 {
        self.by.max(1)
    }
}

/// Above this part of pixels at the lightest or darkest value of all, a patch is cut off there.
const PILED: f64 = 0.2;
/// How many of the nearest patches that are not cut off are asked how noisy the picture is there.
const NEIGHBOURS: usize = 3;

/// The values at which the picture is cut off, short of full white and black.
///
/// The lightest value of all patches is a ceiling if many pixels of one patch share it while the lightest of the other
/// patches are all noisy: noise would spread them. A floor alike.
///
/// # Source
/// Own derivation; the limits are plain assumptions.
pub(super) fn cut_off(patches: &mut [Patch], scale: Scale) -> (u16, u16) {
    let mut seen = Vec::with_capacity(patches.len());
    let (mut lightest, mut darkest) = (0, u16::MAX);
    for patch in patches.iter_mut() {
        let mut spreads = Vec::new();
        let mut centres = Vec::new();
        for cell in patch.cells.iter_mut().filter(|c| !c.values.is_empty()) {
            lightest = cell.values.iter().copied().fold(lightest, u16::max);
            darkest = cell.values.iter().copied().fold(darkest, u16::min);
            let (centre, sd) = spread(&mut cell.values);
            centres.push(centre);
            spreads.push(sd);
        }
        seen.push((median(&mut centres), median(&mut spreads)));
    }
    let cut_at = |limit: u16, sign: f64| -> bool {
        let piled = |patch: &Patch| {
            let (mut at, mut of) = (0usize, 0usize);
            for cell in &patch.cells {
                of += cell.values.len();
                at += cell.values.iter().filter(|v| **v == limit).count();
            }
            PILED * (of as f64) < at as f64
        };
        let piled: Vec<bool> = patches.iter().map(piled).collect();
        let mut others: Vec<(f64, f64)> = seen
            .iter()
            .zip(&piled)
            .filter(|((centre, _), piled)| !**piled && centre.is_finite())
            .map(|(seen, _)| *seen)
            .collect();
        others.sort_by(|p, q| (sign * q.0).total_cmp(&(sign * p.0)));
        let near = others.iter().take(NEIGHBOURS).map(|o| o.1);
        piled.contains(&true)
            && !others.is_empty()
            && scale.step <= near.fold(f64::INFINITY, f64::min)
    };
    let ceiling = if cut_at(lightest, 1.0) {
        lightest
    } else {
        scale.full
    };
    let floor = if cut_at(darkest, -1.0) { darkest } else { 0 };
    (ceiling, floor)
}

/// Gives a row to every patch.
pub(super) fn row(patches: &mut [Patch], y: u32, row: Samples<'_>, scale: Scale) {
    for patch in patches {
        for cell in &mut patch.cells {
            cell.take(y, row, scale);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cells share their edges: every pixel of a turned patch belongs to one cell exactly.
    #[test]
    fn cells_tile_a_patch() {
        let p = |x, y| Point { x, y };
        let quad = Quad([p(13.2, 4.1), p(90.7, 17.3), p(84.4, 71.9), p(5.6, 60.2)]);
        let mut patch = [Patch::of(&quad)];
        let shape = Shape {
            width: 100,
            height: 80,
            channels: 1,
            sixteen: true,
            lossy: false,
        };
        let scale = Scale::new(&shape, Channel::Grey);
        for y in 0..80u32 {
            let line: Vec<u16> = (0..100).map(|x| (y * 100 + x) as u16).collect();
            row(&mut patch, y, Samples::Sixteen(&line), scale);
        }
        let mut seen: Vec<u16> = patch[0]
            .cells
            .iter()
            .flat_map(|c| c.values.clone())
            .collect();
        let count = seen.len();
        seen.sort_unstable();
        seen.dedup();
        assert_eq!(seen.len(), count, "a pixel was taken twice");
        assert!(
            (count as f64 - quad.area()).abs() < 12.0,
            "{count} of {}",
            quad.area()
        );
    }
}
