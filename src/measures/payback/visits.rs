//! How visits that began contaminated left, as counted and in every draw: site-weeks, or the longer blocks of 5.5, each as
//! often as the resamples of 5.5 have it.
//!
//! Sums of a draw are laid out as the counted exits are, so that a cycle that nobody reached as counted is reached in no draw.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::stats::bootstrap::Replicate;
use crate::stats::shifted_odds::Exit;

/// How the visits of one place left: before the first cycle, then cycle by cycle.
#[derive(Clone, Debug)]
pub struct Left<'a> {
    /// Of all methods.
    pub all: &'a [Exit],
    /// By the method of their first cycle.
    pub by_method: Vec<(&'a str, &'a [Exit])>,
}

impl<'a> Left<'a> {
    /// Of all methods, or of one.
    pub fn exits(&self, method: Option<&str>) -> &'a [Exit] {
        let Some(method) = method else { return self.all };
        self.by_method.iter().find(|(own, _)| *own == method).map_or(&[], |(_, exits)| exits)
    }
}

/// Visits of one cluster that left alike.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VisitWeek {
    /// What stands for the cluster in a draw.
    pub cluster: u64,
    /// Its place in the flows.
    pub place: usize,
    /// The method of their first cycle; none: of all methods.
    pub method: Option<String>,
    /// Cycles after which they left.
    pub cycle: usize,
    /// How many left, and how.
    pub exit: Exit,
}

/// What the exits of every draw are summed from.
#[derive(Clone, Debug)]
pub struct VisitWeeks {
    /// Of the resamples.
    seed: u64,
    /// What stands for each cluster in a draw.
    clusters: Vec<u64>,
    /// Number of the cluster, slot, how many left.
    parts: Vec<(u32, u32, Exit)>,
    /// By place: slots of all visits, and by method.
    slots: Vec<Slots>,
    /// How many slots there are.
    count: usize,
}

#[derive(Clone, Debug)]
struct Slots {
    all: Range<usize>,
    by_method: BTreeMap<String, Range<usize>>,
}

impl VisitWeeks {
    /// Of these places, whose counted exits the weeks add up to; drawn by the seed of the resamples.
    pub fn of<'a>(
        seed: u64,
        places: impl Iterator<Item = Left<'a>>,
        weeks: impl Iterator<Item = VisitWeek>,
    ) -> VisitWeeks {
        let mut count = 0;
        let mut next = |exits: &[Exit]| {
            let from = count;
            count += exits.len();
            from..count
        };
        let slots: Vec<Slots> = places
            .map(|place| {
                let all = next(place.all);
                let methods = place.by_method.into_iter();
                let by_method = methods.map(|(method, exits)| (method.to_owned(), next(exits)));
                Slots { all, by_method: by_method.collect() }
            })
            .collect();
        let mut sums: BTreeMap<(u64, u32), Exit> = BTreeMap::new();
        for week in weeks {
            let Some(own) = slots.get(week.place) else { continue };
            let range = match &week.method {
                None => Some(&own.all),
                Some(method) => own.by_method.get(method),
            };
            let slot = range.map(|range| range.start + week.cycle).zip(range);
            if let Some((slot, _)) = slot.filter(|(slot, range)| range.contains(slot)) {
                add(sums.entry((week.cluster, slot as u32)).or_default(), &week.exit, 1);
            }
        }
        let mut clusters: Vec<u64> = sums.keys().map(|(cluster, _)| *cluster).collect();
        clusters.dedup();
        let number = |cluster: u64| clusters.partition_point(|known| *known < cluster) as u32;
        let part = |((cluster, slot), exit): ((u64, u32), Exit)| (number(cluster), slot, exit);
        let parts = sums.into_iter().map(part).collect();
        VisitWeeks { seed, parts, slots, count, clusters }
    }

    /// How the visits of every place leave in a draw.
    pub fn drawn(&self, draw: usize) -> DrawnVisits<'_> {
        let resample = Replicate::of(self.seed, draw as u64);
        let weights: Vec<u64> =
            self.clusters.iter().map(|cluster| resample.weight(*cluster).into()).collect();
        let mut exits = vec![Exit::default(); self.count];
        for (cluster, slot, exit) in &self.parts {
            add(&mut exits[*slot as usize], exit, weights[*cluster as usize]);
        }
        DrawnVisits { slots: &self.slots, exits }
    }
}

/// Exits of every place in one draw.
pub struct DrawnVisits<'a> {
    slots: &'a [Slots],
    exits: Vec<Exit>,
}

impl DrawnVisits<'_> {
    /// Of one place.
    pub fn at(&self, place: usize) -> Left<'_> {
        let own = &self.slots[place];
        let of = |range: &Range<usize>| &self.exits[range.clone()];
        let by_method = own.by_method.iter().map(|(method, range)| (method.as_str(), of(range)));
        Left { all: of(&own.all), by_method: by_method.collect() }
    }
}

/// Adds exits to a sum, so many times.
pub fn add(sum: &mut Exit, exit: &Exit, times: u64) {
    let add = |sum: &mut u64, more: u64| *sum = sum.saturating_add(more.saturating_mul(times));
    add(&mut sum.succeeded, exit.succeeded);
    add(&mut sum.taken_out, exit.taken_out);
    add(&mut sum.gave_up, exit.gave_up);
    add(&mut sum.censored, exit.censored);
}

/// By what part more of the visits end with the end face rejected than in the counted ones: 0 where there are none.
pub fn more_rejects(drawn: &[Exit], counted: &[Exit]) -> f64 {
    let share = |exits: &[Exit]| {
        let mut sum = Exit::default();
        exits.iter().for_each(|exit| add(&mut sum, exit, 1));
        let Exit { succeeded, taken_out, gave_up, censored } = sum;
        let all = [succeeded, taken_out, gave_up, censored].map(|n| n as f64).iter().sum::<f64>();
        (all > 0.0).then_some(taken_out as f64 / all)
    };
    match (share(drawn), share(counted)) {
        (Some(drawn), Some(counted)) if counted > 0.0 => drawn / counted - 1.0,
        _ => 0.0,
    }
}
