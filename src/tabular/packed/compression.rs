//! Unpacks an export while it is read. Never holds more than the decoder's own window; a file whose
//! unpacked bytes are far too many for its packed ones ends in an error.

use std::io::{self, BufReader, Read, Seek};

use flate2::read::MultiGzDecoder;

use super::ratio::{Bounded, Counted};
use super::zip_member::{MemberBytes, members, unpacked};
use crate::tabular::table_error::TableError;

/// Members of a zip file that a message names.
const NAMED: usize = 5;

/// How a file is packed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Compression {
    None,
    Gzip,
    Zstd,
    /// With one member.
    Zip,
}

impl Compression {
    /// By the ending of the file's name: `.gz`, `.zst`, `.zip`, else none.
    pub fn of(file_name: &str) -> Self {
        let lower = file_name.to_ascii_lowercase();
        let packed = [Self::Gzip, Self::Zstd, Self::Zip];
        packed.into_iter().find(|packed| lower.ends_with(packed.ending())).unwrap_or(Self::None)
    }

    /// By a file's first bytes. A workbook is a zip file too: ask [`crate::tabular::Format`] first.
    pub fn of_magic(start: &[u8]) -> Self {
        match start {
            [0x1F, 0x8B, ..] => Self::Gzip,
            [0x28, 0xB5, 0x2F, 0xFD, ..] => Self::Zstd,
            // The second is the directory of a zip file with nothing in it.
            [b'P', b'K', 3, 4, ..] | [b'P', b'K', 5, 6, ..] => Self::Zip,
            _ => Self::None,
        }
    }

    /// How the name of a file so packed ends.
    pub fn ending(self) -> &'static str {
        match self {
            Self::None => "",
            Self::Gzip => ".gz",
            Self::Zstd => ".zst",
            Self::Zip => ".zip",
        }
    }

    /// Its name in messages.
    pub fn name(self) -> &'static str {
        match self {
            Self::None => "plain",
            Self::Gzip => "gzip",
            Self::Zstd => "zstd",
            Self::Zip => "zip",
        }
    }

    /// The unpacked bytes of a stream. A damaged stream shows as an error of a later read.
    ///
    /// # Errors
    /// When the decoder cannot be set up; [`TableError::ZipStream`] for a zip file, which takes
    /// [`unpack_zip`].
    pub fn unpack<'a>(self, bytes: impl Read + 'a) -> io::Result<Box<dyn Read + 'a>> {
        let (bytes, packed) = Counted::of(bytes);
        Ok(match self {
            Self::None => Box::new(bytes),
            Self::Gzip => Box::new(Bounded::of(MultiGzDecoder::new(bytes), packed)),
            Self::Zstd => {
                let decoder = zstd::stream::read::Decoder::new(bytes)?;
                Box::new(Bounded::of(decoder, packed))
            }
            Self::Zip => return Err(TableError::ZipStream.into()),
        })
    }

    /// The unpacked bytes of a file, of a zip file those of its one member.
    ///
    /// # Errors
    /// Like [`Self::unpack`] and [`unpack_zip`].
    pub fn unpack_file<'a>(self, file: impl Read + Seek + 'a) -> io::Result<Box<dyn Read + 'a>> {
        match self {
            Self::Zip => Ok(Box::new(unpack_zip(file)?.1)),
            stream => stream.unpack(file),
        }
    }
}

/// Name and unpacked bytes of the one member of a zip file. Resource forks that macOS adds
/// (`__MACOSX/`) are no members.
///
/// # Errors
/// When the file is damaged, locked with a password, or has no member or several.
pub fn unpack_zip<R: Read + Seek>(
    mut file: R,
) -> Result<(String, MemberBytes<BufReader<R>>), TableError> {
    let mut found = members(&mut file)?;
    found.retain(|member| !member.name.starts_with("__MACOSX/"));
    match found.as_slice() {
        [] => Err(TableError::ZipEmpty),
        [one] => Ok((one.name.clone(), unpacked(one, BufReader::new(file))?)),
        several => {
            let named = several.iter().take(NAMED).map(|member| format!("{:?}", member.name));
            let mut names: Vec<String> = named.collect();
            if several.len() > NAMED {
                names.push("...".to_owned());
            }
            Err(TableError::ZipMembers { count: several.len(), members: names })
        }
    }
}
