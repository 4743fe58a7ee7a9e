//! Loaded legs side by side: the equations of `stance_leg` and its event functions for a vector of legs.

use super::joint_events::{STILL_RAD_PER_S, joint_branch, joint_event};
use super::leg_dynamics::LegConstants;
use super::leg_geometry::{LegSystem, OtherFoot, Posture, dot, event, state};
use super::stance_leg::FrozenLeg;
use crate::joint::JointLanes;
use crate::numerics::events::Mode;
use crate::numerics::lanes::{LaneSystem, Lanes, NOTES, flips, lane_numbers, leaves};
use crate::numerics::simd::Lane;
use crate::numerics::vector::Row;
use crate::scenario::Sole;

lane_numbers! {
    /// What the events of the leg compare with.
    EventNumbers {
        heel_rad, toe_rad, collapse_rad, stall_m_per_s, from_m,
        /// Height of the other foot over the ground: hip height + these · (hip forward, 1).
        gap_per_m, gap_m,
    }
}

/// A vector of legs, each in its mode.
#[derive(Clone, Copy)]
pub struct LegLaws<T: Lane> {
    flips: [T; event::COUNT],
    joint: JointLanes<T>,
    leg: LegConstants<T>,
    sole: Sole<T>,
    events: EventNumbers<T>,
}

impl<T: Lane> LegLaws<T> {
    #[inline(always)]
    fn posture(&self, beta: T, phi: T) -> Posture<T> {
        let shank = beta.sin_cos();
        Posture { knee: self.sole.knee(beta, shank), shank, thigh: (beta - phi).sin_cos() }
    }
}

impl LegSystem {
    fn event_numbers(&self) -> EventNumbers {
        let (heel_rad, toe_rad) = self.footing.ends_rad().unwrap_or_default();
        let (from_m, gap_per_m, gap_m) = match self.other_foot {
            OtherFoot::None => (0.0, 0.0, 0.0),
            OtherFoot::Height { hip_m } => (0.0, 0.0, -hip_m),
            OtherFoot::Slope { ahead_rad, from_m } => {
                let (leg, tan) = (self.segments.leg_m(), self.slope_rad.tan());
                (from_m, tan, leg * (ahead_rad.sin() * tan - ahead_rad.cos()))
            }
        };
        let stall_m_per_s = self.stall_m_per_s.unwrap_or(0.0);
        EventNumbers {
            heel_rad,
            toe_rad,
            collapse_rad: self.collapse_rad,
            stall_m_per_s,
            from_m,
            gap_per_m,
            gap_m,
        }
    }
}

impl LaneSystem<{ state::COUNT }> for LegSystem {
    const ROWS: usize =
        event::COUNT + JointLanes::ROWS + LegConstants::COUNT + Sole::COUNT + EventNumbers::COUNT;

    type Laws<T: Row> = LegLaws<T>;

    fn put(&self, frozen: &FrozenLeg<'_>, mode: Mode, rows: &mut [Lanes], lane: usize) {
        let mut flip = [0.0; event::COUNT];
        flips::<{ state::COUNT }, Self>(frozen, mode, &mut flip);
        for (row, flip) in rows.iter_mut().zip(flip) {
            row.0[lane] = flip;
        }
        let weight_n = self.segments.weight_n();
        let on = (joint_branch(mode), frozen.sensor());
        let next = JointLanes::put(&self.knee, on, weight_n, (rows, event::COUNT, lane));
        let next = self.constants().put(rows, next, lane);
        let next = frozen.sole().put(rows, next, lane);
        self.event_numbers().put(rows, next, lane);
    }

    #[inline(always)]
    fn laws<T: Row>(zero: T, rows: &[Lanes]) -> LegLaws<T> {
        let mut flips = [zero; event::COUNT];
        for i in 0..event::COUNT {
            flips[i] = zero.load(&rows[i].0);
        }
        let mut row = event::COUNT;
        LegLaws {
            flips,
            joint: JointLanes::get(zero, rows, &mut row),
            leg: LegConstants::get(zero, rows, &mut row),
            sole: Sole::get(zero, rows, &mut row),
            events: EventNumbers::get(zero, rows, &mut row),
        }
    }

    #[inline(always)]
    fn rate<T: Row>(
        laws: &LegLaws<T>,
        t: T,
        y: &[T; state::COUNT],
        dy: &mut [T; state::COUNT],
    ) -> [T; NOTES] {
        let (phi, omega, z) = (y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        let rates = [y[state::BETA_RATE], omega];
        let p = laws.posture(y[state::BETA], phi);
        let f = laws.leg.forces(laws.joint.torque(phi, omega, z), &p, t, rates);
        let zero = t.splat(0.0);
        let armed = !zero.above(zero);
        dy[state::BETA] = rates[0];
        dy[state::PHI] = omega;
        dy[state::BETA_RATE] = f.acc[0];
        dy[state::OMEGA] = f.acc[1];
        dy[state::VALVE] = laws.joint.valve_rate(f.load_bw, f.centre_of_pressure_m, phi, z, armed);
        let powers = f.powers(rates);
        #[allow(clippy::manual_memcpy)]
        // a copy of slices is a call, which vectors do not survive in registers
        for i in 0..powers.len() {
            dy[state::DAMPER + i] = powers[i];
        }
        [f.load_bw, f.along_bw, f.across_bw]
    }

    #[inline(always)]
    fn leaves<T: Row>(laws: &LegLaws<T>, _t: T, y: &[T; state::COUNT]) -> T::Mask {
        use joint_event as j;
        let (flip, joint, at) = (&laws.flips, &laws.joint, &laws.events);
        let (beta, phi, omega, z) = (y[state::BETA], y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        let bend = joint.bend(phi);
        let pressure = laws.sole.centre_of_pressure_m(beta);
        let valve = &joint.valve;
        let p = laws.posture(beta, phi);
        let hip = p.hip(laws.leg.thigh_m);
        let forward = [laws.leg.forward_x, laws.leg.forward_z];
        let hip = [dot(hip, forward), dot(hip, [laws.leg.up_x, laws.leg.up_z])];
        let pace = dot(p.hip_velocity(laws.leg.thigh_m, y[state::BETA_RATE], omega), forward);
        let begun = bend - valve.bend_start_rad;
        // joints under load have no cushion
        leaves(omega, flip[j::RATE], STILL_RAD_PER_S)
            | leaves(joint.relief_excess(omega, z), flip[j::RELIEF], 0.0)
            | leaves(-bend, flip[j::EXTENSION_DEPTH], 0.0)
            | leaves(joint.extension_stop.contact_factor(-omega), flip[j::EXTENSION_PUSH], 0.0)
            | leaves(phi - joint.flexion_stop.angle_rad, flip[j::FLEXION_DEPTH], 0.0)
            | leaves(joint.flexion_stop.contact_factor(omega), flip[j::FLEXION_PUSH], 0.0)
            | leaves(beta - at.heel_rad, flip[event::HEEL_END], 0.0)
            | leaves(beta - at.toe_rad, flip[event::TOE_END], 0.0)
            | leaves(pressure - valve.full_distance_m, flip[event::WEIGHT_FULL], 0.0)
            | leaves(pressure - valve.release_distance_m, flip[event::WEIGHT_NONE], 0.0)
            | leaves(begun, flip[event::BEND_BEGINS], 0.0)
            | leaves(begun - valve.bend_span_rad, flip[event::BEND_FULL], 0.0)
            | leaves(z - 0.5, flip[event::VALVE_HALF], 0.0)
            | leaves(hip[0] - at.from_m, flip[event::HIP_PAST], 0.0)
            | leaves(hip[0].times_plus(at.gap_per_m, hip[1] + at.gap_m), flip[event::OTHER_FOOT], 0.0)
            | leaves(phi - at.collapse_rad, flip[event::COLLAPSE], 0.0)
            | leaves(pace - at.stall_m_per_s, flip[event::STALL], 0.0)
    }
}
