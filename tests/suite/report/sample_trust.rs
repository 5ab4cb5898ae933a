//! The invented rows of trust.

use motetrail::derive::Basis;
use motetrail::measures::trust::{Attached, By, LooksOf, Own, Quantity, Row, Table};
use motetrail::measures::{Flag, Group};
use motetrail::records;

use super::sample::{SITES, accounts, declared, declared_share, group};

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
    for (source, hours, basis) in
        [("desk-tal", 36, Basis::NamesReplaced), ("desk-mor", 12, Basis::NotShown)]
    {
        let own = Own { source: Some(source.to_owned()), basis: Some(basis), ..Own::default() };
        let quantity = Quantity::TicketWindow;
        let row = Row::figure(By::Source, Group::default(), quantity, hours.into(), "rule F2", own);
        table.rows.push(Row { n: 212.0, events: Some(31), ..row });
    }
    for (hours, ratio, flag) in [(0, 1.1, Some(Flag::LateTickets)), (36, 2.0, None)] {
        let own = Own { to_hours: Some(hours), ..Own::default() };
        let (group, quantity) = (Group::default(), Quantity::RatioByTicketWindow);
        let row = Row::figure(By::Fleet, group, quantity, ratio, "Mantel-Haenszel", own);
        table.rows.push(Row { events: Some(180), ..row }.flagged(flag));
    }
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

/// Rows of looks taken twice: the share failing among first looks of pairs, and that of all looks.
pub fn looked_twice(first: f64, all: f64) -> Vec<Row> {
    let share = |looks, p, n| {
        let own = Own { looks: Some(looks), ..Own::default() };
        declared_share(By::Fleet, Group::default(), Quantity::FailingLooks, (n, p), own)
    };
    let (group, quantity) = (Group::default(), Quantity::Agreement);
    let counted = (895.0, 850);
    let kappa = declared(
        (By::Fleet, group, quantity),
        "Fleiss' kappa",
        counted,
        [0.16, 0.05, 0.27],
        Own::default(),
    );
    vec![kappa, share(LooksOf::FirstOfPair, first, 895.0), share(LooksOf::All, all, 46_000.0)]
}

/// Months of a site, or of the fleet, with its faults known.
pub fn months(site: Option<&str>, months: f64) -> Row {
    let by = if site.is_some() { By::Site } else { By::Fleet };
    let group = Group { site: site.map(str::to_owned), ..Group::default() };
    let quantity = if site.is_some() { Quantity::MonthsFollowed } else { Quantity::MonthsRecorded };
    let row = Row::figure(by, group, quantity, months, "days of calendar months", Own::default());
    row.flagged((months.round() < 12.0).then_some(Flag::ShortHistory))
}
