//! Traps of invented exports in several languages: wrong for certain, or lost without a question, when they were first
//! tried.

use motetrail::draft::Draft;
use motetrail::records::Table;

use super::certain::{day, rows};
use super::fixture::{drafted, drafted_with_rows, keys, part, source, tables};

fn faults(header: &str, cells: impl Fn(usize) -> String) -> Draft {
    drafted_with_rows(Table::Faults, &rows(header, cells))
}

fn column<'a>(columns: &'a toml::Table, name: &str) -> Option<&'a str> {
    columns.get(name).and_then(|value| value.as_str())
}

#[test]
fn thousands_of_a_currency_are_found_in_the_words_of_eight_languages() {
    for name in [
        "Koszt (tys. zł)",
        "Kosten (Tsd. €)",
        "Coste (miles €)",
        "Costo (migliaia €)",
        "Custo (mil R$)",
        "Kosten (duizend €)",
        "Coût (milliers €)",
        "Cost (€000)",
        "Cost (£'000)",
        "Kosten (T€)",
    ] {
        let draft = faults(&format!("Ticket|Opened|End face|{name}"), |row| {
            format!("T{row}|{}|A-{row}|{}.{:03}", day(row), row % 7, row * 17 % 1000)
        });
        let unit = &part(&draft, 0, "numbers")["cost"]["unit"];
        assert_eq!(unit.as_str(), Some("thousand"), "{name}\n{}", draft.toml);
        assert!(!keys(&draft).iter().any(|key| key.ends_with("cost.unit")), "{name}");
    }
}

#[test]
fn a_short_word_in_brackets_that_nobody_knows_leaves_the_unit_of_amounts_open() {
    let is_asked = |name: &str| {
        let draft = faults(&format!("Ticket|Opened|End face|{name}"), |row| {
            format!("T{row}|{}|A-{row}|{}.50", day(row), row % 7)
        });
        keys(&draft).contains(&"record[0].numbers.cost.unit")
    };
    assert!(is_asked("Cost (lak)"));
    for name in ["Cost (EUR)", "Cost (net)", "Kosten (ohne MwSt)", "Cost (material)", "Cost ($)"] {
        assert!(!is_asked(name), "{name}");
    }
}

#[test]
fn a_mark_before_three_digits_of_every_amount_likely_separates_thousands() {
    let costs = |name: &str| {
        faults(&format!("Chamado|Abertura|Ponto|{name}"), |row| {
            format!("C{row}|{}|A-{row}|{}.{:03}", day(row), row % 7 + 1, row * 17 % 1000)
        })
    };
    let draft = costs("Custo (R$)");
    assert_eq!(source(&draft)["thousands"].as_str(), Some("."), "{}", draft.toml);
    // One question is enough.
    let of_cost =
        keys(&draft).into_iter().filter(|key| key.contains("thousands") || key.contains("cost"));
    assert_eq!(of_cost.collect::<Vec<_>>(), ["thousands"], "{}", draft.toml);
    // Thousands of a currency have three decimals.
    let draft = costs("Custo (mil R$)");
    assert!(source(&draft).get("thousands").is_none(), "{}", draft.toml);
}

#[test]
fn a_fault_that_opened_in_a_word_of_another_gender_has_its_end_too() {
    for [ticket, opened, cleared, end, cause] in [
        ["Incidencia", "Abierta", "Cerrada", "Conector", "Causa"],
        ["Chamado", "Abertura", "Fechamento", "Ponto", "Causa"],
        ["Segnalazione", "Aperta", "Chiusa", "Porta", "Causa"],
    ] {
        let draft = faults(&[ticket, opened, cleared, end, cause].join("|"), |row| {
            format!("T{row}|{}|{}|A-{row}|x", day(row), day(row + 1))
        });
        let columns = part(&draft, 0, "columns");
        assert_eq!(column(&columns, "opened"), Some(opened), "{}", draft.toml);
        assert_eq!(column(&columns, "cleared"), Some(cleared), "{}", draft.toml);
        assert!(!keys(&draft).contains(&"record[0].columns.cleared"), "{}", draft.toml);
    }
}

#[test]
fn a_second_time_of_a_fault_under_a_name_that_nobody_knows_is_asked_about() {
    let with = |name: &str| {
        faults(&format!("Ticket|Opened|{name}|End face|Cause"), |row| {
            format!("T{row}|{}|{}|A-{row}|x", day(row), day(row + 1))
        })
    };
    let draft = with("Zaproszone");
    assert_eq!(column(&part(&draft, 0, "columns"), "cleared"), Some("Zaproszone"));
    assert!(keys(&draft).contains(&"record[0].columns.cleared"), "{}", draft.toml);
    let draft = with("Exported");
    assert_eq!(column(&part(&draft, 0, "columns"), "cleared"), None, "{}", draft.toml);
}

#[test]
fn looks_before_and_after_a_cleaning_are_found_under_the_word_for_looking() {
    let draft = drafted_with_rows(
        Table::Inspections,
        &rows("Réf|Date|Prise|Contrôle avant|Nettoyage|Contrôle après|Phase", |row| {
            let after = if row % 3 == 0 { "non conforme|à sec|conforme" } else { "conforme||" };
            format!("F{row}|{}|A-{row}|{after}|installation", day(row))
        }),
    );
    assert_eq!(tables(&draft), ["inspections", "cleanings", "inspections"], "{}", draft.toml);
    let outcomes: Vec<String> =
        [0, 2].map(|at| part(&draft, at, "columns")["outcome"].as_str().unwrap().to_owned()).into();
    assert_eq!(outcomes, ["Contrôle avant", "Contrôle après"]);
    assert_eq!(column(&part(&draft, 1, "columns"), "method"), Some("Nettoyage"));
    let asked = keys(&draft);
    assert!(
        !asked.iter().any(|key| key.contains("outcome") || key.contains("method")),
        "{asked:?}"
    );
}

#[test]
fn lengths_of_time_are_asked_about_once() {
    let draft = faults("Storing|Gemeld|Poort|Uitvalduur", |row| {
        format!("T{row}|{}|A-{row}|{}:{:02}", day(row), row % 9, row)
    });
    let asked = keys(&draft);
    let of_length: Vec<&&str> = asked.iter().filter(|key| key.contains("downtime_min")).collect();
    assert_eq!(of_length, [&"record[0].durations.downtime_min"], "{}", draft.toml);
}

#[test]
fn hours_of_people_are_hours_in_every_language() {
    for name in ["Roboczogodziny", "Labor Hours", "Manuren", "Arbeitsstunden", "Ore uomo"] {
        let draft = faults(&format!("Ticket|Opened|End face|{name}"), |row| {
            format!("T{row}|{}|A-{row}|{}.5", day(row), row % 9)
        });
        assert_eq!(column(&part(&draft, 0, "columns"), "labour_min"), Some(name), "{}", draft.toml);
        let forms = &part(&draft, 0, "durations")["labour_min"];
        assert_eq!(forms.as_str(), Some("hours"), "{name}\n{}", draft.toml);
        assert!(!keys(&draft).iter().any(|key| key.contains("labour_min")), "{name}");
    }
}

#[test]
fn whoever_did_the_look_is_its_inspector() {
    let draft = drafted(
        Table::Inspections,
        &rows("Volgnr|Datum|Poort|Fase|Resultaat|Uitgevoerd door", |row| {
            let who = ["Jan Smit", "Els Mulder"][row % 2];
            format!("{row}|{}|A-{row}|installatie|goed|{who}", day(row))
        }),
    );
    let columns = part(&draft, 0, "columns");
    assert_eq!(column(&columns, "inspector"), Some("Uitgevoerd door"), "{}", draft.toml);
}

#[test]
fn what_a_location_names_beside_a_building_is_an_end_face_and_asked_about() {
    let draft = faults("Ticket #|Opened|Building|Location|Root Cause", |row| {
        let site = ["Alder Point", "Birch Quay"][row % 2];
        format!("{row}|{}|{site}|{}-B-{row}|dirt", day(row), row % 4)
    });
    let columns = part(&draft, 0, "columns");
    assert_eq!(column(&columns, "site"), Some("Building"), "{}", draft.toml);
    assert_eq!(column(&columns, "end_face"), Some("Location"), "{}", draft.toml);
    assert!(keys(&draft).contains(&"record[0].columns.end_face"), "{}", draft.toml);
}

#[test]
fn noughts_and_ones_and_codes_of_families_need_no_question() {
    let draft = drafted(
        Table::Inspections,
        &rows("ID|When|Port|Stage|Result|Cap|Plug kind", |row| {
            format!(
                "L{row}|{}|A-{row}|incoming|pass|{}|{}",
                day(row),
                row % 2,
                ["LC", "SC"][row % 2]
            )
        }),
    );
    assert_eq!(column(&part(&draft, 0, "columns"), "family"), Some("Plug kind"), "{}", draft.toml);
    let asked = keys(&draft);
    assert!(!asked.iter().any(|key| key.contains("capped") || key.contains("family")), "{asked:?}");
    // Anything else there is a word like any other.
    let draft = drafted(
        Table::Inspections,
        &rows("ID|When|Port|Stage|Result|Cap", |row| {
            format!("L{row}|{}|A-{row}|incoming|pass|{}", day(row), row % 3)
        }),
    );
    assert!(keys(&draft).iter().any(|key| key.contains("capped")), "{}", draft.toml);
}

#[test]
fn one_name_with_both_sides_on_a_mating_is_seen_there() {
    let matings = |side: &str| {
        drafted_with_rows(
            Table::Matings,
            &rows("ID|Made|Port A|Side A|Port B|Side B|Stage", |row| {
                let other = if side == "same" { row } else { row + 100 };
                format!("M{row}|{}|P-{row}|plug|P-{other}|bulkhead|change", day(row))
            }),
        )
    };
    let draft = matings("same");
    assert_eq!(source(&draft)["one_name_both_sides"].as_bool(), Some(true), "{}", draft.toml);
    let draft = matings("other");
    assert!(source(&draft).get("one_name_both_sides").is_none(), "{}", draft.toml);
    assert!(!keys(&draft).contains(&"one_name_both_sides"), "{}", draft.toml);
}

#[test]
fn a_word_of_a_log_that_belongs_to_no_table_is_asked_about_once() {
    let draft = motetrail::draft::draft(
        &super::fixture::asked(None),
        &super::fixture::profiles(&rows("Nr|Zeit|Vorgang|Von|Nach|Ergebnis", |row| {
            let kind = ["gesteckt", "geprüft", "gelöst"][row % 3];
            let to = if row % 3 == 0 { "B-1" } else { "" };
            let result = if row % 3 == 1 { "i.O." } else { "" };
            format!("{row}|{}|{kind}|A-{row}|{to}|{result}", day(row))
        })),
        &motetrail::settings::Dialect::default(),
    );
    let about_words = draft.doubts.iter().filter(|doubt| doubt.question.contains("gelöst")).count();
    assert_eq!(about_words, 1, "{}", draft.toml);
}

#[test]
fn an_amount_of_money_is_no_length_of_time() {
    let draft = faults("Job|Raised|Position|Parts (£)|Labour (£)|Total (£'000)", |row| {
        format!("J{row}|{}|A-{row}|{row}.10|{row}.25|0.{:03}", day(row), row + 100)
    });
    let columns = part(&draft, 0, "columns");
    assert_eq!(column(&columns, "labour_min"), None, "{}", draft.toml);
    assert_eq!(column(&columns, "cost"), Some("Total (£'000)"), "{}", draft.toml);
    let cost = &part(&draft, 0, "numbers")["cost"];
    let said = ["unit", "currency"].map(|key| cost[key].as_str().unwrap().to_owned());
    assert_eq!(said, ["thousand", "GBP"], "{}", draft.toml);
}

#[test]
fn a_unit_of_time_in_capital_letters_is_no_currency() {
    for name in ["Downtime (MIN)", "Ausfall (STD)"] {
        let draft = faults(&format!("Job|Raised|Position|{name}"), |row| {
            format!("J{row}|{}|A-{row}|{row}", day(row))
        });
        let columns = part(&draft, 0, "columns");
        assert_eq!(column(&columns, "downtime_min"), Some(name), "{}", draft.toml);
    }
}

#[test]
fn ends_that_are_called_origin_and_destination_are_both_found() {
    for [a, b] in [["Porta origem", "Porta destino"], ["Porta origine", "Porta destinazione"]] {
        let draft = drafted(
            Table::Matings,
            &rows(&format!("Nº|Data|{a}|{b}|Fase"), |row| {
                format!("{row}|{}|A-{row}|B-{row}|change", day(row))
            }),
        );
        let columns = part(&draft, 0, "columns");
        let ends = ["end_face_a", "end_face_b"].map(|end| column(&columns, end));
        assert_eq!(ends, [Some(a), Some(b)], "{}", draft.toml);
        assert!(
            !keys(&draft).iter().any(|key| key.starts_with("record[0].columns.end_face")),
            "{}",
            draft.toml
        );
    }
}
