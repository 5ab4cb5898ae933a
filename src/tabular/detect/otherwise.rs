//! Rows that are written with another separator than their table.

use super::columns::Columns;
use super::kind::Kind;
use crate::settings::Separator;
use crate::tabular::text::cut::plain;
use crate::tabular::text::marks::{Cell, Marks};
use crate::tabular::text::mend::mended;
use crate::tabular::text::take::{Behind, take};

/// Separators that a single row may have.
const OTHERS: [u8; 5] = [b',', b';', b'\t', b'|', b' '];

/// Reads a row that its table's separator does not cut into `columns.width` cells with another one,
/// if that gives as many and they look like the columns or like names of them.
pub fn reread(bytes: &[u8], marks: &Marks, columns: &Columns) -> Option<(Separator, Vec<Vec<u8>>)> {
    OTHERS.into_iter().map(Separator::Byte).find_map(|separator| {
        if separator == marks.separator {
            return None;
        }
        let other = Marks { separator: separator.clone(), ..marks.clone() };
        let cells = texts(bytes, &other).filter(|cells| cells.len() == columns.width)?;
        looks_right(&cells, columns).then_some((separator, cells))
    })
}

/// The texts of a row of which every separator has a blank behind it, which is none of the text.
fn spaced(bytes: &[u8], cells: &[Cell], marks: &Marks) -> Option<(Separator, Vec<Vec<u8>>)> {
    let Separator::Byte(separator @ 33..=126) = marks.separator else {
        return None;
    };
    let quoted = |cell: &Cell| cell.start > 0 && marks.quote == Some(bytes[cell.start - 1]);
    let behind_blank = |cell: &Cell| {
        let at = if quoted(cell) { cell.start.checked_sub(2) } else { Some(cell.start) };
        at.and_then(|at| bytes.get(at)) == Some(&b' ')
    };
    if cells.len() < 3 || !cells[1..].iter().all(behind_blank) {
        return None;
    }
    let text = |(place, cell): (usize, &Cell)| {
        let blank = usize::from(place > 0 && !quoted(cell));
        bytes[cell.start + blank..cell.end].to_vec()
    };
    let both = String::from_utf8(vec![separator, b' ']).ok()?;
    Some((Separator::Text(both.into()), cells.iter().enumerate().map(text).collect()))
}

fn texts(bytes: &[u8], marks: &Marks) -> Option<Vec<Vec<u8>>> {
    let (mut bytes, mut cells) = (bytes.to_vec(), Vec::new());
    let taken = take(&bytes, Behind::Nothing, marks, &mut cells)?;
    if taken.fault.is_some() || taken.next < bytes.len() {
        return None;
    }
    plain(&mut bytes, marks, &mut cells);
    Some(cells.iter().map(|cell| bytes[cell.start..cell.end].to_vec()).collect())
}

fn looks_right(cells: &[Vec<u8>], columns: &Columns) -> bool {
    let (mut alike, mut names, mut others) = (0, 0, 0);
    for (column, cell) in cells.iter().enumerate() {
        let Some(hard) = columns.hard(column) else { continue };
        match Kind::of(cell).broad() {
            Kind::Empty => {}
            kind if kind == hard => alike += 1,
            Kind::Word => names += 1,
            _ => others += 1,
        }
    }
    let named = alike == 0 && names > 0 && others == 0 && cells.iter().all(|cell| !cell.is_empty());
    named || alike > 0 && alike >= 3 * (names + others)
}

/// How a row's cells were come by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum How {
    /// As the strict reader cuts it.
    Plain,
    /// With another separator.
    Otherwise(Separator),
    /// As a careful person would: the strict reader refuses it.
    Mended,
}

/// The texts of a row that was cut into `cells`, or refused if `faulty`.
pub fn as_read(
    bytes: &[u8],
    cells: &[Cell],
    faulty: bool,
    marks: &Marks,
    columns: &Columns,
) -> (Vec<Vec<u8>>, How) {
    let plain = || cells.iter().map(|cell| bytes[cell.start..cell.end].to_vec()).collect();
    if !faulty && cells.len() == columns.width {
        return match spaced(bytes, cells, marks) {
            Some((separator, texts)) => (texts, How::Otherwise(separator)),
            None => (plain(), How::Plain),
        };
    }
    if let Some((separator, texts)) = reread(bytes, marks, columns) {
        return (texts, How::Otherwise(separator));
    }
    if faulty { (mended(bytes, marks, columns.width), How::Mended) } else { (plain(), How::Plain) }
}
