//! Drafts of exports that stand in the test as text.

use motetrail::draft::{Asked, Draft, SampleRows, draft};
use motetrail::records::Table;
use motetrail::settings::{Codes, Dialect, Stages};
use motetrail::tabular::profile::{ColumnProfile, Profiler};

/// What is asked about a file of that table, with the default lists.
pub fn asked(table: Option<Table>) -> Asked {
    Asked {
        file: "export.csv".to_owned(),
        source_name: "export".to_owned(),
        table,
        site: None,
        sites: ["Alder Point", "Birch Quay"].map(String::from).to_vec(),
        stages: Stages::default(),
        codes: Codes::default(),
        rows: SampleRows::default(),
        guessed_encoding: None,
        fleet: None,
        remembered: Default::default(),
    }
}

/// Profiles of columns whose cells are separated by `|`, the header in the first line.
pub fn profiles(text: &str) -> Vec<ColumnProfile> {
    let mut lines = text.trim().lines().map(|line| line.split('|').map(str::trim));
    let names: Vec<String> = lines.next().unwrap().map(str::to_owned).collect();
    let mut profiler = Profiler::new(&names);
    for line in lines {
        profiler.row(&line.collect::<Vec<_>>());
    }
    profiler.finish()
}

pub fn drafted(table: Table, text: &str) -> Draft {
    draft(&asked(Some(table)), &profiles(text), &Dialect::default())
}

/// The same, with the rows themselves.
pub fn drafted_with_rows(table: Table, text: &str) -> Draft {
    let mut lines = text.trim().lines().map(|line| {
        let cells = line.split('|').map(|cell| cell.trim().to_owned());
        cells.collect::<Vec<_>>()
    });
    let rows = SampleRows { names: lines.next().unwrap(), rows: lines.collect() };
    draft(&Asked { rows, ..asked(Some(table)) }, &profiles(text), &Dialect::default())
}

/// The draft as a table of TOML: the first source.
pub fn source(draft: &Draft) -> toml::Table {
    let file: toml::Table = draft.toml.parse().unwrap_or_else(|e| panic!("{e}\n{}", draft.toml));
    let sources = file["source"].as_array().unwrap();
    assert_eq!(sources.len(), 1, "{}", draft.toml);
    sources[0].as_table().unwrap().clone()
}

/// The tables that its parts fill.
pub fn tables(draft: &Draft) -> Vec<String> {
    let source = source(draft);
    let records = source["record"].as_array().unwrap().iter();
    records.map(|one| one["table"].as_str().unwrap().to_owned()).collect()
}

/// The table under `key` of the part at `index`; empty if there is none.
pub fn part(draft: &Draft, index: usize, key: &str) -> toml::Table {
    let source = source(draft);
    let record = source["record"].as_array().unwrap()[index].as_table().unwrap();
    record.get(key).and_then(|table| table.as_table()).cloned().unwrap_or_default()
}

/// Keys that are asked about.
pub fn keys(draft: &Draft) -> Vec<&str> {
    draft.doubts.iter().map(|doubt| doubt.key.as_str()).collect()
}
