//! Places in the order of what they would save, and how sure the first three are of their place.

use crate::measures::results::AnyRow;

/// Places that count as the top.
const TOP: usize = 3;

/// A row of money, of any table, with its replicates.
pub struct Saving<R> {
    /// What is ranked: by its estimate, and only where it is firm.
    pub row: R,
    /// Net saving by replicate; none where it has no ratio.
    pub draws: Vec<Option<f64>>,
}

/// Where a firm row stands among the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// 1 for the largest saving.
    pub rank: i64,
    /// Share of all gains, those of the flagged rows too, that this row and those above it have; none where nobody gains.
    pub running_share: Option<f64>,
    /// Share of its replicates in which it is among the first three; none where it has none.
    pub top_three: Option<f64>,
}

/// The rows: firm ones in the order of their savings, each given to `stand` with where it stands; the rest
/// below, unranked.
pub fn rank<R: AnyRow>(mut savings: Vec<Saving<R>>, stand: impl Fn(&mut R, Standing)) -> Vec<R> {
    let estimate = |saving: &Saving<R>| saving.row.leading().estimate;
    let net = |saving: &Saving<R>| estimate(saving).unwrap_or(f64::NEG_INFINITY);
    savings.sort_by(|a, b| b.row.is_firm().cmp(&a.row.is_firm()).then(net(b).total_cmp(&net(a))));
    let firm = savings.iter().filter(|saving| saving.row.is_firm()).count();
    let top = top_shares(&savings[..firm]);
    let gains = |saving: &Saving<R>| estimate(saving).unwrap_or(0.0).max(0.0);
    // What may not be ranked is left out of the running sum, not of what it is a share of.
    let total: f64 = savings.iter().map(gains).sum();
    let mut running = 0.0;
    for ((rank, saving), top_three) in (1..).zip(&mut savings[..firm]).zip(top) {
        running += gains(saving);
        let running_share = (total > 0.0).then(|| running / total);
        stand(&mut saving.row, Standing { rank, running_share, top_three });
    }
    savings.into_iter().map(|saving| saving.row).collect()
}

/// Share of the replicates in which each is among the top three; those without a figure are no
/// replicates of it.
fn top_shares<R>(savings: &[Saving<R>]) -> Vec<Option<f64>> {
    let replicates = savings.iter().map(|saving| saving.draws.len()).max().unwrap_or(0);
    let mut times = vec![0u32; savings.len()];
    for replicate in 0..replicates {
        let mut places: Vec<(f64, usize)> = savings
            .iter()
            .enumerate()
            .filter_map(|(place, saving)| {
                Some((saving.draws.get(replicate).copied().flatten()?, place))
            })
            .collect();
        // Of equal savings the better ranked comes first.
        if places.len() > TOP {
            places.select_nth_unstable_by(TOP - 1, |a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        }
        for (_, place) in places.into_iter().take(TOP) {
            times[place] += 1;
        }
    }
    let share = |(times, saving): (u32, &Saving<R>)| {
        let known = saving.draws.iter().flatten().count();
        (known > 0).then(|| f64::from(times) / known as f64)
    };
    times.into_iter().zip(savings).map(share).collect()
}
