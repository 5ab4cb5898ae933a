//! What flags mean: for the reader in a sentence, for a picture in the shape of the mark.

use crate::charts::Look;
use crate::measures::{AnyRow, Flag};

/// The mark of a row with these flags; what only warns leaves it filled.
pub(in crate::report) fn look(flags: &[Flag]) -> Look {
    if flags.contains(&Flag::Confounded) {
        Look::Confounded
    } else if flags.contains(&Flag::Borrowed) {
        Look::Borrowed
    } else if flags.iter().all(|flag| flag.only_warns()) {
        Look::Firm
    } else {
        Look::Thin
    }
}

/// What stands between two flags.
pub(in crate::report) const BETWEEN: &str = ", ";

/// The flags as one text.
pub(in crate::report) fn words(flags: &[Flag]) -> String {
    flags.iter().map(|flag| flag.word()).collect::<Vec<_>>().join(BETWEEN)
}

/// One sentence for every flag that occurs in the rows, in the order of the flags.
pub(in crate::report) fn explained(rows: impl IntoIterator<Item = impl AnyRow>) -> Vec<String> {
    let mut flags: Vec<Flag> =
        rows.into_iter().flat_map(|row| row.leading().flags.to_vec()).collect();
    flags.sort_unstable();
    flags.dedup();
    flags.into_iter().map(|flag| format!("{}: {}", flag.word(), flag.doc())).collect()
}
