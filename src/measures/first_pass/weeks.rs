//! 5.1 over time: weekly p-prime chart of routine first looks (Laney 2002) with the run rules of the
//! Western Electric handbook (1956).

use super::declared::{By, Own, Quantity, Row, Signal, Table};
use crate::by;
use crate::derive::counts::{FirstLooks, WeekNo};
use crate::derive::{DeriveError, Group as Counts, Rows};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::stats::run_rules::{RunRule, run_rules};
use crate::stats::{PPoint, p_prime};

/// What was counted in a week.
type Week = Counts<FirstLooks>;

/// Adds a row a week that was over by the period's end: its share, the limits it keeps within where
/// nothing changes, the centre line, and the rule that signals at it.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn first_pass_weeks(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let weeks = &evidence.derived.calendar.weeks;
    let over = |piece: &u32| weeks.start(piece + 1) <= evidence.derived.period.end;
    let rows = Rows::all().with((0..weeks.count()).filter(over).map(WeekNo));
    let columns = by!(WeekNo);
    let found = evidence.groups::<FirstLooks>(&rows, &columns)?;
    let count = |count: i64| count.max(0) as u64;
    let sample = |week: &Week| (count(week.counts.clean), count(week.counts.looks));
    let samples: Vec<(u64, u64)> = found.iter().map(sample).collect();
    let chart = p_prime(&samples);
    // Weeks without a look have no point; the rules read the points that are there.
    let points: Vec<(&Week, PPoint)> = found
        .iter()
        .zip(&chart.points)
        .filter_map(|(week, point)| Some((week, (*point)?)))
        .collect();
    let distances: Vec<f64> = points.iter().map(|(_, point)| point.z_prime).collect();
    let signals = run_rules(&distances);
    for (index, (week, point)) in points.iter().enumerate() {
        let rule = signals
            .iter()
            .find(|signal| signal.index == index)
            .map(|signal| self::signal(signal.rule));
        let own = Own { centre: chart.centre, signal: rule, ..Own::default() };
        let group = Group::of(&columns.columns(), &week.words);
        let row = Row::figure(By::Week, group, Quantity::Week, point.share, "p-prime limits", own);
        table.rows.push(Row {
            n: week.counts.looks as f64,
            events: Some(week.counts.clean),
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
