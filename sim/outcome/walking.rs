//! Outcomes of a stride of level walking.

use super::Value;
use crate::motion::hip_path::{Foot, HipPath, MID_SWING};
use crate::motion::joint_events::joint_event;
use crate::motion::stride::Stride;
use crate::motion::swing::state;
use crate::motion::{Motion, WalkMotion};
use crate::numerics::events::Mode;
use crate::numerics::hybrid::State;
use crate::numerics::math;
use crate::units::DEG;

/// The knee should be straight this long before heel contact, s \[J\]; the flexion then is an outcome.
pub const STRAIGHT_BEFORE_CONTACT_S: f64 = 0.040;
/// Within this of the stop the knee counts as fully extended, rad.
const STRAIGHT_WITHIN_RAD: f64 = DEG;

impl Stride {
    /// Flexion at an instant, rad.
    #[must_use]
    pub fn flexion(&self, t: f64) -> f64 {
        self.trajectory.at(t)[state::PHI]
    }

    /// Instant and flexion of the peak up to heel contact.
    #[must_use]
    pub fn peak(&self) -> (f64, f64) {
        let contact = self.drive.stride_time_s;
        let turning = self
            .trajectory
            .events_of(joint_event::RATE)
            .filter(|e| !e.upwards && e.t_s <= contact)
            .map(|e| (e.t_s, e.state[state::PHI]));
        // a knee that is still bending at heel contact has its peak there
        turning.chain(std::iter::once((contact, self.flexion(contact)))).fold(
            (self.trajectory.start.0, self.trajectory.start.1[state::PHI]),
            |best, x| {
                if x.1 > best.1 { x } else { best }
            },
        )
    }

    /// First instant after the peak within 1° of the extension stop.
    #[must_use]
    pub fn full_extension_s(&self) -> Option<f64> {
        let straight = self.knee.extension_stop.angle_rad + STRAIGHT_WITHIN_RAD;
        self.trajectory.first_root(self.peak().0, self.trajectory.end.0, |_, y| y[state::PHI] - straight)
    }

    /// Rate at full extension, rad/s; negative.
    #[must_use]
    pub fn terminal_rate(&self) -> Option<f64> {
        self.full_extension_s().map(|t| self.trajectory.at(t)[state::OMEGA])
    }

    /// Greatest flexion after the first minimum that follows full extension, up to heel contact, rad.
    #[must_use]
    pub fn rebound(&self) -> Option<f64> {
        let straight = self.full_extension_s()?;
        let contact = self.drive.stride_time_s;
        let turned = self
            .trajectory
            .events_of(joint_event::RATE)
            .find(|e| e.upwards && e.t_s > straight && e.t_s < contact)?;
        Some(self.trajectory.greatest(turned.t_s, contact, |_, y| y[state::PHI]).0)
    }

    /// Positive work of the hip moment on the thigh in swing, J: Simpson's rule over the steps of the
    /// integration.
    #[must_use]
    pub fn positive_hip_work_j(&self) -> f64 {
        let system = self.system();
        let power = |mode: Mode, t: f64, y: &State<{ state::COUNT }>| {
            let k = system.kinematics(t);
            let torque = system.torques(mode, &k, t, y).joint.sum();
            let acc = (self.pendulum.driving_torque(&k, y[state::PHI]) + torque) / self.pendulum.inertia;
            let (phi, omega) = (y[state::PHI], y[state::OMEGA]);
            let moment = self.thigh.hip_moment(&self.pendulum, &k, phi, omega, acc, torque);
            moment * k.thigh_rate
        };
        let (from, to) = (self.drive.toe_off_s, self.drive.stride_time_s);
        let stretches = self.trajectory.stretches(from, to);
        let work = stretches.map(|s| {
            let values = [0, 1, 2].map(|i| power(s.mode, s.t_s[i], &s.states[i]));
            s.positive_integral(values)
        });
        work.sum()
    }

    /// Least height of the toe in mid-swing over the mean height of the hip, m.
    #[must_use]
    pub fn least_toe_height_m(&self, toe_m: [f64; 2]) -> f64 {
        self.least_toe(toe_m).0
    }

    /// The same with its instant, s.
    #[must_use]
    pub fn least_toe(&self, [toe_ahead, sole]: [f64; 2]) -> (f64, f64) {
        let lt = self.thigh.length;
        let height = |t: f64, phi: f64| {
            let theta = self.drive.kinematics(t).thigh;
            let (sin, cos) = math::sin_cos(theta - phi);
            self.drive.hip_height_m(t) - lt * math::cos(theta) - sole * cos + toe_ahead * sin
        };
        let [from, to] = MID_SWING.map(|p| p * self.drive.stride_time_s);
        let (least, t) = self.trajectory.greatest(from, to, |t, y| -height(t, y[state::PHI]));
        (-least, t)
    }

    /// Greatest torque of the extension stop in swing, N m, and its instant, s.
    #[must_use]
    pub fn stop_torque(&self) -> (f64, f64) {
        let torque = |phi: f64, omega: f64| self.knee.extension_stop.push(-self.knee.bend(phi), -omega);
        let (from, to) = (self.drive.toe_off_s, self.drive.stride_time_s);
        self.trajectory.greatest(from, to, |_, y| torque(y[state::PHI], y[state::OMEGA]))
    }

    /// The path of the hip over this foot.
    #[must_use]
    pub fn hip_path(&self, foot: Foot) -> HipPath<'_> {
        HipPath::new(&self.drive, foot, self.knee.extension_stop.angle_rad, self.thigh.length)
    }
}

fn stride(motion: &Motion, read: impl Fn(&Stride) -> Option<f64>) -> Value {
    walk(motion, |w| read(&w.stride))
}

fn walk(motion: &Motion, read: impl Fn(&WalkMotion) -> Option<f64>) -> Value {
    match motion {
        Motion::Walk(w) => Value::number(read(w)),
        _ => Value::NotReached,
    }
}

pub(super) fn toe_height_loss(m: &Motion) -> Value {
    walk(m, |w| {
        let least = |s: &Stride| s.least_toe_height_m(w.foot.toe_m);
        if w.same_joint {
            return Some(0.0);
        }
        w.comparison.as_ref().map(|c| 1e3 * (least(c) - least(&w.stride)))
    })
}

pub(super) fn toe_clearance(m: &Motion) -> Value {
    walk(m, |w| {
        let mean_m = w.stride.hip_path(w.foot).mean_height_m();
        Some(1e3 * (mean_m + w.stride.least_toe_height_m(w.foot.toe_m)))
    })
}

pub(super) fn flexion_before_contact(m: &Motion) -> Value {
    stride(m, |s| Some(s.flexion(s.drive.stride_time_s - STRAIGHT_BEFORE_CONTACT_S) / DEG))
}

pub(super) fn load_line_work(m: &Motion) -> Value {
    stride(m, |s| Some(s.trajectory.end.1[state::LOAD_LINE]))
}

pub(super) fn hip_work(m: &Motion) -> Value {
    stride(m, |s| Some(s.positive_hip_work_j()))
}

pub(super) fn stop_torque(m: &Motion) -> Value {
    stride(m, |s| Some(s.stop_torque().0))
}
