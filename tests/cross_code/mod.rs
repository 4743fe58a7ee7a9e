//! Verification against independent codes (checks B).

pub mod batch;
pub mod batch_population;
mod dormand_prince;
mod engines;
pub mod prototype;
pub mod scipy;
pub mod users_drive;
mod users_stride;

use crate::evidence::Check;

pub fn checks() -> Vec<Check> {
    let mut all = scipy::checks();
    all.extend(prototype::checks());
    all.extend(batch::checks());
    all.extend(users_drive::checks());
    all.extend(users_stride::checks());
    all.extend(engines::checks());
    all
}
