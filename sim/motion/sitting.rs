//! Sitting down: one degree of freedom, the knee flexion; the shank tilts in proportion.
//!
//! ```text
//! hgt = L1 cos α + Lt cos(φ−α),   α = κφ,   h1 = d hgt/dφ,   h2 = d² hgt/dφ²
//! (ms h1² + I0) φ'' + ms h1 h2 ω² = ms g (L1 sin α − x_c) − T + τ_stop
//! N = ms (g + h1 φ'' + h2 ω²)
//! ```
//! ms mass on the prosthetic side (users load it little: ground-force asymmetry 32-60 %, Highsmith et al.
//! 2011, Gait & Posture 34:86), I0 = I1 + 0.12 kg m², x_c centre of pressure. The equation contains the
//! static hip moment ms g (Lt sin(φ−α) − L1 sin α + x_c) and ankle moment ms g x_c; the energy balance counts
//! their works. Starts at 10° with the valve in its state of standing. Without cushion and assist spring.
//! Checked in tests/closed_form/sitting.rs and tests/cross_code/scipy.rs.

use super::bounds;
use super::joint_events::{joint_branch, joint_event, joint_event_function, least_beyond};
use super::segments::Segments;
use crate::error::SimError;
use crate::joint::{JointBranch, Knee, RampBranch, SensorBranch, TorqueParts};
use crate::numerics::events::{EventAction, Mode};
use crate::numerics::hybrid::{FrozenMode, HybridSystem, State, Trajectory};
use crate::numerics::sin_cos_cache::SinCosCache;
use crate::numerics::tolerances::Tolerances;
use crate::scenario::Sit;
use crate::units::GRAVITY_M_PER_S2 as G;

/// Indices of the state: flexion, rate, valve, works of oil and seals, hip, ankle, stops.
pub mod state {
    #![allow(missing_docs)]
    pub const PHI: usize = 0;
    pub const OMEGA: usize = 1;
    pub const VALVE: usize = 2;
    pub const DAMPER: usize = 3;
    pub const HIP: usize = 4;
    pub const ANKLE: usize = 5;
    pub const STOP: usize = 6;
    pub const COUNT: usize = 7;
}

/// Event functions besides those of the joint.
pub mod event {
    #![allow(missing_docs)]
    use super::joint_event::COUNT as FIRST;
    pub const SEAT: usize = FIRST;
    pub const VALVE_HALF: usize = FIRST + 1;
    pub const BEND_BEGINS: usize = FIRST + 2;
    pub const BEND_FULL: usize = FIRST + 3;
    pub const COUNT: usize = FIRST + 4;
}

/// The person sitting down.
#[derive(Debug, Clone)]
pub struct SitSystem {
    /// Joint, without cushion and assist spring.
    pub knee: Knee,
    /// Lengths and masses.
    pub segments: Segments,
    /// What is done.
    pub sit: Sit,
}

/// Height of the hip and its derivatives by flexion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HipHeight {
    /// hgt, m.
    pub height: f64,
    /// d hgt/dφ, m.
    pub first: f64,
    /// d² hgt/dφ², m.
    pub second: f64,
    /// α, rad.
    pub shank_tilt: f64,
    /// Knee axis ahead of the foot, L1 sin α, m.
    pub shank_ahead: f64,
    /// Hip behind the knee axis, Lt sin(φ−α), m.
    pub thigh_behind: f64,
}

/// Accelerations and loads at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SitForces {
    /// φ'', rad/s².
    pub acc: f64,
    /// Joint torques, N m.
    pub joint: TorqueParts,
    /// Ground load under the prosthesis, N.
    pub load_n: f64,
    /// Static hip moment, N m.
    pub hip_moment: f64,
    /// Ankle moment, N m.
    pub ankle_moment: f64,
}

impl SitSystem {
    /// Mass on the prosthetic side, kg.
    #[must_use]
    pub fn moved_mass(&self) -> f64 {
        self.sit.share * self.segments.mass_kg
    }

    /// Centre of pressure ahead of the shank line, x_c, m; it moves with the foot.
    #[must_use]
    pub fn centre_of_pressure_m(&self) -> f64 {
        self.sit.centre_of_pressure_m + self.segments.alignment.sole_shift_m(self.segments.stature_m)
    }

    /// Inertia at φ = 0, kg m².
    #[must_use]
    pub fn rest_inertia(&self) -> f64 {
        self.segments.lower_inertia_kg_m2 + self.sit.extra_inertia_kg_m2
    }

    /// Height of the hip.
    #[must_use]
    pub fn hip_height(&self, phi: f64) -> HipHeight {
        self.hip_height_cached(&Default::default(), phi)
    }

    /// The same with cached sines and cosines of shank and thigh angle.
    #[inline(always)]
    fn hip_height_cached(&self, [shank, thigh]: &[SinCosCache; 2], phi: f64) -> HipHeight {
        let kappa = self.sit.shank_tilt_per_flexion;
        let (l1, lt) = (self.segments.knee_to_sole_m, self.segments.thigh_m);
        let alpha = kappa * phi;
        let (sa, ca) = shank.sin_cos(alpha);
        let (st, ct) = thigh.sin_cos(phi - alpha);
        let rest = 1.0 - kappa;
        HipHeight {
            height: l1 * ca + lt * ct,
            first: -kappa * l1 * sa - rest * lt * st,
            second: -kappa * kappa * l1 * ca - rest * rest * lt * ct,
            shank_tilt: alpha,
            shank_ahead: l1 * sa,
            thigh_behind: lt * st,
        }
    }

    /// Forces in a mode.
    #[must_use]
    pub fn forces(&self, mode: Mode, y: &State<{ state::COUNT }>) -> SitForces {
        self.freeze(mode).forces(y)
    }

    #[inline(always)]
    fn forces_in(&self, joint: &JointBranch<'_>, h: &HipHeight, y: &State<{ state::COUNT }>) -> SitForces {
        let (phi, omega) = (y[state::PHI], y[state::OMEGA]);
        let x_c = self.centre_of_pressure_m();
        let ms = self.moved_mass();
        let joint = joint.torque(phi, omega, y[state::VALVE]);
        let lever = h.shank_ahead - x_c;
        let torque = ms * G * lever + joint.damper + joint.friction + joint.stop;
        let acc = (torque - ms * h.first * h.second * omega * omega)
            / (ms * h.first * h.first + self.rest_inertia());
        SitForces {
            acc,
            joint,
            load_n: ms * (G + h.first * acc + h.second * omega * omega),
            hip_moment: ms * G * (h.thigh_behind - lever),
            ankle_moment: ms * G * x_c,
        }
    }
}

impl HybridSystem<{ state::COUNT }> for SitSystem {
    const EVENT_FUNCTIONS: usize = event::COUNT;
    const DYNAMIC_STATES: usize = state::VALVE + 1;

    type FrozenMode<'a> = FrozenSit<'a>;

    fn freeze(&self, mode: Mode) -> FrozenSit<'_> {
        let valve = &self.knee.stance;
        let sensor = SensorBranch {
            bend: RampBranch::new(mode.positive(event::BEND_BEGINS), mode.positive(event::BEND_FULL)),
            ..valve.sensor_branch(self.centre_of_pressure_m(), 0.0)
        };
        let weight_n = self.segments.weight_n();
        let joint = self.knee.on_branch(joint_branch(mode));
        let catch_bw = valve.catch_load_n / weight_n;
        FrozenSit {
            system: self,
            mode,
            joint,
            sensor,
            per_weight: 1.0 / weight_n,
            catch_bw,
            angles: Default::default(),
        }
    }

    fn on_event(&self, i: usize, mode: &mut Mode, _t: f64, _y: &State<{ state::COUNT }>) -> EventAction {
        if i == event::SEAT && !mode.positive(i) { EventAction::Stop } else { EventAction::Continue }
    }
}

/// Sitting down in one mode.
pub struct FrozenSit<'a> {
    system: &'a SitSystem,
    mode: Mode,
    joint: JointBranch<'a>,
    sensor: SensorBranch,
    per_weight: f64,
    catch_bw: f64,
    /// α and φ − α.
    angles: [SinCosCache; 2],
}

impl FrozenSit<'_> {
    #[inline(always)]
    fn forces(&self, y: &State<{ state::COUNT }>) -> SitForces {
        self.system.forces_in(&self.joint, &self.system.hip_height_cached(&self.angles, y[state::PHI]), y)
    }
}

impl FrozenMode<{ state::COUNT }> for FrozenSit<'_> {
    #[inline(always)]
    fn rate(&self, _t: f64, y: &State<{ state::COUNT }>, dy: &mut State<{ state::COUNT }>) {
        let system = self.system;
        let f = self.forces(y);
        let (omega, z) = (y[state::OMEGA], y[state::VALVE]);
        let kappa = system.sit.shank_tilt_per_flexion;
        let valve = &system.knee.stance;
        let bend = system.knee.bend(y[state::PHI]);
        let x = system.centre_of_pressure_m();
        let sensed = valve.sensed_on(self.sensor, f.load_n * self.per_weight, x, bend, true);
        dy[state::PHI] = omega;
        dy[state::OMEGA] = f.acc;
        dy[state::VALVE] = valve.rate(sensed, z, self.catch_bw);
        dy[state::DAMPER] = (f.joint.damper + f.joint.friction) * omega;
        dy[state::HIP] = -f.hip_moment * (1.0 - kappa) * omega;
        dy[state::ANKLE] = -f.ankle_moment * kappa * omega;
        dy[state::STOP] = f.joint.stop * omega;
    }

    // with a constant index most of it folds away
    #[inline(always)]
    fn event_function(&self, i: usize, _t: f64, y: &State<{ state::COUNT }>) -> Option<f64> {
        let system = self.system;
        let (phi, omega, z) = (y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        let valve = &system.knee.stance;
        match i {
            event::SEAT => {
                let hip = system.hip_height_cached(&self.angles, phi).height;
                Some(hip - system.sit.seat_height_m - system.sit.hip_above_seat_m)
            }
            event::VALVE_HALF => Some(z - 0.5),
            event::BEND_BEGINS => Some(system.knee.bend(phi) - valve.bend_start_rad),
            event::BEND_FULL => Some(system.knee.bend(phi) - valve.bend_start_rad - valve.bend_span_rad),
            _ => joint_event_function(&system.knee, &self.joint, i, self.mode, [phi, omega, z]),
        }
    }

    #[inline(always)]
    fn least_beyond(&self, i: usize) -> f64 {
        least_beyond(i)
    }
}

/// Sitting down as it ran.
pub struct SitRun {
    /// The person and joint.
    pub system: SitSystem,
    /// States over time.
    pub trajectory: Trajectory<{ state::COUNT }>,
    /// Valve at the start.
    pub start_valve: f64,
    /// |in − stored − out| / out.
    pub energy_residual: f64,
    /// Least ground load under the prosthesis, share of body weight.
    pub least_load_bw: f64,
    /// Greatest ground load under the prosthesis, share of body weight.
    pub greatest_load_bw: f64,
}

impl SitRun {
    /// Sits down; `valve` overrides the valve state of standing.
    ///
    /// # Errors
    /// A locked joint; a seat above the standing hip; the integrator's; an energy balance off by more than 1e-6.
    pub fn run(
        sit: &Sit,
        segments: Segments,
        knee: &Knee,
        valve: Option<f64>,
        tolerances: &Tolerances,
    ) -> Result<Self, SimError> {
        if knee.locked {
            return Err(SimError::CannotRun(
                "the joint is locked straight; sitting down needs flexion".into(),
            ));
        }
        let system = SitSystem { knee: knee.under_load(), segments, sit: sit.clone() };
        let mut y = State::<{ state::COUNT }>::zeros();
        y[state::PHI] = knee.start_flexion_rad(sit.start_flexion_deg);
        let seat = sit.seat_height_m + sit.hip_above_seat_m;
        if system.hip_height(y[state::PHI]).height <= seat {
            return Err(SimError::CannotRun(format!(
                "the seat puts the hip at {seat:.2} m, at or above the standing hip of this person"
            )));
        }
        let weight = segments.weight_n();
        // in standing no oil flows, so the load does not depend on the valve
        let standing = system.forces(Mode::default(), &y).load_n / weight;
        let stance = &system.knee.stance;
        let sensed =
            stance.sensed(standing, system.centre_of_pressure_m(), system.knee.bend(y[state::PHI]), true);
        let standing_valve = stance.steady_state(sensed, stance.catch_load_n / weight, true);
        let start_valve = valve.unwrap_or(standing_valve);
        y[state::VALVE] = start_valve;

        let mut trajectory = Trajectory::begin(&system, 0.0, y, Mode::default());
        // smooth for nearly two seconds: the error allows for steps far longer than an event check
        trajectory.run(&system, "sitting", sit.longest_s, &tolerances.slow())?;
        let energy = |y: &State<{ state::COUNT }>| {
            let h = system.hip_height(y[state::PHI]);
            let ms = system.moved_mass();
            0.5 * (ms * h.first * h.first + system.rest_inertia()) * y[state::OMEGA].powi(2)
                + ms * G * h.height
        };
        let last = trajectory.end.1;
        let works: f64 = (state::DAMPER..=state::STOP).map(|i| last[i]).sum();
        let stored = energy(&last) - energy(&y);
        let out = -(last[state::DAMPER] + last[state::STOP]);
        let energy_residual = (works - stored).abs() / out.max(super::LEAST_REFERENCE_J);
        if energy_residual > super::MOST_RESIDUAL {
            return Err(SimError::EnergyBalance { phase: "sitting", residual: energy_residual });
        }
        let (mut least, mut greatest) = ((0.0, f64::INFINITY), (0.0, f64::NEG_INFINITY));
        let mut frozen = system.freeze(trajectory.mode);
        trajectory.states().for_each(|(t, mode, y)| {
            if frozen.mode != mode {
                frozen = system.freeze(mode);
            }
            let load = frozen.forces(&y).load_n / weight;
            if load < least.1 {
                least = (t, load);
            }
            if load > greatest.1 {
                greatest = (t, load);
            }
        });
        let load = |_: f64, mode, y: &State<{ state::COUNT }>| system.freeze(mode).forces(y).load_n / weight;
        let least = least.1.min(-trajectory.greatest_beside(least.0, |t, mode, y| -load(t, mode, y)));
        let greatest = greatest.1.max(trajectory.greatest_beside(greatest.0, load));
        bounds::check("sitting", &trajectory, [state::PHI, state::VALVE + 1], greatest)?;
        Ok(Self {
            system,
            trajectory,
            start_valve,
            energy_residual,
            least_load_bw: least,
            greatest_load_bw: greatest,
        })
    }

    /// The seat was reached.
    #[must_use]
    pub fn reached_seat(&self) -> bool {
        self.trajectory.stopped_by == Some(event::SEAT)
    }

    /// Share of the time with the valve more than half closed.
    #[must_use]
    pub fn supported_share(&self) -> f64 {
        let mut closed_since = (self.start_valve > 0.5).then_some(0.0);
        let mut closed = 0.0;
        for e in self.trajectory.events_of(event::VALVE_HALF) {
            match (e.upwards, closed_since) {
                (true, None) => closed_since = Some(e.t_s),
                (false, Some(from)) => {
                    closed += e.t_s - from;
                    closed_since = None;
                }
                _ => {}
            }
        }
        let end = self.trajectory.end.0;
        closed += closed_since.map_or(0.0, |from| end - from);
        if end > 0.0 { closed / end } else { 0.0 }
    }
}
