//! Small curves of a sheet: the knee at four paces, and under the weight.

use rayon::prelude::*;

use crate::case::setup::Setup;
use crate::error::SimError;
use crate::findings::{Palette, Panel, Plot, Series};
use crate::motion::Motion;
use crate::motion::sample::Samples;
use crate::motion::trial::Detail;
use crate::scenario::{Scenario, WalkingDrive};
use crate::study::survey::plot::able_bodied;
use crate::units::DEG;

/// Step of the curves, s: a small picture.
const STEP_S: f64 = 8e-3;

/// Scenarios with their names in the legend.
type Named = &'static [(&'static str, &'static str)];
const WALKING: Named = &[
    ("walk-slow", "slow"),
    ("walk-comfortable", "comfortable"),
    ("walk-fast", "fast"),
    ("walk-hurried", "hurried"),
];
const LOADED: Named = &[("sit-down", "chair"), ("ramp-down-8-deg", "ramp 8°"), ("stairs-down", "stairs")];

pub(super) fn curves(setup: &Setup, scenarios: &[Scenario]) -> Result<Vec<Plot>, SimError> {
    let walking = series(setup, scenarios, WALKING)?;
    let loaded = series(setup, scenarios, LOADED)?;
    let plot = |title: &str, x_label: &str, series: Vec<Series>, band| Plot {
        key: title.into(),
        title: title.into(),
        x_label: x_label.into(),
        panels: vec![Panel { series, bands: band, palette: Palette::Parts, ..Panel::default() }],
        ..Plot::default()
    };
    let mut plots = Vec::new();
    let band: Vec<_> = walking.iter().filter_map(|(_, b)| b.clone()).take(1).collect();
    let swing = |s: &Series| Series {
        label: s.label.clone(),
        points: s.points.iter().copied().filter(|p| p.0 >= 35.0 && p.0 <= 105.0).collect(),
    };
    if !walking.is_empty() {
        let curves = walking.iter().map(|(s, _)| swing(s)).collect();
        let band = band
            .into_iter()
            .map(|mut b: crate::findings::Band| {
                b.points.retain(|p| p.0 >= 35.0 && p.0 <= 105.0);
                b.label = "able-bodied, comfortable".into();
                b
            })
            .collect();
        plots.push(plot("Knee flexion in swing (°)", "Stride from heel contact (%)", curves, band));
    }
    if !loaded.is_empty() {
        let curves = loaded.into_iter().map(|(s, _)| s).collect();
        plots.push(plot("Knee flexion under the weight (°)", "Time (s)", curves, vec![]));
    }
    Ok(plots)
}

type Curve = (Series, Option<crate::findings::Band>);

/// Those of the scenarios that run; the band is that of comfortable walking.
fn series(setup: &Setup, scenarios: &[Scenario], named: Named) -> Result<Vec<Curve>, SimError> {
    let one = |(scenario, label): &(&str, &str)| -> Result<Option<Curve>, SimError> {
        let Some(scenario) = scenarios.iter().find(|s| s.name == *scenario) else { return Ok(None) };
        let mut trial = setup.trial(scenario)?;
        trial.detail = Detail::NONE;
        let Ok(motion) = SimError::finding(trial.run())? else { return Ok(None) };
        let Some(samples) = Samples::of(&motion, STEP_S) else { return Ok(None) };
        let points: Vec<(f64, f64)> =
            samples.knee().iter().map(|k| (k.stride_pct.unwrap_or(k.t_s), k.flexion_rad / DEG)).collect();
        let band = match &motion {
            Motion::Walk(w) if scenario.name == "walk-comfortable" => {
                let sd = trial.drive.as_ref().and_then(WalkingDrive::able_bodied_sd_deg);
                able_bodied(&w.stride, &points, sd).1
            }
            _ => None,
        };
        Ok(Some((Series { label: (*label).into(), points }, band)))
    };
    let all = named.par_iter().map(one).collect::<Result<Vec<_>, _>>()?;
    Ok(all.into_iter().flatten().collect())
}
