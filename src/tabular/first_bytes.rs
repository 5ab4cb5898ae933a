//! The first bytes of a file: how many are looked at, and what they are as text.

use std::borrow::Cow;

use encoding_rs::Encoding;
use memchr::memmem;

/// First bytes that tell what a file is.
pub const FIRST_BYTES: usize = 4096;

/// Whether an office program's workbook begins so that is one file of XML (FODS).
pub fn is_flat_ods(start: &[u8]) -> bool {
    let text = plain(start);
    is_markup(&text) && memmem::find(&text, b"<office:document").is_some()
}

/// As UTF-8 and without a byte order mark and blanks at its beginning.
pub(in crate::tabular) fn plain(start: &[u8]) -> Cow<'_, [u8]> {
    match Encoding::for_bom(start) {
        Some((coder, mark)) => {
            let text = coder.decode_without_bom_handling(&start[mark..]).0;
            Cow::Owned(text.trim_ascii_start().as_bytes().to_vec())
        }
        None => Cow::Borrowed(start.trim_ascii_start()),
    }
}

pub(in crate::tabular) fn is_markup(text: &[u8]) -> bool {
    text.starts_with(b"<")
}
