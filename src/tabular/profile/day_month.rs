//! Which reading of a column's times the texts themselves leave.
//!
//! A reading falls to another that takes a text which it refuses: no month is 13. Where several
//! remain, two weaker signs count, each only if it is plain: of years and days of two digits, years are
//! few and days many; and rows in order of time in one reading that jump about in the others. What
//! stays open is said to be ambiguous; custom (dots for day first) only decides which is shown first.

use std::cmp::Reverse;

use super::date_fit::{DateFit, DayMonth};
use super::date_tally::{DateTally, Shape, WayTally, has_hour};
use super::sentence::{counted, quoted};

/// Shares of given texts that must be times, in tenths, for a column of times.
const NEEDED_TENTHS: usize = 8;
/// Most patterns of a column.
const MOST_PATTERNS: usize = 6;
/// Steps all in one direction that make rows ordered, and jumps that make them not.
const ORDERED: usize = 20;
const JUMPS: usize = 3;
/// Most different years and fewest different days of two digits that tell them apart.
const FEW_YEARS: u32 = 3;
const MANY_DAYS: u32 = 12;
/// Orders of numbers, in the order that they are shown in.
const OPEN: [DayMonth; 3] = [DayMonth::DayFirst, DayMonth::MonthFirst, DayMonth::YearFirst];

/// Every reading that the texts leave, best first; none if the column holds no times.
pub fn fits(tally: &DateTally) -> Vec<DateFit> {
    let open: Vec<&Shape> = tally.frequent().filter(|shape| shape.readings.len() > 1).collect();
    let found = if open.is_empty() {
        let named = tally.frequent().any(|shape| shape.order() == Some(DayMonth::Named));
        let (order, evidence) = match named {
            true => (DayMonth::Named, "months are written as names"),
            false => (DayMonth::YearFirst, "the year stands first"),
        };
        vec![fit(tally, DayMonth::YearFirst, order, evidence.to_owned())]
    } else {
        remaining(tally, &open)
    };
    let enough = |fit: &DateFit| fit.fits > 0 && fit.fits * 10 >= fit.given * NEEDED_TENTHS;
    found.into_iter().filter(enough).collect()
}

/// The readings of shapes that have several.
fn remaining(tally: &DateTally, open: &[&Shape]) -> Vec<DateFit> {
    let known = |order: &DayMonth| open.iter().any(|shape| shape.reading(*order).is_some());
    let all: Vec<DayMonth> = OPEN.into_iter().filter(known).collect();
    let unbeaten: Vec<DayMonth> = all
        .iter()
        .copied()
        .filter(|order| all.iter().all(|other| beaten(open, *other, *order).0 == 0))
        .collect();
    let settled = |order: DayMonth, evidence: String| vec![fit(tally, order, order, evidence)];
    match &unbeaten[..] {
        [] => ambiguous(tally, open, &all, contradiction(open, &all)),
        [only] => settled(*only, texts_that_settle(open, &all, *only)),
        several => match by_few_years(open, several).or_else(|| by_row_order(open, several)) {
            Some((order, evidence)) => {
                let beats = texts_that_settle(open, &all, order);
                let both = [beats, evidence].into_iter().filter(|text| !text.is_empty());
                settled(order, both.collect::<Vec<_>>().join("; "))
            }
            None => ambiguous(tally, open, several, open_evidence(open, several)),
        },
    }
}

/// Texts that one order takes and another refuses, and the first.
fn beaten(open: &[&Shape], winner: DayMonth, loser: DayMonth) -> (usize, String) {
    let mut texts = 0;
    let mut first = String::new();
    for shape in open {
        let (Some(winner), Some(loser)) = (shape.place(winner), shape.place(loser)) else {
            continue;
        };
        let beat = &shape.beats[winner][loser];
        texts += beat.texts;
        if first.is_empty() {
            first.clone_from(&beat.first);
        }
    }
    (texts, first)
}

/// The first texts that only the winning order takes, one for each order that it beats.
fn texts_that_settle(open: &[&Shape], all: &[DayMonth], winner: DayMonth) -> String {
    let mut told: Vec<String> = Vec::new();
    for loser in all.iter().filter(|order| **order != winner) {
        let (texts, first) = beaten(open, winner, *loser);
        if texts > 0 {
            told.push(format!(
                "{} cannot be read {} ({texts} such)",
                quoted(&first),
                words(*loser)
            ));
        }
    }
    told.join("; ")
}

fn contradiction(open: &[&Shape], all: &[DayMonth]) -> String {
    let told = all.iter().flat_map(|winner| {
        let pairs = all.iter().map(|loser| (*loser, beaten(open, *winner, *loser)));
        pairs.filter(|(_, (texts, _))| *texts > 0).map(|(loser, (texts, first))| {
            format!("{} cannot be read {} ({texts} such)", quoted(&first), words(loser))
        })
    });
    format!("the texts contradict each other: {}", told.collect::<Vec<_>>().join("; "))
}

/// Where years have two digits: the number that takes few values is the year, the one that takes many
/// the day.
fn by_few_years(open: &[&Shape], several: &[DayMonth]) -> Option<(DayMonth, String)> {
    let year_first = several.contains(&DayMonth::YearFirst);
    let short = open.iter().all(|shape| shape.reading(DayMonth::YearFirst).is_some());
    let [first, last] = [0, 1]
        .map(|at| open.iter().fold(0u128, |values, shape| values | shape.values[at]).count_ones());
    let told = |few: &str, years: u32, many: &str, days: u32| {
        let years = counted(years as usize, "value");
        format!("the {few} number takes {years}, as years do, the {many} {days}, as days do")
    };
    if !(year_first && short) {
        return None;
    }
    let ends: Vec<DayMonth> =
        several.iter().copied().filter(|order| *order != DayMonth::YearFirst).collect();
    match &ends[..] {
        [order] if last <= FEW_YEARS && first >= MANY_DAYS => {
            Some((*order, told("last", last, "first", first)))
        }
        _ if first <= FEW_YEARS && last >= MANY_DAYS => {
            Some((DayMonth::YearFirst, told("first", first, "last", last)))
        }
        _ => None,
    }
}

/// Rows that are in order of time in one reading and not in the others.
fn by_row_order(open: &[&Shape], several: &[DayMonth]) -> Option<(DayMonth, String)> {
    let [shape] = open else {
        return None;
    };
    let ordered = |reading: &WayTally| {
        let (least, most) = (reading.rises.min(reading.falls), reading.rises.max(reading.falls));
        (least == 0 && most >= ORDERED, least)
    };
    let found: Vec<(DayMonth, (bool, usize))> = several
        .iter()
        .filter_map(|order| Some((*order, ordered(shape.reading(*order)?))))
        .collect();
    let (winner, _) = found.iter().find(|(_, (ordered, _))| *ordered)?;
    let others = found.iter().filter(|(order, _)| order != winner);
    let fewest = others.map(|(_, (_, jumps))| *jumps).min()?;
    let evidence = format!(
        "no text shows it, but every row follows the one before in time read {}; read otherwise, rows \
         jump back {fewest} times or more",
        words(*winner)
    );
    (fewest >= JUMPS).then_some((*winner, evidence))
}

fn open_evidence(open: &[&Shape], several: &[DayMonth]) -> String {
    let texts: usize = open.iter().map(|shape| shape.texts()).sum();
    let dates = counted(texts, "date");
    let named = several.iter().map(|order| words(*order)).collect::<Vec<_>>().join(" or ");
    match several.contains(&DayMonth::YearFirst) {
        true => format!("each of {dates} can be read {named}"),
        false => format!("each of {dates} has day and month up to 12"),
    }
}

/// All readings left, none settled: the usual one of their way to write first.
fn ambiguous(
    tally: &DateTally,
    open: &[&Shape],
    orders: &[DayMonth],
    evidence: String,
) -> Vec<DateFit> {
    let american = open.iter().all(|shape| {
        shape.readings.iter().all(|reading| {
            reading.pattern.contains('/') && (!reading.has_hour() || reading.pattern.contains("%I"))
        })
    }) && open.iter().any(|shape| shape.readings.iter().any(WayTally::has_hour));
    let mut found: Vec<DateFit> = orders
        .iter()
        .map(|order| fit(tally, *order, DayMonth::Ambiguous, evidence.clone()))
        .collect();
    if american && orders.starts_with(&OPEN[..2]) {
        found.swap(0, 1);
    }
    found.sort_by_key(|fit| Reverse(fit.fits));
    found
}

/// How one order reads the column.
fn fit(tally: &DateTally, read_as: DayMonth, order: DayMonth, evidence: String) -> DateFit {
    let mut used: Vec<&WayTally> =
        tally.frequent().filter_map(|shape| shape.reading_or_only(read_as)).collect();
    used.retain(|reading| reading.fits > 0);
    used.sort_by(|a, b| b.fits.cmp(&a.fits).then_with(|| a.pattern.cmp(&b.pattern)));
    used.truncate(MOST_PATTERNS);
    let patterns: Vec<String> = used.iter().map(|reading| reading.pattern.clone()).collect();
    DateFit {
        fits: used.iter().map(|reading| reading.fits).sum(),
        given: tally.given,
        order,
        evidence,
        zoned: !patterns.is_empty() && patterns.iter().all(|pattern| pattern.contains("%z")),
        short_years: patterns.iter().any(|pattern| pattern.contains("%y")),
        patterns,
    }
}

/// Whether any of the patterns names an hour.
pub fn with_hour(fit: &DateFit) -> bool {
    fit.patterns.iter().any(|pattern| has_hour(pattern))
}

fn words(order: DayMonth) -> &'static str {
    match order {
        DayMonth::DayFirst => "day first",
        DayMonth::MonthFirst => "month first",
        DayMonth::YearFirst => "year first",
        DayMonth::Named => "with the month's name",
        DayMonth::Ambiguous => "either way",
    }
}

impl Shape {
    fn place(&self, order: DayMonth) -> Option<usize> {
        self.readings.iter().position(|reading| reading.order == order)
    }

    /// The reading of that order.
    pub fn reading(&self, order: DayMonth) -> Option<&WayTally> {
        self.readings.iter().find(|reading| reading.order == order)
    }

    fn reading_or_only(&self, order: DayMonth) -> Option<&WayTally> {
        self.reading(order).or(match &self.readings[..] {
            [only] => Some(only),
            _ => None,
        })
    }

    /// The order of its only reading.
    fn order(&self) -> Option<DayMonth> {
        if let [only] = &self.readings[..] { Some(only.order) } else { None }
    }
}
