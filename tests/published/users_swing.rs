//! U2 and U3: the swing of each of the nine users (Hood et al. 2020, Scientific Data 7:150), driven by the user's own
//! thigh and reconstructed hip, from just before toe-off on with the measured flexion and rate.
//!
//! U2 takes the reference joint as it is. U3 fits three values of the joint to the measured knee: what the equation
//! of the swing can explain. The knees are the users' own, of several kinds, and unknown; everyone has the shank
//! of the checks \[J\]. One speed cannot tell damper laws apart: a linear and a friction law fit as well, shown
//! beside it and without a criterion.

use std::f64::consts::TAU;
use std::sync::LazyLock;

use nalgebra::{DMatrix, DVector};

use super::assert_but;
use crate::common::{knee, person, reference_shank};
use crate::cross_code::users_drive;
use crate::evidence::{Check, Kind, greatest};
use kneedamp::joint::damper::{DamperLaw, Linear, Orifice};
use kneedamp::joint::{AssistSpring, Knee};
use kneedamp::library::angles::reconstruction::Reconstruction;
use kneedamp::library::angles::series::{fit, rate, scaled, second_derivative, value};
use kneedamp::motion::preswing::Preswing;
use kneedamp::motion::swing::{LOADED, Pendulum, ShankSystem, Thigh, state};
use kneedamp::numerics::events::Mode;
use kneedamp::numerics::hybrid::{State, Trajectory};
use kneedamp::numerics::statistics::median;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::scenario::{Drive, DriveFile, DriveRow, Harmonics, Pace};
use kneedamp::units::{DEG, GRAVITY_M_PER_S2 as G};

const THIGH_HARMONICS: usize = 8;
const KNEE_HARMONICS: usize = 10;
/// Before toe-off, fraction of the stride: the reconstructed toe-off is where the toe has moved by 1.5 cm.
const LEAD: f64 = 0.015;

/// A user's swing: the drive made from the user's own series, and what was measured.
struct OwnSwing {
    subject: String,
    drive: Drive,
    mass_kg: f64,
    stature_m: f64,
    /// Knee as a series, degrees.
    knee_deg: Harmonics,
    /// Fraction of the stride at which it starts.
    from: f64,
    /// Whole percents of the stride after that, and flexion there, degrees.
    measured: Vec<(f64, f64)>,
}

impl OwnSwing {
    fn of(r: &Reconstruction) -> Self {
        let user = &r.user;
        let who = person(user.mass_kg, user.stature_m);
        let (leg_m, period) = (who.leg_length_m(), r.steps.stride_time_s);
        let acceleration_g = |path: &Harmonics| scaled(&second_derivative(path), 1.0 / (period.powi(2) * G));
        let knee_deg = fit(&r.knee_deg, KNEE_HARMONICS);
        let row = DriveRow {
            label: user.subject.clone(),
            dimensionless_speed: user.speed_m_per_s / (G * leg_m).sqrt(),
            dimensionless_cadence: 2.0 / period * (leg_m / G).sqrt(),
            dimensionless_step: 1.0,
            toe_off_fraction: r.toe.toe_off,
            opposite_contact_fraction: r.phase.sound_contact_pct as f64 / 100.0,
            thigh_angle_deg: fit(&user.prosthetic.thigh_deg(), THIGH_HARMONICS),
            knee_flexion_deg: knee_deg.clone(),
            hip_vertical_acceleration_g: acceleration_g(&r.path.up),
            hip_forward_acceleration_g: acceleration_g(&r.path.forward),
            vertical_load_bw: vec![0.0],
            forward_load_bw: vec![0.0],
        };
        let file = DriveFile { speeds: vec![row], ..users_drive::base() };
        let pace = Pace { speed_m_per_s: user.speed_m_per_s, cadence_steps_per_min: None };
        let drive = Drive::new(&file, leg_m, who.thigh_length_m(), pace).expect("its own speed");
        let from = r.toe.toe_off - LEAD;
        let measured = r.knee_deg.iter().enumerate().map(|(i, deg)| (i as f64 / 100.0, *deg));
        Self {
            subject: user.subject.clone(),
            drive,
            mass_kg: user.mass_kg,
            stature_m: user.stature_m,
            knee_deg,
            from,
            measured: measured.filter(|(p, _)| *p >= from).collect(),
        }
    }

    /// Flexion of a joint at the instants measured, degrees.
    fn flexion_deg(&self, knee: &Knee) -> Vec<f64> {
        let (who, period) = (person(self.mass_kg, self.stature_m), self.drive.stride_time_s);
        let system = ShankSystem {
            drive: Some(&self.drive),
            knee,
            pendulum: Pendulum::from(reference_shank()),
            thigh: Thigh::of(&who),
            preswing: Preswing::new(&who.preswing, 0.0, knee.extension_stop.angle_rad, knee.friction),
            weight_n: who.weight_n(),
        };
        let mut start = State::<{ state::COUNT }>::zeros();
        start[state::PHI] = value(&self.knee_deg, self.from) * DEG;
        start[state::OMEGA] = rate(&self.knee_deg, self.from) * DEG / period;
        start[state::VALVE] = knee.stance.unloaded_state();
        let mut mode = Mode::default();
        mode.set(LOADED, false);
        let mut trajectory = Trajectory::begin(&system, self.from * period, start, mode);
        trajectory.run(&system, "swing", period, &Tolerances::default()).expect("runs");
        self.measured.iter().map(|(p, _)| trajectory.at(p * period)[state::PHI] / DEG).collect()
    }

    fn errors_deg(&self, knee: &Knee) -> DVector<f64> {
        let errors =
            self.flexion_deg(knee).into_iter().zip(&self.measured).map(|(ours, (_, deg))| ours - deg);
        DVector::from_iterator(self.measured.len(), errors)
    }

    /// [peak, °; its instant, % of the stride] less those measured.
    fn peak_errors(&self, knee: &Knee) -> [f64; 2] {
        let peak = |curve: &[f64]| {
            let top = (0..curve.len()).max_by(|a, b| curve[*a].total_cmp(&curve[*b])).expect("points");
            [curve[top], 100.0 * self.measured[top].0]
        };
        let ours = peak(&self.flexion_deg(knee));
        let theirs = peak(&self.measured.iter().map(|m| m.1).collect::<Vec<_>>());
        [ours[0] - theirs[0], ours[1] - theirs[1]]
    }
}

fn rms(errors: &DVector<f64>) -> f64 {
    (errors.norm_squared() / errors.len() as f64).sqrt()
}

/// A damper law with its free values: logarithms of two coefficients and the assist, N m.
struct Law {
    name: &'static str,
    start: &'static [f64],
    knee: fn(&[f64]) -> Knee,
}

fn joint(flexion: DamperLaw, extension: DamperLaw, assist_n_m: f64) -> Knee {
    let assist = AssistSpring { torque_n_m: assist_n_m, rate_n_m_per_rad: 0.0 };
    Knee { swing_flexion: flexion, swing_extension: extension, assist, ..knee("reference") }
}

const LAWS: [Law; 3] = [
    Law {
        name: "orifice",
        start: &[-2.0, -2.5, 0.5],
        knee: |x| {
            let [flexion, extension] =
                [x[0], x[1]].map(|ln_b| DamperLaw::Orifice(Orifice { a: 0.1, b: ln_b.exp() }));
            joint(flexion, extension, x[2])
        },
    },
    Law {
        name: "linear",
        start: &[-1.0, -1.0, 0.5],
        knee: |x| {
            let [flexion, extension] = [x[0], x[1]].map(|ln_c| DamperLaw::Linear(Linear { c: ln_c.exp() }));
            joint(flexion, extension, x[2])
        },
    },
    Law {
        name: "friction",
        start: &[0.3, 0.5],
        knee: |x| {
            let law = DamperLaw::Linear(Linear { c: 0.1 });
            let mut knee = joint(law.clone(), law, x[1]);
            knee.friction.torque_n_m = x[0].exp();
            knee
        },
    },
];

/// Least squares by Levenberg and Marquardt: the values and the rms, degrees.
fn fitted(swing: &OwnSwing, law: &Law) -> (Vec<f64>, f64) {
    const STEP: f64 = 0.02;
    let bounded = |x: &DVector<f64>| {
        let last = x.len() - 1;
        x.map_with_location(|i, _, v| if i == last { v.clamp(-3.0, 8.0) } else { v.clamp(-7.0, 2.0) })
    };
    let errors = |x: &DVector<f64>| swing.errors_deg(&(law.knee)(x.as_slice()));
    let mut x = DVector::from_row_slice(law.start);
    let mut now = errors(&x);
    let mut damping = 1e-2;
    for _ in 0..25 {
        let mut slopes = DMatrix::zeros(now.len(), x.len());
        for i in 0..x.len() {
            let mut moved = x.clone();
            moved[i] += STEP;
            slopes.set_column(i, &((errors(&moved) - &now) / STEP));
        }
        let square = slopes.transpose() * &slopes;
        let Some((next, after)) = (0..8).find_map(|_| {
            let damped = &square + DMatrix::from_diagonal(&square.diagonal().add_scalar(1e-3)) * damping;
            let step = damped.cholesky()?.solve(&(slopes.transpose() * &now));
            let next = bounded(&(&x - step));
            let after = errors(&next);
            let better = after.norm_squared() < now.norm_squared();
            damping *= if better { 0.3 } else { 4.0 };
            better.then_some((next, after))
        }) else {
            break;
        };
        let gained = 1.0 - after.norm_squared() / now.norm_squared();
        (x, now) = (next, after);
        if gained < 1e-4 {
            break;
        }
    }
    (x.as_slice().to_vec(), rms(&now))
}

/// Per user: [|peak error|, |error of its instant|, rms with each law fitted].
static FIGURES: LazyLock<Vec<(String, [f64; 5])>> = LazyLock::new(|| {
    let reference = knee("reference");
    let each = |r: &Reconstruction| {
        let swing = OwnSwing::of(r);
        let [peak, instant] = swing.peak_errors(&reference);
        let alone = rms(&swing.errors_deg(&reference));
        let [orifice, linear, friction] = LAWS.map(|law| {
            let (x, rms) = fitted(&swing, &law);
            println!("{} {}: {:.2?}, rms {rms:.2}°", swing.subject, law.name, x);
            rms
        });
        println!("{}: reference joint: rms {alone:.1}°, peak {peak:+.1}° at {instant:+.0} %", swing.subject);
        (swing.subject, [peak.abs(), instant.abs(), orifice, linear, friction])
    };
    users_drive::converted(&[]).users.iter().map(each).collect()
});

fn of_all(k: usize) -> Vec<f64> {
    FIGURES.iter().map(|(_, f)| f[k]).collect()
}

pub fn checks() -> Vec<Check> {
    let nine = "Hood et al. 2020, Scientific Data 7:150, nine users at 0.8 m/s";
    let check = |id, what, criterion, figure, unit| Check {
        id,
        kind: Kind::Independent,
        what,
        source: nine,
        criterion,
        figure,
        unit,
    };
    let middle = |k| median(of_all(k)).unwrap_or(f64::NAN);
    vec![
        check(
            "U2a",
            "peak flexion, own thigh and hip, reference joint, median of nine users",
            8.0,
            middle(0),
            "°",
        ),
        check("U2b", "instant of that peak, likewise", 3.0, middle(1), "% of stride"),
        check("U3a", "knee in swing, rms, three values of the joint fitted, median", 2.0, middle(2), "°"),
        check("U3b", "the same, worst of nine users", 4.0, greatest(of_all(2)), "°"),
    ]
}

#[test]
fn published_users_own_swing() {
    let checks = checks();
    for (k, law) in LAWS.iter().enumerate() {
        println!("{}: median rms {:.2}°", law.name, median(of_all(2 + k)).unwrap_or(f64::NAN));
    }
    assert_but(&checks, &[]);
}

/// The drive of a user carries the user's own curves, to the rounding of the arithmetic.
#[test]
fn published_users_drive_is_the_users_own() {
    for r in &users_drive::converted(&[]).users {
        let swing = OwnSwing::of(r);
        assert!((swing.drive.stride_time_s / r.steps.stride_time_s - 1.0).abs() < 1e-12);
        let thigh = fit(&r.user.prosthetic.thigh_deg(), THIGH_HARMONICS);
        for i in 0..20 {
            let p = f64::from(i) / 20.0;
            let k = swing.drive.kinematics(p * r.steps.stride_time_s);
            assert!((k.thigh / DEG - value(&thigh, p)).abs() < 1e-9);
            let path = |h: &Harmonics| {
                let terms = h.cos.iter().zip(&h.sin).enumerate().map(|(i, (c, s))| {
                    let w = TAU * (i + 1) as f64;
                    -w * w * (c * (w * p).cos() + s * (w * p).sin())
                });
                terms.sum::<f64>() / r.steps.stride_time_s.powi(2)
            };
            assert!((k.hip_acc_x - path(&r.path.forward)).abs() < 1e-9);
            assert!((k.hip_acc_z - path(&r.path.up)).abs() < 1e-9);
        }
    }
}
