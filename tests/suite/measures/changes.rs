//! 5.9 on the demo: its numbers from the count tables by hand, what was not changed, what is planted.

use std::collections::BTreeMap;

use motetrail::derive::{Counts, compared};
use motetrail::measures::{Flag, Review, Row, Unit, Value};
use motetrail::stats::benjamini_hochberg;
use motetrail::stats::difference::newcombe;

use super::changed::{changed, reviewed};
use crate::review::demo::demo;

const AGAINST: [&str; 2] = ["quarter-before", "year-before"];

fn number(review: &Review, row: &Row, column: &str) -> Option<f64> {
    match review.table("changes").own(row, column) {
        Value::Number(number) => Some(*number),
        Value::Count(count) => Some(*count as f64),
        _ => None,
    }
}

fn says(review: &Review, row: &Row, against: &str) -> bool {
    *review.table("changes").own(row, "against") == Value::Text(against.to_owned())
}

fn rows<'a>(review: &'a Review, against: &str, by: &str, quantity: &str) -> Vec<&'a Row> {
    let table = &review.table("changes").rows;
    let own = table.iter().filter(|row| row.by == by && row.quantity == quantity);
    own.filter(|row| says(review, row, against)).collect()
}

/// Codes of the period and of the quarter before it in count tables.
fn quarters() -> [u32; 2] {
    let derived = &demo().derived;
    let [(_, before), _] = compared(&derived.period);
    [derived.period.quarter, before].map(|quarter| derived.calendar.piece_of(quarter).unwrap())
}

/// Two-sided 95 % quantile of Student's t by its expansion in 1 / df, Abramowitz & Stegun (1964), 26.7.5.
fn t_quantile(df: f64) -> f64 {
    1.959964 + 2.3723 / df + 2.82 / (df * df)
}

/// First pass of the fleet: shares of the visits, scatter of the work orders, both counted again here.
#[test]
fn the_fleets_change_of_first_pass_is_that_of_its_visits_and_work_orders() {
    let demo = demo();
    let row = rows(&demo.review, "quarter-before", "fleet", "first-pass-clean")[0];
    let sides = quarters().map(|quarter| {
        let visits = demo.derived.counts.visits.cells();
        let own = visits.iter().filter(|(cell, _)| cell[0] == quarter && cell[6] == 3);
        let (n, y) =
            own.fold((0.0, 0.0), |sum, (_, row)| (sum.0 + row[1] as f64, sum.1 + row[2] as f64));
        let mut orders: BTreeMap<[u32; 3], (f64, f64)> = BTreeMap::new();
        for (cell, row) in demo.derived.counts.work_orders.cells() {
            if cell[0] == quarter {
                let own = orders.entry([cell[4], cell[7], cell[8]]).or_default();
                *own = (own.0 + row[0] as f64, own.1 + row[1] as f64);
            }
        }
        assert_eq!(orders.values().map(|own| own.0).sum::<f64>(), n);
        let (p, m) = (y / n, orders.len() as f64);
        let gaps: f64 = orders.values().map(|own| (own.1 - p * own.0).powi(2)).sum();
        let deff = m / (m - 1.0) * gaps / (p * (1.0 - p) * n);
        let failing: f64 = orders.values().map(|own| (own.0 - own.1).powi(2)).sum();
        let df = (n - y).powi(2) / failing - 1.0;
        let by = (deff * (t_quantile(df) / 1.959964).powi(2)).max(1.0);
        (n, y, by, m)
    });
    let [(n, y, by, m), (before_n, before_y, before_by, before_m)] = sides;
    assert_eq!((row.n, row.events), (n, Some(y as i64)));
    let own = |column| number(&demo.review, row, column).unwrap();
    assert_eq!((own("n_before"), own("events_before")), (before_n, before_y));
    assert_eq!((own("clusters"), own("clusters_before")), (m, before_m));
    assert!((own("value") - y / n).abs() < 1e-12);
    assert!((own("value_before") - before_y / before_n).abs() < 1e-12);
    let want = newcombe(y / by, n / by, before_y / before_by, before_n / before_by, 0.95);
    for (got, want) in [(row.estimate, want.value), (row.low, want.low), (row.high, want.high)] {
        assert!((got.unwrap() - want.unwrap()).abs() < 1e-5, "{got:?} {want:?}");
    }
}

/// Faults and connection-months by hand, and the scatter of site-weeks about their site.
#[test]
fn the_fleets_change_of_the_fault_rate_rests_on_its_site_weeks() {
    let demo = demo();
    let row = rows(&demo.review, "quarter-before", "fleet", "faults-per-1000-months")[0];
    let (mut squares, mut chance) = (0.0, 0.0);
    let rates = quarters().map(|quarter| {
        let mut weeks: BTreeMap<u32, BTreeMap<u32, (f64, f64)>> = BTreeMap::new();
        for ([of, week, site, _, _], row) in demo.derived.counts.rates.force_weeks.cells() {
            if of == quarter {
                let own = weeks.entry(site).or_default().entry(week).or_default();
                *own = (own.0 + row[1] as f64, own.1 + row[2] as f64);
            }
        }
        let (mut faults, mut time) = (0.0, 0.0);
        for site in weeks.values() {
            let (d, t) = site.values().fold((0.0, 0.0), |sum, own| (sum.0 + own.0, sum.1 + own.1));
            for (own, part) in site.values() {
                let share = part / t;
                squares += (own - d * share).powi(2);
                chance += d * share * (1.0 - share);
            }
            (faults, time) = (faults + d, time + t);
        }
        (faults, time / (730.5 * 3600.0))
    });
    let [(faults, months), (before_faults, before_months)] = rates;
    let own = |column| number(&demo.review, row, column).unwrap();
    assert_eq!((row.events, own("events_before")), (Some(faults as i64), before_faults));
    assert!((row.n / months - 1.0).abs() < 1e-9);
    assert!((own("n_before") / before_months - 1.0).abs() < 1e-9);
    let ratio = faults / months / (before_faults / before_months);
    assert!((row.estimate.unwrap() / ratio - 1.0).abs() < 1e-9);
    assert!((own("phi") - f64::max(squares / chance, 1.0)).abs() < 1e-9);
    assert!((own("value") - 1000.0 * faults / months).abs() < 1e-6);
}

#[test]
fn shares_now_are_those_of_the_measures_themselves() {
    let demo = demo();
    for (table, quantity, column) in [
        ("first_pass", "first-pass-clean", ""),
        ("coverage", "skipped", "base"),
        ("fault_rates", "faults-per-1000-months", "level"),
    ] {
        for by in ["fleet", "stage", "family", "site"] {
            let own = rows(&demo.review, "quarter-before", by, quantity);
            assert!(!own.is_empty());
            for row in own {
                let first = |other: &&Row| {
                    let word = if column.is_empty() {
                        String::new()
                    } else {
                        demo.own(table, other, column)
                    };
                    other.group == row.group && ["", "known", "linked"].contains(&word.as_str())
                };
                let same = demo.rows(table, by, quantity).into_iter().find(first);
                let Some(same) = same else {
                    assert_eq!(row.n, 0.0, "{row:?}");
                    continue;
                };
                assert_eq!(row.events, same.events, "{row:?}");
                assert!((row.n - same.n).abs() <= 1e-9 * same.n);
                let value = number(&demo.review, row, "value");
                let gap = value.unwrap_or(0.0) - same.estimate.unwrap_or(0.0);
                assert!(gap.abs() < 1e-9, "{row:?} {same:?}");
            }
        }
    }
}

/// The share passing at the first cycle is the hazard of cycle 1, in the look-back's last quarter.
#[test]
fn the_first_cycle_is_counted_from_visits_that_left_at_it_or_later() {
    let demo = demo();
    let [period, _] = quarters();
    let (mut made, mut passed) = (0, 0);
    for (cell, row) in demo.derived.counts.cycles.cells() {
        if cell[0] == period && cell[4] == 0 && cell[6] >= 1 {
            made += row[0] + row[1] + row[2] + row[3];
            passed += if cell[6] == 1 { row[0] } else { 0 };
        }
    }
    let row = rows(&demo.review, "quarter-before", "fleet", "passed-first-cycle")[0];
    assert_eq!((row.n, row.events), (made as f64, Some(passed)));
}

#[test]
fn groups_add_up_to_the_fleet_in_both_quarters() {
    let demo = demo();
    for against in AGAINST {
        for quantity in ["first-pass-clean", "passed-first-cycle", "skipped"] {
            let sum = |by: &str| {
                let rows = rows(&demo.review, against, by, quantity);
                let own = |column| -> f64 {
                    rows.iter().map(|row| number(&demo.review, row, column).unwrap()).sum()
                };
                let events: i64 = rows.iter().map(|row| row.events.unwrap()).sum();
                let n: f64 = rows.iter().map(|row| row.n).sum();
                (n, events, own("n_before"), own("events_before"))
            };
            assert!(sum("fleet").0 > 0.0 && sum("fleet").2 > 0.0);
            for by in ["stage", "family", "stage+family", "site"] {
                assert_eq!(sum(by), sum("fleet"), "{against} {quantity} by {by}");
            }
        }
    }
}

#[test]
fn q_is_over_the_rows_that_no_flag_keeps_out_and_p_agrees_with_the_interval() {
    let demo = demo();
    for against in AGAINST {
        let all: Vec<&Row> = {
            let table = &demo.review.table("changes").rows;
            table.iter().filter(|row| says(&demo.review, row, against)).collect()
        };
        let firm: Vec<&Row> = all.iter().copied().filter(|row| row.is_firm()).collect();
        assert!(firm.len() > 100 && firm.len() < all.len(), "{} of {}", firm.len(), all.len());
        let own = |row: &Row, column| number(&demo.review, row, column);
        let p: Vec<f64> = firm.iter().map(|row| own(row, "p").unwrap()).collect();
        for (row, q) in firm.iter().zip(benjamini_hochberg(&p)) {
            assert_eq!(own(row, "q"), Some(q), "{row:?}");
        }
        for row in all {
            assert_eq!(own(row, "q").is_some(), row.is_firm(), "{row:?}");
            let none = if row.unit == Unit::Ratio { 1.0 } else { 0.0 };
            let out =
                row.low.is_some_and(|low| low > none) || row.high.is_some_and(|high| high < none);
            assert_eq!(out, own(row, "p").unwrap() < 0.05, "{row:?}");
        }
    }
}

/// The demo's recipe plants no change between quarters, and none is found.
#[test]
fn nothing_is_found_where_nothing_was_planted() {
    let demo = demo();
    let rows = &demo.review.table("changes").rows;
    let found = rows.iter().filter_map(|row| number(&demo.review, row, "q"));
    assert_eq!(found.filter(|q| *q <= 0.05).count(), 0);
}

fn listed(review: &Review) -> Vec<&Row> {
    let rows = review.table("changes").rows.iter();
    rows.filter(|row| number(review, row, "q").is_some_and(|q| q <= 0.05)).collect()
}

/// Every third clean first look at one stage fails this quarter.
#[test]
fn a_planted_fall_of_first_pass_is_found_where_it_is() {
    let own = &demo().derived.counts;
    let (stage, [period, _]) = ("receiving", quarters());
    let code = demo().derived.glossary.stage.0.find(stage).unwrap();
    let fallen = |clean: i64| clean - clean / 3;
    let visits = changed(&own.visits, |cell, mut counts| {
        if cell[0] == period && cell[2] == code && cell[6] == 3 {
            counts[2] = fallen(counts[2]);
        }
        (cell, counts)
    });
    // Work orders are small: a third of them, by their number, fails whole.
    let work_orders = changed(&own.work_orders, |cell, mut counts| {
        if cell[0] == period && cell[1] == code && (cell[7] ^ cell[8]).is_multiple_of(3) {
            counts[1] = 0;
        }
        (cell, counts)
    });
    let review = reviewed(Counts { visits, work_orders, ..own.clone() });
    let found = listed(&review);
    assert!(found.iter().any(|row| row.by == "stage" && row.group.stage.as_deref() == Some(stage)));
    for row in found {
        assert_eq!(row.quantity, "first-pass-clean", "{row:?}");
        assert!(row.estimate.unwrap() < 0.0 && row.high.unwrap() < 0.0, "{row:?}");
        assert!(row.group.stage.as_deref().is_none_or(|at| at == stage), "{row:?}");
    }
}

/// Four times the faults at one site.
#[test]
fn a_planted_rise_of_faults_is_found_where_it_is() {
    let own = &demo().derived.counts;
    let [period, _] = quarters();
    let cells = own.in_force.cells();
    let of_site = |site: u32| -> i64 {
        cells
            .iter()
            .filter(|(cell, _)| cell[0] == period && cell[1] == site)
            .map(|(_, row)| row[1])
            .sum()
    };
    let site = (0..demo().review.sites.len() as u32 + 1).max_by_key(|site| of_site(*site)).unwrap();
    let in_force = changed(&own.in_force, |cell, mut counts| {
        if cell[0] == period && cell[1] == site {
            counts[1] *= 4;
        }
        (cell, counts)
    });
    let mut rates = own.rates.clone();
    rates.force_weeks = changed(&own.rates.force_weeks, |cell, mut counts| {
        if cell[0] == period && cell[2] == site {
            counts[1] *= 4;
        }
        (cell, counts)
    });
    let review = reviewed(Counts { in_force, rates, ..own.clone() });
    let name = demo().derived.glossary.site.0.word(site);
    let found = listed(&review);
    let at_site = |row: &&&Row| row.by == "site" && row.group.site.as_deref() == Some(name);
    let row = found.iter().find(at_site).expect("the site is found");
    assert!(row.low.unwrap() > 1.0 && row.low.unwrap() < 4.0, "{row:?}");
    assert!(found.iter().all(|row| row.quantity == "faults-per-1000-months"));
    assert!(found.iter().all(|row| row.group.site.as_deref().is_none_or(|site| site == name)));
}

/// Sites under other numbers are the same clusters and the same rows.
#[test]
fn numbering_sites_otherwise_changes_nothing() {
    let own = &demo().derived.counts;
    let cells = own.visits.cells();
    let sites = cells.iter().map(|(cell, _)| cell[1]).max().unwrap() + 1;
    macro_rules! turned {
        ($table:expr, $at:expr) => {
            changed(&$table, |mut cell, counts| {
                cell[$at] = sites - 1 - cell[$at].min(sites - 1);
                (cell, counts)
            })
        };
    }
    let mut rates = own.rates.clone();
    rates.force_weeks = turned!(own.rates.force_weeks, 2);
    let review = reviewed(Counts {
        visits: turned!(own.visits, 1),
        work_orders: turned!(own.work_orders, 4),
        cycle_trials: turned!(own.cycle_trials, 2),
        mating_clusters: turned!(own.mating_clusters, 2),
        in_force: turned!(own.in_force, 1),
        rates,
        ..own.clone()
    });
    let mut compared = 0;
    for against in AGAINST {
        for quantity in
            ["first-pass-clean", "passed-first-cycle", "skipped", "faults-per-1000-months"]
        {
            for by in ["fleet", "stage", "stage+family"] {
                let before = rows(&demo().review, against, by, quantity);
                let after = rows(&review, against, by, quantity);
                assert_eq!(before.len(), after.len());
                for (one, other) in before.iter().zip(after) {
                    compared += 1;
                    assert_eq!((one.estimate, &one.flags), (other.estimate, &other.flags));
                    let ends = [(one.low, other.low), (one.high, other.high)];
                    assert!(ends.iter().all(|(a, b)| match (a, b) {
                        (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * (1.0 + a.abs()),
                        (a, b) => a == b,
                    }));
                }
            }
        }
    }
    assert!(compared > 150, "{compared}");
}

/// A site that is new has nothing to be compared with: its row is there, and in no list.
#[test]
fn a_cell_of_one_quarter_alone_is_shown_without_a_change() {
    let own = &demo().derived.counts;
    let [period, _] = quarters();
    let site = own.mating_clusters.cells()[0].0[2];
    let mating_clusters = changed(&own.mating_clusters, |cell, counts| {
        let gone = cell[0] != period && cell[2] == site;
        (cell, if gone { [0; 13] } else { counts })
    });
    let review = reviewed(Counts { mating_clusters, ..own.clone() });
    let name = demo().derived.glossary.site.0.word(site);
    for against in AGAINST {
        let rows = rows(&review, against, "site", "skipped");
        let row = rows.iter().find(|row| row.group.site.as_deref() == Some(name)).unwrap();
        assert!(row.n > 0.0 && row.estimate.is_none() && row.flags.contains(&Flag::Thin));
        assert_eq!(
            (number(&review, row, "q"), number(&review, row, "n_before")),
            (None, Some(0.0))
        );
    }
}

/// Half of the cells in one table and half in another, added again.
#[test]
fn split_and_merged_counts_give_the_same_rows() {
    let own = &demo().derived.counts;
    let half = |odd: bool| {
        let mut half = Counts::empty();
        macro_rules! share {
            ($($table:ident).+) => {
                for (place, (cell, counts)) in own.$($table).+.cells().into_iter().enumerate() {
                    if (place % 2 == 1) == odd {
                        half.$($table).+.add(Some(cell), counts);
                    }
                }
            };
        }
        share!(visits);
        share!(suppliers);
        share!(work_orders);
        share!(cycle_trials);
        share!(mating_clusters);
        share!(in_force);
        share!(rates.force_weeks);
        half
    };
    for merged in [half(false).merge(half(true)), half(true).merge(half(false))] {
        assert_eq!(reviewed(merged).table("changes"), demo().review.table("changes"));
    }
}
