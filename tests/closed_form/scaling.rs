//! Exact scaling: everything of a stride scaled with length λ, mass μ and time √λ (Froude) gives the scaled stride.

use kneedamp::body::{Alignment, Person, PreswingHabit, Shank};
use kneedamp::joint::damper::{ConstantFriction, DamperLaw, Orifice};
use kneedamp::joint::{AssistSpring, Cushion, EndStop, Knee, Relief, StanceValve};
use kneedamp::motion::stride::Stride;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::scenario::{Drive, Pace};
use kneedamp::units::DEG;

use super::fixtures::row;
use crate::common::{knee, reference_shank, walking_drive};
use crate::evidence::{Check, greatest};

/// Factors of length and mass.
#[derive(Clone, Copy)]
struct Scale {
    length: f64,
    mass: f64,
}

impl Scale {
    fn time(self) -> f64 {
        self.length.sqrt()
    }

    fn torque(self) -> f64 {
        self.mass * self.length
    }

    fn orifice(self, o: Orifice) -> Orifice {
        Orifice { a: o.a * self.torque() * self.time(), b: o.b * self.torque() * self.length }
    }

    fn law(self, law: &DamperLaw) -> DamperLaw {
        DamperLaw::Orifice(self.orifice(law.coefficients().expect("an orifice")))
    }

    fn stop(self, s: EndStop) -> EndStop {
        EndStop {
            stiffness_n_m_per_rad: s.stiffness_n_m_per_rad * self.torque(),
            damping_s_per_rad: s.damping_s_per_rad * self.time(),
            ..s
        }
    }

    fn knee(self, k: &Knee) -> Knee {
        Knee {
            swing_flexion: self.law(&k.swing_flexion),
            swing_extension: self.law(&k.swing_extension),
            stance: StanceValve {
                yielding: self.orifice(k.stance.yielding),
                catch_load_n: k.stance.catch_load_n * self.mass,
                lag_s: k.stance.lag_s * self.time(),
                release_distance_m: k.stance.release_distance_m * self.length,
                full_distance_m: k.stance.full_distance_m * self.length,
                ..k.stance
            },
            relief: k.relief.map(|r| Relief { torque_n_m: r.torque_n_m * self.torque(), ..r }),
            extension_stop: self.stop(k.extension_stop),
            flexion_stop: self.stop(k.flexion_stop),
            assist: AssistSpring {
                torque_n_m: k.assist.torque_n_m * self.torque(),
                rate_n_m_per_rad: k.assist.rate_n_m_per_rad * self.torque(),
            },
            friction: ConstantFriction {
                torque_n_m: k.friction.torque_n_m * self.torque(),
                smoothing_rad_per_s: k.friction.smoothing_rad_per_s / self.time(),
            },
            ..k.clone()
        }
    }

    fn person(self, p: &Person) -> Person {
        let h = p.preswing;
        Person {
            mass_kg: p.mass_kg * self.mass,
            stature_given_m: Some(p.stature_m() * self.length),
            // per mass, so with the length alone
            user_effort_n_m_per_kg: p.user_effort_n_m_per_kg * self.length,
            preswing: PreswingHabit {
                light_a_n_m_s_per_rad: h.light_a_n_m_s_per_rad * self.torque() * self.time(),
                light_b_n_m_s2_per_rad2: h.light_b_n_m_s2_per_rad2 * self.torque() * self.length,
                tracking_hz: h.tracking_hz / self.time(),
            },
            ..p.clone()
        }
    }

    fn shank(self, s: Shank) -> Shank {
        Shank {
            mass_kg: s.mass_kg * self.mass,
            com_distance_m: s.com_distance_m * self.length,
            inertia_kg_m2: s.inertia_kg_m2 * self.mass * self.length * self.length,
            ..s
        }
    }

    fn stride(self, speed_m_per_s: f64, alignment: Alignment) -> Stride {
        let person = self.person(&Person::default());
        let pace = Pace { speed_m_per_s: speed_m_per_s * self.time(), cadence_steps_per_min: None };
        let file = walking_drive().file;
        let foot_shift_m = alignment.foot_shift_m * self.length;
        let drive = Drive::new(&file, person.leg_length_m(), person.thigh_length_m(), pace)
            .expect("in the table")
            .aligned(Alignment { foot_shift_m, ..alignment });
        let knee = self.knee(&joint());
        Stride::run(drive, knee, &person, self.shank(reference_shank()), 0.1, &Tolerances::tight())
            .expect("runs")
    }
}

/// A joint with every law in it, and a catch load that releases late.
fn joint() -> Knee {
    let mut joint = knee("built-in");
    joint.cushion = Some(Cushion { start_rad: 15.0 * DEG, factor: 8.0 });
    joint.assist.rate_n_m_per_rad = 0.4;
    joint.stance.catch_load_n = 140.0;
    joint
}

/// Greatest difference of flexion at the same stride fraction, degrees.
fn difference() -> f64 {
    let same = Scale { length: 1.0, mass: 1.0 };
    let aligned = Alignment { foot_shift_m: 0.012, foot_tilt_deg: -1.5 };
    let pairs = [0.8, 1.1, 1.4].into_iter().flat_map(|v| {
        [Scale { length: 0.9, mass: 0.6 }, Scale { length: 1.12, mass: 1.5 }].map(|to| (v, to))
    });
    greatest(pairs.flat_map(|(v, to)| {
        let (plain, scaled) = (same.stride(v, aligned), to.stride(v, aligned));
        (45..=105).map(move |pct| {
            let at = |s: &Stride| s.flexion(f64::from(pct) / 100.0 * s.drive.stride_time_s) / DEG;
            (at(&plain) - at(&scaled)).abs()
        })
    }))
}

pub fn checks() -> Vec<Check> {
    let what = "a person, prosthesis and joint scaled in size and mass: flexion at every stride fraction";
    vec![row("A24", what, "exact scaling with length, mass and √length (Froude)", 1e-6, difference(), "°")]
}

#[test]
fn closed_form_scaling_agrees() {
    checks().iter().for_each(Check::assert);
}
