//! The encoding of a file's bytes: byte order mark, UTF-16 by its zeros, strict UTF-8, else a guess
//! that is printed as one.

use chardetng::{EncodingDetector, Iso2022JpDetection, Utf8Detection};
use encoding_rs::{Encoding as Coder, UTF_8, UTF_16BE, UTF_16LE};

use super::Doubt;
use crate::settings::Encoding;

/// Bytes from which the zeros of UTF-16 and the frequencies of characters are recognised.
const LOOKED_AT: usize = 1 << 17;
/// Valid characters beyond ASCII for each damaged one in a file that is UTF-8 all the same.
const SOUND: usize = 10;

/// How the doubt about an encoding begins that is no more than a guess.
pub const GUESSED: &str = "the encoding is a guess";

/// The text of a sample and how its bytes were read.
#[derive(Clone, Debug)]
pub struct Decoded {
    pub encoding: Encoding,
    /// A byte order mark stands at the beginning.
    pub bom: bool,
    /// As UTF-8, without the mark; what is no text is U+FFFD.
    pub text: String,
    pub doubts: Vec<Doubt>,
}

/// Decodes the beginning of a file. `whole`: there is no more of it.
pub fn decode(bytes: &[u8], whole: bool) -> Decoded {
    let mut doubts = Vec::new();
    let marked = Coder::for_bom(bytes);
    let (coder, mark) = match marked {
        Some((coder, mark)) => (coder, mark),
        None => (guess(bytes, whole, &mut doubts), 0),
    };
    let body = &bytes[mark..];
    let body = if whole { body } else { &body[..body.len() - unfinished(body, coder)] };
    let (text, damaged) = coder.decode_without_bom_handling(body);
    if damaged {
        let count = text.matches('\u{FFFD}').count();
        let first = text.find('\u{FFFD}').unwrap_or(0);
        let line = text[..first].matches('\n').count() + 1;
        doubts.push(Doubt::new(
            format!("some bytes are no {}", coder.name().to_lowercase()),
            format!("{count} places, the first in line {line}"),
        ));
    }
    doubts.extend(encoded_twice(&text));
    Decoded { encoding: Encoding::of(coder), bom: mark > 0, text: text.into_owned(), doubts }
}

/// The doubt about texts that were encoded twice: their UTF-8 was taken for windows-1252 and written as UTF-8 again.
fn encoded_twice(text: &str) -> Option<Doubt> {
    let begins = |c: char| matches!(c, 'Ã' | 'Â' | 'â');
    let words = text.split(|c: char| c.is_whitespace() || c.is_ascii_punctuation());
    let (mut count, mut first) = (0, None);
    for word in words.filter(|word| word.contains(begins)) {
        let (bytes, _, unknown) = encoding_rs::WINDOWS_1252.encode(word);
        if unknown {
            continue;
        }
        // Whatever a person writes with such a letter is no UTF-8 when it is cut into bytes.
        let Ok(meant) = std::str::from_utf8(&bytes) else { continue };
        if meant.chars().count() < word.chars().count() {
            count += 1;
            first.get_or_insert_with(|| (word.to_owned(), meant.to_owned()));
        }
    }
    let (found, meant) = first?;
    Some(Doubt::new(
        "some texts seem to be encoded twice; they are read as they stand".to_owned(),
        format!("{count} of them, such as {found:?}, which would be {meant:?}"),
    ))
}

/// Bytes of a character at the end that is cut in two.
fn unfinished(bytes: &[u8], coder: &'static Coder) -> usize {
    if coder == UTF_16LE || coder == UTF_16BE {
        return bytes.len() % 2;
    }
    if coder != UTF_8 {
        return 0;
    }
    let tail = &bytes[bytes.len().saturating_sub(3)..];
    match std::str::from_utf8(tail) {
        Err(error) if error.error_len().is_none() => tail.len() - error.valid_up_to(),
        // The tail may begin inside a character.
        Err(_) => (1..=tail.len())
            .find(|from| {
                std::str::from_utf8(&tail[tail.len() - from..])
                    .is_err_and(|error| error.error_len().is_none() && error.valid_up_to() == 0)
            })
            .unwrap_or(0),
        Ok(_) => 0,
    }
}

fn guess(bytes: &[u8], whole: bool, doubts: &mut Vec<Doubt>) -> &'static Coder {
    if let Some(coder) = utf_16(bytes) {
        doubts.push(Doubt::new(
            format!("read as {} though no byte order mark says so", coder.name().to_lowercase()),
            "every other byte is zero nearly throughout".to_owned(),
        ));
        return coder;
    }
    let body = if whole { bytes } else { &bytes[..bytes.len() - unfinished(bytes, UTF_8)] };
    if std::str::from_utf8(body).is_ok() {
        return UTF_8;
    }
    let (sound, damaged) = utf_8_characters(body);
    if sound >= SOUND * damaged {
        return UTF_8;
    }
    let seen = seen_of(body);
    if is_signs(seen) {
        return encoding_rs::WINDOWS_1252;
    }
    let mut detector = EncodingDetector::new(Iso2022JpDetection::Deny);
    detector.feed(seen, seen.as_ptr_range().end == bytes.as_ptr_range().end);
    let likely = detector.guess(None, Utf8Detection::Deny);
    // Frequencies of letters mislead where signs such as that of a currency are most of what tells.
    let usual = encoding_rs::WINDOWS_1252;
    let coder = if implausible(usual, seen) < implausible(likely, seen) { usual } else { likely };
    doubts.push(guessed(coder, seen));
    coder
}

/// The part of a file in which its bytes beyond ASCII begin.
fn seen_of(body: &[u8]) -> &[u8] {
    let first = body.iter().position(|byte| !byte.is_ascii()).unwrap_or(0);
    let from = first.saturating_sub(LOOKED_AT / 16);
    &body[from..body.len().min(from + LOOKED_AT)]
}

/// Most different signs of a plain file.
const MOST_SIGNS: usize = 4;

/// Whether the bytes beyond ASCII are a few signs as windows-1252 has them, each where such a sign stands and no letter
/// of another code page could: a unit (`\u{b5}m`, `\u{b0}C`, `mm\u{b2}`), a currency, a diameter alone.
fn is_signs(seen: &[u8]) -> bool {
    let mut different: Vec<u8> = Vec::new();
    for (at, byte) in seen.iter().enumerate().filter(|(_, byte)| !byte.is_ascii()) {
        let before = at.checked_sub(1).map_or(b' ', |at| seen[at]);
        let behind = seen.get(at + 1).copied().unwrap_or(b' ');
        let apart = |byte: u8| byte.is_ascii() && !byte.is_ascii_alphabetic();
        let stands = match byte {
            // Micro: before a unit of a letter or two.
            0xB5 => apart(before) && b"mWsAVgl".contains(&behind),
            // Pound, euro, section: alone or beside a number.
            0xA3 | 0x80 | 0xA7 => apart(before) && apart(behind),
            // Diameter.
            0xD8 | 0xF8 => apart(before) && apart(behind),
            // Degree: beside a number, or before its scale.
            0xB0 => apart(before) && (apart(behind) || b"CFK".contains(&behind)),
            // Square and cube: behind a metre.
            0xB2 | 0xB3 => before == b'm' && apart(behind),
            // Plus and minus, half, times.
            0xB1 | 0xBD | 0xD7 => apart(before) && apart(behind),
            _ => false,
        };
        if !stands {
            return false;
        }
        if !different.contains(byte) {
            different.push(*byte);
        }
    }
    !different.is_empty() && different.len() <= MOST_SIGNS
}

/// UTF-16 without a mark: text of mostly Latin letters has a zero in every other byte.
fn utf_16(bytes: &[u8]) -> Option<&'static Coder> {
    let seen = &bytes[..bytes.len().min(LOOKED_AT) & !1];
    if seen.len() < 4 {
        return None;
    }
    let zeros = |from: usize| seen.iter().skip(from).step_by(2).filter(|byte| **byte == 0).count();
    let (even, odd, half) = (zeros(0), zeros(1), seen.len() / 2);
    if odd * 10 >= half * 7 && even * 20 <= half {
        Some(UTF_16LE)
    } else if even * 10 >= half * 7 && odd * 20 <= half {
        Some(UTF_16BE)
    } else {
        None
    }
}

/// Characters beyond ASCII that are valid UTF-8, and places that are not.
fn utf_8_characters(bytes: &[u8]) -> (usize, usize) {
    let (mut sound, mut damaged) = (0, 0);
    for chunk in bytes.utf8_chunks() {
        sound += chunk.valid().chars().filter(|c| !c.is_ascii()).count();
        damaged += usize::from(!chunk.invalid().is_empty());
    }
    (sound, damaged)
}

/// Characters that hardly stand where they do: a letter beyond ASCII next to a digit, a capital one
/// behind a small letter, a sign inside a word.
fn implausible(coder: &'static Coder, seen: &[u8]) -> usize {
    let text = coder.decode_without_bom_handling(seen).0;
    let mut before = ' ';
    let mut chars = text.chars().peekable();
    let mut count = 0;
    while let Some(c) = chars.next() {
        let behind = chars.peek().copied().unwrap_or(' ');
        let beside_digit = before.is_ascii_digit() || behind.is_ascii_digit();
        let strange = match c.is_alphabetic() {
            true => beside_digit || c.is_uppercase() && before.is_lowercase(),
            false => before.is_alphabetic() && behind.is_alphabetic(),
        };
        count += usize::from(!c.is_ascii() && strange);
        before = c;
    }
    count
}

/// The doubt about a guess: which bytes tell, and how other code pages read them.
fn guessed(coder: &'static Coder, seen: &[u8]) -> Doubt {
    let mut counts = [0_usize; 256];
    seen.iter().filter(|byte| !byte.is_ascii()).for_each(|byte| counts[usize::from(*byte)] += 1);
    let mut telling: Vec<u8> = (128..=255).filter(|byte| counts[usize::from(*byte)] > 0).collect();
    telling.sort_by_key(|byte| std::cmp::Reverse(counts[usize::from(*byte)]));
    telling.truncate(8);
    let mut readings = vec![reading(coder, &telling)];
    let others = [
        encoding_rs::WINDOWS_1252,
        encoding_rs::WINDOWS_1250,
        encoding_rs::ISO_8859_2,
        encoding_rs::WINDOWS_1251,
        encoding_rs::MACINTOSH,
    ];
    for other in others.into_iter().filter(|other| *other != coder).take(3) {
        readings.push(reading(other, &telling));
    }
    let name = coder.name().to_lowercase();
    let bytes: Vec<String> = telling.iter().map(|byte| format!("{byte:02X}")).collect();
    Doubt::new(
        format!("{GUESSED}: {name}"),
        format!("it is no UTF-8; the bytes {} read as {}", bytes.join(" "), readings.join(", ")),
    )
}

fn reading(coder: &'static Coder, bytes: &[u8]) -> String {
    let text = coder.decode_without_bom_handling(bytes).0;
    format!("{text} in {}", coder.name().to_lowercase())
}
