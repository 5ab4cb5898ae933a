//! PNG of a chart: the same SVG, at twice its size, on white, with the carried font and no other.

use std::cell::Cell;
use std::sync::{Arc, LazyLock};

use png::{BitDepth, ColorType, DeflateCompression, Encoder, EncodingError, Filter};
use resvg::tiny_skia::{IntSize, Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb::Database};
use rustc_hash::FxHashMap;

use super::font::{BOLD, MATH, REGULAR};

/// Picture px for one SVG px.
const SCALE: f32 = 2.0;
/// Largest picture, bytes of its pixels: some hundred times what a chart takes.
const MOST_BYTES: usize = 1 << 30;
/// How hard pictures are compressed, of 1 to 9: those of the demo are 6 % larger than with the usual 6, and its
/// review took 1.81 CPU s for 2.15, one run each.
const LEVEL: u8 = 4;

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
    let mut picture = white(width, height).ok_or(PngError::Size { width, height })?;
    resvg::render(&tree, Transform::from_scale(SCALE, SCALE), &mut picture.as_mut());
    let bytes = encoded(&picture).map_err(|e| PngError::Encode { reason: e.to_string() });
    PIXELS.set(picture.take());
    bytes
}

thread_local! {
    /// Pixels of the last picture of this thread: they are some ten megabytes, which the system would clear anew for
    /// every picture.
    static PIXELS: Cell<Vec<u8>> = const { Cell::new(Vec::new()) };
}

/// A white picture; none where it is too large.
fn white(width: u32, height: u32) -> Option<Pixmap> {
    let size = IntSize::from_wh(width, height)?;
    let bytes = (width as usize).checked_mul(height as usize)?.checked_mul(4)?;
    let bytes = Some(bytes).filter(|bytes| *bytes <= MOST_BYTES)?;
    let mut pixels = PIXELS.take();
    pixels.clear();
    pixels.resize(bytes, u8::MAX);
    Pixmap::from_vec(pixels, size)
}

/// Most colours that a picture can have a palette of.
const MOST_COLOURS: usize = 256;

/// The picture as PNG. It is drawn on white, so that nothing of it is transparent: its pixels are numbers of a
/// palette where their colours are few, else red, green and blue. Rows are compressed as they are, since the
/// filters of PNG make nothing smaller where most pixels are like their neighbours.
fn encoded(picture: &Pixmap) -> Result<Vec<u8>, EncodingError> {
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, picture.width(), picture.height());
    encoder.set_depth(BitDepth::Eight);
    encoder.set_filter(Filter::NoFilter);
    encoder.set_deflate_compression(DeflateCompression::Level(LEVEL));
    let pixels = match with_palette(picture) {
        Some((palette, numbers)) => {
            encoder.set_color(ColorType::Indexed);
            encoder.set_palette(palette);
            numbers
        }
        None => {
            encoder.set_color(ColorType::Rgb);
            without_opacity(picture.data())
        }
    };
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&pixels)?;
    writer.finish()?;
    Ok(bytes)
}

/// Red, green and blue of every pixel.
fn without_opacity(pixels: &[u8]) -> Vec<u8> {
    let mut colours = vec![0; pixels.len() / 4 * 3];
    for (colour, pixel) in colours.chunks_exact_mut(3).zip(pixels.chunks_exact(4)) {
        colour.copy_from_slice(&pixel[..3]);
    }
    colours
}

/// The colours in the order in which they are met, red, green and blue each, and the number of every pixel's; none
/// where they are too many. The opacity of all pixels is full.
fn with_palette(picture: &Pixmap) -> Option<(Vec<u8>, Vec<u8>)> {
    let (pixels, width) = (picture.data(), picture.width() as usize);
    let (mut palette, mut numbers) = (Vec::new(), Vec::with_capacity(pixels.len() / 4));
    let mut number_of: FxHashMap<[u8; 4], u8> = FxHashMap::default();
    let mut last: Option<([u8; 4], u8)> = None;
    let mut above: &[u8] = &[];
    for row in pixels.chunks_exact(4 * width) {
        // Charts are mostly bars, lines and what lies between: rows that repeat.
        if row == above {
            numbers.extend_from_within(numbers.len() - width..);
            continue;
        }
        above = row;
        for pixel in row.chunks_exact(4) {
            let pixel = [pixel[0], pixel[1], pixel[2], pixel[3]];
            let number = match last {
                Some((before, number)) if before == pixel => number,
                _ => {
                    let next = number_of.len();
                    if next == MOST_COLOURS && !number_of.contains_key(&pixel) {
                        return None;
                    }
                    *number_of.entry(pixel).or_insert_with(|| {
                        palette.extend(&pixel[..3]);
                        next as u8
                    })
                }
            };
            last = Some((pixel, number));
            numbers.push(number);
        }
    }
    Some((palette, numbers))
}
