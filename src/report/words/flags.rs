//! What flags mean: for the reader in a sentence, for a picture in the shape of the mark.

use crate::charts::Look;
use crate::measures::{Flag, Row};

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

/// The flags as one text.
pub(in crate::report) fn words(flags: &[Flag]) -> String {
    flags.iter().map(|flag| flag.word()).collect::<Vec<_>>().join(", ")
}

/// One sentence for every flag that occurs in the rows, in the order of the flags.
pub(in crate::report) fn explained<'a>(rows: impl IntoIterator<Item = &'a Row>) -> Vec<String> {
    let mut flags: Vec<Flag> = rows.into_iter().flat_map(|row| row.flags.iter().copied()).collect();
    flags.sort_unstable();
    flags.dedup();
    flags.into_iter().map(|flag| format!("{}: {}", flag.word(), meaning(flag))).collect()
}

fn meaning(flag: Flag) -> &'static str {
    match flag {
        Flag::Thin => {
            "too few units, or too few expected events on one side, to rank or to headline."
        }
        Flag::FewClusters => {
            "too few work orders, site-days or site-weeks behind the interval; it may be too narrow."
        }
        Flag::Selective => {
            "more than a fifth of the visits began without a look, so those that had one may not be typical."
        }
        Flag::Partial => "the row has less than 80 % of the fleet's mix to be standardised to.",
        Flag::Short => {
            "a span of the follow-up has no time at risk; a sum over it cannot be given."
        }
        Flag::Borrowed => {
            "no event of its own that could tell; the value is what the other rows suggest."
        }
        Flag::Confounded => {
            "faults that dirt cannot produce differ between the two sides as well, so something else differs between them."
        }
        Flag::NotConverged => "the fit stopped before it settled.",
        Flag::NotIdentified => "these records cannot tell this value from others.",
        Flag::BeyondData => "the value lies beyond what was observed; read it as a lower limit.",
        Flag::GuessedCover => {
            "the settings do not say from when to when faults were recorded; the span of the records was taken."
        }
    }
}
