//! Adds up the pages of a Parquet file before any of them is unpacked: the library reserves the memory
//! that their headers ask for, and holds a batch of rows whatever their values take.

use std::collections::VecDeque;
use std::fs::File;
use std::sync::Arc;

use parquet::basic::{Compression, Type};
use parquet::column::page::{Page as ParquetPage, PageReader};
use parquet::errors::ParquetError;
use parquet::file::metadata::{ColumnChunkMetaData, ParquetMetaData};
use parquet::file::reader::Length;
use parquet::file::serialized_reader::SerializedPageReader;

use super::page_header::{Page, damaged, page_at};
use crate::tabular::packed::ratio::check_ratio;
use crate::tabular::table_error::TableError;

/// Most bytes of a page, 256 MiB; writers aim at one.
const LONGEST_PAGE: u64 = 256 << 20;

/// Kind of the page that holds the values of a dictionary.
const DICTIONARY: i64 = 2;

/// Bytes of a dictionary that is not looked into.
const SHORT: u64 = 256;

/// What of a file's pages may be held at once while its rows are read; unpacked bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Held {
    /// Pages that are open: of each column the longest one, and its dictionary.
    pub open: u64,
    /// By place in [`BATCHES`], the values of a batch of so many rows, however long each of them is.
    pub batch: [u64; BATCHES.len()],
}

/// Rows of a batch, one of which is chosen.
pub const BATCHES: [u64; 4] = [1024, 128, 16, 1];

/// Checks all pages; says what may be held of them in the group of rows where it is most.
///
/// # Errors
/// When a column is packed in a way not read, a page lies outside its column or is too long, or all
/// of them unpack to far too many bytes.
pub fn check_pages(file: &File, metadata: &ParquetMetaData) -> Result<Held, TableError> {
    let (mut sums, mut most) = (Sums::default(), Held::default());
    for group in metadata.row_groups() {
        let (mut open, mut batch) = (0, [0; BATCHES.len()]);
        for column in group.columns() {
            let mut pages = Pages::of(column);
            check_column(file, column, &mut sums, &mut pages)?;
            open += pages.longest + pages.dictionary;
            let word = longest_word(file, column, pages.dictionary)?;
            for (place, rows) in BATCHES.iter().enumerate() {
                let words = if pages.dictionary > 0 { word.saturating_mul(*rows) } else { 0 };
                batch[place] =
                    pages.values(place).saturating_add(words).saturating_add(batch[place]);
            }
        }
        most.open = most.open.max(open);
        most.batch.iter_mut().zip(batch).for_each(|(most, here)| *most = here.max(*most));
    }
    Ok(most)
}

/// Packed and unpacked bytes of all columns so far.
#[derive(Default)]
struct Sums {
    packed: u64,
    unpacked: u64,
}

/// The pages of one column of a group.
struct Pages {
    longest: u64,
    dictionary: u64,
    /// Bytes of each value, if all have as many.
    fixed: Option<u64>,
    windows: [Window; BATCHES.len()],
}

impl Pages {
    fn of(column: &ColumnChunkMetaData) -> Self {
        let fixed = match column.column_type() {
            Type::BYTE_ARRAY => None,
            Type::FIXED_LEN_BYTE_ARRAY => {
                Some(u64::try_from(column.column_descr().type_length()).unwrap_or(0))
            }
            _ => Some(12),
        };
        let windows = BATCHES.map(|rows| Window { rows, ..Window::default() });
        Self { longest: 0, dictionary: 0, fixed, windows }
    }

    fn add(&mut self, page: &Page) {
        if page.kind == DICTIONARY {
            self.dictionary = page.unpacked.max(self.dictionary);
            return;
        }
        self.longest = page.unpacked.max(self.longest);
        if self.fixed.is_none() {
            self.windows.iter_mut().for_each(|window| window.add(page.values, page.unpacked));
        }
    }

    /// Bytes of the values that stand in the pages themselves, in a batch of [`BATCHES`].
    fn values(&self, place: usize) -> u64 {
        match self.fixed {
            Some(bytes) => bytes.saturating_mul(BATCHES[place]),
            None => self.windows[place].most,
        }
    }
}

/// The pages that so many neighbouring values can touch, wherever they begin.
#[derive(Default)]
struct Window {
    rows: u64,
    /// Values and bytes of each page, and their sums.
    pages: VecDeque<(u64, u64)>,
    values: u64,
    bytes: u64,
    /// Most bytes of the pages touched at once.
    most: u64,
}

impl Window {
    fn add(&mut self, values: u64, bytes: u64) {
        match self.pages.back_mut() {
            // A page without values takes part with the one before it, so that the list stays short.
            Some(last) if values == 0 => last.1 += bytes,
            _ => self.pages.push_back((values, bytes)),
        }
        self.values = self.values.saturating_add(values);
        self.bytes += bytes;
        while let (Some(&(first, gone)), Some(&(last, _))) = (self.pages.front(), self.pages.back())
        {
            // All pages between the first and the last one, and one value of each of these.
            let between = self.values.saturating_sub(first).saturating_sub(last);
            if self.pages.len() < 2 || between + 2 <= self.rows {
                break;
            }
            self.pages.pop_front();
            self.values = self.values.saturating_sub(first);
            self.bytes -= gone;
        }
        self.most = self.most.max(self.bytes);
    }
}

/// Bytes of the longest word of a column's dictionary; at most all of it.
fn longest_word(
    file: &File,
    column: &ColumnChunkMetaData,
    dictionary: u64,
) -> Result<u64, TableError> {
    // What short dictionaries hold cannot matter.
    if column.column_type() != Type::BYTE_ARRAY || dictionary <= SHORT {
        return Ok(if column.column_type() == Type::BYTE_ARRAY { dictionary } else { 0 });
    }
    let refused = |error: ParquetError| damaged(error.to_string());
    let file = Arc::new(file.try_clone()?);
    let rows = usize::try_from(column.num_values()).unwrap_or(usize::MAX);
    let mut pages = SerializedPageReader::new(file, column, rows, None).map_err(refused)?;
    let Some(ParquetPage::DictionaryPage { buf, .. }) = pages.get_next_page().map_err(refused)?
    else {
        return Ok(dictionary);
    };
    // Each word behind its length.
    let (mut rest, mut longest) = (&buf[..], 0);
    while let Some((length, words)) = rest.split_first_chunk() {
        let length = u32::from_le_bytes(*length);
        longest = longest.max(u64::from(length));
        rest = words.get(length as usize..).unwrap_or_default();
    }
    Ok(longest.min(dictionary))
}

fn check_column(
    file: &File,
    column: &ColumnChunkMetaData,
    sums: &mut Sums,
    pages: &mut Pages,
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
        pages.add(&page);
        at = at
            .checked_add(page.header + page.packed)
            .filter(|&at| at <= end)
            .ok_or_else(outside)?;
    }
    Ok(())
}
