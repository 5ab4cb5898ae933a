//! What 5.7 is measured from: trials by cell and by who made them, sums over work orders, the end
//! faces with enough trials, and what the most conspicuous of them touched.

use super::kinds::SIDES;
use super::table::{CountTable, Dimension};
use crate::derive::DeriveError;
use crate::derive::carriers::faces::CarrierFace;
use crate::derive::carriers::touches::TimeLine;
use crate::derive::carriers::trial::CARRIER_KINDS;

/// What became of ends that were seen clean and then mated.
pub const FATES: [&str; 6] =
    ["clean", "contaminated", "prompted", "other-fail", "cleaned-unseen", "not-looked-at"];

const KIND: (&str, Dimension) = ("kind", Dimension::Words(&CARRIER_KINDS));
const CELL: [(&str, Dimension); 6] = [
    ("stage", Dimension::Stage),
    ("family", Dimension::Family),
    ("side", Dimension::Words(SIDES)),
    ("site", Dimension::Site),
    ("method", Dimension::Method),
    ("cycle", Dimension::Number),
];

/// All that the passes count for 5.7.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CarrierCounts {
    /// Trials of what has a code (all kinds but end faces), by its code and cell.
    pub trials: CountTable<8, 2>,
    /// Trials of every kind by cell, whoever made them.
    pub cells: CountTable<7, 2>,
    /// Ends seen clean and then mated, by what became of them.
    pub exposures: CountTable<2, 1>,
    /// By kind: work orders, and the sum over them of dirty results squared.
    pub orders: CountTable<1, 2>,
    /// By cell (its place among [`CountTable::cells`] of `cells`): the sum over work orders of
    /// dirty results in all cells of the kind times trials in this one.
    pub order_cells: CountTable<1, 1>,
    /// By two cells of a kind (places, rising or equal): the sum over work orders of the product
    /// of their trials. With the two before it gives the scatter of work orders around any
    /// expectation.
    pub order_pairs: CountTable<2, 1>,
    /// End faces with enough trials, by key; those with most trials, if there are too many.
    pub faces: Vec<CarrierFace>,
    /// End faces with a trial, and those with enough of them.
    pub faces_seen: i64,
    pub faces_enough: i64,
    /// What the most conspicuous end faces touched, by key.
    pub time_lines: Vec<TimeLine>,
}

impl CarrierCounts {
    /// Without counts.
    pub fn empty() -> CarrierCounts {
        let [stage, family, side, site, method, cycle] = CELL;
        let entity = ("entity", Dimension::Number);
        let counted = ["trials", "dirty"];
        let place = ("cell", Dimension::Number);
        CarrierCounts {
            trials: CountTable::empty(
                "carrier_trials",
                [KIND, entity, stage, family, side, site, method, cycle],
                counted,
            ),
            cells: CountTable::empty(
                "carrier_cells",
                [KIND, stage, family, side, site, method, cycle],
                counted,
            ),
            exposures: CountTable::empty(
                "exposures",
                [("quarter", Dimension::Quarter), ("fate", Dimension::Words(&FATES))],
                ["ends"],
            ),
            orders: CountTable::empty("carrier_orders", [KIND], ["orders", "squares"]),
            order_cells: CountTable::empty("carrier_order_cells", [place], ["dirty_trials"]),
            order_pairs: CountTable::empty(
                "carrier_order_pairs",
                [place, ("other", Dimension::Number)],
                ["products"],
            ),
            faces: Vec::new(),
            faces_seen: 0,
            faces_enough: 0,
            time_lines: Vec::new(),
        }
    }

    /// Adds up by cell what was counted by entity: once all trials are counted.
    pub fn sum_cells(&mut self) {
        for (cell, row) in self.trials.cells() {
            let [kind, _, stage, family, side, site, method, cycle] = cell;
            self.cells.add(Some([kind, stage, family, side, site, method, cycle]), row);
        }
    }

    /// Adds the counts of another share of the rows.
    pub fn merge(mut self, other: CarrierCounts) -> CarrierCounts {
        self.faces.extend(other.faces);
        self.faces.sort_by_key(|face| face.key);
        self.time_lines.extend(other.time_lines);
        self.time_lines.sort_by_key(|line| line.face);
        CarrierCounts {
            trials: self.trials.merge(other.trials),
            cells: self.cells.merge(other.cells),
            exposures: self.exposures.merge(other.exposures),
            orders: self.orders.merge(other.orders),
            order_cells: self.order_cells.merge(other.order_cells),
            order_pairs: self.order_pairs.merge(other.order_pairs),
            faces: self.faces,
            faces_seen: self.faces_seen + other.faces_seen,
            faces_enough: self.faces_enough + other.faces_enough,
            time_lines: self.time_lines,
        }
    }

    /// Checks that cells plus off-table are the total, in every table.
    ///
    /// # Errors
    /// Names the first table that does not add up.
    pub fn check(&self) -> Result<(), DeriveError> {
        self.trials.check()?;
        self.cells.check()?;
        self.exposures.check()?;
        self.orders.check()?;
        self.order_cells.check()?;
        self.order_pairs.check()
    }
}
