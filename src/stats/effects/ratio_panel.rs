//! Counted against expected events of units over times, some of which begin something: how many events there were
//! over how many there would have been, had the units that began gone on as the others did.

use super::arrangements::{Arrangements, Starts};
use super::panel::{Window, excess};
use super::ranked::Inverted;

/// Events and what was expected of them, by unit and time.
#[derive(Clone, Debug, PartialEq)]
pub struct RatioPanel {
    /// Events.
    pub observed: Vec<Vec<f64>>,
    /// Expected events, on the same scale throughout; 0 where nothing was followed.
    pub expected: Vec<Vec<f64>>,
}

/// How events scatter about what is common to all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatioScales {
    /// Variance of counts over that of chance, at least 1.
    pub chance: f64,
    /// Variance of the log of a unit's change between two long stretches of time beyond chance.
    pub between: f64,
}

/// Events of the units that began, and without their beginning.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatioContrast {
    /// Events after the start.
    pub observed: f64,
    /// Events that there would have been.
    pub without: f64,
    /// Standard deviation of the log of the ratio by sizes alone.
    pub spread: f64,
    /// Cells of units that had begun.
    pub cells: usize,
}

/// Sums of one side: at base, and at the time.
#[derive(Clone, Copy, Debug, Default)]
struct Side {
    observed: f64,
    expected: f64,
}

impl Side {
    fn add(&mut self, observed: f64, expected: f64) {
        self.observed += observed;
        self.expected += expected;
    }
}

/// Half an event on both sides of the ratio that arrangements are compared by, so that none is infinite.
const HALF: f64 = 0.5;
/// Farthest log ratio that is asked for.
const FARTHEST: f64 = 6.0;
/// Halvings of a stretch of log ratios: to a thousandth of a hundredth.
const HALVINGS: u32 = 16;

impl RatioPanel {
    /// Units.
    pub fn units(&self) -> usize {
        self.expected.len()
    }

    /// Times.
    pub fn times(&self) -> usize {
        self.expected.first().map_or(0, Vec::len)
    }

    /// Events after the start over those without it, group by group: each group's own level at its base times the change
    /// of the units that had not begun. `times` divides what the units of `real` had from their start on. None where a
    /// base is empty of events.
    ///
    /// Source: difference in differences of logs, groups and comparisons as Callaway & Sant'Anna (2021), J. Econometrics
    /// 225, 200-230; a ratio of sums, as rates are standardised indirectly (Breslow & Day 1987, section 2.3).
    pub fn contrast(
        &self,
        starts: &[Option<usize>],
        (real, times): (&[Option<usize>], f64),
        window: &Window,
        scales: &RatioScales,
    ) -> Option<RatioContrast> {
        let count = |unit: usize, time: usize| {
            let began = real[unit].is_some_and(|start| time >= start);
            self.observed[unit][time] / if began { times } else { 1.0 }
        };
        let mut sum = RatioContrast { observed: 0.0, without: 0.0, spread: 0.0, cells: 0 };
        let mut shares = vec![0.0; self.units()];
        let mut variance = 0.0;
        for group in Starts(starts).groups() {
            let base = usize::try_from(group as i32 + window.base.1).ok();
            let Some(last) = base.filter(|last| *last < self.times()) else { continue };
            let from = (group as i32 + window.base.0).max(0) as usize;
            let level: Vec<Side> = (0..self.units())
                .map(|unit| {
                    let mut side = Side::default();
                    (from..=last)
                        .for_each(|time| side.add(count(unit, time), self.expected[unit][time]));
                    side
                })
                .collect();
            let (mut after, mut other_after) = (0.0, 0.0);
            let (mut ours_expected, mut theirs_expected) = (0.0, 0.0);
            for time in window.event_times(group, self.times()) {
                let (mut ours, mut ours_base) = (Side::default(), Side::default());
                let (mut theirs, mut theirs_base) = (Side::default(), Side::default());
                let mut here = Vec::new();
                for unit in 0..self.units() {
                    let expected = self.expected[unit][time];
                    if expected <= 0.0 || level[unit].expected <= 0.0 {
                        continue;
                    }
                    let began = starts[unit] == Some(group);
                    if !began && starts[unit].is_some_and(|start| start <= time.max(last)) {
                        continue;
                    }
                    let (at, before) = if began {
                        (&mut ours, &mut ours_base)
                    } else {
                        (&mut theirs, &mut theirs_base)
                    };
                    at.add(count(unit, time), expected);
                    before.add(level[unit].observed, level[unit].expected);
                    here.push((unit, began, expected));
                }
                if ours.expected <= 0.0 || theirs.expected <= 0.0 {
                    continue;
                }
                if ours_base.observed <= 0.0 || theirs_base.observed <= 0.0 {
                    return None;
                }
                let level = ours_base.observed / ours_base.expected;
                let change =
                    theirs.observed / theirs.expected * theirs_base.expected / theirs_base.observed;
                sum.observed += ours.observed;
                sum.without += ours.expected * level * change;
                for (unit, began, expected) in here {
                    let share =
                        if began { expected } else { -expected * ours.expected / theirs.expected };
                    shares[unit] += share;
                    sum.cells += usize::from(began);
                }
                after += ours.expected;
                other_after += theirs.expected;
                (ours_expected, theirs_expected) = (ours_base.expected, theirs_base.expected);
            }
            if after > 0.0 {
                let parts = [after, other_after, ours_expected, theirs_expected];
                variance += after
                    * after
                    * parts.iter().map(|part| 1.0 / part).sum::<f64>()
                    * scales.chance;
            }
        }
        let total: f64 = shares.iter().filter(|share| **share > 0.0).sum();
        if total <= 0.0 {
            return None;
        }
        let lasting: f64 = shares.iter().map(|share| (share / total).powi(2)).sum();
        sum.spread = (variance / (total * total) + scales.between * lasting).sqrt();
        Some(sum)
    }

    /// How events scatter, whoever began: over chance, and between units in their changes across `split`.
    pub fn scales(&self, split: usize) -> RatioScales {
        let split = split.min(self.times());
        let common: Vec<f64> =
            (0..self.times()).map(|time| self.level(|_, at| at == time)).collect();
        let (mut squares, mut left) = (0.0, -(self.times() as f64 - 2.0).max(0.0));
        let mut changes = Vec::new();
        for unit in 0..self.units() {
            let mut sides = Vec::new();
            for half in [0..split, split..self.times()] {
                let fit = |time: usize| self.expected[unit][time] * common[time];
                let expected: f64 = half.clone().map(fit).sum();
                let observed: f64 = half.clone().map(|time| self.observed[unit][time]).sum();
                if expected <= 0.0 {
                    continue;
                }
                sides.push((observed + HALF, expected + HALF));
                let own = observed / expected;
                for time in half.filter(|time| own > 0.0 && fit(*time) > 0.0) {
                    let mean = fit(time) * own;
                    squares += (self.observed[unit][time] - mean).powi(2) / mean;
                    left += 1.0;
                }
                left -= f64::from(own > 0.0);
            }
            if let [(before, of_before), (after, of_after)] = sides[..] {
                let log = (after / of_after).ln() - (before / of_before).ln();
                changes.push((log, 1.0 / of_before + 1.0 / of_after));
            }
        }
        let chance = if left > 0.0 { (squares / left).max(1.0) } else { 1.0 };
        RatioScales { chance, between: excess(&changes, chance) }
    }

    /// Observed over expected of the cells that are.
    fn level(&self, is: impl Fn(usize, usize) -> bool) -> f64 {
        let mut side = Side::default();
        for unit in 0..self.units() {
            for time in (0..self.times()).filter(|time| is(unit, *time)) {
                side.add(self.observed[unit][time], self.expected[unit][time]);
            }
        }
        if side.expected > 0.0 { side.observed / side.expected } else { 0.0 }
    }
}

impl RatioContrast {
    /// The ratio; none where nothing was to be expected.
    pub fn ratio(&self) -> Option<f64> {
        (self.without > 0.0).then(|| self.observed / self.without)
    }

    /// Log of the ratio over its spread, half an event on either side.
    pub fn standing(&self) -> f64 {
        ((self.observed + HALF) / (self.without + HALF)).ln() / self.spread
    }
}

/// Every arrangement of the starts of one panel, to ask p values of.
#[derive(Clone, Copy, Debug)]
pub struct RatioRanked<'a> {
    /// Events and expected ones.
    pub panel: &'a RatioPanel,
    /// Arrangements, the first as it happened.
    pub arrangements: &'a Arrangements,
    /// What is compared.
    pub window: Window,
    /// How events scatter.
    pub scales: RatioScales,
}

impl RatioRanked<'_> {
    fn at(&self, starts: &[Option<usize>], times: f64) -> Option<f64> {
        let real = (self.arrangements.starts[0].as_slice(), times);
        Some(self.panel.contrast(starts, real, &self.window, &self.scales)?.standing())
    }

    /// The events as they were.
    pub fn own(&self) -> Option<RatioContrast> {
        let own = self.arrangements.starts[0].as_slice();
        self.panel.contrast(own, (own, 1.0), &self.window, &self.scales)
    }

    /// Statistics of all arrangements if events were `times` as many wherever something really began.
    fn all(&self, times: f64) -> Option<(f64, Vec<f64>)> {
        let starts = &self.arrangements.starts;
        let own = self.at(&starts[0], times)?;
        Some((own, starts.iter().filter_map(|starts| self.at(starts, times)).collect()))
    }

    /// Share of arrangements as far from no difference as the real one, two-sided.
    pub fn p(&self, times: f64) -> Option<f64> {
        let (own, all) = self.all(times)?;
        let as_far = all.iter().filter(|one| one.abs() >= own.abs() * (1.0 - 1e-9)).count();
        Some(as_far as f64 / all.len() as f64)
    }

    /// Share of arrangements as high as the real one.
    pub fn p_upper(&self) -> Option<f64> {
        let (own, all) = self.all(1.0)?;
        let as_high = all.iter().filter(|one| **one >= own - 1e-9 * own.abs()).count();
        Some(as_high as f64 / all.len() as f64)
    }

    /// The ratios whose p is above `1 - level`, or above `smallest_p` where that is more; by halving, from the ratio outwards.
    pub fn inverted(&self, level: f64, smallest_p: f64) -> Inverted {
        let tail = (1.0 - level).max(smallest_p);
        let ratio = self.own().and_then(|own| own.ratio());
        let is_kept = |log: f64| self.p(log.exp()).is_some_and(|p| p > tail * (1.0 + 1e-9));
        let end = |way: f64| {
            let from = ratio.filter(|ratio| *ratio > 0.0)?.ln();
            let (mut inside, mut outside) = (from, from + way * FARTHEST);
            if is_kept(outside) {
                return None;
            }
            for _ in 0..HALVINGS {
                let middle = 0.5 * (inside + outside);
                if is_kept(middle) { inside = middle } else { outside = middle }
            }
            Some((0.5 * (inside + outside)).exp())
        };
        Inverted { low: end(-1.0), high: end(1.0), level: 1.0 - tail }
    }
}
