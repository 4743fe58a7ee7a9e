//! A picture as PNG, for programs that cannot show SVG. The font is built in, so that the picture is the same on
//! every machine.

use std::sync::Arc;

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};

use crate::error::SimError;

/// Pixels per unit of the picture: sharp on paper at A5.
const SHARPNESS: f32 = 2.0;

/// Draws an SVG picture.
///
/// ```
/// let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"4\" height=\"3\"/>";
/// assert!(kneedamp::report::png::png(svg).unwrap().starts_with(b"\x89PNG"));
/// ```
///
/// # Errors
/// The text is no SVG, or the picture is too large.
pub fn png(svg: &str) -> Result<Vec<u8>, SimError> {
    let failed = |why: String| SimError::Inconsistent { field: "picture".into(), why };
    let mut fonts = fontdb::Database::new();
    for font in [dejavu::sans::regular(), dejavu::sans::bold(), dejavu::sans::oblique()] {
        fonts.load_font_data(font.to_vec());
    }
    fonts.set_sans_serif_family("DejaVu Sans");
    // for the fonts that pictures name first and that are not built in
    let options =
        Options { font_family: "DejaVu Sans".into(), fontdb: Arc::new(fonts), ..Options::default() };
    let tree = Tree::from_str(svg, &options).map_err(|e| failed(e.to_string()))?;
    let size = tree.size().to_int_size().scale_by(SHARPNESS).ok_or_else(|| failed("too large".into()))?;
    let mut pixels = Pixmap::new(size.width(), size.height()).ok_or_else(|| failed("too large".into()))?;
    resvg::render(&tree, Transform::from_scale(SHARPNESS, SHARPNESS), &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| failed(e.to_string()))
}
