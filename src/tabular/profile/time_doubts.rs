//! What is not certain about a column of times.

use super::date_fit::{DateFit, DayMonth};
use super::date_tally::DateTally;
use super::sentence::{counted, quoted, quoted_list};

/// Sentences on the best reading of a column.
pub fn doubts(fits: &[DateFit], tally: &DateTally) -> Vec<String> {
    let Some(best) = fits.first() else {
        return Vec::new();
    };
    let mut doubts = Vec::new();
    if best.order == DayMonth::Ambiguous {
        let patterns: Vec<String> = fits.iter().map(|fit| fit.patterns.join(" and ")).collect();
        doubts.push(format!(
            "Order of day and month is open ({}): {}.",
            patterns.join(" or "),
            best.evidence
        ));
    }
    if best.short_years {
        doubts.push("Years have two digits: say which hundred years they mean.".to_owned());
    }
    if best.patterns.len() > 1 {
        doubts.push(format!(
            "Times are written in {} ways: {}.",
            best.patterns.len(),
            best.patterns.join(" and ")
        ));
    }
    let zoned = best.patterns.iter().filter(|pattern| pattern.contains("%z")).count();
    if zoned > 0 && !best.zoned {
        doubts.push("Some times say their zone, others do not.".to_owned());
    }
    if let Some(pattern) = best.patterns.iter().find(|pattern| names_zone(pattern)) {
        doubts.push(format!(
            "The word behind the time in {pattern:?} is read as it stands, not as a zone."
        ));
    }
    doubts.extend(misfits(best, tally));
    doubts.extend(unusual(best, tally));
    doubts
}

/// Whether a word of capital letters stands behind the time, such as `UTC`.
fn names_zone(pattern: &str) -> bool {
    let word: String = pattern.chars().rev().take_while(char::is_ascii_uppercase).collect();
    word.len() >= 2 && !pattern.ends_with(&format!("%{word}"))
}

fn misfits(best: &DateFit, tally: &DateTally) -> Option<String> {
    let left = best.given.saturating_sub(best.fits);
    let mut shown: Vec<String> = tally.strange.clone();
    for shape in &tally.shapes {
        shown.extend(shape.impossible.iter().cloned());
        if shape.texts() > 0
            && !shape.readings.iter().any(|way| best.patterns.contains(&way.pattern))
        {
            shown.push(shape.first.clone());
        }
        let used = shape.readings.iter().position(|way| best.patterns.contains(&way.pattern));
        let beaten = shape.beats.iter().filter_map(|beats| beats.get(used?));
        shown.extend(beaten.filter(|beat| beat.texts > 0).map(|beat| beat.first.clone()));
    }
    shown.dedup();
    shown.truncate(3);
    (left > 0).then(|| {
        let such =
            if shown.is_empty() { String::new() } else { format!(": {}", quoted_list(&shown)) };
        format!("No time by this: {left} of {}{such}.", counted(best.given, "text"))
    })
}

fn unusual(best: &DateFit, tally: &DateTally) -> Option<String> {
    let used = tally.shapes.iter().flat_map(|shape| &shape.readings);
    let used = used.filter(|way| best.patterns.contains(&way.pattern) && way.unusual.texts > 0);
    let (texts, first) = used.fold((0, None), |(texts, first), way| {
        (texts + way.unusual.texts, first.or(Some(&way.unusual.first)))
    });
    let first = first.filter(|_| !best.short_years)?;
    let times = counted(texts, "time");
    Some(format!("Before 1970 or after 2100: {times}, such as {}.", quoted(first)))
}
