//! Event functions: how far a state lies on the positive side of each switch.

use super::dynamics::{DriveSample, Joint};
use super::switches::{Mode, for_each_switch, switch};
use crate::numerics::simd::Lane;

impl<T: Lane> Joint<T> {
    /// How far a state lies on the positive side of a switch.
    #[inline(always)]
    pub fn event_function(&self, i: usize, at: &DriveSample<T>, bend: T, omega: T, z: T) -> T {
        let effort = self.preswing.effort_n_m;
        match i {
            switch::RATE => omega,
            switch::CUSHION => self.cushion.start_rad - bend,
            switch::DEPTH => -bend,
            switch::PUSH => self.stop.contact_factor(-omega),
            switch::HIGH => self.preswing.correction(&self.pendulum, bend, omega, at.released) - effort,
            switch::LOW => self.preswing.correction(&self.pendulum, bend, omega, at.released) + effort,
            switch::HALF => z - 0.5,
            switch::BEGUN => bend - self.valve.bend_start_rad,
            switch::FULL => bend - self.valve.bend_start_rad - self.valve.bend_span_rad,
            switch::RELEASED => at.pressure_m - self.valve.release_distance_m,
            _ => at.pressure_m - self.valve.full_distance_m,
        }
    }

    /// The mode of a state.
    #[inline(always)]
    pub fn mode<const KIND: usize>(&self, at: &DriveSample<T>, bend: T, omega: T, z: T) -> Mode<T> {
        let zero = bend.splat(0.0);
        let mut mode = [zero.above(zero); switch::COUNT];
        for_each_switch!(KIND, I => {
            mode[I] = self.event_function(I, at, bend, omega, z).above(zero);
        });
        mode
    }
}
