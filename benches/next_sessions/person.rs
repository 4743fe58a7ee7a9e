//! A person of the trial: what is known, and what is true.

use std::collections::BTreeMap;

use kneedamp::case::inputs::input;
use kneedamp::case::setup::Setup;
use kneedamp::error::SimError;
use kneedamp::joint::SettingName;
use kneedamp::library::Library;
use kneedamp::numerics::random::Draw;
use kneedamp::scenario::uncertainty_file::{Around, UncertaintyFile};
use kneedamp::scenario::{ActivityKind, Scenario};
use kneedamp::study::adjust::{Position, SearchOptions, TrialResult, assess, search};
use kneedamp::study::next::Population;
use kneedamp::units::Setting;

/// Whoever leads knows the settings to within this, percentage points.
pub const SETTINGS_WITHIN_PCT: f64 = 5.0;
/// The true values lie in ranges so much wider than `next` takes them.
const WIDER: f64 = 1.5;
/// Seeds of what is known, of what is true.
const SEEDS: [u64; 2] = [71, 72];

/// What is known of a person.
#[derive(Clone, Copy)]
pub struct Known<'a> {
    pub library: &'a Library,
    pub scenarios: &'a [Scenario],
    pub file: &'a UncertaintyFile,
    pub n: u32,
}

impl Known<'_> {
    /// The person with every setting at the same percentage.
    pub fn setup(&self, pct: f64) -> Result<Setup, SimError> {
        let mut draw = Draw::new(SEEDS[0], u64::from(self.n));
        let mut setup = Setup::new(
            self.library.person("75-kg")?,
            self.library.prosthesis("typical")?,
            self.library.knee("built-in")?,
            self.library.walking_drive("users-2020")?,
        );
        let (mass, per_m2) = (draw.within(50.0, 100.0), draw.within(20.0, 32.0));
        setup.person.mass_kg = mass;
        setup.person.stature_given_m = Some((mass / per_m2).sqrt().clamp(1.5, 2.0));
        for name in SettingName::ALL {
            setup.settings.set(name, Setting::from_pct(name.as_str(), pct)?);
        }
        Ok(setup)
    }
}

/// The true person and joint.
pub struct Hidden {
    pub setup: Setup,
    pub scenarios: Vec<Scenario>,
    /// Where each setting really is, less where it is said to be.
    offsets: BTreeMap<SettingName, f64>,
}

impl Hidden {
    /// What is true where the settings are said to be as in a set-up; the person is draw `n`. The speed stays as it
    /// is, since everybody sees it.
    pub fn values(known: &Known, setup: &Setup) -> Result<Population, SimError> {
        let mut wide = known.file.clone();
        wide.inputs.retain(|u| u.input != "speed_m_per_s");
        for u in &mut wide.inputs {
            let (middle, half) = (0.5 * (u.low + u.high), 0.5 * WIDER * (u.high - u.low));
            (u.low, u.high) = (middle - half, middle + half);
            if u.around == Around::Zero {
                let input = input(&u.input)?;
                (u.low, u.high) = (u.low.max(input.least), u.high.min(input.most));
            }
        }
        Population::new(setup, known.scenarios, &wide, (WIDER * SETTINGS_WITHIN_PCT, SEEDS[1]))
    }

    /// The person as a set-up and scenarios of their own.
    pub fn draw(known: &Known, setup: &Setup) -> Result<Self, SimError> {
        let (true_setup, scenarios) = {
            let truth = Self::values(known, setup)?;
            truth.person(&truth.point(known.n))?
        };
        let mut offsets = BTreeMap::new();
        for name in SettingName::ALL {
            if let Some((s, r)) = setup.settings.get(name).zip(true_setup.settings.get(name)) {
                offsets.insert(name, r.pct() - s.pct());
            }
        }
        Ok(Self { setup: true_setup, scenarios, offsets })
    }

    /// Whether a search that knows everything finds a position within every limit.
    pub fn can_be_set_up(&self) -> Result<bool, SimError> {
        let options = SearchOptions { starts: 1, enough: 0.0, ..SearchOptions::default() };
        let start = Position::of(&self.setup.resolve()?.knee.settings);
        Ok(search(&self.setup, &self.scenarios, &[start], options, &|| ())?.results.iter().all(within))
    }

    /// A scenario with the settings said to be at a position.
    pub fn trial(&self, said: Position, scenario: usize) -> Result<TrialResult, SimError> {
        let mut setup = self.setup.paced_for(&self.scenarios[scenario]);
        for (name, offset) in &self.offsets {
            if let Some(pct) = said.pct(*name) {
                setup.settings.set(*name, Setting::clamped((pct + offset) / 100.0));
            }
        }
        assess(setup.trial(&self.scenarios[scenario])?)
    }
}

/// Scenarios from the safest to the rest, as a session of `adjust` tests them.
pub fn in_safe_order(scenarios: &mut [Scenario]) {
    use ActivityKind::{Ramp, Sit, Stairs, Stand, Stumble, Walk};
    let rank =
        |s: &Scenario| [Stand, Stumble, Walk, Sit, Ramp, Stairs].iter().position(|k| *k == s.activity.kind());
    scenarios.sort_by_key(rank);
}

/// Scenarios tried so far, counted.
pub struct Book<'a> {
    hidden: &'a Hidden,
    results: BTreeMap<(Position, usize), TrialResult>,
    pub unsafe_trials: usize,
}

impl<'a> Book<'a> {
    pub fn new(hidden: &'a Hidden) -> Self {
        Self { hidden, results: BTreeMap::new(), unsafe_trials: 0 }
    }

    pub fn trials(&self) -> usize {
        self.results.len()
    }

    /// The result, and whether it is new.
    pub fn run(&mut self, said: Position, scenario: usize) -> Result<(TrialResult, bool), SimError> {
        if let Some(known) = self.results.get(&(said, scenario)) {
            return Ok((known.clone(), false));
        }
        let result = self.hidden.trial(said, scenario)?;
        self.unsafe_trials += usize::from(result.danger.is_some());
        self.results.insert((said, scenario), result.clone());
        Ok((result, true))
    }

    /// The first scenario that is not within, if any.
    pub fn first_complaint(&mut self, said: Position) -> Result<Option<usize>, SimError> {
        for i in 0..self.hidden.scenarios.len() {
            if !within(&self.run(said, i)?.0) {
                return Ok(Some(i));
            }
        }
        Ok(None)
    }
}

/// Every limit is within.
pub fn within(result: &TrialResult) -> bool {
    result.assessment.as_ref().is_ok_and(|a| a.holds())
}
