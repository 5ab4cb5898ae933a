//! 5.5's page of sensitivity: the headline ratio and the net saving under other rules, a row each.
//!
//! All from one pass: variants are count tables of their own, or the usual follow-up read another
//! way. They are not counted by site-week; their intervals are widened as much as the headline's
//! was for its clusters. Same strata, exposure and reference as the headline but for what the row
//! names.

use std::collections::BTreeMap;

use super::money::Books;
use super::opinions::{Opinions, as_headline};
use super::ratio::{is_thin, months_at_risk, text};
use super::strata::EXPOSURES;
use crate::derive::{Cell, DeriveError, Only, Variant};
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::{PersonTime, exposed_fraction};

const SECONDS_PER_DAY: f64 = 86_400.0;
/// Grouping columns of a stratum, the coverage last.
const BY: &[&str] = &["site", "stage", "family", "band", "quarter", "criteria", "coverage"];
/// Of the usual follow-up what the variants' tables count.
const USUAL: &[&str] = &["started", "unseen_ends", "linked", "linked_s", "cost"];
const COUNTED: &[&str] = &["started", "unseen_ends", "faults", "seconds", "cost"];
/// Where matings of unknown coverage are counted.
const UNKNOWN: [(&str, bool); 2] = [("unknown-as-skipped", true), ("unknown-as-both", false)];

/// Which coverages are on which side.
#[derive(Clone, Copy)]
struct Sides {
    exposed: &'static [&'static str],
    reference: &'static [&'static str],
}

const USUAL_SIDES: Sides = Sides { exposed: EXPOSURES[0].1, reference: &["both"] };

/// Adds the rows: as the rules say, then every variant that is another rule.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn sensitivity(books: &Books, table: &mut Table) -> Result<(), DeriveError> {
    let evidence = books.evidence;
    let headline = books.opinions(EXPOSURES[0].1);
    let only = evidence.look_back().with("after_fault", &["no"]);
    let usual = evidence.cells("follow_up", &only, BY, USUAL)?;
    let mut push = |variant: &str, cells: &[Cell], sides: Sides| {
        let row = row(books, &headline, variant, cells, sides, table);
        table.rows.push(row);
    };
    push("as-ruled", &usual, USUAL_SIDES);
    let others = Variant::ALL.into_iter().zip(Variant::WORDS);
    for (_, word) in others.filter(|(variant, _)| !variant.is_the_rule(evidence.rules())) {
        let cells =
            evidence.cells("variants", &Only::all().with("variant", &[word]), BY, COUNTED)?;
        push(word, &cells, USUAL_SIDES);
    }
    for (word, skipped) in UNKNOWN {
        let sides = if skipped {
            Sides { exposed: &["one", "none", "unknown"], ..USUAL_SIDES }
        } else {
            Sides { reference: &["both", "unknown"], ..USUAL_SIDES }
        };
        push(word, &usual, sides);
    }
    Ok(())
}

/// What the cells of one variant come to.
#[derive(Default)]
struct Sums {
    strata: BTreeMap<Vec<u32>, PersonTime>,
    matings: i64,
    cost: i64,
    looks: f64,
}

fn sums(books: &Books, cells: &[Cell], sides: Sides) -> Sums {
    let mut sums = Sums::default();
    let mut prices: BTreeMap<[u32; 2], f64> = BTreeMap::new();
    for cell in cells {
        let last = BY.len() - 1;
        let word = cell.group[last].as_str();
        let (exposed, reference) = (sides.exposed.contains(&word), sides.reference.contains(&word));
        if !exposed && !reference {
            continue;
        }
        let stratum = sums.strata.entry(cell.places[..last].to_vec()).or_default();
        let faults = cell.sums[2].max(0) as u64;
        let days = cell.sums[3].max(0) as f64 / SECONDS_PER_DAY;
        if reference {
            stratum.d0 += faults;
            stratum.t0 += days;
            continue;
        }
        stratum.d1 += faults;
        stratum.t1 += days;
        sums.matings += cell.sums[0];
        sums.cost = sums.cost.saturating_add(cell.sums[4]);
        let price = prices
            .entry([cell.places[1], cell.places[2]])
            .or_insert_with(|| books.prices.price(&cell.group[1], &cell.group[2]));
        sums.looks += cell.sums[1] as f64 * *price;
    }
    sums
}

fn row(
    books: &Books,
    headline: &Opinions,
    variant: &str,
    cells: &[Cell],
    sides: Sides,
    table: &Table,
) -> Row {
    let sums = sums(books, cells, sides);
    let strata: Vec<PersonTime> = sums.strata.into_values().collect();
    let ratio = as_headline(&strata, headline, books.evidence.rules().level);
    let attributable = match sums.cost {
        0 => Some(0.0),
        cost => exposed_fraction(&ratio).value.map(|share| share * cost as f64),
    };
    let money = |value: Option<f64>| {
        value.map_or(Value::Missing, |value| Value::Money(value.round() as i64))
    };
    let faults = |pick: fn(&PersonTime) -> u64| strata.iter().map(pick).sum::<u64>() as i64;
    let (skipped, both) = (faults(|stratum| stratum.d1), faults(|stratum| stratum.d0));
    let values = [
        ("exposure", text("skipped")),
        ("after_fault", text("no")),
        ("variant", text(variant)),
        ("faults_skipped", Value::Count(skipped)),
        ("faults_both", Value::Count(both)),
        ("matings_skipped", Value::Count(sums.matings)),
        ("fault_cost", Value::Money(sums.cost)),
        ("attributable", money(attributable)),
        ("look_cost", money(Some(sums.looks))),
        ("net_saving", money(attributable.map(|value| value - sums.looks))),
    ];
    let mut row = Row::of("fleet", Group::default(), "sensitivity", Unit::Ratio, &ratio);
    (row.n, row.events) = (months_at_risk(&strata), Some(skipped + both));
    row.with(table.fill(&values))
        .flagged(is_thin(&strata).then_some(Flag::Thin))
        .flagged(books.evidence.guessed_cover(None))
}
