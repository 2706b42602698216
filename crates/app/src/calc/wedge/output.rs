//! The answer of `calc wedge`.

use serde_json::{Map, Value, json};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wedge::{
    Analysis, AtTarget, ColourAnalysis, ColourStrip, Interval, Model, Smooth, SpeedKind,
    StandardSpeed, StripResult, TimeContrast, TimeLaw,
};

use crate::calc::answer;

pub(super) fn one_layer(a: &Analysis) -> Value {
    let mut fields = Map::new();
    fields.insert("speed_kind".to_owned(), kind(a.speed_kind).into());
    if let Some(at) = &a.at_target {
        fields.insert("at_target".to_owned(), at_target(at));
    }
    if let Some(law) = &a.time_contrast {
        fields.insert("time_contrast".to_owned(), time_contrast(law));
    }
    fields.extend(layer(a));
    fields.into()
}

pub(super) fn colour(a: &ColourAnalysis) -> Value {
    let mut fields = combined(&a.strips, &a.caveats);
    fields["speed_kind"] = kind(a.green.speed_kind).into();
    fields["layers"] =
        json!({ "red": layer(&a.red), "green": layer(&a.green), "blue": layer(&a.blue) });
    fields
}

/// The strips of a colour film, the layers taken together.
pub(crate) fn combined(strips: &[ColourStrip], caveats: &[Caveat]) -> Value {
    let strips = strips.iter().map(|s| {
        let mut fields = Fields::new(s.time_min);
        fields.put("log_h_speed_point", s.log_h);
        fields.rated("speed", s.speed, s.speed_rounded);
        fields.put("ei_stops", s.ei_stops);
        fields.rated("ei", s.ei, s.ei_rounded);
        fields.0
    });
    json!({ "strips": strips.collect::<Value>(), "caveats": answer::caveats(caveats) })
}

pub(crate) fn layer(a: &Analysis) -> Map<String, Value> {
    let mut fields = Map::new();
    fields.insert("strips".to_owned(), a.strips.iter().map(strip).collect());
    fields.insert("model".to_owned(), model(&a.model));
    fields.insert("caveats".to_owned(), answer::caveats(&a.caveats));
    fields
}

fn strip(s: &StripResult) -> Value {
    let mut fields = Fields::new(s.time_min);
    fields.put("base_fog", Some(s.base_fog));
    fields.put("log_h_speed_point", s.log_h_speed_point);
    fields.rated("speed", s.speed, s.speed_rounded);
    if let Some(met) = s.iso_condition_met {
        fields.0["iso_condition_met"] = met.into();
    }
    fields.put("ei_stops", s.ei_stops);
    fields.rated("ei", s.ei, s.ei_rounded);
    fields.put("delta_d_over_1_30", s.delta_d_over_1_30);
    fields.put("gamma", s.gamma);
    fields.put("average_gradient", s.average_gradient);
    fields.put("contrast_index", s.contrast_index);
    fields.put("log_h_fractional_gradient", s.log_h_fractional_gradient);
    fields.put("useful_range", s.useful_range);
    fields.put("d_max", Some(s.d_max));
    fields.0["caveats"] = answer::caveats(&s.caveats);
    fields.0
}

pub(crate) fn at_target(at: &AtTarget) -> Value {
    let mut fields = Fields(json!({
        "measure": at.target.measure.word(),
        "value": at.target.value,
        "time_min": interval(at.time_min),
    }));
    fields.put("log_h_speed_point", at.log_h_speed_point);
    fields.rated("speed", at.speed, at.speed_rounded);
    if let Some(met) = at.iso_condition_met {
        fields.0["iso_condition_met"] = met.into();
    }
    fields.put("ei_stops", at.ei_stops);
    fields.rated("ei", at.ei, at.ei_rounded);
    fields.put("base_fog", Some(at.base_fog));
    if let Some(factor) = at.extrapolated {
        fields.0["extrapolated"] = factor.into();
    }
    fields.0["caveats"] = answer::caveats(&at.caveats);
    fields.0
}

fn time_contrast(law: &TimeContrast) -> Value {
    let points = law
        .points
        .iter()
        .map(|p| json!({ "time_min": p.x, "contrast": interval(p.y) }));
    json!({
        "measure": law.measure.word(),
        "law": match law.law {
            TimeLaw::LogTime => "log_time",
            TimeLaw::Growth => "growth",
            TimeLaw::Induction => "induction",
        },
        "reason": law.reason,
        "points": points.collect::<Value>(),
    })
}

fn model(m: &Model) -> Value {
    let scores = m
        .scores
        .iter()
        .map(|s| json!({ "smooth": smooth(s.smooth), "prediction_error": s.prediction_error }));
    json!({
        "smooth": smooth(m.smooth),
        "reason": m.reason,
        "noise_sd": m.noise_sd,
        "scores": scores.collect::<Value>(),
    })
}

const fn smooth(smooth: Smooth) -> &'static str {
    match smooth {
        Smooth::ToeLine => "toe_line",
        Smooth::ToeShoulder => "toe_shoulder",
        Smooth::FreeBends => "free_bends",
    }
}

const fn kind(kind: SpeedKind) -> &'static str {
    match kind {
        SpeedKind::Speed => "speed",
        SpeedKind::ExposureIndex => "ei",
        SpeedKind::Relative => "relative",
    }
}

/// The fields of a strip or of the target; what is not known is left out.
struct Fields(Value);

impl Fields {
    fn new(time_min: f64) -> Self {
        Self(json!({ "time_min": time_min }))
    }

    fn put(&mut self, name: &str, value: Option<Interval>) {
        if let Some(value) = value {
            self.0[name] = interval(value);
        }
    }

    fn rated(&mut self, name: &str, value: Option<Interval>, rounded: Option<StandardSpeed>) {
        self.put(name, value);
        if let (Some(_), Some(rounded)) = (value, rounded) {
            self.0[name]["rounded"] = rounded.to_string().into();
        }
    }
}

fn interval(i: Interval) -> Value {
    json!({ "value": i.value, "lower95": i.lower95, "upper95": i.upper95 })
}
