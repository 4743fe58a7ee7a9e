//! Outcomes of one stride, defined once for a single stride and for one of a batch.

use crate::motion::WalkMotion;
use crate::motion::batch::StrideOutcomes;
use crate::scenario::Drive;
use crate::units::DEG;

/// What these outcomes need of a stride.
pub trait StrideReading {
    /// Prescribed motion.
    fn drive(&self) -> &Drive;
    /// Moment of inertia of the shank about the knee axis, kg m².
    fn inertia_kg_m2(&self) -> f64;
    /// Flexion at toe-off, rad.
    fn toe_off_rad(&self) -> f64;
    /// Instant (s) and flexion (rad) of the peak up to heel contact.
    fn peak(&self) -> (f64, f64);
    /// Peak flexion with a valve that never closes, rad; none where that stride was not run.
    fn never_closing_peak_rad(&self) -> Option<f64>;
    /// Instant at which the valve opens under load, s.
    fn release_s(&self) -> Option<f64>;
    /// First instant after the peak within 1° of the stop, s.
    fn full_extension_s(&self) -> Option<f64>;
    /// ω there, rad/s; negative.
    fn terminal_rate(&self) -> Option<f64>;
    /// Greatest flexion after the first minimum that follows, up to heel contact, rad.
    fn rebound_rad(&self) -> Option<f64>;
    /// Flexion at heel contact, rad.
    fn heel_contact_rad(&self) -> f64;
}

impl StrideReading for WalkMotion {
    fn drive(&self) -> &Drive {
        &self.stride.drive
    }

    fn inertia_kg_m2(&self) -> f64 {
        self.stride.pendulum.inertia
    }

    fn toe_off_rad(&self) -> f64 {
        self.stride.flexion(self.stride.drive.toe_off_s)
    }

    fn peak(&self) -> (f64, f64) {
        self.stride.peak()
    }

    fn never_closing_peak_rad(&self) -> Option<f64> {
        self.never_closing.as_ref().map(|s| s.peak().1)
    }

    fn release_s(&self) -> Option<f64> {
        self.stride.release_s
    }

    fn full_extension_s(&self) -> Option<f64> {
        self.stride.full_extension_s()
    }

    fn terminal_rate(&self) -> Option<f64> {
        self.stride.terminal_rate()
    }

    fn rebound_rad(&self) -> Option<f64> {
        self.stride.rebound()
    }

    fn heel_contact_rad(&self) -> f64 {
        self.stride.flexion(self.stride.drive.stride_time_s)
    }
}

/// A stride of a batch.
#[derive(Debug, Clone, Copy)]
pub struct BatchStride<'a> {
    /// What the batch found.
    pub found: &'a StrideOutcomes,
    /// What it found of the same stride with a valve that never closes, if that was run.
    pub never_closing: Option<&'a StrideOutcomes>,
    /// Prescribed motion.
    pub drive: &'a Drive,
    /// Moment of inertia of the shank about the knee axis, kg m².
    pub inertia_kg_m2: f64,
}

impl StrideReading for BatchStride<'_> {
    fn drive(&self) -> &Drive {
        self.drive
    }

    fn inertia_kg_m2(&self) -> f64 {
        self.inertia_kg_m2
    }

    fn toe_off_rad(&self) -> f64 {
        self.found.toe_off_rad
    }

    fn peak(&self) -> (f64, f64) {
        (self.found.peak_s, self.found.peak_rad)
    }

    fn never_closing_peak_rad(&self) -> Option<f64> {
        self.never_closing.map(|f| f.peak_rad)
    }

    fn release_s(&self) -> Option<f64> {
        self.found.release_s
    }

    fn full_extension_s(&self) -> Option<f64> {
        self.found.full_extension_s
    }

    fn terminal_rate(&self) -> Option<f64> {
        self.found.terminal_rate_rad_per_s
    }

    fn rebound_rad(&self) -> Option<f64> {
        self.found.rebound_rad
    }

    fn heel_contact_rad(&self) -> f64 {
        self.found.heel_contact_rad
    }
}

type Read<'a> = &'a dyn StrideReading;

/// An instant as share of the stride, %.
fn pct(s: Read, t: f64) -> f64 {
    100.0 * t / s.drive().stride_time_s
}

pub(super) fn toe_off_flexion(s: Read) -> Option<f64> {
    Some(s.toe_off_rad() / DEG)
}

pub(super) fn peak_flexion(s: Read) -> Option<f64> {
    Some(s.peak().1 / DEG)
}

pub(super) fn peak_pct(s: Read) -> Option<f64> {
    Some(pct(s, s.peak().0))
}

pub(super) fn peak_vs_able_bodied(s: Read) -> Option<f64> {
    Some((s.peak().1 - s.drive().able_bodied_peak_rad) / DEG)
}

pub(super) fn release_pct(s: Read) -> Option<f64> {
    s.release_s().map(|t| pct(s, t))
}

pub(super) fn late_release_loss(s: Read) -> Option<f64> {
    s.never_closing_peak_rad().map(|free| (free - s.peak().1) / DEG)
}

pub(super) fn full_extension_pct(s: Read) -> Option<f64> {
    s.full_extension_s().map(|t| pct(s, t))
}

pub(super) fn extension_margin(s: Read) -> Option<f64> {
    s.full_extension_s().map(|t| 1e3 * (s.drive().stride_time_s - t))
}

pub(super) fn terminal_speed(s: Read) -> Option<f64> {
    s.terminal_rate().map(|w| -w / DEG)
}

pub(super) fn terminal_energy(s: Read) -> Option<f64> {
    s.terminal_rate().map(|w| 0.5 * s.inertia_kg_m2() * w * w)
}

pub(super) fn rebound(s: Read) -> Option<f64> {
    s.rebound_rad().map(|phi| phi / DEG)
}

pub(super) fn heel_contact_flexion(s: Read) -> Option<f64> {
    Some(s.heel_contact_rad() / DEG)
}
