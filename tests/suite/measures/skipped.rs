//! Skipped cost: its count tables against each other, its opinions, its money and its variants.

use motetrail::measures::{Flag, Row, Table, Value};
use motetrail::stats::evalue::e_value;

use super::changed::reviewed;
use crate::review::demo::{demo, demo_under};

const TABLE: &str = "skipped_cost";

fn own(row: &Row, column: &str) -> String {
    demo().own(TABLE, row, column)
}

fn number(row: &Row, column: &str) -> f64 {
    own(row, column).parse().unwrap_or_else(|_| panic!("{column} of {row:?}"))
}

fn fleet(quantity: &str) -> Vec<&'static Row> {
    demo().rows(TABLE, "fleet", quantity)
}

fn headline() -> &'static Row {
    let is = |row: &&&Row| {
        let own = |column| own(row, column);
        own("exposure") == "skipped" && own("faults") == "linked" && own("after_fault") == "no"
    };
    fleet("rate-ratio").iter().find(is).unwrap()
}

fn variant(word: &str) -> &'static Row {
    fleet("sensitivity").into_iter().find(|row| own(row, "variant") == word).unwrap()
}

/// Two count tables of the same matings, filled by different code.
#[test]
fn weeks_of_the_look_back_add_up_to_its_follow_up() {
    let derived = &demo().derived;
    let back: Vec<u32> = derived
        .period
        .look_back
        .iter()
        .map(|quarter| derived.calendar.piece_of(*quarter).unwrap())
        .collect();
    let mut usual = [0; 5];
    for (cell, row) in derived.counts.followed.follow_up.coded() {
        if back.contains(&cell[0]) && cell[5] == 0 {
            let own = [row[0], row[1], row[2], row[3], row[12]];
            usual.iter_mut().zip(own).for_each(|(sum, more)| *sum += more);
        }
    }
    let weeks = derived.counts.followed.site_weeks.coded();
    let mut by_week = [0; 5];
    for (_, row) in &weeks {
        by_week.iter_mut().zip(row).for_each(|(sum, more)| *sum += more);
    }
    assert!(weeks.len() > 1000 && usual[2] > 100);
    assert_eq!(by_week, usual);
}

#[test]
fn the_rule_among_the_sensitivity_rows_is_the_headline() {
    let (ruled, headline) = (variant("as-ruled"), headline());
    let pairs = [
        (ruled.estimate, headline.estimate),
        (ruled.low, headline.low),
        (ruled.high, headline.high),
    ];
    for (a, b) in pairs {
        assert!((a.unwrap() - b.unwrap()).abs() < 1e-8, "{ruled:?} {headline:?}");
    }
    let net = fleet("net-saving")[0].estimate.unwrap();
    assert!((number(ruled, "net_saving") - net).abs() <= 1.0);
}

/// One pass counts all windows beside each other; a second derivation under the other rule counts the
/// same, by the code of the headline.
#[test]
fn a_window_as_a_variant_is_what_deriving_with_that_window_gives() {
    let other = demo_under(|rules| rules.coverage_window_hours = 72);
    let table = &other.skipped_cost;
    let ruled = table
        .rows_of("fleet", "sensitivity")
        .find(|row| table.own(row, "variant") == &Value::Text("as-ruled".to_owned()))
        .unwrap();
    let usual = variant("window-72h");
    assert_ne!(own(usual, "matings_skipped"), own(variant("as-ruled"), "matings_skipped"));
    assert_eq!((ruled.n, ruled.events), (usual.n, usual.events));
    for column in ["faults_skipped", "faults_both", "matings_skipped", "fault_cost", "look_cost"] {
        assert_eq!(table.own(ruled, column), demo().review.skipped_cost.own(usual, column));
    }
}

#[test]
fn horizons_and_levels_only_add_faults() {
    let faults = |word: &str| variant(word).events.unwrap();
    assert!(faults("horizon-30d") < faults("as-ruled"));
    assert!(faults("as-ruled") < faults("horizon-180d"));
    assert!(faults("confirmed-only") < faults("as-ruled"));
    assert!(faults("as-ruled") <= faults("suspect-too"));
    assert!(faults("suspect-too") <= faults("reseats-as-suspect"));
    assert_eq!(faults("unknown-as-both"), faults("unknown-as-skipped"));
    let matings = |word: &str| number(variant(word), "matings_skipped");
    assert!(matings("unknown-as-skipped") > matings("unknown-as-both"));
    assert!(matings("day-precision-left-out") < matings("as-ruled"));
    // Thirteen but for the window of 24 h and the 90 days, which are the rules.
    assert_eq!(fleet("sensitivity").len(), 11);
    let rows = fleet("sensitivity");
    assert!(!rows.iter().any(|row| ["window-24h", "horizon-90d"].contains(&&*own(row, "variant"))));
}

#[test]
fn cost_of_skipped_is_that_of_one_and_none_to_the_cent() {
    let cost = |exposure: &str| {
        let rows = fleet("attributable-cost");
        let row = rows.iter().find(|row| own(row, "exposure") == exposure).unwrap();
        own(row, "fault_cost").parse::<i64>().unwrap()
    };
    assert!(cost("one") > 0 && cost("none") > 0 && cost("despite-fail") > 0);
    assert_eq!(cost("one") + cost("none"), cost("skipped"));
}

/// A net saving is what is associated less the looks, in every row, to the cent that each is rounded
/// to.
#[test]
fn net_saving_is_associated_cost_less_looks() {
    let mut compared = 0;
    for (by, quantity) in [
        ("fleet", "net-saving"),
        ("fleet", "net-saving-alone"),
        ("stage+family", "net-saving"),
        ("site+stage", "net-saving"),
    ] {
        for row in demo().rows(TABLE, by, quantity) {
            let net = number(row, "attributable") - number(row, "look_cost");
            assert!((row.estimate.unwrap() - net).abs() <= 1.0, "{row:?}");
            compared += 1;
        }
    }
    assert!(compared > 30);
}

#[test]
fn chances_of_the_top_three_add_up_to_three_places_and_follow_the_ranks() {
    for by in ["stage+family", "site+stage"] {
        let rows = demo().rows(TABLE, by, "net-saving");
        let ranked: Vec<&Row> = rows.into_iter().filter(|row| row.is_firm()).collect();
        let chances: Vec<f64> = ranked.iter().map(|row| number(row, "top_three")).collect();
        let sum: f64 = chances.iter().sum();
        assert!((sum - 3.0).abs() < 1e-9, "{by}: {sum}");
        assert!(chances.iter().all(|chance| (0.0..=1.0).contains(chance)));
        assert!(chances[0] > chances[chances.len() - 1], "{by}: {chances:?}");
    }
}

#[test]
fn e_values_are_those_of_the_headline_and_its_limit_nearer_1() {
    let row = headline();
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
    close(number(row, "e_value"), e_value(row.estimate.unwrap()).unwrap());
    close(number(row, "e_value_limit"), e_value(row.low.unwrap()).unwrap());
}

#[test]
fn the_regression_leads_exactly_where_site_weeks_scatter_more_than_chance() {
    let mut led = [0, 0];
    for by in ["fleet", "stage", "family", "site", "stage+family", "site+stage"] {
        for row in demo().rows(TABLE, by, "rate-ratio") {
            let leads = row.method == "stratified Poisson regression";
            let dispersed = own(row, "dispersion").parse::<f64>().is_ok_and(|phi| phi > 1.0);
            assert!(!leads || dispersed, "{row:?}");
            led[usize::from(leads)] += 1;
        }
    }
    assert!(led[0] > 0 && led[1] > 0, "{led:?}");
    let second = fleet("second-opinion")[0];
    assert_ne!(second.method, headline().method);
    assert!((second.estimate.unwrap() / headline().estimate.unwrap()).ln().abs() < 0.2);
}

/// With one test in twenty by chance, some of the demo's innocent places would be flagged; q values
/// keep that to the family.
#[test]
fn controls_of_the_demo_flag_no_place() {
    for by in ["fleet", "stage+family", "site+stage"] {
        for row in demo().rows(TABLE, by, "net-saving") {
            let words: Vec<&str> = row.flags.iter().map(|flag| flag.word()).collect();
            assert!(!words.contains(&"confounded"), "{row:?}");
        }
    }
}

/// The planted ratio makes a known share of the cost that was seen; the interval of what is associated
/// with skipping holds it, and so do the ratios that follow the same faults for as long or longer.
#[test]
fn planted_ratio_lies_in_the_money_and_in_the_variants() {
    let planted = demo().planted(&["linked_faults", "rate_ratio_expected"]);
    let row = fleet("attributable-cost")[0];
    let share = number(row, "fault_cost") * (1.0 - 1.0 / planted);
    assert!(row.low.unwrap() <= share && share <= row.high.unwrap(), "{share} {row:?}");
    for word in ["window-8h", "window-72h", "horizon-180d", "confirmed-only", "unknown-as-both"] {
        let row = variant(word);
        assert!(row.low.unwrap() <= planted && planted <= row.high.unwrap(), "{row:?}");
    }
}

/// Seed, replicate and site-week alone decide: another seed moves limits a little and no estimate.
#[test]
fn another_seed_moves_limits_but_no_estimate() {
    let other = demo_under(|rules| rules.seed = 2);
    let table = &other.skipped_cost;
    let (mut moved, mut compared) = (0, 0);
    for by in ["fleet", "stage+family", "site+stage"] {
        for row in demo().rows(TABLE, by, "net-saving").into_iter().filter(|row| row.is_firm()) {
            let again =
                table.rows_of(by, "net-saving").find(|other| other.group == row.group).unwrap();
            assert_eq!(again.estimate, row.estimate);
            let width = row.high.unwrap() - row.low.unwrap();
            assert!((again.low.unwrap() - row.low.unwrap()).abs() < 0.25 * width, "{row:?}");
            moved += usize::from(again.low != row.low);
            compared += 1;
        }
    }
    assert!(moved > 0 && compared > 10);
}

/// Site-weeks beyond the limit are given up as a whole. Sites are the clusters then: the same strata, faults
/// and money, so the same ratio; what the clusters decide may differ, and is no narrower by much.
#[test]
fn without_site_weeks_sites_are_the_clusters_and_no_estimate_moves() {
    let own = &demo().derived.counts;
    let mut given_up = own.clone();
    given_up.followed.site_weeks.clear();
    assert!(given_up.check().is_ok());
    let other = reviewed(given_up);
    let table = &other.skipped_cost;
    let mut compared = 0;
    for by in ["fleet", "stage+family", "site+stage"] {
        for row in demo().rows(TABLE, by, "net-saving") {
            let again =
                table.rows_of(by, "net-saving").find(|other| other.group == row.group).unwrap();
            assert_eq!((again.n, again.events), (row.n, row.events), "{row:?}");
            assert_eq!(
                table.own(again, "fault_cost"),
                demo().review.skipped_cost.own(row, "fault_cost")
            );
            if let (Some(a), Some(b)) = (row.estimate, again.estimate) {
                assert!((a - b).abs() <= 1.0, "{row:?} {again:?}");
                compared += 1;
            }
        }
    }
    assert!(compared > 20, "{compared}");
    let few = |table: &Table, by: &str| -> bool {
        table.rows_of(by, "net-saving").any(|row| row.flags.contains(&Flag::FewClusters))
    };
    // Ten sites, one of which has no faults to be seen: too few for an interval to be trusted.
    assert!(few(table, "site+stage"));
}

/// VanderWeele and Ding 2017: r + sqrt(r (r - 1)) of the row's own ratio.
#[test]
fn every_e_value_is_that_of_its_own_row() {
    let mut met = 0;
    for row in fleet("rate-ratio").into_iter().chain(fleet("second-opinion")) {
        let (Some(r), Ok(e)) = (row.estimate, own(row, "e_value").parse::<f64>()) else { continue };
        let r = r.max(1.0 / r);
        assert!((e - (r + (r * (r - 1.0)).sqrt())).abs() < 1e-9, "{row:?}");
        met += 1;
    }
    assert!(met >= 8, "{met}");
}
