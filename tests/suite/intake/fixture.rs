//! A small fleet's plan, sources built from a few words, and a sink that keeps everything.

use std::collections::BTreeMap;

use arrow::array::{Array, RecordBatch, TimestampMicrosecondArray, UInt64Array};
use arrow::util::display::array_value_to_string;
use chrono::DateTime;
use chrono_tz::Europe::Vienna;
use motetrail::intake::{
    Export, IntakeError, Pass, PeopleKey, ReadCounts, Rejected, Sink, SinkError, read_export,
    read_knowing_names,
};
use motetrail::records::{Table, schema};
use motetrail::settings::{
    ClockChange, Codes, Costs, Dialect, Fleet, Looks, NameRules, NameScope, Plan, RecordMap, Rules,
    Separator, Source, Stages, Test, Unreadable, When,
};
use motetrail::tabular::Compression;

/// Owned words.
pub fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

fn pairs(pairs: &[(&str, &str)]) -> BTreeMap<String, String> {
    pairs.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect()
}

/// A part that maps `columns`; several export columns are written `Date+Time`.
pub fn part(table: Table, columns: &[(&str, &str)]) -> RecordMap {
    let columns = columns.iter().map(|(canonical, export)| {
        ((*canonical).to_owned(), export.split('+').map(str::to_owned).collect())
    });
    RecordMap {
        forms: BTreeMap::new(),
        zones: Vec::new(),
        line: 1,
        table,
        when: None,
        columns: columns.collect(),
        dates: BTreeMap::new(),
        numbers: BTreeMap::new(),
        values: BTreeMap::new(),
        constants: BTreeMap::new(),
        durations: BTreeMap::new(),
        unreadable: BTreeMap::new(),
    }
}

/// Adds to a part.
pub trait With: Sized {
    fn dates(self, column: &str, patterns: &[&str]) -> Self;
    fn values(self, column: &str, values: &[(&str, &str)]) -> Self;
    fn constants(self, constants: &[(&str, &str)]) -> Self;
    fn when(self, column: &str, is: Test) -> Self;
}

impl With for RecordMap {
    fn dates(mut self, column: &str, patterns: &[&str]) -> Self {
        self.dates.insert(column.to_owned(), words(patterns));
        self
    }

    fn values(mut self, column: &str, values: &[(&str, &str)]) -> Self {
        self.values.insert(column.to_owned(), pairs(values));
        self
    }

    fn constants(mut self, constants: &[(&str, &str)]) -> Self {
        self.constants.extend(pairs(constants));
        self
    }

    fn when(mut self, column: &str, is: Test) -> Self {
        self.when = Some(When { column: column.to_owned(), is });
        self
    }
}

/// Looks at `Port` at `At` with `Result`, all at incoming.
pub fn looks() -> RecordMap {
    part(Table::Inspections, &[("at", "At"), ("end_face", "Port"), ("outcome", "Result")])
        .dates("at", &["%d.%m.%Y %H:%M", "%d.%m.%Y"])
        .values("outcome", &[("OK", "pass"), ("NOK", "fail"), ("void", "")])
        .constants(&[("stage", "incoming")])
}

/// A source of the central works, in Vienna's time, separated by semicolons.
pub fn source(records: Vec<RecordMap>) -> Source {
    Source {
        name: "works".to_owned(),
        line: 1,
        files: Vec::new(),
        site: Some("Central Works".to_owned()),
        dialect: Dialect {
            separator: Separator::Byte(b';'),
            decimal_mark: b',',
            nulls: words(&["n/a", "-"]),
            ..Dialect::default()
        },
        timezone: Vienna,
        clock_change: ClockChange::Quarantine,
        two_digit_years_from: None,
        scope: NameScope::Fleet,
        one_name_both_sides: false,
        names: NameRules::default(),
        finding_default: None,
        unreadable: Unreadable::Null,
        people: BTreeMap::new(),
        covers: BTreeMap::new(),
        records,
    }
}

/// The plan of the invented fleet.
pub fn plan() -> Plan {
    Plan {
        open: Vec::new(),
        fleet: Fleet {
            name: "Invented Light Rail".to_owned(),
            currency: "EUR".to_owned(),
            timezone: Vienna,
            fiscal_year_starts: 1,
            as_of: None,
            sites: words(&["Central Works", "North Depot"]),
            store: "store".into(),
            folder: ".".into(),
        },
        rules: Rules::default(),
        stages: Stages { order: words(&["incoming", "installation"]), dark: Vec::new() },
        codes: Codes {
            family: words(&["LC", "SC"]),
            polish: Vec::new(),
            mode: Vec::new(),
            method: words(&["dry", "wet-dry"]),
            cause: words(&["contamination", "break"]),
            remedy: words(&["cleaned"]),
            criteria: Vec::new(),
        },
        costs: Costs {
            interruption: None,
            look_minutes: 2.0,
            cleaning_minutes: 3.0,
            cleaning_material: 60,
            labour_hour: 7800,
            downtime_hour: 45000,
            visit: 12000,
            reject: 3500,
            discount_rate: 0.0,
            exchange: BTreeMap::new(),
        },
        sources: Vec::new(),
        proposals: Vec::new(),
        budget: None,
        actions: Vec::new(),
        looks: Looks::default(),
        text_blake3: String::new(),
    }
}

/// What an export yielded.
#[derive(Default)]
pub struct Kept {
    pub batches: Vec<(Table, RecordBatch)>,
    pub rejected: Vec<Rejected>,
    pub counts: ReadCounts,
}

impl Sink for Kept {
    fn batch(&mut self, table: Table, batch: RecordBatch) -> Result<(), SinkError> {
        assert_eq!(batch.schema(), schema(table));
        self.batches.push((table, batch));
        Ok(())
    }

    fn quarantine(&mut self, rejected: Rejected) -> Result<(), SinkError> {
        self.rejected.push(rejected);
        Ok(())
    }
}

/// Reads an export that is packed.
pub fn read_packed(
    source: &Source,
    bytes: &[u8],
    packed: Compression,
) -> Result<Kept, IntakeError> {
    read_by(&plan(), source, bytes, packed)
}

/// Reads an export that must be readable by another plan.
pub fn read_under(source: &Source, text: &str, change: impl FnOnce(&mut Plan)) -> Kept {
    let mut plan = plan();
    change(&mut plan);
    read_by(&plan, source, text.as_bytes(), Compression::None).unwrap()
}

fn read_by(
    plan: &Plan,
    source: &Source,
    bytes: &[u8],
    packed: Compression,
) -> Result<Kept, IntakeError> {
    let people = PeopleKey::new([7; 32]);
    let mut kept = Kept::default();
    let read = |pass: Pass| {
        let export = Export { plan, source, file: "works/a.csv", people: &people, pass };
        if matches!(pass, Pass::Last(_)) {
            kept = Kept::default();
        }
        read_export(&export, bytes, packed, &mut kept)
    };
    let counts = read_knowing_names(read, |counts| &counts.suspects)?;
    kept.counts = counts;
    assert_eq!(kept.counts.rows, kept.counts.typed + kept.counts.quarantined);
    assert_eq!(kept.counts.quarantined, kept.rejected.len() as u64);
    Ok(kept)
}

/// Reads an export that must be readable.
pub fn read(source: &Source, text: &str) -> Kept {
    read_packed(source, text.as_bytes(), Compression::None).unwrap()
}

/// Reads an export that must not be readable, and gives the message.
pub fn error(source: &Source, text: &str) -> String {
    match read_packed(source, text.as_bytes(), Compression::None) {
        Ok(_) => panic!("was read"),
        Err(error) => error.to_string(),
    }
}

impl Kept {
    /// A table's column as texts, null as "", times in RFC 3339.
    pub fn column(&self, table: Table, name: &str) -> Vec<String> {
        let batches = self.batches.iter().filter(|(of, _)| *of == table);
        batches.flat_map(|(_, batch)| texts(batch.column_by_name(name).unwrap())).collect()
    }

    /// Line, table, column and reason of every rejected row.
    pub fn reasons(&self) -> Vec<String> {
        let rejected = self.rejected.iter();
        rejected
            .map(|r| {
                let column = r.column.as_deref().unwrap_or("");
                format!("{}|{}|{column}|{}", r.line, r.table, r.reason)
            })
            .collect()
    }

    /// Fingerprints of the same name, as numbers.
    pub fn prints(&self, table: Table, name: &str) -> Vec<u64> {
        let batches = self.batches.iter().filter(|(of, _)| *of == table);
        let column = |batch: &RecordBatch| {
            let column = batch.column_by_name(name).unwrap().clone();
            column.as_any().downcast_ref::<UInt64Array>().unwrap().values().to_vec()
        };
        batches.flat_map(|(_, batch)| column(batch)).collect()
    }
}

fn texts(column: &dyn Array) -> Vec<String> {
    let times = column.as_any().downcast_ref::<TimestampMicrosecondArray>();
    let text = |row: usize| match times {
        _ if column.is_null(row) => String::new(),
        Some(times) => {
            let time = DateTime::from_timestamp_micros(times.value(row)).unwrap();
            time.to_rfc3339_opts(chrono::SecondsFormat::AutoSi, true)
        }
        None => array_value_to_string(column, row).unwrap(),
    };
    (0..column.len()).map(text).collect()
}
