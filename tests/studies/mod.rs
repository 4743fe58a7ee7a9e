//! Studies, each against small cases worked by hand or by an independent calculation.

mod align;
mod sweep;
