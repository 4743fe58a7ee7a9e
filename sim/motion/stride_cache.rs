//! Reference strides, and a cache for them: along a scan of one setting they are often the same in every
//! trial.

use std::sync::{Arc, Mutex, PoisonError};

use super::stride::Stride;
use crate::body::{Person, Shank};
use crate::error::SimError;
use crate::joint::{Knee, Settings, StanceValve, Trigger};
use crate::numerics::tolerances::Tolerances;
use crate::scenario::Drive;

/// What a stride is compared with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReferenceStride {
    /// The same joint with a stance valve that never closes.
    NeverClosing,
    /// The comparison joint.
    ComparisonJoint,
}

/// The joint with a stance valve that never closes. Parameters that act only through the closed valve are set
/// to their defaults, so that joints that differ in nothing else become equal; the motion is the same.
#[must_use]
pub fn never_closing(knee: &Knee) -> Knee {
    let mut open = knee.clone();
    let StanceValve { yielding, catch_load_n, .. } = StanceValve::default();
    open.stance = StanceValve { trigger: Trigger::None, yielding, catch_load_n, ..knee.stance };
    open.settings = Settings::default();
    open
}

/// All inputs of a stride that ends at heel contact.
#[derive(Debug, Clone, PartialEq)]
pub struct StrideInputs {
    /// Prescribed motion.
    pub drive: Drive,
    /// Joint.
    pub knee: Knee,
    /// Who walks.
    pub person: Person,
    /// Limb below the knee.
    pub shank: Shank,
    /// Error tolerances.
    pub tolerances: Tolerances,
}

impl StrideInputs {
    fn run(&self) -> Result<Stride, SimError> {
        Stride::run(self.drive.clone(), self.knee.clone(), &self.person, self.shank, 0.0, &self.tolerances)
    }
}

/// The last reference strides.
#[derive(Default)]
pub struct StrideCache(Mutex<Vec<(StrideInputs, Arc<Stride>)>>);

impl StrideCache {
    /// One for each kind of reference.
    const CAPACITY: usize = 2;

    /// The stride, computed if it is not in the cache.
    ///
    /// # Errors
    /// As [`Stride::run`].
    pub fn stride(&self, inputs: StrideInputs) -> Result<Arc<Stride>, SimError> {
        // strides are complete before they are inserted: a panic elsewhere leaves no partial one
        let entries = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, stride)) = entries().iter().find(|(i, _)| *i == inputs) {
            return Ok(Arc::clone(stride));
        }
        let stride = Arc::new(inputs.run()?);
        let mut list = entries();
        if list.len() == Self::CAPACITY {
            list.remove(0);
        }
        list.push((inputs, Arc::clone(&stride)));
        Ok(stride)
    }
}

impl std::fmt::Debug for StrideCache {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("StrideCache")
    }
}
