//! 5.1 over time: weekly p-prime chart of routine first looks (Laney 2002) with the run rules of the
//! Western Electric handbook (1956).

use super::declared::{By, Own, Quantity, Row, Signal, Table};
use crate::derive::{Cell, DeriveError, Only};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::stats::run_rules::{RunRule, run_rules};
use crate::stats::{PPoint, p_prime};

/// Adds a row a week that was over by the period's end: its share, the limits it keeps within where
/// nothing changes, the centre line, and the rule that signals at it.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn first_pass_weeks(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let calendar = &evidence.derived.calendar;
    let over = |piece: &u32| calendar.weeks.start(piece + 1) <= evidence.derived.period.end;
    let weeks: Vec<String> =
        (0..calendar.weeks.count()).filter(over).map(|piece| calendar.week(piece)).collect();
    let only = Only::all().with("week", &weeks);
    let cells = evidence.cells("first_looks", &only, &["week"], &["looks", "clean"])?;
    let count = |cell: &Cell, at: usize| cell.sums[at].max(0) as u64;
    let samples: Vec<(u64, u64)> =
        cells.iter().map(|cell| (count(cell, 1), count(cell, 0))).collect();
    let chart = p_prime(&samples);
    // Weeks without a look have no point; the rules read the points that are there.
    let points: Vec<(&Cell, PPoint)> = cells
        .iter()
        .zip(&chart.points)
        .filter_map(|(cell, point)| Some((cell, (*point)?)))
        .collect();
    let distances: Vec<f64> = points.iter().map(|(_, point)| point.z_prime).collect();
    let signals = run_rules(&distances);
    for (index, (cell, point)) in points.iter().enumerate() {
        let rule = signals
            .iter()
            .find(|signal| signal.index == index)
            .map(|signal| self::signal(signal.rule));
        let own = Own { centre: chart.centre, signal: rule, ..Own::default() };
        let group = Group::of(&["week"], &cell.group);
        let row = Row::figure(By::Week, group, Quantity::Week, point.share, "p-prime limits", own);
        table.rows.push(Row {
            n: cell.sums[0] as f64,
            events: Some(cell.sums[1]),
            low: Some(point.prime.0.max(0.0)),
            high: Some(point.prime.1.min(1.0)),
            ..row
        });
    }
    Ok(())
}

fn signal(rule: RunRule) -> Signal {
    match rule {
        RunRule::BeyondThree => Signal::BeyondLimits,
        RunRule::TwoOfThreeBeyondTwo => Signal::TwoOfThree,
        RunRule::FourOfFiveBeyondOne => Signal::FourOfFive,
        RunRule::EightOnOneSide => Signal::EightInARow,
    }
}
