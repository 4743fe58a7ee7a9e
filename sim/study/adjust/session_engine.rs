//! The fitting session at work: test an activity, name the symptom, change one setting by one step, test again
//! what was tested before, keep the change or back it out.
//!
//! **Order.** Stand, stumble, landing; then walking; then chair, ramp and stairs; then walking again; the
//! whole round again until a round changes nothing.
//! **A change** follows a rule of thumb for the symptom that is furthest outside its limit. While the activity
//! shows no difference, the setting moves on in the same direction, step by step, while all that was met still is: to
//! the end of its range towards more support or where the outcome is not reached at all, else for four steps.
//! **It is kept** if the symptom is less and `sim/study/adjust/acceptance.rs` accepts it. Otherwise it is backed
//! out and the next rule tried.
//! **It goes back** at the end to the best of the settings that it has left, if more limits are met there.
//! **It ends**: every change lies on a grid of steps; the session returns to settings that it has left only if
//! it has tested more activities since, which it can do no more often than there are activities; and trials
//! are bounded.

use std::collections::{BTreeMap, BTreeSet};

use super::acceptance::{LEAST_DIFFERENCE, accept_change, first_loss};
use super::problems::{Problem, problems};
use super::session::{LogEntry, Session, SessionEnd, SessionOptions, SettingChange, StepOutcome, UnmetLimit};
use super::stages::Stage;
use super::symptoms::{Adjustment, Direction, Symptom};
use super::text::limit_text;
use super::trials::{Position, TrialCache, TrialResult, run_trial};
use crate::error::SimError;
use crate::joint::SettingName;
use crate::study::text::count;

/// Steps without any difference after which a rule is given up, if it leads away from support and a
/// number could show the difference.
const PATIENCE: usize = 4;

enum Attempt {
    Kept,
    Refused,
    OutOfTrials,
}

/// Where a rule of thumb leads before anything else is tested again.
struct Probe {
    to: Position,
    steps: usize,
    /// The symptom is less there; else why the rule is given up.
    result: Result<(), String>,
}

/// Identity of a change: settings it starts from, scenario, symptom, setting, direction.
type ChangeKey = (Position, usize, &'static str, SettingName, Direction);

/// A rule of thumb at the setting's present value: scenario, symptom, setting, direction, value.
type RuleKey = (usize, &'static str, SettingName, Direction, Option<i64>);

pub(super) struct SessionEngine<'a> {
    cache: TrialCache<'a>,
    options: &'a SessionOptions,
    at: Position,
    /// Settings that the session has left, and how many activities had been tested then.
    left: BTreeMap<Position, usize>,
    /// Stages tested, in the session's order; one per scenario, the widest.
    tested: Vec<Stage>,
    log: Vec<LogEntry>,
    /// Stages already reported at certain settings.
    reported: BTreeSet<(usize, bool, Position)>,
    /// Refused changes: how many scenarios had been tested then, and why.
    refused: BTreeMap<ChangeKey, (usize, String)>,
    /// Rules refused in this round: tried again only after all others.
    failed: BTreeSet<RuleKey>,
    round: usize,
    steps: usize,
    kept_steps: usize,
}

impl<'a> SessionEngine<'a> {
    pub fn new(cache: TrialCache<'a>, options: &'a SessionOptions, at: Position) -> Self {
        Self {
            cache,
            options,
            at,
            left: BTreeMap::new(),
            tested: Vec::new(),
            log: Vec::new(),
            reported: BTreeSet::new(),
            refused: BTreeMap::new(),
            failed: BTreeSet::new(),
            round: 0,
            steps: 0,
            kept_steps: 0,
        }
    }
}

impl SessionEngine<'_> {
    /// Rounds until one changes nothing; false if no trial is left.
    pub fn run_rounds(&mut self, stages: &[Stage]) -> Result<bool, SimError> {
        loop {
            self.round += 1;
            self.failed.clear();
            let before = self.at;
            for stage in stages {
                if !self.run_stage(stage)? {
                    return Ok(false);
                }
            }
            if self.at == before {
                return Ok(true);
            }
        }
    }

    /// Tests an activity and changes settings until it is within limits or nothing helps; false if no trial
    /// is left.
    fn run_stage(&mut self, stage: &Stage) -> Result<bool, SimError> {
        match self.tested.iter_mut().find(|s| s.scenario == stage.scenario) {
            Some(s) if stage.only.is_none() && s.only.is_some() => *s = stage.clone(),
            Some(_) => {}
            None => self.tested.push(stage.clone()),
        }
        loop {
            let Some(result) = self.cache.run(self.at, stage.scenario)?.cloned() else { return Ok(false) };
            if let Err(why) = &result.assessment {
                self.report_stage(stage, None, String::new(), StepOutcome::CannotRun(why.to_string()));
                return Ok(true);
            }
            let problems = self.problems(stage, &result);
            let Some(worst) = problems.first() else {
                let closest = result.closest().filter(|_| stage.only.is_none());
                let observed = closest.map_or_else(String::new, limit_text);
                self.report_stage(stage, None, observed, StepOutcome::WithinLimits);
                return Ok(true);
            };
            let mut moved = false;
            for (problem, adjustment) in self.candidates(stage.scenario, &problems) {
                match self.attempt(stage, problem, adjustment)? {
                    Attempt::Kept => {
                        moved = true;
                        break;
                    }
                    Attempt::OutOfTrials => return Ok(false),
                    Attempt::Refused => {}
                }
            }
            if !moved {
                let why = self.reasons(stage.scenario, worst.symptom).join("; ");
                let outcome = StepOutcome::NothingHelps(why);
                self.report_stage(stage, worst.symptom, worst.observed.clone(), outcome);
                return Ok(true);
            }
        }
    }

    fn problems(&self, stage: &Stage, result: &TrialResult) -> Vec<Problem> {
        problems(self.cache.scenarios[stage.scenario].activity.kind(), stage, result)
    }

    /// Rules to try: by symptom, or by the order of settings asked for; those refused in this round at the
    /// setting's present value come last.
    fn candidates<'p>(&self, scenario: usize, problems: &'p [Problem]) -> Vec<(&'p Problem, Adjustment)> {
        let order = &self.options.order.settings;
        let mut all: Vec<(&Problem, Adjustment)> = problems
            .iter()
            .flat_map(|p| p.symptom.iter().flat_map(move |s| s.adjustments.iter().map(move |a| (p, *a))))
            .filter(|(_, a)| self.at.pct(a.setting).is_some())
            .collect();
        let rank = |a: &Adjustment| order.iter().position(|s| *s == a.setting).unwrap_or(usize::MAX);
        let failed = |p: &Problem, a: &Adjustment| {
            p.symptom.is_some_and(|s| self.failed.contains(&self.rule_key(scenario, s, *a)))
        };
        all.sort_by_key(|(p, a)| (failed(p, a), if order.is_empty() { 0 } else { rank(a) }));
        all
    }

    fn rule_key(&self, scenario: usize, symptom: &'static Symptom, a: Adjustment) -> RuleKey {
        (scenario, symptom.name, a.setting, a.direction, self.at.micro(a.setting))
    }

    fn change_key(&self, scenario: usize, symptom: &'static Symptom, a: Adjustment) -> ChangeKey {
        (self.at, scenario, symptom.name, a.setting, a.direction)
    }

    /// Tries a rule of thumb, and keeps the change or backs it out.
    fn attempt(
        &mut self,
        stage: &Stage,
        problem: &Problem,
        adjustment: Adjustment,
    ) -> Result<Attempt, SimError> {
        let Some(symptom) = problem.symptom else { return Ok(Attempt::Refused) };
        let key = self.change_key(stage.scenario, symptom, adjustment);
        if self.refused.get(&key).is_some_and(|(tested, _)| *tested == self.tested.len()) {
            return Ok(Attempt::Refused);
        }
        let trials_before = self.cache.trials;
        let Some(Probe { to, steps, result }) = self.probe(stage, problem, adjustment)? else {
            return Ok(Attempt::OutOfTrials);
        };
        let change = SettingChange {
            adjustment,
            from_pct: self.at.pct(adjustment.setting).unwrap_or(0.0),
            to_pct: to.pct(adjustment.setting).unwrap_or(0.0),
            steps,
        };
        let outcome = match result {
            Err(why) => StepOutcome::BackedOut(why),
            Ok(()) => match accept_change(&mut self.cache, &self.tested, self.at, to, stage.scenario)? {
                None => return Ok(Attempt::OutOfTrials),
                Some(outcome) => outcome,
            },
        };
        let kept = !matches!(outcome, StepOutcome::BackedOut(_));
        if let StepOutcome::BackedOut(why) = &outcome {
            let text = format!("{} {}: {why}", adjustment.setting, adjustment.direction.as_str());
            self.refused.insert(key, (self.tested.len(), text));
            let rule = self.rule_key(stage.scenario, symptom, adjustment);
            self.failed.insert(rule);
        }
        // a rule refused from known trials was not tried on the person: it counts no step
        if kept || (steps > 0 && self.cache.trials > trials_before) {
            self.steps += steps;
            let observed = problem.observed.clone();
            self.add_entry(&stage.name, Some(symptom), observed, Some(change), outcome);
        }
        if !kept {
            return Ok(Attempt::Refused);
        }
        self.left.insert(self.at, self.tested.len());
        self.at = to;
        self.kept_steps += steps;
        Ok(Attempt::Kept)
    }

    /// Moves the setting until this activity shows a difference; none if no trial is left.
    fn probe(
        &mut self,
        stage: &Stage,
        problem: &Problem,
        adjustment: Adjustment,
    ) -> Result<Option<Probe>, SimError> {
        let setting = adjustment.setting;
        let step = self.options.step_pct.or_else(|| self.cache.setup.knee.step_pct(setting)).unwrap_or(5.0);
        let patience = if adjustment.adds_support() || problem.unmeasured { usize::MAX } else { PATIENCE };
        let (mut to, mut steps) = (self.at, 0);
        let given_up = |to, steps, why: String| Ok(Some(Probe { to, steps, result: Err(why) }));
        loop {
            if steps >= patience {
                return given_up(to, steps, format!("changes nothing in {steps} steps"));
            }
            let Some(next) = to.moved(setting, adjustment.direction.factor() * step) else {
                let why = if steps == 0 {
                    "is at the end of its range"
                } else {
                    "changes nothing up to the end of its range"
                };
                return given_up(to, steps, why.into());
            };
            if self.left.get(&next).is_some_and(|tested| *tested >= self.tested.len()) {
                return given_up(to, steps, "leads back to settings already left".into());
            }
            (to, steps) = (next, steps + 1);
            let Some(result) = self.cache.run(to, stage.scenario)? else { return Ok(None) };
            let after = problem
                .limits
                .iter()
                .filter_map(|limit| result.all().find(|l| l.limit == *limit))
                .min_by(|a, b| a.relative_margin.total_cmp(&b.relative_margin));
            let Some(after) = after else {
                return given_up(to, steps, "the activity cannot be followed there".into());
            };
            let gain = after.relative_margin - problem.margin;
            if gain > LEAST_DIFFERENCE {
                return Ok(Some(Probe { to, steps, result: Ok(()) }));
            }
            if gain < -LEAST_DIFFERENCE {
                return given_up(to, steps, format!("makes it worse ({})", limit_text(after)));
            }
            // no difference yet: before the next step, what was met is tested again
            match first_loss(&mut self.cache, &self.tested, self.at, to)? {
                None => return Ok(None),
                Some(Some(what)) => return given_up(to, steps, format!("changes nothing, and then {what}")),
                Some(None) => {}
            }
        }
    }

    /// What was tried for a symptom from the present settings.
    fn reasons(&self, scenario: usize, symptom: Option<&'static Symptom>) -> Vec<String> {
        let Some(symptom) = symptom else { return Vec::new() };
        let tried = symptom.adjustments.iter().filter_map(|a| {
            self.refused.get(&self.change_key(scenario, symptom, *a)).map(|(_, why)| why.clone())
        });
        tried.collect()
    }

    /// Logs a stage, once per settings.
    fn report_stage(
        &mut self,
        stage: &Stage,
        symptom: Option<&'static Symptom>,
        observed: String,
        outcome: StepOutcome,
    ) {
        let news = self.round == 1 || self.log.last().is_none_or(|e| e.trials < self.cache.trials);
        if self.reported.insert((stage.scenario, stage.only.is_some(), self.at))
            && (news || outcome != StepOutcome::WithinLimits)
        {
            self.add_entry(&stage.name, symptom, observed, None, outcome);
        }
    }

    fn add_entry(
        &mut self,
        activity: &str,
        symptom: Option<&'static Symptom>,
        observed: String,
        change: Option<SettingChange>,
        outcome: StepOutcome,
    ) {
        self.log.push(LogEntry {
            round: self.round,
            activity: activity.to_owned(),
            symptom,
            observed,
            change,
            outcome,
            trials: self.cache.trials,
            unsafe_trials: self.cache.unsafe_trials(),
        });
    }

    /// The session as it ended: every scenario at the last settings. Those that were not tested there are run
    /// for the report alone and do not count as trials.
    pub fn finish(mut self, start: Position, in_time: bool) -> Result<Session, SimError> {
        self.return_to_best()?;
        let final_results = self.results_at(self.at)?;
        let unmet = self.unmet_limits(&final_results);
        let all_met = unmet.is_empty() && final_results.iter().all(|r| r.assessment.is_ok());
        Ok(Session {
            start,
            end: self.at,
            log: self.log,
            trials: self.cache.trials,
            unsafe_by: self.cache.unsafe_by,
            steps: self.steps,
            kept_steps: self.kept_steps,
            ended: match (in_time, all_met) {
                (false, _) => SessionEnd::OutOfTrials,
                (true, true) => SessionEnd::AllWithinLimits,
                (true, false) => SessionEnd::NothingHelps,
            },
            unmet,
            final_results,
        })
    }

    /// Every scenario at these settings.
    fn results_at(&self, at: Position) -> Result<Vec<TrialResult>, SimError> {
        let scenarios = self.cache.scenarios;
        (0..scenarios.len())
            .map(|i| match self.cache.known(at, i) {
                Some(known) => Ok(known.clone()),
                None => run_trial(self.cache.setup, &scenarios[i], at),
            })
            .collect()
    }

    /// Limits not met at these settings, a scenario that cannot run counted as one, and the worst margin.
    fn unmet_at(&self, at: Position) -> Result<(usize, f64), SimError> {
        let results = self.results_at(at)?;
        let cannot_run = results.iter().filter(|r| r.assessment.is_err()).count();
        let worst = results.iter().map(TrialResult::worst).fold(f64::INFINITY, f64::min);
        Ok((self.unmet_limits(&results).len() + cannot_run, worst))
    }

    /// Goes back to settings that the session has left, if fewer limits are not met there, or as many and the worst
    /// margin is better: a session does not end worse than it began.
    fn return_to_best(&mut self) -> Result<(), SimError> {
        let end = self.unmet_at(self.at)?;
        let (mut best, mut place) = (end, self.at);
        if end.0 == 0 {
            return Ok(());
        }
        for at in self.left.keys().copied().collect::<Vec<_>>() {
            let (unmet, worst) = self.unmet_at(at)?;
            if unmet < best.0 || (unmet == best.0 && worst > best.1 + LEAST_DIFFERENCE) {
                (best, place) = ((unmet, worst), at);
            }
        }
        if place == self.at {
            return Ok(());
        }
        self.at = place;
        let why = if best.0 < end.0 {
            format!("{} not met there, {} where the session had come to", count(best.0, "limit"), end.0)
        } else {
            "as many limits are met there, and the worst margin is better".to_owned()
        };
        self.add_entry("end", None, String::new(), None, StepOutcome::Returned(why));
        Ok(())
    }

    fn unmet_limits(&self, final_results: &[TrialResult]) -> Vec<UnmetLimit> {
        let mut unmet = Vec::new();
        for (scenario, result) in final_results.iter().enumerate() {
            let stage = Stage::whole(scenario, &self.cache.scenarios[scenario].name);
            for problem in self.problems(&stage, result) {
                for l in result.binding().filter(|l| problem.limits.contains(&l.limit)) {
                    unmet.push(UnmetLimit {
                        scenario,
                        limit: l.limit.clone(),
                        observed: limit_text(l),
                        symptom: problem.symptom,
                        tried: self.reasons(scenario, problem.symptom),
                    });
                }
            }
        }
        unmet
    }
}
