//! The invented rows of trust.

use motetrail::measures::Group;
use motetrail::measures::trust::{Attached, By, Own, Quantity, Row, Table};
use motetrail::records;

use super::sample::{SITES, accounts, declared_share, group};

pub fn trust() -> Table {
    let mut table = Table::default();
    let mut count = |by: By, quantity: Quantity, value: i64, own: Own| {
        table.rows.push(Row::count(by, Group::default(), quantity, value, own));
    };
    for line in accounts() {
        let own = Own {
            source: Some(line.source),
            file: Some(line.file),
            read: Some(line.rows.read),
            loaded: Some(line.rows.loaded),
            ..Own::default()
        };
        count(By::File, Quantity::Rows, line.rows.read as i64, own);
    }
    for (how, faults) in [
        (Attached::ByRecord, 402),
        (Attached::ByEndFace, 171),
        (Attached::Lagged, 9),
        (Attached::Ambiguous, 3),
        (Attached::Unattached, 27),
        (Attached::Outside, 14),
    ] {
        let own = Own { how: Some(how), ..Own::default() };
        count(By::Fleet, Quantity::FaultsAttached, faults, own);
    }
    count(By::Fleet, Quantity::Conflicts, 18, Own::default());
    count(By::Fleet, Quantity::FindingsMissing, 77, Own::default());
    count(By::Fleet, Quantity::SilentMonths, 1, Own::default());
    let own = Own { source: Some("desk-tal".to_owned()), ..Own::default() };
    count(By::Fleet, Quantity::EmptyFaultSource, 0, own);
    for (records, p) in [(records::Table::Inspections, 0.001), (records::Table::Matings, 0.31)] {
        let own = Own { table: Some(records), ..Own::default() };
        let (group, quantity) = (Group::default(), Quantity::DayPrecision);
        table.rows.push(declared_share(By::Table, group, quantity, (18_402.0, p), own));
    }
    for site in SITES {
        let (group, quantity) = (group("site", &[site]), Quantity::Unreadable);
        let own = Own::default();
        table.rows.push(declared_share(By::Site, group, quantity, (20_000.0, 0.004), own));
    }
    table
}
