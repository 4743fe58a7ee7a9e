//! The picture of an alignment study: what the load line does, the limits, where they hold, and where the foot is.

use super::report::{FIRST, load_lines};
use super::{AlignmentResult, Criterion, CurvePoint, ShiftRange};
use crate::findings::{Palette, Panel, Plot, Series, Span};
use crate::outcome::{Metric, metric};
use crate::scenario::Severity;

impl AlignmentResult {
    /// Moments, release and peak flexion over the load line, from shifts close together.
    #[must_use]
    pub fn plot(&self, curve: &[CurvePoint]) -> Plot {
        let moment = |label: &str, y: fn(&CurvePoint) -> f64| Series {
            label: label.into(),
            points: curve.iter().map(|p| (mm(p), y(p))).collect(),
        };
        let moments = Panel {
            y_label: "Moment in standing (N m)".into(),
            series: vec![
                moment("keeps the knee straight", |p| p.standing.extension_moment_n_m),
                moment("at the hip, starts to bend it", |p| p.standing.hip_moment_to_bend_n_m),
            ],
            limits: Some((Some(0.0), None)),
            palette: Palette::Parts,
            ..Panel::default()
        };
        let walking = ["release_pct", "peak_flexion_deg", "late_release_loss_deg"];
        let walking = walking.iter().filter_map(|key| outcome(metric(key)?, curve));
        let ranges = [("standing and release", &FIRST[..]), ("all tasks", &Criterion::ALL[..])]
            .map(|(what, of)| (what, self.common(of)));
        let span = |(what, range): &(&str, Option<ShiftRange>)| {
            let range = range.as_ref()?;
            let ends = [&range.near, &range.far].map(|e| 1e3 * e.load_line_m);
            Some(Span { label: format!("{what}: {}", load_lines(range)), range: (ends[0], ends[1]) })
        };
        let nowhere = ranges
            .iter()
            .filter(|r| r.1.is_none())
            .map(|(what, _)| format!(" No load line within the limits of {what}."));
        let nowhere: String = nowhere.collect();
        Plot {
            key: "align".into(),
            title: "Load line in front of the knee axis".into(),
            subtitle: format!(
                "Foot shifted under the knee axis; comfortable walking. {}.{nowhere} Release is not drawn where the valve \
                 does not let go under load.",
                self.inputs.join("; ")
            ),
            x_label: "Load line in front of the knee axis (mm)".into(),
            instants: vec![(1e3 * self.unshifted.load_line_ahead_m, "present position".into())],
            spans: ranges.iter().filter_map(span).collect(),
            panels: std::iter::once(moments).chain(walking).collect(),
        }
    }
}

fn mm(p: &CurvePoint) -> f64 {
    1e3 * p.standing.load_line_ahead_m
}

/// An outcome of walking with its limit, broken where it jumps; none where it is never reached.
fn outcome(m: &'static Metric, curve: &[CurvePoint]) -> Option<Panel> {
    let value = |p: &CurvePoint| p.walk.as_ref().and_then(|a| a.outcomes.number(m.key));
    let points: Vec<(f64, f64)> = curve.iter().map(|p| (mm(p), value(p).unwrap_or(f64::NAN))).collect();
    points.iter().find(|p| p.1.is_finite())?;
    let limits = curve.iter().filter_map(|p| p.walk.as_ref()).flat_map(|a| &a.limits);
    let mut limits = limits.filter(|l| l.limit.outcome == m.key && l.limit.severity == Severity::Limit);
    let unit = if m.unit.is_empty() { String::new() } else { format!(" ({})", m.unit) };
    Some(Panel {
        y_label: format!("{}{unit}", crate::study::text::capitalised(&m.number_label())),
        series: vec![Series { label: String::new(), points }.broken_at_jumps()],
        limits: limits.next().map(|l| (l.limit.min, l.limit.max)),
        ..Panel::default()
    })
}
