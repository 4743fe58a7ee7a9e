//! From a knee file to the knee: checks, settings, oil temperature.

use crate::numerics::math;
use std::ops::RangeInclusive;

use super::damper::{ConstantFriction, DamperLaw, Linear, Orifice, Table};
use super::knee_file::{
    CatchLoadFile, DirectionFile, FrictionFile, KneeFile, LinearFile, OrificeFile, StanceFile,
};
use super::{AssistSpring, Cushion, Knee, Lever, Relief, SettingName, Settings, StanceValve};
use crate::error::SimError;
use crate::units::{DEG, Setting, within};

const B_RANGE: RangeInclusive<f64> = 1e-4..=1e4;
const STEP_RANGE: RangeInclusive<f64> = 0.1..=50.0;

/// The knee file and the oil at its temperature.
struct Conditions<'a> {
    file: &'a KneeFile,
    viscosity_ratio: f64,
}

impl KneeFile {
    /// The knee in SI units: `settings` override those of the file; the laminar parts scale with the oil's
    /// viscosity at `temperature_c` (by default the file's reference temperature).
    ///
    /// # Errors
    /// Any value out of range, with its field; a setting that this knee does not have.
    pub fn resolve(&self, settings: &Settings, temperature_c: Option<f64>) -> Result<Knee, SimError> {
        self.oil.check().map_err(|e| e.inside("oil"))?;
        within("reference_temperature_c", self.reference_temperature_c, -20.0..=80.0)?;
        within("displacement_m3_per_rad", self.displacement_m3_per_rad, 1e-7..=1e-4)?;
        within("discharge_coefficient", self.discharge_coefficient, 0.3..=1.0)?;
        let temperature = temperature_c.unwrap_or(self.reference_temperature_c);
        within("temperature_c", temperature, -30.0..=100.0)?;
        let conditions = Conditions {
            file: self,
            viscosity_ratio: self.oil.viscosity_ratio(temperature, self.reference_temperature_c),
        };
        let mut positions = Settings::default();
        let mut direction = |name: SettingName, d: &DirectionFile, field: &str| {
            let (law, position) = conditions.law(d, settings.get(name)).map_err(|e| e.inside(field))?;
            if let Some(p) = position {
                positions.set(name, p);
            }
            Ok::<_, SimError>(law)
        };
        let swing_flexion = direction(SettingName::SwingFlexion, &self.swing_flexion, "swing_flexion")?;
        let swing_extension =
            direction(SettingName::SwingExtension, &self.swing_extension, "swing_extension")?;
        let stance =
            conditions.stance(&self.stance, settings, &mut positions).map_err(|e| e.inside("stance"))?;
        Ok(Knee {
            swing_flexion,
            swing_extension,
            stance,
            lever: self.lever().map_err(|e| e.inside("displacement_by_flexion"))?,
            relief: self.checked_relief().map_err(|e| e.inside("relief"))?,
            cushion: self.checked_cushion().map_err(|e| e.inside("cushion"))?,
            extension_stop: self
                .extension_stop
                .resolve(-5.0..=20.0)
                .map_err(|e| e.inside("extension_stop"))?,
            flexion_stop: self.flexion_stop.resolve(60.0..=180.0).map_err(|e| e.inside("flexion_stop"))?,
            assist: self.checked_assist().map_err(|e| e.inside("assist"))?,
            friction: checked_friction(self.seal_friction).map_err(|e| e.inside("seal_friction"))?,
            locked: self.locked,
            settings: positions,
        })
    }

    fn lever(&self) -> Result<Lever, SimError> {
        let Some(l) = &self.displacement_by_flexion else { return Ok(Lever::default()) };
        if l.flexion_deg.len() < 2 || l.flexion_deg.len() != l.relative.len() {
            return Err(wrong(
                "relative",
                "flexion_deg and relative need the same number of values, at least 2",
            ));
        }
        for (i, (&x, &r)) in l.flexion_deg.iter().zip(&l.relative).enumerate() {
            within(&format!("flexion_deg[{i}]"), x, -10.0..=180.0)?;
            within(&format!("relative[{i}]"), r, 0.05..=20.0)?;
        }
        if l.flexion_deg.windows(2).any(|w| w[1] <= w[0]) {
            return Err(wrong("flexion_deg", "must ascend"));
        }
        Ok(Lever {
            flexion_rad: l.flexion_deg.iter().map(|d| d * DEG).collect(),
            relative: l.relative.clone(),
        })
    }

    fn checked_relief(&self) -> Result<Option<Relief>, SimError> {
        if let Some(r) = self.relief {
            within("torque_n_m", r.torque_n_m, 20.0..=1000.0)?;
            within("slope", r.slope, 0.0..=1.0)?;
        }
        Ok(self.relief)
    }

    fn checked_cushion(&self) -> Result<Option<Cushion>, SimError> {
        let Some(c) = &self.cushion else { return Ok(None) };
        Ok(Some(Cushion {
            start_rad: within("start_deg", c.start_deg, 1.0..=40.0)? * DEG,
            factor: within("factor", c.factor, 1.0..=100.0)?,
        }))
    }

    fn checked_assist(&self) -> Result<AssistSpring, SimError> {
        within("torque_n_m", self.assist.torque_n_m, 0.0..=20.0)?;
        within("rate_n_m_per_rad", self.assist.rate_n_m_per_rad, 0.0..=20.0)?;
        Ok(self.assist)
    }
}

impl Conditions<'_> {
    fn law(
        &self,
        d: &DirectionFile,
        asked: Option<Setting>,
    ) -> Result<(DamperLaw, Option<Setting>), SimError> {
        match d {
            DirectionFile::Orifice(o) => {
                let (law, s) = self.orifice(o, asked).map_err(|e| e.inside("orifice"))?;
                Ok((DamperLaw::Orifice(law), Some(s)))
            }
            DirectionFile::Linear(l) => {
                linear(l, asked, self.viscosity_ratio).map_err(|e| e.inside("linear"))
            }
            DirectionFile::ConstantFriction(f) => {
                friction(f, asked).map_err(|e| e.inside("constant-friction"))
            }
            DirectionFile::Table(t) => {
                if asked.is_some() {
                    return Err(wrong("table", "a measured table has no setting"));
                }
                let table = Table::new(t.rate_rad_per_s.clone(), t.torque_n_m.clone())?;
                Ok((DamperLaw::Table(table), None))
            }
        }
    }

    fn orifice(&self, o: &OrificeFile, asked: Option<Setting>) -> Result<(Orifice, Setting), SimError> {
        within("step_pct", o.step_pct, STEP_RANGE)?;
        let end = |b: Option<f64>, area_mm2: Option<f64>, b_name: &str, area_name: &str| match (b, area_mm2) {
            (Some(b), None) => within(b_name, b, B_RANGE),
            (None, Some(area)) => within(area_name, area, 1e-3..=100.0).map(|mm2| {
                let f = self.file;
                let (v, rho, cd) =
                    (f.displacement_m3_per_rad, f.oil.density_kg_per_m3, f.discharge_coefficient);
                Orifice::b_of_area(mm2 * 1e-6, v, rho, cd)
            }),
            _ => Err(wrong(b_name, &format!("give either {b_name} or {area_name}"))),
        };
        let open = end(o.b_open_n_m_s2_per_rad2, o.area_open_mm2, "b_open_n_m_s2_per_rad2", "area_open_mm2")?;
        let closed = end(
            o.b_closed_n_m_s2_per_rad2,
            o.area_closed_mm2,
            "b_closed_n_m_s2_per_rad2",
            "area_closed_mm2",
        )?;
        if closed <= open {
            return Err(wrong("b_closed_n_m_s2_per_rad2", "closed must resist more than open"));
        }
        // a position given by its b is shown rounded; the rounded one asked for is that position
        let own = |b: f64| Setting::shown(o.taper.setting(open, closed, b));
        let (position, b) = match (asked, o.set_b_n_m_s2_per_rad2, o.set_pct) {
            (asked, Some(b), None) if asked.is_none_or(|s| s == own(b)) => {
                within("set_b_n_m_s2_per_rad2", b, open..=closed)?;
                (own(b), b)
            }
            (Some(s), _, _) => (s, o.taper.b(open, closed, s.fraction())),
            (None, None, Some(pct)) => {
                let s = Setting::from_pct("set_pct", pct)?;
                (s, o.taper.b(open, closed, s.fraction()))
            }
            _ => return Err(wrong("set_pct", "give either set_b_n_m_s2_per_rad2 or set_pct")),
        };
        let a = match (o.a_n_m_s_per_rad, o.a_over_b_rad_per_s) {
            (Some(a), None) => within("a_n_m_s_per_rad", a, 0.0..=100.0)?,
            (None, Some(share)) => within("a_over_b_rad_per_s", share, 0.0..=10.0)? * b,
            _ => return Err(wrong("a_n_m_s_per_rad", "give either a_n_m_s_per_rad or a_over_b_rad_per_s")),
        };
        Ok((Orifice { a: a * self.viscosity_ratio, b }, position))
    }

    fn stance(
        &self,
        s: &StanceFile,
        asked: &Settings,
        positions: &mut Settings,
    ) -> Result<StanceValve, SimError> {
        let (yielding, position) =
            self.orifice(&s.yielding, asked.get(SettingName::StanceYield)).map_err(|e| e.inside("yield"))?;
        positions.set(SettingName::StanceYield, position);
        let (catch, position) = catch_load(&s.catch_load, asked.get(SettingName::CatchLoad))
            .map_err(|e| e.inside("catch_load"))?;
        positions.set(SettingName::CatchLoad, position);
        Ok(StanceValve {
            trigger: s.trigger,
            yielding,
            catch_load_n: catch,
            lag_s: within("lag_ms", s.lag_ms, 2.0..=500.0)? * 1e-3,
            hysteresis_bw: within("hysteresis_bw", s.hysteresis_bw, 0.0..=0.5)?,
            width_bw: within("switch_width_bw", s.switch_width_bw, 0.001..=0.1)?,
            release_distance_m: within("release_distance_m", s.release_distance_m, 0.0..=0.5)?,
            full_distance_m: within("full_distance_m", s.full_distance_m, -0.2..=-0.01)?,
            bend_start_rad: within("bend_start_deg", s.bend_start_deg, 0.0..=30.0)? * DEG,
            bend_span_rad: within("bend_span_deg", s.bend_span_deg, 0.5..=40.0)? * DEG,
        })
    }
}

fn linear(l: &LinearFile, asked: Option<Setting>, nu: f64) -> Result<(DamperLaw, Option<Setting>), SimError> {
    within("step_pct", l.step_pct, STEP_RANGE)?;
    let open = within("c_open_n_m_s_per_rad", l.c_open_n_m_s_per_rad, 1e-3..=100.0)?;
    let closed = within("c_closed_n_m_s_per_rad", l.c_closed_n_m_s_per_rad, open..=1000.0)?;
    let s = asked.map_or_else(|| Setting::from_pct("set_pct", l.set_pct), Ok)?;
    let c = open * math::powf(closed / open, s.fraction());
    Ok((DamperLaw::Linear(Linear { c: c * nu }), Some(s)))
}

fn friction(f: &FrictionFile, asked: Option<Setting>) -> Result<(DamperLaw, Option<Setting>), SimError> {
    within("step_pct", f.step_pct, STEP_RANGE)?;
    let least = within("least_n_m", f.least_n_m, 0.0..=100.0)?;
    let greatest = within("greatest_n_m", f.greatest_n_m, least..=500.0)?;
    let smoothing = within("smoothing_rad_per_s", f.smoothing_rad_per_s, 0.005..=1.0)?;
    let s = asked.map_or_else(|| Setting::from_pct("set_pct", f.set_pct), Ok)?;
    let torque = least + (greatest - least) * s.fraction();
    Ok((
        DamperLaw::ConstantFriction(ConstantFriction { torque_n_m: torque, smoothing_rad_per_s: smoothing }),
        Some(s),
    ))
}

fn catch_load(c: &CatchLoadFile, asked: Option<Setting>) -> Result<(f64, Setting), SimError> {
    within("step_pct", c.step_pct, STEP_RANGE)?;
    let least = within("least_n", c.least_n, 1.0..=5000.0)?;
    let greatest = within("greatest_n", c.greatest_n, least + 1.0..=5000.0)?;
    let span = greatest - least;
    let own = |n: f64| Setting::shown((n - least) / span);
    match (asked, c.set_n, c.set_pct) {
        (asked, Some(n), None) if asked.is_none_or(|s| s == own(n)) => {
            within("set_n", n, least..=greatest)?;
            Ok((n, own(n)))
        }
        (Some(s), _, _) => Ok((least + span * s.fraction(), s)),
        (None, None, Some(pct)) => {
            let s = Setting::from_pct("set_pct", pct)?;
            Ok((least + span * s.fraction(), s))
        }
        _ => Err(wrong("set_n", "give either set_n or set_pct")),
    }
}

fn checked_friction(f: ConstantFriction) -> Result<ConstantFriction, SimError> {
    within("torque_n_m", f.torque_n_m, 0.0..=20.0)?;
    within("smoothing_rad_per_s", f.smoothing_rad_per_s, 0.005..=1.0)?;
    Ok(f)
}

fn wrong(field: &str, why: &str) -> SimError {
    SimError::Inconsistent { field: field.into(), why: why.into() }
}
