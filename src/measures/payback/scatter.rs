//! How counts of a year that no resample has scatter: as those of its months do, by site.

use std::collections::BTreeMap;

use super::declared::Source;
use super::flows::FleetFlows;
use super::input::Drawing;
use crate::derive::counts::site_months;
use crate::measures::evidence::Evidence;

/// What was counted, as an amount; never negative.
pub(super) fn amount(count: i64) -> f64 {
    count.max(0) as f64
}

/// What was counted of a site in the months looked back, and the variance of their sum.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Scatter {
    sum: f64,
    variance: f64,
}

impl Scatter {
    /// From its months: as they scatter about their mean; of one month no more than chance is known.
    fn of(months: &[f64]) -> Scatter {
        let (sum, n) = (months.iter().sum::<f64>(), months.len() as f64);
        let squares: f64 = months.iter().map(|count| (count - sum / n).powi(2)).sum();
        Scatter { sum, variance: if n > 1.0 { squares * n / (n - 1.0) } else { sum } }
    }

    /// Variance of a part of the counts, where which of them are in it is chance.
    fn of_part(&self, part: f64) -> f64 {
        let share = if self.sum > 0.0 { (part / self.sum).min(1.0) } else { 0.0 };
        share * share * (self.variance - self.sum).max(0.0) + part
    }
}

/// By the code of the site.
fn by_site(evidence: &Evidence, of: impl Fn(&site_months::Row) -> i64) -> BTreeMap<u32, Scatter> {
    let back = evidence.months.window();
    let mut months: BTreeMap<u32, Vec<f64>> = BTreeMap::new();
    for (cell, counts) in evidence.derived.counts.coverage.site_months.cells() {
        if back.contains(&cell.month.0) {
            months.entry(cell.site.0).or_default().push(amount(of(&counts)));
        }
    }
    months.into_iter().map(|(site, months)| (site, Scatter::of(&months))).collect()
}

fn drawing(evidence: &Evidence) -> Drawing {
    let rules = evidence.rules();
    Drawing { seed: rules.seed, draws: rules.draws, level: rules.level }
}

/// Cleanings of a year scatter as those of its months do. Drawn by the normal distribution.
pub fn busier(evidence: &Evidence, flows: &mut FleetFlows) {
    let (mut all, mut variance) = (0.0, 0.0);
    for site in by_site(evidence, |counts| counts.cleanings).values() {
        all += site.sum;
        variance += site.variance;
    }
    if all <= 0.0 {
        return;
    }
    let name = "cleanings a year against those counted".to_owned();
    let drawn = drawing(evidence).normal(name, Source::Counts, 0.0, variance.sqrt() / all);
    for (places, busier) in flows.skipped.iter_mut().zip(drawn.draws) {
        // No fewer than none.
        places.iter_mut().for_each(|place| place.busier = busier.max(-1.0));
    }
}

/// Looks that would be made where nothing follows matings (`alone`): no resample of 5.5 has them, so they scatter as the site's
/// matings of a month do, and by chance which of these are the place's skipped ones.
pub fn looks_without_follow_up(evidence: &Evidence, flows: &mut FleetFlows, alone: &[usize]) {
    let by_site = by_site(evidence, |counts| counts.matings);
    let names = &evidence.derived.glossary.site.0;
    let of: BTreeMap<&str, Scatter> =
        by_site.iter().map(|(site, own)| (names.word(*site), *own)).collect();
    for at in alone {
        let place = &flows.places[*at];
        let counted = place.skipped / flows.yearly;
        let Some(own) = of.get(place.site.as_str()).filter(|_| counted > 0.0) else { continue };
        let name = format!("looks before matings at {} in {}", place.stage, place.site);
        let se = own.of_part(counted).sqrt() / counted;
        let drawn = drawing(evidence).normal(name, Source::Counts, 1.0, se);
        for (places, times) in flows.skipped.iter_mut().zip(drawn.draws) {
            places[*at].looks *= times.max(0.0);
        }
    }
}
