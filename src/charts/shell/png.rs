//! PNG of a chart: the same SVG, at twice its size, on white, with the carried font and no other.

use std::sync::{Arc, LazyLock};

use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb::Database};

use super::font::{BOLD, MATH, REGULAR};

/// Picture px for one SVG px.
const SCALE: f32 = 2.0;

/// Why an SVG could not be turned into a PNG.
#[derive(Debug, thiserror::Error)]
pub enum PngError {
    /// The text is not an SVG that can be drawn.
    #[error("the chart is not a drawable SVG: {reason}")]
    Svg {
        /// What the parser said.
        reason: String,
    },
    /// No picture of this size can be held in memory.
    #[error("a picture of {width} x {height} px is too large")]
    Size {
        /// Width, px.
        width: u32,
        /// Height, px.
        height: u32,
    },
    /// The picture could not be written as PNG.
    #[error("the picture could not be encoded: {reason}")]
    Encode {
        /// What the encoder said.
        reason: String,
    },
}

static FONTS: LazyLock<Arc<Database>> = LazyLock::new(|| {
    let mut fonts = Database::new();
    for font in [REGULAR, BOLD, MATH] {
        fonts.load_font_data(font.to_vec());
    }
    fonts.set_sans_serif_family("Noto Sans");
    Arc::new(fonts)
});

/// The chart as PNG bytes, 2x, on white (`currentColor` is black there).
///
/// `svg`: what a chart function returned. Errors: not an SVG, or too large to hold. Same text, same bytes.
pub fn png(svg: &str) -> Result<Vec<u8>, PngError> {
    let options = Options {
        fontdb: FONTS.clone(),
        font_family: "Noto Sans".to_owned(),
        ..Options::default()
    };
    let tree =
        Tree::from_str(svg, &options).map_err(|e| PngError::Svg { reason: e.to_string() })?;
    let size = tree.size().to_int_size();
    let (width, height) = (size.width().saturating_mul(2), size.height().saturating_mul(2));
    let mut picture = Pixmap::new(width, height).ok_or(PngError::Size { width, height })?;
    picture.fill(Color::WHITE);
    resvg::render(&tree, Transform::from_scale(SCALE, SCALE), &mut picture.as_mut());
    picture.encode_png().map_err(|e| PngError::Encode { reason: e.to_string() })
}
