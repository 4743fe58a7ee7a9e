//! Studies: small cases worked by hand or by an independent calculation, and golden findings.

mod adjust;
