//! Judges of the statements that are more than a move of one input and one reading.

use super::matching::{match_position, rounded_position};
use super::population::drawn;
use super::reading::{Missing, Read, beyond, compare};
use super::table::{CROWD, RAMP, SIT, STAIRS, STUMBLE, WALK};
use super::trying::{Joint, Judged, Run, Seen, Sense, Spreads, Stop, Try};
use crate::joint::SettingName;
use crate::motion::{Motion, WalkMotion};
use crate::outcome::{Assessment, Value};
use crate::quantity::GRAVITY_M_PER_S2;
use crate::scenario::{Activity, Drive, Limit, Severity};
use crate::study::sampling::rounded;

const SPEEDS: [f64; 3] = [0.8, 1.1, 1.4];
const NOT_STRAIGHT: &str = "not straight before heel contact";

fn sense(agrees: bool) -> Sense {
    if agrees { Sense::Agrees } else { Sense::Disagrees }
}

/// The edge of a scenario's limit on an outcome, by which bound.
fn edge(t: &Try, scenario: &str, outcome: &str, bound: fn(&Limit) -> Option<f64>) -> Result<f64, Stop> {
    let limits = t.bench.scenarios.iter().filter(|s| s.name == scenario).flat_map(|s| &s.limits);
    limits
        .filter(|l| l.outcome == outcome && l.severity == Severity::Limit)
        .find_map(bound)
        .ok_or(Stop::Undecided("the scenario has no such limit"))
}

const MIN: fn(&Limit) -> Option<f64> = |l| l.min;
const MAX: fn(&Limit) -> Option<f64> = |l| l.max;

pub(super) fn later_most_at_fast_speed(t: &Try) -> Judged {
    let [low, high] = super::moved_pair(t, &t.base(WALK), "swing-flexion")?;
    let delay = |v: f64| {
        let margin = |run: &Run| {
            let motion = t.motion(&run.with("speed_m_per_s", v))?;
            Read::MarginInTime.of(&motion).ok_or(Stop::Undecided(NOT_STRAIGHT))
        };
        Ok::<f64, Stop>(margin(&high)? - margin(&low)?)
    };
    let (slow, fast) = (delay(SPEEDS[0])?, delay(SPEEDS[2])?);
    let runs = [SPEEDS[0], SPEEDS[2]].iter().flat_map(|v| [&low, &high].map(|r| r.with("speed_m_per_s", *v)));
    Ok(Seen {
        sense: sense(fast - slow > Read::MarginInTime.noise()),
        effect: Some(fast - slow),
        said: format!("delay {slow:.1} ms at 0.8, {fast:.1} ms at 1.4 m/s"),
        runs: runs.collect(),
    })
}

pub(super) fn closed_is_bent_at_contact(t: &Try) -> Judged {
    let read = Read::Outcome("heel_contact_flexion_deg");
    let run = t.base(WALK).with("swing-extension", 100.0);
    let bent = read.of(&t.motion(&run)?);
    Ok(beyond(read, edge(t, WALK, read.key(), MAX)?, 1.0, bent, vec![run]))
}

/// Time straight before heel contact, ms; negative after it, none if not straight as far as it is followed.
fn margin(w: &WalkMotion) -> Option<f64> {
    let s = &w.stride;
    s.full_extension_s().map(|t| 1e3 * (s.drive.stride_time_s - t))
}

/// The same; a knee never straight counts as straight where the course ends, so that a setting can be found.
fn margin_or_end(w: &WalkMotion) -> f64 {
    let s = &w.stride;
    margin(w).unwrap_or(1e3 * (s.drive.stride_time_s - s.course.end.0))
}

fn peak_deg(w: &WalkMotion) -> f64 {
    w.stride.peak().1 / crate::quantity::DEG
}

/// The hydraulic joint and constant friction set for the same swing at 1.1 m/s: friction against flexion for
/// the same peak, friction against extension, which comes after it, for the same margin.
fn both_joints(t: &Try) -> Result<Spreads, Stop> {
    let own = t.base(WALK).with("speed_m_per_s", SPEEDS[1]);
    let friction = Run { joint: Joint::Friction, ..own.clone() };
    let at_comfortable = t.walk(&own)?;
    let set = |run: &Run, key, read: fn(&WalkMotion) -> f64| {
        let found = match_position(|pct| Ok(read(&*t.walk(&run.with(key, pct))?)), read(&at_comfortable))?;
        let pct = found.ok_or(Stop::Undecided("no constant friction gives the same swing at 1.1 m/s"))?;
        Ok::<Run, Stop>(run.with(key, rounded_position(pct)))
    };
    let friction = set(&friction, "swing-flexion", peak_deg)?;
    // without a margin to agree on, extension stays as the friction joint's file has it
    let friction = match margin(&at_comfortable) {
        Some(_) => set(&friction, "swing-extension", margin_or_end)?,
        None => friction.without("swing-extension"),
    };
    let spread = |run: &Run| {
        let strides = [
            t.walk(&run.with("speed_m_per_s", SPEEDS[0]))?,
            t.walk(&run.with("speed_m_per_s", SPEEDS[1]))?,
            t.walk(&run.with("speed_m_per_s", SPEEDS[2]))?,
        ];
        let range = |all: Vec<f64>| {
            all.iter().copied().fold(f64::NEG_INFINITY, f64::max)
                - all.iter().copied().fold(f64::INFINITY, f64::min)
        };
        let margins: Option<Vec<f64>> = strides.iter().map(|w| margin(w)).collect();
        Ok::<_, Stop>([Some(range(strides.iter().map(|w| peak_deg(w)).collect())), margins.map(range)])
    };
    let at_ends = |r: &Run| [SPEEDS[0], SPEEDS[2]].map(|v| r.with("speed_m_per_s", v));
    Ok(Spreads {
        own: spread(&own)?,
        friction: spread(&friction)?,
        runs: [&own, &friction].into_iter().flat_map(at_ends).collect(),
    })
}

fn spreads_less(t: &Try, which: usize, unit: &str) -> Judged {
    let found = match t.spreads.get() {
        Some(known) => known.clone(),
        None => match both_joints(t) {
            Err(Stop::Error(e)) => return Err(Stop::Error(e)),
            Err(Stop::Undecided(why)) => t.spreads.get_or_init(|| Err(why)).clone(),
            Ok(found) => t.spreads.get_or_init(|| Ok(found)).clone(),
        },
    };
    let Spreads { own, friction, runs } = found.map_err(Stop::Undecided)?;
    let (ours, theirs) =
        own[which].zip(friction[which]).ok_or(Stop::Undecided("never straight at one of the speeds"))?;
    Ok(Seen {
        sense: sense(ours < theirs),
        effect: Some(theirs - ours),
        said: format!("spread {ours:.1}{unit}, with constant friction {theirs:.1}{unit}"),
        runs,
    })
}

pub(super) fn hydraulic_peaks_spread_less(t: &Try) -> Judged {
    spreads_less(t, 0, "°")
}

pub(super) fn hydraulic_margins_spread_less(t: &Try) -> Judged {
    spreads_less(t, 1, " ms")
}

/// Comfortable walking at the speed that hurried walking is scaled from, and hurried walking.
fn crowd(t: &Try) -> Result<[Run; 2], Stop> {
    let hurried = t.base(CROWD).without("speed_m_per_s");
    let trial = t.trial(&hurried, false)?;
    let Activity::Walk(walk) = &trial.scenario.activity else {
        return Err(Stop::Undecided("the scenario is no walking"));
    };
    let base = walk.dimensionless_speed.ok_or(Stop::Undecided("the hurried pace is not scaled"))?;
    let speed = base * (GRAVITY_M_PER_S2 * trial.person.leg_length_m()).sqrt();
    Ok([t.base(WALK).with("speed_m_per_s", rounded(speed, 3)), hurried])
}

pub(super) fn crowd_leaves_less(t: &Try) -> Judged {
    let [comfortable, hurried] = crowd(t)?;
    let read = Read::MarginInTime;
    let margins = [read.of(&t.motion(&comfortable)?), read.of(&t.motion(&hurried)?)];
    compare(read, Missing::Least, -1.0, margins, vec![comfortable, hurried])
}

pub(super) fn crowd_leaves_less_of_the_stride(t: &Try) -> Judged {
    let [comfortable, hurried] = crowd(t)?;
    let read = Read::Outcome("full_extension_pct");
    let instant = |run: &Run| Ok::<_, Stop>(read.of(&t.motion(run)?).filter(|pct| *pct < 100.0));
    let instants = [instant(&comfortable)?, instant(&hurried)?];
    if instants == [None, None] {
        return Err(Stop::Undecided("not straight before heel contact either way"));
    }
    // a later instant is less margin; never in time is the latest
    compare(read, Missing::Most, 1.0, instants, vec![comfortable, hurried])
}

pub(super) fn short_steps_leave_less(t: &Try) -> Judged {
    let own = t.base(WALK);
    let walk = t.walk(&own)?;
    let cadence = rounded(1.1 * steps_per_min(&walk.stride.drive), 1);
    let quick = own.with("cadence_steps_per_min", cadence);
    let read = Read::MarginInTime;
    let margins = [read.of(&Motion::Walk(walk)), read.of(&t.motion(&quick)?)];
    compare(read, Missing::Least, -1.0, margins, vec![own, quick])
}

fn steps_per_min(drive: &Drive) -> f64 {
    120.0 / drive.stride_time_s
}

fn yielding(t: &Try, scenario: &'static str, pct: f64) -> Result<(Run, Motion, Assessment), Stop> {
    let run = t.base(scenario).with("stance-yield", pct);
    let (motion, assessment) = t.assessed(&run)?;
    Ok((run, motion, assessment))
}

fn word(a: &Assessment) -> &'static str {
    a.outcomes.get("what_happens").and_then(Value::as_word).unwrap_or("")
}

const SIT_TIME: Read = Read::Outcome("sit_time_s");

pub(super) fn closed_drags_on_the_chair(t: &Try) -> Judged {
    let (run, motion, _) = yielding(t, SIT, 100.0)?;
    let time = SIT_TIME.of(&motion);
    let seen = beyond(SIT_TIME, edge(t, SIT, SIT_TIME.key(), MAX)?, 1.0, time, vec![run]);
    // a seat that is never reached takes too long
    Ok(if time.is_none() { Seen { sense: Sense::Agrees, ..seen } } else { seen })
}

pub(super) fn open_drops_on_the_chair(t: &Try) -> Judged {
    let (run, motion, _) = yielding(t, SIT, 0.0)?;
    Ok(beyond(SIT_TIME, edge(t, SIT, SIT_TIME.key(), MIN)?, -1.0, SIT_TIME.of(&motion), vec![run]))
}

fn holds_when_closed(t: &Try, scenario: &'static str) -> Judged {
    let (run, motion, a) = yielding(t, scenario, 100.0)?;
    let read = Read::Outcome("knee_flexion_at_other_foot_contact_deg");
    let least = match motion {
        Motion::Ramp(ref r) => r.task.yields_from_deg,
        Motion::Stairs(ref s) => s.task.yields_from_deg,
        _ => return Err(Stop::Undecided("no slope and no stairs")),
    };
    let bent = read.of(&motion);
    Ok(Seen {
        sense: sense(matches!(word(&a), "holds" | "stalls")),
        effect: bent.map(|b| least - b),
        said: format!("{}, {} at the other foot's contact", word(&a), read.say(bent)),
        runs: vec![run],
    })
}

pub(super) fn closed_holds(t: &Try) -> Judged {
    holds_when_closed(t, RAMP)
}

pub(super) fn closed_holds_on_stairs(t: &Try) -> Judged {
    holds_when_closed(t, STAIRS)
}

/// Drops: gives way, or bends or sinks faster than the scenario's limits.
fn drops_when_open(t: &Try, scenario: &'static str) -> Judged {
    let (run, motion, a) = yielding(t, scenario, 0.0)?;
    let (rate, sink) = (Read::Outcome("peak_rate_deg_per_s"), Read::Outcome("body_drop_speed_m_per_s"));
    let over = |read: Read| {
        Ok::<_, Stop>(read.of(&motion).map(|v| (v, edge(t, scenario, read.key(), MAX))))
            .and_then(|x| x.map(|(v, e)| e.map(|e| v - e)).transpose())
    };
    let (rate_over, sink_over) = (over(rate)?, over(sink)?);
    let drops = word(&a) == "gives way" || [rate_over, sink_over].into_iter().flatten().any(|o| o > 0.0);
    Ok(Seen {
        sense: sense(drops),
        effect: rate_over,
        said: format!(
            "{}, {}, sinking at {}",
            word(&a),
            rate.say(rate.of(&motion)),
            sink.say(sink.of(&motion))
        ),
        runs: vec![run],
    })
}

pub(super) fn open_drops(t: &Try) -> Judged {
    drops_when_open(t, RAMP)
}

pub(super) fn open_drops_on_stairs(t: &Try) -> Judged {
    drops_when_open(t, STAIRS)
}

pub(super) fn least_catch_load_lets_go_late(t: &Try) -> Judged {
    let read = Read::Outcome("late_release_loss_deg");
    let run = t.base(WALK).with("catch-load", 0.0);
    let lost = read.of(&crate::study::run_scan(&t.trial(&run, true)?)?);
    Ok(beyond(read, edge(t, WALK, read.key(), MAX)?, 1.0, lost, vec![run]))
}

/// Support times of the light and the heavy person, ms, the limit on them, and the runs.
type Supported = ([Option<f64>; 2], f64, Vec<Run>);

fn light_and_heavy(t: &Try) -> Result<Supported, Stop> {
    if t.bench.held.contains("mass_kg") {
        return Err(Stop::Undecided("the mass is held"));
    }
    let read = Read::Outcome("support_after_ms");
    let base = t.base(STUMBLE);
    let runs = ["light_mass_kg", "heavy_mass_kg"].map(|key| {
        let mass = t.besides(key);
        let stature = rounded(crate::body::anthropometry::stature_for_mass_m(mass), 2);
        base.with("mass_kg", mass).with("stature_m", stature)
    });
    let times = [read.of(&t.motion(&runs[0])?), read.of(&t.motion(&runs[1])?)];
    Ok((times, edge(t, STUMBLE, read.key(), MAX)?, runs.to_vec()))
}

fn said_support([light, heavy]: [Option<f64>; 2]) -> String {
    let read = Read::Outcome("support_after_ms");
    format!("light {}, heavy {}", read.say(light), read.say(heavy))
}

fn later([light, heavy]: [Option<f64>; 2]) -> Option<f64> {
    Some(light? - heavy?)
}

pub(super) fn light_only_where_heavy(t: &Try) -> Judged {
    let (times, limit, runs) = light_and_heavy(t)?;
    let [light, heavy] = times.map(|v| v.is_some_and(|ms| ms <= limit));
    if !light {
        return Err(Stop::Undecided("the light person is not supported in time"));
    }
    Ok(Seen { sense: sense(heavy), effect: later(times), said: said_support(times), runs })
}

pub(super) fn light_does_not_reach(t: &Try) -> Judged {
    let (times, limit, runs) = light_and_heavy(t)?;
    let [light, heavy] = times.map(|v| v.is_some_and(|ms| ms <= limit));
    if !heavy {
        return Err(Stop::Undecided("the catch load does not suit the heavy person either"));
    }
    Ok(Seen { sense: sense(!light), effect: later(times), said: said_support(times), runs })
}

/// Positions of the yield setting that are tried, 5 points apart.
const YIELD_STEP_PCT: f64 = 5.0;

/// The positions at which all limits of a scenario hold. A step that cannot be followed does not serve; a
/// scenario that never can decides nothing.
fn serving(t: &Try, scenario: &'static str, among: &[f64]) -> Result<Vec<f64>, Stop> {
    let mut serving = Vec::new();
    let mut followed = 0;
    let mut failed = None;
    for &pct in among {
        match yielding(t, scenario, pct) {
            Ok((_, _, a)) => {
                followed += 1;
                serving.extend(a.holds().then_some(pct));
            }
            Err(Stop::Undecided(why)) => failed = Some(why),
            Err(e) => return Err(e),
        }
    }
    match failed {
        Some(why) if followed == 0 => Err(Stop::Undecided(why)),
        _ => Ok(serving),
    }
}

pub(super) fn one_yield_serves_all(t: &Try) -> Judged {
    let positions: Vec<f64> = (0..=20).map(|i| YIELD_STEP_PCT * f64::from(i)).collect();
    // the chair last: it takes longest
    let stairs = serving(t, STAIRS, &positions)?;
    let both = serving(t, RAMP, &stairs)?;
    let all = serving(t, SIT, &both)?;
    if !all.is_empty() {
        return Ok(Seen {
            sense: Sense::Agrees,
            effect: Some(YIELD_STEP_PCT * all.len() as f64),
            said: format!("all three {}", span(&all)),
            runs: vec![],
        });
    }
    let (chair, ramp) = (serving(t, SIT, &positions)?, serving(t, RAMP, &positions)?);
    let middle = |s: &[f64]| s.get(s.len() / 2).copied().unwrap_or(50.0);
    Ok(Seen {
        sense: Sense::Disagrees,
        effect: Some(0.0),
        said: format!("chair {}, ramp {}, stairs {}", span(&chair), span(&ramp), span(&stairs)),
        runs: [(SIT, &ramp), (RAMP, &chair), (STAIRS, &chair)]
            .map(|(scenario, of)| t.base(scenario).with("stance-yield", middle(of)))
            .to_vec(),
    })
}

/// Least and greatest of the positions.
fn span(s: &[f64]) -> String {
    match (s.first(), s.last()) {
        (Some(a), Some(b)) => format!("{a:.0}-{b:.0} %"),
        _ => "none".to_owned(),
    }
}

/// By how far a setting has to move to bring a reading back after mass is added at the foot.
fn retuned(t: &Try, key: &'static str, name: SettingName, read: fn(&WalkMotion) -> f64) -> Judged {
    let base = t.base(WALK);
    let before = t.own(&base, key)?;
    let wanted = read(&*t.walk(&base)?);
    let heavier = base.with("foot_extra_mass_kg", t.besides("added_foot_mass_kg"));
    let found = match_position(|pct| Ok(read(&*t.walk(&heavier.with(key, pct))?)), wanted)?;
    let step = t.bench.setup.knee.step_pct(name).unwrap_or(0.0);
    let shift = found.map(|pct| (pct - before).abs());
    Ok(Seen {
        // where no position brings it back, re-tuning is called for and not enough
        sense: sense(shift.is_none_or(|s| s >= step)),
        effect: shift,
        said: match found {
            Some(pct) => format!("{before:.0} -> {pct:.1} %"),
            None => "no position brings it back".into(),
        },
        runs: vec![base, heavier],
    })
}

pub(super) fn heavier_foot_moves_flexion(t: &Try) -> Judged {
    retuned(t, "swing-flexion", SettingName::SwingFlexion, peak_deg)
}

pub(super) fn heavier_foot_moves_extension(t: &Try) -> Judged {
    let margin = Read::MarginInTime.of(&t.motion(&t.base(WALK))?);
    margin.ok_or(Stop::Undecided(NOT_STRAIGHT))?;
    retuned(t, "swing-extension", SettingName::SwingExtension, margin_or_end)
}

/// Relative change of the peak against that of the time from toe-off to full extension, %.
fn range_against_time(t: &Try, runs: [Run; 2]) -> Judged {
    let read = |run: &Run| {
        let w = t.walk(run)?;
        let straight = w.stride.full_extension_s().ok_or(Stop::Undecided("never straight"))?;
        Ok::<_, Stop>((peak_deg(&w), straight - w.stride.drive.toe_off_s))
    };
    let (a, b) = (read(&runs[0])?, read(&runs[1])?);
    let change = |x: f64, y: f64| 100.0 * (y - x).abs() / (0.5 * (x + y));
    let (range, time) = (change(a.0, b.0), change(a.1, b.1));
    Ok(Seen {
        sense: sense(range > time),
        effect: Some(range - time),
        said: format!("peak {:.1} -> {:.1}°, time {:.0} -> {:.0} ms", a.0, b.0, 1e3 * a.1, 1e3 * b.1),
        runs: runs.to_vec(),
    })
}

pub(super) fn flexion_changes_range_more_than_time(t: &Try) -> Judged {
    range_against_time(t, super::moved_pair(t, &t.base(WALK), "swing-flexion")?)
}

pub(super) fn resistance_changes_range_more_than_time(t: &Try) -> Judged {
    let [low, high] = super::moved_pair(t, &t.base(WALK), "swing-flexion")?;
    let [low, _] = super::moved_pair(t, &low, "swing-extension")?;
    let [_, high] = super::moved_pair(t, &high, "swing-extension")?;
    range_against_time(t, [low, high])
}

pub(super) fn more_bent_stride_lands_worse(t: &Try) -> Judged {
    let runs = super::moved_pair(t, &t.base(WALK), "swing-extension")?.map(|r| Run { landing: true, ..r });
    let bent = Read::Outcome("heel_contact_flexion_deg");
    let most = Read::Outcome("landing_max_flexion_deg");
    let read = |run: &Run| {
        let motion = t.motion(run)?;
        let after = most.of(&motion).ok_or(Stop::Undecided("the foot would leave the ground"))?;
        Ok::<_, Stop>((bent.of(&motion).unwrap_or(0.0), after))
    };
    let (a, b) = (read(&runs[0])?, read(&runs[1])?);
    if (a.0 - b.0).abs() < 1.0 {
        return Err(Stop::Undecided("less than 1° apart at heel contact"));
    }
    let sign = (b.0 - a.0).signum();
    let seen = compare(most, Missing::Undecided("not reached"), sign, [Some(a.1), Some(b.1)], runs.to_vec())?;
    Ok(Seen { said: format!("bent {:.1} and {:.1}°, then {:.1} and {:.1}°", a.0, b.0, a.1, b.1), ..seen })
}

/// Whether a name of the population is known; for `--hold`.
pub(super) fn is_known(name: &str) -> bool {
    name == "stature_m" || drawn(name).is_some()
}
