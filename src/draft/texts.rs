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
