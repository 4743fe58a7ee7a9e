//! Studies: small cases by hand or by an independent calculation, and golden findings.

mod adjust;
mod align;
mod changed;
mod compare;
mod lessons;
mod rules;
mod side_by_side;
mod spread;
mod sweep;
mod window;
