//! One stretch of cells that wait: a column takes as many bytes as its numbers need there, none where they are all alike.
//! A cell of nine columns and eight figures is some twenty bytes long.

use super::cells::Cell;
use super::counted::{Codes, Counted, Figures, Key, Row};

/// A column whose numbers differ in a stretch: its place among codes or figures, where its bytes are in a cell, and
/// which bits of a word are its own. What stands there is added to the least of its numbers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Field {
    pub(super) place: u16,
    at: u16,
    pub(super) own: u64,
}

/// One stretch of cells, written one after the other.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    /// The least of every column's codes.
    pub(super) codes: Box<[u32]>,
    /// The least of every figure.
    figures: Box<[i64]>,
    pub(super) code_fields: Box<[Field]>,
    figure_fields: Box<[Field]>,
    /// Bytes of one cell.
    width: usize,
    /// Cells.
    pub(super) count: usize,
    /// Followed by as many zeros as reading a word at once needs.
    bytes: Box<[u8]>,
}

/// Numbers are read and written so many bytes at a time.
const WORD: usize = size_of::<u64>();

/// Fields of columns that lie between these bounds, from a place in the cell on.
fn fields(width: &mut usize, spans: impl Iterator<Item = u64>) -> Box<[Field]> {
    let mut fields = Vec::new();
    for (place, span) in (0..).zip(spans).filter(|(_, span)| *span > 0) {
        let bytes = WORD - span.leading_zeros() as usize / 8;
        let own = u64::MAX >> (u64::BITS as usize - 8 * bytes);
        fields.push(Field { place, at: *width as u16, own });
        *width += bytes;
    }
    fields.into_boxed_slice()
}

impl Stretch {
    /// Packs cells, of which there are some.
    pub(super) fn of<T: Counted>(cells: &[Cell<T>]) -> Stretch {
        let first = cells.first().map(|(cell, row)| (cell.codes(), row.values()));
        let (mut codes, mut figures) = first.unwrap_or_default();
        let (mut most_codes, mut most) = (codes, figures);
        for (cell, row) in cells {
            let bounds = codes.as_mut().iter_mut().zip(most_codes.as_mut());
            for ((least, most), code) in bounds.zip(cell.codes().as_ref()) {
                (*least, *most) = ((*least).min(*code), (*most).max(*code));
            }
            let bounds = figures.as_mut().iter_mut().zip(most.as_mut());
            for ((least, most), figure) in bounds.zip(row.values().as_ref()) {
                (*least, *most) = ((*least).min(*figure), (*most).max(*figure));
            }
        }
        let (codes, figures) = (codes.as_ref(), figures.as_ref());
        let code_spans = most_codes.as_ref().iter().zip(codes).map(|(a, b)| u64::from(a - b));
        let spans = most.as_ref().iter().zip(figures).map(|(a, b)| a.wrapping_sub(*b) as u64);
        let mut width = 0;
        let code_fields = fields(&mut width, code_spans);
        let figure_fields = fields(&mut width, spans);
        let mut bytes = vec![0; width * cells.len() + WORD];
        for (place, (cell, row)) in cells.iter().enumerate() {
            let record = &mut bytes[place * width..place * width + width + WORD];
            let mut put = |field: &Field, above: u64| {
                let at = usize::from(field.at);
                record[at..at + WORD].copy_from_slice(&above.to_le_bytes());
            };
            let (own_codes, values) = (cell.codes(), row.values());
            for field in &code_fields {
                let column = usize::from(field.place);
                put(field, u64::from(own_codes.as_ref()[column] - codes[column]));
            }
            for field in &figure_fields {
                let column = usize::from(field.place);
                put(field, values.as_ref()[column].wrapping_sub(figures[column]) as u64);
            }
        }
        Stretch {
            codes: codes.into(),
            figures: figures.into(),
            code_fields,
            figure_fields,
            width,
            count: cells.len(),
            bytes: bytes.into_boxed_slice(),
        }
    }

    /// The bytes of a cell, and what reading a word at once needs behind them.
    #[inline]
    pub(super) fn record(&self, place: usize) -> &[u8] {
        &self.bytes[place * self.width..place * self.width + self.width + WORD]
    }

    /// Codes of a cell.
    pub(super) fn codes<T: Counted>(&self, record: &[u8]) -> Codes<T> {
        let mut codes = Codes::<T>::default();
        codes.as_mut().copy_from_slice(&self.codes);
        for field in &self.code_fields {
            codes.as_mut()[usize::from(field.place)] += field.read(record) as u32;
        }
        codes
    }

    /// The cell at a place. Codes of closed lists have their words, since cells were packed.
    pub(super) fn cell<T: Counted>(&self, place: usize) -> Option<Cell<T>> {
        let record = self.record(place);
        let mut figures = Figures::<T>::default();
        figures.as_mut().copy_from_slice(&self.figures);
        for field in &self.figure_fields {
            let figure = &mut figures.as_mut()[usize::from(field.place)];
            *figure = figure.wrapping_add(field.read(record) as i64);
        }
        Some((T::Key::of(self.codes::<T>(record))?, T::Row::of(figures)))
    }
}

impl Field {
    /// What stands in a cell above the least of the column.
    #[inline]
    pub(super) fn read(&self, record: &[u8]) -> u64 {
        let mut word = [0; WORD];
        word.copy_from_slice(&record[usize::from(self.at)..usize::from(self.at) + WORD]);
        u64::from_le_bytes(word) & self.own
    }
}
