//! A motion as an animation: frames at equal steps of time, each with the hip, the angles of thigh and knee,
//! the load and where it acts, the valve and the torques: enough to draw a leg and to plot its curves.
//!
//! In the loaded tasks and in sitting all of it is computed. In walking the model prescribes the acceleration of the
//! hip; its place follows from the leg that stands (`motion::hip_path`), and a sound leg is added from measurements
//! (`sound_leg`). Checked in tests/page/animation.rs.

use super::gait::{Gait, SoundPose};
use crate::motion::sample::{KneeSample, LegSample, SitSample, StrideSample};
use crate::motion::sitting::SitRun;
use crate::motion::stance_leg::Segments;
use crate::motion::stance_tasks::{LegEnd, LegRun};
use crate::motion::standing::Standing;
use crate::motion::stride::Stride;
use crate::motion::{Motion, Trial, WalkMotion};
use crate::numerics::math;
use crate::scenario::{Activity, Footing, Region};
use crate::units::DEG;

/// Fewest and most frames of an animation.
pub const FRAMES: std::ops::RangeInclusive<usize> = 2..=500;

/// One frame.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Frame {
    /// Hip, forward and up, m.
    pub hip_m: [f64; 2],
    /// Thigh from vertical, positive = knee ahead of the hip, rad.
    pub thigh_rad: f64,
    /// Knee flexion, rad.
    pub knee_rad: f64,
    /// Its rate, rad/s.
    pub knee_rate_rad_per_s: f64,
    /// Stance valve, 0 open to 1 closed.
    pub valve: f64,
    /// Ground load under the prosthesis, share of body weight.
    pub load_bw: f64,
    /// Where it acts, ahead of the shank line, m.
    pub centre_of_pressure_m: f64,
    /// Torques on the knee, N m: damper, seal friction, stop, assist spring, and what ground and hip add.
    pub torques_n_m: [f64; 5],
    /// Published able-bodied knee at this speed, rad; walking only.
    pub able_bodied_rad: Option<f64>,
    /// Tip of the foot, forward and up, m; walking only.
    pub tip_m: Option<[f64; 2]>,
    /// The tip drags over the ground.
    pub drags: bool,
    /// Sound leg; walking only.
    pub sound: Option<SoundPose>,
}

/// What the leg stands on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ground {
    /// Level.
    Level,
    /// A plane that goes down forward by this angle, rad.
    Slope(f64),
    /// The edge of a step, at height 0 and this far ahead of the shank line; the next tread lies lower, m.
    Step {
        /// Down to the next tread.
        riser_m: f64,
        /// Edge ahead of the shank line.
        ahead_m: f64,
    },
}

/// An animation of a motion.
#[derive(Debug, Clone, PartialEq)]
pub struct Animation {
    /// Time between frames, s.
    pub step_s: f64,
    /// Frames.
    pub frames: Vec<Frame>,
    /// Hip to knee axis, m.
    pub thigh_m: f64,
    /// Knee axis to sole, m.
    pub knee_to_sole_m: f64,
    /// Stature, m.
    pub stature_m: f64,
    /// Sole from heel to toe: ahead of the shank line, above the sole, m.
    pub sole_m: Vec<[f64; 2]>,
    /// Tip of the foot ahead of the shank line and above the sole, m.
    pub toe_m: [f64; 2],
    /// Ground.
    pub ground: Ground,
    /// Height of the seat, for sitting, m.
    pub seat_m: Option<f64>,
    /// Forward speed at which the view moves along, m/s.
    pub speed_m_per_s: f64,
    /// Instants with names, s.
    pub instants: Vec<(f64, &'static str)>,
    /// Where the tip lies while the foot stands up to toe-off, and after landing, m; walking only.
    pub footholds_m: Option<[f64; 2]>,
    /// Start of the landing, s; walking only.
    pub landing_from_s: Option<f64>,
}

impl Animation {
    /// The animation of a motion with this many frames, within [`FRAMES`].
    #[must_use]
    pub fn of(trial: &Trial, motion: &Motion, frames: usize) -> Self {
        let frames = frames.clamp(*FRAMES.start(), *FRAMES.end());
        let stature = trial.person.stature_m();
        let foot = Footing::rolling(stature).aligned(trial.alignment, stature);
        let blank = blank(trial, &foot);
        match motion {
            Motion::Walk(w) => walk(blank, w, frames),
            Motion::Sit(s) => sit(blank, s, frames),
            Motion::Ramp(m) => leg(blank, &m.run, frames),
            Motion::Stairs(m) => leg(blank, &m.run, frames),
            Motion::Stumble(m) => leg(blank, &m.run, frames),
            Motion::Stand(s) => stand(blank, foot, s, trial.person.weight_n()),
        }
    }

    /// Length of the animation, s.
    #[must_use]
    pub fn end_s(&self) -> f64 {
        self.step_s * self.frames.len().saturating_sub(1) as f64
    }

    /// Times in which the tip drags, from and to, s.
    #[must_use]
    pub fn drags(&self) -> Vec<[f64; 2]> {
        let mut times: Vec<[f64; 2]> = Vec::new();
        for (i, _) in self.frames.iter().enumerate().filter(|(_, f)| f.drags) {
            let t = i as f64 * self.step_s;
            match times.last_mut() {
                Some(last) if t - last[1] < 1.5 * self.step_s => last[1] = t,
                _ => times.push([t, t]),
            }
        }
        times
    }

    /// The same with frames at equal steps over a time.
    fn with_frames(mut self, end_s: f64, frames: usize, mut at: impl FnMut(f64) -> Frame) -> Self {
        self.step_s = end_s / (frames - 1) as f64;
        // the last one exactly at the end
        self.frames = (0..frames).map(|i| at(end_s * i as f64 / (frames - 1) as f64)).collect();
        self
    }
}

/// The animation of a trial without its frames: lengths, sole and ground.
fn blank(trial: &Trial, foot: &Footing) -> Animation {
    let (ground, seat_m) = match &trial.scenario.activity {
        Activity::Ramp(r) => (Ground::Slope(r.slope_deg * DEG), None),
        Activity::Stairs(s) => {
            let Footing::Edge { ahead_m } =
                Segments::of(&trial.person, &trial.shank).aligned(trial.alignment).stair_edge()
            else {
                unreachable!("an edge stays an edge")
            };
            (Ground::Step { riser_m: s.riser_m, ahead_m }, None)
        }
        Activity::Sit(s) => (Ground::Level, Some(s.seat_height_m)),
        Activity::Stand(s) => (Ground::Slope(s.slope_deg * DEG), None),
        Activity::Walk(_) | Activity::Stumble(_) => (Ground::Level, None),
    };
    let [ahead, down] = trial.foot().toe_m;
    Animation {
        step_s: 0.0,
        frames: Vec::new(),
        thigh_m: trial.person.thigh_length_m(),
        knee_to_sole_m: trial.person.knee_to_sole_m(),
        stature_m: trial.person.stature_m(),
        toe_m: [ahead, trial.person.knee_to_sole_m() - down],
        sole_m: sole(foot, matches!(ground, Ground::Step { .. })),
        ground,
        seat_m,
        speed_m_per_s: 0.0,
        instants: Vec::new(),
        footholds_m: None,
        landing_from_s: None,
    }
}

/// The rolling arc; on a step, where the foot rotates about the edge, a flat sole.
fn sole(foot: &Footing, flat: bool) -> Vec<[f64; 2]> {
    const POINTS: usize = 12;
    let Footing::Rolling { radius_m: r, offset_m: e, heel_m, toe_m } = *foot else { return Vec::new() };
    if flat {
        return vec![[heel_m, 0.0], [toe_m, 0.0]];
    }
    let (from, to) = ((heel_m - e) / r, (toe_m - e) / r);
    (0..=POINTS)
        .map(|i| from + (to - from) * i as f64 / POINTS as f64)
        .map(|a| [e + r * math::sin(a), r - r * math::cos(a)])
        .collect()
}

/// What a frame shows of the knee in every motion.
fn frame(knee: &KneeSample, weight_n: f64) -> Frame {
    Frame {
        knee_rad: knee.flexion_rad,
        knee_rate_rad_per_s: knee.rate_rad_per_s,
        valve: knee.valve,
        load_bw: knee.load_n / weight_n,
        torques_n_m: [knee.damper_n_m, knee.friction_n_m, knee.stop_n_m, knee.assist_n_m.unwrap_or(0.0), 0.0],
        ..Frame::default()
    }
}

fn walk(mut animation: Animation, w: &WalkMotion, frames: usize) -> Animation {
    let s = &w.stride;
    let contact = s.drive.stride_time_s;
    let landing = w.landing.as_ref().ok();
    let gait = Gait::new(w);
    animation.footholds_m = Some(gait.footholds_m());
    animation.speed_m_per_s = s.drive.speed_m_per_s;
    animation.landing_from_s = landing.map(|_| contact);
    animation.instants = s.release_s.map(|t| (t, "valve lets go")).into_iter().collect();
    animation.instants.push((s.drive.toe_off_s, "toe-off"));
    animation.instants.push((contact, "heel contact"));
    let end = contact + landing.map_or(0.0, |l| l.trajectory.end.0);
    let mut animation = animation.with_frames(end, frames, |t| {
        let mut frame = match landing {
            Some(run) if t > contact => loaded_frame(run, t - contact),
            _ => swing_frame(s, t),
        };
        let tip = gait.tip(t, frame.thigh_rad, frame.knee_rad);
        (frame.hip_m, frame.sound) = (gait.hip(t), gait.sound(t));
        (frame.tip_m, frame.drags) = (Some(tip.at_m), tip.drags);
        frame
    });
    // the knock on the stop is shorter than a frame: the nearest one shows its peak, which is the outcome
    let (peak_n_m, at_s) = s.stop_torque();
    if let Some(frame) = animation.frames.get_mut((at_s / animation.step_s).round() as usize) {
        frame.torques_n_m[2] = frame.torques_n_m[2].max(peak_n_m);
    }
    animation
}

fn swing_frame(s: &Stride, t: f64) -> Frame {
    let sample = StrideSample::at(s, t);
    let mut frame = frame(&sample.knee, s.weight_n);
    frame.thigh_rad = sample.thigh_rad;
    frame.centre_of_pressure_m = s.drive.centre_of_pressure_m(t);
    frame.torques_n_m[4] = sample.drive_n_m;
    frame.able_bodied_rad = Some(s.drive.able_bodied_knee_rad(t));
    frame
}

/// A loaded leg at an instant; hip in the world frame from the contact point for β = 0, or the edge.
fn loaded_frame(run: &LegRun, t: f64) -> Frame {
    let sample = LegSample::at(run, t);
    let mut frame = frame(&sample.knee, run.system.segments.weight_n());
    frame.hip_m = sample.hip_m;
    // the tilt is counted from the normal of the surface, which leans forward by the slope
    frame.thigh_rad = sample.knee.flexion_rad - sample.shank_tilt_rad - run.system.slope_rad;
    frame.centre_of_pressure_m = sample.centre_of_pressure_m;
    // with the foot on the ground, extension at the hip extends the knee
    frame.torques_n_m[4] = -sample.hip_moment_n_m;
    frame
}

fn leg(mut animation: Animation, run: &LegRun, frames: usize) -> Animation {
    let end = run.trajectory.end.0;
    animation.instants =
        run.support_after_s().filter(|t| *t > 0.0).map(|t| (t, "valve half closed")).into_iter().collect();
    let ended = match run.ended() {
        LegEnd::OtherFoot => "other foot lands",
        LegEnd::OtherFootLate => "other foot lands late",
        LegEnd::Collapse => "knee folds",
        LegEnd::Stall => "stalls",
        LegEnd::Time => "end",
    };
    animation.instants.push((end, ended));
    animation.with_frames(end, frames, |t| loaded_frame(run, t))
}

fn sit(mut animation: Animation, run: &SitRun, frames: usize) -> Animation {
    let (end, system) = (run.trajectory.end.0, &run.system);
    let catches = run.trajectory.events_of(crate::motion::sitting::event::VALVE_HALF);
    animation.instants =
        catches.map(|e| (e.t_s, if e.upwards { "valve half closed" } else { "valve half open" })).collect();
    animation.instants.push((end, if run.reached_seat() { "seat" } else { "end" }));
    let centre_of_pressure_m = system.centre_of_pressure_m();
    animation.with_frames(end, frames, |t| {
        let mut frame = frame(&SitSample::at(run, t).knee, system.segments.weight_n());
        let h = system.hip_height(frame.knee_rad);
        frame.thigh_rad = frame.knee_rad - h.shank_tilt;
        let (thigh, shank) = (system.segments.thigh_m, system.segments.knee_to_sole_m);
        frame.hip_m = [shank * math::sin(h.shank_tilt) - thigh * math::sin(frame.thigh_rad), h.height];
        frame.centre_of_pressure_m = centre_of_pressure_m;
        frame
    })
}

/// Standing does not move: the same frame twice, one second apart, the hip above the contact point.
fn stand(animation: Animation, foot: Footing, s: &Standing, weight_n: f64) -> Animation {
    let Ground::Slope(slope) = animation.ground else { return animation };
    let leg = animation.thigh_m + animation.knee_to_sole_m;
    let hip = |tilt: f64| {
        let k = foot.knee(Region::Arc, tilt, leg);
        let (sin, cos) = math::sin_cos(slope);
        // the contact point of the arc lies under its centre
        let Footing::Rolling { radius_m, .. } = foot else { return [0.0; 2] };
        let from = [k.at[0] - radius_m * tilt, k.at[1]];
        [from[0] * cos + from[1] * sin, from[1] * cos - from[0] * sin]
    };
    let tilt = crate::numerics::roots::find_root(|b| hip(b)[0], -0.6, 0.6, 1e-12);
    let frame = Frame {
        hip_m: hip(tilt),
        thigh_rad: -(tilt + slope),
        load_bw: s.load_n / weight_n,
        centre_of_pressure_m: foot.knee(Region::Arc, tilt, leg).centre_of_pressure_m,
        ..Frame::default()
    };
    animation.with_frames(1.0, 2, |_| frame)
}
