//! Pictures drawn here, and how they are read.

use std::ops::Range;

use spoolwright_core::Error;
use spoolwright_core::wedge::scan::{
    Channel, Layout, Point, Quad, Reading, Reference, Samples, Shape, Source, Strip, read,
};

/// A picture in memory.
pub(crate) struct Drawn {
    pub(crate) width: u32,
    pub(crate) height: u32,
    pub(crate) channels: u8,
    pub(crate) sixteen: bool,
    pub(crate) values: Vec<u16>,
}

impl Source for Drawn {
    fn shape(&self) -> Shape {
        Shape {
            width: self.width,
            height: self.height,
            channels: self.channels,
            sixteen: self.sixteen,
            lossy: false,
        }
    }

    fn rows(
        &mut self,
        rows: Range<u32>,
        take: &mut dyn FnMut(u32, Samples<'_>),
    ) -> Result<(), Error> {
        for y in rows {
            let width = self.width as usize * usize::from(self.channels);
            let row = &self.values[y as usize * width..(y as usize + 1) * width];
            if self.sixteen {
                take(y, Samples::Sixteen(row));
            } else {
                let row: Vec<u8> = row.iter().map(|v| *v as u8).collect();
                take(y, Samples::Eight(&row));
            }
        }
        Ok(())
    }
}

/// Numbers that look random and are the same every time.
struct Draws(u64);

impl Draws {
    fn uniform(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        let mut x = self.0;
        x ^= x >> 33;
        x = x.wrapping_mul(0xff51afd7ed558ccd);
        x ^= x >> 33;
        (x >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

/// What a drawn scene is like. Strip above, wedge below, clear film around both.
#[derive(Clone)]
pub(crate) struct Scene {
    pub(crate) sixteen: bool,
    /// Level = light to the power 1 / gamma.
    pub(crate) gamma: f64,
    /// Light at the corners, as a part of that in the middle.
    pub(crate) corner_light: f64,
    /// Noise of a pixel: of its level, and of full white.
    pub(crate) noise: (f64, f64),
    /// Level of clear film.
    pub(crate) white: f64,
    pub(crate) seed: u64,
}

pub(crate) const W: u32 = 900;
pub(crate) const H: u32 = 300;
pub(crate) const CLEAR: f64 = 0.05;

impl Scene {
    pub(crate) fn plain() -> Self {
        Self {
            sixteen: true,
            gamma: 1.0,
            corner_light: 1.0,
            noise: (0.01, 0.0005),
            white: 0.9,
            seed: 1,
        }
    }

    pub(crate) fn strip() -> Vec<f64> {
        (0..16).map(|i| 0.12 + 0.155 * f64::from(i)).collect()
    }

    pub(crate) fn wedge() -> Vec<f64> {
        (0..21).map(|i| 0.05 + 0.15 * f64::from(i)).collect()
    }

    fn density(x: f64, y: f64) -> f64 {
        let place = (x - 60.0) / 780.0;
        let of = |d: &[f64]| d[((place * d.len() as f64) as usize).min(d.len() - 1)];
        match y {
            _ if !(0.0..1.0).contains(&place) => CLEAR,
            y if (60.0..130.0).contains(&y) => of(&Self::strip()),
            y if (170.0..240.0).contains(&y) => of(&Self::wedge()),
            _ => CLEAR,
        }
    }

    pub(crate) fn draw(&self) -> Drawn {
        let mut draws = Draws(self.seed);
        let full = if self.sixteen { 65535.0 } else { 255.0 };
        let mut values = Vec::with_capacity((W * H) as usize);
        for i in 0..W * H {
            let (x, y) = (f64::from(i % W) + 0.5, f64::from(i / W) + 0.5);
            let (dx, dy) = (x / f64::from(W) - 0.5, y / f64::from(H) - 0.5);
            let falloff = 1.0 - (1.0 - self.corner_light) * 2.0 * (dx * dx + dy * dy);
            let light = falloff * 10f64.powf(CLEAR - Self::density(x, y));
            let level = self.white * light.powf(1.0 / self.gamma);
            let sd = (self.noise.0 * level).hypot(self.noise.1);
            let value = (level + sd * draws.normal()).clamp(0.0, 1.0) * full;
            values.push(value.round() as u16);
        }
        Drawn {
            width: W,
            height: H,
            channels: 1,
            sixteen: self.sixteen,
            values,
        }
    }
}

pub(crate) fn rectangle(x: (f64, f64), y: (f64, f64)) -> Quad {
    let p = |x, y| Point { x, y };
    Quad([p(x.0, y.0), p(x.1, y.0), p(x.1, y.1), p(x.0, y.1)])
}

pub(crate) fn layout() -> Layout {
    Layout {
        strip: Strip {
            corners: rectangle((60.0, 840.0), (60.0, 130.0)),
            patches: 16,
            inset: 0.2,
            expected: Vec::new(),
        },
        reference: Some(Reference {
            corners: rectangle((60.0, 840.0), (170.0, 240.0)),
            density: Scene::wedge(),
            density_sd: 0.0,
            nominal: false,
            inset: 0.2,
        }),
        clear_border: vec![
            rectangle((20.0, 880.0), (15.0, 50.0)),
            rectangle((20.0, 880.0), (135.0, 165.0)),
            rectangle((20.0, 880.0), (250.0, 285.0)),
        ],
        channel: Channel::Grey,
        linear: false,
        inverted: false,
    }
}

pub(crate) fn read_scene(scene: &Scene, layout: &Layout) -> Reading {
    read(&mut scene.draw(), layout).unwrap()
}

pub(crate) fn worst(reading: &Reading, upto: f64) -> f64 {
    let truth = Scene::strip();
    let pairs = reading.strip.iter().zip(truth).filter(|(_, d)| *d <= upto);
    pairs
        .map(|(p, d)| (p.density.unwrap().mean - d).abs())
        .fold(0.0, f64::max)
}

pub(crate) fn codes(reading: &Reading) -> Vec<&'static str> {
    reading.caveats.iter().map(|c| c.code).collect()
}
