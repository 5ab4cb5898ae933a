//! The tables of intake and trust on the demo and on accounts made up: what became of rows, files and faults.

use motetrail::measures::{add_unread, intake, trust};
use motetrail::records;
use motetrail::store::{Expired, Unread};

use crate::review::demo::demo;

fn of_file<'t>(
    table: &'t intake::Table,
    quantity: intake::Quantity,
    file: &str,
) -> Vec<&'t intake::Row> {
    table.quantity(quantity).filter(|row| row.own.file == file).collect()
}

#[test]
fn refused_rows_of_a_file_are_its_quarantined_ones_and_each_fault_has_an_example() {
    let demo = demo();
    let table = &demo.review.intake;
    let (mut faults, mut examples) = (0, 0);
    for account in &demo.accounts {
        let refused = of_file(table, intake::Quantity::Refused, &account.file);
        let sum: i64 = refused.iter().filter_map(|row| row.events).sum();
        assert_eq!(sum as u64, account.rows.quarantined, "{}", account.file);
        faults += refused.len();
        for row in of_file(table, intake::Quantity::Example, &account.file) {
            let place = (&row.own.table, &row.own.column);
            assert!(refused.iter().any(|fault| (&fault.own.table, &fault.own.column) == place));
            assert!(row.own.line.is_some() && row.own.reason.is_some() && row.own.raw.is_some());
            examples += 1;
        }
    }
    assert!(faults > 20 && examples >= faults, "{faults} faults, {examples} examples");
}

#[test]
fn trust_and_intake_give_a_file_the_same_rows() {
    let demo = demo();
    let rows = demo.review.trust.quantity(trust::Quantity::Rows);
    let pairs: Vec<_> = rows.zip(demo.review.intake.quantity(intake::Quantity::Rows)).collect();
    assert_eq!(pairs.len(), demo.accounts.len());
    for ((trusted, taken), account) in pairs.into_iter().zip(&demo.accounts) {
        let rows = account.rows;
        assert_eq!(trusted.own.file.as_ref(), Some(&taken.own.file));
        let both = [&trusted.own.read, &taken.own.read];
        assert!(both.iter().all(|read| **read == Some(rows.read)));
        let fates = [rows.loaded, rows.superseded, rows.duplicate, rows.quarantined].map(Some);
        let own = &trusted.own;
        assert_eq!([own.loaded, own.superseded, own.duplicate, own.quarantined], fates);
        let own = &taken.own;
        assert_eq!([own.loaded, own.superseded, own.duplicate, own.quarantined], fates);
        assert_eq!(own.withdrawn, Some(rows.withdrawn));
    }
}

#[test]
fn every_fault_of_the_look_back_found_its_mating_or_did_not() {
    let demo = demo();
    let (derived, table) = (&demo.derived, &demo.review.trust);
    let quarters = derived.period.look_back.iter();
    let quarters: Vec<u32> =
        quarters.filter_map(|quarter| derived.calendar.piece_of(*quarter)).collect();
    let faults = derived.counts.faults.cells();
    let looked_back = faults.iter().filter(|(key, _)| quarters.contains(&key.quarter.0));
    let (mut all, mut outside) = (0, 0);
    for (_, counted) in looked_back {
        (all, outside) = (all + counted.faults, outside + counted.outside);
    }
    let rows: Vec<_> = table.quantity(trust::Quantity::FaultsAttached).collect();
    let of = |found: Option<bool>| -> i64 {
        let rows = rows.iter().filter(|row| row.own.how.unwrap().found() == found);
        rows.filter_map(|row| row.events).sum()
    };
    assert!(of(Some(true)) > 0 && of(Some(false)) > 0);
    assert_eq!(of(Some(true)) + of(Some(false)), all);
    assert_eq!(of(None), outside);
}

#[test]
fn a_look_without_a_picture_is_counted_at_its_site() {
    let demo = demo();
    let counted = demo.derived.counts.first_pass.unreadable.total().unreadable;
    let rows = demo.review.trust.rows_of(trust::By::Site, trust::Quantity::Unreadable);
    let sum: i64 = rows.filter_map(|row| row.events).sum();
    assert!(sum > 0);
    assert_eq!(sum, counted);
}

#[test]
fn records_dropped_for_their_age_have_a_row_a_table() {
    let mut account = demo().accounts[0].clone();
    let dropped = |table, records| Expired { table, records };
    account.expired =
        vec![dropped(records::Table::Inspections, 12), dropped(records::Table::Matings, 3)];
    let table = intake::intake(&[account]);
    let rows = table.quantity(intake::Quantity::Expired);
    let said: Vec<_> =
        rows.map(|row| (row.own.table.clone().unwrap(), row.n, row.own.read)).collect();
    let expected = [("inspections", 12.0), ("matings", 3.0)];
    assert_eq!(said, expected.map(|(table, n)| (table.to_owned(), n, None)));
}

#[test]
fn exports_that_could_not_be_read_are_named_in_intake_and_counted_in_trust() {
    let mut review = demo().review.clone();
    let (taken, trusted) = (review.intake.rows.len(), review.trust.rows.len());
    add_unread(&mut review, &[]);
    assert_eq!((review.intake.rows.len(), review.trust.rows.len()), (taken, trusted));
    let unread = |file: &str, earlier| Unread {
        source: "scopes".to_owned(),
        file: file.to_owned(),
        message: format!("{file}: found no header; export it again"),
        reason: "found no header; export it again".to_owned(),
        earlier,
    };
    add_unread(&mut review, &[unread("a.csv", false), unread("b.csv", true)]);
    let named: Vec<_> = review.intake.quantity(intake::Quantity::Unread).collect();
    assert_eq!(
        named.iter().map(|row| row.own.file.as_str()).collect::<Vec<_>>(),
        ["a.csv", "b.csv"]
    );
    let reasons: Vec<&str> = named.iter().map(|row| row.own.reason.as_deref().unwrap()).collect();
    assert_eq!(reasons[0], "found no header; export it again");
    assert!(reasons[1].ends_with("stays in force"), "{}", reasons[1]);
    let counted: Vec<f64> =
        review.trust.quantity(trust::Quantity::Unread).map(|row| row.n).collect();
    assert_eq!(counted, [2.0]);
}
