//! The store from outside: exports in a folder, a plan, and what is in the store afterwards.

mod accounts;
mod adopting;
mod complete;
mod crash;
mod damage;
mod each_byte;
mod expiring;
mod forgetting;
mod formats;
mod full_disk;
mod killed;
mod live_fleet;
mod opening;
mod order;
mod reading;
mod rebuilding;
mod settling;
mod spill;
#[cfg(unix)]
mod unread;
mod versions;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use arrow::array::{Array, AsArray, StringArray};
use arrow::compute::cast;
use arrow::datatypes::DataType;
use chrono::NaiveDate;
use motetrail::records::Table;
use motetrail::settings::{
    ClockChange, Codes, Costs, Dialect, Fleet, Looks, NameRules, NameScope, Plan, RecordMap, Rules,
    Source, Stages, Test, Unreadable, When,
};
use motetrail::store::{RowAccount, Store, StoreError, Taken};

/// Header of every export here.
const HEADER: &str = "No,At,Port,Fibre,Result,Cleaned\n";

/// A folder with exports and a store.
struct Bench {
    folder: tempfile::TempDir,
    plan: Plan,
}

impl Bench {
    /// One source named `bench`, which reads `exports/*.csv`.
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("exports")).unwrap();
        let plan = plan(folder.path());
        Self { folder, plan }
    }

    /// The same with these exports in place.
    fn with(exports: &[(&str, &str)]) -> Self {
        let bench = Self::new();
        for (name, rows) in exports {
            bench.write(name, rows);
        }
        bench
    }

    fn write(&self, name: &str, rows: &str) {
        fs::write(self.export(name), format!("{HEADER}{rows}")).unwrap();
    }

    fn export(&self, name: &str) -> PathBuf {
        self.folder.path().join("exports").join(name)
    }

    fn store(&self) -> PathBuf {
        self.plan.fleet.store.clone()
    }

    fn open(&self) -> Store {
        match Store::open(&self.plan) {
            Ok(store) => store,
            Err(error) => panic!("{error}"),
        }
    }

    fn take(&self) -> (Store, Taken) {
        let mut store = self.open();
        let taken = store.take(&self.plan, day(), &()).unwrap();
        (store, taken)
    }

    fn refusal(&self) -> StoreError {
        Store::open(&self.plan).err().expect("the store must not open")
    }

    /// Every file of the store but the lock, the key and the marker, which differ by nature.
    fn bytes(&self) -> BTreeMap<String, Vec<u8>> {
        let mut all = BTreeMap::new();
        collect(&self.store(), &self.store(), &mut all);
        all.remove("lock");
        all.remove("people.key");
        all.remove("store.json");
        all
    }

    /// The only file of a folder of the store.
    fn only(&self, folder: &str) -> PathBuf {
        let mut paths = list(&self.store().join(folder));
        assert_eq!(paths.len(), 1, "{paths:?}");
        paths.remove(0)
    }
}

/// Changes a file that carries a check value of itself, as somebody would who knows how to seal it.
pub fn reseal(path: &Path, edit: impl FnOnce(String) -> String) {
    let text = fs::read_to_string(path).unwrap();
    fs::write(path, sealed(&edit(unsealed(&text)))).unwrap();
}

/// A sealed text without its check value.
pub fn unsealed(text: &str) -> String {
    let lines = text.split_inclusive('\n').filter(|line| !line.starts_with("  \"check\": "));
    lines.collect()
}

/// A text with the check value that it should have.
pub fn sealed(text: &str) -> String {
    let check = blake3::hash(text.as_bytes()).to_hex();
    text.replacen("{\n", &format!("{{\n  \"check\": \"{check}\",\n"), 1)
}

fn list(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<_> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

fn collect(root: &Path, folder: &Path, into: &mut BTreeMap<String, Vec<u8>>) {
    for path in list(folder) {
        if path.is_dir() {
            collect(root, &path, into);
        } else {
            let name = path.strip_prefix(root).unwrap().to_string_lossy().into_owned();
            into.insert(name, fs::read(&path).unwrap());
        }
    }
}

/// Copies a store so that a stopped run can be pieced together from two of them.
fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for path in list(from) {
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            fs::copy(&path, &target).unwrap();
        }
    }
}

fn day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 7, 5).unwrap()
}

/// Standing records of a table as `record/port/fibre/result-or-method`, sorted.
fn standing(store: &Store, table: Table) -> Vec<String> {
    let last = if table == Table::Cleanings { "method" } else { "outcome" };
    let mut wanted = vec!["record", "end_face"];
    if table == Table::Inspections {
        wanted.push("fibre");
    }
    wanted.push(last);
    let mut rows = Vec::new();
    for part in store.parts(table) {
        for batch in store.read(&part, &wanted).unwrap() {
            let batch = batch.unwrap();
            let columns: Vec<StringArray> = wanted
                .iter()
                .map(|name| cast(batch.column_by_name(name).unwrap(), &DataType::Utf8).unwrap())
                .map(|column| column.as_string::<i32>().clone())
                .collect();
            for row in 0..batch.num_rows() {
                let cells: Vec<&str> = columns
                    .iter()
                    .map(|column| if column.is_valid(row) { column.value(row) } else { "" })
                    .collect();
                rows.push(cells.join("/"));
            }
        }
    }
    rows.sort();
    rows
}

/// Row account of the export of that name: read, loaded, superseded, duplicate, quarantined.
fn account(store: &Store, file: &str) -> [u64; 5] {
    let file = format!("exports/{file}");
    let found = store.accounts().iter().find(|account| account.file == file).unwrap();
    let RowAccount { read, loaded, superseded, duplicate, quarantined, .. } = found.rows;
    [read, loaded, superseded, duplicate, quarantined]
}

fn plan(folder: &Path) -> Plan {
    Plan {
        open: Vec::new(),
        fleet: Fleet {
            name: "Harbour line".into(),
            currency: "EUR".into(),
            timezone: chrono_tz::UTC,
            fiscal_year_starts: 1,
            as_of: None,
            sites: Vec::new(),
            store: folder.join("store"),
            folder: folder.to_path_buf(),
        },
        rules: Rules::default(),
        stages: Stages { order: vec!["incoming".into()], dark: Vec::new() },
        codes: Codes {
            family: Vec::new(),
            polish: Vec::new(),
            mode: Vec::new(),
            method: vec!["dry".into(), "wet".into()],
            cause: Vec::new(),
            remedy: Vec::new(),
            criteria: Vec::new(),
        },
        costs: Costs {
            interruption: None,
            look_minutes: 1.0,
            cleaning_minutes: 1.0,
            cleaning_material: 0,
            labour_hour: 0,
            downtime_hour: 0,
            visit: 0,
            reject: 0,
            discount_rate: 0.0,
            exchange: BTreeMap::new(),
        },
        sources: vec![source("bench", "exports/*.csv")],
        proposals: Vec::new(),
        budget: None,
        actions: Vec::new(),
        looks: Looks::default(),
        text_blake3: String::new(),
    }
}

fn source(name: &str, files: &str) -> Source {
    Source {
        name: name.into(),
        line: 1,
        files: vec![files.into()],
        site: Some("Quay 1".into()),
        dialect: Dialect::default(),
        timezone: chrono_tz::UTC,
        clock_change: ClockChange::Quarantine,
        two_digit_years_from: None,
        scope: NameScope::Fleet,
        one_name_both_sides: false,
        names: NameRules::default(),
        finding_default: None,
        unreadable: Unreadable::Null,
        people: BTreeMap::new(),
        covers: BTreeMap::new(),
        records: vec![
            record(Table::Inspections, &[("fibre", "Fibre"), ("outcome", "Result")], None),
            record(Table::Cleanings, &[("method", "Cleaned")], Some("Cleaned")),
        ],
    }
}

fn record(table: Table, columns: &[(&str, &str)], given: Option<&str>) -> RecordMap {
    let shared = [("record", "No"), ("at", "At"), ("end_face", "Port")];
    RecordMap {
        forms: BTreeMap::new(),
        zones: Vec::new(),
        line: 2,
        table,
        when: given.map(|column| When { column: column.into(), is: Test::Given }),
        columns: shared
            .iter()
            .chain(columns)
            .map(|(canonical, export)| (canonical.to_string(), vec![export.to_string()]))
            .collect(),
        dates: BTreeMap::from([("at".to_string(), vec!["%Y-%m-%d %H:%M".to_string()])]),
        numbers: BTreeMap::new(),
        values: BTreeMap::new(),
        constants: BTreeMap::from([("stage".to_string(), "incoming".to_string())]),
        durations: BTreeMap::new(),
        unreadable: BTreeMap::new(),
    }
}
