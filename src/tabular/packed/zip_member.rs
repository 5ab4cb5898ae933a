//! The members of a zip file and the unpacked bytes of one.
//!
//! Only the directory is read by the library. A member's bytes are unpacked here, so that its
//! length, its checksum and the ratio of unpacked to packed bytes are all checked, and no more than
//! the decoder's window is held. A member's name is never used as a path.

use std::cell::Cell;
use std::io::{self, Read, Seek, SeekFrom, Take};

use flate2::Crc;
use flate2::read::DeflateDecoder;
use zip::{CompressionMethod, ZipArchive};

use super::ratio::check_ratio;
use crate::tabular::table_error::TableError;

/// Most members of a zip file that is read.
const MOST_MEMBERS: usize = 65_536;

/// Most bytes that are read for the list of files, 8 MiB: the library holds all of it.
const LONGEST_LIST: u64 = 8 << 20;

/// Bytes that are read for the place of one file.
const PLACE: u64 = 256 << 10;

/// A file in a zip file.
#[derive(Clone, Debug)]
pub struct Member {
    /// Its name as written.
    pub name: String,
    start: u64,
    packed: u64,
    unpacked: u64,
    deflated: bool,
    checksum: u32,
}

/// The files in a zip file, in the order of its directory; folders are left out.
///
/// # Errors
/// When the file is damaged, a member is locked with a password or packed in a way not read, or the
/// directory promises far more bytes than the file can hold.
pub fn members(bytes: &mut (impl Read + Seek)) -> Result<Vec<Member>, TableError> {
    let left = Cell::new(LONGEST_LIST);
    let mut archive = ZipArchive::new(Leash { bytes, left: &left }).map_err(damaged)?;
    if archive.len() > MOST_MEMBERS {
        return Err(TableError::TooMany {
            what: "files in a zip file",
            found: archive.len() as u64,
            most: MOST_MEMBERS as u64,
            advice: "unpack it",
        });
    }
    let mut found = Vec::new();
    for index in 0..archive.len() {
        left.set(PLACE);
        let file = archive.by_index_raw(index).map_err(damaged)?;
        if file.is_dir() {
            continue;
        }
        if file.encrypted() {
            return Err(TableError::Encrypted);
        }
        let method = file.compression();
        if ![CompressionMethod::Stored, CompressionMethod::Deflated].contains(&method) {
            let member = file.name().map_err(damaged)?.into_owned();
            return Err(TableError::ZipMethod { member, method: method.to_string() });
        }
        check_ratio(file.compressed_size(), file.size())?;
        let start = file.data_start().ok_or_else(|| damage("a file in it has no beginning"))?;
        found.push(Member {
            name: file.name().map_err(damaged)?.into_owned(),
            start,
            packed: file.compressed_size(),
            unpacked: file.size(),
            deflated: method == CompressionMethod::Deflated,
            checksum: file.crc32(),
        });
    }
    Ok(found)
}

/// Ends the reading of a list of files that does not end.
struct Leash<'a, R> {
    bytes: &'a mut R,
    /// Bytes that may still be read.
    left: &'a Cell<u64>,
}

impl<R: Read> Read for Leash<'_, R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        if self.left.get() == 0 && !out.is_empty() {
            let cause = "its list of files is missing or longer than 8 MiB";
            return Err(damage(cause).into());
        }
        let most = usize::try_from(self.left.get()).unwrap_or(usize::MAX).min(out.len());
        let n = self.bytes.read(&mut out[..most])?;
        self.left.set(self.left.get() - n as u64);
        Ok(n)
    }
}

impl<R: Seek> Seek for Leash<'_, R> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.bytes.seek(to)
    }
}

fn damaged(cause: zip::result::ZipError) -> TableError {
    match cause {
        zip::result::ZipError::Io(cause) => TableError::of_stream("zip", cause),
        other => damage(&other.to_string()),
    }
}

fn damage(cause: &str) -> TableError {
    TableError::Damaged { kind: "zip", cause: cause.to_owned() }
}

/// The unpacked bytes of a member. Damage shows as an error of a later read.
///
/// # Errors
/// When its place in the file cannot be reached.
pub fn unpacked<R: Read + Seek>(member: &Member, mut bytes: R) -> io::Result<MemberBytes<R>> {
    bytes.seek(SeekFrom::Start(member.start))?;
    let packed = bytes.take(member.packed);
    let unpacker = if member.deflated {
        Unpacker::Deflated(DeflateDecoder::new(packed))
    } else {
        Unpacker::Stored(packed)
    };
    Ok(MemberBytes { unpacker, member: member.clone(), checksum: Crc::new(), given: 0 })
}

enum Unpacker<R> {
    Stored(Take<R>),
    Deflated(DeflateDecoder<Take<R>>),
}

/// Unpacks a member while it is read.
pub struct MemberBytes<R> {
    unpacker: Unpacker<R>,
    member: Member,
    checksum: Crc,
    given: u64,
}

impl<R: Read> Read for MemberBytes<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        if out.is_empty() {
            return Ok(0);
        }
        let n = match &mut self.unpacker {
            Unpacker::Stored(packed) => packed.read(out)?,
            Unpacker::Deflated(packed) => packed.read(out)?,
        };
        self.checksum.update(&out[..n]);
        self.given += n as u64;
        if self.given > self.member.unpacked {
            return Err(damage("a file in it is longer than the directory says").into());
        }
        if n == 0 && self.given < self.member.unpacked {
            return Err(damage("a file in it is shorter than the directory says").into());
        }
        if n == 0 && self.checksum.sum() != self.member.checksum {
            return Err(damage("a checksum does not fit").into());
        }
        Ok(n)
    }
}
