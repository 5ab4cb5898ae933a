//! Units followed over times, some of which begin something at a time of their own: the mean difference from
//! those that have not begun, group by group of start.
//!
//! The estimate is linear in the values, so its scatter follows from the sizes of the units alone and is the same
//! whatever the values are; that is what other arrangements of the starts are made comparable by. Promises: a cell
//! without a weight counts nowhere. Stops at differences of means; ratios of counts are in `ratio_panel`.

use super::arrangements::Starts;

/// Sums over unit and time: `amount / weight` is the value, no weight is no value.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// By unit, by time.
    pub amount: Vec<Vec<f64>>,
    /// By unit, by time; at least 0.
    pub weight: Vec<Vec<f64>>,
    /// By unit: variance of a value of weight 1, over that of the others; above 0.
    pub noise: Vec<f64>,
}

/// Which times are compared, counted from the start of a group: both ends belong to them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// Times that differences are taken from; before the start.
    pub base: (i32, i32),
    /// Times whose differences are averaged.
    pub event: (i32, i32),
}

/// How values scatter about what is common to all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scales {
    /// Variance of a value of weight 1 from time to time.
    pub within: f64,
    /// Variance of the change of a unit between two long stretches of time, whatever its weight.
    pub between: f64,
}

/// A difference and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contrast {
    /// Mean difference.
    pub value: f64,
    /// What it would be if the units that really began were 1 higher from then on, all else 0.
    pub of_one: f64,
    /// Its standard deviation by the sizes alone; 1 without scales.
    pub spread: f64,
    /// Cells of units that had begun.
    pub cells: usize,
    /// Their weight.
    pub weight: f64,
}

impl Panel {
    /// Units.
    pub fn units(&self) -> usize {
        self.weight.len()
    }

    /// Times.
    pub fn times(&self) -> usize {
        self.weight.first().map_or(0, Vec::len)
    }

    /// Value of a cell.
    pub fn value(&self, unit: usize, time: usize) -> Option<f64> {
        let weight = self.weight[unit][time];
        (weight > 0.0).then(|| self.amount[unit][time] / weight)
    }

    /// The mean over groups of start and times of the difference between units that began and units that have not
    /// begun by then, each as a difference from its own base. Groups and times count by the weight of the units that
    /// began. Without `scales` every cell counts by its weight and the spread is 1; with them a unit counts the less
    /// by its weight the more units differ in their changes.
    ///
    /// `real` are the starts as they were, for [`Contrast::of_one`]. None where no group has both sides.
    ///
    /// Source: Callaway & Sant'Anna (2021), J. Econometrics 225, 200-230: ATT(g,t) with never and not yet treated
    /// units for comparison and its aggregates; a base of several times as their equation for one, by its mean.
    pub fn contrast(
        &self,
        starts: &[Option<usize>],
        real: &[Option<usize>],
        window: &Window,
        scales: Option<&Scales>,
    ) -> Option<Contrast> {
        let trust = self.trust(scales);
        let mut load = vec![vec![0.0; self.times()]; self.units()];
        let mut lasting = vec![0.0; self.units()];
        let (mut total, mut cells) = (0.0, 0);
        for group in Starts(starts).groups() {
            let bases = self.bases(window, group);
            for time in window.event_times(group, self.times()) {
                let last_base = (group as i32 + window.base.1).max(0) as usize;
                let has = |unit: &usize| self.weight[*unit][time] > 0.0 && bases[*unit].is_some();
                let began =
                    || (0..self.units()).filter(|unit| starts[*unit] == Some(group)).filter(has);
                let not_yet = |unit: &usize| {
                    let later = |start| start != group && start > time.max(last_base);
                    starts[*unit].is_none_or(later)
                };
                let others = || (0..self.units()).filter(not_yet).filter(has);
                let weight = |unit: usize| self.weight[unit][time] * trust[unit];
                let (ours, theirs): (f64, f64) =
                    (began().map(weight).sum(), others().map(weight).sum());
                if ours <= 0.0 || theirs <= 0.0 {
                    continue;
                }
                total += ours;
                let sides = began()
                    .map(|unit| (unit, weight(unit)))
                    .chain(others().map(|unit| (unit, -ours * weight(unit) / theirs)));
                for (unit, share) in sides {
                    load[unit][time] += share;
                    lasting[unit] += share;
                    let Some((from, to, base)) = bases[unit] else { continue };
                    let weights = &self.weight[unit][from..=to];
                    for (load, weight) in load[unit][from..=to].iter_mut().zip(weights) {
                        *load -= share * weight / base;
                    }
                }
                cells += began().count();
            }
        }
        (total > 0.0).then(|| self.read(&load, &lasting, real, (total, cells), scales))
    }

    /// First and last base time of a group, and the weight in them, by unit.
    fn bases(&self, window: &Window, group: usize) -> Vec<Option<(usize, usize, f64)>> {
        let from = (group as i32 + window.base.0).max(0);
        let to = group as i32 + window.base.1;
        let of_unit = |weights: &Vec<f64>| {
            let (from, to) = (from as usize, usize::try_from(to).ok()?);
            let weight: f64 = weights.get(from..=to)?.iter().sum();
            (weight > 0.0).then_some((from, to, weight))
        };
        self.weight.iter().map(of_unit).collect()
    }

    /// What a unit's weight is multiplied by, so that large ones do not count for more than they can tell.
    fn trust(&self, scales: Option<&Scales>) -> Vec<f64> {
        let of_unit = |(weights, noise): (&Vec<f64>, &f64)| match scales {
            // A change between two halves of the times has the variance `between + 4 within noise / weight`.
            Some(Scales { within, between }) if *within > 0.0 => {
                1.0 / (1.0 + weights.iter().sum::<f64>() * between / (4.0 * within * noise))
            }
            _ => 1.0,
        };
        self.weight.iter().zip(&self.noise).map(of_unit).collect()
    }

    fn read(
        &self,
        load: &[Vec<f64>],
        lasting: &[f64],
        real: &[Option<usize>],
        (total, cells): (f64, usize),
        scales: Option<&Scales>,
    ) -> Contrast {
        let mut contrast = Contrast { value: 0.0, of_one: 0.0, spread: 1.0, cells, weight: total };
        let mut variance = 0.0;
        for (unit, loads) in load.iter().enumerate() {
            for (time, load) in loads.iter().enumerate().filter(|(_, load)| **load != 0.0) {
                let load = load / total;
                contrast.value += load * self.value(unit, time).unwrap_or(0.0);
                if real[unit].is_some_and(|start| time >= start) {
                    contrast.of_one += load;
                }
                if let Some(scales) = scales {
                    variance +=
                        scales.within * self.noise[unit] * load * load / self.weight[unit][time];
                }
            }
            if let Some(scales) = scales {
                variance += scales.between * (lasting[unit] / total).powi(2);
            }
        }
        if variance > 0.0 {
            contrast.spread = variance.sqrt();
        }
        contrast
    }

    /// How values scatter: from time to time about the means of unit and time, and between units in the change from
    /// the times before `split` to those from it on. Knows nothing of who began, so it is the same for every arrangement.
    ///
    /// Source: moments; the part between units as DerSimonian & Laird (1986), Control. Clin. Trials 7, 177-188.
    pub fn scales(&self, split: usize) -> Scales {
        let times = self.times();
        let halves = [0..split.min(times), split.min(times)..times];
        let common = self.common();
        let (mut squares, mut seen, mut means) = (0.0, 0.0, 0.0);
        let mut changes = Vec::new();
        for unit in 0..self.units() {
            let mut sides = Vec::new();
            for half in &halves {
                let values: Vec<(f64, f64)> = half
                    .clone()
                    .filter_map(|time| {
                        let value = self.value(unit, time)? - common[time];
                        Some((self.weight[unit][time], value))
                    })
                    .collect();
                let weight: f64 = values.iter().map(|(weight, _)| weight).sum();
                if weight <= 0.0 {
                    continue;
                }
                let mean =
                    values.iter().map(|(weight, value)| weight * value).sum::<f64>() / weight;
                let scatter = values
                    .iter()
                    .map(|(weight, value)| weight * (value - mean).powi(2))
                    .sum::<f64>();
                squares += scatter / self.noise[unit];
                seen += values.len() as f64;
                means += 1.0;
                sides.push((mean, weight));
            }
            if let [(before, before_weight), (after, after_weight)] = sides[..] {
                let part = 1.0 / before_weight + 1.0 / after_weight;
                changes.push((after - before, self.noise[unit] * part));
            }
        }
        let left = seen - means - (times as f64 - 2.0).max(0.0);
        let within = if left > 0.0 { squares / left } else { 0.0 };
        Scales { within, between: excess(&changes, within) }
    }

    /// Mean value of each time about that of its units.
    fn common(&self) -> Vec<f64> {
        let mean = |unit: usize| {
            let weight: f64 = self.weight[unit].iter().sum();
            if weight > 0.0 { self.amount[unit].iter().sum::<f64>() / weight } else { 0.0 }
        };
        let means: Vec<f64> = (0..self.units()).map(mean).collect();
        let of_time = |time: usize| {
            let (mut sum, mut weight) = (0.0, 0.0);
            for (unit, mean) in means.iter().enumerate() {
                sum += self.amount[unit][time] - mean * self.weight[unit][time];
                weight += self.weight[unit][time];
            }
            if weight > 0.0 { sum / weight } else { 0.0 }
        };
        (0..self.times()).map(of_time).collect()
    }
}

/// What changes scatter beyond `within` times their second number.
pub(super) fn excess(changes: &[(f64, f64)], within: f64) -> f64 {
    if changes.len() < 2 || within <= 0.0 {
        return 0.0;
    }
    let weights: Vec<f64> = changes.iter().map(|(_, part)| 1.0 / (within * part)).collect();
    let total: f64 = weights.iter().sum();
    let squares: f64 = weights.iter().map(|weight| weight * weight).sum();
    let mean = weights.iter().zip(changes).map(|(w, (change, _))| w * change).sum::<f64>() / total;
    let q: f64 =
        weights.iter().zip(changes).map(|(w, (change, _))| w * (change - mean).powi(2)).sum();
    let room = total - squares / total;
    if room > 0.0 { ((q - (changes.len() as f64 - 1.0)) / room).max(0.0) } else { 0.0 }
}

impl Window {
    /// Event times of a group that are inside the panel.
    pub(super) fn event_times(&self, group: usize, times: usize) -> std::ops::Range<usize> {
        let from = (group as i32).saturating_add(self.event.0).max(0) as usize;
        let to = (group as i32).saturating_add(self.event.1).saturating_add(1).max(0) as usize;
        from.min(times)..to.min(times).max(from.min(times))
    }
}
