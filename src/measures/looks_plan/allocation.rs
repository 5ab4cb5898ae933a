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
    let floors = Floors::of(shares, purses);
    let mut looks = floors.looks.clone();
    let saving: Vec<(usize, f64)> = saving.iter().copied().enumerate().collect();
    floors.more(&saving).into_iter().for_each(|(at, more)| looks[at] = more);
    looks
}

/// Cells with their floors, and what these leave of the minutes: the same whatever a look saves.
pub(super) struct Floors<'a> {
    shares: &'a [Share],
    /// Looks a month of every cell.
    pub looks: Vec<f64>,
    /// Minutes of every purse.
    left: BTreeMap<u32, f64>,
}

impl<'a> Floors<'a> {
    pub fn of(shares: &'a [Share], purses: &BTreeMap<u32, f64>) -> Floors<'a> {
        let looks: Vec<f64> = shares.iter().map(|share| share.floor.min(share.most)).collect();
        let mut left = purses.clone();
        for (share, looks) in shares.iter().zip(&looks) {
            if let Some(left) = left.get_mut(&share.purse) {
                *left -= looks * share.minutes;
            }
        }
        Floors { shares, looks, left }
    }

    /// Looks a month of the cells in which a look saves something, with their places, given what it saves in some cells by
    /// their places: in the others it saves nothing.
    pub fn more(&self, saving: &[(usize, f64)]) -> Vec<(usize, f64)> {
        let mut left = self.left.clone();
        let rate =
            |(at, saving): &(usize, f64)| saving / self.shares[*at].minutes.max(f64::MIN_POSITIVE);
        let saves = saving.iter().filter(|(_, saving)| *saving > 0.0);
        let mut order: Vec<(f64, usize)> = saves.map(|own| (rate(own), own.0)).collect();
        order.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut found = Vec::with_capacity(order.len());
        for (_, at) in order {
            let share = &self.shares[at];
            let Some(left) = left.get_mut(&share.purse) else { continue };
            let room = (share.most - self.looks[at]).max(0.0);
            let affordable = if share.minutes > 0.0 { left.max(0.0) / share.minutes } else { room };
            let more = room.min(affordable);
            found.push((at, self.looks[at] + more));
            *left -= more * share.minutes;
        }
        found
    }
}
