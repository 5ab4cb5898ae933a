//! The header of a page of a Parquet file: what the page is and how long, without unpacking it.
//!
//! Source: Apache Parquet format, `parquet.thrift`, structs `PageHeader` (fields 1 to 3, 5 and 8),
//! `DataPageHeader` and `DataPageHeaderV2` (field 1), and Apache Thrift, compact protocol [field numbers
//! from memory; checked by the tests against written files].

use std::fs::File;

use parquet::file::reader::ChunkReader;

use crate::tabular::table_error::TableError;

/// Bytes read for a header at first, and at most: it may hold the least and the greatest value.
const HEADER: [u64; 2] = [16 << 10, 16 << 20];

/// Deepest structure in a header.
const DEEPEST: usize = 16;

/// A page as its header describes it; bytes.
#[derive(Clone, Copy, Debug, Default)]
pub struct Page {
    pub kind: i64,
    pub header: u64,
    pub unpacked: u64,
    pub packed: u64,
    pub values: u64,
}

/// The page whose header begins at `at`, in a column that ends at `end`.
///
/// # Errors
/// When its header cannot be read.
pub fn page_at(file: &File, at: u64, end: u64) -> Result<Page, TableError> {
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
            5 | 8 => page.values = thrift.values()?,
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

    /// The number of values in the header of a data page, of either version: its first field.
    fn values(&mut self) -> Option<u64> {
        let (mut id, mut values) = (0, 0);
        while let Some(kind) = self.field(&mut id)? {
            match id {
                1 => values = u64::try_from(self.integer()?).ok()?,
                _ => self.skip(kind, DEEPEST)?,
            }
        }
        Some(values)
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

/// A damaged Parquet file.
pub fn damaged(cause: impl Into<String>) -> TableError {
    TableError::Damaged { kind: "Parquet", cause: cause.into() }
}
