//! What several proposals are worth together: what one keeps out of a pool another cannot keep out again.
//!
//! Shares of one pool are combined as `1 - prod(1 - share)`, place by place and pool by pool, over the
//! months in which the proposals work at the same time.

use super::case::{Shares, purse};
use super::flows::{FleetFlows, Purse, Skipped};
use super::terms::Terms;
use crate::stats::best_sets::Growing;
use crate::stats::discounting::annuity;

/// Months from one change of what works to the next, and what a flow of one a year in them is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Span {
    from: u32,
    to: u32,
    factor: f64,
}

/// A share of one pool of one place over one span.
#[derive(Clone, Copy, Debug)]
struct Cut {
    /// Place in `left`.
    at: usize,
    share: f64,
}

/// A set of proposals in the making.
pub struct Together {
    /// Worth of each pool of each place over each span, signed.
    worth_of: Vec<f64>,
    /// What is left of it.
    left: Vec<f64>,
    cuts: Vec<Vec<Cut>>,
    /// Price and running cost of each proposal, as worth now.
    costs: Vec<f64>,
    worth: f64,
    /// What it was worth before each proposal that is in.
    before: Vec<f64>,
    /// What was left before each cut of these.
    kept: Vec<f64>,
}

fn spans(terms: &[Terms]) -> Vec<Span> {
    let mut months: Vec<u32> = terms.iter().flat_map(|terms| [terms.start, terms.end()]).collect();
    months.sort_unstable();
    months.dedup();
    let rate = terms.first().map_or(0.0, |terms| terms.rate);
    let span = |ends: &[u32]| {
        let (from, to) = (ends[0], ends[1]);
        Span { from, to, factor: annuity(rate, to - from, from) / 12.0 }
    };
    months.windows(2).map(span).collect()
}

impl Together {
    /// The empty set of proposals with these terms and shares, with these flows of 5.5.
    pub fn new(
        flows: &FleetFlows,
        terms: &[Terms],
        shares: &[Shares],
        skipped: &[Skipped],
    ) -> Together {
        let spans = spans(terms);
        let mut places: Vec<usize> = shares.iter().flatten().map(|(place, _)| *place).collect();
        places.sort_unstable();
        places.dedup();
        let mut worth_of = Vec::with_capacity(spans.len() * places.len() * Purse::POOLS);
        for span in &spans {
            for place in &places {
                let skipped = skipped.get(*place).copied().unwrap_or_default();
                let purse = purse(flows, *place, &skipped);
                let signed = Purse::SIGNS.with(purse, |sign, money| sign * money * span.factor);
                worth_of.extend(signed.values());
            }
        }
        let cut = |(shares, terms): (&Shares, &Terms)| -> Vec<Cut> {
            let mut cuts = Vec::new();
            for (number, span) in spans.iter().enumerate() {
                if !(terms.start <= span.from && span.to <= terms.end()) {
                    continue;
                }
                for (place, shares) in shares {
                    let Ok(place) = places.binary_search(place) else { continue };
                    let first = (number * places.len() + place) * Purse::POOLS;
                    let pools = shares.values().into_iter().zip(first..);
                    let touched = pools.filter(|(share, _)| *share != 0.0);
                    cuts.extend(touched.map(|(share, at)| Cut { at, share }));
                }
            }
            cuts
        };
        Together {
            left: vec![1.0; worth_of.len()],
            cuts: shares.iter().zip(terms).map(cut).collect(),
            costs: terms
                .iter()
                .map(|terms| terms.outlay + terms.running * terms.factor())
                .collect(),
            worth_of,
            worth: 0.0,
            before: Vec::new(),
            kept: Vec::new(),
        }
    }
}

impl Growing for Together {
    fn add(&mut self, item: usize) {
        self.before.push(self.worth);
        self.worth -= self.costs[item];
        for cut in &self.cuts[item] {
            let left = &mut self.left[cut.at];
            self.kept.push(*left);
            self.worth += self.worth_of[cut.at] * cut.share * *left;
            *left *= 1.0 - cut.share;
        }
    }

    fn take_back(&mut self, item: usize) {
        let Some(worth) = self.before.pop() else { return };
        self.worth = worth;
        for cut in self.cuts[item].iter().rev() {
            // One was kept for every cut.
            if let Some(left) = self.kept.pop() {
                self.left[cut.at] = left;
            }
        }
    }

    fn worth(&self) -> f64 {
        self.worth
    }
}
