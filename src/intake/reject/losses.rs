//! R9: cells that could not be read and were left out, the rest of their rows standing.
//!
//! A cell counts once its row is typed; those of a row that is then rejected for something else do not, since the whole
//! of that row is accounted for.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::records::{Misread, Table};

/// Cells that stand for all those with the same fault.
const EXAMPLES: usize = 3;

/// Cells of one column left out for one reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LostCells {
    /// What the row became.
    pub table: Table,
    /// The export's column (several joined by ` + `).
    pub column: String,
    /// Why they could not be read.
    pub why: Misread,
    /// How many.
    pub cells: u64,
    /// The first of them, at most three.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub examples: Vec<LostCell>,
}

impl LostCells {
    /// Adds those of the same column and reason that a later part of the same export has.
    pub fn add(&mut self, later: &LostCells) {
        self.cells += later.cells;
        let room = EXAMPLES.saturating_sub(self.examples.len());
        self.examples.extend(later.examples.iter().take(room).cloned());
    }
}

/// One cell left out, as an example.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LostCell {
    /// Line of the file where its row begins, from 1.
    pub line: u64,
    /// What was found, what was expected, what to do; people masked.
    pub reason: String,
}

/// Which field of the map, by number, and why.
type Key = (usize, Misread);

/// A cell of a row that is still being typed.
#[derive(Debug)]
struct Pending {
    key: Key,
    canonical: &'static str,
    /// Where it may become an example.
    reason: Option<String>,
}

/// What is kept of lost cells while an export is read.
#[derive(Debug, Default)]
pub struct Losses {
    /// Table and export column of every field, by number.
    fields: Vec<(Table, String)>,
    pending: Vec<Pending>,
    kept: BTreeMap<Key, (u64, Vec<LostCell>)>,
}

impl Losses {
    /// Makes a field known; gives its number.
    pub fn field(&mut self, table: Table, column: &str) -> usize {
        self.fields.push((table, column.to_owned()));
        self.fields.len() - 1
    }

    /// Takes note of a cell; `reason` is asked for only where it may become an example.
    pub fn note(
        &mut self,
        field: usize,
        canonical: &'static str,
        why: Misread,
        reason: impl FnOnce() -> String,
    ) {
        let key = (field, why);
        let examples = self.kept.get(&key).map_or(0, |(_, examples)| examples.len());
        let reason = (examples < EXAMPLES).then(reason);
        self.pending.push(Pending { key, canonical, reason });
    }

    /// How many cells the row has lost so far.
    pub fn count(&self) -> usize {
        self.pending.len()
    }

    /// Whether the row has lost that canonical column after `count` others.
    pub fn has(&self, canonical: &str, count: usize) -> bool {
        self.pending[count..].iter().any(|lost| lost.canonical == canonical)
    }

    /// Counts the cells of a row that stands; the row begins on that line.
    #[inline]
    pub fn keep(&mut self, line: u64) {
        if !self.pending.is_empty() {
            self.keep_pending(line);
        }
    }

    fn keep_pending(&mut self, line: u64) {
        for Pending { key, reason, .. } in self.pending.drain(..) {
            let (cells, examples) = self.kept.entry(key).or_default();
            *cells += 1;
            if let Some(reason) = reason
                && examples.len() < EXAMPLES
            {
                examples.push(LostCell { line, reason });
            }
        }
    }

    /// Forgets the cells of a row that is rejected.
    pub fn cut_back(&mut self) {
        self.pending.clear();
    }

    /// All that were lost, ordered by table, column and reason.
    pub fn finish(&mut self) -> Vec<LostCells> {
        let mut found: BTreeMap<(Table, String, Misread), (u64, Vec<LostCell>)> = BTreeMap::new();
        for ((field, why), (cells, examples)) in std::mem::take(&mut self.kept) {
            let (table, column) = self.fields[field].clone();
            let (sum, all) = found.entry((table, column, why)).or_default();
            *sum += cells;
            all.extend(examples);
        }
        let cells = |((table, column, why), (cells, mut examples)): (_, (u64, Vec<LostCell>))| {
            examples.sort_by_key(|example| example.line);
            examples.truncate(EXAMPLES);
            LostCells { table, column, why, cells, examples }
        };
        found.into_iter().map(cells).collect()
    }
}
