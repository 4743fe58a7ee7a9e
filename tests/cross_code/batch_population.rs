//! Random strides for the batch: any settings, person, prosthesis, oil; nothing like a patient. Used by
//! the tests and by `benches/batch.rs`.

use kneedamp::body::{Alignment, Person, Shank};
use kneedamp::joint::{AssistSpring, Cushion, Knee, KneeFile, SettingName, Settings, Trigger};
use kneedamp::motion::batch::{DriveTable, Member};
use kneedamp::numerics::random::{SPLIT_MIX_STEP, split_mix, unit};
use kneedamp::scenario::{Drive, DriveFile, Pace};
use kneedamp::units::{DEG, GRAVITY_M_PER_S2 as G, Setting};

/// Random numbers that are the same everywhere, by stride and input.
pub struct Draw {
    stride: u64,
    input: u64,
}

impl Draw {
    pub fn new(stride: u64) -> Self {
        Self { stride, input: 0 }
    }

    pub fn unit(&mut self) -> f64 {
        self.input += 1;
        let number = self.stride << 8 | self.input;
        unit(split_mix((number - 1).wrapping_mul(SPLIT_MIX_STEP)))
    }

    pub fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.unit()
    }
}

/// From where settings are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Range {
    /// The whole range of each.
    Whole,
    /// Swing settings from their whole range, stance-yield 20 to 60 % and catch load 10 to 40 %: joints
    /// that let go before the knee begins to move, as a fitted one does.
    Fitted,
}

impl Range {
    fn of(self, name: SettingName) -> (f64, f64) {
        match (self, name) {
            (Self::Fitted, SettingName::StanceYield) => (20.0, 60.0),
            (Self::Fitted, SettingName::CatchLoad) => (10.0, 40.0),
            _ => (0.0, 100.0),
        }
    }
}

/// One random stride.
pub struct Case {
    pub person: Person,
    pub shank: Shank,
    pub knee: Knee,
    pub drive: Drive,
}

/// A pace that scales with size: v* and cadence over the usual one.
#[derive(Debug, Clone, Copy)]
pub struct Scaled {
    pub dimensionless_speed: f64,
    pub cadence_factor: f64,
}

/// Slow to fast, ordinary and quick steps.
pub const PACES: [Scaled; 8] = {
    const fn at(dimensionless_speed: f64, cadence_factor: f64) -> Scaled {
        Scaled { dimensionless_speed, cadence_factor }
    }
    [
        at(0.22, 1.0),
        at(0.29, 1.0),
        at(0.33, 1.1),
        at(0.36, 1.0),
        at(0.43, 1.0),
        at(0.43, 0.9),
        at(0.50, 1.0),
        at(0.56, 1.0),
    ]
};

impl Scaled {
    pub fn drive(self, file: &DriveFile, person: &Person, foot_shift_m: f64) -> Drive {
        let (leg, thigh) = (person.leg_length_m(), person.thigh_length_m());
        let mut pace =
            Pace { speed_m_per_s: self.dimensionless_speed * (G * leg).sqrt(), cadence_steps_per_min: None };
        let mut drive = Drive::new(file, leg, thigh, pace).expect("in the table");
        if (self.cadence_factor - 1.0).abs() > 1e-9 {
            pace.cadence_steps_per_min = Some(self.cadence_factor * 120.0 / drive.stride_time_s);
            drive = Drive::new(file, leg, thigh, pace).expect("in the table");
        }
        drive.aligned(Alignment { foot_shift_m, foot_tilt_deg: 0.0 })
    }
}

impl Case {
    pub fn random(number: u64, file: &DriveFile, knee: &KneeFile, pace: Scaled, settings: Range) -> Self {
        let mut d = Draw::new(number);
        let range = settings;
        let mut settings = Settings::default();
        for name in SettingName::ALL {
            let (least, most) = range.of(name);
            settings.set(name, Setting::from_pct("setting", d.between(least, most)).expect("in range"));
        }
        let mut knee = knee.resolve(&settings, Some(d.between(-5.0, 50.0))).expect("resolves");
        knee.assist = AssistSpring {
            torque_n_m: d.between(0.0, 4.0),
            rate_n_m_per_rad: (d.between(-2.0, 3.0)).max(0.0),
        };
        let start_rad = d.between(5.0, 25.0) * DEG;
        let factor = d.between(1.0, 12.0);
        knee.cushion = (d.unit() < 0.8).then_some(Cushion { start_rad, factor });
        knee.extension_stop.angle_rad = d.between(-2.0, 6.0) * DEG;
        knee.extension_stop.stiffness_n_m_per_rad = d.between(1000.0, 5000.0);
        knee.extension_stop.damping_s_per_rad = d.between(0.0, 1.0);
        knee.friction.torque_n_m = d.between(0.1, 1.0);
        let valve = &mut knee.stance;
        valve.lag_s = d.between(0.015, 0.05);
        valve.hysteresis_bw = d.between(0.02, 0.08);
        valve.release_distance_m = d.between(0.12, 0.20);
        valve.bend_start_rad = d.between(2.0, 8.0) * DEG;
        valve.bend_span_rad = d.between(3.0, 9.0) * DEG;
        let trigger = d.unit();
        if trigger < 0.04 {
            valve.trigger = Trigger::None;
        } else if trigger < 0.06 {
            valve.trigger = Trigger::Always;
        }
        let person = Person {
            mass_kg: d.between(45.0, 125.0),
            stature_given_m: Some(d.between(1.5, 1.95)),
            user_effort_n_m_per_kg: d.between(0.1, 0.3),
            ..Person::default()
        };
        let (mass_kg, com_distance_m) = (d.between(1.3, 3.5), d.between(0.20, 0.32));
        let gyration = d.between(0.12, 0.2);
        let shank = Shank {
            mass_kg,
            com_distance_m,
            com_angle_rad: d.between(0.0, 8.0) * DEG,
            inertia_kg_m2: mass_kg * (com_distance_m * com_distance_m + gyration * gyration),
        };
        let drive = pace.drive(file, &person, d.between(-0.03, 0.03));
        Self { person, shank, knee, drive }
    }

    pub fn member(&self, table: &DriveTable) -> Member {
        Member::new(table, &self.drive, self.knee.clone(), &self.person, self.shank).expect("is covered")
    }
}
