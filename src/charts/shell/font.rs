//! The font that the program carries, so that a PNG looks the same on every machine: subsets of Noto Sans (SIL Open
//! Font License 1.1, no reserved name; the licence is `font/OFL.txt`). Characters outside the subset are drawn as the
//! font's empty box.

/// Noto Sans Regular.
pub(super) const REGULAR: &[u8] = include_bytes!("font/NotoSans-Regular.ttf");
/// Noto Sans Bold.
pub(super) const BOLD: &[u8] = include_bytes!("font/NotoSans-Bold.ttf");
/// Noto Sans Math Regular: arrows, minus, comparison signs, which Noto Sans lacks.
pub(super) const MATH: &[u8] = include_bytes!("font/NotoSansMath-Regular.ttf");

/// Families as written in the SVG: the carried one first, so that widths are right where it is installed.
pub(super) const FAMILY: &str = "Noto Sans, Noto Sans Math, Helvetica Neue, Arial, sans-serif";
