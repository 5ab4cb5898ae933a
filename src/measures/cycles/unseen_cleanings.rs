//! 5.2: what cleaning without a look costs.
//!
//! An end face that is cleaned before anybody looked may have been clean. How often is taken from the
//! visits of the same stage that began with a look; where people clean unseen what looks dirty to them,
//! that is too many, and the rows say `selective` where more than a fifth begin unseen. Looks saved are
//! next to it, since whoever does not look saves one.

use super::declared::{By, Own, Quantity, Row, Table};
use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Stage, VisitRow, Visits};
use crate::measures::evidence::Evidence;
use crate::measures::first_pass::SELECTIVE;
use crate::measures::flag::Flag;
use crate::measures::results::{Group, Money};
use crate::stats::wilson;

const METHOD: &str = "first looks of the stage, Wilson";

/// Adds the cost of needless cleanings, minor units over the months looked back, by stage and of the
/// fleet (its limits are the sums of the stages': the outermost). No rows where a cleaning has no price.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn unseen_cleanings(
    evidence: &Evidence,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let (costs, rules) = (evidence.costs(), evidence.rules());
    let minute = costs.labour_hour as f64 / 60.0;
    let cleaning = costs.cleaning_minutes * minute + costs.cleaning_material as f64;
    let look = costs.look_minutes * minute;
    if cleaning <= 0.0 {
        return Ok(());
    }
    // No tool reaches a recessed lens.
    let cleaned = [VisitRow::Routine, VisitRow::Prompted, VisitRow::Again];
    let rows = evidence.looked_back::<Visits>().with(cleaned);
    let own = |unseen: f64| Own {
        looks_saved: Some(Money((unseen * look).round() as i64)),
        ..Own::default()
    };
    let (quantity, nothing) = (Quantity::NeedlessUnseenCost, Own::default());
    let mut all = Row::figure(By::Fleet, Group::default(), quantity, 0.0, METHOD, nothing);
    (all.low, all.high, all.events) = (Some(0.0), Some(0.0), None);
    let columns = by!(Stage);
    for found in evidence.groups::<Visits>(&rows, &columns)? {
        let count = |figure: i64| figure.max(0) as f64;
        let (visits, looks) = (count(found.counts.visits), count(found.counts.looks));
        let unseen = (visits - looks).max(0.0);
        if unseen == 0.0 {
            continue;
        }
        let share = wilson(count(found.counts.clean), looks, rules.level);
        let group = Group::of(&columns.columns(), &found.words);
        let row = Row::of(By::Stage, group, quantity, &share, own(unseen));
        let thin = (looks < f64::from(rules.least_count)).then_some(Flag::Thin);
        let selective = (unseen > SELECTIVE * visits).then_some(Flag::Selective);
        // First looks of one work order are no independent draws.
        let warned = [Flag::Narrow].into_iter().chain(thin).chain(selective);
        let row = row.scaled(unseen * cleaning).flagged(warned);
        let row = Row { n: unseen, events: None, method: METHOD, ..row };
        let plus = |sum: Option<f64>, part: Option<f64>| Some(sum? + part?);
        all.n += unseen;
        all.estimate = plus(all.estimate, row.estimate);
        (all.low, all.high) = (plus(all.low, row.low), plus(all.high, row.high));
        all = all.flagged(row.flags.iter().copied());
        table.rows.push(row);
    }
    if all.n > 0.0 {
        let own = own(all.n);
        table.rows.push(Row { own, ..all });
    }
    Ok(())
}
