//! Counting by shares: tables that are closed now and then, tables that grew too large, and a site that has too
//! many rows to be counted at once.

use std::collections::BTreeMap;

use motetrail::derive::counts::{
    CountTable, Counted, Has, Key as _, SecondLookCounts, Site, second_looks,
};
use proptest::collection::vec;
use proptest::prelude::*;

use super::fleet::{Fleet, fleet};
use super::seen::Seen;

/// Any declared table will do: what holds for one holds for all.
type Table = CountTable<SecondLookCounts>;

fn key(codes: [u32; 3]) -> second_looks::Key {
    second_looks::Key::of(codes).unwrap()
}

fn add(table: &mut Table, codes: [u32; 3], [looks, failing]: [i64; 2]) {
    table.add(Some(key(codes)), second_looks::Row { looks, failing });
}

/// Codes and figures of every width.
fn code() -> impl Strategy<Value = u32> {
    prop_oneof![0u32..3, 250u32..260, Just(u32::MAX - 1), Just(u32::MAX)]
}

fn figure() -> impl Strategy<Value = i64> {
    prop_oneof![-2i64..3, 100i64..70_000, Just(1i64 << 40), Just(-(1i64 << 60)), Just(1i64 << 60)]
}

proptest! {
    #[test]
    fn closed_tables_hold_what_was_added(
        rows in vec(([code(), code(), code()], [figure(), figure()], 0u8..4), 0..80),
    ) {
        let (mut closed, mut other) = (Table::default(), Table::default());
        let mut sums: BTreeMap<[u32; 3], [i64; 2]> = BTreeMap::new();
        for (codes, figures, then) in &rows {
            let table = if *then == 0 { &mut other } else { &mut closed };
            add(table, *codes, *figures);
            if *then == 1 {
                table.close();
            }
            if *then == 2 {
                table.settle();
            }
            let sum = sums.entry(*codes).or_default();
            sum.iter_mut().zip(figures).for_each(|(sum, more)| *sum = sum.saturating_add(*more));
        }
        let mut merged = closed.merge(other);
        // Sums that saturate depend on their order: no law holds for them.
        let small = rows.iter().all(|(_, figures, _)| figures.iter().all(|f| f.abs() <= 1 << 40));
        prop_assume!(small || rows.len() < 8);
        sums.retain(|_, sum| *sum != [0, 0]);
        let expected: Vec<_> = sums.into_iter().collect();
        prop_assert_eq!(merged.coded(), expected.clone());
        merged.settle();
        prop_assert_eq!(merged.len(), expected.len());
        prop_assert_eq!(merged.coded(), expected);
        prop_assert!(merged.check().is_ok());
    }
}

#[test]
fn a_table_beyond_its_limit_is_given_up_for_good() {
    let (mut table, mut small) = (Table::default(), Table::default());
    for number in 0..100 {
        add(&mut table, [number, 0, 0], [1, 0]);
        add(&mut table, [number, 0, 0], [1, 0]);
        if number % 10 == 9 {
            table.close();
        }
    }
    table.give_up_beyond(100);
    assert_eq!((table.len(), table.is_given_up()), (100, false));
    table.give_up_beyond(50);
    assert!(table.is_empty() && table.is_given_up());
    add(&mut table, [7, 7, 7], [5, 0]);
    add(&mut small, [8, 8, 8], [3, 0]);
    let table = small.merge(table);
    let all = second_looks::Row { looks: 208, failing: 0 };
    assert_eq!((table.len(), table.off_table(), table.total()), (0, all, all));
    assert!(table.is_given_up() && table.check().is_ok());
}

/// Looks, cleanings, matings and tickets, 50,000 rows in all over eighty days; end faces stay in one of ten groups.
/// `site` names the site of a group.
fn rows(site: impl Fn(usize) -> String) -> Fleet {
    let mut looks = "at,site,end_face,outcome,finding".to_owned();
    let mut wipes = "at,site,end_face".to_owned();
    let mut mated = "record,at,site,end_face_a,end_face_b".to_owned();
    let mut tickets = "opened,site,mating,cause".to_owned();
    let written = |minute: usize| {
        let (day, month) = (minute / 1440 % 28 + 1, minute / 1440 / 28 + 3);
        format!("2026-{month:02}-{day:02} {:02}:{:02}", minute / 60 % 24, minute % 60)
    };
    for number in 0..30_000 {
        let (at, next) = (written(4 * number), written(4 * number + 1));
        let (face, site) = (number % 990, site(number % 10));
        let is_dirty = number % 7 == 0;
        let said = if is_dirty { "fail,contamination" } else { "pass," };
        looks += &format!("\n{at},{site},p{face},{said}");
        if is_dirty {
            wipes += &format!("\n{at}:30,{site},p{face}");
            looks += &format!("\n{next},{site},p{face},pass,");
        }
        if number % 2 == 0 && number > 2_000 {
            let other = (face + 10) % 990;
            mated += &format!("\nM{number},{next}:30,{site},p{face},p{other}");
            if number % 60 == 0 {
                let opened = written(4 * number + 1440);
                tickets += &format!("\n{opened},{site},M{number},contamination");
            }
        }
    }
    fleet().looks(&looks).cleanings(&wipes).matings(&mated).faults(&tickets)
}

/// What a table counts, whatever the site.
fn anywhere<T: Counted + Has<Site>>(table: &CountTable<T>) -> BTreeMap<Vec<u32>, Vec<i64>> {
    let mut sums: BTreeMap<Vec<u32>, Vec<i64>> = BTreeMap::new();
    for (codes, figures) in table.coded() {
        let mut codes = codes.as_ref().to_vec();
        codes[T::AT] = 0;
        let figures = figures.as_ref();
        let sum = sums.entry(codes).or_insert_with(|| vec![0; figures.len()]);
        sum.iter_mut().zip(figures).for_each(|(sum, more)| *sum += more);
    }
    sums
}

#[test]
fn a_site_that_is_counted_in_parts_counts_what_ten_small_ones_do() {
    let one: Seen = rows(|_| "Works".to_owned()).derive();
    let ten: Seen = rows(|group| format!("S{group}")).derive();
    let (one, ten) = (&one.derived.counts, &ten.derived.counts);
    let told = one.followed.variants.total();
    assert!(told.faults > 100 && told.started > 10_000, "{told:?}");
    macro_rules! alike {
        ($($($part:ident).+;)+) => {$({
            let (one, ten) = (&one.$($part).+, &ten.$($part).+);
            assert!(!one.is_empty() && one.len() < ten.len(), stringify!($($part).+));
            assert_eq!(one.total(), ten.total(), stringify!($($part).+));
            assert_eq!(anywhere(one), anywhere(ten), stringify!($($part).+));
        })+};
    }
    alike! {
        first_pass.visits;
        first_pass.site_days;
        first_pass.first_looks;
        cleaning.cycles;
        cleaning.cycle_trials;
        cleaning.cleanings;
        coverage.matings;
        coverage.mating_clusters;
        followed.follow_up;
        followed.site_weeks;
        followed.variants;
        rates.in_force;
        rates.force_weeks;
        rates.follow_weeks;
        prices.week_prices;
        recording.looked_at;
        entry.passages;
        entry.weeks;
    }
}
