//! From the question to the windows: which scenario runs for which person and pace, along which setting,
//! under which variation; every scan once, all of them in parallel, put together in order.

use rayon::prelude::*;

use super::line::{Line, scan};
use super::ranges::{COARSE, Ranges, UNIT_PCT, coarse, pct};
use super::task::{Closer, Task, Tightest};
use super::varied::Variation;
use super::{Banded, Best, Cell, Closing, Excluding, LimitRange, SettingWindow, Window, Windows};
use crate::body::Person;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::outcome::metric;
use crate::scenario::{ActivityKind, Limit, Scenario};
use crate::study::{Case, Setup, Tick};

/// What is asked.
#[derive(Debug, Clone)]
pub struct Question {
    /// Person, prosthesis, knee, settings; a pace here holds for the walking scenarios.
    pub setup: Setup,
    /// Scenarios.
    pub scenarios: Vec<Scenario>,
    /// Outcomes whose limits are left out.
    pub without: Vec<String>,
    /// Body masses, kg; the stature follows. Empty for the person as given.
    pub masses_kg: Vec<f64>,
    /// Cadences of the walking scenarios, steps per minute. Empty for their own.
    pub cadences_steps_per_min: Vec<f64>,
    /// Whether edges get their bands.
    pub bands: bool,
}

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

impl Question {
    /// The person of a mass, or the one given.
    fn people(&self) -> Vec<Person> {
        let of_mass = |m: &f64| Person { mass_kg: *m, stature_given_m: None, ..self.setup.person.clone() };
        if self.masses_kg.is_empty() {
            vec![self.setup.person.clone()]
        } else {
            self.masses_kg.iter().map(of_mass).collect()
        }
    }

    /// A scenario of a person at a pace, which only walking has.
    ///
    /// # Errors
    /// A pace outside the range of its input.
    pub(super) fn case(
        &self,
        person: &Person,
        scenario: &Scenario,
        cadence: Option<f64>,
    ) -> Result<Case, SimError> {
        let setup = Setup {
            person: person.clone(),
            speed_m_per_s: None,
            cadence_steps_per_min: None,
            ..self.setup.clone()
        };
        let mut case = Case { setup, scenario: scenario.clone() };
        if let Some(v) = self.setup.speed_m_per_s {
            case.set("speed_m_per_s", v)?;
        }
        if let Some(c) = cadence.or(self.setup.cadence_steps_per_min) {
            case.set("cadence_steps_per_min", c)?;
        }
        Ok(case)
    }

    /// Outcomes left out must exist.
    pub(super) fn check_without(&self) -> Result<(), SimError> {
        match self.without.iter().find(|key| metric(key).is_none()) {
            Some(key) => Err(SimError::Unknown {
                kind: "outcome",
                name: key.clone(),
                known: self.limited_outcomes().join(", ") + " (and others without a limit here)",
            }),
            None => Ok(()),
        }
    }

    fn limited_outcomes(&self) -> Vec<String> {
        let mut known: Vec<String> = Vec::new();
        for limit in self.scenarios.iter().flat_map(|s| &s.limits) {
            if !known.contains(&limit.outcome) {
                known.push(limit.outcome.clone());
            }
        }
        known
    }

    /// Outcomes left out on which no chosen scenario has a limit.
    fn without_effect(&self) -> impl Iterator<Item = String> {
        let limited = self.limited_outcomes();
        self.without.clone().into_iter().filter(move |key| !limited.contains(key))
    }
}

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
            .map(|task| task.row(&[], Variation::AsSet))
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
        let cells = self.cells.iter().map(|cell| self.cell(cell, &lines, &now)).collect();
        Ok(Windows { cells, population: self.population, variations: self.variations, notes: self.notes })
    }

    fn cell(&self, cell: &PlannedCell, lines: &Lines, now: &[Tightest]) -> Cell {
        Cell {
            person: cell.person.clone(),
            cadence_steps_per_min: cell.cadence,
            now: cell.tasks.iter().fold(Tightest::NONE, |a, t| a.or(now[*t].clone())),
            settings: (0..self.settings.len()).map(|s| self.setting(cell, s, lines)).collect(),
        }
    }

    fn setting(&self, cell: &PlannedCell, s: usize, lines: &Lines) -> SettingWindow {
        let (setting, at_pct) = self.settings[s];
        let limits: Vec<(usize, usize)> =
            cell.tasks.iter().flat_map(|&t| (0..self.tasks[t].limits.len()).map(move |i| (t, i))).collect();
        let ranges = |t: usize, i: usize, v: usize| {
            let (line, i) = lines.at(t, s, v, i);
            &line.held[i]
        };
        let window = |limits: &[(usize, usize)], v: usize| {
            let closers: Vec<_> = limits
                .iter()
                .map(|&(t, i)| {
                    move |outside: u32| {
                        let (line, own) = lines.at(t, s, v, i);
                        let (can_run, margin) = line.outside(own, outside);
                        (self.tasks[t].closer(i, can_run), margin)
                    }
                })
                .collect();
            let pairs: Vec<(&Ranges, &Closing<'_>)> = limits
                .iter()
                .zip(&closers)
                .map(|(&(t, i), c)| (ranges(t, i, v), c as &Closing<'_>))
                .collect();
            Window::of(&pairs)
        };
        let banded = |limits: &[(usize, usize)]| Banded {
            window: window(limits, 0),
            varied: (1..self.variations.len()).map(|v| (self.variations[v], window(limits, v))).collect(),
        };
        let named = |&(t, i): &(usize, usize)| self.tasks[t].closer(i, true);
        let (nowhere, met): (Vec<_>, Vec<_>) = limits.iter().partition(|&&(t, i)| ranges(t, i, 0).is_empty());
        let excluding = excluding(&met, &named, &|t, i| ranges(t, i, 0), &|l| window(&[l], 0));
        SettingWindow {
            setting,
            at_pct,
            limits: limits.iter().map(|l| LimitRange { limit: named(l), held: banded(&[*l]) }).collect(),
            all: banded(&limits),
            rest: (!nowhere.is_empty() && !met.is_empty()).then(|| banded(&met)),
            nowhere: nowhere.iter().map(named).collect(),
            excluding,
            best: best(cell.tasks.iter().map(|&t| lines.tightest(t, s))),
        }
    }
}

/// A line of some of a task's limits.
#[derive(Debug, Clone)]
struct Reached {
    line: Line,
    /// Their numbers in the task.
    numbers: Vec<usize>,
}

/// Lines by task, setting and variation; what a variation does not reach is as set.
struct Lines {
    of: Vec<Vec<Vec<Option<Reached>>>>,
}

impl Lines {
    fn get(&self, task: usize, setting: usize, variation: usize) -> Option<&Reached> {
        self.of[task][setting].get(variation).and_then(Option::as_ref)
    }

    /// The line of limit `i` and its number there. Every limit of a task has one: as set all are scanned.
    fn at(&self, task: usize, setting: usize, variation: usize, i: usize) -> (&Line, usize) {
        let own = self.get(task, setting, variation).and_then(|r| {
            let number = r.numbers.iter().position(|n| *n == i)?;
            Some((&r.line, number))
        });
        own.or_else(|| Some((&self.get(task, setting, 0)?.line, i))).expect("every limit is scanned as set")
    }

    fn tightest(&self, task: usize, setting: usize) -> &[Tightest] {
        self.get(task, setting, 0).map_or(&[], |r| r.line.tightest.as_slice())
    }
}

/// Pairs of limits that share no position, the widest gap first.
fn excluding<'a>(
    limits: &[(usize, usize)],
    named: &dyn Fn(&(usize, usize)) -> Closer,
    ranges: &dyn Fn(usize, usize) -> &'a Ranges,
    window: &dyn Fn((usize, usize)) -> Window,
) -> Vec<Excluding> {
    let mut found = Vec::new();
    for (n, a) in limits.iter().enumerate() {
        for b in &limits[n + 1..] {
            let (held_a, held_b) = (ranges(a.0, a.1), ranges(b.0, b.1));
            let Some(gap) = held_a.gap(held_b) else { continue };
            let first = |r: &Ranges| r.parts().first().map(|p| p.0);
            let (low, high) = if first(held_a) <= first(held_b) { (a, b) } else { (b, a) };
            found.push(Excluding {
                lower: named(low),
                lower_held: window(*low),
                upper: named(high),
                upper_held: window(*high),
                gap_pct: f64::from(gap) * UNIT_PCT,
            });
        }
    }
    // stable: equal gaps keep the order of the scenarios
    found.sort_by(|a, b| b.gap_pct.total_cmp(&a.gap_pct));
    found
}

/// The coarse position with the greatest least margin; the middle one of equals.
fn best<'a>(tasks: impl Iterator<Item = &'a [Tightest]>) -> Best {
    let mut grid: Vec<Tightest> = coarse().map(|_| Tightest::NONE).collect();
    for line in tasks {
        for (all, one) in grid.iter_mut().zip(line) {
            *all = all.clone().or(one.clone());
        }
    }
    let greatest = grid.iter().map(|t| t.margin).fold(f64::NEG_INFINITY, f64::max);
    let equal: Vec<usize> =
        (0..grid.len()).filter(|i| grid[*i].margin.total_cmp(&greatest).is_eq()).collect();
    let middle = equal[equal.len() / 2];
    Best { pct: coarse().nth(middle).map_or(0.0, pct), tightest: grid[middle].clone() }
}

/// Limits that the chosen scenarios hold their outcomes against, for a report of the inputs.
#[must_use]
pub fn counted(question: &Question) -> Vec<(String, Vec<Limit>)> {
    let limits = |s: &Scenario| {
        let case = Case { setup: question.setup.clone(), scenario: s.clone() };
        Task::new(case, &question.without).limits
    };
    question.scenarios.iter().map(|s| (s.name.clone(), limits(s))).collect()
}
