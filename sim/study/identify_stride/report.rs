//! What a measured stride says, in words and tables.

use super::{PERCENT, SETTINGS, StrideFit, SwingLaw};
use crate::findings::{Cell, Findings, Table};
use crate::joint::DirectionFile;
use crate::numerics::least_squares::Value;
use crate::numerics::math;

/// Laws whose rms differ by less are not told apart by one speed, degrees \[J\].
const AS_GOOD_DEG: f64 = 0.5;
/// A logarithm with a wider half interval (a factor of 2), or another value known to less than this share of where it
/// was looked for, is not told by the trace \[J\].
const FACTOR: f64 = 2.0;
const SHARE: f64 = 0.25;
/// Values that go together by more than this trade off against each other.
const TRADE_OFF: f64 = 0.9;
/// Beyond these something is wrong with the table rather than with the joint \[J\]: rms of the fit (of nine measured
/// users it is at most 2.1°), differences between strides, zero of the knee, degrees; stride time over the drive's.
const MOST_RMS_DEG: f64 = 4.0;
const MOST_BETWEEN_DEG: f64 = 8.0;
const MOST_SHIFT_DEG: f64 = 12.0;
const USUAL_STRIDE: std::ops::RangeInclusive<f64> = 0.8..=1.25;
/// A shift of the zero larger than this is said, degrees.
const SHIFT_DEG: f64 = 1.0;

impl StrideFit {
    /// Sentences, values, laws, figures of the swing and the picture.
    #[must_use]
    pub fn findings(&self) -> Findings {
        let mut text = vec![self.stride_in_words(), self.drive_in_words(), self.fit_in_words()];
        text.extend(self.warnings());
        text.push(self.laws_in_words());
        text.extend(self.not_told());
        text.extend(self.trade_offs());
        text.extend(self.outside_the_range());
        text.push(
            "The intervals are those of the curve: what prosthesis, hip or a thigh of another walk have wrong is not in \
             them."
                .into(),
        );
        text.extend(self.asked.trace.notes.iter().cloned());
        Findings {
            text,
            tables: vec![self.values_table(), self.swing_table(), self.laws_table()],
            plots: vec![self.plot()],
        }
    }

    fn stride_in_words(&self) -> String {
        let c = &self.curves;
        let from = match (c.contacts_s.len(), c.found) {
            (0, _) => "a table over one stride".to_owned(),
            (n, found) => format!(
                "{}, heel contact at {} s{}",
                if n == 2 { "one stride".to_owned() } else { format!("the mean of {} strides", n - 1) },
                c.contacts_s.iter().map(|t| format!("{t:.2}")).collect::<Vec<_>>().join(", "),
                if found {
                    " (found where the curves lie best on those of the drive: good to a few percent of the stride; \
                     --heel-contact gives it)"
                } else {
                    ""
                }
            ),
        };
        let shift = if self.straight_deg.abs() > SHIFT_DEG {
            format!(" {:.1}° were taken off the knee, so that it is straight in stance.", self.straight_deg)
        } else {
            String::new()
        };
        let between = c
            .between_strides_deg
            .map_or_else(String::new, |sd| format!(" Strides differ by {sd:.1}° (standard deviation)."));
        format!(
            "Stride of {:.2} s at {:.2} m/s{}, from {from}.{shift}{between}",
            self.timing.stride_time_s,
            self.timing.speed_m_per_s,
            if self.asked.setup.speed_m_per_s.is_some() {
                ""
            } else {
                " (the speed at which the drive has it)"
            }
        )
    }

    fn drive_in_words(&self) -> String {
        let of_drive = &self.asked.drive.file.name;
        match (&self.curves.thigh_deg, &self.curves.hip_m) {
            (None, _) => format!(
                "The thigh was not measured: thigh and hip are those of {of_drive} at this speed and stride time, so \
                 the joint's values carry whatever differs from them."
            ),
            (Some(_), None) => {
                format!("The person's own thigh drives the model; the hip is that of {of_drive}.")
            }
            (Some(_), Some(_)) => "The person's own thigh and hip drive the model.".into(),
        }
    }

    fn fit_in_words(&self) -> String {
        let fit = self.fit();
        let compared = self.swing.compared();
        let worst = (0..compared.len())
            .max_by(|a, b| fit.residuals[*a].abs().total_cmp(&fit.residuals[*b].abs()))
            .unwrap_or(0);
        format!(
            "With the values below the model follows the knee from {} % of the stride on within {:.1}° (rms), at worst \
             {:.1}° at {} %.",
            compared.first().copied().unwrap_or(0),
            fit.rms(),
            fit.residuals[worst].abs(),
            compared[worst]
        )
    }

    /// What hints at a wrong sign, unit, heel contact or speed.
    fn warnings(&self) -> Vec<String> {
        let mut text = vec![];
        let mut warn = |so: bool, what: String| {
            if so {
                text.push(format!("Warning: {what}"));
            }
        };
        let rms = self.fit().rms();
        warn(
            rms > MOST_RMS_DEG,
            format!(
                "the model does not follow this knee ({rms:.1}° rms), so its values mean nothing: look at the signs of knee \
                 and thigh, at units and at heel contact."
            ),
        );
        let between = self.curves.between_strides_deg.unwrap_or(0.0);
        warn(
            between > MOST_BETWEEN_DEG,
            format!("strides differ by {between:.0}°: heel contacts are wrong, or this is no steady walk."),
        );
        let shift = self.straight_deg;
        warn(
            shift.abs() > MOST_SHIFT_DEG,
            format!("the knee seems to be bent by {shift:.0}° in stance: look at its zero and its sign."),
        );
        let usual = super::own_drive::stride_time_s(
            &self.asked.drive.file,
            &self.asked.setup.person,
            self.timing.speed_m_per_s,
        );
        let ratio = self.timing.stride_time_s / usual;
        warn(
            !USUAL_STRIDE.contains(&ratio),
            format!(
                "a stride of {:.2} s at {:.2} m/s; {} has {usual:.2} s: look at time and speed.",
                self.timing.stride_time_s, self.timing.speed_m_per_s, self.asked.drive.file.name
            ),
        );
        text
    }

    fn laws_in_words(&self) -> String {
        let rms: Vec<String> =
            self.fits.iter().map(|(law, f)| format!("{} {:.2}°", law.as_str(), f.rms())).collect();
        let best = self.fits.iter().map(|(_, f)| f.rms()).fold(f64::INFINITY, f64::min);
        let near = self.fits.iter().filter(|(_, f)| f.rms() - best < AS_GOOD_DEG).count();
        let so = match near {
            1 => "One of them explains this swing better than the others",
            _ => "One speed does not tell them apart; a stride at another speed does",
        };
        format!("Damper laws, rms: {}. {so}.", rms.join(", "))
    }

    fn told(&self, i: usize, value: &Value) -> bool {
        let logarithm = i < 2 && self.asked.law.values().1;
        let half = self.fit().half_intervals()[i];
        let told = if logarithm {
            half < math::ln(FACTOR)
        } else {
            let range = self.fit().ranges[i];
            half < SHARE * (range.most - range.least)
        };
        told && !value.at_bound
    }

    fn not_told(&self) -> Option<String> {
        let values = self.values();
        let unknown: Vec<&str> =
            values.iter().enumerate().filter(|(i, v)| !self.told(*i, v)).map(|(_, v)| v.name).collect();
        (!unknown.is_empty()).then(|| format!("This trace does not tell: {}.", unknown.join(", ")))
    }

    fn trade_offs(&self) -> Option<String> {
        let (values, covariance) = (self.values(), self.fit().covariance());
        let mut pairs = vec![];
        for a in 0..values.len() {
            for b in 0..a {
                let r = covariance[(a, b)] / (covariance[(a, a)] * covariance[(b, b)]).sqrt();
                if r.abs() > TRADE_OFF {
                    pairs.push(format!("{} and {}", values[b].name, values[a].name));
                }
            }
        }
        (!pairs.is_empty())
            .then(|| format!("These trade off, so that only both together are known: {}.", pairs.join("; ")))
    }

    fn outside_the_range(&self) -> Vec<String> {
        if self.asked.law != SwingLaw::Orifice {
            return vec![];
        }
        let values = self.values();
        let of = |i: usize| {
            let [open, closed] = self.ends(SETTINGS[i])?;
            let found = values[i].value;
            (found < open || found > closed).then(|| {
                format!(
                    "{}: {found:.3} lies outside the range of {} ({open:.3} to {closed:.3}); the new knee has a wider one.",
                    values[i].name, self.asked.setup.knee.name
                )
            })
        };
        (0..2).filter_map(of).collect()
    }

    /// Position of a resistance in the new knee's range, percent.
    fn position_pct(&self, i: usize) -> Option<f64> {
        let knee = self.knee_file();
        let direction = if i == 0 { knee.swing_flexion } else { knee.swing_extension };
        match direction {
            DirectionFile::Orifice(o) => {
                let (open, closed) = (o.b_open_n_m_s2_per_rad2?, o.b_closed_n_m_s2_per_rad2?);
                Some(100.0 * o.taper.setting(open, closed, o.set_b_n_m_s2_per_rad2?))
            }
            DirectionFile::Linear(l) => Some(l.set_pct),
            DirectionFile::ConstantFriction(f) => Some(f.set_pct),
            DirectionFile::Table(_) => None,
        }
    }

    fn values_table(&self) -> Table {
        let values = self.values();
        let rows = values.iter().enumerate().map(|(i, v)| {
            let note = match (v.at_bound, self.told(i, v)) {
                (true, _) => "at the end of where it was looked for",
                (false, false) => "not told by this trace",
                (false, true) => "",
            };
            let setting = if i < 2 { self.position_pct(i) } else { None };
            vec![
                Cell::text(v.name),
                Cell::Number(v.value, 3),
                Cell::number(Some(v.interval[0]).filter(|_| !v.at_bound), 3),
                Cell::number(Some(v.interval[1]).filter(|_| !v.at_bound), 3),
                Cell::number(setting, 0),
                Cell::text(note),
            ]
        });
        let columns = ["value", "found", "from", "to", "setting_pct", "note"];
        Table::new("values", "Values with their 95 % intervals", &columns, rows.collect())
    }

    fn swing_table(&self) -> Table {
        let compared = self.swing.compared();
        let measured: Vec<f64> = compared.iter().map(|i| self.swing.knee_deg[*i]).collect();
        let (own, fitted) = (figures(&compared, &measured), figures(&compared, &self.flexion_deg()));
        let names = ["peak_flexion_deg", "peak_at_pct", "straight_at_pct", "flexion_at_heel_contact_deg"];
        let row = |i: usize| vec![Cell::text(names[i]), Cell::number(own[i], 1), Cell::number(fitted[i], 1)];
        Table::new("swing", "The swing", &["outcome", "measured", "model"], (0..4).map(row).collect())
    }

    fn laws_table(&self) -> Table {
        let rows = self.fits.iter().map(|(law, fit)| {
            vec![Cell::text(law.as_str()), Cell::Number(fit.rms(), 2), Cell::Number(fit.correlation, 2)]
        });
        let columns = ["law", "rms_deg", "neighbour_correlation"];
        Table::new("laws", "Damper laws", &columns, rows.collect())
    }
}

/// Peak, its instant, within 3° of straight from when on, flexion at heel contact.
fn figures(percents: &[usize], flexion_deg: &[f64]) -> [Option<f64>; 4] {
    let last = flexion_deg.len() - 1;
    let peak = (0..=last).max_by(|a, b| flexion_deg[*a].total_cmp(&flexion_deg[*b])).unwrap_or(0);
    let bent = (peak..=last).rev().find(|i| flexion_deg[*i] > 3.0);
    let straight = bent.map(|i| percents[i] + 1).filter(|p| *p <= PERCENT);
    [
        Some(flexion_deg[peak]),
        Some(percents[peak] as f64),
        straight.map(|p| p as f64),
        Some(flexion_deg[last]),
    ]
}
