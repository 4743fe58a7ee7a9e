//! The settings that suit the middle of what is plausible best. The middle is one person, the mean of the draws by
//! weight; the draws tell how often they would do for the others.

use rayon::prelude::*;

use super::population::{Draw, Population, Step};
use super::steps::Trials;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::study::Tick;
use crate::study::adjust::{Position, SearchOptions, search};

/// A worst margin with which the search is content, in units of each limit's scale. \[J\]
const FAIR_MARGIN: f64 = 0.15;

/// The changes to those settings, and what they do in the draws that tried them.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Changes, one per setting that moves.
    pub steps: Vec<Step>,
    /// Draws that tried them.
    pub tried: usize,
    /// Every limit of every scenario is within there.
    pub within: usize,
    /// Something is unsafe there that was not.
    pub harm: usize,
}

impl Way {
    /// Finds the changes and tries them on draws whose trials as it is are known.
    ///
    /// # Errors
    /// A failed integration.
    pub(super) fn find(
        population: &Population,
        middle: &[f64],
        (picked, trials): (&[Draw], &Trials),
        tick: Tick<'_>,
    ) -> Result<Self, SimError> {
        let steps = changes(population, middle, tick)?;
        let one = |(i, draw): (usize, &Draw)| -> Result<[bool; 2], SimError> {
            let (mut within, mut harm) = (true, false);
            for (scenario, before) in trials.as_it_is(i).iter().enumerate() {
                let after = population.run(*draw, scenario, &steps)?;
                within &= after.assessment.as_ref().is_ok_and(|a| a.holds());
                harm |= after.danger.is_some() && before.as_ref().is_some_and(|b| b.danger.is_none());
            }
            Ok([within, harm])
        };
        let all = picked.par_iter().enumerate().map(one).collect::<Result<Vec<_>, _>>()?;
        let count = |k: usize| all.iter().filter(|x| x[k]).count();
        Ok(Self { steps, tried: all.len(), within: count(0), harm: count(1) })
    }
}

/// Changes of the settings, in whole steps of the joint, that a person of the population needs to come to settings within
/// every limit, or as near as a search comes.
fn changes(population: &Population, point: &[f64], tick: Tick<'_>) -> Result<Vec<Step>, SimError> {
    let (setup, scenarios) = population.person(point)?;
    let here = Position::of(&setup.resolve()?.knee.settings);
    let options = SearchOptions { starts: 0, enough: FAIR_MARGIN, ..SearchOptions::default() };
    let best = search(&setup, &scenarios, &[here], options, tick)?.at;
    let step = |name: SettingName| {
        let (change, step) = (best.pct(name)? - here.pct(name)?, setup.knee.step_pct(name)?);
        let by = step * (change / step).round();
        (by.abs() > 0.0).then_some(Step { key: name.as_str(), by })
    };
    Ok(SettingName::ALL.into_iter().filter_map(step).collect())
}
