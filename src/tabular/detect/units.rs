//! Words that name units.

/// Units that exports of the trade put into a row of their own.
const UNITS: [&str; 60] = [
    "mm", "cm", "m", "km", "µm", "um", "nm", "inch", "in", "ft", "s", "sec", "ms", "min", "h",
    "hr", "hrs", "d", "day", "days", "std", "tage", "db", "dbm", "db/km", "%", "‰", "°c", "°f",
    "c", "k", "v", "mv", "a", "ma", "w", "mw", "kw", "kwh", "hz", "khz", "mhz", "ghz", "g", "kg",
    "t", "l", "ml", "bar", "pa", "hpa", "kpa", "n", "nm/s", "m/s", "eur", "usd", "gbp", "chf",
    "pcs",
];

/// Letters of patterns such as `yyyy-mm-dd` and `TT.MM.JJJJ`.
const PATTERN: &str = "ymdhstj-/.: ";

/// Whether a cell names a unit: a known one, something short in brackets, a date pattern, a dash.
pub fn is_unit(cell: &str) -> bool {
    let cell = cell.trim().to_lowercase();
    let bracketed = cell.len() <= 12
        && (cell.starts_with('[') && cell.ends_with(']')
            || cell.starts_with('(') && cell.ends_with(')'));
    let pattern = cell.len() >= 5
        && cell.chars().all(|c| PATTERN.contains(c))
        && cell.chars().any(|c| "-/.:".contains(c));
    bracketed
        || pattern
        || ["-", "#", "€", "$", "£"].contains(&cell.as_str())
        || UNITS.contains(&cell.as_str())
}
