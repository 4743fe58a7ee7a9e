//! The instant at which an outcome is worst: where a film rests so that one sees why a limit is broken.

use crate::motion::sitting::{SitRun, state as sit};
use crate::motion::stance_leg::state as leg;
use crate::motion::stance_tasks::LegRun;
use crate::motion::{Motion, WalkMotion};
use crate::outcome::STRAIGHT_BEFORE_CONTACT_S;

/// The instant of an outcome in the animation of a motion, s; none where it belongs to no instant.
#[must_use]
pub fn worst_instant_s(motion: &Motion, outcome: &str) -> Option<f64> {
    match motion {
        Motion::Walk(w) => walking(w, outcome),
        Motion::Sit(s) => sitting(s, outcome),
        Motion::Ramp(m) => loaded(&m.run, outcome),
        Motion::Stairs(m) => loaded(&m.run, outcome),
        Motion::Stumble(m) => loaded(&m.run, outcome),
        Motion::Stand(_) => None,
    }
}

fn walking(w: &WalkMotion, outcome: &str) -> Option<f64> {
    let s = &w.stride;
    let contact = s.drive.stride_time_s;
    Some(match outcome {
        "extension_margin_ms" | "heel_contact_flexion_deg" => contact,
        "flexion_before_contact_deg" => contact - STRAIGHT_BEFORE_CONTACT_S,
        "toe_off_flexion_deg" | "late_release_loss_deg" => s.drive.toe_off_s,
        "peak_flexion_deg" | "peak_flexion_pct" | "peak_vs_able_bodied_deg" => s.peak().0,
        "full_extension_pct" | "terminal_speed_deg_per_s" | "terminal_energy_j" => s.full_extension_s()?,
        "stop_torque_n_m" => s.stop_torque().1,
        "toe_clearance_mm" | "toe_height_loss_mm" => s.least_toe(w.foot.toe_m).1,
        "landing" | "landing_max_flexion_deg" | "support_after_ms" => {
            contact + loaded(w.landing.as_ref().ok()?, outcome)?
        }
        _ => return None,
    })
}

fn loaded(run: &LegRun, outcome: &str) -> Option<f64> {
    let end = run.trajectory.end.0;
    let greatest = |state: usize| run.trajectory.greatest(0.0, end, [state], |_, [y]| y).1;
    Some(match outcome {
        "what_happens" | "landing" | "max_flexion_deg" | "landing_max_flexion_deg" => greatest(leg::PHI),
        "peak_rate_deg_per_s" => greatest(leg::OMEGA),
        "support_after_ms" => run.support_after_s().unwrap_or(end).clamp(0.0, end),
        "knee_flexion_at_other_foot_contact_deg"
        | "body_drop_speed_m_per_s"
        | "landing_late"
        | "hip_past_edge_m"
        | "end_rate_deg_per_s" => end,
        _ => return None,
    })
}

fn sitting(run: &SitRun, outcome: &str) -> Option<f64> {
    let end = run.trajectory.end.0;
    Some(match outcome {
        "peak_rate_deg_per_s" => run.trajectory.greatest(0.0, end, [sit::OMEGA], |_, [omega]| omega).1,
        "seat_speed_m_per_s" | "sit_time_s" => end,
        _ => return None,
    })
}
