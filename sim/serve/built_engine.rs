//! The engine as it was built from `bindings/web`: checked, and packed for a file.

use std::io::Write;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use flate2::Compression;
use flate2::write::GzEncoder;

use crate::error::SimError;

/// How every module begins (WebAssembly Core Specification, section 5.5).
const MAGIC: &[u8] = b"\0asm";

/// An engine that answers as this program does.
pub struct BuiltEngine(Vec<u8>);

impl BuiltEngine {
    /// Checks that these bytes are an engine, and made from the sources of this program.
    ///
    /// # Errors
    /// They are not.
    pub fn of(bytes: Vec<u8>) -> Result<Self, SimError> {
        let holds = |text: &str| bytes.windows(text.len()).any(|w| w == text.as_bytes());
        let family = crate::SOURCES.split_at(crate::SOURCES.rfind(' ').unwrap_or(0)).0;
        let why = if !bytes.starts_with(MAGIC) || !holds(family) {
            "is no engine of kneedamp"
        } else if !holds(crate::SOURCES) {
            "is of another version and would answer otherwise than this program: build it again"
        } else {
            return Ok(Self(bytes));
        };
        Err(SimError::Usage(why.into()))
    }

    /// Compressed, as base64.
    ///
    /// # Errors
    /// None are expected: it is written to memory.
    pub fn packed(&self) -> Result<String, SimError> {
        let mut packer = GzEncoder::new(Vec::new(), Compression::best());
        let packed = packer.write_all(&self.0).and_then(|()| packer.finish());
        let failed = |e: std::io::Error| SimError::Usage(format!("the engine cannot be packed: {e}"));
        Ok(STANDARD.encode(packed.map_err(failed)?))
    }
}
