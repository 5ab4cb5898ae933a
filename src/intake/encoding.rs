//! Character encodings: turns a stream of bytes into UTF-8 before it is cut.
//!
//! Promises: what is valid in the given encoding comes out as valid UTF-8; a byte that is not comes
//! out as one that is no UTF-8 either, so that the check of each row names it. Never guesses.

use std::io::{self, Read};

use crate::settings::Encoding;

/// Characters of the bytes 0x80 to 0x9F in windows-1252; `None` where the code page has a hole.
///
/// Source: Unicode consortium, mapping table CP1252.TXT, version 2.01 [from memory].
#[rustfmt::skip]
const HIGH_CONTROLS: [Option<char>; 32] = [
    Some('€'), None, Some('‚'), Some('ƒ'), Some('„'), Some('…'), Some('†'), Some('‡'),
    Some('ˆ'), Some('‰'), Some('Š'), Some('‹'), Some('Œ'), None, Some('Ž'), None,
    None, Some('‘'), Some('’'), Some('“'), Some('”'), Some('•'), Some('–'), Some('—'),
    Some('˜'), Some('™'), Some('š'), Some('›'), Some('œ'), None, Some('ž'), Some('Ÿ'),
];

/// Bytes decoded at a time.
const CHUNK: usize = 64 * 1024;

/// The stream as UTF-8.
pub fn decoded<'a>(encoding: Encoding, bytes: Box<dyn Read + 'a>) -> Box<dyn Read + 'a> {
    match encoding {
        Encoding::Utf8 => bytes,
        Encoding::Windows1252 => {
            Box::new(Windows1252 { bytes, chunk: vec![0; CHUNK], text: Vec::new(), given: 0 })
        }
    }
}

/// Its name in messages.
pub fn name(encoding: Encoding) -> &'static str {
    match encoding {
        Encoding::Utf8 => "utf-8",
        Encoding::Windows1252 => "windows-1252",
    }
}

struct Windows1252<'a> {
    bytes: Box<dyn Read + 'a>,
    chunk: Vec<u8>,
    text: Vec<u8>,
    given: usize,
}

impl Read for Windows1252<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        if self.given == self.text.len() {
            let n = self.bytes.read(&mut self.chunk)?;
            self.text.clear();
            self.given = 0;
            append(&self.chunk[..n], &mut self.text);
        }
        let n = out.len().min(self.text.len() - self.given);
        out[..n].copy_from_slice(&self.text[self.given..self.given + n]);
        self.given += n;
        Ok(n)
    }
}

/// Appends windows-1252 bytes as UTF-8. A byte in a hole is passed on as it is: after whole
/// characters it is no valid UTF-8.
fn append(bytes: &[u8], text: &mut Vec<u8>) {
    if bytes.is_ascii() {
        text.extend_from_slice(bytes);
        return;
    }
    let mut utf8 = [0; 4];
    for &byte in bytes {
        let character = match byte {
            0x80..=0x9F => HIGH_CONTROLS[usize::from(byte - 0x80)],
            _ => Some(char::from(byte)),
        };
        match character {
            Some(character) => text.extend_from_slice(character.encode_utf8(&mut utf8).as_bytes()),
            None => text.push(byte),
        }
    }
}
