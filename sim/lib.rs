//! wip
#![allow(missing_docs)]
pub mod body;
pub mod error;
pub mod joint;
pub mod motion;
pub mod outcome;
pub mod quantity;
pub mod scenario;
pub mod study;
#[cfg(feature = "app")]
pub mod library;
#[cfg(feature = "app")]
pub mod report;
#[cfg(feature = "app")]
pub mod cli;
/// The caution that stands in README, sheets, pages and JSON.
pub const CAUTION: &str = "Teaching and engineering model, not validated for any individual, not a medical device. \
It prescribes no setting: a qualified prosthetist decides, follows the joint's own instructions and local rules, \
starts between parallel bars with a second person at hand, changes one setting by one small step at a time, and \
re-checks after any change of foot, shoe, weight or alignment. A prescribed hip cannot compensate, so harms are \
upper bounds.";
