//! Units that began something against units that had not: the difference, how sure it is, and what speaks against it.
//!
//! Times are months: the base is the year before the start, and the time of the start belongs to neither side.

use rayon::prelude::*;

use super::arrangements::Arrangements;
use super::panel::{Contrast, Panel, Scales, Window};
use super::ranked::{EQUAL, Ranked};
use super::ratio_panel::{RatioPanel, RatioRanked, RatioScales};
use crate::stats::draws::bootstrap::{Resampled, expanded_percentile, poisson_weight};

/// Arrangements that limits of ratios and single months rest on.
const DRAWN_FOR_LIMITS: usize = 999;
/// Units on either side from which on they are resampled too.
const ENOUGH_UNITS: u64 = 10;
/// Replicates of that.
const REPLICATES: u64 = 999;
/// After the month of the start, which belongs to neither side.
const SINCE: (i32, i32) = (1, 10_000);
/// The year before the start.
const YEAR_BEFORE: (i32, i32) = (-12, -1);

/// All months since, with the year before.
pub const WHOLE: Window = Window { base: YEAR_BEFORE, event: SINCE };
/// Without the quarter before the start.
pub const WITHOUT_QUARTER: Window = Window { base: (-15, -4), event: SINCE };
/// As if it had begun half a year earlier: until it did begin.
pub const PLACEBO: Window = Window { base: (-18, -7), event: (-5, -1) };
/// The quarter before the start, with the year before that.
const QUARTER_BEFORE: Window = Window { base: (-15, -4), event: (-3, -1) };
/// The quarters of the year before, each with the whole of it.
const QUARTERS: [(i32, i32); 4] = [(-12, -10), (-9, -7), (-6, -4), (-3, -1)];

/// Chance below which months before the start count as not parallel.
const NOT_PARALLEL: f64 = 0.05;
/// Chance below which the quarter before the start counts as bad: generous, since a start after a bad quarter is the
/// commonest false success.
const BAD: f64 = 0.1;
/// The same for a quarter that is among the worst of all sites, too.
const RATHER_BAD: f64 = 0.3;
/// What a share of arrangements may lie above its bound by rounding.
const EVEN: f64 = 1e-9;
/// The same by the sites' own scatter, in standard deviations: a twentieth on one side.
const BAD_DEVIATIONS: f64 = 1.645;

/// An estimate, and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found {
    /// Difference of shares, or ratio of counts.
    pub value: f64,
    /// Lower limit at `level`; none where there is none.
    pub low: Option<f64>,
    /// Upper limit.
    pub high: Option<f64>,
    /// Level of the limits.
    pub level: f64,
    /// Chance of a difference as large, either way, if nothing had changed.
    pub p: f64,
    /// The smallest that could have come out.
    pub smallest_p: f64,
    /// Arrangements that it is compared with, itself among them; 0 for a series.
    pub arrangements: u64,
    /// Cells of units since their starts.
    pub cells: u64,
    /// Events of a ratio that were to be expected; none of a difference.
    pub without: Option<f64>,
}

/// What speaks against an estimate.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Doubts {
    /// Chance of months before that differ as much.
    pub parallel_p: Option<f64>,
    /// Chance of a quarter before as bad.
    pub chosen_p: Option<f64>,
    /// The quarter before: a difference, or a ratio.
    pub quarter: Option<f64>,
    /// Whether the months before went another way.
    pub not_parallel: bool,
    /// Whether it began after a bad quarter.
    pub chosen_when_bad: bool,
}

enum Kind {
    /// The last is what values are multiplied by to be differences of shares.
    Share(Panel, Scales, f64),
    Count(RatioPanel, RatioScales),
}

/// Units over times, and which of them began when.
#[derive(Clone, Debug)]
pub struct Followed<'a> {
    /// By unit and time: units of exposure, events, and the events that were to be expected of them.
    pub cells: &'a [Vec<[f64; 3]>],
    /// Start of each unit; none for one that never began.
    pub starts: &'a [Option<usize>],
    /// Whether many events are good, as those of a passing look are.
    pub more_is_better: bool,
}

/// How certainty is found.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Level of the limits.
    pub level: f64,
    /// Of all that is drawn.
    pub seed: u64,
    /// Most arrangements that are drawn where there are more.
    pub most: usize,
}

/// Units followed, with the arrangements of their starts.
pub struct Compared {
    kind: Kind,
    more_is_better: bool,
    all: Arrangements,
    few: Arrangements,
    effort: Effort,
    sides: (u64, u64),
}

impl Compared {
    /// Events as shares of their units, by differences.
    pub fn of_shares(followed: &Followed, effort: Effort) -> Compared {
        let (panel, by) = followed.shares();
        let scales = panel.scales(followed.split());
        Compared::of(Kind::Share(panel, scales, by), followed, effort)
    }

    /// Events over the expected ones, by ratios.
    pub fn of_counts(followed: &Followed, effort: Effort) -> Compared {
        let panel = followed.counts();
        let scales = panel.scales(followed.split());
        Compared::of(Kind::Count(panel, scales), followed, effort)
    }

    fn of(kind: Kind, followed: &Followed, effort: Effort) -> Compared {
        let all = Arrangements::of(followed.starts, effort.most, effort.seed);
        let mut few = all.clone();
        few.starts.truncate(DRAWN_FOR_LIMITS + 1);
        let (more_is_better, sides) = (followed.more_is_better, followed.sides());
        Compared { kind, more_is_better, all, few, effort, sides }
    }

    /// The estimate over a window; by fewer arrangements where `briefly`. None where nothing can be compared.
    pub fn over(&self, window: Window, briefly: bool) -> Option<Found> {
        let arrangements = if briefly { &self.few } else { &self.all };
        match &self.kind {
            Kind::Share(panel, scales, by) => {
                let ranked = ranked(panel, scales, arrangements, &window)?;
                let inverted = ranked.inverted(self.effort.level);
                Some(Found {
                    value: ranked.own().value * by,
                    low: inverted.low.map(|low| low * by),
                    high: inverted.high.map(|high| high * by),
                    level: inverted.level,
                    p: ranked.p(0.0),
                    smallest_p: ranked.smallest_p(),
                    arrangements: ranked.arrangements() as u64,
                    cells: ranked.own().cells as u64,
                    without: None,
                })
            }
            Kind::Count(panel, scales) => {
                let ranked =
                    |arrangements| RatioRanked { panel, arrangements, window, scales: *scales };
                let own = ranked(arrangements).own()?;
                let smallest_p = smallest_p(arrangements);
                let inverted = ranked(&self.few).inverted(self.effort.level, smallest_p);
                Some(Found {
                    value: own.ratio()?,
                    low: inverted.low,
                    high: inverted.high,
                    level: inverted.level,
                    p: ranked(arrangements).p(1.0)?,
                    smallest_p,
                    arrangements: arrangements.starts.len() as u64,
                    cells: own.cells as u64,
                    without: Some(own.without),
                })
            }
        }
    }

    /// Month by month from a year before the start to `last`.
    pub fn by_month(&self, last: i32) -> Vec<(i32, Found)> {
        let months: Vec<i32> = (YEAR_BEFORE.0..=last).filter(|since| *since != 0).collect();
        let of_month = |since: &i32| {
            let window = Window { base: YEAR_BEFORE, event: (*since, *since) };
            Some((*since, self.over(window, true)?))
        };
        months.par_iter().filter_map(of_month).collect()
    }

    /// The months before, and the quarter before the start.
    pub fn doubts(&self) -> Doubts {
        let parallel_p = self.parallel_p();
        let quarter = self.quarter_before();
        Doubts {
            parallel_p,
            chosen_p: quarter.map(|(p, ..)| p),
            quarter: quarter.map(|(_, value, _)| value),
            not_parallel: parallel_p.is_some_and(|p| p <= NOT_PARALLEL + EVEN),
            chosen_when_bad: quarter.is_some_and(|(.., outside)| outside),
        }
    }

    /// Chance of quarters before the start that lie as far from their year: the sum of their squared standings.
    fn parallel_p(&self) -> Option<f64> {
        let windows = QUARTERS.map(|event| Window { base: YEAR_BEFORE, event });
        let sum = |starts: &Vec<Option<usize>>| -> f64 {
            windows.iter().filter_map(|window| self.standing(starts, window)).map(|z| z * z).sum()
        };
        let sums: Vec<f64> = self.few.starts.par_iter().map(sum).collect();
        let own = sums.first().copied().filter(|own| *own > 0.0)?;
        let as_far = sums.iter().filter(|sum| **sum >= own * (1.0 - EQUAL)).count();
        Some(as_far as f64 / sums.len() as f64)
    }

    /// Chance of as bad a quarter before the start, what it was, and whether it lies outside what is to be expected.
    fn quarter_before(&self) -> Option<(f64, f64, bool)> {
        let bad = if self.more_is_better { -1.0 } else { 1.0 };
        let standing = |starts: &Vec<Option<usize>>| self.standing(starts, &QUARTER_BEFORE);
        let (own, p) = self.as_far(|starts| Some(bad * standing(starts)?))?;
        // A quarter that is both among the worst of all sites and rather worse than usual there: who is chosen for the one
        // is chosen for the other.
        let level = self.as_far(|starts| Some(bad * self.quarter_level(starts)?));
        let is_worst = level.is_some_and(|(_, p)| p <= BAD + EVEN);
        let outside = p <= BAD + EVEN || own > BAD_DEVIATIONS || is_worst && p <= RATHER_BAD + EVEN;
        let own_starts = self.all.starts[0].as_slice();
        let value = match &self.kind {
            Kind::Share(panel, scales, by) => {
                self.contrast(panel, scales, own_starts, &QUARTER_BEFORE)?.value * by
            }
            Kind::Count(panel, scales) => {
                let real = (own_starts, 1.0);
                panel.contrast(own_starts, real, &QUARTER_BEFORE, scales)?.ratio()?
            }
        };
        Some((p, value, outside))
    }

    /// The statistic of the real starts, and the share of arrangements that are as high.
    fn as_far(&self, of: impl Fn(&Vec<Option<usize>>) -> Option<f64> + Sync) -> Option<(f64, f64)> {
        let all: Vec<f64> = self.all.starts.par_iter().filter_map(&of).collect();
        let own = of(&self.all.starts[0])?;
        let as_high = all.iter().filter(|other| **other >= own - EQUAL * own.abs()).count();
        Some((own, as_high as f64 / all.len() as f64))
    }

    /// Mean level of the sites in the quarter before they began, less that of the sites that had not begun.
    fn quarter_level(&self, starts: &[Option<usize>]) -> Option<f64> {
        let (sums, weights) = match &self.kind {
            Kind::Share(panel, ..) => (&panel.amount, &panel.weight),
            Kind::Count(panel, _) => (&panel.observed, &panel.expected),
        };
        let level = |unit: usize, start: usize| {
            let months = start.saturating_sub(3)..start;
            let weight: f64 = weights[unit].get(months.clone())?.iter().sum();
            let sum: f64 = sums[unit].get(months)?.iter().sum();
            (weight > 0.0).then(|| sum / weight)
        };
        let mean = |levels: Vec<f64>| {
            (!levels.is_empty()).then(|| levels.iter().sum::<f64>() / levels.len() as f64)
        };
        let units = 0..starts.len();
        let ours = units.clone().filter_map(|unit| {
            let start = starts[unit]?;
            let others =
                units.clone().filter(|other| starts[*other].is_none_or(|other| other > start));
            let theirs = mean(others.filter_map(|other| level(other, start)).collect())?;
            Some(level(unit, start)? - theirs)
        });
        mean(ours.collect())
    }

    fn contrast(
        &self,
        panel: &Panel,
        scales: &Scales,
        starts: &[Option<usize>],
        window: &Window,
    ) -> Option<Contrast> {
        panel.contrast(starts, &self.all.starts[0], window, Some(scales))
    }

    /// An arrangement's difference over its spread.
    fn standing(&self, starts: &[Option<usize>], window: &Window) -> Option<f64> {
        match &self.kind {
            Kind::Share(panel, scales, ..) => {
                let found = self.contrast(panel, scales, starts, window)?;
                Some(found.value / found.spread)
            }
            Kind::Count(panel, scales) => {
                let real = (self.all.starts[0].as_slice(), 1.0);
                Some(panel.contrast(starts, real, window, scales)?.standing())
            }
        }
    }

    /// The estimate with limits from resampling units within their start; none where either side has fewer than ten.
    pub fn resampled(&self) -> Option<[Option<f64>; 3]> {
        if self.sides.0.min(self.sides.1) < ENOUGH_UNITS {
            return None;
        }
        let value = self.drawn(|_| 1)?;
        let draws: Vec<Option<f64>> = (0..REPLICATES)
            .into_par_iter()
            .map(|replicate| self.drawn(|unit| poisson_weight(self.effort.seed, replicate, unit)))
            .collect();
        let clusters = self.sides.0.min(self.sides.1);
        let of = Resampled { value: Some(value), n: 0.0, events: 0, clusters };
        let found = expanded_percentile(of, &draws, self.effort.level);
        Some([found.low, found.value, found.high])
    }

    /// The estimate with each unit so many times.
    fn drawn(&self, times: impl Fn(u64) -> u32) -> Option<f64> {
        let own = &self.all.starts[0];
        let units: Vec<usize> =
            (0..own.len()).flat_map(|unit| (0..times(unit as u64)).map(move |_| unit)).collect();
        let starts: Vec<Option<usize>> = units.iter().map(|unit| own[*unit]).collect();
        let pick = |rows: &[Vec<f64>]| units.iter().map(|unit| rows[*unit].clone()).collect();
        match &self.kind {
            Kind::Share(panel, scales, by) => {
                let noise = units.iter().map(|unit| panel.noise[*unit]).collect();
                let drawn =
                    Panel { amount: pick(&panel.amount), weight: pick(&panel.weight), noise };
                Some(drawn.contrast(&starts, &starts, &WHOLE, Some(scales))?.value * by)
            }
            Kind::Count(panel, scales) => {
                let drawn =
                    RatioPanel { observed: pick(&panel.observed), expected: pick(&panel.expected) };
                drawn.contrast(&starts, (&starts, 1.0), &WHOLE, scales)?.ratio()
            }
        }
    }
}

fn ranked(
    panel: &Panel,
    scales: &Scales,
    arrangements: &Arrangements,
    window: &Window,
) -> Option<Ranked> {
    let real = &arrangements.starts[0];
    let contrast = |starts: &Vec<Option<usize>>| panel.contrast(starts, real, window, Some(scales));
    Ranked::of(arrangements.starts.par_iter().map(contrast).collect())
}

/// The smallest p of a ratio: its own arrangement, and the one that changes the sides where both are as many.
fn smallest_p(arrangements: &Arrangements) -> f64 {
    let own = &arrangements.starts[0];
    let begun: Vec<usize> = own.iter().flatten().copied().collect();
    let halves = begun.len() * 2 == own.len() && begun.windows(2).all(|pair| pair[0] == pair[1]);
    // A sample of the arrangements may hold the other half, or not.
    let turned = || {
        let start = begun.first().copied();
        let other: Vec<Option<usize>> =
            own.iter().map(|site| if site.is_some() { None } else { start }).collect();
        arrangements.starts.iter().filter(|starts| **starts == other).count()
    };
    let as_far = 1 + if halves { turned() } else { 0 };
    as_far as f64 / arrangements.starts.len() as f64
}

impl Followed<'_> {
    /// Shares less the expected ones, each over what a small change of the odds moves it by at its unit (`p (1 - p)`): what
    /// moves the odds of all units alike (a season, a rule) then moves all values alike, those of a unit near 1 too. And what
    /// a value is multiplied by to be a difference of shares at the units that began.
    fn shares(&self) -> (Panel, f64) {
        // Half an event on either side, so that no unit is without any.
        let moved = |times: &Vec<[f64; 3]>| {
            let (n, y) = times.iter().fold((1.0, 0.5), |(n, y), cell| (n + cell[0], y + cell[1]));
            y / n * (1.0 - y / n)
        };
        let moved: Vec<f64> = self.cells.iter().map(moved).collect();
        let value = |(times, by): (&Vec<[f64; 3]>, &f64)| -> Vec<f64> {
            times.iter().map(|cell| (cell[1] - cell[2]) / by).collect()
        };
        let panel = Panel {
            amount: self.cells.iter().zip(&moved).map(value).collect(),
            weight: self
                .cells
                .iter()
                .map(|times| times.iter().map(|cell| cell[0]).collect())
                .collect(),
            noise: moved.iter().map(|by| 1.0 / by).collect(),
        };
        let (mut units, mut sum) = (0.0, 0.0);
        for ((start, times), by) in self.starts.iter().zip(self.cells).zip(&moved) {
            let since = start.map_or(times.len(), |start| start + 1);
            let own: f64 = times.iter().skip(since).map(|cell| cell[0]).sum();
            units += own;
            sum += own * by;
        }
        (panel, if units > 0.0 { sum / units } else { 0.0 })
    }

    fn counts(&self) -> RatioPanel {
        let rows = |of: fn(&[f64; 3]) -> f64| -> Vec<Vec<f64>> {
            self.cells.iter().map(|times| times.iter().map(of).collect()).collect()
        };
        RatioPanel { observed: rows(|cell| cell[1]), expected: rows(|cell| cell[2]) }
    }

    /// The middle one of the starts: where long stretches of time are parted.
    fn split(&self) -> usize {
        let mut starts: Vec<usize> = self.starts.iter().flatten().copied().collect();
        starts.sort_unstable();
        starts.get(starts.len() / 2).copied().unwrap_or(0)
    }

    /// Units that began, and those that had not when the first one did; who begins later is both.
    pub fn sides(&self) -> (u64, u64) {
        let first = self.starts.iter().flatten().copied().min().unwrap_or(0);
        let later = |start: &&Option<usize>| start.is_none_or(|start| start > first + 1);
        let others = self.starts.iter().filter(later).count();
        (self.starts.iter().flatten().count() as u64, others as u64)
    }
}
