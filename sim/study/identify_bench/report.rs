//! What a bench curve says, in words and tables.

use super::{BenchFit, DirectionFit, Law};
use crate::findings::{Cell, Findings, Table};
use crate::joint::KneeFile;
use crate::numerics::least_squares::Value;

/// Laws nearer to the best than this in the information criterion explain the data about as well.
const AS_GOOD: f64 = 2.0;
/// A b whose interval reaches further is not told, factor \[J\].
const FACTOR: f64 = 2.0;
/// Swing reaches this rate, rad/s; slower data are extrapolated.
const SWING_RATE: f64 = 8.0;

impl BenchFit {
    /// Sentences, values, laws and the picture.
    #[must_use]
    pub fn findings(&self, knee: &KneeFile) -> Findings {
        let mut text = vec![format!(
            "Damper laws from {} points; every value with its 95 % interval. What the table does not hold is that of \
             {}: stance valve, stops, assist, oil.",
            self.directions.iter().map(|d| d.points.len()).sum::<usize>(),
            self.base.name
        )];
        text.extend(self.directions.iter().flat_map(|d| self.direction_in_words(d)));
        text.extend(self.knee_in_words());
        text.extend(self.notes.iter().cloned());
        text.push(format!("Knee {}: take it with --knee and its path.", knee.name));
        Findings { text, tables: vec![self.values_table(), self.laws_table()], plots: vec![self.plot()] }
    }

    fn direction_in_words(&self, d: &DirectionFit) -> Vec<String> {
        let residuals = self.residuals(d);
        let rms = (residuals.iter().map(|r| r * r).sum::<f64>() / residuals.len() as f64).sqrt();
        let worst = residuals.iter().fold(0.0_f64, |a, r| a.max(r.abs()));
        let mut text = vec![format!(
            "In {}: {}; leaves {rms:.2} N m (rms), at most {worst:.2} of up to {:.1} N m.",
            d.direction.as_str(),
            d.law.in_words(d.several),
            d.most.torque_n_m
        )];
        text.extend(not_told_apart(d));
        text.extend(laminar_or_orifice(d));
        if d.several {
            let settings = || d.points.iter().filter_map(|p| p.setting).map(|s| 100.0 * s);
            let (least, most) = (settings().fold(f64::INFINITY, f64::min), settings().fold(0.0, f64::max));
            if least > 0.5 || most < 99.5 {
                text.push(format!(
                    "In {} settings from {least:.0} to {most:.0} % were measured; what the file has beyond is \
                     extrapolated.",
                    d.direction.as_str()
                ));
            }
        } else {
            text.push(format!(
                "In {} one setting was measured: it stands at 50 % of a range that is a guess.",
                d.direction.as_str()
            ));
        }
        if d.most.rate_rad_per_s < SWING_RATE {
            text.push(format!(
                "In {} the fastest point has {:.1} rad/s; swing reaches {SWING_RATE:.0}: beyond that the law is \
                 extrapolated.",
                d.direction.as_str(),
                d.most.rate_rad_per_s
            ));
        }
        text
    }

    fn knee_in_words(&self) -> Vec<String> {
        let mut text = vec![];
        if let Some(t) = self.temperature_c {
            text.push(format!(
                "The coefficients hold at {t:.0} °C, the median of the table; the stance valve of {} holds there as \
                 it did at {:.0} °C.",
                self.base.name, self.base.reference_temperature_c
            ));
        } else {
            text.push(format!(
                "The table has no temperature_c: the coefficients are taken to hold at {:.0} °C.",
                self.base.reference_temperature_c
            ));
        }
        if let [one] = self.directions.as_slice() {
            let seal = if self.seal.is_some() {
                "and the seal friction found counts for both"
            } else {
                "but for its seal friction, which is 0: the law found holds all friction"
            };
            text.push(format!(
                "Only {} was measured; the other direction is that of {}, {seal}.",
                one.direction.as_str(),
                self.base.name
            ));
        }
        if self.base.displacement_by_flexion.is_some() {
            text.push(
                "The lever over flexion of the base knee was left out: the table has one torque for a rate."
                    .into(),
            );
        }
        if self.base.cushion.is_some() {
            text.push(format!(
                "The cushion before the extension stop stays that of {}: points measured within it belong left out.",
                self.base.name
            ));
        }
        text
    }

    fn values_table(&self) -> Table {
        let row = |of: &str, v: &Value| {
            let known = if v.at_bound { "at the end of where it was looked for" } else { "" };
            vec![
                Cell::text(of),
                Cell::text(v.name),
                Cell::Number(v.value, 4),
                Cell::number(Some(v.interval[0]).filter(|_| !v.at_bound), 4),
                Cell::number(Some(v.interval[1]).filter(|_| !v.at_bound), 4),
                Cell::text(known),
            ]
        };
        let of_directions =
            self.directions.iter().flat_map(|d| d.values.iter().map(|v| row(d.direction.as_str(), v)));
        let rows = of_directions.chain(self.seal.iter().map(|s| row("both", s))).collect();
        let columns = ["direction", "value", "found", "from", "to", "note"];
        Table::new("values", "Values with their 95 % intervals", &columns, rows)
    }

    fn laws_table(&self) -> Table {
        let rows = self.directions.iter().flat_map(|d| {
            let best = d.tried[0].aicc;
            d.tried.iter().map(move |t| {
                vec![
                    Cell::text(d.direction.as_str()),
                    Cell::text(t.law.in_words(d.several)),
                    Cell::Number(t.rms, 3),
                    Cell::number(Some(t.aicc - best).filter(|x| x.is_finite()), 1),
                ]
            })
        });
        let columns = ["direction", "law", "rms", "aicc_above_best"];
        Table::new("laws", "Laws that were tried, each direction by itself", &columns, rows.collect())
    }
}

fn not_told_apart(d: &DirectionFit) -> Option<String> {
    let best = d.tried[0].aicc;
    if !best.is_finite() {
        return Some(format!("In {} the points are too few to compare laws.", d.direction.as_str()));
    }
    let others: Vec<String> =
        d.tried[1..].iter().filter(|t| t.aicc - best < AS_GOOD).map(|t| t.law.in_words(d.several)).collect();
    (!others.is_empty()).then(|| {
        format!("The data cannot tell this law in {} from: {}.", d.direction.as_str(), others.join("; "))
    })
}

/// Whether a and b are both known; most benches are too slow for b or too fast for a.
fn laminar_or_orifice(d: &DirectionFit) -> Option<String> {
    if !matches!(d.law, Law::Orifice(..)) {
        return None;
    }
    let a = d.values.last()?;
    let b = &d.values[0];
    let a_unknown = a.at_bound || a.interval[0] <= 0.0;
    let b_unknown =
        d.values[..d.values.len() - 1].iter().any(|b| b.at_bound || b.interval[1] > FACTOR * b.value);
    let which = match (a_unknown, b_unknown) {
        (false, false) => return None,
        (true, false) => format!("a ({}) is not told from zero", a.name),
        (false, true) => format!("b ({}) is not known to a factor of 2", b.name),
        (true, true) => "neither is known".into(),
    };
    Some(format!(
        "Warning: in {} the data cannot tell the laminar part a from the orifice part b: {which}. Slow points tell a, \
         fast points tell b.",
        d.direction.as_str()
    ))
}
