//! From the question to the windows: which scenario runs for which person and pace, along which setting,
//! under which variation; every scan once, all of them in parallel, put together in order.

use rayon::prelude::*;

use super::assemble::{Gathered, Lines, Reached};
use super::case_limits::{Task, Tightest};
use super::question::Question;
use super::ranges::COARSE;
use super::scan::scan;
use super::variations::Variation;
use super::{Cell, Windows};
use crate::body::Person;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::scenario::ActivityKind;
use crate::study::Tick;

/// A question taken apart.
#[derive(Debug)]
pub struct Plan {
    tasks: Vec<Task>,
    cells: Vec<PlannedCell>,
    settings: Vec<(SettingName, f64)>,
    variations: Vec<Variation>,
    population: bool,
    notes: Vec<String>,
    /// Tightest limit of each task with the settings as they are, once probed.
    now: Option<Vec<Tightest>>,
}

#[derive(Debug)]
struct PlannedCell {
    person: Person,
    cadence: Option<f64>,
    tasks: Vec<usize>,
}

/// Bisections cost about this many trials more than the coarse grid, per scan.
const TRIALS_PER_SCAN: u64 = COARSE as u64 + 8;

impl Plan {
    /// Takes a question apart.
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
            tasks: Vec::new(),
            cells: Vec::new(),
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
        if plan.tasks.iter().all(|t| t.limits.is_empty()) {
            return Err(SimError::Usage("no binding limit is left in the chosen scenarios".into()));
        }
        Ok(plan)
    }

    /// The cells of one person; what does not walk is shared by all cadences.
    fn add_person(&mut self, question: &Question, person: &Person) -> Result<(), SimError> {
        let cadences: Vec<Option<f64>> = match question.cadences_steps_per_min.as_slice() {
            [] => vec![None],
            some => some.iter().copied().map(Some).collect(),
        };
        let first = self.cells.len();
        self.cells.extend(cadences.iter().map(|&cadence| PlannedCell {
            person: person.clone(),
            cadence,
            tasks: Vec::new(),
        }));
        for scenario in &question.scenarios {
            let walks = scenario.activity.kind() == ActivityKind::Walk;
            for (i, &cadence) in cadences.iter().enumerate() {
                if walks || i == 0 {
                    let case = question.case(person, scenario, cadence)?;
                    self.tasks.push(Task::new(case, &question.without));
                }
                self.cells[first + i].tasks.push(self.tasks.len() - 1);
            }
        }
        Ok(())
    }

    /// Runs every task once, with the settings as they are; its time gives the time of the whole.
    ///
    /// # Errors
    /// A set-up that is wrong in itself; no scenario can run.
    pub fn probe(&mut self) -> Result<(), SimError> {
        let rows = self
            .tasks
            .par_iter()
            .map(|task| task.row(&[], Variation::AsSet, None))
            .collect::<Result<Vec<_>, _>>()?;
        let moving = self.tasks.iter().filter(|t| t.kind() != ActivityKind::Stand).count();
        let mut failed: Vec<(&str, &str, usize)> = Vec::new();
        for (task, why) in self.tasks.iter().zip(&rows).filter_map(|(t, r)| Some((t, r.as_ref().err()?))) {
            let name = task.case.scenario.name.as_str();
            match failed.iter_mut().find(|f| f.0 == name) {
                Some(f) => f.2 += 1,
                None => failed.push((name, why, 1)),
            }
        }
        if let Some((name, why, _)) = failed.first()
            && failed.iter().map(|f| f.2).sum::<usize>() == moving
        {
            return Err(SimError::Usage(format!("{name}: {why}")));
        }
        self.notes.extend(failed.iter().map(|(name, why, times)| {
            let often = if *times > 1 { format!(" ({times} times)") } else { String::new() };
            format!("{name}{often}, with the settings as they are: {why}. Where it cannot run it counts as outside.")
        }));
        self.now = Some(self.tasks.iter().zip(&rows).map(|(task, row)| task.tightest(row)).collect());
        Ok(())
    }

    /// About how many trials it takes for each trial of [`Plan::probe`].
    #[must_use]
    pub fn trials_per_task(&self) -> f64 {
        let scans = self.jobs().len() as u64 * TRIALS_PER_SCAN;
        scans as f64 / self.tasks.len().max(1) as f64
    }

    /// Under how many variations a task runs, on average.
    #[must_use]
    pub fn variations_per_task(&self) -> f64 {
        self.trials_per_task() / (TRIALS_PER_SCAN * self.settings.len().max(1) as u64) as f64
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

    /// (task, setting, first of the variations that share its trials).
    fn jobs(&self) -> Vec<(usize, usize, usize)> {
        let mut jobs = Vec::new();
        for (t, task) in self.tasks.iter().enumerate().filter(|(_, t)| !t.limits.is_empty()) {
            for s in 0..self.settings.len() {
                for (v, variation) in self.variations.iter().enumerate() {
                    let own_trials = !matches!(variation, Variation::Edges { .. });
                    let reaches = |l| variation.reaches(task.kind(), l);
                    if own_trials && task.limits.iter().any(reaches) {
                        jobs.push((t, s, v));
                    }
                }
            }
        }
        jobs
    }

    /// The variations that are read off the trials of variation `v`.
    fn sharing(&self, v: usize, task: &Task) -> Vec<usize> {
        let edges = |i: &usize| {
            let variation = self.variations[*i];
            matches!(variation, Variation::Edges { .. })
                && task.limits.iter().any(|l| variation.reaches(task.kind(), l))
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
                let shared = self.sharing(v, &self.tasks[t]);
                let variations: Vec<_> = shared.iter().map(|i| self.variations[*i]).collect();
                let (task, numbers) = self.tasks[t].reached_by(self.variations[v]);
                let lines = scan(&task, self.settings[s].0, &variations)?;
                tick();
                let reached = lines.into_iter().map(|line| Reached { line, numbers: numbers.clone() });
                Ok(shared.into_iter().zip(reached).collect::<Vec<_>>())
            })
            .collect::<Result<Vec<_>, SimError>>()?;
        let mut lines = Lines { of: vec![vec![vec![]; self.settings.len()]; self.tasks.len()] };
        for ((t, s, _), found) in jobs.into_iter().zip(done) {
            for (v, line) in found {
                let slots = &mut lines.of[t][s];
                slots.resize(slots.len().max(v + 1), None);
                slots[v] = Some(line);
            }
        }
        let gathered = Gathered { tasks: &self.tasks, variations: &self.variations, lines };
        let settings = |tasks: &[usize]| {
            self.settings.iter().enumerate().map(|(s, at)| gathered.setting(tasks, s, *at)).collect()
        };
        let cell = |cell: &PlannedCell| Cell {
            person: cell.person.clone(),
            cadence_steps_per_min: cell.cadence,
            now: cell.tasks.iter().fold(Tightest::NONE, |a, t| a.or(now[*t].clone())),
            settings: settings(&cell.tasks),
        };
        let cells = self.cells.iter().map(cell).collect();
        Ok(Windows { cells, population: self.population, variations: self.variations, notes: self.notes })
    }
}
