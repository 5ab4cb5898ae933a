//! Looks shared out so that they save most: by their saving a minute, the best first, as far as minutes and ends go.

use std::collections::BTreeMap;

/// One cell to be shared out to.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// What keeps its minutes together: those of one number stay together.
    pub purse: u32,
    /// Minutes of a look.
    pub minutes: f64,
    /// Fewest looks a month that it keeps.
    pub floor: f64,
    /// Most looks a month that there are ends for.
    pub most: f64,
}

/// Looks a month of every cell that save most, given what a look saves in each and the minutes of every purse. Every
/// cell has its floor, whatever that takes; what is left of a purse goes to the cell with the largest saving a minute first.
/// Nothing goes to a cell whose looks save nothing.
///
/// Source: the continuous knapsack, Dantzig (1957), Oper. Res. 5, 266-277: greedy by value for weight is the best.
pub fn allocate(shares: &[Share], saving: &[f64], purses: &BTreeMap<u32, f64>) -> Vec<f64> {
    let mut looks: Vec<f64> = shares.iter().map(|share| share.floor.min(share.most)).collect();
    let mut left = purses.clone();
    for (share, looks) in shares.iter().zip(&looks) {
        if let Some(left) = left.get_mut(&share.purse) {
            *left -= looks * share.minutes;
        }
    }
    let mut order: Vec<usize> = (0..shares.len()).filter(|at| saving[*at] > 0.0).collect();
    let rate = |at: &usize| saving[*at] / shares[*at].minutes.max(f64::MIN_POSITIVE);
    order.sort_by(|a, b| rate(b).total_cmp(&rate(a)).then(a.cmp(b)));
    for at in order {
        let share = &shares[at];
        let Some(left) = left.get_mut(&share.purse) else { continue };
        let room = (share.most - looks[at]).max(0.0);
        let affordable = if share.minutes > 0.0 { left.max(0.0) / share.minutes } else { room };
        let more = room.min(affordable);
        looks[at] += more;
        *left -= more * share.minutes;
    }
    looks
}
