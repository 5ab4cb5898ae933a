//! Over what time the sources of each site are complete (section 4, Cover).

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use super::names::Names;
use super::site_facts::SiteFacts;
use crate::calendar::{day_start, local_day};
use crate::derive::face::event::NEVER;
use crate::records::Table;
use crate::settings::{Plan, Source};

/// A span of time, both ends included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// First instant, microseconds UTC.
    pub from: i64,
    /// Last instant, microseconds UTC.
    pub to: i64,
    /// It rests on a default, not on the settings.
    pub guessed: bool,
}

impl Window {
    /// From the first start to the last end.
    fn with(self, other: Window) -> Window {
        Window {
            from: self.from.min(other.from),
            to: self.to.max(other.to),
            guessed: self.guessed || other.guessed,
        }
    }
}

/// The covers of every site.
#[derive(Clone, Debug, Default)]
pub struct Covers {
    faults: BTreeMap<u32, Window>,
    looks: BTreeMap<u32, Window>,
    /// Fault sources without a fault: they cover nothing.
    pub empty_fault_sources: Vec<String>,
    /// Fault sources too few of whose tickets find a mating: they cover nothing.
    pub withdrawn: Vec<Withdrawn>,
    /// Fault sources that cover something, each with its window and sites.
    fault_sources: Vec<FaultSource>,
}

/// What one source of faults covers.
#[derive(Clone, Debug)]
struct FaultSource {
    name: String,
    place: u16,
    window: Window,
    sites: Vec<u32>,
}

/// Tickets of one source.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Attaching {
    /// Opened since matings of their site were recorded.
    pub tickets: u64,
    /// Those of them that found a mating.
    pub attached: u64,
}

/// A source of faults whose cover is withdrawn: faults that find no mating cannot be counted as none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Withdrawn {
    /// Its name.
    pub source: String,
    /// Its tickets.
    pub tickets: Attaching,
}

/// Fewer tickets than this prove nothing of their source.
const LEAST_TICKETS: u64 = 20;

impl Covers {
    /// Over what time the faults of a site are known.
    pub fn faults(&self, site: u32) -> Option<Window> {
        self.faults.get(&site).copied()
    }

    /// Whether the looks of a site are known over the whole of a window.
    pub fn looks(&self, site: u32, from: i64, to: i64) -> bool {
        self.looks.get(&site).is_some_and(|cover| cover.from <= from && to <= cover.to)
    }

    /// Withdraws the cover of every source of twenty tickets or more of which a smaller share than `least` found a
    /// mating. `attached` is by the places of the sources.
    pub fn withdraw(&mut self, attached: &BTreeMap<u16, Attaching>, least: f64) {
        let is_withdrawn = |source: &FaultSource| {
            let tickets = attached.get(&source.place).copied().unwrap_or_default();
            let few = (tickets.attached as f64) < least * tickets.tickets as f64;
            tickets.tickets >= LEAST_TICKETS && few
        };
        let (gone, kept) =
            std::mem::take(&mut self.fault_sources).into_iter().partition(is_withdrawn);
        self.fault_sources = kept;
        self.withdrawn = Vec::<FaultSource>::into_iter(gone)
            .map(|source| Withdrawn {
                tickets: attached.get(&source.place).copied().unwrap_or_default(),
                source: source.name,
            })
            .collect();
        self.join_faults();
    }

    /// A site is covered from the first start to the last end of its sources.
    fn join_faults(&mut self) {
        self.faults.clear();
        for FaultSource { window, sites, .. } in &self.fault_sources {
            for site in sites {
                let cover = self.faults.entry(*site).or_insert(*window);
                *cover = cover.with(*window);
            }
        }
    }
}

/// What the covers are made from.
pub struct Evidence<'a> {
    /// The settings.
    pub plan: &'a Plan,
    /// Places of the sources in the store, by name.
    pub places: &'a BTreeMap<String, u16>,
    /// By place of the source: when its first and its last ticket were opened, microseconds UTC.
    pub opened: &'a BTreeMap<u16, (i64, i64)>,
    /// What the records say of each site.
    pub facts: &'a SiteFacts,
    /// Words of the sites.
    pub sites: &'a Names,
    /// The last day on which the records are complete.
    pub as_of: NaiveDate,
}

/// Covers of every site.
pub fn covers(evidence: &Evidence) -> Covers {
    let mut covers = Covers::default();
    fault_covers(evidence, &mut covers);
    look_covers(evidence, &mut covers);
    covers
}

fn records_faults(source: &Source) -> bool {
    source.records.iter().any(|record| record.table == Table::Faults)
}

/// A source whose site is constant covers that site; one with a column of sites covers every site
/// that no other fault source names.
fn fault_covers(evidence: &Evidence, covers: &mut Covers) {
    let sources = || evidence.plan.sources.iter().filter(|source| records_faults(source));
    let named: BTreeSet<u32> =
        sources().filter_map(|source| evidence.sites.find(source.site.as_deref()?)).collect();
    for source in sources() {
        let Some(window) = fault_window(evidence, source) else {
            covers.empty_fault_sources.push(source.name.clone());
            continue;
        };
        let sites: Vec<u32> = match &source.site {
            Some(site) => evidence.sites.find(site).into_iter().collect(),
            None => (1..evidence.sites.len() as u32).filter(|site| !named.contains(site)).collect(),
        };
        // A source without a place has no ticket, and no window.
        let Some(place) = evidence.places.get(&source.name).copied() else { continue };
        covers.fault_sources.push(FaultSource { name: source.name.clone(), place, window, sites });
    }
    covers.join_faults();
}

/// As the settings say, else the whole calendar months from the first to the last opening, never
/// past the day on which records are complete.
fn fault_window(evidence: &Evidence, source: &Source) -> Option<Window> {
    let zone = evidence.plan.fleet.timezone;
    let place = evidence.places.get(&source.name)?;
    let (first, last) = *evidence.opened.get(place)?;
    if let Some(cover) = source.covers.get(&Table::Faults) {
        return Some(stated(cover.from, cover.to, zone));
    }
    let months = Window {
        from: day_start(month_start(local_day(first, zone)), zone),
        to: day_start(next_month(local_day(last, zone)), zone) - 1,
        guessed: true,
    };
    let complete = day_start(next_day(evidence.as_of), zone) - 1;
    Some(Window { to: months.to.min(complete), ..months }).filter(|window| window.from <= window.to)
}

/// As the settings say, else from the first inspection row of the site on.
fn look_covers(evidence: &Evidence, covers: &mut Covers) {
    let zone = evidence.plan.fleet.timezone;
    for ((place, site), first) in evidence.facts.first_looks() {
        let source = evidence
            .plan
            .sources
            .iter()
            .find(|source| evidence.places.get(&source.name) == Some(place));
        let stated_cover = source.and_then(|source| source.covers.get(&Table::Inspections));
        let window = match stated_cover {
            Some(cover) => stated(cover.from, cover.to, zone),
            None => Window { from: *first, to: NEVER, guessed: true },
        };
        let cover = covers.looks.entry(*site).or_insert(window);
        *cover = cover.with(window);
    }
}

fn stated(from: NaiveDate, to: NaiveDate, zone: Tz) -> Window {
    Window { from: day_start(from, zone), to: day_start(next_day(to), zone) - 1, guessed: false }
}

fn next_day(day: NaiveDate) -> NaiveDate {
    day.succ_opt().unwrap_or(day)
}

fn month_start(day: NaiveDate) -> NaiveDate {
    use chrono::Datelike;
    day.with_day(1).unwrap_or(day)
}

fn next_month(day: NaiveDate) -> NaiveDate {
    month_start(day).checked_add_months(chrono::Months::new(1)).unwrap_or(day)
}
