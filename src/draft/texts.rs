//! The texts of a column that a draft can go by.

use crate::tabular::profile::ColumnProfile;

/// Texts that are at hand, with counts (1 where only examples are).
pub fn texts(profile: &ColumnProfile) -> Vec<(&str, usize)> {
    let is_null = |text: &str| profile.nulls.iter().any(|(null, _)| null == text);
    let texts: Vec<(&str, usize)> = match &profile.words {
        Some(words) => words.iter().map(|(word, count)| (word.as_str(), *count)).collect(),
        None => profile.examples.iter().map(|text| (text.as_str(), 1)).collect(),
    };
    texts.into_iter().filter(|(text, _)| !text.is_empty() && !is_null(text)).collect()
}

/// Share of the cells at hand of which `is` holds.
pub fn share(profile: &ColumnProfile, is: impl Fn(&str) -> bool) -> f64 {
    let texts = texts(profile);
    let all: usize = texts.iter().map(|(_, count)| count).sum();
    let fitting: usize = texts.iter().filter(|(text, _)| is(text)).map(|(_, count)| count).sum();
    if all == 0 { 0.0 } else { fitting as f64 / all as f64 }
}
