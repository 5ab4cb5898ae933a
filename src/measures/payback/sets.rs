//! What several proposals are worth together: what the same purchase written as one is.
//!
//! At every place and over the months in which they work at the same time their acts are joined exactly as those
//! of one proposal are (`act.rs`), so that nothing is kept out of a pool twice.

use super::act::{Act, left};
use super::case::{Acts, purse};
use super::flows::{FleetFlows, Skipped};
use super::purse::Purse;
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

/// A set of proposals in the making.
pub struct Together<'a> {
    /// Worth of the pools of each place over each span, signed.
    worth_of: Vec<Purse>,
    /// What is left of them.
    left: Vec<Purse>,
    /// Acts of the proposals that are in.
    acts: Vec<Vec<&'a Act>>,
    /// By proposal: a place over a span, and what is done there.
    of_item: Vec<Vec<(usize, &'a Act)>>,
    /// Price and running cost of each proposal, as worth now.
    costs: Vec<f64>,
    worth: f64,
    /// What it was worth before each proposal that is in.
    before: Vec<f64>,
    /// What was left before each act of these.
    kept: Vec<Purse>,
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

impl<'a> Together<'a> {
    /// The empty set of proposals with these terms and acts, with these flows of 5.5.
    pub fn new(
        flows: &FleetFlows,
        terms: &[Terms],
        acts: &'a [Acts],
        skipped: &[Skipped],
    ) -> Together<'a> {
        let spans = spans(terms);
        let mut places: Vec<usize> = acts.iter().flatten().map(|(place, _)| *place).collect();
        places.sort_unstable();
        places.dedup();
        let mut worth_of = Vec::with_capacity(spans.len() * places.len());
        for span in &spans {
            for place in &places {
                let skipped = skipped.get(*place).copied().unwrap_or_default();
                let purse = purse(flows, *place, &skipped);
                worth_of.push(Purse::SIGNS.with(purse, |sign, money| sign * money * span.factor));
            }
        }
        let of_item = |(acts, terms): (&'a Acts, &Terms)| -> Vec<(usize, &'a Act)> {
            let works = |span: &Span| terms.start <= span.from && span.to <= terms.end();
            let spans = spans.iter().enumerate().filter(|(_, span)| works(span));
            let (places, acts) = (&places, acts);
            let at_places = spans.flat_map(|(number, _)| {
                let first = number * places.len();
                acts.iter().filter_map(move |(place, act)| {
                    Some((first + places.binary_search(place).ok()?, act))
                })
            });
            at_places.collect()
        };
        Together {
            left: vec![Purse::ONES; worth_of.len()],
            acts: vec![Vec::new(); worth_of.len()],
            of_item: acts.iter().zip(terms).map(of_item).collect(),
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

impl Growing for Together<'_> {
    fn add(&mut self, item: usize) {
        self.before.push(self.worth);
        self.worth -= self.costs[item];
        for (at, act) in &self.of_item[item] {
            let before = self.left[*at];
            let alone = !self.acts[*at].iter().any(|other| other.meets(act));
            self.acts[*at].push(act);
            // Most acts meet nothing of their kind: what they keep out comes off what is left.
            let after = match alone {
                true => before.with(act.part, |left, share| left * (1.0 - share)),
                false => left(self.acts[*at].iter().copied()),
            };
            let kept_out = before.with(after, |before, after| before - after);
            let worth = self.worth_of[*at].with(kept_out, |worth, share| worth * share);
            for worth in worth.values() {
                self.worth += worth;
            }
            self.left[*at] = after;
            self.kept.push(before);
        }
    }

    fn take_back(&mut self, item: usize) {
        let Some(worth) = self.before.pop() else { return };
        self.worth = worth;
        for (at, _) in self.of_item[item].iter().rev() {
            // One was kept for every act.
            if let Some(left) = self.kept.pop() {
                self.left[*at] = left;
                self.acts[*at].pop();
            }
        }
    }

    fn worth(&self) -> f64 {
        self.worth
    }
}
