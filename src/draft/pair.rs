//! Rows that name two end faces, one record each: columns `... A` and `... B`.

use super::choice::Candidate;
use super::ends::ENDS;
use super::name::{Clarity, Name};
use crate::records::{Column, Table, columns};

/// The two columns of end faces.
#[derive(Clone, Debug)]
pub struct Pair {
    /// Their names, first end first.
    pub columns: [String; 2],
    ends: [&'static str; 2],
}

/// The pair, if the table's records have one end face and the export names two.
pub fn pair(table: Table, candidates: &[Candidate]) -> Option<Pair> {
    if !matches!(table, Table::Inspections | Table::Cleanings | Table::EndFaces) {
        return None;
    }
    let end_face = columns(table).iter().find(|column| column.name == "end_face")?;
    ENDS.iter().find_map(|ends| {
        let [first, second] = ends.map(|end| named(table, end_face, end, candidates));
        let columns = [first?.profile.name.clone(), second?.profile.name.clone()];
        Some(Pair { columns, ends: *ends })
    })
}

/// The column that is clearly an end face once the word for the end is left out.
fn named<'c, 'p>(
    table: Table,
    column: &Column,
    end: &str,
    candidates: &'c [Candidate<'p>],
) -> Option<&'c Candidate<'p>> {
    candidates.iter().find(|candidate| {
        let name = base(&candidate.name, end);
        name.is_some_and(|name| name.clarity(table, column) == Some(Clarity::Exact))
    })
}

/// The name without the word for that end, which stands first or last in it.
fn base(name: &Name, end: &str) -> Option<Name> {
    let tokens = name.tokens();
    let last = tokens.len().checked_sub(1).filter(|last| *last > 0)?;
    [last, 0].into_iter().find(|place| tokens[*place] == end).map(|place| name.without(place))
}

/// The candidates of a table whose records have one end face, where only one of two named ends is left: its name
/// without the word for the end.
pub fn alone<'p>(table: Table, candidates: Vec<Candidate<'p>>) -> Vec<Candidate<'p>> {
    let one_end = matches!(table, Table::Inspections | Table::Cleanings | Table::EndFaces);
    if !one_end || pair(table, &candidates).is_some() {
        return candidates;
    }
    let Some(end_face) = columns(table).iter().find(|column| column.name == "end_face") else {
        return candidates;
    };
    let plain = |one: &Candidate| {
        let mut names = ENDS.iter().filter_map(|ends| base(&one.name, ends[0]));
        names.find(|name| name.clarity(table, end_face) == Some(Clarity::Exact))
    };
    let named = |one: Candidate<'p>| match plain(&one) {
        Some(name) => Candidate { name, ..one },
        None => one,
    };
    candidates.into_iter().map(named).collect()
}

impl Pair {
    /// The columns of one end (0 or 1), named without the word for it, and those of neither.
    pub fn side<'p>(&self, end: usize, candidates: &[Candidate<'p>]) -> Vec<Candidate<'p>> {
        let (own, other) = (self.ends[end], self.ends[1 - end]);
        let has = |name: &Name, end: &str| base(name, end).is_some();
        let twin = |name: &Name| {
            let base = base(name, other);
            base.is_some_and(|base| {
                candidates.iter().any(|candidate| {
                    let own = self::base(&candidate.name, own);
                    own.is_some_and(|own| own.tokens() == base.tokens())
                })
            })
        };
        candidates
            .iter()
            .filter(|candidate| !(has(&candidate.name, other) && twin(&candidate.name)))
            .map(|candidate| Candidate {
                profile: candidate.profile,
                name: base(&candidate.name, own).unwrap_or_else(|| candidate.name.clone()),
            })
            .collect()
    }
}
