//! Files of one shape, which one source reads.

use super::Exported;
use crate::draft::rows::SampleRows;
use crate::settings::Dialect;
use crate::tabular::profile::{ColumnProfile, Profiler};

/// Exports with the same columns, written the same way.
#[derive(Clone, Debug)]
pub struct Group {
    pub files: Vec<String>,
    pub format: String,
    pub dialect: Dialect,
    pub columns: Vec<ColumnProfile>,
    pub rows: SampleRows,
    pub guessed_encoding: Option<String>,
}

/// Most rows of all files of a group that are kept.
const MOST_ROWS: usize = 20_000;

/// The groups, in the order of their first files. Without a column for it a file is of one site: files of several
/// folders are then kept apart, `is_sited` says of a header whether there is such a column.
pub fn groups(exports: Vec<Exported>, is_sited: &dyn Fn(&Exported) -> bool) -> Vec<Group> {
    let mut sorted = exports;
    sorted.sort_by(|a, b| a.file.cmp(&b.file));
    let mut groups: Vec<(Vec<Exported>, bool)> = Vec::new();
    for export in sorted {
        let sited = is_sited(&export);
        let known = groups.iter_mut().find(|(group, _)| {
            group.first().is_some_and(|first| {
                is_same_shape(first, &export)
                    && (sited || folder(&first.file) == folder(&export.file))
            })
        });
        match known {
            Some((group, _)) => group.push(export),
            None => groups.push((vec![export], sited)),
        }
    }
    groups.into_iter().filter_map(|(exports, _)| merged(exports)).collect()
}

/// Everything up to the file's own name.
pub fn folder(file: &str) -> &str {
    file.rsplit_once('/').map_or("", |(folder, _)| folder)
}

/// Whether one map reads both.
fn is_same_shape(one: &Exported, other: &Exported) -> bool {
    let names = |export: &Exported| -> Vec<String> {
        export.columns.iter().map(|column| column.name.clone()).collect()
    };
    let written = |export: &Exported| {
        let dialect = &export.dialect;
        (dialect.separator.clone(), dialect.skip_lines, dialect.header_rows, dialect.units_row)
    };
    one.format == other.format
        && names(one) == names(other)
        && written(one) == written(other)
        && one.dialect.encoding == other.dialect.encoding
}

/// One group; profiles of several files are made of their rows together.
fn merged(exports: Vec<Exported>) -> Option<Group> {
    let files = exports.iter().map(|export| export.file.clone()).collect();
    let several = exports.len() > 1;
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut profiler: Option<Profiler> = None;
    let mut first: Option<Exported> = None;
    for export in exports {
        if several {
            let names = &export.rows.names;
            let profiler = profiler.get_or_insert_with(|| Profiler::new(names));
            for row in &export.rows.rows {
                profiler.row(&row.iter().map(String::as_str).collect::<Vec<_>>());
            }
        }
        let room = MOST_ROWS.saturating_sub(rows.len());
        rows.extend(export.rows.rows.iter().take(room).cloned());
        first.get_or_insert(export);
    }
    let first = first?;
    let columns = profiler.map_or(first.columns, Profiler::finish);
    Some(Group {
        files,
        format: first.format,
        dialect: first.dialect,
        rows: SampleRows { names: first.rows.names, rows },
        columns,
        guessed_encoding: first.guessed_encoding,
    })
}
