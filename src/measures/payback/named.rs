//! What proposals take from the results of other questions.

use std::collections::BTreeMap;

use super::flows::{CarrierExcess, Experience, StepHazard};
use crate::derive::counts::carrier_trials;
use crate::derive::{CarrierKind, TrialCell};
use crate::measures::actions::{self, Moves, Reading};
use crate::measures::carriers::Carrier;
use crate::measures::evidence::Evidence;
use crate::measures::{Flag, carriers, entry};
use crate::stats::quantile::normal_quantile;

/// Kinds of carrier whose dirt is on an end face.
pub const DIRTY_ENDS: [Carrier; 2] = [Carrier::EndFace, Carrier::ToolSoiling];
/// The kind whose dirt is left in a cycle.
pub const DIRTY_CYCLES: [Carrier; 1] = [Carrier::ToolCleaning];

/// Hazards by step. A row without an estimate, or of several steps together, is no step. Where both fits tell one, the
/// middle of both within the outermost of their limits: the raw fit alone takes false alarms for dirt.
pub fn entry_hazards(table: &entry::Table) -> Vec<StepHazard> {
    let less = |row: &entry::Row| {
        let mut rows = table.rows_of(entry::By::Step, entry::Quantity::EntryLessAlarms);
        let same =
            |other: &&entry::Row| other.own.steps == row.own.steps && other.own.reason.is_none();
        let own = rows.find(same)?.own.clone();
        Some([own.hazard?, own.hazard_low.unwrap_or(0.0), own.hazard_high?].map(Some))
    };
    let step = |row: &entry::Row| {
        let single = row.own.reason.is_none() && row.estimate.is_some();
        let hazard = row.own.hazard.filter(|_| single)?;
        let raw = [hazard, row.own.hazard_low.unwrap_or(0.0), row.own.hazard_high?].map(Some);
        let [Some(hazard), Some(low), Some(high)] = entry::bracket(raw, less(row)) else {
            return None;
        };
        Some(StepHazard {
            from: row.own.from.clone()?,
            to: row.group.stage.clone()?,
            hazard,
            low,
            high,
            flags: row.flags.clone(),
        })
    };
    table.rows_of(entry::By::Step, entry::Quantity::Entry).filter_map(step).collect()
}

/// Where a carrier was used: site, stage, and the part of its trials that were there.
pub type Used = Vec<(String, String, f64)>;

/// Codes of a site and a stage, and the trials there.
type Trials = (u32, u32, i64);

/// Where carriers were used, by kind, name, and site where all their trials were at one.
#[derive(Clone, Debug, Default)]
pub struct CarriersUsed(pub BTreeMap<(Carrier, String, Option<String>), Used>);

impl CarriersUsed {
    /// Of every end face and tool with trials.
    pub fn of(evidence: &Evidence) -> CarriersUsed {
        let counts = &evidence.derived.counts.carriers;
        let glossary = &evidence.derived.glossary;
        let mut found = CarriersUsed::default();
        for face in &counts.faces {
            let name = evidence.face_name(face.key);
            let at = |(cell, row): &(TrialCell, carrier_trials::Row)| -> Trials {
                (cell.site, cell.stage.into(), row.trials)
            };
            found.add(evidence, Carrier::EndFace, name, face.cells.iter().map(at).collect());
        }
        let mut tools: BTreeMap<(bool, u32), Vec<Trials>> = BTreeMap::new();
        for (cell, row) in counts.trials.cells() {
            let of_cycles = match cell.kind {
                CarrierKind::ToolCleaning => true,
                CarrierKind::ToolSoiling => false,
                _ => continue,
            };
            let own = tools.entry((of_cycles, cell.entity.0)).or_default();
            own.push((cell.site.0, cell.stage.0, row.trials));
        }
        for ((of_cycles, code), cells) in tools {
            let kind = if of_cycles { Carrier::ToolCleaning } else { Carrier::ToolSoiling };
            found.add(evidence, kind, glossary.device.0.word(code).to_owned(), cells);
        }
        found
    }

    fn add(&mut self, evidence: &Evidence, kind: Carrier, name: String, cells: Vec<Trials>) {
        let glossary = &evidence.derived.glossary;
        let all: i64 = cells.iter().map(|(_, _, trials)| trials).sum();
        let (Some((first, ..)), true) = (cells.first(), all > 0) else { return };
        let one_site = cells.iter().all(|(site, ..)| site == first);
        let site = one_site.then(|| glossary.site.0.word(*first).to_owned());
        let mut parts: BTreeMap<(String, String), f64> = BTreeMap::new();
        for (site, stage, trials) in &cells {
            let (site, stage) = (glossary.site.0.word(*site), glossary.stage.0.word(*stage));
            let part = parts.entry((site.to_owned(), stage.to_owned())).or_default();
            *part += *trials as f64 / all as f64;
        }
        let used = parts.into_iter().map(|((site, stage), part)| (site, stage, part)).collect();
        self.0.insert((kind, name, site), used);
    }

    /// Of a row of the table of carriers.
    fn of_row(&self, row: &carriers::Row) -> Option<&Used> {
        self.0.get(&(row.own.kind?, row.own.entity.clone()?, row.group.site.clone()))
    }
}

/// What the listed carriers pass on beyond others, where they were used.
///
/// The excess is of the ratio drawn towards 1, since the largest of many is too large by chance; where a carrier stands alone
/// among many that are clean it is drawn too far, so that its upper limit reaches as much further as it was drawn. Its
/// limits are those of a count, which scatters more than dirty results of so many trials by the share of these that are
/// clean, and less than where those of a work order are alike. What an end face touched is counted, whether or not somebody
/// looked before and after: only what was looked at is a trial.
pub fn carrier_excess(
    table: &carriers::Table,
    used: &CarriersUsed,
    level: f64,
) -> Vec<CarrierExcess> {
    let reach = normal_quantile(level);
    let excess = |row: &carriers::Row| {
        let expected = carriers::expected_of_others(table, row)?;
        let ratio = row.own.shrunken?;
        let [low, high] = [row.own.shrunken_low?, row.own.shrunken_high?];
        let clean = (row.n - row.events? as f64 + 1.0) / (row.n + 2.0);
        let scatter = (clean * row.own.dispersion.unwrap_or(1.0)).sqrt();
        let drawn = (row.estimate? - ratio).max(0.0);
        Some(CarrierExcess {
            kind: row.own.kind?,
            used: used.of_row(row)?.clone(),
            excess: expected * (ratio - 1.0),
            below: expected * (ratio - low) * scatter / reach,
            above: expected * ((high - ratio) * scatter + drawn) / reach,
        })
    };
    table.listed().filter_map(excess).collect()
}

/// What went with the actions: by name, the effect that a proposal of the same kind is judged by. An action begun after a bad
/// quarter counts without that quarter; one whose estimate has another flag, or no limits, has none.
pub fn experiences(table: &actions::Table) -> Vec<Experience> {
    let of = |row: &actions::Row| {
        let chosen = row.flags.contains(&Flag::ChosenWhenBad);
        let row = if chosen { table.reading(row, Reading::WithoutQuarter)? } else { row };
        let before = row.own.before.filter(|_| row.is_firm())?;
        let since = [row.low?, row.estimate?, row.high?].map(|change| before + change);
        let share = |share: f64| share.clamp(1e-6, 1.0 - 1e-6);
        let odds = |of: f64| share(of) / (1.0 - share(of));
        let mut range = since.map(|since| match row.own.moves {
            Some(Moves::Skipped) => Some((1.0 - since).clamp(0.0, 1.0)),
            Some(Moves::PassedFirstCycle) => Some(odds(since) / odds(before)),
            // What is clean at arrival is exp(-hazard).
            Some(Moves::FirstPass) => Some(share(since).ln() / share(before).ln()),
            Some(Moves::LinkedFaults) | None => None,
        });
        range.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
        let [low, value, high] = range;
        Some(Experience {
            action: row.own.action.clone()?,
            moves: row.own.moves?,
            range: [low?, value?, high?],
        })
    };
    table.leading_rows().filter_map(of).collect()
}
