//! The sound leg of the page: its table is the mean of the shipped recordings, and it stays near it.

use kneedamp::library::angles::leg::Leg;
use kneedamp::library::angles::read::read;
use kneedamp::library::angles::reconstruction::Reconstruction;
use kneedamp::library::angles::series::value;
use kneedamp::library::angles::user::{Angle, User};
use kneedamp::library::table::Named;
use kneedamp::teaching::sound_leg::measured;

use crate::cross_code::users_drive::table;

fn users() -> Vec<User> {
    let (angles, people) = (table("prosthesis_users_0p8.csv"), table("prosthesis_users_people.csv"));
    let named = [Named { name: "angles", text: &angles }, Named { name: "people", text: &people }];
    read(named[0], named[1], &[]).expect("shipped").users
}

/// Mean thigh, knee and foot pitch of the sound side at a percent of its stride, degrees.
fn mean_deg(users: &[User], pct: usize) -> [f64; 3] {
    let n = users.len() as f64;
    let mean = |of: &dyn Fn(&User) -> f64| users.iter().map(of).sum::<f64>() / n;
    let thigh = mean(&|u| u.sound.thigh_deg()[pct]);
    let knee = mean(&|u| u.sound.deg(Angle::KneeFlexion)[pct]);
    [thigh, knee, thigh - knee + mean(&|u| u.sound.deg(Angle::AnkleDorsiflexion)[pct])]
}

/// `KNEEDAMP_BLESS=1 cargo test --test all sound_leg` writes the table anew.
#[test]
fn page_sound_leg_is_the_mean_of_the_recordings() {
    let users = users();
    let mut text = String::from(
        "# Mean angles of the sound side of nine users of above-knee prostheses over a stride of that side, degrees.\n\
         # source: Hood, Ishmael, Gunnell, Foreman & Lenzi 2020, Scientific Data 7:150 (doi 10.1038/s41597-020-0494-7), \
         treadmill at 0.8 m/s, own prostheses; the nine of tests/reference/prosthesis_users_0p8.csv.\n\
         # licence: CC BY 4.0 as far as known; name the paper. The people are anonymous.\n\
         # made by: KNEEDAMP_BLESS=1 cargo test --test all sound_leg\n\
         stride_pct,thigh_deg,knee_flexion_deg,foot_pitch_deg\n",
    );
    for pct in (0..=100).step_by(2) {
        let [thigh, knee, foot] = mean_deg(&users, pct);
        text += &format!("{pct},{thigh:.2},{knee:.2},{foot:.2}\n");
    }
    let path = format!("{}/sim/teaching/sound_leg.csv", env!("CARGO_MANIFEST_DIR"));
    if std::env::var_os("KNEEDAMP_BLESS").is_some() {
        std::fs::write(&path, &text).expect("writes");
    }
    assert_eq!(std::fs::read_to_string(&path).expect("the table"), text);
    for pct in [0, 30, 62, 98] {
        let [thigh, knee, foot] = mean_deg(&users, pct);
        let read = measured(pct as f64 / 100.0);
        for (ours, theirs) in [(read.thigh, thigh), (read.knee, knee), (read.foot, foot)] {
            assert!((ours.to_degrees() - theirs).abs() < 0.006, "{pct} %");
        }
    }
}

/// Distance of the hip joints, m \[J\].
const HIPS_APART_M: f64 = 0.17;
/// Foot tip ahead of the ankle and ankle over the sole, per stature.
const TIP: [f64; 2] = [0.152 - 0.06 / 1.75, 0.039];

/// What the nine users say of the height of the hip while the prosthesis swings, mm for each: how much lower it is along the
/// sound leg than along the prosthesis in its stance, how far the pelvis lifts the prosthetic side, and how high a flat
/// tip of the foot passes the ground with that lift.
fn hip_and_tip_mm(user: &User) -> [f64; 3] {
    let r = Reconstruction::of(user.clone()).expect("shipped");
    let (h, contact) = (user.stature_m, r.phase.sound_contact_pct);
    let (sound, own) = (Leg::smoothed(&user.sound, h, 8, true), Leg::smoothed(&user.prosthetic, h, 8, true));
    let mean = |leg: &Leg, from: usize, to: usize, shift: usize| {
        let over = |i: usize| {
            leg.hip_over_standing_foot(i)[1] - value(&r.path.up, ((i + shift) % 100) as f64 / 100.0)
        };
        (from..=to).map(over).sum::<f64>() / (to - from + 1) as f64
    };
    let lower = mean(&own, 10, 44, 0) - mean(&sound, 8, 58, contact);
    let lift = |i: usize| HIPS_APART_M * user.prosthetic.deg(Angle::PelvisObliquity)[i].to_radians().sin();
    let lifted = (65..95).map(lift).sum::<f64>() / 30.0;
    let (thigh, measured) = (user.prosthetic.thigh_deg(), Leg::measured(&user.prosthetic, h));
    let tip = |i: usize| {
        let angle = |a| user.prosthetic.deg(a)[i];
        let pitch = (thigh[i] - angle(Angle::KneeFlexion) + angle(Angle::AnkleDorsiflexion)).to_radians();
        let hip = sound.hip_over_standing_foot((i + 100 - contact) % 100)[1] + lift(i);
        hip + measured.ankle_from_hip(i)[1] + h * (TIP[0] * pitch.sin() - TIP[1] * pitch.cos())
    };
    let least = (70..95).map(tip).fold(f64::INFINITY, f64::min);
    [lower, lifted, least].map(|m| 1e3 * m)
}

/// The mean height of the hip is uncertain by the size of these figures, and a flat tip would scuff.
#[test]
fn page_sound_leg_tells_the_height_of_the_hip() {
    let users = users();
    let all: Vec<[f64; 3]> = users.iter().map(hip_and_tip_mm).collect();
    let mean = [0, 1, 2].map(|k| all.iter().map(|u| u[k]).sum::<f64>() / all.len() as f64);
    println!(
        "hip along the sound leg {:.1} mm lower, prosthetic side lifted by {:.1} mm, flat tip {:.1} mm over the ground",
        mean[0], mean[1], mean[2]
    );
    assert!((mean[0] - 11.4).abs() < 1.0 && (mean[1] - 11.6).abs() < 1.5, "{mean:?}");
    assert!(mean[2] < 5.0, "a tip that turns up is needed: {mean:?}");
}
