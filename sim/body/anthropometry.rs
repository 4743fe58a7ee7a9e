//! Ratios of segment to body, with their sources.
//!
//! Lengths from stature H: thigh 0.245 H, knee axis to sole 0.285 H, knee to ankle 0.246 H, leg
//! 0.530 H, foot 0.152 H (Drillis & Contini 1966, in Winter, Biomechanics and Motor Control of
//! Human Movement, 2009, fig. 4.1). Masses, centres of mass and radii of gyration: Dempster, in
//! Winter 2009, table 4.1; as the alternative de Leva 1996 (J Biomech 29:1223,
//! doi 10.1016/0021-9290(95)00178-6, from memory). Checked in tests/published/anthropometry.rs.

use super::Shank;
use crate::numerics::smooth::interpolate;

/// Thigh length, hip to knee axis, per stature.
pub const THIGH_PER_STATURE: f64 = 0.245;
/// Knee axis to sole per stature.
pub const KNEE_TO_SOLE_PER_STATURE: f64 = 0.285;
/// Knee to ankle per stature.
pub const KNEE_TO_ANKLE_PER_STATURE: f64 = 0.246;
/// Leg length, hip to sole, per stature.
pub const LEG_PER_STATURE: f64 = 0.530;
/// Foot length per stature.
pub const FOOT_PER_STATURE: f64 = 0.152;
/// Height of the ankle per stature.
pub const ANKLE_HEIGHT_PER_STATURE: f64 = 0.039;
/// Radius of the arc on which foot and shoe roll, per stature: published roll-over shapes 0.17-0.21
/// (Hansen, Childress & Knox 2004, Clin Biomech 19:407, from memory).
pub const SOLE_RADIUS_PER_STATURE: f64 = 0.19;
/// Stature at which the judged lengths of the foot hold \[J\]; they are in proportion to stature.
const FOOT_STATURE_M: f64 = 1.75;
/// Centre of the arc ahead of the ankle per stature: 50 mm at 1.75 m \[J\].
pub const ARC_CENTRE_PER_STATURE: f64 = 0.05 / FOOT_STATURE_M;
/// Heel behind the ankle per stature, the rear end of the rolling foot: 60 mm at 1.75 m \[J\].
pub const HEEL_PER_STATURE: f64 = 0.06 / FOOT_STATURE_M;
/// Front end of the rolling foot ahead of the ankle per stature: 140 mm at 1.75 m \[J\].
pub const TOE_END_PER_STATURE: f64 = 0.14 / FOOT_STATURE_M;
/// Tip of the foot over the sole, per stature: soles turn up in front, 15 mm at 1.75 m \[J\]. A flat tip of the nine
/// users of `users-2020` would graze the ground in mid-swing (0.6 mm over it on average), and they did not.
pub const TOE_SPRING_PER_STATURE: f64 = 0.015 / FOOT_STATURE_M;
/// Edge of a step under the midfoot, ahead of the ankle per stature: 60 mm at 1.75 m \[J\].
pub const MIDFOOT_PER_STATURE: f64 = 0.06 / FOOT_STATURE_M;
/// Centre of pressure behind the ankle at heel contact in walking, per stature: 40 mm at 1.75 m \[J\].
pub const FIRST_PRESSURE_PER_STATURE: f64 = 0.04 / FOOT_STATURE_M;

/// Stature that goes with a mass when none is given: 1.60/1.75/1.80/1.85 m at 50/75/100/125 kg,
/// linear between, constant outside \[J\].
#[must_use]
pub fn stature_for_mass_m(mass_kg: f64) -> f64 {
    interpolate(mass_kg, &[50.0, 75.0, 100.0, 125.0], &[1.60, 1.75, 1.80, 1.85])
}

/// Where the body segment parameters of an intact leg come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SegmentSource {
    /// Dempster, in Winter 2009: shank and foot as one segment.
    Dempster,
    /// de Leva 1996, male means: shank and foot put together, foot at right angles.
    DeLevaMale,
    /// de Leva 1996, female means.
    DeLevaFemale,
}

/// The intact shank and foot of a person, for checks against able-bodied data.
///
/// ```
/// use kneedamp::body::anthropometry::{intact_shank, SegmentSource};
/// let shank = intact_shank(75.0, 1.75, SegmentSource::Dempster);
/// assert!((shank.mass_kg - 4.575).abs() < 1e-12);
/// ```
#[must_use]
pub fn intact_shank(mass_kg: f64, stature_m: f64, source: SegmentSource) -> Shank {
    let knee_to_ankle = KNEE_TO_ANKLE_PER_STATURE * stature_m;
    match source {
        SegmentSource::Dempster => {
            let m = 0.061 * mass_kg;
            let gyration = 0.735 * knee_to_ankle;
            Shank {
                mass_kg: m,
                com_distance_m: 0.606 * knee_to_ankle,
                com_angle_rad: 0.0,
                inertia_kg_m2: m * gyration * gyration,
            }
        }
        // mass, centre and central radius of gyration of the shank; the same of the foot along its length
        SegmentSource::DeLevaMale => {
            join([0.0433, 0.4395, 0.246], [0.0137, 0.4415, 0.245], mass_kg, stature_m, 0.2529, 0.1482)
        }
        SegmentSource::DeLevaFemale => {
            join([0.0481, 0.4352, 0.263], [0.0129, 0.4014, 0.279], mass_kg, stature_m, 0.2529, 0.1482)
        }
    }
}

/// Shank down to the ankle, foot forward from [`HEEL_PER_STATURE`] behind it.
fn join(shank: [f64; 3], foot: [f64; 3], mass: f64, stature: f64, shank_len: f64, foot_len: f64) -> Shank {
    let (ls, lf) = (shank_len * stature, foot_len * stature);
    let part = |m: f64, down: f64, ahead: f64, rg: f64| super::Part {
        part: String::new(),
        mass_kg: m,
        down_m: down,
        ahead_m: ahead,
        gyration_radius_m: rg,
    };
    Shank::from_parts(&[
        part(shank[0] * mass, shank[1] * ls, 0.0, shank[2] * ls),
        part(foot[0] * mass, ls, foot[1] * lf - HEEL_PER_STATURE * stature, foot[2] * lf),
    ])
}
