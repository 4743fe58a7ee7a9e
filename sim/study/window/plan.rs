//! The plan of a window study: which scenario is scanned for which person and pace, along which setting,
//! under which variation. Every scan runs once, all of them in parallel; the results are assembled in order.

use rayon::prelude::*;

use super::assemble::{PartialScan, ScanGrid, ScanResults};
use super::case_limits::{BindingLimit, CaseLimits};
use super::question::Question;
use super::ranges::COARSE;
use super::scan::scan;
use super::variations::Variation;
use super::{PersonWindows, Windows};
use crate::body::Person;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::scenario::ActivityKind;
use crate::study::Tick;

/// Everything that a question needs to be run.
#[derive(Debug)]
pub struct Plan {
    cases: Vec<CaseLimits>,
    people: Vec<PlannedPerson>,
    settings: Vec<(SettingName, f64)>,
    variations: Vec<Variation>,
    population: bool,
    notes: Vec<String>,
    /// Tightest limit of each case with the settings as they are, once probed.
    now: Option<Vec<BindingLimit>>,
}

#[derive(Debug)]
struct PlannedPerson {
    person: Person,
    cadence: Option<f64>,
    cases: Vec<usize>,
}

/// Bisections cost about this many trials more than the coarse grid, per scan.
const TRIALS_PER_SCAN: u64 = COARSE as u64 + 8;

impl Plan {
    /// Plans the runs of a question.
    ///
    /// # Errors
    /// A set-up that is wrong in itself, an unknown outcome to leave out, no limit left.
    pub fn new(question: &Question) -> Result<Self, SimError> {
        question.check_without()?;
        let knee = question.setup.resolve()?.knee;
        let settings: Vec<_> = SettingName::ALL
            .into_iter()
            .filter_map(|name| knee.settings.get(name).map(|at| (name, at.pct())))
            .collect();
        let mut plan = Self {
            cases: Vec::new(),
            people: Vec::new(),
            settings,
            variations: if question.bands { Variation::all() } else { vec![Variation::AsSet] },
            population: !(question.masses_kg.is_empty() && question.cadences_steps_per_min.is_empty()),
            notes: question
                .without_effect()
                .map(|key| {
                    format!("No chosen scenario has a limit on {key}: leaving it out changes nothing.")
                })
                .collect(),
            now: None,
        };
        for person in question.people() {
            person.check()?;
            plan.add_person(question, &person)?;
        }
        if plan.cases.iter().all(|t| t.limits.is_empty()) {
            return Err(SimError::Usage("no binding limit is left in the chosen scenarios".into()));
        }
        Ok(plan)
    }

    /// One person at each cadence; scenarios without walking are shared by all cadences.
    fn add_person(&mut self, question: &Question, person: &Person) -> Result<(), SimError> {
        let cadences: Vec<Option<f64>> = match question.cadences_steps_per_min.as_slice() {
            [] => vec![None],
            some => some.iter().copied().map(Some).collect(),
        };
        let first = self.people.len();
        self.people.extend(cadences.iter().map(|&cadence| PlannedPerson {
            person: person.clone(),
            cadence,
            cases: Vec::new(),
        }));
        for scenario in &question.scenarios {
            let walks = scenario.activity.kind() == ActivityKind::Walk;
            for (i, &cadence) in cadences.iter().enumerate() {
                if walks || i == 0 {
                    let case = question.case(person, scenario, cadence)?;
                    self.cases.push(CaseLimits::new(case, &question.without));
                }
                self.people[first + i].cases.push(self.cases.len() - 1);
            }
        }
        Ok(())
    }

    /// Runs every case once with the settings as they are, to find out how long the whole study takes.
    ///
    /// # Errors
    /// A set-up that is wrong in itself; no scenario can run.
    pub fn probe(&mut self) -> Result<(), SimError> {
        let rows = self
            .cases
            .par_iter()
            .map(|case| case.row(&[], Variation::AsSet))
            .collect::<Result<Vec<_>, _>>()?;
        let moving = self.cases.iter().filter(|t| t.kind() != ActivityKind::Stand).count();
        let mut failed: Vec<(&str, String, usize)> = Vec::new();
        for (case, why) in self.cases.iter().zip(&rows).filter_map(|(t, r)| Some((t, r.as_ref().err()?))) {
            let name = case.inputs.scenario.name.as_str();
            match failed.iter_mut().find(|f| f.0 == name) {
                Some(f) => f.2 += 1,
                None => failed.push((name, why.to_string(), 1)),
            }
        }
        if let Some((name, why, _)) = failed.first()
            && failed.iter().map(|f| f.2).sum::<usize>() == moving
        {
            return Err(SimError::Usage(format!("{name}: {why}")));
        }
        self.notes.extend(failed.iter().map(|(name, why, times)| {
            let often = if *times > 1 { format!(" ({times} times)") } else { String::new() };
            format!("{name}{often}, with the settings as they are: {why}. Where it cannot run or be computed it counts as outside.")
        }));
        self.now = Some(self.cases.iter().zip(&rows).map(|(case, row)| case.tightest(row)).collect());
        Ok(())
    }

    /// About how many trials it takes for each trial of [`Plan::probe`].
    #[must_use]
    pub fn trials_per_case(&self) -> f64 {
        let scans = self.jobs().len() as u64 * TRIALS_PER_SCAN;
        scans as f64 / self.cases.len().max(1) as f64
    }

    /// Under how many variations a case runs, on average.
    #[must_use]
    pub fn variations_per_case(&self) -> f64 {
        self.trials_per_case() / (TRIALS_PER_SCAN * self.settings.len().max(1) as u64) as f64
    }

    /// Several masses or cadences are asked for.
    #[must_use]
    pub fn population(&self) -> bool {
        self.population
    }

    /// Number of scans.
    #[must_use]
    pub fn scans(&self) -> u64 {
        self.jobs().len() as u64
    }

    /// Indices of case, setting and the first of the variations that share the trials.
    fn jobs(&self) -> Vec<(usize, usize, usize)> {
        let mut jobs = Vec::new();
        for (t, case) in self.cases.iter().enumerate().filter(|(_, t)| !t.limits.is_empty()) {
            for s in 0..self.settings.len() {
                for (v, variation) in self.variations.iter().enumerate() {
                    let own_trials = !matches!(variation, Variation::Edges { .. });
                    let reaches = |l| variation.reaches(case.kind(), l);
                    if own_trials && case.limits.iter().any(reaches) {
                        jobs.push((t, s, v));
                    }
                }
            }
        }
        jobs
    }

    /// The variations whose outcomes come from the trials of variation `v`.
    fn sharing(&self, v: usize, case: &CaseLimits) -> Vec<usize> {
        let edges = |i: &usize| {
            let variation = self.variations[*i];
            matches!(variation, Variation::Edges { .. })
                && case.limits.iter().any(|l| variation.reaches(case.kind(), l))
        };
        let others = (0..self.variations.len()).filter(|_| v == 0).filter(edges);
        std::iter::once(v).chain(others).collect()
    }

    /// Runs all scans; `tick` is called after each.
    ///
    /// # Errors
    /// As [`Plan::probe`].
    pub fn run(mut self, tick: Tick<'_>) -> Result<Windows, SimError> {
        if self.now.is_none() {
            self.probe()?;
        }
        let now = self.now.take().unwrap_or_default();
        let jobs = self.jobs();
        let done = jobs
            .par_iter()
            .map(|&(t, s, v)| {
                let shared = self.sharing(v, &self.cases[t]);
                let variations: Vec<_> = shared.iter().map(|i| self.variations[*i]).collect();
                let (case, numbers) = self.cases[t].reached_by(self.variations[v]);
                let scans = scan(&case, self.settings[s].0, &variations)?;
                tick();
                let scans = scans.into_iter().map(|scan| PartialScan { scan, numbers: numbers.clone() });
                Ok(shared.into_iter().zip(scans).collect::<Vec<_>>())
            })
            .collect::<Result<Vec<_>, SimError>>()?;
        let mut scans = ScanGrid { of: vec![vec![vec![]; self.settings.len()]; self.cases.len()] };
        for ((t, s, _), found) in jobs.into_iter().zip(done) {
            for (v, scan) in found {
                let slots = &mut scans.of[t][s];
                slots.resize(slots.len().max(v + 1), None);
                slots[v] = Some(scan);
            }
        }
        let results = ScanResults { cases: &self.cases, variations: &self.variations, scans };
        let settings = |cases: &[usize]| {
            self.settings.iter().enumerate().map(|(s, at)| results.setting(cases, s, *at)).collect()
        };
        let windows = |person: &PlannedPerson| PersonWindows {
            person: person.person.clone(),
            cadence_steps_per_min: person.cadence,
            now: person.cases.iter().fold(BindingLimit::NONE, |a, t| a.or(now[*t].clone())),
            settings: settings(&person.cases),
        };
        let people = self.people.iter().map(windows).collect();
        Ok(Windows { people, population: self.population, variations: self.variations, notes: self.notes })
    }
}
