//! A comparison in words and tables: as data one table of all outcomes, for people one per scenario.

use super::{ComparedScenario, Comparison, LETTERS, VariantRun};
use crate::case::setup::{Resolved, Setup};
use crate::case::variant::{Change, Variant};
use crate::error::SimError;
use crate::findings::{Cell, Findings, Table};
use crate::joint::SettingName;
use crate::outcome::{Assessment, LimitVerdict, Metric, TrialVerdict, Value, Verdict, metric};
use crate::study::margin_change::value_without_limit;
use crate::study::observation::observation;
use crate::study::text::value_cell;

impl Comparison {
    /// As data: all outcomes in one table, limits, verdicts, variants; one plot per scenario that moves.
    #[must_use]
    pub fn findings(&self) -> Findings {
        Findings {
            text: self.text(),
            tables: vec![self.outcomes(), self.limits(), self.verdicts(), self.variants()],
            plots: self.plots(),
        }
    }

    /// For people: words for keys, one table of outcomes per scenario.
    #[must_use]
    pub fn findings_for_people(&self) -> Findings {
        let mut verdicts = self.verdicts();
        for c in &mut verdicts.columns {
            *c = c.replace('_', " ");
        }
        let tables =
            std::iter::once(verdicts).chain(self.scenarios.iter().map(|s| self.outcomes_for_people(s)));
        Findings { text: self.text(), tables: tables.collect(), plots: self.plots() }
    }

    /// The base, the variants, then for each scenario A alone and each other variant against A.
    fn text(&self) -> Vec<String> {
        let named = |(i, v): (usize, &Variant)| {
            let changes: Vec<String> = v.changes.iter().map(Change::in_words).collect();
            let changes = if changes.is_empty() { "as it is".to_owned() } else { changes.join(", ") };
            format!("{}: {changes}", LETTERS[i])
        };
        let mut text = self.base_in_words();
        text.extend(self.variants.iter().enumerate().map(named));
        text.extend(self.scenarios.iter().flat_map(scenario_text));
        text
    }

    /// The base that the variants change.
    fn base_in_words(&self) -> Vec<String> {
        match self.base.resolve() {
            Ok(r) => vec![format!("{}; {}.", self.base.models_in_words(&r), r.settings_in_words())],
            Err(_) => vec![],
        }
    }

    fn variants(&self) -> Table {
        let names = SettingName::ALL;
        let head = ["variant", "changes", "person", "mass_kg", "prosthesis", "shank_mass_kg", "knee"];
        let columns = head
            .iter()
            .map(|h| (*h).to_owned())
            .chain(["temperature_c".to_owned(), "assist_n_m".to_owned()])
            .chain(names.iter().map(|n| format!("{n}_pct")));
        let row = |(i, (setup, resolved)): (usize, &(Setup, Resolved))| {
            let mut cells = vec![
                Cell::text(LETTERS[i]),
                Cell::text(&self.variants[i].written),
                Cell::text(&setup.person.name),
                Cell::Number(setup.person.mass_kg, 1),
                Cell::text(&setup.prosthesis.name),
                Cell::Number(resolved.shank.mass_kg, 2),
                Cell::text(&setup.knee.name),
                Cell::Number(setup.temperature_c.unwrap_or(setup.knee.reference_temperature_c), 0),
                Cell::Number(resolved.knee.assist.torque_n_m, 1),
            ];
            let pct = |n: &SettingName| Cell::number(resolved.knee.settings.get(*n).map(|s| s.pct()), 1);
            cells.extend(names.iter().map(pct));
            cells
        };
        Table {
            key: "variants".into(),
            title: "variants".into(),
            columns: columns.collect(),
            rows: self.resolved.iter().enumerate().map(row).collect(),
        }
    }

    fn outcomes(&self) -> Table {
        let mut columns = vec!["scenario".to_owned(), "outcome".into(), "unit".into()];
        columns.extend(self.columns(|l| l.to_lowercase(), |l| format!("{}_minus_a", l.to_lowercase())));
        let rows = self.scenarios.iter().flat_map(|s| {
            s.metrics().into_iter().map(|m| {
                let mut row = vec![Cell::text(&s.scenario.name), Cell::text(m.key), Cell::text(m.unit)];
                row.extend(s.cells(m, |_, v| value_cell(m, v)));
                row
            })
        });
        Table { key: "outcomes".into(), title: "outcomes".into(), columns, rows: rows.collect() }
    }

    /// Column names: each variant and, for all but the first, its difference.
    fn columns(&self, name: impl Fn(&str) -> String, minus: impl Fn(&str) -> String) -> Vec<String> {
        let letters = &LETTERS[..self.variants.len()];
        letters
            .iter()
            .enumerate()
            .flat_map(|(i, l)| std::iter::once(name(l)).chain((i > 0).then(|| minus(l))))
            .collect()
    }

    fn outcomes_for_people(&self, compared: &ComparedScenario) -> Table {
        let mut columns = vec![String::new()];
        columns.extend(self.columns(ToOwned::to_owned, |l| format!("{l} − A")));
        let row = |m: &'static Metric| {
            let mut row = vec![Cell::text(m.table_label())];
            row.extend(compared.cells(m, |r, v| Cell::text(value_for_people(r, m, v))));
            row
        };
        Table {
            key: compared.scenario.name.clone(),
            title: compared.scenario.name.clone(),
            columns,
            rows: compared.metrics().into_iter().filter(|m| compared.is_shown(m)).map(row).collect(),
        }
    }

    fn verdicts(&self) -> Table {
        let columns = [
            "scenario",
            "variant",
            "verdict",
            "closest_limit",
            "value",
            "limit",
            "margin",
            "limits_broken",
            "limits_doubtful",
        ];
        let rows = self.scenarios.iter().flat_map(|s| {
            s.runs.iter().enumerate().map(|(i, r)| {
                let mut row = vec![Cell::text(&s.scenario.name), Cell::text(LETTERS[i])];
                row.extend(match r {
                    Ok(r) => verdict_cells(&r.assessment),
                    Err(e) => std::iter::once(Cell::text(e.in_place_of_verdict()))
                        .chain(std::iter::repeat_n(Cell::Empty, 6))
                        .collect(),
                });
                row
            })
        });
        Table::new("verdicts", "verdicts", &columns, rows.collect())
    }

    fn limits(&self) -> Table {
        let columns = [
            "scenario", "variant", "outcome", "value", "min", "max", "allowed", "verdict", "margin",
            "severity",
        ];
        let row = |s: &ComparedScenario, i: usize, l: &LimitVerdict| {
            let value = match l.value {
                Value::Number(v) => Cell::Number(v, 3),
                Value::Word(w) => Cell::text(w),
                Value::NotReached => Cell::Empty,
            };
            vec![
                Cell::text(&s.scenario.name),
                Cell::text(LETTERS[i]),
                Cell::text(&l.limit.outcome),
                value,
                Cell::number(l.limit.min, 3),
                Cell::number(l.limit.max, 3),
                Cell::text(l.limit.allowed.join("|")),
                Cell::text(l.in_words()),
                Cell::number(l.margin, 3),
                Cell::text(l.limit.severity.as_str()),
            ]
        };
        let rows = self.scenarios.iter().flat_map(|s| {
            s.runs.iter().enumerate().flat_map(move |(i, r)| {
                let limits = r.as_ref().map(|r| r.assessment.limits.clone()).unwrap_or_default();
                limits.into_iter().map(move |l| row(s, i, &l))
            })
        });
        Table::new("limits", "limits", &columns, rows.collect())
    }
}

/// One scenario: variant A, then each other variant against A; notes and failures.
fn scenario_text(compared: &ComparedScenario) -> Vec<String> {
    let name = &compared.scenario.name;
    let mut text = Vec::new();
    for (i, run) in compared.runs.iter().enumerate() {
        match run {
            Err(e) => text.push(format!("{name}, {}: {e}.", LETTERS[i])),
            Ok(r) => {
                let sentence = match (i, &compared.runs[0]) {
                    (0, _) | (_, Err(_)) => {
                        format!("{name}, {}: {}", LETTERS[i], observation_alone(&r.assessment))
                    }
                    (_, Ok(a)) => {
                        format!(
                            "{name}, {} against A: {}",
                            LETTERS[i],
                            observation(&a.assessment, &r.assessment)
                        )
                    }
                };
                text.push(sentence);
                text.extend(r.notes.iter().map(|n| format!("{name}, {}, note: {n}.", LETTERS[i])));
            }
        }
    }
    text
}

/// What an observer would see of one variant.
fn observation_alone(a: &Assessment) -> String {
    let seen = |doubtful: bool| {
        let mut seen: Vec<&str> = Vec::new();
        for l in a.binding().filter(|l| !l.holds() && (l.verdict == Verdict::Doubtful) == doubtful) {
            if !seen.contains(&l.seen()) {
                seen.push(l.seen());
            }
        }
        seen.join("; ")
    };
    match (a.verdict(), seen(true).as_str()) {
        (TrialVerdict::NoLimits, _) => "no limits to hold it against.".into(),
        (TrialVerdict::Within, _) => "within all limits.".into(),
        (TrialVerdict::Doubtful, doubtful) => format!("doubtful, might be seen: {doubtful}."),
        (TrialVerdict::Outside, "") => format!("what would be seen: {}.", seen(false)),
        (TrialVerdict::Outside, also) => {
            format!("what would be seen: {}; doubtful, might be seen: {also}.", seen(false))
        }
    }
}

/// Verdict, closest limit with its value and margin, number of limits broken and of limits doubtful.
fn verdict_cells(a: &Assessment) -> Vec<Cell> {
    let limiting = a.limiting().and_then(|l| metric(&l.limit.outcome).map(|m| (l, m)));
    let mut cells = vec![Cell::text(a.verdict().as_str())];
    match limiting {
        None => cells.extend(std::iter::repeat_n(Cell::Empty, 4)),
        Some((l, m)) => cells.extend([
            Cell::text(m.table_label()),
            Cell::text(m.say_short(l.value)),
            Cell::text(l.bounds()),
            l.margin.map_or(Cell::Empty, |v| Cell::text(m.say_difference(v))),
        ]),
    }
    #[allow(clippy::cast_precision_loss)] // a handful
    cells.extend(a.not_within().into_iter().rev().map(|n| Cell::Number(n as f64, 0)));
    cells
}

/// A value as people read it, marked where it breaks a limit; `none` where it has no limit and is not reached.
fn value_for_people(r: &VariantRun, m: &Metric, v: Value) -> String {
    let limited = r.assessment.limits.iter().any(|l| l.limit.outcome == m.key);
    if limited { m.say_short(v) + &marked(r, m) } else { value_without_limit(m, v) }
}

/// The verdict behind a value that is not within its limit, and whether it lies in the band of a judged edge.
fn marked(r: &VariantRun, m: &Metric) -> String {
    let of = r.assessment.limits.iter().filter(|l| l.limit.outcome == m.key);
    let of: Vec<&LimitVerdict> = of.collect();
    let not_within = of.iter().find(|l| l.in_words() != Verdict::Within.as_str());
    let marks = not_within.map(|l| l.in_words()).into_iter();
    let hip = of.iter().any(|l| l.depends_on_hip()).then_some("depends on hip strength too");
    let band = of.iter().any(|l| l.in_band).then_some("in the band of a judged edge");
    let marks: Vec<&str> = marks.chain(hip).chain(band).collect();
    if marks.is_empty() { String::new() } else { format!(" ({})", marks.join(", ")) }
}

impl ComparedScenario {
    /// The outcomes of the first variant that ran.
    fn metrics(&self) -> Vec<&'static Metric> {
        let ran = self.runs.iter().find_map(|r| r.as_ref().ok());
        ran.map(|r| r.assessment.outcomes.iter().map(|(m, _)| m).collect()).unwrap_or_default()
    }

    /// Whether people see it: not a check of the model, unless a variant misses its limit.
    fn is_shown(&self, m: &Metric) -> bool {
        let missed =
            |r: &VariantRun| r.assessment.limits.iter().any(|l| l.limit.outcome == m.key && !l.holds());
        !m.internal || self.runs.iter().flatten().any(missed)
    }

    /// A cell per variant and, from the second on, its difference to the first.
    fn cells(&self, m: &Metric, value: impl Fn(&VariantRun, Value) -> Cell) -> Vec<Cell> {
        let of = |r: &VariantRun| r.assessment.outcomes.get(m.key);
        let number =
            |r: &Result<VariantRun, SimError>| r.as_ref().ok().and_then(of).and_then(Value::as_number);
        let first = self.runs.first().and_then(number);
        let mut cells = Vec::new();
        for (i, run) in self.runs.iter().enumerate() {
            let cell = run.as_ref().ok().and_then(|r| of(r).map(|v| value(r, v)));
            cells.push(cell.unwrap_or(Cell::Empty));
            if i > 0 {
                let minus = first.zip(number(run)).map(|(a, b)| b - a);
                cells.push(Cell::number(minus, m.decimals));
            }
        }
        cells
    }
}
