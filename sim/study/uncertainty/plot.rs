//! The picture of an uncertainty study: the bands of outcomes with a limit, then those of the others.

use super::{LimitShare, OutcomeBand, UncertaintyResult};
use crate::error::SimError;
use crate::findings::{Interval, Intervals};
use crate::numerics::intervals::wilson_95;
use crate::scenario::Severity;

impl UncertaintyResult {
    /// Bands of all outcomes in numbers, those with a limit first.
    ///
    /// # Errors
    /// As [`crate::case::setup::Setup::resolve`].
    pub fn plot(&self) -> Result<Intervals, SimError> {
        let study = &self.study;
        let setup = &study.case.setup;
        let inputs = setup.in_words(&setup.resolve()?).to_vec();
        let limit = |o: &OutcomeBand| self.limits.iter().find(|l| l.limit.outcome == o.metric.key);
        let (limited, free): (Vec<_>, Vec<_>) = self.outcomes.iter().partition(|o| limit(o).is_some());
        let rows = limited.into_iter().chain(free);
        Ok(Intervals {
            title: format!("What uncertain inputs do: {}", study.case.scenario.brief()),
            inputs: [vec![format!("Scenario {}. {}", study.case.scenario.name, inputs[0])], inputs[1..].to_vec()].concat(),
            reading: vec![
                format!(
                    "{} inputs varied over their ranges ('{}'), {} points. Bar: 5 to 95 % of the points; stroke: half \
                     of them; every row on its own scale.",
                    self.inputs.len(),
                    study.file.name,
                    self.points
                ),
                "Shaded: within the limit. On the right: how often the limit holds, with its 95 % interval; the input \
                 that takes part in most of the variance, and its share. [J]: a value of judgement."
                    .into(),
            ],
            rows: rows.filter_map(|o| self.row(o, limit(o))).collect(),
        })
    }

    /// None for words and for what is never reached.
    fn row(&self, o: &OutcomeBand, limit: Option<&LimitShare>) -> Option<Interval> {
        let at = |share| o.quantile(share);
        let note = match o.most() {
            Some((_, e)) if !e.tells() => "which input: cannot tell from these samples".into(),
            Some((i, e)) if e.value > e.error => {
                let input = self.inputs[i].input;
                let mark = if input.judged { " [J]" } else { "" };
                format!("{}{mark}: {:.2} ± {:.2}", input.label, e.value, e.error)
            }
            Some(_) => "no input stands out of the sampling error".into(),
            None => String::new(),
        };
        Some(Interval {
            label: o.metric.number_label(),
            unit: o.metric.unit.into(),
            decimals: o.metric.decimals,
            values: [at(0.05)?, at(0.5)?, at(0.95)?],
            allowed: limit.map(|l| (l.limit.min, l.limit.max)),
            holds: limit.map_or(String::new(), |l| self.holds(l)),
            note,
        })
    }

    fn holds(&self, l: &LimitShare) -> String {
        let (low, high) = wilson_95(l.holds, self.points);
        let share = 100.0 * l.holds as f64 / self.points as f64;
        let within = if l.limit.severity == Severity::Target { "target met" } else { "within" };
        let doubtful = match l.doubtful {
            0 => String::new(),
            n => format!(", doubtful: {:.0} %", 100.0 * n as f64 / self.points as f64),
        };
        format!("{within}: {share:.0} % ({:.0} to {:.0}){doubtful}", 100.0 * low, 100.0 * high)
    }
}
