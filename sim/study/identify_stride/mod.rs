//! `identify stride`: drive, joint and person from a measured stride.
//!
//! 1. heel contacts and the mean stride (`contacts`); flexion counts from the straight stance;
//! 2. the person's drive: what was measured, the rest from a drive (`own_drive`);
//! 3. three values of the joint that explain the swing, with each law (`swing_fit`).
//!
//! Checked on nine measured users in tests/published/users_identify.rs, against made curves in
//! tests/studies/identify_stride.rs.

mod contacts;
mod figures;
mod own_drive;
mod plot;
mod report;
mod swing_fit;

pub use contacts::{Known, MeanCurves, PERCENT, mean_curves};
pub use figures::{curves_beside, swing_figures};
pub use own_drive::{Timing, own_drive};
pub use swing_fit::{Also, SETTINGS, Swing, SwingLaw};

use crate::body::{Person, Prosthesis};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::damper::DamperLaw;
use crate::joint::{DirectionFile, FrictionFile, KneeFile, LinearFile, OrificeFile, SettingName, Settings};
use crate::library::angles::reconstruction::from_straight;
use crate::library::angles::series::value;
use crate::library::measured::trace::Trace;
use crate::numerics::least_squares::{Fit, Value};
use crate::numerics::statistics::{rounded, significant};
use crate::scenario::{Drive, DriveFile, Pace, WalkingDrive};
use crate::units::{Setting, within};

/// Digits of a written value.
const DIGITS: usize = 5;

/// What is asked.
#[derive(Debug, Clone)]
pub struct StrideStudy {
    /// What was measured.
    pub trace: Trace,
    /// Person, prosthesis, joint for all that is not found; speed and cadence where they are known.
    pub setup: Setup,
    /// Drive for all that was not measured.
    pub drive: WalkingDrive,
    /// Heel contacts, s, where they are known.
    pub contacts_s: Vec<f64>,
    /// Toe-off, fraction of the stride, where it is known.
    pub toe_off: Option<f64>,
    /// What is found besides the two resistances and the assist.
    pub also: Vec<Also>,
    /// Law that the written knee has.
    pub law: SwingLaw,
    /// Name of the new models.
    pub name: String,
}

/// What was found.
#[derive(Debug, Clone)]
pub struct StrideFit {
    /// What was asked.
    pub asked: StrideStudy,
    /// The mean stride.
    pub curves: MeanCurves,
    /// What was taken off the knee so that it is straight in stance, degrees.
    pub straight_deg: f64,
    /// Speed, stride time, toe-off.
    pub timing: Timing,
    /// The person's drive.
    pub drive: DriveFile,
    /// The swing.
    pub swing: Swing,
    /// Each law's best, in the order of [`SwingLaw::ALL`].
    pub fits: Vec<(SwingLaw, Fit)>,
}

impl StrideStudy {
    /// Finds contacts, drive and values.
    ///
    /// # Errors
    /// No complete stride, neither speed nor stride time, a speed that the drive does not cover, a joint that cannot
    /// swing.
    pub fn run(self) -> Result<StrideFit, SimError> {
        let setup = &self.setup;
        let resolved = setup.resolve()?;
        let (person, drive) = (&setup.person, &self.drive.file);
        let given = setup.cadence_steps_per_min.map(|c| 120.0 / c);
        let of_drive = setup.speed_m_per_s.map(|v| own_drive::stride_time_s(drive, person, v));
        let like = curves_of(drive, setup.speed_m_per_s, person);
        let known = Known {
            contacts_s: &self.contacts_s,
            stride_time_s: given.or(of_drive),
            like: [&like[0], &like[1]],
        };
        let curves = mean_curves(&self.trace, &known)?;
        let stride_time_s = curves.stride_time_s.ok_or_else(|| {
            SimError::Usage("a table over percent has no time: --speed or --cadence is needed".into())
        })?;
        within("stride time (s)", stride_time_s, 0.5..=3.0)?;
        let speed = setup.speed_m_per_s;
        let speed_m_per_s =
            speed.map_or_else(|| own_drive::speed_m_per_s(drive, person, stride_time_s), Ok)?;
        let timing = Timing { speed_m_per_s, stride_time_s, toe_off: self.toe_off };
        let (knee_deg, straight_deg) = from_straight(&curves.knee_deg);
        let file = own_drive(&self.name, &curves, &knee_deg, timing, person, &self.drive)?;
        let pace = Pace { speed_m_per_s, cadence_steps_per_min: None };
        let drive =
            Drive::new(&file, person.leg_length_m(), person.thigh_length_m(), pace).map_err(hinted)?;
        let swing = Swing {
            drive,
            knee: resolved.knee,
            person: person.clone(),
            shank: resolved.shank,
            knee_deg,
            also: self.also.clone(),
        };
        let fits: Vec<(SwingLaw, Fit)> =
            SwingLaw::ALL.into_iter().filter_map(|law| Some((law, swing.fitted(law)?))).collect();
        if !fits.iter().any(|(law, _)| *law == self.law) {
            return Err(SimError::CannotRun(format!(
                "the model's swing cannot be computed for this stride with the law '{}'",
                self.law.as_str()
            )));
        }
        Ok(StrideFit { curves, straight_deg, timing, drive: file, swing, fits, asked: self })
    }
}

/// What hardly bends before toe-off is seldom a walking knee.
fn hinted(e: SimError) -> SimError {
    match e {
        SimError::CannotRun(why) => SimError::CannotRun(format!(
            "{why}; look at signs and units of knee and thigh, and at heel contact"
        )),
        other => other,
    }
}

/// Knee and thigh of a drive at whole percents, degrees; in the middle of its speeds if none is known.
fn curves_of(drive: &DriveFile, speed_m_per_s: Option<f64>, person: &Person) -> [Vec<f64>; 2] {
    let unit = (crate::units::GRAVITY_M_PER_S2 * person.leg_length_m()).sqrt();
    let middle = drive.speeds[drive.speeds.len() / 2].dimensionless_speed;
    let row = drive.row_at(speed_m_per_s.map_or(middle, |v| v / unit));
    [&row.knee_flexion_deg, &row.thigh_angle_deg]
        .map(|h| (0..=PERCENT).map(|i| value(h, i as f64 / PERCENT as f64)).collect())
}

impl StrideFit {
    /// The fit of the law asked for.
    #[must_use]
    pub fn fit(&self) -> &Fit {
        // `run` refuses a study without it
        self.fits.iter().find(|(law, _)| *law == self.asked.law).map_or(&self.fits[0].1, |(_, fit)| fit)
    }

    /// The values found with the law asked for, with their intervals.
    #[must_use]
    pub fn values(&self) -> Vec<Value> {
        let ([flexion, extension], logarithms) = self.asked.law.values();
        let fit = self.fit();
        let mut values = vec![fit.value(flexion, 0, logarithms), fit.value(extension, 1, logarithms)];
        values.push(fit.value("assist_n_m", 2, false));
        let also = self.asked.also.iter().enumerate();
        values.extend(also.map(|(i, a)| fit.value(a.key(), 3 + i, false)));
        values
    }

    /// Flexion of the model with these values at the percents compared, degrees.
    #[must_use]
    pub fn flexion_deg(&self) -> Vec<f64> {
        self.swing.flexion_deg(self.asked.law, &self.fit().values)
    }

    /// b at the ends of a setting's range in the file of the joint, if that is an orifice.
    fn ends(&self, name: SettingName) -> Option<[f64; 2]> {
        let b = |fraction: f64| {
            let mut settings = Settings::default();
            settings.set(name, Setting::clamped(fraction));
            let knee = self.asked.setup.knee.resolve(&settings, self.asked.setup.temperature_c).ok()?;
            let law =
                if name == SettingName::SwingFlexion { knee.swing_flexion } else { knee.swing_extension };
            if let DamperLaw::Orifice(o) = law { Some(o.b) } else { None }
        };
        Some([b(0.0)?, b(1.0)?])
    }

    /// The joint with the values found.
    #[must_use]
    pub fn knee_file(&self) -> KneeFile {
        let mut knee = self.asked.setup.knee.clone();
        let values = self.values();
        let found = |i: usize| significant(values[i].value, DIGITS);
        knee.about = format!(
            "{} fitted to one measured swing; all else is that of {} and not measured. The percentages are positions in \
             this model's range.",
            self.asked.law.as_str(),
            knee.name
        );
        knee.name.clone_from(&self.asked.name);
        knee.swing_flexion = self.direction(&knee.swing_flexion, SettingName::SwingFlexion, found(0));
        knee.swing_extension = self.direction(&knee.swing_extension, SettingName::SwingExtension, found(1));
        knee.assist.torque_n_m = rounded(values[2].value, 4);
        knee
    }

    fn direction(&self, now: &DirectionFile, name: SettingName, found: f64) -> DirectionFile {
        let step_pct = self.asked.setup.knee.step_pct(name).unwrap_or(5.0);
        match self.asked.law {
            SwingLaw::Orifice => {
                let base =
                    if let DirectionFile::Orifice(o) = now { o.clone() } else { OrificeFile::default() };
                let [open, closed] = self.ends(name).unwrap_or([found / 10.0, found * 10.0]);
                let a = (base.a_over_b_rad_per_s.is_none()).then(|| base.a_n_m_s_per_rad.unwrap_or(0.1));
                DirectionFile::Orifice(OrificeFile {
                    a_n_m_s_per_rad: a,
                    b_open_n_m_s2_per_rad2: Some(open.min(found)),
                    b_closed_n_m_s2_per_rad2: Some(closed.max(found)),
                    area_open_mm2: None,
                    area_closed_mm2: None,
                    set_b_n_m_s2_per_rad2: Some(found),
                    set_pct: None,
                    step_pct,
                    ..base
                })
            }
            SwingLaw::Linear => DirectionFile::Linear(LinearFile {
                c_open_n_m_s_per_rad: found / 10.0,
                c_closed_n_m_s_per_rad: found * 10.0,
                set_pct: 50.0,
                step_pct,
            }),
            SwingLaw::Friction => DirectionFile::ConstantFriction(FrictionFile {
                least_n_m: 0.0,
                greatest_n_m: 2.0 * found.max(0.5),
                smoothing_rad_per_s: self.swing.knee.friction.smoothing_rad_per_s,
                set_pct: 50.0 * found / found.max(0.5),
                step_pct,
            }),
        }
    }

    fn also(&self, which: Also) -> Option<f64> {
        let found = self.asked.also.iter().position(|a| *a == which)?;
        Some(self.fit().values[3 + found])
    }

    /// The person, with the effort found.
    #[must_use]
    pub fn person(&self) -> Person {
        let mut person = self.asked.setup.person.clone();
        person.about = format!("The person of the stride measured at {:.2} m/s.", self.timing.speed_m_per_s);
        person.name.clone_from(&self.asked.name);
        if let Some(effort) = self.also(Also::Effort) {
            person.user_effort_n_m_per_kg = rounded(effort, 4);
        }
        person
    }

    /// The parts below the knee with the mass found; none if that was not asked for.
    #[must_use]
    pub fn prosthesis(&self) -> Option<Prosthesis> {
        let factor = self.also(Also::Mass)?;
        let mut prosthesis = self.asked.setup.prosthesis.clone();
        prosthesis.about =
            format!("{} with {factor:.2} times its mass, found from one swing.", prosthesis.name);
        prosthesis.name.clone_from(&self.asked.name);
        prosthesis.parts.iter_mut().for_each(|p| p.mass_kg = significant(factor * p.mass_kg, DIGITS));
        if let Some(totals) = &mut prosthesis.totals {
            totals.mass_kg = significant(factor * totals.mass_kg, DIGITS);
            totals.inertia_kg_m2 = significant(factor * totals.inertia_kg_m2, DIGITS);
        }
        Some(prosthesis)
    }
}
