//! Traces: a motion as columns over time, so that anyone can recompute the balance.

use super::Motion;
use super::sitting;
use super::stance_leg;
use super::stance_tasks::LegRun;
use super::stride::Stride;
use super::swing::state;
use crate::motion::sitting::SitRun;

/// Columns and rows; the first column is time.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Names with units.
    pub columns: &'static [&'static str],
    /// Rows at equal steps of time, the last instant included.
    pub rows: Vec<Vec<f64>>,
}

pub(crate) const WALKING: &[&str] = &[
    "t_s",
    "stride_pct",
    "thigh_rad",
    "knee_rad",
    "knee_rate_rad_per_s",
    "valve",
    "load_n",
    "tau_damper_n_m",
    "tau_friction_n_m",
    "tau_stop_n_m",
    "tau_assist_n_m",
    "tau_drive_n_m",
    "knee_acc_x_m_per_s2",
    "knee_acc_z_m_per_s2",
    "thigh_acc_rad_per_s2",
];

pub(crate) const LEG: &[&str] = &[
    "t_s",
    "shank_tilt_rad",
    "knee_rad",
    "shank_tilt_rate_rad_per_s",
    "knee_rate_rad_per_s",
    "valve",
    "load_n",
    "tau_damper_n_m",
    "tau_friction_n_m",
    "tau_stop_n_m",
    "hip_moment_n_m",
    "hip_forward_m",
    "hip_up_m",
    "centre_of_pressure_m",
];

pub(crate) const SITTING: &[&str] = &[
    "t_s",
    "knee_rad",
    "knee_rate_rad_per_s",
    "valve",
    "load_n",
    "tau_damper_n_m",
    "tau_friction_n_m",
    "tau_stop_n_m",
    "hip_moment_n_m",
    "hip_height_m",
];

impl Trace {
    /// The trace of a motion, one row every `step_s`; none for standing, which does not move.
    #[must_use]
    pub fn of(motion: &Motion, step_s: f64) -> Option<Self> {
        let leg = |run: &LegRun| {
            Some(Self { columns: LEG, rows: sample(run.trajectory.end.0, step_s, |t| leg_row(run, t)) })
        };
        match motion {
            Motion::Walk(w) => {
                let end = w.stride.trajectory.end.0;
                Some(Self { columns: WALKING, rows: sample(end, step_s, |t| stride_row(&w.stride, t)) })
            }
            Motion::Sit(s) => {
                Some(Self { columns: SITTING, rows: sample(s.trajectory.end.0, step_s, |t| sit_row(s, t)) })
            }
            Motion::Ramp(m) => leg(&m.run),
            Motion::Stairs(m) => leg(&m.run),
            Motion::Stumble(m) => leg(&m.run),
            Motion::Stand(_) => None,
        }
    }
}

fn sample(end: f64, step: f64, row: impl Fn(f64) -> Vec<f64>) -> Vec<Vec<f64>> {
    let whole = (end / step + 1e-9).floor() as usize;
    let mut rows: Vec<_> = (0..=whole).map(|i| row(i as f64 * step)).collect();
    if end - whole as f64 * step > 1e-9 {
        rows.push(row(end));
    }
    rows
}

/// Before pre-swing the load holds the knee straight; `tau_drive` is then the moment that does it.
pub(crate) fn stride_row(s: &Stride, t: f64) -> Vec<f64> {
    let system = s.system();
    let k = system.kinematics(t);
    let (phi, omega, parts, drive) = if t < s.trajectory.start.0 {
        let phi = s.trajectory.start.1[state::PHI];
        let parts = s.knee.torque(phi, 0.0, s.valve_at(t));
        (phi, 0.0, parts, -(s.pendulum.driving_torque(&k, phi) + parts.sum()))
    } else {
        let y = s.trajectory.at(t);
        let torques = system.torques(s.trajectory.mode_at(t), &k, t, &y);
        (y[state::PHI], y[state::OMEGA], torques.joint, torques.drive)
    };
    vec![
        t,
        100.0 * t / s.drive.stride_time_s,
        k.thigh,
        phi,
        omega,
        s.valve_at(t),
        s.drive.load_bw(t) * s.weight_n,
        parts.damper,
        parts.friction,
        parts.stop,
        parts.assist,
        drive,
        k.knee_acc_x,
        k.knee_acc_z,
        k.thigh_acc,
    ]
}

pub(crate) fn leg_row(run: &LegRun, t: f64) -> Vec<f64> {
    use stance_leg::state as s;
    let (y, mode) = (run.trajectory.at(t), run.trajectory.mode_at(t));
    let f = run.system.forces(mode, t, &y);
    let hip = run.system.hip_on(mode, &y);
    vec![
        t,
        y[s::BETA],
        y[s::PHI],
        y[s::BETA_RATE],
        y[s::OMEGA],
        y[s::VALVE],
        f.load_bw * run.system.segments.weight_n(),
        f.joint.damper,
        f.joint.friction,
        f.joint.stop,
        f.hip_moment,
        hip[0],
        hip[1],
        f.centre_of_pressure_m,
    ]
}

pub(crate) fn sit_row(run: &SitRun, t: f64) -> Vec<f64> {
    use sitting::state as s;
    let y = run.trajectory.at(t);
    let f = run.system.forces(run.trajectory.mode_at(t), &y);
    vec![
        t,
        y[s::PHI],
        y[s::OMEGA],
        y[s::VALVE],
        f.load_n,
        f.joint.damper,
        f.joint.friction,
        f.joint.stop,
        f.hip_moment,
        run.system.hip_height(y[s::PHI]).height,
    ]
}
