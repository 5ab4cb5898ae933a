//! Tickets that state no price: what stands for them must not move the money, and where most state none there is no money.

use motetrail::measures::skipped_cost::{By, Quantity, Row};
use motetrail::measures::trust::{By as TrustBy, Quantity as Trusted};
use motetrail::measures::{Flag, Review, fault_rates};
use motetrail::synth::{Departures, Recipe};

use super::{Exports, Reviewed, recipe, seeds};

fn unpriced(share: f64) -> Departures {
    Departures { unpriced: Some(share), ..Departures::default() }
}

fn saving(review: &Review) -> &Row {
    review.skipped_cost.rows_of(By::Fleet, Quantity::NetSaving).next().unwrap()
}

/// Share of the tickets of linked faults that state no price, by source; of all without one.
fn silent(reviewed: &Reviewed, source: Option<&str>) -> f64 {
    let by = if source.is_some() { TrustBy::Source } else { TrustBy::Fleet };
    let mut rows = reviewed.review.trust.rows_of(by, Trusted::Unpriced);
    rows.find(|row| row.own.source.as_deref() == source).unwrap().estimate.unwrap()
}

/// Whether the interval of the net saving of a fleet whose tickets mostly state their price holds what the same fleet saves
/// where all do.
fn is_held(seed: u64, share: f64) -> bool {
    let whole = Exports::of(&recipe(seed, Departures::default())).review();
    let part = Exports::of(&recipe(seed, unpriced(share))).review();
    assert!(silent(&whole, None) < 0.01 && (silent(&part, None) - share).abs() < 0.12);
    let (whole, part) = (saving(&whole.review), saving(&part.review));
    assert_eq!(whole.own.ratio, part.own.ratio);
    let bounds = part.low.zip(part.high).unwrap();
    (bounds.0..=bounds.1).contains(&whole.estimate.unwrap())
}

#[test]
fn prices_left_out_by_chance_leave_the_net_saving_inside_its_interval() {
    let seeds = seeds(2);
    let tried = seeds.end - seeds.start;
    let held = seeds.filter(|seed| is_held(*seed, 0.35)).count() as u64;
    assert!(held * 100 >= tried * 95, "{held} of {tried}");
}

#[test]
fn fleets_whose_tickets_state_their_prices_carry_no_flag() {
    for seed in seeds(2) {
        let reviewed = Exports::of(&recipe(seed, Departures::default())).review();
        assert!(!reviewed.is_flagged(Flag::Unpriced), "seed {seed}");
    }
}

#[test]
fn fleets_whose_tickets_mostly_state_none_are_flagged() {
    for seed in seeds(2) {
        let reviewed = Exports::of(&recipe(seed, unpriced(0.8))).review();
        assert!(saving(&reviewed.review).flags.contains(&Flag::Unpriced), "seed {seed}");
        let cells = reviewed.review.skipped_cost.rows_of(By::StageFamily, Quantity::NetSaving);
        assert!(cells.into_iter().all(|row| row.own.rank.is_none()), "seed {seed}");
    }
}

/// The settings without the columns of a price in the map of one source, or of every one.
fn without_prices(settings: String, source: Option<&str>) -> String {
    let mut here = false;
    let mut lines = Vec::new();
    for line in settings.lines() {
        if let Some(name) = line.strip_prefix("name = ") {
            here = source.is_none_or(|source| name == format!("{source:?}"));
        }
        let mut line = line.to_owned();
        for column in ["downtime_min", "labour_min", "visits", "cost"] {
            if let Some(at) = line.find(&format!("{column} = \"")).filter(|_| here) {
                let end = at + line[at..].match_indices('"').nth(1).unwrap().0 + 1;
                line.replace_range(at..end, "");
            }
        }
        lines.push(
            line.replace(", ,", ",").replace(", ,", ",").replace(", ,", ",").replace(",  }", " }"),
        );
    }
    lines.join("\n")
}

#[test]
fn without_any_price_there_is_no_money_and_everything_else_stays() {
    let exports = Exports::of(&recipe(1, Departures::default()));
    let (priced, bare) =
        (exports.review(), exports.review_under(|settings| without_prices(settings, None)));
    let (before, after) = (saving(&priced.review), saving(&bare.review));
    assert!(before.estimate.is_some());
    assert!(after.flags.contains(&Flag::Unpriced));
    assert_eq!((after.estimate, after.low, after.high), (None, None, None));
    assert_eq!((after.own.fault_cost, after.own.unpriced), (None, Some(1.0)));
    assert_eq!(
        (after.n, after.events, after.own.ratio),
        (before.n, before.events, before.own.ratio)
    );
    let (one, other) = (&priced.review, &bare.review);
    assert_eq!(one.first_pass.rows, other.first_pass.rows);
    assert_eq!(one.coverage.rows, other.coverage.rows);
    let ratios = |review: &Review| {
        review.skipped_cost.quantity(Quantity::RateRatio).cloned().collect::<Vec<_>>()
    };
    assert_eq!(ratios(one), ratios(other));
    let rates = |review: &Review| {
        let is_rate = |row: &&fault_rates::Row| {
            !matches!(
                row.quantity,
                fault_rates::Quantity::FaultCost | fault_rates::Quantity::DowntimeHours
            )
        };
        review.fault_rates.rows.iter().filter(is_rate).cloned().collect::<Vec<_>>()
    };
    assert_eq!(rates(one), rates(other));
    let mut costs = other.fault_rates.quantity(fault_rates::Quantity::FaultCost);
    assert!(costs.all(|row| row.estimate.is_none() && !row.is_firm()));
}

#[test]
fn a_source_that_states_no_price_is_priced_by_the_others_and_named() {
    let recipe = Recipe { inspections: 20_000, ..Recipe::sound() };
    let exports = Exports::of(&recipe);
    let whole = exports.review();
    let reviewed = exports.review_under(|settings| without_prices(settings, Some("fault-desk")));
    assert_eq!(silent(&reviewed, Some("fault-desk")), 1.0);
    let others = reviewed.review.trust.rows_of(TrustBy::Source, Trusted::Unpriced);
    let others: Vec<_> =
        others.filter(|row| row.own.source.as_deref() != Some("fault-desk")).collect();
    assert!(!others.is_empty() && others.iter().all(|row| row.estimate < Some(0.1)));
    let cost = |reviewed: &Reviewed| saving(&reviewed.review).own.fault_cost.unwrap().0 as f64;
    let (before, after) = (cost(&whole), cost(&reviewed));
    assert!((after / before - 1.0).abs() < 0.25, "{before} and {after}");
    assert_eq!(saving(&whole.review).own.ratio, saving(&reviewed.review).own.ratio);
}

/// Costs as a ticket desk writes them, such as `€1,009.12`: the last column of the tickets.
fn rewritten(exports: &Exports) -> usize {
    let mut grouped = 0;
    for entry in std::fs::read_dir(exports.folder.path().join("exports/plain")).unwrap() {
        let path = entry.unwrap().path();
        if !path.file_name().unwrap().to_str().unwrap().starts_with("faults-") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let row = |(number, line): (usize, &str)| {
            let (rest, cost) = line.rsplit_once(',').unwrap();
            let Some((whole, cents)) = cost.split_once('.').filter(|_| number > 0) else {
                return format!("{line}\n");
            };
            if whole.len() < 4 {
                return format!("{rest},€{cost}\n");
            }
            grouped += 1;
            let (thousands, hundreds) = whole.split_at(whole.len() - 3);
            format!("{rest},\"€{thousands},{hundreds}.{cents}\"\n")
        };
        let lines: String = text.lines().enumerate().map(row).collect();
        std::fs::write(&path, lines).unwrap();
    }
    grouped
}

#[test]
fn costs_with_thousands_and_signs_load_by_one_key_and_give_the_same_money() {
    let exports = Exports::of(&recipe(1, Departures::default()));
    // A cost that cannot be read costs its row here, so that the rows can be counted.
    let strict = |settings: String| {
        settings.replace("name = \"faults\"", "name = \"faults\"\nunreadable = \"quarantine\"")
    };
    let before = exports.review_under(strict);
    let grouped = rewritten(&exports);
    assert!(grouped > 20, "{grouped}");
    let refused = |reviewed: &Reviewed| -> u64 {
        let faults = reviewed.accounts.iter().filter(|account| account.source == "faults");
        faults.map(|account| account.rows.quarantined).sum()
    };
    assert_eq!(refused(&exports.review_under(strict)) - refused(&before), grouped as u64);
    let named = |settings: String| {
        settings.replace("name = \"faults\"", "name = \"faults\"\nthousands = \",\"")
    };
    let after = exports.review_under(|settings| named(strict(settings)));
    assert_eq!(refused(&after), refused(&before));
    assert_eq!(saving(&after.review), saving(&before.review));
}
