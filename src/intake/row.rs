//! One row: all of its records, or the one reason why it has none.

use super::map::applied::{Map, Part, Target};
use super::map::when::{Condition, no_part};
use super::people::names::Watch;
use super::reject::losses::Losses;
use super::reject::reason::Fault;
use crate::tabular::Cells;

/// Why a row is rejected, and the table of the part at fault; empty where none took the row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    pub table: &'static str,
    pub fault: Fault,
}

/// Types a row by every part that takes it. Either all of its records stand in the targets, still
/// to be kept, or the row is refused and the targets must be cut back.
///
/// `ordinal` is the row's place in the export, from 0; `joined` is room for joined cells.
///
/// # Errors
/// [`Refusal`] with the first fault.
pub fn type_row(
    map: &mut Map,
    cells: &Cells,
    ordinal: u64,
    joined: &mut String,
) -> Result<(), Refusal> {
    let mut taken = false;
    for part in &mut map.parts {
        let holds = |condition: &Condition| condition.holds(cells, map.nulls);
        if !part.condition.as_ref().is_none_or(holds) {
            continue;
        }
        taken = true;
        let target = &mut map.targets[part.target];
        let table = target.batch.table.name();
        let notes = (&mut map.watch, &mut map.losses);
        type_record(part, target, (cells, map.nulls), ordinal, joined, notes)
            .map_err(|fault| Refusal { table, fault })?;
    }
    if taken {
        return Ok(());
    }
    let conditions = map.parts.iter().filter_map(|part| part.condition.as_ref());
    let reason = no_part(conditions, cells, &mut map.watch);
    Err(Refusal { table: "", fault: Fault { column: None, reason } })
}

fn type_record(
    part: &mut Part,
    target: &mut Target,
    (cells, nulls): (&Cells, &[String]),
    ordinal: u64,
    joined: &mut String,
    (watch, losses): (&mut Watch, &mut Losses),
) -> Result<(), Fault> {
    let batch = &mut target.batch;
    let lost_before = losses.count();
    for field in &mut part.fields {
        field.fill(cells, nulls, joined, batch, (watch, losses))?;
    }
    let seq_given = match &mut part.seq {
        Some(field) => field.fill(cells, nulls, joined, batch, (watch, losses))?,
        None => false,
    };
    if let Some(seq) = target.seq
        && !seq_given
    {
        let ordinal = i64::try_from(ordinal).expect("no file has 2^63 rows");
        match part.seq {
            Some(_) => batch.numbers[seq].replace_last(ordinal),
            None => batch.numbers[seq].push(Some(ordinal)),
        }
    }
    target.scope.settle(batch, losses.has("finding", lost_before))?;
    let identity = target.fingerprints.take(batch, seq_given);
    batch.identify(identity, ordinal);
    Ok(())
}
