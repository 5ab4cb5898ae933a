//! The bytes of a file that are looked at: its beginning and its end.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

use memchr::memchr2_iter;

use crate::tabular::detect::Sample;
use crate::tabular::{Compression, FIRST_BYTES, Format, check_known};

/// Unpacked bytes from the beginning: some ten thousand rows, read in a blink.
pub const HEAD: usize = 4 << 20;
/// Most lines from the beginning: what is known of each takes more than a short one has bytes.
const LINES: usize = 200_000;
/// Bytes from the end, for footers.
const TAIL: u64 = 64 << 10;

/// What a file is, by its bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kind {
    pub format: Format,
    pub compression: Compression,
}

/// Tells what a file is by its first bytes, packed ones by what they unpack to.
///
/// # Errors
/// Reading, or damage at the very beginning, or a kind of file that is not read.
pub fn kind(path: &Path) -> io::Result<Kind> {
    let start = first_bytes(File::open(path)?, FIRST_BYTES)?;
    let plain = |format| Kind { format, compression: Compression::None };
    if let Some(format) = Format::of_magic(&start) {
        return Ok(plain(format));
    }
    check_known(&start)?;
    let compression = Compression::of_magic(&start);
    if compression == Compression::Zip
        && let Some(format) = Format::of_zip(&mut File::open(path)?)
    {
        return Ok(plain(format));
    }
    let format = match compression {
        Compression::None => None,
        packed => {
            let start = first_bytes(packed.unpack_file(File::open(path)?)?, FIRST_BYTES)?;
            let format = Format::of_magic(&start);
            if format.is_none() {
                check_known(&start)?;
            }
            format
        }
    };
    Ok(Kind { format: format.unwrap_or(Format::Text), compression })
}

/// The sample of a text file.
///
/// # Errors
/// Reading, or damage within the sample.
pub fn sample(path: &Path, compression: Compression) -> io::Result<Sample> {
    let mut head = first_bytes(unpacked(path, compression)?, HEAD + 1)?;
    // Whether a line ends in one of them or in both: two bytes of UTF-16 stay together.
    let most = memchr2_iter(b'\n', b'\r', &head).nth(LINES).map_or(HEAD, |at| (at + 2) & !1);
    let whole = head.len() <= most;
    head.truncate(most);
    let tail = match compression {
        Compression::None if !whole => Some(last_bytes(path)?),
        _ => None,
    };
    Ok(Sample { head, whole, tail })
}

/// The unpacked bytes of a file from its beginning.
///
/// # Errors
/// Opening, or a packed file that cannot be unpacked.
pub fn unpacked(path: &Path, compression: Compression) -> io::Result<Box<dyn Read>> {
    compression.unpack_file(File::open(path)?)
}

fn first_bytes(stream: impl Read, most: usize) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    stream.take(most as u64).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn last_bytes(path: &Path) -> io::Result<Vec<u8>> {
    let mut file = File::open(path)?;
    let length = file.seek(SeekFrom::End(0))?;
    // An even distance from the beginning, so that no character of two bytes is cut in two.
    file.seek(SeekFrom::Start(length.saturating_sub(TAIL) & !1))?;
    first_bytes(file, TAIL as usize + 1)
}
