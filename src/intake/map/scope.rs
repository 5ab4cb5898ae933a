//! What a whole record must have beyond each of its columns: the keys of R1, the order of its
//! times, and the finding that a source's settings put in (R5).

use crate::intake::columns::batch::{Slot, TableBatch};
use crate::intake::reject::reason::Fault;
use crate::records::{Outcome, Side, Table};
use crate::settings::Source;

/// Checks the record filled last.
#[derive(Debug)]
pub struct Scope<'a> {
    both_sides: bool,
    finding_default: Option<&'a str>,
    end_face: Slot,
    side: Slot,
    mating: Slot,
    ends: [Slot; 2],
    at: Slot,
    demated_at: Slot,
    outcome: Slot,
    finding: Slot,
}

impl<'a> Scope<'a> {
    /// Prepares for the columns of a batch.
    pub fn of(source: &'a Source, batch: &TableBatch) -> Self {
        Self {
            both_sides: source.one_name_both_sides,
            finding_default: source.finding_default.as_deref(),
            end_face: batch.slot("end_face"),
            side: batch.slot("side"),
            mating: batch.slot("mating"),
            ends: [batch.slot("end_face_a"), batch.slot("end_face_b")],
            at: batch.slot("at"),
            demated_at: batch.slot("demated_at"),
            outcome: batch.slot("outcome"),
            finding: batch.slot("finding"),
        }
    }

    /// Checks the keys and fills in the finding, unless there was one that could not be read.
    ///
    /// # Errors
    /// [`Fault`] with the canonical column that is missing.
    pub fn settle(&self, batch: &mut TableBatch, finding_lost: bool) -> Result<(), Fault> {
        match batch.table {
            Table::Matings => self.mating(batch),
            Table::Faults => self.fault(batch),
            Table::Inspections => {
                self.needs_side(batch)?;
                if !finding_lost {
                    self.fill_finding(batch);
                }
                Ok(())
            }
            Table::EndFaces | Table::Cleanings => self.needs_side(batch),
        }
    }

    fn needs_side(&self, batch: &TableBatch) -> Result<(), Fault> {
        if self.both_sides && !given(batch, self.side) {
            return Err(fault("side", side_missing("")));
        }
        Ok(())
    }

    fn mating(&self, batch: &TableBatch) -> Result<(), Fault> {
        if !self.ends.iter().any(|end| given(batch, *end)) {
            return Err(fault(
                "end_face_a",
                "is empty, and end_face_b too; expected the name of at least one end".to_owned(),
            ));
        }
        let (Slot::Time(at), Slot::Time(demated_at)) = (self.at, self.demated_at) else {
            return Ok(());
        };
        let times = (batch.times[at].last(), batch.times[demated_at].last());
        let (Some((mated, _)), Some((demated, _))) = times else {
            return Ok(());
        };
        // A demating known to the day may be any moment of it.
        if demated < mated && batch.times[demated_at].last_until() <= mated {
            return Err(fault(
                "demated_at",
                "found a demating before the mating, expected it after; correct one of the times"
                    .to_owned(),
            ));
        }
        Ok(())
    }

    fn fault(&self, batch: &TableBatch) -> Result<(), Fault> {
        // A ticket that names neither is a fault that happened: unattached, and counted (F2).
        let names_face_alone = !given(batch, self.mating) && given(batch, self.end_face);
        if names_face_alone && self.both_sides && !given(batch, self.side) {
            return Err(fault("side", side_missing(", or a mating")));
        }
        Ok(())
    }

    /// R5: a failing look without a finding means what the source says.
    fn fill_finding(&self, batch: &mut TableBatch) {
        let (Some(word), Slot::Words(outcome), Slot::Words(finding)) =
            (self.finding_default, self.outcome, self.finding)
        else {
            return;
        };
        let fails = batch.words[outcome].last() == Some(Outcome::Fail.word());
        let words = &mut batch.words[finding];
        if fails && words.keys.last().is_none() {
            let key = words.dictionary.key(word);
            words.keys.replace_last(key);
        }
    }
}

fn side_missing(instead: &str) -> String {
    format!(
        "is empty; expected one of {}{instead}, since one name covers both sides in this source",
        Side::WORDS.join(", ")
    )
}

fn fault(column: &str, reason: String) -> Fault {
    Fault { column: Some(column.to_owned()), reason }
}

/// Whether the last row gives a value.
fn given(batch: &TableBatch, slot: Slot) -> bool {
    match slot {
        Slot::Text(at) => batch.texts[at].last().is_some(),
        Slot::Words(at) => batch.words[at].keys.last().is_some(),
        _ => false,
    }
}
