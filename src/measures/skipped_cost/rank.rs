//! Places in the order of what they would save, and how sure the first three are of their place.

use crate::measures::table::{Row, Value};

/// Places that count as the top.
const TOP: usize = 3;

/// A row of money with its replicates.
pub struct Saving {
    pub row: Row,
    /// Net saving by replicate; none where it has no ratio.
    pub draws: Vec<Option<f64>>,
}

/// The rows, firm ones ranked by net saving with running shares and the probability of being among
/// the top three; the rest below, unranked. `own` names the columns.
pub fn rank(mut savings: Vec<Saving>, own: &[&str]) -> Vec<Row> {
    let net = |saving: &Saving| saving.row.estimate.unwrap_or(f64::NEG_INFINITY);
    savings.sort_by(|a, b| b.row.is_firm().cmp(&a.row.is_firm()).then(net(b).total_cmp(&net(a))));
    let firm = savings.iter().filter(|saving| saving.row.is_firm()).count();
    let top = top_shares(&savings[..firm]);
    let gains = |saving: &Saving| saving.row.estimate.unwrap_or(0.0).max(0.0);
    let total: f64 = savings[..firm].iter().map(gains).sum();
    let mut running = 0.0;
    for ((rank, saving), top) in (1..).zip(&mut savings[..firm]).zip(top) {
        running += gains(saving);
        let share = (total > 0.0).then(|| running / total);
        let values = [
            ("rank", Value::Count(rank)),
            ("running_share", share.into()),
            ("top_three", top.into()),
        ];
        for (name, value) in values {
            if let Some(place) = own.iter().position(|own| *own == name) {
                saving.row.own[place] = value;
            }
        }
    }
    savings.into_iter().map(|saving| saving.row).collect()
}

/// Share of the replicates in which each is among the top three; those without a figure are no
/// replicates of it.
fn top_shares(savings: &[Saving]) -> Vec<Option<f64>> {
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
        places.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        for (_, place) in places.into_iter().take(TOP) {
            times[place] += 1;
        }
    }
    let share = |(times, saving): (u32, &Saving)| {
        let known = saving.draws.iter().flatten().count();
        (known > 0).then(|| f64::from(times) / known as f64)
    };
    times.into_iter().zip(savings).map(share).collect()
}
