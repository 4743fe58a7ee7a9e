//! Drives side by side: the drive of each lane at an instant of its own.

use super::harmonics::{Basis, MOST_HARMONICS, Series};
use super::walking_drive::{Drive, Kinematics, PRESSURE_AT_HEEL, PRESSURE_AT_TOE};
use crate::body::anthropometry as ratio;
use crate::numerics::lanes::{Lanes, lane_numbers};
use crate::numerics::simd::{Lane, LaneMask};
use crate::numerics::vector::Row;
use crate::units::DEG;

lane_numbers! {
    /// Numbers of a drive besides its series.
    DriveNumbers {
        frequency, stance_rate, toe_off_s, thigh_length_m, stature_m, foot_shift_m,
        /// Centre of pressure per stature, by time; and what a tilted foot changes.
        pressure_per_s, rolled, tilted,
        knee_at_start, knee_scale, harmonics,
    }
}

/// A vector of drives.
#[derive(Clone, Copy)]
pub struct DriveLanes<T> {
    numbers: DriveNumbers<T>,
    thigh: Series<T>,
    knee: Series<T>,
    hip_x: Series<T>,
    hip_z: Series<T>,
    load: [T; MOST_HARMONICS],
}

impl DriveLanes<f64> {
    /// Number of rows.
    pub const ROWS: usize = DriveNumbers::<f64>::COUNT + 4 * Series::ROWS + MOST_HARMONICS;

    /// Writes a drive into a lane of the rows from `first` on; returns the row behind them.
    pub fn put(drive: &Drive, rows: &mut [Lanes], first: usize, lane: usize) -> usize {
        let tilt = drive.alignment.foot_tilt_deg * DEG;
        let all = [&drive.thigh, &drive.knee, &drive.hip_x, &drive.hip_z];
        let harmonics = all.iter().map(|s| s.count).max().unwrap_or(0).max(drive.load.len());
        let numbers = DriveNumbers {
            frequency: drive.frequency,
            stance_rate: std::f64::consts::PI / drive.toe_off_s,
            toe_off_s: drive.toe_off_s,
            thigh_length_m: drive.thigh_length_m,
            stature_m: drive.stature_m,
            foot_shift_m: drive.alignment.foot_shift_m,
            pressure_per_s: (PRESSURE_AT_TOE - PRESSURE_AT_HEEL) * 2.0 / drive.stride_time_s,
            rolled: ratio::SOLE_RADIUS_PER_STATURE * tilt,
            tilted: ratio::ANKLE_HEIGHT_PER_STATURE * tilt,
            knee_at_start: drive.knee_at_start,
            knee_scale: drive.knee_scale,
            harmonics: harmonics as f64,
        };
        let mut row = numbers.put(rows, first, lane);
        for series in all {
            row = series.put(rows, row, lane);
        }
        for (k, row) in rows[row..row + MOST_HARMONICS].iter_mut().enumerate() {
            row.0[lane] = drive.load.get(k).copied().unwrap_or(0.0);
        }
        row + MOST_HARMONICS
    }
}

impl<T: Row> DriveLanes<T> {
    /// From the rows from `row` on, which is moved behind them.
    #[inline(always)]
    pub fn get(zero: T, rows: &[Lanes], row: &mut usize) -> Self {
        let numbers = DriveNumbers::<T>::get(zero, rows, row);
        let mut counts = [0.0; crate::numerics::lanes::WIDEST];
        numbers.harmonics.store(&mut counts);
        let mut count = 0.0;
        for c in counts {
            count = if c > count { c } else { count };
        }
        let count = count as usize;
        let thigh = Series::<T>::get(zero, count, rows, row);
        let knee = Series::<T>::get(zero, count, rows, row);
        let hip_x = Series::<T>::get(zero, count, rows, row);
        let hip_z = Series::<T>::get(zero, count, rows, row);
        let mut load = [zero; MOST_HARMONICS];
        for k in 0..MOST_HARMONICS {
            load[k] = zero.load(&rows[*row + k].0);
        }
        *row += MOST_HARMONICS;
        Self { numbers, thigh, knee, hip_x, hip_z, load }
    }

    /// Thigh and knee axis, and the flexion of a released knee from the stop with its rate and acceleration.
    #[inline(always)]
    pub fn kinematics(&self, t: T, with_knee: bool) -> (Kinematics<T>, [T; 3]) {
        let n = &self.numbers;
        let basis = Basis::of((n.frequency * t).sin_cos(), self.thigh.count);
        let thigh = self.thigh.derivatives(&basis, n.frequency);
        let hip = [self.hip_x.value(&basis), self.hip_z.value(&basis)];
        let kinematics = Kinematics::of(thigh, thigh[0].sin_cos(), hip, n.thigh_length_m);
        if !with_knee {
            return (kinematics, [t.splat(0.0); 3]);
        }
        let [k, rate, acc] = self.knee.derivatives(&basis, n.frequency);
        let scale = n.knee_scale;
        (kinematics, [(k - n.knee_at_start) * scale, rate * scale, acc * scale])
    }

    /// Vertical ground load, shares of body weight; 0 from toe-off on.
    #[inline(always)]
    pub fn load_bw(&self, t: T) -> T {
        let zero = t.splat(0.0);
        let on_ground = self.numbers.toe_off_s.above(t);
        if !on_ground.any() {
            return zero;
        }
        let basis = Basis::of((self.numbers.stance_rate * t).sin_cos(), self.thigh.count);
        let mut sum = zero;
        for k in 0..MOST_HARMONICS {
            sum = self.load[k].times_plus(basis.sin[k], sum);
        }
        T::choose(on_ground, sum.greater(zero), zero)
    }

    /// Centre of pressure ahead of the shank line, and how far it lies ahead of the one that the drive assumes, m.
    #[inline(always)]
    pub fn pressure_m(&self, t: T) -> [T; 2] {
        let n = &self.numbers;
        let line = n.pressure_per_s.times_plus(t, t.splat(PRESSURE_AT_HEEL));
        let tilted = on_sole(line + n.rolled) - n.tilted;
        let shift = tilted - on_sole(line);
        [n.stature_m.times_plus(tilted, n.foot_shift_m), n.stature_m.times_plus(shift, n.foot_shift_m)]
    }
}

#[inline(always)]
fn on_sole<T: Lane>(x: T) -> T {
    x.greater(x.splat(PRESSURE_AT_HEEL)).lesser(x.splat(PRESSURE_AT_TOE))
}
