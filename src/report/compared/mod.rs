//! Two reviews of one fleet side by side: what moved, and whether it could be shown.
//!
//! Where the later review compared itself with the earlier quarter, its own verdict counts, which weighs all comparisons
//! together. Elsewhere a move is shown only where the two intervals lie apart: a strict rule, which holds for periods that
//! overlap as well.

mod lines;
mod read;

use std::path::Path;

pub use lines::Compared;
pub use read::CompareError;

/// What moved between two reports, each given by its folder or its `findings.json`.
///
/// # Errors
/// A file that cannot be read or is none of this version's; reviews of different fleets.
pub fn compared(old: &Path, new: &Path) -> Result<Compared, CompareError> {
    let (old, new) = (read::read(old)?, read::read(new)?);
    if old.fleet != new.fleet {
        return Err(CompareError::Fleets { old: old.fleet, new: new.fleet });
    }
    Ok(lines::compare(&old, &new))
}
