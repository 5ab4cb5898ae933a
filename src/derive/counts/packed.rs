//! Cells of a count table that wait: in each stretch every column takes as many bytes as its numbers need there,
//! none where they are all alike. A cell of nine columns and eight figures is some twenty bytes long.

use super::cells::Cell;
use super::counted::{Codes, Counted, Figures, Key, Row};

/// How the numbers of one column are written: above the least of them, in so many bytes.
#[derive(Clone, Copy, Debug)]
struct Field {
    least: i64,
    bytes: u8,
}

impl Field {
    /// The largest number that its bytes can hold.
    fn most(self) -> u64 {
        u64::MAX.checked_shr(u64::BITS - 8 * u32::from(self.bytes)).unwrap_or(0)
    }
}

/// One stretch of cells, written one after the other.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    /// Columns, then figures.
    fields: Box<[Field]>,
    /// Bytes of one cell.
    width: usize,
    count: usize,
    /// Followed by as many zeros as reading eight bytes at once needs.
    bytes: Box<[u8]>,
}

/// Numbers are read and written so many bytes at a time.
const WORD: usize = size_of::<u64>();

impl Stretch {
    /// Packs cells.
    pub(super) fn of<T: Counted>(cells: &[Cell<T>]) -> Stretch {
        let columns = T::ABOUT.columns.len();
        let mut span = vec![(i64::MAX, i64::MIN); columns + T::ABOUT.figures.len()];
        for (cell, row) in cells {
            let (codes, figures) = span.split_at_mut(columns);
            for ((least, most), code) in codes.iter_mut().zip(cell.codes().as_ref()) {
                (*least, *most) = ((*least).min((*code).into()), (*most).max((*code).into()));
            }
            for ((least, most), figure) in figures.iter_mut().zip(row.values().as_ref()) {
                (*least, *most) = ((*least).min(*figure), (*most).max(*figure));
            }
        }
        let field = |(least, most): (i64, i64)| {
            let above = most.wrapping_sub(least) as u64;
            Field { least, bytes: (WORD - above.leading_zeros() as usize / 8) as u8 }
        };
        let fields: Box<[Field]> = span.into_iter().map(field).collect();
        let width = fields.iter().map(|field| usize::from(field.bytes)).sum();
        let mut bytes = vec![0; width * cells.len() + WORD];
        let mut at = 0;
        let mut put = |field: &Field, number: i64| {
            let above = number.wrapping_sub(field.least) as u64;
            bytes[at..at + WORD].copy_from_slice(&above.to_le_bytes());
            at += usize::from(field.bytes);
        };
        for (cell, row) in cells {
            let (of_codes, of_figures) = fields.split_at(columns);
            for (field, code) in of_codes.iter().zip(cell.codes().as_ref()) {
                put(field, (*code).into());
            }
            for (field, figure) in of_figures.iter().zip(row.values().as_ref()) {
                put(field, *figure);
            }
        }
        Stretch { fields, width, count: cells.len(), bytes: bytes.into_boxed_slice() }
    }

    /// Codes of the cell that begins `at`, which is moved behind them.
    fn codes<T: Counted>(&self, at: &mut usize) -> Codes<T> {
        let mut codes = Codes::<T>::default();
        for (code, field) in codes.as_mut().iter_mut().zip(&self.fields) {
            *code = self.number(at, *field) as u32;
        }
        codes
    }

    /// The cell at a place. Codes of closed lists have their words, since cells were packed.
    fn cell<T: Counted>(&self, place: usize) -> Option<Cell<T>> {
        let mut at = place * self.width;
        let (codes, mut figures) = (self.codes::<T>(&mut at), Figures::<T>::default());
        let fields = self.fields.iter().skip(T::ABOUT.columns.len());
        for (figure, field) in figures.as_mut().iter_mut().zip(fields) {
            *figure = self.number(&mut at, *field);
        }
        Some((T::Key::of(codes)?, T::Row::of(figures)))
    }

    #[inline]
    fn number(&self, at: &mut usize, field: Field) -> i64 {
        let mut word = [0; WORD];
        word.copy_from_slice(&self.bytes[*at..*at + WORD]);
        *at += usize::from(field.bytes);
        field.least.wrapping_add((u64::from_le_bytes(word) & field.most()) as i64)
    }
}

/// Cells of a stretch of those that are sorted: few enough to be unpacked in the cache.
pub(super) const SORTED_CELLS: usize = 4096;

/// Packed cells of a table.
#[derive(Clone, Debug, Default)]
pub(super) struct Packed {
    stretches: Vec<Stretch>,
    /// In the order of their codes, none twice and none without counts.
    sorted: bool,
}

impl Packed {
    /// Whether there are none.
    pub(super) fn is_empty(&self) -> bool {
        self.stretches.is_empty()
    }

    /// How many; cells that are in several stretches count in each, unless they are sorted.
    pub(super) fn len(&self) -> usize {
        self.stretches.iter().map(|stretch| stretch.count).sum()
    }

    /// Whether they are in order, and none is there twice.
    pub(super) fn is_sorted(&self) -> bool {
        self.sorted || self.is_empty()
    }

    /// Adds cells.
    pub(super) fn push<T: Counted>(&mut self, cells: &[Cell<T>]) {
        if !cells.is_empty() {
            self.stretches.push(Stretch::of::<T>(cells));
            self.sorted = false;
        }
    }

    /// Adds the cells of another.
    pub(super) fn append(&mut self, other: Packed) {
        self.sorted = match (self.is_empty(), other.is_empty()) {
            (_, true) => self.sorted,
            (true, false) => other.sorted,
            (false, false) => false,
        };
        self.stretches.extend(other.stretches);
    }

    /// The cells as they come.
    pub(super) fn cells<T: Counted>(&self) -> impl Iterator<Item = Cell<T>> {
        self.stretches
            .iter()
            .flat_map(|stretch| (0..stretch.count).filter_map(|place| stretch.cell::<T>(place)))
    }

    /// Puts them in order, adds up those of one cell, and leaves out what has no counts.
    pub(super) fn sort<T: Counted>(&mut self) {
        if self.is_sorted() {
            return;
        }
        let bits = self.bits::<T>();
        let sorted = match bits.iter().sum::<u32>() {
            0..=64 => self.in_order::<T, u64>(|codes| joined(&bits, codes) as u64),
            65..=128 => self.in_order::<T, u128>(|codes| joined(&bits, codes)),
            _ => self.in_order::<T, Codes<T>>(|codes| *codes),
        };
        *self = sorted;
    }

    /// Bits that the codes of each column need.
    fn bits<T: Counted>(&self) -> Vec<u32> {
        let mut bits = vec![0; T::ABOUT.columns.len()];
        for stretch in &self.stretches {
            for (bits, field) in bits.iter_mut().zip(&stretch.fields) {
                let most = field.least as u64 + field.most();
                *bits = u32::max(*bits, u64::BITS - most.leading_zeros());
            }
        }
        bits
    }

    fn in_order<T: Counted, O: Ord + Copy>(&self, order: impl Fn(&Codes<T>) -> O) -> Packed {
        let mut places: Vec<(O, u32, u32)> = Vec::with_capacity(self.len());
        for (number, stretch) in (0..).zip(&self.stretches) {
            let cells = (0..stretch.count).map(|place| {
                (order(&stretch.codes::<T>(&mut (place * stretch.width))), number, place as u32)
            });
            places.extend(cells);
        }
        places.sort_unstable_by_key(|(order, _, _)| *order);
        let mut sorted = Packed { stretches: Vec::new(), sorted: true };
        let mut waiting: Vec<Cell<T>> = Vec::with_capacity(SORTED_CELLS);
        for same in places.chunk_by(|a, b| a.0 == b.0) {
            let mut cells = same.iter().filter_map(|(_, stretch, place)| {
                self.stretches[*stretch as usize].cell::<T>(*place as usize)
            });
            let Some((cell, mut sum)) = cells.next() else { continue };
            cells.for_each(|(_, row)| sum.add(&row));
            if !sum.is_nothing() {
                waiting.push((cell, sum));
            }
            if waiting.len() == SORTED_CELLS {
                sorted.stretches.push(Stretch::of::<T>(&waiting));
                waiting.clear();
            }
        }
        if !waiting.is_empty() {
            sorted.stretches.push(Stretch::of::<T>(&waiting));
        }
        sorted
    }
}

/// Codes as one number of the same order.
fn joined(bits: &[u32], codes: &impl AsRef<[u32]>) -> u128 {
    let codes = codes.as_ref().iter().zip(bits);
    codes.fold(0, |joined, (code, bits)| joined << bits | u128::from(*code))
}
