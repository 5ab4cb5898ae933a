//! Pieces of sentences: texts cut and quoted, counts with their noun.

/// At most that many characters of a text; the last is `…` where some are left out.
pub fn cut(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        None => text.to_owned(),
        Some(_) => text.chars().take(most.saturating_sub(1)).chain(['…']).collect(),
    }
}

/// A text in quotes for a sentence, cut, with control characters escaped.
pub fn quoted(text: &str) -> String {
    format!("{:?}", cut(text, 40))
}

/// Several texts in quotes, apart by commas.
pub fn quoted_list(texts: &[String]) -> String {
    let quoted: Vec<String> = texts.iter().map(|text| quoted(text)).collect();
    quoted.join(", ")
}

/// A count with its noun, which takes an `s` for all but one.
pub fn counted(count: usize, noun: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {noun}{plural}")
}
