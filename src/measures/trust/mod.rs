//! 5.10, Q10: can these records be trusted? Row accounts, attachment of faults, precision of times,
//! conflicts, silence.

use crate::by;
use crate::derive::counts::{Faults, How, Site, Unreadable, unreadable};
use crate::derive::{DeriveError, Rows};
use crate::measures::coverage;
use crate::measures::evidence::Evidence;
use crate::measures::results::{Group, results, words};
use crate::records;
use crate::stats::wilson;
use crate::store::{FileAccount, RowAccount};

results! {
    /// Whether these records can be trusted.
    table "trust";

    /// What trust is grouped by.
    pub enum By {
        Fleet = "fleet",
        File = "file",
        Table = "table",
        Site = "site",
    }

    /// What trust tells.
    pub enum Quantity {
        /// Rows of a file; its columns say what became of them.
        Rows = "rows" [Count],
        /// Faults of the months looked back, by how they found their matings.
        FaultsAttached = "faults-attached" [Count],
        /// Share of the records of a table whose time is known to the day only.
        DayPrecision = "day-precision" [Share],
        /// Share of looks without a readable picture.
        Unreadable = "unreadable" [Share],
        /// Attributes in records that disagree with the register of end faces.
        Conflicts = "conflicts" [Count],
        /// First looks that failed, and the record does not say for what.
        FindingsMissing = "findings-missing" [Count],
        /// Months in which a site recorded no look though it cleaned or mated.
        SilentMonths = "silent-months" [Count],
        /// Faults of a fault source that has none, which covers nothing therefore.
        EmptyFaultSource = "fault-source-without-faults" [Count],
        /// Exports that could not be read; the review was made without them.
        Unread = "unread" [Count],
    }

    /// What trust adds to its counts.
    pub struct Own {
        /// Name of the source, in rows of a file and of a fault source.
        source: Option<String>,
        /// Path of the file, relative to the folder of the settings.
        file: Option<String>,
        /// Data rows in the file.
        read: Option<u64> [Count],
        /// Rows with a record that stands.
        loaded: Option<u64> [Count],
        /// Rows whose records were replaced by later ones with other content, or withdrawn.
        superseded: Option<u64> [Count],
        /// Rows that say what another row says.
        duplicate: Option<u64> [Count],
        /// Rows that could not be read as the settings say.
        quarantined: Option<u64> [Count],
        /// How faults found their matings.
        how: Option<Attached>,
        /// Table whose records the share is taken of.
        table: Option<records::Table>,
    }
}

words! {
    /// How faults found their matings.
    pub enum Attached {
        /// By the record of the mating, which the ticket names.
        ByRecord = "record",
        /// By the end face, which the ticket names, and the time.
        ByEndFace = "end-face",
        /// The ticket was stamped after the repair: the fault belongs to the mating replaced shortly before.
        Lagged = "lagged",
        /// Not at all: more than one mating fits.
        Ambiguous = "ambiguous",
        /// Not at all: no mating fits.
        Unattached = "unattached",
        /// Attached to a mating that was not in force then; counted by how it was attached as well.
        Outside = "outside",
    }
}

impl From<How> for Attached {
    fn from(how: How) -> Self {
        match how {
            How::ByRecord => Attached::ByRecord,
            How::ByEndFace => Attached::ByEndFace,
            How::Lagged => Attached::Lagged,
            How::Ambiguous => Attached::Ambiguous,
            How::Unattached => Attached::Unattached,
        }
    }
}

impl Attached {
    /// Whether such faults found their mating; none where they are counted under another word already.
    pub fn found(self) -> Option<bool> {
        match self {
            Attached::ByRecord | Attached::ByEndFace | Attached::Lagged => Some(true),
            Attached::Ambiguous | Attached::Unattached => Some(false),
            Attached::Outside => None,
        }
    }
}

/// The table of trust.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn trust(
    evidence: &Evidence,
    accounts: &[FileAccount],
    coverage: &coverage::Table,
) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    table.rows.extend(accounts.iter().map(rows_of_file));
    attachment(evidence, &mut table)?;
    precision(evidence, &mut table);
    unreadable(evidence, &mut table)?;
    let counts = &evidence.derived.counts;
    let silent = coverage.quantity(coverage::Quantity::SilentMonth).count();
    for (quantity, count) in [
        (Quantity::Conflicts, counts.conflicts as i64),
        (Quantity::FindingsMissing, counts.first_pass.findings_missing as i64),
        (Quantity::SilentMonths, silent as i64),
    ] {
        table.rows.push(of_fleet(quantity, count, Own::default()));
    }
    for source in &evidence.derived.empty_fault_sources {
        let own = Own { source: Some(source.clone()), ..Own::default() };
        table.rows.push(of_fleet(Quantity::EmptyFaultSource, 0, own));
    }
    Ok(table)
}

fn of_fleet(quantity: Quantity, count: i64, own: Own) -> Row {
    Row::count(By::Fleet, Group::default(), quantity, count, own)
}

fn rows_of_file(account: &FileAccount) -> Row {
    // Of rows withdrawn and expired the table of intake tells.
    let RowAccount { read, loaded, superseded, duplicate, quarantined, withdrawn: _, expired: _ } =
        account.rows;
    let own = Own {
        source: Some(account.source.clone()),
        file: Some(account.file.clone()),
        read: Some(read),
        loaded: Some(loaded),
        superseded: Some(superseded),
        duplicate: Some(duplicate),
        quarantined: Some(quarantined),
        ..Own::default()
    };
    let read = i64::try_from(read).unwrap_or(i64::MAX);
    Row::count(By::File, Group::default(), Quantity::Rows, read, own)
}

/// How the faults of the look-back found their matings.
fn attachment(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let mut push = |how, faults| {
        let own = Own { how: Some(how), ..Own::default() };
        table.rows.push(of_fleet(Quantity::FaultsAttached, faults, own));
    };
    let mut outside = 0i64;
    let found = evidence.along::<How, Faults>(&evidence.looked_back(), &by!())?;
    for (how, counted) in found.iter().flat_map(|fleet| &fleet.cells) {
        outside = outside.saturating_add(counted.outside);
        push(Attached::from(*how), counted.faults);
    }
    push(Attached::Outside, outside);
    Ok(())
}

/// How many times are known to the day only, by table.
fn precision(evidence: &Evidence, table: &mut Table) {
    let precision = &evidence.derived.precision;
    for (records, (by_day, all)) in [
        (records::Table::Inspections, precision.looks),
        (records::Table::Cleanings, precision.cleanings),
        (records::Table::Matings, precision.matings),
    ] {
        let estimate = wilson(by_day as f64, all as f64, evidence.rules().level);
        let own = Own { table: Some(records), ..Own::default() };
        let group = Group::default();
        table.rows.push(Row::of(By::Table, group, Quantity::DayPrecision, &estimate, own));
    }
}

/// Looks without a readable picture, by site.
fn unreadable(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let columns = by!(Site);
    for site in evidence.groups::<Unreadable>(&Rows::all(), &columns)? {
        let unreadable::Row { looks, unreadable } = site.counts;
        let estimate = wilson(unreadable as f64, looks as f64, evidence.rules().level);
        let group = Group::of(&columns.columns(), &site.words);
        table.rows.push(Row::of(By::Site, group, Quantity::Unreadable, &estimate, Own::default()));
    }
    Ok(())
}
