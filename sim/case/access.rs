//! How the registry reads and writes the inputs that are more than one field.

use super::setup::{Case, Setup};
use crate::body::Part;
use crate::numerics::math;
use crate::scenario::{Activity, HipMoment};
use crate::units::DEG;

/// How a value is read and written.
pub(super) struct Access {
    /// The value in a case; none where the case has no such input.
    pub get: fn(&Case) -> Option<f64>,
    /// Puts a value into a case.
    pub set: fn(&mut Case, f64),
}

/// Whether the scenario is level walking.
pub(super) fn walks(case: &Case) -> bool {
    matches!(case.scenario.activity, Activity::Walk(_))
}

/// Whether the scenario is level walking with a drive that was shifted from another.
pub(super) fn has_base_drive(case: &Case) -> bool {
    let Activity::Walk(walk) = &case.scenario.activity else { return false };
    case.setup.drives.get(&walk.drive).is_some_and(|d| d.base.is_some())
}

/// Walking speed as asked for, else that of the scenario.
pub(super) fn speed_m_per_s(case: &Case) -> Option<f64> {
    let Activity::Walk(walk) = &case.scenario.activity else { return None };
    let person = &case.setup.person;
    case.setup.speed_m_per_s.or_else(|| {
        let drive = case.setup.drives.get(&walk.drive)?;
        walk.pace(&drive.file, person.leg_length_m(), person.thigh_length_m()).ok().map(|p| p.speed_m_per_s)
    })
}

/// Cadence as asked for, else that of the scenario, else the one that belongs to the speed.
pub(super) fn cadence_steps_per_min(case: &Case) -> Option<f64> {
    if !walks(case) {
        return None;
    }
    case.setup.cadence_steps_per_min.or_else(|| {
        let trial = case.setup.trial(&case.scenario).ok()?;
        let Activity::Walk(walk) = &trial.scenario.activity else { return None };
        // two steps a stride
        trial.resolved_drive(walk).ok().map(|drive| 120.0 / drive.stride_time_s)
    })
}

/// The hip moment of an activity under load.
pub(super) fn hip_moment(activity: &Activity) -> Option<&HipMoment> {
    match activity {
        Activity::Walk(w) => Some(&w.landing.hip_moment),
        Activity::Ramp(r) => Some(&r.hip_moment),
        Activity::Stairs(s) => Some(&s.hip_moment),
        Activity::Stumble(s) => Some(&s.hip_moment),
        Activity::Sit(_) | Activity::Stand(_) => None,
    }
}

/// The hip moment used; its band is widened to include it.
pub(super) fn set_hip_moment(case: &mut Case, v: f64) {
    let h = match &mut case.scenario.activity {
        Activity::Walk(w) => &mut w.landing.hip_moment,
        Activity::Ramp(r) => &mut r.hip_moment,
        Activity::Stairs(s) => &mut s.hip_moment,
        Activity::Stumble(s) => &mut s.hip_moment,
        Activity::Sit(_) | Activity::Stand(_) => return,
    };
    h.used_n_m_per_kg = v;
    h.least_n_m_per_kg = h.least_n_m_per_kg.min(v);
    h.most_n_m_per_kg = h.most_n_m_per_kg.max(v);
}

/// Name of the part that stands for mass added at the foot.
const ADDED_AT_FOOT: &str = "added at the foot";

/// Mass that has been added at the foot of a set-up.
#[must_use]
pub fn foot_extra_mass_kg(setup: &Setup) -> f64 {
    // from 0.0: the empty sum of floats is −0.0
    setup.prosthesis.parts.iter().filter(|p| p.part == ADDED_AT_FOOT).fold(0.0, |sum, p| sum + p.mass_kg)
}

/// Mass added at the foot, as a boot would: 0.43 m down, 0.04 m ahead, radius of gyration 0.09 m.
/// A prosthesis given by measured totals becomes one part with the same mass, centre and inertia.
pub(super) fn set_foot_extra_mass(case: &mut Case, kg: f64) {
    let prosthesis = &mut case.setup.prosthesis;
    prosthesis.parts.retain(|p| p.part != ADDED_AT_FOOT);
    if kg <= 0.0 {
        return;
    }
    if let Some(t) = prosthesis.totals.take() {
        let about_centre_m2 = t.inertia_kg_m2 / t.mass_kg - t.com_distance_m.powi(2);
        prosthesis.parts.push(Part {
            part: "as measured".into(),
            mass_kg: t.mass_kg,
            down_m: t.com_distance_m * math::cos(t.com_angle_deg * DEG),
            ahead_m: t.com_distance_m * math::sin(t.com_angle_deg * DEG),
            gyration_radius_m: about_centre_m2.sqrt(),
        });
    }
    prosthesis.parts.push(Part {
        part: ADDED_AT_FOOT.into(),
        mass_kg: kg,
        down_m: 0.43,
        ahead_m: 0.04,
        gyration_radius_m: 0.09,
    });
}
