use motetrail::intake::PeopleKey;
use motetrail::records::Table;
use motetrail::settings::{Source, Test};

use super::fixture::{With, looks, read, source, words};

fn looks_by(export: &str) -> Source {
    let mut record = looks();
    record.columns.insert("inspector".to_owned(), words(&[export]));
    source(vec![record])
}

#[test]
fn a_name_becomes_a_pseudonym_that_depends_on_the_key() {
    let kept = read(
        &looks_by("Who"),
        "At;Port;Result;Who\n03.02.2026;P;OK;Ida\n03.02.2026;P;OK; Ida \n03.02.2026;P;OK;Jo\n03.02.2026;P;OK;-\n",
    );
    let names = kept.column(Table::Inspections, "inspector");
    let ida = PeopleKey::new([7; 32]).pseudonym_of("Ida");
    assert_eq!(ida.len(), 14);
    assert!(
        ida.starts_with("p-")
            && ida[2..].bytes().all(|b| b.is_ascii_lowercase() || (b'2'..=b'7').contains(&b))
    );
    assert_eq!(names[..2], [ida.clone(), ida.clone()]);
    assert_ne!(names[2], ida);
    assert_eq!(names[3], "");
    assert_ne!(PeopleKey::new([8; 32]).pseudonym_of("Ida"), ida);
    assert!(!format!("{:?}", PeopleKey::new([7; 32])).contains('7'));
}

#[test]
fn no_rejected_row_shows_a_name() {
    let text = "At;Who;Port;Result\n\
        03.02.2026;Ida Mole;P;bad\n\
        03.02.2026;extra;Ida Mole;P;OK\n\
        03.02.2026;Ida Mole;P\n\
        Ida Mole\n\
        03.02.2026;\"Ida\"Mole;P;OK\n\
        03.02.2026;Ida Mole;\0;OK\n\
        03.02.2026;Ida Mole;\"P;OK\n";
    let kept = read(&looks_by("Who"), text);
    let raw: Vec<&str> = kept.rejected.iter().map(|rejected| rejected.raw.as_str()).collect();
    assert_eq!(
        raw,
        [
            "03.02.2026;***;P;bad",
            "03.02.2026;***;***;P;OK",
            "***;***;P",
            "***",
            "***",
            "03.02.2026;***;\0;OK",
            "***",
        ]
    );
    assert!(kept.rejected.iter().all(|rejected| !rejected.reason.contains("Ida")));
}

#[test]
fn a_name_that_is_read_as_something_else_too_is_not_in_the_reason() {
    let mut odd = looks_by("Result");
    let text = "At;Port;Result\n03.02.2026;P;Ida\n";
    let reason = "found ***, expected one of pass, fail, unreadable; add it to the map's values";
    assert_eq!(read(&odd, text).reasons(), [format!("2|inspections|Result|{reason}")]);
    odd.records[0] = odd.records[0].clone().when("Result", Test::OneOf(words(&["OK"])));
    assert_eq!(
        read(&odd, text).reasons(),
        [
            "2|||no part of the map takes this row: found *** in column \"Result\", expected one of OK; add a part or widen a when"
        ]
    );
}
