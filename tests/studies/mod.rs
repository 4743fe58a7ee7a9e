//! Studies: small cases by hand or by an independent calculation, and golden findings.

mod rules;
mod spread;
