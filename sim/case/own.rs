//! The value that a named input has now: what a change starts from.

use super::inputs::Case;
use crate::joint::SettingName;
use crate::scenario::{Activity, HipMoment};

impl Case {
    /// Value of an input before anything is put into it; `None` where this case has no such input.
    #[must_use]
    pub fn own(&self, key: &str) -> Option<f64> {
        let knee = &self.setup.knee;
        if let Some(name) = SettingName::parse(key) {
            return self.setup.resolve().ok()?.knee.settings.get(name).map(|s| s.pct());
        }
        Some(match key {
            "mass_kg" => self.setup.person.mass_kg,
            "stature_m" => self.setup.person.stature_m(),
            "user_effort_n_m_per_kg" => self.setup.person.user_effort_n_m_per_kg,
            "temperature_c" => self.setup.temperature_c.unwrap_or(knee.reference_temperature_c),
            "foot_extra_mass_kg" => 0.0,
            "foot_shift_m" => self.setup.alignment.foot_shift_m,
            "assist_n_m" => knee.assist.torque_n_m,
            "assist_rate_n_m_per_rad" => knee.assist.rate_n_m_per_rad,
            "extension_stop_deg" => knee.extension_stop.angle_deg,
            "stop_stiffness_n_m_per_rad" => knee.extension_stop.stiffness_n_m_per_rad,
            "stop_damping_s_per_rad" => knee.extension_stop.damping_s_per_rad,
            "cushion_start_deg" => knee.cushion.as_ref()?.start_deg,
            "cushion_factor" => knee.cushion.as_ref()?.factor,
            "release_distance_m" => knee.stance.release_distance_m,
            "valve_lag_ms" => knee.stance.lag_ms,
            "valve_hysteresis_bw" => knee.stance.hysteresis_bw,
            "bend_start_deg" => knee.stance.bend_start_deg,
            "bend_span_deg" => knee.stance.bend_span_deg,
            "seal_friction_n_m" => knee.seal_friction.torque_n_m,
            _ => return self.own_in_scenario(key),
        })
    }

    fn own_in_scenario(&self, key: &str) -> Option<f64> {
        let hip = |h: &HipMoment| h.used_n_m_per_kg;
        match (key, &self.scenario.activity) {
            ("speed_m_per_s", Activity::Walk(w)) => {
                let leg = self.setup.person.leg_length_m();
                let drive = self.setup.drives.get(&w.drive)?;
                let asked = self.setup.speed_m_per_s;
                asked.or_else(|| {
                    w.pace(drive, leg, self.setup.person.thigh_length_m()).ok().map(|p| p.speed_m_per_s)
                })
            }
            ("hip_moment_n_m_per_kg", Activity::Walk(w)) => Some(hip(&w.landing.hip_moment)),
            ("hip_moment_n_m_per_kg", Activity::Ramp(r)) => Some(hip(&r.hip_moment)),
            ("hip_moment_n_m_per_kg", Activity::Stairs(s)) => Some(hip(&s.hip_moment)),
            ("hip_moment_n_m_per_kg", Activity::Stumble(s)) => Some(hip(&s.hip_moment)),
            ("sitting_share", Activity::Sit(s)) => Some(s.share),
            ("stumble_flexion_deg", Activity::Stumble(s)) => Some(s.start_flexion_deg),
            ("stand_slope_deg", Activity::Stand(s)) => Some(s.slope_deg),
            _ => None,
        }
    }
}
