//! Studies: small cases by hand or by an independent calculation, and golden findings.

mod changed;
mod compare;
mod lessons;
mod rules;
mod spread;
