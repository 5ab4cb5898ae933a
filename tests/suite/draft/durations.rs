//! How lengths of time are written: told by the cells and the unit in the name, asked where both are silent.

use motetrail::draft::Draft;
use motetrail::records::Table;

use super::fixture::{drafted, part};

/// The draft of tickets of which a column of this name holds these cells.
fn tickets(name: &str, cells: &[&str]) -> Draft {
    let rows = (0..24).map(|row| {
        let cell = cells[row % cells.len()];
        format!("F{row}|2025-03-{:02} 10:00:00|R{:02}|{cell}", row + 1, row % 7)
    });
    let text: Vec<String> =
        [format!("Ticket|Opened|Port|{name}")].into_iter().chain(rows).collect();
    drafted(Table::Faults, &text.join("\n"))
}

/// The forms of the downtime, and whether something is asked about them.
fn drafted_as(name: &str, cells: &[&str]) -> (Vec<String>, bool) {
    let draft = tickets(name, cells);
    let columns = part(&draft, 0, "columns");
    assert_eq!(columns["downtime_min"].as_str(), Some(name), "{}", draft.toml);
    let asked = draft.doubts.iter().any(|doubt| doubt.key == "record[0].durations.downtime_min");
    let forms = part(&draft, 0, "durations").get("downtime_min").cloned();
    let words = match forms {
        Some(forms) => match (forms.as_str(), forms.as_array()) {
            (Some(word), _) => vec![word.to_owned()],
            (None, words) => {
                let words = words.unwrap().iter().map(|word| word.as_str().unwrap().to_owned());
                words.collect()
            }
        },
        None => Vec::new(),
    };
    (words, asked)
}

#[test]
fn forms_that_cells_tell_stand_and_others_are_asked() {
    let cases: [(&str, &[&str], &[&str], bool); 13] = [
        ("Downtime", &["20:46", "1:05", "0:30"], &["h:mm"], true),
        ("Downtime (h)", &["20:46", "1:05", "0:30"], &["h:mm"], false),
        ("Downtime (min)", &["20:46", "1:05", "0:30"], &["mm:ss"], true),
        ("Downtime", &["20:46:00", "1:05:10"], &["h:mm:ss"], false),
        ("Downtime", &["20:46:00", "1:05"], &["h:mm:ss", "h:mm"], false),
        ("Downtime", &["2 h 10", "45 min"], &["2h10m"], false),
        ("Downtime", &["PT2H10M", "PT45M"], &["PT2H10M"], false),
        ("Downtime (h)", &["2", "3"], &["hours"], false),
        ("Downtime hours", &["2.5", "0.75", "13.0"], &["hours"], false),
        ("Downtime", &["2", "3"], &["minutes"], true),
        ("Downtime", &["45", "130"], &["minutes"], true),
        ("Downtime [min]", &["45", "130"], &[], false),
        ("Downtime (min)", &["2", "3"], &[], false),
    ];
    for (name, cells, forms, asked) in cases {
        let found = drafted_as(name, cells);
        assert_eq!(
            (found.0, found.1),
            (forms.iter().map(|form| (*form).to_owned()).collect(), asked),
            "{name} {cells:?}"
        );
    }
}
