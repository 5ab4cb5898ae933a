//! Columns of people's names: told by their names in eight languages, masked by default, never shown.

use motetrail::draft::holds_people;
use motetrail::records::Table;

use super::fixture::{drafted, part, source};

#[test]
fn columns_of_people_are_told_in_eight_languages() {
    let names = [
        "Assignee",
        "assigned_to",
        "Examined by",
        "Reported By",
        "Ticket owner",
        "Employee name",
        "Inspector",
        "Responsible person",
        "Zuständig",
        "Sachbearbeiter",
        "Verantwortlicher",
        "Geprüft von",
        "Gemeldet von",
        "Responsable",
        "Attribué à",
        "Technicien",
        "Contrôlé par",
        "Asignado a",
        "Encargado",
        "Revisado por",
        "Responsabile",
        "Assegnato a",
        "Segnalato da",
        "Behandelaar",
        "Toegewezen aan",
        "Contactpersoon",
        "Osoba odpowiedzialna",
        "Przypisany do",
        "Zgłaszający",
        "Responsável",
        "Atribuído a",
        "Funcionário",
    ];
    for name in names {
        assert!(holds_people(name), "{name}");
    }
}

#[test]
fn columns_of_things_are_not() {
    let names = [
        "End face",
        "Port",
        "Site",
        "Result",
        "Opened",
        "Cause",
        "Work order",
        "Supplier",
        "Cleaning method",
        "Prüfdatum",
        "Stecker",
        "Ergebnis",
        "Hersteller",
        "Connecteur",
        "Résultat",
        "Fecha",
        "Resultado",
        "Esito",
        "Uitslag",
        "Wynik",
        "Data",
        "Kosten",
        "Zone",
        "Instrument",
        "Microscope",
        "Downtime",
        "Services",
    ];
    for name in names {
        assert!(!holds_people(name), "{name}");
    }
}

#[test]
fn people_that_no_part_reads_are_dropped_and_no_name_stands_in_the_draft() {
    let draft = drafted(
        Table::Faults,
        "Ticket|Opened|Port|Cause|Assignee|Remark\n\
         T1|2026-02-01 08:00|A1|dust|Idabel Molewright|Seen Twice\n\
         T2|2026-02-02 08:00|A2|dust|Quentin Abernoth|Seen Once",
    );
    let people = source(&draft)["people"].as_table().unwrap().clone();
    assert_eq!(people.get("Assignee").and_then(|word| word.as_str()), Some("drop"));
    assert!(!draft.toml.contains("Idabel") && !draft.toml.contains("Quentin"), "{}", draft.toml);
    let evidence = draft.doubts.iter().map(|doubt| doubt.evidence.as_str());
    assert!(evidence.into_iter().all(|evidence| !evidence.contains("Idabel")));
}

#[test]
fn examined_by_is_the_inspector_and_needs_no_key() {
    let draft = drafted(
        Table::Inspections,
        "When|Connector|Result|Examined by\n\
         2026-02-01 08:00|A1|pass|Idabel Molewright\n\
         2026-02-02 08:00|A2|fail|Quentin Abernoth",
    );
    let columns = part(&draft, 0, "columns");
    assert_eq!(columns.get("inspector").and_then(|name| name.as_str()), Some("Examined by"));
    assert!(!source(&draft).contains_key("people"), "{}", draft.toml);
    assert!(!draft.toml.contains("Idabel"), "{}", draft.toml);
}

#[test]
fn numbers_of_customers_are_nobodys_names() {
    let draft = drafted(
        Table::Faults,
        "Ticket|Opened|Port|Cause|Customers affected\n1|2026-01-02 10:00|A1|dirt|4\n2|2026-01-03 10:00|A2|dirt|11",
    );
    assert!(!source(&draft).contains_key("people"), "{}", draft.toml);
}
