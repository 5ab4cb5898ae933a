//! Tables of carriers: who is listed, what they touched, which ends to inspect first, what was tested.

use crate::measures::{Review, Row, Table};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::words::label::{says, text};
use crate::report::words::number::{Amount, level, number, probability, whole};

/// The measure's table, and the anchor of its section.
pub(in crate::report) const NAME: &str = "carriers";

fn kind_words(kind: &str) -> &str {
    match kind {
        "end-face" => "end face",
        "tool-cleaning" => "tool, leaves dirt",
        "tool-soiling" => "tool, soils clean ends",
        other => other,
    }
}

pub(in crate::report) fn listed(review: &Review, table: &Table, carriers: &[&Row]) -> PageTable {
    let interval = format!("{} interval", level(review.level));
    let headings = [
        ("what", Set::Words),
        ("kind", Set::Words),
        ("site", Set::Words),
        ("results", Set::Number),
        ("dirty", Set::Number),
        ("expected", Set::Number),
        ("times the others", Set::Number),
        (interval.as_str(), Set::Number),
        ("drawn towards 1", Set::Number),
        ("q, exact", Set::Number),
        ("q, work orders", Set::Number),
    ];
    let lines = carriers.iter().map(|row| {
        let amount = Amount::of(row);
        let scale = amount.scale("");
        let q = |column: &str| number(table.own(row, column)).map_or_else(String::new, probability);
        let own = |column: &str| number(table.own(row, column));
        let plain = |value: Option<f64>, digits| {
            value.map_or_else(String::new, |value| crate::charts::number::fixed(value, digits))
        };
        vec![
            text(table, row, "entity").to_owned(),
            kind_words(text(table, row, "kind")).to_owned(),
            row.group.site.clone().unwrap_or_else(|| "several".to_owned()),
            whole(Some(row.n)),
            whole(row.events.map(|events| events as f64)),
            plain(own("expected"), 1),
            amount.value_on(&scale),
            amount.interval_on(&scale),
            plain(own("shrunken"), 1),
            q("q_exact"),
            q("q_dispersed"),
        ]
    });
    let caption =
        "Listed under both tests, ranked within a kind by the low end of the ratio drawn towards 1";
    PageTable::of(caption, &headings, lines.collect(), NAME)
}

/// Ends to look at first: the latest touch first.
pub(in crate::report) fn inspect_first(table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = table
        .rows_of("entity+partner", "touch")
        .filter(|row| says(table, row, "inspect", "yes"))
        .collect();
    rows.sort_by(|a, b| b.group.time.cmp(&a.group.time));
    let lines = rows.into_iter().map(|row| {
        vec![
            text(table, row, "partner").to_owned(),
            text(table, row, "entity").to_owned(),
            row.group.time.clone().unwrap_or_default(),
            row.group.site.clone().unwrap_or_default(),
            row.group.stage.clone().unwrap_or_default(),
            match text(table, row, "later") {
                "mated-again" => "mated again without a look".to_owned(),
                _ => "not looked at since".to_owned(),
            },
        ]
    });
    let headings = [
        ("end face", Set::Words),
        ("touched by", Set::Words),
        ("when", Set::Words),
        ("site", Set::Words),
        ("stage", Set::Words),
        ("since then", Set::Words),
    ];
    let caption = "Inspect first: in service, touched by a listed end face since that was last cleaned, not looked at since";
    PageTable::of(caption, &headings, lines.collect(), NAME)
}

/// What each listed end face touched before and after it was last cleaned.
pub(in crate::report) fn touched(table: &Table) -> PageTable {
    let mut names: Vec<&str> = Vec::new();
    let touches = || table.rows_of("entity+partner", "touch");
    for name in touches().map(|row| text(table, row, "entity")) {
        if names.last() != Some(&name) {
            names.push(name);
        }
    }
    let line = |(name, since): (&str, &str)| {
        let own = || {
            touches().filter(move |row| {
                text(table, row, "entity") == name && says(table, row, "since_cleaned", since)
            })
        };
        let number = |column: &str, word: &str| {
            whole(Some(own().filter(|row| says(table, row, column, word)).count() as f64))
        };
        let cleaned = table
            .rows_of("entity", "last-cleaned")
            .find(|row| text(table, row, "entity") == name)
            .and_then(|row| row.group.time.clone())
            .unwrap_or_else(|| "never".to_owned());
        vec![
            name.to_owned(),
            cleaned,
            if since == "yes" { "since" } else { "before" }.to_owned(),
            whole(Some(own().count() as f64)),
            number("later", "contaminated"),
            number("later", "clean"),
            number("in_service", "yes"),
        ]
    };
    let headings = [
        ("end face", Set::Words),
        ("last cleaned", Set::Words),
        ("touched", Set::Words),
        ("ends", Set::Number),
        ("came out dirty", Set::Number),
        ("came out clean", Set::Number),
        ("in service now", Set::Number),
    ];
    let lines = names.into_iter().flat_map(|name| [(name, "no"), (name, "yes")]).map(line);
    let caption = "What listed end faces touched before and since they were last cleaned; each mating in tables/carriers.csv";
    PageTable::of(caption, &headings, lines.collect(), NAME)
}

pub(in crate::report) fn by_kind(table: &Table) -> PageTable {
    let rows = table.rows_of("kind", "carriers-listed").filter(|row| row.n > 0.0);
    let lines = rows.map(|row| {
        let own = |column: &str| number(table.own(row, column));
        let fixed = |value: Option<f64>, digits| {
            value.map_or_else(String::new, |value| crate::charts::number::fixed(value, digits))
        };
        vec![
            kind_words(text(table, row, "kind")).to_owned(),
            whole(Some(row.n)),
            whole(row.events.map(|events| events as f64)),
            whole(own("orders")),
            fixed(own("dispersion"), 2),
            whole(own("tested")),
            whole(own("listed")),
        ]
    });
    let headings = [
        ("kind", Set::Words),
        ("results", Set::Number),
        ("dirty", Set::Number),
        ("work orders", Set::Number),
        ("scatter", Set::Number),
        ("tested", Set::Number),
        ("listed", Set::Number),
    ];
    PageTable::of(
        "Kinds: what was tested and how many are listed",
        &headings,
        lines.collect(),
        NAME,
    )
}
