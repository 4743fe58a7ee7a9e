//! The picture of a bench curve: points, laws and what they leave.

use super::{BenchFit, DirectionFit};
use crate::findings::{Mark, Palette, Panel, Plot, Series};
use crate::library::measured::bench::Point;

/// Settings that are drawn at most.
const MOST_CURVES: usize = 8;
const CURVE_POINTS: usize = 60;

impl BenchFit {
    /// Torque over rate with the laws, and the residuals below, one panel of each a direction.
    #[must_use]
    pub fn plot(&self) -> Plot {
        let panels = self.directions.iter().flat_map(|d| [self.torques(d), self.left(d)]).collect();
        Plot {
            key: "bench".into(),
            title: "Damper on the bench: points measured, laws fitted".into(),
            subtitle: "Curves: the law fitted to all settings together, percent of their range. Left over: measured \
                       less fitted."
                .into(),
            x_label: "Rate (rad/s)".into(),
            panels,
            ..Plot::default()
        }
    }

    fn torques(&self, d: &DirectionFit) -> Panel {
        let series = groups(d).into_iter().map(|(label, points)| {
            let like = points[0];
            let curve = (0..=CURVE_POINTS).map(|i| {
                let rate = d.most.rate_rad_per_s * i as f64 / CURVE_POINTS as f64;
                (rate, self.torque(d, &Point { rate_rad_per_s: rate, temperature_c: None, ..like }))
            });
            Series { label, points: curve.collect() }
        });
        let marks =
            d.points.iter().map(|p| Mark { label: String::new(), at: (p.rate_rad_per_s, p.torque_n_m) });
        Panel {
            y_label: format!("Torque in {} (N m)", d.direction.as_str()),
            series: series.collect(),
            marks: marks.collect(),
            palette: Palette::Parts,
            ..Panel::default()
        }
    }

    fn left(&self, d: &DirectionFit) -> Panel {
        let series = groups(d).into_iter().map(|(_, mut points)| {
            points.sort_by(|a, b| a.rate_rad_per_s.total_cmp(&b.rate_rad_per_s));
            let left = points.iter().map(|p| (p.rate_rad_per_s, p.torque_n_m - self.torque(d, p)));
            // the panel above names the settings
            Series { label: String::new(), points: left.collect() }
        });
        Panel {
            y_label: format!("Left over in {} (N m)", d.direction.as_str()),
            series: series.collect(),
            height: 0.6,
            palette: Palette::Parts,
            ..Panel::default()
        }
    }
}

/// Points by setting, the least first.
fn groups(d: &DirectionFit) -> Vec<(String, Vec<Point>)> {
    let mut settings: Vec<Option<f64>> = d.points.iter().map(|p| p.setting).collect();
    settings.sort_by(|a, b| a.unwrap_or(0.0).total_cmp(&b.unwrap_or(0.0)));
    settings.dedup();
    // evenly chosen where there are more than can be told apart
    let every = settings.len().div_ceil(MOST_CURVES);
    let drawn = settings.into_iter().step_by(every);
    drawn
        .map(|s| {
            let label = s.map_or_else(|| "one setting".into(), |s| format!("{:.0} %", 100.0 * s));
            (label, d.points.iter().filter(|p| p.setting == s).copied().collect())
        })
        .collect()
}
