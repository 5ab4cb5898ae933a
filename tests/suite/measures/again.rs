//! Figures of the demo worked out a second time, from other count tables or by hand.

use std::collections::BTreeMap;

use motetrail::derive::Coverage;
use motetrail::measures::fault_rates::{By, Certainty, Quantity};

use crate::review::demo::demo;

/// The daily curve and the banded follow-up count the same person-time and the same faults, though
/// one keeps entries and exits by day and the other seconds by band.
#[test]
fn days_since_mating_hold_the_person_time_of_the_bands() {
    let counts = &demo().derived.counts;
    let mut by_day: BTreeMap<u32, BTreeMap<u32, [i64; 4]>> = BTreeMap::new();
    for ([_, _, class, day], row) in counts.followed.since_mating.coded() {
        let cell = by_day.entry(class).or_default().entry(day).or_default();
        for (sum, more) in cell.iter_mut().zip(row) {
            *sum += more;
        }
    }
    let mut compared = 0;
    for (class, days) in by_day {
        let (mut present, mut seconds, mut faults, mut matings) = (0, 0, 0, 0);
        for day in 0..90 {
            let [entered, left, part, linked] = days.get(&day).copied().unwrap_or_default();
            present += entered;
            seconds += present * 86_400 + part;
            present -= left;
            faults += linked;
            matings += entered;
        }
        let banded = counts.followed.follow_up.coded();
        let own = banded.iter().filter(|(cell, _)| cell[6] == class);
        let (band_faults, band_seconds) =
            own.fold((0, 0), |sum, (_, row)| (sum.0 + row[2], sum.1 + row[3]));
        assert_eq!(faults, band_faults, "class {class}");
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

/// The cost of the looks not made, by hand from the demo's prices and routine visits: minutes of a
/// look, and the cleanings and rejects per look that the same stage and family had.
#[test]
fn looks_not_made_cost_their_minutes_and_what_they_would_have_found() {
    let demo = demo();
    let derived = &demo.derived;
    let (stage, family) = ("maintenance", "MPO");
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
    let (mut looks, mut cleanings, mut rejects) = (0, 0, 0);
    for (cell, row) in derived.counts.first_pass.visits.coded() {
        if quarters.contains(&cell[0])
            && cell[2] == stage_code
            && cell[3] == family_code
            && cell[6] == 3
        {
            (looks, cleanings, rejects) = (looks + row[1], cleanings + row[6], rejects + row[7]);
        }
    }
    let skipped = [Coverage::One as u32, Coverage::None as u32];
    let unseen: i64 = derived
        .counts
        .followed
        .follow_up
        .coded()
        .iter()
        .filter(|(cell, _)| {
            quarters.contains(&cell[0])
                && (cell[2], cell[3], cell[5]) == (stage_code, family_code, 0)
                && skipped.contains(&cell[6])
        })
        .map(|(_, row)| row[1])
        .sum();
    let text = include_str!("../../../data-demo/fleet.toml");
    let settings: toml::Table = text.parse().unwrap();
    let price = |name: &str| {
        let value = &settings["costs"][name];
        value.as_float().or(value.as_integer().map(|whole| whole as f64)).unwrap()
    };
    let minute = price("labour_hour") / 60.0;
    let look = price("look_minutes") * minute
        + cleanings as f64 / looks as f64
            * (price("cleaning_minutes") * minute + price("cleaning_material"))
        + rejects as f64 / looks as f64 * price("reject");
    let row = demo
        .rows("skipped_cost", "stage+family", "net-saving")
        .into_iter()
        .find(|row| {
            row.group.stage.as_deref() == Some(stage) && row.group.family.as_deref() == Some(family)
        })
        .unwrap();
    let stated: f64 = demo.own("skipped_cost", row, "look_cost").parse().unwrap();
    assert!((stated - unseen as f64 * look * 100.0).abs() <= 1.0, "{stated}");
}
