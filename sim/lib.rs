//! wip
#![allow(missing_docs)]
pub mod body;
pub mod error;
pub mod joint;
#[cfg(feature = "app")]
pub mod library;
pub mod motion;
pub mod outcome;
pub mod quantity;
#[cfg(feature = "app")]
pub mod report;
pub mod scenario;
