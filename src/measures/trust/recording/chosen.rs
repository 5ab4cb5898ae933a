//! Looks made where dirt is suspected: fewer looks, and more of them failing.
//!
//! Where who looks does not know what will be found, the share failing does not move with the share looked at; where looks
//! go to what seems dirty, it is the higher the fewer are made. Two comparisons: over the months of one site, stage and
//! family, and between sites that look at nearly all ends and the others at the same stage and family.

use std::collections::BTreeSet;

use super::super::declared::{Quantity, Recording, Table};
use super::super::sources::Sources;
use super::cells::{
    Cell, LookedAtCells, Unclustered, cautious_slope, failing, number, share_looked,
};
use super::check::difference;

/// Share of ends looked at from which it is nearly all.
const NEARLY_ALL: f64 = 0.9;

/// Fewest sites on either side of the comparison between sites: a variance that rests on one or two of them is too small.
const FEWEST_SITES: usize = 5;

pub(super) fn rows(from: &Sources, cells: &LookedAtCells, table: &mut Table) {
    let level = from.evidence.rules().level;
    let at_stage = |cell: &Cell| [cell.place[0], cell.place[1]];
    let by_month = cells.sums(|cell| (cell.month, at_stage(cell)));
    // The share of a site, stage and month: families are too few to have one each, and failing is compared inside them.
    let over_months: Vec<Unclustered> = cells
        .cells
        .iter()
        .filter_map(|cell| {
            let share = share_looked(by_month.get(&(cell.month, at_stage(cell)))?)?;
            Some(failing(cell, number(cell.place), share))
        })
        .collect();
    let found = cautious_slope(&over_months, level);
    let fewer_is_dirtier = |slope: f64| slope < 0.0;
    let chosen = Recording::LooksChosen;
    table.rows.push(difference(Quantity::LooksChosen, chosen, &found, fewer_is_dirtier));

    let by_site = cells.sums(at_stage);
    let (mut sides, mut between) = ([BTreeSet::new(), BTreeSet::new()], Vec::new());
    for cell in &cells.cells {
        let Some(share) = by_site.get(&at_stage(cell)).and_then(share_looked) else { continue };
        let all = share >= NEARLY_ALL;
        sides[usize::from(all)].insert(cell.place[0]);
        let [_, stage, family] = cell.place;
        between.push(failing(cell, number([0, stage, family]), f64::from(all)));
    }
    let enough = sides.iter().all(|sites| sites.len() >= FEWEST_SITES);
    let found = cautious_slope(&between, level);
    let mut row = difference(Quantity::FailingWhereAllLooked, chosen, &found, fewer_is_dirtier);
    row.own.suspected = row.own.suspected.filter(|_| enough);
    row.own.p = row.own.p.filter(|_| enough);
    table.rows.push(row);
}
