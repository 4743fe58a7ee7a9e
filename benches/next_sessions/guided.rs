//! A session led by `next`: what is seen at each trial weights the draws, and they say which step to take.

use kneedamp::case::setup::Setup;
use kneedamp::error::SimError;
use kneedamp::joint::SettingName;
use kneedamp::numerics::random::Draw;
use kneedamp::study::adjust::{Position, SYMPTOMS, TrialResult, excess};
use kneedamp::study::next::evidence::{BLUR, LAPSE};
use kneedamp::study::next::steps::of_settings;
use kneedamp::study::next::{Grade, Observation, Population, Step, StepScore, Trials, Weighted};

use crate::MOST_TRIALS;
use crate::person::{Book, Hidden, Known, SETTINGS_WITHIN_PCT};
use crate::tally::{Calibration, Outcome};

/// Draws that are weighted; those that try the steps.
const DRAWS: u32 = 512;
const TRIES: usize = 48;
/// Weights are made flatter until so many equally likely draws remain.
const LEAST_EFFECTIVE: f64 = 32.0;
/// Seed of the draws that `next` makes, and of the watcher's errors.
const SEEDS: [u64; 2] = [81, 82];
/// Several steps of one setting at once, where a single one does no good.
const FURTHER: f64 = 4.0;
/// Changes after which a session is given up; those of them that lose something else.
const MOST_CHANGES: [usize; 2] = [20, 4];

/// One session from where the settings are said to be.
pub fn session(
    known: &Known,
    start: &Setup,
    hidden: &Hidden,
    calibration: &mut Calibration,
) -> Result<Outcome, SimError> {
    let mut leader = Leader {
        known,
        setup: start.clone(),
        at: Position::of(&start.resolve()?.knee.settings),
        weighted: Weighted { draws: (0..DRAWS).collect(), weights: vec![1.0; DRAWS as usize] },
        watcher: Draw::new(SEEDS[1], u64::from(known.n)),
        left: vec![],
        compromises: 0,
    };
    let mut book = Book::new(hidden);
    let mut set_up = false;
    while book.trials() < MOST_TRIALS && leader.left.len() < MOST_CHANGES[0] {
        let Some((complaints, population)) = leader.test(&mut book)? else {
            set_up = true;
            break;
        };
        let Some(to) = leader.choose(&population, &complaints, calibration)? else { break };
        leader.left.push(leader.at);
        leader.go_to(to);
    }
    Ok(Outcome { set_up, trials: book.trials(), unsafe_trials: book.unsafe_trials })
}

struct Leader<'a> {
    known: &'a Known<'a>,
    setup: Setup,
    at: Position,
    weighted: Weighted,
    watcher: Draw,
    left: Vec<Position>,
    /// Changes taken though they were likelier to lose something.
    compromises: usize,
}

impl Leader<'_> {
    fn go_to(&mut self, to: Position) {
        self.at = to;
        self.setup.settings = to.settings();
    }

    /// Tests the scenarios in order up to the first that is not within; none if all are. What is seen in each new
    /// trial weights the draws.
    fn test(&mut self, book: &mut Book) -> Result<Option<(Vec<Observation>, Population)>, SimError> {
        let scenarios = self.known.scenarios;
        let ranges = (SETTINGS_WITHIN_PCT, SEEDS[0]);
        let population = Population::new(&self.setup, scenarios, self.known.file, ranges)?;
        for i in 0..scenarios.len() {
            let (result, new) = book.run(self.at, i)?;
            let seen = self.watch(i, &result);
            if new {
                let likely = population.likelihoods(&self.weighted.draws, &seen, None, &[], &|| ())?;
                self.weighted.weights.iter_mut().zip(likely).for_each(|(w, l)| *w *= l);
                self.flatten();
            }
            if !crate::person::within(&result) {
                let complaints = seen.into_iter().filter(|o| o.grade != Grade::None).collect();
                return Ok(Some((complaints, population)));
            }
        }
        Ok(None)
    }

    /// What a watcher calls every symptom that can occur, with the errors that `next` assumes.
    fn watch(&mut self, i: usize, result: &TrialResult) -> Vec<Observation> {
        let scenario = &self.known.scenarios[i];
        let Ok(assessment) = &result.assessment else { return vec![] };
        let mut of = |symptom| {
            let x = excess(symptom, scenario, assessment)?;
            let u = self.watcher.within(1e-9, 1.0 - 1e-9); // logistic
            let (lapse, word) = (self.watcher.unit() < LAPSE, self.watcher.index(3));
            let grade = match lapse {
                true => [Grade::None, Grade::Slight, Grade::Clear][word],
                false => Grade::of(x + BLUR * (u / (1.0 - u)).ln()),
            };
            Some(Observation { symptom, grade, scenario: Some(scenario.name.clone()) })
        };
        SYMPTOMS
            .iter()
            .filter(|s| s.activities.contains(&scenario.activity.kind()))
            .filter_map(&mut of)
            .collect()
    }

    /// Many trials of words that are not independent would leave a single draw.
    fn flatten(&mut self) {
        let most = self.weighted.weights.iter().copied().fold(0.0, f64::max);
        self.weighted.weights.iter_mut().for_each(|w| *w /= most.max(f64::MIN_POSITIVE));
        while self.weighted.effective() < LEAST_EFFECTIVE {
            self.weighted.weights.iter_mut().for_each(|w| *w = w.powf(0.7));
        }
    }

    /// Where to go next: the best step, else the best of several steps at once, else what does least harm for most
    /// good; none if nothing is left that does more good than harm.
    fn choose(
        &mut self,
        population: &Population,
        complaints: &[Observation],
        calibration: &mut Calibration,
    ) -> Result<Option<Position>, SimError> {
        let picked = self.weighted.pick(TRIES);
        let mut all = vec![];
        for (size, single) in [(1.0, true), (FURTHER, false)] {
            let steps = of_settings(&self.setup, None, size)?;
            let scores = Trials::run(population, &picked, complaints, &steps, &|| ())?.scores(&steps).1;
            if single {
                self.calibrate(&scores, complaints, calibration)?;
            }
            let best = scores.iter().filter(|s| s.value() > 0.0).find_map(|s| self.new_place(s));
            if best.is_some() {
                return Ok(best);
            }
            all.extend(scores);
        }
        self.compromises += 1;
        if self.compromises > MOST_CHANGES[1] {
            return Ok(None);
        }
        let relief = |s: &StepScore| {
            let change: f64 = s.change.iter().flatten().sum();
            -change - 2.0 * s.harm as f64 / s.tried.max(1) as f64
        };
        all.sort_by(|a, b| relief(b).total_cmp(&relief(a)));
        Ok(all.iter().filter(|s| relief(s) > 0.0).find_map(|s| self.new_place(s)))
    }

    /// The position after a step, if the session has not been there.
    fn new_place(&self, score: &StepScore) -> Option<Position> {
        let to = moved(self.at, score.step?)?;
        (!self.left.contains(&to)).then_some(to)
    }

    /// What every step was given, and what it does in truth. These runs are no trials: nobody walks.
    fn calibrate(
        &self,
        scores: &[StepScore],
        complaints: &[Observation],
        calibration: &mut Calibration,
    ) -> Result<(), SimError> {
        let steps: Vec<Step> = scores.iter().filter_map(|s| s.step).collect();
        let truth = Hidden::values(self.known, &self.setup)?;
        let true_scores = Trials::run(&truth, &[self.known.n], complaints, &steps, &|| ())?.scores(&steps).1;
        let best = scores.iter().filter(|s| s.value() > 0.0).find(|s| self.new_place(s).is_some());
        for score in scores.iter().filter(|s| s.step.is_some_and(|s| moved(self.at, s).is_some())) {
            let good = true_scores.iter().any(|t| t.step == score.step && t.good == 1);
            let given = score.good as f64 / score.tried.max(1) as f64;
            calibration.add(given, good, best.is_some_and(|b| b.step == score.step));
        }
        Ok(())
    }
}

fn moved(at: Position, step: Step) -> Option<Position> {
    at.moved(SettingName::parse(step.key)?, step.by)
}
