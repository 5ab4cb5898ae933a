//! Hazards of segments that trials pass one or several of: where on a path does an event enter?
//!
//! A trial passes segments with exposures `x`; its chance of no event is `exp(-(fixed + x'lambda))`,
//! `lambda >= 0`. Maximum likelihood is a concave problem. Segments whose exposures are equal in every
//! row are fitted as their sum; segments that the rows cannot tell apart are said to be so. Where all
//! trials pass the segments from the first on, the fit is the nonparametric maximum likelihood
//! estimate of Turnbull (1976). Stops at point estimates: intervals are in `segment_profile`,
//! clusters in `segment_clusters`, comparisons in `segment_split`.

use super::climb::{CAP, climb};
use super::design::{Part, determined, groups, parts, rank};
use super::likelihood::{Pattern, derivatives, gain, hazards, log_likelihood};
use crate::stats::special::input;

/// Hazard, at a group's largest exposure, from which a climb asks whether it ends anywhere; also
/// where climbs begin at most, since nothing bends beyond.
pub(super) const STEEP: f64 = 15.0;

/// What the log-likelihood may lose on the way to the cap where it rises for ever: rounding.
const ROUNDING: f64 = 1e-8;

/// Hazard, at a group's largest exposure, below which it lies on the boundary.
const NONE: f64 = 1e-12;

/// Trials that pass the same segments.
#[derive(Clone, Debug, PartialEq)]
pub struct SegmentRow {
    /// Exposure to every segment, at least 0: how often the trial passes it, or an amount.
    pub exposure: Vec<f64>,
    /// A known hazard that is added, at least 0.
    pub fixed: f64,
    /// Trials of the row.
    pub n: f64,
    /// Trials among them with an event.
    pub events: f64,
}

/// A fit, with what intervals need.
#[derive(Clone, Debug)]
pub struct SegmentFit {
    /// Segments that stand together, in the order of their first; those nobody passes are in none.
    pub groups: Vec<Vec<usize>>,
    /// Whether the climb arrived.
    pub converged: bool,
    /// How many hazards the rows tell apart.
    pub rank: usize,
    pub(super) patterns: Vec<Pattern>,
    pub(super) parts: Vec<Part>,
    /// Largest exposure of each group; hazards `at` are per that.
    pub(super) scale: Vec<f64>,
    pub(super) at: Vec<f64>,
    pub(super) hazards: Vec<f64>,
    identified: Vec<bool>,
}

impl SegmentFit {
    /// Fits `columns` segments. A row without exposure, or with an exposure that is no number, says
    /// nothing and is left out; events above `n` count as `n`.
    ///
    /// Source: the complementary log-log model for grouped exposure with an identity scale, that is
    /// current-status data with additive hazards; nested exposures: Ayer et al. (1955), Ann. Math.
    /// Stat. 26, 641-647; the general case Turnbull (1976), J. R. Stat. Soc. B 38, 290-295.
    pub fn of(rows: &[SegmentRow], columns: usize) -> SegmentFit {
        let exposures: Vec<Vec<f64>> = rows.iter().map(|row| exposures(row, columns)).collect();
        let counts: Vec<(f64, f64)> =
            rows.iter().zip(&exposures).map(|(row, exposure)| counts(row, exposure)).collect();
        let telling: Vec<&[f64]> = exposures
            .iter()
            .zip(&counts)
            .filter(|(_, (n, _))| *n > 0.0)
            .map(|(exposure, _)| exposure.as_slice())
            .collect();
        let groups = groups(&telling, columns);
        let largest = |group: &Vec<usize>| {
            telling.iter().fold(0.0_f64, |most, exposure| most.max(exposure[group[0]]))
        };
        let scale: Vec<f64> = groups.iter().map(largest).collect();
        let pattern =
            |((row, exposure), (n, events)): ((&SegmentRow, &Vec<f64>), &(f64, f64))| Pattern {
                exposure: groups
                    .iter()
                    .zip(&scale)
                    .map(|(group, most)| exposure[group[0]] / most)
                    .collect(),
                fixed: input::amount(row.fixed),
                clean: n - events,
                events: *events,
            };
        let patterns: Vec<Pattern> =
            rows.iter().zip(&exposures).zip(&counts).map(pattern).collect();
        let passes = |pattern: &Pattern| -> Vec<usize> {
            (0..groups.len()).filter(|group| pattern.exposure[*group] > 0.0).collect()
        };
        let passed: Vec<Vec<usize>> = patterns.iter().map(passes).collect();
        let mut fit = SegmentFit {
            parts: parts(&passed, groups.len()),
            at: start(&patterns, groups.len()),
            groups,
            converged: false,
            rank: 0,
            patterns,
            scale,
            hazards: Vec::new(),
            identified: Vec::new(),
        };
        fit.climb();
        fit.identify();
        fit
    }

    /// The same design and start on other counts, row by row; groups that these counts cannot tell
    /// apart keep near what they had. For resampling.
    #[must_use]
    pub fn refitted(&self, counts: &[(f64, f64)]) -> SegmentFit {
        let mut fit = self.clone();
        for (pattern, (n, events)) in fit.patterns.iter_mut().zip(counts) {
            let alive = pattern.exposure.iter().any(|x| *x > 0.0);
            let n = if alive { input::amount(*n) } else { 0.0 };
            pattern.events = input::amount(*events).min(n);
            pattern.clean = n - pattern.events;
        }
        // From inside the bounds: a group at 0 has no way of its own to see events come.
        fit.at.iter_mut().for_each(|x| *x = x.clamp(1e-3, STEEP));
        fit.climb();
        fit
    }

    fn climb(&mut self) {
        // A pattern that passes no segment has its known hazard alone.
        self.hazards = self.patterns.iter().map(|pattern| pattern.fixed).collect();
        self.converged = true;
        for part in self.parts.clone() {
            let start: Vec<f64> = part.groups.iter().map(|group| self.at[*group]).collect();
            let top = climb(&self.part_patterns(&part), &start, None);
            for (group, at) in part.groups.iter().zip(&top.at) {
                self.at[*group] = *at;
            }
            for (row, hazard) in part.rows.iter().zip(&top.hazards) {
                self.hazards[*row] = *hazard;
            }
            self.converged &= top.arrived;
        }
        // A hazard that rises for ever stops where the climb no longer notices: it goes to the cap.
        for group in 0..self.at.len() {
            if self.at[group] < STEEP || self.at[group] >= CAP {
                continue;
            }
            let stopped = std::mem::replace(&mut self.at[group], CAP);
            let there = hazards(&self.patterns, &self.at);
            if gain(&self.patterns, &self.hazards, &there) >= -ROUNDING {
                self.hazards = there;
            } else {
                self.at[group] = stopped;
            }
        }
    }

    /// The patterns of a part, with its groups alone.
    pub(super) fn part_patterns(&self, part: &Part) -> Vec<Pattern> {
        let of_part = |row: &usize| {
            let Pattern { exposure, fixed, clean, events } = &self.patterns[*row];
            let exposure = part.groups.iter().map(|group| exposure[*group]).collect();
            Pattern { exposure, fixed: *fixed, clean: *clean, events: *events }
        };
        part.rows.iter().map(of_part).collect()
    }

    fn identify(&mut self) {
        let size = self.groups.len();
        let exposures_of = |groups: &[usize], wanted: &dyn Fn(&Pattern) -> bool| -> Vec<Vec<f64>> {
            let kept = self.patterns.iter().filter(|p| p.clean + p.events > 0.0 && wanted(p));
            kept.map(|p| groups.iter().map(|group| p.exposure[*group]).collect()).collect()
        };
        let all: Vec<usize> = (0..size).collect();
        let whole = exposures_of(&all, &|_| true);
        let mut identified = determined(&whole, size);
        // A pattern that passes a group where the event is certain says nothing of its other groups.
        let certain = |p: &Pattern| (0..size).any(|g| self.is_certain(g) && p.exposure[g] > 0.0);
        let open: Vec<usize> = (0..size).filter(|g| !self.is_certain(*g)).collect();
        // And among groups inside their bounds only patterns with events bend the likelihood: a tie
        // between the others leaves a flat ridge.
        let inside: Vec<usize> = open.iter().copied().filter(|g| self.at[*g] > NONE).collect();
        let by_open = determined(&exposures_of(&open, &|p| !certain(p)), open.len());
        let bent = exposures_of(&inside, &|p| p.events > 0.0 && !certain(p));
        let by_events = determined(&bent, inside.len());
        for (group, known) in open.iter().zip(by_open).chain(inside.iter().zip(by_events)) {
            identified[*group] &= known;
        }
        let rank = rank(&whole, size);
        (self.rank, self.identified) = (rank, identified);
    }

    /// The group of a segment; none if nobody passes it.
    pub fn group_of(&self, segment: usize) -> Option<usize> {
        self.groups.iter().position(|group| group.contains(&segment))
    }

    /// Whether the rows determine the sum of a group.
    pub fn is_identified(&self, group: usize) -> bool {
        self.identified.get(group).copied().unwrap_or(false)
    }

    /// Whether every trial that passes it has an event there, as far as the fit can tell.
    pub fn is_certain(&self, group: usize) -> bool {
        self.at.get(group).is_some_and(|at| *at >= CAP)
    }

    /// Whether the hazard lies on its lower bound.
    pub fn is_zero(&self, group: usize) -> bool {
        self.at.get(group).is_some_and(|at| *at <= NONE)
    }

    /// The sum of a group's hazards where the climb ended, per unit of exposure, determined or not; of
    /// a certain one some large number.
    pub fn hazard(&self, group: usize) -> f64 {
        if self.is_zero(group) { 0.0 } else { self.at[group] / self.scale[group] }
    }

    /// Trials that pass a group, and the events among them.
    pub fn passing(&self, group: usize) -> (f64, f64) {
        let passing = self.patterns.iter().filter(|pattern| pattern.exposure[group] > 0.0);
        passing.fold((0.0, 0.0), |sum, p| (sum.0 + p.clean + p.events, sum.1 + p.events))
    }

    /// Trials and events, row by row, as they were fitted.
    pub fn counts(&self) -> Vec<(f64, f64)> {
        self.patterns.iter().map(|p| (p.clean + p.events, p.events)).collect()
    }

    /// Log-likelihood at the fit (of the trials, without the binomial coefficients).
    pub fn log_likelihood(&self) -> f64 {
        log_likelihood(&self.patterns, &self.hazards)
    }

    /// Fitted chance of an event, row by row.
    pub fn fitted(&self) -> Vec<f64> {
        self.hazards.iter().map(|hazard| -(-hazard).exp_m1()).collect()
    }

    /// Derivative of the log-likelihood by the hazard of every group, per unit of exposure: 0 inside
    /// the bounds, at most 0 for a hazard of 0.
    pub fn score(&self) -> Vec<f64> {
        let (gradient, _) = derivatives(&self.patterns, &self.hazards);
        gradient.iter().zip(&self.scale).map(|(slope, scale)| slope * scale).collect()
    }
}

fn exposures(row: &SegmentRow, columns: usize) -> Vec<f64> {
    (0..columns).map(|at| input::amount(row.exposure.get(at).copied().unwrap_or(0.0))).collect()
}

fn counts(row: &SegmentRow, exposure: &[f64]) -> (f64, f64) {
    let sound = row.exposure.iter().all(|x| x.is_finite() && *x >= 0.0);
    if !sound || exposure.iter().all(|x| *x == 0.0) {
        return (0.0, 0.0);
    }
    let n = input::amount(row.n);
    (n, input::amount(row.events).min(n))
}

/// The same hazard everywhere, so that the share of all events comes out right.
fn start(patterns: &[Pattern], size: usize) -> Vec<f64> {
    let (mut n, mut events, mut passed) = (0.0, 0.0, 0.0);
    for pattern in patterns {
        let trials = pattern.clean + pattern.events;
        n += trials;
        events += pattern.events;
        passed += trials * pattern.exposure.iter().sum::<f64>();
    }
    let hazard = -(-(events + 0.5) / (n + 1.0)).ln_1p();
    let each = if passed > 0.0 { hazard * n / passed } else { hazard };
    vec![each.clamp(1e-9, CAP / 2.0); size]
}
