//! Names written in two ways at one site.

use motetrail::derive::Coverage;
use motetrail::measures::trust::{By, Quantity};
use motetrail::measures::{AnyRow, Flag, coverage};
use motetrail::synth::{Departures, Truth};

use super::{Reviewed, count, planted_ratio, seeds};

/// Every mating of a site written otherwise.
fn written_otherwise(rule: u32) -> Departures {
    Departures { names: Some(1.0), names_rule: Some(rule), ..Departures::default() }
}

/// The site's share skipped of the matings whose coverage is known; none where none is.
fn skipped_at(reviewed: &Reviewed, site: &str) -> Option<f64> {
    let rows = reviewed.review.coverage.rows_of(coverage::By::Site, coverage::Quantity::Skipped);
    let mut rows = rows.filter(|row| row.group.site.as_deref() == Some(site));
    let row = rows.next().expect("a row of the site");
    (row.n > 0.0).then_some(row.estimate).flatten()
}

/// The site whose matings are written otherwise: the second.
fn site(reviewed: &Reviewed) -> String {
    reviewed.review.sites[1].clone()
}

fn is_flagged_and_unknown(reviewed: &Reviewed) -> bool {
    let site = site(reviewed);
    let rows = reviewed.review.coverage.rows_of(coverage::By::Site, coverage::Quantity::Skipped);
    let flagged = rows
        .filter(|row| row.group.site.as_ref() == Some(&site))
        .all(|row| row.leading().flags.contains(&Flag::NamesApart));
    let matings = reviewed.derived.counts.coverage.matings.cells();
    let apart = matings.iter().filter(|(cell, _)| cell.coverage == Coverage::Apart);
    let word = |code| reviewed.derived.glossary.site.0.word(code).to_owned();
    flagged
        && skipped_at(reviewed, &site).is_none()
        && apart.clone().count() > 0
        && apart.clone().all(|(cell, _)| word(cell.site.0) == site)
}

#[test]
fn a_site_whose_names_stand_apart_is_unknown_and_flagged_not_wholly_skipped() {
    let seeds = seeds(2);
    let tried = seeds.end - seeds.start;
    let held = count(
        seeds,
        || written_otherwise(0),
        |_, reviewed| {
            let trust = &reviewed.review.trust;
            let shares: Vec<f64> = trust
                .rows_of(By::Site, Quantity::NamesApart)
                .filter_map(|row| row.estimate)
                .collect();
            let mends = trust.quantity(Quantity::NamesRule).any(|row| {
                row.own.rule.as_deref() == Some("fold_case = true, marks = \"alike\"")
                    && row.own.merged == Some(0)
                    && row.n > 100.0
            });
            is_flagged_and_unknown(reviewed) && shares == [1.0] && mends
        },
    );
    assert_eq!(held, tried);
}

/// The planted ratio inside, no flag, and the site's share skipped as without the departure.
fn is_mended(truth: &Truth, reviewed: &Reviewed) -> bool {
    !reviewed.is_flagged(Flag::NamesApart) && reviewed.ratio_holds(planted_ratio(truth))
}

#[test]
fn the_rule_that_mends_the_names_brings_the_planted_ratio_back() {
    let seeds = seeds(2);
    let tried = seeds.end - seeds.start;
    let held = count(seeds, || written_otherwise(1), is_mended);
    assert!(held * 10 >= tried * 8, "{held} of {tried}");
}

#[test]
fn mended_names_give_the_shares_of_the_same_fleet_written_in_one_way() {
    let exports = |departures| super::Exports::of(&super::recipe(1, departures));
    let (sound, mended) = (exports(Departures::default()), exports(written_otherwise(1)));
    let (sound, mended) = (sound.review(), mended.review());
    let site = site(&sound);
    assert_eq!(skipped_at(&sound, &site), skipped_at(&mended, &site));
    let classes = |reviewed: &Reviewed| reviewed.review.coverage.rows.clone();
    assert_eq!(classes(&sound), classes(&mended));
}

#[test]
fn clean_fleets_have_no_names_apart() {
    let seeds = seeds(2);
    let tried = seeds.end - seeds.start;
    let flagged = count(seeds, Departures::default, |_, reviewed| {
        reviewed.is_flagged(Flag::NamesApart) || !reviewed.derived.withdrawn.is_empty()
    });
    assert!(flagged * 100 <= tried, "{flagged} of {tried}");
}
