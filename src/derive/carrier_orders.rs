//! Sums over work orders (5.7), a bucket at a time. A work order lies whole in one bucket, so its
//! figures can be squared there; what is handed on adds up.

use rustc_hash::FxHashMap;

use super::carrier_counts::CarrierCounts;
use super::carrier_trial::{CARRIER_KINDS, OrderTrial};

/// The place of every cell among the cells of all kinds.
pub type CellPlaces = FxHashMap<[u32; 7], u32>;

/// Places of the cells in their order.
pub fn cell_places(counts: &CarrierCounts) -> CellPlaces {
    counts.cells.cells().into_iter().map(|(cell, _)| cell).zip(0..).collect()
}

/// Counts one bucket of trials, in any order.
pub fn count_orders(trials: &mut [OrderTrial], places: &CellPlaces, counts: &mut CarrierCounts) {
    trials.sort_unstable_by_key(|trial| (trial.order, trial.cell));
    let mut own: Vec<(u32, i64)> = Vec::new();
    for order in trials.chunk_by(|a, b| a.order == b.order) {
        for kind in 0..CARRIER_KINDS.len() as u8 {
            own.clear();
            let mut dirty = 0;
            for cell in order.chunk_by(|a, b| a.cell == b.cell) {
                let of_kind = || cell.iter().filter(|trial| trial.kinds & 1 << kind != 0);
                let number = of_kind().count() as i64;
                dirty += of_kind().map(|trial| i64::from(trial.dirty)).sum::<i64>();
                let place = places.get(&cell[0].cell.of_kind(kind));
                own.extend(place.filter(|_| number > 0).map(|place| (*place, number)));
            }
            if !own.is_empty() {
                add(&own, kind.into(), dirty, counts);
            }
        }
    }
}

/// Adds one work order: its cells with their trials, and its dirty results.
fn add(cells: &[(u32, i64)], kind: u32, dirty: i64, counts: &mut CarrierCounts) {
    counts.orders.add(Some([kind]), [1, dirty.saturating_mul(dirty)]);
    for (at, (cell, trials)) in cells.iter().enumerate() {
        if dirty > 0 {
            counts.order_cells.add(Some([*cell]), [dirty.saturating_mul(*trials)]);
        }
        for (other, more) in &cells[at..] {
            let pair = [*cell.min(other), *cell.max(other)];
            counts.order_pairs.add(Some(pair), [trials.saturating_mul(*more)]);
        }
    }
}
