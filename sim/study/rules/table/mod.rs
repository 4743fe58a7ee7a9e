//! The rules of the trade as statements, one row each, by family. A new statement is one row.

mod general;
mod landing;
mod rows;
mod sessions;
mod stance;
mod swing;

use std::sync::LazyLock;

use super::rule::Rule;

/// All statements, in order.
pub static RULES: LazyLock<Vec<Rule>> =
    LazyLock::new(|| [swing::RULES, stance::RULES, general::RULES, sessions::RULES, landing::RULES].concat());
