use motetrail::records::Table;

use super::fixture::{Kept, With, looks, read, source, words};

const TABLE: Table = Table::Inspections;

fn with(columns: &[(&str, &str)]) -> motetrail::settings::Source {
    let mut record = looks();
    for (canonical, export) in columns {
        record.columns.insert((*canonical).to_owned(), words(&[export]));
    }
    source(vec![record])
}

/// Identity, member and content of the row of that number.
fn prints(kept: &Kept, row: usize) -> (String, u64, u64) {
    let of = |name| kept.prints(TABLE, name)[row];
    (kept.column(TABLE, "identity")[row].clone(), of("member"), of("content"))
}

#[test]
fn a_repeated_row_has_the_same_fingerprints_in_another_file_and_place() {
    let here =
        read(&with(&[]), "At;Port;Result\n03.02.2026 10:00;P1;OK\n04.02.2026 10:00;P2;NOK\n");
    let there =
        read(&with(&[]), "Result;At;Port;X\nNOK;05.02.2026;P9;x\nNOK;04.02.2026 10:00;\"P2\";y\n");
    assert_eq!(prints(&here, 1), prints(&there, 1));
    assert_ne!(prints(&here, 0).0, prints(&here, 1).0);
}

#[test]
fn any_difference_in_content_changes_content_and_without_a_record_id_identity() {
    let source = with(&[("family", "F"), ("work_order", "W"), ("seq", "N")]);
    let rows = [
        "03.02.2026 00:00;P1;OK;LC;W1;1",
        "03.02.2026 00:01;P1;OK;LC;W1;1",
        "03.02.2026;P1;OK;LC;W1;1",
        "03.02.2026 00:00;P2;OK;LC;W1;1",
        "03.02.2026 00:00;P1;NOK;LC;W1;1",
        "03.02.2026 00:00;P1;OK;SC;W1;1",
        "03.02.2026 00:00;P1;OK;;W1;1",
        "03.02.2026 00:00;P1;OK;LC;;1",
        "03.02.2026 00:00;P1;OK;LC;W1;2",
        "03.02.2026 00:00;P1;OK;LC;W1;",
    ];
    let kept = read(&source, &format!("At;Port;Result;F;W;N\n{}\n", rows.join("\n")));
    let mut contents = kept.prints(TABLE, "content");
    let mut identities = kept.column(TABLE, "identity");
    contents.sort_unstable();
    contents.dedup();
    identities.sort_unstable();
    identities.dedup();
    assert_eq!((contents.len(), identities.len()), (rows.len(), rows.len()));
}

#[test]
fn a_record_id_alone_makes_the_identity_and_its_members_are_told_apart() {
    let source = with(&[("record", "No"), ("fibre", "Fibre")]);
    let rows =
        "7;03.02.2026;P1;OK;1\n7;03.02.2026;P1;NOK;1\n7;03.02.2026;P1;OK;2\n8;03.02.2026;P1;OK;1\n";
    let kept = read(&source, &format!("No;At;Port;Result;Fibre\n{rows}"));
    let [first, changed, fibre, other] = [0, 1, 2, 3].map(|row| prints(&kept, row));
    assert_eq!((&first.0, first.1), (&changed.0, changed.1));
    assert_ne!(first.2, changed.2);
    assert_eq!(first.0, fibre.0);
    assert_ne!(first.1, fibre.1);
    assert_ne!(first.0, other.0);
    assert_eq!(first.1, other.1);
}

#[test]
fn text_moved_from_one_column_to_the_next_is_another_content() {
    let source = with(&[("work_order", "W"), ("image", "I")]);
    let kept = read(
        &source,
        "At;Port;Result;W;I\n03.02.2026;P;OK;ab;\n03.02.2026;P;OK;a;b\n03.02.2026;P;OK;;ab\n",
    );
    let contents = kept.prints(TABLE, "content");
    assert!(contents[0] != contents[1] && contents[1] != contents[2] && contents[0] != contents[2]);
}

#[test]
fn one_record_id_in_two_tables_is_two_identities() {
    let look = with(&[("record", "No")]).records.remove(0);
    let mut cleaning = look.clone().constants(&[("method", "dry")]);
    cleaning.table = Table::Cleanings;
    cleaning.columns.remove("outcome");
    let kept = read(&source(vec![look, cleaning]), "No;At;Port;Result\n7;03.02.2026;P;OK\n");
    assert_ne!(kept.column(TABLE, "identity"), kept.column(Table::Cleanings, "identity"));
}

#[test]
fn two_hundred_thousand_records_that_differ_in_one_digit_each_are_told_apart() {
    let mut text = String::from("At;Port;Result\n");
    for minute in 0..500 {
        for port in 0..400 {
            text += &format!("03.02.2026 {:02}:{:02};P{port};OK\n", minute / 60, minute % 60);
        }
    }
    let kept = read(&with(&[]), &text);
    let mut contents = kept.prints(TABLE, "content");
    let mut identities = kept.column(TABLE, "identity");
    for halves in [0..16, 16..32] {
        let mut half: Vec<&str> = identities.iter().map(|id| &id[halves.clone()]).collect();
        half.sort_unstable();
        half.dedup();
        assert_eq!(half.len(), 200_000);
    }
    contents.sort_unstable();
    contents.dedup();
    identities.sort_unstable();
    identities.dedup();
    assert_eq!((contents.len(), identities.len()), (200_000, 200_000));
}
