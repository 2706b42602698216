//! A wedge test whose every number is known in closed form: a toe and a straight line, developed 5, 8 and 12 minutes.
//!
//! D = 0.20 + (g/5) ln(1 + e^(5 (x − x0))), x0 = −2.20850612, g = 1.10 (1 − e^(−0.12167641 t)): own derivation, made so
//! that the 8 minute strip meets the ISO triangle and has a speed of 125. The sheet only draws; no fit is run here.

use spoolwright_core::film::Pitch;
use spoolwright_core::wedge::shots::{USUAL_OFFSETS, shot_list};
use spoolwright_core::wedge::{
    AtTarget, CurvePoint, Interval, Measure, Point, SpeedKind, StandardSpeed, StripResult, Target,
    TimeContrast, TimeLaw,
};
use spoolwright_print::{Figures, ResultSheet, SheetLayer, ShotCard};

const X0: f64 = -2.208_506_12;

pub(crate) fn within(value: f64, half: f64) -> Interval {
    Interval {
        value,
        lower95: value - half,
        upper95: value + half,
    }
}

fn gamma(minutes: f64) -> f64 {
    1.10 * (1.0 - (-0.121_676_41 * minutes).exp())
}

fn density(minutes: f64, x: f64) -> f64 {
    0.20 + gamma(minutes) / 5.0 * (5.0 * (x - X0)).exp().ln_1p()
}

/// A strip of 21 steps with the numbers of the closed form.
pub(crate) fn strip(minutes: f64, log_hm: f64, delta_d: f64) -> StripResult {
    let steps = (0..21).map(|i| 0.05 - 0.15 * f64::from(i)).rev();
    let points = steps.clone().map(|log_h| Point {
        log_h,
        density: density(minutes, log_h),
        sd: 0.015,
        fitted: density(minutes, log_h),
    });
    let curve = (0..=120).map(|i| {
        let x = -2.95 + 3.0 * f64::from(i) / 120.0;
        CurvePoint {
            x,
            y: within(density(minutes, x), 0.02),
        }
    });
    let speed = 0.8 / 10f64.powf(log_hm);
    let rounded = if minutes == 5.0 {
        (100.0, 21)
    } else {
        (125.0, 22)
    };
    StripResult {
        time_min: minutes,
        base_fog: within(0.20, 0.008),
        log_h_speed_point: Some(within(log_hm, 0.02)),
        speed: Some(within(speed, 6.0)),
        speed_rounded: Some(StandardSpeed {
            iso: rounded.0,
            degrees: rounded.1,
        }),
        iso_condition_met: Some(minutes == 8.0),
        ei_stops: None,
        ei: None,
        ei_rounded: None,
        delta_d_over_1_30: Some(within(delta_d, 0.02)),
        gamma: Some(within(gamma(minutes), 0.02)),
        average_gradient: Some(within(gamma(minutes) * 0.912, 0.02)),
        contrast_index: Some(within(gamma(minutes) * 0.928, 0.02)),
        contrast_index_centre: None,
        log_h_fractional_gradient: None,
        useful_range: Some(within(2.2, 0.02)),
        d_max: within(density(minutes, 0.05), 0.02),
        points: points.collect(),
        curve: curve.collect(),
        caveats: Vec::new(),
    }
}

pub(crate) fn result() -> ResultSheet {
    let strips = vec![
        strip(5.0, -2.1011, 0.6057),
        strip(8.0, -2.1938, 0.8000),
        strip(12.0, -2.2512, 0.9622),
    ];
    let contrast = |s: &StripResult| CurvePoint {
        x: s.time_min,
        y: s.contrast(Measure::IsoTriangle).unwrap(),
    };
    let curve = (0..=60).map(|i| {
        let x = 5.0 + 7.0 * f64::from(i) / 60.0;
        CurvePoint {
            x,
            y: within(0.899 * gamma(x), 0.018),
        }
    });
    let target = Target {
        measure: Measure::IsoTriangle,
        value: 0.80 / 1.30,
    };
    ResultSheet {
        test: "Heron Mono 200, first can".to_owned(),
        stock: "Heron Mono 200".to_owned(),
        can: "HM".to_owned(),
        way: "through a wedge, exposure known".to_owned(),
        begun_on: "25 Nov 2026".to_owned(),
        developer: "house developer".to_owned(),
        dilution: "1+9".to_owned(),
        temperature: "20 °C".to_owned(),
        agitation: "10 s each minute".to_owned(),
        figures: Some(Figures {
            kind: "ISO speed".to_owned(),
            speed: "125/22°".to_owned(),
            speed_interval: Some(within(125.0, 6.0)),
            time_min: Some(within(8.0, 0.4)),
            target: "ISO triangle 0.62".to_owned(),
            card_made_on: "26 Nov 2026".to_owned(),
            note: "for the enlarger in the cellar".to_owned(),
        }),
        speed_kind: SpeedKind::Speed,
        combined: Vec::new(),
        time_contrast: Some(TimeContrast {
            measure: Measure::IsoTriangle,
            law: TimeLaw::Growth,
            reason: "Three strips follow growth towards a limit.".to_owned(),
            points: strips.iter().map(contrast).collect(),
            curve: curve.collect(),
        }),
        at_target: Some(AtTarget {
            target,
            time_min: within(8.0, 0.4),
            log_h_speed_point: Some(within(-2.1938, 0.02)),
            speed: Some(within(125.0, 6.0)),
            speed_rounded: Some(StandardSpeed {
                iso: 125.0,
                degrees: 22,
            }),
            iso_condition_met: Some(true),
            ei_stops: None,
            ei: None,
            ei_rounded: None,
            base_fog: within(0.20, 0.008),
            extrapolated: None,
            caveats: Vec::new(),
        }),
        layers: vec![SheetLayer {
            name: String::new(),
            strips,
        }],
        caveats: vec![
            "Toe and line foretold readings best: 0.012 density off.".to_owned(),
            "The wedge was nominal: its steps may be 0.02 off.".to_owned(),
        ],
        url: Some("http://192.168.178.20:7420/wedge/1".to_owned()),
    }
}

/// Three layers of one colour film, without a target.
pub(crate) fn colour() -> ResultSheet {
    let layer = |name: &str, shift: f64| SheetLayer {
        name: name.to_owned(),
        strips: [(6.5, -2.15, 0.72), (8.0, -2.19, 0.80)]
            .into_iter()
            .map(|(t, m, d)| {
                let mut s = strip(t, m, d);
                s.points.iter_mut().for_each(|p| p.density += shift);
                s.curve
                    .iter_mut()
                    .for_each(|p| p.y = within(p.y.value + shift, 0.02));
                s.base_fog = within(0.20 + shift, 0.01);
                s
            })
            .collect(),
    };
    ResultSheet {
        figures: None,
        time_contrast: None,
        at_target: None,
        layers: vec![layer("red", 0.0), layer("green", 0.4), layer("blue", 0.7)],
        ..result()
    }
}

/// The same in camera: log exposure counts from the meter reading.
pub(crate) fn in_camera() -> ResultSheet {
    let mut sheet = result();
    sheet.speed_kind = SpeedKind::ExposureIndex;
    sheet.way = "in camera, meter set to EI 400".to_owned();
    for s in sheet.layers.iter_mut().flat_map(|l| &mut l.strips) {
        s.points.iter_mut().for_each(|p| p.log_h += 1.0);
        s.curve.iter_mut().for_each(|p| p.x += 1.0);
        s.log_h_speed_point = s.log_h_speed_point.map(|m| within(m.value + 1.0, 0.02));
        (s.ei, s.ei_rounded) = (s.speed.take(), s.speed_rounded.take());
        (s.ei_stops, s.iso_condition_met) = (Some(within(-1.7, 0.1)), None);
    }
    if let Some(t) = &mut sheet.at_target {
        (t.ei, t.ei_rounded) = (t.speed.take(), t.speed_rounded.take());
        t.log_h_speed_point = Some(within(-1.1938, 0.02));
    }
    if let Some(f) = &mut sheet.figures {
        f.kind = "EI".to_owned();
    }
    sheet
}

pub(crate) fn shots(times: &[f64], offsets: &[f64]) -> ShotCard {
    let list = shot_list(times.len(), offsets, Pitch::Long, 4, 8).unwrap();
    ShotCard {
        test: "Heron Mono 200, first can".to_owned(),
        stock: "Heron Mono 200".to_owned(),
        can: "HM".to_owned(),
        roll: "HM-07".to_owned(),
        meter_ei: Some(400.0),
        times_min: times.to_vec(),
        leader_clicks: 4,
        frame_clicks: list.frames(),
        tail_clicks: 2,
        list,
        url: Some("http://192.168.178.20:7420/wedge/1".to_owned()),
    }
}

pub(crate) fn usual_shots() -> ShotCard {
    shots(&[5.0, 8.0, 12.0], &USUAL_OFFSETS)
}
