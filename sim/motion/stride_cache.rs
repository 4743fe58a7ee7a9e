//! Reference strides, and a cache for them: along a scan of one setting they are often the same in every
//! trial.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::stride::{Stride, StridePlan};
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
    /// The stride to be run.
    ///
    /// # Errors
    /// As [`StridePlan::new`].
    pub fn plan(&self) -> Result<StridePlan, SimError> {
        let Self { drive, knee, person, shank, tolerances } = self;
        StridePlan::new(drive.clone(), knee.clone(), person, *shank, (0.0, *tolerances))
    }
}

/// The last reference strides.
#[derive(Default)]
pub struct StrideCache(Mutex<Vec<(StrideInputs, Arc<Stride>)>>);

impl StrideCache {
    /// One for each kind of reference.
    const CAPACITY: usize = 2;

    fn entries(&self) -> MutexGuard<'_, Vec<(StrideInputs, Arc<Stride>)>> {
        // strides are complete before they are inserted: a panic elsewhere leaves no partial one
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The stride, if it is in the cache.
    #[must_use]
    pub fn get(&self, inputs: &StrideInputs) -> Option<Arc<Stride>> {
        self.entries().iter().find(|(i, _)| i == inputs).map(|(_, stride)| Arc::clone(stride))
    }

    /// Puts a stride in the cache.
    pub fn insert(&self, inputs: StrideInputs, stride: Arc<Stride>) {
        let mut list = self.entries();
        if list.len() == Self::CAPACITY {
            list.remove(0);
        }
        list.push((inputs, stride));
    }
}

impl std::fmt::Debug for StrideCache {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("StrideCache")
    }
}
