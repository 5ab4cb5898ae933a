//! 5.12, Q12: did what was done work?
//!
//! Site-months as observed less expected at the fleet's shares by stage and family, sites that began against sites that had
//! not yet or never begun, group by group of start (Callaway & Sant'Anna 2021); the base is the year before the start, and
//! the month of the start belongs to neither. Certainty from the other ways in which the starts could have fallen on the
//! sites, each over its spread by the sizes of the sites; limits by inverting that. Words say 'associated with': where sites
//! were chosen for a reason, the reason may be what moved them.

mod declared;
mod series;
mod site_months;
mod worth;

pub use declared::*;

use site_months::{Lacking, SiteMonths};
use worth::{Change, Prices};

use crate::calendar::day_start;
use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::{Group, Money};
use crate::measures::skipped_cost;
use crate::settings::Action;
use crate::stats::effects::compared::{PLACEBO, WHOLE, WITHOUT_QUARTER};
use crate::stats::effects::{Compared, Doubts, Effort, Found};

/// Fewest faults to be expected on a side of a ratio, as everywhere.
const LEAST_FAULTS: f64 = 5.0;
/// Arrangements that are drawn where there are more.
const DRAWN: usize = 4_999;
/// Months since the start that are shown one by one.
const MOST_SHOWN: i32 = 24;
/// How the estimate of sites against sites is called.
const REARRANGED: &str = "group-time differences, starts rearranged over sites";
/// How its limits by sites are called.
const SITES_RESAMPLED: &str = "group-time differences, sites resampled";
/// How the estimate of one series is called.
const SEGMENTED: &str = "segmented regression, Newey-West";

/// The table of actions; it is empty where the settings name none.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn actions(
    evidence: &Evidence,
    skipped: &skipped_cost::Table,
) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    for action in &evidence.plan.actions {
        for target in &action.moves {
            let aim = Aim { evidence, skipped, action, moves: Moves::of_target(*target) };
            table.rows.extend(aim.rows()?);
        }
    }
    Ok(table)
}

/// One action and one of what it should move.
struct Aim<'a> {
    evidence: &'a Evidence<'a>,
    skipped: &'a skipped_cost::Table,
    action: &'a Action,
    moves: Moves,
}

impl Aim<'_> {
    fn rows(&self) -> Result<Vec<Row>, DeriveError> {
        let months = match SiteMonths::of(self.evidence, self.action, self.moves) {
            Ok(months) => months,
            Err(lacking) => return Ok(vec![self.without(reason(lacking))]),
        };
        let earliest = months.earliest();
        let at_once = months.starts.iter().all(|start| *start == Some(earliest));
        if at_once { self.of_series(&months) } else { self.of_sites(&months) }
    }

    fn own(&self) -> Own {
        Own {
            action: Some(self.action.name.clone()),
            moves: Some(self.moves),
            cost: Some(Money(self.action.cost)),
            proposal: self.action.proposal.clone(),
            also: self.also(),
            ..Own::default()
        }
    }

    fn without(&self, reason: Reason) -> Row {
        let own = Own { reason: Some(reason), ..self.own() };
        let quantity = self.moves.quantity();
        Row::figure(By::Action, Group::default(), quantity, f64::NAN, "none", own)
            .flagged([Flag::NotIdentified])
    }

    /// All sites began at once.
    fn of_series(&self, months: &SiteMonths) -> Result<Vec<Row>, DeriveError> {
        let Some(found) = series::series(months, self.moves, self.evidence.rules().level) else {
            return Ok(vec![self.without(Reason::TooShort)]);
        };
        let row = self.row(months, &found, Reading::Series, SEGMENTED);
        let row = row.flagged([Flag::NoComparison]);
        let worth = self.worth(months, &row, &found)?;
        Ok([row].into_iter().chain(worth).collect())
    }

    /// Sites that began against the others.
    fn of_sites(&self, months: &SiteMonths) -> Result<Vec<Row>, DeriveError> {
        let rules = self.evidence.rules();
        let followed = months.followed(self.moves.more_is_better());
        let effort = Effort { level: rules.level, seed: rules.seed, most: DRAWN };
        let compared = match self.moves {
            Moves::LinkedFaults => Compared::of_counts(&followed, effort),
            _ => Compared::of_shares(&followed, effort),
        };
        let Some(whole) = compared.over(WHOLE, false) else {
            return Ok(vec![self.without(Reason::NothingSince)]);
        };
        let doubts = compared.doubts();
        let with_doubts = |row: Row| {
            let not_parallel = doubts.not_parallel.then_some(Flag::NotParallel);
            let Doubts { parallel_p, chosen_p, quarter, .. } = doubts;
            let own = Own { parallel_p, chosen_p, quarter_before: quarter, ..row.own };
            Row { own, ..row }.flagged(not_parallel)
        };
        let chosen = doubts.chosen_when_bad.then_some(Flag::ChosenWhenBad);
        let row =
            |found: &Found, reading| with_doubts(self.row(months, found, reading, REARRANGED));
        let leading = row(&whole, Reading::Whole).flagged(chosen);
        let mut rows = vec![leading.clone()];
        if let Some(found) = compared.over(WITHOUT_QUARTER, false) {
            rows.push(row(&found, Reading::WithoutQuarter));
        }
        if let Some(found) = compared.over(PLACEBO, false) {
            rows.push(row(&found, Reading::Placebo));
        }
        if let Some([low, Some(value), high]) = compared.resampled() {
            let found = Found { value, low, high, level: rules.level, ..whole };
            let own = self.row(months, &found, Reading::Resampled, SITES_RESAMPLED);
            let resampled = Own { p: None, smallest_p: None, arrangements: None, ..own.own };
            rows.push(with_doubts(Row { own: resampled, ..own }).flagged(chosen));
        }
        // Where the start followed a bad quarter, what the change was worth is told without it.
        let trusted = match chosen {
            Some(_) => rows.iter().find(|row| row.own.reading == Some(Reading::WithoutQuarter)),
            None => rows.first(),
        };
        if let Some(trusted) = trusted.cloned() {
            let found = match chosen {
                Some(_) => compared.over(WITHOUT_QUARTER, true).unwrap_or(whole),
                None => whole,
            };
            rows.extend(self.worth(months, &trusted, &found)?);
        }
        let last = (months.months() as i32 - 1 - months.earliest() as i32).min(MOST_SHOWN);
        for (since, found) in compared.by_month(last) {
            let own = self.row(months, &found, Reading::Month, REARRANGED);
            let own = Own { month: Some(since.into()), p: None, ..own.own };
            let [n, events, _] = months.of_begun(since, since);
            rows.push(Row {
                n,
                events: Some(events as i64),
                ..self.plain(By::ActionMonth, &found, REARRANGED, own)
            });
        }
        Ok(rows)
    }

    fn row(
        &self,
        months: &SiteMonths,
        found: &Found,
        reading: Reading,
        method: &'static str,
    ) -> Row {
        let (sites, other_sites) = months.followed(true).sides();
        let [before_n, before_y, before_e] = months.of_begun(-12, -1);
        let [n, events, _] = match reading {
            Reading::Placebo => months.of_begun(-5, -1),
            _ => months.of_begun(1, i32::MAX),
        };
        let before = match self.moves {
            Moves::LinkedFaults => Some(before_y / before_e),
            _ => Some(before_y / before_n),
        };
        let compared = found.arrangements > 0;
        let own = Own {
            reading: Some(reading),
            p: Some(found.p),
            smallest_p: compared.then_some(found.smallest_p),
            interval_level: Some(found.level),
            arrangements: compared.then_some(found.arrangements),
            sites: Some(sites),
            other_sites: Some(if reading == Reading::Series { 0 } else { other_sites }),
            site_months: Some(found.cells),
            before: before.filter(|before| before.is_finite()),
            months: self.months_since(months),
            ..self.own()
        };
        let least = f64::from(self.evidence.rules().least_count);
        let thin = match found.without {
            Some(without) => before_y < LEAST_FAULTS || without < LEAST_FAULTS,
            None => before_n < least || n < least,
        };
        let is_of_faults = self.moves == Moves::LinkedFaults;
        let guessed = self.evidence.guessed_cover(None).filter(|_| is_of_faults);
        let row = self.plain(By::Action, found, method, own);
        Row { n, events: Some(events as i64), ..row }
            .flagged(thin.then_some(Flag::Thin))
            .flagged(guessed)
    }

    fn plain(&self, by: By, found: &Found, method: &'static str, own: Own) -> Row {
        let row =
            Row::figure(by, Group::default(), self.moves.quantity(), found.value, method, own);
        Row { low: found.low, high: found.high, ..row }
    }

    /// Whole months from the first start to the period's end.
    fn months_since(&self, months: &SiteMonths) -> Option<i64> {
        let calendar = &self.evidence.derived.calendar;
        let last = calendar.months.piece(self.evidence.derived.period.end - 1)?;
        let first = months.first + months.earliest() as u32;
        Some(i64::from(last.saturating_sub(first)))
    }

    fn worth(
        &self,
        months: &SiteMonths,
        row: &Row,
        found: &Found,
    ) -> Result<Option<Row>, DeriveError> {
        let [units, ..] = months.of_begun(1, i32::MAX);
        let change = Change {
            moves: self.moves,
            units: found.without.unwrap_or(units),
            value: found.value,
            low: found.low,
            high: found.high,
        };
        let prices = Prices { evidence: self.evidence, skipped: self.skipped };
        prices.row(row, self.action, &change)
    }

    /// Names of other actions with the same aim at sites of this one, by the day on which they began.
    fn also(&self) -> Option<String> {
        let zone = self.evidence.derived.calendar.zone;
        let end = self.evidence.derived.period.end;
        let sites = self.evidence.derived.glossary.site.0.words();
        let is_here = |other: &&Action| {
            other.name != self.action.name
                && other.moves.iter().any(|target| Moves::of_target(*target) == self.moves)
                && sites.iter().any(|site| {
                    let at = |action: &Action| action.from.as_ref().and_then(|from| from.at(site));
                    at(self.action).is_some()
                        && at(other).is_some_and(|day| day_start(day, zone) < end)
                })
        };
        let names: Vec<&str> = self
            .evidence
            .plan
            .actions
            .iter()
            .filter(is_here)
            .map(|other| other.name.as_str())
            .collect();
        (!names.is_empty()).then(|| names.join("; "))
    }
}

fn reason(lacking: Lacking) -> Reason {
    match lacking {
        Lacking::NotBegun => Reason::NotBegun,
        Lacking::Before => Reason::NothingBefore,
        Lacking::Since => Reason::NothingSince,
    }
}
