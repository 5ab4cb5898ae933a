//! Tables on a terminal: their cells may hold what a terminal obeys.

use std::io::{self, BufWriter, IsTerminal, Write};

/// Standard output for a table: as it is, or [`Printable`] where it is a terminal.
pub fn stdout() -> Box<dyn Write> {
    let out = BufWriter::new(io::stdout().lock());
    if io::stdout().is_terminal() { Box::new(Printable::new(out)) } else { Box::new(out) }
}

/// Passes text on, with each control character but tabs and line ends, and each byte that is no text,
/// as U+FFFD. A file or pipe gets the cells as they are; this is for a terminal alone.
pub struct Printable<W: Write> {
    inner: W,
    /// The beginning of a character whose other bytes have not come yet.
    begun: Vec<u8>,
}

/// Most bytes of a character in UTF-8.
const LONGEST: usize = 4;

impl<W: Write> Printable<W> {
    /// Prints to `inner`.
    pub fn new(inner: W) -> Self {
        Self { inner, begun: Vec::new() }
    }
}

impl<W: Write> Write for Printable<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let mut all = std::mem::take(&mut self.begun);
        all.extend_from_slice(bytes);
        let mut safe = String::with_capacity(all.len());
        let mut rest = all.as_slice();
        for chunk in all.utf8_chunks() {
            let shown =
                |c: char| if c.is_control() && !"\t\r\n".contains(c) { '\u{fffd}' } else { c };
            safe.extend(chunk.valid().chars().map(shown));
            rest = &rest[chunk.valid().len() + chunk.invalid().len()..];
            let is_begun = std::str::from_utf8(chunk.invalid())
                .is_err_and(|error| error.error_len().is_none());
            if rest.is_empty() && is_begun && chunk.invalid().len() < LONGEST {
                self.begun = chunk.invalid().to_vec();
            } else if !chunk.invalid().is_empty() {
                safe.push('\u{fffd}');
            }
        }
        self.inner.write_all(safe.as_bytes())?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}
