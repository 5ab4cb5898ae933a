//! Changes of rates (5.9): linked faults per connection-month in force.
//!
//! Ratio with the exact conditional interval, mid-P, on events over their scatter: squared gaps of
//! site-weeks from their site's rate in that quarter, over what Poisson counts would leave.

use std::collections::BTreeMap;

use super::{GROUPINGS, Pair, expects_too_few, side_by_side};
use crate::derive::{Cell, DeriveError, Only};
use crate::measures::evidence::Evidence;
use crate::measures::fault_rates::{LEAST_MONTHS, MONTH_S};
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::rate_change::{CountScatter, Exposed, rate_change};

const QUANTITY: &str = "faults-per-1000-months";
/// First faults of confirmed or probable contamination, and time in force to them.
const SUMS: &[&str] = &["linked", "linked_s"];

/// Adds the rows of the fault rate.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn rates(
    evidence: &Evidence,
    pair: &Pair,
    table: &mut Table,
) -> Result<(), DeriveError> {
    for (by, columns) in GROUPINGS {
        let now = evidence.cells("in_force", &pair.now, columns, SUMS)?;
        let before = evidence.cells("in_force", &pair.before, columns, SUMS)?;
        let scatters =
            [scatters(evidence, &pair.now, columns)?, scatters(evidence, &pair.before, columns)?];
        for cells in side_by_side(now, before) {
            let words = cells.iter().flatten().next().map(|cell| cell.group.clone());
            let words = words.unwrap_or_default();
            let [now, before] = &cells;
            let sides =
                [Side::of(now, &scatters[0], &words), Side::of(before, &scatters[1], &words)];
            let group = Group::of(columns, &words);
            table.rows.push(row(evidence, (by, group), pair, &sides, table));
        }
    }
    Ok(())
}

/// How faults of site-weeks scatter about their site's rate, by group.
fn scatters(
    evidence: &Evidence,
    quarter: &Only,
    columns: &[&'static str],
) -> Result<BTreeMap<Vec<String>, CountScatter>, DeriveError> {
    let mut by: Vec<&str> = columns.to_vec();
    by.extend(["site", "week"].iter().filter(|column| !columns.contains(column)));
    let site = by.iter().position(|column| *column == "site").unwrap_or(0);
    let mut groups: BTreeMap<Vec<String>, BTreeMap<u32, Vec<Exposed>>> = BTreeMap::new();
    for cell in evidence.cells("force_weeks", quarter, &by, SUMS)? {
        let strata = groups.entry(cell.group[..columns.len()].to_vec()).or_default();
        let unit =
            Exposed { events: cell.sums[0].max(0) as u64, exposure: cell.sums[1].max(0) as f64 };
        strata.entry(cell.places[site]).or_default().push(unit);
    }
    let scatter = |strata: BTreeMap<u32, Vec<Exposed>>| {
        CountScatter::of(&strata.into_values().collect::<Vec<_>>())
    };
    Ok(groups.into_iter().map(|(group, strata)| (group, scatter(strata))).collect())
}

/// One cell in one quarter.
struct Side {
    faults: u64,
    months: f64,
    scatter: CountScatter,
}

impl Side {
    fn of(
        cell: &Option<Cell>,
        scatters: &BTreeMap<Vec<String>, CountScatter>,
        words: &[String],
    ) -> Side {
        let sum = |at: usize| cell.as_ref().map_or(0, |cell| cell.sums[at].max(0));
        Side {
            faults: sum(0) as u64,
            months: sum(1) as f64 / MONTH_S,
            scatter: scatters.get(words).copied().unwrap_or_default(),
        }
    }

    /// Per 1,000 connection-months.
    fn value(&self) -> Option<f64> {
        (self.months > 0.0).then(|| self.faults as f64 / self.months * 1000.0)
    }
}

fn row(
    evidence: &Evidence,
    (by, group): (&'static str, Group),
    pair: &Pair,
    [now, before]: &[Side; 2],
    table: &Table,
) -> Row {
    let rules = evidence.rules();
    let scatter = now.scatter.with(before.scatter);
    let sides = ((now.faults, now.months), (before.faults, before.months));
    let change = rate_change(sides.0, sides.1, &scatter, rules.level);
    let count = |value: u64| Value::Count(i64::try_from(value).unwrap_or(i64::MAX));
    let [against, quarter] = pair.named();
    let own = table.fill(&[
        against,
        quarter,
        ("value", now.value().into()),
        ("n_before", Value::Number(before.months)),
        ("events_before", count(before.faults)),
        ("value_before", before.value().into()),
        ("p", Value::Number(change.p)),
        ("clusters", count(now.scatter.units)),
        ("clusters_before", count(before.scatter.units)),
        ("phi", scatter.phi().map(|phi| phi.max(1.0)).into()),
    ]);
    let site = group.site.clone();
    let mut row = Row::of(by, group, QUANTITY, Unit::Ratio, &change.ratio).with(own);
    (row.n, row.events) = (now.months, i64::try_from(now.faults).ok());
    let any = |such: &dyn Fn(&Side) -> bool| such(now) || such(before);
    let few = u64::from(rules.few_clusters);
    row.flagged(any(&|side| side.months < LEAST_MONTHS).then_some(Flag::Thin))
        .flagged(expects_too_few(
            now.faults as f64 + before.faults as f64,
            [now.months, before.months],
        ))
        // Faults of a few site-weeks tell little of scatter, however many weeks had none.
        .flagged((scatter.degrees() + 1.0 < few as f64).then_some(Flag::FewClusters))
        .flagged(any(&|side| side.scatter.units < few).then_some(Flag::FewClusters))
        .flagged(evidence.guessed_cover(site.as_deref()))
}
