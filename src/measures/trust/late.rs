//! How late tickets come after the repair (F2): every source's window and what it goes by, the delays that its tickets
//! show, and the headline ratio with other windows.

use std::collections::BTreeMap;

use super::declared::{By, Own, Quantity, Row, Table};
use super::sources::{Sources, of_fleet};
use crate::derive::counts::{DelayHours, FaultSource, Sign};
use crate::derive::{DeriveError, LATEST_HOURS, MOST_HOURS};
use crate::measures::results::Group;
use crate::measures::skipped_cost;

/// Delays are counted by so many hours.
const STEP_HOURS: u32 = 12;
/// Shares of the late tickets whose delay is told.
const WITHIN: [f64; 2] = [0.5, 0.95];

pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let counts = &from.evidence.derived.counts.late;
    let mut delays: BTreeMap<FaultSource, BTreeMap<Sign, Delays>> = BTreeMap::new();
    for (cell, counted) in counts.tickets.cells() {
        let of_sign = delays.entry(cell.source).or_default().entry(cell.sign).or_default();
        of_sign.0.push((cell.delay, counted.tickets));
    }
    let names = &from.evidence.derived.glossary.source.0;
    let mut sources = counts.sources.cells();
    sources.sort_by_key(|(cell, _)| names.word(cell.source.0));
    for (cell, counted) in sources {
        let signs = delays.remove(&cell.source).unwrap_or_default();
        let source = Source { from, code: cell.source };
        source.window(counted.tickets, &signs, table);
        source.quantiles(&signs, table);
        source.distribution(&signs, table);
    }
    let replaced = counts.replacements.total();
    for (sign, ends) in [
        (Sign::Unexplained, replaced.replaced - replaced.explained),
        (Sign::Explained, replaced.explained),
    ] {
        let own = Own { sign: Some(sign), ..Own::default() };
        table.rows.push(of_fleet(Quantity::Replacements, ends, own));
    }
    table
        .rows
        .extend(from.skipped_cost.quantity(skipped_cost::Quantity::Sensitivity).filter_map(ratio));
    Ok(())
}

/// Tickets by whole hours from the replacement.
#[derive(Default)]
struct Delays(Vec<(DelayHours, i64)>);

impl Delays {
    fn within(&self, hours: std::ops::Range<u32>) -> i64 {
        self.0.iter().filter(|(at, _)| hours.contains(&at.0)).map(|(_, tickets)| tickets).sum()
    }

    /// The least delay, hours, that a share of those within the longest window stays under.
    fn quantile(&self, share: f64) -> Option<u32> {
        let all = self.within(0..MOST_HOURS);
        (1..=MOST_HOURS)
            .find(|hours| all > 0 && self.within(0..*hours) as f64 >= share * all as f64)
    }
}

/// A source of tickets.
struct Source<'a> {
    from: &'a Sources<'a>,
    code: FaultSource,
}

impl Source<'_> {
    fn own(&self) -> Own {
        let name = self.from.evidence.derived.glossary.source.0.word(self.code.0);
        Own { source: Some(name.to_owned()), ..Own::default() }
    }

    fn count(&self, quantity: Quantity, count: i64, own: Own) -> Row {
        Row::count(By::Source, Group::default(), quantity, count, own)
    }

    fn hours(&self, quantity: Quantity, hours: u32, method: &'static str, own: Own) -> Row {
        Row::figure(By::Source, Group::default(), quantity, hours.into(), method, own)
    }

    fn window(&self, tickets: i64, signs: &BTreeMap<Sign, Delays>, table: &mut Table) {
        let window = self.from.evidence.derived.windows.of(self.code.0);
        let own = Own { basis: Some(window.basis), ..self.own() };
        let late = signs.get(&Sign::Delay).map_or(0, |delays| delays.within(0..MOST_HOURS));
        let row = self.hours(Quantity::TicketWindow, window.hours, "rule F2", own);
        table.rows.push(Row { n: tickets as f64, events: Some(late), ..row });
    }

    fn quantiles(&self, signs: &BTreeMap<Sign, Delays>, table: &mut Table) {
        let Some(delays) = signs.get(&Sign::Delay) else { return };
        for within in WITHIN {
            let Some(hours) = delays.quantile(within) else { continue };
            let own = Own { within: Some(within), ..self.own() };
            let row = self.hours(Quantity::TicketDelay, hours, "whole hours, rounded up", own);
            table.rows.push(Row { n: delays.within(0..MOST_HOURS) as f64, ..row });
        }
    }

    fn distribution(&self, signs: &BTreeMap<Sign, Delays>, table: &mut Table) {
        for (sign, delays) in signs {
            let steps = (0..MOST_HOURS).step_by(STEP_HOURS as usize);
            let steps = steps.map(|from| (from, from + STEP_HOURS));
            for (from, to) in steps.chain([(MOST_HOURS, LATEST_HOURS)]) {
                let own = Own {
                    sign: Some(*sign),
                    from_hours: Some(from),
                    to_hours: Some(to),
                    ..self.own()
                };
                let tickets = delays.within(from..to);
                table.rows.push(self.count(Quantity::TicketsLate, tickets, own));
            }
        }
    }
}

/// The headline with another window, as the page of sensitivity has it.
fn ratio(row: &skipped_cost::Row) -> Option<Row> {
    let hours = row.own.variant?.ticket_window()?;
    let quantity = Quantity::RatioByTicketWindow;
    let own = Own { to_hours: Some(hours), ..Own::default() };
    let method = row.method;
    let plain = Row::figure(By::Fleet, Group::default(), quantity, f64::NAN, method, own);
    Some(Row {
        n: row.n,
        events: row.events,
        estimate: row.estimate,
        low: row.low,
        high: row.high,
        flags: row.flags.clone(),
        ..plain
    })
}
