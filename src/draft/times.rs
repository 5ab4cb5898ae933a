//! The patterns of a time column, and the time of day that stands in a column beside its date.

use super::choice::Candidate;
use super::page::{Question, Standing, counted, shown};
use super::texts::texts;
use super::vocabulary::{Token, Vocabulary};
use crate::tabular::profile::{ColumnProfile, DateFit, DayMonth};

/// How a time column is read.
#[derive(Clone, Debug)]
pub struct Times {
    /// Patterns, in the order to try. Empty: no cell of it reads as a time.
    pub patterns: Vec<String>,
    pub standing: Standing,
    /// Its texts say their zone.
    pub zoned: bool,
    /// Years have two digits.
    pub short_years: bool,
}

/// Share of given cells that may be no times before it is worth a question.
const MISFITS: f64 = 0.02;
/// How `profile` is read, its time of day standing in a column of its own if `clock` says so.
pub fn times(profile: &ColumnProfile, clock: Option<&str>) -> Times {
    let Some(best) = profile.dates.first() else {
        return Times {
            patterns: Vec::new(),
            standing: Standing::Sure,
            zoned: false,
            short_years: false,
        };
    };
    let behind = |pattern: &String| match clock {
        Some(clock) => format!("{pattern} {clock}"),
        None => pattern.clone(),
    };
    Times {
        patterns: best.patterns.iter().map(behind).collect(),
        standing: standing(profile, best, clock),
        zoned: best.zoned || is_epoch(best),
        short_years: best.short_years,
    }
}

fn standing(profile: &ColumnProfile, best: &DateFit, clock: Option<&str>) -> Standing {
    let column = shown(&profile.name);
    let asked = |question: String, evidence: String| Question { question, evidence };
    if best.order == DayMonth::Ambiguous {
        let others = profile.dates.iter().skip(1).flat_map(|fit| &fit.patterns);
        let behind = clock.map(|clock| format!(" {clock}")).unwrap_or_default();
        let others: Vec<String> = others.map(|other| shown(&format!("{other}{behind}"))).collect();
        let or = if others.is_empty() { "the other order".to_owned() } else { others.join(" or ") };
        let question = format!("Is the day or the month first in column {column}? Else use {or}");
        return Standing::Open(asked(question, best.evidence.clone()));
    }
    if is_epoch(best) {
        let question = format!("Does column {column} count from 1970?");
        return Standing::Proposed(asked(question, best.evidence.clone()));
    }
    let misfits = profile.given().saturating_sub(best.fits);
    if misfits as f64 > MISFITS * profile.given() as f64 {
        let question = format!("Is column {column} written in other ways too? Add their patterns");
        let evidence = format!("{misfits} of {} cells are not written so", profile.given());
        return Standing::Proposed(asked(question, evidence));
    }
    Standing::Sure
}

fn is_epoch(fit: &DateFit) -> bool {
    fit.patterns.iter().any(|pattern| pattern.starts_with("epoch"))
}

/// Whether its best pattern knows only the day.
pub fn is_day(profile: &ColumnProfile) -> bool {
    let hour = |pattern: &String| ["%H", "%I", "epoch"].iter().any(|field| pattern.contains(field));
    profile.dates.first().is_some_and(|fit| !fit.patterns.iter().any(hour))
}

/// The column of times of day that belongs to a column of days: of the same name but for the words
/// for date and time, or, for the table's own time, any that is named by such words alone.
pub fn clock<'c, 'p>(
    day: &Candidate,
    own_time: bool,
    unused: &'c [Candidate<'p>],
) -> Option<(&'c Candidate<'p>, String)> {
    let is_clock = |token: &String| Vocabulary::get().is(token, Token::Clock);
    let base = |candidate: &Candidate| -> Vec<String> {
        candidate.name.tokens().iter().filter(|token| !is_clock(token)).cloned().collect()
    };
    unused.iter().find_map(|candidate| {
        let named = candidate.name.tokens().iter().any(is_clock);
        let dotted = || candidate.profile.dotted_clock().filter(|_| named);
        let pattern = candidate.profile.clock().or_else(dotted)?;
        let same = base(candidate) == base(day);
        let plain = own_time && base(candidate).is_empty();
        (same || plain).then_some((candidate, pattern))
    })
}

/// Why a column that should hold times cannot be read.
pub fn unreadable(profile: &ColumnProfile) -> String {
    let texts = texts(profile);
    if texts.is_empty() {
        return format!("column {} is empty in this file", shown(&profile.name));
    }
    format!("no date pattern fits column {}: {}", shown(&profile.name), counted(&texts, 3))
}
