//! Q10: whether these records can be trusted.

use super::intake::made_without;
use super::{Estimates, NO_RECORDS};
use crate::measures::{Review, Row, Table, Unit, Value};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::page::section::Section;
use crate::report::words::flags::explained;
use crate::report::words::label::ordered;
use crate::report::words::number::{Amount, whole};

const NAME: &str = "trust";

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.trust;
    let mut doubts = explained(&table.rows);
    let silent = table.rows.iter().filter(|row| row.quantity == "fault-source-without-faults");
    doubts.extend(silent.map(|row| {
        format!(
            "The fault source {} has no fault at all, so it covers nothing: no rate rests on it.",
            own_text(table, row, "source")
        )
    }));
    doubts.extend(made_without(review));
    Section {
        id: NAME,
        question: "Can these records be trusted?",
        finding: finding(table),
        pictures: Vec::new(),
        tables: vec![attached(table), shares(review, table), counts(table)],
        method: "Counted over the records that stand. Nothing here is estimated, except that shares of looks carry \
                 the interval named in their heading."
            .to_owned(),
        doubts,
    }
}

/// How many faults found the mating that they tell of.
fn finding(table: &Table) -> String {
    let faults = |how: &[&str]| -> f64 {
        let rows = table.rows.iter().filter(|row| row.quantity == "faults-attached");
        let wanted = rows.filter(|row| how.contains(&own_text(table, row, "how").as_str()));
        wanted.filter_map(|row| row.estimate).sum()
    };
    let attached = faults(&["record", "end-face", "lagged"]);
    let all = attached + faults(&["ambiguous", "unattached"]);
    if all == 0.0 {
        return NO_RECORDS.to_owned();
    }
    format!(
        "{} of {} faults of the look-back found their mating; the rest count in no rate",
        whole(Some(attached)),
        whole(Some(all))
    )
}

fn attached(table: &Table) -> PageTable {
    let rows = table.rows.iter().filter(|row| row.quantity == "faults-attached");
    let lines =
        rows.map(|row| vec![attached_how(&own_text(table, row, "how")), whole(row.estimate)]);
    let headings = [("how", Set::Words), ("faults", Set::Number)];
    PageTable::of("How faults found their mating", &headings, lines.collect(), NAME)
}

fn attached_how(how: &str) -> String {
    let words = match how {
        "record" => "by the mating that the ticket names",
        "end-face" => "by end face and time",
        "lagged" => "to the mating replaced shortly before (late ticket)",
        "ambiguous" => "not: more than one mating fits",
        "unattached" => "not: no mating fits",
        "outside" => "attached, but outside the follow-up",
        other => other,
    };
    words.to_owned()
}

/// Shares of looks that say less than they should, and times known only to the day.
fn shares(review: &Review, table: &Table) -> PageTable {
    let quantities = [
        ("day-precision", "time known only to the day"),
        ("conflicts", "attributes against the register"),
        ("findings-missing", "failed without a finding"),
        ("unreadable", "unreadable"),
    ];
    let mut rows: Vec<(String, &Row)> = Vec::new();
    for (quantity, words) in quantities {
        for by in ["fleet", "table", "site"] {
            let shares = ordered(review, table, by, quantity);
            for row in shares.into_iter().filter(|row| row.unit == Unit::Share) {
                let group = row.group.site.clone().or_else(|| own(table, row, "table"));
                let name =
                    group.map_or_else(|| words.to_owned(), |group| format!("{words}: {group}"));
                rows.push((name, row));
            }
        }
    }
    let estimates = Estimates {
        caption: "What the records leave open",
        place: "what",
        n: "of",
        events: "such",
        estimate: "share",
        file: NAME,
    };
    estimates.table(review, &rows)
}

/// Counts of the whole fleet that are no shares.
fn counts(table: &Table) -> PageTable {
    let known = ["conflicts", "findings-missing", "silent-months"];
    let rows =
        table.rows.iter().filter(|row| known.contains(&row.quantity) && row.unit == Unit::Count);
    let lines = rows.map(|row| {
        let words = match row.quantity {
            "conflicts" => "attributes against the register",
            "findings-missing" => "failed without a finding",
            _ => "months without a look",
        };
        let place = row.group.site.as_deref().map(|site| format!("{words}: {site}"));
        vec![place.unwrap_or_else(|| words.to_owned()), whole(Amount::of(row).value)]
    });
    let headings = [("what", Set::Words), ("count", Set::Number)];
    PageTable::of("Counted, and left as it is", &headings, lines.collect(), NAME)
}

fn own(table: &Table, row: &Row, column: &str) -> Option<String> {
    match table.own(row, column) {
        Value::Text(text) => Some(text.clone()),
        _ => None,
    }
}

fn own_text(table: &Table, row: &Row, column: &str) -> String {
    own(table, row, column).unwrap_or_else(|| "–".to_owned())
}
