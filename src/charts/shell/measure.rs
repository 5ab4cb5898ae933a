//! How wide a text is, and how to break it. Widths are those of the carried font, read from its `cmap` and `hmtx`
//! tables (OpenType specification 1.9, chapters "cmap" format 4 and "hmtx"), without kerning. A browser that lacks
//! the font draws with another one, most of which are narrower. Nothing here shapes complex scripts.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::font::{BOLD, MATH, REGULAR};

/// Width in em of a character that the carried font does not have: a full square, as most such scripts need.
const UNKNOWN_EM: f64 = 1.0;

static REGULAR_WIDTHS: LazyLock<BTreeMap<u32, f64>> = LazyLock::new(|| advances(&[MATH, REGULAR]));
static BOLD_WIDTHS: LazyLock<BTreeMap<u32, f64>> = LazyLock::new(|| advances(&[MATH, BOLD]));

/// Width of `text` in px at `size` px.
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    let table = if bold { &*BOLD_WIDTHS } else { &*REGULAR_WIDTHS };
    let em: f64 =
        text.chars().map(|c| table.get(&u32::from(c)).copied().unwrap_or(UNKNOWN_EM)).sum();
    em * size
}

/// `text` without control characters and with runs of white space made one space: what may stand in a picture.
/// Characters that XML 1.0 forbids go, and so do the marks that turn the direction of writing round.
pub fn clean(text: &str) -> String {
    let kept: String = text
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .filter(|c| !matches!(c, '\u{FFFE}' | '\u{FFFF}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}'))
        .collect();
    // Only the plain space breaks a line: the no-break space of "4 120" must survive.
    kept.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// `text` on one line of at most `room` px; what does not fit is replaced by an ellipsis.
pub fn fit(text: &str, size: f64, bold: bool, room: f64) -> String {
    let text = clean(text);
    if width(&text, size, bold) <= room {
        return text;
    }
    let mut kept = String::new();
    let mut used = width("…", size, bold);
    for c in text.chars() {
        used += width(c.encode_utf8(&mut [0; 4]), size, bold);
        if used > room {
            break;
        }
        kept.push(c);
    }
    format!("{}…", kept.trim_end())
}

/// `text` broken between words into at most `most` lines of `room` px. A word wider than a line is broken anywhere;
/// what is left after the last line is replaced by an ellipsis. No text, no lines.
pub fn wrap(text: &str, size: f64, bold: bool, room: f64, most: usize) -> Vec<String> {
    let text = clean(text);
    let mut lines: Vec<String> = Vec::new();
    let mut rest = text.as_str();
    while !rest.is_empty() && most > 0 {
        if lines.len() + 1 == most {
            lines.push(fit(rest, size, bold, room));
            break;
        }
        let cut = break_at(rest, size, bold, room);
        lines.push(rest[..cut].trim_end().to_owned());
        rest = rest[cut..].trim_start_matches(' ');
    }
    lines
}

/// Byte at which the first line of `text` ends: after the last space that fits, else after the last character.
fn break_at(text: &str, size: f64, bold: bool, room: f64) -> usize {
    let mut used = 0.0;
    let mut space = None;
    for (at, c) in text.char_indices() {
        used += width(c.encode_utf8(&mut [0; 4]), size, bold);
        if c == ' ' {
            space = Some(at + 1);
        } else if used > room {
            // At least one character a line, or a narrow column would never end.
            return space.unwrap_or(if at == 0 { c.len_utf8() } else { at });
        }
    }
    text.len()
}

/// Advance in em of every character of the fonts; a later font goes before an earlier one.
fn advances(fonts: &[&[u8]]) -> BTreeMap<u32, f64> {
    let mut table = BTreeMap::new();
    for font in fonts {
        read_font(font, &mut table);
    }
    table
}

/// Adds what one font file has; a table that cannot be read adds nothing, and its characters count as unknown.
fn read_font(font: &[u8], into: &mut BTreeMap<u32, f64>) -> Option<()> {
    let head = table(font, b"head")?;
    let units = f64::from(u16_at(head, 18)?);
    let metrics = usize::from(u16_at(table(font, b"hhea")?, 34)?);
    let hmtx = table(font, b"hmtx")?;
    let cmap = table(font, b"cmap")?;
    let sub = (0..usize::from(u16_at(cmap, 2)?)).find_map(|i| {
        let start = u32_at(cmap, 8 + 8 * i)?;
        cmap.get(start..).filter(|s| u16_at(s, 0) == Some(4))
    })?;
    let segments = usize::from(u16_at(sub, 6)?) / 2;
    for segment in 0..segments {
        let last = u16_at(sub, 14 + 2 * segment)?;
        let first = u16_at(sub, 16 + 2 * (segments + segment))?;
        for code in first..=last.min(0xFFFE) {
            let glyph = glyph(sub, segments, segment, code, first).unwrap_or(0);
            if glyph != 0 {
                let row = usize::from(glyph).min(metrics.checked_sub(1)?);
                into.insert(u32::from(code), f64::from(u16_at(hmtx, 4 * row)?) / units);
            }
        }
    }
    Some(())
}

/// Glyph of `code` in a segment of a format 4 table.
fn glyph(sub: &[u8], segments: usize, segment: usize, code: u16, first: u16) -> Option<u16> {
    let delta = u16_at(sub, 16 + 2 * (2 * segments + segment))?;
    let offset_at = 16 + 2 * (3 * segments + segment);
    let offset = usize::from(u16_at(sub, offset_at)?);
    if offset == 0 {
        return Some(code.wrapping_add(delta));
    }
    let raw = u16_at(sub, offset_at + offset + 2 * usize::from(code - first))?;
    Some(if raw == 0 { 0 } else { raw.wrapping_add(delta) })
}

fn table<'a>(font: &'a [u8], tag: &[u8; 4]) -> Option<&'a [u8]> {
    let record = (0..usize::from(u16_at(font, 4)?))
        .map(|i| 12 + 16 * i)
        .find(|at| font.get(*at..at + 4) == Some(tag.as_slice()))?;
    let start = u32_at(font, record + 8)?;
    font.get(start..start + u32_at(font, record + 12)?)
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes(bytes.get(at..at + 2)?.try_into().ok()?))
}

fn u32_at(bytes: &[u8], at: usize) -> Option<usize> {
    let value = u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?);
    usize::try_from(value).ok()
}
