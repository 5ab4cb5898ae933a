//! Holds every comparison with an outside case to the digits that `tests/README.md` states for it.
//!
//! A comparison belongs to the case that its test read last, until it says that what follows is a second
//! way of its own. Digits of one number: significant ones, or
//! decimal places where those are more (numbers near zero), at most 15.

use super::reference::all_cases;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::OnceLock;

thread_local! {
    static READ_LAST: RefCell<Option<String>> = const { RefCell::new(None) };
}

/// Most digits that are told apart: a double has no more.
const MOST: i32 = 15;

fn page() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/README.md");
    std::fs::read_to_string(path).unwrap()
}

/// Cells of the table that follows a heading of the page, its head and rule left out.
fn table(page: &str, heading: &str) -> Vec<Vec<String>> {
    let after = page.split(heading).nth(1).unwrap_or_else(|| panic!("no heading {heading}"));
    let lines = after.lines().skip_while(|line| !line.starts_with('|'));
    let rows = lines.take_while(|line| line.starts_with('|')).skip(2);
    let cells =
        |line: &str| line.trim_matches('|').split('|').map(|c| c.trim().to_owned()).collect();
    rows.map(cells).collect()
}

/// Digits by case, as the page states them.
fn stated() -> &'static BTreeMap<String, i32> {
    static STATED: OnceLock<BTreeMap<String, i32>> = OnceLock::new();
    STATED.get_or_init(|| {
        let rows = table(&page(), "## Outside checks");
        let case =
            |row: &Vec<String>| (row[3].trim_matches('`').to_owned(), row[4].parse().unwrap());
        rows.iter().map(case).collect()
    })
}

/// Notes that what a test compares from here on is of this case.
pub fn reading(case: &str) {
    // With one thread for all tests, its case would outlive the test that read it.
    let of_one_test = std::thread::current().name() != Some("main");
    READ_LAST.set(of_one_test.then(|| case.to_owned()));
}

/// Notes that what a test compares from here on is no published value.
pub fn second_way() {
    READ_LAST.set(None);
}

fn digits(got: f64, want: f64) -> i32 {
    let gap = (got - want).abs();
    if gap == 0.0 || (got.is_infinite() && got == want) {
        return MOST;
    }
    let places = -gap.log10();
    let significant = -(gap / want.abs()).log10();
    (places.max(significant).floor() as i32).min(MOST)
}

/// Fails where fewer digits agree than the page states for the case read last.
#[track_caller]
pub fn compared(got: f64, want: f64) {
    let Some(case) = READ_LAST.with_borrow(Clone::clone) else { return };
    let found = digits(got, want);
    if std::env::var_os("MOTETRAIL_DIGITS").is_some() {
        println!("digits {case} {found}");
        return;
    }
    let promised = stated().get(&case).unwrap_or_else(|| panic!("tests/README.md lacks {case}"));
    assert!(
        found >= *promised,
        "{case}: got {got:e}, want {want:e}: {found} digits, not {promised}"
    );
}

#[test]
fn every_case_is_compared_or_said_not_to_be() {
    let unused = table(&page(), "## Cases not compared");
    let mut told: Vec<String> =
        unused.iter().map(|row| row[0].trim_matches('`').to_owned()).collect();
    told.extend(stated().keys().cloned());
    told.sort();
    let mut kept = all_cases();
    kept.sort();
    assert_eq!(told, kept);
}

#[test]
fn digits_are_significant_ones_or_places() {
    assert_eq!(digits(1.0, 1.0), 15);
    assert_eq!(digits(123.456, 123.457), 5);
    assert_eq!(digits(1e-9, 2e-9), 9);
    assert_eq!(digits(1.0, 2.0), 0);
    assert_eq!(digits(0.0, 1e-4), 4);
}
