//! Reports: findings, surveys, traces and pictures in each format.

#[cfg(feature = "columnar")]
pub mod columnar;
pub mod csv;
pub mod findings;
pub mod intervals;
pub mod json;
pub mod leg_drawing;
pub mod map;
pub mod output;
pub mod page_data;
pub mod plot;
mod plot_canvas;
mod plot_labels;
mod plot_legend;
pub mod plot_style;
#[cfg(feature = "png")]
pub mod png;
#[cfg(feature = "app")]
pub mod recorded;
pub mod row_file;
pub mod rows;
mod scenario_data;
pub mod sheet;
pub mod small_plot;
mod svg_text;
pub mod teaching_data;
pub mod terminal;
pub(crate) mod text;
