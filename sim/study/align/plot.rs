//! The picture of an alignment study.

use super::{AlignmentResult, ShiftResult};
use crate::findings::{Panel, Plot, Series};

impl AlignmentResult {
    /// Moments, release and peak flexion over the load line.
    #[must_use]
    pub fn plot(&self) -> Plot {
        let series = |label: &str, y: &dyn Fn(&ShiftResult) -> Option<f64>| Series {
            label: label.into(),
            points: self
                .rows
                .iter()
                .filter_map(|r| y(r).map(|y| (1e3 * r.standing.load_line_ahead_m, y)))
                .collect(),
        };
        let panel = |label: &str, series: Vec<Series>| Panel {
            y_label: label.into(),
            series,
            height: 1.0,
            ..Panel::default()
        };
        let walk = |r: &ShiftResult, key: &str| r.runs[0].as_ref().ok().and_then(|a| a.outcomes.number(key));
        Plot {
            key: "align".into(),
            title: "Load line in front of the knee axis".into(),
            subtitle: format!("Foot shifted under the knee axis. {}", self.inputs.join("; ")),
            x_label: "Load line in front of the knee axis (mm)".into(),
            instants: vec![],
            panels: vec![
                panel(
                    "Moment (N m)",
                    vec![
                        series("keeps the knee straight", &|r| Some(r.standing.extension_moment_n_m)),
                        series("at the hip, starts to bend it", &|r| Some(r.standing.hip_moment_to_bend_n_m)),
                    ],
                ),
                panel(
                    "Instant of release (% of stride)",
                    vec![series("release", &|r| walk(r, "release_pct"))],
                ),
                panel(
                    "Peak flexion in swing (deg)",
                    vec![series("peak flexion", &|r| walk(r, "peak_flexion_deg"))],
                ),
            ],
        }
    }
}
