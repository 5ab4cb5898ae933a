//! Figures of the demo worked out a second time, from other count tables or by hand.

use std::collections::BTreeMap;

use motetrail::derive::Coverage;
use motetrail::derive::counts::{AfterFault, Row as _, VisitRow, since_mating};
use motetrail::measures::fault_rates::{self, Certainty};
use motetrail::measures::skipped_cost::{By, Quantity, Row};

use super::ticket_prices::whole_quarters;
use crate::review::demo::demo;

/// The daily curve and the banded follow-up count the same person-time and the same faults, though
/// one keeps entries and exits by day and the other seconds by band.
#[test]
fn days_since_mating_hold_the_person_time_of_the_bands() {
    let counts = &demo().derived.counts;
    let mut by_day: BTreeMap<Coverage, BTreeMap<u32, since_mating::Row>> = BTreeMap::new();
    for (cell, row) in counts.followed.since_mating.cells() {
        by_day.entry(cell.coverage).or_default().entry(cell.day.0).or_default().add(&row);
    }
    let mut compared = 0;
    for (class, days) in by_day {
        let (mut present, mut seconds, mut faults, mut matings) = (0, 0, 0, 0);
        for day in 0..90 {
            let counts = days.get(&day).copied().unwrap_or_default();
            present += counts.entered;
            seconds += present * 86_400 + counts.part_s;
            present -= counts.left;
            faults += counts.linked;
            matings += counts.entered;
        }
        let banded = counts.followed.follow_up.cells();
        let of_class = banded.iter().filter(|(cell, _)| cell.coverage == class);
        let (band_faults, band_seconds) =
            of_class.fold((0, 0), |sum, (_, row)| (sum.0 + row.linked, sum.1 + row.linked_s));
        assert_eq!(faults, band_faults, "{class:?}");
        // Each mating loses less than a second a band and a second a day edge to rounding down.
        assert!((seconds - band_seconds).abs() <= 5 * matings, "{seconds} against {band_seconds}");
        compared += 1;
    }
    assert!(compared >= 4);
}

/// Crude rates by hand: faults per 1,000 connection-months of the fleet are those of its sites,
/// weighted by their time.
#[test]
fn fleet_rate_is_the_time_weighted_mean_of_its_sites() {
    use fault_rates::{By, Quantity};
    let demo = demo();
    let table = &demo.review.fault_rates;
    let linked = |by| {
        let rows = table.rows_of(by, Quantity::PerMonths);
        let linked = rows.filter(|row| row.own.level == Certainty::Linked);
        linked.map(|row| (row.estimate.unwrap(), row.n)).collect::<Vec<_>>()
    };
    let fleet = linked(By::Fleet)[0];
    let sites = linked(By::Site);
    let time: f64 = sites.iter().map(|(_, months)| months).sum();
    let mean = sites.iter().map(|(rate, months)| rate * months).sum::<f64>() / time;
    assert!((time - fleet.1).abs() < 1e-6 * time);
    assert!((mean - fleet.0).abs() < 1e-9 * mean, "{mean} against {}", fleet.0);
    let fit = table.rows_of(By::Fleet, Quantity::Fit).next().unwrap().estimate.unwrap();
    assert!((fit - fleet.0 / 1000.0 / 730.5 * 1e9).abs() < 1e-6 * fit);
}

/// The cost of the looks not made, by hand from the demo's prices and routine visits: minutes of a look, and the
/// cleanings, the looks after them and the rejects that visits of the same stage and family which began with a look had
/// for each. Of matings that have run their horizon, as money of a year.
#[test]
fn looks_not_made_cost_their_minutes_and_what_they_would_have_found() {
    let demo = demo();
    let derived = &demo.derived;
    let (stage, family) = ("line-upkeep", "MPO");
    let code = |names: &motetrail::derive::Names, word: &str| names.find(word).unwrap();
    let stage_code = code(&derived.glossary.stage.0, stage);
    let family_code = code(&derived.glossary.family.0, family);
    let quarters: Vec<u32> = derived
        .period
        .look_back
        .iter()
        .map(|quarter| derived.calendar.piece_of(*quarter).unwrap())
        .collect();
    assert_eq!(quarters.len(), 4);
    let whole = whole_quarters();
    let (mut looks, mut cleanings, mut closing, mut rejects) = (0, 0, 0, 0);
    for (cell, row) in derived.counts.first_pass.visits.cells() {
        if quarters.contains(&cell.quarter.0)
            && (cell.stage.0, cell.family.0) == (stage_code, family_code)
            && cell.row == VisitRow::Routine
        {
            looks += row.looks;
            cleanings += row.cleanings_seen;
            closing += row.cycles_seen;
            rejects += row.rejects_seen;
        }
    }
    let skipped = [Coverage::One, Coverage::None];
    let unseen: i64 = derived
        .counts
        .followed
        .follow_up
        .cells()
        .iter()
        .filter(|(cell, _)| {
            whole.contains(&cell.quarter.0)
                && (cell.stage.0, cell.family.0) == (stage_code, family_code)
                && cell.after_fault == AfterFault::No
                && skipped.contains(&cell.coverage)
        })
        .map(|(_, row)| row.unseen_ends)
        .sum();
    let text = include_str!("../../../data-demo/fleet.toml");
    let settings: toml::Table = text.parse().unwrap();
    let price = |name: &str| {
        let value = &settings["costs"][name];
        value.as_float().or(value.as_integer().map(|whole| whole as f64)).unwrap()
    };
    let minute = price("labour_hour") / 60.0;
    let per_look = |count: i64| count as f64 / looks as f64;
    let look = (1.0 + per_look(closing)) * price("look_minutes") * minute
        + per_look(cleanings) * (price("cleaning_minutes") * minute + price("cleaning_material"))
        + per_look(rejects) * price("reject");
    let mut rows = demo.review.skipped_cost.rows_of(By::StageFamily, Quantity::NetSaving);
    let is_here = |row: &&Row| {
        row.group.stage.as_deref() == Some(stage) && row.group.family.as_deref() == Some(family)
    };
    let row = rows.find(is_here).unwrap();
    // Every site of the demo has records and tickets of all nine months of these quarters.
    assert!((row.own.months.unwrap() - 9.0).abs() < 1e-9, "{row:?}");
    assert_eq!(row.own.matings_of.as_deref(), Some("2025-Q3 to 2026-Q1"));
    let stated = row.own.look_cost.unwrap().0;
    let wanted = unseen as f64 * look * 100.0 * 12.0 / 9.0;
    assert!((stated as f64 - wanted).abs() <= 1.0, "{stated} and not {wanted}");
}
