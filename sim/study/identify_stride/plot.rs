//! The picture of a measured stride: the model over the knee, with its band, and what it leaves.

use nalgebra::DVector;

use super::{PERCENT, StrideFit};
use crate::findings::{Band, Mark, Panel, Plot, Series};
use crate::study::survey::plot::FLEXION;

impl StrideFit {
    /// Measured and modelled flexion over the stride, and the difference.
    #[must_use]
    pub fn plot(&self) -> Plot {
        let compared = self.swing.compared();
        let model = self.flexion_deg();
        let half = self.half_band_deg();
        let over = |y: &dyn Fn(usize) -> f64| -> Vec<(f64, f64)> {
            compared.iter().enumerate().map(|(k, i)| (*i as f64, y(k))).collect()
        };
        // every second percent: circles that touch would hide the curve
        let measured = (0..=PERCENT).step_by(2).map(|i| (i as f64, self.swing.knee_deg[i]));
        let band = compared.iter().zip(&model).zip(&half);
        let flexion = Panel {
            y_label: FLEXION.into(),
            series: vec![Series { label: "model".into(), points: over(&|k| model[k]) }],
            marks: measured.map(|at| Mark { label: String::new(), at }).collect(),
            bands: vec![Band {
                label: "model, 95 % band of its values".into(),
                points: band.map(|((i, y), h)| (*i as f64, y - h, y + h)).collect(),
                around: 0,
            }],
            ..Panel::default()
        };
        let left = Panel {
            y_label: "Model less measured (°)".into(),
            series: vec![Series { label: String::new(), points: over(&|k| self.fit().residuals[k]) }],
            height: 0.5,
            ..Panel::default()
        };
        Plot {
            key: "stride".into(),
            title: "A measured stride and the model's swing".into(),
            subtitle: format!(
                "{:.2} m/s, stride of {:.2} s; law: {}.",
                self.timing.speed_m_per_s,
                self.timing.stride_time_s,
                self.asked.law.as_str()
            ),
            x_label: "Stride from heel contact (%)".into(),
            instants: vec![(
                100.0 * self.swing.drive.toe_off_s / self.swing.drive.stride_time_s,
                "toe-off".into(),
            )],
            panels: vec![flexion, left],
            ..Plot::default()
        }
    }

    /// Half the band that the intervals of the values make around the model, degrees, at the percents compared.
    #[must_use]
    pub fn half_band_deg(&self) -> Vec<f64> {
        let (fit, covariance) = (self.fit(), self.fit().covariance());
        let of = |i: usize| {
            let slope: DVector<f64> = fit.slopes.row(i).transpose();
            let variance = (slope.transpose() * &covariance * &slope)[(0, 0)];
            if variance.is_finite() { 1.96 * variance.max(0.0).sqrt() } else { f64::NAN }
        };
        (0..fit.residuals.len()).map(of).collect()
    }
}
