//! Which of a table's first rows name its columns.

use super::apart::goes_on;
use super::columns::{Columns, Votes};
use super::kind::Kind;
use super::layout::read_again;
use super::seen::{Seen, Text};
use super::units::is_unit;
use crate::settings::Separator;
use crate::tabular::profile::is_null_word;

/// Most rows of a header.
const MOST: usize = 4;
/// Rows of a table from which fewer than the last are taken to tell what the columns hold.
const SMALL: usize = 6;

/// Rows of a table that are looked at.
const ROWS: usize = 400;

/// The header of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Header {
    /// Rows of the table that stand before it.
    pub above: usize,
    /// Its rows with text, that of units not among them.
    pub rows: usize,
    /// Rows of empty cells between them.
    pub empty: usize,
    pub units: bool,
    /// Why it is not certain.
    pub doubt: Option<(String, String)>,
}

impl Header {
    /// Rows from its first to its last, that of units among them.
    pub fn height(&self) -> usize {
        self.rows + self.empty + usize::from(self.units)
    }
}

/// Finds the header of the rows of a table.
pub fn header_of(text: &Text, rows: &[Seen], width: usize) -> Header {
    let rows = &rows[..rows.len().min(ROWS)];
    // Rows of empty cells name nothing, wherever they stand.
    let mut places: Vec<usize> = (0..rows.len()).filter(|place| rows[*place].filled > 0).collect();
    if places.is_empty() {
        places = (0..rows.len()).collect();
    }
    let mut dense: Vec<Seen> = places.iter().map(|place| rows[*place]).collect();
    let mut before = None;
    for (row, place) in dense.iter_mut().zip(&places) {
        row.gap |= before.is_some_and(|before| before + 1 < *place);
        before = Some(*place);
    }
    let found = of_filled(text, dense, width);
    let above = places.get(found.above).copied().unwrap_or(rows.len());
    let end = found.above + found.height();
    let last = end.checked_sub(1).filter(|last| *last >= found.above);
    let last = last.and_then(|last| places.get(last).copied());
    let empty = last.map_or(0, |last| last + 1 - above - found.height());
    Header { above, empty, ..found }
}

/// Finds it where no row is empty; `gap` says of a row that something without text stands before it.
fn of_filled(text: &Text, mut rows: Vec<Seen>, width: usize) -> Header {
    let columns = below(&rows, width);
    for row in rows.iter_mut().take(2 * MOST) {
        *row = read_again(text, row, &columns).unwrap_or(*row);
    }
    let titles = titles(&rows, width);
    let rows = &rows[titles..];
    let columns = below(rows, width);
    let votes: Vec<Votes> = rows.iter().take(MOST + 1).map(|row| columns.votes(row)).collect();
    // Behind a row that is nothing but values no header is to come.
    let values = |votes: &Votes| {
        votes.alike >= columns.hard_ones().div_ceil(2).max(1) && votes.names + votes.others == 0
    };
    let end = votes.iter().position(values).unwrap_or(votes.len());
    let last = (0..end).rev().find(|place| {
        names_columns(&rows[*place], &votes[*place], &columns, *place)
            && (*place + 1 < rows.len() || *place == 0)
    });
    let header = match last {
        Some(last) => {
            let last = last + usize::from(last + 1 < end && is_rest(text, rows, &votes, last + 1));
            let names = |place: &usize| {
                let title = rows[*place].filled < 2 || is_prose(text, &rows[*place]);
                let apart = rows.get(place + 1).is_some_and(|next| next.gap);
                *place == last
                    || votes[*place].alike == 0
                        && !title
                        && (!apart || goes_on(text, &rows[*place], &rows[place + 1]))
            };
            let first = (0..=last).rev().take_while(names).take(MOST).last().unwrap_or(last);
            let gaps: Vec<String> =
                rows[first..=last].iter().skip(1).filter(|row| row.gap).map(line_of).collect();
            let doubt = (!gaps.is_empty()).then(|| {
                let what = "what stands behind an empty row is taken for a part of the header too";
                (what.to_owned(), gaps.join(", "))
            });
            Header { above: first, rows: last + 1 - first, empty: 0, units: false, doubt }
        }
        None if votes.first().is_some_and(|votes| votes.alike > 0) => {
            numbered(text, rows, &votes[0])
        }
        None => undecided(text, rows),
    };
    with_units(text, rows, &columns, Header { above: header.above + titles, ..header }, titles)
}

fn line_of(row: &Seen) -> String {
    format!("line {}", row.line)
}

/// Whether a row behind names is the rest of them, such as units of some: few cells, none of them a value.
fn is_rest(text: &Text, rows: &[Seen], votes: &[Votes], place: usize) -> bool {
    let (row, upper, votes) = (&rows[place], &rows[place - 1], &votes[place]);
    let cells = text.cells_of(row);
    votes.alike + votes.others == 0
        && votes.names > 0
        && row.width > 2
        && 2 * row.filled <= row.width
        && place + 1 < rows.len()
        && goes_on(text, upper, row)
        && !cells.iter().any(|cell| is_null_word(cell.trim()))
}

/// Whether a blank stands behind every separator, as in a sentence.
pub fn is_prose(text: &Text, row: &Seen) -> bool {
    let Separator::Byte(separator) = text.marks.separator else { return false };
    let pairs = text.bytes_of(row).windows(2).filter(|pair| *pair == [separator, b' ']);
    separator != b' ' && row.width > 1 && pairs.count() + 1 >= row.width
}

/// First rows that hold a single cell or, next to broad tables, a name and its value.
fn titles(rows: &[Seen], width: usize) -> usize {
    let is_title = |pair: &&[Seen]| {
        let (row, next) = (&pair[0], &pair[1]);
        let single = row.filled == 1 && width > 1;
        let valued = row.filled == 2
            && width > 4
            && row.kind(0) != Kind::Empty
            && row.kind(1) != Kind::Empty;
        (single || valued) && next.width >= row.width.min(width)
    };
    let titles = rows.windows(2).take_while(is_title).count();
    if titles + 1 >= rows.len() && rows.last().is_some_and(|row| row.filled < 2) {
        0
    } else {
        titles
    }
}

/// The columns as the rows behind any header show them.
fn below(rows: &[Seen], width: usize) -> Columns {
    let from = match rows.len() {
        0 | 1 => 0,
        few @ ..=SMALL => few - 1,
        many => many.div_ceil(2).min(MOST + 4),
    };
    Columns::of(rows[from.min(rows.len())..].iter(), width)
}

/// Whether a row names columns: words stand where values do further down, and no value does.
fn names_columns(row: &Seen, votes: &Votes, columns: &Columns, place: usize) -> bool {
    // Below the first row, a lone text in the first cell is the title of a group of rows.
    let group = place > 0 && row.filled == 1 && row.kind(0) != Kind::Empty;
    let enough = if place == 0 || columns.hard_ones() > 2 { 1 } else { 2 };
    votes.alike == 0 && votes.names >= enough && votes.others <= votes.names && !group
}

/// The first row looks like the rest of them.
fn numbered(text: &Text, rows: &[Seen], votes: &Votes) -> Header {
    let years: Option<Vec<u32>> = text
        .cells_of(&rows[0])
        .iter()
        .filter(|cell| Kind::of(cell.as_bytes()) == Kind::Number)
        .map(|cell| cell.trim().parse().ok().filter(|year| (1900..2100).contains(year)))
        .collect();
    let rising = years.is_some_and(|years| {
        years.len() > 1 && years.windows(2).all(|pair| pair[0].abs_diff(pair[1]) == 1)
    });
    if rising && rows.len() > 1 {
        let doubt = ("the header has years as names", format!("line {}", rows[0].line));
        return Header {
            above: 0,
            rows: 1,
            empty: 0,
            units: false,
            doubt: Some((doubt.0.to_owned(), doubt.1)),
        };
    }
    let evidence =
        format!("{} cells of line {} look like the values below them", votes.alike, rows[0].line);
    let doubt = Some(("the table has no header".to_owned(), evidence));
    Header { above: 0, rows: 0, empty: 0, units: false, doubt }
}

/// Nothing but words everywhere: names do not come again as values.
fn undecided(text: &Text, rows: &[Seen]) -> Header {
    let Some(first) = rows.first() else {
        return Header { above: 0, rows: 0, empty: 0, units: false, doubt: None };
    };
    let names = text.cells_of(first);
    let given: Vec<&str> =
        names.iter().map(|name| name.trim()).filter(|name| !name.is_empty()).collect();
    let twice = (1..given.len()).any(|place| given[..place].contains(&given[place]));
    let again = rows[1..].iter().take(200).find(|row| {
        let cells = text.cells_of(row);
        let same = names
            .iter()
            .zip(&cells)
            .filter(|(name, cell)| !name.trim().is_empty() && name.trim() == cell.trim());
        same.count() > 0 && row.width == first.width
    });
    let (count, why) = match again {
        Some(row) if text.bytes_of(row) != text.bytes_of(first) => {
            (0, format!("a cell of line {} comes again in line {}", first.line, row.line))
        }
        _ if twice => (0, format!("two cells of line {} are the same", first.line)),
        _ => (1, format!("line {} holds words as all lines do, and none comes again", first.line)),
    };
    let what = if count == 0 {
        "the table seems to have no header"
    } else {
        "the first row is taken for the header"
    };
    Header { above: 0, rows: count, empty: 0, units: false, doubt: Some((what.to_owned(), why)) }
}

/// Tells the row of units from the header's rows or the first data row.
fn with_units(
    text: &Text,
    rows: &[Seen],
    columns: &Columns,
    header: Header,
    titles: usize,
) -> Header {
    let end = header.above + header.rows - titles;
    let units = |place: usize| {
        rows.get(place).is_some_and(|row| {
            let cells = text.cells_of(row);
            let mut given = cells.iter().enumerate().filter(|(_, cell)| !cell.trim().is_empty());
            let measured = |column: usize| columns.hard(column) == Some(Kind::Number);
            given.clone().any(|(column, _)| measured(column))
                && given.all(|(_, cell)| is_unit(cell))
                && columns.votes(row).strict == 0
        })
    };
    if header.rows > 1 && units(end - 1) {
        Header { rows: header.rows - 1, units: true, ..header }
    } else if header.rows > 0 && end + 1 < rows.len() && units(end) {
        Header { units: true, ..header }
    } else {
        header
    }
}
