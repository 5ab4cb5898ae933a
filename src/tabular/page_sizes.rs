//! Looks at the headers of all pages of a Parquet file before any page is unpacked: the library
//! reserves the memory that a header asks for.
//!
//! Source: Apache Parquet format, `parquet.thrift`, struct `PageHeader` (fields 1 to 3), and Apache
//! Thrift, compact protocol [field numbers from memory; checked by the tests against written files].

use parquet::basic::Compression;
use parquet::file::metadata::{ColumnChunkMetaData, ParquetMetaData};
use parquet::file::reader::ChunkReader;

use super::ratio::check_ratio;
use super::table_error::TableError;

/// Most bytes of a page, 256 MiB; writers aim at one.
const LONGEST_PAGE: u64 = 256 << 20;

/// Bytes read for a header at first, and at most: it may hold the least and the greatest value.
const HEADER: [u64; 2] = [16 << 10, 16 << 20];

/// Kind of the page that holds the values of a dictionary.
const DICTIONARY: i64 = 2;

/// Deepest structure in a header.
const DEEPEST: usize = 16;

/// A damaged Parquet file.
pub fn damaged(cause: impl Into<String>) -> TableError {
    TableError::Damaged { kind: "Parquet", cause: cause.into() }
}

/// Checks all pages; gives the unpacked bytes of the longest dictionary.
///
/// # Errors
/// When a column is packed in a way not read, a page lies outside its column or is too long, or all
/// of them unpack to far too many bytes.
pub fn check_pages(file: &impl ChunkReader, metadata: &ParquetMetaData) -> Result<u64, TableError> {
    let mut sums = Sums::default();
    for group in metadata.row_groups() {
        for column in group.columns() {
            check_column(file, column, &mut sums)?;
        }
    }
    Ok(sums.dictionary)
}

#[derive(Default)]
struct Sums {
    packed: u64,
    unpacked: u64,
    dictionary: u64,
}

fn check_column(
    file: &impl ChunkReader,
    column: &ColumnChunkMetaData,
    sums: &mut Sums,
) -> Result<(), TableError> {
    if matches!(column.compression(), Compression::BROTLI(_) | Compression::LZO) {
        return Err(TableError::ColumnMethod { method: format!("{:?}", column.compression()) });
    }
    let outside = || damaged("a column lies outside the file");
    let number = |value: i64| u64::try_from(value).map_err(|_| outside());
    let data = number(column.data_page_offset())?;
    let dictionary = column.dictionary_page_offset().map(number).transpose()?;
    let start = dictionary.filter(|&at| at > 0 && at < data).unwrap_or(data);
    let length = number(column.compressed_size())?;
    let end = start.checked_add(length).filter(|&end| end <= file.len()).ok_or_else(outside)?;
    let mut at = start;
    while at < end {
        let page = page_at(file, at, end)?;
        if page.unpacked > LONGEST_PAGE {
            return Err(TableError::TooMany {
                what: "bytes in a page of a Parquet file",
                found: page.unpacked,
                most: LONGEST_PAGE,
                advice: "write it with smaller pages",
            });
        }
        sums.packed += page.packed;
        sums.unpacked += page.unpacked;
        check_ratio(sums.packed, sums.unpacked)?;
        if page.kind == DICTIONARY {
            sums.dictionary = sums.dictionary.max(page.unpacked);
        }
        at = at
            .checked_add(page.header + page.packed)
            .filter(|&at| at <= end)
            .ok_or_else(outside)?;
    }
    Ok(())
}

/// A page as its header describes it; bytes.
#[derive(Clone, Copy, Debug, Default)]
struct Page {
    kind: i64,
    header: u64,
    unpacked: u64,
    packed: u64,
}

fn page_at(file: &impl ChunkReader, at: u64, end: u64) -> Result<Page, TableError> {
    for most in HEADER {
        let length = most.min(end - at);
        let bytes = file.get_bytes(at, usize::try_from(length).unwrap_or(usize::MAX));
        let bytes = bytes.map_err(|error| damaged(error.to_string()))?;
        if let Some(page) = page(&bytes) {
            return Ok(page);
        }
        if length < most {
            break;
        }
    }
    Err(damaged("the header of a page cannot be read"))
}

/// Reads a header; none if the bytes end too early or make no sense.
fn page(bytes: &[u8]) -> Option<Page> {
    let mut thrift = Thrift { bytes };
    let mut page = Page::default();
    let mut id = 0;
    while let Some(kind) = thrift.field(&mut id)? {
        match id {
            1 => page.kind = thrift.integer()?,
            2 => page.unpacked = u64::try_from(thrift.integer()?).ok()?,
            3 => page.packed = u64::try_from(thrift.integer()?).ok()?,
            _ => thrift.skip(kind, DEEPEST)?,
        }
    }
    page.header = (bytes.len() - thrift.bytes.len()) as u64;
    Some(page)
}

/// What is left of a structure in the compact protocol. Every reading gives none at its end.
struct Thrift<'a> {
    bytes: &'a [u8],
}

impl Thrift<'_> {
    fn byte(&mut self) -> Option<u8> {
        let (first, rest) = self.bytes.split_first()?;
        self.bytes = rest;
        Some(*first)
    }

    fn unsigned(&mut self) -> Option<u64> {
        let mut value = 0;
        for shift in (0..64).step_by(7) {
            let byte = self.byte()?;
            value |= u64::from(byte & 0x7F) << shift;
            if byte < 0x80 {
                return Some(value);
            }
        }
        None
    }

    fn integer(&mut self) -> Option<i64> {
        let value = self.unsigned()?;
        Some((value >> 1) as i64 ^ -((value & 1) as i64))
    }

    /// The kind of the next field, whose number is put in `id`; `Some(None)` at the structure's end.
    fn field(&mut self, id: &mut i64) -> Option<Option<u8>> {
        let head = self.byte()?;
        if head == 0 {
            return Some(None);
        }
        let step = i64::from(head >> 4);
        *id = if step == 0 { self.integer()? } else { id.checked_add(step)? };
        Some(Some(head & 0x0F))
    }

    fn leave_out(&mut self, count: u64) -> Option<()> {
        self.bytes = self.bytes.get(usize::try_from(count).ok()?..)?;
        Some(())
    }

    /// Leaves out a field of that kind.
    fn skip(&mut self, kind: u8, depth: usize) -> Option<()> {
        let depth = depth.checked_sub(1)?;
        match kind {
            1 | 2 => Some(()),
            3 => self.leave_out(1),
            4..=6 => self.unsigned().map(|_| ()),
            7 => self.leave_out(8),
            8 => {
                let length = self.unsigned()?;
                self.leave_out(length)
            }
            9 | 10 => {
                let head = self.byte()?;
                let count = if head >> 4 == 15 { self.unsigned()? } else { u64::from(head >> 4) };
                (0..count).try_for_each(|_| self.skip_element(head & 0x0F, depth))
            }
            12 => {
                let mut id = 0;
                while let Some(kind) = self.field(&mut id)? {
                    self.skip(kind, depth)?;
                }
                Some(())
            }
            _ => None,
        }
    }

    /// Leaves out an element of a list, in which a truth value takes a byte.
    fn skip_element(&mut self, kind: u8, depth: usize) -> Option<()> {
        if matches!(kind, 1 | 2) { self.leave_out(1) } else { self.skip(kind, depth) }
    }
}
