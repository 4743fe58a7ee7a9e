//! Verification against independent codes (checks B).

pub mod scipy;
