//! Whether sources name end faces alike, and what is left out since they do not.

use super::part::{Doubt, MOST_ROWS, Part};
use crate::derive::is_telling;
use crate::measures::trust::{By, NAME, Quantity, Row, Table};
use crate::measures::{Review, Unit};
use crate::records;
use crate::report::page::page_table::PageTable;
use crate::report::words::number::{Amount, whole};

/// Names of a table below this prove nothing.
const LEAST_NAMES: f64 = 20.0;
/// A share of names that meet, below which the page speaks of it.
const LOW: f64 = 0.2;
/// Share of a site's names that a rule must bring to meet for the page to speak of it.
const LEAST_MENDED: f64 = 0.02;
/// Sites that one sentence names.
const MOST_NAMED: usize = 3;

pub(super) fn part(review: &Review) -> Part {
    let table = &review.trust;
    let mut tables = vec![met(review, table)];
    for of_some in [rules(table), alike(table), aliases(table)] {
        tables.extend(of_some);
    }
    let doubts = [left_out(review, table), mendable(table), one_way(review, table)];
    let doubts = doubts.into_iter().flatten();
    Part { tables, doubts: doubts.chain(withdrawn(review, table)).collect() }
}

/// The pairs that meet least, both ways.
fn met(review: &Review, table: &Table) -> PageTable {
    let tells =
        |row: &&Row| row.own.table.zip(row.own.other_table).is_some_and(|(a, b)| is_telling(a, b));
    let mut rows: Vec<&Row> = table.quantity(Quantity::NamesMet).filter(tells).collect();
    rows.sort_by(|a, b| {
        let share = |row: &Row| row.estimate.unwrap_or(1.0);
        share(a).total_cmp(&share(b))
    });
    PageTable::over(&rows)
        .words("site", |row| row.group.site.clone().unwrap_or_default())
        .words("end faces named by", |row| speaker(&row.own.source, row.own.table))
        .words("also named by", |row| speaker(&row.own.other_source, row.own.other_table))
        .n("named")
        .events("also")
        .estimates(review, "share")
        .set_first(MOST_ROWS, "Do names meet: the least first", NAME)
}

fn speaker(source: &Option<String>, table: Option<records::Table>) -> String {
    let source = source.as_deref().unwrap_or("–");
    format!("{source}, {}", table.map_or("–", records::Table::name))
}

fn rules(table: &Table) -> Option<PageTable> {
    let mut rows: Vec<&Row> = table.quantity(Quantity::NamesRule).collect();
    rows.sort_by(|a, b| b.n.total_cmp(&a.n));
    (!rows.is_empty()).then(|| {
        PageTable::over(&rows)
            .words("site", |row| row.group.site.clone().unwrap_or_default())
            .words("of", |row| speaker(&row.own.source, row.own.table))
            .words("and", |row| speaker(&row.own.other_source, row.own.other_table))
            .words("rule not in the settings", |row| row.own.rule.clone().unwrap_or_default())
            .numbers("names it brings to meet", |row| whole(row.estimate))
            .numbers("merges of the first", |row| whole(row.own.merged.map(|n| n as f64)))
            .numbers("of the second", |row| whole(row.own.other_merged.map(|n| n as f64)))
            .set_first(MOST_ROWS, "Rules of names that would bring more to meet", NAME)
    })
}

fn alike(table: &Table) -> Option<PageTable> {
    let rows: Vec<&Row> = table.quantity(Quantity::NamesAlike).collect();
    (!rows.is_empty()).then(|| {
        PageTable::over(&rows)
            .words("site", |row| row.group.site.clone().unwrap_or_default())
            .words("in", |row| speaker(&row.own.source, row.own.table))
            .words("name", |row| row.own.name.clone().unwrap_or_default())
            .words("in", |row| speaker(&row.own.other_source, row.own.other_table))
            .words("name", |row| row.own.other_name.clone().unwrap_or_default())
            .numbers("alike", |row| Amount::plain(row.estimate, Unit::Share).short(""))
            .set_first(MOST_ROWS, "Names that do not meet and look alike", NAME)
    })
}

fn aliases(table: &Table) -> Option<PageTable> {
    let rows: Vec<&Row> = table.quantity(Quantity::AliasRows).collect();
    let count = |value: Option<u64>| whole(value.map(|n| n as f64));
    (!rows.is_empty()).then(|| {
        PageTable::over(&rows)
            .words("alias table", |row| row.own.file.clone().unwrap_or_default())
            .words("of source", |row| row.own.source.clone().unwrap_or_default())
            .numbers("rows read", |row| count(row.own.read))
            .numbers("used", |row| count(row.own.loaded))
            .numbers("doubled", |row| count(row.own.duplicate))
            .numbers("refused", |row| count(row.own.quarantined))
            .set_first(MOST_ROWS, "Alias tables of names", NAME)
    })
}

fn share(review: &Review, row: &Row) -> String {
    Amount::plain(row.estimate, Unit::Share).short(&review.currency)
}

/// Matings that are of unknown coverage since their names stand apart from those of looks.
fn left_out(review: &Review, table: &Table) -> Option<Doubt> {
    let fleet = table.rows_of(By::Fleet, Quantity::NamesApart).next()?;
    let weight = fleet.estimate.filter(|share| *share > 0.0)?;
    let sites: Vec<String> = table
        .rows_of(By::Site, Quantity::NamesApart)
        .take(MOST_NAMED)
        .map(|row| {
            let site = row.group.site.as_deref().unwrap_or("–");
            format!("{site} ({})", share(review, row))
        })
        .collect();
    let example = example(table).map(|example| format!(" {example}")).unwrap_or_default();
    let sentence = format!(
        "Names in {} of the matings looked back to stand apart from those of looks, at {}: whether their ends were looked \
         at is unknown, and they are left out.{example}",
        share(review, fleet),
        sites.join(", "),
    );
    Some(Doubt { weight, sentence })
}

/// The two spellings of a site that stand apart, and the rule that would mend it.
fn example(table: &Table) -> Option<String> {
    let apart = |site: &Option<String>| {
        table.rows_of(By::Site, Quantity::NamesApart).any(|row| row.group.site == *site)
    };
    let of = |quantity| {
        let rows = table.quantity(quantity);
        let looks = |row: &&Row| row.own.other_table == Some(records::Table::Matings);
        rows.filter(looks).find(|row| apart(&row.group.site))
    };
    let alike = of(Quantity::NamesAlike)?;
    let names = [&alike.own.name, &alike.own.other_name].map(|name| name.as_deref().unwrap_or("–"));
    let rule = of(Quantity::NamesRule).map(|row| {
        let merged = row.own.merged.unwrap_or(0) + row.own.other_merged.unwrap_or(0);
        let rule = row.own.rule.as_deref().unwrap_or("–");
        format!(
            "; `{rule}` under `names` of both sources would bring {} names to meet and merge {merged}",
            whole(row.estimate)
        )
    });
    Some(format!("Most alike: {} and {}{}.", names[0], names[1], rule.unwrap_or_default()))
}

/// Where names meet well enough to be judged, and a rule would bring more to meet: what it would bring is not looked at.
fn mendable(table: &Table) -> Option<Doubt> {
    use records::Table::{Inspections, Matings};
    let apart = |row: &Row| {
        table
            .rows_of(By::Site, Quantity::NamesApart)
            .any(|apart| apart.group.site == row.group.site)
    };
    let named = |row: &Row| {
        let same = |other: &&Row| {
            other.group.site == row.group.site
                && other.own.source == row.own.source
                && other.own.table == Some(Inspections)
                && other.own.other_source == row.own.other_source
                && other.own.other_table == Some(Matings)
        };
        table.quantity(Quantity::NamesMet).find(same).map_or(f64::INFINITY, |met| met.n)
    };
    let pair = (Some(Inspections), Some(Matings));
    let (share, row) = table
        .quantity(Quantity::NamesRule)
        .filter(|row| (row.own.table, row.own.other_table) == pair && !apart(row))
        .map(|row| ((row.n / 2.0 / named(row)).min(1.0), row))
        .filter(|(share, _)| *share >= LEAST_MENDED)
        .max_by(|a, b| a.0.total_cmp(&b.0))?;
    let merged = row.own.merged.unwrap_or(0) + row.own.other_merged.unwrap_or(0);
    let sentence = format!(
        "At {} `{}` under `names` would bring {} names of looks and matings to meet that do not now, and merge {merged}: \
         until then such ends count as unseen.",
        row.group.site.as_deref().unwrap_or("–"),
        row.own.rule.as_deref().unwrap_or("–"),
        whole(row.estimate),
    );
    Some(Doubt { weight: share, sentence })
}

/// Looks and matings of which one names few of what the other names: said, and nothing changed.
fn one_way(review: &Review, table: &Table) -> Option<Doubt> {
    use records::Table::{Inspections, Matings};
    let low: Vec<&Row> = table
        .quantity(Quantity::NamesMet)
        .filter(|row| {
            matches!(
                (row.own.table, row.own.other_table),
                (Some(Inspections), Some(Matings)) | (Some(Matings), Some(Inspections))
            )
        })
        .filter(|row| row.n >= LEAST_NAMES && row.estimate.is_some_and(|share| share < LOW))
        .collect();
    if low.is_empty() {
        return None;
    }
    let named: Vec<String> = low
        .iter()
        .take(MOST_NAMED)
        .map(|row| {
            let site = row.group.site.as_deref().unwrap_or("–");
            let (one, other) = (
                speaker(&row.own.source, row.own.table),
                speaker(&row.own.other_source, row.own.other_table),
            );
            format!("{} of the end faces of {one} at {site} in {other}", share(review, row))
        })
        .collect();
    let more = match low.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(", and {more} more"),
    };
    let sentence = format!(
        "Few names meet: {}{more}. One direction alone is no proof of another spelling, and changes nothing.",
        named.join("; ")
    );
    Some(Doubt { weight: 0.05, sentence })
}

/// Sources of tickets of which too few find a mating.
fn withdrawn(review: &Review, table: &Table) -> Vec<Doubt> {
    let sentence = |row: &Row| {
        let source = row.own.source.as_deref().unwrap_or("–");
        let sentence = format!(
            "Only {} of the {} tickets of {source} found a mating, so it covers nothing: no rate rests on it. Compare the \
             names and mating records that tickets give with those of matings.",
            share(review, row),
            whole(Some(row.n)),
        );
        Doubt { weight: 1.0, sentence }
    };
    table.quantity(Quantity::CoverWithdrawn).map(sentence).collect()
}
