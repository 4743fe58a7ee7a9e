//! A session led by what `next` knows: what is seen at each trial moves a cloud of draws, its middle says where the way
//! is likely to end, and the draws which setting to turn first. The settings are turned one at a time.

use kneedamp::error::SimError;
use kneedamp::joint::SettingName;
use kneedamp::numerics::random::Draw;
use kneedamp::study::adjust::{Position, SYMPTOMS, SearchOptions, TrialResult, excess};
use kneedamp::study::next::evidence::{BLUR, LAPSE};
use kneedamp::study::next::steps::of_settings;
use kneedamp::study::next::way::{FAIR_MARGIN, changes};
use kneedamp::study::next::{Grade, Observation, Population, Step, Trials};

use crate::MOST_TRIALS;
use crate::cloud::Cloud;
use crate::person::{Book, Hidden, Known, SETTINGS_WITHIN_PCT};
use crate::tally::{Calibration, Outcome};

/// Draws that try every step where the chances are checked.
const TRIES: usize = 48;
/// Seed of the draws that `next` makes; of the watcher's errors; of draws made anew.
const SEEDS: [u64; 3] = [81, 82, 83];
/// Changes after which a session is given up.
const MOST_CHANGES: usize = 40;
/// Other draws asked for their way where the middle knows none that is new.
const ASKED: usize = 4;

/// One session from where the settings are said to be; the chances of every step are checked if asked for.
pub fn session(
    known: &Known,
    (start, at): (Population, Position),
    hidden: &Hidden,
    mut calibration: Option<&mut Calibration>,
) -> Result<Outcome, SimError> {
    let mut population = start;
    let cloud = Cloud::new(&mut population);
    let mut leader = Leader {
        known,
        at,
        cloud,
        population,
        random: Draw::new(SEEDS[2], u64::from(known.n)),
        watcher: Draw::new(SEEDS[1], u64::from(known.n)),
        left: vec![],
    };
    let mut book = Book::new(hidden);
    let mut set_up = false;
    while book.trials() < MOST_TRIALS && leader.left.len() < MOST_CHANGES {
        let Some(complaints) = leader.test(&mut book)? else {
            set_up = true;
            break;
        };
        if let Some(calibration) = calibration.as_deref_mut() {
            leader.calibrate(&complaints, calibration)?;
        }
        let Some(steps) = leader.choose()? else { break };
        leader.turn(&steps);
    }
    Ok(Outcome { set_up, trials: book.trials(), unsafe_trials: book.unsafe_trials })
}

/// What `next` holds plausible at the start.
pub fn plausible(known: &Known, pct: f64) -> Result<(Population, Position), SimError> {
    let setup = known.setup(pct)?;
    let at = Position::of(&setup.resolve()?.knee.settings);
    Ok((Population::new(&setup, known.scenarios, known.file, (SETTINGS_WITHIN_PCT, SEEDS[0]))?, at))
}

struct Leader<'a> {
    known: &'a Known<'a>,
    at: Position,
    cloud: Cloud,
    population: Population,
    random: Draw,
    watcher: Draw,
    left: Vec<Position>,
}

impl Leader<'_> {
    fn turn(&mut self, steps: &[Step]) {
        self.left.push(self.at);
        for step in steps {
            self.at = moved(self.at, *step).unwrap_or(self.at);
            self.population.take(*step);
        }
    }

    /// Tests the scenarios in order up to the first that is not within; none if all are. What is seen in each new
    /// trial moves the draws.
    fn test(&mut self, book: &mut Book) -> Result<Option<Vec<Observation>>, SimError> {
        for i in 0..self.known.scenarios.len() {
            let (result, new) = book.run(self.at, i)?;
            let seen = self.watch(i, &result);
            if new {
                let draws = &self.cloud.weighted.draws;
                let likely = self.population.likelihoods(draws, &seen, None, &[], &|| ())?;
                self.cloud.learn(&likely, &mut self.population, &mut self.random);
            }
            if !crate::person::within(&result) {
                return Ok(Some(seen.into_iter().filter(|o| o.grade != Grade::None).collect()));
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

    /// The changes to where the middle is likely to end, else other draws; none if nothing new is left.
    fn choose(&mut self) -> Result<Option<Vec<Step>>, SimError> {
        let middle = self.population.middle(&self.cloud.weighted);
        let others: Vec<Vec<f64>> =
            self.cloud.weighted.pick(ASKED).iter().map(|d| self.population.point(*d)).collect();
        let options = SearchOptions {
            starts: 0,
            shortest_step_pct: 2.0,
            enough: FAIR_MARGIN,
            ..SearchOptions::default()
        };
        for point in std::iter::once(middle).chain(others) {
            let steps = changes(&self.population, &point, options, &|| ())?;
            let place = steps.iter().fold(self.at, |at, s| moved(at, *s).unwrap_or(at));
            if place != self.at && !self.left.contains(&place) {
                return Ok(Some(steps));
            }
        }
        Ok(None)
    }

    /// What every step was given, and what it does in truth. These runs are no trials: nobody walks.
    fn calibrate(&self, complaints: &[Observation], calibration: &mut Calibration) -> Result<(), SimError> {
        let steps = of_settings(&self.known.setup(50.0)?, None, 1.0)?;
        let steps: Vec<Step> = steps.into_iter().filter(|s| moved(self.at, *s).is_some()).collect();
        let picked = self.cloud.weighted.pick(TRIES);
        let scores = Trials::run(&self.population, &picked, complaints, &steps, &|| ())?.scores(&steps).1;
        let mut here = self.known.setup(50.0)?;
        here.settings = self.at.settings();
        let truth = Hidden::values(self.known, &here)?;
        let true_scores = Trials::run(&truth, &[self.known.n], complaints, &steps, &|| ())?.scores(&steps).1;
        let best = scores.iter().find(|s| s.value() > 0.0).map(|s| s.step);
        for score in &scores {
            let good = true_scores.iter().any(|t| t.step == score.step && t.good == 1);
            let given = score.good as f64 / score.tried.max(1) as f64;
            calibration.add(given, good, best.is_some_and(|b| b == score.step));
        }
        Ok(())
    }
}

fn moved(at: Position, step: Step) -> Option<Position> {
    at.moved(SettingName::parse(step.key)?, step.by)
}
