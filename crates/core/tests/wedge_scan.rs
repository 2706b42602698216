//! Densities read from pictures whose truth is known, since they are drawn here: what the reading must find, what it
//! must be unsure of, and what it must refuse. The pictures of tests/reference/wedgescan come from outside.

use std::ops::Range;

use spoolwright_core::Error;
use spoolwright_core::wedge::scan::{
    Channel, Layout, Point, Quad, Reading, Reference, Samples, Shape, Source, Strip, read,
};

/// A picture in memory, one channel.
struct Drawn {
    width: u32,
    height: u32,
    sixteen: bool,
    values: Vec<u16>,
}

impl Source for Drawn {
    fn shape(&self) -> Shape {
        Shape {
            width: self.width,
            height: self.height,
            channels: 1,
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
            let row = &self.values[(y * self.width) as usize..((y + 1) * self.width) as usize];
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
struct Scene {
    sixteen: bool,
    /// Level = light to the power 1 / gamma.
    gamma: f64,
    /// Light at the corners, as a part of that in the middle.
    corner_light: f64,
    /// Noise of a pixel: of its level, and of full white.
    noise: (f64, f64),
    /// Level of clear film.
    white: f64,
    seed: u64,
}

const W: u32 = 900;
const H: u32 = 300;
const CLEAR: f64 = 0.05;

impl Scene {
    fn plain() -> Self {
        Self {
            sixteen: true,
            gamma: 1.0,
            corner_light: 1.0,
            noise: (0.01, 0.0005),
            white: 0.9,
            seed: 1,
        }
    }

    fn strip() -> Vec<f64> {
        (0..16).map(|i| 0.12 + 0.155 * f64::from(i)).collect()
    }

    fn wedge() -> Vec<f64> {
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

    fn draw(&self) -> Drawn {
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
            sixteen: self.sixteen,
            values,
        }
    }
}

fn rectangle(x: (f64, f64), y: (f64, f64)) -> Quad {
    let p = |x, y| Point { x, y };
    Quad([p(x.0, y.0), p(x.1, y.0), p(x.1, y.1), p(x.0, y.1)])
}

fn layout() -> Layout {
    Layout {
        strip: Strip {
            corners: rectangle((60.0, 840.0), (60.0, 130.0)),
            patches: 16,
            inset: 0.2,
        },
        reference: Some(Reference {
            corners: rectangle((60.0, 840.0), (170.0, 240.0)),
            density: Scene::wedge(),
            density_sd: 0.0,
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

fn read_scene(scene: &Scene, layout: &Layout) -> Reading {
    read(&mut scene.draw(), layout).unwrap()
}

fn worst(reading: &Reading, upto: f64) -> f64 {
    let truth = Scene::strip();
    let pairs = reading.strip.iter().zip(truth).filter(|(_, d)| *d <= upto);
    pairs
        .map(|(p, d)| (p.density.unwrap().mean - d).abs())
        .fold(0.0, f64::max)
}

fn codes(reading: &Reading) -> Vec<&'static str> {
    reading.caveats.iter().map(|c| c.code).collect()
}

#[test]
fn densities_come_out_whatever_the_tone_curve() {
    for gamma in [1.0, 1.8, 2.2] {
        for corner_light in [1.0, 0.8] {
            let scene = Scene {
                gamma,
                corner_light,
                ..Scene::plain()
            };
            let reading = read_scene(&scene, &layout());
            for (p, d) in reading.strip.iter().zip(Scene::strip()) {
                eprintln!(
                    "{gamma} {corner_light} {d:.3} {:?} {:?}",
                    p.density, p.flags
                );
            }
            eprintln!("{:?}", codes(&reading));
            assert!(worst(&reading, 2.5) < 0.02, "{}", worst(&reading, 2.5));
        }
    }
}
