//! Plot of one motion: flexion, flexion rate, the torques on the knee, the stance valve.
//!
//! Walking is drawn over the stride, with the published able-bodied knee for comparison; everything else over
//! time, with the band of the hip moment. A torque is drawn while it acts, and the stance valve where it moves.

use crate::findings::{Band, Mark, Palette, Panel, Plot, Series};

use crate::motion::sample::{LegSample, Sample, Samples, SitSample, StrideSample};
use crate::motion::sitting::{SitRun, event as sit_event, state as sit_state};
use crate::motion::stance_tasks::{LegEnd, LegRun};
use crate::motion::stride::Stride;
use crate::motion::{LegMotion, Motion, Trial};
use crate::scenario::{Activity, HipMoment, WalkingDrive};
use crate::units::DEG;

/// Step of the curves, s.
const STEP_S: f64 = 1e-3;

pub(crate) const FLEXION: &str = "Knee flexion (°)";
const RATE: &str = "Flexion rate (°/s)";
const TORQUE: &str = "Torque on the knee (N m), positive bends it";
const VALVE: &str = "Stance valve and ground load";
const LOAD: &str = "Ground load (share of body weight)";
const VALVE_KEY: &str = "valve (0 open, 1 closed)";
const LOAD_KEY: &str = "load (share of body weight)";
/// A valve that moves by less than this, of its way from open to closed, stays where it is.
const VALVE_MOVES: f64 = 0.05;

/// The plot of a motion; none for standing, which does not move. The subtitle names the inputs of the trial.
#[must_use]
pub fn plot(trial: &Trial, motion: &Motion) -> Option<Plot> {
    let weight_n = trial.person.weight_n();
    let plot = match (motion, &trial.scenario.activity, Samples::of(motion, STEP_S)?) {
        (Motion::Walk(w), _, Samples::Stride(samples)) => {
            let sd_deg = trial.drive.as_ref().and_then(WalkingDrive::able_bodied_sd_deg);
            stride(&w.stride, &Curves { samples, weight_n }, sd_deg)
        }
        (Motion::Sit(run), _, Samples::Sit(samples)) => sitting(run, &Curves { samples, weight_n }),
        (Motion::Ramp(m), Activity::Ramp(r), Samples::Leg(samples)) => {
            let title = format!("One step down a ramp of {}°", r.slope_deg);
            leg(title, m, &r.hip_moment, &Curves { samples, weight_n })
        }
        (Motion::Stairs(m), Activity::Stairs(s), Samples::Leg(samples)) => {
            let title = format!("Down one stair of {:.2} m", s.riser_m);
            leg(title, m, &s.hip_moment, &Curves { samples, weight_n })
        }
        (Motion::Stumble(m), Activity::Stumble(s), Samples::Leg(samples)) => {
            let bent_deg = s.start_flexion_deg + m.run.start_beyond_deg(s.start_flexion_deg);
            let title = format!("Landing with the knee bent by {bent_deg}°");
            leg(title, m, &s.hip_moment, &Curves { samples, weight_n })
        }
        _ => return None,
    };
    Some(Plot { key: trial.scenario.name.clone(), subtitle: inputs(trial), ..plot })
}

fn inputs(trial: &Trial) -> String {
    format!(
        "{}. Person {} ({:.0} kg, {:.2} m), {:.2} kg below the knee; {}",
        task(trial, ""),
        trial.person.name,
        trial.person.mass_kg,
        trial.person.stature_m(),
        trial.shank.mass_kg,
        crate::case::setup::settings_in_words(&trial.knee.settings)
    )
}

/// Scenario, and the drive where there is one that `inputs` do not name.
#[must_use]
pub fn task(trial: &Trial, inputs: &str) -> String {
    let drive = trial.drive.as_ref().map(|d| d.file.name.as_str()).filter(|name| !inputs.contains(name));
    let drive = drive.map_or_else(String::new, |name| format!(", drive {name}"));
    format!("Scenario {}{drive}", trial.scenario.name)
}

/// Samples of a motion as curves over the stride, %, or over time, s.
struct Curves<S> {
    samples: Vec<S>,
    weight_n: f64,
}

/// A part of the torque: name, value, and the span of time in which it acts.
type Part<S> = (&'static str, fn(&S) -> f64, (f64, f64));

impl<S: Sample> Curves<S> {
    /// A curve over a span of time; without points where the samples have no such value.
    fn of(&self, label: &str, span: (f64, f64), y: impl Fn(&S) -> Option<f64>) -> Series {
        let during = self.samples.iter().filter(|s| s.knee().t_s >= span.0 && s.knee().t_s <= span.1);
        let point = |s: &S| y(s).map(|y| (s.knee().stride_pct.unwrap_or(s.knee().t_s), y));
        Series { label: label.into(), points: during.filter_map(point).collect() }
    }

    fn flexion(&self, span: (f64, f64)) -> Panel {
        panel(FLEXION, vec![self.of("this joint", span, |s| Some(1.0 / DEG * s.knee().flexion_rad))], 1.3)
    }

    fn rate(&self, span: (f64, f64)) -> Panel {
        panel(RATE, vec![self.of("", span, |s| Some(1.0 / DEG * s.knee().rate_rad_per_s))], 1.0)
    }

    /// Every part has its place among the curves, so that its line style is the same in every plot.
    fn torques(&self, span: (f64, f64), last: Option<Part<S>>) -> Panel {
        let mut series = vec![
            self.of("damper", span, |s| Some(s.knee().damper_n_m)),
            self.of("friction", span, |s| Some(s.knee().friction_n_m)),
            self.of("stop", span, |s| Some(s.knee().stop_n_m)),
            self.of("assist", span, |s| s.knee().assist_n_m),
        ];
        series.extend(last.map(|(label, y, acts)| self.of(label, acts, |s| Some(y(s)))));
        let series = series.into_iter().map(while_acting).collect();
        Panel { palette: Palette::Parts, ..panel(TORQUE, series, 1.2) }
    }

    fn valve(&self, span: (f64, f64)) -> Panel {
        let load = |s: &S| Some(1.0 / self.weight_n * s.knee().load_n);
        let valve = self.of(VALVE_KEY, span, |s| Some(s.knee().valve));
        let (y_label, series) = match rest(&valve.points) {
            None => (VALVE.to_owned(), vec![valve, self.of(LOAD_KEY, span, load)]),
            Some(rest) => (format!("{LOAD}; valve {rest}"), vec![self.of("", span, load)]),
        };
        Panel { at_least: Some((0.0, 1.0)), palette: Palette::Parts, ..panel(&y_label, series, 0.8) }
    }
}

/// Where a valve that does not move stays, in words; none for one that moves.
pub(crate) fn rest(valve: &[(f64, f64)]) -> Option<String> {
    let (low, high) = valve.iter().fold((1.0_f64, 0.0_f64), |(a, b), p| (a.min(p.1), b.max(p.1)));
    let middle = 0.5 * (low + high);
    (high - low < VALVE_MOVES).then(|| match middle {
        m if m < VALVE_MOVES => "stays open".to_owned(),
        m if m > 1.0 - VALVE_MOVES => "stays closed".to_owned(),
        m => format!("stays at {m:.2} (0 open, 1 closed)"),
    })
}

/// A smaller torque is not drawn.
const LEAST_TORQUE_N_M: f64 = 1e-6;

/// Leaves a gap where a torque does not act.
fn while_acting(series: Series) -> Series {
    let rests = |p: Option<&(f64, f64)>| p.is_none_or(|p| p.1.abs() <= LEAST_TORQUE_N_M);
    let points = series.points.iter().enumerate().map(|(i, &(x, y))| {
        let before = i.checked_sub(1).and_then(|i| series.points.get(i));
        let idle = rests(before) && rests(series.points.get(i)) && rests(series.points.get(i + 1));
        (x, if idle { f64::NAN } else { y })
    });
    Series { label: series.label.clone(), points: points.collect() }
}

fn panel(y_label: &str, series: Vec<Series>, height: f64) -> Panel {
    Panel { y_label: y_label.into(), series, height, ..Panel::default() }
}

/// One stride, to heel contact; further only if the knee is not straight by then.
fn stride(s: &Stride, curves: &Curves<StrideSample>, sd_deg: Option<f64>) -> Plot {
    let contact = s.drive.stride_time_s;
    let pct = |t: f64| 100.0 * t / contact;
    let straight = s.full_extension_s();
    let late = straight.is_none_or(|t| t > contact);
    let end = if late { s.trajectory.end.0 } else { contact };
    let before_toe_off_s = s.drive.toe_off_s - 0.5 * STEP_S;
    let (whole, swing, loaded) = ((0.0, end), (s.trajectory.start.0, end), (0.0, contact));

    let mut flexion = curves.flexion(whole);
    let able_bodied = able_bodied(s, &flexion.series[0].points, sd_deg);
    flexion.reference = Some(flexion.series.len());
    flexion.series.push(able_bodied.0);
    flexion.bands.extend(able_bodied.1);
    let (peak_s, peak) = s.peak();
    let mut mark = |label: String, t: f64, phi: f64| {
        flexion.marks.push(Mark { label, at: (pct(t), phi / DEG) });
    };
    mark(format!("peak {:.1}°", peak / DEG), peak_s, peak);
    if let Some(t) = straight {
        mark(format!("straight {:.1} %", pct(t)), t, s.flexion(t));
    }
    mark(format!("{:.1}°", s.flexion(contact) / DEG), contact, s.flexion(contact));

    let mut instants: Vec<(f64, String)> =
        s.release_s.map(|t| (pct(t), "release".into())).into_iter().collect();
    instants.push((pct(s.drive.toe_off_s), "toe-off".into()));
    instants.push((100.0, "heel contact".into()));
    let x_label = if late {
        "Stride from heel contact (%); after 100 as if still in the air"
    } else {
        "Stride from heel contact to heel contact (%)"
    };
    Plot {
        title: format!(
            "One stride at {:.2} m/s, {:.0} steps per minute",
            s.drive.speed_m_per_s,
            120.0 / contact
        ),
        x_label: x_label.into(),
        instants,
        panels: vec![
            flexion,
            curves.rate(whole),
            // the ground's part ends with toe-off: its step down is no curve
            curves.torques(swing, Some(("ground and hip", |s| s.drive_n_m, (swing.0, before_toe_off_s)))),
            curves.valve(loaded),
        ],
        ..Plot::default()
    }
}

/// The published able-bodied knee at the same instants, % and °, with its standard deviation over persons.
pub(crate) fn able_bodied(s: &Stride, at: &[(f64, f64)], sd_deg: Option<f64>) -> (Series, Option<Band>) {
    let flexion = |pct: f64| s.drive.able_bodied_knee_rad(pct / 100.0 * s.drive.stride_time_s) / DEG;
    let points: Vec<(f64, f64)> = at.iter().map(|p| (p.0, flexion(p.0))).collect();
    let band = sd_deg.map(|sd| Band {
        label: format!("± {sd}°, SD of its peak"),
        points: points.iter().map(|p| (p.0, p.1 - sd, p.1 + sd)).collect(),
        around: 1,
    });
    (Series { label: "able-bodied mean, published".into(), points }, band)
}

/// The whole motion, s.
const ALWAYS: (f64, f64) = (0.0, f64::INFINITY);

/// What sitting and the loaded leg have in common: everything against time.
fn over_time<S: Sample>(curves: &Curves<S>, hip: Option<Part<S>>) -> Plot {
    Plot {
        x_label: "Time (s)".into(),
        panels: vec![
            curves.flexion(ALWAYS),
            curves.rate(ALWAYS),
            curves.torques(ALWAYS, hip),
            curves.valve(ALWAYS),
        ],
        ..Plot::default()
    }
}

fn sitting(run: &SitRun, curves: &Curves<SitSample>) -> Plot {
    let mut plot = over_time(curves, None);
    plot.title = format!("Sitting down on a seat {:.2} m high", run.system.sit.seat_height_m);
    let (end, last) = (run.trajectory.end.0, run.trajectory.end.1);
    let catches = run.trajectory.events_of(sit_event::VALVE_HALF);
    plot.instants = catches
        .map(|c| (c.t_s, if c.upwards { "valve half closed" } else { "valve half open" }.to_owned()))
        .collect();
    if run.reached_seat() {
        plot.instants.push((end, "seat".into()));
        let phi = last[sit_state::PHI] / DEG;
        plot.panels[0].marks.push(Mark { label: format!("{phi:.0}° on the seat"), at: (end, phi) });
    }
    plot
}

fn leg<T>(title: String, m: &LegMotion<T>, hip: &HipMoment, curves: &Curves<LegSample>) -> Plot {
    // extension at the hip extends the knee of a foot that stands
    let mut plot = over_time(curves, Some(("hip extension", |s| -s.hip_moment_n_m, ALWAYS)));
    plot.title = title;
    let end = m.run.trajectory.end.0;
    let mut name = |t: f64, name: &str| {
        if t > 0.0 && t <= end {
            plot.instants.push((t, name.to_owned()));
        }
    };
    if let Some(t) = m.run.support_after_s() {
        name(t, "valve half closed");
    }
    name(m.run.system.weight_transfer_s, "weight has come over");
    match m.run.ended() {
        LegEnd::OtherFoot => name(end, "other foot lands"),
        LegEnd::OtherFootLate => name(end, "other foot lands late"),
        LegEnd::Collapse => name(end, "knee folds"),
        LegEnd::Stall => name(end, "stalls"),
        LegEnd::Time => {}
    }
    let flexion = &mut plot.panels[0];
    let (t, peak) =
        flexion.series[0].points.iter().fold((0.0, f64::MIN), |b, p| if p.1 > b.1 { *p } else { b });
    flexion.marks.push(Mark { label: format!("greatest {peak:.1}°"), at: (t, peak) });
    if let [Some(least), Some(most), _] = &m.band
        && hip.most_n_m_per_kg > hip.least_n_m_per_kg
    {
        flexion.bands.push(Band {
            label: format!("hip moment {} to {} N m/kg", hip.least_n_m_per_kg, hip.most_n_m_per_kg),
            points: between(&m.run, least, most),
            around: 0,
        });
    }
    plot
}

/// Flexion between the least and the most hip moment, deg, for as long as all three runs last.
fn between(used: &LegRun, least: &LegRun, most: &LegRun) -> Vec<(f64, f64, f64)> {
    use crate::motion::stance_leg::state::PHI;
    let end = used.trajectory.end.0.min(least.trajectory.end.0).min(most.trajectory.end.0);
    let n = (end / (5.0 * STEP_S)).ceil().max(1.0);
    (0..=n as usize)
        .map(|i| {
            let t = end * i as f64 / n;
            let (a, b) = (least.trajectory.at(t)[PHI] / DEG, most.trajectory.at(t)[PHI] / DEG);
            (t, a.min(b), a.max(b))
        })
        .collect()
}
