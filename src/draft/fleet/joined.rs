//! How names that several columns make are joined: as other exports of the fleet write them.

use std::collections::BTreeSet;

use super::group::Group;
use crate::draft::drafted::Drafted;
use crate::draft::ends::END_FACES;
use crate::draft::mapped::Mapped;
use crate::draft::page::Standing;
use crate::draft::rows::SampleRows;

/// What may stand between the parts of a name; of equals the first.
const JOINERS: [&str; 7] = ["-", "/", ".", "_", ":", " ", ""];
/// Most names of an export that are compared.
const MOST_NAMES: usize = 50_000;

/// Names of end faces that stand in one column, by export.
pub fn whole_names(groups: &[Group], drafts: &[Drafted]) -> Vec<BTreeSet<String>> {
    let names = |(group, draft): (&Group, &Drafted)| {
        let mut names = BTreeSet::new();
        let mapped = draft.parts.iter().flat_map(|part| &part.mapped);
        for one in mapped.filter(|one| END_FACES.contains(&one.column.name) && one.names.len() == 1)
        {
            let rows = group.rows.of(&[&one.names[0]]);
            names.extend(rows.iter().take(MOST_NAMES).map(|row| row[0].to_owned()));
        }
        names
    };
    groups.iter().zip(drafts).map(names).collect()
}

/// Writes composed names as `others` write theirs, where one way makes names meet.
pub fn join(draft: &mut Drafted, rows: &SampleRows, others: &[&BTreeSet<String>]) {
    let mapped = draft.parts.iter_mut().flat_map(|part| &mut part.mapped);
    // What was answered stands as it is.
    let is_open = |one: &&mut Mapped| one.names.len() > 1 && one.standing != Standing::Sure;
    for one in mapped.filter(|one| END_FACES.contains(&one.column.name)).filter(is_open) {
        let names: Vec<&str> = one.names.iter().map(String::as_str).collect();
        let cells = rows.of(&names);
        let met = |joiner: &str| {
            let is_met = |row: &&Vec<&str>| {
                let name = row.join(joiner);
                others.iter().any(|names| names.contains(&name))
            };
            cells.iter().filter(is_met).count()
        };
        let counts: Vec<(usize, &str)> =
            JOINERS.iter().map(|joiner| (met(joiner), *joiner)).collect();
        let Some((count, joiner)) = counts.iter().rev().max_by_key(|(count, _)| *count) else {
            continue;
        };
        if *count == 0 || one.form.is_none() {
            continue;
        }
        let pieces: Vec<String> = one.names.iter().map(|name| format!("{{{name}}}")).collect();
        one.form = Some(pieces.join(joiner));
        if let Standing::Proposed(question) = &mut one.standing {
            question.evidence += &format!(
                "; written as {}, {count} of {} rows name an end face of another export",
                one.form.as_deref().unwrap_or_default(),
                cells.len()
            );
        }
    }
}
