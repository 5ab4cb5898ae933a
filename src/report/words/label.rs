//! What a row is about, in words, and the order in which rows are shown: stages by lifecycle, the rest by size.

use std::cmp::Reverse;

use crate::measures::{AnyRow, Group, Review};

/// The group of a row in words: "installation, LC".
pub(in crate::report) fn label(row: &impl AnyRow) -> String {
    let parts: Vec<&str> = row.leading().by.split('+').filter_map(|by| part(row, by)).collect();
    if parts.is_empty() { "fleet".to_owned() } else { parts.join(", ") }
}

/// The same words, the first letter a capital.
pub(in crate::report) fn capitalised(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What a row is grouped by and its groups: "site: Tal".
pub(in crate::report) fn by_and_label(row: &impl AnyRow) -> String {
    format!("{}: {}", row.leading().by, label(row))
}

/// One word of a row's group, none where it has no such word.
pub(in crate::report) fn part<'a>(row: &'a impl AnyRow, by: &str) -> Option<&'a str> {
    let group = row.leading().group;
    let field = match by {
        "site" => &group.site,
        "stage" => &group.stage,
        "family" => &group.family,
        "side" => &group.side,
        "supplier" => &group.supplier,
        "capped" => &group.capped,
        "treatment" => &group.treatment,
        "coverage" | "row" => &group.coverage,
        "quarter" | "month" | "week" | "time" => &group.time,
        _ => return None,
    };
    field.as_deref()
}

/// Rows in the order of the page: stages in lifecycle order, then the larger first, then by name.
pub(in crate::report) fn in_order<R: AnyRow>(
    review: &Review,
    rows: impl Iterator<Item = R>,
) -> Vec<R> {
    let mut rows: Vec<R> = rows.collect();
    rows.sort_by_cached_key(|row| {
        let row = row.leading();
        // The bits of numbers that are not negative stand in the order of the numbers.
        let larger_first = Reverse(row.n.max(0.0).to_bits());
        (stage_place(review, row.group), larger_first, row.group.clone())
    });
    rows
}

/// Rows over time, oldest first.
pub(in crate::report) fn oldest_first<R: AnyRow>(rows: impl Iterator<Item = R>) -> Vec<R> {
    let mut rows: Vec<R> = rows.collect();
    rows.sort_by(|a, b| a.leading().group.time.cmp(&b.leading().group.time));
    rows
}

/// The words of a grouping in rows, the largest total of `n` first.
pub(in crate::report) fn by_size(rows: &[impl AnyRow], by: &str) -> Vec<String> {
    let mut sizes: std::collections::BTreeMap<&str, f64> = std::collections::BTreeMap::new();
    for row in rows {
        *sizes.entry(part(row, by).unwrap_or("unknown")).or_default() += row.leading().n.max(0.0);
    }
    let mut words: Vec<(&str, f64)> = sizes.into_iter().collect();
    words.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(b.0)));
    words.into_iter().map(|(word, _)| word.to_owned()).collect()
}

fn stage_place(review: &Review, group: &Group) -> usize {
    let place = |stage: &str| review.stages.iter().position(|known| known == stage);
    let stage = group.stage.as_deref();
    stage.map_or(0, |stage| place(stage).unwrap_or(review.stages.len()))
}
