//! The colours. Hues are those of Okabe & Ito (2008), "Color Universal Design", safe for colour-blind readers. Text and
//! neutral lines take the page's own colour, so that one SVG is readable in light and dark.

/// A colour and how much of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paint {
    /// Red, green, blue.
    pub rgb: (u8, u8, u8),
    /// Opacity, 0..=1.
    pub alpha: f64,
}

/// Stands for `currentColor`, which the drawing backend cannot say; no palette uses it.
pub(super) const CURRENT_RGB: (u8, u8, u8) = (1, 2, 3);

/// Text and marks in the page's colour.
pub const INK: Paint = Paint::new(CURRENT_RGB, 1.0);
/// Secondary text.
pub const SOFT: Paint = Paint::new(CURRENT_RGB, 0.72);
/// Axes, reference lines.
pub const RULE: Paint = Paint::new(CURRENT_RGB, 0.5);
/// Grid lines.
pub const FAINT: Paint = Paint::new(CURRENT_RGB, 0.14);
/// Context that is not the point.
pub const GREY: Paint = Paint::new((140, 140, 140), 1.0);
/// The one emphasis colour: Okabe & Ito's blue.
pub const STRONG: Paint = Paint::new((0, 114, 178), 1.0);
/// Second hue: Okabe & Ito's orange.
pub const SECOND: Paint = Paint::new((230, 159, 0), 1.0);

/// Hues of series, in order: blue, orange, reddish purple, bluish green (Okabe & Ito 2008).
const SERIES: [(u8, u8, u8); 4] = [(0, 114, 178), (230, 159, 0), (204, 121, 167), (0, 158, 115)];

impl Paint {
    /// A colour with its opacity, 0..=1.
    pub const fn new(rgb: (u8, u8, u8), alpha: f64) -> Self {
        Self { rgb, alpha }
    }

    /// The same colour at another opacity.
    pub const fn at(self, alpha: f64) -> Self {
        Self { alpha, ..self }
    }

    /// Hue of the series `index`; after the fourth, grey.
    pub fn series(index: usize) -> Self {
        SERIES.get(index).map_or(GREY, |rgb| Self::new(*rgb, 1.0))
    }

    /// From orange over a pale grey to blue, for `share` in -1..=1: the hues of Okabe and Ito (2008), which differ for every
    /// kind of colour blindness, and equally far from zero about equally dark.
    pub fn diverging(share: f64) -> Self {
        const MIDDLE: (u8, u8, u8) = (238, 238, 236);
        let end = if share < 0.0 { (190, 90, 0) } else { STRONG.rgb };
        let part = share.abs().min(1.0);
        let mix =
            |a: u8, b: u8| (f64::from(a) + part * (f64::from(b) - f64::from(a))).round() as u8;
        Self::new((mix(MIDDLE.0, end.0), mix(MIDDLE.1, end.1), mix(MIDDLE.2, end.2)), 1.0)
    }

    /// Black or white, whichever contrasts more with this colour (relative luminance of WCAG 2.1, section 1.4.3).
    pub fn text_on(self) -> Self {
        let linear = |v: u8| {
            let v = f64::from(v) / 255.0;
            if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        let (r, g, b) = self.rgb;
        let luminance = 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
        // Contrast with white is 1.05 / (L + 0.05), with black (L + 0.05) / 0.05; they meet at L = 0.179.
        if luminance > 0.179 { Self::new((0, 0, 0), 1.0) } else { Self::new((255, 255, 255), 1.0) }
    }
}
