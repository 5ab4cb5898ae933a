//! Sums kept while the fleet is lived, from which the truth is stated.

use std::collections::BTreeMap;

use super::event::{Class, Method, Minute};
use super::plant::{BANDS, DAY, MONTH};
use super::spared::AllSpared;
use super::window::Window;

/// Sums of one batch; [`Tally::merge`] adds another's.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    /// What is written down, and kept.
    window: Window,
    /// Routine first looks by stage, family, capped: their number and expected passes.
    pub first: BTreeMap<(usize, usize, bool), (u64, f64)>,
    /// Passages by step (from, to): their number, the sums of the factors on the planted hazard and
    /// of the hazards that test leads added.
    pub passages: BTreeMap<(usize, usize), [f64; 3]>,
    /// First cycles on dirt, by method: their number and expected passes.
    pub cycles: BTreeMap<Method, (u64, f64)>,
    /// Cycles on dirt, by method and number: how many, and the sum of the probabilities planted for them.
    pub tried: BTreeMap<(Method, u32), (u64, f64)>,
    /// Matings written down, by class.
    pub matings: BTreeMap<Class, u64>,
    /// Site, stage, family: months at risk and expected linked faults, of both and of skipped.
    pub strata: BTreeMap<(usize, usize, usize), [f64; 4]>,
    /// Linked faults written down: confirmed, probable, of them in the last twelve months.
    pub linked: [u64; 3],
    /// Faults of other causes, by cause.
    pub others: BTreeMap<&'static str, u64>,
    /// Tickets stamped after the repair.
    pub lagged: u64,
    /// What proposals would spare.
    pub spared: AllSpared,
}

/// Who and where a mating in force is.
#[derive(Clone, Copy, Debug)]
pub struct Stratum {
    pub site: usize,
    pub stage: usize,
    pub family: usize,
}

impl Tally {
    /// Sums of what this window keeps.
    pub fn new(window: Window) -> Self {
        Self { window, ..Self::default() }
    }

    /// One routine visit that begins with a look, and the probability that it passes.
    pub fn first_look(&mut self, stage: usize, family: usize, capped: bool, pass: f64, at: Minute) {
        if at >= self.window.year() {
            let cell = self.first.entry((stage, family, capped)).or_default();
            cell.0 += 1;
            cell.1 += pass;
        }
    }

    /// One first cycle on a dirty end face, and the probability that it passes.
    pub fn first_cycle(&mut self, method: Method, pass: f64, at: Minute) {
        if at >= self.window.year() {
            let cell = self.cycles.entry(method).or_default();
            *cell = (cell.0 + 1, cell.1 + pass);
        }
    }

    /// One cycle on a dirty end face, and the probability planted for it.
    pub fn cycle(&mut self, method: Method, number: u32, pass: f64, at: Minute) {
        if at >= self.window.year() {
            let cell = self.tried.entry((method, number)).or_default();
            *cell = (cell.0 + 1, cell.1 + pass);
        }
    }

    /// One passage: its factor on the planted hazards, and what a test lead added in its first step.
    pub fn passage(&mut self, from: usize, to: usize, factor: f64, touch: f64, at: Minute) {
        // Back to an earlier stage is no step of the lifecycle.
        if at < self.window.year() || from > to {
            return;
        }
        let steps = if from < to {
            (from..to).map(|step| (step, step + 1)).collect()
        } else {
            vec![(to, to)]
        };
        for (index, step) in steps.into_iter().enumerate() {
            let cell = self.passages.entry(step).or_default();
            cell[0] += 1.0;
            cell[1] += factor;
            cell[2] += if index == 0 { touch } else { 0.0 };
        }
    }

    /// One mating at this minute, if written down.
    pub fn mating(&mut self, class: Class, written: bool, at: Minute) {
        if written && self.window.is_kept(at) {
            *self.matings.entry(class).or_default() += 1;
        }
    }

    /// A mating not after a fault: followed from `at` to `end`, at most 90 days; `rate` is its
    /// linked faults per connection-month in a band with factor 1.
    pub fn follow(&mut self, stratum: Stratum, class: Class, at: Minute, end: Minute, rate: f64) {
        if at < self.window.year() {
            return;
        }
        let column = match class {
            Class::Both => 0,
            Class::One | Class::None => 2,
            Class::DespiteFail => return,
        };
        let days = ((end - at) as f64 / DAY as f64).min(90.0);
        let (mut from, mut expected) = (0.0, 0.0);
        for (to, factor) in BANDS {
            let inside = (days.min(to) - from).max(0.0);
            expected += rate * factor * inside * DAY as f64 / MONTH;
            from = to;
        }
        let cell = self.strata.entry((stratum.site, stratum.stage, stratum.family)).or_default();
        cell[column] += days * DAY as f64 / MONTH;
        cell[column + 1] += expected;
    }

    /// One linked fault.
    pub fn linked(&mut self, confirmed: bool, at: Minute) {
        self.linked[usize::from(!confirmed)] += u64::from(self.window.is_kept(at));
        self.linked[2] += u64::from(at >= self.window.year());
    }

    /// One ticket stamped after the repair.
    pub fn lagged(&mut self, at: Minute) {
        self.lagged += u64::from(self.window.is_kept(at));
    }

    /// One fault of another cause.
    pub fn other(&mut self, cause: &'static str, at: Minute) {
        *self.others.entry(cause).or_default() += u64::from(self.window.is_kept(at));
    }

    /// What a Mantel-Haenszel rate ratio over site x stage x family expects; none without follow-up.
    pub fn expected_ratio(&self) -> Option<f64> {
        let (mut top, mut bottom) = (0.0, 0.0);
        for [t0, e0, t1, e1] in self.strata.values() {
            if t0 + t1 > 0.0 {
                top += e1 * t0 / (t0 + t1);
                bottom += e0 * t1 / (t0 + t1);
            }
        }
        (bottom > 0.0).then(|| top / bottom)
    }

    /// Adds the sums of another batch.
    pub fn merge(&mut self, other: Tally) {
        for (key, (n, sum)) in other.first {
            let cell = self.first.entry(key).or_default();
            *cell = (cell.0 + n, cell.1 + sum);
        }
        for (key, (n, sum)) in other.cycles {
            let cell = self.cycles.entry(key).or_default();
            *cell = (cell.0 + n, cell.1 + sum);
        }
        for (key, (n, sum)) in other.tried {
            let cell = self.tried.entry(key).or_default();
            *cell = (cell.0 + n, cell.1 + sum);
        }
        for (key, sums) in other.passages {
            let cell = self.passages.entry(key).or_default();
            cell.iter_mut().zip(sums).for_each(|(sum, more)| *sum += more);
        }
        for (key, n) in other.matings {
            *self.matings.entry(key).or_default() += n;
        }
        for (key, sums) in other.strata {
            let cell = self.strata.entry(key).or_default();
            cell.iter_mut().zip(sums).for_each(|(sum, more)| *sum += more);
        }
        for (key, n) in other.others {
            *self.others.entry(key).or_default() += n;
        }
        self.linked.iter_mut().zip(other.linked).for_each(|(sum, more)| *sum += more);
        self.lagged += other.lagged;
        self.spared.merge(other.spared);
    }
}
