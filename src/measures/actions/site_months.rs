//! Site-months of one aim: what was counted, and what the fleet's shares by stage and family lead to expect of the same
//! cells, so that a change of mix is no change.

use std::collections::BTreeMap;

use super::declared::Moves;
use crate::calendar::{DAY_US, MONTH_S, day_start};
use crate::derive::counts::{Family, MonthNo, Site, Stage};
use crate::measures::evidence::Evidence;
use crate::measures::skipped_cost::places::Places;
use crate::settings::Action;
use crate::stats::effects::Followed;

/// Units and events of a cell: looks that passed, cycles that passed, matings skipped, faults in connection-months.
type Units = (f64, f64);

/// Months of the calendar that are compared, and the sites that have records in them, in the order of their names.
#[derive(Clone, Debug)]
pub(super) struct SiteMonths {
    /// First month of the panel, a piece of the calendar.
    pub first: u32,
    /// Names of the sites.
    pub sites: Vec<String>,
    /// Start of each site, a month of the panel; none where it did not begin, or not yet.
    pub starts: Vec<Option<usize>>,
    /// By site and month: units, events, and the events that the fleet's shares lead to expect.
    pub cells: Vec<Vec<[f64; 3]>>,
}

/// What the panel of an action is lacking.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lacking {
    /// The action had not begun.
    NotBegun,
    /// Records from before.
    Before,
    /// Records since.
    Since,
}

/// Counted cells by month, site, stage and family.
type Counted = BTreeMap<(u32, u32, u32, u32), Units>;

/// By places in the order of display, since sums of fractions depend on their order.
fn counted(evidence: &Evidence, places: &Places, moves: Moves) -> Counted {
    let mut found = Counted::new();
    let mut add =
        |month: MonthNo, site: Site, stage: Stage, family: Family, n: i64, y: i64, per: f64| {
            if n > 0 {
                let [site, stage, family] = places.place(site, stage, family);
                let cell = found.entry((month.0, site, stage, family)).or_default();
                cell.0 += n as f64 / per;
                cell.1 += y as f64;
            }
        };
    let months = &evidence.derived.counts.months;
    match moves {
        Moves::FirstPass | Moves::PassedFirstCycle => {
            for (cell, row) in months.visit_months.cells() {
                let (n, y) = match moves {
                    Moves::FirstPass => (row.looks, row.clean),
                    _ => (row.cycles, row.passed),
                };
                add(cell.month, cell.site, cell.stage, cell.family, n, y, 1.0);
            }
        }
        Moves::Skipped => {
            for (cell, row) in months.mating_months.cells() {
                add(cell.month, cell.site, cell.stage, cell.family, row.known, row.skipped, 1.0);
            }
        }
        Moves::LinkedFaults => {
            for (cell, row) in months.mating_months.cells() {
                if is_followed(evidence, cell.month, cell.site) {
                    add(
                        cell.month,
                        cell.site,
                        cell.stage,
                        cell.family,
                        row.linked_s,
                        row.linked,
                        MONTH_S,
                    );
                }
            }
        }
    }
    found
}

/// Whether every mating of a month could be followed to the horizon.
fn is_followed(evidence: &Evidence, month: MonthNo, site: Site) -> bool {
    let derived = evidence.derived;
    let months = &derived.calendar.months;
    let (from, after) = (months.start(month.0), months.start(month.0 + 1));
    let end = after + i64::from(evidence.rules().horizon_days) * DAY_US;
    derived.fault_covers.get(&site.0).is_some_and(|cover| {
        cover.from <= from && end <= cover.to.saturating_add(1) && end <= derived.period.end
    })
}

impl SiteMonths {
    /// Of an action and one of its aims.
    ///
    /// # Errors
    /// What is lacking for a comparison.
    pub fn of(evidence: &Evidence, action: &Action, moves: Moves) -> Result<SiteMonths, Lacking> {
        let derived = evidence.derived;
        let calendar = &derived.calendar;
        let end = derived.period.end;
        let named = |words: &[String], word: &str| {
            words.is_empty() || words.iter().any(|other| other == word)
        };
        let places = Places::of(&derived.glossary);
        let mut cells = counted(evidence, &places, moves);
        cells.retain(|(month, _, stage, family), _| {
            calendar.months.start(*month) < end
                && named(&action.stages, places.stage(*stage))
                && named(&action.families, places.family(*family))
        });
        let start = |name: &str| {
            let from = action.from.as_ref()?.at(name)?;
            Some(day_start(from, calendar.zone))
        };
        let began: Vec<u32> =
            places.sites().filter_map(|name| calendar.months.piece(start(name)?)).collect();
        let last = cells.keys().map(|(month, ..)| *month).max();
        let Some(last) = last else { return Err(Lacking::Since) };
        let earliest = began.iter().min().copied();
        // The month of the start counts for neither side, so that the month after it must be there.
        let Some(earliest) = earliest.filter(|first| calendar.months.start(first + 1) < end) else {
            return Err(Lacking::NotBegun);
        };
        if earliest >= last {
            return Err(Lacking::Since);
        }
        // As far back as anything is compared: placebo and the quarter before need a year and a half.
        let first = earliest
            .saturating_sub(FARTHEST_BACK)
            .max(cells.keys().map(|(month, ..)| *month).min().unwrap_or(0));
        if first >= earliest {
            return Err(Lacking::Before);
        }
        cells.retain(|(month, ..), _| *month >= first);
        let expected = expected(&cells);
        let months = (last - first + 1) as usize;
        let mut by_site: BTreeMap<u32, Vec<[f64; 3]>> = BTreeMap::new();
        for ((month, site, stage, family), (n, y)) in &cells {
            let own = by_site.entry(*site).or_insert_with(|| vec![[0.0; 3]; months]);
            let cell = &mut own[(month - first) as usize];
            let share = expected.get(&(*stage, *family)).copied().unwrap_or(0.0);
            cell[0] += n;
            cell[1] += y;
            cell[2] += n * share;
        }
        let mut found =
            SiteMonths { first, sites: Vec::new(), starts: Vec::new(), cells: Vec::new() };
        for (site, own) in by_site {
            let name = places.site(site);
            let start = start(name).map(|at| calendar.months.piece(at).unwrap_or(0));
            let start = match start {
                // Begun before the first month that is compared: neither side.
                Some(start) if start <= first => continue,
                Some(start) => Some((start - first) as usize).filter(|start| *start < months),
                None => None,
            };
            // A site without records before the first start, or none after it, can be no part of a difference.
            let split = (earliest - first) as usize;
            let has = |range: std::ops::Range<usize>| own[range].iter().any(|cell| cell[0] > 0.0);
            let first_own = start.unwrap_or(split);
            if has(0..first_own) && has((first_own + 1).min(months)..months) {
                found.sites.push(name.to_owned());
                found.starts.push(start);
                found.cells.push(own);
            }
        }
        if found.starts.iter().all(Option::is_none) {
            let any_before = cells
                .keys()
                .any(|(month, site, ..)| *month < earliest && start(places.site(*site)).is_some());
            return Err(if any_before { Lacking::Since } else { Lacking::Before });
        }
        Ok(found)
    }

    /// Months of the panel.
    pub fn months(&self) -> usize {
        self.cells.first().map_or(0, Vec::len)
    }

    /// The earliest start.
    pub fn earliest(&self) -> usize {
        self.starts.iter().flatten().copied().min().unwrap_or(0)
    }

    /// For a comparison.
    pub fn followed(&self, more_is_better: bool) -> Followed<'_> {
        Followed { cells: &self.cells, starts: &self.starts, more_is_better }
    }

    /// Units, events and expected events of the sites that began, in months counted from their starts.
    pub fn of_begun(&self, from: i32, to: i32) -> [f64; 3] {
        let mut sum = [0.0; 3];
        for (start, cells) in self.starts.iter().zip(&self.cells) {
            let Some(start) = start else { continue };
            for (month, cell) in cells.iter().enumerate() {
                let since = month as i32 - *start as i32;
                if (from..=to).contains(&since) {
                    sum.iter_mut().zip(cell).for_each(|(sum, own)| *sum += own);
                }
            }
        }
        sum
    }
}

/// Months before the earliest start that anything rests on.
const FARTHEST_BACK: u32 = 24;

/// Events for each unit of the fleet, all months together, by stage and family.
fn expected(cells: &Counted) -> BTreeMap<(u32, u32), f64> {
    let mut sums: BTreeMap<(u32, u32), Units> = BTreeMap::new();
    for ((_, _, stage, family), (n, y)) in cells {
        let sum = sums.entry((*stage, *family)).or_default();
        sum.0 += n;
        sum.1 += y;
    }
    sums.into_iter().map(|(place, (n, y))| (place, y / n)).collect()
}
