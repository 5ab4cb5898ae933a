//! What the page says of trust: sentences made from the numbers, the worst first.

use motetrail::measures::coverage;
use motetrail::measures::trust::{By, Own, Quantity, Row};
use motetrail::measures::{Group, Review};

use super::sample::{self, SITES};
use super::sample_trust::{looked_twice, months};
use super::{report, text};

/// The section of a review, its blanks plain.
fn section(review: &Review) -> String {
    page(review)
        .split("<section id=\"trust\">")
        .nth(1)
        .unwrap()
        .split("</section>")
        .next()
        .unwrap()
        .to_owned()
}

fn page(review: &Review) -> String {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path().join("r");
    report(review, &folder);
    text(&folder, "report.html").replace(['\u{A0}', '\u{202F}', '\u{2007}', '\u{2008}'], " ")
}

/// The full sample with more rows of trust.
fn with(rows: Vec<Row>) -> Review {
    let mut review = sample::full();
    review.trust.rows.extend(rows);
    review
}

#[test]
fn second_looks_after_passes_are_said_to_follow_passes() {
    let section = section(&with(looked_twice(0.008, 0.229)));
    assert!(section.contains("895 times two people or instruments"), "{section}");
    assert!(section.contains("kappa 0.16 (0.05 to 0.27)"));
    assert!(section.contains("second looks follow passes"));
    assert!(!section.contains("second looks follow failures"));
}

#[test]
fn second_looks_after_failures_and_after_anything_are_said_so() {
    let after_failures = section(&with(looked_twice(0.8, 0.229)));
    assert!(after_failures.contains("second looks follow failures"));
    let after_anything = section(&with(looked_twice(0.23, 0.229)));
    assert!(after_anything.contains("kappa holds for looks in general"));
}

#[test]
fn what_touches_most_is_said_first() {
    let registered = Row::figure(
        By::Fleet,
        Group::default(),
        Quantity::Registered,
        0.5,
        "count",
        Own::default(),
    );
    let registered = Row { n: 200.0, events: Some(100), ..registered };
    let mut rows = looked_twice(0.008, 0.229);
    rows.push(registered);
    let section = section(&with(rows));
    let place =
        |words: &str| section.find(words).unwrap_or_else(|| panic!("no {words} in {section}"));
    assert!(place("100 of 200 end faces that records name") < place("second looks follow passes"));
}

#[test]
fn months_of_records_stand_where_a_year_would() {
    let all = SITES.iter().map(|site| months(Some(site), 3.0));
    let mut review = with(all.chain([months(None, 3.0)]).collect());
    review.skipped_cost.rows.iter_mut().for_each(|row| row.own.recorded_months = Some(3.0));
    let page = page(&review);
    assert!(page.contains("net saving of"), "the sample has one");
    assert!(page.contains("a year, reckoned from 3 months of records"));
    assert!(!page.contains("over the 12 months to"), "no twelve months were looked back over");
    assert!(page.contains("the 3 months of records to 2026-06-30"));
}

#[test]
fn a_site_with_fewer_months_than_the_others_is_named() {
    let of = |(at, site): (usize, &&str)| months(Some(site), if at == 0 { 5.0 } else { 12.0 });
    let review = with(SITES.iter().enumerate().map(of).chain([months(None, 12.0)]).collect());
    let page = page(&review);
    assert!(page.contains(&format!("({} 5; the others 12)", SITES[0])), "{}", SITES[0]);
    assert!(section(&review).contains("1 of "));
}

#[test]
fn silent_months_are_said_by_name() {
    let mut review = sample::full();
    let silent = review.coverage.quantity(coverage::Quantity::SilentMonth).next().unwrap().clone();
    let (site, month) = (silent.group.site.unwrap(), silent.group.time.unwrap());
    review.trust.rows.extend([months(None, 12.0)]);
    let section = section(&review);
    assert!(
        section.contains(&format!("in which the site cleaned or mated: {site} {month}")),
        "{section}"
    );
}

#[test]
fn a_site_that_passes_too_much_is_named_with_both_shares_and_both_counts() {
    let own = |named| Own {
        named: Some(named),
        p: Some(0.002),
        share: Some(0.99),
        expected_share: Some(0.8),
        faults: Some(31),
        expected_faults: Some(11.6),
        ..Own::default()
    };
    let of = |site: &str, named| {
        let group = Group { site: Some(site.to_owned()), ..Group::default() };
        Row::figure(By::Site, group, Quantity::TooGood, 0.02, "", own(named))
    };
    let section = section(&with(vec![of(SITES[0], false), of(SITES[1], true)]));
    let words = "99.0 % of first looks pass where the other sites let expect 80.0 %, and 31 linked faults follow matings \
                 with both ends seen where 12 were to be expected";
    assert!(section.contains(&format!("{}: {words}", SITES[1])), "{section}");
    assert!(!section.contains(&format!("{}: {words}", SITES[0])));
}
