//! Reports: findings, surveys, traces and pictures in each format.

pub mod csv;
pub mod findings;
pub mod intervals;
pub mod json;
pub mod map;
pub mod output;
pub mod page_data;
pub mod plot;
mod plot_labels;
pub mod plot_style;
#[cfg(feature = "png")]
pub mod png;
pub mod row_file;
pub mod rows;
mod scenario_data;
pub mod sheet;
pub mod small_plot;
mod svg_text;
pub mod teaching_data;
pub mod terminal;
pub(crate) mod text;
