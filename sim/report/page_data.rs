//! Data of the page and the lesson file: legs with verdicts in words, and animations as curves of sixteen bits.
//! All numbers and words come from here; the page only draws them.
//!
//! A curve is a list of parts `{"lo", "hi", "u16"}`: value = lo + (hi − lo) n/65535 with n as little-endian pairs of bytes
//! in base64, so it is exact to 1/131070 of its part's range. In walking the second part begins where the leg comes down:
//! hip, thigh and sound leg of one pace are the same up to there, and a file holds them once.

use std::sync::Arc;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde::Serialize;
use serde_json::{Map, Value as Json, json};

use super::scenario_data::{BY_STEPS, scenario};
use super::teaching_data::{challenge, lesson};
use crate::body::{Person, Prosthesis};
use crate::case::inputs::INPUTS;
use crate::case::setup::{Resolved, Setup};
use crate::error::SimError;
use crate::joint::{KneeFile, SettingName, Settings};
use crate::motion::hip_path::MID_SWING;
use crate::outcome::{Assessment, LimitVerdict, Metric, TrialVerdict, Value, Verdict, metric};
use crate::study::adjust::{Danger, SYMPTOMS};
use crate::study::text::capitalised;
use crate::teaching::animation::{Animation, Frame, Ground};
use crate::teaching::challenges::CHALLENGES;
use crate::teaching::gait::SoundPose;
use crate::teaching::lessons::LESSONS;
use crate::teaching::model_set::ModelSet;
use crate::teaching::model_set::{FailedRun, LegRunView, LegRuns};
use crate::teaching::sound_leg::SoundLeg;
use crate::units::DEG;
use crate::words::Words;

/// A part of a curve.
#[derive(Debug, Serialize)]
pub struct Curve {
    lo: f64,
    hi: f64,
    u16: String,
}

impl Curve {
    /// Quantises values; one that is not finite counts as 0.
    #[must_use]
    pub fn of(values: impl Iterator<Item = f64>) -> Self {
        let values: Vec<f64> = values.map(|v| if v.is_finite() { v } else { 0.0 }).collect();
        // ends that are short in text and hold all values
        let round = |v: f64| format!("{v:.6}").parse::<f64>().unwrap_or(v);
        let lo = round(values.iter().copied().fold(f64::INFINITY, f64::min) - 5e-7);
        let hi = round(values.iter().copied().fold(f64::NEG_INFINITY, f64::max) + 5e-7);
        let (lo, hi) = if values.is_empty() { (0.0, 0.0) } else { (lo, hi) };
        let scale = if hi > lo { f64::from(u16::MAX) / (hi - lo) } else { 0.0 };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // held within 0..=65535
        let bytes: Vec<u8> = values
            .iter()
            .flat_map(|v| ((((v - lo) * scale).round()).clamp(0.0, f64::from(u16::MAX)) as u16).to_le_bytes())
            .collect();
        Self { lo, hi, u16: STANDARD.encode(bytes) }
    }
}

/// Keys of the torques of a frame, in its order.
const TORQUES: [&str; 5] = ["damper_n_m", "friction_n_m", "stop_n_m", "assist_n_m", "ground_and_hip_n_m"];

/// The legs of an answer, and what a watcher notices of each.
#[must_use]
pub fn answer(a: &LegRuns) -> Json {
    let legs: Vec<Json> = a.legs.iter().map(leg).collect();
    json!({ "scenario": a.scenario.name, "legs": legs, "noticed": a.noticed })
}

/// One leg, or why it cannot run.
#[must_use]
pub fn leg(leg: &Result<Arc<LegRunView>, FailedRun>) -> Json {
    match leg {
        Ok(l) => ran(l),
        Err(f) => failed(f),
    }
}

/// A leg that cannot run, with the inputs it was asked for.
fn failed(f: &FailedRun) -> Json {
    // a setting that the knee does not have may be the reason: then its settings are shown without it
    let plain = || Setup { settings: Settings::default(), ..f.setup.clone() }.resolve();
    let resolved = f.setup.resolve().or_else(|_| plain()).ok();
    json!({
        "verdict": f.why.in_place_of_verdict(),
        "mark": "–",
        "headline": if f.why.cannot_run() { "This cannot be run" } else { "This could not be computed" },
        "seen": [{ "what": sentence(&f.why.to_string()), "numbers": "" }],
        "limits": [], "outcomes": {}, "notes": [], "animation": null,
        "settings": resolved.as_ref().map(settings).unwrap_or_default(),
        "inputs": resolved.as_ref().map(|r| f.setup.in_words(r).to_vec()).unwrap_or_default(),
    })
}

/// The settings that act, by name, %.
fn settings(resolved: &Resolved) -> Map<String, Json> {
    let pct = |n: SettingName| resolved.knee.settings.get(n).map(|s| (n.to_string(), json!(tidy(s.pct()))));
    SettingName::ALL.into_iter().filter_map(pct).collect()
}

fn ran(l: &LegRunView) -> Json {
    let a = &l.assessment;
    let mut leg = json!({
        "verdict": a.verdict().as_str(),
        "mark": a.verdict().mark().to_string().trim(),
        "headline": headline(a),
        "seen": seen(l),
        "closest": closest(a),
        "worst": worst(l),
        "limits": a.limits.iter().filter_map(verdict).collect::<Vec<_>>(),
        "outcomes": outcomes(a).map(|(m, v)| (m.key.to_owned(), json!(m.say_short(v)))).collect::<Map<_, _>>(),
        "notes": l.notes.iter().map(|n| sentence(n)).collect::<Vec<_>>(),
        "settings": settings(&l.resolved),
        "inputs": l.setup.in_words(&l.resolved),
        "knock": knock(l),
        "animation": animation(l),
    });
    // most runs are safe: a file of hundreds of them names only those that are not
    if let Some(danger) = Danger::of(&a.outcomes) {
        leg["danger"] = json!(danger.as_str());
    }
    leg
}

fn outcomes(a: &Assessment) -> impl Iterator<Item = (&'static Metric, Value)> + '_ {
    a.outcomes.iter().filter(|(m, _)| !BY_STEPS.contains(&m.key))
}

/// A setting rounded to a tenth of a percent.
fn tidy(pct: f64) -> f64 {
    (pct * 10.0).round() / 10.0
}

fn headline(a: &Assessment) -> String {
    match (a.verdict(), a.not_within()) {
        (TrialVerdict::NoLimits, _) => "No limits here".into(),
        (TrialVerdict::Within, _) => "Within every limit".into(),
        (TrialVerdict::Doubtful, [1, _]) => "One limit is doubtful".into(),
        (TrialVerdict::Doubtful, [n, _]) => format!("{n} limits are doubtful"),
        (TrialVerdict::Outside, [_, 1]) => "One limit is broken".into(),
        (TrialVerdict::Outside, [_, n]) => format!("{n} limits are broken"),
    }
}

/// What a watcher sees of one leg alone: each observation once, with the numbers and the instant of the first limit behind
/// it; the worst first, what is only doubtful behind what is broken.
fn seen(view: &LegRunView) -> Vec<Json> {
    let mut out: Vec<(&str, Json)> = Vec::new();
    for l in view.assessment.by_severity().into_iter().filter(|l| !l.holds()) {
        let Some(m) = metric(&l.limit.outcome) else { continue };
        if !out.iter().any(|(seen, _)| *seen == l.seen()) {
            let doubtful = if l.verdict == Verdict::Doubtful { "Doubtful: " } else { "" };
            let what = sentence(&format!("{doubtful}{}", l.seen()));
            out.push((l.seen(), json!({ "what": what, "numbers": numbers(l, m), "at_s": instant(view, l) })));
        }
    }
    out.into_iter().map(|(_, json)| json).collect()
}

/// Where the film shows a limit at its worst, s.
fn instant(view: &LegRunView, limit: &LimitVerdict) -> Option<f64> {
    let i = view.assessment.limits.iter().position(|l| std::ptr::eq(l, limit))?;
    view.worst_s[i].map(|t| t.min(view.animation.end_s()))
}

/// The worst limit that belongs to an instant: where the film rests, and what is to be seen there.
fn worst(view: &LegRunView) -> Option<Json> {
    let found = view.assessment.by_severity().into_iter().find_map(|l| Some((l, instant(view, l)?)));
    let (l, at_s) = found?;
    let what = if l.holds() { "closest to its limit" } else { l.seen() };
    Some(json!({ "at_s": at_s, "what": capitalised(what), "numbers": numbers(l, metric(&l.limit.outcome)?) }))
}

/// The limit that is closest, while all of them hold.
fn closest(a: &Assessment) -> Option<String> {
    let l = a.limiting().filter(|l| l.holds())?;
    Some(numbers(l, metric(&l.limit.outcome)?))
}

fn numbers(l: &LimitVerdict, m: &Metric) -> String {
    format!("{}, limit {}", m.sentence(l.value), l.bounds())
}

/// Begins with a capital and ends with a full stop.
fn sentence(text: &str) -> String {
    format!("{}.", capitalised(text).trim_end_matches('.'))
}

/// Verdict on a limit of the scenario, in the order of the limits in [`scenario`].
fn verdict(l: &LimitVerdict) -> Option<Json> {
    let m = metric(&l.limit.outcome)?;
    Some(json!({
        "value": m.say_short(l.value),
        "verdict": l.in_words(),
        "mark": l.mark().map(String::from).unwrap_or_default(),
        "margin": l.margin.map(|v| m.say_difference(v)),
        "in_band": l.in_band,
    }))
}

/// Instant and energy of the impact on the extension stop, for the sound.
fn knock(l: &LegRunView) -> Json {
    let energy = l.assessment.outcomes.number("terminal_energy_j");
    let at = straight_s(l);
    match (energy, at) {
        // after heel contact the foot is on the ground, and there is no knock to hear
        (Some(energy_j), Some(t_s)) if l.animation.landing_from_s.is_none_or(|c| t_s < c) => {
            json!({ "t_s": t_s, "energy_j": energy_j })
        }
        _ => Json::Null,
    }
}

/// Instant of full extension, s.
fn straight_s(l: &LegRunView) -> Option<f64> {
    Some(l.assessment.outcomes.number("full_extension_pct")? / 100.0 * l.stride_time_s?)
}

fn animation(l: &LegRunView) -> Json {
    let f = &l.animation;
    let prescribed = f.landing_from_s.map_or(0.0, |contact| MID_SWING[1] * contact / f.step_s);
    let parts = f.frames.split_at((prescribed as usize).min(f.frames.len()));
    let curve = |get: &dyn Fn(&Frame) -> f64| -> Vec<Curve> {
        let parts = [parts.0, parts.1].into_iter().filter(|part| !part.is_empty());
        parts.map(|part| Curve::of(part.iter().map(get))).collect()
    };
    let mut curves = json!({
        "hip_x_m": curve(&|x| x.hip_m[0]),
        "hip_z_m": curve(&|x| x.hip_m[1]),
        "thigh_deg": curve(&|x| x.thigh_rad / DEG),
        "knee_deg": curve(&|x| x.knee_rad / DEG),
        "rate_deg_per_s": curve(&|x| x.knee_rate_rad_per_s / DEG),
        "valve": curve(&|x| x.valve),
        "load_bw": curve(&|x| x.load_bw),
        "pressure_m": curve(&|x| x.centre_of_pressure_m),
    });
    for (i, name) in TORQUES.iter().enumerate() {
        curves[name] = json!(curve(&|x| x.torques_n_m[i]));
    }
    let sound = |get: &dyn Fn(&SoundPose) -> f64| curve(&|x| x.sound.as_ref().map_or(0.0, get));
    if f.frames.iter().all(|x| x.sound.is_some()) {
        curves["sound_hip_z_m"] = json!(sound(&|s| s.hip_m[1]));
        curves["sound_thigh_deg"] = json!(sound(&|s| s.angles.thigh / DEG));
        curves["sound_knee_deg"] = json!(sound(&|s| s.angles.knee / DEG));
        curves["sound_foot_deg"] = json!(sound(&|s| s.angles.foot / DEG));
    }
    // published strides end at heel contact; the landing has none
    let published: Vec<f64> = f.frames.iter().map_while(|x| x.able_bodied_rad).map(|v| v / DEG).collect();
    if !published.is_empty() {
        curves["able_bodied_deg"] = json!([Curve::of(published.into_iter())]);
    }
    let mut instants: Vec<(f64, &str)> = f.instants.clone();
    let before_landing = |t: &f64| f.landing_from_s.is_none_or(|c| *t < c);
    instants.extend(straight_s(l).filter(before_landing).map(|t| (t, "straight")));
    instants.sort_by(|a, b| a.0.total_cmp(&b.0));
    json!({
        "step_s": f.step_s,
        "count": f.frames.len(),
        "thigh_m": f.thigh_m,
        "shank_m": f.knee_to_sole_m,
        "stature_m": f.stature_m,
        "toe_m": f.toe_m,
        "sound_foot_m": SoundLeg::foot_m(f.stature_m),
        "drags": f.drags(),
        "footholds_m": f.footholds_m,
        "sole_m": f.sole_m.iter().map(|p| p.map(|v| (v * 1e4).round() / 1e4)).collect::<Vec<_>>(),
        "ground": ground(f),
        "seat_m": f.seat_m,
        "speed_m_per_s": f.speed_m_per_s,
        "landing_from_s": f.landing_from_s,
        "instants": instants,
        "curves": curves,
    })
}

fn ground(f: &Animation) -> Json {
    match f.ground {
        Ground::Level => json!({ "kind": "level" }),
        Ground::Slope(rad) => json!({ "kind": "slope", "deg": rad / DEG }),
        Ground::Step { riser_m, ahead_m } => {
            json!({ "kind": "step", "riser_m": riser_m, "ahead_m": ahead_m })
        }
    }
}

/// Everything that the page needs before its first question.
///
/// # Errors
/// A base that is wrong in itself.
pub fn start(models: &ModelSet, words: &Words) -> Result<Json, SimError> {
    let resolved = models.base.resolve()?;
    let settings: Vec<Json> = SettingName::ALL
        .into_iter()
        .map(|n| json!({ "key": n.as_str(), "own": resolved.knee.settings.get(n).map(|s| tidy(s.pct())) }))
        .collect();
    let inputs: Vec<Json> = INPUTS
        .iter()
        .map(|i| {
            json!({
                "key": i.key, "label": i.label, "unit": i.unit, "least": i.least, "most": i.most,
                "on_sheet": models.sheet_takes(i),
            })
        })
        .collect();
    Ok(json!({
        "version": env!("CARGO_PKG_VERSION"),
        "caution": crate::CAUTION,
        "scenarios": models.scenarios.iter().map(|s| scenario(models, s)).collect::<Vec<_>>(),
        "people": models.people.iter().map(|p: &Person| json!({ "name": p.name })).collect::<Vec<_>>(),
        "prostheses": models.prostheses.iter().map(|p: &Prosthesis| json!({ "name": p.name })).collect::<Vec<_>>(),
        "knees": models.knees.iter().map(|k: &KneeFile| json!({ "name": k.name })).collect::<Vec<_>>(),
        "base": { "person": models.base.person.name, "prosthesis": models.base.prosthesis.name, "knee": models.base.knee.name },
        "temperature_c": models.base.temperature_c.unwrap_or(models.base.knee.reference_temperature_c),
        "settings": settings,
        "inputs": inputs,
        "symptoms": SYMPTOMS.iter().map(|s| about(s.name, s.description)).collect::<Vec<_>>(),
        "made_with": words.text("lessons.made_with"),
        "dashes": dashes(),
        "lessons": LESSONS.iter().map(|l| lesson(models, words, l)).collect::<Result<Vec<_>, _>>()?,
        "challenges": CHALLENGES.iter().map(|c| challenge(models, words, c)).collect::<Result<Vec<_>, _>>()?,
    }))
}

/// Dashes of A, B and the able-bodied curve, and of the torques in the order of [`TORQUES`], from the one table of styles.
#[cfg(feature = "app")]
fn dashes() -> Map<String, Json> {
    use super::plot_style::{compared_styles, part_dashes};
    let compared = compared_styles().into_iter().map(|(name, _, px)| (name.to_owned(), json!(px)));
    let parts = TORQUES.iter().zip(part_dashes()).map(|(name, px)| ((*name).to_owned(), json!(px)));
    compared.chain(parts).collect()
}

/// The engine of the lesson file has no pictures; the file was given the patterns when it was made.
#[cfg(not(feature = "app"))]
fn dashes() -> Map<String, Json> {
    Map::new()
}

fn about(name: &str, about: &str) -> Json {
    json!({ "name": name, "about": about })
}
