//! Groups count tables into the cells of a measure.

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::datatypes::{Int64Type, UInt32Type};
use rustc_hash::FxHashMap;

use super::DeriveError;

/// Groups for which every possible one gets a place, for each row that counts; where the columns could make
/// more, groups are looked up.
const PLACES_A_ROW: u128 = 4;

/// One count table, ready to be grouped.
pub struct Frame {
    height: usize,
    codes: FxHashMap<String, Codes>,
    counts: FxHashMap<String, Vec<i64>>,
    words: FxHashMap<String, Vec<String>>,
}

/// A column of places of display.
struct Codes {
    of: Vec<u32>,
    /// One more than the largest of them, at least 1.
    count: u64,
}

/// Groups in the order of their places, and what was counted in them.
pub(super) struct Sums {
    width: usize,
    figures: usize,
    places: Vec<u32>,
    sums: Vec<i64>,
}

impl Sums {
    /// The places of every group, column by column of the grouping, and its sums.
    pub(super) fn groups(&self) -> impl ExactSizeIterator<Item = (&[u32], &[i64])> {
        let places = |group: usize| &self.places[group * self.width..(group + 1) * self.width];
        let groups = self.sums.chunks_exact(self.figures.max(1));
        groups.enumerate().map(move |(group, sums)| (places(group), sums))
    }
}

impl Frame {
    /// Takes over a count table.
    ///
    /// # Errors
    /// A column of a type that no count table has.
    pub fn of(batch: &RecordBatch) -> Result<Frame, DeriveError> {
        let mut frame = Frame {
            height: batch.num_rows(),
            codes: FxHashMap::default(),
            counts: FxHashMap::default(),
            words: FxHashMap::default(),
        };
        for (field, array) in batch.schema().fields().iter().zip(batch.columns()) {
            let name = field.name().clone();
            if let Some(codes) = array.as_dictionary_opt::<UInt32Type>() {
                let list = codes.values().as_string::<i32>();
                let words = list.iter().flatten().map(str::to_owned).collect();
                frame.words.insert(name.clone(), words);
                frame.codes.insert(name, Codes::of(codes.keys().values()));
            } else if let Some(numbers) = array.as_primitive_opt::<UInt32Type>() {
                frame.codes.insert(name, Codes::of(numbers.values()));
            } else if let Some(counts) = array.as_primitive_opt::<Int64Type>() {
                frame.counts.insert(name, counts.values().to_vec());
            } else {
                return Err(DeriveError::Frame(format!("column {name}: {}", array.data_type())));
            }
        }
        Ok(frame)
    }

    /// The words of a grouping column in the order of display.
    pub fn words(&self, column: &str) -> &[String] {
        self.words.get(column).map_or(&[], Vec::as_slice)
    }

    /// The word of a column at a place of display; a plain number is its own word.
    pub fn word(&self, column: &str, place: u32) -> String {
        match self.words.get(column) {
            Some(words) => words.get(place as usize).cloned().unwrap_or_default(),
            None => place.to_string(),
        }
    }

    /// Sums of `sums` by `by` over the rows whose columns hold one of the wanted places each, in the order
    /// of the places. Sums stop at the largest integer instead of wrapping round, as those of count tables do.
    ///
    /// With no grouping column there is one group, or none if no row counts.
    ///
    /// # Errors
    /// A column that the table does not have.
    pub(super) fn sums(
        &self,
        only: &[(&str, Vec<u32>)],
        by: &[&str],
        sums: &[&str],
    ) -> Result<Sums, DeriveError> {
        let rows = self.rows(only)?;
        let by = by.iter().map(|name| self.codes(name)).collect::<Result<Vec<_>, _>>()?;
        let counts = sums.iter().map(|name| self.counts(name)).collect::<Result<Vec<_>, _>>()?;
        let (places, group_of) = groups(&by, &rows);
        let groups =
            if by.is_empty() { usize::from(!rows.is_empty()) } else { places.len() / by.len() };
        let figures = counts.len();
        let mut sums = vec![0_i64; groups * figures];
        for (figure, counts) in counts.iter().enumerate() {
            for (row, group) in rows.iter().zip(&group_of) {
                let sum = &mut sums[*group as usize * figures + figure];
                *sum = sum.saturating_add(counts[*row as usize]);
            }
        }
        Ok(Sums { width: by.len(), figures, places, sums })
    }

    /// Places of display of the wanted words; a plain number is its own place.
    pub fn places(&self, column: &str, wanted: &[String]) -> Vec<u32> {
        let Some(words) = self.words.get(column) else {
            return wanted.iter().filter_map(|word| word.parse().ok()).collect();
        };
        let named = words.iter().zip(0u32..).filter(|(word, _)| wanted.contains(word));
        named.map(|(_, place)| place).collect()
    }

    /// The rows that count, rising.
    fn rows(&self, only: &[(&str, Vec<u32>)]) -> Result<Vec<u32>, DeriveError> {
        let mut rows: Vec<u32> = (0..self.height as u32).collect();
        for (column, places) in only {
            let codes = self.codes(column)?;
            let mut is_wanted = vec![false; codes.count as usize];
            for place in places {
                if let Some(wanted) = is_wanted.get_mut(*place as usize) {
                    *wanted = true;
                }
            }
            rows.retain(|row| is_wanted[codes.of[*row as usize] as usize]);
        }
        Ok(rows)
    }

    fn codes(&self, name: &str) -> Result<&Codes, DeriveError> {
        self.codes.get(name).ok_or_else(|| lacking(name))
    }

    fn counts(&self, name: &str) -> Result<&[i64], DeriveError> {
        self.counts.get(name).map(Vec::as_slice).ok_or_else(|| lacking(name))
    }
}

fn lacking(column: &str) -> DeriveError {
    DeriveError::Frame(format!("no column {column}"))
}

impl Codes {
    fn of(codes: &[u32]) -> Codes {
        let most = codes.iter().copied().max().unwrap_or(0);
        Codes { of: codes.to_vec(), count: u64::from(most) + 1 }
    }
}

/// The places of every group in their order, column by column, and the group of every row.
fn groups(by: &[&Codes], rows: &[u32]) -> (Vec<u32>, Vec<u32>) {
    let possible = by.iter().try_fold(1_u128, |all, codes| all.checked_mul(codes.count.into()));
    match possible {
        Some(possible)
            if possible <= PLACES_A_ROW * rows.len() as u128
                && possible <= u128::from(u32::MAX) =>
        {
            numbered(by, rows, possible as usize)
        }
        Some(possible) if possible <= u128::from(u64::MAX) => {
            looked_up(by, rows, |row| mixed(by, row))
        }
        // What no number can hold is told apart by the places themselves.
        _ => looked_up(by, rows, |row| {
            by.iter().map(|codes| codes.of[row as usize]).collect::<Vec<u32>>()
        }),
    }
}

/// A row's places as one number, which rises in their order. The product of all counts must fit.
fn mixed(by: &[&Codes], row: u32) -> u64 {
    by.iter().fold(0, |number, codes| number * codes.count + u64::from(codes.of[row as usize]))
}

/// Where every group that is possible has a place.
fn numbered(by: &[&Codes], rows: &[u32], possible: usize) -> (Vec<u32>, Vec<u32>) {
    let mut group_of: Vec<u32> = rows.iter().map(|row| mixed(by, *row) as u32).collect();
    let mut first = vec![u32::MAX; possible];
    for (row, number) in rows.iter().zip(&group_of).rev() {
        first[*number as usize] = *row;
    }
    let mut places = Vec::new();
    for (group, first) in (0..).zip(first.iter_mut().filter(|row| **row != u32::MAX)) {
        places.extend(by.iter().map(|codes| codes.of[*first as usize]));
        *first = group;
    }
    group_of.iter_mut().for_each(|number| *number = first[*number as usize]);
    (places, group_of)
}

/// Where there are too many: groups by keys that are in the order of the places.
fn looked_up<K: Ord + Eq + std::hash::Hash>(
    by: &[&Codes],
    rows: &[u32],
    key: impl Fn(u32) -> K,
) -> (Vec<u32>, Vec<u32>) {
    let mut met: FxHashMap<K, u32> = FxHashMap::default();
    let mut first: Vec<u32> = Vec::new();
    let mut group_of: Vec<u32> = Vec::with_capacity(rows.len());
    for row in rows {
        let next = met.len() as u32;
        let group = *met.entry(key(*row)).or_insert(next);
        if group == next {
            first.push(*row);
        }
        group_of.push(group);
    }
    let mut order: Vec<(K, u32)> = met.into_iter().collect();
    order.sort_unstable();
    let mut places = Vec::with_capacity(order.len() * by.len());
    let mut place_of = vec![0; order.len()];
    for (place, (_, group)) in (0..).zip(&order) {
        place_of[*group as usize] = place;
        let row = first[*group as usize] as usize;
        places.extend(by.iter().map(|codes| codes.of[row]));
    }
    group_of.iter_mut().for_each(|group| *group = place_of[*group as usize]);
    (places, group_of)
}
