//! Carriers of dirt (5.7): trials by cell and by who made them, sums over work orders, the end faces with
//! enough trials, and what the most conspicuous of them touched. Visits and exposures become trials here;
//! trials are counted by cell, and spilled to where their work orders and end faces are put together.

use std::path::Path;

use super::cleaning::MOST_CYCLES;
use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::first_pass::VisitRow;
use super::kept::Tallying;
use super::table::{CountTable, beside_tables};
use crate::derive::DeriveError;
use crate::derive::carriers::faces::CarrierFace;
use crate::derive::carriers::touches::TimeLine;
use crate::derive::carriers::trial::{OrderTrial, TrialCell, cluster};
use crate::derive::face::visit::{Look, Visit};
use crate::derive::facts::touch::TouchFact;
use crate::derive::mating::exposure::{Exposure, Later};
use crate::derive::scan::spread::Spread;
use crate::records::{Finding, code_list};
use crate::store::{Buckets, Spill};

code_list! {
    /// What became of ends that were seen clean and then mated.
    Fate {
        Clean = "clean",
        Contaminated = "contaminated",
        /// A fault was behind the look.
        Prompted = "prompted",
        OtherFail = "other-fail",
        CleanedUnseen = "cleaned-unseen",
        NotLookedAt = "not-looked-at",
    }
}

words! { Fate: "What became of an end that was seen clean and then mated."; }

impl Fate {
    fn of_exposure(exposure: &Exposure) -> Fate {
        match exposure.later {
            later if later.is_look() && exposure.prompted => Fate::Prompted,
            Later::Clean => Fate::Clean,
            Later::Contaminated => Fate::Contaminated,
            Later::OtherFail => Fate::OtherFail,
            Later::CleanedUnseen => Fate::CleanedUnseen,
            Later::MatedAgain | Later::Nothing => Fate::NotLookedAt,
        }
    }
}

declare_counts! {
    /// Trials of what has a code (all kinds of carrier but end faces), by its code and cell.
    carrier_trials: CarrierTrials by {
        kind: CarrierKind, entity: Entity, stage: Stage, family: Family, side: EndSide, site: Site,
        method: Method, cycle: CycleNo,
    } counting {
        /// Trials.
        trials: Count,
        /// Trials with a dirty result.
        dirty: Count,
    }

    /// Trials of every kind of carrier by cell, whoever made them.
    carrier_cells: CarrierCells by {
        kind: CarrierKind, stage: Stage, family: Family, side: EndSide, site: Site, method: Method,
        cycle: CycleNo,
    } counting as carrier_trials;

    /// Ends seen clean and then mated, by what became of them.
    exposures: Exposures by { quarter: QuarterNo, fate: Fate } counting {
        /// Ends.
        ends: Count,
    }

    /// Work orders by kind of carrier.
    carrier_orders: CarrierOrders by { kind: CarrierKind } counting {
        /// Work orders.
        orders: Count,
        /// Dirty results of each, squared.
        squares: CountSquared,
    }

    /// Over work orders, by cell (its place among the cells of all kinds).
    carrier_order_cells: CarrierOrderCells by { cell: CellNo } counting {
        /// Dirty results in all cells of the kind times trials in this one.
        dirty_trials: CountSquared,
    }

    /// Over work orders, by two cells of a kind (places, rising or equal). With the two tables before it
    /// gives the scatter of work orders around any expectation.
    carrier_order_pairs: CarrierOrderPairs by { cell: CellNo, other: OtherCellNo } counting {
        /// Product of the trials in the two.
        products: CountSquared,
    }
}

declare_part! {
    /// All that the passes count for 5.7.
    CarrierCounts {
        trials: CountTable<CarrierTrials>,
        cells: CountTable<CarrierCells>,
        exposures: CountTable<Exposures>,
        orders: CountTable<CarrierOrders>,
        order_cells: CountTable<CarrierOrderCells>,
        order_pairs: CountTable<CarrierOrderPairs>,
        /// End faces with enough trials, by key; those with most trials, if there are too many.
        faces: Vec<CarrierFace>,
        /// End faces with a trial.
        faces_seen: i64,
        /// End faces with enough trials.
        faces_enough: i64,
        /// What the most conspicuous end faces touched, by key.
        time_lines: Vec<TimeLine>,
    }
}

beside_tables! {
    Vec<CarrierFace> {
        empty(_listed): Vec::new(),
        merge(own, other): sorted(own, other, |face| face.key)
    }
    Vec<TimeLine> {
        empty(_listed): Vec::new(),
        merge(own, other): sorted(own, other, |line| line.face)
    }
}

/// Both lists as one, by what names their items.
fn sorted<T, K: Ord>(mut own: Vec<T>, other: Vec<T>, key: impl Fn(&T) -> K) -> Vec<T> {
    own.extend(other);
    own.sort_by_key(key);
    own
}

impl CarrierCounts {
    /// Adds up by cell what was counted by entity: once all trials are counted.
    pub fn sum_cells(&mut self) {
        for (cell, row) in self.trials.parts() {
            self.cells.add(Some(cell.without_entity()), row);
        }
        self.cells.settle();
    }
}

impl carrier_trials::Key {
    /// The cell, whoever made its trials.
    pub fn without_entity(self) -> carrier_cells::Key {
        let carrier_trials::Key { kind, entity: _, stage, family, side, site, method, cycle } =
            self;
        carrier_cells::Key { kind, stage, family, side, site, method, cycle }
    }
}

impl TrialCell {
    /// The cell as the count tables have it.
    pub fn of_kind(&self, kind: CarrierKind) -> carrier_cells::Key {
        carrier_cells::Key {
            kind,
            stage: self.stage.into(),
            family: Family(self.family),
            side: EndSide::of_event(self.side),
            site: Site(self.site),
            method: Method(self.method),
            cycle: self.cycle.into(),
        }
    }

    /// The cell of a count table's cell, without its kind. Stages, sides and cycles are small numbers.
    pub fn of_key(key: carrier_cells::Key) -> TrialCell {
        TrialCell {
            site: key.site.0,
            family: key.family.0,
            method: key.method.0,
            stage: key.stage.0 as u8,
            side: key.side as u8,
            cycle: key.cycle.0 as u8,
            padding: 0,
        }
    }
}

/// Where trials go that are put together by work order later.
pub struct OrderTrials {
    orders: Spill<OrderTrial>,
    failure: Option<DeriveError>,
}

impl OrderTrials {
    /// None yet.
    ///
    /// # Errors
    /// A full disk.
    pub fn new(folder: &Path, spread: Spread) -> Result<OrderTrials, DeriveError> {
        Ok(OrderTrials { orders: Spill::new(folder, spread.faces())?, failure: None })
    }

    fn push(&mut self, trial: &OrderTrial) {
        // Multiplied so that neighbouring orders go to different buckets (Knuth 1973, 6.4).
        let bucket = trial.order.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 32;
        if let Err(error) = self.orders.push(bucket as usize, trial) {
            self.failure.get_or_insert(error.into());
        }
    }

    /// Closes them.
    ///
    /// # Errors
    /// What went wrong while they were filled, or a full disk.
    pub fn finish(self) -> Result<Buckets<OrderTrial>, DeriveError> {
        match self.failure {
            Some(failure) => Err(failure),
            None => Ok(self.orders.finish()?),
        }
    }
}

/// One trial and the codes of who made it, by kind; 0 where not known.
struct Trial {
    cell: TrialCell,
    order: u64,
    dirty: bool,
}

impl Trial {
    /// Counts it for who made it, `made_by`. `kinds` are further kinds that count it, a bit each.
    fn count(
        &self,
        made_by: &[(CarrierKind, u32)],
        mut kinds: u8,
        counts: &mut CarrierCounts,
        spills: &mut OrderTrials,
    ) {
        let row = carrier_trials::Row { trials: 1, dirty: self.dirty.into() };
        for (kind, code) in made_by.iter().filter(|(_, code)| *code != 0) {
            kinds |= 1 << *kind as u8;
            let carrier_cells::Key { kind, stage, family, side, site, method, cycle } =
                self.cell.of_kind(*kind);
            let entity = Entity(*code);
            let cell =
                carrier_trials::Key { kind, entity, stage, family, side, site, method, cycle };
            counts.trials.add(Some(cell), row);
        }
        if kinds != 0 {
            let (order, cell, dirty) = (self.order, self.cell, self.dirty.into());
            spills.push(&OrderTrial { order, cell, kinds, dirty, ..OrderTrial::default() });
        }
    }
}

/// Counts what one visit tells of instruments, suppliers and tools.
pub(super) fn tally_visit(
    visit: &Visit,
    with: &Tallying,
    counts: &mut CarrierCounts,
    spills: &mut OrderTrials,
) {
    if with.look_back_piece(visit.start).is_none() || visit.face.is_recessed() {
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
    let is_routine = VisitRow::of_visit(visit) == VisitRow::Routine;
    if let Some(dirty) = visit.first.and_then(is_dirty).filter(|_| is_routine) {
        // A supplier answers for how an end face first came, not for what was done to it since.
        let supplier = if visit.first_recorded { visit.face.supplier } else { 0 };
        let made_by =
            [(CarrierKind::Instrument, visit.instrument), (CarrierKind::Supplier, supplier)];
        Trial { cell, order, dirty }.count(&made_by, 0, counts, spills);
    }
    for (number, cycle) in (1..).zip(&visit.cycles).filter(|(_, cycle)| cycle.tool != 0) {
        let Some(dirty) = is_dirty(cycle.closed_by) else { continue };
        // Nobody knows whether an end cleaned unseen was dirty: these cycles are compared only with each
        // other.
        let unseen = number == 1 && visit.cleaned_unseen();
        let number = if unseen { 0 } else { u32::min(number, MOST_CYCLES) };
        let kind = match cycle.began_clean {
            true => CarrierKind::ToolSoiling,
            false => CarrierKind::ToolCleaning,
        };
        let cell = TrialCell { method: cycle.method, cycle: number as u8, ..cell };
        Trial { cell, order, dirty }.count(&[(kind, cycle.tool)], 0, counts, spills);
    }
}

/// Whether a look found dirt; none where it failed for another reason, or nobody wrote which.
fn is_dirty(look: Look) -> Option<bool> {
    match look {
        Look::Pass => Some(false),
        Look::Fail(Finding::Contamination) => Some(true),
        Look::Fail(Finding::Defect | Finding::Unknown) => None,
    }
}

/// Counts what became of an end that was seen clean and then mated; the trial that it was of the other end and
/// of who made the mating, where it was looked at in the months looked back.
pub fn tally_exposure(
    exposure: &Exposure,
    with: &Tallying,
    counts: &mut CarrierCounts,
) -> Option<TouchFact> {
    let (quarter, fate) = (with.look_back_piece(exposure.at), Fate::of_exposure(exposure));
    let cell = quarter.map(|quarter| exposures::Key { quarter, fate });
    counts.exposures.add(cell, exposures::Row { ends: 1 });
    let dirty = match fate {
        Fate::Clean => false,
        Fate::Contaminated => true,
        _ => return None,
    };
    quarter?;
    let cell = TrialCell {
        site: exposure.site,
        family: exposure.family,
        stage: exposure.stage,
        side: exposure.side,
        ..TrialCell::default()
    };
    let day = || with.calendar.days.piece(exposure.at);
    Some(TouchFact {
        at: exposure.at,
        order: cluster(exposure.site, exposure.work_order, day),
        cell,
        operator: exposure.operator,
        dirty: dirty.into(),
        other: exposure.other.is_known().into(),
        padding: [0; 2],
    })
}

/// Counts that trial.
pub fn tally_touch(touch: &TouchFact, counts: &mut CarrierCounts, spills: &mut OrderTrials) {
    let (cell, order, dirty) = (touch.cell, touch.order, touch.dirty == 1);
    let mut kinds = 0;
    if touch.other == 1 {
        kinds |= 1 << CarrierKind::EndFace as u8;
        let row = carrier_trials::Row { trials: 1, dirty: dirty.into() };
        counts.cells.add(Some(cell.of_kind(CarrierKind::EndFace)), row);
    }
    let made_by = [(CarrierKind::Operator, touch.operator)];
    Trial { cell, order, dirty }.count(&made_by, kinds, counts, spills);
}
