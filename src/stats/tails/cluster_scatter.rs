//! How much more clusters scatter around what their cells lead one to expect than chance makes them.
//!
//! Promises a factor of at least 1. Stops at sums: clusters themselves are never seen.

use crate::stats::special::input;

/// Totals of one cell.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ScatterCell {
    /// Items in the cell.
    pub total: f64,
    /// Marked items among them.
    pub marked: f64,
    /// Sum over clusters of the cluster's items here times its marked items in all cells.
    pub crossed: f64,
}

/// Sum over clusters of the product of their items in two cells.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ScatterPair {
    /// Places of the cells; equal for a cell with itself.
    pub cells: [usize; 2],
    /// Sum over clusters of the product of their items in both cells.
    pub product: f64,
}

/// What the clusters came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// Sum over clusters of (observed - expected) squared.
    pub squares: f64,
    /// Sum of the variances that chance gives.
    pub variance: f64,
    /// Their ratio, at least 1.
    pub phi: f64,
}

/// Share of a variance below which its difference from another is rounding.
const ROUNDING: f64 = 1e-12;

/// Scatter of clusters. `squares` is the sum over clusters of their marked items squared.
///
/// With marked items drawn without replacement from each cell the ratio of both sums has mean 1
/// (squares of a sum of independent hypergeometric counts).
///
/// Source: Pearson's chi-square over its degrees of freedom, McCullagh & Nelder (1989), section 4.5.
pub fn cluster_scatter(squares: f64, cells: &[ScatterCell], pairs: &[ScatterPair]) -> Scatter {
    let share = |cell: &ScatterCell| {
        let (total, marked) = (input::amount(cell.total), input::amount(cell.marked));
        if total > 0.0 { (marked / total).min(1.0) } else { 0.0 }
    };
    let at = |place: usize| cells.get(place).map_or(0.0, share);
    let mut sum = input::amount(squares);
    sum -= cells.iter().map(|cell| 2.0 * share(cell) * input::amount(cell.crossed)).sum::<f64>();
    // What chance gives where every item is a cluster by itself; in larger clusters items vary together.
    let mut most = 0.0;
    for cell in cells.iter().filter(|cell| cell.total >= 2.0) {
        let p = share(cell);
        let total = input::amount(cell.total);
        most += p * (1.0 - p) * total * (total / (total - 1.0));
    }
    let mut variance = most;
    for pair in pairs {
        let ([a, b], product) = (pair.cells, input::amount(pair.product));
        let twice = if a == b { 1.0 } else { 2.0 };
        sum += twice * at(a) * at(b) * product;
        if let Some(cell) = cells.get(a).filter(|cell| a == b && cell.total >= 2.0) {
            let p = share(cell);
            variance -= p * (1.0 - p) * product / (input::amount(cell.total) - 1.0);
        }
    }
    // Where all items of a cell are one cluster's nothing can vary, and what is left is rounding.
    let variance = if variance > ROUNDING * most { variance } else { 0.0 };
    let squares = sum.max(0.0);
    let phi = squares / variance;
    Scatter { squares, variance, phi: if phi.is_finite() { phi.max(1.0) } else { 1.0 } }
}
