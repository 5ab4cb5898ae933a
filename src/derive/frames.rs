//! The one file that names the frame engine: groups count tables into the cells of a measure.

use polars::prelude::{Column, DataFrame, GroupsIndicator, PlSmallStr, PolarsError};
use rustc_hash::FxHashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::DeriveError;
use super::counts::{AnyTable, Columns, Narrow, TableAbout, laid_out};
use super::grouping::{Asked, Codes, Groups, PLACES_A_ROW, possible};
use super::scan::names::Glossary;
use crate::calendar::Calendar;

impl From<PolarsError> for DeriveError {
    fn from(error: PolarsError) -> Self {
        DeriveError::Frame(error.to_string())
    }
}

/// Rows from which on the frame engine finds the groups, on all threads.
const BIG: usize = 1 << 20;

/// One count table, ready to be grouped.
pub struct Frame {
    height: usize,
    codes: FxHashMap<&'static str, Arc<Codes>>,
    counts: FxHashMap<&'static str, Narrow>,
    words: FxHashMap<&'static str, Vec<String>>,
    /// Two columns as one, where one number could not hold a row's places otherwise.
    pairs: Mutex<FxHashMap<[String; 2], Arc<Codes>>>,
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
    /// Of a count table.
    pub fn of(table: &dyn AnyTable, glossary: &Glossary, calendar: &Calendar) -> Frame {
        let (words, columns) = laid_out(table, glossary, calendar);
        let mut frame = Frame::of_columns(table.about(), columns);
        let columns = table.about().columns.iter().zip(words);
        frame.words = columns.filter_map(|(column, words)| Some((column.name, words?))).collect();
        frame
    }

    /// Of the columns of a table in which every code is its own word.
    pub fn of_columns(about: &TableAbout, Columns { codes, counts }: Columns) -> Frame {
        let height = codes.first().map_or(0, Narrow::len);
        let columns = about.columns.iter().zip(codes);
        let figures = about.figures.iter().zip(counts);
        Frame {
            height,
            codes: columns.map(|(own, codes)| (own.name, Arc::new(Codes::of(codes)))).collect(),
            counts: figures.map(|(own, counts)| (own.name, counts)).collect(),
            words: FxHashMap::default(),
            pairs: Mutex::default(),
        }
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
        let narrow = self.in_one_number(by)?;
        let by = by.iter().map(|name| self.codes(name)).collect::<Result<Vec<_>, _>>()?;
        let counts = sums.iter().map(|name| self.counts(name)).collect::<Result<Vec<_>, _>>()?;
        let (places, group_of) = groups(&Asked { by: &by, narrow: &narrow, rows: &rows })?;
        let groups =
            if by.is_empty() { usize::from(!rows.is_empty()) } else { places.len() / by.len() };
        let figures = counts.len();
        let mut sums = vec![0_i64; groups * figures];
        for (figure, counts) in counts.iter().enumerate() {
            counts.each(&rows, |at, count| {
                let sum = &mut sums[group_of[at] as usize * figures + figure];
                *sum = sum.saturating_add(count);
            });
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
            rows.retain(|row| is_wanted[codes.at(*row) as usize]);
        }
        Ok(rows)
    }

    /// The columns, the last two as one where a row's places do not fit into one number otherwise: of clusters these are
    /// the halves of a name, of which there are few beside what they could be.
    fn in_one_number(&self, by: &[&str]) -> Result<Vec<Arc<Codes>>, DeriveError> {
        let mut found =
            by.iter().map(|name| self.codes(name).cloned()).collect::<Result<Vec<_>, _>>()?;
        let [.., high, low] = by else { return Ok(found) };
        if possible(&found).is_some() {
            return Ok(found);
        }
        let names = [*high, *low].map(str::to_owned);
        let mut pairs = self.pairs.lock().unwrap_or_else(PoisonError::into_inner);
        let pair = pairs.entry(names).or_insert_with(|| {
            let [high, low] = [found.len() - 2, found.len() - 1].map(|at| &found[at]);
            Arc::new(Codes::of_both(high, low))
        });
        found.truncate(found.len() - 2);
        found.push(Arc::clone(pair));
        Ok(found)
    }

    fn codes(&self, name: &str) -> Result<&Arc<Codes>, DeriveError> {
        self.codes.get(name).ok_or_else(|| lacking(name))
    }

    fn counts(&self, name: &str) -> Result<&Narrow, DeriveError> {
        self.counts.get(name).ok_or_else(|| lacking(name))
    }
}

fn lacking(column: &str) -> DeriveError {
    DeriveError::Frame(format!("no column {column}"))
}

fn groups(asked: &Asked) -> Result<Groups, DeriveError> {
    let most = (PLACES_A_ROW * asked.rows.len() as u64).min(u32::MAX.into());
    match possible(asked.narrow) {
        Some(possible) if possible <= most => Ok(asked.numbered(possible as usize)),
        Some(possible) if asked.rows.len() < BIG => Ok(asked.ordered(possible)),
        possible => looked_up(asked, possible.is_some()),
    }
}

/// In big tables the frame engine finds the groups there are: by one number a row where that can hold its places, else by
/// the columns.
fn looked_up(asked: &Asked, is_one_number: bool) -> Result<Groups, DeriveError> {
    let Asked { by, rows, .. } = *asked;
    let columns: Vec<Column> = if is_one_number {
        vec![Column::new("0".into(), asked.numbers())]
    } else {
        let column = |(at, codes): (usize, &&Arc<Codes>)| {
            let places: Vec<u32> = rows.iter().map(|row| codes.at(*row)).collect();
            Column::new(at.to_string().into(), places)
        };
        by.iter().enumerate().map(column).collect()
    };
    let names: Vec<PlSmallStr> = columns.iter().map(|column| column.name().clone()).collect();
    let frame = DataFrame::new(rows.len(), columns)?;
    let found = frame.group_by(names)?;
    let mut groups: Vec<(Vec<u32>, GroupsIndicator)> = found
        .get_groups()
        .iter()
        .map(|group| {
            let row = rows[group.first() as usize];
            (by.iter().map(|codes| codes.at(row)).collect(), group)
        })
        .collect();
    groups.sort_unstable_by(|a, b| a.0.cmp(&b.0));
    let mut group_of = vec![0; rows.len()];
    for (place, (_, group)) in (0_u32..).zip(&groups) {
        match group {
            GroupsIndicator::Idx((_, members)) => {
                members.iter().for_each(|member| group_of[*member as usize] = place);
            }
            GroupsIndicator::Slice([first, count]) => {
                let members = *first as usize..(first + count) as usize;
                group_of[members].fill(place);
            }
        }
    }
    Ok((groups.into_iter().flat_map(|(places, _)| places).collect(), group_of))
}
