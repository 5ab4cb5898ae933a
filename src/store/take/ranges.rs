//! Exports in ranges: where one may be cut, what comes of a range, and how ranges become the export again.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::export::{Taker, check_counts, entry};
use super::matched::{Job, open_export, unreadable};
use super::quarantine::{Quarantined, all_rows};
use super::sink::{ExportSink, Yield, work_part, work_quarantine};
use crate::intake::{
    Cuts, LostCells, Met, Pass, Range, ReadCounts, Rejected, Sink, cuts, read_range,
};
use crate::records::Table;
use crate::store::StoreError;
use crate::store::disk::durable::HashedReader;
use crate::store::disk::part::{Finished, splice};
use crate::store::manifest::form::{ExportEntry, MOST_RECORDS};
use crate::store::manifest::origin::OriginPart;

/// How an export is cut, and what is known of the whole.
pub(in crate::store) struct Cut {
    pub cuts: Cuts,
    /// BLAKE3 of the file's bytes, hex.
    pub hash: String,
}

/// Finds where a file can be cut; none where it is to be read whole, be it that its reading fails.
pub(in crate::store) fn cut(job: &Job, every: u64) -> Result<Option<Cut>, StoreError> {
    let text = open_export(&job.path).map_err(unreadable(&job.path))?;
    let mut text = HashedReader::new(text, &|_| ());
    let Ok(Some(cuts)) = cuts(job.source, &job.file, &mut text, every) else { return Ok(None) };
    Ok(Some(Cut { cuts, hash: text.finish().map_err(unreadable(&job.path))? }))
}

/// What came of a range.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct TypedRange {
    rows: u64,
    typed: u64,
    quarantined: u64,
    records: BTreeMap<Table, u64>,
    lost: Vec<LostCells>,
    /// By table: the latest time of its records.
    newest: BTreeMap<Table, Option<i64>>,
    /// BLAKE3 of its quarantine, hex, where it has one.
    quarantine: Option<String>,
    met: Met,
}

/// Files of a range, by what they are: a table's name, or that of the quarantine.
pub type RangeFiles = Vec<(&'static str, PathBuf)>;

/// Finished files of an export: where each is to be in the store, and where it is.
pub(in crate::store) type Placed = Vec<(PathBuf, PathBuf)>;

/// Name of the quarantine among the files of a range.
const QUARANTINE: &str = "quarantine";

impl Taker<'_> {
    /// Types a range, as `number` of this run; none where the export is to be read whole.
    pub fn type_range(
        &self,
        job: &Job,
        (number, range): (usize, &Range),
        text: &Path,
    ) -> Result<Option<(TypedRange, RangeFiles)>, StoreError> {
        let text = open_export(text).map_err(unreadable(text))?;
        let names = (job.source.name.as_str(), job.file.as_str());
        let mut sink = ExportSink::new(self.run, names, number, self.progress);
        let read = read_range(&self.export(job, Pass::First), range, text, &mut sink);
        let (counts, met) = match read {
            Ok(read) => read,
            Err(error) => {
                let own = sink.take_failure();
                let error = own.unwrap_or_else(|| StoreError::Export(Box::new(error)));
                sink.discard();
                return if error.is_of_export() { Ok(None) } else { Err(error) };
            }
        };
        let yielded = sink.finish(&[])?;
        check_counts(&job.file, &counts, &yielded)?;
        let Yield { parts, quarantine, .. } = yielded;
        let mut files = RangeFiles::new();
        for table in parts.keys() {
            files.push((table.name(), work_part(self.run, number, *table)?));
        }
        if quarantine.is_some() {
            files.push((QUARANTINE, work_quarantine(self.run, number)?));
        }
        let newest = parts.iter().map(|(table, part)| (*table, part.newest)).collect();
        let ReadCounts { rows, typed, quarantined, records, lost, suspects: _ } = counts;
        let quarantine = quarantine.map(|written| written.hash);
        let typed = TypedRange { rows, typed, quarantined, records, lost, newest, quarantine, met };
        Ok(Some((typed, files)))
    }

    /// Makes the export of its ranges, which are in their order, `file` saying where their files are; none where it is to be
    /// read whole: names of people may stand where none should, and who they are is told by the whole alone.
    pub fn bind(
        &self,
        job: &Job,
        hash: String,
        ranges: &[TypedRange],
        file: &dyn Fn(usize, &str) -> PathBuf,
    ) -> Result<Option<(ExportEntry, Placed)>, StoreError> {
        let counts = sum(ranges);
        let mut met = Met::default();
        ranges.iter().for_each(|range| met.add(range.met.clone()));
        if !met.is_enough() || counts.records.values().any(|records| *records > MOST_RECORDS) {
            return Ok(None);
        }
        let names = (job.source.name.as_str(), job.file.as_str());
        let mut sink = ExportSink::new(self.run, names, 0, self.progress);
        for (number, range) in ranges.iter().enumerate() {
            let Some(hash) = &range.quarantine else { continue };
            for row in all_rows(&file(number, QUARANTINE), hash)? {
                sink.quarantine(rejected(row?)).map_err(|error| {
                    let own = sink.take_failure();
                    own.unwrap_or_else(|| StoreError::damaged(&job.path, error))
                })?;
            }
        }
        let mut newest: BTreeMap<Table, Option<i64>> = BTreeMap::new();
        for (table, at) in ranges.iter().flat_map(|range| &range.newest) {
            let latest = newest.entry(*table).or_default();
            *latest = (*latest).max(*at);
        }
        let of_table = |(table, newest): (&Table, &Option<i64>)| OriginPart {
            table: *table,
            records: counts.records.get(table).copied().unwrap_or(0),
            newest: *newest,
            complete: None,
        };
        let stated: Vec<OriginPart> = newest.iter().map(of_table).collect();
        let has_quarantine = sink.has_quarantine(stated.is_empty())?;
        let origin = self.origin(job, hash, &counts, (stated, has_quarantine));
        let metadata = origin.metadata();
        let mut parts: BTreeMap<Table, Finished> = BTreeMap::new();
        for (table, latest) in newest {
            let own = |(_, range): &(usize, &TypedRange)| range.newest.contains_key(&table);
            let pieces = ranges.iter().enumerate().filter(own);
            let pieces: Vec<PathBuf> =
                pieces.map(|(number, _)| file(number, table.name())).collect();
            let path = work_part(self.run, 0, table)?;
            parts.insert(table, splice(&path, table, &pieces, latest, &metadata)?);
        }
        let yielded = Yield { parts, ..sink.finish(&metadata)? };
        check_counts(&job.file, &counts, &yielded)?;
        let entry = entry(origin, &counts, yielded);
        let mut files = Placed::new();
        for part in &entry.parts {
            files.push((entry.part_file(self.layout, part), work_part(self.run, 0, part.table)?));
        }
        if let Some((place, _)) = entry.quarantine_file(self.layout) {
            files.push((place, work_quarantine(self.run, 0)?));
        }
        Ok(Some((entry, files)))
    }
}

fn rejected(row: Quarantined) -> Rejected {
    let Quarantined { line, table, column, reason, raw, .. } = row;
    Rejected { line, table: Table::named(&table).map_or("", Table::name), column, reason, raw }
}

/// What the ranges came to together.
fn sum(ranges: &[TypedRange]) -> ReadCounts {
    let mut all = ReadCounts::default();
    let mut lost: BTreeMap<_, LostCells> = BTreeMap::new();
    for range in ranges {
        all.rows += range.rows;
        all.typed += range.typed;
        all.quarantined += range.quarantined;
        for (table, records) in &range.records {
            *all.records.entry(*table).or_default() += records;
        }
        for cells in &range.lost {
            let key = (cells.table, cells.column.clone(), cells.why);
            // Ranges come in the order of lines.
            lost.entry(key).and_modify(|known| known.add(cells)).or_insert_with(|| cells.clone());
        }
    }
    all.lost = lost.into_values().collect();
    all
}
