//! 5.2: what cleaning without a look costs.
//!
//! An end face that is cleaned before anybody looked may have been clean. How often is taken from the
//! visits of the same stage that began with a look; where people clean unseen what looks dirty to them,
//! that is too many, and the rows say `selective` where more than a fifth begin unseen. Looks saved are
//! beside it, since whoever does not look saves one.

use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;
use crate::measures::first_pass::SELECTIVE;
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
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
    // No tool reaches a sealed lens.
    let only = evidence.look_back().with("row", &["routine", "prompted", "again"]);
    let cells = evidence.cells("visits", &only, &["stage"], &["visits", "looks", "clean"])?;
    let quantity = "needless-unseen-cost";
    let mut all = Row::figure("fleet", Group::default(), quantity, Unit::Money, 0.0, METHOD);
    (all.low, all.high, all.events) = (Some(0.0), Some(0.0), None);
    let own = |unseen: f64| [("looks_saved", Value::Money((unseen * look).round() as i64))];
    for cell in &cells {
        let [visits, looks, clean] = std::array::from_fn(|at| cell.sums[at].max(0) as f64);
        let unseen = (visits - looks).max(0.0);
        if unseen == 0.0 {
            continue;
        }
        let share = wilson(clean, looks, rules.level);
        let group = Group::of(&["stage"], &cell.group);
        let row = Row::of("stage", group, quantity, Unit::Money, &share).scaled(unseen * cleaning);
        let thin = (looks < f64::from(rules.least_count)).then_some(Flag::Thin);
        let selective = (unseen > SELECTIVE * visits).then_some(Flag::Selective);
        let row = Row { n: unseen, events: None, method: METHOD, ..row }
            .flagged(thin)
            .flagged(selective)
            .with(table.fill(&own(unseen)));
        let plus = |sum: Option<f64>, part: Option<f64>| Some(sum? + part?);
        all.n += unseen;
        all.estimate = plus(all.estimate, row.estimate);
        (all.low, all.high) = (plus(all.low, row.low), plus(all.high, row.high));
        all = all.flagged(row.flags.iter().copied());
        table.rows.push(row);
    }
    if all.n > 0.0 {
        let own = table.fill(&own(all.n));
        table.rows.push(all.with(own));
    }
    Ok(())
}
