//! The harness: a fleet written as CSV text, taken into a store and derived. One simple source a table; columns carry their canonical names.

use std::fs;

use chrono::NaiveDate;
use motetrail::derive::{DeriveError, Quarter, derive_with};
use motetrail::settings;
use motetrail::store::Store;

use super::seen::{Seen, Watcher};

/// A fleet in the making. Site `Works`, stage `installation`, method `dry`, all times UTC, unless a
/// case says otherwise.
pub struct Fleet {
    fleet: String,
    more: String,
    sources: Vec<(String, String, String, String)>,
    period: Option<&'static str>,
    /// Files that are no exports: name and text.
    files: Vec<(String, String)>,
}

/// An empty fleet whose records are complete far beyond every case.
pub fn fleet() -> Fleet {
    Fleet {
        fleet: "name = \"Demo\"\ncurrency = \"EUR\"\n".to_owned(),
        more: String::new(),
        sources: Vec::new(),
        period: None,
        files: Vec::new(),
    }
}

/// Columns that hold times.
const TIMES: [&str; 6] =
    ["at", "demated_at", "opened", "cleared", "in_service_from", "in_service_to"];

impl Fleet {
    /// A file beside the settings that is no export.
    pub fn file(mut self, name: &str, text: &str) -> Fleet {
        self.files.push((name.to_owned(), text.to_owned()));
        self
    }

    /// A line of `[fleet]`.
    pub fn set(mut self, line: &str) -> Fleet {
        self.fleet.push_str(line);
        self.fleet.push('\n');
        self
    }

    /// Another table of the settings.
    pub fn also(mut self, table: &str) -> Fleet {
        self.more.push_str(table);
        self.more.push('\n');
        self
    }

    /// The quarter to review; without it the one that the program chooses.
    pub fn review(mut self, quarter: &'static str) -> Fleet {
        self.period = Some(quarter);
        self
    }

    pub fn register(self, csv: &str) -> Fleet {
        self.source("register", "end_faces", csv, "")
    }

    pub fn looks(self, csv: &str) -> Fleet {
        self.source("looks", "inspections", csv, "")
    }

    pub fn cleanings(self, csv: &str) -> Fleet {
        self.source("wipes", "cleanings", csv, "")
    }

    pub fn matings(self, csv: &str) -> Fleet {
        self.source("matings", "matings", csv, "")
    }

    /// Faults that are complete over all the years of the cases.
    pub fn faults(self, csv: &str) -> Fleet {
        let cover = "covers.faults = { from = \"2020-01-01\", to = \"2030-12-31\" }";
        self.source("tickets", "faults", csv, cover)
    }

    /// Any source: its name, its table, its rows, further lines of its settings.
    pub fn source(mut self, name: &str, table: &str, csv: &str, keys: &str) -> Fleet {
        let lines: Vec<&str> = csv.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
        let file = format!("{name}-{}", self.sources.len());
        let text = lines.join("\n") + "\n";
        let entry = entry(name, &file, table, lines[0], keys);
        self.sources.push((file, text, entry, name.to_owned()));
        self
    }

    /// A source with its own record parts in TOML; its end faces are named for the whole fleet.
    pub fn raw(mut self, name: &str, csv: &str, records: &str) -> Fleet {
        let lines: Vec<&str> = csv.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
        let file = format!("{name}-{}", self.sources.len());
        let entry = format!(
            "[[source]]\nname = {name:?}\nfiles = [\"{file}*.csv\"]\nsite = \"Works\"\n\
             end_face_names = \"fleet\"\n{records}\n"
        );
        self.sources.push((file, lines.join("\n") + "\n", entry, name.to_owned()));
        self
    }

    /// Another export of the source written last, with the same columns.
    pub fn again(mut self, csv: &str) -> Fleet {
        let lines: Vec<&str> = csv.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
        let (file, text, _, name) = self.sources.last().unwrap();
        let header = text.lines().next().unwrap();
        let next = (
            format!("{file}b"),
            format!("{header}\n{}\n", lines.join("\n")),
            String::new(),
            name.clone(),
        );
        self.sources.push(next);
        self
    }

    fn toml(&self) -> String {
        let zone = if self.fleet.contains("timezone") { "" } else { "timezone = \"UTC\"\n" };
        let as_of = if self.fleet.contains("as_of") { "" } else { "as_of = \"2030-12-31\"\n" };
        let sources: String = self.sources.iter().map(|(_, _, entry, _)| entry.as_str()).collect();
        format!("[fleet]\n{}{zone}{as_of}\n{}\n{sources}", self.fleet, self.more)
    }

    /// Derives, and expects no error.
    pub fn derive(&self) -> Seen {
        match self.try_derive() {
            Ok(seen) => seen,
            Err(error) => panic!("{error}"),
        }
    }

    /// Derives. Every row must have been loaded.
    pub fn try_derive(&self) -> Result<Seen, DeriveError> {
        let folder = tempfile::tempdir().unwrap();
        for (file, text, _, _) in &self.sources {
            fs::write(folder.path().join(format!("{file}.csv")), text).unwrap();
        }
        for (name, text) in &self.files {
            fs::write(folder.path().join(name), text).unwrap();
        }
        let plan = match settings::read_text(&self.toml(), folder.path(), "fleet.toml") {
            Ok(plan) => plan,
            Err(error) => panic!("{error}\n{}", self.toml()),
        };
        let mut store = Store::open(&plan)?;
        let today = NaiveDate::from_ymd_opt(2026, 7, 5).unwrap();
        store.take(&plan, today, &())?;
        let quarantined: Vec<String> =
            store.quarantine(9)?.iter().map(|row| format!("{row:?}")).collect();
        assert!(quarantined.is_empty(), "{quarantined:#?}");
        let seen = Watcher::default();
        let asked = self.period.map(|quarter| Quarter::parse(quarter).unwrap());
        let derived = derive_with(&plan, &store, asked, &(), &seen)?;
        Ok(Seen::of(derived, seen))
    }
}

fn entry(name: &str, file: &str, table: &str, header: &str, keys: &str) -> String {
    let columns: Vec<&str> = header.split(',').collect();
    let has = |name: &str| columns.contains(&name);
    let given = |name: &str| has(name) || keys.contains(name);
    let site = if given("site") { "" } else { "site = \"Works\"\n" };
    let names = if given("end_face_names") { "" } else { "end_face_names = \"fleet\"\n" };
    let mapped: String = columns.iter().map(|name| format!("{name} = {name:?}\n")).collect();
    let dates: String = columns
        .iter()
        .filter(|name| TIMES.contains(name))
        .map(|name| format!("{name} = [\"%Y-%m-%d %H:%M:%S\", \"%Y-%m-%d %H:%M\", \"%Y-%m-%d\"]\n"))
        .collect();
    let mut constants = String::new();
    if ["inspections", "cleanings", "matings"].contains(&table) && !has("stage") {
        constants += "stage = \"installation\"\n";
    }
    if table == "cleanings" && !has("method") {
        constants += "method = \"dry\"\n";
    }
    format!(
        "[[source]]\nname = {name:?}\nfiles = [\"{file}*.csv\"]\n{site}{names}{keys}\n\
         [[source.record]]\ntable = {table:?}\n[source.record.columns]\n{mapped}\
         [source.record.dates]\n{dates}[source.record.constants]\n{constants}\n"
    )
}
