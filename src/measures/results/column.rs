//! A column: what it is called, what its values are, how they are kept. The Rust type of a value decides how every file
//! keeps it, so that no file's types hang on what a quarter happened to hold.

use super::unit::Unit;
use super::words::{Described, Word};

/// Minor units of the fleet's currency.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Money(pub i64);

impl Money {
    /// Minor units in a major one: the settings keep money in hundredths.
    pub const MINOR: f64 = 100.0;

    /// Of an amount in minor units, to the nearest whole one.
    pub fn rounded(amount: f64) -> Money {
        Money(amount.round() as i64)
    }
}

/// How a column's values are kept in files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kept {
    /// As UTF-8.
    Text,
    /// 64 bits, signed.
    Integer,
    /// 64 bits, written with nine significant digits.
    Real,
}

impl Kept {
    /// The word in the dictionary.
    pub fn word(self) -> &'static str {
        match self {
            Kept::Text => "text",
            Kept::Integer => "integer",
            Kept::Real => "real",
        }
    }
}

/// A column as it is declared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ColumnSpec {
    /// As it heads the column in files.
    pub name: &'static str,
    /// One sentence.
    pub doc: &'static str,
    /// Unit of its values.
    pub unit: Unit,
    /// How files keep them.
    pub kept: Kept,
    /// Whether a row may say nothing here.
    pub may_be_empty: bool,
    /// The words it can hold, where the program knows them all.
    pub words: &'static [Described],
}

/// The cells of one column, one a row.
#[derive(Clone, Debug, PartialEq)]
pub enum Cells {
    /// Words and texts.
    Text(Vec<Option<String>>),
    /// Counts, minor units of money, numbers of things.
    Integer(Vec<Option<i64>>),
    /// As the measure gave them; what is not finite becomes an empty cell of a file.
    Real(Vec<Option<f64>>),
}

impl Cells {
    /// Number of cells.
    pub fn len(&self) -> usize {
        match self {
            Cells::Text(cells) => cells.len(),
            Cells::Integer(cells) => cells.len(),
            Cells::Real(cells) => cells.len(),
        }
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// A column with its cells.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// What it is.
    pub spec: ColumnSpec,
    /// Its cells, one a row of the table.
    pub cells: Cells,
}

/// What cells are made of: text, whole numbers, reals.
pub trait Cell: Sized {
    /// How files keep them.
    const KEPT: Kept;

    /// A column of them.
    fn cells(cells: Vec<Option<Self>>) -> Cells;
}

impl Cell for String {
    const KEPT: Kept = Kept::Text;

    fn cells(cells: Vec<Option<String>>) -> Cells {
        Cells::Text(cells)
    }
}

impl Cell for i64 {
    const KEPT: Kept = Kept::Integer;

    fn cells(cells: Vec<Option<i64>>) -> Cells {
        Cells::Integer(cells)
    }
}

impl Cell for f64 {
    const KEPT: Kept = Kept::Real;

    fn cells(cells: Vec<Option<f64>>) -> Cells {
        Cells::Real(cells)
    }
}

/// A Rust type that a declared column can have.
pub trait Held {
    /// What its cells are made of.
    type Cell: Cell;
    /// Whether a row may leave it out.
    const MAY_BE_EMPTY: bool = false;
    /// The unit, where the type says it.
    const UNIT: Option<Unit> = None;
    /// The words, where the type has a closed list of them.
    const WORDS: &'static [Described] = &[];

    /// The cell of one value; none where there is none.
    fn cell(&self) -> Option<Self::Cell>;
}

impl Held for f64 {
    type Cell = f64;

    fn cell(&self) -> Option<f64> {
        Some(*self)
    }
}

impl Held for i64 {
    type Cell = i64;

    fn cell(&self) -> Option<i64> {
        Some(*self)
    }
}

impl Held for u64 {
    type Cell = i64;

    fn cell(&self) -> Option<i64> {
        Some(i64::try_from(*self).unwrap_or(i64::MAX))
    }
}

impl Held for u32 {
    type Cell = i64;

    fn cell(&self) -> Option<i64> {
        Some((*self).into())
    }
}

impl Held for Money {
    type Cell = i64;
    const UNIT: Option<Unit> = Some(Unit::Money);

    fn cell(&self) -> Option<i64> {
        Some(self.0)
    }
}

impl Held for bool {
    type Cell = String;
    const UNIT: Option<Unit> = Some(Unit::Word);
    const WORDS: &'static [Described] = &[
        Described { word: "no", doc: "It is not so." },
        Described { word: "yes", doc: "It is so." },
    ];

    fn cell(&self) -> Option<String> {
        Some(Self::WORDS[usize::from(*self)].word.to_owned())
    }
}

impl Held for String {
    type Cell = String;
    const UNIT: Option<Unit> = Some(Unit::Word);

    fn cell(&self) -> Option<String> {
        Some(self.clone())
    }
}

impl<T: Word> Held for T {
    type Cell = String;
    const UNIT: Option<Unit> = Some(Unit::Word);
    const WORDS: &'static [Described] = T::LIST;

    fn cell(&self) -> Option<String> {
        Some(T::LIST[self.place()].word.to_owned())
    }
}

impl<T: Held> Held for Option<T> {
    type Cell = T::Cell;
    const MAY_BE_EMPTY: bool = true;
    const UNIT: Option<Unit> = T::UNIT;
    const WORDS: &'static [Described] = T::WORDS;

    fn cell(&self) -> Option<T::Cell> {
        self.as_ref().and_then(T::cell)
    }
}

/// The declaration of a column whose values are of type `T`.
///
/// Does not compile where the unit does not suit the type, or where neither says it.
pub const fn column<T: Held>(
    name: &'static str,
    doc: &'static str,
    unit: Option<Unit>,
) -> ColumnSpec {
    let unit = match (unit, T::UNIT) {
        (None, Some(unit)) => unit,
        (Some(Unit::Time), Some(Unit::Word)) => Unit::Time,
        (Some(Unit::Money | Unit::Word | Unit::Time), None) => {
            panic!("money is of type Money, words and points in time of a list of words or String")
        }
        (Some(unit), None) => unit,
        (Some(_), Some(_)) => panic!("the type of this column says its unit"),
        (None, None) => {
            panic!("a column of numbers names its unit, as in `deff: Option<f64> [Ratio]`")
        }
    };
    let (kept, words) = (<T::Cell as Cell>::KEPT, T::WORDS);
    ColumnSpec { name, doc, unit, kept, may_be_empty: T::MAY_BE_EMPTY, words }
}

/// A struct whose fields are columns. Made by [`columns!`](super::columns).
pub trait Columns {
    /// The columns as declared, in order.
    const SPECS: &'static [ColumnSpec];

    /// Their cells, a list a column.
    fn cells(rows: &[&Self]) -> Vec<Cells>;

    /// The columns with their cells.
    fn columns(rows: &[&Self]) -> Vec<Column> {
        let cells = Self::cells(rows).into_iter();
        Self::SPECS.iter().zip(cells).map(|(spec, cells)| Column { spec: *spec, cells }).collect()
    }
}

/// The cells of a column, from what each row holds there.
pub fn cells<'a, T: Held + 'a>(values: impl Iterator<Item = &'a T>) -> Cells {
    T::Cell::cells(values.map(T::cell).collect())
}
