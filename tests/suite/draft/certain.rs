//! What was once taken for certain and was wrong, or was lost without a question: a file each.

use motetrail::records::Table;

use super::fixture::{asked, drafted, drafted_with_rows, keys, part, profiles, source, tables};

/// Rows of a header, whose cells are made of the row's number.
pub fn rows(header: &str, cells: impl Fn(usize) -> String) -> String {
    (0..60).fold(header.to_owned(), |text, row| text + "\n" + &cells(row))
}

pub fn day(row: usize) -> String {
    format!("2026-02-{:02} 08:{:02}", row % 28 + 1, row)
}

#[test]
fn a_port_beside_rack_and_panel_is_named_by_all_three_in_three_languages() {
    for [no, at, rack, panel, port, stage, result] in [
        ["Look no", "When", "Rack", "Panel", "Port", "Stage", "Result"],
        ["Prüf-Nr", "Zeitpunkt", "Schrank", "Feld", "Port", "Tätigkeit", "Ergebnis"],
        ["N° contrôle", "Date", "Baie", "Tiroir", "Port", "Étape", "Résultat"],
    ] {
        let text = rows(&[no, at, rack, panel, port, stage, result].join("|"), |row| {
            let place = format!("R{}|P{}|{}", row / 12 % 2, row / 24, row % 12);
            format!("L{row}|{}|{place}|incoming|pass", day(row))
        });
        let draft = drafted_with_rows(Table::Inspections, &text);
        let end = part(&draft, 0, "columns")["end_face"].clone();
        let names: Vec<&str> =
            end.as_array().unwrap().iter().map(|it| it.as_str().unwrap()).collect();
        assert_eq!(names, [rack, panel, port]);
        let form = part(&draft, 0, "forms")["end_face"].as_str().unwrap().to_owned();
        assert_eq!(form, format!("{{{rack}}}-{{{panel}}}-{{{port}}}"));
        assert!(keys(&draft).contains(&"record[0].columns.end_face"), "{}", draft.toml);
    }
}

#[test]
fn a_port_that_names_its_rack_itself_stands_alone() {
    let text = rows("ID|When|Rack|Port|Stage|Result", |row| {
        let rack = row % 4;
        format!("L{row}|{}|R{rack}|R{rack}-{}|incoming|pass", day(row), row % 12)
    });
    let draft = drafted_with_rows(Table::Inspections, &text);
    assert_eq!(part(&draft, 0, "columns")["end_face"].as_str(), Some("Port"));
    assert!(!keys(&draft).contains(&"record[0].columns.end_face"), "{}", draft.toml);
}

/// A draft of looks with one more column of these two words.
fn looks_with(name: &str, words: [&str; 2]) -> motetrail::draft::Draft {
    let text = rows(&format!("ID|When|Connector|Stage|Outcome|{name}"), |row| {
        format!("L{row}|{}|A-{row}|incoming|pass|{}", day(row), words[row % 2])
    });
    drafted_with_rows(Table::Inspections, &text)
}

#[test]
fn results_and_kinds_are_no_numbers_of_fibres() {
    for words in [["PASS", "FAIL"], ["OS2", "OM4"]] {
        let draft = looks_with("Fibre", words);
        assert!(!part(&draft, 0, "columns").contains_key("fibre"), "{}", draft.toml);
        assert!(draft.toml.contains("#   \"Fibre\""), "{}", draft.toml);
    }
    let draft = looks_with("Fibre", ["1", "2"]);
    assert_eq!(part(&draft, 0, "columns")["fibre"].as_str(), Some("Fibre"));
    assert!(!keys(&draft).contains(&"record[0].columns.fibre"), "{}", draft.toml);
}

#[test]
fn a_grade_or_a_state_is_no_outcome_for_certain() {
    for (name, words) in
        [("Grade", ["A", "B"]), ("Status", ["open", "closed"]), ("Outcome", ["X", "Y"])]
    {
        let text = rows(&format!("ID|When|Connector|Stage|{name}"), |row| {
            format!("L{row}|{}|A-{row}|incoming|{}", day(row), words[row % 2])
        });
        let draft = drafted(Table::Inspections, &text);
        assert!(keys(&draft).contains(&"record[0].columns.outcome"), "{name}\n{}", draft.toml);
    }
}

#[test]
fn customers_are_no_costs_and_signed_costs_say_what_they_count() {
    let text = rows("Ticket|Opened|Port|Root cause|customers", |row| {
        format!("T{row}|{}|A-{row}|dirt|{}", day(row), row % 9)
    });
    assert!(!part(&drafted(Table::Faults, &text), 0, "columns").contains_key("cost"));
}

#[test]
fn every_end_of_a_duplex_row_is_a_look() {
    let text = rows("N°|Date|Connecteur A|Résultat A|Connecteur B|Résultat B|Étape", |row| {
        format!("{row}|{}|A{row}|conforme|B{row}|non conforme|installation", day(row))
    });
    let draft = drafted(Table::Inspections, &text);
    let ends: Vec<String> = (0..2)
        .map(|at| part(&draft, at, "columns")["end_face"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(ends, ["Connecteur A", "Connecteur B"]);
}

#[test]
fn a_look_before_and_one_after_a_cleaning_are_three_records() {
    let header =
        "ID|When|Connector|Stage|Result before cleaning|Cleaning method|Result after cleaning";
    let text = rows(header, |row| {
        let tail = if row % 3 == 0 { "fail|dry|pass" } else { "pass||" };
        format!("L{row}|{}|A-{row}|incoming|{tail}", day(row))
    });
    let draft = drafted(Table::Inspections, &text);
    assert_eq!(tables(&draft), ["inspections", "cleanings", "inspections"], "{}", draft.toml);
    let outcome = |at| part(&draft, at, "columns")["outcome"].as_str().unwrap().to_owned();
    assert_eq!([outcome(0), outcome(2)], ["Result before cleaning", "Result after cleaning"]);
    assert_eq!(part(&draft, 1, "columns")["method"].as_str(), Some("Cleaning method"));
    let seqs: Vec<String> = (0..3)
        .map(|at| part(&draft, at, "constants")["seq"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(seqs, ["1", "2", "3"]);
    // One row, two looks: they must not be taken for one record.
    let form = |at| part(&draft, at, "forms")["record"].as_str().unwrap().to_owned();
    assert_ne!(form(0), form(2));
}

#[test]
fn ends_of_a_mating_in_brackets_are_both_found() {
    let text = rows("Nr wpisu|Data|Złącze (wtyk)|Złącze (gniazdo)|Etap", |row| {
        format!("{row}|{}|WT-{row}|GN-{row}|montaż", day(row))
    });
    let columns = part(&drafted(Table::Matings, &text), 0, "columns");
    assert_eq!(columns["end_face_a"].as_str(), Some("Złącze (wtyk)"));
    assert_eq!(columns["end_face_b"].as_str(), Some("Złącze (gniazdo)"));
    assert_eq!(columns["record"].as_str(), Some("Nr wpisu"));
}

#[test]
fn a_mating_with_one_end_asks_for_the_other() {
    let text = rows("ID|When|Connector|Phase", |row| format!("M{row}|{}|A-{row}|change", day(row)));
    let draft = drafted(Table::Matings, &text);
    let asked = keys(&draft);
    assert!(
        asked.iter().any(|key| key.ends_with("end_face_b") || key.ends_with("end_face_a")),
        "{asked:?}"
    );
}

#[test]
fn a_log_in_words_of_the_past_has_a_part_for_every_kind() {
    let text = rows("What|Ref|When|Point|Into|Phase", |row| {
        let what = ["patched", "re-patched", "cleaned"][row % 3];
        let into = if row % 3 == 2 { String::new() } else { format!("Q{row}") };
        format!("{what}|A{row}|{}|P{row}|{into}|installation", day(row))
    });
    let draft = motetrail::draft::draft(&asked(None), &profiles(&text), &Default::default());
    assert_eq!(tables(&draft), ["cleanings", "matings"], "{}", draft.toml);
    assert_eq!(part(&draft, 1, "columns")["end_face_b"].as_str(), Some("Into"));
}

#[test]
fn numbers_of_records_are_found_under_names_of_other_languages() {
    for name in ["ID evento", "Chamado", "Nr wpisu", "Vorgang", "N° dossier"] {
        let columns = part(&numbered(name), 0, "columns");
        assert_eq!(columns.get("record").and_then(|it| it.as_str()), Some(name));
    }
}

/// A draft of looks whose first column numbers them.
fn numbered(name: &str) -> motetrail::draft::Draft {
    let text = rows(&format!("{name}|When|Connector|Stage|Outcome"), |row| {
        format!("E{row}|{}|A-{row}|incoming|pass", day(row))
    });
    drafted(Table::Inspections, &text)
}

#[test]
fn running_numbers_are_numbers_of_records_and_an_unknown_number_is_asked_about() {
    for name in [
        "Running no",
        "Lfdnr.",
        "Laufende Nr.",
        "N° d'ordre",
        "N.º correlativo",
        "N.º de orden",
        "N. progressivo",
        "Volgnr",
        "Volg-nr.",
        "L.p.",
        "Nr porządkowy",
        "N.º sequencial",
    ] {
        let draft = numbered(name);
        let columns = part(&draft, 0, "columns");
        assert_eq!(columns.get("record").and_then(|it| it.as_str()), Some(name), "{}", draft.toml);
        assert!(!keys(&draft).contains(&"record[0].columns.record"), "{}", draft.toml);
    }
    let draft = numbered("Zettel-Nr.");
    assert_eq!(part(&draft, 0, "columns")["record"].as_str(), Some("Zettel-Nr."));
    assert!(keys(&draft).contains(&"record[0].columns.record"), "{}", draft.toml);
}

#[test]
fn a_number_that_repeats_is_joined_to_its_order_or_counts_its_end_faces() {
    let text = rows("Auftragsnr.|Vorgang|Zeit|Steckverbinder|Tätigkeit|Ergebnis", |row| {
        format!("A{}|{}|{}|S-{row}|Montage|i.O.", row / 4, row % 4 + 1, day(row))
    });
    let draft = drafted_with_rows(Table::Inspections, &text);
    let record = part(&draft, 0, "columns")["record"].clone();
    let names: Vec<&str> =
        record.as_array().unwrap().iter().map(|it| it.as_str().unwrap()).collect();
    assert_eq!(names, ["Auftragsnr.", "Vorgang"]);
    let text = rows("Look no|When|Connector|Fibre|Stage|Outcome", |row| {
        format!("L{}|{}|MPO-{}|{}|incoming|pass", row / 12, day(row / 12), row / 12, row % 12 + 1)
    });
    let draft = drafted_with_rows(Table::Inspections, &text);
    assert_eq!(part(&draft, 0, "columns")["record"].as_str(), Some("Look no"));
    assert!(!keys(&draft).contains(&"record[0].columns.record"), "{}", draft.toml);
}

#[test]
fn times_in_utc_by_their_name_need_no_zone() {
    let text = rows("ID|time (UTC)|Connector|Stage|Outcome", |row| {
        format!("L{row}|{}|A-{row}|incoming|pass", day(row))
    });
    let draft = drafted(Table::Inspections, &text);
    assert_eq!(source(&draft)["timezone"].as_str(), Some("UTC"));
    assert!(!keys(&draft).contains(&"timezone"));
}

#[test]
fn a_column_of_nothing_but_the_fleets_sites_is_the_site() {
    let text = rows("ID|When|Where|Connector|Stage|Outcome", |row| {
        let site = ["Alder Point", "Birch Quay"][row % 2];
        format!("L{row}|{}|{site}|A-{row}|incoming|pass", day(row))
    });
    let draft = drafted(Table::Inspections, &text);
    assert_eq!(part(&draft, 0, "columns")["site"].as_str(), Some("Where"));
    assert!(!keys(&draft).contains(&"record[0].columns.site"), "{}", draft.toml);
}

#[test]
fn a_result_a_zone_becomes_zones_and_is_no_fibre_and_no_person() {
    let text = rows("ID|At|Connector|Stage|Core|Cladding|Adhesive|Contact", |row| {
        let word = |at: usize| if row % 7 == at { "FAIL" } else { "PASS" };
        format!(
            "L{row}|{}|A-{row}|incoming|{}|{}|{}|{}",
            day(row),
            word(0),
            word(1),
            word(2),
            word(3)
        )
    });
    let draft = drafted(Table::Inspections, &text);
    let record = source(&draft)["record"][0].clone();
    let zones = record["zones"].as_table().unwrap();
    let names: Vec<(&str, &str)> =
        zones.iter().map(|(zone, name)| (zone.as_str(), name.as_str().unwrap())).collect();
    assert_eq!(names, [("A", "Core"), ("B", "Cladding"), ("C", "Adhesive"), ("D", "Contact")]);
    assert_eq!(record["values"]["outcome"]["FAIL"].as_str(), Some("fail"));
    let columns = part(&draft, 0, "columns");
    assert!(!columns.contains_key("fibre") && !columns.contains_key("outcome"), "{}", draft.toml);
    assert!(!source(&draft).contains_key("people"), "{}", draft.toml);
}

#[test]
fn an_encoding_that_is_a_guess_is_a_question() {
    let text = "ID|When|Connector|Stage|Outcome\n1|2026-02-03 08:00|A|incoming|pass";
    let dialect = motetrail::settings::Dialect {
        encoding: motetrail::settings::Encoding::named("windows-1250").unwrap(),
        ..Default::default()
    };
    let mut asked = asked(Some(Table::Inspections));
    asked.guessed_encoding = Some("the byte B3 reads as a letter".to_owned());
    let draft = motetrail::draft::draft(&asked, &profiles(text), &dialect);
    assert!(keys(&draft).contains(&"encoding"), "{}", draft.toml);
}

#[test]
fn a_time_of_day_joined_by_a_dot_belongs_to_the_day_beside_it() {
    let text = rows("N. controllo|Data|Ora|Connettore|Fase|Esito", |row| {
        format!(
            "C{row}|{:02}/02/2026|{:02}.{:02}|A-{row}|posa|conforme",
            row % 28 + 1,
            row % 24,
            row
        )
    });
    let draft = drafted(Table::Inspections, &text);
    let at = part(&draft, 0, "columns")["at"].clone();
    let names: Vec<&str> = at.as_array().unwrap().iter().map(|it| it.as_str().unwrap()).collect();
    assert_eq!(names, ["Data", "Ora"], "{}", draft.toml);
    assert_eq!(part(&draft, 0, "dates")["at"].as_str(), Some("%d/%m/%Y %H.%M"));
    // A number beside a day is no time of day, whatever it looks like.
    let draft = drafted(Table::Inspections, &text.replace("|Ora|", "|Valore|"));
    assert_eq!(part(&draft, 0, "columns")["at"].as_str(), Some("Data"), "{}", draft.toml);
}

#[test]
fn ends_of_a_mating_that_words_of_direction_tell_are_both_found() {
    for [from, to] in [
        ["Aansluiting van", "Aansluiting naar"],
        ["Anschluss von", "Anschluss nach"],
        ["Port départ", "Port arrivée"],
        ["Origin connector", "Destination connector"],
        ["Connettore da", "Connettore verso"],
    ] {
        let text = rows(&format!("No|Date|{from}|{to}|Stage"), |row| {
            format!("{row}|{}|WT-{row}|GN-{row}|incoming", day(row))
        });
        let columns = part(&drafted(Table::Matings, &text), 0, "columns");
        let end = |name: &str| columns.get(name).and_then(|it| it.as_str());
        assert_eq!((end("end_face_a"), end("end_face_b")), (Some(from), Some(to)));
    }
}
