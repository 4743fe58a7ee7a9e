//! A session at work: looks, attempts, re-checks, the log; the rules are those of [`crate::study::adjust::session`].

use std::collections::{BTreeMap, BTreeSet};

use super::session::{Came, Change, End, Entry, Session, SessionOptions, Stage, Unmended, said};
use super::symptoms::{Situation, Symptom, Turn, Way, named};
use super::trials::{Book, Danger, Look, Position, look};
use crate::error::SimError;
use crate::joint::SettingName;

/// Change of a relative margin that counts as seen: 0.08° of heel rise, 0.4 ms of time straight.
const LEAST_SEEN: f64 = 0.01;
/// Steps without any difference after which a rule is given up, if it leads away from support and a
/// number could show the difference.
const PATIENCE: usize = 4;
enum Attempt {
    Kept,
    Refused,
    OutOfTrials,
}

/// What is not right in an activity: symptom, the limits that show it by their index, margin.
struct Wrong {
    symptom: Option<&'static Symptom>,
    limits: Vec<usize>,
    margin: f64,
    /// Shown by a word or by what does not happen, which a step may leave as it is.
    unmeasured: bool,
    seen: String,
}

/// Identity of a change: settings it starts from, scenario, symptom, setting, way.
type Key = (Position, usize, &'static str, SettingName, Way);

/// A rule of thumb with its setting where it is: scenario, symptom, setting, way, place.
type Rule = (usize, &'static str, SettingName, Way, Option<i64>);

pub(super) struct Run<'a> {
    book: Book<'a>,
    options: &'a SessionOptions,
    at: Position,
    /// Settings moved on from, and how many activities had been looked at then.
    stood: BTreeMap<Position, usize>,
    /// Stages looked at, in the session's order; one per scenario, the widest.
    looked: Vec<Stage>,
    entries: Vec<Entry>,
    /// Said already of a stage at settings.
    told: BTreeSet<(usize, bool, Position)>,
    /// Refused changes: scenarios looked at then, and why.
    refused: BTreeMap<Key, (usize, String)>,
    /// Rules refused in this round, with the setting's place: tried again only after all others.
    failed: BTreeSet<Rule>,
    round: usize,
    steps: usize,
    kept_steps: usize,
}

impl<'a> Run<'a> {
    pub fn new(book: Book<'a>, options: &'a SessionOptions, at: Position) -> Self {
        Self {
            book,
            options,
            at,
            stood: BTreeMap::new(),
            looked: Vec::new(),
            entries: Vec::new(),
            told: BTreeSet::new(),
            refused: BTreeMap::new(),
            failed: BTreeSet::new(),
            round: 0,
            steps: 0,
            kept_steps: 0,
        }
    }
}

impl Run<'_> {
    /// Rounds until one changes nothing; false if no trial is left.
    pub fn rounds(&mut self, stages: &[Stage]) -> Result<bool, SimError> {
        loop {
            self.round += 1;
            self.failed.clear();
            let before = self.at;
            for stage in stages {
                if !self.stage(stage)? {
                    return Ok(false);
                }
            }
            if self.at == before {
                return Ok(true);
            }
        }
    }

    fn stage(&mut self, stage: &Stage) -> Result<bool, SimError> {
        match self.looked.iter_mut().find(|s| s.scenario == stage.scenario) {
            Some(s) if stage.only.is_none() && s.only.is_some() => *s = stage.clone(),
            Some(_) => {}
            None => self.looked.push(stage.clone()),
        }
        loop {
            let Some(look) = self.book.look(self.at, stage.scenario)?.cloned() else { return Ok(false) };
            if let Err(why) = &look.assessment {
                self.tell(stage, None, String::new(), Came::CannotRun(why.clone()));
                return Ok(true);
            }
            let wrongs = self.wrongs(stage, &look);
            let Some(worst) = wrongs.first() else {
                let seen = look
                    .closest()
                    .map_or_else(String::new, |l| if stage.only.is_some() { String::new() } else { said(l) });
                self.tell(stage, None, seen, Came::Right);
                return Ok(true);
            };
            let mut moved = false;
            for (wrong, turn) in self.candidates(stage.scenario, &wrongs) {
                match self.attempt(stage, wrong, turn)? {
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
                self.tell(stage, worst.symptom, worst.seen.clone(), Came::Unmended(why));
                return Ok(true);
            }
        }
    }

    /// What is not right, the worst first.
    fn wrongs(&self, stage: &Stage, look: &Look) -> Vec<Wrong> {
        let Ok(a) = &look.assessment else { return Vec::new() };
        let kind = self.book.scenarios[stage.scenario].activity.kind();
        let besides = Situation::of(&a.outcomes);
        let mut wrongs: Vec<Wrong> = Vec::new();
        for (i, l) in look.binding().enumerate() {
            if l.holds() || !stage.about(&l.limit) {
                continue;
            }
            let symptom = named(kind, &l.limit, l.value, besides);
            match wrongs.iter_mut().find(|w| symptom.is_some() && w.symptom == symptom) {
                Some(w) => {
                    w.limits.push(i);
                    if l.relative_margin < w.margin {
                        w.margin = l.relative_margin;
                        w.seen = said(l);
                        w.unmeasured = l.value.as_number().is_none();
                    }
                }
                None => wrongs.push(Wrong {
                    symptom,
                    limits: vec![i],
                    margin: l.relative_margin,
                    unmeasured: l.value.as_number().is_none(),
                    seen: said(l),
                }),
            }
        }
        wrongs.sort_by(|a, b| a.margin.total_cmp(&b.margin));
        wrongs
    }

    /// Rules to try: by symptom, or by the order of settings asked for; those refused in this round with the
    /// setting where it is come last.
    fn candidates<'w>(&self, scenario: usize, wrongs: &'w [Wrong]) -> Vec<(&'w Wrong, Turn)> {
        let order = &self.options.order.settings;
        let mut all: Vec<(&Wrong, Turn)> = wrongs
            .iter()
            .flat_map(|w| w.symptom.iter().flat_map(move |s| s.turns.iter().map(move |t| (w, *t))))
            .filter(|(_, t)| self.at.pct(t.setting).is_some())
            .collect();
        let rank = |t: &Turn| order.iter().position(|s| *s == t.setting).unwrap_or(usize::MAX);
        let failed = |w: &Wrong, t: &Turn| {
            w.symptom.is_some_and(|s| self.failed.contains(&self.rule(scenario, s, *t)))
        };
        all.sort_by_key(|(w, t)| (failed(w, t), if order.is_empty() { 0 } else { rank(t) }));
        all
    }

    /// A rule of thumb with the setting where it is.
    fn rule(&self, scenario: usize, symptom: &'static Symptom, t: Turn) -> Rule {
        (scenario, symptom.name, t.setting, t.way, self.at.micro(t.setting))
    }

    fn attempt(&mut self, stage: &Stage, wrong: &Wrong, turn: Turn) -> Result<Attempt, SimError> {
        let Some(symptom) = wrong.symptom else { return Ok(Attempt::Refused) };
        let key: Key = (self.at, stage.scenario, symptom.name, turn.setting, turn.way);
        if self.refused.get(&key).is_some_and(|(looked, _)| *looked == self.looked.len()) {
            return Ok(Attempt::Refused);
        }
        let trials_before = self.book.trials;
        let Some((to, steps, tried)) = self.try_out(stage, wrong, turn)? else {
            return Ok(Attempt::OutOfTrials);
        };
        let change = Change {
            turn,
            from_pct: self.at.pct(turn.setting).unwrap_or(0.0),
            to_pct: to.pct(turn.setting).unwrap_or(0.0),
            steps,
        };
        let came = match tried {
            Err(why) => Came::BackedOut(why),
            Ok(()) => match self.recheck(to, stage.scenario)? {
                None => return Ok(Attempt::OutOfTrials),
                Some(came) => came,
            },
        };
        let (activity, seen) = (stage.name.clone(), wrong.seen.clone());
        let kept = !matches!(came, Came::BackedOut(_));
        if let Came::BackedOut(why) = &came {
            let said = format!("{} {}: {why}", turn.setting, turn.way.as_str());
            self.refused.insert(key, (self.looked.len(), said));
            let rule = self.rule(stage.scenario, symptom, turn);
            self.failed.insert(rule);
        }
        // a rule refused from what was seen before is no walk: it counts no step
        if kept || (steps > 0 && self.book.trials > trials_before) {
            self.steps += steps;
            self.entry(activity, Some(symptom), seen, Some(change), came);
        }
        if !kept {
            return Ok(Attempt::Refused);
        }
        self.stood.insert(self.at, self.looked.len());
        self.at = to;
        self.kept_steps += steps;
        Ok(Attempt::Kept)
    }

    /// Turns the setting until this activity shows a difference. Where to, in how many steps, and whether
    /// the symptom is less; none if no trial is left.
    #[allow(clippy::type_complexity)]
    fn try_out(
        &mut self,
        stage: &Stage,
        wrong: &Wrong,
        turn: Turn,
    ) -> Result<Option<(Position, usize, Result<(), String>)>, SimError> {
        let step =
            self.options.step_pct.or_else(|| self.book.setup.knee.step_pct(turn.setting)).unwrap_or(5.0);
        let patience = if turn.supports() || wrong.unmeasured { usize::MAX } else { PATIENCE };
        let (mut to, mut steps) = (self.at, 0);
        loop {
            if steps >= patience {
                return Ok(Some((to, steps, Err(format!("changes nothing in {steps} steps")))));
            }
            let Some(next) = to.moved(turn.setting, turn.way.sign() * step) else {
                let why = if steps == 0 {
                    "is at the end of its range"
                } else {
                    "changes nothing up to the end of its range"
                };
                return Ok(Some((to, steps, Err(why.into()))));
            };
            if self.stood.get(&next).is_some_and(|looked| *looked >= self.looked.len()) {
                return Ok(Some((to, steps, Err("leads back to settings already left".into()))));
            }
            (to, steps) = (next, steps + 1);
            let Some(look) = self.book.look(to, stage.scenario)? else { return Ok(None) };
            let after = wrong
                .limits
                .iter()
                .filter_map(|i| look.binding().nth(*i))
                .min_by(|a, b| a.relative_margin.total_cmp(&b.relative_margin));
            let Some(after) = after else {
                return Ok(Some((to, steps, Err("the activity cannot be followed there".into()))));
            };
            let gain = after.relative_margin - wrong.margin;
            if gain > LEAST_SEEN {
                return Ok(Some((to, steps, Ok(()))));
            }
            if gain < -LEAST_SEEN {
                return Ok(Some((to, steps, Err(format!("makes it worse ({})", said(after))))));
            }
        }
    }

    /// Everything looked at so far, at new settings; none if no trial is left.
    fn recheck(&mut self, to: Position, mended: usize) -> Result<Option<Came>, SimError> {
        let stages = self.looked.clone();
        let worst_of = |look: &Look, stage: &Stage| {
            if look.assessment.is_err() {
                return look.worst();
            }
            look.binding()
                .filter(|l| stage.about(&l.limit))
                .map(|l| l.relative_margin)
                .fold(f64::INFINITY, f64::min)
        };
        let before: Vec<Option<Look>> =
            stages.iter().map(|s| self.book.known(self.at, s.scenario).cloned()).collect();
        let worst_before = stages
            .iter()
            .zip(&before)
            .filter_map(|(s, l)| Some(worst_of(l.as_ref()?, s)))
            .fold(f64::INFINITY, f64::min);
        let danger = |look: Option<&Look>| look.and_then(|l| l.danger);
        let (was, is) = (danger(self.book.known(self.at, mended)), danger(self.book.known(to, mended)));
        // the gravest danger is the least of its kind
        let safety = was.is_some_and(|was| is.is_none_or(|is| is >= was));
        let mut worst = f64::INFINITY;
        let mut broken: Option<String> = None;
        for (stage, before) in stages.iter().zip(&before) {
            let Some(now) = self.book.look(to, stage.scenario)? else { return Ok(None) };
            let Some(before) = before else { continue };
            let name = &stage.name;
            if let (Ok(_), Err(why)) = (&before.assessment, &now.assessment) {
                return Ok(Some(Came::BackedOut(format!("then {name} cannot be followed: {why}"))));
            }
            let breaks = before
                .binding()
                .zip(now.binding())
                .find(|(b, n)| stage.about(&b.limit) && b.holds() && !n.holds())
                .map(|(_, n)| format!("{name}: {}", said(n)));
            let graver = now
                .danger
                .filter(|d| *d != Danger::Doubtful && before.danger.is_none_or(|b| b == Danger::Doubtful));
            if let (Some(what), Some(danger)) = (&breaks, graver) {
                return Ok(Some(Came::BackedOut(format!("then {what} ({})", danger.as_str()))));
            }
            broken = broken.or(breaks);
            worst = worst.min(worst_of(now, stage));
            if let Some(what) = broken.as_ref().filter(|_| worst <= worst_before + LEAST_SEEN) {
                return Ok(Some(Came::BackedOut(format!("then {what}"))));
            }
            if worst < worst_before - LEAST_SEEN && !safety {
                let what = now.closest().map_or_else(String::new, said);
                return Ok(Some(Came::BackedOut(format!("then the worst gets worse, {name}: {what}"))));
            }
        }
        Ok(Some(broken.map_or(Came::Kept, Came::Compromise)))
    }

    /// What was tried for a symptom from the present settings.
    fn reasons(&self, scenario: usize, symptom: Option<&'static Symptom>) -> Vec<String> {
        let Some(symptom) = symptom else { return Vec::new() };
        let tried = symptom.turns.iter().filter_map(|t| {
            let key: Key = (self.at, scenario, symptom.name, t.setting, t.way);
            self.refused.get(&key).map(|(_, why)| why.clone())
        });
        tried.collect()
    }

    /// Says something of a stage once per settings.
    fn tell(&mut self, stage: &Stage, symptom: Option<&'static Symptom>, seen: String, came: Came) {
        let news = self.round == 1 || self.entries.last().is_none_or(|e| e.trials < self.book.trials);
        if self.told.insert((stage.scenario, stage.only.is_some(), self.at)) && (news || came != Came::Right)
        {
            self.entry(stage.name.clone(), symptom, seen, None, came);
        }
    }

    fn entry(
        &mut self,
        activity: String,
        symptom: Option<&'static Symptom>,
        seen: String,
        change: Option<Change>,
        came: Came,
    ) {
        self.entries.push(Entry {
            round: self.round,
            activity,
            symptom,
            seen,
            change,
            came,
            trials: self.book.trials,
            unsafe_trials: self.book.unsafe_trials(),
        });
    }

    /// The end: every scenario at the last settings. Those not looked at are run for the report alone and
    /// are no trials of the session.
    pub fn close(self, start: Position, in_time: bool) -> Result<Session, SimError> {
        let scenarios = self.book.scenarios;
        let looks = (0..scenarios.len())
            .map(|i| match self.book.known(self.at, i) {
                Some(known) => Ok(known.clone()),
                None => look(self.book.setup, &scenarios[i], self.at),
            })
            .collect::<Result<Vec<Look>, SimError>>()?;
        let mut unmended = Vec::new();
        for (i, look) in looks.iter().enumerate() {
            let stage = Stage { name: scenarios[i].name.clone(), scenario: i, only: None };
            for wrong in self.wrongs(&stage, look) {
                for l in wrong.limits.iter().filter_map(|n| look.binding().nth(*n)) {
                    unmended.push(Unmended {
                        scenario: i,
                        limit: l.limit.clone(),
                        seen: said(l),
                        symptom: wrong.symptom,
                        tried: self.reasons(i, wrong.symptom),
                    });
                }
            }
        }
        let right = unmended.is_empty() && looks.iter().all(|l| l.assessment.is_ok());
        Ok(Session {
            start,
            end: self.at,
            entries: self.entries,
            trials: self.book.trials,
            unsafe_by: self.book.unsafe_by,
            steps: self.steps,
            kept_steps: self.kept_steps,
            ended: match (in_time, right) {
                (false, _) => End::OutOfTrials,
                (true, true) => End::AllRight,
                (true, false) => End::NothingHelps,
            },
            unmended,
            looks,
        })
    }
}
