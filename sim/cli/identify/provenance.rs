//! What a file that was made from a table says of itself.

use std::fmt::Write;

use sha2::{Digest, Sha256};

/// First lines of a file that was made from a table: what made it, from what.
#[must_use]
pub fn made_from(table: &str, content: &str) -> String {
    let hash = Sha256::digest(content.as_bytes()).iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    });
    let table: String = table.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    format!(
        "# Made by kneedamp identify {} from {table}\n#   SHA-256 of the table: {hash}\n",
        env!("CARGO_PKG_VERSION")
    )
}
