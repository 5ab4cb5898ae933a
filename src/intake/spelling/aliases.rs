//! Reads an alias table: a text table of the columns `written` and `name`, each row of which gives a written name
//! another spelling. Every row is used, doubled or refused.

use std::fs::{File, metadata};
use std::io;
use std::path::Path;

use rustc_hash::FxHashMap;

use super::rules::AliasNames;
use crate::intake::IntakeError;
use crate::settings::{Dialect, Separator};
use crate::tabular::{Cells, Rows, TableRows, rows_of};

/// What the two columns are called.
const HEADER: [&str; 2] = ["written", "name"];
/// What may stand between them.
const SEPARATORS: [u8; 3] = *b",;\t";
/// Most rows of a table, so that its names fit into memory.
const MOST_ROWS: u64 = 1_000_000;
/// Rows refused that are told of, of one table.
const MOST_REASONS: usize = 5;

/// What became of the rows of one alias table.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AliasAccount {
    /// Name of the source whose names it spells.
    pub source: String,
    /// Its path, relative to the settings' folder.
    pub file: String,
    /// BLAKE3 of its bytes, hex.
    pub blake3: String,
    /// Rows behind the header that hold any text: used, doubled or refused.
    pub read: u64,
    /// Rows that give a name another spelling.
    pub used: u64,
    /// Rows that say what an earlier row says.
    pub doubled: u64,
    /// Rows that cannot be used.
    pub refused: u64,
    /// The first rows refused: line and reason.
    pub reasons: Vec<(u64, String)>,
}

/// The names of a source's alias table, and the account of its rows.
///
/// # Errors
/// A file that cannot be read, is too long, or lacks the header.
pub fn read_aliases(
    source: &str,
    folder: &Path,
    file: &str,
) -> Result<(AliasNames, AliasAccount), IntakeError> {
    let path = folder.join(file);
    let unreadable = |cause| IntakeError::Unreadable { file: file.to_owned(), cause };
    let open = || -> io::Result<File> {
        // A pipe would be waited for without end.
        if metadata(&path)?.is_file() { File::open(&path) } else { Err(no_file()) }
    };
    let mut hasher = blake3::Hasher::new();
    hasher.update_reader(open().map_err(unreadable)?).map_err(unreadable)?;
    let mut found = None;
    for separator in SEPARATORS {
        let dialect = Dialect { separator: Separator::Byte(separator), ..Dialect::default() };
        let bytes = Box::new(open().map_err(unreadable)?);
        let mut rows = rows_of(&dialect, bytes).map_err(unreadable)?;
        if is_header(&mut rows).map_err(unreadable)? {
            found = Some(rows);
            break;
        }
    }
    let Some(mut rows) = found else {
        let [written, name] = HEADER;
        let reason = format!(
            "found another first line, expected the header `{written},{name}`: the names as the source writes them, \
             and what each is to be read as"
        );
        return Err(IntakeError::Aliases { file: file.to_owned(), line: 1, reason });
    };
    let account = AliasAccount {
        source: source.to_owned(),
        file: file.to_owned(),
        blake3: hasher.finalize().to_hex().to_string(),
        ..AliasAccount::default()
    };
    let (pairs, account) = pairs(&mut rows, account)?;
    Ok(settle(pairs, account))
}

fn no_file() -> io::Error {
    io::Error::new(io::ErrorKind::InvalidInput, "it is no regular file")
}

fn is_header(rows: &mut Rows) -> io::Result<bool> {
    let Some(row) = rows.next_row()? else { return Ok(false) };
    let Ok(cells) = Cells::of(&row) else { return Ok(false) };
    Ok(cells.count() == HEADER.len() && (0..2).all(|at| cells.get(at) == HEADER[at]))
}

/// A row that names two spellings, with its line.
type Pair = (u64, Box<str>, Box<str>);

/// The rows that name two spellings; the others are refused in the account.
fn pairs(
    rows: &mut Rows,
    mut account: AliasAccount,
) -> Result<(Vec<Pair>, AliasAccount), IntakeError> {
    let file = account.file.clone();
    let unreadable = |cause| IntakeError::Unreadable { file: file.clone(), cause };
    let mut pairs: Vec<Pair> = Vec::new();
    while let Some(row) = rows.next_row().map_err(unreadable)? {
        let line = row.line;
        let cells = if row.fault.is_some() { None } else { Cells::of(&row).ok() };
        if cells.is_some_and(|cells| cells.are_blank()) {
            continue;
        }
        account.read += 1;
        if account.read > MOST_ROWS {
            let reason = format!("found more than {MOST_ROWS} rows; a pattern says more in a line");
            return Err(IntakeError::Aliases { file, line, reason });
        }
        match cells.map(|cells| (cells.count(), cells.get(0), cells.get(1))) {
            Some((2, written, name)) if !written.is_empty() && !name.is_empty() => {
                pairs.push((line, written.into(), name.into()));
            }
            Some((2, ..)) => account.refuse(line, "an empty cell, expected two names".to_owned()),
            Some((count, ..)) => account.refuse(line, format!("{count} cells, expected two")),
            None => account.refuse(line, "a row that is no text of two cells".to_owned()),
        }
    }
    Ok((pairs, account))
}

impl AliasAccount {
    fn refuse(&mut self, line: u64, found: String) {
        self.refused += 1;
        if self.reasons.len() < MOST_REASONS {
            self.reasons.push((line, format!("found {found}")));
        }
    }
}

/// Of rows for one name that agree the first is used; rows that do not agree are all refused, since nobody knows which
/// is right.
fn settle(pairs: Vec<Pair>, mut account: AliasAccount) -> (AliasNames, AliasAccount) {
    let mut rows: FxHashMap<&str, Vec<usize>> = FxHashMap::default();
    for (at, (_, written, _)) in pairs.iter().enumerate() {
        rows.entry(written).or_default().push(at);
    }
    let mut names = AliasNames::default();
    // In the order of the file, so that the first reasons are those of its first lines.
    for (at, (line, written, name)) in pairs.iter().enumerate() {
        let same = &rows[&**written];
        let other = same.iter().map(|at| &pairs[*at]).find(|(_, _, other)| other != name);
        match other {
            Some((other_line, _, other)) => account.refuse(
                *line,
                format!(
                    "{written:?} as {name:?}, but as {other:?} on line {other_line}; remove one"
                ),
            ),
            None if same.first() == Some(&at) => {
                account.used += 1;
                names.insert(written.clone(), name.clone());
            }
            None => account.doubled += 1,
        }
    }
    account.reasons.sort();
    (names, account)
}
