//! Ramp, stairs and stumble: initial states and ends of the loaded leg (`stance_leg`).

use super::bounds;
use super::segments::Segments;
use super::stance_leg::{HIP_MOMENT_RISE_S, LegForces, LegSystem, OtherFoot, event, state};
use crate::error::SimError;
use crate::joint::Knee;
use crate::numerics::events::Mode;
use crate::numerics::hybrid::{HybridSystem, State, Trajectory};
use crate::numerics::math;
use crate::numerics::roots::find_root;
use crate::numerics::tolerances::Tolerances;
use crate::numerics::trajectory::Stretch;
use crate::scenario::{Ramp, Stairs, Stumble};
use crate::units::DEG;

/// A loaded motion as it ran.
pub struct LegRun {
    /// The leg and its ground.
    pub system: LegSystem,
    /// States over time.
    pub trajectory: Trajectory<{ state::COUNT }>,
    /// |in − stored − out| / out.
    pub energy_residual: f64,
    /// Impulse needed to hold the foot down during the weight transfer, body weight · s.
    pub held_down_bw_s: f64,
    /// Instant and least ground load after the weight transfer, share of body weight.
    pub least_own_load_bw: (f64, f64),
    /// Least ground load, share of body weight.
    pub least_load_bw: f64,
    /// Greatest ground load, share of body weight.
    pub greatest_load_bw: f64,
    /// Least friction with which the foot does not slip; short peaks of the force along the surface do not count.
    pub friction_needed: f64,
}

/// How a loaded motion ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LegEnd {
    /// The other foot met the ground.
    OtherFoot,
    /// The other foot was already below ground at its first check.
    OtherFootLate,
    /// The knee folded.
    Collapse,
    /// The hip stopped moving forward.
    Stall,
    /// Time ran out.
    Time,
}

/// Ground load below which the foot would have to be pivot_torque down, share of body weight.
const LIFTS_BELOW_BW: f64 = -0.02;
/// A foot that slips by no more than this impulse, body weight · s, counts as held: shorter peaks of the force, as where
/// the knee meets its stop, hardly move it. \[J\]
const SLIP_BW_S: f64 = 0.002;
/// Friction is looked for up to this.
const MOST_FRICTION: f64 = 20.0;

/// A zero of the ground load is found to this, s.
const INSTANT_TOLERANCE_S: f64 = 1e-6;

/// A stretch with the forces at its start, middle and end.
type LoadStretch = (Stretch<{ state::COUNT }>, [LegForces; 3]);

/// Initial state of the leg: β, φ, β', ω, z.
pub type LegStart = [f64; 5];

impl LegRun {
    /// Runs the leg from a start, at most to `longest_s`.
    ///
    /// # Errors
    /// The integrator's, or an energy balance off by more than 1e-6.
    pub fn run(
        system: LegSystem,
        start: LegStart,
        longest_s: f64,
        phase: &'static str,
        tolerances: &Tolerances,
    ) -> Result<Self, SimError> {
        let mut y = State::<{ state::COUNT }>::zeros();
        for (i, v) in start.into_iter().enumerate() {
            y[i] = v;
        }
        let mut trajectory = Trajectory::begin(&system, 0.0, y, Mode::default());
        let first = system.energy(trajectory.mode, &y);
        // kinks of the smooth steps of hip moment and support
        let mut ends = [HIP_MOMENT_RISE_S, system.weight_transfer_s, longest_s];
        ends.sort_by(f64::total_cmp);
        for t in ends.into_iter().filter(|&t| t > 0.0 && t <= longest_s) {
            trajectory.run(&system, phase, t, tolerances)?;
        }
        let last = trajectory.end.1;
        let stored = system.energy(trajectory.mode, &last) - first;
        let works: f64 = (state::DAMPER..=state::STOP).map(|i| last[i]).sum();
        let out = -(last[state::DAMPER] + last[state::STOP]);
        let energy_residual = (works - stored).abs() / out.max(crate::motion::LEAST_REFERENCE_J);
        if energy_residual > crate::motion::MOST_RESIDUAL {
            return Err(SimError::EnergyBalance { phase, residual: energy_residual });
        }
        let mut run = Self {
            system,
            trajectory,
            energy_residual,
            held_down_bw_s: 0.0,
            least_own_load_bw: (0.0, f64::INFINITY),
            least_load_bw: f64::INFINITY,
            greatest_load_bw: f64::NEG_INFINITY,
            friction_needed: 0.0,
        };
        run.evaluate_ground_load();
        bounds::check_angle(phase, &run.trajectory, "a shank angle", state::BETA, bounds::MOST_SHANK_RAD)?;
        bounds::check(phase, &run.trajectory, [state::PHI, state::VALVE + 1], run.greatest_load_bw)?;
        Ok(run)
    }

    fn evaluate_ground_load(&mut self) {
        let loads = self.ground_loads();
        let carried_alone_s = self.system.weight_transfer_s;
        let (mut least, mut greatest) = ((0.0, f64::INFINITY), (0.0, f64::NEG_INFINITY));
        for (t, f) in loads.iter().flat_map(|(stretch, forces)| stretch.t_s.into_iter().zip(forces)) {
            let load = f.load_bw;
            if t >= carried_alone_s && load < self.least_own_load_bw.1 {
                self.least_own_load_bw = (t, load);
            }
            if load < least.1 {
                least = (t, load);
            }
            if load > greatest.1 {
                greatest = (t, load);
            }
        }
        let load = |t: f64, mode, y: &State<{ state::COUNT }>| self.system.freeze(mode).forces(t, y).load_bw;
        let least_beside = -self.trajectory.greatest_beside(least.0, |t, mode, y| -load(t, mode, y));
        let greatest_beside = self.trajectory.greatest_beside(greatest.0, load);
        self.least_load_bw = least.1.min(least_beside);
        self.greatest_load_bw = greatest.1.max(greatest_beside);
        let integral = |(stretch, forces): &LoadStretch, f: &dyn Fn(&LegForces) -> f64| {
            stretch.positive_integral([0, 1, 2].map(|i| f(&forces[i])))
        };
        self.held_down_bw_s = loads.iter().map(|l| integral(l, &|f| -f.load_bw)).sum();
        // a foot that is held down does not slip
        let pressed = loads.iter().filter(|(_, forces)| forces[1].across_bw > 0.0);
        let slip = |friction: f64| {
            let slips = pressed.clone().map(|l| integral(l, &|f| f.along_bw - friction * f.across_bw));
            slips.sum::<f64>() - SLIP_BW_S
        };
        self.friction_needed = if slip(0.0) > 0.0 { find_root(slip, 0.0, MOST_FRICTION, 1e-9) } else { 0.0 };
    }

    /// The forces at start, middle and end of every stretch; the force across the surface has one sign in each.
    fn ground_loads(&self) -> Vec<LoadStretch> {
        let mut loads: Vec<LoadStretch> = Vec::new();
        let mut frozen = self.system.freeze(self.trajectory.mode);
        for stretch in self.trajectory.stretches(0.0, self.trajectory.end.0) {
            if frozen.mode() != stretch.mode {
                frozen = self.system.freeze(stretch.mode);
            }
            let of = |s: &Stretch<{ state::COUNT }>| [0, 1, 2].map(|i| frozen.forces(s.t_s[i], &s.states[i]));
            let forces = of(&stretch);
            let [first, _, last] = forces.map(|f| f.across_bw > 0.0);
            if first == last {
                loads.push((stretch, forces));
                continue;
            }
            let across = |t: f64| frozen.forces(t, &self.trajectory.at(t)).across_bw;
            let [from, _, to] = stretch.t_s;
            let zero = find_root(across, from, to, INSTANT_TOLERANCE_S);
            let parts = self.trajectory.stretches(from, zero).chain(self.trajectory.stretches(zero, to));
            loads.extend(parts.map(|part| {
                let forces = of(&part);
                (part, forces)
            }));
        }
        loads
    }

    /// The same run, if the foot stays on the ground by itself after the weight transfer. Before, the load is
    /// the weight less the prescribed support of the other leg; the foot is held down and the impulse reported.
    ///
    /// # Errors
    /// A ground load below −0.02 of body weight after the weight transfer.
    pub fn on_the_ground(self, phase: &'static str) -> Result<Self, SimError> {
        let (t_s, load_bw) = self.least_own_load_bw;
        if load_bw < LIFTS_BELOW_BW { Err(SimError::FootLifts { phase, t_s, load_bw }) } else { Ok(self) }
    }

    /// How it ended.
    #[must_use]
    pub fn ended(&self) -> LegEnd {
        match self.trajectory.stopped_by {
            Some(event::OTHER_FOOT) => LegEnd::OtherFoot,
            Some(event::HIP_PAST) => LegEnd::OtherFootLate,
            Some(event::COLLAPSE) => LegEnd::Collapse,
            Some(event::STALL) => LegEnd::Stall,
            _ => LegEnd::Time,
        }
    }

    /// By how much more the knee was bent at the start than the scenario asks for, degrees: where the extension stop
    /// keeps it bent.
    #[must_use]
    pub fn start_beyond_deg(&self, asked_deg: f64) -> f64 {
        (self.trajectory.start.1[state::PHI] - asked_deg * DEG) / DEG
    }

    /// Greatest flexion, rad.
    #[must_use]
    pub fn max_flexion_rad(&self) -> f64 {
        self.trajectory.greatest(0.0, self.trajectory.end.0, |_, y| y[state::PHI]).0
    }

    /// Greatest flexion rate from an instant on, rad/s.
    #[must_use]
    pub fn max_rate_from(&self, t: f64) -> Option<f64> {
        let end = self.trajectory.end.0;
        (t <= end).then(|| self.trajectory.greatest(t, end, |_, y| y[state::OMEGA]).0)
    }

    /// First instant at which the valve is half closed, s.
    #[must_use]
    pub fn support_after_s(&self) -> Option<f64> {
        if self.trajectory.start.1[state::VALVE] > 0.5 {
            return Some(0.0);
        }
        self.trajectory.events_of(event::VALVE_HALF).find(|e| e.upwards).map(|e| e.t_s)
    }

    /// Hip at the end: position forward and up, m.
    #[must_use]
    pub fn hip_end_m(&self) -> [f64; 2] {
        self.system.hip_on(self.trajectory.mode, &self.trajectory.end.1)
    }

    /// Downward speed of the hip at the end, m/s.
    #[must_use]
    pub fn drop_speed_m_per_s(&self) -> f64 {
        let v = self.system.hip_velocity(self.trajectory.mode, &self.trajectory.end.1);
        let (sin, cos) = math::sin_cos(self.system.slope_rad);
        sin * v[0] - cos * v[1]
    }
}

fn check_unlocked(knee: &Knee, what: &str) -> Result<(), SimError> {
    if knee.locked {
        return Err(SimError::CannotRun(format!("the joint is locked straight; {what} needs flexion")));
    }
    Ok(())
}

/// One step down a ramp.
///
/// # Errors
/// A locked joint; otherwise as [`LegRun::run`] and [`LegRun::on_the_ground`].
pub fn ramp(
    r: &Ramp,
    segments: Segments,
    knee: &Knee,
    hip_n_m_per_kg: f64,
    tolerances: &Tolerances,
) -> Result<LegRun, SimError> {
    check_unlocked(knee, "yielding on a ramp")?;
    let system = LegSystem {
        segments,
        knee: knee.under_load(),
        footing: segments.rolling_foot(),
        slope_rad: r.slope_deg * DEG,
        speed_m_per_s: r.speed_m_per_s,
        weight_transfer_s: r.weight_transfer_s,
        hip_moment_n_m: hip_n_m_per_kg * segments.mass_kg,
        other_foot: OtherFoot::Slope { ahead_rad: r.other_leg_ahead_deg * DEG, from_m: r.other_foot_from_m },
        collapse_rad: r.collapse_deg * DEG,
        stall_m_per_s: Some(r.stall_m_per_s),
    };
    let beta = -(r.start_shank_deg + r.slope_deg) * DEG;
    let phi = knee.start_flexion_rad(r.start_flexion_deg);
    let start = [beta, phi, system.tilt_rate_at_pace(beta, phi, 0.0), 0.0, knee.stance.unloaded_state()];
    LegRun::run(system, start, r.longest_s, "ramp", tolerances)?.on_the_ground("ramp")
}

/// One step down stairs, the step's edge under the midfoot.
///
/// # Errors
/// A locked joint; an initial hip position that no shank angle gives; otherwise as [`LegRun::run`] and [`LegRun::on_the_ground`].
pub fn stairs(
    s: &Stairs,
    segments: Segments,
    knee: &Knee,
    hip_n_m_per_kg: f64,
    tolerances: &Tolerances,
) -> Result<LegRun, SimError> {
    check_unlocked(knee, "lowering oneself on stairs")?;
    let system = LegSystem {
        segments,
        knee: knee.under_load(),
        footing: segments.stair_edge(),
        slope_rad: 0.0,
        speed_m_per_s: s.speed_m_per_s,
        weight_transfer_s: 0.0,
        hip_moment_n_m: hip_n_m_per_kg * segments.mass_kg,
        other_foot: OtherFoot::Height { hip_m: segments.leg_m() + s.reach_m - s.riser_m },
        collapse_rad: s.collapse_deg * DEG,
        stall_m_per_s: Some(s.stall_m_per_s),
    };
    let phi = knee.start_flexion_rad(s.start_flexion_deg);
    let hip = |beta: f64| system.hip_m(crate::scenario::Region::Arc, beta, phi)[0] - s.start_hip_m;
    let (low, high) = (-0.6, 0.8);
    if hip(low) > 0.0 || hip(high) < 0.0 {
        return Err(SimError::CannotRun(format!(
            "no shank angle puts the hip {} m ahead of the edge with the knee bent by {:.1}°",
            s.start_hip_m,
            phi / DEG
        )));
    }
    let beta = crate::numerics::roots::find_root(hip, low, high, 1e-14);
    let start = [beta, phi, system.tilt_rate_at_pace(beta, phi, 0.0), 0.0, knee.stance.loaded_state()];
    LegRun::run(system, start, s.longest_s, "stairs", tolerances)?.on_the_ground("stairs")
}

/// Landing on a knee that is still bent.
///
/// # Errors
/// A locked joint; otherwise as [`LegRun::run`] and [`LegRun::on_the_ground`].
pub fn stumble(
    s: &Stumble,
    segments: Segments,
    knee: &Knee,
    hip_n_m_per_kg: f64,
    tolerances: &Tolerances,
) -> Result<LegRun, SimError> {
    check_unlocked(knee, "landing on a bent knee")?;
    let system = LegSystem {
        segments,
        knee: knee.under_load(),
        footing: segments.rolling_foot(),
        slope_rad: 0.0,
        speed_m_per_s: s.speed_m_per_s,
        weight_transfer_s: s.weight_transfer_s,
        hip_moment_n_m: hip_n_m_per_kg * segments.mass_kg,
        other_foot: OtherFoot::None,
        collapse_rad: s.collapse_deg * DEG,
        stall_m_per_s: None,
    };
    let (beta, phi) = (-s.start_shank_deg * DEG, knee.start_flexion_rad(s.start_flexion_deg));
    let start = [beta, phi, system.tilt_rate_at_pace(beta, phi, 0.0), 0.0, knee.stance.unloaded_state()];
    LegRun::run(system, start, s.span_s, "stumble", tolerances)?.on_the_ground("stumble")
}
