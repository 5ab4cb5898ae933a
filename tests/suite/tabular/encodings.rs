//! Decoding of streams. Byte values from the Unicode consortium's mapping tables (CP1252.TXT,
//! CP1250.TXT, 8859-2.TXT, CP1253.TXT, KOI8-R.TXT, SHIFTJIS.TXT) [from memory].

use std::io::Read;

use motetrail::settings::Encoding;
use motetrail::tabular::decoded;

/// Gives its bytes in pieces of one size.
struct Pieces<'a>(&'a [u8], usize);

impl Read for Pieces<'_> {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        let n = self.1.min(out.len()).min(self.0.len());
        out[..n].copy_from_slice(&self.0[..n]);
        self.0 = &self.0[n..];
        Ok(n)
    }
}

fn read(label: &str, bytes: &[u8], piece: usize) -> Vec<u8> {
    let encoding = Encoding::named(label).unwrap();
    let mut text = Vec::new();
    decoded(encoding, Box::new(Pieces(bytes, piece))).read_to_end(&mut text).unwrap();
    text
}

fn text(label: &str, bytes: &[u8]) -> String {
    let whole = read(label, bytes, usize::MAX);
    for piece in 1..5 {
        assert_eq!(read(label, bytes, piece), whole, "{label} in pieces of {piece}");
    }
    String::from_utf8(whole).unwrap()
}

#[test]
fn code_pages_become_the_characters_of_their_tables() {
    assert_eq!(text("windows-1252", b"T\xFCr \x80\xA0"), "Tür €\u{A0}");
    assert_eq!(text("windows-1250", b"Wroc\xB3aw \x8Aed\x9E"), "Wrocław Šedž");
    assert_eq!(text("iso-8859-2", b"Wroc\xB3aw"), "Wrocław");
    assert_eq!(text("koi8-r", b"\xF0\xD2\xC9\xD7\xC5\xD4"), "Привет");
    assert_eq!(text("windows-1253", b"\xC1\xE8\xDE\xED\xE1"), "Αθήνα");
}

#[test]
fn characters_of_several_bytes_survive_any_cut_of_the_stream() {
    assert_eq!(text("shift_jis", b"\x93\xFA\x96\x7B,1\n"), "日本,1\n");
    assert_eq!(text("gb18030", b"\xD6\xD0\xCE\xC4"), "中文");
    assert_eq!(text("euc-kr", b"\xC7\xD1"), "한");
}

#[test]
fn utf_16_is_read_in_both_orders_without_its_mark() {
    let written = "Ä;€;\u{1F50E}\r\n";
    let little: Vec<u8> = written.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let big: Vec<u8> = written.encode_utf16().flat_map(u16::to_be_bytes).collect();
    assert_eq!(text("utf-16le", &little), written);
    assert_eq!(text("utf-16be", &big), written);
    assert_eq!(text("utf-16le", &[b"\xFF\xFE", little.as_slice()].concat()), written);
    assert_eq!(text("utf-16be", &[b"\xFE\xFF", big.as_slice()].concat()), written);
}

#[test]
fn a_hole_of_a_code_page_stays_a_byte_that_is_no_text() {
    for (label, hole) in [("windows-1252", 0x81), ("iso-8859-2", 0x8A), ("windows-1253", 0xAA)] {
        let bytes = read(label, &[b'a', hole, b'b', 0xE1], 64);
        assert_eq!(bytes[..3], [b'a', hole, b'b'], "{label}");
        assert_eq!(std::str::from_utf8(&bytes).unwrap_err().valid_up_to(), 1);
    }
    // A byte that could begin a character of UTF-8 must not join the one behind it.
    let bytes = read("windows-1253", b"\xD2\xAA", 64);
    assert_eq!(std::str::from_utf8(&bytes).unwrap_err().valid_up_to(), 0);
}

#[test]
fn what_is_malformed_comes_out_as_a_byte_that_is_no_text() {
    // Half a surrogate pair, half a character at the end.
    assert_eq!(read("utf-16le", b"a\0\x00\xD8b\0", 64), b"a\xFFb");
    assert_eq!(read("utf-16le", b"a\0b", 64), b"a\xFF");
    assert_eq!(read("shift_jis", b"a\x93", 64), b"a\xFF");
}

#[test]
fn utf_8_is_passed_on_untouched() {
    let bytes = b"\xEF\xBB\xBFa;\xC3\xBC;\x80\xFF\n";
    assert_eq!(read("utf-8", bytes, 3), bytes);
}

#[test]
fn long_streams_are_decoded_whole() {
    let line = "Prüfung;€ 5,00;ok\r\n";
    let written = line.repeat(20_000);
    let (bytes, _, _) = encoding_rs::WINDOWS_1252.encode(&written);
    assert_eq!(read("windows-1252", &bytes, 7001), written.as_bytes());
    let wide: Vec<u8> = written.encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert_eq!(read("utf-16le", &wide, 7001), written.as_bytes());
}
