//! Character encodings: turns a stream of bytes into UTF-8 before it is cut.
//!
//! Promises: what is valid in the given encoding comes out as valid UTF-8; what is not comes out as
//! a byte that is no UTF-8 either, so that the check of each row names it. UTF-8 itself is passed
//! through untouched, its byte order mark too; that of UTF-16 is dropped. Never guesses.
//!
//! The WHATWG tables turn the holes of a code page into C1 control characters, which no table
//! holds: such a byte says that the encoding is not the one named. It is refused like a malformed
//! one, in every encoding of one byte a character.

use std::io::{self, Read};

use encoding_rs::{Decoder, DecoderResult};

use crate::settings::Encoding;

/// Bytes decoded at a time.
const CHUNK: usize = 64 * 1024;

/// Room that a decoder is given for the text of a piece; it never needs more than this at once.
const ROOM: usize = 16 * 1024;

/// Stands for what is malformed: no byte of any UTF-8 text.
const NO_TEXT: u8 = 0xFF;

/// The stream as UTF-8.
pub fn decoded<'a>(encoding: Encoding, bytes: Box<dyn Read + 'a>) -> Box<dyn Read + 'a> {
    if encoding == Encoding::UTF_8 {
        return bytes;
    }
    let coder = encoding.coder();
    let way = if coder.is_single_byte() {
        Way::Page(code_page(coder))
    } else {
        Way::Coder(Box::new(coder.new_decoder_with_bom_removal()))
    };
    let chunk = vec![0; CHUNK];
    Box::new(Decoded { bytes, way, chunk, text: Vec::new(), given: 0, ended: false })
}

/// How bytes become characters.
enum Way {
    /// One byte a character: those of the bytes from 0x80.
    Page(Box<[Option<char>; 128]>),
    Coder(Box<Decoder>),
}

struct Decoded<'a> {
    bytes: Box<dyn Read + 'a>,
    way: Way,
    chunk: Vec<u8>,
    text: Vec<u8>,
    given: usize,
    ended: bool,
}

impl Read for Decoded<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        while self.given == self.text.len() && !self.ended {
            let n = self.bytes.read(&mut self.chunk)?;
            self.ended = n == 0;
            self.text.clear();
            self.given = 0;
            match &mut self.way {
                Way::Page(page) => append(page, &self.chunk[..n], &mut self.text),
                Way::Coder(coder) => decode(coder, &self.chunk[..n], self.ended, &mut self.text),
            }
        }
        let n = out.len().min(self.text.len() - self.given);
        out[..n].copy_from_slice(&self.text[self.given..self.given + n]);
        self.given += n;
        Ok(n)
    }
}

/// The upper half of a code page.
fn code_page(coder: &'static encoding_rs::Encoding) -> Box<[Option<char>; 128]> {
    let mut page = [None; 128];
    for (byte, place) in (0x80..=0xFF).zip(&mut page) {
        let bytes = [byte];
        let text = coder.decode_without_bom_handling_and_without_replacement(&bytes);
        let found = text.and_then(|text| text.chars().next());
        *place = found.filter(|found| !('\u{80}'..='\u{9F}').contains(found));
    }
    Box::new(page)
}

/// Appends bytes of a code page as UTF-8. A hole below 0xC0 is passed on as it is, so that the
/// message about it names the byte: behind whole characters it is no valid UTF-8.
fn append(page: &[Option<char>; 128], bytes: &[u8], text: &mut Vec<u8>) {
    if bytes.is_ascii() {
        text.extend_from_slice(bytes);
        return;
    }
    let mut utf8 = [0; 4];
    for &byte in bytes {
        match byte.checked_sub(0x80).map(|high| page[usize::from(high)]) {
            None => text.push(byte),
            Some(Some(found)) => text.extend_from_slice(found.encode_utf8(&mut utf8).as_bytes()),
            Some(None) => text.push(if byte < 0xC0 { byte } else { NO_TEXT }),
        }
    }
}

/// Appends bytes of an encoding of several bytes a character as UTF-8.
fn decode(coder: &mut Decoder, bytes: &[u8], last: bool, text: &mut Vec<u8>) {
    let mut from = 0;
    loop {
        let start = text.len();
        text.resize(start + ROOM, 0);
        let (result, read, written) =
            coder.decode_to_utf8_without_replacement(&bytes[from..], &mut text[start..], last);
        text.truncate(start + written);
        from += read;
        match result {
            DecoderResult::InputEmpty => return,
            DecoderResult::OutputFull => {}
            DecoderResult::Malformed(..) => text.push(NO_TEXT),
        }
    }
}
