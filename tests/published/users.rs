//! U1 and M: users of prostheses as measured against the shipped drive made from them and the reference joint.
//!
//! U1: means and standard deviations of the 18 users at 0.8 m/s (Hood et al. 2020, Scientific Data 7:150); nine of
//! them made the drive. The drive prescribes thigh and hip, so that the knee alone is compared.
//!
//! M: what mass does to gait. M1: 0.6 kg at the ankle changed nothing significantly in ten users (Hekmatfard
//! et al. 2013, Gait & Posture 37:78). M3: the heavier the shank, the greater the muscular effort about
//! the hip (Hale 1990, Prosthet Orthot Int 14:125: +37 % and +71 %); the order is required, its size shown. Abstracts
//! were read.

use super::assert_but;
use crate::common::{knee, library, person, reference_shank, trial, walking_drive};
use crate::evidence::{Check, Kind, greatest};
use kneedamp::body::anthropometry::KNEE_TO_ANKLE_PER_STATURE;
use kneedamp::body::{Part, Shank};
use kneedamp::motion::Motion;
use kneedamp::motion::stride::Stride;
use kneedamp::motion::swing::state;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::scenario::{Drive, Pace};
use kneedamp::units::DEG;

const HOOD: &str = "Hood et al. 2020, Scientific Data 7:150, 18 users at 0.8 m/s";
const HEKMATFARD: &str = "Hekmatfard et al. 2013, Gait & Posture 37:78, ten users: no significant change";
const HALE: &str = "Hale 1990, Prosthet Orthot Int 14:125: 0.73 and 0.80";

/// Mean and standard deviation over the 18 users: peak, its instant, instant within 3° of straight, flexion at
/// heel contact.
const MEASURED: [[f64; 2]; 4] = [[57.6, 10.9], [71.2, 3.1], [90.5, 3.1], [0.8, 2.1]];

/// The reference joint at 0.8 m/s with the users' drive: the same four figures.
fn reference_joint() -> [f64; 4] {
    let (who, pace) = (person(75.0, 1.75), Pace { speed_m_per_s: 0.8, cadence_steps_per_min: None });
    let drive = Drive::new(&walking_drive().file, who.leg_length_m(), who.thigh_length_m(), pace);
    let stride = Stride::run(
        drive.expect("in the table"),
        knee("reference"),
        &who,
        reference_shank(),
        0.15,
        &Tolerances::default(),
    )
    .expect("runs");
    let (peak_s, peak) = stride.peak();
    let period = stride.drive.stride_time_s;
    let fine = (0..=2000).map(|i| peak_s + (1.15 * period - peak_s) * f64::from(i) / 2000.0);
    let straight = fine.into_iter().find(|t| stride.trajectory.at(*t)[state::PHI] <= 3.0 * DEG);
    let pct = |t: f64| 100.0 * t / period;
    [peak / DEG, pct(peak_s), straight.map_or(f64::NAN, pct), stride.flexion(period) / DEG]
}

/// A comfortable stride of the reference joint with another shank.
fn stride_with(shank: Shank) -> Stride {
    let mut trial = trial("walk-comfortable");
    (trial.knee, trial.shank) = (knee("reference"), shank);
    let Motion::Walk(walk) = trial.run().expect("runs") else { panic!("walks") };
    walk.stride
}

fn with_mass_at_ankle(mass_kg: f64) -> Shank {
    let who = library().person("75-kg").expect("shipped person");
    let part = |mass_kg, down_m, ahead_m, gyration_radius_m| Part {
        part: String::new(),
        mass_kg,
        down_m,
        ahead_m,
        gyration_radius_m,
    };
    let own = reference_shank();
    let (sin, cos) = own.com_angle_rad.sin_cos();
    let gyration = (own.central_inertia_kg_m2() / own.mass_kg).sqrt();
    Shank::from_parts(&[
        part(own.mass_kg, own.com_distance_m * cos, own.com_distance_m * sin, gyration),
        part(mass_kg, KNEE_TO_ANKLE_PER_STATURE * who.stature_m(), 0.0, 0.0),
    ])
}

/// Change by 0.6 kg at the ankle of the peak, °, and of full extension, % of the stride.
fn change_by_mass() -> [f64; 2] {
    let figures = [0.0, 0.6].map(|kg| {
        let s = stride_with(with_mass_at_ankle(kg));
        let straight = s.full_extension_s().expect("straight");
        [s.peak().1 / DEG, 100.0 * straight / s.drive.stride_time_s]
    });
    println!("0 and 0.6 kg at the ankle: peak °, full extension %: {figures:.2?}");
    [0, 1].map(|k| (figures[1][k] - figures[0][k]).abs())
}

/// Positive work of the hip in swing with the lighter over that with the next heavier shank; the moment of inertia
/// about the centre of mass and the place of the latter are kept.
fn hip_effort_ratios() -> [f64; 2] {
    let own = reference_shank();
    let work = [1.33, 2.55, 3.37].map(|mass_kg| {
        let inertia_kg_m2 = own.central_inertia_kg_m2() + mass_kg * own.com_distance_m.powi(2);
        stride_with(Shank { mass_kg, inertia_kg_m2, ..own }).positive_hip_work_j()
    });
    println!("hip work in swing: {work:.2?} J, {:+.0?} %", work.map(|w| 100.0 * (w / work[0] - 1.0)));
    [work[0] / work[1], work[1] / work[2]]
}

pub fn checks() -> Vec<Check> {
    let check = |id, what, source, criterion, figure, unit| Check {
        id,
        kind: Kind::Independent,
        what,
        source,
        criterion,
        figure,
        unit,
    };
    let model = reference_joint();
    println!("users' drive, reference joint, 0.8 m/s: {model:.2?}, measured {MEASURED:.1?}");
    let users = |id, what, k: usize, unit| {
        let [mean, sd] = MEASURED[k];
        check(id, what, HOOD, sd, (model[k] - mean).abs(), unit)
    };
    let [peak, straight] = change_by_mass();
    vec![
        users("U1a", "peak flexion, reference joint, from the users' mean; allowed 1 SD", 0, "°"),
        users("U1b", "its instant, likewise", 1, "% of stride"),
        users("U1c", "instant within 3° of straight, likewise", 2, "% of stride"),
        users("U1d", "flexion at heel contact, likewise", 3, "°"),
        check("M1a", "peak flexion changed by 0.6 kg at the ankle", HEKMATFARD, 5.0, peak, "°"),
        check("M1b", "full extension changed by it", HEKMATFARD, 3.0, straight, "% of stride"),
        check(
            "M3",
            "hip work in swing, shank of 1.33, 2.55, 3.37 kg: lighter over next heavier, greatest; order required",
            HALE,
            1.0,
            greatest(hip_effort_ratios()),
            "(ratio)",
        ),
    ]
}

#[test]
fn published_users() {
    assert_but(&checks(), &[]);
}
