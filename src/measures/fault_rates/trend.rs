//! Whether linked faults become more or less frequent from quarter to quarter (5.4): Laplace's test, and
//! the growth of a power law.
//!
//! Time is what has been in force so far, in connection-months, so that a growing fleet shows no trend
//! of its own. Counts vary with the scatter of a site's blocks of time, or with that of the quarters
//! about the trend where that is more.

use super::connection_months::months;
use super::declared::{By, Certainty, Own, Quantity, Row, Table};
use super::scatter::Spread;
use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{InForce, QuarterNo};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::{Spell, grouped_laplace, grouped_power_law, scatter_about};

/// Fewest quarters in which a trend is looked for: two more than are fitted.
const LEAST_QUARTERS: usize = 4;
/// Fewest faults behind a trend that is not `thin` (the normal approximation of Laplace's test).
const LEAST_FAULTS: u64 = 5;

/// Adds the fleet's trend; nothing with fewer than four quarters.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn rate_trend(
    evidence: &Evidence,
    phi: f64,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let quarters = evidence.groups::<InForce>(&evidence.until_period(), &by!(QuarterNo))?;
    let spells: Vec<Spell> = quarters
        .iter()
        .map(|found| Spell {
            events: found.counts.linked.max(0) as u64,
            exposure: months(found.counts.linked_s),
        })
        .filter(|spell| spell.exposure > 0.0)
        .collect();
    if spells.len() < LEAST_QUARTERS {
        return Ok(());
    }
    let level = evidence.rules().level;
    let plain = grouped_power_law(&spells, phi, level);
    let about = plain.value.and_then(|growth| scatter_about(&spells, growth));
    let phi = about.map_or(phi, |about| about.max(phi));
    let growth = grouped_power_law(&spells, phi, level);
    let test = grouped_laplace(&spells, phi);
    let spread = Spread {
        phi,
        p: test.map(|test| test.p),
        clusters: spells.len() as u64,
        few: false,
        block: None,
        narrow: false,
    };
    let seconds =
        quarters.iter().fold(0_i64, |sum, found| sum.saturating_add(found.counts.linked_s.max(0)));
    let own: Own = spread.own(Certainty::Linked, seconds);
    let thin = (growth.events < LEAST_FAULTS).then_some(Flag::Thin);
    let flags: Vec<Flag> = thin.into_iter().chain(evidence.guessed_cover(None)).collect();
    let (by, group) = (By::Fleet, Group::default());
    let row = Row::of(by, group.clone(), Quantity::RateGrowth, &growth, own.clone());
    table.rows.push(row.flagged(flags.clone()));
    if let Some(test) = test {
        let (square, method) = (test.u * test.u, "Laplace, counts of quarters");
        let row = Row::figure(by, group, Quantity::RateTrend, square, method, own);
        let events = i64::try_from(growth.events).ok();
        table.rows.push(Row { n: 1.0, events, ..row }.flagged(flags));
    }
    Ok(())
}
