//! How many months of those looked back the records of each site really cover.
//!
//! A site counts from its first record on: one that joined in mid-year was not silent before. A month without any row is
//! not covered, but where the site has so few rows that an empty month is chance. Months count whole, but for the first
//! one and for the one that records are not yet complete in, which count by their days.

use std::collections::BTreeMap;

use crate::calendar::DAY_US;
use crate::derive::counts::{Site, site_months};
use crate::derive::{Derived, Span};
use crate::measures::flag::Flag;
use crate::settings::Rules;

/// Months of a year.
pub const YEAR: f64 = 12.0;

/// Least months that a year is reckoned from: a site of a few days says nothing of a year.
const LEAST: f64 = 1.0;

/// The months of every site.
#[derive(Clone, Debug, Default)]
pub struct Months {
    by_site: BTreeMap<u32, Covered>,
    /// Of the fleet: months that any site covers.
    fleet: Covered,
    names: BTreeMap<String, u32>,
    /// First and last of the quarters looked back whose matings have run their horizon, by piece of the calendar; none where
    /// it is as long as all that is looked back.
    whole: Option<(u32, u32)>,
    /// The months looked back, by piece of the calendar.
    window: Vec<u32>,
}

/// Months of those looked back.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Covered {
    /// With records of looks, cleanings or matings.
    pub recorded: f64,
    /// Of these, with the site's faults known: what a year's cost of faults is reckoned from.
    pub faults: f64,
    /// Of these, those whose matings are followed at all, as faults known later may be theirs: what a year's looks are
    /// reckoned from where faults are counted beside them.
    pub followed: f64,
    /// Of the months of whole quarters ([`Months::is_whole`]), those with the site's faults known.
    pub whole_faults: f64,
    /// Of the months of whole quarters, those whose matings are followed at all.
    pub whole_followed: f64,
}

impl Covered {
    fn add(&mut self, more: Covered) {
        self.recorded += more.recorded;
        self.faults += more.faults;
        self.followed += more.followed;
        self.whole_faults += more.whole_faults;
        self.whole_followed += more.whole_followed;
    }

    fn or(&mut self, other: Covered) {
        self.recorded = self.recorded.max(other.recorded);
        self.faults = self.faults.max(other.faults);
        self.followed = self.followed.max(other.followed);
        self.whole_faults = self.whole_faults.max(other.whole_faults);
        self.whole_followed = self.whole_followed.max(other.whole_followed);
    }
}

/// What counts of so many months are multiplied by to be of a year.
pub fn a_year(months: f64) -> f64 {
    if months > 0.0 { YEAR / months.max(LEAST) } else { 1.0 }
}

/// `short-history` where whole months are fewer than a year has.
pub fn short_history(months: f64) -> Option<Flag> {
    (months.round() < YEAR).then_some(Flag::ShortHistory)
}

/// Months that a sum over sites stands for: each site's amount, and the months that it is of. A year's sum of the sites
/// is the counted sum times twelve over these. None where there is no amount.
pub fn pooled(of_sites: impl Iterator<Item = (f64, f64)>) -> Option<f64> {
    let (mut counted, mut a_month) = (0.0, 0.0);
    for (amount, months) in of_sites.filter(|(amount, _)| *amount > 0.0) {
        counted += amount;
        a_month += amount / months.max(LEAST);
    }
    (a_month > 0.0).then(|| counted / a_month)
}

/// A month of the calendar inside the months looked back.
struct Month {
    piece: u32,
    start: i64,
    /// First instant after it.
    end: i64,
    /// The same, or where records end, if that is earlier.
    complete: i64,
    /// It is of a quarter whose matings have run their horizon.
    whole: bool,
}

impl Months {
    /// Of one derivation.
    pub fn of(rules: &Rules, derived: &Derived) -> Months {
        Months::within(rules, rules.horizon_days, derived)
    }

    /// The same under another horizon, in days.
    pub fn within(rules: &Rules, horizon_days: u32, derived: &Derived) -> Months {
        let mut rows: BTreeMap<u32, BTreeMap<u32, site_months::Row>> = BTreeMap::new();
        for (cell, counts) in derived.counts.coverage.site_months.cells() {
            rows.entry(cell.site.0).or_default().insert(cell.month.0, counts);
        }
        let whole = whole_quarters(horizon_days, derived);
        let window = window(derived, whole);
        let mut fleet = vec![Covered::default(); window.len()];
        let pieces = window.iter().map(|month| month.piece).collect();
        let mut months = Months { whole, window: pieces, ..Months::default() };
        for (site, of_site) in &rows {
            let cover = derived.fault_covers.get(site).copied();
            let mut sum = Covered::default();
            for (month, of_fleet) in window.iter().zip(&mut fleet) {
                let covered = month.covered(recorded_from(month, of_site, rules), cover, rules);
                sum.add(covered);
                of_fleet.or(covered);
            }
            months.by_site.insert(*site, sum);
            months.names.insert(derived.glossary.site.0.word(*site).to_owned(), *site);
        }
        fleet.into_iter().for_each(|month| months.fleet.add(month));
        months
    }

    /// Those of a site; nothing for one without records.
    pub fn of_site(&self, site: Site) -> Covered {
        self.by_site.get(&site.0).copied().unwrap_or_default()
    }

    /// The same by the site's name; of the fleet where none is given.
    pub fn named(&self, site: Option<&str>) -> Covered {
        match site {
            None => self.fleet,
            Some(name) => {
                self.names.get(name).map_or_else(Covered::default, |site| self.of_site(Site(*site)))
            }
        }
    }

    /// Whether the matings of a quarter, by its piece of the calendar, have run their horizon by the end of the period, so
    /// that all faults within it are known: what money of a year is reckoned from. All quarters are where none has.
    pub fn is_whole(&self, quarter: u32) -> bool {
        self.whole.is_none_or(|(first, last)| (first..=last).contains(&quarter))
    }

    /// First and last of these quarters; none where no quarter looked back has.
    pub fn whole_quarters(&self) -> Option<(u32, u32)> {
        self.whole
    }

    /// The months looked back, by piece of the calendar.
    pub fn window(&self) -> &[u32] {
        &self.window
    }

    /// Every site by name.
    pub fn sites(&self) -> impl Iterator<Item = (&str, Covered)> {
        self.names.iter().map(|(name, site)| (name.as_str(), self.of_site(Site(*site))))
    }
}

/// The quarters looked back that ended a whole horizon before the period does.
fn whole_quarters(horizon_days: u32, derived: &Derived) -> Option<(u32, u32)> {
    let (calendar, period) = (&derived.calendar, &derived.period);
    let horizon = i64::from(horizon_days) * DAY_US;
    let complete = period.end.min(complete(derived));
    let is_whole = |quarter: &&crate::calendar::Quarter| {
        let span = calendar.span(**quarter);
        span.is_some_and(|(_, after)| after.saturating_add(horizon) <= complete)
    };
    let whole = period.look_back.iter().filter(is_whole);
    let mut pieces: Vec<u32> = whole.filter_map(|quarter| calendar.piece_of(*quarter)).collect();
    pieces.sort_unstable();
    pieces.first().copied().zip(pieces.last().copied())
}

/// First instant of which nothing can be known any more.
fn complete(derived: &Derived) -> i64 {
    let period = &derived.period;
    let day = period.as_of.succ_opt().unwrap_or(period.as_of);
    crate::calendar::day_start(day, derived.calendar.zone)
}

/// The months looked back that lie in the calendar.
fn window(derived: &Derived, whole: Option<(u32, u32)>) -> Vec<Month> {
    let (calendar, period) = (&derived.calendar, &derived.period);
    let first = period.look_back.first().and_then(|first| calendar.span(*first));
    let from = first.map_or(period.start, |(from, _)| from);
    let complete = complete(derived);
    let quarters = whole
        .map(|(first, last)| calendar.quarters.start(first)..calendar.quarters.start(last + 1));
    let months = (0..calendar.months.count()).map(|piece| {
        let (start, end) = (calendar.months.start(piece), calendar.months.start(piece + 1));
        let whole = quarters.as_ref().is_none_or(|quarters| quarters.contains(&start));
        Month { piece, start, end, complete: end.min(complete).max(start), whole }
    });
    months.filter(|month| month.start >= from && month.end <= period.end).collect()
}

/// From when on a site's records cover a month, if they do.
fn recorded_from(
    month: &Month,
    rows: &BTreeMap<u32, site_months::Row>,
    rules: &Rules,
) -> Option<i64> {
    if let Some(counts) = rows.get(&month.piece) {
        // Days are counted from the month's start: a change of the clock makes one of them longer or shorter.
        let days = (month.end - month.start + DAY_US / 2) / DAY_US;
        let before = days.saturating_sub(counts.days).clamp(0, days);
        return Some(month.start + before * DAY_US);
    }
    // Inside the site's records a month may be empty by chance where its months have few rows.
    let within =
        rows.range(..month.piece).next().is_some() && rows.range(month.piece..).next().is_some();
    let of_month =
        |row: &site_months::Row| [row.looks, row.cleanings, row.matings].map(|count| count as f64);
    let all: f64 = rows.values().flat_map(of_month).sum();
    let few = all / (rows.len().max(1) as f64) < f64::from(rules.silent_matings);
    (within && few).then_some(month.start)
}

impl Month {
    fn covered(&self, from: Option<i64>, cover: Option<Span>, rules: &Rules) -> Covered {
        let Some(from) = from else { return Covered::default() };
        let share = |from: i64, to: i64| (to - from).max(0) as f64 / (self.end - self.start) as f64;
        let horizon = i64::from(rules.horizon_days) * DAY_US;
        let inside = |cover: Span, before: i64| {
            share(
                from.max(cover.from.saturating_sub(before)),
                self.complete.min(cover.to.saturating_add(1)),
            )
        };
        let faults = cover.map_or(0.0, |cover| inside(cover, 0));
        let followed = cover.map_or(0.0, |cover| inside(cover, horizon));
        let of_whole = |months: f64| if self.whole { months } else { 0.0 };
        Covered {
            recorded: share(from, self.complete),
            faults,
            followed,
            whole_faults: of_whole(faults),
            whole_followed: of_whole(followed),
        }
    }
}
