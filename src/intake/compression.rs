//! Unpacks an export while it is read. Never holds more than the decoder's own window.

use std::io::{self, Read};

use flate2::read::MultiGzDecoder;

/// How a file is packed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Compression {
    None,
    Gzip,
    Zstd,
}

impl Compression {
    /// By the ending of the file's name: `.gz`, `.zst`, else none.
    pub fn of(file_name: &str) -> Self {
        let lower = file_name.to_ascii_lowercase();
        if lower.ends_with(".gz") {
            Self::Gzip
        } else if lower.ends_with(".zst") {
            Self::Zstd
        } else {
            Self::None
        }
    }

    /// Its name in messages.
    pub fn name(self) -> &'static str {
        match self {
            Self::None => "plain",
            Self::Gzip => "gzip",
            Self::Zstd => "zstd",
        }
    }

    /// The unpacked bytes. A damaged stream shows as an error of a later read.
    ///
    /// # Errors
    /// When the decoder cannot be set up.
    pub fn unpack<'a>(self, bytes: impl Read + 'a) -> io::Result<Box<dyn Read + 'a>> {
        Ok(match self {
            Self::None => Box::new(bytes),
            Self::Gzip => Box::new(MultiGzDecoder::new(bytes)),
            Self::Zstd => Box::new(zstd::stream::read::Decoder::new(bytes)?),
        })
    }
}
