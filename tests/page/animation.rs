//! Animations: what is drawn is what was computed.

use approx::assert_abs_diff_eq;
use kneedamp::motion::hip_path::MID_SWING;
use kneedamp::motion::{Motion, sitting, stance_leg};
use kneedamp::teaching::animation::{Animation, FRAMES, Ground};
use kneedamp::units::DEG;

use crate::common::trial;

const MOVING: [&str; 8] = [
    "walk-slow",
    "walk-comfortable",
    "walk-fast",
    "walk-hurried",
    "sit-down",
    "ramp-down-8-deg",
    "stairs-down",
    "stumble",
];

fn animation(scenario: &str, frames: usize) -> (Animation, Motion) {
    let trial = trial(scenario);
    let motion = trial.run().expect("runs");
    (Animation::of(&trial, &motion, frames), motion)
}

/// Knee axis and the lowest point of the sole at a frame, world frame.
fn knee_and_lowest(animation: &Animation, i: usize) -> ([f64; 2], [f64; 2]) {
    let f = &animation.frames[i];
    let knee = [
        f.hip_m[0] + animation.thigh_m * f.thigh_rad.sin(),
        f.hip_m[1] - animation.thigh_m * f.thigh_rad.cos(),
    ];
    let (sin, cos) = (f.thigh_rad - f.knee_rad).sin_cos();
    let place = |[x, up]: [f64; 2]| {
        let down = animation.knee_to_sole_m - up;
        [knee[0] + down * sin + x * cos, knee[1] - down * cos + x * sin]
    };
    let lowest = animation.sole_m.iter().map(|p| place(*p)).min_by(|a, b| {
        let over = |p: &[f64; 2]| p[1] + fall(animation) * p[0];
        over(a).total_cmp(&over(b))
    });
    (knee, lowest.expect("a sole"))
}

fn fall(animation: &Animation) -> f64 {
    if let Ground::Slope(rad) = animation.ground { rad.tan() } else { 0.0 }
}

#[test]
fn page_animations_have_the_frames_asked_for() {
    for name in MOVING {
        for asked in [0, 2, 120, 400, 100_000] {
            let (animation, _) = animation(name, asked);
            assert_eq!(animation.frames.len(), asked.clamp(*FRAMES.start(), *FRAMES.end()), "{name}");
            assert!(animation.instants.iter().all(|(t, _)| *t <= animation.end_s() + 1e-9), "{name}");
        }
    }
}

/// The last frame is the last state of the integration, the first its first.
#[test]
fn page_animations_begin_and_end_with_the_motion() {
    let (sit, Motion::Sit(run)) = animation("sit-down", 300) else { panic!("sits") };
    let last = sit.frames.last().expect("frames");
    assert_abs_diff_eq!(last.knee_rad, run.trajectory.end.1[sitting::state::PHI], epsilon = 1e-12);
    assert_abs_diff_eq!(sit.end_s(), run.trajectory.end.0, epsilon = 1e-12);
    // the seat: hip 0.54 m
    assert_abs_diff_eq!(last.hip_m[1], 0.54, epsilon = 1e-9);

    let (ramp, Motion::Ramp(m)) = animation("ramp-down-8-deg", 300) else { panic!("a ramp") };
    let last = ramp.frames.last().expect("frames");
    let (beta, phi) =
        (m.run.trajectory.end.1[stance_leg::state::BETA], m.run.trajectory.end.1[stance_leg::state::PHI]);
    assert_abs_diff_eq!(last.knee_rad, phi, epsilon = 1e-12);
    assert_abs_diff_eq!(last.thigh_rad, (phi - beta - 8.0 * DEG), epsilon = 1e-12);
    let hip = m.run.hip_end_m();
    assert!((last.hip_m[0] - hip[0]).abs() + (last.hip_m[1] - hip[1]).abs() < 1e-12);
}

/// Where the foot stands, the drawn sole touches the ground: the angles and the hip fit together.
#[test]
fn page_animations_stand_on_the_ground() {
    for name in ["ramp-down-8-deg", "ramp-down-1-in-12", "stumble"] {
        let (animation, _) = animation(name, 200);
        for i in 0..animation.frames.len() {
            let (_, p) = knee_and_lowest(&animation, i);
            let gap = p[1] + fall(&animation) * p[0];
            // the sole is drawn as twelve chords of its arc, and ends as a corner
            assert!(gap.abs() < 4e-3, "{name}, frame {i}: {gap}");
        }
    }
}

/// Hip and thigh are prescribed: two joints at the same pace are drawn with the same hip until the foot comes down.
#[test]
fn page_animations_of_two_joints_share_the_hip() {
    let answer =
        super::models().answer("walk-fast", &["swing-flexion=60", "swing-flexion=0"], 400).expect("runs");
    let [a, b] = [0, 1].map(|i| &answer.legs[i].as_ref().expect("ran").animation);
    let contact = a.landing_from_s.expect("lands");
    assert!((a.step_s - b.step_s).abs() < 1e-12, "frames at the same instants");
    let mut bent = 0.0_f64;
    for (x, y) in a.frames.iter().zip(&b.frames).take((MID_SWING[1] * contact / a.step_s) as usize) {
        assert!((x.hip_m[0] - y.hip_m[0]).abs() + (x.hip_m[1] - y.hip_m[1]).abs() < 1e-9);
        bent = bent.max((x.knee_rad - y.knee_rad).abs());
    }
    assert!(bent > 10.0 * DEG, "only the knee tells them apart");
}

/// In mid-swing the drawn hip has the prescribed vertical acceleration.
#[test]
fn page_animations_keep_the_prescribed_acceleration() {
    let (animation, Motion::Walk(w)) = animation("walk-comfortable", 500) else { panic!("walks") };
    let drive = &w.stride.drive;
    let h = animation.step_s;
    for i in 1..animation.frames.len() - 1 {
        let t = i as f64 * h;
        let [from, to] = MID_SWING.map(|p| p * drive.stride_time_s);
        if t > from + 2.0 * h && t < to - 2.0 * h {
            let z = |k: usize| animation.frames[k].hip_m[1];
            let second = (z(i + 1) - 2.0 * z(i) + z(i - 1)) / (h * h);
            assert!((second - drive.kinematics(t).hip_acc_z).abs() < 0.05, "t = {t}: {second}");
        }
    }
}

#[test]
fn page_animations_of_standing_show_the_load_line() {
    let (animation, Motion::Stand(s)) = animation("stand", 2) else { panic!("stands") };
    let (knee, lowest) = knee_and_lowest(&animation, 0);
    // the hip stands over the contact point; the load line passes in front of the knee axis
    assert!(animation.frames[0].hip_m[0].abs() < 1e-9 && lowest[1].abs() < 4e-3);
    assert!((-knee[0] - s.load_line_ahead_m).abs() < 1e-3, "{} {}", knee[0], s.load_line_ahead_m);
}
