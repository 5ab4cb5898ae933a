//! What the columns of a table hold, recognised by the kinds of their cells.

use super::kind::Kind;
use super::seen::{KEPT, Seen};

/// Share of a column's cells that make its kind.
const MOST: f64 = 0.8;
/// Rows that are looked at.
const ROWS: usize = 300;

/// The kind of each of the first columns; none where the cells are of several.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Columns {
    kinds: [Option<Kind>; KEPT],
    pub width: usize,
}

impl Columns {
    /// Of rows; those of another width do not count.
    pub fn of<'a>(rows: impl Iterator<Item = &'a Seen>, width: usize) -> Self {
        let mut counts = [[0_u32; Kind::ALL.len()]; KEPT];
        for row in rows.filter(|row| row.width == width).take(ROWS) {
            for (column, counts) in counts.iter_mut().enumerate().take(width) {
                counts[row.kind(column).broad() as usize] += 1;
            }
        }
        let most = |counts: &[u32; Kind::ALL.len()]| {
            let given =
                Kind::ALL.into_iter().filter(|kind| !matches!(kind, Kind::Empty | Kind::Missing));
            let total: u32 = given.clone().map(|kind| counts[kind as usize]).sum();
            let best = given.max_by_key(|kind| counts[*kind as usize])?;
            let enough = f64::from(counts[best as usize]) >= MOST * f64::from(total);
            (total > 0 && enough).then_some(best)
        };
        Self { kinds: std::array::from_fn(|column| most(&counts[column])), width }
    }

    /// The kind of a column whose cells look like nothing else.
    pub fn hard(&self, column: usize) -> Option<Kind> {
        self.kinds.get(column).copied().flatten().filter(|kind| *kind != Kind::Word)
    }

    /// Columns whose cells look like nothing else.
    pub fn hard_ones(&self) -> usize {
        (0..KEPT).filter(|column| self.hard(*column).is_some()).count()
    }

    /// Cells of hard columns that look like their column, that look like names instead, and that
    /// look like their column and hardly ever are names.
    pub fn votes(&self, row: &Seen) -> Votes {
        let mut votes = Votes::default();
        for column in 0..KEPT.min(row.width) {
            let Some(hard) = self.hard(column) else { continue };
            match row.kind(column).broad() {
                Kind::Empty | Kind::Missing => {}
                kind if kind == hard => {
                    votes.alike += 1;
                    votes.strict += usize::from(kind.is_strict());
                }
                Kind::Word => votes.names += 1,
                Kind::Code => votes.names += usize::from(hard.is_strict()),
                _ => votes.others += 1,
            }
        }
        votes
    }

    /// Whether a row of another width could be one of this table's all the same: the cells before
    /// some place look like the columns from the left, those behind it like those from the right.
    pub fn fit_shifted(&self, row: &Seen) -> bool {
        let alike = |column: usize, cell: Option<usize>| {
            let (Some(hard), Some(cell)) = (self.hard(column), cell) else { return (0, 0) };
            match row.kind(cell).broad() {
                Kind::Empty | Kind::Missing => (0, 0),
                kind => (usize::from(kind == hard), 1),
            }
        };
        let shifted = |column: usize| (column + row.width).checked_sub(self.width);
        let columns = KEPT.min(self.width);
        let score = |place: usize| {
            let left = (0..place).map(|column| alike(column, Some(column)));
            let right = (place..columns).map(|column| alike(column, shifted(column)));
            left.chain(right).fold((0, 0), |sum, one| (sum.0 + one.0, sum.1 + one.1))
        };
        (0..=columns).map(score).any(|(alike, all)| 2 * alike >= all)
    }
}

/// How the cells of a row stand to the columns.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Votes {
    pub alike: usize,
    pub strict: usize,
    pub names: usize,
    pub others: usize,
}
