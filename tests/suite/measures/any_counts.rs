//! Laws of the whole review on count tables that no fleet need have: any integers, cells without counts,
//! shares merged in any order, other numbers for the same sites and families.

use motetrail::derive::counts::{CarrierCounts, CountTable, Counted, Dimension, Figures, Row as _};
use motetrail::derive::{Counts, Names, Worklist};
use motetrail::measures::{Leading, Review, Unit};

use super::changed::{Change, add, changed, every_table, reviewed, reviewed_as, with};
use crate::fuzz::draws::Draws;
use crate::printed::{all_columns, all_rows, own_numbers};
use crate::review::demo::demo;

/// Some of the cells, each count drawn by itself: none, one, few, or a million million.
struct AnyIntegers(Draws);

impl Change for AnyIntegers {
    fn of<T: Counted>(&mut self, table: &CountTable<T>) -> CountTable<T> {
        let mut other = CountTable::default();
        let cells = table.cells();
        let kept = 400.0 / cells.len().max(400) as f64;
        let draws = &mut self.0;
        let largest = [3, 100, 1_000_000_000_000][draws.below(3)];
        for (cell, _) in cells {
            if draws.share() < kept {
                let mut counts = T::Row::default().values();
                counts.as_mut().fill_with(|| {
                    let any = [0, 1, draws.below(largest as usize) as i64, largest];
                    any[draws.below(4)]
                });
                other.add(Some(cell), T::Row::of(counts));
            }
        }
        other
    }
}

/// Every cell as often as drawn: never, once, or up to a thousand million times. What is part of
/// something stays so.
struct AnyTimes(Draws);

impl Change for AnyTimes {
    fn of<T: Counted>(&mut self, table: &CountTable<T>) -> CountTable<T> {
        let draws = &mut self.0;
        let often = [1, 1000, 1_000_000_000][draws.below(3)];
        changed(table, |cell, mut counts| {
            let factor = [0, 1, often][draws.below(3)];
            counts.as_mut().iter_mut().for_each(|count| *count = count.saturating_mul(factor));
            (cell, counts)
        })
    }
}

/// Cells that exist in no row of the demo, without counts.
struct EmptyCells;

impl Change for EmptyCells {
    fn of<T: Counted>(&mut self, table: &CountTable<T>) -> CountTable<T> {
        let mut other = table.clone();
        for (mut cell, _) in table.coded() {
            cell.as_mut().iter_mut().for_each(|code| *code /= 2);
            add(&mut other, cell, T::Row::default().values());
        }
        other
    }
}

/// Codes of some dimensions turned round.
struct Renumbered {
    sites: u32,
    families: u32,
}

impl Renumbered {
    fn code(&self, dimension: Dimension, code: u32) -> u32 {
        match dimension {
            Dimension::Site if code > 0 => self.sites - code,
            Dimension::Family if code > 0 => self.families - code,
            _ => code,
        }
    }
}

impl Change for Renumbered {
    fn of<T: Counted>(&mut self, table: &CountTable<T>) -> CountTable<T> {
        let mut other = CountTable::default();
        for (mut cell, counts) in table.coded() {
            for (code, column) in cell.as_mut().iter_mut().zip(T::ABOUT.columns) {
                *code = self.code(column.dimension, *code);
            }
            add(&mut other, cell, counts);
        }
        other.add(None, table.off_table());
        other
    }
}

/// The words in the order of the turned codes.
fn turned(names: &Names) -> Names {
    let words: Vec<&String> = names.words()[1..].iter().rev().collect();
    Names::beginning_with(&words)
}

fn all(review: &Review) -> impl Iterator<Item = (&'static str, Leading<'_>)> {
    let tables = review.tables().into_iter();
    tables.flat_map(|table| table.leading().into_iter().map(|row| (table.name(), row)))
}

fn assert_finite(review: &Review) -> usize {
    let mut rows = 0;
    for (table, row) in all(review) {
        let numbers = [row.low, row.estimate, row.high];
        assert!(numbers.into_iter().flatten().all(f64::is_finite), "{table}: {row:?}");
        assert!(row.n.is_finite(), "{table}: {row:?}");
        rows += 1;
    }
    for table in review.tables() {
        assert!(own_numbers(table).into_iter().all(f64::is_finite), "{}", table.name());
    }
    rows
}

fn assert_ordered(review: &Review) {
    for (table, row) in all(review) {
        let numbers = [row.low, row.estimate, row.high];
        if let (Some(low), Some(high)) = (row.low, row.high) {
            assert!(low <= high, "{table}: {row:?}");
        }
        if row.unit == Unit::Share {
            let inside = numbers.into_iter().flatten().all(|x| (0.0..=1.0).contains(&x));
            assert!(inside, "{table}: {row:?}");
        }
    }
}

#[test]
fn any_integers_whatever_give_finite_numbers() {
    for seed in 0..8 {
        let mut change = AnyIntegers(Draws::new(seed));
        let review = reviewed(every_table(&demo().derived.counts, &mut change));
        assert!(assert_finite(&review) > 100, "seed {seed}");
    }
}

#[test]
fn any_multiples_of_cells_give_ordered_intervals_and_shares_within_one() {
    for seed in 0..6 {
        let mut change = AnyTimes(Draws::new(seed));
        let review = reviewed(every_table(&demo().derived.counts, &mut change));
        assert!(assert_finite(&review) > 100, "seed {seed}");
        assert_ordered(&review);
    }
}

#[test]
fn cells_without_counts_change_no_table() {
    let own = &demo().derived.counts;
    let other = every_table(own, &mut EmptyCells);
    assert_eq!(&other, own);
    assert_eq!(all_columns(&reviewed(other)), all_columns(&reviewed(own.clone())));
}

/// Sorted by what names them: the order of rows follows the settings. Without carriers, whose sums over
/// work orders are kept by the place of a cell, and whose end faces are no count table, as the
/// candidates of the worklist are none.
fn by_name(review: &Review) -> Vec<(String, Leading<'_>)> {
    let tables = review.tables().into_iter();
    let tables = tables.filter(|table| !["carriers", "worklist"].contains(&table.name()));
    let mut rows: Vec<(String, Leading)> = tables
        .flat_map(|table| all_rows(table).into_iter().map(|row| (table.name(), row)))
        .map(|(table, row)| {
            let (words, row) = (row.words(), row.row);
            let name = format!("{table} {} {:?} {} {words}", row.by, row.group, row.quantity);
            (name, row)
        })
        .collect();
    rows.sort_by(|a, b| a.0.cmp(&b.0));
    rows
}

#[test]
fn other_numbers_for_sites_and_families_change_no_estimate() {
    let own = &demo().derived;
    let mut glossary = own.glossary.clone();
    let (sites, families) = (glossary.site.0.len() as u32, glossary.family.0.len() as u32);
    glossary.site.0 = turned(&glossary.site.0);
    glossary.family.0 = turned(&glossary.family.0);
    // What purchases save by retiring carriers must not differ either, so there are none.
    let own = with!(own.counts, carriers = CarrierCounts::empty(0));
    let counts = every_table(&own, &mut Renumbered { sites, families });
    let (before, after) = (reviewed(own), reviewed_as(counts, glossary));
    let (before, after) = (by_name(&before), by_name(&after));
    let lacking = |rows: &[(String, Leading)], other: &[(String, Leading)]| {
        let lacks = |(name, _): &&(String, Leading)| !other.iter().any(|(known, _)| known == name);
        rows.iter().find(lacks).map(|(name, _)| name.clone())
    };
    assert_eq!((lacking(&before, &after), lacking(&after, &before)), (None, None));
    assert_eq!(before.len(), after.len());
    for ((name, before), (other, after)) in before.iter().zip(&after) {
        assert_eq!(name, other);
        assert_eq!((before.events, &before.flags), (after.events, &after.flags), "{name}");
        let ends = [(before.low, after.low), (before.high, after.high)];
        let middle = [(Some(before.n), Some(after.n)), (before.estimate, after.estimate)];
        let pairs = middle.into_iter().chain(ends);
        // What is drawn hangs on names: what is left is how sums in another order are rounded, and where a root is found.
        for (x, y) in pairs {
            let near = match (x, y) {
                (Some(x), Some(y)) => (x - y).abs() <= 1e-6 * (1.0 + x.abs()),
                (None, None) => true,
                _ => false,
            };
            assert!(near, "{name}: {before:?} {after:?}");
        }
    }
}

/// Every cell thrown to one of three shares, and the shares put together the other way round.
struct Share {
    wanted: usize,
}

impl Change for Share {
    fn of<T: Counted>(&mut self, table: &CountTable<T>) -> CountTable<T> {
        let mut other = CountTable::default();
        let mut draws = Draws::new(T::ABOUT.columns.len() as u64);
        for (cell, counts) in table.cells() {
            // Each count is cut in three: what is merged are parts of cells, not only whole ones.
            let mut parts: [Figures<T>; 3] = [counts.values(); 3];
            for (at, count) in counts.values().as_ref().iter().enumerate() {
                let first = draws.below(count.unsigned_abs() as usize + 1) as i64 * count.signum();
                let cut = [first, count - first, 0];
                parts.iter_mut().zip(cut).for_each(|(part, cut)| part.as_mut()[at] = cut);
            }
            let place = (self.wanted + draws.below(3)) % 3;
            other.add(Some(cell), T::Row::of(parts[place]));
        }
        if self.wanted == 0 {
            other.add(None, table.off_table());
        }
        other
    }
}

/// Candidates that an empty list would keep of a cell: as many as the demo's settings say is not needed, since
/// one share has them all.
const MOST_LISTED: usize = 1000;

#[test]
fn shares_merged_in_any_order_are_the_whole() {
    let whole = &demo().derived.counts;
    let share = |wanted| {
        let mut share = every_table(whole, &mut Share { wanted });
        if wanted > 0 {
            (share.conflicts, share.first_pass.findings_missing) = (0, 0);
            // Lists of things seen are no sums: the first share has them whole.
            share.worklist = Worklist::keeping(MOST_LISTED);
            let carriers = &mut share.carriers;
            (carriers.faces, carriers.time_lines) = (Vec::new(), Vec::new());
            (carriers.faces_seen, carriers.faces_enough) = (0, 0);
        }
        share
    };
    for order in [[0, 1, 2], [2, 1, 0], [1, 2, 0]] {
        let merged = order.map(share).into_iter().fold(Counts::empty(MOST_LISTED), Counts::merge);
        assert!(merged.check().is_ok());
        assert_eq!(&merged, whole);
    }
}
