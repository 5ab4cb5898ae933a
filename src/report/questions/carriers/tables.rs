//! Tables of carriers: who is listed, what they touched, which ends to inspect first, what was tested.

use crate::charts::number::fixed;
use crate::measures::Review;
use crate::measures::carriers::{By, Carrier, NAME, Outcome, Quantity, Row, Table};
use crate::report::page::page_table::PageTable;
use crate::report::words::number::{Amount, count_or_dash, level, probability, whole};

/// What a row is about; empty where it is about no one thing.
pub(in crate::report) fn name(row: &Row) -> &str {
    row.own.entity.as_deref().unwrap_or_default()
}

fn kind_words(row: &Row) -> String {
    let words = |kind: Carrier| match kind {
        Carrier::EndFace => "end face",
        Carrier::ToolCleaning => "tool, leaves dirt",
        Carrier::ToolSoiling => "tool, soils clean ends",
        Carrier::Operator | Carrier::Supplier | Carrier::Instrument => kind.word(),
    };
    row.own.kind.map_or("", words).to_owned()
}

fn rounded(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(String::new, |value| fixed(value, digits))
}

pub(in crate::report) fn listed(review: &Review, carriers: &[&Row]) -> PageTable {
    let q = |q: Option<f64>| q.map_or_else(String::new, probability);
    PageTable::over(carriers)
        .words("what", |row| name(row).to_owned())
        .words("kind", |row| kind_words(row))
        .words("site", |row| row.group.site.clone().unwrap_or_else(|| "several".to_owned()))
        .n("results")
        .numbers("dirty", |row| count_or_dash(row.events))
        .numbers("expected", |row| rounded(row.own.expected, 1))
        .numbers("times the others", |row| {
            let amount = Amount::of(row);
            amount.value_on(&amount.scale(""))
        })
        .numbers(&format!("{} interval", level(review.level)), |row| {
            let amount = Amount::of(row);
            amount.interval_on(&amount.scale(""))
        })
        .numbers("drawn towards 1", |row| rounded(row.own.shrunken, 1))
        .numbers("q, exact", |row| q(row.own.q_exact))
        .numbers("q, work orders", |row| q(row.own.q_dispersed))
        .set(
            "Listed under both tests, ranked within a kind by the low end of the ratio drawn towards 1",
            NAME,
        )
}

fn touches(table: &Table) -> impl Iterator<Item = &Row> {
    table.rows_of(By::EntityPartner, Quantity::Touch)
}

/// Ends to look at first: the latest touch first.
pub(in crate::report) fn inspect_first(table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = touches(table).filter(|row| row.own.inspect == Some(true)).collect();
    rows.sort_by(|a, b| b.group.time.cmp(&a.group.time));
    let word = |word: &Option<String>| word.clone().unwrap_or_default();
    PageTable::over(&rows)
        .words("end face", |row| word(&row.own.partner))
        .words("touched by", |row| name(row).to_owned())
        .words("when", |row| word(&row.group.time))
        .words("site", |row| word(&row.group.site))
        .words("stage", |row| word(&row.group.stage))
        .words("since then", |row| {
            let words = match row.own.later {
                Some(Outcome::MatedAgain) => "mated again without a look",
                Some(Outcome::NotLookedAt) => "not looked at since",
                other => other.map_or("", Outcome::word),
            };
            words.to_owned()
        })
        .set(
            "Inspect first: in service, touched by a listed end face since that was last cleaned, not looked at since",
            NAME,
        )
}

/// What each listed end face touched before and after it was last cleaned.
pub(in crate::report) fn touched(table: &Table) -> PageTable {
    let mut names: Vec<&str> = Vec::new();
    for name in touches(table).map(name) {
        if names.last() != Some(&name) {
            names.push(name);
        }
    }
    let cleaned = |face: &str| {
        let mut rows = table.rows_of(By::Entity, Quantity::LastCleaned);
        let row = rows.find(|row| name(row) == face);
        row.and_then(|row| row.group.time.clone()).unwrap_or_else(|| "never".to_owned())
    };
    let count = |(face, since): (&str, bool), is_counted: fn(&Row) -> bool| {
        let rows = touches(table)
            .filter(|row| name(row) == face && row.own.since_cleaned == Some(since))
            .filter(|row| is_counted(row));
        whole(Some(rows.count() as f64))
    };
    let rows: Vec<(&str, bool)> =
        names.into_iter().flat_map(|name| [(name, false), (name, true)]).collect();
    PageTable::over(&rows)
        .words("end face", |(name, _)| (*name).to_owned())
        .words("last cleaned", |(name, _)| cleaned(name))
        .words("touched", |(_, since)| if *since { "since" } else { "before" }.to_owned())
        .numbers("ends", |row| count(*row, |_| true))
        .numbers("came out dirty", |row| {
            count(*row, |touch| touch.own.later == Some(Outcome::Contaminated))
        })
        .numbers("came out clean", |row| {
            count(*row, |touch| touch.own.later == Some(Outcome::Clean))
        })
        .numbers("in service now", |row| count(*row, |touch| touch.own.in_service == Some(true)))
        .set(
            "What listed end faces touched before and since they were last cleaned; each mating in tables/carriers.csv",
            NAME,
        )
}

pub(in crate::report) fn by_kind(table: &Table) -> PageTable {
    let kinds = table.rows_of(By::Kind, Quantity::Listed).filter(|row| row.n > 0.0);
    let count = |count: Option<u64>| whole(count.map(|count| count as f64));
    PageTable::over(&kinds.collect::<Vec<_>>())
        .words("kind", |row| kind_words(row))
        .n("results")
        .numbers("dirty", |row| count_or_dash(row.events))
        .numbers("work orders", |row| count_or_dash(row.own.orders))
        .numbers("scatter", |row| rounded(row.own.dispersion, 2))
        .numbers("tested", |row| count(row.own.tested))
        .numbers("listed", |row| count(row.own.listed))
        .set("Kinds: what was tested and how many are listed", NAME)
}
