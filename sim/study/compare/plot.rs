//! Pictures of a comparison: one per scenario that moves, one curve per variant.

use super::curves::Curves;
use super::{ComparedScenario, Comparison, LETTERS, VariantRun};
use crate::case::setup::Setup;
use crate::case::variant::{Change, Variant};
use crate::findings::{Band, Mark, Panel, Plot, Series};
use crate::study::survey::plot::{FLEXION, rest};
use crate::study::text::list;

/// Marks that are nearer, % of the stride, are one.
const SAME_PCT: f64 = 0.5;

/// A variant that moves, with its number.
type Moving<'a> = (usize, &'a VariantRun);

impl Comparison {
    /// The knee's curves: one picture per scenario that moves.
    #[must_use]
    pub fn plots(&self) -> Vec<Plot> {
        self.scenarios.iter().filter_map(|s| plot(&self.base, s, &self.variants)).collect()
    }
}

/// The picture of a scenario; none for one that does not move.
fn plot(base: &Setup, compared: &ComparedScenario, variants: &[Variant]) -> Option<Plot> {
    let moving: Vec<Moving> = compared
        .runs
        .iter()
        .enumerate()
        .filter_map(|(i, r)| r.as_ref().ok().map(|r| (i, r)))
        .filter(|(_, r)| !r.curves.flexion_deg.is_empty())
        .collect();
    let first = moving.first()?.1;
    let walking = first.toe_off_pct.is_some();
    let late = walking && moving.iter().any(|(_, r)| straight_pct(r).is_none_or(|at| at > 100.0));
    // what follows heel contact is no landing: it is left out where every knee is straight before
    let end = if walking && !late { 100.0 } else { f64::INFINITY };
    let within = |points: &[(f64, f64)]| points.iter().copied().filter(|p| p.0 <= end).collect();
    let panel = |y_label: &str, height: f64, of: fn(&Curves) -> &Vec<(f64, f64)>| Panel {
        y_label: y_label.into(),
        // the subtitle says what the letters stand for
        series: moving
            .iter()
            .map(|(i, r)| Series { label: LETTERS[*i].into(), points: within(of(&r.curves)) })
            .collect(),
        height,
        ..Panel::default()
    };
    let mut flexion = panel(FLEXION, 1.3, |c| &c.flexion_deg);
    flexion.marks = full_extensions(&moving);
    // at different paces there is no one able-bodied knee to compare with
    if let Some((series, band)) = &first.curves.able_bodied
        && moving.iter().all(|(_, r)| r.curves.able_bodied == first.curves.able_bodied)
    {
        flexion.reference = Some(moving.len());
        flexion.series.push(Series { points: within(&series.points), ..series.clone() });
        flexion.bands.extend(band.clone().map(|mut b| {
            b.points.retain(|p| p.0 <= end);
            Band { around: moving.len(), ..b }
        }));
    }
    let mut panels =
        vec![flexion, panel("Torque of the damper (N m), positive bends it", 1.0, |c| &c.damper_n_m)];
    let mut subtitle = subtitle(base, compared, variants);
    match valves_at_rest(&moving) {
        Some(said) => subtitle += &said,
        None => {
            let valve = panel("Stance valve (0 open, 1 closed)", 0.7, |c| &c.valve);
            panels.push(Panel { at_least: Some((0.0, 1.0)), ..valve });
        }
    }
    Some(Plot {
        key: compared.scenario.name.clone(),
        title: task(compared, &moving),
        subtitle,
        x_label: match (walking, late) {
            (false, _) => "Time (s)",
            (true, false) => "Stride from heel contact to heel contact (%)",
            (true, true) => "Stride from heel contact (%); after 100 as if still in the air",
        }
        .into(),
        instants: if walking { instants(&moving) } else { vec![] },
        panels,
        ..Plot::default()
    })
}

/// The task in words; where it is walked, how fast.
fn task(compared: &ComparedScenario, moving: &[Moving]) -> String {
    let brief = compared.scenario.brief();
    let speeds: Vec<(&str, f64)> =
        moving.iter().filter_map(|(i, r)| r.speed_m_per_s.map(|v| (LETTERS[*i], v))).collect();
    match speeds.as_slice() {
        [] => brief.to_owned(),
        [(_, v), others @ ..] if others.iter().all(|o| (o.1 - v).abs() < 0.005) => {
            format!("{brief}, {v:.2} m/s")
        }
        each => {
            let each: Vec<String> = each.iter().map(|(letter, v)| format!("{letter} {v:.2} m/s")).collect();
            format!("{brief}, {}", list(&each))
        }
    }
}

/// What the letters stand for, and what is the same for all.
fn subtitle(base: &Setup, compared: &ComparedScenario, variants: &[Variant]) -> String {
    let named = variants.iter().zip(LETTERS).map(|(v, letter)| {
        let changes: Vec<String> = v.changes.iter().map(Change::in_words).collect();
        let changes = if changes.is_empty() { "as it is".to_owned() } else { changes.join(", ") };
        format!("{letter}: {changes}")
    });
    format!(
        "{}. Base: person {}, prosthesis {}, knee {}; scenario {}.",
        named.collect::<Vec<_>>().join("; "),
        base.person.name,
        base.prosthesis.name,
        base.knee.name,
        compared.scenario.name
    )
}

/// ` No stance valve moves: that of A and C stays closed.`, where no valve moves.
fn valves_at_rest(moving: &[Moving]) -> Option<String> {
    let rests: Vec<(&str, String)> =
        moving.iter().map(|(i, r)| Some((LETTERS[*i], rest(&r.curves.valve)?))).collect::<Option<_>>()?;
    let mut by_rest: Vec<(&str, Vec<&str>)> = Vec::new();
    for (letter, rest) in &rests {
        match by_rest.iter_mut().find(|(r, _)| r == rest) {
            Some((_, letters)) => letters.push(letter),
            None => by_rest.push((rest, vec![letter])),
        }
    }
    let said: Vec<String> =
        by_rest.iter().map(|(rest, letters)| format!("that of {} {rest}", list(letters))).collect();
    Some(format!(" No stance valve moves: {}.", said.join(", ")))
}

/// Toe-off, once if it is the same for all, and heel contact.
fn instants(moving: &[Moving]) -> Vec<(f64, String)> {
    let at: Vec<(f64, &str)> =
        moving.iter().filter_map(|(i, r)| r.toe_off_pct.map(|t| (t, LETTERS[*i]))).collect();
    let same = at.iter().all(|(t, _)| (t - at[0].0).abs() < 0.05);
    let mut out: Vec<(f64, String)> = if same {
        at.first().map(|(t, _)| (*t, "toe-off".to_owned())).into_iter().collect()
    } else {
        at.iter().map(|(t, letter)| (*t, format!("{letter} toe-off"))).collect()
    };
    out.push((100.0, "heel contact".to_owned()));
    out
}

fn straight_pct(r: &VariantRun) -> Option<f64> {
    r.assessment.outcomes.number("full_extension_pct")
}

/// The points of full extension; those at one place have one name.
fn full_extensions(moving: &[Moving]) -> Vec<Mark> {
    let mut found: Vec<((f64, f64), Vec<&str>)> = Vec::new();
    for (i, r) in moving {
        let Some(at) = straight_pct(r) else { continue };
        let nearest =
            r.curves.flexion_deg.iter().min_by(|a, b| (a.0 - at).abs().total_cmp(&(b.0 - at).abs()));
        let Some(point) = nearest else { continue };
        match found.iter_mut().find(|(p, _)| (p.0 - point.0).abs() < SAME_PCT) {
            Some((_, letters)) => letters.push(LETTERS[*i]),
            None => found.push((*point, vec![LETTERS[*i]])),
        }
    }
    found
        .into_iter()
        .map(|(at, letters)| Mark { label: format!("{} straight", list(&letters)), at })
        .collect()
}
