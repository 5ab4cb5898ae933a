//! How a declared count table is read: the groups whose sums are wanted, the rows that count, and what
//! comes back. Columns and words are types, so that one a table lacks does not compile.

use std::marker::PhantomData;

use super::DeriveError;
use super::counts::{Column, Counted, Fixed, Has, Listed, QuarterNo, Row as _, Site, WeekNo};
use super::frames::{Frame, Sums as Found};

/// Most columns that a table is grouped by at once.
const MOST: usize = 9;

/// A grouping of the table `T`: its columns in order. None is the whole fleet.
///
/// Written `by!(Stage, Family)`. Shared by several tables it is written in a function that asks for the
/// columns: `fn places<T: Has<Site> + Has<Stage>>() -> [ByColumns<T>; 2]`.
pub struct ByColumns<T> {
    places: [u8; MOST],
    count: usize,
    table: PhantomData<fn() -> T>,
}

impl<T> Clone for ByColumns<T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for ByColumns<T> {}

impl<T: Counted> ByColumns<T> {
    /// One group: the whole fleet.
    pub const fn fleet() -> ByColumns<T> {
        ByColumns { places: [0; MOST], count: 0, table: PhantomData }
    }

    /// The same within the values of one more column. More columns than [`MOST`] do not compile where
    /// the grouping is a constant.
    pub const fn and<C: Column>(mut self) -> ByColumns<T>
    where
        T: Has<C>,
    {
        self.places[self.count] = T::AT as u8;
        self.count += 1;
        self
    }

    /// Whether it has no columns.
    pub fn is_fleet(&self) -> bool {
        self.count == 0
    }

    /// Names of its columns.
    pub fn columns(&self) -> Vec<&'static str> {
        let places = self.places[..self.count].iter();
        places.map(|place| T::ABOUT.columns[usize::from(*place)].name).collect()
    }

    /// The same grouping of a table with the same cells.
    pub fn like<U: Counted<Key = T::Key>>(&self) -> ByColumns<U> {
        ByColumns { places: self.places, count: self.count, table: PhantomData }
    }

    /// Its columns, then those of another that it does not have.
    fn within(&self, other: &ByColumns<T>) -> Vec<&'static str> {
        let mut columns = self.columns();
        for column in other.columns() {
            if !columns.contains(&column) {
                columns.push(column);
            }
        }
        columns
    }
}

/// A grouping by columns: `by!()` is the whole fleet, `by!(Stage, Family)` has a group for every stage
/// and family that was counted.
#[macro_export]
macro_rules! by {
    ($($column:ty),* $(,)?) => { $crate::derive::ByColumns::fleet()$(.and::<$column>())* };
}

/// Which rows of the table `T` count: those whose columns hold one of the wanted values each.
pub struct Rows<T> {
    wanted: Vec<(&'static str, Wanted)>,
    table: PhantomData<fn() -> T>,
}

#[derive(Clone, Debug)]
enum Wanted {
    Codes(Vec<u32>),
    Words(Vec<String>),
}

impl<T> Clone for Rows<T> {
    fn clone(&self) -> Self {
        Rows { wanted: self.wanted.clone(), table: PhantomData }
    }
}

impl<T: Counted> Rows<T> {
    /// Every row.
    pub fn all() -> Rows<T> {
        Rows { wanted: Vec::new(), table: PhantomData }
    }

    /// Of these, rows that have one of the values.
    pub fn with<C: Fixed>(mut self, values: impl IntoIterator<Item = C>) -> Rows<T>
    where
        T: Has<C>,
    {
        let codes = values.into_iter().map(Column::code).collect();
        self.wanted.push((T::ABOUT.columns[T::AT].name, Wanted::Codes(codes)));
        self
    }

    /// Of these, rows that have one of a fleet's own words.
    pub fn named<C: Listed>(mut self, words: impl IntoIterator<Item: Into<String>>) -> Rows<T>
    where
        T: Has<C>,
    {
        let words = words.into_iter().map(Into::into).collect();
        self.wanted.push((T::ABOUT.columns[T::AT].name, Wanted::Words(words)));
        self
    }

    /// The same rows of a table with the same cells.
    pub fn like<U: Counted<Key = T::Key>>(&self) -> Rows<U> {
        Rows { wanted: self.wanted.clone(), table: PhantomData }
    }

    /// Columns and the places of display that they must hold.
    fn places(&self, frame: &Frame) -> Vec<(&'static str, Vec<u32>)> {
        let places = |column: &str, wanted: &Wanted| match wanted {
            Wanted::Codes(codes) => codes.clone(),
            Wanted::Words(words) => frame.places(column, words),
        };
        self.wanted.iter().map(|(column, wanted)| (*column, places(column, wanted))).collect()
    }
}

/// What was counted in one group: its words and their places in the order of display, column by column of
/// the grouping, and the sums of all figures.
pub struct Group<T: Counted> {
    /// Column by column of the grouping.
    pub words: Vec<String>,
    /// Column by column of the grouping: places in the order of display.
    pub places: Vec<u32>,
    /// Sums of all figures.
    pub counts: T::Row,
}

/// The cells of one group along one more column, in its order.
pub struct Along<T: Counted, C> {
    /// Column by column of the grouping.
    pub words: Vec<String>,
    /// Column by column of the grouping: places in the order of display.
    pub places: Vec<u32>,
    /// Values that have counts; none is there twice.
    pub cells: Vec<(C, T::Row)>,
}

impl<T: Counted, C> Along<T, C> {
    /// The sum over the column.
    pub fn total(&self) -> T::Row {
        let mut total = T::Row::default();
        for (_, row) in &self.cells {
            total.add(row);
        }
        total
    }
}

/// The clusters of one group, each with its sums.
pub struct Clusters<T: Counted> {
    /// Column by column of the grouping.
    pub words: Vec<String>,
    /// Column by column of the grouping: places in the order of display.
    pub places: Vec<u32>,
    /// Sums of all figures, cluster by cluster.
    pub clusters: Vec<T::Row>,
}

impl<T: Counted> Clusters<T> {
    /// The same clusters of a table with the same counts.
    pub fn like<U: Counted<Row = T::Row>>(self) -> Clusters<U> {
        let Clusters { words, places, clusters } = self;
        Clusters { words, places, clusters }
    }
}

/// The places of a group in the order of display, column by column, and its sums.
type Sums<'s, T> = (&'s [u32], <T as Counted>::Row);

/// A frame of the table `T`.
pub struct TableFrame<'a, T> {
    frame: &'a Frame,
    table: PhantomData<fn() -> T>,
}

impl<'a, T: Counted> TableFrame<'a, T> {
    /// Of the frame of this very table.
    pub fn of(frame: &'a Frame) -> TableFrame<'a, T> {
        TableFrame { frame, table: PhantomData }
    }

    /// The groups that have counts, in the order of display.
    ///
    /// # Errors
    /// A table that cannot be grouped: a fault of the program.
    pub fn groups(&self, rows: &Rows<T>, by: &ByColumns<T>) -> Result<Vec<Group<T>>, DeriveError> {
        let group = |(places, counts): Sums<T>| Group {
            words: self.words(by, places),
            places: places.to_vec(),
            counts,
        };
        let sums = self.sums(rows, &by.columns())?;
        Ok(rows_of::<T>(&sums).map(group).collect())
    }

    /// The same along one more column, which the grouping must not have.
    ///
    /// # Errors
    /// A table that cannot be grouped: a fault of the program.
    pub fn along<C: Fixed>(
        &self,
        rows: &Rows<T>,
        by: &ByColumns<T>,
    ) -> Result<Vec<Along<T, C>>, DeriveError>
    where
        T: Has<C>,
    {
        let columns = by.within(&ByColumns::fleet().and::<C>());
        let sums = self.sums(rows, &columns)?;
        let mut groups: Vec<Along<T, C>> = Vec::new();
        for (places, row) in rows_of::<T>(&sums) {
            let (own, rest) = places.split_at(by.count);
            if groups.last().is_none_or(|group| group.places != own) {
                let words = self.words(by, own);
                groups.push(Along { words, places: own.to_vec(), cells: Vec::new() });
            }
            let value = rest.last().or(own.last()).and_then(|place| C::of(*place));
            if let Some((group, value)) = groups.last_mut().zip(value) {
                group.cells.push((value, row));
            }
        }
        Ok(groups)
    }

    /// The clusters of every group: rows that are alike in the columns of `within`, too.
    ///
    /// # Errors
    /// A table that cannot be grouped: a fault of the program.
    pub fn clusters(
        &self,
        rows: &Rows<T>,
        by: &ByColumns<T>,
        within: &ByColumns<T>,
    ) -> Result<Vec<Clusters<T>>, DeriveError> {
        let sums = self.sums(rows, &by.within(within))?;
        let mut groups: Vec<Clusters<T>> = Vec::new();
        for (places, row) in rows_of::<T>(&sums) {
            let own = &places[..by.count];
            if groups.last().is_none_or(|group| group.places != own) {
                let words = self.words(by, own);
                groups.push(Clusters { words, places: own.to_vec(), clusters: Vec::new() });
            }
            if let Some(group) = groups.last_mut() {
                group.clusters.push(row);
            }
        }
        Ok(groups)
    }

    /// The weeks of every site and quarter as clusters of every group, put together to blocks: neighbouring weeks of a site
    /// and quarter are of one where `block` is the same.
    ///
    /// # Errors
    /// A table that cannot be grouped: a fault of the program.
    pub fn blocks(
        &self,
        rows: &Rows<T>,
        by: &ByColumns<T>,
        block: impl Fn(WeekNo) -> u32,
    ) -> Result<Vec<Clusters<T>>, DeriveError>
    where
        T: Has<Site> + Has<QuarterNo> + Has<WeekNo>,
    {
        let within = ByColumns::fleet().and::<Site>().and::<QuarterNo>().and::<WeekNo>();
        let sums = self.sums(rows, &by.within(&within))?;
        let sums: Vec<Sums<T>> = rows_of::<T>(&sums).collect();
        let groups = sums.chunk_by(|a, b| a.0[..by.count] == b.0[..by.count]);
        let are_alike = |a: &Sums<T>, b: &Sums<T>| match (a.0.split_last(), b.0.split_last()) {
            (Some((a, of_a)), Some((b, of_b))) => {
                of_a == of_b && block(WeekNo(*a)) == block(WeekNo(*b))
            }
            _ => false,
        };
        let clusters = |cells: &[Sums<T>]| {
            let places = cells[0].0[..by.count].to_vec();
            let sum = |cells: &[Sums<T>]| {
                let mut sum = T::Row::default();
                cells.iter().for_each(|(_, row)| sum.add(row));
                sum
            };
            let clusters = cells.chunk_by(are_alike).map(sum).collect();
            Clusters { words: self.words(by, &places), places, clusters }
        };
        Ok(groups.map(clusters).collect())
    }

    /// The words of a column in the order of display.
    pub fn words_of<C: Listed>(&self) -> &[String]
    where
        T: Has<C>,
    {
        self.frame.words(T::ABOUT.columns[T::AT].name)
    }

    fn words(&self, by: &ByColumns<T>, places: &[u32]) -> Vec<String> {
        let columns = by.columns().into_iter();
        columns.zip(places).map(|(column, place)| self.frame.word(column, *place)).collect()
    }

    fn sums(&self, rows: &Rows<T>, columns: &[&'static str]) -> Result<Found, DeriveError> {
        let figures: Vec<&str> = T::ABOUT.figures.iter().map(|figure| figure.name).collect();
        self.frame.sums(&rows.places(self.frame), columns, &figures)
    }
}

/// The groups of a frame with their sums as the table's rows.
fn rows_of<T: Counted>(found: &Found) -> impl Iterator<Item = Sums<'_, T>> {
    found.groups().map(|(places, sums)| {
        let mut values = T::Row::default().values();
        values.as_mut().copy_from_slice(sums);
        (places, T::Row::of(values))
    })
}
