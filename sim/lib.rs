//! `kneedamp` computes what the settings of a hydraulic single-axis prosthetic knee do: one stride of
//! level walking at any speed and cadence with the landing after it, sitting down, a ramp, stairs, a
//! stumble, standing. Published gait data drive hip and thigh; the shank swings as a pendulum against
//! speed-dependent orifice damping; a load-triggered valve resists in stance.
//!
//! # Conventions
//! Sagittal plane, x forward, z up; SI and radians inside, degrees and percent at the interfaces only.
//! θ thigh from vertical, positive = knee ahead of the hip. φ knee flexion, 0 = straight. ψ = θ − φ
//! shank from vertical. ω = φ'. A torque is positive when it increases flexion. Stride fractions run
//! from heel contact of the prosthetic side. `_bw` is a share of body weight. \[J\] marks engineering
//! judgement; "common practice" a fact of the trade without a source.
//!
//! # Where things live
//! Floors, imported strictly downwards: 0 [`error`] [`units`] · 1 [`numerics`] · 2 [`body`] [`joint`] [`findings`] ·
//! 3 [`scenario`] · 4 [`motion`] · 5 [`outcome`] · 6 [`case`], library · 7 [`study`] · 8 [`teaching`] · 9 report ·
//! 10 serve · 11 cli. Library, report, serve and cli come with the default feature `app`; without it this is the
//! physics alone.
//!
//! | what | file |
//! | --- | --- |
//! | parts → m, r_c, ε, I; foot under the knee axis | `sim/body/prosthesis.rs`, `sim/body/alignment.rs` |
//! | a ω + b ω², area taper, valve between swing and stance | `sim/joint/damper/orifice.rs` |
//! | sensed load, arming, hysteresis, lag | `sim/joint/stance_valve.rs` |
//! | stops; assist spring; seal friction; oil viscosity | `sim/joint/end_stops.rs`, `sim/joint/assist_spring.rs`, `sim/joint/damper/constant_friction.rs`, `sim/joint/oil.rs` |
//! | cushion, relief, lever V(φ), sum of torques | `sim/joint/mod.rs` |
//! | thigh, hip, load at a speed and cadence | `sim/scenario/walking_drive.rs`, `sim/scenario/harmonics.rs` |
//! | rolling foot, stair edge | `sim/scenario/ground.rs` |
//! | pre-swing moment; swing; hip moment | `sim/motion/preswing.rs`, `sim/motion/swing.rs`, `sim/motion/pendulum.rs` |
//! | two degrees of freedom under load | `sim/motion/stance_leg.rs`, `sim/motion/leg_geometry.rs`, `sim/motion/leg_dynamics.rs` |
//! | ramp, stairs, stumble; landing | `sim/motion/stance_tasks.rs`, `sim/motion/landing.rs` |
//! | sitting; standing | `sim/motion/sitting.rs`, `sim/motion/standing.rs` |
//! | integration, events | `sim/numerics/hybrid.rs`, `sim/numerics/dormand_prince.rs`, `sim/numerics/events.rs` |
//! | every outcome | `sim/outcome/registry.rs` and the files beside it |
//!
//! # Example
//! ```
//! # #[cfg(feature = "app")] {
//! use kneedamp::case::setup::Setup;
//! use kneedamp::library::Library;
//! use kneedamp::outcome::Assessment;
//!
//! let library = Library::default();
//! let mut setup = Setup::new(
//!     library.person("75-kg").unwrap(),
//!     library.prosthesis("typical").unwrap(),
//!     library.knee("built-in").unwrap(),
//!     library.walking_drive("users-2020").unwrap(),
//! );
//! setup.settings.set(
//!     kneedamp::joint::SettingName::SwingFlexion,
//!     kneedamp::units::Setting::from_pct("swing-flexion", 40.0).unwrap(),
//! );
//! let trial = setup.trial(&library.scenario("walk-comfortable").unwrap()).unwrap();
//! let found = Assessment::of(&trial).unwrap();
//! assert!(found.outcomes.number("peak_flexion_deg").unwrap() > 55.0);
//! # }
//! ```

pub mod body;
pub mod case;
#[cfg(feature = "app")]
pub mod cli;
pub mod error;
pub mod findings;
pub mod joint;
#[cfg(feature = "page")]
pub mod library;
pub mod motion;
pub mod numerics;
pub mod outcome;
#[cfg(feature = "app")]
pub mod report;
/// Without the application: what the page shows.
#[cfg(all(feature = "page", not(feature = "app")))]
pub mod report {
    pub mod page_data;
    mod scenario_data;
    pub mod teaching_data;
}
pub mod scenario;
#[cfg(feature = "app")]
pub mod serve;
/// Without the application: what the page asks.
#[cfg(all(feature = "page", not(feature = "app")))]
pub mod serve {
    mod measured;
    pub mod questions;
}
pub mod study;
pub mod teaching;
pub mod units;
#[cfg(feature = "page")]
pub mod words;

pub use body::{Person, Prosthesis, Shank};
pub use case::Setup;
pub use error::SimError;
pub use joint::{Knee, KneeFile, SettingName, Settings};
pub use motion::{Motion, Trial};
pub use outcome::{Assessment, Outcomes};
pub use scenario::Scenario;
pub use study::{Survey, survey};

/// Mark of the sources that answers depend on: those of the program and of the engine in a lesson file must be the same.
pub const SOURCES: &str = env!("KNEEDAMP_SOURCES");

/// The caution on every picture.
pub const CAUTION_SHORT: &str = "Teaching and engineering model, not a medical device";

/// The caution in README, reports, sheets, pages and JSON.
pub const CAUTION: &str = "Teaching and engineering model, not validated for any individual, not a medical device. \
It prescribes no setting: a qualified prosthetist decides, follows the joint's own instructions and local rules, \
starts between parallel bars with a second person at hand, changes one setting by one small step at a time, and \
re-checks after any change of foot, shoe, weight or alignment. A prescribed hip cannot compensate, so harms are \
upper bounds.";
