//! Which known word was probably meant.

/// The known word nearest to `word`: at most a third of its letters wrong (at least one, upper and
/// lower case alike), of equals the first.
pub fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let typed = word.to_lowercase();
    let limit = (typed.chars().count() / 3).max(1);
    known
        .into_iter()
        .map(|known| (strsim::damerau_levenshtein(&typed, &known.to_lowercase()), known))
        .filter(|(distance, _)| *distance <= limit)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, known)| known)
}

/// What to say of a key that nobody reads.
pub fn unknown(what: &str, key: &str, known: &[&str]) -> String {
    let meant = nearest(key, known.iter().copied());
    let hint = meant.map(|meant| format!("; did you mean `{meant}`?")).unwrap_or_default();
    format!("{what}{hint} (known: {})", known.join(", "))
}

/// What to say of a word outside a closed list.
pub fn not_one_of(found: &str, known: &[&str]) -> String {
    let meant = nearest(found, known.iter().copied());
    let hint = meant.map(|meant| format!("; did you mean {meant:?}?")).unwrap_or_default();
    format!("found {found:?}, expected one of {}{hint}", known.join(", "))
}
