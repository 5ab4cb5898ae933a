//! Where the text of a canonical column comes from: a cell, several joined or composed, the results of zones.

use crate::tabular::Cells;

/// Where the text of a column comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Input {
    Cell(usize),
    /// Joined by one space, empty ones left out.
    Cells(Vec<usize>),
    /// Composed of these pieces; the cells among them. Nothing is given unless all of them are.
    Formed(Vec<Formed>, Vec<usize>),
    /// Of results a zone each, the one that decides.
    Decided(Box<Results>),
    /// Of results a zone each, the innermost zone that failed.
    Failed(Box<Results>),
    /// The same for every row.
    Constant(String),
    /// Another part fills this column.
    Nothing,
}

/// A piece of a composed text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Formed {
    Text(String),
    Cell(usize),
}

/// The results of the zones of one look.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Results {
    /// The innermost first.
    pub zones: Vec<String>,
    pub cells: Vec<usize>,
    /// Words of cells that mean each outcome: failed, unreadable, passed.
    pub words: [Vec<String>; 3],
}

impl Input {
    /// The cells that it is made of.
    pub fn cells(&self) -> &[usize] {
        match self {
            Input::Cell(cell) => std::slice::from_ref(cell),
            Input::Cells(cells) | Input::Formed(_, cells) => cells,
            Input::Decided(results) | Input::Failed(results) => &results.cells,
            Input::Constant(_) | Input::Nothing => &[],
        }
    }
}

impl Results {
    /// The cell that decides about the look: one whose word nobody knows, which the row's reader then refuses, else a
    /// failed one, else an unreadable one, else a passed one.
    fn deciding<'t>(&self, cells: &Cells<'t>, nulls: &[String]) -> &'t str {
        let mut best: Option<(usize, &'t str)> = None;
        for cell in &self.cells {
            let text = cells.get(*cell);
            if is_null(text, nulls) {
                continue;
            }
            let known = self.words.iter().position(|words| words.iter().any(|word| word == text));
            let rank = known.map_or(0, |at| at + 1);
            if best.is_none_or(|(least, _)| rank < least) {
                best = Some((rank, text));
            }
        }
        best.map_or("", |(_, text)| text)
    }

    fn failed(&self, cells: &Cells) -> &str {
        let [failed, ..] = &self.words;
        let is_failed = |cell: &usize| failed.iter().any(|word| word == cells.get(*cell));
        let at = self.cells.iter().position(is_failed);
        at.and_then(|at| self.zones.get(at)).map_or("", String::as_str)
    }
}

/// Whether a trimmed text means that nothing is given.
pub fn is_null(text: &str, nulls: &[String]) -> bool {
    text.is_empty() || nulls.iter().any(|null| null == text)
}

/// The text of a row.
pub fn text<'t>(
    input: &'t Input,
    cells: &Cells<'t>,
    nulls: &[String],
    joined: &'t mut String,
) -> &'t str {
    match input {
        Input::Cell(index) => cells.get(*index),
        Input::Cells(indices) => {
            joined.clear();
            for part in indices.iter().map(|index| cells.get(*index)) {
                if !is_null(part, nulls) {
                    joined.push_str(if joined.is_empty() { "" } else { " " });
                    joined.push_str(part);
                }
            }
            joined
        }
        Input::Formed(pieces, of) => {
            joined.clear();
            // A name without one of its parts would be another's.
            if of.iter().any(|cell| is_null(cells.get(*cell), nulls)) {
                return joined;
            }
            for piece in pieces {
                joined.push_str(match piece {
                    Formed::Text(text) => text,
                    Formed::Cell(cell) => cells.get(*cell),
                });
            }
            joined
        }
        Input::Decided(results) => results.deciding(cells, nulls),
        Input::Failed(results) => results.failed(cells),
        Input::Constant(text) => text,
        Input::Nothing => "",
    }
}
