//! The best set of a few items for every sum that may be spent, found by trying all of them.
//!
//! What a set is worth need not be the sum of its items' worth (two items may avoid the same loss), so
//! nothing is left out on the way: with `n` items all `2^n` sets are tried. Promises the exact optimum
//! under the worth it is given; of equals the cheapest, then the one with the earlier items. Stops at
//! [`MOST_ITEMS`] items.
//!
//! Source: the knapsack problem with a set function for profit, by enumeration (Martello & Toth 1990,
//! Knapsack Problems, chapter 1, for the problem) [chapter from memory].

/// Most items: about a million sets.
pub const MOST_ITEMS: usize = 20;

/// Relative gain that a dearer set must have: below it the difference is rounding.
const LEAST_GAIN: f64 = 1e-12;

/// A set in the making, which knows what it is worth.
pub trait Growing {
    /// Puts an item in.
    fn add(&mut self, item: usize);
    /// Takes the item put in last out again, leaving exactly what was there before.
    fn take_back(&mut self, item: usize);
    /// What the set is worth now; that of the empty set is 0.
    fn worth(&self) -> f64;
}

/// What an item allows to stand beside it: bit `i` is of item `i`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Ties {
    /// Items that may not be in a set with it.
    pub excludes: u32,
    /// Items without which it may be in no set.
    pub needs: u32,
}

/// The best set for a sum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rung {
    /// What the set costs, in the unit of the prices given.
    pub price: u64,
    /// What the set is worth, in the unit of [`Growing::worth`].
    pub worth: f64,
    /// Bit `i` is set where item `i` is in.
    pub items: u32,
}

impl Rung {
    /// The items of the set, in order.
    pub fn members(&self) -> impl Iterator<Item = usize> {
        let items = self.items;
        (0..MOST_ITEMS).filter(move |item| items >> item & 1 == 1)
    }
}

/// The best of the sets that `ties` allow (an item without any is free), with rising price and worth, the
/// empty one first. None with more than [`MOST_ITEMS`] items. A set whose worth is no number is left out.
pub fn best_sets(prices: &[u64], ties: &[Ties], set: &mut impl Growing) -> Option<Vec<Rung>> {
    if prices.len() > MOST_ITEMS {
        return None;
    }
    let mut found = Vec::new();
    let none = Rung { price: 0, worth: 0.0, items: 0 };
    try_all(Items { prices, ties }, 0, none, set, &mut found);
    found.sort_by(|a, b| {
        let by_price = a.price.cmp(&b.price).then(b.worth.total_cmp(&a.worth));
        by_price.then(a.items.count_ones().cmp(&b.items.count_ones())).then(a.items.cmp(&b.items))
    });
    let mut best = vec![Rung { price: 0, worth: 0.0, items: 0 }];
    for rung in found {
        let last = best[best.len() - 1];
        if rung.worth > last.worth + LEAST_GAIN * (rung.worth.abs() + last.worth.abs()) {
            // A set that costs nothing takes the place of the empty set.
            if rung.price == last.price {
                best.pop();
            }
            best.push(rung);
        }
    }
    Some(best)
}

/// The last rung that a sum pays for.
pub fn best_for(ladder: &[Rung], sum: u64) -> Option<&Rung> {
    ladder.iter().rev().find(|rung| rung.price <= sum)
}

/// The items and what they allow.
#[derive(Clone, Copy)]
struct Items<'a> {
    prices: &'a [u64],
    ties: &'a [Ties],
}

impl Items<'_> {
    fn ties(&self, item: usize) -> Ties {
        self.ties.get(item).copied().unwrap_or_default()
    }

    /// Whether an item may be added to these, which are before it.
    fn may_join(&self, item: usize, items: u32) -> bool {
        let kept_apart = |other: usize| self.ties(other).excludes >> item & 1 == 1;
        let own = self.ties(item).excludes;
        own & items == 0 && !(0..item).any(|other| items >> other & 1 == 1 && kept_apart(other))
    }

    /// Whether every item of a set has what it needs.
    fn is_complete(&self, items: u32) -> bool {
        let lacks = |item: usize| items >> item & 1 == 1 && self.ties(item).needs & !items != 0;
        !(0..self.prices.len()).any(lacks)
    }
}

/// Every set of the items from `next` on, added to what is in `so_far`.
fn try_all(all: Items, next: usize, so_far: Rung, set: &mut impl Growing, found: &mut Vec<Rung>) {
    let Some(price) = all.prices.get(next) else {
        let worth = set.worth();
        // A set that is worth nothing is left out.
        if worth > 0.0 && worth.is_finite() && all.is_complete(so_far.items) {
            found.push(Rung { worth, ..so_far });
        }
        return;
    };
    try_all(all, next + 1, so_far, set, found);
    if !all.may_join(next, so_far.items) {
        return;
    }
    set.add(next);
    let price = so_far.price.saturating_add(*price);
    let with = Rung { price, items: so_far.items | 1 << next, ..so_far };
    try_all(all, next + 1, with, set, found);
    set.take_back(next);
}
