//! Turns visits and exposures into trials (5.7): counts them by cell, and spills them to where
//! their work orders and end faces are put together.

use std::path::Path;

use super::carrier_counts::CarrierCounts;
use super::cluster_counts::MOST_CYCLES;
use super::tally::{Tallying, is_routine};
use crate::derive::DeriveError;
use crate::derive::carriers::trial::{FaceTrial, OrderTrial, TrialCell, carrier, cluster};
use crate::derive::face::visit::{Failing, Look, Visit};
use crate::derive::mating::exposure::{Exposure, Later};
use crate::derive::scan::read_once::Spread;
use crate::store::{Buckets, Spill};

/// Where trials go that are put together later.
pub struct TrialSpills {
    spread: Spread,
    orders: Spill<OrderTrial>,
    faces: Spill<FaceTrial>,
    failure: Option<DeriveError>,
}

impl TrialSpills {
    /// Empty ones.
    pub fn new(folder: &Path, spread: Spread) -> Result<TrialSpills, DeriveError> {
        let (orders, faces) =
            (Spill::new(folder, spread.faces())?, Spill::new(folder, spread.faces())?);
        Ok(TrialSpills { spread, orders, faces, failure: None })
    }

    fn order(&mut self, trial: &OrderTrial) {
        // Multiplied so that neighbouring orders go to different buckets (Knuth 1973, 6.4).
        let bucket = trial.order.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 32;
        if let Err(error) = self.orders.push(bucket as usize, trial) {
            self.failure.get_or_insert(error.into());
        }
    }

    fn face(&mut self, trial: &FaceTrial) {
        if let Err(error) = self.faces.push(self.spread.face(trial.face.high), trial) {
            self.failure.get_or_insert(error.into());
        }
    }

    /// Closes them.
    pub fn finish(self) -> Result<(Buckets<OrderTrial>, Buckets<FaceTrial>), DeriveError> {
        match self.failure {
            Some(failure) => Err(failure),
            None => Ok((self.orders.finish()?, self.faces.finish()?)),
        }
    }
}

/// One trial and the codes of who made it, by kind; 0 where not known.
struct Trial {
    cell: TrialCell,
    order: u64,
    dirty: bool,
    made_by: [(u8, u32); 2],
}

impl Trial {
    /// Counts it; `kinds` are further kinds that count it, a bit each.
    fn count(&self, mut kinds: u8, counts: &mut CarrierCounts, spills: &mut TrialSpills) {
        let row = [1, i64::from(self.dirty)];
        for (kind, code) in self.made_by.into_iter().filter(|(_, code)| *code != 0) {
            kinds |= 1 << kind;
            let [kind, stage, family, side, site, method, cycle] = self.cell.of_kind(kind);
            let cell = [kind, code, stage, family, side, site, method, cycle];
            counts.trials.add(Some(cell), row);
        }
        if kinds != 0 {
            let (order, cell, dirty) = (self.order, self.cell, self.dirty.into());
            spills.order(&OrderTrial { order, cell, kinds, dirty, ..OrderTrial::default() });
        }
    }
}

/// Counts what one visit tells of instruments, suppliers and tools.
pub fn tally_visit_trials(
    visit: &Visit,
    with: &Tallying,
    counts: &mut CarrierCounts,
    spills: &mut TrialSpills,
) {
    if with.look_back_piece(visit.start).is_none() || visit.face.is_sealed() {
        return;
    }
    let half = (visit.work_order >> 32) as u32 ^ visit.work_order as u32;
    let order = cluster(visit.site, half, || with.calendar.days.piece(visit.start));
    let cell = TrialCell {
        site: visit.site,
        family: visit.face.family,
        stage: visit.stage,
        side: visit.face.side,
        ..TrialCell::default()
    };
    if let Some(dirty) = visit.first.and_then(is_dirty).filter(|_| is_routine(visit)) {
        // A supplier answers for how an end face first came, not for what was done to it since.
        let supplier = if visit.first_recorded { visit.face.supplier } else { 0 };
        let made_by = [(carrier::INSTRUMENT, visit.instrument), (carrier::SUPPLIER, supplier)];
        Trial { cell, order, dirty, made_by }.count(0, counts, spills);
    }
    for (number, cycle) in (1..).zip(&visit.cycles).filter(|(_, cycle)| cycle.tool != 0) {
        let Some(dirty) = is_dirty(cycle.closed_by) else { continue };
        // Nobody knows whether an end cleaned unseen was dirty: such cycles are alike only among
        // themselves.
        let unseen = number == 1 && visit.cleaned_unseen();
        let number = if unseen { 0 } else { u32::min(number, MOST_CYCLES) };
        let kind = match cycle.began_clean {
            true => carrier::TOOL_SOILING,
            false => carrier::TOOL_CLEANING,
        };
        let cell = TrialCell { method: cycle.method, cycle: number as u8, ..cell };
        let made_by = [(kind, cycle.tool), (0, 0)];
        Trial { cell, order, dirty, made_by }.count(0, counts, spills);
    }
}

/// Whether a look found dirt; none where it failed for another reason, or nobody wrote which.
fn is_dirty(look: Look) -> Option<bool> {
    match look {
        Look::Pass => Some(false),
        Look::Fail(Failing::Contamination) => Some(true),
        Look::Fail(Failing::Defect | Failing::Unknown) => None,
    }
}

/// Places in `FATES`.
fn fate(exposure: &Exposure) -> u32 {
    match exposure.later {
        later if later.is_look() && exposure.prompted => 2,
        Later::Clean => 0,
        Later::Contaminated => 1,
        Later::OtherFail => 3,
        Later::CleanedUnseen => 4,
        Later::MatedAgain | Later::Nothing => 5,
    }
}

/// Counts what one exposure tells of the other end and of who made the mating.
pub fn tally_exposed(
    exposure: &Exposure,
    with: &Tallying,
    counts: &mut CarrierCounts,
    spills: &mut TrialSpills,
) {
    let (quarter, fate) = (with.look_back_piece(exposure.at), fate(exposure));
    counts.exposures.add(quarter.map(|quarter| [quarter, fate]), [1]);
    if quarter.is_none() || fate > 1 {
        return;
    }
    let dirty = fate == 1;
    let cell = TrialCell {
        site: exposure.site,
        family: exposure.family,
        stage: exposure.stage,
        side: exposure.side,
        ..TrialCell::default()
    };
    let day = || with.calendar.days.piece(exposure.at);
    let order = cluster(exposure.site, exposure.work_order, day);
    let mut kinds = 0;
    if exposure.other.is_known() {
        kinds |= 1 << carrier::END_FACE;
        counts.cells.add(Some(cell.of_kind(carrier::END_FACE)), [1, dirty.into()]);
        spills.face(&FaceTrial {
            face: exposure.other,
            partner: exposure.partner,
            cell,
            dirty: dirty.into(),
            ..FaceTrial::default()
        });
    }
    let made_by = [(carrier::OPERATOR, exposure.operator), (0, 0)];
    Trial { cell, order, dirty, made_by }.count(kinds, counts, spills);
}
