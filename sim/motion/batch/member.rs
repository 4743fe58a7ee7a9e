//! One stride of a batch.

use super::drive_table::DriveTable;
use super::dynamics::SWING_WEIGHT;
use crate::body::{Person, PreswingHabit, Shank};
use crate::error::SimError;
use crate::joint::damper::DamperLaw;
use crate::joint::{Knee, Lever, Trigger};
use crate::motion::swing::Pendulum;
use crate::scenario::Drive;

/// A catch load, in shares of body weight, that no load and no hysteresis reaches.
const NEVER_BW: f64 = 1e6;

/// One stride of a batch.
#[derive(Debug, Clone)]
pub struct Member {
    pub(super) knee: Knee,
    pub(super) pendulum: Pendulum,
    pub(super) weight_n: f64,
    pub(super) effort_n_m: f64,
    pub(super) stride_time_s: f64,
    pub(super) habit: PreswingHabit,
    pub(super) foot_shift_m: f64,
    pub(super) stature_m: f64,
    /// Greatest arm by which the alignment moves the load line.
    most_arm_m: f64,
}

impl Member {
    /// A stride of a batch with this table.
    ///
    /// # Errors
    /// The knee has something that the batch does not cover (named in the message), or the drive differs from the
    /// table's in more than size.
    pub fn new(
        table: &DriveTable,
        drive: &Drive,
        knee: Knee,
        person: &Person,
        shank: Shank,
    ) -> Result<Self, SimError> {
        table.check(drive)?;
        check_covered(&knee)?;
        Ok(Self {
            knee,
            pendulum: Pendulum::from(shank),
            weight_n: person.weight_n(),
            effort_n_m: person.user_effort_n_m(),
            stride_time_s: drive.stride_time_s,
            habit: person.preswing,
            foot_shift_m: drive.alignment.foot_shift_m,
            stature_m: drive.stature_m,
            most_arm_m: drive
                .load_line_shift_m(drive.preswing_start_s)
                .abs()
                .max(drive.alignment.foot_shift_m.abs()),
        })
    }

    /// The same stride with another knee.
    ///
    /// # Errors
    /// The knee has something that the batch does not cover.
    pub fn with_knee(&self, knee: Knee) -> Result<Self, SimError> {
        check_covered(&knee)?;
        let Self { pendulum, weight_n, effort_n_m, stride_time_s, habit, .. } = *self;
        let Self { foot_shift_m, stature_m, most_arm_m, .. } = *self;
        Ok(Self {
            knee,
            pendulum,
            weight_n,
            effort_n_m,
            stride_time_s,
            habit,
            foot_shift_m,
            stature_m,
            most_arm_m,
        })
    }

    /// Sorts strides so that those share a vector whose valves release at about the same time, and among them
    /// those with about the same resistances.
    pub(super) fn sort_key(&self) -> [f64; 3] {
        let b = |law: &DamperLaw| law.coefficients().map_or(f64::NAN, |orifice| orifice.b);
        // in steps of a twentieth of body weight
        let catch = (20.0 * self.catch_bw()).floor();
        [catch, b(&self.knee.swing_flexion), b(&self.knee.swing_extension)]
    }

    /// Least weight of an error of ω in pre-swing: an eighth where the effort has little to answer, that of swing where
    /// the moved load line takes all of it.
    pub(super) fn least_weight(&self) -> f64 {
        const UNDISTURBED: f64 = 1.0 / 8.0;
        let taken = self.most_arm_m * self.weight_n / self.effort_n_m.max(f64::MIN_POSITIVE);
        UNDISTURBED + (SWING_WEIGHT - UNDISTURBED) * taken.min(1.0)
    }

    /// Catch load as a share of body weight; far beyond reach for a valve that is always closed, or never.
    pub(super) fn catch_bw(&self) -> f64 {
        match self.knee.stance.trigger {
            Trigger::Load => self.knee.stance.catch_load_n / self.weight_n,
            Trigger::Always => -NEVER_BW,
            Trigger::None => NEVER_BW,
        }
    }
}

/// Refuses what the equations of the batch do not have.
fn check_covered(knee: &Knee) -> Result<(), SimError> {
    let not_covered = |what: &str| Err(SimError::CannotRun(format!("batch: {what}")));
    if knee.locked {
        return not_covered("the joint is locked straight");
    }
    if !matches!(knee.swing_flexion, DamperLaw::Orifice(_)) {
        return not_covered("the flexion law is not an orifice");
    }
    if !matches!(knee.swing_extension, DamperLaw::Orifice(_)) {
        return not_covered("the extension law is not an orifice");
    }
    if knee.lever != Lever::default() {
        return not_covered("the displacement depends on flexion");
    }
    Ok(())
}
