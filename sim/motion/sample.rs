//! Samples: a motion at equal steps of time, with all that is needed to recompute the balance.

use super::Motion;
use super::sitting::{self, SitRun};
use super::stance_leg;
use super::stance_tasks::LegRun;
use super::stride::Stride;
use super::swing::state;

/// The knee at an instant of any motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KneeSample {
    /// Instant, s.
    pub t_s: f64,
    /// The same as share of the stride, %; walking only.
    pub stride_pct: Option<f64>,
    /// Flexion, rad.
    pub flexion_rad: f64,
    /// Its rate, rad/s.
    pub rate_rad_per_s: f64,
    /// Stance valve, 0 open to 1 closed.
    pub valve: f64,
    /// Ground load under the prosthesis, N.
    pub load_n: f64,
    /// Torque of the oil, N m.
    pub damper_n_m: f64,
    /// Torque of the seals, N m.
    pub friction_n_m: f64,
    /// Torque of the stops, N m.
    pub stop_n_m: f64,
    /// Torque of the assist spring, N m; walking only.
    pub assist_n_m: Option<f64>,
}

/// A walking stride at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrideSample {
    /// The knee.
    pub knee: KneeSample,
    /// Thigh from vertical, rad.
    pub thigh_rad: f64,
    /// Its second derivative, rad/s².
    pub thigh_acc_rad_per_s2: f64,
    /// Moment of ground and hip on the knee, N m; before pre-swing the one that keeps the knee straight.
    pub drive_n_m: f64,
    /// Moment of the ground force by its shift against the drive, N m; 0 before pre-swing.
    pub load_line_n_m: f64,
    /// Acceleration of the knee axis, forward and up, m/s².
    pub knee_acc_m_per_s2: [f64; 2],
}

/// A leg on the ground at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LegSample {
    /// The knee.
    pub knee: KneeSample,
    /// Forward tilt of the shank from the surface normal, rad.
    pub shank_tilt_rad: f64,
    /// Its rate, rad/s.
    pub shank_tilt_rate_rad_per_s: f64,
    /// Hip extension moment, N m.
    pub hip_moment_n_m: f64,
    /// Hip, forward and up, m.
    pub hip_m: [f64; 2],
    /// Centre of pressure ahead of the shank line, m.
    pub centre_of_pressure_m: f64,
}

/// Sitting down at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SitSample {
    /// The knee.
    pub knee: KneeSample,
    /// Static hip moment, N m.
    pub hip_moment_n_m: f64,
    /// Height of the hip, m.
    pub hip_height_m: f64,
}

/// A sample of some motion.
pub trait Sample {
    /// The knee.
    fn knee(&self) -> &KneeSample;

    /// All values with their column names, in the order of a trace.
    fn columns(&self) -> Vec<(&'static str, f64)>;
}

impl Sample for StrideSample {
    fn knee(&self) -> &KneeSample {
        &self.knee
    }

    fn columns(&self) -> Vec<(&'static str, f64)> {
        let k = &self.knee;
        vec![
            ("t_s", k.t_s),
            ("stride_pct", k.stride_pct.unwrap_or(0.0)),
            ("thigh_rad", self.thigh_rad),
            ("knee_rad", k.flexion_rad),
            ("knee_rate_rad_per_s", k.rate_rad_per_s),
            ("valve", k.valve),
            ("load_n", k.load_n),
            ("tau_damper_n_m", k.damper_n_m),
            ("tau_friction_n_m", k.friction_n_m),
            ("tau_stop_n_m", k.stop_n_m),
            ("tau_assist_n_m", k.assist_n_m.unwrap_or(0.0)),
            ("tau_drive_n_m", self.drive_n_m),
            ("tau_load_line_n_m", self.load_line_n_m),
            ("knee_acc_x_m_per_s2", self.knee_acc_m_per_s2[0]),
            ("knee_acc_z_m_per_s2", self.knee_acc_m_per_s2[1]),
            ("thigh_acc_rad_per_s2", self.thigh_acc_rad_per_s2),
        ]
    }
}

impl Sample for LegSample {
    fn knee(&self) -> &KneeSample {
        &self.knee
    }

    fn columns(&self) -> Vec<(&'static str, f64)> {
        let k = &self.knee;
        vec![
            ("t_s", k.t_s),
            ("shank_tilt_rad", self.shank_tilt_rad),
            ("knee_rad", k.flexion_rad),
            ("shank_tilt_rate_rad_per_s", self.shank_tilt_rate_rad_per_s),
            ("knee_rate_rad_per_s", k.rate_rad_per_s),
            ("valve", k.valve),
            ("load_n", k.load_n),
            ("tau_damper_n_m", k.damper_n_m),
            ("tau_friction_n_m", k.friction_n_m),
            ("tau_stop_n_m", k.stop_n_m),
            ("hip_moment_n_m", self.hip_moment_n_m),
            ("hip_forward_m", self.hip_m[0]),
            ("hip_up_m", self.hip_m[1]),
            ("centre_of_pressure_m", self.centre_of_pressure_m),
        ]
    }
}

impl Sample for SitSample {
    fn knee(&self) -> &KneeSample {
        &self.knee
    }

    fn columns(&self) -> Vec<(&'static str, f64)> {
        let k = &self.knee;
        vec![
            ("t_s", k.t_s),
            ("knee_rad", k.flexion_rad),
            ("knee_rate_rad_per_s", k.rate_rad_per_s),
            ("valve", k.valve),
            ("load_n", k.load_n),
            ("tau_damper_n_m", k.damper_n_m),
            ("tau_friction_n_m", k.friction_n_m),
            ("tau_stop_n_m", k.stop_n_m),
            ("hip_moment_n_m", self.hip_moment_n_m),
            ("hip_height_m", self.hip_height_m),
        ]
    }
}

impl StrideSample {
    /// The stride at an instant.
    #[must_use]
    pub fn at(s: &Stride, t: f64) -> Self {
        let system = s.system();
        let k = system.kinematics(t);
        // before pre-swing the load keeps the knee straight
        let (phi, omega, torques, drive, load_line) = if t < s.trajectory.start.0 {
            let phi = s.trajectory.start.1[state::PHI];
            let torques = s.knee.torque(phi, 0.0, s.valve_at(t));
            (phi, 0.0, torques, -(s.pendulum.driving_torque(&k, phi) + torques.sum()), 0.0)
        } else {
            let y = s.trajectory.at(t);
            let torques = system.torques(s.trajectory.mode_at(t), &k, t, &y);
            (y[state::PHI], y[state::OMEGA], torques.joint, torques.drive, torques.load_line)
        };
        Self {
            knee: KneeSample {
                t_s: t,
                stride_pct: Some(100.0 * t / s.drive.stride_time_s),
                flexion_rad: phi,
                rate_rad_per_s: omega,
                valve: s.valve_at(t),
                load_n: s.drive.load_bw(t) * s.weight_n,
                damper_n_m: torques.damper,
                friction_n_m: torques.friction,
                stop_n_m: torques.stop,
                assist_n_m: Some(torques.assist),
            },
            thigh_rad: k.thigh,
            thigh_acc_rad_per_s2: k.thigh_acc,
            drive_n_m: drive,
            load_line_n_m: load_line,
            knee_acc_m_per_s2: [k.knee_acc_x, k.knee_acc_z],
        }
    }
}

impl LegSample {
    /// The leg at an instant.
    #[must_use]
    pub fn at(run: &LegRun, t: f64) -> Self {
        use stance_leg::state as s;
        let (y, mode) = (run.trajectory.at(t), run.trajectory.mode_at(t));
        let f = run.system.forces(mode, t, &y);
        Self {
            knee: KneeSample {
                t_s: t,
                stride_pct: None,
                flexion_rad: y[s::PHI],
                rate_rad_per_s: y[s::OMEGA],
                valve: y[s::VALVE],
                load_n: f.load_bw * run.system.segments.weight_n(),
                damper_n_m: f.joint.damper,
                friction_n_m: f.joint.friction,
                stop_n_m: f.joint.stop,
                assist_n_m: None,
            },
            shank_tilt_rad: y[s::BETA],
            shank_tilt_rate_rad_per_s: y[s::BETA_RATE],
            hip_moment_n_m: f.hip_moment,
            hip_m: run.system.hip_on(mode, &y),
            centre_of_pressure_m: f.centre_of_pressure_m,
        }
    }
}

impl SitSample {
    /// Sitting down at an instant.
    #[must_use]
    pub fn at(run: &SitRun, t: f64) -> Self {
        use sitting::state as s;
        let y = run.trajectory.at(t);
        let f = run.system.forces(run.trajectory.mode_at(t), &y);
        Self {
            knee: KneeSample {
                t_s: t,
                stride_pct: None,
                flexion_rad: y[s::PHI],
                rate_rad_per_s: y[s::OMEGA],
                valve: y[s::VALVE],
                load_n: f.load_n,
                damper_n_m: f.joint.damper,
                friction_n_m: f.joint.friction,
                stop_n_m: f.joint.stop,
                assist_n_m: None,
            },
            hip_moment_n_m: f.hip_moment,
            hip_height_m: run.system.hip_height(y[s::PHI]).height,
        }
    }
}

/// A motion at equal steps of time, the last instant included.
#[derive(Debug, Clone, PartialEq)]
pub enum Samples {
    /// Walking.
    Stride(Vec<StrideSample>),
    /// Ramp, stairs, stumble.
    Leg(Vec<LegSample>),
    /// Sitting down.
    Sit(Vec<SitSample>),
}

impl Samples {
    /// The samples of a motion, one every `step_s`; none for standing, which does not move.
    #[must_use]
    pub fn of(motion: &Motion, step_s: f64) -> Option<Self> {
        let leg =
            |run: &LegRun| Some(Self::Leg(sampled(run.trajectory.end.0, step_s, |t| LegSample::at(run, t))));
        match motion {
            Motion::Walk(w) => {
                let end = w.stride.trajectory.end.0;
                Some(Self::Stride(sampled(end, step_s, |t| StrideSample::at(&w.stride, t))))
            }
            Motion::Sit(s) => Some(Self::Sit(sampled(s.trajectory.end.0, step_s, |t| SitSample::at(s, t)))),
            Motion::Ramp(m) => leg(&m.run),
            Motion::Stairs(m) => leg(&m.run),
            Motion::Stumble(m) => leg(&m.run),
            Motion::Stand(_) => None,
        }
    }

    fn all(&self) -> Vec<&dyn Sample> {
        match self {
            Self::Stride(s) => s.iter().map(|s| s as &dyn Sample).collect(),
            Self::Leg(s) => s.iter().map(|s| s as &dyn Sample).collect(),
            Self::Sit(s) => s.iter().map(|s| s as &dyn Sample).collect(),
        }
    }

    /// The knee at every sample.
    #[must_use]
    pub fn knee(&self) -> Vec<KneeSample> {
        self.all().into_iter().map(|s| *s.knee()).collect()
    }

    /// Column names, and one row of values for each sample.
    #[must_use]
    pub fn table(&self) -> (Vec<&'static str>, Vec<Vec<f64>>) {
        let rows: Vec<_> = self.all().into_iter().map(Sample::columns).collect();
        let names = rows.first().map_or(Vec::new(), |row| row.iter().map(|c| c.0).collect());
        (names, rows.into_iter().map(|row| row.into_iter().map(|c| c.1).collect()).collect())
    }
}

fn sampled<S>(end: f64, step: f64, at: impl Fn(f64) -> S) -> Vec<S> {
    let whole = (end / step + 1e-9).floor() as usize;
    let mut samples: Vec<_> = (0..=whole).map(|i| at(i as f64 * step)).collect();
    if end - whole as f64 * step > 1e-9 {
        samples.push(at(end));
    }
    samples
}
