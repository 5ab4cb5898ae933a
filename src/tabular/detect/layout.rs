//! Which rows of a text make tables.

use super::apart::goes_on;
use super::columns::Columns;
use super::otherwise::reread;
use super::seen::{Seen, Text};

/// Rows in a row of one width that are a table of their own next to one of another width.
const OWN_TABLE: usize = 3;

/// Rows of a table that tell its width.
const USUAL: usize = 1_000;
/// Rows above the first two alike ones that are tried.
const ABOVE: usize = 64;

/// Rows `from` to before `to` are one table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Block {
    pub from: usize,
    pub to: usize,
    pub width: usize,
}

impl Block {
    /// The rows of it.
    pub fn rows<'a>(&self, rows: &'a [Seen]) -> &'a [Seen] {
        &rows[self.from..self.to]
    }
}

/// The tables of a text, in order. `rows` are all of its rows.
pub fn blocks(text: &Text, rows: &[Seen]) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    let runs = runs(rows);
    for run in runs.iter().filter(|run| run.width > 1 && run.to - run.from > 1) {
        match blocks.last_mut() {
            Some(block) if joins(text, rows, block, run) => {
                block.to = run.to;
                block.width = usual_width(block.rows(rows));
            }
            _ => blocks.push(*run),
        }
    }
    if blocks.is_empty() {
        let widest =
            rows.iter().enumerate().max_by_key(|(place, row)| (row.width, rows.len() - place));
        blocks.extend(widest.map(|(from, row)| Block { from, to: from + 1, width: row.width }));
    }
    let mut split = Vec::new();
    blocks.into_iter().for_each(|block| split_at_headers(text, rows, block, &mut split));
    for place in 0..split.len() {
        let before = if place == 0 { 0 } else { split[place - 1].to };
        let behind = split.get(place + 1).map_or(rows.len(), |next| next.from);
        grow_up(text, rows, &mut split[place], before);
        grow_down(text, rows, &mut split[place], behind);
    }
    split
}

/// Rows of one width without a blank line between them.
fn runs(rows: &[Seen]) -> Vec<Block> {
    let mut runs: Vec<Block> = Vec::new();
    for (place, row) in rows.iter().enumerate() {
        match runs.last_mut() {
            Some(run) if run.width == row.width && !row.gap => run.to = place + 1,
            _ => runs.push(Block { from: place, to: place + 1, width: row.width }),
        }
    }
    runs
}

fn usual_width(rows: &[Seen]) -> usize {
    let mut widths: Vec<(usize, usize)> = Vec::new();
    for row in rows.iter().take(USUAL) {
        let room = widths.len() < 64;
        match widths.iter_mut().find(|(width, _)| *width == row.width) {
            Some((_, count)) => *count += 1,
            None if room => widths.push((row.width, 1)),
            None => {}
        }
    }
    widths.into_iter().max_by_key(|(width, count)| (*count, *width)).map_or(1, |(width, _)| width)
}

/// Whether a run goes on with a table after what stands between them.
fn joins(text: &Text, rows: &[Seen], block: &Block, run: &Block) -> bool {
    let first = &rows[run.from];
    let columns = Columns::of(block.rows(rows).iter().skip(1), block.width);
    let titled = rows[block.to..run.from]
        .iter()
        .any(|row| row.width == 1 && read_again(text, row, &columns).is_none());
    let apart = titled || rows[block.to..=run.from].iter().any(|row| row.gap);
    let again = text.bytes_of(first) == text.bytes_of(&rows[block.from]);
    let votes = columns.votes(first);
    let header = votes.alike == 0 && votes.names > 0;
    if run.width == block.width {
        return !apart || !header && !again;
    }
    let fit = |row: &&Seen| columns.fit_shifted(row);
    let fits = run.rows(rows).iter().take(20).filter(fit).count();
    let seen = (run.to - run.from).min(20);
    !apart && !again && (seen < OWN_TABLE || !header && votes.alike > 0) && 2 * fits > seen
}

/// Cuts a block before every row that can only be the header of another table.
fn split_at_headers(text: &Text, rows: &[Seen], block: Block, split: &mut Vec<Block>) {
    let mut from = block.from;
    let columns = |from: usize| Columns::of(rows[from..block.to].iter().skip(1), block.width);
    let (mut here, mut begun) = (columns(from), false);
    for place in block.from..block.to {
        let row = &rows[place];
        let votes = here.votes(row);
        begun |= votes.alike > 0;
        let header = begun
            && row.width == block.width
            && row.fault.is_none()
            && votes.alike == 0
            && votes.names >= 2
            && 2 * votes.names >= here.hard_ones()
            && place + 1 < block.to
            && text.bytes_of(row) != text.bytes_of(&rows[from]);
        if header {
            split.push(Block { from, to: place, ..block });
            (from, begun) = (place, false);
            here = columns(from);
        }
    }
    split.push(Block { from, ..block });
}

/// Takes in rows above: a header or first rows of another width.
fn grow_up(text: &Text, rows: &[Seen], block: &mut Block, before: usize) {
    let before = before.max(block.from.saturating_sub(ABOVE));
    while block.from > before {
        let columns = Columns::of(block.rows(rows).iter(), block.width);
        let first = &rows[block.from];
        let below = columns.votes(&read_again(text, first, &columns).unwrap_or(*first));
        let above = &rows[block.from - 1];
        let alone = block.to - block.from == 1;
        let rest = first.gap && is_header(&columns, above) && goes_on(text, above, first);
        if !alone && below.alike == 0 && !rest || first.gap && !is_header(&columns, above) {
            return;
        }
        let votes = columns.votes(above);
        let near =
            is_near(above.width, block.width) && (votes.strict == 0 || columns.fit_shifted(above));
        if !near && read_again(text, above, &columns).is_none() {
            return;
        }
        block.from -= 1;
    }
}

/// A row of another width as another separator cuts it.
pub fn read_again(text: &Text, row: &Seen, columns: &Columns) -> Option<Seen> {
    if row.width == columns.width {
        return None;
    }
    let (_, cells) = reread(text.bytes_of(row), text.marks, columns)?;
    Some(row.with_cells(cells.iter().map(Vec::as_slice)))
}

/// A row with names where the columns hold values.
fn is_header(columns: &Columns, row: &Seen) -> bool {
    let votes = columns.votes(row);
    votes.alike == 0 && votes.names > 0 && row.width == columns.width
}

/// Takes in rows below.
pub fn grow_down(text: &Text, rows: &[Seen], block: &mut Block, behind: usize) {
    let columns = Columns::of(block.rows(rows).iter().skip(1), block.width);
    while block.to < behind {
        let row = &rows[block.to];
        let votes = columns.votes(row);
        let like = columns.hard_ones() == 0 || votes.alike > 0;
        let same = row.width == block.width && like && !is_header(&columns, row);
        let uneven = !row.gap
            && is_near(row.width, block.width)
            && columns.fit_shifted(row)
            && 3 * row.filled >= block.width;
        if !same && !uneven && (row.gap || read_again(text, row, &columns).is_none()) {
            return;
        }
        block.to += 1;
    }
}

/// Whether a row of that many cells may have lost or won some.
fn is_near(cells: usize, width: usize) -> bool {
    (width.div_ceil(2).max(2)..=width + width / 2 + 1).contains(&cells)
}
