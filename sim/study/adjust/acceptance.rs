//! Whether a change is kept: every activity tested so far is run again at the new settings.
//!
//! It is kept if (1) every limit that was met still is and the worst margin is no worse (unless the change makes
//! an unsafe trial safer: safety first), or (2) the worst margin is better and nothing gives way, drops or goes
//! without support that did not before; a limit, a landing for instance, may become doubtful.

use super::session::StepOutcome;
use super::stages::Stage;
use super::text::limit_text;
use super::trials::{Danger, Position, TrialCache, TrialResult};
use crate::error::SimError;

/// Change of a relative margin that counts as a difference: 0.08° of heel rise, 0.4 ms of time straight.
pub(super) const LEAST_DIFFERENCE: f64 = 0.01;

/// Worst margin of the limits that count in a stage.
fn worst_margin(result: &TrialResult, stage: &Stage) -> f64 {
    if result.assessment.is_err() {
        return result.worst();
    }
    result
        .binding()
        .filter(|l| stage.covers(&l.limit))
        .map(|l| l.relative_margin)
        .fold(f64::INFINITY, f64::min)
}

/// The first limit of a stage that was met and is not now: broken or doubtful, or there is no result any more.
fn no_longer_met(stage: &Stage, before: &TrialResult, now: &TrialResult) -> Option<String> {
    let before = before.assessment.as_ref().ok()?;
    let now = match &now.assessment {
        Ok(now) => now,
        Err(why) => return Some(format!("{}: {why}", stage.name)),
    };
    let mut lost = before.no_longer_within(now);
    lost.find(|l| stage.covers(&l.limit)).map(|l| format!("{}: {}", stage.name, limit_text(l)))
}

/// The first limit that was met in a stage and is not after a change; the inner none if there is none, the outer if no
/// trial is left.
pub(super) fn first_loss(
    cache: &mut TrialCache<'_>,
    stages: &[Stage],
    from: Position,
    to: Position,
) -> Result<Option<Option<String>>, SimError> {
    for stage in stages {
        let Some(before) = cache.known(from, stage.scenario).cloned() else { continue };
        let Some(now) = cache.run(to, stage.scenario)? else { return Ok(None) };
        if let Some(what) = no_longer_met(stage, &before, now) {
            return Ok(Some(Some(what)));
        }
    }
    Ok(Some(None))
}

/// Whether a change from `from` to `to`, made for `scenario`, is kept; none if no trial is left.
pub(super) fn accept_change(
    cache: &mut TrialCache<'_>,
    stages: &[Stage],
    from: Position,
    to: Position,
    scenario: usize,
) -> Result<Option<StepOutcome>, SimError> {
    let before: Vec<Option<TrialResult>> =
        stages.iter().map(|s| cache.known(from, s.scenario).cloned()).collect();
    let worst_before = stages
        .iter()
        .zip(&before)
        .filter_map(|(s, r)| Some(worst_margin(r.as_ref()?, s)))
        .fold(f64::INFINITY, f64::min);
    let danger = |result: Option<&TrialResult>| result.and_then(|r| r.danger);
    let (was, is) = (danger(cache.known(from, scenario)), danger(cache.known(to, scenario)));
    // the gravest danger is the least of its kind
    let safer = was.is_some_and(|was| is.is_none_or(|is| is >= was));
    let mut worst = f64::INFINITY;
    let mut lost: Option<String> = None;
    for (stage, before) in stages.iter().zip(&before) {
        let Some(now) = cache.run(to, stage.scenario)? else { return Ok(None) };
        let Some(before) = before else { continue };
        let name = &stage.name;
        if let (Ok(_), Err(why)) = (&before.assessment, &now.assessment) {
            return backed_out(format!("then {name} cannot be followed: {why}"));
        }
        let breaks = no_longer_met(stage, before, now);
        let new_danger = now
            .danger
            .filter(|d| *d != Danger::Doubtful && before.danger.is_none_or(|b| b == Danger::Doubtful));
        if let (Some(what), Some(danger)) = (&breaks, new_danger) {
            return backed_out(format!("then {what} ({})", danger.as_str()));
        }
        lost = lost.or(breaks);
        worst = worst.min(worst_margin(now, stage));
        if let Some(what) = lost.as_ref().filter(|_| worst <= worst_before + LEAST_DIFFERENCE) {
            return backed_out(format!("then {what}"));
        }
        if worst < worst_before - LEAST_DIFFERENCE && !safer {
            let what = now.closest().map_or_else(String::new, limit_text);
            return backed_out(format!("then the worst gets worse, {name}: {what}"));
        }
    }
    Ok(Some(lost.map_or(StepOutcome::Kept, StepOutcome::Compromise)))
}

fn backed_out(why: String) -> Result<Option<StepOutcome>, SimError> {
    Ok(Some(StepOutcome::BackedOut(why)))
}
