//! The weights of the method of Dormand and Prince, multiplied by the length of a step where all lanes share it.

use crate::numerics::dormand_prince::{A2, A3, A4, A5, A6, A7, E};

/// The weights of the method times a length, by the stage that they lead to.
#[derive(Debug, Clone)]
pub struct Weights {
    /// To the second stage.
    pub a2: [f64; 1],
    /// To the third.
    pub a3: [f64; 2],
    /// To the fourth.
    pub a4: [f64; 3],
    /// To the fifth.
    pub a5: [f64; 4],
    /// To the sixth.
    pub a6: [f64; 5],
    /// To the end, without the second stage, whose weight is zero.
    pub a7: [f64; 5],
    /// Of the error estimate, without the second stage.
    pub e: [f64; 6],
}

impl Weights {
    /// As they are, for steps of which each lane has its own length.
    pub const UNIT: Self = Self { a2: A2, a3: A3, a4: A4, a5: A5, a6: A6, a7: A7, e: E };

    /// For steps of one length.
    #[must_use]
    pub fn of(length: f64) -> Self {
        let Self { a2, a3, a4, a5, a6, a7, e } = Self::UNIT;
        Self {
            a2: a2.map(|w| w * length),
            a3: a3.map(|w| w * length),
            a4: a4.map(|w| w * length),
            a5: a5.map(|w| w * length),
            a6: a6.map(|w| w * length),
            a7: a7.map(|w| w * length),
            e: e.map(|w| w * length),
        }
    }
}
