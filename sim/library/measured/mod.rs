//! Tables of what was measured: a damper on a bench, a stride on a person.

pub mod bench;
mod motion_table;
pub mod trace;
