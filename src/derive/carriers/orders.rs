//! Sums over work orders (5.7), a bucket at a time. A work order lies whole in one bucket, so its
//! figures can be squared there; what is handed on adds up.

use rustc_hash::FxHashMap;

use super::trial::{CarrierKind, OrderTrial, TrialCell};
use crate::derive::counts::{
    CarrierCounts, CellNo, OtherCellNo, carrier_order_cells, carrier_order_pairs, carrier_orders,
};

const KINDS: usize = CarrierKind::ALL.len();
/// Stands for a cell that a kind does not have.
const NOWHERE: u32 = u32::MAX;

/// By cell, its place among the cells of all kinds, kind by kind.
pub struct CellPlaces {
    of: FxHashMap<TrialCell, [u32; KINDS]>,
    count: usize,
}

impl CellPlaces {
    /// Places of the cells in their order.
    pub fn of(counts: &CarrierCounts) -> CellPlaces {
        let cells = counts.cells.cells();
        let mut of: FxHashMap<TrialCell, [u32; KINDS]> = FxHashMap::default();
        for ((cell, _), place) in cells.iter().zip(0..) {
            let places = of.entry(TrialCell::of_key(*cell)).or_insert([NOWHERE; KINDS]);
            places[cell.kind as usize] = place;
        }
        CellPlaces { of, count: cells.len() }
    }
}

/// Sums over work orders of one cell.
#[derive(Clone, Copy, Debug, Default)]
struct CellSums {
    /// Dirty results in all cells of the kind times trials in this one.
    dirty_trials: i64,
    /// Trials squared.
    squares: i64,
}

/// Sums in the making, dense where a hash would cost too much.
pub struct OrderSums<'a> {
    places: &'a CellPlaces,
    /// By kind.
    orders: [carrier_orders::Row; KINDS],
    /// By place.
    cells: Vec<CellSums>,
    /// By two places that differ.
    pairs: FxHashMap<[u32; 2], i64>,
    own: Vec<(u32, i64)>,
}

impl<'a> OrderSums<'a> {
    /// Nothing yet.
    pub fn new(places: &'a CellPlaces) -> OrderSums<'a> {
        let cells = vec![CellSums::default(); places.count];
        OrderSums {
            places,
            orders: Default::default(),
            cells,
            pairs: FxHashMap::default(),
            own: Vec::new(),
        }
    }

    /// Counts one bucket of trials, in any order.
    pub fn add(&mut self, trials: &mut [OrderTrial]) {
        trials.sort_unstable_by_key(|trial| (trial.order, trial.cell));
        for order in trials.chunk_by(|a, b| a.order == b.order) {
            let mut kinds = order.iter().fold(0, |kinds, trial| kinds | trial.kinds);
            while kinds != 0 {
                let kind = kinds.trailing_zeros() as usize;
                kinds &= kinds - 1;
                self.order(order, kind);
            }
        }
    }

    /// Counts one work order for one kind.
    fn order(&mut self, order: &[OrderTrial], kind: usize) {
        self.own.clear();
        let mut dirty = 0;
        for cell in order.chunk_by(|a, b| a.cell == b.cell) {
            let of_kind = || cell.iter().filter(|trial| trial.kinds & 1 << kind != 0);
            let trials = of_kind().count() as i64;
            dirty += of_kind().map(|trial| i64::from(trial.dirty)).sum::<i64>();
            let place = self.places.of.get(&cell[0].cell).map_or(NOWHERE, |places| places[kind]);
            if trials > 0 && place != NOWHERE {
                self.own.push((place, trials));
            }
        }
        let sums = &mut self.orders[kind];
        sums.orders += 1;
        sums.squares = sums.squares.saturating_add(dirty * dirty);
        for (at, (place, trials)) in self.own.iter().enumerate() {
            let cell = &mut self.cells[*place as usize];
            cell.dirty_trials = cell.dirty_trials.saturating_add(dirty * trials);
            cell.squares = cell.squares.saturating_add(trials * trials);
            for (other, more) in &self.own[at + 1..] {
                let pair = [*place.min(other), *place.max(other)];
                let sum = self.pairs.entry(pair).or_default();
                *sum = sum.saturating_add(trials * more);
            }
        }
    }

    /// Hands the sums on.
    pub fn finish(self) -> CarrierCounts {
        let mut counts = CarrierCounts::empty(0);
        for (kind, row) in CarrierKind::ALL.iter().copied().zip(self.orders) {
            counts.orders.add(Some(carrier_orders::Key { kind }), row);
        }
        let pair = |cell: u32, other: u32| {
            Some(carrier_order_pairs::Key { cell: CellNo(cell), other: OtherCellNo(other) })
        };
        for (sums, place) in self.cells.into_iter().zip(0..).filter(|(sums, _)| sums.squares > 0) {
            let cell = carrier_order_cells::Key { cell: CellNo(place) };
            let row = carrier_order_cells::Row { dirty_trials: sums.dirty_trials };
            counts.order_cells.add(Some(cell), row);
            let row = carrier_order_pairs::Row { products: sums.squares };
            counts.order_pairs.add(pair(place, place), row);
        }
        for ([cell, other], products) in self.pairs {
            counts.order_pairs.add(pair(cell, other), carrier_order_pairs::Row { products });
        }
        counts
    }
}
