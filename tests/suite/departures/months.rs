//! Records of less than a year, and a site that joined: what is said of a year is reckoned from the months there are.

use motetrail::measures::results::Money;
use motetrail::measures::skipped_cost::{By, Exposure, Quantity, Row};
use motetrail::measures::{Flag, trust};
use motetrail::synth::{Departures, Truth};

use super::{Exports, Reviewed, count, recipe, seeds};

fn short(months: u32) -> Departures {
    Departures { short: Some(months), ..Departures::default() }
}

fn joined(months: u32) -> Departures {
    Departures { joined: Some(months), ..Departures::default() }
}

/// The fleet's net saving.
fn saving(reviewed: &Reviewed) -> &Row {
    let rows = reviewed.review.skipped_cost.rows_of(By::Fleet, Quantity::NetSaving);
    let mut rows = rows.filter(|row| row.own.exposure == Some(Exposure::Skipped));
    rows.next().expect("a net saving of the fleet")
}

fn looks(row: &Row) -> f64 {
    let Money(minor) = row.own.look_cost.expect("a cost of the looks not made");
    minor as f64
}

/// A quarter, or some days less at a site whose first record came late. A mean of sites that all have three months is
/// three but for the last digit of a sum of quotients.
fn is_three(row: &Row) -> bool {
    row.own.recorded_months.is_some_and(|months| (2.9..3.0 + 1e-9).contains(&months))
}

/// Months of the fleet, or of a site.
fn months_if_any(reviewed: &Reviewed, site: Option<&str>) -> Option<f64> {
    let by = if site.is_some() { trust::By::Site } else { trust::By::Fleet };
    let mut rows = reviewed.review.trust.rows_of(by, trust::Quantity::MonthsFollowed);
    let row = rows.find(|row| row.group.site.as_deref() == site);
    row.and_then(|row| row.estimate)
}

fn months(reviewed: &Reviewed) -> f64 {
    months_if_any(reviewed, None).expect("months of the fleet")
}

fn is_a_year(months: f64) -> bool {
    (months - 12.0).abs() < 1e-9
}

#[test]
fn three_months_give_the_money_of_a_year_and_say_so() {
    let whole = Exports::of(&recipe(1, Departures::default())).review();
    let three = Exports::of(&recipe(1, short(3))).review();
    assert!(is_a_year(months(&whole)));
    // A site's first record may be some days after the first.
    assert!((2.9..=3.0).contains(&months(&three)), "{}", months(&three));
    let (year, quarter) = (saving(&whole), saving(&three));
    assert!(year.own.recorded_months.is_some_and(is_a_year));
    assert!(is_three(quarter), "{:?}", quarter.own.recorded_months);
    assert!(quarter.flags.contains(&Flag::ShortHistory) && quarter.is_firm());
    assert!(!whole.is_flagged(Flag::ShortHistory));
    // As many looks are left out in every quarter of these fleets, but for chance and what grows with the fleet.
    let factor = looks(quarter) / looks(year);
    assert!((0.7..1.4).contains(&factor), "{factor}");
    // The matings are as counted: a quarter of a year's.
    let counted = quarter.n / year.n;
    assert!((0.15..0.4).contains(&counted), "{counted}");
}

#[test]
fn a_site_that_joined_counts_from_its_first_record_on() {
    let exports = Exports::of(&recipe(1, joined(6)));
    let reviewed = exports.review();
    let whole = Exports::of(&recipe(1, Departures::default())).review();
    let sites = &reviewed.review.sites;
    // A site whose faults nobody records has no such months.
    let short: Vec<f64> =
        sites.iter().filter_map(|site| months_if_any(&reviewed, Some(site))).collect();
    assert!(short.len() >= 6, "{short:?}");
    let late = short.iter().position(|months| *months < 11.5).expect("a site of less than a year");
    assert!((5.5..=6.0).contains(&short[late]), "{short:?}");
    assert_eq!(short.iter().filter(|months| is_a_year(**months)).count(), short.len() - 1);
    assert!(is_a_year(months(&reviewed)));
    // It was not silent before, and the fleet's looks of a year stay what they were.
    let silent = motetrail::measures::coverage::Quantity::SilentMonth;
    let of = |reviewed: &Reviewed| reviewed.review.coverage.quantity(silent).count();
    assert!(of(&reviewed) <= of(&whole));
    let factor = looks(saving(&reviewed)) / looks(saving(&whole));
    assert!((0.95..1.05).contains(&factor), "{factor}");
    let own = saving(&reviewed).own.recorded_months.unwrap();
    assert!((11.0..12.0).contains(&own), "{own}");
}

#[test]
fn clean_fleets_of_a_year_carry_no_flag_of_short_history() {
    let seeds = seeds(2);
    let tried = seeds.end - seeds.start;
    let clean = count(seeds, Departures::default, |_: &Truth, reviewed| {
        !reviewed.is_flagged(Flag::ShortHistory)
    });
    assert!(clean * 100 >= tried * 99, "{clean} of {tried}");
}

#[test]
fn fleets_of_three_months_carry_it_and_keep_their_headline() {
    let seeds = seeds(2);
    let tried = seeds.end - seeds.start;
    let told = count(
        seeds,
        || short(3),
        |_: &Truth, reviewed| {
            let row = saving(reviewed);
            row.flags.contains(&Flag::ShortHistory) && is_three(row)
        },
    );
    assert_eq!(told, tried);
}
