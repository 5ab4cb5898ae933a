//! From a sample to how its file is written.

use super::charset::{Decoded, decode};
use super::columns::Columns;
use super::decimal::decimal_mark;
use super::doubts;
use super::header::{Header, header_of, is_prose};
use super::layout::{Block, blocks, grow_down};
use super::line_ends::counted;
use super::otherwise::{How, as_read};
use super::search::{Found, search};
use super::seen::{Seen, Text};
use super::tail::trailing;
use super::{Detected, Doubt, Extent, Faulty, Line, Reread, Sample, Uneven};
use crate::settings::{Dialect, Separator, ShortRows};
use crate::tabular::names::{joined_names, numbered_names};
use crate::tabular::text::marks::Marks;

/// Entries kept of a list that grows with the file.
const KEPT: usize = 100;
/// Characters kept of a line.
const LINE: usize = 200;
/// Rows that are taken for footers in the end of a file at most.
const LAST_ROWS: usize = 64;

/// A table of the sample.
pub struct Laid {
    pub header: Header,
    /// Its data rows.
    pub data: Block,
    pub extent: Extent,
    /// The header has no name for the first cell.
    pub row_names: bool,
}

/// A row of separators and nothing else: no record.
fn is_empty(row: &Seen) -> bool {
    row.filled == 0 && row.width > 1
}

/// Finds how a text file is written. Any bytes give an answer.
pub fn detect(sample: &Sample) -> Detected {
    detect_cut(sample, None)
}

/// The same for a text whose cells are known to be cut at `separator`.
pub fn detect_cut(sample: &Sample, separator: Option<Separator>) -> Detected {
    let decoded = decode(&sample.head, sample.whole);
    let mut detected = Detected {
        bom: decoded.bom,
        line_ends: counted(&decoded.text),
        dialect: Dialect { encoding: decoded.encoding, ..Dialect::default() },
        doubts: decoded.doubts.clone(),
        ..Detected::default()
    };
    let given = named_separator(&decoded.text);
    let found = search(&decoded.text, detected.line_ends, separator.or(given.clone()));
    let text = Text {
        text: &decoded.text,
        marks: &found.best.marks,
        width: found.best.width,
        cut_off: !sample.whole,
    };
    let seen = text.seen();
    detected.blank_lines = seen.blank_lines;
    let rows = &seen.rows[usize::from(given.is_some()).min(seen.rows.len())..];
    if rows.is_empty() {
        detected.preamble = lines(&text, seen.rows.iter());
        detected.doubts.push(Doubt::new("there is no table", "no line holds any text"));
        return detected;
    }
    take_marks(&mut detected.dialect, text.marks);
    lay_out(&mut detected, &text, rows, &found);
    if given.is_some() {
        let named = lines(&text, seen.rows[..1].iter());
        detected.preamble.splice(0..0, named);
    }
    if let Some(tail) = sample.tail.as_deref().filter(|_| !sample.whole) {
        look_at_tail(&mut detected, &decoded, tail, text.marks);
    }
    doubts::add(&mut detected, &found, sample);
    detected
}

/// The separator that a first line `sep=;` names, as spreadsheets read it.
fn named_separator(text: &str) -> Option<Separator> {
    let first = text.lines().next()?.trim_end_matches('\r');
    let name = first.trim_matches('"').strip_prefix("sep=")?;
    let name = if name.is_empty() && first.ends_with('"') { return None } else { name };
    match name.as_bytes() {
        [byte @ (b'\t' | 32..=126)] => Some(Separator::Byte(*byte)),
        _ => None,
    }
}

fn take_marks(dialect: &mut Dialect, marks: &Marks) {
    dialect.separator = marks.separator.clone();
    dialect.quote = marks.quote;
    dialect.escape = marks.escape;
    dialect.line_end = marks.line_end;
}

/// Finds the tables and describes the main one.
fn lay_out(detected: &mut Detected, text: &Text, rows: &[Seen], found: &Found) {
    let all = Block { from: 0, to: rows.len(), width: 1 };
    let blocks = if found.one_column { vec![all] } else { blocks(text, rows) };
    let tables: Vec<Laid> = blocks.iter().map(|block| laid(text, rows, *block)).collect();
    let size = |laid: &Laid| (laid.data.to - laid.data.from) * laid.extent.width;
    let largest = tables.iter().map(size).max();
    let Some(main) = tables.iter().position(|laid| Some(size(laid)) == largest) else { return };
    let (start, end) = (tables[main].start(), tables[main].data.to);
    let mut outside = vec![true; rows.len()];
    let mut kept = Vec::new();
    for (place, laid) in tables.into_iter().enumerate() {
        if place != main && !is_table(&laid, place < main) {
            continue;
        }
        outside[laid.start()..laid.data.to].fill(false);
        if place == main {
            detected.main = kept.len();
            describe(detected, text, rows, &laid);
        }
        if place == main || kept.len() < KEPT {
            kept.push(laid);
        }
    }
    let lines_of = |range: std::ops::Range<usize>| {
        let seen = range.filter(|row| outside[*row]).map(|row| &rows[row]);
        lines(text, seen)
    };
    detected.preamble = lines_of(0..start);
    detected.footers = lines_of(end..rows.len());
    let mut tables = kept;
    if let Some(last) = tables.last_mut().filter(|last| text.cut_off && last.data.to == rows.len())
    {
        last.extent.last_line = None;
    }
    detected.tables = tables.into_iter().map(|laid| laid.extent).collect();
}

/// A few lines of two cells above the table are no table.
fn is_table(laid: &Laid, above: bool) -> bool {
    let rows = laid.data.to - laid.data.from;
    let note = above && laid.extent.width == 2 && laid.header.rows == 0 && rows <= 8;
    !note && rows + laid.header.rows >= 2
}

impl Laid {
    /// Row where its header begins.
    fn start(&self) -> usize {
        self.data.from - self.header.height()
    }
}

/// Header, names and extent of a block.
fn laid(text: &Text, rows: &[Seen], block: Block) -> Laid {
    let header = header_of(text, block.rows(rows), block.width);
    let start = block.from + header.above;
    let from = start + header.height();
    let columns = Columns::of(rows[from..block.to].iter(), block.width);
    let to = block.to - trailing(text, &rows[from..block.to], &columns);
    let data = Block { from, to, width: block.width };
    let named = rows[start..from].iter().filter(|row| !is_empty(row)).take(header.rows);
    let titles: Vec<Vec<String>> = named.map(|row| texts(text, row, &columns)).collect();
    let mut names =
        if header.rows > 0 { joined_names(&titles) } else { numbered_names(block.width) };
    let full = data.rows(rows).iter().filter(|row| row.width == block.width);
    let blank_ends = full.clone().next().is_some() && full.clone().all(|row| row.blank_end);
    let nameless = names.len() + 1 == block.width || names.last().is_some_and(String::is_empty);
    let trailing_separator = header.rows > 0 && blank_ends && nameless && block.width > 1;
    if trailing_separator && names.len() == block.width {
        names.pop();
    }
    // Names of rows stand in front and have none themselves.
    let row_names = header.rows > 0
        && !trailing_separator
        && names.len() + 1 == block.width
        && full.clone().count() * 10 >= data.rows(rows).len() * 9;
    if row_names {
        names.insert(0, String::new());
    }
    let empty = data.rows(rows).iter().filter(|row| is_empty(row)).count();
    let extent = Extent {
        first_line: rows[start].line,
        last_line: Some(rows[to.max(start + 1) - 1].line),
        header_rows: header.rows,
        units_row: header.units,
        rows: (to - from - empty) as u64,
        width: if trailing_separator { block.width - 1 } else { block.width },
        trailing_separator,
        names,
        columns,
    };
    Laid { header, data, extent, row_names }
}

fn texts(text: &Text, row: &Seen, columns: &Columns) -> Vec<String> {
    let cells = |bytes: Vec<Vec<u8>>| {
        bytes.iter().map(|cell| String::from_utf8_lossy(cell).into_owned()).collect()
    };
    cells(read_row(text, row, columns).0)
}

fn read_row(text: &Text, row: &Seen, columns: &Columns) -> (Vec<Vec<u8>>, How) {
    let (bytes, cells) = text.cut(row);
    as_read(&bytes, &cells, row.fault.is_some(), text.marks, columns)
}

/// Everything about the main table.
fn describe(detected: &mut Detected, text: &Text, rows: &[Seen], laid: &Laid) {
    let extent = &laid.extent;
    let lines_before = usize::try_from(extent.first_line - 1).unwrap_or(usize::MAX);
    detected.dialect.skip_lines = lines_before;
    detected.dialect.header_rows = extent.header_rows;
    detected.dialect.units_row = extent.units_row;
    detected.units_row = laid.header.units.then(|| rows[laid.data.from - 1].line);
    if laid.row_names {
        detected.doubts.push(Doubt::new(
            "the header has one name less than the rows have cells; its names are taken to belong to the cells behind the first",
            format!("line {}; intake refuses such rows: write a name before the first", extent.first_line),
        ));
    }
    if let Some((what, evidence)) = &laid.header.doubt {
        detected.doubts.push(Doubt::new(what, evidence));
    }
    look_at_rows(detected, text, rows, laid);
    let (mark, doubt) = decimal_mark(text, laid.data.rows(rows));
    detected.dialect.decimal_mark = mark;
    detected.doubts.extend(doubt);
}

/// The rows of the main table that are not as they should be.
fn look_at_rows(detected: &mut Detected, text: &Text, rows: &[Seen], laid: &Laid) {
    let extent = &laid.extent;
    let named = rows[laid.start()..laid.data.from].iter().filter(|row| !is_empty(row));
    let header = named.take(laid.header.rows).last().map(|row| text.bytes_of(row));
    let mut short = 0;
    for row in laid.data.rows(rows) {
        if is_empty(row) {
            keep(&mut detected.empty_rows, row.line);
            continue;
        }
        if Some(text.bytes_of(row)) == header {
            keep(&mut detected.repeated_headers, row.line);
            continue;
        }
        if row.fault.is_none() && row.width == laid.data.width && !is_prose(text, row) {
            continue;
        }
        let (cells, how) = read_row(text, row, &extent.columns);
        if let How::Otherwise(separator) = how {
            keep(&mut detected.reread, Reread { line: row.line, separator });
            continue;
        }
        if let Some(fault) = row.fault {
            keep(&mut detected.faulty, Faulty { line: row.line, fault });
        }
        if cells.len() != laid.data.width {
            keep(&mut detected.uneven, Uneven { line: row.line, cells: cells.len() });
            detected.uneven_rows += 1;
            short += u64::from(cells.len() < laid.data.width);
        }
    }
    if short >= 3 && short * 20 >= extent.rows {
        detected.dialect.short_rows = ShortRows::Pad;
        detected.doubts.push(Doubt::new(
            "rows with too few cells are taken to lack empty ones at their end",
            format!("{short} of {} rows", extent.rows),
        ));
    }
}

fn keep<T>(list: &mut Vec<T>, entry: T) {
    if list.len() < KEPT {
        list.push(entry);
    }
}

fn lines<'a>(text: &Text, rows: impl Iterator<Item = &'a Seen>) -> Vec<Line> {
    let line = |row: &Seen| Line {
        line: Some(row.line),
        text: String::from_utf8_lossy(text.bytes_of(row)).chars().take(LINE).collect(),
    };
    rows.take(KEPT).map(line).collect()
}

/// Finds the footers of a table that goes on behind the sample.
fn look_at_tail(detected: &mut Detected, decoded: &Decoded, tail: &[u8], marks: &Marks) {
    let Some(extent) = detected.tables.get(detected.main).filter(|table| table.last_line.is_none())
    else {
        return;
    };
    let coder = decoded.encoding.coder();
    let tail = coder.decode_without_bom_handling(tail).0;
    // It may begin inside a row.
    let Some((_, next)) =
        crate::tabular::text::line_ends::line_end_from(tail.as_bytes(), 0, true, marks.line_end)
    else {
        return;
    };
    let width = extent.columns.width;
    let text = Text { text: &tail[next..], marks, width, cut_off: false };
    let rows = text.seen().rows;
    let inside = |row: &Seen| row.width == width && (row.filled > 1 || width < 3);
    let (Some(from), Some(last)) = (rows.iter().position(inside), rows.iter().rposition(inside))
    else {
        return;
    };
    let mut block = Block { from, to: last + 1, width };
    grow_down(&text, &rows, &mut block, rows.len());
    block.to -= trailing(&text, block.rows(&rows), &extent.columns);
    let behind = &rows[block.to..];
    if behind.len() <= LAST_ROWS {
        detected.last_rows = behind.len();
        detected.footers = lines(&text, behind.iter());
        detected.footers.iter_mut().for_each(|line| line.line = None);
    }
}
